"""Is the spindle warmed up before the first cut, as the machine file says?

Bearings that are run cold at a high speed wear; so the speeds are run in their order, each as long
as is said. No cutter is run faster than it is to cut: the seconds at higher speeds are spent at
its own.
"""

from __future__ import annotations

from collections.abc import Iterator

from camgen.messages import Message
from camgen.proof.evidence import Evidence
from camgen.proof.motion.told import Faults, told_faults
from camgen.proof.result import Proof, ProofId
from camgen.reader.motion import ReadProgram

__all__ = ["prove_warm_up"]

WARM = ProofId("motion", "warmed-up")


def prove_warm_up(evidence: Evidence) -> Iterator[Proof]:
    """Speeds and seconds of the first start of the spindle."""
    words, moves = evidence.machine.spindle_words, evidence.moves
    if not (words.warm_up and words.by_program) or moves is None:
        return
    own = next((section.rpm for section in moves.sections if section.rpm > 0), 0.0)
    begun = 0
    for program in evidence.programs:
        # A gear is changed with the spindle standing still.
        runs = _runs(program, geared=bool(evidence.machine.spindle.steps))
        if own and runs:
            found = Faults(program, begun, [])
            slower = [(rpm, seconds) for rpm, seconds in words.warm_up if rpm < own]
            rest = sum(seconds for rpm, seconds in words.warm_up if rpm >= own)
            _compare([*slower, (own, rest)], runs, found)
            yield told_faults(evidence, WARM, Message("spindle warmed up before the first cut"),
                              "runs",
                              [found])
            return
        begun += len(program.motion)


def _runs(program: ReadProgram, *, geared: bool) -> list[tuple[float, float, int]]:
    """The speeds of the first start, rev/min, before anything moves, their seconds and lines."""
    runs: list[tuple[float, float, int]] = []
    made = -1
    for one in program.told:
        if runs and one.before != made:
            break
        if one.kind == "spindle" and one.value:
            made = one.before
            if not runs or abs(runs[-1][0] - abs(one.value)) > 0.51:
                runs.append((abs(one.value), 0.0, one.line))
        elif one.kind == "spindle" and runs and not geared:
            break
        elif one.kind == "dwell" and runs:
            speed, seconds, line = runs[-1]
            runs[-1] = (speed, seconds + one.value, line)
    return runs


def _compare(
    wanted: list[tuple[float, float]], runs: list[tuple[float, float, int]], found: Faults
) -> None:
    """The first run that is another, or shorter, than is wanted."""
    for number, (speed, seconds) in enumerate(wanted):
        got, lasts, line = runs[min(number, len(runs) - 1)]
        if number >= len(runs) or abs(got - speed) > 0.51:
            found.add(Message("{got:.0f} rev/min, and the machine file's warm-up wants {speed:.0f} "
                              "rev/min for {seconds:g} s then", got=got, speed=speed,
                              seconds=seconds), line)
            return
        if lasts < seconds - 1e-6:
            found.add(Message("{lasts:g} s at {got:.0f} rev/min, and the machine file's warm-up "
                              "wants {seconds:g} s", lasts=lasts, got=got, seconds=seconds), line)
            return
    if len(runs) > len(wanted):
        speed, _, line = runs[len(wanted)]
        found.add(Message("{speed:.0f} rev/min after the warm-up, and the cutter is to turn at "
                          "{wanted:.0f}", speed=speed, wanted=wanted[-1][0]), line)
