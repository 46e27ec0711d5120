"""The frozen dataclasses are what those of the standard library are, setting aside that assignment is mypy's to refuse."""

from __future__ import annotations

import dataclasses
from dataclasses import field, fields, is_dataclass, replace

import pytest

from engine.frozen import dataclass


def both(make):
    """One class by each of the two makers."""
    return make(dataclass), make(dataclasses.dataclass)


def point(maker):
    @maker(frozen=True)
    class Point:
        x: float
        y: float = 2.0
        notes: list[str] = field(default_factory=list)
        seen: int = field(default=0, compare=False)
        hidden: str = field(default="", repr=False)

    return Point


def checked(maker):
    @maker(frozen=True, kw_only=True)
    class Checked:
        low: int
        high: int

        def __post_init__(self):
            if self.low > self.high:
                raise ValueError(self.low)

    return Checked


@pytest.mark.parametrize("cls", both(point))
def test_values_defaults_and_equality(cls):
    one, other = cls(1.0), cls(1.0, 2.0, [], seen=5)
    assert (one.x, one.y, one.notes, one.seen) == (1.0, 2.0, [], 0)
    assert one == other
    assert one != cls(1.5)
    assert one.__eq__(1.0) is NotImplemented
    assert one.notes is not other.notes
    assert (cls(1.0, notes=None).notes, cls(1.0, 3.0).y) == (None, 3.0)


@pytest.mark.parametrize("cls", both(point))
def test_it_is_a_dataclass_to_the_standard_library(cls):
    assert is_dataclass(cls)
    assert [f.name for f in fields(cls)] == ["x", "y", "notes", "seen", "hidden"]
    changed = replace(cls(1.0), y=7.0)
    assert (type(changed), changed.x, changed.y) == (cls, 1.0, 7.0)
    assert dataclasses.asdict(changed) == {"x": 1.0, "y": 7.0, "notes": [], "seen": 0, "hidden": ""}
    assert cls.__match_args__ == ("x", "y", "notes", "seen", "hidden")


def test_hash_and_repr_are_the_same():
    ours, theirs = (cls(1.0, 2.0, (), seen=3, hidden="h") for cls in both(point))
    assert hash(ours) == hash(theirs)
    assert repr(ours) == repr(theirs)


@pytest.mark.parametrize("cls", both(point))
def test_what_does_not_fit_is_refused(cls):
    with pytest.raises(TypeError):
        cls()
    with pytest.raises(TypeError):
        cls(1.0, z=1)
    with pytest.raises(TypeError):
        hash(cls(1.0))


@pytest.mark.parametrize("cls", both(checked))
def test_keywords_alone_and_a_check_of_its_own(cls):
    assert (cls(low=1, high=2).low, cls(high=2, low=1) == cls(low=1, high=2)) == (1, True)
    with pytest.raises(TypeError):
        cls(1, 2)
    with pytest.raises(ValueError, match="3"):
        cls(low=3, high=2)


def test_fields_and_methods_are_inherited_and_own_methods_stay():
    for maker in (dataclass, dataclasses.dataclass):

        @maker(frozen=True)
        class Base:
            a: int

            def __repr__(self):
                return "own"

        @maker(frozen=True)
        class Derived(Base):
            b: int = 2

        assert repr(Base(1)) == "own"
        assert (Derived(1).a, Derived(1).b) == (1, 2)
        assert Derived(1) != Base(1)


def test_identity_where_equality_is_not_wanted():
    for maker in (dataclass, dataclasses.dataclass):

        @maker(frozen=True, eq=False)
        class Thing:
            a: int

        assert Thing(1) != Thing(1)
        assert len({Thing(1), Thing(1)}) == 2
