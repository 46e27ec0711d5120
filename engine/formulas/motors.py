"""What motors draw while they start."""

from __future__ import annotations

from collections.abc import Sequence

from engine.quantities import Ampere, Number, Ratio, VoltAmpere


def start_power(running: VoltAmpere, multiple: Number) -> VoltAmpere:
    """Apparent power of a machine at the moment it starts, at its full voltage.

    Equation: S_start = k S
    Source: IEC 60034-12 (locked rotor); k = 6 where nothing is known, as for unmarked motor-compressors
    """
    return multiple * running


def line_line_start(apparent: VoltAmpere) -> VoltAmpere:
    """What each of two phases of a three-phase set gives to a machine that starts between them.

    Equation: S_1 = S_2 = S / sqrt(3)
    Source: the line current S / (sqrt(3) U) at the phase voltage U
    """
    return apparent / 3**0.5


def per_phase(apparent: VoltAmpere, phases: int) -> VoltAmpere:
    """Part of a balanced load that each phase carries.

    Equation: S_phase = S / phases
    Source: symmetry
    """
    return apparent / phases


def black_start(rest: Ampere, starts: Sequence[Ampere]) -> Ampere:
    """Current after a black start: all motors restart at once on top of what else runs.

    Equation: I = I_rest + sum I_start,i
    Source: common practice, no source; added arithmetically, which is the safe bound
    """
    return rest + sum(starts)


def interpolated(at: Ratio, places: Sequence[Ratio], values: Sequence[Ratio]) -> Ratio:
    """Value of a curve given by points in ascending order; beyond its ends, that of the end.

    Equation: y = y0 + (y1 - y0) (x - x0) / (x1 - x0)
    Source: linear interpolation
    """
    if at <= places[0]:
        return values[0]
    for (x0, y0), (x1, y1) in zip(zip(places, values, strict=True), zip(places[1:], values[1:], strict=True), strict=False):
        if at <= x1:
            return y0 + (y1 - y0) * (at - x0) / (x1 - x0)
    return values[-1]
