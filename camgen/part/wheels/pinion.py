"""A pinion cut from the solid, as a job describes it. Lengths mm once read, angles degrees."""

from collections.abc import Mapping
from typing import ClassVar

from pydantic import Field

from camgen.part.features import Feature
from camgen.part.wheels.cut import CutModel
from camgen.part.wheels.toothed import (
    mate_of,
    of_part_circle,
    toothed_features,
    toothed_sizes,
)
from camgen.shop.model import Length, LengthOrZero, Module
from camgen.teeth.form import Teeth, ToothedPart
from camgen.teeth.forms import FormWords, pinion_tooth, teeth_of, words_of_part
from camgen.teeth.outlines.own_sizes import pinion_drives
from camgen.teeth.tooth import Tooth

__all__ = ["Pinion"]

_FORMS = words_of_part(ToothedPart.PINION)


class Pinion(CutModel):
    """A pinion cut from the solid."""

    word: ClassVar[str] = "pinion"
    count_word: ClassVar[str] = "leaves"
    thickness_word: ClassVar[str] = "length"
    crossed: ClassVar[None] = None
    raised: ClassVar[tuple[tuple[float, float], ...]] = ()
    over_web: ClassVar[float] = 0.0
    raised_sizes: ClassVar[Mapping[str, float]] = {}
    # As of wheels; nothing in a pinion is thin.
    least_wall: ClassVar[float] = 0.1

    leaves: int = Field(ge=5, le=60, description="number of leaves")
    module: Module = Field(description="pitch diameter over number of leaves, always in mm")
    form: str = Field(_FORMS.names[0], description="the leaf form")
    mate: int = Field(ge=6, le=1000, description="teeth of the wheel that drives it")
    form_words: ClassVar[FormWords] = _FORMS
    only: tuple[int, int] | None = Field(
        None,
        description="first and last space to be cut, where teeth go round part of the circle",
    )
    length: Length = Field(description="length of the leaves along the arbor")
    bore: LengthOrZero = Field(0.0, description="0 for a pinion in one piece with its arbor")

    @property
    def drives(self) -> bool:
        """Pinions do in motion work alone."""
        return pinion_drives(self.own())

    @property
    def count(self) -> int:
        """Of its leaves."""
        return self.leaves

    @property
    def thickness(self) -> float:
        """Along its arbor, mm."""
        return self.length

    @property
    def height(self) -> float:
        """From face to face, mm."""
        return self.length

    @property
    def space_form(self) -> str:
        """The form, in a cutter's words, of the spaces that it is made for."""
        return self.formed().made_for

    def tooth(self) -> Tooth:
        """The finished tooth: of its form, or as its cutter makes it.

        Raises Refused when the numbers make none.
        """
        return of_part_circle(self.as_cut(self.meant_tooth()), self.only)

    def meant_tooth(self) -> Tooth:
        """The tooth of its form, whatever cuts it. Raises Refused when the numbers make none."""
        tooth = pinion_tooth(self.form, self.leaves, self.module, self.mate, **self.own())
        return of_part_circle(tooth, self.only)

    def formed(self) -> Teeth:
        """What its form says of pinions."""
        return teeth_of(self.form, ToothedPart.PINION)

    def features(self, material: str) -> tuple[Feature, ...]:
        """All that the pinion has. Raises Refused when the numbers make no leaf."""
        return toothed_features("pinion", self.tooth(), self.length, "length", self.bore)

    def mate_tooth(self) -> Tooth | None:
        """The tooth of the wheel that drives it; None where it has none.

        Raises Refused for mates that cannot be.
        """
        return self.mate_as_cut(mate_of(
            self.form, ToothedPart.WHEEL, self.formed(), self.mate, self.module, self.leaves,
            self.own()))

    def measured(self, material: str, *, flat: bool, on_head: bool) -> tuple[str, ...]:
        """Names of the sizes that the sheet asks for, of blanks made flat and of leaves cut."""
        return toothed_sizes(self.bore, (), self.tooth, flat=flat, on_head=on_head)
