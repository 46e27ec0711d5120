"""Quantities as they are typed on site: a bare number takes the question's unit, a unit is known whatever the case of its letters.

This is the interview's reading alone. What it makes of a text stands in the file with its unit, and means there what it says.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path

from engine.frozen import dataclass
from engine.quantities import KINDS, NUMBER, Refused, number, scale
from engine.site.kinds import Reads, ReadsWith, parse, unit_of
from engine.tables import Cell, table
from engine.text import clean

_BEGINS = re.compile(NUMBER)
_GAUGE = re.compile(r"(?:awg)? *(\d{1,2}(?:/0)?) *(?:awg)?", re.IGNORECASE)
_METRIC = re.compile(r"(?:sq ?|q)?mm ?\^?2?", re.IGNORECASE)
_KCMIL = re.compile(r"(\d{3,4}) *(kcmil|mcm)?", re.IGNORECASE)
_MM2 = 1e-6  # m²


class Implausible(Refused):
    """A bare number that an answer hardly ever is in its unit; with its unit behind it, it is believed."""


@dataclass(frozen=True)
class Amount:
    """A quantity as it is asked: what reads it, the `unit` that a bare number takes ("" for a plain number), a usual example.

    `plausible` is its least and its most in SI, None where they cannot be told: a bare number outside is asked about.
    """

    mark: Reads | ReadsWith
    unit: str = ""
    example: str = ""
    plausible: tuple[float, float] | None = None

    @property
    def spellings(self) -> Mapping[str, str]:
        """The units that may be typed, each with its name; none for the size of a conductor, which is read by a table."""
        if isinstance(self.mark, Reads):
            return self.mark.kind.spellings
        return KINDS["current"].spellings if self.mark.unit == "A" else {}

    @property
    def others(self) -> tuple[str, ...]:
        """The other units that may be typed, each once, as it is usually spelled."""
        names = dict.fromkeys(self.spellings.values())
        return tuple(self.spelled(name) for name in names if name != self.spellings.get(self.unit))

    def spelled(self, name: str) -> str:
        """The usual spelling of a unit: the first in letters that every keyboard has."""
        return next(spelled for spelled, meant in self.spellings.items() if meant == name and spelled.isascii())

    @property
    def size(self) -> bool:
        """Whether it is the size of a conductor."""
        return unit_of(self.mark) == "m**2"

    def si(self, value: float, unit: str) -> float:
        """A value in one of the units that may be typed, in SI; a plain number as it is, a size in mm2."""
        if self.size:
            return value * _MM2
        if not unit:
            return value
        factor, offset = scale(self.spellings[unit])
        return (value * factor + offset) / scale(unit_of(self.mark))[0]

    def believed(self, value: float) -> bool:
        """Whether a bare number that is so much in SI is believed. Nothing is nothing in every unit."""
        return self.plausible is None or value == 0 or self.plausible[0] * (1 - 1e-9) <= value <= self.plausible[1] * (1 + 1e-9)


def amount(key: str, mark: Reads | ReadsWith, rules: str) -> Amount:
    """A key's quantity under "iec" or "nec", with its unit and what is usual."""
    row = _rows().get(re.sub(r"\[\d+\]", "[]", key))
    if row is None:
        return Amount(mark)
    american = rules == "nec"
    unit = str(row["unit"] or "")
    own = str(american and row["nec"] or unit)
    example = f"{american and row['nec_example'] or row['example']} {own}".strip()
    plain, ends = Amount(mark, unit), (row["low"], row["high"])
    if ends == (None, None):
        return Amount(mark, own, example)
    least, most = (plain.si(end, unit) if isinstance(end, float) else None for end in ends)
    return Amount(mark, own, example, (-math.inf if least is None else least, math.inf if most is None else most))


@cache
def _rows() -> Mapping[str, Mapping[str, Cell]]:
    return {str(row["key"]): row for row in table("usual", Path(__file__).parent).rows}


def typed(asked: Amount, text: str) -> str | float:
    """A typed quantity as it stands in the file: `"5kw"` as "5 kW", `"50"` with its unit, ".5" as 0.5 where a plain number is wanted.

    Raises `Refused` where the number cannot be read or its unit may mean two things, `Implausible` for a bare number that is hardly ever
    meant. What else is wrong with it, the model says.
    """
    text = _usual_letters(text)
    if asked.size and (size := _gauge(asked, text)):
        return size
    begins = _BEGINS.match(text)
    if not begins:
        return text
    value, rest = number(text)
    digits = _digits(begins[0])
    if rest:
        return f"{digits} {_unit(asked, value, rest)}"
    if not math.isfinite(value):
        raise Refused(f"{clean(text, 40)!r} is no number that anything has")
    if asked.unit == "%" and _plain(asked.mark) and not asked.believed(asked.si(value, "%")) and asked.believed(value):
        return f"{value * 100:.12g} %"  # a file may hold this share as a plain number, and 0.93 % is none
    if not asked.believed(asked.si(value, asked.unit)):
        raise Implausible(_doubt(asked, value, digits))
    if asked.unit:
        return f"{digits} {asked.unit}"
    return int(digits) if re.fullmatch(r"-?\d+", digits) else value


