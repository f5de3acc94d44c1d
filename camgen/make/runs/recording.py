"""From what was noted at the machine to a run for the record, and all a job needs to move house."""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Iterable, Mapping
from datetime import date, timedelta
from pathlib import Path

from pydantic import Field

from camgen.cutting.planner import CutPlan
from camgen.faults import Fault, Place, Refused
from camgen.library.pack import MOST_PACKED
from camgen.library.record import (
    CutterUsed,
    Pieces,
    RecordedCorrection,
    Run,
    SizeMeasured,
    kept_path,
    read_record,
    record_path,
)
from camgen.make.chain import Proved
from camgen.make.runs.proving import as_run, program_runs, program_sum
from camgen.make.runs.size_limits import all_limits
from camgen.make.timing import step_names
from camgen.make.told.report import runs_of, times_of
from camgen.make.told.sheet_texts import measures_of
from camgen.messages import NOTHING, Message
from camgen.plainfile import plain_bytes
from camgen.shop.machines import machine_files
from camgen.shop.model import FileModel
from camgen.words import words
from camgen.yamlfile import load_yaml, validate

__all__ = ["Form", "blank_form", "cutters_of", "filled_run", "kept_programs", "luggage",
           "read_form", "sizes_to_measure"]

# A size that differs by a larger share is asked for again: common practice, no source.
FAR_OFF = 0.2
# And one that differs by more than this, mm, where the job says no limits: sizes of teeth, common
# practice, no source; of others up to each diameter or length, ISO 2768-1, class f, from memory.
FAR_OFF_TEETH = 0.05
FAR_OFF_FINE = ((6.0, 0.05), (30.0, 0.1), (120.0, 0.15), (math.inf, 0.2))


class Form(FileModel):
    """What a person fills in after a run; sizes are those of the sheet, by name."""

    when: str = Field(pattern=r"^\d{4}-\d{2}-\d{2}$", description="date, year-month-day")
    made: int = Field(ge=0, description="pieces made, good and bad")
    scrapped: int = Field(0, ge=0, description="of these, scrapped")
    material_lot: str = ""
    sizes: dict[str, tuple[float, ...]] = Field(default_factory=dict)
    limits: dict[str, tuple[float, float]] = Field(
        default_factory=dict, description="least and most, where not as in the job"
    )
    cutters: tuple[CutterUsed, ...] = ()
    corrections: tuple[RecordedCorrection, ...] = ()
    remarks: str = ""
    photos: tuple[str, ...] = ()


def sizes_to_measure(proved: Proved) -> dict[str, tuple[float, str]]:
    """The sizes the sheet asks for: name to nominal and unit, each once, in the sheet's order."""
    say = words("en")
    sizes: dict[str, tuple[float, str]] = {}
    for setup in proved.setups:
        for measure in measures_of(proved.job_file.job, setup.planned.work, say):
            if measure.kept:
                sizes.setdefault(measure.name, (measure.nominal, measure.unit))
    return sizes


def blank_form(proved: Proved, say: Callable[[str], str] = str) -> str:
    """A form to fill in by hand: YAML with the sizes and cutters of the job.

    ``say`` says what is not to be typed.
    """
    def noted(text: str, remark: Message) -> str:
        return f"{text:<19} # {say(remark)}"

    fill_in = Message("{job}: fill in, then: camgen library record JOB --form THIS_FILE",
                      job=proved.job_file.job.job)
    lines = [
        f"# {say(fill_in)}",
        noted("when: ''", Message("date, as 2026-03-01")),
        f"made: {proved.job_file.job.quantity}",
        "scrapped: 0",
        "material-lot: ''",
        noted("sizes:", Message("one value a piece, mm; leave out what was not measured")),
    ]
    limits = all_limits(proved.job_file.job)
    for name, (nominal, unit) in sizes_to_measure(proved).items():
        meant = Message("should be {nominal:.3f} {unit}", nominal=nominal, unit=unit)
        if name in limits:
            least, most = limits[name]
            meant = Message("{text}, {least:g} to {most:g}", text=meant, least=least, most=most)
        lines.append(f"  {name}: []    # {say(meant)}")
    lines.append(noted("limits: {}", Message(
        "of a size, where not as in the job: {example}", example="{bore: [0.79, 0.81]}")))
    lines.append(noted("cutters:", Message("verdict: fine, chattered, broke or worn")))
    lines += [f"  - {{name: {name}, verdict: ''}}" for name in cutters_of(proved)]
    lines += [noted("corrections: []", Message(
                  "such as {example}", example="- {setup: teeth, what: depth, by: 0.01}")),
              "remarks: ''", noted("photos: []", Message("paths from the job's folder")), ""]
    return "\n".join(lines)


def read_form(text: str, file: str) -> Form:
    """A filled form. Raises Refused with every fault, each with its line."""
    return validate(Form, load_yaml(text, file))


