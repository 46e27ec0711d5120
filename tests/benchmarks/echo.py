"""How soon the interview answers: the first question's paint, and a typed key's echo, each beside a bare Textual input in the same run.

    python -m tests.benchmarks.echo [ROUNDS]

Everything is measured in a terminal of its own, from the key that is written to the screen that shows it. Exit status 1 where a limit is not kept.
"""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from tests.journeys.terminal import ROOT, Terminal

ECHO = 0.060  # seconds from a key to its echo, of 95 keys in a hundred, with twelve units, also while a plan is made
FIRST = 2.0  # times a bare app's first paint, until the first question is seen and takes typing

HARBOUR = ROOT / "sample_sites/harbour-works/site.toml"
GAP = 0.12  # seconds between two keys: somebody who types fast

# What any program of this kind has to do: import Textual, and show a line that is typed in.
BARE = """
from textual.app import App
from textual.widgets import Input
class Bare(App):
    def compose(self):
        yield Input(placeholder="ready")
Bare().run(mouse=False)
"""


class Bare(Terminal):
    """The bare app in a terminal."""

    command = (sys.executable, "-c", BARE)


def bare(folder: Path) -> Terminal:
    """The bare app in a terminal."""
    return Bare(cwd=folder)


def interview(folder: Path, site: Path | None = None) -> Terminal:
    """The interview in a terminal, on a copy of a site or from nothing."""
    if site is None:
        return Terminal(cwd=folder)
    (folder / "site.toml").write_bytes(site.read_bytes())
    return Terminal("site.toml", cwd=folder)


def until(t: Terminal, shown: str, since: float) -> float:
    """Seconds until a text stands on the screen."""
    t.wait(shown, seconds=60)
    return time.monotonic() - since


def starts(open_: Callable[[Path], Terminal], shown: str, key: str, echoed: str) -> tuple[float, float]:
    """Seconds from the start to the first paint, and until a key that was typed then is seen."""
    with tempfile.TemporaryDirectory() as folder:
        since = time.monotonic()
        with open_(Path(folder)) as t:
            painted = until(t, shown, since)
            t.press(key)
            return painted, until(t, echoed, since)


def echoes(t: Terminal, texts: Iterator[tuple[str, str]]) -> tuple[list[float], int]:
    """Seconds from each key of some texts (what is typed, and the key that goes on behind it) to its echo; for how many a plan was made meanwhile."""
    told, planning = [], 0
    for text, onward in texts:
        for at in range(1, len(text) + 1):
            assert f"[{text[:at]} " not in t.text(), "it would be no echo"
            planning += "Planning" in t.text()
            since = time.monotonic()
            t.press(text[at - 1])
            told.append(until(t, f"[{text[:at]} ", since))
            t.settle(GAP, GAP)
        t.press(onward)
        t.settle(GAP, GAP)
    return told, planning


def percentile(times: list[float], share: float = 0.95) -> float:
    """The time that so many of the times do not exceed."""
    return sorted(times)[min(len(times) - 1, int(share * len(times)))]


def typed(rounds: int, onward: tuple[str, str]) -> Iterator[tuple[str, str]]:
    """Answers to the first two questions of the unit's plate, over and over, each another one than before."""
    for at in range(rounds):
        yield f"{7 + at % 2}.{1 + at % 9}", onward[0]
        yield f"{61 + at % 2}.{1 + at % 7}", onward[1]


def main() -> int:
    """Measure and print."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 9
    ours, others = [], []
    starts(interview, "Phases of the supply", "t", "< three-phase")  # what is compiled and cached is so for both
    for _ in range(rounds):
        others.append(starts(bare, "ready", "7", " 7 "))
        ours.append(starts(interview, "Phases of the supply", "t", "< three-phase"))
    paint, takes = (statistics.median(one[at] / other[0] for one, other in zip(ours, others, strict=True)) for at in (0, 1))
    print(f"first paint: {statistics.median(one[0] for one in ours):.3f} s, bare {statistics.median(one[0] for one in others):.3f} s, {paint:.2f} times (limit {FIRST:g})")
    print(f"takes typing: {statistics.median(one[1] for one in ours):.3f} s, {takes:.2f} times the bare first paint (limit {FIRST:g})")

    with tempfile.TemporaryDirectory() as folder, bare(Path(folder)) as t:
        t.wait("ready")
        t.settle()
        alone = []
        for key in "123456789" * rounds:
            since = time.monotonic()
            t.press(key)
            alone.append(until(t, key, since))
            t.press("backspace")
            t.settle(GAP, GAP)
    measured, planning = {"bare": alone}, 0
    with tempfile.TemporaryDirectory() as folder, interview(Path(folder), HARBOUR) as t:
        t.wait("Phases of the supply", "cautions (F6)")
        t.press("f8")
        t.wait("Power of one unit")
        t.settle()
        # Typed and taken back: no plan is made.
        measured["at rest"], _ = echoes(t, ((f"{7 + at % 2}.{at % 10}", "f5") for at in range(2 * rounds)))
        measured["while planning"], planning = echoes(t, typed(2 * rounds, ("enter", "up")))
    for name, times in measured.items():
        ratio = percentile(times) / percentile(alone)
        print(f"echo, {name}: {len(times)} keys, median {statistics.median(times) * 1e3:.1f} ms, 95 in 100 within {percentile(times) * 1e3:.1f} ms, {ratio:.2f} times bare")
    slow = max(percentile(measured[name]) for name in ("at rest", "while planning"))
    print(f"a plan was being made at {planning} of the {len(times)} keys")
    print(f"load: {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors")
    return 0 if max(paint, takes) <= FIRST and slow <= ECHO else 1


if __name__ == "__main__":
    sys.exit(main())
