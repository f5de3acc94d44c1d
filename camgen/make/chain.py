"""The chain: job file, plan, program text, motion read back, proofs.

The only place that knows all of it. Nothing is written to disk here: the caller gets the contents
of every file and writes them together, or not at all when a proof failed.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from camgen import __version__
from camgen.faults import Fault, Refused
from camgen.job.checks.whole_job import machine_for
from camgen.job.file import workshop_of
from camgen.job.models import Job
from camgen.job.reading import JobFile, read_job
from camgen.library.fingerprint import as_meant, fingerprint
from camgen.library.job_fingerprints import JobFingerprints, record_path
from camgen.library.over_runs.measurements import measured_since
from camgen.library.standing import (
    Standing,
    last_good,
    prints,
    standing_of_job,
    with_corrections,
)
from camgen.make.causes.corrected_pair import corrected_pair_faults
from camgen.make.causes.machine_words import machine_word_faults
from camgen.make.causes.own_words import own_block_faults
from camgen.make.causes.where_said import with_lines
from camgen.make.foretold import work_foretold
from camgen.make.runs.findings import findings_of
from camgen.make.told.standing_line import standing_line
from camgen.make.variants import Wish, chosen_setups, varied
from camgen.messages import Message
from camgen.moves import SetupMoves
from camgen.plan import Plan, PlannedSetup, plan_job
from camgen.post.restart import again_at_space
from camgen.post.writer import Program, write_programs
from camgen.proof import Evidence, gather, prove_evidence, prove_motion
from camgen.proof.evidence import FlatEvidence, HeadEvidence, by_kind
from camgen.proof.flat.sides import prove_sides
from camgen.proof.flat.wheel_faces import prove_wheel_faces
from camgen.proof.result import Proof
from camgen.reader import read_program
from camgen.reader.motion import ReadProgram
from camgen.reader.trusted import TrustedWord, trusted_words
from camgen.shop.machine import Machine
from camgen.shop.materials import Material
from camgen.steps import step_words
from camgen.values import dataclass
from camgen.words import program_words

if TYPE_CHECKING:
    from camgen.library.record import ProofRecord, Run

__all__ = ["Proved", "ProvedSetup", "Wish", "file_stem", "proved_job", "varied_setup",
           "workshop_of"]


@dataclass(frozen=True)
class ProvedSetup:
    """One setup: what was planned, what was written, what was read back, what was proved.

    ``whole`` is what the whole program was proved on, where this one begins within it or cuts air;
    ``begins`` the tooth space that cutting begins again at, from 1.
    """

    planned: PlannedSetup
    programs: tuple[Program, ...]
    read: tuple[ReadProgram, ...]
    evidence: Evidence
    proofs: tuple[Proof, ...]
    whole: Evidence | None = None
    begins: int | None = None

    @property
    def evidences(self) -> tuple[Evidence, ...]:
        """All that its proofs were made on."""
        return (self.evidence,) if self.whole is None else (self.evidence, self.whole)

    @property
    def name(self) -> str:
        """The setup's name in the job file."""
        return self.planned.name


@dataclass(frozen=True)
class Proved:
    """A job through the whole chain.

    ``stem`` begins the names of its files; ``language`` is that of its texts. ``prints`` are its
    fingerprints as made now, ``standing`` whether it is proven at the machine, ``record`` what
    came of earlier runs. ``again`` is what names of files say of a space to start again at, or "".
    """

    job_file: JobFile
    machine: Machine
    material: Material
    workshop: Path
    stem: str
    prints: JobFingerprints
    record: ProofRecord | None
    standing: Standing
    language: str
    setups: tuple[ProvedSetup, ...]
    again: str = ""

    @property
    def flat(self) -> list[FlatEvidence]:
        """The evidence of the setups of flat work."""
        return by_kind(setup.evidence for setup in self.setups)[0]

    @property
    def on_head(self) -> list[HeadEvidence]:
        """The evidence of the setups on the dividing head."""
        return by_kind(setup.evidence for setup in self.setups)[1]

    @property
    def proofs(self) -> tuple[Proof, ...]:
        """All proofs of all setups, in order."""
        return tuple(proof for setup in self.setups for proof in setup.proofs)

    @property
    def trusted(self) -> tuple[TrustedWord, ...]:
        """Words of the machine file's own blocks that no proof knows of."""
        return trusted_words(self.machine)

    @property
    def failed(self) -> tuple[Proof, ...]:
        """The proofs that do not hold."""
        return tuple(proof for proof in self.proofs if not proof.holds)


def file_stem(name: str) -> str:
    """A job's name as the beginning of file names.

    >>> file_stem("Third wheel, No. 2")
    'third-wheel-no-2'
    """
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "job"


def _record_of(path: Path) -> ProofRecord | None:
    """The record of the job at ``path``; its models are loaded only where there is one."""
    record = record_path(path)
    if not os.path.lexists(record):
        return None
    from camgen.library.record import read_record

    return read_record(record)


