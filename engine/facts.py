"""The answers completed by assumptions, in SI; every value knows whether it was answered or assumed."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Literal, TypeVar

from pydantic import BaseModel

from engine.keys import labelled
from engine.quantities import shown
from engine.site import Answers
from engine.site.keys import LoadQuantity, QuantityKey, RouteQuantity, RouteWord
from engine.site.kinds import Part, parse, reading, unit_of
from engine.site.storage import LEAD_ACID
from engine.site.supply import Incoming
from engine.site.unit import Unit
from engine.site.wall import Carries, Route
from engine.tables import table
from engine.workings import Figure, answered, assumed

P = TypeVar("P", bound=Part)

CIRCUIT_KINDS: tuple[Carries, ...] = ("battery", "load", "incoming", "solar", "earth", "comms")


@dataclass(frozen=True)
class Assumed:
    """A value that nobody answered and the engine took."""

    key: str
    value: str
    why: str
    source: str


@dataclass(frozen=True)
class Facts:
    """Everything known of a site: `answers` with assumptions filled in, and a figure per quantity by key."""

    answers: Answers
    assumed: tuple[Assumed, ...]
    figures: Mapping[str, Figure]
    load_keys: tuple[str, ...]
    route_keys: tuple[str, ...]

    @property
    def rules(self) -> str:
        """The rule book: "iec" or "nec"."""
        return self.answers.site.rules or "iec"

    @property
    def solar(self) -> bool:
        """Whether the site says anything of solar panels."""
        return has_solar(self.answers)

    @property
    def earthed_pole(self) -> Literal["minus", "plus"] | None:
        """The battery pole that is earthed; None also where nobody said, for then both are protected."""
        pole = self.answers.storage.earthed
        return None if pole == "none" else pole

    @property
    def phases(self) -> tuple[str, ...]:
        """The phases of the output; empty where the arrangement is not answered."""
        return {"single-phase": ("L1",), "split-phase": ("L1", "L2"), "three-phase": ("L1", "L2", "L3"), None: ()}[
            self.answers.output.arrangement
        ]

    def figure(self, key: QuantityKey) -> Figure | None:
        """The figure of a quantity's key, or None where it is neither answered nor assumed."""
        return self.figures.get(key)

    def value(self, key: QuantityKey) -> float | None:
        """Its value in SI, or None."""
        figure = self.figures.get(key)
        return figure.value if figure else None

    def have(self, *keys: QuantityKey) -> tuple[Figure, ...] | None:
        """The figures of all these keys, or None where one is missing (ask `missing` which)."""
        known = tuple(f for key in keys if (f := self.figures.get(key)))
        return known if len(known) == len(keys) else None

    def missing(self, *keys: QuantityKey) -> tuple[QuantityKey, ...]:
        """Those of the keys that have no figure."""
        return tuple(key for key in keys if key not in self.figures)

    def load(self, key: str, name: LoadQuantity) -> Figure | None:
        """One quantity of the load of that key."""
        return self.figures.get(f"{key}.{name}")

    def place(self, key: str, axis: Literal["x", "y"]) -> Figure | None:
        """One coordinate of the place on the wall of that key."""
        return self.figures.get(f"{key}.{axis}")

    def route(self, carries: Carries, to: str | None, name: RouteWord) -> str | None:
        """A word of the routes of a kind, the latest entry for `to` before the kind's own; None where nobody said."""
        place = self._route(carries, to, name)
        return None if place is None else str(getattr(self.answers.routes[place], name))

    def grouped(self, carries: Carries, to: str | None) -> int | None:
        """How many circuits lie together there, as answered."""
        place = self._route(carries, to, "grouped")
        return None if place is None else self.answers.routes[place].grouped

    def route_figure(self, carries: Carries, to: str | None, name: RouteQuantity) -> Figure | None:
        """The same for a quantity of theirs."""
        place = self._route(carries, to, name)
        return None if place is None else self.figures[f"{self.route_keys[place]}.{name}"]

    def lane(self, carries: Carries, to: str | None = None) -> int | None:
        """The height of a lane in whole millimetres."""
        figure = self.route_figure(carries, to, "lane")
        return None if figure is None else round(figure.value * 1000)

    def _route(self, carries: Carries, to: str | None, name: str) -> int | None:
        for place in reversed(range(len(self.answers.routes))):
            route = self.answers.routes[place]
            if route.carries == carries and route.to in (None, to) and getattr(route, name) is not None:
                return place
        return None


def has_solar(answers: Answers) -> bool:
    """Whether any question on the panels is answered."""
    return any(
        getattr(answers.solar, name) is not None
        for name in type(answers.solar).model_fields
        if name not in ("note", "trackers", "parallel")
    )


def assume(answers: Answers) -> Facts:
    """Complete the answers; every value taken is listed in `assumed`."""
    taken: list[Assumed] = []
    completed = answers.model_copy(
        update={
            **{
                name: _complete(getattr(answers, name), name, answers, taken) for name in ("site", "drop", "unit", "wall", "storage", "set")
            },
            **({"solar": _complete(answers.solar, "solar", answers, taken)} if has_solar(answers) else {}),
        }
    )
    # What follows depends on what was just taken: the rule book decides the usual voltage.
    completed = completed.model_copy(update={"output": _complete(completed.output, "output", completed, taken)})
    completed = completed.model_copy(update={"incoming": _incoming(completed, taken)})
    completed = completed.model_copy(update={"unit": _unit(completed.unit, taken)})
    keys = tuple(labelled("loads", (load.name for load in answers.loads)))
    loads = [_complete(load, key, completed, taken) for key, load in zip(keys, answers.loads, strict=True)]
    completed = completed.model_copy(update={"loads": loads, "routes": [*_routes(completed, taken), *answers.routes]})
    route_keys = tuple(_route_keys(completed.routes))
    wanted = {a.key: a for a in taken}
    figures = {key: _figure(key, value, unit, wanted) for key, value, unit in _walk(completed, keys, route_keys)}
    return Facts(completed, tuple(taken), figures, keys, route_keys)


