"""The grid against pyte as an outside judge; the writer on a real pseudo-terminal."""

from __future__ import annotations

import os
import random
import select
import termios
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pyte
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wizard.output import driver, writer
from wizard.output.grid import BARE, BLANK, PLAIN, Grid, changes, looked, restyled, shown
from wizard.output.writer import AHEAD, EVERY, QUESTION, Writer

NO_WRAP = "\x1b[?7l"  # as the driver sets it

# What pyte knows of looks, so that it can judge: attributes, 16 colours, 256 and true ones.
LOOKS = st.lists(
    st.sampled_from(["0", "1", "3", "4", "5", "7", "9", "22", "23", "24", "25", "27", "29", "31", "36", "39", "44", "49", "92", "103", "38;5;99", "48;2;1;2;3"]),
    max_size=4,
).map(lambda codes: f"\x1b[{';'.join(codes)}m")  # fmt: skip
CHARS = st.sampled_from("abcxyz 0123456789    -─│°µéŁ日本電語e\N{COMBINING ACUTE ACCENT}")
TEXTS = st.text(CHARS, max_size=30)
# Behind the last column terminals differ: from there a move is to a place, or begins with a return.
MOVES = st.one_of(
    st.tuples(st.integers(0, 30), st.integers(0, 100)).map(lambda at: f"\x1b[{at[0]};{at[1]}H"),
    st.tuples(st.integers(0, 9), st.integers(0, 9), st.sampled_from("ABCDEFGd")).map(lambda by: f"\r\x1b[{by[0]}C\x1b[{by[1] or ''}{by[2]}"),
    st.tuples(st.integers(0, 9), st.sampled_from(["", "0", "1", "2"]), st.sampled_from("JK")).map(lambda to: f"\x1b[m\r\x1b[{to[0]}C\x1b[{to[1]}{to[2]}"),
    st.sampled_from(["\r", "\r\b", "\x1b[H", "\r\t"]),
)
WRITINGS = st.lists(st.one_of(LOOKS, TEXTS, MOVES), max_size=25).map("".join)
SIZES = st.tuples(st.integers(2, 40), st.integers(1, 12))


def screen(width: int, height: int, *texts: str) -> pyte.Screen:
    made = pyte.Screen(width, height)
    stream = pyte.Stream(made)
    for text in (NO_WRAP, *texts):
        stream.feed(text)
    return made


def cells(of: pyte.Screen) -> list[list[pyte.screens.Char]]:
    return [[of.buffer[y][x] for x in range(of.columns)] for y in range(of.lines)]


def painted(grid: Grid) -> str:
    """Every cell at its place with its look: long, and plain to see that it is right."""
    return "".join(
        f"\x1b[{y + 1};{x + 1}H\x1b[{';'.join(('0', *look))}m{char}"
        for y, row in enumerate(grid.rows)
        for x, (char, look) in enumerate(row)
        if char
    )


def written(width: int, height: int, *texts: str) -> Grid:
    grid = Grid(width, height)
    for text in texts:
        grid.feed(text)
    return grid


# The grid


@given(SIZES, st.lists(st.one_of(LOOKS, st.text(st.sampled_from("abc xyz─é°"), max_size=30), MOVES), max_size=25).map("".join))
def test_a_grid_reads_as_a_terminal_does(size: tuple[int, int], text: str) -> None:
    """Narrow characters only: what is left of a wide one that was written over is up to the terminal."""
    grid, judge = Grid(*size), screen(*size, text)
    assert grid.feed(text) == ""
    assert cells(screen(*size, painted(grid))) == cells(judge)
    assert (min(grid.x or 0, size[0] - 1), grid.y) == (min(judge.cursor.x, size[0] - 1), judge.cursor.y)


