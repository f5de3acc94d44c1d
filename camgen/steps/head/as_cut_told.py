"""What is told of teeth that hang on the cutter: how they come out, and how they run with the mate.
"""

from __future__ import annotations

import math

import numpy as np

from camgen.faults import Refused
from camgen.job.joined.cut_by import cutter_of_teeth
from camgen.layout import ToothLayout
from camgen.messages import Message
from camgen.part.parts import Toothed
from camgen.part.plates.plate import Plate
from camgen.part.turned.turned import TurnedPart
from camgen.shop.cutters import Cutter
from camgen.steps.kind import HeadBench
from camgen.teeth.cut.as_cut import as_cut_tooth, form_error
from camgen.teeth.pairs import pair_runs, runs_said
from camgen.teeth.tooth import Tooth

__all__ = ["as_cut_notes", "topping_remarks"]

# A blank is left so much larger in radius for a topping cutter to true, in modules; one that stands
# up less than the first of them is at size, mm. Common practice, no source.
LEFT_TO_TOP, AT_SIZE = 0.1, 0.005


def as_cut_notes(bench: HeadBench) -> tuple[Message, ...]:
    """How the teeth come out of a bought cutter, or of one that was made for others, and run.

    Nothing where the cutter was made for these teeth.
    """
    part, cutter, tooth = bench.job.part, bench.cutter, bench.layout.tooth
    if isinstance(part, Plate | TurnedPart) or not cutter.shaped or not _of_its_own(part, cutter):
        return ()
    if bench.job.cutters.get(cutter_of_teeth(bench.job)) != cutter:
        return ()  # it cuts before another that gives the teeth their form
    try:
        line = cutter.cut_space()
        assert line is not None
        if part.is_as_cut:
            sizes = tooth.sizes
            made = [*_of_module(part, cutter), Message(
                "teeth as their cutter makes them: blank {blank:.3f} mm, {deep:.3f} mm deep to a "
                "root of {root:.3f} mm, teeth {thick:.3f} mm thick along the pitch circle",
                blank=sizes.tip_diameter, deep=sizes.whole_depth, root=sizes.root_diameter,
                thick=sizes.tooth_thickness)]
        else:
            made = [] if tooth.approaches else [
                _form(tooth, line.polygon(tooth.root_radius, _outer(tooth)))]
        return (*made, *_pair(part, tooth, line.polygon(tooth.root_radius, _outer(tooth))),
                *_known(cutter, line.uneven))
    except (Refused, ValueError):
        return ()  # told by the proofs


def topping_remarks(layout: ToothLayout) -> tuple[Message, ...]:
    """What a cutter that tops the teeth does to a blank that is at size already."""
    if not layout.topped or layout.over_tip > AT_SIZE:
        return ()
    sizes = layout.tooth.sizes
    return (Message("the cutter tops the teeth, and the blank is at their tip diameter, {tip:.3f} "
                    "mm: nothing is left for it to true, so the tips run as the blank does. Where "
                    "they shall run with the roots, turn it to about {more:.2f} mm and write "
                    "blank: {more:.2f}", tip=sizes.tip_diameter,
                    more=sizes.tip_diameter + 2 * LEFT_TO_TOP * sizes.module),)


def _of_its_own(part: Toothed, cutter: Cutter) -> bool:
    """Whether what comes out is not plainly what is meant."""
    made = cutter.made_for
    if part.is_as_cut or part.mate_cutter is not None or made is None:
        return True
    return made.teeth != part.count or (made.mate or part.mate) != part.mate


def _of_module(part: Toothed, cutter: Cutter) -> tuple[Message, ...]:
    """A cutter of a module that differs from the wheel's by no more than can be seen."""
    ground = cutter.ground or cutter.made_for
    if ground is None or math.isclose(ground.module, part.module, rel_tol=1e-6):
        return ()
    return (Message("the cutter is ground for module {module:g}, the {word} has {other:g}: each "
                    "tooth and space together are {off:.1f} µm narrower or wider on the wheel than "
                    "on the cutter, all of it in the thickness of the teeth",
                    module=ground.module, word=part.word, other=part.module,
                    off=1000 * math.pi * abs(ground.module - part.module)),)


def _outer(tooth: Tooth) -> float:
    return tooth.tip_radius + tooth.sizes.whole_depth / 2


def _form(tooth: Tooth, space: np.ndarray) -> Message:
    count = tooth.sizes.teeth
    error = form_error(tooth, space, np.arange(count) * 360.0 / count)
    thin, thick = error.thickness
    return Message("teeth as the cutter leaves them against their form: up to {left:.1f} µm left "
                   "standing and {missing:.1f} µm missing, thickness {off:+.1f} µm along the pitch "
                   "circle", left=error.left, missing=error.missing,
                   off=thin if abs(thin) > abs(thick) else thick)


def _pair(part: Toothed, tooth: Tooth, space: np.ndarray) -> tuple[Message, ...]:
    mate = part.mate_tooth()
    if mate is None:
        return ()
    cut = as_cut_tooth(tooth, space)
    pair = (tooth, mate) if part.drives else (mate, tooth)
    said = runs_said(pair_runs(*pair, cut, driver=part.drives))
    whose = (Message("its mate of {count}, as {cutter} cuts it", count=part.mate,
                     cutter=part.mate_cutter) if part.mate_cutter is not None else
             Message("its mate of {count}, as its form has it", count=part.mate))
    return (Message("as cut, with {mate}: {runs}", mate=whose, runs=said),)


def _known(cutter: Cutter, uneven: float) -> tuple[Message, ...]:
    """What is taken for granted of a cutter's profile."""
    ground = cutter.ground
    if ground is not None and not ground.is_pinion and ground.teeth is None:
        return (Message("the cutter's flanks below the pitch circle are taken as parallel; where "
                        "its maker's chart is drawn for a number of teeth, say teeth: under "
                        "ground:"),)
    if cutter.profile is not None and 1000 * uneven >= 0.5:
        return (Message("the two flanks of the trace are up to {uneven:.1f} µm unlike; the pair is "
                        "rolled with the cutter either way round", uneven=1000 * uneven),)
    return ()
