"""The answers of one site: what a person typed, read and checked, every one of them optional."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Any

from pydantic import Field

from engine.site.kinds import Name, Part, Some, ask
from engine.site.loads import Load
from engine.site.place import Drop, Earthing, Location
from engine.site.solar import Solar
from engine.site.storage import Storage
from engine.site.supply import Incoming, Output, Set
from engine.site.unit import Unit
from engine.site.wall import BusNode, Route, Wall

# Rises where a key goes, changes its meaning or becomes a must, with a step in `files.migrate`; not for one that is added: an older file
# is then read as it is, and an older program refuses the key by its name and line. The number stands among the answers as they were
# typed, and in their revision, so that raising it makes every paper one of other answers.
SCHEMA = 1

__all__ = ["SCHEMA", "Answers", "Record"]


class Record(Part):
    """One `[[record]]`: what was measured on site; outside the revision"""

    step: Some | None = ask("The step of the procedure.")
    value: Name | None = ask("What was read.")
    instrument: Name | None = ask("With what.")
    person: Name | None = ask("By whom.")
    at: dt.datetime | None = ask("When.")
    revision: Annotated[str, Field(pattern=r"^[0-9a-f]{8}$")] | None = ask("The revision the reading was made against.")


class Answers(Part):
    """A site file: answers alone are a draft, answers with a plan are a plan."""

    schema_: Annotated[int, Field(alias="schema", ge=1, le=SCHEMA, description="Version of the file's form.")] = SCHEMA
    site: Location = Location.model_construct()
    earthing: Earthing = Earthing.model_construct()
    output: Output = Output.model_construct()
    incoming: Incoming = Incoming.model_construct()
    set: Set = Set.model_construct()
    unit: Unit = Unit.model_construct()
    loads: Annotated[list[Load], Field(max_length=500)] = []
    storage: Storage = Storage.model_construct()
    solar: Solar = Solar.model_construct()
    wall: Wall = Wall.model_construct()
    routes: Annotated[list[Route], Field(max_length=500)] = []
    bus_nodes: Annotated[list[BusNode], Field(max_length=20)] = []
    drop: Drop = Drop.model_construct()
    plan: dict[str, Any] | None = Field(default=None, description="What the program computed; replaced by the next plan.")
    record: Annotated[list[Record], Field(max_length=5000)] = []
