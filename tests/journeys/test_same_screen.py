"""Our output shows what Textual's own shows: the same cells with the same looks, and the cursor, on every page and in every size."""

from __future__ import annotations

import sys
import time
from pathlib import Path

from wizard.asking.pages import PAGES
from wizard.output.driver import STOCK

from .terminal import ROOT, Terminal

SIZES = [(80, 24), (40, 12), (120, 40), (60, 20)]


def shown(t: Terminal) -> tuple[object, ...]:
    screen = t.screen
    return (
        [[screen.buffer[y][x] for x in range(screen.columns)] for y in range(screen.lines)],
        (min(screen.cursor.x, screen.columns - 1), screen.cursor.y, screen.cursor.hidden),
    )


def same(ours: Terminal, stock: Terminal, where: object) -> None:
    """Until both rest at the same: a plan may arrive in one sooner than in the other."""
    end = time.monotonic() + 15
    while time.monotonic() < end:
        one, other = ours.settle(0.1, 2), stock.settle(0.1, 2)
        if "Planning" not in one + other and shown(ours) == shown(stock):
            return
    raise AssertionError(f"{where}\n{ours.text()}\n{'=' * 80}\n{stock.text()}")


def test_the_screens_are_the_same(tmp_path: Path) -> None:
    """Sixteen colours; what a look is made of does not matter, `test_output` has all of them."""
    term = "xterm"
    for which in ("ours", "stock"):
        (tmp_path / which).mkdir()
        (tmp_path / which / "site.toml").write_bytes((ROOT / "sample_sites/harbour-works/site.toml").read_bytes())
    with (
        Terminal("site.toml", cwd=tmp_path / "ours", env={"TERM": term}) as ours,
        Terminal("site.toml", cwd=tmp_path / "stock", env={"TERM": term, STOCK: "1"}) as stock,
    ):
        both = ours, stock
        for t in both:
            t.wait("Number of units", "cautions")
        for page in range(len(PAGES)):
            same(*both, (page, "its first question"))
            for t in both:
                t.press("down")
            same(*both, (page, "its second question"))
            for t in both:
                t.press("f8")
        for keys in (["f4"], ["escape"], ["f1"], ["escape"], ["f7"], ["é", "日", "z"], ["f5"], ["f10"], ["escape"]):
            for t in both:
                t.press(*keys)
            same(*both, keys)
        for size in (*SIZES, *reversed(SIZES)):
            for t in both:
                t.resize(*size)
            same(*both, size)
        assert 1.7 * len(ours.written) < len(stock.written)


class Broken(Terminal):
    """The program with a fault in our output: the tenth screen cannot be drawn."""

    command = (
        sys.executable,
        "-c",
        """
import itertools, wizard.cli, wizard.output.writer as writer
shown, count = writer.shown, itertools.count()
writer.shown = lambda *grids: 1 / 0 if next(count) == 10 else shown(*grids)
wizard.cli.entry()
""",
    )


def test_where_ours_fails_textuals_own_takes_over(tmp_path: Path) -> None:
    with Broken(cwd=tmp_path) as t:
        t.wait("Number of units", "STOPPED")
        for _ in range(3):
            t.press("f8")
            t.settle(0.2)
        t.press("f7", "f7", "f7", "down", "1", "2")
        t.wait("1/", "12  ")
        t.press("é", "日")
        t.wait("12é日")
        assert t.written.count(b"\r\n") > 20, "only Textual's own writes line feeds"
        t.press("f10")
        t.wait("Leave without saving")
