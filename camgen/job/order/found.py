"""What a setup takes to be there already, made by another job or hand: told, for nothing proves it.

A wheel that only goes on the dividing head comes to it as a blank, turned, bored and crossed out. A
hole that a step taps, reams or counterbores may have been drilled elsewhere. Both are believed, so
both are said on console and sheet. Lengths mm.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from camgen.faults import Fault, all_of
from camgen.job.file import JobFile
from camgen.job.models import HeadSetup, Job
from camgen.job.order.deeds import deeds_of, elsewhere, features_of_job
from camgen.job.order.opened import entered
from camgen.messages import Message
from camgen.part.features import CrossedOut, Feature, Hole, PartOutline, Recess, is_a
from camgen.part.wheels.pinion import Pinion
from camgen.part.wheels.wheel import Wheel

__all__ = ["blank_faults", "blank_from_elsewhere", "found_remarks"]

# What a blank has before its teeth, by its word for ``made-elsewhere``.
_CALLED: Final[dict[str, Message]] = {
    "outline": Message("outline", "part-names"), "bore": Message("bore", "part-names"),
    "crossing": Message("crossing", "part-names"), "hub": Message("hub", "part-names"),
}


def blank_from_elsewhere(job: Job) -> bool:
    """Whether a toothed part comes to the job as a blank, since no setup of it is flat work."""
    return isinstance(job.part, Wheel | Pinion) and not job.flat


def _of_blank(features: tuple[Feature, ...]) -> dict[str, Feature]:
    """What a blank has before its teeth are cut, by its word for ``made-elsewhere``."""
    return {one.elsewhere[0]: one for one in features
            if isinstance(one, Hole | Recess) or is_a(one, PartOutline) or is_a(one, CrossedOut)}


def blank_faults(job_file: JobFile, features: tuple[Feature, ...]) -> Iterator[Fault]:
    """Blanks of which ``made-elsewhere`` names a part, and nothing makes the rest."""
    job = job_file.job
    if not job.made_elsewhere or not job.on_head or not blank_from_elsewhere(job):
        return
    blank = _of_blank(features)
    named = [word for word, one in blank.items() if elsewhere(job, one)]
    left = [word for word in blank if word not in named]
    if named and left:
        yield Fault(Message("made-elsewhere names {named} of the blank, and no step makes its "
                            "{left}", named=all_of(named), left=all_of(left)),
                    Message("write made-elsewhere: [{words}] where the blank comes with that too, "
                            "or a setup before this one that makes it",
                            words=(*job.made_elsewhere, *left)),
                    job_file.place("made-elsewhere"))


def found_remarks(job: Job, number: int) -> tuple[Message, ...]:
    """What a setup, its ``number`` from 0, takes to be there that no step of the job makes."""
    features, remarks = features_of_job(job), []
    setup = job.setups[number]
    if any(isinstance(one, HeadSetup) for one in setup.given) and blank_from_elsewhere(job):
        whole = all_of([_CALLED.get(word, word) for word in _of_blank(features) or ("outline",)])
        remarks.append(Message("the blank is taken to come with its {what}: no step of this job "
                               "makes it", what=whole))
    for deed in deeds_of(job):
        if deed.number != number:
            continue
        for find in deed.says.finds:
            holes = list(entered(deed, find, features))
            # Of holes about one middle the step goes into the one that it does not make itself.
            found = {hole.place: hole for hole in holes if not deed.makes(hole)}
            for hole in holes:
                if elsewhere(job, hole) and found.get(hole.place, hole) == hole:
                    wide = find.said if find.said is not None else hole.diameter
                    remarks.append(Message("{hole} is taken to be there, made elsewhere, {wide:g} "
                                           "mm wide: gauge it before this setup",
                                           hole=hole.group or hole.name, wide=wide))
    return tuple(dict.fromkeys(remarks))
