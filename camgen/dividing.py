"""Dividing the circle: angles for a driven head, hole-plate settings for a head turned by hand.

Every position is reckoned from the first one and rounded once; nothing is summed, so the error of
the last space is that of one rounding. Angles are degrees, errors arc-seconds, lengths mm.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction

from camgen.faults import Fault, Refused
from camgen.shop.machine import DrivenHead, HandHead
from camgen.values import dataclass

__all__ = [
    "LARGEST_COUNT",
    "SMALLEST_COUNT",
    "Compound",
    "Division",
    "HoleSetting",
    "angle_settings",
    "compound_settings",
    "divide",
    "divide_by_hand",
    "divide_driven",
    "hole_settings",
    "nearest_counts",
]

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
        return f"{_turns_and_holes(self.turns, self.holes)} on the {self.circle} circle"


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
        way = "on" if self.second > 0 else "back"
        return (
            f"{self.first} holes on the {self.first_circle} circle, then {abs(self.second)} "
            f"{way} by the {self.second_circle} circle"
        )


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
    settings: tuple[str, ...] = ()
    choices: tuple[HoleSetting, ...] = ()
    places: tuple[int, ...] = ()
    circle: int = 0
    whole: int = 0

    def setting(self, space: int, before: int | None) -> str:
        """How the crank gets to ``space`` from space ``before``; None: the pin is there already.

        >>> division = divide_by_hand(6, 40, [(18, 39)])
        >>> division.setting(2, None), division.setting(2, 1)
        ('start in hole 12 of the 18 circle', '6 turns and 12 holes on the 18 circle, to hole 12')
        >>> division.setting(1, 6)
        '6 turns and 12 holes on the 18 circle, to hole 0'
        """
        if not self.places:
            return ""
        here = self.places[space - 1]
        if before is None:
            return f"start in hole {here % self.circle} of the {self.circle} circle"
        on = here - self.places[before - 1]
        turns, holes = divmod(on if on > 0 else on + self.whole, self.circle)
        return (f"{_turns_and_holes(turns, holes)} on the {self.circle} circle, "
                f"to hole {here % self.circle}")

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

        >>> round(divide_driven(75, 0.001, 90.0, 3200).micrometres(1.0, 100.0), 3)
        0.485
        """
        return math.radians(arcsec / ARC_SECONDS) * radius * 1000.0


def divide(count: int, head: DrivenHead | HandHead) -> Division:
    """``count`` divisions on ``head``. Raises Refused when they cannot be had.

    >>> divide(75, DrivenHead()).angles[:3]
    (0.0, 4.8, 9.6)
    """
    if isinstance(head, DrivenHead):
        return divide_driven(
            count, head.increment, head.worm_ratio, head.motor_steps, head_arcsec=head.pitch_error
        )
    return divide_by_hand(count, head.worm_ratio, head.plates)


def divide_driven(
    count: int,
    increment: float,
    worm_ratio: float,
    motor_steps: int,
    *,
    head_arcsec: float = 0.0,
) -> Division:
    """Divisions on a driven head.

    ``increment`` is the least step of the rotary word, degrees; ``worm_ratio`` the worm's turns for
    one of the spindle; ``motor_steps`` the motor's steps for one turn of the worm; ``head_arcsec``
    the head's own error. Each angle k·360/N is rounded to the increment, and what was written is
    rounded again by the drive to whole steps. Raises Refused when N is out of range or when
    neighbouring spaces fall together.

    >>> seven = divide_driven(7, 0.001, 90.0, 3200)
    >>> seven.angles[1], round(seven.worst_single_arcsec, 3)
    (51.429, 3.857)
    """
    _check_count(count)
    if not all(0 < size < math.inf for size in (increment, worm_ratio, motor_steps)):
        raise Refused(Fault("the head's increment, ratio and steps must be above 0"))
    step = _fraction(increment)
    one_step = Fraction(360) / (_fraction(worm_ratio) * motor_steps)
    written = [_nearest(Fraction(360 * k, count) / step) * step for k in range(count)]
    made = [_nearest(angle / one_step) for angle in written]
    if len(set(made)) < count:
        raise Refused(
            Fault(
                f"{count} divisions are finer than the head's steps of "
                f"{float(max(step, one_step)):.4f}°",
                "a head with a higher ratio or a finer increment is needed",
            )
        )
    errors = _errors(made, one_step, count)
    return _division(count, tuple(map(float, written)), errors, head_arcsec)


