"""Crossing-out with arms bent to a curve: their edges are arcs as hub and rim are.

An arm's middle line leaves the wheel's middle along +x on a circle of the bend's radius R about
(0, R). Each edge is the circle through three points set off from it by half the arm's width, at the
hub, halfway, and at the rim: where the width is the same all along, that is a circle about (0, R).
Corners as in :mod:`camgen.shapes.crossing`: their centres lie on the parallels of the four edges.
Lengths mm.
"""

from __future__ import annotations

import math

from camgen.shapes.path import ArcTo, Path, Piece, Point
from camgen.values import dataclass

__all__ = ["bent_opening"]


@dataclass(frozen=True, slots=True)
class _Round:
    """A circle that bounds an opening; ``side`` is 1 where the opening lies outside it, else −1."""

    centre: Point
    radius: float
    side: float

    def off(self, away: float) -> _Round:
        """Its parallel, ``away`` mm inside the opening."""
        return _Round(self.centre, self.radius + self.side * away, self.side)

    def foot(self, of: Point) -> Point:
        """Where the circle is nearest to a point."""
        dx, dy = of.x - self.centre.x, of.y - self.centre.y
        share = self.radius / math.hypot(dx, dy)
        return Point(self.centre.x + dx * share, self.centre.y + dy * share)

    def turned(self, angle: float) -> _Round:
        """The same, turned about the origin by ``angle`` radians."""
        cosine, sine = math.cos(angle), math.sin(angle)
        x, y = self.centre
        return _Round(Point(x * cosine - y * sine, x * sine + y * cosine), self.radius, self.side)


def bent_opening(
    arms: int, hub: float, rim: float, at_rim: float, at_hub: float, corner: float, bend: float,
    inset: float,
) -> Path | None:
    """The opening beyond arm 1, anticlockwise, from the middle of its rim; None where there is
    none. ``hub`` and ``rim`` are radii, ``bend`` that of the arms' middle line, bent to the left
    going outwards.
    """
    if 2 * bend <= rim:
        return None  # such an arm turns back before it comes to the rim
    left, right = _edges(hub, rim, at_rim, at_hub, bend)
    after = right.turned(math.tau / arms)
    middle = Point(0.0, 0.0)
    outside, inside = _Round(middle, rim, -1.0), _Round(middle, hub, 1.0)
    lower = _meet(left.off(corner), outside.off(corner), left.foot(_on_arm(rim, bend)))
    aim = _on_arm(rim, bend, math.tau / arms)
    upper = _meet(after.off(corner), outside.off(corner), after.foot(aim))
    if lower is None or upper is None or not _between(lower, upper):
        return None
    low = _meet(left.off(corner), inside.off(corner), left.foot(_on_arm(hub, bend)))
    high = _meet(after.off(corner), inside.off(corner),
                 after.foot(_on_arm(hub, bend, math.tau / arms)))
    at_the_hub = low is not None and high is not None and _between(low, high)
    if not at_the_hub:
        # The arms run into one another before they reach the hub.
        low = high = _meet(left.off(corner), after.off(corner),
                           Point((lower.x + upper.x) / 4, (lower.y + upper.y) / 4))
    if low is None or high is None or math.hypot(*low) >= rim - corner:
        return None
    if not (_goes_out(left, low, lower) and _goes_out(after, high, upper)):
        return None
    wall = [one.off(inset) for one in (outside, after, inside, left)]
    pieces: list[Piece] = []

    def arc(end: Point, centre: Point, *, clockwise: bool = False) -> None:
        pieces.append(ArcTo(end, centre, clockwise))

    def round_corner(end: Point, centre: Point) -> None:
        if corner - inset >= 1e-9:
            arc(end, centre)

    begin = _turned(wall[0].foot(lower), wall[0].foot(upper))
    arc(wall[0].foot(upper), middle)
    round_corner(wall[1].foot(upper), upper)
    arc(wall[1].foot(high), after.centre, clockwise=True)
    if at_the_hub:
        round_corner(wall[2].foot(high), high)
        arc(wall[2].foot(low), middle, clockwise=True)
    round_corner(wall[3].foot(low), low)
    arc(wall[3].foot(lower), left.centre)
    round_corner(wall[0].foot(lower), lower)
    arc(begin, middle)
    return Path(begin, tuple(pieces), closed=True)


