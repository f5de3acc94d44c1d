"""Corners of walls that a round cutter does not get into, and walls as it leaves them. Lengths mm.

A corner is sharp by what the cutter leaves in it and not by its angle: the joints of a curve drawn
as many lines and arcs leave less than anybody finds.
"""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from camgen.arrays import Floats
from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.part.fillets import Beside, Fillet, tangent_fillets, turned_by, with_fillets
from camgen.shapes.offset import distances
from camgen.shapes.path import ArcTo, LineTo, Path, Point, turn_between
from camgen.tolerances import LEFT_IN_CORNER, SAME_PLACE
from camgen.values import dataclass

__all__ = ["LeftCorner", "TightCorner", "tight_corners", "wall_as_left"]

# A joint of pieces that turns less than this, radians, is none.
STRAIGHT = 1e-5
# Chords of walls and of the ways of centres, mm: a twentieth of what may be left.
FINE = LEFT_IN_CORNER / 20
# Fewer joints in a row than this are no curve.
CURVE = 3
# Walls that close at less than this angle, degrees, are a gap and no corner: more than eight radii
# of metal would be left in it. Common practice, no source.
LEAST_ANGLE = 12.0
# So many pieces on each side are tried for where a cutter touches, those nearest to it first.
LIKELY = 12


@dataclass(frozen=True)
class TightCorner:
    """Where a corner is deepest, its radius, 0 where it is sharp, and how much is ``left`` there.

    ``in_lines``: a curve drawn as short lines, which the cutter would get into. Along an arc as
    tight as that feed and engagement are reckoned by its radius; of lines nobody knows it.
    ``along`` is where it lies on its path, ``opening`` the angle between walls that meet there,
    degrees, 180 where they do not.
    """

    at: Point
    radius: float
    left: float
    along: float
    in_lines: bool = False
    opening: float = 180.0

    @property
    def is_gap(self) -> bool:
        """Whether its walls close at so small an angle that it cannot be left to a file."""
        return self.opening < LEAST_ANGLE


@dataclass(frozen=True)
class LeftCorner:
    """A corner drawn ``at`` a point, between walls at an ``angle``, degrees, in which a cutter of
    ``radius`` leaves as much as ``left`` for a file: from the point to the round of the cutter."""

    at: Point
    angle: float
    radius: float
    left: float


@dataclass(frozen=True)
class _Place:
    """A place of a wall that may lie in a corner: the joint after piece ``number``, or its middle.

    ``radius`` is that of an arc, 0 at a joint. Of a joint ``sharp`` says that it is a corner by
    itself, ``short`` that two lines meet there, each shorter than the cutter is wide.
    """

    at: Point
    number: int
    along: float
    radius: float = 0.0
    sharp: bool = False
    short: bool = False
    opening: float = 180.0


def tight_corners(
    path: Path, radius: float, *, outside: bool = False, within: BaseGeometry | None = None
) -> list[TightCorner]:
    """The corners of a wall that a cutter of a ``radius`` cannot get into.

    It works to the left of ``path``, or ``outside`` to its right. Only corners ``within`` a region
    count, where one is given.
    """
    places = [one for one in _places(path, radius, outside)
              if within is None or within.covers(shapely.Point(one.at))]
    if not places:
        return []
    ground = _ground(path, radius, outside)
    left = _left_at(places, ground, radius)
    deep = left > LEFT_IN_CORNER
    corners = _gathered([one for one, is_deep in zip(places, deep, strict=True) if is_deep],
                        left[deep], ground, radius)
    short = [one for one, is_deep in zip(places, deep, strict=True) if one.short and not is_deep]
    if len(short) >= CURVE:
        bent = _left_at(short, ground, 2 * radius) > LEFT_IN_CORNER
        corners += _curves([one for one, is_bent in zip(short, bent, strict=True) if is_bent],
                           len(path.pieces))
    return corners


def _places(path: Path, radius: float, outside: bool) -> Iterator[_Place]:
    """The joints of a wall that are hollow, and the middles of hollow arcs that are tighter than
    the cutter."""
    along = 0.0
    for number, ((at, piece), length) in enumerate(zip(path.laid_out(), path.lengths, strict=True)):
        if isinstance(piece, ArcTo) and piece.clockwise == outside:
            own = math.dist(at, piece.centre)
            if own < radius - 1e-6:
                middle = Path(at, (piece,), closed=False).at(length / 2)
                yield _Place(middle, number, along + length / 2, own)
        along += length
        place = (number + 1) % len(path.pieces)
        after = path.pieces[place]
        turn = turn_between(at, piece, after)
        if (turn < -STRAIGHT if outside else turn > STRAIGHT):
            short = (isinstance(piece, LineTo) and isinstance(after, LineTo)
                     and max(length, path.lengths[place]) < 2 * radius)
            sharp = radius * (1 / max(math.cos(turn / 2), 1e-9) - 1) > LEFT_IN_CORNER
            yield _Place(piece.end, number, along, sharp=sharp, short=short,
                         opening=180.0 - math.degrees(abs(turn)))


