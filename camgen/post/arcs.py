"""Arcs on a machine's grid.

A control computes an arc from rounded words. So the end points are rounded first; the centre is
then sought from the *rounded* points, so that the radius is the same at both; an arc whose ends
round to one point is dropped (written, it would be a full circle); and an arc that the grid or the
machine file cannot carry becomes shorter arcs, and at last lines. All lengths here are in counts
of the program's last decimal place, angles in radians.
"""

from __future__ import annotations

from math import acos, atan2, ceil, cos, floor, hypot, pi, sin
from typing import NamedTuple

from camgen.shop.machine import ArcWords
from camgen.values import dataclass

__all__ = ["HALF_DIAGONAL", "ArcBlock", "ArcLimits", "arc_limits", "arc_pieces"]

# NISTIR 6556 calls an arc an error when its two radii differ by more than this, or by more than
# 0.0002 inch in a program in inches (from memory); the smaller of the two serves for both.
# A little is taken off for the control's own arithmetic.
RADII_AGREE_MM = 0.002 - 1e-6
# Rounding moves a point by up to half a step along both axes: so many steps.
HALF_DIAGONAL = 0.7072


@dataclass(frozen=True, slots=True)
class ArcLimits:
    """What a machine file allows of arcs, in counts and radians.

    No arc is parted at an axis direction nearer than ``shortest`` counts from its ends.
    """

    longest_sweep: float
    quadrants: bool
    smallest_radius: float
    largest_radius: float
    radii_agree: float
    chord_error: float
    grid: int
    lines_only: bool
    shortest: float = 0.0


class ArcBlock(NamedTuple):
    """One block: to the whole-count point ``a``, ``b``; ``share`` of the sweep is done there.

    ``centre`` is None for a line. ``radius`` is what the block's end points and centre give.
    """

    a: int
    b: int
    share: float
    centre: tuple[int, int] | None
    radius: float = 0.0


def arc_limits(words: ArcWords, count_mm: float, grid: int) -> ArcLimits:
    """Limits in counts of ``count_mm`` for a machine file's ``arcs``.

    Sweeps of more than 180° are always split: two centres then share the rounding, and the
    opposite side of a nearly closed circle stays where it was meant. In radius form 120° is the
    longest, since near 180° the centre's place hangs on the last place of R.
    """
    longest = min(words.largest_sweep, 120.0 if words.style == "radius" else 180.0)
    if grid > 1:
        # On a coarse grid the centre lies off by so much that half a circle bulges beyond rounding.
        longest = min(longest, 90.0)
    # Rounding of the points, half a grid step each way, is part of the stated chord error.
    chord_error = words.tolerance / count_mm - HALF_DIAGONAL * grid
    return ArcLimits(
        longest_sweep=longest * pi / 180.0 * (1.0 + 1e-9),
        quadrants=words.quadrants,
        smallest_radius=words.smallest_radius / count_mm,
        largest_radius=words.largest_radius / count_mm,
        radii_agree=RADII_AGREE_MM / count_mm,
        chord_error=max(chord_error, 0.25 * words.tolerance / count_mm),
        grid=grid,
        lines_only=words.style == "none",
        # A part no longer than a coarse grid would lead aside.
        shortest=1.5 * grid if grid > 1 else 0.0,
    )


