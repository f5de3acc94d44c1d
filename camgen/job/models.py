"""The job file's words, as typed and checked models.

Lengths are in mm once read (a job file may say ``units: inch``; reading converts), angles in
degrees. A module is always in mm. The models hold what a job *means*; where each word stood in the
file is kept beside them in :class:`camgen.job.reading.JobFile`. Defaults are the words used when
nothing is written.
"""

from abc import abstractmethod
from collections.abc import Callable
from typing import Annotated, Any, ClassVar, Literal, Self, TypeAlias, get_args

from pydantic import Field, ValidationInfo, field_validator

from camgen.faults import Fault, Refused, all_of
from camgen.job.on_arbor import HeldWork, ToothSetup
from camgen.messages import Message, verbatim
from camgen.part.declaration import Declaration
from camgen.part.parts import Part
from camgen.part.plates.place_words import HoleName
from camgen.part.plates.plate import Plate
from camgen.part.plates.plate_words import Face
from camgen.part.turned.turned import TurnedPart
from camgen.part.wheels.pinion import Pinion
from camgen.part.wheels.wheel import Wheel
from camgen.shop.cutters import Cutter
from camgen.shop.model import Coordinate, FeedRate, FileModel, Length, LengthOrZero, Speed
from camgen.values import dataclass

__all__ = [
    "Clamping",
    "Fixture",
    "FlatSetup",
    "FrameZero",
    "HeadSetup",
    "Holding",
    "Job",
    "Metal",
    "Repeat",
    "RoundSetup",
    "Setup",
    "StepWords",
    "Stock",
    "Zero",
]

# What of a part is made by steps, in words for ``made-elsewhere``: by its sort, or by its name.
Sort = Literal[
    "teeth", "bore", "crossing", "outline", "holes", "jewels", "openings", "pockets", "slots",
    "thickness", "hub", "countersinks", "lead-ins", "oil-sinks", "threads", "flats",
]
SORTS: tuple[str, ...] = get_args(Sort)
Name = Annotated[str, Field(pattern="^[a-z0-9][a-z0-9-]*$", max_length=24)]


class Stock(FileModel):
    """What is put on the machine: a sheet, a bar, a disc, or what an earlier setup left."""

    sheet: tuple[Length, Length] | None = Field(
        None, description="length along X and width along Y"
    )
    bar: Length | None = Field(
        None, description="width along Y of a bar that lies along X, its left end at a stop"
    )
    length: Length | None = Field(None, description="bars: length used, from the stop")
    disc: Length | None = Field(None, description="diameter, where the stock is round")
    left_by: Name | None = Field(
        None, description="name of an earlier setup: the stock is what it left, turned as need be"
    )
    thickness: Length = Field(description="thickness of the stock")

    @property
    def rectangle(self) -> tuple[float, float] | None:
        """Length along X and width along Y of a sheet or a bar; None for a disc."""
        if self.bar is not None and self.length is not None:
            return self.length, self.bar
        return self.sheet


class Zero(FileModel):
    """Where the program's zero lies on the stock."""

    x: Literal["centre", "left", "right"] = Field("centre", description="zero of X on the stock")
    y: Literal["centre", "front", "back"] = Field("centre", description="zero of Y on the stock")
    z: Literal["top", "carrier"] = Field(
        "top",
        description="zero of Z: the upper face of the stock, or the carrier that it lies on",
    )
    dowel: HoleName | None = Field(
        None, description="hole of the plate with a dowel in it, or a wheel's bore on a spigot, "
        "where X and Y are zero"
    )
    second: HoleName | None = Field(
        None, description="hole with the second dowel; else the farthest of the same name"
    )
    indicated: HoleName | None = Field(
        None, description="a wheel's bore, made before: X and Y are zero in its middle, found with "
        "an indicator; nothing stands in it"
    )


class FrameZero(Zero):
    """The zero of a stock of several parts turned over as one: X and Y on a dowel in its frame."""


