"""Are a program's comments its own, each where it is true?

Whoever runs a program does as its comments say, so that a second one may undo what the right one
tells. What may be said is laid out here anew, in every language, from plan and machine file:
heading, steps, cutters, zeros, spaces, stops, and what own blocks say with the figures of that
place. Letters and figures count; blanks, brackets and where a line is broken do not. A note of the
workshop's own begins with NOTE, and stands where no hands go in.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import field, replace
from functools import cache
from typing import Final, TypeAlias

import numpy as np

from camgen.messages import Message, verbatim
from camgen.moves import Index, Pause, Remark, Section, SetupMoves, Station
from camgen.proof.evidence import Evidence
from camgen.proof.motion.belts import belts_said
from camgen.proof.motion.operator.spoken import in_languages, spelt, squeezed
from camgen.proof.motion.told import Faults
from camgen.reader.dialect import is_a_name
from camgen.reader.motion import Event, Told
from camgen.shop.machine import HandHead, Machine
from camgen.values import dataclass

__all__ = ["Sayings", "bring", "comments_of", "look_at_comments", "zero_of"]

Window: TypeAlias = tuple[int, int]
Windows: TypeAlias = Callable[[Sequence[int]], list[Window]]

_NOTE: Final = re.compile(r"\s*(?:NOTE|NOTIZ)\b", re.IGNORECASE)
_MOST_LINES: Final = 12
_CAUTIONS: Final = (
    Message("FIRST RUN IN AIR WITH A HAND AT FEED HOLD"),
    Message("EYES PROTECTED, GUARDS SHUT, WORK HELD FAST"),
    Message("MACHINE MANUAL AND LOCAL RULES COME FIRST"),
)
# A program that was made before its job was proven says so for ever.
_MODEST: Final = (
    Message("STANDING NOT PROVEN AT THE MACHINE YET"),
    Message("STANDING NOT PROVEN, NO PIECE CAME RIGHT YET"),
)
_OWN_COMMENT: Final = re.compile(r"\(([^()]*)\)|;(.*)")
# The name of the file is its owner's; the number of the part the heading says.
_LEFT_OPEN: Final = {"program": r"[A-Z0-9.+-]*", "part": "[0-9]+"}


@dataclass(frozen=True)
class Saying:
    """One thing that may be said while so many pieces are made, once in a program or ``often``.

    ``change``: only where another cutter is fitted; ``again`` only where a part begins with it.
    """

    window: Window
    often: bool = False
    change: bool = False
    again: bool = False


@dataclass
class Sayings:
    """All that may be said, by its squeezed form; ``shapes`` where a part of it is not known.

    A part that is not known is one word: each shape comes with how many it has at most.
    """

    forms: dict[str, list[Saying]] = field(default_factory=lambda: defaultdict(list))
    shapes: list[tuple[re.Pattern[str], int, Saying]] = field(default_factory=list)

    def add(self, texts: Iterable[str], saying: Saying) -> None:
        """``texts``, ways to say one thing, as they may be said."""
        saying = replace(saying)
        for form in dict.fromkeys(map(squeezed, texts)):
            self.forms[form].append(saying)


def comments_of(evidence: Evidence, windows: Windows) -> Sayings:
    """What may be said; ``windows`` tells between which read pieces planned ones stand."""
    moves, planned = evidence.moves, evidence.planned
    found = Sayings()
    if moves is None or planned is None:
        return found
    count = len(evidence.motion)
    begins = _begins(moves, planned.motion.line)
    machine = evidence.machine
    told = (f"{machine.comments.message} " if machine.comments.message else "").__add__
    whole = (0, count)
    found.add(in_languages(Message("STOP SPINDLE"), told), Saying(whole, often=True))
    if machine.offsets.stands_at:
        found.add(in_languages(bring(machine), told), Saying(whole))
    own = _own_sayings(machine, moves.retract_to)
    own.say(found, ("program_start", "program_end"), {}, Saying(whole))
    # How many pieces were made before each turn: what is said of it is true until the next.
    turns = [begins[place, number] for place, section in enumerate(moves.sections)
             for number, move in enumerate(section.moves) if isinstance(move, Index)]
    turns.append(len(planned.motion))
    turned, space, fitted = 0, {"space": "0", "angle": "0"}, 0
    for place, section in enumerate(moves.sections):
        first, last = begins[place, 0], begins[place, len(section.moves)]
        window = _over(windows, first, last)
        values = {"step": str(section.step + 1), "speed": f"{section.rpm:.0f}",
                  "cutter": str(section.cutter_number)}
        _of_section(evidence, section, Saying(window, again=section.cutter_number == fitted),
                    found, told)
        for cutter in {"0", str(fitted), values["cutter"]}:
            for there in (space, {"space": "0", "angle": "0"}):
                own.say(found, ("before_change",), {**values, **there, "cutter": cutter},
                        Saying(window))
        for there in (space, {"space": "0", "angle": "0"}):
            own.say(found, ("after_change", "before_step", "after_step"), {**values, **there},
                    Saying(window))
        fitted = section.cutter_number
        for number, move in enumerate(section.moves):
            at = begins[place, number]
            if isinstance(move, Index):
                turned += 1
                space = {"space": str(move.space), "angle": f"{move.degrees:.6g}"}
                until = Saying(_over(windows, at, turns[turned]))
                own.say(found, ("before_index", "after_index"), {**values, **space}, until)
                if isinstance(machine.dividing, HandHead):
                    found.add(_turns(machine.dividing, move, told), until)
            elif isinstance(move, Remark):
                found.add(in_languages(move.text), Saying(_over(windows, at, at)))
            elif isinstance(move, Pause):
                found.add(in_languages(move.message, told), Saying(_over(windows, at, at)))
            elif isinstance(move, Station):
                found.add(in_languages(Message("STATION {number}", number=move.number)),
                          Saying(_over(windows, at, at)))
        # A part may end behind any section.
        own.say(found, ("after_step", "program_end"), {**values, **space}, Saying(window))
        own.say(found, ("before_index", "after_index"), values, Saying(window))
    return found


def _begins(moves: SetupMoves, lines: np.ndarray) -> dict[tuple[int, int], int]:
    """How many planned pieces come before each move, by section and number; and before its end."""
    found: dict[tuple[int, int], int] = {}
    at = 0
    for place, section in enumerate(moves.sections):
        for number in range(len(section.moves) + 1):
            found[place, number] = int(np.searchsorted(lines, at + number + 1))
        at += len(section.moves)
    return found


def _over(windows: Windows, first: int, last: int) -> Window:
    (begin, _), (_, end) = windows((first, last))
    return begin, end


def _of_section(
    evidence: Evidence, section: Section, saying: Saying, found: Sayings,
    told: Callable[[str], str],
) -> None:
    """What is said of a step: its name, its cutter and the zero, spindle and coolant by hand."""
    machine, moves = evidence.machine, evidence.moves
    assert moves is not None
    begun = Saying(saying.window)
    changed = Saying(saying.window, change=True, again=saying.again)
    found.add(in_languages(Message("STEP {number} {title}", number=section.step + 1,
                                   title=section.title)), begun)
    if section.cutter_number:
        found.add(_fits(machine, section, told), changed)
    if machine.change.way == "by-hand" and machine.offsets.length == "touch-off":
        anew = {"X Y Z"} if machine.offsets.may_be_left_shifted else set()
        every = {moves.zeros_of_cutter} | anew
        found.add([said for axes in every
                   for said in in_languages(zero_of(axes, evidence.layout.stations > 1), told)],
                  begun)
    for texts in belts_said(machine, section.rpm, told):
        found.add(texts, Saying(saying.window, often=True))
    if not machine.spindle_words.by_program:
        start = (Message("START SPINDLE CLOCKWISE AT {speed:.0f} REV/MIN", speed=section.rpm)
                 if section.clockwise else
                 Message("START SPINDLE ANTICLOCKWISE AT {speed:.0f} REV/MIN", speed=section.rpm))
        found.add(in_languages(start, told), Saying(saying.window, often=True))
    for on, word, what in (
        (section.coolant, machine.coolant.flood, Message("COOLANT BY HAND")),
        (section.air, machine.coolant.air, Message("AIR BY HAND")),
    ):
        if on and not word:
            found.add(in_languages(what), begun)


def bring(machine: Machine) -> Message:
    """Where the first cutter is brought by hand, in words: in what the program counts in."""
    inch, decimals = machine.program.units == "inch", machine.numbers.decimals
    said = []
    for name, mm in zip("XYZ", machine.offsets.stands_at or (), strict=False):
        axis = machine.axis(name)
        # Adding nothing turns -0 into 0.
        value = (-mm if axis.sense == "reversed" else mm) + 0.0
        if inch:
            place = 10.0**-decimals
            steps = axis.increment / 25.4 / place
            place *= round(steps) if steps > 1.5 and abs(steps - round(steps)) < 1e-6 * steps else 1
            value = round(value / 25.4 / place) * place + 0.0
        said.append((axis.letter or name) + (f"{value:.{decimals}f}" if inch else f"{value:g}"))
    return (Message("BRING CUTTER TO {place} INCH", place=" ".join(said)) if inch
            else Message("BRING CUTTER TO {place}", place=" ".join(said)))


def zero_of(axes: str, stations: bool) -> Message:
    """Which zeros are to be set at a change by hand, at every station where there are several."""
    return (Message("SET ZERO OF {axes} FOR THIS CUTTER AT EVERY STATION", axes=axes) if stations
            else Message("SET ZERO OF {axes} FOR THIS CUTTER", axes=axes))


def _fits(machine: Machine, section: Section, told: Callable[[str], str]) -> Iterator[str]:
    """The message of a change; where something stands behind what the cutter is, cut anywhere."""
    for message in in_languages(verbatim(machine.change.message)):
        head, tail = message.replace("{cutter}", str(section.cutter_number)).split("{text}")
        for text in in_languages(section.cutter_text):
            for length in range(len(text) + 1) if tail else (len(text),):
                yield told(head + text[:length] + tail)


def _turns(head: HandHead, move: Index, told: Callable[[str], str]) -> Iterator[str]:
    """The message of a turn by hand."""
    angle = f"{move.degrees:.6f}".rstrip("0").rstrip(".")
    for message in in_languages(verbatim(head.message)):
        text = message.replace("{space}", str(move.space)).replace("{angle}", angle)
        before, behind = text.split("{setting}")
        for setting in dict.fromkeys(
                (*in_languages(move.setting), *in_languages(move.stands))):
            for length in range(len(setting) + 1) if behind else (len(setting),):
                yield told(before + setting[:length] + behind)


@dataclass(frozen=True)
class _Own:
    """Comments in blocks of a machine file's own, by the place of the blocks."""

    said: Mapping[str, tuple[str, ...]]
    safe: str

    def say(self, found: Sayings, places: Sequence[str], values: Mapping[str, str],
            saying: Saying) -> None:
        """Put them among what may be said, with the names in braces filled in."""
        for place in places:
            for text in self.said.get(place, ()):
                for name, value in {**dict.fromkeys(("step", "cutter", "speed", "space", "angle"),
                                                    "0"), **values}.items():
                    text = text.replace(f"{{{name}}}", value)
                parts = re.split(r"\{\w+\}", text)
                if len(parts) == 1:
                    found.add((text,), saying)
                else:
                    names = iter(re.findall(r"\{(\w+)\}", text))
                    shape = re.escape(squeezed(parts[0])) + "".join(
                        _LEFT_OPEN.get(next(names), self.safe) + re.escape(squeezed(part))
                        for part in parts[1:])
                    found.shapes.append((re.compile(shape), len(text.split()), replace(saying)))


