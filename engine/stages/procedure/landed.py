"""What is landed, tested dead: continuity, joints, bonds, covers."""

from __future__ import annotations

from collections.abc import Iterator

from engine.stages.procedure import writing
from engine.stages.procedure.doing import landing as doing
from engine.stages.procedure.doing.readings import looked
from engine.stages.procedure.site import Draft, Site
from engine.stages.units import UnitPlace
from engine.tables.verification import limit


def dead_tests_again(site: Site) -> Iterator[Draft]:
    """What a wrong wire would destroy is found with an ohmmeter, while everything is dead."""
    for unit in site.units.units:
        yield from _continuity(site, unit)
    yield from _common_runs(site)
    yield Draft(
        "dead tests again",
        "joints",
        "set",
        f"Pull at every battery lug. Then micro-ohmmeter across each{' and across every bar joint' if site.several else ''}. Write all readings down; take the mean of joints that are alike.",
        f"none moves; {limit('joint')}",
        "Above: the lug is loose or badly pressed. Take it apart, clean it, torque it, measure again.",
        hold=True,
        hurt=True,
        doing=doing.joints(site),
        got=writing.joints(site),
    )
    yield _second_bond(site)
    yield from _second_pole_bond(site)
    yield Draft(
        "dead tests again",
        "covers",
        "set",
        f"Fit every {'cover of a bar, every ' if site.bill.has('busbar cover') else ''}lid and every gland's nut; close the boards. From here on probe through the holes of a cover; where it has none, take off that one alone, gloves on, and put it back.",
        "nothing that will be live can be touched with a finger",
        "A cover is missing: close no isolator before it is on.",
        hold=True,
        doing=[looked("covers", "fitted")],
    )


def _common_runs(site: Site) -> Iterator[Draft]:
    """Lines swapped between a bar and what lies behind the isolator of the set: each unit's own run reads right all the same."""
    load, incoming = site.load_circuit, site.incoming_circuit
    if not site.several:
        return
    want = f"each line to its own and neutral to neutral {limit('continuity')}; each line to every other, to neutral and to earth: open (neutral to earth is not read: a bond joins them)"
    otherwise = "Lines swapped, or a neutral open, in the common run; a line at earth: a short, or a surge device that is worn through. Mend it; measure."
    yield Draft(
        "dead tests again",
        "load-run",
        "set",
        f"Breakers of {site.consumers} off. Close the load isolator of the set and the residual-current device. Ohmmeter from each load bar to each terminal behind the residual-current device, neutral and earth too. Open both again, lock the isolator.",
        want,
        otherwise,
        hold=True,
        doing=doing.load_run(site, load),
        got=writing.run(site, load),
    )
    if incoming:
        yield Draft(
            "dead tests again",
            "incoming-run",
            "set",
            f"The {site.incoming_isolator} stays open and locked. Ohmmeter from each of its terminals on the side of the set to each incoming bar, neutral and earth too.",
            want,
            otherwise,
            hold=True,
            hurt=True,
            doing=doing.incoming_run(site, incoming),
            got=writing.run(site, incoming),
        )


def _second_bond(site: Site) -> Draft:
    """With the one bond of island mode open, neutral and earth must be apart; a relay inside the units cannot be lifted."""
    kind = site.facts.answers.earthing.island_bond
    nec = bool(site.incoming) and site.facts.rules == "nec"
    # No device opens that neutral under the NEC, and it meets earth at the service.
    apart = f"{str(site.incoming).capitalize()} off, locked, proved dead; incoming neutral off its bar. " if nec else ""
    if site.incoming and not nec:
        apart = f"The {site.incoming_isolator} open with its neutral. "
    both = bool(site.incoming) and site.several
    # A neutral that meets earth inside a unit shows only while its isolator is closed.
    sides = f"load{' and incoming' if site.incoming else ''}"
    closed = f"Close every isolator of the units for {sides}. " if site.several else "Close its load isolator. "
    bars = "both neutral bars" if both else "neutral bar"
    measured = f"{apart}{closed}Ohmmeter: {bars} to earth bar. Open and lock {'them' if site.several else 'it'} again."
    back = " Incoming neutral back, torqued." if nec else ""
    do, want, more = (
        f"Prove dead at {site.bond_place}. Lift the neutral-earth link there. {measured} Put the link back; ohmmeter across it.{back}",
        f" while it is lifted; across it, back again, {limit('continuity')}",
        "",
    )
    if kind == "none":
        do, want = f"This site has no bond in island mode. {measured}{back}", ""
    elif kind == "unit relay":
        do = (
            "The bond is a relay inside the units: there is no link to lift. Ask the maker whether it is open while a unit is off "
            f"(write it here: ______). If it is not, or nobody knows, lift the neutral of every unit for this test, and count them. {site.off} {measured}{back} Land every neutral that was lifted, torque it; ohmmeter to its bar."
        )
        want, more = (
            f"; lifted neutrals, back again, {limit('continuity')}",
            " A relay that is closed while its unit is off reads the same.",
        )
    return Draft(
        "dead tests again",
        "second-bond",
        "set",
        do,
        limit("second_bond") + want,
        f"Below 1 ohm: there is a second bond (another board{', a generator' if site.incoming else ''}, a neutral on the earth of a unit, a relay in it). Find it and take it out.{more}"
        " Between the two: not proven (a surge device, a filter, a load, damp). Find why; do not go on.",
        doing=doing.second_bond(site, site.incoming_circuit),
        got=writing.second_bond(site),
        hold=True,
        hurt=True,
    )


