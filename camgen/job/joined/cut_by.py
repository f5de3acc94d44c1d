"""What a job's form cutters leave: traces read from their files, and the teeth as such cutters cut.

Both are done once, with the job read: what follows sees points as if they had been written in the
job file, and a part whose tooth is what its cutter makes of it.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from camgen.faults import Fault, Place, Refused, did_you_mean
from camgen.job.models import Job
from camgen.messages import Message
from camgen.part.parts import Toothed
from camgen.part.wheels.pinion import Pinion
from camgen.part.wheels.wheel import Wheel
from camgen.plainfile import plain_bytes
from camgen.shop.cutters import Cutter, Traced, record_of
from camgen.teeth.cut.bought import CutterSpace
from camgen.teeth.outlines.curves import divided
from camgen.yamlfile import Document

__all__ = ["JobWithCutters", "cutter_of_teeth", "trace_files", "trace_of", "with_cutters"]

# Bytes of a list of points, and points taken from a trace.
LARGEST, MOST_POINTS = 5_000_000, 20_000
# Drawn lines are taken at points so many to their whole extent; arcs and curves within that, mm.
PER_LINE, TOLERANCE = 400, 0.0001
DRAWINGS = (".dxf", ".svg")
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")


@dataclasses.dataclass(frozen=True)
class JobWithCutters:
    """A job with its cutters' traces read and its part as they cut it; the files read, what is to
    be said of them, and what is amiss."""

    job: Job
    files: tuple[Path, ...] = ()
    remarks: tuple[Message, ...] = ()
    faults: tuple[Fault, ...] = ()


def with_cutters(job: Job, document: Document) -> JobWithCutters:
    """The job with every trace read, and its part cut by the cutter where it is to be as cut."""
    faults: list[Fault] = []
    files: list[Path] = []
    cutters = dict(job.cutters)
    for name, cutter in job.cutters.items():
        if cutter.profile is not None and cutter.profile.file is not None:
            cutters[name] = cutter.model_copy(update={
                "profile": _read(name, cutter.profile, document, files, faults)})
        elif cutter.ground is not None and cutter.ground.amiss() is None:
            # With its figures, the job is another where a chart says others.
            cutters[name] = cutter.model_copy(update={"ground": cutter.ground.written_out()})
    job = job.model_copy(update={"cutters": cutters})
    if not faults:
        for name, cutter in cutters.items():
            faults += _unfit(name, cutter, document)
    match job.given:
        case (Wheel() | Pinion() as part,) if not faults:
            job, more = _as_cut(job, part, document)
            faults += more
        case _:
            pass
    return JobWithCutters(job, tuple(dict.fromkeys(files)), (), tuple(faults))


def cutter_of_teeth(job: Job) -> str:
    """The name of the cutter that forms the teeth last; empty where none is known."""
    on_head = [step.cutter for setup in job.on_head for step in setup.steps
               if step.cutter in job.cutters and job.cutters[step.cutter].shaped]
    if on_head:
        return on_head[-1]
    able = [name for name, cutter in job.cutters.items()
            if cutter.shaped and record_of(cutter).forms]
    return able[0] if len(able) == 1 else ""


def trace_files(data: object, folder: Path) -> Iterator[Path]:
    """Files of traces that plain data of a job names."""
    cutters = data.get("cutters") if isinstance(data, dict) else None
    for cutter in cutters.values() if isinstance(cutters, dict) else ():
        said = cutter.get("profile") if isinstance(cutter, dict) else None
        name = said.get("file") if isinstance(said, dict) else said
        if isinstance(name, str):
            yield folder / name


def _unfit(name: str, cutter: Cutter, document: Document) -> Iterator[Fault]:
    """Why a bought cutter's words or points make no profile."""
    if cutter.bought is None or (cutter.ground is not None and cutter.ground.amiss()):
        return
    if cutter.profile is not None and not cutter.profile.points:
        return  # told where the words are looked at
    try:
        cutter.cut_space()
    except Refused as no:
        at = ("cutters", name, cutter.said_as)
        yield from (Fault(Message("{name}: {fault}", name=name, fault=fault.message), fault.remedy,
                          document.place(at)) for fault in no.faults)


def _as_cut(job: Job, part: Toothed, document: Document) -> tuple[Job, list[Fault]]:
    """The job with its part, and the part's mate, as their cutters make them."""
    faults: list[Fault] = []
    own = mates = None
    if part.tooth_of == "as-cut":
        name = cutter_of_teeth(job)
        place = document.place((part.word, "tooth"))
        if not name:
            faults.append(Fault(
                Message("no cutter of this job says what teeth it leaves"),
                Message("give the cutter of the teeth ground: or profile: or made-for:, or leave "
                        "tooth: out"), place))
        else:
            own, wrong = _space_of(name, job.cutters[name], document)
            faults += wrong
    if part.mate_cutter is not None:
        place = document.place((part.word, "mate-cutter"))
        mate = job.cutters.get(part.mate_cutter)
        if mate is None:
            faults.append(Fault(
                Message("no cutter is called {cutter}", cutter=part.mate_cutter),
                did_you_mean(part.mate_cutter, job.cutters,
                             Message("the job's cutters: {cutters}", cutters=tuple(job.cutters))),
                place))
        elif not mate.shaped:
            faults.append(Fault(
                Message("{name} does not say what teeth it leaves", name=part.mate_cutter),
                Message("give it ground: or profile: or made-for:"), place))
        else:
            mates, wrong = _space_of(part.mate_cutter, mate, document)
            faults += wrong
    if own is None and mates is None:
        return job, faults
    try:
        return job.with_part(part.cut_by(own, mates)), faults
    except Refused as no:
        return job, [*faults, *(dataclasses.replace(fault, place=document.place((part.word,)))
                                for fault in no.faults)]


