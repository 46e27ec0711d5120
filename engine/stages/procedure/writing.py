"""What is written down in a step that reads several values: a name for each, so that none is left out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import combinations

from engine.stages.circuits import Ends, lines_of
from engine.stages.procedure.site import Site

Names = tuple[str, ...]


def insulation(site: Site) -> Names:
    """Three readings of each cable of a unit."""
    sides = ("load", "incoming") if site.incoming else ("load",)
    names = [f"{side}: {first}" if first == "L-PE" else first for side in sides for first in ("L-PE", "N-PE", "L-N")]
    return (*names, "battery: +/-", "+/PE", "-/PE")


def load_continuity(site: Site) -> Names:
    """A unit's load line to every bar it could be on, its neutral and its case."""
    others = site.facts.incoming_lines if site.incoming and site.several else ()
    return (*_each("L to load", site.facts.phases), *_each("incoming", others), "N", "L-N", "L-PE", "case")


def incoming_continuity(site: Site) -> Names:
    """Its incoming line likewise; a unit alone is read up to its isolator."""
    if not site.several:
        return "L", "N", "L-N", "L-PE", "L to load"
    return (*_each("L to incoming", site.facts.incoming_lines), *_each("load", site.facts.phases), "N", "L-N", "L-PE")


def _each(side: str, lines: Iterable[str]) -> Iterator[str]:
    """The lines of one side, which is named once."""
    for number, line in enumerate(lines):
        yield line if number else f"{side} {line}"


def run(site: Site, common: Ends) -> Names:
    """Each conductor of a common run to its own, then the lowest of all that must be open."""
    return (*lines_of(site.facts, common), "N", "lowest of the open ones")


def joints(site: Site) -> Names:
    """Every lug of every battery circuit, at both ends."""
    spots = ((ends, spot) for ends in site.circuits.circuits if ends.kind == "battery" for spot in dict.fromkeys((ends.start, ends.end)))
    return tuple(f"{ends.name} {sign} at {spot}" for ends, spot in spots for sign in "+-")


def second_bond(site: Site) -> Names:
    """Both neutral bars where there are two, and the link that is back."""
    bars = ("load N", "incoming N") if site.incoming and site.several else ("N",)
    return (*bars, "link back") if site.switchgear.link else bars


def second_pole_bond(units: Iterable[str]) -> Names:
    """Each pole and each unit while the bond is lifted; the bond that is back."""
    return ("+", "-", *units, "bond back")


def modules(site: Site) -> Names:
    """Every module of a bank by its number; of very many the least and the most."""
    count = site.facts.series * site.facts.strings_in_parallel
    return tuple(str(number) for number in range(1, count + 1)) if 1 < count <= _MANY else ("lowest", "highest") if count > 1 else ()


_MANY = 48


def strings(site: Site) -> Names:
    """Each string but the first, held against the one before."""
    count = site.facts.strings_in_parallel
    return tuple(f"{number - 1} to {number}" for number in range(2, count + 1)) if count > 2 else ()


def pairs(names: Iterable[str]) -> Names:
    """Every two of them."""
    found = tuple(f"{one} to {other}" for one, other in combinations(names, 2))
    return found if len(found) > 1 else ()


def sums(units: tuple[str, ...]) -> Names:
    """What is added up, and the sum."""
    return (*units, "sum") if len(units) > 1 else ()


def unit_voltage(site: Site, *, foreign: bool) -> Names:
    """In the order in which they are read."""
    return ("own", "bar" if site.several else "board", *(["other phase"] if foreign else []))


def bars(site: Site) -> Names:
    """Line to line, and the rotation where something turns."""
    found = [f"{one}-{other}" for one, other in combinations(site.facts.phases, 2)]
    return (*found, "rotation") if site.turning else tuple(found) if len(found) > 1 else ()


def incoming_voltage(site: Site, common: Ends) -> Names:
    """Each line, how fast and which way it turns."""
    lines = lines_of(site.facts, common)
    return (*lines, "Hz", *(["rotation"] if len(lines) == 3 else []))


def trips(site: Site, *, alone: bool) -> Names:
    """The residual-current device on each line, in island mode at five times too, and neutral to earth before."""
    lines = site.facts.phases
    if alone and site.facts.answers.earthing.island_bond == "none":
        return ()
    if not alone:
        return (*(f"trip {line}" for line in lines if site.trips_following), *heater(site))
    return ("N to PE", *(f"trip {line}{more}" for line in lines for more in ("", " x5")))


def heater(site: Site) -> Names:
    """Every line, with the heater on each."""
    lines = site.facts.phases
    return tuple(f"{line}, heater on {on}" for on in lines for line in lines) if len(lines) > 1 else ("volts",)


def incoming_close(site: Site, common: Ends) -> Names:
    """The bar while it must be dead, then each line, then each unit's current."""
    lines = lines_of(site.facts, common)
    return (
        *(["bar before"] if site.several else []),
        *(lines if site.several else ("volts",)),
        *(f"{tag} amperes" for tag in site.units.tags),
    )


def earth_current(site: Site) -> Names:
    """Each unit with loads off, on, and those of one line alone; the link likewise."""
    states = ("off", "on", *(["one line"] if len(site.facts.phases) > 1 else []))
    places = (*site.units.tags, *(["link"] if site.switchgear.link else []))
    return tuple(f"{place} {state}" for place in places for state in states)


def transfer(site: Site) -> Names:
    """Each line, and what runs in the earths."""
    return (*(f"volts {line}" for line in site.facts.phases), "earth")


def solar_strings(site: Site) -> Names:
    """Every string of a unit."""
    count = site.facts.trackers * site.facts.strings_on_tracker
    return tuple(_each("string", map(str, range(1, count + 1)))) if count > 1 else ()


def polarity(banks: Iterable[str]) -> Names:
    """The voltage, and minus to each bank."""
    return ("volts", *_each("- to", banks))
