"""The network solver against a nodal solution in numpy, and against networks whose answer is plain."""

from random import Random

import numpy as np
import pytest

from engine.formulas.sharing import branch_current
from engine.solvers.network import Resistor, bank_shares, currents


def by_numpy(branches, fed):
    """Branch currents from the incidence matrix: G = A^T diag(1/R) A, solved by least squares."""
    nodes = sorted({n for b in branches for n in (b.start, b.end)}, key=str)
    incidence = np.zeros((len(branches), len(nodes)))
    for i, b in enumerate(branches):
        incidence[i, nodes.index(b.start)], incidence[i, nodes.index(b.end)] = 1, -1
    conductance = np.diag([1 / b.resistance for b in branches])
    emf = np.array([b.emf for b in branches])
    right = np.array([fed.get(n, 0.0) for n in nodes]) - incidence.T @ conductance @ emf
    volts = np.linalg.lstsq(incidence.T @ conductance @ incidence, right, rcond=None)[0]
    return conductance @ (incidence @ volts + emf)


@pytest.mark.parametrize("seed", range(40))
def test_currents_are_those_of_numpy(seed):
    """On a random network with sources and fed currents both solutions agree."""
    rng = Random(seed)
    size = rng.randint(2, 12)
    branches = [Resistor(i, rng.randrange(i), 10 ** rng.uniform(-4, 1), rng.choice([0, 0, rng.uniform(-60, 60)])) for i in range(1, size)]
    branches += [Resistor(*rng.sample(range(size), 2), 10 ** rng.uniform(-4, 1), rng.choice([0, 51.2])) for _ in range(rng.randint(0, 12))]
    fed = {0: 100.0, size - 1: -100.0}
    found = currents(branches, fed)
    scale = max(abs(i) for i in found)
    assert found == pytest.approx(by_numpy(branches, fed).tolist(), abs=1e-6 * scale + 1e-9)


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("feed", ["diagonal", "one end"])
def test_shares_of_a_bank_are_those_of_numpy(seed, feed):
    """A row of unequal strings shares as its nodal solution says."""
    rng = Random(seed)
    resistances = [rng.uniform(1e-3, 30e-3) for _ in range(rng.randint(2, 16))]
    joint, last = rng.uniform(1e-5, 2e-3), len(resistances) - 1
    branches = [Resistor(("-", i), ("+", i), r) for i, r in enumerate(resistances)]
    branches += [Resistor((p, i), (p, i + 1), joint) for i in range(last) for p in "+-"]
    expected = by_numpy(branches, {("+", 0): -1.0, ("-", last if feed == "diagonal" else 0): 1.0})
    assert bank_shares(resistances, joint, feed) == pytest.approx(expected[: last + 1].tolist(), rel=1e-6)


@pytest.mark.parametrize("feed", ["diagonal", "one end", "bar"])
@pytest.mark.parametrize("many", [1, 2, 5])
def test_shares_add_up_and_are_positive(feed, many):
    """Whatever the feed, like strings all carry something and together everything."""
    shares = bank_shares([12e-3] * many, 0.2e-3, feed)
    assert sum(shares) == pytest.approx(1)
    assert min(shares) > 0
    assert max(shares) >= 1 / many - 1e-12


def test_a_bar_shares_like_plain_branches():
    """From a bar, strings share by the inverse of their resistance."""
    resistances = [7e-3, 7.2e-3, 8e-3]
    assert [300 * s for s in bank_shares(resistances, 1e-3, "bar")] == pytest.approx([branch_current(300, resistances, i) for i in range(3)])


def test_a_diagonal_feed_is_symmetric_and_better_than_one_end():
    """Diagonal: first and last alike. One end: falling, and the first worse off than any in the diagonal."""
    diagonal, one_end = bank_shares([12e-3] * 6, 0.5e-3, "diagonal"), bank_shares([12e-3] * 6, 0.5e-3, "one end")
    assert diagonal == pytest.approx(diagonal[::-1])
    assert one_end == sorted(one_end, reverse=True)
    assert max(one_end) > max(diagonal)


def test_a_network_in_two_pieces_is_refused():
    """Pieces that do not hang together have no answer."""
    with pytest.raises(ValueError, match="hang together"):
        currents([Resistor(0, 1, 1.0), Resistor(2, 3, 1.0)], {})


def test_no_resistance_is_refused():
    """Nodal analysis wants resistances above nothing."""
    with pytest.raises(ValueError, match="above 0"):
        currents([Resistor(0, 1, 0.0)], {})
