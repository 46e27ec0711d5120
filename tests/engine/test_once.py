"""What is made of the same things is made once, and what comes out as it was is the thing that was."""

from __future__ import annotations

from dataclasses import field

import pytest

from engine.again import again
from engine.frozen import dataclass
from engine.once import Memory, memory, once
from engine.quantities import Ampere, Volt
from engine.within import settled
from engine.workings import Figure, altered, answered, chosen, work


@dataclass(frozen=True)
class Pair:
    one: object
    other: object = None
    aside: object = field(default=None, compare=False)


def power(current: Ampere, voltage: Volt) -> Volt:
    """Any formula."""
    return current * voltage


def made():
    a, b = answered("a", 2.0, "A"), answered("b", 3.0, "V")
    return a, b, work("c", power, current=a, voltage=b), chosen("d", 1.0, "A", "so", "S1", [a]), altered(a, key="e")


def test_without_a_memory_all_is_made():
    assert memory() is None
    assert made() == made()
    assert not any(one is other for one, other in zip(made(), made(), strict=True))


def test_figures_of_the_same_are_made_once():
    first, second = Memory(), None
    with first.opened():
        figures = made()
        assert all(one is other for one, other in zip(figures, made(), strict=True))
    second = Memory(first)
    with second.opened():
        assert all(one is other for one, other in zip(figures, made(), strict=True))
        assert work("c", power, current=figures[0], voltage=answered("b", 4.0, "V")) is not figures[2]
    assert memory() is None


def test_inputs_that_change_places_are_others():
    with Memory().opened():
        a, b = answered("a", 2.0, "A"), answered("b", 3.0, "A")
        share = lambda part, whole: part / whole  # noqa: E731
        share.__annotations__ = {"part": Ampere, "whole": Ampere, "return": Ampere}
        assert work("s", share, part=a, whole=b).value == pytest.approx(2 / 3)
        assert work("s", share, part=b, whole=a).value == pytest.approx(3 / 2)


def test_what_is_not_made_again_is_forgotten():
    first = Memory()
    with first.opened():
        made()
    second = Memory(first)
    with second.opened():
        answered("a", 2.0, "A")
    assert len(second.made) == 1


def test_once_goes_by_the_very_things():
    calls = []

    def make(thing):
        calls.append(thing)
        return [thing]

    with Memory().opened():
        thing = Pair(1)
        assert once(make, thing) is once(make, thing)
        assert once(make, Pair(1)) is not once(make, thing)
    assert len(calls) == 2


def test_a_piece_runs_again_where_something_given_differs():
    calls = []

    def run(pair, number):
        calls.append(number)
        return Pair(number // 2)

    before, gave = None, []
    for pair, number in ((Pair("x"), 2), (Pair("x"), 2), (Pair("x"), 3), (Pair("y"), 4)):
        before = Memory(before)
        with before.opened():
            gave.append(again("it", run, pair=pair, number=number))
    assert calls == [2, 3, 4]
    assert gave[0] is gave[1] is gave[2]
    assert gave[3] == Pair(2)


def test_a_method_of_another_thing_is_other_work():
    before = None
    for pair in (Pair(1), Pair(2)):
        before = Memory(before)
        with before.opened():
            assert again("it", pair.__repr__) == repr(pair)


@pytest.mark.parametrize(
    ("new", "old"),
    [
        (Pair("x", (1, 2)), Pair("x", (1, 2))),
        ([Pair(1), {"a": Pair((None, True))}], [Pair(1), {"a": Pair((None, True))}]),
        (Pair(1, 2, aside=3), Pair(1, 2, aside=4)),
        (frozenset("ab"), frozenset("ba")),
    ],
)
def test_what_is_the_same_is_the_one_before(new, old):
    assert settled(new, old, set()) is old


@pytest.mark.parametrize(
    ("new", "old"),
    [
        (Pair(1), Pair(1.0)),
        (Pair((1, "a")), Pair((True, "a"))),
        ((1, 2), [1, 2]),
        ({"a": 1, "b": 2}, {"b": 2, "a": 1}),
        ({"a": 1}, {"a": 1, "b": 2}),
        (Pair(Figure("k", 1.0, "A", "answered", "s")), Pair(Figure("k", 2.0, "A", "answered", "s"))),
        ((Pair(1),), (Pair(1), Pair(2))),
    ],
)
def test_what_differs_stays_what_it_is(new, old):
    found = settled(new, old, set())
    assert found is not old
    assert found == new
    assert type(found) is type(new)


@pytest.mark.parametrize("place", range(4))
def test_a_row_that_grew_or_shrank_keeps_what_stands(place):
    some = [Pair(n) for n in range(3)]
    grown = tuple(Pair(n) for n in range(3))
    grown = (*grown[:place], Pair("new"), *grown[place:])
    found = settled(grown, tuple(some), set())
    assert found == grown
    assert [one for one in found if one.one != "new"] == some
    assert all(one is other for one, other in zip((one for one in found if one.one != "new"), some, strict=True))
    assert all(one is other for one, other in zip(settled(tuple(Pair(n) for n in range(3)), grown, set()), grown[:place] + grown[place + 1 :], strict=True))


def test_what_is_within_stands_where_the_whole_does_not():
    old = Pair(Pair("a", ("b", "c")), 1)
    new = Pair(Pair("a", ("b", "c")), 2)
    found = settled(new, old, set())
    assert found == new
    assert found.one is old.one
    assert new.one is not old.one  # what was given is left as it was
