"""The curves that tooth outlines are made of.

Every piece runs from its ``start`` to its ``end`` in the wheel's own frame (centre 0, 0; mm) and
gives points on itself to within a chord error of ``tolerance`` mm. Straight lines and arcs are
exact; involutes and the fillets that a generating rack leaves are evaluated from their formulae.

Points are complex numbers inside this room (x + iy), because turning a wheel is then one
multiplication; arrays given to other rooms are (n, 2).
"""

from __future__ import annotations

import cmath
import math
from typing import Protocol, TypeAlias

import numpy as np
from numpy.typing import NDArray

from camgen.arrays import Floats
from camgen.values import dataclass

__all__ = [
    "Complexes",
    "Epicycloid",
    "FlankArc",
    "FlankPiece",
    "Involute",
    "Line",
    "RackFillet",
    "arc_through",
    "divided",
    "mirrored_flank",
    "turned",
]

Complexes: TypeAlias = NDArray[np.complex128]


class FlankPiece(Protocol):
    """A piece of an outline."""

    @property
    def start(self) -> complex:
        """Where it begins, mm."""

    @property
    def end(self) -> complex:
        """Where it ends, mm."""

    def at(self, share: Floats) -> Complexes:
        """Points at ``share`` (n,) of the way, 0 to 1, by the curve's own parameter."""

    def steps(self, tolerance: float) -> int:
        """Chords needed so that none lies farther than ``tolerance`` mm from the curve."""


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line."""

    start: complex
    end: complex

    def at(self, share: Floats) -> Complexes:
        return self.start + (self.end - self.start) * share.astype(np.complex128)

    def steps(self, tolerance: float) -> int:
        return 1


@dataclass(frozen=True, slots=True)
class FlankArc:
    """An arc about ``centre`` turning by ``sweep`` radians from ``start``; anticlockwise positive.

    >>> arc = FlankArc(1 + 0j, 0j, math.pi / 2)
    >>> print(f"{arc.end:.3f}", arc.radius)
    0.000+1.000j 1.0
    """

    start: complex
    centre: complex
    sweep: float

    @property
    def end(self) -> complex:
        return self.centre + (self.start - self.centre) * cmath.exp(1j * self.sweep)

    @property
    def radius(self) -> float:
        return abs(self.start - self.centre)

    def at(self, share: Floats) -> Complexes:
        turned = self.centre + (self.start - self.centre) * np.exp(1j * self.sweep * share)
        return np.asarray(turned, dtype=np.complex128)

    def steps(self, tolerance: float) -> int:
        # Sagitta of one chord: r (1 - cos(half its angle)).
        ratio = min(tolerance / self.radius, 1.0) if self.radius > 0 else 1.0
        half = math.acos(1.0 - ratio)
        return max(1, math.ceil(abs(self.sweep) / (2.0 * half) - 1e-9))


def arc_through(start: complex, end: complex, radius: float, left: bool) -> FlankArc:
    """The shorter arc of ``radius`` mm from ``start`` to ``end``.

    ``left``: it turns left, which is anticlockwise. Raises ValueError when the points are farther
    apart than the circle is wide.

    >>> arc = arc_through(1 + 0j, 1j, 1.0, left=True)
    >>> print(f"{abs(arc.centre):.3f} {math.degrees(arc.sweep):.1f}")
    0.000 90.0
    """
    chord = end - start
    half = abs(chord) / 2.0
    if half > radius:
        raise ValueError(f"an arc of radius {radius:g} cannot span {2 * half:g}")
    away = math.sqrt(radius * radius - half * half)
    sideways = 1j * chord / abs(chord)
    centre = (start + end) / 2.0 + (sideways if left else -sideways) * away
    sweep = 2.0 * math.asin(half / radius)
    return FlankArc(start, centre, sweep if left else -sweep)


class _Sampled:
    """A curve known by its formula: the number of chords is found by trying."""

    __slots__ = ()

    def at(self, share: Floats) -> Complexes:
        raise NotImplementedError

    @property
    def start(self) -> complex:
        """Where it begins, mm."""
        return complex(self.at(np.zeros(1))[0])

    @property
    def end(self) -> complex:
        """Where it ends, mm."""
        return complex(self.at(np.ones(1))[0])

    def steps(self, tolerance: float) -> int:
        count = 4
        while count < 4096:
            points = self.at(np.linspace(0.0, 1.0, 2 * count + 1))
            sag = np.abs(points[1::2] - (points[:-1:2] + points[2::2]) / 2.0)
            if float(sag.max()) <= tolerance:
                return count
            # Chord error falls with the square of the number of chords.
            grow = math.sqrt(float(sag.max()) / tolerance)
            count = max(count + 1, math.ceil(count * min(grow, 8.0)))
        return count


@dataclass(frozen=True, slots=True)
class Involute(_Sampled):
    """An involute of the circle of ``base_radius`` mm that leaves it at angle ``origin`` radians.

    At roll angle t (radians) the point is at radius rb √(1 + t²) and polar angle
    origin ± (t − atan t); ``hand`` is the sign (ISO 21771: involute function).
    """

    base_radius: float
    origin: float
    hand: float
    roll_from: float
    roll_to: float

    def at(self, share: Floats) -> Complexes:
        roll = self.roll_from + (self.roll_to - self.roll_from) * share
        turn = self.origin + self.hand * (roll - np.arctan(roll))
        return np.asarray(
            self.base_radius * np.sqrt(1.0 + roll * roll) * np.exp(1j * turn), dtype=np.complex128
        )


@dataclass(frozen=True, slots=True)
class Epicycloid(_Sampled):
    """The path of a point of a circle of ``rolling_radius`` on the outside of ``pitch_radius``, mm.

    It leaves the pitch circle at polar angle ``origin``; ``hand`` is the sense it rolls in. After
    the rolling circle has turned t about its own centre relative to the line of centres:
    z = (R + ρ)·e^{iθ} − ρ·e^{iθ(1 + R/ρ)}, θ = t·ρ/R.
    """

    pitch_radius: float
    rolling_radius: float
    origin: float
    hand: float
    turn_from: float
    turn_to: float

    def at(self, share: Floats) -> Complexes:
        turn = self.turn_from + (self.turn_to - self.turn_from) * share
        along = turn * self.rolling_radius / self.pitch_radius
        point = (self.pitch_radius + self.rolling_radius) * np.exp(
            1j * along
        ) - self.rolling_radius * np.exp(1j * (along + turn))
        if self.hand < 0:
            point = np.conj(point)
        return np.asarray(point * np.exp(1j * self.origin), dtype=np.complex128)


@dataclass(frozen=True, slots=True)
class RackFillet(_Sampled):
    """The fillet that the rounded corner of a generating rack's tooth leaves in a wheel.

    ``pitch_radius`` rolls on the rack's pitch line. The rounding's centre stands ``along`` from the
    rack tooth's middle and ``above`` the pitch line (negative: inside the wheel); its radius is
    ``rounding``, 0 for a sharp corner. The parameter is the direction t (radians) of the contact
    from the centre, 0 straight to the root: contact needs the normal to go through the pitch
    point, so the wheel has rolled φ = (−above·tan t − along)/r. Lengths mm.
    """

    pitch_radius: float
    along: float
    above: float
    rounding: float
    lean_from: float
    lean_to: float
    hand: float = 1.0

    def at(self, share: Floats) -> Complexes:
        # Equal steps of tan t: with a sharp corner all the length is in the rolling.
        tangent = np.tan(self.lean_from) + (np.tan(self.lean_to) - np.tan(self.lean_from)) * share
        cosine = 1.0 / np.sqrt(1.0 + tangent * tangent)
        roll = (-self.above * tangent - self.along) / self.pitch_radius
        inward = self.above - self.rounding * cosine
        sideways = self.along + self.rounding * tangent * cosine
        point = (
            self.pitch_radius + inward + 1j * (sideways + self.pitch_radius * roll)
        ) * np.exp(-1j * roll)
        return np.asarray(point if self.hand > 0 else np.conj(point), dtype=np.complex128)


@dataclass(frozen=True, slots=True)
class _Mirrored:
    """Another piece seen in the x axis and run backwards."""

    piece: FlankPiece

    @property
    def start(self) -> complex:
        return self.piece.end.conjugate()

    @property
    def end(self) -> complex:
        return self.piece.start.conjugate()

    def at(self, share: Floats) -> Complexes:
        return np.conj(self.piece.at(1.0 - share))

    def steps(self, tolerance: float) -> int:
        return self.piece.steps(tolerance)


def mirrored_flank(piece: FlankPiece) -> FlankPiece:
    """``piece`` seen in the x axis and run the other way; lines and arcs stay lines and arcs."""
    if isinstance(piece, Line):
        return Line(piece.end.conjugate(), piece.start.conjugate())
    if isinstance(piece, FlankArc):
        return FlankArc(piece.end.conjugate(), piece.centre.conjugate(), piece.sweep)
    return _Mirrored(piece)


def turned(piece: Line | FlankArc, turn: complex) -> Line | FlankArc:
    """A line or arc turned about the wheel's centre by the argument of ``turn``, of modulus 1."""
    if isinstance(piece, Line):
        return Line(piece.start * turn, piece.end * turn)
    return FlankArc(piece.start * turn, piece.centre * turn, piece.sweep)


def divided(points: Complexes, longest: float) -> Complexes:
    """The same chain with no step longer than ``longest`` mm."""
    way = np.diff(points)
    counts = np.maximum(np.ceil(np.abs(way) / longest).astype(np.int64), 1)
    at = np.repeat(np.arange(len(way)), counts)
    first = np.repeat(np.cumsum(counts) - counts, counts)
    share = (np.arange(len(at)) - first) / counts[at]
    return np.append(points[at] + share * way[at], points[-1])
