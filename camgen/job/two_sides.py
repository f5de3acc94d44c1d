"""Whether a plate's two sides come together: turning over, zero on a dowel, thickness, all reached.

Each check looks at one thing and gives faults with their places in the job file.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from camgen.faults import Fault, Refused, nearest
from camgen.job.faces import (
    FACING,
    cuts_free,
    dowels_of,
    holes_called,
    left_by,
    thickness_after,
)
from camgen.job.file import JobFile
from camgen.job.made_holes import HOLE_STEPS
from camgen.job.meeting import meeting_faults
from camgen.job.models import Job, Setup, StepWords
from camgen.part.features import Cone, Hole, Thread
from camgen.part.plate import Plate
from camgen.part.plate_words import Face
from camgen.part.rounds import round_features, rounds_of
from camgen.yamlfile.advice import listing

__all__ = ["two_sides_faults"]

# Thicknesses that were meant to be the same may differ by this, mm: what a caliper shows.
SAME: Final = 0.001
# Cutters that go in with their whole width.
LONG: Final = ("drill", "end-mill", "ball-end-mill", "bull-end-mill", "reamer")
# Steps that cut something at holes, by the word `holes`.
AT_HOLES: Final = (*HOLE_STEPS, "spot", "countersink", "thread-mill", "tap")


def two_sides_faults(job_file: JobFile) -> list[Fault]:
    """Every fault of a job's faces, dowels and thickness; none of wheels, which have no faces."""
    job = job_file.job
    if job.plate is None:
        return list(_plates_only(job_file))
    try:
        tuple(rounds_of(job.plate, job.material))
    except Refused:
        return []  # told where the plate itself is looked at
    faults: list[Fault] = []
    for number, setup in enumerate(job.setups):
        if setup.stock is None:
            continue
        faults += _turning(job_file, number, setup)
        faults += _zero(job_file, number, setup)
        faults += _left(job_file, number, setup)
        faults += _thickness(job_file, number, setup)
        faults += _faced_late(job_file, number, setup)
        faults += _reach(job_file, number, setup)
    faults += _reached(job_file, job.plate)
    faults += meeting_faults(job_file)
    return faults


def _plates_only(job_file: JobFile) -> Iterator[Fault]:
    for number, setup in enumerate(job_file.job.setups):
        for said, *at in (
            (setup.face != "upper", "face"),
            (setup.turned_over is not None, "turned-over"),
            (setup.zero.dowel is not None, "zero", "dowel"),
            (setup.stock is not None and setup.stock.left_by is not None, "stock", "left-by"),
        ):
            if said:
                yield Fault(f"{at[-1]} is for plates only", "Leave it out.",
                            job_file.place("setups", number, *at, key=True))


def _turning(job_file: JobFile, number: int, setup: Setup) -> Iterator[Fault]:
    if setup.face == "under" and setup.turned_over is None:
        yield Fault(f"nothing says how the piece was turned over for setup {setup.name}",
                    "Add turned-over: about X, or about Y: the axis it is turned about.",
                    job_file.place("setups", number, "face"))
    if setup.face == "upper" and setup.turned_over is not None:
        yield Fault(f"setup {setup.name} has the upper face up, as the plate is drawn",
                    "Leave turned-over out, or write face: under.",
                    job_file.place("setups", number, "turned-over", key=True))


# --- zero -----------------------------------------------------------------------------------------


def _zero(job_file: JobFile, number: int, setup: Setup) -> Iterator[Fault]:
    """A second side without a dowel; dowels that are not there, or that would be cut into."""
    job, zero = job_file.job, setup.zero
    at: tuple[str | int, ...] = ("setups", number, "zero")
    if zero.dowel is None:
        if zero.second is not None:
            yield Fault("a second dowel and no first", "Add dowel: with the hole that is the zero.",
                        job_file.place(*at, "second", key=True))
        first = next(one for one in job.setups if one.stock is not None)
        stock = setup.stock
        assert stock is not None
        free = stock.left_by is not None and left_by(job, setup).piece
        if setup.face != first.face or free:
            could = _could_be_dowels(job, number)
            yield Fault(
                f"setup {setup.name} has its zero on an edge: its features would not meet those "
                f"made before" if setup.face != first.face else
                f"setup {setup.name} has its zero on an edge of a piece that was cut free",
                f"Write zero: {{dowel: {could or 'NAME'}}}: a hole made before, with a dowel in "
                "it.",
                job_file.place(*at))
        return
    dowels = dowels_of(job, setup)
    implied = dowels[1].name if len(dowels) > 1 and zero.second is None else zero.second
    for word, name in (("dowel", zero.dowel), ("second", implied)):
        if name is not None:
            yield from _dowel_named(job_file, number, setup, word, name)
    for word in ("x", "y"):
        if word in zero.model_fields_set:
            yield Fault(f"{word.upper()} is zero on an edge and on a hole", "Leave one of them.",
                        job_file.place(*at, word, key=True))
    if _pieces(setup) > 1:
        yield Fault("several pieces from one stock have their zero on the dowel of one",
                    "Cut the pieces out first and do them one by one; or use a fixture, with "
                    "dowels at each station.", job_file.place("setups", number, "repeat", key=True))
    if len(dowels) == 1:
        yield Fault(f"a dowel in {dowels[0].name} alone does not keep the piece from turning",
                    "Add second: with another hole that has a dowel in it.",
                    job_file.place(*at, "dowel"))
    for n, step in enumerate(setup.steps):
        for dowel in dowels:
            if _works_at(job, setup.face, step, dowel):
                yield Fault(f"{step.kind} would cut into the dowel that stands in {dowel.name}",
                            "Name the step's holes without it; make it in an earlier setup.",
                            job_file.place("setups", number, "steps", n, step.kind))


