"""Shapes of a plate taken from drawings: read once, with the job, and from then on plain paths.

What follows sees lines and arcs as if they had been written in the job file; so a fingerprint of
the job is one of the geometry drawn, wherever its file lies.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import shapely

from camgen.faults import Fault, Place, Refused
from camgen.job.joined.cut_by import trace_files
from camgen.job.models import Job
from camgen.messages import Message
from camgen.part.called import thing_called
from camgen.part.figures import typed_pieces
from camgen.part.plates.place_words import DrawnPlaces
from camgen.part.plates.plate import Plate
from camgen.part.plates.plate_words import Pocket, Shape
from camgen.plainfile import plain_bytes, why_not
from camgen.shapes.path import ArcTo, Point
from camgen.shapes.path import Path as DrawnPath
from camgen.tolerances import CHECK_CHORD
from camgen.yamlfile import DataPath, Document, read_yaml

if TYPE_CHECKING:
    from camgen.drawings.drawing import Drawing

__all__ = ["DrawingReader", "FromDrawings", "drawing_files", "with_drawings"]

# A circle drawn stands for a hole when its diameter is the hole's to within this, mm: drawings are
# mostly made to two places.
SAME_SIZE = 0.015


@dataclasses.dataclass(frozen=True)
class FromDrawings:
    """A job with its drawings read: the files, and what was mended in them, in words."""

    job: Job
    files: tuple[Path, ...] = ()
    remarks: tuple[Message, ...] = ()
    faults: tuple[Fault, ...] = ()


def with_drawings(job: Job, document: Document) -> FromDrawings:
    """The job with every drawing its plate speaks of read into paths."""
    match job.given:
        case (Plate() as plate,) if any(_spoken_of(plate)):
            return _read(job, plate, document)
        case _:
            return FromDrawings(job)


def _read(job: Job, plate: Plate, document: Document) -> FromDrawings:
    reading = DrawingReader(document)
    outline = reading.single(plate.outline, ("plate", "outline"))
    openings = reading.all_of("openings", plate.openings)
    pockets = reading.all_of("pockets", plate.pockets)
    posts = reading.all_of("posts", plate.posts)
    read = plate.model_copy(
        update={"outline": outline, "openings": openings, "pockets": pockets, "posts": posts}
    )
    return FromDrawings(
        job.with_part(read), tuple(dict.fromkeys(reading.files)),
        tuple(dict.fromkeys(reading.remarks)), tuple(dict.fromkeys(reading.faults)),
    )


def drawing_files(path: Path) -> tuple[Path, ...]:
    """The drawings that the job file at ``path`` names itself, and the traces of its cutters, also
    when it cannot be read whole."""
    try:
        text = plain_bytes(path)
        if b"drawing:" not in text and b"profile:" not in text:
            return ()
        data = read_yaml(path).data
    except Refused:
        return ()
    plate = data.get("plate") if isinstance(data, dict) else None
    return tuple(dict.fromkeys((*(path.parent / name for name in _named(plate)),
                                *trace_files(data, path.parent))))


def _named(data: Any) -> Iterator[str]:
    """Every drawing named anywhere in plain data."""
    if isinstance(data, dict):
        for word, value in data.items():
            if word == "drawing" and isinstance(value, str):
                yield value
            else:
                yield from _named(value)
    elif isinstance(data, tuple):
        for value in data:
            yield from _named(value)


def _spoken_of(plate: Plate) -> Iterator[bool]:
    """Whether each of a plate's shapes is drawn."""
    yield plate.outline.drawing is not None
    for shape in (*plate.openings.values(), *plate.pockets.values(), *plate.posts.values()):
        yield shape.drawing is not None
    for pocket in plate.pockets.values():
        yield from (island.drawing is not None for island in pocket.islands)


