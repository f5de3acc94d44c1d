"""Several programs that are run one after another, as one: the parts of what is too long for one.

Each part starts and ends by itself: it says its words anew, goes clear at its end, and the next
comes back to where that one left off. Where they join is kept, so that a comparison can leave out
what is only there because the program was split.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from camgen.reader.motion import Event, Figure, Finding, Kind, Motion, ReadProgram, Told
from camgen.values import dataclass

__all__ = ["Together", "joint_zones", "together"]


@dataclass(frozen=True)
class Together:
    """Programs as one: ``joints`` the pieces of motion made before each part but the first."""

    program: ReadProgram
    joints: tuple[int, ...] = ()


def together(programs: Sequence[ReadProgram]) -> Together:
    """The programs one after another; their lines are counted on (see :meth:`.ReadProgram.where`).

    Raises ValueError when there are none.
    """
    if not programs:
        raise ValueError("no programs to put together")
    if len(programs) == 1:
        return Together(programs[0])
    lines: list[str] = []
    motions: list[Motion] = []
    events: list[Event] = []
    told: list[Event | Told] = []
    findings: list[Finding] = []
    words: dict[str, int] = {}
    unsure: dict[Figure, int] = {}
    files: list[tuple[str, int]] = []
    joints: list[int] = []
    made = 0
    for program in programs:
        before = len(lines)
        if before:
            files.append((program.name, before))
            joints.append(made)
        files.extend((name, first + before) for name, first in program.files)
        lines.extend(program.lines)
        motions.append(replace(program.motion, line=program.motion.line + before))
        events.extend(
            replace(event, line=event.line + before, before=event.before + made)
            for event in program.events
        )
        told.extend(replace(one, line=one.line + before, before=one.before + made)
                    for one in program.told)
        findings.extend(replace(found, line=found.line + before) for found in program.findings)
        for word, count in program.words.items():
            words[word] = words.get(word, 0) + count
        for figure, line in program.unsure:
            unsure.setdefault(figure, line + before)
        made += len(program.motion)
    first = programs[0]
    whole = ReadProgram(
        name=first.name,
        lines=tuple(lines),
        motion=Motion(**{
            name: np.concatenate([getattr(motion, name) for motion in motions])
            for name in vars(motions[0])
        }),
        events=tuple(events),
        findings=tuple(findings),
        units=first.units,
        words=dict(sorted(words.items())),
        unsure=tuple(unsure.items()),
        files=tuple(files),
        told=tuple(told),
    )
    return Together(whole, tuple(joints))


def joint_zones(motion: Motion, joints: Sequence[int]) -> tuple[tuple[int, int], ...]:
    """For each joint the pieces between the last cut before it and the first after it.

    As first piece and the one after the last; a piece is of the zone where first <= piece < last.
    """
    cuts = np.flatnonzero((motion.kind != Kind.RAPID) & (motion.kind != Kind.INDEX))
    zones = []
    for joint in joints:
        at = int(np.searchsorted(cuts, joint))
        zones.append((
            int(cuts[at - 1]) + 1 if at else 0,
            int(cuts[at]) if at < len(cuts) else len(motion),
        ))
    return tuple(zones)