class Holding(FileModel):
    """How the work is held, and what lies under it."""

    by: str = Field(min_length=1, max_length=200, description="in words, for the sheet")
    carrier: str | None = Field(None, description="material of the plate beneath")
    carrier_thickness: LengthOrZero = Field(0.0, description="thickness of that plate")
    cut_into: LengthOrZero = Field(
        0.0, description="how far cutters may go into what lies beneath"
    )
    relieved: LengthOrZero = Field(
        0.0, description="how deep the carrier is open under the holes that go right through"
    )
    holds_slugs: bool = Field(
        False, description="true when glue or carrier keeps loose pieces where they are"
    )
    clamps: tuple[tuple[Coordinate, Coordinate, Coordinate, Coordinate, Coordinate], ...] = Field(
        (),
        max_length=40,
        description="each clamp: x from, y from, x to, y to, from the setup's zero, and the height "
        "above the stock",
    )


class Repeat(FileModel):
    """Several pieces from one stock, in rows and columns about its middle or from its corner."""

    columns: int = Field(1, ge=1, le=100, description="pieces along X")
    rows: int = Field(1, ge=1, le=100, description="pieces along Y")
    pitch: tuple[Length, Length] = Field(
        description="from one piece to the next, along X and along Y"
    )
    first: tuple[LengthOrZero, LengthOrZero] | None = Field(
        None,
        description=(
            "sheets and bars: where the first piece has its 0, 0, from the left end and the front "
            "edge of the stock; else the pieces lie about its middle"
        ),
    )


class Fixture(FileModel):
    """Several stations alike on the table, each with stock of its own and a zero of its own.

    Every step is done at all stations before the next. The machine file's work offsets are their
    zeros, in its order.
    """

    stations: int = Field(ge=2, le=60, description="how many, each with a work offset of its own")
    at: tuple[tuple[Coordinate, Coordinate, Coordinate], ...] = Field(
        (),
        max_length=60,
        description=(
            "X, Y and Z of each station's zero from the first's, which is 0, 0, 0, where they are "
            "known: travel is then held against the machine's"
        ),
    )


# Names of things of a sort, with all of those that one name stands for.
WrittenOut: TypeAlias = Callable[[str, tuple[str, ...]], tuple[str, ...]]
# The words by which steps name things of a plate, and of what sort those are.
_NAMING = {"holes": "holes", "entry_holes": "holes", "openings": "openings", "pockets": "pockets"}


class StepWords(FileModel):
    """The words every step has. A kind of step adds its own, and declares what it does;
    ``called`` is what it is called when it is spoken of.

    Raises TypeError where a kind is made that declares nothing.
    """

    kind: ClassVar[str] = ""
    called: ClassVar[Message]
    cutter: str = Field(min_length=1, description="name of one of the job's cutters")
    speed: Speed | None = Field(
        None, description="spindle speed in rev/min, instead of the one planned"
    )
    feed: FeedRate | None = Field(None, description="feed per minute, instead of the one planned")
    far: bool = Field(
        False,
        description="true: a correction, feed or speed of this step is meant to be so unusual",
    )
    note: str | None = Field(None, max_length=200, description="a remark for the sheet")

    @field_validator("*")
    @classmethod
    def names_something(cls, value: Any, info: ValidationInfo) -> Any:
        """Refuse a list of nothing where leaving the word out means all."""
        if value == () and cls.model_fields[info.field_name or ""].default is None:
            raise ValueError(Message("an empty list: leave the word out for all, or name one"))
        return value

    def __init_subclass__(cls, **words: Any) -> None:
        super().__init_subclass__(**words)
        # Said when the module is imported, and not when the first job has such a step.
        if cls.kind and cls.declares is StepWords.declares:
            raise TypeError(f"the step {cls.kind} does not declare what it makes")
        if "called" not in cls.__dict__:
            cls.called = verbatim(cls.kind.replace("-", " "))

    def with_names(self, whole: WrittenOut) -> Self:
        """The same step, the names of its holes, openings and pockets written out."""
        return self.model_copy(update={
            word: whole(_NAMING[word], names) for word, names in self
            if word in _NAMING and names is not None})

    @abstractmethod
    def declares(self) -> Declaration:
        """What this step makes, finds, leaves and corrects: all that others may know of it."""


