"""The job file's words, as typed and checked models.

Lengths are in mm once read (a job file may say ``units: inch``; reading converts), angles in
degrees. The models hold what a job *means*; where each word stood in the file is kept beside them
in :class:`camgen.job.reading.JobFile`.
"""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from camgen.shop.cutters import Cutter
from camgen.shop.machine import Arrangement
from camgen.shop.model import FileModel

__all__ = [
    "Crossing",
    "Holding",
    "Job",
    "Pinion",
    "Repeat",
    "Setup",
    "StepWords",
    "Stock",
    "ToothSetup",
    "Wheel",
    "Zero",
]

Positive = Annotated[float, Field(gt=0)]
NotNegative = Annotated[float, Field(ge=0)]


class Crossing(FileModel):
    """The openings between hub, rim and arms of a wheel."""

    arms: int = Field(ge=2, le=12, description="number of arms")
    hub: Positive = Field(description="diameter of the hub left standing, mm")
    rim: Positive = Field(description="width of the rim below the tooth roots, mm")
    arm: Positive = Field(description="width of an arm at the rim, mm")
    arm_at_hub: Positive | None = Field(None, description="width at the hub, where tapered, mm")
    corner: Positive = Field(description="corner radius of the openings, mm")


class Wheel(FileModel):
    """A toothed wheel, or with ``form: ratchet`` a ratchet wheel."""

    teeth: int = Field(ge=6, le=1000)
    module: Positive
    form: Literal["cycloidal", "involute", "ratchet"] = "cycloidal"
    mate: int | None = Field(None, ge=4, le=1000, description="leaves or teeth of its mate")
    pressure_angle: float = Field(20.0, gt=5, lt=40, description="involute only, degrees")
    profile_shift: float = Field(0.0, ge=-1, le=1, description="involute only, in modules")
    front: float = Field(0.0, ge=0, le=30, description="ratchet: undercut of the front, degrees")
    back: Literal["straight", "curved"] = Field("straight", description="ratchet: the back's shape")
    depth: Positive | None = Field(None, description="ratchet: depth of the teeth, mm")
    thickness: Positive
    bore: Positive
    crossing: Crossing | None = None


class Pinion(FileModel):
    """A pinion cut from the solid."""

    leaves: int = Field(ge=5, le=60)
    module: Positive
    form: Literal["cycloidal", "involute"] = "cycloidal"
    addendum: Literal["round", "one-third-ogive", "two-thirds-ogive"] = "one-third-ogive"
    mate: int = Field(ge=6, le=1000, description="teeth of the wheel that drives it")
    pressure_angle: float = Field(20.0, gt=5, lt=40)
    profile_shift: float = Field(0.0, ge=-1, le=1)
    length: Positive = Field(description="length of the leaves along the arbor, mm")
    bore: NotNegative = Field(0.0, description="0 for a pinion in one piece with its arbor")


class Stock(FileModel):
    """What is put on the machine: a sheet, a disc or a round bar."""

    sheet: tuple[Positive, Positive] | None = Field(None, description="length and width, mm")
    disc: Positive | None = Field(None, description="diameter, mm")
    thickness: Positive = Field(description="mm")


class Zero(FileModel):
    """Where the program's zero lies on the stock."""

    x: Literal["centre", "left", "right"] = "centre"
    y: Literal["centre", "front", "back"] = "centre"
    z: Literal["top"] = "top"


class Holding(FileModel):
    """How the work is held, and what lies under it."""

    by: str = Field(description="in words, for the sheet")
    carrier: str | None = Field(None, description="material of the plate beneath")
    carrier_thickness: NotNegative = Field(0.0, description="mm")
    cut_into: NotNegative = Field(
        0.0, description="how far cutters may go into what lies beneath, mm"
    )
    holds_slugs: bool = Field(False, description="true: glue or carrier keeps loose pieces")
    clamps: tuple[tuple[float, float, float, float, float], ...] = Field(
        (), description="each: x from, y from, x to, y to, height above the stock, mm"
    )


class Repeat(FileModel):
    """Several pieces from one stock, in rows and columns about the stock's middle."""

    columns: int = Field(1, ge=1, le=100)
    rows: int = Field(1, ge=1, le=100)
    pitch: tuple[Positive, Positive]


class ToothSetup(FileModel):
    """The dividing head and the stack of blanks on it."""

    stack: int = Field(1, ge=1, le=200, description="blanks cut together")
    backing: NotNegative = Field(0.0, description="sacrificial disc behind the stack, mm")
    front_backing: NotNegative = Field(0.0, description="sacrificial disc before the stack, mm")
    backing_diameter: Positive | None = Field(None, description="else the tip diameter, mm")
    arbor: Positive | None = Field(None, description="largest diameter behind the backing, mm")
    zero: Literal["touch", "axis"] = "touch"
    arrangement: Arrangement | None = Field(None, description="else the machine's")
    blank: Positive | None = Field(None, description="turned diameter of the blank, mm")


class StepWords(FileModel):
    """The words every step has. A kind of step adds its own."""

    kind: ClassVar[str] = ""
    cutter: str = Field(description="name of one of the job's cutters")
    speed: Positive | None = Field(None, description="spindle speed, rev/min, instead of planned")
    feed: Positive | None = Field(None, description="feed, mm/min, instead of planned")
    note: str | None = None


class Setup(FileModel):
    """One clamping: stock or dividing head, its zero, and the steps in order."""

    name: str = Field(pattern="^[a-z0-9][a-z0-9-]*$", max_length=24)
    stock: Stock | None = None
    zero: Zero = Zero()
    holding: Holding | None = None
    repeat: Repeat | None = None
    dividing: ToothSetup | None = None
    safe_height: Positive = Field(5.0, description="height of travel above zero, mm")
    clearance: Positive = Field(0.5, description="rapid moves end this far from metal, mm")
    steps: tuple[StepWords, ...] = ()


class Job(FileModel):
    """A whole job."""

    job: str = Field(min_length=1, max_length=60)
    note: str = ""
    units: Literal["mm", "inch"] = "mm"
    material: str
    post: str = "plain-iso"
    quantity: int = Field(1, ge=1, le=10000)
    wheel: Wheel | None = None
    pinion: Pinion | None = None
    cutters: dict[str, Cutter]
    setups: tuple[Setup, ...] = Field(min_length=1)
