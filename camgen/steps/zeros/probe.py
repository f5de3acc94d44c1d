"""Probing: the zero set by a face, by the middle of a hole, or by an edge of the stock.

Where the machine file has the control's words for a probe, the program touches: slowly, with the
spindle still, no further than the zero may be off. Else it stops, and says what to touch or to
indicate by hand and what to set; then nothing moves but the way clear.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator
from typing import ClassVar, Final, Literal, Self

import shapely
from pydantic import Field, model_validator

from camgen.cutting.planner import CutPlan
from camgen.faults import Fault, no_less, no_more
from camgen.job.models import StepWords
from camgen.messages import Message
from camgen.moves import Axis, Feed, Move, Pause, Rapid, Touch
from camgen.part.declaration import Declaration, FindsHoles, MakesFace, Named, SetsZero
from camgen.part.features import Hole
from camgen.part.plates.place_words import HoleName
from camgen.shop.cutters import Ability, reach_of
from camgen.shop.machine import Machine, Probing
from camgen.shop.model import Coordinate, Length
from camgen.steps.holes.which_holes import all_holes, holes_chosen, names_without_hole, too_short
from camgen.steps.kind import FlatBench, PlannedStep, StepKind
from camgen.yamlfile.length_units import MM_PER_INCH

__all__ = ["PROBE", "Probe"]

# The ball's middle lies so far below the upper edge of a wall that it touches, mm more than its
# radius; and its lowest point so far above what is beneath. Common practice, no source.
BELOW, ABOVE = 0.3, 0.1
# Room that a ball has in a hole at least, on the radius, mm. Common practice, no source.
ROOM = 0.1
# A ball is wider than its stem by so much at least, mm. Common practice, no source.
STEM = 0.1
# Each axis of a hole is touched so often: what the first left off the middle of the other axis
# shows in it by its square over the diameter, and again in the next by the square of that.
ROUNDS = 2

Edge = Literal["left", "right", "front", "back"]
# Along which axis an edge is touched, and towards which places.
_EDGES: Final[dict[Edge, tuple[Axis, Literal[1, -1]]]] = {
    "left": ("X", 1), "right": ("X", -1), "front": ("Y", 1), "back": ("Y", -1)}
_NUMBER: Final[dict[Axis, int]] = {"X": 0, "Y": 1, "Z": 2}


class Probe(StepWords):
    """Set a zero by a face, the middle of a hole, or an edge of the stock."""

    kind: ClassVar[str] = "probe"
    called: ClassVar[Message] = Message("probe")
    face: tuple[Coordinate, Coordinate] | None = Field(
        None,
        description="zero of Z by the face that looks up: x, y of the place, from the setup's zero",
    )
    hole: HoleName | None = Field(
        None, description="zero of X and Y by the middle of this hole, of the first piece"
    )
    edge: Edge | None = Field(
        None, description="zero of X by the left or right edge of the stock, of Y by front or back"
    )
    along: Coordinate | None = Field(
        None, description="where along the edge, from the setup's zero; else at its middle"
    )
    depth: Length | None = Field(
        None, description="how far below the face the probe's end goes, in holes and at edges; "
        "else as little as will do"
    )

    @model_validator(mode="after")
    def one_thing(self) -> Self:
        """Refuse a step that says nothing to touch, or several things, or words for another."""
        said = [word for word in ("face", "hole", "edge") if getattr(self, word) is not None]
        if len(said) != 1:
            raise ValueError(Message("say one of face, hole and edge: what the zero is set by"))
        for word, by in (("along", ("edge",)), ("depth", ("edge", "hole"))):
            if getattr(self, word) is not None and said[0] not in by:
                raise ValueError(Message("{word} says nothing beside {other}: leave it out",
                                         word=word, other=said[0]))
        return self

    @property
    def axes(self) -> tuple[Axis, ...]:
        """The axes whose zero is set."""
        if self.edge is not None:
            return (_EDGES[self.edge][0],)
        return ("X", "Y") if self.hole is not None else ("Z",)

    def declares(self) -> Declaration:
        """A zero set; a hole must be open for it."""
        finds = () if self.hole is None else (
            FindsHoles(Named((self.hole,)), "cutter", depth=self.depth),)
        return Declaration((SetsZero(self.axes),), (Ability.TOUCH,), finds)


# --- where ----------------------------------------------------------------------------------------


def _surface(bench: FlatBench) -> float:
    """Z of the face that looks up, as the steps before left it."""
    faced = any(step.declares().makes_a(MakesFace) for step in bench.setup.steps[:bench.number])
    return bench.layout.face if faced else bench.layout.top


def _end(bench: FlatBench, words: Probe) -> float:
    """Z of the ball's lowest point where it touches a wall."""
    deep = words.depth if words.depth is not None else bench.cutter.diameter / 2 + BELOW
    return _surface(bench) - deep


