"""The plan as it stands in the file: what was computed, in words and figures with their units.

The stages' parts hold `Figure`s; here they have become text, in the order in which the file is read.
A field that does not apply, or could not be computed, is left out (None).
"""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict, Field


class Row(BaseModel):
    """One table of the plan."""

    model_config = ConfigDict(strict=True, frozen=True, extra="forbid", populate_by_name=True)


class Assumption(Row):
    """A value nobody answered and the engine took."""

    key: str
    value: str
    why: str
    source: str | None = None


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


class SettingRow(Row):
    """One setting of one unit: our word, the value, the maker's word for the setting, why."""

    setting: str
    value: str
    label: str | None = None
    value_label: str | None = None
    why: str
    confirm: bool | None = None
    assumed: bool | None = None


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
    settings: list[SettingRow] = []


class LinkRow(Row):
    """One comms link, in the order of the chain."""

    from_: str = Field(alias="from")
    from_port: str | None = None
    to: str
    to_port: str | None = None
    length: str | None = None
    stock: str | None = None


class TerminatorRow(Row):
    """What closes one open end of the chain."""

    unit: str
    port: str | None = None
    kind: str | None = None


class ChainRow(Row):
    """The comms chain."""

    order: list[str] = []
    length: str | None = None
    proof: str | None = None
    closest_to_power: str | None = None
    beside_power: str | None = None
    crossings: int | None = None
    links: list[LinkRow] = []
    terminators: list[TerminatorRow] = []


class LoadRow(Row):
    """How many copies of one load are on each phase; pairs with the answers by position."""

    name: str
    on: list[int]


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


class BankRow(Row):
    """One bank."""

    name: str
    units: list[str] = []
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
    ventilation: str | None = None
    opening: str | None = None


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


class HourRow(Row):
    """One hour of the day."""

    hour: int
    load: str
    solar: str
    generator: str
    state: str


class DeviceRow(Row):
    """The protective device of a circuit."""

    kind: str
    rating: str | None = None
    breaking: str | None = None
    poles: int | None = None
    pole: str | None = None
    voltage: str | None = None


class CircuitRow(Row):
    """Conductors between two terminals with their own protective device."""

    name: str
    kind: Literal["battery", "load", "incoming", "solar", "earth"]
    from_: str = Field(alias="from")
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


class BillRow(Row):
    """One line of the bill; `quantity` includes `spare`. `cut_from_reel`: not bought, a reel on the bill holds it."""

    item: str
    specification: str
    quantity: int
    spare: int = 0
    order_ahead: bool = False
    goes_to: list[str] = []
    cut_from_reel: bool | None = None


class ReelRow(Row):
    """One reel and what is cut from it."""

    specification: str
    length: str
    cuts: list[str]
    offcut: str
    proof: str | None = None


class StepRow(Row):
    """One step of the procedure."""

    place: int
    who: str
    do: str
    expect: str
    otherwise: str
    hold: bool = False


class Plan(Row):
    """`[plan]`"""

    revision: str
    digest: str | None = None
    made_with: str
    standing: Literal["ready", "cautions", "stopped"]
    proof: str | None = None
    unbalance: str | None = None
    assumed: list[Assumption] = []
    findings: list[Noticed] = []
    units: list[UnitRow] = []
    chain: ChainRow = ChainRow()
    loads: list[LoadRow] = []
    phases: list[PhaseRow] = []
    banks: list[BankRow] = []
    solar: SolarRow | None = None
    hours: list[HourRow] = []
    circuits: list[CircuitRow] = []
    bill: list[BillRow] = []
    reels: list[ReelRow] = []
    steps: list[StepRow] = []
