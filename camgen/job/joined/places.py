"""Places that a plate takes from elsewhere: from drawings, and from another job's plate.

Whatever has a place takes it by the same words, in a group of things too. What is found is kept by
the word's own path in the job file, for :mod:`camgen.job.joined.patterns` to write out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from camgen.faults import Fault, Refused
from camgen.job.file import JobFile
from camgen.job.joined.another_plate import matched_places
from camgen.job.joined.drawn import DrawingReader
from camgen.job.models import Job
from camgen.messages import Message
from camgen.part.plates.place_words import DrawnPlaces, Placed
from camgen.part.plates.plate import Plate
from camgen.part.plates.plate_words import Group, PlateHole, Pocket
from camgen.part.plates.round_features import diameter_of
from camgen.shapes.path import Point
from camgen.values import dataclass
from camgen.yamlfile import DataPath, Document

__all__ = ["FoundPlaces", "found_places", "placed_words", "things_of_holder"]


@dataclass(frozen=True)
class FoundPlaces:
    """Places by the path of the word that takes them; the files read, what was mended, faults."""

    places: dict[DataPath, tuple[Point, ...]]
    files: tuple[Path, ...] = ()
    remarks: tuple[Message, ...] = ()
    faults: tuple[Fault, ...] = ()


def things_of_holder(holder: Plate | Group) -> Iterator[tuple[str, dict[str, Placed]]]:
    """What a plate or a group has, by name, under each word for things that have places."""
    yield "holes", dict(holder.holes)
    yield "jewels", dict(holder.jewels)
    yield "openings", dict(holder.openings)
    yield "pockets", dict(holder.pockets)
    yield "slots", dict(holder.slots)
    yield "posts", dict(holder.posts)


def placed_words(holder: Plate | Group, at: DataPath) -> Iterator[tuple[DataPath, Placed]]:
    """Every word that has places, with its path: islands of pockets and things in groups too."""
    for word, things in things_of_holder(holder):
        for name, thing in things.items():
            yield (*at, word, name), thing
            if isinstance(thing, Pocket):
                for number, island in enumerate(thing.islands):
                    yield (*at, word, name, "islands", number), island
    for name, group in holder.groups.items():
        yield (*at, "groups", name), group
        yield from placed_words(group, (*at, "groups", name))


def found_places(
    job: Job, document: Document, read: Callable[[Path], JobFile], above: Iterable[Path] = ()
) -> FoundPlaces:
    """All places that a job's plate takes from drawings and from another plate.

    ``read`` reads the other job; ``above`` are the jobs that are waiting for this one's places.
    """
    match job.given:
        case (Plate() as plate,):
            words = tuple(placed_words(plate, ("plate",)))
        case _:
            return FoundPlaces({})
    reader = DrawingReader(document)
    found = {path: drawn for path, word in words if (drawn := _drawn(reader, path, word))}
    matched = matched_places(plate, words, document, read, above)
    for path, places in matched.places.items():
        found[path] = (*found.get(path, ()), *places)
    return FoundPlaces(
        found, (*dict.fromkeys(reader.files), *matched.files),
        tuple(dict.fromkeys(reader.remarks)),
        (*dict.fromkeys(reader.faults), *matched.faults))


def _drawn(reader: DrawingReader, path: DataPath, word: Placed) -> tuple[Point, ...]:
    """The middles of circles drawn for a word; a hole's own drawing has circles of its diameter."""
    found: tuple[Point, ...] = ()
    if isinstance(word, PlateHole) and word.drawing is not None:
        said = DrawnPlaces(drawing=word.drawing, layer=word.layer, drawn_in=word.drawn_in)
        try:
            said = said.model_copy(update={"circle": diameter_of(word)})
        except Refused as no:
            reader.refused(no, (*path, "drawing"))
        found = reader.middles(said, path)
    if word.drawn_at is not None:
        found = (*found, *reader.middles(word.drawn_at, (*path, "drawn-at")))
    return found
