"""The words of a file that puts parts of several jobs on one stock. Lengths mm."""

from __future__ import annotations

from typing import Any

from pydantic import Field

from camgen.job.joined.one_stock.strip import SecondSide, StripDowels, StripTurned
from camgen.job.models import Holding, Metal, Name, Stock, Zero
from camgen.part.plates.place_words import Lying
from camgen.shapes.path import Point
from camgen.shop.model import FileModel, Length, LengthOrZero

__all__ = ["OneStock", "corner_of", "turned_of"]


class Piece(Lying):
    """A part of another job, and where it lies, once or several times."""

    job: str = Field(min_length=1, max_length=200,
                     description="the part's job file, from this one's folder")
    name: Name | None = Field(None, description="what it is called here; else as its file")
    count: int = Field(1, ge=1, le=200, description="how many, where they are packed")
    keeps_grain: bool = Field(
        False, description="true: packed as it lies and not turned by 90 degrees, for the grain of "
        "rolled metal")


class Packed(FileModel):
    """Pieces without places of their own: packed on the stock, in rows."""

    between: Length = Field(
        description="left from piece to piece: the cutter's width at least, and what it leaves for "
        "a last pass"
    )
    edge: LengthOrZero = Field(1.0, description="left free round the stock")


class OneStock(FileModel):
    """Parts of several jobs made from one stock, in one setup, or on both its sides."""

    job: str = Field(min_length=1, max_length=60, description="name of the job")
    note: str = Field("", max_length=500, description="a remark for the sheet")
    units: str = Field("mm", pattern="^(mm|inch)$", description="units of all lengths in this file")
    post: str = Field("plain-iso", min_length=1, description="name of the machine file")
    language: str = Field("en", pattern="^(en|de|fr)$", description="of the sheet")
    pieces: tuple[Piece, ...] = Field(
        min_length=1, max_length=60, description="the parts, from their own jobs, and their places"
    )
    stock: Stock = Field(description="what is put on the machine")
    packed: Packed | None = Field(
        None, description="gives the pieces their places, in rows; they then say none"
    )
    zero: Zero = Field(Zero.usual(), description="where the program's zero lies on the stock")
    holding: Holding | None = Field(None, description="how the work is held")
    metal: Metal | None = Field(
        None, description="for the account of metal: what comes back, price; else as in the jobs")
    dowels: StripDowels | None = Field(
        None, description="holes of the stock for dowels, on which it lies once turned over")
    second_side: SecondSide | None = Field(
        None, description="the stock turned over as one, for parts worked on both faces")
    cutters: dict[Name, Any] = Field(
        {}, max_length=20, description="the cutters of the dowels' steps, as in a job")
    safe_height: Length = Field(5.0, description="height of travel above the stock")
    clearance: Length = Field(0.5, description="rapid moves end this far from metal")


def turned_of(words: OneStock) -> StripTurned | None:
    """How the stock is turned over; None where it is not."""
    if words.dowels is None or words.second_side is None:
        return None
    return StripTurned(Point(*words.dowels.at[0]), words.second_side.axis)


def corner_of(words: OneStock) -> tuple[float, float]:
    """The least X and Y of the stock, from the program's zero."""
    stock = words.stock
    size = stock.rectangle or (stock.disc or 0.0, stock.disc or 0.0)
    bar = stock.bar is not None and "x" not in words.zero.model_fields_set
    left = {"centre": -size[0] / 2, "left": 0.0, "right": -size[0]}[
        "left" if bar else words.zero.x]
    return left, {"centre": -size[1] / 2, "front": 0.0, "back": -size[1]}[words.zero.y]
