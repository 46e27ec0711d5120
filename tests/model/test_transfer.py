"""Transfer impedances of an island against a dense solution of its equations, and what a reading can feel of a change."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest

from engine.model.network import Network
from tests.model.test_network import drawn


@pytest.mark.parametrize("seed", range(20))
def test_a_current_through_the_reading_makes_the_same_voltages_as_a_dense_solution(seed: int) -> None:
    nodes, branches = drawn(seed, phasors=True)
    matrix = np.zeros((nodes, nodes), complex)
    for a, b, ohms, _ in branches:
        for one, other, sign in ((a, a, 1), (b, b, 1), (a, b, -1), (b, a, -1)):
            matrix[one, other] += sign / ohms
    one, other = Random(seed).sample(range(nodes), 2)
    into = np.zeros(nodes, complex)
    into[one], into[other] = 1.0, -1.0
    volts = np.zeros(nodes, complex)
    volts[1:] = np.linalg.solve(matrix[1:, 1:], into[1:])
    # What sources feed in is at rest for it.
    fed = {"1": 3.0 + 0j, "0": -3.0 + 0j}
    found = Network([(str(a), str(b), 1 / ohms) for a, b, ohms, _ in branches], fed, "0").transfer(str(one), str(other))
    scale = max(abs(volts).max(), 1e-3)
    assert np.allclose([found(str(node)) for node in range(nodes)], volts, rtol=1e-6, atol=1e-6 * scale)


def test_a_bridge_in_balance_feels_nothing_across_it() -> None:
    """Wheatstone's bridge, 1 ohm in each arm: what is done between its middles is not felt at its ends; what is done in one arm is."""
    arms = [("top", "left"), ("left", "bottom"), ("top", "right"), ("right", "bottom")]
    found = Network([(a, b, 1.0 + 0j) for a, b in arms], {}, "bottom").transfer("top", "bottom")
    assert found("top") == pytest.approx(1.0)  # two rows of 2 ohm beside each other
    assert found("left") == pytest.approx(found("right")) == pytest.approx(0.5)
