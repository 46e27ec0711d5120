"""The answers completed by assumptions, in SI; every value knows whether it was answered or assumed."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from typing import Literal, TypeVar

from pydantic import BaseModel

from engine.frozen import dataclass
from engine.keys import labelled
from engine.quantities import KINDS, Metre, read, shown, told
from engine.site import Answers
from engine.site.keys import InsteadKey, LoadQuantity, QuantityKey, RouteQuantity, RouteWord, TakenKey
from engine.site.kinds import Part, parse, readings, unit_of
from engine.site.loads import Load
from engine.site.solar import Solar
from engine.site.storage import LEAD_ACID, Feed
from engine.site.supply import LINES, Incoming, IncomingKind
from engine.site.unit import Unit
from engine.site.wall import Carries, Route
from engine.tables import machines, table
from engine.workings import Figure, answered, assumed

P = TypeVar("P", bound=Part)

CIRCUIT_KINDS: tuple[Carries, ...] = ("battery", "load", "incoming", "solar", "earth", "comms")
_LAID: tuple[RouteWord, ...] = ("method", "insulation", "metal")


@dataclass(frozen=True)
class Assumed:
    """A value that nobody answered and the engine took."""

    key: str
    value: str
    why: str
    source: str


@dataclass(frozen=True)
class Instead:
    """A value that is taken where nothing would do with the one that is assumed, and what it means."""

    value: str
    means: str
    source: str


@dataclass(frozen=True)
class Facts:
    """Everything known of a site: `answers` with assumptions filled in, and a figure per quantity by key.

    `routes` are the entries on how cables run, each with its key: first what was taken for a kind (`of_kinds` tells it by kind and
    name), then what was said of a kind, last what was said of one circuit, and a later one stands behind an earlier one (S16).
    """

    answers: Answers
    assumed: tuple[Assumed, ...]
    of_kinds: Mapping[tuple[Carries, str], Assumed]
    figures: Mapping[str, Figure]
    load_keys: tuple[str, ...]
    routes: tuple[tuple[str, Route], ...]

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
        arrangement = self.answers.output.arrangement
        return LINES[arrangement] if arrangement else ()

    @property
    def incoming_lines(self) -> tuple[str, ...]:
        """The lines that come in; those of the output where nothing else is known, none where nothing comes in."""
        arrangement = self.answers.incoming.arrangement
        return () if self.incoming_kind == "none" else LINES[arrangement] if arrangement else self.phases

    @property
    def incoming_kind(self) -> IncomingKind:
        """What feeds the set besides the battery."""
        kind = self.answers.incoming.kind
        assert kind is not None  # a row of the assumptions sees to it
        return kind

    @property
    def spare(self) -> int:
        """Units that may be out on a phase."""
        return self._count("set.spare")

    @property
    def series(self) -> int:
        """Modules in series in a string of a bank."""
        return self._count("storage.bank.series")

    @property
    def strings_in_parallel(self) -> int:
        """Strings of modules in parallel in a bank."""
        return self._count("storage.bank.parallel")

    @property
    def feed(self) -> Feed:
        """Where the two leads leave a row of modules."""
        feed = self.answers.storage.bank.feed
        assert feed is not None  # a row of the assumptions sees to it
        return feed

    @property
    def trackers(self) -> int:
        """Solar inputs used per unit, where the site has solar."""
        return self._count("solar.trackers")

    @property
    def strings_on_tracker(self) -> int:
        """Strings of panels in parallel on one solar input, where the site has solar."""
        return self._count("solar.parallel")

    @property
    def unit_size(self) -> tuple[Metre, Metre]:
        """Width and height of a unit's case."""
        return self.figures["unit.width"].value, self.figures["unit.height"].value

    @property
    def clearance(self) -> Metre:
        """The free space that a unit needs on every side."""
        return self.figures["unit.clearance"].value

    @property
    def output_voltage(self) -> Figure:
        """Phase to neutral."""
        return self.figures["output.voltage"]

    @property
    def output_frequency(self) -> Figure:
        """The frequency of the set."""
        return self.figures["output.frequency"]

    @property
    def ambient(self) -> Figure:
        """The hottest air around the gear."""
        return self.figures["site.ambient_max"]

    def _count(self, key: QuantityKey) -> int:
        return round(self.figures[key].value)

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

    def taken(self, key: TakenKey) -> Figure:
        """What a stage takes because no question asks for it, or because it makes more of it; listed where it goes into the plan."""
        row = next(
            row for row in table("taken").rows if row["key"] == key and _fits(str(row["when"] or ""), self.answers.site, self.answers)
        )
        kind = KINDS[str(row["kind"])]
        return assumed(key, read(kind, str(row["value"])), kind.unit, str(row["why"]), str(row["source"]))

    def assumes(self, key: str) -> bool:
        """Whether nobody answered that key and it was taken."""
        return any(taken.key == key for taken in self.assumed)

    def assumes_method(self, carries: Carries, to: str | None) -> bool:
        """Whether nobody answered how a circuit is laid."""
        return not any(r.method for r in self.answers.routes if r.carries == carries and r.to in (None, to))

    def instead(self, key: InsteadKey) -> tuple[Instead, ...]:
        """What is taken instead of an assumed value where nothing would do with it, in the order in which it is tried (S31)."""
        found = table("instead")
        rows = (row for row in found.rows if row["key"] == key and row["rules"] in (None, self.rules))
        return tuple(Instead(str(row["value"]), str(row["means"]), found.told) for row in rows)

    def load(self, key: str, name: LoadQuantity) -> Figure | None:
        """One quantity of the load of that key."""
        return self.figures.get(f"{key}.{name}")

    def place(self, key: str, axis: Literal["x", "y"]) -> Figure | None:
        """One coordinate of the place on the wall of that key."""
        return self.figures.get(f"{key}.{axis}")

    def told(self, figure: Figure) -> str:
        """A figure as people measure it here: by this rule book's units too."""
        return figure.label or told(figure.value, figure.unit, self.rules)

    def metres(self, length: Metre) -> str:
        """A length as people measure it here."""
        return told(length, "m", self.rules)

    def route(self, carries: Carries, to: str | None, name: RouteWord) -> str | None:
        """A word of the routes of a kind, an entry for `to` before the kind's own; None where nobody said."""
        entry = self._route(carries, to, name)
        return None if entry is None else str(getattr(entry[1], name))

    def laid(self, carries: Carries, to: str | None) -> tuple[str, str, str]:
        """Method, insulation and metal of a power circuit."""
        method, insulation, metal = (self.route(carries, to, word) for word in _LAID)
        assert method and insulation and metal  # rows of the assumptions see to it
        return method, insulation, metal

    def grouped(self, carries: Carries, to: str | None) -> int | None:
        """How many circuits lie together there, as answered."""
        entry = self._route(carries, to, "grouped")
        return None if entry is None else entry[1].grouped

    def route_figure(self, carries: Carries, to: str | None, name: RouteQuantity) -> Figure | None:
        """The same for a quantity of theirs."""
        entry = self._route(carries, to, name)
        return None if entry is None else self.figures[f"{entry[0]}.{name}"]

    def lane(self, carries: Carries, to: str | None = None) -> int | None:
        """The height of a lane in whole millimetres."""
        figure = self.route_figure(carries, to, "lane")
        return None if figure is None else round(figure.value * 1000)

    def _route(self, carries: Carries, to: str | None, name: str) -> tuple[str, Route] | None:
        """The entry that says it, key and all: the last of those that reach there."""
        for key, route in reversed(self.routes):
            if route.carries == carries and route.to in (None, to) and getattr(route, name) is not None:
                return key, route
        return None


