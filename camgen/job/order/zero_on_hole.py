"""Where a setup has its zero: of one that lies on its other face on a hole, a wheel on its bore.

Each check looks at one thing and gives faults with their places in the job file.
"""

from __future__ import annotations

from collections.abc import Iterator

from camgen.faults import Fault, did_you_mean
from camgen.job.file import JobFile
from camgen.job.models import FlatSetup, FrameZero
from camgen.job.order.deeds import Deed, at_hole, elsewhere
from camgen.job.order.faces import dowels_of, holes_called, left_by
from camgen.messages import Message
from camgen.part.features import Feature, Hole, Recess
from camgen.part.plates.plate import Plate
from camgen.part.wheels.wheel import Wheel
from camgen.values import dataclass
from camgen.yamlfile.advice import listing

__all__ = ["Sides", "pieces_of", "zero_faults"]


@dataclass(frozen=True)
class Sides:
    """What the checks look at: the part, all it has, and the steps in order."""

    job_file: JobFile
    part: Plate | Wheel
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


def pieces_of(setup: FlatSetup) -> int:
    """How many pieces a setup has in one stock."""
    return setup.pieces


def zero_faults(work: Sides, number: int, setup: FlatSetup) -> Iterator[Fault]:
    """A second side without a dowel; dowels that are not there, or that would be cut into."""
    zero, at = setup.zero, ("setups", number, "zero")
    if isinstance(zero, FrameZero):
        return
    if zero.dowel is None and zero.indicated is None:
        yield from _on_edge(work, number, setup)
        return
    for word in ("x", "y"):
        if word in zero.model_fields_set:
            yield Fault(Message("{axis} is zero on an edge and on a hole", axis=word.upper()),
                        Message("leave one of them"), work.job_file.place(*at, word, key=True))
    if pieces_of(setup) > 1:
        yield Fault(Message("several pieces from one stock have their zero on the dowel of one")
                    if zero.dowel is not None else
                    Message("several pieces from one stock have their zero in the hole of one"),
                    Message("cut the pieces out first and do them one by one; or use a fixture, "
                            "with dowels at each station; or turn them over together with their "
                            "stock, by a file of its own: camgen guide many-at-once"),
                    work.job_file.place("setups", number, "repeat", key=True))
    if isinstance(work.part, Wheel):
        yield from _on_hub(work, number, setup)
    if zero.indicated is not None:
        yield from _indicated(work, number, setup, zero.indicated)
    if zero.dowel is not None:
        yield from _on_dowels(work, number, setup, zero.dowel)


def _on_edge(work: Sides, number: int, setup: FlatSetup) -> Iterator[Fault]:
    """A zero on an edge of the stock where that is not where earlier setups had it."""
    job_file, zero = work.job_file, setup.zero
    job, at = job_file.job, ("setups", number, "zero")
    if zero.second is not None:
        yield Fault(Message("a second dowel and no first"),
                    Message("add dowel: with the hole that is the zero"),
                    job_file.place(*at, "second", key=True))
    first = job.flat[0]
    free = setup.stock.left_by is not None and left_by(job, setup).piece
    if setup.face != first.face or free:
        could = ("bore" if isinstance(work.part, Wheel) and work.part.bore
                 else _could_be_dowels(work, number))
        yield Fault(Message("setup {name} has its zero on an edge: its features would not "
                            "meet those made before", name=setup.name)
                    if setup.face != first.face
                    else Message("setup {name} has its zero on an edge of a piece that was "
                                 "cut free", name=setup.name),
                    Message("write zero: {typed}: a hole made before, with a dowel in it",
                            typed=f"{{dowel: {could or 'NAME'}}}"), job_file.place(*at))


def _on_dowels(work: Sides, number: int, setup: FlatSetup, dowel: str) -> Iterator[Fault]:
    """Dowels that are not there, that do not keep the piece, or that would be cut into."""
    job_file, zero = work.job_file, setup.zero
    job, at = job_file.job, ("setups", number, "zero")
    dowels = dowels_of(job, setup)
    implied = dowels[1].name if len(dowels) > 1 and zero.second is None else zero.second
    for word, name in (("dowel", dowel), ("second", implied)):
        if name is not None:
            yield from _dowel_named(work, number, setup, word, name)
    if len(dowels) == 1 and isinstance(work.part, Plate):
        yield Fault(Message("a dowel in {name} alone does not keep the piece from turning",
                            name=dowels[0].name),
                    Message("add second: with another hole that has a dowel in it"),
                    job_file.place(*at, "dowel"))
    for deed in work.deeds:
        for pin in dowels if deed.number == number else ():
            hole = work.hole(pin.name)
            if hole is not None and at_hole(deed, hole, work.features):
                yield Fault(Message("{kind} would cut into the dowel that stands in {name}",
                                    kind=deed.words.kind, name=pin.name),
                            Message("name the step's holes without it; make it in an earlier "
                                    "setup"),
                            job_file.place(*deed.at))


