"""A job planned: setups in order, each with its layout, its moves and what the operator must know.

Nothing of a machine's dialect is known here. The same job, tables and version give the same plan.
"""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from shapely import box
from shapely.affinity import translate

from camgen.cutting.planner import CutPlan, ShopFinding
from camgen.faults import Fault, Refused, all_of
from camgen.job.checks.on_head.spindle_lies import must_lie_remark
from camgen.job.models import FlatSetup, HeadSetup, Job, RoundSetup, Setup, StepWords
from camgen.job.order.all_made import order_remarks
from camgen.job.order.found import found_remarks
from camgen.job.order.idle import idle_remarks
from camgen.job.reading import JobFile
from camgen.layout import (
    FlatLayout,
    FlatWork,
    HeadWork,
    RoundLayout,
    RoundWork,
    ToothLayout,
    Work,
    flat_layout,
    place_of,
    round_layout,
    tooth_layout,
)
from camgen.messages import Message
from camgen.moves import Axis, Section, SetupMoves, Station
from camgen.part.declaration import MakesFace, MakesOutline
from camgen.shop.machine import Machine
from camgen.shop.materials import Material, find_material
from camgen.steps import FLAT_STEPS, HEAD_STEPS, ROUND_STEPS
from camgen.steps.head.arrangement import Frame
from camgen.steps.head.beginning import begun_benches, counted_on
from camgen.steps.head.stand_notes import stand_notes
from camgen.steps.heights import as_low_as_stands, low_between
from camgen.steps.kind import FlatBench, HeadBench, PlannedStep, RoundBench
from camgen.steps.lash import come_to_from_one_side
from camgen.steps.measured_zeros import zero_notes, zero_remarks
from camgen.steps.planning import planned_steps
from camgen.steps.round.frame import RoundFrame
from camgen.steps.round.standing import standing_notes
from camgen.steps.travel import asked_beyond_travel, planned_beyond_travel
from camgen.tolerances import STOCK_CHORD
from camgen.values import dataclass

__all__ = ["Plan", "PlannedSetup", "plan_job"]

# Zeros are set within a few hundredths: so near the stock's edge an outline may lie beyond it, mm.
# Common practice, no source.
AT_EDGE = 0.05
# What is said of a step that is done elsewhere, and what to do about it.
FLAT_ONLY = (Message("is flat work and cannot be done on the dividing head"),
             Message("move it to a setup with `stock:`"))
HEAD_ONLY = (Message("needs the dividing head"), Message("move it to a setup with `dividing:`"))
ROUND_ONLY = (Message("is not done at turned work held in the dividing head"),
              Message("move it to a setup with `stock:` or `dividing:`"))


@dataclass(frozen=True)
class PlannedSetup:
    """One setup planned. ``setup`` is as the job says it, ``work`` as what it is, with its layout.

    ``cuts`` has the planner's answer for each section of ``moves``; ``corrected`` says which
    corrections are in force, ``notes`` what of the words may not be meant so, ``again`` what must
    be known by whoever begins again at a tooth space. ``of_sections`` are the steps that the
    sections' numbers count where they come from several setups.
    """

    name: str
    setup: Setup
    work: Work
    moves: SetupMoves
    cuts: tuple[CutPlan, ...]
    remarks: tuple[Message, ...]
    corrected: tuple[Message, ...] = ()
    notes: tuple[Message, ...] = ()
    again: tuple[Message, ...] = ()
    of_sections: tuple[StepWords, ...] = ()

    @property
    def steps(self) -> tuple[StepWords, ...]:
        """The steps that the sections' numbers count: the setup's own but for several at once."""
        return self.of_sections or self.setup.steps

    @property
    def layout(self) -> FlatLayout | ToothLayout | RoundLayout:
        """What stands on the table or the head."""
        return self.work.layout


@dataclass(frozen=True)
class Plan:
    """A whole job planned."""

    setups: tuple[PlannedSetup, ...]
    material: Material


def plan_job(
    job_file: JobFile,
    machine: Machine,
    workshop: Path | None = None,
    *,
    from_space: int | None = None,
    from_step: int | None = None,
    findings: tuple[ShopFinding, ...] = (),
    laid: Callable[[Job, FlatSetup], FlatLayout] = flat_layout,
) -> Plan:
    """Plan every setup of a job for one machine.

    ``workshop`` is the folder whose tables come before those shipped. ``from_space`` begins tooth
    cutting there, after a broken cutter, in ``from_step``, from 1, where several steps cut teeth;
    setups without teeth are then left out. ``findings`` of the workshop are shown with the cuts,
    and kept to where the job says so. How flat work is ``laid`` is not the job's to say where its
    parts lie on a stock with others. Raises Refused with every fault found, each with its place in
    the job file.
    """
    job = job_file.job
    faults: list[Fault] = []
    planned: list[PlannedSetup] = []
    try:
        material = find_material(job.material, workshop)
    except Refused as no:
        raise Refused(
            [dataclasses.replace(fault, place=job_file.place("material")) for fault in no.faults]
        ) from no
    setups = [s for s in job.setups if from_space is None or isinstance(s.work, HeadSetup)]
    if not setups:
        raise Refused(
            Fault(Message("space {space} is asked for, and no setup cuts teeth", space=from_space),
                  Message("leave it out"), job_file.place("setups"))
        )
    for setup in setups:
        try:
            planned.append(_setup(job_file, setup, machine, material, from_space, from_step,
                                  findings, laid))
        except Refused as no:
            faults += no.faults
    if faults:
        raise Refused(list(dict.fromkeys(job_file.located(fault) for fault in faults)))
    return Plan(tuple(planned), material)


