"""Numbers with units: what reads, what is refused, what is shown."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tomllib
from functools import cache
from itertools import product
from typing import Annotated

import pint
import pytest
from hypothesis import event, example, given, settings
from hypothesis import strategies as st
from pydantic import TypeAdapter

from engine.quantities import KINDS, Refused, read, registry, scale, shown
from engine.site.kinds import Reads
from tests.conftest import ROOT

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
    ("length", "4 mètres", "'mètres' is not a unit of length"),
]


@pytest.mark.parametrize(("kind", "text", "says"), BAD)
def test_what_is_not_the_quantity_is_refused_with_what_would_do(kind, text, says):
    with pytest.raises(Refused, match=r"wanted|out of range|may mean") as refused:
        read(KINDS[kind], text)
    assert says in str(refused.value)


LOOKED_UP = [
    # Spellings that the closed list lacks. Exact by definition: NIST SP 811 (2008), appendix B.8; the units' names BIPM, SI brochure.
    ("length", "12 yd", 10.9728),
    ("length", "3 thou", 76.2e-6),
    ("length", "7 dm", 0.7),
    ("length", "2 mi", 3218.688),
    ("length", "0,5 mile", 804.672),
    ("length", "6 feet", 1.8288),
    ("length", "12 inches", 0.3048),
    ("length", "4 metres", 4.0),
    ("length", "4 meters", 4.0),
    ("length", "4 ｍｍ", 0.004),
    ("altitude", "1.2 km", 1200.0),
    ("time", "2 days", 172_800.0),
    ("time", "1 week", 604_800.0),
    ("time", "10 sec", 10.0),
    ("time", "2 hrs", 7200.0),
    ("temperature", "40 celsius", 313.15),
    ("temperature", "40 ℃", 313.15),
    ("temperature", "104 Fahrenheit", 313.15),
    ("power", "5 kilowatts", 5000.0),
    ("power", "2 horsepower", 2 * 745.69987),
    ("apparent power", "5000 voltamperes", 5000.0),
    ("voltage", "230 volts", 230.0),
    ("current", "63 amps", 63.0),
    ("capacity", "100 mAh", 360.0),
    ("capacity", "100 A h", 360_000.0),
    ("capacity", "100 A·h", 360_000.0),
    ("capacity", "100 amp hours", 360_000.0),
    ("resistance", "1.5 kohm", 1500.0),
    ("resistance", "1.5 kΩ", 1500.0),
    ("resistance", "12 \u03bc\u2126", 12e-6),  # Greek mu, ohm sign: the same letters as in the list, other characters
    ("resistance", "12 ohms", 12.0),
    ("mass", "0.02 tonne", 20.0),
    ("mass", "62 lbs", 28.122727),
    ("torque", "90 kgf cm", 8.825985),
    ("torque", "80 lbf-in", 9.038786),
    ("torque", "9 N·m", 9.0),
    ("torque", "9 newton metres", 9.0),
    ("energy per day", "7 kWh/week", 3.6e6),
    ("energy per day", "365.25 kWh/year", 3.6e6),
    ("energy per day", "3.6 megajoules / day", 3.6e6),
    ("bit rate", "0.5 Gbit/s", 5e8),
    ("coefficient", "-2700 ppm/K", -0.0027),
    ("coefficient", "-0.15 %/degF", -0.0027),  # a difference of 1 degF is 5/9 K
    ("share", "80 percent", 0.8),
]


@pytest.mark.parametrize(("kind", "text", "value"), LOOKED_UP)
def test_a_usual_unit_that_the_list_lacks_is_looked_up(kind, text, value):
    assert read(KINDS[kind], text) == pytest.approx(value, rel=1e-7)


NOT_LOOKED_UP = [
    # Another kind, though the dimension may be the same.
    ("power", "5 VA", "not a unit of power"),
    ("power", "5 kvar", "not a unit of power"),
    ("power", "5 kilovoltamperes", "not a unit of power"),
    ("power", "5 J/s", "not a unit of power"),
    ("power", "5 kWh/day", "not a unit of power"),
    ("apparent power", "5 watts", "not a unit of apparent power"),
    ("surge power", "5 kvar", "not a unit of surge power"),
    ("energy per day", "5 kW", "not a unit of energy per day"),
    ("torque", "9 J", "not a unit of torque"),
    ("torque", "9 kWh", "not a unit of torque"),
    ("torque", "80 lb in", "not a unit of torque"),
    ("bit rate", "500 Hz", "not a unit of bit rate"),
    ("bit rate", "500 radian/s", "not a unit of bit rate"),
    ("share", "1 radian", "not a unit of share"),
    ("share", "1 bit", "not a unit of share"),
    ("time", "5 m", "not a unit of time"),
    ("length", "5 in/s", "not a unit of length"),
    ("length", "5 m m", "not a unit of length"),
    ("power factor", "0.8 percent", "wanted a plain number"),
    ("voltage", "5 Vs", "not a unit of voltage"),
    ("power", "5 Ws", "not a unit of power"),
    # Several meanings.
    ("mass", "2 ton", "1000 kg, 2000 lb or 2240 lb"),
    ("mass", "2 tons", "1000 kg, 2000 lb or 2240 lb"),
    ("mass", "16 oz", "a mass, a force or a volume"),
    ("torque", "16 oz in", "a mass, a force or a volume"),
    ("length", "20 mil", "a millimetre"),
    ("length", "20 pt", "a volume or a length"),
    ("surge power", "5 hp", "745.7 W or 735.5 W"),
    ("capacity", "3600 C", "coulombs or a rate of charging"),
    ("temperature", "40 deg", "degC, degF or an angle"),
    ("energy per day", "120 kWh/month", "28 to 31 days"),
    ("energy per day", "5 cal/day", "4.184 J or 4184 J"),
    # A letter in the other case.
    ("power", "5 mW", "'MW' is"),
    ("power", "5 KW", "'kW' is"),
    ("power", "5 kw", "'kW' is"),
    ("length", "5 Mm", "'mm' is"),
    ("mass", "5 mg", "in the other case"),
    ("mass", "5 Mg", "in the other case"),
    ("energy per day", "4 MJ/day", "in the other case"),
    # A difference of temperatures, arithmetic, prefixes that nobody uses, what pint would read as an expression.
    ("temperature", "40 delta_degC", "not a unit of temperature"),
    ("temperature", "40 Δ°C", "not a unit of temperature"),
    ("temperature", "40 K/1", "not a unit of temperature"),
    ("length", "4 m + 3 m", "not a unit of length"),
    ("length", "4 m - 3 m", "not a unit of length"),
    ("length", "4 m*2", "not a unit of length"),
    ("length", "4 (yd)", "not a unit of length"),
    ("length", "4 yd**1", "not a unit of length"),
    ("length", "4 m²", "not a unit of length"),
    ("length", "4 m.", "not a unit of length"),
    ("length", "4 m/", "not a unit of length"),
    ("length", "4 m yd/m", "not a unit of length"),
    ("torque", "9 N*m", "not a unit of torque"),
    ("time", "500 cd", "not a unit of time"),
    ("length", "5 nmi", "not a unit of length"),
    ("length", "5 __import__", "not a unit of length"),
    ("length", "4 " + "y" * 5000, "not a unit of length"),
    ("length", "٤ m", "does not begin with a number"),
]


@pytest.mark.parametrize(("kind", "text", "says"), NOT_LOOKED_UP)
def test_what_is_of_another_kind_or_may_be_something_else_is_refused(kind, text, says):
    with pytest.raises(Refused, match="wanted") as refused:
        read(KINDS[kind], text)
    assert says in str(refused.value)
    assert len(str(refused.value)) < 400


def test_mah_is_clear_only_where_nobody_could_mean_the_million():
    assert read(KINDS["capacity"], "3000 mAh") == 10_800
    with pytest.raises(Refused, match="in the other case"):
        read(KINDS["capacity"], "0.05 mAh")  # 0.05 MAh would be 50 kAh


PREFIXES = ["", *"numcdhkMG", "nano", "micro", "milli", "deci", "hecto", "kilo", "mega", "giga"]
NAMES = [
    "m", "metre", "meter", "s", "sec", "A", "amp", "ampere", "g", "gram", "K", "kelvin", "N", "newton", "J", "joule", "W", "watt", "V", "volt", "ohm", "Ω",
    "coulomb", "Hz", "hertz", "Wh", "Ah", "min", "minute", "h", "hr", "hour", "d", "day", "week", "year", "yr", "degC", "°C", "celsius", "degF", "°F", "thou", "in", "inch",
    "ft", "foot", "feet", "yd", "yard", "mi", "mile", "tonne", "lb", "pound", "lbf", "kgf", "horsepower", "VA", "bit", "percent", "%", "ppm",
]


BUILT = [
    (["N", "newton", "kN", "mN", "lbf", "kgf", "J"], " ·-", ["m", "cm", "metres", "in", "inches", "ft", "feet"]),
    (["Wh", "kWh", "J", "megajoules", "kJ", "W", "A"], "/", ["d", "day", "week", "year", "hr", "hour"]),
    (["A", "mA", "amp", "kA", "W"], " ·-", ["h", "hours", "min", "minutes", "s"]),
    (["%", "percent", "ppm", "ratio", "V"], "/", ["K", "degC", "°C", "celsius", "degF", "°F", "kelvin"]),
    (["bit", "bits", "kbit", "megabit", "ratio"], "/", ["s", "sec", "min", "hour"]),
]


@st.composite
def built(draw):
    """Two words that may well be a unit together."""
    above, marks, below = draw(st.sampled_from(BUILT))
    return draw(st.sampled_from(above)) + draw(st.sampled_from(marks)) + draw(st.sampled_from(below))


@st.composite
def any_words(draw):
    """One to three words of units, with or without a stroke, in this case or that."""
    words = [draw(st.sampled_from(PREFIXES)) + draw(st.sampled_from(NAMES)) + draw(st.sampled_from(["", "", "s"])) for _ in range(draw(st.sampled_from([1, 1, 1, 2, 3])))]
    if draw(st.integers(0, 9)) == 0:
        words = [word.swapcase() for word in words]
    return "".join(word + mark for word, mark in zip(words, [*(draw(st.sampled_from([" ", "·", "-", "/"])) for _ in words[1:]), ""], strict=True))


def unit_words():
    return st.one_of(built(), any_words())


@cache
def judge():
    """pint's own registry: it defines every unit by itself."""
    return pint.UnitRegistry()


