"""Facing: rows that leave nothing of the stock, and never set the cutter down into it."""

from __future__ import annotations

import itertools
import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from sampling import few
from two_sided import PLATE
from workshop import DRIVEN, read

from camgen.layout import part_shape
from camgen.make.told.account import part_volume
from camgen.moves import Feed
from camgen.plan import plan_job
from camgen.steps.areas.face import rows_over

size = st.floats(1.0, 20.0)


@settings(max_examples=few(25), deadline=None)
@given(size, size, st.floats(1.0, 6.0), st.floats(0.2, 0.95), st.floats(0.0, 0.4), st.booleans())
def test_rows_leave_nothing_and_begin_and_end_beside_the_metal(
    length: float, width: float, diameter: float, share: float, corner: float, disc: bool
) -> None:
    stock = (shapely.Point(3, -2).buffer(length / 2, quad_segs=32) if disc
             else shapely.box(-length / 2, 1.0, length / 2, 1.0 + width))
    radius, flat = diameter / 2, diameter / 2 * (1 - corner)
    rows = rows_over(stock, radius, flat, 2 * flat * share, 0.5)
    bands = [shapely.box(row.begin, row.y - flat, row.end, row.y + flat) for row in rows]
    assert stock.difference(shapely.union_all(bands)).area < 1e-9
    for row in rows:
        for x in (row.begin, row.end):
            assert stock.distance(shapely.Point(x, row.y)) > radius + 0.499
    # The first row and every row after it meet no more metal than was asked for.
    assert rows[0].y + flat - stock.bounds[1] <= 2 * flat * share + 1e-9
    assert all(b.y - a.y <= 2 * flat * share + 1e-9 for a, b in itertools.pairwise(rows))


def test_more_than_the_cutter_takes_at_once_is_faced_level_by_level() -> None:
    text = PLATE[:PLATE.index("      - pocket")].replace("thickness: 1.9", "thickness: 6")
    text = text.replace("job: two sides\n", "job: two sides\nmade-elsewhere: [outline]\n")
    planned = plan_job(read(text), DRIVEN).setups[0]
    heights = {move.z for move in planned.moves.sections[0].moves
               if isinstance(move, Feed) and move.z is not None}
    assert planned.cuts[0].passes > 1
    assert len(heights) == planned.cuts[0].passes
    assert min(heights) == pytest.approx(-(6 - 1.75))


def test_what_is_cut_from_either_face_weighs_nothing() -> None:
    """By the exact areas of circles and a rounded rectangle, times their depths."""
    part = part_shape(read(PLATE).job)
    through = math.pi * (2 * 0.5**2 + 3 * 0.4**2)
    seat = math.pi * (0.595**2 - 0.4**2) * 0.4
    counterbore = math.pi * (0.8**2 - 0.4**2) * 0.5
    dial = (2.6 * 2.0 - (4 - math.pi) * 0.6**2) * 0.5
    barrel = math.pi * 1.2**2 * 0.6
    # A cone of 90 degrees from 1.19 to 1.3 mm wide, less the hole through it.
    deep = (1.3 - 1.19) / 2
    cone = math.pi * deep * (1.3**2 + 1.3 * 1.19 + 1.19**2) / 12 - math.pi * 1.19**2 / 4 * deep
    expected = (math.pi * 100 - through) * 1.6 - 2 * seat - counterbore - dial - barrel - cone
    # Chords 0.001 mm within the outline leave out two thirds of that along its length.
    chords = 2 / 3 * 0.001 * math.pi * 20 * 1.6
    assert part_volume(None, part, 0.0, 1.6) == pytest.approx(expected - chords, abs=0.01)
