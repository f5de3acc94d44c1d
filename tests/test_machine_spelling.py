"""Spellings of old and odd controls: written, read back by another reckoning, and held."""

from __future__ import annotations

import re
from collections.abc import Callable
from itertools import cycle, product

import numpy as np
import pytest
from odd_machines import machine_with, written
from sampling import sampled

from camgen.faults import Refused
from camgen.post.machine_file.explain import in_sentences

SUM = "blocks: {checksum: sum}"
XOR = "blocks: {checksum: xor}"
ALL = "blocks: {number: true, number-lines: all}"
STAR = "comments: {style: marks}"
BRACKETS = "comments: {style: marks, opens: '[', closes: ']'}"
TURN = "program: {feed: per-turn}\nnumbers: {feed-decimals: 6}"
TWICE = "x: {counts: twice}"
UNSIGNED = "arcs: {unsigned: true, quadrants: true}"
POINTLESS = "numbers: {point: never, zeros: ZEROS, figures: 4}\ndwell: {unit: ms}"
KEPT = POINTLESS.replace("ZEROS", "all")
FIRST = POINTLESS.replace("ZEROS", "no-trailing")
FURTHER = [UNSIGNED, UNSIGNED + "\ny: {sense: reversed}", UNSIGNED + "\n" + TWICE,
           UNSIGNED + "\n" + KEPT, TWICE, KEPT, FIRST, KEPT + "\n" + TWICE, FIRST + "\n" + TWICE,
           TWICE + "\ny: {counts: twice}\nz: {counts: twice}",
           "x: {counts: twice, sense: reversed}",
           TWICE + "\narcs: {style: radius}", TWICE + "\narcs: {style: none}", FIRST + "\n" + SUM,
           KEPT.replace("figures", "plus: true, figures"),
           FIRST.replace("figures", "decimals: 4, figures") + "\nprogram: {units: inch}"]
WORDS = [SUM, XOR, ALL, STAR, BRACKETS, TURN]
ON = ["plain-iso", "with-cycles", "small-memory", "radius-arcs-in-quadrants", "plain-iso-inch",
      "numbers-without-point"]


def _pairs() -> list[str]:
    found = list(WORDS)
    for at, one in enumerate(WORDS):
        for other in WORDS[at + 1:]:
            if {one, other} <= {STAR, BRACKETS} or {one, other} <= {SUM, XOR} or (
                    STAR in (one, other) and {SUM, XOR} & {one, other}):
                continue
            first, rest = one.split("\n"), other.split("\n")
            both = {line.split(":")[0]: line for line in first}
            for line in rest:
                word = line.split(":")[0]
                both[word] = (both[word].rstrip("}") + ", " + line.split("{", 1)[1]
                              if word in both else line)
            found.append("\n".join(both.values()))
    return found


@pytest.mark.parametrize(("words", "base"), sampled(
    [*zip(_pairs(), cycle(ON), strict=False), *product(_pairs(), ON)], len(_pairs())))
def test_what_is_spelt_so_is_read_back_as_it_was_meant(base: str, words: str) -> None:
    if base == "small-memory" and "marks" in words:
        words += "\nsubprograms: {use: true}"
    made = written("balance-cock", base, words, sections=(0,))
    assert made.failed() == {}
    plain = written("balance-cock", base, sections=(0,))
    one, other = made.read()[0].motion, plain.read()[0].motion
    assert np.array_equal(one.end, other.end)
    assert np.allclose(one.feed, other.feed, rtol=2e-3, atol=0.6, equal_nan=True)


@pytest.mark.parametrize("words", WORDS)
def test_teeth_are_spelt_so_too(words: str) -> None:
    made = written("seconds-pinion", "upright-rotary-horizontal-cutter", words, sections=(0,))
    assert made.failed() == {}


@pytest.mark.parametrize("words", FURTHER)
@pytest.mark.parametrize(("stem", "sections"), [("balance-cock", (0, 4)), ("seconds-pinion", (0,))])
def test_figures_and_diameters_are_read_back_as_they_were_meant(
        words: str, stem: str, sections: tuple[int, ...]) -> None:
    made = written(stem, "plain-iso", words, sections=sections)
    assert made.failed() == {}
    plain = written(stem, "plain-iso", sections=sections)
    one, other = made.read()[0].motion, plain.read()[0].motion
    if "arcs" not in words and "inch" not in words:
        assert np.allclose(one.end, other.end, atol=1e-9)


def test_figures_by_hand() -> None:
    # 5.8 mm of 4 + 3 figures: 0005800, from the first 00058; a diameter of it is 11.6.
    lines = {words: written("balance-cock", "plain-iso", words, sections=(0,)).lines()
             for words in (KEPT, FIRST, TWICE)}
    assert "X0005800 Y0001600" in lines[KEPT]
    assert "X00058 Y00016" in lines[FIRST]
    assert "X11.6 Y1.6" in lines[TWICE]


