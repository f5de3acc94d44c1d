"""Loose strokes joined into closed outlines, and everything that keeps them from being so.

Ends that meet but for the rounding of a file are one. Ends apart by no more than the allowed gap
are brought together half-way and told, and lines drawn twice are taken once; anything further
apart, a parting of ways or an outline that meets itself is a fault with its place in the drawing.
Lengths mm.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
import shapely

from camgen.drawings.doubled import drawn_once
from camgen.drawings.strokes import DrawnStroke, Sketch
from camgen.messages import Message, counted
from camgen.shapes.contacts import Laid, contacts, pairs_near
from camgen.shapes.path import ArcTo, LineTo, Path, Piece, Point, piece_length, sweep
from camgen.values import dataclass

__all__ = ["Mended", "join_strokes"]

# Ends nearer than this meet: half the last place of six decimals of an inch, twice over, is less.
MEET = 5e-5
# Shorter pieces than this, mm, are of no length; a stroke of its own not four times as long as its
# ends may lie apart is none either.
NO_LENGTH = 2e-5
# Faults of one sort told for one layer; a drawing with more has one cause for all of them.
MOST_TOLD = 25
# Pairs of pieces looked at closely; the outlines of a watch part are far from having so many whose
# boxes meet, and a heap of rubbish must not keep anybody waiting.
MOST_PAIRS = 500_000


@dataclass(frozen=True, slots=True)
class Mended:
    """Something small put right: what, where (mm), on which layer, and how large it was, mm.

    ``where`` is the same place in the drawing's own coordinates.
    """

    what: Message
    at: Point
    where: str
    layer: str
    size: float


def join_strokes(sketch: Sketch, layer: str, gap: float, mended: list[Mended]) -> list[Path]:
    """The closed outlines of one layer, anticlockwise, in the order they were drawn.

    Adds to the sketch's faults and to ``mended``.
    """
    strokes = [stroke for stroke in sketch.strokes if stroke.layer == layer]
    strokes = _without_nothing(sketch, strokes, gap, mended)
    strokes = drawn_once(sketch, strokes, layer, MOST_PAIRS)
    found: list[tuple[int, Path]] = []
    loose: list[_Run] = []
    for number, stroke in enumerate(strokes):
        path = stroke.path
        apart = math.dist(path.start, path.end)
        if path.closed or apart <= MEET:
            found.append((number, _closed(path)))
        else:
            loose.append(_Run(number, path))
    partings: list[Point] = []
    runs = _chained(sketch, layer, loose, MEET, partings)
    still: list[_Run] = []
    for run in runs:
        if _shut(run.path, MEET):
            found.append((run.number, _closed(run.path)))
        else:
            still.append(run)
    if gap > MEET:
        # What shuts by itself, or is shorter than the gap, has no ends to offer to others.
        apart_enough = [run for run in still if math.dist(run.path.start, run.path.end) > gap]
        still = [run for run in still if math.dist(run.path.start, run.path.end) <= gap]
        still += _chained(sketch, layer, apart_enough, gap, partings, mended)
    for run in list(still):
        if _shut(run.path, gap):
            _tell(sketch, layer, run.path.end, run.path.start, mended)
            found.append((run.number, _closed(run.path)))
            still.remove(run)
    _open_ends(sketch, layer, [run for run in still if not _between(run, partings, gap)], gap)
    loops = [path if path.area >= 0 else path.reversed() for _, path in sorted(
        found, key=lambda one: one[0])]
    _crossings(sketch, layer, loops)
    return loops


@dataclass(frozen=True, slots=True)
class _Run:
    """An open path, and the number of the first stroke in it."""

    number: int
    path: Path


def _shut(path: Path, gap: float) -> bool:
    """Whether an open path comes back to where it began; one no longer than the gap does not."""
    return math.dist(path.start, path.end) <= gap and path.length > 4 * gap


def _between(run: _Run, partings: Sequence[Point], gap: float) -> bool:
    """Whether both ends of a run lie where ways part, which is told already."""
    return all(
        any(math.dist(end, parting) <= max(gap, MEET) for parting in partings)
        for end in (run.path.start, run.path.end)
    )


def _without_nothing(
    sketch: Sketch, strokes: Sequence[DrawnStroke], gap: float, mended: list[Mended]
) -> list[DrawnStroke]:
    """Strokes without their pieces of no length: left out and told, or faults when gap is 0."""
    kept: list[DrawnStroke] = []
    for stroke in strokes:
        pieces: list[Piece] = []
        at = stroke.path.start
        for start, piece in stroke.path.laid_out():
            if piece_length(start, piece) > NO_LENGTH:
                pieces.append(piece)
                at = piece.end
                continue
            where = sketch.frame.where(start)
            if gap > 0:
                mended.append(
                    Mended(Message("a piece of no length left out"), start, where, stroke.layer,
                           0.0)
                )
            else:
                sketch.fault(
                    Message("{name} has a piece of no length at {where}", name=stroke.name,
                            where=where),
                    Message("take it out of the drawing"), stroke.place,
                )
        closed = stroke.path.closed and math.dist(at, stroke.path.start) <= 1e-6
        path = Path(stroke.path.start, tuple(pieces), closed)
        if path.length > 4 * MEET:
            kept.append(DrawnStroke(path, stroke.layer, stroke.name, stroke.place))
    return kept


def _bounded(
    sketch: Sketch, layer: str, pairs: Iterator[tuple[int, int]]
) -> Iterator[tuple[int, int]]:
    """The pairs, as far as they are few enough to be looked at; else a fault."""
    for count, pair in enumerate(pairs):
        if count >= MOST_PAIRS:
            sketch.fault(
                Message("layer {layer}: far too many lines lie over one another", layer=layer),
                Message("leave only outlines on it"))
            return
        yield pair


def _laid(paths: Iterator[Path]) -> tuple[list[tuple[int, int, int]], list[Laid]]:
    """All pieces in a row, each with its path's number, its own number in it and their count."""
    owners: list[tuple[int, int, int]] = []
    laid: list[Laid] = []
    for number, path in enumerate(paths):
        for place, (start, piece) in enumerate(path.laid_out()):
            owners.append((number, place, len(path.pieces)))
            laid.append(Laid(start, piece))
    return owners, laid


