"""`python -m tests.benchmarks.mutation --cells 300 --code 300`: draw mutants, judge them, write the report."""

from __future__ import annotations

import argparse
import functools
import gc
import hashlib
import json
import math
import os
import pickle
import re
import shutil
import sys
import time
from collections import Counter, defaultdict, deque
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict
from operator import or_
from pathlib import Path
from typing import Any

from tests.benchmarks.mutation import judge, reach
from tests.benchmarks.mutation.cells import of_tables
from tests.benchmarks.mutation.judge import Verdict
from tests.benchmarks.mutation.mutants import Mutant, drawn, of_code
from tests.benchmarks.mutation.reach import Reached
from tests.benchmarks.mutation.report import reasons, report

ROOT = Path(__file__).parents[3]
_FIRST, _FIRST_FILES = 4.0, 10  # seconds and files of the first lot
_ALL = "passes all"
_COMMON = {"__init__", "checks", "part", "text", "plan"}  # words that tell no test from another
_PLANNER = "engine/planner.py"


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


class Bench:
    """A tree as it was at the beginning, its copies to break, what its tests reach, and the verdicts so far."""

    def __init__(self, root: Path, work: Path, processes: int, limit: float) -> None:
        self.work, self.limit = work, limit
        work.mkdir(parents=True, exist_ok=True)
        self.root, *self.trees = (judge.copied(root, work / f"tree-{k}") for k in range(1 + processes))
        self.state = _state(self.root)
        self.marks = reach.marks(self.root)
        self.reached = self._reached()
        self.seconds = {test: reached.seconds for test, reached in self.reached.items()}
        self.unfit = {test for test, reached in self.reached.items() if not reached.passed}
        planner = sum(1 << mark for place, mark in self.marks.of.items() if place[0] == _PLANNER)
        self.read = functools.reduce(or_, (reached.marks for reached in self.reached.values() if reached.marks & planner), 0)
        self.killers: dict[str, Counter[str]] = defaultdict(Counter)
        self.texts = {file: (self.root / file).read_text(encoding="utf-8") for file in {_file(test) for test in self.reached}}
        self.verdicts = work / "verdicts.jsonl"
        self.verdicts.touch()

    def _reached(self) -> dict[str, Reached]:
        kept, folder = self.work / f"reach-{self.state}.pickle", self.work / "reached"
        if not kept.exists():
            shutil.rmtree(folder, ignore_errors=True)
            folder.mkdir()
            children = [reach.start(tree, self.marks, folder, share, len(self.trees)) for share, tree in enumerate(self.trees)]
            for child in children:
                os.waitpid(child, 0)
            kept.write_bytes(pickle.dumps(sorted(pickle.loads(path.read_bytes()) for path in folder.iterdir())))
        return {test: Reached(*reached) for test, reached in pickle.loads(kept.read_bytes())}

    def reaching(self, mutant: Mutant) -> list[str]:
        """The tests that reach a mutant, the likeliest to fail for their time first."""
        marks = self.marks.showing(mutant)
        killed, kin = self.killers[mutant.file], self._kin(mutant)
        found = [(test, it) for test, it in self.reached.items() if marks & it.marks]
        found.sort(key=lambda each: (0.02 + each[1].seconds) * (10 + each[1].marks.bit_count()) / (1 + 10 * killed[each[0]] + 5 * kin[_file(each[0])]))
        return [test for test, _ in found if test not in self.unfit]

    def _kin(self, mutant: Mutant) -> Counter[str]:
        """How many of a mutant's words each file of tests has: its file and function, and what it says near the change; a file's name counts most."""
        path, source = Path(mutant.file), (self.root / mutant.file).read_text(encoding="utf-8")
        near = "\n".join(source.splitlines()[max(0, mutant.line - 4) : mutant.line + 4])
        words = {path.stem, path.parent.name, *re.findall(r"\w{4,}", mutant.where), *re.findall(r'"([^"{}]{4,40})"', near)}
        return Counter({file: sum((word in text) + 5 * (word in file) for word in words - _COMMON) for file, text in self.texts.items()})

    def judged(self, mutants: Sequence[Mutant]) -> dict[Mutant, Verdict | None]:
        """A verdict on each, in the order given; None where no test reaches it.

        What was judged on the same tree is not judged again. A test that also fails on the tree as it is, in the way in which mutants
        are judged, is unfit, and what it killed is judged again.
        """
        fit: set[str] = set()
        while True:
            found = self._judged(mutants)
            asked = {verdict.killed for verdict in found.values() if verdict} & set(self.reached) - fit
            if not (unfit := self._failing(sorted(asked))):
                return found
            self.unfit |= unfit
            fit |= asked - unfit

    def _failing(self, tests: Sequence[str]) -> set[str]:
        tree = self.trees[0]
        child = judge.start(tree, None, tests, self.seconds)
        _, status = os.waitpid(child, 0)
        judge.end(self.root, tree, None, child)
        failed = dict(judge.told(tree, status))
        if strange := set(failed) - set(tests):
            raise RuntimeError(f"the tree cannot be judged: {failed[strange.pop()]}")
        return set(failed)

    def _judged(self, mutants: Sequence[Mutant]) -> dict[Mutant, Verdict | None]:
        before = {tuple(old["name"]): old for old in map(json.loads, self.verdicts.read_text(encoding="utf-8").splitlines())}
        found: dict[Mutant, Verdict | None] = {m: self._standing(before.get(m.name)) for m in mutants}
        killer = {name: old["verdict"]["killed"] for name, old in before.items()}
        waiting = deque(_Case(self, m, killer.get(m.name, "")) for m in mutants if not found[m])
        gc.freeze()  # what is forked from here is not to be copied by being looked through
        free, busy = [*self.trees], dict[int, tuple[_Case, Path]]()
        while waiting or busy:
            while waiting and free:
                case = waiting.popleft()
                if tests := next(case.lots, None):
                    tree = free.pop()
                    busy[judge.start(tree, case.mutant, tests, self.seconds)] = case, tree
                elif self.reaching(case.mutant):
                    found[case.mutant] = self._noted(case, "", _ALL if case.all else f"passes {self.limit:.0f} s of them")
            if busy:
                child, status, used = os.wait3(0)
                case, tree = busy.pop(child)
                free.append(tree)
                judge.end(self.root, tree, case.mutant, child)
                case.seconds += used.ru_utime + used.ru_stime
                if failed := judge.told(tree, status):
                    self.killers[case.mutant.file][failed[0][0]] += 1
                    found[case.mutant] = self._noted(case, *failed[0])
                else:
                    waiting.appendleft(case)
        return found

    def _standing(self, old: Any) -> Verdict | None:
        """A verdict of before that still stands: of the same tree, by a test that is fit, or by no fewer tests than now."""
        if old is None or old["state"] != self.state:
            return None
        verdict = Verdict(**old["verdict"])
        return verdict if (verdict.killed not in self.unfit if verdict.killed else old["limit"] >= self.limit) else None

    def _noted(self, case: _Case, killed: str, how: str) -> Verdict:
        verdict = Verdict(killed, how, case.seconds)
        with self.verdicts.open("a", encoding="utf-8") as verdicts:
            limit = math.inf if case.all else self.limit
            print(json.dumps({"state": self.state, "name": case.mutant.name, "limit": limit, "verdict": asdict(verdict)}), file=verdicts)
        return verdict


