"""Metal in and metal out of a job, from its geometry: the whole run, by weight."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, pi, radians, tan

import numpy as np
import shapely
from shapely import Polygon
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from camgen.cutting.metal import MetalAccount, metal_account
from camgen.job.models import Job, Setup
from camgen.job.order.faces import left_by, thickness_after
from camgen.layout import FlatLayout, ToothLayout, flat_layout
from camgen.make.chain import Proved
from camgen.part.declaration import MakesOpenings, MakesOutline, Named
from camgen.part.features import Hole, Recess
from camgen.part.shape import PartShape
from camgen.shapes.together import laid_together
from camgen.steps.walls.contour import FINISH_SHARE, ContourWords
from camgen.tolerances import AREA_CHORD

__all__ = ["cut_free", "job_account", "offcut_area", "part_volume"]


def job_account(proved: Proved) -> MetalAccount | None:
    """What the run weighs: stock in, parts, chips, and what is left in one piece.

    The stock is that of the first flat setup, as often as the quantity needs it; a job that only
    cuts teeth starts from its turned blanks. Of the stock, the frame and the slugs of openings cut
    along their edge are left in one piece; all else is chips.
    """
    job = proved.job_file.job
    flat = next(iter(proved.flat), None)
    teeth = next((one.layout for one in proved.on_head), None)
    thickness, bore = job.part.thickness, job.part.bore
    if flat is None and teeth is None:
        return None
    part = part_volume(teeth, flat.layout.part if flat else None, bore,
                       job.part.height if flat else thickness)
    if flat is None:
        assert teeth is not None
        blank = (teeth.blank_radius**2 - (bore / 2) ** 2) * pi * thickness + job.part.over_web
        return metal_account(
            proved.material, stock_volume=blank * job.quantity,
            part_volume=part + job.part.over_web,
            pieces=job.quantity, recoverable=job.metal.recoverable, price=job.metal.price)
    # Of the whole run, whichever of its setups was asked for.
    layout = flat_layout(job, job.flat[0])
    stocks = ceil(job.quantity / (len(layout.places) * layout.stations)) * layout.stations
    height = layout.top - layout.bottom
    return metal_account(
        proved.material,
        stock_volume=layout.stock.area * height * stocks,
        part_volume=part,
        pieces=stocks * len(layout.places),
        # What is faced off the frame goes with the chips.
        offcut_volume=offcut_area(job, layout) * (height - _faced(job)) * stocks,
        recoverable=job.metal.recoverable,
        price=job.metal.price,
    )


def part_volume(
    teeth: ToothLayout | None, part: PartShape | None, bore: float, thickness: float
) -> float:
    """Volume of one finished part, mm³; threads are weighed as the holes drilled for them."""
    outline = (
        Polygon(teeth.tooth.outline(AREA_CHORD)) if teeth is not None
        else part.outline.region(AREA_CHORD) if part is not None else Polygon()
    )
    area = float(outline.area)
    if part is None:
        return (area - pi * (bore / 2) ** 2) * thickness
    through = [opening.region(AREA_CHORD) for opening in part.openings]
    area -= sum(float(opening.area) for opening in through)
    area -= sum(pi * (hole.diameter / 2) ** 2 for hole in part.holes)
    volume = area * thickness
    holes = shapely.buffer(
        shapely.points(np.array([(hole.x, hole.y) for hole in part.holes]).reshape(-1, 2)),
        np.array([hole.diameter / 2 for hole in part.holes]), quad_segs=64)
    gone = laid_together([*through, *holes])
    volume -= _taken_from((*part.recesses, *part.blind), outline, gone)
    volume -= _taken_from(part.beneath, outline, gone)
    return volume - sum(_cone(cone.hole.diameter, cone.width) for cone in part.cones)


def _taken_from(
    features: tuple[Hole | Recess, ...], outline: Polygon, gone: BaseGeometry
) -> float:
    """What is cut to depths from one face, mm³, beside what is ``gone`` right through."""
    volume = 0.0
    # The deepest first: of metal that two recesses share, the deeper has all.
    features = tuple(sorted(features, key=lambda one: -(one.depth or 0.0)))
    regions = [one.area.region(AREA_CHORD) if isinstance(one, Recess) else
               shapely.Point(one.x, one.y).buffer(one.diameter / 2, quad_segs=64)
               for one in features]
    earlier = [*shapely.get_parts(gone), *regions]
    tree = shapely.STRtree(earlier)
    begin = len(earlier) - len(regions)
    for number, (one, region) in enumerate(zip(features, regions, strict=True)):
        before = tree.query(region, predicate="intersects")
        before = before[before < begin + number]
        mine = region.intersection(outline)
        if len(before):
            mine = mine.difference(shapely.union_all([earlier[at] for at in before]))
        volume += float(mine.area) * (one.depth or 0.0)
    return volume


def _cone(hole: float, wide: float) -> float:
    """What a countersink of 90 degrees takes off the edge of a hole, mm³; diameters mm."""
    if wide <= hole:
        return 0.0
    deep = (wide - hole) / 2 / tan(radians(45))
    return pi * deep / 12 * (wide**2 + wide * hole + hole**2) - pi * deep * hole**2 / 4


def offcut_area(job: Job, layout: FlatLayout) -> float:
    """Of one stock, seen from above, what is left in one piece besides the parts, whichever of the
    setups cuts them out; mm². ``layout`` is the first one's."""
    cut, slugs = cut_free(job, job.setups, layout)
    return float(layout.stock.difference(cut).area) + slugs


def _faced(job: Job) -> float:
    """How much of its thickness the frame loses to facing, from both faces; a piece that was cut
    free before it is faced has no frame round it any more."""
    return sum(setup.stock.thickness - thickness_after(job, setup) for setup in job.flat
               if not left_by(job, setup).piece)


def cut_free(
    job: Job, setups: Sequence[Setup], layout: FlatLayout
) -> tuple[BaseGeometry, float]:
    """All pieces with what is cut round them, seen from above, and the area of the slugs that come
    out of their openings whole, mm².

    Cutters that run along a wall leave a slot as wide as they are and what they leave for the last
    cut; what lies beyond it stays whole. Stock that no step cuts free stays whole too.
    """
    outline = layout.part.outline.region(AREA_CHORD)
    openings = layout.part.openings
    names = layout.part.opening_names or ("",) * len(openings)
    around, slots = 0.0, [0.0] * len(openings)
    for words in (step for setup in setups for step in setup.steps):
        if not isinstance(words, ContourWords):
            continue
        diameter = job.cutters[words.cutter].diameter
        left = FINISH_SHARE * diameter if words.finish is None else words.finish
        slot = diameter + left + words.correction
        made = words.declares().makes
        if any(isinstance(one, MakesOutline) for one in made):
            around = max(around, slot)
            continue
        named = next((one.openings for one in made if isinstance(one, MakesOpenings)), Named())
        # What is gone round twice falls out once.
        slots = [max(old, slot) if named.means(name) else old
                 for name, old in zip(names, slots, strict=True)]
    inside = sum(float(opening.region(AREA_CHORD).buffer(-slot, quad_segs=4).area)
                 for opening, slot in zip(openings, slots, strict=True) if slot > 0)
    taken = outline.buffer(around, quad_segs=4) if around else outline
    cut = shapely.union_all([translate(taken, x, y) for x, y in layout.places])
    return cut, inside * len(layout.places)
