"""How high a cutter travels between two cuts of one step: over what really stands there.

Steps are planned to rise to the safe height whenever they are clear. That is left where a step
begins and ends, where a fixture's next station comes, and now and then between, so that a control
that holds little can be given a program in parts. Everywhere else the cutter goes across as low as
the clearance over the face and over every clamp allows. Lengths mm.
"""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Sequence

from camgen.layout import FlatLayout
from camgen.moves import Arc, Drill, Feed, Move, Rapid, Section, Station
from camgen.shop.machine import Machine

__all__ = ["as_low_as_stands", "low_between", "travel_height"]

# After so many moves, and so many holes, the cutter rises to the safe height once.
MOVES, HOLES = 150, 60


def as_low_as_stands(section: Section, layout: FlatLayout, machine: Machine) -> Section:
    """The section with its ways across no higher than they need be.

    The face must be made: a section that makes it is not to be given here. A control that is given
    what repeats in subprograms is left all as it was: each of them begins and ends clear.
    """
    low = travel_height(layout)
    if machine.subprograms.use or low > layout.safe_height - 1e-9:
        return section
    return dataclasses.replace(
        section, moves=tuple(_holes(_ways(section.moves, layout.safe_height, low),
                                    layout.safe_height, low)))


def low_between(
    sections: Sequence[Section], layout: FlatLayout, machine: Machine
) -> tuple[Section, ...]:
    """Sections of one step, cut at one speed, with the way from each to the next as low as those
    within; given after :func:`as_low_as_stands`, and as there not where the face is made."""
    low, safe = travel_height(layout), Rapid(z=layout.safe_height)
    done = list(sections)
    if machine.subprograms.use or low > layout.safe_height - 1e-9:
        return tuple(done)
    since = len(done[0].moves)
    for number, (before, after) in enumerate(itertools.pairwise(sections)):
        onward = tuple(itertools.dropwhile(lambda move: move == safe, after.moves))
        since += len(onward)
        first = onward[0] if onward else safe
        if (since < MOVES and before.moves[-1] == safe and isinstance(first, Rapid)
                and first.z is None and len(onward) < len(after.moves)
                and (before.rpm, before.clockwise) == (after.rpm, after.clockwise)):
            done[number] = dataclasses.replace(
                done[number], moves=(*done[number].moves[:-1], Rapid(z=low)))
            done[number + 1] = dataclasses.replace(after, moves=onward)
        else:
            since = len(after.moves)
    return tuple(done)


def travel_height(layout: FlatLayout) -> float:
    """The Z that is clear of the face and of every clamp, at most the safe height."""
    stands = max([layout.face, *(clamp.top for clamp in layout.clamps)])
    return min(layout.safe_height, stands + layout.clearance)


def _ways(moves: Sequence[Move], safe: float, low: float) -> list[Move]:
    """Ways across, from a cut to a cut, at the lower height."""
    done: list[Move] = []
    cut, since = False, 0
    for number, move in enumerate(moves):
        since += 1
        if isinstance(move, Station):
            cut = False
        if _only_up(move, safe) and cut:
            if _goes_on(moves, number) and since < MOVES:
                move = Rapid(z=low)
            else:
                cut, since = False, 0
        elif isinstance(move, Feed | Arc):
            cut = True
        # Where it is at that height already nothing is written.
        if not (done and move == done[-1] and isinstance(move, Rapid)):
            done.append(move)
    return done


def _only_up(move: Move, safe: float) -> bool:
    return isinstance(move, Rapid) and move.x is None and move.y is None and move.z == safe


def _goes_on(moves: Sequence[Move], number: int) -> bool:
    """Whether the next moves are across and down to cut again, and no more than moves."""
    after = [move for move in moves[number + 1 : number + 5]
             if not (isinstance(move, Rapid) and move == moves[number])]
    return (len(after) > 1 and isinstance(after[0], Rapid) and after[0].z is None
            and isinstance(after[1], Rapid) and after[1].z is not None
            and after[1].x is None and after[1].y is None)


def _holes(moves: Sequence[Move], safe: float, low: float) -> list[Move]:
    """Holes gone to at the safe height first, and from each other at the lower."""
    done: list[Move] = []
    for drills, some in itertools.groupby(
        moves, lambda move: isinstance(move, Drill) and move.travel == safe
    ):
        run = list(some)
        if not drills or len(run) < 2:
            done += run
            continue
        # A tap is drawn out farther than to the clearance.
        height = max([low, *(move.clearance for move in run if isinstance(move, Drill))])
        for number, move in enumerate(run):
            assert isinstance(move, Drill)
            if number % HOLES == 0:
                done += [Rapid(z=safe)] if number else []
                done += [Rapid(x=move.x, y=move.y), Rapid(z=height)]
            done.append(dataclasses.replace(move, travel=height))
    return done