class DrawingReader:
    """Drawings read as they are asked for, and what was found wrong or mended in them."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.files: list[Path] = []
        self.remarks: list[Message] = []
        self.faults: list[Fault] = []
        self._known: dict[tuple[Path, str | None, str | None], Drawing | None] = {}

    def single(self, shape: Shape, at: DataPath) -> Shape:
        """A shape that must be one outline with nothing in it."""
        if shape.drawing is None:
            return shape
        groups = self._groups(shape, at)
        if len(groups) == 1 and not groups[0][1]:
            return _as_path(shape, groups[0][0])
        if groups:
            count = sum(1 + len(inner) for _, inner in groups)
            self._fault(Message("{count} outlines are drawn there, one is wanted", count=count),
                        Message("put the others on layers of their own"), at)
        return _stand_in(shape)

    def all_of(self, word: str, shapes: Mapping[str, Shape]) -> dict[str, Shape]:
        """All shapes under one word of a plate; the numbers of those drawn may be no other's."""
        made: dict[str, Shape] = {}
        bearers: dict[str, str] = {}
        for name, shape in shapes.items():
            at: DataPath = ("plate", word, name)
            for own, one in self.several(name, shape, at).items():
                if own in made:
                    self.faults.append(Fault(
                        Message("{first} and {second} are both called {name}",
                                first=thing_called(word, bearers[own]),
                                second=thing_called(word, name), name=own),
                        Message("rename one of them: outlines drawn together are numbered -1, -2 "
                                "and on"), self.document.place(at, key=True)))
                made[own], bearers[own] = one, name
        return made

    def several(self, name: str, shape: Shape, at: DataPath) -> dict[str, Shape]:
        """The shapes drawn, called ``name``, or ``name-1`` and so on; what lies in a pocket's
        outline are its islands."""
        islands: tuple[Shape, ...] = ()
        if isinstance(shape, Pocket):
            islands = tuple(
                found for number, island in enumerate(shape.islands)
                for found in self.several("island", island, (*at, "islands", number)).values()
            )
            shape = shape.model_copy(update={"islands": islands})
        if shape.drawing is None:
            return {name: shape}
        made: list[Shape] = []
        for outer, inner in self._groups(shape, at):
            one = _as_path(shape, outer)
            if isinstance(one, Pocket):
                drawn = tuple(_as_path(Shape(), path) for path in inner)
                one = one.model_copy(update={"islands": (*islands, *drawn)})
            elif inner:
                self._fault(Message("an outline is drawn within another"),
                            Message("only pockets have islands; put it on a layer of its own"), at)
            made.append(one)
        if not made:
            return {name: _stand_in(shape)}
        if len(made) == 1:
            return {name: made[0]}
        return {f"{name}-{number}": one for number, one in enumerate(made, start=1)}

    def middles(self, said: DrawnPlaces, at: DataPath) -> tuple[Point, ...]:
        """The middles of circles drawn, of one diameter where that is said."""
        drawing = self._read(said.drawing, said.layer, said.drawn_in, at)
        if drawing is None:
            return (Point(0.0, 0.0),)
        wanted = said.circle
        rounds = [found for loop in drawing.loops if (found := _round(loop)) is not None]
        middles = tuple(
            centre for centre, diameter in rounds
            if wanted is None or abs(diameter - wanted) <= SAME_SIZE
        )
        if not middles:
            sizes = sorted({round(diameter, 3) for _, diameter in rounds})
            self._fault(Message("no circle is drawn there") if wanted is None else
                        Message("no circle of {wanted:g} mm is drawn there", wanted=wanted),
                        Message("drawn are circles of {sizes} mm",
                                sizes=tuple(f"{size:g}" for size in sizes)) if sizes
                        else Message("draw holes as circles"), at)
            middles = (Point(0.0, 0.0),)
        return middles

    def refused(self, no: Refused, at: DataPath) -> None:
        """Keeps faults of a word that a drawing hangs on."""
        place = self.document.place(at)
        self.faults += [dataclasses.replace(fault, place=place) for fault in no.faults]

    def _groups(self, shape: Shape, at: DataPath) -> list[tuple[DrawnPath, list[DrawnPath]]]:
        assert shape.drawing is not None
        drawing = self._read(shape.drawing, shape.layer, shape.drawn_in, at)
        if drawing is None:
            return []
        groups, deeper = _grouped(drawing.loops)
        for path in deeper:
            self._fault(Message("an outline about X {x:.3f} Y {y:.3f} lies within an island",
                                x=path.start.x, y=path.start.y),
                        Message("put it on a layer of its own"), at)
        return groups

    def _read(
        self, name: str, layer: str | None, units: str | None, at: DataPath
    ) -> Drawing | None:
        from camgen.drawings.drawing import read_drawing

        said_in = Path(self.document.file_of((*at, "drawing")))
        file = said_in.parent / name
        key = (file, layer, units)
        if key in self._known:
            return self._known[key]
        drawing = None
        trouble = _no_drawing(file, name)
        if trouble is not None:
            self._fault(trouble, Message("it is looked for at {file}", file=file), at)
            self._known[key] = None
            return None
        try:
            drawing = read_drawing(file, layer=layer, units=units)
        except Refused as no:
            for fault in no.faults:
                place = fault.place if fault.place.file else Place(str(file))
                self.faults.append(dataclasses.replace(fault, place=place))
        else:
            self.files.append(file)
            told = [Message("{what}, {size:.1f} µm, {where}", what=one.what, size=1000 * one.size,
                            where=one.where) for one in drawing.mended]
            self.remarks += [Message("drawing {name}: {what}", name=name, what=one)
                             for one in (*told, *drawing.remarks)]
        self._known[key] = drawing
        return drawing

    def _fault(self, message: Message, remedy: Message, at: DataPath) -> None:
        self.faults.append(Fault(message, remedy, self.document.place((*at, "drawing"))))


