"""How long a setup takes, from the motion read back: by step and in all, seconds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from camgen.arrays import Floats, Ints
from camgen.cutting.answer import CutPlan, feed_has_room
from camgen.cutting.time.motion import motion_seconds
from camgen.cutting.time.spent import (
    ONE_CHANGE,
    Saving,
    TimeAccount,
    TimeKind,
    TimePart,
    motion_parts,
    savings,
)
from camgen.job.models import StepWords
from camgen.messages import Message
from camgen.moves import Section, SetupMoves
from camgen.part.declaration import MakesCones, MakesMarks
from camgen.proof.evidence import Evidence
from camgen.proof.path import lengths
from camgen.reader.motion import Kind
from camgen.reader.waits import events_in_order, halts, waits
from camgen.values import dataclass

__all__ = ["AgainstFloor", "against_floor", "setup_savings", "setup_time", "step_names"]


def step_names(moves: SetupMoves) -> tuple[str, ...]:
    """A name of its own for each section, for steps of one kind are not one step."""
    return tuple(f"{number} {section.title}" for number, section in enumerate(moves.sections, 1))


def setup_time(evidence: Evidence, titles: tuple[str, ...]) -> TimeAccount:
    """The account of one setup; ``titles`` are its sections' in order.

    A stop is counted with what it is for (a cutter change, a turn by hand); the time a person takes
    to measure is not.
    """
    motion, machine = evidence.motion, evidence.machine
    section = _sections(evidence)
    names = [titles[number] if titles else "" for number in section.tolist()]
    time = motion_seconds(machine, **_course(evidence))
    parts = list(motion_parts(time, motion.kind, names))
    spent: dict[tuple[str, TimeKind], float] = {}
    cutters = ([one.cutter_number for one in evidence.moves.sections]
               if evidence.moves is not None and titles else [])
    reached = 0
    for wait in waits(events_in_order(evidence.programs), machine):
        kind: TimeKind = "dwell" if wait.kind == "dwell" else "cutter change"
        name = names[min(wait.before, len(names) - 1)] if names else ""
        if wait.cutter and wait.cutter in cutters[reached:]:
            # A change belongs to the step that its cutter is put in for, whatever moves before.
            reached = cutters.index(wait.cutter, reached)
            name, reached = titles[reached], reached + 1
        spent[name, kind] = spent.get((name, kind), 0.0) + wait.seconds
    parts += [TimePart(name, kind, seconds) for (name, kind), seconds in spent.items()]
    return TimeAccount(tuple(parts))


@dataclass(frozen=True, slots=True)
class AgainstFloor:
    """How long pockets take against the least that they could: step by section.

    ``cutting`` s is the time of all fed motion, ``seconds`` with rapids between. ``floor`` s is the
    metal over the planned removal rate (feed · width · depth), the length of the last passes along
    walls over their feed, and the ways down in metal; all at every station of a fixture.
    """

    section: int
    cutting: float
    seconds: float
    floor: float


def against_floor(
    evidence: Evidence, sections: Sequence[Section], cuts: Sequence[CutPlan]
) -> tuple[AgainstFloor, ...]:
    """Of every section that clears metal out of pockets, from the motion read back."""
    found: list[AgainstFloor] = []
    if not any(section.to_clear > 0 for section in sections):
        return ()
    of = _sections(evidence)
    spent = motion_seconds(evidence.machine, **_course(evidence)).seconds
    motion = evidence.motion
    fed = motion.kind != Kind.RAPID
    # The ways down into metal: on a ramp or a helix.
    way = motion.end - motion.start
    down = fed & (way[:, 2] < -1e-6) & (
        (np.hypot(way[:, 0], way[:, 1]) > 1e-6) | (motion.kind != Kind.LINE))
    for number, (section, cut) in enumerate(zip(sections, cuts, strict=True)):
        if section.to_clear > 0:
            rate = cut.feed * cut.width * cut.depth / 60
            found.append(AgainstFloor(
                number, float(spent[(of == number) & fed].sum()), float(spent[of == number].sum()),
                evidence.layout.stations * (section.to_clear / rate + section.finishing)
                + float(spent[(of == number) & down].sum()),
            ))
    return tuple(found)


def setup_savings(
    evidence: Evidence, account: TimeAccount, cuts: Sequence[CutPlan],
    steps: Sequence[StepWords],
) -> tuple[Saving, ...]:
    """What would make one run of a setup shorter, the most first; ``account`` is the setup's.

    ``cuts`` are the planner's answers for its sections: they tell where the feed could be higher.
    ``steps`` are the setup's, to which the sections' numbers belong also where it starts again.
    """
    roomy = np.array([feed_has_room(cut) for cut in cuts] or [False])
    found = savings(evidence.machine, account, faster=roomy[_sections(evidence)],
                    **_course(evidence))
    again = put_in_again(evidence.moves.sections if evidence.moves is not None else (),
                         steps)
    # Where none is put in again, no order spares a change.
    if again is None:
        return tuple(one for one in found if one.what != ONE_CHANGE)
    return tuple(replace(one, what=again) if one.what == ONE_CHANGE else one for one in found)


def put_in_again(sections: Sequence[Section], steps: Sequence[StepWords]) -> Message | None:
    """Which change might be spared: of the first cutter that is put in again after another.

    Whether the later step may come so soon only the maker knows: what lies between may be needed.
    """
    last: dict[str, int] = {}
    before = ""
    for section in sections:
        if section.cutter in last and section.cutter != before:
            if _made_in_one(steps[last[section.cutter]], steps[section.step]):
                return Message("one cutter change less: countersinks: true with step {first}, "
                               "which marks the holes, and step {again} left out",
                               first=last[section.cutter] + 1, again=section.step + 1)
            return Message("one cutter change less: {cutter} kept in for step {again} right after "
                           "step {first}, where that order will do", cutter=section.cutter,
                           again=section.step + 1, first=last[section.cutter] + 1)
        last[section.cutter], before = section.step, section.cutter
    return None


def _made_in_one(marks: StepWords, cones: StepWords) -> bool:
    """Whether a step of marks might make the cones of a later one with the same cutter."""
    says = cones.declares()
    return (marks.declares().makes_a(MakesMarks) and not marks.declares().makes_a(MakesCones)
            and all(isinstance(one, MakesCones) for one in says.makes) and bool(says.makes))


def _course(evidence: Evidence) -> dict[str, Any]:
    """The motion read back, in the words of the reckoning of time."""
    motion = evidence.motion
    return {
        "kind": motion.kind, "start": _known(motion.start), "end": _known(motion.end),
        "feed": motion.feed, "centre": motion.centre, "plane": motion.plane, "turns": motion.turns,
        "angle_start": motion.angle_start, "angle_end": motion.angle_end,
        "halts": halts(events_in_order(evidence.programs)),
    }


def _known(points: Floats) -> Floats:
    """Places with axes not yet told standing still at 0: such pieces take no time of theirs."""
    return np.where(np.isfinite(points), points, 0.0)


def _sections(evidence: Evidence) -> Ints:
    """(n,) the section each piece read back belongs to.

    The text does not say it everywhere; but what was proved to be the planned path has run through
    the same share of it at the same section.
    """
    n = len(evidence.motion)
    if evidence.planned is None or n == 0:
        return np.zeros(n, dtype=np.int64)
    planned = np.nan_to_num(lengths(evidence.planned.motion)).cumsum()
    section = np.asarray(evidence.planned.section, dtype=np.int64)
    read = np.nan_to_num(lengths(evidence.motion))
    if planned[-1] == 0:
        return np.zeros(n, dtype=np.int64)
    share = (read.cumsum() - read / 2) / read.sum() * planned[-1]
    found: Ints = section[np.minimum(np.searchsorted(planned, share), len(section) - 1)]
    return found
