"""The revision: the same for the same answers however they are typed, another as soon as a value differs. And the plan's digest."""

from __future__ import annotations

import copy
import hashlib
import json
import math
import re
import tomllib
import unicodedata
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, reject, settings
from hypothesis import strategies as st

from engine.files.digest import doubts, revision
from engine.files.emit import emit, with_plan
from engine.files.read import parse
from engine.planner import plan
from engine.site import Answers
from tests.conftest import ROOT, SAMPLES

PLANS = {name: tomllib.loads((ROOT / "sample_sites" / name / "plan.toml").read_text(encoding="utf-8"))["plan"] for name in SAMPLES}
SITES = {name: parse((ROOT / "sample_sites" / name / "site.toml").read_bytes(), name) for name in SAMPLES}
PLANNED = {name: plan(site.answers, site.revision).plan for name, site in SITES.items()}
DOCUMENTS = {name: tomllib.loads((ROOT / "sample_sites" / name / "site.toml").read_text(encoding="utf-8")) for name in SAMPLES}


def of(document: dict[str, Any]) -> str:
    return revision(Answers.model_validate(document))


def typed(key: str, value: object) -> str:
    """The revision of a site with one answer, by its key."""
    document: dict[str, Any] = {}
    *path, last = key.split(".")
    place = document
    for step in path:
        place = place.setdefault(step, {})
    place[last] = value
    return of(document)


def test_the_revision_is_what_the_definition_says():
    # Worked with coreutils: printf '{"schema":1}' | sha256sum; the others over the text in the remark.
    assert of({"schema": 1}) == "67d6291b"
    assert typed("site.name", "A") == "6851dec0"  # {"site":{"name":"A"}}
    assert typed("wall.width", "35 mm") == "6389d132"  # {"wall":{"width":0.035}}


@pytest.mark.parametrize(("key", "spellings"), [
    ("site.ambient_max", ("35 degC", "35 °C", "35.0 degC", "35,0 C", "95 degF", "308.15 K", "+35e0 degC")),
    ("unit.real_power", ("5kW", "5 kW", "5000 W", "5,0 kW", "0.005 MW")),
    ("unit.real_power", ("5 kW", "5.0000000000001 kW")),  # no tape and no meter tells them apart
    ("site.altitude", ("0 m", "-0 m", "0 ft")),
    ("wall.width", ("6 ft", "72 in", "1.8288 m", "182.88 cm")),
    ("unit.efficiency", (0.93, "93 %", "0.93", "0,93")),
    ("loads", ([{"demand": 1}], [{"demand": 1.0}], [{"demand": "100 %"}])),
    ("unit.dc_terminal_max", ("35 mm2", "35 mm²", "35.0 mm2")),
    ("incoming.breaker", ("63 A", "0.063 kA")),
    ("storage.module.capacity", ("100 Ah", "0.1 kAh")),
    ("site.name", ("M\u00fchle", "Mu\u0308hle")),
    ("solar.voc_coefficient", ("-0.27 %/K", "-0.27 %/°C")),
])
def test_a_respelled_answer_keeps_the_revision(key, spellings):
    assert len({typed(key, spelling) for spelling in spellings}) == 1


def test_notes_plans_records_and_empty_tables_stay_outside():
    base = {"schema": 1, "site": {"name": "Ä"}, "loads": [{"name": "a"}]}
    remarked = {
        "plan": {"a": 1}, "record": [{"step": 1}], "note": "x", "storage": {"wired": {}, "module": {"note": "x"}}, "drop": {"note": "y"},
        "unit": {"labels": {"role": {"note": "z"}}}, "loads": [{"name": "a", "note": "x"}], "site": {"note": "x", "name": "Ä"}, "schema": 1,
    }
    assert of(base) == of(remarked)


@pytest.mark.parametrize(("one", "other"), [
    ({"site": {"rules": "iec"}}, {}),  # said, though it would be assumed
    ({"storage": {"bank": {"series": 1}}}, {"storage": {"bank": {}}}),
    ({"loads": [{}]}, {}),
    ({"loads": [{}, {"name": "a"}]}, {"loads": [{"name": "a"}, {}]}),
    ({"unit": {"labels": {"role": {"lead": "a"}}}}, {"unit": {"labels": {"role": {"lead": "b"}}}}),
    ({"unit": {"labels": {"role": {"lead": "a"}}}}, {"unit": {"labels": {"role": {"follower": "a"}}}}),
    ({"storage": {"wired": {"L1-1": "B1"}}}, {"storage": {"wired": {"L1-1": "B2"}}}),
    ({"set": {"per_phase": [1, 2]}}, {"set": {"per_phase": [2, 1]}}),
    ({"unit": {"bus": {"screened": True}}}, {"unit": {"bus": {"screened": False}}}),
    ({"site": {"name": "a"}}, {"site": {"reference": "a"}}),
    ({"site": {"name": "a "}}, {"site": {"name": "a"}}),
])
def test_what_differs_has_another_revision(one, other):
    assert of(one) != of(other)


