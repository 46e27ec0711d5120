"""A second reckoning of a plan, by the published tables alone: what holds of every conductor, device, bank, string and link.

Nothing of the engine is called here. The figures come from the tables that `tests/published/conductors.toml` holds, each with
its source, and from the answers; what the plan says is read off its rows as people read them. A limit that is broken is a
`Broken` with the codes of the findings that may say so: a plan that has none of them is wrong.
"""

from __future__ import annotations

import cmath
import math
import tomllib
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

_TABLES = Path(__file__).parents[1] / "published" / "conductors.toml"
# A row of the plan shows four digits.
_NEAR = 1.002
_LINES = {"single-phase": ("L1",), "split-phase": ("L1", "L2"), "three-phase": ("L1", "L2", "L3")}
_UNITS = {"A": 1, "kA": 1e3, "V": 1, "mV": 1e-3, "kV": 1e3, "m": 1, "mm": 1e-3, "km": 1e3, "%": 0.01, "W": 1, "kW": 1e3, "MW": 1e6, "VA": 1, "kVA": 1e3, "MVA": 1e6, "var": 1, "kvar": 1e3,
          "mm2": 1, "mA": 1e-3, "mvar": 1e-3, "mVA": 1e-3, "mW": 1e-3, "Mvar": 1e6}


@dataclass(frozen=True)
class Broken:
    """A limit that does not hold: of what kind, of what, in words; `told_by` are the codes of the findings that may say so."""

    kind: str
    text: str
    told_by: tuple[str, ...] = ()


@cache
def _table(name: str) -> list[dict[str, Any]]:
    found = next(entry for entry in tomllib.loads(_TABLES.read_text(encoding="utf-8"))["table"] if entry["id"] == name)
    return [dict(zip(found["columns"], row, strict=True)) for row in found["rows"]]


def si(text: str | None) -> float | None:
    """A quantity of a plan as a number: "1.2 kA" is 1200, "35 mm2" is 35, "12 AWG" its square millimetres."""
    if text is None:
        return None
    number, _, unit = text.partition(" ")
    return _awg(number) if unit in ("AWG", "kcmil") else float(number) * _UNITS[unit]


@cache
def _awg(name: str) -> float:
    """Area of an American size: ASTM B258; a kcmil is 0.506707 mm²."""
    row = next((row for row in _table("awg_solid_20c") if row["awg"] == name), None)
    return row["area_mm2"] if row else float(name) * 0.506707


def _row(name: str, column: str, value: float) -> dict[str, Any] | None:
    """The first row whose column is not below a value: between two rows the next one up."""
    return next((row for row in _table(name) if row[column] >= value * (1 - 1e-6)), None)


# --- what a conductor carries ---


@dataclass(frozen=True)
class Line:
    """The conductors of one pole, as planned and as laid."""

    rules: str
    size: str
    parallel: int
    metal: str
    insulation: str
    method: str
    ambient: float  # degC
    grouped: int
    loaded: int
    harmonic: float = 0.0

    @property
    def area(self) -> float:
        """Square millimetres of one of them."""
        return si(self.size) or 0.0

    def table(self, insulation: str, degrees: int) -> float:
        """All of them together in the table, without a factor: IEC 60364-5-52 B.52.2 to B.52.13, NEC 310.16 and 310.17."""
        return self.parallel * (_iec(self, insulation) if self.rules == "iec" else _nec(self, degrees, free=self.method in ("E", "F")))

    def carries(self) -> float:
        """Iz, with the factors of air and company."""
        if self.rules == "iec":
            return self.table(self.insulation, 0) * _iec_air(self) * _iec_company(self)
        degrees = 75 if self.insulation == "pvc" else 90
        air = _row("nec_310_15_ambient", "ambient_to_c", self.ambient)
        neutral = 1 if self.harmonic > 0.15 else 0
        count = (self.loaded + neutral) * self.grouped * self.parallel
        company = _row("nec_310_15_adjust", "to_count", count) or {"percent": 35}
        return self.table("", degrees) * (air[f"f_{degrees}c"] if air else 0.0) * company["percent"] / 100

    def resistance(self, flexible: bool) -> float:
        """Ohm per metre of all of them together in service: IEC 60228 at the insulation's limit; NEC chapter 9 table 8."""
        if self.rules == "nec":
            name, _, unit = self.size.partition(" ")
            column = "cu_ohm_per_kft_75c" if self.metal == "copper" else "al_ohm_per_kft_75c"
            # Above 4/0 AWG by the handbook's 12.9 and 21.2 ohm circular mils per foot.
            row = next((r[column] for r in _table("nec_ch9_t8") if r["awg"] == name), 0.0) if unit == "AWG" else {"copper": 12.9, "aluminium": 21.2}[self.metal] / float(name)
            return row / 304.8 / self.parallel
        if self.metal == "copper":
            cold = next(r for r in _table("iec60228_cu_r20") if r["area_mm2"] == self.area)["class5_ohm_per_km" if flexible else "class2_ohm_per_km"]
        else:
            cold = next(r for r in _table("iec60228_al_r20") if r["area_mm2"] == self.area)["ohm_per_km"]
        alpha = {"copper": 0.00393, "aluminium": 0.00403}[self.metal]  # NBS Handbook 100
        return cold * (1 + alpha * ((70 if self.insulation == "pvc" else 90) - 20)) / 1000 / self.parallel

    def stands(self) -> float:
        """k² S² of one of them: IEC 60364-4-43 table 43A; ICEA P-32-382 for the NEC."""
        metal, insulation = {"copper": "Cu", "aluminium": "Al"}[self.metal], "PVC" if self.insulation == "pvc" else "XLPE"
        if self.rules == "iec":
            k = next(r["k"] for r in _table("k_factors") if r["use"] == "live" and r["conductor"] == metal and r["insulation"].startswith(insulation))
            return (k * self.area) ** 2
        factor, zero = (0.0297, 234) if self.metal == "copper" else (0.0125, 228)
        begin, end = (75, 150) if self.insulation == "pvc" else (90, 250)
        return factor * math.log10((end + zero) / (begin + zero)) * (self.area * 1973.525) ** 2


