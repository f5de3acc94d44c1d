"""What stands on the table: stock, finished part, holding and dividing head, in the setup's frame.

Made from the job alone. Steps plan against it, proofs and pictures hold the motion read back
against it; so what was planned and what is proved look at the same things. Lengths mm, angles
degrees.
"""

from __future__ import annotations

import math
from dataclasses import field, replace
from typing import TypeAlias

from shapely import Point as PlanPoint
from shapely import Polygon, box
from shapely.affinity import scale, translate

from camgen.dividing import Division, divide
from camgen.faults import Fault, Place, Refused
from camgen.job.faces import dowels_of, left_by, thickness_after, turned_about
from camgen.job.models import FlatSetup, HeadSetup, Job, Setup, ToothSetup
from camgen.job.on_arbor import (
    FAR,
    Turned,
    bodies_before,
    bodies_behind,
    bodies_of,
    cylinder,
)
from camgen.job.part import blank_diameter
from camgen.part.features import Hole, Spaces, things_of
from camgen.part.parts import features_of
from camgen.part.plate import Plate
from camgen.part.plate_words import Face
from camgen.part.shape import PartShape, as_it_lies
from camgen.shapes.mirror import Axis, mirrored
from camgen.shapes.path import Point, circle
from camgen.shop.machine import Arrangement, Machine
from camgen.teeth.tooth import Tooth
from camgen.values import dataclass

__all__ = [
    "Clamp",
    "FlatLayout",
    "FlatWork",
    "HeadWork",
    "Tab",
    "ToothLayout",
    "Work",
    "flat_layout",
    "part_shape",
    "place_of",
    "tooth_layout",
]

# Chords stand in for round stock only where a picture or a coarse check needs an area.
STOCK_CHORD = 0.005
# A blank whose outside is within this of the tip circle is touched at zero, mm: half the last
# figure that is told.
TOUCH_TOLD = 0.0005


@dataclass(frozen=True)
class Clamp:
    """Something that stands up and must not be hit: its plan and the height of its top."""

    plan: Polygon
    top: float


@dataclass(frozen=True)
class Tab:
    """A bridge left standing at a wall: within ``radius`` of ``x, y`` metal stays up to ``top``.

    In the part's frame, the same on every piece.
    """

    x: float
    y: float
    radius: float
    top: float


@dataclass(frozen=True)
class FlatLayout:
    """Flat work. ``top`` is the Z of the raw stock's upper face, ``bottom`` of its lower.

    The part's own faces lie between: ``face`` is the Z of the one that looks up, once it is brought
    to size, from which all depths count; ``back`` that of the other. ``over`` mm of the stock above
    the face are taken off by this setup's facing, before any other step; ``spare`` mm below the
    back are left for another setup to take off. ``floor`` is the lowest Z a cutter may reach
    (bottom less what may be cut into); ``places`` are where the pieces have their own zero;
    ``tabs`` what the steps leave on each, known once they are planned.

    ``side`` is the part's face that looks up, ``turned`` the axis it was turned over about, ""
    where it was not. ``part`` is as it lies then: mirrored. ``dowels`` are the part's holes that
    the carrier's dowels stand in, in this setup's frame: the first is its zero of X and Y.

    ``stations`` is how many such stand in a fixture, each with a zero of its own; ``station_at``
    X, Y, Z of their zeros from the first's, where the job says them. ``relieved`` is how deep what
    lies beneath is open under the holes that go right through.
    """

    stock: Polygon
    top: float
    bottom: float
    floor: float
    part: PartShape
    places: tuple[tuple[float, float], ...]
    clamps: tuple[Clamp, ...]
    holds_slugs: bool
    safe_height: float
    clearance: float
    tabs: tuple[Tab, ...] = ()
    over: float = 0.0
    spare: float = 0.0
    side: Face = "upper"
    turned: Axis = ""
    dowels: tuple[Hole, ...] = ()
    stations: int = 1
    station_at: tuple[tuple[float, float, float], ...] = ()
    relieved: float = 0.0

    @property
    def infeed(self) -> tuple[str, str]:
        """Sign and letter of the axis along which a cutter goes into the work."""
        return "-", "Z"

    @property
    def clear_at(self) -> float:
        """Where along it a cutter is clear of everything."""
        return self.safe_height

    @property
    def seen_along(self) -> tuple[int, int]:
        """Numbers of the two axes of a plan view."""
        return 0, 1

    @property
    def face(self) -> float:
        """Z of the part's face that looks up, when it is finished: depths count from here."""
        return self.top - self.over

    @property
    def back(self) -> float:
        """Z of the part's face that looks down."""
        return self.bottom + self.spare

    @property
    def thickness(self) -> float:
        """Of the finished part, mm."""
        return self.face - self.back

    @property
    def over_dowels(self) -> float:
        """How deep from the face the finished part has a recess, a seat or a cone over a dowel.

        A cone counts as deep as the point of 90° that makes it.
        """
        x, y = self.places[0]
        deepest = 0.0
        for one in self.dowels:
            disc = PlanPoint(one.x - x, one.y - y).buffer(one.diameter / 2)
            deepest = max((deepest, *(
                recess.depth for recess in self.part.recesses
                if recess.area.region(0.01).intersects(disc)
            ), *(
                hole.depth or 0.0 for hole in self.part.blind
                if disc.distance(PlanPoint(hole.x, hole.y)) < hole.diameter / 2
            ), *(
                cone.width / 2 for cone in self.part.cones
                if disc.distance(PlanPoint(cone.hole.x, cone.hole.y)) < cone.width / 2
            )))
        return deepest


