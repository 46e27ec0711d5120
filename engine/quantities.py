"""Numbers with units: how text becomes an SI float, and how an SI float becomes text.

A regular expression reads the number and a closed list of spellings reads the unit. A spelling that the list
lacks ("12 yd") is looked up, word by word, in pint's registry of our own unit file. So "4,2 m" is 4.2 m,
"5 kW * 2" is refused, and kVA is never kW.
Inside the engine every quantity is a float in the unit that its alias names (`Ampere`, `Metre`…).
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import field
from functools import cache, lru_cache
from itertools import product
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from engine.frozen import dataclass

if TYPE_CHECKING:
    import pint


@dataclass(frozen=True)
class Unit:
    """Marks a float with the unit it is counted in, in pint's spelling."""

    name: str


Metre = Annotated[float, Unit("m")]
SquareMetre = Annotated[float, Unit("m**2")]
OpeningArea = Annotated[float, Unit("m*m")]  # the same, but people write an opening in cm2
Second = Annotated[float, Unit("s")]
Kelvin = Annotated[float, Unit("K")]
PerKelvin = Annotated[float, Unit("1/K")]
Ampere = Annotated[float, Unit("A")]
Volt = Annotated[float, Unit("V")]
VoltPerKelvin = Annotated[float, Unit("V/K")]
Ohm = Annotated[float, Unit("ohm")]
OhmPerMetre = Annotated[float, Unit("ohm/m")]
Watt = Annotated[float, Unit("W")]
VoltAmpere = Annotated[float, Unit("VA")]
Var = Annotated[float, Unit("var")]
Joule = Annotated[float, Unit("J")]
JoulePerDay = Annotated[float, Unit("J/d")]
Coulomb = Annotated[float, Unit("C")]
Farad = Annotated[float, Unit("F")]
PerSecond = Annotated[float, Unit("1/s")]
BitPerSecond = Annotated[float, Unit("bit/s")]
CubicMetrePerSecond = Annotated[float, Unit("m**3/s")]
AmpereSquaredSecond = Annotated[float, Unit("A**2*s")]
Number = Annotated[float, Unit("1")]
Ratio = Annotated[float, Unit("ratio")]
Radian = Annotated[float, Unit("radian")]


@cache
def registry() -> pint.UnitRegistry[float]:
    """The one pint registry, built on first use from our own unit file."""
    import pint

    path = Path(__file__).with_name("units.txt")
    return pint.UnitRegistry(path.read_text(encoding="utf-8").splitlines(), cache_folder=None)


# Factor and offset that carry each unit to SI base units. pint and our unit file are their judge (a test holds every
# one to them); a plan of the usual spellings is made without paying for pint's import, which is dearer than all its sums.
_PREFIXES = {"u": 1e-6, "m": 1e-3, "c": 1e-2, "k": 1e3, "M": 1e6}
_SCALES: dict[str, tuple[float, float]] = {
    **dict.fromkeys(
        (
            "m",
            "s",
            "A",
            "V",
            "W",
            "VA",
            "var",
            "ohm",
            "F",
            "C",
            "Hz",
            "K",
            "kg",
            "J",
            "1",
            "ratio",
            "bit/s",
            "N*m",
            "1/K",
            "m**2",
            "A**2*s",
        ),
        (1.0, 0.0),
    ),
    **{
        prefix + unit: (_PREFIXES[prefix], 0.0)
        for unit, prefixes in {
            "m": "mck",
            "s": "m",
            "A": "mk",
            "V": "mk",
            "W": "kM",
            "VA": "kM",
            "ohm": "umkM",
            "F": "um",
            "bit/s": "kM",
        }.items()
        for prefix in prefixes
    },
    "g": (1e-3, 0.0),
    "lb": (0.45359237, 0.0),
    "ft": (0.3048, 0.0),
    "inch": (0.0254, 0.0),
    "min": (60.0, 0.0),
    "hp": (550 * 0.3048 * 4.4482216152605, 0.0),
    "h": (3600.0, 0.0),
    "percent": (0.01, 0.0),
    "percent/K": (0.01, 0.0),
    "degC": (1.0, 273.15),
    "degF": (5 / 9, 233.15 + 200 / 9),
    "A*h": (3600.0, 0.0),
    "kA*h": (3.6e6, 0.0),
    "J/d": (1 / 86_400, 0.0),
    "W*h/d": (1 / 24, 0.0),
    "kW*h/d": (1000 / 24, 0.0),
    "MW*h/d": (1e6 / 24, 0.0),
    "lbf*ft": (4.4482216152605 * 0.3048, 0.0),
    "lbf*inch": (4.4482216152605 * 0.0254, 0.0),
    "mm**2": (1e-6, 0.0),
    "ohm/km": (1e-3, 0.0),
    "ohm/kft": (1 / 304.8, 0.0),
    "mohm/m": (1e-3, 0.0),
    "mV/K": (1e-3, 0.0),
    "mA/(A*h)": (1e-3 / 3600, 0.0),
    "ohm*mm**2/m": (1e-6, 0.0),
    "A*s**0.5/mm**2": (1e6, 0.0),
}


