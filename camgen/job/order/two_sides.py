"""Whether a part's two sides come together: turning over, what was left, thickness, all reached.

Each check looks at one thing and gives faults with their places in the job file.
"""

from __future__ import annotations

from collections.abc import Iterator

from camgen.faults import Fault, Refused, nearest
from camgen.job.checks.thin_floors import thin_floor_faults
from camgen.job.file import JobFile
from camgen.job.models import FlatSetup, FrameZero
from camgen.job.order.deeds import Deed, deeds_of, elsewhere, features_of_job
from camgen.job.order.faces import (
    cuts_free,
    left_by,
    thickness_after,
)
from camgen.job.order.zero_on_hole import Sides, pieces_of, zero_faults
from camgen.messages import Message
from camgen.part.called import face_called
from camgen.part.declaration import (
    LeavesSkin,
    MakesCones,
    MakesCrossing,
    MakesFace,
    MakesHoles,
    MakesOpenings,
    MakesOutline,
    MakesPockets,
)
from camgen.part.features import Cone, Hole, Recess
from camgen.part.parts import features_of
from camgen.part.plates.plate import Plate
from camgen.part.wheels.wheel import Wheel
from camgen.shop.cutters import (
    cuts_over,
    cutting_length,
    is_relieved,
    reach_of,
    record_of,
    stands_out,
)
from camgen.tolerances import LEAST_INCREMENT
from camgen.yamlfile.advice import listing

__all__ = ["two_sides_faults"]


def two_sides_faults(job_file: JobFile) -> list[Fault]:
    """Every fault of a job's faces, dowels and thickness; none of pinions, which have no faces."""
    job = job_file.job
    part = job.part
    if not isinstance(part, Plate | Wheel):
        return list(_no_faces(job_file))
    try:
        features_of(part, job.material)
    except Refused:
        return []  # told where the part itself is looked at
    faults: list[Fault] = []
    work = Sides(job_file, part, deeds_of(job), features_of_job(job))
    flat = [(number, setup) for number, words in enumerate(job.setups) for setup in words.given
            if isinstance(setup, FlatSetup)]
    for number, setup in flat:
        faults += _turning(job_file, number, setup)
        faults += zero_faults(work, number, setup)
        faults += _left(work, number, setup)
        if isinstance(part, Plate):
            faults += _thickness(work, number, setup)
            faults += _faced_late(work, number, setup)
            faults += _reach(work, number, setup)
        else:
            faults += _let_go(work, number, setup)
            faults += _crossed_again(work, number, setup)
    if flat:
        faults += _reached(work)
    if isinstance(part, Plate):
        faults += thin_floor_faults(job_file, part)
    return faults


def _no_faces(job_file: JobFile) -> Iterator[Fault]:
    for number, setup in enumerate(job_file.job.setups):
        for said, *at in (
            (setup.face != "upper", "face"),
            (setup.turned_over is not None, "turned-over"),
            (setup.zero.dowel is not None, "zero", "dowel"),
            (setup.zero.indicated is not None, "zero", "indicated"),
            (any(isinstance(one, FlatSetup) and one.stock.left_by for one in setup.given),
             "stock", "left-by"),
        ):
            if said:
                yield Fault(Message("{word} is for plates and wheels only", word=at[-1]),
                            Message("leave it out"),
                            job_file.place("setups", number, *at, key=True))


def _turning(job_file: JobFile, number: int, setup: FlatSetup) -> Iterator[Fault]:
    if setup.face == "under" and setup.turned_over is None:
        yield Fault(Message("nothing says how the piece was turned over for setup {name}",
                            name=setup.name),
                    Message("add turned-over: about X, or about Y: the axis it is turned about"),
                    job_file.place("setups", number, "face"))
    if setup.face == "upper" and setup.turned_over is not None:
        yield Fault(Message("setup {name} has the upper face up, as the part is drawn",
                            name=setup.name),
                    Message("leave turned-over out, or write face: under"),
                    job_file.place("setups", number, "turned-over", key=True))


