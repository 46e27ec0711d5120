"""How long a diagnosis of twelve units takes, by kind of reading: `python -m tests.benchmarks.find`. No test: it tells, and judges nothing."""

from __future__ import annotations

import sys
import time

from engine.proof.found_text import find_text
from tests.engine.paper_sites import sample

READINGS = (
    "chain-resistance@L1-1=open",
    "display@L2-1:2=L3",
    "bank-polarity@B1:2=-51V",
    "pre-charge@L1-1=0V/52V",
    "load-continuity@L2-3:2=open",
    "second-bond@set:1=0.2ohm",
    "unit-voltage@L2-1:3=0V",
    "unit-voltage@L2-2:2=398V",
    "test-load@set:1=0V",
)


def main() -> None:
    """A diagnosis of the largest sample for each reading, s of the processor."""
    planned = sample("harbour-works")
    for reading in READINGS:
        start = time.process_time()
        text = find_text(planned, [reading])
        sys.stdout.write(f"{time.process_time() - start:6.2f} s  {reading}: {text.split(chr(10) * 2)[1].splitlines()[0]}\n")


if __name__ == "__main__":
    main()
