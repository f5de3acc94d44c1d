"""Names of holes in a plan: beside each, or farther off with a line to it.

A name is what steps, table and records call the hole. Names never lie over one another, nor over
another hole; where there is no room at all for one, the table of the sheet has its place.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from camgen.layout import FlatLayout
from camgen.part.features import Hole
from camgen.preview.paper.board import Board, Box, Panel

__all__ = ["draw_hole_names", "holes_named"]

# How far from a hole's wall a name stands, mm on paper: near, or with a line to it.
NEAR, FAR = 0.6, (3.0, 6.0, 9.0, 13.0)
DIRECTIONS = 16
# Beyond so many holes on a piece only the first and the last of each sort are named.
MOST = 48


def holes_named(layout: FlatLayout) -> tuple[Hole, ...]:
    """The holes of one piece that are named: of those about one middle the one with the shortest
    name, of very many the first and the last of their sort."""
    found: dict[tuple[float, float], Hole] = {}
    for hole in (*layout.part.holes, *layout.part.blind):
        at = round(hole.x, 6), round(hole.y, 6)
        if at not in found or len(hole.name) < len(found[at].name):
            found[at] = hole
    holes = tuple(found.values())
    if len(holes) <= MOST:
        return holes
    ends: dict[str, tuple[Hole, Hole]] = {}
    for hole in holes:
        first, _ = ends.get(hole.group, (hole, hole))
        ends[hole.group] = first, hole
    kept = {one.name for pair in ends.values() for one in pair}
    return tuple(hole for hole in holes if hole.name in kept)


def draw_hole_names(board: Board, panel: Panel, layout: FlatLayout, within: Box) -> int:
    """Name the holes of the first piece in a plan, inside ``within``; how many got their name."""
    if not layout.places or not panel.scale:
        return 0
    x, y = layout.places[0]
    spots = [(*panel.on_board(x + hole.x, y + hole.y), hole.diameter / 2 * panel.scale, hole.name)
             for hole in holes_named(layout)]
    around = [Box(left - radius, low - radius, 2 * radius, 2 * radius)
              for left, low, radius, _ in spots]
    # Those with the least room about them choose first.
    def crowded(number: int) -> tuple[float, float, float]:
        left, low, *_ = spots[number]
        nearest = sorted(math.dist((left, low), one[:2]) for one in spots)
        return sum(nearest[1:4]), left, low

    named = 0
    for number in sorted(range(len(spots)), key=crowded):
        others = [box for place, box in enumerate(around) if place != number]
        named += _one(board, spots[number], others, within)
    return named


def _one(
    board: Board, spot: tuple[float, float, float, str], others: list[Box], within: Box
) -> bool:
    """One name where nothing else stands; false and nothing drawn where there is no such place."""
    x, y, radius, name = spot
    text = board.text(0.0, 0.0, name, up="bottom", halo=True)
    board.taken.pop()
    whole = board.extent(text)
    wide, high = whole.width, whole.height
    for left, low, off in _tries(x, y, radius, wide, high):
        place = Box(left - 0.3, low - 0.1, wide + 0.6, high + 0.2)
        inside = (left >= within.x and low >= within.y and left + wide <= within.x + within.width
                  and low + high <= within.y + within.height)
        if not inside or any(place.overlaps(one) for one in (*board.taken, *others)):
            continue
        text.set_position((left / board.width, low / board.height))
        board.taken.append(place)
        if off > NEAR:
            near = (min(max(x, left), left + wide), min(max(y, low), low + high))
            far = math.dist((x, y), near)
            on = radius / far if far else 0.0
            board.line([(x + (near[0] - x) * on, y + (near[1] - y) * on), near],
                       colour=board.colours.ink, width=0.7, layer=60)
        return True
    text.remove()
    board.texts.remove(text)
    return False


def _tries(
    x: float, y: float, radius: float, wide: float, high: float
) -> Iterator[tuple[float, float, float]]:
    """Left and lower end of a name and how far it is from the hole: nearest first, beside it before
    over and under it."""
    for off in (NEAR, *FAR):
        for number in range(DIRECTIONS):
            # To the right, to the left, and turning from there.
            turn = (number // 2 + 1) // 2 * (1 if number // 2 % 2 else -1)
            angle = turn * 2 * math.pi / DIRECTIONS + (math.pi if number % 2 else 0.0)
            cos, sin = math.cos(angle), math.sin(angle)
            px, py = x + (radius + off) * cos, y + (radius + off) * sin
            yield px - wide / 2 * (1 - cos), py - high / 2 * (1 - sin), off