def _dowel_named(
    job_file: JobFile, number: int, setup: Setup, word: str, name: str
) -> Iterator[Fault]:
    """One hole that a dowel shall stand in."""
    job, place = job_file.job, job_file.place("setups", number, "zero", word)
    found = holes_called(job, name)
    if not found:
        assert job.plate is not None
        known = list(dict.fromkeys(one.name for one in rounds_of(job.plate, job.material)))
        near = nearest(name, known)
        yield Fault(f"the plate has no hole called {name}", f"Did you mean {near}?" if near
                    else f"Its holes: {listing(known)}.", place)
        return
    if len(found) > 1:
        if word == "dowel":
            yield Fault(f"{len(found)} holes are called {name}",
                        f"Say which: {listing([one.name for one in found[:6]])}.", place)
        return
    hole = found[0]
    if hole.depth is not None and hole.face == setup.face:
        yield Fault(f"{hole.name} is no hole for a dowel: it does not come through to the carrier",
                    "Take a hole right through.", place)
    if not any(_makes(one, step, hole) for one in job.setups[:number] for step in one.steps):
        later = next((one.name for one in job.setups[number:]
                      for step in one.steps if _makes(one, step, hole)), None)
        yield Fault(f"no setup before {setup.name} makes {hole.name}, where its zero shall be"
                    if word == "dowel" else
                    f"no setup before {setup.name} makes {hole.name}, where a dowel shall stand",
                    f"Make it first: setup {later} comes too late." if later else
                    "Make it in an earlier setup.", place)


def _could_be_dowels(job: Job, number: int) -> str | None:
    """The first of several equal holes right through that setups before make."""
    assert job.plate is not None
    through = [one for one in rounds_of(job.plate, job.material) if one.depth is None]
    return next(
        (one.name for one in through
         if sum(other.group == one.group for other in through) > 1
         and any(_makes(setup, step, one) for setup in job.setups[:number]
                 for step in setup.steps)), None)


def _makes(setup: Setup, step: StepWords, hole: Hole) -> bool:
    """Whether a step makes a hole, to whatever size."""
    if setup.stock is None or step.kind not in HOLE_STEPS:
        return False
    if hole.depth is not None and hole.face != setup.face:
        return False
    names: tuple[str, ...] | None = getattr(step, "holes", None)
    return names is None or hole.name in names or hole.group in names


def _works_at(job: Job, face: Face, step: StepWords, hole: Hole) -> bool:
    """Whether a step cuts at a hole from the face that looks up."""
    if step.kind not in AT_HOLES or (hole.depth is not None and hole.face != face):
        return False
    names: tuple[str, ...] | None = getattr(step, "holes", None)
    if names is not None:
        return hole.name in names or hole.group in names
    assert job.plate is not None
    there = [one for one in round_features(job.plate, job.material) if one.name == hole.name]
    if step.kind == "countersink":
        return any(isinstance(one, Cone) and one.face == face for one in there)
    return step.kind not in ("thread-mill", "tap") or any(isinstance(one, Thread) for one in there)


# --- stock ----------------------------------------------------------------------------------------


