"""Tooth spaces and what stands on the head, on motion set down by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from motion_by_hand import DISC, Piece, evidence, program, stack

from camgen.dividing import divide
from camgen.layout import ToothLayout
from camgen.proof.common.head_frame import head_way
from camgen.proof.common.turning import first_told
from camgen.proof.head.around_head import prove_around_head
from camgen.proof.head.spaces import prove_spaces, space_cuts
from camgen.proof.head.teeth_in_ways import prove_teeth_in_ways
from camgen.proof.head.tooth_form import last_cuts, prove_tooth_form, swept
from camgen.proof.result import Proof
from camgen.shop.cutters import Cutter, MadeFor
from camgen.shop.machine import Arrangement, DrivenHead
from camgen.teeth.forms import wheel_tooth
from camgen.tolerances import ZERO_ALONG, ZERO_INFEED

TEETH = 75
DEPTH = stack().tooth.sizes.whole_depth
REACH = math.sqrt(DEPTH * (20 - DEPTH))
START, STOP, CLEAR = REACH + 0.5, -2.1, -0.5


def space(angle: float, depth: float = DEPTH, stop: float = STOP,
          start: float = START) -> list[Piece]:
    """Turn, in, along, straight out, back; −X goes towards the head, +Y into the metal."""
    return [
        ("index", angle), ("rapid", start, CLEAR, 0), ("rapid", None, depth, None),
        ("line", stop, None, None), ("rapid", None, CLEAR, None), ("rapid", start, None, None),
    ]


def wheel(teeth: int = TEETH) -> list[list[Piece]]:
    """All spaces, the first approached from below, and the head turned back at the end."""
    spaces = [space(round(360 * k / teeth, 3)) for k in range(teeth)]
    spaces[0] = [("index", -1.0), *spaces[0]]
    return [*spaces, [("index", 0.0)]]


def answers(
    spaces: list[list[Piece]], layout: ToothLayout | None = None, cutter: Cutter | None = None
) -> dict[str, Proof]:
    read = program([piece for one in spaces for piece in one], start=(START, CLEAR, 0))
    looked_at = evidence(layout or stack(), read, cutter=cutter)
    found = (*prove_spaces(looked_at), *prove_around_head(looked_at),
             *prove_tooth_form(looked_at), *prove_teeth_in_ways(looked_at))
    return {str(proof.id): proof for proof in found}


def failing(found: dict[str, Proof]) -> set[str]:
    return {name for name, proof in found.items() if not proof.holds}


def test_a_whole_wheel_passes_every_proof() -> None:
    assert failing(answers(wheel())) == set()


def test_the_chord_of_a_disc_of_20_mm_at_a_depth_of_0_444_mm() -> None:
    """√(h(2r − h)) = √(0.444 · 19.556) = 2.947 mm: geometry."""
    assert pytest.approx(2.947, abs=0.002) == REACH


def test_a_space_left_out_is_named() -> None:
    spaces = wheel()
    del spaces[30]
    found = answers(spaces)
    assert found["head.spaces-missing"].figure == 1
    assert found["head.spaces-missing"].where == "space 31"
    assert "head.spaces-missing" in failing(found)


def test_a_space_cut_twice_is_named() -> None:
    spaces = wheel()
    spaces.insert(31, spaces[30])
    found = answers(spaces)
    assert failing(found) == {"head.spaces-twice"}
    assert found["head.spaces-twice"].where == "space 31"


@pytest.mark.parametrize("off", [0.01, -0.01])
def test_a_space_ten_increments_beside_its_angle_is_named(off: float) -> None:
    spaces = wheel()
    spaces[30][0] = ("index", 360 * 30 / TEETH + off)
    found = answers(spaces)
    assert "head.space-angles" in failing(found)
    assert found["head.space-angles"].figure == pytest.approx(36, abs=0.5)
    assert found["head.space-angles"].where == "space 31"


def test_a_space_cut_at_the_angle_of_another_is_missing_and_doubled() -> None:
    spaces = wheel()
    spaces[30][0] = spaces[31][0]
    assert {"head.spaces-missing", "head.spaces-twice"} <= failing(answers(spaces))


@pytest.mark.parametrize("off", [0.02, -0.02])
def test_a_depth_off_by_two_hundredths_is_named_and_shows_on_the_teeth(off: float) -> None:
    spaces = wheel()
    spaces[30] = space(144.0, DEPTH + off)
    found = answers(spaces)
    assert found["head.space-depth"].figure == pytest.approx(0.02, abs=1e-6)
    form = f"head.tooth-material-{'missing' if off > 0 else 'left'}"
    assert {"head.space-depth", form} <= failing(found)
    assert found[form].figure == pytest.approx(20, abs=0.5)


def test_stopping_short_of_the_last_blanks_rear_face_is_named_with_what_is_left() -> None:
    spaces = wheel()
    spaces[30] = space(144.0, stop=-1.9)
    found = answers(spaces)
    assert failing(found) == {"head.stack-depth"}
    assert found["head.stack-depth"].figure == pytest.approx(0.1)


def test_a_disc_set_in_before_it_is_past_the_face_runs_into_it_at_the_rapid() -> None:
    spaces = wheel()
    spaces[30] = space(144.0, start=REACH - 0.2)
    found = answers(spaces)
    assert "head.rapids" in failing(found)
    # The disc's edge reaches 0.2 mm into the face, and farther where both zeros are off by as much
    # as they may be: as deep as a circle whose axis is that near.
    corner = math.hypot(REACH - 0.2 - ZERO_ALONG, 10 - DEPTH - ZERO_INFEED)
    assert found["head.rapids"].figure == pytest.approx(10 - corner, abs=1e-6)


@pytest.mark.parametrize(("near", "caught"), [(0.06, False), (0.02, True)])
def test_a_rapid_must_be_clear_with_the_zero_off_by_as_much_as_it_may_be(
        near: float, caught: bool) -> None:
    """The disc's edge is ``near`` before the face with the infeed's zero off already."""
    spaces = wheel()
    reach = math.sqrt((DEPTH + ZERO_INFEED) * (20 - DEPTH - ZERO_INFEED))
    spaces[30] = space(144.0, start=reach + near)
    assert ("head.rapids" in failing(answers(spaces))) == caught


def test_turning_back_to_a_space_is_approaching_it_from_the_wrong_side() -> None:
    spaces = wheel()
    spaces[30], spaces[31] = spaces[31], spaces[30]
    found = answers(spaces)
    assert failing(found) == {"head.approach-side"}
    assert found["head.approach-side"].where == "space 31"


def test_the_first_space_too_wants_its_backlash_taken_up() -> None:
    spaces = wheel()
    spaces[0] = spaces[0][1:]
    assert failing(answers(spaces)) == {"head.approach-side"}


def test_a_head_not_turned_back_at_the_end_is_named() -> None:
    assert failing(answers(wheel()[:-1])) == {"head.turned-back"}


def test_turning_the_head_in_the_cut_is_named() -> None:
    spaces = wheel()
    one = spaces[30]
    spaces[30] = [*one[:4], ("index", 144.5), *one[4:]]
    assert "head.clear-while-turning" in failing(answers(spaces))
    spaces[30] = [one[0], *one[1:3], ("line", STOP, None, None, {"angle_end": 144.5}), *one[4:]]
    assert "head.still-while-turning" in failing(answers(spaces))


def test_going_back_at_the_rapid_in_the_groove_just_cut_meets_no_metal() -> None:
    spaces = wheel()
    one = spaces[30]
    spaces[30] = [*one[:4], ("rapid", START, None, None), ("rapid", None, CLEAR, None)]
    assert failing(answers(spaces)) == set()
    # A tenth deeper it would.
    spaces[30] = [*one[:4], ("rapid", START, DEPTH + 0.1, None), ("rapid", None, CLEAR, None)]
    assert "head.rapids" in failing(answers(spaces))


def test_a_cut_off_centre_height_is_named() -> None:
    spaces = wheel()
    spaces[30] = [(*p[:3], 0.01) if p[0] == "rapid" else p for p in spaces[30]]
    assert "head.centre-height" in failing(answers(spaces))


def test_what_stands_behind_the_backing_must_stay_clear_of_the_disc() -> None:
    """The disc at full depth reaches to the arbor's radius within √(a(2r − a)) of its axis."""
    thin, thick = stack(), stack(arbor_radius=5.4)
    assert answers(wheel(), thin)["head.behind-backing"].holds
    found = answers(wheel(), thick)["head.behind-backing"]
    root = thick.tooth.root_radius
    nearest = math.hypot(3.5 - 2.1, root + 10 - 5.4) - 10
    assert not found.holds
    assert found.figure == pytest.approx(nearest, abs=1e-6)


