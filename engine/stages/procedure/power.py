"""Power on, source by source, each closed only when the meter across its open isolator allows it."""

from __future__ import annotations

import math
from collections.abc import Iterator

from engine.quantities import shown
from engine.stages.banks import BankPlace
from engine.stages.circuits import Ends
from engine.stages.procedure import writing
from engine.stages.procedure.doing import power as doing
from engine.stages.procedure.site import Draft, Site, others
from engine.stages.units import UnitPlace
from engine.tables.verification import chain_window, limit
from engine.text import clean, counted, listed

_STANDARD = 298.15  # K at which a module's plate tells its voltage (IEC 61215)


def battery(site: Site) -> Iterator[Draft]:
    """Bank by bank: polarity at the open isolator, then the bar, then each unit through the pre-charge resistor."""
    placed = site.banks.banks or (BankPlace("the bank", site.units.tags),)
    for bank in placed:
        common = site.circuit(f"battery {bank.name}") is not None
        if links := _fuses(site, bank):
            yield Draft(
                "battery",
                "fit-fuses",
                bank.name,
                f"Its battery isolators open and locked. Each fuse holder at the bank's end of its cable, before the isolator. Read each fuse link, then fit it, in every pole that has a holder.{_confirmed(site, bank)}",
                "; ".join(f"{names}: {rated}" for rated, names in links),
                "Another rating or kind: do not fit it. A holder at the unit's end leaves the cable unprotected: move it.",
                hold=True,
                hurt=True,
                doing=doing.fit_fuses(_fused(site, bank)),
                got=tuple(_fused(site, bank)),
            )
        if common:
            later = _later(site, bank)
            named = listed(later, most=len(later))
            yield Draft(
                "battery",
                "bank-polarity",
                bank.name,
                f"Its units' isolators open and locked. Ohmmeter at the dead bar, plus to minus. {site.bank_on}Voltmeter at the open battery isolator of the bank, bank side, red probe on plus.",
                f"open; {site.battery_window(bank.name)}",
                "Bar not open: a short between its poles. Minus sign: the battery is reversed. Close nothing. Swap it with everything open; measure again. Too high: a charger is on it, or a module too many is in series; close nothing.",
                hold=True,
                hurt=True,
                doing=doing.bank_polarity(site, bank.name),
                got=("bar", "volts"),
            )
            yield Draft(
                "battery",
                "bank-close",
                bank.name,
                "Close the battery isolator of the bank onto its bar. No unit is on the bar yet."
                + (f" Voltmeter at the open battery isolators of {named}, battery side." if later else ""),
                "no spark, no sound" + (f"; {limit('banks_apart')} at those" if later else ""),
                "A spark: something is on the bar. Open it; look for the unit isolator that is closed."
                + (" A voltage: that cable is on the wrong bank. Open it; trace both." if later else ""),
                hurt=True,
                doing=doing.bank_close(bank.name, _later(site, bank)),
                got=tuple(f"{tag} volts" for tag in later),
            )
        if bond := site.circuits.bond(bank.name):
            yield _earthed(site, bank.name, bond, close=not common)
        for tag in bank.units:
            yield from _unit_battery(site, bank.name, tag, "" if common else site.bank_on)


def _later(site: Site, bank: BankPlace) -> tuple[str, ...]:
    """The units of the banks that are still open: with this one alone on its bar, a cable that was landed on the wrong one shows there."""
    banks = [*site.banks.banks]
    return tuple(tag for other in banks[banks.index(bank) + 1 :] for tag in other.units)


def _fused(site: Site, bank: BankPlace) -> list[str]:
    """The circuits of a bank that have a fuse."""
    names = (f"battery {bank.name}", *(f"battery {tag}" for tag in bank.units))
    return [name for name in names if (ends := site.circuit(name)) and site.switchgear.fuse(ends)]


def _confirmed(site: Site, bank: BankPlace) -> str:
    """A kind that not every data sheet vouches for is a decision, and it has a name."""
    devices = [site.conductors.device(ends) for name in _fused(site, bank) if (ends := site.circuit(name))]
    if all(device is None or device.sure for device in devices):
        return ""
    return " Its kind is to be confirmed: fit none before the planner has signed for it here, by its maker's data sheet: ________________."


