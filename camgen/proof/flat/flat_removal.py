"""Flat work as cut against flat work as meant: material missing, material left, finished sizes.

Measured along every edge of the finished part. A cutter whose centre passes a point of the edge at
less than its radius has taken material that should stay; where none comes within its radius,
material that should go was left. Centre paths are exact lines and arcs, edges are points on exact
lines and arcs, so a figure is good to a fraction of a micrometre.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from camgen.arrays import Flags, Floats
from camgen.layout import FlatLayout, Tab
from camgen.messages import NOTHING, Message
from camgen.proof.common.said import in_plan
from camgen.proof.evidence import FlatEvidence
from camgen.proof.flat.edge_cuts import measure
from camgen.proof.flat.holes.cones_and_threads import (
    last_at_cones,
    prove_cones_and_threads,
    within_cones,
)
from camgen.proof.flat.holes.over_setups import prove_over_setups, shared_holes
from camgen.proof.flat.wanted_edges import tolerance_of, wanted_edges
from camgen.proof.ground.edges import Edge, Edges, Slice
from camgen.proof.ground.plan_cuts import PlanCuts, plan_cuts
from camgen.proof.result import Proof, ProofId
from camgen.shop.cutters import record_of
from camgen.tolerances import ROUGH_CHORD
from camgen.values import dataclass

__all__ = ["prove_flat_removal"]

MISSING = ProofId("flat", "material-missing")
LEFT = ProofId("flat", "material-left")
WALL = ProofId("flat", "wall")
TABS = ProofId("flat", "tabs")
ORDER = ProofId("flat", "cut-after-free")
FLOOR = ProofId("flat", "depth-below-floor")

# Cuts are looked for this much further from an edge than their radius, mm.
REACH = 0.02
MARGIN = 0.1


def prove_flat_removal(evidence: FlatEvidence) -> tuple[Proof, ...]:
    """Material missing and left, sizes of holes, tabs, depth and order over all pieces."""
    layout = evidence.layout
    wanted = wanted_edges(evidence)
    tolerance = tolerance_of(evidence)
    shared = shared_holes(evidence)
    others = shared.later | shared.ended
    summaries = [
        _all_places(layout, _cuts_in(evidence, piece), piece, wanted, tolerance, others)
        for piece in evidence.slices
    ]
    everything = [summary for of_slice in summaries for summary in of_slice]
    return (
        _missing(evidence, everything, tolerance),
        _left(evidence, everything, tolerance),
        *_sizes(evidence, everything, tolerance),
        *prove_over_setups(evidence, tolerance),
        *prove_cones_and_threads(evidence, tolerance),
        *_tabs(evidence, layout, summaries[-1]),
        _order(evidence, layout, summaries[0], summaries[-1], last_at_cones(evidence, tolerance)),
        _floor(evidence, layout),
    )


def _cuts_in(evidence: FlatEvidence, piece: Slice) -> PlanCuts:
    """The cuts that reach into a slice, with the widths they clear at its top and its bottom.

    A floor within rounding of its depth is at its depth, and so are ridges that ball ends and
    corner radii leave no higher than what rounding may do to a wall. The points of drills that make
    blind holes may go below their floors, and so may the leads of reamers; those must find the hole
    open so deep, which is proved on the table.
    """
    layout = evidence.layout
    tolerance = tolerance_of(evidence)
    if piece.last and piece.top == layout.top:
        cuts = evidence.flat_cuts
        inside = within_cones(evidence, cuts, tolerance)
        return cuts.only(~inside) if np.any(inside) else cuts
    give = evidence.increment
    top = piece.top if piece.top == layout.top else piece.top - give
    bottom = piece.bottom if piece.last else piece.bottom + give
    cuts = plan_cuts(evidence.motion, evidence.cutters, top, bottom)
    shaped = [n for n, cutter in evidence.cutters.items() if cutter.corner > 0]
    if shaped and not piece.last:
        # Ridges no higher than rounding allows are none.
        over = plan_cuts(evidence.motion, evidence.cutters, top, piece.bottom + tolerance)
        by = np.isin(evidence.motion.cutter[cuts.piece], shaped)
        cuts = replace(cuts, wide_bottom=np.where(by, over.wide_bottom, cuts.wide_bottom))
    inside = within_cones(evidence, cuts, tolerance)
    if np.any(inside):
        cuts = cuts.only(~inside)
    if not len(piece.blind) or not len(cuts):
        return cuts
    pointed = [n for n, cutter in evidence.cutters.items()
               if record_of(cutter).conical or record_of(cutter).reams]
    upright = np.all(np.abs(cuts.end - cuts.start) < 1e-9, axis=1) & (cuts.sweep == 0)
    allowed = np.zeros(len(cuts), dtype=np.bool_)
    for x, y in layout.places:
        away = np.hypot(cuts.start[:, :1] - piece.blind[:, 0] - x,
                        cuts.start[:, 1:] - piece.blind[:, 1] - y)
        allowed |= np.any((away < 2 * give) & (cuts.low[:, None] >= piece.blind[:, 2]), axis=1)
    allowed &= upright & np.isin(evidence.motion.cutter[cuts.piece], pointed)
    return cuts.only(~allowed)


@dataclass(frozen=True)
class _Worst:
    """The worst of a figure: its size, where in the setup's frame, by which piece, of what."""

    figure: float = -np.inf
    x: float = 0.0
    y: float = 0.0
    piece: int = -1
    what: str = ""

    def text(self, evidence: FlatEvidence) -> Message:
        """Where it is, for the person at the machine."""
        place = in_plan(self.x, self.y, self.what)
        if self.piece >= 0 and len(evidence.programs) > 1:
            return Message("{place}, in {program}", place=place,
                           program=evidence.program(self.piece))
        return place


