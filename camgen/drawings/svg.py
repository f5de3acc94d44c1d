"""Strokes from an SVG drawing: paths and basic shapes of the open W3C standard.

W3C, Scalable Vector Graphics (SVG) 1.1 (Second Edition), 2011: 5 structure, 7 coordinate systems
and units, 8 paths, 9 basic shapes. Circular arcs stay arcs under every transform that keeps them
so. Y is turned up: the drawing's own 0, 0 stays where it is. Lengths mm once read.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable

from camgen.drawings.strokes import (
    UNITS,
    DrawingFrame,
    DrawnStroke,
    Sketch,
    unit_fault,
    why_unread,
    without_flat_arcs,
)
from camgen.drawings.svg_path import (
    Bend,
    Conic,
    Matrix,
    Straight,
    Subpath,
    arc_by_radii,
    numbers,
    path_data,
    times,
    transform,
)
from camgen.drawings.svg_tree import Element, read_tree
from camgen.faults import Fault, Place, Refused
from camgen.messages import Message
from camgen.shapes.curves import bezier, conic
from camgen.shapes.path import ArcTo, LineTo, Path, Piece, Point

__all__ = ["read_svg"]

# Millimetres in each absolute unit of length of CSS, whose pixel is 1/96 inch (CSS Values 3, 5.2).
# A pixel is left out where a size in metal is wanted: screens, not workshops, count in it.
_LENGTHS = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "q": 0.25,
            "Q": 0.25}
_PIXEL = 25.4 / 96
_LENGTH = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([a-zA-Z%]*)\s*$")
_GROUPS = ("g", "a", "switch", "svg")
# Holders of things to be used elsewhere, and words about the drawing: nothing is drawn there.
_UNDRAWN = ("defs", "symbol", "clipPath", "mask", "marker", "pattern", "linearGradient",
            "radialGradient", "filter", "title", "desc", "metadata", "style", "script")
MOST_STROKES = 20_000
DEEPEST_USE = 16
FURTHEST = 1e5


def read_svg(data: bytes, name: str, tolerance: float, units: str | None) -> Sketch:
    """All strokes of an SVG drawing; curves within ``tolerance`` mm.

    ``units`` is the size of one user unit where the drawing gives itself no size in metal. Raises
    Refused when the bytes are no SVG drawing; other faults are kept in the sketch.
    """
    root = read_tree(data, name)
    if root.word != "svg":
        raise Refused(Fault(Message("this is XML, but no SVG drawing"),
                            place=Place(name, root.line)))
    sketch = Sketch(name)
    sketch.frame = _frame(sketch, root, units)
    frame = sketch.frame
    reading = _Reading(sketch, tolerance, root)
    matrix: Matrix = (frame.across, 0.0, 0.0, frame.up, 0.0, 0.0)
    try:
        reading.children(root, matrix, "", 0)
    except _TooMuch:
        sketch.strokes.clear()
        sketch.fault(Message("the drawing has more than {most} pieces in it", most=MOST_STROKES),
                     Message("leave only the outlines in it"))
    return sketch


def _frame(sketch: Sketch, root: Element, units: str | None) -> DrawingFrame:
    """Size of one user unit of the drawing, from its width, height and viewBox (7.7, 7.8)."""
    place = Place(sketch.file, root.line)
    sizes: list[float | None] = []
    for word in ("width", "height"):
        text = root.attributes.get(word, "")
        found = _LENGTH.match(text)
        factor = _LENGTHS.get(found.group(2)) if found else None
        sizes.append(float(found.group(1)) * factor if found and factor else None)
    try:
        box = numbers(root.attributes.get("viewBox", ""))
    except ValueError:
        box = [0.0]
    if box and (len(box) != 4 or not box[2] > 0 or not box[3] > 0):
        sketch.fault(Message("viewBox needs four numbers, the last two more than 0"),
                     place=place)
        return DrawingFrame("unit", 1.0, -1.0)
    if any(size is not None and not 0 < size < FURTHEST for size in sizes):
        sketch.fault(Message("the drawing's width and height must be more than 0"), place=place)
        return DrawingFrame("unit", 1.0, -1.0)
    scales = _own_scales(sizes, box, root.attributes.get("preserveAspectRatio", ""))
    if scales is None:
        if units is None:
            sketch.faults.append(unit_fault(
                sketch.file,
                Message("its width and height are not given in mm, cm, in or pt"),
            ))
            return DrawingFrame("unit", 1.0, -1.0)
        return DrawingFrame(units, UNITS[units], -UNITS[units])
    if units is not None and any(
        not math.isclose(scale, UNITS[units], rel_tol=1e-6) for scale in scales
    ):
        sketch.fault(
            Message("one unit of the drawing is {unit:.7g} mm by its width, height and viewBox, "
                    "the job says {units}", unit=scales[0], units=units),
            Message("leave units: out of the job, or put the drawing's own right"), place,
        )
    names = [name for name, size in UNITS.items() if math.isclose(size, scales[0], rel_tol=1e-9)]
    return DrawingFrame(names[0] if names else "unit", scales[0], -scales[1])


def _own_scales(
    sizes: list[float | None], box: list[float], aspect: str
) -> tuple[float, float] | None:
    """Millimetres in a user unit across and up, or None where the drawing does not say."""
    width, height = sizes
    if not box:
        # Without a viewBox a user unit is a pixel, and a size in mm says what a pixel is (7.10).
        return (_PIXEL, _PIXEL) if width is not None or height is not None else None
    found = [size / extent for size, extent in zip(sizes, box[2:], strict=True) if size is not None]
    if not found:
        return None
    if len(found) == 1 or math.isclose(found[0], found[1], rel_tol=1e-9):
        return found[0], found[0]
    if aspect.strip().startswith("none"):
        return found[0], found[1]
    fit = max(found) if "slice" in aspect else min(found)
    return fit, fit


class _TooMuch(Exception):
    """More in the drawing than can be meant."""


class _Reading:
    """The walk through the elements."""

    def __init__(self, sketch: Sketch, tolerance: float, root: Element) -> None:
        self.sketch = sketch
        self.tolerance = tolerance
        self.count = 0
        self.named: dict[str, Element] = {}
        waiting = [root]
        while waiting:
            element = waiting.pop()
            if "id" in element.attributes:
                self.named.setdefault(element.attributes["id"], element)
            waiting += element.children

    def children(self, element: Element, matrix: Matrix, layer: str, uses: int) -> None:
        """Read all children of a group."""
        for child in element.children:
            self._one(child, matrix, layer, uses)

    def _one(self, element: Element, matrix: Matrix, layer: str, uses: int) -> None:
        self.count += 1
        if self.count > MOST_STROKES:
            raise _TooMuch
        word = element.word
        if not word:
            self.sketch.ignore(Message("elements of other vocabularies"))
            return
        if word in _UNDRAWN:
            return
        if not _shown(element):
            self.sketch.ignore(Message("{word} that is not shown", word=word))
            return
        layer = self._layer_of(element, layer)
        name = f"{word} {element.attributes['id']}" if "id" in element.attributes else word
        place = Place(self.sketch.file, element.line)
        try:
            if "transform" in element.attributes:
                matrix = times(matrix, transform(element.attributes["transform"]))
            if not all(math.isfinite(value) for value in matrix):
                raise ValueError(Message("its transform is beyond all bounds"))
            if _GEOMETRY_IN_STYLE.search(element.attributes.get("style", "")):
                raise ValueError(Message("its shape is changed in style:, where it is not read"))
            if word == "svg":
                raise ValueError(Message("a drawing within the drawing is not read"))
            if word in _GROUPS:
                self.children(element, matrix, layer, uses)
            elif word == "use":
                self._use(element, matrix, layer, uses)
            elif word in _SHAPES:
                for subpath in _SHAPES[word](element):
                    self._keep(subpath, matrix, layer, name, place)
            else:
                self.sketch.ignore(word)
        except (ValueError, OverflowError) as error:
            self.sketch.fault(
                Message("{name} cannot be read: {why}", name=name, why=why_unread(error)),
                Message("draw it again"), place, layer)

    def _layer_of(self, element: Element, layer: str) -> str:
        """The layer an element lies on, within one; a group with a name of its own begins one."""
        own = _own_name(element)
        if element.word not in _GROUPS:
            return layer or own or "drawing"
        if own and own not in self.sketch.layers:
            self.sketch.layers.append(own)
        return own or layer

    def _use(self, element: Element, matrix: Matrix, layer: str, uses: int) -> None:
        target = element.attributes.get("href") or element.attributes.get(
            "http://www.w3.org/1999/xlink href", "")
        found = self.named.get(target[1:]) if target.startswith("#") else None
        if found is None:
            raise ValueError(Message("it uses {target}, which is not in the file", target=target)
                             if target else Message("it does not say what it uses"))
        if uses >= DEEPEST_USE:
            raise ValueError(Message("elements use one another more than {deep} deep",
                                     deep=DEEPEST_USE))
        if found.word in ("symbol", "svg"):
            raise ValueError(Message("it uses a {word}, which is not read", word=found.word))
        shift: Matrix = (1.0, 0.0, 0.0, 1.0, _size(element, "x"), _size(element, "y"))
        self._one(found, times(matrix, shift), layer, uses + 1)

    def _keep(
        self, subpath: Subpath, matrix: Matrix, layer: str, name: str, place: Place
    ) -> None:
        a, b, c, d, _, _ = matrix
        if abs(a * d - b * c) <= 1e-12:
            raise ValueError(Message("its transform makes it flat"))

        def far(point: Point) -> Point:
            x = a * point.x + c * point.y + matrix[4]
            y = b * point.x + d * point.y + matrix[5]
            if not (abs(x) <= FURTHEST and abs(y) <= FURTHEST):
                raise ValueError(Message("it lies beyond all bounds"))
            return Point(x, y)

        def swung(point: Point) -> Point:
            x, y = a * point.x + c * point.y, b * point.x + d * point.y
            if not math.hypot(x, y) <= FURTHEST:
                raise ValueError(Message("it lies beyond all bounds"))
            return Point(x, y)

        start = far(subpath.start)
        at = start
        pieces: list[Piece] = []
        for piece in subpath.pieces:
            if isinstance(piece, Straight):
                pieces.append(LineTo(far(piece.end)))
            elif isinstance(piece, Bend):
                controls = [at, *(far(point) for point in piece.controls)]
                pieces += bezier(controls, self.tolerance) or [LineTo(controls[-1])]
            else:
                pieces += _ending(_arc(piece, far, swung, self.tolerance), far(piece.end))
            at = pieces[-1].end
            self.count += 1
        self.count += len(pieces)
        if self.count > MOST_STROKES:
            raise _TooMuch
        if subpath.closed and math.dist(at, start) > 1e-9:
            pieces.append(LineTo(start))
        elif subpath.closed:
            pieces = _ending(pieces, start)
        path = without_flat_arcs(Path(start, tuple(pieces), subpath.closed), self.tolerance / 20)
        self.sketch.strokes.append(DrawnStroke(path, layer, name, place))


def _arc(
    piece: Conic, far: Callable[[Point], Point], swung: Callable[[Point], Point], tolerance: float
) -> list[Piece]:
    return conic(
        far(piece.centre), swung(piece.first), swung(piece.second), piece.begin, piece.turn,
        tolerance,
    )[1]


def _ending(pieces: list[Piece], end: Point) -> list[Piece]:
    """The pieces with the last one's end written as the file has it, to the last digit."""
    if not pieces:
        return [LineTo(end)]
    last = pieces[-1]
    if isinstance(last, LineTo):
        return [*pieces[:-1], LineTo(end)]
    return [*pieces[:-1], ArcTo(end, last.centre, last.clockwise)]


