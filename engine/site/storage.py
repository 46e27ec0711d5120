"""The banks: their modules, how they are built up, and how they meet the units."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import Field, field_validator

from engine.site.kinds import (
    BankName,
    Capacity,
    Current,
    Fault,
    Part,
    RatioOf,
    Resistance,
    Share,
    Some,
    Tag,
    Time,
    Voltage,
    ask,
    some_up_to,
    up_to,
)
from engine.tables.bounds import most

Connection = Literal["common-bank", "bank-per-phase", "bank-per-unit"]
Chemistry = Literal["lfp", "nmc", "flooded", "agm", "gel"]
Feed = Literal["diagonal", "one end", "bar"]
FEEDS: Mapping[str, Feed] = {"diagonal": "diagonal", "one end": "one end", "bar": "bar"}
LEAD_ACID: tuple[Chemistry, ...] = ("flooded", "agm", "gel")


class Module(Part):
    """`[storage.module]`"""

    voltage: Voltage | None = ask("Module voltage", "Nominal voltage of one module.", "The label of the module.")
    cells: Some | None = ask("Cells in a module", "Cells in series inside one module.", "The datasheet; a 51.2 V LFP module has 16.")
    capacity: Capacity | None = ask("Module capacity", "Capacity of one module.", "The label of the module.")
    charge_current: Current | None = ask(
        "Module charging, most", "Most charging current of one module. Never assumed.", "The datasheet, continuous charging; not the peak."
    )
    discharge_current: Current | None = ask(
        "Module discharging, most",
        "Most discharging current of one module. Never assumed.",
        "The datasheet, continuous discharging; not the peak.",
    )
    resistance: Resistance | None = ask(
        "Module resistance", "Internal resistance of one module.", "The datasheet; or its short-circuit current."
    )
    absorption: Voltage | None = ask(
        "Charging voltage", "Charging voltage of one module.", "The datasheet, charging or absorption voltage."
    )
    float: Voltage | None = ask("Float voltage", "Float voltage of one module.", "The datasheet.")
    low: Voltage | None = ask(
        "Lowest voltage", "Voltage of one module at which discharging ends.", "The datasheet, end of discharge or cut-off voltage."
    )
    resistance_measured: bool | None = ask(
        "Resistance measured", "Whether that resistance was measured rather than stated.", "No, if it comes from a datasheet."
    )
    short_circuit_current: Fault | None = ask(
        "Module short circuit", "Short-circuit current of one module.", "The datasheet or the maker: it decides what the fuse must break."
    )


class Bank(Part):
    """`[storage.bank]`: all banks of a site are built alike"""

    series: Annotated[int, some_up_to("modules in series")] | None = ask(
        "Modules in series", "Modules in series.", "Count the modules between plus and minus."
    )
    parallel: Annotated[int, some_up_to("rows of modules in parallel")] | None = ask(
        "Strings in parallel",
        "How many strings (rows of modules in series) are joined side by side in a bank.",
        "Count the rows that are joined plus to plus.",
    )
    feed: Feed | None = ask(
        "Leads leave the row",
        "Where the two leads leave a row of modules: diagonal, both at one end, or from a bar.",
        "Look where the two leads to the units are bolted on.",
    )
    joint_resistance: Resistance | None = ask(
        "Joint resistance",
        "Resistance between neighbouring modules, per pole.",
        "A micro-ohmmeter across one joint; otherwise leave it open.",
    )


class DataLink(Part):
    """One `[[storage.links]]`: a data cable from a managed bank to a unit"""

    bank: BankName | None = ask("From bank", "The bank.", "The name of the bank: B1, B2.")
    unit: Tag | None = ask("To unit", "The unit its data cable is plugged into.", "Follow the data cable.")


class Storage(Part):
    """`[storage]`"""

    connection: Connection | None = ask(
        "How banks meet units",
        "How banks meet units: one common bank, a bank per phase, or a bank per unit.",
        "Follow the battery cables of every unit, or the drawing if nothing hangs yet.",
    )
    chemistry: Chemistry | None = ask("Kind of cells", "Kind of cells.", "The label of the module.")
    managed: bool | None = ask(
        "Management of its own",
        "Whether the bank has its own management that can open its circuit.",
        "The datasheet: a battery management with its own contactor or switch.",
    )
    autonomy: Time | None = ask("Must last", "How long it must carry the loads alone.", "Ask the owner: the longest night or outage.")
    depth: Share | None = ask(
        "Share to be used", "Share of the capacity that may be used.", "The datasheet, depth of discharge for the life you want."
    )
    earthed: Literal["none", "minus", "plus"] | None = ask(
        "Earthed pole",
        "Which battery pole is earthed. Unanswered: both poles are protected.",
        "With the bank isolated, an ohmmeter from each pole to earth.",
    )
    fuse_factor: RatioOf | None = ask(
        "Fuse in its warm box",
        "Share of its rating that a battery fuse carries for hours in its warm box. Unanswered: told above 90 %.",
        "The fuse's datasheet: its factor for the temperature of the air around it.",
    )
    holder: Literal["on the bar", "cabled"] | None = ask(
        "Fuse holders sit",
        "What each battery fuse holder is bolted to: the bar that feeds it, or a cable from there.",
        "Look at the bar, or at the holder that was bought. It counts lugs and short pieces of cable.",
    )
    module: Module = Module.model_construct()
    bank: Bank = Bank.model_construct()
    wired: Annotated[
        dict[Tag, BankName],
        Field(
            title="The bank as wired",
            description="The bank that each unit's battery cables really go to.",
            json_schema_extra={"x-how": "Trace the pair by hand from the unit's terminals to the bank, with the bank isolated."},
        ),
    ] = {}
    links: Annotated[list[DataLink], up_to("data links", "Data cables from banks", "data cable")] = []

    @field_validator("wired", mode="before")
    @classmethod
    def _no_more_than_units(cls, wired: object) -> object:
        if isinstance(wired, dict) and len(wired) > most("units"):
            raise ValueError(f"found {len(wired)} units; wanted at most {most('units')}")
        return wired
