"""``report.json``: what was made and proved, for people and programs to read.

Lengths mm, feeds mm/min, times seconds.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from camgen import __version__
from camgen.cutting.explain import explain
from camgen.cutting.metal import MetalAccount
from camgen.cutting.planner import CutPlan
from camgen.cutting.time.spent import Saving, TimeAccount
from camgen.job.checks.broken_walls import wall_remarks
from camgen.job.order.all_made import order_remarks, stack_remarks
from camgen.job.order.found import found_remarks
from camgen.layout import ToothLayout
from camgen.make.chain import Proved, ProvedSetup
from camgen.make.timing import against_floor, setup_savings, setup_time, step_names
from camgen.make.told.holes import holes_of_report
from camgen.make.told.pace_told import pace_told
from camgen.messages import Message
from camgen.moves import Section
from camgen.proof.evidence import Evidence
from camgen.proof.path import select
from camgen.proof.result import Proof
from camgen.reader.summary import extents
from camgen.shop.cutters import profile_of, record_of

__all__ = ["cautions_of", "notes_of", "report_of", "runs_of", "shares_of", "taken_of",
           "times_of", "work_notes"]


def times_of(proved: Proved) -> dict[str, TimeAccount]:
    """The account of time of each setup, by its name."""
    return {
        setup.name: setup_time(setup.evidence, step_names(setup.planned.moves))
        for setup in proved.setups
    }


def cautions_of(proved: Proved) -> tuple[str, ...]:
    """What the material and the cuts ask the operator to mind."""
    cuts = [cut for setup in proved.setups for cut in setup.planned.cuts]
    return tuple(dict.fromkeys(
        (*proved.material.cautions, *(caution for cut in cuts for caution in cut.cautions))
    ))


def notes_of(proved: Proved) -> tuple[Message, ...]:
    """What of the job as a whole is not as one would expect: stacks, order, cutters taken for."""
    return (
        *work_notes(proved),
        *(Message("{setup}: {remark}", setup=setup.name, remark=one)
          for setup in proved.setups for one in pace_told(setup.evidence)),
        *(Message("{setup}: what stands before the stack is not said: taken as nothing; write "
                  "front: and tailstock:", setup=one.setup)
          for one in proved.on_head if not one.layout.before_said),
        *taken_of(proved),
    )


def work_notes(proved: Proved) -> tuple[Message, ...]:
    """What of a job's words, order and corrections is not as one would expect."""
    job = proved.job_file.job
    return (
        *stack_remarks(job),
        *wall_remarks(job),
        *dict.fromkeys(Message("{setup}: {remark}", setup=setup.name, remark=remark)
                       for setup in proved.setups
                       for remark in (
                           *order_remarks(setup.planned.setup),
                           *setup.planned.notes,
                           *found_remarks(job, job.setups.index(setup.planned.setup)))),
        *(Message("{setup}: {remark}", setup=setup.name, remark=one)
          for setup in proved.setups for one in setup.planned.corrected),
    )


def taken_of(proved: Proved) -> tuple[Message, ...]:
    """What is taken for granted of the cutters that are used, for the job does not say it."""
    job = proved.job_file.job
    used = {section.cutter for setup in proved.setups for section in setup.planned.moves.sections}
    taken = [name for name, cutter in job.cutters.items()
             if name in used and "material" not in cutter.model_fields_set
             and not record_of(cutter).touches]
    unsaid = {name: profile_of(cutter).taken for name, cutter in job.cutters.items()
              if name in used}
    return (
        *([Message("{cutters}: taken as carbide, for no material is said; where a cutter is of "
                   "high-speed steel write material: hss, or it is run too fast",
                   cutters=tuple(taken))] if taken else ()),
        *([Message("sizes that the job does not say of its cutters are taken so: {sizes}; write "
                   "with the cutter what is otherwise", sizes="; ".join(
                       f"{name}: {', '.join(str(one) for one in sizes)}"
                       for name, sizes in unsaid.items() if sizes))]
          if any(unsaid.values()) else ()),
    )


def report_of(
    proved: Proved, times: Mapping[str, TimeAccount], account: MetalAccount | None,
    notes: Sequence[Message] | None = None,
) -> dict[str, Any]:
    """The whole report, as JSON holds it; ``account`` is the job's metal, ``notes`` stand for those
    of the job where its parts are of several."""
    job = proved.job_file.job
    report: dict[str, Any] = {
        "job": job.job,
        "job_file": proved.job_file.path.name,
        "version": __version__,
        "fingerprints": proved.prints.model_dump(),
        "standing": str(proved.standing),
        "material": proved.material.name,
        "quantity": job.quantity,
        "programs": [
            entry for setup in proved.setups for entry in _programs(proved, setup, times)
        ],
        "proofs": [_proof(proof) for proof in proved.proofs],
        "trusted": [{"word": one.word, "place": one.place, "may_move": one.moves}
                    for one in proved.trusted],
        "cautions": list(cautions_of(proved)),
        "notes": list(notes_of(proved) if notes is None else notes),
        "steps": [
            _step(setup.name, section, cut, by_step.get(name, 0.0), moving.get(name, 0.0))
            for setup in proved.setups for by_step in [times[setup.name].by_step()]
            for moving in [times[setup.name].by_step(without=("dwell", "cutter change"))]
            for section, cut, name in zip(
                setup.planned.moves.sections, setup.planned.cuts,
                step_names(setup.planned.moves), strict=True)
        ],
        "time": _time(proved, times),
        "remarks": [r for setup in proved.setups for r in setup.planned.remarks],
    }
    if job.part.count:
        report[job.part.word] = _sizes(proved)
    holes = holes_of_report(proved)
    if holes:
        report["holes"] = holes
    divisions = [_division(one.setup, one.layout) for one in proved.on_head]
    if divisions:
        report["dividing"] = divisions
    if account is not None:
        report["metal"] = _metal(account)
    return report