def divide_by_hand(
    count: int,
    worm_ratio: float,
    plates: Sequence[Sequence[int]],
    *,
    nearest_hole: bool = False,
) -> Division:
    """Divisions on a head with a crank and hole plates.

    ``plates`` are the circles of each plate, as numbers of holes. Exact settings are taken, the one
    with the fewest holes first. Where there is none, ``nearest_hole`` allows each space to be cut
    at the hole nearest to its true place, never summed, with the error this makes; without it
    Refused is raised and says what could be had instead.

    Six divisions on a 40:1 head, as in US Army Ordnance text OD1644: 6 turns and 12 holes on an
    18-hole circle, or 26 on 39:

    >>> division = divide_by_hand(6, 40, [(18, 39)])
    >>> [str(choice) for choice in division.choices]
    ['6 turns and 12 holes on the 18 circle', '6 turns and 26 holes on the 39 circle']
    """
    _check_count(count)
    _check_plates(worm_ratio, plates)
    choices = hole_settings(count, worm_ratio, plates)
    if choices:
        best = choices[0]
        angles = tuple(360.0 * k / count for k in range(count))
        total = best.turns * best.circle + best.holes
        places = [k * total for k in range(count)]
        texts = _walk(places, best.circle)
        return replace(_division(count, angles, [0.0] * count, 0.0, texts, choices),
                       places=tuple(places), circle=best.circle, whole=count * total)
    if not nearest_hole:
        raise Refused(_no_setting(count, worm_ratio, plates))
    hole_counts = {circle for plate in plates for circle in plate}
    ways = [_nearest_holes(count, worm_ratio, circle) for circle in sorted(hole_counts)]
    best_way = min(ways, key=lambda way: way.worst_single_arcsec)
    if any(after <= before for before, after in itertools.pairwise(best_way.angles)):
        raise Refused(
            Fault(
                f"{count} divisions are more than these circles have places for",
                "a plate with more holes or a head with a higher ratio is needed",
            )
        )
    return best_way


def _nearest_holes(count: int, worm_ratio: float, circle: int) -> Division:
    """Each space at the hole of ``circle`` nearest to its true place."""
    hole = Fraction(360) / (_fraction(worm_ratio) * circle)
    per_space = Fraction(360, count) / hole
    places = [_nearest(k * per_space) for k in range(count)]
    angles = tuple(float(at * hole) for at in places)
    return replace(
        _division(count, angles, _errors(places, hole, count), 0.0, _walk(places, circle)),
        places=tuple(places), circle=circle, whole=_nearest(count * per_space))


def hole_settings(
    count: int, worm_ratio: float, plates: Sequence[Sequence[int]]
) -> tuple[HoleSetting, ...]:
    """Every exact setting for ``count`` divisions, the circle with the fewest holes first.

    The crank makes worm_ratio / count turns; a circle serves when that many turns are a whole
    number of its holes.

    >>> for setting in hole_settings(42, 40, [(24, 42), (49, 21)]):
    ...     print(setting.plate, setting)
    2 20 holes on the 21 circle
    1 40 holes on the 42 circle
    """
    return _exact(_fraction(worm_ratio) / count, plates)


def angle_settings(
    degrees: float, worm_ratio: float, plates: Sequence[Sequence[int]], keep: int = 5
) -> tuple[HoleSetting, ...]:
    """The nearest settings for turning the work by ``degrees`` once, least error first.

    Exact ones come first, the circle with the fewest holes leading; at most ``keep`` are given.
    One turn of a 40:1 crank is 9° (OD1644), so 54′ is 2 holes on a 20-hole circle, and 24′ about
    1 on 23:

    >>> print(angle_settings(0.9, 40, [(20, 23)])[0])
    2 holes on the 20 circle
    >>> near = angle_settings(0.4, 40, [(20, 23)])[0]
    >>> print(near, f"off by {near.error:.1f} arc-seconds")
    1 hole on the 23 circle off by -31.3 arc-seconds
    """
    wanted = Fraction(degrees).limit_denominator(3600 * 1000) * _fraction(worm_ratio) / 360
    found = [_near_setting(wanted, worm_ratio, *place) for place in _circles(plates)]
    found.sort(key=lambda one: (abs(one.error), one.circle, one.plate))
    return tuple(found[:keep])


