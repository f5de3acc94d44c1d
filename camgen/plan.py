"""A job planned: setups in order, each with its layout, its moves and what the operator must know.

Nothing of a machine's dialect is known here. The same job, tables and version give the same plan.
"""

from __future__ import annotations

import dataclasses
from pathlib import Path

from shapely.affinity import translate

from camgen.cutting.planner import CutPlan, Finding
from camgen.faults import Fault, Refused
from camgen.job.made import order_remarks
from camgen.job.models import FlatSetup, HeadSetup, Job, Setup
from camgen.job.reading import JobFile
from camgen.layout import FlatLayout, ToothLayout, flat_layout, place_of, tooth_layout
from camgen.moves import Section, SetupMoves, Station
from camgen.shop.machine import Machine
from camgen.shop.materials import Material, find_material
from camgen.steps import STEPS, StepKind
from camgen.steps.arrangement import Frame
from camgen.steps.kind import Bench, PlannedStep
from camgen.steps.typed import asked_faults, correction_faults, correction_remarks
from camgen.values import dataclass

__all__ = ["Plan", "PlannedSetup", "plan_job"]

# Chords of round stock and round pieces, mm: what two such may differ by.
CHORD = 0.005


@dataclass(frozen=True)
class PlannedSetup:
    """One setup planned. ``cuts`` has the planner's answer for each section of ``moves``;
    ``corrected`` says which corrections are in force."""

    name: str
    setup: Setup
    layout: FlatLayout | ToothLayout
    moves: SetupMoves
    cuts: tuple[CutPlan, ...]
    remarks: tuple[str, ...]
    corrected: tuple[str, ...] = ()


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
    findings: tuple[Finding, ...] = (),
) -> Plan:
    """Plan every setup of a job for one machine.

    ``workshop`` is the folder whose tables come before those shipped. ``from_space`` begins tooth
    cutting there, after a broken cutter; setups without teeth are then left out. ``findings``
    of the workshop are shown with the cuts, and kept to where the job says so. Raises Refused with
    every fault found, each with its place in the job file.
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
            Fault(
                f"space {from_space} is asked for, and no setup cuts teeth",
                "leave it out",
                job_file.place("setups"),
            )
        )
    for setup in setups:
        try:
            planned.append(_setup(job, setup, machine, material, from_space, findings))
        except Refused as no:
            faults += no.faults
    if faults:
        raise Refused(list(dict.fromkeys(job_file.located(fault) for fault in faults)))
    if job_file.remarks:
        planned = [
            dataclasses.replace(one, remarks=(*job_file.remarks, *one.remarks))
            if isinstance(one.layout, FlatLayout) else one
            for one in planned
        ]
    return Plan(tuple(planned), material)


def _setup(
    job: Job,
    setup: Setup,
    machine: Machine,
    material: Material,
    from_space: int | None,
    findings: tuple[Finding, ...],
) -> PlannedSetup:
    """One setup: its layout, then its steps, checked all before any is planned."""
    layout: FlatLayout | ToothLayout
    match setup.work:
        case HeadSetup() as on_head:
            layout = tooth_layout(job, on_head, machine)
        case FlatSetup() as flat:
            layout = flat_layout(job, flat)
            _on_stock(job, setup, layout)
    steps = [
        (Bench(job, setup, number, layout, machine, material, from_space, findings), words)
        for number, words in enumerate(setup.steps)
    ]
    faults: list[Fault] = []
    for bench, words in steps:
        kind = STEPS[words.kind]
        if (kind.work == "dividing") != isinstance(setup.work, HeadSetup):
            faults.append(_out_of_place(bench, kind))
        else:
            faults += correction_faults(bench) or kind.check(bench, words)
    if faults:
        raise Refused(faults)
    done: list[PlannedStep] = []
    for bench, words in steps:
        try:
            step = STEPS[words.kind].plan(bench, words)
            faults += asked_faults(bench, step)
            done.append(step)
        except Refused as no:
            # What the planner of cuts refuses has no place of its own: it is the step's.
            faults += [
                fault if str(fault.place) else dataclasses.replace(fault, place=bench.place())
                for fault in no.faults
            ]
    if faults:
        raise Refused(faults)
    if not done:
        raise Refused(
            Fault(f"setup {setup.name!r} has no steps", "", place_of(job, setup, "steps"))
        )
    if isinstance(layout, FlatLayout):
        layout = dataclasses.replace(layout, tabs=tuple(tab for step in done for tab in step.tabs))
    corrected = tuple(dict.fromkeys(
        remark for bench, _ in steps for remark in correction_remarks(bench)))
    return PlannedSetup(
        name=setup.name,
        setup=setup,
        layout=layout,
        moves=_moves(job, setup, layout, done),
        cuts=tuple(cut for step in done for _, cut in step.sections),
        remarks=tuple(dict.fromkeys(
            (*order_remarks(setup), *(remark for step in done for remark in step.remarks),
             *corrected))),
        corrected=corrected,
    )


def _on_stock(job: Job, setup: Setup, layout: FlatLayout) -> None:
    """Raises Refused for the first piece that does not lie on the stock with its whole outline."""
    part = layout.part.outline.region(CHORD)
    stock = layout.stock.buffer(2 * CHORD)
    for number, (x, y) in enumerate(layout.places, start=1):
        piece = translate(part, x, y)
        if stock.covers(piece):
            continue
        over = [max(0.0, beyond) for beyond in (
            layout.stock.bounds[0] - piece.bounds[0], layout.stock.bounds[1] - piece.bounds[1],
            piece.bounds[2] - layout.stock.bounds[2], piece.bounds[3] - layout.stock.bounds[3])]
        sides = [f"{beyond:.2f} mm over its {side}" for beyond, side in zip(
            over, ("left", "front", "right", "back"), strict=True) if beyond > CHORD]
        raise Refused(Fault(
            f"piece {number} does not lie on the stock"
            + (f": {' and '.join(sides)}" if sides else ""),
            "larger stock, fewer pieces, or another `repeat`",
            place_of(job, setup, "stock"),
        ))


def _out_of_place(bench: Bench, kind: StepKind) -> Fault:
    """A step of flat work on the dividing head, or the other way round."""
    if kind.work == "dividing":
        return Fault(
            f"`{kind.kind}` needs the dividing head",
            "move it to a setup with `dividing:`",
            bench.place(),
        )
    return Fault(
        f"`{kind.kind}` is flat work and cannot be done on the dividing head",
        "move it to a setup with `stock:`",
        bench.place(),
    )


def _moves(
    job: Job, setup: Setup, layout: FlatLayout | ToothLayout, done: list[PlannedStep]
) -> SetupMoves:
    """The sections under one title, and where the cutter is clear of everything."""
    sections = tuple(section for step in done for section, _ in step.sections)
    title = f"{job.job} - {setup.name}"
    if isinstance(layout, FlatLayout):
        if layout.stations > 1:
            sections = tuple(_at_stations(section, layout.stations) for section in sections)
        return SetupMoves(title, sections, "Z", layout.safe_height)
    radius = max(job.cutters[words.cutter].diameter / 2 for words in setup.steps)
    frame = Frame(layout, radius)
    return SetupMoves(title, sections, frame.infeed_axis, frame.safe)


def _at_stations(section: Section, stations: int) -> Section:
    """A step done at every station of a fixture: its cutter goes round them all before a change."""
    moves = tuple(
        move for number in range(1, stations + 1) for move in (Station(number), *section.moves)
    )
    return dataclasses.replace(section, moves=moves)