def arc_pieces(
    here: tuple[int, int],
    end: tuple[int, int],
    start_meant: tuple[float, float],
    end_meant: tuple[float, float],
    centre: tuple[float, float],
    clockwise: bool,
    full: bool,
    limits: ArcLimits,
    straight: bool = False,
) -> list[ArcBlock]:
    """The blocks of one arc, from the point ``here`` where the machine stands.

    ``start_meant`` and ``end_meant`` are the planned points before rounding, ``end`` the rounded
    end. ``straight`` asks for lines whatever the limits say. An arc that rounds to nothing gives
    no blocks.

    >>> limits = arc_limits(ArcWords(), 0.001, 1)
    >>> [piece[:2] for piece in arc_pieces((1000, 0), (1000, 0), (1000, 0), (1000, 0), (0, 0),
    ...                                    False, True, limits)]
    [(-1000, 0), (1000, 0)]
    >>> arc_pieces((1000, 0), (1000, 0), (1000, 0.1), (1000, 0.2), (0, 0), False, False, limits)
    []
    """
    from_a, from_b = start_meant[0] - centre[0], start_meant[1] - centre[1]
    to_a, to_b = end_meant[0] - centre[0], end_meant[1] - centre[1]
    radius = hypot(from_a, from_b)
    if full:
        sweep = 2.0 * pi
    else:
        if abs(from_a - to_a) + abs(from_b - to_b) < 1e-6:
            return []
        sweep = atan2(from_a * to_b - from_b * to_a, from_a * to_a + from_b * to_b)
        if clockwise:
            sweep = -sweep
        if sweep <= 0.0:
            sweep += 2.0 * pi
    turn = -sweep if clockwise else sweep
    angle = atan2(from_b, from_a)
    straight = (
        straight
        or limits.lines_only
        or not limits.smallest_radius <= radius <= limits.largest_radius
    )
    pieces: list[ArcBlock] = []
    if not straight and not limits.quadrants and sweep <= limits.longest_sweep:
        _add_arc(pieces, here, end, centre, radius, angle, turn, 0.0, 1.0, limits)
        return pieces
    if straight:
        stops = _equal_stops(sweep, _chord_sweep(radius, limits.chord_error))
    elif limits.quadrants:
        least = limits.shortest / (radius * sweep)
        stops = _quadrant_stops(angle, turn, limits.longest_sweep, max(1e-9, least))
    else:
        stops = _equal_stops(sweep, limits.longest_sweep)
    done = 0.0
    for share in stops:
        if share == 1.0:
            to = end
        else:
            at = angle + turn * share
            to = _on_grid(
                centre[0] + radius * cos(at), centre[1] + radius * sin(at), limits.grid
            )
        if straight:
            if to != here:
                pieces.append(ArcBlock(to[0], to[1], share, None))
        else:
            _add_arc(pieces, here, to, centre, radius, angle + turn * done, turn, done, share,
                     limits)
        here, done = to, share
    return pieces


def _on_grid(a: float, b: float, grid: int) -> tuple[int, int]:
    """The nearest point whose counts are whole multiples of ``grid``."""
    return round(a / grid) * grid, round(b / grid) * grid


def _chord_sweep(radius: float, error: float) -> float:
    """The sweep whose chord stays within ``error`` of an arc of ``radius``."""
    return 2.0 * acos(1.0 - error / radius) if radius > error else pi / 2.0


def _equal_stops(sweep: float, longest: float) -> list[float]:
    """Shares of the sweep at the ends of equal pieces, none longer than ``longest``."""
    count = max(1, ceil(sweep / longest - 1e-9))
    return [k / count for k in range(1, count)] + [1.0]


def _quadrant_stops(angle: float, turn: float, longest: float, least: float) -> list[float]:
    """Shares of the sweep where it crosses an axis direction, and between where still too long.

    Not nearer to its ends than the share ``least``.
    """
    quarter = pi / 2.0
    crossings: list[float] = []
    k = floor(angle / quarter + 1e-9) + 1 if turn > 0 else ceil(angle / quarter - 1e-9) - 1
    while (share := (k * quarter - angle) / turn) < 1.0 - least:
        if share > least:
            crossings.append(share)
        k += 1 if turn > 0 else -1
    stops: list[float] = []
    before = 0.0
    for share in [*crossings, 1.0]:
        part = (share - before) * abs(turn)
        stops += [before + (share - before) * s for s in _equal_stops(part, longest)[:-1]]
        stops.append(share)
        before = share
    return stops


