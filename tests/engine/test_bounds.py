"""What a site may ask for at most: told by line, key and limit, before anything is computed. How long the rest takes: benchmarks/hostile_files."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from engine.files.problems import Problem, Unreadable
from engine.files.read import parse
from engine.tables.bounds import bounds

# The bound, how much it is, the key that is told, a text that asks for so many, and how they are told. Each is this program's own bound:
# well above what is built as one set.
BOUNDS: list[tuple[str, int, str, Callable[[int], str], str]] = [
    ("loads", 500, "loads", lambda n: "[[loads]]\n" * n, "{}"),
    ("machines", 50_000, "loads", lambda n: f'[[loads]]\nname = "a"\nquantity = {n % 1000}\n' + '[[loads]]\nname = "a"\nquantity = 1000\n' * (n // 1000), "{} machines"),
    ("routes", 500, "routes", lambda n: "[[routes]]\n" * n, "{}"),
    ("lanes", 8, "routes", lambda n: "".join(f'[[routes]]\nlane = "0.{k} m"\n' for k in range(10, 10 + n)), "{} different lanes"),
    ("bus nodes", 20, "bus_nodes", lambda n: "[[bus_nodes]]\n" * n, "{}"),
    ("records", 5000, "record", lambda n: "[[record]]\n" * n, "{}"),
    ("places on the wall", 120, "wall.places", lambda n: "[[wall.places]]\n" * n, "{}"),
    ("obstacles", 16, "wall.places", lambda n: '[[wall.places]]\nwhat = "obstacle"\n' * n, "{} obstacles"),
    ("data links", 300, "storage.links", lambda n: "[[storage.links]]\n" * n, "{}"),
    ("units", 36, "storage.wired", lambda n: "[storage.wired]\n" + "".join(f'L1-{k} = "B1"\n' for k in range(n)), "{} units"),
    ("modules in series", 100, "storage.bank.series", lambda n: f"[storage.bank]\nseries = {n}\n", "{}"),
    ("rows of modules in parallel", 100, "storage.bank.parallel", lambda n: f"[storage.bank]\nparallel = {n}\n", "{}"),
    ("panels in series", 100, "solar.series", lambda n: f"[solar]\nseries = {n}\n", "{}"),
    ("strings per tracker", 20, "solar.parallel", lambda n: f"[solar]\nparallel = {n}\n", "{}"),
    ("trackers per unit", 12, "solar.trackers", lambda n: f"[solar]\ntrackers = {n}\n", "{}"),
    ("link lengths", 20, "unit.bus.link_lengths", lambda n: "[unit.bus]\nlink_lengths = [" + '"1 m", ' * n + "]\n", "{}"),
    ("names within a key", 12, "", lambda n: "x" + ".x" * (n - 1) + " = 1\n", "{most} names"),
]


def problems(text: str) -> list[Problem]:
    try:
        parse(text.encode(), "s.toml")
    except Unreadable as wrong:
        return list(wrong.problems)
    return []


@pytest.mark.parametrize(("bound", "limit", "key", "text", "says"), BOUNDS, ids=[case[0] for case in BOUNDS])
def test_more_than_a_bound_is_refused_by_line_key_and_limit(bound, limit, key, text, says):
    """One more than it is refused; as many are not."""
    assert not [p for p in problems(text(limit)) if says.format(limit, most=limit) in p.text]
    [problem] = problems(text(limit + 1))
    assert problem.key == key
    assert problem.line in (1, 2)
    assert says.format(limit + 1, most=limit) in problem.text
    assert str(limit) in problem.text


def test_every_bound_is_tried():
    elsewhere = {"bytes of a file", "problems told", "rows of a plan", "digits of a number"}  # below
    assert {row["what"] for row in bounds().rows} == {case[0] for case in BOUNDS} | elsewhere


def test_of_very_many_problems_the_first_are_told_and_how_many_more():
    with pytest.raises(Unreadable) as wrong:
        parse("".join(f"k{n} = 1\n" for n in range(1000)).encode(), "s.toml")
    assert len(wrong.value.problems) == 51
    assert wrong.value.problems[-1].text == "and 950 more like these"


def test_a_number_too_long_to_be_one_is_told_by_its_digits():
    [problem] = problems("[set]\ncount = " + "9" * 5000)
    assert (problem.line, problem.key) == (2, "")
    assert "a number of more than 400 digits" in problem.text


def test_a_file_of_a_mebibyte_is_read_and_none_that_is_larger():
    assert problems("#" * 2**20) == []
    [problem] = problems("#" * (2**20 + 1))
    assert "the file is over 1 MiB and was not read" in problem.text


def test_a_stored_plan_has_no_more_rows_than_a_plan_may():
    text = '[plan]\nrevision = "00000000"\nmade_with = "x"\nstanding = "ready"\n' + "[[plan.units]]\n" * 10001
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
