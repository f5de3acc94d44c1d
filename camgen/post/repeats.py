"""Repeats among a section's moves: what is worth a subprogram.

Three kinds are found: the same moves after every turn of the dividing head, the same moves at
several places of one sheet, and the same moves at every station of a fixture. Both are exact: what
is found is the moves themselves, never a pattern thought to be like them.
"""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Sequence
from typing import TypeAlias

from camgen.moves import Arc, Drill, Dwell, Feed, Index, Move, Rapid, Station
from camgen.values import dataclass

__all__ = ["RepeatedBody", "bodies_at_places", "bodies_at_stations", "bodies_between_indexes"]

Cutting: TypeAlias = Rapid | Feed | Arc | Drill | Dwell

# A call with its shifts costs a few blocks: shorter repeats are not worth one.
FEWEST_MOVES = 4
# A move takes about so many bytes; a subprogram may take this share of the memory, for it stands in
# every part of a program that calls it.
BYTES, MEMORY_SHARE = 20, 0.3
# Coordinates nearer than this are one: the shifts of a piece's moves add their last figures, mm.
SAME_DECIMALS = 6


@dataclass(frozen=True, slots=True)
class RepeatedBody:
    """Moves made more than once: in place (``base`` None), or relative to ``base`` (x, y), mm."""

    moves: tuple[Cutting, ...]
    base: tuple[float, float] | None = None


def bodies_between_indexes(
    moves: Sequence[Move],
) -> list[tuple[tuple[Move, ...], RepeatedBody | None]] | None:
    """The moves cut before every turn of the head: what comes first, and the body after it.

    None when nothing repeats. Put together again the pieces are the moves.

    >>> way = (Rapid(y=1.0), Feed(30.0, x=-5.0), Rapid(y=-3.0), Rapid(x=5.0))
    >>> found = bodies_between_indexes((Rapid(y=-3.0), Index(0.0, 1), *way, Index(6.0, 2), *way))
    >>> [(len(first), body is not None) for first, body in found or ()]
    [(1, False), (1, True), (1, True)]
    """
    pieces: list[tuple[list[Move], list[Move]]] = [([], [])]
    for move in moves:
        if isinstance(move, Index):
            if pieces[-1][1] or not pieces[-1][0]:
                pieces.append(([], []))
            pieces[-1][0].append(move)
        else:
            pieces[-1][1].append(move)
    counts = Counter(tuple(rest) for first, rest in pieces if first)
    good = {
        rest for rest, count in counts.items()
        if count > 1 and len(rest) >= FEWEST_MOVES
        and all(isinstance(move, Cutting) for move in rest)
    }
    if not good:
        return None
    done: list[tuple[tuple[Move, ...], RepeatedBody | None]] = []
    for first, rest in pieces:
        if first and tuple(rest) in good:
            body = RepeatedBody(tuple(m for m in rest if isinstance(m, Cutting)))
            done.append((tuple(first), body))
        elif first or rest:
            done.append(((*first, *rest), None))
    return done


def bodies_at_stations(
    groups: Sequence[tuple[Move, ...]], largest: int | None
) -> list[tuple[tuple[Move, ...], RepeatedBody | None]] | None:
    """The same moves at each station as one body; None when they differ or are too many.

    ``groups`` each begin with going to a station; ``largest`` bytes are what the control holds.

    >>> way = (Rapid(z=5.0), Rapid(x=1.0, y=0.0), Feed(9.0, z=-1.0), Rapid(z=5.0))
    >>> found = bodies_at_stations([(Station(1), *way), (Station(2), *way)], None)
    >>> [(first, body is not None) for first, body in found or ()]
    [((Station(number=1),), True), ((Station(number=2),), True)]
    """
    same = groups[0][1:]
    if len(same) < FEWEST_MOVES or not all(isinstance(group[0], Station) for group in groups):
        return None
    if largest is not None and BYTES * len(same) > MEMORY_SHARE * largest:
        return None
    body = RepeatedBody(tuple(move for move in same if isinstance(move, Cutting)))
    if len(body.moves) < len(same) or any(group[1:] != same for group in groups):
        return None
    return [(group[:1], body) for group in groups]


def bodies_at_places(strokes: Sequence[tuple[Move, ...]]) -> list[RepeatedBody] | None:
    """The strokes of a section as one body at several places; None when they are not.

    ``strokes`` are cut where the cutter comes clear. The shortest run of strokes is sought whose
    moves come again at other places until the section ends.

    >>> hole = lambda x: (Rapid(x=x, y=0.0), Rapid(z=0.5), Feed(9.0, z=-1.0), Rapid(z=5.0))
    >>> [body.base for body in bodies_at_places([hole(1.0), hole(4.0)]) or ()]
    [(1.0, 0.0), (4.0, 0.0)]
    """
    count = len(strokes)
    shapes = [_shape(stroke) for stroke in strokes]
    for length in range(1, count // 2 + 1):
        if count % length or any(shapes[at] != shapes[at % length] for at in range(count)):
            continue
        first = _relative(strokes[:length])
        if first is None or len(first.moves) < FEWEST_MOVES:
            continue
        bodies = [first]
        key = _key(first)
        for start in range(length, count, length):
            body = _relative(strokes[start : start + length])
            if body is None or _key(body) != key:
                break
            bodies.append(dataclasses.replace(first, base=body.base))
        else:
            return bodies
    return None


def _shape(stroke: tuple[Move, ...]) -> tuple[object, ...]:
    """What strokes have in common wherever they stand: kinds of moves and heights, quickly told."""
    shape: list[object] = []
    for move in stroke:
        shape.append(type(move))
        if isinstance(move, Rapid | Feed | Arc):
            shape.append(None if move.z is None else round(move.z, SAME_DECIMALS) + 0.0)
    return tuple(shape)


def _relative(strokes: Sequence[tuple[Move, ...]]) -> RepeatedBody | None:
    """A run of strokes relative to the place it begins at; None when it begins at no place."""
    moves = [move for stroke in strokes for move in stroke]
    if not moves or not all(isinstance(move, Cutting) for move in moves):
        return None
    first = moves[0]
    if not isinstance(first, Rapid | Drill) or first.x is None or first.y is None:
        return None
    x, y = first.x, first.y
    done: list[Cutting] = []
    for move in moves:
        if isinstance(move, Arc):
            if move.plane != "XY":
                return None
            done.append(Arc(
                move.feed, (move.centre[0] - x, move.centre[1] - y), move.clockwise,
                _less(move.x, x), _less(move.y, y), move.z, move.plane, move.full))
        elif isinstance(move, Rapid):
            done.append(Rapid(_less(move.x, x), _less(move.y, y), move.z))
        elif isinstance(move, Feed):
            done.append(Feed(move.feed, _less(move.x, x), _less(move.y, y), move.z))
        elif isinstance(move, Drill):
            done.append(dataclasses.replace(move, x=move.x - x, y=move.y - y))
        elif isinstance(move, Dwell):
            done.append(move)
    return RepeatedBody(tuple(done), (x, y))


def _less(value: float | None, base: float) -> float | None:
    return None if value is None else value - base


def _key(body: RepeatedBody) -> tuple[object, ...]:
    """What two bodies have in common when they are one, beside where they stand."""
    key: list[object] = []
    for move in body.moves:
        key.append(type(move))
        for name in move.__match_args__:
            value = getattr(move, name)
            if isinstance(value, tuple):
                key.extend(round(part, SAME_DECIMALS) + 0.0 for part in value)
            else:
                key.append(round(value, SAME_DECIMALS) + 0.0 if isinstance(value, float) else value)
    return tuple(key)
