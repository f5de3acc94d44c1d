"""Own words around a turn of the head, such as those of a clamp of the workshop's own."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from motion_by_hand import evidence, flat, program
from planting.harness import made
from sampling import sampled

from camgen.post.writer import write_programs
from camgen.proof import gather, prove_motion
from camgen.proof.motion.clamp import _m_words
from camgen.reader import read_program

JOBS = Path(__file__).resolve().parent.parent / "jobs"


@pytest.mark.parametrize(("before", "after"), sampled([
    (("M61 (FREE AT SPACE {space})",), ("M60",)), (("M61", "M62"), ()), ((), ("M60",)),
    # Words that are known are held by proofs of their own.
    (("M9",), ("M60",)),
], 2))
def test_every_turn_has_the_workshops_own_words_before_and_behind(
    before: tuple[str, ...], after: tuple[str, ...]
) -> None:
    one = list(made(JOBS / "seconds-pinion.yaml", "plain-iso"))[-1]
    machine = one.machine.model_copy(update={"insert": one.machine.insert.model_copy(update={
        "before_index": before, "after_index": after})})
    (program,) = write_programs(one.planned.moves, machine, stem="x")
    text = program.text.decode("ascii").replace("\r", "")

    def failing(text: str) -> list[str]:
        read = read_program(text, machine, "x.nc", infeed=one.planned.moves.retract_axis)
        evidence = gather("x", one.job, machine, one.planned.layout, one.planned.moves, [read],
                          planned_cuts=one.planned.cuts)
        return [f"{proof.id} {proof.where}" for proof in prove_motion(evidence)
                if not proof.holds]

    assert failing(text) == []
    # The turn back at the end is one as any other.
    assert re.search("".join(f"{block.replace('{space}', '0')}\n" for block in before).replace(
        "(", r"\(").replace(")", r"\)") + r"(G0 )?A0\.\n" + "".join(
            f"{block}\n" for block in after) + "M30", text)
    for word in ("M61", "M62", "M60"):
        lines = [n for n, line in enumerate(text.splitlines()) if line.split()[:1] == [word]]
        assert bool(lines) == any(word in block for block in (*before, *after))
        # Nobody can tell a take-up with nothing before it from the turn that it belongs to.
        for at in {*(lines[:1] if "M61" in str(before) else ()), *lines[5:6], *lines[-1:]}:
            left = text.splitlines()
            del left[at]
            assert any(found.startswith("motion.own-words-at-turns")
                       for found in failing("\n".join(left) + "\n")), (word, at)


def test_own_words_are_those_of_which_only_their_owner_knows_what_they_do() -> None:
    """M0, M1, M48, M49, M98, M99 and what the machine file names are known to any control."""
    seen = evidence(flat(), program([]))
    blocks = ("M0", "M1 M48 M49", "M98 P7 M99", "M3 M4 M5 M8 M9 M2 M30 M6", "M21 (M23) M22")
    assert _m_words(seen, blocks) == {"M21", "M22"}
    assert _m_words(seen, ()) == frozenset()