def _iec(line: Line, insulation: str) -> float:
    copper, many = line.metal == "copper", "two" if line.loaded == 2 else "three"
    if line.method in ("E", "F"):
        number = {("copper", "pvc"): "10_cu_pvc", ("aluminium", "pvc"): "11_al_pvc", ("copper", "xlpe"): "12_cu_xlpe", ("aluminium", "xlpe"): "13_al_xlpe"}[line.metal, insulation]
        row = next((r for r in _table(f"iec_b52_{number}_efg") if r["area_mm2"] == line.area), None)
        singles = {"two": "f_two_touching", "three": "f_three_trefoil"}[many]
        return (row[singles] if line.method == "F" and row[singles] else row[f"e_{many}"]) if row else 0.0
    name = f"iec_b52_{insulation}{line.loaded}" if copper else f"iec_b52_al_{insulation}{line.loaded}"
    return next((r[line.method] for r in _table(name) if r["area_mm2"] == line.area), 0.0)


def _nec(line: Line, degrees: int, *, free: bool) -> float:
    metal = "cu" if line.metal == "copper" else "al"
    name, column = ("nec_310_17_free_air", f"{metal}_{degrees}c") if free else (f"nec_310_16_{metal}", f"a_{degrees}c")
    return next((r[column] for r in _table(name) if r["awg_kcmil"] == line.size.split()[0]), 0.0)


def _iec_air(line: Line) -> float:
    if line.method.startswith("D"):
        # B.52.15 follows the root of the temperature rises over 20 degC ground, to two digits.
        most = 70 if line.insulation == "pvc" else 90
        return math.sqrt(max(0.0, most - line.ambient) / (most - 20)) + 0.005
    row = _row("iec_b52_14_ambient", "ambient_c", line.ambient)
    return row[line.insulation] if row else 0.0


def _iec_company(line: Line) -> float:
    together = line.grouped * line.parallel
    column = "single_layer_wall_floor" if line.method == "C" else "perforated_tray" if line.method in "EF" else "bunched_or_enclosed"
    row = _row("iec_b52_17_grouping", "circuits", together if column.startswith("bunched") else min(together, 20))
    return row[column] if row else 0.0


def _next_rating(rules: str, current: float) -> float:
    row = _row("nec_240_6_ratings", "rating_a", current)
    return row["rating_a"] if row else math.inf


def fuse_i2t(rating: float) -> float | None:
    """Greatest pre-arcing I²t of a gG link, A²s: IEC 60269-1; None above its table."""
    row = _row("gg_i2t", "rating_a", rating)
    return row["i2t_max_ka2s"] * 1e3 if row else None


def fuse_opens(rating: float, gate: str) -> float | None:
    """The current that surely opens a gG link within 5 s ("imax_5s_a") or 0.1 s ("imax_0_1s_a"): IEC 60269-1."""
    row = _row("gg_gates", "rating_a", rating)
    return row[gate] if row else None


# --- the whole plan ---


def broken(answers: Any, planned: Any) -> Iterator[Broken]:
    """Every limit that the plan of these answers breaks."""
    site = _Site(answers, planned)
    for row in site.plan.circuits:
        if row.kind != "earth" and row.conductor:
            yield from _circuit(site, row)
        elif row.kind == "earth":
            yield from _earth(site, row)
        if row.kind != "earth" and not row.conductor and site.standing != "stopped":
            yield Broken("no conductor", row.name, ("current-unknown", "incoming.breaker", "no-loads", "solar-unanswered"))
    yield from _alike(site)
    yield from _banks(site)
    yield from _phases(site)
    yield from _incoming(site)
    yield from _strings(site)
    yield from _chain(site)
    yield from _set(site)