def _fuses(site: Site, bank: BankPlace) -> list[tuple[str, str]]:
    """What stands on the fuse links of a bank's circuits, and in which circuits."""
    found: dict[str, list[str]] = {}
    for name in _fused(site, bank):
        ends = site.circuit(name)
        if ends and (fuse := site.switchgear.fuse(ends)):
            found.setdefault(fuse.rated, []).append(name)
    return [(rated, " and ".join(names)) for rated, names in found.items()]


def _earthed(site: Site, bank: str, bond: Ends, *, close: bool) -> Draft:
    """The bond under voltage: the earthed pole reads nothing to earth, the other one the whole bank."""
    pole = site.facts.earthed_pole
    other = "plus" if pole == "minus" else "minus"
    return Draft(
        "battery",
        "earthed-pole",
        bank,
        f"{site.bank_on if close else ''}Voltmeter at {bond.start}, black probe on the earth bar: {pole}, then {other}.",
        f"{pole} {limit('across_isolator')}; {other} {site.battery_window(bank)}{', but with a minus sign' if other == 'minus' else ''}",
        f"The {other} reads nothing or half: the bond is open. The {pole} reads the bank: the wrong pole is bonded. Open the battery isolator; bond and fuse again. Too high: a charger is on it; close nothing.",
        hold=True,
        hurt=True,
        doing=doing.earthed_pole(site, bank, bond, close=close),
        got=(str(pole), other),
    )


def _unit_battery(site: Site, bank: str, tag: str, first: str) -> Iterator[Draft]:
    # An earthed pole joins all banks through earth: there only tracing by hand tells them apart.
    apart = len(site.banks.banks) > 1 and not site.facts.earthed_pole
    yield Draft(
        "battery",
        "unit-polarity",
        tag,
        f"{first}Voltmeter at its open battery isolator, battery side, red on plus.{' Only if that is right: ohmmeter from minus there to minus of each bank.' if apart else ''}",
        site.battery_window(bank) + (f"; {bank}: {limit('continuity')}; others: open" if apart else ""),
        f"Minus: swap the poles. Too high: the planner. (Closing destroys it.) 0 V: fuse out.{' Another bank: stop, trace.' if apart else ''}",
        hold=True,
        hurt=True,
        doing=doing.unit_polarity(site, bank, tag, first=bool(first)),
        got=writing.polarity(other.name for other in site.banks.banks) if apart else (),
    )
    yield Draft(
        "battery",
        "pre-charge",
        tag,
        # Across one pole of an open isolator nothing returns: a meter there reads nothing, charged or not.
        f"Take its padlock off. Pre-charge: clip lead across one pole of its open isolator, resistor across the other. {_wait(site)}Voltmeter at the unit, red on +.",
        limit("pre_charged"),
        "Do not close. Minus: reversed. Less: unit on, or clip loose.",
        hold=True,
        hurt=True,
        doing=doing.pre_charge(tag),
    )
    yield Draft(
        "battery",
        "battery-close",
        tag,
        "Close that isolator within 10 s, then clips off. Voltmeter at unit.",
        limit("unit_to_bar" if site.circuit(f"battery {bank}") else "unit_to_bank"),
        "Open it: bad joint.",
        hold=True,
        hurt=True,
        doing=doing.battery_close(tag),
    )


def _wait(site: Site) -> str:
    """In whole seconds, so that nobody closes too early."""
    charging = site.bill.pre_charge
    return f"Wait {math.ceil(charging.time.value)} s. " if charging else ""


