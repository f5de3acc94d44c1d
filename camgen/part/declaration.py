"""What a kind of step says of itself, so that nobody need ask its name.

It says what it makes and of what size, what it must find there already, what it may leave standing
and what corrections it takes. Job checks, the order of steps, sheet and proofs read that; none of
them knows the kinds. Everything is said in the words of the step alone: which features of a part
those are, and how wide a cutter is, is found where the job is known. Lengths mm.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal, TypeAlias

from camgen.shop.cutters import Ability
from camgen.values import dataclass

__all__ = [
    "AtHoles",
    "Correction",
    "Declaration",
    "FindsHoles",
    "LeavesAllowance",
    "LeavesSkin",
    "LeavesTabs",
    "Left",
    "Made",
    "MakesCones",
    "MakesCrossing",
    "MakesFace",
    "MakesFlats",
    "MakesHoles",
    "MakesMarks",
    "MakesOpenings",
    "MakesOutline",
    "MakesOutsideThreads",
    "MakesPockets",
    "MakesSlotsRound",
    "MakesSpaces",
    "MakesThreads",
    "Named",
    "SetsZero",
]


@dataclass(frozen=True)
class Named:
    """Which features of their sort a step means: those named, else all that there are."""

    names: tuple[str, ...] | None = None

    def means(self, name: str, group: str = "") -> bool:
        """Whether a feature is meant, by its own name or by the one that it shares with its like.

        >>> Named(("feet",)).means("feet-2", "feet"), Named(()).means("feet-2", "feet")
        (True, False)
        """
        return self.names is None or name in self.names or bool(group and group in self.names)

    def means_some_of(self, name: str) -> bool:
        """Whether a feature is meant, or one of several that were numbered under its name.

        >>> Named(("window-2",)).means_some_of("window")
        True
        """
        return self.means(name) or any(
            one.startswith(f"{name}-") for one in self.names or ())


# --- what is made ---------------------------------------------------------------------------------


@dataclass(frozen=True)
class MakesHoles:
    """Round holes, from the face that looks up down to ``depth``, else to the end of each.

    ``size`` tells whether they become as wide as each shall be, or as the cutter is; ``more`` is
    what the job asked to be added to the diameter. A ``pointed`` cutter is narrower at its end: of
    a hole of its own size it makes the whole depth with its full width, of a wider one not.
    ``round`` is true where the cutter is smaller and goes round in the hole.
    """

    holes: Named
    size: Literal["as asked", "as the cutter"]
    depth: float | None = None
    more: float = 0.0
    pointed: bool = False
    round: bool = False


@dataclass(frozen=True)
class MakesMarks:
    """Cones cut at round holes, in metal that they take away later.

    They are ``depth`` mm deep, else at the face at most that ``share`` of the hole wide.
    """

    holes: Named
    depth: float | None = None
    share: float = 1.0


@dataclass(frozen=True)
class MakesCones:
    """Cones at the mouths of those holes that shall have one, on the face that looks up."""

    holes: Named


@dataclass(frozen=True)
class MakesThreads:
    """Threads in those holes that shall have one; of the size ``called`` so, else the cutter's.

    Full down to ``depth``, else as deep as each hole is; ``lead`` is how far the cutter goes
    below the last full thread, None where the job leaves it at what is usual for the cutter.
    ``round`` as of holes.
    """

    holes: Named
    called: str | None = None
    depth: float | None = None
    lead: float | None = 0.0
    round: bool = False


@dataclass(frozen=True)
class MakesPockets:
    """Pockets and slots to a depth, on the face that looks up."""

    pockets: Named


@dataclass(frozen=True)
class MakesOpenings:
    """Openings of a plate and slots, right through."""

    openings: Named


@dataclass(frozen=True)
class MakesCrossing:
    """The openings between hub, rim and arms of a wheel, right through."""


@dataclass(frozen=True)
class MakesOutline:
    """The part's edge, right through."""


@dataclass(frozen=True)
class MakesOutsideThreads:
    """Threads outside, on those posts that shall have one; where it names none, on those whose
    thread has the cutter's pitch."""

    posts: Named


@dataclass(frozen=True)
class MakesFace:
    """The face that looks up, over all of the stock; ``to`` is the thickness left, else the part's.
    """

    to: float | None = None


Milling: TypeAlias = Literal["climb", "conventional"]


@dataclass(frozen=True)
class MakesSpaces:
    """The spaces between teeth or leaves, right across the stack.

    Of the first, ``trials`` are cut before a pause to measure, and ``short`` of the depth by so
    much, mm, where they are cut again with the others. Where it ``leaves`` so much at their roots,
    mm, they are only roughed, within their form, and a later step forms them. ``milling`` is what
    is asked for, None where either may be. ``cuts`` is which of the ways that the teeth's form has
    it goes, "" for the first.
    """

    trials: int = 0
    short: float = 0.0
    leaves: float | None = None
    milling: Milling | None = None
    cuts: str = ""


