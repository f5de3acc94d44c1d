"""Every feature that a plate's description asks for."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from typing import TYPE_CHECKING

from camgen.faults import Fault, Refused
from camgen.part.features import Feature, NamePath, Opening, PartOutline, Recess, Thickness, Whole
from camgen.part.figures import path_of
from camgen.part.plates.floors import Floor, floors_of, openings_of
from camgen.part.plates.round_features import round_features
from camgen.part.plates.threaded_posts import outside_threads
from camgen.part.tight import LeftCorner, wall_as_left
from camgen.shapes.offset import Area

if TYPE_CHECKING:
    from camgen.part.plates.plate import Plate

__all__ = ["left_faults", "plate_features"]


def plate_features(plate: Plate, material: str) -> Iterator[Feature]:
    """All that a plate of ``material`` has. Raises Refused for what cannot be."""
    yield Whole(_outline(plate), ("plate", "outline"))
    yield Whole(Thickness(plate.thickness), ("plate", "thickness"))
    yield from round_features(plate, material)
    for floor in floors_of(plate):
        yield _recess(plate, floor)
    for name in openings_of(plate):
        yield _opening(plate, name)
    yield from outside_threads(plate)


def left_faults(plate: Plate) -> Iterator[tuple[NamePath, Fault]]:
    """Walls whose corners cannot be left to a file; each fault with its words below ``plate``."""
    made: list[tuple[NamePath, Callable[[], object]]] = [(("outline",), partial(_outline, plate))]
    made += [(("pockets", floor.pocket), partial(_recess, plate, floor))
             for floor in floors_of(plate)]
    made += [(("openings", name), partial(_opening, plate, name)) for name in plate.openings]
    for words, make in made if plate.corners_left else ():
        try:
            make()
        except Refused as no:
            yield from ((words, fault) for fault in no.faults)


def _outline(plate: Plate) -> PartOutline:
    radius = plate.corners_left.get(("outline",))
    path = path_of(plate.outline)
    return PartOutline(path) if radius is None else PartOutline(*wall_as_left(path, radius, True))


def _recess(plate: Plate, floor: Floor) -> Recess:
    word = "pockets" if floor.pocket in plate.pockets else "slots"
    fillet = plate.pockets[floor.pocket].fillet if word == "pockets" else 0.0
    radius = plate.corners_left.get((word, floor.pocket))
    area = floor.area
    corners: tuple[LeftCorner, ...] = ()
    if radius is not None:
        # Over the plate's edge there is no metal that a corner could leave.
        outline = path_of(plate.outline)
        walls = [wall_as_left(path, radius, within=outline) for path in area.paths]
        area = Area(walls[0][0], tuple(path for path, _ in walls[1:]))
        corners = tuple(corner for _, found in walls for corner in found)
    return Recess(floor.name, area, floor.depth, floor.pocket, fillet, floor.face,
                  ("plate", word, floor.pocket), (word,), corners)


def _opening(plate: Plate, name: str) -> Opening:
    word = "openings" if name in plate.openings else "slots"
    face = "upper" if word == "openings" else plate.slots[name].face
    path = openings_of(plate)[name]
    corners: tuple[LeftCorner, ...] = ()
    radius = plate.corners_left.get((word, name))
    if radius is not None:
        path, corners = wall_as_left(path, radius)
    return Opening(name, path, name, face, ("plate", word, name), (word,), corners)
