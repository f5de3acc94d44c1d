"""Holes round turned work: spotted, drilled, reamed and counterbored square to its axis.

The head turns each angle before the cutter; along the work it goes to the hole, straight down over
the middle of the work, and straight out. The words are those of the same steps in flat work.
Lengths mm.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator
from typing import Final, TypeAlias

from camgen.cutting.planner import CutPlan
from camgen.faults import Fault, Refused, did_you_mean
from camgen.job.models import StepWords
from camgen.job.order.deeds import OF_ITS_SIZE
from camgen.messages import Message
from camgen.moves import Dwell, Move
from camgen.part.features import RoundHole
from camgen.shop.cutters import Ability, Cutter, opening_of, profile_of, record_of
from camgen.steps.cuts import drilling
from camgen.steps.holes.counterbore import CounterboreHoles
from camgen.steps.holes.drill import DrillHoles
from camgen.steps.holes.pecks import peck_faults
from camgen.steps.holes.ream import Ream
from camgen.steps.holes.spot import Spot
from camgen.steps.holes.which_holes import point_length
from camgen.steps.kind import PlannedStep, RoundBench, StepKind
from camgen.steps.round.frame import RoundFrame, at_each_place
from camgen.steps.round.holding import bending_faults, reach_faults
from camgen.tolerances import ZERO_ALONG
from camgen.values import dataclass

__all__ = ["COUNTERBORE_ROUND", "DRILL_ROUND", "REAM_ROUND", "SPOT_ROUND"]

HoleStep: TypeAlias = DrillHoles | Ream | CounterboreHoles | Spot
# A mark is so wide at the surface over its hole, so that nothing of it is left; what a drill or
# reamer goes beyond a wall; how far above the last bite a drill comes back; turns at the floor of a
# counterbore. Common practice, no source.
MARK, BEYOND, GAP, TURNS = 0.8, 0.1, 0.1, 3.0
# Words that hang on a plate's faces, and mean nothing here.
UNHEARD: Final = ("depth", "drilled", "lead", "countersinks")


@dataclass(frozen=True)
class _Stroke:
    """One hole as a step cuts it: where its end stops, ``out`` from the axis, how ``deep`` that is
    below the surface, and how thick the work is ``near`` it, its radius."""

    hole: RoundHole
    place: float
    out: float
    deep: float
    near: float


def _chosen(bench: RoundBench, words: HoleStep) -> list[RoundHole]:
    """The holes that a step means: by name; else those that its cutter may make."""
    layout, record = bench.layout, record_of(bench.cutter)
    every = [one for one in (*layout.made, *layout.begun) if isinstance(one, RoundHole)]
    if words.holes is not None:
        return [one for one in every if one.name in words.holes or one.group in words.holes]
    if record.can(Ability.REAM):
        return [one for one in every
                if abs(one.diameter - bench.cutter.diameter) <= OF_ITS_SIZE]
    return [one for one in every if not one.flat]


def _strokes(bench: RoundBench, words: HoleStep) -> Iterator[_Stroke]:
    layout, cutter = bench.layout, bench.cutter
    for hole in _chosen(bench, words):
        for piece in layout.places:
            place = piece + hole.place
            outside = layout.radius_over(place - 1e-6, place + 1e-6)[1]
            margin = cutter.diameter / 2 + 2 * ZERO_ALONG + layout.clearance
            near = layout.radius_over(place - margin, place + margin)[1]
            out = layout.part.floor(hole)
            if isinstance(words, Spot):
                out = outside - point_length(cutter, min(MARK * hole.diameter, cutter.diameter))
            elif hole.depth is None:
                out -= BEYOND + _narrow(cutter)
            elif not hole.flat and abs(cutter.diameter - hole.diameter) <= OF_ITS_SIZE:
                out -= _narrow(cutter)
            yield _Stroke(hole, place, out, outside - out, near)


def _narrow(cutter: Cutter) -> float:
    """How long the end of a cutter is up to its full width, mm: a drill's point, a lead."""
    if record_of(cutter).conical:
        return point_length(cutter)
    outline = profile_of(cutter).edge.outline
    return next(height for radius, height in outline if radius >= cutter.diameter / 2 - 1e-9)


def _check(bench: RoundBench, words: HoleStep) -> list[Fault]:
    """Faults seen without planning."""
    faults = bench.need()
    faults += [Fault(
        Message("{word} is a word of flat work and changes nothing at turned work", word=word),
        Message("leave it out: the hole's own words say it"), bench.place(word))
        for word in UNHEARD if word in words.model_fields_set]
    known = {name for one in (*bench.layout.made, *bench.layout.begun)
             if isinstance(one, RoundHole) for name in (one.name, one.group)}
    faults += [Fault(Message("no holes round the work are called {name}", name=name),
                     did_you_mean(name, sorted(known), Message(
                         "the part's holes: {names}", names=tuple(sorted(known)))),
                     bench.place("holes")) for name in words.holes or () if name not in known]
    chosen = _chosen(bench, words)
    if not faults and not chosen:
        faults.append(Fault(Message("no hole round the work is of this cutter's size"),
                            Message("name the holes, or add them under turned: holes:"),
                            bench.place()))
    if faults:
        return faults
    for hole in chosen:
        faults += _size_faults(bench, words, hole) + _open_faults(bench, words, hole)
    for stroke in _strokes(bench, words):
        faults += reach_faults(bench, stroke.place, stroke.place, stroke.out)
    return list(dict.fromkeys(faults))


