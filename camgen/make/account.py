"""Metal in and metal out of a job, from its geometry: the whole run, by weight."""

from __future__ import annotations

from math import pi

from shapely import Polygon

from camgen.cutting.metal import MetalAccount, metal_account
from camgen.job.part import part_bore, part_thickness
from camgen.layout import FlatLayout, PartShape, ToothLayout
from camgen.make.chain import Proved

__all__ = ["job_account"]

# Chords of the shapes weighed, mm: far below what a balance shows.
_CHORD = 0.001


def job_account(proved: Proved) -> MetalAccount | None:
    """What the run weighs: stock in, parts, chips, and what is left in one piece.

    The stock is that of the flat setup, as often as the quantity needs it; a job that only cuts
    teeth starts from its turned blanks. None where the job has no part.
    """
    job = proved.job_file.job
    layouts = [setup.planned.layout for setup in proved.setups]
    flat = next((one for one in layouts if isinstance(one, FlatLayout)), None)
    teeth = next((one for one in layouts if isinstance(one, ToothLayout)), None)
    thickness = part_thickness(job)
    if thickness <= 0 or (flat is None and teeth is None):
        return None
    wheel_area = _wheel_area(teeth, flat.part if flat else None, part_bore(job))
    if flat is None:
        assert teeth is not None
        blank = (teeth.blank_radius**2 - (part_bore(job) / 2) ** 2) * pi
        return metal_account(proved.material, stock_volume=blank * thickness * job.quantity,
                             part_volume=wheel_area * thickness, pieces=job.quantity)
    stocks = -(-job.quantity // len(flat.places))
    height = flat.top - flat.bottom
    pieces = stocks * len(flat.places)
    return metal_account(
        proved.material,
        stock_volume=flat.stock.area * height * stocks,
        part_volume=wheel_area * thickness,
        pieces=pieces,
    )


def _wheel_area(teeth: ToothLayout | None, part: PartShape | None, bore: float) -> float:
    """Area of the finished part seen along its arbor, mm²."""
    outline = (
        Polygon(teeth.tooth.outline(_CHORD)) if teeth is not None
        else part.outline.region(_CHORD) if part is not None else Polygon()
    )
    area = float(outline.area)
    if part is not None:
        area -= sum(float(opening.region(_CHORD).area) for opening in part.openings)
        area -= sum(pi * (hole.diameter / 2) ** 2 for hole in part.holes)
    else:
        area -= pi * (bore / 2) ** 2
    return area