class _Site:
    """The answers with the safe values of what is left open (conventions of the trade, from memory), and the rows of the plan."""

    def __init__(self, answers: Any, planned: Any) -> None:
        self.answers, self.plan, self.standing = answers, planned.plan, planned.plan.standing
        a = self.answers
        self.rules = a.site.rules or "iec"
        self.ambient = (a.site.ambient_max or 313.15) - 273.15
        self.volts = a.output.voltage or (230 if self.rules == "iec" else 120)
        self.lines = _LINES.get(a.output.arrangement, ())
        self.kind = a.incoming.kind or "utility"
        self.runs = planned.parts.wall.runs
        self.bank_of = {tag: bank.name for bank in self.plan.banks for tag in bank.units}
        self.banks = {bank.name: bank for bank in self.plan.banks}
        self.units = {unit.tag: unit for unit in self.plan.units}
        self.circuits = {row.name: row for row in self.plan.circuits}
        self.series, self.parallel = a.storage.bank.series or 1, a.storage.bank.parallel or 1
        self.efficiency = a.unit.efficiency or 0.9
        # What the plan says that it took where nobody answered, as far as it says so by a caution too (S31).
        told = {row.about for row in self.plan.findings if row.code in ("method-assumed", "feed-assumed")}
        self.taken = {row.key: row.value for row in self.plan.assumed if row.key in told}
        self.sums = self._sums()

    def route(self, kind: str, to: str, word: str) -> Any:
        """What was answered for a circuit, the nearer answer first."""
        said = [r for r in self.answers.routes if r.carries == kind and getattr(r, word) is not None]
        own = [getattr(r, word) for r in said if r.to == to] or [getattr(r, word) for r in said if r.to is None]
        return own[-1] if own else self.taken.get(f"routes[{kind}].{word}") or {"method": "B2", "insulation": "pvc", "metal": "copper"}.get(word)

    def to(self, row: Any) -> str:
        """The unit, bank or place that a circuit is named after."""
        last = row.name.split()[-1]
        return last if last != "common" else {"load": "load-board", "incoming": "incoming-board"}[row.kind]

    def tags(self, row: Any) -> list[str]:
        """The units that a circuit serves."""
        last = row.name.split()[-1]
        return [last] if last in self.units else self.banks[last].units if last in self.banks else [*self.units]

    def line(self, row: Any) -> Line:
        """A circuit's conductors."""
        to, common = self.to(row), row.name.endswith("common")
        three = common and (self.answers.output.arrangement if row.kind == "load" else self.answers.incoming.arrangement or self.answers.output.arrangement) == "three-phase"
        return Line(self.rules, row.conductor, row.parallel, row.metal, self.route(row.kind, to, "insulation"), self.route(row.kind, to, "method"), self.ambient,
                    self.runs[row.name].grouped, 3 if three else 2, self.harmonic() if three else 0.0)

    def harmonic(self) -> float:
        """Third harmonic of all loads, by their power (T10, S9)."""
        loads = [((load.third_harmonic or 0.0), watts * (1 if load.demand is None else load.demand) * (load.quantity or 1)) for load in self.answers.loads if (watts := _watts(load))]
        # A load of which nothing is said counts as without harmonics only where others are told.
        whole = sum(power for _, power in loads)
        return sum(h * power for h, power in loads) / whole if whole else 0.0

    def unit_current(self) -> float | None:
        """T1: rated power over efficiency and the lowest voltage at which a unit works."""
        unit, low = self.answers.unit, self.answers.storage.module.low
        if unit.real_power is None or low is None:
            return None
        return unit.real_power / self.efficiency / max(unit.dc_min or 0.0, self.series * low)

    def _sums(self) -> dict[str, tuple[complex, float]]:
        """Power and starting current of each phase from the loads where the plan has put them (S21, S23)."""
        angles = {"single-phase": (0.0,), "split-phase": (0.0, math.pi), "three-phase": (0.0, -2 * math.pi / 3, 2 * math.pi / 3)}.get(self.answers.output.arrangement, ())
        volts = {line: cmath.rect(self.volts, angle) for line, angle in zip(self.lines, angles, strict=True)}
        power: dict[str, complex] = dict.fromkeys(self.lines, 0j)
        rest, starts = dict(power), dict.fromkeys(self.lines, 0.0)
        for load, row in zip(self.answers.loads, self.plan.loads, strict=False):
            watts = _watts(load)
            if watts is None:
                continue
            factor = 0.8 if load.power_factor is None else load.power_factor
            whole = complex(watts, watts * math.tan(math.acos(factor)))
            run = whole * (1 if load.demand is None else load.demand)
            times = load.start_multiple or (6 if load.motor else 1)
            motor = bool(load.motor) or times > 1
            phase = load.phase or "any"
            for k, line in enumerate(self.lines):
                copies = row.on[k]
                if not copies:
                    continue
                if phase == "all":
                    mine, start = run / len(self.lines), abs(whole) * max(times, 1) / len(self.lines) / self.volts
                elif "-" in phase:
                    first, second = phase.split("-")
                    between = volts[first] - volts[second]
                    current = (run / between).conjugate()
                    mine = volts[line] * current.conjugate() * (1 if line == first else -1)
                    start = abs(whole) * max(times, 1) / abs(between)
                else:
                    mine, start = run, abs(whole) * max(times, 1) / self.volts
                power[line] += copies * mine
                if motor:
                    starts[line] += copies * start
                else:
                    rest[line] += copies * mine
        return {line: (power[line], abs(rest[line]) / self.volts + starts[line]) for line in self.lines}


def _watts(load: Any) -> float | None:
    """Real power of one machine; of its apparent power, where that is what its plate tells."""
    return load.power if load.apparent_power is None else load.apparent_power * load.power_factor


# --- circuits ---


