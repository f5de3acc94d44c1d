"""Shapes as they lie once the piece they are on was turned over about X or Y.

Turning over about an axis in the plane changes the sign of the other one. A path then runs the
other way round, so it is put the right way again; lengths and radii stay. Lengths mm.
"""

from __future__ import annotations

from typing import Literal

from camgen.shapes.offset import Area
from camgen.shapes.path import ArcTo, LineTo, Path, Piece, Point

__all__ = ["MirrorAxis", "mirrored", "mirrored_area", "mirrored_path"]

# "" is a piece that was not turned over.
MirrorAxis = Literal["", "X", "Y"]


def mirrored(point: Point, about: MirrorAxis) -> Point:
    """Where a point lies once the piece was turned over ``about`` an axis through 0, 0.

    >>> mirrored(Point(1.0, 2.0), "X"), mirrored(Point(1.0, 2.0), "Y")
    (Point(x=1.0, y=-2.0), Point(x=-1.0, y=2.0))
    """
    if about == "X":
        return Point(point.x, -point.y)
    if about == "Y":
        return Point(-point.x, point.y)
    return point


def mirrored_path(path: Path, about: MirrorAxis) -> Path:
    """A path turned over; a closed one runs the same way round as before, from the same start.

    >>> from camgen.shapes.path import polygon
    >>> corner = polygon([(0.0, 0.0), (2.0, 0.0), (0.0, 1.0)])
    >>> mirrored_path(corner, "X").area == corner.area
    True
    """
    if not about:
        return path
    pieces: list[Piece] = []
    for piece in path.pieces:
        end = mirrored(piece.end, about)
        pieces.append(
            LineTo(end) if isinstance(piece, LineTo)
            else ArcTo(end, mirrored(piece.centre, about), not piece.clockwise)
        )
    turned = Path(mirrored(path.start, about), tuple(pieces), path.closed)
    return turned.reversed() if path.closed else turned


def mirrored_area(area: Area, about: MirrorAxis) -> Area:
    """An area turned over, its edges running as before."""
    return Area(
        mirrored_path(area.outer, about),
        tuple(mirrored_path(island, about) for island in area.islands),
    )
