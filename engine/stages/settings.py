"""What each unit is told: our word, the value, the maker's word, why. What is not known is left out, never invented."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from engine.facts import Facts
from engine.findings import Finding, note
from engine.frozen import dataclass
from engine.site.keys import QuantityKey
from engine.site.storage import LEAD_ACID
from engine.site.unit import SETTINGS
from engine.stages.banks import Banks
from engine.stages.limits import Limits
from engine.stages.storage.part import BankSums, Storage
from engine.stages.units import UnitPlace, Units
from engine.text import clean
from engine.workings import Figure

# Who can say what a setting must be, for the sheet, where the plan does not know it.
_DECIDES: Mapping[str, str] = {
    "arrangement": "the planner, from the loads",
    "phase": "the planner",
    "role": "the planner: exactly one unit leads",
    "storage_mode": "the planner, cables traced by hand",
    "output_voltage": "the planner, from the local supply",
    "output_frequency": "the planner, from the local supply",
    "chemistry": "the battery's plate",
    "managed_battery": "the battery's manual",
    "charge_limit": "the battery's maker, the planner",
    "incoming_limit": "the planner, from breaker and plate",
    "absorption": "the battery's maker",
    "float": "the battery's maker",
    "low": "the battery's maker",
    "temperature_slope": "the battery's maker",
}


_OF_MODULE: Mapping[str, QuantityKey] = {
    "absorption": "storage.module.absorption",
    "float": "storage.module.float",
    "low": "storage.module.low",
}


@dataclass(frozen=True)
class Setting:
    """One setting of one unit. `confirm`: trace it by hand on the day; `assumed`: nobody answered it."""

    setting: str
    value: str
    label: str | None
    value_label: str | None
    why: str
    confirm: bool = False
    assumed: bool | None = None


@dataclass(frozen=True)
class Settings:
    """The settings of every unit, by tag, in the order in which they are entered.

    `decides` names every setting that a unit of this site must be given, and who can say what it must be where the plan does not.
    """

    of: Mapping[str, tuple[Setting, ...]]
    decides: Mapping[str, str]


@dataclass(frozen=True)
class _Value:
    """A value before the maker's words are put beside it."""

    text: str
    why: str
    confirm: bool = False
    assumed: bool = False


def settings(*, facts: Facts, units: Units, banks: Banks, storage: Storage, limits: Limits) -> tuple[Settings, list[Finding]]:
    """Every unit's settings, as far as they are known."""
    sums = {bank.name: bank for bank in storage.banks}
    of = {}
    for unit in units.units:
        bank = banks.bank_of.get(unit.tag)
        values = {
            **_site(facts),
            **_place(unit, units),
            **_bank(facts, banks, unit.tag, sums.get(bank or "")),
            **_limits(facts, limits, unit.tag, bank),
        }
        of[unit.tag] = tuple(_worded(facts, name, values[name]) for name in SETTINGS if name in values)
    return Settings(of, {name: _DECIDES[name] for name in _expected(facts)}), [*_words_missing(facts, banks)]


def _expected(facts: Facts) -> tuple[str, ...]:
    answers = facts.answers
    skip = set()
    if answers.incoming.kind == "none":
        skip.add("incoming_limit")
    if answers.storage.chemistry not in (None, *LEAD_ACID):
        skip.add("temperature_slope")
    return tuple(name for name in SETTINGS if name not in skip)


def _site(facts: Facts) -> dict[str, _Value]:
    """What all units of the site have alike."""
    answers = facts.answers
    assert answers.output.arrangement is not None  # otherwise there are no units
    found = {"arrangement": _Value(answers.output.arrangement, "the same in every unit of the set")}
    supply = (
        ("output_voltage", facts.output_voltage, "phase to neutral, the same in every unit"),
        ("output_frequency", facts.output_frequency, "the same in every unit"),
    )
    for name, figure, why in supply:
        found[name] = _Value(str(figure), why, assumed=figure.how == "assumed")
    if answers.storage.chemistry:
        found["chemistry"] = _Value(answers.storage.chemistry, "kind of cells")
    managed, why = (
        ("yes", "the bank's own management speaks to the unit and can open its circuit")
        if answers.storage.managed
        else ("no", "no management of its own")
    )
    found["managed_battery"] = _Value(managed, why, assumed="storage.managed" in {a.key for a in facts.assumed})
    return found


