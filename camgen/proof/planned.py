"""Planned moves laid out as motion, so that what was read back can be held against them.

Only the plan's own meaning is used here: how a hole, an index or a section is to be made.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from camgen.moves import Arc, Drill, Dwell, Feed, Index, Pause, Plane, Rapid, SetupMoves
from camgen.proof.way import Ints
from camgen.reader.motion import Kind, Motion

__all__ = ["Planned", "lay_out"]

_AXES: dict[Plane, tuple[int, int, int]] = {"XY": (0, 1, 2), "YZ": (1, 2, 0), "ZX": (2, 0, 1)}


@dataclass(frozen=True)
class Planned:
    """What is meant: ``motion`` with the section of each piece in place of the line.

    ``section`` (n,) the number of the section; ``pauses`` how many pieces come before each stop
    that is asked for, ``changes`` the same for each change of cutter; ``dwells`` how many waits;
    ``spaces`` the numbers of the tooth spaces turned to, in order.
    """

    motion: Motion
    section: Ints
    pauses: tuple[int, ...] = ()
    changes: tuple[int, ...] = ()
    dwells: int = 0
    spaces: tuple[int, ...] = ()


@dataclass
class _Pen:
    """Where the laying out has got to, and the rows it has made."""

    at: tuple[float, float, float] = (np.nan, np.nan, np.nan)
    angle: float = 0.0
    kind: list[int] = field(default_factory=list)
    end: list[tuple[float, float, float]] = field(default_factory=list)
    centre: list[tuple[float, float, float]] = field(default_factory=list)
    plane: list[int] = field(default_factory=list)
    turned: list[tuple[float, float]] = field(default_factory=list)
    feed: list[float] = field(default_factory=list)
    section: list[int] = field(default_factory=list)

    def go(
        self,
        kind: Kind,
        section: int,
        to: tuple[float | None, float | None, float | None],
        feed: float = np.nan,
        centre: tuple[float, float, float] = (np.nan, np.nan, np.nan),
        plane: int = 2,
    ) -> None:
        """One piece to ``to``; ``None`` leaves an axis where it is."""
        old = self.at
        end = (
            old[0] if to[0] is None else to[0],
            old[1] if to[1] is None else to[1],
            old[2] if to[2] is None else to[2],
        )
        self.kind.append(kind)
        self.end.append(end)
        self.centre.append(centre)
        self.plane.append(plane)
        self.turned.append((self.angle, self.angle))
        self.feed.append(feed)
        self.section.append(section)
        self.at = end

    def turn(self, section: int, degrees: float) -> None:
        """One index."""
        before = self.angle
        self.go(Kind.INDEX, section, (None, None, None))
        self.turned[-1] = (before, degrees)
        self.angle = degrees


def lay_out(moves: SetupMoves) -> Planned:
    """The plan's moves as motion arrays; ``line`` counts the planned moves from 1.

    A hole is made as :class:`camgen.moves.Drill` says: above it, down to the clearance, in bites
    to the bottom, out to the travel height. A place not known before the first moves is taken to
    be the first one given, as the reader of programs does; one never given is nan.
    """
    pen = _Pen()
    pauses: list[int] = []
    changes: list[int] = []
    spaces: list[int] = []
    dwells, in_spindle = 0, 0
    number: list[int] = []
    count = 0
    for place, section in enumerate(moves.sections):
        if section.cutter_number != in_spindle:
            changes.append(len(pen.kind))
            in_spindle = section.cutter_number
        for move in section.moves:
            count += 1
            if isinstance(move, Rapid):
                pen.go(Kind.RAPID, place, (move.x, move.y, move.z))
            elif isinstance(move, Feed):
                pen.go(Kind.LINE, place, (move.x, move.y, move.z), move.feed)
            elif isinstance(move, Arc):
                _arc(pen, place, move)
            elif isinstance(move, Drill):
                _drill(pen, place, move)
                dwells += move.dwell > 0
            elif isinstance(move, Index):
                pen.turn(place, move.degrees)
                if move.space:
                    spaces.append(move.space)
            elif isinstance(move, Dwell):
                dwells += 1
            elif isinstance(move, Pause) and not move.optional:
                pauses.append(len(pen.kind))
            number.extend([count] * (len(pen.kind) - len(number)))
    n = len(pen.kind)
    places = np.array([(np.nan,) * 3, *pen.end], dtype=np.float64)
    for axis in range(3):
        known = np.nonzero(np.isfinite(places[:, axis]))[0]
        if len(known):
            places[: known[0], axis] = places[known[0], axis]
    section_of = np.array(pen.section, dtype=np.int64)
    turned = np.array(pen.turned, dtype=np.float64).reshape(n, 2)
    speeds = np.array(
        [s.rpm if s.clockwise else -s.rpm for s in moves.sections], dtype=np.float64
    )
    cutters = np.array([s.cutter_number for s in moves.sections], dtype=np.int64)
    motion = Motion(
        kind=np.array(pen.kind, dtype=np.int64),
        line=np.array(number, dtype=np.int64),
        start=places[:-1],
        end=places[1:],
        centre=np.array(pen.centre, dtype=np.float64).reshape(n, 3),
        plane=np.array(pen.plane, dtype=np.int64),
        turns=np.zeros(n, dtype=np.int64),
        angle_start=turned[:, 0],
        angle_end=turned[:, 1],
        feed=np.array(pen.feed, dtype=np.float64),
        speed=speeds[section_of] if n else np.zeros(0),
        cutter=cutters[section_of] if n else np.zeros(0, dtype=np.int64),
    )
    return Planned(
        motion, section_of, tuple(pauses), tuple(changes), dwells, tuple(spaces)
    )


def _arc(pen: _Pen, section: int, arc: Arc) -> None:
    """An arc, unless it ends where it starts and is not meant to be a full circle."""
    first, second, normal = _AXES[arc.plane]
    centre = [np.nan, np.nan, np.nan]
    centre[first], centre[second] = arc.centre
    kind = Kind.ARC_CLOCKWISE if arc.clockwise else Kind.ARC_ANTICLOCKWISE
    to = (arc.x, arc.y, arc.z)
    same = all(
        to[axis] is None or abs(to[axis] - pen.at[axis]) < 1e-9  # type: ignore[operator]
        for axis in (first, second)
    )
    if same and not arc.full:
        if to[normal] is None:
            return
        kind = Kind.LINE
        centre = [np.nan, np.nan, np.nan]
    pen.go(kind, section, to, arc.feed, (centre[0], centre[1], centre[2]), normal)


def _drill(pen: _Pen, section: int, hole: Drill) -> None:
    """One hole, move by move."""
    pen.go(Kind.RAPID, section, (None, None, hole.travel))
    pen.go(Kind.RAPID, section, (hole.x, hole.y, None))
    pen.go(Kind.RAPID, section, (None, None, hole.clearance))
    depth = hole.clearance
    while depth > hole.bottom + 1e-9:
        bite = hole.bottom if hole.peck <= 0 else max(hole.bottom, depth - hole.peck)
        if depth < hole.clearance:
            back = depth + hole.peck_gap
            pen.go(Kind.RAPID, section, (None, None, hole.clearance))
            if back < hole.clearance:
                pen.go(Kind.RAPID, section, (None, None, back))
        pen.go(Kind.LINE, section, (None, None, bite), hole.feed)
        depth = bite
    if hole.feed_out:
        pen.go(Kind.LINE, section, (None, None, hole.clearance), hole.feed)
    pen.go(Kind.RAPID, section, (None, None, hole.travel))
