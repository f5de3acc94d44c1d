"""Reaming, countersinking and threads: sizes against their standards, and the way they are cut."""

from __future__ import annotations

import math

import pytest
from workshop import DRIVEN, PLATE, plate, read, strokes

from camgen.faults import Refused
from camgen.job.checks.whole_job import job_faults
from camgen.moves import Arc, Drill
from camgen.plan import PlannedSetup, plan_job
from camgen.post.writer import write_programs
from camgen.proof import prove
from camgen.reader import read_program
from camgen.shop.threads import thread_names, thread_of

HOLES = PLATE.replace(
    "cutters:",
    """cutters:
  reamer: {kind: reamer, diameter: 1.2, flutes: 4, flute-length: 6, reach: 10, material: hss}
  sink: {kind: countersink, diameter: 3, flutes: 3, reach: 8}
  thread: {kind: thread-mill, diameter: 0.9, pitch: 0.35, flutes: 3, reach: 3}""",
).replace("screws: {diameter: 1.1", "screws: {thread: M1.6, diameter: 1.221").replace(
    "train: {diameter: 1.2", "train: {countersink: 1.8, diameter: 1.2"
)


def test_miniature_threads_have_the_standards_sizes() -> None:
    """ISO 1501 (from memory): S1.0 has a minor diameter of 0.760, D − 0.96 P."""
    assert thread_of("S1.0").hole == pytest.approx(0.760)
    assert thread_of("S0.8").pitch == 0.2
    # ISO 724 (from memory): M1.6 coarse, minor diameter 1.221.
    assert thread_of("M1.6").hole == pytest.approx(1.221, abs=5e-4)
    for name in thread_names():
        thread = thread_of(name)
        assert thread.diameter == float(name[1:])
        assert 0.2 < thread.pitch / thread.diameter < 0.29 or name[0] == "M"
        assert thread.hole < thread.diameter


@pytest.mark.parametrize(
    ("name", "pitch", "drill"),
    [("M1", 0.25, 0.75), ("M1.1", 0.25, 0.85), ("M1.2", 0.25, 0.95), ("M1.4", 0.3, 1.1),
     ("M1.6", 0.35, 1.25), ("M1.8", 0.35, 1.45), ("M2", 0.4, 1.6), ("M2.2", 0.45, 1.75),
     ("M2.5", 0.45, 2.05), ("M3", 0.5, 2.5)],
)
def test_coarse_threads_have_the_pitch_and_the_drill_of_their_standards(
    name: str, pitch: float, drill: float
) -> None:
    """ISO 261 (pitches of the coarse series) and ISO 2306 (drills before tapping), from memory."""
    assert thread_of(name).pitch == pitch
    assert thread_of(name).drill == drill


def test_the_drill_before_tapping_suits_its_thread() -> None:
    """Between the minor diameter and a quarter of the pitch over it, for which a hole may be."""
    for name in thread_names():
        thread = thread_of(name)
        assert -1e-9 <= thread.drill - thread.hole <= 0.25 * thread.pitch, name
    # ISO 1501 (from memory): S0.8 has a minor diameter of 0.608, S0.5 of 0.380.
    assert (thread_of("S0.8").drill, thread_of("S0.5").drill) == (0.61, 0.38)


def test_a_thread_that_is_not_in_the_table_is_answered_with_the_nearest() -> None:
    with pytest.raises(Refused, match=r"no thread is called 'S0\.85'") as no:
        thread_of("S0.85")
    assert "S0.8" in no.value.faults[0].remedy


