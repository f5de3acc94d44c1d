"""Whether the words of a job agree with one another: what can be seen without any arithmetic."""

from __future__ import annotations

from collections.abc import Iterator

from pydantic import BaseModel

from camgen.faults import Fault, all_of, did_you_mean, either, no_less
from camgen.job.models import FlatSetup, HeadSetup, Holding, Job, RoundSetup, Setup
from camgen.job.part import measured_sizes, nominal_sizes, sizes_called
from camgen.messages import Message
from camgen.part.plates.plate import Plate
from camgen.part.wheels.pinion import Pinion
from camgen.part.wheels.wheel import Wheel
from camgen.shop.cutters import Cutter, disagreements, kinds_that_can, record_of
from camgen.teeth.form import Mating
from camgen.teeth.forms import whose
from camgen.tolerances import ROUNDING
from camgen.yamlfile import DataPath, Document
from camgen.yamlfile.advice import listing

__all__ = ["agreement_faults"]

# A size may be rounded by so much beside its limits, mm.
ROUNDED_LIMIT = 0.0005
# Rapid moves end at least so far from metal, mm: zeros are set within a few hundredths, and a
# cutter runs out by one or two. Common practice, no source.
LEAST_CLEARANCE = 0.05
# Travel is at least so far above that, mm, and nowhere higher than the most: no bench machine for
# this work has so much room over its table. Common practice, no source.
LEAST_ABOVE, MOST_HEIGHT = 0.05, 200.0


def agreement_faults(job: Job, document: Document) -> list[Fault]:
    """Every fault in how the job's words go together, in no particular order."""
    return [
        *_part(job, document),
        *(fault for name, cutter in job.cutters.items()
          for fault in _cutter(name, cutter, job, document)),
        *_rack(job, document),
        *_names(job, document),
        *_limits(job, document),
        *(fault for number, setup in enumerate(job.setups)
          for fault in _setup(job, number, setup, document)),
    ]


def _limits(job: Job, document: Document) -> Iterator[Fault]:
    """Limits of sizes: of those that are measured, the least before the most."""
    if not job.limits:
        return
    known, nominal = measured_sizes(job), nominal_sizes(job)
    for name, (least, most) in job.limits.items():
        place = document.place(("limits", name), key=True)
        sizes = sizes_called(job, name)
        if known and not set(sizes) <= set(known):
            yield Fault(Message("no size that is measured in this job is called {name}", name=name),
                        did_you_mean(name, dict.fromkeys((*_groups(job), *known)),
                                     Message("it has {known}", known=listing(known))), place)
        if least > most:
            yield Fault(Message("the least {name}, {least:g} mm, is more than the most, {most:g} "
                                "mm", name=name, least=least, most=most),
                        Message("write {name}: [{most:g}, {least:g}]", name=name, most=most,
                                least=least), place)
        elif sizes[0] in nominal and not (
                least - ROUNDED_LIMIT <= nominal[sizes[0]] <= most + ROUNDED_LIMIT):
            yield Fault(Message("{name} is {nominal:.3f} mm, which is not within its limits, "
                                "{least:g} to {most:g} mm", name=name, nominal=nominal[sizes[0]],
                                least=least, most=most),
                        Message("limits hold the size that is made: look at both"), place)


def _groups(job: Job) -> tuple[str, ...]:
    """Names of holes in the job file, each for one hole or several."""
    return tuple(job.part.holes) if isinstance(job.part, Plate) else ()


def _written(model: BaseModel, *names: str) -> Iterator[tuple[str, str]]:
    """Those of a model's fields that the file wrote, with their words there."""
    for name in names:
        if name in model.model_fields_set and getattr(model, name) is not None:
            yield name, name.replace("_", "-")


def _part(job: Job, document: Document) -> Iterator[Fault]:
    given = {part.word: part for part in job.given}
    if not given:
        yield Fault(Message("the job says no part"),
                    Message("add wheel: or pinion: or plate: with its words beneath"),
                    document.place())
    if "plate" in given and len(given) > 1:
        yield Fault(Message("a plate and a toothed part in one job"),
                    Message("make a job file for each"), document.place(("plate",), key=True))
    if "wheel" in given and "pinion" in given:
        yield Fault(Message("wheel and pinion in one job"), Message("make a job file for each"),
                    document.place(("pinion",), key=True))
    for part in given.values():
        match part:
            case Wheel() | Pinion():
                yield from _toothed(part, document)
            case Plate():
                pass  # its words are shapes: told where they are looked at


