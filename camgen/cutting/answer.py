"""The planner's answer: what to do, and every limit that was looked at."""

from __future__ import annotations

from typing import Literal, TypeAlias

from camgen.messages import Message
from camgen.values import dataclass

__all__ = ["CutPlan", "FeedBounds", "Governs", "Limit", "feed_has_room"]

Governs: TypeAlias = Literal["speed", "feed", "depth", "width"]


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit: ``used`` is the figure at the answer, ``value`` the bound, both in ``unit``.

    ``share`` is how much of it is used: used/value, or value/used for a bound from below
    (``least``), so that 1 is at the limit either way. ``governs`` is the quantity it bears on.
    """

    name: Message
    value: float
    unit: str
    governs: Governs
    share: float
    used: float
    least: bool = False

    @classmethod
    def at_most(cls, name: Message, value: float, unit: str, governs: Governs,
                used: float) -> Limit:
        """A bound from above."""
        return cls(name, value, unit, governs, used / value, used)

    @classmethod
    def at_least(cls, name: Message, value: float, unit: str, governs: Governs,
                 used: float) -> Limit:
        """A bound from below."""
        return cls(name, value, unit, governs, value / used, used, True)


@dataclass(frozen=True)
class CutPlan:
    """The planner's answer for one cut.

    ``speed`` rev/min, ``surface_speed`` m/min, ``chip_load`` mm a tooth, ``feed`` mm/min along the
    path, ``plunge_feed`` mm/min straight down, ``ramp_feed`` mm/min along a ramp of ``ramp_angle``
    degrees, ``depth`` of one pass and ``width`` mm, ``peck`` the depth of one bite of a drill, 0
    for a single stroke. ``passes`` of equal depth reach the depth asked for. ``governed_by`` names
    for speed, feed, depth and width the limit that set it. ``force`` N is the greatest across the
    cutter (along it for a drill), of it ``tangential`` and ``radial`` N; ``torque`` N·mm the
    greatest, ``power`` W the mean, ``deflection`` mm at the tip. ``peak_chip`` and ``mean_chip`` mm
    are the thickness of the chip of a cutter that runs true. ``cautions`` travel with the material,
    ``findings`` are what the workshop found with this cutter in this material, ``own_values`` the
    names of table values that the workshop's own table gave. ``others`` are the answers for further
    cuts of the same step: into the full width, the last pass on a wall.
    """

    speed: float
    surface_speed: float
    chip_load: float
    feed: float
    plunge_feed: float
    depth: float
    width: float
    limits: tuple[Limit, ...]
    governed_by: dict[Governs, Message]
    warnings: tuple[Message, ...]
    ramp_feed: float = 0.0
    ramp_angle: float = 0.0
    peck: float = 0.0
    passes: int = 1
    force: float = 0.0
    torque: float = 0.0
    power: float = 0.0
    deflection: float = 0.0
    tangential: float = 0.0
    radial: float = 0.0
    peak_chip: float = 0.0
    mean_chip: float = 0.0
    cautions: tuple[str, ...] = ()
    findings: tuple[str, ...] = ()
    own_values: tuple[str, ...] = ()
    others: tuple[CutPlan, ...] = ()


@dataclass(frozen=True, slots=True)
class FeedBounds:
    """At one depth and speed: the most feed by each limit, and the least, mm/min."""

    most: dict[Message, float]
    least: float


# Limits that a higher feed comes nearer to, besides those that govern it.
_GROW_WITH_FEED = ("deflection", "bending stress", "torsion", "spindle torque", "spindle power")
# What is used of a limit may rise by a fifth and a little from here.
_ROOM = 0.8


def feed_has_room(cut: CutPlan) -> bool:
    """Whether a feed a fifth higher stays within every limit that hangs on the feed.

    A tap's feed is its pitch, and never has room.
    """
    if cut.governed_by.get("feed") == "pitch of the thread":
        return False
    return all(limit.share < _ROOM for limit in cut.limits if not limit.least
               and (limit.governs == "feed" or limit.name in _GROW_WITH_FEED))
