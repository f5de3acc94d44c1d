"""One block after another, as a control carries them out.

The order in which the words of one block take effect is that of NISTIR 6556, "The NIST RS274NGC
Interpreter – Version 3" (from memory): comments, units and feed mode, feed, speed, cutter, spindle,
coolant, clamps, dwell, plane, offsets, distance mode, then the motion, stops last.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal

from camgen.messages import Message
from camgen.reader.control.block_words import sorted_by_group, sorted_by_letter
from camgen.reader.control.drilling import drill_by_cycle
from camgen.reader.control.journal import NAN
from camgen.reader.control.moves import (
    CENTRES,
    begin_moving,
    look_at_second_rotary,
    move_arc,
    move_straight,
    target_of,
    turn_head,
)
from camgen.reader.control.places import (
    go_to_machine_place,
    go_to_reference,
    said_as_zero,
    settle_still,
    shift_zero,
    touch,
)
from camgen.reader.control.state import Control
from camgen.reader.control.switches import (
    choose_cutter,
    do_actions,
    dwell,
    read_comment,
    set_feed_and_speed,
    set_offsets,
)
from camgen.reader.text.words import Block

__all__ = ["Outcome", "carry_out"]


class Outcome:
    """What follows a block: nothing, the end, a call of a subprogram, a return from one."""

    __slots__ = ("column", "kind", "number", "repeats")

    def __init__(
        self, kind: Literal["end", "call", "return"], number: int = 0, repeats: int = 1,
        column: int = 0,
    ) -> None:
        self.kind = kind
        self.number = number
        self.repeats = repeats
        self.column = column


def carry_out(control: Control, line: int, block: Block) -> Outcome | None:
    """Carry out one block of text."""
    journal = control.journal
    for trouble in block.troubles:
        if trouble.variable:
            journal.refuse(trouble.message, line, trouble.column)
        else:
            journal.unknown(trouble.message, line, trouble.column, word=trouble.word)
    for comment in block.comments:
        read_comment(control, line, comment)
    if not block.words:
        if block.skip and block.comments:
            # What the operator is told may not hang on a switch.
            journal.tell("skip", line)
        return None
    if control.dialect.zero_words and said_as_zero(control, line, block):
        return None
    values, columns, codes, actions = sorted_by_letter(control, line, block)
    if control.ended:
        return None
    if block.skip:
        rest = [word for word in block.words if word.letter != "N"]
        stops = len(rest) == 1 and rest[0].letter == "M" and rest[0].value in (0, 1)
        journal.tell("skip", line, "stop" if stops else "")
    if "N" in values and control.numbers.counted:
        control.numbers.follow(line, values["N"], columns["N"], journal.notes)
    modal, once, others, owned = sorted_by_group(control, line, codes)
    numbers = {letter: value for letter, value in values.items() if letter not in "NO"}
    _modes(control, line, modal)
    if once == 40:
        dwell(control, line, block, numbers)
    set_feed_and_speed(control, line, numbers, columns)
    choose_cutter(control, line, numbers, columns, actions)
    ending = do_actions(control, line, actions, block)
    used = set_offsets(control, line, modal, numbers, columns)
    if owned:
        # Its axis words are figures of its own: no move is made of them.
        used.update(numbers)
    else:
        _motion(control, line, modal, once, numbers, columns, used)
    if not ending and (
        others or any(("M", code) in control.dialect.trusted for code, _ in actions)
    ):
        used.update(numbers)
    for letter in numbers:
        if letter not in used:
            _unused(control, letter, numbers[letter], line, columns[letter], ending, modal)
    return _ending(control, line, ending, numbers, columns, block)




def _modes(control: Control, line: int, modal: dict[str, tuple[int, int]]) -> None:
    """Words that change how later words are read."""
    journal, modes = control.journal, control.modes
    for group in ("units", "feed", "plane", "distance", "arc centres", "return height"):
        if group in modal:
            journal.tell_word(line, group, modal[group][0])
    if "units" in modal:
        code, column = modal["units"]
        journal.said.add("units")
        wanted = control.machine.program.units
        is_inch = code == 200
        if is_inch != (wanted == "inch"):
            journal.notes.add(
                Message("{word} though the machine file says that programs are in inches",
                        word="G21") if wanted == "inch" else
                Message("{word} though the machine file says that programs are in millimetres",
                        word="G20"), line, column)
        if control.moved_cutting and is_inch != (modes.unit == 25.4):
            journal.grave(Message("units change in the middle of the program"), line, column,
                          unsure=("places", "depths", "feeds", "time"))
        modes.unit = 25.4 if is_inch else 1.0
    if "feed" in modal:
        code, _ = modal["feed"]
        if code != modes.feed_mode:
            modes.feed_mode = code
            modes.feed = NAN
    if "plane" in modal:
        modes.plane = control.dialect.planes[modal["plane"][0]]
    if "distance" in modal:
        modes.absolute = modal["distance"][0] == 900
        journal.said.add("distance")
    if "arc centres" in modal:
        modes.centre_absolute = modal["arc centres"][0] == 901
    if "return height" in modal:
        modes.to_level = modal["return height"][0] == 990


def _motion_word(control: Control, line: int, word: int) -> None:
    """A word that says how to move: it holds on, and a cycle's own words with it."""
    journal, modes = control.journal, control.modes
    code = word
    if code in control.dialect.cancel:
        code = -1
        journal.tell_word(line, "cycle", word)
    elif code in control.dialect.cycles or modes.motion in control.dialect.cycles:
        journal.tell_word(line, "cycle", code)
    if code not in control.dialect.cycles:
        control.cycle.words.clear()
        control.cycle.return_level = None
    elif code != modes.motion:
        control.cycle.words.clear()
    modes.motion = code


