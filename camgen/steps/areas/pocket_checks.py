"""Faults of a pocket step that are seen before any feed is planned."""

from __future__ import annotations

import dataclasses
import itertools
import math
from collections.abc import Iterator

import shapely
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from camgen.faults import Fault, did_you_mean, no_more
from camgen.messages import Message
from camgen.part.features import Recess
from camgen.part.tight import tight_corners
from camgen.shapes.offset import offset
from camgen.shapes.open_side import OpenArea
from camgen.steps.areas.pocket_cuts import (
    FloorCuts,
    cuts_of,
    deep_enough,
    drilled_for,
    ground_before,
    wide_enough,
)
from camgen.steps.areas.pocket_ground import Drilled, drilled_before
from camgen.steps.areas.pocket_words import (
    PocketStep,
    floor_width,
    is_last,
    pockets_chosen,
    skin_of,
)
from camgen.steps.holes.which_holes import names_without_hole, wrong_face
from camgen.steps.kind import FlatBench
from camgen.steps.walls.corners import corner_faults
from camgen.tolerances import AREA_CHORD, TOUCHING_AREA

__all__ = ["check"]

# So near, mm, a wall touches the part's edge; and along so much of it, mm, it lies on it.
HAIR, ALONG = 0.005, 0.2
# The flat end of a cutter, as a share of its diameter, is at least this to clear a floor with.
LEAST_END = 0.3
# What only the last pass goes through is a neck where it is longer than this, in radii.
SHORT = 0.5


def check(bench: FlatBench, words: PocketStep) -> list[Fault]:
    """Faults seen without planning."""
    faults = [*bench.need(), *_names(bench, words),
              *_words(bench, words), *_fillets(bench, words), *_grazing(bench, words)]
    if faults:
        return faults
    cuts, faults = cuts_of(bench, words)
    if cuts and not faults and not any(one.gets_in for one in cuts):
        faults.append(
            Fault(
                Message("a cutter of {diameter:g} mm gets into none of these pockets",
                        diameter=bench.cutter.diameter),
                Message("a smaller cutter, or leave the step out"),
                bench.place("cutter"),
            )
        )
    for one in cuts:
        faults += _over_the_edge(bench, one)
    for recess in pockets_chosen(bench, words):
        own = next((one for one in cuts if one.recess is recess), None)
        if own is not None and own.once:
            continue
        if own is not None and own.last:
            faults += _not_reached(bench, own)
        elif own is None:
            faults += corner_faults(bench, [
                corner for path in recess.area.paths
                for corner in tight_corners(path, bench.cutter.diameter / 2,
                                            within=_part(bench))])
    return faults


def _fillets(bench: FlatBench, words: PocketStep) -> Iterator[Fault]:
    """Pockets along whose walls the cutter's corner would leave more than may be there."""
    corner = bench.cutter.corner_radius
    for recess in pockets_chosen(bench, words):
        if is_last(bench, recess) and corner > recess.fillet + 1e-9:
            may = (Message("a fillet of {fillet:g} mm", fillet=recess.fillet) if recess.fillet
                   else Message("no fillet"))
            yield Fault(
                Message("a corner radius of {corner:g} mm leaves a fillet along the floor of "
                        "pocket {pocket}, where {may} may be", corner=corner, pocket=recess.name,
                        may=may),
                Message("`fillet: {corner:g}` with the pocket, where that may be, or a sharper "
                        "cutter here or in a `pocket` step after this one", corner=corner),
                bench.place("cutter"),
            )
    if 2 * corner > bench.cutter.diameter - LEAST_END * bench.cutter.diameter + 1e-9:
        yield Fault(
            Message("a corner radius of {corner:g} mm leaves too little of the end of a cutter of "
                    "{diameter:g} mm to clear a floor with", corner=corner,
                    diameter=bench.cutter.diameter),
            Message("a corner radius of {most} mm at most",
                    most=no_more((1 - LEAST_END) * bench.cutter.diameter / 2)),
            bench.place("cutter"),
        )


