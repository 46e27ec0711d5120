"""A site without a mistake passes every step: random sites of all sizes, by number; run by itself:

    python -m tests.benchmarks.right [COUNT] [--first NUMBER] [--jobs N]
"""

from __future__ import annotations

import argparse
import multiprocessing
import time

from tests.proof.sites import failing, random_course, unnamed


def _one(number: int) -> tuple[int, list[str]]:
    try:
        course = random_course(number)
        found = sorted({f"{event.step.id.partition('@')[0]}, {event.item.instrument.value}" for event, _, _ in failing(course)})
        return number, found + [f"not there: {name}" for name in sorted(unnamed(course))]
    except Exception as problem:  # noqa: BLE001 - any of them is what is looked for
        return number, [repr(problem)[:100]]


def main() -> int:
    """Run, and print every step that fails with the numbers of the sites."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("count", nargs="?", type=int, default=300)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--jobs", type=int, default=2)
    given = parser.parse_args()
    begun, found = time.monotonic(), dict[str, list[int]]()
    with multiprocessing.Pool(given.jobs) as pool:
        for number, kinds in pool.imap_unordered(_one, range(given.first, given.first + given.count)):
            for kind in kinds:
                found.setdefault(kind, []).append(number)
    print(f"{given.count} right sites from number {given.first} on in {time.monotonic() - begun:.0f} s: {len(found)} kinds of failure")
    for kind, numbers in sorted(found.items()):
        print(f"  {kind}: {len(numbers)} sites, {sorted(numbers)[:12]}")
    return 1 if found else 0


if __name__ == "__main__":
    raise SystemExit(main())