def _left(job_file: JobFile, number: int, setup: Setup) -> Iterator[Fault]:
    """Stock that an earlier setup shall have left, and what holds a piece that was cut free."""
    job, stock = job_file.job, setup.stock
    assert stock is not None
    at: tuple[str | int, ...] = ("setups", number, "stock")
    last = next((one for one in reversed(job.setups[:number]) if one.stock is not None), None)
    if stock.left_by is None:
        if last is not None:
            yield Fault(f"setup {setup.name} has stock of its own: nothing that {last.name} made "
                        "is on it",
                        f"Write stock: {{left-by: {last.name}, thickness: "
                        f"{thickness_after(job, last):g}}}; what comes of other stock is a job of "
                        "its own.", job_file.place(*at))
        return
    place = job_file.place(*at, "left-by")
    before = next((one for one in job.setups[:number] if one.name == stock.left_by), None)
    if before is None or before.stock is None:
        known = [one.name for one in job.setups[:number] if one.stock is not None]
        near = nearest(stock.left_by, known)
        yield Fault(f"no flat setup before {setup.name} is called {stock.left_by}",
                    f"Did you mean {near}?" if near else
                    f"Those before: {listing(known)}." if known else
                    "The first setup has stock of its own: sheet:, bar: or disc:.", place)
        return
    if stock.rectangle or stock.disc:
        yield Fault("the stock has a size of its own and is left by an earlier setup",
                    "Leave one of them.", place)
    if last is not None and before is not last:
        yield Fault(f"setup {last.name} had the piece after {before.name}",
                    f"Write left-by: {last.name}.", place)
        return
    after = thickness_after(job, before)
    if abs(after - stock.thickness) > SAME:
        yield Fault(f"setup {before.name} leaves {after:g} mm, and the stock is said to be "
                    f"{stock.thickness:g} mm thick", f"Write thickness: {after:g}.",
                    job_file.place(*at, "thickness"))
    free = left_by(job, setup).piece
    if _pieces(before) > 1 and not free:
        yield Fault(f"setup {before.name} leaves several pieces in one stock",
                    "Cut them out there, without tabs or skin, and turn over one at a time.", place)
    if free and setup.holding is None:
        yield Fault(f"setup {before.name if cuts_free(before) else stock.left_by} left the piece "
                    f"cut free, and nothing holds it in setup {setup.name}",
                    "Say how it is held: holding: {by: shellac on a brass carrier, …}.",
                    job_file.place(*at))


def _pieces(setup: Setup) -> int:
    """How many pieces a setup has in one stock."""
    return setup.repeat.columns * setup.repeat.rows if setup.repeat is not None else 1


def _thickness(job_file: JobFile, number: int, setup: Setup) -> Iterator[Fault]:
    """Stock thinner than the plate; a plate that is not brought to thickness in the end."""
    job, stock = job_file.job, setup.stock
    assert stock is not None
    assert job.plate is not None
    wanted = job.plate.thickness
    place = job_file.place("setups", number, "stock", "thickness")
    if stock.thickness < wanted - SAME:
        yield Fault(f"the stock is {stock.thickness:g} mm thick and the plate {wanted:g} mm",
                    "Thicker stock.", place)
        return
    for n, step in enumerate(setup.steps):
        to = getattr(step, "to", None) if step.kind == FACING else None
        if to is not None and to < wanted - SAME:
            yield Fault(f"faced to {to:g} mm, the stock is thinner than the plate, {wanted:g} mm",
                        "Leave to: out for the plate's own thickness.",
                        job_file.place("setups", number, "steps", n, FACING, "to"))
    last = max(n for n, one in enumerate(job.setups) if one.stock is not None)
    left = thickness_after(job, setup)
    if number == last and left > wanted + SAME and "thickness" not in job.made_elsewhere:
        yield Fault(f"the plate is left {left:g} mm thick and shall be {wanted:g} mm",
                    "Begin with the step - face: {cutter: …}, take thinner stock, or say "
                    "made-elsewhere: [thickness] where it is lapped.", place)


def _faced_late(job_file: JobFile, number: int, setup: Setup) -> Iterator[Fault]:
    """A face that is cut down after an earlier setup has cut something to a depth from it."""
    job = job_file.job
    facing = [n for n, step in enumerate(setup.steps) if step.kind == FACING]
    if not facing:
        return
    assert job.plate is not None
    deep = [one for one in rounds_of(job.plate, job.material)
            if one.depth is not None and one.face == setup.face]
    for before in job.setups[:number]:
        if before.stock is None or before.face != setup.face:
            continue
        if any(step.kind in ("pocket", "countersink")
               or any(_makes(before, step, hole) for hole in deep) for step in before.steps):
            yield Fault(f"setup {setup.name} takes metal off the {setup.face} face after setup "
                        f"{before.name} cut to depths from it", f"Face it first, in {before.name}.",
                        job_file.place("setups", number, "steps", facing[0], FACING))
            return