def proved_job(
    path: Path, wish: Wish | None = None, say: Callable[[str], None] | None = None, *,
    before: int = 0,
) -> Proved:
    """Read, plan, write, read back and prove the job at ``path``.

    ``say`` is told of work that takes long before it begins; so many programs come ``before``
    these, from which their numbers go on. Raises Refused with every fault of the
    job or of a file it names. A proof that does not hold is
    no fault of the file: look at ``failed``.
    """
    wish = wish or Wish()
    workshop = workshop_of(path)
    job_file = read_job(path, step_words())
    try:
        return _proved_job(path, job_file, workshop, wish, say, before)
    except Refused as no:
        raise Refused(with_lines(no.faults, wish.post or job_file.job.post, workshop)) from no


def _proved_job(
    path: Path, job_file: JobFile, workshop: Path, wish: Wish,
    say: Callable[[str], None] | None, before: int,
) -> Proved:
    job = job_file.job
    long = work_foretold(job, str(path))
    if long and say is not None:
        say(long)
    machine = machine_for(job_file, wish.post, workshop)
    language = wish.language or job.language
    spoken = program_words(language)
    plan = plan_job(job_file, machine, workshop, from_space=wish.from_space,
                    from_step=wish.from_step,
                    findings=findings_of(workshop, job.material, job.cutters.values()))
    spoiled = corrected_pair_faults(job_file)
    if spoiled:
        raise Refused(spoiled)
    stem = file_stem(path.stem)
    record = _record_of(path)
    now = prints(fingerprint(_as_planned(job, plan)), machine, plan.material)
    runs = record.runs if record is not None else ()
    good = last_good(runs)
    state = measured_since(_standing(job, now, len(runs), good), good, machine)
    setups: list[ProvedSetup] = []
    for planned in chosen_setups(wish, plan.setups):
        header = (
            Message("CAMGEN {version} JOB {job}", version=__version__, job=now.job),
            Message("TABLES {tables} MACHINE {machine}", tables=now.tables, machine=now.machine),
            Message("MATERIAL {name}", name=plan.material.name),
            standing_line(state, good.when if good is not None else ""),
        )
        come = before + sum(len(setup.programs) for setup in setups)
        named = f"{stem}-{planned.name}"
        again = wish.again
        if wish.from_space is not None:
            planned = replace(planned, moves=replace(planned.moves, notes=(
                again_at_space(wish.from_space, wish.from_step, machine),
                Message("STACK AS IT IS, HEIGHT AND INFEED SET ANEW FOR THE NEW CUTTER"),
                *planned.moves.notes), set_anew=_set_anew(planned)))
        setups.append(_proved_setup(job, machine, planned, named + again, header, come, spoken,
                                    _come_before(job, machine, plan, planned, setups)))
        setups[-1] = replace(setups[-1], begins=wish.from_space)
        if wish.changes_moves:
            setups[-1] = varied_setup(wish, job, machine, setups[-1], named + again, header,
                                      come, spoken)
    if not wish.changes_moves:
        setups = _on_both_sides(job, machine, plan, setups)
    faults = [fault for setup in setups
              for fault in own_block_faults(machine, setup.read, setup.proofs)]
    if not faults and any(not proof.holds for setup in setups for proof in setup.proofs):
        from camgen.make.causes.thin_walls import thin_wall_faults

        faults += thin_wall_faults(job_file, setups)
    if not faults and not wish.changes_moves:
        failed = [proof for setup in setups for proof in setup.proofs if not proof.holds]
        faults += machine_word_faults(machine, failed, lambda other: _holds_on(
            other, job_file, workshop, wish, {proof.setup for proof in failed}))
    if faults:
        raise Refused(tuple(dict.fromkeys(faults)))
    return Proved(job_file, machine, plan.material, workshop, stem, now, record, state,
                  language, tuple(setups), wish.again)


def _holds_on(
    machine: Machine, job_file: JobFile, workshop: Path, wish: Wish, names: set[str]
) -> bool:
    """Whether the setups called ``names`` would be proved on another machine."""
    job = job_file.job
    try:
        plan = plan_job(job_file, machine, workshop, from_space=wish.from_space,
                        findings=findings_of(workshop, job.material, job.cutters.values()))
        return all(
            proof.holds for planned in plan.setups if planned.name in names
            for proof in _proved_setup(job, machine, planned, planned.name, (), 0, None,
                                       _come_before(job, machine, plan, planned, ())).proofs)
    except Refused:
        return False


def _standing(job: Job, now: JobFingerprints, runs: int, good: Run | None) -> Standing:
    """How a job stands, also against what was corrected at the machine in its last good run."""
    if good is None:
        return standing_of_job(now, runs, None)
    state = standing_of_job(now, runs, good.prints)
    if not good.corrections:
        return state
    from camgen.library.over_runs.corrections import open_corrections

    left = open_corrections(job, good, unchanged=now.job == good.prints.job)
    return with_corrections(state, tuple(one.told(job) for one in left))


def _set_anew(planned: PlannedSetup) -> str:
    """The axes that another cutter is set to in spaces that are cut: infeed and centre height."""
    across = planned.layout.height_axis
    return f"{planned.moves.retract_axis} {across}" if across else planned.moves.set_anew


