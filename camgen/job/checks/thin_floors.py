"""Where features of a plate's two faces come near one another, or a floor is left too thin.

What goes right through is meant to; everything else must leave the plate's least floor between.
Lengths mm, in the part's frame as seen from the upper face.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import shapely
from shapely.geometry.base import BaseGeometry

from camgen.faults import Fault, Refused, no_less, no_more
from camgen.job.file import JobFile
from camgen.job.models import Job
from camgen.job.order.deeds import deeds_of, makes
from camgen.job.order.opened import point_of
from camgen.messages import Message
from camgen.part.called import face_called
from camgen.part.declaration import MakesCones
from camgen.part.features import Cone, Hole
from camgen.part.plates.floors import floors_of, openings_of
from camgen.part.plates.plate import Plate
from camgen.part.plates.plate_words import Face
from camgen.part.plates.round_features import SEAT, round_features, round_holes_of
from camgen.tolerances import CHECK_CHORD, CHECK_TOUCHING_AREA
from camgen.values import dataclass

__all__ = ["thin_floor_faults"]

QUARTER = 16
_SHALLOWER = Message("shallower")
# A point's cone where no cutter is known: 90 degrees, the usual countersink.
USUAL_CONE = 90.0


@dataclass(frozen=True)
class _Cut:
    """Something cut to a ``depth`` from a ``face``; ``at`` its words in the file, of the part or,
    where that is what makes it so deep, of a step.

    ``solid`` is what must be left below it: nothing below a cone, which may come down on a thin
    floor but not through it.
    """

    at: tuple[str | int, ...]
    what: Message
    face: Face
    region: shapely.Polygon
    depth: float
    solid: float
    less: Message = _SHALLOWER
    cone: bool = False


def thin_floor_faults(job_file: JobFile, plate: Plate) -> list[Fault]:
    """Floors thinner than the least, and features of both faces that break into each other."""
    job = job_file.job
    try:
        cuts = [*_rounds(job, plate), *_floors(plate)]
        # Costly where there are many holes, and wanted only where both faces are cut into.
        both = len({cut.face for cut in cuts}) == 2
        through = _through(plate, job.material) if both else shapely.Polygon()
    except Refused:
        return []  # told where the shapes themselves are looked at
    faults = [_thin(job_file, cut, plate.thickness) for cut in cuts
              if plate.thickness - cut.depth < cut.solid - 1e-9]
    return [*faults, *_lost_cones(job_file, cuts),
            *_pairs(job_file, cuts, through, plate.thickness)]


def _thin(job_file: JobFile, cut: _Cut, thickness: float) -> Fault:
    """A floor thinner than the least; one that is no floor at all is told as what it is."""
    left = thickness - cut.depth
    if left <= 0:
        return Fault(Message("{what} breaks through the other face: it is {depth:.4g} mm deep in "
                             "a plate of {thickness:g} mm", what=cut.what, depth=cut.depth,
                             thickness=thickness), cut.less,
                     job_file.place(*cut.at))
    return Fault(Message("{what} leaves a floor of {left:.3g} mm", what=cut.what, left=left),
                 Message("{less}, or least-floor: where so thin a floor is meant; {solid:g} mm is "
                         "the least", less=cut.less, solid=cut.solid), job_file.place(*cut.at))


def _lost_cones(job_file: JobFile, cuts: list[_Cut]) -> Iterator[Fault]:
    """Cones at a face where a pocket has taken the face away: nothing of them would be cut."""
    floors = [cut for cut in cuts if cut.at[1] in ("pockets", "slots")]
    for cone in (cut for cut in cuts if cut.cone):
        for floor in floors:
            if (floor.face == cone.face and floor.depth >= cone.depth - 1e-9
                    and floor.region.contains(cone.region)):
                yield Fault(Message("{what} lies in {floor}: nothing of it would be cut",
                                    what=cone.what, floor=floor.what),
                            Message("a cone's width is that at the face. Leave it out, or make it "
                                    "so wide that it reaches below the floor"),
                            job_file.place(*cone.at))
                break


def _pairs(
    job_file: JobFile, cuts: list[_Cut], through: BaseGeometry, thickness: float
) -> Iterator[Fault]:
    upper = [cut for cut in cuts if cut.face == "upper"]
    under = [cut for cut in cuts if cut.face == "under"]
    if not upper or not under:
        return
    tree = shapely.STRtree([cut.region for cut in under])
    one, other = tree.query([cut.region for cut in upper], predicate="intersects")
    for a, b in sorted(zip(one.tolist(), other.tolist(), strict=True)):
        above, below = upper[a], under[b]
        left = thickness - above.depth - below.depth
        least = min(above.solid, below.solid)
        if left >= least - 1e-9 and left > 1e-9:
            continue
        both = shapely.intersection(above.region, below.region)
        both = shapely.difference(both, through)
        if both.area < CHECK_TOUCHING_AREA:
            continue
        spot = both.representative_point()
        where = Message("at X {x:.2f} Y {y:.2f}", x=spot.x, y=spot.y)
        yield Fault(Message("{above} and {below} break into each other {where}: together they "
                            "are {together:.3g} mm deep", above=above.what, below=below.what,
                            where=where, together=above.depth + below.depth) if left <= 1e-9
                    else Message("{above} and {below} leave {left:.3g} mm between them {where}, "
                                 "less than {least:g} mm", above=above.what, below=below.what,
                                 left=left, where=where, least=least),
                    Message("one of them shallower by {more} mm, or elsewhere; what shall go "
                            "right through is an opening or a hole without depth",
                            more=no_less(max(least, 0.0) - left)), job_file.place(*below.at))


def _rounds(job: Job, plate: Plate) -> Iterator[_Cut]:
    """Holes to a depth, with the points of the drills that make them, and cones."""
    for one in round_features(plate, job.material):
        if isinstance(one, Cone):
            yield from _cone_cut(job, one, plate.thickness)
        if not isinstance(one, Hole):
            continue
        disc = shapely.Point(one.place).buffer(one.diameter / 2, quad_segs=QUARTER)
        if one.depth is not None and 0 < one.depth < plate.thickness:
            deep, point, at = _drilled(job, one)
            most = no_more(plate.thickness - plate.least_floor - point, 0.01)
            yield _Cut(at, _deep_called(one, deep, point), one.face, disc, deep + point,
                       plate.least_floor,
                       Message("depth: {most} or less, or leave it out", most=most)
                       if at != one.at else
                       Message("{most} mm deep or less, or without a depth where it shall go "
                               "through", most=most))


def _deep_called(hole: Hole, deep: float, point: float) -> Message:
    """A hole to a depth, and how much further the point of its drill goes."""
    if hole.group.endswith(SEAT):
        what = Message("counterbore {name}", name=hole.name)
    elif hole.at[1] == "jewels":
        what = Message("jewel seat {name}", name=hole.name)
    else:
        what = Message("hole {name}", name=hole.name)
    said = Message("{what}, {deep:g} mm deep from {face}", what=what, deep=deep,
                   face=face_called(hole.face))
    return Message("{hole} and {point:.2f} mm more for the drill's point", hole=said,
                   point=point) if point else said


def _cone_cut(job: Job, cone: Cone, thickness: float) -> Iterator[_Cut]:
    hole, slope = cone.hole, math.tan(math.radians(_cone(job) / 2))
    if cone.width > hole.diameter:
        deep = (cone.width - hole.diameter) / 2 / slope
        wide = shapely.Point(hole.place).buffer(cone.width / 2, quad_segs=QUARTER)
        most = no_more(hole.diameter + 2 * slope * thickness - 0.001)
        yield _Cut(cone.at, Message("the cone of {name} on {face}", name=cone.name,
                                    face=face_called(cone.face)),
                   cone.face, wide, deep, 0.0,
                   Message("{mouth}: {most} or less, or a flatter cutter", mouth=cone.mouth,
                           most=most), cone=True)


def _drilled(job: Job, hole: Hole) -> tuple[float, float, tuple[str | int, ...]]:
    """How deep a hole is drilled at its full width or narrower, how far the drill's point goes on
    below, and the words that say so: those of the hole, or of a step that goes deeper; mm."""
    at: tuple[str | int, ...] = hole.at
    deepest = hole.depth or 0.0, 0.0, at
    for deed in deeds_of(job):
        cutter = deed.cutter
        for made in deed.says.holes:
            if cutter is None or not made.pointed or not makes(deed, made, hole):
                continue
            said = made.depth is not None
            point = (point_of(cutter) if said or cutter.diameter >= hole.diameter - 1e-9 else 0.0)
            deep = made.depth if made.depth is not None else hole.depth or 0.0
            if deep + point > deepest[0] + deepest[1] + 1e-9:
                deepest = deep, point, (*deed.at, "depth") if said else hole.at
    return deepest


def _cone(job: Job) -> float:
    """The flattest cone that a countersinking cutter of the job makes, degrees."""
    angles = [job.cutters[step.cutter].cone_angle for setup in job.setups for step in setup.steps
              if step.declares().makes_a(MakesCones) and step.cutter in job.cutters]
    return min(angles, default=USUAL_CONE)


def _floors(plate: Plate) -> Iterator[_Cut]:
    for floor in floors_of(plate):
        if floor.depth >= plate.thickness:
            continue  # told where the plate itself is looked at
        word = "pockets" if floor.pocket in plate.pockets else "slots"
        what = (Message("pocket {name}", name=floor.name) if word == "pockets"
                else Message("slot {name}", name=floor.name))
        yield _Cut(("plate", word, floor.pocket),
                   Message("{what}, {deep:g} mm deep from {face}", what=what, deep=floor.depth,
                           face=face_called(floor.face)),
                   floor.face, floor.area.region(CHECK_CHORD), floor.depth, plate.least_floor)


def _through(plate: Plate, material: str) -> BaseGeometry:
    """All that goes right through, a little wider, so that chords leave no slivers beside it."""
    discs = [shapely.Point(one.place).buffer(one.diameter / 2, quad_segs=QUARTER)
             for one in round_holes_of(plate, material) if one.depth is None]
    paths = [path.region(CHECK_CHORD) for path in openings_of(plate).values()]
    return shapely.union_all([*discs, *paths]).buffer(2 * CHECK_CHORD)