# A key of each kind, and ways to write one value of it that are exact in decimals, so that the test adds no rounding.
def by(factor: str) -> Callable[[Decimal], Decimal]:
    return lambda value: value * Decimal(factor)


_AMPERES = {"A": by("1"), "mA": by("1000"), "kA": by("0.001")}
WAYS: list[tuple[str, dict[str, Callable[[Decimal], Decimal]]]] = [
    ("wall.width", {"m": by("1"), "mm": by("1000"), "cm": by("100"), "km": by("0.001")}),
    ("wall.width", {"ft": by("1"), "in": by("12"), "m": by("0.3048"), "cm": by("30.48")}),
    ("site.ambient_max", {"degC": by("1"), "°C": by("1"), "C": by("1"), "K": lambda c: c + Decimal("273.15"), "degF": lambda c: c * Decimal("1.8") + 32}),
    ("storage.module.voltage", {"V": by("1"), "mV": by("1000"), "kV": by("0.001")}),
    ("unit.charge_current", _AMPERES),
    ("unit.fault_current", _AMPERES),
    ("unit.real_power", {"W": by("1"), "kW": by("0.001"), "MW": by("0.000001")}),
    ("unit.apparent_power", {"VA": by("1"), "kVA": by("0.001"), "MVA": by("0.000001")}),
    ("unit.surge_power", {"W": by("1"), "kW": by("0.001"), "VA": by("1"), "kVA": by("0.001")}),
    ("unit.settle_time", {"h": by("1"), "min": by("60"), "s": by("3600"), "ms": by("3600000")}),
    ("storage.module.capacity", {"Ah": by("1"), "kAh": by("0.001")}),
    ("storage.module.resistance", {"ohm": by("1"), "mohm": by("1000"), "µΩ": by("1000000"), "kohm": by("0.001")}),
    ("unit.weight", {"kg": by("1"), "g": by("1000")}),
    ("unit.dc_torque", {"N m": by("1"), "Nm": by("1")}),
    ("unit.bus.bit_rate", {"bit/s": by("1"), "kbit/s": by("0.001"), "Mbit/s": by("0.000001")}),
    ("solar.voc_coefficient", {"%/K": by("-0.001"), "%/degC": by("-0.001"), "%/°C": by("-0.001")}),
    ("storage.depth", {"%": by("0.001")}),
    ("unit.efficiency", {"%": by("0.1"), "": by("0.001")}),
]


@st.composite
def spelled_twice(draw):
    """A key, and two texts that say one value."""
    key, ways = draw(st.sampled_from(WAYS))
    value = Decimal(draw(st.integers(1, 999_999_999))).scaleb(draw(st.integers(-8, 0)))
    told = []
    for unit in draw(st.tuples(*[st.sampled_from(sorted(ways))] * 2)):
        text = format(ways[unit](value), draw(st.sampled_from(["f", "e", "E"])))
        if draw(st.booleans()) and not re.fullmatch(r"-?[1-9]\d{0,2}\.\d{3}", text):
            text = text.replace(".", ",")
        told.append(text + draw(st.sampled_from(["", " ", "  "])) + unit)
    return key, told


@settings(deadline=None, max_examples=500)
@given(spelled_twice())
def test_the_same_value_in_other_words_is_the_same_revision(case):
    key, (one, other) = case
    try:
        first = typed(key, one)
    except ValueError:
        reject()  # out of range
    assert first == typed(key, other), (one, other)


def _leaves(node: Any, path: tuple = ()) -> list[tuple]:
    inner = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    return [leaf for key, value in inner for leaf in _leaves(value, (*path, key))] if isinstance(node, dict | list) else [path]


def _at(document: Any, path: tuple) -> Any:
    for step in path:
        document = document[step]
    return document


def _equal(one: Any, other: Any) -> bool:
    """Whether two validated values are the same answer, judged without the digest."""
    if isinstance(one, float) and isinstance(other, float):
        return math.isclose(one, other, rel_tol=1e-11)
    if isinstance(one, str) and isinstance(other, str):
        return unicodedata.normalize("NFC", one) == unicodedata.normalize("NFC", other)
    return type(one) is type(other) and one == other