@dataclass(frozen=True)
class ToothLayout:
    """A stack of blanks on the dividing head.

    Positions along the arbor are counted from the free face of the foremost thing on it, growing
    towards the head: ``front_backing`` from 0 to ``stack_from``, the blanks to ``stack_to``, the
    backing to ``backing_to``, then what must not be hit, of radius ``arbor_radius`` at most:
    ``behind``, where the job says more of it. ``before`` is what stands before the free face, from
    there outwards; ``before_said`` whether the job says what does. ``tooth`` is the finished tooth.
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
    notes: tuple[str, ...] = field(default=())
    before: tuple[Turned, ...] = ()
    behind: tuple[Turned, ...] = ()
    before_said: bool = False

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
    def infeed(self) -> tuple[str, str]:
        """Sign and letter of the axis along which a cutter goes into the work."""
        return self.arrangement.infeed[0], self.arrangement.infeed[1]

    @property
    def clear_at(self) -> float:
        """Where along it a cutter is clear of everything: that depends on the cutter too."""
        return math.nan

    @property
    def seen_along(self) -> tuple[int, int]:
        """Numbers of the two axes of a view from the side: along the arbor, and the infeed."""
        return ("XYZ".index(self.arrangement.along[1]), "XYZ".index(self.arrangement.infeed[1]))

    @property
    def stations(self) -> int:
        """A head stands alone."""
        return 1

    @property
    def station_at(self) -> tuple[tuple[float, float, float], ...]:
        """No other station has a zero."""
        return ()

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
            cylinder("blanks", self.stack_from, self.stack_to, self.blank_radius),
            cylinder("backing", self.stack_to, self.backing_to, self.backing_radius),
        )
        return tuple(body for body in (*reversed(self.before), *stack, *self.after)
                     if body.end > body.begin and body.radius > 0)


@dataclass(frozen=True)
class FlatWork:
    """A setup of flat work, and what stands there."""

    setup: FlatSetup
    layout: FlatLayout

    @property
    def pieces(self) -> int:
        """Made in one run."""
        return len(self.layout.places) * self.layout.stations


@dataclass(frozen=True)
class HeadWork:
    """A setup on the dividing head, and what stands there."""

    setup: HeadSetup
    layout: ToothLayout

    @property
    def pieces(self) -> int:
        """Made in one run."""
        return self.setup.dividing.stack


Work: TypeAlias = FlatWork | HeadWork


def place_of(job: Job, setup: Setup | FlatSetup | HeadSetup, *words: str | int) -> Place:
    """Where a word of a setup stands, in the job file's own words; lines are found by the reader.

    ``place_of(job, setup, "repeat", "pitch")`` is ``setups[0].repeat.pitch``.
    """
    number = next(n for n, other in enumerate(job.setups) if other.name == setup.name)
    path = f"setups[{number}]"
    for word in words:
        path += f"[{word}]" if isinstance(word, int) else f".{word}"
    return Place(path=path)


def part_shape(job: Job, face: Face = "upper", turned: Axis = "") -> PartShape:
    """The job's part with ``face`` up, of a toothed one its blank seen along its arbor.

    One that was ``turned`` over is mirrored. Raises Refused for parts that cannot be.
    """
    features = features_of(job.part, job.material)
    shape = as_it_lies(features, face, turned)
    teeth = next(iter(things_of(features, Spaces)), None)
    if teeth is None:
        return shape
    # A blank has no teeth yet, and may be turned larger.
    return replace(shape, outline=circle(Point(0.0, 0.0), blank_diameter(job, teeth.tooth) / 2))


def flat_layout(job: Job, setup: FlatSetup) -> FlatLayout:
    """The layout of a setup with flat stock; pieces lie about the middle of the stock.

    Raises Refused for parts that cannot be.
    """
    turned = turned_about(setup)
    part = part_shape(job, setup.face, turned)
    dowels = dowels_of(job, setup)
    zero = mirrored(dowels[0].place, turned) if dowels else None
    stock, middle = _stock(job, setup, part, turned, zero)
    places = _places(setup, stock, middle) if zero is None else ((-zero.x, -zero.y),)
    holding = setup.holding
    thickness = setup.stock.thickness
    top = thickness if setup.zero.z == "carrier" else 0.0
    after = thickness_after(job, setup)
    return FlatLayout(
        stock=stock,
        top=top,
        bottom=top - thickness,
        floor=top - thickness - (holding.cut_into if holding else 0.0),
        part=part,
        places=places,
        clamps=tuple(
            Clamp(box(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)), top + height)
            for x0, y0, x1, y1, height in (holding.clamps if holding else ())
        ),
        holds_slugs=bool(holding and holding.holds_slugs),
        safe_height=top + setup.safe_height,
        clearance=setup.clearance,
        over=round(thickness - after, 9),
        spare=(round(after - job.part.thickness, 9) if isinstance(job.part, Plate)
               else 0.0),
        side=setup.face,
        turned=turned,
        dowels=tuple(_dowel(one, turned, zero) for one in dowels if zero is not None),
        stations=setup.fixture.stations if setup.fixture else 1,
        station_at=setup.fixture.at if setup.fixture else (),
        relieved=holding.relieved if holding else 0.0,
    )


def _dowel(hole: Hole, turned: Axis, zero: Point) -> Hole:
    """A hole with a dowel in it, in the setup's frame."""
    place = mirrored(hole.place, turned)
    return replace(hole, place=Point(place.x - zero.x, place.y - zero.y))


