"""What stands on the table: stock, finished part, holding and dividing head, in the setup's frame.

Made from the job alone. Steps plan against it, proofs and pictures hold the motion read back
against it; so what was planned and what is proved look at the same things. Lengths mm, angles
degrees.
"""

from __future__ import annotations

from dataclasses import field

from shapely import Polygon, box

from camgen.dividing import Division, divide
from camgen.faults import Fault, Place, Refused
from camgen.job.models import Job, Setup, Stock, ToothSetup
from camgen.job.part import blank_diameter, job_tooth, part_bore, part_thickness
from camgen.job.plate import Plate, area_of, path_of
from camgen.job.rounds import rounds_of
from camgen.shapes.crossing import crossing_openings
from camgen.shapes.offset import Area
from camgen.shapes.path import Path, Point, circle
from camgen.shop.machine import Arrangement, Machine
from camgen.teeth.tooth import Tooth
from camgen.values import dataclass

__all__ = [
    "Clamp",
    "FlatLayout",
    "PartShape",
    "Recess",
    "RoundHole",
    "Tab",
    "ToothLayout",
    "flat_layout",
    "part_shape",
    "place_of",
    "tooth_layout",
]

# Chords stand in for round stock only where a picture or a coarse check needs an area.
STOCK_CHORD = 0.005


@dataclass(frozen=True)
class RoundHole:
    """A round hole in the part: name, centre in the part's frame, finished diameter.

    ``group`` is the name that several like it share in the job; ``depth`` mm below the upper face,
    None for a hole right through. ``countersink`` is the width of a cone at the upper face and
    ``thread`` the diameter over the thread in it with its ``pitch``, 0 where there is none;
    ``limits`` the least and the most of its diameter, where the job says any.
    """

    name: str
    x: float
    y: float
    diameter: float
    group: str = ""
    depth: float | None = None
    countersink: float = 0.0
    thread: float = 0.0
    pitch: float = 0.0
    limits: tuple[float, float] | None = None


@dataclass(frozen=True)
class Recess:
    """A pocket of the part: what is cleared, in the part's frame, to ``depth`` mm."""

    name: str
    area: Area
    depth: float


@dataclass(frozen=True)
class PartShape:
    """The finished part seen from above, in its own frame: what the job means.

    ``outline`` is closed and runs anticlockwise; ``openings`` are closed and go right through,
    ``opening_names`` are theirs in a plate. ``blind`` holes and ``recesses`` do not go through.
    """

    outline: Path
    openings: tuple[Path, ...] = ()
    holes: tuple[RoundHole, ...] = ()
    opening_names: tuple[str, ...] = ()
    blind: tuple[RoundHole, ...] = ()
    recesses: tuple[Recess, ...] = ()


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
    """Flat work. ``top`` is the Z of the stock's upper face, ``bottom`` of its lower.

    ``floor`` is the lowest Z a cutter may reach (bottom less what may be cut into); ``places`` the
    centres of the pieces; ``tabs`` what the steps leave on each, known once they are planned.
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


@dataclass(frozen=True)
class ToothLayout:
    """A stack of blanks on the dividing head.

    Positions along the arbor are counted from the free face of the foremost thing on it, growing
    towards the head: ``front_backing`` from 0 to ``stack_from``, the blanks to ``stack_to``, the
    backing to ``backing_to``, then what must not be hit, of radius ``arbor_radius``. ``tooth`` is
    the finished tooth, ``made_space`` the space the cutter in hand leaves.
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


def place_of(job: Job, setup: Setup, *words: str | int) -> Place:
    """Where a word of a setup stands, in the job file's own words; lines are found by the reader.

    ``place_of(job, setup, "repeat", "pitch")`` is ``setups[0].repeat.pitch``.
    """
    number = next(n for n, other in enumerate(job.setups) if other is setup)
    path = f"setups[{number}]"
    for word in words:
        path += f"[{word}]" if isinstance(word, int) else f".{word}"
    return Place(path=path)


def part_shape(job: Job) -> PartShape:
    """The job's plate, or the blank of its wheel or pinion seen along its arbor.

    Raises Refused when the crossing cannot be.
    """
    if job.plate is not None:
        return _plate_shape(job.plate, job.material)
    tooth = job_tooth(job)
    outline = circle(Point(0.0, 0.0), blank_diameter(job, tooth) / 2)
    bore = part_bore(job)
    holes = (RoundHole("bore", 0.0, 0.0, bore),) if bore else ()
    openings: tuple[Path, ...] = ()
    if job.wheel is not None and job.wheel.crossing is not None:
        crossing = job.wheel.crossing
        openings = crossing_openings(
            crossing.arms,
            crossing.hub,
            tooth.sizes.root_diameter - 2 * crossing.rim,
            crossing.arm,
            crossing.arm if crossing.arm_at_hub is None else crossing.arm_at_hub,
            crossing.corner,
        )
    return PartShape(outline, openings, holes)


