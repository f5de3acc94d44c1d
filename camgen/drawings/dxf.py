"""Strokes from a drawing in the DXF format, by way of ezdxf.

Lines, arcs, circles and polylines with bulges are kept exact, ellipses and splines come within the
tolerance; blocks are opened. What lies in space, and what makes no outline (words, dimensions,
hatching), is named as ignored. Lengths mm once read.
"""

from __future__ import annotations

import io
import logging
import math
from collections.abc import Iterable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from camgen.drawings.strokes import (
    UNITS,
    DrawingFrame,
    DrawnStroke,
    Sketch,
    unit_fault,
    why_unread,
    without_flat_arcs,
)
from camgen.faults import Fault, Place, Refused
from camgen.messages import Message, counted
from camgen.shapes.curves import conic, sampled
from camgen.shapes.path import ArcTo, LineTo, Path, Piece, Point, circle
from camgen.tolerances import ROUNDING

__all__ = ["read_dxf"]

# $INSUNITS as the DXF reference numbers them, those a workshop may meet.
_INSUNITS = {1: "inch", 2: "foot", 4: "mm", 5: "cm", 6: "m", 9: "mil", 13: "um"}
# Things opened out of blocks, and pieces; a drawing of a watch part has some hundreds.
MOST_THINGS = 20_000
DEEPEST = 16
# Coordinates beyond this, mm, are damage and not a drawing.
FURTHEST = 1e5

_QUIET = logging.NullHandler()


def read_dxf(data: bytes, name: str, tolerance: float, units: str | None) -> Sketch:
    """All strokes of a DXF drawing; curves within ``tolerance`` mm.

    ``units`` is used where the drawing does not say its own. Raises Refused when the bytes are no
    DXF drawing; other faults are kept in the sketch.
    """
    from ezdxf import recover
    from ezdxf.lldxf.const import DXFError

    # The library warns in its log; what matters of it is told in words of our own.
    logging.getLogger("ezdxf").addHandler(_QUIET)
    sketch = Sketch(name)
    try:
        document, audit = recover.read(io.BytesIO(data))
        space = document.modelspace()
        header = int(document.header.get("$INSUNITS", 0))
    # Damaged files make the library fail in every way there is, not only in those it declares.
    except Exception as error:
        said = str(error) if isinstance(error, DXFError) else type(error).__name__
        raise Refused(
            Fault(Message("this cannot be read as a DXF drawing ({said})", said=said),
                  Message("write it anew from the drawing program"), Place(name))
        ) from None
    repaired = len(audit.fixes) + len(audit.errors)
    if repaired:
        sketch.remarks.append(
            counted("the file was damaged or irregular in {n} place and was read as far as it goes",
                    "the file was damaged or irregular in {n} places and was read as far as it "
                    "goes", repaired)
        )
    sketch.frame = _frame(sketch, header, units)
    sketch.layers.extend(sorted(_layer_names(document)))
    hidden = _hidden_layers(document)
    reading = _Reading(sketch, tolerance, hidden)
    try:
        reading.take(space, "", 0)
    except _TooMuch:
        sketch.strokes.clear()
        sketch.fault(
            Message("the drawing has more than {most} things in it", most=MOST_THINGS),
            Message("leave only the outlines in it"),
        )
    return sketch


def _frame(sketch: Sketch, header: int, units: str | None) -> DrawingFrame:
    """The drawing's unit: its own, or where it says none, the job's."""
    own = _INSUNITS.get(header)
    if own is None and units is None:
        said = (Message("it says none") if header == 0
                else Message("its $INSUNITS is {header}", header=header))
        sketch.faults.append(unit_fault(sketch.file, said))
        return DrawingFrame("unit")
    if own is not None and units is not None and UNITS[own] != UNITS[units]:
        sketch.fault(
            Message("the drawing says it is in {own}, the job says {units}", own=own, units=units),
            Message("leave units: out of the job, or put the drawing's own right"),
        )
    unit = own or units or "mm"
    return DrawingFrame(unit, UNITS[unit], UNITS[unit])


def _layer_names(document: Any) -> set[str]:
    return {str(layer.dxf.name) for layer in document.layers}


def _hidden_layers(document: Any) -> set[str]:
    return {str(layer.dxf.name).lower() for layer in document.layers
            if layer.is_off() or layer.is_frozen()}


class _TooMuch(Exception):
    """More in the drawing than can be meant."""


class _Awry(Exception):
    """One thing that cannot be read; its words say why."""


