"""Whether a plate's two sides come together: turning over, zero on a dowel, thickness, all reached.

Each check looks at one thing and gives faults with their places in the job file.
"""

from __future__ import annotations

from collections.abc import Iterator

from camgen.faults import Fault, Refused, did_you_mean, nearest
from camgen.job.checks.thin_floors import thin_floor_faults
from camgen.job.file import JobFile
from camgen.job.models import FlatSetup
from camgen.job.order.deeds import Deed, at_hole, deeds_of, elsewhere, features_of_job
from camgen.job.order.faces import (
    cuts_free,
    dowels_of,
    holes_called,
    left_by,
    thickness_after,
)
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
from camgen.part.features import Cone, Feature, Hole, Recess
from camgen.part.plates.plate import Plate
from camgen.part.plates.round_features import round_holes_of
from camgen.shop.cutters import (
    cuts_over,
    cutting_length,
    is_relieved,
    reach_of,
    record_of,
    stands_out,
)
from camgen.tolerances import LEAST_INCREMENT
from camgen.values import dataclass
from camgen.yamlfile.advice import listing

__all__ = ["two_sides_faults"]



@dataclass(frozen=True)
class _Work:
    """What the checks look at: the plate, all it has, and the steps in order."""

    job_file: JobFile
    plate: Plate
    deeds: tuple[Deed, ...]
    features: tuple[Feature, ...]

    def hole(self, name: str) -> Hole | None:
        """The round hole of a name of its own."""
        return next((one for one in self.features if isinstance(one, Hole) and one.name == name),
                    None)

    def makes(self, deed: Deed, name: str) -> bool:
        """Whether a step makes a hole, to whatever size."""
        hole = self.hole(name)
        return hole is not None and deed.flat and deed.makes(hole)


def two_sides_faults(job_file: JobFile) -> list[Fault]:
    """Every fault of a job's faces, dowels and thickness; none of wheels, which have no faces."""
    job = job_file.job
    plate = job.part
    if not isinstance(plate, Plate):
        return list(_plates_only(job_file))
    try:
        tuple(round_holes_of(plate, job.material))
    except Refused:
        return []  # told where the plate itself is looked at
    faults: list[Fault] = []
    work = _Work(job_file, plate, deeds_of(job), features_of_job(job))
    flat = [(number, setup) for number, words in enumerate(job.setups) for setup in words.given
            if isinstance(setup, FlatSetup)]
    for number, setup in flat:
        faults += _turning(job_file, number, setup)
        faults += _zero(work, number, setup)
        faults += _left(job_file, number, setup)
        faults += _thickness(work, number, setup)
        faults += _faced_late(work, number, setup)
        faults += _reach(work, number, setup)
    faults += _reached(work)
    faults += thin_floor_faults(job_file, plate)
    return faults


def _plates_only(job_file: JobFile) -> Iterator[Fault]:
    for number, setup in enumerate(job_file.job.setups):
        for said, *at in (
            (setup.face != "upper", "face"),
            (setup.turned_over is not None, "turned-over"),
            (setup.zero.dowel is not None, "zero", "dowel"),
            (any(isinstance(one, FlatSetup) and one.stock.left_by for one in setup.given),
             "stock", "left-by"),
        ):
            if said:
                yield Fault(Message("{word} is for plates only", word=at[-1]),
                            Message("leave it out"),
                            job_file.place("setups", number, *at, key=True))


def _turning(job_file: JobFile, number: int, setup: FlatSetup) -> Iterator[Fault]:
    if setup.face == "under" and setup.turned_over is None:
        yield Fault(Message("nothing says how the piece was turned over for setup {name}",
                            name=setup.name),
                    Message("add turned-over: about X, or about Y: the axis it is turned about"),
                    job_file.place("setups", number, "face"))
    if setup.face == "upper" and setup.turned_over is not None:
        yield Fault(Message("setup {name} has the upper face up, as the plate is drawn",
                            name=setup.name),
                    Message("leave turned-over out, or write face: under"),
                    job_file.place("setups", number, "turned-over", key=True))


