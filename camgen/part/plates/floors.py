"""What is taken out of a plate to a depth: each floor with the area over it.

A pocket with posts lower than the face is a pocket within a pocket: down to a post's top everything
is cleared, below it the post stands. Lengths mm, in the part's frame, depths below the face.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from typing import TYPE_CHECKING

import shapely

from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.part.figures import area_of, lie_of, path_of
from camgen.part.plates.plate_words import Face, Pocket, Post, Slot
from camgen.shapes.figures import arc_slot, slot
from camgen.shapes.offset import Area
from camgen.shapes.path import Path
from camgen.tolerances import AREA_CHORD, TOUCHING_AREA
from camgen.values import dataclass

if TYPE_CHECKING:
    from camgen.part.plates.plate import Plate

__all__ = ["Floor", "floor_faults", "floors_of", "openings_of", "slot_path"]



@dataclass(frozen=True)
class Floor:
    """A floor ``depth`` mm below its ``face``, and the ``area`` over it that is cleared.

    ``pocket`` is the name by which steps speak of it, ``name`` its own: they differ where one
    pocket has floors at several depths.
    """

    name: str
    pocket: str
    area: Area
    depth: float
    face: Face


def slot_path(one: Slot) -> Path:
    """The closed path of a slot, anticlockwise. Raises Refused when its numbers make none.

    >>> round(slot_path(Slot(ends=((0.0, 0.0), (3.0, 0.0)), width=2.0)).area, 4)
    9.1416
    """
    path = (slot(*one.ends, one.width) if one.centre is None
            else arc_slot(*one.ends, one.width, one.centre))
    return lie_of(one).path(path)


def floors_of(plate: Plate) -> Iterator[Floor]:
    """Every floor of the plate's pockets and slots. Raises Refused for one that cannot be."""
    for name, pocket in plate.pockets.items():
        yield from _pocket_floors(plate, name, pocket)
    for name, one in plate.slots.items():
        yield from _slot_floors(plate, name, one)


def openings_of(plate: Plate) -> dict[str, Path]:
    """What goes right through, by name: openings, and slots without a depth."""
    found = {name: path_of(shape) for name, shape in plate.openings.items()}
    found.update(
        {name: slot_path(one) for name, one in plate.slots.items() if one.depth is None}
    )
    return found


def _standing_in(plate: Plate, area: Area, depth: float, face: Face) -> list[tuple[Post, Path]]:
    """The posts that stand in an area cleared to ``depth``, each with its path.

    Raises Refused when one stands across its edge.
    """
    region = area.region(AREA_CHORD)
    found: list[tuple[Post, Path]] = []
    for name, post in plate.posts.items():
        if post.face != face or (post.lowered or 0.0) >= depth - 1e-9:
            continue
        path = path_of(post)
        mine = path.region(AREA_CHORD)
        if shapely.intersection(region, mine).area < TOUCHING_AREA:
            continue
        if not region.contains(mine):
            raise Refused(
                Fault(Message("post {name} stands across the pocket's edge", name=name),
                      Message("move it inside or outside, or draw the pocket's shape round it"))
            )
        found.append((post, path))
    return found


def _with_posts(
    plate: Plate, name: str, area: Area, depth: float, face: Face
) -> Iterator[Floor]:
    """The floors of one pocket, from above: over the tops of lower posts, then its own."""
    posts = _standing_in(plate, area, depth, face)
    tops = sorted({post.lowered or 0.0 for post, _ in posts} - {0.0})
    for level in (*tops, depth):
        islands = [path for post, path in posts if (post.lowered or 0.0) < level - 1e-9]
        own = name if level == depth else f"{name} {level:g}"
        yield Floor(own, name, Area.of(area.outer, (*area.islands, *islands)), level, face)


def floor_faults(plate: Plate) -> Iterator[tuple[tuple[str, ...], Fault]]:
    """What cannot be about pockets, slots and posts; each fault with its words below ``plate``."""
    broken = False
    for word, name, floors in _each(plate):
        if broken and word != "posts" and plate.posts:
            # What stands in them is not known.
            continue
        try:
            floors()
        except Refused as no:
            broken = True
            yield from (((word, name), fault) for fault in no.faults)
    if not broken:
        yield from _beside_the_plate(plate)
        yield from _posts(plate)


def _each(plate: Plate) -> Iterator[tuple[str, str, Callable[[], object]]]:
    """Each pocket, slot and post, with what finds its faults by making it."""
    for name, post in plate.posts.items():
        yield "posts", name, partial(path_of, post)
    for name, one in plate.slots.items():
        yield "slots", name, partial(_slot_floors, plate, name, one)
    for name, pocket in plate.pockets.items():
        yield "pockets", name, partial(_pocket_floors, plate, name, pocket)


def _pocket_floors(plate: Plate, name: str, pocket: Pocket) -> tuple[Floor, ...]:
    return tuple(_with_posts(plate, name, area_of(pocket), pocket.depth, pocket.face))


def _slot_floors(plate: Plate, name: str, one: Slot) -> tuple[Floor, ...]:
    area = Area(slot_path(one))
    if one.depth is None:
        return ()
    return tuple(_with_posts(plate, name, area, one.depth, one.face))


def _beside_the_plate(plate: Plate) -> Iterator[tuple[tuple[str, ...], Fault]]:
    """Pockets that lie outside the outline; over its edge they are open, and may be."""
    outline = path_of(plate.outline).region(AREA_CHORD)
    for floor in floors_of(plate):
        if shapely.intersection(floor.area.region(AREA_CHORD), outline).area < TOUCHING_AREA:
            word = "pockets" if floor.pocket in plate.pockets else "slots"
            yield (word, floor.pocket), Fault(Message("{pocket} lies beside the plate",
                                                      pocket=floor.pocket),
                                              Message("look at its place, or at where the outline "
                                                      "has its 0, 0"))


def _posts(plate: Plate) -> Iterator[tuple[tuple[str, ...], Fault]]:
    """Posts that stand in no pocket, or run into one another."""
    regions = {name: path_of(post).region(AREA_CHORD) for name, post in plate.posts.items()}
    floors = tuple(floors_of(plate)) if plate.posts else ()
    for number, (name, post) in enumerate(plate.posts.items()):
        at = ("posts", name)
        own = [floor for floor in floors if floor.face == post.face
               and floor.depth > (post.lowered or 0.0) + 1e-9]
        if not any(_stands_in(regions[name], floor) for floor in own):
            yield at, Fault(Message("post {name} stands in no pocket", name=name),
                            Message("look at its place, and at how far it is lowered"))
        for other in list(regions)[:number]:
            both = shapely.intersection(regions[name], regions[other])
            if plate.posts[other].face == post.face and both.area > TOUCHING_AREA:
                yield at, Fault(Message("posts {other} and {name} run into one another",
                                        other=other, name=name),
                                Message("draw them as one, or move one of them"))


def _stands_in(post: shapely.Polygon, floor: Floor) -> bool:
    """Whether a post is one of the islands of a floor's area."""
    return any(
        shapely.symmetric_difference(island.region(AREA_CHORD), post).area < TOUCHING_AREA
        for island in floor.area.islands
    )