class Setup(FileModel):
    """One clamping: stock or dividing head, its zero, and the steps in order."""

    name: Name = Field(description="name of the setup, part of its files' names")
    stock: Stock | None = Field(None, description="flat work: what is put on the machine")
    face: Face = Field("upper", description="the part's face that looks up")
    turned_over: Literal["about X", "about Y"] | None = Field(
        None, description="how the under face came to look up: the axis it was turned over about"
    )
    zero: Zero = Field(Zero.usual(), description="where the program's zero lies on the stock")
    holding: Holding | None = Field(None, description="how the work is held")
    repeat: Repeat | None = Field(None, description="several pieces from one stock")
    pieces_at: tuple[tuple[Coordinate, Coordinate], ...] = Field(
        (), max_length=500,
        description="instead of repeat: where each piece has its 0, 0, from the setup's zero",
    )
    fixture: Fixture | None = Field(
        None, description="the same again at several stations, by the machine's work offsets"
    )
    dividing: ToothSetup | None = Field(
        None, description="tooth cutting: the stack on the dividing head"
    )
    held: HeldWork | None = Field(
        None, description="turned parts: how the piece is held in the dividing head"
    )
    safe_height: Length = Field(5.0, description="height of travel above the stock")
    clearance: Length = Field(0.5, description="rapid moves end this far from metal")
    steps: tuple[StepWords, ...] = Field((), description="the steps, in order")

    @property
    def given(self) -> "tuple[Clamping, ...]":
        """Every kind of work that the setup's words say: one, in a job without faults."""
        found: list[Clamping] = []
        if self.stock is not None:
            found.append(FlatSetup(
                self.name, self.stock, self.face, self.turned_over, self.zero, self.holding,
                self.repeat, self.pieces_at, self.fixture, self.safe_height, self.clearance,
                self.steps))
        if self.dividing is not None:
            found.append(HeadSetup(
                self.name, self.dividing, self.safe_height, self.clearance, self.steps))
        if self.held is not None:
            found.append(RoundSetup(
                self.name, self.held, self.safe_height, self.clearance, self.steps))
        return tuple(found)

    @property
    def work(self) -> "Clamping":
        """The setup as what it is. Raises Refused where it has nothing of stock, dividing and held,
        or several."""
        if len(self.given) != 1:
            raise Refused(Fault(*self.not_one))
        return self.given[0]

    @property
    def not_one(self) -> tuple[Message, Message]:
        """What is amiss where it is not one kind of work, and what to do."""
        if not self.given:
            return (Message("setup {name} has neither stock nor dividing nor held",
                            name=self.name),
                    Message("add stock: for flat work, dividing: for cutting teeth, or held: for "
                            "turned work"))
        return (Message("setup {name} has {words} at once", name=self.name,
                        words=all_of(one.word for one in self.given)),
                Message("make a setup for each"))


@dataclass(frozen=True)
class FlatSetup:
    """A clamping of flat work: its stock, the face that is up, where its zero lies, how many.

    Its fields are the words of a :class:`Setup` that flat work has.
    """

    word: ClassVar[str] = "stock"
    name: str
    stock: Stock
    face: Face
    turned_over: Literal["about X", "about Y"] | None
    zero: Zero
    holding: Holding | None
    repeat: Repeat | None
    pieces_at: tuple[tuple[float, float], ...]
    fixture: Fixture | None
    safe_height: float
    clearance: float
    steps: tuple[StepWords, ...]

    @property
    def pieces(self) -> int:
        """How many pieces lie in one stock."""
        if self.repeat is not None:
            return self.repeat.columns * self.repeat.rows
        return max(1, len(self.pieces_at))

    @property
    def zero_x(self) -> Literal["centre", "left", "right"]:
        """Where X is zero on the stock: of a bar at its stop, unless the job says another."""
        said = self.stock.bar is None or "x" in self.zero.model_fields_set
        return self.zero.x if said else "left"


@dataclass(frozen=True)
class HeadSetup:
    """A clamping on the dividing head; its fields are the words of a :class:`Setup` for that."""

    word: ClassVar[str] = "dividing"
    name: str
    dividing: ToothSetup
    safe_height: float
    clearance: float
    steps: tuple[StepWords, ...]


