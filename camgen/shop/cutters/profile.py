"""The outline of a cutter, from its lowest point to the spindle: what is solid there, and where.

Every part is a line of points (r, z): r mm from the axis, z mm above the cutter's zero, which is
the tip, and of discs and fly cutters the middle of the edge's width. The parts stand over one
another from below upward; what is swept by one turn counts, also where one corner turns alone.

What a cutter's words do not say is taken from the table ``cutters.yaml`` (common practice, no
source) or from the figures below, and told in ``taken``; each part says by which word of the cutter
it would be known.
"""

from __future__ import annotations

import math
from enum import Enum
from typing import Final

from camgen.messages import NOTHING, Message
from camgen.shop.cutters.cutter import Cutter, usual
from camgen.shop.cutters.records import Ability, CutterRecord, EdgeForm, End, Way, record_of
from camgen.values import dataclass

__all__ = ["RUBS", "CutterProfile", "PartName", "ProfilePart", "Taken", "bears_under", "core_of",
           "cuts_over", "cutting_length", "is_relieved", "least_round", "opening_of",
           "profile_of", "reach_of", "stands_out",
           "tooth_height"]

Outline = tuple[tuple[float, float], ...]

# What grips a cutter where its words do not say. Common practice of small bench spindles, no
# source; towards the large side. mm.
HOLDER: Final = 20.0
"""Diameter of a collet's nut."""
HOLDER_LONG: Final = 20.0
"""Length of the nut, up to the spindle's nose."""
NOSE: Final = 45.0
"""Diameter of the spindle's nose above the nut, or that of a holder that is larger still."""
NOSE_LONG: Final = 60.0
"""Length of the nose that is looked at."""
CORNER_STEPS: Final = 12
"""Chords of a round corner; they lie within it by at most 0.3 % of its radius."""
# A screw or nut below a disc stands out by half the collar's diameter; a collar above it too,
# where the arbor's own diameter is said. Common practice, no source.
COLLAR_LONG: Final = 0.5
# A boring bar where its shank is not said, over the hole's diameter: as the planner reckons it.
BAR: Final = 0.7
DEAD_MIDDLE: Final = 0.5
"""What of a mill does not cut at its end, where its edges do not reach the middle, over its
diameter (common practice, no source)."""
DEAD_HOLLOW: Final = 0.07
"""How far that middle lies behind the edges, over the mill's diameter: a ramp of 3° there and back
over its own width still clears it (common practice, no source)."""
DEAD_REACH: Final = 1.2
"""How far beyond half its dead middle a mill's way down must reach, as a share of that."""
THREAD_INSIDE: Final = 1.25 * math.sqrt(3.0) / 2.0
"""Pitches by which a metric thread's inner diameter is less than its outer (ISO 68-1)."""
TAP_LEAD: Final = 3.0
"""Pitches over which a tap is tapered (common practice for taps in through holes, no source)."""
RUBS: Final = 0.005
"""A shank that is not so much thinner than the edges, on the radius, rubs on the wall they cut."""


class PartName(Enum):
    """The parts of a cutter and what holds it, by the words used to people."""

    SCREW = "screw"
    EDGE = "edge"
    COLLAR = "collar"
    SHANK = "shank"
    HOLDER = "holder"
    NOSE = "spindle's nose"

    @property
    def called(self) -> Message:
        """The part in words."""
        return _CALLED[self]


_CALLED: Final = {
    PartName.SCREW: Message("screw"), PartName.EDGE: Message("edge"),
    PartName.COLLAR: Message("collar"), PartName.SHANK: Message("shank"),
    PartName.HOLDER: Message("holder"), PartName.NOSE: Message("spindle's nose"),
}


@dataclass(frozen=True)
class ProfilePart:
    """One part: its ``outline`` from below upward, (r, z) each, mm.

    ``word`` is the word of the cutter that would say what was taken for it; empty where all is
    said. ``one_sided``: only one side of it is there at a time, so that a cutter at rest is as wide
    as its bar but for that side.
    """

    name: PartName
    outline: Outline
    word: str = ""
    one_sided: bool = False

    @property
    def low(self) -> float:
        """Where it begins, mm above the cutter's zero."""
        return self.outline[0][1]

    @property
    def high(self) -> float:
        """Where it ends, mm above the cutter's zero."""
        return self.outline[-1][1]

    @property
    def radius(self) -> float:
        """Its greatest radius, mm."""
        return max(r for r, _ in self.outline)

    @property
    def cuts(self) -> bool:
        """Whether it may touch metal."""
        return self.name is PartName.EDGE


@dataclass(frozen=True)
class Taken:
    """A word that a cutter's description leaves out; what is taken for it, mm, degrees, edges."""

    word: str
    value: float

    def __str__(self) -> str:
        """As it would be written.

        >>> str(Taken("reach", 2.40000001))
        'reach 2.4'
        """
        return f"{self.word} {self.value:.4g}"