class _Reading:
    """The walk through a drawing's things and the blocks among them."""

    def __init__(self, sketch: Sketch, tolerance: float, hidden: set[str]) -> None:
        self.sketch = sketch
        # Curves are reckoned in the drawing's own unit.
        self.tolerance = tolerance / sketch.frame.across
        self.hidden = hidden
        self.count = 0

    def take(self, things: Iterable[Any], layer: str, depth: int) -> None:
        """Read all of ``things``; those of a block on layer 0 lie on the layer it was put on."""
        source = iter(things)
        while True:
            try:
                thing = next(source)
            except StopIteration:
                return
            except Exception as error:  # a damaged block may fail in any way while it is opened
                self._awry(Message("a block"), layer or "0", error)
                return
            self.count += 1
            if self.count > MOST_THINGS:
                raise _TooMuch
            self._one(thing, layer, depth)

    def _one(self, thing: Any, layer: str, depth: int) -> None:
        kind = str(thing.dxftype())
        name = kind
        own = layer or "0"
        try:
            handle = thing.dxf.get("handle")
            name = f"{kind} {handle}" if handle else kind
            own = str(thing.dxf.get("layer", "0"))
            own = layer if layer and own == "0" else own
            if own.lower() in self.hidden:
                self.sketch.ignore(Message("{kind} on the hidden layer {layer}", kind=kind,
                                           layer=own))
                return
            if kind == "INSERT":
                self._block(thing, own, depth)
                return
            reader = _READERS.get(kind)
            if reader is None:
                self.sketch.ignore(kind)
                return
            path = reader(thing, self.tolerance)
            if path is not None:
                self._keep(path, own, name)
        except _TooMuch:
            raise
        # Whatever is wrong with one damaged thing, the others are still looked at.
        except Exception as error:
            self._awry(name, own, error)

    def _awry(self, name: str, layer: str, error: Exception) -> None:
        self.sketch.fault(
            Message("{name} cannot be read: {why}", name=name, why=why_unread(error)),
            Message("draw it again"), layer=layer)

    def _block(self, insert: Any, layer: str, depth: int) -> None:
        if depth >= DEEPEST:
            raise _Awry(Message("blocks lie in blocks more than {deep} deep", deep=DEEPEST))
        block = insert.block()
        if block is None or block.block.is_xref:
            self.sketch.ignore(Message("block {name} that is not in the file",
                                       name=insert.dxf.get("name", "")))
            return
        count = int(insert.mcount)
        if count > MOST_THINGS:
            raise _TooMuch
        skipped: list[str] = []

        def skip(thing: Any, _reason: str) -> None:
            skipped.append(str(thing.dxftype()))

        for one in insert.multi_insert() if count > 1 else (insert,):
            self.take(one.virtual_entities(skipped_entity_callback=skip), layer, depth + 1)
        for kind in skipped:
            self.sketch.ignore(Message("{kind} in block {name}", kind=kind,
                                       name=insert.dxf.name))

    def _keep(self, path: Path, layer: str, name: str) -> None:
        scale = self.sketch.frame.across
        if scale != 1.0:
            path = _scaled(path, scale)
        path = without_flat_arcs(path, self.tolerance * scale / 20)
        numbers = [*path.start]
        for piece in path.pieces:
            numbers += piece.end
            if isinstance(piece, ArcTo):
                numbers += piece.centre
        if not all(math.isfinite(number) and abs(number) <= FURTHEST for number in numbers):
            raise _Awry(Message("it lies beyond all bounds"))
        self.count += len(path.pieces)
        if self.count > MOST_THINGS:
            raise _TooMuch
        self.sketch.strokes.append(DrawnStroke(path, layer, name, Place(self.sketch.file)))


def _scaled(path: Path, scale: float) -> Path:
    def far(point: Point) -> Point:
        return Point(point.x * scale, point.y * scale)

    return Path(
        far(path.start),
        tuple(
            LineTo(far(piece.end)) if isinstance(piece, LineTo)
            else ArcTo(far(piece.end), far(piece.centre), piece.clockwise)
            for piece in path.pieces
        ),
        path.closed,
    )


def _upright(thing: Any) -> None:
    """Turn a thing drawn from below to the view from above; refuse one that stands at an angle."""
    from ezdxf.upright import upright

    upright(thing)
    across = thing.dxf.get("extrusion", (0.0, 0.0, 1.0))
    if abs(across[0]) > ROUNDING or abs(across[1]) > ROUNDING or across[2] <= 0:
        raise _Awry(Message("it does not lie in the plane of the drawing"))


def _point(vector: Any) -> Point:
    return Point(float(vector[0]), float(vector[1]))


def _level(*heights: float) -> None:
    if max(heights) - min(heights) > ROUNDING:
        raise _Awry(Message("it does not lie in the plane of the drawing"))


def _line(thing: Any, _tolerance: float) -> Path:
    start, end = thing.dxf.start, thing.dxf.end
    _level(float(start[2]), float(end[2]))
    return Path(_point(start), (LineTo(_point(end)),), closed=False)


def _circle(thing: Any, _tolerance: float) -> Path:
    _upright(thing)
    radius = float(thing.dxf.radius)
    if not radius > 0:
        raise _Awry(Message("it has no radius"))
    return circle(_point(thing.dxf.center), radius)


