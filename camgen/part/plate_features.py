"""Every feature that a plate's description asks for."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from camgen.part.features import Cone, Feature, Hole, Opening, Outline, Recess, Thickness, Thread
from camgen.part.figures import path_of
from camgen.part.floors import floors_of, openings_of
from camgen.part.plate_words import Mouth
from camgen.part.rounds import Round, rounds_of

if TYPE_CHECKING:
    from camgen.part.plate import Plate

__all__ = ["plate_features"]

# The words of ``made-elsewhere`` for what stands at a hole's mouth or in it.
CONES: dict[Mouth, str] = {
    "countersink": "countersinks", "lead-in": "lead-ins", "oil-sink": "oil-sinks",
}


def plate_features(plate: Plate, material: str) -> Iterator[Feature]:
    """All that a plate of ``material`` has. Raises Refused for what cannot be."""
    yield Outline(path_of(plate.outline), ("plate", "outline"))
    yield Thickness(plate.thickness, ("plate", "thickness"))
    for one in rounds_of(plate, material):
        yield from _at_one_hole(one)
    for floor in floors_of(plate):
        word = "pockets" if floor.pocket in plate.pockets else "slots"
        fillet = plate.pockets[floor.pocket].fillet if word == "pockets" else 0.0
        yield Recess(floor.name, floor.area, floor.depth, floor.pocket, fillet, floor.face,
                     ("plate", word, floor.pocket), (word,))
    for name, path in openings_of(plate).items():
        word = "openings" if name in plate.openings else "slots"
        face = "upper" if word == "openings" else plate.slots[name].face
        yield Opening(name, path, name, face, ("plate", word, name), (word,))


def _at_one_hole(one: Round) -> Iterator[Feature]:
    """A hole, the cone at its mouth and the thread in it."""
    at = ("plate", *one.at)
    word = one.at[0]
    hole = Hole(one.name, one.place, one.diameter, one.group, one.depth, one.limits, one.face, at,
                (word,))
    yield hole
    if one.countersink and one.mouth is not None:
        yield Cone(hole, one.mouth, one.countersink, one.face, at=(*at, one.mouth),
                   elsewhere=(word, CONES[one.mouth]))
    if one.thread is not None:
        yield Thread(hole, one.thread.diameter, one.thread.pitch, (*at, "thread"),
                     (word, "threads"))
