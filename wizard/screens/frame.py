"""What stands around every page: the keys, the title, and the line that says what still stops the plan."""

from __future__ import annotations

from engine.findings import Level
from engine.sheets.layout import cells, fit
from engine.text import clean
from wizard.screens.view import View

# Key, action, word, short word (None: not on a narrow screen). Bindings and the line of keys are made from it.
KEYS: tuple[tuple[str, str, str, str | None], ...] = (
    ("f1", "help", "Help", "Help"),
    ("f2,ctrl+s", "save", "Save", "Save"),
    ("f4,ctrl+p", "pages", "Pages", "Pages"),
    ("f5,ctrl+z", "undo", "Undo", None),
    ("f6,ctrl+t", "next_stop", "Next stop", None),
    ("f7,ctrl+b", "back", "Back", "<"),
    ("f8,ctrl+n", "next", "Next", ">"),
    ("f10,ctrl+q", "leave", "Leave", "End"),
)

KEYS_HELP = (
    "Keys: Tab or down to the next question, up to the one before, Enter takes an answer. F6 goes to the next answer that was not accepted or stops the plan, then to cautions. "
    "F2 saves: a draft, or from the last page the plan; a plan that is in the file is made anew. F5 takes the last change back. Escape never drops anything. "
    "Where a terminal keeps F-keys for itself: Ctrl+S saves, Ctrl+P pages, Ctrl+Z takes back, Ctrl+T next stop, Ctrl+B back, Ctrl+N next, Ctrl+Q leaves."
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
    saved = "not saved" if view.unsaved else "saved" if view.session.origin else "new" if path else ""
    left = f" {at}/{of} {page}"
    for right in (f"{name}  {saved} " if name and saved else f"{name}{saved} ", f"{saved} ", " "):
        if len(left) + 1 + len(right) <= width:
            return left + right.rjust(width - len(left))
    return left[:width]


def status_line(view: View, fault: str) -> str:
    """What still stops the plan, or where it stands; nothing of an older plan is ever told as today's."""
    if view.refused:
        return f"{len(view.refused)} not accepted (F6)"
    if not view.current or view.planned is None:
        return fault or "Planning ..."
    stops, findings = view.notes.stops, view.planned.findings
    if stops:
        return f"STOPPED by {len(stops)} (F6): {'; '.join(dict.fromkeys(stop.name for stop in stops))}"
    if cautions := sum(found.level is Level.CAUTION for found in findings):
        return f"Nothing stops the plan. {counted(cautions, 'caution')} to read: last page."
    return "READY: nothing stops the plan."


def cut(text: str, width: int) -> str:
    """A line in so many columns; dots say that there is more."""
    return text if cells(text) <= width else fit(text, width).rstrip()


def counted(number: int, word: str) -> str:
    """`1 caution`, `2 cautions`."""
    return f"{number} {word}{'' if number == 1 else 's'}"
