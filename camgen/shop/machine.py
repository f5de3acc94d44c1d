"""The machine file: what a mill and its control can do, and how its programs are spelt.

One YAML file describes one machine. The defaults are plain ISO 6983-1. Planner, post-processor,
reader and proofs all look here, and share nothing else. Lengths are in mm, angles in degrees,
feeds in mm/min and degrees/min, accelerations in mm/s² and degrees/s², times in seconds; the
``units`` of the *program* are the post-processor's care.

Two kinds of text in a machine file are filled in before they are written, by plain replacement of
names in braces and nothing else: the ``insert`` blocks (names in :data:`INSERT_NAMES`) and the
messages at a change of cutter (:data:`CHANGE_NAMES`) and at a head turned by hand
(:data:`MESSAGE_NAMES`).
"""

import re
from collections.abc import Iterator
from typing import Annotated, Final, Literal, Self, TypeAlias

from pydantic import Field, field_validator, model_validator

from camgen.shop.model import FileModel

__all__ = [
    "CHANGE_NAMES",
    "INSERT_NAMES",
    "MESSAGE_NAMES",
    "ArcWords",
    "Arrangement",
    "BlockWords",
    "Chatter",
    "CoolantWords",
    "CutterChange",
    "CycleWords",
    "Dividing",
    "DrivenHead",
    "DwellWords",
    "HandHead",
    "Insertions",
    "LinearAxis",
    "Machine",
    "NumberWords",
    "OffsetWords",
    "ProgramWords",
    "RetractWords",
    "RotaryWords",
    "SecondRotary",
    "SignedAxis",
    "Spindle",
    "SpindleWords",
    "Subprograms",
    "contradictions",
]

Positive: TypeAlias = Annotated[float, Field(gt=0)]
NotNegative: TypeAlias = Annotated[float, Field(ge=0)]
SignedAxis: TypeAlias = Literal["+X", "-X", "+Y", "-Y", "+Z", "-Z"]
AxisName: TypeAlias = Literal["X", "Y", "Z"]
RotaryLetter: TypeAlias = Literal["A", "B", "C", "U", "V", "W"]
Blocks: TypeAlias = tuple[str, ...]
GWord: TypeAlias = Annotated[str, Field(pattern=r"^G\d{1,3}(\.\d)?$")]
MWord: TypeAlias = Annotated[str, Field(pattern=r"^M\d{1,3}$")]

INSERT_NAMES: Final = {
    "program": "the program's file name without its ending",
    "part": "number of the part, 1 for a program in one part",
    "step": "number of the step in the setup, from 1",
    "cutter": "number of the cutter",
    "speed": "spindle speed, rev/min",
    "space": "number of the tooth space, from 1; 0 outside tooth cutting",
    "angle": "position of the dividing head, degrees",
    "safe": "the height or infeed position that is clear of everything, in program units",
}
CHANGE_NAMES: Final = {
    "cutter": "number of the cutter",
    "text": "what the cutter is",
}
MESSAGE_NAMES: Final = {
    "space": "number of the tooth space, from 1",
    "angle": "position of the head, degrees from the first space",
    "setting": "turns and holes to turn on by, with the circle of holes",
}


class LinearAxis(FileModel):
    """One linear axis: how far, how fast, how finely."""

    travel: Positive = Field(200.0, description="usable travel, mm")
    rapid: Positive = Field(2000.0, description="rate of rapid moves, mm/min")
    feed_limit: Positive = Field(1000.0, description="fastest feed the axis follows, mm/min")
    acceleration: Positive = Field(250.0, description="acceleration, mm/s²")
    increment: Positive = Field(0.001, description="least increment, mm")
    backlash: NotNegative = Field(0.0, description="lost motion at a reversal, mm")
    letter: Literal["X", "Y", "Z", "U", "V", "W"] | None = Field(
        None, description="the word's letter in programs; null: the axis's own"
    )
    sense: Literal["iso", "reversed"] = Field(
        "iso", description="iso: words count as ISO 841 says; reversed: the other way"
    )


