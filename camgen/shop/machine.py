"""The machine file: what a mill and its control can do, and how its programs are spelt.

One YAML file describes one machine. The defaults are plain ISO 6983-1. Planner, post-processor,
reader and proofs all look here, and share nothing else. Lengths are in mm, angles in degrees,
feeds in mm/min and degrees/min, accelerations in mm/s² and degrees/s², times in seconds; the
``units`` of the *program* are the post-processor's care.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from camgen.shop.model import FileModel

__all__ = [
    "ArcWords",
    "Arrangement",
    "BlockWords",
    "Chatter",
    "CutterChange",
    "CycleWords",
    "Dividing",
    "DrivenHead",
    "DwellWords",
    "HandHead",
    "LinearAxis",
    "Machine",
    "NumberWords",
    "OffsetWords",
    "ProgramWords",
    "RetractWords",
    "RotaryWords",
    "SignedAxis",
    "Spindle",
    "SpindleWords",
]

Positive = Annotated[float, Field(gt=0)]
NotNegative = Annotated[float, Field(ge=0)]
SignedAxis = Literal["+X", "-X", "+Y", "-Y", "+Z", "-Z"]
AxisName = Literal["X", "Y", "Z"]


class LinearAxis(FileModel):
    """One linear axis."""

    travel: Positive = Field(200.0, description="usable travel, mm")
    rapid: Positive = Field(2000.0, description="rate of rapid moves, mm/min")
    feed_limit: Positive = Field(1000.0, description="fastest feed the axis follows, mm/min")
    acceleration: Positive = Field(250.0, description="acceleration, mm/s²")
    increment: Positive = Field(0.001, description="least increment, mm")
    backlash: NotNegative = Field(0.0, description="lost motion at a reversal, mm")


class Arrangement(FileModel):
    """How the dividing head stands, in the machine's axes.

    ``along`` is the way the cutter travels through the blank, from its free face towards the head;
    ``infeed`` the way it goes into the metal; ``across`` the axis along which it is brought to
    centre height.
    """

    along: SignedAxis = Field("-X", description="the cutter's way through the blank, face to head")
    infeed: SignedAxis = Field("+Y", description="the cutter's way into the metal")
    across: AxisName = Field("Z", description="the axis that sets centre height")


class DrivenHead(FileModel):
    """A dividing head turned by the control."""

    kind: Literal["driven"] = "driven"
    letter: Literal["A", "B", "C"] = Field("A", description="the rotary word's letter")
    sense: Literal["iso", "reversed"] = Field(
        "iso", description="iso: positive turns as ISO 841 says; reversed: the other way"
    )
    arrangement: Arrangement = Arrangement()
    rapid: Positive = Field(3600.0, description="rate of rapid turning, degrees/min")
    feed_limit: Positive = Field(3600.0, description="fastest fed turning, degrees/min")
    acceleration: Positive = Field(720.0, description="acceleration, degrees/s²")
    increment: Positive = Field(0.001, description="least increment of the word, degrees")
    worm_ratio: Positive = Field(90.0, description="turns of the worm for one of the spindle")
    motor_steps: int = Field(3200, gt=0, description="motor steps for one turn of the worm")
    take_up: NotNegative = Field(
        1.0, description="degrees gone past and come back, so that backlash is taken from one side"
    )
    pitch_error: NotNegative = Field(
        0.0, description="largest known error of the worm wheel, arc-seconds"
    )
    clamp_seconds: NotNegative = Field(0.0, description="time to clamp or unclamp, s")


class HandHead(FileModel):
    """A dividing head turned by hand over hole plates."""

    kind: Literal["by-hand"] = "by-hand"
    worm_ratio: Positive = Field(40.0, description="turns of the crank for one of the spindle")
    plates: tuple[tuple[int, ...], ...] = Field(
        description="the circles of each plate, as numbers of holes"
    )
    arrangement: Arrangement = Arrangement()
    seconds: Positive = Field(15.0, description="time to turn to the next space by hand, s")


Dividing = Annotated[DrivenHead | HandHead, Field(discriminator="kind")]


class Spindle(FileModel):
    """The spindle's speeds and what it can give at each."""

    lowest: Positive = Field(1000.0, description="lowest speed, rev/min")
    highest: Positive = Field(24000.0, description="highest speed, rev/min")
    power: tuple[tuple[Positive, Positive], ...] = Field(
        ((1000.0, 20.0), (12000.0, 200.0), (24000.0, 200.0)),
        description="points of speed (rev/min) and power at the cutter (W), rising in speed",
    )
    run_out: NotNegative = Field(0.003, description="total run-out at the cutter, mm")
    senses: tuple[Literal["clockwise", "anticlockwise"], ...] = Field(
        ("clockwise",), description="senses it can turn in, seen from the spindle to the work"
    )
    start_seconds: NotNegative = Field(3.0, description="time to come up to speed, s")
    speed_step: Positive = Field(1.0, description="speeds are set in steps of, rev/min")