def _toothed(part: Wheel | Pinion, document: Document) -> Iterator[Fault]:
    """Whether a part's words are those of its form, by what the form says of itself."""
    at, teeth = (part.word,), part.formed()
    if teeth.mating is Mating.SHAPED_BY and part.mate is None:
        yield Fault(Message("a {form} {word} needs its mate", form=part.form, word=part.word),
                    Message("add mate: with the leaves of the pinion it works with; the height of "
                            "the teeth hangs on it"), document.place((*at, "mate")))
    if teeth.mating is Mating.NONE and isinstance(part, Wheel):
        yield from _only(part, at, document, Message("wheels that run with a pinion"),
                         "mate")
    if part.mate_cutter is not None and (teeth.mating is Mating.NONE or part.mate is None):
        yield Fault(Message("mate-cutter is said and no mate"),
                    Message("add mate: with its number of teeth, or leave mate-cutter: out"),
                    document.place((*at, "mate-cutter"), key=True))
    if part.only is not None:
        yield from _part_circle(part, part.only, document)
    for word in part.form_words.words:
        if word not in teeth.words:
            yield from _only(part, at, document, all_of(whose(teeth.part, word)), word.name)
        if word.by_cutter and part.tooth_of == "as-cut":
            for _, name in _written(part, word.name):
                yield Fault(Message("{name} is the cutter's to say where the teeth are as it cuts "
                                    "them", name=name),
                            Message("leave {name} out, or tooth: as-cut", name=name),
                            document.place((*at, name), key=True))
        for other, value in word.without:
            for _, name in _written(part, word.name) if part.own()[other] == value else ():
                yield Fault(Message("{name} means nothing beside {other}: {value}", name=name,
                                    other=other.replace("_", "-"), value=value),
                            Message("leave one of them out"),
                            document.place((*at, name), key=True))


def _part_circle(part: Wheel | Pinion, only: tuple[int, int], document: Document
                 ) -> Iterator[Fault]:
    """Whether the spaces of part-circle teeth are spaces of the part, the first before the last."""
    (first, last), place = only, document.place((part.word, "only"))
    if first < 1 or last < 1 or max(only) > part.count:
        yield Fault(Message("spaces {first} to {last} are not all spaces of {count} {teeth}",
                            first=first, last=last, count=part.count, teeth=part.count_word),
                    Message("they are counted from 1 to {count}: write only: [1, {some}] for a "
                            "sector of so many spaces", count=part.count,
                            some=min(12, part.count)), place)
    elif first > last:
        yield Fault(Message("the first space, {first}, comes after the last, {last}", first=first,
                            last=last),
                    Message("count from the first: write only: [1, {some}]",
                            some=part.count - first + 1 + last), place)


def _only(model: BaseModel, at: DataPath, document: Document, whose: str, *names: str
          ) -> Iterator[Fault]:
    for _, word in _written(model, *names):
        yield Fault(Message("{word} is for {whose} only", word=word, whose=whose),
                    Message("leave it out, or change the form"),
                    document.place((*at, word), key=True))


