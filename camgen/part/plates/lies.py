"""How things lie that stand once or several times: place, turn and side, from the words for it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from camgen.part.plates.place_words import Lying, Placed
from camgen.shapes.figures import in_rows, ring_of
from camgen.shapes.mirror import mirrored_path
from camgen.shapes.path import Path, Point
from camgen.values import dataclass

__all__ = ["AS_DRAWN", "Lie", "lies_of"]


@dataclass(frozen=True)
class Lie:
    """How something lies: seen from its other side where ``mirrored``, X the other way; then turned
    about its own 0, 0 by ``turned`` degrees; then moved there to ``x``, ``y``, mm.
    """

    x: float = 0.0
    y: float = 0.0
    turned: float = 0.0
    mirrored: bool = False

    def point(self, place: Point) -> Point:
        """Where a place of the thing comes to lie.

        >>> Lie(10.0, 0.0, 90.0, mirrored=True).point(Point(2.0, 0.0))
        Point(x=10.0, y=-2.0)
        """
        x = -place.x if self.mirrored else place.x
        if not self.turned:
            # No last bit of a sum where nothing turns.
            return Point(self.x + x, self.y + place.y)
        angle = math.radians(self.turned)
        return Point(round(self.x + x * math.cos(angle) - place.y * math.sin(angle), 12) + 0.0,
                     round(self.y + x * math.sin(angle) + place.y * math.cos(angle), 12) + 0.0)

    def path(self, path: Path) -> Path:
        """Where a path of the thing comes to lie; a closed one runs the same way round."""
        return mirrored_path(path, "Y" if self.mirrored else "").moved(
            self.x, self.y, degrees=self.turned)

    def carrying(self, inner: Lie) -> Lie:
        """How something lies that lies so within what lies so.

        >>> Lie(1.0, 0.0, 90.0).carrying(Lie(2.0, 0.0, 30.0))
        Lie(x=1.0, y=2.0, turned=120.0, mirrored=False)
        """
        place = self.point(Point(inner.x, inner.y))
        turned = self.turned + (-inner.turned if self.mirrored else inner.turned)
        return Lie(place.x, place.y, turned, self.mirrored != inner.mirrored)


AS_DRAWN = Lie()


def lies_of(word: Placed, found: Sequence[Point] = ()) -> tuple[Lie, ...]:
    """How a thing lies at each of its places, in the order in which they are numbered.

    ``found`` are the places taken from a drawing or another plate. Along a ring or an arc it turns
    on with its place, from how it lies at the first. Nothing where no place is said of a thing that
    must have one.
    """
    own = (Lie(0.0, 0.0, word.turned, word.mirrored) if isinstance(word, Lying) else AS_DRAWN)
    there = [Lie(x, y) for x, y in word.at] + [Lie(place.x, place.y) for place in found]
    if word.ring is not None:
        ring = word.ring
        step = 0.0 if ring.upright else 360.0 / ring.count
        there += [Lie(place.x, place.y, step * number) for number, place in enumerate(
            ring_of(ring.count, ring.diameter, ring.start, ring.at))]
    if word.arc is not None:
        arc = word.arc
        step = arc.over / (arc.count - 1)
        for number in range(arc.count):
            first = ring_of(1, arc.diameter, arc.start + step * number, arc.at)[0]
            there.append(Lie(first.x, first.y, 0.0 if arc.upright else step * number))
    if word.rows is not None:
        rows = word.rows
        there += [Lie(place.x, place.y)
                  for place in in_rows(rows.columns, rows.rows, rows.pitch, rows.at)]
    if not there and isinstance(word, Lying):
        return (own,)
    return tuple(Lie(lie.x, lie.y, own.turned + lie.turned, own.mirrored) for lie in there)
