"""The wheel as it will be cut, against the wheel that was meant; and the pair rolled together.

The space that the cutter really leaves, which is that of the wheel it was made for and all that it
passes on the way there, is set at the angles, depths and heights read back from the program.
Errors µm.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely

from camgen.arrays import Floats
from camgen.faults import Refused, parted
from camgen.layout import ToothLayout
from camgen.messages import NOTHING, Message
from camgen.part.parts import Part
from camgen.part.plates.plate import Plate
from camgen.part.turned.turned import TurnedPart
from camgen.proof.common.head_frame import head_way
from camgen.proof.evidence import HeadEvidence
from camgen.proof.head.spaces import (
    SpaceCuts,
    depth_correction,
    forming,
    space_cuts,
    wanted_spaces,
)
from camgen.proof.result import Proof, ProofId
from camgen.shop.cutters import Cutter
from camgen.teeth.cut.as_cut import FormError, as_cut_tooth, form_error
from camgen.teeth.cut.bought import topped_space
from camgen.teeth.cut.in_ways import Came, ways_error
from camgen.teeth.forms import form_cut_by
from camgen.teeth.meshing import Action, centre_distance, roll
from camgen.teeth.tooth import Tooth
from camgen.values import dataclass

__all__ = [
    "FORM_UNKNOWN",
    "MATERIAL_LEFT",
    "MATERIAL_MISSING",
    "Depthing",
    "LastCuts",
    "corrected_pair",
    "depthings",
    "form_limit",
    "form_of",
    "form_off",
    "form_tolerance",
    "last_cuts",
    "made_space",
    "most_off",
    "prove_tooth_form",
    "swept",
]

FORM_UNKNOWN = ProofId("head", "tooth-form-known")
MATERIAL_LEFT = ProofId("head", "tooth-material-left")
MATERIAL_MISSING = ProofId("head", "tooth-material-missing")
THICKNESS = ProofId("head", "tooth-thickness")
RUNS = ProofId("head", "pair-runs")
FOULS = ProofId("head", "pair-fouls")
PLAY = ProofId("head", "pair-play")
RATIO = ProofId("head", "pair-ratio")
TIPS = ProofId("head", "pair-tips-clear")

# Chord error of the cutter's profile, mm.
PROFILE = 0.0002
# What a tooth may differ from the drawing, in modules and never less than so many mm: the error of
# a cutter made for a neighbouring number of teeth stays within it. Common practice, no source.
FORM_SHARE = 0.03
LEAST_FORM = 0.003
# Error of depthing that a pair must bear, in modules. Common practice, no source.
DEPTHING = 0.05
# Greatest departure of the momentary ratio. Cycloidal teeth with arcs for epicycloids run unevenly
# by a tenth or so. Common practice, no source.
RATIO_SHARE = 0.2
# Flanks no more unlike than this are alike, mm: what a trace is uneven.
UNEVEN = 0.0005
# Overlap that chords of the flanks may feign, µm.
CHORDS = 0.5


@dataclass(frozen=True)
class LastCuts:
    """The deepest cut of each space: ``angle`` degrees as the head truly stands, ``deeper`` mm than
    the tooth's whole depth, ``height`` mm from centre height, ``cutter`` its number; all (k,)."""

    space: np.ndarray
    angle: Floats
    deeper: Floats
    height: Floats
    cutter: np.ndarray


@dataclass(frozen=True)
class Depthing:
    """A pair rolled at one centre distance, ``off`` mm from the nominal."""

    off: float
    action: Action


def last_cuts(evidence: HeadEvidence, cuts: SpaceCuts) -> LastCuts:
    """The deepest cut of every space, by the cutter whose form it has."""
    layout = evidence.layout
    cuts = cuts.of(forming(evidence)[cuts.piece])
    order = np.lexsort((cuts.depth, cuts.space))
    # The last of each run of one space; none where no space is cut at all.
    changes = np.diff(cuts.space[order], append=-1) != 0
    last = order[np.nonzero(changes)[0]]
    piece, space = cuts.piece[last], cuts.space[last]
    count = layout.division.count
    # Where the head stands when told the division's angle, and as much beside it as the program is.
    errors = np.array(layout.division.errors)[space] / 3600.0
    angle = space * 360.0 / count + errors + cuts.off[last]
    height = head_way(evidence).across[piece].mean(axis=1)
    return LastCuts(
        space, angle, cuts.depth[last] - layout.tooth.sizes.whole_depth, np.nan_to_num(height),
        evidence.motion.cutter[piece],
    )