# --- zero -----------------------------------------------------------------------------------------


def _zero(work: _Work, number: int, setup: FlatSetup) -> Iterator[Fault]:
    """A second side without a dowel; dowels that are not there, or that would be cut into."""
    job_file = work.job_file
    job, zero = job_file.job, setup.zero
    at: tuple[str | int, ...] = ("setups", number, "zero")
    if zero.dowel is None:
        if zero.second is not None:
            yield Fault(Message("a second dowel and no first"),
                        Message("add dowel: with the hole that is the zero"),
                        job_file.place(*at, "second", key=True))
        first = job.flat[0]
        free = setup.stock.left_by is not None and left_by(job, setup).piece
        if setup.face != first.face or free:
            could = _could_be_dowels(work, number)
            yield Fault(Message("setup {name} has its zero on an edge: its features would not "
                                "meet those made before", name=setup.name)
                        if setup.face != first.face
                        else Message("setup {name} has its zero on an edge of a piece that was "
                                     "cut free", name=setup.name),
                        Message("write zero: {typed}: a hole made before, with a dowel in it",
                                typed=f"{{dowel: {could or 'NAME'}}}"), job_file.place(*at))
        return
    dowels = dowels_of(job, setup)
    implied = dowels[1].name if len(dowels) > 1 and zero.second is None else zero.second
    for word, name in (("dowel", zero.dowel), ("second", implied)):
        if name is not None:
            yield from _dowel_named(work, number, setup, word, name)
    for word in ("x", "y"):
        if word in zero.model_fields_set:
            yield Fault(Message("{axis} is zero on an edge and on a hole", axis=word.upper()),
                        Message("leave one of them"), job_file.place(*at, word, key=True))
    if _pieces(setup) > 1:
        yield Fault(Message("several pieces from one stock have their zero on the dowel of one"),
                    Message("cut the pieces out first and do them one by one; or use a fixture, "
                            "with dowels at each station"),
                    job_file.place("setups", number, "repeat", key=True))
    if len(dowels) == 1:
        yield Fault(Message("a dowel in {name} alone does not keep the piece from turning",
                            name=dowels[0].name),
                    Message("add second: with another hole that has a dowel in it"),
                    job_file.place(*at, "dowel"))
    for deed in work.deeds:
        for dowel in dowels if deed.number == number else ():
            hole = work.hole(dowel.name)
            if hole is not None and at_hole(deed, hole, work.features):
                yield Fault(Message("{kind} would cut into the dowel that stands in {name}",
                                    kind=deed.words.kind, name=dowel.name),
                            Message("name the step's holes without it; make it in an earlier "
                                    "setup"),
                            job_file.place(*deed.at))


def _dowel_named(
    work: _Work, number: int, setup: FlatSetup, word: str, name: str
) -> Iterator[Fault]:
    """One hole that a dowel shall stand in."""
    job, place = work.job_file.job, work.job_file.place("setups", number, "zero", word)
    found = holes_called(job, name)
    if not found:
        known = list(dict.fromkeys(one.name for one in round_holes_of(work.plate, job.material)))
        yield Fault(Message("the plate has no hole called {name}", name=name),
                    did_you_mean(name, known, Message("its holes: {known}", known=listing(known))),
                    place)
        return
    if len(found) > 1:
        if word == "dowel":
            yield Fault(Message("{count} holes are called {name}", count=len(found), name=name),
                        Message("say which: {names}",
                                names=listing([one.name for one in found[:6]])), place)
        return
    hole = found[0]
    if hole.depth is not None and hole.face == setup.face:
        yield Fault(Message("{name} is no hole for a dowel: it does not come through to the "
                            "carrier", name=hole.name), Message("take a hole right through"), place)
    makers = [deed for deed in work.deeds if work.makes(deed, hole.name)]
    if not any(deed.number < number for deed in makers):
        later = next((deed.setup.name for deed in makers), None)
        yield Fault(Message("no setup before {name} makes {hole}, where its zero shall be",
                            name=setup.name, hole=hole.name) if word == "dowel"
                    else Message("no setup before {name} makes {hole}, where a dowel shall "
                                 "stand",
                                 name=setup.name, hole=hole.name),
                    Message("make it first: setup {later} comes too late", later=later)
                    if later
                    else Message("make it in an earlier setup"), place)


