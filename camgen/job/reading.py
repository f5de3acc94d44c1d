"""Reading a job file: from its text to a checked :class:`~camgen.job.models.Job`, with places."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from camgen.faults import Fault, Refused, all_of, did_you_mean, nearest
from camgen.job.checks.agreement import agreement_faults
from camgen.job.file import JobFile, workshop_of
from camgen.job.joined.corners_left import with_corners_left
from camgen.job.joined.cut_by import with_cutters
from camgen.job.joined.drawn import with_drawings
from camgen.job.joined.family import grafted, whole_family
from camgen.job.joined.open_slots import with_open_slots
from camgen.job.joined.patterns import shared_names, with_patterns, with_whole_names
from camgen.job.joined.places import found_places
from camgen.job.joined.typed_curves import with_curves
from camgen.job.mending import faults_beside, misspelt, without_unfit
from camgen.job.models import Job, StepWords
from camgen.job.units import in_mm
from camgen.messages import NOTHING, Message
from camgen.shop.cutters import OWN_CUTTERS, own_cutters
from camgen.values import dataclass
from camgen.yamlfile import DataPath, Document, in_order, load_yaml, read_yaml, validated

__all__ = ["JobFile", "job_of", "parse_job", "read_job"]


def read_job(
    path: Path, step_words: Mapping[str, type[StepWords]], above: tuple[Path, ...] = ()
) -> JobFile:
    """Read and check the job file at ``path``; ``step_words`` has the model of each kind of step.

    ``above`` are jobs that wait for the places of this one's holes.

    Words, types, ranges and how the words agree are checked; sizes against one another by
    :func:`camgen.job.checks.whole_job.check_job`. Raises Refused with every fault.
    """
    return job_of(read_yaml(path), path, step_words, above)


def parse_job(text: str | bytes, path: Path, step_words: Mapping[str, type[StepWords]]) -> JobFile:
    """Like :func:`read_job`, from text already in hand; ``path`` names it in faults."""
    return job_of(load_yaml(text, str(path)), path, step_words)


def job_of(
    document: Document, path: Path, step_words: Mapping[str, type[StepWords]],
    above: tuple[Path, ...] = (),
) -> JobFile:
    """The job in a document, with the jobs it is based on and those whose holes it matches.

    Raises Refused with every fault.
    """
    if not isinstance(document.data, dict):
        raise Refused(Fault(Message("the file is no job: it must begin with words and colons"),
                            Message("the first line is usually job: and the name of the job"),
                            document.place()))
    if "pieces" in document.data and "setups" not in document.data:
        raise Refused(_not_alone(document))
    document, sources, faults = whole_family(document, path)
    looked = _look(document, path, step_words, above, faults)
    job, read = looked.job, tuple(dict.fromkeys((*sources, *looked.files)))
    if job is None or looked.faults:
        again = [] if faults else _rest(looked, path, step_words, above)
        raise Refused(in_order(_of_stocks([*looked.faults, *again], document)))
    return JobFile(job, path, looked.document, read, looked.remarks)


def _of_stocks(faults: list[Fault], document: Document) -> list[Fault]:
    """The faults, those that a word is not known which is one of parts on one stock with the way
    there."""
    data = document.data
    setups = data.get("setups") if isinstance(data, dict) else None
    holders: list[DataPath] = [(), *(("setups", n) for n in range(
        len(setups) if isinstance(setups, tuple | list) else 0))]
    there = [document.place((*at, word), key=True) for at in holders
             for word in ("pieces", "packed", "dowels", "second-side")
             if (*at, word) in document.keys]
    return [dataclasses.replace(fault, remedy=Message(
        "several parts on one stock, and a stock turned over with its parts, are said in a file of "
        "their own: camgen guide many-at-once")) if fault.place in there else fault
        for fault in faults]


def _not_alone(document: Document) -> Fault:
    """The fault that a file is no job but puts parts of others on one stock."""
    pieces = document.data["pieces"]
    jobs = tuple(dict.fromkeys(
        str(one["job"]) for one in pieces if isinstance(one, dict) and "job" in one)) \
        if isinstance(pieces, tuple | list) else ()
    return Fault(
        Message("this file puts parts of several jobs on one stock: camgen make, camgen check and "
                "camgen preview take it"),
        Message("runs and corrections are kept with the job of each part: {jobs}", jobs=jobs)
        if jobs else Message("runs and corrections are kept with the job of each part"),
        document.place(("pieces",), key=True))


@dataclass(frozen=True)
class _Looked:
    """A job file looked at: the job, where it could be read, and what is amiss.

    ``schema`` are those faults that words do not fit, or steps cannot be made out; ``disagree``
    those that words do not go together. ``bare`` is the data without steps, ``kinds`` the kinds of
    step meant where they are misspelt. Where what words mean is ``unclear``, nothing that hangs on
    them was looked at.
    """

    document: Document
    job: Job | None
    faults: tuple[Fault, ...]
    schema: tuple[Fault, ...]
    disagree: tuple[Fault, ...]
    bare: dict[str, Any]
    kinds: dict[DataPath, str]
    unclear: bool
    files: tuple[Path, ...] = ()
    remarks: tuple[Message, ...] = ()


def _look(
    document: Document, path: Path, step_words: Mapping[str, type[StepWords]],
    above: tuple[Path, ...], known: list[Fault],
) -> _Looked:
    """The job that a document says, with every fault, those ``known`` before among them."""
    faults = list(known)
    inches = document.data.get("units") == "inch"
    data = in_mm(Job, document.data) if inches else document.data
    document, data, tables = _with_own_cutters(document, data, path, faults)
    # Words that do not say what is meant are mended before what hangs on them is looked at.
    unclear = bool(faults)
    before = len(faults)
    kinds: dict[DataPath, str] = {}
    data, steps = _without_steps(document, data, step_words, inches, faults, kinds)
    job, job_faults = validated(Job, document, data=data)
    faults += job_faults
    schema = tuple(faults[before:])
    if job is None:
        return _Looked(document, None, tuple(faults), schema, (), data, kinds, unclear)
    job = job.model_copy(update={"setups": tuple(
        setup.model_copy(update={"steps": found})
        for setup, found in zip(job.setups, steps, strict=True))})
    found = found_places(
        job, document, lambda other: read_job(other, step_words, (path, *above)), above)
    patterns = with_patterns(job, document, found)
    document = patterns.document
    curves = with_curves(patterns.job)
    drawn = with_drawings(curves.job, document)
    cut = with_cutters(with_whole_names(drawn.job, patterns.members), document)
    fork = with_open_slots(cut.job, document)
    job, misplaced = with_corners_left(fork.job, document)
    amiss = (*found.faults, *patterns.faults, *drawn.faults, *cut.faults, *misplaced, *fork.faults,
             *(() if patterns.faults else shared_names(job, document)))
    faults += amiss
    unclear |= bool(amiss)
    disagree: list[Fault] = []
    if not unclear:
        disagree = agreement_faults(job, document)
        faults += disagree
    return _Looked(document, job, tuple(faults), schema, tuple(disagree), data, kinds,
                   unclear, tuple(dict.fromkeys((*tables, *found.files, *drawn.files, *cut.files))),
                   tuple(dict.fromkeys((*found.remarks, *curves.remarks, *drawn.remarks,
                                        *fork.remarks))))


def _rest(
    looked: _Looked, path: Path, step_words: Mapping[str, type[StepWords]],
    above: tuple[Path, ...],
) -> list[Fault]:
    """What else is amiss in a job with faults, as far as it hangs on none of them."""
    told = {fault.place.path for fault in looked.faults}
    renamed = misspelt(looked.document, looked.bare, step_words, looked.kinds)
    amiss: list[Fault] = []
    now = looked
    if renamed:
        now = _look(looked.document.renamed(renamed), path, step_words, above, [])
        amiss = [fault for fault in now.schema if fault.place.path not in told]
    schema = now.schema
    for whole in (False, True):
        if now.schema:
            now = _look(without_unfit(now.document, now.schema, whole=whole), path, step_words,
                        above, [])
    if now.job is None or now.unclear:
        return amiss
    return [*amiss, *faults_beside(JobFile(now.job, path, now.document), schema, now.disagree)]


def _with_own_cutters(
    document: Document, data: dict[str, Any], path: Path, faults: list[Fault]
) -> tuple[Document, dict[str, Any], tuple[Path, ...]]:
    """The job with the workshop's own cutters for those it only names; and the table's file."""
    cutters = data.get("cutters")
    if not isinstance(cutters, dict):
        return document, data, ()
    named = {name: value for name, value in cutters.items() if isinstance(value, str)}
    if not named:
        return document, data, ()
    table = workshop_of(path) / OWN_CUTTERS
    try:
        known = own_cutters(table.parent)
    except Refused as no:
        faults += no.faults
        known = {}
    own = read_yaml(table) if known else None
    found: dict[str, Any] = {}
    for name, value in named.items():
        if own is not None and value in known:
            document = grafted(document, ("cutters", name), own, (value,))
            found[name] = own.data[value]
            continue
        # Something must stand for it while the rest is looked over; it is never worked with.
        found[name] = {"kind": "drill", "diameter": 1.0}
        if known or not table.is_file():
            faults.append(Fault(Message("the workshop has no cutter {value}", value=value)
                                if known
                                else Message("the workshop has no cutters of its own, so none is "
                                             "called {value}", value=value),
                                did_you_mean(value, known, Message(
                                    "it is looked for in {table}; or write the cutter's words "
                                    "here: {name}: {typed}", table=table, name=name,
                                    typed="{kind: …, diameter: …}")),
                                document.place(("cutters", name))))
    return document, {**data, "cutters": {**cutters, **found}}, (table,)


def _without_steps(
    document: Document,
    data: dict[str, Any],
    step_words: Mapping[str, type[StepWords]],
    inches: bool,
    faults: list[Fault],
    kinds: dict[DataPath, str],
) -> tuple[dict[str, Any], list[tuple[StepWords, ...]]]:
    """The data without its steps, and the steps of each setup, checked by their own words."""
    setups = data.get("setups")
    if not isinstance(setups, tuple):
        return data, []
    bare: list[Any] = []
    steps: list[tuple[StepWords, ...]] = []
    for number, setup in enumerate(setups):
        if not isinstance(setup, dict):
            bare.append(setup)
            continue
        bare.append({word: value for word, value in setup.items() if word != "steps"})
        steps.append(tuple(_steps(document, ("setups", number, "steps"), step_words, inches,
                                  faults, kinds)))
    return {**data, "setups": tuple(bare)}, steps


def _steps(document: Document, at: DataPath, step_words: Mapping[str, type[StepWords]],
           inches: bool, faults: list[Fault], meant: dict[DataPath, str]) -> list[StepWords]:
    """The steps of one setup; those that are faulty are left out and their faults added."""
    written = document.get(at)
    kinds = tuple(step_words)
    if not isinstance(written, tuple) or not written:
        name = document.get((*at[:-1], "name")) or at[-2]
        faults.append(Fault(Message("setup {name} has no steps", name=name) if not written else
                            Message("setup {name} has steps that are not a list", name=name),
                            Message("each step is a line such as - {kind}: {typed}. Kinds of "
                                    "step: {kinds}", kind=next(iter(step_words), "drill"),
                                    typed="{cutter: …}", kinds=kinds), document.place(at)))
        return []
    steps: list[StepWords] = []
    for number, step in enumerate(written):
        path = (*at, number)
        found = _step_kind(document, path, step, step_words, faults, meant)
        if found is None:
            continue
        kind, model = found
        words = step[kind] if isinstance(step, dict) else None
        words = {} if words is None else words
        made, step_faults = validated(model, document, at=(*path, kind),
                                      data=in_mm(model, words) if inches else words)
        faults += step_faults
        if made is not None:
            steps.append(made)
    return steps


def _step_kind(document: Document, path: DataPath, step: Any,
               step_words: Mapping[str, type[StepWords]],
               faults: list[Fault], meant: dict[DataPath, str]
               ) -> tuple[str, type[StepWords]] | None:
    """The kind of a step and its model; None, and a fault, where it cannot be made out."""
    kinds = tuple(step_words)
    place = document.place(path)
    if isinstance(step, str) and step in step_words:
        faults.append(Fault(Message("the step {step} has no words of its own", step=step),
                            Message("write - {step}: {typed}", step=step, typed="{cutter: …}"),
                            place))
        return None
    if isinstance(step, str) and nearest(step, step_words):
        faults.append(Fault(Message("no step is called {step}", step=step),
                            Message("did you mean {near}?", near=nearest(step, step_words)), place))
        return None
    if not isinstance(step, dict) or not step:
        faults.append(Fault(Message("this is no step"),
                            Message("a step is one word and a colon, then its own words: - drill: "
                                    "{typed}. Kinds of step: {kinds}", typed="{cutter: …}",
                                    kinds=kinds), place))
        return None
    known = [word for word in step if word in step_words]
    if len(step) == 1:
        kind = next(iter(step))
        if known:
            return kind, step_words[kind]
        slip, near = _slip(kind, step_words), nearest(kind, step_words)
        if near and not slip:
            meant[(*path, kind)] = near
        faults.append(Fault(Message("no step is called {step}", step=kind),
                            slip or (Message("did you mean {near}?", near=near) if near else
                                     Message("kinds of step: {kinds}", kinds=kinds)),
                            document.place((*path, kind), key=True)))
        return None
    if len(known) == 1 and step[known[0]] is None:
        faults.append(Fault(Message("the words of {near} stand beside it, not under it",
                                    near=known[0]), Message("indent them by two more spaces"),
                            document.place((*path, known[0]), key=True)))
    elif len(known) > 1:
        faults.append(Fault(Message("{known} in one step", known=all_of(known)),
                            Message("each step begins with a hyphen of its own"),
                            document.place((*path, known[1]), key=True)))
    else:
        faults.append(Fault(Message("a step is one word, with its own words under it"),
                            Message("- drill: {typed}. Kinds of step: {kinds}", typed="{cutter: …}",
                                    kinds=kinds),
                            place))
    return None


def _slip(kind: str, step_words: Mapping[str, type[StepWords]]) -> Message:
    """What was done wrong where a kind of step is none for another reason than its spelling."""
    first = kind.split()[0].rstrip(":") if kind.strip() else ""
    if first != kind and first in step_words:
        return Message("a colon is missing after {word}", word=first)
    if any(kind == field.alias for field in StepWords.model_fields.values()):
        return Message("before {word} comes the kind of step: - drill: {typed}", word=kind,
                       typed=f"{{{kind}: …}}")
    return NOTHING
