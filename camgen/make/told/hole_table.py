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
from camgen.sheet.data import HoleLine, HoleStep, HoleTable
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


def holes_of(job: Job, setup: Setup, layout: FlatLayout, say: Words) -> HoleTable:
    """The table of one setup of a plate; nothing for other parts."""
    if not isinstance(job.part, Plate):
        return HoleTable()
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
    steps = tuple(
        HoleStep(
            say("holes", "step", number=number + 1, title=say.say(_title(step)),
                cutter=step.cutter),
            _correction(job, step, say),
            tuple(_lines(job, layout, [holes[name] for name in names], say,
                         threads=step.declares().makes_a(MakesThreads))),
        )
        for number, step in enumerate(setup.steps)
        if (names := [name for name in holes if finished.get(name) == number])
    )
    return HoleTable(steps, _counted(layout, say))


def _title(step: StepWords) -> Message:
    """What the step is called on the sheet: threads that are milled go by what they are."""
    if any(one.round for one in step.declares().threads):
        return Message("thread")
    return step.called


def _counted(layout: FlatLayout, say: Words) -> str:
    """Where the X and Y of the table count from: the setup's zero for a piece alone, as its program
    has them; for several pieces each piece's own, with the place of the first."""
    if len(layout.places) == 1:
        return say("holes", "from-zero")
    x, y = layout.places[0]
    return say("holes", "from-piece", x=f"{x:.3f}", y=f"{y:.3f}")


def _lines(
    job: Job, layout: FlatLayout, holes: Sequence[Hole], say: Words, *, threads: bool
) -> Iterator[HoleLine]:
    """A line for every hole, with its place; of those alike the first alone says how it is gauged.
    """
    zero = layout.places[0] if len(layout.places) == 1 else (0.0, 0.0)
    told: set[tuple[str, str, str]] = set()
    for hole in holes:
        thread = layout.part.thread_in(hole) if threads else None
        limits = None if thread is not None else limits_reported(job, hole)
        gauge = ""
        if thread is not None:
            gauge = say("holes", "thread-gauge", size=f"{thread.diameter:g} × {thread.pitch:g}")
        elif limits is not None:
            gauge = say("holes", "plug", least=f"{limits[0]:.3f}", most=f"{limits[1]:.3f}")
        shake = _end_shake(job, hole, say)
        again = (hole.group, gauge, shake) in told
        told.add((hole.group, gauge, shake))
        yield HoleLine(
            hole.name, hole.x + zero[0], hole.y + zero[1], hole.diameter, limits, hole.depth,
            "" if again and limits is None else gauge, "" if again else shake)


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
