"""What each test reaches: statements of the engine that ran, cells of tables that were read, and the time it took.

Every test runs in a process of its own, forked where all are collected and none has run, and forgets what was remembered
while they were: that hides nothing. Statements are seen by a mark set before each as the engine is imported.
"""

from __future__ import annotations

import ast
import builtins
import gc
import os
import pickle
import resource
import sys
import tomllib
import traceback
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import _lru_cache_wrapper
from importlib.machinery import SourceFileLoader
from pathlib import Path
from types import CodeType
from typing import Any, NamedTuple

import pytest
from _pytest.runner import runtestprotocol

from tests.benchmarks.mutation import judge
from tests.benchmarks.mutation.mutants import Mutant

Place = tuple[str, int] | tuple[str, int, str]
_MARKS = "__reached__"
_DIGITS = bytes.maketrans(b"\0\1", b"01")
_NO_JUDGES = ("tests/benchmarks", "tests/journeys", "tests/wizard/test_screens.py")
_SNAPSHOTS = ("test_the_sample_plans_are_what_the_program_gives", "test_planning_a_sample_takes_little_more_than")


class Reached(NamedTuple):
    """Of one test: seconds of the processor, whether it passed, and the marks of all that it reached, a bit each."""

    seconds: float
    passed: bool
    marks: int


@dataclass
class Marks:
    """A number for each statement (file and line) and each cell of a table, and those of the statements that mention a name."""

    of: dict[Place, int] = field(default_factory=dict)
    mention: dict[str, set[int]] = field(default_factory=lambda: defaultdict(set))

    def showing(self, mutant: Mutant) -> int:
        """The marks of which one shows that the place of a mutant was reached, a bit each."""
        if mutant.cell:
            return 1 << self.of[mutant.cell]
        if mutant.statement is not None:
            return 1 << self.of[mutant.file, mutant.statement]
        return sum(1 << mark for mark in {mark for name in mutant.names for mark in self.mention.get(name, ())})


def marks(root: Path) -> Marks:
    """The statements in functions of the engine, and its tables. What is made of a name mentions it where it is mentioned itself."""
    found, made_of = Marks(), defaultdict[str, set[str]](set)
    for path in sorted((root / "engine" / "tables").glob("*.toml")):
        for name, body in tomllib.loads(path.read_text(encoding="utf-8")).items():
            for number, _ in enumerate(body["rows"]):
                for column in body["columns"]:
                    found.of[name, number, column] = len(found.of)
    for path in sorted((root / "engine").rglob("*.py")):
        file, tree = path.relative_to(root).as_posix(), ast.parse(path.read_bytes())
        for statement in _inside(tree):
            mark = found.of.setdefault((file, statement.lineno), len(found.of))
            for name in _mentioned(statement):
                found.mention[name].add(mark)
        for statement in tree.body:
            if isinstance(statement, ast.Assign | ast.AnnAssign):
                targets = statement.targets if isinstance(statement, ast.Assign) else [statement.target]
                for name in _mentioned(statement):
                    made_of[name].update(t for target in targets for t in _mentioned(target))
    for _ in range(5):
        for name, others in made_of.items():
            for other in others:
                found.mention[name] |= found.mention[other]
    return found


def _mentioned(node: ast.AST) -> set[str]:
    inner = [*ast.walk(node)]
    return {n.id for n in inner if isinstance(n, ast.Name)} | {n.attr for n in inner if isinstance(n, ast.Attribute)}


def _bodies(node: ast.AST) -> Iterator[list[ast.stmt]]:
    """Every list of statements in functions below a node."""
    for inner in ast.walk(node):
        if isinstance(inner, ast.FunctionDef):
            for below in ast.walk(inner):
                yield from (body for part in ("body", "orelse", "finalbody") if isinstance(body := getattr(below, part, None), list))


def _inside(tree: ast.AST) -> Iterator[ast.stmt]:
    return (statement for body in _bodies(tree) for statement in body)


def _marked(source: bytes, file: str, known: Mapping[Place, int]) -> ast.Module:
    tree = ast.parse(source)
    for body in {id(body): body for body in _bodies(tree)}.values():
        for at in range(len(body) - 1, -1, -1):
            statement = body[at]
            if at or not (isinstance(statement, ast.Expr) and isinstance(statement.value, ast.Constant)):
                mark = ast.parse(f"{_MARKS}[{known[file, statement.lineno]}] = 1").body[0]
                body.insert(at, mark)
    return ast.fix_missing_locations(tree)