def _cutter(name: str, cutter: Cutter, job: Job, document: Document) -> Iterator[Fault]:
    at: DataPath = ("cutters", name)
    record = record_of(cutter)
    for wrong in disagreements(cutter):
        yield Fault(Message("{name}: {what}", name=name, what=wrong.what), wrong.remedy,
                    document.place((*at, wrong.word), key=wrong.present))
    if record.forms:
        other = next((step for setup in job.setups for step in setup.steps
                      if step.cutter == name and not record.can(*step.declares().by)), None)
        if not cutter.shaped and other is not None:
            able = either(kinds_that_can(*other.declares().by))
            yield Fault(Message("{step} is not done with {name}: a {kind} cuts the spaces of "
                                "teeth, on the dividing head", step=other.kind, name=name,
                                kind=cutter.kind),
                        Message("take a cutter of kind {able} for it", able=able),
                        document.place((*at, "kind")))
        elif not cutter.shaped:
            yield Fault(Message("{name}: a {kind} cuts the space it was made for, and none is said",
                                name=name, kind=cutter.kind),
                        Message("add made-for: {typed}; or ground: {bought} of one bought by "
                                "module, or profile: with a trace of it",
                                typed="{form: …, module: …, teeth: …}",
                                bought="{module: …, proportions: wheel}"),
                        document.place((*at, "made-for")))
        elif cutter.made_for is not None and cutter.made_for.wants_mate:
            yield Fault(Message("{name}: the space of a {form} cutter hangs on the mate too",
                                name=name, form=cutter.made_for.wants_mate),
                        Message("add mate: to made-for"), document.place((*at, "made-for", "mate")))
    if record.threads and cutter.pitch is None:
        yield Fault(Message("{name}: a {kind} is made for one pitch, and none is said", name=name,
                            kind=cutter.kind), Message("add pitch:"),
                    document.place((*at, "pitch")))


def _rack(job: Job, document: Document) -> Iterator[Fault]:
    taken: dict[int, str] = {}
    for name, cutter in job.cutters.items():
        if cutter.number is None:
            continue
        if cutter.number in taken:
            yield Fault(Message("{name} has the number of {other}, {number}", name=name,
                                other=taken[cutter.number], number=cutter.number),
                        Message("give each cutter a number of its own, or none"),
                        document.place(("cutters", name, "number")))
        taken.setdefault(cutter.number, name)


def _names(job: Job, document: Document) -> Iterator[Fault]:
    seen: set[str] = set()
    for number, setup in enumerate(job.setups):
        if setup.name in seen:
            yield Fault(Message("two setups are called {name}", name=setup.name),
                        Message("their files would overwrite each other: give them different "
                                "names"),
                        document.place(("setups", number, "name")))
        seen.add(setup.name)


def _stock(setup: FlatSetup, at: DataPath, document: Document) -> Iterator[Fault]:
    stock = setup.stock
    given = [word for word in ("sheet", "bar", "disc") if getattr(stock, word) is not None]
    if not given and stock.left_by is None:
        yield Fault(Message("the stock has no size"),
                    Message("add sheet: [length, width], or bar: width and length:, or disc: "
                            "diameter"), document.place((*at, "stock")))
    if len(given) > 1:
        yield Fault(Message("the stock is both a {one} and a {other}", one=given[0],
                            other=given[1]), Message("leave one of them"),
                    document.place((*at, "stock", given[1]), key=True))
    if stock.bar is not None and stock.length is None:
        yield Fault(Message("the bar has no length"),
                    Message("add length: what is used of it, from the stop"),
                    document.place((*at, "stock", "bar")))
    if stock.length is not None and stock.bar is None:
        yield Fault(Message("length is for bars only"), Message("a sheet has its length in sheet:"),
                    document.place((*at, "stock", "length"), key=True))
    if setup.repeat is not None and setup.repeat.first is not None and stock.disc is not None:
        yield Fault(Message("a disc has no corner to count the first piece from"),
                    Message("leave first: out: the pieces lie about its middle"),
                    document.place((*at, "repeat", "first")))


def _heights(setup: Setup, at: DataPath, document: Document) -> Iterator[Fault]:
    """Where rapid moves end and travel is: clear of metal by more than zeros are wrong by."""
    clearance, travel = setup.clearance, setup.safe_height
    if clearance < LEAST_CLEARANCE - 1e-9:
        yield Fault(Message("a clearance of {clearance:g} mm is less than a zero may be wrong and "
                            "a cutter run out by: a rapid move could end in metal",
                            clearance=clearance),
                    Message("write clearance: {least_clearance:g} or more; 0.5 is usual",
                            least_clearance=LEAST_CLEARANCE), document.place((*at, "clearance")))
    # The word that was written is the one at fault; the other stands at its usual size.
    word = "safe-height" if "safe_height" in setup.model_fields_set else "clearance"
    if travel <= clearance:
        yield Fault(Message("safe height {travel:g} mm is not above the clearance, {clearance:g} "
                            "mm", travel=travel, clearance=clearance),
                    Message("write safe-height: {least:g} or more", least=clearance + 1),
                    document.place((*at, word)))
    elif travel < clearance + LEAST_ABOVE - 1e-9:
        yield Fault(Message("safe height {travel:g} mm is hardly above the clearance, "
                            "{clearance:g} mm", travel=travel, clearance=clearance),
                    Message("write safe-height: {least:g} or more", least=clearance + LEAST_ABOVE),
                    document.place((*at, word)))
    elif travel > MOST_HEIGHT + 1e-9:
        yield Fault(Message("travel {travel:g} mm above the stock is higher than any bench "
                            "machine reaches", travel=travel),
                    Message("write safe-height: {most_height:g} or less; 5 is usual",
                            most_height=MOST_HEIGHT), document.place((*at, word)))


