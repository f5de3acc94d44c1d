"""Pictures and the page of a proved job's setups. The drawing rooms are loaded with this module."""

from __future__ import annotations

from collections.abc import Sequence

from camgen.faults import Fault, Refused
from camgen.job.models import Job
from camgen.layout import FlatWork, HeadWork, RoundWork
from camgen.make.chain import Proved, ProvedSetup
from camgen.make.told.sheet_texts import job_cautions
from camgen.make.told.turning import lies
from camgen.messages import Message
from camgen.preview.course.flat_course import draw_course
from camgen.preview.course.tooth_course import draw_tooth_course
from camgen.preview.failure import draw_failure
from camgen.preview.page import Verdict, bench_page
from camgen.preview.paper.board import Style
from camgen.preview.scene import Scene
from camgen.preview.setup import Mate, Picture, draw_setup
from camgen.proof.evidence import Evidence
from camgen.proof.result import Proof
from camgen.reader.motion import ReadProgram
from camgen.reader.stations import at_station
from camgen.sheet.page import cautions_said
from camgen.words import words

__all__ = ["courses_of", "failures_of", "mate_at_nominal", "page_of", "picture_of", "pictures_of"]

# One slip makes many proofs fail; more pictures than this of one setup tell nothing new.
MOST_FAILURES = 6


def pictures_of(
    proved: Proved, *, dark: bool = False, style: Style = "png", rapids: bool = False
) -> dict[str, Picture]:
    """The picture of each setup, by the setup's name; with all ``rapids``, or where they are few.
    """
    return {
        setup.name: picture_of(proved, setup, setup.read, setup.proofs, style, dark=dark,
                               rapids=rapids)
        for setup in proved.setups
    }


def page_of(proved: Proved) -> str:
    """The page to step through the programs of all setups, one after another."""
    say = words(proved.language)
    scenes = [
        Scene(setup.name, setup.planned.layout, setup.read, setup.evidence.cutters,
              {section.cutter_number: section.cutter
               for section in setup.planned.moves.sections},
              _beneath(proved, setup), _first(proved, setup) if number else "")
        for number, setup in enumerate(proved.setups)
    ]
    failed = tuple(f"{proof.setup}: {say.say(proof.name)}" for proof in proved.failed)
    verdict = Verdict(sum(len(setup.proofs) for setup in proved.setups) - len(failed), failed,
                      cautions_said(job_cautions(proved), say))
    return bench_page(scenes, proved.machine, proved.job_file.job.job, verdict=verdict,
                      language=proved.language)


def _first(proved: Proved, setup: ProvedSetup) -> str:
    """What is done before a setup that is not the first: how the piece then lies or is held."""
    say = words(proved.language)
    for one in proved.flat:
        if one.setup == setup.name and (one.layout.turned or one.layout.dowels):
            return lies(one.layout, say)
    holding = setup.planned.setup.holding
    return say.say(holding.by) if holding is not None else ""


def courses_of(
    proved: Proved, *, dark: bool = False, style: Style = "png"
) -> dict[str, Picture]:
    """The course in time of each setup, and its stock before and after, by its name."""
    return {setup.name: _course_of(proved, setup, style, dark=dark) for setup in proved.setups}


def _course_of(proved: Proved, setup: ProvedSetup, style: Style, *, dark: bool) -> Picture:
    material = proved.material
    title = f"{proved.job_file.job.job}: {setup.name}"
    force = material.kc1.value, material.mc.value
    match setup.planned.work:
        case FlatWork(layout=layout):
            return draw_course(
                layout, _at_one_station(setup, setup.read), proved.machine, setup.evidence.cutters,
                title, subtitle=_beneath(proved, setup), cutting_force=force, format=style,
                dark=dark, language=proved.language)
        case HeadWork(layout=stack):
            return draw_tooth_course(
                stack, setup.read, proved.machine, setup.evidence.cutters, title,
                subtitle=_beneath(proved, setup), cutting_force=force, format=style, dark=dark,
                language=proved.language)
        case RoundWork():
            raise Refused(Fault(
                Message("the course in time is drawn of flat work and of teeth, and setup {name} "
                        "is turned work", name=setup.name),
                Message("leave --course out: the picture shows what is left of the work")))


def _at_one_station(
    setup: ProvedSetup, programs: Sequence[ReadProgram]
) -> Sequence[ReadProgram]:
    """What is drawn of a fixture's programs: the first station, for the others are cut alike."""
    if setup.planned.layout.stations == 1:
        return programs
    return [at_station(program, 1) for program in programs]


def _beneath(proved: Proved, setup: ProvedSetup) -> str:
    """The line beneath a picture's title."""
    say = words(proved.language)
    line = f"{say('materials', proved.material.title)}, {proved.machine.name}"
    for one in proved.flat:
        if one.setup == setup.name and (one.layout.turned or one.layout.lies_by):
            # How it lies matters more at the machine than what it is of; there is only one line.
            line = lies(one.layout, say)
    if setup.planned.layout.stations > 1:
        line += ", " + say("stations", "one-of", count=setup.planned.layout.stations)
    if setup.planned.corrected:
        line += ", " + ", ".join(say.say(one) for one in setup.planned.corrected)
    return line


def picture_of(
    proved: Proved, setup: ProvedSetup, programs: Sequence[ReadProgram], proofs: Sequence[Proof],
    style: Style = "png", *, dark: bool = False, rapids: bool = False,
) -> Picture:
    """The picture of programs, ours or not, as those of one setup of a job."""
    job = proved.job_file.job
    sections = setup.planned.moves.sections
    return draw_setup(
        setup.planned.work.shown,
        _at_one_station(setup, programs),
        proved.machine,
        setup.evidence.cutters,
        proofs,
        f"{job.job}: {setup.name}",
        subtitle=_beneath(proved, setup),
        names={section.cutter_number: section.cutter for section in sections},
        mate=mate_at_nominal(job),
        format=style,
        dark=dark,
        language=proved.language,
        rapids=rapids,
    )


def failures_of(
    proved: Proved, evidence: Evidence, proofs: Sequence[Proof], style: Style = "png", *,
    dark: bool = False,
) -> tuple[Picture, ...]:
    """A picture of each failing proof of one setup, no more than :data:`MOST_FAILURES`."""
    failed = [proof for proof in proofs if not proof.holds][:MOST_FAILURES]
    material = words(proved.language)("materials", proved.material.title)
    return tuple(
        draw_failure(evidence, proof, f"{proved.job_file.job.job}: {evidence.setup}",
                     subtitle=f"{material}, {proved.machine.name}", format=style, dark=dark,
                     language=proved.language)
        for proof in failed
    )


def mate_at_nominal(job: Job) -> Mate | None:
    """What the job's part works with at the nominal distance; None for ratchets."""
    tooth = job.part.mate_tooth()
    if tooth is None:
        return None
    distance = (job.part.tooth().sizes.pitch_diameter + tooth.sizes.pitch_diameter) / 2
    return Mate(tooth, distance)