def _sub(pattern: str, instead: str, count: int = 1) -> Callable[[str], str]:
    def change(text: str) -> str:
        changed, found = re.subn(pattern, instead, text, count=count, flags=re.MULTILINE)
        assert found
        return changed
    return change


@pytest.mark.parametrize(("words", "change"), [
    (SUM, _sub(r"^(G54)\*\d+", r"\1")),
    (SUM, _sub(r"^(G54)\*\d+", r"\1*1")),
    (XOR, _sub("Y1.6", "Y1.7")),
    (XOR, _sub(r"^\(SET", "(GET")),
    (ALL, _sub(r"^N\d+ (M0)", r"\1")),
    (ALL, _sub(r"^N\d+ (\(SET)", r"\1")),
    (STAR, _sub(r"^\*(SET[^\r]*)", r"(\1)")),
    (STAR, _sub(r"^\*FIT[^\r]*\r\n", "")),
    (BRACKETS, _sub(r"^\[(SET[^\r]*)\]", r"(\1)")),
    (BRACKETS, _sub(r"^(\[SET[^\r]*)\]", r"\1")),
    (TURN, _sub(r"^G95\r\n", "")),
    (TURN, _sub(r"^G95\r\n", "G94\r\n")),
    (TURN, _sub(r"F0\.0", "F0.1")),
    (UNSIGNED, _sub(r" I0\.([1-9])", r" I-0.\1")),
    ("arcs: {quadrants: true}", _sub(r" I-(\d)", r" I\1")),
    (KEPT, _sub("X0005800", "X0058000")),
    (FIRST, _sub(r"X00058 ", "X000058 ")),
    (FIRST, _sub(r"X00058 ", "X58 ")),
    (TWICE, _sub(r"X11\.6", "X5.8")),
    ("", _sub(r"^G54\r\n", "G54\r\nG95\r\n")),
])
def test_a_spelling_missing_or_wrong_is_not_proved(
        words: str, change: Callable[[str], str]) -> None:
    made = written("balance-cock", "plain-iso", words,
                   sections=(0, 5) if "arcs" in words else (0,))
    assert made.failed() == {}
    assert made.failed(change)


def test_check_sums_by_hand() -> None:
    # 71 + 53 + 52 are the bytes of G54 in ASCII, and 71 ^ 53 ^ 52 their exclusive-or.
    assert "G54*176" in written("balance-cock", "plain-iso", SUM).lines()
    assert "G54*70" in written("balance-cock", "plain-iso", XOR).lines()


def test_a_feed_a_turn_is_never_more_than_was_planned() -> None:
    made = written("balance-cock", "plain-iso", TURN, sections=(0,))
    plain = written("balance-cock", "plain-iso", sections=(0,))
    feeds = [one.read()[0].motion.feed for one in (made, plain)]
    cut = np.isfinite(feeds[0])
    assert (feeds[0][cut] <= feeds[1][cut] + 0.051).all()


@pytest.mark.parametrize(("words", "said"), [
    ("blocks: {number-lines: all}", "all lines numbered, and blocks are not"),
    ("blocks: {number: true, number-lines: all, number-after: stop}",
     "all lines are numbered, and past the limit none is"),
    ("comments: {opens: '#'}", "marks of comments, and the style is another"),
    (STAR + "\ninsert: {before-index: ['(INDEX)']}",
     "a comment in parentheses or behind a semicolon, and comments have other marks here"),
    ("arcs: {unsigned: true}", "centres without a sign hold within one quadrant alone"),
    ("arcs: {unsigned: true, quadrants: true, style: radius}",
     "centres without a sign are counted from the start point, and style is another"),
    ("numbers: {zeros: all}", "zeros to be kept for a point that is not written, and it is"),
    (TWICE + "\narcs: {style: absolute}",
     "centres in the program's coordinates, and X counts diameters: whether centres are doubled, "
     "controls differ in"),
    (TWICE + "\ncycles: {use: true}",
     "fixed cycles, and X counts diameters: what they double, controls differ in"),
    (TWICE + "\nretract: {park: {x: 1}}",
     "a place in the machine's coordinates, and X counts diameters"),
    (STAR + "\n" + SUM, "* begins the check-sum of a line"),
    ("program: {feed: per-turn}",
     "feeds a turn of the spindle are thousandths of a millimetre: 1 decimal places are too few"),
    (TURN + "\nrotary: {turn: feed}",
     "the head turns at degrees a minute, and F is a turn of the spindle's"),
])
def test_spellings_that_contradict_each_other_are_found_when_the_file_is_read(
        words: str, said: str) -> None:
    with pytest.raises(Refused) as no:
        machine_with("plain-iso", words)
    assert said in [str(fault.message) for fault in no.value.faults]


def test_show_tells_the_spelling() -> None:
    for words, said in ((SUM, "stands * and its check-sum"), (TURN, "a turn of the spindle's, G95"),
                        (STAR, "between marks of their own behind *")):
        assert said in " ".join(in_sentences(machine_with("plain-iso", words)))
