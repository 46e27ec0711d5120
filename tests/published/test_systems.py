"""Our formulas and tables on sets, banks, solar, motors, generators, buses and tests, against what is published."""

from __future__ import annotations

import math

import pytest

from engine.quantities import registry
from tests.published.system_checks import CHECKS, OURS, TABLES
from tests.published.tables import table


def told(check):
    """The id of a check, with a word where its source is wrong or was not seen."""
    words = [word for word, said in (("trap", "trap" in check), ("memory", check["seen"] == "memory")) if said]
    return " ".join([check["id"], *(f"({word})" for word in words)])


def close(ours, theirs, tolerance):
    """Whether a value agrees: numbers within the absolute tolerance, words and lists of words exactly."""
    if isinstance(theirs, list):
        return len(ours) == len(theirs) and all(close(a, b, tolerance) for a, b in zip(ours, theirs, strict=True))
    if isinstance(theirs, bool | str):
        return ours == theirs
    return math.isclose(ours, theirs, rel_tol=1e-9, abs_tol=tolerance)


@pytest.mark.parametrize("check", [pytest.param(check, id=told(check)) for check in CHECKS.values()])
def test_check(check):
    """Our formula gives what is published, or exactly the deviation that is listed with its reason."""
    ours = OURS[check["id"]](check["given"])
    deviates = {key: value for key, value, _ in check.get("deviates", ())}
    for key, theirs in check["expect"].items():
        if key in deviates:
            assert not close(ours[key], theirs, check["tolerance"][key]), f"{key}: a deviation is listed, but there is none"
            assert close(ours[key], deviates[key], 1e-4), key
        else:
            assert close(ours[key], theirs, check["tolerance"][key]), f"{key}: ours {ours[key]}, published {theirs}"


def si(value, unit):
    """A printed cell as our tables hold it."""
    if value == "" or unit in ("text", "1"):
        return None if value == "" else value
    return registry().Quantity(value, unit).to_base_units().magnitude


@pytest.mark.parametrize("published", [pytest.param(t, id=told(t)) for t in TABLES.values()])
def test_table(published):
    """Every row of a published table is in ours, in its order."""
    mine = table(published["ours"])
    columns = [(i, name) for i, name in enumerate(published["columns"]) if name]
    for number, row in enumerate(published["rows"]):
        for i, name in columns:
            theirs = si(row[i], published["units"][i])
            assert mine.rows[number][name] == (pytest.approx(theirs) if isinstance(theirs, float | int) else theirs), f"row {number} {name}"


def test_every_check_is_called():
    """No published check is left out, none is called that is not there, and every one names its source."""
    assert set(OURS) == set(CHECKS)
    assert len(CHECKS) == 126
    assert all(check["source"] and check["seen"] in ("found", "memory") and check["value"] in ("printed", "computed") for check in CHECKS.values())
