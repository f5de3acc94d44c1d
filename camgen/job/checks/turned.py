"""Whether a turned part can be, and can be held in the dividing head as the job says.

Lengths mm, angles degrees.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

from shapely import Polygon, box
from shapely.affinity import rotate

from camgen.faults import Fault, no_less, no_more
from camgen.job.checks.bench import WordPath
from camgen.job.checks.on_head.spindle_lies import round_lying_faults
from camgen.job.file import JobFile
from camgen.job.models import RoundSetup
from camgen.job.on_arbor import NAMES, ArborBody, HeldWork, bodies_of
from camgen.job.order.deeds import deeds_of
from camgen.messages import Message
from camgen.part.features import Flats, RoundHole, RoundSlot
from camgen.part.turned.turned import TurnedPart
from camgen.shop.machine import Machine
from camgen.tolerances import CHECK_TOUCHING_AREA, LEAST_INCREMENT
from camgen.yamlfile.advice import listing

__all__ = ["turned_faults"]

# A wall thinner than this about a bore is refused, mm. Common practice, no source.
LEAST_WALL = 0.1
# How long a drill's point is, over its radius: that of 118 degrees (geometry).
POINT = 0.6


def turned_faults(
    job_file: JobFile, part: TurnedPart, machine: Machine | None
) -> Iterator[Fault]:
    """Faults of the part, and of each setup that holds it."""
    yield from _bored(job_file, part)
    yield from _flats(job_file, part)
    yield from _slots(job_file, part)
    yield from _running_together(job_file, part)
    yield from _holes(job_file, part)
    yield from _meeting(job_file, part)
    yield from _made_again(job_file, part)
    for number, setup in enumerate(job_file.job.setups):
        for work in setup.given:
            at: WordPath = ("setups", number)
            if not isinstance(work, RoundSetup):
                yield Fault(
                    Message("a turned part is held in the dividing head and not on the table"),
                    Message("write held: in place of {word}:", word=work.word),
                    job_file.place(*at, work.word, key=True))
                continue
            yield from _held(job_file, part, work, at)
            if machine is not None:
                yield from _on_machine(job_file, part, work, machine, at)


def _bored(job_file: JobFile, part: TurnedPart) -> Iterator[Fault]:
    thinnest = min(one.diameter for one in part.sections)
    if part.bore and part.bore > thinnest - 2 * LEAST_WALL:
        yield Fault(Message("a bore of {bore:g} mm leaves no wall in a section of {thin:g} mm",
                            bore=part.bore, thin=thinnest),
                    Message("bore: {most} or less", most=no_more(thinnest - 2 * LEAST_WALL))
                    if thinnest > 2 * LEAST_WALL else Message("leave bore: out"),
                    job_file.place("turned", "bore"))


def _flats(job_file: JobFile, part: TurnedPart) -> Iterator[Fault]:
    for name, one in part.flats.items():
        at = ("turned", "flats", name)
        end = one.starts + one.length
        if end > part.length + LEAST_INCREMENT:
            yield Fault(Message("the flats {name} end {end:g} mm behind the free end, and the part "
                                "is {long:g} mm long", name=name, end=end, long=part.length),
                        Message("length: {most} or less", most=no_more(part.length - one.starts))
                        if one.starts < part.length else
                        Message("from: less than {long:g}", long=part.length),
                        job_file.place(*at, "length" if one.starts < part.length else "from"))
            continue
        thin, thick = part.radius_over(one.starts, end)
        if one.across >= 2 * thin - LEAST_INCREMENT:
            yield Fault(Message("flats {across:g} mm across cut nothing of a section of {thin:g} "
                                "mm", across=one.across, thin=2 * thin),
                        Message("across: less than {thin:g}, or let the flats end before that "
                                "section", thin=2 * thin), job_file.place(*at, "across"))
        elif thick > thin + LEAST_INCREMENT and one.starts > 0:
            yield Fault(Message("the flats {name} go over sections of {thin:g} and {thick:g} mm",
                                name=name, thin=2 * thin, thick=2 * thick),
                        Message("write flats of their own for each section"),
                        job_file.place(*at, "length"))
        if part.bore and one.across < part.bore + 2 * LEAST_WALL:
            yield Fault(Message("flats {across:g} mm across leave no wall about a bore of {bore:g} "
                                "mm", across=one.across, bore=part.bore),
                        Message("across: {least} or more",
                                least=no_less(part.bore + 2 * LEAST_WALL)),
                        job_file.place(*at, "across"))


def _slots(job_file: JobFile, part: TurnedPart) -> Iterator[Fault]:
    """Slots beyond a section, or deeper than there is metal."""
    for one in part.features(""):
        if not isinstance(one, RoundSlot):
            continue
        thin, thick = part.radius_over(one.begin, one.end)
        if one.end > part.length + LEAST_INCREMENT or thick > thin + LEAST_INCREMENT:
            yield Fault(Message("the slots {name} reach from {begin:.3g} to {end:.3g} mm behind "
                                "the free end, over more than one section", name=one.name,
                                begin=one.begin, end=one.end),
                        Message("write slots of their own for each section"),
                        job_file.place(*one.at, "length"))
            continue
        if one.width >= 2 * thin:
            yield Fault(Message("slots {wide:g} mm wide are as wide as the section of {thin:g} mm",
                                wide=one.width, thin=2 * thin),
                        Message("width: less than {thin:g}", thin=2 * thin),
                        job_file.place(*one.at, "width"))
        most = thin - (part.bore / 2 + LEAST_WALL if part.bore else 0.0)
        if one.depth > most:
            yield Fault(Message("slots {deep:g} mm deep go beyond the metal of a section of "
                                "{thin:g} mm", deep=one.depth, thin=2 * thin),
                        Message("depth: {most} or less", most=no_more(most)),
                        job_file.place(*one.at, "depth"))
        elif one.end - one.begin < one.width - LEAST_INCREMENT:
            yield Fault(Message("the slots {name} are shorter than they are wide", name=one.name),
                        Message("length: {least} or more", least=no_less(one.width)),
                        job_file.place(*one.at, "length"))


def _running_together(job_file: JobFile, part: TurnedPart) -> Iterator[Fault]:
    """Slots that run into one another, or into flats: neither would be as deep as it is said."""
    every = [(one, angle) for one in part.features("") if isinstance(one, Flats | RoundSlot)
             for angle in one.angles]
    told: set[tuple[str, str]] = set()
    for (one, angle), (other, there) in itertools.combinations(every, 2):
        if (one.end <= other.begin + LEAST_INCREMENT or other.end <= one.begin + LEAST_INCREMENT
                or (isinstance(one, Flats) and isinstance(other, Flats))
                or (one.name, other.name) in told):
            continue
        shapes = [rotate(_across(part, each), turned, origin=(0, 0))
                  for each, turned in ((one, angle), (other, there))]
        if shapes[0].intersection(shapes[1]).area > CHECK_TOUCHING_AREA:
            told.add((one.name, other.name))
            yield Fault(Message("{name} at {angle:g} degrees runs into {other} at {other_angle:g} "
                                "degrees", name=one.name, angle=angle, other=other.name,
                                other_angle=there),
                        Message("other angles or another place along it, or less width or depth"),
                        job_file.place(*other.at, key=True))


def _across(part: TurnedPart, one: Flats | RoundSlot) -> Polygon:
    """What is cut of the section of the work, as if it looked upwards."""
    radius = part.radius_over(one.begin, one.end)[1]
    if isinstance(one, Flats):
        half = math.sqrt(max(radius**2 - (one.across / 2) ** 2, 0.0))
        return box(-half, one.across / 2, half, radius)
    return box(-one.width / 2, part.slot_floor(one), one.width / 2, radius)


def _holes(job_file: JobFile, part: TurnedPart) -> Iterator[Fault]:
    """Holes over an edge of a section, or whose point breaks through the wall."""
    for one in _holes_of(part):
        at = one.at
        thin, thick = part.radius_over(one.begin, one.end)
        if one.begin < 0 or one.end > part.length or thick > thin + LEAST_INCREMENT:
            yield Fault(Message("the holes {name} reach from {begin:.3g} to {end:.3g} mm behind "
                                "the free end, over more than one section", name=one.name,
                                begin=one.begin, end=one.end),
                        Message("along: so that the hole lies in one section with its rim"),
                        job_file.place(*at[:3], "along"))
            continue
        wide = part.holes[at[2]].diameter
        if one.flat and one.diameter <= wide + LEAST_INCREMENT:
            yield Fault(Message("the counterbore of {name}, {wide:g} mm, is no wider than its hole",
                                name=at[2], wide=one.diameter),
                        Message("counterbore: a diameter of more than {wide:g}", wide=wide),
                        job_file.place(*at, "diameter"))
        point = 0.0 if one.flat else POINT * one.diameter / 2
        wall = thin - part.bore / 2
        if one.depth is not None and one.depth + point > wall - LEAST_WALL:
            most = wall - LEAST_WALL - point
            yield Fault(Message("the holes {name} are as deep as the wall is thick, {wall:.3g} mm, "
                                "with their point", name=one.name, wall=wall),
                        Message("depth: {most} or less, or leave depth: out for holes through",
                                most=no_more(most)) if most > 0 else
                        Message("leave depth: out for holes through"),
                        job_file.place(*at, "depth"))


def _holes_of(part: TurnedPart) -> list[RoundHole]:
    return [one for one in part.features("") if isinstance(one, RoundHole)]


def _meeting(job_file: JobFile, part: TurnedPart) -> Iterator[Fault]:
    """Holes so near to each other that one drill comes into the other's hole."""
    every = [(one, angle) for one in _holes_of(part) for angle in one.angles]
    told: set[tuple[str, str]] = set()
    for number, (one, angle) in enumerate(every):
        for other, there in every[number + 1:]:
            names = (one.at[2], other.at[2])
            if (names[0] == names[1] and angle == there) or names in told:
                continue
            if _apart(part, one, angle, other, there) < (
                    (one.diameter + other.diameter) / 2 + LEAST_WALL):
                told.add(names)
                yield Fault(Message("the hole {name} at {angle:g} degrees meets {other} at "
                                    "{other_angle:g} degrees", name=one.name, angle=angle,
                                    other=other.name, other_angle=there),
                            Message("a smaller depth or diameter, or other angles"),
                            job_file.place(*other.at[:3], key=True))