def test_a_collar_as_large_as_the_cut_is_deep_touches() -> None:
    made_for = DISC.made_for
    small = Cutter(kind="form-disc", diameter=20, arbor=10, made_for=made_for)
    large = Cutter(kind="form-disc", diameter=20, arbor=19.3, made_for=made_for)
    assert answers(wheel(), cutter=small)["head.collar"].holds
    assert not answers(wheel(), cutter=large)["head.collar"].holds


def test_a_zero_on_the_works_axis_is_the_same_work() -> None:
    layout = stack(zero="axis")
    away = layout.tooth.tip_radius + 10

    def moved(piece: Piece) -> Piece:
        if piece[0] == "index" or piece[2] is None:
            return piece
        return (*piece[:2], float(piece[2]) - away, *piece[3:])  # type: ignore[arg-type]

    spaces = [[moved(piece) for piece in one] for one in wheel()]
    read = program([p for one in spaces for p in one], start=(START, CLEAR - away, 0))
    looked_at = evidence(layout, read)
    found = (*prove_spaces(looked_at), *prove_around_head(looked_at))
    assert all(proof.holds for proof in found)


def test_another_arrangement_of_axes_is_the_same_work() -> None:
    """Upright arbor: down −Z through the blanks, in along −X, centre height on Y."""
    layout = stack(arrangement=Arrangement(along="-Z", infeed="-X", across="Y"))

    def turned(piece: Piece) -> Piece:
        if piece[0] == "index":
            return piece
        x, y, z = piece[1:4]
        return (piece[0], None if y is None else -float(y), z, x)  # type: ignore[arg-type]

    spaces = [[turned(piece) for piece in one] for one in wheel()]
    read = program([p for one in spaces for p in one], start=(-CLEAR, 0, START))
    looked_at = evidence(layout, read)
    found = (*prove_spaces(looked_at), *prove_around_head(looked_at))
    assert all(proof.holds for proof in found)


