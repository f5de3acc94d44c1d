"""From a job through the chain to a run for its record, and what differs from the last good run."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
from pydantic import ValidationError

from camgen.faults import Fault, Place, Refused
from camgen.library.compare import changes, changes_in_words
from camgen.library.fingerprint import as_meant, motion_fingerprint
from camgen.library.paths import Pair
from camgen.library.record import ProgramRun, Run, kept_path, record_path
from camgen.library.standing import last_good, machine_values, table_values
from camgen.make.chain import Proved
from camgen.make.timing import setup_time
from camgen.make.told.report import times_of
from camgen.make.told.standing_line import left_out_before, without_standing
from camgen.plainfile import plain_bytes
from camgen.proof.evidence import Evidence, gather
from camgen.reader import read_program
from camgen.reader.comparing.motions import Difference, same_motion
from camgen.reader.motion import Kind
from camgen.shop.machine import Machine
from camgen.values import dataclass

__all__ = ["Ran", "as_it_ran", "as_made", "as_run", "drift", "motion_words", "pairs_of",
           "program_runs", "program_sum", "value_words"]


def program_sum(text: bytes) -> str:
    """SHA-256 of a program's bytes, less the header's line that tells the job's standing."""
    return hashlib.sha256(without_standing(text)).hexdigest()


def program_runs(proved: Proved, record: Path | None = None) -> tuple[ProgramRun, ...]:
    """Every program's fingerprints, of its bytes and of its motion.

    For a ``record``, also where it is kept beside it.
    """
    runs = []
    for setup in proved.setups:
        for program, read in zip(setup.programs, setup.read, strict=True):
            sha256 = program_sum(program.text)
            kept = "" if record is None else (
                kept_path(record, program.file, sha256).relative_to(record.parent).as_posix())
            runs.append(ProgramRun(file=program.file, setup=setup.name, kept=kept, sha256=sha256,
                                   motion=motion_fingerprint(read)))
    return tuple(runs)


def as_run(proved: Proved) -> dict[str, Any]:
    """The job, the table values and the machine as meant, to be compared with years later."""
    return {
        "job": as_meant(proved.job_file.job),
        "tables": table_values(proved.material),
        "machine": machine_values(proved.machine),
        "cuts": _cuts(proved),
    }


def _cuts(proved: Proved) -> dict[str, Any]:
    """What was planned for each step, whether the job or the tables said so, by setup and step."""
    cuts: dict[str, Any] = {}
    for setup in proved.setups:
        steps = cuts.setdefault(setup.name, {})
        for section, cut in zip(setup.planned.moves.sections, setup.planned.cuts, strict=True):
            title, again = str(section.title), 1
            while title in steps:
                again += 1
                title = f"{section.title} {again}"
            steps[title] = {
                "speed": round(section.rpm, 1), "feed": round(cut.feed, 3),
                "plunge-feed": round(cut.plunge_feed, 3), "depth": round(cut.depth, 5),
                "width": round(cut.width, 5), "passes": cut.passes,
            }
    return cuts


def drift(proved: Proved) -> tuple[str, ...]:
    """What differs from the last good run, in words; empty when the same programs come out.

    A job that was never run well has nothing to differ from.
    """
    good = last_good(proved.record.runs) if proved.record is not None else None
    if good is None:
        return ()
    was = {one.file: one for one in good.programs}
    now = {one.file: one for one in program_runs(proved)}
    if {n: p.sha256 for n, p in was.items()} == {n: p.sha256 for n, p in now.items()}:
        return ()
    return (*_values(proved, good), *_programs(was, now))


_SAID = (("job", "job"), ("tables", "material table"), ("machine", "machine file"),
         ("cuts", "as planned"))