@dataclass(frozen=True)
class _Summary:
    """One piece of work: the worst of each figure, in the setup's frame."""

    missing: _Worst
    left: _Worst
    standing: tuple[tuple[str, float], ...]
    sizes: tuple[tuple[str, float, float, float, float, int], ...]
    lost: float
    remaining: float
    freed: int
    other_ended: int
    number: int

    def moved(self, dx: float, dy: float, number: int) -> _Summary:
        """The same found at another place."""
        return replace(
            self,
            missing=replace(self.missing, x=self.missing.x + dx, y=self.missing.y + dy),
            left=replace(self.left, x=self.left.x + dx, y=self.left.y + dy),
            sizes=tuple((name, made, off, x + dx, y + dy, piece)
                        for name, made, off, x, y, piece in self.sizes),
            number=number,
        )


def _all_places(
    layout: FlatLayout, cuts: PlanCuts, piece: Slice, wanted: Mapping[str, float],
    tolerance: float, shared: frozenset[str] = frozenset(),
) -> list[_Summary]:
    """One slice of every piece of work; those cut just like an earlier one are not done again."""
    shape = np.array(layout.part.outline.region(ROUGH_CHORD).bounds)
    # A little wider, so that a cut that just misses an edge is still seen to.
    box = cuts.bounds + MARGIN * np.array([-1.0, -1.0, 1.0, 1.0])
    known: dict[bytes, _Summary] = {}
    answers: list[_Summary] = []
    tree = shapely.STRtree(shapely.box(box[:, 0], box[:, 1], box[:, 2], box[:, 3]))
    x, y = np.array(layout.places).T
    which, near = tree.query(
        shapely.box(shape[0] + x, shape[1] + y, shape[2] + x, shape[3] + y)
    )
    begins = np.searchsorted(which, np.arange(len(layout.places) + 1))
    for number, (x, y) in enumerate(layout.places):
        here = cuts.only(np.sort(near[begins[number] : begins[number + 1]])).moved(-x, -y)
        key = here.key
        summary = known.get(key)
        if summary is None:
            summary = known[key] = _summed(layout, here, cuts.moved(-x, -y), piece, wanted,
                                           tolerance, shared)
        answers.append(summary.moved(x, y, number))
    return answers