def _second_pole_bond(site: Site) -> Iterator[Draft]:
    """With its bond lifted an earthed pole must be free of earth, at its bar and in every unit; then the bond is put back, and proved."""
    for ends in site.bonds:
        pole, units = site.facts.earthed_pole, ", ".join(ends.units)
        # The posts of a bank are never dead: there a meter of low impedance shows a second earth as the voltage of the bank.
        posts = ends.start == ends.bank
        meter, apart = ("Low-impedance voltmeter", limit("banks_apart")) if posts else ("Ohmmeter", limit("second_bond"))
        yield Draft(
            "dead tests again",
            "second-pole-bond",
            str(ends.bank),
            f"Battery isolators open. Lift {ends.name} at the earth bar. {meter} from each pole of {ends.start} to the earth bar; ohmmeter from the {pole} at the unit side of the open isolator of {units} to it. Put the bond back, torque it, mark it; ohmmeter {ends.start} {pole} to the earth bar.",
            f"while it is lifted, {apart} at {ends.start} and {limit('second_bond')} at the units; {limit('continuity')} when it is back",
            f"Less while lifted: {pole} meets earth in a second place (a unit that earths its own, a cable). Find it and take it out. Open when back: no fuse opens on an earth fault. Make the joint again.",
            hold=True,
            hurt=True,
            doing=doing.second_pole_bond(site, ends),
            got=writing.second_pole_bond(ends.units),
        )


def _continuity(site: Site, unit: UnitPlace) -> Iterator[Draft]:
    """One side of a unit at a time, the other one's isolator open: a transfer relay may rest closed, and join both sides of a unit that is right."""
    tag, phase, want = unit.tag, unit.phase, limit("continuity")
    other_load = [other for other in site.facts.phases if other != phase]
    bar = "bar" if site.several else "board"
    each = f"to each {bar}" if other_load or site.incoming else f"to the load {bar}"
    yield Draft(
        "dead tests again",
        "load-continuity",
        tag,
        f"Loads off. Close its load isolator. Ohmmeter: LOAD line {each}, to neutral and to earth; LOAD neutral to the neutral {bar}; case to earth bar. Open and lock it.",
        _one_of("load", bar, want, lines=bool(other_load), case=True),
        _wrong("LOAD", rolled=bool(other_load), sides=bool(site.incoming)),
        doing=doing.load_continuity(site, unit),
        got=writing.load_continuity(site),
        hold=True,
    )
    if site.incoming:
        other_incoming = [other for other in site.facts.incoming_lines if other != phase] if phase in site.facts.incoming_lines else []
        yield Draft(
            "dead tests again",
            "incoming-continuity",
            tag,
            f"Its load isolator open. Close its incoming isolator. Ohmmeter: INCOMING line to each {bar}, to neutral and to earth; its neutral to the incoming neutral {bar}. Open and lock it."
            if site.several
            else "Its incoming isolator stays open and locked: the supply is behind it. Ohmmeter on the unit's side of it: line to INCOMING line, neutral to INCOMING neutral; then INCOMING line to INCOMING neutral, to earth and to the load board.",
            _one_of("incoming", bar, want, lines=bool(other_incoming), case=False)
            if site.several
            else f"line to line and neutral to neutral: {want}; all else open",
            _wrong("INCOMING", rolled=bool(other_incoming), sides=True),
            doing=doing.incoming_continuity(site, unit),
            got=writing.incoming_continuity(site),
            hold=True,
            hurt=not site.several,
        )


def _one_of(side: str, bar: str, want: str, *, lines: bool, case: bool) -> str:
    """A line to its own bar and to nothing else; `lines`: its side has several."""
    own = f"the {side} {bar}{' of its phase' if lines else ''}"
    return f"{own}, neutral{' and case' if case else ''}: {want}; all else: open"


def _wrong(side: str, *, rolled: bool, sides: bool) -> str:
    """What an ohmmeter that reads otherwise says."""
    swapped = [*(["lines rolled"] if rolled else []), *(["load and incoming swapped"] if sides else [])]
    told = " or ".join(swapped) if swapped else f"{side} not landed, or on another terminal"
    return f"{told[0].upper()}{told[1:]}; neutral{' or earth' if side == 'LOAD' else ''} open; a short. Rewire; measure."
