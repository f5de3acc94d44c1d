"""Planned moves laid out as motion, so that what was read back can be held against them.

Only the plan's own meaning is used here: how a hole, an index or a section is to be made.
"""

from __future__ import annotations

from dataclasses import field

import numpy as np

from camgen.arrays import Ints
from camgen.messages import Message
from camgen.moves import (
    Arc,
    Drill,
    Dwell,
    Feed,
    Index,
    Move,
    Pause,
    Plane,
    Rapid,
    SetupMoves,
    Station,
    Touch,
)
from camgen.reader.motion import Kind, Motion
from camgen.values import dataclass

__all__ = ["Planned", "lay_out"]

_AXES: dict[Plane, tuple[int, int, int]] = {"XY": (0, 1, 2), "YZ": (1, 2, 0), "ZX": (2, 0, 1)}


@dataclass(frozen=True)
class Planned:
    """What is meant: ``motion`` with the section of each piece in place of the line.

    ``section`` (n,) the number of the section; ``pauses`` how many pieces come before each stop
    that is asked for, ``messages`` what the operator is told there; ``trials`` the same for stops
    that the operator may leave out, ``changes`` for each change of cutter, ``dwells`` for each
    wait, ``waits`` its seconds; ``turned`` for each turn of the spindle the other way, or its stop,
    in the work; ``spaces`` the numbers of the tooth spaces turned to, in order.
    """

    motion: Motion
    section: Ints
    pauses: tuple[int, ...] = ()
    messages: tuple[Message, ...] = ()
    trials: tuple[int, ...] = ()
    changes: tuple[int, ...] = ()
    dwells: tuple[int, ...] = ()
    waits: tuple[float, ...] = ()
    turned: tuple[int, ...] = ()
    spaces: tuple[int, ...] = ()


NAN = float("nan")
_RAPID, _LINE, _INDEX = float(Kind.RAPID), float(Kind.LINE), float(Kind.INDEX)
_SENSES = {True: float(Kind.ARC_CLOCKWISE), False: float(Kind.ARC_ANTICLOCKWISE)}


@dataclass
class _Pen:
    """Where the laying out has got to, and the rows it has made.

    A row is kind, end (3), centre (3), plane, angle before and after, feed, section, move, station,
    and whether the spindle turns as the section says, 1, or the other way, -1, or stands, 0.
    """

    x: float = NAN
    y: float = NAN
    z: float = NAN
    angle: float = 0.0
    section: int = 0
    move: int = 0
    station: int = 1
    sense: float = 1.0
    rows: list[tuple[float, ...]] = field(default_factory=list)
    pauses: list[int] = field(default_factory=list)
    messages: list[Message] = field(default_factory=list)
    trials: list[int] = field(default_factory=list)
    dwells: list[int] = field(default_factory=list)
    waits: list[float] = field(default_factory=list)
    turned: list[int] = field(default_factory=list)
    spaces: list[int] = field(default_factory=list)

    def go(
        self, kind: float, x: float | None, y: float | None, z: float | None, feed: float = NAN,
        centre: tuple[float, float, float] = (NAN, NAN, NAN), plane: int = 2,
    ) -> None:
        """One piece to a point; ``None`` leaves an axis where it is."""
        if x is not None:
            self.x = x
        if y is not None:
            self.y = y
        if z is not None:
            self.z = z
        self.rows.append(
            (kind, self.x, self.y, self.z, *centre, plane, self.angle, self.angle, feed,
             self.section, self.move, self.station, self.sense)
        )

    def turn(self, degrees: float) -> None:
        """One index."""
        self.rows.append(
            (_INDEX, self.x, self.y, self.z, NAN, NAN, NAN, 2, self.angle, degrees, NAN,
             self.section, self.move, self.station, self.sense)
        )
        self.angle = degrees

    def go_on_at(self, station: int) -> None:
        """Another station: where the cutter stands, counted from its zero, nobody knows."""
        self.station = station
        self.x = self.y = self.z = NAN


def lay_out(moves: SetupMoves) -> Planned:
    """The plan's moves as motion arrays; ``line`` counts the planned moves from 1.

    A hole is made as :class:`camgen.moves.Drill` says: above it, down to the clearance, in bites
    to the bottom, out to the travel height. A place not known before the first moves is taken to
    be the first one given, as the reader of programs does; one never given is nan.
    """
    pen = _Pen()
    changes: list[int] = []
    in_spindle = 0
    for place, section in enumerate(moves.sections):
        pen.section = place
        if section.cutter_number != in_spindle:
            changes.append(len(pen.rows))
            in_spindle = section.cutter_number
        for move in section.moves:
            pen.move += 1
            _lay(pen, move)
    motion, section_of = _motion(pen, moves)
    return Planned(motion, section_of, tuple(pen.pauses), tuple(pen.messages), tuple(pen.trials),
                   tuple(changes), tuple(pen.dwells), tuple(pen.waits), tuple(pen.turned),
                   tuple(pen.spaces))


