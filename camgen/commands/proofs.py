"""A proof's answer in words and as data, the same wherever it is told."""

from __future__ import annotations

from typing import Any

from camgen.proof.result import Proof

__all__ = ["proof_entry", "proof_words"]


def proof_words(proof: Proof) -> str:
    """One line on a proof: the figure, the limit, where.

    >>> from camgen.proof.result import ProofId
    >>> depth = ProofId("head", "space-depth")
    >>> proof_words(Proof(depth, "depth", "teeth", False, 0.02, 0.001, "mm", "space 3", 71))
    'teeth: depth: 0.02 mm, limit 0.001, space 3, program line 71'
    """
    line = f", program line {proof.line}" if proof.line else ""
    where = f", {proof.where}" if proof.where else ""
    return (f"{proof.setup}: {proof.name}: {proof.figure:g} {proof.unit}, "
            f"limit {proof.limit:g}{where}{line}")


def proof_entry(proof: Proof) -> dict[str, Any]:
    """A proof for a program to read."""
    at = None if proof.at is None else dict(zip("XYZ", proof.at, strict=True))
    return {
        "id": proof.id.kind, "of": proof.id.of, "name": proof.name, "setup": proof.setup,
        "holds": proof.holds, "figure": proof.figure, "limit": proof.limit, "unit": proof.unit,
        "where": proof.where, "line": proof.line,
        "program": proof.program, "at": at,
    }
