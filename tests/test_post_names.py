"""What a job is called is no message to the operator, whatever it says."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from demos import proved_demo
from sampling import sampled
from workshop import BLANKS, WHEEL

from camgen.job.reading import parse_job
from camgen.make.chain import Proved
from camgen.make.variants import Wish
from camgen.plan import plan_job
from camgen.post.writer import write_programs
from camgen.reader import read_program
from camgen.reader.dialect import is_a_name
from camgen.shop.machine import CutterChange, Machine, SpindleWords
from camgen.shop.machines import find_machine
from camgen.steps import step_words
from camgen.words import program_words

NAMES = [
    "FIT CUTTER 9 DRILL D0.8", "WERKZEUG 9 EINSETZEN: X", "MONTER L'OUTIL 9 X", "STOP SPINDLE",
    "START SPINDLE CLOCKWISE AT 300 REV/MIN", "SPACE 7 AT 90 DEG 3 TURNS", "All 78 proofs hold",
    'a" FIT CUTTER 9 X "b', "a name that goes on in a second line FIT CUTTER 9 D0.8",
]
TOLD = Machine(name="told", describes="told", change=CutterChange(word=None),
               spindle_words=SpindleWords(by_program=False))


@pytest.mark.parametrize("name", sampled(NAMES, 2))
@pytest.mark.parametrize("machine", [TOLD, find_machine("hand-dividing")])
def test_a_name_of_a_job_is_quoted_and_tells_the_reader_nothing(
    name: str, machine: Machine
) -> None:
    def read(called: str) -> tuple[list[str], object]:
        text = WHEEL.replace("third wheel", repr(called)) + BLANKS % "true" + (
            "      - spot: {cutter: spot}\n      - drill: {cutter: drill}\n")
        job = parse_job(text, Path("wheel.yaml"), step_words())
        moves = plan_job(job, machine).setups[0].moves
        (program,) = write_programs(moves, machine, stem="x")
        return program.text.decode().splitlines(), read_program(program.text, machine, "x.nc")

    lines, found = read(name)
    _, plain = read("third wheel")
    assert [line for line in lines if line.startswith('(JOB "')]
    assert all(is_a_name(line[1:-1]) for line in lines if "9 " in line and line[0] == "(")
    assert np.array_equal(found.motion.cutter, plain.motion.cutter)
    assert np.array_equal(found.motion.speed, plain.motion.speed, equal_nan=True)
    kinds = [[one.kind for one in program.events if one.kind != "comment"]
             for program in (found, plain)]
    assert kinds[0] == kinds[1]


@pytest.fixture(scope="module", params=sampled(["de", "fr"], 2))
def spoken(request: pytest.FixtureRequest) -> Proved:
    return proved_demo("wheel-by-hand", Wish(language=request.param))


def test_the_usual_messages_are_said_in_the_operators_language(spoken: Proved) -> None:
    assert not spoken.failed
    for setup in spoken.setups:
        for program in setup.programs:
            text = program.text.decode()
            assert "FIT CUTTER" not in text
            assert "SPACE " not in text
            assert re.search(r"WERKZEUG \d EINSETZEN: |MONTER L'OUTIL \d ", text)


def test_a_message_of_the_owners_stays_as_it_is() -> None:
    own = Machine(name="own", describes="own", change=CutterChange(message="TOOL {cutter} {text}"))
    text = WHEEL + BLANKS % "true" + "      - spot: {cutter: spot}\n"
    moves = plan_job(parse_job(text, Path("wheel.yaml"), step_words()), own).setups[0].moves
    (program,) = write_programs(moves, own, stem="x", spoken=program_words("de"))
    assert b"(TOOL 1 " in program.text
