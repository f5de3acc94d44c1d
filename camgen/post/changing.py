"""Another cutter: everything off and clear, the message, the change, and the zero found again."""

from __future__ import annotations

from camgen.messages import Message
from camgen.moves import Section
from camgen.post.pen.pen import Pen
from camgen.post.places import come_back_high, go_to_place, may_go, place_for_first, retract_fully

__all__ = ["change_cutter", "set_step_by_hand"]


def set_step_by_hand(pen: Pen, section: Section) -> None:
    """A stop of its own for another belt or gear, everything off and clear."""
    running = pen.running
    if not (pen.machine.spindle_words.by_program and running.by_hand_to(section.rpm)):
        return  # It is started by hand: the same stop tells both.
    pen.position.go_clear()
    running.set_media(False, False)
    running.stop()
    running.tell_step(section.rpm)
    pen.blocks.block(pen.spelling.g("M0"))
    pen.position.lose()


def change_cutter(pen: Pen, section: Section, retract_axis: str, *, stations: bool) -> None:
    """Another cutter: everything off and clear, the message, the change, zero found again.

    ``stations``: the setup is done at several.
    """
    machine = pen.machine
    change, offsets = machine.change, machine.offsets
    first = pen.cutter == 0
    if not first:
        pen.position.go_clear()
        pen.running.set_media(False, False)
        pen.running.stop()
        retract_fully(pen)
    place = place_for_first(pen) if first else change.place
    if place is not None and may_go(pen, place):
        go_to_place(pen, place)
    else:
        place = None
    pen.blocks.own(machine.insert.before_change)
    pen.cutter = section.cutter_number
    pen.blocks.values["cutter"] = str(pen.cutter)
    pen.blocks.text.tell(pen.blocks.text.filled(
        change.message, {"cutter": str(pen.cutter), "text": section.cutter_text}, "text"
    ))
    if change.word and change.way != "one-program-each":
        pen.blocks.block(change.t_word(pen.cutter), pen.spelling.g(change.word))
    elif change.with_offset:
        pen.blocks.block(change.t_word(pen.cutter))
    stand_here = offsets.stands_at if first else None
    if stand_here:
        pen.blocks.text.tell(pen.position.bring_to(stand_here))
    elif change.way == "by-hand" and offsets.length == "touch-off":
        # A program broken off may have left all of them shifted.
        anew = first and offsets.may_be_left_shifted
        axes = "X Y Z" if anew else retract_axis
        pen.blocks.text.tell(
            Message("SET ZERO OF {axes} FOR THIS CUTTER AT EVERY STATION", axes=axes)
            if stations else Message("SET ZERO OF {axes} FOR THIS CUTTER", axes=axes))
    stops = change.way == "by-hand" or stand_here
    if stops and machine.spindle_words.by_program and pen.running.by_hand_to(section.rpm):
        pen.running.tell_step(section.rpm)
    if stops:
        pen.blocks.block(pen.spelling.g("M0"))
    if offsets.length == "table" and change.with_offset is None:
        pen.blocks.block("G43", f"H{pen.cutter}")
    pen.blocks.own(machine.insert.after_change)
    if stand_here:
        pen.position.stand_at(stand_here)
    pen.position.lose()
    if place is not None and place.counted == "machine" and pen.position.clear_axis == 2 and (
            machine.retract.way != "plain"):
        retract_fully(pen)
        come_back_high(pen, section)
