"""Places where cutters are changed and the work is loaded: gone to drawn up, read back, proved."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from odd_machines import machine_with, written

from camgen.faults import Refused
from camgen.post.machine_file.explain import in_sentences

MACHINE = "change: {place: {x: -20, y: 100}}\nretract: {park: {y: 110}}"
WORK = ("change: {place: {x: -20, y: 60, counted: work}}\n"
        "retract: {park: {y: 60, counted: work}}")
ON = [("plain-iso", MACHINE), ("plain-iso", WORK), ("with-cycles", MACHINE),
      ("with-cycles", WORK), ("shortest-way-rotary", MACHINE), ("small-memory", MACHINE),
      ("plain-iso-inch", WORK), ("plain-iso", "x: {sense: reversed}\n" + WORK),
      ("plain-iso", "blocks: {repeat-axes: true, repeat-modal: true}\n" + WORK)]


@pytest.mark.parametrize(("base", "words"), ON)
@pytest.mark.parametrize(("stem", "sections"), [("balance-cock", (0, 1)), ("seconds-pinion", (0,))])
def test_it_goes_there_and_is_proved(
        base: str, words: str, stem: str, sections: tuple[int, ...]) -> None:
    made = written(stem, base, words, sections=sections)
    assert made.failed() == {}
    on_head = stem == "seconds-pinion"
    goes = not on_head or ("work" not in words and made.machine.retract.way != "plain")
    parked = [line for line in made.lines() if re.search(r"Y4\.3307|Y110|Y60\.|Y2\.3622", line)]
    assert bool(parked) == goes


def test_flat_work_is_come_back_to_with_z_drawn_up() -> None:
    lines = written("balance-cock", "with-cycles", MACHINE).lines()
    at = lines.index("T2 M6")
    assert lines[at - 3:at - 1] == ["G53 G0 Z0.", "G53 G0 X-20. Y100."]
    assert lines[at + 1:at + 4] == ["G43 H2", "G53 G0 Z0.", "G0 X34.6 Y-2."]
    assert lines[-4:-2] == ["G53 G0 Y110.", "G49"]


def _without(pattern: str, which: int = 0) -> Callable[[str], str]:
    def change(text: str) -> str:
        found = list(re.finditer(pattern, text, re.MULTILINE))
        one = found[which]
        return text[:one.start()] + text[one.end():]
    return change


def _other(pattern: str, instead: str) -> Callable[[str], str]:
    def change(text: str) -> str:
        changed, count = re.subn(pattern, instead, text)
        assert count
        return changed
    return change


@pytest.mark.parametrize(("base", "change", "named"), [
    ("with-cycles", _without(r"^G53 G0 X-20\. Y100\.\r\n", 0), "cutters changed at their place"),
    ("with-cycles", _without(r"^G53 G0 X-20\. Y100\.\r\n", 1), "cutters changed at their place"),
    ("with-cycles", _other(r"X-20\. Y100\.", "X-20. Y99."), "cutters changed at their place"),
    ("with-cycles", _other(r"X-20\. Y100\.", "Y100."), "cutters changed at their place"),
    ("with-cycles", _without(r"^G53 G0 Y110\.\r\n"), "parked at the end"),
    ("with-cycles", _other(r"Y110\.", "Y-110."), "parked at the end"),
    ("with-cycles", _other(r"G53 G0 Y110\.", "G0 Y110."), "parked at the end"),
    # Across with Z not drawn up.
    ("with-cycles", _without(r"^G53 G0 Z0\.\r\n", -1), "parked at the end"),
    ("with-cycles", _without(r"^G53 G0 Z0\.\r\n", 2), "cutters changed at their place"),
    ("plain-iso", _without(r"^G53 G0 Y110\.\r\n"), "parked at the end"),
    ("plain-iso", _without(r"^G53 G0 X-20\. Y100\.\r\n"), "cutters changed at their place"),
])
def test_a_place_missing_or_wrong_is_not_proved(
        base: str, change: Callable[[str], str], named: str) -> None:
    made = written("balance-cock", base, MACHINE)
    assert made.failed() == {}
    assert named in made.failed(change)


@pytest.mark.parametrize(("change", "named"), [
    (_other(r"G0 X-20\. Y60\.", "G0 X-20. Y59.9"), "cutters changed at their place"),
    (_without(r"^(G0 )?Y60\.\r\n", -1), "parked at the end"),
    # Gone to with the cutter down.
    (lambda text: text.replace("G0 X-20. Y60.", "G0 Z0.5\r\nG0 X-20. Y60."), ""),
])
def test_a_place_counted_from_the_work_missing_or_wrong_is_not_proved(
        change: Callable[[str], str], named: str) -> None:
    made = written("balance-cock", "plain-iso", WORK)
    text = made.texts[0].replace("\r\nX-20. Y60.", "\r\nG0 X-20. Y60.")
    assert made.failed(lambda _: text) == {}
    failed = made.failed(lambda _: change(text))
    assert failed
    assert not named or named in failed


@pytest.mark.parametrize(("base", "words", "said"), [
    ("plain-iso", "change: {place: {x: 201}}", "X201 lies beyond the travel of X, 200 mm"),
    ("plain-iso", "retract: {park: {y: -121}}", "Y-121 lies beyond the travel of Y, 120 mm"),
    ("plain-iso", "retract: {park: {}}", "a place to go to names x, y or both"),
    ("one-program-per-cutter", "change: {place: {x: 1}}",
     "no program changes its cutter here: each begins with its own"),
    ("numbers-without-point", "retract: {park: {x: 1, counted: work}}",
     "a place counted from the work's zero, and here that is not known before the first stop"),
    ("small-memory", "retract: {park: {x: 1, counted: work}}",
     "a place counted from the work's zero, and here that is not known before the first stop"),
])
def test_places_that_contradict_other_words_are_found_when_the_file_is_read(
        base: str, words: str, said: str) -> None:
    with pytest.raises(Refused) as no:
        machine_with(base, words)
    assert [str(fault.message) for fault in no.value.faults] == [said]


def test_show_tells_the_places() -> None:
    said = in_sentences(machine_with("plain-iso", MACHINE))
    assert "Cutters are changed at X-20 Y100 in machine coordinates, G53, gone to at the safe " \
        "height." in said
    assert "At the end it goes to Y110 in machine coordinates, G53, at the safe height." in said
    assert sum("dividing head it does not go there" in one for one in said) == 2
