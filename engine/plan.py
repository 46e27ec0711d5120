"""The plan as it stands in the file: what was computed, in words and figures with their units.

The stages' parts hold `Figure`s; here they have become text, in the order in which the file is read.
A field that does not apply, or could not be computed, is left out (None). A row that the program makes needs no
checking; one that is read is checked by the model that `files.form` makes of the same fields.
"""

from __future__ import annotations

from dataclasses import field
from typing import Any, Literal

from engine.frozen import dataclass


class Row:
    """One table of the plan. A field whose name is a word of Python ends in _, its key in the file does not."""

    def keyed(self) -> dict[str, Any]:
        """What it holds under the keys of the file; what does not apply is left out."""
        return {name.rstrip("_"): inner for name, inner in vars(self).items() if inner is not None}


def plain(value: Any) -> Any:
    """A row, and what is within it, as plain data."""
    if isinstance(value, Row):
        return {name: plain(inner) for name, inner in value.keyed().items()}
    return [plain(item) for item in value] if isinstance(value, list) else value


@dataclass(frozen=True, kw_only=True)
class Assumption(Row):
    """A value nobody answered and the engine took."""

    key: str
    value: str
    why: str
    source: str | None = None


@dataclass(frozen=True, kw_only=True)
class Noticed(Row):
    """A finding; `value` is what was found and `limit` what it was held against, where that is a comparison."""

    level: Literal["stop", "caution", "note"]
    code: str
    about: str
    value: str | None = None
    limit: str | None = None
    text: str
    remedy: str
    source: str


@dataclass(frozen=True, kw_only=True)
class SettingRow(Row):
    """One setting of one unit: our word, the value, the maker's word for the setting, why."""

    setting: str
    value: str
    label: str | None = None
    value_label: str | None = None
    why: str
    confirm: bool | None = None
    assumed: bool | None = None


@dataclass(frozen=True, kw_only=True)
class UnitRow(Row):
    """One unit of the set."""

    tag: str
    phase: str
    role: Literal["lead", "follower"]
    storage_mode: Literal["common", "separate"] | None = None
    bank: str | None = None
    chain_place: int | None = None
    charge_limit: str | None = None
    incoming_limit: str | None = None
    settings: list[SettingRow] = field(default_factory=list)


@dataclass(frozen=True, kw_only=True)
class LinkRow(Row):
    """One comms link, in the order of the chain."""

    from_: str
    from_port: str | None = None
    to: str
    to_port: str | None = None
    length: str | None = None
    stock: str | None = None


@dataclass(frozen=True, kw_only=True)
class TerminatorRow(Row):
    """What closes one open end of the chain."""

    unit: str
    port: str | None = None
    kind: str | None = None


@dataclass(frozen=True, kw_only=True)
class ChainRow(Row):
    """The comms chain."""

    order: list[str] = field(default_factory=list)
    length: str | None = None
    resistance: str | None = None
    longest_stub: str | None = None
    proof: str | None = None
    closest_to_power: str | None = None
    beside_power: str | None = None
    crossings: int | None = None
    links: list[LinkRow] = field(default_factory=list)
    terminators: list[TerminatorRow] = field(default_factory=list)


@dataclass(frozen=True, kw_only=True)
class LoadRow(Row):
    """How many copies of one load are on each phase; pairs with the answers by position."""

    name: str
    on: list[int]


@dataclass(frozen=True, kw_only=True)
class PhaseRow(Row):
    """What one phase carries."""

    phase: str
    units: int | None = None
    power: str | None = None
    reactive_power: str | None = None
    apparent_power: str | None = None
    surge: str | None = None
    surge_limit: str | None = None
    used: str | None = None
    left: str | None = None
    left_one_out: str | None = None
    neutral_current: str | None = None
    fault_current: str | None = None


@dataclass(frozen=True, kw_only=True)
class BankRow(Row):
    """One bank."""

    name: str
    units: list[str] = field(default_factory=list)
    energy: str | None = None
    usable_energy: str | None = None
    autonomy: str | None = None
    autonomy_full_load: str | None = None
    discharge_current: str | None = None
    discharge_rate: str | None = None
    charge_rate: str | None = None
    charge_limit: str | None = None
    largest_share: str | None = None
    fault_current: str | None = None
    fault_current_clearing: str | None = None
    absorption: str | None = None
    float: str | None = None
    low: str | None = None
    temperature_slope: str | None = None
    absorption_cold: str | None = None
    absorption_warm: str | None = None
    ventilation: str | None = None
    opening: str | None = None


