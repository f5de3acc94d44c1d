"""The chain for parts of several jobs on one stock: planned job by job, written as one program,
read back, and proved: the program's motion whole, and for each job what it makes of its parts.

Of what is read back each job is given its own share, the pieces of motion that answer its steps,
and all proofs of flat work are made on that, as if the job were alone on the stock; so each part is
proved to be where it should be, turned as it should be. Beside them stands that no job's cutters
come into another's parts. The metal that other jobs take away is counted as standing: no proof
becomes milder by it. What is kept of runs at the machine is kept for each part's own job.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import numpy as np
import shapely
from shapely.affinity import translate

from camgen import __version__
from camgen.arrays import Flags, Ints
from camgen.cutting.planner import CutPlan
from camgen.faults import Fault, Refused
from camgen.job.checks.whole_job import machine_for
from camgen.job.file import workshop_of
from camgen.job.joined.one_stock import PieceKind, StockFile, read_one_stock
from camgen.job.reading import read_job
from camgen.layout import FlatLayout, FlatWork
from camgen.library.fingerprint import as_meant, fingerprint
from camgen.library.job_fingerprints import JobFingerprints
from camgen.library.standing import prints, standing_of_job
from camgen.make.chain import file_stem
from camgen.make.one_stock.order import in_one_order
from camgen.make.told.standing_line import standing_line
from camgen.messages import Message
from camgen.moves import SetupMoves
from camgen.plan import PlannedSetup, plan_job
from camgen.post.writer import Program, write_programs
from camgen.proof import gather, prove_flat, prove_motion
from camgen.proof.evidence import FlatEvidence, by_kind
from camgen.proof.flat.neighbours import deepest_meeting, prove_neighbours
from camgen.proof.ground.plan_cuts import plan_cuts
from camgen.proof.ground.planned import lay_out
from camgen.proof.result import Proof
from camgen.reader import read_program
from camgen.reader.motion import ReadProgram
from camgen.reader.stations import share_of
from camgen.shop.machine import Machine
from camgen.shop.materials import Material
from camgen.steps import step_words
from camgen.tolerances import STOCK_CHORD
from camgen.words import program_words

__all__ = ["ProvedKind", "ProvedStock", "proved_stock"]


@dataclasses.dataclass(frozen=True)
class ProvedKind:
    """Pieces of one kind: what was planned, its share of what was read back, and its proofs."""

    kind: PieceKind
    planned: PlannedSetup
    layout: FlatLayout
    evidence: FlatEvidence
    proofs: tuple[Proof, ...]


@dataclasses.dataclass(frozen=True)
class ProvedStock:
    """Parts of several jobs on one stock, through the whole chain.

    ``moves`` are those of all in order, ``of_kind`` which kind each section is of.
    """

    stock_file: StockFile
    machine: Machine
    material: Material
    stem: str
    prints: JobFingerprints
    language: str
    moves: SetupMoves
    cuts: tuple[CutPlan, ...]
    of_kind: tuple[int, ...]
    programs: tuple[Program, ...]
    read: tuple[ReadProgram, ...]
    evidence: FlatEvidence
    kinds: tuple[ProvedKind, ...]
    whole: tuple[Proof, ...]

    @property
    def proofs(self) -> tuple[Proof, ...]:
        """All of them: of the program whole, then of each kind of piece."""
        return (*self.whole, *(proof for one in self.kinds for proof in one.proofs))

    @property
    def used(self) -> float:
        """Share of the stock's face that the parts take; the rest is frame and chips."""
        parts = sum(region.area for one in self.kinds
                    for _, region in _outlines(one.kind, one.layout))
        return float(parts / self.kinds[0].layout.stock.area)

    @property
    def failed(self) -> tuple[Proof, ...]:
        """Those that do not hold."""
        return tuple(proof for proof in self.proofs if not proof.holds)


