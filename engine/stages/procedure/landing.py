"""Batteries matched, everything hung and pulled, bare cables tested, everything landed with every isolator open."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from engine.quantities import shown
from engine.site.storage import LEAD_ACID, Feed
from engine.stages.circuits import Ends
from engine.stages.procedure import writing
from engine.stages.procedure.doing import landing as doing
from engine.stages.procedure.doing.readings import looked
from engine.stages.procedure.site import Draft, Site
from engine.tables.verification import array_insulation, battery_insulation, insulation, limit
from engine.text import counted, listed


def match(site: Site) -> Iterator[Draft]:
    """Modules and strings are made alike before they meet; banks that must stay apart are proved apart."""
    storage = site.facts.answers.storage
    lead = storage.chemistry in LEAD_ACID
    for bank in site.banks.banks:
        yield Draft(
            "match",
            "modules",
            bank.name,
            "Every module of it on its own: "
            + ("charge it, let it rest." if lead else "charge it full at the maker's voltage, let it rest.")
            + " Voltmeter, red probe on plus."
            + (" Then join the modules of each string with their links." if site.facts.series > 1 else ""),
            "plus sign; the modules of one string add up to the string" + _module(site, bank.name),
            "Minus sign, or a sum too low: a module is reversed or dead. Do not join it.",
            hurt=True,
            doing=doing.modules(site, bank.name),
            got=writing.modules(site),
        )
        if site.facts.strings_in_parallel > 1:
            yield Draft(
                "match",
                "strings-alike",
                bank.name,
                "Before a string of it is joined to the next: minus joined to minus, then voltmeter from plus to plus across what is still open.",
                _difference(site),
                "More: the strings are unequal and a large current would run between them. Charge the lower one; measure again.",
                hold=True,
                hurt=True,
                doing=doing.strings_alike(site, bank.name),
                got=writing.strings(site),
            )
            yield Draft(
                "match",
                "join-strings",
                bank.name,
                f"Join its strings one by one, each right after that reading, with the {'leads' if _feed(site, bank.name) == 'bar' else 'links'}, fuses and torque of the battery's maker. Its two leads leave the row so: {_LEAVES[_feed(site, bank.name)]}.",
                f"{counted(site.facts.strings_in_parallel, 'string')} in parallel; the two leads where the plan has them",
                "In another place one string carries more than the others, and the limits of this plan do not hold: move the lead.",
                hold=True,
                hurt=True,
                doing=doing.join_strings(bank.name),
            )
    if len(site.banks.banks) > 1:
        yield from _apart(site)


_LEAVES: Mapping[Feed, str] = {
    "one end": "both from one end of the row",
    "diagonal": "plus from one end of the row, minus from the other",
    "bar": "from a bar, every string by two leads of one length",
}


def _feed(site: Site, bank: str) -> Feed:
    sums = site.sums(bank)
    return sums.feed if sums else site.facts.feed


def _module(site: Site, bank: str) -> str:
    """What one module reads: between empty and full, nominal voltage only where nothing else is known."""
    if window := site.module_window(bank):
        return f"; each {window}, full ones near the upper end"
    nominal = site.facts.figure("storage.module.voltage")
    return f"; each near {nominal} (nominal; a full one is above it), or what its maker says" if nominal else ""


def _difference(site: Site) -> str:
    allowed = site.match()
    if allowed is None:
        return "not computed: ask the battery's maker which difference is allowed; until then not above 0.1 V (common practice)"
    return f"not above {allowed}"


def _apart(site: Site) -> Iterator[Draft]:
    names = ", ".join(bank.name for bank in site.banks.banks)
    first, second = site.banks.banks[0], site.banks.banks[1]
    pole = site.facts.earthed_pole
    otherwise = "Near the battery's voltage: the banks are joined. Close nothing. Find the cable that joins them; storage mode separate on joined banks destroys units. Anything between: not proven, find why."
    if pole:
        bonds = ", ".join(ends.name for ends in site.bonds)
        yield Draft(
            "match",
            "banks-apart",
            "set",
            f"The {pole} of each bank will be earthed, and then a voltmeter cannot prove the banks ({names}) apart. No bond is landed yet ({bonds}); lift one that is there, and cap it. Then low-impedance voltmeter: {first.name} plus to {second.name} minus, and so on for every pair.",
            f"{limit('banks_apart')} for every pair, with no bond landed",
            otherwise,
            hold=True,
            hurt=True,
            doing=doing.banks_apart(site),
            got=writing.pairs(bank.name for bank in site.banks.banks),
        )
    else:
        yield Draft(
            "match",
            "banks-apart",
            "set",
            f"Banks {names} stay apart. Every isolator open. Low-impedance voltmeter: each pole of {first.name} to each pole of {second.name}{' and so on, bank by bank' if len(site.banks.banks) > 2 else ''}, {first.name} plus to {second.name} minus first.",
            f"{limit('banks_apart')} each time",
            otherwise,
            hold=True,
            hurt=True,
            doing=doing.banks_apart(site),
            got=writing.pairs(bank.name for bank in site.banks.banks),
        )


def _weight(site: Site) -> str:
    """What is lifted, where somebody said it."""
    weight = site.facts.figure("unit.weight")
    return f": {site.facts.told(weight)}" if weight else ""


def mount(site: Site) -> Iterator[Draft]:
    """Everything hangs and every cable lies before anything is tested: what is moved later is tested again."""
    yield Draft(
        "mount",
        "hang",
        "set",
        f"Hang {'every unit' if site.several else 'the unit'} at its place on the drawing of the wall; two lift it{_weight(site)}. Fix {', '.join(['enclosures', *_fixed(site)])}. Label every isolator{', breaker' if site.bill.has('breaker lock') else ''} and bank.",
        f"{site.facts.metres(site.facts.clearance)} of free air round {'every unit' if site.several else 'the unit'}; nothing moves by hand",
        "Less air: it runs hot and gives less. Hung elsewhere: the planner plans again, lengths and cables change.",
        hurt=True,
    )
    laid = [f"{kind} cables {means}" for kind, means in site.conductors.ways.items()]
    must = f" They are sized for lying so: {'; '.join(laid)}." if laid else ""
    yield Draft(
        "mount",
        "pull",
        "set",
        f"{_ways(site)}Cut every piece by the cut list. Pull every cable along its way on the drawing.{_strings_too(site)}{must} Put a marker on both ends of each conductor: circuit, pole, where this end goes. Land none.",
        f"{counted(len(site.circuits.circuits), 'circuit')}; no end without a mark{'; each laid so' if laid else ''}",
        "An end without a mark: ring it out before you mark it. Colours do not tell."
        + (" Laid in another way a cable is too thin and burns: the planner plans again." if laid else ""),
        hold=bool(laid),
        doing=[looked("cables", "way")] if laid else [],
    )
    yield Draft(
        "mount",
        "lugs",
        "set",
        f"{_ends(site)}; shrink a sleeve over each lug.{' Aluminium: brush it under joint compound first.' if site.bill.has('joint compound') else ''} Fit the glands.",
        "no strand outside; no lug turns or slides on its conductor",
        "Cut it off and press another: a bad lug heats until it burns.",
    )
    for bank in site.banks.banks:
        yield Draft(
            "mount",
            "trace",
            bank.name,
            "Trace by hand, from the unit end to this bank, both battery cables of every unit on it. Let nobody tell you: hold the cable.",
            f"{', '.join(bank.units)}: each pair ends on {bank.name}; the storage mode on the sheets is {site.banks.mode}",
            "It ends elsewhere: stop. The storage mode on the sheets is wrong, and a wrong storage mode destroys equipment. The planner plans again, and what was set on the bench is set again.",
            hold=True,
            doing=doing.traced(bank.units),
        )


# What is fixed with the units where the bill has it.
_FIXED = {
    "vent": "the vents of the battery room, one low and one high",
    "insulation monitoring device": "the insulation monitoring device",
    "emergency shutdown device": "the emergency shutdown device",
    "rapid shutdown device": "the rapid shutdown device",
}
_SUPPORTS = ("conduit", "trunking", "duct", "tray", "cleat")


def _fixed(site: Site) -> list[str]:
    bars = "bars" if site.bill.has("busbar cover") else "the earth bar"
    always = [bars, "isolators (open, and locked at once)", "fuse holders"]
    return [*always, *(words for item, words in _FIXED.items() if site.bill.has(item))]


def _ways(site: Site) -> str:
    """What carries the cables, as the bill has it."""
    found = [f"{item}s" if item == "cleat" else item for item in _SUPPORTS if site.bill.has(item)]
    return f"Fix {listed(found, most=len(found))}. " if found else ""


def _strings_too(site: Site) -> str:
    return " Bring the pair of each string down from the roof, its connectors apart." if site.bill.has("string pair") else ""


def _ends(site: Site) -> str:
    """Under the NEC a stranded conductor goes into a terminal as that is listed (110.14)."""
    what = " or ".join(["a lug", *(f"a {item}" for item in ("ferrule", "bimetal pin") if site.bill.has(item))])
    if site.facts.rules == "nec":
        return f"Press {what} on every end that is bolted; make the others as their terminals are listed"
    return f"Press {what} on both ends of every conductor"


def dead_tests(site: Site) -> Iterator[Draft]:
    """Cables only, before anything electronic is landed: an insulation tester destroys it."""
    yield from _common_insulation(site)
    for unit in site.units.units:
        tag, sides = unit.tag, "load and incoming" if site.incoming else "load"
        damage = "Damp or damage: land nothing."
        yield Draft(
            "dead tests",
            "insulation",
            tag,
            f"Its cables free at both ends: a landed unit would be destroyed. Insulation tester, {sides}: L and N to earth, L to N. Battery: + to -, each to earth.",
            f"{insulation()}{_or_less(site)}; battery {battery_insulation(site.highest_voltage(site.banks.bank_of.get(tag)))}",
            damage,
            hurt=True,
            doing=doing.insulation(*(f"{kind} {tag}" for kind in ("load", "incoming", "battery") if site.circuit(f"{kind} {tag}"))),
            got=writing.insulation(site),
        )
        earth = site.earth_resistance(f"earth {tag}")
        yield Draft(
            "dead tests",
            "earth-resistance",
            tag,
            "Earth conductor, end to end: milliohmmeter.",
            f"near {shown(earth.value, 'ohm', 3)} and its lugs"
            if earth
            else "not computed (size or length missing): near length x table value, the planner decides",
            "Twice that or more: a bad lug or a wrong size. Make it again.",
            doing=doing.resistance(f"earth {tag}"),
        )
        if site.facts.solar:
            cold = site.strings.cold_voc
            yield Draft(
                "dead tests",
                "strings-insulation",
                tag,
                "Strings, connectors apart: insulation tester, plus and minus to earth.",
                array_insulation(cold.value)
                if cold
                else "not computed (string voltage missing): IEC 62446-1 by string voltage, the planner decides",
                "A damaged cable or connector. Do not plug it in.",
                hurt=True,
                doing=doing.insulation(f"solar {tag}"),
                got=("+ to PE", "- to PE"),
            )
    yield from _unbonded(site)


def _or_less(site: Site) -> str:
    """The voltages are those of IEC 60364-6; the NEC asks for none."""
    return ", or as the cable's maker says" if site.facts.rules == "nec" else ""


def _common_insulation(site: Site) -> Iterator[Draft]:
    """The circuits that serve the whole set or bank: surge devices and the bond lie between their conductors and earth, and would be tested too."""
    if names := [ends.name for ends in _common(site) if ends.kind in ("load", "incoming")]:
        out = f"Surge devices{_link(site)} out."
        yield _all_apart("set", f"Cables of {' and '.join(names)} free at both ends. {out}", f"{insulation()}{_or_less(site)}", names)
    for bank in site.banks.banks:
        if site.circuit(name := f"battery {bank.name}"):
            yield _all_apart(bank.name, f"Cables of {name} free at both ends.", battery_insulation(site.highest_voltage(bank.name)), [name])


def _all_apart(who: str, do: str, want: str, circuits: Sequence[str]) -> Draft:
    test = "Insulation tester: every conductor to earth, and to every other."
    tested = doing.insulation(*circuits)
    many = len(circuits) > 1
    lowest = f" Write the lowest{' of each circuit' if many else ''}."
    return Draft(
        "dead tests",
        "common-insulation",
        who,
        f"{do} {test}{lowest}",
        want,
        "Damp or damage: land nothing.",
        tested,
        hurt=True,
        got=tuple(circuits) if many else (),
    )


def _common(site: Site) -> list[Ends]:
    return [ends for ends in site.circuits.circuits if ends.common and not ends.bond]


def _unbonded(site: Site) -> Iterator[Draft]:
    """A bond would hide every other earth on its bank: the insulation is measured before it is landed."""
    for ends in site.bonds:
        yield Draft(
            "dead tests",
            "pole-insulation",
            str(ends.bank),
            f"With {ends.name} lifted or not yet landed, its end capped, and the battery cables of {ends.bank} free of the bank and of every unit: insulation tester on {_dead_side(ends)}, never on the bank: + to earth, - to earth.",
            battery_insulation(site.highest_voltage(ends.bank)),
            "A pole meets earth elsewhere already. Find it before the bond is landed: two earths carry battery current through cases.",
            hold=True,
            hurt=True,
            doing=doing.insulation(*(f"battery {tag}" for tag in ends.units)),
            got=("+ to PE", "- to PE"),
        )


def _dead_side(bond: Ends) -> str:
    """What of a bank's circuit is dead while its isolator is open."""
    return "those cables" if bond.start == bond.bank else f"those cables and {bond.start}"