def _space_of(
    name: str, cutter: Cutter, document: Document
) -> tuple[CutterSpace | None, list[Fault]]:
    if cutter.profile is not None and not cutter.profile.points:
        return None, []  # told where the words are looked at
    try:
        return cutter.cut_space(), []
    except Refused as no:
        place = document.place(("cutters", name, cutter.said_as))
        return None, [dataclasses.replace(fault, place=place) for fault in no.faults]


def _read(
    name: str, traced: Traced, document: Document, files: list[Path], faults: list[Fault]
) -> Traced:
    """A trace with the points of its file; told among ``faults`` where there are none."""
    assert traced.file is not None
    at = ("cutters", name, "profile")
    inner = (*at, "file") if isinstance(document.get(at), dict) else at
    file = Path(document.file_of(inner)).parent / traced.file
    empty = traced.model_copy(update={"file": None})
    if not _is_there(file):
        faults.append(Fault(Message("{name} is a trace that is not there", name=traced.file),
                            Message("it is looked for at {file}", file=file),
                            document.place(inner)))
        return empty
    try:
        read = trace_of(file, traced)
    except Refused as no:
        faults += [fault if fault.place.file else dataclasses.replace(fault, place=Place(str(file)))
                   for fault in no.faults]
        return empty
    files.append(file)
    return read


def trace_of(file: Path, traced: Traced) -> Traced:
    """A trace with the points of the ``file``, the rest as ``traced`` says.

    Raises Refused for a file that holds none.
    """
    middle, units = traced.middle, traced.units
    if file.suffix.lower() in DRAWINGS:
        points, unit = _drawn(file, traced)
        middle, units = (None if middle is None else middle * unit), "mm"
    else:
        points = _listed(file)
    return traced.model_copy(update={
        "file": None, "layer": None, "points": points, "units": units, "middle": middle})


def _is_there(file: Path) -> bool:
    try:
        return file.is_file()
    except OSError:
        return False


def _drawn(file: Path, traced: Traced) -> tuple[tuple[tuple[float, float], ...], float]:
    """Points along all that is drawn on a layer, mm as drawn, and the size of its unit, mm."""
    from camgen.drawings.drawing import drawn_lines

    lines, unit = drawn_lines(file, layer=traced.layer, units=traced.units, tolerance=TOLERANCE)
    chains = [line[:, 0] + 1j * line[:, 1] for line in lines]
    if not chains:
        raise Refused(Fault(Message("nothing is drawn there"),
                            Message("draw the edge of the cutter as a line"), Place(str(file))))
    every = np.concatenate(chains)
    longest = max(np.ptp(every.real), np.ptp(every.imag)) / PER_LINE
    found = np.concatenate([divided(chain, longest) for chain in chains])
    if len(found) > MOST_POINTS:
        raise Refused(Fault(Message("the trace has {count} points", count=len(found)),
                            Message("{most} are more than enough", most=MOST_POINTS),
                            Place(str(file))))
    return tuple((float(point.real), float(point.imag)) for point in found), unit


def _listed(file: Path) -> tuple[tuple[float, float], ...]:
    """The points of a text file: two figures on each line, with any marks between."""
    data = plain_bytes(file, most=LARGEST + 1)
    if len(data) > LARGEST:
        raise Refused(Fault(Message("the list of points has more than {most} MB",
                                    most=LARGEST // 1_000_000),
                            Message("leave only the points of one space in it"), Place(str(file))))
    points: list[tuple[float, float]] = []
    text = data.decode("utf-8-sig", errors="replace")
    for number, line in enumerate(text.splitlines(), start=1):
        bare = line.split("#")[0].strip()
        # Where semicolons or tabs part the figures, a comma is a decimal one.
        commas = ";" in bare or "\t" in bare or ("," in bare and "." not in bare and " " in bare
                                                  and ", " not in bare)
        parts = re.split(r"[;\t ]+" if commas else r"[,;\t ]+", bare)
        parts = [part.replace(",", ".") for part in parts if part]
        if not parts:
            continue
        if not any(_NUMBER.fullmatch(part) for part in parts):
            if points:
                raise _no_point(file, number, line)
            continue  # a heading
        if len(parts) != 2 or not all(_NUMBER.fullmatch(part) for part in parts):
            raise _no_point(file, number, line)
        points.append((float(parts[0]), float(parts[1])))
        if len(points) > MOST_POINTS:
            raise Refused(Fault(Message("the trace has more than {most} points", most=MOST_POINTS),
                                Message("leave only the points of one space in it"),
                                Place(str(file))))
    if not points:
        raise Refused(Fault(Message("the file holds no points"),
                            Message("each line has two figures: across and deep"),
                            Place(str(file))))
    return tuple(points)


def _no_point(file: Path, number: int, line: str) -> Refused:
    return Refused(Fault(
        Message("line {number} is no point: {line}", number=number, line=line.strip()[:40]),
        Message("each line has two figures, across and deep; write a point in decimals, or a "
                "semicolon between figures with decimal commas"), Place(str(file), number)))
