"""From the words of tooth cutting (along, infeed, across) to the machine's X, Y and Z, and back."""

from __future__ import annotations

from camgen.layout import ToothLayout
from camgen.moves import Axis, Feed, Rapid
from camgen.shop.machine import Arrangement, SignedAxis
from camgen.values import dataclass

__all__ = ["Frame", "milling_sense", "sense_seen"]

Vector = tuple[float, float, float]


def unit(axis: SignedAxis) -> Vector:
    """The direction of a signed axis.

    >>> unit("-Y")
    (0.0, -1.0, 0.0)
    """
    sign = -1.0 if axis[0] == "-" else 1.0
    return tuple(sign if axis[1] == letter else 0.0 for letter in "XYZ")  # type: ignore[return-value]


def cross_product(a: Vector, b: Vector) -> Vector:
    """a × b."""
    return (
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    )


@dataclass(frozen=True)
class Frame:
    """Program coordinates for positions along the arbor and depths below the tip circle.

    ``position`` counts from the free face towards the head, ``depth`` inwards from the finished tip
    circle; both mm. ``cutter_radius`` is that over the cutting points, ``largest`` that of the
    largest cutter of the setup, if it is larger.
    """

    layout: ToothLayout
    cutter_radius: float
    largest: float = 0.0

    @property
    def along_axis(self) -> Axis:
        """The letter of the axis along the arbor."""
        return self.layout.arrangement.along[1]  # type: ignore[return-value]

    @property
    def infeed_axis(self) -> Axis:
        """The letter of the axis that goes into the metal."""
        return self.layout.arrangement.infeed[1]  # type: ignore[return-value]

    @property
    def outside(self) -> float:
        """How far the outside of blanks and backing stands above the finished tip circle, mm."""
        tip = self.layout.tooth.sizes.tip_diameter / 2
        return max(self.layout.blank_radius, self.layout.backing_radius) - tip

    @property
    def safe(self) -> float:
        """The infeed coordinate at which any cutter is clear of everything on the head."""
        highest = max(body.radius for body in self.layout.bodies)
        over = highest - self.layout.tooth.sizes.tip_diameter / 2 + self.layout.clearance
        widest = Frame(self.layout, max(self.cutter_radius, self.largest))
        return widest.infeed(-max(self.outside + self.layout.safe_height, over))

    @property
    def clear(self) -> float:
        """The infeed coordinate at which the cutter is just clear of blanks and backing."""
        return self.infeed(-self.outside - self.layout.clearance)

    def infeed(self, depth: float) -> float:
        """The infeed coordinate at ``depth``: from the touch on the tip circle, or axis to axis."""
        sign = -1.0 if self.layout.arrangement.infeed[0] == "-" else 1.0
        if self.layout.zero == "touch":
            return sign * depth
        return -sign * (self.layout.tooth.sizes.tip_diameter / 2 + self.cutter_radius - depth)

    def along(self, position: float) -> float:
        """The coordinate along the arbor."""
        return position * (-1.0 if self.layout.arrangement.along[0] == "-" else 1.0)

    def rapid(self, axis: Axis, value: float) -> Rapid:
        """A rapid move of one axis alone."""
        return Rapid(**{axis.lower(): value})

    def feed(self, feed: float, axis: Axis, value: float) -> Feed:
        """A fed move of one axis alone."""
        return Feed(feed, **{axis.lower(): value})


def milling_sense(layout: ToothLayout, clockwise: bool) -> str:
    """``climb`` or ``conventional``; empty where the arrangement leaves it open.

    The spindle stands along Z (ISO 841), above: where it lies, nobody says on which side.
    """
    if layout.arrangement.across != "Z":
        return ""
    return sense_seen(layout.arrangement, clockwise, "+Z")


def sense_seen(arrangement: Arrangement, clockwise: bool, side: str) -> str:
    """Seen from the spindle, on this side of the work, clockwise turns about the axis to the work.

    A tooth in the metal moves with ω × r, r being the way from the cutter's axis into the metal;
    where that is the cutter's own way along the arbor the cut is conventional, where it is against
    it, climb.
    """
    other = "-" if side[0] == "+" else "+"
    axis = unit(f"{other if clockwise else side[0]}{side[1]}")  # type: ignore[arg-type]
    tooth_way = cross_product(axis, unit(arrangement.infeed))
    same = sum(a * b for a, b in zip(tooth_way, unit(arrangement.along), strict=True))
    return "conventional" if same > 0 else "climb"