@pytest.mark.parametrize(("made_for", "error"), [(75, 0.1), (80, 1.0), (40, 13.0)])
def test_a_cutter_made_for_another_number_of_teeth_shows_its_true_form_error(
    made_for: int, error: float
) -> None:
    """BS 978-2: the addendum factor grows with the ratio, so fewer teeth have lower tips."""
    cutter = Cutter(
        kind="form-disc", diameter=20,
        made_for=MadeFor(form="cycloidal-wheel", module=0.14, teeth=made_for, mate=10),
    )
    found = answers(wheel(), cutter=cutter)
    figures = [found[f"head.tooth-material-{side}"].figure for side in ("left", "missing")]
    assert max(figures) == pytest.approx(error, abs=0.2)
    assert all(proof.holds for proof in found.values()) == (error < 4.2)


def test_a_cutter_of_another_module_is_refused_by_the_teeth_it_leaves() -> None:
    cutter = Cutter(
        kind="form-disc", diameter=20,
        made_for=MadeFor(form="cycloidal-wheel", module=0.15, teeth=75, mate=10),
    )
    assert any(name.startswith("head.tooth-") for name in failing(answers(wheel(),
                                                                           cutter=cutter)))


@pytest.mark.parametrize("way", ["one pass and back", "two passes", "straight out"])
@pytest.mark.parametrize("front", [0, 8])
def test_a_disc_that_goes_straight_in_spoils_undercut_teeth_whichever_way_it_goes(
    front: int, way: str
) -> None:
    """Its flat side then stands on the radius, and not 4.5 · sin 8° = 0.626 mm beside it."""
    tooth = wheel_tooth("ratchet", 45, 0.2, None, front=front, depth=0.35)
    words = MadeFor(form="ratchet", module=0.2, teeth=45, front=front, depth=0.35)
    disc = Cutter(kind="form-disc", diameter=20.0, flutes=14, made_for=words)
    begin = math.sqrt(0.35 * (20 - 0.35)) + 0.5
    spaces: list[list[Piece]] = [[("index", -1.0)]]
    for number in range(45):
        one: list[Piece] = [("index", 8.0 * number)]
        for depth in (0.2, 0.35) if way == "two passes" else (0.35,):
            one += [("rapid", begin, CLEAR, 0), ("rapid", None, depth, None),
                    ("line", STOP, None, None)]
            if way == "one pass and back":
                one.append(("rapid", begin, None, None))
            one.append(("rapid", None, CLEAR, None))
        spaces.append(one)
    layout = stack(tooth=tooth, blank_radius=tooth.tip_radius, backing_radius=tooth.tip_radius,
                   division=divide(45, DrivenHead()))
    found = answers([*spaces, [("index", 0.0)]], layout, disc)
    missing = found["head.tooth-material-missing"]
    if front:
        assert not missing.holds
        assert found["head.centre-height"].figure == pytest.approx(0.626, abs=0.001)
    else:
        assert missing.holds, missing


