"""The shelf: all jobs of a workshop, quickly looked through.

Reading thousands of job files takes long; an index keeps what was read. It is only ever a help:
each entry carries the size and the times of the files it was made of and is made anew when they
differ, and a damaged index is thrown away.
"""

from __future__ import annotations

import json
import os
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import asdict, field, replace
from pathlib import Path
from typing import Any

from camgen import __version__
from camgen.faults import Refused
from camgen.job.file import workshop_of
from camgen.job.joined.another_plate import other_plate_file
from camgen.job.joined.drawn import drawing_files
from camgen.job.joined.family import family_files
from camgen.job.joined.one_stock.reading import is_one_stock
from camgen.job.models import Job, StepWords
from camgen.job.reading import read_job
from camgen.library.fingerprint import as_meant, fingerprint
from camgen.library.record import ProofRecord, read_record, record_path
from camgen.library.standing import last_good
from camgen.plainfile import plain_bytes
from camgen.shop.cutters import OWN_CUTTERS
from camgen.values import dataclass
from camgen.writing import write_whole

__all__ = ["INDEX", "LookedFor", "ShelfEntry", "found", "shelf"]

INDEX = ".shelf.json"
# What else a workshop folder holds in YAML: machine files and tables.
_OTHER = ("postprocessors", "materials.yaml", "cutters.yaml")
# A line that only job files have at their left edge: by one of these a broken one is known.
_JOB_WORD = re.compile(rb"^(job|based-on|setups|wheel|pinion|plate) *:", re.MULTILINE)
_FORM = 3


@dataclass(frozen=True, slots=True)
class ShelfEntry:
    """What the shelf knows of one job file.

    ``sources`` are the other files it was made of, the jobs it is based on and the workshop's
    cutters, as paths from the folder; ``stamp`` tells how they all were. ``sizes`` are lengths, mm,
    by which a job is looked for; ``proven`` the prints of the last good run; ``faults`` why a
    broken job cannot be read.
    """

    file: str
    stamp: tuple[int, ...]
    sources: tuple[str, ...] = ()
    job: str = ""
    part: str = ""
    teeth: int = 0
    module: float = 0.0
    material: str = ""
    post: str = ""
    quantity: int = 0
    cutters: tuple[str, ...] = ()
    sizes: tuple[float, ...] = ()
    text: str = ""
    print: str = ""
    runs: int = 0
    made: int = 0
    scrapped: int = 0
    last: str = ""
    proven: Mapping[str, str] | None = None
    faults: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LookedFor:
    """What is looked for; everything given must fit. ``size`` in mm fits within 0.005."""

    teeth: int | None = None
    module: float | None = None
    material: str = ""
    post: str = ""
    cutter: str = ""
    size: float | None = None
    words: tuple[str, ...] = field(default=())


def shelf(
    folder: Path,
    step_words: Mapping[str, type[StepWords]],
    progress: Callable[[int, int], None] | None = None,
) -> tuple[ShelfEntry, ...]:
    """All jobs below ``folder``, by file name; broken ones with their faults.

    Writes the index anew when anything changed and the folder can be written to. ``progress`` is
    told how many of how many files were looked at.
    """
    known = _kept(folder / INDEX)
    files = sorted(_job_files(folder))
    entries: list[ShelfEntry] = []
    fresh = False
    seen: dict[str, tuple[int, ...]] = {}
    for number, path in enumerate(files, 1):
        name = path.relative_to(folder).as_posix()
        entry = known.get(name)
        if entry is None or entry.stamp != _stamps(path, folder, entry.sources, seen):
            entry = _entry(path, name, folder, step_words)
            fresh = True
        entries.append(entry)
        if progress is not None:
            progress(number, len(files))
    if fresh or len(entries) != len(known):
        _keep(folder / INDEX, entries)
    return tuple(one for one in entries if one.job or one.faults)


def found(entries: tuple[ShelfEntry, ...], wanted: LookedFor) -> tuple[ShelfEntry, ...]:
    """The entries that fit everything wanted."""
    return tuple(entry for entry in entries if _fits(entry, wanted))


def _fits(entry: ShelfEntry, wanted: LookedFor) -> bool:
    return (
        (wanted.teeth is None or entry.teeth == wanted.teeth)
        and (wanted.module is None or abs(entry.module - wanted.module) < 1e-9)
        and wanted.material.lower() in entry.material.lower()
        and wanted.post.lower() in entry.post.lower()
        and (not wanted.cutter or any(wanted.cutter.lower() in one for one in entry.cutters))
        and (wanted.size is None or any(abs(s - wanted.size) <= 0.005 for s in entry.sizes))
        and all(word.lower() in entry.text for word in wanted.words)
    )


def _job_files(folder: Path) -> Iterator[Path]:
    """Job files below ``folder``: YAML, not hidden, not a record."""
    for where, folders, names in os.walk(folder):
        folders[:] = sorted(n for n in folders if not n.startswith(".") and n not in _OTHER)
        for name in names:
            if name.endswith((".yaml", ".yml")) and not name.startswith(".") and (
                ".proof." not in name and name not in _OTHER
            ):
                yield Path(where) / name