def _circuit(site: _Site, row: Any) -> Iterator[Broken]:
    line, ib, rating = site.line(row), si(row.current), si(row.device.rating) if row.device else None
    iz, kind, common = line.carries(), row.kind, row.name.endswith("common")
    protects = bool(row.device) and ("fuse" in row.device.kind or "breaker" in row.device.kind)
    if ib is None or (least := _least(site, row)) is None:
        return
    if ib * _NEAR < least:
        yield Broken("Ib too small", f"{row.name}: {row.current} where {least:.4g} A flow")
    # A string's fuse stands in one string, its circuit carries them all (S11).
    of_string = kind == "solar" and protects
    if rating and not of_string and rating * _NEAR < ib:
        yield Broken("In < Ib", f"{row.name}: {row.device.rating} for {row.current}")
    if protects and kind != "solar" and rating is None:
        yield Broken("no rating", row.name, ("no-device-large-enough",))
    # IEC 60364-4-43 433.1; NEC 210.19, 215.2, 240.4.
    if site.rules == "iec":
        wanted = rating if rating and protects else ib
        yield from _at_least("Iz < In", row.name, iz, wanted)
        if protects and "fuse" in row.device.kind and rating:
            multiple = 1.6 if rating >= 16 else 1.9 if rating > 4 else 2.1  # IEC 60269-1
            yield from _at_least("1.45 Iz < I2", row.name, 1.45 * iz, multiple * rating)
        yield from _at_least("terminal too hot", row.name, _terminal(site, row, line), wanted)
    else:
        lasting = 1.25 * ib if kind == "load" and not common else rating if kind == "incoming" and not common else ib
        # 215.2(A)(1): the 1.25 on what lasts is asked of the conductor before correction; where T2 cannot be reckoned here, it is in Ib.
        yield from _at_least("Iz < Ib", row.name, iz, ib if kind != "battery" else min(ib, _pulsed(site, row) or ib / 1.25))
        yield from _at_least("table < 1.25 Ib", row.name, line.table("", 75 if line.insulation == "pvc" else 90), lasting)
        yield from _at_least("terminal too hot", row.name, _terminal(site, row, line), lasting)
        if rating and protects:
            small = next((r["max_ocpd_a"] for r in _table("nec_240_4d") if r["awg"] == row.conductor.split()[0] and line.metal == "copper" and row.conductor.endswith("AWG")), math.inf)
            up = _next_rating("nec", iz)
            yield from _at_least("In above what 240.4 allows", row.name, min(small, up if up <= 800 else iz), rating)
    yield from _neutral(site, row, line, iz, ib)
    yield from _drop(site, row, line, ib)
    yield from _fault(site, row, line, rating)


def _at_least(kind: str, name: str, value: float, wanted: float | None, *told_by: str) -> Iterator[Broken]:
    if wanted is not None and value * _NEAR < wanted:
        yield Broken(kind, f"{name}: {value:.4g} where {wanted:.4g} is wanted", told_by)


def _terminal(site: _Site, row: Any, line: Line) -> float:
    """T3: the column of the tables that the terminals allow, no factors."""
    answered = site.answers.unit.terminal_temperature if row.name.split()[-1] in site.units else None
    stands = answered - 273.15 if answered else None
    if site.rules == "iec":
        if (stands or 70) >= 89.9 and line.insulation == "xlpe":
            return line.table("xlpe", 0)
        return line.table("pvc", 0) * min(1.0, math.sqrt(max(0.0, (stands or 70) - 30) / 40))
    # 110.14(C): 60 degC up to 100 A, 75 degC above or where marked.
    cool = line.parallel * _nec(line, 60, free=False)
    warm = line.parallel * _nec(line, 75, free=False)
    if stands is not None:
        return warm if stands >= 74.9 else cool
    return warm if max(si(row.current) or 0.0, 0.0) * (1.25 if row.kind == "load" and not row.name.endswith("common") else 1) > 99 else cool


def _pulsed(site: _Site, row: Any) -> float | None:
    """T2 on the larger of T1 and the charging."""
    drawn, unit, tags = site.unit_current(), site.answers.unit, site.tags(row)
    if drawn is None or unit.apparent_power is None:
        return None
    charging = [si(site.units[tag].charge_limit) or 0.0 for tag in tags]
    ripple = (1.0 if unit.ripple is None else unit.ripple) * unit.apparent_power / unit.real_power
    if len(tags) > 1 and len(site.lines) == 3:
        # Power pulses at twice the line frequency: those of three phases cancel.
        count = Counter(tag[:2] for tag in tags)
        ripple *= abs(sum(count[name] * cmath.exp(4j * math.pi * k / 3) for k, name in enumerate(site.lines))) / len(tags)
    return len(tags) * max([drawn, *charging]) * math.sqrt(1 + ripple**2 / 2)


def _least(site: _Site, row: Any) -> float | None:
    """The least current that a circuit must be planned for (S2, S3, S11)."""
    unit, common, tags = site.answers.unit, row.name.endswith("common"), site.tags(row)
    if row.kind == "battery":
        pulsed, drawn = _pulsed(site, row), site.unit_current()
        if pulsed is None or drawn is None:
            return 0.0
        charging = [si(site.units[tag].charge_limit) or 0.0 for tag in tags]
        return max(pulsed, 1.25 * len(tags) * max([drawn, *charging])) if site.rules == "nec" else pulsed
    if row.kind == "solar":
        isc = site.answers.solar.isc
        return isc * (1.25 if site.rules == "iec" else 1.56) * (site.answers.solar.parallel or 1) if isc else 0.0
    if row.kind == "load" and not common:
        return unit.apparent_power / site.volts if unit.apparent_power else 0.0
    if row.kind == "load":
        ratings: dict[str, float] = defaultdict(float)
        for tag in tags:
            ratings[tag[:2]] += si(site.circuits[f"load {tag}"].device.rating) or 0.0
        return max(ratings.values())
    return 0.0 if not common else site.answers.incoming.breaker