@cache
def scale(unit: str) -> tuple[float, float]:
    """Factor and offset that carry a value in `unit` (pint's spelling) to SI base units."""
    if unit in _SCALES:
        return _SCALES[unit]
    zero, one = (registry().Quantity(value, unit).to_base_units().magnitude for value in (0.0, 1.0))
    return one - zero, zero


class Refused(ValueError):
    """A text that does not read as the quantity wanted; the message says what would."""


@dataclass(frozen=True, eq=False)
class Kind:
    """One kind of quantity a person may type.

    `unit` is the SI unit of the float, `spellings` maps what may be typed to pint's name for it,
    `least`/`most` bound what is sensible (in `unit`), `above` excludes the lower bound itself.
    `bare` allows a number without a unit.
    """

    name: str
    unit: str
    spellings: Mapping[str, str]
    example: str
    least: float = 0.0
    most: float = math.inf
    above: bool = False
    bare: bool = False

    @property
    def wanted(self) -> str:
        """What a person may write, for messages and help."""
        units = ", ".join(self.spellings)
        if self.bare:
            return f"a plain number such as {self.example}" + (f" (or with {units})" if units else "")
        return f"a number with one of: {units} (for example {self.example!r})"

    @property
    def refusal(self) -> str:
        """The same to somebody whose unit was refused: units that are not listed are looked up by their name."""
        return f"wanted {self.wanted}" + ("; other units are looked up by name" if self.spellings and not self.bare else "")


_LENGTH = {"m": "m", "mm": "mm", "cm": "cm", "km": "km", "ft": "ft", "in": "inch"}
_VOLT = {"V": "V", "kV": "kV", "mV": "mV"}
_AMP = {"A": "A", "kA": "kA", "mA": "mA"}
_SHARE = {"%": "percent"}

