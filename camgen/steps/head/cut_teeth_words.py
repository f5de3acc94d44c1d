"""The words of the step that cuts teeth, and what of them does not hang on the cutter.

Lengths mm.
"""

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from camgen.job.models import StepWords
from camgen.layout import ToothLayout
from camgen.layout.approaches import stance_of
from camgen.messages import Message, counted
from camgen.part.declaration import Correction, Declaration, MakesSpaces, Milling
from camgen.shop.cutters import Ability
from camgen.shop.model import Length
from camgen.steps.head.around_stack import Sweep, chord_reach
from camgen.steps.head.arrangement import Frame, milling_sense
from camgen.steps.head.roughing import formed_correction
from camgen.steps.kind import HeadBench
from camgen.teeth.tooth import SPACE
from camgen.tolerances import ZERO_ALONG, ZERO_INFEED
from camgen.values import dataclass
from camgen.yamlfile.length_units import IN_FILE_UNITS

__all__ = [
    "OVERHANG",
    "RUN_OUT",
    "CutTeeth",
    "RoomBefore",
    "along_start",
    "clockwise_of",
    "depth_with_correction",
    "part_circle_remark",
    "pass_depths",
    "room_before",
]

# How far the cutter's axis passes the rear face of the last blank, mm: enough for the error of its
# zero along the arbor. Common practice, no source.
RUN_OUT = 0.1
# Teeth may hang over their spaces by so much, mm: what is lost is a least increment or two.
OVERHANG = 0.002
# What a place may be off where it is written, mm: half of 0.0001 in, the coarsest increment in use.
WRITTEN = 0.00127


class CutTeeth(StepWords):
    """Cut the tooth spaces of a stack of blanks."""

    kind: ClassVar[str] = "cut-teeth"
    called: ClassVar[Message] = Message("cut teeth")
    passes: int | None = Field(None, ge=1, le=50, description="depths to cut in; else planned")
    order: Literal["each-space", "each-round"] = Field(
        "each-space",
        description="each-space: a space is finished before the next; each-round: all spaces at "
        "one depth, then all at the next",
    )
    leave: Length | None = Field(
        None,
        description="roughing before the step that forms the teeth: the spaces are cut so much "
        "less deep than it cuts them",
    )
    cuts: str = Field(
        SPACE,
        description="which of the cuts that the form of the teeth needs: the space, or of club "
        "teeth the impulse plane, by a disc with a flat rim",
    )
    last_cut: Length | None = Field(
        None, description="depth of the last pass; else all alike"
    )
    trial_spaces: int = Field(0, ge=0, le=50, description="spaces cut before a pause to measure")
    trial_short: Length | None = Field(
        None, description="trial spaces are cut so much short, and again with the others"
    )
    depth_correction: Annotated[float, IN_FILE_UNITS, Field(ge=-1, le=1)] = Field(
        0.0, description="added to the whole depth, after measuring trial spaces"
    )
    spindle: Literal["clockwise", "anticlockwise"] = Field(
        "clockwise", description="sense of the spindle, seen from it to the work"
    )
    milling: Milling | None = Field(
        None,
        description="climb or conventional: the spindle turns so that the cutter mills so, or it "
        "is said what must change",
    )

    def declares(self) -> Declaration:
        """The spaces of the teeth, formed or only roughed."""
        return Declaration(
            (MakesSpaces(self.trial_spaces, self.trial_short or 0.0, self.leave,
                         self.milling, "" if self.cuts == SPACE else self.cuts),),
            (Ability.CUT_FORM if self.leave is None and self.cuts == SPACE
             else Ability.ROUGH_SPACES,),
            corrections=(Correction("depth-correction", self.depth_correction, "depth", 1.0),),
        )


def pass_depths(whole: float, passes: int, last_cut: float | None = None) -> tuple[float, ...]:
    """Depth after each pass, mm: equal steps, or equal steps and a last one of ``last_cut``.

    >>> pass_depths(0.4, 2), pass_depths(0.5, 3, 0.1)
    ((0.2, 0.4), (0.2, 0.4, 0.5))
    """
    if last_cut is None or passes == 1:
        return tuple(whole * (number + 1) / passes for number in range(passes))
    rough = whole - last_cut
    return (*(rough * (number + 1) / (passes - 1) for number in range(passes - 1)), whole)


def part_circle_remark(layout: ToothLayout) -> Message:
    """Which spaces of part-circle teeth are cut, and what stands beside the outermost of them."""
    first, last = layout.spaces[0], layout.spaces[-1]
    return counted(
        "spaces {first} to {last} of {all} are cut, with {n} whole tooth between them; the rest of "
        "the circle stays at the tip circle, so that the outer flanks of spaces {first} and {last} "
        "are its two ends and no flanks of teeth",
        "spaces {first} to {last} of {all} are cut, with {n} whole teeth between them; the rest of "
        "the circle stays at the tip circle, so that the outer flanks of spaces {first} and {last} "
        "are its two ends and no flanks of teeth",
        len(layout.spaces) - 1, first=first, last=last, all=layout.division.count)


def clockwise_of(layout: ToothLayout, words: CutTeeth) -> bool:
    """The sense of the spindle: as said, else that by which the cutter mills as is asked."""
    if words.milling is None or "spindle" in words.model_fields_set:
        return words.spindle == "clockwise"
    return milling_sense(layout, True) in ("", words.milling)


def depth_with_correction(bench: HeadBench, words: CutTeeth) -> float:
    """The depth of the spaces with the correction asked for, mm from the tip circle; less what a
    step that roughs them leaves."""
    return (stance_of(bench.layout, words.declares()).depth + formed_correction(bench)
            - (words.leave or 0.0))


def along_start(frame: Frame, depth: float) -> float:
    """Where along the arbor the cutter may go in: its edge just short of the free face.

    So far off that it goes in clear where both zeros are off towards the work by as much as they
    may be, and no farther: all of that way is air at the cutting feed.
    """
    below = depth + frame.outside + ZERO_INFEED + WRITTEN
    return -(chord_reach(below, frame.cutter_radius) + ZERO_ALONG + WRITTEN)


@dataclass(frozen=True)
class RoomBefore:
    """``lowest`` is how far from the arbor's axis the disc's edge comes, ``near`` how far before
    the face nothing may stand that is thicker than that, ``far`` how far nothing that is thicker
    than blanks and backing."""

    lowest: float
    near: float
    far: float


def room_before(layout: ToothLayout, radius: float, depth: float) -> RoomBefore:
    """The room for a disc of ``radius``, the teeth being so deep below the tip circle."""
    lowest = layout.tooth.tip_radius - depth
    outside = max(layout.blank_radius, layout.backing_radius)
    start = -along_start(Frame(layout, radius), depth)
    return RoomBefore(lowest, start + Sweep(radius, 0.0, 0.0, lowest).half(outside),
                      start + radius)
