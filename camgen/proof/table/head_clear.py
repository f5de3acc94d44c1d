"""All of the spindle's side but the edges against all that stands on the dividing head.

Screw, collar, shank, holder and nose turn about the cutter's axis, which lies along ``across``;
blanks, backing, nut, driver, tailstock and chuck about the arbor. So a stretch of the one at the
heights y0 … y1 over the arbor meets a body of radius R in a rectangle √(R² − y²) to either side, y
being the least height, and is clear where its circle is off that rectangle. No part of it may ever
touch anything: in the cut, at the rapid, while the head turns. Lengths mm.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from camgen.arrays import Floats, Ints, distinct_rows
from camgen.job.on_arbor import Turned
from camgen.layout import ToothLayout
from camgen.messages import Message
from camgen.proof.common.rapid_ways import ways_of
from camgen.proof.common.rooms import room_off
from camgen.proof.evidence import HeadEvidence
from camgen.proof.path import is_rapid
from camgen.proof.result import Proof, ProofId
from camgen.reader.motion import Kind
from camgen.shop.cutters import PartName, ProfilePart, profile_of
from camgen.values import dataclass

__all__ = ["Nearest", "prove_head_clear"]

CLEAR = ProofId("table", "head-clear")
NO_BODY = Message("nothing of it comes near")


@dataclass(frozen=True)
class _Way:
    """Straight stretches of the cutter's axis: along and away (m, 2, 2) at begin and end, the least
    and greatest place ``across`` (m, 2), and the piece of motion of each (m,)."""

    plane: Floats
    across: Floats
    piece: Ints


@dataclass(frozen=True)
class Nearest:
    """The least room of a cutter: between which part and which body, at which piece."""

    room: float
    part: ProfilePart
    body: Turned
    piece: int


def prove_head_clear(evidence: HeadEvidence) -> tuple[Proof, ...]:
    """For each cutter: the least room between what carries it and what stands on the head."""
    layout = evidence.layout
    answers = []
    for number, cutter in sorted(evidence.cutters.items()):
        way = _way_of(evidence, layout, number)
        id = CLEAR.about(f"cutter {number}")
        name = Message("shank and holder clear of the head, cutter {number}", number=number)
        nearest = min(_rooms(layout, way, profile_of(cutter).solid), default=None,
                      key=lambda one: one.room)
        if nearest is None or nearest.room == np.inf:
            answers.append(evidence.proof(id, name, True, 0.0, 0.0, "mm", where=NO_BODY))
            continue
        where = _told(evidence, nearest)
        answers.append(evidence.proof(id, name, nearest.room > 0, nearest.room, 0.0, "mm",
                                      nearest.piece, where))
    return tuple(answers)


def _way_of(evidence: HeadEvidence, layout: ToothLayout, number: int) -> _Way:
    """All ways of a cutter, rapids dog-legged and straight, turns as the place they stand at."""
    motion = evidence.motion
    mine = motion.cutter == number
    fed = mine[evidence.chords.piece] & ~is_rapid(motion)[evidence.chords.piece]
    starts, ends = [evidence.chords.start[fed]], [evidence.chords.end[fed]]
    pieces = [evidence.chords.piece[fed]]
    rapid = np.nonzero(mine & is_rapid(motion))[0]
    if len(rapid):
        ways = ways_of(evidence, rapid)
        starts.append(ways[:, :, :-1].reshape(-1, 3))
        ends.append(ways[:, :, 1:].reshape(-1, 3))
        pieces.append(np.repeat(rapid, 6))
    points = np.stack([np.concatenate(starts), np.concatenate(ends)], axis=1)
    piece = np.concatenate(pieces)
    known = np.all(np.isfinite(points), axis=(1, 2))
    points, piece = points[known], piece[known]
    arrangement = layout.arrangement

    def signed(axis: str) -> Floats:
        return np.asarray(points[:, :, "XYZ".index(axis[1])] * (-1.0 if axis[0] == "-" else 1.0))

    along, infeed = signed(arrangement.along), signed(arrangement.infeed)
    tip = layout.tooth.sizes.tip_diameter / 2
    disc = evidence.cutters[number].diameter / 2
    away = tip + disc - infeed if layout.zero == "touch" else -infeed
    across = np.sort(points[:, :, "XYZ".index(arrangement.across)], axis=1)
    if arrangement.across != "Z":
        # Which way a spindle lies along X or Y is not said: it is looked at both ways.
        across = np.concatenate([across, -across[:, ::-1]])
        along, away, piece = np.tile(along, (2, 1)), np.tile(away, (2, 1)), np.tile(piece, 2)
    flat = np.concatenate([along, away, across], axis=1)
    if not len(flat):
        return _Way(np.zeros((0, 2, 2)), np.zeros((0, 2)), piece)
    first, _ = distinct_rows(np.rint(flat * 1e7).astype(np.int64))
    first = np.sort(first)
    return _Way(np.stack([along, away], axis=2)[first], across[first], piece[first])


def _rooms(
    layout: ToothLayout, way: _Way, parts: tuple[ProfilePart, ...]
) -> Iterator[Nearest]:
    """The least room between each part and each body, infinite where they pass each other."""
    if not len(way.piece):
        return
    for part in parts:
        for body in layout.bodies:
            least = np.full(len(way.piece), np.inf)
            for (r0, z0), (r1, z1) in zip(part.outline, part.outline[1:], strict=False):
                low, high = way.across[:, 0] + min(z0, z1), way.across[:, 1] + max(z0, z1)
                height = np.where((low <= 0) & (high >= 0), 0.0,
                                  np.minimum(np.abs(low), np.abs(high)))
                for slice_ in body.slices():
                    least = np.minimum(least, room_off(way.plane, max(r0, r1), height, slice_))
            worst = int(np.argmin(least))
            yield Nearest(float(least[worst]), part, body, int(way.piece[worst]))


def _told(evidence: HeadEvidence, nearest: Nearest) -> Message:
    """Which part comes nearest to which body, when, and the cure where they meet."""
    part, kind = nearest.part, evidence.motion.kind[nearest.piece]
    when = {Kind.RAPID: Message("at the rapid"), Kind.INDEX: Message("while the head turns")}.get(
        Kind(int(kind)), Message("in the cut"))
    place, called, wide = evidence.place(nearest.piece), part.name.called, 2 * part.radius
    if nearest.room > 0:
        return Message("{place}: the {part}, {wide:g} mm wide, is {room:.3f} mm off the {thing}",
                       place=place, part=called, wide=wide, room=nearest.room,
                       thing=nearest.body.called)
    cure = Message("a longer reach, or a narrower holder")
    if part.name not in (PartName.HOLDER, PartName.NOSE):
        cure = Message("a narrower {part}, or a cutter of a larger diameter", part=called)
    if part.word:
        cure = Message("{cure}; say {word}: with the cutter, for it is not said", cure=cure,
                       word=part.word)
    return Message("{place}: the {part}, {wide:g} mm wide, meets the {thing} {when}: {cure}",
                   place=place, part=called, wide=wide, thing=nearest.body.called, when=when,
                   cure=cure)