def _edges(
    hub: float, rim: float, at_rim: float, at_hub: float, bend: float
) -> tuple[_Round, _Round]:
    """The left and the right edge of arm 1, going outwards."""
    angles = [2 * math.asin(radius / 2 / bend) for radius in (hub, rim)]
    places = [(angles[0], at_hub / 2), (sum(angles) / 2, (at_hub + at_rim) / 4),
              (angles[1], at_rim / 2)]

    def edge(side: float) -> _Round:
        # Seen from the bend's middle, (0, bend), arm 1 begins straight below.
        points = [Point((bend + side * half) * math.sin(angle),
                        bend - (bend + side * half) * math.cos(angle)) for angle, half in places]
        centre = _through(*points)
        return _Round(centre, math.dist(centre, points[0]), side)

    return edge(-1.0), edge(1.0)


def _through(a: Point, b: Point, c: Point) -> Point:
    """The middle of the circle through three points (plane geometry)."""
    twice = 2 * (a.x * (b.y - c.y) + b.x * (c.y - a.y) + c.x * (a.y - b.y))
    aa, bb, cc = (x * x + y * y for x, y in (a, b, c))
    return Point((aa * (b.y - c.y) + bb * (c.y - a.y) + cc * (a.y - b.y)) / twice,
                 (aa * (c.x - b.x) + bb * (a.x - c.x) + cc * (b.x - a.x)) / twice)


def _on_arm(radius: float, bend: float, turn: float = 0.0) -> Point:
    """Where an arm's middle line is ``radius`` from the wheel's middle."""
    angle = math.asin(radius / 2 / bend) + turn
    return Point(radius * math.cos(angle), radius * math.sin(angle))


def _meet(one: _Round, other: _Round, near: Point) -> Point | None:
    """Where two circles meet, the nearer to a point; None where they do not."""
    if one.radius <= 0 or other.radius <= 0:
        return None
    dx, dy = other.centre.x - one.centre.x, other.centre.y - one.centre.y
    apart = math.hypot(dx, dy)
    if apart < 1e-12:
        return None
    along = (apart * apart + one.radius**2 - other.radius**2) / (2 * apart)
    rest = one.radius**2 - along * along
    if rest < 0:
        return None
    across = math.sqrt(rest)
    x, y = one.centre.x + dx * along / apart, one.centre.y + dy * along / apart
    both = (Point(x - dy * across / apart, y + dx * across / apart),
            Point(x + dy * across / apart, y - dx * across / apart))
    return min(both, key=lambda point: math.dist(point, near))


def _between(first: Point, then: Point) -> bool:
    """Whether the way on from the one to the other about the origin is anticlockwise."""
    return first.x * then.y - first.y * then.x > 1e-12 or (
        # More than half a turn apart, as between two arms.
        first.x * then.x + first.y * then.y < 0)


def _goes_out(edge: _Round, low: Point, high: Point) -> bool:
    """Whether an edge comes from the hub to the rim from ``low`` to ``high``."""
    ax, ay = low.x - edge.centre.x, low.y - edge.centre.y
    bx, by = high.x - edge.centre.x, high.y - edge.centre.y
    return ax * by - ay * bx > 1e-12


def _turned(start: Point, end: Point) -> Point:
    """The middle of the arc about the origin, anticlockwise."""
    begin = math.atan2(start.y, start.x)
    sweep = (math.atan2(end.y, end.x) - begin) % math.tau
    radius = math.hypot(*start)
    return Point(radius * math.cos(begin + sweep / 2), radius * math.sin(begin + sweep / 2))
