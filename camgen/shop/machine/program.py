"""How programs are spelt: numbers, blocks, comments, start and end, arcs, cycles, own blocks."""

import re
from typing import Literal

from pydantic import Field, field_validator

from camgen.messages import Message
from camgen.shop.machine.texts import INSERT_NAMES, Blocks, GWord, MWord, known_names, plain
from camgen.shop.model import FileModel, NotNegative, Positive

__all__ = [
    "ArcWords",
    "BlockWords",
    "Chatter",
    "CycleWords",
    "DwellWords",
    "Insertions",
    "NumberWords",
    "ProgramWords",
    "Subprograms",
]


class NumberWords(FileModel):
    """How numbers are spelt."""

    decimals: int = Field(3, ge=2, le=6, description="decimal places of lengths")
    rotary_decimals: int = Field(3, ge=0, le=6, description="decimal places of angles")
    feed_decimals: int = Field(1, ge=0, le=6, description="decimal places of feeds")
    point: Literal["always", "needed", "never"] = Field(
        "always",
        description="always: 5. ; needed: 5 ; never: 5000, counted in the last place",
    )
    zeros: Literal["no-leading", "all", "no-trailing"] = Field(
        "no-leading",
        description=(
            "where point is never: no-leading: 5000; all: 005000, as many figures as there are; "
            "no-trailing: 005, counted from the first"
        ),
    )
    figures: int = Field(
        3, ge=1, le=6, description="figures before the places where zeros is all or no-trailing"
    )
    feed_figures: int = Field(
        4, ge=1, le=6, description="the same of feeds"
    )
    rotary_figures: int | None = Field(
        None, ge=1, le=6, description="the same of angles; null: as many as lengths have"
    )
    trailing_zeros: bool = Field(False, description="5.100 rather than 5.1")
    leading_zero: bool = Field(True, description="0.5 rather than .5")
    plus: bool = Field(False, description="+5.0 rather than 5.0")

    @property
    def angle_figures(self) -> int:
        """Figures of angles before their places."""
        return self.rotary_figures or self.figures


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
    number_lines: Literal["blocks", "all"] = Field(
        "blocks", description="all: comments and labels have a number too, a % line has none"
    )
    checksum: Literal["none", "sum", "xor"] = Field(
        "none",
        description=(
            "behind every line but a % line * and a figure: the sum of the bytes before it, modulo "
            "256, or their exclusive-or"
        ),
    )
    ending: Literal["lf", "crlf"] = Field("crlf", description="end of line")
    longest: int = Field(72, ge=20, le=1000, description="longest line, characters")


class Chatter(FileModel):
    """Comments and messages in the program."""

    style: Literal["parentheses", "semicolon", "marks", "none"] = Field(
        "parentheses",
        description=(
            "(TEXT), ; TEXT to the end of the line, marks of its own: opens and closes, or no "
            "comments at all"
        ),
    )
    opens: str = Field(
        "*", pattern=r"^['\[<*!#&@|{]$", description="what opens a comment where style is marks"
    )
    closes: str = Field(
        "",
        pattern=r"^['\]>*!#&@|}]?$",
        description="what closes it; empty: the end of the line",
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

    @field_validator("message")
    @classmethod
    def no_word_of_a_program(cls, text: str) -> str:
        """Refuse a beginning that reads as a word of a program."""
        if re.search(r"[0-9]", text):
            raise ValueError(Message(
                "{text} reads as a word of a program: write what makes the control show a "
                "comment, such as MSG", text=text.strip()))
        return text


class ProgramWords(FileModel):
    """What a program begins and ends with, and how large it may be."""

    units: Literal["mm", "inch"] = Field("mm", description="units of the program's lengths")
    feed: Literal["per-minute", "per-turn"] = Field(
        "per-minute", description="F in mm or inches a minute, G94, or a turn of the spindle, G95"
    )
    units_word: bool = Field(True, description="write G21 or G20")
    marks: bool = Field(True, description="a % line at start and end")
    mark_named: bool = Field(False, description="the program's name behind the first %")
    number: int | None = Field(
        None, ge=1, le=99_999_999, description="program number after O; parts count on from it"
    )
    number_mark: Literal["O", ":"] = Field("O", description="what stands before that number")
    number_figures: int = Field(
        4, ge=1, le=8, description="figures of that number, noughts before it"
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

    @property
    def highest_number(self) -> int:
        """The highest program number that the control reads: of four figures, or as many as said.

        >>> ProgramWords().highest_number, ProgramWords(number_figures=6).highest_number
        (9999, 999999)
        """
        return int(10 ** max(4, self.number_figures)) - 1

    def numbered(self, number: int) -> str:
        """The line of a program's number.

        >>> ProgramWords(number_mark=":", number_figures=5).numbered(12)
        ':00012'
        """
        return f"{self.number_mark}{number:0{self.number_figures}d}"


class ArcWords(FileModel):
    """How arcs are written."""

    style: Literal["incremental", "absolute", "radius", "none"] = Field(
        "incremental",
        description="centre from the start point, centre in program axes, R word, or no arcs",
    )
    unsigned: bool = Field(
        False,
        description=(
            "true: I, J and K have no sign, and the control finds it by the quadrant; every arc "
            "stays in one"
        ),
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
        ("XY", "ZX", "YZ"), min_length=1,
        description=(
            "planes the control makes arcs in, by its own letters; arcs in others, and where no "
            "plane word is written in all but XY, become lines"
        ),
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
        known_names(text, {"number": ""})
        if text.count("{number}") != 1:
            raise ValueError(Message("must hold {name} once", name="{number}"))
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
    def blocks_areplain(cls, blocks: Blocks) -> Blocks:
        """Refuse names that are never filled in, and characters no control reads."""
        for block in blocks:
            known_names(block, INSERT_NAMES)
            plain(block)
            if not block.strip():
                raise ValueError(Message("an empty block"))
        return blocks
