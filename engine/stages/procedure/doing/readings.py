"""Readings that many steps take, and what a step's data are."""

from __future__ import annotations

import math
from collections.abc import Iterator

from engine.model.acts import Act, Instrument, Reading
from engine.tables.verification import most, volts

Doing = Iterator[Act | Reading]
DIRECT = ("plus", "minus")
FAULTLESS = 1e4  # ohm from which on an ohmmeter shows two conductors as apart


def dc(red: str, black: str, low: float | None, high: float | None, beside: tuple[str, str] | None = None) -> Reading:
    """A voltmeter for direct current."""
    return Reading(Instrument.DC, (red, black), low, high, beside)


def ac(one: str, other: str, low: float | None, high: float | None) -> Reading:
    """A voltmeter for alternating current."""
    return Reading(Instrument.AC, (one, other), low, high)


def joined(one: str, other: str) -> Reading:
    """Two points that must be one conductor."""
    return Reading(Instrument.OHM, (one, other), None, most("continuity"))


def apart(one: str, other: str) -> Reading:
    """Two points that must not be joined."""
    return Reading(Instrument.OHM, (one, other), FAULTLESS)


def looked(thing: str, attribute: str, want: str = "") -> Reading:
    """One attribute of a thing, read or looked at, and written down."""
    return Reading(Instrument.LOOK, (thing, attribute), want=want)


def nothing(one: str, other: str, test: str) -> Reading:
    """Two points between which there must be no direct voltage, by the limit of a test."""
    return dc(one, other, -volts(test), volts(test))


def around(voltage: float, share: float) -> tuple[float, float]:
    """A voltage's window, in whole volts inwards."""
    return math.ceil(voltage * (1 - share)), math.floor(voltage * (1 + share))