class Arrangement(FileModel):
    """How the dividing head stands, in the machine's axes.

    ``along`` is the way the cutter travels through the blank, from its free face towards the head;
    ``infeed`` the way it goes into the metal; ``across`` the axis along which it is brought to
    centre height.
    """

    along: SignedAxis = Field("-X", description="the cutter's way through the blank, face to head")
    infeed: SignedAxis = Field("+Y", description="the cutter's way into the metal")
    across: AxisName = Field("Z", description="the axis that sets centre height")

    @model_validator(mode="after")
    def three_axes(self) -> Self:
        """Refuse an arrangement that names an axis twice."""
        if len({self.along[1], self.infeed[1], self.across}) != 3:
            raise ValueError("along, infeed and across must be three different axes")
        return self


class DrivenHead(FileModel):
    """A dividing head turned by the control."""

    kind: Literal["driven"] = Field("driven", description="driven: the control turns it")
    letter: RotaryLetter = Field("A", description="the rotary word's letter")
    sense: Literal["iso", "reversed"] = Field(
        "iso", description="iso: positive turns as ISO 841 says; reversed: the other way"
    )
    arrangement: Arrangement = Field(Arrangement.usual(), description="how the head stands")
    rapid: Positive = Field(3600.0, description="rate of rapid turning, degrees/min")
    feed_limit: Positive = Field(3600.0, description="fastest fed turning, degrees/min")
    acceleration: Positive = Field(720.0, description="acceleration, degrees/s²")
    increment: Positive = Field(0.001, description="least increment of the word, degrees")
    worm_ratio: Positive = Field(90.0, description="turns of the worm for one of the spindle")
    motor_steps: int = Field(3200, gt=0, description="motor steps for one turn of the worm")
    take_up: NotNegative = Field(
        1.0,
        lt=90,
        description="degrees gone past and come back, so that backlash is taken from one side",
    )
    pitch_error: NotNegative = Field(
        0.0, description="largest known error of the worm wheel, arc-seconds"
    )
    clamp_seconds: NotNegative = Field(0.0, description="time to clamp or unclamp, s")


class HandHead(FileModel):
    """A dividing head turned by hand over hole plates."""

    kind: Literal["by-hand"] = Field("by-hand", description="by-hand: turned with a crank")
    worm_ratio: Positive = Field(40.0, description="turns of the crank for one of the spindle")
    plates: tuple[tuple[int, ...], ...] = Field(
        min_length=1, description="the circles of each plate, as numbers of holes"
    )
    arrangement: Arrangement = Field(Arrangement.usual(), description="how the head stands")
    seconds: Positive = Field(15.0, description="time to turn to the next space by hand, s")
    stop_spindle: bool = Field(
        True, description="stop the spindle while hands are at the head, and start it again"
    )
    message: str = Field(
        "SPACE {space} AT {angle} DEG {setting}",
        description=(
            "the message before the stop at each space; {space}, {angle} and {setting} are filled "
            "in, and read back from there"
        ),
    )

    @field_validator("plates")
    @classmethod
    def holes_on_circles(cls, plates: tuple[tuple[int, ...], ...]) -> tuple[tuple[int, ...], ...]:
        """Refuse circles with no holes to speak of."""
        for circle in (circle for plate in plates for circle in plate):
            if not 2 <= circle <= 1000:
                raise ValueError(f"a circle of {circle} holes; from 2 to 1000 can be had")
        return plates

    @field_validator("message")
    @classmethod
    def message_can_be_read(cls, text: str) -> str:
        """Refuse a message that could not be read back."""
        return _readable(text, MESSAGE_NAMES)


Dividing: TypeAlias = Annotated[DrivenHead | HandHead, Field(discriminator="kind")]


class SecondRotary(FileModel):
    """A further rotary axis that jobs do not turn: it is set once and left."""

    letter: RotaryLetter = Field("B", description="the rotary word's letter")
    sense: Literal["iso", "reversed"] = Field(
        "iso", description="iso: positive turns as ISO 841 says; reversed: the other way"
    )
    stands_at: float = Field(
        0.0, ge=-360, le=360, description="where it is set at the start of a program, degrees"
    )


