"""Why a proof of motion fails, in every language: programs harmed in many ways, wholly said."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from message_templates import left_in_english
from planting.harness import made

from camgen.faults import Refused
from camgen.messages import Message
from camgen.proof import gather, prove_motion
from camgen.reader import read_program
from camgen.words import languages, words

JOBS = Path(__file__).resolve().parent.parent / "jobs"
SAID = ("G64", "M0", "(TURN IT BACK)", "G91", "M7", "M8", "S123 M3", "(NOTE ours)", "G4 P900",
        "G28 X0", "G0 X0 Y0", "/M1", "G81 X0 Y0 Z-1 R1 F10", "M6 T9", "G92 X1")
LEFT_OUT = ("M0", "G54", "G0 Z", "(SET ZERO")


def harmed(lines: list[str]) -> Iterator[list[str]]:
    """Programs with a word more at the start, in the midst and at the end, or with a line less."""
    for first, second, third in zip(SAID, (*SAID[5:], *SAID), (*SAID[9:], *SAID), strict=False):
        middle = len(lines) // 2
        yield [*lines[:6], first, *lines[6:middle], second, *lines[middle:-2], third, *lines[-2:]]
    for word in LEFT_OUT:
        at = next((at for at, line in enumerate(lines) if word in line), None)
        if at is not None:
            yield [*lines[:at], *lines[at + 1:]]


def why() -> Iterator[tuple[str, Message]]:
    """What the proofs of motion tell of a setup's program, harmed."""
    one = made(JOBS / "ratchet-wheel.yaml", "plain-iso")[0]
    for lines in harmed(one.texts[0].splitlines()):
        try:
            read = read_program("\r\n".join(lines) + "\r\n", one.machine, one.read[0].name)
        except Refused:
            continue
        evidence = gather(one.planned.name, one.job, one.machine, one.planned.layout,
                          one.planned.moves, [read, *one.read[1:]], planned_cuts=one.planned.cuts)
        vars(evidence)["planned"] = one.laid_out
        yield from ((proof.id.word, proof.where) for proof in prove_motion(evidence)
                    if not proof.holds and proof.where)


def test_why_a_proof_of_motion_fails_is_said_wholly_with_the_same_figures() -> None:
    found = set(why())
    assert {word for word, _ in found} >= {
        "drawn-back-first", "messages", "moves", "put-back", "spindle-still", "stops-unplanned",
        "text-reads", "words-otherwise"}
    for part in ("not said: SET ZERO", "something moves, and", "moves X and Y, and"):
        assert any(part in where for _, where in found), part
    for say in (words(language) for language in languages() if language != "en"):
        for _, where in found:
            assert left_in_english(say, where) == [], where
            assert sorted(re.findall(r"\d+", say.say(where))) == sorted(re.findall(r"\d+", where))
