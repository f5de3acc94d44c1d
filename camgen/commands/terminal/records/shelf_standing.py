"""How the jobs of a folder stand: proven, changed, corrected and the job not, or never run."""

from __future__ import annotations

from pathlib import Path

from camgen.faults import Refused
from camgen.job.reading import read_job
from camgen.library.over_runs.corrections import open_corrections
from camgen.library.record import JobFingerprints, read_record, record_path
from camgen.library.shelf import ShelfEntry
from camgen.library.standing import (
    Standing,
    last_good,
    prints,
    standing_of_job,
    with_corrections,
)
from camgen.shop.machines import find_machine
from camgen.shop.materials import find_material
from camgen.steps import step_words

__all__ = ["shop_fingerprints", "standing_on_shelf"]


def shop_fingerprints(folder: Path, post: str, material: str) -> JobFingerprints | str:
    """JobFingerprints of a machine file and a material as they are now, or why there are none."""
    workshop = folder.resolve().parent if folder.resolve().name == "jobs" else folder.resolve()
    try:
        return prints("", find_machine(post, workshop), find_material(material, workshop))
    except Refused as no:
        return no.faults[0].message


def standing_on_shelf(
    entry: ShelfEntry, shop: JobFingerprints | str, folder: Path
) -> Standing:
    """How a job in a folder stands; ``shop`` as :func:`shop_fingerprints` has it."""
    if isinstance(shop, str):
        return Standing("changed", (shop,)) if entry.proven else Standing("never run")
    now = shop.model_copy(update={"job": entry.print})
    proven = JobFingerprints(**entry.proven) if entry.proven else None
    state = standing_of_job(now, entry.runs, proven)
    if state.state not in ("proven", "changed"):
        return state
    path = folder / entry.file
    record = read_record(record_path(path))
    good = last_good(record.runs) if record is not None else None
    if good is None or not good.corrections:
        return state
    job = read_job(path, step_words()).job
    left = open_corrections(job, good, unchanged=now.job == good.prints.job)
    return with_corrections(state, tuple(one.told(job) for one in left))
