"""Random moves, and a comparison of moves with motion read back, for the post-processor's tests."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from camgen.messages import Message
from camgen.moves import (
    Arc,
    Drill,
    Dwell,
    Feed,
    Index,
    Move,
    Pause,
    Rapid,
    Remark,
    Section,
    SetupMoves,
)
from camgen.post.writer import write_programs
from camgen.reader import read_program
from camgen.reader.motion import Kind, Motion, ReadProgram
from camgen.shop.machine import DrivenHead, Machine

PLANE_AXES = {"XY": (0, 1, 2), "ZX": (2, 0, 1), "YZ": (1, 2, 0)}


def random_flat(seed: int, moves: int = 40, planes: tuple[str, ...] = ("XY", "ZX", "YZ"),
                sections: int = 2) -> SetupMoves:
    """A flat setup of random but well-formed moves, mm."""
    rng = random.Random(seed)
    done = []
    cutter = 0
    for number in range(sections):
        if number == 0 or rng.random() < 0.6:
            cutter += 1
        done.append(Section(
            f"step {number + 1}", number, f"c{cutter}", cutter, f"END MILL D{cutter / 10 + 0.3:g}",
            round(rng.uniform(4000, 15000)), tuple(_flat_moves(rng, moves, planes)),
            coolant=rng.random() < 0.3, air=rng.random() < 0.3,
        ))
    return SetupMoves("random flat work", tuple(done), "Z", 5.0)


def _flat_moves(rng: random.Random, count: int, planes: tuple[str, ...]) -> list[Move]:
    x, y = rng.uniform(-20, 20), rng.uniform(-20, 20)
    moves: list[Move] = [Rapid(z=5.0), Rapid(x=x, y=y), Rapid(z=0.5)]
    z = -0.2
    moves.append(Feed(round(rng.uniform(10, 60), 1), z=z))
    for _ in range(count):
        feed = round(rng.uniform(20, 200), 1)
        pick = rng.random()
        if pick < 0.3:
            x, y = x + rng.choice((0, rng.gauss(0, 3))), y + rng.choice((0, rng.gauss(0, 3)))
            moves.append(Feed(feed, x=x, y=y))
        elif pick < 0.35:
            # Steps about as small as the grid.
            x += rng.uniform(-0.002, 0.002)
            moves.append(Feed(feed, x=x))
        elif pick < 0.8:
            arc, (x, y, z) = _random_arc(rng, (x, y, z), feed, planes)
            moves.append(arc)
        elif pick < 0.85:
            moves.append(Dwell(rng.choice((0.5, 1.25, 3.0))))
        elif pick < 0.9:
            moves.append(Remark("a note, Ø0.4 × 2°"))
        else:
            moves.append(Rapid(z=5.0))
            if rng.random() < 0.3:
                moves.append(Pause(Message("MEASURE THE BORE"), optional=rng.random() < 0.5))
            for _ in range(rng.randrange(3)):
                x, y = rng.uniform(-20, 20), rng.uniform(-20, 20)
                moves.append(Drill(
                    x, y, 0.5, -round(rng.uniform(0.1, 2), 2), feed, 5.0,
                    peck=rng.choice((0.0, 0.0, 0.3)), dwell=rng.choice((0.0, 0.0, 0.5)),
                    feed_out=rng.random() < 0.2,
                ))
            z = -rng.uniform(0.1, 1.0)
            x, y = rng.uniform(-20, 20), rng.uniform(-20, 20)
            moves += [Rapid(x=x, y=y), Rapid(z=0.5), Feed(feed, z=z)]
    moves.append(Rapid(z=5.0))
    return moves


def _random_arc(
    rng: random.Random, at: tuple[float, float, float], feed: float, planes: tuple[str, ...]
) -> tuple[Arc, tuple[float, float, float]]:
    plane: Any = rng.choice(planes)
    first, second, normal = PLANE_AXES[plane]
    radius = math.exp(rng.uniform(math.log(0.02), math.log(15)))
    start = rng.uniform(-math.pi, math.pi)
    sweep = math.radians(rng.choice((90, 180, 270, 30, rng.uniform(0.01, 359.9))))
    clockwise = rng.random() < 0.5
    full = rng.random() < 0.15
    centre = (at[first] - radius * math.cos(start), at[second] - radius * math.sin(start))
    to = [*at]
    if not full:
        end = start - sweep if clockwise else start + sweep
        to[first] = centre[0] + radius * math.cos(end)
        to[second] = centre[1] + radius * math.sin(end)
    if rng.random() < 0.25:
        to[normal] = at[normal] + rng.uniform(-0.3, 0.3)
    goal: list[float | None] = [*to]
    for axis in range(3):
        if to[axis] == at[axis] and rng.random() < 0.5:
            goal[axis] = None
    arc = Arc(feed, centre, clockwise, x=goal[0], y=goal[1], z=goal[2], plane=plane, full=full)
    return arc, (to[0], to[1], to[2])


def random_teeth(seed: int, machine: Machine, spaces: int | None = None) -> SetupMoves:
    """Spaces cut on the machine's dividing head, its own axes and senses used."""
    rng = random.Random(seed)
    head = machine.dividing
    assert head is not None
    stand = head.arrangement
    infeed, along = stand.infeed[1].lower(), stand.along[1].lower()
    into = 1.0 if stand.infeed[0] == "+" else -1.0
    way = 1.0 if stand.along[0] == "+" else -1.0
    count = spaces or rng.choice((2, 3, 6, 7, 60, 75))
    clear = -3.0 * into
    moves: list[Move] = [Rapid(**{infeed: clear}), Rapid(**{along: -4.0 * way}),
                         Rapid(**{stand.across.lower(): 0.0})]
    if isinstance(head, DrivenHead) and rng.random() < 0.5:
        moves.append(Index(-head.take_up))
    for space in range(1, count + 1):
        angle = round((space - 1) * 360.0 / count, 3)
        moves += [
            Index(angle, space, f"{space % 7} turns and 13 holes on the 39 circle"),
            Rapid(**{infeed: 0.3 * into}),
            Feed(30.0, **{along: 6.0 * way}),
            Rapid(**{infeed: clear}),
            Rapid(**{along: -4.0 * way}),
        ]
        if space == 2:
            moves.append(Pause(Message("MEASURE THE TOOTH"), optional=True))
    section = Section("cut teeth", 0, "teeth", 1, "FORM DISC D20", 1200, tuple(moves))
    return SetupMoves("random teeth", (section,), stand.infeed[1], clear)  # type: ignore[arg-type]


