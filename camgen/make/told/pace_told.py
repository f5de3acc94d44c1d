"""What is told of blocks that a control would not read in time at the feed that was planned."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from camgen.messages import Message, counted
from camgen.proof.evidence import Evidence
from camgen.proof.ground.matching import MIDDLES

__all__ = ["slowed_told"]


def slowed_told(evidence: Evidence) -> Iterator[Message]:
    """How many blocks are fed more slowly than planned, from which feed to which."""
    planned, found = evidence.planned, evidence.matched
    if planned is None or found is None:
        return
    machine = evidence.machine
    meant, got = planned.motion.feed[found.planned], evidence.motion.feed[found.read]
    length = evidence.length[found.read]
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