def _grazing(bench: FlatBench, words: PocketStep) -> Iterator[Fault]:
    """Pockets whose wall just touches the edge: a hair decides whether anything stands there.

    Moved out by a hair they part what stands otherwise than moved in. A side drawn along the edge
    is open there, and meant so.
    """
    outline = bench.layout.part.outline.region(AREA_CHORD / 4)
    for recess in pockets_chosen(bench, words):
        region = recess.area.region(AREA_CHORD / 4)
        if region.distance(outline.exterior) > HAIR or region.boundary.intersection(
                outline.exterior.buffer(1e-6)).length > ALONG:
            continue
        outer = shapely.Polygon(region.exterior)
        less, more = (outline.difference(outer.buffer(off)) for off in (-HAIR, HAIR))
        if _pieces(less) == _pieces(more):
            continue
        near = outline.exterior.intersection(region.boundary.buffer(HAIR))
        longest = max(getattr(near, "geoms", [near]), key=lambda one: one.length)
        x, y = longest.interpolate(0.5, normalized=True).coords[0]
        yield Fault(
            Message("the wall of pocket {pocket} touches the part's edge about X {x:.2f} Y "
                    "{y:.2f}: within a hair it is open there or a wall is left",
                    pocket=recess.name, x=x, y=y),
            Message("draw it {least:g} mm or more over the edge there", least=10 * HAIR),
            bench.place("pockets") if words.pockets else bench.place())


def _pieces(region: BaseGeometry) -> int:
    return sum(one.area > TOUCHING_AREA for one in getattr(region, "geoms", [region]))


def _names(bench: FlatBench, words: PocketStep) -> Iterator[Fault]:
    known = list(dict.fromkeys(recess.pocket for recess in bench.layout.part.recesses))
    below = {getattr(one, "pocket", "") for one in bench.layout.part.beneath}
    for number, name in enumerate(words.pockets or ()):
        if name in below:
            yield wrong_face(bench, name, bench.place("pockets", number))
        elif name not in known:
            yield Fault(
                Message("the part has no pocket called '{name}'", name=name),
                did_you_mean(name, known, Message("its pockets: {names}", names=tuple(known))),
                bench.place("pockets", number),
            )
    if not known:
        yield Fault(Message("the part has no pocket"), Message("describe it with the plate"),
                    bench.place())


def _words(bench: FlatBench, words: PocketStep) -> Iterator[Fault]:
    """Words that do not go together."""
    recesses = pockets_chosen(bench, words)
    if words.step_over is not None and not any(
        skin_of(bench, words, recess) for recess in recesses
    ):
        yield Fault(Message("a step-over for the floor, and nothing is left on it to finish"),
                    Message("`floor: 0.05`, or leave step-over out"), bench.place("step-over"))
    if words.width is not None and words.width > bench.cutter.diameter / 2 + 1e-9:
        yield Fault(
            Message("a width of {width:g} mm a pass is more than half the cutter, {diameter:g} mm",
                    width=words.width, diameter=bench.cutter.diameter),
            Message("at most {most} mm", most=no_more(bench.cutter.diameter / 2)),
            bench.place("width"),
        )
    if floor_width(words, bench.cutter) > bench.cutter.diameter / 2 + 1e-9:
        yield Fault(
            Message("a step-over of {over:g} mm is more than half the cutter, {diameter:g} mm",
                    over=words.step_over, diameter=bench.cutter.diameter),
            Message("at most {most} mm", most=no_more(bench.cutter.diameter / 2)),
            bench.place("step-over"),
        )
    if words.entry != "drilled":
        if words.entry_holes is not None:
            yield Fault(Message("holes to go down in, and the entry is none of them"),
                        Message("`entry: drilled`, or leave entry-holes out"),
                        bench.place("entry-holes"))
        return
    faults = names_without_hole(bench, words.entry_holes) if words.entry_holes is not None else []
    yield from (dataclasses.replace(fault, place=bench.place("entry-holes")) for fault in faults)
    if not faults:
        yield from _entry_holes(bench, words)


def _entry_holes(bench: FlatBench, words: PocketStep) -> Iterator[Fault]:
    """Holes that are not drilled before, too narrow, not deep enough, too deep, or in no pocket."""
    recesses = pockets_chosen(bench, words)
    usable = [one for recess in recesses for one in drilled_for(bench, words, recess)]
    before = drilled_before(bench)
    place = bench.place("entry-holes" if words.entry_holes else "entry")
    named = words.entry_holes or tuple(
        dict.fromkeys(one.hole.group or one.hole.name for one in before)
    )
    told = bool(usable)
    for name in named:
        holes = [one for one in before if name in (one.hole.name, one.hole.group)]
        inside = [
            (one, recess) for one in holes for recess in recesses
            if recess.area.region(AREA_CHORD).contains(shapely.Point(one.hole.x, one.hole.y))
        ]
        if words.entry_holes is None and (usable or not inside):
            continue
        for what, remedy in _unfit(bench, words, holes, inside):
            told = True
            yield Fault(Message("hole {hole} {what}: the cutter cannot go down in it", hole=name,
                                what=what), remedy, place)
    for one in dict.fromkeys(usable):
        for recess in recesses:
            below = one.depth + one.point - recess.depth
            if (one in drilled_for(bench, words, recess) and one.hole.depth is not None
                    and one.hole.depth <= recess.depth + 1e-9 and below > 1e-6):
                yield Fault(
                    Message("the drill's point of hole {hole} goes {below:.2f} mm below the floor "
                            "of pocket {pocket}", hole=one.hole.name, below=below,
                            pocket=recess.name),
                    Message("drill it {depth} mm deep", depth=no_more(recess.depth - one.point)),
                    place,
                )
    if not told:
        yield Fault(
            Message("no step before this one drills a hole in these pockets to go down in"),
            Message("a `drill` step for a hole there, or `entry: helix`"), place,
        )


