"""Path data and transforms of SVG, read by the grammar of the open standard.

W3C, Scalable Vector Graphics (SVG) 1.1 (Second Edition), 2011: 8.3 path data, 7.6 transforms, and
the implementation notes F.6 on elliptical arcs. Coordinates stay in user units with Y downwards.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import TypeAlias

from camgen.messages import Message, counted
from camgen.shapes.path import Point
from camgen.values import dataclass

__all__ = [
    "Bend", "Conic", "Matrix", "Straight", "Subpath", "arc_by_radii", "numbers", "path_data",
    "times", "transform",
]

# a, b, c, d, e, f: x' = a·x + c·y + e, y' = b·x + d·y + f (7.4).
Matrix: TypeAlias = tuple[float, float, float, float, float, float]

_SPACE = re.compile(r"[ \t\r\n\f]*")
_BETWEEN = re.compile(r"[ \t\r\n\f]*,?[ \t\r\n\f]*")
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
# How many numbers each command takes at a time.
_TAKES = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}


@dataclass(frozen=True, slots=True)
class Straight:
    """A line to ``end``."""

    end: Point


@dataclass(frozen=True, slots=True)
class Bend:
    """A Bézier curve by its control points after the start; the last is its end."""

    controls: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Conic:
    """An elliptical arc to ``end``: ``centre + first·cos t + second·sin t`` from ``begin``."""

    end: Point
    centre: Point
    first: Point
    second: Point
    begin: float
    turn: float


@dataclass(frozen=True, slots=True)
class Subpath:
    """One move of the pen, from where it was set down."""

    start: Point
    pieces: tuple[Straight | Bend | Conic, ...]
    closed: bool


def numbers(text: str) -> list[float]:
    """Numbers apart by space or commas. Raises ValueError at anything else.

    >>> numbers("1,2 -3.5e1.5")
    [1.0, 2.0, -35.0, 0.5]
    """
    found: list[float] = []
    at = _after(_SPACE, text, 0)
    while at < len(text):
        value, at = _number(text, at)
        found.append(value)
        at = _after(_BETWEEN, text, at)
    return found


def path_data(text: str) -> list[Subpath]:
    """The subpaths of a ``d`` attribute. Raises ValueError saying what is wrong and where in it.

    >>> path_data("m1 1h2v2z")[0].pieces
    (Straight(end=Point(x=3.0, y=1.0)), Straight(end=Point(x=3.0, y=3.0)))
    """
    pen = _Pen()
    for command, values in _commands(text):
        pen.draw(command, values)
    pen.lift()
    return pen.subpaths


def _commands(text: str) -> Iterator[tuple[str, list[float]]]:
    """Each command with one lot of its numbers; repeated lots come as commands of their own."""
    at = _after(_SPACE, text, 0)
    first = True
    while at < len(text):
        command = text[at]
        if command.upper() not in _TAKES:
            raise ValueError(Message(
                "character {at} is '{sign}', where a command was expected", at=at + 1,
                sign=command))
        if first and command not in "Mm":
            raise ValueError(Message("it does not begin with a moveto"))
        first = False
        at = _after(_SPACE, text, at + 1)
        takes = _TAKES[command.upper()]
        if takes == 0:
            yield command, []
            continue
        while True:
            values: list[float] = []
            for number in range(takes):
                if command in "Aa" and number in (3, 4):
                    value, at = _flag(text, at)
                else:
                    value, at = _number(text, at)
                values.append(value)
                after = _after(_BETWEEN, text, at)
                if number < takes - 1:
                    at = after
            yield command, values
            # Further pairs of a moveto are linetos (8.3.2).
            command = {"M": "L", "m": "l"}.get(command, command)
            if not _NUMBER.match(text, after):
                if "," in text[at:after]:
                    raise ValueError(Message("character {at} is ',' with no number after it",
                                             at=at + 1))
                at = _after(_SPACE, text, at)
                break
            at = after


def _after(pattern: re.Pattern[str], text: str, at: int) -> int:
    found = pattern.match(text, at)
    return found.end() if found else at


def _number(text: str, at: int) -> tuple[float, int]:
    found = _NUMBER.match(text, at)
    if not found:
        raise ValueError(
            Message("character {at} is '{sign}', where a number was expected", at=at + 1,
                    sign=text[at]) if at < len(text)
            else Message("character {at} is the end, where a number was expected", at=at + 1))
    value = float(found.group())
    if not math.isfinite(value):
        raise ValueError(Message("the number at character {at} is beyond all bounds", at=at + 1))
    return value, found.end()


def _flag(text: str, at: int) -> tuple[float, int]:
    if at >= len(text) or text[at] not in "01":
        raise ValueError(Message("character {at} should be an arc's flag, 0 or 1", at=at + 1))
    return float(text[at]), at + 1


class _Pen:
    """The state that path data builds on: where the pen is and what it has drawn."""

    def __init__(self) -> None:
        self.at = Point(0.0, 0.0)
        self.start = Point(0.0, 0.0)
        self.pieces: list[Straight | Bend | Conic] = []
        self.subpaths: list[Subpath] = []
        # The last control point, for the smooth curves, and of which degree its curve was.
        self.control: tuple[str, Point] | None = None

    def lift(self, closed: bool = False) -> None:
        """End the subpath, if anything was drawn in it."""
        if self.pieces:
            self.subpaths.append(Subpath(self.start, tuple(self.pieces), closed))
        self.pieces = []

    def draw(self, command: str, values: list[float]) -> None:
        """Draw one command."""
        word, relative = command.upper(), command.islower()
        control = None
        if word == "Z":
            self.lift(closed=True)
            self.at = self.start
        elif word == "M":
            self.lift()
            self.at = self.start = self._points(values, relative)[0]
        elif word in "LHV":
            self.at = self._corner(word, values, relative)
            self.pieces.append(Straight(self.at))
        elif word == "A":
            self._arc(values, relative)
        else:
            points = self._points(values, relative)
            if word in "ST":
                points.insert(0, self._smooth("C" if word == "S" else "Q"))
            self.pieces.append(Bend(tuple(points)))
            control = ("C" if word in "CS" else "Q", points[-2])
            self.at = points[-1]
        self.control = control

    def _points(self, values: list[float], relative: bool) -> list[Point]:
        x, y = self.at if relative else (0.0, 0.0)
        return [Point(x + dx, y + dy)
                for dx, dy in zip(values[::2], values[1::2], strict=True)]

    def _corner(self, word: str, values: list[float], relative: bool) -> Point:
        if word == "L":
            return self._points(values, relative)[0]
        if word == "H":
            return Point(values[0] + (self.at.x if relative else 0.0), self.at.y)
        return Point(self.at.x, values[0] + (self.at.y if relative else 0.0))

    def _smooth(self, kind: str) -> Point:
        """The last control point mirrored in the pen, or the pen where there was none (8.3.6)."""
        if self.control is None or self.control[0] != kind:
            return self.at
        return Point(2 * self.at.x - self.control[1].x, 2 * self.at.y - self.control[1].y)

    def _arc(self, values: list[float], relative: bool) -> None:
        end = self._points(values[5:], relative)[0]
        piece = arc_by_radii(
            self.at, (values[0], values[1]), values[2], values[3] == 1.0, values[4] == 1.0, end
        )
        if piece is not None:
            self.pieces.append(piece)
        self.at = end


def arc_by_radii(
    start: Point, radii: tuple[float, float], degrees: float, large: bool, positive: bool,
    end: Point,
) -> Straight | Conic | None:
    """An arc by its ends, radii and flags; None when it ends where it starts.

    No radius gives a line; radii too small to reach are enlarged (F.6.2, F.6.5, F.6.6).

    >>> arc = arc_by_radii(Point(1, 0), (1.0, 1.0), 0.0, False, True, Point(0, 1))
    >>> round(math.hypot(*arc.centre), 9), round(arc.turn, 6)
    (0.0, 1.570796)
    """
    if start == end:
        return None
    rx, ry = abs(radii[0]), abs(radii[1])
    if rx == 0.0 or ry == 0.0:
        return Straight(end)
    cosine, sine = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    if degrees % 90.0 == 0.0:
        cosine, sine = float(round(cosine)), float(round(sine))
    half_x, half_y = (start.x - end.x) / 2, (start.y - end.y) / 2
    # The ends in the circle of radius 1 that the ellipse is a picture of.
    px = (cosine * half_x + sine * half_y) / rx
    py = (-sine * half_x + cosine * half_y) / ry
    reach = math.hypot(px, py)
    if reach > 1.0:
        rx, ry, px, py = rx * reach, ry * reach, px / reach, py / reach
        reach = 1.0
    off = math.sqrt(max(0.0, 1.0 - reach * reach)) / reach
    if large == positive:
        off = -off
    cx, cy = off * py, -off * px
    begin = math.atan2(py - cy, px - cx)
    turn = math.atan2(-py - cy, -px - cx) - begin
    if positive and turn < 0:
        turn += math.tau
    elif not positive and turn > 0:
        turn -= math.tau
    first, second = Point(rx * cosine, rx * sine), Point(-ry * sine, ry * cosine)
    centre = Point(
        (start.x + end.x) / 2 + first.x * cx + second.x * cy,
        (start.y + end.y) / 2 + first.y * cx + second.y * cy,
    )
    return Conic(end, centre, first, second, begin, turn)


_ONE = re.compile(r"[ \t\r\n\f,]*(matrix|translate|scale|rotate|skewX|skewY)[ \t\r\n\f]*"
                  r"\(([^()]*)\)[ \t\r\n\f,]*")
_COUNTS = {"matrix": (6,), "translate": (1, 2), "scale": (1, 2), "rotate": (1, 3), "skewX": (1,),
           "skewY": (1,)}


def transform(text: str) -> Matrix:
    """The matrix of a ``transform`` attribute. Raises ValueError at anything else.

    >>> transform("translate(1 2) scale(2)")
    (2.0, 0.0, 0.0, 2.0, 1.0, 2.0)
    """
    whole: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    at = 0
    text = text.strip()
    while at < len(text):
        found = _ONE.match(text, at)
        if not found:
            raise ValueError(Message("the transform '{text}' is not understood",
                                     text=text[at:at + 20]))
        word, values = found.group(1), numbers(found.group(2))
        if len(values) not in _COUNTS[word]:
            raise ValueError(counted("{word} does not take {n} number",
                                     "{word} does not take {n} numbers", len(values), word=word))
        whole = times(whole, _matrix(word, values))
        at = found.end()
    return whole


def _matrix(word: str, values: list[float]) -> Matrix:
    if word == "matrix":
        a, b, c, d, e, f = values
        return a, b, c, d, e, f
    if word == "translate":
        return 1.0, 0.0, 0.0, 1.0, values[0], values[1] if len(values) > 1 else 0.0
    if word == "scale":
        return values[0], 0.0, 0.0, values[-1], 0.0, 0.0
    if word == "skewX":
        return 1.0, 0.0, math.tan(math.radians(values[0])), 1.0, 0.0, 0.0
    if word == "skewY":
        return 1.0, math.tan(math.radians(values[0])), 0.0, 1.0, 0.0, 0.0
    angle = math.radians(values[0])
    cosine, sine = math.cos(angle), math.sin(angle)
    if values[0] % 90.0 == 0.0:
        cosine, sine = float(round(cosine)), float(round(sine))
    x, y = values[1:] if len(values) > 1 else (0.0, 0.0)
    return cosine, sine, -sine, cosine, x - cosine * x + sine * y, y - sine * x - cosine * y


def times(outer: Matrix, inner: Matrix) -> Matrix:
    """The matrix that does ``inner`` first and ``outer`` after it.

    >>> times((1, 0, 0, 1, 5, 0), (2, 0, 0, 2, 0, 0))
    (2, 0, 0, 2, 5, 0)
    """
    a, b, c, d, e, f = outer
    g, h, i, j, k, m = inner
    return (a * g + c * h, b * g + d * h, a * i + c * j, b * i + d * j,
            a * k + c * m + e, b * k + d * m + f)