def _hole(bench: FlatBench, words: Probe) -> Hole:
    return holes_chosen(bench.layout, (words.hole or "",))[0]


def _middle(bench: FlatBench, words: Probe) -> tuple[float, float]:
    """The middle of the hole on the first piece, in the setup's frame."""
    (x, y), hole = bench.layout.places[0], _hole(bench, words)
    return x + hole.x, y + hole.y


def _on_edge(bench: FlatBench, edge: Edge, along: float | None) -> tuple[float, float] | None:
    """The place of an edge that is touched, X and Y; None where the stock is not there."""
    stock = bench.layout.stock
    left, front, right, back = stock.bounds
    axis, sign = _EDGES[edge]
    if axis == "X":
        other = (front + back) / 2 if along is None else along
        line = shapely.LineString([(left - 1, other), (right + 1, other)])
    else:
        other = (left + right) / 2 if along is None else along
        line = shapely.LineString([(other, front - 1), (other, back + 1)])
    met = stock.intersection(line)
    if met.is_empty or met.length <= 0:
        return None
    low_x, low_y, high_x, high_y = met.bounds
    if axis == "X":
        return (low_x if sign > 0 else high_x), other
    return other, (low_y if sign > 0 else high_y)


# --- what is wrong with it ------------------------------------------------------------------------


def check(bench: FlatBench, words: Probe) -> list[Fault]:
    """Faults seen without planning."""
    faults = bench.need() + list(_unheard(bench, words))
    if words.hole is not None:
        faults += _one_hole(bench, words.hole)
    if words.face is not None and bench.machine.offsets.length == "touch-off":
        faults.append(Fault(
            Message("the zero of Z is set for each cutter at its own stop (offsets.length: "
                    "touch-off in the machine file), and the probe's would be lost with it"),
            Message("leave this step out; or write offsets.length: table where the control has "
                    "one"), bench.place("face")))
    if not faults and words.edge is not None and (
            _on_edge(bench, words.edge, words.along) is None):
        faults.append(Fault(Message("the stock has no edge there"),
                            Message("along: within the stock, or leave it out"),
                            bench.place("along")))
    if not faults and words.face is not None:
        faults += _under_the_probe(bench, words.face)
    if not faults and bench.machine.probing is not None:
        faults += _touching_faults(bench, words, bench.machine.probing)
    return faults


def _unheard(bench: FlatBench, words: Probe) -> Iterator[Fault]:
    """Words that every step has, and this one takes no notice of."""
    if words.speed is not None:
        yield Fault(Message("speed: changes nothing: a probe stands still"),
                    Message("leave speed: out"), bench.place("speed"))
    if words.feed is not None:
        yield Fault(Message("feed: changes nothing: a probe is fed as the machine file says"),
                    Message("leave feed: out; probing.feed in the machine file says it"),
                    bench.place("feed"))


def _one_hole(bench: FlatBench, name: str) -> list[Fault]:
    """A name that is no hole's of this face, or that of several."""
    found = [dataclasses.replace(fault, place=bench.place("hole"))
             for fault in names_without_hole(bench, (name,))]
    named = [one for one in all_holes(bench.layout) if name in (one.name, one.group)]
    if not found and len(named) > 1:
        return [Fault(Message("{name} is the name of {count} holes, and a zero is set by one",
                              name=name, count=len(named)),
                      Message("name one of them: {names}",
                              names=tuple(one.name for one in named[:6])), bench.place("hole"))]
    return found


def _under_the_probe(bench: FlatBench, place: tuple[float, float]) -> list[Fault]:
    """No metal under the whole ball: beside the stock, or over what is open or will be."""
    layout = bench.layout
    ball = shapely.Point(place).buffer(bench.cutter.diameter / 2)
    if not layout.stock.contains(ball):
        return [Fault(Message("the probe, {diameter:g} mm, would not stand on the stock there",
                              diameter=bench.cutter.diameter),
                      Message("a place further in, counted from the setup's zero"),
                      bench.place("face"))]
    for x, y in layout.places:
        for hole in all_holes(layout):
            if math.dist(place, (x + hole.x, y + hole.y)) < (
                    max(hole.diameter, layout.part.cone_width(hole)) + bench.cutter.diameter) / 2:
                return [Fault(Message("the probe would come down on hole {hole}", hole=hole.name),
                              Message("a place beside it"), bench.place("face"))]
    return []