def test_the_swept_space_is_the_space_moved_out_by_every_part_of_its_depth() -> None:
    """Held against shapely: the union of the space at many lesser depths, inside the tip circle."""
    for form in (wheel_tooth("ratchet", 45, 0.2, None, front=8, depth=0.35),
                 wheel_tooth("cycloidal", 75, 0.14, 10)):
        space = form.space(0.0002, 0.2)
        tip = shapely.Point(0, 0).buffer(form.tip_radius, quad_segs=500)
        shifted = [shapely.affinity.translate(shapely.Polygon(space), out, 0.0)
                   for out in np.linspace(0.0, form.sizes.whole_depth, 200)]
        union = shapely.union_all(shifted).intersection(tip)
        found = shapely.Polygon(swept(space)).intersection(tip)
        assert found.symmetric_difference(union).area < 0.005 * found.area


def test_the_last_cut_of_a_space_is_the_deepest_at_the_angle_the_head_stood_at() -> None:
    beside = (0.0, 0.04, -0.07, 0.02)
    turns = [round(360 * k / TEETH, 3) + off for k, off in enumerate(beside)]
    spaces = [[*space(turn, DEPTH / 2), *space(turn, DEPTH + 0.01 * k)[1:]]
              for k, turn in enumerate(turns)]
    read = program([("index", -1.0), *(piece for one in spaces for piece in one)],
                   start=(START, CLEAR, 0))
    looked_at = evidence(stack(), read)
    last = last_cuts(looked_at, space_cuts(looked_at, head_way(looked_at)))
    assert last.space.tolist() == [0, 1, 2, 3]
    assert last.angle == pytest.approx(turns, abs=1e-9)
    assert last.deeper == pytest.approx([0.0, 0.01, 0.02, 0.03], abs=1e-9)
    assert last.cutter.tolist() == [1, 1, 1, 1]
    assert last.height == pytest.approx([0.0] * 4)


@pytest.mark.parametrize("before", [-0.02, -0.6, -3.0, 0.02, 0.6, 3.0])
def test_a_head_comes_from_one_side_however_little_it_turns(before: float) -> None:
    spaces = [[("index", 50.0)], [("index", before), *space(0.0)], space(4.8)]
    proof = answers(spaces)["head.approach-side"]
    assert proof.holds is (before < 0)
    assert proof.figure == (0 if before < 0 else 1)


def test_where_the_head_is_first_told_is_counted_over_all_programs() -> None:
    first = program([("rapid", 0, 0, 1), ("index", 4.8), ("index", 9.6)])
    none = program([("rapid", 0, 0, 1), ("rapid", 1, 0, 1)])
    second = program([("rapid", 0, 0, 1), ("rapid", 1, 0, 1), ("index", 4.8)])
    assert first_told(evidence(stack(), first, none, second)).tolist() == [1, 5, 7]
