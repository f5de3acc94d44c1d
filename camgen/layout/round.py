"""What stands in the dividing head where turned work is held in it, in the frame of the setup.

Positions along the axis count from the free end of the foremost piece, growing towards the head.
Angles are those of the head: the work's own, by which things round it are named, run the other way
where the free end looks towards + of its axis. Lengths mm, angles degrees.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TypeAlias

from camgen.dividing import Division, divide_at
from camgen.faults import Fault, Refused
from camgen.job.models import Job, RoundSetup
from camgen.job.on_arbor import Turned, bodies_before, bodies_behind, bodies_of, cylinder
from camgen.job.order.deeds import deeds_of, features_of_job, works_round
from camgen.layout.in_head import InHead
from camgen.layout.place import place_of
from camgen.layout.stands import hands_of
from camgen.messages import Message
from camgen.part.features import Flats, RoundHole, RoundSlot
from camgen.part.turned.turned import TurnedPart
from camgen.shop.machine import Arrangement, Machine
from camgen.values import dataclass

__all__ = ["RoundFeature", "RoundLayout", "head_angle", "round_layout"]

RoundFeature: TypeAlias = Flats | RoundHole | RoundSlot


def head_angle(angle: float, arrangement: Arrangement) -> float:
    """Where the head stands with what is at ``angle`` of the work before the cutter, 0 to 360.

    A driven head turns as a right-hand screw along + of its axis (ISO 841): seen from a free end
    that looks towards +, anticlockwise, and what comes before the cutter next lies clockwise.

    >>> head_angle(90.0, Arrangement(along="-X")), head_angle(90.0, Arrangement(along="+X"))
    (270.0, 90.0)
    """
    turned = -angle if arrangement.along[0] == "-" else angle
    return round(turned % 360.0, 9) % 360.0


@dataclass(frozen=True)
class RoundLayout(InHead):
    """Turned work in the dividing head.

    ``part`` is one piece; they begin at each of ``places`` along the axis. ``made`` are the things
    that are cut round them here. ``behind`` is what holds the piece, ``before`` what stands before
    it; ``begun`` are holes that are marked or drilled here and brought to size elsewhere.
    ``division`` has the places that the head comes to, at all angles of this setup, rising.
    """

    arrangement: Arrangement
    zero: str
    part: TurnedPart
    places: tuple[float, ...]
    made: tuple[RoundFeature, ...]
    stands_out: float
    bar_radius: float
    division: Division
    safe_height: float
    clearance: float
    before: tuple[Turned, ...] = ()
    behind: tuple[Turned, ...] = ()
    begun: tuple[RoundHole, ...] = ()

    @property
    def thickest(self) -> float:
        """The greatest radius of the work as far as it stands out, where the cutter touches; mm."""
        return max(body.radius for body in self.work)

    @property
    def work(self) -> tuple[Turned, ...]:
        """The pieces as turned, and the bar between and behind them up to what holds them."""
        found = []
        for place in self.places:
            for begin, end, radius in self.part.cylinders:
                found.append(cylinder("piece", place + begin, place + end, radius))
        ends = [*self.places[1:], self.stands_out]
        for place, end in zip(self.places, ends, strict=True):
            if end > place + self.part.length + 1e-9:
                found.append(cylinder("bar", place + self.part.length, end, self.bar_radius))
        return tuple(cylinder(body.name, body.begin, min(body.end, self.stands_out), body.radius)
                     for body in found if body.begin < self.stands_out - 1e-9)

    @property
    def bodies(self) -> tuple[Turned, ...]:
        """Everything that stands in the head, from the tailstock to the chuck."""
        return (*reversed(self.before), *self.work, *self.behind)

    def radius_over(self, begin: float, end: float) -> tuple[float, float]:
        """Least and greatest radius of the work as turned between two places along it, mm."""
        there = [body.radius for body in self.work
                 if body.end > begin + 1e-9 and body.begin < end - 1e-9]
        return (min(there), max(there)) if there else (0.0, 0.0)

    def open_before(self, place: float, out: float) -> bool:
        """Whether the work before a place along it is no thicker than ``out`` from its axis, mm, or
        there is none: a cutter comes in there from before."""
        return self.radius_over(-math.inf, place)[1] <= out + 1e-9

    def head_place(self, angle: float) -> int:
        """The number, from 1, of the head's place for an angle of the work."""
        wanted = head_angle(angle, self.arrangement)
        off = [abs((one - wanted + 180.0) % 360.0 - 180.0) for one in self.division.angles]
        return off.index(min(off)) + 1

    @property
    def handed(self) -> float:
        """+1 where ``across`` grows to the right as seen from the free end with the cutter above
        the work, else -1."""
        return -hands_of(self.arrangement).across

    @property
    def touched_at(self) -> float:
        """The infeed coordinate of a cutter's end that touches the piece where it is thickest."""
        if self.zero == "touch":
            return 0.0
        return self.thickest if self.arrangement.infeed[0] == "-" else -self.thickest

    @property
    def divided(self) -> int:
        """Its places need not be equal."""
        return 0

    @property
    def height_axis(self) -> str:
        """None: every cutter's own axis is over the middle of the work, where one's is."""
        return ""



def round_layout(job: Job, setup: RoundSetup, machine: Machine) -> RoundLayout:
    """The layout of turned work held in the head.

    Raises Refused when the job makes no turned part, the machine has no head, or the head cannot
    come to an angle.
    """
    held, part = setup.held, job.part
    if machine.dividing is None:
        raise Refused(
            Fault(Message("machine {name} has no dividing head", name=machine.name),
                  Message("choose a machine file with `dividing:`"),
                  place_of(job, setup, "held")))
    if not isinstance(part, TurnedPart):
        raise Refused(
            Fault(Message("only turned parts are held so, and the job describes no turned part"),
                  Message("add turned:, or dividing: for the teeth of a wheel or pinion"),
                  place_of(job, setup, "held")))
    arrangement = held.arrangement or machine.dividing.arrangement
    number = next(n for n, one in enumerate(job.setups) if one.name == setup.name)
    here = [deed for deed in deeds_of(job) if deed.number == number]
    around = [one for one in features_of_job(job) if isinstance(one, RoundFeature)]
    made = tuple(one for one in around if any(deed.makes(one) for deed in here))
    # Holes that are only spotted, or drilled for a later setup, have their angles too.
    begun = tuple(one for one in around if one not in made and isinstance(one, RoundHole) and any(
        works_round(deed, what, one) for deed in here for what in deed.says.at_holes))
    angles = sorted({head_angle(angle, arrangement) for one in (*made, *begun)
                     for angle in one.angles})
    try:
        division = divide_at(angles or (0.0,), machine.dividing)
    except Refused as no:
        raise Refused([replace(fault, place=place_of(job, setup, "held"),
                               hangs_on=machine.dividing.divides_by)
                       for fault in no.faults]) from no
    last = part.cylinders[-1][2]
    return RoundLayout(
        arrangement=arrangement,
        zero=held.zero,
        part=part,
        places=tuple(k * (held.pitch or 0.0) for k in range(held.pieces)),
        made=made,
        begun=begun,
        stands_out=held.stands_out,
        bar_radius=held.rod / 2 if held.rod is not None else last,
        division=division,
        safe_height=setup.safe_height,
        clearance=setup.clearance,
        before=tuple(one for one in bodies_before((), held.tailstock) if one.end > one.begin),
        behind=bodies_behind(bodies_of(held.behind), held.stands_out),
    )
