"""What a drawing holds before its strokes are joined into outlines.

Every kind of drawing is brought to this one form: strokes of lines and arcs in mm with Y upwards,
each with its layer and what it was in the drawing, so that joining and checking know no format.
"""

from __future__ import annotations

from dataclasses import field

from camgen.faults import Fault, Place
from camgen.messages import NOTHING, Message
from camgen.shapes.path import ArcTo, LineTo, Path, Piece, Point
from camgen.shop.model import LONGEST
from camgen.values import dataclass

__all__ = ["UNITS", "DrawingFrame", "DrawnStroke", "Sketch", "unit_fault", "without_flat_arcs"]

# Millimetres in each unit a drawing may be in. The inch is 25.4 mm exactly (ISO 80000-3).
UNITS: dict[str, float] = {
    "mm": 1.0, "cm": 10.0, "m": 1000.0, "um": 0.001, "inch": 25.4, "foot": 304.8, "mil": 0.0254,
}


@dataclass(frozen=True, slots=True)
class DrawingFrame:
    """How the drawing's own coordinates lie against mm with Y upwards."""

    unit: str
    across: float = 1.0
    up: float = 1.0

    def where(self, point: Point) -> str:
        """A place in the drawing's own coordinates.

        >>> DrawingFrame("inch", 25.4, 25.4).where(Point(25.4, -12.7))
        'X 1, Y -0.5'
        """
        x, y = round(point.x / self.across, 5), round(point.y / self.up, 5)
        return f"X {x + 0.0:.7g}, Y {y + 0.0:.7g}"


@dataclass(frozen=True, slots=True)
class DrawnStroke:
    """One drawn thing: an open or closed path, its layer and what it is called in the drawing."""

    path: Path
    layer: str
    name: str
    place: Place


@dataclass(slots=True)
class Sketch:
    """All that one reader found; filled in while reading."""

    file: str
    frame: DrawingFrame = field(default_factory=lambda: DrawingFrame("mm"))
    strokes: list[DrawnStroke] = field(default_factory=list)
    layers: list[str] = field(default_factory=list)
    ignored: dict[str, int] = field(default_factory=dict)
    remarks: list[Message] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    # Faults of things on one layer: of no matter to whoever reads another.
    troubles: list[tuple[str, Fault]] = field(default_factory=list)

    def ignore(self, what: str) -> None:
        """Count one thing that makes no outline."""
        self.ignored[what] = self.ignored.get(what, 0) + 1

    def fault(
        self, message: Message, remedy: Message = NOTHING, place: Place | None = None,
        layer: str | None = None,
    ) -> None:
        """Note one thing that is wrong, with the whole drawing or on one ``layer``."""
        fault = Fault(message, remedy, place or Place(self.file))
        if layer is None:
            self.faults.append(fault)
        else:
            self.troubles.append((layer, fault))


def why_unread(error: Exception) -> Message:
    """Why one thing of a drawing cannot be read, where the reader itself says it."""
    said = error.args[0] if error.args else None
    return said if isinstance(said, Message) else Message("its values make no sense")


# An arc of 100 mm about a centre as far away as this bends by little more than a nanometre, mm.
_STRAIGHT = 1e9


def without_flat_arcs(path: Path, tolerance: float) -> Path:
    """The path with chords, no further than ``tolerance`` mm off, for arcs so flat that their
    centres lie where no part can."""
    pieces: list[Piece] = []
    for at, piece in path.laid_out():
        if isinstance(piece, ArcTo) and max(map(abs, piece.centre)) > LONGEST:
            if max(map(abs, piece.centre)) < _STRAIGHT:
                chords = Path(at, (piece,), closed=False).points(tolerance)[1:-1]
                pieces += [LineTo(Point(x, y)) for x, y in chords.tolist()]
            pieces.append(LineTo(piece.end))
        else:
            pieces.append(piece)
    return Path(path.start, tuple(pieces), path.closed)


def unit_fault(file: str, said: Message) -> Fault:
    """The fault of a drawing whose size nobody knows."""
    return Fault(
        Message("the size of the drawing is not known: {said}", said=said),
        Message("set the drawing's units, or say units: in the job, one of {units}",
                units=tuple(UNITS)),
        Place(file),
    )
