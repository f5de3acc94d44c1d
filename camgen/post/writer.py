"""Programs from planned moves, as one machine's control reads them.

A program is a header, a safe start, the sections with their cutter changes, and a safe end. Where
the machine file asks for it, it comes in parts: one for each cutter, or as many as the control's
memory needs; every part starts and ends as safely as a whole program and can be run on its own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import field, replace
from typing import Final

from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.moves import (
    Arc,
    Drill,
    Feed,
    Index,
    Pause,
    Rapid,
    Remark,
    Section,
    SetupMoves,
    Station,
    Touch,
)
from camgen.post.arcs import HALF_DIAGONAL
from camgen.post.changing import change_cutter, set_step_by_hand
from camgen.post.merging import merged
from camgen.post.pen.marks import begin_program, check_numbers, end_program
from camgen.post.pen.pen import Pen
from camgen.post.places import go_to_place, may_go, retract_at_start, retract_fully
from camgen.post.strokes import Stroke, strokes_of
from camgen.post.text import comment_signs
from camgen.shop.machine import HandHead, Machine
from camgen.values import dataclass
from camgen.yamlfile.length_units import MM_PER_INCH

__all__ = ["CAUTIONS", "Program", "safe_start", "write_programs"]

CAUTIONS = (
    Message("FIRST RUN IN AIR WITH A HAND AT FEED HOLD"),
    Message("EYES PROTECTED, GUARDS SHUT, WORK HELD FAST"),
    Message("MACHINE MANUAL AND LOCAL RULES COME FIRST"),
)


# Bytes of the blocks that end a part, with room for its head turned back: a few lines each.
ENDING: Final = 2000


@dataclass(frozen=True, slots=True)
class Program:
    """One program text: the file's name and its bytes, ASCII, line ends as the machine wants."""

    file: str
    text: bytes


@dataclass(frozen=True, slots=True)
class _Sheet:
    """What every part of a setup's program has in common.

    ``stations`` is whether it is done at several, ``farthest`` how far the head is turned, degrees.
    """

    setup: SetupMoves
    machine: Machine
    stem: str
    header: tuple[Message, ...]
    before: int
    spoken: Callable[[str], str] | None
    stations: bool
    farthest: float


@dataclass(slots=True)
class _Parts:
    """Parts written so far, and the pen of the one being written.

    ``meant`` is where the plan left the cutter at the end of the last part, ``angle`` where that
    part left the head, ``turned`` the last turn of the head that was planned, ``station`` the one
    it ended at.
    """

    done: list[list[str]] = field(default_factory=list)
    pen: Pen | None = None
    warm: bool = False
    meant: list[float | None] = field(default_factory=lambda: [None, None, None])
    angle: int = 0
    turned: Index | None = None
    station: int = 1
    subprograms: int = 0


def write_programs(
    setup: SetupMoves, machine: Machine, *, stem: str, header: Sequence[Message] = (),
    before: int = 0,
    spoken: Callable[[str], str] | None = None,
) -> tuple[Program, ...]:
    """The program, or the numbered parts of a program, for one setup.

    ``stem`` is the file name without its ending; ``header`` are lines put first as comments;
    ``before`` is how many programs of the same job come before, so that program numbers go on;
    ``spoken`` says comments and messages in another language than English.
    Raises Refused when the machine cannot do what is asked, naming the machine file's field.
    """
    faults = list(_cannot(setup, machine))
    if faults:
        raise Refused(faults)
    setup = merged(setup, machine)
    every = [move for section in setup.sections for move in section.moves]
    parts = _write_parts(_Sheet(
        setup, machine, stem, tuple(header), before, spoken,
        any(isinstance(move, Station) for move in every),
        max((abs(move.degrees) for move in every if isinstance(move, Index)), default=0.0)))
    line_end = "\n" if machine.blocks.ending == "lf" else "\r\n"
    return tuple(
        Program(
            f"{stem}{f'-{number}' if len(parts) > 1 else ''}.{machine.program.extension}",
            (line_end.join(lines) + line_end).encode("ascii"),
        )
        for number, lines in enumerate(parts, start=1)
    )


