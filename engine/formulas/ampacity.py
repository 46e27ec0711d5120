"""What a conductor may carry where it lies, and what its neutral carries."""

from __future__ import annotations

from collections.abc import Sequence

from engine.formulas._root import root
from engine.quantities import Ampere, Kelvin, Ratio, Watt


def derated_ampacity(table: Ampere, ambient: Ratio, grouping: Ratio, *, harmonic: Ratio = 1.0, parallel: int = 1) -> Ampere:
    """Current-carrying capacity of a pole where it lies: n like conductors, each with every factor.

    Equation: Iz = n I_table k_ambient k_grouping k_harmonic
    Source: IEC 60364-5-52 523.5, 524.1 and annex E; NFPA 70 (NEC) 310.15(B) and (C)
    Range: factors above 0, n at least 1; below that the result has no meaning.

    >>> derated_ampacity(100, 0.88, 0.8)
    70.4
    """
    return parallel * table * ambient * grouping * harmonic


def triplen_neutral(line: Ampere, third_harmonic: Ratio) -> Ampere:
    """Neutral current of a balanced three-phase circuit whose line current holds third harmonic: it adds.

    Equation: I_N = 3 h3 I_line
    Source: IEC 60364-5-52 annex E
    Range: h3 from 0 to 1, balanced lines; linear, no error.

    >>> triplen_neutral(40, 0.5)
    60.0
    """
    return 3 * third_harmonic * line


def harmonic_design_current(line: Ampere, neutral: Ampere, factor: Ratio, selects: str) -> Ampere:
    """Current the table must show, before the other factors, where the third harmonic counts.

    Equation: I = I_selecting / k_harmonic, selecting = line or neutral by the table of annex E
    Source: IEC 60364-5-52 annex E
    Range: k above 0; ZeroDivisionError where it is 0, KeyError where `selects` is neither "line" nor "neutral".

    >>> harmonic_design_current(40, 60, 0.8, "neutral")
    75.0
    """
    return {"line": line, "neutral": neutral}[selects] / factor


def weighted_harmonic(shares: Sequence[Ratio], powers: Sequence[Watt]) -> Ratio:
    """Third-harmonic share of a circuit from those of its loads, weighted by their power.

    Equation: h3 = sum(h3_i P_i) / sum(P_i)
    Source: common practice, no source; the harmonics are taken in step, which errs high
    Range: as many shares as powers, else ValueError; ZeroDivisionError where the powers add to 0.

    >>> weighted_harmonic([0.0, 0.6], [3000, 1000])
    0.15
    """
    return sum(share * power for share, power in zip(shares, powers, strict=True)) / sum(powers)


def cooler_factor(terminal: Kelvin, limit: Kelvin, ambient: Kelvin = 303.15) -> Ratio:
    """Share of a table's current at which a conductor gets no hotter than its terminal stands.

    Equation: k = sqrt((t_terminal - t_ambient) / (t_limit - t_ambient))
    Source: the temperature rise goes with the square of the current; IEC 60364-5-52 523.1 note
    Range: t_ambient not above t_terminal and below t_limit, else ValueError; above 1 for a terminal that stands more than the table's limit.

    >>> round(cooler_factor(313.15, 343.15), 6)
    0.5
    """
    if terminal < ambient or limit <= ambient:
        raise ValueError("surroundings as hot as the terminal or the limit leave no rise")
    return root((terminal - ambient) / (limit - ambient))