def value_words(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[str]:
    """What differs between two jobs as run: their own values, the tables', what was planned.

    What an older record did not keep is passed over.
    """
    return [f"{said}: {changes_in_words(change)}" for name, said in _SAID if name in before
            for change in changes(before[name], after[name])]


def _values(proved: Proved, good: Run) -> list[str]:
    lines = value_words(good.as_run, as_run(proved))
    if good.prints.writer != proved.prints.writer:
        lines.append(f"written by version {proved.prints.writer}, was {good.prints.writer}")
    return lines


def _programs(was: dict[str, ProgramRun], now: dict[str, ProgramRun]) -> list[str]:
    lines = [f"{file} is no longer made" for file in was if file not in now]
    for file, program in now.items():
        if file not in was:
            lines.append(f"{file} is new")
        elif was[file].motion != program.motion:
            lines.append(f"{file} moves differently")
        elif was[file].sha256 != program.sha256:
            lines.append(f"{file} moves the same but is written differently")
    return lines


@dataclass(frozen=True)
class Ran:
    """One setup's programs as motion: ours as made now, or as they were run."""

    evidence: Evidence
    seconds: float


def as_made(proved: Proved) -> dict[str, Ran]:
    """Each setup of a job as it would be made now, by name."""
    times = times_of(proved)
    return {setup.name: Ran(setup.evidence, times[setup.name].seconds) for setup in proved.setups}


def as_it_ran(proved: Proved) -> dict[str, Ran]:
    """Each setup of a proven job from the programs kept of its last good run, by name.

    They are read with the machine file of that day. Setups that the job no longer has are left
    out. Raises Refused when the job is not proven, no programs were kept, or one was changed since.
    """
    record = record_path(proved.job_file.path)
    good = last_good(proved.record.runs) if proved.record is not None else None
    kept = [one for one in good.programs if one.kept] if good is not None else []
    if good is None or not kept:
        raise Refused(Fault("no programs of a good run are kept", "they are kept beside the record "
                            "by camgen library record", Place(str(record))))
    machine = _machine_then(good, proved.machine)
    ran = {}
    for setup in proved.setups:
        programs = [one for one in kept if one.setup == setup.name]
        if programs:
            read = [read_program(_kept_text(record, one), machine, one.file,
                                 infeed=setup.planned.moves.retract_axis) for one in programs]
            evidence = gather(setup.name, proved.job_file.job, machine, setup.planned.layout, None,
                              read)
            ran[setup.name] = Ran(evidence, setup_time(evidence, ()).seconds)
    return ran


def _kept_text(record: Path, program: ProgramRun) -> bytes:
    path = record.parent / program.kept
    if not path.resolve().is_relative_to(record.parent.resolve()):
        raise Refused(Fault("the program as run is kept outside the record's folder",
                            "put it back beside the record", Place(str(path))))
    try:
        text = plain_bytes(path)
    except Refused as no:
        raise Refused(Fault(f"the program as run cannot be read: {no.faults[0].message}",
                            "put it back beside the record", Place(str(path)))) from no
    if program_sum(text) != program.sha256:
        if hashlib.sha256(left_out_before(text)).hexdigest() == program.sha256:
            raise Refused(Fault(
                "lines with the word STANDING, beside the header's one, were added since, or were "
                "left out of the sum by an earlier version: nobody can tell which",
                "look at those lines, and record the next run: its sum leaves out only that one",
                Place(str(path))))
        raise Refused(Fault("this is not the program that was run: it was changed since",
                            "put back the one that was kept", Place(str(path))))
    return text


def _machine_then(run: Run, now: Machine) -> Machine:
    """The machine file as it was meant on the day of a run; as now where that was not kept."""
    values = run.as_run.get("machine")
    if not isinstance(values, dict):
        return now
    try:
        return Machine.model_validate({**values, "describes": now.describes}, by_alias=True)
    except ValidationError:
        return now


def motion_words(one: Mapping[str, Ran], other: Mapping[str, Ran]) -> tuple[str, ...]:
    """How two jobs' programs differ as motion, setup by setup: time, cuts, turns, and where."""
    lines = []
    for name, first in one.items():
        if name not in other:
            lines.append(f"setup {name} is only in the first")
            continue
        second = other[name]
        a, b = first.evidence, second.evidence
        for what, before, after in (
            ("feed moves", int(a.cut.sum()), int(b.cut.sum())),
            ("turns of the head", _turns(a), _turns(b)),
        ):
            if before != after:
                lines.append(f"{name}: {after} {what}, was {before}")
        cut_a, cut_b = _fed(a), _fed(b)
        if abs(cut_a - cut_b) > 0.001:
            lines.append(f"{name}: {cut_b:.1f} mm at a feed, was {cut_a:.1f}")
        low_a, low_b = _lowest(a), _lowest(b)
        if np.isfinite(low_a + low_b) and abs(low_b - low_a) > 0.0005:
            how = "lower" if low_b < low_a else "higher"
            lines.append(f"{name}: lowest Z {low_b:.3f}, was {low_a:.3f}: "
                         f"{abs(low_b - low_a):.3f} {how}")
        if abs(first.seconds - second.seconds) > 0.5:
            lines.append(f"{name}: {second.seconds:.0f} s, was {first.seconds:.0f}")
        lines += [f"{name}: {_parting(found)}" for found in same_motion(a.motion, b.motion)]
    lines += [f"setup {name} is only in the second" for name in other if name not in one]
    return tuple(lines)


def _parting(found: Difference) -> str:
    """Where two programs first go different ways."""
    amount = f" by {found.amount:.4g} {found.unit}".rstrip() if found.amount else ""
    lines = " and ".join(f"line {line} {which}" for line, which in
                         ((found.line, "of the first"), (found.other_line, "of the second"))
                         if line)
    return f"first differs{amount} at {lines}: {found.what}"


def _turns(evidence: Evidence) -> int:
    return int((evidence.motion.kind == Kind.INDEX).sum())


def _fed(evidence: Evidence) -> float:
    return float(np.nansum(evidence.length[evidence.cut]))


def _lowest(evidence: Evidence) -> float:
    heights = evidence.motion.end[evidence.cut, 2]
    heights = heights[np.isfinite(heights)]
    return float(heights.min()) if len(heights) else np.nan


def pairs_of(one: Mapping[str, Ran], other: Mapping[str, Ran]) -> tuple[Pair, ...]:
    """The setups both have, by name, to be drawn over one another."""
    pairs = []
    for name, first in one.items():
        if name in other:
            pairs.append(Pair(name, first.evidence.motion, other[name].evidence.motion,
                              first.evidence.layout.seen_along))
    return tuple(pairs)
