"""Conductor and device of every circuit, with what decided."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from enum import StrEnum

from engine.facts import Assumed
from engine.frozen import dataclass
from engine.site.keys import QuantityKey
from engine.site.wall import Carries
from engine.stages.circuits import Ends
from engine.tables.sizes import Size
from engine.workings import Figure


@dataclass(frozen=True)
class Criterion:
    """One criterion of a decision: the size it asked for by itself, whether the chosen one passes, and all of it in words."""

    name: str
    asked: str
    passed: bool
    text: str


class DeviceKind(StrEnum):
    """What protects or opens a circuit; `THERE` is a breaker that the site has already."""

    FUSE = "fuse"
    BREAKER = "breaker"
    THERE = "breaker that is there"
    SWITCH = "switch"


@dataclass(frozen=True)
class Device:
    """A protective or switching device: what it is and is called, its rating, the breaking capacity to buy, poles, DC voltage at least.

    `pole` is the one that it sits in, where the other one is earthed; `sure` says that its kind breaks the fault by every data sheet.
    """

    kind: DeviceKind
    name: str
    rating: Figure | None
    breaking: Figure | None
    poles: int | None
    voltage: Figure | None
    pole: str | None = None
    sure: bool = True


@dataclass(frozen=True)
class Cable:
    """What a conductor is made of, as it is ordered and as its print says (S35); it says its own name, behind a size.

    A cable of the same size in another insulation carries less, and burns.
    """

    metal: str
    insulation: str
    rated_temperature: str
    stranding: str
    voltage_class: str

    def __str__(self) -> str:
        return f"{self.metal}, {self.insulation} {self.rated_temperature}, {self.stranding}, {self.voltage_class}"


@dataclass(frozen=True)
class Sizing:
    """Conductor, device and the reasons of one circuit.

    `conductor` is one of `parallel` per pole; `pole` the resistance of one pole in service, by its length or half of what was measured out and
    back; `earth` the protective conductor that runs with it; `cable` what they all are made of; `why` holds the whole decision
    as lines in its note, under the key `plan.circuits[NAME].conductor`; `figures` explain what else the plan says of the circuit.
    """

    conductor: Size | None
    parallel: int
    earth: Size | None
    neutral: Size | None
    drop: Figure | None
    current: Figure | None
    fault_clearing: Figure | None
    governed_by: str | None
    device: Device | None
    decision: tuple[Criterion, ...]
    why: Figure | None
    figures: tuple[Figure, ...] = ()
    cable: Cable | None = None
    pole: Figure | None = None


@dataclass(frozen=True)
class Conductors:
    """The sizing of every circuit, by name; `too_large` are those whose conductors the terminal of their unit does not take (S12).

    `assumed` is what was taken instead of an assumption (S31), `ways` how the cables of those kinds must lie, in words; `link` the conductor
    of the neutral-earth link where one is bought, whose length nobody plans.
    """

    of: Mapping[str, Sizing]
    too_large: frozenset[str] = frozenset()
    assumed: tuple[Assumed, ...] = ()
    ways: Mapping[Carries, str] = field(default_factory=dict)
    link: Figure | None = None

    def laid_out(self) -> Conductors:
        """The same without figures, reasons and devices: what lies there, which is what cuts and their joints are made by."""
        bare = {
            name: Sizing(of.conductor, of.parallel, of.earth, of.neutral, None, None, None, None, None, (), None, (), of.cable)
            for name, of in self.of.items()
        }
        return Conductors(bare, self.too_large, self.assumed, self.ways)

    def device(self, ends: Ends) -> Device | None:
        """The device of a circuit, where it has one."""
        sizing = self.of.get(ends.name)
        return sizing.device if sizing else None

    def isolating(self, ends: Ends) -> Figure | None:
        """The least rating of the isolator of a circuit: that of its device, or what it carries where that is more: strings have a fuse each."""
        sizing, device = self.of.get(ends.name), self.device(ends)
        known = [figure for figure in (device and device.rating, sizing and sizing.current) if figure]
        return max(known, key=lambda figure: figure.value, default=None)


def drop_limit(ends: Ends) -> QuantityKey:
    """The key of the drop that is allowed on a circuit."""
    limits: Mapping[str, QuantityKey] = {
        "battery": "drop.bar" if ends.common else "drop.battery",
        "load": "drop.load",
        "incoming": "drop.incoming",
        "solar": "drop.solar",
    }
    return limits[ends.kind]
