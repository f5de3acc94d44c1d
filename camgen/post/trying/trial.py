"""A test piece cut in air: every word a machine file uses, and what to watch at the machine.

The program stays above a stated height, so that a wrong word of the machine file shows itself with
no cutter fitted and nothing in the way.
"""

from __future__ import annotations

from math import cos, radians, sin
from typing import Final

from camgen.messages import NOTHING, Message, counted
from camgen.moves import (
    Arc,
    Drill,
    Dwell,
    Feed,
    Index,
    Move,
    Pause,
    Plane,
    Rapid,
    Remark,
    Section,
    SetupMoves,
)
from camgen.shop.machine import DrivenHead, HandHead, Machine
from camgen.values import dataclass

__all__ = ["LOWEST", "Watch", "plain_form", "things_to_watch", "trial_moves"]

LOWEST: Final = 20.0
"""Height above the program's zero that the test program never goes below, mm."""
_ABOVE: Final = 10.0


@dataclass(frozen=True, slots=True)
class Watch:
    """One line of the check list: where in the program, what must be seen, what to mend if not."""

    where: Message
    see: Message
    mend: str


def trial_moves(machine: Machine) -> SetupMoves:
    """The test piece's moves for a machine: as far as it can, each kind of move it will be given.

    All lengths mm. Nothing is lower than :data:`LOWEST` and nothing farther than a fifth of the
    shortest travel from the zero in X and Y.
    """
    side = min(10.0, machine.x.travel / 10, machine.y.travel / 10)
    feed = min(100.0, machine.x.feed_limit, machine.y.feed_limit, machine.z.feed_limit)
    rpm = machine.spindle.lowest
    clear = LOWEST + _ABOVE
    sections = [
        _section(0, Message("square and corners"), 1, rpm, _square(side, feed, clear)),
        _section(1, Message("arcs in four quadrants"), 1, rpm,
                 _arcs(machine, side / 2, feed, clear)),
        _section(2, Message("holes and dwell"), 2, rpm, _holes(side, feed, clear), coolant=True,
                 air=True),
    ]
    if machine.spindle_words.oriented_stop is not None:
        off = -1.0 if machine.spindle_words.tip_at[0] == "+" else 1.0
        aside = (off, 0.0) if machine.spindle_words.tip_at[1] == "X" else (0.0, off)
        sections.append(_section(
            len(sections), Message("a bar stopped, off the wall and out"), 2, rpm,
            (*_way_in(0.0, 0.0, clear),
             Drill(0.0, 0.0, LOWEST + 2.0, LOWEST, feed, clear, aside=aside)),
        ))
    if machine.spindle.reversal_seconds is not None:
        sections.append(_section(
            len(sections), Message("a tap's stroke, spindle reversed below"), 2, rpm,
            (*_way_in(0.0, 0.0, clear),
             Drill(0.0, 0.0, LOWEST + 2.0, LOWEST, feed, clear, feed_out=True, reverses=True)),
        ))
    if "anticlockwise" in machine.spindle.senses:
        sections.append(_section(
            len(sections), Message("spindle the other way"), 2, rpm,
            (*_way_in(0.0, 0.0, clear), Dwell(1.0)),
            clockwise="clockwise" not in machine.spindle.senses,
        ))
    if machine.subprograms.use and machine.offsets.shift:
        sections.append(_section(
            len(sections), Message("the same at three places"), 2, rpm, _repeats(side, feed, clear)
        ))
    if machine.dividing is not None:
        sections.append(_section(
            len(sections), Message("head there and back"), 2, rpm,
            _turns(machine, side, feed, clear)
        ))
    return SetupMoves(
        "test piece in air", tuple(sections), "Z", clear,
        (Message("NOTHING BELOW Z{lowest:g} MM, NO CUTTER FITTED", lowest=LOWEST),),
    )


def _section(
    number: int, title: Message, cutter: int, rpm: float, moves: tuple[Move, ...], *,
    clockwise: bool = True, coolant: bool = False, air: bool = False,
) -> Section:
    return Section(
        title, number, f"none {cutter}", cutter, Message("NONE, COLLET EMPTY"), rpm, moves,
        clockwise, coolant, air,
    )


def _way_in(x: float, y: float, clear: float) -> tuple[Move, ...]:
    return (Rapid(z=clear), Rapid(x=x, y=y))


