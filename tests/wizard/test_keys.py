"""How many keys two sites take, typed as somebody would who has the papers at hand. Run as a script it prints the table."""

from __future__ import annotations

from collections import Counter

from engine.findings import Level
from wizard.answers.session import Session

from .driving import Interview


class Typist:
    """Somebody who types, and who is counted page by page."""

    def __init__(self) -> None:
        self.at = Interview()
        self.keys: Counter[str] = Counter()

    def press(self, *names: str) -> None:
        self.keys[self.at.state.place.page.title] += len(names)
        self.at.press(*names)

    def type(self, *texts: str) -> None:
        """Texts, each with Enter."""
        for text in texts:
            self.press(*text, "enter")

    def last(self, text: str) -> None:
        """The last text of a page; F8 takes it and turns the page."""
        self.press(*text, "f8")

    def stops(self) -> list[str]:
        assert self.at.state.seen
        return [finding.text for finding in self.at.state.seen.findings if finding.level is Level.STOP]


def first_plan() -> Typist:
    """Three-phase, six units on one common managed bank: the answers that nobody can assume."""
    typist = Typist()
    typist.type("t", "6", "", "40")
    typist.last("c")
    typist.type("5", "60")
    typist.last("50")
    typist.type("c", "l", "51.2", "100", "100", "100", "12", "8")
    return typist


def guesthouse() -> Typist:
    """An island with a generator, six units, panels on each, its loads, its wall and its cables."""
    typist = Typist()
    # What is assumed as it is (230 V, 50 Hz, up to 40 degC, 0.2 m of air, a surge of 5 s, three phases from the generator) is not typed.
    typist.type("t", "6", "g", "32", "c", "20", ".3", "t")
    typist.last("2")
    typist.type("5", "60", "50", "6", "42", "90", "10", "93", "60", ".35")
    typist.last(".5")
    typist.type("c", "l", "51.2", "100", "50", "100", "12", "8", "b", "16", "56", "54")
    typist.last("46")
    # Loads: Down goes on to a new row.
    typist.type("ov", "7.5", "")
    typist.press("a", "down")
    typist.type("we", "2.2", "")
    typist.press("a", "down")
    typist.type("var")
    typist.press(*"4kva", "down")
    typist.type("was", "")
    typist.press("2", "down")
    typist.type("l", "12w")
    typist.press(*"40", "down")
    typist.type("fre", "")
    typist.last("2")
    typist.type("450", "49.5", "41.5", "11.5", "10.9", "-.27", "-.35", "9")
    typist.last("-5")
    typist.type("500", "120", "430", "18")
    typist.last("23")
    # The wall: the bank, two boards to the right, two rows of units.
    typist.type("4", "2.4", ".7", "", "1.2", ".5", "3.6", "", ".6", ".6", '"', "", '"', '"', ".5+.6", ".9+")
    typist.press("down", "down")
    typist.type("1.4+.6")
    typist.last("1.7+")
    # Every cable alike on trays.
    typist.type("b", "e", "x", "p")
    typist.press("1", "f9", "s", "enter", "f8")
    typist.type("p s")
    typist.last(".5 1.8 3 5")
    return typist


def test_a_first_plan_takes_at_most_sixty_keys_and_seventeen_answers() -> None:
    typist = first_plan()
    assert typist.stops() == []
    assert typist.keys.total() <= 60
    assert _answers(typist.at.session) <= 17
    assert typist.at.state.refused == {}


