"""What a control holds while it carries out a program, and what it has done so far.

Places are kept in the control's own sense of each axis, mm, in the frame of the work offset in
force, without local shifts. ``nan`` is a place nobody knows; ``inf`` along Z is "up, out of the
way".
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import field
from typing import Final

from camgen.messages import Message
from camgen.reader.control.journal import NAN, Journal
from camgen.reader.dialect import Dialect
from camgen.reader.motion import Kind
from camgen.reader.notes import Notes
from camgen.shop.machine import Machine
from camgen.values import dataclass

__all__ = [
    "PLANES",
    "BlockNumbers",
    "Control",
    "CutterPlace",
    "Cycle",
    "Modes",
    "SpindleState",
    "control_of",
    "emit",
    "last_angle",
]

# The two axes of the plane whose normal is X, Y, Z: ISO 841's order, so that anticlockwise turns
# the first towards the second.
PLANES: Final = ((1, 2), (2, 0), (0, 1))


@dataclass(slots=True)
class Modes:
    """How words are read until others say otherwise.

    G words are kept in tenths, −1 where none is in force. ``unit`` mm is what 1 stands for,
    ``feed_unit`` what it stood for when the feed was said; ``plane`` the machine's axis normal to
    arcs.
    """

    unit: float
    centre_absolute: bool
    to_level: bool
    motion: int = -1
    plane: int = 2
    absolute: bool = True
    feed_mode: int = 940
    feed: float = NAN
    feed_unit: float = 1.0


@dataclass(slots=True)
class CutterPlace:
    """Where the cutter stands, and from which zeros that is counted.

    ``lost`` are the axes whose place must be given anew before anything is cut. ``angle`` degrees
    is the head's, ``turned`` whether it ever was, by ``pulses`` where those turn it. ``work`` is
    the work offset in force, ``station`` the one it stands for, from 1.
    """

    position: list[float]
    lost: set[int]
    shift: list[float] = field(default_factory=lambda: [0.0, 0.0, 0.0])
    old_shift: list[float] = field(default_factory=lambda: [0.0, 0.0, 0.0])
    angle: float = 0.0
    turned: bool = False
    pulses: int = 0
    work: int = 0
    station: int = 1


@dataclass(slots=True)
class SpindleState:
    """How the spindle turns, and the cutter in it.

    ``rate`` rev/min, ``step`` that of the belt or gear that is set, 0 where none is known;
    ``sense`` 1 clockwise, -1 anticlockwise, 0 standing. ``selected`` is the cutter got ready,
    ``announced`` the one that a message tells the operator to fit. ``stood`` are the seconds
    waited since it was stopped. ``touched``: what is in it has touched something;
    ``touching`` the axis along which it does, -1 for none; ``still_line`` where it was first fed
    with the spindle still.
    """

    rate: float = 0.0
    sense: int = 0
    cutter: int = 0
    selected: int = 0
    length_offset: int = 0
    announced: int = 0
    announced_text: str = ""
    step: float = 0.0
    stood: float = 0.0
    touched: bool = False
    touching: int = -1
    still_line: int = 0

    @property
    def speed(self) -> float:
        """The spindle's speed, rev/min, signed."""
        return self.sense * self.rate

    @property
    def wrong_length(self) -> bool:
        """Whether no cutter length is in force, or that of a cutter that was taken out."""
        return not self.length_offset or bool(
            self.cutter and self.length_offset != self.cutter)


@dataclass(slots=True)
class Cycle:
    """The words of a fixed cycle that hold on, in mm, and the height it goes back to."""

    words: dict[str, float] = field(default_factory=dict)
    return_level: float | None = None


@dataclass(slots=True)
class BlockNumbers:
    """How block numbers go on; ``counted`` until a subprogram has numbers of its own.

    ``step`` is what they go on by, 0 before it is known and -1 once they have proved uneven.
    """

    counted: bool = True
    first: float = -1.0
    last: float = -1.0
    step: float = 0.0

    def follow(self, line: int, number: float, column: int, notes: Notes) -> None:
        """Note what shows a block lost, doubled or out of its place."""
        last, self.last = self.last, number
        if last < 0:
            self.first = number
            return
        gap = number - last
        if gap <= 0:
            # Where four figures are not enough the numbers start again.
            if number != self.first:
                notes.add(
                    Message("N{number:g} after N{last:g}: a block is doubled or out of its place",
                            number=number, last=last), line, column, sort="block numbers",
                )
        elif self.step == 0:
            self.step = gap
        elif self.step > 0 and gap != self.step:
            notes.add(
                Message("N{number:g} after N{last:g}, where the numbers went on by {step:g}: a "
                        "block may be lost", number=number, last=last, step=self.step), line,
                column,
            )
            self.step = -1.0


@dataclass(slots=True)
class Control:
    """A control while it carries out a program."""

    machine: Machine
    dialect: Dialect
    name: str
    journal: Journal
    modes: Modes
    place: CutterPlace
    spindle: SpindleState = field(default_factory=SpindleState)
    cycle: Cycle = field(default_factory=Cycle)
    numbers: BlockNumbers = field(default_factory=BlockNumbers)
    started: bool = False
    moved_cutting: bool = False
    ended: bool = False


def control_of(machine: Machine, dialect: Dialect, name: str, notes: Notes) -> Control:
    """The control of a machine as it stands when it is switched on."""
    stands_at = machine.offsets.stands_at
    return Control(
        machine, dialect, name, Journal(notes, dialect.signs, dialect.slides),
        Modes(
            unit=25.4 if machine.program.units == "inch" else 1.0,
            centre_absolute=machine.arcs.style == "absolute",
            to_level=machine.cycles.return_level in ("G99", "none"),
            plane=dialect.planes[170],
        ),
        CutterPlace([sign * mm for sign, mm in zip(dialect.signs, stands_at, strict=True)]
              if stands_at is not None else [NAN, NAN, NAN],
              set() if stands_at is not None else {0, 1, 2}),
    )


def last_angle(control: Control) -> float:
    """Where the head stood at the end of the last piece made, degrees."""
    journal = control.journal
    return journal.rows[-1][10] if journal.rows else journal.angle_before


def emit(
    control: Control,
    kind: Kind,
    line: int,
    end: Sequence[float],
    feed: float,
    centre: Sequence[float] = (NAN, NAN, NAN),
    turns: int = 0,
) -> None:
    """Make one piece of motion."""
    place, spindle = control.place, control.spindle
    control.journal.rows.append(
        (
            float(kind), float(line), end[0], end[1], end[2], centre[0], centre[1], centre[2],
            float(control.modes.plane), float(turns), place.angle, feed,
            spindle.sense * spindle.rate, float(spindle.cutter), float(place.station),
        )
    )
