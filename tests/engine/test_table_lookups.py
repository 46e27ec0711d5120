"""Sizes and ratings as people write them, and look-ups at the edges of the tables."""

from __future__ import annotations

import math
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.quantities import Refused
from engine.tables import names, table
from engine.tables.conductors import iec_ampacity, nec_ampacity, offered, resistance, smallest_of
from engine.tables.correction import harmonics, iec_ambient, iec_grouping, nec_adjustment, nec_ambient
from engine.tables.earth import adiabatic_k, equipment_ground
from engine.tables.protection import breaking_capacity, dc_families, fuse_gate, fuse_let_through, nec_largest_device, operating_multiple
from engine.tables.ratings import BREAKER, FUSE, largest_rating_not_above, next_rating_up, read_rating, standard_ratings
from engine.tables.sizes import read_size, sizes


@pytest.mark.parametrize(
    ("text", "label"),
    [
        ("35 mm2", "35 mm2"),
        ("35mm²", "35 mm2"),
        (" 2,5 mm2 ", "2.5 mm2"),
        ("2/0 AWG", "2/0 AWG"),
        ("AWG 2/0", "2/0 AWG"),
        ("0 AWG", "1/0 AWG"),
        ("awg 14", "14 AWG"),
        ("250 kcmil", "250 kcmil"),
    ],
)
def test_a_size_is_read(text: str, label: str) -> None:
    assert read_size(text).label == label


@pytest.mark.parametrize(
    ("text", "nearest"),
    [("36 mm2", "35 mm2"), ("1000 mm2", "300 mm2"), ("5 AWG", "6 AWG"), ("40 AWG", "14 AWG"), ("260 kcmil", "250 kcmil"), ("0.1 mm2", "1.5 mm2")],
)
def test_a_size_that_does_not_exist_names_the_nearest(text: str, nearest: str) -> None:
    with pytest.raises(Refused, match=f"no conductor of .*the nearest is {nearest}"):
        read_size(text)


@pytest.mark.parametrize("text", ["", "35", "35 mm", "mm2", "nan mm2", "inf mm2", "-35 mm2", "0 mm2", "5/0 AWG", "AWG", "2/0", "1e99 AWG", "35 mm2 * 2", "x" * 5000, "35 kW", "0 kcmil"])
def test_what_is_no_size_is_refused(text: str) -> None:
    with pytest.raises(Refused) as told:
        read_size(text)
    assert len(str(told.value)) < 200


@given(st.text(max_size=30))
def test_reading_a_size_never_breaks(text: str) -> None:
    with suppress(Refused):
        assert read_size(text).area > 0


@pytest.mark.parametrize("text", ["63 A", "0.063 kA", "70 A", "601 A"])
def test_a_rating_is_read(text: str) -> None:
    assert read_rating(text) in {63, 70, 601}


@pytest.mark.parametrize(("text", "nearest"), [("64 A", "63 A"), ("66 A", "63 A"), ("67 A", "70 A"), ("9 kA", "6000 A"), ("0.2 A", "1 A")])
def test_a_rating_that_does_not_exist_names_the_nearest(text: str, nearest: str) -> None:
    with pytest.raises(Refused, match=f"the nearest that exists is {nearest}"):
        read_rating(text)


@pytest.mark.parametrize("text", ["63", "63 W", "", "nan A", "-63 A", 63.0])
def test_what_is_no_rating_is_refused(text: str | float) -> None:
    with pytest.raises(Refused):
        read_rating(text)


@given(st.floats(0.1, 7000), st.sampled_from(["iec", "nec"]), st.sampled_from([BREAKER, FUSE]))
def test_ratings_bracket_a_current(current: float, rules: str, device: str) -> None:
    up, down = next_rating_up(current, rules, device), largest_rating_not_above(current, rules, device)
    among = standard_ratings(rules, device)
    assert up is None or (up >= current * (1 - 1e-8) and not any(current <= a < up for a in among))
    assert down is None or (down <= current * (1 + 1e-8) and not any(down < a <= current for a in among))
    assert up is not None or current > among[-1]
    assert down is not None or current < among[0]


def test_every_table_says_where_it_is_from() -> None:
    for name in names():
        found = table(name)
        assert found.title
        assert found.source
        assert found.seen in ("found", "memory")
        assert found.rows
        assert found.seen == "found" or found.told.endswith("(from memory)")


