"""Walls of the finished part that are thinner than the job wants, slice by slice, and as cut.

A slice is opened with a round of the least thickness: what a round so wide cannot get into is
thin. A thin place between thick ones, or that reaches out farther than a sharp corner does, is a
wall; a corner is none. How thin it is as cut is measured on what the cutters have left there.
Lengths mm.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

import numpy as np
import shapely
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from camgen.layout import FlatLayout
from camgen.messages import Message
from camgen.proof.common.said import in_plan
from camgen.proof.evidence import FlatEvidence
from camgen.proof.flat.wanted_edges import tolerance_of
from camgen.proof.ground.edges import Slice
from camgen.proof.ground.plan_cuts import plan_cuts
from camgen.proof.ground.regions import removed
from camgen.proof.result import Proof, ProofId
from camgen.tolerances import ROUNDING
from camgen.values import dataclass

__all__ = ["LEAST_WALL", "Thin", "prove_thin_walls", "thin_places"]

THINNEST = ProofId("flat", "thinnest-wall")

# The least wall where no part says one: common practice, no source.
LEAST_WALL = 0.1
# Rounds from both sides of a short wall may meet in its middle. One so much wider than the least
# does not, where the edges are no sharper than 0.02 mm; it also tells how thick walls are that are
# thick enough.
WIDER = 3.0
# A corner of 19° reaches 2.5 times the round's width out of it: sin(α/2) = 1/6.
CORNER = 2.5
# Chords and roundings make slivers of no account, as a share of the round's width.
SLIVER = 0.02
# Walls thicker than this many times the least are not measured as cut: to be cut too thin so much
# would have to be missing that it is told of as that.
NEAR = 2.0


@dataclass(frozen=True)
class Thin:
    """A thin place: how ``thick`` it is, its middle, and the box about it; ``wide`` is
    the round that did not get in; a ``corner`` is no wall."""

    thick: float
    x: float
    y: float
    box: BaseGeometry
    wide: float
    corner: bool = False


def prove_thin_walls(evidence: FlatEvidence) -> tuple[Proof, ...]:
    """The thinnest wall, of the part as meant and of every piece of work as cut."""
    layout = evidence.layout
    least = evidence.job.part.least_wall
    if least <= 0:
        return ()
    found: list[tuple[Thin, Slice]] = []
    for piece in evidence.slices:
        region = piece.edges.region
        wider = list(thin_places(region, WIDER * least, CORNER * least))
        found += [(thin, piece) for thin in wider if not thin.corner]
        # What a wide round gets into, a narrow one does.
        found += [(thin, piece) for thin in (thin_places(region, least) if wider else ())]
    name = Message("thinnest wall")
    if not found:
        return (evidence.proof(THINNEST, name, True, least, least, "mm", 
                               where=Message("or thicker")),)
    worst = min(_as_cut(evidence, layout, *one, least) for one in found)
    thick, x, y, z, number = worst
    by = _nearest(evidence, x, y, 2 * thick)
    where = Message("{place} from Z {z:.3f} down", place=in_plan(x, y), z=z)
    if len(layout.places) > 1:
        where = Message("{where}, piece {piece}", where=where, piece=number + 1)
    answer = Proof(
        THINNEST, name, evidence.setup, thick >= least - tolerance_of(evidence), round(thick, 4),
        least, "mm", where, at=(x, y, z),
    )
    return (evidence.placed(answer, by),)


def thin_places(
    region: BaseGeometry, wide: float, corners: float = math.inf
) -> Iterator[Thin]:
    """The places of a region too thin for a round of diameter ``wide``; and of corners those that
    reach out of what is thick by ``corners`` mm or more.

    >>> bar = shapely.union_all([shapely.box(0, 0, 2, 2), shapely.box(2, 0.9, 3, 0.98),
    ...                          shapely.box(3, 0, 5, 2)])
    >>> [round(one.thick, 3) for one in thin_places(bar, 0.1)]
    [0.08]
    """
    region = _without_lone_holes(region, wide)
    opened = region.buffer(-wide / 2, quad_segs=8).buffer(wide / 2, quad_segs=8)
    grown = opened.buffer(SLIVER * wide, quad_segs=4)
    rest = shapely.get_parts(region.difference(grown))
    rest = rest[shapely.area(rest) > (SLIVER * wide) ** 2]
    if not len(rest):
        return
    thick_side = grown.buffer(ROUNDING)
    for part in rest:
        joins = _pieces(shapely.intersection(part.boundary, thick_side), SLIVER * wide)
        reach = _reach(part, opened)
        corner = len(joins) < 2 and reach < CORNER * wide
        if corner and reach < corners:
            continue
        sides = _pieces(shapely.difference(part.boundary, thick_side), SLIVER * wide)
        thick, x, y = _thickness(part, sides)
        if thick < wide or corner:
            yield Thin(thick, x, y, part.envelope, wide, corner)


def _without_lone_holes(region: BaseGeometry, wide: float) -> BaseGeometry:
    """A region with those holes filled that are convex and ``wide`` or more from all other edges.

    The rest is thin where it was: a round of diameter ``wide`` that touches such a hole from
    outside finds room wherever it rolls about it, and one that reaches a place farther off than
    ``wide`` does not meet it.
    """
    polygons = shapely.get_parts(region)
    rings, of = shapely.get_rings(polygons, return_index=True)
    if len(rings) <= len(polygons):
        return region
    outer = np.concatenate(([True], of[1:] != of[:-1]))
    near = shapely.STRtree(rings).query(rings, predicate="dwithin", distance=wide)
    alone = np.bincount(near[0], minlength=len(rings)) == 1
    filled = shapely.polygons(rings)
    area = shapely.area(filled)
    convex = shapely.area(shapely.convex_hull(filled)) <= area * (1 + 1e-9)
    keep = outer | ~alone | ~convex
    return shapely.multipolygons([
        shapely.Polygon(rings[here][0], list(rings[here & keep][1:]))
        for here in (of == number for number in range(len(polygons)))])


def _pieces(lines: BaseGeometry, shortest: float) -> list[BaseGeometry]:
    """The lines joined where they meet, without those that are too short."""
    parts = shapely.get_parts(lines)
    parts = parts[shapely.length(parts) > 0]
    joined = shapely.get_parts(shapely.line_merge(shapely.multilinestrings(parts)))
    return [one for one in joined if one.length > shortest]


def _reach(part: BaseGeometry, opened: BaseGeometry) -> float:
    """How far a thin place reaches out of what is thick; infinite where nothing is."""
    if opened.is_empty:
        return math.inf
    points = shapely.points(shapely.get_coordinates(part))
    return float(shapely.distance(points, opened).max())


def _thickness(
    part: BaseGeometry, sides: list[BaseGeometry]
) -> tuple[float, float, float]:
    """Thickness of a thin place and where: from side to side, else of the widest round in it."""
    best = (math.inf, 0.0, 0.0)
    for one, other in itertools.combinations(sides, 2):
        line = shapely.shortest_line(one, other)
        if line.length < best[0] and line.length > 0:
            middle = line.interpolate(0.5, normalized=True)
            best = (line.length, middle.x, middle.y)
    if math.isfinite(best[0]):
        return best
    (line,) = shapely.maximum_inscribed_circle([part], 1e-4)
    centre = line.interpolate(0.0)
    return 2 * line.length, centre.x, centre.y


def _as_cut(
    evidence: FlatEvidence, layout: FlatLayout, thin: Thin, piece: Slice, least: float
) -> tuple[float, float, float, float, int]:
    """The thinnest that a thin place came out: thickness, X, Y, Z of the slice's top, which piece.

    Where it is near the least, every piece of work that is cut in a way of its own is measured.
    """
    numbers = evidence.distinct_places
    x, y = layout.places[numbers[0]]
    answers = [(thin.thick, thin.x + x, thin.y + y, piece.top, numbers[0])]
    if thin.thick > NEAR * least:
        return answers[0]
    cuts = plan_cuts(evidence.motion, evidence.cutters, piece.top, piece.bottom)
    # The edge of what is looked at must not pass for a wall.
    around = thin.box.buffer(4 * thin.wide)
    region = piece.edges.region.intersection(around)
    for number in numbers:
        x, y = layout.places[number]
        near = cuts.only(np.sort(cuts.tree.query(translate(around, x, y))))
        left = region.difference(removed(near.moved(-x, -y), piece.top))
        answers += [
            (one.thick, one.x + x, one.y + y, piece.top, number)
            for one in thin_places(left, max(thin.thick, least))
            if shapely.distance(thin.box, shapely.Point(one.x, one.y)) < thin.wide / 4
        ]
    return min(answers)


def _nearest(evidence: FlatEvidence, x: float, y: float, within: float) -> int:
    """The cut whose edge comes nearest to a place, none farther; -1 where there is none."""
    cuts = evidence.flat_cuts
    if not len(cuts):
        return -1
    near = cuts.tree.query(shapely.box(x - within, y - within, x + within, y + within))
    if not len(near):
        return -1
    away = cuts.apart(np.broadcast_to(np.array([[x, y]]), (len(near), 1, 2)), near)[:, 0]
    return int(cuts.piece[near[np.argmin(np.abs(away - cuts.wide_top[near]))]])
