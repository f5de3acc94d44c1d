"""Things that stand several times in a plate, or lie together in groups, written out.

``windows: {circle: 3, ring: {count: 4, diameter: 12}}`` becomes windows-1 to windows-4, each as if
it had been written in the job file; what lies in a group comes to lie where the group lies, once
for each of its places. A step may speak of all of them by the name they share, or by the group's.
Lengths mm, angles degrees.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import field
from typing import Any, TypeVar

from camgen.faults import Fault
from camgen.job.joined.places import FoundPlaces, placed_words, things_of_holder
from camgen.job.models import Job
from camgen.messages import Message
from camgen.part.called import NamesGiven, thing_called
from camgen.part.plates.lies import AS_DRAWN, Lie, lies_of
from camgen.part.plates.place_words import Lying, Placed
from camgen.part.plates.plate import Plate
from camgen.part.plates.plate_words import Group, PlateHole, Pocket, Slot
from camgen.part.plates.round_features import round_names
from camgen.shapes.path import Point
from camgen.values import dataclass
from camgen.yamlfile import DataPath, Document

__all__ = [
    "FromPatterns", "repeated", "shared_names", "turned_plate", "with_patterns",
    "with_whole_names",
]

_Lying = TypeVar("_Lying", bound=Lying)
# Places and angles are kept to a billionth: no last bit of a sum in them.
_PLACES = 9
# So many places of one thing are a slip, or a trap.
_MOST = 5000
# What of a step's words names which things of a plate; a slot is one or the other by its depth.
_NAMED_BY = {"holes": "holes", "jewels": "holes", "openings": "openings", "pockets": "pockets",
             "posts": "posts"}
# Words with which a thing that stands in one place only cannot be.
_SEVERAL = ("ring", "arc", "rows", "drawn_at", "places_of")
_WRITTEN_OUT: dict[str, Any] = {"ring": None, "arc": None, "rows": None, "drawn_at": None,
                                "places_of": ()}


@dataclass(frozen=True)
class FromPatterns:
    """A job with every pattern and group of its plate written out, and what is wrong with them.

    ``document`` knows where each was written by the name it has now. ``members`` are the names of
    what lies in each group, by what names such things in steps and by the group's name.
    """

    job: Job
    document: Document
    members: Mapping[str, Mapping[str, tuple[str, ...]]] = field(default_factory=dict)
    faults: tuple[Fault, ...] = ()


def repeated(
    shape: _Lying, within: Sequence[Lie] = (AS_DRAWN,), found: Sequence[Point] = ()
) -> tuple[_Lying, ...]:
    """A shape at every one of its places; alone where it has one.

    ``within`` is how the group that it is in lies; ``found`` are places taken from elsewhere. Round
    a circle each is turned on with its place, so that all look alike from the middle.

    >>> from camgen.part.plates.plate_words import Shape
    >>> four = repeated(Shape(circle=1.0, ring={"count": 4, "diameter": 10.0}))
    >>> [one.at[0] for one in four][:2], [one.turned for one in four]
    ([(5.0, 0.0), (0.0, 5.0)], [0.0, 90.0, 180.0, 270.0])
    """
    made = []
    for lie in (outer.carrying(inner) for outer in within for inner in lies_of(shape, found)):
        place = _rounded(lie)
        made.append(shape.model_copy(update={
            **_WRITTEN_OUT, "at": () if place == (0.0, 0.0) else (place,),
            "turned": round(lie.turned, _PLACES) + 0.0, "mirrored": lie.mirrored}))
    return tuple(made)


def _rounded(lie: Lie) -> tuple[float, float]:
    """A place without the last bit of a sum; adding zero turns -0.0 into 0.0."""
    return round(lie.x, _PLACES) + 0.0, round(lie.y, _PLACES) + 0.0


def with_patterns(job: Job, document: Document, found: FoundPlaces) -> FromPatterns:
    """The job with all patterns and groups of its plate written out."""
    match job.given:
        case (Plate() as plate,):
            faults = tuple(_faults(plate, document))
            if faults:
                return FromPatterns(job, document, faults=faults)
            writer = _Writer(document, found.places)
            writer.things(plate, ("plate",), (AS_DRAWN,), ())
            return writer.written_out(job, plate)
        case _:
            return FromPatterns(job, document)


def turned_plate(plate: Plate, degrees: float, document: Document) -> Plate:
    """A plate, its places all known, turned about its 0, 0 with all that it has.

    >>> from camgen.yamlfile import load_yaml
    >>> from camgen.part.plates.plate_words import Shape
    >>> bar = Plate(thickness=1.0, outline=Shape(rectangle=(8.0, 2.0), at=((1.0, 0.0),)))
    >>> turned = turned_plate(bar, 90.0, load_yaml("a: 1", "a.yaml")).outline
    >>> turned.at, turned.turned
    (((0.0, 1.0),), 90.0)
    """
    lie = Lie(turned=degrees)
    writer = _Writer(document, {})
    writer.things(plate, ("plate",), (lie,), ())
    outline, = repeated(plate.outline, (lie,))
    made: dict[str, Any] = {word: writer.made.get(word, {}) for word, _ in things_of_holder(plate)}
    return plate.model_copy(update={**made, "outline": outline})


def _faults(plate: Plate, document: Document) -> Iterator[Fault]:
    """Words for places that cannot be meant."""
    outline = plate.outline
    for several in _SEVERAL:
        if getattr(outline, several):
            yield Fault(Message("a plate has one outline"),
                        Message("several pieces of one stock: repeat: in the setup"),
                        document.place(("plate", "outline", several.replace("_", "-")), key=True))
    if len(outline.at) > 1:
        yield Fault(Message("a plate has one outline"),
                    Message("several pieces of one stock: repeat: in the setup"),
                    document.place(("plate", "outline", "at"), key=True))
    for path, word in placed_words(plate, ("plate",)):
        round_hole = not isinstance(word, Lying)
        if round_hole and ((word.ring is not None and word.ring.upright)
                           or (word.arc is not None and word.arc.upright)):
            said = "ring" if word.ring is not None and word.ring.upright else "arc"
            yield Fault(Message("a round hole looks the same however it is turned"),
                        Message("leave upright out"), document.place((*path, said, "upright"),
                                                                     key=True))
        yield from _bare_place(path, word, document)
        ring = word.ring
        if ring is not None and ring.diameter == 0 and ring.count > 1 and (
                round_hole or ring.upright):
            yield Fault(Message("{name} would stand {count} times at one place", name=path[-1],
                                count=ring.count), Message("give the circle its diameter"),
                        document.place((*path, "ring", "diameter")))
        if isinstance(word, Group) and not any(
                things for _, things in things_of_holder(word)) and not word.groups:
            yield Fault(Message("nothing lies in the group {name}", name=path[-1]),
                        Message("add holes:, pockets: or what else lies together in it"),
                        document.place(path, key=True))


def _bare_place(path: DataPath, word: Placed, document: Document) -> Iterator[Fault]:
    """One place beside a ring: its middle may be meant by it."""
    beside = [name for name in ("ring", "arc", "rows") if getattr(word, name) is not None]
    written = document.get((*path, "at"))
    if beside and written and not isinstance(written[0], tuple):
        yield Fault(Message("at: beside {one}: may mean the middle of it, or one place more",
                            one=beside[0]),
                    Message("the middle is said within {one}; one place more is written "
                            "at: [[x, y]]", one=beside[0]),
                    document.place((*path, "at"), key=True))


@dataclass(frozen=True)
class _Writer:
    """Writes a plate's things out, place by place; ``found`` are places taken from elsewhere."""

    document: Document
    found: Mapping[DataPath, tuple[Point, ...]]
    made: dict[str, dict[str, Placed]] = field(default_factory=dict)
    bearers: dict[tuple[str, str], NamesGiven] = field(default_factory=dict)
    members: dict[str, dict[str, list[str]]] = field(default_factory=dict)
    stand: dict[DataPath, DataPath] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)

    def written_out(self, job: Job, plate: Plate) -> FromPatterns:
        """The job with the plate as written out."""
        update: dict[str, Any] = {word: self.made.get(word, {})
                                  for word, _ in things_of_holder(plate)}
        written = plate.model_copy(update={**update, "groups": {}, "matches": None})
        return FromPatterns(
            job.with_part(written), self.document.standing_also(self.stand),
            {sort: {group: tuple(dict.fromkeys(names)) for group, names in groups.items()}
             for sort, groups in self.members.items()}, tuple(self.faults))

    def things(self, holder: Plate | Group, at: DataPath, lies: tuple[Lie, ...],
               groups: tuple[str, ...]) -> None:
        """All that a plate or a group has, which lies so; ``groups`` are those it is in."""
        for word, things in things_of_holder(holder):
            for name, thing in things.items():
                path = (*at, word, name)
                numbered = (self._lying(path, thing, lies) if isinstance(thing, Lying)
                            else self._hole(path, thing, lies))
                sort = _sort(word, thing)
                own = self._add(word, sort, name, path, numbered)
                self._belongs(sort, name, own, groups, len(lies))
        for name, group in holder.groups.items():
            path = (*at, "groups", name)
            within = tuple(outer.carrying(inner) for outer in lies
                           for inner in lies_of(group, self.found.get(path, ())))
            if not self._too_many(path, len(within)):
                self._bear("groups", name, NamesGiven(
                    thing_called("groups", name), name, (), path))
                self.things(group, path, within, (*groups, name))

    def _too_many(self, path: DataPath, count: int) -> bool:
        if count <= _MOST:
            return False
        self.faults.append(Fault(Message("{name} would stand at {count} places, and {most} is the "
                                         "most", name=path[-1], count=count, most=_MOST),
                                 Message("look at the counts of the groups that it lies in"),
                                 self.document.place(path, key=True)))
        return True

    def _lying(self, path: DataPath, thing: Lying, lies: tuple[Lie, ...]) -> tuple[Placed, ...]:
        found = self.found.get(path, ())
        if self._too_many(path, len(lies) * len(lies_of(thing, found))):
            return ()
        if isinstance(thing, Pocket):
            thing = thing.model_copy(update={"islands": tuple(
                one for number, island in enumerate(thing.islands)
                for one in repeated(island, found=self.found.get((*path, "islands", number), ())))})
        return repeated(thing, lies, found)

    def _hole(self, path: DataPath, hole: Placed, lies: tuple[Lie, ...]) -> tuple[Placed, ...]:
        """A hole with its places; one that lies in no group keeps its own words for them."""
        found = self.found.get(path, ())
        update: dict[str, Any] = {"drawn_at": None, "places_of": ()}
        if isinstance(hole, PlateHole):
            update |= {"drawing": None, "layer": None, "drawn_in": None}
        if lies == (AS_DRAWN,):
            places = (*hole.at, *((place.x, place.y) for place in found))
        else:
            own = lies_of(hole, found)
            if self._too_many(path, len(lies) * len(own)):
                return ()
            update |= _WRITTEN_OUT
            places = tuple(_rounded(outer.carrying(inner)) for outer in lies for inner in own)
        return (hole.model_copy(update={**update, "at": places}),)

    def _add(self, word: str, sort: str, name: str, path: DataPath,
             numbered: tuple[Placed, ...]) -> tuple[str, ...]:
        """Keeps a thing under its names, and gives those; of a hole those of its places."""
        many = len(numbered)
        names = (name,) if many == 1 else tuple(f"{name}-{n}" for n in range(1, many + 1))
        bearer = NamesGiven(thing_called(word, name), name, names, path)
        for own, thing in zip(names, numbered, strict=True):
            self.stand[("plate", word, own)] = path
            self._bear(word, own, bearer)
            self.made.setdefault(word, {})[own] = thing
        if many == 1 and not isinstance(numbered[0], Lying):
            count = len(lies_of(numbered[0]))
            return (name,) if count == 1 else tuple(f"{name}-{n}" for n in range(1, count + 1))
        return names

    def _bear(self, word: str, name: str, bearer: NamesGiven) -> None:
        """Two things under one word that go by one name."""
        first = self.bearers.setdefault((word, name), bearer)
        if first.at != bearer.at:
            self.faults.append(_both_called(first, bearer, name, self.document))

    def _belongs(self, sort: str, name: str, own: tuple[str, ...], groups: tuple[str, ...],
                 places: int) -> None:
        """Names of what lies in groups: all together, and at each place of the innermost."""
        for group in groups:
            self.members.setdefault(sort, {}).setdefault(group, []).append(name)
        if groups and places > 1:
            each = len(own) // places
            for number in range(places):
                self.members[sort].setdefault(f"{groups[-1]}-{number + 1}", []).extend(
                    own[number * each:(number + 1) * each])