def _apart(
    part: TurnedPart, one: RoundHole, angle: float, other: RoundHole, there: float
) -> float:
    """How near the middles of two holes come to each other, mm, from their ends outwards."""
    ends = [max(part.floor(hole) - (0.0 if hole.flat or hole.depth is None
                                    else POINT * hole.diameter / 2), 0.0)
            for hole in (one, other)]
    turned = math.cos(math.radians(angle - there))
    aside = one.place - other.place
    # Nearest where one begins, or at the foot of the square from there onto the other.
    pairs = ((ends[0], max(ends[1], ends[0] * turned)), (max(ends[0], ends[1] * turned), ends[1]))
    return min(math.sqrt(max(aside**2 + a**2 + b**2 - 2 * a * b * turned, 0.0)) for a, b in pairs)


def _made_again(job_file: JobFile, part: TurnedPart) -> Iterator[Fault]:
    """Steps that find nothing to cut, for another has made the same to size."""
    told = set()
    deeds = deeds_of(job_file.job)
    for one in part.features(""):
        makers = [deed for deed in deeds if deed.makes(one)]
        for deed in makers[1:]:
            if deed.order not in told:
                told.add(deed.order)
                first = makers[0]
                yield Fault(Message("{kind} finds nothing to cut at {places}: step {step} of "
                                    "{name}, {other_kind}, has taken it all", kind=deed.words.kind,
                                    places=(one.name,), step=first.step + 1,
                                    name=first.setup.name, other_kind=first.words.kind),
                            Message("put it before that step, or leave it out"),
                            job_file.place(*deed.at, key=True))


