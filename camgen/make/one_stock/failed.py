"""Where a proof that fails is to be looked for: in the job of its part, with the piece's name."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence

from camgen.make.causes.job_places import JobPlace, in_words, job_place, step_at
from camgen.make.chain import ProvedSetup
from camgen.make.one_stock.chain import ProvedKind, ProvedSide, ProvedStock
from camgen.messages import Message
from camgen.proof.result import Proof

__all__ = ["places_of_failed"]


def places_of_failed(
    stock: ProvedStock, failed: Sequence[Proof]
) -> Iterator[tuple[Proof, Message | None]]:
    """Each proof that fails with the piece and the place in its job's file; None where no step has
    to do with it, or it is one of a variant."""
    for proof in failed:
        found = next((place for number, side in enumerate(stock.sides)
                      if (place := _place(number, side, proof)) is not None), None)
        yield proof, found


def _place(number: int, side: ProvedSide, proof: Proof) -> Message | None:
    for one in side.kinds:
        if any(proof is mine for mine in one.proofs):
            return _named(one, job_place(one.kind.job_file, ProvedSetup(
                one.planned, side.programs, side.read, one.evidence, one.proofs), proof), number)
    if not any(proof is mine for mine in side.whole):
        return None
    step = step_at(side.evidence, proof)
    if step is None:
        return None
    one = side.kinds[side.of_kind[step]]
    job_file = one.kind.job_file
    own = one.planned.moves.sections[side.of_section[step]].step
    words = job_file.job.setups[number].steps[own]
    return _named(one, JobPlace(job_file.place("setups", number, "steps", own), one.kind.name,
                                own + 1, words.kind), number)


def _named(one: ProvedKind, place: JobPlace, number: int) -> Message:
    """The place with the piece's name, and its setup by the name that its own job gives it."""
    own = one.kind.job_file.document.get(("setups", number, "name"))
    place = dataclasses.replace(place, setup=str(own or place.setup))
    return Message("{name}: {what}", name=one.kind.name, what=in_words(place))