@dataclass
class Planned:
    """One stretch that is meant: ``points`` along it, mm, and the head's angle at its end."""

    points: np.ndarray
    angle: float
    length: float
    what: str

    @property
    def cut(self) -> bool:
        """Whether it is made at a feed."""
        return self.what in ("line", "drill") or self.what.startswith("Arc")


def meant(setup: SetupMoves, machine: Machine) -> list[Planned]:
    """What the moves mean, stretch by stretch."""
    at: list[float] = [math.nan] * 3
    angle = 0.0
    done: list[Planned] = []

    def line(to: list[float | None], what: str) -> None:
        end = [was if mm is None else mm for mm, was in zip(to, at, strict=True)]
        points = np.linspace(at, end, 9) if not any(map(math.isnan, at)) else np.array([end] * 2)
        done.append(Planned(points, angle, _length(points), what))
        at[:] = end

    def hole(move: Drill) -> None:
        line([None, None, move.travel if math.isnan(at[2]) else max(at[2], move.travel)], "out")
        line([move.x, move.y, None], "over")
        line([None, None, move.clearance], "above")
        depth = move.clearance
        while depth > move.bottom + 1e-9:
            if depth < move.clearance:
                line([None, None, move.clearance], "peck out")
                line([None, None, min(move.clearance, depth + move.peck_gap)], "peck in")
            depth = max(move.bottom, depth - move.peck) if move.peck else move.bottom
            line([None, None, depth], "drill")
        line([move.x + move.aside[0], move.y + move.aside[1], None], "off the wall")
        line([None, None, move.travel], "out")
        line([move.x, move.y, None], "back")

    for section in setup.sections:
        for move in section.moves:
            match move:
                case Rapid():
                    line([move.x, move.y, move.z], "rapid")
                case Feed():
                    line([move.x, move.y, move.z], "line")
                case Arc():
                    points = _arc_points(move, at)
                    done.append(Planned(points, angle, _length(points), f"{move}"))
                    at[:] = [float(v) for v in points[-1]]
                case Drill():
                    hole(move)
                case Index():
                    if isinstance(machine.dividing, DrivenHead) or move.space:
                        angle = move.degrees
                    done.append(Planned(np.array([at] * 2), angle, 0.0, "index"))
                case _:
                    pass
    return done


