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
from typing import Any

from camgen.faults import Fault, Place, Refused
from camgen.job.file import JobFile
from camgen.job.joined.one_stock_words import OneStock, corner_of, turned_of
from camgen.job.joined.packing import packed_in_rows
from camgen.job.joined.patterns import turned_plate
from camgen.job.joined.strip import (
    FRAME,
    StripTurned,
    frame_document,
    loose_faults,
    two_sides_of,
)
from camgen.job.models import Job, Setup, StepWords
from camgen.job.reading import job_of, read_job
from camgen.job.units import in_mm
from camgen.messages import Message
from camgen.part.declaration import MakesFace, SetsZero
from camgen.part.figures import path_of
from camgen.part.plates.lies import Lie, lies_of
from camgen.part.plates.plate import Plate
from camgen.plainfile import plain_bytes
from camgen.shop.cutters import Cutter
from camgen.tolerances import AREA_CHORD
from camgen.yamlfile import DataPath, Document, read_yaml, validate

__all__ = ["PieceKind", "StockFile", "is_one_stock", "read_one_stock"]

# Angles nearer than this are one, degrees.
_SAME_TURN = 9


@dataclasses.dataclass(frozen=True)
class PieceKind:
    """Pieces of one job that lie turned alike: the job as it is on this stock, and what each is
    called, in the order of its places. ``number`` is the entry that says them.
    """

    name: str
    number: int
    job_file: JobFile
    turned: float
    names: tuple[str, ...]
    places: tuple[tuple[float, float], ...]


@dataclasses.dataclass(frozen=True)
class StockFile:
    """A file of parts on one stock, read, with each kind of piece.

    Of a stock that is turned over the last kind is its frame, with the dowels' holes.
    """

    words: OneStock
    path: Path
    document: Document
    kinds: tuple[PieceKind, ...]

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
    faults = list(_faults(words, document))
    found: list[JobFile | None] = []
    for number, piece in enumerate(words.pieces):
        other = path.parent / piece.job
        try:
            if not other.is_file():
                raise Refused(Fault(Message("the part's job is not there: {job}", job=other),
                                    Message("the path is counted from the folder of this file")))
            one = read_job(other, step_words)
            faults += _part_faults(words, number, one, document)
            found.append(one)
        except Refused as no:
            place = document.place(("pieces", number, "job"))
            faults += [fault if fault.place.file else dataclasses.replace(fault, place=place)
                       for fault in no.faults]
            found.append(None)
    if not faults:
        faults += _one_material([one for one in found if one is not None], document)
    if words.second_side is not None and not faults and not any(
            one is not None and two_sides_of(one) for one in found):
        faults.append(Fault(Message("no part is worked on its second side"),
                            Message("leave second-side and dowels out"),
                            document.place(("second-side",), key=True)))
    if faults:
        raise Refused(faults)
    jobs = [one for one in found if one is not None]
    words = _with_places(words, document, jobs)
    if words.dowels is not None:
        size = words.stock.rectangle or words.stock.disc or 0.0
        jobs.append(job_of(frame_document(
            document, words.dowels, jobs[0].job.material, words.stock.thickness, size,
            corner_of(words)), path, step_words))
    cutters, called = _one_rack([one.job for one in jobs])
    kinds = tuple(_kinds(words, document, jobs, cutters, called))
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
    return StockFile(words, path, document, kinds)


