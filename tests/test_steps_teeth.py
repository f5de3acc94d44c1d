"""Tooth cutting: run-in, passes, order, trial pause, restart, and every way a head can stand."""

from __future__ import annotations

import itertools
import math
import re
from dataclasses import dataclass

import pytest
import shapely
from arrangements import WAYS
from hypothesis import given
from hypothesis import strategies as st
from sampling import sampled
from workshop import DRIVEN, PLATES, arranged, strokes, teeth

from camgen.faults import Refused
from camgen.layout import ToothLayout
from camgen.moves import Feed, Index, Pause, Rapid
from camgen.plan import PlannedSetup
from camgen.shop.machine import SignedAxis
from camgen.steps.head.around_stack import chord_reach
from camgen.steps.head.cut_teeth_words import pass_depths
from camgen.tolerances import ZERO_ALONG, ZERO_INFEED

# Third wheel, 75 teeth of module 0.14 with a pinion of 10 (BS 978-2): whole depth, mm.
WHOLE_DEPTH = 0.444
CUTTER = 10.0  # radius, mm
CLEARANCE = 0.5


def stack(planned: PlannedSetup) -> ToothLayout:
    assert isinstance(planned.layout, ToothLayout)
    return planned.layout


@dataclass(frozen=True)
class Cut:
    """One fed move through the stack: which space, at what depth, from where to where."""

    space: int
    depth: float
    begin: float
    finish: float


def cuts(planned: PlannedSetup) -> list[Cut]:
    """What is cut, by a reading of the moves that knows only the arrangement's meaning."""
    layout = stack(planned)
    along, infeed = layout.arrangement.along, layout.arrangement.infeed
    column = {"X": 0, "Y": 1, "Z": 2}
    signs = {"+": 1.0, "-": -1.0}
    found = []
    space = 0
    moves = planned.moves.sections[0].moves
    for move in moves:
        if isinstance(move, Index):
            space = move.space
    space = 0
    at = [math.nan] * 3
    for move in moves:
        if isinstance(move, Index):
            space = move.space
        if not isinstance(move, Rapid | Feed):
            continue
        before = list(at)
        for axis, value in enumerate((move.x, move.y, move.z)):
            at[axis] = at[axis] if value is None else value
        if isinstance(move, Feed):
            coordinate = signs[infeed[0]] * at[column[infeed[1]]]
            tip = layout.tooth.sizes.tip_diameter / 2
            depth = coordinate if layout.zero == "touch" else coordinate + tip + CUTTER
            found.append(
                Cut(
                    space,
                    depth,
                    signs[along[0]] * before[column[along[1]]],
                    signs[along[0]] * at[column[along[1]]],
                )
            )
    return found


def test_run_in_is_half_the_chord_and_what_the_zeros_may_be_off() -> None:
    """√(h(2r − h)) (plane geometry): 2.947 mm for a disc of 20 mm at the depth of this wheel."""
    for cut in cuts(teeth("passes: 2")):
        deep = cut.depth + ZERO_INFEED
        reach = math.sqrt(deep * (2 * CUTTER - deep))
        assert cut.begin == pytest.approx(-reach - ZERO_ALONG, abs=0.01)
    assert chord_reach(WHOLE_DEPTH, CUTTER) == pytest.approx(2.947, abs=5e-4)