def _square(side: float, feed: float, clear: float) -> tuple[Move, ...]:
    low = LOWEST
    return (
        *_way_in(0.0, 0.0, clear), Rapid(z=low + 1.0), Feed(feed / 2, z=low),
        Remark(Message("X plus")), Feed(feed, x=side), Remark(Message("Y plus")),
        Feed(feed, y=side),
        Remark(Message("back across")), Feed(feed, x=0.0, y=0.0), Remark(Message("oblique and up")),
        Feed(feed, x=side / 2, y=-side / 2, z=low + 2.0), Dwell(2.0), Rapid(z=clear),
    )


def _arcs(machine: Machine, radius: float, feed: float, clear: float) -> tuple[Move, ...]:
    """Circles, quadrants one by one, a helix, a tiny and a flat arc, arcs in other planes."""
    low, r = LOWEST, radius
    quarters = [(r, 0.0), (0.0, r), (-r, 0.0), (0.0, -r)]
    moves: list[Move] = [
        *_way_in(r, 0.0, clear), Rapid(z=low + 1.0), Feed(feed / 2, z=low),
        Remark(Message("circle anticlockwise")), Arc(feed, (0.0, 0.0), False, full=True),
        Remark(Message("circle clockwise")), Arc(feed, (0.0, 0.0), True, full=True),
        Remark(Message("quadrants bulging out")),
        *(Arc(feed, (0.0, 0.0), False, x=x, y=y) for x, y in (*quarters[1:], quarters[0])),
        Remark(Message("quadrants curving in")),
    ]
    for (x, y), (to_x, to_y) in zip(quarters, (*quarters[1:], quarters[0]), strict=True):
        moves.append(Arc(feed, (x + to_x, y + to_y), True, x=to_x, y=to_y))
    moves += [
        Remark(Message("helix up")),
        Arc(feed, (0.0, 0.0), False, x=r, y=0.0, z=low + 2.0, full=True),
        Remark(Message("tiny and flat arcs")),
        Arc(feed, (r, 0.2), False, x=r + 0.2, y=0.2),
        _flat_arc(feed, r),
    ]
    planes: tuple[Plane, ...] = ("ZX", "YZ")
    for plane in planes:
        if plane in machine.arcs.planes:
            moves += [Rapid(z=clear), Rapid(x=0.0, y=0.0), Rapid(z=low + 1.0), Feed(feed, z=low),
                      *_arch(plane, r, feed)]
    moves.append(Rapid(z=clear))
    return tuple(moves)


def _flat_arc(feed: float, radius: float) -> Arc:
    """An arc of 20 radii through 2° from where the tiny arc ends."""
    large, turn = 20 * radius, radians(2.0)
    x, y = radius + 0.2 - large, 0.2
    return Arc(feed, (x, y), False, x=x + large * cos(turn), y=y + large * sin(turn))


def _arch(plane: Plane, radius: float, feed: float) -> tuple[Move, ...]:
    """A half circle that stands along X or Y, rising from the lowest height, there and back."""
    if plane == "ZX":
        return (
            Remark(Message("half circle standing along X")),
            Arc(feed, (LOWEST, radius), False, x=2 * radius, plane=plane),
            Arc(feed, (LOWEST, radius), True, x=0.0, plane=plane),
        )
    return (
        Remark(Message("half circle standing along Y")),
        Arc(feed, (radius, LOWEST), True, y=2 * radius, plane=plane),
        Arc(feed, (radius, LOWEST), False, y=0.0, plane=plane),
    )


def _holes(side: float, feed: float, clear: float) -> tuple[Move, ...]:
    low = LOWEST
    def hole(x: float, **kind: float | bool) -> Drill:
        return Drill(x, 0.0, low + 2.0, low, feed, clear, **kind)  # type: ignore[arg-type]

    return (
        Rapid(z=clear), Remark(Message("two plain holes")), hole(0.0), hole(side / 2),
        Remark(Message("a hole with dwell")), hole(side, dwell=1.0),
        Remark(Message("a hole by pecks")), hole(side / 4, peck=0.7),
        Remark(Message("bored out, feed both ways")), hole(side / 2, feed_out=True),
        hole(side, feed_out=True, dwell=0.5),
        Pause(Message("OPTIONAL STOP"), optional=True), Pause(Message("STOP, SPINDLE STANDS")),
        Rapid(x=0.0, y=0.0), Rapid(z=clear),
    )


def _repeats(side: float, feed: float, clear: float) -> tuple[Move, ...]:
    moves: list[Move] = [Rapid(z=clear)]
    for x in (0.0, side / 2, side):
        moves += [Rapid(x=x, y=0.0), Rapid(z=LOWEST + 1.0), Feed(feed, z=LOWEST),
                  Feed(feed, y=side / 4), Rapid(z=clear)]
    return tuple(moves)


