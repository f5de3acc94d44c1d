"""The quick dataclass means what the standard one means."""

from __future__ import annotations

import copy
import dataclasses
import pickle
from functools import cached_property
from typing import Any, ClassVar

import pytest
from hypothesis import given
from hypothesis import strategies as st

from camgen.values import dataclass


@dataclass(frozen=True, slots=True)
class Quick:
    """A value of each sort."""

    width: float
    name: str = "x"
    more: list[int] = dataclasses.field(default_factory=list)
    kind: ClassVar[str] = "quick"

    @cached_property
    def doubled(self) -> float:
        """Twice the width, kept."""
        return 2 * self.width


@dataclasses.dataclass(frozen=True)
class Standard:
    """The same by the standard decorator."""

    width: float
    name: str = "x"
    more: list[int] = dataclasses.field(default_factory=list)
    kind: ClassVar[str] = "quick"


@dataclass(frozen=True)
class Checked:
    """A value that looks at itself once made."""

    width: float
    area: float = dataclasses.field(init=False)

    def __post_init__(self) -> None:
        if self.width < 0:
            raise ValueError("width below 0")
        object.__setattr__(self, "area", self.width**2)


fields = st.fixed_dictionaries(
    {"width": st.floats(allow_nan=False)},
    optional={"name": st.text(max_size=3), "more": st.lists(st.integers(), max_size=2)})


@given(fields, fields)
def test_equality_and_text_are_those_of_the_standard_one(
    a: dict[str, Any], b: dict[str, Any]
) -> None:
    assert (Quick(**a) == Quick(**b)) is (Standard(**a) == Standard(**b))
    assert repr(Quick(**a)) == repr(Standard(**a)).replace("Standard", "Quick")
    assert dataclasses.asdict(Quick(**a)) == dataclasses.asdict(Standard(**a))


@given(fields)
def test_replacing_copying_and_pickling_keep_the_value(given_fields: dict[str, Any]) -> None:
    one = Quick(**given_fields)
    assert dataclasses.replace(one, name="y") == Quick(**{**given_fields, "name": "y"})
    assert copy.deepcopy(one) == one
    assert pickle.loads(pickle.dumps(one)) == one


def test_equal_values_hash_alike() -> None:
    @dataclass(frozen=True)
    class Place:
        x: float
        y: float = 0.0

    assert len({Place(1.0), Place(1.0, 0.0), Place(2.0)}) == 2
    assert Place(1.0) != (1.0, 0.0)


def test_nothing_can_be_changed_added_or_taken_away() -> None:
    one = Quick(1.0)
    with pytest.raises(dataclasses.FrozenInstanceError):
        one.width = 2.0  # type: ignore[misc]
    with pytest.raises(dataclasses.FrozenInstanceError):
        one.other = 2.0  # type: ignore[attr-defined]
    with pytest.raises(dataclasses.FrozenInstanceError):
        del one.width
    assert one.doubled == one.doubled == 2.0


def test_a_default_that_all_values_would_share_is_refused() -> None:
    with pytest.raises(ValueError, match="shared"):
        @dataclass(frozen=True)
        class Shared:
            more: list[int] = []  # noqa: RUF012


def test_each_value_gets_a_default_of_its_own() -> None:
    assert Quick(1.0).more is not Quick(1.0).more


def test_missing_and_unknown_arguments_are_refused_as_ever() -> None:
    with pytest.raises(TypeError, match="width"):
        Quick()  # type: ignore[call-arg]
    with pytest.raises(TypeError, match="nothing"):
        Quick(1.0, nothing=2)  # type: ignore[call-arg]


def test_a_value_looks_at_itself_once_made_and_is_taken_apart_in_order() -> None:
    with pytest.raises(ValueError, match="below 0"):
        Checked(-1.0)
    assert repr(Checked(3.0)) == "Checked(width=3.0, area=9.0)"
    assert dataclasses.replace(Checked(3.0), width=4.0).area == 16.0
    match Quick(1.0, "y"):
        case Quick(width, name):
            assert (width, name) == (1.0, "y")
