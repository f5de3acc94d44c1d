"""What gauges read on a wheel as it is cut: over its root, across a tooth, over pins, across teeth.

A form cutter leaves its space at some depth in some blank, and the teeth are what stands between
such spaces. Where their flanks meet below the blank's outside the teeth are pointed, and their tips
go down with every deeper cut: a caliper whose stop rides on a tip then measures at another place.
So each reading is taken from the wheel as cut at that moment. Lengths mm, angles radians; readings
are plane geometry, right to the chord error of the flanks, :data:`FINE`.
"""

from __future__ import annotations

import math

import numpy as np

from camgen.arrays import Floats
from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.teeth.outlines.curves import Complexes, divided
from camgen.teeth.tooth import Tooth
from camgen.values import dataclass

__all__ = ["AcrossTeeth", "CutWheel", "Pins", "across_teeth", "across_tooth", "cut_wheel",
           "gauge_pins", "over_pins", "over_tips", "span_of"]

# Chord error of the flanks, mm: no gauge reads a hundredth of it times a pin's leverage.
FINE = 0.0000001
# Flanks are looked at in steps of so much of the module where something is sought along them.
STEP = 0.01
CLOSER = 100
# Gauge pins come in steps of 0.01 mm. Common practice, no source.
PIN_STEP = 0.01
# Sine of half the angle between flanks at a pin: below the least, the pin's place says more of the
# space's width by 1/sine than can be measured; above the most it lies on the tips. Common practice,
# no source.
LEAST_WEDGE, MOST_WEDGE = 0.25, 0.75
# How far a pin stands out over the tips, and how far it and jaws keep from the ends of the flanks,
# in modules. Common practice, no source.
PROUD, KEEP = 0.05, 0.08
# Flat jaws on two round backs slip where the backs' centres stand apart: rocked by θ the reading
# falls by that distance times θ²/2. They are rocked until the contact has moved by so many modules,
# and bear a distance of so many.
ROCKED, SLIPS = 0.05, 0.3


@dataclass(frozen=True)
class CutWheel:
    """A wheel as cut: the two flanks of one tooth, from the root outwards.

    The middle of its tip stands on the +x axis of a frame turned with it: ``right`` and ``left``
    are points (n,) x + iy of its flanks, left at larger angles. ``tip_radius`` is where the teeth
    end: at the outside of the blank, or lower where their flanks meet and they are ``pointed``.
    """

    teeth: int
    module: float
    pitch_radius: float
    right: Complexes
    left: Complexes
    root_radius: float
    tip_radius: float
    pointed: bool

    @property
    def symmetric(self) -> bool:
        """Whether both flanks are alike."""
        return len(self.left) == len(self.right) and bool(
            np.allclose(self.left, np.conj(self.right), 0.0, 1e-6 * self.module))


@dataclass(frozen=True)
class Pins:
    """Two pins laid in opposite spaces, or nearly, and measured over.

    ``distance`` is how far a pin's middle stands from the wheel's, ``contact`` the radius at which
    it touches the flanks, ``wedge`` the sine of half the angle between them there.
    """

    diameter: float
    over: float
    distance: float
    contact: float
    wedge: float


@dataclass(frozen=True)
class AcrossTeeth:
    """Flat jaws closed over ``teeth`` teeth: what they read, and the radius at which they touch."""

    teeth: int
    reading: float
    contact: float


def cut_wheel(
    tooth: Tooth, made: Tooth | None = None, *, deeper: float = 0.0, wider: float = 0.0,
    blank_radius: float | None = None,
) -> CutWheel:
    """The wheel that the cutter of the tooth ``made`` leaves where ``tooth`` is meant.

    ``deeper`` than the whole depth of the tooth meant, mm, negative for a cut that is short;
    ``wider``: the cutter's two halves stand so much farther apart. ``blank_radius`` is the turned
    blank's, else the tip's. Raises Refused where nothing is cut, or no tooth is left.

    >>> from camgen.teeth.outlines.cycloidal import cycloidal_wheel
    >>> wheel = cycloidal_wheel(75, 0.14, 10)
    >>> cut = cut_wheel(wheel, deeper=0.032)
    >>> f"tips {2 * cut.tip_radius - wheel.sizes.tip_diameter:.3f}, pointed: {cut.pointed}"
    'tips -0.066, pointed: True'
    """
    made = made or tooth
    blank = tooth.tip_radius if blank_radius is None else blank_radius
    chain = _beyond(made.chain(FINE), tooth.sizes.whole_depth)
    bottom = np.flatnonzero(np.abs(chain) < np.abs(chain).min() + FINE)
    lowest = int(bottom[np.argmin(np.abs(chain[bottom].imag))])
    infeed = np.exp(1j * math.radians(tooth.ways[0].turn))
    inward = (made.root_radius - tooth.root_radius + deeper) * infeed
    lower = chain[lowest::-1] - inward - 0.5j * wider * infeed
    upper = chain[lowest:] - inward + 0.5j * wider * infeed
    if min(abs(lower[0]), abs(upper[0])) >= blank:
        raise Refused(Fault(Message("the cutter does not reach the blank"),
                            Message("look at the depth and the centre height")))
    half = math.pi / tooth.sizes.teeth
    step = STEP * tooth.sizes.module
    right = divided(upper * np.exp(-1j * half), step)
    left = divided(lower * np.exp(1j * half), step)
    tip = min(blank, _meeting(right, left, blank))
    # Where a flat side goes in beside the axis the deepest place lies beside it, too.
    root = (float(np.abs(chain - inward).min()) if tooth.approaches else
            tooth.root_radius - deeper)
    if tip <= root:
        raise Refused(Fault(Message("no tooth is left between two cuts"),
                            Message("look at the depth and the width of the cutter")))
    right, left = _inside(right, tip), _inside(left, tip)
    middle = np.exp(-0.5j * (np.angle(right[-1]) + np.angle(left[-1])))
    return CutWheel(tooth.sizes.teeth, tooth.sizes.module, tooth.sizes.pitch_diameter / 2,
                    right * middle, left * middle, root, tip, tip < blank - 1e-9)


