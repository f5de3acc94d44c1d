"""Boring a round hole with an end mill: down in a helix, then round in passes, last a spring pass.

Centre paths are circles of radius (D − d)/2 about the hole, so the cutter needs only be smaller
than the hole. Finishing circles are entered and left on half circles through the hole's centre,
which are tangent to them.
"""

import math
from dataclasses import replace
from typing import Annotated, ClassVar, Literal

from pydantic import Field

from camgen.faults import Fault, Refused, no_more
from camgen.job.models import StepWords
from camgen.messages import Message
from camgen.moves import Feed, Move
from camgen.part.declaration import Correction, Declaration, FindsHoles, MakesHoles, Named
from camgen.part.features import Hole
from camgen.shapes.path import Point, circle
from camgen.shop.cutters import Ability, least_round, opening_of
from camgen.shop.model import Length, LengthOrZero
from camgen.steps.cuts import finishing, milling
from camgen.steps.head.last_cut import rubbing_faults, skimming_faults
from camgen.steps.holes.which_holes import (
    bottom_of,
    edges_too_short,
    holes_chosen,
    names_without_hole,
    open_at_edge,
    shortest_way_round,
)
from camgen.steps.kind import SENSES, FlatBench, PlannedStep, StepKind
from camgen.steps.lash import on_a_grid_enough, round_enough, roundness_notes
from camgen.steps.moving import Feeds, above, away, enter, follow, laps, leads, shifted
from camgen.yamlfile.length_units import IN_FILE_UNITS

__all__ = ["BORE", "Bore", "ring_radii"]

# The last cut on the hole's radius unless the job says, as a share of the cutter's diameter; and
# how much of the cutter's radius a ring may step outward. Common practice, no source.
FINISH_SHARE = 0.05
STEP_SHARE = 0.8
# The least radius of the way down, as a share of the cutter's diameter: below, it stands rather
# than goes round. Common practice, no source.
WAY_SHARE = 0.02


class Bore(StepWords):
    """Bring holes to size on a circle."""

    kind: ClassVar[str] = "bore"
    called: ClassVar[Message] = Message("bore")
    holes: tuple[str, ...] | None = Field(None, description="names of holes; all when left out")
    drilled: LengthOrZero = Field(
        0.0, description="diameter of the hole already there; 0 for solid metal"
    )
    finish: Length | None = Field(
        None, description="left on the radius for the finishing passes"
    )
    passes: int = Field(1, ge=1, le=20, description="finishing passes that share this")
    spring_passes: int = Field(1, ge=0, le=5, description="passes at the last size again")
    direction: Literal["climb", "conventional"] = Field(
        "climb", description="climb: each chip begins thick; conventional: it begins thin"
    )
    correction: Annotated[float, IN_FILE_UNITS, Field(ge=-1, le=1)] = Field(
        0.0, description="added to the diameter: what a first piece measured too small"
    )

    def declares(self) -> Declaration:
        """Holes to size; in solid metal, or in a hole as wide as the job says."""
        holes = Named(self.holes)
        return Declaration(
            (MakesHoles(holes, "as asked", more=self.correction, round=True),),
            (Ability.MILL_WALL,),
            (FindsHoles(holes, "none", self.drilled),) if self.drilled else (),
            corrections=(Correction("correction", self.correction, "diameter", 1.0),),
        )


def _finish(bench: FlatBench, words: Bore) -> float:
    return FINISH_SHARE * bench.cutter.diameter if words.finish is None else words.finish


def ring_radii(last: float, cutter_radius: float, open_radius: float) -> list[float]:
    """Radii of the roughing circles of the cutter's centre, mm, the last one ``last``.

    Each cuts at most 0.8 of the cutter's radius further out than what was open before: the first
    reaches over the hole's centre, or over the edge of a hole in which the cutter's centre may
    already stand ``open_radius`` off the middle.

    >>> [round(radius, 3) for radius in ring_radii(0.9, 0.5, 0.0)]
    [0.4, 0.65, 0.9]
    """
    step = STEP_SHARE * cutter_radius
    first = min(last, max(open_radius, 0.0) + step)
    count = math.ceil((last - first) / step - 1e-9)
    return [first + (last - first) * number / max(1, count) for number in range(count + 1)]


