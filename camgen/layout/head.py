"""What stands on the dividing head: a stack of blanks on its arbor, in the frame of the setup."""

from __future__ import annotations

from dataclasses import field

from camgen.dividing import Division, divide
from camgen.faults import Fault, Refused
from camgen.job.models import HeadSetup, Job
from camgen.job.on_arbor import (
    FAR,
    ToothSetup,
    Turned,
    bodies_before,
    bodies_behind,
    bodies_of,
    cylinder,
)
from camgen.job.order.deeds import deeds_of, features_of_job
from camgen.layout.in_head import InHead
from camgen.layout.place import place_of
from camgen.messages import Message, counted
from camgen.part.features import Recess
from camgen.part.plates.plate_words import Face
from camgen.part.shape import as_it_lies
from camgen.part.wheels.hub import cleared_on
from camgen.part.wheels.wheel import Wheel
from camgen.shapes.path import Path, Point, circle
from camgen.shop.machine import Arrangement, DrivenHead, HandHead, Machine
from camgen.teeth.tooth import Tooth
from camgen.values import dataclass

__all__ = ["ToothLayout", "tooth_layout"]

# A blank whose outside is within this of the tip circle is touched at zero, mm: half the last
# figure that is told.
TOUCH_TOLD = 0.0005


@dataclass(frozen=True)
class ToothLayout(InHead):
    """A stack of blanks on the dividing head.

    Positions along the arbor are counted from the free face of the foremost thing on it, growing
    towards the head: ``front_backing`` from 0 to ``stack_from``, the blanks to ``stack_to``, the
    backing to ``backing_to``, then what must not be hit, of radius ``arbor_radius`` at most:
    ``behind``, where the job says more of it. ``before`` is what stands before the free face, from
    there outwards; ``before_said`` whether the job says what does.
    ``topped``: the cutter cuts the tips too, and what the blanks stand above them. ``tooth`` is the
    finished tooth.

    Of a ``stack`` of blanks all lie with their upper faces towards the free face: ``steps_down`` is
    what there is of each before its web, from its foremost end on: radius and length; ``steps_on``
    what there is behind it. In the gaps so left between the webs are rings of ``spacer_radius``, or
    where that is 0 nothing. What a later setup clears round a hub stands yet, and counts as web.
    ``turn_step`` is the least that the head turns by between ways of cutting, degrees.
    ``through`` are the edges of what goes right through the part, seen along the arbor: its bore
    and crossing.
    """

    arrangement: Arrangement
    zero: str
    tooth: Tooth
    blank_radius: float
    stack_from: float
    stack_to: float
    backing_to: float
    backing_radius: float
    arbor_radius: float
    division: Division
    safe_height: float
    clearance: float
    notes: tuple[Message, ...] = field(default=())
    before: tuple[Turned, ...] = ()
    behind: tuple[Turned, ...] = ()
    before_said: bool = False
    topped: bool = False
    steps_down: tuple[tuple[float, float], ...] = ()
    steps_on: tuple[tuple[float, float], ...] = ()
    stack: int = 1
    spacer_radius: float = 0.0
    turn_step: float = 0.0
    through: tuple[Path, ...] = ()

    @property
    def webs(self) -> tuple[tuple[float, float], ...]:
        """Where along the arbor the teeth are: begin and end of each blank's web."""
        pitch = (self.stack_to - self.stack_from) / self.stack
        before = sum(length for _, length in self.steps_down)
        behind = sum(length for _, length in self.steps_on)
        return tuple((self.stack_from + number * pitch + before,
                      self.stack_from + (number + 1) * pitch - behind)
                     for number in range(self.stack))

    @property
    def spaces(self) -> range:
        """Numbers of the spaces to be cut, from 1: of part-circle teeth not all."""
        return self.tooth.spaces

    @property
    def over_tip(self) -> float:
        """How far the blanks' outside stands above the finished tip circle, mm."""
        return max(self.blank_radius - self.tooth.sizes.tip_diameter / 2, 0.0)

    @property
    def touched_at(self) -> float:
        """The infeed coordinate at which a cutter touches the blanks, where its zero is a touch:
        0 where they are turned to the tip diameter, whose circle depths count from."""
        if self.zero != "touch" or self.over_tip <= TOUCH_TOLD:
            return 0.0
        return self.over_tip if self.arrangement.infeed[0] == "-" else -self.over_tip

    @property
    def divided(self) -> int:
        """Into how many the dividing head parts the work."""
        return self.tooth.sizes.teeth

    @property
    def height_axis(self) -> str:
        """The axis of a cutter's centre height."""
        return self.arrangement.across

    @property
    def after(self) -> tuple[Turned, ...]:
        """What stands behind the backing, and goes on and on."""
        if self.behind:
            return self.behind
        return (cylinder("arbor", self.backing_to, self.backing_to + FAR, self.arbor_radius),)

    @property
    def bodies(self) -> tuple[Turned, ...]:
        """Everything that stands on the head, from the tailstock to the chuck."""
        stack = (
            cylinder("front backing", 0.0, self.stack_from, self.backing_radius),
            *self._blanks,
            cylinder("backing", self.stack_to, self.backing_to, self.backing_radius),
        )
        return tuple(body for body in (*reversed(self.before), *stack, *self.after)
                     if body.end > body.begin and body.radius > 0)

    @property
    def _blanks(self) -> tuple[Turned, ...]:
        """The blanks with what is in the gaps between their webs."""
        if not self.steps_down and not self.steps_on:
            return (cylinder("blanks", self.stack_from, self.stack_to, self.blank_radius),)
        found: list[Turned] = []
        for begin, end in self.webs:
            at = begin - sum(length for _, length in self.steps_down)
            found.append(cylinder("spacer", at, begin, self.spacer_radius))
            for radius, length in self.steps_down:
                found.append(cylinder("blanks", at, at + length, radius))
                at += length
            found.append(cylinder("blanks", begin, end, self.blank_radius))
            at = end
            for radius, length in self.steps_on:
                found.append(cylinder("blanks", at, at + length, radius))
                at += length
            found.append(cylinder("spacer", end, at, self.spacer_radius))
        return tuple(found)


