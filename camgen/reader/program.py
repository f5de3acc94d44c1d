"""A whole program's text, read as a control reads it."""

from __future__ import annotations

import re
from collections import OrderedDict
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Final, TypeAlias

import numpy as np

from camgen.arrays import Floats
from camgen.faults import Fault, Place, Refused
from camgen.messages import NOTHING, Message
from camgen.reader.assemble import motion_of
from camgen.reader.control.blocks import Outcome, carry_out
from camgen.reader.control.journal import COLUMNS
from camgen.reader.control.state import Control, control_of
from camgen.reader.dialect import Dialect, dialect_of
from camgen.reader.motion import ReadProgram, file_of
from camgen.reader.notes import Notes, places_words
from camgen.reader.runs import can_run, run
from camgen.reader.text.lines import between_marks, lines_of
from camgen.reader.text.many_lines import PAGE_LINES, Columns, Page
from camgen.reader.text.own_marks import plain_lines
from camgen.reader.text.words import split_block
from camgen.shop.machine import Machine

__all__ = ["LARGEST_TEXT", "MOST_REPEATED", "read_program"]

LARGEST_TEXT: Final = 256 * 1024 * 1024
"""Longest text read, bytes."""
LONGEST_LINE: Final = 20_000
"""Longest line read, characters: no control takes one near so long."""
MOST_REPEATED: Final = 250_000
"""Most blocks carried out, beyond those written, by calling subprograms."""
MOST_FILES: Final = 100
"""Most files with subprograms that are read with one program."""
Beside: TypeAlias = Callable[[int], tuple[str, str | bytes] | None]
"""Gives name and text of the file that holds a subprogram, None where there is none."""
_DEEPEST: Final = 8
_FLUSH: Final = 4096
# Fewer plain lines than this in a row are quicker one by one; runs begin short and lengthen while
# nothing is amiss; so many pages are kept at hand for subprograms that call to and fro.
_FEWEST: Final = 24
_FIRST_REACH: Final = 512
_MOST_PAGES: Final = 6


def read_program(
    text: str | bytes,
    machine: Machine,
    name: str = "",
    *,
    subprograms: Mapping[int, str | bytes] | None = None,
    beside: Beside | None = None,
    infeed: str = "",
    fast: bool = True,
) -> ReadProgram:
    """Read program ``text`` as the control of ``machine`` would, starting cold.

    ``subprograms`` gives the text of subprograms that stand in files of their own, by number;
    ``beside`` is asked for those that are called and stand nowhere else. Their lines are counted on
    from the program's own (see :meth:`.ReadProgram.where`). A subprogram that is not there is a
    finding, and what can be told of the rest is told. Blocks with a leading ``/`` are carried out.
    ``infeed`` is the axis along which the cutter is drawn back, where a job says how the head
    stands; left out, it is the machine file's own.
    With ``fast`` false every block goes the slow way: the answer is the same.

    Raises :class:`camgen.faults.Refused` for text whose motion cannot be known: variables, macros,
    endless loops, text beyond all bounds; every place is named, and every unknown word with it.
    """
    if len(text) > LARGEST_TEXT:
        raise Refused(Fault(Message("the program is {size:.0f} MB long", size=len(text) / 1e6),
                            Message("split it in parts"), Place(name)))
    notes = Notes()
    lines = lines_of(text, notes)
    own = len(lines)
    long = next((at for at, line in enumerate(lines) if len(line) > LONGEST_LINE), None)
    if long is not None:
        raise Refused(Fault(
            Message("this line is {long} characters long, and no control reads more than {most} "
                    "in one", long=len(lines[long]), most=LONGEST_LINE),
            Message("look whether the ends of lines were lost on the way"), Place(name, long + 1)))
    written = lines
    lines = plain_lines(lines, machine, notes)
    dialect = dialect_of(machine)
    if infeed:
        dialect = replace(dialect, retract_axes=frozenset((2, "XYZ".index(infeed))))
    control = control_of(machine, dialect, name, notes)
    first = list(control.place.position)
    run_of = _Run(control, lines, own, beside, fast=fast)
    for number, body in (subprograms or {}).items():
        run_of.append(number, f"O{number}", body)
    chunks = run_of.carry_out()
    if control.journal.refusals:
        raise Refused(_refused(control, tuple(run_of.files)))
    return ReadProgram(
        name=name,
        lines=(*written, *lines[own:]),
        motion=motion_of(chunks, control.dialect, first),
        events=tuple(control.journal.events),
        findings=notes.findings(),
        units="inch" if control.modes.unit == 25.4 else "mm",
        words=dict(sorted(control.journal.words.items())),
        unsure=notes.unsure,
        files=tuple(run_of.files),
        told=tuple(control.journal.record),
    )