def _neutral(site: _Site, row: Any, line: Line, iz: float, ib: float) -> Iterator[Broken]:
    """IEC 60364-5-52 annex E; a neutral is never smaller than its lines."""
    if row.kind not in ("load", "incoming"):
        return
    if row.neutral is None or (si(row.neutral) or 0.0) < line.area * 0.999:
        yield Broken("neutral smaller than its lines", row.name)
    third = line.harmonic
    if line.loaded == 2 or not third:
        return
    if site.rules == "iec":
        found = next(r for r in reversed(_table("iec_harmonic_neutral")) if 100 * third > r["h3_from_pct"] + 1e-6)
        yield from _at_least("neutral too hot", row.name, iz, (3 * third * ib if found["select_on"] == "neutral" else ib) / found["factor"])
    else:
        yield from _at_least("neutral too hot", row.name, iz, 3 * third * ib)


def _length(row: Any) -> float:
    return si(row.length) or 0.0


def _drop(site: _Site, row: Any, line: Line, ib: float) -> Iterator[Broken]:
    """IEC 60364-5-52 annex G with IEC 60228 warm; 0.08 mohm/m."""
    kind, common, allowed = row.kind, row.name.endswith("common"), site.answers.drop
    direct = kind in ("battery", "solar")
    bar = kind == "battery" and row.name.split()[-1] in site.banks
    limit = getattr(allowed, "bar" if bar else kind)
    limit = {"battery": 0.01 if bar else 0.02, "load": 0.01, "incoming": 0.01, "solar": 0.02}[kind] if limit is None else limit
    module, panel = site.answers.storage.module.voltage, site.answers.solar
    volts = module and module * site.series if kind == "battery" else panel.vmp and panel.series and panel.vmp * panel.series if kind == "solar" else site.volts
    if kind == "incoming":
        volts = site.answers.incoming.voltage or site.volts
    drawn = site.unit_current()
    current = ib if kind != "battery" else drawn and drawn * len(site.tags(row))
    codes = ("drop-above-limit", "no-conductor-will-do")
    if row.length is None or not volts or not current or site.route(kind, site.to(row), "resistance"):
        if row.drop is None and not site.route(kind, site.to(row), "resistance"):
            yield Broken("drop not reckoned", row.name, ("drop-not-checked", "current-unknown"))
        return
    ohms, ways = line.resistance(flexible=direct), 1 if common and line.loaded == 3 else 2
    x = 0 if direct else 0.08e-3 / line.parallel
    tag = row.name.split()[-1]
    loaded = [p for name, (p, _) in site.sums.items() if abs(p) > 1e-9 and (common or tag.startswith(name))]
    factors = [1.0] if direct else [abs(p.real) / abs(p) for p in loaded] or [0.8]
    share = max(ways * current * _length(row) * (ohms * f + x * math.sqrt(max(0.0, 1 - f * f))) / volts for f in factors)
    shown = si(row.drop)
    if shown is None or abs(shown / share - 1) > (0.003 if "kcmil" not in row.conductor else 0.01):
        yield Broken("drop differs", f"{row.name}: {row.drop} where {100 * share:.4g} % is reckoned")
    if share > limit * 1.003:
        yield Broken("drop > limit", f"{row.name}: {100 * share:.4g} % of {100 * limit:.4g} %", codes)


def _fault(site: _Site, row: Any, line: Line, rating: float | None) -> Iterator[Broken]:
    """What the device must break, what it lets through, and that it opens: IEC 60364-4-43 434.5, T4."""
    unit, incoming = site.answers.unit, site.answers.incoming
    if row.kind == "solar":
        return
    if row.kind == "battery":
        yield from _battery_fault(site, row, line, rating)
        return
    breaks = si(row.device.breaking) if row.device else None
    tags = Counter(tag[:2] for tag in site.tags(row))
    island = unit.fault_current * max(tags.values()) if unit.fault_current else None
    fault = incoming.prospective_fault if site.kind != "none" else island
    if fault is None:
        return
    protects = row.device and "breaker" in row.device.kind
    if protects and (breaks is None or breaks < fault * 0.999):
        yield Broken("breaking < fault", f"{row.name}: {row.device.breaking} for {fault:.4g} A", ("fault-above-every-device",))
    # IEC 60898-1: curve C surely trips at once from ten times its rating, within 0.02 s; S4 gives the rest 5 s.
    trips_by = rating if protects else si(row.current)
    if trips_by:
        energy = fault**2 * (0.02 if fault >= 10 * trips_by else 5)
        yield from _at_least("k2 S2 < I2t", row.name, line.stands(), energy)


def _source(site: _Site) -> tuple[float | None, float | None, float | None]:
    """A bank's largest and smallest short-circuit current, and its voltage when empty (S10)."""
    module = site.answers.storage.module
    short = module.short_circuit_current and module.short_circuit_current * site.parallel
    full, empty = (v and v * site.series for v in (module.absorption, module.low))
    ohms = module.resistance and module.resistance * site.series / site.parallel
    most = [f for f in (short, full and ohms and full / (ohms * (1 if module.resistance_measured else 0.5))) if f]
    least = [f for f in (short, empty and ohms and empty / ohms) if f]
    return max(most, default=None), min(least, default=None), empty