def _no_drawing(file: Path, name: str) -> Message | None:
    """Why there is nothing to read at a path, of the name in the job; None where there is."""
    if file.suffix.lower() not in (".dxf", ".svg"):
        return Message("{name} is no drawing: those are .dxf and .svg files", name=name)
    try:
        if file.is_file():
            return None
    except OSError as error:
        return Message("{name} cannot be looked for ({reason})", name=name, reason=why_not(error))
    return Message("{name} is a drawing that is not there", name=name)


def _grouped(
    loops: tuple[DrawnPath, ...]
) -> tuple[list[tuple[DrawnPath, list[DrawnPath]]], list[DrawnPath]]:
    """Outlines with what lies directly in each, and those that lie deeper still."""
    regions = [loop.region(CHECK_CHORD) for loop in loops]
    tree = shapely.STRtree(regions)
    inner, outer = tree.query(regions, predicate="within")
    around: list[list[int]] = [[] for _ in loops]
    for one, other in zip(inner.tolist(), outer.tolist(), strict=True):
        if one != other and regions[other].area > regions[one].area:
            around[one].append(other)
    groups: dict[int, list[DrawnPath]] = {n: [] for n, by in enumerate(around) if not by}
    deeper = []
    for number, by in enumerate(around):
        if len(by) == 1:
            groups[by[0]].append(loops[number])
        elif len(by) > 1:
            deeper.append(loops[number])
    return [(loops[number], inside) for number, inside in groups.items()], deeper


def _as_path(shape: Shape, path: DrawnPath) -> Shape:
    """The shape with the lines and arcs of a path instead of its drawing."""
    return shape.model_copy(
        update={"path": typed_pieces(path), "drawing": None, "layer": None, "drawn_in": None}
    )


def _stand_in(shape: Shape) -> Shape:
    """Something in the place of a faulty drawing; it is never worked with."""
    return shape.model_copy(update={"circle": 1.0, "drawing": None})


def _round(path: DrawnPath) -> tuple[Point, float] | None:
    """Middle and diameter of a loop that is a circle."""
    if not path.pieces or not all(isinstance(piece, ArcTo) for piece in path.pieces):
        return None
    arcs = [piece for piece in path.pieces if isinstance(piece, ArcTo)]
    centre = arcs[0].centre
    radius = math.dist(path.start, centre)
    same = all(
        math.dist(arc.centre, centre) < 1e-4 and abs(math.dist(arc.end, centre) - radius) < 1e-4
        for arc in arcs
    )
    return (centre, 2 * radius) if same else None