def _own_sayings(machine: Machine, safe: float) -> _Own:
    return _Own({name: tuple(one or other for block in blocks
                             for one, other in _OWN_COMMENT.findall(block))
                 for name, blocks in machine.insert if blocks}, spelt(safe, machine))


def look_at_comments(
    evidence: Evidence, sayings: Sayings, begun: int, number: int, found: Faults, crank: int | None
) -> None:
    """Comments of program ``number`` (from 0) that are not its own, or stand where they lie.

    ``crank`` is the space in which the part before left the pin of a head turned by hand.
    """
    program = evidence.programs[number]
    heading = next((place for place, one in enumerate(program.told) if one.kind != "comment"),
                   len(program.told))
    _Heading(evidence, number, found, crank).look(
        [one for one in program.told[:heading] if isinstance(one, Event)])
    _Body(sayings, begun, found).look(program.told[heading:])


class _Heading:
    """Comments before the first block."""

    def __init__(
        self, evidence: Evidence, number: int, found: Faults, crank: int | None
    ) -> None:
        self.moves, self.header, self.found = evidence.moves, evidence.header, found
        self.needed = [Message("PART {part}, AFTER PART {before}", part=number + 1,
                               before=number)] if number else []
        if number and crank is not None:
            self.needed.append(Message("CRANK AT SPACE {space}, AS PART {part} LEFT IT",
                                       space=crank, part=number))

    def look(self, comments: Sequence[Event]) -> None:
        """Each must be true of this job, setup and part."""
        assert self.moves is not None
        named = [one for one in comments if is_a_name(one.text)]
        name = "".join(one.text.split('"')[1] for one in named)
        if named and squeezed(name) != squeezed(self.moves.title):
            self.found.add(Message("the heading calls it {name}, and it is {title}",
                                   name=repr(name), title=repr(self.moves.title)), named[0].line)
        others = [one for one in comments if not is_a_name(one.text)]
        known = {squeezed(said) for text in (
            *(self.header or ()), *_MODEST, *self.moves.notes, *self.moves.standing, *_CAUTIONS,
            *self.needed) if text
            for said in in_languages(text)}
        at = 0
        seen: set[str] = set()
        while at < len(others):
            length, form = _matching(others, at, lambda form, here: self._is_known(form, known))
            if not length:
                if not _NOTE.match(others[at].text):
                    self.found.add(
                        Message("({text}) is not true of this program, or not its own: a note of "
                                "yours begins with NOTE", text=others[at].text), others[at].line)
                length = 1
            seen.add(form)
            at += length
        for part in self.needed:
            if not any(squeezed(said) in seen for said in in_languages(part)):
                self.found.add(Message("the heading does not say {part}", part=part), 1)

    def _is_known(self, form: str, known: set[str]) -> bool:
        if form in known or (self.header is None and form.startswith(_headings())):
            return True
        # An earlier version may have written it.
        job = next((squeezed(line.split("JOB")[1]) for line in self.header or ()
                    if line.startswith("CAMGEN") and "JOB" in line), "")
        return bool(job) and re.fullmatch(rf"CAMGEN[0-9.A-Z+-]*?JOB{job}", form) is not None


