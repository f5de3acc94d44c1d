"""One machine, of all its words."""

from typing import Final, Self

from pydantic import Field, PrivateAttr

from camgen.shop.machine.axes import LinearAxis, SecondRotary, Spindle, SpindleWords
from camgen.shop.machine.change import CoolantWords, CutterChange, OffsetWords, RetractWords
from camgen.shop.machine.head import Dividing, RotaryWords
from camgen.shop.machine.program import (
    ArcWords,
    BlockWords,
    Chatter,
    CycleWords,
    DwellWords,
    Insertions,
    NumberWords,
    ProgramWords,
    Subprograms,
)
from camgen.shop.machine.zeros.probing import Probing
from camgen.shop.model import FileModel, Positive, WrittenIn
from camgen.tolerances import MERGED_WAY

__all__ = ["MERGED_CORNER", "MERGED_PIECES", "Machine"]

MERGED_CORNER: Final = 30.0
"""Where the way as planned turns by more, degrees, there is a corner, and nothing is merged across
it."""

MERGED_PIECES: Final = 128
"""So many short pieces at most become one: with a tenth of a block in each it is long enough on
every control but the slowest."""


class Machine(FileModel):
    """One machine, as its YAML file describes it."""

    name: str = Field(pattern="^[a-z0-9][a-z0-9-]*$", description="the file's name, by behaviour")
    describes: str = Field(min_length=1, description="one sentence: what sort of machine this fits")
    x: LinearAxis = Field(LinearAxis.usual(), description="the X axis")
    y: LinearAxis = Field(LinearAxis.usual(), description="the Y axis")
    z: LinearAxis = Field(LinearAxis.usual(), description="the Z axis")
    squareness: float = Field(
        0.0, ge=-0.5, le=0.5,
        description="by how many degrees the angle from X to Y is more than 90, as measured",
    )
    dividing: Dividing | None = Field(None, description="the dividing head; null: none")
    second_rotary: SecondRotary | None = Field(
        None, description="a further rotary axis that is set and left; null: none"
    )
    spindle: Spindle = Field(Spindle.usual(), description="speeds and power")
    blocks_per_second: Positive = Field(
        200.0, ge=1, le=1e6,
        description="blocks the control reads in a second; shorter ones are merged or fed slower"
    )
    merge_within: float = Field(
        MERGED_WAY, ge=0.0, le=0.005,
        description=(
            "how far, mm, short blocks that are merged for the control's pace may depart from the "
            "way as planned, never more than arcs.tolerance; 0: they are only fed slower"
        ),
    )
    numbers: NumberWords = Field(NumberWords.usual(), description="how numbers are spelt")
    blocks: BlockWords = Field(BlockWords.usual(), description="how blocks are laid out")
    comments: Chatter = Field(Chatter.usual(), description="comments and messages")
    program: ProgramWords = Field(
        ProgramWords.usual(), description="start, end and size of programs")
    spindle_words: SpindleWords = Field(SpindleWords.usual(), description="starting the spindle")
    arcs: ArcWords = Field(ArcWords.usual(), description="arcs")
    cycles: CycleWords = Field(CycleWords.usual(), description="fixed cycles for holes")
    dwell: DwellWords = Field(DwellWords.usual(), description="dwell")
    change: CutterChange = Field(CutterChange.usual(), description="cutter changes")
    offsets: OffsetWords = Field(OffsetWords.usual(), description="work and length offsets")
    retract: RetractWords = Field(RetractWords.usual(), description="getting clear")
    rotary: RotaryWords = Field(RotaryWords.usual(), description="turning the dividing head")
    coolant: CoolantWords = Field(CoolantWords.usual(), description="coolant and air")
    probing: Probing | None = Field(
        None, description="a touching probe and the control's words for it; null: by hand"
    )
    block_skip: bool = Field(False, description="trial pauses are written with a leading /")
    optional_stop: bool = Field(True, description="the control knows M1")
    subprograms: Subprograms = Field(Subprograms.usual(), description="repeats")
    insert: Insertions = Field(Insertions.usual(), description="blocks of your own at named places")
    _source: WrittenIn = PrivateAttr(default_factory=WrittenIn)

    @property
    def source(self) -> WrittenIn:
        """The file it was read from."""
        return self._source

    def read_from(self, source: WrittenIn) -> Self:
        """The same machine, read from ``source``."""
        self._source = source
        return self

    def axis(self, name: str) -> LinearAxis:
        """The linear axis called ``X``, ``Y`` or ``Z``."""
        axes = {"X": self.x, "Y": self.y, "Z": self.z}
        return axes[name]

    @property
    def measured(self) -> bool:
        """Whether what is written is put right by what was measured, beside lost motion."""
        head = self.dividing
        return self.squareness != 0.0 or any(
            axis.scale != 1.0 or axis.errors for axis in (self.x, self.y, self.z)
        ) or bool(head is not None and head.kind == "driven" and head.errors)

    @property
    def merging(self) -> float:
        """How far, mm, merged blocks may depart from the way as planned; 0: none are merged."""
        return min(self.merge_within, self.arcs.tolerance)

    @property
    def coarsest(self) -> float:
        """The coarsest step, mm, of the axes and of the numbers in programs."""
        number = 10.0**-self.numbers.decimals
        if self.program.units == "inch":
            number *= 25.4
        return max(number, self.x.increment, self.y.increment, self.z.increment)