def land(site: Site) -> Iterator[Draft]:
    """Everything electronic is landed now, every isolator open and locked; the bond of an earthed pole behind every other earth."""
    yield from _common_landed(site)
    unit_facts = site.facts.answers.unit
    dc, ac = (site.facts.told(f) if f else None for f in (site.facts.figure("unit.dc_torque"), site.facts.figure("unit.ac_torque")))
    stud = f" on {unit_facts.dc_stud}" if unit_facts.dc_stud else ""
    protective = " and ".join(["LOAD PE", *(["INCOMING PE"] if site.incoming else [])])
    battery = "battery (no fuse in its holder"
    behind = ["load", *(["solar"] if site.facts.solar else []), *(["incoming"] if site.incoming else [])]
    for unit in site.units.units:
        bank = site.banks.bank_of.get(unit.tag)
        # Without a bar its cable ends on the posts themselves.
        live = "; the posts of the bank last, they are live" if bank and not site.circuit(f"battery {bank}") else ""
        order = ["the earth of its case", f"{protective} (before: ohmmeter from the free end to the case)", f"{battery}{live})", *behind]
        yield Draft(
            "land",
            "land",
            unit.tag,
            # Once all earths are landed a missing one hides behind the others.
            f"Every isolator open and locked. Land {', '.join(order)}. Torque tool; a paint mark on every screw.",
            f"free ends {limit('continuity')}; battery {dc or 'torque: see the manual'}{stud}, AC {ac or 'torque: see the manual'}; every screw marked",
            "A free end open: the earth of the case, or its far end, is not landed. No mark: torque it. A screw that turns on and on: replace the terminal.",
            hold=True,
            hurt=True,
            doing=doing.land(site, unit.tag),
            got=("LOAD PE", "INCOMING PE") if site.incoming else (),
        )
    for ends in site.bonds:
        yield _bonded(site, ends)