TEXT = st.text(st.characters(exclude_categories=("Cs",)), min_size=1, max_size=12)
WORDS = st.sampled_from(["iec", "nec", "three-phase", "generator", "lfp", "agm", "day", "any", "L1", "L2-1", "B2", "plug", "socket", "C", "E", "xlpe", "M10", "16 mm2", "35 mm2", "32 A", "40 A"])


def changes(value: object) -> st.SearchStrategy[object]:
    """Values that may well be read where this one stands."""
    if isinstance(value, bool):
        return st.booleans()
    if isinstance(value, int | float):
        return st.one_of(st.integers(1, 20), st.floats(0.001, 1.0))
    quantity = re.fullmatch(r"(-?)[0-9.,]+(\D+)", str(value))
    if quantity:
        return st.builds(lambda number: f"{quantity[1]}{number:.13g}{quantity[2]}", st.floats(0.01, 200))
    return st.one_of(TEXT, WORDS)


@settings(deadline=None, max_examples=500, suppress_health_check=[HealthCheck.filter_too_much])
@given(st.data())
def test_any_other_value_is_another_revision(data):
    document = copy.deepcopy(DOCUMENTS[data.draw(st.sampled_from(SAMPLES))])
    before = Answers.model_validate(document)
    path = data.draw(st.sampled_from([leaf for leaf in _leaves(document) if leaf[-1] != "note"]))
    _at(document, path[:-1])[path[-1]] = data.draw(changes(_at(document, path)))
    try:
        after = Answers.model_validate(document)
    except ValueError:
        reject()
    told = [_at(answers.model_dump(by_alias=True), path) for answers in (before, after)]
    assert (revision(before) == revision(after)) == _equal(*told), told


@settings(deadline=None, max_examples=100)
@given(st.data())
def test_an_answer_taken_back_is_another_revision(data):
    document = copy.deepcopy(DOCUMENTS[data.draw(st.sampled_from(SAMPLES))])
    before = of(document)
    path = data.draw(st.sampled_from([leaf for leaf in _leaves(document) if leaf[-1] != "note" and not (len(leaf) > 1 and leaf[-2] == "ports")]))
    del _at(document, path[:-1])[path[-1]]
    assert of(document) != before


@given(TEXT, TEXT)
@example("\u1100\u1161", "\uac00")
@example("K", "\u212a")
def test_names_differ_as_text_does(one, other):
    alike = unicodedata.normalize("NFC", one) == unicodedata.normalize("NFC", other)
    assert (typed("site.name", one) == typed("site.name", other)) == alike


@pytest.mark.parametrize("name", SAMPLES)
def test_order_layout_and_the_plan_itself_change_nothing(name):
    site = parse(emit(DOCUMENTS[name]).encode(), name)
    backwards = json.loads(json.dumps(dict(reversed(DOCUMENTS[name].items()))))
    assert of(backwards) == site.revision == of(DOCUMENTS[name] | {"plan": {"revision": "x"}})
    assert plan(site.answers, site.revision).plan.revision == site.revision


@pytest.mark.parametrize("name", SAMPLES)
def test_a_plan_carries_the_digest_of_its_own_content(name):
    site = parse(emit(DOCUMENTS[name]).encode(), name)
    made = plan(site.answers, site.revision).plan
    stored = tomllib.loads(with_plan(site.text, site.document, made))["plan"]
    content = {key: value for key, value in stored.items() if key not in ("digest", "made_with")}
    told = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()
    assert stored["digest"] == made.digest == hashlib.sha256(told).hexdigest()[:8]
    assert not list(doubts(stored, made))
    assert plan(site.answers, site.revision, "phasewright 9.9.9").plan.digest == made.digest


@settings(deadline=None, max_examples=60)
@given(st.data())
def test_any_change_by_hand_is_told(data):
    name = data.draw(st.sampled_from(SAMPLES))
    stored = copy.deepcopy(PLANS[name])
    path = data.draw(st.sampled_from([leaf for leaf in _leaves(stored) if leaf != ("made_with",)]))
    value = _at(stored, path)
    _at(stored, path[:-1])[path[-1]] = not value if isinstance(value, bool) else value + 1 if isinstance(value, int) else f"{value}."
    assert any("altered by hand" in doubt for doubt in doubts(stored, PLANNED[name]))