def chain(site: Site) -> Iterator[Draft]:
    """Data last in, first out: behind the last battery isolator, for while a minus is open the bus common carries what it should (T24)."""
    if site.several or site.chain.nodes:
        yield from _links(site)
    for bank in site.banks.banks:
        lead = next((lead for lead in site.chain.data if lead.bank == bank.name), None)
        plugged = f" Plug its data lead into {lead.unit}, by the manual." if lead else ""
        unit = lead.unit if lead else bank.units[0]
        yield Draft(
            "chain",
            "sensor",
            bank.name,
            f"Fit the temperature sensor of {bank.name} to its pole or case, and plug it into {unit}, by the manual.{plugged}",
            f"sensor{' and data lead' if lead else ''} of {bank.name} in place; no other bank's in a unit of {bank.name}",
            "One is missing or too short: order it. Without it nothing watches the bank while it charges: do not charge it.",
            hurt=True,
            doing=doing.sensor(site, bank.name),
        )


def _links(site: Site) -> Iterator[Draft]:
    links = [f"{link.start} {link.start_port or 'port ?'} to {link.end} {link.end_port or 'port ?'}" for link in site.chain.links]
    beyond = "".join(f", one to {clean(node.name, 40)}" for node in site.chain.nodes)
    between = (
        f"{counted(len(site.units.units) - 1, 'link')} between the {len(site.units.units)} units{beyond}" if site.several else beyond[2:]
    )
    links += [f"{node.unit} {node.port or 'port ?'} to {clean(node.name, 40)}" for node in site.chain.nodes]
    yield Draft(
        "chain",
        "links",
        "chain",
        f"{site.off.removesuffix('.')}; every battery isolator closed, its reading right. Only then plug the links: {'; '.join(links)}.",
        f"{between}; no ring, no branch",
        "A battery isolator is still open: plug nothing, or the data cable carries battery current. From now on data comes out of a unit before its battery isolator is opened.",
        hold=True,
        doing=doing.links(site),
    )
    first, last = site.chain.ends
    ends = {clean(end.unit, 40): str(end.port or "free port") for end in site.chain.terminators}
    window = chain_window(1)
    for one, other, then in ((first, last, ""), (last, first, f" Then plug that of {first} again.")):
        away = "" if one == first else f"Take the terminator of {first} out. "
        yield Draft(
            "chain",
            "chain-resistance",
            "chain",
            f"{away}Plug the terminator of {one}: {ends.get(one, 'free port')}. Ohmmeter across the data pair in the open port of {other}, pins by the manual.{then}",
            f"{window}, with one terminator in"
            + (f"; then {counted(len(site.chain.terminators), 'terminator')}, none between" if then else ""),
            "No reading: a link is missing or broken, or the terminator is. 66 or less: one terminator too many, in a unit or a node. Near 0: the pair is shorted. Anything else: not proven, find why.",
            hold=True,
            doing=doing.chain_resistance(one, other, last=one == last),
            at=other,
        )


def power_up(site: Site) -> Iterator[Draft]:
    """Load and incoming still open: the units find each other, and say what they are."""
    count, lead = len(site.units.units), site.units.lead or "not yet known"
    apart = [kind for kind in ("load", "incoming", "solar") if kind in site.isolators]
    opened = f"{listed(apart, most=len(apart)).capitalize()} isolators open."
    if site.several:
        yield Draft(
            "power up",
            "switch-on",
            "set",
            f"{opened} Read in the manual which unit is switched on first, and write it here: ______. Switch on in that order.",
            "units that answer: "
            + ", ".join(f"{len(site.units.on(phase))} on {phase}" for phase in site.facts.phases)
            + f"; together {count}, one lead ({lead}); no alarm for ten minutes",
            f"{site.off} A unit missing: chain resistance again. A wrong phase or two leads: that unit goes back to the bench.",
            hold=True,
            doing=doing.switch_on(site),
            got=tuple(f"on {phase}" for phase in site.facts.phases) if len(site.facts.phases) > 1 else (),
        )
    else:
        yield Draft(
            "power up",
            "switch-on",
            "set",
            f"{opened} Switch the unit on.",
            "no alarm for ten minutes",
            f"{site.off} It goes back to the bench.",
            hold=True,
            doing=doing.switch_on(site),
        )
    for unit in site.units.units:
        role = unit.role if site.units.lead else "role not yet known (hold)"
        many = f"; {len(site.units.on(unit.phase))} on {unit.phase}, {count} in all" if site.several else ""
        yield Draft(
            "power up",
            "display",
            unit.tag,
            f"Read on its display every setting once more{', and how many units it sees' if site.several else ''}.",
            f"phase {unit.phase}, {role}{many}; all as on its sheet",
            f"{site.off} This one goes back to the bench.",
            hold=True,
            doing=doing.display(site, unit),
            got=("units seen",) if site.several else (),
        )
    for bank in site.banks.banks:
        managed = any(lead.bank == bank.name for lead in site.chain.data)
        yield Draft(
            "power up",
            "bank-seen",
            bank.name,
            f"Read on the display of a unit on it what it sees of the bank: voltage, temperature{', and the limits that the bank sends' if managed else ''}.",
            f"{site.battery_window(bank.name)}; the temperature of the room"
            + ("; charge and discharge limits, both above zero" if managed else ""),
            f"{site.off} The sensor{' or the data lead' if managed else ''} is not seen: plug it again, by the manual. Charge nothing before.",
            hold=True,
            doing=doing.bank_seen(site, bank.name),
            got=("volts", "temperature", *(["charge limit", "discharge limit"] if managed else [])),
        )


