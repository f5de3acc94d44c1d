"""The 24 ways a dividing head may stand: along, infeed, across, each way round."""

from __future__ import annotations

import itertools

from camgen.shop.machine import Arrangement

__all__ = ["HEADS", "WAYS"]

WAYS = [
    (f"{s}{along}", f"{t}{infeed}", across)
    for along, infeed, across in itertools.permutations("XYZ") for s in "+-" for t in "+-"
]
HEADS = [Arrangement(along=along, infeed=infeed, across=across)  # type: ignore[arg-type]
         for along, infeed, across in WAYS]
