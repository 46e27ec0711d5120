"""How a typed text is read: what a bare number takes, which letters are understood, what is asked about."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.quantities import KINDS, Refused
from engine.site import Answers
from engine.site.kinds import Reads, parse, part_of, reading
from engine.tables import table
from wizard.answers import amounts
from wizard.answers.amounts import Implausible, amount
from wizard.answers.fields import field, value_of
from wizard.answers.session import Session
from wizard.asking import guide
from wizard.asking.pages import PAGES


def quantities(model: type = Answers, prefix: str = "") -> Iterator[str]:
    """Every key of the file that is a quantity, the first entry's of an array."""
    for name, info in model.model_fields.items():
        if name in ("plan", "record", "labels", "schema_"):
            continue
        if part := part_of(info.annotation):
            yield from quantities(part, f"{prefix}{name}{'[0]' if name in ('loads', 'places', 'routes', 'bus_nodes', 'links') else ''}.")
        elif reading(info) or field(f"{prefix}{name}").amount:
            yield f"{prefix}{name}"


QUANTITIES = tuple(quantities())
RULES = ("iec", "nec")
# A plain number without any unit: nothing could be typed to confirm it, so it is never asked about.
PLAIN = {"loads[0].power_factor", "loads[0].start_multiple", "solar.sun_hours"}
# Where a thousandth of the usual is usual too: degrees count from no nothing, and near the sea every height is small.
NO_THOUSANDTH = {"site.ambient_min", "site.roof_min", "site.altitude"}
KEYS = sorted({question.key for page in PAGES for question in page.questions} | {f"{p.table.key}[0].{q.key}" for p in PAGES if p.table for q in p.table.questions})


@pytest.mark.parametrize(
    ("key", "text", "value"),
    [
        ("unit.transfer_current", "50", "50 A"),
        ("unit.transfer_current", "50a", "50 A"),
        ("unit.transfer_current", "  50   A ", "50 A"),
        ("unit.transfer_current", "0050.", "50 A"),
        ("unit.real_power", "5kw", "5 kW"),
        ("unit.real_power", "5 KW", "5 kW"),
        ("unit.real_power", "5000 w", "5000 W"),
        ("unit.real_power", "5 HP", "5 hp"),
        ("unit.real_power", "5 MW", "5 MW"),
        ("unit.apparent_power", "4KVA", "4 kVA"),
        ("unit.surge_power", "10", "10 kW"),
        ("unit.surge_power", "10kva", "10 kVA"),
        ("unit.surge_time", "5", "5 s"),
        ("unit.settle_time", "500 MS", "500 ms"),
        ("unit.efficiency", "93", "93 %"),
        ("unit.efficiency", "0,93", "93 %"),
        ("unit.efficiency", "93%", "93 %"),
        ("unit.width", ".35", "0.35 m"),
        ("unit.width", "350MM", "350 mm"),
        ("unit.dc_capacitance", "20 mf", "20 mF"),
        ("unit.dc_torque", "9nm", "9 N m"),
        ("unit.dc_terminal_max", "70", "70 mm2"),
        ("unit.dc_terminal_max", "70mm²", "70 mm2"),
        ("unit.dc_terminal_max", "70 sq mm", "70 mm2"),
        ("unit.dc_terminal_max", "2/0", "2/0 AWG"),
        ("unit.dc_terminal_max", "awg 4", "4 AWG"),
        ("unit.dc_terminal_max", "250mcm", "250 kcmil"),
        ("unit.bus.bit_rate", "500 kbit", "500 kbit/s"),
        ("unit.bus.link_lengths", ".5 1.8 3 5", ["0.5 m", "1.8 m", "3 m", "5 m"]),
        ("unit.bus.link_lengths", "0,5; 1,8", ["0.5 m", "1.8 m"]),
        ("unit.bus.link_lengths", ".5,1.8,3", ["0.5 m", "1.8 m", "3 m"]),
        ("unit.bus.link_lengths", "1,2,3", ["1 m", "2 m", "3 m"]),
        ("unit.bus.link_lengths", "50 cm 2", ["50 cm", "2 m"]),
        ("incoming.breaker", "40", "40 A"),
        ("incoming.prospective_fault", "6", "6 kA"),
        ("site.ambient_max", "40°C", "40 °C"),
        ("site.ambient_max", "40 c", "40 degC"),
        ("site.ambient_min", "−10", "-10 degC"),
        ("storage.module.resistance", "12", "12 mohm"),
        ("storage.module.resistance", "12 MOHM", "12 mohm"),
        ("storage.module.resistance", "12 mΩ", "12 mΩ"),
        ("storage.module.capacity", "100ah", "100 Ah"),
        ("storage.autonomy", "10", "10 h"),
        ("storage.depth", "80", "80 %"),
        ("solar.voc_coefficient", "-.27", "-0.27 %/K"),
        ("solar.voc_coefficient", "-,27 %", "-0.27 %/K"),
        ("loads[0].energy", "4kwh", "4 kWh/day"),
        ("loads[0].third_harmonic", "0", "0 %"),
        ("loads[0].demand", "0,6", 0.6),
        ("loads[0].demand", "1", 1),
        ("loads[0].power_factor", ".85", 0.85),
        ("set.per_phase", "2 2 2", [2, 2, 2]),
        ("unit.real_power", "five", "five"),
        ("unit.width", "12 yd", "12 yd"),
    ],
)
def test_what_is_typed_stands_in_the_file_with_its_unit(key: str, text: str, value: object) -> None:
    assert value_of(field(key), text) == value


