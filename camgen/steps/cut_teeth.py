"""Cutting teeth on the dividing head with a form cutter.

At depth h below the outside of the blank a disc of radius r touches the face √(h(2r − h)) before
its axis comes there (half the chord at height h): so far off it must start, and so far past its own
axis it reaches into whatever stands behind the last blank. The axis itself need only pass the rear
face by a little for the last blank to be at full depth; then the cutter goes straight out.
"""

import itertools
import math
from collections.abc import Iterator
from typing import Annotated, ClassVar, Literal

from pydantic import Field

from camgen.cutting.planner import CutPlan
from camgen.faults import Fault, Refused, no_more
from camgen.job.models import StepWords
from camgen.job.spindle_lies import lying_remark
from camgen.layout import ToothLayout, place_of
from camgen.messages import Message
from camgen.moves import Index, Move, Pause
from camgen.part.declaration import Correction, Declaration, MakesSpaces
from camgen.shop.cutters import Ability
from camgen.shop.machine import DrivenHead
from camgen.shop.model import IN_FILE_UNITS, Length
from camgen.steps.around_stack import Sweep, chord_reach, standing_faults
from camgen.steps.arrangement import Frame, cross_product, unit
from camgen.steps.cuts import form_cut, overhang
from camgen.steps.kind import HeadBench, PlannedStep, StepKind
from camgen.steps.last_cut import measured_faults, rubbing_faults
from camgen.steps.slender import arbor_supposed, slender_faults

__all__ = ["CUT_TEETH", "CutTeeth", "milling_sense", "pass_depths"]

# How far the cutter's axis passes the rear face of the last blank, mm: enough for the error of its
# zero along the arbor. Common practice, no source.
RUN_OUT = 0.1
# Teeth may hang over their spaces by so much, mm: what is lost is a least increment or two.
OVERHANG = 0.002


class CutTeeth(StepWords):
    """Cut the tooth spaces of a stack of blanks."""

    kind: ClassVar[str] = "cut-teeth"
    passes: int | None = Field(None, ge=1, le=50, description="depths to cut in; else planned")
    order: Literal["each-space", "each-round"] = Field(
        "each-space",
        description="each-space: a space is finished before the next; each-round: all spaces at "
        "one depth, then all at the next",
    )
    last_cut: Length | None = Field(
        None, description="depth of the last pass; else all alike"
    )
    trial_spaces: int = Field(0, ge=0, le=50, description="spaces cut before a pause to measure")
    trial_short: Length | None = Field(
        None, description="trial spaces are cut so much short, and again with the others"
    )
    depth_correction: Annotated[float, IN_FILE_UNITS, Field(ge=-1, le=1)] = Field(
        0.0, description="added to the whole depth, after measuring trial spaces"
    )
    spindle: Literal["clockwise", "anticlockwise"] = Field(
        "clockwise", description="sense of the spindle, seen from it to the work"
    )

    def declares(self) -> Declaration:
        """The spaces of the teeth."""
        return Declaration(
            (MakesSpaces(),),
            (Ability.CUT_FORM,),
            corrections=(Correction("depth-correction", self.depth_correction, "depth", 1.0),),
        )


def pass_depths(whole: float, passes: int, last_cut: float | None = None) -> tuple[float, ...]:
    """Depth after each pass, mm: equal steps, or equal steps and a last one of ``last_cut``.

    >>> pass_depths(0.4, 2), pass_depths(0.5, 3, 0.1)
    ((0.2, 0.4), (0.2, 0.4, 0.5))
    """
    if last_cut is None or passes == 1:
        return tuple(whole * (number + 1) / passes for number in range(passes))
    rough = whole - last_cut
    return (*(rough * (number + 1) / (passes - 1) for number in range(passes - 1)), whole)


def milling_sense(layout: ToothLayout, clockwise: bool) -> str:
    """``climb`` or ``conventional``; empty where the arrangement leaves it open.

    The spindle stands along Z (ISO 841) and is seen from above: clockwise turns about −Z. A tooth
    in the metal moves with ω × r, r being the way from the cutter's axis into the metal; where that
    is the cutter's own way along the arbor the cut is conventional, where it is against it, climb.
    """
    if layout.arrangement.across != "Z":
        return ""
    axis = unit("-Z" if clockwise else "+Z")
    tooth_way = cross_product(axis, unit(layout.arrangement.infeed))
    along = unit(layout.arrangement.along)
    same = sum(a * b for a, b in zip(tooth_way, along, strict=True))
    return "conventional" if same > 0 else "climb"


def _whole_depth(layout: ToothLayout, words: CutTeeth) -> float:
    return layout.tooth.sizes.whole_depth + words.depth_correction


