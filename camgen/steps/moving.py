"""Moves that several kinds of steps make: getting there, following a path, leading in and out.

Lengths mm, feeds mm/min.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Iterator, Sequence

from camgen.cutting.planner import CutPlan
from camgen.faults import Fault, Refused
from camgen.layout import FlatLayout
from camgen.messages import Message
from camgen.moves import Arc, Feed, Move, Rapid
from camgen.shapes.path import ArcTo, LineTo, Path, Piece, Point
from camgen.shop.machine import Machine
from camgen.values import dataclass

__all__ = [
    "NEAR",
    "Feeds",
    "above",
    "away",
    "enter",
    "follow",
    "lap_count",
    "laps",
    "lead_angle",
    "leads",
    "shifted",
]
# So far over metal, mm, the way down goes on at the feed for it: a zero is touched to a few
# hundredths, and stock is as even. Common practice, no source.
NEAR = 0.1
# No piece of a path is made shorter than this by a corner in its heights, mm.
SHORTEST = 0.005
# No way down takes more turns than this: what asks for more has no room to go round. Common
# practice, no source.
MOST_TURNS = 2000


@dataclass(frozen=True, slots=True)
class Feeds:
    """Feeds of a cutter's centre, mm/min, such that the wall sees ``along``.

    Inside a circle the wall is passed faster than the centre moves: with a centre path of radius ρ
    and a cutter of radius r the wall, at ρ + r, sees (ρ + r)/ρ times the centre's feed, so the
    centre gets ``along`` · ρ/(ρ + r). ``acceleration`` (mm/s²) bounds every arc to v² ≤ a·ρ.
    ``down`` bounds the part of a move that goes down in metal, ``upright`` what Z follows at all,
    also where ``rounding`` of both its ends, mm, makes a short move steeper.
    """

    along: float
    down: float
    radius: float
    acceleration: float
    upright: float = math.inf
    rounding: float = 0.0

    @classmethod
    def on(cls, machine: Machine, along: float, down: float, radius: float) -> Feeds:
        """Feeds within what the machine's X and Y follow, and its Z going down."""
        return cls(
            min(along, machine.x.feed_limit, machine.y.feed_limit),
            min(down, machine.z.feed_limit),
            radius,
            min(machine.x.acceleration, machine.y.acceleration),
            machine.z.feed_limit,
            machine.coarsest,
        )

    @property
    def straight(self) -> float:
        """Feed straight up, or straight down where the metal is already gone."""
        return min(self.along, self.upright)

    def on_arc(self, path_radius: float, inside: bool) -> float:
        """Feed of the centre on an arc of ``path_radius``; ``inside`` when the wall is outside it.

        >>> feeds = Feeds(along=100.0, down=20.0, radius=0.2, acceleration=250.0)
        >>> round(feeds.on_arc(0.2, inside=True), 3)
        50.0
        """
        feed = self.along
        if inside:
            feed *= path_radius / (path_radius + self.radius)
        return min(feed, 60.0 * math.sqrt(self.acceleration * path_radius))

    def sloped(self, feed: float, level: float, fall: float) -> float:
        """``feed`` lowered so that going ``fall`` mm down over ``level`` mm keeps to ``down``.

        Going up, which is a negative fall, it keeps to what Z follows.
        """
        if fall == 0:
            return feed
        if fall > 0:
            feed = min(feed, self.down * math.hypot(level, fall) / fall)
        steep, flat = abs(fall) + self.rounding, max(0.0, level - self.rounding)
        return min(feed, self.upright * math.hypot(flat, steep) / steep)


def above(layout: FlatLayout, point: Point) -> list[Move]:
    """Up, across at the safe height, down to the clearance: one axis or one plane at a time."""
    return [
        Rapid(z=layout.safe_height),
        Rapid(x=point.x, y=point.y),
        Rapid(z=layout.face + layout.clearance),
    ]


def away(layout: FlatLayout) -> list[Move]:
    """Up to the safe height."""
    return [Rapid(z=layout.safe_height)]


def enter(feeds: Feeds, bottom: float, cleared: bool, above: float | None = None) -> list[Move]:
    """From the clearance down to ``bottom``: at the full feed where the metal is already gone.

    From ``above`` (Z), where that is given, down to a little over the metal as fast as Z follows.
    """
    down = Feed(feeds.straight if cleared else feeds.down, z=bottom)
    if above is None or cleared or above - bottom <= NEAR or feeds.upright == math.inf:
        return [down]
    return [Feed(feeds.upright, z=bottom + NEAR), down]