def _summed(
    layout: FlatLayout, cuts: PlanCuts, everything: PlanCuts, piece: Slice,
    wanted: Mapping[str, float], tolerance: float, shared: frozenset[str],
) -> _Summary:
    """One slice of one piece of work measured in the part's own frame.

    ``cuts`` are those near it; ``everything`` is asked only where none of them comes near. What is
    left in ``shared`` holes is looked at over all setups that make them.
    """
    distinct = cuts.distinct()
    edges = piece.edges
    found = measure(edges, distinct, REACH, piece.top)
    missing, left = _inside(edges, distinct, piece.top), _Worst()
    standing: list[tuple[str, float]] = []
    sizes: list[tuple[str, float, float, float, float, int]] = []
    lost = remaining = 0.0
    for cut in found:
        edge = cut.edge
        asked = wanted.get(edge.name, wanted.get(edge.group))
        correction = asked or 0.0
        took = cut.missing + correction
        if not edge.floor:
            row = int(np.argmax(took))
            if took[row] > missing.figure:
                x, y = edge.points[row]
                missing = _Worst(float(took[row]), x, y, int(cut.by[row]), edge.name)
            lost += float((np.maximum(took, 0.0) * edge.apart).sum())
        if asked is None or not edge.finished or edge.name in shared:
            continue
        over = cut.left - correction
        far = cut.left > REACH
        if np.any(far):
            over[far] = _standing(everything, edge.points[far]) - correction
        through = piece.last and not edge.floor
        tabs = [tab for tab in layout.tabs if edge.diameter == 0 and not edge.floor
                and (piece.last or tab.top > piece.bottom + tolerance)
                and _near(edge, tab).any()]
        if tabs:
            over = _beside_tabs(edge, tabs, over, distinct, piece.top, correction, tolerance)
        if through and tabs:
            standing.append((edge.name, float(edge.apart[cut.left > tolerance].sum())))
        elif through and edge.diameter == 0 and not _cleared(edge, edges.region, distinct):
            standing.append((edge.name, 0.0))
        row = int(np.argmax(over))
        if over[row] > left.figure:
            x, y = edge.points[row]
            what = Message("floor of {name}", name=edge.name) if edge.floor else edge.name
            left = _Worst(float(over[row]), x, y, int(cut.by[row]), what)
        uncut = over > 0 if edge.floor else np.clip(over, 0.0, 1.0)
        remaining += float((uncut * edge.apart).sum())
        if edge.diameter and not edge.floor:
            made = edge.diameter - 2 * float((over + correction).mean())
            took = np.where(np.isfinite(took), took, 0.0)
            off = np.maximum(np.abs(over), np.abs(took))
            row = int(np.argmax(off))
            x, y = edge.points.mean(axis=0)
            sizes.append((edge.name, made, float(off[row]), float(x), float(y), int(cut.by[row])))
    others = max((cut.ended for cut in found if cut.edge.name != "outline"), default=-1)
    freed = next((cut.began for cut in found if cut.edge.name == "outline"), -1)
    # Where it began after all else had ended, there is no need to know when it ended itself.
    if piece.last and freed >= 0 and (freed < others or piece.top != layout.top):
        freed = _freed(next(e for e in edges.edges if e.name == "outline"), cuts)
    return _Summary(
        missing, left, tuple(standing), tuple(sizes), lost, remaining, freed, others, 0
    )


def _cleared(edge: Edge, part: BaseGeometry, cuts: PlanCuts) -> bool:
    """Whether it is round an opening nowhere wider than two of its cuts: no slug is left there."""
    opening = shapely.Polygon(edge.points)
    deep = cuts.only((cuts.wide_bottom > 0) & shapely.contains_xy(opening, cuts.middles))
    whole = len(deep) and opening.length < 1.01 * edge.apart.sum()
    clear = whole and opening.buffer(-2 * float(deep.wide_bottom.min())).is_empty
    return bool(clear) and not shapely.contains(part, opening.representative_point())


def _standing(cuts: PlanCuts, points: Floats) -> Floats:
    """(n,) metal left at points far from every cut that goes through, mm; inf without any."""
    deep = cuts.only(cuts.wide_bottom > 0)
    if not len(deep):
        return np.full(len(points), np.inf)
    return deep.nearest(points, deep.wide_bottom)


