"""Every round hole as the programs make it: its middle, its diameter, how round it is.

Read off the motion: a hole is all that its cutters clear at its floor, and the reach of that in
every direction is the middle's and the radius' share together. For a circle of radius R about c the
reach in the direction u is h = c·u + R; so over directions all round the mean of h is R, and twice
the mean of h·u is c. Lengths mm.
"""

from __future__ import annotations

import math

import numpy as np
import shapely

from camgen.arrays import Floats
from camgen.layout import FlatLayout
from camgen.messages import Message
from camgen.part.features import Hole
from camgen.part.plates.plate import Plate
from camgen.part.plates.round_features import round_holes_of
from camgen.proof.evidence import FlatEvidence
from camgen.proof.flat.wanted_edges import tolerance_of
from camgen.proof.ground.plan_cuts import PlanCuts, plan_cuts
from camgen.proof.result import Proof, ProofId
from camgen.shop.cutters import record_of
from camgen.values import dataclass

__all__ = ["MadeHole", "farthest_cleared", "holes_made", "prove_concentric", "prove_within_limits"]

CONCENTRIC = ProofId("flat", "concentric")
LIMITS = ProofId("flat", "limits")

# Directions that the reach is taken in: enough for a figure that does not hang on where a way round
# begins.
DIRECTIONS = 72
# Cutters that leave a thread, not a hole.


@dataclass(frozen=True)
class MadeHole:
    """A hole on one piece of work as made: ``x``, ``y`` in the plate's own frame, ``diameter``.

    ``off`` is how far its middle lies from where it shall be, ``out_of_round`` how far its wall
    leaves the circle through it; ``narrowest`` and ``widest`` are what is measured across it in
    any direction; ``in_setup`` is its middle in the setup's frame, as the program has it.
    """

    name: str
    piece: int
    x: float
    y: float
    diameter: float
    off: float
    out_of_round: float
    narrowest: float
    widest: float
    in_setup: complex = 0j


def holes_made(evidence: FlatEvidence) -> tuple[MadeHole, ...]:
    """Every hole that a step of this setup brings to size, on every piece of work.

    Holes that nothing of the program reaches are left out; the proofs of their walls say so.
    """
    layout = evidence.layout
    meant = _meant(evidence)
    holes = _asked(evidence, layout)
    found: list[MadeHole] = []
    for floor in dict.fromkeys(_floor(layout, hole) for hole in holes):
        cuts = _cuts_at(evidence, layout, floor)
        for hole in (one for one in holes if _floor(layout, one) == floor):
            for number, (x, y) in enumerate(layout.places):
                at = np.array([x + hole.x, y + hole.y])
                here = _within(cuts, at, hole.diameter / 2)
                if not len(here):
                    continue
                found.append(_measured(layout, hole, number, at, here,
                                       meant.get(hole.name, complex(hole.x, hole.y))))
    return tuple(found)


def prove_concentric(evidence: FlatEvidence) -> tuple[Proof, ...]:
    """Seats, counterbores and the holes they lead into, about one middle: the worst piece.

    The limit is what rounding may do to both.
    """
    asked = _asked(evidence, evidence.layout)
    if len(asked) < 2:
        return ()
    by_name: dict[str, list[MadeHole]] = {}
    for made in holes_made(evidence):
        by_name.setdefault(made.name, []).append(made)
    limit = round(2000 * tolerance_of(evidence), 3)
    answers: list[Proof] = []
    middles = shapely.points([(one.x, one.y) for one in asked])
    tree = shapely.STRtree(middles)
    for number, one in enumerate(asked):
        about = tree.query(middles[number], predicate="dwithin", distance=1e-6)
        for other in (asked[n] for n in sorted(about.tolist()) if n < number):
            wider = max(one, other, key=lambda hole: hole.diameter)
            if wider.depth is None and one.diameter != other.diameter:
                continue  # of the narrower no wall is left
            pairs = list(zip(by_name.get(one.name, ()), by_name.get(other.name, ()), strict=False))
            if not pairs:
                continue
            a, b = max(pairs, key=lambda pair: math.dist(_at(pair[0]), _at(pair[1])))
            answers.append(evidence.at_most(
                CONCENTRIC.about(f"{one.name}, {other.name}"),
                Message("{name} concentric with {name_2}", name=one.name, name_2=other.name),
                round(1000 * math.dist(_at(a), _at(b)), 3), limit, "µm",
                where=Message("X {x:.4f} Y {y:.4f} and X {x_2:.4f} Y {y_2:.4f} on the part",
                              x=a.x, y=a.y, x_2=b.x, y_2=b.y)))
    return tuple(answers)


def prove_within_limits(evidence: FlatEvidence) -> tuple[Proof, ...]:
    """Holes with limits that a cutter goes round in: measured across, none is beyond its limits.

    Whatever the machine rounds, a jewel is held or it is not: the limit is the hole's own. What
    the job has asked to be added to a diameter is taken off before.
    """
    added = _bored(evidence)
    holes = {hole.name: hole for hole in (*evidence.layout.part.holes, *evidence.layout.part.blind)}
    worst: dict[str, tuple[float, MadeHole]] = {}
    for made in holes_made(evidence):
        limits = holes[made.name].limits
        if made.name not in added or limits is None:
            continue
        more = added[made.name]
        off = max(made.widest - more - limits.middle, limits.middle - made.narrowest + more)
        if made.name not in worst or off > worst[made.name][0]:
            worst[made.name] = off, made
    answers = []
    for name, (off, made) in worst.items():
        limits = holes[name].limits
        assert limits is not None
        answers.append(evidence.at_most(
            LIMITS.about(name), Message("{name} within its limits, measured across", name=name),
            round(1000 * off, 3), round(500 * (limits.most - limits.least), 3), "µm",
            where=Message("{least:.4f} to {most:.4f} mm as made", least=made.narrowest,
                          most=made.widest)))
    return tuple(answers)


