"""What the plan takes until somebody has seen it: what is marked CONFIRM, what is traced or asked on the day."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Literal

from engine.frozen import dataclass
from engine.site.keys import QuantityKey
from engine.site.names import how_of, title_of
from engine.site.spoken import spoken
from engine.text import clean, counted, listed

if TYPE_CHECKING:
    from engine.planner import Planned

When = Literal["before ordering", "before landing", "before power"]
WHENS: tuple[When, ...] = ("before ordering", "before landing", "before power")


@dataclass(frozen=True)
class Confirm:
    """One thing to confirm: by when, what, what is planned ("" for nothing), how."""

    when: When
    what: str
    planned: str
    how: str


def to_confirm(planned: Planned) -> tuple[Confirm, ...]:
    """All of them, in the order in which they are needed; none for a plan without units."""
    if not planned.parts.units.units:
        return ()
    every = [
        one for find in (_tables, _fuses, _taken, _wall, _terminals, _bond, _traced, _links, _settings, _words) for one in find(planned)
    ]
    return tuple(sorted(every, key=lambda one: WHENS.index(one.when)))


def _of_code(planned: Planned, *codes: str) -> Iterator[tuple[str, str, tuple[str, ...]]]:
    """Text, cure and places of the findings of some codes."""
    for finding in planned.findings:
        if finding.code in codes:
            yield spoken(clean(finding.text, 2000)), spoken(clean(finding.remedy, 2000)), finding.where or ()


def _tables(planned: Planned) -> Iterator[Confirm]:
    for text, remedy, _ in _of_code(planned, "tables-from-memory"):
        yield Confirm("before ordering", text, "", remedy)


def _fuses(planned: Planned) -> Iterator[Confirm]:
    for _, remedy, banks in _of_code(planned, "fuse-family-to-confirm"):
        own = [ends.name for ends in planned.parts.circuits.circuits if ends.kind == "battery" and ends.bank in banks]
        devices = [row.device for row in planned.plan.circuits if row.name in own and row.device]
        kinds = dict.fromkeys(" ".join(part for part in (one.kind, one.rating, f"breaking {one.breaking}") if part) for one in devices)
        yield Confirm("before ordering", f"Battery fuses of {listed(banks)}", "; ".join(kinds).replace(" (CONFIRM)", ""), remedy)


def _taken(planned: Planned) -> Iterator[Confirm]:
    """What was taken instead of an assumption with which nothing would do: the plan holds only where it is so."""
    for taken in (*planned.parts.storage.assumed, *planned.parts.conductors.assumed):
        kind = f" ({taken.key.partition('[')[2].partition(']')[0]})" if "[" in taken.key else ""
        yield Confirm("before ordering", f"{title_of(taken.key)}{kind}", f"{taken.value}: {taken.why}", how_of(taken.key))


def _wall(planned: Planned) -> Iterator[Confirm]:
    wall = planned.parts.wall
    sides = "" if wall.width.how != "assumed" and wall.height.how != "assumed" else "the wall itself"
    hung = [place.name for place in wall.places if place.assumed and place.what != "bar"]
    what = " and ".join(part for part in (sides, f"where {counted(len(hung), 'thing')} hang" if hung else "") if part)
    if what:
        taken = f"{planned.facts.told(wall.width)} by {planned.facts.told(wall.height)}" if sides else listed(hung)
        yield Confirm("before ordering", f"{what[0].upper()}{what[1:]}", taken, "Measure on site; every length follows from it.")


_AT_TERMINALS: tuple[QuantityKey, ...] = ("unit.dc_torque", "unit.ac_torque", "unit.settle_time")


def _terminals(planned: Planned) -> Iterator[Confirm]:
    unit, facts = planned.facts.answers.unit, planned.facts
    for key in _AT_TERMINALS:
        figure = facts.figure(key)
        if figure is None or figure.how == "assumed":
            yield Confirm("before landing", title_of(key), facts.told(figure) if figure else "", how_of(key))
    for asked, given in (("unit.dc_stud", unit.dc_stud), ("unit.bus.ports", unit.bus.ports or len(planned.plan.units) < 2)):
        if not given:
            yield Confirm("before landing", title_of(asked), "", how_of(asked))


def _bond(planned: Planned) -> Iterator[Confirm]:
    if planned.facts.answers.earthing.island_bond not in (None, "none") and not planned.facts.answers.earthing.bond_at:
        yield Confirm("before landing", title_of("earthing.bond_at"), "", how_of("earthing.bond_at"))


def _traced(planned: Planned) -> Iterator[Confirm]:
    banks = planned.parts.banks
    if banks.banks and not banks.traced:
        wired = "; ".join(f"{bank.name}: {', '.join(bank.units)}" for bank in banks.banks)
        yield Confirm("before power", "Which bank each unit's battery cables go to", wired, how_of("storage.wired"))


def _links(planned: Planned) -> Iterator[Confirm]:
    banks = planned.parts.banks
    guessed = {taken.key for taken in banks.assumed}
    for link in banks.links:
        if f"storage.links[{link.bank}].unit" in guessed:
            yield Confirm(
                "before landing", f"Which unit bank {link.bank} speaks to", link.unit, "The battery's manual, then follow its data cable."
            )


def _settings(planned: Planned) -> Iterator[Confirm]:
    """Settings that every unit needs and the plan does not know, by who can say what they must be."""
    settings = planned.parts.settings
    unknown: Mapping[str, list[str]] = {
        name: tags
        for name in settings.decides
        if (tags := [tag for tag, own in settings.of.items() if name not in {one.setting for one in own}])
    }
    for name, tags in unknown.items():
        units = "each unit" if len(tags) == len(settings.of) else ", ".join(tags)
        yield Confirm("before power", f"Setting of {units}: {name.replace('_', ' ')}", "", f"Who can say: {settings.decides[name]}.")


def _words(planned: Planned) -> Iterator[Confirm]:
    own = next(iter(planned.parts.settings.of.values()), ())
    names = [setting.setting.replace("_", " ") for setting in own if setting.label is None]
    if names:
        what = f"What the unit's menu calls {listed(names, most=len(names))}"
        yield Confirm("before power", what, "", "The unit's manual, or its own menu.")
