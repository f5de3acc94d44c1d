"""Parts on one stock as what the rest of the program knows: one job of one or two setups, for what
is told of all of them together; and a job of each kind of piece, for what is told of it alone.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator

from camgen.faults import Fault, Refused
from camgen.job.models import StepWords
from camgen.layout import FlatLayout, FlatWork
from camgen.library.standing import standing_of_job
from camgen.make.chain import Proved, ProvedSetup, varied_setup
from camgen.make.one_stock.chain import ProvedKind, ProvedSide, ProvedStock
from camgen.make.variants import Wish
from camgen.messages import Message
from camgen.part.shape import PartShape
from camgen.plan import PlannedSetup
from camgen.proof.result import Proof
from camgen.shapes.mirror import mirrored_path
from camgen.words import program_words

__all__ = ["as_one_job", "kinds_as_jobs"]


def as_one_job(stock: ProvedStock, wish: Wish | None = None) -> Proved:
    """The whole as the setups of one job, as far as they are wished for.

    Its part is one of those that lie there: nothing is told of it. Raises Refused where there is
    no such side, step or cutter.
    """
    wish = wish or Wish()
    said = stock.stock_file.words
    lead = _lead(stock)
    job = lead.kind.job_file.job
    setups = []
    for number, (side, setup) in enumerate(zip(stock.sides, job.setups, strict=False)):
        mine = next(one for one in side.kinds if one.kind == lead.kind)
        setups.append(ProvedSetup(dataclasses.replace(
            mine.planned, name=stock.called(number), setup=setup, moves=side.moves, cuts=side.cuts,
            of_sections=tuple(_steps(side)),
            work=FlatWork(job.flat[number], _together(stock, side, mine)),
            remarks=_all_of(side, lambda one: one.remarks),
            notes=_all_of(side, lambda one: one.notes),
            corrected=_all_of(side, lambda one: one.corrected)),
            side.programs, side.read, side.evidence,
            tuple(_proofs(side, stock.called(number)))))
    chosen = [one for one in setups if wish.setup in (None, one.name)]
    names = tuple(one.name for one in setups)
    if not chosen:
        raise Refused(Fault(Message("the job has no setup '{name}'", name=wish.setup),
                            Message("it has {names}", names=names)))
    if wish.starts_within and len(chosen) > 1:
        raise Refused(Fault(Message("which setup to start again in is not said"),
                            Message("add --setup and one of {names}", names=names)))
    if wish.changes_moves:
        chosen = [_varied(stock, wish, setups, one) for one in chosen]
    job = job.model_copy(update={"job": said.job, "note": said.note,
                                 "quantity": sum(len(one.layout.places) for one in stock.parts)})
    return Proved(
        dataclasses.replace(lead.kind.job_file, job=job, path=stock.stock_file.path), stock.machine,
        stock.material, stock.stock_file.path.parent, stock.stem, stock.prints, None,
        standing_of_job(stock.prints, 0, None), stock.language, tuple(chosen))


def kinds_as_jobs(stock: ProvedStock) -> Iterator[Proved]:
    """Each kind of piece as a job of its own, with its share of what was read back; a stock that is
    turned over has its frame last.
    """
    for kind in stock.stock_file.kinds:
        setups = tuple(
            ProvedSetup(one.planned, side.programs, side.read, one.evidence, one.proofs)
            for side in stock.sides for one in side.kinds if one.kind == kind)
        yield Proved(kind.job_file, stock.machine, stock.material, stock.stock_file.path.parent,
                     stock.stem, stock.prints, None, standing_of_job(stock.prints, 0, None),
                     stock.language, setups)


def _lead(stock: ProvedStock) -> ProvedKind:
    """The part that stands for all: one that is worked on every side."""
    return max(stock.parts, key=lambda one: len(one.kind.job_file.job.setups))


def _together(stock: ProvedStock, side: ProvedSide, lead: ProvedKind) -> FlatLayout:
    """The layout of one kind of piece with all others beside it, whether they are worked or not."""
    laid = {one.kind.name: one.layout for one in side.kinds}
    turn = stock.stock_file.turned
    beside = []
    for one in stock.parts:
        layout = laid.get(one.kind.name)
        if layout is None and turn is not None:
            # Nothing is cut on this side of it: of what the first side made its outline is seen.
            layout = dataclasses.replace(
                lead.layout, tabs=(),
                part=PartShape(mirrored_path(one.layout.part.outline, turn.axis)),
                places=tuple(turn.place(*place) for place in one.layout.places))
        if layout is not None and one.kind.name != lead.kind.name:
            beside.append(dataclasses.replace(layout, called=one.kind.names))
    return dataclasses.replace(laid[lead.kind.name], called=lead.kind.names, beside=tuple(beside))


def _proofs(side: ProvedSide, setup: str) -> Iterator[Proof]:
    """The proofs of a side, those of pieces with the piece's name."""
    for proof in side.whole:
        yield dataclasses.replace(proof, setup=setup)
    for one in side.kinds:
        for proof in one.proofs:
            yield dataclasses.replace(proof, setup=setup, name=Message(
                "{name}: {what}", name=one.kind.name, what=proof.name))


def _steps(side: ProvedSide) -> Iterator[StepWords]:
    """The step that each section of a side comes from, in order."""
    for number, section in zip(side.of_kind, side.of_section, strict=True):
        planned = side.kinds[number].planned
        yield planned.setup.steps[planned.moves.sections[section].step]


def _all_of(
    side: ProvedSide, which: Callable[[PlannedSetup], tuple[Message, ...]]
) -> tuple[Message, ...]:
    """What is said of each kind of piece on a side, with its name; what is said of all, once."""
    of_each = {one.kind.name: which(one.planned) for one in side.kinds}
    every = [said for said in next(iter(of_each.values()))
             if len(of_each) > 1 and all(said in each for each in of_each.values())]
    return tuple(dict.fromkeys((*every, *(
        Message("{name}: {what}", name=name, what=one)
        for name, said in of_each.items() for one in said if one not in every))))


def _varied(
    stock: ProvedStock, wish: Wish, setups: list[ProvedSetup], setup: ProvedSetup
) -> ProvedSetup:
    """The variant of one side's program that is wished for."""
    number = setups.index(setup)
    side = stock.sides[number]
    return varied_setup(
        wish, _lead(stock).kind.job_file.job, stock.machine, setup, side.name,
        side.evidence.header or (), sum(len(one.programs) for one in stock.sides[:number]),
        program_words(stock.language))
