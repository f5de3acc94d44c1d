"""What the workshop's records say of its cutters: fine, chattered or broke, and at what.

A workshop without records waits for nothing here.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from camgen.cutting.findings import SAME_DIAMETER, ShopFinding, matching
from camgen.faults import Refused
from camgen.plainfile import plain_text
from camgen.shop.cutters import Cutter
from camgen.shop.materials import Material, find_material

if TYPE_CHECKING:
    from camgen.library.record import Run

__all__ = ["findings_of"]

# A word on a cutter, and the sizes of the cutters of the job as it was run.
_VERDICT = re.compile(r"verdict:\s*['\"]?(?:fine|chattered|broke)")
_RATE = re.compile(r"\bfeed: [\d.]")
_TURNING = re.compile(r"\bspeed: [\d.]")
_SIZE = re.compile(r"\bdiameter:\s*([0-9]+(?:\.[0-9]+)?(?:e-?[0-9]+)?)")


def findings_of(
    workshop: Path, material: str, cutters: Collection[Cutter]
) -> tuple[ShopFinding, ...]:
    """What the workshop's records say of cutters like these in a material, the oldest first.

    Every record in the folder or below its ``jobs`` counts. One that cannot be read, or whose cut
    cannot be told any more, is passed over: it is not what was asked about.
    """
    records = sorted(workshop.glob("jobs/**/*.proof.yaml")) + sorted(workshop.glob("*.proof.yaml"))
    if not records:
        return ()
    try:
        stuff = find_material(material, workshop)
    except Refused:
        return ()
    found = [finding for path in records for finding in _in_record(path, workshop, stuff, cutters)]
    return tuple(sorted(found, key=lambda one: one.date))


def _in_record(path: Path, workshop: Path, stuff: Material,
               cutters: Collection[Cutter]) -> Iterator[ShopFinding]:
    """The findings of one record with cutters like these, in its order."""
    try:
        text = plain_text(path)
    except Refused:
        return
    if not _may_tell(text, cutters):
        return
    from camgen.library.record import read_record

    try:
        record = read_record(path)
    except Refused:
        return
    for run in record.runs if record is not None else ():
        for one in _in_run(run, path, workshop):
            if any(matching([one], stuff, cutter) for cutter in cutters):
                yield one


def _may_tell(text: str, cutters: Collection[Cutter]) -> bool:
    """Whether a record may tell of such cutters: to look is quicker than to understand."""
    if any(word.search(text) is None for word in (_VERDICT, _RATE, _TURNING)):
        return False
    sizes = [float(size) for size in _SIZE.findall(text)]
    return not sizes or any(abs(size - cutter.diameter) <= SAME_DIAMETER * cutter.diameter
                            for cutter in cutters for size in sizes)


def _in_run(run: Run, path: Path, workshop: Path) -> Iterator[ShopFinding]:
    """The findings of one run, with the cutters as they were on that day."""
    from pydantic import ValidationError

    if not any(used.feed and used.speed and used.verdict for used in run.cutters):
        return
    job: Mapping[str, Any] = run.as_run.get("job") or _job_beside(path)
    try:
        material = find_material(str(job.get("material", "")), workshop).name
    except Refused:
        return
    for used in run.cutters:
        if used.verdict not in ("fine", "chattered", "broke") or not used.feed or not used.speed:
            continue
        try:
            cutter = Cutter.model_validate(job.get("cutters", {}).get(used.name))
        except ValidationError:
            continue
        yield ShopFinding(material, cutter, used.verdict, used.speed, used.feed, used.depth,
                          used.width, job=str(job.get("job", "")), date=run.when)


def _job_beside(record: Path) -> Mapping[str, Any]:
    """The job a record stands beside, as it is meant now; nothing where it cannot be read."""
    from camgen.job.reading import read_job
    from camgen.library.fingerprint import as_meant
    from camgen.steps import step_words

    path = record.with_name(record.name.removesuffix(".proof.yaml") + ".yaml")
    try:
        return as_meant(read_job(path, step_words()).job)
    except Refused:
        return {}