KINDS: Mapping[str, Kind] = {
    k.name: k
    for k in (
        Kind("length", "m", _LENGTH, "2.4 m", most=10_000),
        Kind("altitude", "m", {"m": "m", "ft": "ft"}, "200 m", least=-500, most=9_000),
        Kind(
            "temperature",
            "K",
            {"degC": "degC", "°C": "degC", "C": "degC", "degF": "degF", "°F": "degF", "F": "degF", "K": "K"},
            "40 degC",
            least=173.15,
            most=473.15,
        ),
        Kind("voltage", "V", _VOLT, "230 V", above=True, most=2_000),
        Kind("current", "A", _AMP, "63 A", above=True, most=10_000),
        Kind("fault", "A", _AMP, "6 kA", above=True, most=500_000),
        Kind("power", "W", {"W": "W", "kW": "kW", "MW": "MW", "hp": "hp"}, "2.2 kW", most=10e6),
        Kind("apparent power", "VA", {"VA": "VA", "kVA": "kVA", "MVA": "MVA"}, "5 kVA", above=True, most=10e6),
        # Makers print short-time power in kW or kVA and mean the current behind it: both read as VA.
        Kind("surge power", "VA", {"W": "W", "kW": "kW", "VA": "VA", "kVA": "kVA"}, "10 kW", above=True, most=10e6),
        Kind("time", "s", {"s": "s", "ms": "ms", "min": "min", "h": "h"}, "10 s", most=86_400 * 31),
        Kind("frequency", "Hz", {"Hz": "Hz"}, "50 Hz", least=40, most=70),
        Kind(
            "energy per day",
            "J/d",
            {"kWh/day": "kW*h/d", "Wh/day": "W*h/d", "MWh/day": "MW*h/d", "kWh/d": "kW*h/d"},
            "4 kWh/day",
            most=3.6e13,
        ),
        Kind("capacity", "C", {"Ah": "A*h", "kAh": "kA*h"}, "100 Ah", above=True, most=3.6e8),
        Kind(
            "resistance",
            "ohm",
            {
                "ohm": "ohm",
                "mohm": "mohm",
                "uohm": "uohm",
                "Ω": "ohm",
                "mΩ": "mohm",
                "µΩ": "uohm",
                "kΩ": "kohm",
                "kohm": "kohm",
                "MΩ": "Mohm",
                "Mohm": "Mohm",
            },
            "12 mohm",
            most=1e9,
        ),
        Kind("capacitance", "F", {"mF": "mF", "uF": "uF", "µF": "uF", "F": "F"}, "20 mF", above=True, most=10),
        Kind("mass", "kg", {"kg": "kg", "g": "g", "lb": "lb"}, "28 kg", above=True, most=10_000),
        Kind(
            "torque",
            "N*m",
            {"N m": "N*m", "Nm": "N*m", "lbf in": "lbf*inch", "lbf ft": "lbf*ft", "in-lb": "lbf*inch", "ft-lb": "lbf*ft"},
            "9 N m",
            above=True,
            most=1_000,
        ),
        Kind("bit rate", "bit/s", {"bit/s": "bit/s", "kbit/s": "kbit/s", "Mbit/s": "Mbit/s"}, "500 kbit/s", above=True, most=1e9),
        Kind("coefficient", "1/K", {"%/K": "percent/K", "%/degC": "percent/K", "%/°C": "percent/K"}, "-0.27 %/K", least=-0.02, most=0.02),
        Kind("share", "ratio", _SHARE, "80 %", most=1.0),
        Kind("limit", "ratio", _SHARE, "2 %", most=0.25, above=True),
        Kind("ratio", "ratio", _SHARE, "0.93", most=1.0, bare=True, above=True),
        Kind("demand", "ratio", _SHARE, "0.6", most=1.0, bare=True),
        Kind("power factor", "1", {}, "0.85", most=1.0, bare=True, above=True),
        Kind("number", "1", {}, "6", most=1_000, bare=True),
    )
}

NUMBER = r"[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][+-]?[0-9]{1,3})?"
_NUMBER = re.compile(rf"({NUMBER})\s*(.*)", re.DOTALL)


def number(text: str) -> tuple[float, str]:
    """The number a text opens with and what follows it; a comma is a decimal comma."""
    found = _NUMBER.fullmatch(text.strip())
    told = repr(_short(text.strip()))
    if not found:
        raise Refused(f"{told} does not begin with a number")
    digits, rest = found.groups()
    if re.fullmatch(r"[+-]?[1-9]\d{0,2},\d{3}", digits):
        whole, part = digits.split(",")
        raise Refused(f"{told} may mean {whole}{part} or {whole}.{part}: write it without the comma, or with a point")
    if "," in rest and re.match(r"[.,]?\d", rest):
        raise Refused(f"{told} has more than one decimal mark")
    return float(digits.replace(",", ".")), rest.strip()


