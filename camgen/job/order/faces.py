"""Which face of a part a setup works on, what its zero hangs on, and what earlier setups left it.

Made from the words of the job alone; the words were found to agree by
:mod:`camgen.job.order.two_sides`. Lengths mm, places in the part's frame as seen from the upper
face.
"""

from __future__ import annotations

import math

from camgen.job.models import FlatSetup, Job, Stock
from camgen.job.order.deeds import deeds_of, features_of_job
from camgen.part.declaration import MakesFace, MakesOutline
from camgen.part.features import Hole, Recess
from camgen.part.parts import features_of
from camgen.part.plates.plate import Plate
from camgen.part.plates.plate_words import Face
from camgen.part.plates.round_features import round_holes_of
from camgen.shapes.mirror import MirrorAxis
from camgen.values import dataclass

__all__ = ["LeftBySetup", "cuts_free", "dowels_of", "holes_called", "indicated_by", "left_by",
           "made_later", "other_face", "thickness_after", "turned_about"]


@dataclass(frozen=True)
class LeftBySetup:
    """What a setup finds on the machine: the ``stock`` that it once was, and who left it, if any.

    ``piece`` when earlier setups cut the piece free, so that nothing of the stock is left round it.
    """

    stock: Stock
    piece: bool
    by: FlatSetup | None = None


def other_face(face: Face) -> Face:
    """The face on the other side.

    >>> other_face("upper")
    'under'
    """
    return "under" if face == "upper" else "upper"


def turned_about(setup: FlatSetup) -> MirrorAxis:
    """The axis that the piece was turned over about in this setup, "" where it was not."""
    if setup.face == "upper" or setup.turned_over is None:
        return ""
    return "X" if setup.turned_over == "about X" else "Y"


def holes_called(job: Job, name: str) -> tuple[Hole, ...]:
    """The part's round holes of that name, of their own or shared with their like.

    Raises Refused for parts that cannot be.
    """
    holes = (round_holes_of(job.part, job.material) if isinstance(job.part, Plate) else
             [one for one in features_of(job.part, job.material) if isinstance(one, Hole)])
    return tuple(one for one in holes if name in (one.name, one.group))


def dowels_of(job: Job, setup: FlatSetup) -> tuple[Hole, ...]:
    """The holes that dowels stand in, that of the zero first; none where the zero is no dowel.

    The second, unless it is named, is the farthest hole of the same name.
    """
    name = setup.zero.dowel
    if name is None:
        return ()
    first = next(iter(holes_called(job, name)), None)
    if first is None:
        return ()
    others = [one for one in holes_called(job, setup.zero.second or first.group)
              if one.place != first.place]
    if not others:
        return (first,)
    return first, max(others, key=lambda one: round(math.dist(one.place, first.place), 9))


def indicated_by(job: Job, setup: FlatSetup) -> tuple[Hole, ...]:
    """The hole in whose middle the zero is found with an indicator; none where it is not."""
    name = setup.zero.indicated
    return holes_called(job, name)[:1] if name is not None else ()


def cuts_free(setup: FlatSetup) -> bool:
    """Whether a setup's outline goes right round and through, leaving neither tabs nor skin."""
    return any(says.makes_a(MakesOutline) and says.held_by is None
               for says in (step.declares() for step in setup.steps))


def left_by(job: Job, setup: FlatSetup) -> LeftBySetup:
    """What is on the machine in a setup with stock: its own, or what an earlier one left of it."""
    stock, piece, by, at = setup.stock, False, None, setup
    while stock.left_by is not None:
        before = _setup_before(job, at, stock.left_by)
        if before is None:
            break
        by = by or before
        piece |= cuts_free(before)
        at, stock = before, before.stock
    return LeftBySetup(stock, piece, by)


def _setup_before(job: Job, setup: FlatSetup, name: str) -> FlatSetup | None:
    """The flat setup of that name that comes before another."""
    for one in job.flat:
        if one == setup:
            return None
        if one.name == name:
            return one
    return None


def made_later(job: Job, setup: FlatSetup) -> bool:
    """Whether a setup after this one clears a face of a wheel, so that it is not to height yet."""
    number = next(n for n, one in enumerate(job.setups) if one.name == setup.name)
    return not isinstance(job.part, Plate) and any(
        deed.number > number and deed.makes(one) for deed in deeds_of(job)
        for one in features_of_job(job) if isinstance(one, Recess))


def thickness_after(job: Job, setup: FlatSetup) -> float:
    """Thickness of the work once a setup with stock is done: as it came, or as it was faced to."""
    faced = [made for step in setup.steps for made in step.declares().makes
             if isinstance(made, MakesFace)]
    if not faced or not isinstance(job.part, Plate):
        return setup.stock.thickness
    to = faced[-1].to
    return min(setup.stock.thickness, job.part.thickness if to is None else to)
