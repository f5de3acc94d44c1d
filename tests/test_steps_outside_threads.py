"""Threads milled round posts: moves, programs, proofs, what is measured, what is refused."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from workshop import DRIVEN, read

from camgen.faults import Fault, Refused
from camgen.job.checks.whole_job import job_faults
from camgen.moves import Arc
from camgen.plan import PlannedSetup, plan_job
from camgen.post.writer import write_programs
from camgen.proof import Proof, prove
from camgen.reader import read_program
from camgen.shop.machine import Machine
from camgen.shop.machines import find_machine

PLATE = """
job: case back
material: brass
made-elsewhere: [outline]
plate:
  thickness: 3.0
  outline: {circle: 24}
  pockets:
    well: {circle: 16, depth: 1.6}
  posts:
    tube: {circle: 5.95, thread: M6x0.5}
cutters:
  mill: {kind: end-mill, diameter: 2.0, flutes: 2, flute-length: 3, reach: 6}
  thread: {kind: thread-mill, diameter: 2.4, pitch: 0.5, flutes: 3, flute-length: 0.5, shank: 1.4,
           reach: 6}
setups:
  - name: top
    stock: {sheet: [30, 30], thickness: 3.0}
    holding: {by: wax on a carrier, carrier: brass, carrier-thickness: 5, cut-into: 1.0,
              holds-slugs: true}
    steps:
      - pocket: {cutter: mill}
      - outside-thread: {cutter: thread}