def read(kind: Kind, text: str | float) -> float:
    """A typed value as an SI float in `kind.unit`.

    Raises `Refused` with what was wanted: no unit, a wrong unit, arithmetic, nan, infinity,
    a sign or a size that the kind does not allow.
    """
    if isinstance(text, bool):
        raise Refused(f"found {str(text).lower()}; wanted {kind.wanted}")
    if isinstance(text, int | float):
        value, spelling = float(text), ""
        if not math.isfinite(value):
            raise Refused(f"found {text}; wanted {kind.wanted}")
    else:
        try:
            value, spelling = number(text)
        except Refused as problem:
            raise Refused(f"{problem}; wanted {kind.wanted}") from None
    if not spelling:
        if not kind.bare:
            raise Refused(f"the number {_short(str(text))} has no unit; {kind.refusal}")
    else:
        value = _carried(kind, value, kind.spellings.get(spelling) or _looked_up(kind, value, spelling))
    if not _within(kind, value):
        low = f"above {shown(kind.least, kind.unit)}" if kind.above else f"at least {shown(kind.least, kind.unit)}"
        high = "" if math.isinf(kind.most) else f" and at most {shown(kind.most, kind.unit)}"
        raise Refused(f"{_short(str(text))!r} is out of range for {kind.name}: {low}{high}")
    return value


def _carried(kind: Kind, value: float, unit: str) -> float:
    """A value in a unit as the kind counts it."""
    factor, offset = scale(unit)
    return rounded((value * factor + offset) / scale(kind.unit)[0])


def _within(kind: Kind, value: float) -> bool:
    return math.isfinite(value) and kind.least <= value <= kind.most and not (kind.above and value == kind.least)


# Units that mean several things: a person who writes one must say which.
_SEVERAL = {
    "C": "degrees, coulombs or a rate of charging",
    "cal": "4.184 J or 4184 J",
    "deg": "degC, degF or an angle",
    "hp": "745.7 W or 735.5 W",
    "mil": "a thousandth of an inch or a millimetre",
    "month": "28 to 31 days",
    "oz": "a mass, a force or a volume",
    "pt": "a volume or a length",
    "ton": "1000 kg, 2000 lb or 2240 lb",
}
# Words of letters and signs of units, with one stroke at most: no digit, bracket or power, so nothing to reckon.
_WORD = "[A-Za-zµΩ°%]+"
_WORDS = re.compile(rf"{_WORD}(?:[ ·-]{_WORD})*(?:/{_WORD})?")
_LONGEST = 40  # characters of a unit
_APART = ("apparent", "reactive", "data", "share")  # groups of our unit file that share a dimension with others


def _looked_up(kind: Kind, value: float, spelling: str) -> str:
    """A unit that the closed list lacks, in pint's spelling. Raises `Refused` where it is of another kind, or might be another."""
    usual = re.sub(r" ?([/·]) ?", r"\1", " ".join(unicodedata.normalize("NFKC", spelling).split()))
    usual = usual.translate({0x3BC: "µ", 0x22C5: "·"})
    if usual in kind.spellings:
        return kind.spellings[usual]
    # The cheap reasons first: what is plainly no unit costs nobody pint's import.
    wrong, wanted = f"{_short(spelling)!r} is not a unit of {kind.name}", kind.refusal
    if slip := next((listed for listed in kind.spellings if listed.lower() == usual.lower()), None):
        raise Refused(f"{wrong}, {slip!r} is; {wanted}")
    words = re.split("[ ·/-]", usual)
    if several := next((word for word in words if word.removesuffix("s") in _SEVERAL), None):
        raise Refused(f"{several!r} may mean {_SEVERAL[several.removesuffix('s')]}; {wanted}")
    if not kind.spellings or len(usual) > _LONGEST or not _WORDS.fullmatch(usual):
        raise Refused(f"{wrong}; {wanted}")
    forms = {_form(unit) for unit in (kind.unit, *kind.spellings.values())}
    exact = [unit for unit in _meanings(usual) if _form(unit) in forms]
    if not exact:
        raise Refused(f"{wrong}; {wanted}")
    # mAh is clear though MAh would be a unit too: nobody has so much. mg is not, for Mg is the weight of a machine.
    others = (unit for unit in _meanings(usual, case=False) if _form(unit) in forms and _within(kind, _carried(kind, value, unit)))
    if len({scale(unit) for unit in (*exact, *others)}) > 1:
        raise Refused(f"{_short(spelling)!r} may mean another unit with its letters in the other case: write its name in full; {wanted}")
    return exact[0]


