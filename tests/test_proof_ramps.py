"""Cutters whose end may not meet solid metal, on ramps and helices: open, or flat enough."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from motion_by_hand import Piece, bench_mill, flat, program
from sampling import few, sampled
from test_steps_holes import HOLES
from workshop import DRIVEN, read

from camgen.job.models import Job, Setup
from camgen.plan import plan_job
from camgen.post.writer import write_programs
from camgen.proof import Evidence, Proof, gather, prove
from camgen.proof.table.ramps import prove_ramps
from camgen.reader import read_program
from camgen.shop.cutters import RECORDS, Cutter, bears_under, record_of
from camgen.shop.cutters.records import Way

DEAD = Cutter(kind="end-mill", diameter=2.0, plunges=False)
OPEN = {
    "thread mill": Cutter(kind="thread-mill", diameter=2.0, pitch=0.4),
    "disc": Cutter(kind="form-disc", diameter=2.0),
    "fly cutter": Cutter(kind="fly-cutter", diameter=2.0),
    "saw": Cutter(kind="slitting-saw", diameter=2.0),
}
SECOND: dict[str, object] = {"cutter": 2}


def evidence(pieces: list[Piece], cutter: Cutter, first: float = 1.0) -> Evidence:
    mill = Cutter(kind="end-mill", diameter=first)
    job = Job(job="by hand", material="brass", cutters={"first": mill, "second": cutter},
              setups=(Setup(name="work"),))
    return gather("work", job, bench_mill(), flat(thickness=4.0), None, [program(pieces)],
                  {1: mill, 2: cutter})


def proved(pieces: list[Piece], cutter: Cutter, first: float = 1.0) -> Proof:
    (found,) = prove_ramps(evidence(pieces, cutter, first))
    return found


def helix(radius: float, pitch: float, turns: int, sense: str = "cw", x: float = 0.0,
          y: float = 0.0) -> list[Piece]:
    return [("rapid", x + radius, y, 0, SECOND), *(
        (sense, x + radius, y, -pitch * turn, x, y, SECOND) for turn in range(1, turns + 1))]


def ramp(angle: float, length: float, deep: float) -> list[Piece]:
    """There and back along X, from the top of the stock."""
    fall = length * math.tan(math.radians(angle))
    count = math.ceil(deep / fall)
    return [("rapid", 0, 0, 0, SECOND), *(
        ("line", length * (lap % 2), 0, -fall * lap, SECOND) for lap in range(1, count + 1))]


def hole(x: float = 0.0, y: float = 0.0, to: float = -3.0) -> list[Piece]:
    """A round hole, as wide as the first cutter."""
    return [("rapid", x, y, 2), ("line", None, None, to), ("rapid", None, None, 2)]


def test_a_mill_that_plunges_is_not_asked() -> None:
    assert not prove_ramps(evidence(ramp(30, 2, 1), Cutter(kind="end-mill", diameter=2.0)))


def test_every_kind_that_cuts_sideways_and_may_not_meet_metal_is_looked_at() -> None:
    # A probe cuts nothing: that it meets nothing on its way is a proof of its own.
    assert {cutter.kind for cutter in OPEN.values()} == {
        kind for kind, record in RECORDS.items()
        if record.sideways and not record.meets_solid and record.way is not Way.TOUCHING}


@pytest.mark.parametrize("length", sampled([1.3, 3.0, 8.0], 2))
def test_a_dead_middle_bears_the_ramp_that_is_planned_and_no_steeper(length: float) -> None:
    """3° there and back; straight down a ramp of a° it meets d · tan a of metal."""
    assert proved(ramp(3.0, length, 0.5), DEAD).holds
    found = proved(ramp(12.0, length, 0.5), DEAD)
    assert not found.holds
    assert found.limit == bears_under(DEAD)
    assert "dead middle" in found.where


def test_how_deep_the_middle_comes_is_what_it_falls_over_its_own_width() -> None:
    found = proved([("rapid", 0, 0, 0, SECOND), ("line", 8, 0, -0.8, SECOND)], DEAD)
    assert found.figure == pytest.approx(0.1, rel=0.3)
    assert found.figure >= 0.1


@settings(max_examples=few(40))
@given(radius=st.floats(0.05, 3.0), angle=st.floats(0.3, 20.0),
       sense=st.sampled_from(["cw", "ccw"]), x=st.floats(-9, 9), y=st.floats(-9, 9))
def test_a_helix_is_borne_where_its_middle_is_cut_and_flat_enough(
    radius: float, angle: float, sense: str, x: float, y: float
) -> None:
    """Dead middle d = 1: round less than d/2 a post is left; else it falls 2 r asin(d / 2r) tan a.
    """
    pitch = 2 * math.pi * radius * math.tan(math.radians(angle))
    turns = max(1, min(10, math.ceil(1.0 / pitch)))
    found = proved(helix(radius, pitch, turns, sense, x, y), DEAD)
    deep = pitch * turns
    limit = bears_under(DEAD)
    meets = deep if radius < 0.5 else min(
        deep, math.tan(math.radians(angle)) * 2 * radius * math.asin(0.5 / radius))
    if radius > 0.65 or radius < 0.5:
        if meets > 1.01 * limit:
            assert not found.holds
        elif meets < 0.75 * limit:
            assert found.holds


@pytest.mark.parametrize("radius", sampled([0.2, 0.4], 2))
def test_over_a_hole_as_wide_as_its_way_it_may_go_down(radius: float) -> None:
    down, wide = helix(radius, 0.4, 5), 2 * radius + 1.1
    assert not proved(down, DEAD).holds
    assert proved([*hole(), *down], DEAD, wide).holds
    assert not proved([*hole(to=-1.0), *down], DEAD, wide).holds
    assert not proved([*down, *hole()], DEAD, wide).holds


@pytest.mark.parametrize("kind", sampled(OPEN, 4))
@pytest.mark.parametrize("sense", sampled(["cw", "ccw"], 4))
def test_on_a_helix_what_may_not_meet_metal_finds_it_open(kind: str, sense: str) -> None:
    cutter = OPEN[kind]
    down = helix(0.5, 0.4, 4, sense)
    wide = 3.2 if not record_of(cutter).threads else 2.7
    assert proved([*hole(), *down], cutter, wide).holds
    for bad, first in (([*hole(), *down], wide - 0.5), ([*hole(0.5), *down], wide), (down, wide),
                       ([*down, *hole()], wide)):
        found = proved(bad, cutter, first)
        assert not found.holds
        assert found.figure > 0.3
        assert "open at its end" in found.where
    shallow = proved([*hole(to=-1.4), *down], cutter, wide)
    assert shallow.figure == pytest.approx(0.2, abs=0.02)


@pytest.mark.parametrize("kind", OPEN)
def test_on_a_straight_ramp_too(kind: str) -> None:
    way: list[Piece] = [("rapid", 0, 0, 0, SECOND), ("line", 3, 0, -1, SECOND)]
    slot: list[Piece] = [("rapid", 0, 0, 2), ("line", None, None, -1.2), ("line", 3, 0, None),
                         ("rapid", None, None, 2)]
    assert proved([*slot, *way], OPEN[kind], 2.1).holds
    assert proved(way, OPEN[kind]).figure == pytest.approx(1.0, abs=0.02)


def test_a_thread_mill_sent_across_through_the_wall_is_found() -> None:
    cutter = OPEN["thread mill"]
    way: list[Piece] = [("rapid", 0, 0, 2, SECOND), ("line", None, None, -1, SECOND),
                        ("line", 0.3, 0, None, SECOND)]
    assert proved([*hole(), *way], cutter, 2.4).holds
    assert not proved([*hole(), *way, ("line", 1.5, 0, None, SECOND)], cutter, 2.4).holds


@pytest.mark.parametrize("again", [1, 2])
def test_a_place_that_is_told_is_where_it_is_worst(again: int) -> None:
    found = proved([*hole(6.0)] + again * helix(0.3, 0.5, 2), DEAD)
    assert found.at is not None
    assert found.program == "by-hand.nc"
    assert found.at[2] == pytest.approx(-1.0)


def test_a_planned_thread_finds_its_hole_open_all_the_way_up() -> None:
    text = HOLES
    for old, new in (("    train: {countersink: 1.8, diameter: 1.2, at: [[5, -1]]}\n", ""),
                     ("    feet: {diameter: 1.5, depth: 0.6, at: [[7, -5]]}\n", ""),
                     ("kind: drill, diameter: 0.90", "kind: drill, diameter: 1.221"),
                     ("[holes, pockets", "[pockets"), ("cut-into: 0.5", "cut-into: 1.5")):
        assert old in text, old
        text = text.replace(old, new)
    job_file = read(text + "      - drill: {cutter: drill, holes: [screws], depth: 1.5}\n"
                           "      - thread-mill: {cutter: thread, thread: M1.6}\n")
    one = plan_job(job_file, DRIVEN).setups[0]
    done = [read_program(each.text, DRIVEN, each.file)
            for each in write_programs(one.moves, DRIVEN, stem="plate")]
    proofs = {str(proof.id): proof for proof in prove(job_file, one, DRIVEN, done)}
    assert [name for name, proof in proofs.items() if not proof.holds] == []
    assert proofs["table.end-in-metal: cutter 3"].figure == 0