"""


def planned(text: str = PLATE, machine: Machine = DRIVEN) -> PlannedSetup:
    return plan_job(read(text), machine).setups[-1]


def proofs(
    text: str = PLATE, machine: Machine = DRIVEN,
    harm: Callable[[str], str] = lambda program: program,
) -> list[Proof]:
    job_file = read(text)
    one = plan_job(job_file, machine).setups[-1]
    done = [read_program(harm(each.text.decode("ascii")), machine, "plate.nc")
            for each in write_programs(one.moves, machine, stem="plate")]
    return list(prove(job_file, one, machine, done))


def failing(**more: object) -> dict[str, str]:
    return {str(proof.id): f"{proof.figure} {proof.limit} {proof.where}"
            for proof in proofs(**more) if not proof.holds}  # type: ignore[arg-type]


def helix(planned: PlannedSetup) -> list[Arc]:
    """The arcs that rise or fall, of the last section."""
    return [one for one in planned.moves.sections[-1].moves
            if isinstance(one, Arc) and one.z is not None]


def test_a_thread_round_a_post_is_made_and_proved() -> None:
    assert job_faults(read(PLATE), DRIVEN) == []
    found = proofs()
    assert [str(proof.id) for proof in found if not proof.holds] == []
    assert {"flat.outside-thread: tube", "flat.outside-thread-pitch: tube",
            "flat.outside-thread-length: tube"} <= {str(proof.id) for proof in found}


def test_the_root_is_that_of_the_middle_of_its_limits() -> None:
    """M6x0.5 class 6g reckoned by hand from the formulas of ISO 965-1 and ISO 68-1 (from memory):
    d2 = 6 - 0.3248, es = -20.5 µm, Td2 = 81.6 µm; a flat of P/8 goes 0.3248 mm below d2 in all."""
    one = planned()
    radius = [math.hypot(arc.x or 0.0, arc.y or 0.0) for arc in helix(one)]
    middle = 6 - 0.649519 * 0.5 - 0.0205 - 0.0816 / 2
    assert radius == pytest.approx([(middle - 0.6495 * 0.5 + 2.4) / 2] * 8, abs=2e-4)
    # Over wires of P / (2 cos 30°): d2 + 3 w - 0.866025 P.
    (said,) = [str(one) for one in one.remarks if "over wires" in str(one)]
    least, most = (middle + end + 3 * 0.289 - 0.866025 * 0.5 for end in (-0.0408, 0.0408))
    assert f"measures {least:.3f} to {most:.3f}" in said


LEFT = PLATE.replace("M6x0.5}", "M6x0.5-LH}")
UP = PLATE.replace("cutter: thread}", "cutter: thread, milling: conventional}")
LEFT_UP = LEFT.replace("cutter: thread}", "cutter: thread, milling: conventional}")


@pytest.mark.parametrize(("text", "clockwise", "rises"), [
    (PLATE, True, False), (UP, False, True), (LEFT, True, True), (LEFT_UP, False, False)])
def test_hand_and_milling_say_which_way_it_goes(text: str, clockwise: bool, rises: bool) -> None:
    arcs = helix(planned(text))
    assert {arc.clockwise for arc in arcs} == {clockwise}
    heights = [arc.z or 0.0 for arc in arcs]
    assert heights == sorted(heights, reverse=not rises)
    assert failing(text=text) == {}


FULL = PLATE.replace("flute-length: 0.5", "flute-length: 2")


def test_a_mill_with_rows_as_long_as_the_thread_goes_round_once() -> None:
    one = planned(FULL)
    assert len(helix(one)) == 2
    assert failing(text=FULL) == {}


def instead(*pairs: tuple[str, str], text: str = PLATE) -> str:
    """The job with other words."""
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    return text


CASE = instead(("circle: 24", "circle: 44"), ("circle: 16", "circle: 38"), ("pitch: 0.5",
               "pitch: 0.35"), ("circle: 5.95, thread: M6x0.5", "circle: 27.95, thread: M28x0.35"),
               ("[30, 30]", "[50, 50]"))
UNDER = instead(("circle: 16", "circle: 16, face: under"), ("M6x0.5}", "M6x0.5, face: under}"),
                ("- name: top\n", "- name: top\n    face: under\n    turned-over: about X\n"))
SEVERAL = instead(("    steps:", "    repeat: {columns: 2, rows: 1, pitch: [26, 26]}\n    steps:"),
                  ("[30, 30]", "[60, 30]"))
LOWERED = instead(("M6x0.5}", "M6x0.5, lowered: 0.3, thread-length: 0.7}"))
TWO = instead(
    ("thread: M6x0.5}", "thread: M6x0.5, at: [-4, 0]}\n"
     "    other: {circle: 3.97, thread: M4x0.5-LH, at: [4.5, 0]}"),
    ("diameter: 2.4", "diameter: 1.8"), ("shank: 1.4,\n           reach: 6", "shank: 1, reach: 3"),
    ("circle: 16", "circle: 20"), ("circle: 24", "circle: 28"), ("[30, 30]", "[34, 34]"),
    ("diameter: 2.0", "diameter: 1.5"))
CORRECTED = PLATE.replace("cutter: thread}", "cutter: thread, correction: -0.02}")


@pytest.mark.parametrize("text", [CASE, UNDER, SEVERAL, LOWERED, TWO, CORRECTED],
                         ids=["case", "under", "several", "lowered", "two", "corrected"])
def test_it_proves_whatever_it_stands_on(text: str) -> None:
    assert job_faults(read(text), DRIVEN) == []
    assert failing(text=text) == {}


@pytest.mark.parametrize("post", ["plain-iso-inch", "line-moves-only", "radius-arcs-in-quadrants",
                                  "small-memory"])
def test_it_proves_however_programs_are_spelt(post: str) -> None:
    assert failing(text=FULL, machine=find_machine(post)) == {}


def test_a_program_of_another_thread_is_found() -> None:
    """Each fault is planted by writing what another job asks for; the unharmed case is above."""
    def prove_as(meant: str, cut: str) -> set[str]:
        job_file, one = read(meant), planned(cut)
        own = planned(meant)
        done = [read_program(each.text.decode("ascii"), DRIVEN, "plate.nc")
                for each in write_programs(one.moves, DRIVEN, stem="plate")]
        found = prove(job_file, own, DRIVEN, done)
        return {str(proof.id) for proof in found
                if not proof.holds and "outside-thread" in str(proof.id)}
    root, pitch, short = (f"flat.outside-thread{word}: tube" for word in ("", "-pitch", "-length"))
    assert pitch in prove_as(PLATE, LEFT)
    assert pitch in prove_as(LEFT, UP)
    assert prove_as(PLATE, CORRECTED) == {root}
    assert prove_as(CORRECTED, PLATE) == {root}
    assert prove_as(PLATE, PLATE.replace("M6x0.5}", "M6x0.5, thread-length: 0.5}")) == {short}
    without = PLATE.replace("      - outside-thread: {cutter: thread}\n", "")
    assert prove_as(PLATE, without.replace("outline]", "outline, threads]")) == {root, pitch, short}


@pytest.mark.parametrize(("word", "other", "said"), [
    ("circle: 5.95", "circle: 6.1", "is none for M6x0.5"),
    ("circle: 5.95", "circle: 5.8", "is none for M6x0.5"),
    ("circle: 5.95", "rectangle: [6, 6]", "is not round"),
    ("M6x0.5}", "M6x0.55}", "M6x0.5"),
    ("M6x0.5}", "M6x0.5, thread-length: 1.2}", "thread-length: 1.05 at most"),
    ("thread: M6x0.5}", "thread-length: 1}", "no thread"),
    ("pitch: 0.5", "pitch: 0.35", "pitch"),
    ("pitch: 0.5", "pitch: 0.5, tip: 0.2", "flat of 0.2 mm"),
    ("well: {circle: 16", "well: {circle: 10.8", "or a wider pocket"),
    ("shank: 1.4", "shank: 3", "rubs on post tube"),
    ("reach: 6}\nsetups", "reach: 1.2}\nsetups", "holder"),
    ("cutter: thread}", "cutter: thread, posts: [stud]}", "no post called 'stud'"),
    ("cutter: thread}", "cutter: mill}", "thread-mill"),
    ("cutter: thread}", "cutter: thread}\n      - outside-thread: {cutter: thread}",
     "the second crosses the first"),
    ("      - outside-thread: {cutter: thread}\n", "", "no step makes the thread outside"),
    ("      - pocket: {cutter: mill}\n      - outside-thread: {cutter: thread}\n",
     "      - outside-thread: {cutter: thread}\n      - pocket: {cutter: mill}\n",
     "before well is cleared"),
    ("cutter: thread}", "cutter: thread, feed: 50}", "would change nothing"),
    ("cutter: thread}", "cutter: thread, correction: 0.3}", "correction"),
])
def test_what_cannot_be_is_told_in_words_of_the_job(word: str, other: str, said: str) -> None:
    assert word in PLATE
    text = PLATE.replace(word, other)
    with pytest.raises(Refused) as refused:
        raise Refused(job_faults(read(text), DRIVEN) or list(step_faults(text)))
    assert said in str(refused.value)


def step_faults(text: str) -> tuple[Fault, ...]:
    """What the steps say once the job itself is right."""
    try:
        planned(text)
    except Refused as no:
        return no.faults
    return ()
