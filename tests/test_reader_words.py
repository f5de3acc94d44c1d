"""Blocks are taken apart into words, comments and what is wrong with them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reader_machines import PLAIN
from sampling import few

from camgen.reader.dialect import dialect_of
from camgen.reader.text.many_lines import LETTERS, Columns, Page
from camgen.reader.text.words import split_block


@pytest.mark.parametrize(
    "line",
    ["G1 X1.5 Y-2.0 F120", "g1x1.5y-2.0f120", "G01X+1.5Y-2.F120.", "  G 1 X 1.5 Y -2 F\t120 ",
     "G1 (way) X1.5 Y-2 (feed) F120", "G1X1.5Y-2F120; to the end of the line",
     "G1.0 X01.50 Y-02.0 F120"],
)
def test_one_block_written_in_many_ways_has_the_same_words(line: str) -> None:
    block = split_block(line)
    assert [(word.letter, word.value) for word in block.words] == [
        ("G", 1.0), ("X", 1.5), ("Y", -2.0), ("F", 120.0)]
    assert not block.troubles


def test_columns_count_from_one_at_the_letter() -> None:
    assert [word.column for word in split_block("N5 G1  X-.5(a)Y2").words] == [1, 4, 8, 15]


def test_comments_of_both_forms_are_kept_as_written() -> None:
    assert split_block("(Drill Ø0.8) G0 X1 ; then (rest)").comments == ("Drill Ø0.8", "then (rest)")


def test_a_stroke_at_the_start_marks_a_block_to_skip() -> None:
    assert split_block("/G0 X1").skip
    assert split_block("/2 G0 X1").skip
    assert split_block("/2 G0 X1").words[0].letter == "G"
    assert split_block("G0 / X1").troubles[0].column == 4


@pytest.mark.parametrize(
    ("line", "column", "says"),
    [
        ("G1 X", 4, "without a number"),
        ("G1 XY2", 4, "without a number"),
        ("G1 X1.5.2", 4, "not a number"),
        ("G1 X--1", 4, "not a number"),
        ("G1 X1 2", 7, "without a letter"),
        ("5 G1", 1, "without a letter"),
        ("G1 X1 (open", 7, "not closed"),
        ("G1 X1) Y2", 6, "without its beginning"),
        ("G1 X1 & Y2", 7, "&"),
        ("G1 X1 \u00e9", 7, "\u00e9"),
        ("G1 X1\x00", 6, "0x0"),
        ("G1 X\u0661", 4, "without a number"),
        ("G1 Xinf", 4, "Xinf is not a word"),
        ("G1 X1e3 Y1", 6, ""),
    ],
)
def test_bad_text_is_named_with_its_column(line: str, column: int, says: str) -> None:
    block = split_block(line)
    if line == "G1 X1e3 Y1":
        assert ("E", 3.0) in [(word.letter, word.value) for word in block.words]
        return
    assert block.troubles[0].column == column
    assert says in block.troubles[0].message


@pytest.mark.parametrize(
    "line",
    ["#1=5", "G1 X#1", "G1 X[1+2]", "IF [#1 LT 3] GOTO 10", "GOTO 10", "WHILE [#2 GT 0] DO1",
     "O100 SUB", "X=R1", "R1=R1+1", "X=5*2", "END1", "CR=[2+3]"],
)
def test_variables_and_macro_words_are_told_apart_from_bad_words(line: str) -> None:
    assert any(trouble.variable for trouble in split_block(line).troubles)


@pytest.mark.parametrize(
    ("line", "names"),
    [
        ("G1 X5. CR=2.5 F10", {8: "CR=2.5"}),
        ("N10 TRANS X5.", {5: "TRANS"}),
        ("CYCLE81(10,0,2,-5)", {1: "CYCLE81"}),
        ('MSG("HELLO, GO") M0', {1: "MSG"}),
        ("N5 DIAMOF SPOS = 90 R1=-.5", {4: "DIAMOF", 11: "SPOS = 90", 21: "R1=-.5"}),
        ('TEXT "G1 X5. #1"', {1: "TEXT", 6: "text in quotes"}),
        ("A_B X1.", {1: "A"}),
        ("AB_C5 X1.", {1: "AB_C5"}),
    ],
)
def test_words_of_a_controls_own_are_named_whole(line: str, names: dict[int, str]) -> None:
    troubles = split_block(line).troubles
    assert not any(trouble.variable for trouble in troubles)
    for column, name in names.items():
        assert any(t.column == column and name in t.message for t in troubles), (column, troubles)


def test_macro_words_in_comments_mean_nothing() -> None:
    assert not split_block("G0 X1 (IF #1 GOTO 5)").troubles
    assert not any(t.variable for t in split_block("G0 X (IF #1 GOTO 5)").troubles)


@given(st.text(max_size=60))
def test_any_text_can_be_taken_apart(line: str) -> None:
    split_block(line.replace("\n", " "))


_NUMBER = st.from_regex(r"\A[+-]?([0-9]{1,9}\.?[0-9]{0,6}|\.[0-9]{1,6})\Z")
_LINE = st.lists(
    st.tuples(st.sampled_from("GXYZIJKFRNAxyz"), st.sampled_from(("", " ", "  ")), _NUMBER),
    max_size=5,
)


@settings(max_examples=few(60), deadline=None)
@given(st.lists(_LINE, min_size=1, max_size=8), st.sampled_from(("", " ")))
def test_lines_taken_apart_at_once_have_the_words_of_lines_taken_apart_singly(
    lines: list[list[tuple[str, str, str]]], between: str
) -> None:
    texts = [between.join(a + gap + number for a, gap, number in line) for line in lines]
    columns = Columns.of(dialect_of(PLAIN), turns=True)
    page = Page.of(texts, 0, columns)
    for at, text in enumerate(texts):
        if page.until[at] == at:
            continue
        row = np.full(LETTERS, np.nan)
        for word in split_block(text).words:
            row[columns.column[ord(word.letter)]] = word.value
        assert np.array_equal(page.table[at], row, equal_nan=True), text


def test_numbers_worked_out_at_once_are_the_nearest_there_are() -> None:
    values = np.random.default_rng(4).uniform(-1e3, 1e3, 500).round(7).tolist()
    texts = [f"X{value!r}" for value in values]
    page = Page.of(texts, 0, Columns.of(dialect_of(PLAIN), turns=True))
    assert [float(text[1:]) for text in texts] == page.table[:, 1].tolist()
