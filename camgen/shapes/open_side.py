"""Pockets open at a side: an area that reaches over the edge of the part it is cut into.

Inside the part the area's edges are walls. Beyond the part's edge there are none, and the cutter
must go on over the edge until it leaves no lip. So each wall is carried on straight over the edge,
and the area is closed beyond it by a parallel of the part's outline.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.shapes.offset import Area, distances, offset
from camgen.shapes.path import LineTo, Path, Piece, Point, direction
from camgen.values import dataclass

__all__ = ["OpenArea", "opened", "stretches_inside"]

# Chord error of the outline where it is asked what lies inside; an edge of the area no further
# inside than this counts as one on the outline, which is open.
OUTLINE_CHORD = 1e-5
ON_EDGE = 0.002
# An edge so far inside at its nearest, mm, needs no closer look.
WELL_INSIDE = 0.01
# Places along an edge at which it is asked, mm apart at most.
APART = 0.05
# What the cutter goes on beyond what plane geometry wants, mm.
MARGIN = 0.05


@dataclass(frozen=True)
class OpenArea:
    """``area`` as it is cleared: over the part's edge where it is open. ``walls`` are those of its
    edges that stay, with a stretch carried on beyond the edge where it is open; None where it is
    not, and all are."""

    area: Area
    walls: tuple[Path, ...] | None = None


@dataclass(frozen=True)
class _Run:
    """An edge inside the outline: ``path`` and what carries it on straight, before and after."""

    path: Path
    before: Point
    after: Point


def opened(area: Area, outline: Path, radius: float, extra: float = 0.0) -> tuple[OpenArea, ...]:
    """The area, closed beyond the ``outline`` where it reaches it, for a cutter of ``radius``.

    A cutter that keeps inside it then leaves nothing on the part's edge. A wall that meets the far
    side at an angle α is reached up to r·(1 + cos α) from it (plane geometry): so far, at least r,
    and ``extra`` mm, the area goes on. In several parts where the outline parts it; none where it
    lies beside. Raises Refused when there is no room to carry it on beyond the edge.
    """
    runs = _inside(area.outer, outline)
    if runs is None:
        return (OpenArea(area),)
    part = outline.region(OUTLINE_CHORD)
    islands = [path for path in area.islands if part.intersects(path.region(OUTLINE_CHORD))]
    if not runs:
        asked = area.outer.region(OUTLINE_CHORD)
        if not asked.contains(shapely.Point(part.representative_point())):
            return ()
        (whole,) = offset(Area(outline), radius + MARGIN + extra)
        return (OpenArea(Area.of(whole.outer, islands), tuple(islands)),)
    lean = max(lean for run in runs for lean, _ in _leans(run, outline))
    reach = radius * (1.0 + max(0.0, lean)) + MARGIN + extra
    far = offset(Area(outline), reach)
    carried = [_carried(run, outline, part, reach) for run in runs]
    found = []
    for outer, walls in _closed(carried, [path for one in far for path in one.paths]):
        inside = outer.region(OUTLINE_CHORD)
        mine = [path for path in islands if inside.intersects(path.region(OUTLINE_CHORD))]
        one = Area.of(outer, mine)
        if not _is_clear(one, area, part):
            begun = {wall.start for wall in walls}
            raise Refused(_no_room(_flattest(
                [run.path for run in carried if run.before in begun], outline)))
        found.append(OpenArea(one, (*walls, *(Area.of(outer, mine).islands))))
    return tuple(found)


def stretches_inside(path: Path, outline: Path) -> list[Path]:
    """The stretches of a closed path inside an outline: itself where all of it is.

    >>> from camgen.shapes.path import circle
    >>> plate = circle(Point(0.0, 0.0), 5.0)
    >>> [round(one.length, 2) for one in stretches_inside(circle(Point(5.0, 0.0), 1.0), plate)]
    [2.94]
    """
    found = _inside(path, outline)
    return [path] if found is None else found


def _inside(path: Path, outline: Path) -> list[Path] | None:
    """The stretches of a closed path inside an outline; None when all of it is."""
    part = outline.region(OUTLINE_CHORD).buffer(-ON_EDGE, join_style="mitre")
    shapely.prepare(part)
    whole = path.region(WELL_INSIDE / 2)
    if part.contains(whole) and part.boundary.distance(whole.exterior) > WELL_INSIDE:
        return None
    places = [0.0]
    for length in path.lengths:
        count = max(1, math.ceil(length / APART))
        places += [places[-1] + length / count * (n + 1) for n in range(count)]
    # Just after each joint too, so that a corner on the edge is told from the edges beside it.
    points = np.array([path.at(min(place, path.length)) for place in places[:-1]])
    within = shapely.contains_xy(part, points[:, 0], points[:, 1])
    if within.all():
        return None
    if not within.any():
        return []

    def is_inside(place: float) -> bool:
        return bool(shapely.contains_xy(part, *path.at(place % path.length)))

    def crossing(low: float, high: float) -> float:
        before = is_inside(low)
        for _ in range(60):
            middle = (low + high) / 2
            if is_inside(middle) == before:
                low = middle
            else:
                high = middle
        return (low + high) / 2

    count = len(within)
    outside = int(np.flatnonzero(~within)[0])
    order = [(outside + n) % count for n in range(count + 1)]
    at = [places[n] + (path.length if k and n <= outside else 0.0) for k, n in enumerate(order)]
    found: list[Path] = []
    begin: float | None = None
    for k in range(count):
        here, there = bool(within[order[k]]), bool(within[order[k + 1]])
        if here == there:
            continue
        place = crossing(at[k], at[k + 1])
        if there:
            begin = place
        elif begin is not None:
            found.append(_between(path, begin, place))
            begin = None
    return [one for one in found if one.length > ON_EDGE]


def _between(path: Path, begin: float, end: float) -> Path:
    """A stretch of a closed path, which may go on over its start."""
    length = path.length
    if begin >= length:
        begin, end = begin - length, end - length
    if end <= length:
        return path.between(begin, end)
    first, second = path.between(begin, length), path.between(0.0, end - length)
    return Path(first.start, (*first.pieces, *second.pieces), closed=False)


def _ends(run: Path) -> tuple[Point, Point]:
    """Directions in which a path goes on straight before its start and after its end."""
    first = direction(run.start, run.pieces[0])
    at = [start for start, _ in run.laid_out()][-1]
    last = direction(at, run.pieces[-1], at_end=True)
    return Point(-first.x, -first.y), last


def _leans(run: Path, outline: Path) -> list[tuple[float, Point]]:
    """At both ends of a wall: the cosine of the angle between it, carried on, and the area's far
    side; and where that is."""
    before, after = _ends(run)
    found = []
    for point, way, sign in ((run.start, before, 1.0), (run.end, after, -1.0)):
        place = outline.nearest(point)
        low, high = outline.at(max(0.0, place - 1e-4)), outline.at(
            min(outline.length, place + 1e-4))
        size = math.dist(low, high)
        along = ((high.x - low.x) / size, (high.y - low.y) / size)
        found.append((sign * (way.x * along[0] + way.y * along[1]), point))
    return found


def _flattest(runs: Sequence[Path], outline: Path) -> Point:
    """Where one of these walls meets the part's edge least squarely."""
    return max((abs(round(lean, 9)), place)
               for run in runs for lean, place in _leans(run, outline))[1]


