"""Tooth spaces roughed before they are formed: within their form, and before the form cutter comes.

Lengths mm.
"""

from __future__ import annotations

import numpy as np

from camgen.arrays import Ints, distinct_rows
from camgen.job.rack import cutter_numbers
from camgen.messages import NOTHING, Message
from camgen.moves import Index
from camgen.proof.common.head_frame import head_way
from camgen.proof.evidence import HeadEvidence
from camgen.proof.head.spaces import SpaceCuts, depth_correction, forming, space_cuts
from camgen.proof.result import Proof, ProofId
from camgen.teeth.cut.roughed import within

__all__ = ["prove_roughed"]

WITHIN = ProofId("head", "roughed-within")
BEFORE = ProofId("head", "roughed-before")

# What chords of the two forms may feign, µm.
CHORDS = 0.5


def prove_roughed(evidence: HeadEvidence) -> tuple[Proof, ...]:
    """Nothing of the teeth is taken by who roughs, and who forms them comes after; no proof where
    nobody roughs."""
    forms = forming(evidence)
    way = head_way(evidence)
    cuts = space_cuts(evidence, way)
    rough = cuts.of(~forms[cuts.piece])
    height = np.nan_to_num(way.across[rough.piece].mean(axis=1))
    within_form = (_within(evidence, rough, height),) if len(rough.piece) else ()
    roughs = _roughs(evidence)
    if not roughs:
        return within_form
    return (*within_form, _before(evidence, rough, cuts.of(forms[cuts.piece]), roughs))


def _within(evidence: HeadEvidence, rough: SpaceCuts, height: Ints) -> Proof:
    """The most that any roughing cut takes out of the teeth, by its cutter's own form."""
    layout, name = evidence.layout, Message("roughing within the form of the teeth")
    limit = CHORDS + 500 * evidence.increment
    by = evidence.motion.cutter[rough.piece]
    placed = np.column_stack([by, np.rint(rough.off * 1e5), np.rint(rough.depth * 1e5),
                              np.rint(height * 1e5)]).astype(np.int64)
    # Of one cutter at one depth those that stand farthest beside their place are looked at.
    worst, at = -1.0, 0
    where: Message = NOTHING
    for row in _extremes(placed):
        cutter = evidence.cutters.get(int(by[row]))
        space = cutter.cut_space() if cutter is not None else None
        if space is None:
            return evidence.proof(WITHIN, name, False, 0.0, limit, "µm", int(rough.piece[row]),
                                  Message("the form of the cutter that roughs is not known"))
        found = within(layout.tooth, space, float(rough.depth[row]), layout.blank_radius,
                       correction=depth_correction(evidence), across=float(height[row]),
                       turned=float(rough.off[row]))
        if found.beyond > worst:
            worst, at = found.beyond, row
            where = (Message("space {space}, radius {radius:.3f} mm",
                             space=int(rough.space[row]) + 1, radius=found.radius)
                     if found.beyond > 0 else
                     Message("{left:.3f} mm are left on the flanks and roots, or more",
                             left=found.left))
    return evidence.at_most(WITHIN, name, 1000 * worst, limit, "µm", int(rough.piece[at]), where)


def _extremes(placed: Ints) -> list[int]:
    """Rows of ``placed`` (k, 4), cutter, angle, depth and height, that can be the worst: for each
    cutter and depth the least and greatest angle and height."""
    kinds, back = np.unique(placed[:, [0, 2]], axis=0, return_inverse=True)
    rows: set[int] = set()
    for kind in range(len(kinds)):
        mine = np.nonzero(back.ravel() == kind)[0]
        for column in (1, 3):
            values = placed[mine, column]
            rows |= {int(mine[np.argmin(values)]), int(mine[np.argmax(values)])}
    first, _ = distinct_rows(placed[sorted(rows)])
    return [sorted(rows)[one] for one in first.tolist()]


def _before(
    evidence: HeadEvidence, rough: SpaceCuts, forms: SpaceCuts,
    roughs: list[tuple[int, set[int], float]],
) -> Proof:
    """Spaces that are formed with metal in them for which the form cutter was not planned.

    Those that the program does not rough, since it begins at a later one, were roughed before.
    """
    layout = evidence.layout
    missing: dict[int, int] = {}
    for cutter, spaces, depth in roughs:
        mine = evidence.motion.cutter[rough.piece] == cutter
        done = rough.of(mine & (rough.depth >= depth - evidence.increment)
                        & (rough.low <= layout.stack_from + evidence.increment)
                        & (rough.high >= layout.stack_to - evidence.increment))
        first = np.full(layout.division.count, np.iinfo(np.int64).max)
        np.minimum.at(first, done.space, done.piece)
        for space in spaces:
            formed = forms.piece[forms.space == space - 1]
            if len(formed) and formed.min() < first[space - 1]:
                missing[space] = int(formed.min())
    return evidence.at_most(
        BEFORE, Message("spaces formed before they are roughed"), len(missing), 0, "spaces",
        next(iter(missing.values()), None),
        Message("space {space}", space=tuple(missing)[:8]) if missing else NOTHING)


def _roughs(evidence: HeadEvidence) -> list[tuple[int, set[int], float]]:
    """For each roughing step of the plan its cutter, the spaces it is to rough, and how deep."""
    setup = next((s for s in evidence.job.setups if s.name == evidence.setup), None)
    if setup is None or evidence.moves is None:
        return []
    whole = evidence.layout.tooth.sizes.whole_depth + depth_correction(evidence)
    numbers = cutter_numbers(evidence.job)
    found = []
    for section in evidence.moves.sections:
        leaves = setup.steps[section.step].declares().roughs_spaces
        if leaves is not None:
            found.append((numbers[section.cutter],
                          {move.space for move in section.moves
                           if isinstance(move, Index) and move.space}, whole - leaves))
    return found