def voltages(site: Site) -> Iterator[Draft]:
    """Each unit is measured at its open load isolator before it meets the bar; then the bars among themselves."""
    closed: list[str] = []
    for unit in site.units.units:
        yield _like_poles(site, unit, closed)
        closed.append(unit.phase)
    line, turning = site.line_voltage(), site.turning
    told = f"{shown(line.value, 'V', 3)}, within 5 %" if line else "line to line not computed"
    told += f"; rotation {turning[0]}" if turning else ""
    if len(site.facts.phases) > 1:
        yield Draft(
            "voltages",
            "bars",
            "set",
            f"Load isolator of the set open. At the load bars: voltmeter line to line, every pair.{' Rotation meter L1 L2 L3.' if turning else ''}",
            told,
            f"{site.off} A line voltage near 0 or near phase voltage{f', or rotation {turning[1]}' if turning else ''}: a unit is on a wrong phase. Read-back and dead continuity again.",
            hold=True,
            hurt=True,
            doing=doing.bars(site),
            got=writing.bars(site),
        )


def _like_poles(site: Site, unit: UnitPlace, closed: list[str]) -> Draft:
    """Across an open isolator like poles read nothing, unlike ones line voltage; joined at the bar they always read nothing."""
    line = site.line_voltage()
    foreign = next((phase for phase in closed if phase != unit.phase), None)
    if not site.several:
        do, want = "the load board to neutral", "0 V"
    elif others(site.units, unit):
        do, want = "unit side to its bar", "below 2 V"
    else:
        do, want = "its bar to neutral", "0 V"
    # A breaker that opens the neutral too leaves the unit afloat: its voltage to a bar would be anything, right or wrong.
    output = next(ends for ends in site.circuits.of("load", common=False) if ends.tag == unit.tag)
    afloat = site.several and site.switchgear.floats(output) and (foreign is not None or bool(others(site.units, unit)))
    joined, off = ("Fused lead from its neutral to the neutral bar. ", " Lead off; is its fuse whole?") if afloat else ("", "")
    stays = (
        "Load isolator of the set stays open, its own is still open"
        if site.several
        else f"Breaker of {site.consumers} off, its load isolator open"
    )
    # Two zeros could come from a dead meter, or from a unit on the wrong phase: a third reading tells.
    cross = "; unit side to a live bar of another phase" if foreign else ""
    reads = f"; near {shown(line.value, 'V', 3) if line else 'line voltage (not computed)'}" if foreign else ""
    return Draft(
        "voltages",
        "unit-voltage",
        unit.tag,
        f"{stays}. {joined}Voltmeter in turn: unit side to its own neutral; {do}{cross}.{off} All right: close {'its own' if site.several else 'it'}.",
        f"{site.around('output.voltage', 0.05)}; {want}{reads}; then no alarm, no hum",
        f"{'Fuse blown: once more. ' if afloat else ''}Do not close, or open at once. {site.off} Too high: its output voltage setting. Else read-back, dead tests again.",
        hold=True,
        hurt=True,
        doing=doing.unit_voltage(site, unit, bridged=afloat, closed=bool(others(site.units, unit)), foreign=foreign),
        got=writing.unit_voltage(site, foreign=bool(foreign)),
    )