class SpindleWords(FileModel):
    """How the spindle is started."""

    by_program: bool = Field(True, description="false: started by hand, with a stop and a message")
    dwell: bool = Field(True, description="wait for start-seconds after the start")
    warm_up: tuple[tuple[Positive, Positive], ...] = Field(
        (), description="speeds (rev/min) and seconds run before the first cut"
    )


class NumberWords(FileModel):
    """How numbers are spelt."""

    decimals: int = Field(3, ge=0, le=6, description="decimal places of lengths")
    rotary_decimals: int = Field(3, ge=0, le=6, description="decimal places of angles")
    feed_decimals: int = Field(1, ge=0, le=6, description="decimal places of feeds")
    point: Literal["always", "needed", "never"] = Field(
        "always",
        description="always: 5.0 or 5. ; needed: 5 ; never: 5000, counted in the last place",
    )
    trailing_zeros: bool = Field(False, description="5.100 rather than 5.1")
    leading_zero: bool = Field(True, description="0.5 rather than .5")
    plus: bool = Field(False, description="+5.0 rather than 5.0")


class BlockWords(FileModel):
    """How a block is laid out."""

    spaces: bool = Field(True, description="a space between words")
    two_figures: bool = Field(False, description="G01 rather than G1")
    repeat_modal: bool = Field(False, description="repeat G words and feed in every block")
    repeat_axes: bool = Field(False, description="repeat unchanged axis words in every move")
    number: bool = Field(False, description="number the blocks with N")
    number_start: int = Field(10, ge=0)
    number_step: int = Field(10, ge=1)
    number_limit: int = Field(9999, ge=1, description="after this the numbers start again")
    ending: Literal["lf", "crlf"] = Field("crlf", description="end of line")
    longest: int = Field(72, ge=20, description="longest line, characters")


class Chatter(FileModel):
    """Comments and messages in the program."""

    style: Literal["parentheses", "semicolon", "none"] = "parentheses"
    longest: int = Field(60, ge=0, description="longest comment, characters")
    letters: Literal["capitals", "ascii"] = Field("capitals", description="letters allowed")


class ProgramWords(FileModel):
    """What a program begins and ends with, and how large it may be."""

    units: Literal["mm", "inch"] = "mm"
    marks: bool = Field(True, description="a % line at start and end")
    number: int | None = Field(None, ge=1, le=9999, description="program number after O")
    plane_word: bool = Field(True, description="write G17")
    start: tuple[str, ...] = Field((), description="blocks of your own after the safe start block")
    finish: tuple[str, ...] = Field((), description="blocks of your own before the end")
    end: Literal["M30", "M2"] = "M30"
    largest: int | None = Field(
        None, ge=500, description="largest program in bytes; longer ones are split in parts"
    )
    per_cutter: bool = Field(False, description="one program for each cutter")
    extension: str = Field("nc", pattern="^[A-Za-z0-9]{1,4}$", description="file name ending")


class ArcWords(FileModel):
    """How arcs are written."""

    style: Literal["incremental", "absolute", "radius", "none"] = Field(
        "incremental",
        description="centre from the start point, centre in program axes, R word, or no arcs",
    )
    centre_mode_words: bool = Field(False, description="write G91.1 or G90.1 at the start")
    quadrants: bool = Field(False, description="split arcs where they cross an axis direction")
    largest_sweep: float = Field(360.0, gt=0, le=360, description="longest sweep of one block")
    smallest_radius: NotNegative = Field(0.0, description="smaller ones become lines, mm")
    largest_radius: Positive = Field(10000.0, description="larger ones become lines, mm")
    helices: bool = Field(True, description="an arc may move along its third axis")
    planes: tuple[Literal["XY", "ZX", "YZ"], ...] = ("XY", "ZX", "YZ")
    tolerance: Positive = Field(0.002, description="chord error where arcs become lines, mm")