def prove_tooth_form(evidence: HeadEvidence) -> tuple[Proof, ...]:
    """Material left and missing on the teeth, their thickness, and the pair's running; nothing of
    teeth whose cutters come to them in ways of their own."""
    layout = evidence.layout
    if layout.tooth.approaches:
        return ()
    cuts = last_cuts(evidence, space_cuts(evidence, head_way(evidence)))
    if not len(cuts.space):
        return ()
    cutter = evidence.cutters.get(int(cuts.cutter[0]))
    if cutter is None or not cutter.shaped:
        return (
            evidence.proof(
                FORM_UNKNOWN, Message("teeth as cut"), False, 0.0, 0.0, "µm",
                where=Message("what the cutter leaves is not given (`made-for`, `ground` or "
                              "`profile`)"),
            ),
        )
    made = made_space(layout.tooth, cutter)
    topped = _topped(layout, cutter) if cutter.topping else made
    # What was cut before a broken cutter is not looked at here; what this program cuts, all of it.
    wanted = wanted_spaces(evidence, layout)
    meant = replace(layout.tooth, only=(int(wanted[0]) + 1, int(wanted[-1]) + 1))
    error = form_error(
        meant, topped, cuts.angle, depth_offset=cuts.deeper, height_offset=cuts.height,
        blank_radius=layout.blank_radius,
    )
    limit = form_limit(layout.tooth, form_tolerance(evidence.job.part))
    corrected = depth_correction(evidence)
    # A correction makes good what the zero is off by, if it is: so the tooth may be off by what it
    # does to a tooth of the right form, and by no more than that and the limit.
    allowed = _by_correction(layout, corrected, topping=cutter.topping)

    def told(where: Message) -> Message:
        return Message("{where}; depth-correction {corrected:+.3f} mm", where=where,
                       corrected=corrected) if corrected else where

    thin, thick = error.thickness
    worst = thin if abs(thin) > abs(thick) else thick
    standing = 0.0 if error.uncut else error.left
    answers = [
        evidence.at_most(MATERIAL_LEFT, Message("teeth as cut: material left"), standing,
                         limit + allowed.left, "µm",
                         where=told(error.left_where)),
        evidence.at_most(MATERIAL_MISSING, Message("teeth as cut: material missing"), error.missing,
                         limit + allowed.missing, "µm", where=told(error.missing_where)),
        evidence.at_most(
            THICKNESS, Message("teeth as cut: thickness at the pitch circle"), abs(worst),
            limit + max(map(abs, allowed.thickness)), "µm",
            where=told(Message("{thin:+.2f} to {thick:+.2f} µm", thin=thin, thick=thick)),
        ),
    ]
    return (*answers, *_running(evidence, layout.tooth, made, cuts))


def form_limit(tooth: Tooth, said: float | None = None) -> float:
    """What a tooth may differ from the drawing, µm; ``said`` mm by its job."""
    return 1000 * (max(LEAST_FORM, FORM_SHARE * tooth.sizes.module) if said is None else said)


def form_tolerance(part: Part) -> float | None:
    """What a part's job says that its teeth may differ from the drawing, mm."""
    return None if isinstance(part, Plate | TurnedPart) else part.form_tolerance


def form_of(tooth: Tooth, cutter: Cutter) -> FormError:
    """How a tooth comes out where its cutter, made for another, does all right.

    Raises Refused where the cutter's own space cannot be.
    """
    if tooth.approaches:
        line, way = cutter.cut_space(), tooth.ways[0]
        assert line is not None
        cuts = (Came(line, way.turn, way.over, way.bottom),)
        error = ways_error(tooth, [cuts] * 3, tooth.tip_radius)
        return FormError(error.left, error.left_where, error.missing, error.missing_where,
                         (0.0, 0.0))
    count = tooth.sizes.teeth
    return form_error(tooth, made_space(tooth, cutter), np.arange(count) * 360.0 / count,
                      blank_radius=tooth.sizes.tip_diameter / 2)


def most_off(error: FormError) -> float:
    """The greatest of what is wrong with a tooth's form, µm."""
    return max(0.0 if error.uncut else error.left, error.missing, *map(abs, error.thickness))


def form_off(tooth: Tooth, cutter: Cutter) -> float:
    """How far a tooth is from the drawing where its cutter, made for another, does all right; µm.

    Raises Refused where the cutter's own space cannot be.
    """
    return most_off(form_of(tooth, cutter))


