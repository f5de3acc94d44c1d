"""Facing: the stock taken down to a thickness, over all of it, before anything else is cut.

The cutter goes over the stock in straight rows that begin and end beside it, so it is never set
down into metal; level by level where the planner wants more than one. What is cut afterwards
counts its depths from the face so made.
"""

import math
from typing import ClassVar, Literal

import shapely
from pydantic import Field

from camgen.faults import Fault
from camgen.job.models import StepWords
from camgen.layout import FlatLayout
from camgen.messages import Message
from camgen.moves import Feed, Move, Rapid
from camgen.part.declaration import Declaration, MakesFace
from camgen.part.plates.plate import Plate
from camgen.shop.cutters import Ability
from camgen.shop.model import Length
from camgen.steps.cuts import milling
from camgen.steps.kind import FlatBench, PlannedStep, StepKind
from camgen.steps.moving import Feeds, away, enter
from camgen.values import dataclass

__all__ = ["FACE", "FaceStep", "rows_over"]

# Step-over as a share of the width that cuts flat, unless the job says; and how much of the
# cutter's diameter the rows go past the stock's edge. Common practice, no source.
WIDTH_SHARE = 0.7
PAST_SHARE = 0.05


class FaceStep(StepWords):
    """Take the stock down to a thickness, over all of it."""

    kind: ClassVar[str] = "face"
    called: ClassVar[Message] = Message("face")
    to: Length | None = Field(None, description="thickness to leave; else that of the plate")
    width: Length | None = Field(None, description="from one row to the next; else planned")
    direction: Literal["both", "climb", "conventional"] = Field(
        "both", description="both: to and fro; climb or conventional: all rows one way"
    )

    def declares(self) -> Declaration:
        """The face that looks up."""
        return Declaration((MakesFace(self.to),), (Ability.MILL_FLOOR,))


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the cutter's centre: Y, and X from and to, the lesser first."""

    y: float
    begin: float
    end: float


def rows_over(
    stock: shapely.Polygon, radius: float, flat: float, width: float, clear: float
) -> tuple[Row, ...]:
    """Rows no further than ``width`` mm apart that together cover the stock, from the front.

    ``radius`` is the cutter's, ``flat`` that of the part of it that cuts flat; the rows begin and
    end ``clear`` mm off the metal in their way.

    >>> rows = rows_over(shapely.box(0, 0, 10, 4), 1.5, 1.5, 2.0, 0.5)
    >>> [(round(row.y, 3), row.begin, row.end) for row in rows]
    [(-0.117, -2.0, 12.0), (1.267, -2.0, 12.0), (2.65, -2.0, 12.0)]
    """
    left, front, right, back = stock.bounds
    span = back - front + PAST_SHARE * 2 * radius
    count = max(1, math.ceil(span / width - 1e-9))
    rows = []
    for number in range(count):
        y = front - flat + (number + 1) * span / count
        near = radius + clear
        met = stock.intersection(shapely.box(left - 1, y - near, right + 1, y + near))
        x0, _, x1, _ = met.bounds if not met.is_empty else stock.bounds
        rows.append(Row(y, x0 - radius - clear, x1 + radius + clear))
    return tuple(rows)


def _flat(bench: FlatBench) -> float:
    """Radius of the part of the cutter that cuts flat, mm."""
    return bench.cutter.diameter / 2 - bench.cutter.corner_radius


def _width(bench: FlatBench, words: FaceStep) -> float:
    return WIDTH_SHARE * 2 * _flat(bench) if words.width is None else words.width


