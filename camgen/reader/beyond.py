"""What in any program lies beyond the machine, or rapids along where the cutter was fed down.

Findings of a program that no job stands behind. Where its zero will stand nobody knows: what it
travels in all is held against the travel of each axis. Lengths mm, feeds mm/min.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

import numpy as np

from camgen.messages import Message, counted
from camgen.reader.motion import Finding, Kind, Motion, ReadProgram
from camgen.reader.slides import slides_of
from camgen.reader.summary import extents, piece_lengths
from camgen.shop.machine import DrivenHead, Machine

__all__ = ["beyond", "with_limits"]

_CLOSE: Final = 1e-6


def beyond(program: ReadProgram, machine: Machine) -> tuple[Finding, ...]:
    """Travel, feeds, speeds and turning beyond the machine's, and rapids across at depth.

    Nothing is said of figures that the reading left unsure. More travel than there is must not be
    run; the rest a control bounds by itself, or whoever wrote the program knew.
    """
    unsure = {figure for figure, _ in program.unsure}
    motion = program.motion
    if not len(motion):
        return ()
    found: list[Finding] = []
    if "places" not in unsure and motion.station.max() <= 1:
        found += _travel(motion, machine)
    if not unsure & {"places", "feeds"}:
        found += _fed(motion, machine)
    if "speeds" not in unsure:
        found += _spun(motion, machine)
    if "depths" not in unsure:
        found += _rapids(motion)
    return tuple(found)


def with_limits(program: ReadProgram, machine: Machine) -> ReadProgram:
    """``program`` with these findings among its own, by their lines."""
    found = sorted((*program.findings, *beyond(program, machine)), key=lambda one: one.line)
    return replace(program, findings=tuple(found))


def _travel(motion: Motion, machine: Machine) -> Iterator[Finding]:
    low, high = extents(motion)
    slides = slides_of(machine)
    if slides is not None:
        # Travel is the slides' own.
        low, high = slides.told_span(np.asarray(low), np.asarray(high))
    for axis, name in enumerate("XYZ"):
        goes, travel = float(high[axis] - low[axis]), machine.axis(name).travel
        if goes > travel + _CLOSE:
            middle = (high[axis] + low[axis]) / 2
            bulge = np.linalg.norm(np.nan_to_num(motion.start - motion.centre), axis=1)
            away = np.fmax(np.abs(motion.end[:, axis] - middle),
                           np.abs(motion.centre[:, axis] - middle) + bulge)
            at = int(np.flatnonzero(away >= away.max() - _CLOSE)[-1])
            yield Finding(
                Message("{axis} goes over {goes:.3f} mm in all, and {machine} travels {travel:g} "
                        "mm there", axis=name, goes=goes, machine=machine.name, travel=travel),
                int(motion.line[at]), grave=True)


def _fed(motion: Motion, machine: Machine) -> Iterator[Finding]:
    fed = (motion.kind != Kind.RAPID) & (motion.kind != Kind.INDEX) & np.isfinite(motion.feed)
    length = piece_lengths(motion)
    share = np.abs(motion.end - motion.start) / np.where(length > 0, length, np.inf)[:, None]
    arcs = (motion.kind == Kind.ARC_CLOCKWISE) | (motion.kind == Kind.ARC_ANTICLOCKWISE)
    # Somewhere on an arc an axis of its plane may take the whole feed.
    share[arcs] = 1.0
    share[arcs, motion.plane[arcs]] = 0.0
    for axis, name in enumerate("XYZ"):
        asked = np.where(fed, np.nan_to_num(motion.feed) * share[:, axis], 0.0)
        limit = machine.axis(name).feed_limit
        over = np.flatnonzero(asked > limit * (1 + 1e-6) + 0.05)
        if len(over):
            yield _places(over, motion, Message(
                "{axis} is fed at {feed:.0f} mm/min, and {machine} follows {limit:g}",
                axis=name, feed=float(asked[over].max()), machine=machine.name, limit=limit))
    head = machine.dividing
    if isinstance(head, DrivenHead):
        turned = (motion.kind == Kind.INDEX) & np.isfinite(motion.feed)
        over = np.flatnonzero(turned & (np.nan_to_num(motion.feed) > head.feed_limit + 0.05))
        if len(over):
            yield _places(over, motion, Message(
                "the head is turned at {feed:.0f} degrees/min, and {machine} follows {limit:g}",
                feed=float(motion.feed[over].max()), machine=machine.name, limit=head.feed_limit))


def _spun(motion: Motion, machine: Machine) -> Iterator[Finding]:
    speed = np.abs(motion.speed)
    spindle = machine.spindle
    for off, _limit in ((speed > spindle.highest + 0.5, spindle.highest),
                       ((speed > 0) & (speed < spindle.lowest - 0.5), spindle.lowest)):
        over = np.flatnonzero(off)
        if len(over):
            yield _places(over, motion, Message(
                "{speed:.0f} rev/min, and the spindle of {machine} turns at {lowest:g} to "
                "{highest:g}", speed=float(speed[over[0]]), machine=machine.name,
                lowest=spindle.lowest, highest=spindle.highest))


def _rapids(motion: Motion) -> Iterator[Finding]:
    """Rapids across below the height from which the cutter was last fed down."""
    height = motion.end[:, 2]
    begun = motion.start[:, 2]
    fed_down = (motion.kind == Kind.LINE) & (height < begun - _CLOSE)
    # The height from which each was fed: it holds until the cutter is above it again.
    level, found = -np.inf, []
    across = np.hypot(*(motion.end[:, :2] - motion.start[:, :2]).T) > _CLOSE
    rapid = motion.kind == Kind.RAPID
    for at in np.flatnonzero(fed_down | (rapid & across) | (height > begun + _CLOSE)):
        if fed_down[at]:
            level = max(level, begun[at])
            continue
        if rapid[at] and across[at] and min(begun[at], height[at]) < level - _CLOSE:
            found.append(at)
        if height[at] >= level - _CLOSE:
            level = -np.inf
    if found:
        yield _places(np.array(found), motion, Message(
            "a rapid across at Z {height:.3f}, lower than where the cutter was last fed down from",
            height=float(min(begun[found[0]], height[found[0]]))))


def _places(rows: np.ndarray, motion: Motion, what: Message) -> Finding:
    """One finding at the first of its lines, with how many more there are."""
    lines = list(dict.fromkeys(int(line) for line in motion.line[rows]))
    if len(lines) > 1:
        what = Message("{what} ({more})", what=what, more=counted(
            "and in {n} more line", "and in {n} more lines", len(lines) - 1))
    return Finding(what, lines[0])