class Spindle(FileModel):
    """The spindle's speeds and what it can give at each."""

    lowest: Positive = Field(1000.0, description="lowest speed, rev/min")
    highest: Positive = Field(24000.0, description="highest speed, rev/min")
    power: tuple[tuple[Positive, Positive], ...] = Field(
        ((1000.0, 20.0), (12000.0, 200.0), (24000.0, 200.0)),
        min_length=1,
        description="points of speed (rev/min) and power at the cutter (W), rising in speed",
    )
    run_out: NotNegative = Field(0.003, description="total run-out at the cutter, mm")
    senses: tuple[Literal["clockwise", "anticlockwise"], ...] = Field(
        ("clockwise",),
        min_length=1,
        description="senses it can turn in, seen from the spindle to the work",
    )
    lies: AxisName | None = Field(
        None, description="the axis it always lies along; null: it may be turned, or is not said"
    )
    start_seconds: NotNegative = Field(3.0, description="time to come up to speed, s")
    speed_step: Positive = Field(1.0, description="speeds are set in steps of, rev/min")
    reversal_seconds: Positive | None = Field(
        None,
        description=(
            "time to turn from one sense to the other at the speed of tapping, s; null: it must "
            "not be reversed with the cutter in the work, and there is no tapping"
        ),
    )

    @field_validator("power")
    @classmethod
    def rising(
        cls, points: tuple[tuple[float, float], ...]
    ) -> tuple[tuple[float, float], ...]:
        """Refuse points of power that are not in rising order of speed."""
        speeds = [speed for speed, _ in points]
        if sorted(set(speeds)) != speeds:
            raise ValueError("the points of power must rise in speed")
        return points

    @model_validator(mode="after")
    def lowest_first(self) -> Self:
        """Refuse a lowest speed above the highest."""
        if self.lowest > self.highest:
            raise ValueError("the lowest speed is above the highest")
        return self


class SpindleWords(FileModel):
    """How the spindle is started and stopped."""

    by_program: bool = Field(True, description="false: started by hand, with a stop and a message")
    clockwise: MWord = Field("M3", description="word that starts it clockwise")
    anticlockwise: MWord = Field("M4", description="word that starts it anticlockwise")
    stop: MWord = Field("M5", description="word that stops it")
    oriented_stop: MWord | None = Field(
        None, description="word that stops it always turned the same way, such as M19; null: none"
    )
    tip_at: Literal["+X", "-X", "+Y", "-Y"] = Field(
        "+X", description="where the tip of a boring bar, as it is put in, points when so stopped"
    )
    speed_alone: bool = Field(False, description="the S word in a block of its own, first")
    dwell: bool = Field(True, description="wait for the spindle's start-seconds after the start")
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
        description="always: 5. ; needed: 5 ; never: 5000, counted in the last place",
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
    number_start: int = Field(10, ge=0, description="number of the first block")
    number_step: int = Field(10, ge=1, description="from one numbered block to the next")
    number_limit: int = Field(9999, ge=1, description="the highest number the control reads")
    number_after: Literal["start-again", "stop"] = Field(
        "start-again", description="past the limit: start again, or number no more blocks"
    )
    ending: Literal["lf", "crlf"] = Field("crlf", description="end of line")
    longest: int = Field(72, ge=20, le=1000, description="longest line, characters")


class Chatter(FileModel):
    """Comments and messages in the program."""

    style: Literal["parentheses", "semicolon", "none"] = Field(
        "parentheses", description="(TEXT), ; TEXT to the end of the line, or no comments at all"
    )
    longest: int = Field(60, ge=10, le=250, description="longest comment, characters")
    letters: Literal["capitals", "ascii"] = Field(
        "capitals", description="capitals only, or all plain letters"
    )
    message: str = Field(
        "",
        max_length=12,
        pattern=r"^[ -'*-:<-~]*$",
        description="what a message to the operator begins with, such as MSG, within a comment",
    )


