"""The files of a proved job, as contents to be written together."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from camgen.cutting.time import TimeAccount
from camgen.job.models import Job
from camgen.job.part import job_tooth
from camgen.layout import FlatLayout
from camgen.make.chain import Proved, ProvedSetup
from camgen.make.report import report_of, times_of
from camgen.make.sheetfill import sheet_of
from camgen.preview.bench import bench_page
from camgen.preview.board import Style
from camgen.preview.course import draw_course
from camgen.preview.setup import Mate, Picture, draw_setup
from camgen.sheet.page import sheet_html
from camgen.sheet.words import words
from camgen.teeth.forms import pinion_tooth, wheel_tooth

__all__ = ["Output", "courses_of", "mate_of", "output_of", "pages_of", "pictures_of"]


@dataclass(frozen=True)
class Output:
    """Everything a job leaves: ``files`` by name, the report, and the accounts of time."""

    files: Mapping[str, bytes]
    report: dict[str, Any]
    times: Mapping[str, TimeAccount]


def output_of(proved: Proved, *, pictures: bool = True, language: str = "en") -> Output:
    """The files of a job whose proofs all hold.

    Raises ValueError when one does not: no program leaves unproved.
    """
    if proved.failed:
        raise ValueError("a program that fails a proof is not written")
    times = times_of(proved)
    report = report_of(proved, times)
    drawn = pictures_of(proved) if pictures else {}
    sheet = sheet_html(sheet_of(proved, times, drawn, words(language)), language)
    files: dict[str, bytes] = {}
    for setup in proved.setups:
        files.update({program.file: program.text for program in setup.programs})
        if setup.name in drawn:
            files[f"{proved.stem}-{setup.name}.png"] = drawn[setup.name].content
    files["sheet.html"] = sheet.encode()
    files["report.json"] = (json.dumps(report, indent=1, ensure_ascii=False) + "\n").encode()
    return Output(files, report, times)


def pictures_of(
    proved: Proved, *, dark: bool = False, style: Style = "png"
) -> dict[str, Picture]:
    """The picture of each setup, by the setup's name."""
    return {setup.name: _picture(proved, setup, dark, style) for setup in proved.setups}


def pages_of(proved: Proved) -> dict[str, str]:
    """The page to step through each setup's programs, by the setup's name."""
    job = proved.job_file.job
    return {
        setup.name: bench_page(
            setup.planned.layout, setup.read, proved.machine,
            {section.cutter_number: job.cutters[section.cutter]
             for section in setup.planned.moves.sections},
            f"{job.job}: {setup.name}",
            subtitle=f"{proved.material.title}, {proved.machine.name}",
            names={section.cutter_number: section.cutter
                   for section in setup.planned.moves.sections},
        )
        for setup in proved.setups
    }


def courses_of(
    proved: Proved, *, dark: bool = False, style: Style = "png"
) -> dict[str, Picture]:
    """The course in time of each flat setup, and its stock before and after, by its name."""
    job, material = proved.job_file.job, proved.material
    return {
        setup.name: draw_course(
            layout, setup.read, proved.machine,
            {section.cutter_number: job.cutters[section.cutter]
             for section in setup.planned.moves.sections},
            f"{job.job}: {setup.name}",
            subtitle=f"{material.title}, {proved.machine.name}",
            cutting_force=(material.kc1.value, material.mc.value), format=style, dark=dark,
        )
        for setup in proved.setups
        if isinstance(layout := setup.planned.layout, FlatLayout)
    }


def _picture(proved: Proved, setup: ProvedSetup, dark: bool, style: Style) -> Picture:
    job = proved.job_file.job
    sections = setup.planned.moves.sections
    return draw_setup(
        setup.planned.layout,
        setup.read,
        proved.machine,
        {section.cutter_number: job.cutters[section.cutter] for section in sections},
        setup.proofs,
        f"{job.job}: {setup.name}",
        subtitle=f"{proved.material.title}, {proved.machine.name}",
        names={section.cutter_number: section.cutter for section in sections},
        mate=mate_of(job),
        format=style,
        dark=dark,
    )


def mate_of(job: Job) -> Mate | None:
    """What the job's wheel or pinion works with at the nominal distance; None for ratchets."""
    wheel, pinion = job.wheel, job.pinion
    if wheel is not None and wheel.mate is not None and wheel.form != "ratchet":
        tooth = pinion_tooth(wheel.form, wheel.mate, wheel.module, wheel.teeth,
                             pressure_angle=wheel.pressure_angle)
    elif pinion is not None:
        tooth = wheel_tooth(pinion.form, pinion.mate, pinion.module, pinion.leaves,
                            pressure_angle=pinion.pressure_angle)
    else:
        return None
    distance = (job_tooth(job).sizes.pitch_diameter + tooth.sizes.pitch_diameter) / 2
    return Mate(tooth, distance)
