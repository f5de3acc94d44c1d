"""The spindle's side: edges, shank and holder as stretches of a body turning about one axis.

Heights count upwards from the cutter's tip; for a disc, whose middle plane cuts, from that plane.
Lengths mm.
"""

from __future__ import annotations

from typing import Literal, TypeAlias

from camgen.shop.cutters import Cutter
from camgen.shop.machine import Machine
from camgen.values import dataclass

__all__ = ["HOLDER", "Found", "Turning", "above_edges", "beside_disc", "finds", "holder_diameter",
           "runs_on", "takes_a_wall"]

# A collet nut of a bench spindle is about so wide: common practice, no source. A cutter's `holder`
# says it better.
HOLDER = 20.0
# The least bar of a boring bar of unknown shank, and the least pilot of a counterbore, as a share
# of what it cuts. Common practice, no source.
BAR_SHARE, PILOT_SHARE = 0.5, 1 / 3
# What a reamer may find left on the diameter: a share of it, at least so many mm, at most a
# quarter. Twice what is usually left for it (common practice, no source).
REAMER_SHARE, REAMER_LEAST, REAMER_MOST = 0.08, 0.1, 0.25
# The minor diameter of a screw thread's hole is D - 1.0825 P (ISO 724, from memory); miniature
# threads have 0.96 P in place of it (ISO 1501, from memory). What is asked is the lesser hole.
THREAD_MINOR = 1.082532
PartName: TypeAlias = Literal["shank", "collet", "collar"]


@dataclass(frozen=True, slots=True)
class Turning:
    """A stretch of what turns: ``radius`` about the spindle's axis from ``low`` up to ``high``."""

    name: PartName
    radius: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Found:
    """What a cutter must find open on its way down: ``diameter`` round its axis, mm.

    ``part`` is what of it must not meet solid metal.
    """

    diameter: float
    part: str


def holder_diameter(cutter: Cutter) -> float:
    """Diameter of what holds a cutter above its reach, mm.

    >>> holder_diameter(Cutter(kind="drill", diameter=1.0))
    20.0
    """
    return HOLDER if cutter.holder is None else cutter.holder


def above_edges(cutter: Cutter) -> tuple[Turning, ...]:
    """Shank and collet of a cutter that works with its end, as far as they are known."""
    parts: list[Turning] = []
    top = float("inf") if cutter.reach is None else cutter.reach
    if cutter.flute_length is not None:
        shank = cutter.diameter if cutter.shank is None else cutter.shank
        parts.append(Turning("shank", shank / 2, cutter.flute_length, top))
    if cutter.reach is not None:
        parts.append(Turning("collet", holder_diameter(cutter) / 2, cutter.reach, float("inf")))
    return tuple(parts)


def beside_disc(cutter: Cutter) -> tuple[Turning, ...]:
    """Shank and collet of a disc or a fly cutter, heights from its middle plane.

    The reach is measured from the collet to the cutter's end, which is taken to be its lower face:
    what hangs below that is as wide as the collar, and so nearer than nothing looked at here.
    """
    half = (cutter.thickness or 0.0) / 2
    parts: list[Turning] = []
    top = float("inf") if cutter.reach is None else max(0.0, cutter.reach - half)
    if cutter.shank is not None:
        parts.append(Turning("shank", cutter.shank / 2, min(half, top), top))
    if cutter.reach is not None:
        parts.append(Turning("collet", holder_diameter(cutter) / 2, top, float("inf")))
    return tuple(parts)


def finds(cutter: Cutter) -> Found | None:
    """What a cutter must find open, None for one that may go down into solid metal.

    >>> finds(Cutter(kind="tap", diameter=1.0, pitch=0.25)).diameter
    0.729
    """
    wide = cutter.diameter
    match cutter.kind:
        case "tap":
            return Found(round(wide - THREAD_MINOR * (cutter.pitch or 0.0), 3), "core")
        case "reamer":
            left = max(REAMER_SHARE * wide, min(REAMER_LEAST, REAMER_MOST * wide))
            return Found(round(wide - left, 4), "end")
        case "boring-bar":
            return Found(BAR_SHARE * wide if cutter.shank is None else cutter.shank, "bar")
        case "counterbore":
            return Found(round(PILOT_SHARE * wide, 4), "pilot")
        case "thread-mill" | "form-disc" | "fly-cutter":
            return Found(wide, "end")
        case "countersink":
            return Found(max(cutter.tip, 0.02), "point")
        case _:
            return None


def runs_on(cutter: Cutter, machine: Machine, speed: float) -> float:
    """How far a tap goes on by itself while its spindle is turned the other way round, mm.

    Slowing down evenly for half of that time it makes n · t/2 · 1/2 turns (geometry).
    """
    seconds = machine.spindle.reversal_seconds
    if cutter.kind != "tap" or cutter.pitch is None or seconds is None:
        return 0.0
    return abs(speed) / 60.0 * seconds / 4.0 * cutter.pitch


def takes_a_wall(cutter: Cutter) -> bool:
    """Whether a cutter takes no more of a hole's wall at once than it was planned for."""
    return cutter.kind == "boring-bar"
