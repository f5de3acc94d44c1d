"""Cutter changes, offsets and shifts, getting clear, coolant and air."""

from typing import Annotated, Literal, Self

from pydantic import Field, field_validator, model_validator

from camgen.messages import Message, verbatim
from camgen.shop.machine.texts import CHANGE_NAMES, GWord, MWord, readable
from camgen.shop.model import FileModel, Positive

__all__ = ["CoolantWords", "CutterChange", "OffsetWords", "PlaceToGo", "RetractWords"]


class PlaceToGo(FileModel):
    """A place in X and Y that is gone to with the cutter at the safe height."""

    x: float | None = Field(None, description="X of the place, mm; null: X stays where it is")
    y: float | None = Field(None, description="Y of the place, mm; null: Y stays where it is")
    counted: Literal["machine", "work"] = Field(
        "machine",
        description=(
            "machine: in the machine's own coordinates, G53; work: from the program's zero, in "
            "flat work alone"
        ),
    )

    @model_validator(mode="after")
    def somewhere(self) -> Self:
        """Refuse a place that names no axis."""
        if self.x is None and self.y is None:
            raise ValueError(Message("a place to go to names x, y or both"))
        return self

    @property
    def axes(self) -> tuple[tuple[int, float], ...]:
        """The axes that go there, 0 for X and 1 for Y, each with its mm.

        >>> PlaceToGo(y=120.0).axes
        ((1, 120.0),)
        """
        return tuple((axis, mm) for axis, mm in enumerate((self.x, self.y)) if mm is not None)


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
    with_offset: tuple[
        Annotated[int, Field(ge=1, le=4)], Annotated[int, Field(ge=1, le=4)]
    ] | None = Field(
        None,
        description=(
            "cutter and length offset in one T word, which alone brings the length in, without "
            "G43: figures of the cutter's number at least, and of its offset's; [2, 2]: T0101; "
            "[1, 2]: T101; null: T1"
        ),
    )
    offset_ended_by: Literal["T0100", "T0000"] = Field(
        "T0100",
        description="what ends that offset: the cutter's number and noughts, or noughts alone",
    )
    message: str = Field(
        verbatim("FIT CUTTER {cutter} {text}"),
        description="the message at a change; {cutter} is its number, read back from there",
    )
    seconds: Positive = Field(120.0, le=36_000, description="time for one change, s")
    place: PlaceToGo | None = Field(
        None, description="where cutters are changed, gone to at the safe height; null: where it is"
    )

    def t_word(self, cutter: int) -> str:
        """The word that chooses a cutter, with its length offset where it says that too.

        >>> CutterChange().t_word(1), CutterChange(with_offset=(1, 2)).t_word(12)
        ('T1', 'T1212')
        """
        if self.with_offset is None:
            return f"T{cutter}"
        first, last = self.with_offset
        return f"T{cutter:0{first}d}{cutter:0{last}d}"

    def t_ended(self, cutter: int) -> str:
        """The word that ends the length offset of a T word that holds it.

        >>> CutterChange(with_offset=(2, 2)).t_ended(3)
        'T0300'
        >>> CutterChange(with_offset=(2, 4), offset_ended_by="T0000").t_ended(3)
        'T000000'
        """
        first, last = self.with_offset or (1, 1)
        number = cutter if self.offset_ended_by == "T0100" else 0
        return f"T{number:0{first}d}{0:0{last}d}"

    @property
    def calls_by_t(self) -> bool:
        """Whether T itself changes the cutter, with no further word."""
        return self.with_offset is not None and self.word is None

    @field_validator("message")
    @classmethod
    def message_can_be_read(cls, text: str) -> str:
        """Refuse a message that could not be read back."""
        return readable(text, CHANGE_NAMES)


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
        description=(
            "touch-off: Z is set anew for each cutter; table: G43 H at each change, or T where "
            "change.with-offset says so"
        ),
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
    park: PlaceToGo | None = Field(
        None,
        description=(
            "where the work is loaded, gone to at the safe height at the end; null: where it is"
        ),
    )


class CoolantWords(FileModel):
    """Coolant and air."""

    flood: MWord | None = Field(None, description="word for coolant, such as M8; null: none fitted")
    air: MWord | None = Field(None, description="word for air, such as M7; null: none fitted")
    off: MWord = Field("M9", description="word that ends both")