def _place(unit: UnitPlace, units: Units) -> dict[str, _Value]:
    """What tells this unit from the others. Without a known lead nobody is told to follow."""
    found = {"phase": _Value(unit.phase, f"its load wire lands on the {unit.phase} bar")}
    if units.lead:
        why = "its waveform is the one the others follow" if unit.role == "lead" else f"it follows {units.lead}"
        found["role"] = _Value(unit.role, why)
    return found


def _bank(facts: Facts, banks: Banks, tag: str, sums: BankSums | None) -> dict[str, _Value]:
    """What follows from the bank this unit hangs on (T13)."""
    name = banks.bank_of.get(tag)
    if not name or not banks.mode:
        return {}
    others = len(banks.banks) > 1
    why = f"{name} is one of {len(banks.banks)} banks" if others else f"every unit is on {name}"
    found = {"storage_mode": _Value(banks.mode, why, confirm=not banks.traced)}
    for setting, figure in _thresholds(sums):
        own = setting in _OF_MODULE and not facts.missing(_OF_MODULE[setting])
        why = (
            f"the same in every unit of {name}"
            if own
            else f"usual for {facts.answers.storage.chemistry}: check it against the battery's sheet"
        )
        if setting == "temperature_slope" and sums and sums.absorption_warm:
            colder = f"{sums.absorption_cold} in the coldest room, " if sums.absorption_cold else ""
            why = f"{why}; so it is charged to {colder}{sums.absorption_warm} in the warmest"
        found[setting] = _Value(str(figure), why, assumed=not own)
    if facts.answers.storage.chemistry not in LEAD_ACID:
        found.pop("temperature_slope", None)
    return found


def _thresholds(sums: BankSums | None) -> Iterator[tuple[str, Figure]]:
    pairs = (
        ()
        if sums is None
        else (("absorption", sums.absorption), ("float", sums.float_), ("low", sums.low), ("temperature_slope", sums.temperature_slope))
    )
    yield from ((name, figure) for name, figure in pairs if figure)


def _limits(facts: Facts, limits: Limits, tag: str, bank: str | None) -> dict[str, _Value]:
    """The unit's share of what the bank and the supply allow."""
    found = {}
    if charge := limits.charge.get(tag):
        # That the unit itself may charge with so much is assumed where nobody said what it may.
        open_ = bool(facts.missing("unit.charge_current"))
        why = f"its share of what {bank or 'the bank'} may be charged with, solar included{'; never more than the unit itself may: its datasheet' if open_ else ''}"
        found["charge_limit"] = _Value(str(charge), why, assumed=open_)
    if incoming := limits.incoming.get(tag):
        found["incoming_limit"] = _Value(str(incoming), "its share of what the breaker and the supply ahead allow")
    return found


def _worded(facts: Facts, name: str, value: _Value) -> Setting:
    """The setting with the words the user copied from the maker's manual."""
    label = facts.answers.unit.labels.get(name)
    word = label.words.get(value.text) if label else None
    return Setting(
        name,
        value.text,
        clean(label.name, 40) if label and label.name else None,
        clean(word, 40) if word else None,
        value.why,
        value.confirm,
        value.assumed or None,
    )


def _words_missing(facts: Facts, banks: Banks) -> Iterator[Finding]:
    """The storage mode is the setting that destroys equipment: its words must be the maker's own."""
    label = facts.answers.unit.labels.get("storage_mode")
    if banks.mode and (label is None or not label.name or not label.words.get(banks.mode)):
        yield note(
            "storage-mode-words-missing",
            "unit.labels.storage_mode",
            f"The maker's words for the storage mode {banks.mode} are not written down, so the sheet can only print ours.",
            f"Copy from the manual what the menu calls it and its value for {banks.mode}, under unit.labels.storage_mode.",
            "common practice, no source",
        )