def _clamps(
    setup: Setup, holding: Holding, at: DataPath, document: Document
) -> Iterator[Fault]:
    """Clamps that are none, and those that the cutter would travel into."""
    clearance, travel = setup.clearance, setup.safe_height
    for n, (x0, y0, x1, y1, height) in enumerate(holding.clamps):
        place = document.place((*at, "holding", "clamps", n))
        if x0 == x1 or y0 == y1:
            yield Fault(Message("the clamp has no width"),
                        Message("write x from, y from, x to, y to, height"), place)
        if height < 0:
            yield Fault(Message("the clamp ends below the top of the stock"),
                        Message("its height counts upward from there"), place)
        wanted = height + clearance
        # Travel no higher than the clearance is told of itself.
        if wanted > travel + ROUNDING and travel >= clearance + LEAST_ABOVE - 1e-9:
            yield Fault(Message("the clamp is {height:g} mm high and travel is at {travel:g} mm",
                                height=height, travel=travel),
                        Message("write safe-height: {least} or more: the clamp and the clearance",
                                least=no_less(wanted)) if wanted <= MOST_HEIGHT
                        else Message("take a lower clamp: travel is at most {most_height:g} mm "
                                     "above the stock", most_height=MOST_HEIGHT), place)


def _setup(job: Job, number: int, setup: Setup, document: Document) -> Iterator[Fault]:
    at: DataPath = ("setups", number)
    given = setup.given
    if not given:
        yield Fault(*setup.not_one, document.place(at))
    if len(given) > 1:
        yield Fault(*setup.not_one, document.place((*at, given[1].word), key=True))
    for work in given:
        match work:
            case HeadSetup() | RoundSetup():
                yield from _only(setup, at, document, Message("flat work"), "repeat", "zero",
                                 "pieces_at")
            case FlatSetup():
                yield from _stock(work, at, document)
                if work.pieces_at and work.repeat is not None:
                    yield Fault(Message("the pieces have their places by repeat and by pieces-at"),
                                Message("say one of them"),
                                document.place((*at, "pieces-at"), key=True))
                elif work.pieces_at and (work.zero.dowel or work.zero.indicated):
                    yield Fault(Message("on a dowel lies one piece, where the dowel has it"),
                                Message("leave pieces-at out"),
                                document.place((*at, "pieces-at"), key=True))
    yield from _heights(setup, at, document)
    holding = setup.holding
    if holding is not None:
        if holding.carrier_thickness and holding.cut_into > holding.carrier_thickness:
            yield Fault(Message("cutters may go {cut_into:g} mm into a carrier "
                                "{carrier_thickness:g} mm thick", cut_into=holding.cut_into,
                                carrier_thickness=holding.carrier_thickness),
                        Message("they would come out below: write cut-into: "
                                "{carrier_thickness:g} or less",
                                carrier_thickness=holding.carrier_thickness),
                        document.place((*at, "holding", "cut-into")))
        yield from _clamps(setup, holding, at, document)
    written = document.get((*at, "steps"))
    whole = isinstance(written, tuple) and len(written) == len(setup.steps)
    for n, step in enumerate(setup.steps if whole else ()):
        if step.cutter not in job.cutters:
            word = (*at, "steps", n, step.kind, "cutter")
            yield Fault(Message("no cutter is called {cutter}", cutter=step.cutter),
                        did_you_mean(step.cutter, job.cutters,
                                     Message("the job's cutters: {cutters}",
                                             cutters=tuple(job.cutters))),
                        document.place(word))
