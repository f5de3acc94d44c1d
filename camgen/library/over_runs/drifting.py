"""Sizes that drift over the runs, or wander from run to run: what it is, and what to do.

A trend is told by Mann and Kendall's count of pairs that rise or fall, with the normal
approximation of its deviation (Mann 1945, Kendall 1975, from memory), and only where it has moved
the size by more than is measured. A size wanders where the means of runs jump up and down by more
than the pieces of a run differ among themselves. Sizes in mm.
"""

from __future__ import annotations

import math
from enum import Enum
from itertools import groupby, pairwise
from statistics import fmean, median

from camgen.library.over_runs.statistics import SizeHistory
from camgen.messages import NOTHING, Message
from camgen.values import dataclass

__all__ = ["Drift", "Trend", "drift_of", "drift_told"]

# Fewer values show no trend. Common practice, no source.
FEWEST = 5
# Two-sided, one in twenty.
SURE = 1.96
# A change that is less than this, mm, or less than this share of the limits' width is none.
# Common practice, no source.
LEAST, SHARE = 0.002, 0.2
# Shewhart's d2 for ranges of two (ISO 7870-2, from memory), and deviations that are no chance.
D2, DEVIATIONS = 1.128, 3.0


class Trend(Enum):
    """How a size changes."""

    UP = "up"
    DOWN = "down"
    BOTH = "both"


@dataclass(frozen=True)
class Drift:
    """A size that changes: which way, by how much over all pieces, and by how much a piece.

    For one that wanders ``by`` is the greatest jump from run to run and ``each`` 0.
    """

    way: Trend
    by: float
    each: float = 0.0


def drift_of(history: SizeHistory) -> Drift | None:
    """How a size drifts or wanders; None where it does neither.

    >>> rising = tuple(0.22 + 0.001 * n for n in range(6))
    >>> drift_of(SizeHistory("tooth-thickness", "mm", 0.22, None, None, (1, 1, 2, 2, 3, 3), rising))
    Drift(way=<Trend.UP: 'up'>, by=0.005, each=0.001)
    """
    return _trend(history) or _wandering(history)


def _material(history: SizeHistory) -> float:
    """The least change that counts, mm."""
    if history.lower is None or history.upper is None:
        return LEAST
    return max(LEAST, SHARE * (history.upper - history.lower))


def _trend(history: SizeHistory) -> Drift | None:
    values, count = history.values, len(history.values)
    if count < FEWEST:
        return None
    steps = [(b - a, j - i) for i, a in enumerate(values)
             for j, b in enumerate(values[i + 1:], i + 1)]
    score = sum((step > 1e-9) - (step < -1e-9) for step, _ in steps)
    ties = [len(list(group)) for _, group in groupby(sorted(values))]
    spread = (count * (count - 1) * (2 * count + 5)
              - sum(tie * (tie - 1) * (2 * tie + 5) for tie in ties)) / 18
    if spread <= 0 or (abs(score) - 1) / math.sqrt(spread) < SURE:
        return None
    each = median(step / apart for step, apart in steps)
    by = abs(each) * (count - 1)
    if by < _material(history) - 1e-9:
        return None
    return Drift(Trend.UP if each > 0 else Trend.DOWN, round(by, 6), round(abs(each), 6))


def _wandering(history: SizeHistory) -> Drift | None:
    runs = [[value for _, value in group]
            for _, group in groupby(zip(history.runs, history.values, strict=True),
                                    key=lambda pair: pair[0])]
    within = [abs(b - a) for values in runs for a, b in pairwise(values)]
    bound = max(_material(history), DEVIATIONS * fmean(within) / D2 if within else 0.0)
    if not within and (history.lower is None or history.upper is None):
        return None  # nothing tells how much pieces differ by chance
    jumps = [b - a for a, b in pairwise([fmean(values) for values in runs])]
    far = [jump for jump in jumps if abs(jump) > bound]
    if not any(jump > 0 for jump in far) or not any(jump < 0 for jump in far):
        return None
    return Drift(Trend.BOTH, round(max(map(abs, far)), 6))


_ACROSS = ("tooth-thickness", "over-pins", "across-teeth")
_DEEP = ("root", "whole-depth")
_OUTSIDE = ("outside", "tip", "blank", "hub", "arm")


def drift_told(history: SizeHistory) -> Message:
    """A size that drifts, and what to do; nothing where it does not."""
    drift = drift_of(history)
    if drift is None:
        return NOTHING
    if drift.way is Trend.BOTH:
        return Message("{size} jumps by up to {by:.3f} {unit} from run to run: {cause}",
                       size=history.size, by=drift.by, unit=history.unit,
                       cause=_wanders(history.size))
    up = drift.way is Trend.UP
    told = (Message("{size} grows, by {by:.3f} {unit} so far: {cause}", size=history.size,
                    by=drift.by, unit=history.unit, cause=_cause(history.size, up)) if up else
            Message("{size} shrinks, by {by:.3f} {unit} so far: {cause}", size=history.size,
                    by=drift.by, unit=history.unit, cause=_cause(history.size, up)))
    limit = history.upper if up else history.lower
    left = abs(limit - history.values[-1]) / drift.each if limit is not None else math.inf
    outside = limit is not None and (history.values[-1] > limit if up
                                     else history.values[-1] < limit)
    if outside or not math.isfinite(left):
        return told
    return Message("{told}; at this rate outside its limits in about {pieces:.0f} pieces",
                   told=told, pieces=max(1.0, left))


def _wanders(size: str) -> Message:
    if size in _DEEP:
        return Message("the zero is touched differently each time: touch it the same way, and "
                       "measure the root of a trial space before the run")
    if size in _ACROSS:
        return Message("the cutter sits differently each time: clean its seat, look at how it runs "
                       "out sideways, and centre anew")
    return Message("something is set differently each time: look at zero, seat of the cutter and "
                   "holding")


def _cause(size: str, up: bool) -> Message:
    if size in _DEEP:
        shallower = up if size == "root" else not up
        return (Message("cuts become shallower, the cutter's points wear or the zero wanders: "
                        "touch it anew, then camgen correct") if shallower else
                Message("cuts become deeper, the zero wanders: touch it anew, then camgen correct"))
    if size in _ACROSS:
        return (Message("the cutter wears and cuts narrower spaces: sharpen or change it, depth "
                        "does not mend that") if up else
                Message("the cutter runs out sideways more and more, or sits loose: look at its "
                        "seat, depth does not mend that"))
    if size in _OUTSIDE:
        return (Message("the cutter wears: change it, or camgen correct") if up else
                Message("the cutter bends or runs out more and more: look at it and its holder"))
    return (Message("the cutter runs out more and more: look at it and its holder") if up else
            Message("the cutter wears: change it, or camgen correct"))
