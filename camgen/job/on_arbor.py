"""What stands on the arbor before and behind a stack, and how far it reaches.

Bodies of revolution about the arbor. Positions are counted along it from the free face of the
stack, growing towards the head; so all that stands before it is at negative ones. Lengths mm.
"""

import math
from collections.abc import Mapping
from typing import Annotated, Any, Final, Literal

from pydantic import Discriminator, Field, Tag

from camgen.messages import Message
from camgen.shop.machine import Arrangement
from camgen.shop.model import FileModel, Length, LengthOrZero
from camgen.values import dataclass

__all__ = ["FAR", "ArborBody", "Bodies", "HeldWork", "Tailstock", "ToothSetup", "Turned",
           "bodies_before", "bodies_behind", "bodies_of"]

# How far the last thing on either side is taken to go on, mm: beyond any bench.
FAR = 1000.0
# The words that name a body, each with its diameter.
NAMES = ("nut", "washer", "spacer", "driver", "arbor", "collet", "chuck")


class ArborBody(FileModel):
    """One thing on the arbor: what it is, with its largest diameter, and its length along it."""

    nut: Length | None = Field(None, description="a nut: diameter over its corners")
    washer: Length | None = Field(None, description="a washer: diameter")
    spacer: Length | None = Field(None, description="a spacer or collar: diameter")
    driver: Length | None = Field(
        None, description="a driver or carrier: diameter of the circle it sweeps when turned"
    )
    arbor: Length | None = Field(None, description="the arbor itself, bare: diameter")
    collet: Length | None = Field(None, description="a collet or its cap: diameter")
    chuck: Length | None = Field(None, description="a chuck: diameter over its jaws")
    length: Length = Field(description="length along the arbor")

    @property
    def names(self) -> tuple[str, ...]:
        """The words said of what it is: one, where it is rightly said."""
        return tuple(name for name in NAMES if getattr(self, name) is not None)

    @property
    def diameter(self) -> float:
        """Its diameter, mm: the largest where several are said."""
        return max((getattr(self, name) for name in self.names), default=0.0)


class Tailstock(FileModel):
    """The tailstock: its centre, and where its body begins."""

    centre: Length = Field(description="diameter of its centre, behind the point")
    # 60° is that of common lathe centres (ISO 298).
    cone: float = Field(60.0, gt=0, le=180, description="angle of the centre's point, degrees")
    body: Length = Field(description="largest diameter of its body, the quill and what carries it")
    starts: Length = Field(
        alias="from", description="from the free face of the stack to where the body begins"
    )


def _one_or_several(value: Any) -> str:
    return "one" if isinstance(value, dict | ArborBody) else "several"


# One thing, or a list of them from the stack outwards.
Bodies = Annotated[
    Annotated[ArborBody, Tag("one")]
    | Annotated[tuple[ArborBody, ...], Field(max_length=12), Tag("several")],
    Discriminator(_one_or_several),
]


class ToothSetup(FileModel):
    """The dividing head and the stack of blanks on it."""

    stack: int = Field(1, ge=1, le=200, description="blanks cut together")
    backing: LengthOrZero = Field(0.0, description="sacrificial disc behind the stack, thickness")
    front_backing: LengthOrZero = Field(
        0.0, description="sacrificial disc before the stack, thickness"
    )
    spacers: Length | None = Field(
        None, description="diameter of rings over the hubs of blanks, one before each web; no "
        "rings if left out"
    )
    backing_diameter: Length | None = Field(
        None, description="diameter of those discs; else the tip diameter"
    )
    arbor: Length | None = Field(
        None, description="largest diameter behind the backing: what must not be hit"
    )
    behind: Bodies | None = Field(
        None,
        description="instead of arbor: what stands behind the backing, from there to the head; "
        "the last of it goes on",
    )
    front: Bodies | None = Field(
        None,
        description="what stands on the arbor before the stack, from there outwards: a nut, "
        "washer, driver; [] where nothing does",
    )
    slender: bool = Field(
        False, description="true: the arbor is held stiffly though it looks too slender"
    )
    tailstock: Tailstock | None = Field(
        None, description="the tailstock before the stack, where there is one"
    )
    zero: Literal["touch", "axis"] = Field(
        "touch",
        description="infeed zero. touch: cutter touches the blank's outside; axis: the head's axis",
    )
    arrangement: Arrangement | None = Field(
        None, description="how the head stands, where not as the machine file says"
    )
    blank: Length | None = Field(
        None, description="diameter the blank is turned to; else the tip diameter"
    )


