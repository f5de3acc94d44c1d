"""What each kind of cutter can do: one record a kind, asked by everyone who picks a cutter.

A record says how the cutter works and what its end may meet; figures of a kind (usual sizes, the
highest speed) stand in the table ``cutters.yaml`` under the same name.
"""

from __future__ import annotations

from dataclasses import replace
from enum import Enum
from typing import Final, Literal, Protocol

from camgen.messages import Message
from camgen.values import dataclass

__all__ = ["RECORDS", "Ability", "CutterKind", "CutterRecord", "EdgeForm", "End", "Way",
           "kinds_of", "kinds_that_can", "record_of"]

CutterKind = Literal[
    "drill", "spot-drill", "end-mill", "ball-end-mill", "bull-end-mill", "chamfer-mill", "engraver",
    "countersink", "counterbore", "reamer", "boring-bar", "tap", "thread-mill", "form-disc",
    "fly-cutter", "slitting-saw", "probe",
]


class Way(Enum):
    """The way a cutter cuts, by which its planner is found."""

    MILLING = "milling"
    DRILLING = "drilling"
    TAPPING = "tapping"
    BORING = "boring"
    THREAD_MILLING = "thread milling"
    FORM_CUTTING = "form cutting"
    TOUCHING = "touching"


class EdgeForm(Enum):
    """The shape of the edge seen from the side."""

    FLAT = "flat"
    """A flat end, with a radius at the corner where one is said."""
    BALL = "ball"
    CONE = "cone"
    """A cone that cuts on its side, with a flat of ``tip`` at its point."""
    DRILL_POINT = "drill point"
    """A cone that cuts its way down, and a straight side above it."""
    LEAD = "lead"
    """Tapered at its beginning, full further up."""
    SINGLE_POINT = "single point"
    """One corner, turning about the axis."""
    FORM = "form"
    """GroundChart to the form of the space it leaves."""


class End(Enum):
    """What the end of a cutter may meet, going down."""

    SOLID = "solid"
    """Solid metal, straight down."""
    SIDEWAYS = "sideways"
    """Metal only while it moves sideways: it ramps, comes from beside, or needs an opening."""
    OPEN = "open"
    """No solid metal at all: the hole must be open before it."""


class Ability(Enum):
    """What a step may need of a cutter."""

    DRILL = "drill a hole from solid"
    SPOT = "spot a hole"
    SINK = "sink a cone"
    SPOT_AND_SINK = "sink a cone into whole metal"
    COUNTERBORE = "counterbore"
    REAM = "ream"
    TAP = "tap a thread"
    MILL_THREAD = "mill a thread"
    BORE = "bore a hole to size"
    MILL_WALL = "mill a wall with a sharp foot"
    MILL_FLOOR = "mill a flat floor"
    CUT_FORM = "cut the form it is ground to"
    TOUCH = "touch a face to set a zero by it"
    ROUGH_SPACES = "take metal out of a tooth space before it is formed"