def _cannot(setup: SetupMoves, machine: Machine) -> Iterator[Fault]:
    """What this setup asks that the machine file says the machine cannot do."""
    if not setup.sections:
        yield Fault(Message("{setup}: nothing to write", setup=setup.title),
                    Message("give the setup at least one step"))
    for section in setup.sections:
        sense = "clockwise" if section.clockwise else "anticlockwise"
        if section.rpm > 0 and sense not in machine.spindle.senses:
            yield Fault(
                Message("{step}: the spindle must turn clockwise, and this one does not",
                        step=section.title) if section.clockwise else
                Message("{step}: the spindle must turn anticlockwise, and this one does not",
                        step=section.title),
                Message("add the sense to spindle.senses if it does, or use a cutter of the other "
                        "hand"),
            )
        if section.rpm <= 0 and machine.program.feed == "per-turn" and any(
                isinstance(move, Feed | Arc | Drill | Touch) for move in section.moves):
            yield Fault(
                Message("{step}: fed with the spindle still, and feeds are a turn of the spindle's",
                        step=section.title),
                Message("write program.feed: per-minute in the machine file"),
            )
        if section.rpm > 0 and machine.spindle.steps and (
                machine.spindle.step_at(section.rpm) is None):
            yield Fault(
                Message("{step}: {speed:.0f} rev/min is none of the speeds that the spindle has",
                        step=section.title, speed=section.rpm),
                Message("write it among spindle.steps in the machine file, or give the step "
                        "another speed"),
            )
        if section.rpm > machine.spindle.highest * (1.0 + 1e-9):
            yield Fault(
                Message("{step}: {speed:.0f} rev/min is above the spindle's highest, {highest:.0f}",
                        step=section.title, speed=section.rpm, highest=machine.spindle.highest),
                Message("lower the speed, or correct spindle.highest in the machine file"),
            )
    yield from _no_offset(setup, machine)
    arcs = machine.arcs
    place = 10.0**-machine.numbers.decimals
    step = max(place * (MM_PER_INCH if machine.program.units == "inch" else 1.0),
               *(machine.axis(name).increment for name in "XYZ"))
    if arcs.style == "none" and arcs.tolerance < HALF_DIAGONAL * step and any(
        isinstance(move, Arc) for section in setup.sections for move in section.moves
    ):
        yield Fault(
            Message("{setup}: chords within {tolerance:g} mm of their arcs cannot be had in steps "
                    "of {step:g} mm", setup=setup.title, tolerance=arcs.tolerance, step=step),
            Message("give arcs.tolerance more room in the machine file, or numbers.decimals more "
                    "places"),
        )
    if machine.dividing is None and any(
        isinstance(move, Index) for section in setup.sections for move in section.moves
    ):
        yield Fault(
            Message("{setup}: a dividing head must turn, and the machine file has none",
                    setup=setup.title),
            Message("describe it under dividing, or choose another machine file with --post"),
        )
    touches = [move for section in setup.sections for move in section.moves
               if isinstance(move, Touch)]
    stations = max((move.number for section in setup.sections for move in section.moves
                    if isinstance(move, Station)), default=1)
    zeros = machine.offsets.stations
    if stations > 1 and touches and machine.probing and "{station}" not in machine.probing.zero:
        yield Fault(
            Message("{setup}: with several stations the zero of each must be set, and probing.zero "
                    "sets always the same", setup=setup.title),
            Message("write {name} in probing.zero for the number of the offset", name="{station}"))
    for word, spot in (("change.place", machine.change.place), ("retract.park",
                                                                machine.retract.park)):
        if stations > 1 and spot is not None and spot.counted == "work":
            yield Fault(
                Message("{setup}: with several stations a place counted from the work's zero is "
                        "another at each", setup=setup.title),
                Message("write counted: machine under {word} in the machine file", word=word))
    if stations > max(len(zeros), 1):
        yield Fault(
            Message("{setup}: {stations} stations need {stations} zeros, and the machine file has "
                    "{zeros}", setup=setup.title, stations=stations,
                    zeros=" ".join(zeros) or Message("no work offsets")),
            Message("name the control's further ones under offsets.further, or cut several pieces "
                    "of one stock with `repeat`"),
        )


def _no_offset(setup: SetupMoves, machine: Machine) -> Iterator[Fault]:
    """The highest cutter, where its number has more figures than its length offset."""
    highest = max((section.cutter_number for section in setup.sections), default=0)
    if machine.change.with_offset and highest >= 10 ** machine.change.with_offset[1]:
        first, last = machine.change.with_offset
        yield Fault(
            Message("{setup}: cutter {number} has no length offset of {n} figures",
                    setup=setup.title, number=highest, n=last),
            Message("write change.with-offset: [{first}, {last}] in the machine file, if its "
                    "control reads that", first=first, last=len(str(highest))))