def _beyond(chain: Complexes, by: float) -> Complexes:
    """A space's flanks led on straight beyond its tips, as whoever grinds a cutter leads them."""
    first, last = chain[0] - chain[1], chain[-1] - chain[-2]
    return np.concatenate([[chain[0] + by * first / abs(first)], chain,
                           [chain[-1] + by * last / abs(last)]])


def _angle_at(flank: Complexes, radii: Floats) -> Floats:
    return np.interp(radii, np.maximum.accumulate(np.abs(flank)), np.angle(flank))


def _meeting(right: Complexes, left: Complexes, blank: float) -> float:
    """The radius at which the flanks of a tooth meet; infinite where they do not within the blank.
    """
    radii = np.unique(np.concatenate([np.abs(right), np.abs(left), [blank]]))
    radii = radii[(radii >= max(abs(right[0]), abs(left[0]))) & (radii <= blank)]
    width = _angle_at(left, radii) - _angle_at(right, radii)
    gone = np.flatnonzero(width <= 0.0)
    if not gone.size:
        return math.inf
    at = int(gone[0])
    if at == 0:
        return 0.0
    share = width[at - 1] / (width[at - 1] - width[at])
    return float(radii[at - 1] + share * (radii[at] - radii[at - 1]))


def _inside(flank: Complexes, radius: float) -> Complexes:
    """A flank from the root to a radius, its end on it."""
    out = np.maximum.accumulate(np.abs(flank))
    kept = flank[out < radius - 1e-12]
    end = radius * np.exp(1j * np.interp(radius, out, np.unwrap(np.angle(flank))))
    return np.append(kept, end)


def across_tooth(wheel: CutWheel, height: float) -> float:
    """What a tooth caliper reads whose stop, set to ``height``, rides on the tip as it is, mm.

    The chord between its flanks at that place; at height 0 it is the land.

    A whole tooth of module 1 and 12 teeth, addendum 1 (machinists' handbooks, from memory: 1.5663
    at 1.0513):

    >>> from camgen.teeth.outlines.involute import involute_tooth
    >>> tooth = involute_tooth(12, 1.0)
    >>> round(across_tooth(cut_wheel(tooth), tooth.sizes.chordal_height), 4)
    1.5663
    """
    at = np.array([wheel.tip_radius - height])
    return float((_across(wheel.left, at) - _across(wheel.right, at))[0])


def _across(flank: Complexes, places: Floats) -> Floats:
    return np.interp(places, np.maximum.accumulate(flank.real), flank.imag)


def over_pins(wheel: CutWheel, diameter: float) -> Pins:
    """Two pins of this diameter in spaces as nearly opposite as the count allows, measured over.

    With an even count they are opposite, M = 2c + d; with an odd one half a pitch beside that:
    M = 2c·cos(π/2N) + d, c being how far a pin's middle stands from the wheel's.
    """
    radius = diameter / 2
    flank = wheel.right * np.exp(1j * math.pi / wheel.teeth)
    near = np.abs(flank.imag) < radius
    if not near.any():
        raise Refused(Fault(Message("a pin of {diameter:g} mm touches no flank", diameter=diameter),
                            Message("take a thicker one")))
    x, y = flank.real[near], flank.imag[near]
    most = int(np.argmax(x + np.sqrt(radius**2 - y**2)))
    # And between that point and those beside it.
    beside = [max(most - 1, 0), most, min(most + 1, len(x) - 1)]
    share = np.linspace(0, 2, 2 * CLOSER + 1)
    x, y = (np.interp(share, (0, 1, 2), one[beside]) for one in (x, y))
    stands = x + np.sqrt(radius**2 - y**2)
    most = int(np.argmax(stands))
    distance = float(stands[most])
    turn = 1.0 if wheel.teeth % 2 == 0 else math.cos(math.pi / (2 * wheel.teeth))
    return Pins(diameter, 2 * distance * turn + diameter, distance,
                float(np.hypot(x[most], y[most])), float((distance - x[most]) / radius))


