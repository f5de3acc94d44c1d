"""From what was measured on a wheel to how deep it was cut and how wide its cutter is.

The root tells the depth and nothing else does so plainly. With the depth known, whatever is read
across a tooth, over pins or across several teeth tells the width of the spaces, which the cutter
makes. Where only such a reading is given it is taken for the depth's doing where depth changes it
well; where it hardly does, nothing is concluded. Lengths mm.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from enum import Enum

import numpy as np

from camgen.faults import Refused
from camgen.teeth.cut.measuring import (
    AcrossTeeth,
    CutWheel,
    Pins,
    across_teeth,
    across_tooth,
    cut_wheel,
    gauge_pins,
    over_pins,
    over_tips,
    span_of,
)
from camgen.teeth.tooth import Tooth
from camgen.values import dataclass

__all__ = [
    "LEAST_SLOPE",
    "Cutting",
    "Gauges",
    "Reckoned",
    "Sized",
    "deeper_for",
    "foretold",
    "gauges",
    "reckoned_from",
    "with_pins",
]

# A reading that changes by less than this share of a change of depth is no measure of depth, and
# depth no remedy for it. Common practice, no source.
LEAST_SLOPE = 0.4
# Two readings tell depth and width apart where the one's share of either differs so much from the
# other's. Common practice, no source.
APART = 0.1
# Slopes are taken over this, mm.
SMALL = 0.002
ROUNDS, NEAR = 12, 1e-7


class Sized(Enum):
    """What is measured on a wheel, by its name in records."""

    BLANK = "blank"
    TIP = "tip"
    ROOT = "root"
    DEPTH = "whole-depth"
    THICKNESS = "tooth-thickness"
    PINS = "over-pins"
    SPAN = "across-teeth"
    JAWS = "over-tips"
    ROOT_TO_TIP = "root-to-tip"


@dataclass(frozen=True)
class Cutting:
    """What is cut with what: the tooth meant, that of the cutter, the blank's radius, mm.

    ``short``: spaces are cut so much less deep than the whole depth for now.
    """

    tooth: Tooth
    made: Tooth
    blank_radius: float
    short: float = 0.0

    def wheel(self, deeper: float = 0.0, wider: float = 0.0,
              blank_radius: float | None = None) -> CutWheel:
        """The wheel as cut, so much ``deeper`` than meant now and so much ``wider``."""
        return cut_wheel(self.tooth, self.made, deeper=deeper - self.short, wider=wider,
                         blank_radius=self.blank_radius if blank_radius is None else blank_radius)


@dataclass(frozen=True)
class Gauges:
    """What the gauges read where all is as it should be; diameters but for depth and thickness.

    ``depth`` is that of a space below the blank's outside. The caliper's stop, ``height`` mm before
    its jaws, rides on the tip as it is then. ``thickness_slope``: by what share of a deeper cut the
    caliper reads less.
    """

    wheel: CutWheel
    blank: float
    depth: float
    height: float
    thickness: float
    thickness_slope: float
    pins: Pins | None
    span: AcrossTeeth | None

    @property
    def readings(self) -> dict[Sized, float]:
        """Each reading that the form allows; of odd counts also those that have no tip across."""
        odd = self.wheel.teeth % 2 == 1
        all_of_it = {
            Sized.BLANK: self.blank, Sized.TIP: 2 * self.wheel.tip_radius,
            Sized.JAWS: over_tips(self.wheel) if odd else None,
            Sized.DEPTH: self.depth, Sized.THICKNESS: self.thickness,
            Sized.ROOT: 2 * self.wheel.root_radius,
            Sized.ROOT_TO_TIP: self.wheel.root_radius + self.wheel.tip_radius if odd else None,
            Sized.PINS: self.pins.over if self.pins else None,
            Sized.SPAN: self.span.reading if self.span else None,
        }
        return {which: value for which, value in all_of_it.items() if value is not None}


def gauges(cutting: Cutting) -> Gauges:
    """What to measure on a wheel as it is cut at this moment. Raises Refused where none is left.

    The place of the caliper's jaws is the same distance from the axis whatever stands of the tip.

    >>> from camgen.teeth.outlines.cycloidal import cycloidal_pinion
    >>> leaf = cycloidal_pinion(8, 0.18, 60, "one-third-ogive")
    >>> asked = gauges(Cutting(leaf, leaf, leaf.tip_radius))
    >>> f"{asked.height:.4f} {asked.thickness:.4f} {deeper_for(asked, 0.01):.4f}"
    '0.1268 0.1885 0.0126'
    """
    tooth, wheel = cutting.tooth, cutting.wheel()
    place = tooth.tip_radius - max(tooth.sizes.chordal_height, 0.0)
    # Where a short cut's space ends above that place, half way down what there is of the tooth.
    if place < wheel.root_radius:
        place = (wheel.root_radius + wheel.tip_radius) / 2
    height = wheel.tip_radius - min(place, wheel.tip_radius)
    thickness = across_tooth(wheel, height)
    less = thickness - across_tooth(cutting.wheel(SMALL), height)
    whole = cutting.short == 0.0
    return Gauges(wheel, 2 * cutting.blank_radius, cutting.blank_radius - wheel.root_radius, height,
                  thickness, less / SMALL, gauge_pins(wheel) if whole else None,
                  span_of(wheel) if whole else None)


def deeper_for(asked: Gauges, thick: float) -> float | None:
    """How much deeper to go where the caliper reads so much too ``thick``, by its slope; None
    where depth is no remedy."""
    return thick / asked.thickness_slope if asked.thickness_slope >= LEAST_SLOPE else None


@dataclass(frozen=True)
class Reckoned:
    """What readings tell: how much ``deeper`` than now meant the cut is, negative for too shallow,
    and how much ``wider`` the cutter; None where they do not tell.

    ``wheel`` is the wheel as it must have come out, ``supposed`` whether the cutter was taken to be
    right because nothing tells, ``apart`` by how much two readings contradict each other about the
    width. ``mended``: the wheel that the same cutter leaves at the right depth.
    """

    deeper: float | None
    wider: float | None
    supposed: bool = False
    apart: float = 0.0
    wheel: CutWheel | None = None
    mended: CutWheel | None = None


@dataclass(frozen=True)
class _Reckoned:
    """The readings as a function of depth and width."""

    cutting: Cutting
    asked: Gauges
    blank_radius: float
    height: float
    place: float | None

    def wheel(self, deeper: float, wider: float) -> CutWheel:
        return self.cutting.wheel(deeper, wider, self.blank_radius)

    def read(self, which: Sized, deeper: float, wider: float) -> float:
        wheel = self.wheel(deeper, wider)
        if which is Sized.THICKNESS:
            height = self.height if self.place is None else wheel.tip_radius - self.place
            return across_tooth(wheel, height)
        if which is Sized.PINS:
            assert self.asked.pins is not None
            return over_pins(wheel, self.asked.pins.diameter).over
        assert self.asked.span is not None
        return across_teeth(wheel, self.asked.span.teeth).reading


def reckoned_from(
    cutting: Cutting, asked: Gauges, measured: Mapping[Sized, float], height: float | None = None
) -> Reckoned:
    """What was ``measured`` on a wheel tells of its depth and of its cutter.

    ``height`` is that at which the caliper stood, where not as ``asked``. Raises Refused where no
    such wheel can be cut.
    """
    blank = cutting.blank_radius
    if Sized.BLANK in measured:
        blank = measured[Sized.BLANK] / 2
    elif Sized.TIP in measured and not asked.wheel.pointed and not _shortens(cutting):
        blank = measured[Sized.TIP] / 2
    stop = asked.height if height is None else height
    tip = measured.get(Sized.TIP)
    reckoned = _Reckoned(cutting, asked, blank, stop, None if tip is None else tip / 2 - stop)
    deeper = _depth(cutting, measured, blank)
    told = [which for which in (Sized.THICKNESS, Sized.PINS, Sized.SPAN) if which in measured]
    if deeper is not None:
        widths = [_solved(lambda w, which=which: reckoned.read(which, deeper, w),  # type: ignore[misc]
                          measured[which]) for which in told]
        wider = float(np.mean(widths)) if widths else None
        apart = max(widths) - min(widths) if widths else 0.0
        return _told(reckoned, deeper, wider, apart=apart)
    if len(told) > 1:
        both = _both(reckoned, measured, told)
        if both is not None:
            return _told(reckoned, *both)
    for which in told:
        slope = (reckoned.read(which, 0.0, 0.0) - reckoned.read(which, SMALL, 0.0)) / SMALL
        if slope >= LEAST_SLOPE:
            only = _solved(lambda d, which=which: reckoned.read(which, d, 0.0),  # type: ignore[misc]
                           measured[which])
            return _told(reckoned, only, None, supposed=True)
    return Reckoned(None, None)


def _shortens(cutting: Cutting) -> bool:
    """Whether a cut a little deeper takes the tips lower: they are made by the cutter then."""
    return cutting.wheel(SMALL).tip_radius < cutting.blank_radius - SMALL / 2


def _depth(cutting: Cutting, measured: Mapping[Sized, float], blank: float) -> float | None:
    """How much deeper than meant now the root says the cut is; None where nothing says it."""
    meant = cutting.tooth.root_radius + cutting.short
    if Sized.ROOT in measured:
        return meant - measured[Sized.ROOT] / 2
    if Sized.DEPTH in measured and Sized.BLANK in measured:
        return meant - (blank - measured[Sized.DEPTH])
    if Sized.DEPTH in measured:
        return measured[Sized.DEPTH] - (cutting.blank_radius - meant)
    return None


def _told(reckoned: _Reckoned, deeper: float, wider: float | None, *, supposed: bool = False,
          apart: float = 0.0) -> Reckoned:
    return Reckoned(deeper, wider, supposed, apart, reckoned.wheel(deeper, wider or 0.0),
                 reckoned.wheel(0.0, wider or 0.0))


def _solved(reading: Callable[[float], float], wanted: float) -> float:
    """Where a reading, nearly straight, is as wanted: by secants."""
    here, there = 0.0, SMALL
    value, other = reading(here) - wanted, reading(there) - wanted
    for _ in range(ROUNDS):
        if abs(other) < NEAR or other == value:
            break
        step = other * (there - here) / (other - value)
        here, value, there = there, other, there - step
        other = reading(there) - wanted
    return there


def _both(
    reckoned: _Reckoned, measured: Mapping[Sized, float], told: list[Sized]
) -> tuple[float, float] | None:
    """Depth and width from two readings and more; None where these do not tell them apart."""
    wanted = np.array([measured[which] for which in told])
    at = np.zeros(2)
    for _ in range(ROUNDS):
        here = np.array([reckoned.read(which, *at) for which in told])
        slopes = np.column_stack([
            (np.array([reckoned.read(which, *(at + step)) for which in told]) - here) / SMALL
            for step in (np.array([SMALL, 0.0]), np.array([0.0, SMALL]))])
        if np.linalg.svd(slopes, compute_uv=False)[-1] < APART:
            return None
        step = np.linalg.lstsq(slopes, wanted - here, rcond=None)[0]
        at = at + step
        if np.abs(step).max() < NEAR:
            break
    return float(at[0]), float(at[1])


def foretold(found_: Reckoned, asked: Gauges) -> dict[Sized, float]:
    """What the gauges will read on the same cutter's wheel at the right depth."""
    wheel = found_.mended
    if wheel is None:
        return {}
    try:
        readings = {Sized.ROOT: 2 * wheel.root_radius, Sized.TIP: 2 * wheel.tip_radius,
                    Sized.THICKNESS: across_tooth(wheel, asked.height)}
        if asked.pins is not None:
            readings[Sized.PINS] = over_pins(wheel, asked.pins.diameter).over
        if asked.span is not None:
            readings[Sized.SPAN] = across_teeth(wheel, asked.span.teeth).reading
    except Refused:
        return {}
    return readings


def with_pins(asked: Gauges, diameter: float) -> Gauges:
    """The same with other pins. Raises Refused where they touch no flank."""
    return replace(asked, pins=over_pins(asked.wheel, diameter))
