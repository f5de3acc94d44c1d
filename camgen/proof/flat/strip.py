"""Both sides of a stock turned over as one, as its programs make them.

The stock lies on the second side where dowels put it, in the holes as the first side's program made
them. From there the places of its pieces, and the middle of every hole made in them, are brought
back to the first side, and held against where the first side has them. Nothing of the layout's own
mirroring is used. Lengths mm, places as complex numbers x + iy.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import shapely

from camgen.messages import NOTHING, Message, verbatim
from camgen.part.features import Hole
from camgen.part.parts import features_of
from camgen.proof.evidence import FlatEvidence
from camgen.proof.flat.holes.holes_made import holes_made
from camgen.proof.flat.neighbours import deepest_meeting
from camgen.proof.flat.wanted_edges import tolerance_of
from camgen.proof.result import Proof, ProofId
from camgen.shapes.mirror import MirrorAxis

__all__ = ["prove_strip", "prove_tabs"]

PIECES = ProofId("flat", "pieces-on-turned-stock")
HOLES = ProofId("flat", "place-on-turned-stock")
BOTH = ProofId("flat", "concentric-with-first-side")
TABS = ProofId("flat", "tabs-kept")


def _turned(at: complex, about: str) -> complex:
    """A place once it was turned over: about X its Y changes sign, about Y its X."""
    return {"X": at.conjugate(), "Y": -at.conjugate(), "": at}[about]


def prove_strip(
    axis: MirrorAxis, frame: FlatEvidence, first: FlatEvidence, second: FlatEvidence,
    names: Sequence[str],
) -> tuple[Proof, ...]:
    """Of one kind of piece: where its pieces and their holes come, against the first side.

    ``frame`` is the evidence of the dowels' holes on the first side; the pieces are called by
    ``names``. The worst piece is told of each hole.
    """
    back = _brought_back(axis, frame, second)
    limit = round(2000 * tolerance_of(second), 3)
    off = [1000 * abs(back(complex(*here)) - complex(*there)) for here, there in
           zip(second.layout.places, first.layout.places, strict=True)]
    worst = max(range(len(off)), key=lambda n: off[n])
    proofs = [second.at_most(
        PIECES, Message("pieces where the first side has them"), round(off[worst], 3), limit, "µm",
        where=verbatim(names[worst]))]
    meant = {one.name: complex(one.place.x, one.place.y)
             for one in features_of(second.job.part, second.job.material) if isinstance(one, Hole)}
    made = {(one.name, one.piece): one.in_setup for one in holes_made(first)}
    found: dict[tuple[ProofId, Message], tuple[float, Message]] = {}

    def note(id: ProofId, said: Message, figure: float, piece: int) -> None:
        if figure >= found.get((id, said), (-1.0, NOTHING))[0]:
            found[id, said] = figure, verbatim(names[piece])

    for one in holes_made(second):
        at = back(one.in_setup) - complex(*first.layout.places[one.piece])
        off_by = 1000 * abs(at - _turned(meant[one.name], first.layout.turned))
        note(HOLES.about(one.name), Message("place of {name} on the stock, from both programs",
                                            name=one.name), off_by, one.piece)
        for (name, piece), middle in made.items():
            if piece == one.piece and abs(meant[name] - meant[one.name]) < 1e-6:
                note(BOTH.about(f"{one.name}, {name}"),
                     Message("{name} concentric with {name_2} of the first side", name=one.name,
                             name_2=name), 1000 * abs(back(one.in_setup) - middle), piece)
    return (*proofs, *(second.at_most(id, said, round(figure, 3), limit, "µm", where=where)
                       for (id, said), (figure, where) in found.items()))


def _brought_back(
    axis: MirrorAxis, frame: FlatEvidence, second: FlatEvidence
) -> Callable[[complex], complex]:
    """A place of the second side in the first side's frame, by two dowels' holes as made."""
    made = {one.name: one.in_setup for one in holes_made(frame)}
    zero, other = second.layout.dowels[:2]
    first = made[zero.name]
    turn = (made[other.name] - first) / _turned(
        complex(other.x - zero.x, other.y - zero.y), axis)
    turn /= abs(turn)
    stands = complex(zero.x, zero.y)
    return lambda at: first + turn * _turned(at - stands, axis)


def prove_tabs(
    evidence: FlatEvidence, names: Sequence[str], tabs: Sequence[shapely.Polygon]
) -> Proof:
    """How far the cuts of a side go into ``tabs`` that hold pieces called by ``names``."""
    found = deepest_meeting(evidence.flat_cuts, tabs)
    name = Message("cut into tabs that hold the pieces")
    if found is None:
        return evidence.at_most(TABS, name, 0.0, tolerance_of(evidence), "mm")
    piece = int(evidence.flat_cuts.piece[found.cut])
    return evidence.at_most(
        TABS, name, found.depth, tolerance_of(evidence), "mm", piece,
        Message("{other}, at {place}", other=names[found.region], place=evidence.place(piece)))
