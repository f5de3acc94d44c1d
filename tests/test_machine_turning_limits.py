"""A head that cannot turn on and on: its limits kept, whole turns taken back, read and proved."""

from __future__ import annotations

import re

import pytest
from odd_machines import machine_with, written

from camgen.faults import Refused
from camgen.post.machine_file.explain import in_sentences
from camgen.reader.motion import Kind

ON = [
    ("plain-iso", "dividing: {limits: [-360, 360]}"),
    ("plain-iso", "dividing: {limits: [-1, 360]}"),
    ("plain-iso", "dividing: {limits: [0, 359.999], take-up: 0}"),
    ("plain-iso", "dividing: {limits: [-180, 181]}"),
    ("plain-iso", "dividing: {limits: [-360, 1], sense: reversed}"),
    ("plain-iso", "dividing: {limits: [-200, 200]}\nrotary: {way: incremental}"),
    ("plain-iso", "dividing: {limits: [-200, 200]}\nrotary: {turn: feed}"),
    ("plain-iso", "dividing: {limits: [-200, 200]}\nrotary: {turn: inverse-time}"),
    ("with-cycles", "dividing: {limits: [-1, 360]}\nretract: {park: {y: 100}}"),
    ("upright-rotary-horizontal-cutter", "dividing: {limits: [-359, 3]}"),
    ("plain-iso", "dividing: {limits: [-200, 200]}\nprogram: {largest: 3000}"),
    ("plain-iso", "dividing: {limits: [-200, 200]}\nrotary: {unwind: false}"),
]


@pytest.mark.parametrize(("base", "words"), ON)
def test_limits_are_kept_and_every_space_is_where_it_was_meant(base: str, words: str) -> None:
    made = written("seconds-pinion", base, words, sections=(0,))
    assert made.failed() == {}
    head = made.machine.dividing
    assert head is not None
    least, most = head.limits  # type: ignore[union-attr, misc]
    sign = -1 if head.sense == "reversed" else 1  # type: ignore[union-attr]
    free = written("seconds-pinion", base, re.sub(r"limits: \[[^]]*\],? ?", "", words),
                   sections=(0,))
    places = []
    for one in (made, free):
        angles = [float(angle) for program in one.read() for angle, kind in zip(
            program.motion.angle_end, program.motion.kind, strict=True) if kind == Kind.LINE]
        places.append(sorted({round(angle % 360.0, 2) % 360.0 for angle in angles}))
    assert places[0] == places[1]
    for program in made.read():
        assert (program.motion.angle_end * sign >= least - 1e-6).all()
        assert (program.motion.angle_end * sign <= most + 1e-6).all()


def test_a_whole_pinion_is_proved_with_its_leaves() -> None:
    made = written("seconds-pinion", "plain-iso", "dividing: {limits: [-180, 181]}",
                   sections=(0,))
    assert made.every_failed() == []


@pytest.mark.parametrize("change", [
    lambda text: re.sub(r"A(\d+)\.", lambda m: f"A{int(m[1]) + 360}.", text),
    lambda text: text.replace("A-144.", "A-143."),
    lambda text: text.replace("A-144.", "A216."),
])
def test_a_turn_beyond_or_wrong_is_not_proved(change: object) -> None:
    made = written("seconds-pinion", "plain-iso", "dividing: {limits: [-180, 181]}", sections=(0,))
    assert made.failed() == {}
    assert any("A-" in line for line in made.lines())
    changed = change(made.texts[0])  # type: ignore[operator]
    if changed != made.texts[0]:
        assert made.failed(lambda _: changed)


@pytest.mark.parametrize(("base", "words", "said"), [
    ("plain-iso", "dividing: {limits: [0, 360]}",
     "within 360 degrees not every angle can be come to from the same side past 1 degrees of "
     "take-up"),
    ("plain-iso", "dividing: {limits: [10, 400]}",
     "the head begins at 0, which lies beyond its limits"),
    ("plain-iso", "dividing: {limits: [360, -360]}",
     "the head begins at 0, which lies beyond its limits"),
    ("shortest-way-rotary", "dividing: {limits: [-360, 360]}",
     "a control that counts from 0 to 360 turns on and on: nothing ends it"),
])
def test_limits_that_contradict_other_words_are_found_when_the_file_is_read(
        base: str, words: str, said: str) -> None:
    with pytest.raises(Refused) as no:
        machine_with(base, words)
    assert [str(fault.message) for fault in no.value.faults] == [said]


def test_show_tells_the_limits() -> None:
    said = " ".join(in_sentences(machine_with("plain-iso", "dividing: {limits: [-360, 360]}")))
    assert "it turns from -360° to 360°, and is turned back by whole turns before" in said
