"""Cutting teeth on the dividing head with a form cutter.

At depth h below the outside of the blank a disc of radius r touches the face √(h(2r − h)) before
its axis comes there (half the chord at height h): so far off it must start, and so far past its own
axis it reaches into whatever stands behind the last blank. The axis itself need only pass the rear
face by a little for the last blank to be at full depth; then the cutter goes straight out.
"""

import itertools
import math
from collections.abc import Iterator

from camgen.cutting.planner import CutPlan
from camgen.faults import Fault, Refused, no_more
from camgen.job.checks.on_head.spindle_lies import lying_remark
from camgen.layout import ToothLayout
from camgen.layout.approaches import stance_of
from camgen.layout.gauged import cutting_of
from camgen.messages import Message, counted
from camgen.moves import Index, Move, Pause
from camgen.steps.cuts import form_cut
from camgen.steps.head.arrangement import Frame, milling_sense
from camgen.steps.head.as_cut_told import as_cut_notes, topping_remarks
from camgen.steps.head.beginning import begins_again, comes_to, take_up
from camgen.steps.head.cut_teeth_checks import check
from camgen.steps.head.cut_teeth_words import (
    RUN_OUT,
    CutTeeth,
    along_start,
    clockwise_of,
    depth_with_correction,
    part_circle_remark,
    pass_depths,
    room_before,
)
from camgen.steps.head.in_ways import way_remarks, way_section
from camgen.steps.head.last_cut import rubbing_faults
from camgen.steps.head.roughing import rough_remarks, rough_section, roughed_area
from camgen.steps.head.slender import arbor_supposed, slender_faults
from camgen.steps.kind import SENSES, TURNS, HeadBench, PlannedStep, StepKind
from camgen.teeth.cut.correcting import gauges

__all__ = ["CUT_TEETH"]


def plan(bench: HeadBench, words: CutTeeth) -> PlannedStep:
    """All spaces, in the order the job wants, the first approached like every other."""
    layout = bench.layout
    frame = Frame(layout, bench.cutter.diameter / 2, max(
        bench.job.cutters[step.cutter].diameter / 2 for step in bench.setup.steps))
    whole, stance = depth_with_correction(bench, words), stance_of(layout, words.declares())
    cut, depths = _passes(bench, words, whole)
    faults = slender_faults(bench, cut.force) + rubbing_faults(
        bench, cut, {"last-cut": words.last_cut, "trial-short": words.trial_short})
    if faults:
        raise Refused(faults)
    division = layout.division.turned_by(stance.turned)
    first = bench.from_space or layout.spaces[0]
    off = frame.along(along_start(frame, whole))
    stop = frame.along(layout.stack_to + RUN_OUT)
    # Where the crank was just brought to, by hand, it stands already.
    brought, before = comes_to(bench, frame, first)

    def one_cut(depth: float, at: float) -> list[Move]:
        """Through the stack at ``depth`` and out of the metal, from ``at`` along the arbor."""
        start = frame.along(along_start(frame, depth))
        moves: list[Move] = [] if at == start else [frame.rapid(frame.along_axis, start)]
        moves.append(frame.rapid(frame.infeed_axis, frame.infeed(depth)))
        moves.append(frame.feed(cut.feed, frame.along_axis, stop))
        moves.append(frame.rapid(frame.infeed_axis, frame.clear))
        return moves

    way: list[Move] = [
        frame.rapid(frame.infeed_axis, frame.safe),
        frame.rapid(frame.along_axis, off),
        frame.rapid(layout.arrangement.across, stance.across),
        frame.rapid(frame.infeed_axis, frame.clear),
    ]
    # After another cutter the head stands at the last space, or in a program of its own at its
    # zero: it is turned before the cutter comes.
    moves: list[Move] = [*brought, *way] if bench.number else [*way, *brought]
    # Counted from the first space that there is: of part-circle teeth that need not be space 1.
    begins = layout.spaces.index(first) + 1
    work = list(_order(len(layout.spaces), depths, words, begins))
    pause_after = _pause_after(work, words, depths, begins)
    for number, (turn, counted_space, of_space) in enumerate(work):
        space = layout.spaces[counted_space - 1]
        # Round after round the head goes on turning the same way: backlash stays taken up.
        angle = division.angles[space - 1] + 360.0 * turn
        moves.append(Index(angle, space, division.setting(space, before),
                           division.setting(space, None)))
        before = space
        at = off
        for depth in of_space:
            moves += one_cut(depth, at)
            at = stop
        if at != off:
            moves.append(frame.rapid(frame.along_axis, off))
        if number == pause_after:
            moves += _trial_pause(bench, frame, words)
            if words.trial_short is not None:
                moves += take_up(bench, layout.spaces[0], turn + 1)
                # The pin stands in the first space; round by round another may come next.
                before = None if work[number + 1][1] == 1 else layout.spaces[0]
    moves.append(frame.rapid(frame.infeed_axis, frame.safe))
    return PlannedStep(
        bench.section(_title(words), cut.speed, moves,
                      clockwise=clockwise_of(layout, words)),
        cut,
        _remarks(bench, words, layout, depths, pause_after is not None),
        again=begins_again(bench, words, len(depths) if words.order == "each-round" else 1),
        notes=as_cut_notes(bench),
    )