def cutters_of(proved: Proved) -> list[str]:
    """Names of the cutters a job uses, in order of use."""
    return list(dict.fromkeys(
        section.cutter for setup in proved.setups for section in setup.planned.moves.sections
    ))


def filled_run(
    proved: Proved, form: Form, file: str = "", *, today: date | None = None, sure: bool = False
) -> Run:
    """The run that a form describes, with what the job itself knows of it.

    A run after ``today`` is refused, and unless ``sure`` a size outside its limits or, where none
    are said, far off: it is mostly a slip of the pen, and would make the job count as proven.

    Spaces and minutes of each cutter are those of the programs for the pieces made; a value in the
    form comes first. Raises Refused for sizes and cutters the job has not.
    """
    sizes = sizes_to_measure(proved)
    cutters = cutters_of(proved)
    faults = [
        Fault(Message("no size of this job is called '{name}'", name=name), _it_has(sizes),
              Place(file, path=f"sizes.{name}"))
        for name in dict.fromkeys((*form.sizes, *form.limits)) if name not in sizes
    ]
    limits = {**all_limits(proved.job_file.job), **form.limits}
    faults += [
        Fault(Message("the least {name}, {low:g}, is more than the most, {high:g}", name=name,
                      low=low, high=high), Message("the least comes first"),
              Place(file, path=f"limits.{name}"))
        for name, (low, high) in form.limits.items() if low > high
    ]
    faults += [
        Fault(Message("no cutter of this job is called '{name}'", name=used.name),
              _it_has(cutters), Place(file, path="cutters"))
        for used in form.cutters if used.name not in cutters
    ]
    if today is not None and form.when > (today + timedelta(days=1)).isoformat():
        faults.append(Fault(Message("the run of {when} is still to come", when=form.when),
                            Message("today is {today}", today=today), Place(file, path="when")))
    of_teeth = _sizes_of_teeth(proved)
    faults += [
        Fault(_measured(name, value, sizes[name], limits.get(name)),
              Message("write it again, or add --sure where it came out so"),
              Place(file, path=f"sizes.{name}"))
        for name, values in form.sizes.items() if name in sizes and not sure
        for value in values
        if _far_off(value, sizes[name][0], limits.get(name), tooth=name in of_teeth)
    ]
    if form.scrapped > form.made:
        faults.append(Fault(
            Message("{scrapped} scrapped of {made} made", scrapped=form.scrapped, made=form.made),
            Message("made counts good and bad"), Place(file, path="scrapped")))
    if faults:
        raise Refused(faults)
    return Run(
        when=form.when,
        post=proved.machine.name,
        material_lot=form.material_lot,
        pieces=Pieces(made=form.made, scrapped=form.scrapped),
        cutters=_used(proved, form.made, {used.name: used for used in form.cutters}),
        sizes=tuple(
            SizeMeasured(size=name, unit=sizes[name][1], nominal=round(sizes[name][0], 6),
                         lower=limits[name][0] if name in limits else None,
                         upper=limits[name][1] if name in limits else None, measured=values)
            for name, values in form.sizes.items() if values
        ),
        corrections=form.corrections,
        remarks=form.remarks,
        photos=form.photos,
        prints=proved.prints,
        programs=program_runs(proved, record_path(proved.job_file.path)),
        as_run=as_run(proved),
    )


def _it_has(names: Iterable[str]) -> Message:
    return Message("it has {names}", names=tuple(names))


def _measured(
    name: str, value: float, meant: tuple[float, str], limits: tuple[float, float] | None
) -> Message:
    """A size as measured, that is far off what it should be, mm."""
    text = Message("{name} measured {value:g}, should be {nominal:.4g} {unit}", name=name,
                   value=value, nominal=meant[0], unit=meant[1])
    return text if limits is None else Message("{text}, {least:g} to {most:g}", text=text,
                                               least=limits[0], most=limits[1])


def _sizes_of_teeth(proved: Proved) -> frozenset[str]:
    """Names of the sizes that cutting teeth makes."""
    job = proved.job_file.job
    if not job.on_head:
        return frozenset()
    return frozenset(job.part.measured(job.material, flat=False, on_head=True))


def _far_off(
    value: float, nominal: float, limits: tuple[float, float] | None, *, tooth: bool
) -> bool:
    """Whether a size as measured is outside its limits or, with none, far from ``nominal``, mm."""
    if limits is not None:
        return not limits[0] - 1e-9 <= value <= limits[1] + 1e-9
    fine = next(off for upto, off in FAR_OFF_FINE if abs(nominal) <= upto)
    most = min(FAR_OFF * abs(nominal), FAR_OFF_TEETH if tooth else fine)
    return abs(value - nominal) > most + 1e-9