def _unit(unit: Unit, taken: list[Assumed]) -> Unit:
    """The unit, its apparent power taken as its real power where only that is said: it cannot be less."""
    if unit.apparent_power is not None or not unit.real_power:
        return unit
    taken.append(
        Assumed(
            "unit.apparent_power",
            shown(unit.real_power, "VA"),
            "the same as the real power: it cannot be less",
            "definition of apparent power",
        )
    )
    return unit.model_copy(update={"apparent_power": unit.real_power})


def _incoming(answers: Answers, taken: list[Assumed]) -> Incoming:
    """The incoming side, taken as the output side where it is not said."""
    incoming = _complete(answers.incoming, "incoming", answers, taken)
    update: dict[str, object] = {}
    for name, source in (("arrangement", answers.output.arrangement), ("voltage", answers.output.voltage)):
        if getattr(incoming, name) is None and source is not None and answers.incoming.kind != "none":
            update[name] = source
            text = shown(source, "V") if isinstance(source, float) else source
            taken.append(Assumed(f"incoming.{name}", text, "the same as the output", "common practice, no source"))
    return incoming.model_copy(update=update)


def _routes(answers: Answers, taken: list[Assumed]) -> Iterator[Route]:
    """A route per kind of circuit with every assumption; what was answered stands later and wins."""
    for carries in CIRCUIT_KINDS:
        if (carries == "solar" and not has_solar(answers)) or (carries == "incoming" and answers.incoming.kind == "none"):
            continue
        said = {n for r in answers.routes if r.carries == carries and r.to is None for n in Route.model_fields if getattr(r, n) is not None}
        skip = frozenset(said | ({"method", "insulation", "metal"} if carries == "comms" else set()))
        yield _complete(Route(carries=carries), f"routes[{carries}]", answers, taken, skip)


def _route_keys(routes: list[Route]) -> list[str]:
    return labelled("routes", (" ".join(t for t in (r.carries, r.to) if t) for r in routes))


def _complete(part: P, key: str, answers: Answers, taken: list[Assumed], skip: frozenset[str] = frozenset()) -> P:
    """A copy of the part, and of the parts within, with the assumptions that fit; what was taken is added to `taken`."""
    update: dict[str, object] = {}
    for name, field in type(part).model_fields.items():
        value = getattr(part, name)
        if isinstance(value, Part):
            update[name] = _complete(value, f"{key}.{name}", answers, taken)
        elif value is None and name not in skip and (row := _assumption(key, name, part, answers)):
            mark, text = reading(field), row["value"]
            update[name] = parse(mark, text) if mark else _word(text)
            shown_text = shown(value_taken, unit_of(mark)) if mark and isinstance(value_taken := update[name], float) else text
            taken.append(Assumed(f"{key}.{name}", shown_text, row["why"], row["source"]))
            part = part.model_copy(update={name: update[name]})
    return part.model_copy(update=update)


def _word(text: str) -> str | int | bool:
    return {"yes": True, "no": False}.get(text, int(text) if text.isdigit() else text)


def _assumption(key: str, name: str, part: Part, answers: Answers) -> Mapping[str, str] | None:
    """The first row of the table of assumptions that fits this key of this part."""
    general = re.sub(r"\[[^]]*\]", "[]", key)
    for row in _assumptions().get(f"{key}.{name}", ()) or _assumptions().get(f"{general}.{name}", ()):
        if _fits(row["when"], part, answers):
            return row
    return None


@cache
def _assumptions() -> Mapping[str, list[Mapping[str, str]]]:
    rows: dict[str, list[Mapping[str, str]]] = {}
    for row in table("assumptions").rows:
        told = {column: str(cell or "") for column, cell in row.items()}
        rows.setdefault(told["key"], []).append(told)
    return rows


def _fits(when: str, part: Part, answers: Answers) -> bool:
    """Whether the circumstance that narrows a row holds."""
    return {
        "": True,
        "rules=nec": answers.site.rules == "nec",
        "chemistry=lead": answers.storage.chemistry in LEAD_ACID,
        "motor": getattr(part, "motor", None) is True,
        "solar": True,
    }[when]


def _walk(part: BaseModel, load_keys: tuple[str, ...], route_keys: tuple[str, ...], prefix: str = "") -> Iterator[tuple[str, float, str]]:
    """Key, value and unit of every quantity in the answers."""
    for name, field in type(part).model_fields.items():
        value, key = getattr(part, name), f"{prefix}{name}"
        mark = reading(field)
        if isinstance(value, BaseModel):
            yield from _walk(value, load_keys, route_keys, f"{key}.")
        elif isinstance(value, list) and value and isinstance(value[0], BaseModel):
            keys = {"loads": load_keys, "routes": route_keys}.get(key) or tuple(
                labelled(key, (getattr(item, "tag", None) for item in value))
            )
            for item_key, item in zip(keys, value, strict=True):
                yield from _walk(item, load_keys, route_keys, f"{item_key}.")
        elif mark is not None and isinstance(value, float):
            yield key, value, unit_of(mark)
        elif isinstance(value, int) and not isinstance(value, bool) and name != "schema_":
            yield key, float(value), "1"


def _figure(key: str, value: float, unit: str, wanted: Mapping[str, Assumed]) -> Figure:
    if key in wanted:
        return assumed(key, value, unit, wanted[key].why, wanted[key].source)
    return answered(key, value, unit)
