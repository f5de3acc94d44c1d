"""Is the spindle turning, and turning the right way, whenever the cutter may be in metal?"""

from __future__ import annotations

import numpy as np

from camgen.arrays import Flags
from camgen.messages import Message
from camgen.proof.evidence import Evidence
from camgen.proof.motion.told import listed
from camgen.proof.path import is_rapid
from camgen.proof.result import Proof, ProofId
from camgen.reader.motion import Kind
from camgen.shop.cutters import record_of
from camgen.shop.machine import HandHead

__all__ = ["prove_spindle"]

STOP = ProofId("motion", "stop-to-start-spindle")
OFF = ProofId("motion", "spindle-on")
BACKWARDS = ProofId("motion", "spindle-sense")
HANDS = ProofId("motion", "spindle-still-at-hand-turns")


def prove_spindle(evidence: Evidence) -> tuple[Proof, ...]:
    """No fed move with the spindle off or turning backwards.

    Where the machine's spindle is started by hand the programs cannot say; then the proof is that
    they stop for it before the first fed move.
    """
    motion = evidence.motion
    cuts = np.nonzero(evidence.cut)[0]
    if not len(cuts):
        return ()
    if not evidence.machine.spindle_words.by_program:
        waiting = [
            program.name for program in evidence.programs
            if not any(event.kind == "stop" and event.before <= _first_cut(program.motion.kind)
                       for event in program.events)
        ]
        return (
            evidence.at_most(
                STOP, Message("a stop to start the spindle before cutting"), len(waiting), 0,
                "programs", where=listed(waiting),
            ),
            *_started(evidence),
            *_by_hand(evidence),
        )
    # A cutter that stands still must not be drawn out of its cut either.
    used = evidence.cut.copy()
    used[1:] |= evidence.cut[:-1] & is_rapid(motion)[1:]
    used &= ~_off_the_wall(evidence)
    cuts = np.nonzero(used)[0]
    off = cuts[motion.speed[cuts] == 0]
    backwards = cuts[np.sign(motion.speed[cuts]) != _sense(evidence)[cuts]]
    backwards = backwards[motion.speed[backwards] != 0]
    return (
        evidence.at_most(
            OFF, Message("cuts with the spindle off"), len(off), 0, "moves",
            int(off[0]) if len(off) else None,
        ),
        evidence.at_most(
            BACKWARDS, Message("cuts with the spindle turning backwards"), len(backwards), 0,
            "moves",
            int(backwards[0]) if len(backwards) else None,
        ),
        *_by_hand(evidence),
    )


def _started(evidence: Evidence) -> list[Proof]:
    """Told to be stopped by hand, the spindle is told to be started again before it cuts."""
    off = np.nonzero(evidence.cut & (evidence.motion.speed == 0))[0]
    return [evidence.at_most(
        OFF, Message("cuts with the spindle off"), len(off), 0, "moves",
        int(off[0]) if len(off) else None,
    )]


def _off_the_wall(evidence: Evidence) -> Flags:
    """(n,) rapid moves of a boring bar, stopped with its tip one way, away from where it points.

    Only where the machine can stop its spindle so. What it is then drawn out through is open.
    """
    motion, words = evidence.motion, evidence.machine.spindle_words
    bars = [number for number, cutter in evidence.cutters.items() if record_of(cutter).bores]
    if not bars or words.oriented_stop is None:
        return np.zeros(len(motion), dtype=np.bool_)
    axis, sign = "XY".index(words.tip_at[1]), 1.0 if words.tip_at[0] == "+" else -1.0
    way = motion.end - motion.start
    with np.errstate(invalid="ignore"):
        off = (way[:, axis] * sign < 0) & (way[:, 1 - axis] == 0) & (way[:, 2] == 0)
    return np.asarray(is_rapid(motion) & np.isin(motion.cutter, bars) & (motion.speed == 0) & off)


def _by_hand(evidence: Evidence) -> list[Proof]:
    """A head is turned by hand only while the spindle stands still."""
    if not isinstance(evidence.machine.dividing, HandHead):
        return []
    motion = evidence.motion
    running = np.nonzero((motion.kind == Kind.INDEX) & (motion.speed != 0))[0]
    return [
        evidence.at_most(
            HANDS, Message("turns by hand with the spindle running"), len(running), 0, "turns",
            int(running[0]) if len(running) else None,
        )
    ]


def _first_cut(kind: np.ndarray) -> int:
    """Number of the first fed piece."""
    fed = np.nonzero((kind >= 1) & (kind <= 3))[0]
    return int(fed[0]) if len(fed) else len(kind)


def _sense(evidence: Evidence) -> np.ndarray:
    """(n,) the sense each cutter is meant to turn in: 1 clockwise (M3), −1 anticlockwise.

    A tap is fed in turning one way and fed out turning the other.
    """
    meant = {}
    if evidence.moves is not None:
        meant = {
            section.cutter_number: 1.0 if section.clockwise else -1.0
            for section in evidence.moves.sections
        }
    senses = np.ones(len(evidence.motion))
    for number, sense in meant.items():
        senses[evidence.motion.cutter == number] = sense
    taps = [number for number, cutter in evidence.cutters.items() if record_of(cutter).taps]
    if taps:
        motion = evidence.motion
        with np.errstate(invalid="ignore"):
            out = evidence.cut & (motion.end[:, 2] > motion.start[:, 2] + 1e-9)
        senses[out & np.isin(motion.cutter, taps)] *= -1.0
    return senses
