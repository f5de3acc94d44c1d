"""A pinion cut from the solid, as a job describes it. Lengths mm once read, angles degrees."""

from typing import Literal

from pydantic import Field

from camgen.part.features import Feature
from camgen.part.toothed import toothed_features
from camgen.shop.model import FileModel, Length, LengthOrZero, Module
from camgen.teeth.forms import pinion_tooth
from camgen.teeth.tooth import Tooth

__all__ = ["Pinion"]


class Pinion(FileModel):
    """A pinion cut from the solid."""

    leaves: int = Field(ge=5, le=60, description="number of leaves")
    module: Module = Field(description="pitch diameter over number of leaves, always in mm")
    form: Literal["cycloidal", "involute"] = Field("cycloidal", description="the leaf form")
    addendum: Literal["round", "one-third-ogive", "two-thirds-ogive"] = Field(
        "one-third-ogive", description="cycloidal only: the rounding of the leaf's top"
    )
    mate: int = Field(ge=6, le=1000, description="teeth of the wheel that drives it")
    pressure_angle: float = Field(
        20.0, gt=5, lt=40, description="involute only: pressure angle, degrees"
    )
    profile_shift: float = Field(
        0.0, ge=-1, le=1, description="involute only: profile shift, in modules"
    )
    length: Length = Field(description="length of the leaves along the arbor")
    bore: LengthOrZero = Field(0.0, description="0 for a pinion in one piece with its arbor")

    def tooth(self) -> Tooth:
        """The finished tooth. Raises Refused when the numbers make none."""
        return pinion_tooth(
            self.form,
            self.leaves,
            self.module,
            self.mate,
            self.addendum,
            pressure_angle=self.pressure_angle,
            profile_shift=self.profile_shift,
        )

    def features(self, material: str) -> tuple[Feature, ...]:
        """All that the pinion has. Raises Refused when the numbers make no leaf."""
        return toothed_features("pinion", self.tooth(), self.length, "length", self.bore)
