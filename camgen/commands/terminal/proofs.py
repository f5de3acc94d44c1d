"""A proof's answer in words and as data, the same wherever it is told."""

from __future__ import annotations

from typing import Any

from camgen.messages import Message
from camgen.proof.common.said import unit_said
from camgen.proof.result import Proof

__all__ = ["proof_entry", "proof_words"]


def proof_words(proof: Proof) -> Message:
    """One line on a proof: the figure, the limit, where.

    >>> from camgen.proof.result import ProofId
    >>> depth = ProofId("head", "space-depth")
    >>> proof_words(Proof(depth, "depth", "teeth", False, 0.02, 0.001, "mm", "space 3", 71))
    'teeth: depth: 0.02 mm, limit 0.001, space 3, program line 71'
    """
    found = Message("{setup}: {name}: {figure:g} {unit}, limit {limit:g}", setup=proof.setup,
                    name=proof.name, figure=proof.figure, unit=unit_said(proof.unit),
                    limit=proof.limit)
    if proof.where:
        found = Message("{found}, {where}", found=found, where=proof.where)
    if proof.line:
        found = Message("{found}, program line {line}", found=found, line=proof.line)
    return found


def proof_entry(proof: Proof) -> dict[str, Any]:
    """A proof for a program to read."""
    at = None if proof.at is None else dict(zip("XYZ", proof.at, strict=True))
    return {
        "id": proof.id.kind, "of": proof.id.of, "name": proof.name, "setup": proof.setup,
        "holds": proof.holds, "figure": proof.figure, "limit": proof.limit, "unit": proof.unit,
        "where": proof.where, "line": proof.line,
        "program": proof.program, "at": at,
    }
