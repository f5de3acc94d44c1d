"""What every model of a file in the workshop has in common, and the measures used in them."""

import os
from typing import Annotated, Final, Self, cast

from pydantic import BaseModel, ConfigDict, Field

from camgen.faults import NOWHERE, Place
from camgen.yamlfile import DataPath, Document
from camgen.yamlfile.length_units import IN_FILE_UNITS

__all__ = [
    "FASTEST",
    "LONGEST",
    "Coordinate",
    "FeedRate",
    "FileModel",
    "Length",
    "LengthOrZero",
    "Module",
    "NotNegative",
    "Positive",
    "Speed",
    "WrittenIn",
]

# Job files mean the same whatever else is installed, and nobody waits for a search for plug-ins.
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")

# Upper bounds far beyond any workshop, so that a slip of the point is named and no reckoning is
# ever done with it: mm, mm/min and rev/min.
LONGEST: Final = 10_000.0
FASTEST: Final = 1_000_000.0

Positive = Annotated[float, Field(gt=0)]
NotNegative = Annotated[float, Field(ge=0)]
Length = Annotated[float, IN_FILE_UNITS, Field(gt=0, le=LONGEST)]
LengthOrZero = Annotated[float, IN_FILE_UNITS, Field(ge=0, le=LONGEST)]
Coordinate = Annotated[float, IN_FILE_UNITS, Field(ge=-LONGEST, le=LONGEST)]
FeedRate = Annotated[float, IN_FILE_UNITS, Field(gt=0, le=FASTEST)]
Module = Annotated[float, Field(gt=0, le=50)]
Speed = Annotated[float, Field(gt=0, le=FASTEST)]


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
        # What checks a model is built when a file is first read with it, not when it is loaded.
        defer_build=True,
    )

    @classmethod
    def usual(cls) -> Self:
        """The model of a file that says nothing: its defaults, which need no checking."""
        return cast(Self, cls.model_construct())


class WrittenIn:
    """The file that a model was read from, or none.

    It is no part of what the file says: of two models that say the same each is the other, wherever
    they were read.
    """

    __slots__ = ("document",)

    def __init__(self, document: Document | None = None) -> None:
        self.document = document

    def __eq__(self, other: object) -> bool:
        return isinstance(other, WrittenIn)

    def __hash__(self) -> int:
        return 0

    def place(self, path: DataPath) -> Place:
        """Where the value at ``path`` stands, or should; nowhere for what no file says."""
        return NOWHERE if self.document is None else self.document.place(path)

    def says(self, path: DataPath) -> bool:
        """Whether the file has a word at ``path``."""
        return self.document is not None and path in self.document.keys