# --- stock ----------------------------------------------------------------------------------------


def _left(work: Sides, number: int, setup: FlatSetup) -> Iterator[Fault]:
    """Stock that an earlier setup shall have left, and what holds a piece that was cut free."""
    job_file = work.job_file
    job, stock = job_file.job, setup.stock
    at: tuple[str | int, ...] = ("setups", number, "stock")
    last = next((one for said in reversed(job.setups[:number]) for one in said.given
                 if isinstance(one, FlatSetup)), None)
    if stock.left_by is None:
        # Of wheels each setup may be of other blanks, as long as none is turned over.
        if last is not None and (isinstance(work.part, Plate) or setup.face != last.face):
            yield Fault(Message("setup {name} has stock of its own: nothing that {other} made is "
                                "on it", name=setup.name, other=last.name),
                        Message("write stock: {typed}; what comes of other stock is a job of its "
                                "own", typed=f"{{left-by: {last.name}, "
                                f"thickness: {thickness_after(job, last):g}}}"),
                        job_file.place(*at))
        return
    place = job_file.place(*at, "left-by")
    earlier = [one for said in job.setups[:number] for one in said.given
               if isinstance(one, FlatSetup)]
    before = next((one for one in earlier if one.name == stock.left_by), None)
    if before is None:
        known = [one.name for one in earlier]
        near = nearest(stock.left_by, known)
        yield Fault(Message("no flat setup before {name} is called {left_by}", name=setup.name,
                            left_by=stock.left_by),
                    Message("did you mean {near}?", near=near) if near
                    else Message("those before: {known}", known=listing(known)) if known
                    else Message("the first setup has stock of its own: sheet:, bar: or disc:"),
                    place)
        return
    if stock.rectangle or stock.disc:
        yield Fault(Message("the stock has a size of its own and is left by an earlier setup"),
                    Message("leave one of them"), place)
    if last is not None and before != last:
        yield Fault(Message("setup {name} had the piece after {other}", name=last.name,
                            other=before.name), Message("write left-by: {name}", name=last.name),
                    place)
        return
    after = thickness_after(job, before)
    if abs(after - stock.thickness) > LEAST_INCREMENT:
        yield Fault(Message("setup {name} leaves {after:g} mm, and the stock is said to be "
                            "{thickness:g} mm thick", name=before.name, after=after,
                            thickness=stock.thickness),
                    Message("write thickness: {after:g}", after=after),
                    job_file.place(*at, "thickness"))
    free = left_by(job, setup).piece
    if pieces_of(before) > 1 and not free and not isinstance(setup.zero, FrameZero):
        yield Fault(Message("setup {name} leaves several pieces in one stock", name=before.name),
                    Message("cut them out there, without tabs or skin, and turn over one at a "
                            "time; or turn them over together with their stock, by a file of its "
                            "own: camgen guide many-at-once"),
                    place)
    if free and setup.holding is None:
        yield Fault(Message("setup {other} left the piece cut free, and nothing holds it in setup "
                            "{name}", other=before.name if cuts_free(before) else stock.left_by,
                            name=setup.name),
                    Message("say how it is held: holding: {typed}",
                            typed="{by: shellac on a brass carrier, …}"), job_file.place(*at))


def _thickness(work: Sides, number: int, setup: FlatSetup) -> Iterator[Fault]:
    """Stock thinner than the plate; a plate that is not brought to thickness in the end."""
    job_file = work.job_file
    job, stock = job_file.job, setup.stock
    wanted = work.part.thickness
    place = job_file.place("setups", number, "stock", "thickness")
    if stock.thickness < wanted - LEAST_INCREMENT:
        yield Fault(Message("the stock is {thickness:g} mm thick and the plate {wanted:g} mm",
                            thickness=stock.thickness, wanted=wanted), Message("thicker stock"),
                    place)
        return
    for n, step in enumerate(setup.steps):
        for made in step.declares().makes:
            if isinstance(made, MakesFace) and made.to is not None and (
                    made.to < wanted - LEAST_INCREMENT):
                yield Fault(Message("faced to {to:g} mm, the stock is thinner than the plate, "
                                    "{wanted:g} mm", to=made.to, wanted=wanted),
                            Message("leave to: out for the plate's own thickness"),
                            job_file.place("setups", number, "steps", n, step.kind, "to"))
    left = thickness_after(job, setup)
    if (setup == job.flat[-1] and left > wanted + LEAST_INCREMENT
            and "thickness" not in job.made_elsewhere):
        yield Fault(Message("the plate is left {left:g} mm thick and shall be {wanted:g} mm",
                            left=left, wanted=wanted),
                    Message("begin with the step - face: {typed}, take thinner stock, or say "
                            "made-elsewhere: [thickness] where it is lapped", typed="{cutter: …}"),
                    place)