def _battery_fault(site: _Site, row: Any, line: Line, rating: float | None) -> Iterator[Broken]:
    most, least, empty = _source(site)
    breaks, name = si(row.device.breaking) if row.device else None, row.name.split()[-1]
    families = ("fault-above-every-device", "no-usual-fuse-family", "fuse-family-to-confirm")
    if most and (breaks is None or breaks < most * 0.999):
        yield Broken("breaking < fault", f"{row.name}: {breaks} for {most:.4g} A", families)
    if not rating:
        return
    surge, unit, drawn = site.answers.unit.surge_power, site.answers.unit, site.unit_current()
    if surge and drawn:
        peak = drawn * len(site.tags(row)) * surge / unit.real_power
        yield from _at_least("fuse below surge", row.name, rating, peak / (2 if (unit.surge_time or 5) <= 10 else 1))
    if site.answers.storage.fuse_factor and (ib := si(row.current)):
        yield from _at_least("fuse too warm", row.name, rating * site.answers.storage.fuse_factor, ib)
    energy, slow = fuse_i2t(rating), fuse_opens(rating, "imax_5s_a")
    if energy is None or slow is None:
        yield Broken("let-through unknown", row.name, ("withstand-not-checked", "no-conductor-will-do"))
        return
    yield from _at_least("k2 S2 < I2t", row.name, line.stands(), energy)
    if row.length is None or not least or not empty or site.route("battery", name, "resistance"):
        return
    bank = site.circuits.get(f"battery {site.bank_of.get(name)}")
    ahead = 2 * site.line(bank).resistance(flexible=True) * _length(bank) if bank and bank is not row and bank.conductor and bank.length else 0.0
    through = empty / (empty / least + ahead + 2 * line.resistance(flexible=True) * _length(row))
    if through * 1.01 < slow:
        yield Broken("fault does not open the fuse", f"{row.name}: {through:.4g} A, {slow:.4g} A open {row.device.rating}", ("fault-does-not-clear",))
        energy = max(energy, slow**2 * 5)
    quick = fuse_opens(rating, "imax_0_1s_a")
    if quick and through < quick * 0.99:
        energy = max(energy, through**2 * 0.1)
    yield from _at_least("k2 S2 < I2t of the far fault", row.name, line.stands(), energy, "fault-does-not-clear")


def _earth(site: _Site, row: Any) -> Iterator[Broken]:
    """IEC 60364-5-54 table 54.2 and 543.1.2; NEC 250.122. Only where the earth is of copper like its lines."""
    of_set = row.name in ("earth common", "earth load-board")
    if row.name.startswith("bond ") or not (of_set or row.name.split()[-1] in site.units):
        return
    tag, codes = row.name.split()[-1], ("earth-not-sized", "no-conductor-will-do", "current-unknown")
    if of_set:
        tag = "common" if len(site.units) > 1 else next(iter(site.units))
    ac = [c for c in site.plan.circuits if c.name in (f"load {tag}", f"incoming {tag}") and c.conductor and c.device]
    if row.conductor is None:
        if site.standing != "stopped" and ac:
            yield Broken("no earth", row.name, codes)
        return
    own = si(row.conductor) or 0.0
    if any(c.metal != row.metal for c in ac) or row.metal != "copper":
        return
    for circuit in ac:
        if site.rules == "iec":
            line = circuit.parallel * (si(circuit.conductor) or 0.0)
            yield from _at_least("earth below table 54.2", row.name, own, line if line <= 16 else 16 if line <= 35 else line / 2, *codes)
        elif found := _row("nec_250_122_cu", "ocpd_up_to_a", si(circuit.device.rating) or 0.0):
            wanted = min(_awg(found["cu_awg_kcmil"]), circuit.parallel * (si(circuit.conductor) or 0.0))
            yield from _at_least("earth below 250.122", row.name, own, wanted, *codes)
    battery = None if of_set else site.circuits.get(f"battery {tag}")
    if site.rules == "iec" and battery and battery.device and (rating := si(battery.device.rating)):
        energy = fuse_i2t(rating)
        k = next(r["k"] for r in _table("k_factors") if r["use"].startswith("PE sep") and r["conductor"] == "Cu" and r["insulation"].startswith("PVC" if site.route("earth", tag, "insulation") == "pvc" else "XLPE"))
        if energy is not None:
            yield from _at_least("earth burns before its fuse", row.name, own, math.sqrt(energy) / k, *codes)


def _alike(site: _Site) -> Iterator[Broken]:
    """S18: like circuits have one conductor."""
    groups: dict[tuple[str, Any, str, str], set[tuple[Any, Any]]] = defaultdict(set)
    for row in site.plan.circuits:
        tag = row.name.split()[-1]
        if row.kind in ("battery", "load", "incoming") and tag in site.units and row.conductor:
            mark = site.bank_of.get(tag) if row.kind == "battery" else tag[:2]
            groups[row.kind, mark, row.metal, row.insulation].add((row.conductor, row.parallel))
    for key, sizes in groups.items():
        if len(sizes) > 1:
            yield Broken("like circuits differ", f"{key}: {sizes}")


# --- banks, phases, strings, chain ---


