"""What is told of blocks that a control would not read in time at the feed that was planned.

They are merged with their neighbours, and what is still too short is fed slower.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from camgen.arrays import distinct
from camgen.messages import Message, counted
from camgen.proof.evidence import Evidence
from camgen.proof.ground.matching import MIDDLES

__all__ = ["pace_told"]


def pace_told(evidence: Evidence) -> Iterator[Message]:
    """What became of blocks that are too short for the control."""
    yield from _merged(evidence)
    yield from _slowed(evidence)


def _merged(evidence: Evidence) -> Iterator[Message]:
    """How many blocks became how many, and how far they depart from the way as planned."""
    found = evidence.matched
    if found is None or not found.merged.any():
        return
    yield Message(
        "{n} blocks too short for a control that reads {pace:g} blocks a second, and their "
        "neighbours, are merged into {few}, at most {off:.4f} mm off the way as planned "
        "(merge-within: {within:g})", n=len(distinct(found.planned[found.merged])),
        pace=evidence.machine.blocks_per_second, few=len(distinct(found.read[found.merged])),
        off=float(found.off[found.merged].max()), within=evidence.machine.merging)


def _slowed(evidence: Evidence) -> Iterator[Message]:
    """How many blocks are fed more slowly than planned, from which feed to which."""
    planned, found = evidence.planned, evidence.matched
    if planned is None or found is None:
        return
    machine = evidence.machine
    # One read piece may answer several planned ones, of one feed.
    once = np.flatnonzero(np.diff(found.read, prepend=-1))
    answer = found.read[once]
    meant, got = planned.motion.feed[found.planned[once]], evidence.motion.feed[answer]
    length = evidence.length[answer]
    short = (meant > 60.0 * machine.blocks_per_second * length) & (got < 0.999 * meant)
    count = int(np.count_nonzero(short))
    if not count:
        return
    # One that is no longer than rounding says nothing of feeds.
    long = short & (length > MIDDLES * evidence.increment)
    shown = long if long.any() else short
    slowest = int(np.argmin(np.where(shown, got, np.inf)))
    yield counted(
        "{n} block is too short for a control that reads {pace:g} blocks a second, and is fed "
        "slower, so that it lasts long enough: {slow:.0f} instead of {planned:.0f} mm/min",
        "{n} blocks are too short for a control that reads {pace:g} blocks a second, and are fed "
        "slower, so that each lasts long enough: at the least {slow:.0f} instead of {planned:.0f} "
        "mm/min", count, pace=machine.blocks_per_second, slow=float(got[slowest]),
        planned=float(meant[slowest]))
