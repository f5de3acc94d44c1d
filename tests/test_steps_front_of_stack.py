"""What stands on the arbor before and behind a stack: words, planning clear of it, proof, sheet."""

from __future__ import annotations

import itertools
import math
from pathlib import Path

import pytest
import shapely
from arrangements import WAYS
from hypothesis import given
from hypothesis import strategies as st
from sampling import sampled
from workshop import DRIVEN, WHEEL, arranged, read

from camgen.faults import Refused
from camgen.job.checks.whole_job import job_faults
from camgen.job.on_arbor import ArborBody, Tailstock, bodies_before, cylinder
from camgen.job.rack import cutter_numbers
from camgen.job.reading import JobFile
from camgen.layout import ToothLayout, tooth_layout
from camgen.make.chain import Proved, proved_job
from camgen.make.told.report import notes_of, times_of
from camgen.make.told.sheet_texts import sheet_of
from camgen.plan import PlannedSetup, plan_job
from camgen.post.writer import write_programs
from camgen.proof.evidence import gather
from camgen.proof.head.around_head import prove_around_head
from camgen.reader import read_program
from camgen.shop.machine import Machine
from camgen.steps.head.around_stack import BENEATH, Sweep
from camgen.words import languages, words

SETUP = """
setups:
  - name: teeth
    dividing: {stack: 8, backing: 1.5, %s}
    steps:
      - cut-teeth: {cutter: teeth}
"""
# Root diameter of the wheel, mm, and how far before the free face the cutter starts.
# The start is half a chord off, and as much as both zeros may be off: half the chord at a depth
# 0.03 mm greater, and 0.05 mm.
ROOT, START = 10.0600, math.sqrt(0.47527 * (20 - 0.47527)) + 0.05127


def job(said: str, head: str = "") -> JobFile:
    return read(f"{head}{WHEEL}" + SETUP % said)


def planned(said: str, machine: Machine = DRIVEN) -> PlannedSetup:
    return plan_job(job(said), machine).setups[0]


def refusal(said: str) -> str:
    with pytest.raises(Refused) as no:
        plan_job(job(said), DRIVEN)
    return "\n".join(f"{fault.place.path} {fault.message} {fault.remedy}"
                     for fault in no.value.faults)


# --- the sweep ------------------------------------------------------------------------------------

lengths = st.floats(0.1, 40.0)


@given(st.floats(2.0, 20.0), st.floats(-20.0, -0.5), lengths, st.floats(1.0, 10.0), lengths,
       st.floats(-60.0, 60.0), st.floats(0.2, 40.0))
def test_room_is_what_the_disc_leaves(
    radius: float, start: float, run: float, lowest: float, length: float, begin: float,
    high: float,
) -> None:
    """Held against shapely: the disc as a circle of many corners, along and straight out."""
    sweep = Sweep(radius, start, start + run, lowest)
    body = cylinder("nut", begin, begin + length, high)
    up = lowest + radius
    way = shapely.LineString([(start, up + 200), (start, up), (start + run, up),
                              (start + run, up + 200)])
    section = shapely.box(begin, -high, begin + length, high)
    apart = way.distance(section) - radius
    room = sweep.room(body)
    if high + BENEATH <= lowest:
        assert room == math.inf
        assert apart >= BENEATH - 1e-9
    elif room > 1e-6:
        assert apart > 0
    elif room < -1e-6:
        assert apart < BENEATH + 1e-9


@given(st.floats(1.0, 12.0), st.floats(20.0, 120.0), st.floats(0.5, 20.0), st.floats(0.5, 8.0))
def test_a_centre_is_a_cone_as_wide_as_it_must_be(
    centre: float, cone: float, room: float, nut: float
) -> None:
    """tan(half the angle) is its rise; slices hold all of it."""
    bodies = bodies_before((ArborBody(nut=nut, length=3.0),),
                           Tailstock(**{"centre": centre, "cone": cone, "body": 20.0,
                                        "from": 3.0 + room}))
    assert bodies[0].end == 0.0
    assert bodies[-1].end == pytest.approx(-3.0 - room)
    for outer, inner in itertools.pairwise(reversed(bodies)):
        assert outer.end == pytest.approx(inner.begin)
    points = [body for body in bodies if body.near != body.far]
    if nut < centre:
        (point,) = points
        assert point.far == pytest.approx(min(nut, centre) / 2)
        assert point.near - point.far == pytest.approx(
            (point.end - point.begin) * math.tan(math.radians(cone / 2)))
        held = shapely.union_all([shapely.Polygon(part.profile) for part in point.slices()])
        assert held.buffer(1e-9).covers(shapely.Polygon(point.profile))
    else:
        assert not points