def _meanings(spelling: str, *, case: bool = True) -> Iterator[str]:
    """What a unit of one or several words may be, in pint's spelling; without `case`, with its letters in any case."""
    above, _, below = spelling.partition("/")
    words = re.split("[ ·-]", above)
    alone = len(words) == 1 and not below
    for names in product(*(_readings(word, case) for word in (*words, *([below] if below else [])))):
        # Beside another unit a temperature is a difference.
        told = names if alone else tuple(f"delta_{name}" if name.startswith("degree_") else name for name in names)
        yield "*".join(told[: len(words)]) + (f"/{told[-1]}" if below else "")


@cache
def _readings(word: str, case: bool) -> tuple[str, ...]:
    """What a word may be, in pint's spelling. Customary units and shares take no prefix: "cd" is no hundredth of a day."""
    spelled = {word} if case else {word, word[0].swapcase() + word[1:]}
    found = {
        prefix + unit
        for spelling in spelled
        for prefix, unit, _ in registry().parse_unit_name(spelling, case)
        if not (prefix and unit in _members("customary") | _members("share"))
    }
    return tuple(sorted(found))


def _members(group: str) -> frozenset[str]:
    """The units of a group of our unit file."""
    return registry().get_group(group, create_if_needed=False).members


@cache
def _form(unit: str) -> tuple[tuple[str, int], ...]:
    """What a unit is built of: what each factor measures, and whether it stands above or below the stroke."""
    above, _, below = unit.partition("/")
    factors = [(_measures(name), 1) for name in above.split("*") if name != "1"]
    return tuple(sorted([*factors, (_measures(below), -1)] if below else factors))


def _measures(name: str) -> str:
    """The dimension of one unit, or its group where that keeps it apart."""
    plain = registry().parse_unit_name(name)[0][1]
    return next((group for group in _APART if plain in _members(group)), str(registry().get_dimensionality(plain)))


def _short(text: str) -> str:
    return text if len(text) <= 40 else text[:37] + "..."


def rounded(value: float) -> float:
    """Fifteen significant digits: 35 mm is 0.035 m, not 0.035000000000000003 m."""
    return float(f"{value:.15g}")


@dataclass(frozen=True)
class _Display:
    """How one SI unit is written for people: the steps are (from this size, label, divisor)."""

    steps: tuple[tuple[float, str, float], ...]
    offset: float = 0.0
    digits: int = field(default=4)


_SHOWN: Mapping[str, _Display] = {
    "m": _Display(((0.0, "m", 1.0),)),
    "m**2": _Display(((0.0, "mm2", 1e-6),)),
    "m*m": _Display(((0.0, "cm2", 1e-4),)),
    "s": _Display(((7200.0, "h", 3600.0), (60.0, "min", 60.0), (0.1, "s", 1.0), (0.0, "ms", 1e-3))),
    "K": _Display(((-math.inf, "degC", 1.0),), offset=-273.15),
    "1/K": _Display(((0.0, "%/K", 0.01),)),
    "V/K": _Display(((0.0, "mV/K", 1e-3),)),
    "A": _Display(((1000.0, "kA", 1000.0), (0.0, "A", 1.0))),
    "V": _Display(((0.1, "V", 1.0), (0.0, "mV", 1e-3))),
    "ohm": _Display(((1e6, "Mohm", 1e6), (1e3, "kohm", 1e3), (1.0, "ohm", 1.0), (1e-4, "mohm", 1e-3), (0.0, "uohm", 1e-6))),
    "ohm/m": _Display(((0.0, "mohm/m", 1e-3),)),
    "ohm*m": _Display(((0.0, "ohm mm2/m", 1e-6),)),
    "W": _Display(((1000.0, "kW", 1000.0), (0.0, "W", 1.0))),
    "VA": _Display(((1000.0, "kVA", 1000.0), (0.0, "VA", 1.0))),
    "var": _Display(((1000.0, "kvar", 1000.0), (0.0, "var", 1.0))),
    "J": _Display(((3.6e6, "kWh", 3.6e6), (0.0, "Wh", 3600.0))),
    "J/d": _Display(((0.0, "kWh/day", 3.6e6),)),
    "C": _Display(((0.0, "Ah", 3600.0),)),
    "kg": _Display(((0.0, "kg", 1.0),)),
    "N*m": _Display(((0.0, "N m", 1.0),)),
    "Hz": _Display(((0.0, "Hz", 1.0),)),
    "1/s": _Display(((0.0, "/h", 1 / 3600.0),)),
    "F": _Display(((1e-3, "mF", 1e-3), (0.0, "uF", 1e-6))),
    "bit/s": _Display(((1e6, "Mbit/s", 1e6), (1e3, "kbit/s", 1e3), (0.0, "bit/s", 1.0))),
    "m**3/s": _Display(((0.0, "m3/h", 1 / 3600.0),)),
    "A**2*s": _Display(((1e3, "kA2s", 1e3), (0.0, "A2s", 1.0))),
    "1": _Display(((0.0, "", 1.0),)),
    "ratio": _Display(((0.0, "%", 0.01),)),
    "radian": _Display(((0.0, "rad", 1.0),)),
}


