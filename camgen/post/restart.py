"""Starting again, cutting air, turning the head dry: one setup's moves made into others.

Pure functions on moves; the programs written from their answers state everything anew, as every
program does: header, safe start, cutter, spindle, and a way to the work that gets clear first.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from camgen.faults import Fault, Refused
from camgen.messages import NOTHING, Message
from camgen.moves import Arc, Drill, Feed, Index, Move, Rapid, SetupMoves, Station, Touch
from camgen.shop.machine import HandHead, Machine

__all__ = ["again_at_space", "dry_index", "from_cutter", "from_station", "from_step", "raised_by"]

_PLANE_AXES: Final = {"XY": ("x", "y"), "ZX": ("z", "x"), "YZ": ("y", "z")}


def from_step(setup: SetupMoves, step: int) -> SetupMoves:
    """The setup from its step ``step`` on, counted from 1 as in the programs' comments.

    Raises Refused when no step from there on has moves.
    """
    sections = tuple(section for section in setup.sections if section.step + 1 >= step)
    if step < 1 or not sections:
        last = max((section.step + 1 for section in setup.sections), default=0)
        raise Refused(Fault(
            Message("{setup}: there is no step {step} to start from", setup=setup.title, step=step),
            Message("name a step from 1 to {last}", last=last),
        ))
    return _told(replace(setup, sections=sections), 
                 Message("STARTS AGAIN AT STEP {step}", step=step))


def from_cutter(setup: SetupMoves, number: int) -> SetupMoves:
    """The setup from the first section that uses cutter ``number`` on.

    Raises Refused when no section uses it.
    """
    for place, section in enumerate(setup.sections):
        if section.cutter_number == number:
            return _told(
                replace(setup, sections=setup.sections[place:]),
                Message("STARTS AGAIN AT CUTTER {number}", number=number)
            )
    used = sorted({section.cutter_number for section in setup.sections})
    raise Refused(Fault(
        Message("{setup}: cutter {number} is not used", setup=setup.title, number=number),
        Message("cutters used are {cutters}", cutters=tuple(used)),
    ))


def from_station(setup: SetupMoves, station: int) -> SetupMoves:
    """The setup whose first section begins at ``station``; all later ones do every station.

    Raises Refused where there is no such station.
    """
    first = setup.sections[0]
    stations = [move.number for move in first.moves if isinstance(move, Station)]
    if station not in stations:
        raise Refused(Fault(
            Message("{setup}: there is no station {station} to start from", setup=setup.title,
                    station=station),
            Message("name a station from 1 to {last}", last=max(stations)) if stations
            else Message("this setup has no fixture of several stations"),
        ))
    again = replace(first, moves=first.moves[first.moves.index(Station(station)) :])
    return _told(
        replace(setup, sections=(again, *setup.sections[1:])),
        Message("STARTS AGAIN AT STATION {station}", station=station)
    )


def raised_by(setup: SetupMoves, height: float) -> SetupMoves:
    """The setup with every move ``height`` mm farther out along its retract axis: an air cut.

    Raises Refused when ``height`` is not positive.
    """
    if height <= 0.0:
        raise Refused(Fault(
            Message("an air cut raised by {height:g} mm would cut", height=height),
            Message("give a height greater than nothing"),
        ))
    axis = setup.retract_axis.lower()
    shift = height * _outward(setup)
    # In air a probe would touch nothing.
    sections = tuple(
        replace(section, moves=tuple(_shifted(move, axis, shift) for move in section.moves))
        for section in setup.sections
        if not any(isinstance(move, Touch) for move in section.moves)
    )
    return _told(
        replace(setup, sections=sections, retract_to=setup.retract_to + shift),
        Message("AIR CUT, {height:g} MM CLEAR OF THE WORK", height=height),
    )


def dry_index(setup: SetupMoves) -> SetupMoves:
    """Nothing but the head's turns, through all spaces in their order, clear, the spindle still.

    A space that is cut in several rounds is turned to once. Raises Refused where nothing turns.
    """
    turns: list[Move] = []
    seen: set[int] = set()
    for section in setup.sections:
        for move in section.moves:
            if isinstance(move, Index) and (move.space == 0 or move.space not in seen):
                if move.space == 0 and seen:
                    continue
                seen.add(move.space)
                turns.append(move)
    if not seen - {0}:
        raise Refused(Fault(Message("{setup}: no head turns here", setup=setup.title),
                            Message("choose a setup that cuts teeth")))
    clear = Rapid(**{setup.retract_axis.lower(): setup.retract_to})
    first = setup.sections[0]
    section = replace(
        first, title=Message("dry index"), cutter="", cutter_number=0, cutter_text=NOTHING, rpm=0.0,
        moves=(clear, *turns), coolant=False, air=False,
    )
    return _told(replace(setup, sections=(section,)), 
                 Message("DRY INDEX, SPINDLE OFF, NO CUTTER FITTED"))


def again_at_space(space: int, step: int | None, machine: Machine) -> Message:
    """What a program says that begins at a tooth space of a step, both from 1.

    Whence the head counts hangs on the machine: only one that is told angles has its zero still.
    """
    at = (Message("SPACE {space}", space=space) if step is None else
          Message("SPACE {space} OF STEP {step}", space=space, step=step))
    if isinstance(machine.dividing, HandHead):
        return Message("STARTS AGAIN AT {at}, HOLES COUNTED AS BEFORE", at=at)
    if machine.rotary.from_where_it_stands:
        return Message("STARTS AGAIN AT {at}, SPACE 1 BEFORE THE CUTTER WHEN STARTED", at=at)
    return Message("STARTS AGAIN AT {at}, HEAD'S ZERO AS BEFORE", at=at)


def _told(setup: SetupMoves, note: Message) -> SetupMoves:
    return replace(setup, notes=(note, *setup.notes))


def _outward(setup: SetupMoves) -> float:
    """+1 where the retract axis grows away from the work, −1 where it falls."""
    if setup.retract_axis == "Z":
        return 1.0
    axis = setup.retract_axis.lower()
    fed = [
        value for section in setup.sections for move in section.moves
        if isinstance(move, Rapid | Feed | Arc) and (value := getattr(move, axis)) is not None
    ]
    return -1.0 if fed and setup.retract_to < sum(fed) / len(fed) else 1.0


def _shifted(move: Move, axis: str, shift: float) -> Move:
    """One move, shifted along one axis."""
    if isinstance(move, Drill):
        if axis == "z":
            return replace(move, clearance=move.clearance + shift, bottom=move.bottom + shift,
                           travel=move.travel + shift,
                           near=move.near + shift if move.quick else 0.0)
        return replace(move, **{axis: getattr(move, axis) + shift})
    if not isinstance(move, Rapid | Feed | Arc):
        return move
    value = getattr(move, axis)
    changed = {} if value is None else {axis: value + shift}
    if isinstance(move, Arc):
        first, second = move.centre
        if axis == _PLANE_AXES[move.plane][0]:
            first += shift
        elif axis == _PLANE_AXES[move.plane][1]:
            second += shift
        return replace(move, centre=(first, second), **changed)
    return replace(move, **changed)
