"""Parts of different jobs on one stock: a file that says which, and where each lies.

``pieces: [{job: cock.yaml, at: [-8, 0], turned: 90}, {job: bridge.yaml, at: [9, 2]}]`` puts the
plates of other jobs on the stock that this file describes. Each part keeps its own steps, cutters
and declarations; stock, zero, holding and heights are those said here. Parts of one job that lie
turned alike are pieces of one kind. Parts worked on both faces are turned over with the whole
stock, which then lies on ``dowels:`` in its frame.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Literal

from camgen.faults import Fault, Place, Refused
from camgen.job.file import JobFile
from camgen.job.joined.one_stock.packing import PieceBox, packed_in_rows
from camgen.job.joined.one_stock.stock_faults import part_faults, together_faults, word_faults
from camgen.job.joined.one_stock.stock_words import OneStock, Piece, corner_of, turned_of
from camgen.job.joined.one_stock.strip import (
    FRAME,
    StripTurned,
    frame_document,
    two_sides_of,
)
from camgen.job.joined.patterns import turned_plate
from camgen.job.models import Job, Setup, StepWords
from camgen.job.reading import job_of, read_job
from camgen.job.units import in_mm
from camgen.messages import Message
from camgen.part.figures import path_of
from camgen.part.plates.lies import Lie, lies_of
from camgen.part.plates.plate import Plate
from camgen.plainfile import plain_bytes
from camgen.shop.cutters import Cutter
from camgen.tolerances import AREA_CHORD
from camgen.yamlfile import DataPath, Document, read_yaml, validate

__all__ = ["PackedStock", "PieceKind", "StockFile", "is_one_stock", "read_one_stock"]

# Angles nearer than this are one, degrees.
_SAME_TURN = 9


@dataclasses.dataclass(frozen=True)
class PieceKind:
    """Pieces of one job that lie turned alike: the job as it is on this stock, and what each is
    called, in the order of its places. ``number`` is the entry that says them; ``cutters`` what
    those of its own job are called on this stock.
    """

    name: str
    number: int
    job_file: JobFile
    turned: float
    names: tuple[str, ...]
    places: tuple[tuple[float, float], ...]
    cutters: Mapping[str, str]


@dataclasses.dataclass(frozen=True)
class PackedKind:
    """How many pieces of an entry, called ``name``, were packed, and turned by a quarter for it."""

    name: str
    turned: int
    count: int


@dataclasses.dataclass(frozen=True)
class PackedStock:
    """How pieces were packed: the axis of their rows, length and width of the largest rectangle of
    the stock that stays whole, mm, and the entries whose pieces were turned."""

    axis: Literal["X", "Y"]
    free: tuple[float, float]
    turned: tuple[PackedKind, ...]


@dataclasses.dataclass(frozen=True)
class StockFile:
    """A file of parts on one stock, read, with each kind of piece.

    Of a stock that is turned over the last kind is its frame, with the dowels' holes.
    """

    words: OneStock
    path: Path
    document: Document
    kinds: tuple[PieceKind, ...]
    packed: PackedStock | None = None

    @property
    def turned(self) -> StripTurned | None:
        """How the stock is turned over; None where it is not."""
        return turned_of(self.words)

    @property
    def parts(self) -> tuple[PieceKind, ...]:
        """The kinds of pieces without the frame."""
        return self.kinds if self.turned is None else self.kinds[:-1]

    def place_of(self, kind: PieceKind) -> Place:
        """Where a kind of piece, or the frame, is said."""
        return self.document.place(("pieces", kind.number) if kind.number >= 0 else ("dowels",))


def is_one_stock(path: Path) -> bool:
    """Whether a file puts parts of several jobs on one stock, as far as can be seen."""
    try:
        if b"pieces:" not in plain_bytes(path):
            return False
        data = read_yaml(path).data
    except Refused:
        return False
    return isinstance(data, dict) and "pieces" in data and "setups" not in data


def read_one_stock(path: Path, step_words: Mapping[str, type[StepWords]]) -> StockFile:
    """The file at ``path`` with the jobs of its parts. Raises Refused with every fault."""
    document = read_yaml(path)
    data = document.data
    if isinstance(data, dict) and data.get("units") == "inch":
        data = in_mm(OneStock, data)
    words = validate(OneStock, document, data=data)
    faults = list(word_faults(words, document))
    found: list[JobFile | None] = []
    for number, piece in enumerate(words.pieces):
        other = path.parent / piece.job
        try:
            if not other.is_file():
                raise Refused(Fault(Message("the part's job is not there: {job}", job=other),
                                    Message("the path is counted from the folder of this file")))
            one = read_job(other, step_words)
            faults += part_faults(words, number, one, document)
            found.append(one)
        except Refused as no:
            place = document.place(("pieces", number, "job"))
            faults += [fault if fault.place.file else dataclasses.replace(fault, place=place)
                       for fault in no.faults]
            found.append(None)
    if not faults:
        read = [one for one in found if one is not None]
        faults += together_faults(read, words, document)
    if words.second_side is not None and not faults and not any(
            one is not None and two_sides_of(one) for one in found):
        faults.append(Fault(Message("no part is worked on its second side"),
                            Message("leave second-side and dowels out"),
                            document.place(("second-side",), key=True)))
    if faults:
        raise Refused(faults)
    jobs = [one for one in found if one is not None]
    packed, lies = _lies(words, document, jobs)
    if words.dowels is not None:
        size = words.stock.rectangle or words.stock.disc or 0.0
        jobs.append(job_of(frame_document(
            document, words.dowels, jobs[0].job.material, words.stock.thickness, size,
            corner_of(words)), path, step_words))
    cutters, called = _one_rack([one.job for one in jobs])
    kinds = tuple(_kinds(words, document, jobs, lies, cutters, called))
    if words.dowels is not None:
        kinds = (*kinds, _frame(words, jobs[-1], cutters, called[-1]))
    for number in range(len(words.pieces)):
        mine = [name for kind in kinds if kind.number == number for name in kind.names]
        if any(sum(name in (kind.name, *kind.names) for kind in kinds) > 1 for name in mine):
            faults.append(Fault(Message("two pieces are called {name}", name=mine[0]),
                                Message("give each a name of its own with name:, or several places "
                                        "in one entry"),
                                document.place(("pieces", number))))
    if faults:
        raise Refused(faults)
    return StockFile(words, path, document, kinds, packed)


def _lies(
    words: OneStock, document: Document, jobs: list[JobFile]
) -> tuple[PackedStock | None, list[tuple[Lie, ...]]]:
    """How the pieces of each entry lie, as it says or as they are packed.

    Raises Refused where one has no room.
    """
    packed, size = words.packed, words.stock.rectangle
    if packed is None or size is None:
        return None, [lies_of(piece) for piece in words.pieces]
    left, front = corner_of(words)
    plates = []
    for one in jobs:
        plate = one.job.part
        assert isinstance(plate, Plate)
        plates.append(path_of(plate.outline))

    def outline(n: int, turned: float) -> tuple[float, ...]:
        bounds: tuple[float, ...] = Lie(turned=turned).path(plates[n]).region(AREA_CHORD).bounds
        return bounds

    boxes = []
    for n, piece in enumerate(words.pieces):
        x0, y0, x1, y1 = outline(n, piece.turned)
        boxes += [PieceBox(x1 - x0, y1 - y0, n, not piece.keeps_grain)] * piece.count
    found = packed_in_rows(boxes, size, packed.between, packed.edge)
    left_over = [box.kind for box, lie in zip(boxes, found.lies, strict=True) if lie is None]
    if left_over:
        raise Refused([
            Fault(Message("the stock has no room for {count} of {all} of {job}",
                          count=left_over.count(n), all=words.pieces[n].count,
                          job=words.pieces[n].job),
                  Message("a larger stock, fewer pieces, or places said by hand with at:, which "
                          "may be closer"), document.place(("pieces", n)))
            for n in dict.fromkeys(left_over)])
    lies: list[list[Lie]] = [[] for _ in words.pieces]
    for box, lie in zip(boxes, found.lies, strict=True):
        if lie is not None:
            turned = words.pieces[box.kind].turned + (90.0 if lie.turned else 0.0)
            x0, y0, _, _ = outline(box.kind, turned)
            lies[box.kind].append(Lie(round(left + lie.x - x0, 4), round(front + lie.y - y0, 4),
                                      turned))
    turned_ones = tuple(
        PackedKind(_name_of(piece), count, piece.count)
        for n, piece in enumerate(words.pieces)
        if (count := sum(lie.turned != piece.turned for lie in lies[n])))
    return PackedStock(found.axis, found.free, turned_ones), [tuple(one) for one in lies]


def _name_of(piece: Piece) -> str:
    """What a piece is called: as it says, or as its job's file."""
    return piece.name or Path(piece.job).stem.lower().replace("_", "-").replace(" ", "-")


