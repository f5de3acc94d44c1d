"""Comments of a program are its own, each where it is true; whatever else is said is found."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from itertools import product
from pathlib import Path
from types import SimpleNamespace

import pytest
from planting.harness import Made, made
from sampling import sampled

from camgen.messages import Message
from camgen.post.writer import write_programs
from camgen.proof import gather, prove_motion
from camgen.proof.motion.operator.comments import _Body
from camgen.reader import read_program
from camgen.reader.motion import Event, ReadProgram
from camgen.shop.machine import Insertions
from camgen.shop.machine.texts import INSERT_NAMES
from camgen.words import program_words

TOP = Path(__file__).resolve().parent.parent
HEADER = ("CAMGEN 0.1.0 JOB 0123456789AB", "TABLES 111111111111 MACHINE 222222222222",
          Message("MATERIAL {name}", name="BRASS-LEADED"),
          Message("STANDING NOT PROVEN AT THE MACHINE YET"))


@lru_cache(maxsize=8)
def by_name(job: str, post: str) -> dict[str, Made]:
    return {one.planned.name: one for one in made(TOP / "jobs" / f"{job}.yaml", post)}


def texts(one: Made, language: str = "en") -> list[list[str]]:
    """The programs of a setup with their heading, as lines."""
    return [program.text.decode("ascii").splitlines() for program in write_programs(
        one.planned.moves, one.machine, stem="x", header=HEADER,
        spoken=program_words(language))]


def amiss(one: Made, programs: list[list[str]]) -> list[str]:
    """What the proof of messages says of programs, and any other that fails."""
    read: list[ReadProgram] = [
        read_program("\n".join(lines) + "\n", one.machine, f"x-{number}.nc",
                     infeed=one.planned.moves.retract_axis)
        for number, lines in enumerate(programs, 1)]
    evidence = gather("x", one.job, one.machine, one.planned.layout, one.planned.moves, read,
                      planned_cuts=one.planned.cuts, header=HEADER)
    return [f"{proof.id}: {proof.where}" for proof in prove_motion(evidence) if not proof.holds]


WHEEL = ("wheel-by-hand", "hand-dividing", "teeth")
BLANKS = ("wheel-by-hand", "one-program-per-cutter", "blanks")
TURNED = ("seconds-pinion", "signed-rotary-inverse-time", "leaves")
PLATE = ("wheel-by-hand", "plain-iso", "blanks")


@pytest.mark.parametrize(("which", "language"), sampled(product(
    [WHEEL, BLANKS, TURNED, PLATE], ["en", "de", "fr"]), 4))
def test_a_program_as_written_says_nothing_but_its_own(
    which: tuple[str, str, str], language: str
) -> None:
    one = by_name(*which[:2])[which[2]]
    assert amiss(one, texts(one, language)) == []


def places(lines: list[str]) -> dict[str, int]:
    """Where something may be added, by what stands there."""
    stop = next(n for n, line in enumerate(lines) if line.startswith("M0"))
    cut = [n for n, line in enumerate(lines) if line.startswith("G1 ")]
    return {"before a stop": stop, "behind a stop": stop + 1, "before a cut": cut[0],
            "within the work": cut[len(cut) // 2], "at the end": len(lines) - 2}


ORDERS = (
    "FIT CUTTER 9 END MILL D3", "SET ZERO OF X FOR THIS CUTTER",
    "DO NOT SET ZERO OF Z FOR THIS CUTTER", "THEN 1 TURN MORE", "BACK TO SPACE 3 AT ONCE",
    "SPINDLE MAY BE LEFT RUNNING HERE", "CUTTER IS CLEAR, REACH IN", "MEASURE A TOOTH",
    "STEP 9 REAM", "ALLES WEITER", "PART 7, AFTER PART 3", 'JOB "ANOTHER"',
)


@pytest.mark.parametrize(("which", "order"), sampled(product([WHEEL, PLATE], ORDERS), 24))
def test_an_order_beyond_those_planned_is_found_wherever_it_stands(
    which: tuple[str, str, str], order: str
) -> None:
    one = by_name(*which[:2])[which[2]]
    (lines,) = texts(one)
    for where, at in places(lines).items():
        added = f"({order})"
        found = amiss(one, [[*lines[:at], added, *lines[at:]]])
        assert any(answer.startswith("motion.") for answer in found), where
        behind = amiss(one, [[*lines[:at - 1], f"{lines[at - 1]} {added}", *lines[at:]]])
        if not lines[at - 1].startswith("("):
            assert any(answer.startswith("motion.") for answer in behind), where


@pytest.mark.parametrize("which", sampled([WHEEL, TURNED, PLATE], 2, single=True))
def test_a_message_said_twice_or_at_another_place_is_found(which: tuple[str, str, str]) -> None:
    one = by_name(*which[:2])[which[2]]
    (lines,) = texts(one)
    first = next(n for n, line in enumerate(lines) if line[:1] != "(" and n > 3)
    told = [n for n, line in enumerate(lines) if line.startswith("(") and n > first]
    for at in {told[0], told[1], told[len(told) // 2], told[-1]}:
        assert amiss(one, [[*lines[:at], lines[at], *lines[at:]]]), lines[at]
        if at > told[1]:
            # Before the first block of the work: what is said there is not yet true.
            moved = [line for n, line in enumerate(lines) if n != at]
            assert amiss(one, [[*moved[:first], lines[at], *moved[first:]]]), lines[at]


@pytest.mark.parametrize(("was", "lie"), sampled([
    ("BRASS-LEADED", "TOOL-STEEL"), ("NOT PROVEN AT THE MACHINE YET", "PROVEN AT THE MACHINE"),
    ("FIRST RUN IN AIR WITH", "NO FIRST RUN IN AIR, NOT EVEN WITH"),
    ("0123456789AB", "0123456789AC"),
    ("222222222222", "222222222223"), ("BLANKS", "TEETH"), ("STEP 1 SPOT", "STEP 3 REAM"),
    ("AFTER PART 1", "AFTER PART 3"), ("(PART 2, AFTER PART 1)", ""),
], 2))
def test_a_heading_that_lies_is_found(was: str, lie: str) -> None:
    one = by_name(*BLANKS[:2])[BLANKS[2]]
    programs = texts(one)
    changed = [[line.replace(was, lie) for line in lines if line.replace(was, lie)]
               for lines in programs]
    assert changed != programs
    assert any(answer.startswith("motion.messages") for answer in amiss(one, changed))


def test_a_heading_of_an_earlier_version_is_true_and_one_may_be_left_out() -> None:
    one = by_name(*PLATE[:2])[PLATE[2]]
    (lines,) = texts(one)
    assert amiss(one, [[line.replace("CAMGEN 0.1.0", "CAMGEN 0.0.9") for line in lines]]) == []
    assert amiss(one, [[line for line in lines if "EYES" not in line]]) == []


def test_what_an_own_block_says_is_true_of_its_place() -> None:
    one = by_name(*TURNED[:2])[TURNED[2]]
    (lines,) = texts(one)
    told = [n for n, line in enumerate(lines) if line.startswith("(INDEX TO SPACE")]
    for at in (told[1], told[-1]):
        number = int(lines[at].strip("()").split()[-1])
        other = f"(INDEX TO SPACE {number + 1})"
        found = amiss(one, [[*lines[:at], other, *lines[at + 1:]]])
        assert any(answer.startswith("motion.messages") for answer in found), lines[at]


def test_a_note_begins_with_its_word_and_stands_where_the_cutter_moves() -> None:
    one = by_name(*PLATE[:2])[PLATE[2]]
    (lines,) = texts(one)
    at = places(lines)
    within = next(n for n in range(at["within the work"], len(lines))
                  if lines[n][0] == lines[n - 1][0] == "X")
    for note in ("(NOTE HOLD THE VACUUM HERE)", "(Notiz: Absaugung)"):
        assert amiss(one, [[*lines[:within], note, *lines[within:]]]) == []
        assert amiss(one, [[*lines[:2], note, *lines[2:]]]) == []
        for where in ("before a stop", "behind a stop"):
            found = amiss(one, [[*lines[:at[where]], note, *lines[at[where]:]]])
            assert any("may be taken for" in answer for answer in found)
    found = amiss(one, [[*lines[:within], "(HOLD THE VACUUM)", *lines[within:]]])
    assert any("a note of yours begins with NOTE" in answer and "HOLD THE VACUUM" in answer
               for answer in found)


@pytest.mark.parametrize("which", sampled([TURNED, BLANKS], 2, single=True))
def test_every_name_in_a_comment_of_an_own_block_is_true_wherever_it_stands(
    which: tuple[str, str, str]
) -> None:
    one = by_name(*which[:2])[which[2]]
    for name in INSERT_NAMES:
        own = Insertions(**dict.fromkeys(Insertions.model_fields, (f"(OWN {{{name}}} SAID)",)))
        other = replace(one, machine=one.machine.model_copy(update={"insert": own}))
        programs = texts(other)
        assert amiss(other, programs) == [], name
        said = [(number, place) for number, lines in enumerate(programs)
                for place, line in enumerate(lines) if line.startswith("(OWN ")]
        places = {said[0], said[-1]}
        lie = "7777" if name != "program" else "X AND THE SPINDLE STAYS ON"
        # The number of the part is left open: the heading says it.
        for number, place in places if name != "part" else ():
            changed = [list(lines) for lines in programs]
            changed[number][place] = f"(OWN {lie} SAID)"
            assert any(answer.startswith("motion.messages")
                       for answer in amiss(other, changed)), (name, changed[number][place])


@pytest.mark.long
@pytest.mark.parametrize("blank", sampled(["()", "(  )"], 2))
def test_an_empty_comment_behind_what_is_said_at_a_stop_is_found(blank: str) -> None:
    """A control that shows the last comment shows nothing then; elsewhere it does no harm."""
    one = by_name(*WHEEL[:2])[WHEEL[2]]
    (lines,) = texts(one)
    stops = [n for n, line in enumerate(lines) if line == "M0"]
    assert stops
    for at in stops:
        found = amiss(one, [[*lines[:at], blank, *lines[at:]]])
        assert found
        assert all(answer.startswith("motion.messages") for answer in found)
    begins = next(n for n, line in enumerate(lines) if line.startswith("G1"))
    assert amiss(one, [[*lines[:begins], blank, *lines[begins:]]]) == []


def test_notes_that_a_screen_may_still_show_at_a_stop_are_those_since_its_own_words() -> None:
    """Or, where those come behind it, those in the block of the last move."""
    early, block, own, late = (
        Event("comment", line, before, text) for line, before, text in (
            (3, 1, "NOTE A"), (5, 2, "NOTE B"), (6, 4, "MEASURE"), (7, 4, "NOTE C")))
    stop = Event("stop", 8, 4)
    body = SimpleNamespace(lines=[3, 4, 5, 5])
    for own_words, shown in (([own], [late, block]), ([], [late, block, early])):
        told = [early, block, *own_words, late, stop]
        notes = {id(early), id(block), id(late)}
        found = _Body._shown(body, told, len(told) - 1, notes)  # type: ignore[arg-type]
        assert list(found) == shown
