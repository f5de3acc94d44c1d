"""The very first program on a new machine file: one millimetre and back, slowly.

Whatever the machine file says may be wrong: units, points, places after them, senses, letters. So
nothing here is a rapid, nothing turns, nothing is drawn back first, and every move is so slow that
a hand at feed hold has time. Lengths mm, feeds mm/min.
"""

from __future__ import annotations

from typing import Final

from camgen.messages import Message
from camgen.moves import Feed
from camgen.post.pen.marks import begin_program, end_program
from camgen.post.pen.pen import Pen
from camgen.post.writer import CAUTIONS, Program, safe_start
from camgen.shop.machine import Machine

__all__ = ["FIRST_HEIGHT", "FIRST_SLOW", "FIRST_WAY", "first_program"]

FIRST_HEIGHT: Final = 30.0
"""Height over the program's zero at which the spindle is stood by hand before, mm."""
FIRST_SLOW: Final = 30.0
"""Common practice, no source: half a millimetre in a second. Misread by 25.4 it is 12.7."""
FIRST_WAY: Final = 1.0
"""How far, mm."""


def first_program(machine: Machine, stem: str) -> Program:
    """One millimetre up, to the right, away and back; the spindle stands still.

    The machine is to stand at X0 Y0 and :data:`FIRST_HEIGHT`, by its own display.
    """
    pen = Pen(machine, "Z", FIRST_HEIGHT)
    text, program = pen.blocks.text, machine.program
    begin_program(text, machine, stem, 0)
    for line in (
        Message("ONE MM AND BACK, NO CUTTER, SPINDLE STOPPED"),
        Message("STAND AT X0 Y0 Z{height:g} MM BEFORE THE START", height=FIRST_HEIGHT),
        *CAUTIONS,
    ):
        text.say(line)
    safe_start(pen)
    position, up = pen.position, FIRST_HEIGHT + FIRST_WAY
    feed = min(FIRST_SLOW, *(machine.axis(name).feed_limit for name in "XYZ"))
    # It stands there; told so, every word of the first move is still written.
    position.lost, position.drawn = False, True
    way = FIRST_WAY
    for x, y, z in ((0.0, 0.0, up), (way, 0.0, up), (way, way, up), (0.0, 0.0, up),
                    (0.0, 0.0, FIRST_HEIGHT)):
        position.feed(Feed(feed, x, y, z))
    pen.blocks.block(pen.spelling.g(program.end))
    end_program(text, machine)
    line_end = "\n" if machine.blocks.ending == "lf" else "\r\n"
    return Program(f"{stem}.{program.extension}",
                   (line_end.join(text.lines) + line_end).encode("ascii"))
