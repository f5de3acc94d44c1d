"""Where a proof fails is told as a line, a program and a place, for those who look it up."""

from __future__ import annotations

from motion_by_hand import Piece, evidence, flat, program

from camgen.commands.terminal.proofs import proof_entry
from camgen.part.features import Cone, Hole, Thread
from camgen.part.shape import PartShape
from camgen.proof.flat.flat_removal import prove_flat_removal
from camgen.proof.result import Proof
from camgen.shapes.path import Point, polygon
from camgen.shop.cutters import Cutter
from camgen.steps.holes.bore import Bore
from camgen.steps.holes.countersink import Countersink
from camgen.steps.holes.thread_mill import ThreadMill

SQUARE = polygon([(-5, -5), (5, -5), (5, 5), (-5, 5)])


def part_with(made: Hole | Cone | Thread) -> PartShape:
    """A square with a hole, or with what is at one and its hole."""
    if isinstance(made, Hole):
        return PartShape(SQUARE, holes=(made,))
    return PartShape(SQUARE, holes=(made.hole,),
                     cones=(made,) if isinstance(made, Cone) else (),
                     threads=(made,) if isinstance(made, Thread) else ())


def failing(
    made: Hole | Cone | Thread, step: object, cutter: Cutter, pieces: list[Piece]
) -> list[Proof]:
    looked_at = evidence(flat(part=part_with(made)), program(pieces),
                         steps=(step,), cutter=cutter)  # type: ignore[arg-type]
    return [proof for proof in prove_flat_removal(looked_at) if not proof.holds]


def test_a_countersink_too_deep_is_placed_at_its_mouth_and_its_stroke() -> None:
    sunk = Cone(Hole("screw", Point(1, 2), 1.0), "countersink", 2.0, "upper")
    cone = Cutter(kind="countersink", diameter=3.0, point_angle=90)
    found = failing(sunk, Countersink(cutter="cutter"), cone,
                    [("rapid", 1, 2, 0.5), ("line", 1, 2, -1.1), ("rapid", None, None, 5)])
    (mine,) = [proof for proof in found if str(proof.id) == "flat.countersink: screw"]
    assert (mine.line, mine.program, mine.at) == (2, "by-hand.nc", (1.0, 2.0, 0.0))


def test_a_thread_not_cut_is_placed_though_no_line_makes_it() -> None:
    thread = Thread(Hole("screw", Point(1, 2), 1.25), 1.6, 0.35)
    mill = Cutter(kind="thread-mill", diameter=1.1, pitch=0.35)
    found = failing(thread, ThreadMill(cutter="cutter", thread="M1.6"), mill,
                    [("rapid", 1, 2, 0.5)])
    mine = [proof for proof in found if "thread" in proof.id.word]
    assert len(mine) == 3
    assert all(proof.at == (1.0, 2.0, 0.0) and not proof.line for proof in mine)


def test_a_hole_bored_to_a_wrong_size_is_placed() -> None:
    hole = Hole("bore", Point(1, 2), 3.0)
    ring: list[Piece] = [("rapid", 2.02, 2, 0.5), ("line", None, None, -1.2),
                         ("ccw", 2.02, 2, None, 1, 2), ("rapid", None, None, 5)]
    found = failing(hole, Bore(cutter="cutter"), Cutter(kind="end-mill", diameter=1.0), ring)
    assert {"flat.wall: bore", "flat.material-missing"} <= {str(p.id) for p in found}
    for proof in found:
        assert proof.at is not None, proof.name
        entry = proof_entry(proof)
        assert entry["at"]["X"] == proof.at[0]
    missing = next(p for p in found if str(p.id) == "flat.material-missing")
    assert (missing.line, missing.program) == (3, "by-hand.nc")
    # A wall that is off is its cutter's way's doing.
    assert next(p for p in found if str(p.id) == "flat.wall: bore").line == 3
