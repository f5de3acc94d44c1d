"""What a program does at one station of a fixture, apart from the others."""

from __future__ import annotations

import dataclasses

import numpy as np

from camgen.reader.motion import Motion, ReadProgram

__all__ = ["at_station"]


def at_station(program: ReadProgram, station: int) -> ReadProgram:
    """The program with the motion at one station only, its events where they come in that.

    Where the cutter stood when it came from another station is not known in this one's frame: such
    a piece is taken to begin where it ends.
    """
    motion = program.motion
    here = motion.station == station
    came = here & np.concatenate(([False], ~here[:-1]))
    start = np.where(came[:, None], motion.end, motion.start)
    arrays = {one.name: getattr(motion, one.name) for one in dataclasses.fields(Motion)}
    kept = {name: values[here] for name, values in {**arrays, "start": start}.items()}
    made = np.concatenate(([0], np.cumsum(here)))
    events = tuple(
        dataclasses.replace(event, before=int(made[event.before])) for event in program.events
    )
    return dataclasses.replace(program, motion=Motion(**kept), events=events)
