"""What a field of the answers may be: a quantity, a size, a rating, a name, a tag; and how it is asked."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from typing import Annotated, Any, get_args

from pydantic import BaseModel, ConfigDict, Field, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic.fields import FieldInfo
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, core_schema

from engine.frozen import dataclass
from engine.quantities import KINDS, NUMBER, Kind, read
from engine.tables import machines
from engine.tables.bounds import most
from engine.tables.ratings import read_rating
from engine.tables.sizes import read_size
from engine.text import quoted


@dataclass(frozen=True)
class Reads:
    """Annotation of a float that is typed as a quantity of one kind."""

    kind: Kind

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        kind = self.kind
        return core_schema.no_info_plain_validator_function(lambda value: read(kind, _plain(value, kind)))

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        told: JsonSchemaValue = {"type": ["string", "number"] if self.kind.bare else "string", "examples": [self.kind.example]}
        if not self.kind.bare:
            # Which units there are the program knows: more than anybody would list. None has a digit, a sign or a bracket.
            told["pattern"] = rf"^\s*{NUMBER}\s*[^-+*^()0-9\s][^+*^()0-9]*$"
        return told | {"x-kind": self.kind.name, "x-unit": self.kind.unit, "x-units": list(self.kind.spellings)}


@dataclass(frozen=True)
class ReadsWith:
    """Annotation of a float that a reader of tables understands: a conductor size, a rating."""

    name: str
    unit: str
    example: str
    reader: Callable[[str], float]

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self._read)

    def _read(self, value: object) -> float:
        if not isinstance(value, str):
            found = value if isinstance(value, int | float) else type(value).__name__
            raise ValueError(f"found {found}; wanted {self.name} as text (for example {self.example!r})")
        return self.reader(value)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        return {"type": "string", "examples": [self.example], "x-kind": self.name, "x-unit": self.unit}


@dataclass(frozen=True)
class Named:
    """Annotation of a text that is one of the many names of a table; `nearest` is the one that a wrong name most likely means."""

    what: str
    names: Callable[[], tuple[str, ...]]
    nearest: Callable[[str], str]

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self._read)

    def _read(self, value: object) -> str:
        if not isinstance(value, str):
            raise ValueError(f"found {type(value).__name__}; wanted {self.what} by its name, in quotes")
        if value not in self.names():
            raise ValueError(f"found {quoted(value)}; wanted {self.what} of the list; the nearest known one is {self.nearest(value)!r}")
        return value

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        return {"type": "string", "enum": list(self.names())}


def _plain(value: object, kind: Kind) -> str | float:
    if isinstance(value, str | int | float):
        return value
    raise ValueError(f"found {type(value).__name__}; wanted {kind.wanted}")


Length = Annotated[float, Reads(KINDS["length"])]
Altitude = Annotated[float, Reads(KINDS["altitude"])]
Temperature = Annotated[float, Reads(KINDS["temperature"])]
Voltage = Annotated[float, Reads(KINDS["voltage"])]
Current = Annotated[float, Reads(KINDS["current"])]
Fault = Annotated[float, Reads(KINDS["fault"])]
Power = Annotated[float, Reads(KINDS["power"])]
ApparentPower = Annotated[float, Reads(KINDS["apparent power"])]
SurgePower = Annotated[float, Reads(KINDS["surge power"])]
Time = Annotated[float, Reads(KINDS["time"])]
Frequency = Annotated[float, Reads(KINDS["frequency"])]
EnergyPerDay = Annotated[float, Reads(KINDS["energy per day"])]
Capacity = Annotated[float, Reads(KINDS["capacity"])]
Resistance = Annotated[float, Reads(KINDS["resistance"])]
Capacitance = Annotated[float, Reads(KINDS["capacitance"])]
Mass = Annotated[float, Reads(KINDS["mass"])]
Torque = Annotated[float, Reads(KINDS["torque"])]
BitRate = Annotated[float, Reads(KINDS["bit rate"])]
Coefficient = Annotated[float, Reads(KINDS["coefficient"])]
Share = Annotated[float, Reads(KINDS["share"])]
Limit = Annotated[float, Reads(KINDS["limit"])]
RatioOf = Annotated[float, Reads(KINDS["ratio"])]
Demand = Annotated[float, Reads(KINDS["demand"])]
PowerFactor = Annotated[float, Reads(KINDS["power factor"])]
Plain = Annotated[float, Reads(KINDS["number"])]

# A conductor size is kept as its area: the label belongs to the rule book, not to the answer.
ConductorSize = Annotated[float, ReadsWith("conductor size", "m**2", "35 mm2", lambda text: read_size(text).area)]
Rating = Annotated[float, ReadsWith("rating", "A", "63 A", read_rating)]

# Not a Literal: the names stand in a table, which is read once somebody answers one.
MachineName = Annotated[str, Named("a machine", machines.names, machines.nearest)]

Tag = Annotated[str, Field(pattern=r"^L[123]-[1-9][0-9]?$", examples=["L1-1"])]
BankName = Annotated[str, Field(pattern=r"^B[1-9][0-9]?$", examples=["B1"])]
Name = Annotated[str, Field(min_length=1, max_length=200)]
Count = Annotated[int, Field(ge=0, le=1000)]
Some = Annotated[int, Field(ge=1, le=1000)]


def up_to(bound: str, title: str | None = None, one: str | None = None) -> Any:
    """The mark of a list that holds no more than the bound of that name; what it is called, and what one entry of it is."""
    return Field(max_length=most(bound), title=title, json_schema_extra={"x-one": one} if one else None)


def some_up_to(bound: str) -> Any:
    """The mark of a count from 1 to the bound of that name."""
    return Field(ge=1, le=most(bound))


class Part(BaseModel):
    """One table of the answers. Every field is optional: a key that is present is answered."""

    # Built when first used: the answers as a whole are, their parts alone seldom.
    model_config = ConfigDict(strict=True, frozen=True, extra="forbid", allow_inf_nan=False, defer_build=True)

    note: Annotated[str, Field(max_length=2000)] | None = Field(
        default=None, description="A remark of your own; the plan does not depend on it."
    )


def ask(title: str, why: str, how: str = "") -> Any:
    """A field nobody has answered yet: the question's short name, why it is asked, and how to find it out on site."""
    return Field(default=None, title=title, description=why, json_schema_extra={"x-how": how} if how else None)


def reading(field: FieldInfo) -> Reads | ReadsWith | None:
    """How a field's text becomes a float, or None where the field is no quantity."""
    for hint in (field.annotation, *get_args(field.annotation)):
        for mark in (*field.metadata, *getattr(hint, "__metadata__", ())):
            if isinstance(mark, Reads | ReadsWith):
                return mark
    return None


@cache
def readings(part: type[BaseModel]) -> Mapping[str, Reads | ReadsWith | None]:
    """How the text of each field of a table becomes a float, by the field's name."""
    return {name: reading(field) for name, field in part.model_fields.items()}


def unit_of(mark: Reads | ReadsWith) -> str:
    """The SI unit of what is read."""
    return mark.kind.unit if isinstance(mark, Reads) else mark.unit


def parse(mark: Reads | ReadsWith, text: str) -> float:
    """Text as the field would read it; raises `Refused`."""
    return read(mark.kind, text) if isinstance(mark, Reads) else mark.reader(text)


def part_of(hint: Any) -> type[BaseModel] | None:
    """The model inside an annotation such as `list[Load] | None`, or None."""
    if isinstance(hint, type) and issubclass(hint, BaseModel):
        return hint
    return next((found for arg in get_args(hint) if (found := part_of(arg))), None)
