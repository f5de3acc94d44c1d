"""How much a hole is left smaller for the reamer that brings it to size: the one rule for it."""

from __future__ import annotations

from camgen.shop.tables import rule
from camgen.values import dataclass

__all__ = ["ForReamer", "for_reamer"]


@dataclass(frozen=True, slots=True)
class ForReamer:
    """What is left on the diameter, mm: the ``usual``; less than ``least`` is rubbed and not cut,
    and more than ``most`` is torn and fills the flutes."""

    least: float
    usual: float
    most: float


def for_reamer(diameter: float) -> ForReamer:
    """What is left on the diameter for a reamer of this ``diameter`` mm: a share of it, and no less
    than any reamer cuts (rules ream-share and ream-least, with their ranges).

    >>> for_reamer(2.0)
    ForReamer(least=0.03, usual=0.06, most=0.12)
    >>> for_reamer(0.5).usual
    0.02
    """
    share, floor = rule("ream-share"), rule("ream-least")
    return ForReamer(max(share.low * diameter, floor.low),
                     max(share.value * diameter, floor.value),
                     max(share.high * diameter, floor.high))
