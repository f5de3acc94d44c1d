"""The ways rapid moves may take: each axis at its own rate, or straight.

Lengths mm.
"""

from __future__ import annotations

import numpy as np

from camgen.arrays import Floats, Ints
from camgen.proof.evidence import Evidence
from camgen.proof.path import dog_legs, rapid_rates

__all__ = ["ways_of"]


def ways_of(evidence: Evidence, rows: Ints) -> Floats:
    """(m, 2, 4, 3) corners of rapid moves ``rows`` (m,): dog-legged, and straight.

    An axis whose start is not known is taken to stand where it ends.
    """
    start, end = evidence.motion.start[rows].copy(), evidence.motion.end[rows].copy()
    unknown = np.isnan(start)
    start[unknown] = end[unknown]
    bent = dog_legs(start, end, rapid_rates(evidence.machine))
    share = np.linspace(0.0, 1.0, 4)[None, :, None]
    straight = start[:, None, :] + share * (end - start)[:, None, :]
    return np.stack([bent, straight], axis=1)