def _common_landed(site: Site) -> Iterator[Draft]:
    """Those of the set first, each through what sits in it; a battery's posts last of all, for they are live."""
    bar = f"torque as each device{' and bar' if site.several else ''} says; every screw marked"
    mark = "No mark: torque it again. A screw that turns on and on: replace the terminal."
    paint = "Torque tool; a paint mark on every screw."
    of_set = [_way(site, ends) for ends in _common(site) if ends.bank is None]
    behind = (
        f" The supply side of the {site.incoming_isolator} is live unless dead and locked farther up: cover it." if site.incoming else ""
    )
    yield Draft(
        "land",
        "land-set",
        "set",
        f"Every isolator open and locked.{behind} Land in this order: {'; '.join(of_set)}. {_back(site)}{paint}",
        bar + _link_made(site),
        mark,
        hurt=True,
        doing=doing.land_common(site, [ends for ends in _common(site) if ends.bank is None], of_set=True),
    )
    yield _boards_earthed(site)
    for bank in site.banks.banks:
        if own := [ends for ends in _common(site) if ends.bank == bank.name]:
            live = f" The posts of {bank.name} are live and come last." if any(ends.kind == "battery" for ends in own) else ""
            do = f"{site.bank_off}No fuse in its holder, its isolator open. Land in this order: {'; '.join(_way(site, ends) for ends in own)}.{live} {paint}"
            yield Draft("land", "land-bank", bank.name, do, bar, mark, doing.land_common(site, own, of_set=False), hurt=True)


