"""The words for what a plate has: shapes, pockets, slots, holes, jewel holes, and groups of them.

Positions count from the part's own zero, where the outline has its 0, 0. Lengths mm once read,
angles degrees, anticlockwise.
"""

from typing import Annotated, Literal

from pydantic import Field

from camgen.part.plates.place_words import Lying, Place2, Placed
from camgen.shop.model import Coordinate, FileModel, Length, LengthOrZero

__all__ = [
    "Counterbore",
    "EndShake",
    "Face",
    "Group",
    "InsideCorners",
    "JewelHole",
    "Matches",
    "Mouth",
    "PathPiece",
    "PlateHole",
    "PlateName",
    "Pocket",
    "Post",
    "Shape",
    "Slot",
    "Things",
]

PlateName = Annotated[str, Field(pattern="^[a-z0-9][a-z0-9-]*$", max_length=24)]
Face = Literal["upper", "under"]
# What becomes of corners that a cutter does not get into.
InsideCorners = Literal["drawn", "left"]
# What a cone at a hole's mouth is for: the job's word for its width.
Mouth = Literal["countersink", "lead-in", "oil-sink"]


class PathPiece(FileModel):
    """A line, or with ``centre`` an arc, to the next point."""

    to: Place2 = Field(description="where it ends")
    centre: Place2 | None = Field(None, description="of an arc")
    clockwise: bool = Field(False, description="the arc's way round")


class Shape(Lying):
    """A closed shape: one of circle, rectangle, polygon, slot, path or drawing."""

    circle: Length | None = Field(None, description="a circle's diameter")
    rectangle: tuple[Length, Length] | None = Field(None, description="length and width")
    polygon: tuple[Place2, ...] | None = Field(
        None, min_length=3, max_length=500, description="corners in order round it"
    )
    slot: tuple[Place2, Place2] | None = Field(None, description="middles of its two ends")
    path: tuple[PathPiece, ...] | None = Field(
        None, min_length=2, max_length=2000,
        description="lines and arcs in order; begins where the last one ends",
    )
    drawing: str | None = Field(
        None, min_length=1, max_length=200,
        description="DXF or SVG file with the shape, from this file's folder",
    )
    layer: str | None = Field(None, max_length=200, description="drawings: the layer it is on")
    drawn_in: str | None = Field(
        None, description="drawings: their unit, where they do not say it"
    )
    width: Length | None = Field(None, description="slots: width")
    corner: LengthOrZero = Field(
        0.0, description="corner radius; of paths and drawings at their corners, arcs drawn stay"
    )
    inside_corners: InsideCorners | None = Field(
        None, description="drawn: as they are drawn, or the cutter is refused; left: as the cutter "
        "leaves them, to be filed. As the plate says if left out"
    )


class Pocket(Shape):
    """Something cleared to a depth, with islands left standing."""

    face: Face = Field("upper", description="the face it is cut from")
    depth: Length = Field(description="below the face it is cut from")
    fillet: LengthOrZero = Field(
        0.0, description="radius that a cutter's corner may leave between walls and floor"
    )
    islands: tuple[Shape, ...] = Field(
        (), max_length=50, description="left standing in it, from the pocket's own 0, 0"
    )


class Post(Shape):
    """Something left standing in every pocket that it stands in."""

    face: Face = Field("upper", description="the face whose pockets it stands in")
    lowered: Length | None = Field(
        None, description="how far its top lies below that face; level with it if left out"
    )
    thread: str | None = Field(
        None, description="thread outside on a round one, such as M4x0.5, left-hand M4x0.5-LH; its "
        "circle is then the diameter over the thread"
    )
    thread_length: Length | None = Field(
        None, description="length of full thread from its top; all that its height allows if left "
        "out"
    )


class Slot(Lying):
    """A slot with round ends: right through, cut by cut-out; or to a depth, cut by pocket."""

    ends: tuple[Place2, Place2] = Field(description="middles of its two ends")
    width: Length = Field(description="its width")
    centre: Place2 | None = Field(
        None,
        description="where it runs round a centre: that; anticlockwise from the first end to the "
        "second",
    )
    face: Face = Field("upper", description="the face it is cut from")
    depth: Length | None = Field(
        None, description="below the face it is cut from; right through when left out"
    )


class Counterbore(FileModel):
    """A wider hole with a flat floor at the mouth of another."""

    diameter: Length = Field(description="its diameter")
    depth: Length = Field(description="below the face that its hole is on")


