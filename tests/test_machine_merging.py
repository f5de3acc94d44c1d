"""Short blocks merged for a slow control: never farther off than is said, and proved so."""

from __future__ import annotations

import random
import re
from dataclasses import replace
from math import atan2, cos, hypot, pi, radians, sin

import numpy as np
import pytest
import shapely
from odd_machines import machine_with
from sampling import sampled

from camgen.messages import Message
from camgen.moves import Arc, Feed, Move, Rapid, Section, SetupMoves
from camgen.post.merging import merged
from camgen.post.writer import write_programs
from camgen.proof.ground.matching import Match, match
from camgen.proof.ground.planned import lay_out
from camgen.reader import read_program
from camgen.shop.machine import Machine

INCH = "program: {units: inch}\nnumbers: {decimals: 4, feed-decimals: 3}\n"
# Words of a machine file, with what a count of the program is in mm.
SPELT = (("", 0.001), ("x: {sense: reversed}\n", 0.001), (INCH, 0.00254),
         ("x: {increment: 0.005}\ny: {increment: 0.005}\n", 0.005),
         ("x: {scale: 1.0004}\ny: {scale: 0.9997}\n", 0.001), ("arcs: {style: none}\n", 0.001))
# More of them, whose programs are read by the reader alone.
ODD = (*(words for words, _ in SPELT), "arcs: {style: absolute}\n", "arcs: {style: radius}\n",
       "arcs: {quadrants: true, largest-sweep: 90}\n", "arcs: {helices: false}\n",
       "squareness: 0.05\n", "x: {errors: [[-50, 0.0], [0, 0.01], [50, 0.0]]}\n",
       "arcs: {unsigned: true, quadrants: true}\n", "blocks: {repeat-axes: true}\n",
       "program: {feed: per-turn, safe-words: [G40, G49, G80], unknown-words: [G94]}\n"
       "numbers: {feed-decimals: 5}\n")


def drawn(seed: int) -> SetupMoves:
    """A way at random: smooth for a while, with corners, ramps, and other feeds now and then."""
    rng = random.Random(seed)
    x, y, z, heading, feed = 0.0, 0.0, -0.2, rng.uniform(0, 2 * pi), 300.0
    moves: list[Move] = [Rapid(z=5.0), Rapid(x=x, y=y), Feed(100.0, z=z)]
    bend = rng.uniform(-1.0, 1.0)
    for _ in range(rng.randint(20, 60)):
        kind = rng.random()
        if kind < 0.1:
            heading += rng.uniform(-pi, pi)
        elif kind < 0.2:
            bend = rng.uniform(-2.0, 2.0)
        elif kind < 0.25:
            feed = rng.choice((200.0, 300.0))
        long = rng.choice((0.004, 0.02, 0.08, 0.08, 0.2))
        fall = rng.choice((0.0, 0.0, 0.0, 0.01)) * long
        z -= fall
        if rng.random() < 0.3 and abs(bend) > 0.1:
            side = 1.0 if bend > 0 else -1.0
            radius = 1.0 / abs(bend)
            middle = (x - side * radius * sin(heading), y + side * radius * cos(heading))
            heading += side * long / radius
            x = middle[0] + side * radius * sin(heading)
            y = middle[1] - side * radius * cos(heading)
            moves.append(Arc(feed, middle, bend < 0, x, y, z if fall else None))
        else:
            heading += bend * long + rng.uniform(-0.02, 0.02)
            x, y = x + long * cos(heading), y + long * sin(heading)
            moves.append(Feed(feed, x, y, z if fall else None))
    text = Message("drawn")
    return SetupMoves("drawn", (Section(text, 0, "m", 1, text, 9000.0,
                                        (*moves, Rapid(z=5.0))),))


def told(moves: SetupMoves, machine: Machine) -> str:
    (program,) = write_programs(moves, machine, stem="drawn")
    return program.text.decode("ascii")


def matched(moves: SetupMoves, machine: Machine, text: str | None = None) -> Match:
    """What the proofs make of it."""
    read = read_program((told(moves, machine) if text is None else text).encode("ascii"), machine,
                        "drawn.nc").motion
    return match(lay_out(moves).motion, read, moves, machine, np.zeros(len(read), dtype=np.int64))


def holds(found: Match, machine: Machine) -> bool:
    return found.stray < 0 and found.missing < 0 and bool(
        (found.off[found.merged] <= machine.merging + 1.5 * machine.coarsest + 1e-9).all())