@pytest.mark.parametrize("rules", ["iec", "nec"])
def test_sizes_rise_and_resist_less(rules: str) -> None:
    """Larger sizes resist less and carry more, in every column there is."""
    for metal in ("copper", "aluminium"):
        among = offered(rules, metal)
        areas = [s.area for s in among]
        assert areas == sorted(areas)
        for flexible in (True, False):
            ohms = [resistance(s, metal, flexible=flexible)[0].value for s in among]
            assert ohms == sorted(ohms, reverse=True)
            # Within a tenth of what the metal says: strands lie askew, and flexible wires are finer.
            rho = {"copper": 1.7241e-8, "aluminium": 2.8264e-8}[metal] * (1 if rules == "iec" else 1.22)
            assert all(math.isclose(r * s.area, rho, rel_tol=0.17) for r, s in zip(ohms, among, strict=True))


def test_ampacities_rise_with_the_size() -> None:
    for insulation in ("pvc", "xlpe"):
        for loaded in (2, 3):
            for method in ("A1", "A2", "B1", "B2", "C", "D1", "E", "F"):
                for metal in ("copper", "aluminium"):
                    told = [found.value for s in offered("iec", metal) if (found := iec_ampacity(s, metal, insulation, loaded, method))]
                    assert len(told) >= 10
                    assert told == sorted(told)
    for column in (60, 75, 90):
        for free in (True, False):
            told = [found.value for s in sizes("nec") if (found := nec_ampacity(s, "copper", column, free_air=free))]
            assert told == sorted(told)
            assert len(told) == len(sizes("nec"))


def test_factors_at_the_edges() -> None:
    """Between two rows the worse holds; past the table there is no figure."""
    c0 = 273.15
    assert iec_ambient("C", "pvc", 31 + c0).value == 0.94
    assert iec_ambient("C", "pvc", -40 + c0).value == 1.22
    assert iec_ambient("C", "pvc", 61 + c0) is None
    assert iec_ambient("C", "xlpe", 61 + c0).value == 0.65
    assert iec_ambient("D1", "pvc", 21 + c0).value == 0.95
    assert nec_ambient(75, 41 + c0).value == 0.82
    assert nec_ambient(75, 71 + c0) is None
    assert iec_grouping("B2", 10).value == 0.45
    assert iec_grouping("B2", 21) is None
    assert iec_grouping("C", 99).value == 0.70
    assert iec_grouping("E", 2).value == 0.88
    assert [nec_adjustment(n).value for n in (1, 3, 4, 9, 10, 41, 500)] == [1.0, 1.0, 0.8, 0.7, 0.5, 0.35, 0.35]
    assert [harmonics(h)[1] for h in (0.0, 0.15, 0.33, 0.34, 1.0, 2.0)] == ["line", "line", "line", "neutral", "neutral", "neutral"]


def test_devices_at_the_edges() -> None:
    assert fuse_let_through(630).value == 7.5e6
    assert fuse_let_through(800) is None
    assert fuse_let_through(175).value == fuse_let_through(200).value
    assert fuse_gate(175, "most_5s").value == fuse_gate(200, "most_5s").value
    assert fuse_gate(175, "least_10s").value == fuse_gate(160, "least_10s").value
    assert breaking_capacity(6000, "iec", BREAKER).value == 6000
    assert breaking_capacity(200_001, "iec", FUSE) is None
    assert "bolt-down strip (MEGA)" not in dc_families(58.0, 5000.0, "most")
    assert "class T" in dc_families(58.0, 15_000.0, "least")
    twelve = read_size("12 AWG")
    assert nec_largest_device(21.0, twelve, "copper") == 20
    assert nec_largest_device(830.0, read_size("500 kcmil"), "copper") == 800
    assert equipment_ground(100, "copper")[0].label == "8 AWG"
    assert equipment_ground(3000, "copper") is None
    assert smallest_of(1.0, "iec") is None


@pytest.mark.parametrize(
    "look",
    [
        lambda: resistance(read_size("1.5 mm2"), "aluminium", flexible=False),
        lambda: adiabatic_k("live", "steel", "pvc"),
        lambda: operating_multiple("relay", 63.0),
    ],
)
def test_where_a_table_is_silent_nothing_is_made_up(look):
    """Aluminium of 1.5 mm2, a metal and a device without a row: the row nearest to it would be another conductor's, or another device's."""
    with pytest.raises(KeyError):
        look()


def test_a_table_that_stands_twice_is_told(tmp_path):
    """Of two by one name a plan would read one, and nobody knew which."""
    for name in ("a", "b"):
        (tmp_path / f"{name}.toml").write_text("[metals]\nrows = []\n", encoding="utf-8")
    with pytest.raises(ValueError, match="metals stands twice"):
        names(tmp_path)
