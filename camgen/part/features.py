"""What a finished part has, one small value for each thing: from the job to the proof.

All are in the part's own frame, as seen from its upper face; depths count from the face that a
feature is on. A feature has a ``name`` of its own, a ``group`` that it shares with its like, and
``at``, its words in the job file. ``elsewhere`` are the words of ``made-elsewhere``, any of which
says that another job or hand makes it. Lengths mm, angles degrees.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar, TypeAlias, TypeVar

from camgen.part.plates.plate_words import Face, Mouth
from camgen.part.tight import LeftCorner
from camgen.shapes.offset import Area
from camgen.shapes.path import Path, Point
from camgen.shop.fits import Limits
from camgen.teeth.tooth import Tooth
from camgen.values import dataclass

__all__ = [
    "Cone",
    "CrossedOut",
    "Feature",
    "Flats",
    "Hole",
    "NamePath",
    "Opening",
    "OutsideThread",
    "PartOutline",
    "Recess",
    "RoundHole",
    "RoundSlot",
    "Spaces",
    "Thickness",
    "Thread",
    "Whole",
    "is_a",
    "things_of",
]

NamePath: TypeAlias = tuple[str, ...]


@dataclass(frozen=True)
class Hole:
    """A round hole, seat or counterbore: ``depth`` below its ``face``, None for one right through.

    ``diameter`` is the finished one, aimed at the middle of ``limits`` where the job says a fit; of
    a hole that a thread alone says it is the thread's own, and ``limits`` are what suits it.
    """

    name: str
    place: Point
    diameter: float
    group: str = ""
    depth: float | None = None
    limits: Limits | None = None
    face: Face = "upper"
    at: NamePath = ()
    elsewhere: NamePath = ()

    @property
    def x(self) -> float:
        """Of its middle."""
        return self.place.x

    @property
    def y(self) -> float:
        """Of its middle."""
        return self.place.y


@dataclass(frozen=True)
class Cone:
    """A cone at the mouth of a ``hole`` on ``face``: ``width`` across at the face.

    It bears its hole's names. The angle between its sides is the cutter's.
    """

    hole: Hole
    mouth: Mouth
    width: float
    face: Face
    at: NamePath = ()
    elsewhere: NamePath = ()

    @property
    def name(self) -> str:
        """Its hole's."""
        return self.hole.name

    @property
    def group(self) -> str:
        """Its hole's."""
        return self.hole.group


@dataclass(frozen=True)
class Thread:
    """A thread in a ``hole``, whose names it bears: ``diameter`` over it, its ``pitch``.

    It goes as deep as its hole.
    """

    hole: Hole
    diameter: float
    pitch: float
    at: NamePath = ()
    elsewhere: NamePath = ()

    @property
    def name(self) -> str:
        """Its hole's."""
        return self.hole.name

    @property
    def group(self) -> str:
        """Its hole's."""
        return self.hole.group

    @property
    def face(self) -> Face:
        """Its hole's."""
        return self.hole.face

    @property
    def depth(self) -> float | None:
        """Below the face, None for one right through."""
        return self.hole.depth


@dataclass(frozen=True)
class OutsideThread:
    """The thread ``called`` so on a round post of ``over`` mm, whose name it bears.

    It is full for ``length`` from the post's top, ``depth`` below the face; the post stands
    ``height`` over the lowest floor that is level all round it.
    """

    name: str
    place: Point
    called: str
    over: float
    length: float
    depth: float
    height: float
    face: Face = "upper"
    at: NamePath = ()
    elsewhere: NamePath = ("threads",)

    @property
    def group(self) -> str:
        """It has no like."""
        return self.name


@dataclass(frozen=True)
class Recess:
    """A floor ``depth`` below its ``face``, and the ``area`` over it that is cleared.

    ``group`` is the name of the pocket or slot by which steps speak of it: that with floors at
    several depths, where it is one of them. ``fillet`` is the radius that may be left along walls.
    ``corners`` are those left to a file: the area is without them.
    """

    name: str
    area: Area
    depth: float
    group: str = ""
    fillet: float = 0.0
    face: Face = "upper"
    at: NamePath = ()
    elsewhere: NamePath = ()
    corners: tuple[LeftCorner, ...] = ()

    @property
    def pocket(self) -> str:
        """The name by which steps speak of it."""
        return self.group or self.name