def _arc_points(move: Arc, at: list[float]) -> np.ndarray:
    first, second, normal = PLANE_AXES[move.plane]
    end = [was if mm is None else mm
           for mm, was in zip((move.x, move.y, move.z), at, strict=True)]
    u = (at[first] - move.centre[0], at[second] - move.centre[1])
    v = (end[first] - move.centre[0], end[second] - move.centre[1])
    sweep = math.atan2(u[0] * v[1] - u[1] * v[0], u[0] * v[0] + u[1] * v[1])
    if move.clockwise:
        sweep = -sweep
    if move.full:
        sweep = 2 * math.pi
    elif math.hypot(u[0] - v[0], u[1] - v[1]) < 1e-9:
        sweep = 0.0
    elif sweep <= 0:
        sweep += 2 * math.pi
    radius = math.hypot(*u)
    turn = -sweep if move.clockwise else sweep
    count = 4 + math.ceil(sweep / 0.06 * math.sqrt(max(radius, 1.0)))
    t = np.linspace(0.0, 1.0, count)
    angle = math.atan2(u[1], u[0]) + turn * t
    points = np.empty((count, 3))
    points[:, first] = move.centre[0] + radius * np.cos(angle)
    points[:, second] = move.centre[1] + radius * np.sin(angle)
    points[:, normal] = at[normal] + (end[normal] - at[normal]) * t
    points[-1] = end
    return points


def _length(points: np.ndarray) -> float:
    """Length of a polyline; 0 where its start is not known."""
    return float(np.nan_to_num(np.linalg.norm(np.diff(points, axis=0), axis=1).sum()))


def piece_points(motion: Motion, k: int) -> np.ndarray:
    """Points along the ``k``-th piece read."""
    kind = motion.kind[k]
    start, end = motion.start[k], motion.end[k]
    if kind not in (Kind.ARC_CLOCKWISE, Kind.ARC_ANTICLOCKWISE):
        return np.linspace(start, end, 9)
    plane = ("YZ", "ZX", "XY")[motion.plane[k]]
    first, second, _ = PLANE_AXES[plane]
    arc = Arc(1.0, (motion.centre[k][first], motion.centre[k][second]),
              kind == Kind.ARC_CLOCKWISE, *end, plane=plane,  # type: ignore[arg-type]
              full=bool(np.allclose(start, end)))
    return _arc_points(arc, [float(v) for v in start])


def off_path(points: np.ndarray, path: np.ndarray) -> float:
    """The largest distance of ``points`` from the polyline ``path``."""
    a, b = path[:-1], path[1:]
    along = b - a
    size = np.maximum((along**2).sum(axis=1), 1e-30)
    t = np.clip(((points[:, None] - a) * along).sum(axis=2) / size, 0.0, 1.0)
    gap = a + along * t[:, :, None] - points[:, None]
    return float(np.sqrt((gap**2).sum(axis=2).min(axis=1).max()))


def tolerance(machine: Machine) -> float:
    """One step of the coarsest grid in all three axes at once, and the chord error if any."""
    place = 10.0**-machine.numbers.decimals * (25.4 if machine.program.units == "inch" else 1.0)
    step = max(place, machine.x.increment, machine.y.increment, machine.z.increment)
    return step * math.sqrt(3) + machine.arcs.tolerance + 0.0002


def at_speeds(setup: SetupMoves, machine: Machine) -> SetupMoves:
    """The setup at speeds that the spindle has: one with belts has no others than theirs."""
    return replace(setup, sections=tuple(
        replace(one, rpm=machine.spindle.at_most(one.rpm)) for one in setup.sections))