def _held(
    job_file: JobFile, part: TurnedPart, work: RoundSetup, at: WordPath
) -> Iterator[Fault]:
    held = work.held
    place = (*at, "held")
    if held.pieces > 1 and held.pitch is None:
        yield Fault(Message("{pieces} pieces along the bar have no pitch", pieces=held.pieces),
                    Message("pitch: {least} or more, from one piece's free end to the next one's",
                            least=no_less(part.length)), job_file.place(*place, "pieces"))
    elif held.pitch is not None and held.pieces == 1:
        yield Fault(Message("a pitch is for several pieces along the bar"),
                    Message("leave pitch: out, or say pieces:"), job_file.place(*place, "pitch"))
    elif held.pitch is not None and held.pitch < part.length - LEAST_INCREMENT:
        yield Fault(Message("a piece is {long:g} mm long and the next begins after {pitch:g} mm",
                            long=part.length, pitch=held.pitch),
                    Message("pitch: {least} or more, with what parts them",
                            least=no_less(part.length)), job_file.place(*place, "pitch"))
    last = (held.pieces - 1) * (held.pitch or 0.0)
    made = max((one.end for one in part.features("")
                if isinstance(one, Flats | RoundHole | RoundSlot)), default=0.0)
    if held.stands_out < last + made - LEAST_INCREMENT:
        yield Fault(Message("the work stands {out:g} mm out, and what is cut ends {end:g} mm "
                            "behind its free end", out=held.stands_out, end=last + made),
                    Message("stands-out: more than {end:g}, so far that the cutter clears what "
                            "holds it", end=last + made), job_file.place(*place, "stands-out"))
    yield from _behind(job_file, held, place)
    stock = held.tailstock
    if stock is not None and stock.body < stock.centre:
        yield Fault(Message("the tailstock's body, {body:g} mm, is thinner than its centre, "
                            "{centre:g} mm", body=stock.body, centre=stock.centre),
                    Message("body: is the largest diameter of quill and body"),
                    job_file.place(*place, "tailstock", "body"))


