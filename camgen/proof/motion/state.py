"""What the control holds, from the first block on: said, known by the machine file, or unknown.

Before the first block everything is unknown but what the machine file says: where each axis
stands, what is left on of the last program. Nothing may rely on it: the cutter is drawn back before
anything else moves or turns, what matters is said before, and what the program changes it puts
back. Words that change how motion is carried out are found wherever they stand.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from camgen.faults import all_of
from camgen.messages import Message
from camgen.proof.evidence import Evidence
from camgen.proof.motion.gone_to import is_place_to_go
from camgen.proof.motion.told import (
    Counted,
    Faults,
    Parts,
    WayOut,
    level,
    longest_wait,
    otherwise,
    trusted,
    walked,
    way_out,
)
from camgen.proof.result import Proof, ProofId
from camgen.reader.dialect import code_of, dialect_of
from camgen.reader.motion import Event, ReadProgram, Told
from camgen.values import dataclass

__all__ = ["prove_state"]

DRAWN = ProofId("motion", "drawn-back-first")
WORDS = ProofId("motion", "words-otherwise")
LEFT = ProofId("motion", "put-back")
CYCLES = ProofId("motion", "cycles-ended")
LENGTHS = ProofId("motion", "length-in-force")

_COUNTED = frozenset(("units", "plane", "distance", "cutter length", "work offset"))  # by hand
_PLAIN = ("G0", "G1", "G2", "G3")
_ASKED = (
    Counted(DRAWN, Message("cutter drawn back before anything else moves"), "moves"),
    Counted(WORDS, Message("words that carry out motion otherwise than planned"), "words"),
    Counted(LEFT, Message("changed and not put back at the end"), "words"),
    Counted(CYCLES, Message("cycles ended by their own word"), "cycles"),
    Counted(LENGTHS, Message("length of the cutter in force"), "moves"),
)


@dataclass(frozen=True)
class _Found:
    """What is amiss in one program, by proof, in the order of those asked."""

    drawn: Faults
    words: Faults
    left: Faults
    cycles: Faults
    lengths: Faults


def prove_state(evidence: Evidence) -> Iterator[Proof]:
    """The cutter drawn back first; words not planned; what is left on; cycles; cutters' lengths."""
    def walk(
        program: ReadProgram, begun: int, parts: Parts, found: tuple[Faults, ...]
    ) -> None:
        _Walk(evidence, begun, _Found(*found)).over(parts)

    machine = evidence.machine
    asked = {CYCLES: machine.cycles.use, LENGTHS: machine.offsets.length == "table"}
    yield from (proof for proof in walked(evidence, _ASKED, walk) if asked.get(proof.id, True))


