"""Lines that are drawn more than once: taken once, and told.

A line counts as drawn again where it keeps within ``DOUBLED`` of an earlier one; what goes on
beyond that stays. Of a curve drawn twice, whatever it was begun with, one is left. Lengths mm.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np
import shapely

from camgen.drawings.strokes import DrawnStroke, Sketch
from camgen.messages import counted
from camgen.shapes.path import Path, Piece, Point

__all__ = ["drawn_once"]

# So near to another, mm, a line is the same drawn again: no cutter goes between the two. Twice what
# curves are read to, as both are.
DOUBLED = 0.004
# Pieces of straight lines and arcs are the same drawn again only where they are so near, mm.
SAME = 0.001
# Chords where whole strokes are compared, mm.
CHORD = 0.0005


def drawn_once(
    sketch: Sketch, strokes: Sequence[DrawnStroke], layer: str, most_pairs: int
) -> list[DrawnStroke]:
    """Strokes without what runs over an earlier one; adds a remark to the sketch.

    No more than ``most_pairs`` pairs of pieces are looked at: rubbish is told where outlines meet.
    """
    places: list[Point] = []
    kept = list(_without_twins(strokes, places))
    kept = list(_without_overlaps(kept, places, most_pairs))
    if places:
        sketch.remarks.append(counted(
            "layer {layer}: {n} line drawn more than once is taken once, at {where}",
            "layer {layer}: {n} lines drawn more than once are taken once, the first at {where}",
            len(places), layer=layer, where=sketch.frame.where(places[0])))
    return kept


def _without_twins(
    strokes: Sequence[DrawnStroke], places: list[Point]
) -> Iterator[DrawnStroke]:
    """Strokes without those that are an earlier one again, begun elsewhere or run the other way."""
    lines = [shapely.LineString(stroke.path.points(CHORD)) for stroke in strokes]
    boxes = np.array([line.bounds for line in lines]).reshape(-1, 4)
    alike: dict[tuple[int, ...], list[int]] = defaultdict(list)
    for number, box in enumerate(boxes):
        cell = tuple(int(value) for value in np.floor(box / (10 * DOUBLED)))
        around = [cell, *(tuple(c + s for c, s in zip(cell, step, strict=True))
                          for step in _STEPS)]
        twin = next((other for one in around for other in alike.get(one, ())
                     if np.all(np.abs(boxes[other] - box) <= 2 * DOUBLED)
                     and _within(lines[number], lines[other])
                     and _within(lines[other], lines[number])), None)
        if twin is None:
            alike[cell].append(number)
            yield strokes[number]
        else:
            places.append(strokes[number].path.at(strokes[number].path.length / 2))


_STEPS = tuple(
    (a, b, c, d) for a in (-1, 0, 1) for b in (-1, 0, 1) for c in (-1, 0, 1) for d in (-1, 0, 1)
    if (a, b, c, d) != (0, 0, 0, 0))


def _within(one: shapely.LineString, other: shapely.LineString) -> bool:
    """Whether a line keeps near another, asked at its points and between them."""
    points = np.asarray(one.coords)
    asked = np.concatenate((points, (points[1:] + points[:-1]) / 2))
    return bool(np.all(shapely.distance(shapely.points(asked), other) <= DOUBLED))


def _without_overlaps(
    strokes: Sequence[DrawnStroke], places: list[Point], most_pairs: int
) -> Iterator[DrawnStroke]:
    """Strokes without the parts of their pieces that lie on pieces of earlier strokes."""
    owners: list[tuple[int, int]] = []
    pieces: list[Path] = []
    for number, stroke in enumerate(strokes):
        for place, (at, piece) in enumerate(stroke.path.laid_out()):
            owners.append((number, place))
            pieces.append(Path(at, (piece,), closed=False))
    boxes = [shapely.LineString(one.points(CHORD)).envelope.buffer(SAME) for one in pieces]
    covered: dict[tuple[int, int], list[tuple[float, float]]] = defaultdict(list)
    later, earlier = shapely.STRtree(boxes).query(boxes)
    if len(later) <= 2 * most_pairs:
        for one, other in zip(later.tolist(), earlier.tolist(), strict=True):
            if owners[other][0] < owners[one][0]:
                covered[owners[one]] += _covered(pieces[one], pieces[other])
    for number, stroke in enumerate(strokes):
        mine = {place: covered[number, place] for place in range(len(stroke.path.pieces))
                if covered.get((number, place))}
        if not mine:
            yield stroke
            continue
        first = min(mine)
        begin, end = mine[first][0]
        places.append(pieces[owners.index((number, first))].at((begin + end) / 2))
        for rest in _rest(stroke.path, mine):
            yield DrawnStroke(rest, stroke.layer, stroke.name, stroke.place)


def _covered(one: Path, other: Path) -> list[tuple[float, float]]:
    """The stretches of a piece, mm along it, that keep on another piece."""
    marks = sorted({0.0, one.length, one.nearest(other.start), one.nearest(other.end)})
    return [(begin, end) for begin, end in pairwise(marks)
            if end - begin > 4 * SAME and all(
                _off(one.at(begin + share * (end - begin)), other) <= SAME
                for share in (0.0, 0.25, 0.5, 0.75, 1.0))]


def _off(point: Point, path: Path) -> float:
    return math.dist(path.at(path.nearest(point)), point)


def _rest(path: Path, covered: dict[int, list[tuple[float, float]]]) -> list[Path]:
    """What is left of a path without stretches of its pieces, as open paths."""
    runs: list[tuple[Point, list[Piece]]] = []
    going = False
    for number, (at, piece) in enumerate(path.laid_out()):
        alone = Path(at, (piece,), closed=False)
        reached = 0.0
        for begin, end in (*sorted(covered.get(number, ())), (alone.length, alone.length)):
            if begin - reached > 4 * SAME or (begin > reached and number not in covered):
                part = (alone if reached == 0.0 and begin == alone.length
                        else alone.between(reached, begin))
                if going and reached == 0.0:
                    runs[-1][1].extend(part.pieces)
                else:
                    runs.append((part.start, list(part.pieces)))
                going = True
            if end > begin:
                going = False
            reached = max(reached, end)
        if reached < alone.length:
            going = True
    paths = [Path(start, tuple(pieces), closed=False) for start, pieces in runs]
    if path.closed and len(paths) > 1 and paths[-1].end == paths[0].start == path.start:
        last = paths.pop()
        paths[0] = Path(last.start, (*last.pieces, *paths[0].pieces), closed=False)
    return paths
