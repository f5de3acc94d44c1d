"""Corners of a plate that its cutters leave to a file: how large each leaves them.

A shape says that they may stay, the steps that make it say with which cutter: what follows sees the
walls as that cutter leaves them. Lengths mm.
"""

from __future__ import annotations

from camgen.faults import Fault
from camgen.job.models import Job
from camgen.messages import Message
from camgen.part.declaration import Made, MakesOpenings, MakesOutline, MakesPockets
from camgen.part.features import NamePath
from camgen.part.plates.plate import Plate
from camgen.part.plates.plate_words import Shape
from camgen.yamlfile import Document

__all__ = ["with_corners_left"]


def with_corners_left(job: Job, document: Document) -> tuple[Job, tuple[Fault, ...]]:
    """The job with the radii known that are left in its plate's inside corners; and what is amiss.

    Where several steps cut a wall, the narrowest of their cutters counts. What another job or hand
    makes stays as it is drawn.
    """
    match job.given:
        case (Plate() as plate,):
            faults = tuple(_misplaced(plate, document))
            radii = {words: radius for words, shape in _shapes(plate).items()
                     if (shape.inside_corners or plate.inside_corners) == "left"
                     and (radius := _radius(job, words)) is not None}
            return (job.with_part(plate.with_corners_left(radii)) if radii else job), faults
        case _:
            return job, ()


def _shapes(plate: Plate) -> dict[NamePath, Shape]:
    return {("outline",): plate.outline,
            **{("openings", name): shape for name, shape in plate.openings.items()},
            **{("pockets", name): pocket for name, pocket in plate.pockets.items()}}


def _radius(job: Job, words: NamePath) -> float | None:
    """Radius of the narrowest cutter that cuts a wall, with what a correction adds to it."""
    radii = [
        job.cutters[step.cutter].diameter / 2 + max(0.0, step.declares().added("wall"))
        for setup in job.setups for step in setup.steps
        if step.cutter in job.cutters
        and any(_cuts(made, words) for made in step.declares().makes)
    ]
    return min(radii, default=None)


def _cuts(made: Made, words: NamePath) -> bool:
    match made:
        case MakesOutline():
            return words == ("outline",)
        case MakesOpenings():
            return words[0] == "openings" and made.openings.means(words[1])
        case MakesPockets():
            return words[0] == "pockets" and made.pockets.means(words[1])
        case _:
            return False


def _misplaced(plate: Plate, document: Document) -> list[Fault]:
    """Islands and posts that say what becomes of corners: that is said of what they stand in."""
    said: list[tuple[tuple[str | int, ...], Shape]] = [
        (("plate", "pockets", name, "islands", number), island)
        for name, pocket in plate.pockets.items() for number, island in enumerate(pocket.islands)]
    said += [(("plate", "posts", name), post) for name, post in plate.posts.items()]
    return [Fault(Message("what stands in a pocket does not say what becomes of its corners"),
                  Message("say `inside-corners` with the pocket"),
                  document.place((*at, "inside-corners")))
            for at, shape in said if shape.inside_corners is not None]
