"""Areas of one shape that lie elsewhere or turned; their clearing moved from one to the other."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from camgen.clearing.along_walls import Wall
from camgen.clearing.clearing import Clearing, Entry, Pass
from camgen.shapes.offset import Area
from camgen.shapes.path import ArcTo, Path, Point
from camgen.tolerances import SAME_POINT
from camgen.values import dataclass

__all__ = ["Moved", "how_moved"]



@dataclass(frozen=True)
class Moved:
    """Turned ``degrees`` about the zero, then moved by ``dx, dy`` mm."""

    dx: float
    dy: float
    degrees: float

    def path(self, path: Path) -> Path:
        """A path there."""
        return path.moved(self.dx, self.dy, self.degrees)

    def point(self, point: Point) -> Point:
        """A point there."""
        return Path(point, (), closed=False).moved(self.dx, self.dy, self.degrees).start

    def clearing(self, found: Clearing) -> Clearing:
        """A clearing there."""
        return Clearing(
            tuple(
                Entry(one.kind, self.point(one.start),
                      None if one.path is None else self.path(one.path))
                for one in found.entries
            ),
            tuple(
                tuple(Pass(self.path(one.path), self.point(one.begin), one.over_cleared)
                      for one in passes)
                for passes in found.passes
            ),
            tuple(
                Wall(self.path(one.path), one.slow, self.point(one.begin), one.over_cleared)
                for one in found.walls
            ),
            found.planned,
            found.size,
        )


def how_moved(one: Area, other: Area) -> Moved | None:
    """How ``one`` is moved and turned to be ``other``; None where it is another shape.

    Areas whose edges are drawn from other places, or islands in another order, do not count as one
    shape. The turn is the one for which Σ z̄·w is real and positive, z and w the corners from their
    middles as complex numbers: that of least squares.

    >>> from camgen.shapes.figures import rectangle
    >>> how_moved(Area(rectangle(3, 2)), Area(rectangle(3, 2).moved(5.0, 1.0)))
    Moved(dx=5.0, dy=1.0, degrees=0.0)
    >>> how_moved(Area(rectangle(3, 2)), Area(rectangle(3, 2.1))) is None
    True
    """
    kinds, places = _drawn(one)
    other_kinds, other_places = _drawn(other)
    if kinds != other_kinds:
        return None
    here, there = np.array(places), np.array(other_places)
    middle, to = complex(here.mean()), complex(there.mean())
    turn = complex(np.vdot(here - middle, there - to))
    if abs(turn) < SAME_POINT:
        return None
    turn /= abs(turn)
    if abs(turn - 1) < SAME_POINT / max(1.0, float(np.abs(here - middle).max())):
        turn = 1 + 0j
    off = to - turn * middle
    if float(np.abs(turn * here + off - there).max()) > SAME_POINT:
        return None
    return Moved(round(off.real, 12), round(off.imag, 12),
                 math.degrees(math.atan2(turn.imag, turn.real)))


def _drawn(area: Area) -> tuple[list[str], list[complex]]:
    """Of every edge the kinds of its pieces, and where they begin and what they turn about."""
    kinds: list[str] = []
    places: list[complex] = []
    for kind, place in _pieces(area):
        kinds.append(kind)
        places.append(complex(place.x, place.y))
    return kinds, places


def _pieces(area: Area) -> Iterator[tuple[str, Point]]:
    for path in area.paths:
        yield "edge", path.start
        for piece in path.pieces:
            if isinstance(piece, ArcTo):
                yield ("clockwise" if piece.clockwise else "anticlockwise"), piece.centre
            yield "end", piece.end