def _one_rack(jobs: list[Job]) -> tuple[dict[str, Cutter], list[dict[str, str]]]:
    """All cutters of several jobs, those alike once, by name; and what each job's are called.

    Cutters are alike by their words, whatever place in the rack they were given.
    """
    rack: dict[str, Cutter] = {}
    called: list[dict[str, str]] = []
    for job in jobs:
        mine: dict[str, str] = {}
        for name, cutter in job.cutters.items():
            bare = cutter.model_copy(update={"number": None})
            same = next((known for known, other in rack.items() if other == bare), None)
            if same is None:
                same = name
                count = 1
                while same in rack:
                    count += 1
                    same = f"{name}-{count}"
                rack[same] = bare
            mine[name] = same
        called.append(mine)
    return rack, called


def _kinds(
    words: OneStock, document: Document, jobs: list[JobFile], lying: list[tuple[Lie, ...]],
    cutters: Mapping[str, Cutter], called: list[dict[str, str]],
) -> Iterator[PieceKind]:
    used = {mine[step.cutter] for one, mine in zip(jobs, called, strict=True)
            for setup in one.job.setups for step in setup.steps if step.cutter in mine}
    rack = {name: cutter for name, cutter in cutters.items() if name in used}
    for number, piece in enumerate(words.pieces):
        name, lies = _name_of(piece), lying[number]
        own = (name,) if len(lies) == 1 else tuple(f"{name}-{n}" for n in range(1, len(lies) + 1))
        alike: dict[float, list[int]] = {}
        for n, lie in enumerate(lies):
            alike.setdefault(round(lie.turned % 360, _SAME_TURN) % 360, []).append(n)
        for turned, which in alike.items():
            kind = name if len(alike) == 1 else own[which[0]]
            places = tuple((lies[n].x, lies[n].y) for n in which)
            yield PieceKind(kind, number, _as_here(
                words, document, jobs[number], kind, turned, places, rack, called[number]),
                turned, tuple(own[n] for n in which), places, called[number])