def test_a_guesthouse_takes_at_most_290_keys() -> None:
    typist = guesthouse()
    session = typist.at.session
    assert typist.stops() == []
    assert typist.at.state.refused == {}
    assert typist.keys.total() <= 290
    told = session.document
    assert told["set"] == {"count": 6, "per_phase": [2, 2, 2]}
    assert told["incoming"] == {"kind": "generator", "breaker": "32 A", "rating": "20 kVA", "prospective_fault": "0.3 kA"}
    assert told["earthing"] == {"island_bond": "changeover relay", "system": "TN-S"}
    assert told["storage"]["bank"] == {"parallel": 8, "feed": "bar"}
    assert (told["storage"]["chemistry"], told["storage"]["managed"]) == ("lfp", True)
    assert told["storage"]["module"] == {
        "voltage": "51.2 V", "capacity": "100 Ah", "charge_current": "50 A", "discharge_current": "100 A", "resistance": "12 mohm",
        "cells": 16, "absorption": "56 V", "float": "54 V", "low": "46 V",
    }  # fmt: skip
    assert told["unit"]["bus"] == {"ports": ["plug", "socket"], "link_lengths": ["0.5 m", "1.8 m", "3 m", "5 m"]}
    assert {key: value for key, value in told["unit"].items() if isinstance(value, str)} == {
        "real_power": "5 kW", "dc_max": "60 V", "transfer_current": "50 A", "apparent_power": "6 kVA", "dc_min": "42 V",
        "charge_current": "90 A", "surge_power": "10 kW", "efficiency": "93 %", "fault_current": "60 A", "width": "0.35 m", "height": "0.5 m",
    }  # fmt: skip
    assert [(load.get("quantity", 1), load["machine"], load.get("power", load.get("apparent_power")), load.get("phase")) for load in told["loads"]] == [
        (1, "oven", "7.5 kW", "all"),
        (1, "well pump", "2.2 kW", "all"),
        (1, "heat pump on a drive", "4 kVA", None),
        (2, "washing machine", None, None),
        (40, "LED lamp", "12 W", None),
        (2, "freezer", None, None),
    ]  # fmt: skip
    assert told["solar"]["series"] == 9
    assert told["solar"]["voc_coefficient"] == "-0.27 %/K"
    assert told["site"] == {"roof_min": "-5 degC"}
    units = [(place["tag"], place["x"], place["y"]) for place in told["wall"]["places"] if place["what"] == "unit"]
    assert units == [
        ("L1-1", "0.5 m", "0.9 m"), ("L1-2", "1.1 m", "0.9 m"), ("L2-1", "1.7 m", "0.9 m"),
        ("L2-2", "1.4 m", "1.7 m"), ("L3-1", "2 m", "1.7 m"), ("L3-2", "2.6 m", "1.7 m"),
    ]  # fmt: skip
    assert {route["carries"] for route in told["routes"]} >= {"battery", "load", "incoming", "solar", "earth", "comms"}
    assert {(route["method"], route["insulation"], route["containment"], route["grouped"]) for route in told["routes"]} == {
        ("E", "xlpe", "perforated", 1)
    }
    # What was not typed is taken as it is.
    assert typist.at.state.seen
    taken = {one.key: one.value for one in typist.at.state.seen.assumed}
    assert {key: taken[key] for key in ("site.ambient_max", "unit.clearance", "unit.surge_time", "incoming.arrangement", "output.voltage")} == {
        "site.ambient_max": "40 degC", "unit.clearance": "0.2 m", "unit.surge_time": "5 s", "incoming.arrangement": "three-phase",
        "output.voltage": "230 V",
    }  # fmt: skip


def _answers(session: Session) -> int:
    """How many answers a document holds."""

    def count(value: object) -> int:
        if isinstance(value, dict):
            return sum(map(count, value.values()))
        return sum(map(count, value)) if isinstance(value, list) and value and isinstance(value[0], dict) else 1

    return count(dict(session.document)) - 1  # the number of the schema


if __name__ == "__main__":
    for name, typist in (("first plan", first_plan()), ("guesthouse", guesthouse())):
        print(f"{name}: {typist.keys.total()} keys, {_answers(typist.at.session)} answers, {len(typist.stops())} stops")
        for page, keys in typist.keys.items():
            print(f"  {page:<32}{keys:>4}")