def _motion(
    control: Control,
    line: int,
    modal: dict[str, tuple[int, int]],
    once: int,
    numbers: dict[str, float],
    columns: dict[str, int],
    used: set[str],
) -> None:
    """The block's move, if it has one. Adds the letters it uses to ``used``."""
    journal, modes = control.journal, control.modes
    word = "motion" in modal
    if word:
        _motion_word(control, line, modal["motion"][0])
    axes = [letter for letter in numbers if letter in control.dialect.axes]
    turning = control.dialect.rotary in numbers if control.dialect.rotary else False
    if control.dialect.second_rotary and control.dialect.second_rotary in numbers:
        look_at_second_rotary(control, line, numbers, columns, used)
    used.update(axes)
    if turning:
        used.add(control.dialect.rotary)
    if not control.started and (axes or turning):
        begin_moving(control, line)
    if once >= 0 and once == control.dialect.touch:
        touch(control, line, numbers, axes, turning)
        return
    if once in (280, 300, 520, 530, 920, 921, 922, 923):
        if word and once != 530 and modes.motion != -1 and (axes or turning):
            journal.grave(
                Message("{word} and {other} in one block both want its axis words",
                        word=f"G{once / 10:g}", other=f"G{modes.motion / 10:g}"),
                line, modal["motion"][1], unsure=("places", "depths", "time"),
            )
        _by_other_coordinates(control, line, once, numbers, columns, axes)
        return
    if modes.motion in control.dialect.cycles:
        drill_by_cycle(control, line, numbers, columns, axes, turning, used, word)
        return
    if word and modal["motion"][0] in control.dialect.cancel and (axes or turning):
        journal.grave(Message("axis words beside the word that ends a cycle"), line,
                      unsure=("places", "depths", "time"))
        return
    if modes.motion in (20, 30):
        centres = [letter for letter in CENTRES if letter in numbers]
        if axes or centres or "R" in numbers or turning:
            used.update(centres)
            used.update("RP")
            move_arc(control, line, numbers, axes, centres, turning)
        return
    if not (axes or turning):
        return
    if modes.motion == -1:
        letter = axes[0] if axes else control.dialect.rotary
        journal.grave(
            Message("{letter} with no move word in force (G0, G1, G2, G3): taken here for a rapid",
                    letter=letter), line, columns[letter], unsure=("places", "depths", "time"),
        )
    target = target_of(control, line, numbers)
    if turning:
        turn_head(control, line, numbers, columns)
    move_straight(control, line, target, rapid=modes.motion != 10, turning=turning)


def _by_other_coordinates(
    control: Control, line: int, once: int, numbers: dict[str, float], columns: dict[str, int],
    axes: Sequence[str],
) -> None:
    """Words that take the block's axis words for places of the machine's own, or for a zero."""
    if once in (280, 300):
        go_to_reference(control, line, f"G{once // 10}", numbers, axes)
    elif once == 530:
        go_to_machine_place(control, line, numbers, axes, columns)
    else:
        shift_zero(control, line, once, numbers, axes)