# --- planning -------------------------------------------------------------------------------------

@pytest.mark.parametrize("name", ["nut", "washer", "spacer", "driver", "collet", "chuck"])
def test_what_is_lower_than_the_groove_may_stand_on_the_free_face(name: str) -> None:
    planned(f"arbor: 4, front: {{{name}: {ROOT - 2 * BENEATH - 0.001:.4f}, length: 30}}")
    told = refusal(f"arbor: 4, front: {{{name}: {ROOT + 0.01:.4f}, length: 30}}")
    assert f"through the {name} before the stack" in told
    assert f"at most {ROOT - 2 * BENEATH:.2f} mm" in told
    assert "setups[0].dividing.front" in told


@pytest.mark.parametrize("wide", [ROOT + 0.1, 14.0, 30.0, 60.0])
def test_what_is_higher_must_stand_beyond_the_disc(wide: float) -> None:
    """Its reach at a height: half the chord there before a start half a chord before the face."""
    over = min(wide / 2 - ROOT / 2, 10.0)
    off = START + math.sqrt(over * (20.0 - over)) + 0.5
    thin = "arbor: 4, front: [{spacer: 5, length: %.3f}, {driver: %.3f, length: 8}]"
    planned(thin % (off + 0.02, wide))
    assert "through the driver before the stack" in refusal(thin % (off - 0.02, wide))
    far = "arbor: 4, tailstock: {centre: 4, body: %.3f, from: %.3f}"
    planned(far % (wide, off + 0.02))
    assert "setups[0].dividing.tailstock" in refusal(far % (wide, off - 0.02))


def test_what_is_behind_is_held_clear_thing_by_thing() -> None:
    thin = "behind: [{arbor: 5, length: %.3f}, {chuck: 40, length: 30}]"
    # Behind the last blank by the run-out, the disc's whole width and the clearance, less backing.
    off = 0.1 + 10.0 + 0.5 - 1.5
    planned(thin % (off + 0.02))
    told = refusal(thin % (off - 0.02))
    assert "through the chuck behind the stack" in told
    assert "setups[0].dividing.behind" in told


def test_the_safe_height_is_above_what_stands_highest() -> None:
    def highest(said: str) -> float:
        moves = planned(said).moves.sections[0].moves
        (first,) = set(moves[:1])
        return abs(first.y)  # type: ignore[union-attr]

    tip = 10.9485 / 2
    assert highest("arbor: 4") == pytest.approx(5.0)
    assert highest("arbor: 4, tailstock: {centre: 4, body: 60, from: 40}") == pytest.approx(
        30.0 - tip + 0.5, abs=1e-3)




@pytest.mark.parametrize("arrangement", sampled(WAYS, 6, single=True), ids="".join)
def test_in_every_arrangement_the_proof_sees_what_stands_before(
    arrangement: tuple[str, str, str]
) -> None:
    """Planned beside a thin nut the cutter is clear; where a thicker one stands the proof fails."""
    machine = arranged(*arrangement)  # type: ignore[arg-type]
    setup = planned("arbor: 4, front: {nut: 5, length: 4}", machine)
    programs = [read_program(one.text, machine, one.file)
                for one in write_programs(setup.moves, machine, stem="x")]

    def failed(said: str) -> set[str]:
        other = job(said)
        layout = tooth_layout(other.job, other.job.on_head[0], machine)
        seen = gather("teeth", other.job, machine, layout, setup.moves, programs,
                      {cutter_numbers(other.job)["teeth"]: other.job.cutters["teeth"]})
        return {proof.name for proof in prove_around_head(seen) if not proof.holds}

    before = "cutter clear of what stands before the stack"
    assert failed("arbor: 4, front: {nut: 5, length: 4}") == set()
    assert before in failed("arbor: 4, front: {nut: 11, length: 4}")
    assert before in failed("arbor: 4, tailstock: {centre: 4, body: 40, from: 10}")
    assert "cutter clear of what stands behind the backing" in failed(
        "behind: [{arbor: 4, length: 2}, {chuck: 40, length: 3}]")


# --- words ----------------------------------------------------------------------------------------