_GEOMETRY_IN_STYLE = re.compile(
    r"(?:^|;)\s*(?:transform|translate|rotate|scale|d|x|y|cx|cy|r|rx|ry|width|height)\s*:"
)
_HIDDEN_IN_STYLE = re.compile(r"(?:^|;)\s*(?:display\s*:\s*none|visibility\s*:\s*hidden)")


def _shown(element: Element) -> bool:
    given = element.attributes
    return (
        given.get("display") != "none" and given.get("visibility") not in ("hidden", "collapse")
        and not _HIDDEN_IN_STYLE.search(given.get("style", ""))
    )


def _own_name(element: Element) -> str:
    """What an element calls itself: its id, or else the first word of its class."""
    classes = element.attributes.get("class", "").split()
    return element.attributes.get("id", "").strip() or (classes[0] if classes else "")


def _size(element: Element, word: str, default: float = 0.0) -> float:
    """A length in user units; within the drawing, mm and the like count 96 to the inch."""
    text = element.attributes.get(word)
    if text is None:
        return default
    found = _LENGTH.match(text)
    unit = found.group(2) if found else ""
    if not found or (unit not in ("", "px") and unit not in _LENGTHS):
        raise ValueError(Message("{word} is '{text}', which is no length", word=word,
                                 text=text[:20]))
    value = float(found.group(1)) * (_LENGTHS[unit] / _PIXEL if unit in _LENGTHS else 1.0)
    if not math.isfinite(value):
        raise ValueError(Message("{word} is beyond all bounds", word=word))
    return value


