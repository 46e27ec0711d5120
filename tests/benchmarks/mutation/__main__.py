"""`python -m tests.benchmarks.mutation --cells 300 --code 300`: draw mutants, judge them, write the report."""

from __future__ import annotations

import argparse
import math
import sys
import time
from pathlib import Path

from tests.benchmarks.mutation import judge
from tests.benchmarks.mutation.bench import Bench
from tests.benchmarks.mutation.cells import of_tables
from tests.benchmarks.mutation.mutants import drawn, of_code
from tests.benchmarks.mutation.report import reasons, report

ROOT = Path(__file__).parents[3]


def main() -> int:
    """Run it all; 0 where every survivor is explained."""
    given = _arguments()
    began = time.time()
    judge.prepare()
    bench = Bench(given.root.resolve(), (given.work or given.root / "build" / "mutation").resolve(), given.processes, given.seconds)
    code = drawn(of_code(bench.root), given.code, given.seed)
    cells = of_tables(bench.root)
    read = [m for m in cells if bench.read & bench.marks.showing(m)]
    mutants = sorted([*drawn(read, given.cells, given.seed), *code], key=lambda m: (m.file, m.begin))
    judged = bench.judged(mutants)
    known = reasons(bench.root)
    alive = [m for m in mutants if not (verdict := judged[m]) or not verdict.killed]
    spent = sum(verdict.seconds for verdict in judged.values() if verdict)
    head = [
        f"Seed {given.seed}; {len(bench.reached)} tests. {(time.time() - began) / 60:.0f} minutes; {spent / 60:.0f} minutes of the processor for verdicts.",
        *(f"- unfit to judge, for it fails on the tree as it is: {test}" for test in sorted(bench.unfit)),
    ]
    text = report(judged, known, [m for m in cells if m not in set(read)], head)
    (given.report or bench.work / "report.md").write_text(text, encoding="utf-8")
    return 0 if all(m.name in known for m in alive) else 1


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.mutation", description=__doc__)
    parser.add_argument("--cells", type=int, default=300, help="how many mutants of table cells")
    parser.add_argument("--code", type=int, default=300, help="how many mutants of formulas, solvers and stages")
    parser.add_argument("--seconds", type=float, default=math.inf, help="of the processor for one mutant, rather than all tests that reach it")
    parser.add_argument("--seed", type=int, default=6)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--root", type=Path, default=ROOT, help="the tree to judge")
    parser.add_argument("--work", type=Path, help="where copies, what tests reach, and verdicts lie (build/mutation)")
    parser.add_argument("--report", type=Path, help="where the report goes (report.md there)")
    return parser.parse_args()


if __name__ == "__main__":
    sys.exit(main())
