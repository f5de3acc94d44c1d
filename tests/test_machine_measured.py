"""A machine as it was measured: what is written makes true work of it, and is read back as such."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError
from simulated_mill import Mill

from camgen.faults import Refused
from camgen.library.over_runs.measurements import made_with, measured_since
from camgen.library.record import Pieces, Run
from camgen.library.standing import Standing, standing_of_job
from camgen.make.chain import Proved, proved_job
from camgen.make.runs.proving import as_run
from camgen.messages import Message
from camgen.moves import Arc, Drill, Feed, Index, Move, Pause, Rapid, Section, SetupMoves
from camgen.post.measured import sent_by, turned_to
from camgen.post.writer import write_programs
from camgen.proof.path import chords
from camgen.reader import read_program
from camgen.reader.slides import slides_of
from camgen.shipped import shipped_folder
from camgen.shop.machine import DrivenHead, Machine, contradictions
from camgen.shop.machines import read_machine
from camgen.steps.lash import come_to_from_one_side

LASH, SCALE, SQUARENESS, HEAD = 0.02, 1.0004, 0.03, 20.0
# Every fifteen degrees, as a sinusoidal error would be measured.
TABLE = [[angle, round(HEAD * math.sin(math.radians(angle)), 2)] for angle in range(0, 360, 15)]
MEASURED: dict[str, Any] = {
    "x": {"lash": LASH, "scale": SCALE}, "y": {"lash": LASH, "scale": SCALE},
    "z": {"scale": SCALE}, "squareness": SQUARENESS,
    "dividing": {"kind": "driven", "errors": TABLE},
}
PLATE = """
job: small plate
material: brass
post: mill
plate:
  thickness: 1.0
  outline: {rectangle: [44, 30]}
  holes:
    one: {diameter: 0.8, at: [[-20, -12], [20, -12], [20, 12], [-20, 12], [3, 4], [-3, 4]]}
    round: {diameter: 3, at: [[10, 5]]}
made-elsewhere: [outline]
cutters:
  drill: {kind: drill, diameter: 0.8, flute-length: 6, reach: 8}
  mill: {kind: end-mill, diameter: 1.0, flutes: 2, flute-length: 3, reach: 4}
setups:
  - name: holes
    stock: {sheet: [50, 36], thickness: 1.0}
    holding: {by: wax on a brass carrier, carrier: brass, carrier-thickness: 6, cut-into: 0.5,
              holds-slugs: true}
    steps:
      - drill: {cutter: drill, holes: [one]}
      - bore: {cutter: mill, holes: [round]}