def _refused(control: Control, files: tuple[tuple[str, int], ...]) -> list[Fault]:
    """What cannot be known, and what else is not known here, each with all its places."""
    faults: list[Fault] = []
    unknown: dict[Message, list[tuple[int, int]]] = {}
    for found in control.journal.notes.findings():
        if found.grave and found.column and found.unsure:
            unknown.setdefault(found.message, []).append((found.line, found.column))
    remedy = Message("let the control or the maker of this program write the figures out, and "
                     "read that")
    for message, places in control.journal.refusals:
        faults.append(_fault(control.name, files, message, NOTHING if faults else remedy, places))
    for message, places in list(unknown.items())[:50]:
        faults.append(_fault(control.name, files, message, NOTHING, places))
    return faults


def _fault(
    name: str, files: tuple[tuple[str, int], ...], message: Message, remedy: Message,
    places: list[tuple[int, int]],
) -> Fault:
    line, column = places[0]
    file, before = file_of(name, files, line)
    if len(places) > 1:
        message = Message("{what}; also in {places}", what=message, places=places_words(places[1:]))
    return Fault(message, remedy, Place(file, line - before, column))


_LABEL = re.compile(r"\s*(?:N\s*\d+\s*)?([A-Z:])\s*0*(\d{1,9})(?![\d.])", re.IGNORECASE)


