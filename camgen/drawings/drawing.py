"""Outlines from drawings: DXF and SVG files read into closed paths, layer by layer.

What is drawn must be sure before metal is cut: a drawing whose units, outlines or ends leave
anything open is refused, with every fault and where it lies in the drawing's own coordinates.
"""

from __future__ import annotations

from pathlib import Path as FilePath

from camgen.arrays import Floats
from camgen.drawings.joining import Mended, join_strokes
from camgen.drawings.strokes import UNITS, Sketch
from camgen.faults import Fault, Place, Refused, did_you_mean
from camgen.messages import NOTHING, Message
from camgen.plainfile import plain_bytes
from camgen.shapes.fitting import curved
from camgen.shapes.path import Path
from camgen.shop.model import LONGEST
from camgen.tolerances import DRAWN_CURVE
from camgen.values import dataclass

__all__ = ["Drawing", "DrawnLayer", "Mended", "drawn_lines", "read_drawing"]

# Bytes of a drawing; the outlines of a whole movement take less than a tenth of it.
LARGEST = 20_000_000


@dataclass(frozen=True, slots=True)
class DrawnLayer:
    """The closed outlines of one layer, mm, anticlockwise, in the order they were drawn."""

    name: str
    loops: tuple[Path, ...]


@dataclass(frozen=True, slots=True)
class Drawing:
    """What a drawing holds, in mm with Y upwards, its own 0, 0 kept.

    ``units`` is the unit it was drawn in, ``millimetres`` that unit's size. ``mended`` tells each
    gap joined and each piece left out, ``ignored`` what made no outline and how often, ``remarks``
    what else should be known.
    """

    file: str
    units: str
    millimetres: float
    layers: tuple[DrawnLayer, ...]
    mended: tuple[Mended, ...]
    ignored: tuple[tuple[str, int], ...]
    remarks: tuple[Message, ...]

    @property
    def loops(self) -> tuple[Path, ...]:
        """The outlines of all layers read."""
        return tuple(loop for layer in self.layers for loop in layer.loops)


def read_drawing(
    path: FilePath | str,
    *,
    layer: str | None = None,
    gap: float = 0.005,
    tolerance: float = DRAWN_CURVE,
    units: str | None = None,
) -> Drawing:
    """Read the DXF or SVG drawing at ``path``, all of it or one ``layer``.

    Ends no further apart than ``gap`` mm are joined and told; 0 joins nothing. Lines drawn more
    than once are taken once and told. Ellipses, splines and Bézier curves, also those
    drawn as many short lines, come as arcs and lines within ``tolerance`` mm of what is drawn.
    ``units`` is the drawing's unit where it does not say one itself.

    Raises Refused with all faults: a file that cannot be read, unknown units, no such layer, open
    ends, outlines that meet themselves or one another.
    """
    path = FilePath(path)
    if units is not None and units not in UNITS:
        raise Refused(Fault(
            Message("units {units} are not known", units=units),
            did_you_mean(units, UNITS, Message("one of {units}", units=tuple(UNITS)))))
    if not gap >= 0 or not tolerance > 0:
        raise Refused(Fault(Message(
            "gap must be 0 or more and tolerance more than 0, both in mm")))
    sketch = _sketch(path, tolerance, units)
    sketch.faults += [fault for name, fault in sketch.troubles
                      if layer is None or name.lower() == layer.lower()]
    wanted = _wanted(sketch, layer)
    mended: list[Mended] = []
    layers = [DrawnLayer(name, tuple(curved(loop, tolerance) for loop in join_strokes(
        sketch, name, gap, mended))) for name in wanted]
    sketch.faults += [fault for one in layers for loop in one.loops
                      for fault in _too_far(loop, sketch, one.name)][:1]
    if not sketch.faults and not any(one.loops for one in layers):
        sketch.fault(Message("layer {layer} has no closed outline", layer=layer)
                     if layer is not None else Message("the drawing has no closed outline"),
                     _left_out(sketch))
    if sketch.faults:
        raise Refused(sketch.faults)
    return Drawing(
        str(path), sketch.frame.unit, sketch.frame.across,
        tuple(one for one in layers if one.loops), tuple(mended),
        tuple(sorted(sketch.ignored.items())), tuple(sketch.remarks),
    )


def drawn_lines(
    path: FilePath, *, layer: str | None, units: str | None, tolerance: float
) -> tuple[tuple[Floats, ...], float]:
    """Every line drawn, joined or not, as points (n, 2) mm; and the size of the drawing's unit, mm.

    Words as in :func:`read_drawing`. Raises Refused for a drawing that cannot be read.
    """
    sketch = _sketch(path, tolerance, units)
    sketch.faults += [fault for name, fault in sketch.troubles
                      if layer is None or name.lower() == layer.lower()]
    wanted = _wanted(sketch, layer)
    if sketch.faults:
        raise Refused(sketch.faults)
    return (tuple(stroke.path.points(tolerance) for stroke in sketch.strokes
                  if stroke.layer in wanted), sketch.frame.across)


def _too_far(loop: Path, sketch: Sketch, layer: str) -> list[Fault]:
    """What is amiss with an outline that lies where no part can."""
    end = max((piece.end for piece in loop.pieces), key=lambda at: max(abs(at.x), abs(at.y)))
    if max(abs(end.x), abs(end.y)) <= LONGEST:
        return []
    unit = sketch.frame.unit
    return [Fault(
        Message("layer {layer}: drawn in {unit}, an outline reaches to X {x:.0f} Y {y:.0f} mm",
                layer=layer, unit=unit, x=end.x, y=end.y),
        Message("set the drawing's units to those that it was drawn in, or draw nearer to its 0, "
                "0"),
        Place(sketch.file))]


def _sketch(path: FilePath, tolerance: float, units: str | None) -> Sketch:
    name = str(path)
    kind = path.suffix.lower()
    if kind not in (".dxf", ".svg"):
        raise Refused(Fault(Message("drawings are read from .dxf and .svg files"),
                            place=Place(name)))
    data = _bytes(path)
    if kind == ".dxf":
        from camgen.drawings.dxf import read_dxf

        return read_dxf(data, name, tolerance, units)
    from camgen.drawings.svg import read_svg

    return read_svg(data, name, tolerance, units)


def _bytes(path: FilePath) -> bytes:
    data = plain_bytes(path, most=LARGEST + 1)
    if len(data) > LARGEST:
        raise Refused(Fault(
            Message("the drawing has more than {most} MB", most=LARGEST // 1_000_000),
            Message("leave only outlines in it"),
            Place(str(path)),
        ))
    return data


def _wanted(sketch: Sketch, layer: str | None) -> list[str]:
    """The layers to read: those with strokes in the order drawn, or the one asked for.

    Letters large and small are the same in the names of layers, as in DXF.
    """
    drawn = list(dict.fromkeys(stroke.layer for stroke in sketch.strokes))
    if layer is None:
        return drawn
    found = [name for name in drawn if name.lower() == layer.lower()]
    if not found and layer.lower() not in {name.lower() for name in sketch.layers}:
        names = list(dict.fromkeys([*drawn, *sketch.layers]))
        sketch.fault(
            Message("the drawing has no layer {layer}", layer=layer),
            did_you_mean(layer, names, Message("it has {names}", names=tuple(names[:20]))
                         if names else NOTHING),
        )
    return found


def _left_out(sketch: Sketch) -> Message:
    if not sketch.ignored:
        return NOTHING
    return Message("left out: {things}", things=tuple(
        Message("{what} ({count})", what=what, count=count)
        for what, count in sorted(sketch.ignored.items())[:10]))
