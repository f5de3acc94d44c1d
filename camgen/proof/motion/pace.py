"""Does every fed block last as long as the control takes to read one?

A block that is over sooner makes the control wait for the next with the cutter in the metal, and
the wall shows a mark. Reckoned from the motion read back: the length of each block over its feed.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from camgen.arrays import Flags, Floats, Ints
from camgen.messages import Message
from camgen.proof.evidence import Evidence
from camgen.proof.ground.matching import MIDDLES
from camgen.proof.path import is_rapid
from camgen.proof.result import Proof, ProofId
from camgen.reader.motion import Kind
from camgen.reader.waits import events_in_order, halts

__all__ = ["prove_pace", "slowest_by_pace"]

PACE = ProofId("motion", "blocks-a-second")

# What a block may be quicker by, for slides that were measured go a little farther than they are
# told.
_SHARE = 1.01


# A feed lowered for a short block is written in two figures, and rounding makes blocks shorter.
_TWO_FIGURES = 0.9


def slowest_by_pace(evidence: Evidence, rows: Ints, meant: Floats) -> Floats:
    """(m,) ``meant`` feeds of pieces ``rows``, mm/min, or less where they are too short for it."""
    each = 60.0 * evidence.machine.blocks_per_second
    length = evidence.length[rows]
    by_pace = _TWO_FIGURES * each * np.maximum(length - evidence.increment, 0.0)
    return np.where(each * length < _SHARE * meant, np.minimum(by_pace, meant), meant)


def prove_pace(evidence: Evidence) -> Iterator[Proof]:
    """The most blocks a second that are asked of the control where fed moves follow one another."""
    motion = evidence.motion
    rows = np.flatnonzero(_goes_on(evidence) & (np.nan_to_num(motion.feed) > 0.0)
                          & (evidence.length > MIDDLES * evidence.increment))
    asked = motion.feed[rows] / 60.0 / evidence.length[rows]
    worst = int(np.argmax(asked)) if len(asked) else -1
    yield evidence.at_most(
        PACE, Message("blocks a second, as the control reads them"),
        float(asked[worst]) if worst >= 0 else 0.0,
        _SHARE * evidence.machine.blocks_per_second, "blocks/s",
        int(rows[worst]) if worst >= 0 else None)


def _goes_on(evidence: Evidence) -> Flags:
    """(n,) fed moves, each a block of its own, that another fed move follows without a halt."""
    motion = evidence.motion
    fed = ~is_rapid(motion) & (motion.kind != Kind.INDEX)
    goes_on = np.zeros(len(motion), dtype=np.bool_)
    goes_on[:-1] = (fed[:-1] & fed[1:] & (motion.line[1:] != motion.line[:-1])
                    & (evidence.program_of[1:] == evidence.program_of[:-1]))
    before = [halt for halt in halts(events_in_order(evidence.programs)) if 0 < halt < len(motion)]
    goes_on[np.array(before, dtype=np.int64) - 1] = False
    return goes_on
