"""What every proof looks at: the motion read back, the plan, the layout, the cutters, the machine.

Made once for a setup; nothing in it changes. Lengths mm, angles degrees, feeds mm/min.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from typing import Generic, Self, TypeAlias, TypeVar

import numpy as np

from camgen.arrays import Flags, Floats, Ints
from camgen.cutting.answer import CutPlan
from camgen.job.models import Job
from camgen.layout import FlatLayout, RoundLayout, ToothLayout
from camgen.messages import NOTHING, Message
from camgen.moves import SetupMoves
from camgen.proof.ground.edges import Slice, slices_of
from camgen.proof.ground.matching import Match, match
from camgen.proof.ground.plan_cuts import PlanCuts, plan_cuts
from camgen.proof.ground.planned import Planned, lay_out
from camgen.proof.ground.same_ways import SameWays, in_steps, same_ways
from camgen.proof.ground.work_alike import alike
from camgen.proof.path import Chords, chords, is_cut, joined, lengths, sweeps
from camgen.proof.result import Proof, ProofId
from camgen.reader.motion import Event, EventKind, Motion, ReadProgram
from camgen.shop.cutters import Cutter, record_of
from camgen.shop.machine import HandHead, Machine
from camgen.tolerances import MOTION_CHORD
from camgen.values import dataclass

__all__ = ["Evidence", "EvidenceOf", "FlatEvidence", "HeadEvidence", "RoundEvidence",
           "by_kind", "gather"]

LayoutT = TypeVar("LayoutT", bound=FlatLayout | ToothLayout | RoundLayout)

# Points along edges are this share of the smallest cutter's radius apart, at most.
SPACING_SHARE = 0.2


@dataclass(frozen=True)
class EvidenceOf(Generic[LayoutT]):
    """What flat work and work on the head have in common as evidence; ``layout`` is what stands.

    ``motion`` is all its programs' motion in order, ``program_of`` (n,) the number of the program
    each piece stands in. ``cutters`` are by number. ``moves`` is the plan, ``None`` when a program
    is proved that we did not write; ``planned_cuts`` the planner's answers for its sections.
    ``header`` are the lines that programs of this job begin with, None where nobody knows.
    """

    setup: str
    job: Job
    machine: Machine
    layout: LayoutT
    moves: SetupMoves | None
    programs: tuple[ReadProgram, ...]
    motion: Motion
    program_of: Ints
    cutters: Mapping[int, Cutter]
    planned_cuts: tuple[CutPlan, ...] = ()
    header: tuple[Message, ...] | None = None

    def of_programs(self, moves: SetupMoves | None, programs: Sequence[ReadProgram]) -> Self:
        """The same setup with other moves planned, or none, and other programs read."""
        motion, program_of = _joined(programs, by_hand=isinstance(self.machine.dividing, HandHead))
        return replace(self, moves=moves, programs=tuple(programs), motion=motion,
                       program_of=program_of)

    @cached_property
    def planned(self) -> Planned | None:
        """The plan laid out as motion."""
        return lay_out(self.moves) if self.moves is not None else None

    @cached_property
    def matched(self) -> Match | None:
        """Which pieces answer which planned ones; None when there is no plan."""
        if self.planned is None or self.moves is None:
            return None
        return match(self.planned.motion, self.motion, self.moves, self.machine,
                     self.program_of)

    @cached_property
    def section(self) -> Ints:
        """(n,) number of the plan's section that each piece answers, -1 where it answers none."""
        section = np.full(len(self.motion), -1, dtype=np.int64)
        if self.planned is not None and self.matched is not None:
            section[self.matched.read] = self.planned.section[self.matched.planned]
        return section

    def events(self, kind: EventKind) -> list[tuple[int, Event]]:
        """Events of a kind in all programs, each with the number of pieces made before it."""
        found: list[tuple[int, Event]] = []
        begun = 0
        for program in self.programs:
            found += [(begun + e.before, e) for e in program.events if e.kind == kind]
            begun += len(program.motion)
        return found

    @cached_property
    def feed_meant(self) -> Floats:
        """(n,) feed, mm/min; that which was planned for blocks slowed for the control alone.

        What a cut may take hangs on the feed that it was planned for.
        """
        feed = self.motion.feed.copy()
        if self.planned is not None and self.matched is not None:
            rows = self.matched.read
            meant = self.planned.motion.feed[self.matched.planned]
            slowed = (60.0 * self.machine.blocks_per_second * self.length[rows] < meant) & (
                feed[rows] < meant)
            feed[rows[slowed]] = meant[slowed]
        return feed

    @cached_property
    def cut(self) -> Flags:
        """(n,) true for pieces made at a feed, by what cuts: no probe does."""
        return np.asarray(is_cut(self.motion) & ~np.isin(self.motion.cutter, self.probes))

    @cached_property
    def probes(self) -> list[int]:
        """The numbers of those in the spindle that cut nothing."""
        return [number for number, one in self.cutters.items() if record_of(one).touches]

    @cached_property
    def length(self) -> Floats:
        """(n,) length of each piece, mm."""
        return lengths(self.motion)

    @cached_property
    def sweep(self) -> tuple[Floats, Floats, Floats]:
        """(n,) sweep, angle begun at and radius of arcs."""
        return sweeps(self.motion)

    @cached_property
    def chords(self) -> Chords:
        """The motion in straight stretches."""
        return chords(self.motion, MOTION_CHORD)

    @cached_property
    def cutter_radius(self) -> Floats:
        """(n,) radius of the cutter in the spindle, nan where it is not known."""
        radius = np.full(len(self.motion), np.nan)
        for number, cutter in self.cutters.items():
            radius[self.motion.cutter == number] = cutter.diameter / 2
        return radius

    @cached_property
    def increment(self) -> float:
        """The coarsest step, mm, of the machine's axes and of the numbers in its programs."""
        return self.machine.coarsest

    @cached_property
    def room(self) -> float:
        """How far off a place that is clear may be and still counts as clear, mm.

        An increment; where X is told anew with Y, what is not known of one is not of the other.
        """
        lean = abs(math.tan(math.radians(self.machine.squareness)))
        if not lean or not len(self.motion):
            return self.increment
        return self.increment + lean * float(np.nanmax(np.abs(self.motion.end[:, :2])))

    def place(self, piece: int) -> Message:
        """Where a piece ends, for the person at the machine: ``X 1.2 Y 3 Z -0.25``."""
        names = "XYZ"
        end = self.motion.end[piece]
        place = " ".join(
            f"{names[axis]} {end[axis]:.3f}" for axis in range(3) if np.isfinite(end[axis])
        )
        if len(self.programs) > 1:
            return Message("{place}, in {program}", place=place, program=self.program(piece))
        return Message("{place}", place=place)

    def at(self, piece: int) -> tuple[float, float, float] | None:
        """Where a piece ends, None where an axis is not known."""
        x, y, z = self.motion.end[piece].tolist()
        return (x, y, z) if np.isfinite(x + y + z) else None

    def line(self, piece: int) -> int:
        """The program's line of a piece."""
        return int(self.motion.line[piece])

    def program(self, piece: int) -> str:
        """The name of the program a piece stands in."""
        return self.programs[int(self.program_of[piece])].name

    def placed(self, proof: Proof, piece: int) -> Proof:
        """A proof's answer told to be about a piece of motion: line, program, and place if none.

        A ``piece`` of -1 is none.
        """
        if piece < 0:
            return proof
        return replace(proof, line=self.line(piece), program=self.program(piece),
                       at=proof.at or self.at(piece))

    def proof(
        self, id: ProofId, name: Message, holds: bool, figure: float, limit: float, unit: str,
        piece: int | None = None, where: Message | None = None,
    ) -> Proof:
        """A proof's answer about this setup, its worst at ``piece``."""
        if where is None:
            where = self.place(piece) if piece is not None else NOTHING
        answer = Proof(
            id, name, self.setup, bool(holds), round(float(figure), 6), float(limit), unit, where
        )
        return self.placed(answer, -1 if piece is None else piece)

    def at_most(
        self, id: ProofId, name: Message, figure: float, limit: float, unit: str,
        piece: int | None = None, where: Message | None = None,
    ) -> Proof:
        """A proof that holds when the figure is no greater than the limit."""
        return self.proof(
            id, name, figure <= limit + 1e-9 * max(1.0, abs(limit)), figure, limit, unit, piece,
            where,
        )