def kept_programs(proved: Proved) -> dict[Path, bytes]:
    """The job's programs, by the path under which they are kept beside its record."""
    record = record_path(proved.job_file.path)
    return {kept_path(record, one.file, program_sum(one.text)): one.text
            for setup in proved.setups for one in setup.programs}


def _used(proved: Proved, made: int, told: Mapping[str, CutterUsed]) -> tuple[CutterUsed, ...]:
    """Every cutter of the job with its work for so many pieces, the programs run whole."""
    times = times_of(proved)
    counts = {one.setup: len(one.layout.spaces) for one in proved.on_head}
    minutes: dict[str, float] = {}
    spaces: dict[str, int] = {}
    hardest: dict[str, tuple[float, CutPlan]] = {}
    for setup in proved.setups:
        cutting: dict[str, float] = {}
        for part in times[setup.name].parts:
            if part.kind == "cutting":
                cutting[part.step] = cutting.get(part.step, 0.0) + part.seconds
        moves, runs = setup.planned.moves, runs_of(setup, made)
        for step, section, cut in zip(step_names(moves), moves.sections, setup.planned.cuts,
                                      strict=True):
            name = section.cutter
            minutes[name] = minutes.get(name, 0.0) + runs * cutting.get(step, 0.0) / 60
            # What is said of a cutter is said of the cut that loads it most.
            if name not in hardest or cut.force > hardest[name][1].force:
                hardest[name] = (section.rpm, cut)
            if setup.name in counts:
                spaces[name] = spaces.get(name, 0) + runs * counts[setup.name]
    used = []
    for name, spent in minutes.items():
        cutter = proved.job_file.job.cutters[name]
        rpm, cut = hardest[name]
        known = {
            "name": name, "what": f"{cutter.kind} {cutter.diameter:g}",
            "minutes": round(spent, 2), "spaces": spaces.get(name, 0),
            "speed": _noted(rpm), "feed": _noted(cut.feed),
            "depth": _noted(cut.depth), "width": _noted(cut.width),
        }
        if name in told:
            known.update(told[name].model_dump(exclude_defaults=True))
        used.append(CutterUsed(**known))
    return tuple(used)


def _noted(value: float) -> float:
    """A figure to six places that count, so that a job that keeps to it is made the same again."""
    return float(f"{value:.6g}")


def luggage(proved: Proved, made: Mapping[str, bytes]) -> dict[str, bytes]:
    """Everything a job needs elsewhere, by path below the workshop folder.

    The job file, those it is based on, its record with photos and the programs as run, the machine
    file, the workshop's own tables, and the programs as made. Raises Refused when a file named by
    the record is missing.
    """
    root = proved.workshop.resolve()
    job = proved.job_file.path.resolve()
    files: dict[str, bytes] = {_below(root, job): plain_bytes(job)}
    record = record_path(job)
    if record.exists():
        files[_below(root, record)] = plain_bytes(record)
    faults = []
    for what, path in (*_told_of(record),
                       *((NOTHING, source) for source in proved.job_file.sources)):
        try:
            files[_below(root, path.resolve())] = plain_bytes(path, most=MOST_PACKED)
        except (Refused, OSError, ValueError):
            faults.append(Fault(Message("{what} cannot be packed: not found below {root}",
                                        what=what or path, root=root),
                                Message("put it back, or below the workshop folder"),
                                Place(str(record if what else job))))
    if faults:
        raise Refused(faults)
    own = root / "materials.yaml"
    if os.path.lexists(own):
        files["materials.yaml"] = plain_bytes(own)
    files[f"postprocessors/{proved.machine.name}.yaml"] = _machine_file(proved)
    files.update({f"programs/{name}": content for name, content in made.items()})
    return files


def _told_of(record: Path) -> Iterable[tuple[Message, Path]]:
    """Files that a record names: what each is called in faults, and its path."""
    known = read_record(record)
    for run in known.runs if known is not None else ():
        yield from ((Message("photo {file}", file=photo), record.parent / photo)
                    for photo in run.photos)
        yield from ((Message("program {file}", file=one.kept), record.parent / one.kept)
                    for one in run.programs if one.kept)


def _below(root: Path, path: Path) -> str:
    return path.relative_to(root).as_posix()


def _machine_file(proved: Proved) -> bytes:
    """The machine file as it stands; one that ships with the program goes along too."""
    post, own = proved.job_file.job.post, proved.machine.name
    if post.endswith((".yaml", ".yml")) or "/" in post:
        raise Refused(Fault(
            Message("the machine file is named by its path, {post}, which leads elsewhere in "
                    "another house", post=post),
            Message("put it in the workshop folder as postprocessors/{own}.yaml, and write "
                    "post: {own}", own=own), Place(str(proved.job_file.path))))
    return plain_bytes(machine_files(proved.workshop)[own])
