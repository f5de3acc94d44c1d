"""What a form cutter is ground to, by its maker's chart or as traced under the microscope.

Figures of a chart are in modules, as makers state them; lengths of a trace are mm once read.
"""

from collections.abc import Mapping
from functools import cache
from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from camgen.faults import Fault, Refused, all_of
from camgen.messages import Message
from camgen.shop.model import FileModel, Length, Module
from camgen.shop.tables import block, blocks
from camgen.teeth.cut.bought import CutterSpace, Heights, ground_pinion, ground_wheel
from camgen.teeth.cut.traced import Opens, traced_line

__all__ = ["GroundChart", "Traced"]

Proportions = Literal["wheel", "wheel-deep", "wheel-short", "wheel-round-bottom", "pinion"]
Top = Literal["ogive", "two-thirds-ogive", "one-third-ogive", "round"]
InModules = Annotated[float, Field(gt=0, le=100)]
# Of one tooth: charts have at most 1.93, 1.57 and a depth of 3.38; with its point lost a figure is
# ten times that. Common practice, no source.
OfATooth = Annotated[float, Field(gt=0, le=6)]

TABLE = "cutter-proportions"
# The words of a chart that make a wheel cutter, and those that make a pinion cutter.
WHEEL: tuple[str, ...] = ("addendum", "radius", "thickness", "depth")
PINION: tuple[str, ...] = ("tip", "root", "thickness", "top")


class GroundChart(FileModel):
    """The profile of a form cutter as its maker's chart states it, one for all counts of teeth."""

    module: Module = Field(description="module, always in mm")
    proportions: Proportions | None = Field(
        None, description="figures usual in makers' charts; those written beside it come first")
    teeth: int | None = Field(
        None, ge=6, le=1000, description="wheel cutters: number of teeth the chart is drawn for; "
        "else none, the flanks below the pitch circle are parallel")
    leaves: int | None = Field(
        None, ge=5, le=60, description="pinion cutters: number of leaves it is ground for")
    addendum: OfATooth | None = Field(
        None, description="wheel cutters: height above the pitch circle, in modules")
    radius: OfATooth | None = Field(
        None, description="radius of the arc from the pitch circle to the tip, in modules")
    thickness: OfATooth | None = Field(
        None, description="width of a tooth or leaf along the pitch circle, in modules")
    depth: OfATooth | None = Field(
        None, description="wheel cutters: from the blank to the root, in modules")
    tip: InModules | None = Field(
        None, description="pinion cutters: diameter over the leaves, in modules")
    root: InModules | None = Field(
        None, description="pinion cutters: diameter at the root, in modules")
    top: Top | None = Field(None, description="pinion cutters: kind of top of the leaves")
    bottom: Literal["flat", "round"] | None = Field(
        None, description="wheel cutters: bottom of the space; else flat")
    # Common practice, no source: as roots of the standard forms are rounded.
    corner: float = Field(
        0.25, ge=0, le=1, description="radius in the corners of a flat bottom, in modules")

    @property
    def count(self) -> int | None:
        """The number of teeth or leaves that it is drawn for; None where it is for all."""
        return self.leaves if self.is_pinion else self.teeth

    @property
    def is_pinion(self) -> bool:
        """Whether it is a pinion cutter by its words."""
        return self.proportions == "pinion" or (self.proportions is None and any(
            getattr(self, word) is not None for word in ("leaves", "tip", "root", "top")))

    def amiss(self) -> Fault | None:
        """What keeps the words from making a profile; None where nothing does."""
        if self.is_pinion and self.leaves is None:
            return Fault(Message("a pinion cutter is ground for so many leaves, and none are said"),
                         Message("add leaves:"))
        other = ("addendum", "depth", "teeth", "bottom") if self.is_pinion else (
            "leaves", "tip", "root", "top")
        strange = [word for word in other if getattr(self, word) is not None]
        if strange:
            return Fault(
                Message("{words} is not said of a pinion cutter", words=all_of(strange))
                if self.is_pinion else
                Message("{words} is not said of a wheel cutter", words=all_of(strange)),
                Message("leave it out: of pinion cutters leaves, tip, root, thickness, top are "
                        "said, of wheel cutters addendum, radius, thickness, depth"))
        if self.proportions == "pinion" and not self._charted():
            missing = [word for word in PINION if getattr(self, word) is None]
            if missing:
                return Fault(
                    Message("makers' charts have no pinion cutter for {leaves} leaves",
                            leaves=self.leaves),
                    Message("they have {known}; or write its own {words}", known=_charted_leaves(),
                            words=tuple(missing)))
        figures = self._figures()
        missing = [word for word in (PINION if self.is_pinion else WHEEL) if word not in figures]
        if missing:
            return Fault(
                Message("the profile lacks {words}", words=all_of(missing)),
                Message("write what its maker's chart states, in modules; or proportions: {usual} "
                        "for what is usual", usual="pinion" if self.is_pinion else "wheel"))
        return None

    def space(self) -> CutterSpace:
        """The line it is ground to. Raises Refused where its words make none.

        >>> round(GroundChart(module=1, proportions="wheel").space().heights.depth, 3)
        2.95
        """
        amiss = self.amiss()
        if amiss is not None:
            raise Refused(amiss)
        return _space(self)

    def written_out(self) -> "GroundChart":
        """The same with the figures of its chart as if they had been written.

        >>> GroundChart(module=1, proportions="wheel").written_out().depth
        2.95
        """
        return self.model_copy(update={**self._figures(), "proportions": None})

    def _charted(self) -> Mapping[str, Any]:
        """What the shipped charts say of it; nothing where they say nothing."""
        name = f"pinion-{self.leaves}" if self.proportions == "pinion" else self.proportions
        return block(TABLE, name) if name is not None and name in blocks(TABLE) else {}

    def _figures(self) -> dict[str, Any]:
        found = {word: entry["value"] if isinstance(entry, Mapping) else entry
                 for word, entry in self._charted().items()}
        own = {word: getattr(self, word) for word in {*WHEEL, *PINION, "bottom"}
               if getattr(self, word) is not None}
        if "top" in own and "radius" not in own and own["top"] != found.get("top"):
            found.pop("radius", None)
        return found | own


