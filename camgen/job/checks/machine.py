"""Whether a machine can do what a job asks: its travel, speeds and feeds, its dividing head."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from camgen.dividing import divide
from camgen.faults import Fault, Refused, no_more
from camgen.job.checks.bench import CheckBench, WordPath, extent_of, moved, steps_of
from camgen.job.checks.on_head.spindle_lies import lying_faults
from camgen.job.file import JobFile
from camgen.job.models import FlatSetup, HeadSetup, Setup
from camgen.job.part import blank_diameter
from camgen.messages import Message
from camgen.shop.machine import Machine

__all__ = ["head_faults", "setup_on_machine", "table_faults"]


def setup_on_machine(
    job_file: JobFile, machine: Machine, number: int, setup: Setup
) -> Iterator[Fault]:
    """Speeds and feeds that the machine does not do, heights that it does not reach; any part."""
    at: WordPath = ("setups", number)
    low, high = machine.spindle.lowest, machine.spindle.highest
    slowest = min(machine.x.feed_limit, machine.y.feed_limit, machine.z.feed_limit)
    for n, step in steps_of(job_file, number, setup):
        if step.speed is not None and not low <= step.speed <= high:
            yield Fault(Message("{speed:g} rev/min is outside what the spindle of {name} can do, "
                                "{low:g} to {high:g}", speed=step.speed, name=machine.name, low=low,
                                high=high),
                        Message("write one from {low:g} to {high:g}, or leave speed: out", low=low,
                                high=high), job_file.place(*at, "steps", n, step.kind, "speed"),
                        ("spindle.lowest", "spindle.highest"))
        elif step.speed is not None and machine.spindle.steps and (
                machine.spindle.step_at(step.speed) is None):
            yield Fault(Message("{speed:g} rev/min is none of the speeds that the spindle of "
                                "{name} has", speed=step.speed, name=machine.name),
                        Message("write one of {speeds}, or leave speed: out",
                                speeds=tuple(str(one.speed) for one in machine.spindle.steps)),
                        job_file.place(*at, "steps", n, step.kind, "speed"), ("spindle.steps",))
        if step.feed is not None and step.feed > slowest:
            yield Fault(Message("a feed of {feed:g} mm/min is more than {name} follows on every "
                                "axis, {slowest:g}", feed=step.feed, name=machine.name,
                                slowest=slowest),
                        Message("write feed: {slowest:g} or less, or leave it out to have it "
                                "planned", slowest=slowest),
                        job_file.place(*at, "steps", n, step.kind, "feed"),
                        ("x.feed-limit", "y.feed-limit", "z.feed-limit"))
    for work in setup.given:
        if isinstance(work, FlatSetup):
            yield from _height(job_file, machine, at, setup, work)


def _height(
    job_file: JobFile, machine: Machine, at: WordPath, setup: Setup, work: FlatSetup
) -> Iterator[Fault]:
    """The way from the safe height to where the stock ends, against the spindle's travel.

    How far below it the steps go is looked at when they are planned; what is offered leaves room
    for all that may be cut into.
    """
    stock = work.stock
    need = setup.safe_height + stock.thickness
    if need <= machine.z.travel:
        return
    room = machine.z.travel - stock.thickness - (work.holding.cut_into if work.holding else 0.0)
    word = "safe-height" if "safe_height" in setup.model_fields_set else "clearance"
    yield Fault(Message("from the safe height to the bottom are {need:.1f} mm and {name} travels "
                        "{travel:g} mm along Z", need=need, name=machine.name,
                        travel=machine.z.travel),
                Message("write safe-height: {most} or less", most=no_more(room))
                if room > setup.clearance
                else Message("thinner stock, or name another machine file under post:"),
                job_file.place(*at, word), ("z.travel",))


def table_faults(
    bench: CheckBench, machine: Machine, at: WordPath, setup: FlatSetup
) -> Iterator[Fault]:
    """Pieces that take more than the table travels."""
    width, height = extent_of(setup, blank_diameter(bench.job, bench.tooth))
    for need, letter, axis in ((width, "X", machine.x), (height, "Y", machine.y)):
        if need > axis.travel:
            yield Fault(Message("the pieces take {need:.1f} mm along {letter} and {name} travels "
                                "{travel:g} mm", need=need, letter=letter, name=machine.name,
                                travel=axis.travel), Message("fewer pieces"),
                        bench.place(*at, "repeat" if setup.repeat else "stock"),
                        (f"{letter.lower()}.travel",))


def head_faults(
    bench: CheckBench, machine: Machine, at: WordPath, setup: HeadSetup
) -> Iterator[Fault]:
    """Teeth that the head does not divide, stacks longer than the table travels."""
    dividing = setup.dividing
    if machine.dividing is None:
        yield Fault(Message("the machine {name} has no dividing head", name=machine.name),
                    Message("name another machine file under post:"), bench.place("post"),
                    ("dividing.kind",))
        return
    try:
        divide(bench.tooth.sizes.teeth, machine.dividing)
    except Refused as no:
        yield from (replace(fault, hangs_on=machine.dividing.divides_by) for fault in moved(
            no, bench.place(bench.part.word, bench.part.count_word)))
    arrangement = dividing.arrangement or machine.dividing.arrangement
    axis, infeed = machine.axis(arrangement.along[1]), machine.axis(arrangement.infeed[1])
    yield from lying_faults(bench.job_file, machine, at, setup)
    room = setup.safe_height + bench.tooth.sizes.whole_depth
    if room > infeed.travel:
        yield Fault(Message("from the safe height to the roots are {room:.1f} mm and {name} "
                            "travels {travel:g} mm along {axis}", room=room, name=machine.name,
                            travel=infeed.travel, axis=arrangement.infeed[1]),
                    Message("a lower safe-height"), bench.place(*at, "safe-height"),
                    (f"{arrangement.infeed[1].lower()}.travel",))
    on_arbor = (dividing.front_backing + dividing.stack * bench.part.height
                + dividing.backing)
    radius = max((bench.job.cutters[step.cutter].diameter / 2 for step in setup.steps
                  if step.cutter in bench.job.cutters), default=0.0)
    depth = min(bench.tooth.sizes.whole_depth, radius)
    # The cutter starts half its chord and the clearance before the stack; see notes on run-in.
    need = on_arbor + math.sqrt(depth * (2 * radius - depth)) + setup.clearance
    if need > axis.travel:
        yield Fault(Message("the stack with its run-in takes {need:.1f} mm and {name} travels "
                            "{travel:g} mm along {axis}", need=need, name=machine.name,
                            travel=axis.travel, axis=arrangement.along[1]),
                    Message("a smaller stack"), bench.place(*at, "dividing", "stack"),
                    (f"{arrangement.along[1].lower()}.travel",))