@dataclass(frozen=True)
class MakesFlats:
    """Flats round a turned part."""

    flats: Named


@dataclass(frozen=True)
class MakesSlotsRound:
    """Slots along a turned part."""

    slots: Named


@dataclass(frozen=True)
class SetsZero:
    """No metal: the zero of these ``axes`` set by what stands there."""

    axes: tuple[Literal["X", "Y", "Z"], ...]


AtHoles: TypeAlias = MakesHoles | MakesMarks | MakesCones | MakesThreads
Made: TypeAlias = (
    AtHoles | MakesPockets | MakesOpenings | MakesCrossing | MakesOutline | MakesFace | MakesSpaces
    | MakesOutsideThreads | MakesFlats | MakesSlotsRound | SetsZero
)


# --- what is found, left and corrected ------------------------------------------------------------


@dataclass(frozen=True)
class FindsHoles:
    """Holes that are open already, as deep as the step goes: to ``depth``, else to their ends.

    They must have ``room`` for the end of the ``cutter``, as its record has it; or be of the size
    that the ``hole`` shall have; or for ``none``, where the cutter may meet solid metal. ``said``
    is the diameter that the job says they have, by the step's ``word``; where it says none, what
    the steps before made is taken.
    """

    holes: Named
    room: Literal["cutter", "hole", "none"]
    said: float | None = None
    depth: float | None = None
    word: str = "drilled"


@dataclass(frozen=True)
class LeavesTabs:
    """Bridges that hold a loose piece, cut by hand afterwards."""

    count: int
    width: float
    height: float


@dataclass(frozen=True)
class LeavesSkin:
    """What is left below for good, cut by hand afterwards."""

    thickness: float


@dataclass(frozen=True)
class LeavesAllowance:
    """What is left on walls or floors for a later step, where the job says so."""

    on: Literal["walls", "floor"]
    amount: float


Left: TypeAlias = LeavesTabs | LeavesSkin | LeavesAllowance


@dataclass(frozen=True)
class Correction:
    """What a measured piece asked for: ``value`` of the step's ``word``, at most ``most`` of it.

    It is ``added`` to the metal left on each wall, to the diameter or to the depth.
    """

    word: str
    value: float
    added: Literal["wall", "diameter", "depth"]
    most: float


@dataclass(frozen=True)
class Declaration:
    """What one step says of itself: what it makes, and ``by`` a cutter that can do one of these.

    ``makes`` is never empty: a step that makes nothing is none.
    """

    makes: tuple[Made, ...]
    by: tuple[Ability, ...]
    finds: tuple[FindsHoles, ...] = ()
    leaves: tuple[Left, ...] = ()
    corrections: tuple[Correction, ...] = ()

    def __post_init__(self) -> None:
        """A step that makes nothing says nothing of itself."""
        if not self.makes or not self.by:
            raise ValueError("a step must declare what it makes, and by which cutters")

    @property
    def holes(self) -> Iterator[MakesHoles]:
        """The round holes that it makes."""
        return (one for one in self.makes if isinstance(one, MakesHoles))

    @property
    def threads(self) -> Iterator[MakesThreads]:
        """The threads that it makes."""
        return (one for one in self.makes if isinstance(one, MakesThreads))

    @property
    def at_holes(self) -> Iterator[AtHoles]:
        """All that it makes at the places of round holes."""
        return (one for one in self.makes
                if isinstance(one, MakesHoles | MakesMarks | MakesCones | MakesThreads))

    @property
    def held_by(self) -> LeavesTabs | LeavesSkin | None:
        """What holds the loose piece once it is done; None where nothing of the stock does."""
        return next((one for one in self.leaves if isinstance(one, LeavesTabs | LeavesSkin)), None)

    def added(self, to: Literal["wall", "diameter", "depth"]) -> float:
        """What its corrections add to that, together; 0 where it takes none."""
        return sum(one.value for one in self.corrections if one.added == to)

    @property
    def way_of_spaces(self) -> str | None:
        """Which way of the teeth's form it goes, "" for the first; None where it cuts no spaces."""
        return next((one.cuts for one in self.makes if isinstance(one, MakesSpaces)), None)

    @property
    def roughs_spaces(self) -> float | None:
        """What it leaves at the roots of spaces that it only roughs, mm; None where it does not."""
        return next((one.leaves for one in self.makes if isinstance(one, MakesSpaces)), None)

    @property
    def forms_spaces(self) -> bool:
        """Whether the spaces of the teeth have their form after it."""
        return any(isinstance(one, MakesSpaces) and one.leaves is None for one in self.makes)

    def makes_a(self, *sorts: type[Made]) -> bool:
        """Whether it makes something of one of these sorts."""
        return any(isinstance(one, sorts) for one in self.makes)