def _as_planned(job: Job, plan: Plan) -> dict[str, Any]:
    """The job as meant; with the cuts themselves where records of other runs may change them."""
    meant = as_meant(job)
    if job.keep_to_findings:
        meant["cuts"] = [[round(cut.speed, 1), round(cut.feed, 2), round(cut.depth, 4)]
                         for setup in plan.setups for cut in setup.cuts]
    return meant


def _proved_setup(
    job: Job, machine: Machine, planned: PlannedSetup, stem: str, header: Sequence[Message],
    before: int, spoken: Callable[[str], str] | None, earlier: Sequence[Evidence],
) -> ProvedSetup:
    """One setup written, read back and proved whole, after those that it goes on with."""
    programs = write_programs(planned.moves, machine, stem=stem, header=header, before=before,
                              spoken=spoken)
    read = tuple(read_program(one.text, machine, one.file, infeed=planned.moves.retract_axis)
                 for one in programs)
    evidence = gather(planned.name, job, machine, planned.layout, planned.moves, read,
                      planned_cuts=planned.cuts, earlier=earlier, header=header)
    return ProvedSetup(planned, programs, read, evidence, prove_evidence(evidence))


def _come_before(
    job: Job, machine: Machine, plan: Plan, planned: PlannedSetup, setups: Sequence[ProvedSetup]
) -> list[Evidence]:
    """The setups before one, where it goes on with the work of any."""
    setup = next((one for one in job.flat if one.name == planned.name), None)
    if setup is None or setup.stock.left_by is None:
        return []
    known = {one.name: one.evidence for one in setups}
    before = plan.setups[: [one.name for one in plan.setups].index(planned.name)]
    return [known.get(one.name) or _evidence_of(job, machine, one) for one in before]


def _on_both_sides(
    job: Job, machine: Machine, plan: Plan, setups: list[ProvedSetup]
) -> list[ProvedSetup]:
    """The setups with what is proved of those on dowels together with the setups before them."""
    flat, _ = by_kind(one.evidence for one in setups)
    if not any(one.layout.lies_by for one in flat):
        return setups
    known = {one.name: one.evidence for one in setups}
    flat, _ = by_kind(known.get(planned.name) or _evidence_of(job, machine, planned)
                      for planned in plan.setups)
    found = prove_sides(flat)
    of_wheel = prove_wheel_faces(flat)
    return [replace(one, proofs=(*one.proofs, *found.get(one.name, ()),
                                 *of_wheel.get(one.name, ()))) for one in setups]


def _evidence_of(job: Job, machine: Machine, planned: PlannedSetup) -> Evidence:
    """A setup that is not asked for, written and read only to see where its holes come."""
    programs = write_programs(planned.moves, machine, stem=planned.name)
    read = tuple(read_program(one.text, machine, one.file, infeed=planned.moves.retract_axis)
                 for one in programs)
    return gather(planned.name, job, machine, planned.layout, planned.moves, read)


def _can_be_reached(evidence: Evidence, moves: SetupMoves, machine: Machine) -> None:
    """Raises Refused for a variant farther from its zero than the axis travels in all."""
    axis = moves.retract_axis
    places = evidence.motion.end[:, "XYZ".index(axis)]
    farthest = float(np.nanmax(np.abs(places), initial=0.0))
    travel = machine.axis(axis).travel
    if farthest > travel:
        raise Refused(Fault(
            Message("{setup}: {axis} would go {farthest:.0f} mm from its zero, and travels "
                    "{travel:g} mm in all", setup=evidence.setup, axis=axis, farthest=farthest,
                    travel=travel), Message("give a smaller --air")))


def varied_setup(
    wish: Wish, job: Job, machine: Machine, whole: ProvedSetup, stem: str,
    header: Sequence[Message], before: int, spoken: Callable[[str], str] | None,
) -> ProvedSetup:
    """The wished variant in place of the whole program of files ``stem``, with the proofs of both.

    Raises Refused where the program has no such step, cutter, station or turn.
    """
    moves, added = varied(wish, job, whole.planned)
    name = f"{whole.name}{wish.again}{added}"
    cuts = {(section.step, section.title): cut for section, cut in
            zip(whole.planned.moves.sections, whole.planned.cuts, strict=True)}
    # A dry index has a title of its own.
    of_step = {step: cut for (step, _), cut in reversed(cuts.items())}
    planned = replace(whole.planned, name=name, moves=moves, cuts=tuple(
        cuts.get((section.step, section.title), of_step[section.step])
        for section in moves.sections))
    programs = write_programs(moves, machine, stem=stem + added, header=header, before=before,
                              spoken=spoken)
    read = tuple(read_program(one.text, machine, one.file, infeed=moves.retract_axis)
                 for one in programs)
    evidence = gather(name, job, machine, planned.layout, moves, read, header=header)
    _can_be_reached(evidence, moves, machine)
    return ProvedSetup(planned, programs, read, evidence,
                       (*whole.proofs, *prove_motion(evidence)), whole.evidence, whole.begins)