class ProgramWords(FileModel):
    """What a program begins and ends with, and how large it may be."""

    units: Literal["mm", "inch"] = Field("mm", description="units of the program's lengths")
    units_word: bool = Field(True, description="write G21 or G20")
    marks: bool = Field(True, description="a % line at start and end")
    number: int | None = Field(
        None, ge=1, le=9999, description="program number after O; parts count on from it"
    )
    plane_word: bool = Field(True, description="write G17, and G18 or G19 for arcs in those planes")
    safe_words: tuple[GWord, ...] = Field(
        ("G40", "G49", "G80", "G94"),
        description="G words of the safe start block, beside plane, units and G90",
    )
    unknown_words: tuple[Literal["G40", "G49", "G80", "G94"], ...] = Field(
        (),
        description=(
            "of G40 G49 G80 G94 those that the control does not know, so that it never stands in "
            "what they end; one that is neither here nor in safe-words is trusted, and told so"
        ),
    )
    end: MWord = Field("M30", description="word that ends the program")
    largest: int | None = Field(
        None, ge=500, description="largest program in bytes; longer ones are split in parts"
    )
    extension: str = Field("nc", pattern="^[A-Za-z0-9]{1,4}$", description="file name ending")


class ArcWords(FileModel):
    """How arcs are written."""

    style: Literal["incremental", "absolute", "radius", "none"] = Field(
        "incremental",
        description="centre from the start point, centre in program axes, R word, or no arcs",
    )
    centre_mode_words: bool = Field(False, description="write G91.1 or G90.1 at the start")
    quadrants: bool = Field(False, description="split arcs where they cross an axis direction")
    largest_sweep: float = Field(
        360.0, ge=10, le=360, description="longest sweep of one block, degrees"
    )
    smallest_radius: NotNegative = Field(0.0, description="smaller ones become lines, mm")
    largest_radius: Positive = Field(10000.0, description="larger ones become lines, mm")
    helices: bool = Field(True, description="an arc may move along its third axis")
    planes: tuple[Literal["XY", "ZX", "YZ"], ...] = Field(
        ("XY", "ZX", "YZ"), min_length=1, description="planes the control makes arcs in"
    )
    tolerance: Positive = Field(0.002, description="chord error where arcs become lines, mm")


class CycleWords(FileModel):
    """Fixed cycles for holes."""

    use: bool = Field(False, description="false: holes are written out move by move")
    drill: GWord = Field("G81", description="feed in, rapid out")
    dwell: GWord = Field("G82", description="feed in, dwell, rapid out")
    peck: GWord = Field("G83", description="feed in by bites of Q, out to R between, rapid out")
    bore: GWord = Field("G85", description="feed in, feed out")
    bore_dwell: GWord = Field("G89", description="feed in, dwell, feed out")
    fine_bore: GWord | None = Field(
        None,
        description=(
            "feed in, spindle stopped as oriented-stop does, off the wall by I and J, rapid out, "
            "back, such as G76; null: written out"
        ),
    )
    tap: GWord | None = Field(
        None,
        description="feed in, spindle the other way, feed out, such as G84; null: written out",
    )
    cancel: GWord = Field("G80", description="ends a cycle")
    return_level: Literal["G98", "G99", "none"] = Field(
        "G98", description="G98: to the height before the cycle; G99: to R; none: R, no word"
    )


class DwellWords(FileModel):
    """How a dwell is written."""

    word: Literal["P", "X", "F", "S", "U"] = Field("P", description="letter of the time")
    unit: Literal["s", "ms"] = Field("s", description="seconds or milliseconds")


class CoolantWords(FileModel):
    """Coolant and air."""

    flood: MWord | None = Field(None, description="word for coolant, such as M8; null: none fitted")
    air: MWord | None = Field(None, description="word for air, such as M7; null: none fitted")
    off: MWord = Field("M9", description="word that ends both")


class CutterChange(FileModel):
    """How cutters are changed."""

    way: Literal["by-hand", "automatic", "one-program-each"] = Field(
        "by-hand",
        description="a stop with a message; T and M6; or one program for each cutter",
    )
    word: MWord | None = Field(
        "M6",
        description="word of the change, after T; null: no such word, the message says it all",
    )
    message: str = Field(
        "FIT CUTTER {cutter} {text}",
        description="the message at a change; {cutter} is its number, read back from there",
    )
    seconds: Positive = Field(120.0, description="time for one change, s")

    @field_validator("message")
    @classmethod
    def message_can_be_read(cls, text: str) -> str:
        """Refuse a message that could not be read back."""
        return _readable(text, CHANGE_NAMES)