def over_tips(wheel: CutWheel) -> float:
    """What flat, parallel jaws read over the tips, mm.

    With an even count two tips lie across, and it is the tip diameter. With an odd one a jaw rests
    on one tip and the other on the two across, which reach less far towards it.

    Five sharp tips on a circle of 2 mm: 1 + cos 36°.

    >>> sharp = np.array([0.5 - 1e-9j, 1.0 - 1e-9j])
    >>> star = CutWheel(5, 0.4, 0.8, sharp, sharp.conj(), 0.5, 1.0, True)
    >>> round(over_tips(star), 6) == round(1 + math.cos(math.pi / 5), 6)
    True
    """
    if wheel.teeth % 2 == 0:
        return 2 * wheel.tip_radius
    half = math.pi / wheel.teeth
    # The jaw lies still on two tips where both reach as far: with uneven flanks, turned a little.
    least, most = -half / 2, half / 2
    for _ in range(50):
        turn = (least + most) / 2
        if _reaches(wheel, half - turn) < _reaches(wheel, -half - turn):
            least = turn
        else:
            most = turn
    return _reaches(wheel, -turn) + _reaches(wheel, half - turn)


def _reaches(wheel: CutWheel, beside: float) -> float:
    """How far a tooth reaches out in the direction so far beside the middle of its tip."""
    if np.angle(wheel.right[-1]) <= beside <= np.angle(wheel.left[-1]):
        return wheel.tip_radius
    flanks = np.concatenate([wheel.right, wheel.left]) * np.exp(-1j * beside)
    return float(flanks.real.max())


def gauge_pins(wheel: CutWheel) -> Pins | None:
    """Pins to measure over, in steps of 0.01 mm: touching the flanks nearest to the pitch circle.

    None where the form has no place for them: flanks too nearly parallel, pins that lie on tips or
    root, or do not stand out over the tips.
    """
    if not wheel.symmetric:
        return None
    best: Pins | None = None
    keep = KEEP * wheel.module
    for count in range(math.ceil(0.8 * wheel.module / PIN_STEP),
                       math.ceil(2.6 * wheel.module / PIN_STEP) + 1):
        try:
            pins = over_pins(wheel, count * PIN_STEP)
        except Refused:
            continue
        bottom = pins.distance - pins.diameter / 2
        if (LEAST_WEDGE <= pins.wedge <= MOST_WEDGE
                and pins.contact <= wheel.tip_radius - keep
                and bottom >= wheel.root_radius + keep
                and pins.distance + pins.diameter / 2 >= wheel.tip_radius + PROUD * wheel.module
                and (best is None or abs(pins.contact - wheel.pitch_radius)
                     < abs(best.contact - wheel.pitch_radius))):
            best = pins
    return best


def across_teeth(wheel: CutWheel, teeth: int) -> AcrossTeeth:
    """Flat, parallel jaws closed over so many teeth, square to their middle."""
    turn = np.exp(1j * math.pi * (teeth - 1) / wheel.teeth)
    left, right = wheel.left * turn, wheel.right * np.conj(turn)
    most, least = _outermost(left.imag), _outermost(-right.imag)
    return AcrossTeeth(teeth, float(left.imag[most] - right.imag[least]), float(abs(left[most])))


def _outermost(out: Floats) -> int:
    """Where a jaw that comes in over the tip comes to rest on a flank, root first."""
    falls = np.flatnonzero(np.diff(out[::-1]) < 0.0)
    return len(out) - 1 - (int(falls[0]) if falls.size else len(out) - 1)


def span_of(wheel: CutWheel) -> AcrossTeeth | None:
    """How many teeth, two or more, flat jaws are closed over, and what they read.

    They touch the flanks nearest to the pitch circle. None where the form does not allow it: the
    jaws would rest on tips or roots, or slip to a smaller reading where they are rocked.
    """
    if not wheel.symmetric:
        return None
    best: AcrossTeeth | None = None
    keep = KEEP * wheel.module
    for teeth in range(2, max(3, wheel.teeth // 3)):
        found = across_teeth(wheel, teeth)
        if (found.contact <= wheel.tip_radius - keep and found.contact >= wheel.root_radius + keep
                and _holds_still(wheel, found)
                and (best is None or abs(found.contact - wheel.pitch_radius)
                     < abs(best.contact - wheel.pitch_radius))):
            best = found
    return best


def _holds_still(wheel: CutWheel, found: AcrossTeeth) -> bool:
    turn = np.exp(1j * math.pi * (found.teeth - 1) / wheel.teeth)
    rock = ROCKED * wheel.module / wheel.pitch_radius
    for lean in (np.exp(-1j * rock), np.exp(1j * rock)):
        left, right = (wheel.left * turn * lean).imag, (wheel.right * np.conj(turn) * lean).imag
        reading = left[_outermost(left)] - right[_outermost(-right)]
        if found.reading - reading > SLIPS * wheel.module * rock**2 / 2:
            return False
    return True
