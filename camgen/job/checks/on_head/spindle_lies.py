"""Which way the spindle lies that an arrangement of the dividing head needs.

The cutter's axis lies along ``across``. ISO 841 has the spindle along Z; a machine file says by
``spindle: lies`` where it stays so whatever the head does.
"""

from __future__ import annotations

from collections.abc import Iterator

from camgen.faults import Fault
from camgen.job.file import JobFile
from camgen.job.models import HeadSetup, RoundSetup
from camgen.messages import NOTHING, Message
from camgen.shop.cutters import record_of
from camgen.shop.machine import Arrangement, Machine

__all__ = ["lying_faults", "lying_remark", "must_lie_remark", "round_lying_faults"]


def lying_faults(
    job_file: JobFile, machine: Machine, at: tuple[str | int, ...], setup: HeadSetup
) -> Iterator[Fault]:
    """The head stands so that the spindle would have to lie otherwise than it does, or so that a
    changer would draw the cutter up through the work."""
    lies, own = machine.spindle.lies, setup.dividing.arrangement
    arrangement = own or (machine.dividing.arrangement if machine.dividing else None)
    if arrangement is not None and arrangement.infeed == "+Z":
        whose = Message("the job's") if own is not None else Message("the machine file's")
        word = _drawn_up_by(machine)
        if word:
            yield Fault(Message("{whose} arrangement has infeed: +Z, so the cutter stands below "
                                "the work, and by {word} in {name} it would pass up or down "
                                "through it", whose=whose, word=word, name=machine.name),
                        Message("an arrangement with infeed: -Z, or a machine file without that"),
                        job_file.place(*at, "dividing",
                                       *(("arrangement", "infeed") if own is not None else ())),
                        _standing(machine, own))
    if lies is None or arrangement is None or arrangement.across == lies:
        return
    whose = Message("the job's") if own is not None else Message("the machine file's")
    yield Fault(Message("{whose} arrangement has across: {across}, so the cutter's spindle must "
                        "lie along {across}, and {name} says spindle: lies: {lies}", whose=whose,
                        across=arrangement.across, name=machine.name, lies=lies),
                Message("an arrangement with across: {lies}; or lies: {across} in the machine "
                        "file, or none, where the spindle can be turned so", lies=lies,
                        across=arrangement.across),
                job_file.place(*at, "dividing",
                               *(("arrangement", "across") if own is not None else ())),
                ("spindle.lies", *_heads(own)))


def round_lying_faults(
    job_file: JobFile, machine: Machine, at: tuple[str | int, ...], setup: RoundSetup
) -> Iterator[Fault]:
    """The same at turned work: what cuts with its end lies along the infeed, discs across it."""
    own = setup.held.arrangement
    arrangement = own or (machine.dividing.arrangement if machine.dividing else None)
    if arrangement is None:
        return
    word = _drawn_up_by(machine)
    if arrangement.infeed == "+Z" and word:
        yield Fault(Message("with infeed: +Z the cutter stands below the work, and by {word} in "
                            "{name} it would pass up or down through it", word=word,
                            name=machine.name),
                    Message("an arrangement with infeed: -Z, or a machine file without that"),
                    job_file.place(*at, "held",
                                   *(("arrangement", "infeed") if own is not None else ())),
                    _standing(machine, own))
    lies = machine.spindle.lies
    for number, step in enumerate(setup.steps):
        cutter = job_file.job.cutters.get(step.cutter)
        if cutter is None or lies is None:
            continue
        needs = arrangement.across if record_of(cutter).on_arbor else arrangement.infeed[1]
        if needs != lies:
            yield Fault(
                Message("{cutter} must lie along {needs}, for the head stands with infeed: "
                        "{infeed} and across: {across}, and {name} says spindle: lies: {lies}",
                        cutter=step.cutter, needs=needs, infeed=arrangement.infeed,
                        across=arrangement.across, name=machine.name, lies=lies),
                Message("an arrangement under held: with {word}: {lies}; or lies: {needs} in the "
                        "machine file, or none, where the spindle can be turned so",
                        word="across" if record_of(cutter).on_arbor else "infeed", lies=lies,
                        needs=needs),
                job_file.place(*at, "steps", number, step.kind, "cutter"),
                ("spindle.lies", *_heads(own)))


def _standing(machine: Machine, own: Arrangement | None) -> tuple[str, ...]:
    """The words that draw a cutter up through the work."""
    up = "change.way" if machine.change.way == "automatic" else "offsets.stands-at"
    return up, *_heads(own)


def _heads(own: Arrangement | None) -> tuple[str, ...]:
    """The machine file's word of the arrangement, where the job has not its ``own``."""
    return () if own is not None else ("dividing.arrangement",)


def _drawn_up_by(machine: Machine) -> str:
    """The words of a machine file by which a cutter goes up above the work; else empty."""
    stands = machine.offsets.stands_at
    if machine.change.way == "automatic":
        return "change: {way: automatic}"
    return "offsets: {stands-at: …}" if stands is not None and stands[2] > 0 else ""


def lying_remark(arrangement: Arrangement, machine: Machine) -> Message:
    """What to look at where the machine file does not say how its spindle lies; else empty."""
    return must_lie_remark(arrangement.across, machine)


def must_lie_remark(axis: str, machine: Machine) -> Message:
    """The same for a cutter that must lie along an ``axis``."""
    if machine.spindle.lies is not None or axis == "Z":
        return NOTHING
    return Message("the cutter's spindle must lie along {axis}, not along Z: the machine file "
                   "does not say whether it can (spindle: lies)", axis=axis)
