"""Machines by plain name: what the table holds, how people find one, and that it errs to the safe side of what is published."""

from __future__ import annotations

import pytest

from engine.files.problems import Unreadable
from engine.files.read import parse
from engine.quantities import KINDS, read
from engine.site.loads import Load
from engine.tables import table
from engine.tables.machines import find, machine, names, nearest, source_of

ALL = [machine(name) for name in names()]


def test_there_are_machines_enough_and_each_once() -> None:
    assert len(ALL) >= 60
    assert len({name.casefold() for name in names()}) == len(ALL) == len(table("machines").rows)


@pytest.mark.parametrize("each", ALL, ids=lambda each: each.name)
def test_what_a_machine_stands_for_are_answers(each) -> None:
    """Every text is accepted as an answer; none uses more in a day than its power gives; every column has its source."""
    typed = {key: {"yes": True, "no": False}.get(text, text) if key == "motor" else float(text) if key in ("power_factor", "start_multiple") else text for key, text in each.stands_for.items()}
    load = Load.model_validate({"machine": each.name, **typed})
    assert {"power_factor", "motor", "start_multiple", "third_harmonic"} <= set(typed)
    assert ("power" in typed) == ("energy" in typed) == ("profile" in typed)
    assert load.power is None or 0 < load.energy <= load.power * 86_400 * 1.000001
    assert load.start_multiple >= (1.5 if load.motor else 1)
    assert all(source_of(key) for key in typed)
    assert all(word == word.strip() and word for word in each.words)
    assert "(" not in each.name and "[" not in each.name


# D. MacKay, Sustainable Energy - without the hot air (2009), table 7.4: power of a device, and energy of a household's day. Seen.
MACKAY = {
    "kettle": ("3 kW", "1 kWh/day"),
    "microwave": ("1.4 kW", "0.5 kWh/day"),
    "hob": ("3.3 kW", "1.6 kWh/day"),
    "oven": ("3 kW", "1.5 kWh/day"),
    "washing machine": ("2.5 kW", "1 kWh/day"),
    "tumble dryer": ("2.5 kW", "2 kWh/day"),
    "dishwasher": ("2.5 kW", "1.5 kWh/day"),
    "fridge": ("0.02 kW", "0.5 kWh/day"),
    "freezer": ("0.09 kW", "2.3 kWh/day"),
    "air conditioner, fixed speed": ("0.6 kW", "0.6 kWh/day"),
}


@pytest.mark.parametrize("name", MACKAY)
def test_home_appliances_take_no_less_than_was_published(name) -> None:
    told = machine(name).stands_for
    for kind, key, published in zip(("power", "energy per day"), ("power", "energy"), MACKAY[name], strict=True):
        assert read(KINDS[kind], told[key]) >= read(KINDS[kind], published)


# A list drawn up apart from the table, of machines on a plate or in motor makers' tables: input in watts, power factor, start over running
# current, third harmonic in percent, kWh a day. Common practice, from memory.
APART = {
    "well pump": (2200, 0.9, 5, 8, 6.6),
    "circulation pump": (45, 0.55, 1, 60, 0.5),
    "boiler with burner": (120, 0.7, 3, 20, 0.8),
    "fridge": (120, 0.65, 7, 10, 0.8),
    "freezer": (130, 0.65, 7, 10, 1.0),
    "medical refrigerator": (200, 0.65, 7, 10, 2.0),
    "cold room": (2900, 0.8, 6, 2, 23),
    "air conditioner, fixed speed": (1150, 0.9, 5, 8, 7),
    "air conditioner on a drive": (900, 0.95, 1.3, 15, 5),
    "microwave": (1400, 0.9, 1.5, 25, 0.5),
    "oven": (2500, 1, 1, 0, 1.5),
    "kettle": (3000, 1, 1, 0, 1),
    "toaster": (1100, 1, 1, 0, 0.1),
    "washing machine": (2200, 0.97, 1.2, 8, 1),
    "tumble dryer": (2500, 0.98, 1.3, 5, 2),
    "dishwasher": (2200, 0.99, 1.1, 5, 1.2),
    "immersion heater": (3000, 1, 1, 0, 6),
    "LED lamp": (9, 0.6, 1, 70, 0.05),
    "computer": (150, 0.65, 1, 75, 0.9),
    "router": (12, 0.5, 1, 80, 0.3),
    "television": (90, 0.9, 1, 25, 0.4),
    "ceiling fan": (65, 0.9, 1.5, 8, 0.5),
    "drill": (900, 0.95, 3, 15, 0.3),
    "angle grinder": (2200, 0.96, 3, 10, 0.5),
    "welder, inverter": (5000, 0.65, 1, 75, 2),
    "welder, transformer": (4000, 0.5, 1.5, 15, 2),
    "compressor": (2050, 0.75, 6, 8, 2),
    "milking machine": (2820, 0.81, 6, 2, 8.5),
    "milk cooler": (3750, 0.82, 6, 2, 20),
    "grain dryer fan": (4820, 0.82, 7, 2, 116),
    "vehicle charger, one-phase": (7300, 0.99, 1, 8, 8),
    "vehicle charger, three-phase": (11000, 0.99, 1, 8, 10),
}