@dataclass(frozen=True)
class RoundSetup:
    """A turned part held in the dividing head; fields as those of a :class:`Setup` for that."""

    word: ClassVar[str] = "held"
    name: str
    held: HeldWork
    safe_height: float
    clearance: float
    steps: tuple[StepWords, ...]


Clamping: TypeAlias = FlatSetup | HeadSetup | RoundSetup


class Metal(FileModel):
    """What the account of metal must be told; it moves nothing."""

    recoverable: float = Field(1.0, ge=0, le=1, description="share of the chips that comes back")
    price: float | None = Field(
        None, ge=0,
        description="of a gram, in any currency: of fine metal for alloys of gold or silver",
    )


class Job(FileModel):
    """A whole job: one part, its cutters and its setups."""

    based_on: str | None = Field(
        None, description="another job file, from this one's folder: say only what is different"
    )
    job: str = Field(min_length=1, max_length=60, description="name of the job")
    note: str = Field("", max_length=500, description="a remark for the sheet")
    units: Literal["mm", "inch"] = Field(
        "mm", description="units of all lengths and feeds in this file; a module is always in mm"
    )
    material: str = Field(min_length=1, description="name of the material")
    post: str = Field("plain-iso", min_length=1, description="name of the machine file")
    language: Literal["en", "de", "fr"] = Field(
        "en", description="of the sheet and of the messages in programs"
    )
    quantity: int = Field(1, ge=1, le=10000, description="pieces wanted")
    metal: Metal = Field(
        Metal.usual(), description="for the account of metal: what comes back, price")
    keep_to_findings: bool = Field(
        False,
        description="true: cut no faster or deeper than the workshop's records found to be fine",
    )
    wheel: Wheel | None = Field(None, description="the part, where it is a wheel")
    pinion: Pinion | None = Field(None, description="the part, where it is a pinion")
    plate: Plate | None = Field(None, description="the part, where it is a plate or a bridge")
    turned: TurnedPart | None = Field(
        None, description="the part, where it is turned from the bar: an arbor, a stem, a ring"
    )
    made_elsewhere: tuple[Sort | HoleName, ...] = Field(
        (), max_length=60,
        description="what of the part no step here makes, because another job or hand does: sorts, "
        "or names of your own; one thing at a hole alone as name-countersink, name-thread, "
        "name-counterbore, name-lead-in, name-through, name-oil-sink",
    )
    limits: dict[Name, tuple[LengthOrZero, LengthOrZero]] = Field(
        {}, description="least and most of a size that is measured, by its name on the sheet"
    )
    cutters: dict[Name, Cutter] = Field(
        min_length=1, max_length=99,
        description="the cutters used, by names of your own; or a name in the workshop's table",
    )
    setups: tuple[Setup, ...] = Field(
        min_length=1, max_length=20, description="the clampings, in order"
    )

    @property
    def given(self) -> tuple[Part, ...]:
        """Every part that the job describes: one, in a job without faults."""
        return tuple(one for one in (
            self.wheel, self.pinion, self.plate, self.turned) if one is not None)

    @property
    def flat(self) -> tuple[FlatSetup, ...]:
        """The setups of flat work, in order."""
        return tuple(one for setup in self.setups for one in setup.given
                     if isinstance(one, FlatSetup))

    @property
    def on_head(self) -> tuple[HeadSetup, ...]:
        """The setups on the dividing head, in order."""
        return tuple(one for setup in self.setups for one in setup.given
                     if isinstance(one, HeadSetup))

    @property
    def held(self) -> tuple[RoundSetup, ...]:
        """The setups of turned work held in the dividing head, in order."""
        return tuple(one for setup in self.setups for one in setup.given
                     if isinstance(one, RoundSetup))

    def with_part(self, part: Part) -> Self:
        """The same job with other words for its part: places and shapes read from other files."""
        return self.model_copy(update={part.word: part})

    @property
    def part(self) -> Part:
        """The part that the job makes. Raises Refused where it describes none, or several."""
        given = self.given
        if len(given) != 1:
            raise Refused(Fault(Message("the job describes no part") if not given
                                else Message("the job describes {words} at once",
                                             words=all_of(f"{one.word}:" for one in given)),
                                Message("it makes one part: wheel:, pinion:, plate: or turned:")))
        return given[0]