def has_solar(answers: Answers) -> bool:
    """Whether any question on the panels is answered."""
    return any(getattr(answers.solar, name) is not None for name in Solar.model_fields if name not in ("note", "trackers", "parallel"))


def assume(answers: Answers) -> Facts:
    """Complete the answers; every value taken is listed in `assumed`."""
    taken: list[Assumed] = []
    completed = answers.model_copy(
        update={
            **{name: _complete(getattr(answers, name), name, answers, taken) for name in ("site", "drop", "unit", "storage", "set")},
            **({"solar": _complete(answers.solar, "solar", answers, taken)} if has_solar(answers) else {}),
        }
    )
    # What follows depends on what was just taken: the rule book decides the usual voltage.
    completed = completed.model_copy(update={"output": _complete(completed.output, "output", completed, taken)})
    completed = completed.model_copy(update={"incoming": _incoming(completed, taken)})
    completed = completed.model_copy(update={"unit": _unit(completed.unit, taken)})
    keys = tuple(labelled("loads", (load.called for load in answers.loads)))
    loads = [_complete(load, key, completed, taken) for key, load in zip(keys, answers.loads, strict=True)]
    completed = completed.model_copy(update={"loads": loads})
    kinds = {carries: _kind(carries, completed) for carries in _kinds(completed)}
    general = {f"routes[{carries}]": route for carries, (route, _) in kinds.items()}
    of_kinds = {(carries, name): told for carries, (_, of) in kinds.items() for name, told in of.items()}
    own = labelled("routes", (" ".join(t for t in (r.carries, r.to) if t) for r in answers.routes))
    routes = (*general.items(), *sorted(zip(own, answers.routes, strict=True), key=lambda entry: entry[1].to is not None))
    wanted = {a.key: a for a in (*taken, *of_kinds.values())}
    walks = (_walk(completed, {"loads": keys, "routes": own}), *(_walk(route, {}, f"{key}.") for key, route in general.items()))
    figures = {key: _figure(key, value, unit, wanted) for walk in walks for key, value, unit in walk}
    return Facts(completed, tuple(taken), of_kinds, figures, keys, routes)


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