def _touching_faults(bench: FlatBench, words: Probe, probing: Probing) -> Iterator[Fault]:
    """What stands against touching by program."""
    layout, ball = bench.layout, bench.cutter.diameter
    high = _high(bench, probing)
    if layout.safe_height < high:
        yield Fault(
            Message("at the safe height the probe would be within reach: its zero may be off by "
                    "{search:g} mm", search=probing.search),
            Message("safe-height: {least} or more; or a smaller probing.search in the machine "
                    "file", least=no_less(
                high - layout.top)), bench.place())
    if words.face is not None:
        return
    if bench.cutter.shank is None or bench.cutter.shank > ball - STEM:
        yield Fault(
            Message("the stem must be thinner than the ball of {ball:g} mm, or it touches first",
                    ball=ball),
            Message("say shank: of the probe, {most} or less", most=no_more(ball - STEM)),
            bench.place("cutter"))
    end, surface = _end(bench, words), _surface(bench)
    if surface - end < ball / 2:
        yield Fault(
            Message("{depth:g} mm deep the ball's widest place is above the wall",
                    depth=surface - end),
            Message("depth: {least} or more", least=no_less(ball / 2 + BELOW)),
            bench.place("depth"))
    if words.hole is None:
        floor = layout.bottom
    else:
        hole = _hole(bench, words)
        yield from too_short(bench, hole, end)
        floor = layout.bottom if hole.depth is None else layout.face - hole.depth
        if hole.diameter < ball + 2 * ROOM:
            yield Fault(
                Message("a ball of {ball:g} mm has no room in hole {hole}, {diameter:g} mm",
                        ball=ball, hole=hole.name, diameter=hole.diameter),
                Message("a ball of {most} mm or less", most=no_more(hole.diameter - 2 * ROOM)),
                bench.place("cutter"))
        if layout.part.thread_in(hole) is not None:
            yield Fault(Message("hole {hole} has a thread: its wall is no place to touch",
                                hole=hole.name),
                        Message("another hole, or an edge"), bench.place("hole"))
    if end < floor + ABOVE - 1e-9:
        yield Fault(
            Message("the probe's end would come {deep:.3g} mm deep, and there is room for "
                    "{room:.3g}", deep=surface - end, room=surface - floor - ABOVE),
            Message("a smaller ball, or a smaller depth:"),
            bench.place("depth" if words.depth is not None else "cutter"))
    if reach_of(bench.cutter) <= surface - end:
        yield Fault(
            Message("the probe must go {deep:.3g} mm down beside the stock, and reaches "
                    "{reach:.3g}", deep=surface - end, reach=reach_of(bench.cutter)),
            Message("let it stand out further"), bench.place("cutter"))


# --- what is done ---------------------------------------------------------------------------------


def plan(bench: FlatBench, words: Probe) -> PlannedStep:
    """Touched by program where the control has words for it, else by hand at a stop."""
    layout, probing = bench.layout, bench.machine.probing
    away: Move = Rapid(z=layout.safe_height)
    if probing is None:
        told = _by_hand(bench, words)
        moves: list[Move] = [away, Pause(told), away]
        remarks = _remarks_by_hand(words, told)
    else:
        inner = list(_touched(bench, words, probing))
        stops = bench.machine.change.way == "automatic"
        moves = [away, *([Pause(Message("PROBE PLUGGED IN AND TRIED BY HAND"))] if stops else []),
                 *inner, away, *([Pause(Message("PROBE UNPLUGGED"))] if stops else [])]
        if stops:
            moves.append(away)
        remarks = _remarks(bench, words, probing)
    cut = CutPlan(0.0, 0.0, 0.0, probing.feed if probing else 0.0, 0.0, 0.0, 0.0, (), {}, ())
    return PlannedStep(bench.section(words.called, 0.0, moves), cut, remarks)


def _remarks_by_hand(words: Probe, told: Message) -> tuple[Message, ...]:
    found = [Message("probe: the program stops, and by hand: {told}", told=told)]
    if words.depth is not None:
        found.append(Message("probe: touch the wall {depth:g} mm below the face",
                             depth=words.depth))
    return tuple(found)


def _may_be_off(bench: FlatBench, words: Probe, probing: Probing) -> float:
    """How far the zero may lie off on each axis before, mm, without the ball meeting metal but by
    touching: in a hole the ball must first come down between the walls, and both axes may be off.
    """
    if words.hole is None:
        return probing.search
    room = (_hole(bench, words).diameter - bench.cutter.diameter) / 2
    return min(probing.search, math.floor(room / math.sqrt(2) * 100) / 100)


