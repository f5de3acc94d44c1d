"""From a job through the chain to a run for its record, and what differs from the last good run."""

from __future__ import annotations

import hashlib
from typing import Any

from camgen.layout import ToothLayout
from camgen.library.compare import changes, in_words
from camgen.library.fingerprint import as_meant, motion_fingerprint
from camgen.library.paths import Pair
from camgen.library.record import ProgramRun, Run
from camgen.library.standing import last_good, machine_values, table_values
from camgen.make.chain import STANDING, Proved
from camgen.make.report import times_of
from camgen.proof.evidence import Evidence
from camgen.reader.motion import Kind

__all__ = ["as_run", "drift", "motion_words", "pairs_of", "program_runs",
           "program_sum"]


def program_sum(text: bytes) -> str:
    """SHA-256 of a program's bytes, less the comment line that tells the job's standing."""
    mark = STANDING.encode()
    kept = [line for line in text.splitlines(keepends=True) if mark not in line.upper()]
    return hashlib.sha256(b"".join(kept)).hexdigest()


def program_runs(proved: Proved) -> tuple[ProgramRun, ...]:
    """Every program's fingerprints, of its bytes and of its motion."""
    return tuple(
        ProgramRun(file=program.file, sha256=program_sum(program.text),
                   motion=motion_fingerprint(read))
        for setup in proved.setups
        for program, read in zip(setup.programs, setup.read, strict=True)
    )


def as_run(proved: Proved) -> dict[str, Any]:
    """The job, the table values and the machine as meant, to be compared with years later."""
    return {
        "job": as_meant(proved.job_file.job),
        "tables": table_values(proved.material),
        "machine": machine_values(proved.machine),
    }


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


def _values(proved: Proved, good: Run) -> list[str]:
    now = as_run(proved)
    lines = []
    for name, said in (("job", "job"), ("tables", "material table"), ("machine", "machine file")):
        lines += [f"{said}: {in_words(change)}"
                  for change in changes(good.as_run.get(name, {}), now[name])]
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


def motion_words(one: Proved, other: Proved) -> tuple[str, ...]:
    """How two jobs' programs differ as motion, setup by setup: time, cuts, spaces, extents."""
    times, others = times_of(one), times_of(other)
    lines = []
    theirs = {setup.name: setup for setup in other.setups}
    for setup in one.setups:
        if setup.name not in theirs:
            lines.append(f"setup {setup.name} is only in the first job")
            continue
        a, b = setup.evidence, theirs[setup.name].evidence
        for what, before, after in (
            ("pieces of motion", len(a.motion), len(b.motion)),
            ("cuts", int(a.cut.sum()), int(b.cut.sum())),
            ("turns of the head", _turns(a), _turns(b)),
        ):
            if before != after:
                lines.append(f"{setup.name}: {after} {what}, was {before}")
        cut_a, cut_b = float(a.length[a.cut].sum()), float(b.length[b.cut].sum())
        if abs(cut_a - cut_b) > 0.001:
            lines.append(f"{setup.name}: {cut_b:.1f} mm in the cut, was {cut_a:.1f}")
        before_s, after_s = times[setup.name].seconds, others[setup.name].seconds
        if abs(before_s - after_s) > 0.5:
            lines.append(f"{setup.name}: {after_s:.0f} s, was {before_s:.0f}")
    lines += [f"setup {name} is only in the second job" for name in theirs
              if name not in {setup.name for setup in one.setups}]
    return tuple(lines)


def _turns(evidence: Evidence) -> int:
    return int((evidence.motion.kind == Kind.INDEX).sum())


def pairs_of(one: Proved, other: Proved) -> tuple[Pair, ...]:
    """The setups both jobs have, by name, to be drawn over one another."""
    theirs = {setup.name: setup for setup in other.setups}
    pairs = []
    for setup in one.setups:
        if setup.name in theirs:
            layout = setup.planned.layout
            axes = (0, 1)
            if isinstance(layout, ToothLayout):
                arrangement = layout.arrangement
                axes = ("XYZ".index(arrangement.along[1]), "XYZ".index(arrangement.infeed[1]))
            pairs.append(Pair(setup.name, setup.evidence.motion,
                              theirs[setup.name].evidence.motion, axes))
    return tuple(pairs)
