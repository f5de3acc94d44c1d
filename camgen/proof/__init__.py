"""Proofs: the motion read back from the written text held against the job and the plan.

Nothing here knows how the text was written. Every proof gives a figure and a limit.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from camgen.proof.evidence import Evidence, FlatEvidence, HeadEvidence, RoundEvidence, gather
from camgen.proof.flat.facing import prove_facing
from camgen.proof.flat.flat_removal import prove_flat_removal
from camgen.proof.flat.floors import prove_floors
from camgen.proof.flat.holes.holes_made import prove_concentric, prove_within_limits
from camgen.proof.flat.left_by_hand import prove_corners_left, prove_tabs_whole
from camgen.proof.flat.load.engagement import prove_engagement
from camgen.proof.flat.load.full_feed import prove_full_feed
from camgen.proof.flat.load.passes import prove_flat_passes
from camgen.proof.flat.outside_threads import prove_outside_threads
from camgen.proof.flat.thin_walls import prove_thin_walls
from camgen.proof.head.around_head import prove_around_head
from camgen.proof.head.milled import prove_milled
from camgen.proof.head.roughed import prove_roughed
from camgen.proof.head.spaces import prove_spaces
from camgen.proof.head.teeth_in_ways import prove_teeth_in_ways
from camgen.proof.head.tooth_form import prove_tooth_form
from camgen.proof.head.tooth_passes import prove_tooth_passes
from camgen.proof.motion.belts import prove_steps_set
from camgen.proof.motion.clamp import prove_answers, prove_clamp, prove_own_at_turns
from camgen.proof.motion.gone_to import prove_places
from camgen.proof.motion.limits import prove_limits
from camgen.proof.motion.operator.hands import prove_hands
from camgen.proof.motion.operator.stops import prove_clear_at_stops
from camgen.proof.motion.operator.touches import prove_touches
from camgen.proof.motion.pace import prove_pace
from camgen.proof.motion.same_motion import prove_same_motion
from camgen.proof.motion.spindle import prove_spindle
from camgen.proof.motion.state import prove_state
from camgen.proof.motion.stations import at_each_station, prove_stations
from camgen.proof.motion.text import prove_text
from camgen.proof.motion.warm_up import prove_warm_up
from camgen.proof.result import Proof
from camgen.proof.round.around import prove_around
from camgen.proof.round.flats_made import prove_flats
from camgen.proof.round.holes_made import prove_round_holes
from camgen.proof.round.sections import prove_sections
from camgen.proof.round.slots_made import prove_round_slots
from camgen.proof.table.cutter_body import prove_cutter_body
from camgen.proof.table.head_clear import prove_head_clear
from camgen.proof.table.holes_found import prove_holes_found
from camgen.proof.table.plunges import prove_plunges
from camgen.proof.table.ramps import prove_ramps
from camgen.proof.table.rapids import prove_flat_rapids
from camgen.proof.table.round_clear import prove_round_clear
from camgen.proof.table.touching import prove_meets_nothing
from camgen.proof.table.upright import prove_upright
from camgen.reader.motion import ReadProgram
from camgen.shop.machine import Machine

if TYPE_CHECKING:
    from camgen.job.reading import JobFile
    from camgen.plan import PlannedSetup

__all__ = ["Evidence", "Proof", "each_proof", "gather", "prove", "prove_evidence",
           "prove_flat", "prove_motion"]


def prove(
    jobfile: JobFile, planned: PlannedSetup, machine: Machine, programs: Sequence[ReadProgram],
    earlier: Sequence[Evidence] = (),
) -> tuple[Proof, ...]:
    """Every proof of one setup, on what was read back from its programs' texts.

    ``earlier`` is the evidence of the job's setups before it.
    """
    return prove_evidence(
        gather(
            planned.name, jobfile.job, machine, planned.layout, planned.moves, programs,
            planned_cuts=planned.cuts, earlier=earlier,
        )
    )


def prove_evidence(evidence: Evidence) -> tuple[Proof, ...]:
    """Every proof of one setup."""
    return tuple(each_proof(evidence))


def prove_motion(evidence: Evidence) -> Iterator[Proof]:
    """The proofs of motion alone: of a program that starts again within a job, or cuts only air."""
    yield from prove_text(evidence)
    yield from prove_state(evidence)
    yield from prove_same_motion(evidence)
    yield from prove_limits(evidence)
    yield from prove_pace(evidence)
    yield from prove_spindle(evidence)
    yield from prove_touches(evidence)
    yield from prove_hands(evidence)
    yield from prove_warm_up(evidence)
    yield from prove_places(evidence)
    yield from prove_steps_set(evidence)
    yield prove_clear_at_stops(evidence)
    yield from prove_stations(evidence)
    yield from prove_clamp(evidence)
    yield from prove_answers(evidence)
    yield from prove_own_at_turns(evidence)


def each_proof(evidence: Evidence) -> Iterator[Proof]:
    """The proofs of one setup one after another, the quicker first: a search may stop early."""
    yield from prove_motion(evidence)
    match evidence:
        case FlatEvidence():
            yield from at_each_station(evidence, prove_flat)
        case HeadEvidence():
            yield from _on_head(evidence)
        case RoundEvidence():
            yield from _round(evidence)


def _on_head(evidence: HeadEvidence) -> Iterator[Proof]:
    """The proofs of what is cut on the dividing head."""
    yield from prove_around_head(evidence)
    yield from prove_head_clear(evidence)
    yield from prove_spaces(evidence)
    yield from prove_tooth_passes(evidence)
    yield from prove_roughed(evidence)
    yield from prove_milled(evidence)
    yield from prove_tooth_form(evidence)
    yield from prove_teeth_in_ways(evidence)


def _round(evidence: RoundEvidence) -> Iterator[Proof]:
    """The proofs of what is cut round turned work."""
    yield from prove_around(evidence)
    yield from prove_round_clear(evidence)
    yield from prove_flats(evidence)
    yield from prove_round_holes(evidence)
    yield from prove_round_slots(evidence)
    yield from prove_sections(evidence)


def prove_flat(evidence: FlatEvidence) -> Iterator[Proof]:
    """The proofs of what is cut from flat stock, at one station."""
    yield from prove_flat_rapids(evidence)
    yield from prove_upright(evidence)
    yield from prove_cutter_body(evidence)
    yield from prove_holes_found(evidence)
    yield from prove_meets_nothing(evidence)
    yield from prove_ramps(evidence)
    yield from prove_plunges(evidence)
    yield from prove_flat_passes(evidence)
    yield from prove_facing(evidence)
    yield from prove_flat_removal(evidence)
    yield from prove_corners_left(evidence)
    yield from prove_tabs_whole(evidence)
    yield from prove_concentric(evidence)
    yield from prove_within_limits(evidence)
    yield from prove_floors(evidence)
    yield from prove_thin_walls(evidence)
    yield from prove_outside_threads(evidence)
    yield from prove_engagement(evidence)
    yield from prove_full_feed(evidence)
