"""Setups made by hand for the tests of pictures: layouts, and motion laid out from moves."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import shapely

from camgen.dividing import divide
from camgen.layout import Clamp, FlatLayout, ToothLayout
from camgen.moves import Arc, Drill, Feed, Index, Move, Rapid, Section, SetupMoves
from camgen.part.features import Hole
from camgen.part.shape import PartShape
from camgen.preview.paper.board import Board, Box
from camgen.proof.ground.planned import lay_out
from camgen.reader.motion import Kind, Motion, ReadProgram
from camgen.shapes.crossing import crossing_openings
from camgen.shapes.path import LineTo, Path, Point, circle
from camgen.shop.cutters import Cutter, MadeFor
from camgen.shop.machine import Arrangement, DrivenHead, Machine
from camgen.teeth.forms import wheel_tooth
from camgen.teeth.tooth import Tooth

MILL = Machine(name="bench", describes="a bench mill with a driven head", dividing=DrivenHead())


def program(name: str, *sections: Section) -> ReadProgram:
    """Moves as if they had been written and read back."""
    motion = lay_out(SetupMoves(name, sections)).motion
    lines = tuple(f"block {number}" for number in range(1, int(motion.line.max()) + 1))
    return ReadProgram(name, lines, motion, (), (), "mm", {})


def along(path: Path, feed: float) -> list[Move]:
    """Moves along a path from its start."""
    moves: list[Move] = []
    for piece in path.pieces:
        if isinstance(piece, LineTo):
            moves.append(Feed(feed, piece.end.x, piece.end.y))
        else:
            moves.append(Arc(feed, piece.centre, piece.clockwise, piece.end.x, piece.end.y))
    return moves


def blanks(
    columns: int, rows: int, radius: float = 5.5, clamped: bool = False, passes: int = 3
) -> tuple[FlatLayout, ReadProgram, dict[int, Cutter], dict[int, str]]:
    """Wheel blanks crossed out and cut from a sheet 0.25 mm thick."""
    pitch = 2 * radius + 2
    rim = 2 * (radius - 0.94)
    part = PartShape(circle(Point(0, 0), radius),
                     crossing_openings(5, 2.4, rim, 0.45, 0.45, 0.25),
                     (Hole("bore", Point(0, 0), 0.8),))
    places = tuple(((column - (columns - 1) / 2) * pitch, (row - (rows - 1) / 2) * pitch)
                   for row in range(rows) for column in range(columns))
    wide, high = columns * pitch / 2 + 3, rows * pitch / 2 + 2
    clamps = (Clamp(shapely.box(-wide, -high, -wide + 1.5, high), 3.0),) if clamped else ()
    layout = FlatLayout(shapely.box(-wide, -high, wide, high), 0.0, -0.25, -0.35, part, places,
                        clamps, True, 5.0, 0.5)
    drilled: list[Move] = [Rapid(z=5), *(Drill(x, y, 0.5, -0.3, 25, 5) for x, y in places)]
    milled: list[Move] = [Rapid(z=5)]
    ways = [way.moved(x, y)
            for x, y in places
            for way in (*crossing_openings(5, 2.4, rim, 0.45, 0.45, 0.25, inset=0.2),
                        circle(Point(0, 0), radius + 0.2, clockwise=True))]
    for way in ways:
        milled += [Rapid(way.start.x, way.start.y), Rapid(z=0.5)]
        for number in range(1, passes + 1):
            milled += [Feed(20, z=-0.3 * number / passes), *along(way, 120)]
        milled.append(Rapid(z=5))
    read = program("blanks.nc",
                   Section("drill", 0, "drill", 1, "DRILL", 9000, tuple(drilled)),
                   Section("mill", 1, "mill", 2, "MILL", 24000, tuple(milled)))
    cutters = {1: Cutter(kind="drill", diameter=0.7), 2: Cutter(kind="end-mill", diameter=0.4)}
    return layout, read, cutters, {1: "drill", 2: "mill"}


def teeth(
    count: int, module: float, mate: int, made_for: int | None = None, deeper: float = 0.0,
    arrangement: Arrangement | None = None, zero: str = "touch", tooth: Tooth | None = None,
) -> tuple[ToothLayout, ReadProgram, dict[int, Cutter]]:
    """A stack of 2 mm cut in two passes by a disc of 20 mm, spaces at 0°, one after another.

    With a ``tooth`` given the cutter leaves that tooth's space.
    """
    own = tooth is None
    tooth = tooth or wheel_tooth("cycloidal", count, module, mate)
    setting = arrangement or Arrangement()
    stack, disc = 2.0, 10.0
    division = divide(count, DrivenHead())
    layout = ToothLayout(setting, zero, tooth, tooth.tip_radius, 0.0, stack, stack + 1.5,
                         tooth.tip_radius, min(2.0, 0.5 * tooth.root_radius), division, 5.0, 0.5)
    whole = tooth.sizes.whole_depth + deeper

    def at(place: float | None = None, depth: float | None = None) -> dict[str, float]:
        words: dict[str, float] = {}
        if place is not None:
            words[setting.along[1].lower()] = place * (1 if setting.along[0] == "+" else -1)
        if depth is not None:
            shift = tooth.tip_radius + disc if zero == "axis" else 0.0
            sign = 1 if setting.infeed[0] == "+" else -1
            words[setting.infeed[1].lower()] = sign * (depth - shift)
        return words

    moves: list[Move] = [Rapid(**at(depth=-5.0))]
    for number, angle in enumerate(division.angles, 1):
        moves.append(Index(angle, number))
        for depth in (whole / 2, whole):
            run_in = math.sqrt(depth * (2 * disc - depth)) + 0.5
            moves += [Rapid(**at(place=-run_in)), Rapid(**at(depth=depth)),
                      Feed(60, **at(place=stack + 0.3)), Rapid(**at(depth=-5.0))]
    read = program("teeth.nc", Section("teeth", 0, "teeth", 4, "DISC", 4000, tuple(moves)))
    words = MadeFor(form="cycloidal-wheel", module=module, teeth=made_for or count,
                    mate=mate) if own else None
    return layout, read, {4: Cutter(kind="form-disc", diameter=2 * disc, made_for=words)}


def overlaps(board: Board) -> list[tuple[str, str]]:
    """Pairs of texts that touch, measured by the drawing library where they stand at the end."""
    boxes = [(text.get_text(), board.extent(text)) for text in board.figure.texts
             if text.get_text()]
    return [(first, second)
            for (first, one), (second, other) in combinations(boxes, 2) if one.overlaps(other)]


def outside(board: Board) -> list[str]:
    """Texts that leave the board."""
    whole = Box(0, 0, board.width, board.height)
    return [text.get_text() for text in board.figure.texts
            if not (lambda box: box.x >= whole.x and box.y >= whole.y
                    and box.x + box.width <= whole.width
                    and box.y + box.height <= whole.height)(board.extent(text))]


def zigzag(moves: int) -> ReadProgram:
    """A program of so many short straight cuts, to and fro over 40 by 30 mm."""
    step = np.arange(moves + 1)
    row, place = step // 400, step % 400
    points = np.column_stack((np.where(row % 2, 399 - place, place) * 0.1 - 20,
                              row * 0.12 - 15, -0.1 - 0.2 * (row % 3) / 2))
    none = np.full((moves, 3), np.nan)
    zero = np.zeros(moves)
    whole = np.zeros(moves, dtype=np.int64)
    motion = Motion(
        whole + Kind.LINE, whole + np.arange(1, moves + 1), points[:-1], points[1:], none,
        whole + 2, whole, zero, zero, zero + 200.0, zero + 24000.0, whole + 2, whole + 1)
    lines = tuple(f"G1 X{x:.3f} Y{y:.3f} Z{z:.3f}" for x, y, z in points[1:].tolist())
    return ReadProgram("large.nc", lines, motion, (), (), "mm", {})
