"""Curves typed into a job as many points: taken as the arcs that a drawing of them is taken as.

From then on they are plain paths of lines and arcs. No arc is further than ``DRAWN_CURVE`` from
what was typed, to either side; how far it is, is measured and told.
"""

from __future__ import annotations

from functools import lru_cache

from camgen.faults import Refused
from camgen.job.models import Job
from camgen.messages import Message
from camgen.part.figures import as_typed, typed_pieces
from camgen.part.plates.plate import Plate
from camgen.part.plates.plate_words import PathPiece, Pocket, Shape
from camgen.shapes.fitting import FEWEST, curved, furthest_apart
from camgen.shapes.path import Path
from camgen.tolerances import DRAWN_CURVE
from camgen.values import dataclass

__all__ = ["FromCurves", "with_curves"]

# How finely what is told of a fit is measured, mm.
FINE = DRAWN_CURVE / 50


@dataclass(frozen=True)
class FromCurves:
    """A job whose typed curves are arcs, and what is told of them."""

    job: Job
    remarks: tuple[Message, ...] = ()


def with_curves(job: Job) -> FromCurves:
    """The job with arcs for the curves that its plate's shapes give as many points.

    What a drawing gave is left as it is, and a shape that is none too: that is told elsewhere.
    """
    match job.given:
        case (Plate() as plate,):
            pass
        case _:
            return FromCurves(job)
    remarks: list[Message] = []
    update = {"outline": _shape(plate.outline, "outline", remarks),
              **{word: {name: _shape(shape, name, remarks) for name, shape in shapes.items()}
                 for word, shapes in (("openings", plate.openings), ("pockets", plate.pockets),
                                      ("posts", plate.posts))}}
    if not remarks:
        return FromCurves(job)
    return FromCurves(job.with_part(plate.model_copy(update=update)),
                      tuple(dict.fromkeys(remarks)))


def _shape(shape: Shape, name: str, remarks: list[Message]) -> Shape:
    if isinstance(shape, Pocket) and shape.islands:
        shape = shape.model_copy(update={"islands": tuple(
            _shape(island, name, remarks) for island in shape.islands)})
    found = _curved(shape.polygon, shape.path)
    if found is None:
        return shape
    typed, made, off = found
    remarks.append(Message(
        "{name}: {count} lines and arcs are taken as {made}, at most {off:.1f} µm off them",
        name=name, count=len(typed.pieces), made=len(made.pieces), off=1000 * off))
    return shape.model_copy(update={"path": typed_pieces(made), "polygon": None})


@lru_cache(maxsize=64)
def _curved(
    polygon: tuple[tuple[float, float], ...] | None, path: tuple[PathPiece, ...] | None
) -> tuple[Path, Path, float] | None:
    """A figure as typed, with arcs for its curves, and how far those are off it, mm; None where it
    has no curve of short lines, or is no figure."""
    given = polygon if polygon is not None else path
    if given is None or len(given) < FEWEST:
        return None
    try:
        typed = as_typed(Shape(polygon=polygon, path=path))
    except Refused:
        return None
    made = curved(typed, DRAWN_CURVE)
    if len(made.pieces) == len(typed.pieces):
        return None
    off = furthest_apart(typed, made, FINE)
    return (typed, made, off) if off <= DRAWN_CURVE + 2 * FINE else None
