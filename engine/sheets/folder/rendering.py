"""Chapters to HTML: every text escaped, no script, nothing that is fetched from elsewhere."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache
from typing import TYPE_CHECKING

from engine.frozen import dataclass
from engine.sheets.folder import blocks, filling, letters
from engine.sheets.folder.blocks import Block, Chapter
from engine.sheets.folder.filling import Paper, filled
from engine.sheets.head import FIRST, STANDINGS, stamp
from engine.text import clean

if TYPE_CHECKING:
    from jinja2 import Environment

    from engine.planner import Planned


_APART = 5.0  # millimetres between the title of a page and the site
_LEAST = 12  # letters of a site's name that stay


@dataclass(frozen=True)
class Page:
    """One page: its number in the folder, its place within its chapter, how wide a line is."""

    chapter: Chapter
    number: int
    place: int
    of: int
    blocks: tuple[Block, ...]
    room: float
    site: str

    @property
    def title(self) -> str:
        """What stands at its head: its chapter, which page of that it is, what it shows."""
        place = f" {self.place} of {self.of}" if self.of > 1 else ""
        shown = f": {self.chapter.shown[self.place - 1]}" if self.chapter.shown else ""
        return f"{self.chapter.title}{place}{shown}"

    @property
    def first(self) -> bool:
        """Whether its chapter begins here."""
        return self.place == 1

    def where(self, last: int) -> str:
        """Which site, and which page of how many; a name too long for the head loses its end."""
        number = f", page {self.number} of {last}"
        left = self.room - letters.width(self.title, bold=True, size=blocks.TITLE_SIZE) - letters.width(number) - _APART
        site = self.site
        while letters.width(site) > left and len(site) > _LEAST:
            site = f"{site.removesuffix('...')[:-1].rstrip()}..."
        return f"{site}{number}"


def pages(chapters: Sequence[Chapter], paper: Paper, site: str) -> Iterator[Page]:
    """All chapters page by page, numbered through."""
    number = 0
    for chapter in chapters:
        leaves = filled(chapter, paper)
        for place, leaf in enumerate(leaves, 1):
            number += 1
            yield Page(chapter, number, place, len(leaves), leaf, paper.room(wide=chapter.wide)[0], site)


def rendered(planned: Planned, paper: Paper, chapters: Sequence[Chapter]) -> str:
    """One HTML file."""
    answers = planned.facts.answers.site
    name = clean(answers.name or "", 44) or "Site not named"
    reference = clean(answers.reference or "", 24)
    measures = {key: value for module in (blocks, filling, letters) for key, value in vars(module).items() if isinstance(value, float)}
    return (
        _environment()
        .get_template("folder.html.j2")
        .render(
            title=f"{name}: folder, revision {planned.plan.revision}",
            pages=list(pages(chapters, paper, f"{name}, {reference}" if reference else name)),
            paper=paper,
            m=measures,
            stamp=stamp(planned.plan),
            standing=_standing(planned.plan.standing),
            stopped=planned.plan.standing == "stopped",
            first=FIRST,
        )
    )


def _standing(standing: str) -> str:
    """How the plan stands, and where in the folder its decisions are."""
    return f"{STANDINGS[standing]} on the cover" if standing == "cautions" else STANDINGS[standing]


def _kept(text: str) -> str:
    """A text, escaped, in which no line ends within a figure or a tag."""
    from markupsafe import Markup, escape  # noqa: PLC0415 - only this paper needs it

    marked = Markup("<span>{}</span>")
    made, at = Markup(), 0
    for found in letters.WHOLE.finditer(text):
        made += escape(text[at : found.start()]) + marked.format(found[0])
        at = found.end()
    return made + escape(text[at:])


@cache
def _environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined  # noqa: PLC0415 - only this paper needs it, and its import is dear
    from markupsafe import Markup  # noqa: PLC0415 - likewise

    made = Environment(
        loader=PackageLoader("engine.sheets.folder"), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    made.globals["runs"] = letters.runs
    made.globals["kept"] = _kept
    # Drawings are ours: their texts were escaped as they were drawn.
    made.globals["drawn"] = Markup
    return made
