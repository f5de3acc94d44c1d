"""Time of motion against step-by-step integration and plain kinematics."""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from sampling import few

from camgen.cutting.time.motion import (
    ANTICLOCKWISE,
    CLOCKWISE,
    along_path,
    dog_leg_seconds,
    fed_directions,
    index_seconds,
    motion_seconds,
    path_seconds,
    trapezoid_seconds,
)
from camgen.cutting.time.spent import TimeAccount, TimeKind, TimePart, motion_parts, savings
from camgen.shop.machine import DrivenHead, HandHead, LinearAxis, Machine

AXIS = LinearAxis(rapid=2000, feed_limit=1000, acceleration=250)
MILL = Machine(name="mill", describes="a mill", x=AXIS, y=AXIS, z=AXIS, blocks_per_second=200,
               dividing=DrivenHead(rapid=3600, acceleration=720, clamp_seconds=0.5))


def directions(angles: list[float]) -> np.ndarray:
    return np.array([[np.cos(a), np.sin(a), 0.0] for a in angles])


def stepped(lengths: list[float], speeds: list[float], corners: list[float], acceleration: float,
            blocks: float) -> float:
    """Time by brute force: speeds along the path in small steps, forwards, then backwards."""
    fine = 2e-4
    top: list[float] = []
    marks: dict[int, float] = {}
    for place, (length, speed) in enumerate(zip(lengths, speeds, strict=True)):
        steps = max(round(length / fine), 1)
        top += [min(speed, length * blocks)] * steps
        if place < len(corners):
            marks[len(top)] = corners[place]
    n = len(top)
    square = np.zeros(n + 1)
    bound = np.array([min(top[max(i - 1, 0)], top[min(i, n - 1)]) ** 2 for i in range(n + 1)])
    for at, corner in marks.items():
        bound[at] = min(bound[at], corner**2)
    bound[0] = bound[n] = 0.0
    square[0] = 0.0
    for i in range(n):
        square[i + 1] = min(bound[i + 1], square[i] + 2 * acceleration * fine)
    for i in range(n, 0, -1):
        square[i - 1] = min(square[i - 1], square[i] + 2 * acceleration * fine)
    v = np.sqrt(square)
    return float((2 * fine / np.maximum(v[:-1] + v[1:], 1e-9)).sum())


@settings(max_examples=few(25), deadline=None)
@given(st.lists(st.tuples(st.floats(0.05, 2.0), st.floats(1.0, 15.0), st.floats(-3.0, 3.0)),
                min_size=1, max_size=6))
def test_a_path_takes_as_long_as_step_by_step(pieces: list[tuple[float, float, float]]) -> None:
    lengths = [round(length, 3) for length, _, _ in pieces]
    speeds = [speed for _, speed, _ in pieces]
    units = directions([angle for _, _, angle in pieces])
    acceleration, blocks = 250.0, 200.0
    turns = np.linalg.norm(units[1:] - units[:-1], axis=1)
    corners = [acceleration / blocks / turn if turn > 1e-6 else 1e9 for turn in turns]
    found = path_seconds(np.array(lengths), np.array(speeds), units, units,
                         np.full(len(lengths), acceleration), blocks)
    assert float(found.sum()) == pytest.approx(stepped(lengths, speeds, corners, acceleration,
                                                       blocks), rel=0.02)


@settings(max_examples=few(60), deadline=None)
@given(st.lists(st.tuples(st.floats(0.001, 5.0), st.floats(0.5, 40.0), st.floats(-3.1, 3.1),
                          st.floats(20.0, 2000.0)), min_size=2, max_size=40),
       st.booleans())
