"""One block after another, as a control carries them out.

The order in which the words of one block take effect is that of NISTIR 6556, "The NIST RS274NGC
Interpreter – Version 3" (from memory): comments, units and feed mode, feed, speed, cutter, spindle,
coolant, clamps, dwell, plane, offsets, distance mode, then the motion, stops last.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal

from camgen.reader.motion import FIGURES
from camgen.reader.moving import CENTRES
from camgen.reader.others import OTHERS
from camgen.reader.state import NAN
from camgen.reader.switching import Switching
from camgen.reader.words import Block

__all__ = ["Control", "Outcome"]

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


class Control(Switching):
    """Carries out blocks."""

    __slots__ = ()

    # The words of a block in the order in which they take effect.
    def block(self, line: int, block: Block) -> Outcome | None:  # noqa: C901
        """Carry out one block of text."""
        for trouble in block.troubles:
            if trouble.variable:
                self.refuse(trouble.message, line, trouble.column)
            else:
                self.unknown(trouble.message, line, trouble.column, word=trouble.word)
        for comment in block.comments:
            self._comment(line, comment)
        if not block.words:
            if block.skip and block.comments:
                # What the operator is told may not hang on a switch.
                self.tell("skip", line)
            return None
        dialect = self.dialect
        values: dict[str, float] = {}
        columns: dict[str, int] = {}
        codes: list[tuple[int, int]] = []
        actions: list[tuple[int, int]] = []
        pointless: list[int] = []
        count = self.words
        for letter, value, column, pointed in block.words:
            if letter == "G":
                code = round(value * 10)
                if abs(value * 10 - code) > 1e-6 or value < 0:
                    code = -1
                codes.append((code, column))
                name = f"G{value:g}"
            elif letter == "M":
                name = f"M{value:g}"
                if value == int(value) and value >= 0:
                    actions.append((int(value), column))
                else:
                    self.unknown(f"{name} is not known here", line, column, word=name)
            else:
                name = letter
                if letter in values:
                    self.grave(f"{letter} stands twice in one block", line, column,
                               unsure=FIGURES)
                if not pointed:
                    if letter in dialect.places:
                        value /= dialect.places[letter]
                    elif value and letter in dialect.pointed:
                        pointless.append(column)
                values[letter] = value
                columns[letter] = column
            count[name] = count.get(name, 0) + 1
        # The X of a dwell is a time, which may be a whole number of milliseconds.
        if pointless and not any(
            code == 40 or code not in dialect.groups for code, _ in codes
        ):
            for column in pointless:
                self.grave(
                    "no decimal point: read here as it stands, by some controls as a number of "
                    "their least steps", line, column, unsure=("places", "depths", "time"),
                )
        if self.ended:
            return None
        if block.skip:
            rest = [word for word in block.words if word.letter != "N"]
            stops = len(rest) == 1 and rest[0].letter == "M" and rest[0].value in (0, 1)
            self.tell("skip", line, "stop" if stops else "")
        if "N" in values and self.numbered:
            self._number(line, values["N"], columns["N"])
        modal, once, others, owned = self._sorted(line, codes)
        numbers = {letter: value for letter, value in values.items() if letter not in "NO"}
        self._modes(line, modal)
        if once == 40:
            self._dwell(line, block, numbers)
        self._feed_and_speed(line, numbers, columns)
        self._cutter(line, numbers, columns, actions)
        ending = self._actions(line, actions, block)
        used = self._offsets(line, modal, numbers, columns)
        if owned:
            # Its axis words are figures of its own: no move is made of them.
            used.update(numbers)
        else:
            self._motion(line, modal, once, numbers, columns, used)
        if not ending and (
            others or any(("M", code) in dialect.trusted for code, _ in actions)
        ):
            used.update(numbers)
        for letter in numbers:
            if letter not in used:
                self._unused(letter, numbers[letter], line, columns[letter], ending, modal)
        return self._ending(line, ending, numbers, columns, block)

    def _number(self, line: int, number: float, column: int) -> None:
        """Block numbers that show a block lost, doubled or out of its place."""
        last, self.block_number = self.block_number, number
        if last < 0:
            self.first_number = number
            return
        gap = number - last
        if gap <= 0:
            # Where four figures are not enough the numbers start again.
            if number != self.first_number:
                self.notes.add(
                    f"N{number:g} after N{last:g}: a block is doubled or out of its place", line,
                    column, sort="block numbers",
                )
        elif self.number_step == 0:
            self.number_step = gap
        elif self.number_step > 0 and gap != self.number_step:
            self.notes.add(
                f"N{number:g} after N{last:g}, where the numbers went on by "
                f"{self.number_step:g}: a block may be lost", line, column,
            )
            self.number_step = -1.0

    def _sorted(
        self, line: int, codes: Sequence[tuple[int, int]]
    ) -> tuple[dict[str, tuple[int, int]], int, bool, bool]:
        """G words by group, the one-shot word (−1 none), whether unknown ones are trusted.

        The last says whether the block's axis words belong to a word not carried out here.
        """
        modal: dict[str, tuple[int, int]] = {}
        once = -1
        others = owned = False
        dialect = self.dialect
        for code, column in codes:
            group = dialect.groups.get(code, "")
            if not group:
                name = f"G{code / 10:g}" if code >= 0 else "this G word"
                if ("G", code) in dialect.trusted:
                    others = True
                    # What it makes of its own axis words is its owner's to know: none is a move.
                    owned = True
                    self.tell("word", line, name)
                    self.notes.add(
                        f"{name} stands in the machine file's own blocks and is taken on trust",
                        line, column,
                    )
                else:
                    others = True
                    owned = self._other(line, name, code, column) or owned
            elif group == "exact stop":
                self.tell("word", line, "G9")
            elif group == "speed":
                pass
            elif group == "once":
                if once >= 0:
                    self.grave(
                        f"G{once / 10:g} and G{code / 10:g} in one block contradict each other",
                        line, column, unsure=FIGURES,
                    )
                once = code
            elif group in modal:
                first = modal[group][0]
                cancel = dialect.cancel
                if group == "motion" and (code in cancel) != (first in cancel):
                    # Safe start blocks have G0 and G80 side by side: the move word holds.
                    if first in cancel:
                        modal[group] = (code, column)
                elif first == code:
                    self.notes.add(f"G{code / 10:g} stands twice in one block", line, column)
                else:
                    self.grave(
                        f"G{first / 10:g} and G{code / 10:g} in one block contradict each other",
                        line, column, unsure=FIGURES,
                    )
                    modal[group] = (code, column)
            else:
                modal[group] = (code, column)
        return modal, once, others, owned

    def _other(self, line: int, name: str, code: int, column: int) -> bool:
        """A G word that is not carried out; true where the block's axis words are its own."""
        other = OTHERS.get(code)
        if other is None:
            self.unknown(
                f"{name} is not known here: what it makes the machine do is not shown", line,
                column, word=name,
            )
            return False
        if other.macro:
            self.refuse(f"{name}, {other.means}: what it does cannot be known from the text", line,
                        column)
        else:
            self.unknown(f"{name} is not carried out here; on many controls it is {other.means}",
                         line, column, other.unsure, f"{name} ({other.means})")
        return other.owns_axes

    def _modes(self, line: int, modal: dict[str, tuple[int, int]]) -> None:
        """Words that change how later words are read."""
        for group in ("units", "feed", "plane", "distance", "arc centres", "return height"):
            if group in modal:
                self.tell_word(line, group, modal[group][0])
        if "units" in modal:
            code, column = modal["units"]
            self.said.add("units")
            wanted = self.machine.program.units
            is_inch = code == 200
            if is_inch != (wanted == "inch"):
                self.notes.add(
                    f"G{code // 10} though the machine file says that programs are in "
                    f"{wanted}", line, column,
                )
            if self.moved_cutting and is_inch != (self.unit == 25.4):
                self.grave("units change in the middle of the program", line, column,
                           unsure=("places", "depths", "feeds", "time"))
            self.unit = 25.4 if is_inch else 1.0
        if "feed" in modal:
            code, _ = modal["feed"]
            if code != self.feed_mode:
                self.feed_mode = code
                self.feed = NAN
        if "plane" in modal:
            self.plane = {170: 2, 180: 1, 190: 0}[modal["plane"][0]]
        if "distance" in modal:
            self.absolute = modal["distance"][0] == 900
            self.said.add("distance")
        if "arc centres" in modal:
            self.centre_absolute = modal["arc centres"][0] == 901
        if "return height" in modal:
            self.to_level = modal["return height"][0] == 990

    # Whose the axis words of a block are: each word that takes them comes in turn.
    def _motion(  # noqa: C901
        self,
        line: int,
        modal: dict[str, tuple[int, int]],
        once: int,
        numbers: dict[str, float],
        columns: dict[str, int],
        used: set[str],
    ) -> None:
        """The block's move, if it has one. Adds the letters it uses to ``used``."""
        word = "motion" in modal
        if word:
            code = modal["motion"][0]
            if code in self.dialect.cancel:
                code = -1
                self.tell_word(line, "cycle", modal["motion"][0])
            elif code in self.dialect.cycles or self.motion in self.dialect.cycles:
                self.tell_word(line, "cycle", code)
            if code not in self.dialect.cycles:
                self.cycle.clear()
                self.return_level = None
            elif code != self.motion:
                self.cycle.clear()
            self.motion = code
        axes = [letter for letter in numbers if letter in self.dialect.axes]
        turning = self.dialect.rotary in numbers if self.dialect.rotary else False
        if self.dialect.second_rotary and self.dialect.second_rotary in numbers:
            self._second_rotary(line, numbers, columns, used)
        used.update(axes)
        if turning:
            used.add(self.dialect.rotary)
        if not self.started and (axes or turning):
            self._start(line)
        if once in (280, 300, 520, 530, 920, 921, 922, 923):
            if word and once != 530 and self.motion != -1 and (axes or turning):
                self.grave(
                    f"G{once / 10:g} and G{self.motion / 10:g} in one block both want its axis "
                    "words", line, modal["motion"][1], unsure=("places", "depths", "time"),
                )
            if once in (280, 300):
                self._reference(line, f"G{once // 10}", numbers, axes)
            elif once == 530:
                self._machine_move(line, numbers, axes, columns)
            else:
                self._shift(line, once, numbers, axes)
            return
        if self.motion in self.dialect.cycles:
            self._cycle(line, numbers, columns, axes, turning, used, word)
            return
        if word and modal["motion"][0] in self.dialect.cancel and (axes or turning):
            self.grave("axis words beside the word that ends a cycle", line,
                       unsure=("places", "depths", "time"))
            return
        if self.motion in (20, 30):
            centres = [letter for letter in CENTRES if letter in numbers]
            if axes or centres or "R" in numbers or turning:
                used.update(centres)
                used.add("R")
                self._arc(line, numbers, axes, centres, turning)
            return
        if not (axes or turning):
            return
        if self.motion == -1:
            letter = axes[0] if axes else self.dialect.rotary
            self.grave(
                f"{letter} with no move word in force (G0, G1, G2, G3): taken here for a rapid",
                line, columns[letter], unsure=("places", "depths", "time"),
            )
        target = self._target(line, numbers)
        if turning:
            self._turn(line, numbers, columns)
        self._straight(line, target, rapid=self.motion != 10, turning=turning)

    def _unused(
        self, letter: str, value: float, line: int, column: int,
        ending: Sequence[tuple[int, int]], modal: Mapping[str, tuple[int, int]],
    ) -> None:
        if ending:
            code = ending[0][0]
            if code in (98, self.dialect.call[1]) and letter in (self.dialect.call[0], *"PL"):
                return
            if letter in "DHIJKLPQR":
                self.unknown(
                    f"{letter} beside M{code}: on many controls it says where to go on instead, "
                    "or how often", line, column, word=f"{letter} beside M{code}")
                return
        if letter in "IJKRQ":
            self.unknown(f"{letter} without the word that uses it", line, column,
                         ("places", "depths", "time"))
        elif letter in "HD" and value:
            self.unknown(
                f"{letter}{value:g} without the word that uses it: on many controls it brings in "
                "another figure of the table", line, column,
                ("depths",) if letter == "H" else ("places",), letter)
        elif letter == "P" and "work offset" in modal:
            name = f"G{modal['work offset'][0] / 10:g} P{value:g}"
            self.unknown(f"{name}: on many controls another zero than G54 to G59", line, column,
                         ("places", "depths"), name)
        elif letter in "PLHD":
            self.notes.add(f"{letter} does nothing in this block", line, column)
        elif letter in "ABCUVW" or letter in "XYZ":
            self.unknown(
                f"{letter}: the machine file knows no such axis", line, column,
                ("turns", "time") if letter in "ABC" else ("places", "depths", "time"),
                f"axis {letter}",
            )
        else:
            self.unknown(f"{letter} is not a word known here", line, column, word=letter)

    def _ending(
        self,
        line: int,
        ending: Sequence[tuple[int, int]],
        numbers: dict[str, float],
        columns: dict[str, int],
        block: Block,
    ) -> Outcome | None:
        """M words that take effect after the motion."""
        outcome: Outcome | None = None
        dialect = self.dialect
        for code, column in ending:
            if code in dialect.ends:
                self.event("end", line, f"M{code}")
                self.sense = 0
                self.ended = True
                return Outcome("end")
            if code in (0, 1):
                text = block.comments[0] if block.comments else self.comment_at(line)
                self.event("stop" if code == 0 else "optional-stop", line, text)
                if code == 1 and not self.machine.optional_stop:
                    self.grave("M1, which the machine file says this control lacks", line, column)
            elif code in (98, dialect.call[1]):
                outcome = self._call(line, code, numbers, column)
            elif code in (99, dialect.back[1]):
                outcome = Outcome("return")
        return outcome

    def _call(
        self, line: int, code: int, numbers: dict[str, float], column: int
    ) -> Outcome | None:
        letter = self.dialect.call[0] if code == self.dialect.call[1] else "P"
        letter = letter if letter in numbers else "P"
        number = numbers.get(letter, -1.0)
        repeats = numbers.get("L", 1.0) if letter != "L" else 1.0
        if letter == "P" and "L" not in numbers and number > 9999:
            # Eight figures: how often, then which (common practice, no source). Other controls
            # take them all for one number.
            self.unknown(
                f"P{number:.0f}: {number % 10_000:.0f} called {number // 10_000:.0f} times, or one "
                "program of that number: controls differ", line, column,
                word=f"P{number:.0f}")
            repeats, number = divmod(number, 10_000)
        if number < 0 or number != int(number):
            self.unknown("a call without the number of a subprogram", line, column)
            return None
        if repeats != int(repeats) or not 0 <= repeats <= 10_000:
            self.unknown(f"a subprogram {repeats:g} times", line, column)
            return None
        return Outcome("call", int(number), int(repeats), column)