def test_a_right_hand_thread_is_cut_going_up_by_the_pitch_in_a_turn() -> None:
    planned = plate("thread-mill: {cutter: thread, holes: [screws], thread: M1.6}", text=HOLES)
    rising = [
        s
        for s in strokes(planned.moves.sections[0].moves)
        if isinstance(s.move, Arc) and s.end[2] != s.start[2]
    ]
    assert rising
    for stroke in rising:
        assert isinstance(stroke.move, Arc)
        # Anticlockwise seen from above and upward: a right-hand helix (ISO 841's right-hand rule).
        assert not stroke.move.clockwise
        assert stroke.end[2] - stroke.start[2] == pytest.approx(0.35 / 2)
        radius = math.dist(stroke.start[:2], stroke.move.centre)
        assert radius == pytest.approx((1.6 - 0.9) / 2)
    # The whole thickness is threaded: from the lower face, or below, to the upper one, or above.
    assert min(s.start[2] for s in rising) <= -1.0
    assert max(s.end[2] for s in rising) >= 0.0


def test_a_thread_to_a_depth_begins_there() -> None:
    planned = plate("thread-mill: {cutter: thread, holes: [screws], thread: M1.6, depth: 0.6}",
                    text=HOLES)
    assert min(one.end[2] for one in strokes(planned.moves.sections[0].moves)
               ) == pytest.approx(-0.6)


def test_a_thread_mill_of_another_pitch_or_a_hole_without_the_thread_is_refused() -> None:
    with pytest.raises(Refused, match=r"pitch is 0\.35 mm, that of S1\.4 0\.3") as no:
        plate("thread-mill: {cutter: thread, holes: [screws], thread: S1.4}", text=HOLES)
    assert any("has no thread S1.4" in fault.message for fault in no.value.faults)
    wrong = HOLES.replace("diameter: 1.221", "diameter: 1.4") + "      - spot: {cutter: spot}\n"
    (fault,) = job_faults(read(wrong), DRIVEN)
    assert "screws, 1.4 mm, is none for M1.6" in fault.message
    assert "1.221" in fault.remedy


def test_a_reamer_comes_out_at_the_feed_and_must_be_of_the_holes_size() -> None:
    ream = "ream: {cutter: reamer, holes: [train], drilled: 1.15}"
    with pytest.raises(Refused, match="no step of this setup opens what lies beneath") as no:
        plate(ream, text=HOLES)
    deep = no.value.faults[0].remedy.split("depth: ")[1].split(":")[0]
    planned = plate(f"drill: {{cutter: drill, holes: [train], depth: {deep}}}", ream,
                    text=HOLES.replace("cut-into: 0.5", "cut-into: 1.0").replace(
                        "drill, diameter: 0.90", "drill, diameter: 1.15"))
    (stroke,) = [m for m in planned.moves.sections[1].moves if isinstance(m, Drill)]
    assert stroke.feed_out
    assert stroke.bottom <= -1.0 - 0.25 * 1.2
    with pytest.raises(Refused, match="does not make hole feet"):
        plate("ream: {cutter: reamer, holes: [feet], drilled: 1.15}", text=HOLES)
    with pytest.raises(Refused, match="leaves nothing for a reamer"):
        plate("ream: {cutter: reamer, holes: [train], drilled: 1.2}", text=HOLES)


def test_holes_about_one_middle_are_spotted_once_for_the_one_that_is_drilled() -> None:
    stepped = PLATE.replace("train: {diameter: 1.2, at: [[5, -1]]}",
                            "train: {diameter: 0.6, at: [[5, -1]],"
                            " counterbore: {diameter: 1.0, depth: 0.4}}")
    planned = plate("spot: {cutter: spot, holes: [train, train-counterbore]}", text=stepped)
    (stroke,) = [m for m in planned.moves.sections[0].moves if isinstance(m, Drill)]
    # A cone of 90° four fifths as wide as the hole of 0.6 mm: its mouth is drilled away.
    assert stroke.bottom == pytest.approx(-0.8 * 0.6 / 2)


def _turns(planned: PlannedSetup, stroke: Drill) -> float:
    """How often the cutter turns while it waits at the floor."""
    return stroke.dwell * planned.moves.sections[0].rpm / 60