def proved_stock(path: Path, post: str | None = None, language: str | None = None) -> ProvedStock:
    """The file at ``path`` planned, written, read back and proved.

    Raises Refused with every fault of the file or of the jobs it names.
    """
    workshop = workshop_of(path)
    stock_file = read_one_stock(path, lambda other: read_job(other, step_words()))
    faults: list[Fault] = []
    found: list[tuple[PlannedSetup, FlatLayout]] = []
    machine: Machine | None = None
    material: Material | None = None
    for kind in stock_file.kinds:
        try:
            machine = machine_for(kind.job_file, post, workshop)
            plan = plan_job(kind.job_file, machine, workshop)
        except Refused as no:
            faults += no.faults
            continue
        material, planned = plan.material, plan.setups[0]
        match planned.work:
            case FlatWork() as work:
                found.append((planned, work.layout))
    if faults or machine is None or material is None:
        raise Refused(list(dict.fromkeys(faults)))
    clashes = [*_clashes(stock_file, found)] or [*_cut_into(stock_file, found)]
    if clashes:
        raise Refused(clashes)
    spoken = language or stock_file.words.language
    return _proved(stock_file, found, machine, material, spoken)


def _outlines(kind: PieceKind, layout: FlatLayout) -> list[tuple[str, shapely.Polygon]]:
    """Each piece of a kind by its name, as it lies on the stock."""
    part = layout.part.outline.region(STOCK_CHORD)
    return [(name, translate(part, x, y))
            for name, (x, y) in zip(kind.names, layout.places, strict=True)]


def _clashes(
    stock_file: StockFile, found: Sequence[tuple[PlannedSetup, FlatLayout]]
) -> Iterator[Fault]:
    """Pieces that lie over one another, or under a clamp."""
    pieces = [(kind, *one) for kind, (_, layout) in zip(stock_file.kinds, found, strict=True)
              for one in _outlines(kind, layout)]
    for n, (kind, name, region) in enumerate(pieces):
        place = stock_file.document.place(("pieces", kind.number))
        for _, other, there in pieces[:n]:
            if region.intersection(there).area > STOCK_CHORD:
                yield Fault(Message("{name} lies over {other}", name=name, other=other),
                            Message("move one of them"), place)
        for number, clamp in enumerate(found[0][1].clamps):
            if region.intersects(clamp.plan):
                yield Fault(Message("{name} lies under clamp {number}", name=name,
                                    number=number + 1), Message("move one of them"), place)


def _cut_into(
    stock_file: StockFile, found: Sequence[tuple[PlannedSetup, FlatLayout]]
) -> Iterator[Fault]:
    """Pieces into which the cutters of another would cut, and clamps that they would run into."""
    outlines = [_outlines(kind, layout)
                for kind, (_, layout) in zip(stock_file.kinds, found, strict=True)]
    for n, (kind, (planned, layout)) in enumerate(zip(stock_file.kinds, found, strict=True)):
        job = kind.job_file.job
        laid = lay_out(planned.moves)
        cutters = {one.cutter_number: job.cutters[one.cutter] for one in planned.moves.sections}
        cuts = plan_cuts(laid.motion, cutters, layout.top, layout.bottom)
        place = stock_file.document.place(("pieces", kind.number))
        others = [one for m, each in enumerate(outlines) if m != n for one in each]
        met = deepest_meeting(cuts, [region for _, region in others])
        if met is not None and met.depth > STOCK_CHORD:
            section = planned.moves.sections[int(laid.section[int(cuts.piece[met.cut])])]
            yield Fault(
                Message("{step} of {name} would cut {depth:.2f} mm into {other}",
                        step=section.title, name=kind.name, depth=met.depth,
                        other=others[met.region][0]),
                Message("move them apart by so much, or take a smaller cutter"), place)
        met = deepest_meeting(cuts, [clamp.plan for clamp in layout.clamps])
        if met is not None:
            yield Fault(Message("the cutters of {name} would run {depth:.2f} mm into clamp "
                                "{number}", name=kind.name, depth=met.depth,
                                number=met.region + 1),
                        Message("move one of them"), place)