def _ground(path: Path, radius: float, outside: bool) -> BaseGeometry:
    """What lies on the cutter's side of a wall, as far as the cutter has to do with it."""
    region = path.region(FINE)
    if (path.area > 0) != outside:
        return region
    x0, y0, x1, y1 = region.bounds
    far = 6 * radius
    return shapely.box(x0 - far, y0 - far, x1 + far, y1 + far).difference(region)


def _centres(ground: BaseGeometry, radius: float) -> BaseGeometry:
    # An arc of so many chords to the quarter is within FINE of round.
    return ground.buffer(-radius, quad_segs=max(8, math.ceil(0.6 * math.sqrt(radius / FINE))))


def _left_at(places: Sequence[_Place], ground: BaseGeometry, radius: float) -> Floats:
    """(n,) metal that a cutter leaves at places of a wall, mm; inf where it does not get in."""
    centres = _centres(ground, radius)
    if centres.is_empty:
        return np.full(len(places), np.inf)
    # A wall lies outside of where centres may be: the nearest of their edges is as near as they.
    rings = [shapely.get_coordinates(ring)
             for ring in shapely.get_rings(shapely.get_parts(centres))]
    ends = np.concatenate([np.stack((ring[:-1], ring[1:]), axis=1) for ring in rings])
    edges = shapely.STRtree(np.asarray(shapely.linestrings(ends)))
    points = shapely.points([one.at for one in places])
    (row, _), far = edges.query_nearest(points, return_distance=True, all_matches=False)
    left = np.empty(len(places))
    left[row] = far
    return left - radius - 2 * FINE


def _gathered(
    places: Sequence[_Place], left: Floats, ground: BaseGeometry, radius: float
) -> list[TightCorner]:
    """One corner for each stretch of metal that a cutter leaves, where it is deepest."""
    if not places:
        return []
    reached = _centres(ground, radius).buffer(radius + LEFT_IN_CORNER / 2, quad_segs=64)
    rest = shapely.get_parts(ground.difference(reached))
    which = (shapely.STRtree(rest).nearest(shapely.points([one.at for one in places]))
             if len(rest) else [0 for _ in places])
    together: dict[int, list[int]] = defaultdict(list)
    for number, part in enumerate(which):
        together[int(part)].append(number)
    corners = []
    for numbers in together.values():
        deepest = max(numbers, key=lambda number: float(left[number]))
        radii = [places[number].radius for number in numbers if places[number].radius]
        sharp = not radii or places[deepest].sharp
        corners.append(TightCorner(places[deepest].at, 0.0 if sharp else min(radii),
                                   float(left[deepest]), places[deepest].along,
                                   opening=min(places[number].opening for number in numbers)))
    return corners


