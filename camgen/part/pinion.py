"""A pinion cut from the solid, as a job describes it. Lengths mm once read, angles degrees."""

from typing import ClassVar, Literal

from pydantic import Field

from camgen.part.features import Feature
from camgen.part.toothed import toothed_features, toothed_sizes
from camgen.shop.model import FileModel, Length, LengthOrZero, Module
from camgen.teeth.forms import pinion_tooth, wheel_tooth
from camgen.teeth.tooth import Tooth

__all__ = ["Pinion"]


class Pinion(FileModel):
    """A pinion cut from the solid."""

    word: ClassVar[str] = "pinion"
    count_word: ClassVar[str] = "leaves"
    thickness_word: ClassVar[str] = "length"
    drives: ClassVar[bool] = False
    crossing: ClassVar[None] = None
    # As of wheels; nothing in a pinion is thin.
    least_wall: ClassVar[float] = 0.1

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

    @property
    def count(self) -> int:
        """Of its leaves."""
        return self.leaves

    @property
    def thickness(self) -> float:
        """Along its arbor, mm."""
        return self.length

    @property
    def space_form(self) -> str:
        """The form, in a cutter's words, of the spaces that it is made for."""
        return "cycloidal-pinion" if self.form == "cycloidal" else self.form

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

    def mate_tooth(self) -> Tooth | None:
        """The tooth of the wheel that drives it. Raises Refused for mates that cannot be."""
        return wheel_tooth(self.form, self.mate, self.module, self.leaves,
                           pressure_angle=self.pressure_angle)

    def measured(self, material: str, *, flat: bool, on_head: bool) -> tuple[str, ...]:
        """Names of the sizes that the sheet asks for, of blanks made flat and of leaves cut."""
        return toothed_sizes(self.bore, (), flat=flat, on_head=on_head)