def nearest_counts(
    count: int, worm_ratio: float, plates: Sequence[Sequence[int]], keep: int = 2
) -> tuple[int, ...]:
    """The counts nearest to ``count`` that plain indexing gives exactly, at most ``keep`` each way.

    >>> nearest_counts(127, 40, [(24, 25, 28, 30, 34, 37, 38, 39, 41, 42, 43)], keep=1)
    (125, 130)
    """
    ratio = _fraction(worm_ratio)
    below: list[int] = []
    above: list[int] = []
    for other in range(count - 1, SMALLEST_COUNT - 1, -1):
        if len(below) == keep:
            break
        if _exact(ratio / other, plates):
            below.append(other)
    for other in range(count + 1, LARGEST_COUNT + 1):
        if len(above) == keep:
            break
        if _exact(ratio / other, plates):
            above.append(other)
    return tuple(sorted(below + above))


def compound_settings(
    count: int, worm_ratio: float, plates: Sequence[Sequence[int]], keep: int = 3
) -> tuple[Compound, ...]:
    """Exact indexes made of two moves on two circles of one plate, fewest holes first.

    a/c₁ + b/c₂ = worm_ratio/count turns, whole numbers all; at most one turn each way. The
    well-known 69 divisions by circles of 23 and 33 (from memory, any text on indexing):

    >>> for setting in compound_settings(69, 40, [(23, 33)]):
    ...     print(setting)
    22 holes on the 33 circle, then 2 back by the 23 circle
    21 holes on the 23 circle, then 11 back by the 33 circle
    """
    wanted = _fraction(worm_ratio) / count
    found: list[Compound] = []
    for number, plate in enumerate(plates, 1):
        for first_circle in plate:
            for second_circle in plate:
                if first_circle == second_circle:
                    continue
                common = math.lcm(first_circle, second_circle)
                if (wanted * common).denominator != 1:
                    continue
                for second in range(-second_circle + 1, second_circle):
                    first = (wanted - Fraction(second, second_circle)) * first_circle
                    if second and first.denominator == 1 and first > 0:
                        found.append(
                            Compound(number, int(first), first_circle, second, second_circle)
                        )
    found.sort(
        key=lambda one: (one.first + abs(one.second), one.plate, one.first_circle, one.second)
    )
    return tuple(found[:keep])


def _division(
    count: int,
    angles: tuple[float, ...],
    errors: Sequence[float],
    head_arcsec: float,
    settings: tuple[str, ...] = (),
    choices: tuple[HoleSetting, ...] = (),
) -> Division:
    singles = [after - before for before, after in itertools.pairwise(errors)]
    # The first space is where it was put: its error is 0.
    closing = -errors[-1]
    worst = max(abs(single) for single in [*singles, closing])
    return Division(
        count, angles, tuple(errors), worst, abs(closing), head_arcsec, settings, choices
    )


def _check_count(count: int) -> None:
    if not SMALLEST_COUNT <= count <= LARGEST_COUNT:
        raise Refused(
            Fault(
                f"{count} divisions cannot be made",
                f"from {SMALLEST_COUNT} to {LARGEST_COUNT} are possible",
            )
        )


def _check_plates(worm_ratio: float, plates: Sequence[Sequence[int]]) -> None:
    faults = []
    if not 0 < worm_ratio < math.inf:
        faults.append(Fault("the head's ratio must be above 0", "40 means 40 turns of the crank"))
    if not any(plates):
        faults.append(Fault("no hole circles are given", "name the circles of at least one plate"))
    faults += [
        Fault(f"a circle of {circle} holes is no circle", "give the number of holes, 2 or more")
        for plate in plates
        for circle in plate
        if circle < 2
    ]
    if faults:
        raise Refused(faults)


