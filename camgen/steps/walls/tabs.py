"""Tabs: bridges left standing at a wall, where they go and how the cutter rises over them.

Each stands between two flanks of 45° so that the cutter never goes straight down beside it.
"""

import itertools
import math
from collections.abc import Sequence

from pydantic import Field

from camgen.shapes.path import ArcTo, Path, Point
from camgen.shop.model import FileModel, Length
from camgen.tolerances import SAME_POINT

__all__ = ["TabWords", "half_lifted", "height_at", "lifted", "tab_ends", "tab_middles"]


# A tab on a curve is lifted over a little longer where an end of it would be so much short, mm.
# Half the increment of most machines.
BARELY = 0.0005


class TabWords(FileModel):
    """Bridges that hold a loose piece."""

    count: int = Field(2, ge=1, le=12, description="bridges to each wall")
    width: Length = Field(description="width left standing")
    height: Length = Field(description="height above the lower face")


def tab_middles(
    path: Path, tabs: TabWords | None, cutter_diameter: float, lead: float = 0.0
) -> tuple[Point, ...]:
    """Middles of the tabs on a closed path: evenly spaced, as far from its corners as can be.

    Corners are the arcs tighter than the cutter. The path's start, where the cutter leads in and
    out over ``lead`` mm along it, is kept clear first of all.
    """
    if tabs is None:
        return ()
    corners = [0.0]
    clear = cutter_diameter / 2 + tabs.width / 2 + tabs.height + lead
    passed = 0.0
    for (at, piece), length in zip(path.laid_out(), path.lengths, strict=True):
        if isinstance(piece, ArcTo) and math.dist(at, piece.centre) < cutter_diameter:
            corners.append(passed + length / 2)
        passed += length
    spacing = path.length / tabs.count

    def room(first: float) -> tuple[float, float]:
        off_start = min(first, spacing - first)
        return round(min(off_start, clear), 9), round(min(
            _off(first + number * spacing, corner, path.length)
            for number in range(tabs.count)
            for corner in corners
        ), 9)

    first = max((spacing * share / 48 for share in range(48)), key=room)
    return tuple(path.at(first + number * spacing) for number in range(tabs.count))


def tab_ends(
    path: Path, middle: Point, width: float
) -> tuple[tuple[float, float], tuple[float, float]]:
    """The two ends of what stands ``width`` mm wide about a place on a closed path, straight.

    >>> from camgen.shapes.path import polygon
    >>> tab_ends(polygon([(0, 0), (4, 0), (4, 4), (0, 4)]), Point(2, 0), 1.0)
    ((1.5, 0.0), (2.5, 0.0))
    """
    at, half = path.nearest(middle), min(width, path.length / 2) / 2
    before, after = (path.at((at + side * half) % path.length) for side in (-1, 1))
    x, y = after.x - before.x, after.y - before.y
    long = math.hypot(x, y)
    out_x, out_y = (half * x / long, half * y / long) if long else (0.0, 0.0)
    return (middle.x - out_x, middle.y - out_y), (middle.x + out_x, middle.y + out_y)


def half_lifted(
    path: Path, at: float, ends: tuple[tuple[float, float], tuple[float, float]], radius: float,
    half: float,
) -> float:
    """How far either side of ``at`` mm along a closed path a cutter of ``radius`` is to be lifted,
    so that it clears what stands between ``ends``: ``half`` mm, or more where the path is bent.

    >>> from camgen.shapes.path import circle
    >>> about = circle(Point(0, 0), 1.0)
    >>> round(half_lifted(about, 0.0, ((1.0, -0.1), (1.0, 0.1)), 0.5, 0.6), 3)
    0.604
    """
    (x, y), (u, v) = ends
    wide = math.dist(*ends)
    for _ in range(12):
        if half >= path.length / 2:
            break
        nearest = math.inf
        for side in (-1, 1):
            place = path.at((at + side * half) % path.length)
            along = ((place.x - x) * (u - x) + (place.y - y) * (v - y)) / wide if wide else 0.0
            share = min(max(along / wide, 0.0), 1.0) if wide else 0.0
            nearest = min(nearest, math.dist(place, (x + share * (u - x), y + share * (v - y))))
        if nearest >= radius - BARELY:
            break
        half += radius - nearest
    return half


def beads(path: Path, cutter_diameter: float) -> list[tuple[Point, float]]:
    """Circles along a path that together hold all that a cutter there leaves beneath it."""
    count = math.ceil(path.length / (2 * cutter_diameter))
    apart = path.length / count
    radius = math.hypot(apart / 2, cutter_diameter)
    return [(path.at(number * apart), radius) for number in range(count)]


def half_over(
    path: Path, last: Path, tabs: Sequence[Point], radius: float, half: float
) -> float:
    """The same for all tabs whose middles lie on ``last``, along another path beside it."""
    return max(half_lifted(path, path.nearest(tab), tab_ends(last, tab, 2 * (half - radius)),
                           radius, half) for tab in tabs)


def _off(distance: float, place: float, length: float) -> float:
    """How far apart two places on a closed path are, the shorter way round, mm."""
    return abs((distance - place + length / 2) % length - length / 2)


def lifted(
    heights: Sequence[tuple[float, float]],
    middles: Sequence[float],
    half: float,
    top: float,
) -> list[tuple[float, float]]:
    """A straight profile over a closed path, raised to ``top`` over ``half`` mm either side of each
    of ``middles``, with flanks of 45°.

    >>> lifted(((0.0, -1.0), (8.0, -1.0)), [4.0], 1.0, -0.5)
    [(0.0, -1.0), (2.5, -1.0), (3.0, -0.5), (5.0, -0.5), (5.5, -1.0), (8.0, -1.0)]
    """
    (_, begin), (length, finish) = heights
    slope = (finish - begin) / length

    def level(distance: float) -> float:
        plain = begin + slope * distance
        near = min((_off(distance, middle, length) for middle in middles), default=math.inf)
        return max(plain, top - max(0.0, near - half))

    # Wherever two of the straight lines that the profile is made of cross, it may have a corner.
    corners = {0.0, length}
    if slope:
        corners.add((top - begin) / slope)
    round_and_round = sorted(m + lap for m in middles for lap in (-length, 0.0, length))
    for at in round_and_round:
        corners |= {
            at - half,
            at + half,
            (begin - top + at - half) / (1 - slope),
            (top + at + half - begin) / (1 + slope),
        }
    corners |= {(one + other) / 2 for one, other in itertools.pairwise(round_and_round)}
    places = [0.0]
    for at in sorted(corners):
        if places[-1] + SAME_POINT < at < length - SAME_POINT:
            places.append(at)
    profile = [(at, level(at)) for at in (*places, length)]
    return [
        point
        for number, point in enumerate(profile)
        if number in (0, len(profile) - 1)
        or not _straight(profile[number - 1], point, profile[number + 1])
    ]


def height_at(profile: Sequence[tuple[float, float]], along: float) -> float:
    """The height of a profile ``along`` mm from its start.

    >>> height_at(((0.0, -1.0), (2.0, 0.0)), 0.5)
    -0.75
    """
    for (at, begin), (to, end) in itertools.pairwise(profile):
        if along <= to and to > at:
            return begin + (end - begin) * (along - at) / (to - at)
    return profile[-1][1]


def _straight(
    before: tuple[float, float], point: tuple[float, float], after: tuple[float, float]
) -> bool:
    """True when the profile has no corner at ``point``."""
    turn = (point[0] - before[0]) * (after[1] - point[1]) - (after[0] - point[0]) * (
        point[1] - before[1]
    )
    return abs(turn) < 1e-12
