"""What a conductor may carry where it lies, and what its neutral carries."""

from __future__ import annotations

from collections.abc import Sequence

from engine.quantities import Ampere, Kelvin, Ratio, Watt


def derated_ampacity(table: Ampere, ambient: Ratio, grouping: Ratio, *, harmonic: Ratio = 1.0, parallel: int = 1) -> Ampere:
    """Current-carrying capacity of a pole where it lies: n like conductors, each with every factor.

    Equation: Iz = n I_table k_ambient k_grouping k_harmonic
    Source: IEC 60364-5-52 523.5, 524.1 and annex E; NFPA 70 (NEC) 310.15(B) and (C)
    """
    return parallel * table * ambient * grouping * harmonic


def triplen_neutral(line: Ampere, third_harmonic: Ratio) -> Ampere:
    """Neutral current of a balanced three-phase circuit whose line current holds third harmonic: it adds.

    Equation: I_N = 3 h3 I_line
    Source: IEC 60364-5-52 annex E
    """
    return 3 * third_harmonic * line


def harmonic_design_current(line: Ampere, neutral: Ampere, factor: Ratio, selects: str) -> Ampere:
    """Current the table must show, before the other factors, where the third harmonic counts.

    Equation: I = I_selecting / k_harmonic, selecting = line or neutral by the table of annex E
    Source: IEC 60364-5-52 annex E
    """
    return (neutral if selects == "neutral" else line) / factor


def weighted_harmonic(shares: Sequence[Ratio], powers: Sequence[Watt]) -> Ratio:
    """Third-harmonic share of a circuit from those of its loads, weighted by their power.

    Equation: h3 = sum(h3_i P_i) / sum(P_i)
    Source: common practice, no source; the harmonics are taken in step, which errs high
    """
    return sum(share * power for share, power in zip(shares, powers, strict=True)) / sum(powers)


def cooler_factor(terminal: Kelvin, limit: Kelvin, ambient: Kelvin = 303.15) -> Ratio:
    """Share of a table's current at which a conductor gets no hotter than its terminal stands.

    Equation: k = sqrt((t_terminal - t_ambient) / (t_limit - t_ambient))
    Source: the temperature rise goes with the square of the current; IEC 60364-5-52 523.1 note
    """
    factor: float = ((terminal - ambient) / (limit - ambient)) ** 0.5
    return factor
