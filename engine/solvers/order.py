"""The order of a chain that begins at a given node: fewest links too long, then least total length.

Exact up to `EXACT` nodes by dynamic programming over subsets; above that a greedy chain improved by
reversals and moves, told as unproven.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import combinations, pairwise

from engine.frozen import dataclass

EXACT = 16
_TURNS = 8  # orders that are tried where none is proven
_NEAR = 2  # neighbours of each node that are measured before anything is ordered


@dataclass(frozen=True)
class Order:
    """The chain found, as node numbers.

    `total` is the sum of the lengths along it, without links that have none; `short_of` the links no
    permitted length serves, with the length each needs (None: no route at all). `proven`: no other
    order has fewer such links, nor as few and less total length.
    """

    nodes: tuple[int, ...]
    total: int
    short_of: tuple[tuple[int, int, int | None], ...]
    proven: bool


def best_order(lengths: Sequence[Sequence[int | None]], most: int | None = None, first: int = 0, last: int | None = None) -> Order:
    """Put every node in a chain that begins at `first` and, where given, ends at `last`.

    `lengths[a][b]` is the length of a link between two nodes, the same both ways, in whole millimetres; None where
    there is no route. A link longer than `most` is taken only where no order does without. Of orders
    equally good the one with the lowest numbers in front is given. Raises ValueError where `last` is `first` and
    other nodes remain.
    """
    count = len(lengths)
    if count > 1 and first == last:
        raise ValueError("a chain of several nodes cannot begin and end at one of them")
    costs = _penalised(lengths, most)
    proven = count <= EXACT
    nodes = _exact(costs, first, last) if proven else _improved(costs, _greedy(costs, first, last), last)
    return _told(lengths, nodes, most, proven=proven)


def _told(lengths: Sequence[Sequence[int | None]], nodes: tuple[int, ...], most: int | None, *, proven: bool) -> Order:
    links = [(a, b, lengths[a][b]) for a, b in pairwise(nodes)]
    short = tuple((a, b, n) for a, b, n in links if n is None or (most is not None and n > most))
    return Order(nodes, sum(n for _, _, n in links if n is not None), short, proven)


def order_lazily(
    bounds: Sequence[Sequence[int]], length_of: Callable[[int, int], int | None], most: int | None = None, first: int = 0
) -> Order:
    """Such an order, where a length is costly to find: `bounds[a][b]` is one that it is never below, `length_of` finds it, a < b.

    An order that is best by the bounds, and all of whose links are measured, is best. So only links are measured that stand in
    an order which is the best by what is known; near ones first, for most orders are made of them. Above `EXACT` nodes the same
    is done without the proof, and not for ever.
    """
    known: list[list[int | None]] = [list(row) for row in bounds]
    count = len(bounds)
    measured: set[tuple[int, int]] = set()

    def measure(links: Iterable[tuple[int, int]]) -> bool:
        new = {(min(link), max(link)) for link in links} - measured
        for a, b in sorted(new):
            known[a][b] = known[b][a] = length_of(a, b)
        measured.update(new)
        return bool(new)

    measure((a, b) for a in range(count) for b in sorted(range(count), key=lambda b: (bounds[a][b], b))[1 : _NEAR + 1] if a != b)
    turns = 0
    while True:
        found = best_order(known, most, first)
        if not measure(pairwise(found.nodes)):
            return found
        turns += 1
        if turns == _TURNS and not found.proven:
            return _told(known, found.nodes, most, proven=False)


def _penalised(lengths: Sequence[Sequence[int | None]], most: int | None) -> list[list[int]]:
    """Costs in which one link without a route outweighs all links too long, and one of those all lengths."""
    too_long = 1 + sum(n or 0 for row in lengths for n in row)
    no_route = too_long * (len(lengths) + 1)
    return [[no_route if n is None else n + too_long * (most is not None and n > most) for n in row] for row in lengths]


def _exact(costs: Sequence[Sequence[int]], first: int, last: int | None) -> tuple[int, ...]:
    """Subset dynamic programming, link by link: of all chains through the same nodes to the same end the best is kept.

    A node is reached by its cheapest link at the least, so only what a link costs above that is counted, and a chain whose excess
    is above that of a chain improved by hand is given up. The nodes of a chain are the low digits of its cost: of equal ones the lowest win.
    """
    count = len(costs)
    places, digit = range(1, count), count.bit_length()
    least = [min(row[:k] + row[k + 1 :], default=0) for k, row in enumerate(map(list, costs))]
    excess = [[cost - floor << digit * count for cost, floor in zip(row, least, strict=True)] for row in costs]
    most = _cost(excess, _improved(costs, _greedy(costs, first, last), last)) | (1 << digit * count) - 1
    onto = [*zip(*excess, strict=True)]  # by the node that a link leads to
    chains = {1 << first: [(first, 0)]}  # by the nodes that are in it: the ends there may be, and the least cost to each
    for place in places:
        shift, longer = digit * (count - 1 - place), dict[int, list[tuple[int, int]]]()
        onward = [k for k in range(count) if place == count - 1 or k != last]
        for gone, ends in chains.items():
            for k in onward:
                if not gone >> k & 1:
                    to = onto[k]
                    total = min([cost + to[here] for here, cost in ends]) + (k << shift)
                    if total <= most:
                        longer.setdefault(gone | 1 << k, []).append((k, total))
        chains = longer
    (ends,) = chains.values()
    best = min(cost for _, cost in ends)
    return (first, *(best >> digit * (count - 1 - place) & (1 << digit) - 1 for place in places))


def _greedy(costs: Sequence[Sequence[int]], first: int, last: int | None) -> list[int]:
    """Always the nearest node next, `last` kept for the end."""
    left = [k for k in range(len(costs)) if k not in (first, last)]
    chain = [first]
    while left:
        chain.append(min(left, key=lambda k: (costs[chain[-1]][k], k)))
        left.remove(chain[-1])
    return chain if last is None else [*chain, last]


def _improved(costs: Sequence[Sequence[int]], chain: list[int], last: int | None) -> tuple[int, ...]:
    """Reverse a stretch, or move one of up to three nodes, while that makes the chain cheaper."""
    improving = True
    while improving:
        improving = False
        end = len(chain) - (last is not None)
        for i, j in combinations(range(1, end + 1), 2):
            if _reversal(costs, chain, i, j) < 0:
                chain[i:j] = chain[i:j][::-1]
                improving = True
        for i in range(1, end):
            for j in range(i + 1, min(i + 3, end) + 1):
                others = chain[:i] + chain[j:]
                trials = (others[:k] + chain[i:j] + others[k:] for k in range(1, end - (j - i) + 1))
                best = min(trials, key=lambda trial: _cost(costs, trial))
                if _cost(costs, best) < _cost(costs, chain):
                    chain, improving = best, True
    return tuple(chain)


def _cost(costs: Sequence[Sequence[int]], chain: Sequence[int]) -> int:
    return sum(costs[a][b] for a, b in pairwise(chain))


def _reversal(costs: Sequence[Sequence[int]], chain: Sequence[int], i: int, j: int) -> int:
    """What reversing the stretch from i up to j adds to the cost."""
    before, first, final = chain[i - 1], chain[i], chain[j - 1]
    head = costs[before][final] - costs[before][first]
    return head if j == len(chain) else head + costs[first][chain[j]] - costs[final][chain[j]]