def follow(
    path: Path,
    feeds: Feeds,
    wall_on_right: bool,
    heights: Sequence[tuple[float, float]] = (),
) -> list[Move]:
    """The moves along ``path``, which begin at its start.

    ``heights`` are (mm along the path, Z) corners of a profile rising and falling in between; with
    none the height stays as it is. Two corners at one place are a straight plunge or rise.
    """
    moves: list[Move] = []
    level = heights[0][1] if heights else 0.0
    for at, piece, length, z in _stretches(path, heights):
        fall = 0.0 if z is None else level - z
        level = level if z is None else z
        if piece is None:
            moves.append(Feed(feeds.straight if fall < 0 else feeds.down, z=z))
        elif isinstance(piece, LineTo):
            feed = feeds.sloped(feeds.along, length, fall)
            moves.append(Feed(feed, x=piece.end.x, y=piece.end.y, z=z))
        else:
            path_radius = math.dist(at, piece.centre)
            feed = feeds.on_arc(path_radius, inside=piece.clockwise != wall_on_right)
            moves.append(
                Arc(
                    feeds.sloped(feed, length, fall),
                    (piece.centre.x, piece.centre.y),
                    piece.clockwise,
                    x=piece.end.x,
                    y=piece.end.y,
                    z=z,
                )
            )
    return moves


def _stretches(
    path: Path, heights: Sequence[tuple[float, float]]
) -> Iterator[tuple[Point, Piece | None, float, float | None]]:
    """The path's pieces, broken where the profile has corners, each with the Z it ends at.

    A piece of None is a move straight up or down.
    """
    if not heights or all(z == heights[0][1] for _, z in heights):
        for (at, piece), length in zip(path.laid_out(), path.lengths, strict=True):
            yield at, piece, length, None
        return
    for (begin, low), (finish, high) in itertools.pairwise(_snapped(path, heights)):
        if finish - begin <= 1e-9:
            if high != low:
                yield path.at(begin), None, 0.0, high
            continue
        part = path.between(begin, finish)
        done = 0.0
        for (at, piece), length in zip(part.laid_out(), part.lengths, strict=True):
            done += length
            share = done / part.length
            yield at, piece, length, high if share > 1 - 1e-12 else low + (high - low) * share


def _snapped(
    path: Path, heights: Sequence[tuple[float, float]]
) -> list[tuple[float, float]]:
    """The profile with corners that lie beside a joint of the path moved onto it.

    Pieces shorter than a few least increments would be rounded to nothing, or to another direction.
    """
    joints = [0.0, *itertools.accumulate(path.lengths)]
    snapped: list[tuple[float, float]] = []
    for at, z in heights:
        joint = min(joints, key=lambda place: abs(place - at))
        snapped.append((joint if abs(joint - at) < SHORTEST else at, z))
    return snapped


def lap_count(length: float, deep: float, cut: CutPlan) -> int:
    """How often a way of ``length`` mm is gone along to come down by ``deep`` mm, evenly.

    Each time at most by the cut's depth and no steeper than its ramp. Raises Refused where the way
    is so short that it would be gone along without end.
    """
    each = min(cut.depth, length * math.tan(math.radians(cut.ramp_angle)))
    if each * MOST_TURNS < deep:
        raise Refused(Fault(
            Message("the way down is only {length:.3g} mm long: by {angle:g}° it would be gone "
                    "along more than {turns} times to come {deep:.3g} mm deep", length=length,
                    angle=cut.ramp_angle, turns=MOST_TURNS, deep=deep),
            Message("a smaller cutter, which has more room to go round, or less depth")))
    return max(1, math.ceil(deep / each - 1e-9))