class _Walk:
    """Goes through what one program tells the control."""

    def __init__(self, evidence: Evidence, begun: int, found: _Found) -> None:
        self.evidence = evidence
        self.found = found
        self.begun = begun
        self.machine = evidence.machine
        self.dialect = dialect_of(evidence.machine)
        self.way: WayOut = way_out(evidence)
        self.room = evidence.room
        self.drawn = False
        self.told_once = False
        self.cutter = 0
        self.length = 0
        self.counted: set[str] = set()
        self.by_hand = False  # The next stop is for the head's crank or the spindle's knob.
        self.in_force: dict[str, tuple[str, int]] = {}
        self.shift = (0.0, 0.0, 0.0)
        self.shift_line = 0
        self.work = ""
        self.second = False
        self.started: Told | None = None
        self.level = ""
        # Axes not said since hands may have moved them at a stop, and the line of that stop.
        self.unsaid: set[int] = set()
        self.stop_line = 0
        self.zero_sure = not evidence.machine.offsets.may_be_left_shifted
        self.longest = longest_wait(evidence)

    def over(self, parts: Parts) -> None:
        """All that is amiss."""
        self.gone: set[int] = set()
        # Where the crank is turned: hands there leave the slides alone.
        self.cranked = {one.before for _, _, one in parts
                        if isinstance(one, Event) and one.kind == "hand-index"}
        self.end = parts[-1][1]
        last = 1
        for first, until, one in parts:
            if until > first:
                self._pieces(first, until)
            if one is None:
                continue
            last = one.line
            if isinstance(one, Event):
                self._event(one, until - 1 if until > self.begun else -1)
            else:
                self._told(one, until)
        self._end(last)

    def _pieces(self, first: int, until: int) -> None:
        """Pieces of motion made with what is in force."""
        motion, cut = self.evidence.motion, self.evidence.cut
        if self.machine.second_rotary is not None and not self.second:
            self._second_unsaid(first, until)
        if self.unsaid:
            self._place_unsaid(first, until)
        if self.machine.offsets.length == "table" and self.length != self.cutter:
            rows = np.arange(first, until)
            deep = np.abs(motion.end[rows, 2] - motion.start[rows, 2]) > 1e-9
            wrong = rows[(deep | cut[rows]) & ~np.isin(rows, list(self.gone))]
            if len(wrong):
                self._wrong_length(int(motion.line[wrong[0]]))

    def _wrong_length(self, line: int) -> None:
        self.found.lengths.add(
            Message("moves in Z with the length of cutter {length} for cutter {cutter}",
                    length=self.length, cutter=self.cutter) if self.length
            else Message("moves in Z with no cutter length in force"), line)

    def _second_unsaid(self, first: int, until: int) -> None:
        """Nothing said where a second rotary axis stands, and the cutter comes near."""
        line = self._comes_near(first, until)
        if line is not None:
            self.second = True
            self.found.drawn.add(
                Message("comes near, and nothing says where the second rotary axis stands"), line)

    def _place_unsaid(self, first: int, until: int) -> None:
        """The cutter comes near, and an axis is not said since a stop where hands may move it."""
        line = self._comes_near(first, until)
        if line is not None:
            self.found.drawn.add(
                Message("comes near, and {axes} not said since the stop in line {stop}, where "
                        "hands may have moved it", stop=self.stop_line,
                        axes=all_of("XYZ"[axis] for axis in sorted(self.unsaid))), line)
            self.unsaid = set()

    def _comes_near(self, first: int, until: int) -> int | None:
        """The line of the first piece that cuts, or goes nearer than the clear position."""
        motion, rows = self.evidence.motion, np.arange(first, until)
        near = self.evidence.cut[rows].copy()
        if not math.isnan(self.way.to):
            near |= (motion.end[rows, self.way.axis] - self.way.to) * self.way.outward < -self.room
        return int(motion.line[rows[np.argmax(near)]]) if near.any() else None

    def _event(self, event: Event, row: int) -> None:
        on, said = self.in_force.get("motion", ("", 0))
        if on and event.kind in ("stop", "optional-stop", "cutter-change"):
            self.in_force["motion"] = ("", said)
            self.found.cycles.add(Message("{word} is in force at a stop or a change of cutters",
                                          word=on), event.line)
        if event.kind == "hand-index":
            self.by_hand = True
        elif event.kind in ("stop", "optional-stop"):
            if not self.by_hand and self.machine.offsets.length == "touch-off":
                self._touched_off(event)
            # Hands at the head's crank or the spindle's knob leave the slides alone.
            if not self.by_hand and self._clear(row):
                self.drawn = False
            if not self.by_hand and event.before not in self.cranked:
                self.unsaid, self.stop_line = {0, 1, 2}, event.line
            self.zero_sure = self.zero_sure or (event.kind == "stop" and not self.by_hand)
            self.by_hand = False
        elif event.kind == "coolant" and not event.text.endswith("off"):
            self._coolant(event, row)
        elif event.kind == "dwell" and event.value > self.longest:
            self.found.words.add(Message("a wait of {seconds:g} s, and none that is wanted here "
                                         "comes near it", seconds=event.value), event.line)
        elif event.kind == "cutter-change":
            self.drawn = False
            self.cutter = int(event.value)
            # A length said before is another cutter's, or is taken back by the change.
            self.length = 0

    def _touched_off(self, event: Event) -> None:
        """A stop at which a zero may be set: what it is counted with must have been said."""
        program = self.machine.program
        units = "" if not program.units_word else "G20" if program.units == "inch" else "G21"
        plane = "G17" if program.plane_word else ""
        every = (units, plane, "G90", *program.safe_words, self.machine.offsets.work or "")
        needed = [word for word in every
                  if word[:1] == "G" and word not in program.unknown_words
                  and self.dialect.groups.get(code_of(word), "") in _COUNTED]
        lacking = [word for word in needed
                   if self.dialect.groups[code_of(word)] not in self.counted]
        if lacking:
            self.counted.update(_COUNTED)
            self.found.words.add(
                Message("a stop at which a zero may be set, and {words} is not said before",
                        words=" ".join(lacking)), event.line)

    def _coolant(self, event: Event, row: int) -> None:
        """Coolant or air that the step at hand does not want, or that nothing comes after."""
        moves, words = self.evidence.moves, self.machine.coolant
        own = any(trusted(self.evidence, word) for word in ("M7", "M8", words.flood, words.air)
                  if word)
        if moves is None or own:
            return
        ahead = self.evidence.section[row + 1:]
        known = ahead[ahead >= 0]
        section = moves.sections[int(known[0])] if len(known) else None
        if section is None or not (section.coolant or section.air):
            self.found.words.add(
                Message("air or mist on, and no step from here on wants it")
                if event.text.startswith("air")
                else Message("coolant on, and no step from here on wants it"), event.line)

    def _clear(self, row: int) -> bool:
        """Whether the cutter stands at the clear position, or nobody knows where."""
        return row < 0 or self.way.beyond(level(self.evidence, row, self.way.axis), self.room)

    def _told(self, told: Told, row: int) -> None:
        if told.kind == "way":
            if told.text == "second rotary":
                self.second = True
                if self.drawn and not self._clear(row - 1 if row > self.begun else -1):
                    self.found.drawn.add(Message("the second rotary axis turns, and the cutter is "
                                                 "not drawn back"), told.line)
            self._first_way(told)
        elif told.kind == "gone":
            self.gone.add(row)
            self._by_way_of(told, row)
            self._sent(told)
        elif told.kind == "word":
            self._word(told, row)
        elif told.kind == "length":
            self.length = int(told.value)
        elif told.kind == "shift":
            self.shift, self.shift_line = told.place, told.line
            # Where G92 says an axis stands, it stands.
            self.unsaid -= {"XYZ".find(letter) for letter in told.text}
        elif told.kind == "spindle":
            self.by_hand = self.by_hand or told.text == "by hand"
            self._speed(told)
            self.started = told if told.value else None
            if told.value and not self.drawn and self.evidence.cut.any():
                self._not_drawn(Message("the spindle starts"), told.line)
        elif told.kind == "skip" and not (told.text == "stop" and self.machine.block_skip):
            self.found.words.add(Message("a block that the skip switch leaves out"), told.line)

    def _first_way(self, told: Told) -> None:
        """One of the first moves after a place where nothing is known of where it stands."""
        given = [axis for axis in range(3) if not math.isnan(told.place[axis])]
        self.unsaid -= set(given)
        if 2 in given and self.machine.offsets.length == "table" and self.length != self.cutter:
            self._wrong_length(told.line)
        if not self.zero_sure:
            self.zero_sure = True
            self.found.drawn.add(Message("moves before a stop for the zero, which a program broken "
                                         "off may have left shifted"), told.line)
        if self.drawn:
            return
        axis = self.way.axis
        alone = given == [axis] and told.text in ("rapid", "feed")
        if alone and self.way.beyond(told.place[axis], self.room):
            self.drawn = True
        elif alone:
            self._not_drawn(Message("{axis} to {place:.3f}, where it is not clear",
                                    axis="XYZ"[axis], place=told.place[axis]), told.line)
        elif told.text in ("turn", "second rotary"):
            self._not_drawn(Message("something turns"), told.line)
        else:
            self._not_drawn(
                Message("moves {axes}", axes=all_of("XYZ"[one] for one in given)) if given
                else Message("something moves"), told.line)

    def _not_drawn(self, what: Message, line: int) -> None:
        """Told once until the cutter is drawn back."""
        self.found.drawn.add(
            Message("{what}, and the cutter was not drawn back along {axis} before", what=what,
                    axis="XYZ"[self.way.axis]), line)
        self.drawn = True

    def _speed(self, told: Told) -> None:
        """A speed that the plan has for no cut of the cutter that is fitted, in a cut or out of it.

        Those of warming up are held by a proof of their own, before the first cut.
        """
        moves = self.evidence.moves
        if moves is None or not told.value:
            return
        planned = [section.rpm for section in moves.sections
                   if section.cutter_number == self.cutter]
        planned = planned or [min(section.rpm for section in moves.sections)]
        speed = abs(told.value)
        warm = [rpm for rpm, _ in self.machine.spindle_words.warm_up if rpm < max(planned)]
        if not self.evidence.cut[self.begun : self.begun + told.before].any():
            planned += warm
        if all(abs(speed - rpm) > 0.51 for rpm in planned):
            self.found.words.add(
                Message("the spindle turns at {speed:.0f} rev/min, and the cutter in it is planned "
                        "to turn at {planned:.0f}", speed=speed, planned=max(planned)), told.line)

    def _by_way_of(self, told: Told, row: int) -> None:
        """The middle point of G28 and G30 is gone to as any rapid: only up, or not at all."""
        if math.isnan(told.value):
            return
        motion, last = self.evidence.motion, row - 1
        if last < self.begun or motion.line[last] != told.line:
            fault = bool(told.value)
        else:
            way = motion.end[last] - motion.start[last]
            with np.errstate(invalid="ignore"):
                up = way[2] >= 0 and not np.any(np.abs(way[:2]) > self.room)
            known = not told.value or (self.way.axis == 2 and self._clear(last))
            fault = not (up and known)
        if fault:
            self.found.words.add(Message("{word} goes by a middle point that is not straight up",
                                         word=told.text), told.line)

    def _sent(self, told: Told) -> None:
        """Sent to a place in the machine's own coordinates: only as the machine file draws back."""
        retract = self.machine.retract
        axes = [axis for axis in range(3) if not math.isnan(told.place[axis])]
        self.unsaid -= set(axes)
        meant = {"machine": "G53", "reference": "G28"}.get(retract.way, "")
        safe = axes == [2] and told.text == meant and (
            meant == "G28" or abs(told.place[2] - retract.machine_z) <= self.room)
        if safe:
            if self.way.axis == 2 and self.way.outward > 0:
                self.drawn = True
            elif not self.drawn or self.way.axis == 2:
                # Sideways out of a space, or up through the work above the cutter.
                self._not_drawn(Message("Z is drawn up"), told.line)
            return
        if self.drawn and is_place_to_go(self.machine, told, self.room):
            return
        if not trusted(self.evidence, told.text):
            names = " ".join("XYZ"[axis] if told.text != "G53"
                             else f"{'XYZ'[axis]}{told.place[axis]:g}" for axis in axes)
            self.found.words.add(Message("{word} {names}: not the machine file's way out",
                                         word=told.text, names=names), told.line)

    def _word(self, told: Told, row: int) -> None:
        word = told.text
        if word == "T":
            self._got_ready(told, row)
        what = otherwise(self.evidence, word)
        if what is not None:
            self.found.words.add(Message("{name}: {what}", name=word, what=what), told.line)
        if word[0] != "G":
            return
        if word in ("G98", "G99"):
            self.level = word
        code = code_of(word)
        group = self.dialect.groups.get(code, "")
        self.counted.add(group)
        if word in ("G43", "G49"):
            self.length = 0 if word == "G49" or math.isnan(told.value) else int(told.value)
        elif group == "work offset":
            if self.work and word != self.work:
                self.drawn = False
            self.work = word
        elif group == "motion":
            self._cycle(told, code)
        elif group in ("distance", "feed", "cutter side", "plane", "arc centres"):
            self.in_force[group] = (word, told.line)

    def _got_ready(self, told: Told, row: int) -> None:
        """A cutter that a changer gets ready: the next fitted, at the end the next run's."""
        moves = self.evidence.moves
        if moves is None or not told.value:
            return
        ahead = self.evidence.section[row:]
        fitted = [moves.sections[number].cutter_number
                  for number in dict.fromkeys(ahead[ahead >= 0].tolist())]
        following = next((number for number in fitted if number != self.cutter), 0)
        following = following if fitted else moves.sections[0].cutter_number
        if int(told.value) != following:
            self.found.words.add(
                Message("T{number:g} gets a cutter ready, and cutter {following} is the next",
                        number=told.value, following=following) if following
                else Message("T{number:g} gets a cutter ready, and no other is fitted after it",
                             number=told.value), told.line)

    def _cycle(self, told: Told, code: int) -> None:
        """A cycle begun, or ended: by its own word and no other."""
        on = self.in_force.get("motion", ("", 0))[0]
        if told.text in _PLAIN and on:
            self.found.cycles.add(Message("{word} while {on} is in force", word=told.text, on=on),
                                  told.line)
        if code in self.dialect.cycles and not self.machine.cycles.use and not trusted(
                self.evidence, told.text):
            self.found.words.add(Message("{word}, and the machine file does not say that its "
                                         "control has cycles", word=told.text), told.line)
        level = self.machine.cycles.return_level
        if code in self.dialect.cycles and level != "none" and self.level != level:
            self.found.cycles.add(
                Message("{word} while {said} says how far it comes out, and not {wanted}",
                        word=told.text, said=self.level or Message("nothing"), wanted=level),
                told.line)
            self.level = level
        over = told.text in _PLAIN or code in self.dialect.cancel
        self.in_force["motion"] = ("" if over else told.text, told.line)

    def _left(self, word: str, line: int) -> None:
        self.found.left.add(Message("{word} is left in force", word=word), line)

    def _end(self, line: int) -> None:
        """What is in force that the program did not find so."""
        feed = "G95" if self.machine.program.feed == "per-turn" else "G94"
        plain = {"distance": "G90", "feed": feed, "cutter side": "G40", "plane": "G17",
                 "motion": "",
                 "arc centres": "G90.1" if self.machine.arcs.style == "absolute" else "G91.1"}
        for group, (word, said) in self.in_force.items():
            if word != plain[group] and not trusted(self.evidence, word):
                self._left(word, said)
        stations = self.machine.offsets.stations
        if stations and self.work and self.work != stations[0]:
            self._left(self.work, line)
        if self.started is not None and not self.evidence.cut[
                self.begun + self.started.before : self.end].any():
            self.found.words.add(Message("the spindle is started, and nothing is cut with it"),
                                 self.started.line)
        if self.machine.offsets.length == "table" and self.length:
            self.found.left.add(Message("the length of cutter {cutter} is left in force",
                                        cutter=self.length), line)
        if any(abs(one) > self.room for one in self.shift):
            by = " ".join(f"{name}{one:g}"
                          for name, one in zip("XYZ", self.shift, strict=True) if one)
            self.found.left.add(Message("the zero is left shifted by {by}", by=by), self.shift_line)