def _unfit(
    bench: FlatBench, words: PocketStep, holes: list[Drilled], inside: list[tuple[Drilled, Recess]]
) -> Iterator[tuple[Message, Message]]:
    """Why the cutter cannot go down in a hole, and what to do."""
    size = bench.cutter.diameter
    wide = [(one, recess) for one, recess in inside if wide_enough(one, size / 2)]
    if not holes:
        yield (Message("is not drilled before"),
               Message("put its `drill` step before this one"))
    elif not inside:
        yield Message("lies in none of the pockets"), Message("name a hole that does")
    elif not wide:
        most = 2 * max(one.radius for one, _ in inside)
        yield (Message("is {wide:g} mm wide, too narrow for a cutter of {diameter:g} mm",
                       wide=most, diameter=size),
               Message("{diameter:g} mm at least, or `entry: helix`", diameter=size))
    elif not any(deep_enough(one, recess) for one, recess in wide):
        one, recess = wide[0]
        yield (Message("is {deep:.2f} mm deep at its full width, pocket {pocket} {depth:g} mm",
                       deep=one.depth, pocket=recess.name, depth=recess.depth),
               Message("drill it nearly as deep as the pocket"))
    elif not any(one in drilled_for(bench, words, recess) for one, recess in wide):
        yield (Message("is too near a wall"),
               Message("a hole further inside, or `entry: helix`"))


def _part(bench: FlatBench) -> BaseGeometry:
    return bench.layout.part.outline.region(AREA_CHORD).buffer(2 * AREA_CHORD)


def _over_the_edge(bench: FlatBench, cuts: FloorCuts) -> Iterator[Fault]:
    """Clamps and other pieces where the cutter goes over an open side."""
    layout = bench.layout
    part = _part(bench)
    over = [one.area.region(AREA_CHORD).difference(part) for one in cuts.areas
            if one.walls is not None]
    if not over:
        return
    swept = shapely.union_all(over)
    for x, y in layout.places:
        here = translate(swept, x, y)
        for clamp in layout.clamps:
            if clamp.plan.intersects(here):
                x0, y0, x1, y1 = clamp.plan.bounds
                yield Fault(
                    Message("pocket {pocket} is open to a side where a clamp stands, at X {x0:g} "
                            "to {x1:g}, Y {y0:g} to {y1:g}", pocket=cuts.recess.name, x0=x0, x1=x1,
                            y0=y0, y1=y1),
                    Message("move the clamp"), bench.place(),
                )
    outline = layout.part.outline.region(AREA_CHORD)
    for (x, y), (u, v) in itertools.permutations(layout.places, 2):
        if translate(outline, u, v).intersection(translate(swept, x, y)).area > TOUCHING_AREA:
            yield Fault(
                Message("pocket {pocket} is open to a side where the cutter would go into the next "
                        "piece, at X {x:g} Y {y:g}", pocket=cuts.recess.name, x=u, y=v),
                Message("pieces further apart"), bench.place(),
            )
            return


def _not_reached(bench: FlatBench, cuts: FloorCuts) -> list[Fault]:
    """Corners and necks that the last cutter of a pocket leaves."""
    part = _part(bench)
    corners = corner_faults(bench, [
        corner
        for one in cuts.areas
        for path in one.area.paths
        for corner in tight_corners(path, bench.cutter.diameter / 2,
                                    within=part if one.walls is not None else None)
    ])
    if corners:
        return [dataclasses.replace(fault, remedy=Message(
            "{remedy}, or a `pocket` step after this one with a cutter that does",
            remedy=fault.remedy)) for fault in corners]
    necks = [fault for one in cuts.areas for fault in _necks(bench, cuts, one)]
    return necks or list(_slots(bench, cuts))