def _plate_shape(plate: Plate, material: str) -> PartShape:
    holes = [
        RoundHole(
            one.name,
            one.place.x,
            one.place.y,
            one.diameter,
            one.group,
            one.depth,
            one.countersink,
            one.thread.diameter if one.thread else 0.0,
            one.thread.pitch if one.thread else 0.0,
            (one.limits.least, one.limits.most) if one.limits else None,
        )
        for one in rounds_of(plate, material)
    ]
    return PartShape(
        path_of(plate.outline),
        tuple(path_of(shape) for shape in plate.openings.values()),
        tuple(hole for hole in holes if hole.depth is None),
        tuple(plate.openings),
        tuple(hole for hole in holes if hole.depth is not None),
        tuple(
            Recess(name, area_of(pocket), pocket.depth) for name, pocket in plate.pockets.items()
        ),
    )


def flat_layout(job: Job, setup: Setup) -> FlatLayout:
    """The layout of a setup with flat stock; pieces lie about the middle of the stock.

    Raises Refused when there is no stock, or no such part.
    """
    if setup.stock is None:
        raise Refused(
            Fault(
                f"setup {setup.name!r} has neither stock nor a dividing head",
                "add `stock:` for flat work or `dividing:` for tooth cutting",
                place_of(job, setup),
            )
        )
    part = part_shape(job)
    stock, middle = _stock(setup.stock, setup)
    places = _places(setup, middle)
    holding = setup.holding
    bottom = -setup.stock.thickness
    return FlatLayout(
        stock=stock,
        top=0.0,
        bottom=bottom,
        floor=bottom - (holding.cut_into if holding else 0.0),
        part=part,
        places=places,
        clamps=tuple(
            Clamp(box(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)), height)
            for x0, y0, x1, y1, height in (holding.clamps if holding else ())
        ),
        holds_slugs=bool(holding and holding.holds_slugs),
        safe_height=setup.safe_height,
        clearance=setup.clearance,
    )

def _stock(stock: Stock, setup: Setup) -> tuple[Polygon, Point]:
    """The stock's plan with program zero at 0, 0, and where its middle is."""
    length, width = stock.sheet if stock.sheet else (stock.disc or 0.0, stock.disc or 0.0)
    middle = Point(
        {"centre": 0.0, "left": length / 2, "right": -length / 2}[setup.zero.x],
        {"centre": 0.0, "front": width / 2, "back": -width / 2}[setup.zero.y],
    )
    if stock.sheet:
        x, y = middle
        return box(x - length / 2, y - width / 2, x + length / 2, y + width / 2), middle
    return circle(middle, length / 2).region(STOCK_CHORD), middle


def _places(setup: Setup, middle: Point) -> tuple[tuple[float, float], ...]:
    """Centres of the pieces, row by row, every other row backwards so that travel is short."""
    repeat = setup.repeat
    if repeat is None:
        return ((middle.x, middle.y),)
    across, up = repeat.pitch
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


def tooth_layout(job: Job, setup: Setup, machine: Machine) -> ToothLayout:
    """The layout of a setup on the dividing head.

    Raises Refused when the machine has no head, or the head cannot make the divisions.
    """
    dividing = setup.dividing
    if dividing is None:
        raise Refused(
            Fault(
                f"setup {setup.name!r} cuts teeth but has no dividing head",
                "add `dividing:` with the stack and the zero",
                place_of(job, setup),
            )
        )
    if machine.dividing is None:
        raise Refused(
            Fault(
                f"machine {machine.name!r} has no dividing head",
                "choose a machine file with `dividing:`",
                place_of(job, setup, "dividing"),
            )
        )
    tooth = job_tooth(job)
    tip = tooth.sizes.tip_diameter
    stack_from = dividing.front_backing
    stack_to = stack_from + dividing.stack * part_thickness(job)
    backing = dividing.backing_diameter or tip
    return ToothLayout(
        arrangement=dividing.arrangement or machine.dividing.arrangement,
        zero=dividing.zero,
        tooth=tooth,
        blank_radius=(dividing.blank or tip) / 2,
        stack_from=stack_from,
        stack_to=stack_to,
        backing_to=stack_to + dividing.backing,
        backing_radius=backing / 2,
        arbor_radius=(dividing.arbor or backing) / 2,
        division=divide(tooth.sizes.teeth, machine.dividing),
        safe_height=setup.safe_height,
        clearance=setup.clearance,
        notes=_tooth_notes(dividing, tip),
    )


def _tooth_notes(dividing: ToothSetup, tip: float) -> tuple[str, ...]:
    """What the operator must know about the arbor and was not told by the job."""
    notes: list[str] = []
    if dividing.arbor is None:
        notes.append(
            "the diameter behind the backing is not given (`arbor`): taken as large as the backing"
        )
    if dividing.blank is not None and dividing.zero == "touch" and dividing.blank != tip:
        notes.append(
            f"blank {dividing.blank:.3f} mm: infeed zero is {(dividing.blank - tip) / 2:.3f} mm "
            "inside the point where the cutter touches"
        )
    return tuple(notes)
