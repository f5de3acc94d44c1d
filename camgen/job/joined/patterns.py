"""Shapes that stand several times in a plate, written out: round a circle, or in rows.

``windows: {circle: 3, ring: {count: 4, diameter: 12}}`` becomes windows-1 to windows-4, each as if
it had been written in the job file; a step may speak of all of them by the name they share. Lengths
mm, angles degrees.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import TypeVar

from camgen.faults import Fault
from camgen.job.models import Job
from camgen.messages import Message
from camgen.part.features import NamePath
from camgen.part.plates.plate import Plate
from camgen.part.plates.plate_words import Pocket, Shape
from camgen.part.plates.round_features import RoundNames, round_names
from camgen.shapes.figures import in_rows, ring_of
from camgen.values import dataclass
from camgen.yamlfile import DataPath, Document

__all__ = ["FromPatterns", "repeated", "shared_names", "with_patterns", "with_whole_names"]

_Shape = TypeVar("_Shape", bound=Shape)
# Angles are kept to a billionth of a degree: no last bit of a sum in them.
_PLACES = 9


@dataclass(frozen=True)
class FromPatterns:
    """A job with every pattern of its plate written out, and what is wrong with them."""

    job: Job
    faults: tuple[Fault, ...] = ()


def repeated(shape: _Shape) -> tuple[_Shape, ...]:
    """A shape at every place of its ``ring`` or ``rows``; alone where it has neither.

    Round a circle each is turned on with its place, so that all look alike from the middle.

    >>> four = repeated(Shape(circle=1.0, ring={"count": 4, "diameter": 10.0}))
    >>> [one.at for one in four][:2], [one.turned for one in four]
    ([(5.0, 0.0), (0.0, 5.0)], [0.0, 90.0, 180.0, 270.0])
    """
    own = {"ring": None, "rows": None}
    if shape.ring is not None:
        ring = shape.ring
        places = ring_of(ring.count, ring.diameter, ring.start, ring.at)
        return tuple(
            shape.model_copy(update={
                **own, "at": (round(place.x, _PLACES) + 0.0, round(place.y, _PLACES) + 0.0),
                "turned": round(shape.turned + 360.0 * number / ring.count, _PLACES)})
            for number, place in enumerate(places))
    if shape.rows is not None:
        rows = shape.rows
        return tuple(shape.model_copy(update={**own, "at": (place.x, place.y)})
                     for place in in_rows(rows.columns, rows.rows, rows.pitch, rows.at))
    return (shape,)


def with_patterns(job: Job, document: Document) -> FromPatterns:
    """The job with all patterns of its plate's shapes written out."""
    match job.given:
        case (Plate() as plate,):
            return _written_out(job, plate, document)
        case _:
            return FromPatterns(job)


def _written_out(job: Job, plate: Plate, document: Document) -> FromPatterns:
    faults = [*_outline_faults(plate.outline, document)]
    update: dict[str, dict[str, Shape]] = {}
    for group, shapes in (("openings", plate.openings), ("pockets", plate.pockets),
                          ("posts", plate.posts)):
        named: dict[str, Shape] = {}
        for name, shape in shapes.items():
            at: DataPath = ("plate", group, name)
            faults += _faults(shape, document, at)
            if isinstance(shape, Pocket):
                for number, island in enumerate(shape.islands):
                    faults += _faults(island, document, (*at, "islands", number))
                shape = shape.model_copy(update={"islands": tuple(
                    one for island in shape.islands for one in repeated(island))})
            found = repeated(shape)
            numbered = ({name: found[0]} if len(found) == 1 else
                        {f"{name}-{number}": one for number, one in enumerate(found, start=1)})
            faults += [
                Fault(Message("{own} is one of the pattern {name}, and written beside it", own=own,
                              name=name), Message("rename it"),
                      document.place(("plate", group, own), key=True))
                for own in numbered if own != name and own in shapes]
            named.update(numbered)
        update[group] = named
    return FromPatterns(job.with_part(plate.model_copy(update=update)),
                        tuple(faults))


def _outline_faults(outline: Shape, document: Document) -> Iterator[Fault]:
    for word in ("ring", "rows"):
        if getattr(outline, word) is not None:
            yield Fault(Message("a plate has one outline"),
                        Message("several pieces of one stock: repeat: in the setup"),
                        document.place(("plate", "outline", word), key=True))


def _faults(shape: Shape, document: Document, at: DataPath) -> Iterator[Fault]:
    given = [word for word in ("ring", "rows") if getattr(shape, word) is not None]
    if len(given) == 2:
        yield Fault(Message("a shape stands in a ring and in rows"), Message("say one of them"),
                    document.place((*at, "rows"), key=True))
    if given and shape.at != (0.0, 0.0):
        yield Fault(Message("a shape in a ring has its places from there") if given[0] == "ring"
                    else Message("a shape in rows has its places from there"),
                    Message("say its middle in {one}, and leave at: out", one=given[0]),
                    document.place((*at, "at"), key=True))


def shared_names(job: Job, document: Document) -> Iterator[Fault]:
    """Names that two of a plate's words give to round holes: one of them would never be made.

    The places must be known, those from drawings and other plates too.
    """
    match job.given:
        case (Plate() as plate,):
            found = tuple(round_names(plate))
        case _:
            return
    bearers: dict[str, RoundNames] = {}
    told: set[tuple[NamePath, NamePath]] = set()
    for second in found:
        for name in dict.fromkeys((second.group, *second.own)):
            first = bearers.setdefault(name, second)
            if first is second or (first.at, second.at) in told:
                continue
            told.add((first.at, second.at))
            yield Fault(Message("{first} and {second} are both called {name}",
                                first=first.who(name), second=second.who(name), name=name),
                        Message("rename one of them. Places of one hole are numbered -1, -2 and "
                                "on, and what belongs to a hole is called after it, -counterbore "
                                "or -through"), document.place(second.at, key=True))


def with_whole_names(job: Job) -> Job:
    """The job whose steps name each of several shapes alike where they said the shared name."""
    match job.given:
        case (Plate() as plate,):
            return _named_alike(job, plate)
        case _:
            return job


def _named_alike(job: Job, plate: Plate) -> Job:
    return job.model_copy(update={"setups": tuple(
        setup.model_copy(update={"steps": tuple(
            step.with_names(lambda asked: _whole(asked, tuple(plate.openings)),
                            lambda asked: _whole(asked, tuple(plate.pockets)))
            for step in setup.steps)})
        for setup in job.setups)})


def _whole(asked: tuple[str, ...] | None, names: tuple[str, ...]) -> tuple[str, ...] | None:
    """The names asked for, with all that are meant by one that they share."""
    if asked is None:
        return None
    return tuple(dict.fromkeys(own for one in asked for own in _own_names(one, names)))


def _own_names(asked: str, names: Iterable[str]) -> tuple[str, ...]:
    """
    >>> _own_names("window", ("window-1", "window-2", "window-frame"))
    ('window-1', 'window-2')
    """
    if asked in names:
        return (asked,)
    alike = re.compile(re.escape(asked) + r"-\d+")
    return tuple(name for name in names if alike.fullmatch(name)) or (asked,)