def _chained(
    sketch: Sketch, layer: str, runs: Sequence[_Run], gap: float, partings: list[Point],
    mended: list[Mended] | None = None,
) -> list[_Run]:
    """Runs put end to end wherever exactly two ends lie within ``gap`` of each other.

    Where more do, the place is added to ``partings`` and a fault.
    """
    if len(runs) < 2:
        return list(runs)
    from ezdxf import edgeminer  # wanted only for drawings of loose lines

    ends = [point for run in runs for point in (run.path.start, run.path.end)]
    spots = _spots(ends, gap)
    _partings(sketch, layer, ends, spots, gap, partings)
    # Which ends are together is settled: the library chains the bare numbers of their spots.
    edges = [
        edgeminer.make_edge((spots[2 * place], 0.0), (spots[2 * place + 1], 0.0), payload=run)
        for place, run in enumerate(runs)
    ]
    deposit = edgeminer.Deposit(edges, gap_tol=0.5)
    joined: list[_Run] = []
    for chain in edgeminer.find_all_simple_chains(deposit):
        # The library goes through sets: begin where the drawing does, so that the same drawing
        # always gives the same outline.
        edges_in = list(chain)
        first = min(range(len(edges_in)), key=lambda place: edges_in[place].payload.number)
        shut = len(edges_in) > 1 and edges_in[-1].end == edges_in[0].start
        if edges_in[first].is_reverse:
            edges_in = [edge.reversed() for edge in reversed(edges_in)]
            first = len(edges_in) - 1 - first
        if shut:
            edges_in = edges_in[first:] + edges_in[:first]
        joined.append(_end_to_end(sketch, layer, edges_in, mended))
    return sorted(joined, key=lambda run: run.number)


def _spots(ends: Sequence[Point], gap: float) -> list[int]:
    """A number for each end, the same for all that hang together by steps of at most ``gap``."""
    points = [shapely.Point(end) for end in ends]
    near = shapely.STRtree(points).query(points, predicate="dwithin", distance=gap)
    spots = list(range(len(ends)))

    def root(number: int) -> int:
        while spots[number] != number:
            spots[number] = spots[spots[number]]
            number = spots[number]
        return number

    for one, other in zip(*(row.tolist() for row in near), strict=True):
        if one < other:
            low, high = sorted((root(one), root(other)))
            spots[high] = low
    return [root(number) for number in range(len(ends))]


def _partings(
    sketch: Sketch, layer: str, ends: Sequence[Point], spots: Sequence[int], gap: float,
    told: list[Point],
) -> None:
    """A fault for each place where three or more ends lie together, unless told already."""
    counted = Counter(spots)
    for spot, count in sorted(counted.items()):
        at = ends[spot]
        if count <= 2 or any(math.dist(at, place) <= gap for place in told):
            continue
        told.append(at)
        if len(told) > MOST_TOLD:
            return
        sketch.fault(
            Message("layer {layer}: {count} ends lie together at {where}, so the outline could go "
                    "on in several ways", layer=layer, count=count,
                    where=sketch.frame.where(at)),
            Message("an outline has two ends meeting at each corner; put other lines on a layer of "
                    "their own"),
        )


def _end_to_end(
    sketch: Sketch, layer: str, chain: Sequence[Any], mended: list[Mended] | None
) -> _Run:
    """One run of a chain of edges, each pair of ends brought together half-way."""
    parts = [
        edge.payload.path.reversed() if edge.is_reverse else edge.payload.path for edge in chain
    ]
    for place in range(len(parts) - 1):
        before, after = parts[place], parts[place + 1]
        if mended is not None:
            _tell(sketch, layer, before.end, after.start, mended)
        meeting = _half_way(before.end, after.start)
        parts[place] = _ending_at(before, meeting)
        parts[place + 1] = _ending_at(after.reversed(), meeting).reversed()
    pieces = tuple(piece for part in parts for piece in part.pieces)
    path = Path(parts[0].start, pieces, closed=False)
    return _Run(min(edge.payload.number for edge in chain), path)


