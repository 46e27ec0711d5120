"""One unit: what its plate, its manual and its terminals say."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import ConfigDict, Field, field_validator

from engine.site.kinds import (
    ApparentPower,
    BitRate,
    Capacitance,
    ConductorSize,
    Current,
    Fault,
    Length,
    Mass,
    Name,
    Part,
    Power,
    RatioOf,
    Some,
    SurgePower,
    Temperature,
    Time,
    Torque,
    Voltage,
    ask,
    some_up_to,
    up_to,
)
from engine.text import quoted

# Every setting a sheet may carry, with the values that have words of their own.
SETTINGS: Mapping[str, tuple[str, ...]] = {
    "arrangement": ("single-phase", "split-phase", "three-phase"),
    "phase": ("L1", "L2", "L3"),
    "role": ("lead", "follower"),
    "storage_mode": ("common", "separate"),
    "output_voltage": (),
    "output_frequency": (),
    "chemistry": ("lfp", "nmc", "flooded", "agm", "gel"),
    "managed_battery": ("yes", "no"),
    "charge_limit": (),
    "incoming_limit": (),
    "absorption": (),
    "float": (),
    "low": (),
    "temperature_slope": (),
}


Side = Literal["bottom", "left", "right"]  # of a unit, as one stands before it


class UnitSolar(Part):
    """`[unit.solar]`: the solar inputs of one unit"""

    trackers: Annotated[int, some_up_to("trackers per unit")] | None = ask(
        "Trackers of a unit", "Solar inputs per unit, each with its own tracker.", "The datasheet, or count the solar inputs."
    )
    voltage_max: Voltage | None = ask(
        "Destroyed above",
        "Above this the unit is destroyed: strings are checked against it on the coldest morning.",
        "The datasheet, maximum PV voltage.",
    )
    mppt_min: Voltage | None = ask("Tracker works from", "Below this the tracker does not work.", "The datasheet, MPPT range.")
    mppt_max: Voltage | None = ask("Tracker works to", "Above this the tracker gives less.", "The datasheet, MPPT range.")
    power_max: Power | None = ask("Solar power of one unit", "Most solar power a unit uses.", "The datasheet.")
    current_max: Current | None = ask("Current of a tracker", "Most current a tracker uses.", "The datasheet, maximum input current.")
    short_circuit_max: Current | None = ask(
        "Short circuit, tracker", "Most short-circuit current of a tracker's strings.", "The datasheet, maximum short-circuit current."
    )
    charge_current: Current | None = ask(
        "Charging by solar",
        "Most current the solar side charges the bank with, per unit.",
        "The datasheet, maximum solar charging current.",
    )


class UnitBus(Part):
    """`[unit.bus]`: the data ports of one unit"""

    ports: Annotated[list[Literal["plug", "socket"]], Field(min_length=1, max_length=4)] | None = ask(
        "Ports on the unit",
        "The data ports on the unit, each a plug or a socket.",
        "Look at the unit: a plug has pins, a socket takes them. One word for each port.",
    )
    link_lengths: Annotated[list[Length], Field(min_length=1), up_to("link lengths")] | None = ask(
        "Links are sold in", "Lengths the link cable is sold in.", "The price list of the link cable."
    )
    length_max: Length | None = ask(
        "Longest bus allowed", "Longest whole bus the manual allows.", "The manual's part on parallel operation."
    )
    bit_rate: BitRate | None = ask("Bit rate", "Speed of the data bus.", "The manual's part on communication.")
    kind: Literal["CAN", "RS-485"] | None = ask("Kind of bus", "Kind of data bus.", "The manual's part on communication.")
    screened: bool | None = ask("Screened cable", "Whether the link cable has a screen.", "The datasheet of the link cable.")


class Label(Part):
    """The maker's words for one setting and its values, copied by you from the manual"""

    model_config = ConfigDict(strict=True, frozen=True, extra="allow", allow_inf_nan=False, defer_build=True)
    __pydantic_extra__: dict[str, Name]

    name: Name | None = ask("Name of the setting", "What the maker calls the setting.")

    @property
    def words(self) -> Mapping[str, str]:
        """Our value -> the maker's word for it."""
        return dict(self.__pydantic_extra__)