@dataclass(frozen=True, kw_only=True)
class SolarRow(Row):
    """The strings, per unit."""

    cold_voc: str | None = None
    hot_vmp: str | None = None
    current: str | None = None
    short_circuit: str | None = None
    power: str | None = None
    series_from: int | None = None
    series_to: int | None = None
    series_best: int | None = None


@dataclass(frozen=True, kw_only=True)
class HourRow(Row):
    """One hour of the day."""

    hour: int
    load: str
    solar: str
    generator: str
    state: str


@dataclass(frozen=True, kw_only=True)
class DeviceRow(Row):
    """The protective device of a circuit."""

    kind: str
    rating: str | None = None
    breaking: str | None = None
    poles: int | None = None
    pole: str | None = None
    voltage: str | None = None


@dataclass(frozen=True, kw_only=True)
class PlaceRow(Row):
    """Where one thing hangs: its centre from the bottom left corner of the wall, and its size."""

    name: str
    x: str
    y: str
    width: str | None = None
    height: str | None = None


@dataclass(frozen=True, kw_only=True)
class CircuitRow(Row):
    """Conductors between two terminals with their own protective device."""

    name: str
    kind: Literal["battery", "load", "incoming", "solar", "earth"]
    from_: str
    to: str
    current: str | None = None
    length: str | None = None
    conductor: str | None = None
    parallel: int | None = None
    earth: str | None = None
    neutral: str | None = None
    metal: str | None = None
    insulation: str | None = None
    rated_temperature: str | None = None
    stranding: str | None = None
    voltage_class: str | None = None
    drop: str | None = None
    governed_by: str | None = None
    device: DeviceRow | None = None


@dataclass(frozen=True, kw_only=True)
class GearRow(Row):
    """One piece of switchgear, or `count` alike; `name` where it says more than `kind`, `conductor` of the neutral-earth link."""

    tag: str
    kind: str
    name: str | None = None
    circuit: str | None = None
    place: str
    poles: str
    rating: str | None = None
    breaking: str | None = None
    voltage: str | None = None
    count: int | None = None
    conductor: str | None = None


@dataclass(frozen=True, kw_only=True)
class BillRow(Row):
    """One line of the bill; `quantity` includes `spare`. `cut_from_reel`: not bought, a reel on the bill holds it.

    `mark`: what is wrong with it. `needed` is the section of the order of work, `step` the step in it that needs it first.
    """

    item: str
    specification: str
    quantity: int
    spare: int = 0
    order_ahead: bool = False
    goes_to: list[str] = field(default_factory=list)
    cut_from_reel: bool | None = None
    mark: str | None = None
    supplier: str | None = None
    needed: str | None = None
    step: str | None = None


@dataclass(frozen=True, kw_only=True)
class CutRow(Row):
    """Alike pieces of one circuit between the same two joints: which poles, of which colours, how many beside each other on each."""

    circuit: str
    poles: list[str]
    colours: list[str]
    from_: str
    to: str
    conductor: str
    length: str | None = None
    each: int = 1


@dataclass(frozen=True, kw_only=True)
class ReelRow(Row):
    """One reel, or a length cut in the shop, and what is cut from it; `bought` says which, `proof` why."""

    specification: str
    length: str
    cuts: list[str]
    offcut: str
    proof: str | None = None
    bought: str | None = None


@dataclass(frozen=True, kw_only=True)
class StepRow(Row):
    """One step of the procedure; `place` is its number, the same wherever it is done word for word, `id` what is done and where, `title` that in a
    few words.
    """

    place: int
    id: str | None = None
    title: str | None = None
    who: str
    do: str
    expect: str
    otherwise: str
    hold: bool = False


@dataclass(frozen=True, kw_only=True)
class Plan(Row):
    """`[plan]`"""

    revision: str
    digest: str | None = None
    made_with: str
    standing: Literal["ready", "cautions", "stopped"]
    proof: str | None = None
    unbalance: str | None = None
    day: str | None = None
    assumed: list[Assumption] = field(default_factory=list)
    findings: list[Noticed] = field(default_factory=list)
    units: list[UnitRow] = field(default_factory=list)
    chain: ChainRow = field(default_factory=ChainRow)
    loads: list[LoadRow] = field(default_factory=list)
    phases: list[PhaseRow] = field(default_factory=list)
    banks: list[BankRow] = field(default_factory=list)
    solar: SolarRow | None = None
    hours: list[HourRow] = field(default_factory=list)
    places: list[PlaceRow] = field(default_factory=list)
    circuits: list[CircuitRow] = field(default_factory=list)
    switchgear: list[GearRow] = field(default_factory=list)
    bill: list[BillRow] = field(default_factory=list)
    cuts: list[CutRow] = field(default_factory=list)
    reels: list[ReelRow] = field(default_factory=list)
    steps: list[StepRow] = field(default_factory=list)
