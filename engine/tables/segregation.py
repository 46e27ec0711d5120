"""How far data cables keep off power by practice."""

from __future__ import annotations

from engine.quantities import Metre
from engine.tables import table


def kept_by_practice(power: str) -> Metre:
    """The distance that practice keeps from "battery" or any other power, whatever the tables of standards allow."""
    practice = table("data_separation")
    distance = (practice.row("power", power) or practice.row("power", "other") or {})["distance"]
    assert isinstance(distance, float)
    return distance