class Unit(Part):
    """`[unit]`: all units of a site are identical"""

    model: Name | None = ask("Model of the unit", "The model, as it must be ordered.", "The plate.")
    max_units: Some | None = ask("Most units in a set", "Most units that may act together.", "The manual's part on parallel operation.")
    settle_time: Time | None = ask(
        "Wait between off and on",
        "Wait between switching off and on, so that settings are kept.",
        "The manual's part on settings; 10 s if it says nothing.",
    )
    real_power: Power | None = ask(
        "Power of one unit",
        "Continuous power of one unit.",
        "The plate or datasheet, continuous output in W at the temperature of the room.",
    )
    apparent_power: ApparentPower | None = ask(
        "Apparent power of a unit", "Continuous apparent power of one unit.", "The plate or datasheet, continuous output in VA."
    )
    surge_power: SurgePower | None = ask(
        "Surge power", "Short-time power of one unit, for starting motors.", "The datasheet, peak or surge power."
    )
    surge_time: Time | None = ask("Surge lasts", "How long it holds that.", "The datasheet, beside the surge power.")
    fault_current: Fault | None = ask(
        "Short-circuit current", "Current one unit gives into a short circuit.", "The datasheet or the maker: output short-circuit current."
    )
    efficiency: RatioOf | None = ask(
        "Efficiency", "Efficiency from battery to load.", "The datasheet; the value at full power, not the best one."
    )
    dc_min: Voltage | None = ask("Lowest battery voltage", "Lowest battery voltage it runs on.", "The datasheet, battery voltage range.")
    dc_max: Voltage | None = ask("Highest battery voltage", "Highest battery voltage it survives.", "The datasheet, battery voltage range.")
    charge_current: Current | None = ask(
        "Charging by one unit", "Most current one unit charges the bank with.", "The datasheet, maximum charging current."
    )
    transfer_current: Current | None = ask(
        "Transfer current",
        "Most current it passes through from the incoming side. Never assumed.",
        "The datasheet, AC input or transfer switch current.",
    )
    width: Length | None = ask("Width of a unit", "Width of the case.", "The drawing in the manual, or a tape.")
    height: Length | None = ask("Height of a unit", "Height of the case.", "The drawing in the manual, or a tape.")
    weight: Mass | None = ask("Weight of a unit", "Weight: above 25 kg two people lift.", "The datasheet.")
    clearance: Length | None = ask("Free space around a unit", "Free space it needs on every side.", "The manual's part on mounting.")
    dc_terminal_max: ConductorSize | None = ask(
        "Battery terminal takes", "Largest conductor its battery terminal takes.", "The manual's part on connecting the battery."
    )
    ac_terminal_max: ConductorSize | None = ask(
        "AC terminal takes", "Largest conductor its AC terminals take.", "The manual's part on connecting AC."
    )
    terminal_temperature: Temperature | None = ask(
        "Terminals rated for", "What its terminals are rated for.", "Marked at the terminal, or in the manual; leave it open if neither."
    )
    ripple: RatioOf | None = ask(
        "Ripple in the cable",
        "Share of the current pulses that reaches the battery cable; 1 unless the datasheet says less.",
        "The datasheet; otherwise leave it open.",
    )
    dc_capacitance: Capacitance | None = ask(
        "Battery-side capacitors",
        "Capacitors across its battery terminals: how long a pre-charge takes.",
        "The datasheet or the maker; otherwise leave it open.",
    )
    dc_stud: Annotated[str, Field(pattern=r"^(M(4|5|6|8|10|12)|1/4 in|5/16 in|3/8 in|1/2 in)$", examples=["M8"])] | None = ask(
        "Battery stud",
        "Stud of the battery terminal.",
        "The manual's part on connecting the battery, or a gauge.",
    )
    dc_torque: Torque | None = ask("Battery stud torque", "Torque of the battery terminal.", "The manual's part on connecting the battery.")
    ac_torque: Torque | None = ask("AC terminal torque", "Torque of the AC terminals.", "The manual's part on connecting AC.")
    terminals: Side | None = ask(
        "Power cables come in at",
        "Side of the case at which its power cables come in, seen from the front.",
        "Look at the unit, or at the drawing in the manual.",
    )
    port_side: Side | None = ask(
        "Side of the data ports",
        "Side of the case where its data ports are, seen from the front.",
        "Look at the unit, or at the drawing in the manual.",
    )
    solar: UnitSolar = UnitSolar.model_construct()
    bus: UnitBus = UnitBus.model_construct()
    labels: dict[str, Label] = {}

    @field_validator("labels")
    @classmethod
    def _known(cls, labels: dict[str, Label]) -> dict[str, Label]:
        for setting, label in labels.items():
            if setting not in SETTINGS:
                raise ValueError(f"found the setting {quoted(setting)}; wanted one of: {', '.join(SETTINGS)}")
            for value in label.words:
                if value not in SETTINGS[setting]:
                    values = ", ".join(("name", *SETTINGS[setting]))
                    raise ValueError(f"found {quoted(value)} under {setting}; wanted one of: {values}")
        return labels