@pytest.mark.parametrize(("said", "wanted"), [
    ("front: {length: 4}", "under front has no name"),
    ("front: {nut: 5, washer: 6, length: 4}", "is called nut and washer"),
    ("front: [{nut: 5, length: 4}, {length: 4}]", "thing 2 under front has no name"),
    ("front: {nut: 0.5, length: 4}", "goes through the hole"),
    ("front: {washer: 0.8, length: 4}", "goes through the hole"),
    ("front: {arbor: 2, length: 4}", "do not go over an arbor"),
    ("front: {nut: 5, length: 4}, tailstock: {centre: 3, body: 9, from: 3.9}", "takes 4 mm"),
    ("tailstock: {centre: 9, body: 3, from: 30}", "thinner than its centre"),
    ("arbor: 4, behind: {arbor: 4, length: 9}", "said twice"),
])
def test_words_that_cannot_be_are_told_where_they_stand(said: str, wanted: str) -> None:
    faults = job_faults(job(said), DRIVEN)
    assert any(wanted in fault.message for fault in faults), faults
    assert all(fault.place.line > 0 for fault in faults)


@pytest.mark.parametrize(("said", "wanted"), [
    ("front: 5", "front"),
    ("front: {nut: 5}", "length"),
    ("front: {nuts: 5, length: 4}", "did you mean nut"),
    ("front: [{nut: -5, length: 4}]", "nut"),
    ("tailstock: {centre: 3, body: 9}", "from"),
    ("tailstock: {centre: 3, body: 9, start: 4}", "start is not a word"),
])
def test_words_of_the_wrong_form_are_told_once(said: str, wanted: str) -> None:
    with pytest.raises(Refused) as no:
        job(said)
    assert any(wanted in f"{fault.place.path} {fault.message} {fault.remedy}"
               for fault in no.value.faults)
    assert len(no.value.faults) <= 2


def test_inches_are_read_in_every_form() -> None:
    one = job("front: {nut: 0.2, length: 0.1}, tailstock: {centre: 0.1, body: 0.3, from: 1}",
              "units: inch\n")
    several = job("front: [{nut: 0.2, length: 0.1}]", "units: inch\n")
    for said in (one, several):
        dividing = said.job.setups[0].dividing
        assert dividing is not None
        assert dividing.front is not None
        front = dividing.front if isinstance(dividing.front, ArborBody) else dividing.front[0]
        assert (front.nut, front.length) == (pytest.approx(5.08), pytest.approx(2.54))
    tailstock = one.job.setups[0].dividing.tailstock  # type: ignore[union-attr]
    assert tailstock is not None
    assert tailstock.starts == pytest.approx(25.4)


# --- told -----------------------------------------------------------------------------------------

def made(tmp_path: Path, said: str) -> Proved:
    file = tmp_path / "wheel.yaml"
    text = WHEEL.replace("job: third wheel", "job: third wheel\nmade-elsewhere: [bore, crossing, "
                         "outline]")
    file.write_text(text + SETUP % said, encoding="utf-8")
    return proved_job(file)


def test_the_sheet_says_what_stands_there_in_every_language(tmp_path: Path) -> None:
    proved = made(tmp_path, "arbor: 4, front: [{washer: 6, length: 1}, {nut: 5, length: 3}], "
                            "tailstock: {centre: 4, body: 16, from: 16}")
    assert not proved.failed
    for language in languages():
        say = words(language)
        stock = sheet_of(proved, times_of(proved), {}, say, None).setups[0].stock
        for name in ("washer", "nut"):
            assert say("on-arbor", name) in stock
        assert "D 16" in stock  # its unit may follow later in the line
        assert "D 4 mm" in stock
    assert not any("before the stack" in note for note in notes_of(proved))


def test_what_nobody_said_is_told_as_assumed(tmp_path: Path) -> None:
    proved = made(tmp_path, "arbor: 4")
    assert any("before the stack is not said" in note for note in notes_of(proved))
    for language in languages():
        say = words(language)
        setup = sheet_of(proved, times_of(proved), {}, say, None).setups[0]
        assert say("stock", "not-said") in setup.stock
        assert any("`tailstock`" in remark for remark in setup.remarks)
    # Whoever says that nothing stands there hears no more of it.
    bare = made(tmp_path, "arbor: 4, front: []")
    assert not any("before the stack" in note for note in notes_of(bare))
    layout = bare.setups[0].planned.layout
    assert isinstance(layout, ToothLayout)
    assert layout.before == ()
