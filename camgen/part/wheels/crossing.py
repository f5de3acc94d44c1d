"""The crossing of a wheel as a job describes it: arms, straight or bent, or round openings.

Each kind says its openings, the radius that is tightest for a cutter, and what is measured of it.
Lengths mm once read.
"""

from collections.abc import Mapping
from typing import ClassVar

from pydantic import Field

from camgen.shapes.crossing import crossing_openings, round_openings
from camgen.shapes.path import Path
from camgen.shop.model import Coordinate, FileModel, Length

__all__ = ["Crossing", "RoundCrossing"]

# The middle of a cutter goes round a circle of this radius at least, mm: else nothing leads it in.
# Common practice, no source.
LEAST_WAY = 0.05


class Crossing(FileModel):
    """The openings between hub, rim and arms of a wheel."""

    word: ClassVar[str] = "crossing"
    arms: int = Field(ge=2, le=12, description="number of arms")
    hub: Length = Field(description="diameter of the hub left standing")
    rim: Length = Field(description="width of the rim below the tooth roots")
    arm: Length = Field(description="width of an arm at the rim")
    arm_at_hub: Length | None = Field(None, description="width at the hub, where tapered")
    corner: Length = Field(description="corner radius of the openings")
    bend: Coordinate = Field(
        0.0,
        description="radius that the arms are bent to, to the left going outwards as seen from the "
        "upper face, negative to the right; 0: straight",
    )

    @property
    def width_at_hub(self) -> float:
        """Width of an arm at the hub, mm."""
        return self.arm if self.arm_at_hub is None else self.arm_at_hub

    @property
    def tightest(self) -> float:
        """The least radius that a cutter goes round inside an opening, mm."""
        return self.corner

    def named_radius(self, radius: float) -> tuple[str, float]:
        """The word for a tightest radius, and the size it would have there, mm."""
        return "corner", radius

    @property
    def sizes(self) -> Mapping[str, float]:
        """What is measured of it, mm, by name."""
        return {"hub": self.hub, "arm": self.arm}

    def openings(self, root_diameter: float, inset: float = 0.0) -> tuple[Path, ...]:
        """The openings, shrunk by ``inset`` mm. Raises Refused where there can be none."""
        return crossing_openings(self.arms, self.hub, root_diameter - 2 * self.rim, self.arm,
                                 self.width_at_hub, self.corner, inset, self.bend)


class RoundCrossing(FileModel):
    """Round openings, evenly about the wheel's middle."""

    word: ClassVar[str] = "round-crossing"
    circles: int = Field(ge=2, le=60, description="number of round openings")
    diameter: Length = Field(description="diameter of each")
    around: Length = Field(description="diameter of the circle that their middles lie on")

    @property
    def tightest(self) -> float:
        """What a cutter's way may be off the walls and still go round the middle, mm."""
        return self.diameter / 2 - LEAST_WAY

    def named_radius(self, radius: float) -> tuple[str, float]:
        """The word for a tightest radius, and the size it would have there, mm."""
        return "diameter", 2 * (radius + LEAST_WAY)

    @property
    def sizes(self) -> Mapping[str, float]:
        """What is measured of it, mm, by name."""
        return {"opening": self.diameter}

    def openings(self, root_diameter: float, inset: float = 0.0) -> tuple[Path, ...]:
        """The openings, shrunk by ``inset`` mm; the first lies along +x."""
        return round_openings(self.circles, self.diameter, self.around, inset)