def _carried(run: Path, outline: Path, part: shapely.Polygon, reach: float) -> _Run:
    """A wall carried on straight to ``reach`` mm beyond the outline at both its ends."""
    before, after = _ends(run)
    return _Run(
        run,
        _beyond(run.start, before, outline, part, reach),
        _beyond(run.end, after, outline, part, reach),
    )


def _beyond(
    start: Point, way: Point, outline: Path, part: shapely.Polygon, reach: float
) -> Point:
    """The first point from ``start`` along ``way`` that is ``reach`` mm beyond the outline."""

    def at(far: float) -> Point:
        return Point(start.x + far * way.x, start.y + far * way.y)

    def away(far: float) -> float:
        return float(distances(np.array([at(far)]), [outline])[0])

    high, step = 2 * ON_EDGE, reach / 16
    while away(high) < reach:
        high += step
        into_part = high > reach / 4 and shapely.contains_xy(part, *at(high))
        if high > 40 * reach or into_part:
            raise Refused(_no_room(start))
    low = high - step
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (low, middle) if away(middle) >= reach else (middle, high)
    return at(high)


def _no_room(place: Point) -> Fault:
    return Fault(
        Message("at X {x:.2f} Y {y:.2f} the cutter finds no room to go on over the part's edge",
                x=place.x, y=place.y),
        Message("a smaller cutter, or walls that meet the edge more squarely"),
    )


def _closed(
    runs: Sequence[_Run], far: Sequence[Path]
) -> list[tuple[Path, tuple[Path, ...]]]:
    """Runs joined along the far side into closed paths, each with the walls in it."""
    begins: dict[int, list[tuple[float, int]]] = {}
    for number, run in enumerate(runs):
        which, place = _on(far, run.before)
        begins.setdefault(which, []).append((place, number))
    rest = set(range(len(runs)))
    found: list[tuple[Path, tuple[Path, ...]]] = []
    while rest:
        first = number = min(rest)
        pieces: list[Piece] = []
        walls: list[Path] = []
        while number in rest:
            rest.discard(number)
            run = runs[number]
            whole = (LineTo(run.path.start), *run.path.pieces, LineTo(run.after))
            walls.append(Path(run.before, whole, closed=False))
            pieces += whole
            which, place = _on(far, run.after)
            if not begins.get(which):
                raise Refused(_no_room(run.path.end))
            ahead = [((at - place) % far[which].length, at, k) for at, k in begins[which]]
            gap, _, number = min(ahead)
            link = _between(far[which], place, place + gap)
            pieces += link.pieces[:-1]
            last = link.pieces[-1] if link.pieces else LineTo(run.after)
            to = runs[number].before
            pieces.append(LineTo(to) if isinstance(last, LineTo)
                          else type(last)(to, last.centre, last.clockwise))
        if number != first:
            raise Refused(_no_room(runs[number].path.start))
        found.append((Path(runs[first].before, tuple(pieces), closed=True), tuple(walls)))
    return found


def _on(paths: Sequence[Path], point: Point) -> tuple[int, float]:
    """Which of some paths a point lies on, and how far along it."""
    nearest = [(math.dist(path.at(place), point), number, place)
               for number, path in enumerate(paths) for place in (path.nearest(point),)]
    _, which, place = min(nearest)
    return which, place


def _is_clear(one: Area, meant: Area, part: shapely.Polygon) -> bool:
    """Whether the area as closed touches nothing of the part but what is meant to go."""
    region = one.region(OUTLINE_CHORD)
    kept = part.difference(meant.region(OUTLINE_CHORD).buffer(2 * ON_EDGE))
    return bool(region.is_valid and region.intersection(kept).area <= ON_EDGE**2)
