"""What the workshop found: fine, chattered, broke; shown with an answer, and kept to if wished."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from camgen.shop.cutters import Cutter
from camgen.shop.materials import Material
from camgen.values import dataclass

__all__ = ["Caps", "Finding", "caps", "matching"]

# How alike two cutters must be for a finding with one to speak for the other.
SAME_DIAMETER = 0.02
SAME_REACH = 0.10
# How far below trouble a cut is kept: common practice, no source.
BELOW_TROUBLE = 0.8


@dataclass(frozen=True, slots=True)
class Finding:
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

    def __str__(self) -> str:
        at = [f"{self.speed:.0f} rev/min", f"{self.feed:.0f} mm/min"]
        if self.depth is not None:
            at.append(f"depth {self.depth:g}")
        if self.width is not None:
            at.append(f"width {self.width:g}")
        origin = ", ".join(word for word in (self.job, self.date) if word)
        return f"{self.result} at {', '.join(at)}" + (f" ({origin})" if origin else "")


@dataclass(frozen=True, slots=True)
class Caps:
    """What findings bound: the most speed, chip load and depth, None where nothing is known.

    ``fine`` tells that a cut was found fine at these values; else they lie below trouble.
    """

    speed: float | None = None
    chip_load: float | None = None
    depth: float | None = None
    fine: bool = False

    @property
    def name(self) -> str:
        """Name of the limit in an answer."""
        return "the workshop's finding" if self.fine else "the workshop's trouble"


def matching(findings: Sequence[Finding], material: Material,
             cutter: Cutter) -> tuple[Finding, ...]:
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


def caps(found: Sequence[Finding]) -> Caps:
    """What to keep to: the quickest cut found fine that lies below all trouble, else below that.

    Trouble is measured by the chip load times the depth, where the depth was noted.

    >>> from camgen.shop.cutters import parse_cutter
    >>> mill = parse_cutter("end-mill 0.4 2 flutes")
    >>> caps([Finding("brass-leaded", mill, "broke", 24000, 240, 0.2)]).chip_load
    0.004
    """
    trouble = [finding for finding in found if finding.result != "fine"]
    worst = min(trouble, key=lambda finding: finding.chip_load, default=None)
    fine = [finding for finding in found if finding.result == "fine"
            and (worst is None or finding.chip_load < worst.chip_load)]
    if fine:
        best = max(fine, key=lambda finding: finding.feed)
        return Caps(best.speed, best.chip_load, best.depth, True)
    if worst is None:
        return Caps()
    depth = None if worst.depth is None else BELOW_TROUBLE * worst.depth
    return Caps(worst.speed, BELOW_TROUBLE * worst.chip_load, depth)
