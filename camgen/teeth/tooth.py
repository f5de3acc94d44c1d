"""One tooth: its sizes, its outline repeated round the wheel, and the space beside it.

The frame is the wheel's own: centre 0, 0; a tooth *space* on the +x axis (space 1, where the
dividing head stands at 0°), with its deepest point on that axis; angles anticlockwise. Lengths are
mm.
"""

from __future__ import annotations

import cmath
import itertools
import math

import numpy as np

from camgen.arrays import Floats
from camgen.messages import Message
from camgen.teeth.outlines.curves import Complexes, FlankArc, FlankPiece, Line, turned
from camgen.values import dataclass

__all__ = ["SPACE", "Approach", "Tooth", "ToothFace", "ToothSizes", "chordal"]

# What the first of a form's approaches cuts, as a job calls it.
SPACE = "space"


@dataclass(frozen=True, slots=True)
class Approach:
    """One way in which a cutter comes to a space, and what of it that way ``cuts``.

    The radius towards the cutter stands ``turn`` degrees beyond the space's own place,
    anticlockwise; the cutter's zero ``over`` mm beside the axis, towards larger angles; its deepest
    point goes down to ``bottom`` mm from the axis, measured along the infeed.
    """

    cuts: str
    turn: float
    over: float
    bottom: float


@dataclass(frozen=True, slots=True)
class ToothFace:
    """A straight face of a tooth beside the space on the +x axis, by its name: ``at`` from its
    inner to its outer end."""

    name: Message
    at: Line


@dataclass(frozen=True, slots=True)
class ToothSizes:
    """The sizes a wheel is ordered, cut and measured by; mm.

    ``tooth_thickness`` is measured along the pitch circle. ``chordal_thickness`` is the same tooth
    across the flats of a caliper, whose depth stop, resting on the tooth's tip, is set to
    ``chordal_height``.
    """

    teeth: int
    module: float
    pitch_diameter: float
    tip_diameter: float
    root_diameter: float
    whole_depth: float
    addendum: float
    dedendum: float
    tooth_thickness: float
    chordal_thickness: float
    chordal_height: float


def chordal(thickness: float, pitch_radius: float, tip_radius: float) -> tuple[float, float]:
    """Chordal thickness of a tooth and the height to measure it at, mm.

    With half the tooth's angle ψ = thickness / (2 r): chord 2 r sin ψ, height tip − r cos ψ.
    The figures are those for a symmetric tooth; plane geometry.

    The well-known case of one whole tooth of module 1 and 12 teeth, addendum 1 (chord 1.5663,
    height 1.0513, as tabulated in machinists' handbooks, from memory):

    >>> [round(value, 4) for value in chordal(math.pi / 2, 6.0, 7.0)]
    [1.5663, 1.0513]
    """
    half = thickness / (2.0 * pitch_radius)
    return 2.0 * pitch_radius * math.sin(half), tip_radius - pitch_radius * math.cos(half)