def _either_way_round(made: Floats) -> tuple[Floats, ...]:
    """A space and, where its flanks differ, the one of the same cutter put on the other way round:
    nobody can tell which way it will be."""
    other = made[::-1] * np.array([1.0, -1.0])
    apart = shapely.hausdorff_distance(shapely.LinearRing(made), shapely.LinearRing(other))
    return (made, other) if apart > UNEVEN else (made,)


def _topped(layout: ToothLayout, cutter: Cutter) -> Floats:
    """The space of a topping cutter, and all that it takes over the tips beside it."""
    assert cutter.made_for is not None  # sense of the cutter's words
    tooth = layout.tooth
    return swept(topped_space(cutter.made_for.tooth()).polygon(
        tooth.root_radius, layout.blank_radius + tooth.sizes.whole_depth / 2))


def _by_correction(layout: ToothLayout, correction: float, *, topping: bool) -> FormError:
    """What a correction of the depth alone does to a tooth that is cut by its own space, µm."""
    tooth = layout.tooth
    if not correction:
        return FormError(0.0, NOTHING, 0.0, NOTHING, (0.0, 0.0))
    own = swept(
        topped_space(tooth).polygon(tooth.root_radius,
                                    layout.blank_radius + tooth.sizes.whole_depth / 2)
        if topping else tooth.space(PROFILE, tooth.sizes.whole_depth / 2))
    angles = np.arange(tooth.sizes.teeth) * 360.0 / tooth.sizes.teeth
    return form_error(tooth, own, angles, depth_offset=np.full(len(angles), correction),
                      blank_radius=layout.blank_radius)


def made_space(tooth: Tooth, cutter: Cutter) -> Floats:
    """The polygon of the space the cutter leaves on a wheel like ``tooth``, to beyond its blank.

    Raises Refused where the cutter's own space cannot be.
    """
    if cutter.made_for is not None:
        return swept(cutter.made_for.tooth().space(PROFILE, tooth.sizes.whole_depth / 2))
    line = cutter.cut_space()
    assert line is not None
    # A bought cutter is a rigid line: nothing in it knows of the wheel.
    return swept(line.polygon(tooth.root_radius, tooth.tip_radius + tooth.sizes.whole_depth / 2))


def swept(space: Floats) -> Floats:
    """The space (m, 2), mm, on the +x axis, a closed ring, and all that its cutter takes above it.

    A disc that comes along the arbor is a circle from the side: where its axis is still d away it
    stands r - √(r² - d²) less deep (r its radius). So on its way, and out of it again, it passes
    every lesser depth at every place of the blank, in one pass as in many, and whatever of a tooth
    hangs over the space is cut off. What is left open is the same space with its flanks never
    closing towards the outside. A space that nothing hangs over is its own answer.
    """
    ring = np.roll(space[:-1], -int(np.argmin(space[:-1, 0])), axis=0)
    outer = float(np.hypot(*space.T).max())
    opened = ring.copy()
    # Anticlockwise from the deepest point out along one flank; the other way out along the other.
    for order, side in ((np.arange(len(ring)), -1.0), (-np.arange(len(ring)), 1.0)):
        far = np.hypot(*ring[order].T) > outer - 1e-9
        flank = order[: int(np.argmax(far)) + 1]
        opened[flank, 1] = side * np.maximum.accumulate(side * ring[flank, 1])
        end = flank[-1]
        opened[end, 0] = np.sqrt(outer**2 - opened[end, 1] ** 2)
    if np.allclose(opened, ring, 0.0, 1e-9):
        return space
    return np.concatenate([opened, opened[:1]])


def depthings(
    wheel: Tooth, pinion: Tooth, full: bool, driver_is_cut: bool, made: Floats, deeper: float
) -> tuple[Depthing, ...]:
    """The pair rolled at nominal depthing and at the ends of what it must bear.

    One of the two is as cut, ``deeper`` mm than meant. Teeth of ``full`` thickness have no play at
    the nominal distance, so theirs is only ever opened. Raises Refused when the teeth do
    not reach each other.
    """
    nominal = centre_distance(wheel, pinion)
    step = DEPTHING * wheel.sizes.module
    offs = (0.0, step, 2 * step) if full else (-step, 0.0, step)
    cut = as_cut_tooth(wheel if driver_is_cut else pinion, made, depth_offset=deeper)
    return tuple(
        Depthing(
            off,
            roll(cut, pinion, nominal + off) if driver_is_cut else roll(wheel, cut, nominal + off),
        )
        for off in offs
    )