@pytest.mark.parametrize(
    ("key", "text", "value"),
    [
        ("wall.width", "13", "13 ft"),
        ("unit.width", "14", "14 in"),
        ("unit.weight", "62", "62 lb"),
        ("unit.dc_torque", "80", "80 lbf in"),
        ("unit.dc_terminal_max", "2/0", "2/0 AWG"),
        ("unit.ac_terminal_max", "6", "6 AWG"),
        ("unit.dc_terminal_max", "250", "250 kcmil"),
        ("unit.dc_terminal_max", "70 mm2", "70 mm2"),
        ("unit.transfer_current", "50", "50 A"),
    ],
)
def test_under_the_nec_lengths_and_sizes_are_taken_as_people_there_count(key: str, text: str, value: object) -> None:
    assert value_of(field(key, "nec"), text) == value


@pytest.mark.parametrize(
    ("key", "text", "told"),
    [
        ("loads[0].power", "12", '12 kW is unusual here: type "12 W" or "12 kW"'),
        ("unit.width", "350", '"350 mm" or "350 m"'),
        ("unit.width", "35", '"35 cm" or "35 in" or "35 m"'),
        ("storage.module.resistance", "0.012", '"0.012 ohm"'),
        ("storage.depth", ".8", '"80 %" or "0.8 %"'),
        ("solar.voc_coefficient", "0.27", '"-0.27 %/K"'),
        ("loads[0].energy", "400", '"400 Wh/day"'),
        ("unit.bus.bit_rate", "9600", '"9600 bit/s"'),
        ("loads[0].demand", "60", '"60 %"'),
        ("unit.width", "-0.35", "look again"),
        ("unit.bus.link_lengths", "0.5 150", '"150 cm"'),
    ],
)
def test_a_bare_number_that_is_hardly_ever_meant_is_asked_about(key: str, text: str, told: str) -> None:
    """With what it may have been meant to be; typed with its unit it is believed."""
    with pytest.raises(Implausible) as doubt:
        value_of(field(key), text)
    assert told in str(doubt.value)
    for offered in re.findall(r'"([^"]*)"', str(doubt.value)):
        assert value_of(field(key), offered) == ([offered] if field(key).many else offered)




def test_under_the_nec_a_gauge_that_is_unusual_is_asked_about() -> None:
    """14 AWG is 2.1 mm2, less than a battery terminal takes at most."""
    with pytest.raises(Implausible, match='type "14 mm2" or "14 AWG"'):
        value_of(field("unit.dc_terminal_max", "nec"), "14")


@pytest.mark.parametrize(
    ("key", "text"),
    [
        ("unit.real_power", "5 mW"),
        ("unit.real_power", "5 mw"),
        ("unit.transfer_current", "50 MA"),
        ("unit.dc_max", "60 MV"),
        ("wall.width", "1,234"),
        ("unit.transfer_current", "1e999"),
        ("set.count", "3.5"),
        ("storage.managed", "perhaps"),
    ],
)
def test_what_may_mean_two_things_is_refused(key: str, text: str) -> None:
    """A thousandth and a million are told apart by the case of one letter: it decides only where one of them alone is plausible."""
    with pytest.raises(Refused):
        value_of(field(key), text)