@dataclass(frozen=True)
class FlatEvidence(EvidenceOf[FlatLayout]):
    """The evidence of one setup of flat work.

    ``earlier`` is that of the setups that the work comes from, as far as it is known.
    """

    earlier: tuple[FlatEvidence, ...] = ()

    @cached_property
    def flat_cuts(self) -> PlanCuts:
        """The cuts of flat work seen from above."""
        return plan_cuts(self.motion, self.cutters, self.layout.top, self.layout.bottom)

    @cached_property
    def flat_ways(self) -> SameWays:
        """The same cuts by the way they run along and what they clear, slopes in short steps."""
        cuts, motion = self.flat_cuts, self.motion
        # An upright arc is several cuts already.
        whole = np.bincount(cuts.piece, minlength=len(motion))[cuts.piece] == 1
        begin, end = (np.where(whole, z[cuts.piece, 2], 0.0) for z in (motion.start, motion.end))
        return same_ways(in_steps(cuts, begin, end))

    @cached_property
    def slices(self) -> tuple[Slice, ...]:
        """The finished part of flat work, slice by slice.

        A dent of the cutter's own radius, midway between two points of an edge, looks shallower
        than it is by spacing²/8r at most: 0.005 r, one micrometre for a cutter of 0.4 mm.
        """
        wides = self.flat_cuts.wide_top[self.flat_cuts.wide_top > 0]
        spacing = max(0.01, SPACING_SHARE * float(wides.min())) if len(wides) else 0.1
        return slices_of(self.layout, spacing)

    @cached_property
    def _alike(self) -> tuple[tuple[int, ...], Flags]:
        return alike(self.layout, self.flat_cuts)

    @property
    def distinct_places(self) -> tuple[int, ...]:
        """Numbers of the pieces of work that are cut otherwise than every earlier one."""
        return self._alike[0]

    @cached_property
    def repeated(self) -> Flags:
        """(n,) cuts about a piece of work that is cut just like an earlier one."""
        again = np.zeros(len(self.motion), dtype=np.bool_)
        again[self.flat_cuts.piece] = self._alike[1]
        return again