def corrected_pair(part: Part, cutter: Cutter, deeper: float) -> Message:
    """What stops the pair when teeth are cut ``deeper`` mm than meant; empty where nothing does.

    Raises Refused or ValueError where the pair cannot be rolled at all.
    """
    mate = part.mate_tooth()
    if mate is None or not cutter.shaped:
        return NOTHING
    tooth = part.tooth()
    wheel, pinion = (tooth, mate) if part.drives else (mate, tooth)
    rolled = depthings(wheel, pinion, form_cut_by(tooth.form).full, part.drives,
                       made_space(tooth, cutter), deeper)
    fouls = max(one.action.interference for one in rolled)
    play = min(one.action.backlash[0] for one in rolled)
    ratio = max(one.action.ratio_error for one in rolled)
    clear = min(min(one.action.clearance) for one in rolled)
    if fouls > CHORDS:
        return Message("teeth foul by {fouls:.1f} µm", fouls=fouls)
    if play <= -CHORDS:
        return Message("it has no play, {play:.1f} µm", play=play)
    if ratio > RATIO_SHARE:
        return Message("its ratio varies by {ratio:.1f} %, {most:g} % is bearable",
                       ratio=100 * ratio, most=100 * RATIO_SHARE)
    return NOTHING if clear > 0 else Message("tips meet the mate's roots by {by:.3f} mm", by=-clear)


def _why(no: Refused | ValueError) -> Message:
    """Why a pair cannot be rolled."""
    if not isinstance(no, Refused):
        return Message("the teeth as cut cannot be rolled")
    fault = no.faults[0]
    return parted((fault.message, fault.remedy) if fault.remedy else (fault.message,))


def _running(
    evidence: HeadEvidence, tooth: Tooth, made: Floats, cuts: LastCuts
) -> list[Proof]:
    """The pair rolled through a pitch: nothing fouls, there is play, the ratio is even enough."""
    try:
        mate = evidence.job.part.mate_tooth()
    except Refused as no:
        return [evidence.proof(RUNS, Message("the pair runs"), False, 0.0, 0.0, "µm",
                               where=_why(no))]
    if mate is None:
        return []
    driver_is_cut = evidence.job.part.drives
    wheel, pinion = (tooth, mate) if driver_is_cut else (mate, tooth)
    # The space that is off by most; a mean would hide it.
    deeper = float(cuts.deeper[np.argmax(np.abs(cuts.deeper))])
    full = form_cut_by(tooth.form).full
    try:
        rolled = tuple(
            one for space in _either_way_round(made)
            for one in depthings(wheel, pinion, full, driver_is_cut, space, deeper))
    except (Refused, ValueError) as no:
        return [evidence.proof(RUNS, Message("the pair runs"), False, 0.0, 0.0, "µm",
                               where=_why(no))]

    corrected = depth_correction(evidence)

    def at(found: Depthing) -> Message:
        where = Message("depthing {distance:.3f} mm ({off:+.3f})",
                        distance=found.action.centre_distance, off=found.off)
        return Message("{where}, depth-correction {corrected:+.3f} mm", where=where,
                       corrected=corrected) if corrected else where

    fouls = max(rolled, key=lambda r: r.action.interference)
    tight = min(rolled, key=lambda r: r.action.backlash[0])
    uneven = max(rolled, key=lambda r: r.action.ratio_error)
    low = min(rolled, key=lambda r: min(r.action.clearance))
    nominal = next(r for r in rolled if r.off == 0.0)
    play = nominal.action.backlash
    return [
        evidence.at_most(
            FOULS, Message("the pair does not foul"), fouls.action.interference, CHORDS, "µm",
            where=at(fouls),
        ),
        evidence.proof(
            PLAY, Message("play of the pair"), tight.action.backlash[0] > -CHORDS,
            tight.action.backlash[0], 0.0, "µm",
            where=Message("{where}; at the depthing as drawn {least:.1f} to {most:.1f} µm",
                          where=at(tight), least=play[0], most=play[1]),
        ),
        evidence.at_most(
            RATIO, Message("ratio of the pair"), 100 * uneven.action.ratio_error,
            100 * RATIO_SHARE, "%",
            where=Message("{where}; at the depthing as drawn {off:.1f} %", where=at(uneven),
                          off=100 * nominal.action.ratio_error),
        ),
        evidence.proof(
            TIPS, Message("tips clear of the mate's roots"), min(low.action.clearance) > 0,
            min(low.action.clearance), 0.0, "mm", where=at(low),
        ),
    ]
