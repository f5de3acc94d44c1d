"""Drawn up in Z, and the places in X and Y where cutters are changed and the work is loaded."""

from __future__ import annotations

from camgen.moves import Arc, Drill, Feed, Rapid, Section
from camgen.post.pen.pen import Pen
from camgen.shop.machine import PlaceToGo

__all__ = ["come_back_high", "go_to_place", "may_go", "place_for_first", "retract_at_start",
           "retract_fully"]


def retract_at_start(pen: Pen) -> None:
    """Drawn back from wherever the last program, or a hand, left the cutter.

    At a dividing head a disc may stand in a space, and Z would take it sideways through a tooth: it
    goes out along the infeed first. Where the zero of the infeed is only set at the first stop, the
    retract waits until then.
    """
    if pen.machine.retract.way == "plain":
        return
    if pen.position.clear_axis != 2 or pen.position.from_below:
        if pen.machine.offsets.length == "touch-off":
            return
        pen.position.draw_back()
    retract_fully(pen)
    pen.position.set_second()


def retract_fully(pen: Pen) -> None:
    """To the top of Z, where the machine has a way to say so and no work lies on the way."""
    retract = pen.machine.retract
    if retract.way == "plain" or pen.position.from_below:
        return
    letter = pen.machine.z.letter or "Z"
    if retract.way == "machine":
        pen.blocks.block("G53", pen.spelling.g("G0"),
                         letter + pen.spelling.length(retract.machine_z))
    else:
        pen.blocks.block("G91", "G28", letter + pen.spelling.length(0.0))
        pen.blocks.block("G90")
    pen.position.lose()


def may_go(pen: Pen, place: PlaceToGo | None) -> bool:
    """Whether a place is gone to at all in this setup.

    Across flat work the safe height is clear of everything. On the dividing head only Z drawn up
    in the machine's own coordinates is, and where the work's zero then lies in Y nobody knows.
    """
    if place is None or pen.position.from_below:
        return False
    return pen.position.clear_axis == 2 or (
        place.counted == "machine" and pen.machine.retract.way != "plain")


def place_for_first(pen: Pen) -> PlaceToGo | None:
    """Where the first cutter of a program is fitted, None for where it stands.

    Only with Z drawn up at the start is the way there known to be free.
    """
    machine = pen.machine
    place = machine.change.place
    drawn_up = machine.retract.way != "plain" and not (
        pen.position.clear_axis != 2 and machine.offsets.length == "touch-off")
    return place if drawn_up and machine.offsets.stands_at is None and may_go(pen, place) else None


def go_to_place(pen: Pen, place: PlaceToGo) -> None:
    """Across to a place, the cutter drawn back; where the plan left off stays known."""
    position, spelling = pen.position, pen.spelling
    if pen.machine.retract.way == "plain":
        position.draw_back()
    if place.counted == "machine":
        pen.blocks.block("G53", spelling.g("G0"), *(
            spelling.letters[axis] + spelling.length(mm) for axis, mm in place.axes))
    else:
        meant = [*position.meant]
        position.go(place.axes)
        position.meant = meant
    position.lose()


def come_back_high(pen: Pen, section: Section) -> None:
    """Above the work again before the cutter comes down: Z is still, or again, drawn up."""
    position = pen.position
    for axis, mm in enumerate(_first_place(section)):
        if position.meant[axis] is None:
            position.meant[axis] = mm
    position.come_back_high()


def _first_place(section: Section) -> tuple[float | None, float | None]:
    """The first X and Y that a section goes to."""
    found: list[float | None] = [None, None]
    for move in section.moves:
        if isinstance(move, Rapid | Feed | Arc | Drill):
            for axis, mm in enumerate((move.x, move.y)):
                if found[axis] is None:
                    found[axis] = mm
    return found[0], found[1]