@dataclass(frozen=True)
class CutterRecord:
    """What is known of a kind of cutter, whatever its size.

    ``name`` is what it is called, ``told`` the same in the capitals of a program; ``said`` are
    further trade words for the kind. ``sideways``: it cuts when fed across its axis.
    ``own_size``: the hole it makes is as wide as itself. ``sharp_form``: ground to its form, and
    sharp whatever its diameter; ``half_round``: its body is half a bar.
    """

    kind: CutterKind
    name: Message
    told: Message
    way: Way
    edge: EdgeForm
    end: End
    abilities: frozenset[Ability] = frozenset()
    sideways: bool = False
    own_size: bool = False
    sharp_form: bool = False
    half_round: bool = False
    said: tuple[str, ...] = ()

    def can(self, *abilities: Ability) -> bool:
        """Whether it can do one of these."""
        return any(one in self.abilities for one in abilities)

    @property
    def plunges(self) -> bool:
        """Whether it may go straight down into solid metal."""
        return self.end is End.SOLID

    @property
    def meets_solid(self) -> bool:
        """Whether its end may meet solid metal at all; else the hole must be open before it."""
        return self.end is not End.OPEN

    @property
    def axial(self) -> bool:
        """Whether it only cuts along its axis: drills, reamers, sinks, taps."""
        return self.way in (Way.DRILLING, Way.TAPPING)

    @property
    def mills(self) -> bool:
        """Whether it cuts with its side where it is fed across its axis, as a mill does."""
        return self.sideways and not self.on_arbor

    @property
    def whole_width(self) -> bool:
        """Whether it goes as deep as its work with its whole width: no cone, no disc."""
        return not (self.pointed or self.on_arbor)

    @property
    def pointed(self) -> bool:
        """Whether it cuts with the side of a cone."""
        return self.edge is EdgeForm.CONE

    @property
    def conical(self) -> bool:
        """Whether its end is a cone with an angle: pointed cutters and drills."""
        return self.edge in (EdgeForm.CONE, EdgeForm.DRILL_POINT)

    @property
    def ball(self) -> bool:
        """Whether its end is half a ball."""
        return self.edge is EdgeForm.BALL

    @property
    def flat(self) -> bool:
        """Whether its end is flat, with or without a radius at the corner."""
        return self.edge is EdgeForm.FLAT

    @property
    def drills(self) -> bool:
        """Whether it makes a hole from solid metal."""
        return self.can(Ability.DRILL)

    @property
    def reams(self) -> bool:
        """Whether it brings a drilled hole to size along its axis."""
        return self.can(Ability.REAM)

    @property
    def taps(self) -> bool:
        """Whether it cuts a thread by screwing itself in."""
        return self.can(Ability.TAP)

    @property
    def threads(self) -> bool:
        """Whether it leaves a thread and not a wall."""
        return self.can(Ability.TAP, Ability.MILL_THREAD)

    @property
    def bores(self) -> bool:
        """Whether it bores with a bar."""
        return self.can(Ability.BORE)

    @property
    def sinks(self) -> bool:
        """Whether it sinks a cone along its axis."""
        return self.can(Ability.SINK)

    @property
    def forms(self) -> bool:
        """Whether it leaves the space it was ground to: discs and fly cutters."""
        return self.can(Ability.CUT_FORM)

    @property
    def on_arbor(self) -> bool:
        """Whether it is carried by an arbor across the work, and cuts with its rim."""
        return self.way is Way.FORM_CUTTING

    @property
    def touches(self) -> bool:
        """Whether it cuts nothing: it stands still, and a face is found with it."""
        return self.can(Ability.TOUCH)

    @property
    def single_point(self) -> bool:
        """Whether one corner turns, set out from the axis."""
        return self.edge is EdgeForm.SINGLE_POINT


def _record(
    kind: CutterKind, name: Message, told: Message, way: Way, edge: EdgeForm, end: End,
    *abilities: Ability, **more: object,
) -> CutterRecord:
    return CutterRecord(kind, name, told, way, edge, end, frozenset(abilities),
                        **more)  # type: ignore[arg-type]


