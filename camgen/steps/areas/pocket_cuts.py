"""What a pocket step cuts, before any feed is known: each floor, from where down, by which ways.

Floors that lie over one another are cleared from above; what is gone already, by earlier cutters or
by the floor above, is not cleared again. Lengths mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import lru_cache

import shapely
from shapely.geometry.base import BaseGeometry

from camgen.clearing.alike import how_moved
from camgen.clearing.clearing import Clearing, Entry, cleared
from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.part.features import Recess
from camgen.shapes.offset import Area, offset
from camgen.shapes.open_side import OpenArea
from camgen.shapes.path import Point, circle
from camgen.shop.cutters import least_round
from camgen.steps.areas.along_middle import once_along, once_areas
from camgen.steps.areas.pocket_ground import (
    Drilled,
    Gone,
    air,
    areas_of,
    drilled_before,
    earlier_steps,
    groove,
    ground_at,
    reached,
)
from camgen.steps.areas.pocket_ladder import Chosen, by_ladder, width_of
from camgen.steps.areas.pocket_words import (
    PocketStep,
    finish_of,
    floor_width,
    is_last,
    pockets_chosen,
    skin_of,
)
from camgen.steps.areas.ways_down import (
    into_metal,
    nearest_hole,
    no_hole,
    no_room_for_ramp,
    ramp_about,
)
from camgen.steps.kind import FlatBench
from camgen.steps.walls.outline import Outline
from camgen.tolerances import AREA_CHORD, TOUCHING_AREA
from camgen.values import dataclass

__all__ = ["FloorCuts", "Stretch", "cuts_of", "deep_enough", "drilled_for", "ground_before",
           "wide_enough"]

# Holes so much wider than the cutter are gone straight down in; a narrower one, where a first turn
# would meet far more metal than planned, is opened on a helix of so many radii.
PLAIN = 1.5
HELIX = 0.6
# The full width of such a hole may end so far above the floor, mm, and the length of its point.
ABOVE = 0.1


@dataclass(frozen=True)
class Stretch:
    """Ways that clear one area from ``top`` down to ``bottom``, mm below the face."""

    found: Clearing | Chosen
    top: float
    bottom: float

    @property
    def size(self) -> float:
        """The metal that the cutter reaches, seen from above, mm²."""
        return self.found.found.size if isinstance(self.found, Chosen) else self.found.size


@dataclass(frozen=True)
class FloorCuts:
    """How one floor is cut by a step.

    ``rough`` one after the other from above, ``over_floor`` the last pass over the floor, where
    there is one. ``areas`` are the areas cleared. ``left`` stays on the walls until they are
    finished. ``last``: no later step takes the pocket; ``gets_in``: the cutter clears something.
    """

    recess: Recess
    areas: tuple[OpenArea, ...]
    rough: tuple[Stretch, ...]
    over_floor: tuple[Stretch, ...]
    left: float
    last: bool
    gets_in: bool = True

    @property
    def once(self) -> bool:
        """Whether it is a slot as wide as the cutter."""
        return not self.left


def cuts_of(bench: FlatBench, words: PocketStep) -> tuple[list[FloorCuts], list[Fault]]:
    """The floors of a step in the order they are cut, and every fault on the way."""
    found, faults = _kept_cuts(_Asked(bench, words))
    return list(found), list(faults)


class _Asked:
    """A step as it is asked about: the same where it is that of the same setup as laid out, for
    neither changes while it is planned."""

    __slots__ = ("bench", "words")

    def __init__(self, bench: FlatBench, words: PocketStep) -> None:
        self.bench, self.words = bench, words

    def _whose(self) -> tuple[int, ...]:
        bench = self.bench
        return (id(bench.setup), id(bench.layout), id(bench.job), id(bench.machine),
                id(bench.material), bench.number, id(self.words))

    def __hash__(self) -> int:
        return hash(self._whose())

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Asked) and self._whose() == other._whose()


@lru_cache(maxsize=16)
def _kept_cuts(asked: _Asked) -> tuple[tuple[FloorCuts, ...], tuple[Fault, ...]]:
    """Kept, because the check asks first, then the plan and every later step of the setup."""
    found, faults = _cuts_of(asked.bench, asked.words)
    return tuple(found), tuple(faults)


def _cuts_of(bench: FlatBench, words: PocketStep) -> tuple[list[FloorCuts], list[Fault]]:
    gone = _gone_before(bench)
    found: list[FloorCuts] = []
    faults: list[Fault] = []
    for recess in _from_above(pockets_chosen(bench, words)):
        try:
            cuts = _rough(bench, words, recess, gone)
        except Refused as no:
            faults += [_told(bench, recess, fault) for fault in no.faults]
            continue
        found.append(cuts)
        skin = skin_of(bench, words, recess)
        gone += _taken(bench, cuts, cuts.left, recess.depth - skin)
    if faults or not any(cuts.last and skin_of(bench, words, cuts.recess) for cuts in found):
        return found, faults
    whole: list[FloorCuts] = []
    for cuts in found:
        try:
            done = _with_floor(bench, words, cuts, gone)
        except Refused as no:
            faults += [_told(bench, cuts.recess, fault) for fault in no.faults]
            continue
        whole.append(done)
        if done.last:
            gone += _taken(bench, cuts, cuts.left, cuts.recess.depth)
    return whole, faults


def _gone_before(bench: FlatBench) -> list[Gone]:
    """What is free of metal before the step: air, pockets and the groove round the outline.

    Holes are not among it: they are entered only where the job says so.
    """
    gone = [Gone(air(bench.layout), math.inf)]
    for earlier, words in earlier_steps(bench):
        if isinstance(words, Outline):
            gone.append(groove(earlier, words))
        elif isinstance(words, PocketStep):
            for one in cuts_of(earlier, words)[0]:
                kept = 0.0 if one.last else skin_of(earlier, words, one.recess)
                left = 0.0 if one.last else one.left
                gone += _taken(earlier, one, left, one.recess.depth - kept)
    return gone


def ground_before(bench: FlatBench, depth: float) -> BaseGeometry | None:
    """What is free of metal down to ``depth`` mm below the face before the step."""
    return ground_at(_gone_before(bench), depth)


def _taken(bench: FlatBench, cuts: FloorCuts, left: float, depth: float) -> Iterator[Gone]:
    """What a step takes off above a floor; round its edge only so deep as the corners go."""
    radius, corner = bench.cutter.diameter / 2, bench.cutter.corner_radius
    if cuts.once:
        yield Gone(cuts.recess.area.region(AREA_CHORD).buffer(-2 * AREA_CHORD), depth)
    elif depth > corner:
        yield Gone(reached(cuts.areas, radius, left), depth - corner)
    if corner and not cuts.once:
        yield Gone(reached(cuts.areas, radius, left, corner), depth)


def _told(bench: FlatBench, recess: Recess, fault: Fault) -> Fault:
    return Fault(Message("pocket {pocket}: {fault}", pocket=recess.name, fault=fault.message),
                 fault.remedy, bench.place("cutter"))


def _from_above(recesses: Sequence[Recess]) -> Iterator[Recess]:
    """In the order given, but floors that lie over others before those."""
    regions = {recess.name: recess.area.region(AREA_CHORD) for recess in recesses}
    rest = list(recesses)
    while rest:
        one = next(
            recess for recess in rest
            if not any(
                other.depth < recess.depth - 1e-9
                and regions[other.name].intersection(regions[recess.name]).area > TOUCHING_AREA
                for other in rest
            )
        )
        rest.remove(one)
        yield one


def _rough(
    bench: FlatBench, words: PocketStep, recess: Recess, gone: Sequence[Gone]
) -> FloorCuts:
    """The clearing of one floor, but for the skins left on walls and floor."""
    radius = bench.cutter.diameter / 2
    left, last = finish_of(bench, words, recess), is_last(bench, recess)
    bottom = recess.depth - skin_of(bench, words, recess)
    if last:
        once = once_along(bench, recess.area, bottom,
                          words.finish is not None or bottom < recess.depth)
        if once is not None:
            return FloorCuts(recess, once_areas(recess, bench.layout.part.outline),
                             (Stretch(once, 0.0, bottom),), (), 0.0, last)
    areas = areas_of(bench.layout, recess, radius, left)
    if bottom <= 0:
        raise Refused(
            Fault(
                Message("{left:g} mm left on the floor are all its depth",
                        left=recess.depth - bottom),
                Message("a smaller `floor`"),
            )
        )
    width = width_of(bench, words)
    if last:
        rough = [
            stretch for one in areas
            for stretch in _down(bench, words, one.area, recess, gone, bottom, width, left)
        ]
        return FloorCuts(recess, areas, tuple(rough), (), left, last)
    # A later cutter takes what this one does not get into.
    rough, entered = [], []
    for one in areas:
        for area in _parts(one.area, radius + left):
            try:
                rough += _down(bench, words, area, recess, gone, bottom, width, left)
            except Refused:
                continue
            entered.append(OpenArea(area))
    return FloorCuts(recess, tuple(entered), tuple(rough), (), left, last, bool(entered))


def _parts(area: Area, reach: float) -> list[Area]:
    """Where a cutter gets into an area: the whole, or each part of it with what the cutter sweeps
    there."""
    parts = offset(area, -reach)
    if len(parts) < 2:
        return [area] if parts else []
    return [grown for part in parts for grown in offset(part, reach)]


def _down(
    bench: FlatBench, words: PocketStep, area: Area, recess: Recess, gone: Sequence[Gone],
    bottom: float, width: float, left: float,
) -> Iterator[Stretch]:
    """One area from the face down: anew wherever a floor cut before ends."""
    region = area.region(AREA_CHORD)
    near = [one for one in gone if one.region.intersection(region).area > TOUCHING_AREA]
    holes = drilled_for(bench, words, recess) if words.entry == "drilled" else []
    depths = {one.depth for one in near} | {one.depth for one in holes}
    ends = sorted(depth for depth in depths if depth < bottom - 1e-9)
    top = 0.0
    for depth in (*ends, bottom):
        ground = ground_at(near, depth)
        deep = [one for one in holes if one.depth >= depth - 1e-9]
        ways = _ways_in(bench, words, area, left, deep or None)
        ladder = by_ladder(bench, words, area, ground, depth - top, left, ways)
        if ladder is not None:
            yield Stretch(ladder, top, depth)
            top = depth
            continue
        found = _entered(bench, words, area, ground, width, left, deep or None)
        if found.entries or found.walls:
            yield Stretch(found, top, depth)
        top = depth


def _with_floor(
    bench: FlatBench, words: PocketStep, cuts: FloorCuts, gone: Sequence[Gone]
) -> FloorCuts:
    """The same with the last pass over the floor."""
    recess = cuts.recess
    skin = skin_of(bench, words, recess)
    if not cuts.last or not skin:
        return cuts
    ground = ground_at(gone, recess.depth)
    width = floor_width(words, bench.cutter)
    over = []
    for one in cuts.areas:
        found = _clearing(bench, one.area, width, cuts.left, ground)
        if found.entries or found.walls:
            over.append(Stretch(found, recess.depth - skin, recess.depth))
    return FloorCuts(recess, cuts.areas, cuts.rough, tuple(over), cuts.left, True)


# --- ways down ----------------------------------------------------------------------------------


def wide_enough(drilled: Drilled, radius: float) -> bool:
    """Whether a cutter can be set down in a hole."""
    return drilled.radius >= radius - 1e-9


def deep_enough(drilled: Drilled, recess: Recess) -> bool:
    """Whether a hole goes down to a pocket's floor, or its drill's point nearly so; what is left
    is then entered on a helix."""
    return 0 < recess.depth - drilled.depth <= drilled.point + ABOVE or (
        drilled.depth >= recess.depth)


def drilled_for(bench: FlatBench, words: PocketStep, recess: Recess) -> list[Drilled]:
    """The holes that a step may go down in to clear a pocket."""
    radius = bench.cutter.diameter / 2
    room = radius + finish_of(bench, words, recess)
    inner = recess.area.region(AREA_CHORD).buffer(-room)
    return [
        one
        for one in drilled_before(bench)
        if (words.entry_holes is None or one.hole.name in words.entry_holes
            or one.hole.group in words.entry_holes)
        and wide_enough(one, radius)
        and deep_enough(one, recess)
        and (inner if one.radius >= PLAIN * radius else inner.buffer(-HELIX * radius)).contains(
            shapely.Point(one.hole.x, one.hole.y))
    ]


def _ways_in(
    bench: FlatBench, words: PocketStep, area: Area, left: float, holes: Sequence[Drilled] | None
) -> list[tuple[Entry, Point]]:
    """Where the cutter goes down into each part for a ladder, and where it is then: on a line to
    and fro, or in a hole; none where it is round the edge."""
    radius = bench.cutter.diameter / 2
    if words.entry == "helix" or (words.entry == "drilled" and holes is None):
        return []
    ways: list[tuple[Entry, Point]] = []
    for part in offset(area, -radius - left):
        middle = part.region(AREA_CHORD).representative_point()
        place = Point(middle.x, middle.y)
        if words.entry == "ramp":
            line = ramp_about(area, radius, left, place)
            ways.append((Entry("ramp", line.start, line), line.start))
            continue
        hole = nearest_hole(holes or (), area, radius, left, place)
        if hole is None:
            raise Refused(no_hole(bench, place))
        centre = Point(hole.hole.x, hole.hole.y)
        if hole.radius < PLAIN * radius:
            turn = circle(centre, HELIX * radius)
            ways.append((Entry("helix", turn.start, turn), turn.start))
        else:
            ways.append((Entry("descent", centre), centre))
    return ways


def _entered(
    bench: FlatBench, words: PocketStep, area: Area, ground: BaseGeometry | None,
    width: float, left: float, holes: Sequence[Drilled] | None,
) -> Clearing:
    """How an area is cleared, entered as the step says; in ``holes`` where they go so deep."""
    radius = bench.cutter.diameter / 2
    found = _clearing(bench, area, width, left, ground)
    if words.entry == "helix" or (words.entry == "drilled" and holes is None):
        return found
    ways: list[Entry] = []
    unused = list(holes or ())
    while True:
        into = next(into_metal(found), None)
        if into is None:
            break
        if words.entry == "ramp":
            way = ramp_about(area, radius, left, into)
            if any(way == one.path for one in ways):
                # It frees nothing that is to be entered: there would be no end to them.
                raise Refused(no_room_for_ramp(radius, into))
            ways.append(Entry("ramp", way.start, way))
            line = shapely.LineString([way.start, way.end])
            swept: BaseGeometry = line.buffer(radius - AREA_CHORD, quad_segs=32)
        else:
            hole = nearest_hole(unused, area, radius, left, into)
            if hole is None:
                raise Refused(no_hole(bench, into))
            unused.remove(hole)
            swept = hole.region
            if hole.radius < PLAIN * radius:
                # On a helix wider than the hole: in it alone the first turn would meet too much.
                way = circle(Point(hole.hole.x, hole.hole.y), HELIX * radius)
                ways.append(Entry("helix", way.start, way))
                swept = shapely.Point(hole.hole.x, hole.hole.y).buffer(
                    (1 + HELIX) * radius - AREA_CHORD, quad_segs=32)
        ground = swept if ground is None else shapely.union_all([ground, swept])
        found = _clearing(bench, area, width, left, ground)
    return Clearing(
        (*ways, *found.entries), (*(() for _ in ways), *found.passes), found.walls, found.planned,
        found.size, found.free,
    )


def _clearing(
    bench: FlatBench, area: Area, width: float, left: float, ground: BaseGeometry | None
) -> Clearing:
    """How an area is cleared; as the first of the part's pockets with its shape, moved and turned,
    where no ground is free in it.
    """
    sizes = (bench.cutter.diameter / 2, bench.cutter.corner_radius, width, left,
             least_round(bench.cutter))
    if ground is not None and ground.intersection(area.region(AREA_CHORD)).area >= TOUCHING_AREA:
        return _cleared(area, *sizes, shapely.to_wkb(ground))
    for recess in bench.layout.part.recesses:
        if recess.area == area:
            break
        moved = how_moved(recess.area, area)
        if moved is not None:
            try:
                return moved.clearing(_cleared(recess.area, *sizes, None))
            except Refused:
                # Told with this one's own place.
                break
    return _cleared(area, *sizes, None)


@lru_cache(maxsize=512)
def _cleared(
    area: Area, radius: float, corner: float, width: float, left: float, least: float,
    ground: bytes | None,
) -> Clearing:
    """Kept, because the check asks first and the plan then wants the same."""
    gone = None if ground is None else shapely.from_wkb(ground)
    return cleared(area, radius, width, left, gone=gone, corner=corner, least_round=least)
