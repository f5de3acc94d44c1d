"""Both sides of a plate as the programs make them, brought back into the plate's own frame.

A setup whose zero is a dowel lies where the dowels put it: in the holes as an earlier program made
them. The middle of every hole it makes is read off its motion, brought back from there, and held
against the plate's description and against what earlier setups made about the same middle. Nothing
of the layout's own mirroring is used. Lengths mm, places as complex numbers x + iy.
"""

from __future__ import annotations

from collections.abc import Sequence

from camgen.job.models import Job
from camgen.layout import FlatLayout
from camgen.messages import Message
from camgen.part.features import Hole
from camgen.part.parts import features_of
from camgen.proof.evidence import FlatEvidence
from camgen.proof.flat.holes.holes_made import holes_made
from camgen.proof.flat.wanted_edges import tolerance_of
from camgen.proof.result import Proof, ProofId
from camgen.values import dataclass

__all__ = ["Middle", "made_middles", "prove_sides"]

PLACE = ProofId("flat", "place-on-plate")
CONCENTRIC = ProofId("flat", "concentric-with-earlier-setup")

@dataclass(frozen=True)
class Middle:
    """The middle of a hole as a setup makes it, in the plate's own frame."""

    name: str
    setup: str
    at: complex


def prove_sides(setups: Sequence[FlatEvidence]) -> dict[str, tuple[Proof, ...]]:
    """For each setup that lies on dowels, by name: where its holes come on the plate.

    ``setups`` are those of flat work in one job, in order.
    """
    if not setups:
        return {}
    meant = _meant(setups[0].job)
    known: dict[str, Middle] = {}
    proofs: dict[str, tuple[Proof, ...]] = {}
    for evidence in setups:
        layout = evidence.layout
        on_plate = {
            name: Middle(name, evidence.setup, _on_plate(layout, known, meant, at))
            for name, at in made_middles(evidence).items()
        }
        if layout.lies_by:
            proofs[evidence.setup] = (
                *(_place(evidence, one, meant) for one in on_plate.values()),
                *(_concentric(evidence, one, other)
                  for one in on_plate.values() for other in known.values()
                  if abs(meant[one.name] - meant[other.name]) < 1e-6),
            )
        known.update(on_plate)
    return proofs


def _meant(job: Job) -> dict[str, complex]:
    """The middle of every round hole as the plate is described, by name."""
    return {one.name: complex(one.place.x, one.place.y)
            for one in features_of(job.part, job.material) if isinstance(one, Hole)}


def _turned(at: complex, about: str) -> complex:
    """A place once the piece was turned over: about X its Y changes sign, about Y its X."""
    return {"X": at.conjugate(), "Y": -at.conjugate(), "": at}[about]


def _on_plate(
    layout: FlatLayout, known: dict[str, Middle], meant: dict[str, complex], at: complex
) -> complex:
    """A place of a setup's frame in the plate's own.

    On two dowels the piece lies so that the first hole, as it was made, is at the zero, and the
    second, as it was made, in the direction of the second dowel.
    """
    if not layout.lies_by:
        return _turned(at - complex(*layout.places[0]), layout.turned)
    names = [hole.name for hole in layout.lies_by]
    first, *others = [known[name].at if name in known else meant[name] for name in names]
    turn = 1.0 + 0.0j
    if others:
        stands = _turned(complex(layout.lies_by[1].x, layout.lies_by[1].y), layout.turned)
        turn = (others[0] - first) / stands
        turn /= abs(turn)
    return first + turn * _turned(at, layout.turned)


def made_middles(evidence: FlatEvidence) -> dict[str, complex]:
    """Middles of the holes that a setup's steps make, in its own frame, read off its motion.

    Of several pieces from one stock, those of the first.
    """
    return {one.name: one.in_setup for one in holes_made(evidence) if one.piece == 0}


def _limit(evidence: FlatEvidence) -> float:
    """µm: both middles and the dowel's are each off by rounding."""
    return round(2000 * tolerance_of(evidence), 3)


def _place(evidence: FlatEvidence, one: Middle, meant: dict[str, complex]) -> Proof:
    off = 1000 * abs(one.at - meant[one.name])
    return evidence.at_most(
        PLACE.about(one.name), Message("place of {name} on the plate", name=one.name),
        round(off, 3), _limit(evidence), "µm",
        where=_in_plate(one.at),
    )


def _in_plate(at: complex) -> Message:
    return Message("X {x:.4f} Y {y:.4f} in the plate's own frame", x=at.real, y=at.imag)


def _concentric(evidence: FlatEvidence, one: Middle, other: Middle) -> Proof:
    off = 1000 * abs(one.at - other.at)
    return evidence.at_most(
        CONCENTRIC.about(f"{one.name}, {other.name}"),
        Message("{name} concentric with {name_2} of setup {setup}", name=one.name,
                name_2=other.name, setup=other.setup), round(off, 3),
        _limit(evidence), "µm",
        where=_in_plate(other.at),
    )