def tooth_layout(job: Job, setup: HeadSetup, machine: Machine) -> ToothLayout:
    """The layout of a setup on the dividing head.

    Raises Refused when the machine has no head, or the head cannot make the divisions.
    """
    dividing = setup.dividing
    if machine.dividing is None:
        raise Refused(
            Fault(Message("machine {name} has no dividing head", name=machine.name),
                  Message("choose a machine file with `dividing:`"),
                  place_of(job, setup, "dividing"))
        )
    tooth = job.part.tooth()
    tip = tooth.sizes.tip_diameter
    stack_from = dividing.front_backing
    steps_down, steps_on = _steps(job, setup, "upper")[::-1], _steps(job, setup, "under")
    stack_to = stack_from + dividing.stack * job.part.height
    division = divide(tooth.sizes.teeth, machine.dividing,
                      [one.turn - tooth.ways[0].turn for one in tooth.ways[1:]])
    backing = dividing.backing_diameter or tip
    backing_to = stack_to + dividing.backing
    behind = bodies_behind(bodies_of(dividing.behind), backing_to)
    return ToothLayout(
        arrangement=dividing.arrangement or machine.dividing.arrangement,
        zero=dividing.zero,
        tooth=tooth,
        blank_radius=(dividing.blank or tip) / 2,
        stack_from=stack_from,
        stack_to=stack_to,
        backing_to=backing_to,
        backing_radius=backing / 2,
        arbor_radius=(max(body.radius for body in behind) if behind
                      else (dividing.arbor or backing) / 2),
        division=division,
        turn_step=_turn_step(machine.dividing, division),
        safe_height=setup.safe_height,
        clearance=setup.clearance,
        notes=(*_tooth_notes(dividing, tip, dividing.arrangement or machine.dividing.arrangement),
               *_stacked_notes(dividing, job.part.height, steps_down, steps_on)),
        before=bodies_before(bodies_of(dividing.front), dividing.tailstock),
        behind=behind,
        before_said=dividing.front is not None or dividing.tailstock is not None,
        topped=any(job.cutters[step.cutter].topping for step in setup.steps
                   if step.declares().forms_spaces and step.cutter in job.cutters),
        steps_down=steps_down,
        steps_on=steps_on,
        stack=dividing.stack,
        spacer_radius=(dividing.spacers or 0.0) / 2,
        through=_through(job),
    )


def _through(job: Job) -> tuple[Path, ...]:
    """The edges of the part's bore and of the openings of its crossing."""
    part = as_it_lies(features_of_job(job), "upper", "")
    return (*(circle(Point(hole.x, hole.y), hole.diameter / 2) for hole in part.holes),
            *part.openings)


