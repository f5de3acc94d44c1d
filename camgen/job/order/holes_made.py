"""Whether the steps of a job bring each of its round holes to size.

A drill makes a hole of its own size, and so does a reamer or a counterbore; a boring step makes the
size that is asked for. A hole that is drilled smaller than it shall be, and never bored, would stay
so. Lengths mm.
"""

from __future__ import annotations

from collections.abc import Iterator

import shapely

from camgen.faults import Fault, Place, no_less
from camgen.job.file import JobFile
from camgen.job.models import Job
from camgen.job.order.deeds import Deed, elsewhere, makes, would_make
from camgen.job.order.opened import SAME_SIZE, opened_at_last, width_over
from camgen.messages import Message
from camgen.part.called import thing_called
from camgen.part.features import Feature, Hole, Recess, Thread
from camgen.part.plates.plate import Plate
from camgen.part.plates.round_features import SEAT, hole_for_thread
from camgen.shop.cutters import Ability
from camgen.shop.tapping_holes import HoleForThread
from camgen.tolerances import CHECK_CHORD

__all__ = ["SAME_SIZE", "aimed_at", "hole_faults", "left_at", "of_its_size",
           "suits_thread", "usual_for_thread"]


def hole_faults(
    job_file: JobFile, deeds: tuple[Deed, ...], features: tuple[Feature, ...]
) -> Iterator[Fault]:
    """Holes that no step makes, and holes that no step brings to size."""
    alike: dict[str, list[Hole]] = {}
    for one in features:
        if isinstance(one, Hole) and not elsewhere(job_file.job, one):
            alike.setdefault(one.group or one.name, []).append(one)
    for holes in alike.values():
        left = {}
        for hole in holes:
            size = left_at(deeds, hole)
            if size is not None:
                left[hole.name] = size
        if left:
            thread = next((one for one in features if isinstance(one, Thread)
                           and one.hole == holes[0]), None)
            yield _fault(job_file, deeds, holes, left, thread)
        else:
            yield from _metal_left(job_file, deeds, features, holes[0])


def _metal_left(
    job_file: JobFile, deeds: tuple[Deed, ...], features: tuple[Feature, ...], hole: Hole
) -> Iterator[Fault]:
    """A hole that its steps make to size, and none as deep as it is: from one face or from both."""
    job = job_file.job
    thick = job.part.height
    whole = thick if hole.depth is None else hole.depth
    begin, end = (0.0, whole) if hole.face == "upper" else (thick - whole, thick)
    if width_over(opened_at_last(job, hole), begin, end) > 0 or any(
            isinstance(one, Recess)
            and one.area.region(CHECK_CHORD).covers(shapely.Point(hole.place))
            for one in features):
        return
    deep = {"upper": 0.0, "under": 0.0}
    said: list[Deed] = []
    for deed in deeds:
        for made in deed.says.holes:
            if deed.flat and makes(deed, made, hole) and made.depth is not None:
                deep[deed.face] = max(deep[deed.face], made.depth)
                said.append(deed)
    if not said:
        return
    between = whole - deep["upper"] - deep["under"]
    goes = (Message("right through {thick:g} mm", thick=thick) if hole.depth is None
            else Message("{deep:g} mm deep", deep=whole))
    if min(deep.values()) > 0:
        yield Fault(Message("{name} goes {goes} and is cut {upper:g} mm deep from the upper and "
                            "{under:g} mm from the under face: {between:.3g} mm stay between",
                            name=hole.name, goes=goes, upper=deep["upper"], under=deep["under"],
                            between=between),
                    Message("make depth: {least} mm more on one of the faces, or leave it out",
                            least=no_less(between)), job_file.place(*said[-1].at, "depth"))
    else:
        yield Fault(Message("{name} goes {goes}, and {kind} makes it {deepest:g} mm deep at its "
                            "full width: {between:.3g} mm stay", name=hole.name, goes=goes,
                            kind=said[-1].words.kind, deepest=max(deep.values()), between=between),
                    Message("leave depth: out")
                    if any(isinstance(one, Hole) and one.depth is not None and one.depth < whole
                           and said[-1].makes(one) for one in features)
                    else Message("write depth: {least} or more, or leave it out",
                                 least=no_less(whole)), job_file.place(*said[-1].at, "depth"))