class _Case:
    """A mutant before its judges."""

    def __init__(self, bench: Bench, mutant: Mutant, killer: str) -> None:
        self.bench, self.mutant, self.killer = bench, mutant, killer
        self.seconds, self.all = 0.0, False
        self.lots = self._lots()

    def _lots(self) -> Iterator[list[str]]:
        """They come in few lots, for every lot imports the program anew: what killed it the last time, a few quick ones, all others."""
        tried = [test for test in self.bench.reaching(self.mutant) if test == self.killer]
        if tried:
            yield tried
        quick = self._within(_FIRST, (test for test in self.bench.reaching(self.mutant) if test not in tried), _FIRST_FILES)
        if quick:
            yield quick
        others = [test for test in self.bench.reaching(self.mutant) if test not in {*tried, *quick}]
        rest = self._within(self.bench.limit - sum(self.bench.seconds[test] for test in quick), others)
        self.all = len(rest) == len(others)
        if rest:
            yield rest

    def _within(self, limit: float, tests: Iterable[str], most_files: int = sys.maxsize) -> list[str]:
        """As many tests, in their order, as need no more seconds and lie in no more files."""
        spent, files, lot = 0.0, set[str](), list[str]()
        for test in tests:
            file, seconds = _file(test), self.bench.seconds[test]
            if spent + seconds <= limit and (file in files or len(files) < most_files):
                files.add(file)
                lot.append(test)
                spent += seconds
        return lot


def _file(test: str) -> str:
    return test.partition("::")[0]


def _state(tree: Path) -> str:
    """A name for what a tree holds."""
    found = hashlib.sha256()
    for path in sorted(p for p in tree.rglob("*") if p.is_file() and p.suffix in (".py", ".toml", ".txt", ".tcss") and "benchmarks" not in p.parts):
        found.update(repr((path.relative_to(tree).as_posix(), path.read_bytes())).encode())
    return found.hexdigest()[:16]


if __name__ == "__main__":
    sys.exit(main())
