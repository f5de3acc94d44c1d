"""Places of holes taken from another job's plate, so that two plates cannot differ.

A bridge is bored where its plate is. ``plate: {matches: {job: train-plate.yaml, …}}`` names the
other job and says how this part lies on it; a hole with ``places-of: [pillars]`` has the places of
the other's pillars, reckoned from this part's own zero. What follows sees places as if they had
been written in the job file; so a fingerprint of the job changes when the other's holes move.
"""

from __future__ import annotations

import dataclasses
import math
import re
from collections.abc import Callable, Iterable
from pathlib import Path

from camgen.faults import Fault, Refused, did_you_mean
from camgen.job.file import JobFile
from camgen.messages import Message
from camgen.part.figures import lie_of
from camgen.part.plates.place_words import Placed
from camgen.part.plates.plate import Plate
from camgen.part.plates.plate_words import Matches
from camgen.part.plates.round_features import round_holes_of
from camgen.plainfile import plain_bytes
from camgen.shapes.path import Point
from camgen.yamlfile import DataPath, Document, read_yaml

__all__ = ["FromOther", "matched_places", "other_plate_file", "seen_from"]

# Places are kept to a nanometre: a turn must not leave the last bit of a sum in them.
_PLACES = 9


@dataclasses.dataclass(frozen=True)
class FromOther:
    """Places taken from another job, by the words that take them; the files read, and faults."""

    places: dict[DataPath, tuple[Point, ...]]
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


def matched_places(
    plate: Plate, words: Iterable[tuple[DataPath, Placed]], document: Document,
    read: Callable[[Path], JobFile], above: Iterable[Path] = (),
) -> FromOther:
    """All places that a plate's ``words`` take from another's, by the path of each.

    ``read`` reads the other job; ``above`` are the jobs that are waiting for this one's places.
    """
    asking = [(path, word.places_of) for path, word in words if word.places_of]
    matches = plate.matches
    if matches is None:
        return FromOther({}, faults=tuple(
            Fault(Message("{name} takes the places of another plate's holes, and none is named",
                          name=path[-1]),
                  Message("add to the plate matches: {typed}", typed="{job: …}"),
                  document.place((*path, "places-of"), key=True))
            for path, _ in asking))
    at: DataPath = ("plate", "matches", "job")
    other = Path(document.file_of(at)).parent / matches.job
    try:
        places = _places(other, matches, read, [Path(document.file), *above])
    except Refused as no:
        place = document.place(at)
        return FromOther({}, faults=tuple(
            fault if fault.place.file else dataclasses.replace(fault, place=place)
            for fault in no.faults))
    faults: list[Fault] = []
    found: dict[DataPath, tuple[Point, ...]] = {}
    for path, names in asking:
        for number, wanted in enumerate(names):
            there = places.of(wanted)
            found[path] = (*found.get(path, ()), *there)
            if not there:
                faults.append(Fault(Message("{job} has no hole called {wanted}", job=matches.job,
                                            wanted=wanted),
                                    did_you_mean(
                                        wanted, places.named,
                                        Message("its holes: {holes}",
                                                holes=tuple(places.named) or Message("none"))),
                                    document.place((*path, "places-of", number))))
    return FromOther({} if faults else found, places.files, tuple(faults))


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
    """Places by name, of holes alone and with their like, and of shapes, as this part counts."""

    named: dict[str, tuple[Point, ...]]
    files: tuple[Path, ...]

    def of(self, wanted: str) -> tuple[Point, ...]:
        """The places that go by a name, or of several shapes alike by the name that they share."""
        if wanted in self.named:
            return self.named[wanted]
        alike = re.compile(re.escape(wanted) + r"-\d+")
        return tuple(place for name, places in self.named.items() if alike.fullmatch(name)
                     for place in places)


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
    for shapes in (plate.openings, plate.pockets, plate.slots, plate.posts):
        for name, shape in shapes.items():
            lie = lie_of(shape)
            named.setdefault(name, (seen_from(matches, Point(lie.x, lie.y)),))
    return _Places(named, (other, *found.sources))


def _same(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except OSError:
        return one == other
