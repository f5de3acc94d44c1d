"""What every job needs of the library: its fingerprints, and where its record would stand.

Apart from the record itself, whose many models are loaded only where there is one.
"""

from __future__ import annotations

from pathlib import Path

from pydantic import Field

from camgen.shop.model import FileModel

__all__ = ["JobFingerprints", "record_path"]


class JobFingerprints(FileModel):
    """Fingerprints of all that makes the programs what they are."""

    job: str
    tables: str
    machine: str
    writer: str = Field(description="version of the program that wrote them")


def record_path(job_path: Path) -> Path:
    """Where the record of a job file stands.

    >>> record_path(Path("jobs/third-wheel.yaml")).name
    'third-wheel.proof.yaml'
    """
    return job_path.with_name(f"{job_path.stem}.proof.yaml")