def _least_ring(bench: FlatBench) -> float:
    """The least radius of a circle that is worth going round, mm."""
    return FINISH_SHARE * bench.cutter.diameter


def _last(bench: FlatBench, words: Bore, hole: Hole) -> float:
    """Radius of the cutter's centre when the hole is to size, mm."""
    return (hole.diameter + words.correction - bench.cutter.diameter) / 2


def _bottom(bench: FlatBench, hole: Hole) -> tuple[float, list[Fault]]:
    """The Z of the last lap: a corner that is not sharp must pass a lower face, not a floor."""
    return bottom_of(bench, hole, bench.cutter.corner_radius if hole.depth is None else 0.0)


def _rings(bench: FlatBench, words: Bore, hole: Hole) -> list[float]:
    """Radii of the roughing circles of the cutter's centre in a hole."""
    return ring_radii(_last(bench, words, hole) - _finish(bench, words),
                      bench.cutter.diameter / 2, (words.drilled - bench.cutter.diameter) / 2)


def _post(bench: FlatBench, words: Bore, hole: Hole) -> list[Fault]:
    """Whether an end that does not cut at its middle leaves a post in the middle of a hole."""
    cutter, first = bench.cutter, _rings(bench, words, hole)[0]
    least = least_round(cutter)
    wide = opening_of(cutter)
    if wide is None or first >= least or words.drilled >= wide - 2 * first:
        return []
    return [Fault(
        Message("{cutter} goes down in hole '{hole}', {diameter:g} mm, on a circle of "
                "{circle:.3g} mm: its end does not cut at the middle (plunges: false) and leaves a "
                "post there", cutter=words.cutter, hole=hole.name, diameter=hole.diameter,
                circle=2 * first),
        Message("a hole of {wide:.3g} mm drilled first and said by `drilled`, or a cutter below "
                "{below:.2f} mm, or one that plunges", wide=wide,
                below=_narrower(bench, words, hole)),
        bench.place("cutter"),
    )]


def _narrower(bench: FlatBench, words: Bore, hole: Hole) -> float:
    """The diameter below which the same cutter would go round on a circle large enough."""
    own = bench.cutter.diameter
    finish = FINISH_SHARE if words.finish is None else words.finish / own
    return (hole.diameter + words.correction) / (
        1 + 2 * finish + 2 * least_round(bench.cutter) / own)


def check(bench: FlatBench, words: Bore) -> list[Fault]:
    """Faults seen without planning."""
    faults = bench.need() + names_without_hole(bench, words.holes)
    faults += skimming_faults(bench, {"finish": words.finish}, words.passes)
    cutter = bench.cutter
    least = WAY_SHARE * cutter.diameter
    for hole in holes_chosen(bench.layout, words.holes):
        last = _last(bench, words, hole)
        if words.finish is not None and _least_ring(bench) < last < words.finish + least:
            faults.append(
                Fault(
                    Message("{left:g} mm left for the last pass leave a cutter of {cutter:g} mm no "
                            "way round in hole '{hole}', {diameter:g} mm", left=words.finish,
                            cutter=cutter.diameter, hole=hole.name, diameter=hole.diameter),
                    Message("finish: {most} or less, or leave it out",
                            most=no_more(last - _least_ring(bench) / 2)),
                    bench.place("finish"),
                )
            )
        elif last < _finish(bench, words) + least:
            # What is left for the last pass goes with the cutter, unless the job says it.
            most = (hole.diameter + words.correction) / (1 + 2 * FINISH_SHARE + 2 * WAY_SHARE)
            if words.finish is not None:
                most = min(most, (hole.diameter + words.correction - 2 * words.finish)
                           / (1 + 2 * WAY_SHARE))
            if least_round(cutter) and not words.drilled:
                most = min(most, _narrower(bench, words, hole) - 0.005)
            faults.append(
                Fault(
                    Message("cutter {cutter:g} mm has no room to go round in hole '{hole}', "
                            "{diameter:g} mm", cutter=cutter.diameter, hole=hole.name,
                            diameter=hole.diameter),
                    Message("a cutter of at most {most} mm", most=no_more(most, 0.01)),
                    bench.place("cutter"),
                )
            )
        else:
            faults += _post(bench, words, hole)
        if words.drilled >= hole.diameter:
            faults.append(
                Fault(
                    Message("the hole drilled, {drilled:g} mm, is not smaller than hole '{hole}', "
                            "{diameter:g} mm", drilled=words.drilled, hole=hole.name,
                            diameter=hole.diameter),
                    Message("drill smaller, or leave the boring out"),
                    bench.place("drilled"),
                )
            )
        bottom, amiss = _bottom(bench, hole)
        faults += amiss or edges_too_short(bench, bottom)
    chosen = holes_chosen(bench.layout, words.holes)
    faults += round_enough(bench, chosen) + on_a_grid_enough(bench, chosen)
    return list(dict.fromkeys(faults))