@pytest.mark.parametrize("passes", [1, 2, 5])
@pytest.mark.parametrize("zero", ["touch", "axis"])
@pytest.mark.parametrize(("along", "infeed", "across"), sampled(WAYS, 6))
def test_the_way_in_is_clear_with_both_zeros_off_and_no_longer_than_that_asks(
    passes: int, zero: str, along: SignedAxis, infeed: SignedAxis, across: str
) -> None:
    """Held against shapely: where the disc goes in at the rapid, both zeros off towards the work,
    it meets nothing; a hundredth and a half nearer it would."""
    planned = teeth(f"passes: {passes}", machine=arranged(along, infeed, across), zero=zero)
    layout = stack(planned)
    outside = layout.blank_radius - layout.tooth.sizes.tip_diameter / 2
    work = shapely.box(0.0, -5.0, layout.stack_to, outside)
    found = cuts(planned)[:passes]
    assert len(found) == passes
    air = way = 0.0
    for number, cut in enumerate(found):
        # The first pass and those that begin before the face; others go back through the groove.
        if number and cut.begin > 0:
            continue
        low = shapely.Point(cut.begin + ZERO_ALONG, CUTTER - cut.depth - ZERO_INFEED)
        assert not low.buffer(CUTTER - 1e-4, quad_segs=4000).intersects(work)
        nearer = shapely.Point(cut.begin + ZERO_ALONG + 0.015, CUTTER - cut.depth - ZERO_INFEED)
        assert nearer.buffer(CUTTER, quad_segs=4000).intersects(work)
        true = math.sqrt(cut.depth * (2 * CUTTER - cut.depth))
        air, way = air - cut.begin - true, way + cut.finish - cut.begin
    assert air < 0.05 * way


@given(st.floats(0.01, 3.0), st.floats(5.0, 30.0))
def test_at_the_chords_reach_a_disc_just_touches_the_face(depth: float, radius: float) -> None:
    """Held against shapely: a disc so far before the face meets only its edge."""
    reach = chord_reach(depth, radius)
    stack = shapely.box(0.0, -50.0, 50.0, 0.0)
    for off, met in ((1.001, False), (0.98, True)):
        disc = shapely.Point(-reach * off, radius - depth).buffer(radius, quad_segs=2000)
        assert disc.intersects(stack) == met


def test_the_last_blank_is_cut_to_full_depth_before_the_cutter_is_lifted() -> None:
    planned = teeth("passes: 3")
    layout = stack(planned)
    assert layout.stack_to == pytest.approx(8 * 0.25)
    for cut in cuts(planned):
        assert layout.stack_to < cut.finish < layout.backing_to


def test_every_space_is_cut_once_at_its_angle_to_full_depth() -> None:
    planned = teeth("passes: 1")
    found = cuts(planned)
    assert [cut.space for cut in found] == list(range(1, 76))
    assert {round(cut.depth, 3) for cut in found} == {WHOLE_DEPTH}
    angles = [
        move.degrees
        for move in planned.moves.sections[0].moves
        if isinstance(move, Index) and move.space
    ]
    for number, angle in enumerate(angles):
        assert angle == pytest.approx(360.0 * number / 75, abs=0.0005)


def test_each_space_is_finished_before_the_next_or_each_round_before_the_next() -> None:
    by_space = [(cut.space, round(cut.depth, 3)) for cut in cuts(teeth("passes: 2"))]
    by_round = [
        (cut.space, round(cut.depth, 3)) for cut in cuts(teeth("passes: 2, order: each-round"))
    ]
    half = round(WHOLE_DEPTH / 2, 3)
    assert by_space[:4] == [(1, half), (1, WHOLE_DEPTH), (2, half), (2, WHOLE_DEPTH)]
    assert by_round[:2] == [(1, half), (2, half)]
    assert by_round[75:77] == [(1, WHOLE_DEPTH), (2, WHOLE_DEPTH)]
    assert sorted(by_space) == sorted(by_round)


@pytest.mark.parametrize("order", ["each-space", "each-round"])
def test_the_pause_comes_when_the_trial_spaces_are_at_full_depth(order: str) -> None:
    planned = teeth(f"passes: 2, trial-spaces: 3, order: {order}")
    moves = planned.moves.sections[0].moves
    pauses = [number for number, move in enumerate(moves) if isinstance(move, Pause)]
    assert len(pauses) == 1
    before, after = moves[: pauses[0]], moves[pauses[0] :]
    done = [move.space for move in before if isinstance(move, Index)]
    assert done[-1] == 3
    assert next(move.space for move in after if isinstance(move, Index)) == 4
    sizes = stack(planned).tooth.sizes
    pause = moves[pauses[0]]
    assert isinstance(pause, Pause)
    assert f"{sizes.chordal_thickness:.3f}" in pause.message
    # The cutter stands clear by the safe height while somebody measures.
    assert before[-1] == Rapid(y=planned.moves.retract_to)