@given(SIZES, st.lists(WRITINGS, min_size=1, max_size=4))
@settings(max_examples=300)
def test_the_changes_lead_from_each_screen_to_the_next(size: tuple[int, int], texts: list[str]) -> None:
    """On a terminal of which nothing is known, and from there on: cells and cursor are those that are wanted."""
    wanted, sent = Grid(*size), None
    terminal = screen(*size, "\x1b[7;31mwhat stood there\x1b[3;3H")
    stream = pyte.Stream(terminal)
    for text in texts:
        wanted.feed(text)
        assert changes(sent, wanted) == shown(sent, wanted)[0]
        data, sent = shown(sent, wanted)
        stream.feed(data)
        assert cells(terminal) == cells(screen(*size, painted(wanted)))
        assert (terminal.cursor.x, terminal.cursor.y) == (min(wanted.x or 0, size[0] - 1), wanted.y)
        assert sent.rows == wanted.rows
        assert changes(sent, wanted) == ""


@given(SIZES, SIZES, WRITINGS, WRITINGS)
def test_after_another_size_what_fits_stays_and_all_is_drawn(size: tuple[int, int], other: tuple[int, int], before: str, after: str) -> None:
    grid = written(*size, before).resized(*other)
    assert all(len(row) == other[0] for row in grid.rows)
    assert len(grid.rows) == other[1]
    grid.feed(after)
    terminal = screen(*other, "\x1b[41mleft over", changes(None, grid))
    assert cells(terminal) == cells(screen(*other, painted(grid)))


@given(SIZES, WRITINGS, st.data())
def test_a_text_may_come_in_pieces(size: tuple[int, int], text: str, data: st.DataObject) -> None:
    cut = data.draw(st.integers(0, len(text)))
    whole, pieces = written(*size, text), written(*size, text[:cut], text[cut:])
    assert (whole.rows, whole.x, whole.y, whole.look) == (pieces.rows, pieces.x, pieces.y, pieces.look)


def test_what_is_not_about_cells_comes_back_in_order() -> None:
    grid = Grid(10, 2)
    told = "\x1b[?1049h", "\x1b[?25l", "\x1b]52;c;YQ==\a", "\a", "\x1b[?2026$p", "\x1bP1$r0m\x1b\\", "\x1b[2 q", "\x1b7", "\x1b(B", "\x1b[>25u"
    assert grid.feed("a".join(told)) == "".join(told)
    assert grid.rows[0] == [("a", PLAIN)] * 9 + [BLANK]


@given(LOOKS, LOOKS)
def test_a_look_is_reached_from_each_other_by_no_more_than_from_none(one: str, other: str) -> None:
    before, after = looked(PLAIN, one[2:-1]), looked(PLAIN, other[2:-1])
    step = restyled(before, after)
    assert (looked(before, step[2:-1]) if step else before) == after
    assert len(step) <= len(f"\x1b[0;{';'.join(after)}m")


@pytest.mark.parametrize(
    ("before", "after", "expected"),
    [
        ("", "\x1b[2;3Hx", "\x1b[m\x1b[H\x1b[J" + "\x1b[2C\vx"),  # nothing is known: bare, then what is there
        ("a", "\x1b[Hb", "\rb"),
        ("one two", "\x1b[Hane twa", "\ra\x1b[5Ca"),
        ("abcde", "\x1b[Hxbcdx", "\rxbcdx"),
        ("one two", "\x1b[Hxne two\x1b[H", "\rx\r"),
        ("a long line", "\x1b[Hb\x1b[K", "\rb\x1b[K"),
        ("ab", "\x1b[H\x1b[7ma", "\r\x1b[7ma"),
        ("\x1b[7ma", "\x1b[mb", "\x1b[mb"),
        ("\x1b[1;31ma", "\x1b[31;22mb", "\x1b[22mb"),
        ("日本", "\x1b[1Gx", "\rx \x08"),
    ],
)
def test_the_changes_are_short(before: str, after: str, expected: str) -> None:
    sent = None
    if before:
        sent = shown(None, written(12, 3, before))[1]
    assert changes(sent, written(12, 3, before, after)) in (expected, BARE + expected)


def test_a_place_in_doubt_is_named_in_full() -> None:
    """Behind characters that terminals draw of different widths, and at the end of a line, where some wrap at once."""
    data = changes(None, written(12, 2, "e\N{COMBINING ACUTE ACCENT}f"))
    assert data == f"{BARE}e\N{COMBINING ACUTE ACCENT}\r\x1b[Cf"
    assert changes(None, written(3, 2, "abc\x1b[2;3Hd")) == f"{BARE}abc\x1b[2;3Hd\r\x1b[2C"


