"""The answers of one site: what a person typed, read and checked, every one of them optional."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Any

from pydantic import Field, field_validator

from engine.site.kinds import Name, Part, Some, ask, up_to
from engine.site.loads import Load
from engine.site.place import Drop, Earthing, Location
from engine.site.solar import Solar
from engine.site.storage import Storage
from engine.site.supply import Incoming, Output, Set
from engine.site.unit import Unit
from engine.site.wall import BusNode, Route, Wall
from engine.tables.bounds import most

# Rises where a key goes, changes its meaning or becomes a must, with a step in `files.migrate`; not for one that is added: an older file
# is then read as it is, and an older program refuses the key by its name and line. The number stands among the answers as they were
# typed, and in their revision, so that raising it makes every paper one of other answers.
SCHEMA = 1

__all__ = ["SCHEMA", "Answers", "Record"]


class Record(Part):
    """One `[[record]]`: what was measured on site; outside the revision"""

    step: Some | None = ask("Step", "The step of the procedure.")
    value: Name | None = ask("Reading", "What was read.")
    instrument: Name | None = ask("Instrument", "With what.")
    person: Name | None = ask("Read by", "By whom.")
    at: dt.datetime | None = ask("When", "Day and time.")
    revision: Annotated[str, Field(pattern=r"^[0-9a-f]{8}$")] | None = ask("Revision", "The revision the reading was made against.")


class Answers(Part):
    """A site file: answers alone are a draft, answers with a plan are a plan."""

    schema_: Annotated[int, Field(alias="schema", ge=1, le=SCHEMA, description="Version of the file's form.")] = SCHEMA
    site: Location = Location.model_construct()
    earthing: Earthing = Earthing.model_construct()
    output: Output = Output.model_construct()
    incoming: Incoming = Incoming.model_construct()
    set: Set = Set.model_construct()
    unit: Unit = Unit.model_construct()
    loads: Annotated[list[Load], up_to("loads", "Loads", "load")] = []
    storage: Storage = Storage.model_construct()
    solar: Solar = Solar.model_construct()
    wall: Wall = Wall.model_construct()
    routes: Annotated[list[Route], up_to("routes", "Routes", "route")] = []
    bus_nodes: Annotated[list[BusNode], up_to("bus nodes", "Other devices on the bus", "device")] = []
    drop: Drop = Drop.model_construct()
    plan: dict[str, Any] | None = Field(default=None, description="What the program computed; replaced by the next plan.")
    record: Annotated[list[Record], up_to("records")] = []

    @field_validator("loads")
    @classmethod
    def _countable(cls, loads: list[Load]) -> list[Load]:
        machines = sum(load.quantity or 1 for load in loads)
        if machines > most("machines"):
            raise ValueError(f"found {machines} machines in all; wanted at most {most('machines')}: join small ones that are alike")
        return loads

    @field_validator("routes")
    @classmethod
    def _few_lanes(cls, routes: list[Route]) -> list[Route]:
        lanes = len({route.lane for route in routes if route.lane is not None})
        if lanes > most("lanes"):
            raise ValueError(f"found {lanes} different lanes; wanted at most {most('lanes')}: a lane is the height of a tray or trunking")
        return routes