def _faults(words: OneStock, document: Document) -> Iterator[Fault]:
    for number, piece in enumerate(words.pieces):
        at = ("pieces", number)
        if piece.mirrored:
            yield Fault(Message("a part seen from its other side is another part"),
                        Message("make a job for it, or leave mirrored out"),
                        document.place((*at, "mirrored"), key=True))
        for word, given in (("drawn-at", piece.drawn_at), ("places-of", piece.places_of)):
            if given:
                yield Fault(Message("the places of pieces are said here"),
                            Message("with at:, ring:, arc: or rows:"),
                            document.place((*at, word), key=True))
        placed = next((word for word, given in (
            ("at", piece.at), ("ring", piece.ring), ("arc", piece.arc), ("rows", piece.rows))
            if given), None)
        if placed is not None and words.packed is not None:
            yield Fault(Message("the pieces are packed, and this one has a place of its own"),
                        Message("leave {word} out, or packed", word=placed),
                        document.place((*at, placed), key=True))
        if piece.count > 1 and words.packed is None:
            yield Fault(Message("count is for pieces that are packed"),
                        Message("add packed: {typed}, or give their places", typed="{between: …}"),
                        document.place((*at, "count"), key=True))
    if words.second_side is not None and words.dowels is None:
        yield Fault(Message("nothing says what the stock lies on once it is turned over"),
                    Message("add dowels: {typed}, holes of the stock outside the parts",
                            typed="{at: [[…], […]], diameter: …, steps: […]}"),
                    document.place(("second-side",), key=True))
    for word, said in (("dowels", words.dowels is not None), ("cutters", bool(words.cutters))):
        if said and words.second_side is None:
            yield Fault(Message("{word} is for a stock that is turned over", word=word),
                        Message("add second-side: {typed}, or leave it out",
                                typed="{turned-over: about X}"), document.place((word,), key=True))
    if words.packed is not None and words.stock.rectangle is None:
        yield Fault(Message("pieces are packed on a sheet or a bar"),
                    Message("say their places with at:"), document.place(("packed",), key=True))
    if words.stock.left_by is not None:
        yield Fault(Message("parts of several jobs begin from stock of its own size"),
                    Message("say sheet:, bar: or disc:"), document.place(("stock", "left-by")))
    if words.zero.dowel is not None or words.zero.indicated is not None:
        yield Fault(Message("no hole of one part is the zero of all"),
                    Message("say where the zero lies on the stock: x:, y: and z:"),
                    document.place(("zero", "dowel")))


def _with_places(words: OneStock, document: Document, jobs: list[JobFile]) -> OneStock:
    """The words with the places of pieces that are packed. Raises Refused where one has no room."""
    packed, size = words.packed, words.stock.rectangle
    if packed is None or size is None:
        return words
    left, front = corner_of(words)
    outlines = []
    for piece, one in zip(words.pieces, jobs, strict=True):
        plate = one.job.part
        assert isinstance(plate, Plate)
        outlines.append(Lie(turned=piece.turned).path(path_of(plate.outline)).region(
            AREA_CHORD).bounds)
    whose = [n for n, piece in enumerate(words.pieces) for _ in range(piece.count)]
    corners = packed_in_rows([(outlines[n][2] - outlines[n][0], outlines[n][3] - outlines[n][1])
                              for n in whose], size, packed.between, packed.edge)
    left_over = [n for n, corner in zip(whose, corners, strict=True) if corner is None]
    if left_over:
        raise Refused([
            Fault(Message("the stock has no room for {count} of {all} of {job}",
                          count=left_over.count(n), all=words.pieces[n].count,
                          job=words.pieces[n].job),
                  Message("a larger stock, fewer pieces, or places said by hand with at:, which "
                          "may be closer"), document.place(("pieces", n)))
            for n in dict.fromkeys(left_over)])
    return words.model_copy(update={"pieces": tuple(
        piece.model_copy(update={"at": tuple(
            (round(left + corner[0] - outlines[n][0], 4), round(front + corner[1] - outlines[n][1],
                                                                4))
            for which, corner in zip(whose, corners, strict=True)
            if which == n and corner is not None)})
        for n, piece in enumerate(words.pieces))})


