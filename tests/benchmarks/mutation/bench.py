"""The bench: copies of a tree to break, what its tests reach, and who judges a mutant."""

from __future__ import annotations

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
from collections import Counter, defaultdict, deque
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict
from operator import or_
from pathlib import Path
from typing import Any

from tests.benchmarks.mutation import judge, reach
from tests.benchmarks.mutation.judge import Verdict
from tests.benchmarks.mutation.mutants import Mutant
from tests.benchmarks.mutation.reach import Reached

_FIRST, _FIRST_FILES = 4.0, 10  # seconds and files of the first lot
_ALL = "passes all"
_COMMON = {"__init__", "checks", "part", "text", "plan", "stages", "solvers", "formulas", "tables", "value"}  # words that tell no test from another
_PLANNER = "engine/planner.py"


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
        """The tests that reach a mutant, the likeliest to fail for their time first; cases of one test see much the same, and take turns."""
        marks, words, killed = self.marks.showing(mutant), self._words(mutant), self.killers[mutant.file]
        in_file = {file: sum(word in text for word in words) for file, text in self.texts.items()}
        costs = {}
        for test, reached in self.reached.items():
            if marks & reached.marks and test not in self.unfit:
                kin = in_file[_file(test)] + 5 * sum(word in test for word in words)
                costs[test] = (0.02 + reached.seconds) * (10 + reached.marks.bit_count()) / (1 + 10 * killed[test] + 5 * kin)
        turns = Counter[str]()
        for test in sorted(costs, key=costs.__getitem__):
            turns[test.partition("[")[0]] += 1
            costs[test] *= turns[test.partition("[")[0]]
        return sorted(costs, key=costs.__getitem__)

    def _words(self, mutant: Mutant) -> set[str]:
        """What a test of a mutant's place might say: the names of its file and function, and what is said near it."""
        path, lines = Path(mutant.file), (self.root / mutant.file).read_text(encoding="utf-8").splitlines()
        near = "\n".join(lines[max(0, mutant.line - 4) : mutant.line + 4])
        return {path.stem, path.parent.name, *re.findall(r"[\w-]{4,}", mutant.where), *re.findall(r'"([^"{}]{4,40})"', near)} - _COMMON

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
    for path in sorted(p for p in tree.rglob("*") if p.is_file() and p.suffix in (".py", ".toml", ".txt") and "benchmarks" not in p.parts):
        found.update(repr((path.relative_to(tree).as_posix(), path.read_bytes())).encode())
    return found.hexdigest()[:16]