@dataclass(frozen=True)
class Tooth:
    """A tooth form with its sizes.

    ``profile`` is one pitch of the outline, from the middle of one tooth's top (angle −π/N where
    the flanks are alike) through the space on the +x axis to the middle of the next tooth's top.
    ``notes`` are things a person should know, such as an undercut. ``pressure_angle`` is that of
    an involute, degrees, 0 for other forms. ``thinned`` is by how much an involute's teeth are
    thinner along the pitch circle than its profile shift makes them, mm. ``only`` are the first and
    the last space of part-circle teeth, counted from 1; between the last and the first the wheel
    stands at its tip circle. ``approaches`` are the ways in which its cutters come to a space,
    where the cutter's middle does not simply go straight in on the axis; ``faces`` are those that
    the tooth is measured by. ``tops``: so many pieces at either end of the profile are the teeth's
    tops, and not cut with the space.
    """

    form: str
    sizes: ToothSizes
    profile: tuple[FlankPiece, ...]
    notes: tuple[Message, ...] = ()
    pressure_angle: float = 0.0
    thinned: float = 0.0
    only: tuple[int, int] | None = None
    approaches: tuple[Approach, ...] = ()
    faces: tuple[ToothFace, ...] = ()
    tops: int = 0

    @property
    def ways(self) -> tuple[Approach, ...]:
        """The ways in which cutters come to a space: its own, else one straight in."""
        return self.approaches or (Approach(SPACE, 0.0, 0.0, self.root_radius),)

    @property
    def deepest(self) -> float:
        """How deep its cutter goes, from the tip circle along the infeed, mm."""
        if not self.approaches:
            return self.sizes.whole_depth
        return self.tip_radius - self.approaches[0].bottom

    @property
    def spaces(self) -> range:
        """Numbers of the spaces there are, from 1."""
        first, last = self.only or (1, self.sizes.teeth)
        return range(first, last + 1)

    @property
    def part_circle(self) -> bool:
        """Whether some of the circle has no teeth."""
        return len(self.spaces) < self.sizes.teeth

    @property
    def pitch_angle(self) -> float:
        """Angle from one tooth to the next, radians."""
        return 2.0 * math.pi / self.sizes.teeth

    @property
    def tip_radius(self) -> float:
        """mm."""
        return self.sizes.tip_diameter / 2.0

    @property
    def root_radius(self) -> float:
        """mm."""
        return self.sizes.root_diameter / 2.0

    def one_pitch(self, tolerance: float) -> Complexes:
        """Points (n,) of one pitch as complex numbers, both ends included; chord error ≤ tolerance.

        The last point is the first one turned by one pitch.
        """
        return _sampled(self.profile, tolerance)

    def chain(self, tolerance: float) -> Complexes:
        """Points (n,) of one space as complex numbers, tip over root to tip, without lands."""
        return _sampled(self._flanks(), tolerance)

    def outline(self, tolerance: float = 0.0005) -> Floats:
        """The whole wheel, (n, 2) mm, anticlockwise, the first point repeated as the last.

        The chord error is at most ``tolerance`` mm. All teeth have the same points, turned; what
        has no teeth is an arc of the tip circle.
        """
        pitch = self.one_pitch(tolerance)[:-1]
        turns = np.exp(1j * self.pitch_angle * (np.array(self.spaces) - 1))
        ring = (turns[:, None] * pitch[None, :]).ravel()
        if self.part_circle:
            ring = np.append(ring, _sampled((self._uncut(),), tolerance)[:-1])
        return _as_pairs(np.append(ring, ring[0]))

    def space(self, tolerance: float = 0.0005, overshoot: float = 0.0) -> Floats:
        """One tooth space on the +x axis, a closed polygon (m, 2), anticlockwise, mm.

        It is what a form cutter for this tooth removes: the flanks and root of the space, and from
        the ends of the flanks radially on to the tip radius plus ``overshoot``. Lands on the tip
        circle belong to the turned blank and are not part of it.
        """
        inner = self.chain(tolerance)
        outer = self.tip_radius + overshoot
        first, last = cmath.phase(complex(inner[0])), cmath.phase(complex(inner[-1]))
        top = FlankArc(cmath.rect(outer, last), 0j, first - last)
        share = np.linspace(0.0, 1.0, top.steps(tolerance) + 1)
        # Anticlockwise: out along the far side of the space, back over the root.
        ring = np.concatenate([inner, top.at(share)])[::-1]
        ring = ring[np.append(True, np.abs(np.diff(ring)) > 1e-12)]
        return _as_pairs(ring if ring[0] == ring[-1] else np.append(ring, ring[0]))

    def outline_path(self, tolerance: float = 0.0005) -> tuple[Line | FlankArc, ...]:
        """The whole wheel as lines and arcs end to end, anticlockwise.

        Exact where the form is made of lines and arcs; other curves become chords within
        ``tolerance`` mm.
        """
        one: list[Line | FlankArc] = []
        for piece in self.profile:
            if isinstance(piece, Line | FlankArc):
                one.append(piece)
                continue
            points = [complex(point) for point in _sampled((piece,), tolerance)]
            one.extend(Line(*pair) for pair in itertools.pairwise(points))
        turns = [cmath.exp(1j * self.pitch_angle * (space - 1)) for space in self.spaces]
        toothed = tuple(turned(piece, turn) for turn in turns for piece in one)
        return (*toothed, self._uncut()) if self.part_circle else toothed

    def _uncut(self) -> FlankArc:
        """The arc of the tip circle from the last space of part-circle teeth to the first."""
        start = self.profile[0].start * cmath.exp(1j * self.pitch_angle * self.spaces[-1])
        without = self.sizes.teeth - len(self.spaces)
        return FlankArc(start, 0j, self.pitch_angle * without)

    def _flanks(self) -> tuple[FlankPiece, ...]:
        """The profile without the lands on the tip circle at either end."""
        pieces = list(self.profile[self.tops : len(self.profile) - self.tops])
        while len(pieces) > 1 and _is_land(pieces[0], self.tip_radius):
            pieces.pop(0)
        while len(pieces) > 1 and _is_land(pieces[-1], self.tip_radius):
            pieces.pop()
        return tuple(pieces)


def _is_land(piece: FlankPiece, tip_radius: float) -> bool:
    return (
        isinstance(piece, FlankArc)
        and abs(piece.centre) < 1e-12
        and abs(piece.radius - tip_radius) < 1e-9
    )


def _sampled(pieces: tuple[FlankPiece, ...], tolerance: float) -> Complexes:
    """Points along pieces that follow one another, joints once."""
    if tolerance <= 0.0:
        raise ValueError("tolerance must be above 0")
    parts = [np.array([pieces[0].start])]
    for piece in pieces:
        count = piece.steps(tolerance)
        parts.append(piece.at(np.arange(1, count + 1) / count))
    return np.concatenate(parts)


def _as_pairs(points: Complexes) -> Floats:
    return np.column_stack([points.real, points.imag])