def plan(bench: FlatBench, words: Bore) -> PlannedStep:
    """Each hole in turn: roughing helices, finishing passes, spring passes."""
    layout, cutter = bench.layout, bench.cutter
    holes = holes_chosen(layout, words.holes)
    bottoms = {hole.name: _bottom(bench, hole)[0] for hole in holes}
    deep = layout.face - min(bottoms.values())
    finish = _finish(bench, words)
    cut = milling(bench, cutter.diameter, deep)
    last_cut, _ = finishing(
        bench, finish / words.passes, layout.face, layout.face - deep, cut.speed
    )
    if words.finish is not None:
        thin = rubbing_faults(bench, last_cut, {"finish": words.finish}, words.passes)
        if thin:
            raise Refused(thin)
    rough = Feeds.on(bench.machine, cut.feed, cut.plunge_feed, cutter.diameter / 2)
    fine = Feeds.on(bench.machine, last_cut.feed, cut.plunge_feed, cutter.diameter / 2)
    climb = words.direction == "climb"
    one: list[Move] = []
    for hole in shortest_way_round(bench, holes):
        bottom = bottoms[hole.name]
        centre = Point(hole.x, hole.y)
        last = _last(bench, words, hole)
        for radius in _rings(bench, words, hole):
            ring = circle(centre, radius, clockwise=not climb)
            one += above(layout, ring.start)
            one += enter(rough, layout.face, cleared=False, above=layout.face + layout.clearance)
            one += laps(ring, layout.face, bottom, cut, rough, climb)
        one.append(Feed(rough.along, x=centre.x, y=centre.y))
        # A hole that a long cutter cannot finish at once is finished level by level.
        levels = math.ceil((layout.face - bottom) / last_cut.depth - 1e-9)
        for level in range(1, levels + 1):
            if levels > 1:
                height = layout.face - (layout.face - bottom) * level / levels
                one.append(Feed(fine.straight, z=height))
            for number in range(words.passes):
                radius = last - finish * (words.passes - 1 - number) / words.passes
                ring = circle(centre, radius, clockwise=not climb)
                onto, off = leads(ring, climb, radius / 2, radius)
                # Springing back is for the last size and depth; above it the next level cuts.
                last_of_all = level == levels and number == words.passes - 1
                rounds = 1 + (words.spring_passes if last_of_all else 0)
                one += follow(onto, fine, climb)
                one += follow(ring, fine, climb) * rounds
                one += follow(off, fine, climb)
        one += away(layout)
    moves = away(layout)
    for x, y in layout.places:
        moves += shifted(one, x, y)
    remarks = (
        Message("{title}: {sense} milling; gauge each hole of the first piece, and give what it "
                "lacks as `correction` (on the diameter)", title=words.called,
                sense=SENSES[words.direction]),
    )
    cut = replace(cut, others=(last_cut,))
    return PlannedStep(bench.section(words.called, cut.speed, moves), cut, remarks,
                       notes=roundness_notes(bench) + open_at_edge(
                           bench, holes))


BORE = StepKind("bore", Bore, check, plan)
