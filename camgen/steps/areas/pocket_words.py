"""The words of a pocket step, and how several such steps share one pocket.

Steps of one setup that take the same pocket do so one after the other: each clears what the ones
before have left, and the last brings walls and floor to size.
"""

from typing import ClassVar, Literal

from pydantic import Field

from camgen.job.models import StepWords
from camgen.messages import Message
from camgen.part.declaration import Declaration, LeavesAllowance, Left, MakesPockets, Named
from camgen.part.features import Recess
from camgen.shop.cutters import Ability, Cutter
from camgen.shop.model import Length
from camgen.steps.kind import FlatBench

__all__ = [
    "PocketStep",
    "finish_of",
    "floor_width",
    "is_last",
    "pockets_chosen",
    "skin_of",
    "taking",
]

# What is left on walls and the step-over of the last pass over a floor, as shares of the cutter's
# diameter, unless the job says. Common practice, no source.
FINISH_SHARE = 0.05
FLOOR_SHARE = 0.4


class PocketStep(StepWords):
    """Clear pockets; several such steps with ever smaller cutters clear what is left."""

    kind: ClassVar[str] = "pocket"
    called: ClassVar[Message] = Message("pocket")
    pockets: tuple[str, ...] | None = Field(None, description="names of pockets; all if left out")
    width: Length | None = Field(None, description="radial depth of a pass, which is "
                                "then never more; else width and way that take least time")
    finish: Length | None = Field(None, description="left on the walls for the last pass")
    floor: Length | None = Field(
        None, description="left on the floor for a last pass over it; else there is none"
    )
    step_over: Length | None = Field(
        None, description="width of the last pass over the floor; else planned"
    )
    entry: Literal["helix", "ramp", "drilled"] = Field(
        "helix", description="the way down into metal. helix: round and round; ramp: to and fro on "
        "a line; drilled: in holes that earlier steps of the setup drilled. Where an earlier "
        "cutter made room it is straight down"
    )
    entry_holes: tuple[str, ...] | None = Field(
        None, description="drilled only: names of those holes; else all that are wide and deep "
        "enough"
    )
    direction: Literal["climb", "conventional"] = Field(
        "climb", description="of the last pass along the walls; clearing in narrow passes "
        "always climbs"
    )

    def declares(self) -> Declaration:
        """Pockets to their floors, but for what is left to a later step."""
        leaves: list[Left] = []
        if self.finish is not None:
            leaves.append(LeavesAllowance("walls", self.finish))
        if self.floor is not None:
            leaves.append(LeavesAllowance("floor", self.floor))
        return Declaration((MakesPockets(Named(self.pockets)),), (Ability.MILL_FLOOR,),
                           leaves=tuple(leaves))


def pockets_chosen(bench: FlatBench, words: PocketStep) -> tuple[Recess, ...]:
    """The pockets that a step takes, and of each all its floors."""
    return tuple(
        recess
        for recess in bench.layout.part.recesses
        if words.pockets is None or recess.pocket in words.pockets
    )


def taking(bench: FlatBench, recess: Recess) -> list[tuple[int, PocketStep, Cutter]]:
    """The steps of the setup that take a pocket, in order: number, words and cutter."""
    return [
        (number, words, bench.job.cutters[words.cutter])
        for number, words in enumerate(bench.setup.steps)
        if isinstance(words, PocketStep)
        and (words.pockets is None or recess.pocket in words.pockets)
    ]


def is_last(bench: FlatBench, recess: Recess) -> bool:
    """Whether no later step of the setup takes the pocket."""
    return taking(bench, recess)[-1][0] <= bench.number


def finish_of(bench: FlatBench, words: PocketStep, recess: Recess) -> float:
    """What a step leaves on the walls, mm: unless it says so, what the last one takes off."""
    if words.finish is not None:
        return words.finish
    _, last, cutter = taking(bench, recess)[-1]
    return FINISH_SHARE * cutter.diameter if last.finish is None else last.finish


def skin_of(bench: FlatBench, words: PocketStep, recess: Recess) -> float:
    """What a step leaves on the floor, mm: unless it says so, what the last one takes off."""
    if words.floor is not None:
        return words.floor
    return taking(bench, recess)[-1][1].floor or 0.0


def floor_width(words: PocketStep, cutter: Cutter) -> float:
    """Step-over of the last pass over a floor, mm."""
    return FLOOR_SHARE * cutter.diameter if words.step_over is None else words.step_over