def _could_be_dowels(work: _Work, number: int) -> str | None:
    """The first of several equal holes right through that setups before make."""
    through = [one for one in work.features if isinstance(one, Hole) and one.depth is None]
    return next(
        (one.name for one in through
         if sum(other.group == one.group for other in through) > 1
         and any(work.makes(deed, one.name) for deed in work.deeds if deed.number < number)), None)


# --- stock ----------------------------------------------------------------------------------------


def _left(job_file: JobFile, number: int, setup: FlatSetup) -> Iterator[Fault]:
    """Stock that an earlier setup shall have left, and what holds a piece that was cut free."""
    job, stock = job_file.job, setup.stock
    at: tuple[str | int, ...] = ("setups", number, "stock")
    last = next((one for said in reversed(job.setups[:number]) for one in said.given
                 if isinstance(one, FlatSetup)), None)
    if stock.left_by is None:
        if last is not None:
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
    if _pieces(before) > 1 and not free:
        yield Fault(Message("setup {name} leaves several pieces in one stock", name=before.name),
                    Message("cut them out there, without tabs or skin, and turn over one at a "
                            "time"),
                    place)
    if free and setup.holding is None:
        yield Fault(Message("setup {other} left the piece cut free, and nothing holds it in setup "
                            "{name}", other=before.name if cuts_free(before) else stock.left_by,
                            name=setup.name),
                    Message("say how it is held: holding: {typed}",
                            typed="{by: shellac on a brass carrier, …}"), job_file.place(*at))


def _pieces(setup: FlatSetup) -> int:
    """How many pieces a setup has in one stock."""
    return setup.repeat.columns * setup.repeat.rows if setup.repeat is not None else 1


def _thickness(work: _Work, number: int, setup: FlatSetup) -> Iterator[Fault]:
    """Stock thinner than the plate; a plate that is not brought to thickness in the end."""
    job_file = work.job_file
    job, stock = job_file.job, setup.stock
    wanted = work.plate.thickness
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


def _faced_late(work: _Work, number: int, setup: FlatSetup) -> Iterator[Fault]:
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


def _reach(work: _Work, number: int, setup: FlatSetup) -> Iterator[Fault]:
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


def _deepest(work: _Work, whole: float, deed: Deed) -> float:
    """The deepest that a step cuts beside metal that stands ``whole`` mm high, below the face."""
    if deed.says.makes_a(MakesOutline, MakesOpenings, MakesCrossing):
        held = deed.says.held_by
        return whole - (held.thickness if isinstance(held, LeavesSkin) else 0.0)
    return max((whole if one.depth is None else one.depth for one in work.features
                if isinstance(one, Hole | Recess) and deed.makes(one)), default=0.0)


# --- all reached ----------------------------------------------------------------------------------


def _reached(work: _Work) -> Iterator[Fault]:
    """Features on a face that no setup has up, or that only setups with the other face up make."""
    job_file, job = work.job_file, work.job_file.job
    up = {setup.face for setup in job.flat}
    told: set[tuple[str, ...]] = set()
    for one in work.features:
        if not isinstance(one, Hole | Cone | Recess) or elsewhere(job, one):
            continue
        if isinstance(one, Hole) and one.depth is None:
            continue
        at, called = one.at[1:3], one.group or one.name
        if (*at, called) in told:
            continue
        place = job_file.place("plate", *at, "face")
        if one.face not in up:
            told.add((*at, called))
            yield Fault(Message("{word} is on {face}, and no setup has that face up", word=at[-1],
                                face=face_called(one.face)),
                        Message("add a setup with face: {face}, turned-over: about Y and zero: "
                                "{typed}", face=one.face, typed="{dowel: NAME}")
                        if one.face == "under" else
                        Message("add a setup with face: {face}, zero: {typed}", face=one.face,
                                typed="{dowel: NAME}"), place)
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
