"""Sessions that are killed (SIGKILL) at random moments: what they said was kept is there, whatever they were doing.

    python -m tests.benchmarks.kills [COUNT [SEED]]

A killed process loses nothing that the system has taken over; what a machine without power loses is no matter of these (see
`test_what_is_kept_is_on_the_disk_first`).
"""

from __future__ import annotations

import itertools
import os
import random
import select
import signal
import sys
import tempfile
import time
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from engine.files.write import write
from tests.journeys.terminal import Terminal
from wizard.answers.session import Session
from wizard.drafts import journal
from wizard.drafts.folder import begin, drop, offers, resume
from wizard.drafts.journal import NotKept
from wizard.drafts.records import text_of
from wizard.drafts.snapshot import Snapshot
from wizard.interview.drafting import snapshot
from wizard.interview.events import Key
from wizard.interview.handle import handle
from wizard.interview.state import begun
from wizard.screens.keeping import Keeping, taken_up

_PAGES = ("site", "loads", "bank", "wall")


def moment(seed: int, number: int) -> Snapshot:
    """The moment of that number in the script of that seed: each differs from all others."""
    dice = random.Random(f"{seed} {number}")
    document = {
        "schema": 1,
        "site": {"name": f"Site {number}", "notes": "n" * dice.randrange(200)},
        "loads": [{"name": f"Load {at}", "power": f"{dice.randrange(9000)} W"} for at in range(dice.randrange(12))],
    }
    if dice.random() < 0.3:
        del document["loads"]
    refused = {"set.count": (f"{number} pcs", "wanted a whole number")} if dice.random() < 0.3 else {}
    page = dice.choice(_PAGES)
    return Snapshot(document, refused, page, f"{page}.key", dice.choice((None, 3)), f"half {number}" if dice.random() < 0.3 else None)


def killed(work: Callable[[Callable[[int], None]], None], seconds: float) -> list[int]:
    """The numbers that a process told before it was killed so many seconds after the first."""
    out, into = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(out)
            work(lambda number: os.write(into, b"%d\n" % number) and None)
        finally:
            os._exit(3)  # its work never ends: a fault
    os.close(into)
    with os.fdopen(out, "rb") as told:
        select.select([told], [], [], 60)
        time.sleep(seconds)
        os.kill(child, signal.SIGKILL)
        numbers = [int(line) for line in told.read().split(b"\n") if line]
    _, status = os.waitpid(child, 0)
    assert os.waitstatus_to_exitcode(status) == -signal.SIGKILL, status
    return numbers


def drafts_killed(count: int, seed: int) -> str:
    """So many kills of sessions that go on with one draft after another; a summary. AssertionError where anything was lost."""
    dice = random.Random(seed)
    first, told, ended = 0, 0, 0
    journal.LARGE, large = 8 * 1024, journal.LARGE  # new starts are written all the time
    try:
        for kill in range(count):
            from_here = first

            def session(tell: Callable[[int], None], from_here: int = from_here) -> None:
                number = from_here
                tell(number)  # nothing of its own: what was there before is, also where it is killed while it takes the draft up
                found = offers()
                kept = resume(found[0])[1] if found else begin(None, None, Snapshot())
                while True:
                    number += 1
                    assert kept.keep(moment(seed, number)) is None
                    tell(number)

            numbers = killed(session, dice.random() * dice.choice((0.02, 0.2)))
            last = numbers[-1]
            found = offers()
            assert len(found) == (1 if last else len(found)), f"kill {kill}: {len(found)} drafts"
            if not found:
                continue
            there = found[0].kept.snapshot
            # What was being written may be there whole although nobody was told.
            first = next((number for number in (last, last + 1) if there == moment(seed, number)), -1)
            assert first >= 0, f"kill {kill}: {last} was told, the draft has {there.document['site']}"
            told += len(numbers) - 1
            ended += first == last + 1
    finally:
        journal.LARGE = large
    return f"{count} kills of sessions (seed {seed}): {told} moments told as kept, none lost; {ended} more were whole on the disk though not yet told"


def interviews_killed(count: int, seed: int) -> str:
    """So many kills of an interview (its keys and its keeping, without a screen) somewhere in a script of random keys; a summary.

    AssertionError where what was kept before the screen would have shown it is not what the draft has.
    """
    dice = random.Random(seed)
    keys = kept = 0
    state = begun(Session())
    for key in itertools.islice(keys_of(dice), 300):  # what is worked out once and remembered is so before the first fork
        state, _ = handle(state, Key(key if len(key) > 1 else "", key if len(key) == 1 else ""))
    for kill in range(count):
        start = hash_of(found[0].kept.snapshot) if (found := offers()) else hash_of(Snapshot({"schema": 1}))

        def session(tell: Callable[[int], None], kill: int = kill, start: int = start) -> None:
            tell(start)
            found = offers()
            taken = taken_up(found[0]) if found else None
            assert not isinstance(taken, str), taken
            state, keeping = taken or (fresh := begun(Session()), Keeping(fresh))
            keep = keeping.journal.keep

            def telling(snapshot: Snapshot) -> NotKept | None:
                tell(-hash_of(snapshot))  # from here on it may be on the disk
                return keep(snapshot)

            keeping.journal.keep = telling  # type: ignore[method-assign]
            for number, key in enumerate(keys_of(random.Random(f"{seed} {kill}"))):
                state, _ = keeping.handled(state, Key(key if len(key) > 1 else "", key if len(key) == 1 else "", float(number)))
                tell(hash_of(snapshot(state)))  # from here on it is on the screen
                if number % 40 == 0:
                    state = keeping.kept(state)

        told = killed(session, dice.random() * dice.choice((0.05, 0.4)))
        shown = next(number for number in reversed(told) if number > 0)
        found = offers()
        there = hash_of(found[0].kept.snapshot) if found else hash_of(Snapshot({"schema": 1}))
        assert there in (shown, -told[-1]), f"kill {kill}: after {len(told)} keys the draft is neither what was shown nor what was being kept"
        keys, kept = keys + sum(number > 0 for number in told) - 1, kept + sum(number < 0 for number in told)
        if found and dice.random() < 0.1:  # another site now and then
            drop(found[0])
    return f"{count} kills of interviews (seed {seed}): {keys} keys handled, {kept} moments kept, no answer lost"


