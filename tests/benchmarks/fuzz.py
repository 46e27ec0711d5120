"""Many thousand plausible sites, each through the whole examination; run by itself:

    python -m tests.benchmarks.fuzz [COUNT] [--first NUMBER] [--to DIR] [--jobs N] [--minutes M]

Sites are told by number, so that a run can be repeated and a failure looked at alone. Of every kind of failure the first site is
made small, by leaving answers out, and written to DIR. Prints standings, findings, failures, the slowest sites, the time.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import tempfile
import time
from collections import Counter
from pathlib import Path

from engine.files.emit import emit
from tests.generated.examine import Seen, examine
from tests.generated.sites import site, smallest

_COUNT = 50_000


def _one(number: int) -> tuple[int, Seen, float]:
    """One site examined, and the seconds of the processor that it took."""
    begun = time.process_time()
    with tempfile.TemporaryDirectory() as folder:
        seen = examine(site(number), Path(folder))
    return number, seen, time.process_time() - begun


def _small(number: int, kind: str) -> str:
    """The smallest file that still fails so."""
    with tempfile.TemporaryDirectory() as folder:
        return emit(smallest(site(number), lambda document: kind in examine(document, Path(folder)).kinds))


def main() -> int:
    """Run, print, and say by the exit status whether everything held."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("count", nargs="?", type=int, default=_COUNT)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--to", type=Path, default=Path("fuzz-failures"))
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--minutes", type=float, default=float("inf"), help="begin no further site after so long, and sum up what was done")
    given = parser.parse_args()
    begun = time.monotonic()
    standings: Counter[str] = Counter()
    codes: Counter[tuple[str, str]] = Counter()
    failures: dict[str, list[tuple[int, str]]] = {}
    slow: list[tuple[float, int]] = []
    with multiprocessing.Pool(given.jobs) as pool:
        numbers = range(given.first, given.first + given.count)
        for done, (number, seen, seconds) in enumerate(pool.imap_unordered(_one, numbers, chunksize=8), 1):
            if time.monotonic() - begun > 60 * given.minutes:
                break
            standings[seen.standing or "no plan"] += 1
            codes.update((level, code) for code, level in seen.codes.items())
            for one in seen.broken:
                failures.setdefault(one.kind, []).append((number, one.text))
            slow = sorted([*slow, (seconds, number)], reverse=True)[:5]
            if done % 500 == 0:
                print(f"... {done} in {time.monotonic() - begun:.0f} s, {len(failures)} kinds of failure", flush=True)
    done = sum(standings.values())
    print(f"{done} sites from number {given.first} on, {given.jobs} at a time, in {time.monotonic() - begun:.0f} s")
    print("standings: " + ", ".join(f"{name} {count} ({count / done:.1%})" for name, count in standings.most_common()))
    print(f"findings, {len(codes)} codes:")
    for (level, code), count in sorted(codes.items(), key=lambda pair: (pair[0][0] != "stop", pair[0][0], -pair[1])):
        print(f"  {level:<8}{code:<36}{count:>8}")
    print("slowest: " + ", ".join(f"number {number} {seconds:.2f} s" for seconds, number in slow))
    print(f"failures: {len(failures)} kinds")
    for kind, found in failures.items():
        number, text = min(found)
        given.to.mkdir(parents=True, exist_ok=True)
        path = given.to / f"{''.join(c if c.isalnum() else '-' for c in kind)}-{number}.toml"
        path.write_text(_small(number, kind), encoding="utf-8")
        print(f"  {kind}: {len({n for n, _ in found})} sites, first number {number}; {path}\n    {text.strip()[-600:]}")
    return 1 if failures else 0


if __name__ == "__main__":
    raise SystemExit(main())
