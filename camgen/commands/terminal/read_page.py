"""What ``camgen read`` says of a program: a page for people, the same as data for a program.

Lengths mm, feeds mm/min, times seconds.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Any, Final

from camgen.commands.terminal.duration import time_words
from camgen.commands.terminal.screen import in_spoken
from camgen.cutting.time.motion import motion_seconds
from camgen.faults import parted
from camgen.messages import NOTHING, Message, counted
from camgen.reader.comparing.motions import Difference
from camgen.reader.motion import FIGURES, Figure, Finding, ReadProgram
from camgen.reader.notes import places_words
from camgen.reader.summary import CutterUse, Summary, summary_of
from camgen.reader.waits import events_in_order, halts, waits
from camgen.shop.machine import Machine
from camgen.values import dataclass

__all__ = ["ReadAndTimed", "comparison", "page", "report", "told_of", "unsure_words"]

_MOST_SHOWN: Final = 12
_LABEL: Final = 13
_NAMES: Final[dict[Figure, Message]] = {
    "places": Message("extents"), "depths": Message("depths"), "feeds": Message("feeds"),
    "speeds": Message("speeds"), "cutters": Message("cutters"),
    "turns": Message("turns of the head"), "time": Message("time"),
}
_DO_NOT_RUN: Final = Message("DO NOT RUN")


@dataclass(frozen=True)
class ReadAndTimed:
    """A program, or its parts as one, with what was worked out of it.

    ``seconds`` in all, of them ``waiting`` seconds of dwells and cutter changes; ``parts`` the
    names of the files it was put together from.
    """

    program: ReadProgram
    machine: Machine
    summary: Summary
    seconds: float
    waiting: float
    parts: tuple[str, ...]


def told_of(program: ReadProgram, machine: Machine, parts: tuple[str, ...] = ("",)) -> ReadAndTimed:
    """A program with what is worked out of it."""
    seconds, waiting = _times(program, machine)
    return ReadAndTimed(program, machine, summary_of(program, seconds),
                        float(seconds.sum()) + waiting, waiting, parts)


def _times(program: ReadProgram, machine: Machine) -> tuple[Any, float]:
    """(n,) seconds of each piece of motion, and the seconds spent waiting and changing cutters."""
    motion, events = program.motion, events_in_order([program])
    seconds = motion_seconds(
        machine, kind=motion.kind, start=motion.start, end=motion.end, feed=motion.feed,
        centre=motion.centre, plane=motion.plane, turns=motion.turns,
        angle_start=motion.angle_start, angle_end=motion.angle_end, halts=halts(events),
    ).seconds
    return seconds, sum(wait.seconds for wait in waits(events, machine))


def page(told: ReadAndTimed, width: int) -> list[str]:
    """The answer on one screen, ``width`` columns wide."""
    program, summary = told.program, told.summary
    name = program.name if len(told.parts) == 1 else Message(
        "{count} parts, {first} to {last}", count=len(told.parts), first=told.parts[0],
        last=told.parts[-1])
    lines = textwrap.wrap(in_spoken(Message(
        "{name}, read as {machine} reads it: {blocks} blocks, {moves} moves, {units}", name=name,
        machine=told.machine.name, blocks=summary.blocks, moves=len(program.motion),
        units=program.units)), width, subsequent_indent="  ")
    doubtful = {figure for figure, _ in program.unsure}

    def entry(label: Message, pieces: Sequence[str], *of: Figure, between: str = ", ") -> None:
        mark = "?" if doubtful.intersection(of) else ""
        lines.extend(_entry(f"{in_spoken(label)}{mark}", pieces, width, between))

    if doubtful:
        entry(Message("NOT SURE"), [unsure_words(program)])
    entry(Message("time"), [time_words(told.seconds), Message(
        "of it {time} waiting and changing cutters", time=time_words(told.waiting))], "time")
    for label, both in ((Message("travel"), summary.travel), (Message("cutting"), summary.cutting)):
        if both is not None:
            pieces = [Message("{axis} {low:.3f} to {high:.3f}", axis=axis, low=low, high=high)
                      for axis, low, high in zip("XYZ", *both, strict=True)]
            entry(label, [*pieces[:2], Message("{range} mm", range=pieces[2])], "places", "depths",
                  between="   ")
    for use in summary.cutters:
        entry(Message("cutter {number}", number=use.number), _use_words(use), "depths", "feeds",
              "speeds", "cutters", "time")
    if summary.turns:
        first, last = summary.turned
        entry(Message("head"), [counted("{n} turn", "{n} turns", summary.turns), Message(
            "{first:g}° to {last:g}°", first=first, last=last)], "turns")
    if summary.stops:
        entry(Message("stops"), [str(summary.stops)])
    others = [name for name, _ in program.files if name not in told.parts]
    if others:
        entry(Message("read too"), list(dict.fromkeys(others)))
    entry(Message("words"), [f"{word} {count}" for word, count in program.words.items()],
          between="  ")
    if not program.findings:
        lines.append("  " + in_spoken(Message("nothing amiss was found in the text")))
    return lines + _findings(program, width)


def unsure_words(program: ReadProgram) -> Message:
    """Which figures are not sure, and from which line on."""
    by_line: dict[int, list[Figure]] = {}
    for figure, line in program.unsure:
        by_line.setdefault(line, []).append(figure)
    said = []
    for line, figures in by_line.items():
        file, own = program.where(line)
        what = Message("every figure") if len(figures) == len(FIGURES) else tuple(
            _NAMES[figure] for figure in FIGURES if figure in figures)
        said.append(
            Message("{figures} from line {line} on", figures=what, line=own)
            if file == program.name else
            Message("{figures} from line {line} of {file} on", figures=what, line=own, file=file))
    return Message("{figures}, for what stands there or is missing", figures=parted(said))


def _entry(label: str, pieces: Sequence[str], width: int, between: str = ", ") -> list[str]:
    """A label and pieces, no piece broken that fits on a line, on as many lines as it takes."""
    pieces = [in_spoken(piece) for piece in pieces]
    whole = [piece.replace(" ", "\N{NO-BREAK SPACE}") if len(piece) <= width - _LABEL else piece
             for piece in pieces]
    return [
        line.replace("\N{NO-BREAK SPACE}", " ")
        for line in _wrapped(f"  {label} ".ljust(_LABEL), between.join(whole), width)
    ]


def _findings(program: ReadProgram, width: int) -> list[str]:
    """What was found: words not known with all their places, then what else forbids running it."""
    unknown: dict[str, list[Finding]] = {}
    groups: dict[tuple[Message, bool], list[Finding]] = {}
    for found in program.findings:
        if found.word:
            unknown.setdefault(found.word, []).append(found)
        else:
            groups.setdefault((found.message, found.grave), []).append(found)
    lines: list[str] = []
    if unknown:
        lines += _wrapped(_mark(_DO_NOT_RUN), Message("not known here: {words}", words=parted(
            Message("{word}, {places}", word=word, places=_places(program, found))
            for word, found in unknown.items())), width)
    ordered = sorted(groups.items(), key=lambda item: not item[0][1])
    for (message, grave), some in ordered[:_MOST_SHOWN]:
        lines += _wrapped(
            _mark(_DO_NOT_RUN if grave else Message("note")),
            Message("{where}: {what}", where=_places(program, some), what=message), width)
    if len(ordered) > _MOST_SHOWN:
        lines += _wrapped(_mark(NOTHING), Message(
            "and {count} more; --json has them all", count=len(ordered) - _MOST_SHOWN), width)
    return lines


def _mark(label: Message) -> str:
    return f"  {in_spoken(label)} ".ljust(_LABEL)


def _places(program: ReadProgram, found: Sequence[Finding]) -> Message:
    """Where something was found, by file where it is not the program's own."""
    by_file: dict[str, list[tuple[int, int]]] = {}
    for one in found:
        file, line = program.where(one.line)
        by_file.setdefault(file, []).append((line, one.column))
    return parted(
        places_words(places, most=4) if file == program.name else
        Message("{file}, {places}", file=file, places=places_words(places, most=4))
        for file, places in by_file.items()
    )