class OffsetWords(FileModel):
    """Work and length offsets, and local shifts."""

    work: GWord | None = Field("G54", description="work offset word; null: none is written")
    further: tuple[GWord, ...] = Field(
        ("G55", "G56", "G57", "G58", "G59"),
        max_length=60,
        description="words of further work offsets, for fixtures of several stations; []: none",
    )
    length: Literal["touch-off", "table"] = Field(
        "touch-off",
        description="touch-off: Z is set anew for each cutter; table: G43 H at each change",
    )
    stands_at: tuple[float, float, float] | None = Field(
        None,
        description=(
            "no work offsets: the first cutter is brought here by hand at the start, and G92 says "
            "so, mm"
        ),
    )
    shift: Literal["G52", "G92"] | None = Field(
        None,
        description=(
            "word that shifts the zero for repeats in subprograms; null: no such word. G52 is "
            "ended by the next program; a shift by G92 stays when a program is broken off, so "
            "that the zero of every axis is set anew at the first stop"
        ),
    )

    @property
    def stations(self) -> tuple[str, ...]:
        """The words of a fixture's zeros, the first station's first; none without work offsets.

        >>> OffsetWords(work="G55", further=("G54", "G55", "G56")).stations
        ('G55', 'G54', 'G56')
        """
        if self.work is None:
            return ()
        return (self.work, *dict.fromkeys(word for word in self.further if word != self.work))

    @property
    def may_be_left_shifted(self) -> bool:
        """Whether a program broken off leaves a zero shifted that no word of the next one ends.

        G52 with nothing ends its own shift, and G92 where the cutter is brought says all anew.
        """
        return self.shift == "G92" and self.stands_at is None


class RetractWords(FileModel):
    """Getting clear at the start, at cutter changes and at the end."""

    way: Literal["plain", "machine", "reference"] = Field(
        "plain",
        description="plain: to the safe height; machine: G53 to machine-z; reference: G28",
    )
    machine_z: float = Field(0.0, description="Z of the safe height in machine coordinates, mm")


class RotaryWords(FileModel):
    """How the dividing head is told to turn."""

    way: Literal["absolute", "one-way", "shortest", "signed", "incremental"] = Field(
        "absolute",
        description=(
            "absolute: counts on past 360; one-way: 0 to 360, the control always turns in the "
            "positive sense; shortest: 0 to 360, the control takes the shorter way; signed: 0 to "
            "360, the sign is the sense of turning; incremental: by G91, then G90"
        ),
    )
    turn: Literal["rapid", "feed", "inverse-time"] = Field(
        "rapid",
        description=(
            "rapid: G0; feed: G1 with F in degrees/min; inverse-time: G93 G1 with F as 1/minutes, "
            "then G94"
        ),
    )
    clamp: MWord | None = Field(None, description="word that clamps, such as M10")
    unclamp: MWord | None = Field(None, description="word that unclamps, such as M11")
    unwind: bool = Field(True, description="turn back to the start at the end")

    @model_validator(mode="after")
    def turns_back_where_it_must(self) -> Self:
        """Refuse ways of turning that lean on a start which is lost when a program ends."""
        if self.way in ("incremental", "shortest") and not self.unwind:
            raise ValueError(
                f"with way {self.way} unwind must be true: each program counts from the start, and "
                "a head that was not turned back would stand elsewhere"
            )
        return self


class Subprograms(FileModel):
    """Repeated strokes written once, behind the end of the program, and called."""

    use: bool = Field(False, description="false: repeats are written out")
    call: str = Field("M98 P{number}", description="block that calls; {number} is filled in")
    label: str = Field("O{number}", description="block that begins one")
    back: str = Field("M99", description="block that returns from one")
    first: int = Field(9001, ge=1, le=9999, description="number of the first")

    @field_validator("call", "label")
    @classmethod
    def number_named(cls, text: str) -> str:
        """Refuse a call or label without its number."""
        _known_names(text, {"number": ""})
        if text.count("{number}") != 1:
            raise ValueError("must hold {number} once")
        return text


