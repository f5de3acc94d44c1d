"""A head that one word turns by its own step: counted, read back by its pulses, proved."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from odd_machines import Written, machine_with, words_of, written
from second_control import Control, Start
from second_reader import run

from camgen.dividing import divide_by_pulses
from camgen.faults import Refused
from camgen.job.reading import read_job
from camgen.plan import plan_job
from camgen.post.machine_file.explain import in_sentences
from camgen.post.restart import dry_index
from camgen.post.writer import write_programs
from camgen.reader import read_program
from camgen.reader.motion import Kind
from camgen.shipped import shipped_folder
from camgen.steps import step_words

HEAD = "dividing: {pulses: 40, take-up: 0}\nrotary: {way: by-pulse, pulse: M21}"
ANSWERED = "dividing: {pulses: 20, take-up: 0}\nrotary: {way: by-pulse, pulse: M21, answered: M22}"
ON = [
    ("plain-iso", HEAD),
    ("plain-iso", ANSWERED),
    ("plain-iso", "dividing: {pulses: 10, take-up: 0, letter: C}\n"
                  "rotary: {way: by-pulse, pulse: M021, clamp: M10, unclamp: M11}"),
    ("plain-iso", HEAD + "\nprogram: {largest: 3000}"),
    ("plain-iso", HEAD + "\nsubprograms: {use: true}"),
    ("plain-iso", HEAD + "\nblocks: {number: true, checksum: xor}"),
    ("plain-iso", HEAD + "\ninsert: {before-index: [M61], after-index: [M62]}"),
    ("with-cycles", HEAD),
    ("numbers-without-point", HEAD),
    ("one-program-per-cutter", HEAD),
]


def _made(base: str, words: str, sections: tuple[int, ...] = (0, 1)) -> Written:
    return written("seconds-pinion", base, words, sections=sections, planned_with=words)


@pytest.mark.parametrize(("base", "words"), ON)
def test_every_leaf_is_where_a_head_told_angles_would_have_it(base: str, words: str) -> None:
    made = _made(base, words)
    assert made.failed() == {}
    assert made.every_failed() == []
    told = written("seconds-pinion", "plain-iso", sections=(0, 1))
    places = []
    for one in (made, told):
        places.append(sorted({
            round(float(angle) % 360.0, 3) % 360.0 for program in one.read()
            for angle, kind in zip(program.motion.angle_end, program.motion.kind, strict=True)
            if kind == Kind.LINE}))
    assert places[0] == places[1]
    for text in made.texts:
        # Once round and home again, whatever was cut: whole turns alone.
        steps = len(re.findall(r"^(?:N\d+ ?)?M0?21\b", text, re.MULTILINE))
        head = made.machine.dividing
        assert steps % head.pulses == 0  # type: ignore[union-attr, operator]
        assert not re.search(r"^[^(]*\b[AC]-?\d", text, re.MULTILINE)


@pytest.mark.parametrize("words", [HEAD, ANSWERED])
def test_a_second_reader_counts_the_same_turns_and_touches_nothing(words: str) -> None:
    made = _made("plain-iso", words, (0,))
    on = Control(words_of("plain-iso", words), 1, -1.0, made.moves.retract_to)
    trace = run(made.texts[0], on, Start())
    assert trace.touched == []
    turned = [round(dict(move[2])["A"], 6) for move in trace.moves if move[1] == "turn"]
    motion = made.read()[0].motion
    assert turned == [round(float(angle), 6) for angle in motion.angle_end[
        motion.kind == Kind.INDEX]]


def _line(text: str, word: str, number: int, into: str) -> str:
    lines = text.splitlines(keepends=True)
    at = [place for place, line in enumerate(lines) if line.strip() == word][number]
    lines[at] = into
    return "".join(lines)


@pytest.mark.parametrize("change", [
    lambda text: _line(text, "M21", 5, ""),
    lambda text: _line(text, "M21", 5, "M21\nM21\n"),
    lambda text: _line(text, "M21", -1, ""),
    lambda text: _line(text, "M21", 5, "A18.\n"),
    lambda text: _line(text, "M21", 5, "X1.623 M21\n"),
    lambda text: _line(text, "M22", 3, ""),
    lambda text: _line(text, "M22", 3, "M22\nM22\n"),
    lambda text: _line(text, "M22", -1, ""),
    lambda text: text.replace("M21\r\nM22\r\nM21\r\nM22\r\nX",
                              "M21\r\nM22\r\nM22\r\nM21\r\nX", 1),
])
def test_a_pulse_or_an_answer_too_many_or_too_few_is_found(change: Callable[[str], str]) -> None:
    made = _made("plain-iso", ANSWERED, (0,))
    assert made.failed() == {}
    assert change(made.texts[0]) != made.texts[0]
    assert made.failed(change) or any(
        finding.grave for program in made.read(change) for finding in program.findings)


def test_the_head_is_turned_dry_by_the_same_pulses() -> None:
    made = _made("plain-iso", HEAD, (0,))
    text = write_programs(dry_index(made.moves), made.machine, stem="dry")[0].text.decode("ascii")
    assert text.count("M21\r\n") == 40
    read = read_program(text, made.machine, "dry.nc")
    assert read.motion.angle_end.max() == 360.0


@pytest.mark.parametrize(("words", "said"), [
    ("rotary: {pulse: M21}",
     "a word that turns the head by a step, and rotary.way says that it is told otherwise"),
    ("rotary: {answered: M22}",
     "a word that waits for an answer, and the head is not turned by pulses"),
    ("dividing: {pulses: 24}",
     "steps of the head's own, and rotary.way says that it is told angles"),
    ("dividing: {pulses: 24, take-up: 0}\nrotary: {way: by-pulse}",
     "the word that turns the head by a step is not said"),
    ("dividing: {take-up: 0}\nrotary: {way: by-pulse, pulse: M21}",
     "how many of its steps make one turn is not said"),
    ("dividing: {pulses: 24}\nrotary: {way: by-pulse, pulse: M21}",
     "a head that turns by its own steps, one way, has nothing to take up"),
    (HEAD + "\ndividing: {pulses: 24, take-up: 0, limits: [-360, 360]}",
     "a head that turns by its own steps is told no angles"),
    (HEAD + "\ndividing: {pulses: 24, take-up: 0, sense: reversed}",
     "turning one way only, against ISO 841, every space would be reached the long way"),
    (HEAD.replace("M21", "M21, turn: feed"),
     "a head that turns by its own steps is told no feed"),
    (HEAD.replace("M21", "M8"), "M8 turns the head by a step here, and switches coolant or air "
                                "on elsewhere"),
    (HEAD + "\ninsert: {before-step: [M21]}",
     "M21 turns the head, and what is cut would no longer be counted from space 1"),
    ("dividing: null\nrotary: {way: by-pulse, pulse: M21}",
     "no head here is turned by the control"),
])
def test_what_contradicts_pulses_is_found_when_the_file_is_read(words: str, said: str) -> None:
    with pytest.raises(Refused) as no:
        machine_with("plain-iso", words)
    assert said in [str(fault.message) for fault in no.value.faults]


def test_a_head_that_is_not_turned_home_is_refused() -> None:
    with pytest.raises(Refused) as no:
        machine_with("plain-iso", HEAD.replace("M21", "M21, unwind: false"))
    assert "with way by-pulse unwind must be true" in str(no.value)


@pytest.mark.parametrize(("count", "pulses"), [(7, 24), (25, 24), (48, 24), (999, 3600)])
def test_spaces_that_are_no_whole_steps_are_refused_with_what_can_be_had(
        count: int, pulses: int) -> None:
    with pytest.raises(Refused) as no:
        divide_by_pulses(count, pulses)
    assert "no whole numbers of the head's steps" in str(no.value)
    assert all(pulses % int(n) == 0 for n in re.findall(
        r"\d+", str(no.value.faults[0].remedy)))
    assert divide_by_pulses(12, 24).worst_single_arcsec == 0.0


def test_a_job_whose_leaves_cannot_be_had_is_refused_by_its_words() -> None:
    machine = machine_with("plain-iso", HEAD.replace("40", "24"))
    job = read_job(shipped_folder("jobs") / "seconds-pinion.yaml", step_words())
    with pytest.raises(Refused) as no:
        plan_job(job, machine)
    assert "10 divisions are no whole numbers of the head's steps, 24 to a turn" in str(no.value)


@pytest.mark.parametrize("along", ["-X", "+X"])
def test_one_that_turns_the_other_way_is_set_up_the_other_way_round(along: str) -> None:
    """What the refusal advises is made and proved, every leaf at its angle."""
    stands = f"arrangement: {{along: {along}, infeed: +Y, across: Z}}"
    words = HEAD.replace("take-up: 0", f"take-up: 0, {stands}")
    with pytest.raises(Refused) as no:
        machine_with("plain-iso", words.replace("take-up: 0", "take-up: 0, sense: reversed"))
    [fault] = no.value.faults
    other = re.search(r"sense: iso and arrangement: along: ([-+]X)", str(fault.remedy))
    assert other is not None
    assert other[1] != along
    made = _made("plain-iso", words.replace(f"along: {along}", f"along: {other[1]}"), (0,))
    assert made.failed() == {}
    assert made.every_failed() == []


def test_show_tells_the_pulses() -> None:
    said = " ".join(in_sentences(machine_with("plain-iso", ANSWERED)))
    assert ("turned by M21, a step at each, 20 to a turn, always the same way, waited for by M22"
            in said)
    assert "until space 1 comes again" in said