def _back(site: Site) -> str:
    """What was taken out for the insulation test; the bond's own test follows."""
    return f"Put the surge devices{_link(site)} back. "


def _link_made(site: Site) -> str:
    """What the link is landed with: it is in no circuit, and on no cut list."""
    if site.switchgear.link is None:
        return ""
    made = site.switchgear.link.conductor
    return f"; the link with {made} or more" if made else "; the link's conductor: not computed, the planner decides"


def _boards_earthed(site: Site) -> Draft:
    """Read before a unit is landed: its own protective conductors join the boards to earth too, and hide that one is missing."""
    boards = [*site.circuits.boards()]
    names = [ends.name for ends in site.circuits.boards().values()]
    return Draft(
        "land",
        "boards-earth",
        "set",
        f"Before any LOAD PE is landed: ohmmeter from PE of the {' and from PE of the '.join(boards)} to the earth bar.",
        f"{limit('continuity')}{' each' if len(boards) > 1 else ''}",
        f"Open, or more: {' or '.join(names)} is not landed, or has a bad lug, and the earth of the loads would hang on a unit. Land it again, torque it; measure.",
        hold=True,
        hurt=True,
        doing=doing.boards_earthed(boards),
        got=tuple(boards) if len(boards) > 1 else (),
    )


def _link(site: Site) -> str:
    """The bond of island mode, where it is one that can be taken out."""
    return " and the neutral-earth link" if site.switchgear.link else ""


