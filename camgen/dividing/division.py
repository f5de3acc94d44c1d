"""What a division of the circle is: the angles as made, their errors, and the settings to them."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from camgen.faults import Fault, Refused
from camgen.messages import NOTHING, Message, counted
from camgen.values import dataclass

__all__ = ["LARGEST_COUNT", "SMALLEST_COUNT", "Compound", "Division", "HoleSetting"]

SMALLEST_COUNT = 2
LARGEST_COUNT = 1000
ARC_SECONDS = 3600


@dataclass(frozen=True, slots=True)
class HoleSetting:
    """One way to turn the crank from one space to the next.

    Whole ``turns`` and then ``holes`` on the ``circle`` (its number of holes) of ``plate``, counted
    from 1. ``error`` is what one index is off, arc-seconds; 0 when the setting is exact.
    """

    plate: int
    circle: int
    turns: int
    holes: int
    error: float = 0.0

    def __str__(self) -> str:
        return self.told()

    def told(self) -> Message:
        """The setting in words."""
        return Message("{way} on the {circle} circle",
                       way=turns_and_holes(self.turns, self.holes), circle=self.circle)


@dataclass(frozen=True, slots=True)
class Compound:
    """One index made of two moves on two circles of the same plate.

    ``first`` holes on ``first_circle`` with the crank, then ``second`` holes on ``second_circle``
    with crank and plate together; a negative ``second`` goes back.
    """

    plate: int
    first: int
    first_circle: int
    second: int
    second_circle: int

    def __str__(self) -> str:
        return self.told()

    def told(self) -> Message:
        """Both moves in words."""
        first = counted("{n} hole on the {circle} circle", "{n} holes on the {circle} circle",
                        self.first, circle=self.first_circle)
        then = abs(self.second)
        if self.second > 0:
            return Message("{first}, then {holes} on by the {circle} circle", first=first,
                           holes=then, circle=self.second_circle)
        return Message("{first}, then {holes} back by the {circle} circle", first=first,
                       holes=then, circle=self.second_circle)


@dataclass(frozen=True)
class Division:
    """``count`` equal divisions as the head can really make them.

    ``angles`` (count) are the positions sent to the head or read off it, degrees from the first,
    counted on without wrapping. ``errors`` (count) are how far the head stands from the true place,
    arc-seconds, rounding of the word and of the motor's steps included. ``worst_single_arcsec`` is
    the largest error of any one pitch, the closing one included; ``closing_arcsec`` that of the
    pitch from the last space back to the first. ``head_arcsec`` is the known error of the head's
    own worm wheel: any two positions may be wrong by so much besides. ``settings`` (count) say in
    words how a head turned by hand gets to each space from the one before it, ``choices`` every
    exact setting, the first being the one used; both empty for a driven head. ``places`` (count)
    are then the holes gone on by from the first space on a circle of ``circle``, and ``whole`` the
    holes of one turn of the work.
    """

    count: int
    angles: tuple[float, ...]
    errors: tuple[float, ...]
    worst_single_arcsec: float
    closing_arcsec: float
    head_arcsec: float = 0.0
    settings: tuple[Message, ...] = ()
    choices: tuple[HoleSetting, ...] = ()
    places: tuple[int, ...] = ()
    circle: int = 0
    whole: int = 0

    def setting(self, space: int, before: int | None) -> Message:
        """How the crank gets to ``space`` from space ``before``; None: the pin is there already.

        >>> from camgen.dividing import divide_by_hand
        >>> division = divide_by_hand(6, 40, [(18, 39)])
        >>> division.setting(2, None), division.setting(2, 1)
        ('start in hole 12 of the 18 circle', '6 turns and 12 holes on the 18 circle, to hole 12')
        >>> division.setting(1, 6)
        '6 turns and 12 holes on the 18 circle, to hole 0'
        """
        if not self.places:
            return NOTHING
        here = self.places[space - 1]
        if before is None:
            return starts_in(here % self.circle, self.circle)
        on = here - self.places[before - 1]
        turns, holes = divmod(on if on > 0 else on + self.whole, self.circle)
        return goes_to(turns, holes, self.circle, here % self.circle)

    def turned_by(self, degrees: float) -> Division:
        """The same places, all turned on by ``degrees``: with hole plates a whole number of holes.

        >>> from camgen.dividing import divide_by_hand
        >>> division = divide_by_hand(6, 40, [(18, 39)]).turned_by(1.0)
        >>> division.angles[0], division.setting(1, None)
        (1.0, 'start in hole 2 of the 18 circle')
        """
        if not degrees:
            return self
        holes = round(degrees * self.whole / 360.0)
        return replace(self, angles=tuple(angle + degrees for angle in self.angles),
                       places=tuple(place + holes for place in self.places))

    @property
    def worst_place_arcsec(self) -> float:
        """Largest distance of any space from its true place relative to the first, arc-seconds."""
        return max(abs(error) for error in self.errors)

    @property
    def bound_arcsec(self) -> float:
        """Largest error of one pitch with the head's own error added, arc-seconds."""
        return self.worst_single_arcsec + self.head_arcsec

    def micrometres(self, arcsec: float, radius: float) -> float:
        """What an error of ``arcsec`` amounts to on a circle of ``radius`` mm, in µm.

        >>> from camgen.dividing import divide_driven
        >>> round(divide_driven(75, 0.001, 90.0, 3200).micrometres(1.0, 100.0), 3)
        0.485
        """
        return math.radians(arcsec / ARC_SECONDS) * radius * 1000.0