def _kinds(answers: Answers) -> Iterator[Carries]:
    """The kinds of circuit that the site may have."""
    for carries in CIRCUIT_KINDS:
        if not ((carries == "solar" and not has_solar(answers)) or (carries == "incoming" and answers.incoming.kind == "none")):
            yield carries


def _kind(carries: Carries, answers: Answers) -> tuple[Route, Mapping[str, Assumed]]:
    """What is taken for a kind of circuit where nothing was said of it as a whole: an entry of its own, and what is told of it by name."""
    said = {n for r in answers.routes if r.carries == carries and r.to is None for n in Route.model_fields if getattr(r, n) is not None}
    skip = frozenset(said | ({"method", "insulation", "metal"} if carries == "comms" else set()))
    taken: list[Assumed] = []
    route = _complete(Route(carries=carries), f"routes[{carries}]", answers, taken, skip)
    names = [name for name in Route.model_fields if name != "carries" and getattr(route, name) is not None]
    return route, dict(zip(names, taken, strict=True))


def _complete(part: P, key: str, answers: Answers, taken: list[Assumed], skip: frozenset[str] = frozenset()) -> P:
    """A copy of the part, and of the parts within, with the assumptions that fit; what was taken is added to `taken`."""
    update: dict[str, object] = {}
    for name, mark in readings(type(part)).items():
        value = getattr(part, name)
        if isinstance(value, Part):
            update[name] = _complete(value, f"{key}.{name}", answers, taken)
        elif value is None and name not in skip and (row := _assumption(key, name, part, answers)):
            text = row["value"]
            update[name] = parse(mark, text) if mark else _word(text)
            shown_text = shown(value_taken, unit_of(mark)) if mark and isinstance(value_taken := update[name], float) else text
            taken.append(Assumed(f"{key}.{name}", shown_text, row["why"], row["source"]))
            part = part.model_copy(update={name: update[name]})
    return part.model_copy(update=update)


def _word(text: str) -> str | int | bool:
    return {"yes": True, "no": False}.get(text, int(text) if text.isdigit() else text)


def _assumption(key: str, name: str, part: Part, answers: Answers) -> Mapping[str, str] | None:
    """What is taken for this key of this part: what its machine stands for, else the first row of the table of assumptions that fits."""
    if isinstance(part, Load):
        if name == "power_factor" and part.tells_power_factor:
            return None
        if (value := _of_machine(name, part)) is not None:
            return value
    general = re.sub(r"\[[^]]*\]", "[]", key) if "[" in key else key
    for row in _assumptions().get(f"{key}.{name}", ()) or _assumptions().get(f"{general}.{name}", ()):
        if _fits(row["when"], part, answers):
            return row
    return None


def _of_machine(name: str, load: Load) -> Mapping[str, str] | None:
    """What a load's machine stands for under this key, as a row of the table of assumptions would tell it."""
    found = machines.machine(load.machine) if load.machine else None
    value = found.stands_for.get(name) if found else None
    if found is None or value is None:
        return None
    if name == "power" and load.apparent_power is not None:
        return None
    if name == "start_multiple" and load.motor is not _word(found.stands_for["motor"]):
        return None  # somebody said otherwise of its motor: its start is not that of such a machine
    return {"value": value, "why": f"usual for {found.one}", "source": machines.source_of(name)}


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
        "apparent power alone": bool(getattr(part, "apparent_power", None)) and not getattr(part, "power", None),
        "solar": True,
        "sun<=4": (answers.solar.sun_hours or 0.0) <= 4,
    }[when]


def _walk(part: BaseModel, own: Mapping[str, Sequence[str]], prefix: str = "") -> Iterator[tuple[str, float, str]]:
    """Key, value and unit of every quantity in a part of the answers; `own` are the keys of the entries of some arrays."""
    for name, mark in readings(type(part)).items():
        value, key = getattr(part, name), f"{prefix}{name}"
        if isinstance(value, BaseModel):
            yield from _walk(value, own, f"{key}.")
        elif isinstance(value, list) and value and isinstance(value[0], BaseModel):
            keys = own.get(key) or labelled(key, (getattr(item, "tag", None) for item in value))
            for item_key, item in zip(keys, value, strict=True):
                yield from _walk(item, own, f"{item_key}.")
        elif mark is not None and isinstance(value, float):
            yield key, value, unit_of(mark)
        elif isinstance(value, int) and not isinstance(value, bool) and name != "schema_":
            yield key, float(value), "1"


def _figure(key: str, value: float, unit: str, wanted: Mapping[str, Assumed]) -> Figure:
    if key in wanted:
        return assumed(key, value, unit, wanted[key].why, wanted[key].source)
    return answered(key, value, unit)
