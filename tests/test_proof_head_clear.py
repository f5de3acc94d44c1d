"""What carries the cutter against all that stands on the dividing head, in every arrangement."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from arrangements import HEADS
from hypothesis import given
from hypothesis import strategies as st
from motion_by_hand import DISC, Piece, evidence, program, stack
from workshop import read

from camgen.faults import Refused
from camgen.job.file import JobFile
from camgen.job.on_arbor import cylinder
from camgen.layout import ToothLayout
from camgen.plan import plan_job
from camgen.post.writer import write_programs
from camgen.proof import prove_evidence
from camgen.proof.common.rooms import room_off
from camgen.proof.evidence import gather
from camgen.proof.result import Proof
from camgen.proof.table.head_clear import prove_head_clear
from camgen.reader import read_program
from camgen.shipped import demo_jobs
from camgen.shop.cutters import Cutter
from camgen.shop.machine import Arrangement
from camgen.shop.machines import find_machine

AXES = "XYZ"
TIP = stack().tooth.tip_radius
DEPTH = stack().tooth.sizes.whole_depth
REACH = math.sqrt(DEPTH * (20 - DEPTH))
START, STOP, CLEAR = -REACH - 0.5, 2.1, -0.5


def fly(**more: Any) -> Cutter:
    words = {"kind": "fly-cutter", "diameter": 20.0, "flutes": 1, "shank": 6.0, "thickness": 2.0,
             "reach": 25.0, "made_for": DISC.made_for, **more}
    return Cutter(**words)


def space(angle: float, clear: float = CLEAR) -> list[tuple[Any, ...]]:
    """Turn, in, along, out, back: (word, along, depth)."""
    return [("index", angle), ("rapid", START, clear), ("rapid", None, DEPTH),
            ("line", STOP, None), ("rapid", None, clear), ("rapid", START, None)]


def work(clear: float = CLEAR) -> list[tuple[Any, ...]]:
    return [piece for angle in (0.0, 4.8, 9.6) for piece in space(angle, clear)]


def arranged(pieces: list[tuple[Any, ...]], how: Arrangement, across: float = 0.0) -> list[Piece]:
    """Places along and in, as X, Y and Z of an arrangement."""
    def place(along: float | None, depth: float | None) -> tuple[float | None, ...]:
        at: list[float | None] = [across, across, across]
        for axis, value in ((how.along, along), (how.infeed, depth)):
            sign = -1.0 if axis[0] == "-" else 1.0
            at[AXES.index(axis[1])] = None if value is None else sign * value
        return tuple(at)

    return [piece if piece[0] == "index" else (piece[0], *place(*piece[1:])) for piece in pieces]


def proved(
    cutter: Cutter, how: Arrangement | None = None, pieces: list[tuple[Any, ...]] | None = None,
    across: float = 0.0, begin: float = CLEAR, **more: Any,
) -> Proof:
    how = how or stack().arrangement
    layout: ToothLayout = stack(arrangement=how, **more)
    start = arranged([("rapid", START, begin)], how, across)[0][1:]
    read = program(arranged(pieces or work(), how, across), start=start)  # type: ignore[arg-type]
    (found,) = prove_head_clear(evidence(layout, read, cutter=cutter))
    return found


@pytest.mark.parametrize("how", HEADS[::5], ids=str)
def test_a_long_cutter_is_as_far_off_as_its_bar(how: Arrangement) -> None:
    assert len(HEADS) == 24
    found = proved(fly(), how)
    # The bar, of 6 mm, is nearest where the cutter is deepest: at the blanks.
    assert found.holds
    assert found.figure == pytest.approx(10 - DEPTH - 3, abs=0.2)


@pytest.mark.parametrize("how", HEADS[::5], ids=str)
def test_a_wide_holder_is_found_while_the_head_turns_and_at_the_rapid(how: Arrangement) -> None:
    """10 + 0.5 mm off the tip circle the middle of a holder of 24 mm overlaps it by 1.5 mm, seen
    at the height of its face: 3 mm of reach less half a thickness of 2."""
    wide = fly(reach=3.0, holder=24.0)
    turned = [("index", 4.8), ("index", 9.6)]
    beside = [("rapid", 0.0, CLEAR), *turned]
    found = proved(wide, how, beside)
    assert not found.holds
    section = math.sqrt(TIP**2 - 2.0**2)
    assert found.figure == pytest.approx(TIP + 10.5 - section - 12, abs=1e-6)
    at_rapid = proved(wide, how, [("rapid", START, CLEAR), ("rapid", 8.0, None)])
    assert "at the rapid" in at_rapid.where
    assert not at_rapid.holds
    assert proved(wide, how, [("rapid", 0.0, -4.0), *turned], begin=-4.0).holds


BODIES = {
    "nut": {"before": (cylinder("nut", -6.0, 0.0, 8.0),)},
    "driver": {"before": (cylinder("nut", -4.0, 0.0, 2.0), cylinder("driver", -9.0, -4.0, 9.0))},
    "tailstock": {"before": (cylinder("tailstock", -900.0, -9.0, 20.0),)},
    "chuck": {"behind": (cylinder("arbor", 3.5, 8.0, 2.0), cylinder("chuck", 8.0, 900.0, 25.0))},
    "backing": {"backing_radius": 8.0},
    "front backing": {"stack_from": 1.0, "backing_radius": 8.0, "backing_to": 1.0,
                      "stack_to": 1.0},
    "blanks": {"blank_radius": 8.0},
}


@pytest.mark.parametrize("how", HEADS[::10], ids=str)
@pytest.mark.parametrize("body", BODIES)
def test_each_thing_on_the_head_is_met_by_a_wide_holder(body: str, how: Arrangement) -> None:
    fine = fly(reach=30.0)
    assert proved(fine, how, **BODIES[body]).holds
    found = proved(fly(reach=4.0, holder=40.0), how, **BODIES[body])
    assert not found.holds


def test_what_is_not_said_of_the_cutter_is_asked_for() -> None:
    found = proved(Cutter(kind="fly-cutter", diameter=20.0, made_for=DISC.made_for, holder=60.0),
                   blank_radius=40.0)
    assert not found.holds
    assert "for it is not said" in found.where


def test_a_spindle_upright_stands_over_the_work_and_not_under_it() -> None:
    """Raised by 10 mm the holder is over the wheel; lowered it is level with it."""
    wide = fly(reach=3.0, holder=24.0)
    beside = [("rapid", 0.0, CLEAR), ("index", 4.8)]
    assert proved(wide, None, beside, across=10.0).holds
    assert not proved(wide, None, beside, across=-2.0).holds
    flat_lying = Arrangement(along="-Z", infeed="+Y", across="X")
    assert not proved(wide, flat_lying, beside, across=2.0).holds


@given(
    a=st.tuples(st.floats(-20, 20), st.floats(-20, 20)),
    b=st.tuples(st.floats(-20, 20), st.floats(-20, 20)),
    radius=st.floats(0.1, 10), height=st.floats(0, 12), high=st.floats(0.5, 10),
    begin=st.floats(-10, 10), long=st.floats(0.1, 10),
)
def test_the_room_is_that_of_points_all_over_the_bodies(
    a: tuple[float, float], b: tuple[float, float], radius: float, height: float, high: float,
    begin: float, long: float,
) -> None:
    plane = np.array([[a, b]])
    body = cylinder("nut", begin, begin + long, high)
    room = room_off(plane, radius, np.array([height]), body)[0]
    if height >= high:
        assert room == np.inf
        return
    wide = math.sqrt(high**2 - height**2)
    share = np.linspace(0, 1, 101)[:, None]
    way = np.array(a) + share * (np.array(b) - np.array(a))
    off = np.maximum(np.maximum(np.array([begin, -wide]) - way, way - [begin + long, wide]), 0.0)
    assert room + radius == pytest.approx(np.hypot(*off.T).min(), abs=0.3)
    assert room + radius <= np.hypot(*off.T).min() + 1e-9


def by_hand(words: str) -> JobFile:
    """The wheel cut by hand, with other words of its cutter's reach. Raises Refused."""
    text = (demo_jobs()[0].parent / "wheel-by-hand.yaml").read_text(encoding="utf-8")
    assert "reach: 15" in text
    return read(text.replace("reach: 15", words))


