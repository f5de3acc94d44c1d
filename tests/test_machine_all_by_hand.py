"""Spindle and head both by hand: one stop says to stop, turn and start again; and it is held."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
import yaml
from machine_sweep import JOBS, changed_files
from odd_machines import Written, written

from camgen.make.chain import Wish, proved_job
from camgen.make.told.report import times_of
from camgen.make.told.sheet_texts import sheet_of
from camgen.post.machine_file.explain import in_sentences
from camgen.words import words as catalogue

BY_HAND = "spindle-words: {by-program: false}"
APART = "spindle-words: {by-program: false, stops: apart}"
BELTS = "\nspindle: {steps: [{speed: 900}, {speed: 2000}]}"
ON = [BY_HAND, APART, BY_HAND + "\ncoolant: {flood: M8}", BY_HAND + BELTS,
      BY_HAND + "\ncomments: {message: MSG}", BY_HAND + "\ncomments: {style: semicolon}",
      BY_HAND + "\nchange: {way: one-program-each, word: null}",
      BY_HAND + "\nretract: {way: machine, park: {y: 100}}"]


def _wheel(words: str) -> Written:
    steps = BELTS if BELTS in words else ""
    return written("wheel-by-hand", "hand-dividing", words, setup=1, sections=(0,),
                   planned_with=steps)


@pytest.mark.parametrize("stops", ["together", "apart"])
def test_the_sheet_says_it_as_well_as_the_program(stops: str, tmp_path: Path) -> None:
    """A head that is driven too, where the spindle alone is started by hand."""
    path = tmp_path / "pinion.yaml"
    path.write_text(JOBS["pinion"])
    for by_program in (False, True):
        said = changed_files([(("spindle-words", "by-program"), by_program),
                              (("spindle-words", "stops"), stops)])
        (tmp_path / "mine.yaml").write_text(yaml.safe_dump(said))
        proved = proved_job(path, Wish(post=str(tmp_path / "mine.yaml")))
        assert not proved.failed
        sheet = sheet_of(proved, times_of(proved), {}, catalogue("en"), None)
        told = [one for one in sheet.setups[0].remarks if "spindle is started" in one]
        assert len(told) == (0 if by_program else 1)
        assert any(b"START SPINDLE" in one.text for one in proved.setups[0].programs) == (
            not by_program)


@pytest.mark.parametrize("words", ON)
def test_a_wheel_all_by_hand_is_proved(words: str) -> None:
    made = _wheel(words)
    assert made.failed() == {}
    lines = made.lines()
    spaces = [number for number, line in enumerate(lines)
              if re.search(r"SPACE \d+ AT", line) and "DEG" in line]
    assert len(spaces) > 3
    # From one space's message to its cut: one stop that says all, or a stop to turn and another.
    said = [any("START SPINDLE" in line for line in lines[here:lines.index("M0", here)])
            for here in spaces]
    assert sum(said) >= len(spaces) - 1 if "apart" not in words else not any(said)


def test_one_stop_says_it_in_the_order_it_is_done() -> None:
    lines = _wheel(BY_HAND).lines()
    at = next(number for number, line in enumerate(lines) if line.startswith("(SPACE 2"))
    begin = max(number for number in range(at) if lines[number] == "(STOP SPINDLE)")
    said = lines[begin:lines.index("M0", at) + 1]
    assert re.fullmatch(r"\(START SPINDLE CLOCKWISE AT \d+ REV/MIN\)", said[-2])
    assert all(line.startswith("(") for line in said[:-1])


def _second(pattern: str, instead: str) -> Callable[[str], str]:
    def change(text: str) -> str:
        one = list(re.finditer(pattern, text, re.MULTILINE))[1]
        return text[:one.start()] + instead + text[one.end():]
    return change


@pytest.mark.parametrize(("words", "change"), [
    (BY_HAND, _second(r"^\(STOP SPINDLE\)\r\n", "")),
    (BY_HAND, _second(r"^\(START SPINDLE[^)]*\)\r\n", "")),
    (BY_HAND, _second(r"CLOCKWISE AT \d+ REV", "CLOCKWISE AT 300 REV")),
    (BY_HAND, _second(r"START SPINDLE CLOCKWISE", "START SPINDLE ANTICLOCKWISE")),
    (BY_HAND, _second(r"^\(SPACE[^)]*\)\r\n", "")),
    (BY_HAND, lambda text: re.sub(r"(\(START SPINDLE[^)]*\)\r\n)M0\r\n", r"\1", text)),
    (BY_HAND, lambda text: re.sub(r"(\(STOP SPINDLE\)\r\n)((?:\([^)]*\)\r\n)*?)"
                                  r"(\(START SPINDLE[^)]*\)\r\n)", r"\1\3\2", text)),
    (APART, _second(r"^\(STOP SPINDLE\)\r\nM0\r\n", "")),
    (APART, _second(r"^\(START SPINDLE[^)]*\)\r\nM0\r\n", "")),
])
def test_what_is_not_said_at_the_stop_is_not_proved(
        words: str, change: Callable[[str], str]) -> None:
    made = _wheel(words)
    assert made.failed() == {}
    assert made.failed(change)


def test_show_tells_it() -> None:
    assert any("one stop says it all" in one for one in in_sentences(_wheel(BY_HAND).machine))
