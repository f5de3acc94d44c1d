"""Arcs as the control takes them: whole, in pieces, or in chords."""

from __future__ import annotations

from dataclasses import replace
from math import atan2, cos, floor, hypot, pi, sin
from typing import Final

from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.moves import Arc, Feed
from camgen.post.arcs import ArcBlock, ArcLimits, arc_pieces
from camgen.post.pen.bent_way import bent_way
from camgen.post.pen.pace import counts_between
from camgen.post.pen.position import Position
from camgen.post.pen.spelling import PlaneSpelling
from camgen.values import dataclass

__all__ = ["write_arc"]

# Arcs no longer than this may be cut short by rounding, so that no quadrant shows, mm.
_TOO_SHORT: Final = 0.02


@dataclass(frozen=True, slots=True)
class _Turn:
    """What all pieces of one arc have in common: its plane, its sense on the control's grid, its
    feed mm/min."""

    plane: PlaneSpelling
    clockwise: bool
    feed: float


def write_arc(position: Position, move: Arc) -> None:
    """Write one arc or helix from where the machine stands.

    Raises ValueError where it is not known where that is.
    """
    if position.lost:
        position.find()
    spelling = position.blocks.spelling
    arcs = spelling.machine.arcs
    plane = spelling.planes[move.plane]
    first, second, normal = plane.first, plane.second, plane.normal
    meant, at = position.meant, position.at
    goal = [move.x, move.y, move.z]
    for axis in (0, 1, 2):
        if goal[axis] is None:
            goal[axis] = meant[axis]
    start_a, start_b, here_a, here_b = meant[first], meant[second], at[first], at[second]
    goal_a, goal_b = goal[first], goal[second]
    if (start_a is None or start_b is None or here_a is None or here_b is None
            or goal_a is None or goal_b is None):
        raise ValueError("an arc must start from a known place")
    if spelling.sent.bends(first, second):
        _write_bent(position, move, goal)
        return
    scale_a, scale_b = spelling.scales[first], spelling.scales[second]
    end = (spelling.counts(first, goal_a), spelling.counts(second, goal_b))
    rise_from, rise_to = at[normal], None
    rise_mm = goal[normal]
    if rise_mm is not None and rise_from is not None:
        rise_to = spelling.counts(normal, rise_mm)
    helix = rise_from != rise_to and rise_to is not None
    clockwise = move.clockwise == (spelling.signs[first] == spelling.signs[second])
    turn = _Turn(plane, clockwise, move.feed)
    pieces = arc_pieces(
        (here_a, here_b), end, (start_a * scale_a, start_b * scale_b),
        (goal_a * scale_a, goal_b * scale_b),
        (move.centre[0] * scale_a, move.centre[1] * scale_b), clockwise, move.full,
        spelling.limits, plane.called not in spelling.arc_planes or (helix and not arcs.helices),
    )
    if not pieces and (helix or end != (here_a, here_b)):
        pieces = [ArcBlock(*end, 1.0, None)]
    _say_pieces(position, turn, pieces, (rise_from, rise_to) if helix else None)
    position.meant = goal


def _write_bent(position: Position, move: Arc, goal: list[float | None]) -> None:
    """Write an arc that is none as the slides are told it: in arcs or lines that come near."""
    spelling = position.blocks.spelling
    arcs, plane = spelling.machine.arcs, spelling.planes[move.plane]
    way = bent_way(position, move, goal)
    if abs(way.turn) * way.radius < 1e-6:
        position.feed(Feed(move.feed, *goal))
        return
    helix = way.rise(0.0) != way.rise(1.0)
    radius = way.radius * abs(spelling.scales[plane.first])
    lines = (spelling.sent.leaves(move.plane) or plane.called not in spelling.arc_planes
             or arcs.style == "none" or (helix and not arcs.helices)
             or not spelling.limits.smallest_radius <= radius <= spelling.limits.largest_radius)
    if lines:
        for share in way.chords(spelling.limits.chord_error * spelling.count_mm):
            x, y, z = way.place(share)
            position.feed(Feed(move.feed, x, y, z))
        position.feed(Feed(move.feed, *goal))
        position.meant = goal
        return
    at = position.at
    clockwise = move.clockwise == (spelling.signs[plane.first] == spelling.signs[plane.second])
    turn = _Turn(plane, clockwise, move.feed)
    limits = spelling.limits
    if arcs.style != "radius" and not limits.quadrants and arcs.largest_sweep > 190.0:
        # Half a circle as it is told turns a little more or less.
        limits = replace(limits, longest_sweep=1.02 * limits.longest_sweep)
    # As told, a quarter seldom ends quite at an axis.
    limits = replace(limits, shortest=1.5 * limits.grid)
    for begin, end in way.stretches(0.0003 / spelling.count_mm):
        here_a, here_b = at[plane.first], at[plane.second]
        if here_a is None or here_b is None:
            raise ValueError("an arc must start from a known place")
        ends = way.counts(end)
        rise_from = at[plane.normal]
        pieces = arc_pieces((here_a, here_b), ends, way.told(begin), way.told(end),
                            way.centre(begin, end), clockwise, False, limits)
        rise_to = way.rise(end)
        if not pieces and (ends != (here_a, here_b) or rise_to != rise_from):
            pieces = [ArcBlock(*ends, 1.0, None)]
        rises = rise_to is not None and rise_to != rise_from
        _say_pieces(position, turn, pieces, (rise_from, rise_to) if rises else None)
    position.meant = goal


