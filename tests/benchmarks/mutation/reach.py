"""What each test reaches: statements of the engine that ran, cells of tables that were read, and the time it took.

Every test runs in a process of its own, forked where all are collected and none has run: what another test has left
remembered hides nothing. Statements are seen by a mark set before each as the engine is imported.
"""

from __future__ import annotations

import ast
import builtins
import os
import pickle
import resource
import sys
import traceback
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from importlib.machinery import SourceFileLoader
from pathlib import Path
from types import CodeType
from typing import Any, NamedTuple

import pytest
from _pytest.runner import runtestprotocol

from tests.benchmarks.mutation import judge

Cell = tuple[str, int, str]
_MARKS = "__reached__"
_NO_JUDGES = ("tests/benchmarks", "tests/journeys", "tests/wizard/test_screens.py")
_SNAPSHOTS = ("test_the_sample_plans_are_what_the_program_gives", "test_planning_a_sample_takes_little_more_than")


class Reached(NamedTuple):
    """Of one test: seconds of the processor, marks, cells, and whether it passed."""

    seconds: float
    passed: bool
    marks: frozenset[int] = frozenset()
    cells: frozenset[Cell] = frozenset()


@dataclass
class Marks:
    """The statements that can be marked, and those that mention a name."""

    of: dict[tuple[str, int], int] = field(default_factory=dict)
    mention: dict[str, set[int]] = field(default_factory=lambda: defaultdict(set))

    def reaching(self, file: str, statement: int | None, names: Iterable[str]) -> set[int]:
        """The marks that show that a place was reached."""
        if statement is not None:
            return {self.of[file, statement]}
        return {mark for name in names for mark in self.mention.get(name, ())}


def marks(root: Path) -> Marks:
    """The statements in functions of the engine. A name of a module is mentioned where those that are made of it are as well."""
    found, made_of = Marks(), defaultdict[str, set[str]](set)
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


def _marked(source: bytes, file: str, known: Mapping[tuple[str, int], int]) -> ast.Module:
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
        self.marks, self.cells = bytearray(len(known.of)), set[Cell]()
        self.at_import: dict[str, tuple[frozenset[int], frozenset[Cell]]] = {}
        setattr(builtins, _MARKS, self.marks)
        _mark_imports(root, known)
        _watch_tables(self.cells)

    def _taken(self) -> tuple[frozenset[int], frozenset[Cell]]:
        taken = frozenset(k for k, mark in enumerate(self.marks) if mark), frozenset(self.cells)
        self.marks[:] = bytes(len(self.marks))
        self.cells.clear()
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
        self._taken()
        reports = runtestprotocol(item, log=False, nextitem=None)
        now, cells = self._taken()
        before = self.at_import[item.nodeid.partition("::")[0]]
        reached = Reached(_spent(), all(report.outcome != "failed" for report in reports), now | before[0], cells | before[1])
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


def _watch_tables(read: set[Cell]) -> None:
    import engine.tables

    made = engine.tables.Table

    class Row(dict[str, Any]):
        def __init__(self, table: str, number: int, row: Mapping[str, Any]) -> None:
            super().__init__(row)
            self.at = table, number

        def __getitem__(self, column: str) -> Any:
            read.add((*self.at, column))
            return super().__getitem__(column)

        def get(self, column: str, default: Any = None) -> Any:
            read.add((*self.at, column))
            return super().get(column, default)

        def items(self) -> Any:
            read.update((*self.at, column) for column in self)
            return super().items()

        def values(self) -> Any:
            read.update((*self.at, column) for column in self)
            return super().values()

    def table(*, name: str, rows: Iterable[Mapping[str, Any]], **given: Any) -> engine.tables.Table:
        # Tables that tests bring along are no mutants' business.
        return made(name=name, rows=tuple(Row(name, number, row) for number, row in enumerate(rows)), **given)

    engine.tables.Table = table  # type: ignore[misc,assignment]
