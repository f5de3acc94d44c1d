"""How places and units of proofs are said."""

from __future__ import annotations

from typing import Final

from camgen.messages import NOTHING, Message

__all__ = ["in_plan", "in_space", "unit_said"]

# What proofs count in, where that is a word; other units are alike in all languages.
_UNITS: Final = {
    "% of limit": Message("% of limit"), "arc-seconds": Message("arc-seconds"),
    "cuts": Message("cuts"), "degrees": Message("degrees"),
    "degrees/min": Message("degrees/min"), "faults": Message("faults"),
    "messages": Message("messages"), "mm of edge": Message("mm of edge"),
    "moves": Message("moves"), "pieces": Message("pieces"), "programs": Message("programs"),
    "rev/min": Message("rev/min"), "starts": Message("starts"), "stations": Message("stations"),
    "stops": Message("stops"), "turns": Message("turns"), "waits": Message("waits"),
    "words": Message("words"),
}


def unit_said(unit: str) -> Message | str:
    """A proof's unit for people.

    >>> unit_said("moves"), unit_said("of 12"), unit_said("mm")
    ('moves', 'of 12', 'mm')
    """
    whole, of, count = unit.partition("of ")
    return Message("of {count}", count=count) if of and not whole else _UNITS.get(unit, unit)


def in_plan(x: float, y: float, before: Message | str = NOTHING) -> Message:
    """A place seen from above, mm, ``before`` it what it is about.

    >>> in_plan(1, 2.5), in_plan(1, 2.5, "vent")
    ('X 1.000 Y 2.500', 'vent, X 1.000 Y 2.500')
    """
    place = Message("X {x:.3f} Y {y:.3f}", x=x, y=y)
    return Message("{what}, {place}", what=before, place=place) if before else place


def in_space(x: float, y: float, z: float) -> Message:
    """A place with its height, mm.

    >>> in_space(1, 2.5, -0.25)
    'X 1.000 Y 2.500 Z -0.250'
    """
    return Message("X {x:.3f} Y {y:.3f} Z {z:.3f}", x=x, y=y, z=z)
