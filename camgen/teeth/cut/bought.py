"""The space that a cutter cuts, whatever wheel passes under it, and the teeth it leaves there.

A cutter bought by its module has one profile for all counts. It is a rigid line: half its width at
each height above its deepest point. Passed along a blank it takes out that line at every space, so
the wheel that comes out follows from the line, from how deep its root is set and from the blank.

The frame of a line is the cutter's own: 0, 0 its deepest point, x outwards from there, y along the
pitch. Points are complex numbers, lengths mm.
"""

from __future__ import annotations

import cmath
import itertools
import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely import LineString

from camgen.arrays import Floats
from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.teeth.outlines.building import sizes_of
from camgen.teeth.outlines.curves import Complexes, FlankArc, FlankPiece, Line, arc_through, divided
from camgen.teeth.tooth import Tooth
from camgen.values import dataclass

__all__ = ["BEYOND", "CutterSpace", "Heights", "ground_pinion", "ground_wheel", "never_closing",
           "space_beside", "topped_space"]

# Chord error of a cutter's line, mm: far below what the proofs tell apart.
FINE = 2e-5
# Tips that end lower than they shall by no more than is rounded off a size, mm.
SHORT = 0.0005
# A topping cutter reaches past the middle of the teeth beside it by a fifth of half a pitch, so
# that nothing is left between two cuts; its arc over the tips in so many points.
TOPPED = 1.2
WING_POINTS = 25
# How far above its highest known point a line is taken to go on straight, in its own depth.
BEYOND = 0.02


@dataclass(frozen=True)
class Heights:
    """How a cutter is set: ``depth`` mm from the blank to the root, ``addendum`` mm of it above the
    pitch circle; None where its maker does not say."""

    depth: float | None = None
    addendum: float | None = None

    def set_for(self, meant: Tooth, own_tip: bool, own_root: bool) -> tuple[float, float]:
        """Below and above the pitch circle, mm, on the wheel that is meant: else as this has it.

        ``own_tip`` and ``own_root``: as this has it, whatever the cutter's maker says.
        """
        natural = meant.sizes.addendum if self.addendum is None else self.addendum
        below = meant.sizes.dedendum if self.depth is None or own_root else self.depth - natural
        return below, meant.sizes.addendum if own_tip else natural


