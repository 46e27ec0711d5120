"""The equations of an island against another formulation, and against circuits that handbooks work by hand."""

from __future__ import annotations

import cmath
import math
from random import Random

import numpy as np
import pytest

from engine.model.network import Network

Branch = tuple[int, int, complex, complex]  # node, node, ohm, V that drives from the first to the second one


def drawn(seed: int, *, phasors: bool) -> tuple[int, list[Branch]]:
    """A random connected network: a tree with chords, joints of milliohms beside megohms and filters of nanofarads, sources here and there."""
    dice = Random(seed)
    nodes = dice.randint(2, 40)
    pairs = [(dice.randrange(node), node) for node in range(1, nodes)]
    pairs += [(a, b) for _ in range(dice.randint(0, nodes)) if (a := dice.randrange(nodes)) != (b := dice.randrange(nodes))]
    branches: list[Branch] = []
    for a, b in pairs:
        ohms: complex = 10 ** dice.uniform(-3, 5)
        if phasors and not dice.randrange(4):
            ohms = 1 / (2j * math.pi * 50 * 10 ** dice.uniform(-9, -3))
        volts: complex = dice.choice((0.0, 0.0, 51.2, -12.0))
        branches.append((a, b, ohms, cmath.rect(volts, dice.uniform(0, 6)) if phasors else volts))
    return nodes, branches


def by_loops(nodes: int, branches: list[Branch]) -> np.ndarray:
    """The voltage of every node to node 0 by loop currents: no node's equation, no admittance is used.

    B Z B' j = B e, one loop for each chord of the tree of the first n - 1 branches; from the currents the voltages along that tree.
    """
    tree = {b: (a, k) for k, (a, b, _, _) in enumerate(branches[: nodes - 1])}

    def way(node: int) -> dict[int, int]:
        found: dict[int, int] = {}
        while node:
            node, branch = tree[node]
            found[branch] = 1
        return found

    chords = range(nodes - 1, len(branches))
    loops = np.zeros((len(chords), len(branches)))
    for row, chord in enumerate(chords):
        a, b, _, _ = branches[chord]
        loops[row, chord] = 1
        for k in way(a):
            loops[row, k] += 1
        for k in way(b):
            loops[row, k] -= 1
    z, e = (np.array([branch[i] for branch in branches]) for i in (2, 3))
    currents = loops.T @ np.linalg.solve((loops * z) @ loops.T, loops @ e) if chords else np.zeros(len(branches))
    # A source lifts its second node by its volts; what flows through the branch's own ohms lowers it.
    return np.array([sum(e[k] - z[k] * currents[k] for k in way(node)) for node in range(nodes)])


def network(branches: list[Branch]) -> Network:
    fed: dict[str, complex] = {}
    for a, b, ohms, volts in branches:
        fed[str(b)] = fed.get(str(b), 0.0) + volts / ohms
        fed[str(a)] = fed.get(str(a), 0.0) - volts / ohms
    return Network([(str(a), str(b), 1 / ohms) for a, b, ohms, _ in branches], fed, "0")


@pytest.mark.parametrize("phasors", [False, True])
def test_random_networks_by_loop_currents(phasors: bool) -> None:
    """Every voltage is that of the loop equations, solved by numpy."""
    for seed in range(300):
        nodes, branches = drawn(seed, phasors=phasors)
        found = network(branches)
        wanted = by_loops(nodes, branches)
        assert [found.potential(str(node)) for node in range(nodes)] == pytest.approx(list(wanted), rel=1e-6, abs=1e-5), seed


@pytest.mark.parametrize("phasors", [False, True])
def test_what_lies_between_two_nodes(phasors: bool) -> None:
    """The impedance between two nodes is what a source in series with 1 ohm finds there, by the loop equations."""
    for seed in range(200):
        nodes, branches = drawn(seed, phasors=phasors)
        at_rest = [(a, b, ohms, 0j) for a, b, ohms, _ in branches]
        one, other = Random(seed).sample(range(nodes), 2)
        volts = by_loops(nodes, [*at_rest, (one, other, 1.0, 1.0)])
        across = volts[other] - volts[one]
        wanted = across / (1 - across)  # the rest of the volt falls over the one ohm
        assert network(at_rest).impedance(str(one), str(other)) == pytest.approx(wanted, rel=1e-5, abs=1e-7), seed


def test_a_cube_of_resistors() -> None:
    """Twelve resistors of 1 ohm: 5/6 across the body, 3/4 across a face, 7/12 along an edge (a classic of textbooks; seen in van Steenwijk,
    Am. J. Phys. 66 (1998) 90, from memory)."""
    cube = Network([(f"{a}", f"{a ^ bit}", 1.0) for a in range(8) for bit in (1, 2, 4) if a < a ^ bit], {}, "0")
    assert cube.impedance("0", "7") == pytest.approx(5 / 6, rel=1e-12)
    assert cube.impedance("0", "3") == pytest.approx(3 / 4, rel=1e-12)
    assert cube.impedance("1", "0") == pytest.approx(7 / 12, rel=1e-12)


def test_a_joint_beside_a_filter_costs_no_accuracy() -> None:
    """Resistors in series add up, whatever else hangs there: 0.1 milliohm is read behind 1 megohm, by hand."""
    found = Network([("0", "a", 1e-6), ("a", "b", 1e4), ("b", "c", 1e4)], {}, "0")
    assert found.impedance("a", "b") == pytest.approx(1e-4, rel=1e-12)
    assert found.impedance("0", "c") == pytest.approx(1e6 + 2e-4, rel=1e-14)


def reached(branches: list[Branch]) -> set[int]:
    """What still hangs together with node 0."""
    found = {0}
    while more := {b for a, b, _, _ in branches if a in found} | {a for a, b, _, _ in branches if b in found}:
        if more <= found:
            return found
        found |= more
    return found


@pytest.mark.parametrize("phasors", [False, True])
def test_a_change_is_what_is_solved_anew(phasors: bool) -> None:
    """Branches taken away, so that some hangs loose, and others put there: by the ways of their nodes as from the beginning."""
    cut = 0
    for seed in range(400):
        nodes, branches = drawn(seed, phasors=phasors)
        dice = Random(-seed)
        gone = dice.sample(branches, min(len(branches), dice.randint(0, 3)))
        come = [(a, b, 10 ** dice.uniform(-3, 3), 12.0) for a, b in ([dice.sample(range(nodes), 2)] if dice.random() < 0.7 else [])]
        left = [branch for branch in branches if branch not in gone] + come
        there = reached(left)
        cut += len(there) < nodes
        left = [branch for branch in left if branch[0] in there]
        fed: dict[str, complex] = {}
        for a, b, ohms, volts in left:
            fed[str(b)] = fed.get(str(b), 0.0) + volts / ohms
            fed[str(a)] = fed.get(str(a), 0.0) - volts / ohms
        at = {str(node) for branch in (*gone, *come) for node in branch[:2]}
        found, anew = network(branches).changed(at, [(str(a), str(b), 1 / ohms) for a, b, ohms, _ in left], fed), network(left)
        for node in there:
            assert found.potential(str(node)) == pytest.approx(anew.potential(str(node)), rel=1e-6, abs=1e-5), seed
            assert found.impedance("0", str(node)) == pytest.approx(anew.impedance("0", str(node)), rel=1e-6, abs=1e-9), seed
    assert cut > 50