def _behind(job_file: JobFile, held: HeldWork, at: WordPath) -> Iterator[Fault]:
    said = held.behind
    if not bodies_of(said):
        yield Fault(Message("nothing is said to hold the work"),
                    Message("behind: with its diameter, such as {typed}",
                            typed="{collet: 8, length: 20}"), job_file.place(*at, "behind"))
    for number, body in enumerate(bodies_of(said)):
        if len(body.names) == 1:
            continue
        place = (job_file.place(*at, "behind") if isinstance(said, ArborBody)
                 else job_file.place(*at, "behind", number))
        yield Fault(Message("what holds the work has no name of its own"),
                    Message("say one of {names}, with its diameter, such as behind: {typed}",
                            names=listing(NAMES), typed="{collet: 8, length: 20}"), place)


def _on_machine(
    job_file: JobFile, part: TurnedPart, work: RoundSetup, machine: Machine, at: WordPath
) -> Iterator[Fault]:
    """The head is there, the spindle can lie so, and the travel along the axis is enough."""
    held = work.held
    if machine.dividing is None:
        yield Fault(Message("the machine {name} has no dividing head", name=machine.name),
                    Message("name another machine file under post:"), job_file.place("post"))
        return
    yield from round_lying_faults(job_file, machine, at, work)
    arrangement = held.arrangement or machine.dividing.arrangement
    axis = machine.axis(arrangement.along[1])
    wide = max((job_file.job.cutters[step.cutter].diameter for step in work.steps
                if step.cutter in job_file.job.cutters), default=0.0)
    need = (held.pieces - 1) * (held.pitch or 0.0) + part.length + wide
    if need > axis.travel:
        yield Fault(Message("the work with the cutter's way takes {need:.1f} mm and {name} travels "
                            "{travel:g} mm along {axis}", need=need, name=machine.name,
                            travel=axis.travel, axis=arrangement.along[1]),
                    Message("fewer pieces along the bar") if held.pieces > 1 else
                    Message("name another machine file under post:"),
                    job_file.place(*at, "held", "pieces" if held.pieces > 1 else "stands-out"))
