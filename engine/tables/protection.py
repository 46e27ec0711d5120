"""What the tables say of fuses and breakers."""

from __future__ import annotations

from functools import lru_cache
from operator import itemgetter

from engine.quantities import Ampere, Volt
from engine.tables import table
from engine.tables.conductors import Reading, small_conductor_limit
from engine.tables.ratings import largest_rating_not_above, next_rating_up
from engine.tables.sizes import Size

_ROUNDING_UP_TO = 800.0  # A: NEC 240.4(B)(3) and (C)


def operating_multiple(device: str, rating: Ampere) -> Reading:
    """Conventional operating current over the rating, for "breaker", "moulded-case breaker" or "fuse"."""
    found = table("conventional_currents")
    for row in found.rows:
        above, multiple = row["above"], row["operating"]
        assert isinstance(above, float)
        assert isinstance(multiple, float)
        # 16 A itself is in the band that begins there, 4 A is not.
        if row["device"] == device and (rating > above or rating == above == 16):
            return Reading(multiple, found.told)
    raise KeyError(device)


@lru_cache(maxsize=256)
def fuse_let_through(rating: Ampere) -> Reading | None:
    """Greatest pre-arcing I2t at 0.01 s of a gG link [A²s]; between ratings the next larger, None above the table."""
    found = table("gg_i2t")
    for row in found.rows:
        size, most = row["rating"], row["most"]
        if isinstance(size, float) and isinstance(most, float) and size >= rating * (1 - 1e-9):
            return Reading(most, found.told)
    return None


@lru_cache(maxsize=256)
def fuse_gate(rating: Ampere, gate: str) -> Reading | None:
    """A gate of a gG link: "least_10s", "most_5s", "least_100ms" or "most_100ms" [A].

    For a rating between two rows a `least` gate is read one row down and a `most` gate one row up; None outside.
    """
    found = table("gg_gates")
    pairs = [(size, cell) for row in found.rows if isinstance(size := row["rating"], float) and isinstance(cell := row[gate], float)]
    if gate.startswith("least"):
        cells = [cell for size, cell in reversed(pairs) if size <= rating * (1 + 1e-9)]
    else:
        cells = [cell for size, cell in pairs if size >= rating * (1 - 1e-9)]
    return Reading(cells[0], found.told) if cells else None


def last_gate(gate: str) -> Reading:
    """The gate of the largest link in the table: what a still larger one needs at the least."""
    found = table("gg_gates")
    return Reading(max(found.figures(gate)), f"{found.told}, its largest row: a larger fuse needs no less")


def trip_multiple(curve: str) -> Reading:
    """Current over the rating at which a breaker of that curve trips at once for sure."""
    found = table("breaker_curves")
    row = found.row("curve", curve)
    assert row is not None
    most = row["most"]
    assert isinstance(most, float)
    return Reading(most, found.told)


@lru_cache(maxsize=256)
def breaking_capacity(fault: Ampere, rules: str, device: str) -> Reading | None:
    """The smallest usual short-circuit capacity of a "breaker" or "fuse" that is not below a fault; None above 200 kA."""
    found = table("breaking_capacities")
    for row in found.rows:
        capacity = row["capacity"]
        if row["rules"] == rules and row["device"] == device and isinstance(capacity, float) and capacity >= fault * (1 - 1e-9):
            return Reading(capacity, found.told)
    return None


def largest_breaking_capacity(rules: str, device: str) -> Ampere:
    """The largest usual short-circuit capacity of a "breaker" or "fuse"."""
    rows = (row for row in table("breaking_capacities").rows if row["rules"] == rules and row["device"] == device)
    return max(capacity for row in rows if isinstance(capacity := row["capacity"], float))


@lru_cache(maxsize=256)
def dc_families(voltage: Volt, fault: Ampere, end: str, rules: str = "iec") -> tuple[str, ...]:
    """Fuse families that stand a DC voltage and break a fault, overload included; those of the rule book's own standards first.

    `end` "least": every member does; "most": some do, and its maker must say so.
    """
    found = []
    own = {"iec": "IEC", "nec": "UL"}[rules]
    for row in table("dc_fuse_families").rows:
        volts, breaks = row[f"voltage_{end}"], row[f"breaking_{end}"]
        if row["full_range"] == "yes" and isinstance(volts, float) and isinstance(breaks, float) and volts >= voltage and breaks >= fault:
            found.append((not str(row["standard"]).startswith(own), str(row["family"])))
    return tuple(family for _, family in sorted(found, key=itemgetter(0)))


def strings_fused(parallel: int) -> bool:
    """Whether each of so many strings in parallel gets a fuse: a few cannot overload each other."""
    row = table("gpv").row("item", "strings without fuses")
    assert row is not None
    most = row["value"]
    assert isinstance(most, float)
    return parallel > most


def nec_largest_device(ampacity: Ampere, size: Size, metal: str) -> Ampere:
    """The largest device a conductor of that final ampacity may have: 240.4(B), (C) and (D).

    Up to 800 A the next standard rating above the ampacity, beyond that none above it; small conductors have their own limit.
    """
    up = next_rating_up(ampacity, "nec")
    if up is None or up > _ROUNDING_UP_TO:
        up = largest_rating_not_above(ampacity, "nec") or 0.0
    small = small_conductor_limit(size, metal)
    return min(up, small.value) if small else up