def _bored(evidence: FlatEvidence) -> dict[str, float]:
    """Names of the holes that this setup makes by going round, and what is added to each, mm.

    Of those that a cutter of their own size makes after that nothing of the circle is left.
    """
    setup = next((one for one in evidence.job.setups if one.name == evidence.setup), None)
    found: dict[str, float] = {}
    for step in setup.steps if setup is not None else ():
        for made in step.declares().holes:
            for hole in (*evidence.layout.part.holes, *evidence.layout.part.blind):
                if not made.holes.means(hole.name, hole.group):
                    continue
                if made.round and made.size == "as asked":
                    found[hole.name] = made.more
                elif made.size == "as the cutter":
                    found.pop(hole.name, None)
    return found


def _at(hole: MadeHole) -> tuple[float, float]:
    return hole.x, hole.y


def _meant(evidence: FlatEvidence) -> dict[str, complex]:
    """The middles of a plate's holes as it is described, by name."""
    job = evidence.job
    if not isinstance(job.part, Plate):
        return {}
    return {one.name: complex(one.place.x, one.place.y)
            for one in round_holes_of(job.part, job.material)}


def _asked(evidence: FlatEvidence, layout: FlatLayout) -> list[Hole]:
    """The holes that this setup's steps make, each once."""
    setup = next((one for one in evidence.job.setups if one.name == evidence.setup), None)
    made = [one for step in (setup.steps if setup is not None else ())
            for one in step.declares().holes]
    return [hole for hole in (*layout.part.holes, *layout.part.blind)
            if any(one.holes.means(hole.name, hole.group) for one in made)]


def _floor(layout: FlatLayout, hole: Hole) -> float:
    return layout.back if hole.depth is None else layout.face - hole.depth


def _cuts_at(evidence: FlatEvidence, layout: FlatLayout, floor: float) -> PlanCuts:
    """What is cleared at a floor, or at the lower face, by cutters that leave holes."""
    level = floor + evidence.increment
    cuts = plan_cuts(evidence.motion, evidence.cutters, layout.top, level)
    threading = [n for n, cutter in evidence.cutters.items() if record_of(cutter).threads]
    by = evidence.motion.cutter[cuts.piece]
    return cuts.only((cuts.wide_bottom > 0) & ~np.isin(by, threading))


def _within(cuts: PlanCuts, at: Floats, radius: float) -> PlanCuts:
    """The cuts that begin and end within a hole's circle: those that make it."""
    near = np.sort(cuts.tree.query(shapely.box(*(at - radius), *(at + radius))))
    inside = np.hypot(*(cuts.start[near] - at).T) < radius
    inside &= np.hypot(*(cuts.end[near] - at).T) < radius
    return cuts.only(near[inside])


def farthest_cleared(cuts: PlanCuts, angles: Floats) -> Floats:
    """(d,) the farthest that anything is cleared in the directions ``angles`` (d,), radians."""
    u = np.column_stack([np.cos(angles), np.sin(angles)])
    reach = np.maximum(cuts.start @ u.T, cuts.end @ u.T)
    arc = np.nonzero(cuts.sweep)[0]
    if len(arc):
        # Where the way round passes the direction itself, its circle reaches farthest there.
        first = np.minimum(cuts.begin[arc], cuts.begin[arc] + cuts.sweep[arc])
        passed = np.mod(angles[None, :] - first[:, None], 2 * np.pi) <= (
            np.abs(cuts.sweep[arc])[:, None] + 1e-12)
        whole = cuts.centre[arc] @ u.T + cuts.radius[arc, None]
        reach[arc] = np.where(passed, whole, reach[arc])
    farthest: Floats = (reach + cuts.wide_bottom[:, None]).max(axis=0)
    return farthest


def _measured(
    layout: FlatLayout, hole: Hole, number: int, at: Floats, cuts: PlanCuts, meant: complex
) -> MadeHole:
    """A hole measured in the setup's frame, and told in the plate's."""
    angles = np.linspace(0.0, 2 * np.pi, DIRECTIONS, endpoint=False)
    reach = farthest_cleared(cuts, angles)
    radius = float(reach.mean())
    middle = complex(2 * float((reach * np.cos(angles)).mean()),
                     2 * float((reach * np.sin(angles)).mean()))
    round_it = middle.real * np.cos(angles) + middle.imag * np.sin(angles) + radius
    off = middle - complex(*at)
    turned = {"X": off.conjugate(), "Y": -off.conjugate(), "": off}[layout.turned]
    place = meant + turned
    across = reach + np.roll(reach, DIRECTIONS // 2)
    return MadeHole(hole.name, number, place.real, place.imag, 2 * radius, abs(off),
                    float(np.abs(reach - round_it).max()), float(across.min()),
                    float(across.max()), middle)
