"""Sizes run by run: chart limits, capability where enough was measured, life of cutters.

Every size in its own unit.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from statistics import fmean, stdev

from camgen.library.record import ProofRecord, Run
from camgen.values import dataclass

__all__ = [
    "ENOUGH",
    "Capability",
    "ChartLimits",
    "CutterLife",
    "SizeHistory",
    "capability",
    "chart_limits",
    "cutter_lives",
    "size_histories",
]

# Fewer measured pieces than this say too little of a process's spread to state a capability:
# common practice, no source.
ENOUGH = 25

# Factors for a moving range of two (Shewhart's d2 and D4 for n = 2; ISO 7870-2, from memory).
_D2 = 1.128
_D4 = 3.267


@dataclass(frozen=True, slots=True)
class ChartLimits:
    """Limits of a chart of single values and their moving range, in the size's own unit."""

    mean: float
    lower: float
    upper: float
    mean_range: float
    range_upper: float
    beyond: tuple[int, ...]
    """Places, from 0, of values outside the limits."""


def chart_limits(values: Sequence[float]) -> ChartLimits:
    """Control limits of single values: mean ± 3·R̄/d2, the range's upper limit D4·R̄.

    R̄ is the mean of |x[i] − x[i−1]|, d2 = 1.128 and D4 = 3.267 for ranges of two (ISO 7870-2,
    Shewhart charts, from memory). Raises ValueError for fewer than two values.

    >>> limits = chart_limits([10.0, 12.0, 10.0, 12.0])
    >>> round(limits.mean, 3), round(limits.upper - limits.mean, 2)
    (11.0, 5.32)
    """
    if len(values) < 2:
        raise ValueError("a chart needs two values or more")
    mean = fmean(values)
    mean_range = fmean(abs(b - a) for a, b in pairwise(values))
    reach = 3.0 * mean_range / _D2
    lower, upper = mean - reach, mean + reach
    beyond = tuple(i for i, value in enumerate(values) if not lower <= value <= upper)
    return ChartLimits(mean, lower, upper, mean_range, _D4 * mean_range, beyond)


@dataclass(frozen=True, slots=True)
class Capability:
    """How the spread of a size stands to its limits; ``None`` where a limit is not given."""

    pieces: int
    deviation: float
    performance: float | None
    nearest: float | None


def capability(values: Sequence[float], lower: float | None, upper: float | None) -> Capability:
    """Process performance of normally distributed sizes: Pp and Ppk.

    Pp = (upper − lower)/(6·s), Ppk = min(upper − mean, mean − lower)/(3·s) with s the sample's
    standard deviation over all values (ISO 22514-2, from memory). Raises ValueError for fewer than
    :data:`ENOUGH` values, of which nothing should be claimed.

    >>> capability([9.0, 11.0] * 20, 7.0, 13.0).pieces
    40
    """
    if len(values) < ENOUGH:
        raise ValueError(f"{len(values)} pieces are too few, {ENOUGH} are needed")
    mean, deviation = fmean(values), stdev(values)
    if deviation == 0.0:
        return Capability(len(values), 0.0, None, None)
    both = (upper - lower) / (6 * deviation) if lower is not None and upper is not None else None
    sides = [upper - mean] if upper is not None else []
    sides += [mean - lower] if lower is not None else []
    nearest = min(sides) / (3 * deviation) if sides else None
    return Capability(len(values), deviation, both, nearest)


@dataclass(frozen=True, slots=True)
class SizeHistory:
    """One size over all runs: the values in order with the run each came from."""

    size: str
    unit: str
    nominal: float
    lower: float | None
    upper: float | None
    runs: tuple[int, ...]
    values: tuple[float, ...]

    @property
    def outside(self) -> int:
        """How many values break a limit of the size."""
        return sum(
            (self.lower is not None and value < self.lower)
            or (self.upper is not None and value > self.upper)
            for value in self.values
        )


def size_histories(record: ProofRecord) -> tuple[SizeHistory, ...]:
    """The sizes measured in any run, each over all runs; nominal and limits are the last run's."""
    names: dict[str, None] = {}
    for run in record.runs:
        names.update(dict.fromkeys(size.size for size in run.sizes))
    return tuple(_history(record.runs, name) for name in names)


def _history(runs: Sequence[Run], name: str) -> SizeHistory:
    found = [(number, size) for number, run in enumerate(runs, 1)
             for size in run.sizes if size.size == name]
    last = found[-1][1]
    pairs = [(number, value) for number, size in found for value in size.measured]
    return SizeHistory(
        name, last.unit, last.nominal, last.lower, last.upper,
        tuple(number for number, _ in pairs), tuple(value for _, value in pairs),
    )


@dataclass(frozen=True, slots=True)
class CutterLife:
    """What one cutter has done over all runs; ``ends`` lists how its lives ended."""

    name: str
    what: str
    spaces: int
    minutes: float
    lives: tuple[tuple[str, int, float], ...]
    """Each ended life: ``broke`` or ``worn``, spaces, minutes."""


def cutter_lives(record: ProofRecord) -> tuple[CutterLife, ...]:
    """Work done by each cutter since it was last new, and the lives that ended before.

    A life ends in the run that says ``broke`` or ``worn``; the next run begins a new cutter.
    """
    doing: dict[str, tuple[str, int, float]] = {}
    ended: dict[str, list[tuple[str, int, float]]] = {}
    for run in record.runs:
        for used in run.cutters:
            _, spaces, minutes = doing.get(used.name, ("", 0, 0.0))
            spaces, minutes = spaces + used.spaces, minutes + used.minutes
            ended.setdefault(used.name, [])
            if used.verdict in ("broke", "worn"):
                ended[used.name].append((used.verdict, spaces, minutes))
                spaces, minutes = 0, 0.0
            doing[used.name] = (used.what, spaces, minutes)
    return tuple(
        CutterLife(name, what, spaces, minutes, tuple(ended[name]))
        for name, (what, spaces, minutes) in doing.items()
    )
