"""From a job through the chain to a run for its record, and what differs from the last good run."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np
from pydantic import ValidationError

from camgen.faults import Fault, Place, Refused, all_of
from camgen.library.compare import changes, changes_in_words
from camgen.library.fingerprint import as_meant, motion_fingerprint
from camgen.library.paths import Pair
from camgen.library.record import ProgramRun, Run, kept_path, record_path
from camgen.library.standing import last_good, machine_values, table_values
from camgen.make.chain import Proved
from camgen.make.timing import setup_time
from camgen.make.told.report import times_of
from camgen.make.told.standing_line import left_out_before, without_standing
from camgen.messages import Message
from camgen.plainfile import plain_bytes
from camgen.proof.evidence import Evidence, gather
from camgen.reader import read_program
from camgen.reader.comparing.motions import Difference, same_motion
from camgen.reader.motion import Kind
from camgen.shop.machine import Machine
from camgen.values import dataclass

__all__ = ["Ran", "as_it_ran", "as_made", "as_run", "drift", "motion_words", "pairs_of",
           "program_runs", "program_sum", "value_words"]


_PUT_BACK = Message("put it back beside the record")


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


def drift(proved: Proved) -> tuple[Message, ...]:
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


_SAID = (("job", Message("job")), ("tables", Message("material table")),
         ("machine", Message("machine file")), ("cuts", Message("as planned")))


def value_words(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[Message]:
    """What differs between two jobs as run: their own values, the tables', what was planned.

    What an older record did not keep is passed over.
    """
    return [Message("{where}: {what}", where=said, what=changes_in_words(change))
            for name, said in _SAID if name in before
            for change in changes(before[name], after[name])]


def _values(proved: Proved, good: Run) -> list[Message]:
    lines = value_words(good.as_run, as_run(proved))
    if good.prints.writer != proved.prints.writer:
        lines.append(Message("written by version {now}, was {before}", now=proved.prints.writer,
                             before=good.prints.writer))
    return lines


def _programs(was: dict[str, ProgramRun], now: dict[str, ProgramRun]) -> list[Message]:
    lines = [Message("{file} is no longer made", file=file) for file in was if file not in now]
    for file, program in now.items():
        if file not in was:
            lines.append(Message("{what} is new", what=file))
        elif was[file].motion != program.motion:
            lines.append(Message("{file} moves differently", file=file))
        elif was[file].sha256 != program.sha256:
            lines.append(Message("{file} moves the same but is written differently", file=file))
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
        raise Refused(Fault(Message("no programs of a good run are kept"),
                            Message("they are kept beside the record by camgen library record"),
                            Place(str(record))))
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
        raise Refused(Fault(Message("the program as run is kept outside the record's folder"),
                            _PUT_BACK, Place(str(path))))
    try:
        text = plain_bytes(path)
    except Refused as no:
        raise Refused(Fault(
            Message("the program as run cannot be read: {why}", why=no.faults[0].message),
            _PUT_BACK, Place(str(path)))) from no
    if program_sum(text) != program.sha256:
        if hashlib.sha256(left_out_before(text)).hexdigest() == program.sha256:
            raise Refused(Fault(
                Message("lines with the word STANDING, beside the header's one, were added since, "
                        "or were left out of the sum by an earlier version: nobody can tell "
                        "which"),
                Message("look at those lines, and record the next run: its sum leaves out only "
                        "that one"),
                Place(str(path))))
        raise Refused(Fault(
            Message("this is not the program that was run: it was changed since"),
            Message("put back the one that was kept"), Place(str(path))))
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


def motion_words(one: Mapping[str, Ran], other: Mapping[str, Ran]) -> tuple[Message, ...]:
    """How two jobs' programs differ as motion, setup by setup: time, cuts, turns, and where."""
    lines = []
    for name, first in one.items():
        if name not in other:
            lines.append(Message("setup {name} is only in the first", name=name))
            continue
        lines += [Message("{where}: {what}", where=name, what=what)
                  for what in _differ(first, other[name])]
    lines += [Message("setup {name} is only in the second", name=name)
              for name in other if name not in one]
    return tuple(lines)


def _differ(first: Ran, second: Ran) -> Iterator[Message]:
    """How the programs of one setup differ as motion."""
    a, b = first.evidence, second.evidence
    for what, before, after in (
        (Message("feed moves"), int(a.cut.sum()), int(b.cut.sum())),
        (Message("turns of the head"), _turns(a), _turns(b)),
    ):
        if before != after:
            yield Message("{now} {what}, was {before}", now=after, what=what, before=before)
    cut_a, cut_b = _fed(a), _fed(b)
    if abs(cut_a - cut_b) > 0.001:
        yield Message("{now:.1f} mm at a feed, was {before:.1f}", now=cut_b, before=cut_a)
    low_a, low_b = _lowest(a), _lowest(b)
    if np.isfinite(low_a + low_b) and abs(low_b - low_a) > 0.0005:
        yield (Message("lowest Z {now:.3f}, was {before:.3f}: {by:.3f} lower", now=low_b,
                       before=low_a, by=low_a - low_b) if low_b < low_a else
               Message("lowest Z {now:.3f}, was {before:.3f}: {by:.3f} higher", now=low_b,
                       before=low_a, by=low_b - low_a))
    if abs(first.seconds - second.seconds) > 0.5:
        yield Message("{now:.0f} s, was {before:.0f}", now=second.seconds, before=first.seconds)
    yield from map(_parting, same_motion(a.motion, b.motion))


def _parting(found: Difference) -> Message:
    """Where two programs first go different ways."""
    lines = all_of([
        *([Message("line {line} of the first", line=found.line)] if found.line else []),
        *([Message("line {line} of the second", line=found.other_line)]
          if found.other_line else []),
    ])
    if found.amount:
        amount = f"{found.amount:.4g} {found.unit}".rstrip()
        return Message("first differs by {amount} at {lines}: {what}", amount=amount, lines=lines,
                       what=found.what)
    return Message("first differs at {lines}: {what}", lines=lines, what=found.what)


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