def _time(proved: Proved, times: Mapping[str, TimeAccount]) -> dict[str, Any]:
    """Where the time of all the pieces goes at the machine, and what would save most of it.

    Of each setup the time of one run of its programs, and how often they are run for the quantity.
    """
    setups = []
    whole, changes = 0.0, 0
    saved: dict[Message, float] = {}
    for setup in proved.setups:
        account = times[setup.name]
        runs = runs_of(setup, proved.job_file.job.quantity)
        would_save = setup_savings(setup.evidence, account, setup.planned.cuts,
                                   setup.planned.steps)
        changed = _cutter_changes(setup)
        setups.append({
            "setup": setup.name, "runs": runs, "seconds": round(account.seconds, 1),
            "by_kind": {kind: round(spent, 1) for kind, spent in account.by_kind().items()},
            "cutter_changes": changed, "would_save": _savings(would_save),
        })
        whole += runs * account.seconds
        changes += runs * changed
        for one in would_save:
            saved[one.what] = saved.get(one.what, 0.0) + runs * one.seconds
    pockets = [one for setup in proved.setups for one in _pockets(setup)]
    most = sorted((Saving(what, spared) for what, spared in saved.items()),
                  key=lambda one: (-one.seconds, one.what))
    entry = {"seconds": round(whole, 1), "cutter_changes": changes, "would_save": _savings(most),
             "setups": setups}
    if pockets:
        cutting, seconds, floor = (sum(one[word] for one in pockets)
                                   for word in ("cutting", "seconds", "floor"))
        entry["pockets"] = {
            "cutting": round(cutting, 1), "seconds": round(seconds, 1), "floor": round(floor, 1),
            "cutting_over_floor": round(cutting / floor, 3),
            "seconds_over_floor": round(seconds / floor, 3), "steps": pockets,
        }
    return entry


def _pockets(setup: ProvedSetup) -> list[dict[str, Any]]:
    """Of each section that clears pockets its time in one run against the least it could take."""
    sections = setup.planned.moves.sections
    return [
        {"setup": setup.name, "step": sections[one.section].step + 1,
         "cutter": sections[one.section].cutter,
         "volume": round(sections[one.section].to_clear, 3),
         "cutting": round(one.cutting, 1), "seconds": round(one.seconds, 1),
         "floor": round(one.floor, 1), "cutting_over_floor": round(one.cutting / one.floor, 3)}
        for one in against_floor(setup.evidence, sections, setup.planned.cuts)
    ]


def _savings(found: Sequence[Saving]) -> list[dict[str, Any]]:
    return [{"what": one.what, "seconds": round(one.seconds, 1)} for one in found]


def runs_of(setup: ProvedSetup, quantity: int) -> int:
    """How often a setup's programs are run for all the pieces."""
    return math.ceil(quantity / setup.planned.work.pieces)


def _cutter_changes(setup: ProvedSetup) -> int:
    """How often a cutter is put in, the first too, in one run of a setup as read back."""
    return sum(event.kind == "cutter-change"
               for program in setup.read for event in program.events)


def _metal(account: MetalAccount) -> dict[str, Any]:
    entry: dict[str, Any] = {
        "unit": "g", "pieces": account.pieces, "stock": _short(account.stock),
        "parts": _short(account.parts), "part": _short(account.part),
        "chips": _short(account.chips), "offcuts": _short(account.offcuts),
        "to_recover": _short(account.recovered), "lost": _short(account.lost),
        "fineness": account.fineness, "fine_in_parts": _short(account.fine_parts),
        "fine_to_recover": _short(account.fine_recovered), "fine_lost": _short(account.fine_lost),
        "doubt": _short(account.doubt, 4), "explained": list(account.lines()),
    }
    if account.value_parts is not None:
        entry["value"] = {
            "parts": _short(account.value_parts, 2),
            "to_recover": _short(account.value_recovered or 0.0, 2),
            "lost": _short(account.value_lost or 0.0, 2),
        }
    return entry


def _short(value: float, places: int = 6) -> float:
    """A figure no longer than it is known; JSON has no word for what is not finite."""
    return round(float(value), places) if math.isfinite(value) else 0.0


