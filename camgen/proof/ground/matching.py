"""Which pieces of motion read back answer which planned ones.

Both are reduced to what a machine would do: pieces that go nowhere are left out, a piece may have
been written as several along the same path, short ones as fewer that stay near it
(`merged_ways.py`), and getting clear at the beginning, between parts and at the end may be added.
Everything else must agree to the rounding of one least increment.
"""

from __future__ import annotations

import math
from functools import cached_property

import numpy as np

from camgen.arrays import Flags, Floats, Ints
from camgen.moves import SetupMoves
from camgen.proof.ground.merged_ways import merged_run
from camgen.proof.ground.pieces_alike import (
    alike_pieces,
    apart,
    goes_nowhere,
    is_at,
    middles_of,
    off_line,
    parted_lines,
)
from camgen.proof.ground.turns import angles_apart, counts_whole_turns, on_the_way
from camgen.proof.path import is_arc, is_cut, moves_nothing, select, sweeps
from camgen.reader.dialect import dialect_of
from camgen.reader.motion import Kind, Motion
from camgen.shop.machine import Machine
from camgen.values import dataclass

__all__ = ["MIDDLES", "Match", "match"]

# Rounding moves an end by half an increment in each axis, and an arc's middle, by its ends and its
# centre both, by up to one and a half. A little more for the arithmetic.
ENDS, MIDDLES = 0.51, 1.5
# A turn that no rounding makes more than a half, radians.
_LESS_THAN_HALF = 2.8
# Pieces first looked at together where a stretch that agrees may begin.
SHORTEST = 16
# As plain numbers: looked up for every piece where a program is written otherwise than planned.
RAPID, LINE, INDEX = int(Kind.RAPID), int(Kind.LINE), int(Kind.INDEX)


@dataclass(frozen=True)
class Match:
    """How read pieces answer planned ones.

    ``planned`` and ``read`` (m,) are numbers of pieces that belong together, ``off`` (m,) how far
    apart they are in mm, ``merged`` (m,) where several planned ones became fewer; ``stray`` the
    first read piece that answers nothing planned (-1: none), ``missing`` the first planned piece
    that nothing answers (-1: none).
    """

    planned: Ints
    read: Ints
    off: Floats
    merged: Flags
    stray: int
    missing: int


def match(
    plan: Motion, read: Motion, moves: SetupMoves, machine: Machine, program_of: Ints
) -> Match:
    """Which read pieces answer which planned ones, in order.

    ``program_of`` (n,) are the numbers of the programs that the read pieces stand in.
    """
    kept_plan = np.nonzero(~goes_nowhere(plan))[0]
    kept_read = np.nonzero(~moves_nothing(read))[0]
    a, b = select(plan, kept_plan), select(read, kept_read)
    turn = 10.0**-machine.numbers.rotary_decimals
    return _Walk(a, b, moves, machine, turn, program_of[kept_read]).found(kept_plan, kept_read)


