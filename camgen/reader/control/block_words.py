"""The words of one block sorted: by letter, and G words by the group in which each holds."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from camgen.faults import all_of
from camgen.messages import Message
from camgen.reader.control.journal import not_shown
from camgen.reader.control.not_carried_out import NOT_CARRIED_OUT
from camgen.reader.control.state import Control
from camgen.reader.motion import FIGURES
from camgen.reader.text.words import Block

__all__ = ["sorted_by_group", "sorted_by_letter"]

# Stops, ends and calls: they have a block to themselves.
_ALONE = frozenset((0, 1, 2, 30, 98, 99))


def sorted_by_letter(control: Control, line: int, block: Block) -> tuple[
        dict[str, float], dict[str, int], list[tuple[int, int]], list[tuple[int, int]]]:
    """Figures and columns by letter; G words in tenths and M words, each with its column."""
    journal = control.journal
    dialect = control.dialect
    values: dict[str, float] = {}
    columns: dict[str, int] = {}
    codes: list[tuple[int, int]] = []
    actions: list[tuple[int, int]] = []
    pointless: list[int] = []
    count = journal.words
    for letter, value, column, pointed, figures in block.words:
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
                journal.unknown(Message("{word} is not known here", word=name), line, column,
                                word=name)
        else:
            name = letter
            if letter in values:
                journal.grave(_twice(letter), line, column, unsure=FIGURES)
            if not pointed:
                if letter in dialect.from_first:
                    value *= 10.0 ** (dialect.from_first[letter] - figures)
                if letter in dialect.places:
                    value /= dialect.places[letter]
                elif value and letter in dialect.pointed:
                    pointless.append(column)
            values[letter] = value / 2.0 if letter in dialect.doubled else value
            columns[letter] = column
        count[name] = count.get(name, 0) + 1
    if len(actions) > 1 and any(action in _ALONE for action, _ in actions):
        journal.grave(
            Message("{words} in one block: many controls carry out one of them only",
                    words=all_of([f"M{action}" for action, _ in actions])), line, actions[0][1])
    dwell = control.machine.dwell
    if any(code == 40 for code, _ in codes) and control.machine.numbers.point == "always" and (
            dwell.unit == "s" and any(letter == dwell.word and value and not pointed
                                      for letter, value, _, pointed, _ in block.words)):
        journal.grave(Message("a wait without a decimal point: read here in seconds, by some "
                              "controls in milliseconds"), line, unsure=("time",))
    # The X of a dwell is a time, which may be a whole number of milliseconds.
    if pointless and not any(
        code == 40 or code not in dialect.groups for code, _ in codes
    ):
        for column in pointless:
            journal.grave(
                Message("no decimal point: read here as it stands, by some controls as a number "
                        "of their least steps"), line, column,
                unsure=("places", "depths", "time"),
            )
    return values, columns, codes, actions


def sorted_by_group(
    control: Control, line: int, codes: Sequence[tuple[int, int]]
) -> tuple[dict[str, tuple[int, int]], int, bool, bool]:
    """G words by group, the one-shot word (−1 none), whether unknown ones are trusted.

    The last says whether the block's axis words belong to a word not carried out here.
    """
    journal = control.journal
    modal: dict[str, tuple[int, int]] = {}
    once = -1
    others = owned = False
    dialect = control.dialect
    for code, column in codes:
        group = dialect.groups.get(code, "")
        if not group:
            name = f"G{code / 10:g}" if code >= 0 else Message("this G word")
            if ("G", code) in dialect.trusted:
                others = True
                # What it makes of its own axis words is its owner's to know: none is a move.
                owned = True
                journal.tell("word", line, name)
                journal.notes.add(
                    Message("{word} stands in the machine file's own blocks and is taken on trust",
                            word=name), line, column,
                )
            else:
                others = True
                owned = _other(control, line, name, code, column) or owned
        elif group == "exact stop":
            journal.tell("word", line, "G9")
        elif group == "speed":
            pass
        elif group == "once":
            if once >= 0:
                journal.grave(_contradict(once, code), line, column, unsure=FIGURES)
            once = code
        elif group in modal:
            first = modal[group][0]
            cancel = dialect.cancel
            if group == "motion" and (code in cancel) != (first in cancel):
                # Safe start blocks have G0 and G80 side by side: the move word holds.
                if first in cancel:
                    modal[group] = (code, column)
            elif first == code:
                journal.notes.add(_twice(f"G{code / 10:g}"), line, column)
            else:
                journal.grave(_contradict(first, code), line, column, unsure=FIGURES)
                modal[group] = (code, column)
        else:
            modal[group] = (code, column)
    return modal, once, others, owned


def _twice(word: str) -> Message:
    return Message("{word} stands twice in one block", word=word)


def _contradict(code: int, other: int) -> Message:
    """Of two G words, in tenths."""
    return Message("{word} and {other} in one block contradict each other",
                   word=f"G{code / 10:g}", other=f"G{other / 10:g}")


@lru_cache(maxsize=256)
def _not_carried_out(word: str, means: Message) -> tuple[Message, Message]:
    """What is said of a word that is known and not carried out, and what it is then called."""
    return (Message("{word} is not carried out here; on many controls it is {means}", word=word,
                    means=means),
            Message("{word} ({means})", word=word, means=means))


def _other(control: Control, line: int, name: str, code: int, column: int) -> bool:
    """A G word that is not carried out; true where the block's axis words are its own."""
    journal = control.journal
    other = NOT_CARRIED_OUT.get(code)
    if other is None:
        journal.unknown(not_shown(name), line, column, word=name)
        return False
    if other.macro:
        journal.refuse(
            Message("{word}, {means}: what it does cannot be known from the text", word=name,
                    means=other.means), line, column)
    else:
        message, word = _not_carried_out(name, other.means)
        journal.unknown(message, line, column, other.unsure, word)
    return other.owns_axes