def test_the_running_minima_are_the_usual_look_ahead(
        pieces: list[tuple[float, float, float, float]], exact: bool) -> None:
    lengths = np.array([piece[0] for piece in pieces])
    speeds = np.array([piece[1] for piece in pieces])
    units = directions([piece[2] for piece in pieces])
    along = np.array([piece[3] for piece in pieces])
    blocks = 150.0
    top = np.minimum(speeds, lengths * blocks)
    joint = np.zeros(len(pieces) + 1)
    for i in range(1, len(pieces)):
        turn = float(np.linalg.norm(units[i] - units[i - 1]))
        corner = np.inf if turn < 1e-6 else 0.0 if exact else min(along[i], along[i - 1]) / (
            blocks * turn)
        joint[i] = min(top[i], top[i - 1], corner) ** 2
    for i in range(len(pieces)):
        joint[i + 1] = min(joint[i + 1], joint[i] + 2 * along[i] * lengths[i])
    for i in range(len(pieces) - 1, -1, -1):
        joint[i] = min(joint[i], joint[i + 1] + 2 * along[i] * lengths[i])
    seconds = 0.0
    for i in range(len(pieces)):
        first, last = sqrt(joint[i]), sqrt(joint[i + 1])
        reached = max(min(top[i], sqrt((joint[i] + joint[i + 1]) / 2 + along[i] * lengths[i])),
                      first, last)
        ramps = (2 * reached**2 - joint[i] - joint[i + 1]) / (2 * along[i])
        seconds += (2 * reached - first - last) / along[i] + max(lengths[i] - ramps, 0) / reached
    found = path_seconds(lengths, speeds, units, units, along, blocks, exact_stop=exact)
    assert float(found.sum()) == pytest.approx(seconds, rel=1e-6)
    assert (found >= 1 / blocks * (1 - 1e-9)).all()  # the control needs its time for each block
    assert (found >= lengths / speeds * (1 - 1e-9)).all()


def test_a_single_move_is_the_trapezoid_of_any_textbook() -> None:
    # 100 mm at 1000 mm/min, 250 mm/s²: s/v + v/a.
    found = path_seconds(np.array([100.0]), np.array([1000 / 60]), np.eye(3)[:1], np.eye(3)[:1],
                         np.array([250.0]), 200.0)
    assert float(found[0]) == pytest.approx(100 / (1000 / 60) + 1000 / 60 / 250)
    # Too short to reach the rate: 2·√(s/a).
    assert trapezoid_seconds(np.array([0.1]), 16.7, 250.0)[0] == pytest.approx(2 * sqrt(0.1 / 250))


def test_a_straight_line_in_many_blocks_takes_as_long_as_in_one_where_blocks_are_read_in_time(
) -> None:
    one = path_seconds(np.array([10.0]), np.array([5.0]), np.eye(3)[:1], np.eye(3)[:1],
                       np.array([250.0]), 200.0)
    many = path_seconds(np.full(100, 0.1), np.full(100, 5.0), np.eye(3)[[0] * 100],
                        np.eye(3)[[0] * 100], np.full(100, 250.0), 200.0)
    assert float(many.sum()) == pytest.approx(float(one.sum()))
    slow = path_seconds(np.full(1000, 0.01), np.full(1000, 5.0), np.eye(3)[[0] * 1000],
                        np.eye(3)[[0] * 1000], np.full(1000, 250.0), 200.0)
    # 0.01 mm a block at 200 blocks a second is 2 mm/s at most.
    assert float(slow.sum()) == pytest.approx(5.0, rel=0.01)


def test_pieces_of_no_length_neither_take_time_nor_halt() -> None:
    lengths = np.array([5.0, 0.0, 5.0])
    found = path_seconds(lengths, np.full(3, 10.0), np.eye(3)[[0] * 3], np.eye(3)[[0] * 3],
                         np.full(3, 250.0), 200.0)
    assert found[1] == 0.0
    assert float(found.sum()) == pytest.approx(10 / 10 + 10 / 250)


def test_a_halt_costs_one_stop_and_start() -> None:
    straight = np.eye(3)[[0, 0]]
    go = [np.array([5.0, 5.0]), np.full(2, 10.0), straight, straight, np.full(2, 250.0), 200.0]
    through = float(path_seconds(*go).sum())
    halted = float(path_seconds(*go, halts=[1]).sum())
    assert halted - through == pytest.approx(10 / 250)


def test_rapids_are_dog_legged() -> None:
    travel = np.array([[100.0, 10.0, 0.0], [0.0, 0.0, -5.0], [0.0, 0.0, 0.0]])
    rates, along = np.array([2000, 1000, 500]) / 60.0, np.array([250.0, 250.0, 100.0])
    found = dog_leg_seconds(travel, rates, along)
    each = trapezoid_seconds(np.abs(travel), rates, along)
    assert found.tolist() == each.max(axis=1).tolist()
    assert found[0] == pytest.approx(100 / (2000 / 60) + 2000 / 60 / 250)
    assert found[2] == 0.0