def _write_parts(sheet: _Sheet) -> list[list[str]]:
    """The lines of each part."""
    machine = sheet.machine
    largest = machine.program.largest
    each = machine.change.way == "one-program-each"
    parts = _Parts()
    # More than the end of any part takes; only near the limit is it written out to see.
    room = ENDING + 2 * sum(map(len, machine.insert.program_end))
    for stroke in strokes_of(sheet.setup, machine):
        section = stroke.section
        if parts.pen and each and stroke.first and section.cutter_number != parts.pen.cutter:
            _end(sheet, parts)
        if parts.pen is None:
            _begin(sheet, parts, stroke)
            stroke = _begun_anew(stroke, parts)
        if largest is None:
            _write_stroke(sheet, parts, stroke)
            continue
        assert parts.pen is not None
        before, was_warm, turned = parts.pen.copied(), parts.warm, parts.turned
        _write_stroke(sheet, parts, stroke)
        if parts.pen.size + room <= largest or _size_when_ended(sheet, parts) <= largest:
            continue
        if before.cutter:
            # The part is full: end it before this stroke, and begin the next with it.
            parts.pen, parts.warm, parts.turned = before, was_warm, turned
            _end(sheet, parts)
            _begin(sheet, parts, stroke)
            _write_stroke(sheet, parts, _begun_anew(stroke, parts))
        size = _size_when_ended(sheet, parts)
        if size > largest:
            raise Refused(Fault(
                Message("{step}: one stroke of the cutter takes a program of {size} bytes, and the "
                        "control holds {largest}", step=section.title, size=size, largest=largest),
                Message("give program.largest more room") if machine.comments.style == "none" else
                Message("give program.largest more room, or shorten comments and header"),
            ))
    if parts.pen is not None:
        _end(sheet, parts)
    first = machine.subprograms.first + 10 * sheet.before
    check_numbers(machine, sheet.before, len(parts.done), range(first, first + parts.subprograms))
    return parts.done


def _begun_anew(stroke: Stroke, parts: _Parts) -> Stroke:
    """A stroke as the first of a part: the head is turned to it again, where it goes on a space."""
    moves = stroke.moves
    first = next((move for move in moves if not isinstance(move, Rapid | Remark)), None)
    if parts.turned is not None and not isinstance(first, Index) and (first or stroke.body):
        # A head turned by hand stands there already.
        turned = parts.turned
        moves = (replace(turned, setting=turned.stands or turned.setting), *moves)
    return replace(stroke, moves=moves, first=True)


def _begin(sheet: _Sheet, parts: _Parts, stroke: Stroke) -> None:
    """Header and safe start of a part. Nothing moves but what draws the cutter back.

    Whatever was left on before the first block, spindle, coolant or a shift of the zero, is ended.

    ``stroke`` is the part's first: where it goes to another station, the part begins there.
    """
    setup, machine = sheet.setup, sheet.machine
    pen = Pen(machine, setup.retract_axis, setup.retract_to, sheet.spoken)
    # Where the plan left off: the part goes back there before it goes on.
    pen.position.meant = [*parts.meant]
    pen.head.angle = parts.angle
    pen.head.farthest = sheet.farthest
    pen.position.station = parts.station
    pen.position.stations = sheet.stations and bool(machine.offsets.stations)
    first = next((move for move in stroke.moves if not isinstance(move, Rapid | Remark)), None)
    if isinstance(first, Station) and first.number != parts.station:
        pen.position.station, pen.position.meant = first.number, [None, None, None]
    # Parts may lie in the control's memory side by side: no two subprograms have one number.
    pen.first_subprogram += parts.subprograms + 10 * sheet.before
    number = len(parts.done) + 1
    pen.blocks.values = {
        "program": comment_signs(sheet.stem), "part": str(number), "space": "0", "angle": "0",
        "safe": pen.spelling.length(setup.retract_to), "step": "0", "cutter": "0", "speed": "0",
    }
    parts.pen = pen
    begin_program(pen.blocks.text, machine, f"{sheet.stem}{f'-{number}' if number > 1 else ''}",
                  sheet.before + number - 1)
    pen.blocks.text.name(setup.title)
    if number > 1:
        pen.blocks.text.say(Message("PART {part}, AFTER PART {before}",
                                    part=number, before=number - 1))
        if isinstance(machine.dividing, HandHead) and parts.turned is not None:
            pen.blocks.text.say(Message("CRANK AT SPACE {space}, AS PART {part} LEFT IT",
                                        space=parts.turned.space, part=number - 1))
    standing = setup.standing if number == 1 else ()
    for line in (*sheet.header, *setup.notes, *standing, *CAUTIONS):
        pen.blocks.text.say(line)
    safe_start(pen)
    if machine.offsets.shift == "G52":
        # A program broken off within a subprogram left the zero shifted.
        nothing = pen.spelling.length(0.0)
        pen.blocks.block("G52", *(letter + nothing for letter in pen.spelling.letters[:2]))
    retract_at_start(pen)
    if machine.spindle_words.by_program:
        pen.blocks.block(pen.spelling.g(machine.spindle_words.stop))
    if machine.coolant.flood or machine.coolant.air:
        pen.blocks.block(pen.spelling.g(machine.coolant.off))
    pen.blocks.own(machine.insert.program_start)