def test_the_cutter_is_out_of_the_metal_whenever_the_head_turns() -> None:
    planned = teeth("passes: 2, trial-spaces: 2")
    at = 0.0
    for move in planned.moves.sections[0].moves:
        if isinstance(move, Rapid | Feed) and move.y is not None:
            at = move.y
        if isinstance(move, Index):
            assert at <= -CLEARANCE


def test_the_first_space_is_approached_from_the_same_side_as_the_rest() -> None:
    for words, from_space in itertools.product(("", "passes: 3, order: each-round"), (None, 7)):
        turns = [
            move.degrees
            for move in teeth(words, from_space=from_space).moves.sections[0].moves
            if isinstance(move, Index)
        ]
        assert all(before < after for before, after in itertools.pairwise(turns))
        assert turns[1] - turns[0] == DRIVEN.dividing.take_up  # type: ignore[union-attr]


def test_work_begins_again_at_the_space_where_the_cutter_broke() -> None:
    assert [cut.space for cut in cuts(teeth("passes: 1", from_space=70))] == list(range(70, 76))
    again = [cut.space for cut in cuts(teeth("passes: 2, order: each-round", from_space=70))]
    # Nobody knows which round it was: the first begins there, the rest are whole.
    assert again == [*range(70, 76), *range(1, 76)]
    with pytest.raises(Refused, match="there is no space 76"):
        teeth(from_space=76)


def test_a_depth_correction_deepens_every_last_pass() -> None:
    deeper = cuts(teeth("passes: 2, depth-correction: 0.012"))
    assert max(cut.depth for cut in deeper) == pytest.approx(WHOLE_DEPTH + 0.012, abs=5e-4)


@given(st.floats(0.05, 3.0), st.integers(1, 12), st.floats(0.01, 0.9))
def test_passes_go_deeper_each_time_and_end_at_the_whole_depth(
    whole: float, passes: int, share: float
) -> None:
    for last in (None, share * whole):
        depths = pass_depths(whole, passes, last)
        assert len(depths) == passes
        assert depths[-1] == pytest.approx(whole)
        assert all(b > a for a, b in itertools.pairwise((0.0, *depths)))
        if last is not None and passes > 1:
            assert depths[-1] - depths[-2] == pytest.approx(last)


@pytest.mark.parametrize("zero", ["touch", "axis"])
@pytest.mark.parametrize(
    ("along", "infeed", "across"),
    [
        ("-X", "+Y", "Z"),
        ("+X", "-Y", "Z"),
        ("+Y", "+X", "Z"),
        ("-Z", "+X", "Y"),
        ("-X", "-Z", "Y"),
    ],
)
def test_the_same_cuts_are_made_however_the_head_stands(
    along: str, infeed: str, across: str, zero: str
) -> None:
    machine = arranged(along, infeed, across)  # type: ignore[arg-type]
    planned = teeth("passes: 2", machine=machine, zero=zero)
    plain = cuts(teeth("passes: 2"))
    for cut, expected in zip(cuts(planned), plain, strict=True):
        assert cut.space == expected.space
        assert cut.depth == pytest.approx(expected.depth)
        assert cut.begin == pytest.approx(expected.begin)
        assert cut.finish == pytest.approx(expected.finish)
    assert planned.moves.retract_axis == infeed[1]
    # One axis at a time, always; and the axis of centre height is only ever put to 0.
    column = "XYZ".index(across)
    for stroke in strokes(planned.moves.sections[0].moves):
        words = [stroke.move.x, stroke.move.y, stroke.move.z]
        assert sum(word is not None for word in words) == 1
        assert words[column] in (None, 0.0)


