"""The wheel that cutters leave which come to each space in one or several ways.

Each cutter takes out its own line wherever it stands: turned, over to one side, and so deep. What
stands when all of them have been there is held against the outline meant, in the section across the
arbor. Lengths mm, angles degrees, errors µm; the frame is that of :mod:`camgen.teeth.tooth`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.affinity import rotate

from camgen.messages import NOTHING, Message
from camgen.teeth.cut.bought import CutterSpace
from camgen.teeth.outlines.curves import Complexes, FlankArc, Line, divided
from camgen.teeth.tooth import Tooth, ToothFace
from camgen.values import dataclass

__all__ = ["Came", "FaceAsCut", "WaysError", "face_as_cut", "land_as_cut", "stands_after",
           "ways_error"]

# Chord error of lines and circles, mm, and how near together edges are looked at, in modules.
CHORD, APART = 0.0001, 0.01
# What of a face is measured: its middle, as a share of its length; its points lie so near, mm.
MIDDLE, NEAR = 0.8, 0.06
# Points of one face at one place differ by no more, mm: what it leans by against the one meant.
FLAT = 0.002
# How far beyond the blank a cutter's line is drawn, in depths of a tooth.
BEYOND = 0.5


@dataclass(frozen=True)
class Came:
    """A cutter's ``line`` as it came to a space: ``turn`` degrees beyond the space's own place,
    ``over`` mm beside the axis towards larger angles, its deepest point ``bottom`` mm from it."""

    line: CutterSpace
    turn: float
    over: float
    bottom: float


@dataclass(frozen=True, slots=True)
class WaysError:
    """How far teeth as cut are from those meant, µm: the thickest that stands outside the outline
    and the deepest cut into it, square to it, and where."""

    left: float
    left_where: Message
    missing: float
    missing_where: Message


@dataclass(frozen=True, slots=True)
class FaceAsCut:
    """A straight face as cut: ``lean`` degrees between it and the radius at its outer end, from the
    radius towards the tooth's own metal; ``long`` mm; ``rough`` µm from its own straight line."""

    lean: float
    long: float
    rough: float


def stands_after(tooth: Tooth, spaces: Sequence[Sequence[Came]], blank_radius: float) -> Polygon:
    """What stands of a sector of the blank round a space after the cuts of neighbouring ``spaces``,
    an odd number of them, the middle one that on the +x axis."""
    half, outer = len(spaces) // 2, blank_radius + BEYOND * tooth.sizes.whole_depth
    gone = [
        rotate(Polygon(one.line.polygon(one.bottom, outer, one.over)),
               one.turn + math.degrees(tooth.pitch_angle) * (number - half), (0.0, 0.0))
        for number, cuts in enumerate(spaces) for one in cuts
    ]
    reach = tooth.pitch_angle * (half + 0.5)
    rim = FlankArc(blank_radius * np.exp(-1j * reach), 0j, 2.0 * reach)
    steps = rim.steps(CHORD)
    edge = np.append(rim.at(np.arange(steps + 1) / steps), 0.0)
    sector = Polygon(np.column_stack([edge.real, edge.imag]))
    left = shapely.difference(sector, shapely.union_all(gone))
    parts = [part for part in shapely.get_parts(left) if isinstance(part, Polygon)]
    # What hangs together with the middle of the wheel is the wheel; the rest fell off.
    return max(parts, key=lambda part: float(part.area), default=Polygon())


def ways_error(
    tooth: Tooth, spaces: Sequence[Sequence[Came]], blank_radius: float, space: int = 0
) -> WaysError:
    """Hold the teeth beside one space against those meant; ``spaces`` are the cuts of three
    neighbours, and ``space`` the number of the middle one from 0, for what is said of it."""
    made = stands_after(tooth, spaces, blank_radius)
    one = tooth.one_pitch(CHORD)
    turns = np.exp(1j * tooth.pitch_angle * np.array([-1.0, 0.0, 1.0]))
    chain = np.concatenate([(one * turn)[:-1] for turn in turns] + [one[-1:] * turns[-1]])
    body = np.append(chain, 0.0)
    meant = Polygon(np.column_stack([body.real, body.imag]))
    edges = [_edge(shape, tooth) for shape in (made, meant)]
    apart = [shapely.distance(shape.exterior, shapely.points(edge.real, edge.imag))
             for shape, edge in ((meant, edges[0]), (made, edges[1]))]
    inside = [shapely.contains_xy(shape, edge.real, edge.imag)
              for shape, edge in ((meant, edges[0]), (made, edges[1]))]
    points, off = np.concatenate(edges), np.concatenate(apart)
    # Of the made edge what lies outside the meant body stands; of the meant one what lies inside.
    standing = np.concatenate([~inside[0], inside[1]])
    if not len(points):
        return WaysError(1000 * tooth.sizes.whole_depth, Message("nothing is left"), 0.0, NOTHING)
    found = []
    for rows in (standing, ~standing):
        values = np.where(rows, off, 0.0)
        worst = int(np.argmax(values))
        found.append((1000.0 * float(values[worst]),
                      _where(points[worst], space, tooth) if values[worst] > 0 else NOTHING))
    return WaysError(*found[0], *found[1])