def _beside_tabs(
    edge: Edge, tabs: list[Tab], over: Floats, cuts: PlanCuts, top: float, correction: float,
    tolerance: float,
) -> Floats:
    """(n,) metal left at the points of an edge, where tabs stand above them; mm.

    Of tabs over one another the last says how much. So they are gone through from the last, and no
    point is measured twice: a thousand steps may leave each a thinner skin than the one before.
    """
    over = over.copy()
    settled = np.zeros(len(over), dtype=np.bool_)
    whole = np.zeros(len(over), dtype=np.bool_)
    for tab in reversed(tabs):
        here = _near(edge, tab) & ~settled
        if not here.any():
            continue
        if tab.top >= top - tolerance:
            # It stands all the way up this slice: how high is seen in the one above.
            whole |= here
            continue
        some = cuts.only(cuts.high <= tab.top + 2 * tolerance)
        over[here] = _skimmed(some, edge.points[here]) - correction
        settled |= here
    over[whole] = np.minimum(over[whole], 0.0)
    return over


def _skimmed(cuts: PlanCuts, points: Floats) -> Floats:
    """(n,) metal left at points by cuts of any depth, mm; inf where there are none."""
    if not len(cuts):
        return np.full(len(points), np.inf)
    return cuts.nearest(points, cuts.wide_top)


def _near(edge: Edge, tab: Tab) -> Flags:
    """(n,) the points of an edge where a tab stands."""
    away = np.hypot(edge.points[:, 0] - tab.x, edge.points[:, 1] - tab.y)
    return np.asarray(away <= tab.radius)


def _freed(edge: Edge, cuts: PlanCuts) -> int:
    """Number of the piece of motion that cuts the last of an edge through; -1 when none does."""
    over = cuts.wide_bottom - cuts.distances(edge.points)
    through = (over > -REACH) & (cuts.wide_bottom > 0)
    if not len(cuts) or not np.all(np.any(through, axis=1)):
        return -1
    first = np.where(through, cuts.piece, np.iinfo(np.int64).max).min(axis=1)
    return int(first.max())


def _inside(edges: Edges, cuts: PlanCuts, top: float) -> _Worst:
    """The deepest a cutter's centre goes into the part itself, from its edge or from ``top``."""
    if not len(cuts):
        return _Worst()
    points = np.concatenate([cuts.start, cuts.middles, cuts.end])
    row = np.tile(np.arange(len(cuts)), 3)
    within = shapely.contains_xy(edges.region, points) & (cuts.wide_top[row] > 0)
    if not np.any(within):
        return _Worst()
    points, row = points[within], row[within]
    deep = shapely.distance(edges.region.boundary, shapely.points(points)) + cuts.wide_top[row]
    deep = np.minimum(deep, top - cuts.low[row])
    worst = int(np.argmax(deep))
    x, y = points[worst]
    return _Worst(
        float(deep[worst]), float(x), float(y), int(cuts.piece[row[worst]]),
        Message("in the part"),
    )


def _proof(
    evidence: FlatEvidence, id: ProofId, name: Message, worst: _Worst, limit: float,
    area: float | None,
) -> Proof:
    """A figure in µm against its limit; ``area``, mm², is told where there is one."""
    figure = 1000 * max(worst.figure, 0.0) if np.isfinite(worst.figure) else 0.0
    if worst.figure == np.inf:
        figure = 1e6
    where = worst.text(evidence) if worst.what else NOTHING
    if worst.what and area is not None:
        where = Message("{where}, {area:.4f} mm²", where=where, area=area)
    limit = round(1000 * limit, 6)
    at = _at(evidence, worst.x, worst.y, worst.piece) if worst.what else None
    answer = Proof(id, name, evidence.setup, figure <= limit, round(figure, 3), limit, "µm",
                   where, at=at)
    return evidence.placed(answer, worst.piece)