class Insertions(FileModel):
    """Blocks of your own at named places, with names in braces filled in."""

    program_start: Blocks = Field((), description="after the safe start block")
    program_end: Blocks = Field((), description="before the program's end")
    before_change: Blocks = Field((), description="before a cutter change")
    after_change: Blocks = Field((), description="after a cutter change")
    before_step: Blocks = Field((), description="before each step, spindle running, clear")
    after_step: Blocks = Field((), description="after each step, clear")
    before_index: Blocks = Field((), description="before the head turns, cutter clear")
    after_index: Blocks = Field((), description="after the head has turned")

    @field_validator("*")
    @classmethod
    def blocks_are_plain(cls, blocks: Blocks) -> Blocks:
        """Refuse names that are never filled in, and characters no control reads."""
        for block in blocks:
            _known_names(block, INSERT_NAMES)
            _plain(block)
            if not block.strip():
                raise ValueError("an empty block")
        return blocks


class Machine(FileModel):
    """One machine, as its YAML file describes it."""

    name: str = Field(pattern="^[a-z0-9][a-z0-9-]*$", description="the file's name, by behaviour")
    describes: str = Field(min_length=1, description="one sentence: what sort of machine this fits")
    x: LinearAxis = Field(LinearAxis.usual(), description="the X axis")
    y: LinearAxis = Field(LinearAxis.usual(), description="the Y axis")
    z: LinearAxis = Field(LinearAxis.usual(), description="the Z axis")
    dividing: Dividing | None = Field(None, description="the dividing head; null: none")
    second_rotary: SecondRotary | None = Field(
        None, description="a further rotary axis that is set and left; null: none"
    )
    spindle: Spindle = Field(Spindle.usual(), description="speeds and power")
    blocks_per_second: Positive = Field(200.0, description="blocks the control reads in a second")
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
    block_skip: bool = Field(False, description="trial pauses are written with a leading /")
    optional_stop: bool = Field(True, description="the control knows M1")
    subprograms: Subprograms = Field(Subprograms.usual(), description="repeats")
    insert: Insertions = Field(Insertions.usual(), description="blocks of your own at named places")

    def axis(self, name: str) -> LinearAxis:
        """The linear axis called ``X``, ``Y`` or ``Z``."""
        axes = {"X": self.x, "Y": self.y, "Z": self.z}
        return axes[name]

    @property
    def coarsest(self) -> float:
        """The coarsest step, mm, of the axes and of the numbers in programs."""
        number = 10.0**-self.numbers.decimals
        if self.program.units == "inch":
            number *= 25.4
        return max(number, self.x.increment, self.y.increment, self.z.increment)


