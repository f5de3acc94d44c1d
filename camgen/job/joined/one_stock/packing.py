"""Pieces packed on a sheet or a bar, each within the box round its outline as it lies turned.

The rule: the highest box first, boxes side by side in rows, each row as high as its first; a box
goes into the first row that has room for it. Rows along X and along Y are tried, and every kind of
piece as it is drawn and turned by a quarter, where it may be; that is taken which places the most
and then leaves the largest rectangle of the stock whole. It is simple and no optimum: nothing lies
within the hollow of another. Lengths mm.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from typing import Literal

from camgen.values import dataclass

__all__ = ["BoxLies", "PackedSo", "PieceBox", "packed_in_rows"]

# Of more kinds than this that may be turned not every choice is tried: all as they are, all flat,
# all upright.
MOST_KINDS = 6
_SAME = 1e-9


@dataclass(frozen=True)
class PieceBox:
    """What a piece takes along X and Y; ``kind`` says which are alike, ``turns`` whether it may be
    turned by a quarter."""

    wide: float
    high: float
    kind: int = 0
    turns: bool = False


@dataclass(frozen=True)
class BoxLies:
    """Where the lower left corner of a box comes, from that of the stock, and whether turned."""

    x: float
    y: float
    turned: bool = False


@dataclass(frozen=True)
class PackedSo:
    """Where each box lies, None for one without room; ``axis`` is that of the rows, ``free`` length
    and width of the largest rectangle of the stock that stays whole beside them."""

    lies: tuple[BoxLies | None, ...]
    axis: Literal["X", "Y"]
    free: tuple[float, float]

    @property
    def placed(self) -> int:
        """How many boxes have room."""
        return sum(one is not None for one in self.lies)

    @property
    def turned(self) -> int:
        """How many are turned."""
        return sum(one is not None and one.turned for one in self.lies)


def packed_in_rows(
    boxes: Sequence[PieceBox], stock: tuple[float, float], between: float, edge: float
) -> PackedSo:
    """Boxes on a stock (length, width), ``between`` from box to box, ``edge`` round the stock.

    >>> found = packed_in_rows([PieceBox(4, 2), PieceBox(5, 3), PieceBox(3, 2)], (12, 8), 1, 1)
    >>> [(one.x, one.y) for one in found.lies], found.axis
    ([(1, 5), (1, 1), (7, 1)], 'Y')
    >>> packed_in_rows([PieceBox(2, 9, turns=True)], (12, 4), 1, 1).lies
    (BoxLies(x=1, y=1, turned=True),)
    """
    tried = [
        _in_rows(boxes, turned, stock, between, edge, axis, fills)
        for axis in ("X", "Y") for turned in _choices(boxes) for fills in (False, True)]
    return min(tried, key=lambda one: (-one.placed, -round(one.free[0] * one.free[1], 6),
                                       one.turned, one.axis))


def _choices(boxes: Sequence[PieceBox]) -> Iterator[frozenset[int]]:
    """The kinds that are turned, in every choice that is tried."""
    kinds = sorted({one.kind for one in boxes if one.turns and abs(one.wide - one.high) > _SAME})
    if len(kinds) <= MOST_KINDS:
        for count in range(len(kinds) + 1):
            yield from map(frozenset, itertools.combinations(kinds, count))
        return
    yield frozenset()
    flat = frozenset(one.kind for one in boxes if one.kind in kinds and one.high > one.wide)
    yield flat
    yield frozenset(kinds) - flat


def _in_rows(
    boxes: Sequence[PieceBox], kinds: frozenset[int], stock: tuple[float, float], between: float,
    edge: float, axis: Literal["X", "Y"], fills: bool,
) -> PackedSo:
    """One way to pack: ``kinds`` turned, in rows along ``axis``; where a row is too short for a box
    as it lies, ``fills`` turns it by itself."""
    def size(number: int, *, other: bool = False) -> tuple[float, float]:
        one = boxes[number]
        swapped = (one.kind in kinds) != other
        along, across = (one.high, one.wide) if swapped else (one.wide, one.high)
        return (along, across) if axis == "X" else (across, along)

    length, width = stock if axis == "X" else stock[::-1]
    found: list[BoxLies | None] = [None] * len(boxes)
    rows: list[tuple[float, float, float]] = []  # front of each, its height, how far it is filled

    def put(number: int, along: float, across: float, *, other: bool) -> None:
        x, y = (along, across) if axis == "X" else (across, along)
        found[number] = BoxLies(x, y, (boxes[number].kind in kinds) != other)

    def into_row(number: int) -> bool:
        for other in (False, True) if fills and boxes[number].turns else (False,):
            long, high = size(number, other=other)
            for row, (front, height, filled) in enumerate(rows):
                if high <= height + _SAME and filled + long <= length - edge + _SAME:
                    put(number, filled, front, other=other)
                    rows[row] = (front, height, filled + long + between)
                    return True
        return False

    free = edge
    for number in sorted(range(len(boxes)), key=lambda n: (-size(n)[1], -size(n)[0], n)):
        long, high = size(number)
        if into_row(number) or free + high > width - edge + _SAME or \
                edge + long > length - edge + _SAME:
            continue
        put(number, edge, free, other=False)
        rows.append((free, high, edge + long + between))
        free += high + between
    beyond = (length, max(width - free, 0.0))
    beside = (max(length - max((filled for _, _, filled in rows), default=0.0), 0.0), width)
    left = max(beyond, beside, key=lambda one: one[0] * one[1])
    return PackedSo(tuple(found), axis, left if axis == "X" else left[::-1])
