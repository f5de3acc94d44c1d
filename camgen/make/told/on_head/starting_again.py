"""What whoever starts again at a tooth space must do: a sheet of its own, in the order of doing.

A broken cutter leaves the stack as it is, the new disc at another height and length, and the head
anywhere. Lengths mm, angles degrees, as texts in the sheet's language.
"""

from __future__ import annotations

import itertools

import numpy as np

from camgen.dividing.division import turns_and_holes
from camgen.layout import ToothLayout
from camgen.layout.stands import front_edge, next_space
from camgen.make.chain import ProvedSetup
from camgen.messages import Message
from camgen.moves import Index, Section
from camgen.proof.common.head_frame import head_way
from camgen.proof.evidence import HeadEvidence, by_kind
from camgen.proof.head.spaces import space_cuts
from camgen.sheet.data import Instructions
from camgen.shop.cutters import made_for
from camgen.shop.machine import DrivenHead, Machine
from camgen.values import dataclass
from camgen.words import Words

__all__ = ["starting_again"]


def starting_again(
    setup: ProvedSetup, layout: ToothLayout, machine: Machine, say: Words
) -> Instructions | None:
    """All that is to be done before the program is run; None where it begins at its beginning."""
    # An air cut comes to no place where anything is touched.
    space, (_, on_head) = setup.begins, by_kind((setup.whole or setup.evidence,))
    if space is None or not on_head:
        return None
    (evidence,) = on_head
    number = setup.planned.moves.sections[0].cutter_number
    cutter = evidence.cutters.get(number)
    steps = [say("again", "stack"), say("again", "splinters")]
    if cutter is not None:
        steps.append(say("again", "profile", profile=say.say(made_for(cutter))))
    steps += [_height(layout, space, say), *_infeed(setup, evidence, layout, machine, say),
              *_head(layout, machine, space, say)]
    return Instructions(say("again", "heading", space=space), tuple(steps),
                        " ".join(map(_sentence, map(say.say, setup.planned.again))))


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}."


def _height(layout: ToothLayout, space: int, say: Words) -> str:
    """The height of the new disc, by a space that is cut: no blank is turned about."""
    axis = layout.arrangement.across
    front = front_edge(layout.tooth, layout.arrangement)
    if space == layout.spaces[0]:
        return say("again", "height-first", axis=axis)
    if front is not None:
        return say("again", "height-front", axis=axis, space=space - 1, side=front.towards)
    return say("again", "height", axis=axis, space=space - 1)


@dataclass(frozen=True)
class _Visits:
    """Where cutting goes: ``until`` is the last space that is cut one after the other to the depth
    of the first, ``rounds`` whether the wheel is gone round more than once, ``places`` the infeed's
    coordinates at every depth that a space is left at, the least first."""

    until: int
    rounds: bool
    places: tuple[float, ...]


def _visits(evidence: HeadEvidence, layout: ToothLayout, section: Section) -> _Visits:
    """What the motion read back cuts in the step begun, space after space; a later step may have
    the same cutter."""
    asked = len(list(itertools.groupby(
        move.space for move in section.moves if isinstance(move, Index) and move.space)))
    cuts = space_cuts(evidence, head_way(evidence))
    axis = "XYZ".index(layout.arrangement.infeed[1])
    order = np.argsort(cuts.piece, kind="stable")
    order = order[evidence.motion.cutter[cuts.piece[order]] == section.cutter_number]
    visits: list[tuple[int, float, float]] = []
    for space, runs in itertools.islice(itertools.groupby(
            order.tolist(), lambda row: int(cuts.space[row]) + 1), asked):
        deepest = max(runs, key=lambda row: float(cuts.depth[row]))
        visits.append((space, round(float(cuts.depth[deepest]), 5),
                       float(evidence.motion.end[cuts.piece[deepest], axis])))
    until, depth = visits[0][:2] if visits else (layout.spaces[0], 0.0)
    for space, deep, _ in visits[1:]:
        if space != until + 1 or deep != depth:
            break
        until = space
    last = sum(space == layout.spaces[-1] for space, _, _ in visits)
    return _Visits(until, last > 1,
                   tuple(dict(sorted((deep, place) for _, deep, place in visits)).values()))


