"""What the workshop found: fine, chattered, broke; shown with an answer, and kept to if wished."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt
from typing import Literal

from camgen.cutting.chips import peak_chip_share
from camgen.messages import Message
from camgen.shop.cutters import Cutter, Way, record_of
from camgen.shop.materials import Material
from camgen.values import dataclass

__all__ = ["Caps", "ShopFinding", "caps", "matching", "no_milder"]

# How alike two cutters must be for a finding with one to speak for the other.
SAME_DIAMETER = 0.02
SAME_REACH = 0.10
# How exactly figures are noted.
NOTED = 0.002
# How far below trouble a cut is kept: common practice, no source.
BELOW_TROUBLE = 0.8
_WENT = {"fine": Message("fine"), "chattered": Message("chattered"), "broke": Message("broke")}


@dataclass(frozen=True, slots=True)
class ShopFinding:
    """One finding of the workshop.

    ``material`` is the material's name, ``speed`` rev/min, ``feed`` mm/min, ``depth`` and ``width``
    mm (None where not noted). ``job`` and ``date`` say where it was found.
    """

    material: str
    cutter: Cutter
    result: Literal["fine", "chattered", "broke"]
    speed: float
    feed: float
    depth: float | None = None
    width: float | None = None
    job: str = ""
    date: str = ""

    @property
    def chip_load(self) -> float:
        """Chip load it was found at, mm a tooth."""
        return self.feed / (self.speed * self.cutter.flutes)

    @property
    def peak_chip(self) -> float:
        """Its thickest chip, mm, before what the edge's slant takes off; the cutter's width full
        where none was noted."""
        # What takes its chip along a part of a turn: the width of the cut thins the chip.
        thinned = record_of(self.cutter).way in (Way.MILLING, Way.THREAD_MILLING)
        if self.width is None or not thinned:
            return self.chip_load
        return self.chip_load * peak_chip_share(self.width, self.cutter.diameter)

    def told(self) -> Message:
        """How the cut went, at what, and where that was found."""
        at = [Message("{speed:.0f} rev/min", speed=self.speed),
              Message("{feed:.0f} mm/min", feed=self.feed)]
        if self.depth is not None:
            at.append(Message("depth {depth:.3g}", depth=self.depth))
        if self.width is not None:
            at.append(Message("width {width:.3g}", width=self.width))
        said = Message("{result} at {figures}", result=_WENT[self.result], figures=tuple(at))
        origin = tuple(word for word in (self.job, self.date) if word)
        return Message("{said} ({origin})", said=said, origin=origin) if origin else said


@dataclass(frozen=True, slots=True)
class Caps:
    """What findings bound: the most speed, chip and depth, None where nothing is known.

    ``peak_chip`` is the thickest chip, mm, of a mill; of others the chip load. ``width`` mm is
    where ``depth`` was found. ``fine`` tells that a cut was found fine at these values; else they
    lie below trouble.
    """

    speed: float | None = None
    peak_chip: float | None = None
    depth: float | None = None
    width: float | None = None
    fine: bool = False

    @property
    def name(self) -> Message:
        """Name of the limit in an answer."""
        return Message("the workshop's finding") if self.fine else Message("the workshop's trouble")

    def depth_at(self, width: float) -> float | None:
        """The most depth for a mill's cut of another width: by the root, as practice has it."""
        if self.depth is None or self.width is None:
            return self.depth
        return self.depth * sqrt(self.width / width)


def matching(findings: Sequence[ShopFinding], material: Material,
             cutter: Cutter) -> tuple[ShopFinding, ...]:
    """The findings with a cutter like this one in this material, newest last as given."""
    def alike(other: Cutter) -> bool:
        if (other.kind, other.flutes, other.material) != (cutter.kind, cutter.flutes,
                                                          cutter.material):
            return False
        if abs(other.diameter - cutter.diameter) > SAME_DIAMETER * cutter.diameter:
            return False
        if other.reach is None or cutter.reach is None:
            return other.reach is cutter.reach
        return abs(other.reach - cutter.reach) <= SAME_REACH * cutter.reach

    return tuple(finding for finding in findings
                 if finding.material == material.name and alike(finding.cutter))


def caps(found: Sequence[ShopFinding]) -> Caps:
    """What to keep to: the quickest cut found fine that lies below all trouble, else below that.

    Cuts are told apart by their thickest chip.

    >>> from camgen.shop.cutters import parse_cutter
    >>> mill = parse_cutter("end-mill 0.4 2 flutes")
    >>> caps([ShopFinding("brass-leaded", mill, "broke", 24000, 240, 0.2)]).peak_chip
    0.004
    """
    trouble = [finding for finding in found if finding.result != "fine"]
    worst = min(trouble, key=lambda finding: finding.peak_chip, default=None)
    fine = [finding for finding in found if finding.result == "fine"
            and (worst is None or finding.peak_chip < worst.peak_chip)]
    if fine:
        best = max(fine, key=lambda finding: finding.feed)
        depth = None if best.depth is None else best.depth * (1.0 + NOTED)
        return Caps(best.speed, best.peak_chip, depth, best.width, True)
    if worst is None:
        return Caps()
    depth = None if worst.depth is None else BELOW_TROUBLE * worst.depth
    return Caps(worst.speed, BELOW_TROUBLE * worst.peak_chip, depth, worst.width)


def no_milder(found: Sequence[ShopFinding], peak_chip: float, depth: float) -> list[Message]:
    """A warning for each trouble found that a cut comes up to, its peak chip and depth in mm."""
    return [Message("the workshop found: {finding}; this answer is no milder", finding=one.told())
            for one in found
            if one.result != "fine" and peak_chip >= one.peak_chip * (1.0 - NOTED)
            and (one.depth is None or depth >= one.depth * (1.0 - NOTED))]
