"""Paths, areas and places from the words for them, exact. Lengths mm, in the part's frame."""

import math

from camgen.faults import Fault, Refused, all_of
from camgen.messages import Message
from camgen.part.fillets import filleted
from camgen.part.plates.lies import Lie, lies_of
from camgen.part.plates.place_words import Lying
from camgen.part.plates.plate_words import JewelHole, PathPiece, PlateHole, Pocket, Shape
from camgen.shapes.figures import rectangle, rounded, slot
from camgen.shapes.offset import Area
from camgen.shapes.path import ArcTo, LineTo, Path, Piece, Point, circle, turn_between
from camgen.tolerances import AREA_CHORD, LEAST_INCREMENT, SAME_POINT

__all__ = [
    "PLANE_FIGURES", "area_of", "as_typed", "figures_of", "lie_of", "path_of", "places_of",
    "typed_pieces",
]

# A corner so near to a whole turn back, radians, is one: no cutter follows it.
TURNED_BACK = math.radians(1.0)

# A smaller corner radius, mm, is a sharp corner: no cutter knows the difference.
SHARP = 1e-6

PLANE_FIGURES = ("circle", "rectangle", "polygon", "slot", "path")


def figures_of(shape: Shape) -> list[str]:
    """Which figures a shape was given; it should be one."""
    return [name for name in PLANE_FIGURES if getattr(shape, name) is not None]


def path_of(shape: Shape) -> Path:
    """The closed path of a shape, anticlockwise. Raises Refused when its numbers make none.

    >>> round(path_of(Shape(circle=2.0, at=(1.0, 1.0))).area, 4)
    3.1416
    """
    given = figures_of(shape)
    if shape.drawing is not None:
        raise Refused(Fault(Message("a drawing beside another figure"),
                            Message("leave one of them out"))
                      if given else Fault(Message("the drawing has not been read"),
                                    Message("look at the fault of the drawing first")))
    if len(given) != 1:
        raise Refused(
            Fault(Message("a shape is {given}", given=all_of(given)) if given
                  else Message("a shape has no figure"),
                  Message("one of {figures} or drawing", figures=tuple(PLANE_FIGURES)))
        )
    path = _own_path(shape)
    if path.area < 0:
        path = path.reversed()
    return lie_of(shape).path(path)


def _own_path(shape: Shape) -> Path:
    round_one = next((name for name in ("circle", "slot") if getattr(shape, name) is not None), "")
    if shape.corner and round_one:
        raise Refused(Fault(Message("a {figure} has no corner to round", figure=round_one),
                            Message("leave corner: out")))
    if shape.circle is not None:
        return circle(Point(0.0, 0.0), shape.circle / 2)
    if shape.rectangle is not None:
        return rectangle(*shape.rectangle, shape.corner)
    if shape.polygon is not None:
        return rounded(shape.polygon, shape.corner)
    if shape.slot is not None:
        if shape.width is None:
            raise Refused(Fault(Message("a slot has no width"), Message("add width:")))
        return slot(*shape.slot, shape.width)
    assert shape.path is not None
    path = _drawn(shape.path)
    return filleted(path, shape.corner) if shape.corner > SHARP else path


def as_typed(shape: Shape) -> Path:
    """The lines and arcs of a polygon or a path as its words give them, sharp at its corners.

    Raises Refused when its numbers make none.
    """
    return _drawn(shape.path or tuple(PathPiece(to=at) for at in shape.polygon or ()))


def typed_pieces(path: Path) -> tuple[PathPiece, ...]:
    """A closed path in the words of a job."""
    return tuple(
        PathPiece(to=tuple(piece.end),
                  centre=tuple(piece.centre) if isinstance(piece, ArcTo) else None,
                  clockwise=isinstance(piece, ArcTo) and piece.clockwise)
        for piece in path.pieces)


