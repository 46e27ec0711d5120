"""What the interview sends to a terminal, ours beside Textual's own output, beside a form of another program; run by itself:

    python -m tests.benchmarks.bytes                    the table of bytes and of seconds on a slow line
    python -m tests.benchmarks.bytes --record FILE      a journey at 960 bytes a second: the screen as it is every second
    python -m tests.benchmarks.bytes --idle 60          what it costs to leave it open

80 columns and 24 rows, 16 colours, the sample site of twelve units. 960 bytes a second are 9600 baud.
"""

from __future__ import annotations

import argparse
import os
import shutil
import tempfile
import time
from collections.abc import Callable, Mapping
from pathlib import Path

from tests.benchmarks.slow_line import SlowLine
from tests.journeys.terminal import KEYS, ROOT
from wizard.output.driver import STOCK

SITE = ROOT / "sample_sites/harbour-works/site.toml"
SLOW = 960  # bytes a second
PAUSE = 0.7  # seconds without a byte: what a key caused is over, a plan that follows an answer included
# A form of twelve fields by ncurses: measured once with the same terminal, where `dialog` is not there to be measured again.
FORM = {"first screen": 5975, "focus": 111}
MOST = {"first screen": 3500, "a first character": 64, "a character": 64, "focus": 450, "page": 2500}  # what we want at most, bytes
SOON = {"first screen": 4.5, "a character": 0.15, "focus": 0.6}  # and at 960 bytes a second, seconds

Cost = tuple[int, float]  # bytes, and seconds until the last of them


def costs(line: SlowLine, do: Callable[[], object], pause: float = PAUSE) -> Cost:
    """What something costs."""
    before, begun = len(line.written), time.monotonic()
    do()
    line.settle(pause)
    return len(line.written) - before, max(0.0, line.last - begun) if len(line.written) > before else 0.0


def interview(env: Mapping[str, str], rate: int | None) -> dict[str, Cost]:
    """The steps of the table, on the page of loads but for the first screen; the median of a few where there are several."""
    found: dict[str, Cost] = {}
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "site.toml").write_bytes(SITE.read_bytes())
        with SlowLine("site.toml", cwd=Path(folder), env=env, rate=rate) as line:
            begun = line.begun
            line.wait("1/", "F10", "cautions", seconds=90)
            line.settle(PAUSE)
            found["first screen"] = len(line.written), line.last - begun
            pages = [costs(line, lambda: line.press("f8")) for _ in range(3)]
            assert "Loads" in line.text().splitlines()[0]
            found["page"] = max(pages)
            found["focus"] = max(costs(line, lambda key=key: line.press(key)) for key in ("right", "right", "right", "left", "down", "up"))
            typed = [costs(line, lambda key=key: line.press(key), 0.3) for key in "quayside"]
            found["a first character"], found["a character"] = typed[0], max(typed[1:])
            found["an answer, its plan"] = costs(line, lambda: line.press("enter"), 2)
            found["the whole page"] = _whole(line)
    return found


def _whole(line: SlowLine) -> Cost:
    line.resize(79, 24)
    line.settle(PAUSE)
    return costs(line, lambda: line.resize(80, 24))


def dialog(rate: int | None) -> dict[str, Cost]:
    """A form of twelve fields, focus moved and a character typed."""
    fields = [text for row in range(1, 13) for text in (f"Field {row}", str(row), "2", "value", str(row), "20", "30", "40")]
    command = ("dialog", "--form", "Loads of the site", "0", "0", "12", *fields)
    found = {}
    with tempfile.TemporaryDirectory() as folder, SlowLine(cwd=Path(folder), rate=rate, command=command) as line:
        line.wait("Field 12", seconds=60)
        line.settle(PAUSE)
        found["first screen"] = len(line.written), line.last - line.begun
        found["focus"] = max(costs(line, lambda: line.press("down")) for _ in range(4))
        found["a character"] = max(costs(line, lambda: line.press("q")) for _ in range(4))
    return found


