"""Fingerprints: short words that change when, and only when, what they stand for changes.

A job's fingerprint is taken of the job as *meant*: formatting, comments, the order of words, the
units it was written in and values that equal the defaults make no difference; any value that moves
a cutter does.
"""

from __future__ import annotations

import hashlib
import json
from typing import Any

import numpy as np

from camgen.job.models import Job
from camgen.reader.motion import Motion, ReadProgram
from camgen.shop.model import FileModel

__all__ = ["as_meant", "fingerprint", "model_as_meant", "motion_fingerprint"]

# Words that say something to a person and move nothing.
_SILENT = {
    "job": ("based_on", "language", "limits", "made_elsewhere", "metal", "note", "quantity",
            "units"),
    "step": ("note",),
}

# Lengths are compared to a nanometre: the same job in inches and in millimetres is the same job.
_PLACES = 9


def _plain(value: Any) -> Any:
    """``value`` as JSON would hold it, numbers rounded so that equal meanings are equal."""
    if isinstance(value, bool) or value is None or isinstance(value, str):
        return value
    if isinstance(value, int | float):
        rounded = round(float(value), _PLACES)
        return int(rounded) if rounded == int(rounded) else rounded
    if isinstance(value, dict):
        return {str(key): _plain(value[key]) for key in sorted(value, key=str)}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    raise TypeError(f"no fingerprint of a {type(value).__name__}")


def model_as_meant(model: FileModel, leave_out: tuple[str, ...] = ()) -> dict[str, Any]:
    """The values of a file model that differ from its defaults, by the words of the file."""
    dumped = model.model_dump(
        mode="json", by_alias=True, exclude_defaults=True, exclude=set(leave_out)
    )
    plain: dict[str, Any] = _plain(dumped)
    return plain


def as_meant(job: Job) -> dict[str, Any]:
    """The job as meant: its values, less what only speaks to people."""
    meant = model_as_meant(job, (*_SILENT["job"], "setups"))
    meant["setups"] = [
        {
            **model_as_meant(setup, ("steps",)),
            "steps": [
                {step.kind: model_as_meant(step, _SILENT["step"])} for step in setup.steps
            ],
        }
        for setup in job.setups
    ]
    return meant


def fingerprint(value: Any) -> str:
    """Twelve hexadecimal figures of the SHA-256 of ``value``'s canonical JSON.

    >>> fingerprint({"teeth": 75, "module": 0.14}) == fingerprint({"module": 0.14, "teeth": 75.0})
    True
    >>> fingerprint({"teeth": 75}) == fingerprint({"teeth": 80})
    False
    """
    text = json.dumps(_plain(value), sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(text.encode("ascii")).hexdigest()[:12]


def motion_fingerprint(program: ReadProgram) -> str:
    """Twelve figures of what a program makes the machine do, however it is written.

    Positions count to a nanometre, feeds and speeds to a thousandth; comments, block numbers and
    spelling do not count; stops, dwells and cutter changes do, and at which station of a fixture.
    """
    digest = hashlib.sha256()
    motion: Motion = program.motion
    for name, places in (
        ("kind", 0), ("start", 6), ("end", 6), ("centre", 6), ("plane", 0), ("turns", 0),
        ("angle_start", 6), ("angle_end", 6), ("feed", 3), ("speed", 3), ("cutter", 0),
    ):
        values = np.asarray(getattr(motion, name), dtype=np.float64)
        # Adding zero turns -0.0 into 0.0, which are the same place with different bytes.
        digest.update(np.ascontiguousarray(np.round(values, places) + 0.0).tobytes())
    if np.any(motion.station != 1):
        digest.update(np.ascontiguousarray(motion.station.astype(np.float64)).tobytes())
    for event in program.events:
        if event.kind != "comment":
            digest.update(f"{event.kind} {event.before} {event.value:.6g};".encode())
    return digest.hexdigest()[:12]
