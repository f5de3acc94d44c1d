"""Places of holes taken from another job's plate, so that two plates cannot differ.

A bridge is bored where its plate is. ``plate: {matches: {job: train-plate.yaml, …}}`` names the
other job and says how this part lies on it; a hole with ``places-of: [pillars]`` has the places of
the other's pillars, reckoned from this part's own zero. What follows sees places as if they had
been written in the job file; so a fingerprint of the job changes when the other's holes move.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TypeVar

from camgen.faults import Fault, Refused, did_you_mean
from camgen.job.file import JobFile
from camgen.job.models import Job
from camgen.messages import Message
from camgen.part.plates.plate import Plate
from camgen.part.plates.plate_words import JewelHole, Matches, PlateHole
from camgen.part.plates.round_features import round_holes_of
from camgen.plainfile import plain_bytes
from camgen.shapes.path import Point
from camgen.yamlfile import DataPath, Document, read_yaml

__all__ = ["FromOther", "other_plate_file", "seen_from", "with_matches"]

_Hole = TypeVar("_Hole", PlateHole, JewelHole)
# Places are kept to a nanometre: a turn must not leave the last bit of a sum in them.
_PLACES = 9


@dataclasses.dataclass(frozen=True)
class FromOther:
    """A job with the places it takes from another: the files read for them, and faults."""

    job: Job
    files: tuple[Path, ...] = ()
    faults: tuple[Fault, ...] = ()


def seen_from(matches: Matches, place: Point) -> Point:
    """A place of the other plate in this part's own coordinates, mm.

    From this part's zero, turned back by what it lies turned; then X the other way where it is seen
    from its other face.

    >>> seen_from(Matches(job="plate.yaml", zero=(10.0, 0.0), turned=90.0), Point(10.0, 3.0))
    Point(x=3.0, y=0.0)
    >>> seen_from(Matches(job="plate.yaml", mirrored=True), Point(2.0, 1.0))
    Point(x=-2.0, y=1.0)
    """
    dx, dy = place.x - matches.zero[0], place.y - matches.zero[1]
    angle = math.radians(matches.turned)
    x = dx * math.cos(angle) + dy * math.sin(angle)
    y = dy * math.cos(angle) - dx * math.sin(angle)
    # Adding zero turns -0.0 into 0.0.
    return Point(round(-x if matches.mirrored else x, _PLACES) + 0.0, round(y, _PLACES) + 0.0)


def with_matches(
    job: Job, document: Document, read: Callable[[Path], JobFile], above: Iterable[Path] = ()
) -> FromOther:
    """The job with all places that its plate takes from another's.

    ``read`` reads the other job; ``above`` are the jobs that are waiting for this one's places.
    """
    match job.given:
        case (Plate() as plate,):
            return _matched(job, plate, document, read, above)
        case _:
            return FromOther(job)


def _matched(
    job: Job, plate: Plate, document: Document, read: Callable[[Path], JobFile],
    above: Iterable[Path],
) -> FromOther:
    asking = [("holes", name) for name, hole in plate.holes.items() if hole.places_of]
    asking += [("jewels", name) for name, jewel in plate.jewels.items() if jewel.places_of]
    matches = plate.matches
    if matches is None:
        return FromOther(job, faults=tuple(
            Fault(Message("{name} takes the places of another plate's holes, and none is named",
                          name=name),
                  Message("add to the plate matches: {typed}", typed="{job: …}"),
                  document.place(("plate", group, name, "places-of"), key=True))
            for group, name in asking))
    at: DataPath = ("plate", "matches", "job")
    other = Path(document.file_of(at)).parent / matches.job
    try:
        places = _places(other, matches, read, [Path(document.file), *above])
    except Refused as no:
        place = document.place(at)
        return FromOther(job, faults=tuple(
            fault if fault.place.file else dataclasses.replace(fault, place=place)
            for fault in no.faults))
    faults: list[Fault] = []
    for group, name in asking:
        hole = plate.holes[name] if group == "holes" else plate.jewels[name]
        for number, wanted in enumerate(hole.places_of):
            if wanted not in places.named:
                faults.append(Fault(Message("{job} has no hole called {wanted}", job=matches.job,
                                            wanted=wanted),
                                    did_you_mean(
                                        wanted, places.named,
                                        Message("its holes: {holes}",
                                                holes=tuple(places.named) or Message("none"))),
                                    document.place(("plate", group, name, "places-of", number))))
    if faults:
        return FromOther(job, places.files, tuple(faults))
    made = plate.model_copy(update={
        "matches": None,
        "holes": {name: _placed(hole, places) for name, hole in plate.holes.items()},
        "jewels": {name: _placed(jewel, places) for name, jewel in plate.jewels.items()},
    })
    return FromOther(job.with_part(made), places.files)


def other_plate_file(path: Path) -> Path | None:
    """The job whose holes the job file at ``path`` itself says it matches, as far as can be seen.
    """
    try:
        if b"matches:" not in plain_bytes(path):
            return None
        data = read_yaml(path).data
    except Refused:
        return None
    for word in ("plate", "matches", "job"):
        data = data.get(word) if isinstance(data, dict) else None
    return path.parent / data if isinstance(data, str) else None


@dataclasses.dataclass(frozen=True)
class _Places:
    """Places by name, of holes alone and with their like, in this part's coordinates."""

    named: dict[str, tuple[Point, ...]]
    files: tuple[Path, ...]


def _places(
    other: Path, matches: Matches, read: Callable[[Path], JobFile], above: Iterable[Path]
) -> _Places:
    """Raises Refused when the other job cannot be read, has no plate, or stands on this one."""
    if any(_same(other, one) for one in above):
        raise Refused(Fault(Message("{job} takes places of holes from this job in its turn",
                                    job=matches.job),
                            Message("one of the two must say its places itself")))
    found = read(other)
    plate = found.job.part
    if not isinstance(plate, Plate):
        raise Refused(Fault(Message("{job} describes no plate", job=matches.job),
                            Message("name the job of the plate that this one lies on")))
    named: dict[str, tuple[Point, ...]] = {}
    for hole in round_holes_of(plate, found.job.material):
        place = seen_from(matches, hole.place)
        for name in dict.fromkeys((hole.group, hole.name)):
            named[name] = (*named.get(name, ()), place)
    return _Places(named, (other, *found.sources))


def _same(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except OSError:
        return one == other


def _placed(hole: _Hole, places: _Places) -> _Hole:
    """A hole with the places it takes, behind those it says itself."""
    if not hole.places_of:
        return hole
    found: tuple[tuple[float, float], ...] = tuple(
        (place.x, place.y) for name in hole.places_of for place in places.named[name])
    return hole.model_copy(update={"at": (*hole.at, *found), "places_of": ()})