def _proved(
    stock_file: StockFile, found: Sequence[tuple[PlannedSetup, FlatLayout]], machine: Machine,
    material: Material, language: str,
) -> ProvedStock:
    kinds, words = stock_file.kinds, stock_file.words
    order = in_one_order([[one.cutter_number for one in planned.moves.sections]
                          for planned, _ in found])
    of_kind = tuple(kind for kind, _ in order)
    first = found[0][0].moves
    moves = dataclasses.replace(
        first, title=f"{words.job}", sections=tuple(
            dataclasses.replace(
                found[kind][0].moves.sections[number], step=at,
                title=Message("{name}: {what}", name=kinds[kind].name,
                              what=found[kind][0].moves.sections[number].title))
            for at, (kind, number) in enumerate(order)))
    cuts = tuple(found[kind][0].cuts[number] for kind, number in order)
    stem = file_stem(stock_file.path.stem)
    meant = fingerprint([[kind.name, as_meant(kind.job_file.job)] for kind in kinds])
    now = prints(meant, machine, material)
    header = (Message("CAMGEN {version} JOB {job}", version=__version__, job=meant),
              Message("TABLES {tables} MACHINE {machine}", tables=now.tables, machine=now.machine),
              Message("MATERIAL {name}", name=material.name),
              standing_line(standing_of_job(now, 0, None), ""))
    spoken: Callable[[str], str] | None = program_words(language)
    programs = write_programs(moves, machine, stem=stem, header=header, spoken=spoken)
    read = tuple(read_program(one.text, machine, one.file, infeed=moves.retract_axis)
                 for one in programs)
    (evidence,), _ = by_kind([gather(
        words.job, kinds[0].job_file.job, machine, found[0][1], moves, read, planned_cuts=cuts,
        header=header)])
    shares = _shares(evidence, of_kind)
    outlines = [_outlines(kind, layout) for kind, (_, layout) in zip(kinds, found, strict=True)]
    proved = []
    for n, (kind, (planned, layout)) in enumerate(zip(kinds, found, strict=True)):
        here = _evidence_of(kind, planned, layout, evidence, shares == n)
        others = [one for m, each in enumerate(outlines) if m != n for one in each]
        proofs = (*prove_flat(here), prove_neighbours(
            here, [name for name, _ in others], [region for _, region in others]))
        proved.append(ProvedKind(kind, planned, layout, here, proofs))
    return ProvedStock(stock_file, machine, material, stem, now, language, moves, cuts, of_kind,
                       programs, read, evidence, tuple(proved), tuple(prove_motion(evidence)))


def _shares(evidence: FlatEvidence, of_kind: Sequence[int]) -> Ints:
    """(n,) which kind each piece of motion read back is for: that whose step it answers; one that
    answers none goes with the one before it."""
    section = evidence.section.copy()
    answers = np.flatnonzero(section >= 0)
    if not len(answers):
        return np.zeros(len(section), dtype=np.int64)
    before = np.searchsorted(answers, np.arange(len(section)), side="right") - 1
    section = section[answers[np.maximum(before, 0)]]
    found: Ints = np.asarray(of_kind, dtype=np.int64)[section]
    return found


def _evidence_of(
    kind: PieceKind, planned: PlannedSetup, layout: FlatLayout, whole: FlatEvidence,
    here: Flags,
) -> FlatEvidence:
    """What is known of one kind of piece alone."""
    begun, programs = 0, []
    for program in whole.programs:
        count = len(program.motion)
        programs.append(share_of(program, here[begun:begun + count]))
        begun += count
    (evidence,), _ = by_kind([gather(
        planned.name, kind.job_file.job, whole.machine, layout, planned.moves, programs,
        planned_cuts=planned.cuts, header=whole.header)])
    motion = evidence.motion
    start = np.concatenate((motion.start[:1], motion.end[:-1]))
    return dataclasses.replace(evidence, motion=dataclasses.replace(motion, start=start))
