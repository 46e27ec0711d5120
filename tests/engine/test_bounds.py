"""What a site may ask for at most: told by line, key and limit, before anything is computed. How long the rest takes: benchmarks/hostile_files."""

from __future__ import annotations

import pytest

from engine.files.problems import Unreadable
from engine.files.read import parse
from engine.tables.bounds import bounds, most

BEYOND = [
    ("loads", "loads", "[[loads]]\n", ""),
    ("machines", "loads", '[[loads]]\nname = "a"\nquantity = 1000\n' * 51, "51000 machines"),
    ("routes", "routes", "[[routes]]\n", ""),
    ("lanes", "routes", "".join(f'[[routes]]\nlane = "0.{n} m"\n' for n in range(10, 19)), "9 different lanes"),
    ("bus nodes", "bus_nodes", "[[bus_nodes]]\n", ""),
    ("records", "record", "[[record]]\n", ""),
    ("places on the wall", "wall.places", "[[wall.places]]\n", ""),
    ("obstacles", "wall.places", '[[wall.places]]\nwhat = "obstacle"\n' * 25, "25 obstacles"),
    ("data links", "storage.links", "[[storage.links]]\n", ""),
    ("units", "storage.wired", "[storage.wired]\n" + "".join(f'L1-{n} = "B1"\n' for n in range(1, 38)), "37 units"),
    ("modules in series", "storage.bank.series", "[storage.bank]\nseries = 101\n", "101"),
    ("rows of modules in parallel", "storage.bank.parallel", "[storage.bank]\nparallel = 101\n", "101"),
    ("panels in series", "solar.series", "[solar]\nseries = 101\n", "101"),
    ("strings per tracker", "solar.parallel", "[solar]\nparallel = 21\n", "21"),
    ("trackers per unit", "solar.trackers", "[solar]\ntrackers = 13\n", "13"),
    ("link lengths", "unit.bus.link_lengths", "[unit.bus]\nlink_lengths = [" + '"1 m", ' * 21 + "]\n", "21"),
    ("names within a key", "", "x" + ".x" * 12 + " = 1\n", "12 names"),
    ("digits of a number", "", "[set]\ncount = " + "9" * 5000, "400 digits"),
]


@pytest.mark.parametrize(("bound", "key", "text", "says"), BEYOND, ids=[case[0] for case in BEYOND])
def test_more_than_a_bound_is_refused_by_line_key_and_limit(bound, key, text, says):
    if not says:
        text, says = text * (most(bound) + 1), str(most(bound) + 1)
    with pytest.raises(Unreadable) as wrong:
        parse(text.encode(), "s.toml")
    [problem] = wrong.value.problems
    assert problem.key == key
    assert problem.line in (1, 2)
    assert says in problem.text
    assert str(most(bound)) in problem.text


def test_every_bound_is_tried():
    elsewhere = {"bytes of a file", "problems told", "rows of a plan"}  # test_files, and below
    assert {row["what"] for row in bounds().rows} == {case[0] for case in BEYOND} | elsewhere


def test_of_very_many_problems_the_first_are_told_and_how_many_more():
    with pytest.raises(Unreadable) as wrong:
        parse("".join(f"k{n} = 1\n" for n in range(1000)).encode(), "s.toml")
    assert len(wrong.value.problems) == most("problems told") + 1
    assert wrong.value.problems[-1].text == f"and {1000 - most('problems told')} more like these"


def test_a_stored_plan_has_no_more_rows_than_a_plan_may():
    text = '[plan]\nrevision = "00000000"\nmade_with = "x"\nstanding = "ready"\n' + "[[plan.units]]\n" * (most("rows of a plan") + 1)
    with pytest.raises(Unreadable, match=r"plan\.units: found a list of 10001; wanted at most 10000"):
        parse(text.encode(), "s.toml")


SLIPS = [
    ("[wall]\nwidth = '4 m'\nwidth = '5 m'", 3, "stands twice"),
    ("[wall]\nwidth = '4 m'\n[wall]\n", 3, "this table stands twice"),
    ("[wall]\nwidth = 4 m\n", 2, "need quotes"),
    ("[wall]\nwidth = '4 m\n", 2, "quotes are missing"),
    ("[wall]\nwidth '4 m'\n", 2, "a key needs ="),
    ("[wall\nwidth = '4 m'\n", 1, "closing bracket ]"),
    ("[[loads]\n", 1, "closing brackets ]]"),
    ("[set]\nper_phase = [1, 1\n", 2, "] or a comma"),
    ("[unit]\nmotor = True\n", 2, "small letters"),
    ('[site]\nname = "C:\\x"\n', 2, "escape"),
    ("[wall]\nwidth = \n", 2, "does not read"),
    ("x = {a = 1, a = 2}\n", 1, "between these braces"),
]


@pytest.mark.parametrize(("text", "line", "says"), SLIPS, ids=range(len(SLIPS)))
def test_a_slip_of_toml_is_told_in_our_words(text, line, says):
    with pytest.raises(Unreadable) as wrong:
        parse(text.encode(), "s.toml")
    [problem] = wrong.value.problems
    assert says in problem.text
    assert problem.line == line
    assert problem.text.startswith("not valid TOML: ")
