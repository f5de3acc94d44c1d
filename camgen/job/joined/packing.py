"""Pieces packed on a sheet or a bar, each within the box round its outline as it lies turned.

The rule: the highest box first, boxes side by side from the left in rows from the front, each row
as high as its first; a box goes into the first row that has room for it. It is simple and no
optimum: boxes are not turned, and nothing lies within the hollow of another. Lengths mm.
"""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["packed_in_rows"]


def packed_in_rows(
    boxes: Sequence[tuple[float, float]], stock: tuple[float, float], between: float, edge: float
) -> tuple[tuple[float, float] | None, ...]:
    """Where the lower left corner of each box (width, height) comes, from that of the stock.

    ``between`` is left from box to box, ``edge`` round the stock. None for a box without room.

    >>> packed_in_rows([(4.0, 2.0), (5.0, 3.0), (3.0, 2.0)], (12.0, 8.0), 1.0, 1.0)
    ((7.0, 1.0), (1.0, 1.0), (1.0, 5.0))
    """
    length, width = stock
    found: list[tuple[float, float] | None] = [None] * len(boxes)
    rows: list[tuple[float, float, float]] = []  # front of each, its height, how far it is filled
    free = edge
    order = sorted(range(len(boxes)), key=lambda n: (-boxes[n][1], -boxes[n][0], n))
    for number in order:
        wide, high = boxes[number]
        for row, (front, height, filled) in enumerate(rows):
            if high <= height + 1e-9 and filled + wide <= length - edge + 1e-9:
                found[number] = (filled, front)
                rows[row] = (front, height, filled + wide + between)
                break
        else:
            if free + high <= width - edge + 1e-9 and edge + wide <= length - edge + 1e-9:
                found[number] = (edge, free)
                rows.append((free, high, edge + wide + between))
                free += high + between
    return tuple(found)