def _infeed(
    setup: ProvedSetup, evidence: HeadEvidence, layout: ToothLayout, machine: Machine, say: Words
) -> list[str]:
    """Where the new disc may touch: where nothing is cut yet, between two spaces that are only
    roughed, or the ground of a space."""
    axis, begin, last = layout.arrangement.infeed[1], layout.spaces[0], layout.spaces[-1]
    section, space = setup.planned.moves.sections[0], setup.begins or begin
    visits = _visits(evidence, layout, section)
    roughed = any(step.declares().roughs_spaces is not None
                  for step in setup.planned.setup.steps[: section.step])
    # Trial spaces may have been done before it broke off.
    uncut = (visits.until if visits.until < last else space) + 1
    if roughed and uncut == last:
        uncut += 1  # beside it the one that it broke off in, and one that is finished
    steps = []
    if roughed and _half_steps(layout, machine) == 0:
        uncut = last + 1  # the head stops at whole spaces alone, where nothing stands uncut
    if uncut <= last:
        spaces = say.say(Message("space {space}", space=last) if uncut == last else
                         Message("spaces {first} to {last}", first=uncut, last=last))
        if roughed:
            steps.append(_between(layout, machine, spaces, say))
        else:
            on = "-pulse" if _half_steps(layout, machine) is not None else ""
            touched = "touch-first-round" if visits.rounds else "touch"
            steps.append(say("again", touched + on, axis=axis, spaces=spaces))
    if visits.rounds:
        steps.append(say("again", "ground-rounds", axis=axis, places=", ".join(
            f"{axis}{place:.3f}" for place in visits.places)))
    elif uncut > last:
        steps.append(say("again", "ground", axis=axis, space=max(space - 1, begin),
                         at=f"{axis}{visits.places[-1]:.3f}" if visits.places else axis))
    return steps


def _between(layout: ToothLayout, machine: Machine, spaces: str, say: Words) -> str:
    """The touch between two roughed spaces, half a pitch as the head is turned."""
    head, division, axis = machine.dividing, layout.division, layout.arrangement.infeed[1]
    if not isinstance(head, DrivenHead):
        holes = (division.places[1] - division.places[0]) // 2
        half = say.say(turns_and_holes(*divmod(holes, division.circle)))
        return say("again", "touch-roughed", axis=axis, spaces=spaces, half=half)
    steps = _half_steps(layout, machine)
    if steps is not None:
        return say("again", "touch-roughed-pulse", axis=axis, spaces=spaces, steps=steps)
    return say("again", "touch-roughed", axis=axis, spaces=spaces,
               half=f"{180.0 / division.count:.6g}°")


def _half_steps(layout: ToothLayout, machine: Machine) -> int | None:
    """Steps in half a pitch of a head that turns onward by its own steps; None of other heads."""
    head = machine.dividing
    if not isinstance(head, DrivenHead) or head.pulses is None:
        return None
    return head.pulses // layout.division.count // 2


def _head(layout: ToothLayout, machine: Machine, space: int, say: Words) -> list[str]:
    """How the head comes to where the program wants it, and how a space is found again."""
    head, division = machine.dividing, layout.division
    if not isinstance(head, DrivenHead):
        before = max(space - 1, layout.spaces[0])
        hole, circle = division.places[before - 1] % division.circle, division.circle
        turns, holes = divmod(division.places[before - 1] - division.places[0], circle)
        way = say.say(turns_and_holes(turns, holes))
        return [say("again", "by-hand", space=before, hole=hole, circle=circle, way=way)
                if before > 1 else say("again", "by-hand-first", circle=circle),
                say("again", "find-by-hand", space=before)]
    sense = say("stand", next_space(layout.arrangement))
    angle = f"{division.angles[space - 1]:.6g}"
    if head.pulses is not None:
        each = head.pulses // division.count
        return [say("again", "by-pulse", space=space, pulses=each * (space - 1), each=each),
                say("again", "find-by-pulse", sense=sense)]
    if machine.rotary.way == "incremental":
        return [say("again", "increments", space=space, angle=angle,
                    pitch=f"{360.0 / division.count:.6g}", take_up=f"{head.take_up:g}"),
                say("again", "find", sense=sense)]
    before = max(space - 1, layout.spaces[0])
    return [say("again", "angles", letter=head.letter, space=before,
                angle=f"{division.angles[before - 1]:.6g}"),
            say("again", "find", sense=sense)]