def _say_pieces(
    position: Position, turn: _Turn, pieces: list[ArcBlock],
    rise: tuple[int | None, int | None] | None,
) -> None:
    """The blocks of an arc; ``rise`` from and to, counts, where it climbs."""
    spelling, at = position.blocks.spelling, position.at
    first, second, normal = turn.plane.first, turn.plane.second, turn.plane.normal
    rise_from, rise_to = rise or (None, None)
    axis_words = spelling.axis_words
    here_a, here_b = at[first], at[second]
    if spelling.machine.arcs.unsigned and here_a is not None and here_b is not None:
        pieces = _in_quadrants(pieces, (here_a, here_b), turn.clockwise, spelling.limits)
    for piece in pieces:
        before = (*at,)
        at[first], at[second] = piece.a, piece.b
        words = []
        if rise_from is not None and rise_to is not None:
            grid = spelling.grids[normal]
            now = rise_from + round((rise_to - rise_from) * piece.share / grid) * grid
            if now != at[normal]:
                at[normal] = now
                words.append((normal, axis_words[normal][now]))
        if piece.a != here_a:
            words.append((first, axis_words[first][piece.a]))
        if piece.b != here_b:
            words.append((second, axis_words[second][piece.b]))
        if len(words) > 1:
            words.sort()
        texts = [text for _, text in words]
        if piece.centre is not None and here_a is not None and here_b is not None and (
                _signs_are_clear(position, turn, piece, (here_a, here_b))):
            feed = position.paced(turn.feed, _along(piece, (here_a, here_b), before[normal],
                                                    at[normal]))
            own = turn if feed == turn.feed else replace(turn, feed=feed)
            _say_piece(position, own, texts, piece, (here_a, here_b))
        elif texts:
            position.say_fed(texts, position.paced(turn.feed, counts_between(before, at)))
        here_a, here_b = piece.a, piece.b


def _in_quadrants(
    pieces: list[ArcBlock], start: tuple[int, int], clockwise: bool, limits: ArcLimits
) -> list[ArcBlock]:
    """The same arcs, each parted where it crosses an axis direction of its own centre.

    Rounding moves the centre of a short arc, so that one planned within a quadrant may leave it.
    Where the grid has no place for the end of a part it stays as it was.
    """
    grid = limits.grid
    found: list[ArcBlock] = []
    here, done = start, 0.0
    for piece in pieces:
        if piece.centre is not None:
            a, b = piece.centre
            begin = atan2(here[1] - b, here[0] - a)
            side = -1.0 if clockwise else 1.0
            sweep = (side * (atan2(piece.b - b, piece.a - a) - begin)) % (2 * pi)
            # From the axis direction passed first, by quarters.
            first = floor(side * begin / (pi / 2)) + 1
            for quarter in range(first, first + 5):
                way = quarter * pi / 2 - side * begin
                if way >= sweep:
                    break
                at = (a + round(piece.radius * cos(quarter * pi / 2) / grid) * grid,
                      b + round(side * piece.radius * sin(quarter * pi / 2) / grid) * grid)
                # What is no longer than rounding is no part of its own.
                out = hypot(at[0] - a, at[1] - b)
                if min(way, sweep - way) * piece.radius > 1.5 * grid and limits.radii_agree > max(
                        abs(out - hypot(x - a, y - b)) for x, y in (here, (piece.a, piece.b))):
                    found.append(ArcBlock(*at, done + way / sweep * (piece.share - done),
                                          piece.centre, piece.radius))
        found.append(piece)
        here, done = (piece.a, piece.b), piece.share
    return found


