"""A short way from a site's TOML to its wall and chain, for tests that need no other stage."""

from dataclasses import dataclass
from types import SimpleNamespace

from engine.facts import Facts, assume
from engine.files.read import parse
from engine.findings import Finding, stop
from engine.plan import Plan
from engine.stages.banks import Banks, banks
from engine.stages.chain import chain
from engine.stages.chain.part import Chain
from engine.stages.circuits import Circuits, circuits
from engine.stages.units import UnitPlace, Units
from engine.stages.wall import wall
from engine.stages.wall.part import Wall

BASE = """
[output]
arrangement = "three-phase"
voltage = "230 V"
[incoming]
kind = "utility"
[storage]
connection = "common-bank"
[unit]
real_power = "5 kW"
apparent_power = "5 kVA"
transfer_current = "40 A"
width = "0.35 m"
height = "0.5 m"
clearance = "0.2 m"
[unit.bus]
ports = ["plug", "socket"]
link_lengths = ["0.5 m", "1.5 m", "3 m"]
length_max = "40 m"
bit_rate = "500 kbit/s"
kind = "CAN"
screened = false
"""

# Twelve units in two rows on 6 m by 2.4 m with three obstacles and every kind of power route.
TWELVE = (
    BASE
    + """
[set]
per_phase = [4, 4, 4]
[solar]
isc = "11 A"
[wall]
width = "6 m"
height = "2.4 m"
"""
    + "".join(
        f'[[wall.places]]\nwhat = "unit"\ntag = "L{1 + n % 3}-{1 + n // 3}"\nx = "{0.9 + 0.65 * (n % 6):.2f} m"\ny = "{1.6 if n < 6 else 0.9} m"\n' for n in range(12)
    )
    + "".join(
        f'[[wall.places]]\nwhat = "{what}"\n{tag}x = "{x} m"\ny = "{y} m"\nwidth = "{w} m"\nheight = "{h} m"\n'
        for what, tag, x, y, w, h in (
            ("bank", 'tag = "B1"\n', 5.5, 0.3, 0.6, 0.6),
            ("load-board", "", 5.5, 1.5, 0.4, 0.5),
            ("incoming-board", "", 0.3, 1.5, 0.4, 0.5),
            ("solar-isolator", "", 0.25, 0.8, 0.25, 0.35),
            ("earth-bar", "", 4.8, 0.6, 0.4, 0.1),
            ("obstacle", "", 5.0, 1.7, 0.2, 0.6),
            ("obstacle", "", 0.3, 2.3, 0.4, 0.2),
            ("obstacle", "", 4.55, 0.1, 0.3, 0.2),
        )
    )
)


@dataclass(frozen=True)
class Hung:
    """What the stages gave."""

    facts: Facts
    units: Units
    banks: Banks
    circuits: Circuits
    wall: Wall
    chain: Chain
    findings: tuple[Finding, ...]

    def codes(self, level: str | None = None) -> list[str]:
        """The codes of the findings of a level, or of all."""
        return [f.code for f in self.findings if level in (None, f.level)]

    def finding(self, code: str) -> Finding:
        """The first finding of a code."""
        return next(f for f in self.findings if f.code == code)


def hang(text: str) -> Hung:
    """Facts, units as `per_phase` says, banks, circuits, wall and chain of a site."""
    facts = assume(parse(text.encode(), "test.toml").answers)
    lead = facts.answers.set.lead
    tags = [(f"{phase}-{n + 1}", phase, n + 1) for phase, count in zip(facts.phases, facts.answers.set.per_phase or (), strict=False) for n in range(count)]
    units = Units(tuple(UnitPlace(tag, phase, n, "lead" if tag == lead else "follower") for tag, phase, n in tags), lead)
    placed, _ = banks(facts=facts, units=units)
    joined, _ = circuits(facts=facts, units=units, banks=placed)
    there, seen = wall(facts=facts, circuits=joined)
    chained, more = chain(facts=facts, units=units, banks=placed, wall=there)
    return Hung(facts, units, placed, joined, there, chained, (*seen, *more))


def place(what: str, x: float, y: float, tag: str = "", width: float | None = None, height: float | None = None) -> str:
    """One `[[wall.places]]`."""
    size = "".join(f'{k} = "{v} m"\n' for k, v in (("width", width), ("height", height)) if v is not None)
    return f'[[wall.places]]\nwhat = "{what}"\n' + (f'tag = "{tag}"\n' if tag else "") + f'x = "{x} m"\ny = "{y} m"\n{size}'


def three(*more: str, size: tuple[float, float] = (4, 2.4), xs: tuple[float, ...] = (0.8, 1.8, 2.8)) -> str:
    """Three units in a row with everything placed, and more TOML behind."""
    return "".join(
        (
            BASE,
            f'[set]\nper_phase = [1, 1, 1]\n[wall]\nwidth = "{size[0]} m"\nheight = "{size[1]} m"\n',
            *(place("unit", x, 1.5, f"L{k}-1") for k, x in enumerate(xs, 1)),
            place("bank", 1.8, 0.3, "B1", 0.6, 0.6),
            place("load-board", 3.6, 1.5, width=0.4, height=0.5),
            place("incoming-board", 0.3, 1.5, width=0.2, height=0.4),
            place("earth-bar", 3.6, 0.6, width=0.4, height=0.1),
            *more,
        )
    )


def as_planned(site: Hung) -> SimpleNamespace:
    """As much of a plan as the drawings read."""
    plan = Plan(revision="0badcafe", digest="feedf00d", made_with="phasewright 9.8.7", standing="stopped")
    stops = (stop("x", "set.count", "Too few.", "More.", "T1"),)
    parts = SimpleNamespace(wall=site.wall, chain=site.chain, circuits=site.circuits, banks=site.banks, earthing=SimpleNamespace(island=None))
    return SimpleNamespace(parts=parts, facts=site.facts, plan=plan, findings=stops)