# The writer


class Line:
    """The far end of a pseudo-terminal, read only when told."""

    def __init__(self, width: int, height: int) -> None:
        self.far, self.near = os.openpty()
        os.set_blocking(self.near, False)
        mode = termios.tcgetattr(self.near)
        mode[1] &= ~termios.OPOST
        termios.tcsetattr(self.near, termios.TCSANOW, mode)
        self.screen = screen(width, height)
        self.stream = pyte.Stream(self.screen)
        self.got = ""

    def read(self, quiet: float = 0.1, at_most: int = 1 << 20) -> str:
        got = b""
        while len(got) < at_most and select.select([self.far], [], [], quiet)[0]:
            got += os.read(self.far, min(4096, at_most - len(got)))
        text = got.decode(errors="replace")
        self.got += text
        self.stream.feed(text.replace("\x1b[?1049h", "").replace("\x1b[?1049l", ""))
        return text


@contextmanager
def line(width: int = 20, height: int = 4) -> Iterator[tuple[Line, Writer]]:
    end = Line(width, height)
    writes = Writer(end.near, width, height)
    try:
        yield end, writes
    finally:
        os.close(end.far)
        writes.write("\x1b[?25h")  # the line is gone: the thread ends
        assert writes.drain(2)
        os.close(end.near)


def test_a_frame_goes_out_and_only_its_changes_later() -> None:
    with line() as (end, writes):
        writes.write("\x1b[?1049h")
        writes.write("\x1b[Hone\x1b[2;1Htwo")
        first = end.read()
        assert first.startswith("\x1b[?1049h")
        assert "one" in first
        writes.write("\x1b[Hone\x1b[2;1Htwi")
        assert end.read() == "\bi"
        writes.write("\x1b[Hone\x1b[2;1Htwi")
        assert end.read() == ""


def test_nothing_is_painted_outside_of_the_alternate_screen() -> None:
    with line() as (end, writes):
        writes.write("\x1b[Hlost")
        assert end.read() == ""
        writes.write("\x1b[?1049h")
        end.read()
        writes.write("\x1b[?2004l\x1b[?1049l")
        writes.write("\x1b[Hlost again")
        assert "\x1b[?2004l\x1b[?1049l" in end.read()
        assert "again" not in end.got


@pytest.mark.parametrize("said", [lambda w: w.forget(20, 4), lambda w: [w.write("\x1b[?1049l"), w.write("\x1b[?1049h")]], ids=["same size", "resumed"])
def test_a_terminal_that_may_show_anything_is_painted_whole(said: Callable[[Writer], None]) -> None:
    with line() as (end, writes):
        writes.write("\x1b[?1049h\x1b[Hkept")
        end.read()
        end.stream.feed("\x1b[1;1Hgarbage\x1b[3;3Hmore")
        said(writes)
        end.read()
        assert [row.rstrip() for row in end.screen.display] == ["kept", "", "", ""]


def test_another_size_waits_for_what_is_to_be_shown_in_it() -> None:
    with line() as (end, writes):
        writes.write("\x1b[?1049h\x1b[Hkept")
        end.read()
        writes.forget(30, 2)
        assert end.read() == ""
        writes.write("\x1b[2;28Hnew")
        assert end.read().endswith(BARE + "kept\x1b[23C\vnew\r\x1b[29C")


def test_a_line_that_stalls_holds_nobody_up_and_shows_the_latest() -> None:
    """Thousands of frames at once into a line that takes none; then it shows the last, and few of those between."""
    with line(80, 24) as (end, writes):
        writes.write("\x1b[?1049h")
        end.read()
        termios.tcflow(end.near, termios.TCOOFF)
        began = time.monotonic()
        for frame in range(3000):
            writes.write("\x1b[H" + "\r\n".join(f"{frame:05} {(frame + row) % 10}" * 10 for row in range(23)))
        assert time.monotonic() - began < 20
        assert not writes.drain(0.1)
        assert end.read() == ""
        termios.tcflow(end.near, termios.TCOON)
        assert len(end.read(0.5)) < 10_000
        assert end.screen.display[0].startswith("02999 9")


