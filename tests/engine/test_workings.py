"""A figure remembers formula, inputs and source, and refuses a wrong unit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

import pytest

from engine.quantities import Ampere, Number, Ohm, Volt
from engine.workings import answered, chosen, work


def drop(current: Ampere, resistance: Ohm, times: int = 1) -> Volt:
    """Ohm's law.

    Equation: U = I R
    Source: definition of the ohm
    """
    return current * resistance * times


def total(currents: Sequence[Ampere]) -> Ampere:
    """Sum.

    Equation: I = sum of I_k
    Source: Kirchhoff's current law
    """
    return sum(currents)


def share(part: Number) -> Number:
    """A share.

    Equation: s = p
    Source: definition
    """
    return part


def test_a_worked_figure_keeps_what_went_in():
    figure = work("plan.x", drop, current=answered("a", 10.0, "A"), resistance=answered("r", 0.5, "ohm"), times=2)
    assert (figure.value, figure.unit, str(figure)) == (10.0, "V", "10 V")
    assert (figure.how, figure.source) == ("U = I R", "definition of the ohm")
    assert [inner.key for inner in figure.of] == ["a", "r"]


def test_several_figures_go_into_one_sum():
    figure = work("plan.i", total, currents=[answered("a", 1.0, "A"), answered("b", 2.0, "A")])
    assert (figure.value, len(figure.of)) == (3.0, 2)


@pytest.mark.parametrize("unit", ["V", "VA", "ohm", "1"])
def test_a_wrong_unit_is_a_mistake_of_ours(unit):
    with pytest.raises(TypeError, match="wants A"):
        work("plan.x", drop, current=answered("a", 10.0, unit), resistance=answered("r", 0.5, "ohm"))


def test_a_formula_that_names_no_unit_gives_no_figure():
    """A remark beside the number is none: its value would be printed without what it is counted in."""

    def remarked(current: Ampere) -> Annotated[float, "per day"]:
        return current

    with pytest.raises(TypeError, match="remarked does not name the unit of its result"):
        work("plan.x", remarked, current=answered("a", 10.0, "A"))


def test_a_plain_number_and_a_share_may_meet():
    assert work("plan.s", share, part=answered("p", 0.3, "ratio")).value == 0.3


def test_the_tree_opens_each_branch_once():
    leaf = answered("leaf", 1.0, "A")
    twice = chosen("top", 1.0, "A", "the larger", "test", (chosen("left", 1.0, "A", "", "test", (leaf,)), chosen("left", 1.0, "A", "", "test", (leaf,))))
    assert [(depth, figure.key) for depth, figure in twice.tree()] == [(0, "top"), (1, "left"), (2, "leaf"), (1, "left")]
