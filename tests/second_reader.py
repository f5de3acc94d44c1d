"""A second reader: runs a program from any start and tells what would be touched.

It shares no code with the reader of the program: a tokeniser and an interpreter of its own, and of
the machine file only the YAML. It knows nothing of the job but the axis on which the cutter is
drawn back and the height that is clear. What the path should be it does not know either: the same
program run from a start at which everything is as it should be is the measure. From every other
start the machine must make the same moves, and no move before the cutter is drawn back.

Lengths are millimetres, angles degrees, feeds mm/min. Words as in ISO 6983-1; G28, G43, G49, G52,
G53, G91.1, G92, G98 and M98 as is common, no source.
"""

from __future__ import annotations

import re
from typing import Any

from second_control import AXES, GROUPS, WRONG, Control, Start, Trace, Word, blocks_of, plain_word

__all__ = ["run"]

NEAR = 1e-6


class _Machine:
    """A machine while it runs a program."""

    def __init__(self, on: Control, start: Start) -> None:
        self.on, self.start, self.trace = on, start, Trace()
        self.place: list[float] = list(start.place)
        self.known = [False, False, False]
        self.angle = dict.fromkeys("ABC", 0.0)
        self.modes = {
            "motion": "G0", "plane": "G17", "unit": "G20" if on.inch else "G21",
            "distance": "G90", "centre": "G91.1", "feed mode": "G94", "radius": "G40",
            "length": "G49", "path": "G61", "cycle": "G80", "return": "G98",
            "offset": on.says("offsets", "work", default="G54"),
        }
        for word in start.modes:
            self.modes[GROUPS[word]] = word
        if on.word("arcs", "style") == "absolute" and "G91.1" not in start.modes:
            self.modes["centre"] = "G90.1"
        self.shift = [start.shift] * 3
        self.length = 0
        self.touch = [0.0, 0.0, 0.0]
        self.feed: float | None = None
        self.speed = 0.0
        self.turning = 24000.0 if start.spindle and on.by_program else 0.0
        self.coolant = start.coolant
        self.up_to_speed = True
        self.cutter = self.asked = 0
        self.fed_still: list[int] = []  # lines of moves that only a probe may make
        self.touched = False
        self.drawn = self.top = False
        self.hole: dict[str, float] = {}
        self.line = 0
        self.ended = False
        self.message = ""
        self.stopped = False

    # What is wrong

    def tell(self, what: str) -> None:
        self.trace.touched.append(f"line {self.line}: {what}")

    def error(self, axis: int) -> float:
        """How far off an axis' zero is, mm."""
        off = self.shift[axis] + self.touch[axis]
        wanted = self.on.says("offsets", "work", default="G54")
        if wanted and self.modes["offset"] != wanted:
            off += WRONG[self.modes["offset"]] + axis
        if axis == 2 and self.modes["length"] == "G43":
            table = self.on.word("offsets", "length") == "table"
            off += 0.0 if table and self.length == self.cutter else 25.0
        elif axis == 2 and self.on.word("offsets", "length") == "table":
            off += 40.0
        return off

    def state(self) -> tuple[Any, ...]:
        """Everything that the rest of the program could depend on."""
        return (
            tuple(round(p, 6) if k else None
                  for p, k in zip(self.place, self.known, strict=True)),
            tuple(sorted(self.modes.items())), tuple(self.shift), tuple(self.touch), self.length,
            self.feed, self.turning, self.coolant, self.up_to_speed, self.cutter, self.drawn,
            tuple(sorted(self.angle.items())), self.top,
        )

    # Numbers

    def number(self, letter: str, value: float, spelt: str) -> float:
        """A number as it is meant, lengths in millimetres."""
        value /= self.on.places(letter, spelt)
        if letter in "XYZIJKRQ" and self.modes["unit"] == "G20":
            value *= 25.4
        return value

    # Moves

    def go(self, kind: str, target: dict[int, float], more: tuple[Any, ...] = (),
           turn: bool = False) -> None:
        """One move of the axes in ``target`` (true places) or of the head."""
        fed = kind != "G0"
        back = self.on.back
        if not self.drawn:
            inward = back in target and (
                (target[back] - self.on.clear) * self.on.outward < -NEAR)
            if turn or fed or set(target) != {back} or inward:
                self.tell(f"{kind} of {''.join(AXES[a] for a in sorted(target)) or 'the head'} "
                          "before the cutter is drawn back")
            else:
                self.drawn = True
        if fed and not turn:
            unknown = [AXES[a] for a in range(3) if not self.known[a] and a not in target]
            if unknown:
                self.tell(f"cut from where {''.join(unknown)} is not known")
            if self.feed is None:
                self.tell("cut at a feed that the program does not say")
            if self.on.by_program and self.turning == 0 and not self.touched:
                if self.on.word("probing"):
                    self.fed_still.append(self.line)
                else:
                    self.tell("cut with the spindle still")
            elif self.on.by_program and not self.up_to_speed:
                self.tell("cut before the spindle is up to speed")
            if self.modes["radius"] != "G40":
                self.tell("cut beside its way by a radius left on")
        for axis, place in target.items():
            self.place[axis] = place
            self.known[axis] = True
        feed = (round(self.feed or 0.0, 6), self.modes["feed mode"]) if fed else ()
        self.trace.moves.append((
            self.line, kind, tuple(sorted((a, round(p, 6)) for a, p in target.items())),
            tuple(sorted(self.angle.items())), feed, self.turning if fed else 0.0,
            self.modes["plane"] if kind in ("G2", "G3") else "", more,
        ))

    def touching(self, codes: list[str], values: dict[str, float]) -> bool:
        """A move until a probe touches, and the zero set by it; whether the block is one."""
        touch, zero = self.on.touching
        if touch in codes:
            if self.on.by_program and self.turning != 0:
                self.tell("touches with the spindle turning")
            self.fed_still, self.touched = [], True
            self.go("G1", self.targets(values))
        elif zero in codes:
            for axis, letter in enumerate(AXES):
                if letter in values:
                    self.touch[axis] -= self.error(axis)
                    self.place[axis] = values[letter]
        else:
            return False
        return True

    def no_probe(self) -> None:
        """What is in the spindle touched nothing, and was fed with it still."""
        self.trace.touched += [f"line {n}: cut with the spindle still" for n in self.fed_still]
        self.fed_still, self.touched = [], False

    def targets(self, values: dict[str, float]) -> dict[int, float]:
        """Where the axis words of a block lead, in the work's own frame."""
        return {axis: values[letter] + (
                    self.place[axis] if self.modes["distance"] == "G91" else self.error(axis))
                for axis, letter in enumerate(AXES) if letter in values}

    def to_top(self, letters: set[str]) -> None:
        """To the machine's own top of Z; other axes have no such way."""
        if letters != {"Z"}:
            self.tell(f"{''.join(sorted(letters))} sent to a place of the machine's own")
        if self.on.back != 2 and not self.drawn:
            self.tell("Z drawn across a cutter that may stand in a tooth space")
        self.place[2], self.known[2] = 1000.0, False
        self.drawn = self.drawn or self.on.back == 2
        self.trace.moves.append((self.line, "to the top"))

    def to_a_place(self, values: dict[str, float]) -> None:
        """Across to where cutters are changed or the work is loaded, with Z at its top."""
        wanted = [{name.upper(): mm for name, mm in place.items() if name in "xy"}
                  for place in (self.on.word("change", "place", default={}),
                                self.on.word("retract", "park", default={})) if place]
        if {name: mm for name, mm in values.items() if name in AXES} not in wanted:
            self.tell("X or Y sent to a place of the machine's own")
        if self.place[2] < 1000.0 or not self.drawn:
            self.tell("across with Z not drawn up")
        for axis in (0, 1):
            if AXES[axis] in values:
                # Where that lies beside the work nobody knows: far from it.
                self.place[axis], self.known[axis] = 400.0, False
        self.trace.moves.append((self.line, "to a place"))

    def is_clear(self) -> bool:
        """Whether the cutter is clear, so that hands may go in."""
        back = self.on.back
        return self.drawn and (self.place[back] - self.on.clear) * self.on.outward >= -NEAR

    # Words

    def hands(self, what: str, jogged: bool) -> None:
        """A stop at which hands go in."""
        if self.on.by_program and self.turning != 0:
            self.tell(f"spindle turns at {what}")
        if self.start.stop_ends:
            self.turning, self.coolant = 0.0, False
        if jogged:
            # Whoever sets a zero leaves the cutter where it touched, or where it suited.
            self.place = list(self.start.place)
            self.known = [False, False, False]
            self.drawn = False
            for axis in range(3):
                named = re.search(r"ZERO OF ((?:[XYZ] )+)", self.message + " ")
                # What no comment can say the sheet says: all of them at the first stop, where a
                # shift by G92 may be left.
                every = not self.stopped and self.on.word("offsets", "shift") == "G92"
                wanted = every if axis != self.on.back else True
                if (AXES[axis] in named[1] if named else not self.message and wanted):
                    # The zero is set by what the display shows, whatever else is in force.
                    self.touch[axis] -= self.error(axis)
            self.stopped = True

    def block(self, words: list[Word]) -> None:
        """One block: modes first, then what it does."""
        codes = [plain_word(f"{letter}{value:g}") for letter, value, _ in words if letter in "GM"]
        for code in codes:
            if code in GROUPS:
                self.modes[GROUPS[code]] = code
                if GROUPS[code] == "motion":
                    self.modes["cycle"] = "G80"
        values = {letter: self.number(letter, value, spelt)
                  for letter, value, spelt in words if letter not in "GMN"}
        dwell = "G4" in codes
        self.figures(values, dwell)
        for code in codes:
            self.switch(code)
        if self.touching(codes, values):
            return
        if dwell:
            self.wait(values)
        elif "G92" in codes or "G52" in codes:
            self.zero("G92" if "G92" in codes else "G52", values)
        elif "G53" in codes or "G28" in codes:
            if "G28" in codes and self.modes["distance"] != "G91":
                self.tell("G28 by way of a place")
            if "G53" in codes and set(values) & set(AXES) <= set("XY"):
                self.to_a_place(values)
            else:
                self.to_top(set(values) & set(AXES))
        elif self.modes["cycle"] != "G80" and "G80" not in codes and set(values) & set(AXES):
            self.drill(values)
        elif set(values) & set("XYZABC"):
            self.move(values)
        if "M0" in codes or "M1" in codes:
            self.stop("M0" in codes)

    def figures(self, values: dict[str, float], dwell: bool) -> None:
        """Speed, cutter, feed and length that a block names; in a dwell they may be its time."""
        if "S" in values and not dwell:
            self.speed = values["S"]
            self.turning = (1 if self.turning > 0 else -1) * self.speed if self.turning else 0.0
        if "T" in values:
            self.cutter_asked(int(values["T"]))
        if "F" in values and not dwell:
            scale = 25.4 if self.modes["unit"] == "G20" else 1.0
            turned = any(letter in values for letter in "ABC")
            self.feed = values["F"] * (1.0 if turned or self.modes["feed mode"] == "G93" else scale)
        if "H" in values:
            self.length = int(values["H"])

    def cutter_asked(self, figures: int) -> None:
        """A T word: the cutter alone, or with the length offset in its last figures."""
        cutter, offset = self.on.split_t(figures)
        self.asked = cutter or self.asked
        if offset is None:
            return
        if not self.on.says("change", "word", default="M6"):
            self.cutter = self.asked
        self.length, self.modes["length"] = offset, "G43" if offset else "G49"

    def stop(self, always: bool) -> None:
        """M0, or M1 where the operator asked for it."""
        belt = re.search(r"SET SPINDLE AT .+ FOR (\d+) REV/MIN", self.message)
        if belt and always:
            self.speed = float(belt[1])
        # With lengths in a table no zero is set where a cutter is changed.
        by_hand = (self.on.word("change", "way", default="by-hand") != "automatic"
                   and self.on.word("offsets", "length", default="touch-off") == "touch-off")
        setting = "ZERO" in self.message or "BRING" in self.message or (
            not self.message and by_hand)
        if not self.is_clear() and self.trace.moves and "SPACE" not in self.message and (
                "CRANK" not in self.message):
            self.tell("a stop with the cutter not clear")
        self.hands("a stop", setting)

    def switch(self, code: str) -> None:
        """What an M word switches."""
        spindle = self.on
        if code in (spindle.says("spindle-words", "clockwise", default="M3"),
                    spindle.says("spindle-words", "anticlockwise", default="M4")):
            sense = 1 if code == spindle.says("spindle-words", "clockwise", default="M3") else -1
            if not self.drawn:
                self.tell("spindle starts where the cutter may touch the work")
            self.no_probe()
            self.turning, self.up_to_speed = sense * self.speed, False
        elif code in (spindle.says("spindle-words", "stop", default="M5"), "M19"):
            self.turning = 0.0
        elif code == plain_word(spindle.word("rotary", "pulse", default="M999")):
            if not self.drawn:
                self.tell("the head turns before the cutter is drawn back")
            letter = spindle.word("dividing", "letter", default="A")
            step = 360.0 / float(spindle.word("dividing", "pulses"))
            self.angle[letter] = round(self.angle[letter] + step, 6)
            self.trace.moves.append((self.line, "turn", tuple(sorted(self.angle.items())), None))
        elif code in ("M7", "M8", "M9"):
            self.coolant = code != "M9"
        elif code == "M6":
            by_hand = self.on.word("change", "way", default="by-hand") != "automatic"
            self.cutter = self.asked
            if self.on.by_program and self.turning != 0:
                self.tell("spindle turns while the cutter is changed")
            if by_hand:
                self.hands("the change of the cutter", False)
        elif code in ("M2", "M30"):
            self.ended = True
            self.at_end()

    def wait(self, values: dict[str, float]) -> None:
        """A dwell; spindle up to speed when it is long enough."""
        letter = self.on.word("dwell", "word", default="P")
        seconds = values.get(letter, 0.0)
        if letter == "X" and self.on.word("numbers", "point") == "never":
            seconds *= 10 ** int(self.on.word("numbers", "decimals", default=3))
        if self.on.word("dwell", "unit", default="s") == "ms":
            seconds /= 1000
        short = float(self.on.word("spindle", "reversal-seconds", default=self.on.start_seconds))
        tapping = self.modes["motion"] == "G1"
        wanted = min(self.on.start_seconds, short) if tapping else self.on.start_seconds
        if seconds >= wanted - 1e-9:
            self.up_to_speed = True

    def zero(self, code: str, values: dict[str, float]) -> None:
        """G92 and G52: the place becomes what the words say, or the zero is shifted."""
        for axis, letter in enumerate(AXES):
            if letter not in values:
                continue
            if self.on.word("offsets", "stands-at"):
                # The cutter was brought there by hand, to where the message says.
                self.place[axis], self.touch[axis], self.known[axis] = values[letter], 0.0, True
                self.shift[axis] = 0.0
            elif code == "G52":
                self.shift[axis] = values[letter]
            else:
                self.shift[axis] = self.place[axis] - (
                    values[letter] + self.error(axis) - self.shift[axis])

    def drill(self, values: dict[str, float]) -> None:
        """A hole by a fixed cycle."""
        self.hole |= {name: values[name] for name in "RZQPIJ" if name in values}
        target = self.targets({k: v for k, v in values.items() if k in "XY"})
        if self.modes["plane"] != "G17":
            self.tell("a cycle in another plane")
        before = self.place[2]
        self.go("G0", target)
        if "Z" not in self.hole or "R" not in self.hole:
            self.tell("a cycle left on by another program")
            return
        depth = self.hole["Z"] + self.error(2)
        more = tuple(sorted(self.hole.items()))
        self.go("G1", {2: depth}, (self.modes["cycle"], self.modes["return"], *more))
        up = before if self.modes["return"] == "G98" else self.hole["R"] + self.error(2)
        self.go("G0", {2: up})

    def move(self, values: dict[str, float]) -> None:
        """Rapid, line or arc, or a turn of the head."""
        turned = [letter for letter in "ABC" if letter in values]
        for letter in turned:
            self.angle[letter] = round(values[letter] + (
                self.angle[letter] if self.modes["distance"] == "G91" else 0.0), 6)
        target = self.targets(values)
        kind = self.modes["motion"]
        centre: tuple[Any, ...] = ()
        if kind in ("G2", "G3"):
            absolute = self.on.word("arcs", "style") == "absolute"
            if any(letter in values for letter in "IJK") and (
                    absolute != (self.modes["centre"] == "G90.1")):
                self.tell("an arc's centre counted otherwise than the control does")
            centre = tuple(sorted((k, round(v, 6)) for k, v in values.items() if k in "IJKR"))
        if turned and not target:
            if not self.drawn:
                self.tell("the head turns before the cutter is drawn back")
            self.trace.moves.append((self.line, "turn", tuple(sorted(self.angle.items())),
                                     self.feed if kind != "G0" else None))
            return
        self.go(kind, target, centre)

    def at_end(self) -> None:
        """What is left on when the program ends."""
        self.no_probe()
        if self.on.by_program and self.turning != 0:
            self.tell("spindle left turning at the end")
        if self.coolant:
            self.tell("coolant or air left on at the end")
        if not self.is_clear() and self.place[2] < 999:
            self.tell("cutter not clear at the end")
        for group, word in self.on.usual.items():
            # What was left on before, and never mattered, is not this program's.
            if self.modes[group] not in (word, *self.start.modes):
                self.tell(f"{self.modes[group]} left on at the end")
        # What was shifted before, and never mattered, is not this program's.
        if any(min(abs(one), abs(one - self.start.shift)) > NEAR for one in self.shift):
            self.tell("zero left shifted at the end")