@dataclass(frozen=True)
class CutterSpace:
    """The line of a cutter from its deepest point outwards: ``lower`` at smaller, ``upper`` at
    larger y, (n,) each, both beginning at 0.

    Neither ever closes towards the outside: a disc passes every lesser depth on its way.
    ``heights`` are those it is made for. ``traced``: its line was measured, and what lies above it
    is not known. ``zero`` is the y of what is set to the middle of the work: its deepest point, or
    the flat side with which it cuts an undercut front.
    """

    lower: Complexes
    upper: Complexes
    heights: Heights = Heights()
    traced: bool = False
    zero: float = 0.0

    @property
    def depth(self) -> float:
        """How high the line is known, mm."""
        return float(min(self.lower.real.max(), self.upper.real.max()))

    @property
    def known_high(self) -> float:
        """How high a space may be that it cuts: as its maker says, or as it was traced, mm."""
        return self.depth if self.traced or self.heights.depth is None else self.heights.depth

    @property
    def width(self) -> float:
        """Across the widest of it, mm."""
        return float(self.upper.imag.max() - self.lower.imag.min())

    def width_at(self, height: float) -> float:
        """Across it at so many mm above its deepest point, mm."""
        return float(sum(np.interp(height, np.maximum.accumulate(one.real), np.abs(one.imag))
                         for one in (self.lower, self.upper)))

    @property
    def uneven(self) -> float:
        """How far the two flanks differ at one height at most, mm."""
        shapes = [LineString(np.column_stack([one.real, np.abs(one.imag)]))
                  for one in (self.lower, self.upper)]
        # What one flank is known higher than the other is no difference.
        ends = np.array(shapes[0].coords)
        low = shapely.points(ends[ends[:, 0] <= self.depth])
        return float(np.max(shapely.distance(low, shapes[1]), initial=0.0))

    @property
    def mirrored(self) -> CutterSpace:
        """The same cutter put on the other way round."""
        return CutterSpace(self.upper.conj(), self.lower.conj(), self.heights, self.traced,
                           -self.zero)

    def polygon(self, bottom: float, outer: float, over: float = 0.0) -> Floats:
        """The space as a closed polygon (m, 2), anticlockwise, mm, out to the radius ``outer``.

        Its deepest point lies ``bottom`` mm out along the x axis, its zero ``over`` mm beside it
        towards larger y; above its line the cutter goes on straight.
        """
        deepest = complex(bottom, over - self.zero)
        lower, upper = (_out_to(deepest + one, outer) for one in (self.lower, self.upper))
        first, last = cmath.phase(complex(lower[-1])), cmath.phase(complex(upper[-1]))
        top = FlankArc(cmath.rect(outer, first), 0j, last - first)
        share = np.linspace(0.0, 1.0, top.steps(0.0005) + 1)
        # From the bottom's middle out along the lower flank, back over the upper one.
        ring = np.concatenate([lower, top.at(share)[1:-1], upper[::-1]])
        return np.column_stack([ring.real, ring.imag])

    def tooth(self, meant: Tooth, *, own_tip: bool = False, own_root: bool = False) -> Tooth:
        """The teeth that it leaves on a wheel of as many teeth of the module as ``meant`` has.

        Set as deep and the blank as large as the cutter is made for, else as ``meant``; so always
        where it has that of its ``own``. Where the
        flanks meet below the blank's outside the teeth end there. Raises Refused where they leave
        no tooth, or the line is not known so high.
        """
        sizes = meant.sizes
        below, above = self.heights.set_for(meant, own_tip, own_root)
        if self.traced and not own_tip and self.heights == Heights():
            # A cutter known no higher cuts no higher: its teeth end there.
            above = min(above, self.depth - below)
            if above <= 0.0:
                raise Refused(Fault(
                    Message("the profile traced is {known:.3f} mm high, and would end below the "
                            "pitch circle of a wheel of module {module:g}", known=self.depth,
                            module=sizes.module),
                    Message("look at scale and units of the trace, and at the module")))
        pitch_radius = sizes.pitch_diameter / 2.0
        root, tip = pitch_radius - below, pitch_radius + above
        if below <= 0.0 or root <= 0.1 * pitch_radius:
            raise Refused(Fault(
                Message("a cutter set {deep:.3f} mm below the pitch circle leaves no body on a "
                        "wheel {wide:.3f} mm over it", deep=below,
                        wide=2 * pitch_radius),
                Message("look at module, depth and addendum of the cutter")))
        known = self.known_high
        if known < (below + above) * (1.0 - BEYOND):
            raise Refused(Fault(
                Message("the cutter's profile is known {known:.3f} mm high, and the space is "
                        "{deep:.3f} mm deep", known=known, deep=below + above),
                Message("trace it as far as the outside of the blank") if self.traced else
                Message("a smaller blank, or a larger root: how it goes on above is not known")))
        lower, upper = (_out_to(root + one, tip) for one in (self.lower, self.upper))
        pitch = 2.0 * math.pi / sizes.teeth
        blank, tip = tip, _where_flanks_meet(lower, upper, pitch, tip)
        if own_tip and tip < blank - SHORT:
            raise Refused(Fault(
                Message("teeth as cut end at {tip:.3f} mm over the tips, where both cuts beside "
                        "them meet, and shall be {wanted:.3f} mm", tip=2 * tip, wanted=2 * blank),
                Message("leave the size out, or take a cutter that is narrower there, or cut less "
                        "deep")))
        lower, upper = _out_to(lower, tip), _out_to(upper, tip)
        # Of ratchets the pitch circle is that of the tips.
        if tip <= (pitch_radius if above > 0.0 else root + (pitch_radius - root) / 2.0):
            raise Refused(Fault(
                Message("the cutter is too wide for {teeth} teeth of module {module:g}: nothing of "
                        "them would reach the pitch circle", teeth=sizes.teeth,
                        module=sizes.module),
                Message("look at scale and units of the trace, and at the module") if self.traced
                else Message("look at the cutter's module, its thickness and its depth")))
        thickness = pitch_radius * (pitch + float(
            (_angles(lower, pitch_radius) - _angles(upper, pitch_radius))[0]))
        before, after = cmath.phase(complex(lower[-1])), cmath.phase(complex(upper[-1]))
        land = (pitch + before - after) / 2.0
        pieces: list[FlankPiece] = []
        if land * tip > 1e-9:
            pieces.append(FlankArc(cmath.rect(tip, before - land), 0j, land))
        chain = np.concatenate([lower[::-1], upper[1:]])
        pieces += [Line(complex(one), complex(two)) for one, two in itertools.pairwise(chain)]
        if land * tip > 1e-9:
            pieces.append(FlankArc(cmath.rect(tip, after), 0j, land))
        return Tooth(meant.form, sizes_of(sizes.teeth, sizes.module, tip, root, thickness),
                     tuple(pieces), meant.notes, meant.pressure_angle)