def _ellipse_about(centre: Point, rx: float, ry: float) -> list[Subpath]:
    if rx < 0 or ry < 0:
        raise ValueError(Message("a radius is less than 0"))
    if rx == 0 or ry == 0:
        raise ValueError(Message("it has no radius, so that nothing is drawn"))
    start = Point(centre.x + rx, centre.y)
    whole = Conic(start, centre, Point(rx, 0.0), Point(0.0, ry), 0.0, math.tau)
    return [Subpath(start, (whole,), closed=True)]


def _circle(element: Element) -> list[Subpath]:
    radius = _size(element, "r")
    return _ellipse_about(Point(_size(element, "cx"), _size(element, "cy")), radius, radius)


def _ellipse(element: Element) -> list[Subpath]:
    return _ellipse_about(
        Point(_size(element, "cx"), _size(element, "cy")), _size(element, "rx"),
        _size(element, "ry"),
    )


def _rect(element: Element) -> list[Subpath]:
    """A rectangle; one corner radius given counts for both, none may pass half a side (9.2)."""
    x, y = _size(element, "x"), _size(element, "y")
    width, height = _size(element, "width"), _size(element, "height")
    if not (width > 0 and height > 0):
        raise ValueError(Message("it has no width or no height, so that nothing is drawn"))
    given = {word: _size(element, word) for word in ("rx", "ry")
             if element.attributes.get(word, "auto") != "auto"}
    if any(value < 0 for value in given.values()):
        raise ValueError(Message("a corner radius is less than 0"))
    rx = min(given.get("rx", given.get("ry", 0.0)), width / 2)
    ry = min(given.get("ry", given.get("rx", 0.0)), height / 2)
    right, low = x + width, y + height
    if rx == 0 or ry == 0:
        corners = (Point(right, y), Point(right, low), Point(x, low))
        return [Subpath(Point(x, y), tuple(Straight(corner) for corner in corners), closed=True)]
    ends = (
        (Point(right - rx, y), Point(right, y + ry)), (Point(right, low - ry),
                                                       Point(right - rx, low)),
        (Point(x + rx, low), Point(x, low - ry)), (Point(x, y + ry), Point(x + rx, y)),
    )
    at = start = Point(x + rx, y)
    pieces: list[Straight | Bend | Conic] = []
    for straight, corner in ends:
        if straight != at:
            pieces.append(Straight(straight))
        arc = arc_by_radii(straight, (rx, ry), 0.0, False, True, corner)
        if arc is not None:
            pieces.append(arc)
        at = corner
    return [Subpath(start, tuple(pieces), closed=True)]


def _line(element: Element) -> list[Subpath]:
    start = Point(_size(element, "x1"), _size(element, "y1"))
    end = Point(_size(element, "x2"), _size(element, "y2"))
    return [Subpath(start, (Straight(end),), closed=False)]


def _points(element: Element, closed: bool) -> list[Subpath]:
    values = numbers(element.attributes.get("points", ""))
    if len(values) % 2 or len(values) < 4:
        raise ValueError(Message("its points are not at least two pairs of numbers"))
    points = [Point(x, y) for x, y in zip(values[::2], values[1::2], strict=True)]
    if closed and points[0] == points[-1]:
        points.pop()
    return [Subpath(points[0], tuple(Straight(point) for point in points[1:]), closed)]


def _polyline(element: Element) -> list[Subpath]:
    return _points(element, closed=False)


def _polygon(element: Element) -> list[Subpath]:
    return _points(element, closed=True)


def _path(element: Element) -> list[Subpath]:
    return path_data(element.attributes.get("d", ""))


_SHAPES: dict[str, Callable[[Element], list[Subpath]]] = {
    "circle": _circle, "ellipse": _ellipse, "line": _line, "path": _path, "polygon": _polygon,
    "polyline": _polyline, "rect": _rect,
}