def test_a_whole_job_with_a_short_and_wide_holder_is_no_program() -> None:
    """The job's own word says so before anything is planned."""
    assert by_hand("reach: 15").job.cutters["fly"].reach == 15
    with pytest.raises(Refused) as no:
        by_hand("reach: 2, holder: 40")
    (fault,) = no.value.faults
    assert "a holder of 40 mm" in fault.message
    assert fault.place.path == "cutters.fly.holder"


@pytest.mark.parametrize(("words", "holds"), [({}, True), ({"reach": 2, "holder": 40}, False)])
def test_a_short_and_wide_holder_is_found_by_the_proof_alone(
    words: dict[str, float], holds: bool
) -> None:
    """Nothing but what is in the rack differs from what was planned."""
    job_file = by_hand("reach: 15")
    machine = find_machine("hand-dividing")
    one = plan_job(job_file, machine).setups[1]
    done = [read_program(each.text, machine, each.file)
            for each in write_programs(one.moves, machine, stem="teeth")]
    planned = gather(one.name, job_file.job, machine, one.layout, one.moves, done)
    assert planned.cutters
    racked = {number: cutter.model_copy(update=words)
              for number, cutter in planned.cutters.items()}
    found = prove_evidence(gather(one.name, job_file.job, machine, one.layout, one.moves, done,
                                  racked, planned_cuts=one.cuts))
    assert {proof.id.kind for proof in found if not proof.holds} == (
        set() if holds else {"table.head-clear"})
