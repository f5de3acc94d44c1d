"""A setup cut into strokes: what may begin a program of its own, or be called as a subprogram."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from camgen.moves import Arc, Drill, Feed, Index, Move, Rapid, Section, SetupMoves, Station
from camgen.post.repeats import (
    RepeatedBody,
    bodies_at_places,
    bodies_at_stations,
    bodies_between_indexes,
)
from camgen.shop.machine import Machine
from camgen.values import dataclass

__all__ = ["Stroke", "strokes_of"]


@dataclass(frozen=True, slots=True)
class Stroke:
    """Moves of one section from a place clear of the work to the next: parts begin at strokes.

    ``body`` are moves that come after ``moves`` and are written as a subprogram.
    """

    section: Section
    moves: tuple[Move, ...]
    first: bool
    last: bool
    body: RepeatedBody | None = None


def strokes_of(setup: SetupMoves, machine: Machine) -> Iterator[Stroke]:
    """The setup's moves cut where the cutter is clear of the work, with bodies that repeat."""
    for section in setup.sections:
        pieces = _pieces(section.moves, setup, machine)
        for place, (moves, body) in enumerate(pieces):
            yield Stroke(section, moves, place == 0, place == len(pieces) - 1, body)


def _pieces(
    moves: tuple[Move, ...], setup: SetupMoves, machine: Machine
) -> list[tuple[tuple[Move, ...], RepeatedBody | None]]:
    """Pieces of a section's moves that each begin clear of the work."""
    if any(isinstance(move, Station) for move in moves[1:]):
        stations = list(_by_station(moves))
        found = [piece for some in stations for piece in _pieces(some, setup, machine)]
        if machine.subprograms.use and not any(body for _, body in found):
            return bodies_at_stations(stations, machine.program.largest) or found
        return found
    if moves and isinstance(moves[0], Station):
        (first, body), *rest = _pieces(moves[1:], setup, machine)
        return [((moves[0], *first), body), *rest]
    cuts = [0, *_clear_places(moves, setup), len(moves)]
    plain = [moves[start:end] for start, end in pairwise(cuts)]
    if machine.subprograms.use:
        if any(isinstance(move, Index) for move in moves):
            between = bodies_between_indexes(moves)
            if between:
                return between
        elif machine.offsets.shift and setup.retract_axis == "Z":
            # Each piece begins clear: to be told so again moves nothing.
            told = [_without_clearing(piece, setup) for piece in plain]
            bodies = bodies_at_places([piece for piece in told if piece])
            if bodies:
                begin = plain[0][: len(plain[0]) - len(told[0])]
                return [(begin, None), *(((), body) for body in bodies)]
    return [(piece, None) for piece in plain]


def _by_station(moves: tuple[Move, ...]) -> Iterator[tuple[Move, ...]]:
    """A section's moves cut before each that goes to another station."""
    begins = [place for place, move in enumerate(moves) if isinstance(move, Station)]
    for start, end in pairwise(sorted({0, *begins, len(moves)})):
        yield moves[start:end]


def _without_clearing(moves: tuple[Move, ...], setup: SetupMoves) -> tuple[Move, ...]:
    """``moves`` without those at their beginning that only go to the clear position."""
    for place, move in enumerate(moves):
        if not _only_clears(move, setup):
            return moves[place:]
    return ()


def _only_clears(move: Move, setup: SetupMoves) -> bool:
    """Whether a move does nothing but go to the clear position."""
    return (
        isinstance(move, Rapid)
        and (move.x, move.y, move.z).count(None) == 2
        and getattr(move, setup.retract_axis.lower()) == setup.retract_to
    )


def _clear_places(moves: Sequence[Move], setup: SetupMoves) -> list[int]:
    """Places in ``moves`` before which the cutter has just come clear, or the head turns."""
    which = setup.retract_axis.lower()
    clear = True
    places: list[int] = []
    for place, move in enumerate(moves[:-1], start=1):
        came = False
        if isinstance(move, Drill):
            came = clear = which == "z" and move.travel == setup.retract_to
        elif isinstance(move, Rapid | Feed | Arc):
            to = getattr(move, which)
            now = clear if to is None else to == setup.retract_to
            came, clear = now and not clear, now
        if came or (isinstance(moves[place], Index) and not isinstance(move, Index)):
            places.append(place)
    return places