@dataclass(frozen=True)
class CutterProfile:
    """All parts of a cutter and its holding, from below upward, and what was taken for granted."""

    parts: tuple[ProfilePart, ...]
    taken: tuple[Taken, ...]

    @property
    def low(self) -> float:
        """The lowest point, mm from the cutter's zero: 0, or below it for discs."""
        return min(part.low for part in self.parts)

    @property
    def edge(self) -> ProfilePart:
        """The part that cuts."""
        return next(part for part in self.parts if part.cuts)

    @property
    def solid(self) -> tuple[ProfilePart, ...]:
        """The parts that may never touch anything."""
        return tuple(part for part in self.parts if not part.cuts)

    def radius_at(self, height: float) -> float:
        """The radius at a height above the cutter's zero, mm; 0 above and below it all."""
        found = 0.0
        for part in self.parts:
            for (r0, z0), (r1, z1) in zip(part.outline, part.outline[1:], strict=False):
                if z0 <= height <= z1:
                    share = (height - z0) / (z1 - z0) if z1 > z0 else 1.0
                    found = max(found, r0 + share * (r1 - r0), max(r0, r1) if z1 == z0 else 0.0)
        return found


def profile_of(cutter: Cutter) -> CutterProfile:
    """The outline of a cutter with all that turns with it.

    >>> profile = profile_of(Cutter(kind="end-mill", diameter=1, flute_length=2, reach=6, shank=3))
    >>> [(part.name.value, part.low, part.high, part.radius) for part in profile.parts[:3]]
    [('edge', 0.0, 2.0, 0.5), ('shank', 2.0, 6.0, 1.5), ('holder', 6.0, 26.0, 10.0)]
    >>> [point for point in profile.edge.outline]
    [(0.0, 0.0), (0.5, 0.0), (0.5, 2.0)]
    """
    record = record_of(cutter)
    if record.on_arbor:
        parts, taken = _set_out(cutter, record)
    else:
        parts, taken = _end_cutting(cutter, record)
    if "flutes" not in cutter.model_fields_set and not (
            record.single_point or record.can(Ability.DRILL, Ability.SPOT, Ability.TOUCH)):
        taken.insert(0, Taken("flutes", cutter.flutes))
    top = parts[-1].high
    holder = HOLDER if cutter.holder is None else cutter.holder
    if cutter.holder is None:
        taken.append(Taken("holder", HOLDER))
    unsaid = ("reach" if cutter.reach is None else "holder" if cutter.holder is None else "")
    nose = max(NOSE, holder)
    parts.append(_bar(PartName.HOLDER, holder, top, top + HOLDER_LONG, unsaid))
    parts.append(_bar(PartName.NOSE, nose, top + HOLDER_LONG, top + HOLDER_LONG + NOSE_LONG,
                      unsaid))
    return CutterProfile(tuple(parts), tuple(taken))


def _bar(name: PartName, diameter: float, low: float, high: float, word: str = "") -> ProfilePart:
    """A round bar, closed below by its face."""
    radius = diameter / 2
    return ProfilePart(name, ((0.0, low), (radius, low), (radius, high)), word)


def reach_of(cutter: Cutter) -> float:
    """What stands out of the collet, mm: as said, else as planner and proofs take it.

    >>> reach_of(Cutter(kind="drill", diameter=0.8)), reach_of(Cutter(kind="drill", diameter=0.8,
    ...                                                               flute_length=5))
    (2.4000000000000004, 5.0)
    """
    if cutter.reach is not None:
        return cutter.reach
    if cutter.flute_length is not None:
        return cutter.flute_length
    return usual(cutter.kind, "reach") * cutter.diameter


def cutting_length(cutter: Cutter) -> float:
    """How much of the cutter can cut, mm: its flute length, else what is usual for the kind.

    >>> cutting_length(Cutter(kind="end-mill", diameter=2)), cutting_length(
    ...     Cutter(kind="drill", diameter=2))
    (3.0, 6.0)
    """
    if cutter.flute_length is not None:
        return cutter.flute_length
    cuts = usual(cutter.kind, "flute-length")
    return min(cuts * cutter.diameter, reach_of(cutter)) if cuts else reach_of(cutter)


def stands_out(cutter: Cutter) -> tuple[Message, Message]:
    """How far it is said or taken to stand out, and what else to write where it is not said.

    >>> stands_out(Cutter(kind="drill", diameter=1.0, reach=8))
    ('stands out 8 mm', '')
    >>> stands_out(Cutter(kind="drill", diameter=1.0))
    ('says no reach, 3 mm are taken,', '; write its reach: with the cutter')
    """
    if cutter.reach is not None:
        return Message("stands out {reach:g} mm", reach=cutter.reach), NOTHING
    return (Message("says no reach, {reach:.4g} mm are taken,", reach=reach_of(cutter)),
            Message("; write its reach: with the cutter"))