@pytest.mark.parametrize("name", APART)
def test_a_machine_errs_to_the_safe_side_of_another_list_and_stays_near_it(name) -> None:
    told = machine(name).stands_for
    watts, factor, start, third, kwh = APART[name]
    assert watts <= read(KINDS["power"], told["power"]) <= 3 * watts
    assert 0.6 * factor <= float(told["power_factor"]) <= factor
    assert start <= float(told["start_multiple"]) <= 3 * start
    assert third <= 100 * read(KINDS["share"], told["third_harmonic"]) <= 86
    assert kwh <= read(KINDS["energy per day"], told["energy"]) / 3.6e6 <= 4 * kwh


@pytest.mark.parametrize(
    ("names", "least"),
    [
        # IEC 61000-3-2, from memory. Class C above 25 W: 30 % of the fundamental times the power factor; up to 25 W: 86 %.
        (("LED floodlight", "fluorescent lamp", "grow lamp"), 0.3 * 0.9),
        (("LED lamp", "lamp of another kind"), 0.86),
        # Class D: 3.4 mA/W, of 1000 / 230 mA/W at a power factor of the fundamental of 1: 78 %.
        (("computer", "laptop", "television", "electronic device of another kind"), 0.782),
    ],
)
def test_third_harmonics_are_at_the_limit_of_the_standard(names, least) -> None:
    assert all(read(KINDS["share"], machine(name).stands_for["third_harmonic"]) >= least for name in names)


@pytest.mark.parametrize(
    ("typed", "first"),
    [
        ("wash", ["washing machine"]),
        ("WASH", ["washing machine"]),
        ("  washing   mach", ["washing machine"]),
        ("heat p", ["heat pump, fixed speed", "heat pump on a drive"]),
        ("fridge", ["fridge", "fridge with glass door", "medical refrigerator"]),
        ("oven", ["oven", "cooker with oven", "baker's oven"]),
        ("borehole", ["well pump"]),
        ("inverter welder", ["welder, inverter"]),
        ("freq", ["motor on a drive, three-phase", "motor on a drive, one phase"]),
        ("started direct", ["motor or pump, started direct"]),
        ("electric car", ["vehicle charger, one-phase", "vehicle charger, three-phase"]),
        ("granny", ["vehicle charger, portable"]),
        ("eacher", []),
        ("(.*", []),
    ],
)
def test_a_machine_is_found_by_what_is_typed(typed, first) -> None:
    """The name itself, then a name that begins so, a word of it, another word for it, then words in any order; never the middle of a word."""
    found = find(typed)
    assert list(found[: len(first)]) == first
    assert bool(found) == bool(first)
    assert len(set(found)) == len(found)


def test_nothing_typed_finds_all_in_their_order() -> None:
    assert find("") == find("  ") == names()


@pytest.mark.parametrize(("several", "one"), [("lamps", "lamp"), ("Washing  Machines", "washing machine"), ("ovens", "oven"), ("torches", "torch"), ("switches", "switch"), ("heat pumps", "heat pump")])
def test_several_of_a_machine_are_found_as_one_is(several, one) -> None:
    assert find(several) == find(one)
    assert bool(find(one)) is (one != "torch")


def test_what_finds_something_is_taken_as_it_is_typed_and_one_letter_tells_nothing() -> None:
    """A glass is no plural; of "xs" and "qes" no word is left that would find a machine."""
    assert find("glass")
    assert find("glass") != find("glas machine")
    assert find("qes") == find("xs") == ()
    assert nearest("ovens") == "oven"


def test_every_machine_is_found_by_its_name_and_by_each_of_its_words() -> None:
    for each in ALL:
        assert find(each.name)[0] == each.name
        assert all(each.name in find(word) for word in each.words)


def test_an_unknown_machine_is_refused_with_the_nearest() -> None:
    """By line and key, as every other wrong answer; a text of any length is looked at as far as a name goes."""
    with pytest.raises(Unreadable) as refused:
        parse(b'[[loads]]\nname = "A"\nmachine = "wsahing machine"\n', "site.toml")
    [line] = refused.value.lines()
    assert line == "site.toml:3: loads[#1].machine: found 'wsahing machine'; wanted a machine of the list; the nearest known one is 'washing machine'"
    with pytest.raises(Unreadable, match="found int; wanted a machine by its name"):
        parse(b"[[loads]]\nmachine = 3\n", "site.toml")
    assert nearest("fridg") == "fridge"
    assert nearest("x" * 1_000_000) in names()


def test_a_machine_in_a_sentence() -> None:
    assert [machine(name).one for name in ("kettle", "oven", "LED lamp", "lathe")] == ["a kettle", "an oven", "an LED lamp", "a lathe"]