def judged(value: float, spelling: str, unit: str) -> float:
    """What pint makes of it in SI. Where it knows a word in several ways ("amps" is a speed too), the way that gives `unit`'s dimension."""
    words = re.split("[ ·/-]", spelling)
    stroke = len(words) - 1 if "/" in spelling else len(words)
    for names in product(*(judge().parse_unit_name(word) or judge().parse_unit_name(word.removesuffix("s")) for word in words)):
        told = [prefix + name if len(words) == 1 or not name.startswith("degree_") else f"delta_{name}" for prefix, name, _ in names]
        found = judge().Quantity(value, "*".join(told[:stroke]) + "".join(f"/{name}" for name in told[stroke:]))
        if found.check(judge().parse_units(unit).dimensionality):
            return found.to_base_units().magnitude
    raise AssertionError(f"pint knows no {spelling} that is {unit}")


def accepted(spelling: str, value: float) -> int:
    """In how many kinds a spelling that is in no list reads; in each it must read as pint says."""
    found = 0
    for kind in KINDS.values():
        if spelling in kind.spellings:
            continue  # the lists have a test of their own
        try:
            read_as = read(kind, f"{value} {spelling}")
        except Refused:
            continue
        wanted = judged(value, spelling, {"ratio": "percent"}.get(kind.unit, kind.unit))
        assert read_as * scale(kind.unit)[0] == pytest.approx(wanted, rel=1e-9), kind.name
        found += 1
    return found