def _stock(
    job: Job, setup: FlatSetup, part: PartShape, turned: Axis, zero: Point | None
) -> tuple[Polygon, Point]:
    """The stock's plan with program zero at 0, 0, and where the part's own zero is."""
    left = left_by(job, setup)
    if left.by is not None:
        plan = part.outline.region(STOCK_CHORD) if left.piece else _as_left(job, left.by, turned)
        x0, y0, x1, y1 = plan.bounds
        middle = Point((x0 + x1) / 2, (y0 + y1) / 2)
        length, width = x1 - x0, y1 - y0
    else:
        middle = Point(0.0, 0.0)
        length, width = left.stock.rectangle or (left.stock.disc or 0.0, left.stock.disc or 0.0)
        plan = (box(-length / 2, -width / 2, length / 2, width / 2) if left.stock.rectangle
                else circle(middle, length / 2).region(STOCK_CHORD))
    if zero is not None:
        return translate(plan, -zero.x, -zero.y), Point(-zero.x, -zero.y)
    shift = Point(
        {"centre": 0.0, "left": length / 2, "right": -length / 2}[setup.zero_x] - middle.x,
        {"centre": 0.0, "front": width / 2, "back": -width / 2}[setup.zero.y] - middle.y,
    )
    return translate(plan, *shift), shift


