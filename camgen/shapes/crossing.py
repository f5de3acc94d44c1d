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
from collections.abc import Callable

from camgen.faults import Fault, Refused, either, no_less, no_more
from camgen.messages import Message
from camgen.shapes.crossing_bent import bent_opening
from camgen.shapes.mirror import mirrored_path
from camgen.shapes.path import ArcTo, LineTo, Path, Piece, Point, circle
from camgen.values import dataclass

__all__ = ["crossing_openings", "round_openings"]

# No corner and no arm is made finer than this, mm. Common practice, no source.
FINEST = 0.02


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
    bend: float = 0.0,
) -> tuple[Path, ...]:
    """The openings, anticlockwise, each starting in the middle of its rim; arm 1 lies along +x.

    All in mm. ``arm_at_rim`` and ``arm_at_hub`` are widths square to the arm's middle line at the
    rim's and the hub's radius. ``inset`` shrinks each opening, which gives the path of the centre
    of a cutter of that radius. ``bend``, where it is not 0, is the radius of the arms' middle line,
    positive where they bend to the left going outwards. Raises :class:`Refused` when no such
    opening can be.

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
                Message("corner: {most} or less, or a smaller hub or a narrower rim",
                        most=no_more((rim - hub) / 2 - 1e-4))
                if (rim - hub) / 2 > 0.002 else
                Message("make the hub smaller or the rim narrower"),
            )
        )
    first = _first(arms, (hub, rim), (arm_at_hub, arm_at_rim), corner, inset, bend)
    if first is None:
        raise Refused(_too_narrow(arms, (hub, rim), (arm_at_hub, arm_at_rim), corner, bend))
    return tuple(first.moved(degrees=360.0 * number / arms) for number in range(arms))


def _first(
    arms: int, radii: tuple[float, float], widths: tuple[float, float], corner: float,
    inset: float, bend: float,
) -> Path | None:
    """The opening beyond arm 1; None where nothing is left of it. Hub before rim in pairs."""
    hub, rim = radii
    if rim - hub <= 2 * corner:
        return None
    if bend:
        bent = bent_opening(arms, hub, rim, widths[1], widths[0], corner, abs(bend), inset)
        if bent is None or bend > 0:
            return bent
        return mirrored_path(bent, "X").moved(degrees=360.0 / arms)
    edge = _edge(hub, rim, *widths)
    half = math.pi / arms
    outer = _meet_circle(edge, rim - corner, corner)
    if outer is None or math.atan2(outer.y, outer.x) >= half - 1e-12:
        return None
    inner = _meet_circle(edge, hub + corner, corner)
    if inner is not None and math.atan2(inner.y, inner.x) >= half - 1e-12:
        inner = None
    if inner is not None:
        return _opening(edge, inner, outer, half, hub, rim, corner, inset, at_hub=True)
    # The arms run into one another before they reach the hub.
    meets = _meet_middle(edge, half, corner)
    if meets is None or math.hypot(*meets) >= math.hypot(*outer):
        return None
    return _opening(edge, meets, outer, half, hub, rim, corner, inset, at_hub=False)


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


def round_openings(
    circles: int, diameter: float, around: float, inset: float = 0.0
) -> tuple[Path, ...]:
    """Round openings evenly on a circle of the diameter ``around``, shrunk by ``inset``; mm.

    Raises :class:`Refused` where nothing is left of them.

    >>> len(round_openings(6, 1.8, 5.6)), round(round_openings(6, 1.8, 5.6, 0.2)[0].length, 4)
    (6, 4.3982)
    """
    if inset >= diameter / 2 - 1e-9:
        raise Refused(Fault(
            Message("round openings of {diameter:g} mm leave no way for a cutter that keeps "
                    "{inset:.4g} mm off their walls", diameter=diameter, inset=inset),
            Message("diameter: {least} or more, or a smaller cutter",
                    least=no_less(2 * inset + 0.01, 0.01))))
    first = circle(Point(around / 2, 0.0), diameter / 2 - inset)
    return tuple(first.moved(degrees=360.0 * number / circles) for number in range(circles))


def _too_narrow(
    arms: int, radii: tuple[float, float], widths: tuple[float, float], corner: float, bend: float
) -> Fault:
    """Nothing is left between the arms: told with the largest corner that would leave something,
    the widest arm, or how many arms.
    """
    def opens(arms: int, widths: tuple[float, float], corner: float) -> bool:
        return _first(arms, radii, widths, corner, 0.0, bend) is not None

    def most(of: Callable[[float], bool], high: float) -> float:
        low = 0.0
        for _ in range(30):
            middle = (low + high) / 2
            low, high = (middle, high) if of(middle) else (low, middle)
        return low

    ways: list[Message] = []
    rounded = most(lambda tried: opens(arms, widths, tried), corner)
    if rounded > FINEST:
        ways.append(Message("corner: {most} or less", most=no_more(rounded - 1e-4)))
    narrow = most(lambda tried: opens(arms, (tried, tried), corner), min(widths))
    if narrow > FINEST:
        ways.append(Message("arms {most} mm wide or less all along", most=no_more(narrow - 1e-4)))
    fewer = next((count for count in range(arms - 1, 1, -1) if opens(count, widths, corner)), 0)
    if fewer:
        ways.append(Message("arms: {fewer} or fewer", fewer=fewer))
    if bend and _first(arms, radii, widths, corner, 0.0, 0.0) is not None:
        # How much the arms bend, 1/R, from straight on.
        bent = most(lambda tried: _first(arms, radii, widths, corner, 0.0,
                                         1.0 / tried) is not None, 1.0 / abs(bend))
        if bent > 0.0:
            sign = "-" if bend < 0 else ""
            ways.insert(0, Message("bend: {sign}{least} or straighter", sign=sign,
                                   least=no_less(1.0 / bent + 0.001)))
    if bend and 2 * abs(bend) <= radii[1]:
        return Fault(
            Message("arms bent to a radius of {bend:g} mm turn back before they come to the rim",
                    bend=abs(bend)),
            either(ways) if ways else Message("straighter arms"))
    return Fault(
        Message("{arms} arms {wide:g} mm wide leave no opening with corners of {corner:g} mm",
                arms=arms, wide=max(widths), corner=corner),
        either(ways) if ways else Message("a smaller hub or a narrower rim"))
