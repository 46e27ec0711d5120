"""What the sheet of a unit is made of. In its words `BOX` stands for a box to tick and `GAP` for a line to write on."""

from __future__ import annotations

from engine.frozen import dataclass
from engine.stages.procedure.part import Step

BOX, GAP = "\N{BALLOT BOX}", "______"


@dataclass(frozen=True)
class Told:
    """What is only read; `framed` where nobody may overlook it."""

    words: str
    framed: bool = False


@dataclass(frozen=True)
class Box:
    """Something to tick."""

    words: str


@dataclass(frozen=True)
class Back:
    """Where the work goes on in the order of work, and with which step it comes back here."""

    words: str
    again: str = ""


@dataclass(frozen=True)
class Sign:
    """Who signs."""

    who: tuple[str, ...]


@dataclass(frozen=True)
class Setting:
    """One setting: ours and the maker's word, ours and the maker's value, or who knows the value."""

    name: str
    label: str
    value: str
    value_label: str
    unknown: str = ""


@dataclass(frozen=True)
class Settings:
    """What is entered on the bench, each with room to read it back."""

    rows: tuple[Setting, ...]


@dataclass(frozen=True)
class Terminal:
    """The terminals of one circuit: each pole, where it goes, of which conductor, with what end and torque. `fits`: the unit's terminal takes it."""

    name: str
    poles: tuple[str, ...]
    to: str
    conductor: str
    end: str
    torque: str
    fits: bool


@dataclass(frozen=True)
class Terminals:
    """What is landed, in the order of landing."""

    rows: tuple[Terminal, ...]


Item = Told | Box | Back | Sign | Settings | Terminals | Step


@dataclass(frozen=True)
class Part:
    """One part of the sheet: its title, a remark beside that, what stands in it."""

    title: str
    remark: str
    items: tuple[Item, ...]
