"""Boring with a bar set to size: down at the feed and out at the feed, the spindle turning on.

The hole is as large as the bar is set, and as round and as straight as the spindle runs. What the
bar leaves on the way down it takes on the way up, and it draws no line. Where a machine can stop
its spindle always turned the same way, the bar may instead be moved off the wall and drawn out.
"""

from typing import ClassVar, Literal

from pydantic import Field

from camgen.faults import Fault, Refused, no_less
from camgen.job.models import StepWords
from camgen.job.order.holes_made import aimed_at, of_its_size
from camgen.messages import Message
from camgen.moves import Drill, Move
from camgen.part.declaration import Declaration, FindsHoles, MakesHoles, Named
from camgen.part.features import Hole
from camgen.shop.cutters import Ability
from camgen.shop.model import Length
from camgen.steps.cuts import boring
from camgen.steps.holes.which_holes import (
    bottom_of,
    centres,
    drilled_in,
    holes_chosen,
    names_without_hole,
)
from camgen.steps.kind import FlatBench, PlannedStep, StepKind
from camgen.steps.moving import away

__all__ = ["FINE_BORE", "FineBore"]

# Turns the bar makes at a floor, so that it comes out flat. Common practice, no source.
TURNS = 3.0


class FineBore(StepWords):
    """Bring holes to size with a boring bar: the cutter's diameter is what the bar is set to."""

    kind: ClassVar[str] = "fine-bore"
    called: ClassVar[Message] = Message("fine bore")
    holes: tuple[str, ...] = Field(min_length=1, description="names of holes")
    drilled: Length | None = Field(
        None, description="diameter of the hole already there; else as the steps before make it"
    )
    spring_passes: int = Field(
        0, ge=0, le=5, description="times down and out again at the same setting"
    )
    come_out: Literal["feed", "stopped"] = Field(
        "feed",
        description="feed: as it went in; stopped: spindle stopped where the machine file says, "
        "the bar moved off the wall and drawn out",
    )

    def declares(self) -> Declaration:
        """Holes as wide as the bar is set, which its shank goes into."""
        holes = Named(self.holes)
        return Declaration((MakesHoles(holes, "as the cutter"),), (Ability.BORE,),
                           (FindsHoles(holes, "cutter", self.drilled),))


def _bottom(bench: FlatBench, hole: Hole) -> tuple[float, list[Fault]]:
    """The Z of the tip: a corner that is not sharp must pass a lower face, not a floor."""
    return bottom_of(bench, hole, bench.cutter.corner_radius if hole.depth is None else 0.0)


def _aside(bench: FlatBench, words: FineBore, hole: Hole) -> tuple[float, float]:
    """How far in X and Y the bar goes off the wall: half the room that its shank leaves it."""
    if words.come_out == "feed":
        return 0.0, 0.0
    room = (hole.diameter - (bench.cutter.shank or 0.0)) / 2
    tip = bench.machine.spindle_words.tip_at
    off = -room / 2 if tip[0] == "+" else room / 2
    return (off, 0.0) if tip[1] == "X" else (0.0, off)


def _stopping(bench: FlatBench, words: FineBore) -> list[Fault]:
    """What stands against drawing the bar out with the spindle stopped."""
    if words.come_out == "feed":
        return []
    faults: list[Fault] = []
    if bench.machine.spindle_words.oriented_stop is None:
        faults.append(
            Fault(
                Message("the machine file {machine} does not say that its spindle stops turned one "
                        "way", machine=bench.machine.name),
                Message("`come-out: feed`; where it can, say {words} in the machine file",
                        words="spindle-words: {oriented-stop: …, tip-at: …}"),
                bench.place("come-out"),
            )
        )
    if bench.cutter.shank is None:
        faults.append(
            Fault(
                Message("how far the bar may go off the wall hangs on its shank, and none is said"),
                Message("say shank: with the cutter"),
                bench.place("come-out"),
            )
        )
    return faults


