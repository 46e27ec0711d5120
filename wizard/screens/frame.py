"""What stands around every page: the keys, the title, and the line that says what still stops the plan."""

from __future__ import annotations

from collections.abc import Sequence

from engine.findings import Level
from engine.text import clean
from wizard.screens.view import View

# Key, action, word, short word (None: not on a narrow screen). Bindings and the line of keys are made from it.
KEYS: tuple[tuple[str, str, str, str | None], ...] = (
    ("f1", "help", "Help", "Help"),
    ("f2,ctrl+s", "save", "Save", "Save"),
    ("f4", "pages", "Pages", "Pages"),
    ("f5", "undo", "Undo", None),
    ("f6", "next_stop", "Next stop", None),
    ("f7", "back", "Back", "<"),
    ("f8", "next", "Next", ">"),
    ("f10,ctrl+q", "leave", "Leave", "End"),
)

KEYS_HELP = (
    "Keys: Tab or down to the next question, up to the one before, Enter takes an answer. F6 goes to the next answer that stops the plan. "
    "F2 saves: a draft, or from the last page the plan. F5 takes the last change back. Escape never drops anything."
)

_NARROW = 70


def keys_line(width: int) -> str:
    """The keys and what they do."""
    if width < _NARROW:
        return " ".join(f"{_first(keys)}{short}" for keys, _, _, short in KEYS if short)
    return "  ".join(f"{_first(keys)} {word}" for keys, _, word, _ in KEYS)


def _first(keys: str) -> str:
    return keys.split(",", maxsplit=1)[0].upper()


def title_line(view: View, page: str, at: int, of: int, width: int) -> str:
    """Which page this is, of which site, and whether it is saved."""
    path = view.session.path
    name = clean(view.session.get("site.name") or (path.name if path else ""), 30)
    saved = "not saved" if view.unsaved else ("saved" if path else "")
    left, right = f" {at}/{of} {page}", "  ".join(part for part in (name, saved) if part) + " "
    return left + right.rjust(width - len(left)) if len(left) + len(right) < width else left[:width].ljust(width)


def status_line(view: View, fault: str) -> str:
    """What still stops the plan, or where it stands; nothing of an older plan is ever told as today's."""
    if not view.current or view.planned is None:
        return fault or "Planning ..."
    stops, findings = view.notes.stops, view.planned.findings
    if stops:
        return f"STOPPED by {len(stops)} (F6): {', '.join(dict.fromkeys(stop.name for stop in stops))}"
    if cautions := _count(Level.CAUTION, [found.level for found in findings]):
        return f"Nothing stops the plan. {cautions} cautions to read: last page."
    return "READY: nothing stops the plan."


def _count(level: Level, levels: Sequence[Level]) -> int:
    return sum(one is level for one in levels)
