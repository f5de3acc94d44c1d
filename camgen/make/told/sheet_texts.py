"""What the setup sheet says of a proved job: plain values taken from plan, motion and proofs."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Final, Literal

from camgen import __version__
from camgen.cutting.explain import explain, figure
from camgen.cutting.metal import MetalAccount as MetalWeighed
from camgen.cutting.planner import CutPlan
from camgen.cutting.time.spent import TimeAccount
from camgen.job.checks.fixture import height_room
from camgen.job.models import FlatSetup, Job, Stock
from camgen.job.order.faces import made_later
from camgen.job.part import blank_diameter
from camgen.layout import FlatLayout, FlatWork, HeadWork, RoundLayout, RoundWork, ToothLayout, Work
from camgen.library.standing import Standing, last_good
from camgen.make.chain import Proved, ProvedSetup
from camgen.make.timing import step_names
from camgen.make.told.corner_table import corners_of
from camgen.make.told.feed_told import feeds_told
from camgen.make.told.hole_table import holes_of
from camgen.make.told.on_head.head_told import centring_of, from_axis, stand_of, touched_at
from camgen.make.told.on_head.round_told import (
    centring_round,
    round_measures,
    stand_round,
    stock_round,
)
from camgen.make.told.on_head.stack_told import dividing_told, stack_told
from camgen.make.told.on_head.starting_again import starting_again
from camgen.make.told.on_head.tooth_measures import tooth_measures, trials_cut
from camgen.make.told.pace_told import pace_told
from camgen.make.told.report import cautions_of, shares_of
from camgen.make.told.turning import turning_of
from camgen.messages import Message
from camgen.part.features import Hole
from camgen.part.plates.plate import Plate
from camgen.proof.motion.operator.comments import bring
from camgen.sheet.data import (
    CornerLine,
    CutterLine,
    DividingLine,
    HoleTable,
    Instructions,
    Measure,
    MetalRows,
    ProgramLine,
    SetupSheet,
    SheetData,
    StationLine,
    StepLine,
    TurningOver,
)
from camgen.shop.cutters import Cutter, profile_of, reach_of, record_of
from camgen.shop.machine import DrivenHead, Machine
from camgen.values import dataclass
from camgen.words import Words

if TYPE_CHECKING:
    from camgen.preview.setup import Picture

__all__ = ["job_cautions", "measures_of", "sheet_of"]

def sheet_of(
    proved: Proved,
    times: Mapping[str, TimeAccount],
    pictures: Mapping[str, Picture],
    say: Words,
    account: MetalWeighed | None,
) -> SheetData:
    """The sheet's values.

    ``pictures`` are by setup name, ``say`` the words of its language, ``account`` the job's metal.
    """
    job = proved.job_file.job
    return SheetData(
        job=job.job,
        note=job.note,
        material=say("materials", proved.material.title),
        quantity=job.quantity,
        machine=proved.machine.name,
        machine_says=proved.machine.describes,
        version=f"{__version__}, {proved.prints.job}",
        setups=tuple(
            _setup(proved, setup, times[setup.name], pictures.get(setup.name), say)
            for setup in proved.setups
        ),
        cautions=job_cautions(proved),
        trusted=tuple(Message("{sentence}.", sentence=one.told) for one in proved.trusted),
        metal=MetalRows(
            alloy=say("materials", proved.material.title),
            density=proved.material.density.value,
            stock=account.stock,
            parts=account.parts,
            swarf=account.recovered,
            fineness=account.fineness,
            lost=account.lost,
            price=job.metal.price,
        ) if account is not None else None,
        proofs=(sum(proof.holds for proof in proved.proofs), len(proved.proofs)),
        standing=_standing(proved.standing, say),
        last_run=_last_run(proved, say),
    )


def _standing(standing: Standing, say: Words) -> str:
    return say.say(standing.told)


def _last_run(proved: Proved, say: Words) -> tuple[str, ...]:
    """What was measured and corrected in the last good run, a line each."""
    good = last_good(proved.record.runs) if proved.record is not None else None
    if good is None:
        return ()
    sizes = {one.name: say("measures", one.what, at=f"{one.at or 0.0:.3f}")
             for setup in proved.setups
             for one in measures_of(proved.job_file.job, setup.planned.work, say)}
    lines = [Message("{when}: {good} good of {made}", when=good.when, made=good.pieces.made,
                     good=good.pieces.made - good.pieces.scrapped)]
    lines += [Message("{size}: {least:g} to {most:g} {unit}, should be {nominal:g}",
                      size=sizes.get(size.size, size.size), least=min(size.measured),
                      most=max(size.measured), unit=size.unit, nominal=size.nominal)
              for size in good.sizes]
    lines += [Message("corrected {setup}: {what} by {by:g} {unit}", setup=fix.setup,
                      what=_word(fix.what), by=fix.by, unit=fix.unit) if fix.setup
              else Message("corrected {what} by {by:g} {unit}", what=_word(fix.what), by=fix.by,
                           unit=fix.unit) for fix in good.corrections]
    lines += [Message("cutter {cutter}: {verdict}", cutter=used.name, verdict=_word(used.verdict))
              for used in good.cutters if used.verdict]
    if proved.record is not None:
        from camgen.library.over_runs.drifting import drift_told
        from camgen.library.over_runs.statistics import size_histories

        lines += [told for told in map(drift_told, size_histories(proved.record)) if told]
    said = tuple(map(say.say, lines))
    return (*said, good.remarks) if good.remarks else said


# Words that a record may hold, beside those that are its writer's own.
_WORDS: Final = (Message("depth"), Message("fine"), Message("chattered"), Message("broke"),
                 Message("worn"))


def _word(word: str) -> str:
    return next((one for one in _WORDS if one == word), word)


def job_cautions(proved: Proved) -> tuple[str, ...]:
    """Cautions of the material, the cuts, the machine: words of the catalogue or sentences."""
    found = [*cautions_of(proved), "swarf"]
    if proved.on_head:
        found.append("disc")
        if not isinstance(proved.machine.dividing, DrivenHead):
            found.append("hand-index")
    holdings = " ".join(setup.planned.setup.holding.by for setup in proved.setups
                        if setup.planned.setup.holding is not None).lower()
    if "shellac" in holdings or "wax" in holdings:
        found.append("shellac")
    if proved.machine.coolant.flood is not None:
        found.append("coolant")
    return tuple(found)


def _setup(
    proved: Proved, setup: ProvedSetup, time: TimeAccount, picture: Picture | None, say: Words
) -> SetupSheet:
    job, planned, machine = proved.job_file.job, setup.planned, proved.machine
    layout, fitted = planned.layout, setup.evidence.cutters
    match planned.work:
        case FlatWork() as flat:
            own = _of_flat(job, setup, flat, say)
        case HeadWork() as on_head:
            own = _of_head(job, setup, on_head, machine, say)
        case RoundWork(layout=held):
            own = _of_round(held, machine, say)
    by_step = time.by_step()
    shares = shares_of(setup, time.seconds)
    sections = tuple(zip(planned.moves.sections, planned.cuts, strict=True))
    feeds = feeds_told(setup.evidence, sections)
    cutters: dict[int, CutterLine] = {}
    for section, _ in sections:
        if (cutter := fitted.get(section.cutter_number)) is None:
            continue  # the head is turned with no cutter fitted
        cutters.setdefault(section.cutter_number, CutterLine(
            section.cutter_number, section.cutter, _cutter_words(cutter, say), section.rpm,
            None if own.kind == "teeth" else reach_of(cutter), section.clockwise,
            tuple(str(one) for one in profile_of(cutter).taken),
            machine.change.t_word(section.cutter_number) if machine.change.with_offset else ""))
    return SetupSheet(
        name=setup.name,
        kind=own.kind,
        programs=tuple(
            ProgramLine(one.file, share, hashlib.sha256(one.text).hexdigest())
            for one, share in zip(setup.programs, shares, strict=True)
        ),
        stock=own.stock,
        holding=say.say(planned.setup.holding.by) if planned.setup.holding is not None else "",
        zero_axes=own.zero_axes,
        zero=own.zero,
        size=own.size,
        safe_height=layout.safe_height,
        clearance=layout.clearance,
        cutters=tuple(cutters.values()),
        steps=tuple(
            StepLine(section.step + 1, say.say(section.title), section.cutter,
                     by_step.get(name, 0.0), section.rpm, feed,
                     tuple(say.say(sentence) for sentence in (
                         *_belt(machine, section.rpm), *_why(cut, feed))))
            for (section, cut), feed, name in zip(
                sections, feeds, step_names(planned.moves), strict=True)
        ),
        measures=tuple(one for one in measures_of(job, planned.work, say, setup)
                       if one.what != "bore" or job.part.bore),
        holes=own.holes, corners=own.corners,
        stand=own.stand,
        centring=own.centring,
        again=own.again,
        dividing=own.dividing,
        turning=own.turning,
        touched_at=own.touched_at,
        from_axis=own.from_axis,
        stations=_stations(layout, machine),
        station_room=height_room(planned.setup),
        station_touch=machine.offsets.length == "touch-off",
        remarks=tuple(say.say(one) for one in (
            *_counted_in(machine), *planned.remarks, *pace_told(setup.evidence))),
        picture=picture.content if picture is not None else None,
        picture_says=picture.says if picture is not None else "",
    )


def _counted_in(machine: Machine) -> Iterator[Message]:
    """What programs count in but millimetres, who starts the spindle, where the cutter is brought.
    """
    if machine.program.units == "inch":
        yield Message("the programs count in inches; job and sheet are in millimetres")
    if not machine.spindle_words.by_program:
        yield Message("the spindle is started and stopped by hand, at stops of the program")
    place = machine.offsets.stands_at
    if place is not None:
        yield Message("at the first stop of a program: {bring}; in millimetres {place}",
                      bring=bring(machine), place=" ".join(
                          f"{name} {mm:g}" for name, mm in zip("XYZ", place, strict=True)))


def _belt(machine: Machine, rpm: float) -> Iterator[Message]:
    """Which belt or gear a speed has, where the spindle has steps."""
    step = machine.spindle.step_at(rpm)
    if step is None:
        return
    name = machine.spindle.called(step)
    if step.word is not None or machine.spindle_words.s_says == "step":
        yield Message("Spindle at {step} for {speed:.0f} rev/min, set by {word}.", step=name,
                      speed=rpm, word=step.word or f"S{step.code}")
    else:
        yield Message("Spindle at {step} for {speed:.0f} rev/min, set by hand at a stop.",
                      step=name, speed=rpm)


def _why(cut: CutPlan, feed: float) -> tuple[Message, ...]:
    """The planner's words, less the loads, for which the report has more room; and why the
    ``feed`` in the program is another."""
    lines = [*explain(cut, loads=False)]
    if feed != cut.feed:
        lines.append(Message(
            "in the program {feed}: all of it is arcs, where the middle of the cutter goes slower "
            "than its edge cuts, or as fast as the axes follow, or else too short for the "
            "control's pace", feed=figure(feed, "mm/min")))
    return tuple(Message("{sentence}.", sentence=line) for line in lines)


def _cutter_words(cutter: Cutter, say: Words) -> str:
    # What nobody said must not look as if somebody had: most old cutters are of high-speed steel.
    form = ("touching" if record_of(cutter).touches else
            "with-teeth" if record_of(cutter).on_arbor else "with-flutes")
    material = (cutter.material if "material" in cutter.model_fields_set
                else f"taken-as-{cutter.material}")
    return say("cutters", form, kind=say.say(record_of(cutter).name),
               diameter=f"{cutter.diameter:g}", count=cutter.flutes,
               material=say("cutter-materials", material))


@dataclass(frozen=True)
class _Own:
    """What the sheet says of one kind of work in its own way; fields as those of the sheet."""

    kind: Literal["flat", "teeth", "round"]
    stock: str
    zero_axes: tuple[str, ...]
    zero: tuple[str, ...]
    size: tuple[float, float]
    holes: HoleTable = HoleTable()
    corners: tuple[CornerLine, ...] = ()
    turning: TurningOver | None = None
    stand: tuple[str, ...] = ()
    centring: Instructions | None = None
    again: Instructions | None = None
    dividing: DividingLine | None = None
    touched_at: str = ""
    from_axis: str = ""


def _of_flat(job: Job, setup: ProvedSetup, work: FlatWork, say: Words) -> _Own:
    flat, layout = work.setup, work.layout
    x0, y0, x1, y1 = layout.stock.bounds
    on = "in-bore" if layout.indicated else "spigot" if len(layout.dowels) == 1 else "dowel"
    zero = (on, on) if layout.lies_by else (flat.zero_x, flat.zero.y)
    return _Own(
        "flat", _flat_stock(flat.stock, layout, say), ("X", "Y", "Z"), (*zero, flat.zero.z),
        (x1 - x0, y1 - y0), holes=holes_of(job, setup.planned.setup, layout, say),
        corners=corners_of(setup.planned.setup, layout, say), turning=turning_of(job, flat, layout))


def _of_head(job: Job, setup: ProvedSetup, work: HeadWork, machine: Machine, say: Words) -> _Own:
    layout, arrangement = work.layout, work.layout.arrangement
    again = starting_again(setup, layout, machine, say)
    zero = ("face", layout.zero, "centre-height")
    if again is not None:
        zero = ("face", "touch-again", "centre-again")
    return _Own(
        "teeth", stack_told(work.setup.dividing, layout, say),
        (arrangement.along[1], arrangement.infeed[1], arrangement.across),
        zero, (2 * layout.blank_radius, layout.backing_to),
        stand=stand_of(setup, layout, machine, say),
        centring=None if again else centring_of(layout, bool(job.part.bore), say),
        again=again, dividing=dividing_told(layout, machine.dividing, say),
        touched_at=touched_at(setup, layout), from_axis=from_axis(setup, layout))


def _of_round(layout: RoundLayout, machine: Machine, say: Words) -> _Own:
    arrangement = layout.arrangement
    axis = arrangement.infeed[1]
    return _Own(
        "round", stock_round(layout, say), (arrangement.along[1], axis, arrangement.across),
        ("free-end", f"work-{layout.zero}", "work-middle"),
        (2 * layout.thickest, layout.stands_out), stand=stand_round(layout, machine, say),
        centring=centring_round(layout, say), touched_at=f"{axis}{layout.touched_at:.3f}")


def _flat_stock(stock: Stock, layout: FlatLayout, say: Words) -> str:
    x0, y0, x1, y1 = layout.stock.bounds
    if stock.left_by is not None:
        # Round stock is a polygon here: to a tenth it is as long as it is wide.
        return say("stock", "left", setup=stock.left_by, length=f"{round(x1 - x0, 1):g}",
                   width=f"{round(y1 - y0, 1):g}", height=f"{layout.top - layout.bottom:g}")
    shape = next((word for word in ("disc", "bar") if getattr(stock, word) is not None),
                 "sheet")
    count = layout.pieces
    said = say("stock", shape, length=f"{x1 - x0:g}", width=f"{y1 - y0:g}",
               height=f"{layout.top - layout.bottom:g}",
               pieces=say("stock", "piece" if count == 1 else "pieces", count=count))
    return said if layout.stations == 1 else say(
        "stock", "stations", stock=said, stations=layout.stations)


def _stations(
    layout: FlatLayout | ToothLayout | RoundLayout, machine: Machine
) -> tuple[StationLine, ...]:
    """The stations of a fixture; none where there is only one."""
    if layout.stations == 1:
        return ()
    at = layout.station_at or (None,) * layout.stations
    return tuple(StationLine(word, where)
                 for word, where in zip(machine.offsets.stations, at, strict=False))


def _made_by(setup: FlatSetup, hole: Hole) -> bool:
    """Whether a setup's steps name a hole as one to bring to size."""
    return any(made.holes.names is not None and made.holes.means(hole.name, hole.group)
               for step in setup.steps for made in step.declares().holes)