def space_beside(tooth: Tooth) -> CutterSpace:
    """The line of a cutter made for a ``tooth``, with the heights that this has.

    A cutter made for a wheel leaves that wheel:

    >>> from camgen.teeth.outlines.cycloidal import cycloidal_wheel
    >>> wheel = cycloidal_wheel(75, 0.14, 10)
    >>> again = space_beside(wheel).tooth(wheel)
    >>> abs(again.sizes.tooth_thickness - wheel.sizes.tooth_thickness) < 1e-5
    True
    """
    if tooth.approaches:
        own = tooth.approaches[0]
        chain = tooth.chain(FINE) * cmath.exp(-1j * math.radians(own.turn))
        lowest = int(np.argmin(chain.real))
        deepest = complex(own.bottom, chain[lowest].imag)
        return CutterSpace(
            never_closing(chain[lowest::-1] - deepest, -1.0),
            never_closing(chain[lowest:] - deepest, 1.0),
            Heights(tooth.deepest, tooth.sizes.addendum), zero=own.over - deepest.imag)
    chain = tooth.chain(FINE) - tooth.root_radius
    lowest = int(np.argmin(np.abs(chain + tooth.root_radius) + np.abs(chain.imag) * 1e-9))
    return CutterSpace(never_closing(chain[lowest::-1], -1.0), never_closing(chain[lowest:], 1.0),
                       Heights(tooth.sizes.whole_depth, tooth.sizes.addendum))


def topped_space(tooth: Tooth) -> CutterSpace:
    """The line of a topping cutter made for a ``tooth``: beside the space it goes on along the tip
    circle, past the middle of the teeth on both sides, and takes what stands above them.

    >>> from camgen.teeth.outlines.involute import involute_tooth
    >>> wheel = involute_tooth(20, 1.0)
    >>> widest = topped_space(wheel).width / 2 / wheel.tip_radius
    >>> widest > math.sin(wheel.pitch_angle / 2)
    True
    """
    line, tip, root = space_beside(tooth), tooth.tip_radius, tooth.root_radius

    def wing(flank: Complexes, hand: float) -> Complexes:
        inside = _out_to(root + flank, tip)
        begin, end = cmath.phase(complex(inside[-1])), hand * TOPPED * tooth.pitch_angle / 2.0
        along = np.linspace(begin, end, WING_POINTS)[1:]
        return np.asarray(np.concatenate([inside, tip * np.exp(1j * along)]) - root)

    return CutterSpace(wing(line.lower, -1.0), wing(line.upper, 1.0), line.heights)