def _as_here(
    words: OneStock, document: Document, part: JobFile, name: str, turned: float,
    places: tuple[tuple[float, float], ...], rack: Mapping[str, Cutter], called: Mapping[str, str],
) -> JobFile:
    """A part's job as it is on this stock; faults of what is said here are told here."""
    job, held = part.job, part.document
    plate = job.part
    assert isinstance(plate, Plate)
    turn, second = turned_of(words), words.second_side
    setups = [_setup_here(job.setups[0], words, name, called, {
        "stock": words.stock, "zero": words.zero, "holding": words.holding, "pieces_at": places})]
    stand = [(word, (0, word)) for word in ("stock", "zero", "holding", "safe-height",
                                            "clearance")]
    if len(job.setups) > 1 and second is not None and turn is not None:
        setups.append(_setup_here(job.setups[1], words, f"{name}-turned", called, {
            "stock": words.stock.model_copy(update={
                "sheet": None, "bar": None, "length": None, "disc": None, "left_by": name}),
            "zero": second.zero, "holding": second.holding or words.holding,
            "pieces_at": tuple(turn.place(*place) for place in places)}))
        stand += [(word, (1, word)) for word in ("stock", "safe-height", "clearance")]
        stand += [("second-side" if second.holding else "holding", (1, "holding"))]
    for word, (number, other) in stand:
        held = _with_word(held, ("setups", number, other), word, document)
    # What lies with its under face up is seen from there, and turned as it is seen.
    turned = -turned if setups[0].face == "under" else turned
    made = job.model_copy(update={
        "plate": turned_plate(plate, turned, part.document) if turned else plate,
        "cutters": dict(rack), "setups": tuple(setups), "post": words.post, "quantity": len(places),
        "language": words.language})
    return dataclasses.replace(part, job=made, document=held)


def _setup_here(
    setup: Setup, words: OneStock, name: str, called: Mapping[str, str], update: dict[str, Any]
) -> Setup:
    """One setup of a part as it is on this stock."""
    turned = words.second_side.turned_over if words.second_side is not None else None
    return setup.model_copy(update={
        "name": name, "repeat": None, "fixture": None, "safe_height": words.safe_height,
        "clearance": words.clearance, "turned_over": turned if setup.face == "under" else None,
        "steps": tuple(step.model_copy(update={"cutter": called.get(step.cutter, step.cutter)})
                       for step in setup.steps), **update})


def _frame(
    words: OneStock, frame: JobFile, rack: Mapping[str, Cutter], called: Mapping[str, str]
) -> PieceKind:
    """The stock itself, with the dowels' holes, as if it were a part."""
    job = frame.job
    setup = _setup_here(job.setups[0], words, FRAME, called, {})
    return PieceKind(FRAME, -1, dataclasses.replace(frame, job=job.model_copy(update={
        "cutters": dict(rack), "setups": (setup,), "post": words.post,
        "language": words.language})), 0.0, (FRAME,), ((0.0, 0.0),), called)


def _with_word(held: Document, at: DataPath, word: str, document: Document) -> Document:
    """A part's document whose word ``at`` stands where ``word`` is said of the whole stock."""
    keys = {path: place for path, place in held.keys.items() if path[:3] != at}
    values = {path: place for path, place in held.values.items() if path[:3] != at}
    files = {path: held.file_of(path) for path in held.values if path[:3] != at}
    for path in document.values:
        if path[:1] == (word,):
            new = (*at, *path[1:])
            values[new] = document.values[path]
            files[new] = document.file_of(path)
            if path in document.keys:
                keys[new] = document.keys[path]
    return dataclasses.replace(held, keys=keys, values=values, files=files)
