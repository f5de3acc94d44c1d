"""All of a cutter against what stands up beside the work: clamps and dowels."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from motion_by_hand import MILL, Piece, evidence, flat, program
from sampling import sampled
from shapely import Point as Middle
from shapely import box
from two_sided import PLATE
from workshop import DRIVEN, read

from camgen.layout import Clamp, FlatLayout
from camgen.part.features import Hole
from camgen.plan import plan_job
from camgen.post.writer import write_programs
from camgen.proof import prove
from camgen.proof.flat.flat_removal import prove_flat_removal
from camgen.proof.result import Proof
from camgen.proof.table.upright import prove_upright
from camgen.reader import read_program
from camgen.shapes.path import Point
from camgen.shop.cutters import Cutter

X, Y, WIDE = 3.0, 2.0, 1.0
PINNED = flat(thickness=8.0, dowels=(Hole("pin", Point(X, Y), WIDE),))
# As tall as the dowel, and as wide but for its chords.
CLAMPED = flat(thickness=8.0, clamps=(Clamp(Middle(X, Y).buffer(WIDE / 2, quad_segs=64), 0.0),))
LONG = {"flute_length": 3.0, "reach": 5.0}
CUTTERS = {
    "edge": (Cutter(kind="end-mill", diameter=2.0), 1.0, 0.0),
    "shank": (Cutter(kind="end-mill", diameter=2.0, shank=4.0, holder=4.0, **LONG), 2.0, 3.0),
    "holder": (Cutter(kind="end-mill", diameter=2.0, holder=6.0, **LONG), 3.0, 5.0),
}


def proved(
    pieces: list[Piece], cutter: Cutter = MILL, layout: FlatLayout = PINNED, **more: Any
) -> Proof:
    looked_at = evidence(layout, program(pieces, **more), cutter=cutter)
    (found,) = prove_upright(looked_at)
    return found


def test_nothing_that_stands_up_is_nothing_to_prove() -> None:
    assert prove_upright(evidence(flat(), program([("line", 0, 0, -1)]))) == ()


@pytest.mark.parametrize("layout", [PINNED, CLAMPED], ids=["dowel", "clamp"])
@pytest.mark.parametrize("way", ["line", "rapid"])
@pytest.mark.parametrize("part", CUTTERS)
def test_each_part_is_found_beside_it_and_clear_a_little_farther(
    part: str, way: str, layout: FlatLayout
) -> None:
    """A stroke straight down beside it, 0.1 mm nearer than both radii, and 0.1 mm farther."""
    cutter, radius, above = CUTTERS[part]
    deep = -above - 0.5
    for off, holds in ((0.1, True), (-0.1, False)):
        x = X + WIDE / 2 + radius + off
        found = proved([("rapid", x, Y, 2), (way, None, None, deep)], cutter, layout,
                       start=(15, 15, 2))
        assert found.holds is holds
        if not holds:
            assert found.figure == pytest.approx(0.5)
            assert (found.line, found.at) == (2, (x, Y, deep))
            assert f"the {part}, {2 * radius:g} mm wide, comes to the" in found.where


@pytest.mark.parametrize("part", CUTTERS)
def test_above_its_top_every_part_is_clear(part: str) -> None:
    cutter, _, above = CUTTERS[part]
    assert proved([("line", X, Y, 0)], Cutter(kind="end-mill", diameter=2.0)).holds
    assert proved([("line", X, Y, -above)], cutter, start=(X, Y, 2)).holds is (above == 0)
    assert proved([("line", X + 8, Y, -above)], cutter, start=(X + 8, Y, 2)).holds


@pytest.mark.parametrize("kind", ["drill", "spot-drill", "engraver", "chamfer-mill"])
def test_any_cutter_driven_into_a_dowel_is_found(kind: str) -> None:
    """Whatever kind of step makes the move: it is the motion that is looked at."""
    found = proved([("rapid", X, Y, 2), ("line", None, None, -0.3)], Cutter(kind=kind, diameter=1))
    assert not found.holds
    assert found.figure == pytest.approx(0.3)
    assert "dowel in pin" in found.where


def test_a_cone_is_as_wide_as_it_is_at_the_dowels_top() -> None:
    """90°: 0.4 mm deep it is 0.4 mm wide to either side."""
    cone = Cutter(kind="spot-drill", diameter=3.0, point_angle=90.0)
    for off, holds in ((0.42, True), (0.38, False)):
        x = X + WIDE / 2 + off
        assert proved([("rapid", x, Y, 2), ("line", None, None, -0.4)], cone).holds is holds


def test_an_arc_over_a_dowel_and_a_dog_leg_are_found() -> None:
    round_it: list[Piece] = [("rapid", X - 4, Y, 2), ("line", None, None, -1),
                             ("cw", X + 4, Y, None, X, Y)]
    assert proved(round_it).holds
    assert not proved([*round_it[:2], ("cw", X + 0.5, Y, None, X - 1.75, Y)]).holds
    # Straight it passes by; each axis at its own rate it goes through.
    start = (X - 6.0, Y - 6.0, -1.0)
    assert proved([("line", X + 9, Y - 3, None)], start=start).holds
    assert not proved([("rapid", X + 9, Y + 3, None)], start=start).holds


@given(a=st.tuples(st.floats(-8, 8), st.floats(-8, 8)), b=st.tuples(st.floats(-8, 8),
       st.floats(-8, 8)), deep=st.floats(0.05, 6.0), part=st.sampled_from(sorted(CUTTERS)))
def test_any_line_is_found_where_the_circles_of_the_parts_meet_the_dowels(
    a: tuple[float, float], b: tuple[float, float], deep: float, part: str
) -> None:
    cutter = CUTTERS[part][0]
    found = proved([("rapid", *a, 2), ("line", None, None, -deep), ("line", *b, None)], cutter,
                   start=(*a, 2))
    way = np.array(a) + np.linspace(0, 1, 400)[:, None] * (np.array(b) - np.array(a))
    near = float(np.hypot(*(way - [X, Y]).T).min())
    wide = 1.0
    for one in CUTTERS.values():
        if one[0] == cutter and deep > one[2]:
            wide = max(wide, one[1])
    if abs(near - wide - WIDE / 2) > 0.05 and abs(deep - CUTTERS[part][2]) > 1e-3:
        assert found.holds == (near > wide + WIDE / 2)


def test_a_holder_passing_over_a_clamp_between_two_holes_is_found() -> None:
    """Both ends lie beside the clamp; the way between them goes over it."""
    layout = flat(thickness=3.0, clamps=(Clamp(box(-1, -1, 1, 1), 4.0),))
    short = Cutter(kind="drill", diameter=1.0, flute_length=3.0, reach=3.0, holder=8.0)
    way: list[Piece] = [("rapid", 12, 0, None)]
    assert proved(way, short, layout, start=(-12, 0, 4.5)).holds
    found = proved(way, short, layout, start=(-12, 0, 0.5 + 0.4))
    assert not found.holds
    high = proved(way, Cutter(kind="drill", diameter=0.5, flute_length=9, reach=9, holder=8.0),
                  layout, start=(-12, 0, 4.1))
    assert high.holds
    assert math.isclose(high.figure, 0.0)


def test_what_the_part_has_over_a_dowel_lets_it_stand_so_much_lower() -> None:
    seat = Hole("pin-counterbore", Point(X, Y), 2.0, depth=0.4)
    sunk = replace(PINNED, part=replace(PINNED.part, blind=(seat,)))
    into: list[Piece] = [("rapid", X, Y, 2), ("line", None, None, -0.4)]
    assert not proved(into).holds
    assert proved(into, layout=sunk).holds
    assert not proved([*into, ("line", None, None, -0.5)], layout=sunk).holds


def test_an_upright_arc_that_dips_into_the_carrier_is_found() -> None:
    """Half a turn about Y between two places at Z-1 reaches Z-3; the floor is at Z-1.5."""
    way: list[Piece] = [
        ("line", -2, 0, -1),
        ("cw", 2, 0, -1, {"plane": 1, "centre": (0.0, np.nan, -1.0)}),
    ]
    for kind in ("cw", "ccw"):
        way[1] = (kind, *way[1][1:4], 0, 0, way[1][4])
        looked_at = evidence(flat(), program(way, start=(-2, 0, 5)))
        (found,) = [one for one in prove_flat_removal(looked_at)
                    if one.name == "depth below what may be cut into"]
        low = min(float(looked_at.chords.end[:, 2].min()), -1.0)
        assert found.figure == pytest.approx(max(0.0, -1.5 - low), abs=1e-3)
        if low < -2:
            assert not found.holds
            return
    raise AssertionError("neither sense went down")


# A whole job, with steps that say nothing of dowels --------------------------------------------


@pytest.mark.long
@pytest.mark.parametrize("step", sampled([
    "spot: {cutter: cone, holes: [dowels]}", "drill: {cutter: drill-08, holes: [dowels]}",
    "bore: {cutter: mill, holes: [dowels], drilled: 0.9}",
], 3))
def test_whatever_step_makes_holes_where_dowels_stand_is_caught(step: str) -> None:
    fine = failing(PLATE)
    assert fine == set()
    assert "table.dowels" in failing(PLATE + f"      - {step}\n")


def failing(text: str) -> set[str]:
    """Ids of the proofs of the second side that do not hold."""
    job_file = read(text)
    one = plan_job(job_file, DRIVEN).setups[1]
    done = [read_program(each.text, DRIVEN, each.file)
            for each in write_programs(one.moves, DRIVEN, stem="dial")]
    return {str(proof.id) for proof in prove(job_file, one, DRIVEN, done) if not proof.holds}