def _indicated(work: Sides, number: int, setup: FlatSetup, name: str) -> Iterator[Fault]:
    """A hole that the zero is found in: of wheels alone, which are round about it."""
    zero = setup.zero
    place = work.job_file.place("setups", number, "zero", "indicated")
    if isinstance(work.part, Plate):
        yield Fault(Message("a plate is not laid by one hole: nothing keeps it from turning"),
                    Message("write dowel: {name}, and second: with another hole", name=name), place)
        return
    if zero.dowel is not None or zero.second is not None:
        yield Fault(Message("the zero is found with an indicator and lies on a dowel"),
                    Message("leave one of them"), place)
    yield from _dowel_named(work, number, setup, "indicated", name)


def _on_hub(work: Sides, number: int, setup: FlatSetup) -> Iterator[Fault]:
    """Z counted from a carrier over which a web stands that was cleared round its hub before."""
    if setup.zero.z != "carrier":
        return
    for one in work.features:
        if isinstance(one, Recess) and one.face != setup.face and any(
                deed.makes(one) for deed in work.deeds if deed.number < number):
            yield Fault(Message("Z is zero on the carrier, and the wheel looks down with its hub, "
                                "{deep:g} mm below its web: which of the two lies on the carrier "
                                "is not said", deep=one.depth),
                        Message("write z: top, and touch the face that looks up"),
                        work.job_file.place("setups", number, "zero", "z"))
            return


def _dowel_named(
    work: Sides, number: int, setup: FlatSetup, word: str, name: str
) -> Iterator[Fault]:
    """One hole that a dowel shall stand in."""
    job, place = work.job_file.job, work.job_file.place("setups", number, "zero", word)
    found = holes_called(job, name)
    if not found:
        known = list(dict.fromkeys(one.name for one in work.features if isinstance(one, Hole)))
        yield Fault(Message("the plate has no hole called {name}", name=name)
                    if isinstance(work.part, Plate) else
                    Message("the wheel has no hole called {name}", name=name),
                    did_you_mean(name, known, Message("its holes: {known}", known=listing(known))),
                    place)
        return
    if len(found) > 1:
        if word != "second":
            yield Fault(Message("{count} holes are called {name}", count=len(found), name=name),
                        Message("say which: {names}",
                                names=listing([one.name for one in found[:6]])), place)
        return
    hole = found[0]
    if word == "indicated" and hole.depth is not None:
        yield Fault(Message("{name} does not go right through: its middle is not that of the bore",
                            name=hole.name), Message("take a hole right through"), place)
    elif hole.depth is not None and hole.face == setup.face:
        yield Fault(Message("{name} is no hole for a dowel: it does not come through to the "
                            "carrier", name=hole.name), Message("take a hole right through"), place)
    makers = [deed for deed in work.deeds if work.makes(deed, hole.name)]
    if isinstance(work.part, Wheel) and elsewhere(job, hole):
        return
    if not any(deed.number < number for deed in makers):
        later = next((deed.setup.name for deed in makers), None)
        yield Fault(Message("no setup before {name} makes {hole}, where its zero shall be",
                            name=setup.name, hole=hole.name) if word != "second"
                    else Message("no setup before {name} makes {hole}, where a dowel shall "
                                 "stand",
                                 name=setup.name, hole=hole.name),
                    Message("make it first: setup {later} comes too late", later=later)
                    if later
                    else Message("make it in an earlier setup"), place)


def _could_be_dowels(work: Sides, number: int) -> str | None:
    """The first of several equal holes right through that setups before make."""
    through = [one for one in work.features if isinstance(one, Hole) and one.depth is None]
    return next(
        (one.name for one in through
         if sum(other.group == one.group for other in through) > 1
         and any(work.makes(deed, one.name) for deed in work.deeds if deed.number < number)), None)