def _setup(
    job_file: JobFile,
    setup: Setup,
    machine: Machine,
    material: Material,
    from_space: int | None,
    from_step: int | None,
    findings: tuple[ShopFinding, ...],
    laid: Callable[[Job, FlatSetup], FlatLayout],
) -> PlannedSetup:
    """One setup: its layout, then its steps, checked all before any is planned.

    From here on flat work and work on the head are types of their own.
    """
    job, numbers = job_file.job, range(len(setup.steps))
    if not setup.steps:
        raise Refused(
            Fault(Message("setup {name} has no steps", name=setup.name),
                  Message("give it steps, or leave it out"), place_of(job, setup, "steps"))
        )
    found = found_remarks(job, job.setups.index(setup))
    if machine.offsets.may_be_left_shifted:
        found = (*found, Message(
            "at the first stop set the zero of X, Y and Z anew, whatever the control shows: a "
            "program that was broken off may have left it shifted"))
    on_a_head = isinstance(setup.work, HeadSetup | RoundSetup)
    found = (*found, *zero_remarks(machine, on_head=on_a_head))
    notes = zero_notes(machine, on_head=on_a_head)
    match setup.work:
        case HeadSetup() as on_head:
            stack = tooth_layout(job, on_head, machine)
            done, corrected = planned_steps(HEAD_STEPS, FLAT_ONLY, begun_benches([
                HeadBench(job, setup, on_head, number, stack, machine, material, from_space,
                          findings) for number in numbers], from_step))
            radius = max(job.cutters[words.cutter].diameter / 2 for words in setup.steps)
            frame = Frame(stack, radius)
            moves = _moves(job, setup, done, frame.infeed_axis, frame.safe)
            moves = dataclasses.replace(
                counted_on(moves, machine), notes=notes,
                standing=stand_notes(job, setup, stack, moves))
            if len({words.cutter for words in setup.steps}) > 1:
                # Another disc stands elsewhere on its arbor: its centre height is another.
                moves = dataclasses.replace(
                    moves, set_anew=f"{frame.infeed_axis} {stack.arrangement.across}")
            return _planned(setup, HeadWork(on_head, stack), moves, done, corrected, found)
        case RoundSetup() as held:
            round_work = round_layout(job, held, machine)
            done, corrected = planned_steps(ROUND_STEPS, ROUND_ONLY, [
                RoundBench(job, setup, held, number, round_work, machine, material, None, findings)
                for number in numbers])
            end = RoundFrame(round_work)
            moves = _moves(job, setup, done, end.infeed_axis, end.infeed(end.safe_out))
            moves = dataclasses.replace(
                counted_on(moves, machine), notes=notes,
                standing=standing_notes(round_work))
            lies = must_lie_remark(end.infeed_axis, machine)
            return _planned(setup, RoundWork(held, round_work), moves, done, corrected,
                            (*found, lies) if lies else found)
        case FlatSetup() as flat:
            layout = laid(job, flat)
            _on_stock(job, setup, layout)
            _refuse(asked_beyond_travel(job, setup, layout, machine))
            done, corrected = planned_steps(FLAT_STEPS, HEAD_ONLY, [
                FlatBench(job, setup, flat, number, layout, machine, material, from_space,
                          findings) for number in numbers])
            layout = dataclasses.replace(
                layout, tabs=tuple(tab for step in done for tab in step.tabs))
            _refuse(planned_beyond_travel(job, setup, layout, machine, (
                section for step in done for section, _ in step.sections)))
            moves = _moves(job, setup, done, "Z", layout.safe_height, layout.stations)
            moves = dataclasses.replace(moves, notes=notes, sections=tuple(
                come_to_from_one_side(section, machine)
                for section in _no_higher(moves.sections, setup, layout, machine)))
            return _planned(setup, FlatWork(flat, layout), moves, done, corrected,
                            (*found, *_beneath(layout)), job_file.remarks,
                            (*idle_remarks(job, setup), *_at_edge(setup, layout)))


def _refuse(faults: list[Fault]) -> None:
    """Raises Refused with these, if there are any."""
    if faults:
        raise Refused(faults)


