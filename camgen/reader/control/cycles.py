"""Fixed cycles for holes, taken apart into strokes.

The order of strokes is that of NISTIR 6556, "The NIST RS274NGC Interpreter – Version 3", section
on canned cycles (from memory). Distances are along the drilling axis, whatever the plane.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final, Literal, NamedTuple, TypeAlias

from camgen.messages import Message
from camgen.reader.control.arcs import NoSuchMotion
from camgen.values import dataclass

__all__ = ["CHIP_BREAK_GAP", "MOST_PECKS", "CycleHole", "CycleStroke", "cycle_strokes"]

StrokeKind: TypeAlias = Literal["rapid", "feed", "shift", "dwell", "spindle", "stop"]

# How far a control backs off to break a chip, or stops short of the last depth on going back in,
# is a setting inside the control (common practice, no source): it changes no depth.
CHIP_BREAK_GAP: Final = 0.1
MOST_PECKS: Final = 10_000


class CycleStroke(NamedTuple):
    """One stroke: ``rapid`` or ``feed`` to ``value`` along the drilling axis; ``shift`` by the
    two values across it; ``dwell`` seconds; ``spindle`` to a share of its speed (1 as it was, 0
    off, −1 the other way); ``stop`` for the operator."""

    kind: StrokeKind
    value: float = 0.0
    across: float = 0.0


@dataclass(frozen=True, slots=True)
class CycleHole:
    """A cycle's figures along the drilling axis, mm: bottom, R level, level to return to.

    ``bite`` is Q, ``dwell`` seconds, ``shift`` the sideways move of fine and back boring,
    ``counterbore`` the K of back boring.
    """

    kind: str
    bottom: float
    level: float
    clear: float
    bite: float = 0.0
    dwell: float = 0.0
    shift: tuple[float, float] = (0.0, 0.0)
    counterbore: float = 0.0


def cycle_strokes(hole: CycleHole) -> Iterator[CycleStroke]:
    """The strokes of one hole, the cutter standing over it at the R level.

    Raises NoSuchMotion when a peck's bite is not positive or makes more than :data:`MOST_PECKS`.

    >>> [(s.kind, s.value) for s in cycle_strokes(CycleHole("drill", 1.5, 2.8, 3.0))]
    [('feed', 1.5), ('rapid', 3.0)]
    >>> [(s.kind, s.value) for s in cycle_strokes(CycleHole("peck", -1.0, 1.0, 2.0, bite=1.5))][:4]
    [('feed', -0.5), ('rapid', 1.0), ('rapid', -0.4), ('feed', -1.0)]
    """
    kind = hole.kind
    if kind in ("peck", "chip-break"):
        yield from _pecks(hole)
    elif kind == "fine-bore":
        yield CycleStroke("feed", hole.bottom)
        yield CycleStroke("dwell", hole.dwell)
        yield CycleStroke("spindle", 0.0)
        yield CycleStroke("shift", hole.shift[0], hole.shift[1])
        yield CycleStroke("rapid", hole.clear)
        yield CycleStroke("shift", -hole.shift[0], -hole.shift[1])
        yield CycleStroke("spindle", 1.0)
        return
    elif kind == "back-bore":
        yield from _back_bore(hole)
        return
    else:
        yield CycleStroke("feed", hole.bottom)
    if kind in ("drill-dwell", "bore-stop", "bore-by-hand", "bore-dwell"):
        yield CycleStroke("dwell", hole.dwell)
    if kind in ("tap", "tap-left"):
        yield CycleStroke("spindle", -1.0)
        yield CycleStroke("feed", hole.level)
        yield CycleStroke("spindle", 1.0)
    elif kind in ("bore", "bore-dwell"):
        yield CycleStroke("feed", hole.level)
    elif kind in ("bore-stop", "bore-by-hand"):
        yield CycleStroke("spindle", 0.0)
        if kind == "bore-by-hand":
            yield CycleStroke("stop")
    yield CycleStroke("rapid", hole.clear)
    if kind in ("bore-stop", "bore-by-hand"):
        yield CycleStroke("spindle", 1.0)


def _pecks(hole: CycleHole) -> Iterator[CycleStroke]:
    if not hole.bite > 0:
        raise NoSuchMotion(Message("a peck needs a bite Q greater than nothing"))
    depth = hole.level - hole.bottom
    pecks = max(1, math.ceil(depth / hole.bite - 1e-9))
    if pecks > MOST_PECKS:
        raise NoSuchMotion(Message("a bite of {bite:g} mm makes {pecks} pecks in one hole",
                                   bite=hole.bite, pecks=pecks))
    for peck in range(1, pecks + 1):
        down = hole.bottom if peck == pecks else hole.level - peck * hole.bite
        yield CycleStroke("feed", down)
        if peck == pecks:
            return
        if hole.kind == "peck":
            yield CycleStroke("rapid", hole.level)
            yield CycleStroke("rapid", min(hole.level, down + CHIP_BREAK_GAP))
        else:
            yield CycleStroke("rapid", min(hole.level, down + CHIP_BREAK_GAP))


def _back_bore(hole: CycleHole) -> Iterator[CycleStroke]:
    across, along = hole.shift
    yield CycleStroke("shift", across, along)
    yield CycleStroke("spindle", 0.0)
    yield CycleStroke("rapid", hole.bottom)
    yield CycleStroke("shift", -across, -along)
    yield CycleStroke("spindle", 1.0)
    yield CycleStroke("feed", hole.counterbore)
    yield CycleStroke("dwell", hole.dwell)
    yield CycleStroke("feed", hole.bottom)
    yield CycleStroke("spindle", 0.0)
    yield CycleStroke("shift", across, along)
    yield CycleStroke("rapid", hole.clear)
    yield CycleStroke("shift", -across, -along)
    yield CycleStroke("spindle", 1.0)
