"""How the head comes to the space that is cut first, and whence, where cutting begins again.

After a broken cutter nobody knows where the head stands. A head that is told angles is told its
first one anew; one that is told increments, or is turned by hand, must begin from a space that can
be found again: space 1, or the last one that is cut.
"""

from __future__ import annotations

import dataclasses
import math

from camgen.dividing import Division
from camgen.faults import Fault, Refused
from camgen.layout.approaches import stance_of
from camgen.messages import Message
from camgen.moves import Index, Move, Pause, SetupMoves
from camgen.shop.machine import DrivenHead, HandHead, Machine
from camgen.steps.head.arrangement import Frame
from camgen.steps.head.cut_teeth_words import CutTeeth
from camgen.steps.kind import HeadBench

__all__ = ["begins_again", "begun_benches", "comes_to", "counted_on", "take_up",
           "taken_up"]


def begun_benches(benches: list[HeadBench], from_step: int | None) -> list[HeadBench]:
    """The steps that are done where one of them begins at a space: that one, and all behind it.

    ``from_step``, counted from 1, says which. Raises Refused where that is not known: a step begun
    at a space that it had not come to would leave those before it out.
    """
    again = [bench for bench in benches if bench.from_space is not None]
    if not again:
        return benches
    if from_step is None and len(benches) > 1:
        raise Refused(Fault(
            Message("{setup}: {count} steps cut teeth, and which of them came as far as space "
                    "{space} is not said", setup=again[0].setup.name, count=len(benches),
                    space=again[0].from_space),
            Message("add --from-step and its number in the program, 1 to {last}",
                    last=len(benches))))
    begin = from_step or 1
    if not 1 <= begin <= len(benches):
        raise Refused(Fault(
            Message("{setup}: there is no step {step} to start from", setup=again[0].setup.name,
                    step=begin),
            Message("name a step from 1 to {last}", last=len(benches))))
    return [benches[begin - 1], *(bench.whole for bench in benches[begin:])]


def counted_on(moves: SetupMoves, machine: Machine) -> SetupMoves:
    """The moves with a head turned by hand going on the same way from step to step.

    A crank goes on turning as it did, and so do the degrees that are told of it.
    """
    if not isinstance(machine.dividing, HandHead):
        return moves
    stands, sections = -math.inf, []
    for section in moves.sections:
        turns = [move if isinstance(move, Index) else move.turned for move in section.moves
                 if isinstance(move, Index | Pause)]
        degrees = [turn.degrees for turn in turns if turn is not None]
        ahead = 0.0
        if degrees and degrees[0] <= stands:
            ahead = 360.0 * math.ceil((stands - degrees[0] + 1e-9) / 360.0)
        sections.append(dataclasses.replace(
            section, moves=tuple(_ahead(move, ahead) for move in section.moves)))
        stands = max([stands, *(one + ahead for one in degrees)])
    return dataclasses.replace(moves, sections=tuple(sections))


def _ahead(move: Move, degrees: float) -> Move:
    """A turn counted so much farther on; every other move as it is."""
    if isinstance(move, Index):
        return _turned(move, degrees)
    if isinstance(move, Pause) and move.turned is not None:
        return dataclasses.replace(move, turned=_turned(move.turned, degrees))
    return move


def _turned(turn: Index, degrees: float) -> Index:
    return dataclasses.replace(turn, degrees=turn.degrees + degrees)


def comes_to(bench: HeadBench, frame: Frame, first: int) -> tuple[list[Move], int | None]:
    """Moves that bring the head to just before space ``first``, the first that is cut, and the
    space in which they leave the pin of a head turned by hand where it is not ``first``."""
    head = bench.machine.dividing
    if isinstance(head, DrivenHead):
        counted = bench.from_space is not None and bench.machine.rotary.from_where_it_stands
        asked: list[Move] = [
            frame.rapid(frame.infeed_axis, frame.safe),
            Pause(Message("the head turns on from where it stands: go on only where space 1 stands "
                          "before the cutter")),
            frame.rapid(frame.infeed_axis, frame.safe),
        ] if counted else []
        return [*asked, *take_up(bench, first)], None
    if bench.from_space is None or first == bench.layout.spaces[0]:
        return take_up(bench, first), None
    division, before = _division(bench), first - 1
    return [
        Pause(
            Message("turn the crank to just before space {space}, which is cut, then on into hole "
                    "{hole} of the {circle} circle: no backlash is left", space=before,
                    hole=division.places[before - 1] % division.circle, circle=division.circle),
            turned=Index(division.angles[before - 1], before,
                         stands=division.setting(before, None)),
        )
    ], before


def take_up(bench: HeadBench, first: int, turn: int = 0) -> list[Move]:
    """Go a little short of the first space, so that it is approached from the same side."""
    return taken_up(_division(bench), bench.machine, first, 360.0 * turn)


def _division(bench: HeadBench) -> Division:
    """The places of the spaces as the step comes to them."""
    return bench.layout.division.turned_by(
        stance_of(bench.layout, bench.words.declares()).turned)


def taken_up(division: Division, machine: Machine, first: int, on: float = 0.0) -> list[Move]:
    """The same before place ``first`` of a division, so many degrees farther ``on``."""
    angle, head = division.angles[first - 1] + on, machine.dividing
    if isinstance(head, DrivenHead):
        return [Index(angle - head.take_up)] if head.take_up else []
    return [
        Pause(
            Message("turn the crank to just before space {space}, then on into its hole: no "
                    "backlash is left", space=first),
            turned=Index(angle, first, stands=division.setting(first, None)),
        )
    ]


def begins_again(bench: HeadBench, words: CutTeeth, rounds: int) -> tuple[Message, ...]:
    """Which spaces are cut where cutting begins again at one, and what of the trial spaces counts
    still; nothing where it does not. ``rounds`` is how often the wheel is gone round."""
    first, spaces = bench.from_space, bench.layout.spaces
    if first is None:
        return ()
    later = (Message("every step after it: all spaces"),) if (
        bench.number + 1 < len(bench.setup.steps)) else ()
    begin, last, trial = spaces[0], spaces[-1], spaces[0] + words.trial_spaces - 1
    if words.trial_short is not None and first <= trial:
        return (Message("to be cut: {these}, short as before; after the pause all spaces to their "
                        "whole depth", these=_spaces(first, trial)), *later)
    if first == begin:
        return (Message("to be cut: all spaces"), *later)
    shifted = () if words.trial_short is None else (Message(
        "where the new cutter is touched on the blank, what the infeed's zero was shifted by after "
        "the trial spaces counts again: shift it as before, or write it as `depth-correction` and "
        "make this program again"),)
    fields = {"these": _spaces(first, last), "done": _spaces(begin, first - 1)}
    if rounds > 1:
        return (Message("to be cut: in the first round {these}, in every later one all; cut in the "
                        "first round already: {done}. Where it had come farther, the cutter goes "
                        "through what is cut", **fields), *later, *shifted)
    return (Message("to be cut: {these}; finished already and not cut again: {done}", **fields),
            *later, *shifted)


def _spaces(first: int, last: int) -> Message:
    """One space or several by their numbers."""
    return (Message("space {space}", space=first) if first == last else
            Message("spaces {first} to {last}", first=first, last=last))