@lru_cache(maxsize=4096)  # like circuits have like figures
def shown(value: float, unit: str, digits: int | None = None, like: float | None = None) -> str:
    """An SI float as people write it: `shown(0.035, "m")` is "0.035 m".

    At most `digits` significant figures (4 unless the unit says otherwise), never an exponent. `like` is a value whose
    step is taken, so that two that are compared come in one: `shown(6000, "s", like=8000)` is "1.667 h".
    """
    if math.isnan(value) or math.isinf(value):
        return "unlimited" if value == math.inf else "unknown"
    display = _SHOWN.get(unit)
    if display is None:
        return f"{_plain(value, digits or 4)} {unit.replace('**', '').replace('*', ' ')}"
    moved = value + display.offset
    size, figures = (moved if like is None else like + display.offset), digits or display.digits
    # 999.96 W is written 1 kW: compare what will be printed, not what is stored.
    printed = float(f"{abs(size):.{figures}g}")
    # Nothing is 0 V, not 0 mV: it takes the unit without a prefix, where there is one. The last step takes whatever is left.
    label, divisor = next(step[1:] for step in display.steps if printed >= step[0] or (size == 0 and step[2] == 1.0))
    return f"{_plain(moved / divisor, figures)} {label}".rstrip()


def _plain(value: float, digits: int) -> str:
    """Significant digits without exponent and without a negative zero."""
    if value == 0 or abs(value) < 1e-12:
        return "0"
    places = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    text = f"{value:.{min(places, 12)}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


# What people under the NEC measure in: pint's name of the unit, and its word.
_CUSTOMARY: Mapping[str, tuple[str, str]] = {"m": ("ft", "ft"), "N*m": ("lbf*inch", "lbf in"), "kg": ("lb", "lb")}


def told(value: float, unit: str, rules: str, *, short: bool = False) -> str:
    """A value as the people of a rule book measure it: under "nec" a length, torque or weight has the customary one behind, "1.83 m (6 ft)".

    `short` leaves the customary one alone, for a narrow column whose sheet tells both elsewhere.
    """
    if rules != "nec" or unit not in _CUSTOMARY or not math.isfinite(value):
        return shown(value, unit)
    name, word = _CUSTOMARY[unit]
    other = value * scale(unit)[0] / scale(name)[0]
    # As it was typed: 6 ft come back as 6 ft, though 1.829 m are a hair more.
    whole = abs(other - round(other)) <= 1e-3 * abs(other)
    customary = f"{other:.0f} {word}" if whole else f"{_plain(other, 3)} {word}" if abs(other) < 10 else f"{other:.1f} {word}"
    own = f"{_plain(round(value, 2), 12)} m" if unit == "m" else shown(value, unit, 3)
    return customary if short else f"{own} ({customary})"