def _wrapped(first: str, text: str, width: int) -> list[str]:
    return textwrap.wrap(in_spoken(text), width, initial_indent=first,
                         subsequent_indent=" " * len(first), break_on_hyphens=False)


def _use_words(use: CutterUse) -> list[str]:
    """What one cutter does."""
    parts: list[str] = [use.text] if use.text else []
    parts.append(Message("Z {low:.3f} to {high:.3f} mm", low=use.low[2], high=use.high[2]))
    if use.speeds:
        low, high = use.speeds
        parts.append(Message("{speed:g} rev/min", speed=low) if low == high else
                     Message("{low:g} to {high:g} rev/min", low=low, high=high))
    if use.feeds:
        low, high = use.feeds
        parts.append(f"{low:g} mm/min" if low == high else
                     Message("{low:g} to {high:g} mm/min", low=low, high=high))
    parts.append(Message("{length:.0f} mm cut", length=use.length))
    if use.seconds is not None:
        parts.append(time_words(use.seconds))
    return parts


def comparison(
    one: ReadProgram, other: ReadProgram, names: tuple[str, str],
    differences: Sequence[Difference], tolerance: float, width: int,
) -> list[str]:
    """Whether two programs make the same motion, in words."""
    if not differences:
        return textwrap.wrap(in_spoken(Message(
            "{one} and {other} make the same motion, to {tolerance:g} mm", one=names[0],
            other=names[1], tolerance=tolerance)), width, subsequent_indent="  ")
    lines = textwrap.wrap(
        in_spoken(Message("{one} and {other} differ:", one=names[0], other=names[1])), width,
        subsequent_indent="  ")
    for found in differences:
        places = Message("{one} against {other}", one=_line(one, found.line),
                         other=_line(other, found.other_line))
        what = (Message("{what}, {amount:.4g} {unit}", what=found.what, amount=found.amount,
                        unit=found.unit) if found.amount and found.unit else found.what)
        lines += _wrapped("  ", Message("{where}: {what}", where=places, what=what), width)
    return lines