def _can_be_had(machine: Machine, angle: float) -> float:
    """The angle, degrees; of a head that turns by its own steps the nearest that it has, not 0."""
    head = machine.dividing
    if not isinstance(head, DrivenHead) or head.pulses is None:
        return angle
    return 360.0 * max(1, round(angle * head.pulses / 360.0)) / head.pulses


def _turns(machine: Machine, side: float, feed: float, clear: float) -> tuple[Move, ...]:
    """Through a whole turn and past it, a small step, and back to the start."""
    moves: list[Move] = [*_way_in(0.0, 0.0, clear)]
    stroke = (Rapid(z=LOWEST + 1.0), Feed(feed, x=side / 2), Rapid(z=clear), Rapid(x=0.0))
    angles = (0.0, *(_can_be_had(machine, angle) for angle in (1.0, 120.0, 240.0)), 360.0,
              360.0 + _can_be_had(machine, 120.0), 0.0)
    for space, angle in enumerate(angles, start=1):
        by_hand = isinstance(machine.dividing, HandHead)
        setting = Message("TURN TO {angle:g} DEG", angle=angle) if by_hand else NOTHING
        moves.append(Index(angle, space, setting))
        moves += stroke
    return tuple(moves)


def plain_form(machine: Machine) -> Machine:
    """The same machine with its programs spelt in plain ISO: what the test piece is held against.

    What the words can do is kept: whether there are arcs, in which planes, whether the spindle
    stops turned one way, and how fine numbers are; how they are said is plain.
    """
    plain = Machine(name="plain", describes="the same machine in plain words")
    spindle = plain.spindle_words.model_copy(update={
        "oriented_stop": machine.spindle_words.oriented_stop,
        "tip_at": machine.spindle_words.tip_at,
    })
    head = machine.dividing
    if isinstance(head, DrivenHead):
        # Told angles, as plain programs tell them.
        head = head.model_copy(update={"pulses": None})
    return machine.model_copy(update={
        name: getattr(plain, name)
        for name in ("blocks", "comments", "cycles", "dwell", "change", "offsets", "retract",
                     "rotary", "coolant", "optional_stop", "block_skip", "subprograms", "insert",
                     "program")
    } | {"spindle_words": spindle, "dividing": head})