def measures_of(
    job: Job, work: Work, say: Words, setup: ProvedSetup | None = None
) -> tuple[Measure, ...]:
    """What to measure in a setup, in the order of measuring; where it is given, as far as its
    program cuts."""
    match work:
        case HeadWork():
            return tooth_measures(job, work, say,
                                  trials=setup is None or trials_cut(setup, work))
        case RoundWork(layout=held):
            return round_measures(held, say)
        case FlatWork(layout=layout):
            if not isinstance(job.part, Plate):
                return _of_blank(job, work.setup, say)
            holes = tuple(
                Measure("bore", hole.name, hole.diameter, correct=say("corrections", "bore"))
                for hole in (*layout.part.holes, *layout.part.blind)
                # On its second side the holes right through were measured before.
                if hole.depth is not None or not layout.dowels or _made_by(work.setup, hole)
            )
            # Where another setup takes it down further, the step that faces it says what to
            # measure.
            if layout.spare > 0:
                return holes
            return (*holes, Measure("thickness", "thickness", job.part.thickness))


# The keys of what is measured of a crossing, by the name of the size.
_OF_CROSSING: Final = {"hub": "hub-diameter", "arm": "arm-width", "opening": "opening-diameter"}


def _of_blank(job: Job, setup: FlatSetup, say: Words) -> tuple[Measure, ...]:
    """What to measure of a toothed part before it has its teeth, in a flat setup of it.

    What a later setup makes of its other face is not there to be measured.
    """
    bore, crossing = job.part.bore, job.part.crossed
    flat = [Measure("outside-diameter", "outside", blank_diameter(job, job.part.tooth()))]
    if bore:
        flat.insert(0, Measure("bore", "bore", bore, correct=say("corrections", "bore")))
    if crossing is not None:
        flat += [Measure(_OF_CROSSING[name], name, size) for name, size in crossing.sizes.items()]
    later = made_later(job, setup)
    flat += [Measure(name, name, size) for name, size in job.part.raised_sizes.items()
             if not later or setup.face == ("under" if name.endswith("-under") else "upper")]
    if job.part.raised:
        flat.append(Measure("over-all", "over-all", job.part.height))
    return (*flat, *([] if later else [Measure("thickness", "thickness", job.part.thickness)]))