def _curves(places: Sequence[_Place], count: int) -> list[TightCorner]:
    """One corner for each row of joints of short lines, in the middle of the row."""
    rows: list[list[_Place]] = []
    for one in places:
        if rows and one.number - rows[-1][-1].number == 1:
            rows[-1].append(one)
        else:
            rows.append([one])
    if len(rows) > 1 and (rows[0][0].number - rows[-1][-1].number) % count == 1:
        rows[0] = rows.pop() + rows[0]
    middles = [row[len(row) // 2] for row in rows if len(row) >= CURVE]
    return [TightCorner(one.at, 0.0, 0.0, one.along, in_lines=True) for one in middles]


# --- what is left to a file -----------------------------------------------------------------------


@lru_cache(maxsize=256)
def wall_as_left(
    path: Path, radius: float, outside: bool = False, within: Path | None = None
) -> tuple[Path, tuple[LeftCorner, ...]]:
    """A closed wall as a cutter leaves it that cannot get into its corners; and those corners.

    Words as in :func:`tight_corners`. Raises Refused where what is left would be no corner: where
    walls run side by side, nearer than the cutter is wide.
    """
    region = None if within is None else within.region(FINE)
    corners = [one for one in tight_corners(path, radius, outside=outside, within=region)
               if not one.in_lines]
    if not corners:
        return path, ()
    centres = _centres(_ground(path, radius, outside), radius)
    pieces = _Nearby.of(_besides(path, radius, outside))
    faults: list[Fault] = []
    fillets: list[Fillet] = []
    left: list[LeftCorner] = []
    for corner in corners:
        fillet = None if centres.is_empty else _fillet(path, pieces, corner, radius, outside,
                                                       centres)
        angle = 0.0 if fillet is None else 180.0 - math.degrees(turned_by(fillet, path))
        if fillet is None or not _is_corner(corner, fillet, angle, _opening(path, corner.at)):
            faults.append(Fault(
                Message("at X {x:.3f} Y {y:.3f} the walls stand nearer than the cutter is wide, "
                        "{diameter:g} mm: what it would leave there is more than a corner",
                        x=corner.at.x, y=corner.at.y, diameter=2 * radius),
                Message("a smaller cutter")))
            continue
        fillets.append(fillet)
        left.append(LeftCorner(corner.at, angle, radius,
                               math.dist(corner.at, fillet.centre) - radius))
    if faults:
        raise Refused(faults)
    return with_fillets(path, fillets), tuple(left)


def _opening(path: Path, at: Point) -> float:
    """The angle between the walls that meet at a corner, degrees; 180 where it is round."""
    found = 180.0
    start = path.start
    for piece, after in zip(path.pieces, (*path.pieces[1:], path.pieces[0]), strict=True):
        if math.dist(piece.end, at) < SAME_PLACE:
            found = min(found, 180.0 - abs(math.degrees(turn_between(start, piece, after))))
        start = piece.end
    return found


def _is_corner(corner: TightCorner, fillet: Fillet, angle: float, opening: float) -> bool:
    """Whether no more is left than between two straight walls at those angles, degrees.

    ``angle`` is that of the walls where the cutter touches them, ``opening`` that in the corner
    itself: a wall that bends away from the cutter opens on its way out of the corner.
    """
    narrow = min(angle, opening)
    if narrow < LEAST_ANGLE:
        return False
    most = fillet.radius * (1 / math.sin(math.radians(narrow) / 2) - 1)
    return math.dist(corner.at, fillet.centre) - fillet.radius < most + LEFT_IN_CORNER


@dataclass(frozen=True)
class _Nearby:
    """Pieces of a wall, found by where they lie."""

    pieces: tuple[Beside, ...]
    tree: shapely.STRtree

    @classmethod
    def of(cls, pieces: Sequence[Beside]) -> _Nearby:
        """All of a wall's pieces; an arc is looked for in all of its circle."""
        return cls(tuple(pieces), shapely.STRtree([_box(one) for one in pieces]))

    def about(self, point: Point, far: float) -> Iterator[Beside]:
        """Those that may lie as near to a point, in order along the wall."""
        window = shapely.box(point.x - far, point.y - far, point.x + far, point.y + far)
        for number in sorted(self.tree.query(window).tolist()):
            yield self.pieces[number]


def _box(one: Beside) -> BaseGeometry:
    if isinstance(one.piece, ArcTo):
        own, (x, y) = math.dist(one.start, one.piece.centre), one.piece.centre
        return shapely.box(x - own, y - own, x + own, y + own)
    return shapely.LineString([one.start, one.start if one.piece is None else one.piece.end])


def _besides(path: Path, radius: float, outside: bool) -> list[Beside]:
    """What a circle may touch: every piece, and each corner that stands out towards the cutter."""
    found = []
    starts = itertools.accumulate(path.lengths, initial=0.0)
    before = path.pieces[-1]
    at_before = path.pieces[-2].end if len(path.pieces) > 1 else path.start
    for (at, piece), along in zip(path.laid_out(), starts, strict=False):
        turn = turn_between(at_before, before, piece)
        if (turn > 0) == outside and abs(turn) > SAME_PLACE:
            found.append(Beside(at, None, along))
        found.append(Beside(at, piece, along))
        at_before, before = at, piece
    return found


def _fillet(
    path: Path, pieces: _Nearby, corner: TightCorner, radius: float, outside: bool,
    centres: BaseGeometry,
) -> Fillet | None:
    """The arc of a cutter that stands as deep in a corner as it can get; None where it touches
    more than the corner's two sides."""
    near = Point(*shapely.shortest_line(centres, shapely.Point(corner.at)).coords[0][:2])
    room = 20 * FINE + LEFT_IN_CORNER
    off = [(abs(_from(one, near) - radius), one) for one in pieces.about(near, radius + room)]
    touched = sorted((pair for pair in off if pair[0] < room), key=lambda pair: pair[0])
    around = [path_of for _, one in touched if (path_of := _alone(one)) is not None]
    half = path.length / 2
    before = [one for _, one in touched if 0 < (corner.along - one.along) % path.length < half]
    after = [one for _, one in touched
             if (one.along + _long(one) - corner.along) % path.length < half]
    best: Fillet | None = None
    for found in tangent_fillets(path, corner.at, before[:LIKELY], after[:LIKELY], radius,
                                 not outside):
        if best is not None and math.dist(found.centre, near) >= math.dist(best.centre, near):
            continue
        clear = float(distances(np.array([found.centre]), around)[0]) > radius - 2 * FINE
        inside = ((corner.along - found.begin) % path.length
                  < (found.end - found.begin) % path.length)
        if clear and inside:
            best = found
    return best


def _alone(one: Beside) -> Path | None:
    return None if one.piece is None else Path(one.start, (one.piece,), closed=False)


def _long(one: Beside) -> float:
    alone = _alone(one)
    return 0.0 if alone is None else alone.length


def _from(one: Beside, point: Point) -> float:
    """How far a point lies from a piece or a corner, mm."""
    alone = _alone(one)
    if alone is None:
        return math.dist(one.start, point)
    return math.dist(alone.at(alone.nearest(point)), point)