def _title(words: CutTeeth) -> Message:
    """What the step is called in program and sheet."""
    return words.called if words.leave is None else Message("rough teeth")


def _passes(
    bench: HeadBench, words: CutTeeth, whole: float
) -> tuple[CutPlan, tuple[float, ...]]:
    """The cut and the depth after each pass, mm: planned for the deepest of them.

    Metal begins at the blank's outside, depths at the tip circle. Equal passes were planned; with a
    last cut of its own another may be deeper than those, but not the last. Raises Refused.
    """
    over = bench.layout.over_tip
    deep = whole + over
    section = way_section(bench) if words.leave is None else rough_section(bench)
    taken = roughed_area(bench) if words.leave is None else 0.0
    cut = form_cut(bench, deep, words.passes, section=section, taken=taken)
    count = cut.passes + (words.last_cut is not None and words.passes is None)
    if words.last_cut is not None and words.last_cut > deep / count + 1e-9:
        raise Refused(Fault(
            Message("a last cut of {last:g} mm is deeper than those before it: in {count} passes "
                    "the teeth are {deep:.3f} mm deep", last=words.last_cut, count=count,
                    deep=deep),
            Message("last-cut: {most} or less, or leave it out", most=no_more(deep / count)),
            bench.place("last-cut")))
    depths = pass_depths(deep, count, words.last_cut)
    deepest = max(depth - before for before, depth in itertools.pairwise((0.0, *depths)))
    if deepest > cut.depth * (1 + 1e-9):
        cut = form_cut(bench, deep, max(1, math.floor(deep / deepest + 1e-9)), section=section,
                       taken=taken)
    return cut, (*(depth - over for depth in depths[:-1]), whole)


def _order(
    spaces: int, depths: tuple[float, ...], words: CutTeeth, first: int
) -> Iterator[tuple[int, int, tuple[float, ...]]]:
    """Spaces in the order they are cut, from space ``first``: whole turns before, space, depths.

    Trial spaces cut short come first, and again with the others, so that all are cut whole where
    it begins at one of them. Round by round only the first round begins at ``first``: after a
    broken cutter nobody knows for certain which round it was, so all later ones are whole.
    """
    turn = trial = 0
    if words.trial_short is not None and first <= words.trial_spaces:
        short = depths[-1] - words.trial_short
        trial, turn = words.trial_spaces, 1
        for space in range(first, trial + 1):
            yield 0, space, (*(depth for depth in depths[:-1] if depth < short), short)
        first = 1
    if words.order == "each-space":
        for space in range(first, spaces + 1):
            yield turn, space, depths[-1:] if space <= trial else depths
        return
    for number, depth in enumerate(depths):
        last = number == len(depths) - 1
        begin = first if number == 0 else 1
        for space in range(begin if last else max(begin, trial + 1), spaces + 1):
            yield turn + number, space, (depth,)


def _pause_after(
    work: list[tuple[int, int, tuple[float, ...]]], words: CutTeeth, depths: tuple[float, ...],
    first: int,
) -> int | None:
    """The number in ``work`` after which the trial spaces are done; None where there are none."""
    if words.trial_short is not None and first > words.trial_spaces:
        return None
    depth = depths[-1] - (words.trial_short or 0.0)
    for number, (_, space, of_space) in enumerate(work):
        if space == words.trial_spaces and of_space[-1] == depth:
            return number
    return None


