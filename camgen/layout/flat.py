"""What stands on the table: stock, finished part, holding, in the frame of the setup."""

from __future__ import annotations

from dataclasses import replace

from shapely import Point as PlanPoint
from shapely import Polygon, box
from shapely.affinity import scale, translate

from camgen.job.models import FlatSetup, Job
from camgen.job.order.deeds import deeds_of
from camgen.job.order.faces import (
    dowels_of,
    indicated_by,
    left_by,
    thickness_after,
    turned_about,
)
from camgen.job.part import blank_diameter
from camgen.part.features import Hole, Recess, Spaces, things_of
from camgen.part.parts import features_of
from camgen.part.plates.plate import Plate
from camgen.part.plates.plate_words import Face
from camgen.part.shape import PartShape, as_it_lies
from camgen.part.wheels.hub import open_to
from camgen.shapes.mirror import MirrorAxis, mirrored
from camgen.shapes.path import Point, circle
from camgen.tolerances import ROUGH_CHORD, STOCK_CHORD
from camgen.values import dataclass

__all__ = ["Clamp", "FlatLayout", "Tab", "flat_layout", "hub_beneath", "part_shape"]



@dataclass(frozen=True)
class Clamp:
    """Something that stands up and must not be hit: its plan and the height of its top."""

    plan: Polygon
    top: float


@dataclass(frozen=True)
class Tab:
    """A bridge left standing at a wall: within ``radius`` of ``x, y`` metal stays up to ``top``.

    In the part's frame, the same on every piece. It stands whole from ``ends`` to ``ends``, both x
    and y on the way of the cutter that finishes the wall: from its middle to its middle where no
    more than a skin stands. ``until`` is the number of the step that is to go through it, if any.
    """

    x: float
    y: float
    radius: float
    top: float
    ends: tuple[tuple[float, float], tuple[float, float]] | None = None
    until: int | None = None


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
    the carrier's dowels stand in, in this setup's frame: the first is its zero of X and Y. Where
    that was found with an indicator in a hole and nothing stands in it, that is ``indicated``.

    ``stations`` is how many such stand in a fixture, each with a zero of its own; ``station_at``
    X, Y, Z of their zeros from the first's, where the job says them. ``relieved`` is how deep what
    lies beneath is open under the holes that go right through. Parts of other jobs on the same
    stock lie ``beside``; the pieces are then ``called`` by names of their own.
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
    turned: MirrorAxis = ""
    dowels: tuple[Hole, ...] = ()
    indicated: tuple[Hole, ...] = ()
    stations: int = 1
    station_at: tuple[tuple[float, float, float], ...] = ()
    relieved: float = 0.0
    beside: tuple[FlatLayout, ...] = ()
    called: tuple[str, ...] = ()

    @property
    def infeed(self) -> tuple[str, str]:
        """Sign and letter of the axis along which a cutter goes into the work."""
        return "-", "Z"

    @property
    def pieces(self) -> int:
        """How many lie on one stock, those of other jobs too."""
        return len(self.places) + sum(len(one.places) for one in self.beside)

    @property
    def divided(self) -> int:
        """Into how many a dividing head parts the work: 0, for none turns it."""
        return 0

    @property
    def height_axis(self) -> str:
        """The axis of a cutter's centre height: none, "", on the table."""
        return ""

    @property
    def clear_at(self) -> float:
        """Where along it a cutter is clear of everything."""
        return self.safe_height

    @property
    def seen_along(self) -> tuple[int, int]:
        """Numbers of the two axes of a plan view."""
        return 0, 1

    @property
    def lies_by(self) -> tuple[Hole, ...]:
        """The holes that the piece is laid by, that of the zero first; none of raw stock."""
        return self.dowels or self.indicated

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
                if recess.area.region(ROUGH_CHORD).intersects(disc)
            ), *(
                hole.depth or 0.0 for hole in self.part.blind
                if disc.distance(PlanPoint(hole.x, hole.y)) < hole.diameter / 2
            ), *(
                cone.width / 2 for cone in self.part.cones
                if disc.distance(PlanPoint(cone.hole.x, cone.hole.y)) < cone.width / 2
            )))
        return deepest


def part_shape(job: Job, face: Face = "upper", turned: MirrorAxis = "") -> PartShape:
    """The job's part with ``face`` up, of a toothed one its blank seen along its arbor.

    One that was ``turned`` over is mirrored. Raises Refused for parts that cannot be.
    """
    features = features_of(job.part, job.material)
    shape = as_it_lies(features, face, turned)
    teeth = next(iter(things_of(features, Spaces)), None)
    if teeth is None:
        return shape
    # A blank has no teeth yet, and may be turned larger.
    blank = blank_diameter(job, teeth.tooth) / 2
    return replace(
        shape, outline=circle(Point(0.0, 0.0), blank),
        recesses=tuple(replace(one, area=open_to(blank, one.area.islands))
                       for one in shape.recesses))


def flat_layout(job: Job, setup: FlatSetup) -> FlatLayout:
    """The layout of a setup with flat stock; pieces lie about the middle of the stock.

    Raises Refused for parts that cannot be.
    """
    turned = turned_about(setup)
    part = part_shape(job, setup.face, turned)
    dowels, indicated = dowels_of(job, setup), indicated_by(job, setup)
    zero = mirrored((dowels or indicated)[0].place, turned) if dowels or indicated else None
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
        indicated=tuple(_dowel(one, turned, zero) for one in indicated if zero is not None),
        stations=setup.fixture.stations if setup.fixture else 1,
        station_at=setup.fixture.at if setup.fixture else (),
        relieved=holding.relieved if holding else 0.0,
    )


def hub_beneath(job: Job, setup: FlatSetup, layout: FlatLayout) -> tuple[float, float] | None:
    """Diameter of what stands below a wheel's web when it lies so, and how far, as earlier setups
    made it; None where nothing does."""
    if isinstance(job.part, Plate):
        return None
    before = [deed for deed in deeds_of(job)
              if deed.order < (next(n for n, one in enumerate(job.setups)
                                    if one.name == setup.name), 0)]
    made = [one for one in layout.part.beneath if isinstance(one, Recess)
            and any(deed.makes(one) for deed in before)]
    if not made:
        return None
    wide = max(x1 - x0 for one in made for island in one.area.islands
               for x0, _, x1, _ in [island.region(STOCK_CHORD).bounds])
    return round(wide, 6), max(one.depth for one in made)


def _dowel(hole: Hole, turned: MirrorAxis, zero: Point) -> Hole:
    """A hole with a dowel in it, in the setup's frame."""
    place = mirrored(hole.place, turned)
    return replace(hole, place=Point(place.x - zero.x, place.y - zero.y))


def _stock(
    job: Job, setup: FlatSetup, part: PartShape, turned: MirrorAxis, zero: Point | None
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


def _as_left(job: Job, before: FlatSetup, turned: MirrorAxis) -> Polygon:
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
    if setup.pieces_at:
        return setup.pieces_at
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


