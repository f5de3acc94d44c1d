"""One cutter, as a job file or the workshop's table describes it; lengths mm, angles degrees."""

from typing import ClassVar, Literal

from pydantic import Field

from camgen.shop.cutters.ground import GroundChart, Traced
from camgen.shop.cutters.records import CutterKind, record_of
from camgen.shop.formed import FormedModel
from camgen.shop.model import FileModel, Length, LengthOrZero, Module, Speed
from camgen.shop.tables import block
from camgen.teeth.cut.bought import CutterSpace, space_beside
from camgen.teeth.cut.roughed import straight_slot
from camgen.teeth.form import Mating
from camgen.teeth.forms import FormWords, cut_by, form_cut_by, tooth_made_for, words_of_cutters
from camgen.teeth.tooth import Tooth

__all__ = ["Cutter", "CutterMaterial", "MadeFor", "usual"]

CutterMaterial = Literal["hss", "carbide", "diamond"]


class MadeFor(FormedModel):
    """The tooth space a form cutter was made to leave."""

    form: str = Field(description="the tooth form it cuts")
    module: Module = Field(description="module, always in mm")
    teeth: int = Field(ge=2, le=1000, description="number of teeth or leaves it was made for")
    mate: int | None = Field(
        None, ge=2, le=1000, description="leaves or teeth of the mate it was made for"
    )
    form_words: ClassVar[FormWords] = words_of_cutters()

    @property
    def wants_mate(self) -> str:
        """The name of the form, where its space hangs on the mate and none is said; else empty."""
        shaped = cut_by(self.form).mating is Mating.SHAPED_BY
        return form_cut_by(self.form).name if shaped and self.mate is None else ""

    def tooth(self) -> Tooth:
        """The tooth beside the space that the cutter leaves on the wheel it was made for.

        Raises Refused where the cutter's words do not make a tooth.

        >>> MadeFor(form="cycloidal-wheel", module=0.14, teeth=75, mate=10).tooth().sizes.teeth
        75
        """
        return tooth_made_for(self.form, self.teeth, self.module, self.mate, self.own())


class Cutter(FileModel):
    """One cutter.

    ``reach`` is what stands out of the collet, ``flute_length`` the part that cuts, ``shank`` the
    diameter above it, ``holder`` that of what holds it. For ``form-disc`` and ``fly-cutter``
    ``diameter`` is over the cutting points and ``flutes`` the number of teeth (1 for a fly cutter).
    A ``tap`` or ``thread-mill`` has a ``pitch``; a tap's ``diameter`` is the thread's. ``tip`` is
    the flat at the point of a pointed cutter; a ``boring-bar``'s ``diameter`` is the hole it bores
    and its ``shank`` the bar.
    """

    kind: CutterKind = Field(description="what sort of cutter it is")
    diameter: Length = Field(description="cutting diameter; of a disc, over its points")
    flutes: int = Field(2, ge=1, le=60, description="cutting edges; 1 for a fly cutter")
    flute_length: Length | None = Field(None, description="length of the part that cuts")
    reach: Length | None = Field(None, description="what stands out of the collet")
    shank: Length | None = Field(None, description="diameter above the part that cuts")
    holder: Length | None = Field(
        None, description="diameter of the collet's nut or holder above the reach; else 20 mm"
    )
    material: CutterMaterial = Field("carbide", description="what it is made of")
    point_angle: float = Field(
        118.0, gt=0, lt=180,
        description="drills and pointed cutters: included angle of the point, degrees",
    )
    tip: LengthOrZero = Field(
        0.0, description="pointed cutters: diameter of the flat at the point; thread mills: width "
        "of the flat at the tips of their teeth"
    )
    pitch: Length | None = Field(None, description="taps and thread mills: pitch of the thread")
    corner_radius: LengthOrZero = Field(0.0, description="end mills: radius at the corner")
    edge_radius: Length | None = Field(None, description="sharpness: radius of the edge")
    run_out: LengthOrZero | None = Field(
        None, description="total run-out when it turns; else the spindle's"
    )
    thickness: Length | None = Field(None, description="form-disc: width of the disc")
    arbor: Length | None = Field(
        None, description="form-disc: diameter of the collar that holds it"
    )
    plunges: bool | None = Field(
        None, description="mills: no, where no edge at its end reaches the middle"
    )
    highest_speed: Speed | None = Field(
        None, description="the most it may be turned at by its maker's sheet, rev/min"
    )
    number: int | None = Field(None, ge=1, le=99, description="place in the rack or changer")
    modulus: float | None = Field(
        None, ge=1e4, le=1.5e6, description="elastic modulus by its maker's sheet, N/mm²"
    )
    strength: float | None = Field(
        None, ge=50, le=2e4, description="bending strength by its maker's sheet, N/mm²"
    )
    made_for: MadeFor | None = Field(
        None, description="form cutters: the tooth space it was made for"
    )
    ground: GroundChart | None = Field(
        None, description="form cutters bought by module: the profile by its maker's chart"
    )
    profile: Traced | None = Field(
        None, description="form cutters: the profile as traced under the microscope"
    )

    topping: bool = Field(
        False,
        description="form cutters: also cuts the tips of the teeth, to the tip circle of the "
        "wheel it was made for",
    )

    @property
    def bought(self) -> GroundChart | Traced | None:
        """What is known of its profile itself; None where it was made for one wheel, or none is."""
        return self.ground or self.profile

    @property
    def shaped(self) -> bool:
        """Whether its words say what space it leaves."""
        return self.made_for is not None or self.bought is not None

    def cut_space(self) -> CutterSpace | None:
        """The line of the space that it leaves on any wheel; None where none is said.

        A saw leaves a slot as wide as it is thick. Raises Refused where its words make none.
        """
        record = record_of(self)
        if record.on_arbor and not record.forms:
            return straight_slot(self.thickness or usual(self.kind, "thickness") * self.diameter)
        if self.made_for is not None:
            return space_beside(self.made_for.tooth())
        return self.bought.space() if self.bought is not None else None

    @property
    def said_as(self) -> str:
        """The word that says what space it leaves, as written in a file."""
        return ("ground" if self.ground is not None and self.made_for is None else
                "profile" if self.profile is not None and self.made_for is None else "made-for")

    @property
    def corner(self) -> float:
        """Radius where end and side meet, mm: half of a ball end, never more than the cutter's.

        >>> Cutter(kind="ball-end-mill", diameter=3).corner
        1.5
        """
        half = self.diameter / 2
        return half if record_of(self).ball else min(self.corner_radius, half)

    @property
    def cone_angle(self) -> float:
        """Included angle of the point, degrees: as given, else what is usual for the kind.

        >>> Cutter(kind="chamfer-mill", diameter=3).cone_angle
        90.0
        """
        if "point_angle" in self.model_fields_set:
            return self.point_angle
        return usual(self.kind, "point-angle") or self.point_angle


def usual(kind: CutterKind, word: str) -> float:
    """What is taken for a kind of cutter where nothing is said, 0 where the table says nothing.

    ``word`` is ``flutes``, ``point-angle`` (degrees), ``reach``, ``flute-length``, ``thickness``,
    ``shank`` or ``opening`` (diameters).

    >>> usual("engraver", "flutes"), usual("end-mill", "reach")
    (1.0, 3.0)
    """
    entry = block("cutters", kind).get(word)
    return float(entry["value"]) if entry else 0.0