def check(bench: HeadBench, words: CutTeeth) -> list[Fault]:
    """Faults seen without planning."""
    faults = bench.need()
    layout, radius = bench.layout, bench.cutter.diameter / 2
    depth = _whole_depth(layout, words)
    spaces = layout.division.count
    if words.trial_spaces >= spaces:
        faults.append(
            Fault(
                f"{words.trial_spaces} trial spaces of {spaces} leave nothing to correct",
                "two or three are enough to measure one tooth",
                bench.place("trial-spaces"),
            )
        )
    hangs = overhang(layout.tooth)
    if hangs > OVERHANG:
        faults.append(
            Fault(
                f"the teeth hang {hangs:.3f} mm over their spaces: a disc that comes along the "
                "arbor passes every lesser depth on its way and takes so much off their tips",
                "give the teeth radial fronts: `front: 0`",
                bench.place("cutter"),
            )
        )
    if words.trial_short is not None and not words.trial_spaces:
        faults.append(
            Fault(
                "no trial spaces are asked for that could be cut short",
                "`trial-spaces: 3`, or leave `trial-short` out",
                bench.place("trial-short"),
            )
        )
    if words.trial_short is not None and words.trial_short >= depth:
        faults.append(
            Fault(
                f"trial spaces {words.trial_short:g} mm short of {depth:.3f} mm are not cut at all",
                "a few hundredths of a millimetre are enough",
                bench.place("trial-short"),
            )
        )
    elif words.trial_short is not None and words.trial_spaces:
        faults += measured_faults(bench, words.trial_short, depth)
    if words.last_cut is not None and words.passes == 1:
        faults.append(
            Fault(
                "one pass has no last cut of its own",
                "`passes: 2`, or leave `last-cut` or `passes` out",
                bench.place("last-cut"),
            )
        )
    if words.last_cut is not None and words.last_cut >= depth:
        faults.append(
            Fault(
                f"a last cut of {words.last_cut:g} mm is the whole depth, {depth:.3f} mm",
                "a smaller `last-cut`",
                bench.place("last-cut"),
            )
        )
    if bench.from_space is not None and not 1 <= bench.from_space <= spaces:
        faults.append(
            Fault(
                f"there is no space {bench.from_space}: they are counted from 1 to {spaces}",
                "give the space that was being cut when the work stopped",
            )
        )
    if depth <= 0 or depth >= radius:
        faults.append(
            Fault(
                f"a depth of {depth:.3f} mm cannot be cut by a cutter of {2 * radius:g} mm",
                "look at the cutter's diameter and `depth-correction`",
                bench.place("cutter"),
            )
        )
        return faults
    return faults + _reach_faults(bench, layout, radius, depth)


def _reach_faults(
    bench: HeadBench, layout: ToothLayout, radius: float, depth: float
) -> list[Fault]:
    """The cutter must touch nothing but blanks and backing."""
    faults: list[Fault] = []
    tip = layout.tooth.sizes.tip_diameter / 2
    over_arbor = depth - (tip - layout.arbor_radius)
    # Over what is thicker than the disc is high it reaches with its whole radius.
    over = radius if over_arbor >= radius else chord_reach(max(over_arbor, 0.0), radius)
    reach = layout.stack_to + RUN_OUT + over if over_arbor > 0 else 0.0
    if reach + layout.clearance > layout.backing_to and not layout.behind:
        need = reach + layout.clearance - layout.stack_to
        faults.append(
            Fault(
                f"the cutter needs {need:.2f} mm behind the blanks to run out, and has "
                f"{layout.backing_to - layout.stack_to:g} mm of backing; behind that stands "
                f"something {2 * layout.arbor_radius:g} mm in diameter",
                f"`backing: {math.ceil(need * 10) / 10:g}`, or say under `arbor` that nothing "
                f"behind is larger than {no_more(2 * (tip - depth - 0.05), 0.01)} mm",
                place_of(bench.job, bench.setup, "dividing"),
            )
        )
    frame = Frame(layout, radius)
    faults += standing_faults(bench, Sweep(radius, _start(frame, depth),
                                           layout.stack_to + RUN_OUT, tip - depth))
    collar = bench.cutter.arbor
    outside = frame.outside
    if collar is not None and radius - collar / 2 < depth + outside + layout.clearance:
        away = radius - collar / 2 - depth - outside
        told = (f"would come to {away:.2f} mm from the blank" if away > 0 else
                "would touch the blank")
        wide = 2 * (radius - depth - outside - layout.clearance)
        faults.append(
            Fault(
                f"the cutter's collar of {collar:g} mm {told} at a depth of {depth:.3f} mm, and "
                f"shall be {layout.clearance:g} mm clear",
                f"arbor: {no_more(wide, 0.01)} with the cutter, or a larger cutter"
                if wide > 0 else "a larger cutter",
                bench.place("cutter"),
            )
        )
    return faults