def _line(program: ReadProgram, line: int) -> Message:
    if not line:
        return Message("nothing")
    file, own = program.where(line)
    return (Message("line {line} of {file}", line=own, file=file) if program.files
            else Message("line {line}", line=own))


def report(
    told: ReadAndTimed, differences: Sequence[Difference] | None, other: ReadProgram | None
) -> dict[str, Any]:
    """The answer for a program to read."""
    program, summary = told.program, told.summary
    answer: dict[str, Any] = {
        "program": program.name,
        "programs": list(told.parts),
        "post": told.machine.name,
        "blocks": summary.blocks,
        "moves": len(program.motion),
        "units": program.units,
        "seconds": round(told.seconds, 3),
        "waiting_seconds": round(told.waiting, 3),
        "travel": _bounds(summary.travel),
        "cutting": _bounds(summary.cutting),
        "cutters": [
            {
                "number": use.number, "text": use.text, "speeds": use.speeds, "feeds": use.feeds,
                "bounds": _bounds((use.low, use.high)), "length": round(use.length, 3),
                "seconds": None if use.seconds is None else round(use.seconds, 3),
            }
            for use in summary.cutters
        ],
        "head": {"turns": summary.turns, "degrees": summary.turned},
        "stops": summary.stops,
        "words": program.words,
        "unsure": {figure: _place(program, line) for figure, line in program.unsure},
        "findings": [
            {**_place(program, found.line), "column": found.column, "grave": found.grave,
             "message": found.message, "unsure": list(found.unsure)}
            for found in program.findings
        ],
    }
    if differences is not None and other is not None:
        answer["same_motion"] = not differences
        answer["differences"] = [
            {"what": found.what, "line": program.where(found.line)[1],
             "file": program.where(found.line)[0], "other_line": other.where(found.other_line)[1],
             "other_file": other.where(found.other_line)[0], "amount": found.amount,
             "unit": found.unit}
            for found in differences
        ]
    return answer


def _place(program: ReadProgram, line: int) -> dict[str, Any]:
    file, own = program.where(line)
    return {"file": file, "line": own}


def _bounds(both: tuple[tuple[float, ...], tuple[float, ...]] | None) -> dict[str, Any] | None:
    if both is None:
        return None
    return {axis: [low, high] for axis, low, high in zip("XYZ", *both, strict=True)}
