"""What a program does, in figures: extents, cutters, speeds, feeds, turns, stops."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from camgen.arrays import Flags, Floats
from camgen.reader.motion import Kind, Motion, ReadProgram
from camgen.values import dataclass

__all__ = ["CutterUse", "Summary", "extents", "piece_lengths", "summary_of"]



@dataclass(frozen=True, slots=True)
class CutterUse:
    """What one cutter does.

    ``speeds`` and ``feeds`` are the lowest and highest while cutting, rev/min (negative
    anticlockwise) and mm/min, None where there are none; ``low`` and ``high`` (3,) the extents of
    its feed moves, mm; ``length`` mm cut; ``seconds`` None where not timed.
    """

    number: int
    text: str
    speeds: tuple[float, float] | None
    feeds: tuple[float, float] | None
    low: tuple[float, float, float]
    high: tuple[float, float, float]
    length: float
    seconds: float | None


@dataclass(frozen=True)
class Summary:
    """What a program does.

    ``travel`` and ``cutting`` are lowest and highest X, Y, Z of all moves and of feed moves, mm,
    None where there are none; ``turned`` lowest and highest angle of the dividing head, degrees;
    ``dwell`` seconds.
    """

    blocks: int
    travel: tuple[tuple[float, ...], tuple[float, ...]] | None
    cutting: tuple[tuple[float, ...], tuple[float, ...]] | None
    cutters: tuple[CutterUse, ...]
    turns: int
    turned: tuple[float, float]
    stops: int
    changes: int
    dwell: float


def extents(motion: Motion, which: Flags | None = None) -> tuple[Floats, Floats]:
    """Lowest and highest X, Y, Z (3,) of the way of the pieces ``which``, bulges of arcs and all.

    Raises ValueError when there are no such pieces.
    """
    chosen = np.arange(len(motion)) if which is None else np.flatnonzero(which)
    low = np.minimum(motion.start[chosen], motion.end[chosen]).min(axis=0)
    high = np.maximum(motion.start[chosen], motion.end[chosen]).max(axis=0)
    arcs = chosen[
        (motion.kind[chosen] == Kind.ARC_CLOCKWISE)
        | (motion.kind[chosen] == Kind.ARC_ANTICLOCKWISE)
    ]
    if not len(arcs):
        return low, high
    begun, sweep, radius, first, second = _turns(motion, arcs)
    # Anticlockwise from here; a clockwise arc is the same way gone from its end.
    begin = np.where(sweep < 0, begun + sweep, begun)
    size = np.abs(sweep)
    for quarter in range(4):
        angle = quarter * np.pi / 2
        passed = np.mod(angle - begin, 2 * np.pi) < size - 1e-12
        for axis, share in ((first, np.cos(angle)), (second, np.sin(angle))):
            reach = motion.centre[arcs, axis] + radius * share
            if abs(share) > 0.5 and passed.any():
                np.minimum.at(low, axis[passed], reach[passed])
                np.maximum.at(high, axis[passed], reach[passed])
    return low, high


def piece_lengths(motion: Motion) -> Floats:
    """(n,) length of the way of each piece, mm; 0 for turns of the dividing head."""
    length: Floats = np.sqrt(((motion.end - motion.start) ** 2).sum(axis=1))
    arcs = np.flatnonzero(
        (motion.kind == Kind.ARC_CLOCKWISE) | (motion.kind == Kind.ARC_ANTICLOCKWISE)
    )
    if len(arcs):
        _, sweep, radius, _, _ = _turns(motion, arcs)
        rise = (motion.end - motion.start)[arcs, motion.plane[arcs]]
        length[arcs] = np.hypot(sweep * radius, rise)
    return length


def _turns(
    motion: Motion, arcs: NDArray[np.int64]
) -> tuple[Floats, Floats, Floats, NDArray[np.int64], NDArray[np.int64]]:
    """Angle begun at, signed sweep, radius and the plane's two axes of the pieces ``arcs``."""
    first = np.array([1, 2, 0])[motion.plane[arcs]]
    second = np.array([2, 0, 1])[motion.plane[arcs]]
    start_first = motion.start[arcs, first] - motion.centre[arcs, first]
    start_second = motion.start[arcs, second] - motion.centre[arcs, second]
    end_first = motion.end[arcs, first] - motion.centre[arcs, first]
    end_second = motion.end[arcs, second] - motion.centre[arcs, second]
    begun = np.arctan2(start_second, start_first)
    turn = np.arctan2(end_second, end_first) - begun
    clockwise = motion.kind[arcs] == Kind.ARC_CLOCKWISE
    turn = np.mod(np.where(clockwise, -turn, turn), 2 * np.pi)
    closed = (start_first == end_first) & (start_second == end_second)
    turn = np.where(closed, 2 * np.pi, turn) + 2 * np.pi * motion.turns[arcs]
    return begun, np.where(clockwise, -turn, turn), np.hypot(start_first, start_second), first, (
        second
    )


def summary_of(program: ReadProgram, seconds: Floats | None = None) -> Summary:
    """What ``program`` does; ``seconds`` (n,) is the time of each piece, where it is known."""
    motion = program.motion
    cut = (motion.kind != Kind.RAPID) & (motion.kind != Kind.INDEX)
    lengths = piece_lengths(motion)
    names: dict[int, str] = {}
    for event in program.events:
        if event.kind == "cutter-change":
            names.setdefault(int(event.value), event.text)
    uses = []
    for number in dict.fromkeys(motion.cutter[cut].tolist()):
        mine = cut & (motion.cutter == number)
        low, high = extents(motion, mine)
        uses.append(
            CutterUse(
                number=number,
                text=names.get(number, ""),
                speeds=_range(motion.speed[mine]),
                feeds=_range(motion.feed[mine]),
                low=_three(low),
                high=_three(high),
                length=float(lengths[mine].sum()),
                seconds=None if seconds is None else float(
                    seconds[motion.cutter == number].sum()
                ),
            )
        )
    angles = np.concatenate(([0.0], motion.angle_start, motion.angle_end))
    return Summary(
        blocks=sum(1 for line in program.lines if line.strip()),
        travel=_both(motion, None) if len(motion) else None,
        cutting=_both(motion, cut) if cut.any() else None,
        cutters=tuple(uses),
        turns=int(np.count_nonzero(motion.angle_end != motion.angle_start)),
        turned=(float(angles.min()), float(angles.max())),
        stops=sum(event.kind in ("stop", "optional-stop") for event in program.events),
        changes=sum(event.kind == "cutter-change" for event in program.events),
        dwell=sum(event.value for event in program.events if event.kind == "dwell"),
    )


def _both(motion: Motion, which: Flags | None) -> tuple[tuple[float, ...], tuple[float, ...]]:
    low, high = extents(motion, which)
    return _three(low), _three(high)


def _three(values: Floats) -> tuple[float, float, float]:
    x, y, z = (round(float(value), 6) + 0.0 for value in values)
    return x, y, z


def _range(values: Floats) -> tuple[float, float] | None:
    known = values[np.isfinite(values)]
    return (float(known.min()), float(known.max())) if len(known) else None