def _plain(mark: Reads | ReadsWith) -> bool:
    """Whether a file may hold it without a unit."""
    return isinstance(mark, Reads) and mark.kind.bare


def _usual_letters(text: str) -> str:
    """Micro, ohm, degrees and squares in the letters that a file has; every blank a plain one."""
    text = " ".join(unicodedata.normalize("NFKC", text).split())
    return text.translate({0x3BC: "µ", 0x2212: "-", 0x2013: "-"})


def _digits(number: str) -> str:
    """A number without a comma, a plus, a bare point or idle zeros: ".5" is 0.5, "0,50" is 0.50."""
    number = re.sub(r"\.(?=[eE]|$)", "", number.replace(",", ".").lstrip("+"))
    return re.sub(r"^(-?)0+(?=\d)", r"\1", re.sub(r"^(-?)\.", r"\g<1>0.", number))


def _gauge(asked: Amount, text: str) -> str | None:
    """A size by gauge or in kcmil, as it is spelled; a bare number is one where the rules count in them."""
    american = asked.unit == "AWG"
    if (found := _KCMIL.fullmatch(text)) and (american or found[2]):
        return f"{found[1]} kcmil"
    found = _GAUGE.fullmatch(text)
    if not found or not (american or "/" in text or "awg" in text.lower()):
        return None
    size = f"{found[1]} AWG"
    if text == found[1] and "/" not in text and not asked.believed(parse(asked.mark, size)):
        raise Implausible(f'{size} is unusual here: type "{text} mm2" or "{size}"')
    return size


def _unit(asked: Amount, value: float, typed: str) -> str:
    """A typed unit as it is spelled; as typed where it is none that is usual here.

    Letters of the wrong case and missing blanks are understood where they can mean one thing only. An m that may be a thousandth or a
    million is what is plausible here, or nothing.
    """
    if asked.size:
        return "mm2" if _METRIC.fullmatch(typed) else typed
    if typed in asked.spellings:
        return typed
    meant = dict(_meanings(asked, _folded(typed)))
    if len(meant) > 1:
        kept = [spelled for spelled, size in meant.items() if asked.plausible and asked.believed(value * size) and value]
        if len(kept) != 1 or kept[0] not in asked.spellings:
            raise Refused(f"{clean(typed, 20)!r} may mean {' or '.join(meant)}: write it with the right letters")
        meant = {kept[0]: 1.0}
    return next(iter(meant), typed)


def _meanings(asked: Amount, folded: str) -> Iterator[tuple[str, float]]:
    """The units that letters of any case may mean, each once, with the SI value of one of it."""
    seen = set()
    for spelled, name in asked.spellings.items():
        if folded not in (_folded(spelled), _folded(spelled.partition("/")[0])) or name in seen:
            continue
        seen.add(name)
        one = asked.si(1.0, spelled)
        yield asked.spelled(name), one
        other = {"m": "M", "M": "m"}.get(spelled[0], "")
        if other and spelled[1:] in asked.spellings and f"{other}{spelled[1:]}" not in asked.spellings:
            yield f"{other}{spelled[1:]}", one * (1e9 if other == "M" else 1e-9)


def _folded(unit: str) -> str:
    return unit.replace(" ", "").replace("-", "").casefold()


def _doubt(asked: Amount, value: float, digits: str) -> str:
    """What is asked of a bare number that is hardly ever meant: what would be usual comes first, then what it says."""
    usual = [f"{digits} {unit}" for unit in asked.others if asked.believed(asked.si(value, unit))]
    if asked.unit == "%" and asked.believed(value):
        usual.append(f"{value * 100:.6g} %")
    if asked.believed(asked.si(-value, asked.unit)):
        usual.append(f"-{digits} {asked.unit}")
    own = f"{digits} {asked.unit}" if asked.unit else f"{value * 100:.6g} %"
    told = [f'"{text}"' for text in (*usual[:2], own) if _reads(asked, text)]
    return f"{digits} {asked.unit}".rstrip() + " is unusual here" + (f": type {' or '.join(told)}" if told else "; look again")


def _reads(asked: Amount, text: str) -> bool:
    try:
        parse(asked.mark, text)
    except Refused:
        return False
    return True