def largest_share(strings: int, ohms: float, joint: float, feed: str) -> float:
    """Share of the busiest of several strings side by side on two rows of joints, by Kirchhoff along the rows."""
    if feed == "bar" or strings == 1 or joint <= 0 or ohms <= 0:
        return 1 / strings
    if feed == "one end":
        # From the far end: each joint pair carries all that lies beyond it.
        currents = [1.0]
        while len(currents) < strings:
            currents.append(currents[-1] + 2 * joint / ohms * sum(currents))
        return max(currents) / sum(currents)

    def ladder(first: float) -> list[float]:
        currents = [first]
        while len(currents) < strings:
            # Plus leaves at the first, minus at the last: what plus still gathers, minus has already left.
            currents.append(currents[-1] - joint / ohms * (1 - 2 * sum(currents)))
        return currents

    none, one = sum(ladder(0.0)), sum(ladder(1.0))
    currents = ladder((1 - none) / (one - none))
    return max(currents)


def _banks(site: _Site) -> Iterator[Broken]:
    """T14, S24, S26: a bank's limits, shared by its strings and by its units."""
    module, bank, unit = site.answers.storage.module, site.answers.storage.bank, site.answers.unit
    stated = None if module.resistance is None else module.resistance * (1 if module.resistance_measured else 0.5)
    short = module.short_circuit_current
    for row in site.plan.banks:
        limit, own = si(row.charge_limit), [si(site.units[tag].charge_limit) for tag in row.units]
        if module.charge_current and stated:
            joint = 0.2e-3 if bank.joint_resistance is None else bank.joint_resistance
            ohms = [stated * site.series, *([module.absorption / short * site.series] if short and module.absorption else [])]
            # The lower resistance shares worst; a short-circuit current may say a still higher one, which shares better.
            share = largest_share(site.parallel, max(ohms), joint, bank.feed or site.taken.get("storage.bank.feed", "one end"))
            most = module.charge_current / share
            if limit and limit > most * _NEAR:
                yield Broken("bank charged above its modules", f"{row.name}: {row.charge_limit} where {most:.4g} A")
            drawn = site.unit_current()
            if drawn and module.discharge_current and drawn * len(row.units) > module.discharge_current / share * 1.005:
                yield Broken("bank drained above its modules", f"{row.name}: {drawn * len(row.units):.4g} A", ("bank-below-set",))
        for tag, value in zip(row.units, own, strict=True):
            if value is not None and (value % 1 or (unit.charge_current and value > unit.charge_current)):
                yield Broken("unit's charge limit", f"{tag}: {value:g} A of {unit.charge_current}")
        if limit and all(value is not None for value in own) and sum(own) > limit * _NEAR:  # type: ignore[arg-type]
            yield Broken("units charge above their bank", f"{row.name}: {sum(own)} of {row.charge_limit}")  # type: ignore[arg-type]


def _phases(site: _Site) -> Iterator[Broken]:
    """S21, S23: every copy of every load stands somewhere, sums add up, no phase above its units."""
    unit, surge = site.answers.unit, site.answers.unit.surge_power
    for load, row in zip(site.answers.loads, site.plan.loads, strict=False):
        phase, many = load.phase or "any", load.quantity or 1
        wanted = len(site.lines) if phase == "all" else 2 if "-" in phase else 1
        if site.plan.phases and site.standing != "stopped" and sum(row.on) != wanted * many:
            yield Broken("load not placed", f"{row.name!r}: {row.on}")
    for row in site.plan.phases:
        power, start = site.sums[row.phase]
        for name, mine in (("power", power.real), ("reactive_power", power.imag), ("apparent_power", abs(power)), ("surge", start)):
            told = si(getattr(row, name))
            if told is not None and abs(told - mine) > 0.002 * abs(mine) + 0.01:
                yield Broken("sum of a phase", f"{row.phase} {name}: {getattr(row, name)} where {mine:.5g}", ("load-on-absent-phase",))
        units = row.units or 0
        if unit.apparent_power and unit.real_power and units and max(abs(power) / unit.apparent_power, power.real / unit.real_power) > units * 1.001:
            yield Broken("phase overloaded", row.phase, ("phase-overloaded",))
        if surge and units and start > surge * units / site.volts * 1.001:
            yield Broken("start above surge", row.phase, ("start-above-surge",))


def _incoming(site: _Site) -> Iterator[Broken]:
    """T8, T19, S3: what each unit passes, and all of a phase together."""
    incoming, transfer = site.answers.incoming, site.answers.unit.transfer_current
    if site.kind == "none" or incoming.breaker is None or transfer is None:
        return
    total = incoming.breaker * (0.8 if site.rules == "nec" else 1)
    volts = incoming.voltage or site.volts
    if site.kind == "generator" and incoming.rating:
        total = min(total, 0.8 * incoming.rating / (len(_LINES.get(incoming.arrangement or site.answers.output.arrangement, ())) or 1) / volts)
    for phase in site.lines:
        limits = {u.tag: si(u.incoming_limit) for u in site.units.values() if u.phase == phase and u.incoming_limit}
        most = transfer * (0.9 if sum(u.phase == phase for u in site.units.values()) > 1 else 1)
        for tag, limit in limits.items():
            device = site.circuits[f"incoming {tag}"].device
            if limit > most * _NEAR:  # type: ignore[operator]
                yield Broken("unit passes too much", f"{tag}: {limit} of {most}")
            if device and (si(device.rating) or 0.0) > transfer * _NEAR:
                yield Broken("device above the transfer relay", f"{tag}: {device.rating} of {transfer}")
        if limits and sum(limits.values()) > total * _NEAR:  # type: ignore[arg-type]
            yield Broken("phase takes too much", f"{phase}: {limits} of {total:.4g}")


