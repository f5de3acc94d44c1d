"""The dividing head: how it stands, what turns it, and how it is told to turn."""

from typing import Annotated, Literal, Self, TypeAlias

from pydantic import Field, field_validator, model_validator

from camgen.messages import Message, counted, verbatim
from camgen.shop.machine.measured import Errors, head_table
from camgen.shop.machine.texts import (
    MESSAGE_NAMES,
    AxisName,
    MWord,
    RotaryLetter,
    SignedAxis,
    readable,
)
from camgen.shop.model import FASTEST, FileModel, NotNegative, Positive

__all__ = ["Arrangement", "Dividing", "DrivenHead", "HandHead", "RotaryWords"]


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
            raise ValueError(Message("along, infeed and across must be three different axes"))
        return self


class DrivenHead(FileModel):
    """A dividing head turned by the control."""

    kind: Literal["driven"] = Field("driven", description="driven: the control turns it")
    letter: RotaryLetter = Field("A", description="the rotary word's letter")
    sense: Literal["iso", "reversed"] = Field(
        "iso", description="iso: positive turns as ISO 841 says; reversed: the other way"
    )
    arrangement: Arrangement = Field(Arrangement.usual(), description="how the head stands")
    limits: tuple[float, float] | None = Field(
        None,
        description=(
            "least and greatest figure of the rotary word, degrees, beyond which it cannot turn; "
            "before them it is turned back by whole turns; null: none"
        ),
    )
    rapid: Positive = Field(
        3600.0, ge=1, le=FASTEST, description="rate of rapid turning, degrees/min"
    )
    feed_limit: Positive = Field(
        3600.0, ge=1, le=FASTEST, description="fastest fed turning, degrees/min"
    )
    acceleration: Positive = Field(720.0, ge=1, le=1e6, description="acceleration, degrees/s²")
    increment: Positive = Field(0.001, le=1, description="least increment of the word, degrees")
    worm_ratio: Positive = Field(
        90.0, ge=1, le=10_000, description="turns of the worm for one of the spindle"
    )
    motor_steps: int = Field(3200, gt=0, description="motor steps for one turn of the worm")
    pulses: int | None = Field(
        None, ge=2, le=3600,
        description=(
            "for a head that one word turns by its own set step: how many such steps make one "
            "turn; null: it is told angles"
        ),
    )
    pulse_seconds: Positive = Field(
        1.0, le=600, description="time of one such step, until the head has answered, s"
    )
    take_up: NotNegative = Field(
        1.0,
        lt=90,
        description="degrees gone past and come back, so that backlash is taken from one side",
    )
    pitch_error: NotNegative = Field(
        0.0, description="largest known error of the worm wheel, arc-seconds"
    )
    clamp_seconds: NotNegative = Field(0.0, le=600, description="time to clamp or unclamp, s")
    errors: Errors = Field(
        (),
        description=(
            "as measured over one turn: angles told from the head's own zero, degrees, and by how "
            "many arc-seconds it then stands farther on; both counted as ISO 841 says, also where "
            "sense is reversed"
        ),
    )

    @property
    def divides_by(self) -> tuple[str, ...]:
        """The words of its file that say which angles it comes to."""
        return "dividing.increment", "dividing.worm-ratio", "dividing.pulses"

    @field_validator("errors")
    @classmethod
    def one_turn(cls, errors: Errors) -> Errors:
        """Refuse a table that does not rise within one turn."""
        return head_table(errors)


class HandHead(FileModel):
    """A dividing head turned by hand over hole plates."""

    kind: Literal["by-hand"] = Field("by-hand", description="by-hand: turned with a crank")
    worm_ratio: Positive = Field(
        40.0, ge=1, le=10_000, description="turns of the crank for one of the spindle"
    )
    plates: tuple[Annotated[tuple[int, ...], Field(min_length=1)], ...] = Field(
        min_length=1, description="the circles of each plate, as numbers of holes"
    )
    arrangement: Arrangement = Field(Arrangement.usual(), description="how the head stands")
    seconds: Positive = Field(
        15.0, le=36_000, description="time to turn to the next space by hand, s"
    )
    stop_spindle: Literal[True] = Field(
        True, description="the spindle stands while hands are at the head, and is started again"
    )
    message: str = Field(
        verbatim("SPACE {space} AT {angle} DEG {setting}"),
        description=(
            "the message before the stop at each space; {space}, {angle} and {setting} are filled "
            "in, and read back from there"
        ),
    )

    @property
    def divides_by(self) -> tuple[str, ...]:
        """The words of its file that say which angles it comes to."""
        return "dividing.plates", "dividing.worm-ratio"

    @field_validator("stop_spindle", mode="before")
    @classmethod
    def hands_off_what_turns(cls, still: object) -> object:
        """Refuse hands at the head beside a cutter that turns."""
        if still is False:
            raise ValueError(Message("no hand goes to the head while the cutter turns beside it: "
                                     "leave `stop-spindle` out"))
        return still

    @field_validator("plates")
    @classmethod
    def holes_on_circles(cls, plates: tuple[tuple[int, ...], ...]) -> tuple[tuple[int, ...], ...]:
        """Refuse circles with no holes to speak of."""
        for circle in (circle for plate in plates for circle in plate):
            if not 2 <= circle <= 1000:
                raise ValueError(counted("a circle of {n} hole; from 2 to 1000 can be had",
                                         "a circle of {n} holes; from 2 to 1000 can be had",
                                         circle))
        return plates

    @field_validator("message")
    @classmethod
    def message_can_be_read(cls, text: str) -> str:
        """Refuse a message that could not be read back."""
        return readable(text, MESSAGE_NAMES)

Dividing: TypeAlias = Annotated[DrivenHead | HandHead, Field(discriminator="kind")]


class RotaryWords(FileModel):
    """How the dividing head is told to turn."""

    way: Literal["absolute", "one-way", "shortest", "signed", "incremental", "by-pulse"] = Field(
        "absolute",
        description=(
            "absolute: counts on past 360; one-way: 0 to 360, the control always turns in the "
            "positive sense; shortest: 0 to 360, the control takes the shorter way; signed: 0 to "
            "360, the sign is the sense of turning; incremental: by G91, then G90; by-pulse: one "
            "word turns it by its own set step, as often as is needed, always the same way"
        ),
    )
    pulse: MWord | None = Field(
        None, description="word that turns the head by one step and waits until it is there"
    )
    answered: MWord | None = Field(
        None,
        description=(
            "word after each pulse that waits for the head's answer; null: the pulse's own waits"
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
    def clamps_and_lets_go(self) -> Self:
        """Refuse a head that is clamped and never let go."""
        if self.clamp is not None and self.unclamp is None:
            raise ValueError(Message("a head that is clamped must be let go again: write `unclamp` "
                                     "too, or no `clamp`"))
        return self

    @model_validator(mode="after")
    def turns_back_where_it_must(self) -> Self:
        """Refuse ways of turning that lean on a start which is lost when a program ends."""
        if self.way in ("incremental", "shortest", "by-pulse") and not self.unwind:
            raise ValueError(Message(
                "with way {way} unwind must be true: each program counts from the start, and a "
                "head that was not turned back would stand elsewhere", way=self.way))
        return self

    @property
    def from_where_it_stands(self) -> bool:
        """Whether it is told how far to turn, and never where to stand."""
        return self.way in ("incremental", "by-pulse")