@dataclass(frozen=True)
class Opening:
    """Something cut right through, not round: its closed ``path``, anticlockwise, without the
    ``corners`` that are left to a file."""

    name: str
    path: Path
    group: str = ""
    face: Face = "upper"
    at: NamePath = ()
    elsewhere: NamePath = ()
    corners: tuple[LeftCorner, ...] = ()


@dataclass(frozen=True)
class Flats:
    """Flats round a turned part, ``across`` from one to the other where two lie opposite.

    They reach from ``begin`` to ``end`` along its axis from the free end; each looks towards one of
    the ``angles``, anticlockwise as seen from there.
    """

    name: str
    across: float
    begin: float
    end: float
    angles: tuple[float, ...]
    at: NamePath = ()
    elsewhere: NamePath = ("flats",)
    face: Face = "upper"

    @property
    def group(self) -> str:
        """It has no like."""
        return self.name


@dataclass(frozen=True)
class RoundHole:
    """Holes square to the axis of a turned part, one at each of the ``angles``, all at ``place``
    along it from the free end.

    Each is ``depth`` below the surface there with its full width, None for one through to the bore,
    or right through where there is none. A ``flat`` one ends square, others in a drill's point.
    """

    name: str
    diameter: float
    place: float
    angles: tuple[float, ...]
    depth: float | None = None
    flat: bool = False
    group: str = ""
    at: NamePath = ()
    elsewhere: NamePath = ("holes",)
    face: Face = "upper"

    @property
    def begin(self) -> float:
        """Where its rim begins, from the free end."""
        return self.place - self.diameter / 2

    @property
    def end(self) -> float:
        """Where its rim ends, from the free end."""
        return self.place + self.diameter / 2


@dataclass(frozen=True)
class RoundSlot:
    """Slots along a turned part, one at each of the ``angles``: ``depth`` below its surface.

    They reach from ``begin`` to ``end`` along its axis from the free end, and end in the round of
    a cutter as wide as they are wherever metal stands before or behind.
    """

    name: str
    width: float
    depth: float
    begin: float
    end: float
    angles: tuple[float, ...]
    at: NamePath = ()
    elsewhere: NamePath = ("slots",)
    face: Face = "upper"

    @property
    def group(self) -> str:
        """It has no like."""
        return self.name


@dataclass(frozen=True)
class CrossedOut:
    """The openings between hub, rim and arms of a wheel."""

    word: ClassVar[str] = "crossing"
    paths: tuple[Path, ...]


@dataclass(frozen=True)
class PartOutline:
    """The part's edge, a closed ``path``, anticlockwise; of a toothed part over its tips.

    Its ``corners`` left to a file stand beyond it."""

    word: ClassVar[str] = "outline"
    path: Path
    corners: tuple[LeftCorner, ...] = ()


@dataclass(frozen=True)
class Thickness:
    """The part's ``size`` from face to face; stock that is thicker has a face to be made."""

    word: ClassVar[str] = "thickness"
    size: float


@dataclass(frozen=True)
class Spaces:
    """The spaces between teeth or leaves, ``length`` along the arbor."""

    word: ClassVar[str] = "teeth"
    tooth: Tooth
    length: float


@dataclass(frozen=True)
class Whole:
    """What a part has once and as a whole, ``thing``; it goes by that one's word."""

    thing: CrossedOut | PartOutline | Thickness | Spaces
    at: NamePath = ()

    @property
    def name(self) -> str:
        """What it is."""
        return self.thing.word

    @property
    def group(self) -> str:
        """It has no like."""
        return self.thing.word

    @property
    def elsewhere(self) -> NamePath:
        """What it is, and no sort."""
        return (self.thing.word,)

    @property
    def face(self) -> Face:
        """It is reached from both."""
        return "upper"


Feature: TypeAlias = (
    Hole | Cone | Thread | OutsideThread | Recess | Opening | Flats | RoundHole
    | RoundSlot | Whole)
ThingT = TypeVar("ThingT", CrossedOut, PartOutline, Thickness, Spaces)


def is_a(feature: Feature, kind: type[ThingT]) -> bool:
    """Whether a feature is a whole thing of one kind."""
    return isinstance(feature, Whole) and isinstance(feature.thing, kind)


def things_of(features: Iterable[Feature], kind: type[ThingT]) -> list[ThingT]:
    """Of a part's features, those that are a whole thing of one kind."""
    return [one.thing for one in features
            if isinstance(one, Whole) and isinstance(one.thing, kind)]