Way = list[tuple[float, float, float]]


def _bent(start: tuple[float, ...], end: tuple[float, ...], middle: tuple[float, float],
          clockwise: bool) -> Way:
    """Places along an arc or helix."""
    a = atan2(start[1] - middle[1], start[0] - middle[0])
    turn = (atan2(end[1] - middle[1], end[0] - middle[0]) - a) % (2 * pi)
    turn = turn - 2 * pi if clockwise else turn
    r = hypot(start[0] - middle[0], start[1] - middle[1])
    count = max(2, int(abs(turn) * r / 0.01))
    return [(middle[0] + r * cos(a + turn * n / count), middle[1] + r * sin(a + turn * n / count),
             start[2] + (end[2] - start[2]) * n / count) for n in range(1, count + 1)]


def way_of(moves: SetupMoves) -> Way:
    """The places of the plan's cuts, by a few lines of our own."""
    at, way = [0.0, 0.0, 5.0], []
    for move in moves.sections[0].moves:
        before = (*at,)
        for axis, mm in enumerate((move.x, move.y, move.z)):  # type: ignore[union-attr]
            at[axis] = at[axis] if mm is None else mm
        if isinstance(move, Arc):
            way += _bent(before, (*at,), move.centre, move.clockwise)
        elif isinstance(move, Feed):
            way.append((at[0], at[1], at[2]))
    return way


def way_in(text: str, words: str) -> Way:
    """The places of a program's cuts, and no library's: G0 to G3 with I and J from the start."""
    unit = 25.4 if "inch" in words else 1.0
    of = {"X": unit * (-1.0 if "reversed" in words else 1.0), "Y": unit, "Z": unit}
    if "scale" in words:
        of = {"X": 1.0004, "Y": 0.9997, "Z": 1.0}
    at, motion, way = {"X": 0.0, "Y": 0.0, "Z": 5.0}, "G0", []
    for line in text.splitlines():
        found = re.findall(r"([A-Z])([-+.\d]+)", re.sub(r"\(.*?\)", "", line))
        if ("G", "53") in found or ("G", "28") in found:
            continue
        before, middle = dict(at), {"I": 0.0, "J": 0.0}
        for letter, value in found:
            if letter == "G" and value in "0123":
                motion = f"G{value}"
            elif letter in at:
                at[letter] = float(value) * of[letter]
            elif letter in middle:
                middle[letter] = float(value) * of["XY"["IJ".index(letter)]]
        if motion == "G0" or at == before:
            continue
        if motion == "G1":
            way.append((*at.values(),))
        else:
            way += _bent((*before.values(),), (*at.values(),),
                         (before["X"] + middle["I"], before["Y"] + middle["J"]),
                         (motion == "G2") != ("reversed" in words))
    return way


def apart(a: Way, b: Way) -> float:
    """How far apart two ways are for two who go along them together, seen from above."""
    lines = [shapely.segmentize(shapely.LineString([place[:2] for place in way]), 0.05)
             for way in (a, b)]
    return float(shapely.frechet_distance(*lines))


@pytest.mark.parametrize("seed", sampled(range(400), 24))
def test_written_and_planned_ways_are_no_farther_apart_than_is_said(seed: int) -> None:
    words, step = SPELT[seed % len(SPELT)]
    within = (0.0005, 0.002, 0.005)[seed % 3]
    machine = machine_with("plain-iso", f"blocks-per-second: {(5, 20, 50)[seed // 6 % 3]}\n"
                           f"merge-within: {within}\n{words}")
    moves = drawn(seed)
    text = told(moves, machine)
    planned, found = way_of(moves), way_in(text, words)
    limit = machine.merging + (machine.arcs.tolerance if "none" in words else 0.0)
    # Two who go along together at chords of 0.05 mm, are apart by those as well.
    assert shapely.hausdorff_distance(*(shapely.segmentize(shapely.LineString(
        [place[:2] for place in way]), 0.005) for way in (planned, found))) <= (
            limit + 1.5 * step + 1e-4)
    assert apart(planned, found) <= limit + 1.5 * step + 0.05
    heights = [min(abs(place[2] - other[2]) for other in planned
                   if hypot(place[0] - other[0], place[1] - other[1]) < 0.3) for place in found]
    assert max(heights) <= limit + 1.5 * step + 0.003
    assert holds(matched(moves, machine), machine)


