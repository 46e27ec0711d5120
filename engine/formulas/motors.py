"""What motors draw while they start."""

from __future__ import annotations

from collections.abc import Sequence

from engine.quantities import Ampere, Number, Ratio, VoltAmpere


def start_power(running: VoltAmpere, multiple: Number) -> VoltAmpere:
    """Apparent power of a machine at the moment it starts, at its full voltage.

    Equation: S_start = k S
    Source: IEC 60034-12 (locked rotor); k = 6 where nothing is known, as for unmarked motor-compressors
    Range: linear, no error; what the source gives below full voltage is less.

    >>> start_power(1000, 6)
    6000
    """
    return multiple * running


def line_line_start(apparent: VoltAmpere) -> VoltAmpere:
    """What each of two phases of a three-phase set gives to a machine that starts between them.

    Equation: S_1 = S_2 = S / sqrt(3)
    Source: the line current S / (sqrt(3) U) at the phase voltage U
    Range: three-phase sets only; linear, no error.

    >>> round(line_line_start(3000), 1)
    1732.1
    """
    return apparent / 3**0.5


def per_phase(apparent: VoltAmpere, phases: int) -> VoltAmpere:
    """Part of a balanced load that each phase carries.

    Equation: S_phase = S / phases
    Source: symmetry
    Range: at least one phase; ZeroDivisionError where there is none.

    >>> per_phase(9000, 3)
    3000.0
    """
    return apparent / phases


def black_start(rest: Ampere, starts: Sequence[Ampere]) -> Ampere:
    """Current after a black start: all motors restart at once on top of what else runs.

    Equation: I = I_rest + sum I_start,i
    Source: common practice, no source; added arithmetically, which is the safe bound
    Range: magnitudes; linear, no error; no start gives the rest.

    >>> black_start(20, [60, 30])
    110
    """
    return rest + sum(starts)


def interpolated(at: Ratio, places: Sequence[Ratio], values: Sequence[Ratio]) -> Ratio:
    """Value of a curve given by points in ascending order; beyond its ends, that of the end.

    Equation: y = y0 + (y1 - y0) (x - x0) / (x1 - x0)
    Source: linear interpolation
    Range: as many values as places, else ValueError; places that ascend, at least one, else IndexError.

    >>> interpolated(0.5, [0, 1], [10, 20])
    15.0
    """
    if at <= places[0]:
        return values[0]
    for (x0, y0), (x1, y1) in zip(zip(places, values, strict=True), zip(places[1:], values[1:], strict=True), strict=False):
        if at <= x1:
            return y0 + (y1 - y0) * (at - x0) / (x1 - x0)
    return values[-1]