def test_along_a_slant_the_axis_with_most_to_do_sets_the_limit() -> None:
    assert along_path(np.array([[0.6, 0.8, 0.0]]), np.array([250.0, 250.0, 250.0]))[0] == (
        pytest.approx(312.5))


def full_circle(radius: float, feed: float, kind: int = 3) -> float:
    return float(motion_seconds(
        MILL, kind=np.array([kind]), start=np.array([[radius, 0.0, 0.0]]),
        end=np.array([[radius, 0.0, 0.0]]), centre=np.zeros((1, 3)), plane=np.array([2]),
        turns=np.array([0]), feed=np.array([feed])).seconds[0])


@pytest.mark.parametrize("kind", [2, 3])
def test_a_circle_is_driven_no_faster_than_the_axes_can_turn(kind: int) -> None:
    # Ø0.2 mm path at 900 mm/min: v² <= a·r gives 300 mm/min.
    way = 2 * pi * 0.1
    able = sqrt(250 * 0.1)
    assert able * 60 == pytest.approx(300)
    assert full_circle(0.1, 900, kind) == pytest.approx(way / able + able / 250, rel=1e-6)
    # Ø40: the feed is reached.
    assert full_circle(20.0, 900, kind) == pytest.approx(2 * pi * 20 / 15 + 15 / 250, rel=1e-6)


def test_two_half_circles_take_as_long_as_a_whole_one() -> None:
    both = motion_seconds(
        MILL, kind=np.array([3, 3]), start=np.array([[5.0, 0, 0], [-5.0, 0, 0]]),
        end=np.array([[-5.0, 0, 0], [5.0, 0, 0]]), centre=np.zeros((2, 3)),
        plane=np.array([2, 2]), turns=np.array([0, 0]), feed=np.array([300.0, 300.0]))
    assert float(both.seconds.sum()) == pytest.approx(full_circle(5.0, 300.0))
    assert float(both.lengths.sum()) == pytest.approx(2 * pi * 5)


def test_a_helix_is_as_long_as_its_unrolled_triangle() -> None:
    found = motion_seconds(
        MILL, kind=np.array([2]), start=np.array([[3.0, 0, 0.0]]), end=np.array([[3.0, 0, -2.0]]),
        centre=np.array([[0.0, 0.0, np.nan]]), plane=np.array([2]), turns=np.array([1]),
        feed=np.array([200.0]))
    assert float(found.lengths[0]) == pytest.approx(sqrt((4 * pi * 3) ** 2 + 4))


def test_a_tangent_arc_is_entered_without_slowing_and_a_corner_is_not() -> None:
    def seconds(end_of_line: list[float]) -> float:
        start = np.array([[0.0, 0, 0], end_of_line])
        found = motion_seconds(
            MILL, kind=np.array([1, 3]), start=start, end=np.array([end_of_line, [10.0, 10.0, 0]]),
            centre=np.array([[np.nan] * 3, [0.0, 10.0, 0.0]]), plane=np.array([2, 2]),
            turns=np.array([0, 0]), feed=np.array([600.0, 600.0]))
        return float(found.seconds.sum() - found.as_programmed.sum())

    smooth = seconds([0.0, 0.0, 0.0])
    assert smooth >= 0
    # Down a line along +X into an arc about (10, 10)… the tangent one costs only start and stop.
    tangent = motion_seconds(
        MILL, kind=np.array([1, 3]), start=np.array([[0.0, 0, 0], [10.0, 0, 0]]),
        end=np.array([[10.0, 0, 0], [20.0, 10.0, 0]]),
        centre=np.array([[np.nan] * 3, [10.0, 10.0, 0.0]]), plane=np.array([2, 2]),
        turns=np.array([0, 0]), feed=np.array([600.0, 600.0]))
    assert float((tangent.seconds - tangent.as_programmed).sum()) == pytest.approx(10 / 250,
                                                                                   rel=1e-6)
    corner = motion_seconds(
        MILL, kind=np.array([1, 2]), start=np.array([[0.0, 0, 0], [10.0, 0, 0]]),
        end=np.array([[10.0, 0, 0], [20.0, 10.0, 0]]),
        centre=np.array([[np.nan] * 3, [20.0, 0.0, 0.0]]), plane=np.array([2, 2]),
        turns=np.array([0, 0]), feed=np.array([600.0, 600.0]))
    assert float((corner.seconds - corner.as_programmed).sum()) > 1.8 * 10 / 250