def of_its_size(hole: Hole, size: float) -> bool:
    """Whether a cutter of this size makes a hole: within its limits where the job says a fit, else
    no farther from the size that is meant than sizes of cutters differ by.

    >>> from camgen.shop.fits import Limits
    >>> from camgen.shapes.path import Point
    >>> wide = Hole("pin", Point(0, 0), 1.53, "pin", limits=Limits(1.5, 1.56))
    >>> of_its_size(wide, 1.5), of_its_size(wide, 1.526), of_its_size(wide, 1.561)
    (True, True, False)
    """
    limits = hole.limits
    if limits is not None:
        return limits.least - 1e-6 <= size <= limits.most + 1e-6
    return abs(size - hole.diameter) <= SAME_SIZE + 1e-9


def aimed_at(hole: Hole) -> Message:
    """The size that a hole shall be, in words: with its limits where it is aimed between such."""
    limits = hole.limits
    if limits is None:
        return Message("{diameter:g} mm", diameter=hole.diameter)
    if abs(limits.middle - hole.diameter) > 1e-6:  # by its thread
        return Message("{least:g} to {most:g} mm", least=limits.least, most=limits.most)
    return Message("{diameter:g} mm (the middle of {least:g} to {most:g})",
                   diameter=hole.diameter, least=limits.least, most=limits.most)


def left_at(deeds: tuple[Deed, ...], hole: Hole) -> float | None:
    """The diameter that a hole is left at, 0 for one not made; None where it is as it shall be."""
    left = 0.0
    for deed in deeds:
        for made in deed.says.holes:
            if not deed.flat or not would_make(deed, made, hole):
                continue
            size = hole.diameter
            if made.size == "as the cutter" and deed.cutter is not None:
                size = deed.cutter.diameter
            if of_its_size(hole, size):
                return None
            left = max(left, size)
    return left


def suits_thread(job: Job, hole: Hole, long: float | None = None) -> HoleForThread | None:
    """What a hole may be for the thread that the plate says is in it, ``long`` mm; else as long as
    the hole. None for a hole without a thread.
    """
    part = job.part
    words = part.holes.get(hole.group) if isinstance(part, Plate) else None
    if words is None:
        return None
    return hole_for_thread(words, part.height, job.material, long)


def usual_for_thread(suits: HoleForThread) -> Message:
    """What to drill for a thread instead of what does not suit it."""
    return Message("{least:g} to {most:g} mm are usual for a thread so long; drills within that: "
                   "{drills}", least=suits.usual.least, most=suits.usual.most,
                   drills=tuple(f"{one:g}" for one in suits.drills))


def _for_thread(
    hole: Hole, said: Message, size: float, suits: HoleForThread, place: Place
) -> Fault:
    """A threaded hole left at another size: one that its thread allows, or none for it."""
    if hole.limits is None and suits.may.least - 1e-6 <= size <= suits.may.most + SAME_SIZE:
        return Fault(said, Message(
            "write diameter: {size:g} with {group}, which its thread allows, or drill it with "
            "{diameter:g} mm", size=size, group=hole.group, diameter=hole.diameter), place)
    return Fault(said, usual_for_thread(suits), place)


