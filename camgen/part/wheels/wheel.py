"""A wheel as a job describes it: its teeth, its bore, and the crossing between hub, rim and arms.

Lengths mm once read, angles degrees.
"""

from typing import ClassVar

from pydantic import Field

from camgen.part import features as made
from camgen.part.features import Feature
from camgen.part.plates.plate_words import Face
from camgen.part.wheels.crossing import Crossing, RoundCrossing
from camgen.part.wheels.cut import CutModel
from camgen.part.wheels.hub import HubWords
from camgen.part.wheels.toothed import (
    mate_of,
    of_part_circle,
    toothed_features,
    toothed_sizes,
)
from camgen.shapes.path import Path
from camgen.shop.model import Length, LengthOrZero, Module
from camgen.teeth.form import Teeth, ToothedPart
from camgen.teeth.forms import FormWords, teeth_of, wheel_tooth, words_of_part
from camgen.teeth.outlines.own_sizes import pinion_drives
from camgen.teeth.tooth import Tooth

__all__ = ["Wheel"]

_FORMS = words_of_part(ToothedPart.WHEEL)


class Wheel(HubWords, CutModel):
    """A toothed wheel, or with ``form: ratchet`` a ratchet wheel."""

    word: ClassVar[str] = "wheel"
    count_word: ClassVar[str] = "teeth"
    thickness_word: ClassVar[str] = "thickness"

    teeth: int = Field(ge=6, le=1000, description="number of teeth")
    module: Module = Field(description="pitch diameter over number of teeth, always in mm")
    form: str = Field(_FORMS.names[0], description="the tooth form")
    mate: int | None = Field(None, ge=4, le=1000, description="leaves or teeth of its mate")
    form_words: ClassVar[FormWords] = _FORMS
    only: tuple[int, int] | None = Field(
        None,
        description="first and last space to be cut, where teeth go round part of the circle",
    )
    thickness: Length = Field(description="thickness of the wheel, beside a thicker hub")
    bore: Length = Field(description="diameter of the hole in the middle")
    crossing: Crossing | None = Field(None, description="openings between hub, rim and arms")
    round_crossing: RoundCrossing | None = Field(
        None, description="round openings between bore and rim, in place of a crossing with arms"
    )
    # Common practice, no source.
    least_wall: LengthOrZero = Field(
        0.1, description="a rim, arm or hub thinner than this is refused; 0: none is"
    )

    @property
    def drives(self) -> bool:
        """Wheels do, but in motion work: their mates have fewer teeth and turn faster."""
        return not pinion_drives(self.own())

    @property
    def crossed(self) -> Crossing | RoundCrossing | None:
        """Its openings, where it has any: of one kind or the other."""
        return self.crossing or self.round_crossing

    @property
    def height(self) -> float:
        """From face to face where it is thickest, mm."""
        return self.whole_height(self.thickness)

    @property
    def raised(self) -> tuple[tuple[float, float], ...]:
        """Diameter and top above the web's other face of what is thicker than the web, the wider
        first: on the upper face, and below it on the under face.
        """
        return (*self.raised_on("upper"), *self.raised_on("under"))

    def raised_on(self, face: Face) -> tuple[tuple[float, float], ...]:
        """The same on one face alone."""
        return self.side(face).steps_up(self.thickness)

    @property
    def over_web(self) -> float:
        """Volume of what stands above the web, mm³; less what the bore's mouth takes."""
        return sum(has.raised_volume(self.thickness, self.bore) for _, _, has in self.sides())

    @property
    def count(self) -> int:
        """Of its teeth."""
        return self.teeth

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
        tooth = wheel_tooth(self.form, self.teeth, self.module, self.mate, **self.own())
        return of_part_circle(tooth, self.only)

    def formed(self) -> Teeth:
        """What its form says of wheels."""
        return teeth_of(self.form, ToothedPart.WHEEL)

    def mate_tooth(self) -> Tooth | None:
        """The tooth of the pinion that it drives; None where it has none.

        A cycloidal wheel's pinion is taken to have one-third ogive leaves. Raises Refused for mates
        that cannot be.
        """
        return self.mate_as_cut(mate_of(
            self.form, ToothedPart.PINION, self.formed(), self.mate, self.module, self.teeth,
            self.own()))

    def crossing_paths(self, tooth: Tooth) -> tuple[Path, ...]:
        """The openings of the crossing, none where there is none. Raises Refused as they do."""
        if self.crossed is None:
            return ()
        return self.crossed.openings(tooth.sizes.root_diameter)

    def features(self, material: str) -> tuple[Feature, ...]:
        """All that the wheel has. Raises Refused when the numbers make no tooth or no crossing."""
        tooth = self.tooth()
        paths = self.crossing_paths(tooth)
        crossing = ((made.Whole(made.CrossedOut(paths), ("wheel", self.crossed.word)),)
                    if self.crossed is not None else ())
        return (*toothed_features("wheel", tooth, self.thickness, "thickness", self.bore),
                *self.raised_features("wheel", self.thickness, tooth.tip_radius), *crossing)

    def measured(self, material: str, *, flat: bool, on_head: bool) -> tuple[str, ...]:
        """Names of the sizes that the sheet asks for, of blanks made flat and of teeth cut."""
        crossed = tuple(self.crossed.sizes) if self.crossed is not None else ()
        raised = (*self.raised_sizes, *(("over-all",) if self.raised else ()))
        return toothed_sizes(self.bore, (*crossed, *raised), self.tooth, flat=flat, on_head=on_head)