def _reach(job_file: JobFile, number: int, setup: Setup) -> Iterator[Fault]:
    """Cutters whose edges or whose reach are too short for the depth they work at.

    Beside what they cut the face still stands: of all depths, counted from there, the deepest of a
    step counts. What the motion itself comes near is for the proofs.
    """
    job = job_file.job
    for n, step in enumerate(setup.steps):
        cutter = job.cutters.get(step.cutter)
        if cutter is None or cutter.kind not in LONG:
            continue
        deep = _deepest(job, setup, step)
        place = job_file.place("setups", number, "steps", n, step.kind, "cutter")
        narrow = cutter.shank is not None and cutter.shank < cutter.diameter - 1e-9
        if cutter.flute_length is not None and cutter.flute_length < deep - 1e-9 and not narrow:
            yield Fault(f"{step.cutter} cuts over {cutter.flute_length:g} mm of its length and "
                        f"goes {deep:g} mm deep beside standing metal",
                        "Longer flutes, or shank: where it is relieved above them.", place)
        elif cutter.reach is not None and cutter.reach <= deep:
            yield Fault(f"{step.cutter} stands out {cutter.reach:g} mm and goes {deep:g} mm deep: "
                        "the collet would come down on the face",
                        "Let it stand out further, or take a longer one.", place)


def _deepest(job: Job, setup: Setup, step: StepWords) -> float:
    """The deepest that a step cuts beside metal that stands, mm below the face."""
    assert job.plate is not None
    whole = thickness_after(job, setup)
    if step.kind in ("outline", "cut-out"):
        return whole - (getattr(step, "skin", None) or 0.0)
    if step.kind == "pocket":
        named: tuple[str, ...] | None = getattr(step, "pockets", None)
        floors = [(name, one.face, one.depth) for name, one in job.plate.pockets.items()]
        floors += [(name, one.face, one.depth or 0.0) for name, one in job.plate.slots.items()]
        return max((depth for name, face, depth in floors
                    if face == setup.face and (named is None or name in named)), default=0.0)
    if step.kind not in HOLE_STEPS:
        return 0.0
    return max((whole if one.depth is None else one.depth
                for one in rounds_of(job.plate, job.material) if _makes(setup, step, one)),
               default=0.0)


# --- all reached ----------------------------------------------------------------------------------


def _reached(job_file: JobFile, plate: Plate) -> Iterator[Fault]:
    """Features on a face that no setup has up, or that only setups with the other face up make."""
    job = job_file.job
    flat = [setup for setup in job.setups if setup.stock is not None]
    up = {setup.face for setup in flat}
    for word, name, face, kinds, called in _on_a_face(plate, job.material):
        if word in job.made_elsewhere:
            continue
        place = job_file.place("plate", word, name, "face")
        if face not in up:
            turn = "turned-over: about Y and " if face == "under" else ""
            yield Fault(f"{name} is on the {face} face, and no setup has that face up",
                        f"Add a setup with face: {face}, {turn}zero: {{dowel: NAME}}.", place)
            continue
        here = [step for setup in flat if setup.face == face for step in setup.steps]
        there = [step for setup in flat if setup.face != face for step in setup.steps]
        if not any(_asks(step, kinds, called) for step in here) and any(
            _asks(step, kinds, None) for step in there
        ):
            yield Fault(f"{called} is on the {face} face, and is made by no step of a setup with "
                        "that face up", f"A step with no names makes what is on its own face: add "
                        f"- {kinds[0]}: {{cutter: …}} to a setup with face: {face}.", place)


def _asks(step: StepWords, kinds: tuple[str, ...], name: str | None) -> bool:
    """Whether a step of these kinds makes ``name``, or all there is when ``name`` is None."""
    if step.kind not in kinds:
        return False
    names: tuple[str, ...] | None = getattr(step, "pockets" if "pocket" in kinds else "holes", None)
    if names is None:
        return True
    # One of several is named with its number.
    return name is not None and any(one == name or one.startswith(f"{name}-") for one in names)


def _on_a_face(
    plate: Plate, material: str
) -> Iterator[tuple[str, str, Face, tuple[str, ...], str]]:
    """What must be cut from one face: its words, its face, the steps that make it, its name there.
    """
    seen = set()
    for one in round_features(plate, material):
        _, word, name, *_ = one.at
        if isinstance(one, Hole) and one.depth is not None and one.group not in seen:
            seen.add(one.group)
            yield word, name, one.face, ("bore", *HOLE_STEPS), one.group
        elif isinstance(one, Cone) and one.hole.depth is None and one.group not in seen:
            seen.add(one.group)
            yield word, name, one.face, ("countersink",), one.group
    for name, pocket in plate.pockets.items():
        yield "pockets", name, pocket.face, ("pocket",), name
    for name, slot in plate.slots.items():
        if slot.depth is not None:
            yield "slots", name, slot.face, ("pocket",), name