@pytest.mark.parametrize("along", ["+X", "-X", "+Y", "-Y"])
@pytest.mark.parametrize("hand", [1, -1])
@pytest.mark.parametrize("spindle", ["clockwise", "anticlockwise"])
def test_climb_is_said_where_the_cutter_runs_left_of_the_work(
    along: str, hand: int, spindle: str
) -> None:
    """With M3 a cutter left of the work (as for G41, ISO 6983-1) climbs; with M4 it does not."""
    way = {"+X": (1, 0), "-X": (-1, 0), "+Y": (0, 1), "-Y": (0, -1)}
    dx, dy = way[along]
    right = (dy * hand, -dx * hand)  # the work's side: the cutter goes in towards it
    infeed = next(name for name, vector in way.items() if vector == right)
    planned = teeth(f"spindle: {spindle}", machine=arranged(along, infeed, "Z"))  # type: ignore[arg-type]
    climbs = (hand == 1) == (spindle == "clockwise")
    said = [remark for remark in planned.remarks if "milling" in remark]
    assert said[0].startswith(f"cut teeth: {'climb' if climbs else 'conventional'} milling")
    assert planned.moves.sections[0].clockwise == (spindle == "clockwise")


@pytest.mark.parametrize(("spindle", "backlash", "snatches"), [
    ("clockwise", 0.02, True), ("clockwise", 0.0, False), ("anticlockwise", 0.02, False)])
def test_climb_milling_on_an_axis_with_backlash_is_told(
    spindle: str, backlash: float, snatches: bool
) -> None:
    machine = arranged("+X", "-Y", "Z")
    slack = machine.axis("X").model_copy(update={"backlash": backlash})
    planned = teeth(f"spindle: {spindle}", machine=machine.model_copy(update={"x": slack}))
    assert any("may snatch" in remark for remark in planned.remarks) is snatches
    # Nobody has to be told how a spindle lies that stands along Z.
    assert not any("spindle must lie" in remark for remark in planned.remarks)


def test_where_the_spindle_must_lie_otherwise_and_nobody_says_it_can_that_is_told() -> None:
    planned = teeth(machine=arranged("+X", "-Z", "Y"))
    assert sum("spindle must lie along Y, not along Z" in one for one in planned.remarks) == 1


def test_a_cutter_that_would_reach_what_stands_behind_the_backing_is_refused() -> None:
    """It reaches 2.947 mm past its axis: 1.5 mm of backing are too little before a thick arbor."""
    from workshop import TEETH, WHEEL, read

    from camgen.plan import plan_job

    text = WHEEL + (TEETH % ("touch", "")).replace("arbor: 4", "arbor: 10.9")
    with pytest.raises(Refused, match="behind the blanks to run out") as no:
        plan_job(read(text), DRIVEN)
    assert "backing: 3." in no.value.faults[0].remedy
    enough = text.replace("backing: 1.5", no.value.faults[0].remedy.split("`")[1])
    assert plan_job(read(enough), DRIVEN).setups


@pytest.mark.parametrize("collar", [18.2, 18.8, 19.2, 19.9])
def test_a_collar_that_comes_near_the_blank_is_told_how_near_and_how_wide_it_may_be(
    collar: float,
) -> None:
    """On a disc of 20 mm in spaces 0.444 mm deep, with the usual 0.5 mm to be kept clear."""
    from workshop import TEETH, WHEEL, read

    from camgen.plan import plan_job

    text = WHEEL + TEETH % ("touch", "")
    assert plan_job(read(text), DRIVEN).setups
    with_collar = re.sub(r"(kind: form-disc, )", rf"\1arbor: {collar}, ", text)
    with pytest.raises(Refused, match="collar of") as no:
        plan_job(read(with_collar), DRIVEN)
    fault = next(one for one in no.value.faults if "collar of" in one.message)
    away = 10.0 - collar / 2 - WHOLE_DEPTH
    assert (f"would come to {away:.2f} mm" in fault.message) == (away > 0)
    assert ("would touch" in fault.message) == (away <= 0)
    offered = fault.remedy.split(" with the cutter")[0]
    assert offered.startswith("arbor: ")
    plan_job(read(with_collar.replace(f"arbor: {collar},", f"{offered},")), DRIVEN)


