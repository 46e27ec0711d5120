"""The tree of a figure's working."""

from engine.formulas.battery import allowed_difference, bank_resistance, paralleled_current
from engine.sheets.text.layout import WIDTH, cells
from engine.sheets.text.why import told_of, why_text
from engine.stages.conductors.part import Cable
from engine.stages.conductors.task import Candidate
from engine.stages.conductors.worked import called
from engine.tables.sizes import read_size
from engine.workings import answered, assumed, chosen, tabled, work
from tests.engine.paper_sites import planned


def test_a_tree_tells_formula_inputs_source_and_where_each_value_came_from():
    module = answered("storage.module.resistance", 0.012, "ohm")
    current = assumed("storage.module.charge_current", 50.0, "A", "for the test", "no source")
    loop = work("loop", bank_resistance, module_resistance=module, series=2, parallel=1)
    text = why_text(work("match", allowed_difference, current=current, resistance=loop))
    lines = text.splitlines()
    assert lines[0] == "match = 1.2 V"
    assert lines[1:3] == ["  formula: dU = I R", "  with storage.module.charge_current = 50 A; loop = 24 mohm"]
    assert "  storage.module.charge_current = 50 A (assumed)" in lines
    assert "    for the test" in lines
    assert "    storage.module.resistance = 12 mohm (answered)" in lines
    assert [line for line in lines if line.strip().startswith("source:")]


def test_a_branch_that_comes_again_is_only_named():
    leaf = tabled("leaf", 10.0, "A", "a table")
    branch = work("branch", paralleled_current, current=leaf, parallel=2)
    text = why_text(chosen("top", 30.0, "A", "the sum", "test", [branch, branch]))
    assert text.count("\n  branch = 20 A\n") == 1
    assert "branch = 20 A (see above)" in text
    assert text.count("leaf = 10 A (from a table)") == 1


def test_a_decision_keeps_its_lines():
    text = why_text(chosen("size", 35e-6, "m**2", "current asks for 25 mm2\ndrop asks for 35 mm2", "test"))
    assert "  current asks for 25 mm2\n  drop asks for 35 mm2\n" in text


def test_every_figure_of_a_plan_can_be_told_in_80_columns():
    plan = planned()
    assert len(plan.figures) > 50
    for figure in plan.figures.values():
        text = why_text(figure)
        assert text.startswith(f"{figure.key} = "[:40])
        assert max(map(cells, text.splitlines())) <= WIDTH


def test_hostile_keys_are_cleaned():
    text = why_text(answered("loads[\x1b[31mx].power", 1.0, "W"))
    assert "\x1b" not in text


def test_a_conductor_begins_with_the_size_that_was_chosen():
    cable = Cable("copper", "PVC", "75 degC", "class B", "600 V")
    name = called(Candidate(read_size("300 kcmil"), 2), cable)
    assert name == "2 x 300 kcmil copper (152 mm2 each)"
    assert called(Candidate(read_size("3 AWG"), 1), cable) == "3 AWG copper (26.67 mm2)"
    head = why_text(chosen("plan.circuits[battery B1].conductor", 152e-6, "m**2", "passes, governed by device", "NFPA 70 (NEC)", label=name))
    assert head.startswith(f"plan.circuits[battery B1].conductor = {name}")
    plan = planned()
    metric = why_text(plan.figures["plan.circuits[battery L1-1].conductor"]).splitlines()[0]
    assert f"= {plan.parts.conductors.of['battery L1-1'].conductor} copper (chosen)" in metric


def test_a_yes_is_told_as_a_yes():
    """The file has true; a person answered a question."""
    assert told_of(planned(), "storage.managed").splitlines()[0] == "storage.managed = yes (answered)"
    assert told_of(planned({"storage.managed": False}), "storage.managed").splitlines()[0] == "storage.managed = no (answered)"