def _trial_pause(bench: HeadBench, frame: Frame, words: CutTeeth) -> list[Move]:
    """Out of the way, so that a tooth can be measured, and back."""
    return [
        frame.rapid(frame.infeed_axis, frame.safe),
        Pause(_measure(bench, words)),
        frame.rapid(frame.infeed_axis, frame.clear),
    ]


def _measure(bench: HeadBench, words: CutTeeth) -> Message:
    """The tooth to be measured, as the trial spaces leave it, in mm as job and sheet are, whatever
    the program counts in."""
    short = words.trial_short or 0.0
    asked = gauges(cutting_of(bench.layout, bench.cutter if short else None, short))
    if short:
        return Message("measure: space {deep:.3f} mm deep from the outside, tooth {thick:.3f} mm "
                       "thick at {height:.3f} mm below the tip, cut {short:.3f} mm short",
                       deep=asked.depth, thick=asked.thickness, height=asked.height, short=short)
    return Message("measure a tooth: {thick:.3f} mm thick at {height:.3f} mm below the tip",
                   thick=asked.thickness, height=asked.height)


def _remarks(
    bench: HeadBench,
    words: CutTeeth,
    layout: ToothLayout,
    depths: tuple[float, ...],
    paused: bool,
) -> tuple[Message, ...]:
    remarks = list(layout.notes)
    if bench.work.dividing.slender:
        remarks.append(Message("the bending of the arbor is not looked at: the job says slender: "
                               "true"))
    if arbor_supposed(bench):
        remarks.append(Message("no tailstock is said: one is taken for granted where the bending "
                               "of the arbor is looked at"))
    if not layout.before_said:
        room = room_before(layout, bench.cutter.diameter / 2, depths[-1])
        remarks.append(
            Message("what stands before the stack is not said (`front`, `tailstock`): taken as "
                    "nothing; keep {near:.1f} mm before the free face clear of all that is "
                    "thicker than {lowest:.2f} mm, {far:.1f} mm of all that is thicker than the "
                    "blanks", near=room.near, lowest=2 * room.lowest, far=room.far)
        )
    lying = lying_remark(layout.arrangement, bench.machine)
    if lying:
        remarks.append(lying)
    if layout.tooth.part_circle:
        remarks.append(part_circle_remark(layout))
    clockwise = clockwise_of(layout, words)
    sense, turn = milling_sense(layout, clockwise), TURNS[
        "clockwise" if clockwise else "anticlockwise"]
    if sense:
        remarks.append(Message("cut teeth: {sense} milling, spindle {turn}",
                               sense=SENSES[sense], turn=turn))
        if words.milling is not None and not clockwise:
            remarks.append(Message("the spindle turns anticlockwise: put the cutter on its arbor "
                                   "so that its teeth point that way"))
        backlash = bench.machine.axis(layout.arrangement.along[1]).lost
        if sense == "climb" and backlash > 0:
            remarks.append(
                Message("climb milling on an axis with {backlash:g} mm of backlash: the cutter "
                        "may snatch", backlash=backlash)
            )
    else:
        remarks.append(
            Message("cut teeth: spindle {turn}; look whether the cutter climbs before you start",
                    turn=turn)
        )
    remarks += [*rough_remarks(bench), *way_remarks(bench), *topping_remarks(layout)]
    remarks.append(
        counted("{n} pass to {depths} mm", "{n} passes to {depths} mm", len(depths),
                depths=tuple(f"{depth:.3f}" for depth in depths))
    )
    if not paused:
        pass
    elif words.trial_short is not None:
        remarks.append(
            Message("pause after {trial_spaces} spaces, cut {trial_short:.3f} mm short: measure "
                    "their depth and a tooth between them as the sheet has them, shift the "
                    "infeed's zero by what the depth is off, and go on: these spaces are cut again "
                    "with the others", trial_spaces=words.trial_spaces,
                    trial_short=words.trial_short)
        )
    else:
        remarks.append(
            Message("pause after {trial_spaces} spaces: measure their depth and a tooth between "
                    "them; where the depth is off, stop, write the `depth-correction` that camgen "
                    "correct gives, make the program again and begin at space {first}",
                    trial_spaces=words.trial_spaces, first=layout.spaces[0])
        )
    return tuple(remarks)


CUT_TEETH = StepKind("cut-teeth", CutTeeth, check, plan)
