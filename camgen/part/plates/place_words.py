"""The words for places: the same for all that a plate has, be it a hole, a pocket or a group.

Places are those of ``at``, then those of ``drawn-at`` and ``places-of``, then round a ``ring``,
along an ``arc`` and in ``rows``; all that are said, one after the other. Lengths mm once read,
angles degrees, anticlockwise.
"""

from typing import TYPE_CHECKING, Annotated, Any

from pydantic import (
    AfterValidator,
    Discriminator,
    Field,
    SerializerFunctionWrapHandler,
    Tag,
    model_serializer,
)

from camgen.shop.model import Coordinate, FileModel, Length, LengthOrZero

__all__ = [
    "ArcOfPlaces", "DrawnPlaces", "HoleName", "Lying", "Place2", "Placed", "Ring", "Rows",
]

# A hole's name, and its number where it is one of several.
HoleName = Annotated[str, Field(pattern="^[a-z0-9][a-z0-9-]*$", max_length=40)]
Place2 = tuple[Coordinate, Coordinate]


def _how_many(value: Any) -> str:
    """Whether a list is one place, or a list of places."""
    several = isinstance(value, tuple | list) and all(isinstance(one, tuple | list)
                                                      for one in value)
    return "several" if several else "one"


def _as_list(value: Any) -> tuple[Place2, ...]:
    return value if _how_many(value) == "several" else (value,)


# One place may be written without the brackets round it; once read it is a list of one.
if TYPE_CHECKING:
    Places = tuple[Place2, ...]
else:
    Places = Annotated[
        Annotated[Place2, Tag("one")]
        | Annotated[tuple[Place2, ...], Field(max_length=500), Tag("several")],
        Discriminator(_how_many), AfterValidator(_as_list)]


class Ring(FileModel):
    """Places evenly round a circle."""

    count: int = Field(ge=1, le=500, description="how many")
    diameter: LengthOrZero = Field(
        description="of the circle through their middles; 0 turns a shape about the middle itself"
    )
    start: float = Field(0.0, ge=-360, le=360, description="angle of the first, degrees")
    at: Place2 = Field((0.0, 0.0), description="middle of that circle")
    upright: bool = Field(
        False, description="true: all lie as the first does, instead of turning on with their place"
    )


class ArcOfPlaces(FileModel):
    """Places evenly along a part of a circle, at both its ends too."""

    count: int = Field(ge=2, le=500, description="how many")
    diameter: Length = Field(description="of the circle through their middles")
    start: float = Field(0.0, ge=-360, le=360, description="angle of the first, degrees")
    over: float = Field(
        gt=-360, lt=360,
        description="from the first to the last, degrees; anticlockwise, clockwise below 0",
    )
    at: Place2 = Field((0.0, 0.0), description="middle of that circle")
    upright: bool = Field(
        False, description="true: all lie as the first does, instead of turning on with their place"
    )


class Rows(FileModel):
    """Places in rows and columns."""

    columns: int = Field(1, ge=1, le=200, description="along X")
    rows: int = Field(1, ge=1, le=200, description="along Y")
    pitch: tuple[Length, Length] = Field(description="from one to the next, along X and Y")
    at: Place2 = Field((0.0, 0.0), description="their middle")


class DrawnPlaces(FileModel):
    """Places taken from a drawing: the middles of its circles."""

    drawing: str = Field(min_length=1, max_length=200,
                         description="DXF or SVG file, from this file's folder")
    layer: str | None = Field(None, max_length=200, description="the layer they are on")
    drawn_in: str | None = Field(None, description="its unit, where it does not say it")
    circle: Length | None = Field(
        None, description="diameter of the circles that count; else all do"
    )


class Placed(FileModel):
    """Where something stands, once or several times."""

    at: Places = Field(
        (), description="its place, [x, y]; or several, one after the other"
    )
    ring: Ring | None = Field(None, description="places round a circle")
    arc: ArcOfPlaces | None = Field(None, description="places along a part of a circle")
    rows: Rows | None = Field(None, description="places in rows")
    drawn_at: DrawnPlaces | None = Field(
        None, description="places from a drawing: the middles of circles"
    )
    places_of: tuple[HoleName, ...] = Field(
        (), max_length=500,
        description="holes, openings, pockets or slots of the plate that this one matches: the "
        "places are theirs",
    )


class Lying(Placed):
    """Something that has a direction too; it stands at 0, 0 where no place is said."""

    turned: float = Field(
        0.0, ge=-360, le=360, description="turned about its own 0, 0, degrees"
    )
    mirrored: bool = Field(
        False, description="true: first seen from its other side, X the other way"
    )

    @model_serializer(mode="wrap")
    def _written(self, write: SerializerFunctionWrapHandler) -> dict[str, Any]:
        """One place as it is mostly written: a job's fingerprint is of that."""
        said: dict[str, Any] = write(self)
        if len(self.at) == 1 and "at" in said:
            said["at"] = said["at"][0]
        return said