def _turn_step(head: DrivenHead | HandHead, division: Division) -> float:
    """The least that a head turns by: of a word, a pulse, or from hole to hole; degrees."""
    if isinstance(head, HandHead):
        return 360.0 / division.whole
    return head.increment if head.pulses is None else 360.0 / head.pulses


def _steps(job: Job, setup: HeadSetup, face: Face) -> tuple[tuple[float, float], ...]:
    """Radius and length of what a blank has beyond its web on a face, from the web outwards.

    What a later setup clears is not cleared yet.
    """
    if not isinstance(job.part, Wheel):
        return ()
    number = next(n for n, one in enumerate(job.setups) if one.name == setup.name)
    later = {one.name for deed in deeds_of(job) if deed.flat and deed.number > number
             for one in features_of_job(job) if isinstance(one, Recess) and deed.makes(one)}
    below, radius = job.part.thickness, 0.0
    found: list[tuple[float, float]] = []
    for name, (diameter, top) in zip(cleared_on(face), job.part.raised_on(face), strict=False):
        if name not in later:
            radius = diameter / 2
        if radius:
            found.append((radius, top - below))
        below = top
    return tuple(found)


def _stacked_notes(
    dividing: ToothSetup, high: float, steps_down: tuple[tuple[float, float], ...],
    steps_on: tuple[tuple[float, float], ...],
) -> tuple[Message, ...]:
    """How blanks ``high`` mm with hubs lie on the arbor, and what is in the gaps between webs."""
    gap, behind = (sum(length for _, length in steps) for steps in (steps_down, steps_on))
    if not gap and not behind:
        return ()
    begin = dividing.front_backing + gap
    end = begin + high - gap - behind
    notes = [
        Message("blanks with their hubs towards the free end, their flat faces towards the "
                "head: the foremost web, where the cutter is to touch, lies {begin:.3f} to "
                "{end:.3f} mm behind the free face", begin=begin, end=end) if not behind else
        Message("blanks with their upper faces towards the free end and {behind:.3f} mm of hub "
                "towards the head: the foremost web, where the cutter is to touch, lies "
                "{begin:.3f} to {end:.3f} mm behind the free face", behind=behind, begin=begin,
                end=end)]
    if dividing.spacers is not None:
        for steps, length, said in ((steps_down, gap, _ring_before),
                                    (steps_on, behind, _ring_behind)):
            if length:
                notes.append(said(counted("{n} ring", "{n} rings", dividing.stack),
                                  dividing.spacers, 2 * max(radius for radius, _ in steps), length))
    elif dividing.stack > 1:
        notes.append(Message("between the webs the cutter goes through gaps of {gap:.3f} mm, and "
                             "nothing backs the teeth there: look for burrs. Rings over the hubs "
                             "(`spacers`) back them", gap=gap + behind))
    return tuple(notes)


def _ring_before(rings: Message, outside: float, hub: float, gap: float) -> Message:
    return Message("{rings}, D {outside:g} mm, bored to go over a hub of {hub:g} mm and "
                   "faced to {gap:.3f} mm: one before each web, so that it is backed "
                   "where the cutter comes in and out", rings=rings, outside=outside, hub=hub,
                   gap=gap)


def _ring_behind(rings: Message, outside: float, hub: float, gap: float) -> Message:
    return Message("{rings}, D {outside:g} mm, bored to go over a hub of {hub:g} mm and "
                   "faced to {gap:.3f} mm: one behind each web", rings=rings, outside=outside,
                   hub=hub, gap=gap)


def _tooth_notes(dividing: ToothSetup, tip: float, arrangement: Arrangement) -> tuple[Message, ...]:
    """What the operator must know about the arbor and was not told by the job."""
    notes: list[Message] = []
    if dividing.arbor is None and not bodies_of(dividing.behind):
        notes.append(
            Message("the diameter behind the backing is not given (`arbor`): taken as large as "
                    "the backing")
        )
    if (dividing.blank is not None and dividing.zero == "touch"
            and dividing.blank - tip > 2 * TOUCH_TOLD):
        sign, axis = ("" if arrangement.infeed[0] == "-" else "-"), arrangement.infeed[1]
        notes.append(
            Message("blank {blank:.3f} mm: where the cutter touches it, set {axis} to "
                    "{sign}{off:.3f} and not to 0; depths count from the tip circle",
                    blank=dividing.blank, axis=axis, sign=sign,
                    off=(dividing.blank - tip) / 2)
        )
    return tuple(notes)
