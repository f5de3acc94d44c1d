"""Two programs compared as motion, whatever way each is written.

The same way of the cutter may be written as one block or several, as arcs or as chords of arcs, in
millimetres or inches, by cycles or move by move. What counts here is where the cutter goes, in
order, at what feed and speed, with which cutter, and how the dividing head turns.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from camgen.arrays import Flags, Floats, Ints
from camgen.messages import Message
from camgen.reader.comparing.together import joint_zones
from camgen.reader.motion import Kind, Motion
from camgen.values import dataclass

__all__ = ["Difference", "same_motion"]


_RAPID, _CUT, _TURN = range(3)
_NAMES: Final = (Message("a rapid move"), Message("a feed move"),
                 Message("a turn of the dividing head"))
_FEED_SHARE: Final = 0.002


@dataclass(frozen=True, slots=True)
class Difference:
    """Where two programs part: what differs, by how much in ``unit``, and both lines (0: none)."""

    what: Message
    line: int
    other_line: int
    amount: float = 0.0
    unit: str = "mm"


@dataclass(frozen=True)
class _Stretch:
    """Pieces of one sort at one feed and speed with one cutter at one station.

    ``joined`` where two parts were put together; ``points`` (k, 4) X Y Z and angle along it, chords
    for arcs; ``lines`` (k,) of the program.
    """

    sort: int
    feed: float
    speed: float
    cutter: int
    station: int
    joined: bool
    points: Floats
    lines: Ints


def same_motion(
    a: Motion, b: Motion, tolerance: float = 0.002, *,
    joints: Sequence[int] = (), other_joints: Sequence[int] = (),
) -> tuple[Difference, ...]:
    """How the motions ``a`` and ``b`` differ; nothing when they are the same.

    ``tolerance`` is the largest distance between the two ways, mm (and degrees of the dividing
    head), measured so that both are gone along in order (the Fréchet distance). Rapid moves must
    have the same corners: their way between depends on each axis's own rate. Feeds may differ by
    0.2 %. Spindle and cutter count where metal may be met, not in rapid moves. At most the first
    and the last place of a differing stretch are told.

    ``joints`` and ``other_joints`` say where each was put together from parts (see
    :mod:`.together`): what is moved there between two cuts is not compared, since a part goes clear
    at its end and the next comes back; the cuts on both sides of it are.
    """
    (a, joined_a), (b, joined_b) = _moving(a, joints), _moving(b, other_joints)
    first = _agreeing(a, b, tolerance)
    if first == len(a) == len(b):
        return ()
    first = min(first, *(int(np.argmax(joined)) if joined.any() else first
                         for joined in (joined_a, joined_b)))
    last = _agreeing_from_behind(a, b, tolerance, first)
    last = min(last, *(int(np.argmax(joined[::-1])) if joined.any() else last
                       for joined in (joined_a, joined_b)))
    rest_a = _stretches(a, joined_a, first, len(a) - last, tolerance)
    rest_b = _stretches(b, joined_b, first, len(b) - last, tolerance)
    rest_a, rest_b = _without_joints(rest_a, rest_b)
    for one, other in zip(rest_a, rest_b, strict=False):
        found = _differ(one, other, tolerance)
        if found is not None:
            return (found,)
    if len(rest_a) != len(rest_b):
        more = (rest_a if len(rest_a) > len(rest_b) else rest_b)[min(len(rest_a), len(rest_b))]
        in_a = len(rest_a) > len(rest_b)
        line = int(more.lines[min(1, len(more.lines) - 1)])
        return (
            Difference(
                _only_one(more),
                line if in_a else 0, 0 if in_a else line, _length(more.points),
            ),
        )
    return ()


_FIELDS: Final = (
    "kind", "line", "start", "end", "centre", "plane", "turns", "angle_start", "angle_end",
    "feed", "speed", "cutter", "station",
)


def _is_arc(motion: Motion) -> Flags:
    return np.asarray(
        (motion.kind == Kind.ARC_CLOCKWISE) | (motion.kind == Kind.ARC_ANTICLOCKWISE)
    )


def _moving(motion: Motion, joints: Sequence[int]) -> tuple[Motion, Flags]:
    """The pieces that go anywhere, and which of them are made where two parts join."""
    joined = np.zeros(len(motion), dtype=np.bool_)
    for begin, end in joint_zones(motion, joints):
        joined[begin:end] = True
    kept = _is_arc(motion)
    kept |= (motion.start != motion.end).any(axis=1) | (motion.angle_start != motion.angle_end)
    if kept.all():
        return motion, joined
    return Motion(*(getattr(motion, name)[kept] for name in _FIELDS)), joined[kept]


def _without_joints(
    a: list[_Stretch], b: list[_Stretch]
) -> tuple[list[_Stretch], list[_Stretch]]:
    """Both without what either moves between the cuts where it was put together."""
    kept_a: list[_Stretch] = []
    kept_b: list[_Stretch] = []
    i = j = 0
    while i < len(a) or j < len(b):
        if (i < len(a) and a[i].joined) or (j < len(b) and b[j].joined):
            while i < len(a) and a[i].sort != _CUT:
                i += 1
            while j < len(b) and b[j].sort != _CUT:
                j += 1
            continue
        kept_a.extend(a[i : i + 1])
        kept_b.extend(b[j : j + 1])
        i, j = i + 1, j + 1
    return kept_a, kept_b


def _sort_of(motion: Motion) -> Ints:
    """(n,) rapid, cut or turn."""
    sort = np.full(len(motion), _CUT)
    sort[motion.kind == Kind.RAPID] = _RAPID
    sort[motion.kind == Kind.INDEX] = _TURN
    return sort


def _alike(a: Motion, at_a: Ints, b: Motion, at_b: Ints, tolerance: float) -> Flags:
    """True where the pieces ``at_a`` of ``a`` and ``at_b`` of ``b`` are the same as they stand."""
    alike = (a.kind[at_a] == b.kind[at_b]) & (a.station[at_a] == b.station[at_b])
    alike &= (np.abs(a.end[at_a] - b.end[at_b]) <= tolerance).all(axis=1)
    alike &= (np.abs(a.start[at_a] - b.start[at_b]) <= tolerance).all(axis=1)
    alike &= np.abs(a.angle_end[at_a] - b.angle_end[at_b]) <= tolerance
    alike &= np.abs(a.angle_start[at_a] - b.angle_start[at_b]) <= tolerance
    off = np.abs(a.centre[at_a] - b.centre[at_b])
    curved = _is_arc(a)[at_a]
    alike &= ~curved | (
        (a.plane[at_a] == b.plane[at_b])
        & (a.turns[at_a] == b.turns[at_b])
        & (np.where(np.isnan(off), 0.0, off) <= tolerance).all(axis=1)
        & ~_wraps(a, at_a, b, at_b, tolerance)
    )
    cuts = curved | (a.kind[at_a] == Kind.LINE)
    return np.asarray(alike & (~cuts | _same_feed(a, at_a, b, at_b)))


def _wraps(a: Motion, at_a: Ints, b: Motion, at_b: Ints, tolerance: float) -> Flags:
    """True where one arc is nearly nothing and the other nearly a full circle."""
    short = (np.abs(a.end[at_a] - a.start[at_a]) <= 2 * tolerance).all(axis=1)
    closed_a = (a.end[at_a] == a.start[at_a]).all(axis=1)
    closed_b = (b.end[at_b] == b.start[at_b]).all(axis=1)
    return np.asarray(short & ~(closed_a & closed_b))


def _same_feed(a: Motion, at_a: Ints, b: Motion, at_b: Ints) -> Flags:
    feed_a, feed_b = a.feed[at_a], b.feed[at_b]
    same = np.abs(feed_a - feed_b) <= _FEED_SHARE * np.abs(feed_a)
    same |= np.isnan(feed_a) & np.isnan(feed_b)
    same &= np.abs(a.speed[at_a] - b.speed[at_b]) <= 0.5
    return np.asarray(same & (a.cutter[at_a] == b.cutter[at_b]))


def _agreeing(a: Motion, b: Motion, tolerance: float) -> int:
    """How many pieces agree one by one from the start."""
    both = min(len(a), len(b))
    at = np.arange(both)
    wrong = np.flatnonzero(~_alike(a, at, b, at, tolerance))
    return int(wrong[0]) if len(wrong) else both


def _agreeing_from_behind(a: Motion, b: Motion, tolerance: float, first: int) -> int:
    """How many pieces agree one by one from the end, leaving the first alone."""
    both = min(len(a), len(b)) - first
    back = np.arange(1, both + 1)
    wrong = np.flatnonzero(~_alike(a, len(a) - back, b, len(b) - back, tolerance))
    return int(wrong[0]) if len(wrong) else both


def _stretches(
    motion: Motion, joined: Flags, first: int, last: int, tolerance: float
) -> list[_Stretch]:
    """Pieces ``first`` to ``last`` as stretches of one sort, feed, speed, cutter and station."""
    if first >= last:
        return []
    part = slice(first, last)
    sort = _sort_of(motion)[part]
    cuts = sort == _CUT
    feed = np.where(cuts, np.nan_to_num(motion.feed[part], nan=-1.0), 0.0)
    speed = np.where(cuts, motion.speed[part], 0.0)
    cutter = np.where(cuts, motion.cutter[part], 0)
    change = (np.diff(sort) != 0) | (np.diff(cutter) != 0)
    change |= (np.diff(motion.station[part]) != 0) | np.diff(joined[part])
    change |= (np.abs(np.diff(feed)) > 1e-9) | (np.abs(np.diff(speed)) > 1e-9)
    begins = np.concatenate(([0], np.flatnonzero(change) + 1))
    ends = np.concatenate((begins[1:], [last - first]))
    found: list[_Stretch] = []
    for begin, end in zip(begins.tolist(), ends.tolist(), strict=True):
        kind = int(sort[begin])
        points, lines = _points(motion, first + begin, first + end, tolerance / 4)
        if kind != _CUT:
            points, lines = _corners(points, lines)
        found.append(
            _Stretch(
                kind, float(feed[begin]), float(speed[begin]), int(cutter[begin]),
                int(motion.station[first + begin]), bool(joined[first + begin]), points, lines,
            )
        )
    return found


def _points(motion: Motion, begin: int, end: int, chord: float) -> tuple[Floats, Ints]:
    """X, Y, Z and angle along pieces ``begin`` to ``end``, arcs by chords within ``chord`` mm."""
    part = slice(begin, end)
    many = np.ones(end - begin, dtype=np.int64)
    curved = np.flatnonzero(_is_arc(motion)[part])
    sweep = np.zeros(end - begin)
    first = np.array([1, 2, 0])[motion.plane[part]]
    second = np.array([2, 0, 1])[motion.plane[part]]
    row = np.arange(begin, end)
    from_first = motion.start[row, first] - motion.centre[row, first]
    from_second = motion.start[row, second] - motion.centre[row, second]
    to_first = motion.end[row, first] - motion.centre[row, first]
    to_second = motion.end[row, second] - motion.centre[row, second]
    radius = np.hypot(from_first, from_second)
    begun = np.arctan2(from_second, from_first)
    if len(curved):
        turn = np.arctan2(to_second, to_first) - begun
        clockwise = motion.kind[part] == Kind.ARC_CLOCKWISE
        turn = np.mod(np.where(clockwise, -turn, turn), 2 * np.pi)
        closed = (from_first == to_first) & (from_second == to_second)
        turn = np.where(closed, 2 * np.pi, turn) + 2 * np.pi * motion.turns[part]
        sweep[curved] = np.where(clockwise, -turn, turn)[curved]
        step = 2 * np.arccos(np.clip(1 - chord / np.maximum(radius[curved], chord), -1, 1))
        many[curved] = np.ceil(np.abs(sweep[curved]) / np.clip(step, 1e-3, 0.5))
        many = np.maximum(many, 1)
    piece = np.repeat(np.arange(end - begin), many)
    share = (np.arange(len(piece)) - np.repeat(np.cumsum(many) - many, many) + 1) / many[piece]
    start, finish = motion.start[part][piece], motion.end[part][piece]
    point = start + share[:, None] * (finish - start)
    on = np.flatnonzero((sweep[piece] != 0) & (share < 1))
    of = piece[on]
    angle = begun[of] + share[on] * sweep[of]
    # The radius goes evenly from the start's to the end's, as controls do within their tolerance.
    far = radius[of] + share[on] * (np.hypot(to_first, to_second)[of] - radius[of])
    point[on, first[of]] = motion.centre[part][of, first[of]] + far * np.cos(angle)
    point[on, second[of]] = motion.centre[part][of, second[of]] + far * np.sin(angle)
    turned = motion.angle_start[part][piece] + share * (
        motion.angle_end[part][piece] - motion.angle_start[part][piece]
    )
    points = np.empty((len(piece) + 1, 4))
    points[0, :3], points[0, 3] = motion.start[begin], motion.angle_start[begin]
    points[1:, :3], points[1:, 3] = point, turned
    lines = np.concatenate((motion.line[begin : begin + 1], motion.line[part][piece]))
    return points, lines


def _corners(points: Floats, lines: Ints) -> tuple[Floats, Ints]:
    """The corners of rapid moves: stops on the way along one axis in one sense are left out."""
    steps = np.sign(np.diff(points, axis=0))
    alone = (steps != 0).sum(axis=1) == 1
    through = (steps[1:] == steps[:-1]).all(axis=1) & alone[1:]
    kept = np.concatenate(([True], ~through, [True]))
    return points[kept], lines[kept]


def _length(points: Floats) -> float:
    return float(np.sqrt((np.diff(points[:, :3], axis=0) ** 2).sum(axis=1)).sum())


def _only_one(more: _Stretch) -> Message:
    return Message("{move} that only one of the two makes", move=_NAMES[more.sort])


def _differ(a: _Stretch, b: _Stretch, tolerance: float) -> Difference | None:
    """How two stretches differ; None when they do not."""
    at = (int(a.lines[min(1, len(a.lines) - 1)]), int(b.lines[min(1, len(b.lines) - 1)]))
    if a.sort != b.sort:
        return Difference(
            Message("{one} against {other}", one=_NAMES[a.sort], other=_NAMES[b.sort]), *at)
    if a.station != b.station:
        return Difference(Message("station {one} against {other}", one=a.station, other=b.station),
                          *at, 0.0, "")
    if a.cutter != b.cutter:
        return Difference(Message("cutter {one} against {other}", one=a.cutter, other=b.cutter),
                          *at, 0.0, "")
    if abs(a.speed - b.speed) > 0.5:
        return Difference(
            Message("spindle {one:g} against {other:g}", one=a.speed, other=b.speed), *at,
            abs(a.speed - b.speed), "rev/min"
        )
    if abs(a.feed - b.feed) > _FEED_SHARE * abs(a.feed):
        return Difference(
            Message("feed {one:g} against {other:g}", one=a.feed, other=b.feed), *at,
            abs(a.feed - b.feed), "mm/min"
        )
    if a.sort == _CUT:
        return _ways_differ(a, b, tolerance * 1.25)
    for one in range(min(len(a.points), len(b.points))):
        off = float(np.abs(a.points[one] - b.points[one]).max())
        if off > tolerance:
            return Difference(
                Message("{move} to another place", move=_NAMES[a.sort]), int(a.lines[one]),
                int(b.lines[one]), off
            )
    if len(a.points) != len(b.points):
        short = min(len(a.points), len(b.points))
        in_a = len(a.points) > len(b.points)
        more = a if in_a else b
        off = float(np.abs(more.points[short] - more.points[short - 1]).max())
        line = int(more.lines[short])
        return Difference(
            _only_one(a),
            line if in_a else int(a.lines[-1]), int(b.lines[-1]) if in_a else line, off,
        )
    return None


def _ways_differ(a: _Stretch, b: _Stretch, reach: float) -> Difference | None:
    """Whether two ways part by more than ``reach``: the decision of the Fréchet distance.

    Goes through the pairs of chords that can be gone along together, in order (Alt and Godau's
    free-space cells, from memory). Two ways that keep together have few such pairs.
    """
    p, q = a.points, b.points
    if float(np.linalg.norm(p[0] - q[0])) > reach or float(np.linalg.norm(p[-1] - q[-1])) > reach:
        end = 0 if float(np.linalg.norm(p[0] - q[0])) > reach else -1
        return Difference(
            Message("the cut begins elsewhere") if end == 0 else Message("the cut ends elsewhere"),
            int(a.lines[end]), int(b.lines[end]), float(np.linalg.norm(p[end] - q[end])),
        )
    rows_p, rows_q = p.tolist(), q.tolist()
    last_i, last_j = len(rows_p) - 2, len(rows_q) - 2
    # For each cell that can be entered: lowest place reached on its left and on its lower side.
    cells: dict[tuple[int, int], tuple[float, float]] = {(0, 0): (0.0, 0.0)}
    waiting = [(0, 0)]
    furthest = (0, 0)
    square = reach * reach
    while waiting:
        following: list[tuple[int, int]] = []
        for i, j in waiting:
            left, low = cells.pop((i, j))
            if i + j > furthest[0] + furthest[1]:
                furthest = (i, j)
            if i == last_i and j == last_j:
                return None
            # Right side: the end of chord i of p against chord j of q.
            if i < last_i:
                low_end, high_end = _within(rows_p[i + 1], rows_q[j], rows_q[j + 1], square)
                entered = low_end if low <= 1.0 else max(low_end, left)
                if entered <= high_end:
                    _enter(cells, following, (i + 1, j), left=entered)
            if j < last_j:
                low_end, high_end = _within(rows_q[j + 1], rows_p[i], rows_p[i + 1], square)
                entered = low_end if left <= 1.0 else max(low_end, low)
                if entered <= high_end:
                    _enter(cells, following, (i, j + 1), low=entered)
        waiting = following
    i, j = furthest
    off = min(
        float(np.linalg.norm(p[i + 1] - q[j])), float(np.linalg.norm(p[i] - q[j + 1])),
        float(np.linalg.norm(p[i + 1] - q[j + 1])),
    )
    return Difference(
        Message("the cut goes another way"), int(a.lines[i + 1]), int(b.lines[j + 1]), off
    )


_NEVER: Final = 2.0


def _enter(
    cells: dict[tuple[int, int], tuple[float, float]],
    following: list[tuple[int, int]],
    cell: tuple[int, int],
    *,
    left: float = _NEVER,
    low: float = _NEVER,
) -> None:
    """Note that a cell can be entered from its left or lower side, from some place on."""
    known = cells.get(cell)
    if known is None:
        cells[cell] = (left, low)
        following.append(cell)
    else:
        cells[cell] = (min(known[0], left), min(known[1], low))


def _within(
    point: list[float], start: list[float], end: list[float], square: float
) -> tuple[float, float]:
    """The part of a chord, as shares of it, within reach of a point; empty as (1, 0)."""
    along = across = length = 0.0
    for at, begin, finish in zip(point, start, end, strict=True):
        way, off = finish - begin, begin - at
        length += way * way
        along += way * off
        across += off * off
    if length == 0.0:
        return (0.0, 1.0) if across <= square else (1.0, 0.0)
    root = along * along - length * (across - square)
    if root < 0.0:
        return 1.0, 0.0
    root = root**0.5
    low, high = max(0.0, (-along - root) / length), min(1.0, (-along + root) / length)
    return (low, high) if low <= high else (1.0, 0.0)
