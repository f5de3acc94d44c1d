"""Crossing-out: the openings between the hub, the rim and the arms of a wheel.

An opening is bounded by the hub's circle, the rim's circle and the edges of two arms, with its
corners rounded. Shrunk by the corner radius c it becomes a region with sharp corners,

    E = {p : |p| ≥ hub + c, |p| ≤ rim − c, p at least c away from both arm edges}

and the opening is E widened by c. The centre of a cutter of radius r runs on the edge of E
widened by c − r: the corners keep their centres, every other piece is parallel, and nothing is
approximated.
"""

from __future__ import annotations

import math
from functools import partial

from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.shapes.path import ArcTo, LineTo, Path, Piece, Point
from camgen.values import dataclass

__all__ = ["crossing_openings"]


@dataclass(frozen=True, slots=True)
class _Edge:
    """One arm's edge in that arm's frame: x along the arm, y across, the opening above.

    The points (x, y) of the edge have ``across`` · y − ``rise`` · x = ``offset`` where
    (−rise, across) is the unit normal into the opening.
    """

    rise: float
    across: float
    offset: float


def crossing_openings(
    arms: int,
    hub_diameter: float,
    rim_inner_diameter: float,
    arm_at_rim: float,
    arm_at_hub: float,
    corner_radius: float,
    inset: float = 0.0,
) -> tuple[Path, ...]:
    """The openings, anticlockwise, each starting in the middle of its rim; arm 1 lies along +x.

    All in mm. ``arm_at_rim`` and ``arm_at_hub`` are widths square to the arm's middle line at the
    rim's and the hub's radius. ``inset`` shrinks each opening, which gives the path of the centre
    of a cutter of that radius. Raises :class:`Refused` when no such opening can be.

    >>> openings = crossing_openings(5, 2.4, 9.0, 0.45, 0.45, 0.25)
    >>> len(openings), len(openings[0].pieces)
    (5, 9)
    """
    hub, rim, corner = hub_diameter / 2, rim_inner_diameter / 2, corner_radius
    if inset > corner + 1e-9:
        raise Refused(
            Fault(
                Message("corner radius {corner:g} mm is smaller than the cutter's radius, "
                        "{radius:g} mm", corner=corner, radius=inset),
                Message("take a cutter of at most {most:g} mm or make the corners larger",
                        most=2 * corner),
            )
        )
    if rim - hub <= 2 * corner:
        raise Refused(
            Fault(
                Message("between the hub of {hub:.3f} mm and the rim's inner diameter of {rim:.3f} "
                        "mm there is no room for two corners of {corner:g} mm", hub=hub_diameter,
                        rim=rim_inner_diameter, corner=corner),
                Message("make the hub smaller, the rim narrower or the corner radius smaller"),
            )
        )
    edge = _edge(hub, rim, arm_at_hub, arm_at_rim)
    half = math.pi / arms
    outer = _meet_circle(edge, rim - corner, corner)
    narrow = partial(_too_narrow, arms, max(arm_at_rim, arm_at_hub), corner)
    if outer is None or math.atan2(outer.y, outer.x) >= half - 1e-12:
        raise Refused(narrow())
    inner = _meet_circle(edge, hub + corner, corner)
    if inner is not None and math.atan2(inner.y, inner.x) >= half - 1e-12:
        inner = None
    if inner is None:
        # The arms run into one another before they reach the hub.
        inner_corner = _meet_middle(edge, half, corner)
        if inner_corner is None or math.hypot(*inner_corner) >= math.hypot(*outer):
            raise Refused(narrow())
        first = _opening(edge, inner_corner, outer, half, hub, rim, corner, inset, at_hub=False)
    else:
        first = _opening(edge, inner, outer, half, hub, rim, corner, inset, at_hub=True)
    return tuple(first.moved(degrees=360.0 * number / arms) for number in range(arms))


def _edge(hub: float, rim: float, at_hub: float, at_rim: float) -> _Edge:
    slope = (at_rim - at_hub) / 2 / (rim - hub)
    norm = math.hypot(1.0, slope)
    across, rise = 1.0 / norm, slope / norm
    return _Edge(rise, across, across * at_hub / 2 - rise * hub)


def _meet_circle(edge: _Edge, radius: float, away: float) -> Point | None:
    """Where the edge's parallel, ``away`` inside the opening, meets the circle; None if nowhere."""
    distance = edge.offset + away
    rest = radius**2 - distance**2
    if rest < 0:
        return None
    along = math.sqrt(rest)
    return Point(
        -edge.rise * distance + edge.across * along, edge.across * distance + edge.rise * along
    )


def _meet_middle(edge: _Edge, half: float, away: float) -> Point | None:
    """Where the edge's parallel meets the opening's middle line, at angle ``half``."""
    normal = edge.across * math.sin(half) - edge.rise * math.cos(half)
    if normal <= 1e-9:
        return None
    distance = (edge.offset + away) / normal
    return Point(distance * math.cos(half), distance * math.sin(half)) if distance > 0 else None


def _opening(
    edge: _Edge,
    inner: Point,
    outer: Point,
    half: float,
    hub: float,
    rim: float,
    corner: float,
    inset: float,
    at_hub: bool,
) -> Path:
    """The opening above arm 1: pieces on the lower half, then their mirror image."""
    round_radius = corner - inset
    sharp = round_radius < 1e-9
    origin = Point(0.0, 0.0)

    def mirrored(point: Point) -> Point:
        cosine, sine = math.cos(2 * half), math.sin(2 * half)
        return Point(
            point.x * cosine + point.y * sine, point.x * sine - point.y * cosine
        )

    def towards_edge(point: Point) -> Point:
        return Point(
            point.x + edge.rise * round_radius, point.y - edge.across * round_radius
        )

    def radially(point: Point, radius: float) -> Point:
        size = math.hypot(*point)
        return Point(point.x * radius / size, point.y * radius / size)

    rim_middle = Point((rim - inset) * math.cos(half), (rim - inset) * math.sin(half))
    rim_point = radially(outer, rim - inset)
    outer_edge, inner_edge = towards_edge(outer), towards_edge(inner)
    upper_outer = mirrored(outer)
    pieces: list[Piece] = [ArcTo(mirrored(rim_point), origin, clockwise=False)]
    if not sharp:
        pieces.append(ArcTo(mirrored(outer_edge), upper_outer, clockwise=False))
    pieces.append(LineTo(mirrored(inner_edge)))
    if at_hub:
        hub_point = radially(inner, hub + inset)
        if not sharp:
            pieces.append(ArcTo(mirrored(hub_point), mirrored(inner), clockwise=False))
        pieces.append(ArcTo(hub_point, origin, clockwise=True))
        if not sharp:
            pieces.append(ArcTo(inner_edge, inner, clockwise=False))
    elif not sharp:
        pieces.append(ArcTo(inner_edge, inner, clockwise=False))
    pieces.append(LineTo(outer_edge))
    if not sharp:
        pieces.append(ArcTo(rim_point, outer, clockwise=False))
    pieces.append(ArcTo(rim_middle, origin, clockwise=False))
    return Path(rim_middle, tuple(pieces), closed=True)


def _too_narrow(arms: int, wide: float, corner: float) -> Fault:
    return Fault(
        Message("{arms} arms {wide:g} mm wide leave no opening with corners of {corner:g} mm",
                arms=arms, wide=wide, corner=corner),
        Message("fewer or narrower arms, or a smaller corner radius"))