def _sort(word: str, thing: Placed) -> str:
    """What names such a thing in steps."""
    if isinstance(thing, Slot):
        return "openings" if thing.depth is None else "pockets"
    return _NAMED_BY[word]


def _both_called(first: NamesGiven, second: NamesGiven, name: str, document: Document) -> Fault:
    return Fault(Message("{first} and {second} are both called {name}", first=first.who(name),
                         second=second.who(name), name=name),
                 Message("the first stands in line {line}: rename one of them. Places of one thing "
                         "are numbered -1, -2 and on, and what belongs to a hole is called after "
                         "it, -counterbore or -through",
                         line=document.place(first.at, key=True).line),
                 document.place(second.at, key=True))


def shared_names(job: Job, document: Document) -> Iterator[Fault]:
    """Names that two of a plate's words give: one of the two things would never be made.

    The places must be known, those from drawings and other plates too.
    """
    match job.given:
        case (Plate() as plate,):
            pass
        case _:
            return
    yield from _twice(tuple(round_names(plate)), document)
    deep = [name for name, slot in plate.slots.items() if slot.depth is not None]
    for word, names, slots in (
            ("openings", plate.openings, [one for one in plate.slots if one not in deep]),
            ("pockets", plate.pockets, deep)):
        yield from _twice(
            [*(_alone(word, name) for name in names), *(_alone("slots", name) for name in slots)],
            document)


