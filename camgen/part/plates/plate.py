"""A plate or bridge as a job describes it: its outline, and holes, openings and pockets by name.

Positions count from the part's own zero, where the outline has its 0, 0. Lengths mm once read,
angles degrees, anticlockwise.
"""

from collections.abc import Mapping
from typing import ClassVar, Self

from pydantic import Field, PrivateAttr

from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.part.features import Feature, NamePath
from camgen.part.plates.plate_features import plate_features
from camgen.part.plates.plate_words import (
    InsideCorners,
    Matches,
    Shape,
    Things,
)
from camgen.part.plates.round_features import round_holes_of
from camgen.shop.model import Length, LengthOrZero
from camgen.teeth.tooth import Tooth

__all__ = ["Plate"]


class Plate(Things):
    """A plate, a bridge or a cock; all positions are as seen from its upper face."""

    word: ClassVar[str] = "plate"
    thickness_word: ClassVar[str] = "thickness"
    # It has no teeth and nothing through its middle.
    count: ClassVar[int] = 0
    module: ClassVar[float] = 0.0
    bore: ClassVar[float] = 0.0
    drives: ClassVar[bool] = False
    crossed: ClassVar[None] = None
    raised: ClassVar[tuple[tuple[float, float], ...]] = ()
    over_web: ClassVar[float] = 0.0
    raised_sizes: ClassVar[Mapping[str, float]] = {}

    thickness: Length = Field(description="thickness of the plate")
    # Thin floors ring under the cutter and give under a pin. Common practice, no source.
    least_floor: LengthOrZero = Field(
        0.15, description="thinner floors, also between two faces, are refused"
    )
    # Common practice too, no source.
    least_wall: LengthOrZero = Field(
        0.1, description="thinner walls, between any two edges at one depth, are refused; 0: none"
    )
    inside_corners: InsideCorners = Field(
        "drawn", description="of all its shapes; drawn: as they are drawn, or the cutter is "
        "refused; left: as the cutter leaves them, to be filed"
    )
    outline: Shape = Field(description="its edge")
    matches: Matches | None = Field(
        None, description="another job's plate, for the places of holes that must meet its"
    )

    # Radii of the cutters that leave corners to a file, by the words of what they cut; found once
    # the steps are known.
    _left: Mapping[NamePath, float] = PrivateAttr(default={})

    @property
    def corners_left(self) -> Mapping[NamePath, float]:
        """Radius, mm, of the cutter that leaves the inside corners of what has these words."""
        return self._left

    def with_corners_left(self, radii: Mapping[NamePath, float]) -> Self:
        """The same plate with the corners of some of its shapes left to a file."""
        plate = self.model_copy()
        plate._left = dict(radii)
        return plate

    @property
    def height(self) -> float:
        """From face to face, mm."""
        return self.thickness

    def features(self, material: str) -> tuple[Feature, ...]:
        """All that the plate has, made of ``material``. Raises Refused for what cannot be."""
        return tuple(plate_features(self, material))

    def tooth(self) -> Tooth:
        """A plate has none: raises Refused."""
        raise Refused(Fault(Message("the job describes no wheel and no pinion"),
                            Message("add wheel: or pinion:")))

    def mate_tooth(self) -> Tooth | None:
        """A plate runs with nothing."""
        return None

    def measured(self, material: str, *, flat: bool, on_head: bool) -> tuple[str, ...]:
        """Names of the sizes that the sheet asks for; none are known of a plate that cannot be."""
        try:
            return (*(hole.name for hole in round_holes_of(self, material)), "thickness")
        except Refused:
            return ()  # told where the plate itself is looked at
