"""A turned part as a job describes it: its sections along the axis, and what is cut round them.

Positions along it count from its free end towards what holds it. Angles are degrees, anticlockwise
as seen from the free end; which direction is 0 is set by how the head stands at its zero. Lengths
mm once read.
"""

import math
from collections.abc import Iterator, Mapping
from typing import Annotated, ClassVar

from pydantic import Field, model_validator

from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.part.features import Feature, Flats, RoundHole, RoundSlot
from camgen.part.plates.plate_words import Counterbore, PlateName
from camgen.shop.model import FileModel, Length, LengthOrZero
from camgen.teeth.tooth import Tooth

__all__ = ["FlatsRound", "HolesRound", "SlotsRound", "TurnedPart", "TurnedSection"]

Angle = Annotated[float, Field(ge=-360, le=360)]


class TurnedSection(FileModel):
    """One cylinder of a turned part."""

    diameter: Length = Field(description="diameter of this section, as turned")
    length: Length = Field(description="length of this section along the axis")


class Around(FileModel):
    """Something that stands several times round the axis: by number, or at angles of its own."""

    count: int | None = Field(
        None, ge=1, le=360, description="how many, at equal angles round the axis"
    )
    start: Angle = Field(0.0, description="with count: the angle of the first, degrees")
    angles: tuple[Angle, ...] | None = Field(
        None, min_length=1, max_length=360,
        description="instead of count: the angle of each, degrees, anticlockwise as seen from the "
        "free end",
    )

    @model_validator(mode="after")
    def said_once(self) -> "Around":
        """Refuse a thing of which neither or both are said, or which stands twice at one angle."""
        if (self.count is None) == (self.angles is None):
            raise ValueError(Message("say count: for equal angles, or angles: for a list of them"))
        if len({round(one, 6) % 360.0 for one in self.all_angles}) < len(self.all_angles):
            raise ValueError(Message("two of the angles are the same"))
        return self

    @property
    def all_angles(self) -> tuple[float, ...]:
        """The angle of each, degrees from 0 to 360."""
        if self.angles is not None:
            return tuple(round(one % 360.0, 9) for one in self.angles)
        count = self.count or 1
        return tuple(round((self.start + 360.0 * k / count) % 360.0, 9) for k in range(count))


class FlatsRound(Around):
    """Flats milled round the axis: one, two, a square, a hexagon."""

    across: Length = Field(
        description="width across two flats that lie opposite: twice from the axis to each flat"
    )
    length: Length = Field(description="length of the flats along the axis")
    starts: LengthOrZero = Field(
        0.0, alias="from", description="where they begin, from the free end"
    )


class SlotsRound(Around):
    """Slots along a turned part: keyways, slots of a screw's side, slits."""

    width: Length = Field(description="width of the slot")
    depth: Length = Field(description="depth of the slot below the surface")
    length: Length = Field(description="length of the slot along the axis, its round ends with it")
    starts: LengthOrZero = Field(
        0.0, alias="from", description="where it begins, from the free end"
    )


class HolesRound(Around):
    """Holes square to the axis, round a turned part."""

    diameter: Length = Field(description="diameter of the hole")
    along: Length = Field(description="from the free end to the middle of the hole")
    depth: Length | None = Field(
        None, description="depth below the surface, at full diameter; else through to the bore, or "
        "right through where there is none"
    )
    counterbore: Counterbore | None = Field(
        None, description="a wider hole with a flat floor at its mouth"
    )