@cache
def _headings() -> tuple[str, ...]:
    """First words of the lines that a heading may hold, in every language."""
    material = verbatim("MATERIAL {name}")
    return ("CAMGEN", "TABLES", *dict.fromkeys(
        squeezed(said.split()[0]) for line in (material, *_MODEST) for said in in_languages(line)))


def _matching(
    comments: Sequence[Event], at: int, known: Callable[[str, Sequence[Event]], bool]
) -> tuple[int, str]:
    """How many comments from ``at`` on make up one that is known, and its form; 0 where none."""
    form = ""
    for length in range(1, min(_MOST_LINES, len(comments) - at) + 1):
        form += squeezed(comments[at + length - 1].text)
        if known(form, comments[at : at + length]):
            return length, form
    return 0, ""


class _Body:
    """Comments among the blocks of one program."""

    def __init__(self, sayings: Sayings, begun: int, found: Faults) -> None:
        self.sayings, self.begun, self.found = sayings, begun, found
        self.lines = found.program.motion.line
        self.taken: set[int] = set()
        self.fitted = 0

    def look(self, told: Sequence[Event | Told]) -> None:
        """Every comment must be one that may be said there; notes not where hands go in."""
        comments = [one for one in told if isinstance(one, Event) and one.kind == "comment"]
        at = 0
        notes: list[Event] = []
        while at < len(comments):
            length, _ = _matching(comments, at, self._may_be_said)
            if not length:
                if _NOTE.match(comments[at].text):
                    notes.append(comments[at])
                else:
                    self.found.add(
                        Message("({text}) is none of this program's own comments there: whoever "
                                "runs it would do as it says; a note of yours begins with NOTE, "
                                "where the cutter moves", text=comments[at].text),
                        comments[at].line)
                length = 1
            at += length
        self._notes(told, notes)

    def _may_be_said(self, form: str, comments: Sequence[Event]) -> bool:
        first, last = (self.begun + comments[place].before for place in (0, -1))
        # A line may be broken within a word.
        words = len(" ".join(one.text for one in comments).split()) - len(comments) + 1
        some = [*self.sayings.forms.get(form, ()),
                *(one for shape, most, one in self.sayings.shapes
                  if shape.fullmatch(form) and words <= most)]
        for one in some:
            if not one.window[0] <= first <= last <= one.window[1]:
                continue
            if id(one) in self.taken and not one.often:
                continue
            if one.change and one.again and self.fitted:
                continue
            self.fitted += one.change
            self.taken.add(id(one))
            return True
        return False

    def _notes(self, told: Sequence[Event | Told], notes: Sequence[Event]) -> None:
        """Notes in the last move before a stop, between it and the first move after, or last said.

        A control shows the comment that it came to last, until it comes to another.
        """
        if not notes:
            return
        stops = ("stop", "optional-stop", "cutter-change", "hand-index")
        known, amiss = set(map(id, notes)), dict[int, Event]()
        for order in (told, told[::-1]):
            hands = -1
            for one in order:
                if one.kind in stops:
                    hands = one.before
                elif one.kind == "way" or one.before != hands:
                    hands = -1
                elif isinstance(one, Event) and id(one) in known:
                    amiss[one.line] = one
        for at, stop in enumerate(told):
            if stop.kind in ("stop", "optional-stop", "hand-index"):
                amiss |= {note.line: note for note in self._shown(told, at, known)}
        for line in sorted(amiss):
            self.found.add(
                Message("({text}): a note where the program stops may be taken for what is to be "
                        "done there; write it where the cutter moves, and not in the last move "
                        "before a stop", text=amiss[line].text), line)

    def _shown(
        self, told: Sequence[Event | Told], at: int, notes: set[int]
    ) -> Iterator[Event]:
        """The notes, by their ids, that a screen may still show at the stop ``told[at]``."""
        lines, made = self.lines, told[at].before
        begun = made
        while begun and lines[begun - 1] == lines[made - 1]:
            begun -= 1
        own = False
        for place in range(at - 1, -1, -1):
            one = told[place]
            if own and one.before < begun:
                return
            if isinstance(one, Event) and one.kind == "comment":
                if id(one) not in notes:
                    own = True
                elif not own or one.before >= begun:
                    yield one
