"""Mutants of the code: one small change each, of the kinds that people make by mistake."""

from __future__ import annotations

import ast
import hashlib
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

FOLDERS = ("engine/formulas", "engine/solvers", "engine/stages")
_SLACK = 1e-8  # a number so small only keeps rounding out of a comparison
_SHOWN = 160

_COMPARED = {"<": "<=", "<=": "<", ">": ">=", ">=": ">", "==": "!=", "!=": "==", "is not": "is", "is": "is not", "not in": "in", "in": "not in"}
_RECKONED = {"+": "-", "-": "+", "**": "*", "*": "/", "//": "/", "/": "*"}
_JOINED = {"and": "or", "or": "and"}
_CALLED = {"max": "min", "min": "max", "any": "all", "all": "any"}
_LEVELS = {"stop": "caution", "caution": "note"}


@dataclass(frozen=True)
class Mutant:
    """One change of one file. `file`, `where`, `was`, `now` and `nth` (of alike ones) are its name, which stands when lines move.

    `begin` and `end` are bytes of the file, replaced by `text`. What reaches it: the statement of line `statement`, else whatever
    mentions one of `names`, or whatever reads `cell` (table, row, column).
    """

    file: str
    where: str
    rule: str
    was: str
    now: str
    line: int
    begin: int
    end: int
    text: str
    statement: int | None = None
    names: tuple[str, ...] = ()
    cell: tuple[str, int, str] | None = None
    nth: int = 1

    @property
    def name(self) -> tuple[str, str, str, str, int]:
        """What it is known by, wherever its line has gone."""
        return self.file, self.where, self.was, self.now, self.nth

    def of(self, source: bytes) -> bytes:
        """The file with the change made."""
        return source[: self.begin] + self.text.encode() + source[self.end :]


def drawn(mutants: Iterable[Mutant], count: int, seed: int) -> list[Mutant]:
    """So many of them, by lot: each has its lot for good, so that a few are among the many and an edit changes few."""
    return sorted(mutants, key=lambda m: hashlib.sha256(repr((seed, m.name)).encode()).digest())[:count]


def numbered(mutants: Iterable[Mutant]) -> Iterator[Mutant]:
    """The same ones, alike ones told apart by their order."""
    met: Counter[tuple[object, ...]] = Counter()
    for mutant in mutants:
        met[mutant.name] += 1
        yield replace(mutant, nth=met[mutant.name])


def of_code(root: Path, folders: Iterable[str] = FOLDERS) -> list[Mutant]:
    """Every mutant of formulas, solvers and stages, file by file."""
    paths = [path for folder in folders for path in sorted((root / folder).rglob("*.py"))]
    return [mutant for path in paths for mutant in numbered(_Walk(path.relative_to(root).as_posix(), path.read_bytes()).found)]


class Text:
    """A file as bytes, and how a change of it is shown: by its lines, or by what is near it where those are long."""

    def __init__(self, source: bytes) -> None:
        self.source = source
        self.starts = [0, *(found.end() for found in re.finditer(rb"\n", source))]

    def line(self, begin: int) -> int:
        return self.source.count(b"\n", 0, begin) + 1

    def shown(self, begin: int, end: int, text: str) -> tuple[str, str]:
        left, right = self.starts[self.line(begin) - 1], self.source.find(b"\n", end)
        before, old, after = (self.source[a:b].decode() for a, b in ((left, begin), (begin, end), (end, right)))
        return _told(before, old, after), _told(before, text, after)