def _add_arc(
    pieces: list[ArcBlock],
    here: tuple[int, int],
    to: tuple[int, int],
    centre: tuple[float, float],
    radius: float,
    angle: float,
    turn: float,
    done: float,
    share: float,
    limits: ArcLimits,
) -> None:
    """Add the block for one arc of at most 180°, or shorter ones, or a line.

    ``angle`` is the planned direction of the start from the centre, ``turn`` the whole arc's
    signed sweep, of which ``done`` to ``share`` is to be added.
    """
    if to == here:
        return
    along_a, along_b = to[0] - here[0], to[1] - here[1]
    chord = hypot(along_a, along_b)
    if chord * chord <= radius:
        # An eighth of a count off a straight line: the grid could not tell the arc from it, and
        # its centre would hang on the rounding.
        pieces.append(ArcBlock(to[0], to[1], share, None))
        return
    # The point nearest the planned centre that is as far from both rounded ends.
    shift = (
        (centre[0] - (here[0] + to[0]) / 2.0) * along_a
        + (centre[1] - (here[1] + to[1]) / 2.0) * along_b
    ) / (chord * chord)
    best_a, best_b, error = _best_centre(
        here, to, centre[0] - shift * along_a, centre[1] - shift * along_b, limits
    )
    from_a, from_b = here[0] - best_a, here[1] - best_b
    cross = from_a * (to[1] - best_b) - from_b * (to[0] - best_a)
    sweep = abs(turn) * (share - done)
    # Near 180° the rounded points may lie a hair to either side; elsewhere the wrong side would
    # be read as the rest of the circle.
    right_way = cross * turn > 0 or sweep > 0.95 * pi
    if error <= limits.radii_agree and right_way and (from_a or from_b):
        pieces.append(
            ArcBlock(to[0], to[1], share, (best_a, best_b), (hypot(from_a, from_b)
                  + hypot(to[0] - best_a, to[1] - best_b)) / 2.0)
        )
        return
    if chord < 4 * limits.grid or sweep < 1e-3:
        pieces.append(ArcBlock(to[0], to[1], share, None))
        return
    middle = (done + share) / 2.0
    at = angle + turn * (middle - done)
    between = _on_grid(centre[0] + radius * cos(at), centre[1] + radius * sin(at), limits.grid)
    _add_arc(pieces, here, between, centre, radius, angle, turn, done, middle, limits)
    _add_arc(pieces, between, to, centre, radius, at, turn, middle, share, limits)


def _best_centre(
    here: tuple[int, int], to: tuple[int, int], a: float, b: float, limits: ArcLimits
) -> tuple[int, int, float]:
    """The grid point nearest ``a``, ``b`` from which the two radii agree to one grid step.

    Grid points are counted from ``here``, as the centre's words are. Among the nine around ``a``,
    ``b`` the nearest that serves is taken, for a centre moved aside moves the whole arc; where
    none does, the one with the least difference. Also returns the difference of the radii.
    """
    grid = limits.grid
    good = min(float(grid), limits.radii_agree)
    middle_a = here[0] + round((a - here[0]) / grid) * grid
    middle_b = here[1] + round((b - here[1]) / grid) * grid
    error = _radii_differ(here, to, middle_a, middle_b)
    if error <= good:
        return middle_a, middle_b, error
    around = sorted(
        (hypot(try_a - a, try_b - b), _radii_differ(here, to, try_a, try_b), try_a, try_b)
        for try_a in (middle_a - grid, middle_a, middle_a + grid)
        for try_b in (middle_b - grid, middle_b, middle_b + grid)
    )
    for _, error, try_a, try_b in around:
        if error <= good:
            return try_a, try_b, error
    _, error, try_a, try_b = min(around, key=lambda one: one[1])
    return try_a, try_b, error


def _radii_differ(here: tuple[int, int], to: tuple[int, int], a: int, b: int) -> float:
    """How much farther one end of an arc is from its centre than the other."""
    return abs(hypot(here[0] - a, here[1] - b) - hypot(to[0] - a, to[1] - b))