def test_indexing_takes_turning_and_clamping() -> None:
    turning, clamping = index_seconds(np.array([4.8, 0.0]), MILL)
    # 4.8° at 720°/s²: 2·√(4.8/720), the rate of 60°/s is not reached before 5°.
    assert turning[0] == pytest.approx(2 * sqrt(4.8 / 720))
    assert clamping.tolist() == [1.0, 0.0]
    fed = MILL.model_copy(update={
        "rotary": MILL.rotary.model_copy(update={"turn": "feed"}),
        "dividing": DrivenHead(feed_limit=600, acceleration=720)})
    assert index_seconds(np.array([36.0]), fed)[0][0] == pytest.approx(36 / 10 + 10 / 720)
    hand = MILL.model_copy(update={"dividing": HandHead(plates=((20,),), seconds=15.0)})
    assert index_seconds(np.array([4.8]), hand)[0].tolist() == [15.0]


def program(count: int = 30) -> dict[str, np.ndarray]:
    """A stack of teeth in short: in, along, out, back, index."""
    kind, start, end, feed, first, second = [], [], [], [], [], []
    for space in range(count):
        way = [((0, 0, 0), (0, 0.5, 0), 0), ((0, 0.5, 0), (-10, 0.5, 0), 1),
               ((-10, 0.5, 0), (-10, 0, 0), 0), ((-10, 0, 0), (0, 0, 0), 0)]
        for a, b, k in way:
            kind.append(k)
            start.append(a)
            end.append(b)
            feed.append(120.0 if k else np.nan)
            first.append(space * 12.0)
            second.append(space * 12.0)
        kind.append(4)
        start.append((0, 0, 0))
        end.append((0, 0, 0))
        feed.append(np.nan)
        first.append(space * 12.0)
        second.append(space * 12.0 + 12.0)
    return {"kind": np.array(kind), "start": np.array(start, dtype=float),
            "end": np.array(end, dtype=float), "feed": np.array(feed),
            "angle_start": np.array(first), "angle_end": np.array(second)}


def test_the_account_adds_up_and_names_where_the_time_goes() -> None:
    motion = program()
    time = motion_seconds(MILL, **motion)
    parts = motion_parts(time, motion["kind"], ["teeth"] * len(motion["kind"]))
    account = TimeAccount((*parts, TimePart("teeth", "cutter change", 120.0)))
    assert account.seconds == pytest.approx(float(time.seconds.sum()) + 120.0)
    by_kind = account.by_kind()
    assert by_kind["clamp"] == pytest.approx(30.0)
    assert by_kind["cutting"] == pytest.approx(30 * (10 / 2 + 2 / 250), rel=1e-6)
    assert next(iter(by_kind)) == "cutting"
    assert account.by_step() == {"teeth": pytest.approx(account.seconds)}


def test_the_ways_time_is_spent_come_longest_first_and_alike_by_name() -> None:
    kinds: list[tuple[TimeKind, float]] = [
        ("rapid", 2.0), ("cutting", 1.0), ("index", 5.0), ("dwell", 2.0), ("cutting", 1.0)]
    account = TimeAccount(tuple(TimePart("teeth", kind, spent) for kind, spent in kinds))
    assert list(account.by_kind().items()) == [
        ("index", 5.0), ("cutting", 2.0), ("dwell", 2.0), ("rapid", 2.0)]


