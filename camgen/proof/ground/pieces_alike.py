"""How alike two pieces of motion are, and how far apart they lie."""

from __future__ import annotations

import numpy as np

from camgen.arrays import Flags, Floats
from camgen.proof.path import is_arc, select, sweeps
from camgen.reader.motion import Kind, Motion

__all__ = [
    "alike_pieces", "apart", "goes_nowhere", "is_at", "middles_of", "off_line",
    "parted_lines",
]


def goes_nowhere(plan: Motion) -> Flags:
    """(n,) planned pieces that move nothing, as far as is known."""
    still = np.abs(plan.end - plan.start) < 1e-7
    # A coordinate not known before and after stays as it is.
    still |= np.isnan(plan.end)
    near = np.all(still, axis=1) & ~is_arc(plan)
    return np.asarray(near & (np.abs(plan.angle_end - plan.angle_start) < 1e-7))


def is_at(place: Floats, wanted: Floats, room: float) -> bool:
    """Whether a place, X Y Z, is the one wanted to within ``room`` mm, in all axes that this says.
    """
    return bool(np.nan_to_num(np.abs(place - wanted)).max() <= room)


def middles_of(motion: Motion) -> Floats:
    """(n, 3, 3) points a quarter, a half and three quarters along arcs; nan where straight."""
    points = np.full((len(motion), 3, 3), np.nan)
    rows = np.nonzero(is_arc(motion))[0]
    if not len(rows):
        return points
    arcs = select(motion, rows)
    sweep, begin, radius = sweeps(arcs)
    first = np.array([1, 2, 0])[arcs.plane]
    second = np.array([2, 0, 1])[arcs.plane]
    each = np.arange(len(rows))
    for k, share in enumerate((0.25, 0.5, 0.75)):
        angle = begin + share * sweep
        point = arcs.start + share * (arcs.end - arcs.start)
        point[each, first] = arcs.centre[each, first] + radius * np.cos(angle)
        point[each, second] = arcs.centre[each, second] + radius * np.sin(angle)
        points[rows, k] = point
    return points


def alike_pieces(a: Motion, b: Motion) -> Flags:
    """(n,) true where two pieces are of one kind."""
    return np.asarray((a.kind == b.kind) & (~is_arc(a) | (a.plane == b.plane)))


def apart(a: Motion, b: Motion) -> tuple[Floats, Floats]:
    """(n,) largest distance of ends, and of points along arcs, mm, in any one axis."""
    ends = np.nan_to_num(np.abs(a.end - b.end)).max(axis=1, initial=0.0)
    along = np.zeros(len(a))
    arcs = is_arc(a) & is_arc(b)
    if np.any(arcs):
        off = np.abs(middles_of(select(a, arcs)) - middles_of(select(b, arcs)))
        along[arcs] = np.nan_to_num(off).max(axis=(1, 2))
    return np.asarray(ends), along


def parted_lines(read: Motion, rows: slice, room: float) -> Flags:
    """(n,) which lines of ``rows`` go straight on into the line after them, to ``room`` mm."""
    here, there, straight = read.start[rows], read.end[rows], read.kind[rows] == Kind.LINE
    after = slice(rows.start + 1, rows.stop + 1)
    count = len(read.end[after])
    parted = np.zeros(len(here), dtype=np.bool_)
    way = read.end[after] - here[:count]
    length = np.linalg.norm(way, axis=1)
    to = there[:count] - here[:count]
    along = (to * way).sum(axis=1) / np.maximum(length, 1e-12)
    aside = np.sqrt(np.maximum((to * to).sum(axis=1) - along**2, 0.0))
    on = straight[:count] & (read.kind[after] == Kind.LINE) & (along > 0) & (along < length)
    parted[:count] = on & (aside <= room)
    return parted


def off_line(point: Floats, start: Floats, end: Floats) -> float:
    """Distance, mm, of a point from a straight stretch; nan axes of the stretch do not count."""
    known = ~(np.isnan(start) | np.isnan(end))
    p, a, b = point[known], start[known], end[known]
    way = b - a
    square = float(way @ way)
    share = 0.0 if square == 0 else min(1.0, max(0.0, float((p - a) @ way) / square))
    return float(np.linalg.norm(p - (a + share * way)))
