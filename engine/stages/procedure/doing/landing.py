"""What matching, mounting, landing and the dead tests make and read."""

from __future__ import annotations

from collections.abc import Sequence

from engine.model.acts import BOND, EARTH, RESIDUAL, SUPPLY, SURGE, Act, Instrument, Reading, Verb, after, before, end, opener
from engine.stages.circuits import Ends, poles_of
from engine.stages.procedure.doing.readings import DIRECT, Doing, apart, dc, joined, looked, nothing
from engine.stages.procedure.site import Site
from engine.stages.units import UnitPlace
from engine.tables.verification import least, volts


def modules(site: Site, bank: str) -> Doing:
    """Every module on its own."""
    low, high = site.window(bank, site.facts.series) or (volts("dead"), None)
    for string in range(1, site.facts.strings_in_parallel + 1):
        for module in range(1, site.facts.series + 1):
            name = f"{bank} string {string}"
            plus = f"{name} plus" if module == site.facts.series else f"{name} behind {module}"
            minus = f"{name} minus" if module == 1 else f"{name} behind {module - 1}"
            yield dc(plus, minus, low, high)


def strings_alike(site: Site, bank: str) -> Doing:
    """Every further string against the first."""
    match = site.match()
    allowed = match.value if match else 0.1
    first = (f"{bank} string 1 plus", f"{bank} string 1 minus")
    for string in range(2, site.facts.strings_in_parallel + 1):
        yield dc(f"{bank} string {string} plus", f"{bank} string {string} minus", -allowed, allowed, first)


def join_strings(bank: str) -> Doing:
    """The strings in parallel."""
    yield Act(Verb.JOIN, f"{bank} strings")
    yield looked(bank, "place of its two leads")
    yield looked(bank, "every string joined")


def banks_apart(site: Site) -> Doing:
    """Every pair of banks."""
    names = [bank.name for bank in site.banks.banks]
    for place, first in enumerate(names):
        for second in names[place + 1 :]:
            yield nothing(f"{first} plus", f"{second} minus", "banks_apart")


def traced(units: tuple[str, ...]) -> Doing:
    """Which bank the cables of a unit end on."""
    for tag in units:
        yield looked(f"battery {tag}", "its bank")


def insulation(*circuits: str) -> Doing:
    """The bare cables of circuits."""
    for name in circuits:
        yield Reading(Instrument.INSULATION, (name, "insulation"))


def resistance(circuit: str) -> Doing:
    """A conductor end to end, its lugs included."""
    yield Reading(Instrument.MILLIOHM, (circuit, "resistance"))


def land(site: Site, tag: str) -> Doing:
    """The earth of the case, then each protective conductor, measured while its end is still free, then the rest."""
    yield Act(Verb.LAND, f"earth {tag}")
    own = [ends for ends in site.circuits.circuits if ends.tag == tag and ends.kind != "earth"]
    alternating = [ends for ends in own if ends.kind in ("load", "incoming")]
    for ends in alternating:
        # Its far end is landed already.
        free = end(ends.name, "PE", tag)
        yield Act(Verb.LIFT, free)
        yield Act(Verb.LAND, f"{ends.name} PE")
        yield joined(f"{free} free", f"{tag} case")
        yield Act(Verb.LAND, free)
    for kind in ("battery", "load", "solar", "incoming"):
        for ends in own:
            if ends.kind == kind:
                yield Act(Verb.LAND, ends.name)
    yield looked(tag, "torque marks")


def land_common(site: Site, circuits: list[Ends], *, of_set: bool) -> Doing:
    """What serves all; what was out for the insulation test is put back."""
    for ends in circuits:
        yield Act(Verb.LAND, ends.name)
    if of_set:
        yield Act(Verb.FIT, SURGE)
        if site.switchgear.link:
            yield Act(Verb.FIT, BOND)
    for ends in circuits:
        yield looked(ends.name, "torque marks")


def boards_earthed(boards: Sequence[str]) -> Doing:
    """The PE bar of each board to the earth bar."""
    for board in boards:
        yield joined(f"{board} PE", EARTH)


def land_bond(bond: Ends) -> Doing:
    """The bond of an earthed pole, measured from its bar or post."""
    yield Act(Verb.LAND, bond.name)
    yield from resistance(bond.name)


def joints(site: Site) -> Doing:
    """Every battery lug against its likes."""
    for ends in site.circuits.circuits:
        if ends.kind == "battery":
            for pole in DIRECT:
                for spot in dict.fromkeys((ends.start, ends.end)):
                    yield Reading(Instrument.MICROOHM, (end(ends.name, pole, spot), "resistance"))


def load_run(site: Site, common: Ends) -> Doing:
    """From each load bar to each terminal behind the residual-current device."""
    yield Act(Verb.CLOSE, opener(common.name))
    yield Act(Verb.CLOSE, RESIDUAL)
    yield from _matrix([(f"load bar {line}", f"consumers {line}") for line in (*site.facts.phases, "N")], ("load bar N", EARTH))
    yield Act(Verb.OPEN, RESIDUAL)
    yield Act(Verb.OPEN, opener(common.name))