def contradictions(machine: Machine) -> Iterator[tuple[tuple[str, ...], str, str]]:
    """What in a machine file contradicts what stands elsewhere in it.

    Yields for each the path of the word, what is wrong, and what to do.

    >>> machine = Machine(name="odd", describes="odd", x=LinearAxis(letter="Y"))
    >>> [path for path, _, _ in contradictions(machine)]
    [('y', 'letter')]
    """
    head, second = machine.dividing, machine.second_rotary
    letters: list[tuple[str, tuple[str, ...]]] = [
        (machine.x.letter or "X", ("x", "letter")),
        (machine.y.letter or "Y", ("y", "letter")),
        (machine.z.letter or "Z", ("z", "letter")),
    ]
    if isinstance(head, DrivenHead):
        letters.append((head.letter, ("dividing", "letter")))
    if second:
        letters.append((second.letter, ("second-rotary", "letter")))
    seen: set[str] = set()
    for letter, path in letters:
        if letter in seen:
            yield path, f"{letter} is the letter of two axes", "give each axis its own letter"
        seen.add(letter)
    if isinstance(head, HandHead) and machine.comments.style == "none":
        yield (
            ("comments", "style"),
            "a head turned by hand needs messages, and style none leaves them out",
            "choose parentheses or semicolon: the operator must know what to turn to",
        )
    if isinstance(head, DrivenHead) and machine.rotary.way == "one-way":
        if head.take_up:
            yield (
                ("dividing", "take-up"),
                "a head that only turns one way has nothing to take up",
                "write take-up: 0 beside rotary.way one-way",
            )
        if head.sense == "reversed":
            yield (
                ("dividing", "sense"),
                "turning one way only, against ISO 841, every space would be reached the long way",
                "say which way it really turns, or another rotary.way",
            )
    if machine.change.way == "automatic" and machine.change.word is None:
        yield (
            ("change", "word"), "a changer needs a word that calls it",
            "write the word, such as M6, or another way",
        )
    if machine.subprograms.use and not (machine.offsets.shift or head):
        yield (
            ("subprograms", "use"),
            "nothing can be repeated here: there is no offsets.shift and no dividing head",
            "say the word that shifts the zero under offsets.shift, or write use: false",
        )
    if machine.spindle.reversal_seconds is not None and not (
            machine.spindle_words.by_program and len(set(machine.spindle.senses)) == 2):
        yield (
            ("spindle", "reversal-seconds"),
            "a spindle that turns one way only, or is started by hand, no program reverses",
            "leave reversal-seconds out, or say both senses and by-program: true",
        )
    if machine.cycles.fine_bore and not machine.spindle_words.oriented_stop:
        yield (
            ("cycles", "fine-bore"),
            "a cycle that stops the spindle at one place, on a machine that is not said to do so",
            "say the word under spindle-words.oriented-stop, or leave fine-bore out",
        )
    if machine.spindle_words.by_program is False and machine.spindle_words.oriented_stop:
        yield (
            ("spindle-words", "oriented-stop"),
            "a spindle started by hand is not stopped at one place by a program",
            "leave oriented-stop out",
        )
    if machine.spindle_words.by_program is False and machine.spindle_words.warm_up:
        yield (
            ("spindle-words", "warm-up"),
            "a spindle started by hand cannot be warmed up by the program",
            "leave warm-up out",
        )
    if machine.change.way == "automatic" and machine.offsets.length == "touch-off":
        yield (
            ("offsets", "length"),
            "a changer goes on without a stop, and with touch-off nobody could set the zero of the "
            "next cutter: it would cut with the length of the one before",
            "write length: table here, or change.way: by-hand",
        )
    if machine.offsets.may_be_left_shifted and not (
            machine.change.way == "by-hand" and machine.offsets.length == "touch-off"):
        yield (
            ("offsets", "shift"),
            "a program broken off leaves a shift by G92 in force, and here no program stops for "
            "the zero to be set anew",
            "write G52 if the control has it, or leave shift out; else change.way: by-hand with "
            "length: touch-off",
        )
    if machine.retract.way == "machine" and abs(machine.retract.machine_z) > machine.z.travel:
        yield (
            ("retract", "machine-z"),
            f"{machine.retract.machine_z:g} lies beyond the travel of Z, "
            f"{machine.z.travel:g} mm",
            "write the place of the safe height in the machine's own coordinates; 0 is its zero",
        )
    for word in machine.program.unknown_words:
        used = {
            "G49": machine.offsets.length == "table", "G80": machine.cycles.use,
            "G94": machine.rotary.turn == "inverse-time",
        }
        if word in machine.program.safe_words or used.get(word):
            yield (
                ("program", "unknown-words"),
                f"{word} is said to be unknown to the control, and is written to it",
                "take it out here, or take out what it is written for",
            )
    # These modules look at whole machines.
    from camgen.shop.one_meaning import two_meanings
    from camgen.shop.own_blocks import own_contradictions

    yield from two_meanings(machine)
    yield from own_contradictions(machine)


def _known_names(text: str, names: dict[str, str]) -> None:
    """Raise ValueError for a name in braces that nothing fills in."""
    for name in re.findall(r"\{([^{}]*)\}?", text):
        if name not in names:
            raise ValueError(f"{{{name}}} is not filled in; there are " + ", ".join(
                f"{{{known}}}" for known in names
            ))


def _readable(text: str, names: dict[str, str]) -> str:
    """``text`` when a reader can find every one of ``names`` in it again; else ValueError."""
    _known_names(text, names)
    for name in names:
        if text.count(f"{{{name}}}") != 1:
            raise ValueError(f"the message must hold {{{name}}} once")
    if "}{" in text:
        raise ValueError("two names in the message need a word or a space between them")
    _plain(text)
    return text


def _plain(text: str) -> None:
    """Raise ValueError for characters that are not plain ASCII, or that end a block."""
    if not (text.isascii() and text.isprintable()):
        raise ValueError("only plain ASCII characters can be written, in one line")