"""


def message(text: str) -> Message:
    return Message("{text}", text=text)


def crooked(lash: float = LASH) -> Mill:
    """A mill with all that was measured."""
    return Mill(lash, (SCALE, SCALE, SCALE), SQUARENESS,
                lambda angle: HEAD * math.sin(math.radians(angle)))


def machine_file(measured: dict[str, Any]) -> dict[str, Any]:
    return {"name": "mill", "describes": "a small mill", "dividing": {"kind": "driven"},
            "spindle": {"lowest": 300, "highest": 24000, "power": [[300, 6], [24000, 200]]},
            } | measured


@lru_cache(maxsize=8)
def _made(folder: Path, job: str, measured: bool) -> Proved:
    workshop = folder / ("measured" if measured else "plain")
    (workshop / "postprocessors").mkdir(parents=True, exist_ok=True)
    (workshop / "postprocessors" / "mill.yaml").write_text(
        str(machine_file(MEASURED if measured else {})).replace("'", '"'))
    path = workshop / "job.yaml"
    path.write_text(job)
    return proved_job(path)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("workshop")


def text_of(proved: Proved) -> str:
    assert not [proof for setup in proved.setups for proof in setup.proofs if not proof.holds]
    return "".join(one.text.decode("ascii") for setup in proved.setups for one in setup.programs)


def pinion() -> str:
    return (shipped_folder("jobs") / "seconds-pinion.yaml").read_text().replace(
        "post: plain-iso", "post: mill")


def holes(mill: Mill) -> np.ndarray:
    """(n, 2) where it drilled: straight down into the sheet, before it went round."""
    return np.array([(one.x, one.y) for one in mill.strokes
                     if one.from_z > 0 > one.z + 0.9])


def test_holes_come_out_where_the_job_has_them(folder: Path) -> None:
    """Within 3 µm once measured; before, off by what scale, squareness and lost motion predict."""
    plain, put_right = text_of(_made(folder, PLATE, False)), text_of(_made(folder, PLATE, True))
    meant = holes(Mill().run(plain))[:6]
    assert sorted(map(tuple, np.round(meant, 6).tolist())) == sorted(
        [(-20, -12), (20, -12), (20, 12), (-20, 12), (3, 4), (-3, 4)])
    got = holes(crooked().run(put_right))[:6]
    order = [int(np.argmin(np.hypot(*(got - one).T))) for one in meant]
    assert np.abs(got[order] - meant).max() < 0.003

    before = holes(crooked(0.0).run(plain))[:6]
    lean = math.radians(SQUARENESS)
    predicted = np.stack([
        SCALE * (meant[:, 0] - meant[:, 1] * math.sin(lean)), SCALE * meant[:, 1] * math.cos(lean),
    ], axis=1)
    assert np.abs(before - predicted).max() < 1e-6
    assert np.abs(before - meant).max() > 0.008
    # Coming from beyond, the table stops short by what is lost.
    short = np.abs(holes(crooked().run(plain))[:6] - before)
    assert short.max() == pytest.approx(LASH * SCALE, abs=1e-4)


def test_a_circle_is_out_of_round_by_what_is_told(folder: Path) -> None:
    """Put right for scale and squareness; lost motion flattens it, and that is said."""
    proved = _made(folder, PLATE, True)
    text = text_of(proved)
    said = [str(note) for setup in proved.setups for note in setup.planned.notes]
    assert any(f"{LASH:g} mm of lost motion" in note for note in said), said

    def across(mill: Mill) -> np.ndarray:
        way = np.array(mill.run(text).way)[:, :2]
        return np.asarray(way.max(axis=0) - way.min(axis=0))

    tight, loose = across(crooked(0.0)), across(crooked())
    assert tight == pytest.approx([2.0, 2.0], abs=0.003)
    assert tight - loose == pytest.approx([LASH, LASH], abs=0.002)


def test_teeth_come_out_at_their_angles_and_depths(folder: Path) -> None:
    """Within 3 arc-seconds and 3 µm once measured; before, off by the head's own error."""
    plain = text_of(_made(folder, pinion(), False))
    put_right = text_of(_made(folder, pinion(), True))

    def spaces(mill: Mill) -> np.ndarray:
        """(10, 2) angle and depth of each space's deepest stroke."""
        found: dict[int, tuple[float, float]] = {}
        for one in mill.strokes:
            number = round(one.angle / 36.0) % 10
            if number not in found or one.y > found[number][1]:
                found[number] = (one.angle % 360.0, one.y)
        return np.array([found[number] for number in range(10)])

    def off(table: np.ndarray) -> np.ndarray:
        return np.asarray((table[:, 0] - np.arange(10) * 36.0 + 180.0) % 360.0 - 180.0) * 3600.0

    meant, got = spaces(Mill().run(plain)), spaces(crooked().run(put_right))
    assert np.abs(off(got)).max() < 3.0
    assert np.abs(got[:, 1] - meant[:, 1]).max() < 0.003
    before = off(spaces(crooked().run(plain)))
    assert before == pytest.approx(
        HEAD * np.sin(np.radians(np.arange(10) * 36.0)), abs=0.01)


def test_a_fit_that_lost_motion_would_spoil_is_refused(tmp_path: Path) -> None:
    """Named with the hole, and the remedy holds: a reamer does not move the table sideways."""
    job = PLATE.replace("round: {diameter: 3,", "round: {diameter: 3, fit: H7,")
    (tmp_path / "postprocessors").mkdir()
    (tmp_path / "postprocessors" / "mill.yaml").write_text(
        str(machine_file(MEASURED)).replace("'", '"'))
    (tmp_path / "job.yaml").write_text(job)
    with pytest.raises(Refused) as no:
        proved_job(tmp_path / "job.yaml")
    [fault] = no.value.faults
    assert "hole 'round' may vary by 0.010 mm" in fault.message
    assert "`ream`" in fault.remedy
    reamed = job.replace("- bore: {cutter: mill, holes: [round]}", "").replace(
        "cut-into: 0.5", "cut-into: 2").replace(
        "holes: [one]}", "holes: [one]}\n      - drill: {cutter: wide, holes: [round], "
        "depth: 1.9}\n      - ream: {cutter: reamer, holes: [round], drilled: 2.9}").replace(
        "  mill:", "  reamer: {kind: reamer, diameter: 3.005, flute-length: 10, reach: 12, "
        "flutes: 6}\n  wide: {kind: drill, diameter: 2.9, flute-length: 12, reach: 14}\n  mill:")
    (tmp_path / "job.yaml").write_text(reamed)
    text_of(proved_job(tmp_path / "job.yaml"))