def _told(before: str, middle: str, after: str) -> str:
    if len(before) + len(middle) + len(after) > _SHOWN:
        before, middle, after = before[-_SHOWN // 2 :], middle[: _SHOWN // 2], after[: _SHOWN // 4]
    return " ".join(f"{before}{middle}{after}".split())


class _Walk(ast.NodeVisitor):
    def __init__(self, file: str, source: bytes) -> None:
        self.file, self.text = file, Text(source)
        self.found: list[Mutant] = []
        self.scope: list[str] = []
        self.statement: int | None = None
        self.names: tuple[str, ...] = ()
        self.branches = self.functions = 0
        self.visit(ast.parse(source))

    def _place(self, node: ast.expr | ast.stmt) -> tuple[int, int]:
        starts = self.text.starts
        return starts[node.lineno - 1] + node.col_offset, starts[node.end_lineno - 1] + node.end_col_offset  # type: ignore[operator]

    def _change(self, rule: str, begin: int, end: int, text: str) -> None:
        was, now = self.text.shown(begin, end, text)
        names = () if self.statement else self.names
        self.found.append(Mutant(self.file, ".".join(self.scope), rule, was, now, self.text.line(begin), begin, end, text, self.statement, names))

    def _swap(self, rule: str, node: ast.expr | ast.stmt, text: str) -> None:
        self._change(rule, *self._place(node), text)

    def _sign(self, rule: str, first: ast.expr, second: ast.expr, among: dict[str, str]) -> None:
        """Change the operator that stands between two nodes."""
        begin, end = self._place(first)[1], self._place(second)[0]
        gap = re.sub(rb"#[^\n]*", lambda comment: b" " * len(comment[0]), self.text.source[begin:end])
        for sign in sorted(among, key=len, reverse=True):
            if found := re.search((rf"\b{sign}\b" if sign[0].isalpha() else re.escape(sign)).encode(), gap):
                return self._change(rule, begin + found.start(), begin + found.end(), among[sign])
        return None

    # What is not changed: what only names, types, tells or tries

    def _nothing(self, node: Any) -> None:
        return

    visit_Import = visit_ImportFrom = visit_Assert = visit_Raise = visit_JoinedStr = visit_arg = _nothing  # noqa: N815

    # Where it is

    def visit(self, node: ast.AST) -> None:
        if isinstance(node, ast.stmt):
            if self.functions:
                self.statement = node.lineno
            elif isinstance(node, ast.Assign | ast.AnnAssign) and not self.scope:
                targets = node.targets if isinstance(node, ast.Assign) else [node.target]
                self.names = tuple(n.id for target in targets for n in ast.walk(target) if isinstance(n, ast.Name))
        super().visit(node)

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        outside, first = self.statement, next((n for n in node.body if not _is_text(n)), node.body[0])
        self.scope.append(node.name)
        self.functions += 1
        branches, self.branches = self.branches, 0
        self.statement = first.lineno
        for default in (*node.args.defaults, *(d for d in node.args.kw_defaults if d)):
            self.visit(default)
        for inner in node.body:
            if not _is_text(inner):
                self.visit(inner)
        self.functions -= 1
        self.scope.pop()
        self.branches, self.statement = branches, outside

    def visit_ClassDef(self, node: ast.ClassDef) -> None:
        self.scope.append(node.name)
        self.names = (node.name,)
        for inner in node.body:
            self.visit(inner)
        self.scope.pop()

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value:
            self.visit(node.value)

    def visit_Assign(self, node: ast.Assign) -> None:
        self.visit(node.value)

    def visit_keyword(self, node: ast.keyword) -> None:
        if node.arg != "strict":
            self.visit(node.value)

    # What is changed

    def visit_Compare(self, node: ast.Compare) -> None:
        for first, second in zip([node.left, *node.comparators], node.comparators, strict=False):
            self._sign("comparison", first, second, _COMPARED)
        self.generic_visit(node)

    def visit_BinOp(self, node: ast.BinOp) -> None:
        if not any(_is_text(side) or isinstance(side, ast.JoinedStr) for side in (node.left, node.right)):
            self._sign("arithmetic", node.left, node.right, _RECKONED)
        self.generic_visit(node)

    def visit_AugAssign(self, node: ast.AugAssign) -> None:
        if not isinstance(node.value, ast.JoinedStr | ast.List):
            self._sign("arithmetic", node.target, node.value, _RECKONED)
        self.visit(node.value)

    def visit_BoolOp(self, node: ast.BoolOp) -> None:
        for first, second in zip(node.values, node.values[1:], strict=False):
            self._sign("and, or", first, second, _JOINED)
        self.generic_visit(node)

    def visit_UnaryOp(self, node: ast.UnaryOp) -> None:
        if isinstance(node.op, ast.Not | ast.USub):
            begin, _ = self._place(node)
            self._change("sign or not dropped", begin, begin + (3 if isinstance(node.op, ast.Not) else 1), "")
        self.generic_visit(node)

    def visit_Constant(self, node: ast.Constant) -> None:
        match node.value:
            case bool():
                self._swap("constant", node, str(not node.value))
            case int():
                self._swap("constant", node, str(node.value + 1))
            case float() if abs(node.value) > _SLACK:
                self._swap("constant", node, f"{node.value * 1.2:.6g}")

    def visit_Call(self, node: ast.Call) -> None:
        match node.func:
            case ast.Name(id=name) if name in _CALLED:
                self._swap("max, min, any, all", node.func, _CALLED[name])
            case ast.Name(id=name) if name in _LEVELS:
                self._of_finding("level of a finding", node, node.func, _LEVELS[name])
        for inner in (*node.args, *node.keywords):
            self.visit(inner)

    def _condition(self, test: ast.expr, *ways: bool) -> None:
        for way in ways:
            self._swap("condition", test, str(way))

    def _of_finding(self, rule: str, call: ast.Call, node: ast.expr | ast.stmt, text: str) -> None:
        """A finding is told by its code: its lines are many."""
        code = call.args[0].value if call.args and isinstance(call.args[0], ast.Constant) else "?"
        self.scope.append(str(code))
        self._swap(rule, node, text)
        self.scope.pop()

    def visit_If(self, node: ast.If) -> None:
        self._condition(node.test, True, False)
        self.branches += 1
        self.generic_visit(node)
        self.branches -= 1

    def visit_IfExp(self, node: ast.IfExp) -> None:
        self._condition(node.test, True, False)
        self.generic_visit(node)

    def visit_comprehension(self, node: ast.comprehension) -> None:
        for test in node.ifs:
            self._condition(test, True)
        self.generic_visit(node)

    def visit_While(self, node: ast.While) -> None:
        self._condition(node.test, False)
        self.generic_visit(node)

    def visit_Return(self, node: ast.Return) -> None:
        if self.branches:
            self._swap("early end dropped", node, "pass")
        self.generic_visit(node)

    def visit_Continue(self, node: ast.Continue) -> None:
        self._swap("early end dropped", node, "pass")

    def visit_Break(self, node: ast.Break) -> None:
        self._swap("early end dropped", node, "pass")

    def visit_Expr(self, node: ast.Expr) -> None:
        match node.value:
            case ast.Yield(value=ast.Call(func=ast.Name(id="stop" | "caution" | "note")) as call):
                self._of_finding("finding dropped", call, node, "yield from ()")
            case ast.YieldFrom():
                self._swap("finding dropped", node, "yield from ()")
        self.generic_visit(node)


def _is_text(node: ast.AST) -> bool:
    inner = node.value if isinstance(node, ast.Expr) else node
    return isinstance(inner, ast.Constant) and isinstance(inner.value, str)
