"""Planned moves: what the cutter is meant to do, in no machine's dialect.

All lengths are millimetres in the setup's own frame (right-handed, ISO 841), angles degrees, feeds
mm/min, times seconds. A coordinate left as ``None`` stays where it is. Steps make sections of
moves; post-processors write them; nothing here knows either.
"""

from __future__ import annotations

from typing import Literal, TypeAlias

from camgen.messages import NOTHING, Message
from camgen.values import dataclass

__all__ = [
    "Arc",
    "Axis",
    "Drill",
    "Dwell",
    "Feed",
    "Index",
    "Move",
    "Pause",
    "Plane",
    "Rapid",
    "Remark",
    "Section",
    "SetupMoves",
    "Station",
    "Touch",
]

Axis: TypeAlias = Literal["X", "Y", "Z"]
Plane: TypeAlias = Literal["XY", "ZX", "YZ"]


@dataclass(frozen=True, slots=True)
class Rapid:
    """Move at the axes' own rates. Each axis may arrive in its own time: the path is dog-legged."""

    x: float | None = None
    y: float | None = None
    z: float | None = None


@dataclass(frozen=True, slots=True)
class Feed:
    """Straight move at ``feed`` mm/min along the path."""

    feed: float
    x: float | None = None
    y: float | None = None
    z: float | None = None


@dataclass(frozen=True, slots=True)
class Arc:
    """Circular or helical move at ``feed`` mm/min to the end point ``x, y, z``.

    ``centre`` is absolute, in the plane's two axes in the order the plane names them (ZX: z first).
    ``clockwise`` is seen from the positive end of the axis normal to the plane (ISO 6983-1). A full
    circle ends where it starts and has ``full`` set: without it such an arc is nothing.
    """

    feed: float
    centre: tuple[float, float]
    clockwise: bool
    x: float | None = None
    y: float | None = None
    z: float | None = None
    plane: Plane = "XY"
    full: bool = False


@dataclass(frozen=True, slots=True)
class Drill:
    """A hole along Z at ``x, y``: rapid above it, rapid to ``clearance``, feed to ``bottom``, out.

    ``peck`` is the depth of one bite, 0 for a single stroke; each peck comes out to ``clearance``
    and goes back to ``peck_gap`` above the last depth. ``feed_out`` is true for reaming and boring:
    come out at the feed rather than at the rapid. ``travel`` is the height moved at between holes.
    ``reverses`` for tapping: the spindle is turned the other way at the bottom, and comes out so.
    ``aside`` for a boring bar: the spindle is stopped where its tip points one way, the bar moved
    so far in X and Y off the wall, drawn out to ``travel`` at the rapid, and moved back there.
    With ``quick``, mm/min, it is fed so fast from ``clearance`` down to ``near`` (Z), a little over
    the metal; bites then begin there, and a feed out ends there.
    """

    x: float
    y: float
    clearance: float
    bottom: float
    feed: float
    travel: float
    peck: float = 0.0
    peck_gap: float = 0.1
    dwell: float = 0.0
    feed_out: bool = False
    reverses: bool = False
    aside: tuple[float, float] = (0.0, 0.0)
    quick: float = 0.0
    near: float = 0.0

    @property
    def begun(self) -> float:
        """The Z from which it is fed as a hole is."""
        return self.near if self.quick else self.clearance


@dataclass(frozen=True, slots=True)
class Index:
    """Turn the dividing head to ``degrees`` from the setup's zero, counted on without wrapping.

    ``space`` is the number of the tooth space about to be cut, from 1; 0 for a take-up move.
    ``setting`` says the same for a head turned by hand: turns, holes, circle. The post-processor
    writes it as a message with a stop where the machine has no driven axis. ``stands`` says where
    the pin is then, for whoever begins there.
    """

    degrees: float
    space: int = 0
    setting: Message = NOTHING
    stands: Message = NOTHING


@dataclass(frozen=True, slots=True)
class Station:
    """Go on at station ``number`` of a fixture, from 1: all that follows is counted from its zero.

    Comes where the cutter is clear. The next moves go to the clear position first, then across.
    """

    number: int


@dataclass(frozen=True, slots=True)
class Touch:
    """Along one axis until the probe in the spindle touches, meant to be where ``axis`` is ``to``.

    No further than ``beyond`` mm past that, by ``sign`` to greater or smaller places. What is
    touched then stands at ``to``: the zero of that axis is set so, and the probe is still there.
    """

    axis: Axis
    sign: Literal[1, -1]
    to: float
    beyond: float
    feed: float


@dataclass(frozen=True, slots=True)
class Dwell:
    """Stay where the cutter is for ``seconds``."""

    seconds: float


@dataclass(frozen=True, slots=True)
class Pause:
    """Stop the program until the operator goes on; spindle and position are the machine's care.

    ``turned`` says where a head turned by hand stands from then on, where the operator turns it.
    """

    message: Message
    optional: bool = False
    turned: Index | None = None


@dataclass(frozen=True, slots=True)
class Remark:
    """A short note in the program text; moves nothing."""

    text: Message


Move: TypeAlias = (
    Rapid | Feed | Arc | Drill | Touch | Index | Station | Dwell | Pause | Remark
)


@dataclass(frozen=True, slots=True)
class Section:
    """One step's moves, by one cutter at one speed.

    ``step`` is the place of the step in the setup, from 0. ``cutter_text`` is what the operator is
    told at a change, such as ``END MILL D0.4``. ``clockwise`` is the spindle's sense seen from the
    spindle towards the work (M3). ``reach`` is the cutter's free length in mm. ``to_clear`` is the
    metal that a pocket's step takes, mm³, ``finishing`` the length of its last passes along walls
    over their planned feed, s.
    """

    title: Message
    step: int
    cutter: str
    cutter_number: int
    cutter_text: Message
    rpm: float
    moves: tuple[Move, ...]
    clockwise: bool = True
    coolant: bool = False
    air: bool = False
    to_clear: float = 0.0
    finishing: float = 0.0


@dataclass(frozen=True, slots=True)
class SetupMoves:
    """Everything one program does: the sections in order, and the plane it may travel in.

    ``retract_axis`` and ``retract_to`` say how to get clear: Z and the safe height for flat work,
    the infeed axis and its clear position for tooth cutting. The first and last moves of every
    section go there. ``notes`` stand before the first block of every program, ``standing``, which
    says how work and head stand, of the first one alone. ``set_anew`` are the axes whose zero hangs
    on the cutter that is fitted, where that is more than the retract axis.
    """

    title: str
    sections: tuple[Section, ...]
    retract_axis: Axis = "Z"
    retract_to: float = 5.0
    notes: tuple[Message, ...] = ()
    standing: tuple[Message, ...] = ()
    set_anew: str = ""

    @property
    def zeros_of_cutter(self) -> str:
        """The axes whose zero is set for each cutter."""
        return self.set_anew or self.retract_axis