def check(bench: FlatBench, words: FaceStep) -> list[Fault]:
    """Faults seen without planning."""
    layout = bench.layout
    faults = bench.need()
    thickness = layout.top - layout.bottom
    if not isinstance(bench.job.part, Plate):
        faults.append(Fault(Message("only plates are faced"),
                            Message("turn blanks of wheels to thickness"), bench.place()))
    elif layout.over <= 0:
        to = bench.job.part.thickness if words.to is None else words.to
        faults.append(
            Fault(
                Message("nothing to face: the stock is {thickness:g} mm thick, and {to:g} mm are "
                        "to be left", thickness=thickness, to=to),
                Message("thicker stock, a smaller `to`, or leave the step out"),
                bench.place("to"),
            )
        )
    if bench.number:
        faults.append(
            Fault(
                Message("the face is cut after other steps of its setup"),
                Message("put `face` first: all depths count from the face it makes"),
                bench.place(),
            )
        )
    if _width(bench, words) > 2 * _flat(bench) + 1e-9:
        faults.append(
            Fault(
                Message("rows {width:g} mm apart leave ridges: the cutter cuts flat over {flat:g} "
                        "mm", width=words.width, flat=2 * _flat(bench)),
                Message("`width: {width:.2g}`", width=WIDTH_SHARE * 2 * _flat(bench)),
                bench.place("width"),
            )
        )
    reached = layout.stock.buffer(bench.cutter.diameter + layout.clearance)
    faults += [
        Fault(
            Message("the clamp at X {x0:g} to {x1:g}, Y {y0:g} to {y1:g} stands where the face is "
                    "cut", x0=x0, x1=x1, y0=y0, y1=y1),
            Message("hold the stock by what lies beneath it, or face it in a setup without clamps"),
            bench.place(),
        )
        for x0, y0, x1, y1 in (clamp.plan.bounds for clamp in layout.clamps
                               if clamp.top > layout.face and clamp.plan.intersects(reached))
    ]
    return faults


def plan(bench: FlatBench, words: FaceStep) -> PlannedStep:
    """Level by level, row by row."""
    layout, cutter = bench.layout, bench.cutter
    radius = cutter.diameter / 2
    rows = rows_over(layout.stock, radius, _flat(bench), _width(bench, words), layout.clearance)
    cut = milling(bench, _width(bench, words), layout.over)
    feeds = Feeds.on(bench.machine, cut.feed, cut.plunge_feed, radius)
    moves: list[Move] = away(layout)
    for level in range(1, cut.passes + 1):
        bottom = layout.top - layout.over * level / cut.passes
        moves += _level(layout, rows, bottom, feeds, words.direction)
    to = layout.face - layout.bottom
    rows_run = {
        "both": Message("face: rows to and fro, climb and conventional by turns"),
        "climb": Message("{title}: climb milling", title=words.called),
        "conventional": Message("{title}: conventional milling", title=words.called),
    }
    remarks = (
        rows_run[words.direction],
        Message("face: measure the thickness by three edges before the next step: {to:.3f} mm. "
                "Too thick: lower the zero of Z by as much and face again", to=to),
    )
    return PlannedStep(bench.section(words.called, cut.speed, moves), cut, remarks)


def _level(
    layout: FlatLayout, rows: tuple[Row, ...], bottom: float, feeds: Feeds, direction: str
) -> list[Move]:
    """All rows at one height."""
    moves: list[Move] = []
    for number, row in enumerate(rows):
        # Going +X the metal still to come lies on the left, where the edges run with the feed.
        forward = number % 2 == 0 if direction == "both" else direction == "conventional"
        begin, end = (row.begin, row.end) if forward else (row.end, row.begin)
        if direction != "both" or number == 0:
            moves += [
                Rapid(z=layout.safe_height),
                Rapid(x=begin, y=row.y),
                Rapid(z=layout.top + layout.clearance),
                *enter(feeds, bottom, cleared=True),
            ]
        if direction == "both":
            # The way over to the next row lies beside the metal of both.
            beside = [row, rows[number + 1]] if number + 1 < len(rows) else [row]
            end = (max(one.end for one in beside) if forward
                   else min(one.begin for one in beside))
        moves.append(Feed(feeds.along, x=end, y=row.y))
        if direction == "both" and number + 1 < len(rows):
            moves.append(Feed(feeds.along, x=end, y=rows[number + 1].y))
    moves += away(layout)
    return moves


FACE = StepKind("face", FaceStep, check, plan)