def test_savings_are_what_the_changed_machine_would_save() -> None:
    slow_axis = AXIS.model_copy(update={"rapid": 400.0})
    mill = MILL.model_copy(update={"x": slow_axis, "y": slow_axis, "z": slow_axis})
    motion = program()
    time = motion_seconds(mill, **motion)
    account = TimeAccount(motion_parts(time, motion["kind"], ["teeth"] * len(motion["kind"])))
    found = savings(mill, account, **motion)
    assert [saving.seconds for saving in found] == sorted(
        (saving.seconds for saving in found), reverse=True)
    named = {saving.what: saving.seconds for saving in found}
    assert named["clamping in half the time"] == pytest.approx(15.0)
    quick = slow_axis.model_copy(update={"rapid": 800.0})
    faster = mill.model_copy(update={"x": quick, "y": quick, "z": quick})
    saved = float(time.seconds.sum() - motion_seconds(faster, **motion).seconds.sum())
    assert named["rapids twice as fast"] == pytest.approx(saved)
    quick = slow_axis.model_copy(update={"acceleration": 500.0})
    livelier = mill.model_copy(update={"x": quick, "y": quick, "z": quick})
    saved = float(time.seconds.sum() - motion_seconds(livelier, **motion).seconds.sum())
    assert named["twice the acceleration of the axes"] == pytest.approx(saved)
    assert "a control that reads twice as many blocks in a second" not in named


def test_a_higher_feed_is_named_only_for_the_cuts_that_have_room_for_it() -> None:
    motion = program()
    time = motion_seconds(MILL, **motion)
    names = ["teeth"] * len(motion["kind"])
    account = TimeAccount(motion_parts(time, motion["kind"], names))

    def spared(faster: NDArray[np.bool_] | None) -> float:
        return sum(one.seconds for one in savings(MILL, account, **motion, faster=faster)
                   if "feed a fifth higher" in one.what)

    every = np.ones(len(names), dtype=bool)
    cutting = float(time.seconds[motion["kind"] == 1].sum())
    assert spared(every) == pytest.approx(cutting * (1 - 1 / 1.2), rel=0.01)
    half = np.arange(len(names)) < len(names) // 2
    assert 0 < spared(half) < 0.6 * spared(every)
    assert spared(~every) == spared(None) == 0.0


def test_stops_between_blocks_bring_the_motion_to_rest() -> None:
    motion = {"kind": np.array([1, 1]), "start": np.array([[0.0, 0, 0], [5, 0, 0]]),
              "end": np.array([[5.0, 0, 0], [10, 0, 0]]), "feed": np.array([600.0, 600.0])}
    through = motion_seconds(MILL, **motion).seconds.sum()
    stopped = motion_seconds(MILL, **motion, halts=[1]).seconds.sum()
    assert stopped - through == pytest.approx(10 / 250)


@pytest.mark.parametrize("normal", [0, 1, 2])
@pytest.mark.parametrize(("radius", "sweep", "turns", "rise"), [
    (0.3, 1.1, 0, 0.0), (3.0, -2.4, 0, 0.7), (0.05, -5.0, 1, -0.2), (20.0, 4.0, 2, 3.0)])
def test_an_arc_is_entered_and_left_along_its_tangents(normal: int, radius: float, sweep: float,
                                                       turns: int, rise: float) -> None:
    centre = np.array([1.0, -2.0, 0.5])
    whole = sweep + np.copysign(2 * pi * turns, sweep)

    def at(share: float) -> np.ndarray:
        point = centre.copy()
        point[(normal + 1) % 3] += radius * np.cos(0.4 + share * whole)
        point[(normal + 2) % 3] += radius * np.sin(0.4 + share * whole)
        point[normal] += rise * share
        return point

    step = 1e-7
    ways = [at(step) - at(0.0), at(1.0) - at(1.0 - step)]
    row = centre.copy()
    row[normal] = at(0.0)[normal]
    enter, leave, around, lengths, sharpest = fed_directions(
        np.array([ANTICLOCKWISE if sweep > 0 else CLOCKWISE]), at(0.0)[None], at(1.0)[None],
        row[None], np.array([normal]), np.array([turns]))
    for found, way in ((enter, ways[0]), (leave, ways[1])):
        assert found[0] == pytest.approx(way / np.linalg.norm(way), abs=1e-5)
    # A helix of that radius and rise: length by Pythagoras, curvature r/(r² + c²).
    flat = radius * abs(whole)
    assert lengths[0] == pytest.approx(np.hypot(flat, rise))
    pitch = rise / abs(whole)
    assert around[0] == pytest.approx((radius**2 + pitch**2) / radius)
    assert sharpest[0][normal] == pytest.approx(abs(rise) / lengths[0])
    assert sharpest[0][(normal + 1) % 3] == pytest.approx(flat / lengths[0])
