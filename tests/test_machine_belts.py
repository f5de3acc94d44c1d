"""Spindles with belts and gears: speeds to be had, how they are set, told, read and proved."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from odd_machines import machine_with, written

from camgen.cutting.planner import plan_cut
from camgen.faults import Refused
from camgen.post.machine_file.explain import in_sentences
from camgen.shop.cutters import parse_cutter
from camgen.shop.materials import find_material

SPEEDS = (900, 2500, 5000, 10000, 20000)
def _steps(form: str) -> str:
    every = ", ".join(form.format(speed=speed, number=number)
                      for number, speed in enumerate(SPEEDS, 1))
    return f"spindle: {{steps: [{every}]}}"


BELTS = _steps("{{speed: {speed}, called: BELT {number}}}")
GEARS = _steps("{{speed: {speed}, word: M4{number}}}")
CODES = "spindle-words: {s-says: step}\n" + _steps("{{speed: {speed}, code: {number}}}")
NO_S = "\nspindle-words: {s-says: nothing}"
WARM = "\nspindle-words: {warm-up: [[900, 5], [2500, 10]]}"
ON = [
    ("plain-iso", BELTS, BELTS), ("plain-iso", GEARS, BELTS), ("plain-iso", CODES, BELTS),
    ("plain-iso", BELTS + NO_S, BELTS), ("plain-iso", GEARS + NO_S, BELTS),
    ("plain-iso", GEARS + WARM, BELTS), ("plain-iso", CODES + "\nchange: {word: null}", BELTS),
    ("plain-iso", BELTS + "\nspindle-words: {by-program: false}", BELTS),
    ("plain-iso", BELTS + "\ncomments: {message: MSG}", BELTS),
    ("plain-iso", BELTS + "\nspindle-words: {speed-alone: true}", BELTS),
    ("one-program-per-cutter", BELTS, BELTS),
    ("plain-iso", GEARS + "\nchange: {way: automatic}\noffsets: {length: table}", BELTS),
    ("plain-iso", BELTS + "\nchange: {way: automatic}\noffsets: {length: table}", BELTS),
]


@pytest.mark.parametrize(("base", "words", "planned"), ON)
def test_every_way_of_setting_a_step_is_proved(base: str, words: str, planned: str) -> None:
    made = written("balance-cock", base, words, sections=(0, 2, 3), planned_with=planned)
    speeds = {section.rpm for section in made.moves.sections}
    assert len(speeds) > 1
    assert speeds <= set(SPEEDS)
    assert made.failed() == {}
    read = {abs(float(speed)) for program in made.read() for speed in program.motion.speed}
    assert read - {0.0} == speeds


def _sub(pattern: str, instead: str, count: int = 0) -> Callable[[str], str]:
    def change(text: str) -> str:
        changed, found = re.subn(pattern, instead, text, count=count, flags=re.MULTILINE)
        assert found
        return changed
    return change


@pytest.mark.parametrize(("words", "change"), [
    (BELTS, _sub(r"^\(SET SPINDLE[^)]*\)\r\n", "", 1)),
    (BELTS, _sub("SET SPINDLE AT BELT 3 FOR 5000", "SET SPINDLE AT BELT 2 FOR 5000")),
    (BELTS, _sub("SET SPINDLE AT BELT 3 FOR 5000", "SET SPINDLE AT BELT 2 FOR 2500")),
    (BELTS, _sub("S5000", "S2500")),
    (GEARS, _sub(r"^M43\r\n", "", 1)),
    (GEARS, _sub("M43", "M44", 1)),
    (GEARS, _sub("SPINDLE AT STEP 3", "SPINDLE AT STEP 4", 1)),
    (CODES, _sub("S3 M3", "S4 M3", 1)),
    (CODES, _sub("S3 M3", "S5000 M3", 1)),
    (CODES, _sub("S3 M3", "M3", 1)),
    (BELTS + NO_S, _sub(r"^M3\r\n", "S5000 M3\r\n", 1)),
    (BELTS + NO_S, _sub("SET SPINDLE AT BELT 3 FOR 5000", "SET SPINDLE AT BELT 2 FOR 2500")),
    (GEARS + NO_S, _sub("M43", "M42", 1)),
])
def test_a_step_missing_or_wrong_is_not_proved(words: str, change: Callable[[str], str]) -> None:
    made = written("balance-cock", "plain-iso", words, sections=(0, 2, 3), planned_with=BELTS)
    assert any(section.rpm == 5000 for section in made.moves.sections)
    assert made.failed() == {}
    assert made.failed(change)


def test_a_belt_of_its_own_stop_wants_the_stop() -> None:
    made = written("balance-cock", "with-cycles", BELTS + "\nspindle-words: {warm-up: []}",
                   sections=(0, 2, 3), planned_with=BELTS + "\nspindle-words: {warm-up: []}")
    assert made.failed() == {}
    assert "steps of the spindle set at stops" in made.failed(_sub(r"^M0\r\n", "", 1))


@pytest.mark.parametrize("asked", [None, 2500.0])
def test_feeds_follow_the_speed_that_can_be_had(asked: float | None) -> None:
    material = find_material("brass-leaded")
    cutter = parse_cutter("end-mill 2 2 flutes reach 6")
    free = plan_cut(material, cutter, machine_with("plain-iso"))
    had = plan_cut(material, cutter, machine_with("plain-iso", BELTS), speed=asked)
    assert had.speed == (asked or max(speed for speed in SPEEDS if speed <= free.speed))
    assert had.feed == pytest.approx(had.speed * cutter.flutes * had.chip_load)
    with pytest.raises(Refused, match=r"the speed of 3000 rev/min is not one of this spindle"):
        plan_cut(material, cutter, machine_with("plain-iso", BELTS), speed=3000.0)


@pytest.mark.parametrize(("words", "said"), [
    ("spindle-words: {s-says: step}", "S is to say a step, and the spindle has none"),
    ("spindle-words: {s-says: nothing}",
     "S is to say nothing, and the spindle has no steps to set"),
    (BELTS + "\nspindle-words: {s-says: step}", "S says steps, and one of them has no code"),
    ("spindle: {steps: [{speed: 900, code: 1}]}", "a step has a code, and S does not say steps"),
    ("spindle-words: {s-says: step}\n"
     "spindle: {steps: [{speed: 900, code: 1}, {speed: 1000, code: 1}]}",
     "two steps have the same code"),
    ("spindle: {steps: [{speed: 900}, {speed: 900}]}", "the steps must rise in speed"),
    ("spindle: {lowest: 1000, steps: [{speed: 900}]}",
     "a step of 900 rev/min lies beyond lowest: leave lowest out, it follows from the steps"),
    (GEARS + "\nspindle-words: {by-program: false}",
     "a spindle started by hand is not set to a step by a word"),
    (BELTS + "\ncomments: {style: none}",
     "style none leaves out what is to be set at the spindle, and nothing else says its speed"),
    (BELTS + WARM, "warming up at several speeds, and each is set by hand"),
    (GEARS + "\nspindle-words: {warm-up: [[1000, 5]]}",
     "1000 rev/min is none of the spindle's steps"),
    ("spindle: {steps: [{speed: 900, word: M8}]}",
     "M8 sets a step of the spindle here, and switches coolant or air on elsewhere"),
])
def test_steps_that_contradict_other_words_are_found_when_the_file_is_read(
        words: str, said: str) -> None:
    with pytest.raises(Refused) as no:
        machine_with("plain-iso", words)
    assert said in [str(fault.message) for fault in no.value.faults]


def test_show_tells_the_steps() -> None:
    said = " ".join(in_sentences(machine_with("plain-iso", BELTS)))
    assert "It has the speeds 900 (BELT 1, by hand at a stop), 2500 (BELT 2" in said
    assert "(STEP 3, by M43)" in " ".join(in_sentences(machine_with("plain-iso", GEARS)))
