"""What is to be brought to or measured is said in a unit that cannot be mistaken."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from itertools import product
from pathlib import Path

import pytest
from planting.harness import Made, made
from sampling import sampled

from camgen.make.told.sheet_texts import _counted_in
from camgen.messages import Message
from camgen.moves import Pause
from camgen.post.writer import write_programs
from camgen.proof import gather, prove_motion
from camgen.reader import read_program
from camgen.shop.machine import Machine
from camgen.words import program_words, words

JOBS = Path(__file__).resolve().parent.parent / "jobs"


@lru_cache(maxsize=4)
def leaves(post: str) -> Made:
    """The leaves of the pinion; a tooth is measured after some of them."""
    return list(made(JOBS / "seconds-pinion.yaml", post))[-1]


def written(one: Made, machine: Machine, language: str = "en") -> str:
    (program,) = write_programs(one.planned.moves, machine, stem="x",
                                spoken=program_words(language))
    return program.text.decode("ascii")


def amiss(one: Made, machine: Machine, text: str) -> list[str]:
    done = read_program(text, machine, "x.nc", infeed=one.planned.moves.retract_axis)
    evidence = gather("x", one.job, machine, one.planned.layout, one.planned.moves, [done],
                      planned_cuts=one.planned.cuts)
    return [f"{proof.id}: {proof.where}" for proof in prove_motion(evidence) if not proof.holds]


def brought(machine: Machine, place: tuple[float, float, float], **axes: str) -> Machine:
    """A machine without work offsets, its first cutter brought by hand."""
    offsets = machine.offsets.model_copy(update={"work": None, "stands_at": place})
    return machine.model_copy(update={"offsets": offsets, **{
        name: machine.axis(name.upper()).model_copy(update={"sense": sense})
        for name, sense in axes.items()}})


# An inch is 25.4 mm: the international inch of 1959.
@pytest.mark.parametrize(("post", "sense", "place"), sampled([
    ("plain-iso", "iso", "X10 Y-20 Z30"), ("plain-iso", "reversed", "X-10 Y-20 Z30"),
    ("plain-iso-inch", "iso", "X0.3937 Y-0.7874 Z1.1811 INCH"),
    ("plain-iso-inch", "reversed", "X-0.3937 Y-0.7874 Z1.1811 INCH"),
], 2))
def test_the_first_cutter_is_brought_to_the_programs_own_numbers(
    post: str, sense: str, place: str
) -> None:
    one = leaves(post)
    machine = brought(one.machine, (10.0, -20.0, 30.0), x=sense)
    text = written(one, machine)
    assert f"BRING CUTTER TO {place})" in text
    assert f"G92 {place.removesuffix(' INCH')}".split(" ")[1].rstrip(".") in text
    told = dict(zip("XYZ", (float(word[1:]) for word in place.split()[:3]), strict=True))
    (said,) = [line.split() for line in text.splitlines() if line.startswith("G92")]
    assert {word[0]: float(word[1:]) for word in said[1:]} == told
    assert amiss(one, machine, text) == []
    for other in ("X10 Y-20 Z30", "X0.3937 Y-0.7874 Z1.1811", "X0.3937 Y-0.7874 Z1.1811 MM"):
        if other != place:
            wrong = amiss(one, machine, text.replace(f"TO {place})", f"TO {other})"))
            assert [at for at in wrong if at.startswith("motion.messages")], other


@pytest.mark.parametrize("post", ["plain-iso-inch", "plain-iso"])
@pytest.mark.parametrize("language", ["en", "de", "fr"])
def test_a_program_says_the_unit_of_what_is_measured(language: str, post: str) -> None:
    one = leaves(post)
    text = written(one, one.machine, language)
    (line,) = [line for line in text.splitlines() if ".147" in line]
    assert "0.147 MM" in line
    assert " MM " in line.split("0.147 MM")[1]
    assert amiss(one, one.machine, text) == []
    wrong = amiss(one, one.machine, text.replace(line, line.replace(" MM", "")))
    assert [at for at in wrong if at.startswith("motion.messages")]


def test_a_plan_that_says_no_unit_is_found_in_a_program_in_inches() -> None:
    one, bare = leaves("plain-iso-inch"), Message("measure a tooth: 0.147 thick")
    planned = one.planned
    moves = replace(planned.moves, sections=tuple(
        replace(section, moves=tuple(
            replace(move, message=bare) if isinstance(move, Pause) else move
            for move in section.moves)) for section in planned.moves.sections))
    mixed = Made(**{**vars(one), "planned": replace(planned, moves=moves)})
    metric = leaves("plain-iso").machine
    wrong = amiss(mixed, one.machine, written(mixed, one.machine))
    assert any("no unit is said" in at for at in wrong)
    assert amiss(mixed, metric, written(mixed, metric)) == []


@pytest.mark.parametrize("language", ["en", "de", "fr"])
def test_the_sheet_says_what_the_programs_count_in_and_where_the_cutter_is_brought(
    language: str
) -> None:
    say = words(language)
    for post, inch in (("plain-iso", False), ("plain-iso-inch", True)):
        machine = leaves(post).machine
        assert len(list(_counted_in(machine))) == inch
        *_, at = map(say.say, _counted_in(brought(machine, (10.0, -20.0, 30.0))))
        assert "X 10 Y -20 Z 30" in at
        assert ("X0.3937 Y-0.7874 Z1.1811" if inch else "X10 Y-20 Z30") in at


@pytest.mark.parametrize(("language", "brought_there"), sampled(
    product(["en", "de", "fr"], [False, True]), 4))
def test_all_that_is_to_be_done_at_a_stop_has_the_word_that_shows_it(
    language: str, brought_there: bool
) -> None:
    one = leaves("plain-iso")
    machine = brought(one.machine, (0.0, 0.0, 30.0)) if brought_there else one.machine
    machine = machine.model_copy(update={
        "comments": machine.comments.model_copy(update={"message": "MSG"}),
        "spindle_words": machine.spindle_words.model_copy(update={"by_program": False})})
    text = written(one, machine, language).replace("\r", "")
    assert amiss(one, machine, text) == []
    lines = text.splitlines()
    before_stops = [n - 1 for n, line in enumerate(lines) if line == "M0"]
    assert len(before_stops) > 4
    for at in before_stops:
        # A long message goes on in the next line.
        at -= not lines[at].startswith("(MSG ")
        assert lines[at].startswith("(MSG ")
        without = [*lines[:at], lines[at].replace("MSG ", ""), *lines[at + 1:]]
        assert any(found.startswith("motion.messages")
                   for found in amiss(one, machine, "\n".join(without) + "\n")), lines[at]


@lru_cache(maxsize=1)
def blanks_in_parts() -> tuple[Made, Machine, tuple[str, ...]]:
    """Blanks in a program for each cutter, where every first cutter is brought to a place."""
    one = next(iter(made(JOBS / "wheel-by-hand.yaml", "hand-dividing")))
    machine = brought(one.machine, (1.0, 2.0, 10.0))
    machine = machine.model_copy(update={
        "change": machine.change.model_copy(update={"way": "one-program-each"})})
    return one, machine, tuple(program.text.decode("ascii") for program in write_programs(
        one.planned.moves, machine, stem="x"))


def parts_amiss(texts: tuple[str, ...]) -> list[str]:
    one, machine, _ = blanks_in_parts()
    done = [read_program(text, machine, f"x-{number}.nc") for number, text in enumerate(texts, 1)]
    evidence = gather("x", one.job, machine, one.planned.layout, one.planned.moves, done,
                      planned_cuts=one.planned.cuts)
    return [str(proof.id) for proof in prove_motion(evidence) if not proof.holds]


def test_every_part_may_begin_where_its_cutter_was_brought_to() -> None:
    texts = blanks_in_parts()[2]
    assert len(texts) > 2
    assert parts_amiss(texts) == []


@pytest.mark.parametrize("part", [1, 2])
@pytest.mark.parametrize(("said", "other"), [
    ("G92 X1. Y2. Z10.", "G92 X2. Y2. Z10."), ("G92 X1. Y2. Z10.", "G92 X1. Y1. Z10."),
    ("G92 X1. Y2. Z10.", "G92 X1. Y2. Z9."), ("TO X1 Y2 Z10", "TO X1 Y2 Z11"),
    ("TO X1 Y2 Z10", "TO X2 Y2 Z10")])
def test_a_part_that_begins_elsewhere_than_it_says_is_found(
        part: int, said: str, other: str) -> None:
    texts = list(blanks_in_parts()[2])
    assert said in texts[part]
    texts[part] = texts[part].replace(said, other)
    assert parts_amiss(tuple(texts)) != []