def safe_start(pen: Pen) -> None:
    """The words that say how everything after them is meant."""
    program, arcs = pen.machine.program, pen.machine.arcs
    words = ["G17"] if program.plane_word else []
    if program.units_word:
        words.append("G20" if program.units == "inch" else "G21")
    pen.blocks.block(*words, "G90", *program.safe_words)
    if program.feed == "per-turn":
        pen.blocks.block("G95")
    if arcs.centre_mode_words and arcs.style in ("incremental", "absolute"):
        pen.blocks.block("G91.1" if arcs.style == "incremental" else "G90.1")
    if pen.machine.offsets.work:
        pen.blocks.block(pen.machine.offsets.stations[pen.position.station - 1])


def _end(sheet: _Sheet, parts: _Parts) -> None:
    """Clear, everything off, the head turned back, the part ended."""
    pen, machine = parts.pen, sheet.machine
    if pen is None:
        return
    parts.meant = [*pen.position.meant]
    pen.blocks.cancel_cycle()
    pen.position.go_clear()
    pen.running.set_media(False, False)
    pen.running.stop()
    pen.head.unwind()
    parts.angle, parts.station = pen.head.angle, pen.position.station
    retract_fully(pen)
    park = machine.retract.park
    if park is not None and may_go(pen, park):
        go_to_place(pen, park)
    if pen.position.stations and pen.position.station != 1:
        pen.blocks.block(machine.offsets.stations[0])
    if machine.change.with_offset:
        pen.blocks.block(machine.change.t_ended(pen.cutter))
    elif machine.offsets.length == "table":
        pen.blocks.block("G49")
    pen.blocks.flat_plane()
    pen.blocks.own(machine.insert.program_end)
    pen.blocks.block(pen.spelling.g(machine.program.end))
    for sub in pen.subprograms.values():
        pen.blocks.text.lines_of(sub.lines)
    parts.subprograms += len(pen.subprograms)
    pen.subprograms = {}
    end_program(pen.blocks.text, machine)
    parts.done.append(pen.blocks.text.lines)
    parts.pen = None


def _size_when_ended(sheet: _Sheet, parts: _Parts) -> int:
    """Bytes of the part being written if it ended here."""
    if parts.pen is None:
        return 0
    pen = parts.pen.copied()
    _end(sheet, _Parts(pen=pen))
    return pen.size


def _write_stroke(sheet: _Sheet, parts: _Parts, stroke: Stroke) -> None:
    pen = parts.pen
    if pen is None:
        return
    if stroke.first:
        _enter(sheet, parts, pen, stroke.section)
    pen.moves(stroke.moves)
    for move in stroke.moves:
        if isinstance(move, Index):
            parts.turned = move
        elif isinstance(move, Pause) and move.turned is not None:
            parts.turned = move.turned
    if stroke.body:
        pen.call(stroke.body)
    if stroke.last:
        pen.blocks.own(sheet.machine.insert.after_step)


def _enter(sheet: _Sheet, parts: _Parts, pen: Pen, section: Section) -> None:
    """Cutter, spindle and coolant of a section."""
    words = sheet.machine.spindle_words
    pen.blocks.cancel_cycle()
    pen.blocks.values["step"] = str(section.step + 1)
    pen.blocks.values["speed"] = f"{section.rpm:.0f}"
    pen.blocks.text.say(
        Message("STEP {number} {title}", number=section.step + 1, title=section.title))
    if section.cutter_number != pen.cutter:
        change_cutter(pen, section, sheet.setup.zeros_of_cutter, stations=sheet.stations)
    if section.rpm > 0.0:
        set_step_by_hand(pen, section)
    pen.position.draw_back()
    if section.rpm <= 0.0:
        pen.running.stop()
    elif (section.rpm, section.clockwise) != pen.running.spindle:
        warm = 0.0
        if not parts.warm and words.by_program:
            parts.warm = True
            # A large cutter is fitted by then: it is never run faster than it is to cut.
            for rpm, seconds in words.warm_up:
                if rpm < section.rpm:
                    pen.running.turn(rpm, section.clockwise)
                    pen.blocks.wait(seconds)
                else:
                    warm += seconds
        if pen.running.spindle is not None and pen.running.spindle[1] != section.clockwise:
            pen.running.stop()
        pen.running.start(section.rpm, section.clockwise, warm)
    pen.running.set_media(section.coolant, section.air)
    pen.blocks.own(sheet.machine.insert.before_step)
