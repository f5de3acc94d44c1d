"""One block after another, as a control carries them out.

The order in which the words of one block take effect is that of NISTIR 6556, "The NIST RS274NGC
Interpreter – Version 3" (from memory): comments, units and feed mode, feed, speed, cutter, spindle,
coolant, clamps, dwell, plane, offsets, distance mode, then the motion, stops last.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import Final, Literal

from camgen.faults import Fault, Place
from camgen.reader.drilling import Drilling
from camgen.reader.motion import FIGURES, Figure, Kind
from camgen.reader.moving import CENTRES
from camgen.reader.placing import Placing
from camgen.reader.state import NAN
from camgen.reader.words import Block, Word

__all__ = ["Control", "Outcome"]

# What an M word might change: it moves no axis (ISO 6983-1, from memory).
_OF_AN_ACTION: Final[tuple[Figure, ...]] = ("speeds", "cutters", "turns", "time")
# Where the spindle is started by hand, a message tells the operator how.
_BY_HAND: Final = re.compile(
    r"(?P<stop>STOP\s+(?:THE\s+)?SPINDLE|SPINDEL\s+HALT|ARRETER\s+LA\s+BROCHE)"
    r"|(?:SPINDLE\s+(?:CLOCKWISE|(?P<anti>ANTICLOCKWISE))(?:\s+AT)?"
    r"|SPINDEL\s+(?:RECHTSLAUF|(?P<links>LINKSLAUF))(?:\s+EIN)?(?:\s+MIT)?"
    r"|BROCHE\s+A\s+(?:DROITE|(?P<gauche>GAUCHE))(?:\s+EN\s+MARCHE)?(?:\s+A)?)"
    r"\s+(?P<speed>[0-9]{1,9})",
    re.IGNORECASE | re.ASCII,
)


class Outcome:
    """What follows a block: nothing, the end, a call of a subprogram, a return from one."""

    __slots__ = ("kind", "number", "repeats")

    def __init__(
        self, kind: Literal["end", "call", "return"], number: int = 0, repeats: int = 1
    ) -> None:
        self.kind = kind
        self.number = number
        self.repeats = repeats


class Control(Drilling, Placing):
    """Carries out blocks."""

    __slots__ = ()

    def block(self, line: int, block: Block) -> Outcome | None:
        """Carry out one block of text."""
        for trouble in block.troubles:
            if trouble.variable:
                self.refusals.append(
                    Fault(
                        trouble.message,
                        "let the control or the maker of this program write the figures out, and "
                        "read that",
                        Place(self.name, line, trouble.column),
                    )
                )
            else:
                self.unknown(trouble.message, line, trouble.column)
        for comment in block.comments:
            self._comment(line, comment)
        if not block.words:
            return None
        dialect = self.dialect
        values: dict[str, float] = {}
        columns: dict[str, int] = {}
        codes: list[tuple[int, int]] = []
        actions: list[tuple[int, int]] = []
        pointless: list[tuple[str, float, int]] = []
        count = self.words
        for letter, value, column, pointed in block.words:
            if letter == "G":
                code = round(value * 10)
                if abs(value * 10 - code) > 1e-6 or value < 0:
                    code = -1
                codes.append((code, column))
                name = f"G{value:g}"
            elif letter == "M":
                actions.append((int(value) if value == int(value) and value >= 0 else -1, column))
                name = f"M{value:g}"
            else:
                name = letter
                if letter in values:
                    self.grave(f"{letter} stands twice in one block", line, column,
                               unsure=FIGURES)
                if not pointed:
                    if letter in dialect.places:
                        value /= dialect.places[letter]
                    elif value and letter in dialect.pointed:
                        pointless.append((letter, value, column))
                values[letter] = value
                columns[letter] = column
            count[name] = count.get(name, 0) + 1
        # The X of a dwell is a time, which may be a whole number of milliseconds.
        if pointless and not any(code == 40 for code, _ in codes):
            for letter, value, column in pointless:
                self.grave(
                    f"{letter}{value:g} has no decimal point: read here as {value:g}, by some "
                    "controls as a number of their least steps", line, column,
                    sort="no decimal point", unsure=("places", "depths", "time"),
                )
        if self.ended:
            return None
        if "N" in values and self.numbered:
            self._number(line, values["N"], columns["N"])
        modal, once, others = self._sorted(line, codes)
        numbers = {letter: value for letter, value in values.items() if letter not in "NO"}
        self._modes(line, modal)
        if once == 40:
            self._dwell(line, block, numbers)
        self._feed_and_speed(line, numbers, columns)
        self._cutter(line, numbers, columns, actions)
        ending = self._actions(line, actions, block)
        used = self._offsets(line, modal, numbers, columns)
        self._motion(line, modal, once, numbers, columns, used)
        if others or any(("M", code) in dialect.trusted for code, _ in actions):
            used.update(numbers)
        for letter in numbers:
            if letter not in used:
                self._unused(letter, line, columns[letter], ending)
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
    ) -> tuple[dict[str, tuple[int, int]], int, bool]:
        """G words by group, the one-shot word (−1 none), and whether unknown ones are trusted."""
        modal: dict[str, tuple[int, int]] = {}
        once = -1
        others = False
        dialect = self.dialect
        for code, column in codes:
            group = dialect.groups.get(code, "")
            if not group:
                name = f"G{code / 10:g}" if code >= 0 else "this G word"
                if ("G", code) in dialect.trusted:
                    others = True
                    self.notes.add(
                        f"{name} stands in the machine file's own blocks and is taken on trust",
                        line, column,
                    )
                else:
                    self.unknown(
                        f"{name} is not known here: what it makes the machine do is not shown",
                        line, column,
                    )
            elif group == "exact stop":
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
        return modal, once, others

    def _modes(self, line: int, modal: dict[str, tuple[int, int]]) -> None:
        """Words that change how later words are read."""
        if not modal:
            return
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

    def _comment(self, line: int, text: str) -> None:
        if not text:
            return
        self.comment = (line, text)
        self.event("comment", line, text)
        if self.machine.comments.style == "none" and self.once("comments"):
            self.notes.add("a comment, though the machine file says the control reads none", line)
        self._message(line, text)

    def _message(self, line: int, text: str) -> None:
        """What the operator is told to do is as good as done."""
        dialect = self.dialect
        found = dialect.hand_message.search(text) if dialect.hand_message else None
        if found is not None:
            degrees = float(found["angle"])
            self.event("hand-index", line, text, degrees)
            if degrees != self.angle:
                self.angle = degrees
                self._emit(Kind.INDEX, line, self.position, NAN)
        found = dialect.change_message.search(text) if dialect.change_message else None
        if found is not None:
            self.told = int(found["cutter"][:9])
            self.told_text = found["text"].strip()
            if dialect.message_changes:
                self._change(line, self.told)
        if not self.machine.spindle_words.by_program:
            found = _BY_HAND.search(text)
            if found is not None and found["stop"]:
                self.sense = 0
            elif found is not None:
                anticlockwise = found["anti"] or found["links"] or found["gauche"]
                self.sense = -1 if anticlockwise else 1
                self.rate = float(found["speed"])
                self.said.discard("no spindle")

    def _dwell(self, line: int, block: Block, numbers: dict[str, float]) -> None:
        """G4: stay where the cutter is. Takes its word out of ``numbers``."""
        wanted = self.machine.dwell.word
        given: list[Word] = [
            word for word in block.words if word.letter in "PXFSU" and word.letter in numbers
        ]
        time = next((word for word in given if word.letter == wanted), None)
        if time is None:
            self.grave(f"G4 without its {wanted} word: how long is not said", line,
                       unsure=("time",))
            time = next((word for word in given if word.letter in "PX"), None)
            if time is None:
                return
        del numbers[time.letter]
        if time.value < 0:
            self.grave(f"a dwell of {time.value:g}", line, time.column)
            return
        self.event(
            "dwell", line, "", time.value / (1000.0 if self.machine.dwell.unit == "ms" else 1.0)
        )

    def _feed_and_speed(
        self, line: int, numbers: dict[str, float], columns: dict[str, int]
    ) -> None:
        if "F" in numbers:
            feed = numbers["F"]
            if not feed > 0:
                self.grave(f"a feed of {feed:g}", line, columns["F"])
                self.feed = NAN
            else:
                self.feed = feed
                self.feed_unit = self.unit
            self.said.discard("no feed")
        elif self.feed_mode == 930:
            # Inverse time holds for one block only (NISTIR 6556, from memory).
            self.feed = NAN
        if "S" in numbers:
            speed = numbers["S"]
            if speed < 0:
                self.grave(f"a spindle speed of {speed:g}", line, columns["S"])
                speed = 0.0
            spindle = self.machine.spindle
            if speed and not spindle.lowest <= speed <= spindle.highest:
                self.grave(
                    f"S{speed:g}: this spindle turns at {spindle.lowest:g} to "
                    f"{spindle.highest:g} rev/min", line, columns["S"], sort="spindle speed",
                )
            self.rate = speed
            self.said.discard("no spindle")

    def _cutter(
        self,
        line: int,
        numbers: dict[str, float],
        columns: dict[str, int],
        actions: Sequence[tuple[int, int]],
    ) -> None:
        dialect = self.dialect
        changing = any(code in dialect.change for code, _ in actions)
        if "T" in numbers:
            number = numbers["T"]
            if number != int(number) or number < 0:
                self.grave(f"T{number:g} is not the number of a cutter", line, columns["T"],
                           unsure=("cutters",))
            else:
                self.selected = int(number)
                # Without a changer there is nothing to get ready: T itself names the cutter.
                changing = changing or (
                    dialect.by_hand_change and self.selected != self.cutter
                )
        if not changing:
            return
        if not self.selected and self.once("no cutter number"):
            self.notes.add("a cutter change without T: which cutter is not said", line)
        if self.told and self.told != self.selected:
            self.grave(
                f"T{self.selected}, but the operator is told to fit cutter {self.told}",
                line, columns.get("T", 0), unsure=("cutters",),
            )
        self._change(line, self.selected)

    def _change(self, line: int, cutter: int) -> None:
        """Another cutter is in the spindle."""
        dialect = self.dialect
        if self.sense and self.moved_cutting:
            self.grave("a cutter change while the spindle is on", line)
        self.cutter = cutter
        self.event("cutter-change", line, self.told_text or self.comment_at(line), float(cutter))
        self.said.discard("no length offset")
        self.told, self.told_text = 0, ""
        if dialect.by_hand_change:
            if dialect.touch_off:
                self.lost = {0, 1, 2}
        else:
            self.sense = 0
            if not self.lost:
                self.position[2] = math.inf * dialect.signs[2]

    def _actions(
        self, line: int, actions: Sequence[tuple[int, int]], block: Block
    ) -> list[tuple[int, int]]:
        """M words that take effect before the motion; gives back those that come after it."""
        if not actions:
            return []
        dialect = self.dialect
        after: list[tuple[int, int]] = []
        senses = 0
        for code, column in actions:
            if code in dialect.clockwise or code in dialect.anticlockwise or code in dialect.stop:
                senses += 1
                if senses == 2:
                    self.grave("two spindle words in one block contradict each other", line,
                               column, unsure=("speeds",))
                self._spindle(line, code, column)
            elif code in dialect.ends or code in (0, 1, 98, 99, dialect.call[1], dialect.back[1]):
                after.append((code, column))
            elif code in dialect.change:
                pass
            elif code in dialect.coolant:
                self.event("coolant", line, dialect.coolant[code])
            elif code == dialect.clamp:
                self.event("clamp", line)
            elif code == dialect.unclamp:
                self.event("unclamp", line)
            elif code in (48, 49) or ("M", code) in dialect.trusted:
                self.notes.add(f"M{code} is taken on trust: nothing is shown of it", line, column)
            else:
                name = f"M{code}" if code >= 0 else "this M word"
                self.unknown(
                    f"{name} is not known here: what it makes the machine do is not shown",
                    line, column, _OF_AN_ACTION,
                )
        if len(after) > 1:
            self.grave("two words in one block that stop or end the program", line, after[1][1])
        return after

    def _spindle(self, line: int, code: int, column: int) -> None:
        if code in self.dialect.stop:
            self.sense = 0
            return
        self.sense = 1 if code in self.dialect.clockwise else -1
        self.said.discard("no spindle")
        word = "clockwise" if self.sense > 0 else "anticlockwise"
        if word not in self.machine.spindle.senses:
            self.grave(f"M{code}: this spindle does not turn {word}", line, column)
        if not self.rate:
            self.grave(f"M{code} without a speed: S is missing", line, column)

    def _offsets(
        self,
        line: int,
        modal: dict[str, tuple[int, int]],
        numbers: dict[str, float],
        columns: dict[str, int],
    ) -> set[str]:
        """Cutter side and length, work offset; gives back the letters used up."""
        used = {"F", "S", "T"}
        if "cutter side" in modal:
            code, column = modal["cutter side"]
            self.side = code
            if code != 400:
                used.add("D")
                self.grave(
                    f"G{code // 10}: the control moves the cutter aside by a figure of its own "
                    "table; the way shown is the one written", line, column,
                    unsure=("places", "time"),
                )
        if "cutter length" in modal:
            code, column = modal["cutter length"]
            if code == 490:
                self.length_offset = 0
            else:
                used.add("H")
                self._length_offset(line, numbers, column)
        if "work offset" in modal:
            self._work_offset(line, *modal["work offset"])
        if "path" in modal and modal["path"][0] == 640:
            used.update("PQ")
        return used

    def _length_offset(self, line: int, numbers: dict[str, float], column: int) -> None:
        number = numbers.get("H", -1.0)
        if self.dialect.touch_off:
            self.grave(
                "G43 though the machine file says that lengths are touched off: the figure in the "
                "control's table is not known", line, column, unsure=("depths",),
            )
        if number < 0 or number != int(number):
            self.grave("G43 without the number H of its figure", line, column,
                       unsure=("depths",))
            return
        self.length_offset = int(number)
        self.said.discard("no length offset")
        if self.cutter and self.length_offset != self.cutter:
            self.grave(
                f"G43 H{self.length_offset} while cutter {self.cutter} is in the spindle",
                line, column, unsure=("depths",),
            )

    def _work_offset(self, line: int, code: int, column: int) -> None:
        stations = self.dialect.stations or (540,)
        self.said.add("work offset")
        if code == self.work:
            return
        if code not in stations:
            self.grave(
                f"G{code / 10:g} though the machine file's programs use "
                f"{', '.join(f'G{known / 10:g}' for known in stations)}: another zero",
                line, column,
            )
        elif self.work:
            self.notes.add(
                f"G{code / 10:g} after G{self.work / 10:g}: how the zeros of stations lie to each "
                "other is not known here; all are shown as one", line, column,
                sort="another station",
            )
        elif code != stations[0]:
            self.notes.add(
                f"begins with G{code / 10:g}, the zero of station {stations.index(code) + 1}",
                line, column,
            )
        if self.work:
            if self.cutting:
                self.grave(
                    f"G{code / 10:g} while the cutter is down: the zero changes before it has gone "
                    "clear", line, column,
                )
            self.position = [NAN, NAN, NAN]
            self.lost = {0, 1, 2}
        self.work = code
        self.station = stations.index(code) + 1 if code in stations else 0

    def _motion(
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
                self._reference(line, numbers, axes)
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
        self, letter: str, line: int, column: int, ending: Sequence[tuple[int, int]]
    ) -> None:
        if ending and letter in "PLQH":
            return
        if letter in "IJKRQ":
            self.unknown(f"{letter} without the word that uses it", line, column,
                         ("places", "depths", "time"))
        elif letter in "PLHD":
            self.notes.add(f"{letter} does nothing in this block", line, column)
        elif letter in "ABCUVW" or letter in "XYZ":
            self.unknown(
                f"{letter}: the machine file knows no such axis", line, column,
                ("turns", "time") if letter in "ABC" else ("places", "depths", "time"),
            )
        else:
            self.unknown(f"{letter} is not a word known here", line, column)

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
                if "P" in numbers and dialect.call[0] != "P":
                    self.unknown("a return to a numbered block is not followed here", line, column)
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
            # Eight figures: how often, then which (common practice, no source).
            repeats, number = divmod(number, 10_000)
        if number < 0 or number != int(number):
            self.unknown("a call without the number of a subprogram", line, column)
            return None
        if repeats != int(repeats) or not 0 <= repeats <= 10_000:
            self.unknown(f"a subprogram {repeats:g} times", line, column)
            return None
        return Outcome("call", int(number), int(repeats))
