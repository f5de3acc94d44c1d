"""Divisions on a head turned by hand: settings of crank and hole plates."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction

from camgen.dividing.division import (
    ARC_SECONDS,
    LARGEST_COUNT,
    SMALLEST_COUNT,
    Compound,
    Division,
    HoleSetting,
    check_count,
    division_of,
    errors_of,
    fraction,
    goes_to,
    nearest_whole,
    starts_in,
)
from camgen.faults import Fault, Refused
from camgen.messages import Message, counted

__all__ = [
    "angle_settings",
    "compound_settings",
    "divide_by_hand",
    "hole_settings",
    "nearest_counts",
]


def divide_by_hand(
    count: int,
    worm_ratio: float,
    plates: Sequence[Sequence[int]],
    *,
    nearest_hole: bool = False,
    also: Sequence[float] = (),
) -> Division:
    """Divisions on a head with a crank and hole plates.

    ``plates`` are the circles of each plate, as numbers of holes. Exact settings are taken, the one
    with the fewest holes first. Where there is none, ``nearest_hole`` allows each space to be cut
    at the hole nearest to its true place, never summed, with the error this makes; without it
    Refused is raised and says what could be had instead. Where the work is ``also`` to be turned by
    these degrees between two rounds, the exact setting whose holes come nearest to them is taken.

    Six divisions on a 40:1 head, as in US Army Ordnance text OD1644: 6 turns and 12 holes on an
    18-hole circle, or 26 on 39:

    >>> division = divide_by_hand(6, 40, [(18, 39)])
    >>> [str(choice) for choice in division.choices]
    ['6 turns and 12 holes on the 18 circle', '6 turns and 26 holes on the 39 circle']
    """
    check_count(count)
    _check_plates(worm_ratio, plates)
    choices = hole_settings(count, worm_ratio, plates)
    if choices:
        best = min(choices, key=lambda one: _off(also, worm_ratio, one.circle))
        choices = (best, *(one for one in choices if one is not best))
        angles = tuple(360.0 * k / count for k in range(count))
        total = best.turns * best.circle + best.holes
        places = [k * total for k in range(count)]
        texts = _walk(places, best.circle)
        return replace(division_of(count, angles, [0.0] * count, 0.0, texts, choices),
                       places=tuple(places), circle=best.circle, whole=count * total)
    if not nearest_hole:
        raise Refused(_no_setting(count, worm_ratio, plates))
    hole_counts = {circle for plate in plates for circle in plate}
    ways = [_nearest_holes(count, worm_ratio, circle) for circle in sorted(hole_counts)]
    best_way = min(ways, key=lambda way: way.worst_single_arcsec)
    if any(after <= before for before, after in itertools.pairwise(best_way.angles)):
        raise Refused(
            Fault(
                Message("{count} divisions are more than these circles have places for",
                        count=count),
                Message("a plate with more holes or a head with a higher ratio is needed"),
            )
        )
    return best_way


def _off(also: Sequence[float], worm_ratio: float, circle: int) -> float:
    """The most that the holes of a circle are off turns by these degrees, degrees."""
    hole = 360.0 / (worm_ratio * circle)
    return round(max((abs(one - round(one / hole) * hole) for one in also), default=0.0), 9)


def _nearest_holes(count: int, worm_ratio: float, circle: int) -> Division:
    """Each space at the hole of ``circle`` nearest to its true place."""
    hole = Fraction(360) / (fraction(worm_ratio) * circle)
    per_space = Fraction(360, count) / hole
    places = [nearest_whole(k * per_space) for k in range(count)]
    angles = tuple(float(at * hole) for at in places)
    return replace(
        division_of(count, angles, errors_of(places, hole, count), 0.0, _walk(places, circle)),
        places=tuple(places), circle=circle, whole=nearest_whole(count * per_space))


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
    return _exact(fraction(worm_ratio) / count, plates)


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
    wanted = Fraction(degrees).limit_denominator(3600 * 1000) * fraction(worm_ratio) / 360
    found = [_near_setting(wanted, worm_ratio, *place) for place in _circles(plates)]
    found.sort(key=lambda one: (abs(one.error), one.circle, one.plate))
    return tuple(found[:keep])


def nearest_counts(
    count: int, worm_ratio: float, plates: Sequence[Sequence[int]], keep: int = 2
) -> tuple[int, ...]:
    """The counts nearest to ``count`` that plain indexing gives exactly, at most ``keep`` each way.

    ``worm_ratio`` is turns of the crank for one of the head.

    >>> nearest_counts(127, 40, [(24, 25, 28, 30, 34, 37, 38, 39, 41, 42, 43)], keep=1)
    (125, 130)
    """
    ratio = fraction(worm_ratio)
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
    wanted = fraction(worm_ratio) / count
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


def _check_plates(worm_ratio: float, plates: Sequence[Sequence[int]]) -> None:
    faults = []
    if not 0 < worm_ratio < math.inf:
        faults.append(Fault(Message("the head's ratio must be above 0"),
                            Message("40 means 40 turns of the crank")))
    if not any(plates):
        faults.append(Fault(Message("no hole circles are given"),
                            Message("name the circles of at least one plate")))
    faults += [
        Fault(counted("a circle of {n} hole is no circle", "a circle of {n} holes is no circle",
                      circle), Message("give the number of holes, 2 or more"))
        for plate in plates
        for circle in plate
        if circle < 2
    ]
    if faults:
        raise Refused(faults)


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
    total = nearest_whole(wanted * circle)
    off = (Fraction(total, circle) - wanted) * 360 * ARC_SECONDS / fraction(worm_ratio)
    return HoleSetting(plate, circle, total // circle, total % circle, float(off))


def _walk(places: Sequence[int], circle: int) -> tuple[Message, ...]:
    """Words for each space: how far from the one before, and the hole the pin ends in.

    The last lets a lost count be found again: holes are numbered from 0, the hole at space 1.
    """
    texts = [starts_in(0, circle)]
    for before, here in itertools.pairwise(places):
        turns, holes = divmod(here - before, circle)
        texts.append(goes_to(turns, holes, circle, here % circle))
    return tuple(texts)


def _no_setting(count: int, worm_ratio: float, plates: Sequence[Sequence[int]]) -> Fault:
    """Why not, and what instead."""
    remedies = []
    near = nearest_counts(count, worm_ratio, plates)
    if near:
        remedies.append(Message("exact counts near it: {counts}", counts=near))
    compounds = compound_settings(count, worm_ratio, plates, keep=1)
    if compounds:
        remedies.append(Message("exact by two moves: {moves} (plate {plate})",
                                moves=compounds[0].told(), plate=compounds[0].plate))
    wanted = fraction(worm_ratio) / count
    nearest = min(
        (_near_setting(wanted, worm_ratio, *place) for place in _circles(plates)),
        key=lambda one: (abs(one.error), one.circle),
    )
    summed = abs(nearest.error) * count
    remedies.append(
        Message("nearest repeated move: {setting}, {each:.1f} arc-seconds off each, {summed:.1f} "
                "arc-minutes after a round", setting=nearest.told(), each=abs(nearest.error),
                summed=summed / 60)
    )
    largest = max(circle for _, circle in _circles(plates))
    half_hole = 360 * ARC_SECONDS / (worm_ratio * largest * 2)
    remedies.append(
        Message("nearest hole of the {circle} circle for every space, counted from the first: at "
                "most {off:.0f} arc-seconds from its true place", circle=largest, off=half_hole)
    )
    remedy = remedies[0]
    for further in remedies[1:]:
        remedy = Message("{remedies}; {further}", remedies=remedy, further=further)
    return Fault(
        Message("{count} divisions cannot be made on these hole circles by plain indexing",
                count=count), remedy,
    )
