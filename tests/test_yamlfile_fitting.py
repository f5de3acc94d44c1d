"""Data against a model: what does not fit is said in the words of the file."""

from __future__ import annotations

from typing import Annotated, Literal

import pytest
from pydantic import Field, model_validator

from camgen.faults import Refused
from camgen.shop.machine import Machine
from camgen.shop.model import FileModel, Length
from camgen.yamlfile import load_yaml, validate, validated


class Round(FileModel):
    kind: Literal["round"]
    diameter: Length = Field(description="across")


class Square(FileModel):
    kind: Literal["square"]
    side: Length
    flat_bottom: bool = False


class Inner(FileModel):
    size: Annotated[float, Field(ge=1, le=2)] = Field(1.0, description="how large")
    points: tuple[tuple[float, float], ...] = ()


class Outer(FileModel):
    """A test's own file."""

    name: str = Field(pattern="^[a-z0-9][a-z0-9-]*$", max_length=5, description="its name")
    inner: Inner | None = None
    hole: Annotated[Round | Square, Field(discriminator="kind")] | None = None
    count: int | None = Field(None, gt=0, lt=10)
    several: dict[str, Inner] = Field(default_factory=dict)
    pair: tuple[float, float] | None = None

    @model_validator(mode="after")
    def no_nine(self) -> Outer:
        if self.count == 9:
            raise ValueError("nine is never right")
        return self


def told(text: str) -> list[str]:
    _, faults = validated(Outer, load_yaml(text, "f.yaml"))
    return [str(fault) for fault in faults]


def test_what_fits_becomes_the_model() -> None:
    made = validate(Outer, load_yaml("name: a\nhole: {kind: square, side: 2}\npair: [1, 2.5]",
                                     "f.yaml"))
    assert made.hole == Square(kind="square", side=2.0)
    assert made.pair == (1.0, 2.5)


@pytest.mark.parametrize(("text", "answer"), [
    ("name: a\ncount: 10", "line 2, column 8, count: count: 10 is not allowed, it must be more "
     "than 0 and less than 10"),
    ("name: a\ncount: true", "count: true is not a whole number more than 0 and less than 10"),
    ("name: a\ninner: {size: 3}", "it must be from 1 to 2\n    how large"),
    ("name: a\ninner: {size: }", "size has no value\n    how large: a number from 1 to 2"),
    ("name: a\ninner: 3", "inner: 3 is not allowed\n    inner: is followed by words of its own, "
     "indented beneath it: size or points"),
    ("name: a\nhole: {kind: oval}", "kind: oval is not allowed\n    allowed: round or square"),
    ("name: a\nhole: {kind: rund}", "did you mean round?"),
    ("name: a\nhole: {side: 2}", "kind is missing\n    it says which sort is meant: round or "
     "square"),
    ("name: a\nhole: {kind: square, side: 0}", "hole.side: side: 0 is not allowed, it must be more "
     "than 0"),
    ("name: a\nhole: {kind: square, side: 2, diamter: 3}", "allowed here: kind, side or "
     "flat-bottom"),
    ("name: a\nhole: {kind: round}", "hole.diameter: diameter is missing\n    across: a number "
     "more than 0"),
    ("name: a\nhole: {kind: square, side: 2, flat-bottom: 1}", "flat-bottom: 1 is neither true nor "
     "false"),
    ("name: a\nhole: {kind: square, side: 2, flat_bottom: true}", "did you mean flat-bottom?"),
    ("name: abcdefg", "name is longer than 5 letters"),
    ("name: a b", "small letters, figures and hyphens only"),
    ("name: [a]", "name: a list is not text"),
    ("name: a\npair: [1]", "pair has 1 value, 2 wanted"),
    ("name: a\npair: [1, x]", "pair[1]: pair: x is not a number"),
    ("name: a\nseveral: {x: {size: 9}}", "several.x.size: size: 9 is not allowed"),
    ("name: a\nseveral: [1]", "several: a list is not allowed"),
    ("name: a\ninner: {points: [[1, 2], [3]]}", "inner.points[1]: points has 1 value, 2 wanted"),
    ("name: a\ncount: 9", "nine is never right"),
    ("name: a\nsize: 9", "it belongs under inner"),
    ("- a", "the file is a list, not words with their values"),
    ("just a text", "the file is plain text, not words with their values"),
])
def test_what_does_not_fit_is_answered_in_plain_words(text: str, answer: str) -> None:
    faults = told(text)
    assert len(faults) == 1, faults
    assert answer in faults[0]


def test_all_faults_come_at_once_in_the_order_of_the_file() -> None:
    faults = told("pair: 3\nname: 4\ninner:\n  sise: 2\n  points: x\ncount: 1.5\n")
    assert [fault.split(":")[0] for fault in faults] == [
        "f.yaml, line 1, column 7, pair", "f.yaml, line 2, column 7, name",
        "f.yaml, line 4, column 3, inner.sise", "f.yaml, line 5, column 11, inner.points",
        "f.yaml, line 6, column 8, count"]


def test_a_misspelt_word_is_not_also_called_missing() -> None:
    (fault,) = told("nmae: a")
    assert "did you mean name?" in fault


def test_part_of_a_file_is_named_by_its_whole_path() -> None:
    document = load_yaml("x:\n  - {size: 7}\n", "f.yaml")
    with pytest.raises(Refused, match=r"line 2, column 12, x\[0\].size"):
        validate(Inner, document, at=("x", 0))


def test_faults_of_a_machine_file_have_places_too() -> None:
    document = load_yaml("name: m\ndescribes: a mill\ndividing: {kind: driven, letter: X}\n"
                         "spindle: {highest: fast}\narcs: {stile: radius}\n", "m.yaml")
    with pytest.raises(Refused) as no:
        validate(Machine, document)
    assert [fault.place.line for fault in no.value.faults] == [3, 4, 5]
    assert "did you mean style?" in no.value.faults[2].remedy


def test_of_very_many_faults_the_first_are_told_and_the_rest_counted() -> None:
    faults = told("name: a\n" + "".join(f"word{n}: {n}\n" for n in range(5000)))
    assert len(faults) == 101
    assert "word0 is not a word known here" in faults[0]
    assert "4900 more faults" in faults[-1]


def test_a_word_in_the_wrong_place_is_sent_to_the_right_one_not_to_one_that_looks_like_it() -> None:
    (fault,) = told("name: a\ninner: {pair: [1, 2]}")
    assert "it belongs at the top of the file, not indented" in fault
    document = load_yaml("x:\n  - {name: a, inner: {count: 3}}\n", "f.yaml")
    with pytest.raises(Refused, match=r"it belongs under x\[0\]"):
        validate(Outer, document, at=("x", 0))