def plan(bench: HeadBench, words: CutTeeth) -> PlannedStep:
    """All spaces, in the order the job wants, the first approached like every other."""
    layout = bench.layout
    frame = Frame(layout, bench.cutter.diameter / 2)
    whole = _whole_depth(layout, words)
    cut, depths = _passes(bench, words, whole)
    faults = slender_faults(bench, cut.force) + rubbing_faults(
        bench, cut, {"last-cut": words.last_cut, "trial-short": words.trial_short})
    if faults:
        raise Refused(faults)
    first = bench.from_space or 1
    off = frame.along(_start(frame, whole))
    stop = frame.along(layout.stack_to + RUN_OUT)

    def one_cut(depth: float, at: float) -> list[Move]:
        """Through the stack at ``depth`` and out of the metal, from ``at`` along the arbor."""
        start = frame.along(_start(frame, depth))
        moves: list[Move] = [] if at == start else [frame.rapid(frame.along_axis, start)]
        moves.append(frame.rapid(frame.infeed_axis, frame.infeed(depth)))
        moves.append(frame.feed(cut.feed, frame.along_axis, stop))
        moves.append(frame.rapid(frame.infeed_axis, frame.clear))
        return moves

    moves: list[Move] = [
        frame.rapid(frame.infeed_axis, frame.safe),
        frame.rapid(frame.along_axis, off),
        frame.rapid(layout.arrangement.across, 0.0),
        frame.rapid(frame.infeed_axis, frame.clear),
        *_take_up(bench, first),
    ]
    work = list(_order(layout.division.count, depths, words, first))
    pause_after = _pause_after(work, words, depths)
    # Where the crank was just brought to, by hand, it stands already.
    before: int | None = None
    for number, (turn, space, of_space) in enumerate(work):
        # Round after round the head goes on turning the same way: backlash stays taken up.
        angle = layout.division.angles[space - 1] + 360.0 * turn
        moves.append(Index(angle, space, layout.division.setting(space, before),
                           layout.division.setting(space, None)))
        before = space
        at = off
        for depth in of_space:
            moves += one_cut(depth, at)
            at = stop
        if at != off:
            moves.append(frame.rapid(frame.along_axis, off))
        if number == pause_after:
            moves += _trial_pause(frame, words)
            if words.trial_short is not None:
                moves += _take_up(bench, 1, turn + 1)
                # The pin stands in space 1; round by round another may come next.
                before = None if work[number + 1][1] == 1 else 1
    moves.append(frame.rapid(frame.infeed_axis, frame.safe))
    return PlannedStep(
        bench.section(Message("cut teeth"), cut.speed, moves,
                      clockwise=words.spindle == "clockwise"),
        cut,
        _remarks(bench, words, layout, depths),
    )


def _passes(
    bench: HeadBench, words: CutTeeth, whole: float
) -> tuple[CutPlan, tuple[float, ...]]:
    """The cut and the depth after each pass, mm: planned for the deepest of them.

    Metal begins at the blank's outside, depths at the tip circle. Equal passes were planned; with a
    last cut of its own another may be deeper than those, but not the last. Raises Refused.
    """
    over = bench.layout.over_tip
    deep = whole + over
    cut = form_cut(bench, deep, words.passes)
    count = cut.passes + (words.last_cut is not None and words.passes is None)
    if words.last_cut is not None and words.last_cut > deep / count + 1e-9:
        raise Refused(Fault(
            f"a last cut of {words.last_cut:g} mm is deeper than those before it: in {count} "
            f"passes the teeth are {deep:.3f} mm deep",
            f"last-cut: {no_more(deep / count)} or less, or leave it out",
            bench.place("last-cut")))
    depths = pass_depths(deep, count, words.last_cut)
    deepest = max(depth - before for before, depth in itertools.pairwise((0.0, *depths)))
    if deepest > cut.depth * (1 + 1e-9):
        cut = form_cut(bench, deep, max(1, math.floor(deep / deepest + 1e-9)))
    return cut, (*(depth - over for depth in depths[:-1]), whole)


def _start(frame: Frame, depth: float) -> float:
    """Where along the arbor the cutter may go in: its edge just short of the free face."""
    below = depth + frame.outside
    return -(chord_reach(below, frame.cutter_radius) + frame.layout.clearance)


