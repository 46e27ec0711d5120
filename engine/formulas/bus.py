"""The data bus: terminators, links, lengths, loading."""

from __future__ import annotations

from typing import Annotated

from engine.quantities import BitPerSecond, Metre, Ohm, Unit

MetreBitPerSecond = Annotated[float, Unit("m*bit/s")]


def terminated_resistance(terminator: Ohm, count: int) -> Ohm:
    """Reading across the data pair of an unpowered chain.

    Equation: R = R_t / n
    Source: resistors in parallel; two of 120 ohm read 60
    Range: n at least 1; ZeroDivisionError where it is 0: an open line reads nothing.

    >>> terminated_resistance(120, 2)
    60.0
    """
    return terminator / count


def shared_tap(single: Metre, shared: Metre, taps: int) -> Metre:
    """Longest tap where several leave one box.

    Equation: l = min(l_1, L / n)
    Source: Modbus over serial line V1.02 (20 m one tap, 40 m shared)
    Range: n at least 1; ZeroDivisionError where it is 0.

    >>> shared_tap(20, 40, 4)
    10.0
    """
    return min(single, shared / taps)


def longest_rs485(bit_rate: BitPerSecond, most: Metre = 1200.0, product: MetreBitPerSecond = 1e8) -> Metre:
    """Longest RS-485 bus at a bit rate.

    Equation: L = min(1200 m, 1e8 m bit/s / rate)
    Source: TIA-485 application guides (4000 ft; the product from memory)
    Range: a rate above 0; ZeroDivisionError where it is 0.

    >>> longest_rs485(500_000)
    200.0
    """
    return min(most, product / bit_rate)
