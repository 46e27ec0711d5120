"""What belongs to the banks and the chain: links, leads, sensors, what joins modules, vents."""

from __future__ import annotations

from collections.abc import Iterator

from engine.facts import Facts
from engine.stages.banks import Banks
from engine.stages.bill.part import Line
from engine.stages.chain.part import Chain
from engine.stages.storage.part import Storage
from engine.text import clean, counted

_MEASURE = "length to be measured"


def links(facts: Facts, chain: Chain) -> Iterator[Line]:
    """One link less than units, and one spare of the longest."""
    longest = max(chain.links, key=lambda link: link.stock.value if link.stock else link.length.value if link.length else 0.0, default=None)
    screened = ", screened" if facts.answers.unit.bus.screened else ""
    for link in chain.links:
        length = facts.told(link.stock) if link.stock else f"{facts.told(link.length)} or longer" if link.length else _MEASURE
        specification = f"{length}, {link.cable}{screened}"
        yield Line("comms link", specification, 1, 0, True, (f"{link.start} > {link.end}",))
        if link is longest:
            yield Line("comms link", specification, 1, 1, True, ("spare",))
    for node in chain.nodes:
        told = f"{_MEASURE}, from port {node.port or 'by the manual'}{screened}"
        yield Line("bus node lead", told, 1, 0, True, (f"{node.unit} > {clean(node.name, 60)}",))


def terminators(chain: Chain) -> Iterator[Line]:
    """As many as the chain takes, and as many spare, one line per kind, in pieces (S29)."""
    for end in chain.terminators:
        yield Line("terminator", f"120 ohm, {end.kind or 'kind by the free port'}", 2, 1, True, (end.unit, "spare"))


def of_banks(facts: Facts, banks: Banks, chain: Chain) -> Iterator[Line]:
    """A temperature sensor each, and a data lead where the bank has a management that speaks."""
    for bank in banks.banks:
        yield Line("temperature sensor", "the unit maker's, for the bank's pole or case", 1, 0, True, (bank.name,))
        if facts.answers.storage.managed:
            lead = next((lead for lead in chain.data if lead.bank == bank.name), None)
            length = f"{facts.told(lead.length)} or longer" if lead and lead.length else _MEASURE
            yield Line("data lead", f"the battery maker's, {length}", 1, 0, True, (f"{bank.name} > {lead.unit}" if lead else bank.name,))


def modules(facts: Facts, banks: Banks, storage: Storage) -> Iterator[Line]:
    """What joins modules is the battery maker's: its lugs, bolts and fuses differ from make to make."""
    series, strings = facts.series, facts.strings_in_parallel
    poles = 1 if facts.earthed_pole else 2
    for bank in banks.banks:
        sums = storage.of(bank.name)
        place = (bank.name,)
        if series > 1:
            told = f"the battery maker's, from module to module in {counted(strings, 'string')} of {series}"
            yield Line("module link", told, (series - 1) * strings, 0, True, place)
        if strings > 1:
            if (sums.feed if sums else facts.feed) == "bar":
                told = f"from each end of {strings} strings to the bank's bars, all of one length, lugs on, as the battery's maker says"
                yield Line("module lead", told, 2 * strings, 0, True, place)
            else:
                told = f"the battery maker's, plus to plus and minus to minus of {strings} strings"
                yield Line("string link", told, 2 * (strings - 1), 0, True, place)
            told = (
                f"what protects each string, {'in the pole that is not earthed' if poles == 1 else 'in both poles'}, "
                "rated by the battery's maker; none where its modules have it inside"
            )
            yield Line("battery string fuse", told, poles * strings, 0, True, place)


def vents(banks: Banks, storage: Storage) -> Iterator[Line]:
    """Lead-acid gasses: an opening low, where air comes in, and one high, where it goes out (T16)."""
    for bank in banks.banks:
        sums = storage.of(bank.name)
        if sums and sums.opening and sums.ventilation:
            told = f"free opening of {sums.opening} or more, one low and one high in the battery room, for {sums.ventilation} (IEC 62485-2)"
            yield Line("vent", told, 2, 0, False, (bank.name,))
