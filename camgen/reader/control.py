"""One block after another, as a control carries them out.

The order in which the words of one block take effect is that of NISTIR 6556, "The NIST RS274NGC
Interpreter – Version 3" (from memory): comments, units and feed mode, feed, speed, cutter, spindle,
coolant, clamps, dwell, plane, offsets, distance mode, then the motion, stops last.

Places are kept in the control's own sense of each axis, mm, in the frame of the first work offset
without local shifts. ``nan`` is a place nobody knows; ``inf`` along Z is "up, out of the way".
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final, Literal, TypeAlias

from camgen.faults import Fault, Place
from camgen.reader.arcs import CLOSING, centre_from_radius, closing_error
from camgen.reader.cycles import Hole, strokes
from camgen.reader.dialect import Dialect
from camgen.reader.motion import Event, EventKind, Kind
from camgen.reader.notes import Notes
from camgen.reader.words import Block, Word
from camgen.shop.machine import Machine

__all__ = ["COLUMNS", "PLANES", "Control", "Outcome", "Row"]

COLUMNS: Final = 14
Row: TypeAlias = tuple[
    float, float, float, float, float, float, float, float, float, float, float, float, float, float
]
"""kind, line, end X Y Z, centre X Y Z, plane, turns, angle, feed, speed, cutter."""

# The two axes of the plane whose normal is X, Y, Z: ISO 841's order, so that anticlockwise turns
# the first towards the second.
PLANES: Final = ((1, 2), (2, 0), (0, 1))
NAN: Final = math.nan
_CENTRES: Final = "IJK"
_AXES: Final = "XYZ"
# Where the spindle is started by hand, a message tells the operator how.
_BY_HAND: Final = re.compile(
    r"(?P<stop>STOP)\s+(?:THE\s+)?SPINDLE"
    r"|SPINDLE\s+(?P<anti>ANTI)?CLOCKWISE(?:\s+AT)?\s+(?P<speed>[0-9]{1,9})",
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


@dataclass(slots=True)
class Control:
    """A control's state, and what it has done so far."""

    machine: Machine
    dialect: Dialect
    name: str
    notes: Notes
    rows: list[Row] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    refusals: list[Fault] = field(default_factory=list)
    words: dict[str, int] = field(default_factory=dict)
    made_before: int = 0
    angle_before: float = 0.0

    motion: int = -1
    plane: int = 2
    absolute: bool = True
    centre_absolute: bool = False
    unit: float = 1.0
    feed_mode: int = 940
    feed: float = NAN
    feed_unit: float = 1.0
    side: int = 400
    length_offset: int = 0
    work: int = 0
    to_level: bool = False
    position: list[float] = field(default_factory=lambda: [NAN, NAN, NAN])
    shift: list[float] = field(default_factory=lambda: [0.0, 0.0, 0.0])
    old_shift: list[float] = field(default_factory=lambda: [0.0, 0.0, 0.0])
    lost: set[int] = field(default_factory=lambda: {0, 1, 2})
    angle: float = 0.0
    rate: float = 0.0
    sense: int = 0
    cutter: int = 0
    selected: int = 0
    cycle: dict[str, float] = field(default_factory=dict)
    return_level: float | None = None
    said: set[str] = field(default_factory=set)
    ended: bool = False
    last_comment: str = ""
    told: int = 0
    told_text: str = ""
    moved_cutting: bool = False
    started: bool = False

    def __post_init__(self) -> None:
        self.unit = 25.4 if self.machine.program.units == "inch" else 1.0
        self.centre_absolute = self.machine.arcs.style == "absolute"
        self.to_level = self.machine.cycles.return_level in ("G99", "none")
        stands_at = self.machine.offsets.stands_at
        if stands_at is not None:
            self.position = list(stands_at)
            self.lost = set()

    # What has been done so far, and notes about it

    @property
    def made(self) -> int:
        """Pieces of motion made so far."""
        return self.made_before + len(self.rows)

    @property
    def speed(self) -> float:
        """The spindle's speed, rev/min, signed."""
        return self.sense * self.rate

    def event(self, kind: EventKind, line: int, text: str = "", value: float = 0.0) -> None:
        """Note something done besides moving."""
        self.events.append(Event(kind, line, self.made, text, value))

    def grave(self, message: str, line: int, column: int = 0, sort: str = "") -> None:
        """Note something for which this program must not be run."""
        self.notes.add(message, line, column, grave=True, sort=sort)

    def once(self, key: str) -> bool:
        """Whether ``key`` is said for the first time."""
        if key in self.said:
            return False
        self.said.add(key)
        return True

    # One block

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
                self.grave(trouble.message, line, trouble.column)
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
                    self.grave(f"{letter} stands twice in one block", line, column)
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
                    sort="no decimal point",
                )
        if self.ended:
            return None
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
                    self.grave(
                        f"{name} is not known here: what it makes the machine do is not shown",
                        line, column,
                    )
            elif group == "exact stop":
                pass
            elif group == "once":
                if once >= 0:
                    self.grave(
                        f"G{once / 10:g} and G{code / 10:g} in one block contradict each other",
                        line, column,
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
                        line, column,
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
                self.grave("units change in the middle of the program", line, column)
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
        self.last_comment = text
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
                self.sense = -1 if found["anti"] else 1
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
            self.grave(f"G4 without its {wanted} word: how long is not said", line)
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
                self.grave(f"T{number:g} is not the number of a cutter", line, columns["T"])
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
                line, columns.get("T", 0),
            )
        self._change(line, self.selected)

    def _change(self, line: int, cutter: int) -> None:
        """Another cutter is in the spindle."""
        dialect = self.dialect
        if self.sense and self.moved_cutting:
            self.grave("a cutter change while the spindle is on", line)
        self.cutter = cutter
        self.event("cutter-change", line, self.told_text or self.last_comment, float(cutter))
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
                    self.grave("two spindle words in one block contradict each other", line, column)
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
                self.grave(
                    f"{name} is not known here: what it makes the machine do is not shown",
                    line, column,
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
                "control's table is not known", line, column,
            )
        if number < 0 or number != int(number):
            self.grave("G43 without the number H of its figure", line, column)
            return
        self.length_offset = int(number)
        self.said.discard("no length offset")
        if self.cutter and self.length_offset != self.cutter:
            self.grave(
                f"G43 H{self.length_offset} while cutter {self.cutter} is in the spindle",
                line, column,
            )

    def _work_offset(self, line: int, code: int, column: int) -> None:
        wanted = self.machine.offsets.work
        own = round(float(wanted[1:]) * 10) if wanted else 540
        if self.work and code != self.work:
            self.grave(
                f"G{code / 10:g} after G{self.work / 10:g}: how the two zeros lie to each other is "
                "not known; both are shown as one", line, column,
            )
            self.position = [NAN, NAN, NAN]
        elif code != own:
            self.grave(
                f"G{code / 10:g} though the machine file's programs use G{own / 10:g}: another "
                "zero", line, column,
            )
        self.work = code
        self.said.add("work offset")

    # Motion

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
                    "words", line, modal["motion"][1],
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
            self.grave("axis words beside the word that ends a cycle", line)
            return
        if self.motion in (20, 30):
            centres = [letter for letter in _CENTRES if letter in numbers]
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
                line, columns[letter],
            )
        target = self._target(line, numbers)
        if turning:
            self._turn(line, numbers, columns)
        self._straight(line, target, rapid=self.motion != 10, turning=turning)

    def _start(self, line: int) -> None:
        """At the first move: words a program must say, or the control keeps the last one's."""
        self.started = True
        machine = self.machine
        if machine.program.units_word and "units" not in self.said:
            self.grave("neither G20 nor G21 before the first move: which units is not said", line)
        if "distance" not in self.said:
            self.grave(
                "neither G90 nor G91 before the first move: places or distances is not said", line
            )
        if machine.offsets.work and "work offset" not in self.said:
            self.notes.add(
                f"no {machine.offsets.work} before the first move: the control keeps the zero last "
                "used", line,
            )
        missing = [word for word in machine.program.safe_words if word not in self.words]
        if missing:
            self.notes.add(
                f"no {' '.join(missing)} before the first move: the control keeps what was last in "
                "force", line,
            )

    def _target(self, line: int, numbers: dict[str, float]) -> list[float]:
        """Where the block's axis words lead."""
        target = list(self.position)
        for letter, axis in self.dialect.axes.items():
            if letter not in numbers:
                continue
            value = numbers[letter] * self.unit
            if self.absolute:
                target[axis] = value + self.shift[axis]
            else:
                target[axis] += value
                if not math.isfinite(target[axis]) and self.once(f"from nowhere {axis}"):
                    self.grave(
                        f"{letter} by a distance, from a place that is not known", line
                    )
        return target

    def _turn(self, line: int, numbers: dict[str, float], columns: dict[str, int]) -> None:
        """Where the rotary word leads."""
        letter = self.dialect.rotary
        value = numbers[letter]
        way = self.machine.rotary.way
        if not self.absolute:
            self.angle += value
            return
        if way in ("absolute", "incremental"):
            self.angle = value
            return
        if not -360.0 <= value <= 360.0 or (value < 0 and way != "signed"):
            self.grave(
                f"{letter}{value:g}: this control counts from 0 to 360", line, columns[letter]
            )
        if way == "one-way":
            self.angle += round(value - self.angle, 9) % 360.0
        elif way == "signed":
            if math.copysign(1.0, value) > 0:
                self.angle += round(value - self.angle, 9) % 360.0
            else:
                self.angle -= round(self.angle + value, 9) % 360.0
        else:
            turn = (round(value - self.angle, 9) + 180.0) % 360.0 - 180.0
            if turn == -180.0:
                self.grave(
                    f"{letter}{value:g} is half a turn away: which way round is not certain",
                    line, columns[letter],
                )
            self.angle += turn

    def _second_rotary(
        self, line: int, numbers: dict[str, float], columns: dict[str, int], used: set[str]
    ) -> None:
        letter = self.dialect.second_rotary
        used.add(letter)
        if numbers[letter] != self.dialect.second_stands_at:
            self.grave(
                f"{letter}{numbers[letter]:g}: this axis is to stand at "
                f"{self.dialect.second_stands_at:g}", line, columns[letter],
            )

    def _emit(
        self,
        kind: Kind,
        line: int,
        end: Sequence[float],
        feed: float,
        centre: Sequence[float] = (NAN, NAN, NAN),
        turns: int = 0,
    ) -> None:
        self.rows.append(
            (
                float(kind), float(line), end[0], end[1], end[2], centre[0], centre[1], centre[2],
                float(self.plane), float(turns), self.angle, feed, self.sense * self.rate,
                float(self.cutter),
            )
        )

    def _straight(
        self, line: int, target: list[float], *, rapid: bool, turning: bool = False
    ) -> None:
        """A straight move, or an index where only the dividing head turns."""
        before = self.position
        given = {axis for axis in range(3) if target[axis] is not before[axis]}
        moved = [
            axis
            for axis in range(3)
            if target[axis] != before[axis]
            and not (math.isnan(target[axis]) and math.isnan(before[axis]))
        ]
        if rapid:
            self._clear_first(line, given, turning)
        self.lost -= given
        if not rapid and (moved or turning):
            self._place_known(line, target)
        self.position = target
        if not moved:
            if turning and self.angle != self._last_angle():
                self._emit(
                    Kind.INDEX, line, target, NAN if rapid else self._rotary_feed(line)
                )
            return
        if rapid:
            self._emit(Kind.RAPID, line, target, NAN)
            return
        length = math.sqrt(sum((target[axis] - before[axis]) ** 2 for axis in moved))
        self._cutting(line)
        self._emit(Kind.LINE, line, target, self._path_feed(line, length))

    def _last_angle(self) -> float:
        return self.rows[-1][10] if self.rows else self.angle_before

    def _clear_first(self, line: int, given: set[int], turning: bool) -> None:
        """Moving across before the cutter is known to be clear."""
        if not self.lost:
            return
        clear = self.dialect.retract_axes
        if clear - self.lost or (given and given <= clear):
            return
        if (given or turning) and self.once("across"):
            self.grave(
                "moves across before it has gone clear: the height of the cutter is not known "
                "here", line,
            )

    def _place_known(self, line: int, target: Sequence[float]) -> None:
        """Cutting from, or to, a place that is not known."""
        unknown = [
            axis for axis in range(3) if axis in self.lost or not math.isfinite(target[axis])
        ]
        if not unknown:
            return
        names = " and ".join(_AXES[axis] for axis in unknown)
        if self.once(f"cuts {names}"):
            grave = 2 in unknown or any(not math.isfinite(value) for value in target)
            self.notes.add(
                f"cuts before {names} has been given: where is not known", line, grave=grave
            )

    def _cutting(self, line: int) -> None:
        """What must be in order before metal is touched."""
        self.moved_cutting = True
        if self.sense * self.rate == 0.0 and self.machine.spindle_words.by_program and self.once(
            "no spindle"
        ):
            self.grave("a feed move with the spindle off", line)
        if (
            not self.dialect.touch_off
            and not self.length_offset
            and self.once("no length offset")
        ):
            self.grave("a feed move with no cutter length in force: G43 H is missing", line)

    def _path_feed(self, line: int, length: float) -> float:
        """Feed along the path, mm/min; nan where none is known."""
        if math.isnan(self.feed):
            self._no_feed(line)
            return NAN
        if self.feed_mode == 940:
            return self.feed * self.feed_unit
        if self.feed_mode == 930:
            return self.feed * length
        return self.feed * self.feed_unit * abs(self.speed)

    def _rotary_feed(self, line: int) -> float:
        """Feed of a move that only turns, degrees/min."""
        if math.isnan(self.feed):
            self._no_feed(line)
            return NAN
        if self.feed_mode == 930:
            return self.feed * abs(self.angle - self._last_angle())
        return self.feed if self.feed_mode == 940 else self.feed * abs(self.speed)

    def _no_feed(self, line: int) -> None:
        if self.feed_mode == 930:
            self.grave("G93 wants F in every block that cuts", line)
        elif self.once("no feed"):
            self.grave("a feed move without a feed: F is missing", line)

    def _arc(
        self,
        line: int,
        numbers: dict[str, float],
        axes: Sequence[str],
        centres: Sequence[str],
        turning: bool,
    ) -> None:
        """G2 and G3."""
        clockwise = self.motion == 20
        target = self._target(line, numbers)
        first, second = PLANES[self.plane]
        before = self.position
        start = (before[first], before[second])
        end = (target[first], target[second])
        self.lost -= {self.dialect.axes[letter] for letter in axes}
        self.position = target
        if turning:
            self.grave("an arc that turns the dividing head at once", line)
        if not all(map(math.isfinite, (*start, *end, before[self.plane], target[self.plane]))):
            self.grave("an arc from a place that is not known", line)
            return
        centre = self._centre(line, numbers, centres, start, end, clockwise)
        if centre is None:
            return
        radius = math.sqrt((start[0] - centre[0]) ** 2 + (start[1] - centre[1]) ** 2)
        if radius == 0.0:
            self.grave("an arc of no radius: its centre is its start", line)
            return
        off = closing_error(start, end, centre)
        if off > CLOSING:
            self.grave(
                f"an arc that does not close: its end lies {off:.4f} mm off the circle through "
                f"its start; {CLOSING} is allowed", line, sort="an arc that does not close",
            )
        self._place_known(line, target)
        self._cutting(line)
        third = target[self.plane] - before[self.plane]
        length = NAN
        if self.feed_mode == 930:
            turn = math.atan2(end[1] - centre[1], end[0] - centre[0]) - math.atan2(
                start[1] - centre[1], start[0] - centre[0]
            )
            turn = (-turn if clockwise else turn) % math.tau
            if start == end:
                turn = math.tau
            length = math.sqrt((turn * radius) ** 2 + third**2)
        whole = [NAN, NAN, NAN]
        whole[first], whole[second] = centre
        self._emit(
            Kind.ARC_CLOCKWISE if clockwise else Kind.ARC_ANTICLOCKWISE,
            line, target, self._path_feed(line, length), whole,
        )

    def _centre(
        self,
        line: int,
        numbers: dict[str, float],
        centres: Sequence[str],
        start: tuple[float, float],
        end: tuple[float, float],
        clockwise: bool,
    ) -> tuple[float, float] | None:
        """The arc's centre in its plane, None where it has none."""
        wanted = [_CENTRES[axis] for axis in PLANES[self.plane]]
        given = [letter for letter in centres if letter in wanted]
        for letter in centres:
            if letter not in wanted:
                self.grave(
                    f"{letter} is not in the arc's plane", line, sort="centre out of the plane"
                )
        if "R" in numbers and given:
            self.grave("an arc with both its centre and R: controls differ in which holds", line)
        if given:
            if self.centre_absolute:
                if len(given) < 2:
                    self.grave(
                        "an arc with one half of an absolute centre", line
                    )
                    return None
                first, second = PLANES[self.plane]
                return (
                    numbers[wanted[0]] * self.unit + self.shift[first],
                    numbers[wanted[1]] * self.unit + self.shift[second],
                )
            return (
                start[0] + numbers.get(wanted[0], 0.0) * self.unit,
                start[1] + numbers.get(wanted[1], 0.0) * self.unit,
            )
        if "R" in numbers:
            try:
                return centre_from_radius(start, end, numbers["R"] * self.unit, clockwise)
            except ValueError as no:
                self.grave(str(no), line, sort="an arc by radius that cannot be")
                return None
        self.grave("an arc with neither centre nor radius", line)
        return None

    # Fixed cycles

    def _cycle(
        self,
        line: int,
        numbers: dict[str, float],
        columns: dict[str, int],
        axes: Sequence[str],
        turning: bool,
        used: set[str],
        word: bool,
    ) -> None:
        """A hole, or L of them, by a fixed cycle."""
        kind = self.dialect.cycles[self.motion]
        letters = "RQPLK" + ("IJ" if kind in ("fine-bore", "back-bore") else "")
        taken = [letter for letter in letters if letter in numbers]
        used.update(taken)
        drill = self.plane
        letter_of = {axis: letter for letter, axis in self.dialect.axes.items()}
        deep = letter_of[drill]
        for letter in (deep, "R", "Q", "P", "I", "J", "K"):
            if letter in numbers and (letter not in "IJK" or letter in letters):
                scale = 1.0 if letter == "P" else self.unit
                self.cycle[letter] = numbers[letter] * scale
        if turning:
            self._turn(line, numbers, columns)
        if not axes:
            if turning:
                self._straight(line, list(self.position), rapid=True, turning=True)
            elif word and not taken:
                self.notes.add("a fixed cycle with nowhere to drill in its block", line)
            return
        missing = [letter for letter in (deep, "R") if letter not in self.cycle]
        if missing:
            self.grave(f"a fixed cycle without {' and '.join(missing)}", line)
            return
        repeats = numbers.get("L", 1.0 if kind == "back-bore" else numbers.get("K", 1.0))
        if repeats != int(repeats) or not 0 <= repeats <= 10_000:
            self.grave(f"a fixed cycle {repeats:g} times", line)
            return
        if repeats == 0:
            return
        start = list(self.position)
        if not math.isfinite(start[drill]) and self.once("cycle from nowhere"):
            self.grave("a fixed cycle from a height that is not known", line)
        level, bottom = self.cycle["R"], self.cycle[deep]
        if self.absolute:
            level += self.shift[drill]
            bottom += self.shift[drill]
        else:
            level += start[drill]
            bottom += level
        if not bottom <= level:
            self.grave("a fixed cycle whose R lies below its bottom", line)
            return
        if self.return_level is None:
            self.return_level = start[drill]
        clear = level if self.to_level else max(self.return_level, level)
        if math.isnan(clear):
            clear = level
        flat = {letter: numbers[letter] for letter in axes if letter != deep}
        for _ in range(int(repeats)):
            if not start[drill] >= level:
                start[drill] = level
                self._straight(line, list(start), rapid=True)
            target = self._target(line, flat)
            target[drill] = self.position[drill]
            self._straight(line, list(target), rapid=True, turning=turning)
            target[drill] = level
            self._straight(line, list(target), rapid=True)
            self.lost.discard(drill)
            if not self._hole(line, kind, drill, bottom, level, clear):
                return
            start = list(self.position)

    def _hole(
        self, line: int, kind: str, drill: int, bottom: float, level: float, clear: float
    ) -> bool:
        """Carry out one hole's strokes at the present place; False where it cannot be done."""
        first, second = PLANES[drill]
        across, along = self.cycle.get(_CENTRES[first], 0.0), self.cycle.get(_CENTRES[second], 0.0)
        counter = self.cycle.get("K", 0.0)
        hole = Hole(
            kind, bottom, level, clear,
            bite=self.cycle.get("Q", 0.0),
            dwell=self.cycle.get("P", 0.0) / (1000.0 if self.machine.dwell.unit == "ms" else 1.0),
            shift=(across, along),
            counterbore=counter + self.shift[drill] if self.absolute else bottom + counter,
        )
        if kind in ("drill-dwell", "bore-dwell") and "P" not in self.cycle and self.once("P"):
            self.grave("a fixed cycle with a dwell, but P is missing", line)
        if kind == "fine-bore" and not (across or along) and self.once("shift"):
            self.notes.add(
                "fine boring: which way the cutter is moved off the wall is set in the control and "
                "not shown", line,
            )
        sense = self.sense
        try:
            for stroke in strokes(hole):
                place = list(self.position)
                if stroke.kind == "shift":
                    place[first] += stroke.value
                    place[second] += stroke.across
                    self._straight(line, place, rapid=True)
                elif stroke.kind == "dwell":
                    if stroke.value:
                        self.event("dwell", line, "", stroke.value)
                elif stroke.kind == "spindle":
                    self.sense = int(stroke.value) * sense
                elif stroke.kind == "stop":
                    self.event("stop", line, "draw the cutter out by hand")
                else:
                    place[drill] = stroke.value
                    self._straight(line, place, rapid=stroke.kind == "rapid")
        except ValueError as no:
            self.grave(str(no), line)
            return False
        finally:
            self.sense = sense
        return True

    # Moves in other coordinates

    def _reference(self, line: int, numbers: dict[str, float], axes: Sequence[str]) -> None:
        """G28 and G30: by the middle point to the reference point."""
        turning = bool(self.dialect.rotary) and self.dialect.rotary in numbers
        if axes:
            # G91 G28 Z0 is the usual way to say "from here", also where "here" is not known.
            still = {letter for letter in axes if not self.absolute and numbers[letter] == 0}
            by = {letter: value for letter, value in numbers.items() if letter not in still}
            self._straight(line, self._target(line, by), rapid=True)
        named = [self.dialect.axes[letter] for letter in axes]
        if not axes and not turning:
            named = [0, 1, 2]
            self.notes.add("all axes go to the reference point at once", line)
        self._away(line, named)
        if turning:
            self.angle = 0.0
            self._straight(line, list(self.position), rapid=True, turning=True)

    def _machine_move(
        self,
        line: int,
        numbers: dict[str, float],
        axes: Sequence[str],
        columns: dict[str, int],
    ) -> None:
        """G53: to a place in machine coordinates."""
        if self.motion not in (0, 10):
            self.grave("G53 wants G0 or G1 in force", line)
        if not self.absolute:
            self.grave("G53 with distances (G91) in force: controls differ in what they do", line)
        low = False
        for letter in axes:
            if self.dialect.axes[letter] != 2:
                continue
            low = numbers[letter] * self.unit < self.machine.retract.machine_z - 1e-9
            if low:
                self.grave(
                    f"G53 {letter}{numbers[letter]:g} is below the height that the machine file "
                    "calls safe: how high that is over the work is not known", line,
                    columns[letter],
                )
        self._away(line, [self.dialect.axes[letter] for letter in axes], low=low)

    def _away(self, line: int, axes: Sequence[int], *, low: bool = False) -> None:
        """The axes go where the program's own figures do not reach: Z up, the others aside.

        ``low``: Z too goes nobody knows where.
        """
        self.position = list(self.position)
        for axis in axes:
            self.lost.discard(axis)
            up = axis == 2 and not low
            self.position[axis] = math.inf * self.dialect.signs[2] if up else NAN
        if axes:
            self._emit(Kind.RAPID, line, self.position, NAN)

    def _shift(
        self, line: int, once: int, numbers: dict[str, float], axes: Sequence[str]
    ) -> None:
        """G52 and G92: the zero is shifted."""
        if once == 921:
            self.shift = [0.0, 0.0, 0.0]
            self.old_shift = [0.0, 0.0, 0.0]
        elif once == 922:
            self.old_shift, self.shift = list(self.shift), [0.0, 0.0, 0.0]
        elif once == 923:
            self.shift = list(self.old_shift)
        elif not axes and not (self.dialect.rotary and self.dialect.rotary in numbers):
            self.notes.add(f"G{once // 10} without axis words", line)
        for letter in axes:
            axis = self.dialect.axes[letter]
            value = numbers[letter] * self.unit
            if once == 520:
                self.shift[axis] = value
            elif math.isfinite(self.position[axis]):
                self.shift[axis] = self.position[axis] - value
                self.lost.discard(axis)
            else:
                # The first zero said of an axis is the program's zero.
                self.position[axis] = value + self.shift[axis]
                self.lost.discard(axis)
        if self.dialect.rotary and self.dialect.rotary in numbers:
            self.grave("G92 of the dividing head: its angles would be counted from elsewhere", line)

    # Endings

    def _unused(
        self, letter: str, line: int, column: int, ending: Sequence[tuple[int, int]]
    ) -> None:
        if ending and letter in "PLQH":
            return
        if letter in "IJKRQ":
            self.grave(f"{letter} without the word that uses it", line, column)
        elif letter in "PLHD":
            self.notes.add(f"{letter} does nothing in this block", line, column)
        elif letter in "ABCUVW" or letter in _AXES:
            self.grave(f"{letter}: the machine file knows no such axis", line, column)
        else:
            self.grave(f"{letter} is not a word known here", line, column)

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
                text = block.comments[0] if block.comments else self.last_comment
                self.event("stop" if code == 0 else "optional-stop", line, text)
                if code == 1 and not self.machine.optional_stop:
                    self.grave("M1, which the machine file says this control lacks", line, column)
            elif code in (98, dialect.call[1]):
                outcome = self._call(line, code, numbers, column)
            elif code in (99, dialect.back[1]):
                if "P" in numbers and dialect.call[0] != "P":
                    self.grave("a return to a numbered block is not followed here", line, column)
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
            self.grave("a call without the number of a subprogram", line, column)
            return None
        if repeats != int(repeats) or not 0 <= repeats <= 10_000:
            self.grave(f"a subprogram {repeats:g} times", line, column)
            return None
        return Outcome("call", int(number), int(repeats))