def cuts_over(cutter: Cutter) -> tuple[Message, Message]:
    """Over how much of its length it is said or taken to cut, and what else to write.

    >>> cuts_over(Cutter(kind="end-mill", diameter=1.0, flute_length=2))
    ('cuts over 2 mm of its length', '')
    """
    if cutter.flute_length is not None:
        return (Message("cuts over {flute:g} mm of its length", flute=cutter.flute_length),
                NOTHING)
    return (Message("says no flute-length, {flute:.4g} mm are taken,",
                    flute=cutting_length(cutter)),
            Message("; write its flute-length: with the cutter"))


def is_relieved(cutter: Cutter) -> bool:
    """Whether its shank is said to be so much thinner than its edges that it does not rub.

    >>> [is_relieved(Cutter(kind="end-mill", diameter=1.0, shank=thick))
    ...  for thick in (None, 0.9, 0.995, 1.0, 3.0)]
    [False, True, False, False, False]
    """
    return cutter.shank is not None and (cutter.diameter - cutter.shank) / 2 >= RUBS


def _reach(cutter: Cutter, taken: list[Taken]) -> float:
    """As :func:`reach_of`, told where it is not said."""
    if cutter.reach is None:
        taken.append(Taken("reach", reach_of(cutter)))
    return reach_of(cutter)


def _end_cutting(cutter: Cutter, record: CutterRecord) -> tuple[list[ProfilePart], list[Taken]]:
    """Edge and shank of a cutter that cuts at its lower end."""
    taken: list[Taken] = []
    if record.conical and "point_angle" not in cutter.model_fields_set:
        taken.append(Taken("point-angle", cutter.cone_angle))
    if record.pointed and "tip" not in cutter.model_fields_set:
        taken.append(Taken("tip", cutter.tip))
    if record.way is Way.MILLING and record.flat and "corner_radius" not in cutter.model_fields_set:
        taken.append(Taken("corner-radius", cutter.corner_radius))
    reach = _reach(cutter, taken)
    end = _end(cutter, record)
    usual_share = usual(cutter.kind, "flute-length")
    word = ""
    if cutter.flute_length is not None:
        edge = cutter.flute_length
    else:
        # One corner at the end of a bar: what cuts is as high as the bar is thick.
        edge = (0.5 * cutter.diameter if record.single_point else
                min(usual_share * cutter.diameter, reach) if usual_share else reach)
        word = "" if record.single_point else "flute-length"
        taken.append(Taken("flute-length", edge))
    edge = max(min(edge, reach), end[-1][1])
    reach = max(reach, edge)
    parts = [ProfilePart(PartName.EDGE, (*end, (end[-1][0], edge)) if edge > end[-1][1] else end,
                         word, record.single_point)]
    if reach > edge:
        thick = cutter.shank
        if thick is None:
            thick = _neck(cutter, record)
            taken.append(Taken("shank", thick))
        parts.append(_bar(PartName.SHANK, thick, edge, reach,
                          "shank" if cutter.shank is None else word))
    return parts, taken


def _neck(cutter: Cutter, record: CutterRecord) -> float:
    """Diameter, mm, taken for a shank that is not said; a thread mill's is clear of its thread."""
    if record.bores:
        return BAR * cutter.diameter
    if record.can(Ability.MILL_THREAD):
        return cutter.diameter - THREAD_INSIDE * (cutter.pitch or 0.0)
    return cutter.diameter


def _end(cutter: Cutter, record: CutterRecord) -> Outline:
    """The lower end of the edge, from the axis out to the full radius."""
    radius = cutter.diameter / 2
    if record.conical:
        flat = min(cutter.tip, cutter.diameter) / 2 if record.pointed else 0.0
        rise = (radius - flat) / math.tan(math.radians(cutter.cone_angle / 2))
        first = ((0.0, 0.0), (flat, 0.0)) if flat > 0 else ((0.0, 0.0),)
        return (*first, (radius, rise)) if rise > 0 else first
    if record.edge is EdgeForm.LEAD:
        small = (opening_of(cutter) or cutter.diameter) / 2
        long = TAP_LEAD * (cutter.pitch or 0.0) if record.taps else radius - small
        return ((0.0, 0.0), (small, 0.0), (radius, max(long, radius - small)))
    corner = cutter.corner
    if corner <= 0:
        return ((0.0, 0.0), (radius, 0.0))
    inner = radius - corner
    turns = [math.pi / 2 * step / CORNER_STEPS for step in range(CORNER_STEPS + 1)]
    arc = tuple((inner + corner * math.sin(turn), corner * (1 - math.cos(turn))) for turn in turns)
    return arc if inner == 0 else ((0.0, 0.0), *arc)