class PlateHole(Placed):
    """Round holes of one kind, at one place or several."""

    diameter: Length | None = Field(
        None, description="finished diameter; left out where a thread says it"
    )
    drawing: str | None = Field(
        None, min_length=1, max_length=200,
        description="DXF or SVG file: places are the middles of its circles of this diameter",
    )
    layer: str | None = Field(None, max_length=200, description="drawings: the layer they are on")
    drawn_in: str | None = Field(
        None, description="drawings: their unit, where they do not say it"
    )
    fit: str | None = Field(
        None, max_length=4,
        description="a class of ISO 286, such as H7, for the limits of the diameter",
    )
    face: Face = Field(
        "upper", description="the face that its depth, cone and counterbore are on"
    )
    depth: Length | None = Field(None, description="below its face; through when left out")
    countersink: Length | None = Field(
        None, description="width of a cone at its face, for a screw's head or as an oil sink"
    )
    counterbore: Counterbore | None = Field(
        None, description="a wider hole at its mouth, called name-counterbore in steps"
    )
    thread: str | None = Field(
        None, description="thread in it, such as S0.8 or M1.6; diameter is then the hole for it"
    )


class EndShake(FileModel):
    """What the depth of a jewel's seat is reckoned from, or its end-shake where depth is said."""

    jewel: Length = Field(description="thickness of the jewel")
    arbor: Length = Field(description="length of the arbor from shoulder to shoulder")
    between: Length = Field(description="from the inner face of this plate to that of the other")
    other: Coordinate = Field(
        0.0, description="how far the other jewel's face lies below its plate's inner face; "
        "negative where it stands out",
    )
    wanted: Length | None = Field(
        None, description="end-shake wanted; else what is usual for the arbor"
    )
    arbor_of: Literal["train", "centre", "escape", "pallet", "balance"] = Field(
        "train", description="which arbor, for what is usual"
    )
    pressed_from: Literal["inside", "outside"] = Field(
        "inside",
        description="the face the seat is cut into. inside: the one towards the arbor",
    )

    @property
    def from_inside(self) -> bool:
        """Whether the seat is cut into the face towards the arbor."""
        return self.pressed_from == "inside"


class JewelHole(Placed):
    """Holes for jewels of one size: the seat that a jewel is pressed into."""

    face: Face = Field("upper", description="the face that the jewel is pressed in from")
    diameter: Length = Field(description="outside diameter of the jewel")
    under: LengthOrZero | None = Field(
        None, description="how far the hole is under the jewel; else as the material has it"
    )
    fit: str | None = Field(
        None, max_length=4, description="a class of ISO 286 instead, such as P7"
    )
    depth: Length | None = Field(
        None, description="depth of the seat, which sets end-shake; through when left out"
    )
    end_shake: EndShake | None = Field(
        None, description="what the seat's depth is reckoned from, instead of depth"
    )
    through: Length | None = Field(
        None, description="diameter of the hole on below the seat, called name-through in steps"
    )
    lead_in: Length | None = Field(
        None, description="width of a cone at the mouth that leads the jewel in"
    )
    oil_sink: Length | None = Field(
        None, description="width of a cone on the other face, at the mouth of the hole below"
    )


class Matches(FileModel):
    """Another job's plate, and how this one lies on it: holes then meet because they are the same.
    """

    job: str = Field(
        min_length=1, max_length=200, description="the other job file, from this one's folder"
    )
    zero: Place2 = Field(
        (0.0, 0.0), description="where this part's 0, 0 lies, as the other job counts"
    )
    turned: float = Field(
        0.0, ge=-360, le=360,
        description="how far this part's X lies turned from the other's, degrees",
    )
    mirrored: bool = Field(
        False, description="true where this part is seen from its other face: X runs the other way"
    )


class Things(FileModel):
    """What a plate has, by names of your own, and what lies together in it."""

    holes: dict[PlateName, PlateHole] = Field({}, description="holes, by names of your own")
    jewels: dict[PlateName, JewelHole] = Field({}, description="jewel holes, by name")
    openings: dict[PlateName, Shape] = Field({}, description="openings right through, by name")
    pockets: dict[PlateName, Pocket] = Field({}, description="pockets to a depth, by name")
    slots: dict[PlateName, Slot] = Field(
        {}, description="slots, by name: one right through counts among the openings, one to a "
        "depth among the pockets"
    )
    posts: dict[PlateName, Post] = Field(
        {}, description="posts left standing in the pockets, by name"
    )
    groups: "dict[PlateName, Group]" = Field(
        {}, description="things that lie together, by name: moved and turned as one"
    )


class Group(Things, Lying):
    """Things that lie together: moved, turned, mirrored and repeated as one.

    Their places count from the group's own 0, 0.
    """


# A group may lie in a group: the word is known now.
Things.model_rebuild()