def _drawn(given: tuple[PathPiece, ...]) -> Path:
    """A path of lines and arcs, checked: arcs with one radius, no crossing of itself."""
    start = Point(*given[-1].to)
    pieces: list[Piece] = []
    faults: list[Fault] = []
    at = start
    for piece in given:
        end = Point(*piece.to)
        if piece.centre is None:
            pieces.append(LineTo(end))
        else:
            centre = Point(*piece.centre)
            pieces.append(ArcTo(end, _evened(at, end, centre), piece.clockwise))
            radii = [math.dist(at, centre), math.dist(end, centre)]
            # NISTIR 6556 takes an arc whose radii differ by more than 0.002 mm for an error.
            if abs(radii[0] - radii[1]) > 0.002 or min(radii) <= 0:
                faults.append(
                    Fault(Message("the arc to X {x:g} Y {y:g} begins {first:.4f} mm from its "
                                  "centre and ends {second:.4f} mm from it", x=end.x, y=end.y,
                                  first=radii[0], second=radii[1]),
                          Message("both must be the radius"))
                )
        if math.dist(at, end) < 1e-6:
            faults.append(Fault(Message("a piece ends where it begins, at X {x:g} Y {y:g}", x=end.x,
                                        y=end.y), Message("take it out")))
        at = end
    if faults:
        raise Refused(faults)
    path = Path(start, tuple(pieces), closed=True)
    faults = _turning_back(path)
    if faults:
        raise Refused(faults)
    region = path.region(AREA_CHORD)
    if not region.is_valid or region.area < 1e-9:
        raise Refused(Fault(Message("the path crosses itself"),
                            Message("give its pieces in order round it")))
    return path


def _evened(start: Point, end: Point, centre: Point) -> Point:
    """An arc's centre as far from its end as from its start, where figures were rounded.

    It is the nearest such place: on the line that stands upright on the middle of the chord.
    """
    far, near = math.dist(start, centre), math.dist(end, centre)
    chord = math.dist(start, end)
    if abs(far - near) < SAME_POINT or chord < LEAST_INCREMENT:
        return centre
    along = (near - far) * (near + far) / (2 * chord)
    return Point(centre.x + along * (end.x - start.x) / chord,
                 centre.y + along * (end.y - start.y) / chord)


def _turning_back(path: Path) -> list[Fault]:
    """A fault for each corner at which a path goes back along itself."""
    pieces = list(path.laid_out())
    return [
        Fault(Message("the path turns back on itself at X {x:g} Y {y:g}", x=after.x, y=after.y),
              Message("a piece there is longer than the room for it, as a fillet whose radius is "
                      "too large: a smaller one, or leave the line between out"))
        for (at, piece), (after, following) in zip(pieces, pieces[1:] + pieces[:1], strict=True)
        if abs(turn_between(at, piece, following)) > math.pi - TURNED_BACK
    ]


def area_of(pocket: Pocket) -> Area:
    """The area a pocket clears. Raises Refused when an island does not stand within it."""
    outer = path_of(pocket)
    islands = [lie_of(pocket).path(path_of(island)) for island in pocket.islands]
    region = outer.region(AREA_CHORD)
    for number, island in enumerate(islands):
        if not region.contains(island.region(AREA_CHORD)):
            raise Refused(
                Fault(Message("island {number} does not stand within its pocket",
                              number=number + 1),
                      Message("an island at the edge is part of the pocket's shape"))
            )
        for other, before in enumerate(islands[:number]):
            if before.region(AREA_CHORD).intersects(island.region(AREA_CHORD)):
                raise Refused(
                    Fault(Message("islands {other} and {number} touch or lie over each other",
                                  other=other + 1, number=number + 1),
                          Message("make one of them, by its outline; within an island nothing is "
                                  "cleared"))
                )
    return Area.of(outer, islands)


def places_of(hole: PlateHole | JewelHole) -> tuple[Point, ...]:
    """All places of a hole, in order."""
    return tuple(Point(lie.x, lie.y) for lie in lies_of(hole))


def lie_of(word: Lying) -> Lie:
    """How a thing of one place lies; of several, the first."""
    return lies_of(word)[0]