class HeldWork(FileModel):
    """A turned part held in the dividing head: how far it stands out, and what holds it."""

    stands_out: Length = Field(
        description="how far the piece stands out: from its free end to what holds it"
    )
    behind: Bodies = Field(
        description="what holds the piece, from where it stands out of it to the head: a collet, a "
        "chuck; the last of it goes on",
    )
    tailstock: Tailstock | None = Field(
        None, description="the tailstock before the free end, where there is one"
    )
    zero: Literal["touch", "axis"] = Field(
        "touch",
        description="infeed zero. touch: cutter touches the piece where it is thickest; axis: the "
        "head's axis",
    )
    arrangement: Arrangement | None = Field(
        None, description="how the head stands, where not as the machine file says"
    )
    rod: Length | None = Field(
        None, description="diameter of the bar that the piece stands on, behind its last section; "
        "else as thick as that"
    )
    pieces: int = Field(
        1, ge=1, le=100, description="pieces one behind the other along the bar, cut in one run"
    )
    pitch: Length | None = Field(
        None, description="from one piece's free end to the next one's, where there are several"
    )


def bodies_of(said: ArborBody | tuple[ArborBody, ...] | None) -> tuple[ArborBody, ...]:
    """What a word of the job names, from the stack outwards; nothing where nothing is said."""
    if said is None:
        return ()
    return (said,) if isinstance(said, ArborBody) else said


_CALLED: Final[Mapping[str, Message]] = {
    "nut": Message("nut"), "washer": Message("washer"), "spacer": Message("spacer"),
    "driver": Message("driver"), "arbor": Message("arbor"), "collet": Message("collet"),
    "chuck": Message("chuck"), "tailstock": Message("tailstock"),
    "tailstock's centre": Message("tailstock's centre"),
    "front backing": Message("front backing"), "blanks": Message("blanks"),
    "backing": Message("backing"), "piece": Message("piece"), "bar": Message("bar"),
}


@dataclass(frozen=True)
class Turned:
    """A body of revolution about the arbor, from ``begin`` to ``end``, ``begin`` < ``end``.

    ``radius`` is its largest, ``near`` that at ``begin`` and ``far`` that at ``end``.
    """

    name: str
    begin: float
    end: float
    near: float
    far: float

    @property
    def called(self) -> Message:
        """What it is, to people."""
        return _CALLED[self.name]

    @property
    def radius(self) -> float:
        """Its largest radius, mm."""
        return max(self.near, self.far)

    @property
    def profile(self) -> tuple[tuple[float, float], ...]:
        """Its whole section through the arbor, anticlockwise: along and away."""
        return ((self.begin, -self.near), (self.end, -self.far), (self.end, self.far),
                (self.begin, self.near))

    def slices(self, count: int = 16) -> "tuple[Turned, ...]":
        """Cylinders that hold all of it: itself, or of a cone so many."""
        if self.near == self.far:
            return (self,)
        step = (self.end - self.begin) / count
        rise = (self.far - self.near) / count
        return tuple(
            cylinder(self.name, self.begin + n * step, self.begin + (n + 1) * step,
                     max(self.near + n * rise, self.near + (n + 1) * rise))
            for n in range(count)
        )


def cylinder(name: str, begin: float, end: float, radius: float) -> Turned:
    """A body of one radius."""
    return Turned(name, begin, end, radius, radius)


def bodies_before(
    front: tuple[ArborBody, ...], tailstock: Tailstock | None
) -> tuple[Turned, ...]:
    """What stands before the free face of the stack, from there outwards.

    The centre's point begins at the outer end of the last thing on the arbor, as wide as that: it
    sits in a hole there that is not known, and cannot be wider. With nothing said to stand there
    the centre is taken straight up to the stack.

    >>> nut = ArborBody(nut=5.0, length=4.0)
    >>> [(one.name, one.begin, one.end) for one in bodies_before((nut,), None)]
    [('nut', -4.0, 0.0)]
    """
    found: list[Turned] = []
    at = 0.0
    for one in front:
        name = one.names[0] if one.names else "arbor"
        found.append(cylinder(name, at - one.length, at, one.diameter / 2))
        at -= one.length
    if tailstock is None:
        return tuple(found)
    wide, body = tailstock.centre / 2, -tailstock.starts
    tip = min(wide, found[-1].radius) if found else wide
    if body < at:
        shoulder = max(body, at - (wide - tip) / math.tan(math.radians(tailstock.cone / 2)))
        if shoulder < at:
            rise = (at - shoulder) * math.tan(math.radians(tailstock.cone / 2))
            found.append(Turned("tailstock's centre", shoulder, at, min(wide, tip + rise), tip))
        if body < shoulder:
            found.append(cylinder("tailstock's centre", body, shoulder, wide))
    found.append(cylinder("tailstock", body - FAR, body, tailstock.body / 2))
    return tuple(found)


def bodies_behind(behind: tuple[ArborBody, ...], start: float) -> tuple[Turned, ...]:
    """What stands behind the backing, which ends at ``start``; the last of it goes on and on."""
    found: list[Turned] = []
    at = start
    for number, one in enumerate(behind):
        length = one.length + (FAR if number == len(behind) - 1 else 0.0)
        name = one.names[0] if one.names else "arbor"
        found.append(cylinder(name, at, at + length, one.diameter / 2))
        at += length
    return tuple(found)
