"""Where a cutter's end leaves less than its whole width: at floors, on seats, under the plate."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import product
from pathlib import Path

import pytest
from sampling import sampled
from workshop import DRIVEN, read

from camgen.faults import Fault, Refused
from camgen.job.checks.whole_job import job_faults
from camgen.make.chain import proved_job
from camgen.moves import Drill
from camgen.plan import PlannedSetup, plan_job
from camgen.post.writer import write_programs
from camgen.proof import gather
from camgen.proof.evidence import FlatEvidence
from camgen.proof.table.holes_found import prove_holes_found
from camgen.reader import read_program

PLATE = """
job: ends of holes
material: brass
made-elsewhere: [outline%(elsewhere)s]
plate:
  thickness: 3.0
  outline: {rectangle: [20, 14], corner: 2}
  %(holes)s
cutters:
  d12: {kind: drill, diameter: 1.2, flute-length: 8, reach: 10, material: hss}
  d19: {kind: drill, diameter: 1.94, flute-length: 8, reach: 10, material: hss}
  mill: {kind: end-mill, diameter: 1.0, flutes: 2, flute-length: 3, reach: 4}
  r20: {kind: reamer, diameter: 2.0, flutes: 4, flute-length: 8, reach: 12, material: hss}
  bar: {kind: boring-bar, diameter: 2.0, shank: 1.4, reach: 6}
  cb20: {kind: counterbore, diameter: 2.0, flutes: 3, flute-length: 8, reach: 10, material: hss}
setups:
  - name: first
    stock: {sheet: [28, 22], thickness: 3.0}
    holding: &wax {by: shellac on brass, carrier: brass, carrier-thickness: 6, cut-into: 2.5,
                   holds-slugs: true}
    steps:
      - drill: {cutter: d12, holes: [dowels]}
%(face)s"""
BLIND = "holes: {DOWELS, a: {diameter: 2.0, depth: 1.5, %sat: [[0, 0], [5, 2]]}}"
THROUGH = "holes: {DOWELS, a: {diameter: 2.0, %sat: [[0, 0], [5, 2]]}}"
SEAT = ("holes: {DOWELS}\n  jewels: {a: {diameter: 2.0, under: 0, depth: 1.0, through: 1.2, "
        "%sat: [[0, 0]]}}")
BORED = ("holes: {DOWELS, a: {diameter: 1.2, %sat: [[0, 0]], "
         "counterbore: {diameter: 2.0, depth: 1.0}}}")
BACK = """
  - name: back
    face: under
    turned-over: about Y
    stock: {left-by: first, thickness: 3.0}
    zero: {dowel: dowels-1}
    holding: *wax
    steps:
"""
FACES = {"upper": ("", ""), "under": ("face: under, ", BACK)}
DOWELS = "dowels: {diameter: 1.2, at: [[-8, -5], [8, -5]]}"


def text(holes: str, *steps: str, face: str = "upper", elsewhere: str = "") -> str:
    words, setup = FACES[face]
    return PLATE % {
        "holes": (holes % words).replace("DOWELS", DOWELS), "face": setup, "elsewhere": elsewhere,
    } + "".join(f"      - {step}\n" for step in steps)


def answers(job: str) -> tuple[Fault, ...]:
    file = read(job)
    found = job_faults(file, DRIVEN)
    if found:
        return tuple(found)
    try:
        plan_job(file, DRIVEN)
    except Refused as no:
        return no.faults
    return ()


def planned(job: str) -> PlannedSetup:
    return plan_job(read(job), DRIVEN).setups[-1]


def proved(job: str, folder: Path) -> bool:
    file = folder / "ends.yaml"
    file.write_text(job, encoding="utf-8")
    return not proved_job(file).failed


REAM = "ream: {cutter: r20, holes: [%s]%s}"


@pytest.mark.parametrize(("face", "first"), sampled(
    product(FACES, ["depth: 1.5", "depth: 1.8", "bored"]), 4, 2))
def test_a_reamer_to_the_floor_of_a_hole_is_refused_and_its_remedy_is_proved(
    face: str, first: str, tmp_path: Path
) -> None:
    """Its lead, a quarter of 2 mm, would leave the last half millimetre under size."""
    drill = "drill: {cutter: d19, holes: [a], %s}"
    steps = ["bore: {cutter: mill, holes: [a], correction: -0.06}" if first == "bored"
             else drill % first]
    (fault, *more) = answers(text(BLIND, *steps, REAM % ("a", ""), face=face))
    assert "0.5 mm, leaves a" in fault.message
    assert "under size at its floor" in fault.message
    assert all("under size" in one.message for one in more)
    offered = re.search(r"depth: ([\d.]+)", fault.remedy)
    assert offered is not None
    assert float(offered[1]) == 2.0
    deeper = text(BLIND, drill % f"depth: {offered[1]}", REAM % ("a", ""), face=face)
    assert answers(deeper) == ()
    assert "drill: a is drilled 2 mm deep at its full width, and 1.5 mm is its depth" in planned(
        deeper).remarks
    if first == "bored":
        assert proved(deeper, tmp_path)


@pytest.mark.parametrize("face", FACES)
@pytest.mark.parametrize(("holes", "name", "last"), [
    (SEAT, "a", "counterbore: {cutter: cb20, holes: [a]}"),
    (BORED, "a-counterbore", "counterbore: {cutter: cb20, holes: [a-counterbore]}"),
    (SEAT, "a", "bore: {cutter: mill, holes: [a], drilled: 1.2}"),
    (SEAT, "a", "fine-bore: {cutter: bar, holes: [a]}"),
])
def test_a_reamer_to_a_seat_is_refused_and_a_square_end_makes_it(
    face: str, holes: str, name: str, last: str
) -> None:
    """A seat is not drilled deeper: its floor bears something."""
    drill = f"drill: {{cutter: d12, holes: [{'a-through' if holes == SEAT else 'a'}], depth: 3.1}}"
    bore = f"bore: {{cutter: mill, holes: [{name}], drilled: 1.2, correction: -0.1}}"
    (fault,) = answers(text(holes, drill, bore, REAM % (name, ""), face=face))
    assert f"leaves {name} under size at its floor" in fault.message
    assert "depth:" not in fault.remedy
    assert "`fine-bore`, `bore` or `counterbore`" in fault.remedy
    between = [bore.replace("-0.1", "-0.03")] if last.startswith("fine-bore") else []
    assert answers(text(holes, drill, *between, last, face=face)) == ()


@pytest.mark.parametrize(("lead", "deep"), [("0.1", 1.6), ("0", 1.5), ("0.5", 2.0), ("0.7", 2.2)])
def test_a_lead_that_is_said_is_the_one_that_counts(lead: str, deep: float) -> None:
    drill = "drill: {cutter: d19, holes: [a], depth: %.2f}"
    ream = REAM % ("a", f", lead: {lead}")
    assert answers(text(BLIND, drill % deep, ream)) == ()
    if deep > 1.5:
        assert "under size" in answers(text(BLIND, drill % (deep - 0.02), ream))[0].message
    bottoms = [move.bottom for move in planned(text(BLIND, drill % deep, ream)).moves.sections[
        -1].moves if hasattr(move, "bottom")]
    assert bottoms == pytest.approx([-1.5 - float(lead)] * 2)
    # Through, it passes the lower face by as much.
    through = planned(text(THROUGH, "drill: {cutter: d19, holes: [a], depth: 4.2}", ream))
    assert min(move.bottom for move in through.moves.sections[-1].moves
               if hasattr(move, "bottom")) == pytest.approx(-3.05 - float(lead))


def test_a_drill_that_is_too_thin_for_the_reamer_does_not_make_room_for_it() -> None:
    """A pilot drilled deeper is no hole for its lead: blind, and below a plate."""
    pilot = "drill: {cutter: d12, holes: [a], depth: %s}"
    own = "drill: {cutter: d19, holes: [a], depth: %s}"
    found = answers(text(BLIND, pilot % "2.1", own % "1.5", REAM % ("a", "")))
    assert "open for 1.5 mm" in found[0].message
    found = answers(text(THROUGH, pilot % "4.5", own % "3.1", REAM % ("a", "")))
    assert "drilled with the full diameter for 3.10 mm" in found[0].message
    assert answers(text(THROUGH, pilot % "4.5", own % "3.6", REAM % ("a", ""))) == ()


def test_a_hole_with_a_floor_from_elsewhere_is_reamed_to_it_and_told() -> None:
    job = text(BLIND, REAM % ("a", ", drilled: 1.94"), elsewhere=", a")
    assert any("leaves the last 0.5 mm under size" in remark for remark in planned(job).remarks)


@pytest.mark.parametrize("deep", [2.2, 2.3, 2.5, 2.95, 3.0])
@pytest.mark.parametrize("face", FACES)
def test_a_drill_deeper_than_its_hole_leaves_a_floor_with_its_point(
    deep: float, face: str
) -> None:
    """The point of 1.94 mm at 118 degrees is 0.583 mm long (geometry), the least floor 0.15."""
    found = answers(text(BLIND, f"drill: {{cutter: d19, holes: [a], depth: {deep}}}",
                         REAM % ("a", ""), face=face))
    assert bool(found) == (deep + 0.583 > 2.85)
    number, step = (0, 1) if face == "upper" else (1, 0)
    if found:
        assert found[0].place.path == f"setups[{number}].steps[{step}].drill.depth"
        assert ("breaks through" in found[0].message) == (deep + 0.583 > 3)
        assert float(re.search(r"depth: ([\d.]+)", found[0].remedy)[1]) == 2.26  # type: ignore[index]


@pytest.mark.parametrize("face", FACES)
@pytest.mark.parametrize(("further", "holds"), [(0.0, True), (0.2, False), (0.7, False)])
def test_a_reamer_sent_deeper_than_its_hole_was_drilled_is_found(
    face: str, further: float, holds: bool
) -> None:
    """The planned strokes of the reamer alone are made longer: they end in the drill's cone."""
    file = read(text(BLIND, "drill: {cutter: d19, holes: [a], depth: 2.0}", REAM % ("a", ""),
                     face=face))
    setup = plan_job(file, DRIVEN).setups[-1]
    *before, ream = setup.moves.sections
    assert ream.title == "ream"
    ream = replace(ream, moves=tuple(
        replace(move, bottom=move.bottom - further) if isinstance(move, Drill) else move
        for move in ream.moves))
    moves = replace(setup.moves, sections=(*before, ream))
    programs = [read_program(one.text, DRIVEN, one.file)
                for one in write_programs(moves, DRIVEN, stem="ends")]
    evidence = gather(setup.name, file.job, DRIVEN, setup.layout, moves, programs,
                      planned_cuts=setup.cuts)
    assert isinstance(evidence, FlatEvidence)
    proofs = prove_holes_found(evidence)
    assert proofs
    assert all(proof.holds for proof in proofs) == holds
