"""What a program does at one station of a fixture, apart from the others."""

from __future__ import annotations

import dataclasses

import numpy as np

from camgen.arrays import Flags
from camgen.reader.motion import Motion, ReadProgram

__all__ = ["at_station", "share_of"]


def at_station(program: ReadProgram, station: int) -> ReadProgram:
    """The program with the motion at one station only, its events where they come in that.

    What else the control is told is left out: it is told once for all stations.

    Where the cutter stood when it came from another station is not known in this one's frame: it is
    taken to stand where it left this station, at first where it comes to.
    """
    return share_of(program, program.motion.station == station)


def share_of(program: ReadProgram, here: Flags) -> ReadProgram:
    """The program with some of its motion only, ``here`` (n,) true for that.

    Between its visits the cutter is taken to stand where it left, at first where it comes to.
    """
    motion = program.motion
    kept = {one.name: getattr(motion, one.name)[here] for one in dataclasses.fields(Motion)}
    rows = np.flatnonzero(here)
    came = np.flatnonzero(np.diff(rows, prepend=-1) > 1)
    start, end = kept["start"].copy(), kept["end"]
    start[came] = end[np.where(came > 0, came - 1, came)]
    made = np.concatenate(([0], np.cumsum(here)))
    events = tuple(
        dataclasses.replace(event, before=int(made[event.before])) for event in program.events
    )
    return dataclasses.replace(program, motion=Motion(**{**kept, "start": start}), events=events,
                               told=())