def _part_faults(
    words: OneStock, number: int, part: JobFile, document: Document
) -> Iterator[Fault]:
    """Why a job's part cannot lie on a stock with others."""
    place = document.place(("pieces", number, "job"))
    job = part.job
    if not isinstance(job.part, Plate):
        yield Fault(Message("{job} describes no plate", job=words.pieces[number].job),
                    Message("blanks of wheels are made several from one stock in their own job, "
                            "with repeat:"), place)
        return
    called, sides = words.pieces[number].job, two_sides_of(part)
    if sides is not None and words.second_side is None:
        yield Fault(Message("{job} is worked on both faces, and nothing says how the stock is "
                            "turned over", job=called),
                    Message("add second-side: {side} and dowels: {dowels}", side=
                            "{turned-over: about X}",
                            dowels="{at: [[…], […]], diameter: …, steps: […]}"), place)
        return
    if sides is None and (len(job.setups) != 1 or len(job.flat) != 1):
        yield Fault(Message("{job} is worked in {count} setups, and parts on a common stock in "
                            "one, or in two with the stock turned over between them",
                            job=called, count=len(job.setups)),
                    Message("make a job for those sides alone, with the rest of its features "
                            "under made-elsewhere"), place)
        return
    setup = job.flat[0]
    if (setup.face != "upper" and sides is None) or setup.stock.left_by is not None:
        yield Fault(Message("{job} does not begin from new stock with its upper face up",
                            job=called),
                    Message("only such parts lie on a common stock"), place)
    if words.second_side is not None:
        yield from loose_faults(part, called, 1, place)
    if any(step.declares().makes_a(SetsZero) for one in job.flat for step in one.steps):
        yield Fault(Message("{job} finds its zero with a probe, and the zero of this stock is not "
                            "its own", job=called),
                    Message("leave its probe steps out"), place)
    if abs(setup.stock.thickness - words.stock.thickness) > 1e-9:
        yield Fault(Message("{job} is made from stock of {own:g} mm, and this stock is {this:g} mm "
                            "thick", job=words.pieces[number].job, own=setup.stock.thickness,
                            this=words.stock.thickness),
                    Message("parts of one stock are made from one thickness"), place)
    if any(step.declares().makes_a(MakesFace) for one in job.flat for step in one.steps):
        yield Fault(Message("{job} faces the whole stock, which is not its own here",
                            job=words.pieces[number].job),
                    Message("begin from stock of the part's thickness, and leave its face step "
                            "out"), place)


def _one_material(jobs: list[JobFile], document: Document) -> Iterator[Fault]:
    first = jobs[0].job.material
    for number, one in enumerate(jobs):
        if one.job.material != first:
            yield Fault(Message("one part is of {first}, another of {second}", first=first,
                                second=one.job.material),
                        Message("parts of one stock are of one material"),
                        document.place(("pieces", number, "job")))


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
    words: OneStock, document: Document, jobs: list[JobFile], cutters: Mapping[str, Cutter],
    called: list[dict[str, str]],
) -> Iterator[PieceKind]:
    used = {mine[step.cutter] for one, mine in zip(jobs, called, strict=True)
            for setup in one.job.setups for step in setup.steps if step.cutter in mine}
    rack = {name: cutter for name, cutter in cutters.items() if name in used}
    for number, piece in enumerate(words.pieces):
        name = piece.name or Path(piece.job).stem.lower().replace("_", "-").replace(" ", "-")
        lies = lies_of(piece)
        own = (name,) if len(lies) == 1 else tuple(f"{name}-{n}" for n in range(1, len(lies) + 1))
        alike: dict[float, list[int]] = {}
        for n, lie in enumerate(lies):
            alike.setdefault(round(lie.turned % 360, _SAME_TURN) % 360, []).append(n)
        for turned, which in alike.items():
            kind = name if len(alike) == 1 else own[which[0]]
            places = tuple((lies[n].x, lies[n].y) for n in which)
            yield PieceKind(kind, number, _as_here(
                words, document, jobs[number], kind, turned, places, rack, called[number]),
                turned, tuple(own[n] for n in which), places)


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
        "language": words.language})), 0.0, (FRAME,), ((0.0, 0.0),))


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
