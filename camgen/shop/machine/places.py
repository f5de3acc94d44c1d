"""What the places gone to with the cutter drawn up may not say together with other words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeAlias

from camgen.messages import Message
from camgen.shop.machine.whole import Machine

__all__ = ["place_contradictions"]

Contradiction: TypeAlias = tuple[tuple[str, ...], Message, Message]


def place_contradictions(machine: Machine) -> Iterator[Contradiction]:
    """What is wrong with the places to go to: path of the word, what is wrong, what to do.

    >>> from camgen.shop.machine.change import PlaceToGo, RetractWords
    >>> far = RetractWords(park=PlaceToGo(x=900.0))
    >>> [message for _, message, _ in place_contradictions(
    ...     Machine(name="far", describes="far", retract=far))]
    ['X900 lies beyond the travel of X, 200 mm']
    """
    for path, place in ((("change", "place"), machine.change.place),
                        (("retract", "park"), machine.retract.park)):
        if place is None:
            continue
        for axis, mm in place.axes:
            name = "XY"[axis]
            travel = machine.axis(name).travel
            if abs(mm) > travel:
                yield ((*path, name.lower()),
                       Message("{name}{place:g} lies beyond the travel of {name}, {travel:g} mm",
                               name=name, place=mm, travel=travel),
                       Message("write a place within the travel, in the coordinates that counted "
                               "says"))
        if place.counted == "work" and (
                machine.offsets.stands_at is not None or machine.offsets.may_be_left_shifted):
            yield ((*path, "counted"),
                   Message("a place counted from the work's zero, and here that is not known "
                           "before the first stop"),
                   Message("write counted: machine, or leave the place out"))
    if machine.change.place is not None and machine.change.way == "one-program-each":
        yield (("change", "place"),
               Message("no program changes its cutter here: each begins with its own"),
               Message("write the place under retract.park, where every program ends; or another "
                       "change.way"))
