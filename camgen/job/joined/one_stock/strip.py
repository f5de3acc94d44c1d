"""A stock of several parts turned over as one: its dowels, and the words for its second side.

The dowels stand in holes of the stock outside the parts. They are drilled with the first side, and
read as a job of their own: a plate as large as the stock with these holes, so that all that is
known of holes is asked of them too. Lengths mm.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Literal

from pydantic import Field

from camgen.faults import Fault, Place
from camgen.job.file import JobFile
from camgen.job.models import FlatSetup, FrameZero, Holding
from camgen.messages import Message
from camgen.part.declaration import LeavesTabs, MakesOutline
from camgen.shapes.mirror import MirrorAxis, mirrored
from camgen.shapes.path import Point
from camgen.shop.model import Coordinate, FileModel, Length
from camgen.values import dataclass
from camgen.yamlfile import DataPath, Document
from camgen.yamlfile.length_units import MM_PER_INCH

__all__ = ["FRAME", "SecondSide", "StripDowels", "StripTurned", "frame_document", "loose_faults",
           "two_sides_of"]

# What the holes in the stock's frame are called, and the job that makes them.
FRAME = "dowels"


class StripDowels(FileModel):
    """Holes of the stock, outside its parts, in which dowels stand once it is turned over."""

    at: tuple[tuple[Coordinate, Coordinate], ...] = Field(
        min_length=2, max_length=4,
        description="X and Y of each, from the first side's zero; on the second side the first is "
        "the zero, and the second gives the direction",
    )
    diameter: Length = Field(description="diameter of the holes")
    steps: tuple[Any, ...] = Field(
        min_length=1, max_length=12,
        description="how they are made, with cutters of this file: a list of steps, as in a job")


class SecondSide(FileModel):
    """The stock turned over, all its parts with it, and laid on its dowels."""

    turned_over: Literal["about X", "about Y"] = Field(
        description="the axis that it is turned over about")
    z: Literal["top", "carrier"] = Field(
        "top", description="zero of Z: the face that then looks up, or the carrier")
    holding: Holding | None = Field(
        None, description="how it is held then; else as for the first side")

    @property
    def axis(self) -> MirrorAxis:
        """The axis it is turned over about."""
        return "X" if self.turned_over == "about X" else "Y"

    @property
    def zero(self) -> FrameZero:
        """Where Z is zero; X and Y are on a dowel."""
        return FrameZero(z=self.z)


@dataclass(frozen=True)
class StripTurned:
    """How places of the first side are found on the second: ``zero``, the first dowel's on the
    first side, and the axis that the stock is turned over about."""

    zero: Point
    axis: MirrorAxis

    def place(self, x: float, y: float) -> tuple[float, float]:
        """Where a place of the first side lies on the second.

        >>> StripTurned(Point(1.0, 2.0), "X").place(4.0, 3.0)
        (3.0, -1.0)
        """
        there = mirrored(Point(x - self.zero.x, y - self.zero.y), self.axis)
        return round(there.x, 9), round(there.y, 9)


def frame_document(
    document: Document, dowels: StripDowels, material: str, thickness: float,
    size: tuple[float, float] | float, corner: tuple[float, float],
) -> Document:
    """The job that makes the dowels' holes, its words where the file of the stock says them.

    ``size`` is length and width of the stock, or its diameter; ``corner`` its least X and Y.
    """
    data = document.data
    unit = MM_PER_INCH if data.get("units") == "inch" else 1.0
    x, y = corner[0] / unit, corner[1] / unit
    if isinstance(size, tuple):
        long, wide = size[0] / unit, size[1] / unit
        outline: dict[str, Any] = {"path": tuple({"to": to} for to in (
            (x, y), (x + long, y), (x + long, y + wide), (x, y + wide)))}
    else:
        across = size / unit
        outline = {"circle": across, "at": (x + across / 2, y + across / 2)}
    setup = {word: data[word] for word in ("stock", "zero", "holding", "safe-height", "clearance")
             if word in data}
    made = {
        "job": FRAME, "units": data.get("units", "mm"), "material": material,
        "plate": {"thickness": thickness / unit, "outline": outline, "holes": {
            FRAME: {word: data["dowels"].get(word) for word in ("diameter", "at")}}},
        "made-elsewhere": ("outline",),
        "cutters": data.get("cutters") or {},
        "setups": ({**setup, "name": FRAME, "pieces-at": ((0.0, 0.0),),
                    "steps": data["dowels"].get("steps")},),
    }
    stand: list[tuple[DataPath, DataPath]] = [
        (("dowels",), ("plate", "holes", FRAME)), (("dowels",), ("setups", 0)),
        (("dowels",), ("plate",)), (("cutters",), ("cutters",)),
        (("stock", "thickness"), ("plate", "thickness")),
        *(((word,), ("setups", 0, word)) for word in setup)]
    keys, values, spellings, files = {}, {}, {}, {}
    for path, place in document.values.items():
        for old, new in stand:
            if path[:len(old)] == old:
                there = (*new, *path[len(old):])
                values[there], files[there] = place, document.file_of(path)
                if path in document.keys:
                    keys[there] = document.keys[path]
                if path in document.spellings:
                    spellings[there] = document.spellings[path]
    return Document(document.file, made, keys, values, spellings, files)


def loose_faults(part: JobFile, called: str, last: int, place: Place) -> Iterator[Fault]:
    """What would come loose before the stock's last side, which is number ``last``, is done."""
    for number, setup in enumerate(part.job.flat):
        if number >= last:
            return
        for step in setup.steps:
            says = step.declares()
            if says.makes_a(MakesOutline) and not isinstance(says.held_by, LeavesTabs):
                yield Fault(
                    Message("{kind} cuts {job} out before the stock is turned over, without tabs",
                            kind=step.kind, job=called),
                    Message("add tabs: {typed} to it, or cut out in the second setup",
                            typed="{count: …, width: …, height: …}"), place)


def two_sides_of(part: JobFile) -> tuple[FlatSetup, FlatSetup] | None:
    """The two setups of a plate worked on one face after the other; None of any other job."""
    job = part.job
    if len(job.setups) != 2 or len(job.flat) != 2:
        return None
    first, second = job.flat
    return (first, second) if first.face != second.face else None