def run(text: str, on: Control, start: Start, measure: Trace | None = None) -> Trace:
    """What a machine does with a program from a start.

    With a ``measure``, a trace from another start, it ends as soon as the machine stands in every
    way as it stood there: the rest is the same.
    """
    blocks = list(blocks_of(text))
    labels = {int(words[0][1]): at for at, (_, _, words, _) in enumerate(blocks)
              if words and words[0][0] == "O"}
    machine = _Machine(on, start)
    stack: list[int] = []
    at, done = 0, 0
    while at < len(blocks) and not machine.ended and done < 400_000:
        machine.line, marked, words, message = blocks[at]
        at, done = at + 1, done + 1
        if message:
            # Several lines may make one message: it ends with the next block.
            machine.message = f"{machine.message} {message}".strip()
        if (marked and start.skip) or not words:
            continue
        call = next((int(v) for letter, v, _ in words if letter == "P"), None)
        codes = [f"{letter}{value:g}" for letter, value, _ in words if letter in "GM"]
        if "M98" in codes and call is not None:
            stack.append(at)
            at = labels[call] + 1
            continue
        if "M99" in codes:
            if not stack:
                break
            at = stack.pop()
            continue
        machine.block(words)
        machine.message = ""
        state = machine.state()
        if measure is None:
            machine.trace.states[done] = state
        elif measure.states.get(done) == state and all(machine.known):
            break
    return machine.trace
