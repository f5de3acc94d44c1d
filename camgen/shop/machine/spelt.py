"""What words of spelling may not say together with others."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeAlias

from camgen.messages import Message
from camgen.shop.machine.head import DrivenHead
from camgen.shop.machine.whole import Machine
from camgen.yamlfile.length_units import MM_PER_INCH

__all__ = ["spelling_contradictions"]

Contradiction: TypeAlias = tuple[tuple[str, ...], Message, Message]
# A small cutter's feed is a thousandth of a millimetre a turn and less: a hundredth of that is
# wanted. Common practice, no source.
_PLACES_A_TURN = 5


def spelling_contradictions(machine: Machine) -> Iterator[Contradiction]:
    """What is wrong with how programs are spelt: path of the word, what is wrong, what to do.

    >>> from camgen.shop.machine.program import ProgramWords
    >>> odd = Machine(name="odd", describes="odd", program=ProgramWords(feed="per-turn"))
    >>> [message for _, message, _ in spelling_contradictions(odd)]
    ['feeds a turn of the spindle are thousandths of a millimetre: 1 decimal places are too few']
    """
    blocks, comments, program = machine.blocks, machine.comments, machine.program
    if blocks.number_lines == "all" and not blocks.number:
        yield (("blocks", "number-lines"), Message("all lines numbered, and blocks are not"),
               Message("write number: true, or leave number-lines out"))
    if blocks.number_lines == "all" and blocks.number_after == "stop":
        yield (("blocks", "number-after"),
               Message("all lines are numbered, and past the limit none is"),
               Message("write number-after: start-again"))
    marks = {name for name in ("opens", "closes")
             if getattr(comments, name) != type(comments).model_fields[name].default}
    if comments.style != "marks" and marks:
        yield (("comments", min(marks)), Message("marks of comments, and the style is another"),
               Message("write style: marks, or leave opens and closes out"))
    if comments.style == "marks" and blocks.checksum != "none" and "*" in (
            comments.opens, comments.closes):
        yield (("comments", "opens"), Message("* begins the check-sum of a line"),
               Message("write another mark, or checksum: none"))
    yield from _figures(machine)
    yield from _marks(machine)
    if machine.arcs.unsigned and machine.arcs.style != "incremental":
        yield (("arcs", "unsigned"),
               Message("centres without a sign are counted from the start point, and style is "
                       "another"),
               Message("write style: incremental, or leave unsigned out"))
    if machine.arcs.unsigned and not machine.arcs.quadrants:
        yield (("arcs", "quadrants"),
               Message("centres without a sign hold within one quadrant alone"),
               Message("write quadrants: true, or leave unsigned out"))
    if comments.style == "marks":
        for name, own in machine.insert:
            if any(sign in block for block in own for sign in "(;"):
                yield (("insert", name.replace("_", "-")),
                       Message("a comment in parentheses or behind a semicolon, and comments have "
                               "other marks here"),
                       Message("write it between the marks under comments, or leave it out"))
    if program.feed != "per-turn":
        return
    if machine.numbers.feed_decimals < _PLACES_A_TURN:
        yield (("numbers", "feed-decimals"),
               Message("feeds a turn of the spindle are thousandths of a millimetre: {n} decimal "
                       "places are too few", n=machine.numbers.feed_decimals),
               Message("write {places} or more, or program.feed: per-minute",
                       places=_PLACES_A_TURN))
    if isinstance(machine.dividing, DrivenHead) and machine.rotary.turn == "feed":
        yield (("rotary", "turn"),
               Message("the head turns at degrees a minute, and F is a turn of the spindle's"),
               Message("write turn: rapid or inverse-time, or program.feed: per-minute"))


def _marks(machine: Machine) -> Iterator[Contradiction]:
    """What programs are marked and numbered with."""
    program = machine.program
    if program.mark_named and not program.marks:
        yield (("program", "mark-named"), Message("a name behind the % mark, and there is none"),
               Message("write marks: true, or leave mark-named out"))
    if program.number is not None and program.number > program.highest_number:
        yield (("program", "number"),
               Message("{number} has more figures than the {n} of program numbers",
                       number=program.number, n=len(str(program.highest_number))),
               Message("write number-figures: {n} if the control reads them",
                       n=len(str(program.number))))


def _too_few(machine: Machine) -> Iterator[Contradiction]:
    """Numbers of so many figures that the machine's own travels, feeds and turns do not go in."""
    numbers, unit = machine.numbers, MM_PER_INCH if machine.program.units == "inch" else 1.0
    axes = [machine.axis(name) for name in "XYZ"]
    travel = max((2.0 if axis.counts == "twice" else 1.0) * axis.travel for axis in axes) / unit
    feed = max(axis.feed_limit for axis in axes) / unit
    head = machine.dividing
    if isinstance(head, DrivenHead) and machine.rotary.turn == "feed":
        feed = max(feed, head.feed_limit)
    turn = 360.0 if isinstance(head, DrivenHead) and machine.rotary.way != "by-pulse" else 0.0
    wanted = (
        ("figures", numbers.figures, travel,
         Message("a travel of {most:g} has more than {n} figures before its places", most=travel,
                 n=numbers.figures)),
        ("feed-figures", numbers.feed_figures, feed if machine.program.feed == "per-minute" else 0,
         Message("a feed of {most:g} has more than {n} figures before its places", most=feed,
                 n=numbers.feed_figures)),
        ("rotary-figures", numbers.angle_figures, turn,
         Message("a turn of {most:g} degrees has more than {n} figures before its places",
                 most=turn, n=numbers.angle_figures)),
    )
    for word, figures, most, what in wanted:
        if most >= 10.0**figures:
            yield (("numbers", word), what,
                   Message("write {word}: {n}, or as many as the control reads",
                           word=word, n=len(str(int(most)))))


def _figures(machine: Machine) -> Iterator[Contradiction]:
    """Diameters, and numbers of so many figures."""
    numbers = machine.numbers
    if numbers.zeros != "no-leading" and numbers.point != "never":
        yield (("numbers", "zeros"), Message("zeros to be kept for a point that is not written, "
                                             "and it is"),
               Message("write point: never, or leave zeros out"))
    elif numbers.zeros != "no-leading":
        yield from _too_few(machine)
    for name in "xyz":
        axis = machine.axis(name.upper())
        if axis.counts == "once":
            continue
        # What else would be doubled, or not, controls differ in.
        if machine.arcs.style == "absolute":
            yield (("arcs", "style"),
                   Message("centres in the program's coordinates, and {name} counts diameters: "
                           "whether centres are doubled, controls differ in", name=name.upper()),
                   Message("write style: incremental, radius or none"))
        if machine.cycles.use:
            yield (("cycles", "use"),
                   Message("fixed cycles, and {name} counts diameters: what they double, controls "
                           "differ in", name=name.upper()),
                   Message("write use: false, and holes are written move by move"))
        if any("{safe}" in block for _, own in machine.insert for block in own):
            yield (("insert",),
                   Message("own blocks name the safe height, and {name} counts diameters",
                           name=name.upper()),
                   Message("write counts: once, or leave {safe} out", safe="{safe}"))
        places = (machine.change.place, machine.retract.park)
        if machine.offsets.stands_at or machine.retract.machine_z * (name == "z") or any(
                place is not None and place.counted == "machine" for place in places):
            yield ((name, "counts"),
                   Message("a place in the machine's coordinates, and {name} counts diameters",
                           name=name.upper()),
                   Message("leave stands-at, machine-z and places in machine coordinates out, or "
                           "write counts: once"))
