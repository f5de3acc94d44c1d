"""A wheel and its pinion rolled together: does anything foul, how much play, how even the motion.

The wheel (the driver) turns in small steps through one pitch. A point of a wheel's tooth that
stands at radius s from the pinion's centre must lie between the two flanks of the pinion's space at
that radius, and turning the pinion changes no radius: so every point of the tooth says outright how
far the pinion must have turned at least, and at most. The largest of the one is where the pinion is
when driven, the smallest of the other where it is held back; the difference is the play.

Lengths mm; angles degrees; errors µm at the pinion's pitch circle and arc-seconds of the pinion.
The wheel's centre is at 0, 0, the pinion's at (centre distance, 0); the wheel turns anticlockwise,
so the teeth come up to the line of centres from below it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial

import numpy as np

from camgen.arrays import Floats, Ints
from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.teeth.cut.as_cut import CutTooth
from camgen.teeth.outlines.curves import Complexes, divided
from camgen.teeth.tooth import Tooth
from camgen.values import dataclass

__all__ = ["Action", "centre_distance", "closest_distance", "roll"]

# Chord error of the flanks in modules: what it adds to the motion stays far below the forms' own.
FINENESS = 5e-5
STEPS = 96
# Where pairs hand over, steps so much finer are taken, on flanks whose chords are so much nearer to
# them; not where the motion goes on alike within such a share.
FINER = 16
FINER_CHORDS = 64
ALIKE = 0.002


@dataclass(frozen=True, slots=True)
class Action:
    """How a pair runs at one centre distance.

    ``interference`` is the deepest overlap when both flanks would have to give way, µm along the
    pinion's pitch circle, 0 when the pair is free. ``backlash`` are the least and the greatest play
    through a pitch, µm there, and ``backlash_degrees`` the same of the pinion's angle.
    ``ratio_error`` is the greatest departure of the momentary ratio from teeth/leaves, as a share
    (0.01 is one per cent); ``lag`` the whole swing of the pinion from even motion through a pitch,
    arc-seconds, and ``lag_micrometres`` the same along its pitch circle. ``before`` and ``after``
    are how far the wheel turns, degrees, while one pair of flanks drives before and after the line
    of centres. ``overlap`` is for how many pitches it drives in all, 1 where the teeth hand over at
    once; flanks within 0.05 µm of the driving ones drive too. ``clearance`` are the gaps from
    the wheel's tips to the pinion's root and from the pinion's tips to the wheel's root, mm.
    """

    centre_distance: float
    interference: float
    backlash: tuple[float, float]
    backlash_degrees: tuple[float, float]
    ratio_error: float
    lag: float
    lag_micrometres: float
    before: float
    after: float
    overlap: float
    clearance: tuple[float, float]

    @property
    def free(self) -> bool:
        """Whether the pair turns without fouling anywhere."""
        return self.interference == 0.0 and min(self.clearance) > 0.0


def centre_distance(wheel: Tooth, pinion: Tooth) -> float:
    """Nominal depthing, mm.

    The pitch circles touch; involutes with profile shift stand where they have no play, at
    a = m·(z₁ + z₂)/2 · cos α/cos α′ with inv α′ = inv α + (s₁ + s₂ − π·m)/(m·(z₁ + z₂)), s the
    thicknesses along the pitch circles (ISO 21771), before anything was taken off them for play.

    >>> from camgen.teeth.outlines.involute import involute_tooth
    >>> wheel, pinion = involute_tooth(30, 1.0), involute_tooth(10, 1.0, profile_shift=0.5)
    >>> round(centre_distance(wheel, pinion), 3)
    20.463
    """
    sum_of_radii = (wheel.sizes.pitch_diameter + pinion.sizes.pitch_diameter) / 2.0
    if not (wheel.pressure_angle and wheel.pressure_angle == pinion.pressure_angle):
        return sum_of_radii
    angle = math.radians(wheel.pressure_angle)
    module, teeth = wheel.sizes.module, wheel.sizes.teeth + pinion.sizes.teeth
    wider = sum(one.sizes.tooth_thickness + one.thinned for one in (wheel, pinion))
    wider -= math.pi * module
    wanted = math.tan(angle) - angle + wider / (module * teeth)
    running = max(angle, 0.1)
    for _ in range(30):
        # Newton's way: the slope of tan x - x is its tangent squared.
        running -= (math.tan(running) - running - wanted) / math.tan(running) ** 2
    return sum_of_radii * math.cos(angle) / math.cos(running)


def roll(wheel: Tooth | CutTooth, pinion: Tooth | CutTooth, distance: float) -> Action:
    """Roll the ``wheel`` through one pitch against the ``pinion`` at a centre ``distance`` in mm.

    Teeth as meant and teeth as cut go in alike. Raises Refused when the teeth do not reach each
    other through the whole pitch.

    A pair of involutes runs at a constant ratio at any centre distance:

    >>> from camgen.teeth.outlines.involute import involute_tooth
    >>> action = roll(involute_tooth(40, 0.5), involute_tooth(20, 0.5), 15.05)
    >>> action.ratio_error < 0.001, action.lag_micrometres < 0.05
    (True, True)
    """
    driver, driven = _Space.of(wheel), _Space.of(pinion)
    if distance >= driver.tip + driven.tip:
        raise _no_hold(distance)
    least, most, height = _positions(driver, driven, distance)
    driven_to, held_to = least.max(axis=0), most.min(axis=0)
    step = 2.0 * math.pi / driver.teeth / STEPS
    ratio = driver.teeth / driven.teeth
    lag = driven_to - ratio * step * np.arange(STEPS)
    play = held_to - driven_to
    radius = driven.pitch_radius
    wheel_step = math.degrees(step)
    overlap = -float(play.min()) * radius
    close = least > driven_to[None, :] - 5e-5 / radius
    return Action(
        centre_distance=distance,
        interference=overlap * 1000.0 if overlap > driven.chords else 0.0,
        backlash=(float(play.min()) * radius * 1000.0, float(play.max()) * radius * 1000.0),
        backlash_degrees=(math.degrees(float(play.min())), math.degrees(float(play.max()))),
        ratio_error=_steepest(lag / ratio, least.argmax(axis=0) - len(least) // 2, step,
                              partial(_driving, wheel, pinion, distance)),
        lag=math.degrees(float(np.ptp(lag))) * 3600.0,
        lag_micrometres=float(np.ptp(lag)) * radius * 1000.0,
        before=float((close & (height < 0.0)).sum()) * wheel_step,
        after=float((close & (height >= 0.0)).sum()) * wheel_step,
        overlap=float(close.sum()) / STEPS,
        clearance=(distance - driver.tip - driven.root, distance - driven.tip - driver.root),
    )


def _steepest(
    lag: Floats, driving: Ints, step: float, driving_alone: Callable[[Floats], Floats]
) -> float:
    """The greatest departure of the momentary ratio, as a share.

    ``lag`` (steps) is how far the pinion is off even motion, radians of the wheel, ``driving``
    (steps) which pair of teeth has it, counted in pitches; the pattern repeats every pitch. Where
    one pair hands over to the next the motion has a corner, and a difference across it is milder
    than either side: there each pair is followed on its own curve by ``driving_alone``, in much
    finer steps, to where the two cross.
    """
    rises = (np.roll(lag, -1) - lag) / step
    # After the last step comes the first of the next pair.
    handed = np.append(driving[1:], driving[0] - 1) != driving
    four = sum(np.roll(rises, -by) for by in range(1, 5)) / 4.0
    corner = handed & (np.abs(four - np.roll(four, 5)) > ALIKE)
    # Flanks are chords: what their corners do cancels over a few steps.
    known = sum(np.roll(~corner, by).astype(np.int64) for by in (-1, 0, 1, 2))
    even = np.where(corner, 0.0, rises)
    slopes = sum(np.roll(even, by) for by in (-1, 0, 1, 2)) / np.maximum(known, 1)
    steepest = float(np.abs(slopes).max())
    fine = step / FINER * np.arange(-9, FINER + 10)
    for here in np.flatnonzero(corner).tolist():
        rows = driving[here], driving[(here + 1) % STEPS] + (here + 1) // STEPS
        first, second = driving_alone(np.concatenate(
            [step * (here + row * STEPS) + fine for row in rows])).reshape(2, -1)
        # The first place where the second pair is ahead, with room for both sides.
        place = int(np.clip(np.argmax(second > first), 9, len(fine) - 9))
        for side in (first[place - 9 : place][::-1], second[place : place + 9]):
            # Drawn on to the corner itself from the mean steps beside it.
            if np.isfinite(side).all():
                near, far = side[4] - side[0], side[8] - side[4]
                found = abs(1.5 * near - 0.5 * far) * FINER / (4.0 * step)
                steepest = max(steepest, float(found))
    return steepest


def _driving(
    wheel: Tooth | CutTooth, pinion: Tooth | CutTooth, distance: float, turns: Floats
) -> Floats:
    """How far one tooth alone would put the pinion off even motion, radians of the ``wheel``.

    ``turns`` are the wheel's, radians, from where the tooth stands on the line of centres; with
    chords so much finer than for a whole pitch. Minus infinity where it is out of reach.
    """
    driver, driven = (_Space.of(one, FINENESS / FINER_CHORDS) for one in (wheel, pinion))
    pushed, _ = _pushed(driver.tooth()[1], driven.lower, turns, distance)
    return pushed * driven.teeth / driver.teeth - turns


def closest_distance(wheel: Tooth | CutTooth, pinion: Tooth | CutTooth) -> float:
    """The centre distance below which the pair fouls, mm, to 0.1 µm.

    Either a tip meets the bottom of the mate's space or both flanks of a tooth are held at once.

    Involutes without any allowance are free just down to nominal depthing:

    >>> from camgen.teeth.outlines.involute import involute_tooth
    >>> round(closest_distance(involute_tooth(40, 0.5), involute_tooth(20, 0.5)), 3)
    15.0
    """
    driver, driven = _Space.of(wheel), _Space.of(pinion)
    bottom = max(driver.tip + driven.root, driver.root + driven.tip)
    if not _held(driver, driven, bottom):
        return bottom
    # Fouling grows about evenly with depth, so a line through two places finds where it ends.
    low, high = bottom, driver.tip + driven.tip - 1e-6
    place = driver.pitch_radius + driven.pitch_radius
    for _ in range(40):
        if high - low < 1e-4:
            break
        if low < place < high and _held(driver, driven, place):
            low = place
        elif low < place < high:
            high = place
        place = (low + high) / 2.0
    return high


def _held(driver: _Space, driven: _Space, distance: float) -> bool:
    """Whether the pair is held on both flanks, somewhere in the pitch."""
    try:
        least, most, _ = _positions(driver, driven, distance)
    except Refused:
        return False
    play = most.min(axis=0) - least.max(axis=0)
    return bool(play.min() * driven.pitch_radius < -driven.chords)


def _positions(
    driver: _Space, driven: _Space, distance: float
) -> tuple[Floats, Floats, Floats]:
    """Where each pair of teeth puts the pinion at each step of one pitch of the wheel.

    Arrays (pairs, steps): the pinion's angle at least, at most, radians, and the height of the
    driving contact above the line of centres, mm. Raises Refused when there is no hold somewhere.
    """
    tooth_low, tooth_high = driver.tooth()
    # How far from the line of centres two tip circles still cross, in whole pitches of the wheel.
    cosine = (driver.tip**2 + distance**2 - driven.tip**2) / (2.0 * distance * driver.tip)
    reach = math.acos(max(min(cosine, 1.0), -1.0)) + 1.5 * math.pi / driver.teeth
    pitches = math.ceil(reach * driver.teeth / (2.0 * math.pi))
    step = 2.0 * math.pi / driver.teeth / STEPS
    turns: Floats = step * np.arange(-pitches * STEPS, (pitches + 1) * STEPS, dtype=np.float64)
    # The pinion is seen from the other side: what it calls smaller angles lies above.
    at_least, height = _pushed(tooth_high, driven.lower, turns, distance)
    at_most, _ = _pushed(tooth_low.conj(), driven.upper.conj(), -turns, distance)
    pairs = np.arange(-pitches, pitches + 1)
    shape = (len(pairs), STEPS)
    moved_on = pairs[:, None] * 2.0 * math.pi / driven.teeth
    least, most = at_least.reshape(shape) - moved_on, -at_most.reshape(shape) - moved_on
    if not (np.isfinite(least.max(axis=0)).all() and np.isfinite(most.min(axis=0)).all()):
        raise _no_hold(distance)
    return least, most, height.reshape(shape)


@dataclass(frozen=True)
class _Space:
    """A tooth space as two flanks, each from the root outwards, and the sizes that matter, mm.

    ``chords`` is what the chords of both mates together may pretend of overlap.
    """

    teeth: int
    pitch_radius: float
    tip: float
    root: float
    lower: Complexes
    upper: Complexes
    chords: float

    @staticmethod
    def of(tooth: Tooth | CutTooth, fineness: float = FINENESS) -> _Space:
        if isinstance(tooth, Tooth):
            teeth, module = tooth.sizes.teeth, tooth.sizes.module
            chain = tooth.chain(fineness * module)
            tip = tooth.tip_radius
        else:
            teeth, module, chain = tooth.teeth, tooth.module, tooth.space
            tip = tooth.tip_radius
        lowest = int(np.argmin(np.abs(chain)))
        return _Space(
            teeth,
            teeth * module / 2.0,
            tip,
            float(np.abs(chain[lowest])),
            divided(chain[lowest::-1], 0.02 * module),
            divided(chain[lowest:], 0.02 * module),
            2.0 * FINENESS * module,
        )

    def tooth(self) -> tuple[Complexes, Complexes]:
        """The tooth on the +x axis: its flank at smaller and its flank at larger angles."""
        half = np.exp(1j * math.pi / self.teeth)
        return self.upper / half, self.lower * half


def _pushed(
    tooth: Complexes, leaf: Complexes, turns: Floats, distance: float
) -> tuple[Floats, Floats]:
    """How far a wheel's flank has pushed the pinion at each of the wheel's ``turns``, radians.

    ``tooth`` is the leading flank, ``leaf`` the flank of the pinion's space it pushes against, both
    from the root outwards. The second array is the height of the contact above the line of centres,
    mm. Where the tooth is out of the pinion's reach the first is minus infinity.
    """
    rises = np.maximum.accumulate(np.abs(leaf))
    edge = np.angle(leaf)
    tip = float(rises[-1])
    # What lies nearer to the wheel's centre than the leaves ever come cannot touch them.
    tooth = tooth[max(int(np.argmax(np.abs(tooth) > distance - tip)) - 1, 0) :]
    # By the law of cosines a point at radius r is within the leaves' tips while it stands less than
    # so far from the line of centres; only what is within need be looked at.
    radius = np.abs(tooth)
    cosine = (radius**2 + distance**2 - tip * tip) / (2.0 * distance * radius)
    limit = np.where(cosine > 1.0, -1.0, np.arccos(np.clip(cosine, -1.0, 1.0)))
    within = np.abs(turns[:, None] + np.angle(tooth)) <= limit
    turned = np.exp(1j * turns)
    row, column = np.nonzero(within)
    reached = turned[row] * tooth[column] - distance
    push = np.full(within.shape, -np.inf)
    push[row, column] = np.arctan2(reached.imag, -reached.real) + np.interp(
        np.abs(reached), rises, edge
    )
    best = push.argmax(axis=1)
    rows = np.arange(len(turns))
    result, height = push[rows, best], (turned * tooth[best]).imag
    # The leaf's own corner, where the flank passes it between two points.
    row, column = np.nonzero(within[:, :-1] != within[:, 1:])
    inner = np.where(within[row, column], column, column + 1)
    start = turned[row] * tooth[inner] - distance
    way = turned[row] * tooth[2 * column + 1 - inner] - distance - start
    along = (start * way.conj()).real
    length = way.real**2 + way.imag**2
    left = np.maximum(tip * tip - start.real**2 - start.imag**2, 0.0)
    share = (np.sqrt(along**2 + length * left) - along) / length
    corner = start + share * way
    at_corner = np.arctan2(corner.imag, -corner.real) + edge[-1]
    # A flank can pass the corner's circle twice: sorted, the larger push is set last and stays.
    order = np.argsort(at_corner)
    order = order[at_corner[order] > result[row[order]]]
    result[row[order]], height[row[order]] = at_corner[order], corner.imag[order]
    return result, height


def _no_hold(distance: float) -> Refused:
    return Refused(
        Fault(
            Message("at a centre distance of {distance:.3f} mm the teeth lose hold of each other",
                    distance=distance),
            Message("a smaller centre distance or higher teeth are needed"),
        )
    )