def test_a_kept_job_says_its_measurements_and_that_they_changed(folder: Path) -> None:
    """Word by word; and the machine file is named besides only where more of it has changed."""
    proved = _made(folder, PLATE, True)
    run = Run(when="2026-11-30", post="mill", pieces=Pieces(made=2), prints=proved.prints,
              as_run=json.loads(json.dumps(as_run(proved))))
    said = made_with(run)
    assert {"x.scale 1.0004", "x.lash 0.02", "squareness 0.03",
            "dividing.errors a table of 24 places"} <= set(said)
    anew = {**MEASURED, "x": {"lash": LASH, "scale": 1.0001}}
    for more, others in (({}, ()), ({"block-skip": True}, ("the machine file",))):
        machine = Machine.model_validate(machine_file(anew | more))
        state = standing_of_job(
            proved.prints.model_copy(update={"machine": "another"}), 1, proved.prints)
        told = measured_since(state, run, machine)
        assert told.changed == (
            *others, "the machine was measured anew (x.scale 1.0001, then 1.0004)")
    same = Machine.model_validate(machine_file(MEASURED))
    assert measured_since(standing_of_job(proved.prints, 1, proved.prints), run, same) == Standing(
        "proven")


def test_sheet_and_program_say_where_zeros_must_lie(folder: Path) -> None:
    proved = _made(folder, pinion(), True)
    assert "(HEAD AT ITS OWN ZERO MARK BEFORE THE START)" in text_of(proved)
    assert any("own zero mark" in remark for remark in proved.setups[0].planned.remarks)
    assert "ZERO MARK" not in text_of(_made(folder, PLATE, True))
    assert "MEASURED" not in text_of(_made(folder, PLATE, False))


# Any measurement, any place


def tables(reach: float, most: float) -> st.SearchStrategy[list[list[float]]]:
    """Tables of errors whose places rise."""
    return st.lists(st.floats(-most, most), min_size=2, max_size=5).map(
        lambda errors: [[-reach + 2 * reach * k / (len(errors) - 1), error]
                        for k, error in enumerate(errors)])


SLIDES = st.one_of(
    st.floats(0.996, 1.004).map(lambda scale: {"scale": scale}),
    st.tuples(tables(40.0, 0.03), st.floats(-50, 50)).map(
        lambda both: {"errors": both[0], "errors-zero": both[1]}),
)


@given(SLIDES, SLIDES, SLIDES, st.floats(-0.4, 0.4),
       st.lists(st.tuples(*[st.floats(-60, 60)] * 3), min_size=1, max_size=5))
@settings(max_examples=40, deadline=None)
def test_what_is_told_is_undone_by_the_reader(
    x: dict[str, Any], y: dict[str, Any], z: dict[str, Any], squareness: float,
    places: list[tuple[float, float, float]],
) -> None:
    """Writer and reader, each by its own reckoning, agree on every place to a millionth of a mm."""
    machine = Machine.model_validate(machine_file(
        {"x": x, "y": y, "z": z, "squareness": squareness}))
    sent, slides = sent_by(machine), slides_of(machine)
    if slides is None:
        return
    told = np.array([[sent.told(0, a + sent.lean * b), sent.told(1, b), sent.told(2, c)]
                     for a, b, c in places])
    assert slides.stands(told) == pytest.approx(np.array(places), abs=1e-6)
    assert slides.told(np.array(places)) == pytest.approx(told, abs=1e-6)


@given(st.lists(st.floats(-60, 60), min_size=2, max_size=12), st.floats(0, 1),
       st.floats(-800, 800))
def test_a_head_is_told_what_the_reader_undoes(
    errors: list[float], begin: float, degrees: float
) -> None:
    step = 360.0 / len(errors)
    table = [[(k + 0.999 * begin) * step, error] for k, error in enumerate(errors)]
    head = DrivenHead.model_validate({"errors": table})
    slides = slides_of(Machine.model_validate(machine_file({"dividing": {"errors": table,
                                                                         "kind": "driven"}})))
    told = turned_to(head, degrees)
    assert slides is not None
    assert slides.turns(np.array([told]))[0] == pytest.approx(degrees, abs=1e-6)
    assert turned_to(head, 0.0) == pytest.approx(0.0, abs=1e-9)


