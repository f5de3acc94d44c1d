"""Motion as pictures see it: the way, its time, the depth and place of tooth cutting."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from preview_scenes import MILL, program, teeth
from sampling import few

from camgen.moves import Arc, Feed, Rapid, Section
from camgen.preview.course.track import traced
from camgen.preview.head.cut_teeth import cut_spaces, wheel_as_cut
from camgen.shop.machine import Arrangement


def track_of(*moves):
    return traced(program("x", Section("s", 0, "c", 1, "C", 1000, tuple(moves))).motion, MILL)


def test_rapid_moves_are_dog_legged_and_last_as_long_as_their_slowest_axis() -> None:
    track = track_of(Rapid(0, 0, 5), Rapid(10, 5, 5), Feed(600, 20, 5, 5))
    assert track.end[:, :2].tolist() == [[5.0, 5.0], [10.0, 5.0], [20.0, 5.0]]
    # From rest to rest over s at v with a: s/v + v/a (uniform acceleration); 250 mm/s² by default.
    rapid = 10 / (2000 / 60) + (2000 / 60) / 250
    fed = 10 / 10 + 10 / 250
    assert track.until.tolist() == pytest.approx([rapid / 2, rapid, rapid + fed])


def test_a_full_circle_takes_its_length_at_its_feed() -> None:
    track = track_of(Rapid(2, 0, 0), Feed(60, 2, 0, -1),
                     Arc(60, (0, 0), False, 2, 0, full=True))
    # 1 mm/s is soon reached; the few milliseconds of speeding up come on top.
    assert track.seconds == pytest.approx(1 + 2 * math.pi * 2, rel=2e-3)
    assert track.seconds > 1 + 2 * math.pi * 2
    way = np.linalg.norm((track.end - track.start)[1:], axis=1).sum()
    assert way == pytest.approx(4 * math.pi, rel=2e-3)


@settings(max_examples=few(25), deadline=None)
@given(st.lists(st.tuples(*[st.floats(-20, 20)] * 3, st.booleans()), min_size=2, max_size=12))
def test_the_way_is_unbroken_and_time_only_grows(places) -> None:
    moves = [Rapid(0, 0, 0)]
    for x, y, z, fast in places:
        moves.append(Rapid(x, y, z) if fast else Feed(100, x, y, z))
    track = track_of(*moves)
    if len(track) > 1:
        assert np.abs(track.start[1:] - track.end[:-1]).max() < 1e-9
    assert np.all(track.until >= track.since - 1e-9)
    assert np.all(np.diff(track.until) >= -1e-9)


@pytest.mark.parametrize("zero", ["touch", "axis"])
@pytest.mark.parametrize("arrangement", [
    Arrangement(), Arrangement(along="+Z", infeed="-X", across="Y"),
    Arrangement(along="-Y", infeed="-Z", across="X")])
def test_spaces_are_found_in_every_arrangement(zero: str, arrangement: Arrangement) -> None:
    layout, read, cutters = teeth(12, 0.5, 8, arrangement=arrangement, zero=zero)
    spaces = cut_spaces(layout, traced(read.motion, MILL), cutters)
    assert [space.angle for space in spaces] == pytest.approx([30.0 * n for n in range(12)],
                                                              abs=1e-3)
    whole = layout.tooth.sizes.whole_depth
    assert [space.depth for space in spaces] == pytest.approx([whole] * 12, abs=1e-6)


def test_wheel_cut_with_its_own_cutter_is_the_wheel_meant_and_deeper_is_not() -> None:
    from shapely import Polygon

    layout, read, cutters = teeth(20, 0.3, 8)
    meant = Polygon(layout.tooth.outline(0.0005))
    cut = wheel_as_cut(layout, cut_spaces(layout, traced(read.motion, MILL), cutters), cutters)
    assert cut.symmetric_difference(meant).area < 1e-3 * meant.area
    layout, read, cutters = teeth(20, 0.3, 8, deeper=0.05)
    deep = wheel_as_cut(layout, cut_spaces(layout, traced(read.motion, MILL), cutters), cutters)
    # 0.05 mm deeper in every space: at least the bottom lands times 0.05 are gone.
    assert meant.difference(deep).area > 20 * 0.05 * 0.2
    assert deep.difference(meant).area < 1e-3 * meant.area
