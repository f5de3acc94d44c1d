"""Clearing an area with a bounded engagement: the cleared ground grows from an entry.

The engagement of a cutter moving one way is the angle of its leading half that stands in metal; in
a straight cut of radial depth a it is θ = arccos(1 − a/r). For every place of the cutter's centre
it is reckoned from the ground cleared so far, as if the cutter moved along the front with the metal
on its right. The next pass is the line on which it is just θ: nearer to the front in a hollow,
where more metal stands round the cutter, further on round a bulge. So engagement, not step-over, is
what stays the same. Passes end at the walls; where a pass as laid would meet more than θ after all,
as where it runs into the foot of a wall, it stops before and leaves that for a later one. What is
left at the end is a thin skin on the walls, for a pass along them.

Where ground is gone already, by an earlier cutter, a drilled hole or an open side, and the cutter
fits there, it is set down in it; metal that cannot be reached so is entered on a helix, and what is
too narrow for a helix along its own length, on a ramp that is cut as a slot. Lengths mm,
engagements radians.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Literal

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from camgen.arrays import Floats
from camgen.clearing.along_walls import Wall, slots_along, uncut_walls, walls_along
from camgen.clearing.equal_engagement import Front, is_closed, safe_stretches, worth_a_pass
from camgen.clearing.ground import SPACING, Ground
from camgen.clearing.order import Row, near_ones_together, nearest_first
from camgen.clearing.pieces_left import remnants
from camgen.clearing.room import deepest_place, too_narrow
from camgen.clearing.ways_in import is_clear_between, place_beside
from camgen.faults import Fault, Refused, no_less, no_more
from camgen.messages import Message
from camgen.shapes.fitting import fitted
from camgen.shapes.offset import Area, distances, offset
from camgen.shapes.path import Path, Point, circle
from camgen.values import dataclass

__all__ = ["Clearing", "Entry", "Pass", "Wall", "cleared", "engagement_of"]

# Levels, as shares of θ, at which passes are looked for once there are none at the one before: what
# stands in corners is taken more carefully.
LEVELS = (1.0, 0.7, 0.49)
# The helix into the metal: radius against the cutter's, and the least room for one at all.
HELIX = 0.6
LEAST_HELIX = 0.15
# The same where the cutter is down in the area already: metal with less room is cut as a slot.
AGAIN = 0.3
# A ramp along the middle is at least so many times as long as a turn of the helix.
LONG = 2.0
# How far off the middle it goes, in radii at most, and the share of that its ends are not round by.
RING = 0.94
ROUND = 0.43
# Shortest way round for a ramp that has metal on all sides, in radii.
SHORTEST_RAMP = 2.0


# What is held for each node of the ground while passes are found, bytes (638 measured); and how
# many there may be: about 1 GB.
NODE_BYTES = 650
MOST_NODES = 1_500_000


@dataclass(frozen=True)
class Pass:
    """One way of the cutter's centre through metal.

    ``begin`` is a place on cleared ground beside its start, to go down at and in from.
    ``over_cleared``: it may be gone to straight from the end of the pass before, over ground
    already cleared; else the cutter must be lifted.
    """

    path: Path
    begin: Point
    over_cleared: bool


@dataclass(frozen=True)
class Entry:
    """How the cutter goes down, at ``start``.

    A ``helix`` goes round and round ``path``, a circle; a ``ramp`` along ``path``, round and round
    where that is closed, else there and back, and is a cut as wide as the cutter. Both end with
    once along it level. A ``descent`` is straight down where no metal is, and has no path.
    """

    kind: Literal["helix", "descent", "ramp"]
    start: Point
    path: Path | None = None


@dataclass(frozen=True)
class Clearing:
    """How an area is cleared, by one cutter.

    ``entries`` each with the ``passes`` that start from it, to be made in this order; then
    ``walls``, along what has been left. ``planned`` is θ, radians; ``size`` the metal that the
    cutter reaches, skins on the walls too, mm². ``free`` was free of metal before.
    """

    entries: tuple[Entry, ...]
    passes: tuple[tuple[Pass, ...], ...]
    walls: tuple[Wall, ...]
    planned: float
    size: float = 0.0
    free: BaseGeometry | None = None

    @property
    def length(self) -> float:
        """Length of all passes, mm, walls not counted."""
        return math.fsum(one.path.length for passes in self.passes for one in passes)


def engagement_of(radius: float, radial_depth: float) -> float:
    """θ = arccos(1 − a/r), radians: engagement of a straight cut ``radial_depth`` wide.

    >>> round(math.degrees(engagement_of(0.5, 0.15)), 2)
    45.57
    """
    return math.acos(1.0 - radial_depth / radius)


def cleared(
    area: Area,
    radius: float,
    radial_depth: float,
    allowance: float = 0.0,
    *,
    gone: BaseGeometry | None = None,
    corner: float = 0.0,
    least_round: float = 0.0,
) -> Clearing:
    """Passes that clear ``area`` with a cutter of ``radius``, ``radial_depth`` mm wide at most.

    ``allowance`` mm is left on every wall. ``corner`` is the radius of the cutter's corner: no more
    is left of it than a fillet along the walls. ``gone`` is ground free of metal before, as deep as
    this cutter will go: what earlier cutters cleared, a hole, the air beyond an open side (over
    which ``area`` must then reach as far as the centre is to go). Only what is left is cleared, and
    walls beside which nothing is left are left out. No way down into metal lies in a circle smaller
    than ``least_round``, the radius that a cutter's end needs to leave nothing under it. Raises
    Refused when the cutter does not fit into the area, or when somewhere in it there is no way down
    into the metal.
    """
    if not 0 < radial_depth <= radius:
        raise Refused(
            Fault(
                Message("a radial depth of {depth:g} mm is not between 0 and the cutter's radius, "
                        "{radius:g} mm", depth=radial_depth, radius=radius),
                Message("a tenth to a third of the cutter's diameter is usual"),
            )
        )
    if gone is not None and gone.is_empty:
        gone = None
    _bounded(area, radius)
    reach = radius + allowance
    parts = offset(area, -reach)
    if not parts:
        raise Refused(too_narrow(area, radius, allowance))
    if corner:
        return _by_its_end(area, radius, radial_depth, allowance, gone, corner, least_round)
    ground = Ground.of(area, radius, reach, gone)
    front = Front.of(ground, radial_depth)
    theta = engagement_of(radius, radial_depth)
    done: list[tuple[Entry, tuple[Pass, ...]]] = []
    walls: list[Wall] = []
    for part in parts:
        along = uncut_walls(ground, part) if gone is not None else part.paths
        before = len(done)
        done += _entered(front, theta, part, gone is not None, least_round)
        for path in slots_along(ground, part, theta):
            if path.closed and (
                path.length < SHORTEST_RAMP * radius
                or shapely.minimum_bounding_radius(path.region(ground.spacing / 20)) < least_round
            ):
                raise Refused(_no_way_down(ground, part, path, least_round))
            ground.sweep(path.points(ground.spacing / 20))
            done.append((Entry("ramp", path.start, path), ()))
        if gone is None and len(done) == before:
            # Hardly larger than the cutter: nothing in it is a pass, and it stands full of metal.
            raise Refused(_no_way_down(ground, part, part.outer, least_round))
        passes = done[-1][1] if done and len(parts) == 1 else ()
        at = passes[-1].path.end if passes else None
        walls += walls_along(ground, along, theta, radial_depth, at)
    ways = _rows_of(done, walls, ground.spacing / 20)
    walls += remnants(ground, parts, gone, ways, theta, radial_depth)
    return Clearing(
        tuple(entry for entry, _ in done), tuple(passes for _, passes in done), tuple(walls), theta,
        _metal(area, parts, reach, gone), gone,
    )


def _bounded(area: Area, radius: float) -> None:
    """Raise Refused where the ground would be too many nodes to keep: told before it starts."""
    x0, y0, x1, y1 = area.region(radius / 10).bounds
    nodes = (x1 - x0) * (y1 - y0) / (SPACING * radius) ** 2
    if nodes > MOST_NODES:
        raise Refused(Fault(
            Message("clearing {long:.3g} by {wide:.3g} mm with a cutter of {diameter:g} mm would "
                    "take about {memory:.1f} GB of memory, and hours", long=x1 - x0, wide=y1 - y0,
                    diameter=2 * radius, memory=nodes * NODE_BYTES / 1e9),
            Message("clear it with a cutter of {least} mm or more, or in several pockets",
                    least=no_less(2 * radius * math.sqrt(nodes / MOST_NODES), 0.01))))


def _by_its_end(
    area: Area, radius: float, radial_depth: float, allowance: float, gone: BaseGeometry | None,
    corner: float, least_round: float,
) -> Clearing:
    """The ways of the flat end of a cutter, whose side is ``corner`` mm further out all round.

    What the end clears of an area drawn in by the corner, the whole cutter clears of the area: the
    centre goes to the same places, and where the end meets no metal the side does not. Passes are
    narrower as the end is, so that the end's engagement is the one planned for the side.
    """
    end = radius - corner
    narrower = radial_depth * end / radius
    free = None if gone is None else gone.buffer(-corner, quad_segs=32)
    found = [
        cleared(part, end, narrower, allowance, gone=free, least_round=least_round)
        for part in offset(area, -corner)
        if offset(part, -end - allowance)
    ]
    return Clearing(
        tuple(entry for one in found for entry in one.entries),
        tuple(passes for one in found for passes in one.passes),
        tuple(wall for one in found for wall in one.walls),
        engagement_of(radius, radial_depth),
        _metal(area, offset(area, -radius - allowance), radius + allowance, gone), gone,
    )


def _rows_of(
    done: list[tuple[Entry, tuple[Pass, ...]]], walls: list[Wall], chord: float
) -> list[Floats]:
    """Every way of the centre as a row of points."""
    rows = [entry.path.points(chord) for entry, _ in done if entry.path is not None]
    cuts = [one for _, passes in done for one in passes] + walls
    return rows + [np.concatenate(([one.begin], one.path.points(chord))) for one in cuts]


def _metal(
    area: Area, parts: tuple[Area, ...], reach: float, gone: BaseGeometry | None
) -> float:
    """What the cutter reaches of an area, to the walls, less what is gone; mm²."""
    chord = reach / 1000
    within = shapely.union_all([part.region(chord).buffer(reach, quad_segs=32) for part in parts])
    metal = within.intersection(area.region(chord))
    return float((metal if gone is None else metal.difference(gone)).area)


def _entered(
    front: Front, theta: float, part: Area, partly: bool, least_round: float
) -> Iterator[tuple[Entry, tuple[Pass, ...]]]:
    """Ways into one part, each with the passes made from it, until no core of metal is left."""
    ground = front.ground
    mine = part.region(ground.spacing / 10).buffer(2 * ground.spacing)
    shapely.prepare(mine)
    least = narrow = max(LEAST_HELIX, least_round / ground.radius)
    again, entered = max(AGAIN, narrow), False
    if partly:
        passes = tuple(_grown(front, theta, mine, None))
        if passes:
            yield Entry("descent", passes[0].begin), passes
            least = again
        place, room = _core(front, mine, narrow, round_holes=not passes)
    else:
        place, room = deepest_place(part, ground.radius * SPACING)
    while room >= least * ground.radius:
        helix = min(max(HELIX, narrow) * ground.radius, room)
        entry = _into_metal(None if partly or entered else part, place, room, helix,
                            ground.radius)
        entered = True
        assert entry.path is not None
        ground.sweep(entry.path.points(ground.spacing / 20))
        inside = shapely.Polygon(entry.path.points(ground.spacing / 20))
        # Round a ring narrower than itself the cutter leaves nothing inside.
        if inside.buffer(-ground.radius).is_empty:
            ground.fill(inside)
        yield entry, tuple(_grown(front, theta, mine, entry.start))
        least = again
        place, room = _core(front, mine, narrow)


def _into_metal(
    part: Area | None, place: Point, room: float, about: float, radius: float
) -> Entry:
    """A helix of radius ``about`` at ``place``; where ``part`` is long for its width, a ramp round
    its middle.

    From a long slot the passes go along the area, few and long, and not across it, many and short.
    The ring is round at its ends, for beyond a sharp corner no pass could begin.
    """
    helix = circle(place, about)
    if part is None:
        return Entry("helix", helix.start, helix)
    swing = min(RING * radius, room)
    for middle in offset(part, ROUND * swing - room):
        for ring in offset(middle, (1 - ROUND) * swing):
            long = ring.outer.length > LONG * helix.length
            if long and distances(np.array([place]), [ring.outer])[0] <= 1.1 * swing:
                return Entry("ramp", ring.outer.start, ring.outer)
    return Entry("helix", helix.start, helix)


def _core(
    front: Front, mine: BaseGeometry, least: float, round_holes: bool = False
) -> tuple[Point, float]:
    """The place with the most room for a helix where the cutter has not come near, and the room.

    It is at least ``least`` of the cutter's radius.

    With ``round_holes`` rather one in a hole just large enough for the cutter, so that little metal
    is met going down. The room is below nothing where there is no such place.
    """
    ground = front.ground
    room = ground.inside - ground.reach
    been = ground.been
    entered = been > 1.7 * front.radial_depth + 2 * ground.spacing
    if round_holes and (entered & (room >= 0)).any():
        entered |= been <= 0
    i, j = np.nonzero(entered & (room >= least * ground.radius))
    here = shapely.contains_xy(mine, ground.x[i], ground.y[j])
    if not here.any():
        return Point(0.0, 0.0), -1.0
    i, j = i[here], j[here]
    worth = np.minimum(room[i, j], HELIX * ground.radius) + 0.01 * been[i, j]
    worth = np.where(been[i, j] <= 0, 2 * ground.radius - been[i, j], worth)
    best = int(np.argmax(worth))
    i, j = i[best], j[best]
    return Point(float(ground.x[i]), float(ground.y[j])), float(room[i, j])


def _no_way_down(ground: Ground, part: Area, path: Path, least_round: float) -> Fault:
    radius = ground.radius
    place, room = deepest_place(part, radius * SPACING)
    if math.dist(place, path.start) > 2 * radius:
        place, room = path.start, 0.0
    largest = 2 * (room + radius) / (1 + max(LEAST_HELIX, least_round / radius))
    if least_round:
        message = Message(
            "a cutter of {diameter:g} mm finds no room to go down in a helix or on a ramp at X "
            "{x:.2f} Y {y:.2f}, and leave no post under its end, which does not cut at its middle",
            diameter=2 * radius, x=place.x, y=place.y)
    else:
        message = Message(
            "a cutter of {diameter:g} mm finds no room to go down in a helix or on a ramp at X "
            "{x:.2f} Y {y:.2f}", diameter=2 * radius, x=place.x, y=place.y)
    return Fault(message, Message("a cutter of at most {most} mm, or a hole drilled first",
                                  most=no_more(largest, 0.01)))


def _grown(
    front: Front, theta: float, mine: BaseGeometry, at: Point | None
) -> Iterator[Pass]:
    """Pass after pass, until none is worth making; ``at`` is where the cutter is before."""
    ground = front.ground
    before = ground.been.copy()
    rows = list(_rows(front, theta, mine, at))
    ground.been[:] = before
    # What is cleared round a pass reaches one radius from it, and as far is looked from the next.
    apart = 2 * ground.radius + 3 * ground.spacing
    for row in near_ones_together(rows, apart, None if at is None else np.array(at)):
        begin = Point(*map(float, row.begin))
        over = at is not None and is_clear_between(ground, at, begin)
        path = fitted(row.points, ground.spacing / 20, is_closed(row.points))
        ground.sweep(row.whole)
        at = path.end
        yield Pass(path, begin, over)


def _rows(
    front: Front, theta: float, mine: BaseGeometry, at: Point | None
) -> Iterator[Row]:
    """The passes as rows of points, in the order they are found in."""
    ground = front.ground
    front.renewed()
    tiles = front.everywhere()
    level, all_seen = 0, True
    while level < len(LEVELS):
        wanted = LEVELS[level] * theta
        found = [
            points
            for line in worth_a_pass(ground, front.lines(tiles, wanted), wanted)
            for points in safe_stretches(ground, line, wanted, theta, front.radial_depth)
            if shapely.contains_xy(mine, *points[len(points) // 2])
        ]
        made = False
        for points in nearest_first(found, at):
            begin = place_beside(ground, points, front.radial_depth)
            if begin is None:
                # Later perhaps, from ground that another pass or a helix clears beside it.
                continue
            row = Row(np.array(begin), points)
            ground.sweep(row.whole)
            at = Point(*map(float, points[-1]))
            made = True
            yield row
        if not made:
            # What was passed over for a longer pass beside it may lie where nothing changed since.
            level += all_seen
            all_seen = True
            tiles = front.everywhere()
            continue
        tiles, all_seen = front.renewed(), False
