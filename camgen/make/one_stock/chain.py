"""The chain for parts of several jobs on one stock: planned job by job, written as one program,
read back, and proved: the program's motion whole, and for each job what it makes of its parts.

Of what is read back each job is given its own share, the pieces of motion that answer its steps,
and all proofs of flat work are made on that, as if the job were alone on the stock; so each part is
proved to be where it should be, turned as it should be. Beside them stands that no job's cutters
come into another's parts. The metal that other jobs take away is counted as standing: no proof
becomes milder by it. What is kept of runs at the machine is kept for each part's own job.

A stock that is turned over has a program for each side. The second is planned and proved for the
parts alone that have one, on what the first left of them; and where dowels put it, see
:mod:`camgen.proof.flat.strip`.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np

from camgen import __version__
from camgen.arrays import Flags, Ints
from camgen.cutting.planner import CutPlan
from camgen.faults import Fault, Refused
from camgen.job.checks.whole_job import machine_for
from camgen.job.file import workshop_of
from camgen.job.joined.one_stock.reading import PieceKind, StockFile, read_one_stock
from camgen.layout import FlatLayout, Strip, flat_layout
from camgen.library.fingerprint import as_meant, fingerprint
from camgen.library.job_fingerprints import JobFingerprints
from camgen.library.standing import prints, standing_of_job
from camgen.make.chain import file_stem
from camgen.make.one_stock.order import in_one_order
from camgen.make.one_stock.side import (
    LaidKind,
    Side,
    clashes,
    cut_into,
    first_side,
    outlines_of,
    second_side,
)
from camgen.make.told.standing_line import standing_line
from camgen.messages import Message
from camgen.moves import Section, SetupMoves
from camgen.part.declaration import MakesFace
from camgen.part.features import Hole
from camgen.part.parts import features_of
from camgen.plan import Plan, PlannedSetup, plan_job
from camgen.post.writer import Program, write_programs
from camgen.proof import gather, prove_flat, prove_motion
from camgen.proof.evidence import FlatEvidence, by_kind
from camgen.proof.flat.neighbours import prove_neighbours
from camgen.proof.flat.strip import prove_strip, prove_tabs
from camgen.proof.result import Proof
from camgen.reader import read_program
from camgen.reader.motion import ReadProgram
from camgen.reader.stations import share_of
from camgen.shop.machine import Machine
from camgen.shop.materials import Material
from camgen.steps import step_words
from camgen.words import program_words

__all__ = ["ProvedKind", "ProvedSide", "ProvedStock", "proved_stock"]


@dataclasses.dataclass(frozen=True)
class ProvedKind:
    """Pieces of one kind: what was planned, its share of what was read back, and its proofs."""

    kind: PieceKind
    planned: PlannedSetup
    layout: FlatLayout
    evidence: FlatEvidence
    proofs: tuple[Proof, ...]


@dataclasses.dataclass(frozen=True)
class ProvedSide:
    """One side of the stock: the moves of all kinds in order, ``of_kind`` which of its kinds each
    section is of and ``of_section`` which of that kind's sections, what was written and read back,
    and the proofs of the program ``whole``. ``name`` begins its files' names."""

    name: str
    moves: SetupMoves
    cuts: tuple[CutPlan, ...]
    of_kind: tuple[int, ...]
    of_section: tuple[int, ...]
    programs: tuple[Program, ...]
    read: tuple[ReadProgram, ...]
    evidence: FlatEvidence
    kinds: tuple[ProvedKind, ...]
    whole: tuple[Proof, ...]

    @property
    def proofs(self) -> tuple[Proof, ...]:
        """All of them: of the program whole, then of each kind of piece."""
        return (*self.whole, *(proof for one in self.kinds for proof in one.proofs))


@dataclasses.dataclass(frozen=True)
class ProvedStock:
    """Parts of several jobs on one stock, through the whole chain; ``strip`` where it is turned
    over."""

    stock_file: StockFile
    machine: Machine
    material: Material
    stem: str
    prints: JobFingerprints
    language: str
    sides: tuple[ProvedSide, ...]
    strip: Strip | None

    def called(self, number: int) -> str:
        """What the setup of a side is called: first and second of a stock that is turned over."""
        return self.stem if self.strip is None else ("first", "second")[number]

    @property
    def parts(self) -> tuple[ProvedKind, ...]:
        """The kinds of pieces on the first side, without the frame."""
        return self.sides[0].kinds[:len(self.stock_file.parts)]

    @property
    def proofs(self) -> tuple[Proof, ...]:
        """All of them, side by side."""
        return tuple(proof for side in self.sides for proof in side.proofs)

    @property
    def used(self) -> float:
        """Share of the stock's face that the parts take; the rest is frame and chips."""
        parts = sum(region.area for one in self.parts
                    for _, region in outlines_of(one.kind, one.layout))
        return float(parts / self.parts[0].layout.stock.area)

    @property
    def failed(self) -> tuple[Proof, ...]:
        """Those that do not hold."""
        return tuple(proof for proof in self.proofs if not proof.holds)


