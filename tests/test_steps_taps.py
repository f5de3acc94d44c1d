"""Tapping with a holder that gives, boring with a bar, counterboring: moves, programs, proofs."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from job_sweep import JOBS
from sampling import sampled
from workshop import DRIVEN, read

from camgen.faults import Refused
from camgen.job.checks.whole_job import job_faults
from camgen.moves import Drill
from camgen.plan import PlannedSetup, plan_job
from camgen.post.writer import write_programs
from camgen.proof import Proof, prove
from camgen.reader import read_program
from camgen.shop.machine import CycleWords, Machine, Spindle, SpindleWords, contradictions
from camgen.shop.machines import find_machine
from camgen.steps.holes.tap import run_on

PLATE = """
job: tapped plate
material: brass
made-elsewhere: [outline]
plate:
  thickness: 1.8
  outline: {rectangle: [20, 14], corner: 2}
  holes:
    posts: {at: [[0, 4], [4, 1]], thread: S1.0}
    blind: {at: [[6, 4]], thread: S1.0, depth: 1.4}
    cap: {diameter: 0.8, at: [[-8, 0]], counterbore: {diameter: 1.6, depth: 0.5}}
  jewels:
    third: {diameter: 1.5, at: [[3, -3]], depth: 0.5, through: 0.8}
    fourth: {diameter: 1.5, at: [[-3, -3]]}
cutters:
  tap-drill: {kind: drill, diameter: 0.76, flute-length: 6, reach: 8}
  drill: {kind: drill, diameter: 0.80, flute-length: 6, reach: 8}
  tap: {kind: tap, diameter: 1.0, pitch: 0.25, flutes: 3, flute-length: 4, reach: 8, material: hss}
  sink: {kind: counterbore, diameter: 1.6, flutes: 2, flute-length: 4, reach: 8}
  rough: {kind: boring-bar, diameter: 1.45, shank: 0.7, flutes: 1, reach: 3}
  bar: {kind: boring-bar, diameter: 1.49, shank: 0.7, flutes: 1, reach: 3}
  mill: {kind: end-mill, diameter: 0.60, flutes: 2, flute-length: 2.1, reach: 2.6}
setups:
  - name: top
    stock: {sheet: [30, 24], thickness: 1.8}
    holding: {by: wax on a carrier, carrier: brass, carrier-thickness: 5, cut-into: 1.8,
              holds-slugs: true}
    steps:
      - drill: {cutter: tap-drill, holes: [posts], depth: 3.0}
      - drill: {cutter: tap-drill, holes: [blind]}
      - drill: {cutter: drill, holes: [cap, third-through, fourth]}
      - bore: {cutter: mill, holes: [third, fourth], drilled: 0.8, correction: -0.04}
      - counterbore: {cutter: sink, holes: [cap-counterbore], drilled: 0.8}
      - fine-bore: {cutter: bar, holes: [third, fourth], drilled: 1.45}
      - tap: {cutter: tap, holder-gives: 0.3, lead: 0.4}
