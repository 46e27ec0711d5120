"""Ways for data cables: how far each power circuit keeps them off (T23), and the best routes between ports (S19)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import field
from itertools import pairwise

from engine.again import again
from engine.facts import Facts
from engine.formulas.phasors import phase_current
from engine.formulas.segregation import circuit_count, separation
from engine.frozen import dataclass
from engine.quantities import Metre
from engine.site.wall import Carries
from engine.solvers import routes
from engine.solvers.separation import Clearance, Point, Run, clearance, runs_of
from engine.stages.wall.part import Wall
from engine.tables import table
from engine.tables.segregation import kept_by_practice
from engine.workings import Figure, chosen, tabled, work

DIVIDER = "solid"
_LOWEST = 100  # millimetres: nobody runs data cables on the floor


@dataclass(frozen=True)
class Ground:
    """The wall as data cables find it: its power runs, and what each kind of them keeps off."""

    wall: Wall
    runs: tuple[Run, ...]
    kept: Mapping[Carries, Figure]

    def grid(self, lane: Metre, *, blind: bool = False) -> Grid:
        """The wall ready for routes; `blind`: power is not looked at and the lane comes first, as a crew would lay it."""
        return again(f"grid{' blind' if blind else ''}", _grid, wall=self.wall, runs=() if blind else self.runs, lane=lane, blind=blind)

    def measured(self, paths: Sequence[Sequence[Point]]) -> tuple[Clearance, ...]:
        """What each drawn path keeps clear of."""
        return tuple(clearance(path, self.runs) for path in paths)

    def lanes(self) -> Iterator[tuple[Carries, int, int]]:
        """Kind, height and separation of every power lane in use, in millimetres."""
        kinds = {name: run.kind for name, run in self.wall.runs.items()}
        heights = {kind: round(lane * 1000) for kind, lane in self.wall.lanes.items()}
        yield from sorted(
            {
                (kind, run.start[1], run.separation)
                for run in self.runs
                if run.axis == 0 and heights.get(kind := kinds[run.of]) == run.start[1]
            }
        )

    def clear_height(self, lane: Metre) -> Metre | None:
        """The height nearest to a lane that every power lane in use leaves free, or None."""
        power, top = list(self.lanes()), self.wall.outline.top
        heights = {h for _, y, keep in power for h in (y - keep, y + keep)} | {round(lane * 1000)}
        free = [h for h in heights if _LOWEST <= h <= top and all(abs(h - y) >= keep for _, y, keep in power)]
        return min(free, key=lambda h: (abs(h - lane * 1000), -h)) / 1000 if free else None


@dataclass(frozen=True)
class Grid:
    """A searchable wall whose ports go by the names of their places; a way once found is kept."""

    solver: routes.RouteGrid
    number: Mapping[str, int]
    at: Mapping[str, Point]
    kept: dict[tuple[str, str], tuple[Point, ...]] = field(default_factory=dict, compare=False)

    def apart(self, one: str, other: str) -> int:
        """The least length between two places, whatever is in the way."""
        (ax, ay), (bx, by) = self.at[one], self.at[other]
        return abs(ax - bx) + abs(ay - by)

    def way(self, one: str, other: str) -> tuple[Point, ...]:
        """The best path from one place to another that is no great detour (S19); empty where there is none. Its way back is the same."""
        first, second = sorted((one, other), key=self.number.__getitem__)
        if (first, second) not in self.kept:
            found = self.solver.within(self.number[first], self.number[second], lambda shortest: shortest * 3 // 2 + 1000)
            self.kept[first, second] = found.points if found else ()
        path = self.kept[first, second]
        return path if first == one else path[::-1]

    def along(self, order: Sequence[str]) -> list[tuple[Point, ...]]:
        """The paths from each to the next, whatever their length; empty where there is none."""
        pairs = [(self.number[a], self.number[b]) for a, b in pairwise(order)]
        found = [self.solver.routes(a, [b]).get(b) for a, b in pairs]
        return [route.points if route else () for route in found]


def _grid(wall: Wall, runs: tuple[Run, ...], lane: Metre, *, blind: bool) -> Grid:
    here = [place for place in wall.places if place.what != "obstacle"]
    at = {place.name: place.entry(wall.port_side if place.what == "unit" else None) for place in here}
    solver = routes.RouteGrid(
        wall.outline,
        [routes.CableEnd(at[place.name], place.rect) for place in here],
        obstacles=[place.rect for place in wall.places if place.what == "obstacle"],
        runs=runs,
        lane=round(lane * 1000),
        lane_first=blind,
    )
    return Grid(solver, {place.name: k for k, place in enumerate(here)}, at)


def ground(facts: Facts, wall: Wall) -> Ground:
    """The power runs of a wall with the separation each keeps. Earth conductors carry no current and keep none."""
    power = {name: run for name, run in wall.runs.items() if run.kind != "earth"}
    kept = {kind: _kept(facts, wall, kind) for kind in dict.fromkeys(run.kind for run in power.values())}
    runs: list[Run] = []
    for name, run in power.items():
        divided = DIVIDER in (facts.route(run.kind, run.to, "containment"), facts.route("comms", None, "containment"))
        points = [(round(x * 1000), round(y * 1000)) for x, y in run.path]
        runs += runs_of(name, points, 0 if divided else round(kept[run.kind].value * 1000))
    return Ground(wall, tuple(runs), kept)


def _kept(facts: Facts, wall: Wall, kind: Carries) -> Figure:
    """The separation that data keeps from one kind of power circuit where no divider stands between."""
    key, practice, distance = f"plan.chain.separation_{kind}", table("data_separation"), kept_by_practice(kind)
    least = tabled(f"{key}_least", distance, "m", practice.told, practice.note)
    if kind == "battery":
        return tabled(key, distance, "m", practice.told, practice.note)
    tables = _by_standard(facts, wall, kind, key)
    if tables is None or tables.value <= least.value:
        return chosen(key, least.value, "m", "the larger of EN 50174-2 and practice", least.source, [least, *([tables] if tables else [])])
    return chosen(key, tables.value, "m", "the larger of EN 50174-2 and practice", tables.source, [tables, least])


def _by_standard(facts: Facts, wall: Wall, kind: Carries, key: str) -> Figure | None:
    """S x P of EN 50174-2, or None where the circuits' current is not known."""
    current = _current(facts, kind)
    if current is None:
        return None
    screened = facts.answers.unit.bus.screened
    grade = {True: "c", False: "b", None: "a"}[screened]
    cover = facts.route(kind, None, "containment") or facts.route("comms", None, "containment") or "none"
    base_table, factor_table = table("en50174_2_s"), table("en50174_2_p")
    base = (base_table.row("class", grade) or {}).get("none" if cover == DIVIDER else str(cover))
    together = max((run.grouped for run in wall.runs.values() if run.kind == kind), default=1)
    count = work(f"{key}_circuits", circuit_count, current=current, phases=1, circuits=together)
    factor = next(
        (row["factor"] for row in reversed(factor_table.rows) if isinstance(row["least"], float) and count.value >= row["least"]), None
    )
    assert isinstance(base, float) and isinstance(factor, float)
    cable = {"a": "unknown", "b": "unscreened", "c": "screened"}[grade]
    of_base = tabled(f"{key}_base", base, "m", base_table.told, f"class {grade}: data cable {cable}, containment {cover}")
    of_factor = chosen(f"{key}_factor", factor, "ratio", f"for {count.value:.0f} circuits of 20 A", factor_table.told, [count])
    return work(f"{key}_standard", separation, base=of_base, factor=of_factor)


def _current(facts: Facts, kind: Carries) -> Figure | None:
    """The current one circuit of a kind is counted with."""
    if kind == "incoming":
        return facts.figure("unit.transfer_current")
    if kind == "solar":
        return facts.figure("solar.isc")
    power = facts.figure("unit.apparent_power")
    return work("plan.chain.unit_current", phase_current, apparent=power, voltage=facts.output_voltage) if power else None
