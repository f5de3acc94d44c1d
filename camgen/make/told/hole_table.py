"""The sheet's table of holes: each with its size, how to gauge it, and what to do when it is off.

Holes stand under the step that brings them to size, because what is put right there is put right
for all of them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from camgen.job.models import Job, Setup, StepWords
from camgen.layout import FlatLayout
from camgen.make.told.holes import limits_reported
from camgen.messages import Message
from camgen.part.declaration import MakesThreads
from camgen.part.features import Hole
from camgen.part.plates.end_shake import deeper_gives_more, end_shake_at, usual_end_shake
from camgen.part.plates.plate import Plate
from camgen.part.shape import PartShape
from camgen.sheet.data import HoleLine, HoleStep
from camgen.shop.cutters import Ability
from camgen.words import Words
from camgen.yamlfile.length_units import MM_PER_INCH

__all__ = ["holes_of"]

# What is done about a hole that is off, by how it was brought to size, in the catalogue's words.
CORRECT = {
    Ability.DRILL: "drill", Ability.REAM: "ream", Ability.COUNTERBORE: "counterbore",
    Ability.BORE: "fine-bore", Ability.MILL_THREAD: "thread-mill", Ability.TAP: "tap",
}
# What a hole is taken to be off by, in words of what to do about it, mm.
OFF = 0.01


def holes_of(job: Job, setup: Setup, layout: FlatLayout, say: Words) -> tuple[HoleStep, ...]:
    """The table of one setup of a plate; nothing for other parts."""
    if not isinstance(job.part, Plate):
        return ()
    made: dict[str, int] = {}
    threaded: dict[str, int] = {}
    holes = {hole.name: hole for hole in (*layout.part.holes, *layout.part.blind)}
    for number, step in enumerate(setup.steps):
        says = step.declares()
        for hole in holes.values():
            if any(one.holes.means(hole.name, hole.group) for one in says.holes):
                made[hole.name] = number
            if layout.part.thread_in(hole) is not None and any(
                    one.holes.means(hole.name, hole.group) for one in says.threads):
                threaded[hole.name] = number
    finished = {**made, **threaded}
    return tuple(
        HoleStep(
            say("holes", "step", number=number + 1, title=say.say(_title(step)),
                cutter=step.cutter),
            _correction(job, step, say),
            tuple(_lines(job, layout.part, [holes[name] for name in names], say,
                         threads=step.declares().makes_a(MakesThreads))),
        )
        for number, step in enumerate(setup.steps)
        if (names := [name for name in holes if finished.get(name) == number])
    )


def _title(step: StepWords) -> Message:
    """What the step is called on the sheet: threads that are milled go by what they are."""
    if any(one.round for one in step.declares().threads):
        return Message("thread")
    return step.called


def _lines(
    job: Job, part: PartShape, holes: Sequence[Hole], say: Words, *, threads: bool
) -> Iterator[HoleLine]:
    """A line for every hole that has limits, and one for all alike of those that have none."""
    for group in dict.fromkeys(hole.group or hole.name for hole in holes):
        alike = [hole for hole in holes if (hole.group or hole.name) == group]
        fitted = [hole for hole in alike if limits_reported(job, hole) is not None]
        rest = [hole for hole in alike if hole not in fitted]
        for hole in fitted:
            limits = limits_reported(job, hole)
            assert limits is not None
            yield HoleLine(
                hole.name, 1, hole.x, hole.y, hole.diameter, limits, hole.depth,
                say("holes", "plug", least=f"{limits[0]:.3f}", most=f"{limits[1]:.3f}"),
                _end_shake(job, hole, say))
        if rest:
            first = rest[0]
            name = first.name if len(rest) == 1 else say(
                "holes", "from-to", first=first.name, last=rest[-1].name.removeprefix(group))
            thread = part.thread_in(first) if threads else None
            gauge = "" if thread is None else say(
                "holes", "thread-gauge", size=f"{thread.diameter:g} × {thread.pitch:g}")
            yield HoleLine(name, len(rest), first.x if len(rest) == 1 else None,
                           first.y if len(rest) == 1 else None, first.diameter, None, first.depth,
                           gauge, _end_shake(job, first, say))


def _correction(job: Job, step: StepWords, say: Words) -> str:
    """What to do when holes of a step measure too large or too small."""
    says = step.declares()
    if not any(one.added == "diameter" for one in says.corrections):
        told = next((word for able, word in CORRECT.items() if able in says.by), None)
        return "" if told is None else say("holes", f"correct-{told}", cutter=step.cutter)
    inches = job.units == "inch"
    unit, places = (MM_PER_INCH, 4) if inches else (1.0, 3)
    has = says.added("diameter")

    def value(mm: float) -> str:
        return f"{mm / unit:.{places}f}".rstrip("0").rstrip(".") or "0"

    return say("holes", "correct-bore", off=f"{OFF:g}", more=value(has + OFF),
               less=value(has - OFF), now=value(has))


def _end_shake(job: Job, hole: Hole, say: Words) -> str:
    """What end-shake a jewel's seat gives, and what to change its depth by; nothing else."""
    plate = job.part
    if not isinstance(plate, Plate):
        return ""
    jewel = plate.jewels.get(hole.group or hole.name)
    if jewel is None or jewel.end_shake is None or hole.depth is None:
        return ""
    shake = jewel.end_shake
    usual = usual_end_shake(shake.arbor_of)
    gives = end_shake_at(shake, hole.depth, plate.thickness)
    told = say("holes", "end-shake", gives=f"{gives:.3f}", least=f"{usual.least:g}",
               most=f"{usual.most:g}")
    if not usual.least - 1e-9 <= gives <= usual.most + 1e-9:
        told += " " + say("holes", "end-shake-unusual")
    way = "deeper" if deeper_gives_more(shake) else "shallower"
    return f"{told} {say('holes', f'end-shake-{way}', off=f'{OFF:g}')}"
