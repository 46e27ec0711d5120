"""Numbers with units: what reads, what is refused, what is shown."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.quantities import KINDS, Refused, read, registry, scale, shown

GOOD = [
    # Conversions are exact by definition of the units (BIPM SI brochure; NIST SP 811 for inch, foot, pound).
    ("length", "4,2 m", 4.2),
    ("length", "4.2 m", 4.2),
    ("length", "0,5m", 0.5),
    ("length", "350 mm", 0.35),
    ("length", "12 ft", 3.6576),
    ("length", "16 in", 0.4064),
    ("temperature", "40 degC", 313.15),
    ("temperature", "-40 degF", 233.15),
    ("temperature", "32 degF", 273.15),
    ("voltage", "230 V", 230.0),
    ("fault", "6 kA", 6000.0),
    ("power", "2.2 kW", 2200.0),
    ("apparent power", "5 kVA", 5000.0),
    ("length", "0,125 m", 0.125),
    ("length", "12,5 ft", 3.81),
    ("power", "1 hp", 745.69987),
    ("surge power", "10 kW", 10_000.0),
    ("energy per day", "4 kWh/day", 14.4e6),
    ("capacity", "100 Ah", 360_000.0),
    ("resistance", "12 mohm", 0.012),
    ("torque", "120 lbf in", 13.55818),
    ("coefficient", "-0.27 %/K", -0.0027),
    ("share", "80 %", 0.8),
    ("ratio", 0.93, 0.93),
    ("ratio", "93 %", 0.93),
    ("bit rate", "500 kbit/s", 500_000.0),
    ("time", "10 h", 36_000.0),
    ("mass", "28 kg", 28.0),
]


@pytest.mark.parametrize(("kind", "text", "value"), GOOD)
def test_a_quantity_reads_as_its_si_value(kind, text, value):
    assert read(KINDS[kind], text) == pytest.approx(value, rel=1e-6)


BAD = [
    ("length", "4", "no unit"),
    ("length", 4, "no unit"),
    ("length", "-1 m", "out of range"),
    ("length", "1,2,3 m", "more than one decimal mark"),
    ("length", "4.2.1 m", "not a unit"),
    ("length", "1e400 m", "out of range"),
    ("power", "5 kW * 2", "not a unit"),
    ("power", "5 kVA", "'kVA' is not a unit of power"),
    ("apparent power", "5 kW", "'kW' is not a unit of apparent power"),
    ("power", "nan kW", "does not begin with a number"),
    ("power", "inf kW", "does not begin with a number"),
    ("power", float("nan"), "wanted"),
    ("power", True, "wanted"),
    ("voltage", "0 V", "out of range"),
    ("temperature", "40", "no unit"),
    ("share", "180 %", "out of range"),
    ("power", "1,200 W", "may mean 1200 or 1.200"),
    ("fault", "10,000 A", "may mean 10000 or 10.000"),
    ("length", "", "does not begin with a number"),
    ("length", "4 metres", "'metres' is not a unit of length"),
]


@pytest.mark.parametrize(("kind", "text", "says"), BAD)
def test_what_is_not_the_quantity_is_refused_with_what_would_do(kind, text, says):
    with pytest.raises(Refused, match=r"wanted|out of range|may mean") as refused:
        read(KINDS[kind], text)
    assert says in str(refused.value)


def test_a_decimal_comma_never_multiplies_by_ten():
    assert read(KINDS["length"], "4,2 m") != 42


@given(st.text(max_size=30))
def test_any_text_reads_or_is_refused(text):
    for kind in KINDS.values():
        try:
            value = read(kind, text)
        except Refused:
            continue
        assert kind.least <= value <= kind.most


@given(st.floats(min_value=0.001, max_value=9000))
def test_what_is_shown_reads_back(value):
    assert read(KINDS["length"], shown(value, "m")) == pytest.approx(value, rel=1e-3)


SHOWN = [
    (0.035, "m", "0.035 m"),
    (313.15, "K", "40 degC"),
    (2200.0, "W", "2.2 kW"),
    (999.99, "W", "1 kW"),
    (0.0, "W", "0 W"),
    (-0.0, "A", "0 A"),
    (360_000.0, "C", "100 Ah"),
    (0.7123, "ratio", "71.23 %"),
    (3.5e-5, "m**2", "35 mm2"),
    (161.28e-4, "m*m", "161.3 cm2"),
    (0.0, "V", "0 V"),
    (0.0, "s", "0 s"),
    (0.02, "s", "20 ms"),
    (59.0, "s", "59 s"),
    (2388.0, "s", "39.8 min"),
    (7199.99, "s", "2 h"),
    (56_000.0, "A", "56 kA"),
    (1.28e-3, "ohm", "1.28 mohm"),
    (float("inf"), "A", "unlimited"),
]


@pytest.mark.parametrize(("value", "unit", "text"), SHOWN)
def test_a_value_is_shown_as_people_write_it(value, unit, text):
    assert shown(value, unit) == text


def test_what_is_compared_is_shown_in_one_step():
    assert shown(5976.0, "s", like=7949.0) == "1.66 h"
    assert shown(7949.0, "s", like=5976.0) == "132.5 min"
    assert shown(5976.0, "s") == "99.6 min"


def test_a_bound_of_nothing_has_no_prefix():
    with pytest.raises(Refused, match="above 0 V and at most"):
        read(KINDS["voltage"], "0 V")


def units_used():
    """Every unit that an answer or a table is written in."""
    from engine.tables import _HERE, _texts
    from tests.published.tables import HERE

    typed = {unit for kind in KINDS.values() for unit in (*kind.spellings.values(), kind.unit)}
    tabled = {unit for folder in (_HERE, HERE) for text in _texts(folder).values() for unit in tomllib.loads(text)["units"]}
    return sorted((typed | tabled) - {"text", "1"})


@pytest.mark.parametrize("unit", units_used())
def test_every_scale_is_that_of_pint(unit):
    for value in (0.0, 1.0, 37.5):
        factor, offset = scale(unit)
        assert value * factor + offset == pytest.approx(registry().Quantity(value, unit).to_base_units().magnitude, rel=1e-12)


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.name)
def test_every_spelling_has_the_dimension_of_its_kind(kind):
    for unit in kind.spellings.values():
        assert registry().Quantity(1.0, unit).is_compatible_with(kind.unit), unit
