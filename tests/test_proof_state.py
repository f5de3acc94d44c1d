"""What a control holds and what happens at stops: planted faults found, harmless spellings not."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path

import pytest
from planting.faults import Lines
from planting.harness import Made, made
from sampling import sampled

from camgen.faults import Refused
from camgen.reader import read_program

TOP = Path(__file__).resolve().parent.parent
POSTS = sorted(path.stem for path in (TOP / "postprocessors").glob("*.yaml"))
FEW = [
    ("ratchet-wheel", "plain-iso"), ("ratchet-wheel", "with-cycles"),
    ("wheel-by-hand", "hand-dividing"), ("seconds-pinion", "numbers-without-point"),
    ("seconds-pinion", "small-memory"), ("ratchet-wheel", "one-program-per-cutter"),
    ("ratchet-wheel", "signed-rotary-inverse-time"), ("ratchet-wheel", "shortest-way-rotary"),
    ("ratchet-wheel", "upright-rotary-horizontal-cutter"),
]


@lru_cache(maxsize=16)
def programs(job: str, post: str) -> tuple[Made, ...]:
    return tuple(made(TOP / "jobs" / f"{job}.yaml", post))


def failing(one: Made, number: int, lines: Lines) -> str | None:
    """The proof that finds what was changed in one of a setup's programs."""
    text = "\r\n".join(lines) + "\r\n"
    try:
        read = read_program(text, one.machine, one.read[number].name)
    except Refused as no:
        return str(no)
    return one.first_failing([*one.read[:number], read, *one.read[number + 1 :]])


def test_unharmed_programs_raise_no_alarm() -> None:
    for job, post in FEW:
        assert [one.first_failing(one.read) for one in programs(job, post)] == [
            None for _ in programs(job, post)]


def turned_about(line: str) -> str:
    """A block's words in another order, where the order is free."""
    words = line.split(" ")
    free = all(re.fullmatch(r"[GMSTXYZFIJKABC][-+.\d]+", word) for word in words)
    return " ".join(reversed(words)) if free and not line.startswith(("M98", "O")) else line


HARMLESS: dict[str, Callable[[Lines], Lines]] = {
    "line numbers": lambda lines: [
        f"N{10 * n} {line}" if line[:1].isalpha() and line[0] not in "NO" else line
        for n, line in enumerate(lines)],
    "more blanks": lambda lines: [
        line if line[:1] in "(;%" else re.sub(r"([A-Z])(?=[-+.\d])", r"  \1 ", line)
        for line in lines],
    "no blanks": lambda lines: [line if line[:1] in "(;%" else line.replace(" ", "")
                                for line in lines],
    "small letters": lambda lines: [line if line[:1] in "(;%" else line.lower()
                                    for line in lines],
    "words in another order": lambda lines: [
        line if line[:1] in "(;%" else turned_about(line) for line in lines],
    "leading zeros": lambda lines: [
        line if line[:1] in "(;%" else re.sub(r"\b([GM])(\d)(?![\d.])", r"\g<1>0\2", line)
        for line in lines],
    "a comment that names a word": lambda lines: [
        *lines[:3], "(NOTE G55 M3 G64)", *lines[3:]],
    "said again": lambda lines: [
        part for line in lines
        for part in ((line, line) if re.fullmatch(r"G5[4-9]|G17.*G9[04].*|M5|M9", line)
                     else (line,))],
}


@pytest.mark.parametrize("way", sampled(list(HARMLESS), 8))
def test_what_is_only_spelt_otherwise_raises_no_alarm(way: str) -> None:
    changed = 0
    for job, post in FEW:
        if way == "a comment that names a word" and post == "small-memory":
            continue  # That control reads no comments.
        for one in programs(job, post):
            if way == "line numbers" and one.machine.blocks.number:
                continue
            for number, text in enumerate(one.texts):
                lines = HARMLESS[way](text.splitlines())
                changed += lines != text.splitlines()
                assert failing(one, number, lines) is None, (one.name, way)
    assert changed > 3


def test_a_zero_in_a_comment_is_none_and_one_spelt_with_a_blank_is_one() -> None:
    (one, *_) = programs("ratchet-wheel", "plain-iso")
    lines = one.texts[0].splitlines()
    at = lines.index("G54")
    assert failing(one, 0, [*lines[:at], "G 54", *lines[at + 1 :]]) is None
    assert failing(one, 0, [*lines[:at], "(G54)", *lines[at + 1 :]]) == "motion.work-offset"


def test_a_word_that_the_machine_file_wants_at_the_start_is_no_fault() -> None:
    """Exact stops may be how a workshop runs: then every program must say so, and may."""
    from camgen.post.writer import write_programs
    from camgen.proof import gather, prove_motion

    (one, *_) = programs("ratchet-wheel", "plain-iso")
    program = one.machine.program.model_copy(update={
        "safe_words": (*one.machine.program.safe_words, "G61")})
    machine = one.machine.model_copy(update={"program": program})
    (written,) = write_programs(one.planned.moves, machine, stem="x")
    text = written.text.decode()

    def answers(text: str) -> list[str]:
        read = read_program(text, machine, "x.nc")
        evidence = gather("x", one.job, machine, one.planned.layout, one.planned.moves, [read],
                          planned_cuts=one.planned.cuts)
        return [str(proof.id) for proof in prove_motion(evidence) if not proof.holds]

    assert answers(text) == []
    assert answers(text.replace(" G61", "")) == ["motion.start-words"]
    assert answers(text.replace("M30", "G64\r\nM30")) == ["motion.words-otherwise"]
