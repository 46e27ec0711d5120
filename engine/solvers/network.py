"""Currents in a network of resistors and batteries, by nodal analysis; knows no site.

Small and dense: a bank has a few dozen nodes, so plain elimination does.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence

from engine.frozen import dataclass


@dataclass(frozen=True)
class Resistor:
    """A resistance (ohm, above 0) between two nodes, with an electromotive force (V) that drives from `start` to `end`."""

    start: Hashable
    end: Hashable
    resistance: float
    emf: float = 0.0


def currents(branches: Sequence[Resistor], fed: Mapping[Hashable, float]) -> list[float]:
    """Current (A) of each branch from its start to its end, where `fed` currents enter the network at some nodes.

    `fed` adds up to nothing: what enters also leaves. The network hangs together.
    Raises ValueError where it does not, or where a resistance is not above 0.
    """
    if any(b.resistance <= 0 for b in branches):
        raise ValueError("a resistance must be above 0")
    nodes = list(dict.fromkeys(n for b in branches for n in (b.start, b.end)))
    place = {node: i for i, node in enumerate(nodes)}
    matrix = [[0.0] * len(nodes) for _ in nodes]
    right = [fed.get(node, 0.0) for node in nodes]
    for b in branches:
        i, j, conductance = place[b.start], place[b.end], 1 / b.resistance
        matrix[i][i] += conductance
        matrix[j][j] += conductance
        matrix[i][j] -= conductance
        matrix[j][i] -= conductance
        right[i] -= b.emf * conductance
        right[j] += b.emf * conductance
    # The last node is the reference: its row says nothing that the others do not.
    volts = [*_solved([row[:-1] for row in matrix[:-1]], right[:-1]), 0.0]
    return [(volts[place[b.start]] - volts[place[b.end]] + b.emf) / b.resistance for b in branches]


def _solved(matrix: list[list[float]], right: list[float]) -> list[float]:
    """The unknowns of linear equations, by elimination with the largest pivot."""
    rows = [[*row, value] for row, value in zip(matrix, right, strict=True)]
    size = len(rows)
    for k in range(size):
        pivot = max(range(k, size), key=lambda i: abs(rows[i][k]))
        if abs(rows[pivot][k]) < 1e-15 * max(map(abs, rows[pivot]), default=0.0) or rows[pivot][k] == 0:
            raise ValueError("the network does not hang together")
        rows[k], rows[pivot] = rows[pivot], rows[k]
        for i in range(k + 1, size):
            factor = rows[i][k] / rows[k][k]
            if factor:
                rows[i] = [a - factor * b for a, b in zip(rows[i], rows[k], strict=True)]
    found = [0.0] * size
    for k in reversed(range(size)):
        found[k] = (rows[k][size] - sum(rows[k][j] * found[j] for j in range(k + 1, size))) / rows[k][k]
    return found


def bank_shares(resistances: Sequence[float], joint: float, feed: str) -> list[float]:
    """Share of a bank's current that each of its strings carries; they hang side by side on two rows of joints.

    `resistances` (ohm) are those of the strings with what is their own of leads; `joint` lies between
    neighbours, in each pole; `feed` says where the bank's leads leave: "diagonal" (plus at the first
    string, minus at the last), "one end" (both at the first) or "bar" (each string straight to a bar).
    """
    last = len(resistances) - 1
    if feed == "bar" or joint <= 0 or last == 0:
        total = sum(1 / r for r in resistances)
        return [1 / r / total for r in resistances]
    strings = [Resistor(("-", i), ("+", i), r) for i, r in enumerate(resistances)]
    joints = [Resistor((pole, i), (pole, i + 1), joint) for i in range(last) for pole in "+-"]
    shares = currents([*strings, *joints], {("+", 0): -1.0, ("-", last if feed == "diagonal" else 0): 1.0})
    return shares[: len(strings)]