def _stamp(path: Path) -> tuple[int, ...]:
    """Size, times and number of a file; zeros where there is none."""
    try:
        about = path.stat()
    except OSError:
        return (0, 0, 0, 0)
    return (about.st_size, about.st_mtime_ns, about.st_ctime_ns, about.st_ino)


def _stamps(
    path: Path, folder: Path, sources: tuple[str, ...], seen: dict[str, tuple[int, ...]]
) -> tuple[int, ...]:
    """How a job file, its record and its sources are now; ``seen`` holds those looked at before."""
    stamps = [_stamp(path), _stamp(record_path(path))]
    for source in sources:
        if source not in seen:
            seen[source] = _stamp(folder / source)
        stamps.append(seen[source])
    return tuple(number for stamp in stamps for number in stamp)


def _sources(path: Path, folder: Path) -> tuple[str, ...]:
    """What a job may be made of besides its own file, also when it cannot be read."""
    own: list[Path] = [path, *family_files(path)]
    for one in own:
        other = other_plate_file(one)
        if other is not None and other not in own:
            own += [other, *family_files(other)]
    drawings = (drawing for one in own for drawing in drawing_files(one))
    found = dict.fromkeys((*own[1:], workshop_of(path) / OWN_CUTTERS, *drawings))
    return tuple(Path(os.path.relpath(one, folder)).as_posix() for one in found)


def _entry(
    path: Path, name: str, folder: Path, step_words: Mapping[str, type[StepWords]]
) -> ShelfEntry:
    # Stamps are taken before reading: what is written meanwhile is read again the next time.
    sources = _sources(path, folder)
    stamp = _stamps(path, folder, sources, {})
    try:
        job_file = read_job(path, step_words)
        record = read_record(record_path(path))
    except Refused as no:
        if not _meant_as_job(path) or is_one_stock(path):
            return ShelfEntry(name, stamp, sources)
        return ShelfEntry(name, stamp, sources, text=name.lower(),
                     faults=tuple(str(f) for f in no.faults))
    return replace(_of_job(job_file.job, record, name, stamp), sources=sources)


def _meant_as_job(path: Path) -> bool:
    """Whether a file that cannot be read as a job was meant as one; other tables are not."""
    try:
        content = plain_bytes(path)
    except Refused:
        return True
    # What is no text may have been a job.
    return b"\0" in content or bool(_JOB_WORD.search(content))


def _of_job(job: Job, record: ProofRecord | None, name: str, stamp: tuple[int, ...]) -> ShelfEntry:
    runs = record.runs if record else ()
    good = last_good(runs)
    meant = as_meant(job)
    part = job.part
    cutters = tuple(
        f"{key} {cutter.kind} {cutter.diameter:g}".lower() for key, cutter in job.cutters.items()
    )
    remarks = " ".join(run.remarks for run in runs)
    return ShelfEntry(
        file=name,
        stamp=stamp,
        job=job.job,
        part=part.word,
        teeth=part.count,
        module=part.module,
        material=job.material,
        post=job.post,
        quantity=job.quantity,
        cutters=cutters,
        sizes=tuple(sorted(set(_lengths(meant)))),
        text=" ".join((name, job.job, job.note, job.material, job.post, *cutters, remarks)).lower(),
        print=fingerprint(meant),
        runs=len(runs),
        made=sum(run.pieces.made for run in runs),
        scrapped=sum(run.pieces.scrapped for run in runs),
        last=runs[-1].when if runs else "",
        proven=good.prints.model_dump() if good else None,
    )


def _lengths(value: Any) -> Iterator[float]:
    """Every number in a job as meant; a size is looked for among all of them."""
    if isinstance(value, bool):
        return
    if isinstance(value, int | float):
        yield float(value)
    elif isinstance(value, dict):
        for item in value.values():
            yield from _lengths(item)
    elif isinstance(value, list):
        for item in value:
            yield from _lengths(item)


def _kept(path: Path) -> dict[str, ShelfEntry]:
    """The entries of the index; none when it is missing, damaged or of another version."""
    try:
        data = json.loads(plain_bytes(path))
        if data["form"] != _FORM or data["version"] != __version__:
            return {}
        return {item["file"]: _thawed(item) for item in data["entries"]}
    except (Refused, RecursionError, ValueError, KeyError, TypeError):
        return {}


def _thawed(item: dict[str, Any]) -> ShelfEntry:
    for word in ("stamp", "sources", "cutters", "sizes", "faults"):
        item[word] = tuple(item[word])
    return ShelfEntry(**item)


def _keep(path: Path, entries: list[ShelfEntry]) -> None:
    data = {"form": _FORM, "version": __version__, "entries": [asdict(one) for one in entries]}
    try:
        write_whole(path, json.dumps(data, separators=(",", ":")).encode())
    except OSError:
        return  # a workshop folder that cannot be written to is only looked through more slowly