def _proof(proof: Proof) -> dict[str, Any]:
    entry = {
        "id": proof.id.kind, "name": proof.name, "setup": proof.setup, "holds": proof.holds,
        "figure": _short(proof.figure), "limit": _short(proof.limit), "unit": proof.unit,
    }
    if proof.id.of:
        entry["of"] = proof.id.of
    if proof.where:
        entry["where"] = proof.where
    if proof.line:
        entry["line"] = proof.line
        entry["program"] = proof.program
    if proof.at is not None:
        entry["at"] = dict(zip("XYZ", (_short(one, 4) for one in proof.at), strict=True))
    return entry


def shares_of(setup: ProvedSetup, seconds: float) -> tuple[float, ...]:
    """What each file takes of a setup's time, s: shared by the pieces of motion in each."""
    program_of = setup.evidence.program_of
    whole = max(len(program_of), 1)
    return tuple(round(seconds * int((program_of == number).sum()) / whole, 1)
                 for number in range(len(setup.programs)))


def _programs(
    proved: Proved, setup: ProvedSetup, times: Mapping[str, TimeAccount]
) -> list[dict[str, Any]]:
    """One entry for each file; a split program's time is shared by the length of its parts."""
    evidence = setup.evidence
    entries = []
    shares = shares_of(setup, times[setup.name].seconds)
    for number, (program, seconds) in enumerate(zip(setup.programs, shares, strict=True)):
        mine = np.nonzero(evidence.program_of == number)[0]
        numbers = sorted({int(n) for n in evidence.motion.cutter[mine]} - {0})
        names = {s.cutter_number: s.cutter for s in setup.planned.moves.sections}
        entries.append({
            "file": program.file,
            "setup": setup.name,
            "post": proved.machine.name,
            "seconds": seconds,
            "bounds": _bounds(evidence, number),
            "cutters": [names.get(n, str(n)) for n in numbers],
            "sha256": hashlib.sha256(program.text).hexdigest(),
        })
    return entries


def _bounds(evidence: Evidence, number: int) -> dict[str, list[float]]:
    """How far a program goes on each axis, its arcs included; mm and degrees."""
    motion = select(evidence.motion, np.nonzero(evidence.program_of == number)[0])
    bounds: dict[str, list[float]] = {}
    if not len(motion):
        return bounds
    for name, low, high in zip("XYZ", *extents(motion), strict=True):
        bounds[name] = [_short(low, 4), _short(high, 4)]
    angles = np.concatenate((motion.angle_start, motion.angle_end))
    head = evidence.machine.dividing
    if len(angles) and np.ptp(angles) > 0 and head is not None:
        letter = head.letter if head.kind == "driven" else "hand"
        bounds[letter] = [_short(angles.min(), 4), _short(angles.max(), 4)]
    return bounds


def _step(
    setup: str, section: Section, cut: CutPlan, seconds: float, moving: float
) -> dict[str, Any]:
    return {
        "setup": setup, "step": section.step + 1, "title": section.title,
        "cutter": section.cutter, "seconds": round(seconds, 1),
        "moving": round(moving, 1), "speed": _short(section.rpm, 1), "feed": _short(cut.feed, 2),
        "plunge_feed": _short(cut.plunge_feed, 2), "depth": _short(cut.depth, 4),
        "width": _short(cut.width, 4), "passes": cut.passes,
        "governed_by": dict(cut.governed_by),
        "limits": [
            {"name": limit.name, "used": _short(limit.used), "limit": _short(limit.value),
             "unit": limit.unit, "share": _short(limit.share, 4)}
            for limit in cut.limits
        ],
        "warnings": list(cut.warnings),
        "explained": list(explain(cut)),
    }


def _sizes(proved: Proved) -> dict[str, Any]:
    sizes = proved.job_file.job.part.tooth().sizes
    return {
        "teeth": sizes.teeth,
        "module": sizes.module,
        "pitch_diameter": _short(sizes.pitch_diameter),
        "tip_diameter": _short(sizes.tip_diameter),
        "root_diameter": _short(sizes.root_diameter),
        "whole_depth": _short(sizes.whole_depth),
        "addendum": _short(sizes.addendum),
        "dedendum": _short(sizes.dedendum),
        "tooth_thickness": _short(sizes.tooth_thickness),
        "chordal_thickness": _short(sizes.chordal_thickness),
        "chordal_height": _short(sizes.chordal_height),
    }


def _division(setup: str, layout: ToothLayout) -> dict[str, Any]:
    division = layout.division
    radius = layout.tooth.sizes.pitch_diameter / 2
    return {
        "setup": setup,
        "count": division.count,
        "worst_single_arcsec": _short(division.worst_single_arcsec, 3),
        "worst_single_um": _short(division.micrometres(division.worst_single_arcsec, radius), 4),
        "closing_arcsec": _short(division.closing_arcsec, 3),
        "closing_um": _short(division.micrometres(division.closing_arcsec, radius), 4),
        "head_arcsec": _short(division.head_arcsec, 3),
    }
