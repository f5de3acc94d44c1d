"""Feeds at which no block is over before the control has read the next."""

from __future__ import annotations

from collections.abc import Sequence
from math import floor, hypot, inf, log10, sqrt

from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.post.pen.spelling import Spelling
from camgen.yamlfile.length_units import MM_PER_INCH

__all__ = ["counts_between", "slowed"]


def counts_between(before: Sequence[int | None], at: Sequence[int | None]) -> float:
    """The way from one place to another, counts; endless where it is not known from where.

    >>> counts_between((0, 0, None), (3, 4, None)), counts_between((None, 0, 0), (1, 0, 0))
    (5.0, inf)
    """
    square = 0.0
    for a, b in zip(before, at, strict=True):
        if a != b:
            if a is None or b is None:
                return inf
            square += (b - a) * (b - a)
    return sqrt(square)


def slowed(spelling: Spelling, mm: float, rpm: float | None) -> float:
    """The feed, mm/min, of a block ``mm`` long that lasts as long as the control takes to read one.

    In two figures, so that blocks of nearly one length have one feed, and no more than it: rounded
    down to what can be written, of a turn where feeds are a turn's of ``rpm``. Raises Refused where
    nothing so slow can be written; a block no longer than rounding is then as slow as can be.
    """
    machine = spelling.machine
    feed = 60.0 * machine.blocks_per_second * mm
    unit = (rpm or 1.0) * (MM_PER_INCH if spelling.inch else 1.0)
    last = 10.0**-machine.numbers.feed_decimals
    value = feed / unit
    figure = max(10.0 ** (floor(log10(value)) - 1), last)
    counts = floor(figure * floor(value / figure * (1.0 + 1e-9)) / last * (1.0 + 1e-9))
    if counts < 1 and mm > 1.5 * hypot(1.0, 1.0) * max(spelling.grids) * spelling.count_mm:
        raise Refused(Fault(
            Message("a block {mm:.3f} mm long is too short for a control that reads {count:g} "
                    "blocks a second, at every feed that can be written", mm=mm,
                    count=machine.blocks_per_second),
            Message("give numbers.feed-decimals more places in the machine file, or measure "
                    "blocks-per-second again")))
    return max(counts, 1) * last * unit