class Traced(FileModel):
    """The profile of a form cutter as traced under the microscope: half of the space or all."""

    file: str | None = Field(
        None, min_length=1, max_length=200,
        description="a DXF or SVG drawing, or points as text: across and deep on each line, from "
        "this file's folder")
    layer: str | None = Field(None, description="drawings: the layer to read; else all of it")
    points: tuple[tuple[float, float], ...] = Field(
        (), max_length=20_000, description="instead of a file: each point, across and deep")
    units: Literal["mm", "um", "inch", "cm", "mil"] | None = Field(
        None, description="of the points; of a drawing, where it does not say its own; else mm")
    scale: float = Field(
        1.0, ge=0.001, le=10_000, description="how many times larger than the cutter it is drawn")
    opens: Opens | None = Field(
        None, description="where the space opens in the drawing; else found out by itself")
    middle: float | None = Field(
        None, ge=-1e6, le=1e6,
        description="half a space: where its middle lies across, in the file's own figures; else 0")
    depth: Length | None = Field(
        None, description="depth its maker states, from blank to root; else that of the job's form")
    addendum: Length | None = Field(
        None, description="height above the pitch circle; else that of the job's form")

    @model_validator(mode="before")
    @classmethod
    def _file_alone(cls, value: Any) -> Any:
        """A file's name alone stands for the words with that file."""
        return {"file": value} if isinstance(value, str) else value

    def space(self) -> CutterSpace:
        """The line traced. Raises Refused where the points make none."""
        size = {"mm": 1.0, "um": 0.001, "inch": 25.4, "cm": 10.0, "mil": 0.0254}
        by = size[self.units or "mm"] / self.scale
        return traced_line([(x * by, y * by) for x, y in self.points], self.opens,
                           None if self.middle is None else self.middle * by,
                           Heights(self.depth, self.addendum))


@cache
def _space(ground: GroundChart) -> CutterSpace:
    figures = ground._figures()
    if ground.is_pinion:
        assert ground.leaves is not None
        top = figures["top"]
        return ground_pinion(
            ground.module, ground.leaves, figures["tip"], figures["root"], figures["thickness"],
            figures.get("radius") or _top_radius(top, ground.leaves), round_top=top == "round",
            corner=ground.corner)
    return ground_wheel(
        ground.module, figures["addendum"], figures["radius"], figures["thickness"],
        figures["depth"], teeth=ground.teeth, corner=ground.corner,
        round_bottom=figures.get("bottom") == "round")


def _top_radius(top: str, leaves: int) -> float:
    """Radius of a leaf's top where none is said, in modules, as in the standard's table."""
    from camgen.teeth.proportions import proportion

    size = "few" if leaves <= proportion("cycloidal-pinion", "few-leaves") else "many"
    named = "two-thirds-ogive" if top == "ogive" else top
    return proportion("cycloidal-pinion", size, named, "radius")


def _charted_leaves() -> tuple[str, ...]:
    return tuple(name.removeprefix("pinion-") for name in blocks(TABLE)
                 if name.startswith("pinion-"))