def _necks(bench: FlatBench, cuts: FloorCuts, one: OpenArea) -> Iterator[Fault]:
    """What a cutter that gets into every corner still does not reach: necks and gaps."""
    radius = bench.cutter.diameter / 2
    inner = offset(one.area, -radius)
    grown = shapely.union_all(
        [part.region(AREA_CHORD / 4).buffer(radius + 2 * AREA_CHORD, quad_segs=64)
         for part in inner]
    )
    region = cuts.recess.area.region(AREA_CHORD).intersection(one.area.region(AREA_CHORD))
    left = region.intersection(_part(bench)).difference(grown)
    if not inner or left.area < TOUCHING_AREA:
        return
    parts = sorted(getattr(left, "geoms", [left]), key=lambda part: -part.area)
    place = parts[0].representative_point()
    fits = 2 * _widest(region, parts[0], radius)
    yield Fault(
        Message("pocket {pocket} is narrower than the cutter, {diameter:g} mm, at X {x:.2f} Y "
                "{y:.2f}: metal would be left there", pocket=cuts.recess.name,
                diameter=bench.cutter.diameter, x=place.x, y=place.y),
        Message("a cutter of at most {most} mm in a `pocket` step after this one, or more room "
                "between the walls", most=no_more(fits, 0.01)),
        bench.place("cutter"),
    )


def _slots(bench: FlatBench, cuts: FloorCuts) -> Iterator[Fault]:
    """Necks that only the last pass goes through: what is left on the walls fills them.

    The cutter would cut its full width there, at the feed of a thin cut, and be led in through the
    other wall. Corners are none: what clearing leaves in one is short.
    """
    radius, left = bench.cutter.diameter / 2, cuts.left
    for one in cuts.areas:
        region = one.area.region(AREA_CHORD / 4)
        goes = region.buffer(-radius, quad_segs=64)
        roughed = region.buffer(-radius - left, quad_segs=64).buffer(
            left + 2 * AREA_CHORD, quad_segs=64)
        only = goes.difference(roughed)
        parts = [part for part in getattr(only, "geoms", [only])
                 if math.dist(part.bounds[:2], part.bounds[2:]) > SHORT * radius]
        if not parts:
            continue
        ground = ground_before(bench, cuts.recess.depth)
        if ground is not None:
            parts = [part for part in parts
                     if part.buffer(radius - AREA_CHORD).difference(ground).area > TOUCHING_AREA]
        for part in parts[:1]:
            place = part.representative_point()
            # Where it is as narrow as the cutter, rounding parts it in two.
            whole = only.buffer(2 * AREA_CHORD)
            neck = next(one for one in getattr(whole, "geoms", [whole]) if one.intersects(place))
            room = 2 * _half_width(region, neck, radius, left)
            yield Fault(
                Message("pocket {pocket} is only {room:.3f} mm wide about X {x:.2f} Y {y:.2f}: "
                        "with the {left:g} mm that a cutter of {diameter:g} mm leaves on each wall "
                        "it is cleared by the last pass alone, in its full width",
                        pocket=cuts.recess.name, room=room, x=place.x, y=place.y, left=left,
                        diameter=2 * radius),
                Message("a cutter of at most {most} mm in a `pocket` step after this one, less "
                        "left by `finish`, or more room between the walls",
                        most=no_more(room - 2 * left - 4 * AREA_CHORD, 0.01)),
                bench.place("cutter"),
            )


def _half_width(region: BaseGeometry, neck: BaseGeometry, radius: float, left: float) -> float:
    """How far from its walls the middle of a neck is where it is narrowest, by halving, mm."""
    low, high = radius, radius + left
    for _ in range(10):
        middle = (low + high) / 2
        still = neck.intersection(region.buffer(-middle, quad_segs=64))
        if still.is_empty or len(getattr(still, "geoms", [still])) > 1:
            high = middle
        else:
            low = middle
    return low


def _widest(region: BaseGeometry, left: BaseGeometry, radius: float) -> float:
    """Radius of the largest cutter that clears what is left, by halving; rounded down to 5 µm."""
    low, high = 0.0, radius
    for _ in range(12):
        middle = (low + high) / 2
        swept = region.buffer(-middle, quad_segs=32).buffer(middle + AREA_CHORD, quad_segs=32)
        low, high = (middle, high) if swept.covers(left) else (low, middle)
    return int(low * 200) / 200
