"""What stands on the table: stock, finished part, holding and dividing head, in the setup's frame.

Made from the job alone. Steps plan against it, proofs and pictures hold the motion read back
against it; so what was planned and what is proved look at the same things. Lengths mm, angles
degrees.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from shapely import Polygon

from camgen.dividing import Division
from camgen.shapes.path import Path
from camgen.shop.machine import Arrangement
from camgen.teeth.tooth import Tooth

__all__ = ["Clamp", "FlatLayout", "PartShape", "RoundHole", "ToothLayout"]


@dataclass(frozen=True)
class RoundHole:
    """A round hole through the part: name, centre in the part's frame, finished diameter."""

    name: str
    x: float
    y: float
    diameter: float


@dataclass(frozen=True)
class PartShape:
    """The finished part seen from above, in its own frame: what the job means.

    ``outline`` is closed and runs anticlockwise; ``openings`` are closed and go right through.
    """

    outline: Path
    openings: tuple[Path, ...] = ()
    holes: tuple[RoundHole, ...] = ()


@dataclass(frozen=True)
class Clamp:
    """Something that stands up and must not be hit: its plan and the height of its top."""

    plan: Polygon
    top: float


@dataclass(frozen=True)
class FlatLayout:
    """Flat work. ``top`` is the Z of the stock's upper face, ``bottom`` of its lower.

    ``floor`` is the lowest Z a cutter may reach (bottom less what may be cut into); ``places`` the
    centres of the pieces.
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
