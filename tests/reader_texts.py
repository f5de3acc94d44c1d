"""Program texts made up at random, for tests of the reader."""

from __future__ import annotations

import math
import random

HEAD = ("%", "G21 G17 G90 G94 G40 G49 G80 G54", "T1 M6 (FIT CUTTER 1 MILL)", "S12000 M3",
        "G0 Z5.", "G0 X0. Y0.", "G1 Z-0.2 F100.")
TAIL = ("G0 Z5.", "M5", "M30", "%")
ODD = (
    "(A COMMENT)", "; to the end", "G4 P0.5", "M8", "M9", "M0 (LOOK)", "M5", "S9000 M3", "/M1",
    "G18", "G17", "G19", "G91", "G90", "G20", "G21", "G2 X1. Y1. I5. J0.", "G3 X1. Y1.",
    "G2 X3. Y3. R2.", "G3 X1. Y2. R-4.", "G91 G2 X0. Y0.001 I1.\nG90", "G1 X5", "X5 Y5.",
    "X1.5.2", "G5 X1.", "Q3.", "I1.",
    "G81 X1. Y2. Z-1. R1. F50.", "X4. Y4.", "G80", "G83 X1. Y1. Z-2. R1. Q0.3 F80.", "G0", "G1",
    "F0.", "F250.", "X1. X2.", "G0 G1 X3.", "G92 X0.", "G92.1", "G52 X3. Y3.", "G52 X0. Y0.",
    "G53 G0 Z0.", "G0 Z5.", "G28 X0. Y0.", "A30.", "G0 A-400.", "G1 A10. F100.", "G93", "G94",
    "G95", "N10 G1 X1.", "g1x-.5y+2.f30.", "G 1 X 4 .", "X 1 2", "G01 X+1.000 Y-.0", "M6 T2",
    "G43 H1", "G49", "G98", "G99", "G64 P0.01", "M77", "B3.", "O9", "", "   ", "G1 Z", "\u00d8",
    "G90.1", "G91.1", "G2 I1.", "G3 J-1. Z-1.", "X123456789012345678.5", "X-0. Y-0.", "G55", "T3",
    "M98 P100 L2", "M99", "M10", "G30 Z1.", "F1e3", "G41 D1", "G40", "G0 Z-0.", "X0.0000000001",
)


def plain_line(dice: random.Random, place: list[float]) -> str:
    """One block of a plain move from ``place``, which is moved on."""
    here = list(place)
    kind = dice.random()
    if kind < 0.5:
        words = []
        for axis in dice.sample("XYZ", dice.randint(1, 3)):
            value = round(dice.uniform(-9, 9), dice.randint(0, 4))
            place["XYZ".index(axis)] = value
            words.append(f"{axis}{value}")
        if dice.random() < 0.2:
            words.append(f"F{dice.randint(20, 400)}.")
        motion = dice.choice(("", "", "", "G1 ", "G0 ", "G01", "g1", "G17 G1 "))
        return motion + dice.choice((" ", "")).join(words)
    if kind < 0.8:
        end = [round(dice.uniform(-9, 9), 3) for _ in range(2)]
        middle = [round((there + now) / 2 - now, 4)
                  for there, now in zip(end, here[:2], strict=True)]
        place[:2] = end
        return (f"{dice.choice(('G2', 'G3'))} X{end[0]} Y{end[1]} I{middle[0]:.4f} "
                f"J{middle[1]:.4f}\nG1 X{end[0]}")
    if kind < 0.85:
        end = [round(dice.uniform(-9, 9), 3) for _ in range(2)]
        radius = 0.5 * math.dist(end, here[:2]) * dice.choice((1.0, 1.1, 3.0)) + 1e-3
        radius = math.copysign(radius, dice.choice((1.0, -1.0)))
        place[:2] = end
        return f"{dice.choice(('G2', 'G3'))} X{end[0]} Y{end[1]} R{radius:.3f}\nG1"
    if kind < 0.9:
        return f"G3 I{round(dice.uniform(0.1, 3), 3)} J0.5\nG1"
    return dice.choice((f"F{dice.randint(10, 200)}.", "G1", "", "G0 A10.", "G0 A20.5\nG1"))


def random_program(seed: int, lines: int = 150, odd: float = 0.02) -> str:
    """A program of plain moves with odd blocks strewn in at the share ``odd``."""
    dice = random.Random(seed)
    place = [0.0, 0.0, -0.2]
    text = list(HEAD)
    for _ in range(lines):
        text.append(dice.choice(ODD) if dice.random() < odd else plain_line(dice, place))
    text += TAIL
    if dice.random() < 0.3:
        step = dice.choice((1, 10))
        text = [f"N{step * (at if dice.random() < 0.995 else at + 1)} {line}"
                if line[:1] in "GXYZF" and "\n" not in line else line
                for at, line in enumerate(text, start=1)]
    if dice.random() < 0.1:
        at = 0
        for place, line in enumerate(text):
            if line[:1] in tuple("GXYZ") and "\n" not in line:
                at += 10
                text[place] = f"N{at}{line}"
    return dice.choice(("\n", "\r\n", "\n")).join(text)


def mutated(text: bytes, seed: int, most: int = 12) -> bytes:
    """``text`` with some of its bytes changed, lost, doubled or moved."""
    dice = random.Random(seed)
    body = bytearray(text)
    for _ in range(dice.randint(1, most)):
        if not body:
            break
        at = dice.randrange(len(body))
        deed = dice.randrange(5)
        if deed == 0:
            body[at] = dice.randrange(256)
        elif deed == 1:
            del body[at : at + dice.randint(1, 8)]
        elif deed == 2:
            body[at:at] = body[at : at + dice.randint(1, 30)]
        elif deed == 3:
            body[at:at] = dice.choice(ODD).encode("latin-1", "replace")
        else:
            other = dice.randrange(len(body))
            body[at], body[other] = body[other], body[at]
    return bytes(body)