ODD = [{"scale": 1.003}, {"scale": 0.998}, {"errors": [[-30, 0.02], [5, 0.0], [30, 0.03]]}]


@pytest.mark.parametrize("style", ["incremental", "absolute", "radius", "none"])
@pytest.mark.parametrize("measured", [
    {"x": ODD[0], "y": ODD[0]}, {"x": ODD[0], "y": ODD[1], "z": ODD[1]},
    {"squareness": 0.4}, {"x": ODD[2], "y": ODD[1]}, {"y": ODD[2], "z": ODD[2]},
])
def test_circles_stay_circles_within_the_tolerance(style: str, measured: dict[str, Any]) -> None:
    """In every plane, however arcs are written: the cutter keeps to the circle meant."""
    machine = Machine.model_validate(machine_file(measured) | {"arcs": {"style": style}})
    limit = 0.0016 if style != "none" else 0.0035
    for (a, b), start, arc, radius in (
        ((0, 1), (18.0, -3.0, 10.0), Arc(100, (6.0, -3.0), False, z=8.0, full=True), 12.0),
        ((0, 1), (18.0, -3.0, 10.0), Arc(100, (6.0, -3.0), True, x=6.0, y=9.0), 12.0),
        ((2, 0), (18.0, 7.0, 10.0), Arc(100, (10.0, 14.0), True, x=14.0, z=14.0, plane="ZX"), 4.0),
        ((1, 2), (18.0, 0.0, 14.0), Arc(100, (4.0, 14.0), False, y=4.0, z=18.0, plane="YZ"), 4.0),
    ):
        x, y, z = start
        moves = (Rapid(z=40.0), Rapid(x=x, y=y), Rapid(z=z + 1), Feed(100, z=z), arc, Rapid(z=40.0))
        section = Section(message("round"), 0, "c", 1, message("c"), 2000, moves)
        [program] = write_programs(SetupMoves("t", (section,), "Z", 40.0), machine, stem="t")
        read = read_program(program.text, machine)
        assert not [one for one in read.findings if one.grave]
        way = chords(read.motion, 0.0002)
        ends = way.end[read.motion.kind[way.piece] != 0]
        off = np.abs(np.hypot(ends[:, a] - arc.centre[0], ends[:, b] - arc.centre[1]) - radius)
        assert len(off) > 20
        assert off.max() < limit, (a, b)
        first, last = np.array(start), ends[-1]
        goal = [here if there is None else there
                for here, there in zip(first, (arc.x, arc.y, arc.z), strict=True)]
        assert last == pytest.approx(goal, abs=0.0009)


# Come to from one side


@given(st.lists(st.tuples(st.integers(-9, 9), st.integers(-9, 9)), min_size=1, max_size=8),
       st.lists(st.integers(0, 7), max_size=3))
def test_every_hole_is_come_to_from_smaller_places(
    places: list[tuple[int, int]], pauses: list[int]
) -> None:
    """By at least ten times what is lost, on both axes, and at the height moved at."""
    moves: list[Move] = [Rapid(z=5.0)]
    for number, (x, y) in enumerate(places):
        if number in pauses:
            moves.append(Pause(message("look")))
        moves.append(Drill(x / 2, y / 2, 0.5, -1.0, 50.0, 5.0))
    section = Section(message("holes"), 0, "c", 1, message("c"), 2000, tuple(moves))
    lossy = Machine.model_validate(machine_file({"x": {"lash": 0.02}, "y": {"backlash": 0.05}}))
    made = come_to_from_one_side(section, lossy).moves
    assert [move for move in made if not isinstance(move, Rapid)] == [
        move for move in moves if not isinstance(move, Rapid)]
    engaged = [-math.inf, -math.inf]  # How far each axis has come up since it last went down.
    here: list[float | None] = [None, None]
    for move in made:
        if isinstance(move, Pause):
            here = [None, None]
        for axis, there in enumerate((getattr(move, "x", None), getattr(move, "y", None))):
            now = here[axis]
            if there is None:
                continue
            if now is None or there < now:
                engaged[axis] = 0.0
            else:
                engaged[axis] += there - now
            here[axis] = there
        if isinstance(move, Drill):
            assert min(engaged) >= 0.4999
    assert come_to_from_one_side(section, Machine.model_validate(machine_file({}))) is section