def _as_left(job: Job, before: FlatSetup, turned: Axis) -> Polygon:
    """The stock of a setup before, about the part's own zero, as it lies now; nothing cut away."""
    layout = flat_layout(job, before)
    x, y = layout.places[0]
    plan = translate(layout.stock, -x, -y)
    for axis in (layout.turned, turned):
        plan = scale(plan, -1.0 if axis == "Y" else 1.0, -1.0 if axis == "X" else 1.0,
                     origin=(0.0, 0.0))
    return plan


def _places(
    setup: FlatSetup, stock: Polygon, middle: Point
) -> tuple[tuple[float, float], ...]:
    """Centres of the pieces, row by row, every other row backwards so that travel is short."""
    repeat = setup.repeat
    if repeat is None:
        return ((middle.x, middle.y),)
    across, up = repeat.pitch
    if repeat.first is not None:
        left, front, _, _ = stock.bounds
        middle = Point(left + repeat.first[0] + (repeat.columns - 1) / 2 * across,
                       front + repeat.first[1] + (repeat.rows - 1) / 2 * up)
    places: list[tuple[float, float]] = []
    for row in range(repeat.rows):
        columns = range(repeat.columns)
        for column in columns if row % 2 == 0 else reversed(columns):
            places.append(
                (
                    middle.x + (column - (repeat.columns - 1) / 2) * across,
                    middle.y + (row - (repeat.rows - 1) / 2) * up,
                )
            )
    return tuple(places)


def tooth_layout(job: Job, setup: HeadSetup, machine: Machine) -> ToothLayout:
    """The layout of a setup on the dividing head.

    Raises Refused when the machine has no head, or the head cannot make the divisions.
    """
    dividing = setup.dividing
    if machine.dividing is None:
        raise Refused(
            Fault(
                f"machine {machine.name!r} has no dividing head",
                "choose a machine file with `dividing:`",
                place_of(job, setup, "dividing"),
            )
        )
    tooth = job.part.tooth()
    tip = tooth.sizes.tip_diameter
    stack_from = dividing.front_backing
    stack_to = stack_from + dividing.stack * job.part.thickness
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
        division=divide(tooth.sizes.teeth, machine.dividing),
        safe_height=setup.safe_height,
        clearance=setup.clearance,
        notes=_tooth_notes(dividing, tip, dividing.arrangement or machine.dividing.arrangement),
        before=bodies_before(bodies_of(dividing.front), dividing.tailstock),
        behind=behind,
        before_said=dividing.front is not None or dividing.tailstock is not None,
    )


def _tooth_notes(dividing: ToothSetup, tip: float, arrangement: Arrangement) -> tuple[str, ...]:
    """What the operator must know about the arbor and was not told by the job."""
    notes: list[str] = []
    if dividing.arbor is None and not bodies_of(dividing.behind):
        notes.append(
            "the diameter behind the backing is not given (`arbor`): taken as large as the backing"
        )
    if (dividing.blank is not None and dividing.zero == "touch"
            and dividing.blank - tip > 2 * TOUCH_TOLD):
        sign, axis = ("" if arrangement.infeed[0] == "-" else "-"), arrangement.infeed[1]
        notes.append(
            f"blank {dividing.blank:.3f} mm: where the cutter touches it, set {axis} to "
            f"{sign}{(dividing.blank - tip) / 2:.3f} and not to 0; depths count from the tip circle"
        )
    return tuple(notes)