def things_to_watch(machine: Machine, files: tuple[str, ...]) -> tuple[Watch, ...]:
    """The check list of the test program, in the order of the program.

    ``files`` are the names of the programs it was written in.
    """
    numbers, program = machine.numbers, machine.program
    side = min(10.0, machine.x.travel / 10, machine.y.travel / 10)
    start = Message("it starts clockwise, seen from the spindle to the work, at {speed:g} rev/min",
                    speed=machine.spindle.lowest)
    list_: list[Watch] = [Watch(
        Message("before"),
        Message("no cutter fitted; X0 Y0 in the middle of the table, Z0 so low that {free:g} mm "
                "above it are free; feed override turned down; a hand at feed hold; eyes, guards",
                free=LOWEST + _ABOVE),
        Message("nothing here replaces the machine's manual, local rules and someone who knows the "
                "machine"),
    ), Watch(
        Message("loading"),
        counted("the control takes {files} without complaint, and shows the comments as words",
                "the control takes each of {files} without complaint, and shows the comments as "
                "words", len(files), files=files),
        "program.marks, program.number, program.safe-words, comments.style, comments.letters, "
        "blocks.ending, blocks.longest, blocks.spaces",
    )]
    if machine.retract.way != "plain":
        list_.append(Watch(
            Message("first move"), Message("Z goes up to its top and nothing else moves"),
            "retract.way, retract.machine-z",
        ))
    list_ += [
        Watch(
            Message("cutter {number}", number=1),
            {"by-hand": Message("the program stops, with the cutter's number in the message"),
             "automatic": Message("the changer brings cutter 1"),
             "one-program-each": Message("each program names its cutter in a comment"),
             }[machine.change.way],
            "change.way, change.word, change.message, change.with-offset",
        ),
        Watch(
            Message("spindle"),
            Message("{start}, and stays so for {wait:g} s before anything moves", start=start,
                    wait=machine.spindle.start_seconds)
            if machine.spindle_words.dwell and machine.spindle_words.by_program else start,
            Message("spindle-words; where the wait is a thousand times too long or short: "
                    "dwell.unit; where it is not taken: dwell.word"),
        ),
        Watch(
            Message("step 1, X plus"),
            Message("the cutter goes {side:g} mm to the right of the work (the table to the left): "
                    "measure it", side=side),
            Message("25.4 times off: program.units; a thousand times: numbers.point, "
                    "numbers.decimals; the wrong way: x.sense, or the control's own setting"),
        ),
        Watch(
            Message("step 1, Y plus"),
            Message("the cutter goes {side:g} mm away from you (the table towards you)", side=side),
            "y.sense",
        ),
        Watch(Message("step 1, end"),
              Message("after the oblique line it waits 2 s, then Z goes up"),
              Message("dwell.word, dwell.unit; Z the wrong way: z.sense")),
        Watch(
            Message("step {number}", number=2),
            Message("a circle of {side:g} mm each way, then a round outline and a four-cornered "
                    "star with hollow sides; always smooth, never a jump to the far side",
                    side=side),
            Message("a circle where a small arc was meant, or an alarm: arcs.style, "
                    "arcs.quadrants, arcs.largest-sweep, arcs.centre-mode-words; short straight "
                    "steps: arcs.style is none"),
        ),
    ]
    if machine.arcs.helices and machine.arcs.style != "none":
        list_.append(Watch(Message("step 2, helix"), Message("one turn that rises 2 mm evenly"),
                           "arcs.helices"))
    if machine.arcs.style != "none" and len(machine.arcs.planes) > 1:
        list_.append(Watch(
            Message("step 2, standing half circles"),
            Message("the cutter rises {rise:g} mm in an arch along X, and along Y, and comes back "
                    "the same way; it never dips", rise=side / 2),
            Message("dips instead of rising: arcs.planes (leave out the plane), "
                    "program.plane-word"),
        ))
    holes = Message("two plain holes, one with a wait of 1 s at the bottom, one by pecks of 0.7 "
                    "mm, two that come out at the feed")
    if machine.cycles.use:
        holes = (Message("{holes}; by cycles, returning to the height before", holes=holes)
                 if machine.cycles.return_level == "G98" else
                 Message("{holes}; by cycles, returning to R", holes=holes))
    list_.append(Watch(
        Message("step {number}", number=3), holes,
        Message("cycles.use, cycles.drill and its neighbours, cycles.return-level"),
    ))
    if machine.coolant.flood or machine.coolant.air:
        list_.append(Watch(Message("step {number}", number=3),
                           Message("coolant and air come on, and go off at the stop"),
                           "coolant.flood, coolant.air, coolant.off"))
    list_.append(Watch(
        Message("step 3, stops"),
        Message("with the optional stop switched on it stops, goes on at start; at the second stop "
                "the spindle stands still") if machine.optional_stop else
        Message("it stops, goes on at start; at the second stop the spindle stands still"),
        "optional-stop, block-skip, spindle-words.stop",
    ))
    if machine.subprograms.use:
        list_.append(Watch(Message("repeats"),
                           Message("the same short stroke at three places side by side"),
                           "subprograms, offsets.shift"))
    head = machine.dividing
    if isinstance(head, DrivenHead) and head.pulses is not None:
        list_.append(Watch(
            Message("last step"),
            Message("mark the head: it turns by one step or a few, waits at each until it is "
                    "there, goes past the mark once and stands at it at the end; positive turns "
                    "are those of a right-hand screw along the arbor (ISO 841)"),
            "rotary.pulse, rotary.answered, dividing.pulses"))
    elif isinstance(head, DrivenHead):
        sense: str = {"A": "X", "B": "Y", "C": "Z"}.get(head.letter, Message("its own axis"))
        list_ += [
            Watch(
                Message("last step"),
                Message("mark the head: it turns to 1°, 120°, 240°, once round, 120° more, and "
                        "back to the mark; first a little back and up again ({take_up:g}°)",
                        take_up=head.take_up),
                Message("rotary.way; turns the long way round: rotary.way; 360 times off: "
                        "numbers.rotary-decimals; never clamps: rotary.clamp, rotary.unclamp"),
            ),
            Watch(
                Message("last step, sense"),
                Message("positive turns are those of a right-hand screw that goes along +{axis} "
                        "(ISO 841)", axis=sense), "dividing.sense, dividing.letter",
            ),
        ]
    elif isinstance(head, HandHead):
        list_.append(Watch(Message("last step"),
                           Message("it stops at each angle with the setting as a message"),
                           "dividing.message, comments.message, comments.longest"))
    list_.append(Watch(
        Message("end of the program"),
        Message("all off, Z up, the program at its start again") if program.end == "M30" else
        Message("all off, Z up, the program at its start again; {word}", word=program.end),
        "program.end, rotary.unwind, retract.way",
    ))
    if numbers.point == "never":
        list_.append(Watch(Message("throughout"),
                           Message("distances are right although no word has a point"),
                           "numbers.point, numbers.decimals"))
    return tuple(list_)