def laps(
    path: Path,
    top: float,
    bottom: float,
    cut: CutPlan,
    feeds: Feeds,
    wall_on_right: bool,
    lift: Callable[[Sequence[tuple[float, float]]], Sequence[tuple[float, float]]] | None = None,
) -> list[Move]:
    """Round and round a closed ``path`` from ``top`` down to ``bottom``, and once level.

    Every lap goes down by the same amount, at most the cut's depth and no steeper than its ramp; so
    the cutter is never set straight down into metal. ``lift`` may raise the profile over tabs.
    Raises Refused where there is no end to the laps.
    """
    count = lap_count(path.length, top - bottom, cut)
    moves: list[Move] = []
    for number in range(count + 1):
        begin = top + (bottom - top) * number / count
        finish = top + (bottom - top) * min(number + 1, count) / count
        heights: Sequence[tuple[float, float]] = ((0.0, begin), (path.length, finish))
        moves += follow(path, feeds, wall_on_right, lift(heights) if lift else heights)
    return moves


def shifted(moves: Iterable[Move], dx: float, dy: float) -> list[Move]:
    """The same moves in X and Y for a piece that lies ``dx``, ``dy`` mm away."""
    done: list[Move] = []
    for move in moves:
        if isinstance(move, Arc):
            x = None if move.x is None else move.x + dx
            y = None if move.y is None else move.y + dy
            centre = (move.centre[0] + dx, move.centre[1] + dy)
            done.append(
                Arc(move.feed, centre, move.clockwise, x, y, move.z, move.plane, move.full)
            )
        elif isinstance(move, Feed) and move.x is not None and move.y is not None:
            done.append(Feed(move.feed, move.x + dx, move.y + dy, move.z))
        elif isinstance(move, Rapid) and move.x is not None and move.y is not None:
            done.append(Rapid(move.x + dx, move.y + dy, move.z))
        else:
            done.append(move)
    return done


def lead_angle(path_radius: float | None, inside: bool, lead: float, room: float) -> float:
    """How far, in radians, an arc of radius ``lead`` turns from tangent to ``room`` mm off a path.

    ``path_radius`` is that of the path's first piece, None when straight; ``inside`` when the arc
    lies inside the circle. From the triangle of the two centres and the arc's far end.

    >>> round(math.degrees(lead_angle(None, True, 1.0, 1.0)), 6)
    90.0
    """
    if path_radius is None:
        return math.acos(1 - room / lead)
    if inside:
        between, far = path_radius - lead, path_radius - room
        cosine = (far**2 - between**2 - lead**2) / (2 * between * lead)
    else:
        between, far = path_radius + lead, path_radius + room
        cosine = (between**2 + lead**2 - far**2) / (2 * between * lead)
    return math.acos(max(-1.0, min(1.0, cosine)))


def leads(path: Path, wall_on_right: bool, lead: float, room: float) -> tuple[Path, Path]:
    """Arcs of radius ``lead`` onto a closed path's start and off it again, both tangent to it.

    They begin and end ``room`` mm from the path on the side away from the wall. Inside a round path
    hardly wider than they are they are half as wide as it.
    """
    first = path.pieces[0]
    start = path.start
    if isinstance(first, LineTo):
        along = Point(first.end.x - start.x, first.end.y - start.y)
        path_radius: float | None = None
        inside = True
    else:
        out = Point(start.x - first.centre.x, start.y - first.centre.y)
        along = Point(out.y, -out.x) if first.clockwise else Point(-out.y, out.x)
        path_radius = math.hypot(*out)
        inside = first.clockwise != wall_on_right
        if inside and lead > path_radius - room / 2:
            # Such an arc would not come so far off the path, or lie beyond it.
            lead = path_radius / 2
    size = math.hypot(*along)
    # The side away from the wall: left of the way when the wall is on the right.
    side = 1.0 if wall_on_right else -1.0
    free = Point(-along.y / size * side, along.x / size * side)
    centre = Point(start.x + free.x * lead, start.y + free.y * lead)
    turn = lead_angle(path_radius, inside, lead, room)
    anticlockwise = wall_on_right
    sense = turn if anticlockwise else -turn
    begin, finish = _turned(start, centre, -sense), _turned(start, centre, sense)
    onto = Path(begin, (ArcTo(start, centre, not anticlockwise),), closed=False)
    off = Path(start, (ArcTo(finish, centre, not anticlockwise),), closed=False)
    return onto, off


def _turned(point: Point, centre: Point, angle: float) -> Point:
    cosine, sine = math.cos(angle), math.sin(angle)
    dx, dy = point.x - centre.x, point.y - centre.y
    return Point(centre.x + dx * cosine - dy * sine, centre.y + dx * sine + dy * cosine)