@pytest.mark.parametrize("words", ODD)
def test_every_spelling_of_it_is_proved(words: str) -> None:
    machine = machine_with("plain-iso", f"blocks-per-second: 20\n{words}")
    for seed in (3, 8):
        assert holds(matched(drawn(seed), machine), machine)


def blocks(moves: SetupMoves) -> int:
    return sum(isinstance(move, Feed | Arc) for move in moves.sections[0].moves)


def of(*moves: Move) -> SetupMoves:
    text = Message("short")
    return SetupMoves("short", (Section(text, 0, "m", 1, text, 9000.0, (
        Rapid(z=5.0), Rapid(x=0.0, y=0.0), Feed(100.0, z=-0.1), *moves, Rapid(z=5.0))),))


def circle(count: int, radius: float = 2.0, sweep: float = 90.0) -> list[Move]:
    """A bow in so many lines."""
    turns = [radians(sweep * n / count) for n in range(1, count + 1)]
    return [Feed(300.0, radius * sin(a), radius - radius * cos(a)) for a in turns]


def test_it_becomes_arcs_or_longer_lines_and_only_where_it_must() -> None:
    bow = of(*circle(200))
    slow = machine_with("plain-iso", "blocks-per-second: 20\n")
    found = merged(bow, slow).sections[0].moves
    arcs = [move for move in found if isinstance(move, Arc)]
    # 3.14 mm at 0.25 mm a block at least.
    assert 2 <= len(arcs) <= 12
    assert blocks(merged(bow, slow)) < 16
    assert all(abs(hypot(move.centre[0], move.centre[1] - 2.0)) < 0.05 for move in arcs)
    for words in ("blocks-per-second: 1000\n", "blocks-per-second: 20\nmerge-within: 0\n"):
        assert merged(bow, machine_with("plain-iso", words)) is bow
    lines = merged(bow, machine_with("plain-iso", "blocks-per-second: 20\narcs: {style: none}\n"))
    assert not any(isinstance(move, Arc) for move in lines.sections[0].moves)
    # A chord that stands off 0.002 mm is 0.18 mm long: 18 of them.
    assert 18 <= blocks(lines) <= 24


def test_a_great_many_tiny_ones_take_no_time() -> None:
    found = merged(of(*circle(6000)), machine_with("plain-iso", "blocks-per-second: 20\n"))
    assert blocks(found) < 120


@pytest.mark.parametrize("between", [
    Feed(300.0, 0.05, 0.05), Feed(300.0, 0.0, 0.0), Feed(200.0, 0.1), Feed(300.0, 0.1, z=-0.101),
])
def test_never_across_a_corner_a_feed_or_the_end_of_a_ramp(between: Feed) -> None:
    """A tiny tooth of the way is kept even where it is smaller than what is allowed."""
    slow = machine_with("plain-iso", "blocks-per-second: 20\n")
    moves = of(Feed(300.0, 0.05), between)
    assert merged(moves, slow) is moves
    tiny = of(*(replace(move, x=(move.x or 0) / 100, y=(move.y or 0) / 100) for move in
                (Feed(300.0, 0.05, 0.0), Feed(300.0, 0.05, 0.05), Feed(300.0, 0.0, 0.05))))
    assert merged(tiny, slow) is tiny


def test_what_departs_farther_or_without_need_is_not_the_plan() -> None:
    moves = of(*circle(40, radius=1.0, sweep=60.0))
    wide = machine_with("plain-iso", "blocks-per-second: 20\nmerge-within: 0.005\n"
                        "arcs: {style: none, tolerance: 0.005}\n")
    text = told(moves, wide)
    assert holds(matched(moves, wide, text), wide)
    assert matched(moves, wide, text).merged.any()
    for words in ("blocks-per-second: 20\nmerge-within: 0.001\n", "blocks-per-second: 1000\n",
                  "blocks-per-second: 20\nmerge-within: 0\n"):
        other = machine_with("plain-iso", words)
        assert not holds(matched(moves, other, text), other)
    # And a merged block that is moved aside by more.
    arcs = machine_with("plain-iso", "blocks-per-second: 20\narcs: {style: radius}\n")
    text = told(moves, arcs)
    assert holds(matched(moves, arcs, text), arcs)
    changed = re.sub(r"R[01]\.?\d*", "R1.3", text, count=1)
    assert changed != text
    assert not holds(matched(moves, arcs, changed), arcs)
