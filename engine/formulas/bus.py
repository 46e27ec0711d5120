"""The data bus: terminators, links, lengths, loading."""

from __future__ import annotations

from typing import Annotated

from engine.quantities import BitPerSecond, Metre, Number, Ohm, Ratio, Second, Unit

MetrePerSecond = Annotated[float, Unit("m/s")]
MetreBitPerSecond = Annotated[float, Unit("m*bit/s")]


def terminated_resistance(terminator: Ohm, count: int) -> Ohm:
    """Reading across the data pair of an unpowered chain.

    Equation: R = R_t / n
    Source: resistors in parallel; two of 120 ohm read 60
    """
    return terminator / count


def terminators_read(reading: Ohm, terminator: Ohm) -> Number:
    """How many terminators a reading speaks of.

    Equation: n = R_t / R, to the nearest whole
    Source: resistors in parallel
    """
    return float(round(float(terminator / reading)))


def longest_stub(rise_time: Second, velocity: Ratio, share: Ratio = 0.1, light: MetrePerSecond = 3e8) -> Metre:
    """Longest stub whose delay stays under a tenth of the driver's rise time.

    Equation: L = 0.1 t_r v c
    Source: RS-485 transceiver data sheets (rule); equation from memory
    """
    return share * rise_time * velocity * light


def shared_tap(single: Metre, shared: Metre, taps: int) -> Metre:
    """Longest tap where several leave one box.

    Equation: l = min(l_1, L / n)
    Source: Modbus over serial line V1.02 (20 m one tap, 40 m shared)
    """
    return min(single, shared / taps)


def longest_rs485(bit_rate: BitPerSecond, most: Metre = 1200.0, product: MetreBitPerSecond = 1e8) -> Metre:
    """Longest RS-485 bus at a bit rate.

    Equation: L = min(1200 m, 1e8 m bit/s / rate)
    Source: TIA-485 application guides (4000 ft; the product from memory)
    """
    return min(most, product / bit_rate)