def ground_wheel(
    module: float, addendum: float, radius: float, thickness: float, depth: float, *,
    teeth: int | None = None, corner: float = 0.25, round_bottom: bool = False,
) -> CutterSpace:
    """The line of a wheel cutter by its maker's chart; all but ``teeth`` in modules but ``module``.

    ``thickness`` is the tooth's along the pitch circle, ``radius`` that of the arc from there to
    the tip in the tooth's middle, ``addendum`` above the pitch circle. Below it the flanks are
    radial for as many ``teeth`` as it is drawn for; where it is drawn for none, as a rack's:
    parallel. ``corner`` rounds the bottom, or all of it is round. Raises Refused where the figures
    make no space.
    """
    dedendum = depth - addendum
    half = (math.pi - thickness) / 2.0
    if dedendum <= 0.0 or half <= 0.0:
        raise Refused(Fault(
            Message("a depth of {depth:g} and an addendum of {addendum:g} modules, with teeth "
                    "{thickness:g} modules thick, make no space", depth=depth, addendum=addendum,
                    thickness=thickness),
            Message("depth counts from the blank to the root, thickness is the tooth's along the "
                    "pitch circle; together with its space it is 3.142 modules")))
    if teeth is None:
        pitch_radius, mid = 0.0, complex(addendum, math.pi / 2.0)
        flank_angle, shoulder = 0.0, complex(0.0, half)
        tip = mid
    else:
        pitch_radius = teeth / 2.0
        flank_angle = (math.pi - thickness) / (2.0 * pitch_radius)
        shoulder = cmath.rect(pitch_radius, flank_angle) - pitch_radius
        tip = cmath.rect(pitch_radius + addendum, math.pi / teeth) - pitch_radius
    try:
        top = arc_through(shoulder, tip, radius, left=True)
    except ValueError:
        raise Refused(Fault(
            Message("an arc of radius {radius:g} modules does not reach from the side of a tooth "
                    "{thickness:g} modules thick to its tip {addendum:g} modules above",
                    radius=radius, thickness=thickness, addendum=addendum),
            Message("look at radius, thickness and addendum in the maker's chart"))) from None
    root = -dedendum
    way = cmath.exp(1j * flank_angle)
    inner = shoulder - way * (shoulder.real - root) / way.real
    pieces = _bottom(root, inner, way, shoulder, inner.imag if round_bottom else corner)
    upper = _sampled([*pieces, top], 1.0) * module - root * module
    return _both_alike(upper, Heights((dedendum + addendum) * module, addendum * module))


def ground_pinion(
    module: float, leaves: int, tip: float, root: float, thickness: float, radius: float, *,
    round_top: bool = False, corner: float = 0.25,
) -> CutterSpace:
    """The line of a pinion cutter by its maker's chart, ground for so many ``leaves``.

    ``tip`` and ``root`` are diameters, ``thickness`` that of a leaf along the pitch circle,
    ``radius`` that of the arcs of its top, all in modules but ``module``. Raises Refused where the
    figures make no space.
    """
    addendum, dedendum = (tip - leaves) / 2.0, (leaves - root) / 2.0
    if addendum <= 0.0 or dedendum <= 0.0 or root <= 0.0 or thickness >= math.pi:
        raise Refused(Fault(
            Message("{leaves} leaves {tip:g} modules over the tips and {root:g} at the root, "
                    "{thickness:g} modules thick, make no space", leaves=leaves, tip=tip, root=root,
                    thickness=thickness),
            Message("tip and root are diameters in modules: the pitch circle, {leaves} modules, "
                    "lies between them", leaves=leaves)))
    pitch_radius = leaves / 2.0
    flank_angle = (math.pi - thickness) / leaves
    shoulder = cmath.rect(pitch_radius, flank_angle)
    top_mid = cmath.rect(pitch_radius + addendum, math.pi / leaves)
    try:
        top = _round_over(shoulder, top_mid) if round_top else arc_through(
            shoulder, top_mid, radius, left=True)
    except ValueError:
        raise Refused(Fault(
            Message("an arc of radius {radius:g} modules does not reach from the side of a leaf "
                    "{thickness:g} modules thick to its tip {addendum:g} modules above",
                    radius=radius, thickness=thickness, addendum=addendum),
            Message("look at radius, thickness and tip in the maker's chart"))) from None
    way = cmath.exp(1j * flank_angle)
    reach = root / 2.0
    # A leaf's flank is radial, the bottom of the space an arc about the pinion's middle.
    room = corner
    if room > (reach + room) * math.sin(flank_angle):
        room = reach * math.sin(flank_angle) / (1.0 - math.sin(flank_angle))
    beside = math.asin(room / (reach + room))
    middle = max(flank_angle - beside, 0.0)
    foot = (reach + room) * math.cos(beside) * way
    pieces: list[FlankPiece] = []
    if middle > 1e-12:
        pieces.append(FlankArc(complex(reach), 0j, middle))
    pieces += [FlankArc(cmath.rect(reach, middle), cmath.rect(reach + room, middle),
                        beside - math.pi / 2.0), Line(foot, shoulder), top]
    upper = _sampled(pieces, 1.0) * module - reach * module
    return _both_alike(upper, Heights((dedendum + addendum) * module, addendum * module))