class TurnedPart(FileModel):
    """A part turned from the bar: an arbor, a stem, a screw, a ring."""

    word: ClassVar[str] = "turned"
    thickness_word: ClassVar[str] = "sections"
    # It has no teeth and nothing that flat work makes.
    count: ClassVar[int] = 0
    module: ClassVar[float] = 0.0
    drives: ClassVar[bool] = False
    crossed: ClassVar[None] = None
    raised: ClassVar[tuple[tuple[float, float], ...]] = ()
    over_web: ClassVar[float] = 0.0
    raised_sizes: ClassVar[Mapping[str, float]] = {}
    least_wall: ClassVar[float] = 0.1

    sections: tuple[TurnedSection, ...] = Field(
        min_length=1, max_length=40,
        description="its cylinders one after another, from the free end on",
    )
    bore: LengthOrZero = Field(0.0, description="diameter of a hole right through; 0: none")
    flats: dict[PlateName, FlatsRound] = Field({}, description="flats round it, by name")
    holes: dict[PlateName, HolesRound] = Field(
        {}, description="holes square to its axis, by name"
    )
    slots: dict[PlateName, SlotsRound] = Field(
        {}, description="slots along its surface, by name"
    )

    @property
    def length(self) -> float:
        """From end to end, mm."""
        return sum(one.length for one in self.sections)

    @property
    def thickness(self) -> float:
        """Along its axis, mm."""
        return self.length

    @property
    def height(self) -> float:
        """Along its axis, mm."""
        return self.length

    @property
    def cylinders(self) -> tuple[tuple[float, float, float], ...]:
        """Begin, end and radius of each section, mm, from the free end."""
        found, at = [], 0.0
        for one in self.sections:
            found.append((round(at, 9), round(at + one.length, 9), one.diameter / 2))
            at += one.length
        return tuple(found)

    def radius_over(self, begin: float, end: float) -> tuple[float, float]:
        """Least and greatest radius between two places along it, mm; 0, 0 beyond its ends."""
        there = [radius for low, high, radius in self.cylinders
                 if high > begin + 1e-9 and low < end - 1e-9]
        return (min(there), max(there)) if there else (0.0, 0.0)

    def features(self, material: str) -> tuple[Feature, ...]:
        """All that is cut round it. Its cylinders are turned, and no feature here."""
        return (*self._flats(), *self._holes(), *self._slots())

    def _flats(self) -> Iterator[Flats]:
        for name, one in self.flats.items():
            yield Flats(name, one.across, one.starts, one.starts + one.length, one.all_angles,
                        at=(self.word, "flats", name))

    def _holes(self) -> Iterator[RoundHole]:
        for name, one in self.holes.items():
            at = (self.word, "holes", name)
            yield RoundHole(name, one.diameter, one.along, one.all_angles, one.depth, group=name,
                            at=at)
            if one.counterbore is not None:
                yield RoundHole(f"{name}-counterbore", one.counterbore.diameter, one.along,
                                one.all_angles, one.counterbore.depth, flat=True,
                                group=f"{name}-counterbore", at=(*at, "counterbore"))

    def _slots(self) -> Iterator[RoundSlot]:
        for name, one in self.slots.items():
            yield RoundSlot(name, one.width, one.depth, one.starts, one.starts + one.length,
                            one.all_angles, at=(self.word, "slots", name))

    def slot_floor(self, slot: RoundSlot) -> float:
        """How far from the axis the floor of a slot lies, mm."""
        return self.radius_over(slot.begin, slot.end)[1] - slot.depth

    def floor(self, hole: RoundHole) -> float:
        """How far from the axis a hole ends with its full width, mm; below 0 beyond the axis."""
        outside = self.radius_over(hole.place - 1e-6, hole.place + 1e-6)[1]
        if hole.depth is not None:
            return outside - hole.depth
        if self.bore:
            # Where the rim of the hole meets the bore, beside the hole's own middle.
            return math.sqrt(max((self.bore / 2) ** 2 - (hole.diameter / 2) ** 2, 0.0))
        return -outside

    def tooth(self) -> Tooth:
        """A turned part has none: raises Refused."""
        raise Refused(Fault(Message("the job describes no wheel and no pinion"),
                            Message("add wheel: or pinion:")))

    def mate_tooth(self) -> Tooth | None:
        """It runs with nothing."""
        return None

    def measured(self, material: str, *, flat: bool, on_head: bool) -> tuple[str, ...]:
        """Names of the sizes that the sheet asks for."""
        return tuple(self.sizes)

    @property
    def sizes(self) -> dict[str, float]:
        """Sizes that are measured of the finished piece, mm, by name."""
        found: dict[str, float] = {}
        for name, flats in self.flats.items():
            found[f"{name}-across" if len(flats.all_angles) % 2 == 0 else f"{name}-over"] = (
                self.across_measured(flats))
            found[f"{name}-length"] = flats.length
        for hole in self._holes():
            found[hole.name] = hole.diameter
        for slot in self._slots():
            found |= {f"{slot.name}-width": slot.width, f"{slot.name}-depth": slot.depth,
                      f"{slot.name}-length": slot.end - slot.begin}
        return found

    def across_measured(self, flats: FlatsRound) -> float:
        """What a micrometer reads over the flats, mm: from flat to flat where they lie opposite,
        else from a flat to the round across."""
        if _opposite(flats.all_angles):
            return flats.across
        return flats.across / 2 + self.radius_over(flats.starts, flats.starts + flats.length)[1]


def _opposite(angles: tuple[float, ...]) -> bool:
    """Whether each angle has another across from it."""
    return all(any(abs((one - other) % 360.0 - 180.0) < 1e-6 for other in angles)
               for one in angles)