def proved_stock(path: Path, post: str | None = None, language: str | None = None) -> ProvedStock:
    """The file at ``path`` planned, written, read back and proved.

    Raises Refused with every fault of the file or of the jobs it names.
    """
    workshop = workshop_of(path)
    stock_file = read_one_stock(path, step_words())
    strip = _strip(stock_file)
    laid = flat_layout if strip is None else strip.layout
    faults: dict[Fault, list[PieceKind]] = {}
    plans: list[Plan] = []
    machine: Machine | None = None
    for kind in stock_file.kinds:
        try:
            machine = machine_for(kind.job_file, post, workshop)
            plans.append(plan_job(kind.job_file, machine, workshop, laid=laid))
        except Refused as no:
            for fault in no.faults:
                faults.setdefault(fault, []).append(kind)
    if faults or machine is None:
        raise Refused([_of_pieces(kinds, fault) for fault, kinds in faults.items()])
    stem = file_stem(stock_file.path.stem)
    sides = [first_side(stock_file, plans, stem if strip is None else f"{stem}-first")]
    if strip is not None:
        sides.append(second_side(stock_file, plans, strip, sides[0], f"{stem}-second"))
    for side in sides:
        found = [*clashes(stock_file, side)] or [*cut_into(stock_file, side)]
        if found:
            raise Refused(found)
    spoken = language or stock_file.words.language
    return _proved(stock_file, sides, strip, machine, plans[0].material, stem, spoken)


def _of_pieces(kinds: Sequence[PieceKind], fault: Fault) -> Fault:
    """A fault of a part's job with the names of the pieces that it is about."""
    names = tuple(kind.name for kind in kinds if kind.number >= 0)
    if not names or not fault.place.file:
        return fault
    return dataclasses.replace(
        fault, message=Message("{name}: {what}", name=names, what=fault.message))


def _strip(stock_file: StockFile) -> Strip | None:
    """The stock as it is turned over; None where it is not."""
    turned = stock_file.turned
    if turned is None:
        return None
    frame = stock_file.kinds[-1].job_file.job
    holes = tuple(one for one in features_of(frame.part, frame.material) if isinstance(one, Hole))
    return Strip(flat_layout(frame, frame.flat[0]).stock, holes, turned.axis)


def _proved(
    stock_file: StockFile, sides: Sequence[Side], strip: Strip | None, machine: Machine,
    material: Material, stem: str, language: str,
) -> ProvedStock:
    meant = fingerprint([[kind.name, as_meant(kind.job_file.job)] for kind in stock_file.kinds])
    now = prints(meant, machine, material)
    header = (Message("CAMGEN {version} JOB {job}", version=__version__, job=meant),
              Message("TABLES {tables} MACHINE {machine}", tables=now.tables, machine=now.machine),
              Message("MATERIAL {name}", name=material.name),
              standing_line(standing_of_job(now, 0, None), ""))
    spoken: Callable[[str], str] | None = program_words(language)
    done: list[ProvedSide] = []
    for side in sides:
        done.append(_proved_side(
            stock_file, side, machine, header, spoken, sum(len(one.programs) for one in done),
            done[0] if done else None))
    if strip is not None:
        done[1] = _on_both_sides(strip, done[0], done[1], sides[1])
    return ProvedStock(stock_file, machine, material, stem, now, language, tuple(done), strip)


