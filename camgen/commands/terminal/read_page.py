"""What ``camgen read`` says of a program: a page for people, the same as data for a program.

Lengths mm, feeds mm/min, times seconds.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Any, Final

from camgen.commands.terminal.duration import time_words
from camgen.cutting.time.motion import motion_seconds
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
_NAMES: Final[dict[Figure, str]] = {
    "places": "extents", "depths": "depths", "feeds": "feeds", "speeds": "speeds",
    "cutters": "cutters", "turns": "turns of the head", "time": "time",
}


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
    name = program.name if len(told.parts) == 1 else (
        f"{len(told.parts)} parts, {told.parts[0]} to {told.parts[-1]}")
    lines = textwrap.wrap(
        f"{name}, read as {told.machine.name} reads it: {summary.blocks} blocks, "
        f"{len(program.motion)} moves, {program.units}", width, subsequent_indent="  ")
    doubtful = {figure for figure, _ in program.unsure}

    def entry(label: str, pieces: Sequence[str], *of: Figure, between: str = ", ") -> None:
        mark = "?" if doubtful.intersection(of) else ""
        lines.extend(_entry(f"{label}{mark}", pieces, width, between))

    if doubtful:
        lines += _entry("NOT SURE", [unsure_words(program)], width)
    entry("time", [time_words(told.seconds),
                   f"of it {time_words(told.waiting)} waiting and changing cutters"], "time")
    for label, both in (("travel", summary.travel), ("cutting", summary.cutting)):
        if both is not None:
            pieces = [f"{axis} {low:.3f} to {high:.3f}"
                      for axis, low, high in zip("XYZ", *both, strict=True)]
            entry(label, [*pieces[:2], f"{pieces[2]} mm"], "places", "depths", between="   ")
    for use in summary.cutters:
        entry(f"cutter {use.number}", _use_words(use), "depths", "feeds", "speeds", "cutters",
              "time")
    if summary.turns:
        entry("head", [f"{summary.turns} turns",
                       f"{summary.turned[0]:g}° to {summary.turned[1]:g}°"], "turns")
    if summary.stops:
        entry("stops", [str(summary.stops)])
    others = [name for name, _ in program.files if name not in told.parts]
    if others:
        entry("read too", list(dict.fromkeys(others)))
    entry("words", [f"{word} {count}" for word, count in program.words.items()], between="  ")
    if not program.findings:
        lines.append("  nothing amiss was found in the text")
    return lines + _findings(program, width)


def unsure_words(program: ReadProgram) -> str:
    """Which figures are not sure, and from which line on."""
    by_line: dict[int, list[Figure]] = {}
    for figure, line in program.unsure:
        by_line.setdefault(line, []).append(figure)
    said = []
    for line, figures in by_line.items():
        file, own = program.where(line)
        of = "" if file == program.name else f" of {file}"
        what = "every figure" if len(figures) == len(FIGURES) else ", ".join(
            _NAMES[figure] for figure in FIGURES if figure in figures)
        said.append(f"{what} from line {own}{of} on")
    return f"{'; '.join(said)}, for what stands there or is missing"


def _entry(label: str, pieces: Sequence[str], width: int, between: str = ", ") -> list[str]:
    """A label and pieces, no piece broken that fits on a line, on as many lines as it takes."""
    whole = [piece.replace(" ", "\N{NO-BREAK SPACE}") if len(piece) <= width - _LABEL else piece
             for piece in pieces]
    return [
        line.replace("\N{NO-BREAK SPACE}", " ")
        for line in _wrapped(f"  {label}".ljust(_LABEL), between.join(whole), width)
    ]


def _findings(program: ReadProgram, width: int) -> list[str]:
    """What was found: words not known with all their places, then what else forbids running it."""
    unknown: dict[str, list[Finding]] = {}
    groups: dict[tuple[str, bool], list[Finding]] = {}
    for found in program.findings:
        if found.word:
            unknown.setdefault(found.word, []).append(found)
        else:
            groups.setdefault((found.message, found.grave), []).append(found)
    lines: list[str] = []
    if unknown:
        lines += _wrapped("  DO NOT RUN ", "not known here: " + "; ".join(
            f"{word}, {_places(program, found)}" for word, found in unknown.items()), width)
    ordered = sorted(groups.items(), key=lambda item: not item[0][1])
    for (message, grave), some in ordered[:_MOST_SHOWN]:
        lines += _wrapped("  DO NOT RUN " if grave else "  note       ",
                          f"{_places(program, some)}: {message}", width)
    if len(ordered) > _MOST_SHOWN:
        lines += _wrapped(
            " " * _LABEL, f"and {len(ordered) - _MOST_SHOWN} more; --json has them all", width)
    return lines


def _places(program: ReadProgram, found: Sequence[Finding]) -> str:
    """Where something was found, by file where it is not the program's own."""
    by_file: dict[str, list[tuple[int, int]]] = {}
    for one in found:
        file, line = program.where(one.line)
        by_file.setdefault(file, []).append((line, one.column))
    return "; ".join(
        (f"{file}, " if file != program.name else "") + places_words(places, most=4)
        for file, places in by_file.items()
    )


def _wrapped(first: str, text: str, width: int) -> list[str]:
    return textwrap.wrap(text, width, initial_indent=first, subsequent_indent=" " * len(first),
                         break_on_hyphens=False)


def _use_words(use: CutterUse) -> list[str]:
    """What one cutter does."""
    parts = [use.text] if use.text else []
    parts.append(f"Z {use.low[2]:.3f} to {use.high[2]:.3f} mm")
    if use.speeds:
        low, high = use.speeds
        parts.append(f"{low:g} rev/min" if low == high else f"{low:g} to {high:g} rev/min")
    if use.feeds:
        low, high = use.feeds
        parts.append(f"{low:g} mm/min" if low == high else f"{low:g} to {high:g} mm/min")
    parts.append(f"{use.length:.0f} mm cut")
    if use.seconds is not None:
        parts.append(time_words(use.seconds))
    return parts


def comparison(
    one: ReadProgram, other: ReadProgram, names: tuple[str, str],
    differences: Sequence[Difference], tolerance: float, width: int,
) -> list[str]:
    """Whether two programs make the same motion, in words."""
    if not differences:
        return textwrap.wrap(f"{names[0]} and {names[1]} make the same motion, to {tolerance:g} mm",
                             width, subsequent_indent="  ")
    lines = textwrap.wrap(f"{names[0]} and {names[1]} differ:", width, subsequent_indent="  ")
    for found in differences:
        places = " against ".join((_line(one, found.line), _line(other, found.other_line)))
        amount = f", {found.amount:.4g} {found.unit}" if found.amount and found.unit else ""
        lines += _wrapped("  ", f"{places}: {found.what}{amount}", width)
    return lines


def _line(program: ReadProgram, line: int) -> str:
    if not line:
        return "nothing"
    file, own = program.where(line)
    return f"line {own}" + (f" of {file}" if program.files else "")


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
