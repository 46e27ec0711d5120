"""The loads come on, phase by phase, up to all of them at once: held against what the units carry."""

from __future__ import annotations

from collections.abc import Iterator

from engine.quantities import shown
from engine.stages.procedure import writing
from engine.stages.procedure.doing import loading as doing
from engine.stages.procedure.site import Draft, Site
from engine.tables.verification import limit
from engine.text import clean, counted
from engine.workings import Figure


def loads(site: Site) -> Iterator[Draft]:
    """Phase by phase, with the clamp meter; everything on at once, held against what the units carry."""
    loose = (
        "Voltage up on another phase meanwhile: the neutral is open. Everything off."
        if len(site.facts.phases) > 1
        else "Voltage out of its window: look for a loose joint."
    )
    for phase in site.facts.phases:
        alone = (
            f"{f'Open the {site.incoming_isolator}, if it is closed. ' if site.incoming else ''}{'Units alone. ' if site.several else ''}"
        )
        yield Draft(
            "loads",
            "loads-on",
            "set",
            f"{alone}Switch the loads of {'this phase' if site.several else phase} on, one by one, those on several phases last. Voltmeter and clamp meter on it.",
            f"{_named(site, phase)}{site.around('output.voltage', 0.05)}; {_carried(site, phase)}",
            f"Above that: switch the last load off and leave it off; the planner looks. {loose}",
            hurt=True,
            doing=doing.loads_on(site, phase, site.incoming_circuit),
            got=("volts", "amperes"),
            at=phase,
        )
    for unit in site.units.units:
        if len(site.units.on(unit.phase)) > 1:
            yield Draft(
                "loads",
                "shares",
                unit.tag,
                "Its phase at half load: clamp meter on the load lines of all units there.",
                limit("shares"),
                "Loose lug or longer cable; then settings.",
                hurt=True,
                doing=doing.shares(site, unit),
            )
    if len(site.facts.phases) > 1:
        yield Draft(
            "loads",
            "neutral-current",
            "set",
            "Clamp meter on the common neutral, with what is on now.",
            _neutral(site),
            "More: harmonics, or loads on other phases than planned. Switch off until the planner has looked.",
            hurt=True,
        )
    yield from _of_banks(site)
    yield _earth_current(site)
    yield from _lasting(site)
    if site.incoming_circuit:
        yield Draft(
            "loads",
            "transfer",
            "set",
            f"Loads on. Close the {site.incoming_isolator}; open it; close it again. Voltmeter on each line; earth-leakage clamp as before, while it is closed{', once with all off but the loads of one line' if len(site.facts.phases) > 1 else ''}.",
            f"no load drops out, no alarm; the {'set' if site.several else 'unit'} follows the supply, then runs alone, then follows; no more earth current than alone",
            "Write down what dropped out. Open the incoming; the planner decides.",
            hurt=True,
            doing=doing.transfer(site, site.incoming_circuit),
            got=writing.transfer(site),
        )


def _of_banks(site: Site) -> Iterator[Draft]:
    """Phase by phase each may be within what its units carry, and all of them together beyond what their bank gives."""
    for bank in site.storage.banks:
        if bank.discharge_limit:
            cable = f"battery {bank.name}" if site.circuit(f"battery {bank.name}") else f"the battery cable of {bank.name}"
            ends = site.circuit(f"battery {bank.name}") or next(
                (e for e in site.circuits.of("battery", common=False) if e.bank == bank.name), None
            )
            fuse = site.switchgear.fuse(ends) if ends else None
            # The bank may give more than its cable and fuse carry.
            ratings = [figure for figure in (bank.discharge_limit, fuse.rating if fuse else None) if figure]
            least = min(ratings, key=lambda figure: figure.value)
            yield Draft(
                "loads",
                "bank-current",
                bank.name,
                f"{'Units' if site.several else 'The unit'} alone, with all that is on now: direct-current clamp meter on {cable}.",
                f"not above {least}{', what its fuse carries' if least is not bank.discharge_limit else ''}",
                "More: the bank, or its fuse and cable, is overloaded. Switch off the last load; the planner says what may be on together.",
                hurt=True,
            )