"""
REVERSING = DRIVEN.model_copy(update={"spindle": Spindle(
    lowest=300, senses=("clockwise", "anticlockwise"), reversal_seconds=0.4)})
STOPPING = REVERSING.model_copy(update={"spindle_words": SpindleWords(
    oriented_stop="M19", tip_at="-Y")})
CYCLES = REVERSING.model_copy(update={"cycles": CycleWords(use=True, tap="G84")})


def planned(text: str = PLATE, machine: Machine = REVERSING) -> PlannedSetup:
    return plan_job(read(text), machine).setups[0]


def strokes(one: PlannedSetup, title: str) -> list[Drill]:
    (section,) = [each for each in one.moves.sections if each.title == title]
    return [move for move in section.moves if isinstance(move, Drill)]


def programs(one: PlannedSetup, machine: Machine) -> list[str]:
    return [each.text.decode("ascii") for each in
            write_programs(one.moves, machine, stem="plate")]


def proofs(
    text: str = PLATE, machine: Machine = REVERSING,
    harm: Callable[[str], str] = lambda program: program,
) -> list[Proof]:
    job_file = read(text)
    one = plan_job(job_file, machine).setups[0]
    done = [read_program(harm(each), machine, "plate.nc") for each in programs(one, machine)]
    return list(prove(job_file, one, machine, done))


def failing(**more: object) -> set[str]:
    return {str(proof.id) for proof in proofs(**more) if not proof.holds}  # type: ignore[arg-type]


def test_the_plate_makes_all_that_it_says() -> None:
    assert job_faults(read(PLATE), REVERSING) == []


@pytest.mark.parametrize("machine", [REVERSING, CYCLES], ids=["written out", "by cycle"])
def test_a_tapped_bored_and_counterbored_plate_proves(machine: Machine) -> None:
    found = proofs(machine=machine)
    assert [str(proof.id) for proof in found if not proof.holds] == []
    names = {str(proof.id) for proof in found}
    assert {"flat.thread: posts-2", "flat.tap-feed: blind",
            "flat.thread-depth: posts-1", "flat.wall: third", "flat.wall: fourth",
            "flat.wall: cap-counterbore"} <= names


@pytest.mark.parametrize(
    ("post", "more"),
    sampled([("plain-iso-inch", {}), ("numbers-without-point", {}), ("small-memory", {}),
     ("with-cycles", {}), ("one-program-per-cutter", {}), ("radius-arcs-in-quadrants", {})], 6),
)
def test_it_proves_however_programs_are_spelt(post: str, more: dict[str, object]) -> None:
    machine = find_machine(post)
    spindle = machine.spindle.model_copy(update={
        "lowest": 300.0, "senses": ("clockwise", "anticlockwise"), "reversal_seconds": 0.4})
    machine = machine.model_copy(update={"spindle": spindle, **more})
    assert failing(machine=machine) == set()


def test_a_tap_is_fed_by_its_pitch_and_backed_out_the_other_way_round() -> None:
    one = planned()
    taps = strokes(one, "tap")
    rpm = one.moves.sections[-1].rpm
    assert len(taps) == 3
    for tap in taps:
        assert tap.feed == pytest.approx(0.25 * rpm)
        assert tap.feed_out
        assert tap.reverses
    program = read_program(programs(one, REVERSING)[0], REVERSING)
    mine = program.motion.cutter == program.motion.cutter[-1]
    down = mine & (program.motion.kind == 1) & (program.motion.end[:, 2] < 0)
    out = mine & (program.motion.kind == 1) & (program.motion.end[:, 2] > 0)
    assert program.motion.speed[down].tolist() == [rpm] * 3
    assert program.motion.speed[out].tolist() == [-rpm] * 3


def test_the_reversal_of_a_tap_in_a_cycle_is_the_controls() -> None:
    """NISTIR 6556 (from memory): G84 feeds in, reverses the spindle, feeds out."""
    one = planned(machine=CYCLES)
    text = programs(one, CYCLES)[0]
    assert "G84 " in text
    assert "M4" not in text
    written = programs(planned(), REVERSING)[0]
    assert written.count(" M4") == 3
    # Up to speed below, turning back, and above, before the next hole.
    assert written.count("G4 P0.4") == 6


def test_a_tap_runs_on_while_the_spindle_stops() -> None:
    """600 rev/min are 10 turns a second, 5 on the mean while it slows down evenly: in a quarter of
    a second, half of the reversal, 1.25 turns of 0.25 mm each."""
    assert run_on(600.0, 0.5, 0.25) == pytest.approx(1.25 * 0.25)
    one = planned()
    further = run_on(one.moves.sections[-1].rpm, 0.4, 0.25)
    assert further == pytest.approx(0.3)
    (blind,) = [tap for tap in strokes(one, "tap") if tap.x == 6.0]
    # A pitch stays free below it when it has run on.
    assert blind.bottom - further == pytest.approx(-1.4 + 0.25)
    (post,) = [tap for tap in strokes(one, "tap") if tap.x == 0.0]
    # Full thread to the lower face, the lead beyond it.
    assert post.bottom <= -1.8 - 0.4 + 1e-9


@pytest.mark.parametrize("seconds", [0.1, 0.4, 0.7])
@pytest.mark.parametrize("machine", [REVERSING, CYCLES], ids=["written out", "by cycle"])
def test_a_tap_is_drawn_out_as_far_as_it_may_hang_behind(machine: Machine, seconds: float) -> None:
    """It runs on by n · t/2 · 1/2 turns of 0.25 mm (geometry), and is turned back so far above its
    clearance of 0.5 mm."""
    slow = machine.model_copy(update={"spindle": machine.spindle.model_copy(
        update={"reversal_seconds": seconds})})
    text = PLATE.replace("holder-gives: 0.3", "holder-gives: 0.6, speed: 500")
    one = planned(text, slow)
    further = 500 / 60 * seconds / 4 * 0.25
    assert [tap.clearance for tap in strokes(one, "tap")] == pytest.approx(3 * [0.5 + further])
    assert failing(text=text, machine=slow) == set()


def test_a_safe_height_below_that_is_refused() -> None:
    low = PLATE.replace("    steps:\n", "    safe-height: 0.55\n    clearance: 0.5\n    steps:\n")
    slow = REVERSING.model_copy(update={"spindle": REVERSING.spindle.model_copy(
        update={"reversal_seconds": 1.5})})
    text = low.replace("holder-gives: 0.3, lead: 0.4",
                       "holder-gives: 0.8, speed: 400, lead: 0.2, holes: [posts]")
    with pytest.raises(Refused, match="would not be out of the thread") as no:
        planned(text, slow)
    assert "safe-height: 0.7 or more" in no.value.faults[0].remedy


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ("depth: 3.0", "depth: 2.0", "the hole is open for"),
        ("holder-gives: 0.3", "holder-gives: 0.1", "may turn no faster than"),
        ("holder-gives: 0.3", "holder-gives: 0.3, speed: 2000", "may turn no faster than"),
        ("lead: 0.4}", "lead: 0.4, holes: [cap]}", "hole cap has no thread"),
        ("pitch: 0.25", "pitch: 0.2", "no hole has a thread"),
        ("tap: {cutter: tap,", "tap: {cutter: drill,", "a cutter of kind tap"),
        ("lead: 0.4}", "lead: 0.4, depth: 1.3}", "the hole is open for"),
        ("lead: 0.4}", "lead: 0.4, feed: 100}", "would change nothing"),
        ("tap: {cutter: tap, holder-gives: 0.3, lead: 0.4}",
         "thread-mill: {cutter: tap, thread: S1.0, feed: 9}", "would change nothing"),
        ("lead: 0.4}", "lead: 0.9, holes: [blind]}", "would be full"),
        ("drilled: 1.45", "drilled: 1.3", "off the radius at once"),
        ("bar: {kind: boring-bar, diameter: 1.49", "bar: {kind: boring-bar, diameter: 1.47",
         "the bar is set to 1.47 mm"),
        ("drilled: 1.45", "drilled: 0.6", "does not go into a hole of 0.6 mm"),
        ("drilled: 1.45", "drilled: 1.5", "leaves nothing for a bar"),
        ("sink: {kind: counterbore, diameter: 1.6", "sink: {kind: counterbore, diameter: 1.7",
         "does not make hole cap-counterbore"),
        ("holes: [cap-counterbore], drilled: 0.8", "holes: [cap], drilled: 0.6",
         "goes right through"),
        ("holes: [cap-counterbore], drilled: 0.8", "holes: [cap-counterbore], drilled: 1.7",
         "leaves nothing for a counterbore"),
    ],
)
def test_what_cannot_be_is_refused_with_its_place(old: str, new: str, fault: str) -> None:
    assert old in PLATE
    with pytest.raises(Refused) as no:
        planned(PLATE.replace(old, new))
    found = [one for one in no.value.faults if fault in one.message + one.remedy]
    assert found, no.value.faults
    assert all(one.place.line for one in found)


def test_without_a_spindle_that_may_be_reversed_there_is_no_tapping() -> None:
    with pytest.raises(Refused, match="does not say that its spindle may be reversed") as no:
        planned(machine=DRIVEN)
    remedy = no.value.faults[0].remedy
    assert "thread-mill" in remedy
    assert "by hand" in remedy
    assert "reversal-seconds" in remedy


def test_a_spindle_of_one_sense_cannot_be_said_to_be_reversed() -> None:
    odd = DRIVEN.model_copy(update={"spindle": Spindle(reversal_seconds=1.0)})
    assert [path for path, _, _ in contradictions(odd)] == [("spindle", "reversal-seconds")]
    assert list(contradictions(REVERSING)) == []


def last(text: str, old: str, new: str) -> str:
    """The text with the last ``old`` in it changed."""
    before, found, after = text.rpartition(old)
    assert found
    return before + new + after


@pytest.mark.parametrize(
    ("old", "new", "found"),
    sampled([
        (" M4\r\nG4 P0.4", " M3\r\nG4 P0.4", "motion.spindle-sense"),
        (" M4\r\nG4 P0.4", " M5\r\nG4 P0.4", "motion.spindle-on"),
        (" M4\r\nG4 P0.4", " M4", "motion.up-to-speed"),
        ("G1 Z-0.85", "G1 Z-0.5", "motion.moves"),
        ("F180.", "F190.", "flat.tap-feed"),
        ("S720 M3\r\nG4 P3", "S700 M3\r\nG4 P3", "flat.tap-feed"),
        ("X6. Y4.", "X6. Y4.1", "flat.thread: blind"),
        ("Z0.8\r\nS720 M3", "Z0.2\r\nS720 M3", "flat.tap-out: blind"),
        ("S720 M3\r\nG4 P0.4\r\nG0 Z5.\r\nX0. Y4.", "S720 M3\r\nG0 Z5.\r\nX0. Y4.",
         "motion.up-to-speed"),
    ], 9),
)
def test_what_spoils_a_thread_is_found(old: str, new: str, found: str) -> None:
    names = failing(harm=lambda text: last(text, old, new))
    assert any(name.startswith(found) for name in names), names


def test_a_bar_goes_in_and_out_at_its_feed_and_the_sheet_says_how_to_set_it() -> None:
    one = planned()
    bored = strokes(one, "fine bore")
    assert len(bored) == 2
    assert all(stroke.feed_out for stroke in bored)
    seat, through = sorted(bored, key=lambda stroke: -stroke.bottom)
    assert (seat.bottom, seat.dwell > 0, through.dwell) == (-0.5, True, 0.0)
    # Half of both diameters: (1.490 + 0.700)/2.
    assert any("1.095 mm over its tip and the back of its shank" in told for told in one.remarks)
    assert "G89 " in programs(planned(machine=CYCLES), CYCLES)[0]
    assert "G85 " in programs(planned(machine=CYCLES), CYCLES)[0]


def test_a_bar_may_rough_before_it_finishes_and_spring_afterwards() -> None:
    two = PLATE.replace(
        "      - fine-bore: {cutter: bar, holes: [third, fourth], drilled: 1.45}\n",
        "      - fine-bore: {cutter: bar, holes: [third, fourth], drilled: 1.45,"
        " spring-passes: 1}\n")
    assert len(strokes(planned(two), "fine bore")) == 4
    assert failing(text=two) == set()


def test_a_bar_set_otherwise_than_the_hole_is_not_taken_for_the_hole() -> None:
    """What is cut by the bar is what the job says it is set to, to a micrometre."""
    wall = next(p for p in proofs() if str(p.id) == "flat.wall: third")
    assert "1.4900 mm as made" in wall.where


DRAWN = PLATE.replace("drilled: 1.45}", "drilled: 1.45, come-out: stopped}")


@pytest.mark.long
@pytest.mark.parametrize(
    "machine",
    sampled([
     STOPPING, STOPPING.model_copy(update={"cycles": CycleWords(use=True, fine_bore="G76")}),
     STOPPING.model_copy(update={"cycles": CycleWords(
         use=True, fine_bore="G76", return_level="G99")}),
     find_machine("with-cycles")], 6,
        ids=["written out", "by cycle", "cycle comes back to R only", "with-cycles"]),
)
def test_a_bar_may_be_stopped_moved_off_the_wall_and_drawn_out(machine: Machine) -> None:
    assert failing(text=DRAWN, machine=machine) == set()


def test_the_bar_goes_off_the_wall_away_from_its_tip_by_half_the_room_it_has() -> None:
    """Of a hole of 1.49 mm a shank of 0.7 leaves 0.395 on each side; the tip points to -Y."""
    one = planned(DRAWN, STOPPING)
    assert {stroke.aside for stroke in strokes(one, "fine bore")} == {(0.0, 0.395 / 2)}
    text = programs(one, STOPPING)[0]
    assert text.count("M19") == 2
    cycle = STOPPING.model_copy(update={"cycles": CycleWords(use=True, fine_bore="G76")})
    (line,) = [each for each in programs(planned(DRAWN, cycle), cycle)[0].splitlines()
               if "G76" in each and "P" in each]
    assert "I0. J0.198" in line or "I0. J0.197" in line
    assert any("tip points to -Y when the spindle is stopped by M19" in told
               for told in one.remarks)


@pytest.mark.parametrize(
    ("old", "new", "found"),
    sampled([
        ("M19\r\n", "", "table.rapids"),
        ("M19\r\nG0 Y-2.802", "M19\r\nG0 Y-3.198", "motion.spindle-on"),
        ("M19\r\nG0 Y-2.802", "M19\r\nG0 Y-2.5", "motion.moves"),
        ("M19\r\nG0 Y-2.802\r\nZ5.", "M19\r\nG0 Z5.", "motion.spindle-on"),
    ], 4),
)
def test_what_would_scratch_or_break_a_stopped_bar_is_found(old: str, new: str, found: str) -> None:
    assert found in failing(text=DRAWN, machine=STOPPING, harm=lambda text: last(text, old, new))


def test_without_a_spindle_that_stops_one_way_the_bar_comes_out_at_the_feed() -> None:
    with pytest.raises(Refused, match="does not say that its spindle stops turned one way") as no:
        planned(DRAWN)
    assert "come-out: feed" in no.value.faults[0].remedy
    with pytest.raises(Refused, match="hangs on its shank"):
        planned(DRAWN.replace("shank: 0.7, ", ""), STOPPING)
    by_hand = STOPPING.model_copy(update={"spindle_words": SpindleWords(
        oriented_stop="M19", by_program=False)})
    assert ("spindle-words", "oriented-stop") in [path for path, _, _ in contradictions(by_hand)]
    odd = REVERSING.model_copy(update={"cycles": CycleWords(use=True, fine_bore="G76")})
    assert [path for path, _, _ in contradictions(odd)] == [("cycles", "fine-bore")]


@pytest.mark.parametrize(("depth", "full"), [("", ""), (", depth: 1.2", ""),
                                             (", depth: 0.8", "0.8"), (", depth: 0.45", "0.45")])
@pytest.mark.parametrize("way", ["tapped", "milled"])
def test_a_thread_less_deep_than_its_hole_is_noted(way: str, depth: str, full: str) -> None:
    text = JOBS["fine holes" if way == "tapped" else "holes"]
    old = "holder-gives: 1.0, lead: 0.3" if way == "tapped" else "thread: S1.0}\n      - outline"
    assert old in text
    text = text.replace(old, old.replace("lead: 0.3", f"lead: 0.3{depth}").replace(
        "S1.0}", f"S1.0{depth}}}"))
    notes = plan_job(read(text), REVERSING).setups[0].notes
    assert [note for note in notes if note.startswith("thread of")] == (
        [f"thread of screws: full {full} mm deep, and the hole is 1.2 mm deep"] if full else [])
