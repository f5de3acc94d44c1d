"""Root and tips of a wheel with an odd count, which has a root across each tip and no tip.

Flat jaws over its tips rest on one tooth and on the two across, and read less than the tip
diameter. From a root to the tip across is the root's radius and the tip's: the root follows where
the tip is known, from the blank or from what jaws read. Where the cutter makes the tips, a blank
too small and a cut too shallow do the same to both readings; only the blank's size tells them
apart. Lengths mm; readings near those meant are taken as straight, right to 0.002 mm within
0.01 mm.
"""

from __future__ import annotations

from collections.abc import Mapping

from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.teeth.cut.correcting import Cutting, Gauges, Sized
from camgen.teeth.cut.measuring import over_tips
from camgen.values import dataclass

__all__ = ["OddCount", "odd_count", "with_root_and_tip"]

# Slopes are taken over this, mm.
SMALL = 0.005


@dataclass(frozen=True)
class OddCount:
    """What is read on a wheel with an odd count as it should be: diameters ``tip`` and ``root``,
    ``jaws`` over the tips, ``across`` from a root to the tip across.

    ``topped``: the cutter makes the tips, and each stands as much lower as it is cut deeper.
    Else the blank makes them: ``per_tip`` is what the jaws read more for each mm that the tips
    stand farther out, ``per_depth`` for each mm of a deeper cut in the same ``blank``.
    """

    blank: float
    tip: float
    root: float
    jaws: float
    across: float
    topped: bool
    per_tip: float
    per_depth: float

    @property
    def less(self) -> float:
        """By how much jaws read less than the tip diameter."""
        return self.tip - self.jaws

    @property
    def shares(self) -> tuple[float, float]:
        """How much the root is larger for each mm more across, and smaller for each of jaws."""
        if self.topped:
            return 2.0, 1.0
        both = self.per_tip + self.per_depth
        return 2 * self.per_tip / both, 2 / both

    def root_of(self, across: float, jaws: float) -> float:
        """The root diameter where so much was read from a root across and over the tips."""
        more, fewer = self.shares
        return self.root + more * (across - self.across) - fewer * (jaws - self.jaws)

    def tip_of(self, jaws: float, root: float) -> float:
        """The tip diameter where jaws read so much and the root is so large."""
        if self.topped:
            return jaws + self.less
        deeper = (self.root - root) / 2
        return self.tip + 2 * (jaws - self.jaws - self.per_depth * deeper) / self.per_tip


def odd_count(cutting: Cutting, asked: Gauges) -> OddCount | None:
    """What to read on a wheel with an odd count; None where tips lie across."""
    wheel, blank = asked.wheel, cutting.blank_radius
    if wheel.teeth % 2 == 0:
        return None

    def slope(deeper: float, out: float) -> float:
        read = [over_tips(cutting.wheel(way * deeper, 0.0, blank + way * out)) for way in (1, -1)]
        return (read[0] - read[1]) / (2 * SMALL)

    lower = wheel.tip_radius - cutting.wheel(SMALL).tip_radius
    topped = lower > SMALL / 2
    # Where the cutter makes the tips the jaws' reading tells them by itself.
    per_tip, per_depth = (1.0, 0.0) if topped else (slope(0.0, SMALL), slope(SMALL, 0.0))
    return OddCount(2 * blank, 2 * wheel.tip_radius, 2 * wheel.root_radius, over_tips(wheel),
                    wheel.root_radius + wheel.tip_radius, topped, per_tip, per_depth)


def with_root_and_tip(
    odd: OddCount, measured: Mapping[Sized, float]
) -> dict[Sized, float]:
    """The same readings, with root and tip for what was read from a root across and by jaws.

    Raises Refused where nothing tells the tip that lies across the root.
    """
    readings = dict(measured)
    across, jaws = readings.pop(Sized.ROOT_TO_TIP, None), readings.pop(Sized.JAWS, None)
    blank = readings.get(Sized.BLANK)
    if across is not None and Sized.ROOT not in readings:
        tips = [one for one in (readings.get(Sized.TIP), blank) if one is not None]
        if odd.topped and jaws is not None:
            tips += [jaws + odd.less, odd.blank if blank is None else blank]
        if tips and not (odd.topped and jaws is None and Sized.TIP not in readings):
            readings[Sized.ROOT] = 2 * across - min(tips)
        elif jaws is not None:
            readings[Sized.ROOT] = odd.root_of(across, jaws)
        else:
            raise Refused(Fault(
                Message("from a root to the tip across tells no root where the tips are not known"),
                Message("give over-tips too") if odd.topped else
                Message("give blank or over-tips too")))
    if jaws is not None and Sized.TIP not in readings:
        tip = odd.tip_of(jaws, readings.get(Sized.ROOT, odd.root))
        outside = odd.blank if odd.topped and blank is None else blank
        readings[Sized.TIP] = tip if outside is None else min(tip, outside)
    return readings