def judging(test: str) -> bool:
    """Whether a test may judge: not one that times the program, drives a terminal, or holds the program to its own output."""
    return not test.startswith(_NO_JUDGES) and not any(word in test for word in _SNAPSHOTS)


def start(tree: Path, known: Marks, folder: Path, share: int, shares: int) -> int:
    """Begin to run a share of the tests of a tree; gives the process. What each reached comes into the folder."""
    return judge.forked(tree, lambda: pytest.main([*judge.QUIET, "--basetemp", f"{tree}.tmp"], plugins=[Watch(tree, known, folder, share, shares)]))


class Watch:
    """A plugin of pytest: runs each test of its share in a process of its own, and writes what it reached into a folder."""

    def __init__(self, root: Path, known: Marks, folder: Path, share: int, shares: int) -> None:
        self.folder, self.share, self.shares = folder, share, shares
        self.marks = bytearray(len(known.of))
        self.at_import: dict[str, int] = {}
        self.remembering: list[Any] = []
        setattr(builtins, _MARKS, self.marks)
        _mark_imports(root, known)
        _mark_tables(known, self.marks)

    def _taken(self) -> int:
        taken = int(bytes(self.marks[::-1]).translate(_DIGITS), 2)
        self.marks[:] = bytes(len(self.marks))
        return taken

    @pytest.hookimpl(wrapper=True)
    def pytest_make_collect_report(self, collector: pytest.Collector) -> Any:
        self._taken()
        report = yield
        if isinstance(collector, pytest.Module):
            self.at_import[collector.nodeid] = self._taken()
        return report

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items[:] = [item for item in items if judging(item.nodeid)][self.share :: self.shares]
        self.remembering = [o for o in gc.get_objects() if isinstance(o, _lru_cache_wrapper) and (o.__module__ or "").startswith("engine.")]

    def pytest_runtest_protocol(self, item: pytest.Item) -> bool:
        child = os.fork()
        if not child:
            try:
                self._run(item)
            except BaseException:  # noqa: BLE001 - this process must not go on as its parent
                traceback.print_exc(file=sys.__stderr__)
            finally:
                os._exit(0)
        os.waitpid(child, 0)
        return True

    def _run(self, item: pytest.Item) -> None:
        for remembering in self.remembering:
            remembering.cache_clear()
        self._taken()
        reports = runtestprotocol(item, log=False, nextitem=None)
        marks = self._taken() | self.at_import[item.nodeid.partition("::")[0]]
        reached = Reached(_spent(), all(report.outcome != "failed" for report in reports), marks)
        (self.folder / f"{os.getpid()}.pickle").write_bytes(pickle.dumps((item.nodeid, tuple(reached))))


def _spent() -> float:
    spent = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(each.ru_utime + each.ru_stime for each in spent)


def _mark_imports(root: Path, known: Marks) -> None:
    plain = SourceFileLoader.get_code

    def get_code(loader: SourceFileLoader, name: str) -> CodeType | None:
        path = Path(loader.path)
        if not path.is_relative_to(root / "engine"):
            return plain(loader, name)
        return compile(_marked(path.read_bytes(), path.relative_to(root).as_posix(), known.of), loader.path, "exec", dont_inherit=True)

    SourceFileLoader.get_code = get_code  # type: ignore[method-assign,assignment]


def _mark_tables(known: Marks, marks: bytearray) -> None:
    import engine.tables

    made = engine.tables.Table

    class Row(dict[str, Any]):
        def __init__(self, table: str, number: int, row: Mapping[str, Any]) -> None:
            super().__init__(row)
            # Tables that tests bring along are no mutants' business.
            self.of = {column: mark for column in row if (mark := known.of.get((table, number, column))) is not None}

        def _read(self, *columns: str) -> None:
            for column in columns:
                if column in self.of:
                    marks[self.of[column]] = 1

        def __getitem__(self, column: str) -> Any:
            self._read(column)
            return super().__getitem__(column)

        def get(self, column: str, default: Any = None) -> Any:
            self._read(column)
            return super().get(column, default)

        def items(self) -> Any:
            self._read(*self)
            return super().items()

        def values(self) -> Any:
            self._read(*self)
            return super().values()

    def table(*, name: str, rows: Iterable[Mapping[str, Any]], **given: Any) -> engine.tables.Table:
        return made(name=name, rows=tuple(Row(name, number, row) for number, row in enumerate(rows)), **given)

    engine.tables.Table = table  # type: ignore[misc,assignment]