def solar(site: Site) -> Iterator[Draft]:
    """Solar is the last to close."""
    if not site.facts.solar:
        return
    fuses = [gear for ends in site.circuits.of("solar", common=False) if (gear := site.switchgear.fuse(ends))]
    if fuses:
        yield Draft(
            "solar",
            "fit-string-fuses",
            "set",
            "Solar isolators open, string connectors apart. Read each string fuse, then fit it; its holder stays open.",
            f"{fuses[0].rated}, in each pole of each string ({sum(gear.count * len(gear.poles) for gear in fuses)} of them)",
            "Another rating or kind: do not fit it.",
            hold=True,
            hurt=True,
            doing=doing.fit_string_fuses(site),
        )
    for unit in site.units.units:
        yield Draft(
            "solar",
            "string-polarity",
            unit.tag,
            _strings(site, fused=bool(fuses)),
            f"plus sign; {_open_voltage(site)}; {limit('strings_alike')}",
            "Do not close. Minus: swap it. Too high: a module too many destroys the input. Too low: one is missing, or shade.",
            hold=True,
            hurt=True,
            doing=doing.string_polarity(site, unit.tag),
            got=writing.solar_strings(site),
        )
        yield Draft(
            "solar",
            "solar-close",
            unit.tag,
            "Close its solar isolator. Clamp meter on its battery cable.",
            f"charging, not above {site.limits.charge.get(unit.tag) or 'the charge limit (not computed; the planner decides)'}",
            "Open it. Read the charge limit back: solar counts into it.",
            hurt=True,
            doing=doing.solar_close(unit.tag),
        )


def _open_voltage(site: Site) -> str:
    """What an open string reads in sun, by the temperature of its cells, and what it may never exceed."""
    cold, sun = site.strings.cold_voc, site.open_voltage()
    most = f"at most {cold}" if cold else "most voltage not computed: at most what the plate of the unit says"
    return f"in sun {sun[0]} (cells at {site.cell_hot}) to {sun[1]} (at {shown(_STANDARD, 'K')}), {most}" if sun else most


def _strings(site: Site, *, fused: bool) -> str:
    """A reversed string is found before it meets another: behind that the others feed it."""
    if fused:
        return "Join its string connectors, every fuse holder open. Voltmeter at each holder: every string, red on plus. Only then close the holders."
    if site.facts.strings_on_tracker > 1:
        return "Voltmeter at the connectors of every string, red on plus. Only then join them; at its open solar isolator again."
    return "Join its string connectors. Voltmeter at its open solar isolator: every string, red on plus."


def _shutdown(site: Site) -> str:
    """In an emergency: by the devices that the bill has for it, else source by source."""
    devices = [word for word in ("emergency", "rapid") if site.bill.has(f"{word} shutdown device")]
    return " and ".join(f"{word} shutdown" for word in devices) or "all of them in an emergency"


def hand_over(site: Site) -> Iterator[Draft]:
    """What stays behind on the site."""
    name = clean(site.facts.answers.site.name or "the site", 60)
    labels = "source labels" + (" and the bond label" if site.bill.has("bond label") else "")
    lost = ", what stops when the lead stops" if site.several else ""
    yield Draft(
        "hand over",
        "leave",
        "set",
        f"Leave at {name}: this plan with its readings, every sheet signed, the bill, serial numbers, instruments used. Fit {labels}.",
        "every sheet has two signatures; every reading is written down",
        "A reading is missing: measure it now.",
    )
    yield Draft(
        "hand over",
        "show",
        "set",
        f"Show the user: how each source is opened, {_shutdown(site)}, restart order, alarms{lost}.",
        "the user does it once alone",
        "Show it again.",
    )
    yield Draft(
        "hand over",
        "return",
        "set",
        "Agree on a day in the first weeks: torque and warmth of every battery joint again; then yearly.",
        "a date is written down",
        "No date: leave it with the planner to call.",
    )