def _strings(site: _Site) -> Iterator[Broken]:
    """T20: IEC 61730 coefficients from 25 degC; cells at 70 degC."""
    panel, inputs, coldest = site.answers.solar, site.answers.unit.solar, site.answers.site.roof_min
    if site.plan.solar is None or not panel.series:
        return
    if panel.voc and coldest and panel.voc_coefficient is not None and panel.voc_coefficient <= 0 and inputs.voltage_max:
        cold = panel.series * panel.voc * (1 + panel.voc_coefficient * (coldest - 298.15))
        if cold > inputs.voltage_max * 1.001:
            yield Broken("cold Voc above the limit", f"{cold:.4g} V of {inputs.voltage_max:g} V", ("cold-voc-above-limit",))
        if abs((si(site.plan.solar.cold_voc) or 0.0) / cold - 1) > 0.002:
            yield Broken("cold Voc differs", f"{site.plan.solar.cold_voc} where {cold:.5g} V")
    if panel.vmp and panel.vmp_coefficient is not None and panel.vmp_coefficient <= 0 and inputs.mppt_min:
        hot = panel.series * panel.vmp * (1 + panel.vmp_coefficient * 45)
        if hot < inputs.mppt_min * 0.999:
            yield Broken("hot Vmp below the window", f"{hot:.4g} V of {inputs.mppt_min:g} V", ("hot-vmp-below-window",))
    if panel.isc and inputs.short_circuit_max and panel.isc * (panel.parallel or 1) > inputs.short_circuit_max * 1.001:
        yield Broken("tracker above its short circuit", f"{panel.isc * (panel.parallel or 1):.4g} A", ("solar-short-circuit",))


def _chain(site: _Site) -> Iterator[Broken]:
    """T22: every unit once, one link between neighbours, each port once, a terminator at each open end, no link above its stock."""
    chain, bus, tags = site.plan.chain, site.answers.unit.bus, [*site.units]
    if sorted(chain.order) != sorted(tags):
        yield Broken("chain leaves units out", f"{chain.order} of {tags}")
        return
    if [(link.from_, link.to) for link in chain.links] != list(pairwise(chain.order)):
        yield Broken("links do not join neighbours", f"{chain.order}")
    lead = [unit.tag for unit in site.units.values() if unit.role == "lead"]
    if tags and (len(lead) != 1 or chain.order[0] != lead[0]):
        yield Broken("chain does not begin at the lead", f"{lead} {chain.order}", ("lead-is-no-unit",))
    nodes = site.answers.bus_nodes
    if len(tags) + len(nodes) > 1 and len(chain.terminators) != 2:
        yield Broken("terminators", f"{len(chain.terminators)}")
    used = Counter((link.from_, link.from_port) for link in chain.links) + Counter((link.to, link.to_port) for link in chain.links)
    used += Counter((end.unit, end.port) for end in chain.terminators if end.port)
    if bus.ports and len(bus.ports) > 1 and any(count > 1 for count in used.values()):
        yield Broken("port used twice", f"{used.most_common(1)}")
    for end in chain.terminators:
        if end.port and end.kind == end.port.split()[0]:
            yield Broken("terminator does not fit", f"{end}")
    for link in chain.links:
        length, stock, about = si(link.length), si(link.stock), f"{link.from_} > {link.to}: {link.length}, {link.stock}"
        if length is None:
            yield Broken("link without length", about, ("no-way-for-link", "no-way-yet", "no-room-on-the-wall", "off-the-wall", "places-overlap"))
        elif bus.link_lengths:
            if stock is None:
                yield Broken("link without stock", about, ("link-too-long",))
            elif stock < length / 1.001 or not any(math.isclose(stock, sold, rel_tol=2e-3) for sold in bus.link_lengths):
                yield Broken("link of no stock length", about)
    whole = sum(si(link.stock) or si(link.length) or 0.0 for link in chain.links)
    if bus.length_max and whole > bus.length_max * 1.001:
        yield Broken("bus too long", f"{whole:.4g} m of {bus.length_max:g} m", ("bus-too-long",))


def _set(site: _Site) -> Iterator[Broken]:
    """T12, T13, S18: units, one bank each, storage mode as wired."""
    count = Counter(unit.phase for unit in site.units.values())
    if site.standing != "stopped" and set(count) != set(site.lines):
        yield Broken("phase without unit", f"{count}")
    if site.answers.unit.max_units and len(site.units) > site.answers.unit.max_units:
        yield Broken("too many units", f"{len(site.units)}", ("over-max-units",))
    served = Counter(tag for bank in site.plan.banks for tag in bank.units)
    if any(number != 1 for number in served.values()) or (site.standing != "stopped" and set(served) != set(site.units)):
        yield Broken("unit on no bank, or on two", f"{served}")
    mode = "common" if len(site.plan.banks) == 1 else "separate"
    if any(unit.storage_mode != mode for unit in site.units.values() if unit.storage_mode):
        yield Broken("storage mode", f"{len(site.plan.banks)} banks")
