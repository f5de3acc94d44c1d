"""Why parts of several jobs cannot be made from one stock as their file says."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from camgen.faults import Fault
from camgen.job.file import JobFile
from camgen.job.joined.one_stock.stock_words import OneStock
from camgen.job.joined.one_stock.strip import loose_faults, two_sides_of
from camgen.job.models import Job
from camgen.messages import Message
from camgen.part.declaration import MakesFace, SetsZero
from camgen.part.plates.plate import Plate
from camgen.shop.cutters import Cutter
from camgen.tolerances import LEAST_INCREMENT
from camgen.yamlfile import Document

__all__ = ["part_faults", "together_faults", "word_faults"]


def word_faults(words: OneStock, document: Document) -> Iterator[Fault]:
    """Where the words of the file do not go together."""
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


def part_faults(
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
    if abs(setup.stock.thickness - words.stock.thickness) > LEAST_INCREMENT:
        yield Fault(Message("{job} is made from stock of {own:g} mm, and this stock is {this:g} mm "
                            "thick", job=words.pieces[number].job, own=setup.stock.thickness,
                            this=words.stock.thickness),
                    Message("parts of one stock are made from one thickness"), place)
    if words.second_side is not None and _faces(job):
        yield Fault(Message("{job} faces the whole stock, and the holes for the dowels of this "
                            "stock are drilled before it is thinner", job=called),
                    Message("begin from stock of the part's thickness, and leave its face step "
                            "out"), place)


def _faces(job: Job) -> list[tuple[dict[str, Any], Cutter]]:
    """What a job's steps that face the whole stock say, each with its cutter."""
    return [(step.model_dump(exclude={"cutter", "note"}),
             job.cutters[step.cutter].model_copy(update={"number": None}))
            for one in job.flat for step in one.steps if step.declares().makes_a(MakesFace)]


def _one_thickness(jobs: list[JobFile], words: OneStock, document: Document) -> Iterator[Fault]:
    """Parts of one stock are faced alike or not at all, and say the same of what they weigh."""
    first = jobs[0].job
    for number, (piece, one) in enumerate(zip(words.pieces, jobs, strict=True)):
        place = document.place(("pieces", number, "job"))
        if _faces(one.job) != _faces(first):
            yield Fault(Message("{job} faces the stock otherwise than {first}", job=piece.job,
                                first=words.pieces[0].job),
                        Message("say the same face step with the same cutter in the jobs of all "
                                "parts, or begin from stock of the part's thickness and leave it "
                                "out of all"), place)
        if words.metal is None and one.job.metal != first.metal:
            yield Fault(Message("{job} says otherwise than {first} what comes back of its metal, "
                                "or its price", job=piece.job, first=words.pieces[0].job),
                        Message("add metal: {typed} to this file, which then holds for all",
                                typed="{recoverable: …, price: …}"), place)


def _one_material(jobs: list[JobFile], document: Document) -> Iterator[Fault]:
    first = jobs[0].job.material
    for number, one in enumerate(jobs):
        if one.job.material != first:
            yield Fault(Message("one part is of {first}, another of {second}", first=first,
                                second=one.job.material),
                        Message("parts of one stock are of one material"),
                        document.place(("pieces", number, "job")))


def together_faults(
    jobs: list[JobFile], words: OneStock, document: Document
) -> Iterator[Fault]:
    """Why jobs that each would do cannot share one stock."""
    yield from _one_material(jobs, document)
    yield from _one_thickness(jobs, words, document)