def _beneath(layout: FlatLayout) -> tuple[Message, ...]:
    """What is taken for granted of the carrier."""
    if not layout.relieved:
        return ()
    return (Message("the carrier must be relieved {relieved:g} mm deep under every hole that goes "
                    "right through, as the job says", relieved=layout.relieved),)


def _planned(
    setup: Setup, work: Work, moves: SetupMoves, done: list[PlannedStep],
    corrected: tuple[Message, ...], found: tuple[Message, ...], first: tuple[Message, ...] = (),
    notes: tuple[Message, ...] = (),
) -> PlannedSetup:
    """What was planned, with its remarks, each said once, after those to be said ``first``;
    ``found`` are those of what is taken to be there."""
    corrected = tuple(dict.fromkeys(corrected))
    notes = tuple(dict.fromkeys((*notes, *(note for step in done for note in step.notes))))
    return PlannedSetup(
        name=setup.name,
        setup=setup,
        work=work,
        moves=moves,
        cuts=tuple(cut for step in done for _, cut in step.sections),
        remarks=(*first, *dict.fromkeys(
            (*order_remarks(setup), *notes, *found,
             *(remark for step in done for remark in step.remarks),
             *corrected))),
        corrected=corrected,
        notes=notes,
        again=tuple(one for step in done for one in step.again),
    )


# By how much a piece lies over each side of the stock, in words.
_OVER: tuple[Callable[[float], Message], ...] = (
    lambda beyond: Message("{beyond:.2f} mm over its left", beyond=beyond),
    lambda beyond: Message("{beyond:.2f} mm over its front", beyond=beyond),
    lambda beyond: Message("{beyond:.2f} mm over its right", beyond=beyond),
    lambda beyond: Message("{beyond:.2f} mm over its back", beyond=beyond),
)


def _on_stock(job: Job, setup: Setup, layout: FlatLayout) -> None:
    """Raises Refused for the first piece that does not lie on the stock with its whole outline."""
    part = layout.part.outline.region(STOCK_CHORD)
    stock = layout.stock.buffer(2 * STOCK_CHORD)
    for number, (x, y) in enumerate(layout.places, start=1):
        piece = translate(part, x, y)
        if stock.covers(piece):
            continue
        over = [max(0.0, beyond) for beyond in (
            layout.stock.bounds[0] - piece.bounds[0], layout.stock.bounds[1] - piece.bounds[1],
            piece.bounds[2] - layout.stock.bounds[2], piece.bounds[3] - layout.stock.bounds[3])]
        sides = [say(beyond) for say, beyond in zip(_OVER, over, strict=True)
                 if beyond > STOCK_CHORD]
        raise Refused(Fault(
            Message("piece {number} does not lie on the stock: {sides}", number=number,
                    sides=all_of(sides)) if sides else
            Message("piece {number} does not lie on the stock", number=number),
            Message("larger stock, fewer pieces, or another `repeat`"),
            place_of(job, setup, "stock"),
        ))


def _at_edge(setup: Setup, layout: FlatLayout) -> tuple[Message, ...]:
    """Pieces to be cut out whose outline lies at the stock's very edge."""
    if not any(step.declares().makes_a(MakesOutline) for step in setup.steps):
        return ()
    part = layout.part.outline.region(STOCK_CHORD)
    inner = layout.stock.buffer(STOCK_CHORD - AT_EDGE)
    pieces = [translate(part, x, y) for x, y in layout.places]
    near = sum(not (inner.covers(box(*piece.bounds)) or inner.covers(piece)) for piece in pieces)
    if not near:
        return ()
    return (Message("stock: the outline of {near} of {count} lies within {edge:g} mm of its edge, "
                    "and a zero may be off by that: the piece would be short of metal there",
                    near=near, count=len(pieces), edge=AT_EDGE),)


def _moves(
    job: Job, setup: Setup, done: list[PlannedStep], axis: Axis, safe: float, stations: int = 1
) -> SetupMoves:
    """The sections under one title; where ``axis`` is at ``safe``, the cutter is clear of all."""
    sections = tuple(section for step in done for section, _ in step.sections)
    if stations > 1:
        sections = tuple(_at_stations(section, stations) for section in sections)
    return SetupMoves(f"{job.job} - {setup.name}", sections, axis, safe)


def _no_higher(
    sections: Sequence[Section], setup: Setup, layout: FlatLayout, machine: Machine
) -> Iterator[Section]:
    """Sections as low as what stands there lets them travel; what makes the face finds it not yet.
    """
    for step, some in itertools.groupby(sections, lambda section: section.step):
        if setup.steps[step].declares().makes_a(MakesFace):
            yield from some
        else:
            yield from low_between([as_low_as_stands(one, layout, machine) for one in some],
                                   layout, machine)


def _at_stations(section: Section, stations: int) -> Section:
    """A step done at every station of a fixture: its cutter goes round them all before a change."""
    moves = tuple(
        move for number in range(1, stations + 1) for move in (Station(number), *section.moves)
    )
    return dataclasses.replace(section, moves=moves)
