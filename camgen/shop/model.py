"""What every model of a file in the workshop has in common, and the measures used in them."""

from dataclasses import dataclass
from typing import Annotated, Final

from pydantic import BaseModel, ConfigDict, Field

__all__ = [
    "IN_FILE_UNITS",
    "Coordinate",
    "Feed",
    "FileModel",
    "FileUnits",
    "Length",
    "LengthOrZero",
    "NotNegative",
    "Positive",
]


@dataclass(frozen=True, slots=True)
class FileUnits:
    """Marks a length, or a feed, that is written in the units of its file.

    Inside the program it is always mm or mm/min; reading a file in inches multiplies by 25.4.
    """


IN_FILE_UNITS: Final = FileUnits()

Positive = Annotated[float, Field(gt=0)]
NotNegative = Annotated[float, Field(ge=0)]
Length = Annotated[float, IN_FILE_UNITS, Field(gt=0)]
LengthOrZero = Annotated[float, IN_FILE_UNITS, Field(ge=0)]
Coordinate = Annotated[float, IN_FILE_UNITS]
Feed = Annotated[float, IN_FILE_UNITS, Field(gt=0)]


def _kebab(name: str) -> str:
    """The word as written in a file: ``flute_length`` is ``flute-length`` there."""
    return name.replace("_", "-")


class FileModel(BaseModel):
    """A frozen model read from a YAML file: words with hyphens, no unknown words, no coercion.

    The modules that hold models do without ``from __future__ import annotations``: evaluating the
    annotations again costs a tenth of the time it takes to load them.
    """

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        alias_generator=_kebab,
        populate_by_name=True,
        allow_inf_nan=False,
    )
