"""One line of the bill."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Line:
    """One line; `quantity` includes `spare`. `order_ahead`: no wholesaler stocks it.

    `cut_from_reel`: nothing to buy, it is cut from a reel that stands on the bill too.
    """

    item: str
    specification: str
    quantity: int
    spare: int
    order_ahead: bool
    goes_to: tuple[str, ...]
    cut_from_reel: bool | None = None