def _tell(sketch: Sketch, layer: str, end: Point, start: Point, mended: list[Mended]) -> None:
    size = math.dist(end, start)
    if size > MEET:
        at = _half_way(end, start)
        mended.append(Mended(Message("a gap joined"), at, sketch.frame.where(at), layer, size))


def _half_way(one: Point, other: Point) -> Point:
    return Point((one.x + other.x) / 2, (one.y + other.y) / 2)


def _closed(path: Path) -> Path:
    """A path whose ends have met, closed exactly."""
    if path.closed:
        return path
    meeting = _half_way(path.end, path.start)
    path = _ending_at(path, meeting)
    path = _ending_at(path.reversed(), meeting).reversed()
    return Path(path.start, path.pieces, closed=True)


def _ending_at(path: Path, end: Point) -> Path:
    """The path with its last piece led to ``end``, which lies close to where it ended.

    An arc keeps its start and stays a true arc.
    """
    last = path.pieces[-1]
    start = path.pieces[-2].end if len(path.pieces) > 1 else path.start
    moved = math.dist(last.end, end)
    if moved == 0.0:
        return path
    if isinstance(last, LineTo):
        return Path(path.start, (*path.pieces[:-1], LineTo(end)), closed=False)
    centre = _centre_led(start, last, end, 2 * moved)
    if centre is not None:
        arc = ArcTo(end, centre, last.clockwise)
        return Path(path.start, (*path.pieces[:-1], arc), closed=False)
    # The ends of the arc lie too near each other to say where its centre should go.
    return Path(path.start, (*path.pieces, LineTo(end)), closed=False)


def _centre_led(start: Point, arc: ArcTo, end: Point, allowed: float) -> Point | None:
    """Where an arc's centre goes when its end goes to ``end``; None when that is not clear.

    An arc of no more than half a turn is turned and stretched about its start as a whole, so that
    no point of it moves further than its end. The centre of a longer one moves to where it is as
    far from both ends, if that is no more than ``allowed``.
    """
    before, after = complex(*arc.end) - complex(*start), complex(*end) - complex(*start)
    if abs(after) == 0.0 or abs(before) == 0.0:
        return None
    radius = complex(*arc.centre) - complex(*start)
    if abs(sweep(start, arc)) <= math.pi:
        radius *= after / before
    else:
        along = after / abs(after)
        off = ((radius - after / 2) * along.conjugate()).real
        if abs(off) > allowed:
            return None
        radius -= off * along
    return Point(start.x + radius.real, start.y + radius.imag)


def _open_ends(sketch: Sketch, layer: str, runs: Sequence[_Run], gap: float) -> None:
    """A fault for each run that does not close, with the nearest other end."""
    if not runs:
        return
    ends = [point for run in runs for point in (run.path.start, run.path.end)]
    points = np.array(ends)
    for place, run in enumerate(runs[:MOST_TOLD]):
        start, end = run.path.start, run.path.end
        apart = np.hypot(points[:, 0] - end.x, points[:, 1] - end.y)
        apart[2 * place + 1] = np.inf
        nearest = int(np.argmin(apart))
        sketch.fault(
            Message("layer {layer}: an outline is open, from {start} to {end}; the nearest other "
                    "end to the latter is {away:.4f} mm away at {place}, the gap allowed is "
                    "{gap:g} mm", layer=layer, start=sketch.frame.where(start),
                    end=sketch.frame.where(end), away=float(apart[nearest]),
                    place=sketch.frame.where(ends[nearest]), gap=gap),
            Message("close it, or put it on a layer of its own"))
    if len(runs) > MOST_TOLD:
        sketch.fault(counted("layer {layer}: {n} more outline is open",
                             "layer {layer}: {n} more outlines are open", len(runs) - MOST_TOLD,
                             layer=layer))


def _crossings(sketch: Sketch, layer: str, loops: Sequence[Path]) -> None:
    """A fault for each place where outlines of one layer meet themselves or one another."""
    owners, laid = _laid(iter(loops))
    told: list[Point] = []
    for one, other in _bounded(sketch, layer, pairs_near(laid)):
        (loop, place, count), (second, further, _) = owners[one], owners[other]
        follows = loop == second and (further - place == 1 or (place == 0 and further == count - 1))
        joints = []
        if follows:
            joints = [laid[one].end] if further - place == 1 else [laid[one].start]
            if count == 2:
                joints = [laid[one].start, laid[one].end]
        for contact in contacts(laid[one], laid[other]):
            at = contact.at
            if not contact.along and any(math.dist(at, joint) <= 2 * MEET for joint in joints):
                continue
            if any(math.dist(at, known) <= 2 * MEET for known in told):
                continue
            told.append(at)
            where = sketch.frame.where(at)
            sketch.fault(
                Message("layer {layer}: the outline meets itself at {where}", layer=layer,
                        where=where) if loop == second
                else Message("layer {layer}: two outlines meet at {where}", layer=layer,
                             where=where),
                Message("an outline must not cross or touch itself or another on its layer"),
            )
            if len(told) >= MOST_TOLD:
                return