def _fraction(value: float) -> Fraction:
    """The number as a person wrote it: 0.001 is one thousandth, not its nearest double."""
    return Fraction(repr(float(value)))


def _nearest(value: Fraction) -> int:
    """The whole number nearest to ``value``, halves upwards."""
    return (2 * value.numerator + value.denominator) // (2 * value.denominator)


def _errors(places: Sequence[int], step: Fraction, count: int) -> list[float]:
    """How far each place, in whole steps (degrees), is from its true one, arc-seconds."""
    # In whole numbers, so that what comes out even is 0 and nothing is lost before the end.
    top, bottom = step.numerator * count, step.denominator
    scale = ARC_SECONDS / (bottom * count)
    return [(place * top - 360 * k * bottom) * scale for k, place in enumerate(places)]


def _circles(plates: Sequence[Sequence[int]]) -> Iterable[tuple[int, int]]:
    return ((number, circle) for number, plate in enumerate(plates, 1) for circle in plate)


def _exact(wanted: Fraction, plates: Sequence[Sequence[int]]) -> tuple[HoleSetting, ...]:
    turns, rest = divmod(wanted, 1)
    found = [
        HoleSetting(number, circle, int(turns), int(rest * circle))
        for number, circle in _circles(plates)
        if (rest * circle).denominator == 1
    ]
    return tuple(sorted(found, key=lambda one: (one.circle, one.plate)))


def _near_setting(wanted: Fraction, worm_ratio: float, plate: int, circle: int) -> HoleSetting:
    total = _nearest(wanted * circle)
    off = (Fraction(total, circle) - wanted) * 360 * ARC_SECONDS / _fraction(worm_ratio)
    return HoleSetting(plate, circle, total // circle, total % circle, float(off))


def _turns_and_holes(turns: int, holes: int) -> str:
    whole = f"{turns} turn" + ("s" if turns != 1 else "")
    if not holes:
        return whole
    part = f"{holes} hole" + ("s" if holes != 1 else "")
    return f"{whole} and {part}" if turns else part


def _walk(places: Sequence[int], circle: int) -> tuple[str, ...]:
    """Words for each space: how far from the one before, and the hole the pin ends in.

    The last lets a lost count be found again: holes are numbered from 0, the hole at space 1.
    """
    texts = [f"start in hole 0 of the {circle} circle"]
    for before, here in itertools.pairwise(places):
        turns, holes = divmod(here - before, circle)
        texts.append(
            f"{_turns_and_holes(turns, holes)} on the {circle} circle, to hole {here % circle}"
        )
    return tuple(texts)


def _no_setting(count: int, worm_ratio: float, plates: Sequence[Sequence[int]]) -> Fault:
    """Why not, and what instead."""
    remedies = []
    near = nearest_counts(count, worm_ratio, plates)
    if near:
        remedies.append(f"exact counts near it: {', '.join(map(str, near))}")
    compounds = compound_settings(count, worm_ratio, plates, keep=1)
    if compounds:
        remedies.append(f"exact by two moves: {compounds[0]} (plate {compounds[0].plate})")
    wanted = _fraction(worm_ratio) / count
    nearest = min(
        (_near_setting(wanted, worm_ratio, *place) for place in _circles(plates)),
        key=lambda one: (abs(one.error), one.circle),
    )
    summed = abs(nearest.error) * count
    remedies.append(
        f"nearest repeated move: {nearest}, {abs(nearest.error):.1f} arc-seconds off each, "
        f"{summed / 60:.1f} arc-minutes after a round"
    )
    largest = max(circle for _, circle in _circles(plates))
    half_hole = 360 * ARC_SECONDS / (worm_ratio * largest * 2)
    remedies.append(
        f"nearest hole of the {largest} circle for every space, counted from the first: at most "
        f"{half_hole:.0f} arc-seconds from its true place"
    )
    return Fault(
        f"{count} divisions cannot be made on these hole circles by plain indexing",
        "; ".join(remedies),
    )
