"""The keys of the interview: what each does, its word, and what serves where a terminal keeps it for itself."""

from __future__ import annotations

# Key, second key, what it does, word, word on a narrow screen (none: not shown there).
KEYS: tuple[tuple[str, str, str, str, str], ...] = (
    ("f1", "", "help", "Help", "Help"),
    ("f2", "ctrl+s", "save", "Save", "Save"),
    ("f3", "ctrl+f", "cure", "Cure", ""),
    ("f4", "ctrl+p", "pages", "Pages", ""),
    ("f5", "ctrl+z", "undo", "Undo", ""),
    ("f6", "ctrl+t", "mend", "Mend", "Mend"),
    ("f7", "ctrl+o", "back", "Back", "<"),
    ("f8", "ctrl+n", "next", "Next", ">"),
    ("f9", "ctrl+r", "row", "Row", ""),
    ("f10", "ctrl+q", "leave", "End", "End"),
)

ACTIONS = {key: action for first, second, action, _, _ in KEYS for key in (first, second) if key} | {
    "ctrl+y": "redo",
    "ctrl+c": "leave",
    "pageup": "back",
    "pagedown": "next",
}

_SECOND = ", ".join(f"{second.capitalize()} is {first.upper()} ({word})" for first, second, _, word, _ in KEYS if second)
HELP = (
    """Enter takes an answer and goes on; Tab and the arrows go without asking. F6 leads to the next answer to mend: what was not accepted, \
what stops the plan, then cautions; F3 takes the cure that is offered for it. F2 saves answers and plan. F5 takes the last change back, \
Ctrl+Y brings it again. In a table F9 copies, moves or removes the row. Escape never drops anything.""",
    "Typing over an answer replaces it; left, Home or Backspace edit it. Delete takes it back. Ctrl+U clears what is before the caret. Ctrl+L draws the screen anew.",
    f"Where a terminal keeps F-keys for itself: {_SECOND}.",
)


def keys_line(columns: int, *, narrow: bool) -> str:
    """The keys and what they do, in one line."""
    if narrow:
        return " ".join(f"{key.upper()}{short}" for key, _, _, _, short in KEYS if short)[:columns]
    return " ".join(f"{key.upper()} {word}" for key, _, _, word, _ in KEYS)[:columns]