def _earth_current(site: Site) -> Draft:
    """A second bond lets the neutral's current part ways; a relay that closes only while its unit runs is found in no dead test."""
    whose = "each unit" if site.several else "the unit"
    return Draft(
        "loads",
        "earth-current",
        "set",
        f"Earth-leakage clamp round all earth conductors of {whose} together, and round the neutral-earth link where there is one: first with every load off, then with those on that were on{', then with those of one line alone' if len(site.facts.phases) > 1 else ''}.",
        "no more with loads on than with them off, but for a few milliamperes",
        "More: load current runs through earth. A second bond closes while a unit runs, or a neutral touches earth. Loads off; find it.",
        hold=True,
        hurt=True,
        doing=doing.earth_current(site),
        got=writing.earth_current(site),
    )


def _named(site: Site, phase: str) -> str:
    """The loads that the plan has on a phase, for whoever finds only breakers."""
    place = site.facts.phases.index(phase)
    names = [clean(load.name, 30) for load, on in zip(site.demand.loads, site.phases.on, strict=False) if place < len(on) and on[place]]
    return f"{', '.join(names)}; " if names else ""


def _carried(site: Site, phase: str) -> str:
    """What a phase may draw in the end: what its units carry, beside what all its loads add up to without demand factors."""
    row = site.phases.all_on.phases.get(phase)
    if row is None or row.carried is None:
        return "most load not computed: not above what the units' plates say; the planner decides"
    most = f"not above {_power(row.carried, row.carried_current)}" + (
        f" and {row.power_carried} on the display" if row.power_carried else ""
    )
    carries = f"{most}, what {counted(len(site.units.on(phase)), 'unit')} there {'carry' if len(site.units.on(phase)) > 1 else 'carries'}"
    if row.drawn is None:
        return carries
    drawn = _power(row.drawn, row.drawn_current)
    if row.more_than_carried:
        return f"running, {carries}; all of them at once would draw {drawn}, so some stay off"
    return f"by their plates all of them draw {drawn}; running, {carries}"


def _power(apparent: Figure, current: Figure | None) -> str:
    """A power with the current that a clamp meter shows."""
    return f"{shown(apparent.value, 'VA', 3)}" + (f" ({shown(current.value, 'A', 3)})" if current else "")


def _neutral(site: Site) -> str:
    """What the common neutral may carry with everything on."""
    most, drawn = site.phases.all_on.neutral_limit, site.phases.all_on.neutral
    if most is None:
        return "not computed (units' rating missing): not above the largest line current; the planner decides"
    told = f"not above {shown(most.value, 'A', 3)}"
    if drawn is None or drawn.value > most.value or any(row.more_than_carried for row in site.phases.all_on.phases.values()):
        return told
    return f"{told}; {shown(drawn.value, 'A', 2)} is reckoned with every load at its full power"


def _lasting(site: Site) -> Iterator[Draft]:
    """Half an hour with all that may be on, the largest motor started last where there are motors."""
    starting = [load for load in site.demand.loads if load.start]
    motor = max(starting, key=lambda load: load.start.value if load.start else 0.0, default=None)
    start = f"Start {clean(motor.name, 60)}, the largest start, while the rest runs. Then half" if motor else "Half"
    yield Draft(
        "loads",
        "lasting",
        "set",
        f"{start} an hour with all of that on; hand-held thermometer on every battery lug, AC terminal{', fuse and bar' if site.several else ' and fuse'}.",
        f"{'no unit trips' if site.several else 'the unit does not trip'}; no joint more than a few degrees above its like",
        ("Trips: the motor needs a soft start, the planner decides. " if motor else "Trips: too much is on, the planner decides. ")
        + "A hot joint: everything off, make it again.",
        hurt=True,
    )