def _at(
    evidence: FlatEvidence, x: float, y: float, piece: int = -1
) -> tuple[float, float, float]:
    """A place in plan with the height of the piece that passed there, else of the lower face."""
    layout = evidence.layout
    z = float(evidence.motion.end[piece, 2]) if piece >= 0 else layout.bottom
    return float(x), float(y), z if math.isfinite(z) else layout.bottom


def _missing(evidence: FlatEvidence, summaries: list[_Summary], tolerance: float) -> Proof:
    worst = max((s.missing for s in summaries), key=lambda w: w.figure, default=_Worst())
    area = sum(s.lost for s in summaries) if worst.figure > tolerance else None
    return _proof(evidence, MISSING, Message("material missing from the part"), worst, tolerance,
                  area)


def _left(evidence: FlatEvidence, summaries: list[_Summary], tolerance: float) -> Proof:
    worst = max((s.left for s in summaries), key=lambda w: w.figure, default=_Worst())
    area = sum(s.remaining for s in summaries) if worst.figure > tolerance else None
    return _proof(evidence, LEFT, Message("material left on the part"), worst, tolerance, area)


def _sizes(evidence: FlatEvidence, summaries: list[_Summary], tolerance: float) -> list[Proof]:
    """Each named hole as made, the worst of all pieces."""
    answers = []
    by_name: dict[str, list[tuple[str, float, float, float, float, int]]] = {}
    for summary in summaries:
        for size in summary.sizes:
            by_name.setdefault(size[0], []).append(size)
    for rows in by_name.values():
        name, made, off, x, y, piece = max(rows, key=lambda size: size[2])
        where = (in_plan(x, y, Message("{made:.4f} mm as made", made=made)) if np.isfinite(made)
                 else Message("not cut"))
        off = min(off, 1.0)
        answer = Proof(WALL.about(name), Message("wall of {name}", name=name), evidence.setup,
                       off <= tolerance,
                       round(1000 * off, 3), round(1000 * tolerance, 6), "µm", where,
                       at=_at(evidence, x, y, piece))
        answers.append(evidence.placed(answer, piece))
    return answers


def _tabs(evidence: FlatEvidence, layout: FlatLayout, summaries: list[_Summary]) -> list[Proof]:
    """Where nothing beneath holds loose pieces, tabs must: how much of each edge they keep."""
    lengths = [
        (length, name, s.number) for s in summaries for name, length in s.standing
    ]
    if not lengths or layout.holds_slugs:
        return []
    least, name, number = min(lengths)
    return [
        evidence.proof(
            TABS, Message("loose pieces held by tabs"), least > 0, least, 0.0, "mm of edge",
            where=Message("{name} of piece {piece}", name=name, piece=number + 1),
        )
    ]


def _order(
    evidence: FlatEvidence, layout: FlatLayout, first: list[_Summary], last: list[_Summary],
    at_mouths: tuple[int, ...],
) -> Proof:
    """No piece is cut free and then cut again; unless what lies beneath holds it.

    Cuts of any depth are seen in the first slice, what sets a piece free in the last.
    """
    early = [
        whole for whole, lowest, mouth in zip(first, last, at_mouths, strict=True)
        if 0 <= lowest.freed < max(whole.other_ended, mouth) and not layout.holds_slugs
    ]
    where = Message("piece {piece}", piece=early[0].number + 1) if early else NOTHING
    return evidence.at_most(
        ORDER, Message("pieces cut after they are free"), len(early), 0, "pieces",
        max(early[0].other_ended, at_mouths[early[0].number]) if early else None, where,
    )


def _floor(evidence: FlatEvidence, layout: FlatLayout) -> Proof:
    """The lowest any cutter goes, against what may be cut into."""
    # An arc in an upright plane may go lower than it ends.
    z, piece = evidence.chords.end[:, 2], evidence.chords.piece
    if not len(z) or np.all(np.isnan(z)):
        return evidence.at_most(FLOOR, Message("depth below what may be cut into"), 0.0, 0.0, "mm")
    lowest = int(np.nanargmin(z))
    row, below = int(piece[lowest]), max(0.0, layout.floor - float(z[lowest]))
    return evidence.at_most(
        FLOOR, Message("depth below what may be cut into"), below, evidence.increment / 2, "mm", row
    )