def test_a_terminal_that_answers_is_never_far_behind() -> None:
    """Answers come late: what is on its way stays near the limit, and what is shown in the end is the last."""
    with line(80, 24) as (end, writes):
        writes.write("\x1b[?1049h\x1b[Hfirst")
        assert QUESTION in end.read()
        writes.answered()
        for frame in range(100):
            writes.write("\x1b[H" + f"{frame:03} " * 20)
            time.sleep(0.002)
        behind = end.read()
        assert len(behind) < AHEAD + 80 + EVERY
        for _ in range(behind.count(QUESTION)):
            writes.answered()
        for _ in range(end.read().count(QUESTION)):
            writes.answered()
        end.read()
        assert end.screen.display[0].startswith("099 099")


def full(word: str) -> str:
    return "\x1b[H" + "\r\n".join([f"{word} " * 20] * 24)


def test_a_first_answer_that_comes_late_finds_much_sent_unasked() -> None:
    """Whole screens had gone out before it was known that this terminal answers."""
    with line(80, 24) as (end, writes):
        for frame in ("\x1b[?1049h", full("one"), full("two")):
            writes.write(frame)
            end.read()
        writes.answered()
        writes.write(full("six"))
        end.read()
        assert end.screen.display[23].startswith("six")


def test_a_terminal_that_never_answers_is_asked_once() -> None:
    with line(80, 24) as (end, writes):
        writes.write("\x1b[?1049h")
        for frame in range(30):
            writes.write("\x1b[H" + f"{frame:03} " * 20)
            end.read(0.02)
        assert end.got.count(QUESTION) == 1
        assert end.screen.display[0].startswith("029")


def test_an_answer_that_is_lost_is_not_waited_for_for_ever(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(writer, "PATIENCE", 1.5)
    with line(80, 24) as (end, writes):
        writes.write("\x1b[?1049h\x1b[Hfirst")
        end.read()
        writes.answered()
        for frame in range(100):
            writes.write("\x1b[H" + f"{frame:03} " * 20)
            time.sleep(0.002)
        end.read(0.1)
        assert not end.screen.display[0].startswith("099")
        end.read(2)
        assert end.screen.display[0].startswith("099")


def test_a_line_that_is_gone_ends_the_thread_and_no_one_waits() -> None:
    end = Line(20, 4)
    writes = Writer(end.near, 20, 4)
    writes.write("\x1b[?1049h")
    end.read()
    os.close(end.far)
    writes.write("\x1b[Hx")
    assert writes.drain(2)
    writes.settle(2)
    os.close(end.near)


@pytest.mark.parametrize("seed", range(5))
def test_whatever_happens_the_screen_is_the_wanted_one_in_the_end(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Frames, answers in time, late or never, a screen that others wrote on, a line that takes little: in any order."""
    monkeypatch.setattr(writer, "PATIENCE", 0.3)
    chance = random.Random(seed)
    with line(80, 24) as (end, writes):
        wanted, frame = Grid(80, 24), ""
        writes.write("\x1b[?1049h")
        for _ in range(150):
            match chance.choice(["frame", "frame", "line", "answer", "read", "others", "mode"]):
                case "frame":
                    frame = full(chance.choice(["one", "two", "six", "ten"]))
                case "line":
                    frame = f"\x1b[{chance.randrange(1, 25)};{chance.randrange(1, 60)}H\x1b[{chance.choice('0147')}m{chance.random()}\x1b[m"
                case "answer":
                    writes.answered()
                case "read":
                    end.read(0.01, chance.randrange(1, 3000))
                case "others":
                    end.read(0.05)
                    end.stream.feed("\x1b[5;5Hwhat others wrote")
                    writes.forget(80, 24)
                case "mode":
                    writes.write("\a")
            wanted.feed(frame)
            writes.write(frame)
        end.read(0.8)
        assert cells(end.screen) == cells(screen(80, 24, painted(wanted)))
        assert end.got.count("\a") >= 1


def test_without_a_terminal_there_is_no_writer(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Then Textual's own output is taken."""
    with (tmp_path / "log").open("w") as log:
        monkeypatch.setattr("sys.__stdout__", log)
        assert driver._writer(80, 24) is None
