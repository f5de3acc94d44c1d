"""From the words of turned work (along, out from the axis, across) to the machine's X, Y and Z.

A cutter whose axis lies along the infeed stands over the work with its end towards it: ``out`` is
how far its end is from the work's axis. ``across`` counts from over the middle of the work. mm.
"""

from __future__ import annotations

from camgen.layout import RoundLayout
from camgen.moves import Axis, Feed, Index, Move, Rapid
from camgen.steps.head.beginning import taken_up
from camgen.steps.kind import RoundBench
from camgen.values import dataclass

__all__ = ["RoundFrame", "at_each_place"]


@dataclass(frozen=True)
class RoundFrame:
    """Program coordinates for places of a cutter's end."""

    layout: RoundLayout

    @property
    def along_axis(self) -> Axis:
        """The letter of the axis along the work."""
        return self.layout.arrangement.along[1]  # type: ignore[return-value]

    @property
    def infeed_axis(self) -> Axis:
        """The letter of the axis that goes into the metal."""
        return self.layout.arrangement.infeed[1]  # type: ignore[return-value]

    @property
    def safe_out(self) -> float:
        """How far out a cutter's end is clear of everything in the head, mm."""
        layout = self.layout
        highest = max(body.radius for body in layout.bodies)
        return max(layout.thickest + layout.safe_height, highest + layout.clearance)

    @property
    def clear_out(self) -> float:
        """How far out it is just clear of the work as turned, mm."""
        return self.layout.clearance + max(body.radius for body in self.layout.work)

    def infeed(self, out: float) -> float:
        """The infeed coordinate with the cutter's end so far ``out``: from the touch, or the axis.
        """
        sign = -1.0 if self.layout.arrangement.infeed[0] == "-" else 1.0
        from_zero = self.layout.thickest if self.layout.zero == "touch" else 0.0
        return sign * (from_zero - out)

    def out(self, out: float) -> Rapid:
        """A rapid move along the infeed alone."""
        return Rapid(**{self.infeed_axis.lower(): self.infeed(out)})

    def into(self, feed: float, out: float) -> Feed:
        """A fed move along the infeed alone."""
        return Feed(feed, **{self.infeed_axis.lower(): self.infeed(out)})

    def along(self, place: float) -> Rapid:
        """A rapid move along the work alone."""
        sign = -1.0 if self.layout.arrangement.along[0] == "-" else 1.0
        return Rapid(**{self.along_axis.lower(): sign * place})

    def across(self, place: float) -> Rapid:
        """A rapid move across the work alone."""
        return Rapid(**{self.layout.arrangement.across.lower(): place})

    def fed_along(self, feed: float, place: float) -> Feed:
        """A fed move along the work alone."""
        sign = -1.0 if self.layout.arrangement.along[0] == "-" else 1.0
        return Feed(feed, **{self.along_axis.lower(): sign * place})

    def fed_across(self, feed: float, place: float) -> Feed:
        """A fed move across the work alone."""
        return Feed(feed, **{self.layout.arrangement.across.lower(): place})


def at_each_place(
    bench: RoundBench, frame: RoundFrame, at: dict[int, list[Move]]
) -> list[Move]:
    """The moves of a step that are made ``at`` places of the head, by number from 1, each begun and
    ended clear of the work, with its first two along and across it; the head comes to all of them
    from one side.
    """
    division = bench.layout.division
    first = min(at)
    way = [frame.out(frame.safe_out), *at[first][:2]]
    brought = taken_up(division, bench.machine, first)
    # After another cutter the head stands elsewhere: it is turned before the cutter comes. At first
    # nobody knows where the cutter is: it is told a place before the head turns.
    moves: list[Move] = ([frame.out(frame.safe_out), *brought] if bench.number
                         else [*way, *brought])
    before = None
    for place in sorted(at):
        moves.append(Index(division.angles[place - 1], place, division.setting(place, before),
                           division.setting(place, None)))
        moves += at[place]
        before = place
    moves.append(frame.out(frame.safe_out))
    return moves