def _unused(
    control: Control, letter: str, value: float, line: int, column: int,
    ending: Sequence[tuple[int, int]], modal: Mapping[str, tuple[int, int]],
) -> None:
    journal = control.journal
    if ending:
        code = ending[0][0]
        if code in (98, control.dialect.call[1]) and letter in (control.dialect.call[0], *"PL"):
            return
        if letter in "DHIJKLPQR":
            what = Message("{letter} beside {word}", letter=letter, word=f"M{code}")
            journal.unknown(
                Message("{what}: on many controls it says where to go on instead, or how often",
                        what=what), line, column, word=what)
            return
    if letter in "IJKRQ":
        journal.unknown(Message("{letter} without the word that uses it", letter=letter),
                        line, column, ("places", "depths", "time"))
    elif letter in "HD" and value:
        journal.unknown(
            Message("{word} without the word that uses it: on many controls it brings in another "
                    "figure of the table", word=f"{letter}{value:g}"), line, column,
            ("depths",) if letter == "H" else ("places",), letter)
    elif letter == "P" and "work offset" in modal:
        name = f"G{modal['work offset'][0] / 10:g} P{value:g}"
        journal.unknown(
            Message("{word}: on many controls another zero than G54 to G59", word=name),
            line, column, ("places", "depths"), name)
    elif letter in "PL" and value:
        journal.unknown(
            Message("{word} without the word that uses it: some controls call a subprogram by it, "
                    "or go on elsewhere", word=f"{letter}{value:g}"), line, column, word=letter)
    elif letter in "PLHD":
        journal.notes.add(Message("{letter} does nothing in this block", letter=letter), line,
                          column)
    elif letter in "ABCUVW" or letter in "XYZ":
        journal.unknown(
            Message("{letter}: the machine file knows no such axis", letter=letter), line, column,
            ("turns", "time") if letter in "ABC" else ("places", "depths", "time"),
            Message("axis {letter}", letter=letter),
        )
    else:
        journal.unknown(Message("{word} is not a word known here", word=letter), line, column,
                        word=letter)


def _ending(
    control: Control,
    line: int,
    ending: Sequence[tuple[int, int]],
    numbers: dict[str, float],
    columns: dict[str, int],
    block: Block,
) -> Outcome | None:
    """M words that take effect after the motion."""
    journal = control.journal
    outcome: Outcome | None = None
    dialect = control.dialect
    for code, column in ending:
        if code in dialect.ends:
            settle_still(control)
            journal.event("end", line, f"M{code}")
            control.spindle.sense = 0
            control.ended = True
            return Outcome("end")
        if code in (0, 1):
            text = block.comments[0] if block.comments else journal.comment_at(line)
            journal.event("stop" if code == 0 else "optional-stop", line, text)
            if code == 1 and not control.machine.optional_stop:
                journal.grave(Message("M1, which the machine file says this control lacks"), line,
                              column)
        elif code in (98, dialect.call[1]):
            outcome = _call(control, line, code, numbers, column)
        elif code in (99, dialect.back[1]):
            outcome = Outcome("return")
    return outcome


def _call(
    control: Control, line: int, code: int, numbers: dict[str, float], column: int
) -> Outcome | None:
    journal = control.journal
    letter = control.dialect.call[0] if code == control.dialect.call[1] else "P"
    letter = letter if letter in numbers else "P"
    number = numbers.get(letter, -1.0)
    repeats = numbers.get("L", 1.0) if letter != "L" else 1.0
    if letter == "P" and "L" not in numbers and number > 9999:
        # Eight figures: how often, then which (common practice, no source). Other controls
        # take them all for one number.
        journal.unknown(
            Message("P{number:.0f}: {program:.0f} called {times:.0f} times, or one program of that "
                    "number: controls differ", number=number, program=number % 10_000,
                    times=number // 10_000), line, column,
            word=f"P{number:.0f}")
        repeats, number = divmod(number, 10_000)
    if number < 0 or number != int(number):
        journal.unknown(Message("a call without the number of a subprogram"), line, column)
        return None
    if repeats != int(repeats) or not 0 <= repeats <= 10_000:
        journal.unknown(Message("a subprogram {times:g} times", times=repeats), line, column)
        return None
    return Outcome("call", int(number), int(repeats), column)