def _fault(
    job_file: JobFile, deeds: tuple[Deed, ...], holes: list[Hole], left: dict[str, float],
    thread: Thread | None,
) -> Fault:
    """What is said of holes alike of which ``left`` are not made, or made so large only."""
    hole = holes[0]
    word = hole.elsewhere[0]
    what = Message("the bore") if hole.name == "bore" else thing_called(
        word, hole.group if len(left) == len(holes) else tuple(sorted(left)))
    said = Message("say made-elsewhere: [{word}] where another job or hand does",
                   word=word if word != "bore" else hole.name)
    place = job_file.place(*hole.at, key=True)
    size = min(left.values())
    beneath = hole.group.removesuffix(SEAT)
    misnamed = next((deed for deed in deeds for made in deed.says.holes
                     if Ability.COUNTERBORE in deed.says.by and beneath != hole.group
                     and made.holes.means(beneath, beneath)), None)
    if size < hole.diameter and misnamed is not None:
        return Fault(Message("no step makes {what} {hole} wide: {kind} names {beneath}, the hole "
                             "beneath it", what=what, hole=aimed_at(hole), kind=misnamed.words.kind,
                             beneath=beneath),
                     Message("write holes: [{group}] with {kind}", group=hole.group,
                             kind=misnamed.words.kind), job_file.place(*misnamed.at, "holes"))
    if not size:
        return Fault(Message("no step makes {what}", what=what),
                     Message("add the step - bore: {typed}, or {said}", typed="{cutter: …}",
                             said=said), place)
    set_to = next((deed for deed in deeds for made in deed.says.holes
                   if Ability.BORE in deed.says.by and would_make(deed, made, hole)), None)
    if set_to is not None:
        return Fault(Message("{what} shall be {hole} and is left at {size:g} mm, as {cutter} is "
                             "set", what=what, hole=aimed_at(hole), size=size,
                             cutter=set_to.words.cutter),
                     Message("set the bar so, and write diameter: {diameter:g} with {cutter}",
                             diameter=hole.diameter, cutter=set_to.words.cutter),
                     job_file.place("cutters", set_to.words.cutter, "diameter"))
    suits = None if thread is None else suits_thread(job_file.job, hole)
    if suits is not None:
        return _for_thread(hole, Message("{what} shall be {hole} for its thread and is left at "
                                         "{size:g} mm", what=what, hole=aimed_at(hole), size=size),
                           size, suits, place)
    seat = next((deed for deed in deeds for made in deed.says.holes
                 if Ability.COUNTERBORE in deed.says.by and would_make(deed, made, hole)), None)
    if size < hole.diameter and seat is not None and seat.cutter is not None:
        return Fault(Message("{what} shall be {hole}, and {cutter} ({kind}, {diameter:g} mm) "
                             "makes it no wider than itself", what=what, hole=aimed_at(hole),
                             cutter=seat.words.cutter, kind=seat.cutter.kind,
                             diameter=seat.cutter.diameter),
                     Message("a counterbore of {diameter:g} mm, or bore: with an end mill in the "
                             "place of {kind}:", diameter=hole.diameter, kind=seat.words.kind),
                     job_file.place(*seat.at, "cutter"))
    by = next((deed for deed in deeds for made in deed.says.holes
               if made.size == "as the cutter" and not made.pointed and deed.cutter is not None
               and deed.cutter.diameter >= size - 1e-9 and would_make(deed, made, hole)), None)
    if size > hole.diameter and by is not None and by.cutter is not None:
        return Fault(Message("{what} shall be {hole}, and {cutter}, a {kind} of {size:g} mm, "
                             "leaves it at that", what=what, hole=aimed_at(hole),
                             cutter=by.words.cutter, kind=by.cutter.kind, size=size),
                     Message("a {kind} of {diameter:g} mm, or bore it with an end mill",
                             kind=by.cutter.kind, diameter=hole.diameter),
                     job_file.place(*by.at, "cutter"))
    if size > hole.diameter:
        return Fault(Message("{what} shall be {hole} and is left at {size:g} mm", what=what,
                             hole=aimed_at(hole), size=size),
                     Message("drill it with {diameter:g} mm, or smaller and then bore it",
                             diameter=hole.diameter), place)
    return Fault(Message("{what} shall be {hole} and is left at {size:g} mm", what=what,
                         hole=aimed_at(hole), size=size),
                 Message("bore or ream it after the drilling, drill it with {diameter:g} mm, or "
                         "{said}", diameter=hole.diameter, said=said), place)