def _faced_late(work: Sides, number: int, setup: FlatSetup) -> Iterator[Fault]:
    """A face that is cut down after an earlier setup has cut something to a depth from it."""
    job_file = work.job_file
    facing = next((deed for deed in work.deeds
                   if deed.number == number and deed.says.makes_a(MakesFace)), None)
    if facing is None:
        return
    deep = [one for one in work.features if isinstance(one, Hole) and one.depth is not None
            and one.face == setup.face]
    for deed in work.deeds:
        if deed.number >= number or not deed.flat or deed.face != setup.face:
            continue
        if deed.says.makes_a(MakesPockets, MakesCones) or any(deed.makes(one) for one in deep):
            yield Fault(Message("setup {name} takes metal off {face} after setup {other} cut to "
                                "depths from it", name=setup.name, face=face_called(setup.face),
                                other=deed.setup.name),
                        Message("face it first, in {name}", name=deed.setup.name),
                        job_file.place(*facing.at))
            return


def _reach(work: Sides, number: int, setup: FlatSetup) -> Iterator[Fault]:
    """Cutters whose edges or whose reach are too short for the depth they work at.

    Beside what they cut the face still stands: of all depths, counted from there, the deepest of a
    step counts. What the motion itself comes near is for the proofs.
    """
    whole = thickness_after(work.job_file.job, setup)
    for deed in work.deeds:
        cutter = deed.cutter
        if deed.number != number or cutter is None or not record_of(cutter).whole_width:
            continue
        name, deep = deed.words.cutter, _deepest(work, whole, deed)
        place = work.job_file.place(*deed.at, "cutter")
        if cutting_length(cutter) < deep - 1e-9 and not is_relieved(cutter):
            told, write = cuts_over(cutter)
            yield Fault(Message("{name} {told} and goes {deep:g} mm deep beside standing metal",
                                name=name, told=told, deep=deep),
                        Message("longer flutes, or shank: where it is relieved above them{write}",
                                write=write), place)
        elif reach_of(cutter) <= deep:
            told, write = stands_out(cutter)
            yield Fault(Message("{name} {told} and goes {deep:g} mm deep: the collet would come "
                                "down on the face", name=name, told=told, deep=deep),
                        Message("let it stand out further, or take a longer one{write}",
                                write=write), place)


def _deepest(work: Sides, whole: float, deed: Deed) -> float:
    """The deepest that a step cuts beside metal that stands ``whole`` mm high, below the face."""
    if deed.says.makes_a(MakesOutline, MakesOpenings, MakesCrossing):
        held = deed.says.held_by
        return whole - (held.thickness if isinstance(held, LeavesSkin) else 0.0)
    return max((whole if one.depth is None else one.depth for one in work.features
                if isinstance(one, Hole | Recess) and deed.makes(one)), default=0.0)


def _crossed_again(work: Sides, number: int, setup: FlatSetup) -> Iterator[Fault]:
    """A crossing that goes on in a setup where the wheel lies by its bore, turned as it may be."""
    if setup.zero.dowel is None and setup.zero.indicated is None:
        return
    crossing = [deed for deed in work.deeds if deed.says.makes_a(MakesCrossing)]
    before = next((deed for deed in crossing if deed.number < number), None)
    again = next((deed for deed in crossing if deed.number == number), None)
    if before is not None and again is not None:
        yield Fault(Message("{kind} goes on with openings that setup {name} began, and the wheel "
                            "lies by its bore alone: turned by ever so little, its arms are cut "
                            "into", kind=again.words.kind, name=before.setup.name),
                    Message("cut the openings through in one setup"),
                    work.job_file.place(*again.at))