def table() -> int:
    """Print it; 1 where a figure is not reached."""
    kinds = {"ours": {}, "Textual's": {STOCK: "1"}}
    found = {(name, rate): interview(env, rate) for rate in (None, SLOW) for name, env in kinds.items()}
    form = {rate: dialog(rate) if shutil.which("dialog") else {step: (size, 0.0) for step, size in FORM.items()} for rate in (None, SLOW)}
    print(f"{'':22}{'ours':>8}{'wanted':>8}{'Textual':>9}{'form':>8}   at 960 B/s: {'ours':>6}{'wanted':>8}{'Textual':>9}{'form':>8}")
    bad = []
    for step in found["ours", None]:
        ours, stock = ((found[name, None][step][0], found[name, SLOW][step][1]) for name in kinds)
        most, soon, other = MOST.get(step), SOON.get(step), (form[None].get(step, ("", 0))[0], form[SLOW].get(step, (0, 0.0))[1])
        print(
            f"{step:22}{ours[0]:>8}{most or '':>8}{stock[0]:>9}{other[0]:>8}   {'':11}{ours[1]:6.2f} s{soon or '':>7}{stock[1]:7.2f} s"
            + (f"{other[1]:6.2f} s" if other[1] else "")
        )
        bad += [step] if (most and ours[0] > most) or (soon and ours[1] > soon) else []
    print(f"form: {'dialog with twelve fields' if shutil.which('dialog') else 'twelve fields by ncurses, measured once'}")
    print(f"not reached: {', '.join(bad)}" if bad else "all reached")
    return bool(bad)


def held() -> None:
    """A key held down for three seconds on a slow line: how long after it is let go does the screen still move?"""
    for name, env in (("ours", {}), ("Textual's", {STOCK: "1"})):
        with tempfile.TemporaryDirectory() as folder:
            (Path(folder) / "site.toml").write_bytes(SITE.read_bytes())
            with SlowLine("site.toml", cwd=Path(folder), env=env, rate=SLOW) as line:
                line.wait("cautions", seconds=90)
                line.settle()
                for number in range(90):
                    line.press("down" if number % 2 else "f8" if number % 4 else "f7")
                    line.wait_seconds(1 / 30)
                line.press("f1")
                size, seconds = costs(line, lambda: None, 2)
                print(f"a key held for 3 s, then F1, {name}: {seconds:.1f} s and {size} bytes until the screen rests")


def record(path: Path) -> None:
    """A journey on the slow line: from the first screen to the loads, one changed, to the review and out."""
    steps = [("", 6), ("f8", 2), ("f8", 2), ("f8", 3), ("down", 1), ("right", 1), ("right", 1), ("9", 0.3), (" ", 0.3), ("k", 0.3), ("W", 1), ("enter", 3), ("f6", 3), ("f4", 3), ("escape", 2), ("f2", 3), ("f10", 2)]  # fmt: skip
    with tempfile.TemporaryDirectory() as folder, path.open("w") as out:
        (Path(folder) / "site.toml").write_bytes(SITE.read_bytes())
        with SlowLine("site.toml", cwd=Path(folder), rate=SLOW) as line:
            shown = 0
            for key, seconds in steps:
                if key:
                    line.press(key)
                    print(f"{time.monotonic() - line.begun:6.1f} s: {key if key in KEYS else repr(key)} pressed", file=out)
                end = time.monotonic() + seconds
                while time.monotonic() < end:
                    line.wait_seconds(0.05)
                    if (second := int(time.monotonic() - line.begun)) > shown:
                        shown = second
                        print(f"{second:6} s, {len(line.written)} bytes\n{'-' * 80}\n{line.text()}\n{'-' * 80}", file=out)


def idle(seconds: float) -> None:
    """What it costs to leave it open."""
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "site.toml").write_bytes(SITE.read_bytes())
        with SlowLine("site.toml", cwd=Path(folder)) as line:
            line.wait("cautions", seconds=60)
            line.settle(2)
            size, worked = len(line.written), _worked(line.pid)
            line.settle(seconds, seconds)
            used = _worked(line.pid) - worked
            print(f"{seconds:.0f} s idle: {len(line.written) - size} bytes, {100 * used / seconds:.2f} % of a processor")


def _worked(pid: int) -> float:
    told = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(told[11]) + int(told[12])) / os.sysconf("SC_CLK_TCK")


def main() -> int:
    """Run what was asked for."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--record", type=Path)
    parser.add_argument("--idle", type=float)
    parser.add_argument("--held", action="store_true")
    given = parser.parse_args()
    if given.record:
        record(given.record)
    elif given.idle:
        idle(given.idle)
    elif given.held:
        held()
    else:
        return table()
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
