"""What of a toothed part hangs on the cutters that cut it and its mate, and on how near they come.

Lengths mm once read.
"""

from typing import Literal, Self

from pydantic import Field, PrivateAttr

from camgen.shop.formed import FormedModel
from camgen.shop.model import Length
from camgen.teeth.cut.bought import CutterSpace
from camgen.teeth.outlines.own_sizes import ADDENDUM_HEIGHT, ROOT_DIAMETER, TIP_DIAMETER
from camgen.teeth.tooth import Tooth

__all__ = ["CutModel"]


class CutModel(FormedModel):
    """A part whose teeth are those of its form, or those that its cutter makes."""

    tooth_of: Literal["of-form", "as-cut"] = Field(
        "of-form", alias="tooth",
        description="of-form: the teeth are those of the form, and the cutter is held against "
        "them; as-cut: they are what the cutter makes, with its depth and its blank")
    form_tolerance: Length | None = Field(
        None, description="what a flank may differ from the form; else 0.03 modules")
    mate_cutter: str | None = Field(
        None, min_length=1, max_length=24,
        description="name of the cutter that the mate was cut with; else it has its form's teeth")

    _own: CutterSpace | None = PrivateAttr(None)
    _mates: CutterSpace | None = PrivateAttr(None)

    def cut_by(self, own: CutterSpace | None, mates: CutterSpace | None) -> Self:
        """The same part with teeth, and a mate, as these cutters make them; None: of the form."""
        made = self.model_copy()
        made._own, made._mates = own, mates
        return made

    @property
    def is_as_cut(self) -> bool:
        """Whether the teeth are what a cutter makes of them."""
        return self._own is not None

    def as_cut(self, meant: Tooth) -> Tooth:
        """The part's tooth, where its form's is ``meant``. Raises Refused where none is left."""
        if self._own is None:
            return meant
        own = self.own()
        return self._own.tooth(
            meant, own_root=own.get(ROOT_DIAMETER.name) is not None,
            own_tip=any(own.get(word.name) is not None
                        for word in (TIP_DIAMETER, ADDENDUM_HEIGHT)))

    def mate_as_cut(self, meant: Tooth | None) -> Tooth | None:
        """The mate's tooth, where its form's is ``meant``. Raises Refused where none is left."""
        return meant if self._mates is None or meant is None else self._mates.tooth(meant)