def _along(
    piece: ArcBlock, start: tuple[int, int], low: int | None, high: int | None
) -> float:
    """The way along an arc of at most half a circle, or a helix, counts.

    By the lesser radius of its two ends, which rounding parts on small arcs.
    """
    assert piece.centre is not None
    from_a, from_b = start[0] - piece.centre[0], start[1] - piece.centre[1]
    to_a, to_b = piece.a - piece.centre[0], piece.b - piece.centre[1]
    sweep = atan2(abs(from_a * to_b - from_b * to_a), from_a * to_a + from_b * to_b)
    flat = min(hypot(from_a, from_b), hypot(to_a, to_b)) * sweep
    return hypot(flat, 0.0 if low is None or high is None else high - low)


def _signs_are_clear(
    position: Position, turn: _Turn, piece: ArcBlock, start: tuple[int, int]
) -> bool:
    """Whether a centre without its sign can be found again by the quadrant; true where it has one.

    What rounding leaves too short to tell is written straight. Raises Refused for an arc that is
    longer.
    """
    arcs = position.blocks.spelling.machine.arcs
    if not arcs.unsigned or piece.centre is None:
        return True
    along, up = piece.a - start[0], piece.b - start[1]
    to_centre = (piece.centre[0] - start[0], piece.centre[1] - start[1])
    side = 1 if turn.clockwise else -1
    wanted = (side * up, -side * along)
    # A last place on the wrong side is the rounding's, and is left out where the arc still closes.
    off_a, off_b = (_by_sign(off, way) for off, way in zip(to_centre, wanted, strict=True))
    closes = abs(hypot(off_a, off_b) - hypot(along - off_a, up - off_b)) <= (
        position.blocks.spelling.limits.radii_agree)
    if closes and off_a * wanted[0] >= 0 and off_b * wanted[1] >= 0 and (
            (off_a == 0 or wanted[0] != 0) and (off_b == 0 or wanted[1] != 0)):
        return True
    count = position.blocks.spelling.count_mm
    if max(abs(along), abs(up)) * count > _TOO_SHORT and (
            (along * along + up * up) * count > 8.0 * piece.radius * arcs.tolerance):
        raise Refused(Fault(
            Message("an arc of {length:.3f} mm goes beyond one quadrant",
                    length=max(abs(along), abs(up)) * count),
            Message("write arcs.unsigned: false in the machine file if the control takes signs")))
    return False


def _by_sign(off: int, way: int) -> int:
    """How far a centre lies off, counts; nothing where a last place lies on the other side."""
    return 0 if abs(off) <= 1 and off * way <= 0 else off


def _say_piece(
    position: Position, turn: _Turn, words: list[str], piece: ArcBlock, start: tuple[int, int]
) -> None:
    """One block of an arc."""
    blocks = position.blocks
    spelling = blocks.spelling
    style = spelling.machine.arcs.style
    position.repeat_axes(words)
    blocks.cancel_cycle()
    if piece.centre is not None and style != "radius":
        base = start if style == "incremental" else (0, 0)
        off = [piece.centre[0] - base[0], piece.centre[1] - base[1]]
        if spelling.machine.arcs.unsigned:
            side = 1 if turn.clockwise else -1
            ways = (side * (piece.b - start[1]), -side * (piece.a - start[0]))
            off = [abs(_by_sign(one, way)) for one, way in zip(off, ways, strict=True)]
        words += sorted((spelling.centre_words[turn.plane.first][off[0]],
                         spelling.centre_words[turn.plane.second][off[1]]))
    else:
        words.append("R" + spelling.length_text(round(piece.radius)))
    blocks.say_motion("G2" if turn.clockwise != turn.plane.mirrored else "G3", words)
    blocks.say_plane(turn.plane.word, words)
    blocks.say_feed(turn.feed, words)
    blocks.block(*words)