def _edge(shape: Polygon, tooth: Tooth) -> Complexes:
    """Points close together on the edge of a sector, of one pitch about the +x axis."""
    if shape.is_empty:
        return np.zeros(0, dtype=np.complex128)
    ring = shapely.get_coordinates(shape.exterior)
    points = divided(ring[:, 0] + 1j * ring[:, 1], APART * tooth.sizes.module)
    near = np.abs(np.angle(points)) <= 0.5 * tooth.pitch_angle
    return np.asarray(points[near & (np.abs(points) > 0.5 * tooth.root_radius)])


def _where(point: complex, space: int, tooth: Tooth) -> Message:
    if point.imag > 0:
        return Message("space {space}, side of larger angles, radius {radius:.3f} mm",
                       space=space + 1, radius=abs(point))
    return Message("space {space}, side of smaller angles, radius {radius:.3f} mm",
                   space=space + 1, radius=abs(point))


def face_as_cut(made: Polygon, face: ToothFace) -> FaceAsCut | None:
    """A face of the tooth beside the middle space, measured on what stands; None where it is gone.

    A straight line through the middle of it, by least squares.
    """
    points = _along(made, face.at)
    if len(points) < 2:
        return None
    weight = points - points.mean()
    way = np.exp(0.5j * np.angle(np.sum(weight * weight)))
    meant = face.at.end - face.at.start
    if (way * np.conj(meant)).real < 0:
        way = -way
    seen = weight * np.conj(way)
    # Where its line passes the circle of its outer end.
    outer = abs(face.at.end)
    foot = points.mean()
    along = -(foot * np.conj(way)).real + math.sqrt(
        max(outer**2 - (foot * np.conj(way)).imag ** 2, 0.0))
    tip = foot + along * way
    lean = math.degrees(float(np.angle(tip / way)))
    return FaceAsCut(lean, float(np.ptp(seen.real)), 1000.0 * float(np.abs(seen.imag).max()))


def _along(made: Polygon, face: Line) -> Complexes:
    """Points of an edge that lie along the middle of a straight face."""
    ring = shapely.get_coordinates(made.exterior)
    way = (face.end - face.start) / abs(face.end - face.start)
    points = divided(ring[:, 0] + 1j * ring[:, 1], abs(face.end - face.start) / 40)
    seen = (points - face.start) * np.conj(way)
    long = abs(face.end - face.start)
    share = (1.0 - MIDDLE) / 2.0 * long
    kept = (np.abs(seen.imag) < NEAR) & (seen.real > share) & (seen.real < long - share)
    points, seen = points[kept], seen[kept]
    # Where a tooth is thin its other side is near as well: of two at one place the nearer counts.
    place = np.floor(seen.real / long * 20).astype(np.int64)
    nearest = {at: float(np.abs(seen.imag[place == at]).min()) for at in set(place.tolist())}
    near = np.array([nearest[at] for at in place.tolist()])
    return np.asarray(points[np.abs(seen.imag) <= near + FLAT])


def land_as_cut(made: Polygon, tooth: Tooth, blank_radius: float) -> float:
    """Width of the tooth at larger angles on the blank's outside, mm along it; 0 where it has
    none."""
    at, top = blank_radius - 2 * CHORD, float(np.angle(tooth.profile[-1].end))
    rim = FlankArc(at * np.exp(1j * (top - tooth.pitch_angle / 2)), 0j, tooth.pitch_angle)
    steps = rim.steps(CHORD / 10)
    points = rim.at(np.arange(steps + 1) / steps)
    on = shapely.intersection(LineString(np.column_stack([points.real, points.imag])), made)
    lines = [one for one in shapely.get_parts(on)
             if isinstance(one, LineString) and not one.is_empty]
    if not lines:
        return 0.0
    middles = [shapely.get_coordinates(one.interpolate(0.5, normalized=True))[0] for one in lines]
    nearest = int(np.argmin([abs(math.atan2(y, x) - top) for x, y in middles]))
    return float(lines[nearest].length)
