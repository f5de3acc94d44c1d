"""What the sheet says of each kind of piece on a stock with parts of several jobs."""

from __future__ import annotations

from camgen.sheet.corners import corners_left
from camgen.sheet.data import PieceSheet
from camgen.sheet.holes import hole_table
from camgen.sheet.markup import Markup, element
from camgen.words import Words

__all__ = ["piece_on_stock"]


def piece_on_stock(piece: PieceSheet, say: Words) -> Markup:
    """Where the pieces of one kind lie, their holes and their corners."""
    return element(
        "div", element("h3", piece.name),
        element("ul", *(element("li", line) for line in piece.lines), class_="note"),
        hole_table(piece.holes, say) if piece.holes.steps else None,
        corners_left(piece.corners, say) if piece.corners else None, class_="piece")