def test_every_quantity_has_a_row_of_what_is_usual_and_no_row_is_idle() -> None:
    rows = {str(row["key"]) for row in table("usual", amounts.Path(amounts.__file__).parent).rows}
    assert rows == {re.sub(r"\[\d+\]", "[]", key) for key in QUANTITIES}
    assert len(QUANTITIES) > 80
    for key in QUANTITIES:
        asked = field(key)
        assert asked.example, key
        assert (asked.plausible is None) == (key in PLAIN), key
        plain = isinstance(asked.amount.mark, Reads) and asked.amount.mark.kind.bare
        assert asked.unit or plain, key


@pytest.mark.parametrize("rules", RULES)
@pytest.mark.parametrize("key", QUANTITIES)
def test_the_unit_in_the_box_is_the_one_that_is_taken_and_a_slip_of_a_thousand_is_asked_about(key: str, rules: str) -> None:
    asked = field(key, rules)
    bare = asked.example.removesuffix(asked.unit).strip()
    one = value_of(asked, bare)
    one = one[0] if isinstance(one, list) else one
    assert str(one) == f"{bare} {asked.unit}".strip()
    meant = parse(asked.amount.mark, str(one))
    assert math.isfinite(meant)
    if asked.plausible and not asked.amount.size:
        assert asked.plausible[0] <= meant <= asked.plausible[1]
    if key in PLAIN or "/" in bare:
        return
    for times in (1000, 0.001):
        if times == 1000 or key not in NO_THOUSANDTH:
            with pytest.raises(Refused):
                value_of(asked, f"{float(bare) * times:.10f}")


@given(st.sampled_from(QUANTITIES), st.floats(1e-6, 1e6), st.data())
def test_a_value_with_its_unit_keeps_its_meaning(key: str, number: float, data: st.DataObject) -> None:
    """Whatever the file would read, the interview reads as the same."""
    asked = field(key)
    unit = data.draw(st.sampled_from([*asked.amount.spellings, *(["mm2"] if asked.amount.size else [])] or [""]))
    text = f"{number:.6g}{data.draw(st.sampled_from(['', ' ']))}{unit}"
    try:
        read = parse(asked.amount.mark, text)
    except Refused:
        return
    if not unit:
        return
    value = value_of(asked, text)
    assert parse(asked.amount.mark, str(value[0] if isinstance(value, list) else value)) == pytest.approx(read, rel=1e-12)


_BITS = st.sampled_from(["5", "0", ".", ",", "-", "+", " ", "k", "K", "m", "M", "W", "w", "A", "V", "VA", "mm", "²", "2", "/", "AWG", "ohm", "Ω", "%", "°", "C", "e", "E9", ";", '"', "h", "²", "٣", "\t", "yes", "n", "L1"])


@given(st.sampled_from(KEYS), st.one_of(st.text(max_size=30), st.lists(_BITS, max_size=8).map("".join)), st.sampled_from(RULES))
def test_whatever_is_typed_is_refused_or_reads_back(key: str, text: str, rules: str) -> None:
    """No other exception; and what is stored, typed again as it stands there, changes nothing."""
    session = Session().set("site.rules", rules)
    assert isinstance(session, Session)
    answered = guide.answer(session, key, text)
    if isinstance(answered, Session):
        if key.endswith(".machine") and answered.get("loads[0].name"):
            key = "loads[0].name" if not answered.get(key) else key  # what no machine is called is the load's name
        shown = guide.text_at(answered, key)
        assert guide.answer(answered, key, shown) is answered
        assert bool(shown) == bool(text.strip())
        if shown and field(key).amount and not field(key).many:
            again = guide.answer(session, key, shown)
            assert isinstance(again, Session)
            assert again.revision == answered.revision
    with suppress(Refused):
        value_of(field(key, rules), text)


def test_every_spelling_of_a_kind_is_known_in_small_letters_or_told_to_be_two() -> None:
    """Letters of any case: `kw`, `KWH/DAY`. Only what a bare m hides may be refused."""
    for kind in KINDS.values():
        asked = amount("none", Reads(kind), "iec")
        for spelled, name in kind.spellings.items():
            for typed in (spelled.lower(), spelled.upper(), spelled.replace(" ", "")):
                try:
                    unit = str(amounts.typed(asked, f"1 {typed}")).split(" ", 1)[1]
                except Refused:
                    assert spelled[0] in "mM", spelled
                else:
                    assert kind.spellings[unit] == name or (typed in kind.spellings), (kind.name, typed)