class _Run:
    """Carries out the lines of one program."""

    def __init__(
        self, control: Control, lines: list[str], own: int, beside: Beside | None, *, fast: bool
    ) -> None:
        self.control = control
        self.lines = lines
        self.own = own
        self.beside = beside
        self.asked: set[int] = set()
        self.files: list[tuple[str, int]] = []
        self.chunks: list[Floats] = []
        self.labels: dict[int, int] | None = None
        self.called: set[int] = set()
        self.frames: list[tuple[int, int, int]] = []
        self.repeated = 0
        # Where the head has limits every turn is looked at by itself.
        turns = control.machine.rotary.way in ("absolute", "incremental") and (
            control.dialect.turning is None)
        # Diameters, and numbers counted from their first figure, are read one by one.
        plain = not (control.dialect.doubled or control.dialect.from_first
                     or control.machine.arcs.unsigned)
        self.columns = Columns.of(control.dialect, turns=turns) if fast and plain else None
        self.pages: OrderedDict[int, Page] = OrderedDict()
        self.slow_until = 0
        self.penalty = _FEWEST
        self.reach = _FIRST_REACH

    @property
    def dialect(self) -> Dialect:
        return self.control.dialect

    def flush(self) -> None:
        """Turn the rows gathered so far into an array."""
        journal = self.control.journal
        if journal.rows:
            self.chunks.append(np.array(journal.rows, dtype=np.float64).reshape(-1, COLUMNS))
            journal.made_before += len(journal.rows)
            journal.angle_before = journal.rows[-1][10]
            journal.kind_before = journal.rows[-1][0]
            journal.rows.clear()

    def carry_out(self) -> list[Floats]:
        """All blocks in the order a control takes them."""
        control = self.control
        lines = self.lines
        at = self._start()
        while at < len(lines):
            if at >= self.own and not self.frames:
                break
            if self.columns is not None and at >= self.slow_until:
                further = self._many(at)
                if further > at:
                    at = further
                    continue
            step = self._line(at)
            if step is None:
                break
            if step != at + 1:
                self.slow_until = 0
            at = step
            if len(control.journal.rows) >= _FLUSH:
                self.flush()
        self.flush()
        self._after(at)
        return self.chunks

    def _many(self, at: int) -> int:
        """Carry out plain lines from ``at`` at once; gives the line to go on at."""
        control = self.control
        page = self._page(at)
        begin = at - page.first
        end = int(page.until[begin])
        if end - begin < _FEWEST:
            self.slow_until = at + end - begin + 1
            return at
        if not can_run(control):
            return at
        end = min(end, begin + self.reach)
        self.flush()
        count, rows = run(control, page, begin, end)
        if len(rows):
            self.chunks.append(rows)
            control.journal.made_before += len(rows)
            control.journal.angle_before = control.place.angle
            control.journal.kind_before = float(rows[-1, 0])
        if count < end - begin:
            self.reach = _FIRST_REACH
            # Where trouble comes thick, setting out again and again costs more than it saves.
            self.penalty = min(2 * self.penalty, PAGE_LINES) if count < _FEWEST else _FEWEST
            self.slow_until = at + count + (self.penalty if count < _FEWEST else 1)
        else:
            self.penalty = _FEWEST
            self.reach = min(4 * self.reach, PAGE_LINES)
        if self.frames:
            self._count_repeated(at, count)
        return at + count

    def _page(self, at: int) -> Page:
        """The page that holds line ``at``."""
        assert self.columns is not None
        first = at - at % PAGE_LINES
        page = self.pages.get(first)
        if page is None:
            page = Page.of(self.lines[first : first + PAGE_LINES], first, self.columns)
            self.pages[first] = page
            if len(self.pages) > _MOST_PAGES:
                self.pages.popitem(last=False)
        return page

    def _count_repeated(self, at: int, count: int) -> None:
        """Count blocks carried out in subprograms; raises Refused beyond all bounds."""
        self.repeated += count
        if self.repeated > MOST_REPEATED:
            raise Refused(
                Fault(
                    Message("subprograms make it more than {most} blocks long",
                            most=MOST_REPEATED),
                    Message("look for a call inside its own subprogram, or a count that is too "
                            "high"),
                    Place(self.control.name, at + 1),
                )
            )

    def _start(self) -> int:
        """The line to begin at: what stands before a leading % mark is not read."""
        lines = self.lines
        first = next((at for at, line in enumerate(lines) if line.strip()), None)
        notes = self.control.journal.notes
        if first is None:
            notes.add(Message("the program is empty"), 1, grave=True)
            return len(lines)
        marked = lines[first].lstrip().startswith("%")
        if self.control.machine.program.marks and not marked:
            notes.add(Message("the % mark at the start is missing"), first + 1)
        return first + 1 if marked else first

    def _line(self, at: int) -> int | None:
        """Carry out one line; gives the next, None at the end."""
        control = self.control
        text = self.lines[at]
        block = split_block(text)
        if block.mark:
            if self.frames:
                control.journal.grave(Message("the text ends in the middle of a subprogram"),
                                      at + 1)
            return None
        if block.skip and any(word.letter not in "NM" for word in block.words):
            control.journal.notes.add(
                Message("a block that the skip switch leaves out: carried out here"), at + 1,
                sort="block skip",
            )
        label = self._label(at, text)
        begun = control.journal.made or control.journal.events
        if label is not None and begun and not self.frames:
            control.journal.grave(
                Message("program {number} begins before the one above it has ended",
                        number=label), at + 1)
            return None
        outcome = carry_out(control, at + 1, block)
        if self.frames:
            self._count_repeated(at, 1)
        if outcome is None:
            return at + 1
        return self._follow(at, outcome)

    def _label(self, at: int, text: str) -> int | None:
        if "O" not in text and "o" not in text and ":" not in text:
            return None
        found = _LABEL.match(text)
        return int(found[2]) if found is not None and found[1] in "Oo:" else None

    def _follow(self, at: int, outcome: Outcome) -> int | None:
        control = self.control
        if outcome.kind == "end":
            return None
        if outcome.kind == "call":
            return self._call(at, outcome)
        if not self.frames:
            control.journal.grave(
                Message("M99 outside a subprogram: run by itself the control would begin again "
                        "without end; shown once through"), at + 1)
            control.ended = True
            return None
        back, left, start = self.frames.pop()
        if left > 1:
            self.frames.append((back, left - 1, start))
            return start
        return back

    def _call(self, at: int, outcome: Outcome) -> int | None:
        control = self.control
        if outcome.repeats == 0:
            return at + 1
        target = self._find(outcome.number)
        if target is None:
            what = Message("subprogram {number}", number=outcome.number)
            control.journal.unknown(
                Message("{what} is not in this text, nor in a file beside it: what it does is not "
                        "shown", what=what), at + 1, outcome.column, word=what)
            return at + 1
        if len(self.frames) >= _DEEPEST:
            control.journal.refuse(
                Message("subprograms call each other more than {most} deep: one may call itself",
                        most=_DEEPEST), at + 1, outcome.column,
            )
            return None
        self.called.add(outcome.number)
        self.frames.append((at + 1, outcome.repeats, target))
        control.numbers.counted = False  # What is called has numbers of its own.
        return target

    def _find(self, number: int) -> int | None:
        """The first line of subprogram ``number``, which may be read from a file beside."""
        if self.labels is None:
            self.labels = {}
            self._label_from(0)
        if number not in self.labels and self.beside is not None and number not in self.asked:
            self.asked.add(number)
            found = self.beside(number) if len(self.files) < MOST_FILES else None
            if found is not None:
                self.append(number, *found)
        return self.labels.get(number)

    def _label_from(self, first: int) -> None:
        """Note where subprograms begin, from line ``first`` on."""
        assert self.labels is not None
        letters = {"O", ":", self.dialect.label}
        for at in range(first, len(self.lines)):
            found = _LABEL.match(self.lines[at])
            if found is not None and found[1].upper() in letters:
                self.labels.setdefault(int(found[2]), at + 1)

    def append(self, number: int, name: str, text: str | bytes) -> None:
        """Add the lines of another file, which holds subprogram ``number``."""
        if len(text) > LARGEST_TEXT:
            return
        first = len(self.lines)
        notes = self.control.journal.notes
        self.lines.extend(plain_lines(between_marks(lines_of(text, notes)), self.control.machine,
                                      notes, first + 1))
        self.lines.append("M99")
        self.files.append((name, first))
        # The last page may have ended in the middle of itself.
        self.pages.pop(first - first % PAGE_LINES, None)
        if self.labels is None:
            self.labels = {}
            self._label_from(0)
        else:
            self._label_from(first)
        self.labels.setdefault(number, first)

    def _after(self, at: int) -> None:
        """What is wrong with how the text ends."""
        control = self.control
        if control.journal.refusals:
            return
        if not control.ended:
            control.journal.grave(
                Message("the program has no end word: a control may run on, or stop with the "
                        "spindle on"), max(1, min(at + 1, self.own)),
            )
        self._behind()
        if control.machine.program.marks and not any(
            line.lstrip().startswith("%") for line in self.lines[max(at, 1) : self.own]
        ):
            control.journal.notes.add(Message("the % mark at the end is missing"),
                                      max(1, self.own))

    def _behind(self) -> None:
        """What a control may run behind the end: blocks, and subprograms that nothing calls."""
        ends = [event.line for event in self.control.journal.events if event.kind == "end"]
        marked = called = False
        for at in range(ends[-1] if ends else self.own, self.own):
            block = split_block(self.lines[at])
            # A control that has no marks does not stop at one.
            marked |= bool(block.mark) and self.control.machine.program.marks
            label = self._label(at, self.lines[at])
            called = label in self.called if label is not None else called
            moves = any(word.letter in "GM" or word.letter in self.dialect.axes
                        for word in block.words)
            if (label is None and not moves) or (called and not marked):
                continue
            self.control.journal.grave(
                Message("words behind the last % mark: a control that is sent a program line by "
                        "line runs them") if marked else
                Message("subprogram {number}, which nothing calls, behind the program's end: a "
                        "control that does not go back to the start runs it when it is started "
                        "next", number=label) if label is not None else
                Message("a block behind the program's end: a control that does not go back to the "
                        "start runs it when it is started next"), at + 1)
            return