def _proved_side(
    stock_file: StockFile, side: Side, machine: Machine, header: tuple[Message, ...],
    spoken: Callable[[str], str] | None, before: int, first: ProvedSide | None,
) -> ProvedSide:
    words, laid = stock_file.words, side.laid
    faced = _faced(laid)
    order = (*((0, number) for number in range(faced)), *(
        (kind, faced + number) for kind, number in in_one_order([
            [one.cutter_number for one in each.planned.moves.sections[faced:]] for each in laid])))
    of_kind = tuple(kind for kind, _ in order)
    moves = dataclasses.replace(
        laid[0].planned.moves, title=words.job if stock_file.turned is None
        else f"{words.job} - {side.name}", sections=tuple(
            dataclasses.replace(
                laid[kind].planned.moves.sections[number], step=at,
                title=laid[kind].planned.moves.sections[number].title if at < faced else
                Message("{name}: {what}", name=laid[kind].kind.name,
                        what=laid[kind].planned.moves.sections[number].title))
            for at, (kind, number) in enumerate(order)))
    cuts = tuple(laid[kind].planned.cuts[number] for kind, number in order)
    programs = write_programs(moves, machine, stem=side.name, header=header, before=before,
                              spoken=spoken)
    read = tuple(read_program(one.text, machine, one.file, infeed=moves.retract_axis)
                 for one in programs)
    name = words.job if stock_file.turned is None else side.name
    (evidence,), _ = by_kind([gather(
        name, laid[0].kind.job_file.job, machine, laid[0].layout, moves, read, planned_cuts=cuts,
        header=header)])
    shares = _shares(evidence, [-1 if at < faced else kind for at, kind in enumerate(of_kind)])
    proved = []
    for n, one in enumerate(laid):
        earlier = first.kinds[one.number].evidence if first is not None else None
        here = _evidence_of(one, evidence, (shares == n) | (shares < 0), earlier)
        others = side.others(one.number)
        proofs = (*prove_flat(here), prove_neighbours(
            here, [name for name, _ in others], [region for _, region in others]))
        proved.append(ProvedKind(one.kind, one.planned, one.layout, here, proofs))
    return ProvedSide(side.name, moves, cuts, of_kind, tuple(number for _, number in order),
                      programs, read, evidence, tuple(proved), tuple(prove_motion(evidence)))


def _faced(laid: Sequence[LaidKind]) -> int:
    """How many sections face the whole stock before all others: the same of every kind, once.

    Raises Refused where they come out otherwise for one kind than for another.
    """
    def faces(one: LaidKind) -> list[Section]:
        steps = one.planned.setup.steps
        return [section for section in one.planned.moves.sections
                if steps[section.step].declares().makes_a(MakesFace)]

    first = faces(laid[0])
    unlike = [one for one in laid if [(each.cutter_number, each.rpm, each.moves)
                                      for each in faces(one)]
              != [(each.cutter_number, each.rpm, each.moves) for each in first]]
    if unlike:
        raise Refused([Fault(
            Message("the stock would be faced otherwise for {name} than for {first}",
                    name=one.kind.name, first=laid[0].kind.name),
            Message("say the same face step in the jobs of all its parts"),
            one.kind.job_file.place("setups", 0, "steps")) for one in unlike])
    return len(first)


def _on_both_sides(
    strip: Strip, first: ProvedSide, second: ProvedSide, planned: Side
) -> ProvedSide:
    """The second side with what is proved of both together."""
    frame = first.kinds[-1].evidence
    kinds = tuple(dataclasses.replace(one, proofs=(*one.proofs, *prove_strip(
        strip.axis, frame, first.kinds[laid.number].evidence, one.evidence, one.kind.names)))
        for laid, one in zip(planned.laid, second.kinds, strict=True))
    tabs = ((prove_tabs(second.evidence, [name for name, _ in planned.tabs],
                        [region for _, region in planned.tabs]),) if planned.tabs else ())
    return dataclasses.replace(second, kinds=kinds, whole=(*second.whole, *tabs))


def _shares(evidence: FlatEvidence, of_kind: Sequence[int]) -> Ints:
    """(n,) which kind each piece of motion read back is for, -1 for all: that whose step it
    answers; one that answers none goes with the one before it."""
    section = evidence.section.copy()
    answers = np.flatnonzero(section >= 0)
    if not len(answers):
        return np.zeros(len(section), dtype=np.int64)
    before = np.searchsorted(answers, np.arange(len(section)), side="right") - 1
    section = section[answers[np.maximum(before, 0)]]
    found: Ints = np.asarray(of_kind, dtype=np.int64)[section]
    return found


def _evidence_of(
    laid: LaidKind, whole: FlatEvidence, here: Flags, earlier: FlatEvidence | None
) -> FlatEvidence:
    """What is known of one kind of piece alone, ``earlier`` what the first side left of it."""
    begun, programs = 0, []
    for program in whole.programs:
        count = len(program.motion)
        programs.append(share_of(program, here[begun:begun + count]))
        begun += count
    planned = laid.planned
    (evidence,), _ = by_kind([gather(
        planned.name, laid.kind.job_file.job, whole.machine, laid.layout, planned.moves, programs,
        planned_cuts=planned.cuts, earlier=() if earlier is None else (earlier,),
        header=whole.header)])
    motion = evidence.motion
    start = np.concatenate((motion.start[:1], motion.end[:-1]))
    return dataclasses.replace(evidence, motion=dataclasses.replace(motion, start=start))
