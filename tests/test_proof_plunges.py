"""No cutter sinks into metal faster than planned: straight down, on a slope, on a helix."""

from __future__ import annotations

from functools import lru_cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from motion_by_hand import Piece, bench_mill, flat, program
from sampling import few, sampled
from test_steps_dead_middle import ROUND, job
from workshop import DRIVEN, read

from camgen.job.models import Job, Setup
from camgen.plan import PlannedSetup, plan_job
from camgen.proof import Proof, gather
from camgen.proof.table.plunges import prove_plunges
from camgen.shop.cutters import RECORDS, Cutter, record_of

# Every kind whose end may meet solid metal, 1 mm wide.
KINDS = {
    kind: Cutter(kind=kind, diameter=1.0, **(
        {"point_angle": 90.0} if kind in ("drill", "spot-drill") else
        {"corner_radius": 0.1} if kind == "bull-end-mill" else
        {"point_angle": 60.0} if kind in ("chamfer-mill", "engraver", "countersink") else {}))
    for kind, record in RECORDS.items() if record.meets_solid
}
FAST: float = 3.0


@lru_cache(maxsize=1)
def planned() -> tuple[PlannedSetup, float, int]:
    """A pocket's plan, the fastest plunge in it, and its cutter's number."""
    (setup,) = plan_job(read(job(ROUND % 3, "pocket: {cutter: dead}", wide=1.0, plunges="true")),
                        DRIVEN).setups
    return (setup, max(one.plunge_feed for cut in setup.cuts for one in (cut, *cut.others)),
            setup.moves.sections[0].cutter_number)


def proved(kind: str, pieces: list[Piece], share: float, before: float = 0.0,
           deep: float = 2.0, wide: float = 1.0) -> Proof:
    """``pieces`` at ``share`` times the planned plunge, in a hole ``before`` mm wide or in none."""
    setup, plunge, number = planned()
    cutter, mill = KINDS[kind], Cutter(kind="end-mill", diameter=before or 1.0)
    cutter = cutter.model_copy(update={"diameter": wide})
    hole: list[Piece] = [("rapid", 0, 0, 2), ("line", None, None, -deep),
                         ("rapid", None, None, 2)] if before else []
    words = {"cutter": number, "feed": share * plunge}
    whole = [*((*one, {"cutter": 99}) for one in hole), ("rapid", 0, 0, 2, words),
             *((*one, words) for one in pieces)]
    evidence = gather(
        "work", Job(job="by hand", material="brass", cutters={"a": mill, "b": cutter},
                    setups=(Setup(name="work"),)),
        bench_mill(), flat(thickness=4.0), setup.moves, [program(whole)],
        {99: mill, number: cutter}, planned_cuts=setup.cuts)
    (found,) = prove_plunges(evidence)
    assert found.id.word == "straight-down"
    return found


def down(deep: float) -> list[Piece]:
    return [("line", None, None, -deep)]


def test_every_kind_that_may_meet_solid_metal_is_looked_at() -> None:
    assert {"end-mill", "ball-end-mill", "engraver", "drill"} <= set(KINDS)
    assert all(record_of(cutter).meets_solid for cutter in KINDS.values())


@pytest.mark.parametrize("kind", sampled(KINDS, 2))
def test_at_the_planned_plunge_it_goes_down(kind: str) -> None:
    assert proved(kind, down(0.5), 1.0).holds


@pytest.mark.parametrize("kind", KINDS)
def test_faster_it_is_found_as_deep_as_it_goes(kind: str) -> None:
    found = proved(kind, down(0.5), FAST)
    assert not found.holds
    assert found.figure == pytest.approx(0.5, abs=0.01)
    assert "sinks at" in found.where


@pytest.mark.parametrize("kind", KINDS)
def test_in_a_hole_that_is_open_it_may_go_fast(kind: str) -> None:
    assert proved(kind, down(1.5), FAST, before=1.2).holds
    assert proved(kind, down(2.5), FAST, before=1.2).figure == pytest.approx(0.5, abs=0.01)
    # Half as wide as its end: metal is under all that is further out.
    assert proved("end-mill", down(0.5), FAST, before=0.5).figure == pytest.approx(0.5, abs=0.01)


@pytest.mark.parametrize("wide", [0.4, 3.0])
def test_all_of_its_end_but_a_rim_must_find_it_open_however_wide_it_is(wide: float) -> None:
    assert proved("end-mill", down(0.5), FAST, before=0.85 * wide, wide=wide).holds
    assert not proved("end-mill", down(0.5), FAST, before=0.7 * wide, wide=wide).holds


@pytest.mark.parametrize("aside", [1e-4, 0.05, 0.2])
def test_a_slope_is_no_way_round_it(aside: float) -> None:
    steep: list[Piece] = [("rapid", None, None, 0.0), ("line", aside, None, -0.5)]
    assert not proved("end-mill", steep, FAST).holds
    # As far across as the mill is wide it sinks slowly enough.
    assert proved("end-mill", [("rapid", None, None, 0.0), ("line", 3.0, None, -0.5)], FAST).holds


@settings(max_examples=few(20), deadline=None)
@given(radius=st.floats(0.1, 1.0), fall=st.floats(0.05, 2.0), share=st.floats(1.2, 6.0))
def test_a_helix_is_held_by_how_fast_it_sinks(radius: float, fall: float, share: float) -> None:
    """One turn falls ``fall`` on 2πr: the share of the feed that goes down (plane geometry)."""
    turn: list[Piece] = [("rapid", 0, None, 0.0), ("ccw", 0, 0, -fall, -radius, 0)]
    sinks = share * fall / (fall**2 + (2 * 3.141592653589793 * radius) ** 2) ** 0.5
    if abs(sinks - 1.02) > 0.02:
        assert proved("end-mill", turn, share).holds == (sinks < 1.02)
