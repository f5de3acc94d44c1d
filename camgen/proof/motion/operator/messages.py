"""Is what the operator is told true, in whatever language it is said?

What the plan wants said is said here anew, in every language there is, and one of these must stand
among the comments before the stop; and nothing else is said (``comments.py``). Letters and figures
count; blanks, brackets and where a line is broken do not.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from camgen.messages import Message, verbatim
from camgen.moves import Index
from camgen.proof.evidence import Evidence
from camgen.proof.motion.operator.comments import (
    Windows,
    bring,
    comments_of,
    look_at_comments,
    zero_of,
)
from camgen.proof.motion.operator.crank import (
    Crank,
    named_space,
    settings_between,
    wrong_hole,
)
from camgen.proof.motion.operator.spoken import in_languages, squeezed
from camgen.proof.motion.told import Faults, told_faults
from camgen.proof.result import Proof, ProofId
from camgen.reader.dialect import is_a_name
from camgen.reader.motion import Event, Told
from camgen.shop.machine import HandHead

__all__ = ["prove_messages"]

MESSAGES = ProofId("motion", "messages")
# A figure with places and no unit behind it, in any of the languages.
_NO_UNIT = re.compile(r"\d\.\d+(?!\d| ?(?:mm|inch|deg|grad)\b)", re.IGNORECASE)

def prove_messages(
    evidence: Evidence, pauses: Sequence[tuple[tuple[int, int], Message]], windows: Windows
) -> Proof:
    """Messages that are wrong or missing, and comments that are not the program's own.

    ``pauses`` are planned: between which pieces of motion each must stand, and what it must say;
    ``windows`` tells the same of any planned piece.
    """
    faults = []
    begun = 0
    crank = Crank()
    sayings = comments_of(evidence, windows)
    for number, program in enumerate(evidence.programs):
        found = Faults(program, begun, [])
        if evidence.machine.comments.style == "none":
            first = next((one for one in program.events if one.kind == "comment"), None)
            if first is not None:
                found.add(Message("a comment, and the control is said to read none"), first.line)
        else:
            if evidence.moves is not None:
                look_at_comments(evidence, sayings, begun, number, found, crank.space)
            crank = _Walk(evidence, begun, found, pauses, crank).over(program.told)
            rows = slice(begun, begun + len(program.motion))
            nameless = evidence.cut[rows] & (evidence.motion.cutter[rows] == 0)
            if evidence.moves is not None and nameless.any():
                found.add(Message("nothing says which cutter is to be fitted"),
                          int(evidence.motion.line[rows][np.argmax(nameless)]))
        begun += len(program.motion)
        faults.append(found)
    return told_faults(evidence, MESSAGES, Message("messages true at stops"), "messages", faults)


class _Walk:
    """Goes through one program: the comments since the last stop or move, and what they go with."""

    def __init__(
        self, evidence: Evidence, begun: int, found: Faults,
        pauses: Sequence[tuple[tuple[int, int], Message]], crank: Crank,
    ) -> None:
        self.evidence = evidence
        self.machine = evidence.machine
        self.begun = begun
        self.found = found
        self.pauses = list(pauses)
        self.comments: list[str] = []
        self.moved = 0
        self.changed = False
        self.change: Event | None = None
        self.turned: Event | None = None
        self.knob = self.belt = False
        # The line of an empty comment behind what was said last, 0 where there is none.
        self.blank = 0
        self.first_change = True
        self.crank = crank

    def over(self, told: Sequence[Event | Told]) -> Crank:
        """All that is said before the stops and changes of one program; where the crank is left."""
        for one in told:
            if one.kind == "blank":
                self.blank = one.line if self.comments else 0
                continue
            if one.kind != "comment":
                self._changed_to()
            # A turn by hand counts as a piece of motion: its message goes on behind it.
            if one.before > self.moved and self.turned is None:
                self.comments, self.changed = [], False
            self.moved = one.before
            if self.turned is not None and one.before > self.turned.before + 1:
                self._not_stopped()
            if one.kind == "comment" and isinstance(one, Event):
                if not is_a_name(one.text):
                    self.comments.append(one.text)
                    self.blank = 0
            elif one.kind == "cutter-change" and isinstance(one, Event):
                self.changed = True
                self.change = one
            elif one.kind == "hand-index" and isinstance(one, Event):
                self.turned = one
            elif one.kind == "step":
                self.belt = self.belt or (
                    isinstance(one, Told) and one.text == "by hand" and not self.changed)
            elif one.kind == "spindle":
                self.knob = self.knob or one.text == "by hand"
            elif one.kind in ("stop", "optional-stop"):
                if one.kind == "stop":
                    self._stop(one)
                    if self.blank:
                        self.found.add(Message("an empty comment stands behind what is said at a "
                                               "stop: a control that shows the last one shows "
                                               "nothing"), self.blank)
                self.comments, self.turned, self.knob, self.blank = [], None, False, 0
                self.belt = False
        self._not_stopped()
        self._changed_to()
        return self.crank

    def _not_stopped(self) -> None:
        """A head told to be turned by hand, and no stop came after the message."""
        if self.turned is not None:
            self.found.add(Message("no stop comes after {text}", text=self.turned.text),
                           self.turned.line)
            self.turned = None

    def _not_said(self, wanted: str, line: int) -> None:
        self.found.add(Message("not said: {wanted}", wanted=wanted), line)

    def _said(self, wanted: Message) -> bool:
        """Whether the comments say ``wanted`` in some language."""
        return any(map(self._says, in_languages(wanted)))

    def _says(self, wanted: str) -> bool:
        """Whether the comments say just this, with what makes the control show it."""
        said = "|".join(squeezed(one) for one in self.comments)
        return re.search(_pattern(f"{self.machine.comments.message}{wanted}"), said) is not None

    def _changed_to(self) -> None:
        """The cutter that is to be fitted, as the plan has it; the message may go on behind."""
        event, moves = self.change, self.evidence.moves
        self.change = None
        if event is None or moves is None:
            return
        texts = {section.cutter_number: section.cutter_text for section in moves.sections}
        message, number = self.machine.change.message, int(event.value)
        if number not in texts:
            self.found.add(Message("cutter {number} is put in, and this setup has none of that "
                                   "number", number=number), event.line)
            return
        if not message.endswith("{text}"):
            # What stands behind may cut the text short; that the number is true the reader tells.
            return
        wanted = [said.replace("{cutter}", str(number)).replace("{text}", text)
                  for said in in_languages(verbatim(message))
                  for text in in_languages(texts[number])]
        if not any(map(self._says, wanted)):
            self._not_said(wanted[0], event.line)

    def _stop(self, stop: Event | Told) -> None:
        if self.turned is not None:
            self._turn(self.turned)
        elif self.knob:
            pass  # Sense and speed are read from the message itself.
        elif self.changed:
            self.changed = False
            self._zero(stop)
        elif self.belt:
            pass  # Which step it is the reader holds against the speed.
        else:
            at = self.begun + stop.before
            for number, ((first, last), message) in enumerate(self.pauses):
                if first <= at <= last:
                    if not self._said(message):
                        self._not_said(message, stop.line)
                    elif self.machine.program.units == "inch" and any(
                            map(_NO_UNIT.search, in_languages(message))):
                        self.found.add(Message("the program counts in inches, and no unit is said: "
                                               "{text}", text=message), stop.line)
                    space = named_space(message)
                    if space is not None:
                        self._in_its_hole(message, stop.line)
                        self.crank = Crank(self.crank.degrees, space, by_pause=True)
                    del self.pauses[number]
                    break

    def _in_its_hole(self, message: Message, line: int) -> None:
        """A pause that brings the pin into a space names that space's own hole."""
        head, divided = self.machine.dividing, self.evidence.layout.divided
        moves = self.evidence.moves
        turns = [move for section in (moves.sections if moves is not None else ())
                 for move in section.moves if isinstance(move, Index)]
        if isinstance(head, HandHead) and divided and wrong_hole(message, head, divided, turns):
            self.found.add(Message("the pin is told into another hole than that of space {space}",
                                   space=message.fields["space"]), line)

    def _zero(self, stop: Event | Told) -> None:
        """What is to be set at a change by hand."""
        moves, offsets = self.evidence.moves, self.machine.offsets
        if moves is None:
            return
        if offsets.stands_at and self.first_change:
            wanted = bring(self.machine)
        elif self.machine.change.way == "by-hand" and offsets.length == "touch-off":
            anew = self.first_change and offsets.may_be_left_shifted
            wanted = zero_of("X Y Z" if anew else moves.zeros_of_cutter,
                             self.evidence.layout.stations > 1 and bool(offsets.stations))
        else:
            return
        self.first_change = False
        if not self._said(wanted):
            self._not_said(wanted, stop.line)

    def _turn(self, event: Event) -> None:
        """Space, angle and setting of a head turned by hand, as one of the planned turns has it.

        Whether the setting is true is reckoned anew, from where the pin was told to go before.
        """
        stood, self.crank = self.crank, Crank(event.value)
        head, moves = self.machine.dividing, self.evidence.moves
        if not isinstance(head, HandHead) or moves is None or not head.message.endswith(
                "{setting}"):
            return
        turns = [move for section in moves.sections for move in section.moves
                 if isinstance(move, Index)]
        before = stood.before(turns, event.value, self.evidence.layout.divided)
        for turn in (turn for turn in turns if abs(turn.degrees - event.value) < 1e-5):
            self.crank = Crank(event.value, turn.space)
            angle = f"{turn.degrees:.6f}".rstrip("0").rstrip(".")
            texts = [said.replace("{space}", str(turn.space)).replace("{angle}", angle)
                     for said in in_languages(verbatim(head.message))]
            for setting in {turn.setting, turn.stands}:
                if any(self._says(text.replace("{setting}", said))
                       for text in texts for said in in_languages(setting)):
                    if turn.stands and setting not in settings_between(head, before, event.value):
                        self.found.add(
                            Message("the crank is told to go as '{setting}', and that is not the "
                                    "way there, where it stands already", setting=setting)
                            if before is None
                            else Message("the crank is told to go as '{setting}', and that is not "
                                         "the way there", setting=setting), event.line)
                    return
        self.found.add(Message("space, angle or setting are not as planned: {text}",
                               text=event.text), event.line)


@lru_cache(maxsize=4096)
def _pattern(wanted: str) -> str:
    """What finds a message, its lines broken anywhere, figures whole."""
    text = squeezed(wanted)
    pattern = r"\|?".join(re.escape(letter) for letter in text)
    before = r"(?<![0-9.+-])" if text[:1].isdigit() else ""
    behind = r"(?![0-9]|\.[0-9])" if text[-1:].isdigit() else ""
    return before + pattern + behind
