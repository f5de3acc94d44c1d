"""From the rows a control has made to arrays of motion.

Here the control's own sense of each axis becomes ISO 841's, and places nobody knows are filled in
so that pictures and proofs need not step round gaps:

- a place not known yet is taken to be the first one given after it: nothing is drawn on the way;
- a height "up, out of the way" is the greatest height of the whole program;
- an axis sent to a place the program does not know, and never heard of again, stays where it was.

Of a machine that was measured the motion is told as the cutter makes it, not as it is told.

Lengths mm, angles degrees, feeds mm/min.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from camgen.arrays import Floats
from camgen.reader.dialect import Dialect
from camgen.reader.motion import Kind, Motion

__all__ = ["motion_of"]


_ROUND_ABOUT: Final = ((1, 2), (2, 0), (0, 1))


def motion_of(rows: Sequence[Floats], dialect: Dialect, first: Sequence[float]) -> Motion:
    """Motion of ``rows``, pieces of (m, 15) as in :data:`camgen.reader.control.journal.MotionRow`.

    ``first`` is the place before the first piece, nan where not known.
    """
    table = np.concatenate(rows) if rows else np.zeros((0, 15))
    count = len(table)
    places = np.empty((count + 1, 3))
    places[0] = first
    places[1:] = table[:, 2:5]
    signs = np.array(dialect.signs)
    places *= signs
    places += 0.0  # no minus zero
    for axis in range(3):
        _fill(places[:, axis])
    centre = table[:, 5:8] * signs
    kind = table[:, 0].astype(np.int64)
    plane = table[:, 8].astype(np.int64)
    if signs.min() < 0 and count:
        # An axis that counts the other way round turns the sense of every arc in its planes.
        turned = np.array([signs[a] * signs[b] < 0 for a, b in _ROUND_ABOUT])[plane]
        clockwise, other = kind == Kind.ARC_CLOCKWISE, kind == Kind.ARC_ANTICLOCKWISE
        kind[turned & clockwise] = Kind.ARC_ANTICLOCKWISE
        kind[turned & other] = Kind.ARC_CLOCKWISE
    angle_end = table[:, 10] * dialect.rotary_sign
    turns = table[:, 9].astype(np.int64)
    if dialect.slides is not None:
        told, slides = places, dialect.slides
        centre = slides.middles(kind, plane, told[:-1], told[1:], centre, turns)
        places, angle_end = slides.stands(told), slides.turns(angle_end)
    angle_start = np.concatenate(([0.0], angle_end[:-1])) if count else angle_end
    return Motion(
        kind=kind,
        line=table[:, 1].astype(np.int64),
        start=places[:-1],
        end=places[1:],
        centre=centre,
        plane=plane,
        turns=turns,
        angle_start=angle_start,
        angle_end=angle_end + 0.0,
        feed=table[:, 11].copy(),
        speed=table[:, 12].copy(),
        cutter=table[:, 13].astype(np.int64),
        station=table[:, 14].astype(np.int64),
    )


def _fill(column: Floats) -> None:
    """Fill in unknown places of one axis, in place."""
    known = np.isfinite(column)
    if known.all():
        return
    if not known.any():
        column[:] = 0.0
        return
    # Where it was brought by hand before the first move is no height that the work is left at.
    moved = known & (np.cumsum(known & (column != column[0])) > 0)
    column[np.isposinf(column)] = column[moved if moved.any() else known].max()
    known = np.isfinite(column)
    if known.all():
        return
    at = np.arange(len(column))
    after = np.minimum.accumulate(np.where(known, at, len(column))[::-1])[::-1]
    before = np.maximum.accumulate(np.where(known, at, -1))
    source = np.where(after < len(column), after, before)
    column[:] = column[source]