def _order(
    spaces: int, depths: tuple[float, ...], words: CutTeeth, first: int
) -> Iterator[tuple[int, int, tuple[float, ...]]]:
    """Spaces in the order they are cut, from space ``first``: whole turns before, space, depths.

    Trial spaces cut short come first, and again with the others. Round by round only the first
    round begins at ``first``: after a broken cutter nobody knows for certain which round it was, so
    all later ones are whole.
    """
    turn = trial = 0
    if words.trial_short is not None and first == 1:
        short = depths[-1] - words.trial_short
        trial, turn = words.trial_spaces, 1
        for space in range(1, trial + 1):
            yield 0, space, (*(depth for depth in depths[:-1] if depth < short), short)
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
    work: list[tuple[int, int, tuple[float, ...]]], words: CutTeeth, depths: tuple[float, ...]
) -> int | None:
    """The number in ``work`` after which the trial spaces are done; None where there are none."""
    depth = depths[-1] - (words.trial_short or 0.0)
    for number, (_, space, of_space) in enumerate(work):
        if space == words.trial_spaces and of_space[-1] == depth:
            return number
    return None


def _take_up(bench: HeadBench, first: int, turn: int = 0) -> list[Move]:
    """Go a little short of the first space, so that it is approached from the same side."""
    division = bench.layout.division
    angle = division.angles[first - 1] + 360.0 * turn
    head = bench.machine.dividing
    if isinstance(head, DrivenHead):
        return [Index(angle - head.take_up)] if head.take_up else []
    return [
        Pause(
            Message("turn the crank to just before space {space}, then on into its hole: no "
                    "backlash is left", space=first),
            turned=Index(angle, first, stands=division.setting(first, None)),
        )
    ]


def _trial_pause(frame: Frame, words: CutTeeth) -> list[Move]:
    """Out of the way, so that a tooth can be measured, and back."""
    sizes = frame.layout.tooth.sizes
    return [
        frame.rapid(frame.infeed_axis, frame.safe),
        Pause(
            Message("measure a tooth: {thick:.3f} thick at {height:.3f} below the tip, cut "
                    "{short:.3f} short", thick=sizes.chordal_thickness,
                    height=sizes.chordal_height, short=words.trial_short)
            if words.trial_short else
            Message("measure a tooth: {thick:.3f} thick at {height:.3f} below the tip",
                    thick=sizes.chordal_thickness, height=sizes.chordal_height)
        ),
        frame.rapid(frame.infeed_axis, frame.clear),
    ]


def _remarks(
    bench: HeadBench,
    words: CutTeeth,
    layout: ToothLayout,
    depths: tuple[float, ...],
) -> tuple[str, ...]:
    remarks = list(layout.notes)
    if bench.work.dividing.slender:
        remarks.append("the bending of the arbor is not looked at: the job says slender: true")
    if arbor_supposed(bench):
        remarks.append("no tailstock is said: one is taken for granted where the bending of the "
                       "arbor is looked at")
    if not layout.before_said:
        frame = Frame(layout, bench.cutter.diameter / 2)
        lowest = layout.tooth.sizes.tip_diameter / 2 - depths[-1]
        sweep = Sweep(frame.cutter_radius, _start(frame, depths[-1]), 0.0, lowest)
        keep = sweep.half(lowest + depths[-1]) - sweep.start
        remarks.append(
            "what stands before the stack is not said (`front`, `tailstock`): taken as nothing; "
            f"keep {keep:.1f} mm before the free face clear of all that is thicker than "
            f"{2 * lowest:.2f} mm"
        )
    lying = lying_remark(layout.arrangement, bench.machine)
    if lying:
        remarks.append(lying)
    sense = milling_sense(layout, words.spindle == "clockwise")
    if sense:
        remarks.append(f"cut teeth: {sense} milling, spindle {words.spindle}")
        backlash = bench.machine.axis(layout.arrangement.along[1]).backlash
        if sense == "climb" and backlash > 0:
            remarks.append(
                f"climb milling on an axis with {backlash:g} mm of backlash: the cutter may snatch"
            )
    else:
        remarks.append(
            f"cut teeth: spindle {words.spindle}; look whether the cutter climbs before you start"
        )
    remarks.append(
        f"{len(depths)} pass{'es' if len(depths) > 1 else ''} to "
        f"{', '.join(f'{depth:.3f}' for depth in depths)} mm"
    )
    if words.trial_short is not None:
        remarks.append(
            f"pause after {words.trial_spaces} spaces, cut {words.trial_short:.3f} mm short: "
            "measure a tooth between them, shift the infeed's zero by what is wanted, and go on: "
            "these spaces are cut again with the others"
        )
    elif words.trial_spaces:
        remarks.append(
            f"pause after {words.trial_spaces} spaces: measure a tooth between them; where it is "
            "thick, stop, give `depth-correction`, make the program again and begin at space 1"
        )
    if bench.from_space and bench.from_space > 1:
        remarks.append(
            f"begins at space {bench.from_space} of the first round; those before it must have "
            "been cut in it, all later rounds are whole"
            if words.order == "each-round" and len(depths) > 1 else
            f"begins at space {bench.from_space}; those before it are not cut again")
    return tuple(remarks)


CUT_TEETH = StepKind("cut-teeth", CutTeeth, check, plan)
