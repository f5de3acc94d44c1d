"""Where in the job file the cause of a proof that fails is to be looked for.

A proof knows a line of a program; the plan knows which step's moves stand there, and the job file
where that step is written. So beside each proof that fails stands the step's place, with the words
that the job says there: where no check has named one, it is among them that the cause is likeliest.
A proof about one hole, pocket or edge, that no cut came near, has the place of that; every other
one has its setup's.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from camgen.faults import Place
from camgen.job.file import JobFile
from camgen.job.order.deeds import features_of_job
from camgen.make.chain import ProvedSetup
from camgen.messages import Message
from camgen.part.features import Feature, Opening, Recess
from camgen.proof.evidence import Evidence
from camgen.proof.result import Proof
from camgen.signs import in_one_line
from camgen.values import dataclass

__all__ = ["JobPlace", "in_words", "job_place", "step_at"]

# Remarks change nothing about the way of a cutter.
REMARKS = ("note",)


@dataclass(frozen=True)
class JobPlace:
    """A place in the job file: of a setup, or of its step ``number``, from 1, with its kind and the
    words it says there; or of a ``thing`` of the part."""

    place: Place
    setup: str
    number: int = 0
    kind: str = ""
    says: tuple[str, ...] = ()
    thing: str = ""


def job_place(job_file: JobFile, setup: ProvedSetup, proof: Proof) -> JobPlace:
    """The step at whose moves a proof fails; else the thing that it is about; else its setup."""
    setups = [one.name for one in job_file.job.setups]
    # One that starts within a setup bears where it starts behind the setup's name.
    name = max((one for one in setups if setup.name == one or setup.name.startswith(f"{one}-")),
               key=len, default=setup.name)
    if name not in setups:
        return JobPlace(job_file.place(), name)
    number = setups.index(name)
    found = [step for one in setup.evidences if (step := step_at(one, proof)) is not None]
    if found and found[0] < len(job_file.job.setups[number].steps):
        at = ("setups", number, "steps", found[0])
        kind = job_file.job.setups[number].steps[found[0]].kind
        return JobPlace(job_file.place(*at), name, found[0] + 1, kind,
                        _said(job_file.document.get((*at, kind))))
    for one in features_of_job(job_file.job):
        if _is_about(proof, one):
            return JobPlace(job_file.place(*one.at, key=True), name, thing=one.group or one.name)
    return JobPlace(job_file.place("setups", number, "name"), name)


def step_at(evidence: Evidence, proof: Proof) -> int | None:
    """The step, from 0, whose moves stand at the line of a proof; None where none do.

    What stands behind a step's last move, and what moves unplanned, counts as that step's; what
    stands before the first one's in a program is no step's.
    """
    names = [one.name for one in evidence.programs]
    if evidence.moves is None or not proof.line or proof.program not in names:
        return None
    here = np.nonzero((evidence.program_of == names.index(proof.program))
                      & (evidence.section >= 0) & (evidence.motion.line <= proof.line))[0]
    if not len(here):
        return None
    return evidence.moves.sections[int(evidence.section[here[-1]])].step


def _said(step: Any) -> tuple[str, ...]:
    """The words of a step as the file has them, but for its remarks and what names many things."""
    if not isinstance(step, dict):
        return ()
    return tuple(f"{word}: {_value(value)}" for word, value in step.items()
                 if word not in REMARKS and not isinstance(value, tuple))


def _value(value: Any) -> str:
    """
    >>> _value(0.25), _value(True), _value({"count": 3, "width": 0.5})
    ('0.25', 'true', '{count: 3, width: 0.5}')
    """
    if isinstance(value, dict):
        return "{" + ", ".join(f"{word}: {_value(one)}" for word, one in value.items()) + "}"
    return str(value).lower() if isinstance(value, bool) else str(value)


def _is_about(proof: Proof, one: Feature) -> bool:
    """Whether a proof names a feature, by itself or where it is worst."""
    names = {one.name, one.group}
    if isinstance(one, Recess | Opening):
        names |= {f"{one.elsewhere[0][:-1]} {name}" for name in names}
    return not names.isdisjoint({proof.id.of, *_things(proof.where)} - {""})


def _things(told: object) -> Iterator[str]:
    """What a detail, or any part of it, is about.

    >>> list(_things(Message("{what}, {place}", what=Message("floor of {name}", name="seat"),
    ...                      place=Message("X {x:.3f} Y {y:.3f}", x=1, y=2))))
    ['floor of seat', 'seat']
    """
    if isinstance(told, Message):
        for word, field in told.fields.items():
            if word in ("what", "name"):
                yield str(field)
            yield from _things(field)


def in_words(found: JobPlace) -> Message:
    """The same in one line."""
    file, setup = in_one_line(found.place.file), in_one_line(found.setup)
    where: str = (Message("{file}, line {line}", file=file, line=found.place.line)
                  if found.place.line else file)
    if found.thing:
        return Message("{where}: {what}", where=where, what=found.thing)
    if not found.number:
        return Message("{where}: setup {setup}", where=where, setup=setup)
    if not found.says:
        return Message("{where}: setup {setup}, step {number} ({kind})", where=where, setup=setup,
                       number=found.number, kind=found.kind)
    return Message("{where}: setup {setup}, step {number} ({kind}), which says {says}", where=where,
                   setup=setup, number=found.number, kind=found.kind,
                   says=in_one_line(", ".join(found.says)))