@dataclass(frozen=True)
class HeadEvidence(EvidenceOf[ToothLayout]):
    """The evidence of one setup on the dividing head."""


@dataclass(frozen=True)
class RoundEvidence(EvidenceOf[RoundLayout]):
    """The evidence of one setup of turned work held in the dividing head."""


Evidence: TypeAlias = FlatEvidence | HeadEvidence | RoundEvidence


def by_kind(setups: Iterable[Evidence]) -> tuple[list[FlatEvidence], list[HeadEvidence]]:
    """Several setups, those of flat work and those of stacks on the dividing head, each in
    order."""
    flat: list[FlatEvidence] = []
    on_head: list[HeadEvidence] = []
    for one in setups:
        match one:
            case FlatEvidence():
                flat.append(one)
            case HeadEvidence():
                on_head.append(one)
            case RoundEvidence():
                pass
    return flat, on_head


def gather(
    setup: str,
    job: Job,
    machine: Machine,
    layout: FlatLayout | ToothLayout | RoundLayout,
    moves: SetupMoves | None,
    programs: Sequence[ReadProgram],
    cutters: Mapping[int, Cutter] | None = None,
    planned_cuts: Sequence[CutPlan] = (),
    earlier: Sequence[Evidence] = (),
    header: Sequence[Message] | None = None,
) -> Evidence:
    """Join a setup's programs into one body of evidence, of the kind that its layout is.

    ``cutters`` by number are taken from the plan's sections and the job when not given.
    """
    if cutters is None:
        cutters = {}
        if moves is not None:
            cutters = {
                section.cutter_number: job.cutters[section.cutter]
                for section in moves.sections
                if section.cutter in job.cutters
            }
    motion, program_of = _joined(programs, by_hand=isinstance(machine.dividing, HandHead))
    said = tuple(header) if header is not None else None
    match layout:
        case FlatLayout():
            return FlatEvidence(
                setup, job, machine, layout, moves, tuple(programs), motion, program_of,
                dict(cutters), tuple(planned_cuts), said, _come_from(job, setup, earlier))
        case ToothLayout():
            return HeadEvidence(
                setup, job, machine, layout, moves, tuple(programs), motion, program_of,
                dict(cutters), tuple(planned_cuts), said)
        case RoundLayout():
            return RoundEvidence(
                setup, job, machine, layout, moves, tuple(programs), motion, program_of,
                dict(cutters), tuple(planned_cuts), said)


def _joined(programs: Sequence[ReadProgram], *, by_hand: bool) -> tuple[Motion, Ints]:
    """All programs' motion in order, and the number of the program each piece stands in.

    A head turned ``by_hand`` stands at the start of a part as the part before it left it.
    """
    motions = tuple(program.motion for program in programs)
    if by_hand:
        motions = tuple(_standing(programs))
    return (joined(motions) if motions else _no_motion(),
            np.repeat(np.arange(len(motions)), [len(m) for m in motions]))


def _standing(programs: Sequence[ReadProgram]) -> Iterator[Motion]:
    """Each program's motion with a head turned by hand where it was left, until it is turned."""
    left = 0.0
    for program in programs:
        motion = program.motion
        until = next((one.before for one in program.events if one.kind == "hand-index"),
                     len(motion))
        if left:
            before, after = motion.angle_start.copy(), motion.angle_end.copy()
            before[:until + 1] = left
            after[:until] = left
            motion = replace(motion, angle_start=before, angle_end=after)
        left = float(motion.angle_end[-1]) if len(motion) else left
        yield motion


def _come_from(
    job: Job, setup: str, earlier: Sequence[Evidence]
) -> tuple[FlatEvidence, ...]:
    """Of the setups before one, those whose work it goes on with: `left-by`, and its own."""
    known = {one.setup: one for one in by_kind(earlier)[0]}
    setups = {one.name: one for one in job.flat}
    found: list[FlatEvidence] = []
    at = setups.get(setup)
    while at is not None and at.stock.left_by in known:
        name = at.stock.left_by
        found.append(known.pop(name))
        at = setups.get(name)
    return tuple(found)


def _no_motion() -> Motion:
    """Motion of no pieces."""
    whole = np.zeros(0, dtype=np.int64)
    flat, deep = np.zeros(0), np.zeros((0, 3))
    return Motion(
        whole, whole, deep, deep, deep, whole, whole, flat, flat, flat, flat, whole, whole
    )
