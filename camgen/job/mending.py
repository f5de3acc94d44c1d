"""What can be said of the rest of a job some words of which do not fit.

A word that is misspelt, and plainly so, is taken for the one meant; a value that cannot be is left
out, or stands for something that is never worked with. What then is amiss is told only where it
hangs on nothing that was left out: it lies neither in such a thing nor in a step or feature that
has to do with it, and does not name it. So no fault is told that goes once the first is mended.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from camgen.faults import Fault
from camgen.job.checks.whole_job import job_faults, sizes_faults, sound_faults
from camgen.job.file import JobFile, parts_of, workshop_of
from camgen.job.models import Job, StepWords
from camgen.job.order.deeds import Deed, at_hole, deeds_of, features_of_job
from camgen.part.features import Feature, Hole
from camgen.yamlfile import DataPath, Document, meant_words

__all__ = ["faults_beside", "misspelt", "without_unfit"]

# Things of a plate that are let go whole where one of their words cannot be.
_OF_PLATE = ("holes", "jewels", "openings", "pockets", "slots", "posts", "groups")
# Words nothing else hangs on.
_ALONE = ("quantity", "language", "note", "metal", "limits", "post", "keep-to-findings")
_OF_SETUP_ALONE = ("clearance", "safe-height", "holding")
# Stands for a cutter of which too much is amiss; it is never worked with.
_ANY_CUTTER: Mapping[str, Any] = {"kind": "drill", "diameter": 1.0}


def misspelt(
    document: Document, bare: Mapping[str, Any], step_words: Mapping[str, type[StepWords]],
    meant_kinds: Mapping[DataPath, str],
) -> dict[DataPath, str]:
    """The words misspelt in a job, by their paths, where the one meant is clear.

    ``bare`` is its data without the steps, ``meant_kinds`` are those kinds of step.
    """
    found = {**meant_words(Job, document, data=bare), **meant_kinds}
    setups = document.get(("setups",))
    for number, setup in enumerate(setups if isinstance(setups, tuple) else ()):
        steps = setup.get("steps") if isinstance(setup, dict) else ()
        for n, step in enumerate(steps if isinstance(steps, tuple) else ()):
            if not isinstance(step, dict) or len(step) != 1:
                continue
            (kind, words), = step.items()
            if kind in step_words and isinstance(words, dict):
                found |= meant_words(step_words[kind], document,
                                     at=("setups", number, "steps", n, kind))
    return found


def _owner(path: DataPath) -> DataPath | None:
    """The cutter, step or feature that a word belongs to, or the word alone where nothing hangs on
    it; None where much may."""
    match path:
        case ("cutters", str(), *_):
            return path[:2]
        case ("setups", int(), "steps", int(), *_):
            return path[:4]
        case ("plate", word, str(), *_) if word in _OF_PLATE:
            return path[:3]
        case (word, *_) if word in _ALONE:
            return path
        case ("setups", int(), str() as word, *_) if word in _OF_SETUP_ALONE:
            return path[:4]
    return None


def without_unfit(document: Document, faults: Iterable[Fault], *, whole: bool) -> Document:
    """The document without the words that faults name, or where ``whole`` without the things that
    they belong to; a cutter then is any cutter."""
    out: set[DataPath] = set()
    cutters: set[str] = set()
    for fault in faults:
        path = parts_of(fault.place.path)
        owner = _owner(path)
        if owner is None:
            continue
        if owner[0] == "cutters" and whole:
            cutters.add(str(owner[1]))
        elif owner[0] == "cutters":
            out.add(path[:3])
        elif owner[2:3] == ("steps",):
            # What is no step, or two in one, stays so: it is left out where it is read.
            if len(path) > 5:
                out.add(path[:6])
        else:
            out.add(owner)
    mended = document.without({path for path in out if len(path) > 2 or path[0] != "cutters"})
    if not cutters or not isinstance(mended.get(("cutters",)), dict):
        return mended
    return mended.with_value(("cutters",), {
        name: _ANY_CUTTER if name in cutters else cutter
        for name, cutter in mended.get(("cutters",)).items()})


def faults_beside(
    job_file: JobFile, unfit: Sequence[Fault], disagree: Sequence[Fault]
) -> list[Fault]:
    """The faults of a mended job that hang on nothing of what its other faults lie in.

    ``unfit`` are those of words that were set aside; ``disagree`` those of words that do not go
    together as it now is, some of them because of what was set aside.
    """
    job, workshop = job_file.job, workshop_of(job_file.path)
    found = _those_clear(disagree, *_named(_things(unfit)))
    if len(job.given) != 1 or None in {_owner(parts_of(fault.place.path)) for fault in found}:
        # Words of the part, or of a setup, that do not go together: nothing is asked of them.
        return [*found, *_those_clear(sizes_faults(job_file, every=_all_read(job_file)),
                                      *_clouded(job, _things(unfit)))]
    if not _all_read(job_file) or None in {_owner(parts_of(one.place.path)) for one in unfit}:
        # A step that cannot be read may do anything.
        beside = sizes_faults(job_file, every=False)
    elif not unfit and not found:
        beside = job_faults(job_file, None, workshop)
    else:
        beside = sound_faults(job_file, workshop)
    return [*found, *_those_clear(beside, *_clouded(job, _things([*unfit, *found])))]


def _things(faults: Iterable[Fault]) -> set[DataPath]:
    """What faults lie in, where other things may hang on it."""
    owners = {_owner(parts_of(fault.place.path)) for fault in faults}
    return {one for one in owners if one is not None}


def _named(things: set[DataPath]) -> tuple[set[DataPath], set[str]]:
    """Their paths, and what those of them that have names are called."""
    return set(things), {str(way[-1]) for way in things if way[0] in ("cutters", "plate")}


def _all_read(job_file: JobFile) -> bool:
    """Whether every step of a job could be read."""
    written = [job_file.document.get(("setups", n, "steps"))
               for n in range(len(job_file.job.setups))]
    return all(isinstance(steps, tuple) and len(steps) == len(setup.steps)
               for steps, setup in zip(written, job_file.job.setups, strict=True))


def _clear(fault: Fault, under: set[DataPath], names: set[str]) -> bool:
    """Whether a fault neither lies in any of some things nor names one."""
    at = parts_of(fault.place.path)
    return not any(at[:len(way)] == way for way in under) and not any(
        re.search(rf"(?<![\w-]){re.escape(name)}(?!\w)", fault.message) for name in names)


def _those_clear(faults: Iterable[Fault], under: set[DataPath], names: set[str]) -> list[Fault]:
    return [fault for fault in faults if _clear(fault, under, names)]


def _clouded(job: Job, things: set[DataPath]) -> tuple[set[DataPath], set[str]]:
    """Paths and names of what has to do with cutters, steps and features that are unsure: the
    features that such a step works at, or that such a cutter makes; and the steps at those."""
    under, names = _named(things)
    if len(job.given) != 1:
        return under, names
    deeds, features = deeds_of(job), features_of_job(job)

    def at(deed: Deed, feature: Feature) -> bool:
        return deed.would_make(feature) or (
            isinstance(feature, Hole) and at_hole(deed, feature, features))

    unsure = [deed for deed in deeds if deed.at[:4] in things
              or ("cutters", deed.words.cutter) in things]
    worked = [one for one in features if any(at(deed, one) for deed in unsure)]
    for one in worked:
        under.add(tuple(one.at))
        names |= {one.name, one.group} - {""}
    under |= {deed.at[:4] for deed in deeds
              if deed in unsure or any(at(deed, one) for one in worked)}
    return under, names