class CycleWords(FileModel):
    """Fixed cycles for holes."""

    use: bool = Field(False, description="false: holes are written out move by move")
    drill: str = "G81"
    dwell: str = "G82"
    peck: str = "G83"
    bore: str = Field("G85", description="feed in, feed out")
    return_level: Literal["G98", "G99"] = Field(
        "G98", description="G98: to the height before the cycle; G99: to R"
    )


class DwellWords(FileModel):
    """How a dwell is written."""

    word: Literal["P", "X", "F", "S"] = "P"
    unit: Literal["s", "ms"] = "s"


class CutterChange(FileModel):
    """How cutters are changed."""

    way: Literal["by-hand", "automatic"] = "by-hand"
    before: tuple[str, ...] = Field((), description="blocks of your own before a change")
    after: tuple[str, ...] = Field((), description="blocks of your own after a change")
    seconds: Positive = Field(120.0, description="time for one change, s")


class OffsetWords(FileModel):
    """Work and length offsets."""

    work: str | None = Field("G54", description="work offset word; null: none is written")
    length: Literal["touch-off", "table"] = Field(
        "touch-off",
        description="touch-off: Z is set anew for each cutter; table: G43 H at each change",
    )
    shift: bool = Field(False, description="place repeats by a local shift, G92, not by numbers")


class RetractWords(FileModel):
    """Getting clear at the start, at cutter changes and at the end."""

    way: Literal["plain", "machine", "reference"] = Field(
        "plain",
        description="plain: to the safe height; machine: G53 to machine-z; reference: G28",
    )
    machine_z: float = Field(0.0, description="Z of the safe height in machine coordinates, mm")


class RotaryWords(FileModel):
    """How the dividing head is told to turn."""

    way: Literal["absolute", "wrapped", "shortest", "signed", "incremental"] = Field(
        "absolute",
        description=(
            "absolute: counts on past 360; wrapped: 0 to 360, going the planned way round; "
            "shortest: 0 to 360, the control takes the shorter way; signed: the sign is the sense; "
            "incremental: by G91"
        ),
    )
    clamp: str | None = Field(None, description="word that clamps, such as M10")
    unclamp: str | None = Field(None, description="word that unclamps, such as M11")
    before_index: tuple[str, ...] = Field((), description="blocks of your own before an index")
    after_index: tuple[str, ...] = Field((), description="blocks of your own after an index")
    unwind: bool = Field(True, description="turn back to the start at the end")


class Machine(FileModel):
    """One machine, as its YAML file describes it."""

    name: str = Field(pattern="^[a-z0-9][a-z0-9-]*$", description="the file's name, by behaviour")
    describes: str = Field(description="one sentence: what sort of machine this fits")
    x: LinearAxis = LinearAxis()
    y: LinearAxis = LinearAxis()
    z: LinearAxis = LinearAxis()
    dividing: Dividing | None = None
    spindle: Spindle = Spindle()
    blocks_per_second: Positive = Field(200.0, description="blocks the control reads in a second")
    feed_mode: Literal["per-minute", "inverse-time-on-rotary"] = "per-minute"
    numbers: NumberWords = NumberWords()
    blocks: BlockWords = BlockWords()
    comments: Chatter = Chatter()
    program: ProgramWords = ProgramWords()
    spindle_words: SpindleWords = SpindleWords()
    arcs: ArcWords = ArcWords()
    cycles: CycleWords = CycleWords()
    dwell: DwellWords = DwellWords()
    change: CutterChange = CutterChange()
    offsets: OffsetWords = OffsetWords()
    retract: RetractWords = RetractWords()
    rotary: RotaryWords = RotaryWords()
    coolant: Literal["none", "M8", "M7"] = "none"
    block_skip: bool = Field(False, description="trial pauses are written with a leading /")
    optional_stop: bool = Field(True, description="the control knows M1")
    subprograms: bool = Field(False, description="repeats are written once and called, M98")

    def axis(self, name: str) -> LinearAxis:
        """The linear axis called ``X``, ``Y`` or ``Z``."""
        axes = {"X": self.x, "Y": self.y, "Z": self.z}
        return axes[name]
