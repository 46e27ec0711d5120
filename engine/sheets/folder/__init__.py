"""The folder: all papers of a plan in one HTML file, from the cover to the signatures, page by page as it is printed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from engine.sheets.folder.chapters import chapters
from engine.sheets.folder.filling import A4, LETTER, Paper
from engine.sheets.folder.rendering import rendered

if TYPE_CHECKING:
    from engine.planner import Planned

__all__ = ["A4", "LETTER", "Paper", "folder"]


def folder(planned: Planned, paper: Paper = A4, only: Sequence[str] = ()) -> str:
    """The HTML of all chapters, or of those named in `only`; a name that no chapter has adds nothing."""
    return rendered(planned, paper, tuple(c for c in chapters(planned, paper) if not only or c.name in only))