def incoming_run(site: Site, common: Ends) -> Doing:
    """From each terminal on the set's side of the open isolator to each incoming bar."""
    lines = poles_of(site.facts, common)
    yield from _matrix([(after(common.name, line), f"incoming bar {line}") for line in lines], (after(common.name, "N"), EARTH))


def _matrix(pairs: list[tuple[str, str]], *free: tuple[str, str]) -> Doing:
    """Each to its own, and to no other, nor to earth; but for pairs that a bond or the supply joins."""
    for one, own in pairs:
        for _, other in (*pairs, ("", EARTH)):
            if other == own:
                yield joined(one, other)
            elif (one, other) not in free:
                yield apart(one, other)


def second_bond(site: Site, incoming: Ends | None) -> Doing:
    """Neutral and earth, with the bond that is known taken out, and the incoming neutral free."""
    free = incoming if incoming and site.facts.rules == "nec" else None
    lifted = list(site.circuits.of("load", common=False)) if _relay(site) else []
    if site.switchgear.link:
        yield Act(Verb.LIFT, BOND)
    if free:
        yield Act(Verb.OPEN, SUPPLY)
        yield Act(Verb.LIFT, end(free.name, "N", "bar"))
    for ends in lifted:
        yield Act(Verb.LIFT, end(ends.name, "N", str(ends.tag)))
    # A unit alone has the supply behind its incoming isolator.
    closed = (*site.circuits.of("load", common=False), *(site.circuits.of("incoming", common=False) if site.several else ()))
    sides = [opener(ends.name) for ends in closed]
    for side in sides:
        yield Act(Verb.CLOSE, side)
    yield Reading(Instrument.OHM, ("load bar N", EARTH), least("second_bond"))
    if incoming and site.several:
        yield Reading(Instrument.OHM, ("incoming bar N", EARTH), least("second_bond"))
    for side in sides:
        yield Act(Verb.OPEN, side)
    for ends in lifted:
        yield Act(Verb.LAND, end(ends.name, "N", str(ends.tag)))
        yield joined(f"{ends.tag} load N", before(ends.name, "N"))
    if free:
        yield Act(Verb.LAND, end(free.name, "N", "bar"))
        yield Act(Verb.CLOSE, SUPPLY)
    if site.switchgear.link:
        yield Act(Verb.FIT, BOND)
        # With many units filters hide that it is missing: what is read across it does not.
        yield joined("bond N", EARTH)


def _relay(site: Site) -> bool:
    return site.facts.answers.earthing.island_bond == "unit relay"


def second_pole_bond(site: Site, bond: Ends) -> Doing:
    """An earthed pole with its bond lifted, and put back."""
    pole = str(site.facts.earthed_pole)
    yield Act(Verb.LIFT, bond.name)
    for name in DIRECT:
        point = f"{bond.start} {name}"
        if bond.start == bond.bank:
            yield nothing(point, EARTH, "banks_apart")
        else:
            yield Reading(Instrument.OHM, (point, EARTH), least("second_bond"))
    for tag in bond.units:
        yield Reading(Instrument.OHM, (after(f"battery {tag}", pole), EARTH), least("second_bond"))
    yield Act(Verb.LAND, bond.name)
    yield joined(f"{bond.start} {pole}", EARTH)


def load_continuity(site: Site, unit: UnitPlace) -> Doing:
    """Its load line to its own bar and to no other, its neutral and its case."""
    tag = unit.tag
    yield Act(Verb.CLOSE, opener(f"load {tag}"))
    for phase in site.facts.phases:
        read = joined if phase == unit.phase else apart
        yield read(f"{tag} load L", f"load bar {phase}")
    for line in site.facts.incoming_lines if site.incoming and site.several else ():
        yield apart(f"{tag} load L", f"incoming bar {line}")
    yield joined(f"{tag} load N", "load bar N")
    yield apart(f"{tag} load L", f"{tag} load N")
    yield apart(f"{tag} load L", EARTH)
    yield joined(f"{tag} case", EARTH)
    yield Act(Verb.OPEN, opener(f"load {tag}"))


def incoming_continuity(site: Site, unit: UnitPlace) -> Doing:
    """The other side of the unit likewise, its load isolator open; behind the only isolator there is the supply, so that one stays open."""
    tag, lines = unit.tag, site.facts.incoming_lines
    if not site.several:
        yield joined(f"{tag} incoming L", after(f"incoming {tag}", "L"))
        yield joined(f"{tag} incoming N", after(f"incoming {tag}", "N"))
        yield apart(f"{tag} incoming L", f"{tag} incoming N")
        yield apart(f"{tag} incoming L", EARTH)
        yield apart(f"{tag} incoming L", f"load bar {unit.phase}")
        return
    yield Act(Verb.CLOSE, opener(f"incoming {tag}"))
    for line in lines:
        read = joined if line == unit.phase or unit.phase not in lines else apart
        yield read(f"{tag} incoming L", f"incoming bar {line}")
    for phase in site.facts.phases:
        yield apart(f"{tag} incoming L", f"load bar {phase}")
    yield joined(f"{tag} incoming N", "incoming bar N")
    yield apart(f"{tag} incoming L", f"{tag} incoming N")
    yield apart(f"{tag} incoming L", EARTH)
    yield Act(Verb.OPEN, opener(f"incoming {tag}"))