@pytest.mark.parametrize("speed", [1200, 2500])
def test_a_counterbore_turns_three_times_at_its_floor_however_fast(speed: int) -> None:
    text = PLATE.replace("train: {diameter: 1.2, at: [[5, -1]]}",
                         "train: {diameter: 1.2, at: [[5, -1]],"
                         " counterbore: {diameter: 2.0, depth: 0.4}}").replace(
        "cutters:", "cutters:\n  bore: {kind: counterbore, diameter: 2, flutes: 2, reach: 8}")
    planned = plate(f"counterbore: {{cutter: bore, holes: [train-counterbore], drilled: 1.2,"
                    f" speed: {speed}}}", text=text)
    (stroke,) = [m for m in planned.moves.sections[0].moves if isinstance(m, Drill)]
    assert planned.moves.sections[0].rpm == speed
    assert _turns(planned, stroke) == pytest.approx(3.0, rel=0.01)


def test_a_cone_of_ninety_degrees_is_half_as_deep_as_wide() -> None:
    planned = plate("countersink: {cutter: sink}", text=HOLES)
    (stroke,) = [m for m in planned.moves.sections[0].moves if isinstance(m, Drill)]
    assert stroke.bottom == pytest.approx(-0.9)
    assert stroke.dwell > 0
    with pytest.raises(Refused, match="hole feet is not countersunk"):
        plate("countersink: {cutter: sink, holes: [feet]}", text=HOLES)
    with pytest.raises(Refused, match="wider than the cutter"):
        plate("countersink: {cutter: sink}", text=HOLES.replace("sink: 1.8", "sink: 3.2"))
    narrow = HOLES.replace("sink: 1.8", "sink: 1.1") + "      - spot: {cutter: spot}\n"
    (fault,) = job_faults(read(narrow), DRIVEN)
    assert "not wider than the hole" in fault.message


@pytest.mark.parametrize(
    ("old", "step"),
    [
        ("drill: {kind: drill, diameter: 0.90, flute-length: 6, reach: 8}",
         "drill: {cutter: drill, holes: [train]}"),
        ("drill: {kind: drill, diameter: 0.90, flute-length: 6, reach: 8}",
         "drill: {cutter: drill, holes: [train], depth: 1.0}"),
        ("mill: {kind: end-mill, diameter: 0.80, flutes: 2, flute-length: 1.6, reach: 2.4}",
         "bore: {cutter: mill, holes: [train], drilled: 0.9}"),
    ],
)
def test_a_cutter_that_does_not_stand_out_as_far_as_the_hole_is_deep_is_refused(
    old: str, step: str
) -> None:
    assert old in PLATE
    plate(step)
    short = old.replace("reach: 8", "reach: 1.0").replace("reach: 2.4", "reach: 1.0").replace(
        "flute-length: 6", "flute-length: 0.9").replace("flute-length: 1.6", "flute-length: 0.9")
    with pytest.raises(Refused, match=r"stands out 1 mm and must go \d\.\d+ mm down") as no:
        plate(step, text=PLATE.replace(old, short))
    assert all(fault.place.line for fault in no.value.faults)


def test_a_thread_mill_that_names_no_holes_is_for_those_of_its_thread() -> None:
    """Another thread in the same plate is another cutter's, and is not missed here."""
    text = HOLES.replace("train: {countersink: 1.8, diameter: 1.2",
                         "other: {thread: M2, at: [[7, -5]]}\n    train: {diameter: 1.2").replace(
        "    feet: {diameter: 1.5, depth: 0.6, at: [[7, -5]]}\n", "")
    job_file = read(text + "      - thread-mill: {cutter: thread, thread: M1.6}\n")
    planned = plan_job(job_file, DRIVEN).setups[0]
    programs = [read_program(one.text, DRIVEN, one.file)
                for one in write_programs(planned.moves, DRIVEN, stem="plate")]
    found = {str(one.id): one.holds for one in prove(job_file, planned, DRIVEN, programs)
             if "thread" in one.name}
    assert found["flat.thread: screws-1"]
    assert not any("other" in name for name in found)