@settings(deadline=None, max_examples=1000)
@given(unit_words(), st.sampled_from([1.0, 0.25, 30.0, 300.0, 45_000.0]))
@example("kgf cm", 90.0)
@example("percent/degF", -0.1)
@example("megajoules/week", 3.6)
def test_what_is_looked_up_is_what_pint_says(spelling, value):
    event(f"read in {accepted(spelling, value)} kinds")


def test_every_unit_with_every_prefix_is_what_pint_says():
    """Each word alone; that some hundred are read shows that the test can fail."""
    words = [prefix + name + plural for prefix in PREFIXES for name in NAMES for plural in ("", "s")]
    assert sum(accepted(word, 30.0) > 0 for word in words) > 200


ANY = st.one_of(st.text(max_size=30), st.builds(lambda number, mark, text: f"{number}{mark}{text}", st.integers(-10, 1000), st.sampled_from(["", " ", "  "]), st.one_of(unit_words(), st.text("mMkKVAWhΩµ°CF%/·- *+()0d", max_size=8))))


@settings(deadline=None, max_examples=500)
@given(ANY)
def test_any_text_reads_or_is_refused_and_the_schema_knows(text):
    for kind in KINDS.values():
        try:
            value = read(kind, text)
        except Refused:
            continue
        assert kind.least <= value <= kind.most
        pattern = PATTERNS[kind.name]
        assert pattern is None or re.search(pattern, text), (kind.name, text)