def _remarks(bench: FlatBench, words: Probe, probing: Probing) -> tuple[Message, ...]:
    axes = " ".join(words.axes)
    return (
        Message("probe: before the start the zero of {axes} must lie within {search:g} mm of where "
                "it shall be", axes=axes, search=_may_be_off(bench, words, probing)),
        Message("probe: try it by hand before, the spindle stands still with it; the program never "
                "starts the spindle while it is in"),
    ) + ((Message("probe: the zero by the hole is as good as its diameter is known: half of what "
                  "that is off shows in X and in Y"),) if words.hole is not None else ())


def _high(bench: FlatBench, probing: Probing) -> float:
    """Z above which nothing is met, however far the zero is off."""
    return _surface(bench) + probing.search + bench.layout.clearance


def _touched(bench: FlatBench, words: Probe, probing: Probing) -> Iterator[Move]:
    """From the safe height to each touch, and out above all that may be met."""
    surface, high = _surface(bench), _high(bench, probing)
    feed, search = probing.feed, probing.search
    machine = bench.machine
    feed = min(feed, machine.x.feed_limit, machine.y.feed_limit, machine.z.feed_limit)
    ball = bench.cutter.diameter / 2
    if words.face is not None:
        yield Rapid(x=words.face[0], y=words.face[1])
        yield Rapid(z=high)
        yield Touch("Z", -1, surface, search, feed)
        yield Feed(feed, z=high)
        return
    end = _end(bench, words)
    if words.edge is not None:
        axis, sign = _EDGES[words.edge]
        place = _on_edge(bench, words.edge, words.along) or (0.0, 0.0)
        touched = place[_NUMBER[axis]] - sign * ball
        before = touched - sign * (search + bench.layout.clearance)
        x, y = (before, place[1]) if axis == "X" else (place[0], before)
        touches = [(axis, sign, touched, before)]
    else:
        x, y = _middle(bench, words)
        room = _hole(bench, words).diameter / 2 - ball
        # Towards greater places, as holes are come to: lost motion is then taken up alike.
        touches = [("X", 1, x + room, x), ("Y", 1, y + room, y)] * ROUNDS
    yield Rapid(x=x, y=y)
    yield Rapid(z=high)
    yield Feed(feed, z=end)
    for axis, sign, touched, back in touches:
        yield Touch(axis, sign, touched, search, feed)
        yield Feed(feed, x=back) if axis == "X" else Feed(feed, y=back)
    yield Feed(feed, z=high)


# --- by hand --------------------------------------------------------------------------------------


def _by_hand(bench: FlatBench, words: Probe) -> Message:
    """What to touch or indicate and what to set, in the control's own figures."""
    machine = bench.machine

    def figures(*places: tuple[Axis, float]) -> str:
        unit = " INCH" if machine.program.units == "inch" else ""
        return " ".join(shown(machine, axis, at) + unit for axis, at in places)

    if words.face is not None:
        x, y = words.face
        return Message("TOUCH FACE AT {place} AND SET {zero}",
                       place=figures(("X", x), ("Y", y)), zero=figures(("Z", _surface(bench))))
    if words.hole is not None:
        x, y = _middle(bench, words)
        return Message("CENTRE ON HOLE {hole} AND SET {zero}", hole=words.hole.upper(),
                       zero=figures(("X", x), ("Y", y)))
    assert words.edge is not None
    axis, _ = _EDGES[words.edge]
    place = _on_edge(bench, words.edge, words.along) or (0.0, 0.0)
    zero = figures((axis, place[_NUMBER[axis]]))
    return {
        "left": Message("CENTRE OVER LEFT EDGE OF STOCK AND SET {zero}", zero=zero),
        "right": Message("CENTRE OVER RIGHT EDGE OF STOCK AND SET {zero}", zero=zero),
        "front": Message("CENTRE OVER FRONT EDGE OF STOCK AND SET {zero}", zero=zero),
        "back": Message("CENTRE OVER BACK EDGE OF STOCK AND SET {zero}", zero=zero),
    }[words.edge]


def shown(machine: Machine, name: Axis, mm: float) -> str:
    """A place as the control shows it: its own letter, sense, unit, and diameters.

    >>> from camgen.shop.machines import find_machine
    >>> [shown(find_machine(name), "X", 12.7) for name in ("plain-iso", "plain-iso-inch")]
    ['X12.700', 'X0.5000']
    """
    axis = machine.axis(name)
    value = mm / axis.scale * (-1.0 if axis.sense == "reversed" else 1.0)
    value *= 2.0 if axis.counts == "twice" else 1.0
    value /= MM_PER_INCH if machine.program.units == "inch" else 1.0
    places = machine.numbers.decimals
    return f"{axis.letter or name}{round(value, places) + 0.0:.{places}f}"


PROBE = StepKind("probe", Probe, check, plan)
