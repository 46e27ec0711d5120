"""Before anything is landed: make safe, look, set each unit alone on a bench feed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from engine.facts import CIRCUIT_KINDS
from engine.quantities import shown
from engine.stages.circuits import Ends
from engine.stages.procedure import writing
from engine.stages.procedure.doing import bench as doing
from engine.stages.procedure.doing.readings import looked
from engine.stages.procedure.site import Draft, Site
from engine.stages.switchgear import GearKind
from engine.stages.units import UnitPlace
from engine.tables.segregation import kept_by_practice
from engine.tables.verification import limit
from engine.text import clean, counted, listed


def make_safe(site: Site) -> Iterator[Draft]:
    """Every source found, opened, locked; dead proved."""
    sources = _sources(site)
    yield Draft(
        "make safe",
        "sources",
        "set",
        f"Find every source and write it on the board: {', '.join(sources)}.",
        f"{len(sources)} sources, and none that is not on this list",
        "One more found, or one you cannot find: stop. Ask the licensed person before you open anything.",
        hurt=True,
    )
    count = sum(gear.count for ends in site.circuits.circuits if (gear := site.switchgear.opening(ends)))
    yield Draft(
        "make safe",
        "lock",
        "set",
        f"Open every isolator and breaker{f' there is: {site.isolators}' if site.isolators else ''}. Lock each with its own padlock{' (a breaker by its locking piece)' if site.bill.has('breaker lock') else ''}. Hang a tag. Keep the key.{_no_start(site)}{' Part every string connector and cap it.' if site.facts.solar else ''}",
        f"{count} open, {count} padlocks and tags"
        if count
        else "every one open, locked and tagged (number not computed: count them on the drawing)",
        "What is not mounted yet is mounted open, and locked at once. What cannot be locked is disconnected and its ends are capped and tagged.",
        hurt=True,
        doing=doing.lock(site),
    )
    yield Draft(
        "make safe",
        "prove-dead",
        "set",
        "Prove dead. Test the voltmeter on a live source you know. Measure every terminal you will touch: pole to pole, each pole to earth. Test the voltmeter again. "
        + _never_dead(site),
        limit("dead"),
        "Not dead: capacitors still charged (wait five minutes, measure again), or a source missing from your list. Find it, open it, lock it, prove dead again."
        + (" String connectors stay apart." if site.facts.solar else ""),
        hold=True,
        hurt=True,
        doing=doing.prove_dead(site),
    )


def instruments(site: Site) -> tuple[str, ...]:
    """What the steps measure with, each of which is calibrated."""
    return (
        "low-impedance voltmeter",
        "ohmmeter",
        "milliohmmeter",
        "micro-ohmmeter",
        "insulation tester",
        "clamp meter for AC and DC",
        "earth-leakage clamp meter",
        "residual-current tester",
        *(["rotation meter"] if site.turning or len(site.facts.incoming_lines) == 3 else []),
        "hand-held thermometer",
        "torque tools",
    )


def _no_start(site: Site) -> str:
    """A generator may start by itself when its voltage is missed."""
    return " The generator's start: off, and locked." if site.incoming == "generator" else ""


def _never_dead(site: Site) -> str:
    """What no isolator makes dead, and how it is worked at."""
    live = ["the posts of a battery", *(["solar strings in daylight"] if site.facts.solar else [])]
    live += [f"the {site.incoming} side of the {site.incoming_isolator}, unless it is dead and locked farther up,"] if site.incoming else []
    told = listed(live, most=len(live))
    return f"{told[0].upper()}{told[1:]} stay live whatever is open: insulated tools, gloves, face shield, the other pole covered, never alone."


def _sources(site: Site) -> list[str]:
    banks = [f"bank {bank.name}" for bank in site.banks.banks] or ["every battery (banks not yet known)"]
    solar = ["solar strings (live in daylight)"] if site.facts.solar else []
    return [*([site.incoming] if site.incoming else []), *banks, *solar, "the capacitors in every unit (charged for minutes)"]


def look(site: Site) -> Iterator[Draft]:
    """What can be seen before any tool is lifted."""
    model = clean(site.facts.answers.unit.model or "", 60)
    tags = site.units.tags
    yield Draft(
        "look",
        "plates",
        "set",
        f"{'Count the units. Read every plate' if site.several else 'Read the plate'}. Put the tag on {'each' if site.several else 'the'} unit and write its serial number on its sheet: {', '.join(tags)}.",
        f"{len(tags)} units, all {model or 'the same model'}; lead: {site.units.lead or 'not yet decided: the planner decides'}"
        if site.several
        else f"1 unit, {model or 'the model that was ordered'}",
        f"Another model: {'do not mix them' if site.several else 'do not hang it'}. Tell the planner.",
        doing=doing.plates(site),
    )
    yield Draft(
        "look",
        "tools",
        "set",
        f"Lay out test leads, bench lead and pre-charge kit. Lay out what is not on the bill: {', '.join(instruments(site))}; a battery of the unit's voltage for the bench, a charger for one module, a heater of 1 to 2 kW, crimping tool, paint marker, insulating covers, ladder, protective gear.",
        "each there, tested, and calibrated where a reading is written down",
        "One is missing: the step that needs it waits.",
    )
    yield from _goods(site)
    if not site.banks.banks:
        yield Draft(
            "look",
            "trace-unknown",
            "set",
            "Trace by hand both battery cables of every unit to their bank. Write the bank beside each tag.",
            "not computed: the plan does not know the banks",
            "Until the planner has planned again with what you wrote, set no storage mode and energise nothing.",
            hold=True,
        )
    if site.several:
        yield Draft(
            "look",
            "data-route",
            "set",
            "Look at the route of the data cables.",
            f"{site.facts.metres(kept_by_practice('battery'))} from battery cables, {site.facts.metres(kept_by_practice('other'))} from other power (or an earthed metal divider between); crossings at right angles",
            "Move the data cables, never the power cables.",
            doing=[looked("data cables", "way")],
        )


def _goods(site: Site) -> Iterator[Draft]:
    """No meter tells the rating of a breaker: it is read before it is mounted. A fuse is read when it is fitted."""
    found: dict[tuple[str, str], list[Ends]] = {}
    for ends in site.circuits.circuits:
        for gear in site.switchgear.of(ends):
            if gear.kind is not GearKind.FUSE:
                more = "" if gear.kind in (GearKind.BREAKER, GearKind.THERE) or not gear.rating else " or more"
                found.setdefault((f"{gear.rated}{more}, {counted(len(gear.poles), 'pole')}", gear.name), []).append(ends)
    yield Draft(
        "look",
        "read-gear",
        "set",
        "Read every breaker, isolator and residual-current device before it is mounted, and write what it says.",
        "; ".join(f"{_named(site, some)}: {rated}" for (rated, _), some in found.items()),
        "Another rating, curve or number of poles: it does not go in. One that is too large lets its cable burn.",
        hold=True,
        doing=doing.gear(site),
        got=tuple(f"{name} of {_named(site, some)}" for (_, name), some in found.items()),
    )


def _named(site: Site, circuits: Sequence[Ends]) -> str:
    """Circuits by name; those of all units by their kind."""
    own = {ends.name for ends in circuits}
    whole = {kind for kind in CIRCUIT_KINDS if len(of := site.circuits.of(kind, common=False)) > 1 and own.issuperset(e.name for e in of)}
    names = [f"{kind} of every unit" for kind in CIRCUIT_KINDS if kind in whole]
    return ", ".join([*names, *(ends.name for ends in circuits if ends.common or ends.kind not in whole)])


def bench(site: Site) -> Iterator[Draft]:
    """Each unit alone on its bench feed, from its earth to its empty capacitors."""
    for unit in site.units.units:
        yield from _alone(site, unit)
    for bank in site.banks.banks:
        yield _charge_sum(site, bank.name, bank.units)


def _alone(site: Site, unit: UnitPlace) -> Iterator[Draft]:
    tag = unit.tag
    yield Draft(
        "bench",
        "bench-earth",
        tag,
        "Alone, nothing landed. Land its earth first (here a lead of its own, to a proven earth). Ohmmeter: case to it.",
        limit("continuity"),
        "Clean, tighten, measure again. No earth, no power.",
        hurt=True,
    )
    window = site.bench_window(site.banks.bank_of.get(tag))
    yield Draft(
        "bench",
        "bench-polarity",
        tag,
        "Bench lead with a fuse of 20 A or less, from a battery that is no part of the plant (which: ______). Voltmeter at its open end, red on its plus wire.",
        f"plus sign, {window}" if window else "plus sign; voltage not computed: compare with the unit's plate",
        "Do not connect: it destroys the unit at once. Minus: swap the poles. Too high: another battery.",
        hurt=True,
        doing=doing.bench_polarity(site, tag),
    )
    yield Draft(
        "bench",
        "bench-pre-charge",
        tag,
        "Connect it through its pre-charge resistor. Wait. Voltmeter across that; then bridge it.",
        limit("across_isolator"),
        "Do not bridge it: something draws current. Lead off; look what else is landed.",
        hurt=True,
        doing=doing.bench_pre_charge(tag),
    )
    wait = site.facts.figure("unit.settle_time")
    yield Draft(
        "bench",
        "bench-enter",
        tag,
        "Cover its AC terminals: LOAD goes live. Switch it on. Enter every setting of its sheet.",
        "every setting taken",
        "One is refused: choose no other. Ask the planner.",
        hurt=True,
        doing=doing.bench_enter(tag),
    )
    yield Draft(
        "bench",
        "read-back",
        tag,
        f"Switch it off. Wait {wait or 'as long as the manual says'}. Switch it on. Read back every setting.",
        f"phase, role, storage mode and every other as on its sheet{'; firmware the same on every unit' if site.several else ''}",
        "Enter it again, off, wait, on, read back. Wrong twice: the unit stays off the wall. Ask the maker.",
        hold=True,
        got=("firmware",) if site.several else (),
        doing=doing.read_back(site, tag),
    )
    yield Draft(
        "bench",
        "bench-away",
        tag,
        "Switch it off. Take the bench lead away. Wait five minutes. Voltmeter at its battery terminals.",
        limit("capacitors"),
        "Wait longer, measure again. Do not touch them.",
        hurt=True,
        doing=doing.bench_away(tag),
    )


def _charge_sum(site: Site, bank: str, units: tuple[str, ...]) -> Draft:
    """The limit of a bank is divided among its units, or it is exceeded as many times as there are units."""
    sums = site.sums(bank)
    own = [figure.value for tag in units if (figure := site.limits.charge.get(tag))]
    limit_of_bank = sums.charge_limit if sums else None
    told = "Add up the charge limits you read back from all units of this bank."
    otherwise = "Above it: the limit was not divided among the units. Set each unit to its own sheet. Let nothing charge the bank before."
    if len(units) == 1:
        told = "Hold the charge limit you read back from its unit against that of the bank."
        otherwise = "Above it: set it to the sheet. Let nothing charge the bank before."
    if limit_of_bank and len(own) == len(units) == 1:
        expect = f"{shown(own[0], 'A')}, not above {limit_of_bank}"
    elif limit_of_bank and len(own) == len(units):
        expect = f"{' + '.join(shown(value, 'A') for value in own)} = {shown(sum(own), 'A')}, not above {limit_of_bank}"
    else:
        expect = "not computed: ask the battery's maker what the bank may be charged with, and stay below that"
    return Draft(
        "bench",
        "charge-sum",
        bank,
        told,
        expect,
        otherwise,
        hold=True,
        doing=doing.charge_sum(units),
        got=writing.sums(units),
    )
