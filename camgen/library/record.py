"""The record of a job at the machine: ``NAME.proof.yaml`` beside the job file.

Plain text, fit for a history kept by git. A run is only ever added at the end; the bytes above it
stay as they were. Lengths are mm unless a size names another unit; times are minutes.
"""

from __future__ import annotations

import contextlib
import os
import time
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Literal

import yaml
from pydantic import Field

from camgen.faults import Fault, Place, Refused
from camgen.library.job_fingerprints import JobFingerprints, record_path
from camgen.messages import Message
from camgen.plainfile import plain_text
from camgen.shop.model import FileModel
from camgen.writing import locked, write_all
from camgen.yamlfile import load_yaml, validate

__all__ = [
    "RECORD_FORM",
    "CutterUsed",
    "JobFingerprints",
    "Pieces",
    "ProgramRun",
    "ProofRecord",
    "RecordedCorrection",
    "Run",
    "SizeMeasured",
    "add_run",
    "kept_path",
    "read_record",
    "record_path",
]

RECORD_FORM = 1

_HEAD = (
    "# What came of this job at the machine. Runs are added at the end; nothing above is changed.\n"
)

# How long to wait for another writer, s.
_PATIENCE = 10.0


class Pieces(FileModel):
    """How many came right and how many did not."""

    made: int = Field(ge=0, description="pieces made, good and bad")
    scrapped: int = Field(0, ge=0, description="of these, scrapped")


class CutterUsed(FileModel):
    """A cutter as it was, and what came of it."""

    name: str = Field(description="the cutter's name in the job")
    what: str = Field("", description="kind and size in words")
    measured: float | None = Field(None, gt=0, description="measured diameter, mm")
    spaces: int = Field(0, ge=0, description="tooth spaces cut in this run")
    minutes: float = Field(0.0, ge=0, description="time in the cut in this run, min")
    verdict: Literal["fine", "chattered", "broke", "worn", ""] = ""
    feed: float | None = Field(None, gt=0, description="feed it ran at, mm/min")
    speed: float | None = Field(None, gt=0, description="speed it ran at, rev/min")
    depth: float | None = Field(None, gt=0, description="depth of a pass, mm")
    width: float | None = Field(None, gt=0, description="width of the cut, mm")


class SizeMeasured(FileModel):
    """A size of the job, its limits and what was measured, one value a piece."""

    size: str = Field(description="name of the size, as the sheet has it")
    unit: str = "mm"
    nominal: float
    lower: float | None = Field(None, description="smallest allowed value")
    upper: float | None = Field(None, description="largest allowed value")
    measured: tuple[float, ...] = Field(min_length=1)


class RecordedCorrection(FileModel):
    """Something changed at the machine against the program."""

    setup: str = ""
    what: str = Field(description="such as depth, feed, zero X")
    by: float
    unit: str = "mm"


class ProgramRun(FileModel):
    """A program as it was run: fingerprints of its bytes and of its motion, and where it is kept.
    """

    file: str
    setup: str = ""
    kept: str = Field("", description="the program itself, as a path from this record's folder")
    sha256: str = Field(pattern="^[0-9a-f]{64}$")
    motion: str = Field(pattern="^[0-9a-f]{12}$")


class Run(FileModel):
    """One run of the job at the machine."""

    when: str = Field(pattern=r"^\d{4}-\d{2}-\d{2}$", description="date, year-month-day")
    post: str = Field(description="machine file")
    material_lot: str = ""
    pieces: Pieces
    cutters: tuple[CutterUsed, ...] = ()
    sizes: tuple[SizeMeasured, ...] = ()
    corrections: tuple[RecordedCorrection, ...] = ()
    remarks: str = ""
    photos: tuple[str, ...] = Field((), description="paths from this record's folder")
    prints: JobFingerprints
    programs: tuple[ProgramRun, ...] = ()
    as_run: dict[str, Any] = Field(
        default_factory=dict, description="the job, table values and machine as meant on that day"
    )


class ProofRecord(FileModel):
    """All runs of one job, the oldest first."""

    form: int = Field(ge=1, le=RECORD_FORM, description="form of this record")
    job: str
    runs: tuple[Run, ...] = ()


def read_record(path: Path) -> ProofRecord | None:
    """The record at ``path``, or None when there is none.

    Raises Refused with every fault of a record that cannot be understood.
    """
    if not os.path.lexists(path):
        return None
    return _understood(plain_text(path), str(path))


def _understood(text: str, name: str) -> ProofRecord:
    return validate(ProofRecord, load_yaml(text, name))


def kept_path(record: Path, program: str, sha256: str) -> Path:
    """Where a program that was run is kept beside the record.

    Its name holds the beginning of its sum: another program never takes its place, and the same
    one, run again, is kept once.

    >>> kept_path(Path("jobs/wheel.proof.yaml"), "wheel-teeth.nc", "0123456789abcdef").as_posix()
    'jobs/wheel.proven/wheel-teeth.0123456789ab.nc'
    """
    stem = record.name.removesuffix(".proof.yaml")
    file = Path(program)
    return record.parent / f"{stem}.proven" / f"{file.stem}.{sha256[:12]}{file.suffix}"


def add_run(
    path: Path, job: str, run: Run, programs: Mapping[Path, bytes] | None = None,
    beside: Mapping[Path, bytes] | None = None,
) -> int:
    """Add ``run`` to the record at ``path`` and return its number, from 1.

    The bytes already there are kept as they are. ``programs`` are the run's own, to be kept where
    :func:`kept_path` says; they are on the disk before the record names them. ``beside`` are files
    written with it, all or none. Two writers at once wait for each other. Raises Refused when the
    record there cannot be understood, or another writer does not finish.
    """
    dumped = run.model_dump(mode="json", by_alias=True, exclude_defaults=True)
    item = yaml.safe_dump([dumped], sort_keys=False, allow_unicode=True, width=98)
    path.parent.mkdir(parents=True, exist_ok=True)
    with _alone(path):
        before = read_record(path)
        if before is None:
            title = yaml.safe_dump({"form": RECORD_FORM, "job": job}, sort_keys=False,
                                   allow_unicode=True)
            text = f"{_HEAD}{title}runs:\n"
        else:
            text = plain_text(path)
            text = text if text.endswith("\n") else text + "\n"
            if not before.runs:
                # An empty list may be written in several ways; only "runs:" can be added to.
                raise Refused(Fault(Message("the record holds no runs"),
                                    Message("delete this file"), Place(str(path))))
        text += item
        after = _understood(text, str(path))
        runs_before = before.runs if before is not None else ()
        if after.runs[:-1] != runs_before or after.runs[-1].model_dump(mode="json") != (
            run.model_dump(mode="json")
        ):
            raise Refused(Fault(
                Message("a run cannot be added at the end of this record"),
                Message("let 'runs:' be its last part, each run beginning with '- '"),
                Place(str(path))))
        kept = {file: content for file, content in (programs or {}).items() if not file.exists()}
        write_all({**kept, **(beside or {}), path: text.encode("utf-8")})
    return len(after.runs)


@contextlib.contextmanager
def _alone(path: Path) -> Iterator[None]:
    """Keep other writers of this folder's records out; the system frees the lock if we die."""
    end = time.monotonic() + _PATIENCE
    with open(path.with_name(".records.lock"), "ab") as handle:
        while not locked(handle):
            if time.monotonic() > end:
                raise Refused(Fault(Message("another program is writing this record"),
                                    Message("wait for it to finish and try again"),
                                    Place(str(path))))
            time.sleep(0.02)
        # Closing the file frees the lock.
        yield