def written_and_read(
    setup: SetupMoves, machine: Machine, **header: Any
) -> tuple[list[bytes], list[ReadProgram]]:
    """The programs' texts and what was read back."""
    programs = write_programs(at_speeds(setup, machine), machine, stem="trial", **header)
    return (
        [program.text for program in programs],
        [read_program(program.text, machine, program.file) for program in programs],
    )


def follow(setup: SetupMoves, machine: Machine, read: list[ReadProgram]) -> list[str]:
    """Hold the motion read back against what was meant; returns what is wrong.

    Every stretch must be made in its order, each piece of it lying on the stretch. Moves to get
    clear and back at the start of a part, or after a stop, may come between.
    """
    close = tolerance(machine)
    turn = max(10.0**-machine.numbers.rotary_decimals,
               getattr(machine.dividing, "increment", 0.0)) * 0.51 + 1e-9
    pieces = [(program.motion, k) for program in read for k in range(len(program.motion))]
    at = 0
    wrong: list[str] = []
    here = read[0].motion.start[0] if len(read[0].motion) else np.array([np.nan] * 3)
    angle = 0.0
    before: list[np.ndarray] = []
    for number, stretch in enumerate(meant(setup, machine)):
        target = stretch.points[-1]
        done = 0.0
        tries = 0
        while True:
            there = bool(np.all((np.abs(here - target) <= close) | np.isnan(target)))
            # Between parts the cutter may travel before the head is turned again.
            apart = abs(angle - stretch.angle)
            if getattr(machine.dividing, "limits", None):
                # Whole turns are taken back where the head cannot turn on.
                apart = abs(math.remainder(apart, 360.0))
            turned = stretch.what == "rapid" or apart <= turn
            if there and turned and done >= stretch.length - 3 * close - 0.02 * stretch.length:
                break
            if at >= len(pieces):
                return [*wrong, f"move {number} ({stretch.what}) is never made: at {here} {angle}, "
                                f"to {target} {stretch.angle}"]
            motion, k = pieces[at]
            at += 1
            here, angle = motion.end[k], float(motion.angle_end[k])
            points = piece_points(motion, k)
            if np.isnan(points).any() or np.isinf(points).any():
                continue
            cutting = motion.kind[k] not in (Kind.RAPID, Kind.INDEX)
            if cutting:
                off = off_path(points, stretch.points)
                # The last of a tiny arc may be taken for the beginning of what comes next.
                if off > close and min((off_path(points, b) for b in before), default=9) > close:
                    wrong.append(f"line {motion.line[k]} is {off:.5f} off move {number}")
                    return wrong
                done += _length(points)
            elif stretch.cut and done:
                return [*wrong, f"line {motion.line[k]} is a rapid in the middle of move {number}"]
            else:
                if not stretch.cut:
                    done += _length(points)
                tries += 1
                if tries > 40 or not _on_the_way(here, stretch, setup, close):
                    return [*wrong, f"line {motion.line[k]} wanders from move {number} "
                                    f"{stretch.what}"]
        before = [*before[-2:], stretch.points]
    for motion, k in pieces[at:]:
        if motion.kind[k] not in (Kind.RAPID, Kind.INDEX):
            wrong.append(f"line {motion.line[k]} cuts after all is done")
    return wrong


def _on_the_way(
    here: np.ndarray, stretch: Planned, setup: SetupMoves, close: float
) -> bool:
    """Whether a rapid ends between the stretch's ends, or clear, in every axis by itself."""
    clear = "XYZ".index(setup.retract_axis)
    for axis in range(3):
        known = [stretch.points[0][axis], stretch.points[-1][axis]]
        if axis == clear:
            known.append(setup.retract_to)
        if np.isfinite(here[axis]) and np.isfinite(known).all() and not (
            min(known) - close <= here[axis] <= max(known) + close
        ):
            # Z at its top, by a retract in machine coordinates, is known by no number here.
            if axis == 2 and here[2] >= max(known):
                continue
            return False
    return True


__all__ = [
    "Planned",
    "at_speeds",
    "follow",
    "meant",
    "off_path",
    "piece_points",
    "random_flat",
    "random_teeth",
    "replace",
    "tolerance",
    "written_and_read",
]