def test_a_head_turned_by_hand_is_told_its_settings() -> None:
    """75 spaces on 40:1: 40/75 of a turn is 8 holes on a 15-hole circle."""
    planned = teeth(machine=PLATES)
    indexes = [move for move in planned.moves.sections[0].moves if isinstance(move, Index)]
    assert len(indexes) == 75
    assert all(move.space and move.setting for move in indexes)
    assert "8 holes" in indexes[1].setting
    assert "15" in indexes[1].setting


def test_trial_spaces_cut_short_are_cut_again_with_the_others() -> None:
    for order in ("each-space", "each-round"):
        planned = teeth(f"passes: 2, trial-spaces: 3, trial-short: 0.02, order: {order}")
        found = cuts(planned)
        trial = [cut for cut in found if cut.depth == pytest.approx(WHOLE_DEPTH - 0.02, abs=5e-4)]
        assert [cut.space for cut in trial] == [1, 2, 3]
        deepest = {
            space: max(cut.depth for cut in found if cut.space == space) for space in range(1, 76)
        }
        assert all(depth == pytest.approx(WHOLE_DEPTH, abs=5e-4) for depth in deepest.values())
        moves = planned.moves.sections[0].moves
        pause = next(number for number, move in enumerate(moves) if isinstance(move, Pause))
        turns = [move.degrees for move in moves if isinstance(move, Index)]
        assert next(m.space for m in moves[pause:] if isinstance(m, Index) and m.space) == (
            1 if order == "each-space" else 4
        )
        # The head is brought up to its place anew after the pause, but never turned back.
        assert all(b > a for a, b in itertools.pairwise(turns))
    with pytest.raises(Refused, match="no trial spaces"):
        teeth("trial-short: 0.02")


RATCHET = """
job: ratchet wheel
material: brass
wheel: {teeth: 45, module: 0.20, form: ratchet, front: %s, depth: 0.35, thickness: 0.5, bore: 2.2}
cutters:
  teeth: {kind: form-disc, diameter: 20, flutes: 16,
          made-for: {form: ratchet, module: 0.20, teeth: 45, front: %s, depth: 0.35}}
setups:
  - name: teeth
    dividing: {stack: 2, backing: 1.5, arbor: 6}
    steps:
      - cut-teeth: {cutter: teeth%s}
"""


def test_undercut_teeth_are_cut_along_their_fronts_so_that_the_disc_leaves_their_tips() -> None:
    """An undercut front leans over its space by h·tan β about: straight in, the disc would take it.

    Held against shapely: the space moved outwards by any part of the depth along the infeed lies in
    itself; moved along the radius an undercut one does not.
    """
    from workshop import read

    from camgen.plan import plan_job
    from camgen.teeth.forms import wheel_tooth

    for front in (0, 8):
        tooth = wheel_tooth("ratchet", 45, 0.2, None, front=front, depth=0.35)
        space = shapely.Polygon(tooth.space(0.0005, 1.0))
        tip = shapely.Point(0, 0).buffer(tooth.sizes.tip_diameter / 2, quad_segs=200)
        straight, along = (max(
            shapely.affinity.translate(
                space, out * math.cos(turn), out * math.sin(turn)).intersection(tip)
            .difference(space).area for out in (0.05, 0.15, 0.3))
            for turn in (0.0, math.radians(tooth.ways[0].turn)))
        for passes in ("", ", passes: 1", ", passes: 2"):
            assert plan_job(read(RATCHET % (front, front, passes)), DRIVEN).setups
        assert straight > 0.001 if front else straight < 1e-5
        assert along < 1e-5
