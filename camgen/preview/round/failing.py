"""Turned work where a proof fails: the section across it there, and the side."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from camgen.job.on_arbor import Turned
from camgen.preview.course.track import traced
from camgen.preview.head.on_arbor import body_key
from camgen.preview.paper.board import Board, Box
from camgen.preview.paper.key import Sample
from camgen.preview.round.round_picture import draw_cross_section, draw_side, track_cuts
from camgen.proof.common.round_frame import round_way
from camgen.proof.evidence import RoundEvidence
from camgen.proof.path import is_cut

__all__ = ["cut_there", "draw_there", "key_there"]


def key_there(board: Board, bodies: Iterable[Turned]) -> list[tuple[Sample, str]]:
    """What the styles of such a picture mean."""
    return [("edge", board.says("as-cut")), ("wanted", board.says("as-meant")),
            ("rapid", board.says("rapid")), *body_key(board, bodies)]


def cut_there(evidence: RoundEvidence) -> int:
    """The first cut, -1 where nothing cuts."""
    rows = np.flatnonzero(is_cut(evidence.motion))
    return int(rows[0]) if len(rows) else -1


def draw_there(
    board: Board, evidence: RoundEvidence, piece: int, plan: Box, side: Box
) -> None:
    """The section at the piece of motion at fault, or through the middle of what is cut."""
    layout, fitted = evidence.layout, dict(evidence.cutters)
    track = traced(evidence.motion, evidence.machine)
    cuts = track_cuts(layout, track)
    made = layout.made[0] if layout.made else None
    place = (made.begin + made.end) / 2 if made else layout.stands_out / 2
    if piece >= 0:
        there = float(round_way(evidence).along[piece].mean())
        place = there if 0.0 < there < layout.stands_out else place
    draw_cross_section(board, layout, cuts, fitted, place, plan, made.name if made else "")
    draw_side(board, layout, track, cuts, fitted, side)