def check(bench: FlatBench, words: FineBore) -> list[Fault]:
    """Faults seen without planning."""
    faults = bench.need() + names_without_hole(bench, words.holes)
    cutter, holes = bench.cutter, holes_chosen(bench.layout, words.holes)
    for hole in holes:
        if not of_its_size(hole, cutter.diameter):
            faults.append(
                Fault(
                    Message("the bar is set to {set:g} mm and hole {hole} shall be {size}",
                            set=cutter.diameter, hole=hole.name, size=aimed_at(hole)),
                    Message("set it so, and say diameter: {diameter:g} with the cutter",
                            diameter=hole.diameter),
                    bench.place("cutter"),
                )
            )
        faults += _bottom(bench, hole)[1]
    drilled = drilled_in(bench, words.drilled, holes)
    if drilled >= cutter.diameter:
        faults.append(
            Fault(
                Message("a hole of {drilled:g} mm leaves nothing for a bar set to {set:g} mm",
                        drilled=drilled, set=cutter.diameter),
                Message("drill smaller"),
                bench.place("drilled"),
            )
        )
    if cutter.shank is not None and cutter.shank >= drilled:
        faults.append(
            Fault(
                Message("a bar of {shank:g} mm does not go into a hole of {diameter:g} mm",
                        shank=cutter.shank, diameter=drilled),
                Message("a thinner bar, or a larger hole before it"),
                bench.place("cutter"),
            )
        )
    return list(dict.fromkeys((*faults, *_stopping(bench, words))))


def plan(bench: FlatBench, words: FineBore) -> PlannedStep:
    """Each hole in one stroke, and again where it shall be sprung."""
    layout, cutter = bench.layout, bench.cutter
    holes = holes_chosen(layout, words.holes)
    bottoms = {hole.name: _bottom(bench, hole)[0] for hole in holes}
    stock = (cutter.diameter - drilled_in(bench, words.drilled, holes)) / 2
    cut = boring(bench, layout.face - min(bottoms.values()), stock)
    if cut.passes > 1:
        raise Refused(
            Fault(
                Message("the bar takes {width:.3f} mm off the radius at once and {stock:.3f} mm "
                        "are there", width=cut.width, stock=stock),
                Message("a hole of {least} mm before it, or a step before it with the bar set "
                        "smaller", least=no_less(cutter.diameter - 2 * cut.width)),
                bench.place("drilled"),
            )
        )
    moves: list[Move] = away(layout)
    for hole, centre in centres(bench, holes):
        stroke = Drill(
            centre.x,
            centre.y,
            clearance=layout.face + layout.clearance,
            bottom=bottoms[hole.name],
            feed=cut.feed,
            travel=layout.safe_height,
            dwell=0.0 if hole.depth is None else round(60.0 * TURNS / cut.speed, 3),
            feed_out=words.come_out == "feed",
            aside=_aside(bench, words, hole),
        )
        moves += [stroke] * (1 + words.spring_passes)
    moves += away(layout)
    return PlannedStep(bench.section(words.called, cut.speed, moves), cut,
                       _setting(bench, words))


def _setting(bench: FlatBench, words: FineBore) -> tuple[Message, ...]:
    """How the bar is set: over its back and its tip, half of both diameters together."""
    if words.come_out == "stopped":
        return (*_set_to(bench), Message("put the bar {cutter} in so that its tip points to "
                                         "{tip_at} when the spindle is stopped by "
                                         "{oriented_stop}; try it in air", cutter=words.cutter,
                                         tip_at=bench.machine.spindle_words.tip_at,
                                         oriented_stop=bench.machine.spindle_words.oriented_stop))
    return _set_to(bench)


def _set_to(bench: FlatBench) -> tuple[Message, ...]:
    cutter = bench.cutter
    if cutter.shank is None:
        return (Message("set the bar {cutter} to {diameter:.3f} mm on a scrap hole, from below",
                        cutter=bench.words.cutter, diameter=cutter.diameter),)
    over = (cutter.diameter + cutter.shank) / 2
    return (Message("set the bar {cutter} to {diameter:.3f} mm: {over:.3f} mm over its tip and "
                    "the back of its shank of {shank:.3f}; then a scrap hole, from below",
                    cutter=bench.words.cutter, diameter=cutter.diameter, over=over,
                    shank=cutter.shank),)


FINE_BORE = StepKind("fine-bore", FineBore, check, plan)