def _way(site: Site, ends: Ends) -> str:
    """From where to where a circuit goes, through what."""
    through = [gear.kind.value for gear in site.switchgear.of(ends)]
    by = f" through {' and '.join(through)}" if through else ""
    return (
        f"{ends.name} ({ends.start}{by} to {ends.end})"
        if ends.end != ends.start
        else f"{ends.name} (from the bars of the {ends.start}{by})"
    )


def _bonded(site: Site, bond: Ends) -> Draft:
    """The bond is what opens the fuse on an earth fault: it is landed behind all earths, and measured."""
    cases = [ends.end for ends in site.circuits.earths(bond.bank)]
    ohms = site.earth_resistance(bond.name)
    live = "" if bond.start != bond.bank else f" The post of {bond.start} is live: insulated tool, gloves, the other pole covered."
    return Draft(
        "land",
        "land-bond",
        str(bond.bank),
        f"Every earth conductor landed, those of the cases of {' and '.join(cases)} too: land {bond.name}, {site.facts.earthed_pole} of {bond.start} to the earth bar. Fit its label.{live} Milliohmmeter from {bond.start} {site.facts.earthed_pole} to the earth bar.",
        f"near {shown(ohms.value, 'ohm', 3)} and its lugs"
        if ohms
        else "not computed (size or length missing): near length x table value, the planner decides",
        "Twice that or more: with a bad bond no fuse opens on an earth fault. Make it again.",
        hold=True,
        hurt=True,
        doing=doing.land_bond(bond),
    )
