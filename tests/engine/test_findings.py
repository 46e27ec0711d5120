"""A finding that compares says what with what: read from the source of the stages, for no site raises all of them."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from engine.quantities import shown
from tests.conftest import ROOT, SAMPLES, plan_text
from tests.engine.paper_sites import planned, sample
from tests.engine.touched import VARIED

STAGES = Path(ROOT) / "engine" / "stages"
MAKERS = {"stop", "caution", "note", "level", "raised"}
ORDER = (ast.Lt, ast.LtE, ast.Gt, ast.GtE)


def findings() -> Iterator[tuple[str, str, ast.Call, bool]]:
    """Module, code, call, and whether the call hangs on a comparison of order."""
    for path in sorted(STAGES.rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        parents = {child: node for node in ast.walk(tree) for child in ast.iter_child_nodes(node)}
        for call in ast.walk(tree):
            if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id in MAKERS and len(call.args) >= 5:
                yield str(path.relative_to(STAGES)), ast.unparse(call.args[0]), call, any(map(ordered, conditions(call, parents)))


def conditions(node: ast.AST, parents: dict[ast.AST, ast.AST]) -> Iterator[ast.expr]:
    """The tests that a call hangs on: those of the ifs around it, and of the ifs before it that leave."""
    while not isinstance(node, ast.FunctionDef):
        above = parents[node]
        if isinstance(above, ast.If):
            yield above.test
        if isinstance(above, ast.FunctionDef | ast.For):
            for before in above.body[: above.body.index(node)] if node in above.body else ():
                if isinstance(before, ast.If) and isinstance(before.body[-1], ast.Return | ast.Continue) and not before.orelse:
                    yield before.test
        node = above


def ordered(test: ast.expr) -> bool:
    """Whether two figures are put in order, counts of names aside."""
    return any(
        isinstance(node, ast.Compare) and any(isinstance(op, ORDER) for op in node.ops) and not any(isinstance(side, ast.Call) and ast.unparse(side.func) == "len" for side in (node.left, *node.comparators))
        for node in ast.walk(test)
    )


def told(call: ast.Call) -> set[str]:
    return {str(keyword.arg) for keyword in call.keywords}


def test_a_finding_that_hangs_on_a_comparison_says_what_with_what() -> None:
    """Value and limit at every call that an ordering of figures leads to, but where an answer is missing."""
    seen = list(findings())
    assert len(seen) > 100
    hanging = [(module, code, told(call)) for module, code, call, hangs in seen if hangs and "unanswered" not in told(call)]
    assert len(hanging) > 50
    bare = {(module, code) for module, code, keywords in hanging if not {"value", "limit"} <= keywords}
    assert not bare


def test_no_finding_has_half_a_comparison() -> None:
    assert [(module, code) for module, code, call, _ in findings() if len({"value", "limit"} & told(call)) == 1] == []


@pytest.mark.parametrize("name", [*SAMPLES, *VARIED])
def test_what_a_plan_compares_stands_in_one_unit(name: str) -> None:
    """Of every finding of a plan: value and limit both or neither, different, and of one unit, in the plan's row too."""
    plan = sample(name) if name in SAMPLES else planned(VARIED[name])
    compared = [finding for finding in plan.findings if finding.value is not None or finding.limit is not None]
    assert compared
    for finding in compared:
        assert finding.value is not None
        assert finding.limit is not None
        assert finding.unit
        assert finding.value != finding.limit
    rows = [row for row in plan.plan.findings if row.value]
    assert [(row.code, row.limit) for row in rows] == [(f.code, shown(f.limit, f.unit)) for f in compared]


def test_a_phase_that_is_short_of_power_is_held_against_power() -> None:
    """4.5 kW at a power factor of 1 on a unit of 4 kW and 5 kVA: apparent power would do."""
    load = '[[loads]]\nname = "Oven"\npower = "4.5 kW"\npower_factor = 1.0\n'
    site = f'[output]\narrangement = "single-phase"\n[set]\nper_phase = [1]\n[unit]\nreal_power = "4 kW"\napparent_power = "5 kVA"\n{load}'
    [found] = [finding for finding in plan_text(site).findings if finding.code == "phase-overloaded"]
    assert (found.value, found.limit, found.unit) == (4500, 4000, "W")
