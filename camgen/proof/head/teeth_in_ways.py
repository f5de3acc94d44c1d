"""Teeth whose cutters come to them in ways of their own: what stands, against what is meant.

Every cut read back is set into the wheel as it stood: turned by the head, over by the axis across,
deep by the infeed, whichever step it belongs to. Lengths mm, angles degrees, errors µm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from camgen.faults import Refused
from camgen.layout.stands import hands_of
from camgen.messages import NOTHING, Message
from camgen.proof.common.head_frame import head_way
from camgen.proof.evidence import HeadEvidence
from camgen.proof.head.spaces import space_cuts, wanted_spaces
from camgen.proof.head.tooth_form import (
    FORM_UNKNOWN,
    MATERIAL_LEFT,
    MATERIAL_MISSING,
    form_limit,
    form_tolerance,
)
from camgen.proof.head.ways_meant import MeantWay, ways_meant
from camgen.proof.result import Proof, ProofId
from camgen.teeth.cut.bought import CutterSpace
from camgen.teeth.cut.in_ways import (
    Came,
    WaysError,
    face_as_cut,
    land_as_cut,
    stands_after,
    ways_error,
)
from camgen.teeth.tooth import ToothFace

__all__ = ["prove_teeth_in_ways"]

FACES = ProofId("head", "tooth-faces")

# So many spaces that differ are measured; of more, those that stand out farthest. A cut that stands
# within these of another is the same: mm, and degrees.
MEASURED, SAME = 10, 1e-7
# How the cuts of one space stood.
Cuts = tuple[Came, ...]


def prove_teeth_in_ways(evidence: HeadEvidence) -> tuple[Proof, ...]:
    """Material left and missing on the teeth, and their faces' angles; nothing of teeth whose
    cutters simply go straight in."""
    layout = evidence.layout
    if not layout.tooth.approaches:
        return ()
    ways = ways_meant(evidence)
    lines = {number: _line(evidence, number)
             for number in set(evidence.motion.cutter[evidence.cut].tolist())}
    if None in lines.values():
        return (evidence.proof(
            FORM_UNKNOWN, Message("teeth as cut"), False, 0.0, 0.0, "µm",
            where=Message("what the cutter leaves is not given (`made-for`, `ground` or "
                          "`profile`)")),)
    spaces = _as_they_came(evidence, ways, lines)
    wanted = [int(one) for one in wanted_spaces(evidence, layout) if int(one) in spaces]
    if not wanted:
        return ()
    found = [(number, three, ways_error(layout.tooth, three, layout.blank_radius, number))
             for number, three in _worth_measuring(evidence, spaces, wanted)]
    limit = form_limit(layout.tooth, form_tolerance(evidence.job.part))
    allowed = _by_correction(evidence, ways, lines)
    left = max((one for _, _, one in found), key=lambda one: one.left)
    missing = max((one for _, _, one in found), key=lambda one: one.missing)
    return (
        evidence.at_most(MATERIAL_LEFT, Message("teeth as cut: material left"), left.left,
                         limit + allowed.left, "µm", where=left.left_where),
        evidence.at_most(MATERIAL_MISSING, Message("teeth as cut: material missing"),
                         missing.missing, limit + allowed.missing, "µm",
                         where=missing.missing_where),
        *_faces(evidence, [(number, three) for number, three, _ in found], limit),
    )


def _line(evidence: HeadEvidence, number: int) -> CutterSpace | None:
    cutter = evidence.cutters.get(number)
    try:
        return cutter.cut_space() if cutter is not None else None
    except Refused:
        return None


def _as_they_came(
    evidence: HeadEvidence, ways: tuple[MeantWay, ...], lines: dict[int, CutterSpace | None]
) -> dict[int, Cuts]:
    """The cuts of each space, from 0, as they stood in the wheel; the deepest of those in one
    place."""
    layout, head = evidence.layout, head_way(evidence)
    hands, tip = hands_of(layout.arrangement), layout.tooth.tip_radius
    cuts = space_cuts(evidence, head)
    across = np.nan_to_num(head.across[cuts.piece].mean(axis=1), nan=1e3)
    # Where the head stands when told the division's angle, and as much beside it as the program is.
    errors = np.array(layout.division.errors)[cuts.space] / 3600.0
    turned = np.array([one.stance.turned for one in ways])[cuts.way]
    turn = hands.turn * (cuts.off + turned + errors) + layout.tooth.ways[0].turn
    by = evidence.motion.cutter[cuts.piece]
    deepest: dict[tuple[int, int, int, int], int] = {}
    for row in range(len(cuts.piece)):
        key = (int(cuts.space[row]), int(by[row]), round(turn[row] / SAME / 1e3),
               round(across[row] / SAME / 1e3))
        if key not in deepest or cuts.depth[row] > cuts.depth[deepest[key]]:
            deepest[key] = row
    found: dict[int, list[Came]] = {}
    for (space, cutter, _, _), row in sorted(deepest.items()):
        line = lines[cutter]
        assert line is not None
        found.setdefault(space, []).append(
            Came(line, float(turn[row]), float(hands.across * across[row]),
                 tip - float(cuts.depth[row])))
    return {space: tuple(cames) for space, cames in found.items()}


def _worth_measuring(
    evidence: HeadEvidence, spaces: dict[int, Cuts], wanted: list[int]
) -> Iterator[tuple[int, list[Cuts]]]:
    """Spaces that differ, each with those beside it; where one of these was not cut here it is
    taken to be like the space itself."""
    count = evidence.layout.division.count
    on = round(hands_of(evidence.layout.arrangement).turn)
    kinds: dict[tuple[tuple[float, ...], ...], tuple[int, list[Cuts]]] = {}
    for space in wanted:
        own = spaces[space]
        three = [spaces.get((space - on) % count, own), own,
                 spaces.get((space + on) % count, own)]
        key = tuple(tuple(round(value, 7) for one in cuts
                          for value in (one.turn, one.over, one.bottom)) for cuts in three)
        kinds.setdefault(key, (space, three))
    rows = list(kinds.values())
    if len(rows) <= MEASURED or len({len(key[1]) for key in kinds}) > 1:
        yield from rows[: 4 * MEASURED]
        return
    table = np.array([key[1] for key in kinds])
    chosen = {int(row) for row in (*table.argmin(axis=0), *table.argmax(axis=0), 0)}
    yield from (rows[row] for row in sorted(chosen)[:MEASURED])


def _by_correction(
    evidence: HeadEvidence, ways: tuple[MeantWay, ...], lines: dict[int, CutterSpace | None]
) -> WaysError:
    """What corrections of the depth alone do to the teeth, µm."""
    tooth, blank = evidence.layout.tooth, evidence.layout.blank_radius
    nothing = NOTHING
    if not any(one.corrected for one in ways):
        return WaysError(0.0, nothing, 0.0, nothing)
    errors = []
    for share in (0.0, 1.0):
        cuts = tuple(
            Came(line, one.approach.turn, one.approach.over,
                 one.approach.bottom - share * one.corrected)
            for one in ways if (line := lines.get(one.cutter)) is not None and one.forms)
        errors.append(ways_error(tooth, [cuts] * 3, blank))
    return WaysError(max(errors[1].left - errors[0].left, 0.0), nothing,
                     max(errors[1].missing - errors[0].missing, 0.0), nothing)


def _faces(
    evidence: HeadEvidence, found: list[tuple[int, list[Cuts]]], limit: float
) -> Iterator[Proof]:
    """Each straight face measured on the teeth as cut: its angle from the radius, and what is left
    of the blank's outside at the tips."""
    layout = evidence.layout
    worst, told, worst_limit, holds = -1.0, NOTHING, 1.0, True
    for space, three in found:
        made = stands_after(layout.tooth, three, layout.blank_radius)
        land = land_as_cut(made, layout.tooth, layout.blank_radius)
        for face in layout.tooth.faces:
            meant = _meant_lean(face)
            seen = face_as_cut(made, face)
            # As far as the tolerance of the form lets a face of its length lean.
            most = math.degrees(math.atan(limit / 1000 / abs(face.at.end - face.at.start)))
            off = abs(seen.lean - meant) if seen is not None else 90.0
            if off / most > worst / worst_limit:
                worst, worst_limit, holds = off, most, off <= most
                lean = seen.lean if seen is not None else math.nan
                told = Message(
                    "space {space}: {face} {lean:.3f}° from the radius, {meant:.3f}° meant; land "
                    "at the tip {land:.4f} mm", space=space + 1, face=face.name, lean=abs(lean),
                    meant=abs(meant), land=land)
    if worst >= 0:
        yield evidence.proof(FACES, Message("faces of the teeth"), holds, worst, worst_limit,
                             "degrees", where=told)


def _meant_lean(face: ToothFace) -> float:
    way = face.at.end - face.at.start
    return math.degrees(float(np.angle(face.at.end / way)))
