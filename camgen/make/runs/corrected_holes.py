"""Holes and outlines as measured: the correction of the step that makes them. Lengths mm."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from statistics import fmean

from camgen.faults import Fault, Place, Refused
from camgen.job.models import FlatSetup, Job, StepWords
from camgen.job.order.deeds import features_of_job
from camgen.job.part import measured_sizes, nominal_sizes, sizes_called
from camgen.job.reading import JobFile
from camgen.make.runs.word_to_write import Answer, WordToWrite, as_said, where
from camgen.messages import Message
from camgen.part.declaration import Correction, MakesHoles, MakesOutline
from camgen.part.features import Hole
from camgen.steps.typed import FAR_TIMES, correction_most

__all__ = ["hole_answers", "hole_sizes"]

# A size is right to this, mm.
RIGHT = 0.0005
# Holes of one step that are off by so differently are not mended together, mm.
UNLIKE = 0.004


def hole_sizes(job: Job) -> tuple[str, ...]:
    """Names of the sizes of flat work."""
    groups = tuple(dict.fromkeys(one.group for one in features_of_job(job)
                                 if isinstance(one, Hole) and one.group))
    return tuple(dict.fromkeys((*groups, *(
        name for name in measured_sizes(job) if name in nominal_sizes(job))))) if job.flat else ()


def hole_answers(
    job_file: JobFile, sizes: Mapping[str, float], setup: str | None, file: str
) -> Answer:
    """What each of these sizes asks for, mm. Raises Refused for slips of the pen."""
    job = job_file.job
    nominal = nominal_sizes(job)
    off = {one: nominal[one] - value for name, value in sizes.items()
           for one in sizes_called(job, name) if one in nominal}
    faults = [
        Fault(Message("{name} measured {value}, should be {meant}", name=name,
                      value=as_said(job, nominal[name] - by), meant=as_said(job, nominal[name])),
              Message("look at its point and write it again; where a piece truly measured so far "
                      "off, look for the cause first: zero, blank, diameter of the cutter, "
                      "made-for"), Place(file, path=name))
        for name, by in off.items()
        if not abs(by) <= 2 * FAR_TIMES * correction_most(nominal[name], teeth=False) + 1e-9]
    if faults:
        raise Refused(faults)
    told: list[Message] = []
    words: list[WordToWrite] = []
    mended: set[str] = set()
    for one in (one for one in job.flat if setup in (None, one.name)):
        for number, step in enumerate(one.steps):
            for correction, names in _corrects(job, step, off):
                mended.update(names)
                _one_step(job, one, number, step, correction, {name: off[name] for name in names},
                          told, words)
    told += [Message("{name}: no word of a step corrects it", name=name)
             for name in off if name not in mended]
    return Answer(tuple(told), tuple(words))


def _corrects(
    job: Job, step: StepWords, off: Mapping[str, float]
) -> Iterator[tuple[Correction, list[str]]]:
    """The corrections of a step, with the sizes measured that each changes."""
    said = step.declares()
    groups = {one.name: one.group for one in features_of_job(job) if isinstance(one, Hole)}
    for correction in said.corrections:
        if correction.added == "diameter":
            names = [name for name in off for made in said.makes
                     if isinstance(made, MakesHoles) and name in groups
                     and made.holes.means(name, groups[name])]
        elif correction.added == "wall" and said.makes_a(MakesOutline):
            names = [name for name in off if name == "outside"]
        else:
            names = []
        if names:
            yield correction, list(dict.fromkeys(names))


def _one_step(
    job: Job, setup: FlatSetup, number: int, step: StepWords, correction: Correction,
    off: Mapping[str, float], told: list[Message], words: list[WordToWrite],
) -> None:
    at = where(setup.name, number, step.kind)
    if max(off.values()) - min(off.values()) > UNLIKE:
        told.append(Message("{where}: {names} are off by {least} to {most}: one correction does "
                            "not mend them; look at zero, cutter and lash of the table",
                            where=at, names=tuple(off), least=as_said(job, min(off.values())),
                            most=as_said(job, max(off.values()))))
        return
    # A wall's correction is metal left on it: half of what is missing over the outside.
    by = fmean(off.values()) * (0.5 if correction.added == "wall" else 1.0)
    new = round(correction.value + by, 3) + 0.0
    if abs(by) < RIGHT:
        told.append(Message("{where}: right as it is, leave {word} {now}", where=at,
                            word=correction.word, now=as_said(job, correction.value)))
        return
    size = min(nominal_sizes(job)[name] for name in off) if correction.added == "diameter" else (
        job.cutters[step.cutter].diameter)
    most = correction_most(size, teeth=False)
    if abs(new) > FAR_TIMES * most + 1e-9:
        told.append(Message("{where}: {word}: {new} would be refused: look for the cause first, "
                            "diameter of the cutter, zero or bending", where=at,
                            word=correction.word, new=as_said(job, new)))
        return
    word = WordToWrite(setup.name, number, step.kind, correction.word, correction.value, new,
                       abs(new) > most + 1e-9 and not step.far)
    words.append(word)
    told.append(Message("{where}: {names} off by {by}; write {word}", where=at, names=tuple(off),
                        by=as_said(job, -fmean(off.values())), word=word.told(job)))