def hash_of(snapshot: Snapshot) -> int:
    """A number above 0 for the answers, taken and refused, of a moment."""
    refused = dict(sorted(snapshot.refused.items()))  # which was refused last is no answer
    return 1 + zlib.crc32(f"{text_of(snapshot.document)} {text_of(refused)}".encode())


def keys_of(dice: random.Random) -> Iterator[str]:
    """Keys without end: answers that fit and that do not, and all that changes or moves them."""
    while True:
        if dice.random() < 0.5:
            yield from dice.choice(("6", "50", "12 kW", "400 V", "y", "t", "Pump", "many", "4,2 m", "L1"))
            yield "enter"
        else:
            yield dice.choice(("tab", "shift+tab", "up", "down", "left", "right", "f7", "f8", "f8", "f9", "enter", "escape", "f5", "ctrl+y", "delete"))


def terminals_killed(count: int, seed: int, folder: Path) -> str:
    """So many kills of the program itself in a terminal, while one answer after another is typed; a summary.

    AssertionError where an answer that the screen acknowledged is not there when the draft is gone on with.
    """
    dice = random.Random(seed)
    os.environ["XDG_STATE_HOME"] = str(folder / "state")
    number, asked = 0, "The most current a short circuit there can draw."
    for kill in range(count):
        with Terminal(cwd=folder, env={"XDG_STATE_HOME": str(folder / "state")}) as terminal:
            if kill:
                terminal.wait("Not saved yet, and kept:")
                terminal.press("enter")
                terminal.wait("Gone on with where you were.", f"[1.{number:05} " if number else "Fault level")
            else:
                terminal.wait("Fault level there")
            # It was killed behind an answer, before the way back; or it is at its first question.
            while asked not in terminal.settle(0.05):
                terminal.press("up" if kill else "down")
            end = time.monotonic() + dice.random() * 1.5
            shown = number
            while time.monotonic() < end:
                number += 1
                terminal.press(f"1.{number:05}", "enter", "up")
                while time.monotonic() < end and f" -> 1.{number:05} kA" not in terminal.text():
                    terminal.settle(0.01, 0.01)
            os.kill(terminal.pid, signal.SIGKILL)
            terminal.wait_exit()
            terminal.settle(0.05, 1)
            # The one before the last was waited for.
            shown = number if f" -> 1.{number:05} kA" in terminal.text() else max(shown, number - 1)
        document = offers()[0].kept.snapshot.document if offers() else {}
        there = document.get("incoming", {}).get("prospective_fault", "0.00000 kA")
        assert there in {f"1.{at:05} kA" for at in (shown, number)} | ({"0.00000 kA"} if not shown else set()), f"kill {kill}: the screen had {shown}, the draft has {there}"
        number = int(there[2:7])
    return f"{count} kills in a terminal (seed {seed}): {number} answers typed, none lost that was on the screen"


def saves_killed(count: int, seed: int, folder: Path) -> str:
    """So many kills of a save of the site's file; a summary. AssertionError where it is neither the old text nor the new one."""
    dice = random.Random(seed)
    site, new = folder / "site.toml", 0

    def text(number: int) -> str:
        return f"# {number}\n" + f"name = 'of {number}'\n" * (500 + number % 7)

    site.write_text(text(0))
    first = ahead = 0
    for kill in range(count):

        def saving(tell: Callable[[int], None], first: int = first) -> None:
            number = first
            tell(number)
            while True:
                number += 1
                write(site, text(number))
                tell(number)

        numbers = killed(saving, dice.random() * 0.03)
        there = site.read_text()
        first = next((number for number in (numbers[-1], numbers[-1] + 1) if there == text(number)), -1)
        assert first >= 0, f"kill {kill}: the file is neither that of save {numbers[-1]} nor of the next: {there[:30]!r}, {len(there)} characters"
        new += len(numbers) - 1
        ahead += first == numbers[-1] + 1
    write(site, text(first))
    assert [path.name for path in folder.iterdir()] == ["site.toml"], "parts are left behind"
    return f"{count} kills during a save (seed {seed}): {new} saves told, the file always whole; {ahead} times the new one though not yet told"


@contextmanager
def own_folder() -> Iterator[Path]:
    """A folder for the drafts of these sessions alone."""
    before = os.environ.get("XDG_STATE_HOME")
    with tempfile.TemporaryDirectory() as folder:
        os.environ["XDG_STATE_HOME"] = folder
        try:
            yield Path(folder)
        finally:
            del os.environ["XDG_STATE_HOME"]
            if before is not None:
                os.environ["XDG_STATE_HOME"] = before


if __name__ == "__main__":
    wanted = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    begun_with = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    with own_folder():
        print(drafts_killed(wanted, begun_with), flush=True)
    with own_folder():
        print(interviews_killed(wanted, begun_with), flush=True)
    with own_folder() as somewhere:
        print(terminals_killed(max(1, wanted // 20), begun_with, somewhere), flush=True)
    with tempfile.TemporaryDirectory() as somewhere:
        print(saves_killed(max(1, wanted // 5), begun_with, Path(somewhere)))