def _set_out(cutter: Cutter, record: CutterRecord) -> tuple[list[ProfilePart], list[Taken]]:
    """Edge, collar and arbor of a disc or a fly cutter, whose zero is the middle of its width."""
    taken: list[Taken] = []
    wide = cutter.thickness
    if wide is None:
        wide = usual(cutter.kind, "thickness") * cutter.diameter
        taken.append(Taken("thickness", wide))
    half = wide / 2
    top = max(_reach(cutter, taken) - half, half)
    shank, unsaid = cutter.shank, ""
    if shank is None:
        shank = cutter.arbor or usual(cutter.kind, "shank") * cutter.diameter
        unsaid = "" if cutter.arbor else "shank"
        taken.append(Taken("shank", shank))
    if cutter.arbor is None:
        taken.append(Taken("arbor", shank))
    below = cutter.arbor or shank
    edge = _bar(PartName.EDGE, cutter.diameter, -half, half)
    parts = [
        _bar(PartName.SCREW, below, -half - COLLAR_LONG * below, -half, unsaid),
        ProfilePart(PartName.EDGE, edge.outline, "" if cutter.thickness else "thickness",
                    record.single_point),
    ]
    above = half
    if cutter.arbor and cutter.shank:
        above = min(half + COLLAR_LONG * cutter.arbor, top)
        if above > half:
            parts.append(_bar(PartName.COLLAR, cutter.arbor, half, above))
    if top > above:
        parts.append(_bar(PartName.SHANK, shank, above, top, unsaid))
    return parts, taken


def opening_of(cutter: Cutter) -> float | None:
    """How wide a hole must be open for the cutter's end to go down in it, mm; None: it needs none.

    A tap's hole is at least its thread's inner diameter, a reamer's as wide as where its lead
    begins, a counterbore's as wide as its pilot; a bar, a thread mill and a disc go in whole. A
    mill whose end does not cut at the middle needs its dead middle open.

    >>> opening_of(Cutter(kind="drill", diameter=1))
    >>> opening_of(Cutter(kind="reamer", diameter=1))
    0.85
    >>> round(opening_of(Cutter(kind="tap", diameter=1, pitch=0.25)), 4)
    0.7294
    """
    record = record_of(cutter)
    if record.plunges:
        return None
    if record.taps:
        return cutter.diameter - THREAD_INSIDE * (cutter.pitch or 0.0)
    if record.bores:
        return cutter.shank if cutter.shank is not None else BAR * cutter.diameter
    if record.end is End.SIDEWAYS:
        return DEAD_MIDDLE * cutter.diameter
    return (usual(cutter.kind, "opening") or 1.0) * cutter.diameter


def core_of(cutter: Cutter) -> float:
    """Diameter of what of a cutter's end may meet no metal while it cuts with its side, mm.

    >>> round(core_of(Cutter(kind="thread-mill", diameter=0.8, pitch=0.25)), 4)
    0.4211
    >>> core_of(Cutter(kind="form-disc", diameter=20))
    20.0
    """
    if record_of(cutter).threads:
        pitch = cutter.pitch or 0.0
        return max(cutter.diameter - 2 * tooth_height(pitch, cutter.tip), 0.0)
    return cutter.diameter


def tooth_height(pitch: float, tip: float = 0.0) -> float:
    """How high a thread mill's teeth are where they meet, mm: flanks of 60 degrees from a flat at
    the ``tip``, else from an eighth of the pitch, as for threads in holes (geometry).

    >>> round(tooth_height(1.0), 4), round(tooth_height(1.0, 0.25), 4)
    (0.7578, 0.6495)
    """
    return (pitch - (tip or pitch / 8)) * math.sqrt(3.0) / 2


def least_round(cutter: Cutter) -> float:
    """The least radius about which a way down into solid metal must reach, mm; 0 for one that may
    go straight down.

    A mill whose end does not cut at its middle leaves a post there on a way that lies in a smaller
    circle than its dead middle (geometry); here a fifth larger.

    >>> least_round(Cutter(kind="end-mill", diameter=2, plunges=False))
    0.6
    """
    if record_of(cutter).end is not End.SIDEWAYS:
        return 0.0
    return DEAD_REACH * DEAD_MIDDLE * cutter.diameter / 2


def bears_under(cutter: Cutter) -> float:
    """How high metal may stand under the dead middle of a mill that cannot plunge, mm.

    >>> bears_under(Cutter(kind="end-mill", diameter=2, plunges=False))
    0.14
    """
    return DEAD_HOLLOW * cutter.diameter