# What may be said


@pytest.mark.parametrize(("word", "said"), [
    ({"x": {"scale": 1.04}}, "set up wrongly"),
    ({"y": {"scale": 0.9}}, "set up wrongly"),
    ({"z": {"scale": 0.0}}, "set up wrongly"),
    ({"x": {"errors": [[0, 0], [10, 0.01], [10, 0.02]]}}, "must rise"),
    ({"x": {"errors": [[0, 0], [10, 0.2]]}}, "more than any screw"),
    ({"x": {"errors": [[0, 0.1]]}}, "two places or more"),
    ({"x": {"errors": [[0, 0], [9, 0.01]], "scale": 1.001}}, "cannot both hold"),
    ({"x": {"lash": 0.02, "backlash": 0.03}}, "are the same"),
    ({"x": {"lash": 2.0}}, "less than or equal to 0.5"),
    ({"squareness": 30.0}, "less than or equal to 0.5"),
    ({"dividing": {"kind": "driven", "errors": [[0, 0], [180, 20], [90, 5]]}}, "must rise"),
    ({"dividing": {"kind": "driven", "errors": [[0, 0], [400, 5]]}}, "in one turn"),
    ({"dividing": {"kind": "driven", "errors": [[0, 0], [180, 1200]]}}, "any dividing head"),
    ({"dividing": {"kind": "driven", "errors": [[0, 0], [359, 500]]}}, "any screw or worm"),
])
def test_a_mistyped_measurement_is_refused(word: dict[str, Any], said: str) -> None:
    with pytest.raises(ValidationError, match=said):
        Machine.model_validate(machine_file(word))


def test_each_is_refused_with_its_place_in_the_file(tmp_path: Path) -> None:
    path = tmp_path / "mill.yaml"
    path.write_text("name: mill\ndescribes: a mill\nx:\n  scale: 1.04\nsquareness: 2\n")
    with pytest.raises(Refused) as no:
        read_machine(path)
    assert [fault.place.line for fault in no.value.faults] == [4, 5]


@pytest.mark.parametrize(("word", "named"), [
    ({"squareness": 0.03}, "squareness"),
    ({"y": {"errors": [[0, 0], [50, 0.01]]}}, "y.errors"),
])
def test_repeats_that_differ_from_place_to_place_are_not_called(
    word: dict[str, Any], named: str
) -> None:
    calls = {"subprograms": {"use": True}}
    machine = Machine.model_validate(machine_file(word | calls))
    [(path, said, _)] = contradictions(machine)
    assert path == ("subprograms", "use")
    assert named in said
    assert not list(contradictions(Machine.model_validate(machine_file(
        {"x": {"scale": 1.0004}} | calls))))


def test_travel_is_counted_in_the_machines_own(folder: Path) -> None:
    """The figure told is what the slide is told: less than the work by the scale."""
    plain, put_right = _made(folder, PLATE, False), _made(folder, PLATE, True)

    def travel(proved: Proved) -> float:
        return next(proof.figure for proof in proved.setups[0].proofs
                    if str(proof.id) == "motion.travel: Y")

    assert travel(put_right) == pytest.approx(
        (travel(plain) + 0.5) / SCALE / math.cos(math.radians(SQUARENESS)), abs=1e-3)


def test_what_was_not_measured_changes_nothing() -> None:
    """Words that say nothing was off give the same bytes as none at all."""
    section = Section(message("all"), 0, "c", 1, message("c"), 2000, (
        Rapid(z=5.0), Rapid(x=1.2345, y=-3.3), Index(33.3333, 1), Feed(50, z=-0.1234),
        Arc(50, (0.0, -3.3), True, full=True), Rapid(z=5.0), Drill(4, 4, 1, -1, 50, 5, peck=0.3)))
    setup = SetupMoves("t", (section,), "Z", 5.0)
    still = {"x": {"scale": 1.0, "errors": []}, "squareness": 0.0,
             "dividing": {"kind": "driven", "errors": []}}
    first, second = (write_programs(setup, Machine.model_validate(machine_file(word)), stem="t")
                     for word in ({}, still))
    assert first == second
    assert replace(first[0], file="t") == replace(second[0], file="t")
