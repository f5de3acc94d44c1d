"""Words that switch something: spindle, feed, cutter, coolant, clamps, offsets; and messages."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import Final

from camgen.reader.dialect import is_a_name
from camgen.reader.drilling import Drilling
from camgen.reader.motion import Figure, Kind
from camgen.reader.placing import Placing
from camgen.reader.state import NAN, WATCHED
from camgen.reader.words import Block, Word

__all__ = ["Switching"]

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


class Switching(Drilling, Placing):
    """Switches things on and off."""

    __slots__ = ()

    def _comment(self, line: int, text: str) -> None:
        if not text:
            self.tell("blank", line)
            return
        self.comment = (line, text)
        self.event("comment", line, text)
        if self.machine.comments.style == "none" and self.once("comments"):
            self.notes.add("a comment, though the machine file says the control reads none", line)
        if not is_a_name(text):
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
            if found is not None:
                self.tell("spindle", line, "by hand", self.speed)

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
        beside = [word for word in block.words if word is not time and word.letter in numbers and (
            word.letter in "PXU" or word.letter in self.dialect.axes
            or word.letter == self.dialect.rotary)]
        if beside:
            self.grave(f"{beside[0].letter} beside the time of a dwell: some controls move, and "
                       "others do not", line, beside[0].column, unsure=("places", "time"))
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
            changed = self.sense and speed != self.rate
            self.rate = speed
            if changed:
                self.tell("spindle", line, "S", self.speed)
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
            if "T" in numbers:
                self.tell("word", line, "T", self.selected)
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
            self.tell("spindle", line, "change", 0.0)
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
        senses: set[int] = set()
        for code, column in actions:
            if code in dialect.clockwise or code in dialect.anticlockwise or code in dialect.stop:
                if senses - {code} and len(senses) == 1:
                    self.grave("two spindle words in one block contradict each other", line,
                               column, unsure=("speeds",))
                senses.add(code)
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
            elif code in (48, 49):
                self.tell("word", line, f"M{code}")
                self.notes.add(
                    f"M{code}: the overrides are " + (
                        "locked, feed hold perhaps with them" if code == 49 else "free again"),
                    line, column,
                )
            elif ("M", code) in dialect.trusted:
                self.notes.add(f"M{code} is taken on trust: nothing is shown of it", line, column)
            else:
                self.unknown(
                    f"M{code} is not known here: what it makes the machine do is not shown",
                    line, column, _OF_AN_ACTION, f"M{code}",
                )
        if len(after) > 1:
            self.grave("two words in one block that stop or end the program", line, after[1][1])
        return after

    def _spindle(self, line: int, code: int, column: int) -> None:
        if code in self.dialect.stop:
            self.sense = 0
            self.tell("spindle", line, f"M{code}", 0.0)
            return
        self.sense = 1 if code in self.dialect.clockwise else -1
        self.said.discard("no spindle")
        word = "clockwise" if self.sense > 0 else "anticlockwise"
        if word not in self.machine.spindle.senses:
            self.grave(f"M{code}: this spindle does not turn {word}", line, column)
        self.tell("spindle", line, f"M{code}", self.speed)
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
            self.tell_word(line, "cutter side", code)
            if code != 400:
                used.add("D")
                self.grave(
                    f"G{code // 10}: the control moves the cutter aside by a figure of its own "
                    "table; the way shown is the one written", line, column,
                    unsure=("places", "time"),
                )
        if "cutter length" in modal:
            code, column = modal["cutter length"]
            self.tell_word(line, "cutter length", code, numbers.get("H", NAN))
            if code == 490:
                self.length_offset = 0
            else:
                used.add("H")
                self._length_offset(line, numbers, column)
        if "work offset" in modal:
            self._work_offset(line, *modal["work offset"])
        if "path" in modal:
            self._path(line, *modal["path"], numbers)
            if modal["path"][0] == 640:
                used.update("PQ")
        return used

    def _path(self, line: int, code: int, column: int, numbers: dict[str, float]) -> None:
        """Exact stop or path through corners: the way shown is the one written."""
        off = numbers.get("P", NAN)
        self.told_words.pop("path", None)
        self.tell_word(line, "path", code, off)
        if ("G", code) in self.dialect.trusted:
            return
        self.notes.add({
            610: "G61: the control stops, or all but stops, at every corner",
            611: "G61.1: the control stops at every corner",
        }.get(code, "G64: the control goes round corners, off the way shown" + (
            f" by up to {off:g}" if math.isfinite(off) else " by as much as its settings allow"
        )), line, column, sort=f"path {code}")

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
        self.tell("word", line, f"G{code / 10:g}")
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
        self.watch = WATCHED
        self.station = stations.index(code) + 1 if code in stations else 0