def _let_go(work: Sides, number: int, setup: FlatSetup) -> Iterator[Fault]:
    """Tabs and skins of a wheel that clearing its other face takes away, and what they hold."""
    down = [one for one in work.features if isinstance(one, Recess) and one.face != setup.face]
    for deed in work.deeds:
        held = deed.says.held_by
        if deed.number != number or held is None:
            continue
        high = held.thickness if isinstance(held, LeavesSkin) else held.height
        for later in work.deeds:
            deep = max((one.depth for one in down if later.makes(one)), default=0.0)
            other = later.setup
            if later.number <= number or deep < high or not isinstance(other, FlatSetup) or (
                    other.holding is not None and other.holding.holds_slugs):
                continue
            yield Fault(Message("what {kind} leaves below is {high:g} mm high, and setup {name} "
                                "takes {deep:g} mm off that face: what it holds comes loose "
                                "there", kind=deed.words.kind, high=high, name=other.name,
                                deep=deep),
                        Message("put {kind} into {name}, after its {other}; or holding: {typed} "
                                "in {name}, where glue or carrier holds loose pieces",
                                kind=deed.words.kind, name=other.name, other=later.words.kind,
                                typed="{holds-slugs: true}"), work.job_file.place(*deed.at))
            break


# --- all reached ----------------------------------------------------------------------------------


def _reached(work: Sides) -> Iterator[Fault]:
    """Features on a face that no setup has up, or that only setups with the other face up make."""
    job_file, job = work.job_file, work.job_file.job
    up = {setup.face for setup in job.flat}
    told: set[tuple[str, ...]] = set()
    typed = "{dowel: NAME}" if isinstance(work.part, Plate) else "{dowel: bore}"
    for one in work.features:
        if not isinstance(one, Hole | Cone | Recess) or elsewhere(job, one):
            continue
        if isinstance(one, Hole) and one.depth is None:
            continue
        at, called = one.at[1:3], one.group or one.name
        if (*at, called) in told:
            continue
        place = (job_file.place("plate", *at, "face") if isinstance(work.part, Plate)
                 else job_file.place(*one.at, key=True))
        if one.face not in up:
            told.add((*at, called))
            yield Fault(Message("{word} is on {face}, and no setup has that face up", word=at[-1],
                                face=face_called(one.face)),
                        Message("add a setup with face: {face}, turned-over: about Y and zero: "
                                "{typed}", face=one.face, typed=typed)
                        if one.face == "under" else
                        Message("add a setup with face: {face}, zero: {typed}", face=one.face,
                                typed=typed), place)
            continue
        here = any(deed.makes(one) for deed in work.deeds if deed.face == one.face)
        there = [deed for deed in work.deeds if deed.flat
                 and deed.face != one.face and _would_make(deed, one)]
        if not here and there:
            told.add((*at, called))
            yield Fault(Message("{called} is on {face}, and is made by no step of a "
                                "setup with that face up", called=called,
                                face=face_called(one.face)),
                        Message("a step with no names makes what is on its own face: add - "
                                "{kind}: {typed} to a setup with face: {face}",
                                kind=there[0].words.kind, typed="{cutter: …}", face=one.face),
                        place)


def _would_make(deed: Deed, one: Hole | Cone | Recess) -> bool:
    """Whether a step that names nothing makes what is like this on its own face."""
    for made in deed.says.makes:
        if isinstance(made, MakesHoles) and isinstance(one, Hole):
            return made.holes.names is None
        if isinstance(made, MakesCones) and isinstance(one, Cone):
            return made.holes.names is None
        if isinstance(made, MakesPockets) and isinstance(one, Recess):
            return made.pockets.names is None
    return False