def division_of(
    count: int,
    angles: tuple[float, ...],
    errors: Sequence[float],
    head_arcsec: float,
    settings: tuple[Message, ...] = (),
    choices: tuple[HoleSetting, ...] = (),
) -> Division:
    singles = [after - before for before, after in itertools.pairwise(errors)]
    # The first space is where it was put: its error is 0.
    closing = -errors[-1]
    worst = max(abs(single) for single in [*singles, closing])
    return Division(
        count, angles, tuple(errors), worst, abs(closing), head_arcsec, settings, choices
    )


def check_count(count: int) -> None:
    if not SMALLEST_COUNT <= count <= LARGEST_COUNT:
        raise Refused(
            Fault(
                counted("{n} division cannot be made", "{n} divisions cannot be made", count),
                Message("from {least} to {most} are possible", least=SMALLEST_COUNT,
                        most=LARGEST_COUNT),
            )
        )


def fraction(value: float) -> Fraction:
    """The number as a person wrote it: 0.001 is one thousandth, not its nearest double."""
    return Fraction(repr(float(value)))


def nearest_whole(value: Fraction) -> int:
    """The whole number nearest to ``value``, halves upwards."""
    return (2 * value.numerator + value.denominator) // (2 * value.denominator)


def errors_of(places: Sequence[int], step: Fraction, count: int) -> list[float]:
    """How far each place, in whole steps (degrees), is from its true one, arc-seconds."""
    # In whole numbers, so that what comes out even is 0 and nothing is lost before the end.
    top, bottom = step.numerator * count, step.denominator
    scale = ARC_SECONDS / (bottom * count)
    return [(place * top - 360 * k * bottom) * scale for k, place in enumerate(places)]


def turns_and_holes(turns: int, holes: int) -> Message:
    whole = counted("{n} turn", "{n} turns", turns)
    if not holes:
        return whole
    part = counted("{n} hole", "{n} holes", holes)
    return Message("{turns} and {holes}", turns=whole, holes=part) if turns else part


def starts_in(hole: int, circle: int) -> Message:
    """The pin put into a hole of a circle, counted from 0."""
    return Message("start in hole {hole} of the {circle} circle", hole=hole, circle=circle)


def goes_to(turns: int, holes: int, circle: int, hole: int) -> Message:
    """The crank turned on by turns and holes, and the hole that the pin comes to, from 0."""
    return Message("{way} on the {circle} circle, to hole {hole}",
                   way=turns_and_holes(turns, holes), circle=circle, hole=hole)