def _alone(word: str, name: str) -> NamesGiven:
    return NamesGiven(thing_called(word, name), name, (name,), ("plate", word, name))


def _twice(found: Iterable[NamesGiven], document: Document) -> Iterator[Fault]:
    bearers: dict[str, NamesGiven] = {}
    told: set[tuple[DataPath, DataPath]] = set()
    for second in found:
        for name in dict.fromkeys((second.group, *second.own)):
            first = bearers.setdefault(name, second)
            if first is second or (first.at, second.at) in told:
                continue
            told.add((first.at, second.at))
            yield _both_called(first, second, name, document)


def with_whole_names(job: Job, members: Mapping[str, Mapping[str, tuple[str, ...]]]) -> Job:
    """The job whose steps name each of several shapes alike where they said the shared name, and
    all ``members`` of a group where they said the group's."""
    match job.given:
        case (Plate() as plate,):
            return _named_alike(job, plate, members)
        case _:
            return job


def _named_alike(
    job: Job, plate: Plate, members: Mapping[str, Mapping[str, tuple[str, ...]]]
) -> Job:
    # A hole's steps know the name that its places share.
    known = {"holes": (), "openings": (*plate.openings, *plate.slots),
             "pockets": (*plate.pockets, *plate.slots)}

    def whole(sort: str, asked: tuple[str, ...]) -> tuple[str, ...]:
        grouped = members.get(sort, {})
        return tuple(dict.fromkeys(
            own for one in asked for each in grouped.get(one, (one,))
            for own in _own_names(each, known[sort])))

    everything = {group: name for groups in members.values() for group, name in groups.items()}
    return job.model_copy(update={
        "made_elsewhere": tuple(dict.fromkeys(
            own for one in job.made_elsewhere for own in everything.get(one, (one,)))),
        "setups": tuple(
            setup.model_copy(update={"steps": tuple(
                step.with_names(whole) for step in setup.steps)})
            for setup in job.setups)})


def _own_names(asked: str, names: Iterable[str]) -> tuple[str, ...]:
    """
    >>> _own_names("window", ("window-1", "window-2", "window-frame"))
    ('window-1', 'window-2')
    """
    if asked in names:
        return (asked,)
    alike = re.compile(re.escape(asked) + r"-\d+")
    return tuple(name for name in names if alike.fullmatch(name)) or (asked,)
