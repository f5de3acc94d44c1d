"""Whether the cutter's ways in a flat setup lie within the machine's travel, told by its cause.

What has to be gone round or gone to is looked at before anything is planned, and the ways as
planned after it. What the motion that is read back goes through in all is for the proofs. Where the
stations of a fixture lie to each other is looked at by them too. Lengths mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from camgen.faults import Fault, Place, no_more
from camgen.job.models import Job, Setup
from camgen.layout import FlatLayout, place_of
from camgen.messages import Message
from camgen.moves import Arc, Drill, Feed, Rapid, Section, Touch
from camgen.part.declaration import MakesFace, MakesOpenings, MakesOutline
from camgen.shop.machine import Machine
from camgen.tolerances import LEAST_INCREMENT
from camgen.values import dataclass

__all__ = ["asked_beyond_travel", "planned_beyond_travel"]



@dataclass(frozen=True)
class _Span:
    """The least and the greatest of one axis, and the number of the step that goes there."""

    low: float = math.inf
    high: float = -math.inf
    lowest: int = 0
    highest: int = 0

    def with_(self, low: float, high: float, step: int) -> _Span:
        return _Span(
            min(self.low, low), max(self.high, high),
            step if low < self.low else self.lowest, step if high > self.high else self.highest)

    @property
    def wide(self) -> float:
        return self.high - self.low


def asked_beyond_travel(
    job: Job, setup: Setup, layout: FlatLayout, machine: Machine
) -> list[Fault]:
    """Outlines, openings and holes that lie farther apart than the machine's table travels."""
    spans = {"X": _Span(), "Y": _Span()}
    for step, words in enumerate(setup.steps):
        radius = job.cutters[words.cutter].diameter / 2
        for low_x, low_y, high_x, high_y in _asked(layout, words.declares().makes, radius):
            for x, y in layout.places:
                spans["X"] = spans["X"].with_(x + low_x, x + high_x, step)
                spans["Y"] = spans["Y"].with_(y + low_y, y + high_y, step)
    return _beyond(job, setup, layout, machine, spans)


def _asked(
    layout: FlatLayout, makes: Sequence[object], radius: float
) -> Iterator[tuple[float, float, float, float]]:
    """The boxes, in the part's frame, that a cutter's centre at least comes to the sides of."""
    part = layout.part
    for made in makes:
        match made:
            case MakesOutline():
                low_x, low_y, high_x, high_y = part.outline.region(LEAST_INCREMENT).bounds
                yield (low_x, low_y, high_x, high_y)
            case MakesOpenings():
                for name, path in zip(part.opening_names, part.openings, strict=False):
                    if made.openings.means(name):
                        low_x, low_y, high_x, high_y = path.region(LEAST_INCREMENT).bounds
                        inside = min(2 * radius, (high_x - low_x) / 2, (high_y - low_y) / 2)
                        yield (low_x + inside, low_y + inside, high_x - inside, high_y - inside)


def planned_beyond_travel(
    job: Job, setup: Setup, layout: FlatLayout, machine: Machine, sections: Iterable[Section]
) -> list[Fault]:
    """Ways as planned that go farther along an axis than it travels."""
    spans = {"X": _Span(), "Y": _Span(), "Z": _Span()}
    for section in sections:
        ways = tuple(_ways(section))
        for at, axis in enumerate("XYZ"):
            # An axis that has not been spoken of yet is nowhere.
            least = min((low[at] for low, _ in ways if not math.isnan(low[at])), default=math.nan)
            most = max((high[at] for _, high in ways if not math.isnan(high[at])), default=math.nan)
            spans[axis] = spans[axis].with_(least, most, section.step)
    return _beyond(job, setup, layout, machine, spans)


Place3 = tuple[float, float, float]


def _ways(section: Section) -> Iterator[tuple[Place3, Place3]]:
    """The least and the greatest coordinates of each move."""
    x = y = z = math.nan
    for move in section.moves:
        match move:
            case Rapid() | Feed():
                x, y, z = (old if new is None else new
                           for old, new in ((x, move.x), (y, move.y), (z, move.z)))
                yield (x, y, z), (x, y, z)
            case Touch():
                past = move.to + move.sign * move.beyond
                x, y, z = (past if move.axis == axis else old
                           for axis, old in zip("XYZ", (x, y, z), strict=True))
                yield (x, y, z), (x, y, z)
            case Drill():
                x, y, z = move.x, move.y, move.travel
                yield ((min(x, x + move.aside[0]), min(y, y + move.aside[1]), move.bottom),
                       (max(x, x + move.aside[0]), max(y, y + move.aside[1]), z))
            case Arc():
                begin = (x, y)
                x, y, z = (old if new is None else new
                           for old, new in ((x, move.x), (y, move.y), (z, move.z)))
                yield (x, y, z), (x, y, z)
                if move.plane == "XY":
                    yield from (((*one, z), (*one, z)) for one in _outermost(begin, (x, y), move))
            case _:
                pass


def _outermost(
    begin: tuple[float, float], end: tuple[float, float], arc: Arc
) -> Iterator[tuple[float, float]]:
    """The places at whole quarter turns that an arc passes."""
    (x, y), radius = arc.centre, math.dist(begin, arc.centre)
    first = math.atan2(begin[1] - y, begin[0] - x)
    last = math.atan2(end[1] - y, end[0] - x)
    if arc.clockwise:
        first, last = last, first
    sweep = math.tau if arc.full else (last - first) % math.tau
    for across, up in ((1, 0), (0, 1), (-1, 0), (0, -1)):
        if (math.atan2(up, across) - first) % math.tau <= sweep:
            yield x + radius * across, y + radius * up


def _beyond(
    job: Job, setup: Setup, layout: FlatLayout, machine: Machine, spans: dict[str, _Span]
) -> list[Fault]:
    faults = []
    for axis, span in spans.items():
        travel = machine.axis(axis).travel
        if span.wide > travel + LEAST_INCREMENT:
            what, remedy, place = _cause(job, setup, layout, axis, span, span.wide - travel)
            faults.append(Fault(
                Message("{what} {wide:.1f} mm along {axis} and {machine} travels {travel:g} mm",
                        what=what, wide=span.wide, axis=axis, machine=machine.name,
                        travel=travel), remedy, place, (f"{axis.lower()}.travel",)))
    return faults


def _cause(
    job: Job, setup: Setup, layout: FlatLayout, axis: str, span: _Span, over: float
) -> tuple[Message, Message, Place]:
    """What takes so much, ``over`` more than there is; what to do; its place in the job file."""
    if axis == "Z":
        word = "safe-height" if "safe_height" in setup.model_fields_set else "clearance"
        return (Message("from the safe height to the lowest cut are"),
                Message("safe-height: {most} or less, or name another machine file under post:",
                        most=no_more(setup.safe_height - over)),
                place_of(job, setup, word))
    facing = any(setup.steps[step].declares().makes_a(MakesFace)
                 for step in (span.lowest, span.highest))
    if facing:
        return (Message("facing the stock takes the cutter"),
                Message("smaller stock or a smaller cutter, or name another machine file under "
                        "post:"),
                place_of(job, setup, "stock"))
    if len(layout.places) > 1:
        return (Message("the pieces take the cutter"),
                Message("fewer pieces in repeat, or name another machine file under post:"),
                place_of(job, setup, "repeat"))
    return (Message("the {part} takes the cutter", part=job.part.word),
            Message("a smaller {part}, or name another machine file under post:",
                    part=job.part.word),
            Place(path=job.part.word))