PATTERNS = {kind.name: TypeAdapter(Annotated[float, Reads(kind)]).json_schema().get("pattern") for kind in KINDS.values()}


@pytest.mark.parametrize(("kind", "text"), [(kind, text) for kind, text, _ in LOOKED_UP + [row for row in GOOD if isinstance(row[1], str)]])
def test_the_schema_takes_what_the_program_takes(kind, text):
    assert PATTERNS[kind] is None or re.search(PATTERNS[kind], text)


@pytest.mark.parametrize("text", ["4", "4 m * 2", "4 m + 1", "nan m", "4 (m)", "m", "4 m2"])
def test_the_schema_refuses_what_is_plainly_none(text):
    assert not re.search(PATTERNS["length"], text)


def test_pint_is_imported_only_for_a_spelling_that_the_list_lacks():
    """Told by a process of its own for each."""
    for text, expected in (("12 ft", False), ("5 kW * 2", False), ("5 KM", False), ("2 ton", False), ("12 yd", True)):
        script = f"import sys\nfrom engine.quantities import KINDS, Refused, read\ntry:\n    read(KINDS['length'], {text!r})\nexcept Refused:\n    pass\nprint('pint' in sys.modules)"
        done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True, env={**os.environ, "PYTHONPATH": str(ROOT)})
        assert done.stdout.strip() == str(expected), text


def test_no_table_needs_pint():
    """Whatever a plan reads, its units are in the list: importing pint, and numpy with it, would cost more than the plan."""
    script = "import sys\nfrom engine.tables import names, table\nfor name in names():\n    table(name)\nprint(*({'pint', 'numpy'} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True, env={**os.environ, "PYTHONPATH": str(ROOT)})
    assert done.stdout.strip() == ""


OURS = {"ratio", "var", "radian"}  # without counterpart, or no unit of measure there


@pytest.mark.parametrize("name", sorted({registry().get_name(name) for name in registry() if "\u0394" not in name} - OURS))
def test_every_unit_of_our_file_is_that_of_pints_own(name):
    told = {"voltampere": "VA"}.get(name, name)
    for value in (0.0, 1.0, 37.5):
        assert registry().Quantity(value, name).to_base_units().magnitude == pytest.approx(judge().Quantity(value, told).to_base_units().magnitude, rel=1e-12)


def test_a_decimal_comma_never_multiplies_by_ten():
    assert read(KINDS["length"], "4,2 m") != 42


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


def test_a_refusal_lists_the_usual_units_and_says_that_others_are_looked_up():
    """12 yd is read although the list has no yd: who is refused must not think that the list is all."""
    with pytest.raises(Refused) as refused:
        read(KINDS["length"], "12 parsnips")
    assert "wanted a number with one of: m, mm, cm, km, ft, in" in str(refused.value)
    assert str(refused.value).endswith("; other units are looked up by name")
    assert read(KINDS["length"], "12 yd") == pytest.approx(12 * 0.9144)
    with pytest.raises(Refused) as plain:
        read(KINDS["power factor"], "0.8 percent")
    assert "looked up" not in str(plain.value)


def test_a_unit_that_nobody_writes_another_way_is_written_as_it_is():
    """A product of a formula alone, as the metres by bits a second of a bus: told with its unit, never without."""
    assert shown(1e8, "m*bit/s") == "100000000 m bit/s"