RECORDS: Final[dict[CutterKind, CutterRecord]] = {one.kind: one for one in (
    _record("drill", Message("drill", "cutter-names"), Message("DRILL"),
            Way.DRILLING, EdgeForm.DRILL_POINT, End.SOLID, Ability.DRILL, Ability.SPOT,
            own_size=True, said=("twist-drill",)),
    _record("spot-drill", Message("spot drill", "cutter-names"), Message("SPOT DRILL"),
            Way.DRILLING, EdgeForm.CONE, End.SOLID, Ability.SPOT, Ability.SINK,
            Ability.SPOT_AND_SINK,
            said=("spotting-drill",)),
    _record("end-mill", Message("end mill", "cutter-names"), Message("END MILL"),
            Way.MILLING, EdgeForm.FLAT, End.SOLID, Ability.MILL_WALL,
            Ability.MILL_FLOOR, sideways=True, said=("endmill", "slot-drill")),
    _record("ball-end-mill", Message("ball end mill", "cutter-names"), Message("BALL END MILL"),
            Way.MILLING, EdgeForm.BALL, End.SOLID, sideways=True,
            said=("ball-mill", "ball")),
    _record("bull-end-mill", Message("bull end mill", "cutter-names"), Message("BULL END MILL"),
            Way.MILLING, EdgeForm.FLAT, End.SOLID, Ability.MILL_FLOOR,
            sideways=True, said=("bull-mill", "bull")),
    _record("chamfer-mill", Message("chamfer mill", "cutter-names"), Message("CHAMFER MILL"),
            Way.MILLING, EdgeForm.CONE, End.SOLID, sideways=True,
            said=("chamfer",)),
    _record("engraver", Message("engraver", "cutter-names"), Message("ENGRAVER"),
            Way.MILLING, EdgeForm.CONE, End.SOLID, sideways=True, sharp_form=True,
            half_round=True, said=("engraving-point", "engraving-cutter")),
    _record("countersink", Message("countersink", "cutter-names"), Message("COUNTERSINK"),
            Way.DRILLING, EdgeForm.CONE, End.SOLID, Ability.SINK, sideways=True),
    # Its pilot runs in the hole that is there.
    _record("counterbore", Message("counterbore", "cutter-names"), Message("COUNTERBORE"),
            Way.DRILLING, EdgeForm.FLAT, End.OPEN, Ability.COUNTERBORE,
            own_size=True),
    _record("reamer", Message("reamer", "cutter-names"), Message("REAMER"),
            Way.DRILLING, EdgeForm.LEAD, End.OPEN, Ability.REAM, own_size=True),
    _record("boring-bar", Message("boring bar", "cutter-names"), Message("BORING BAR"),
            Way.BORING, EdgeForm.SINGLE_POINT, End.OPEN, Ability.BORE,
            own_size=True),
    _record("tap", Message("tap", "cutter-names"), Message("TAP"),
            Way.TAPPING, EdgeForm.LEAD, End.OPEN, Ability.TAP),
    _record("thread-mill", Message("thread mill", "cutter-names"), Message("THREAD MILL"),
            Way.THREAD_MILLING, EdgeForm.FLAT, End.OPEN, Ability.MILL_THREAD,
            sideways=True),
    _record("form-disc", Message("form disc", "cutter-names"), Message("FORM DISC"),
            Way.FORM_CUTTING, EdgeForm.FORM, End.OPEN, Ability.CUT_FORM, Ability.ROUGH_SPACES,
            sideways=True, sharp_form=True, said=("form-cutter", "disc")),
    _record("fly-cutter", Message("fly cutter", "cutter-names"), Message("FLY CUTTER"),
            Way.FORM_CUTTING, EdgeForm.SINGLE_POINT, End.OPEN, Ability.CUT_FORM,
            Ability.ROUGH_SPACES, sideways=True, sharp_form=True),
    # Its rim is straight: it leaves a slot as wide as itself.
    _record("slitting-saw", Message("slitting saw", "cutter-names"), Message("SLITTING SAW"),
            Way.FORM_CUTTING, EdgeForm.FORM, End.OPEN, Ability.ROUGH_SPACES,
            sideways=True, sharp_form=True, said=("saw", "slotting-saw")),
    # A ball on a stem, or what is put in the spindle instead to find a face or a middle by hand.
    _record("probe", Message("probe", "cutter-names"), Message("PROBE"),
            Way.TOUCHING, EdgeForm.BALL, End.OPEN, Ability.TOUCH, sideways=True,
            said=("edge-finder", "touch-probe", "stylus")),
)}


class _OfAKind(Protocol):
    """A cutter as far as its record hangs on it."""

    @property
    def kind(self) -> CutterKind: ...

    @property
    def plunges(self) -> bool | None: ...


def record_of(cutter: _OfAKind) -> CutterRecord:
    """The record of a cutter's kind, with what the cutter itself says.

    >>> from camgen.shop.cutters import parse_cutter
    >>> record_of(parse_cutter("tap 1 pitch 0.25")).meets_solid
    False
    >>> mill = parse_cutter("end-mill 1").model_copy(update={"plunges": False})
    >>> record_of(mill).plunges, record_of(mill).meets_solid
    (False, True)
    """
    record = RECORDS[cutter.kind]
    if cutter.plunges is False and record.plunges:
        return replace(record, end=End.SIDEWAYS)
    return record


def kinds_of(*ways: Way) -> tuple[CutterKind, ...]:
    """The kinds that cut in one of these ways, in the order of the table.

    >>> kinds_of(Way.FORM_CUTTING)
    ('form-disc', 'fly-cutter', 'slitting-saw')
    """
    return tuple(kind for kind, record in RECORDS.items() if record.way in ways)


def kinds_that_can(*abilities: Ability) -> tuple[CutterKind, ...]:
    """The kinds that can do one of these, in the order of the table.

    >>> kinds_that_can(Ability.CUT_FORM)
    ('form-disc', 'fly-cutter')
    """
    return tuple(kind for kind, record in RECORDS.items() if record.can(*abilities))