def _arc(thing: Any, tolerance: float) -> Path:
    _upright(thing)
    radius = float(thing.dxf.radius)
    if not radius > 0:
        raise _Awry(Message("it has no radius"))
    begin, finish = float(thing.dxf.start_angle), float(thing.dxf.end_angle)
    turn = (finish - begin) % 360.0
    if turn < 1e-9:
        return circle(_point(thing.dxf.center), radius, begin)
    start, pieces = conic(
        _point(thing.dxf.center), Point(radius, 0.0), Point(0.0, radius), math.radians(begin),
        math.radians(turn), tolerance,
    )
    return Path(start, tuple(pieces), closed=False)


def _ellipse(thing: Any, tolerance: float) -> Path:
    _upright(thing)
    major, minor = thing.dxf.major_axis, thing.minor_axis
    _level(float(major[2]), 0.0)
    begin, finish = float(thing.dxf.start_param), float(thing.dxf.end_param)
    turn = (finish - begin) % math.tau
    whole = turn < 1e-9 or math.tau - turn < 1e-9
    start, pieces = conic(
        _point(thing.dxf.center), _point(major), _point(minor), begin,
        math.tau if whole else turn, tolerance,
    )
    return Path(start, tuple(pieces), closed=whole)


def _spline(thing: Any, tolerance: float) -> Path:
    spline = thing.construction_tool()
    controls = [(float(p[0]), float(p[1]), float(p[2])) for p in spline.control_points]
    if not all(math.isfinite(value) and abs(value) <= FURTHEST for p in controls for value in p):
        raise _Awry(Message("it lies beyond all bounds"))
    _level(*(p[2] for p in controls))
    knots = list(spline.knots())
    low, high = knots[spline.order - 1], knots[spline.count]
    spans = [low, *(k for k in sorted(set(knots)) if low < k < high), high]
    if not high > low:
        raise _Awry(Message("its knots do not rise"))

    def evaluate(parameters: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.array([(p.x, p.y) for p in spline.points(parameters.tolist())])

    start, pieces = sampled(evaluate, spans, tolerance)
    if not pieces:
        raise _Awry(Message("it is of no length"))
    path = Path(start, tuple(pieces), closed=False)
    return Path(start, path.pieces, closed=path.end == start)


def _bulged(rows: list[tuple[float, float, float]], closed: bool) -> Path | None:
    """Vertices with bulges: a bulge is the tangent of a quarter of the arc's turn."""
    if closed and len(rows) > 1 and rows[-1][2] == 0.0 and rows[0][:2] == rows[-1][:2]:
        rows = rows[:-1]  # closed twice: by its flag, and by its first vertex come again
    if len(rows) < 2:
        raise _Awry(Message("it has fewer than two vertices"))
    points = [Point(float(x), float(y)) for x, y, _ in rows]
    pieces: list[Piece] = []
    ends = [*points[1:], points[0]] if closed else points[1:]
    for start, end, (_, _, bulge) in zip(points, ends, rows, strict=False):
        if bulge == 0.0 or start == end:
            pieces.append(LineTo(end))
            continue
        # The centre lies off the chord's middle by chord/2 · cot(turn/2), to the left for a
        # positive (anticlockwise) bulge smaller than 1.
        share = (1.0 - bulge * bulge) / (4.0 * bulge)
        centre = Point(
            (start.x + end.x) / 2 - (end.y - start.y) * share,
            (start.y + end.y) / 2 + (end.x - start.x) * share,
        )
        pieces.append(ArcTo(end, centre, bulge < 0))
    return Path(points[0], tuple(pieces), closed)


def _lwpolyline(thing: Any, _tolerance: float) -> Path | None:
    _upright(thing)
    return _bulged([tuple(row) for row in thing.get_points("xyb")], bool(thing.closed))


def _polyline(thing: Any, _tolerance: float) -> Path | None:
    if not (thing.is_2d_polyline or thing.is_3d_polyline):
        raise _Awry(Message("it is a mesh"))
    if thing.is_2d_polyline:
        _upright(thing)
    # Vertices that only guide a spline (flag 16) are not on the line.
    vertices = [one for one in thing.vertices if not one.dxf.get("flags", 0) & 16]
    spots = [one.dxf.location for one in vertices]
    _level(0.0, *(float(spot[2]) - float(spots[0][2]) for spot in spots))
    rows = [
        (float(spot[0]), float(spot[1]), float(one.dxf.get("bulge", 0.0)))
        for one, spot in zip(vertices, spots, strict=True)
    ]
    return _bulged(rows, bool(thing.is_closed))


_READERS = {
    "LINE": _line, "CIRCLE": _circle, "ARC": _arc, "ELLIPSE": _ellipse, "SPLINE": _spline,
    "LWPOLYLINE": _lwpolyline, "POLYLINE": _polyline,
}