class _Walk:
    """Goes along plan and program side by side; long stretches that agree are taken at once."""

    def __init__(
        self, plan: Motion, read: Motion, moves: SetupMoves, machine: Machine, turn: float,
        program_of: Ints,
    ) -> None:
        self.program_of = program_of
        self.plan, self.read, self.turn = plan, read, turn
        step = machine.coarsest
        # What is placed by a shift or a subprogram is rounded twice.
        twice = machine.subprograms or machine.offsets.shift
        self.ends = (2 * ENDS if twice else ENDS) * step
        self.tolerance = step
        self.along = MIDDLES * step
        self.chord = machine.arcs.tolerance + step
        self.axis = "XYZ".index(moves.retract_axis)
        self.clear = moves.retract_to
        self.outward = 1.0 if self._mean_side(moves.retract_to) else -1.0
        self.farthest = self.outward * float(np.nanmax(
            [moves.retract_to * self.outward, *(plan.end[:, self.axis] * self.outward)]))
        self.highest = float(np.nanmax([-np.inf, *plan.end[:, 2]]))
        self.machine = machine
        # Where the first cutter of every part is brought to by hand.
        stands = machine.offsets.stands_at
        slides = dialect_of(machine).slides
        self.brought = np.array(stands) if stands else None
        if stands and slides is not None:
            self.brought = slides.stands(np.array([stands], dtype=np.float64))[0]
        self.places = [place for place in (machine.change.place, machine.retract.park)
                       if place is not None and place.counted == "work"]
        self.one_way = machine.rotary.way == "one-way"
        # Drawn back along Y alone, or X where nobody knows of Y, a slide that leans goes aside.
        lean = abs(math.tan(math.radians(machine.squareness)))
        reach = np.nan_to_num(np.abs(np.concatenate((plan.end, read.end)))[:, :2])
        self.aside = lean * float(reach.max(initial=0.0))
        # Where the head has limits whole turns are taken back; by pulses it only turns on.
        self.pulsed = machine.rotary.way == "by-pulse"
        self.limited = counts_whole_turns(machine)
        self.pairs: list[tuple[Ints, Ints, Floats]] = []
        # Which of them are of merged pieces.
        self.merged_from: list[int] = []
        self.curved = is_arc(plan)
        # Where a piece does not begin where the one before it ended: a further part of a program.
        self.jumps = np.flatnonzero((read.start[1:] != read.end[:-1]).any(axis=1)) + 1

    # Only a program written otherwise than planned is looked at piece by piece.

    @cached_property
    def sweep(self) -> tuple[Floats, Floats, Floats]:
        """Sweeps of the planned pieces."""
        return sweeps(self.plan)

    @cached_property
    def slight(self) -> Flags:
        """(n,) planned arcs of at most ten increments that a line is off by half an increment."""
        sweep, _, radius = self.sweep
        flat = radius * (1 - np.cos(np.minimum(np.abs(sweep), np.pi) / 2)) <= self.tolerance / 2
        return np.asarray(self.curved & flat & (np.abs(sweep) * radius <= 10 * self.tolerance))

    @cached_property
    def read_sweep(self) -> tuple[Floats, Floats, Floats]:
        """Sweeps of the read pieces."""
        return sweeps(self.read)

    @cached_property
    def middles(self) -> Floats:
        """Points along the read arcs."""
        return middles_of(self.read)

    def _mean_side(self, clear: float) -> bool:
        """Whether clear lies on the growing side of the cuts."""
        cuts = is_cut(self.plan)
        ends = self.plan.end[cuts, self.axis]
        return not len(ends) or clear >= float(np.nanmean(ends))

    @cached_property
    def joints(self) -> tuple[Flags, Flags]:
        """(n,) read pieces after a part's last cut, and before the first cut of the next."""
        cuts = np.flatnonzero(is_cut(self.read))
        ended, begun = np.zeros((2, len(self.read)), dtype=np.bool_)
        for joint in (np.flatnonzero(np.diff(self.program_of)) + 1).tolist():
            at = int(np.searchsorted(cuts, joint))
            ended[cuts[at - 1] + 1 if at else 0 : joint] = True
            begun[joint : cuts[at] if at < len(cuts) else len(self.read)] = True
        return ended, begun

    def found(self, plan_numbers: Ints, read_numbers: Ints) -> Match:
        """Walk to the end or to the first disagreement."""
        i = j = 0
        n, m = len(self.plan), len(self.read)
        span = SHORTEST
        while i < n and j < m:
            taken = 0
            if self.plan.kind[i] == self.read.kind[j] or (
                    self.read.kind[j] == LINE and self.slight[i]):
                taken = self._stretch(i, j, min(span, n - i, m - j))
            i, j = i + taken, j + taken
            if taken == span:
                span = min(2 * span, 16384)
                continue
            span = SHORTEST
            if i >= n or j >= m:
                break
            answered = self._one(i, j)
            if answered:
                i, j = i + 1, j + answered
                continue
            clear = self._adds_nothing(j, i)
            together = merged_run(self.plan, self.read, i, j, self.machine, self.ends, self.along)
            if together is not None:
                count = np.arange(max(together.planned, together.read))
                self.merged_from.append(len(self.pairs))
                self.pairs.append((i + count * together.planned // len(count),
                                   j + count * together.read // len(count),
                                   np.full(len(count), together.off)))
                i, j = i + together.planned, j + together.read
            elif (self.plan.kind[i] == LINE or not clear) and self._is_there(i, j):
                i += 1
            elif clear:
                j += 1
            else:
                return self._match(plan_numbers, read_numbers, i, j)
        while j < m and self._adds_nothing(j):
            j += 1
        while i < n and self._is_there(i, j):
            i += 1
        return self._match(plan_numbers, read_numbers, i if i < n else -1, j if j < m else -1)

    def _match(self, plan_numbers: Ints, read_numbers: Ints, i: int, j: int) -> Match:
        none = np.zeros(0, dtype=np.int64)
        planned = np.concatenate([p for p, _, _ in self.pairs] or [none])
        read = np.concatenate([r for _, r, _ in self.pairs] or [none])
        off = np.concatenate([o for _, _, o in self.pairs] or [np.zeros(0)])
        merged = np.zeros(len(self.pairs), dtype=np.bool_)
        merged[self.merged_from] = True
        merged = np.repeat(merged, [len(o) for _, _, o in self.pairs])
        return Match(
            plan_numbers[planned], read_numbers[read], off, np.asarray(merged),
            int(read_numbers[j]) if 0 <= j < len(read_numbers) else -1,
            int(plan_numbers[i]) if 0 <= i < len(plan_numbers) else -1,
        )

    def _stretch(self, i: int, j: int, span: int) -> int:
        """How many pieces from here on agree one by one."""
        rows_a, rows_b = np.arange(i, i + span), np.arange(j, j + span)
        a, b = select(self.plan, slice(i, i + span)), select(self.read, slice(j, j + span))
        ends, along = apart(a, b)
        off = np.maximum(ends, along)
        good = alike_pieces(a, b) | ((b.kind == LINE) & self.slight[i:i + span])
        good &= (ends <= self.ends) & (along <= self.along)
        good &= angles_apart(a.angle_end, b.angle_end, limited=self.limited) <= self.turn
        good &= a.station == b.station
        good[:1] &= self._begins_there(i, j)
        low, high = np.searchsorted(self.jumps, (j + 1, j + span))
        for jump in self.jumps[low:high].tolist():
            good[jump - j] &= self._begins_there(i + jump - j, jump)
        wrong = np.nonzero(~good)[0]
        taken = int(wrong[0]) if len(wrong) else span
        if taken:
            self.pairs.append((rows_a[:taken], rows_b[:taken], off[:taken]))
        return taken

    def _one(self, i: int, j: int) -> int:
        """How many read pieces from ``j`` make up planned piece ``i``; 0 when they do not."""
        if self.curved[i]:
            return self._one_arc(i, j)
        if not self._begins_there(i, j):
            return 0
        count, offs = 0, []
        while j + count < len(self.read):
            off = self._fits(i, j + count)
            if off is None:
                return 0
            offs.append(off)
            count += 1
            if self._ended(i, j + count - 1):
                self._answer(i, j, count, np.array(offs))
                return count
        return 0

    def _begins_there(self, i: int, j: int) -> bool:
        """Whether read piece ``j`` begins somewhere along ``i``, in each axis by itself.

        What came before may have been added, and a plan may leave open where it begins.
        """
        if self.curved[i]:
            return True
        start, end, place = self.plan.start[i], self.plan.end[i], self.read.start[j]
        low, high = np.fmin(start, end), np.fmax(start, end)
        return bool(np.nan_to_num(np.fmax(low - place, place - high)).max() <= self.ends)

    def _answer(self, i: int, j: int, count: int, offs: Floats) -> None:
        self.pairs.append((np.full(count, i), np.arange(j, j + count), offs))

    def _one_arc(self, i: int, j: int) -> int:
        """The same for a planned arc, made up of shorter arcs about its centre, or of chords."""
        span = 16
        while True:
            span = min(span, len(self.read) - j)
            good, ended, off = self._along_arc(i, slice(j, j + span))
            last = int(np.argmax(ended)) if ended.any() else span
            wrong = int(np.argmin(good)) if not good.all() else span
            if last < wrong:
                self._answer(i, j, last + 1, off[: last + 1])
                return last + 1
            if wrong < span or j + span >= len(self.read):
                return 0
            span *= 8

    def _fits(self, i: int, j: int) -> float | None:
        """How far read piece ``j`` lies off planned piece ``i``, mm; None when it is no part."""
        kind, other = int(self.plan.kind[i]), int(self.read.kind[j])
        if kind != other or self.plan.station[i] != self.read.station[j]:
            return None
        if kind == INDEX:
            inside = on_the_way(
                (float(self.plan.angle_start[i]), float(self.plan.angle_end[i])),
                (float(self.read.angle_start[j]), float(self.read.angle_end[j])),
                self.machine, self.turn)
            return 0.0 if inside else None
        start, end, point = self.plan.start[i], self.plan.end[i], self.read.end[j]
        if kind == RAPID:
            outside = np.maximum(np.minimum(start, end) - point, point - np.maximum(start, end))
            off = max(0.0, float(np.nan_to_num(outside).max()))
        else:
            off = off_line(point, start, end)
        return off if off <= self.tolerance else None

    def _along_arc(self, i: int, rows: slice) -> tuple[Flags, Flags, Floats]:
        """Of read pieces ``rows``: which lie along planned arc ``i``, which end it, how far off."""
        plan, read = self.plan, self.read
        normal = int(plan.plane[i])
        first, second = (normal + 1) % 3, (normal + 2) % 3
        sweep, radius = float(self.sweep[0][i]), float(self.sweep[2][i])
        centre = plan.centre[i, [first, second]]
        kind = read.kind[rows]
        straight = kind == LINE
        a = read.start[rows][:, [first, second]] - centre
        b = read.end[rows][:, [first, second]] - centre
        turn = np.arctan2(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], (a * b).sum(axis=1))
        # About its own middle, which is rounded, each arc turns a little more or less: many add up.
        own = self.read_sweep[0][rows]
        turn = np.where(straight | (np.abs(own) < _LESS_THAN_HALF), turn, own)
        middle = np.where(
            straight[:, None], (a + b) / 2, self.middles[rows, 1][:, [first, second]] - centre
        )
        starts = np.abs(np.hypot(a[:, 0], a[:, 1]) - radius)
        ends = np.abs(np.hypot(b[:, 0], b[:, 1]) - radius)
        # A chord may have been written in parts: where it was parted it is as far off as it is.
        parted = parted_lines(read, rows, self.ends)
        begun = (starts <= self.tolerance) | np.append(False, parted[:-1])
        stopped = (ends <= self.tolerance) | parted
        ends = np.maximum(starts, ends)
        between = np.abs(np.hypot(middle[:, 0], middle[:, 1]) - radius)
        # What rounding of both ends may add to the angle; and to the height where the arc climbs.
        slack = 2 * self.tolerance / max(radius, self.tolerance)
        done = np.cumsum(np.abs(turn))
        rise = float(plan.end[i, normal] - plan.start[i, normal])
        share = np.minimum(done / abs(sweep), 1.0)
        climb = np.abs(read.end[rows][:, normal] - (plan.start[i, normal] + share * rise))
        climb -= abs(rise) * slack / abs(sweep)
        off = np.maximum(np.maximum(ends, between), climb)
        good = straight | ((kind == plan.kind[i]) & (read.plane[rows] == normal))
        good &= read.station[rows] == plan.station[i]
        good &= (turn * sweep >= 0) & (done <= abs(sweep) + slack)
        good &= between <= np.where(straight, self.chord, self.along)
        good &= begun & stopped & (climb <= self.ends)
        there = np.abs(read.end[rows] - plan.end[i]).max(axis=1) <= self.ends
        # An arc hardly longer than an increment may be turned less than half by the rounding.
        ended = there & (done > abs(sweep) / 2 - slack)
        return np.asarray(good), np.asarray(ended), off

    def _ended(self, i: int, j: int) -> bool:
        """Whether read piece ``j`` finishes planned piece ``i``."""
        if self.plan.kind[i] == INDEX:
            return bool(angles_apart(self.plan.angle_end[i], self.read.angle_end[j],
                                     limited=self.limited) <= self.turn)
        off = np.nan_to_num(np.abs(self.plan.end[i] - self.read.end[j])).max()
        return bool(off <= self.ends)

    def _adds_nothing(self, j: int, i: int | None = None) -> bool:
        """Whether a read piece only gets clear, or travels there to where it is wanted.

        ``i`` is the planned piece that is to be answered next, None where all are.
        """
        read = self.read
        last = i is None
        if read.kind[j] == INDEX:
            before, after = float(read.angle_start[j]), float(read.angle_end[j])
            # At the end the head may be turned back to its zero, never further away or past it.
            back = min(0.0, before) - self.turn <= after <= max(0.0, before) + self.turn
            # One that only turns one way goes on to where a whole turn is full.
            back |= self.one_way and 0 <= after - before < 360 and (
                abs(math.remainder(after, 360.0)) <= self.turn)
            back |= self.pulsed and after > before
            if i is not None and self.joints[1][j]:
                # From there a part goes on to where the one before it left off.
                there = float(self.plan.angle_start[i])
                if self.limited and angles_apart(there, after, limited=True) <= self.turn:
                    return True
                return min(0.0, there) - self.turn <= after <= max(0.0, there) + self.turn
            return ((last or bool(self.joints[0][j])) and back) or j == 0
        if read.kind[j] != RAPID:
            return False
        start, end = read.start[j], read.end[j]
        if i is not None and self.joints[1][j] and is_at(end, self.plan.start[i], self.ends):
            return True
        if not (end[self.axis] - self.clear) * self.outward >= -self.tolerance - self.aside:
            return False
        others = [axis for axis in range(3) if axis != self.axis]
        only = bool(np.all(np.nan_to_num(np.abs(end - start))[others] < 1e-7 + self.aside))
        out = bool(np.isnan(start[self.axis])) or (
            (end[self.axis] - start[self.axis]) * self.outward >= 0
        )
        farther = bool((end[self.axis] - self.farthest) * self.outward > self.tolerance)
        if only and out:
            return not farther
        begun_clear = bool((start[self.axis] - self.clear) * self.outward >= -self.tolerance)
        if not begun_clear:
            return False
        if self._to_a_place(start, end):
            return True
        # All are answered, or another cutter comes: beside the way out Z may be drawn up, as high
        # as it was planned to.
        changes = i is None or (i > 0 and self.plan.cutter[i] != self.plan.cutter[i - 1]
                                and self.read.cutter[j] != self.plan.cutter[i])
        way = np.nan_to_num(end - start)
        drawn_up = bool(changes and self.axis != 2 and way[2] >= 0
                        and (np.abs(way[:2]) < 1e-7).all()
                        and end[2] <= self.highest + self.tolerance)
        if i is None or drawn_up:
            return drawn_up
        # A part of a split program begins where the one before it left off, and goes on from there.
        brought = (j in self.jumps and self.brought is not None
                   and is_at(start, self.brought, self.ends))
        before = read.end[j - 1] if j and not brought else start
        return self._wanted(i, start, before, others) and self._wanted(i, end, start, others)

    def _to_a_place(self, start: Floats, end: Floats) -> bool:
        """Whether a move at the safe height goes to where cutters are changed or work is loaded."""
        return self.axis == 2 and not abs(end[2] - start[2]) > 1e-7 and any(
            all(abs(end[axis] - mm) <= self.ends for axis, mm in place.axes)
            and all(not abs(end[axis] - start[axis]) > 1e-7
                    for axis in {0, 1} - {axis for axis, _ in place.axes})
            for place in self.places)

    def _wanted(self, i: int, place: Floats, before: Floats, others: list[int]) -> bool:
        """Whether each axis is where it was, or where planned piece ``i`` begins or ends."""
        here, there = self.plan.start[i], self.plan.end[i]
        off = np.fmin(np.fmin(np.abs(place - before), np.abs(place - here)), np.abs(place - there))
        off[np.isnan(here) & np.isnan(there)] = 0.0
        return bool((np.nan_to_num(off)[others] <= self.ends).all())

    def _is_there(self, i: int, j: int) -> bool:
        """Whether the machine already stands where a planned piece would take it."""
        if j == 0 or len(self.read) == 0:
            return False
        there = self.read.end[j - 1]
        if self.read.station[j - 1] != self.plan.station[i]:
            # A part of a program begins at another station than the one before it ended at.
            if j == len(self.read) or self.read.station[j] != self.plan.station[i]:
                return False
            there = self.read.start[j]
        off = float(np.nan_to_num(np.abs(self.plan.end[i] - there)).max())
        turned = float(angles_apart(self.plan.angle_end[i], self.read.angle_end[j - 1],
                                    limited=self.limited))
        short = abs(float(self.sweep[0][i])) < np.pi
        return off <= self.ends and turned <= self.turn and short