def _lay(pen: _Pen, move: Move) -> None:
    """One move, as pieces or as what is done between them."""
    if isinstance(move, Arc):
        _arc(pen, move)
    elif isinstance(move, Feed):
        pen.go(_LINE, move.x, move.y, move.z, move.feed)
    elif isinstance(move, Rapid):
        pen.go(_RAPID, move.x, move.y, move.z)
    elif isinstance(move, Drill):
        _drill(pen, move)
    elif isinstance(move, Touch):
        x, y, z = (move.to if move.axis == axis else None for axis in "XYZ")
        pen.go(_LINE, x, y, z, move.feed)
    elif isinstance(move, Index):
        pen.turn(move.degrees)
        if move.space:
            pen.spaces.append(move.space)
    elif isinstance(move, Station):
        pen.go_on_at(move.number)
    elif isinstance(move, Dwell):
        pen.dwells.append(len(pen.rows))
        pen.waits.append(move.seconds)
    elif isinstance(move, Pause) and move.optional:
        pen.trials.append(len(pen.rows))
    elif isinstance(move, Pause):
        pen.pauses.append(len(pen.rows))
        pen.messages.append(move.message)


def _motion(pen: _Pen, moves: SetupMoves) -> tuple[Motion, Ints]:
    """The rows as arrays, and the section of each."""
    table = np.array(pen.rows, dtype=np.float64).reshape(len(pen.rows), 15)
    places = np.concatenate([np.full((1, 3), NAN), table[:, 1:4]])
    for axis in range(3):
        # At the beginning, and where a station's zero is new: the first place given after it.
        known = np.nonzero(np.isfinite(places[:, axis]))[0]
        if len(known):
            after = known[np.minimum(np.searchsorted(known, np.arange(len(places))),
                                     len(known) - 1)]
            gaps = np.isnan(places[:, axis])
            gaps[known[-1]:] = False
            places[gaps, axis] = places[after[gaps], axis]
    section_of = table[:, 11].astype(np.int64)
    speeds = np.array([s.rpm if s.clockwise else -s.rpm for s in moves.sections] or [0.0])
    cutters = np.array([s.cutter_number for s in moves.sections] or [0], dtype=np.int64)
    motion = Motion(
        kind=table[:, 0].astype(np.int64),
        line=table[:, 12].astype(np.int64),
        start=places[:-1],
        end=places[1:],
        centre=table[:, 4:7],
        plane=table[:, 7].astype(np.int64),
        turns=np.zeros(len(table), dtype=np.int64),
        angle_start=table[:, 8],
        angle_end=table[:, 9],
        feed=table[:, 10],
        speed=speeds[section_of] * table[:, 14],
        cutter=cutters[section_of],
        station=table[:, 13].astype(np.int64),
    )
    return motion, section_of


def _arc(pen: _Pen, arc: Arc) -> None:
    """An arc; one that ends where it starts and is no full circle is a straight move or none."""
    first, second, normal = _AXES[arc.plane]
    if not arc.full:
        at, to = (pen.x, pen.y, pen.z), (arc.x, arc.y, arc.z)
        u, v = to[first], to[second]
        if (u is None or abs(u - at[first]) < 1e-9) and (v is None or abs(v - at[second]) < 1e-9):
            if to[normal] is not None:
                pen.go(_LINE, arc.x, arc.y, arc.z, arc.feed)
            return
    a, b = arc.centre
    centre = (a, b, NAN) if normal == 2 else (NAN, a, b) if normal == 0 else (b, NAN, a)
    pen.go(_SENSES[arc.clockwise], arc.x, arc.y, arc.z, arc.feed, centre, normal)


def _drill(pen: _Pen, hole: Drill) -> None:
    """One hole, move by move."""
    pen.go(_RAPID, None, None, hole.travel)
    pen.go(_RAPID, hole.x, hole.y, None)
    pen.go(_RAPID, None, None, hole.clearance)
    if hole.quick:
        pen.go(_LINE, None, None, hole.near, hole.quick)
    depth = hole.begun
    while depth > hole.bottom + 1e-9:
        bite = hole.bottom if hole.peck <= 0 else max(hole.bottom, depth - hole.peck)
        if depth < hole.begun:
            back = depth + hole.peck_gap
            pen.go(_RAPID, None, None, hole.clearance)
            if back < hole.clearance:
                pen.go(_RAPID, None, None, back)
        pen.go(_LINE, None, None, bite, hole.feed)
        depth = bite
    if hole.dwell > 0:
        pen.dwells.append(len(pen.rows))
        pen.waits.append(hole.dwell)
    if hole.reverses or hole.aside != (0.0, 0.0):
        pen.turned.append(len(pen.rows))
    pen.sense = -1.0 if hole.reverses else 1.0
    if hole.feed_out:
        pen.go(_LINE, None, None, hole.begun, hole.feed)
    if hole.reverses:
        pen.turned.append(len(pen.rows))
    pen.sense = 1.0
    if hole.aside != (0.0, 0.0):
        pen.sense = 0.0
        pen.go(_RAPID, hole.x + hole.aside[0], hole.y + hole.aside[1], None)
        pen.go(_RAPID, None, None, hole.travel)
        pen.go(_RAPID, hole.x, hole.y, None)
        pen.sense = 1.0
    pen.go(_RAPID, None, None, hole.travel)