def _size_faults(bench: RoundBench, words: HoleStep, hole: RoundHole) -> list[Fault]:
    """A cutter that is not of the hole's size, or cannot leave its floor."""
    size, fits = bench.cutter.diameter, abs(bench.cutter.diameter - hole.diameter) <= OF_ITS_SIZE
    if isinstance(words, Spot):
        return []
    if not fits and (size > hole.diameter or not isinstance(words, DrillHoles)):
        return [Fault(Message("{cutter}, {size:g} mm, does not make the holes {name}, {wide:g} mm",
                              cutter=bench.words.cutter, size=size, name=hole.name,
                              wide=hole.diameter),
                      Message("a cutter of {wide:g} mm, or name other holes", wide=hole.diameter),
                      bench.place("cutter"))]
    if isinstance(words, DrillHoles) and hole.flat and fits:
        return [Fault(Message("a drill leaves its point in the flat floor of {name}",
                              name=hole.name),
                      Message("drill the hole beneath it, then - counterbore: with holes: "
                              "[{name}]", name=hole.name), bench.place("holes"))]
    if isinstance(words, Ream) and hole.depth is not None:
        return [Fault(Message("a reamer's lead does not bring the end of {name} to size, for it is "
                              "no hole through the wall", name=hole.name),
                      Message("leave depth: out of the hole where it may go through, or drill it "
                              "to size"), bench.place("holes"))]
    return []


def _open_faults(bench: RoundBench, words: HoleStep, hole: RoundHole) -> list[Fault]:
    """A reamer or counterbore that would come down on solid metal."""
    least = opening_of(bench.cutter)
    if least is None or isinstance(words, DrillHoles | Spot):
        return []
    beneath = _beneath(bench, hole)
    for number, earlier in enumerate(bench.setup.steps[: bench.number]):
        before = dataclasses.replace(bench, number=number)
        wide = before.cutter.diameter >= least - OF_ITS_SIZE
        if isinstance(earlier, DrillHoles) and wide and any(
                one.name == beneath for one in _chosen(before, earlier)):
            return []
    return [Fault(Message("{cutter} cuts nothing at its middle, and no step before it drills "
                          "{name} {least:.3g} mm wide", cutter=bench.words.cutter, name=beneath,
                          least=least),
                  Message("put - drill: with a drill of that size before it"),
                  bench.place("cutter"))]


def _beneath(bench: RoundBench, hole: RoundHole) -> str:
    """The name of the hole under a counterbore; else its own."""
    return next((name for name in bench.layout.part.holes
                 if hole.name == f"{name}-counterbore"), hole.name)


def _plan(bench: RoundBench, words: HoleStep) -> PlannedStep:
    """Every hole at every angle, all pieces at one angle before the next."""
    frame, strokes = RoundFrame(bench.layout), list(_strokes(bench, words))
    deep = max(stroke.deep for stroke in strokes)
    cut = drilling(bench, deep, drilled=_drilled(bench, words, strokes[0].hole))
    faults = list(dict.fromkeys(fault for stroke in strokes
                                for fault in bending_faults(bench, cut.force, stroke.place)))
    bite = cut.peck
    if isinstance(words, DrillHoles) and words.peck is not None:
        faults += peck_faults(bench, words.peck, cut, deep)
        bite = words.peck
    if faults:
        raise Refused(faults)
    at: dict[int, list[Move]] = {}
    for stroke in strokes:
        for angle in stroke.hole.angles:
            at.setdefault(bench.layout.head_place(angle), []).extend(
                _one(bench, words, frame, cut, stroke, bite))
    return PlannedStep(bench.section(words.called, cut.speed, at_each_place(bench, frame, at)), cut,
                       tuple(_remarks(strokes)))


def _drilled(bench: RoundBench, words: HoleStep, hole: RoundHole) -> float:
    """The width of the hole that is there already, 0 where none is."""
    beneath = _beneath(bench, hole)
    found = [0.0]
    for number, earlier in enumerate(bench.setup.steps[: bench.number]):
        before = dataclasses.replace(bench, number=number)
        if isinstance(earlier, DrillHoles) and any(
                one.name == beneath for one in _chosen(before, earlier)):
            found.append(before.cutter.diameter)
    return 0.0 if isinstance(words, Spot) else max(found)


def _one(
    bench: RoundBench, words: HoleStep, frame: RoundFrame, cut: CutPlan, stroke: _Stroke,
    bite: float,
) -> list[Move]:
    """One hole, from clear of the work to clear of it."""
    over = stroke.near + bench.layout.clearance
    moves: list[Move] = [frame.along(stroke.place), frame.across(0.0), frame.out(over)]
    surface = stroke.out + stroke.deep
    down = surface - bite if bite and bite < stroke.deep else stroke.out
    while down > stroke.out + 1e-9:
        moves += [frame.into(cut.feed, down), frame.out(over), frame.out(down + GAP)]
        down -= bite
    moves.append(frame.into(cut.feed, stroke.out))
    if isinstance(words, CounterboreHoles):
        moves.append(Dwell(round(60.0 * TURNS / cut.speed, 2)))
    if isinstance(words, Ream):
        # At the rapid only where it is out of the hole, and that before the spindle may be stopped.
        moves.append(frame.into(cut.feed, over - bench.layout.clearance / 2))
    return [*moves, frame.out(frame.clear_out)]


def _remarks(strokes: list[_Stroke]) -> Iterator[Message]:
    for hole in dict.fromkeys(stroke.hole for stroke in strokes):
        yield Message("{name}: {count} round the work, {place:.3f} mm behind the free end",
                      name=hole.name, count=len(hole.angles), place=hole.place)


def _kind(words: type[StepWords]) -> StepKind[RoundBench]:
    check: Callable[[RoundBench, HoleStep], list[Fault]] = _check
    return StepKind(words.kind, words, check, _plan)


SPOT_ROUND, DRILL_ROUND = _kind(Spot), _kind(DrillHoles)
REAM_ROUND, COUNTERBORE_ROUND = _kind(Ream), _kind(CounterboreHoles)
