"""Every feature that a plate's description asks for."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from camgen.part.features import Feature, Opening, PartOutline, Recess, Thickness, Whole
from camgen.part.figures import path_of
from camgen.part.plates.floors import floors_of, openings_of
from camgen.part.plates.round_features import round_features

if TYPE_CHECKING:
    from camgen.part.plates.plate import Plate

__all__ = ["plate_features"]


def plate_features(plate: Plate, material: str) -> Iterator[Feature]:
    """All that a plate of ``material`` has. Raises Refused for what cannot be."""
    yield Whole(PartOutline(path_of(plate.outline)), ("plate", "outline"))
    yield Whole(Thickness(plate.thickness), ("plate", "thickness"))
    yield from round_features(plate, material)
    for floor in floors_of(plate):
        word = "pockets" if floor.pocket in plate.pockets else "slots"
        fillet = plate.pockets[floor.pocket].fillet if word == "pockets" else 0.0
        yield Recess(floor.name, floor.area, floor.depth, floor.pocket, fillet, floor.face,
                     ("plate", word, floor.pocket), (word,))
    for name, path in openings_of(plate).items():
        word = "openings" if name in plate.openings else "slots"
        face = "upper" if word == "openings" else plate.slots[name].face
        yield Opening(name, path, name, face, ("plate", word, name), (word,))
