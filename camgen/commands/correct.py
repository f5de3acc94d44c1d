"""``camgen correct``: from measured sizes to the word of the job that makes them right, and why.

Sizes are in the unit of the job.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from statistics import fmean

import click

from camgen.commands.terminal.figures import ABOVE_ZERO, NamedPath
from camgen.commands.terminal.screen import in_spoken, speak_as_job, tell, wrong_use
from camgen.faults import Fault, Refused
from camgen.job.checks.whole_job import machine_for
from camgen.job.file import workshop_of
from camgen.job.models import Job
from camgen.job.reading import read_job
from camgen.make.runs.corrected import MeasuredSizes, corrected
from camgen.make.runs.recording import Form
from camgen.make.runs.word_to_write import Answer, in_file_units, job_with
from camgen.messages import Message
from camgen.plainfile import plain_text
from camgen.steps import step_words
from camgen.writing import write_whole
from camgen.yamlfile import load_yaml, validate
from camgen.yamlfile.length_units import MM_PER_INCH

__all__ = ["correct"]


@click.command()
@click.argument("job", type=NamedPath(path_type=Path))
@click.option("--measured", multiple=True, metavar="NAME=V[,NAME=V]",
              help="Sizes as measured, in the units of the job: root, thickness, over-pins, "
                   "across-teeth, tip, blank; of odd counts over-tips, root-to-tip; at "
                   "the trial pause trial-depth, trial-thickness.")
@click.option("--form", type=NamedPath(path_type=Path, dir_okay=False), metavar="FILE",
              help="A filled form of camgen library record; its sizes are in mm.")
@click.option("--height", type=ABOVE_ZERO, metavar="V",
              help="Where the caliper's stop stood, if not as the sheet has it.")
@click.option("--pins", type=ABOVE_ZERO, metavar="V",
              help="Diameter of the pins, if not as the sheet has it.")
@click.option("--setup", metavar="NAME", help="The setup, where several cut teeth.")
@click.option("--step", type=click.IntRange(min=1), metavar="N",
              help="The step, where not the last that cuts teeth.")
@click.option("--post", metavar="NAME", help="Another machine file than the job's own.")
@click.option("--take", is_flag=True, help="Write the word into the job file.")
@click.option("--json", "as_json", is_flag=True, help="For a program to read.")
def correct(job: Path, measured: tuple[str, ...], form: Path | None, height: float | None,
            pins: float | None, setup: str | None, step: int | None, post: str | None,
            take: bool, as_json: bool) -> None:
    """Say which word of a JOB makes measured sizes right, or what else is the cause.

    The root tells the depth; a tooth's thickness, pins or jaws over teeth tell the cutter. Nothing
    is written unless --take is given.

    Example: camgen correct jobs/third-wheel.yaml --measured root=10.072,thickness=0.221
    """
    if not measured and form is None:
        raise wrong_use(Message("nothing measured is given: --measured root=10.05, or --form FILE"))
    job_file = read_job(job, step_words())
    machine = machine_for(job_file, post, workshop_of(job))
    meant = job_file.job
    speak_as_job(meant.language)
    options = in_spoken(Message("the options"))
    scale = MM_PER_INCH if meant.units == "inch" else 1.0
    sizes = {name: scale * value for name, value in _sizes(measured).items()}
    if form is not None:
        sizes = {**_of_form(form), **sizes}
    if not sizes:
        raise Refused(Fault(Message("no size is filled in in this form"),
                            Message("write what was measured beneath sizes")))
    given = MeasuredSizes(sizes, height=scale * height if height else None,
                     pins=scale * pins if pins else None, setup=setup, step=step,
                     file=str(form) if form is not None else options)
    _setup_known(meant, given)
    answer = corrected(job_file, machine, given)
    if take and answer.words:
        write_whole(job, job_with(job_file, answer.words))
    if as_json:
        click.echo(json.dumps(_for_a_program(meant, answer, take), indent=1))
        return
    for line in answer.told:
        tell(Message("{sentence}.", sentence=line))
    if take:
        tell(Message("{file} says so now; make it again.", file=job) if answer.words else
             Message("nothing was written: there is no word to write."))


def _setup_known(job: Job, given: MeasuredSizes) -> None:
    names = [one.name for one in job.setups]
    if given.setup is not None and given.setup not in names:
        raise Refused(Fault(Message("there is no setup '{name}'", name=given.setup),
                            Message("it has {names}", names=tuple(names))))


def _sizes(measured: tuple[str, ...]) -> dict[str, float]:
    """Sizes by name. Raises Refused with all that is not NAME=VALUE, or a name given twice."""
    faults: list[Fault] = []
    sizes: dict[str, float] = {}
    for text in (part.strip() for one in measured for part in one.split(",") if part.strip()):
        name, sign, value = (part.strip() for part in text.partition("="))
        try:
            number = float(value)
        except ValueError:
            number = math.nan
        if not sign or not name or not (math.isfinite(number) and number > 0):
            faults.append(Fault(
                Message("'{text}' is no size as measured", text=text),
                Message("write NAME=VALUE, a number above 0 with a point, commas between: "
                        "root=10.05,thickness=0.22")))
        elif name in sizes:
            faults.append(Fault(Message("{name} is given twice", name=name),
                                Message("leave one of them, or their mean")))
        else:
            sizes[name] = number
    if faults:
        raise Refused(faults)
    return sizes


def _of_form(file: Path) -> Mapping[str, float]:
    """The means of the sizes in a filled form, mm; its date may be left out here."""
    document = load_yaml(plain_text(file), str(file))
    if isinstance(document.data, dict) and not document.data.get("when"):
        document = replace(document, data={**document.data, "when": "2000-01-01"})
    form = validate(Form, document)
    return {name: fmean(values) for name, values in form.sizes.items() if values}


def _for_a_program(job: Job, answer: Answer, take: bool) -> dict[str, object]:
    return {
        "told": list(answer.told),
        "words": [{"setup": one.setup, "step": one.number + 1, "kind": one.kind, "word": one.word,
                   "now": in_file_units(job, one.now), "write": in_file_units(job, one.value),
                   "far": one.far} for one in answer.words],
        "written": bool(take and answer.words),
    }