def _bottom(root: float, inner: complex, way: complex, shoulder: complex, rounding: float
            ) -> list[FlankPiece]:
    """From the middle of a flat bottom at height ``root`` to the ``shoulder``: flat, corner, flank.

    ``inner`` is where the flank, in the direction ``way``, would meet the bottom.
    """
    half_turn = cmath.phase(way * 1.0)
    # The corner between the bottom, in +y, and the flank turns by a right angle less its lean.
    turn = math.pi / 2.0 - half_turn
    reach = rounding * math.tan(turn / 2.0)
    if reach > inner.imag:
        rounding = inner.imag / math.tan(turn / 2.0)
        reach = inner.imag
    begin = complex(root, inner.imag - reach)
    pieces: list[FlankPiece] = []
    if begin.imag > 1e-12:
        pieces.append(Line(complex(root, 0.0), begin))
    if rounding > 0.0:
        pieces.append(FlankArc(begin, begin + rounding, -turn))
    pieces.append(Line(inner + reach * way, shoulder))
    return pieces


def _round_over(shoulder: complex, top: complex) -> FlankArc:
    """Half the arc that goes over a leaf from shoulder to shoulder through its tip ``top``."""
    along = top / abs(top)
    seen = shoulder / along
    rise = abs(top) - seen.real
    radius = (seen.imag**2 + rise**2) / (2.0 * rise)
    centre = (abs(top) - radius) * along
    return FlankArc(shoulder, centre, cmath.phase((top - centre) / (shoulder - centre)))


def _sampled(pieces: Sequence[FlankPiece], scale: float) -> Complexes:
    parts = [np.array([pieces[0].start])]
    for piece in pieces:
        count = piece.steps(FINE * scale)
        parts.append(piece.at(np.arange(1, count + 1) / count))
    return np.concatenate(parts)


def _both_alike(upper: Complexes, heights: Heights) -> CutterSpace:
    upper = never_closing(upper, 1.0)
    return CutterSpace(upper.conj(), upper, heights)


def never_closing(flank: Complexes, hand: float) -> Complexes:
    """A flank from the bottom's middle outwards, never closing; ``hand`` 1 at larger y, else −1."""
    out = flank.real + 1j * hand * np.maximum.accumulate(hand * flank.imag)
    out[0] = 0j
    kept = np.append(True, np.abs(np.diff(out)) > 1e-9)
    return np.asarray(out[kept], dtype=np.complex128)


def _out_to(flank: Complexes, radius: float) -> Complexes:
    """A flank about the wheel's middle as far as a circle, gone on with straight outwards."""
    end = complex(flank[-1])
    if not (np.abs(flank) >= radius).any():
        last = complex(math.sqrt(radius**2 - end.imag**2), end.imag)
        return np.append(flank, last) if abs(last - end) > 1e-9 else flank
    first = int(np.argmax(np.abs(flank) >= radius))
    inner, outer = complex(flank[first - 1]), complex(flank[first])
    low, high = 0.0, 1.0
    for _ in range(60):
        share = (low + high) / 2.0
        low, high = (share, high) if abs(inner + share * (outer - inner)) < radius else (low, share)
    last = inner + high * (outer - inner)
    return np.append(flank[:first], last * radius / abs(last))


def _angles(flank: Complexes, radii: Floats | float) -> Floats:
    fine = divided(flank, 0.02 * float(np.abs(flank[-1] - flank[0])))
    return np.interp(np.atleast_1d(np.asarray(radii, dtype=np.float64)),
                     np.maximum.accumulate(np.abs(fine)), np.angle(fine))


def _where_flanks_meet(
    lower: Complexes, upper: Complexes, pitch: float, tip: float
) -> float:
    """The radius at which the cuts on both sides of a tooth meet, or the blank's outside."""
    root = max(abs(complex(lower[0])), abs(complex(upper[0])))
    radii = np.linspace(root, tip, 4001)
    width = pitch + _angles(lower, radii) - _angles(upper, radii)
    gone = np.flatnonzero(width < 0.0)
    if not gone.size:
        return tip
    last = max(int(gone[0]), 1)
    before, after = float(width[last - 1]), float(width[last])
    share = before / (before - after) if before > after else 0.0
    return float(radii[last - 1] + share * (radii[last] - radii[last - 1]))
