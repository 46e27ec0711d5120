"""Steps as data: what a step makes and reads says the same as its words."""

import re

import pytest

from engine.model.acts import Act, Instrument, Reading, Verb
from engine.quantities import shown
from engine.stages.procedure import course
from tests.defence.sites import NEC, SOLAR, site, split

SITES = [{}, SOLAR, NEC, split(2, 2, 2), {"incoming": {"kind": "none"}}, {"storage.earthed": "minus"}]
# The word by which a sentence names an instrument; a display is read, what is looked at is named by its attribute.
WORDS = {
    Instrument.DC: "oltmeter",
    Instrument.AC: "oltmeter",
    Instrument.OHM: "(?<!illi)(?<!icro-)[Oo]hmmeter",
    Instrument.MILLIOHM: "illiohmmeter",
    Instrument.MICROOHM: "icro-ohmmeter",
    Instrument.INSULATION: "nsulation tester",
    Instrument.CLAMP: "lamp meter",
    Instrument.LEAKAGE: "arth-leakage clamp",
    Instrument.ROTATION: "otation meter",
    Instrument.TRIP: "esidual-current test",
}
# What a sentence says for an act.
DONE = {Verb.CLOSE: ("lose", "bridge it"), Verb.OPEN: ("pen", "away"), Verb.FIT: ("it", "Put", "onnect"), Verb.LIFT: ("ift", "off its bar", "free end"), Verb.LAND: ("and", "back"),
        Verb.ON: ("on",), Verb.OFF: ("ff",), Verb.ENTER: ("Enter",), Verb.JOIN: ("oin",), Verb.PLUG: ("lug", "across", "Fused lead"), Verb.UNPLUG: ("out", "off", "clips", "in turn"), Verb.TAKE_OUT: ("away", "out")}


@pytest.mark.parametrize("changes", SITES)
def test_words_and_data_say_the_same(changes):
    """Every instrument that is read is named in what to do, and every act has its verb there."""
    plan = site(changes)
    wrong = []
    for step, doing in course(plan.facts, plan.parts):
        for item in doing:
            named = DONE[item.verb] if isinstance(item, Act) else (WORDS.get(item.instrument, ""),)
            if not any(re.search(word, step.do) for word in named):
                wrong.append((step.id, item, step.do))
    assert wrong == []


@pytest.mark.parametrize("changes", SITES)
def test_a_step_that_names_an_instrument_reads_it(changes):
    """No sentence asks for a voltmeter or an ohmmeter that the data know nothing of, but for what is no part of the site."""
    apart = {"tools", "bench-earth", "lasting", "prove-dead", "neutral-current", "bank-current", "incoming-close", "loads-on", "solar-close"}
    plan = site(changes)
    for step, doing in course(plan.facts, plan.parts):
        if step.id.split("@")[0] in apart:
            continue
        for instrument, word in WORDS.items():
            alike = (Instrument.DC, Instrument.AC) if word == "oltmeter" else (instrument,)
            if re.search(word, step.do) and instrument is not Instrument.CLAMP:
                assert any(isinstance(item, Reading) and item.instrument in alike for item in doing), (step.id, word)


@pytest.mark.parametrize("changes", SITES)
def test_bounds_that_the_words_name_are_those_of_the_data(changes):
    """The ends of a window of volts or ohms stand in the words; where a step compares, its limit does."""
    plan = site(changes)
    seen = 0
    for step, doing in course(plan.facts, plan.parts):
        if step.id.split("@")[0] not in ("bench-polarity", "bank-polarity", "unit-polarity", "unit-voltage", "incoming-voltage", "chain-resistance", "test-load", "loads-on"):
            continue
        for item in doing:
            if isinstance(item, Reading) and item.least is not None and item.most is not None and not item.beside and item.least > 0 and item.unit in ("V", "ohm"):
                near = all(shown(bound, item.unit, 3).split()[0] in step.expect for bound in (item.least, item.most))
                line = f"near {shown((item.least + item.most) / 2, 'V', 3)}" in step.expect
                assert near or line, (step.id, item.band, step.expect)
                seen += 1
    assert seen > 5


def test_ids_are_unique_and_numbers_have_no_gap():
    for changes in SITES:
        steps = site(changes).parts.procedure.steps
        assert len({step.id for step in steps}) == len(steps)
        assert sorted({step.place for step in steps}) == list(range(1, max(step.place for step in steps) + 1))


def test_like_steps_have_one_number_in_the_order_of_places():
    """Six units: each step of the bench has one number, and the units come one after the other."""
    steps = [step for step in site(split(2, 2, 2)).parts.procedure.steps if step.section == "bench" and step.id.startswith(("bench", "read"))]
    by_unit = {}
    for step in steps:
        by_unit.setdefault(step.who, []).append(step.place)
    assert len(by_unit) == 6
    assert len({tuple(places) for places in by_unit.values()}) == 1
    assert [step.who for step in steps] == sorted((step.who for step in steps), key=list(by_unit).index)
