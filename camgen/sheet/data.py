"""What the setup sheet says, as plain values: lengths mm, angles degrees, times seconds, grams.

Whoever knows the whole job fills these; the sheet only sets them out. Texts given here are
printed as they are; words of the catalogue (named where they may be used) are put into the
sheet's language.
"""

from __future__ import annotations

from typing import Literal

from camgen.values import dataclass

__all__ = [
    "CornerLine",
    "CutterLine",
    "DividingLine",
    "Dowel",
    "HoleLine",
    "HoleStep",
    "HoleTable",
    "Instructions",
    "Measure",
    "MetalRows",
    "ProgramLine",
    "SetupSheet",
    "SheetData",
    "StationLine",
    "StepLine",
    "TurningOver",
]


@dataclass(frozen=True, slots=True)
class ProgramLine:
    """One program file: its name, how long it runs, and the first figures of its SHA-256 sum."""

    file: str
    seconds: float
    sum: str = ""


@dataclass(frozen=True, slots=True)
class CutterLine:
    """One cutter of a setup.

    ``number`` is its place in the rack or changer, ``what`` its description ("end mill, D 0.40,
    2 flutes"); ``stick_out`` the free length asked for, None where it does not matter; ``speed`` in
    rev/min, ``clockwise`` seen from the spindle towards the work; ``taken`` the sizes that the job
    does not say, as they were taken ("holder 20"); ``offset`` the T word that brings in a length
    offset, which is to be set, "" where none does.
    """

    number: int
    name: str
    what: str
    speed: float
    stick_out: float | None = None
    clockwise: bool = True
    taken: tuple[str, ...] = ()
    offset: str = ""


@dataclass(frozen=True, slots=True)
class StepLine:
    """One step in the order of work.

    ``number`` and ``title`` as in the program's comments; ``cutter`` the cutter's name; ``why`` the
    planner's sentences, each naming the limit that governed; ``way`` is "climb", "conventional"
    or "".
    """

    number: int
    title: str
    cutter: str
    seconds: float
    speed: float = 0.0
    feed: float = 0.0
    why: tuple[str, ...] = ()
    way: Literal["climb", "conventional", "both", ""] = ""


@dataclass(frozen=True, slots=True)
class Measure:
    """One thing to measure, with room to write the value down.

    ``what`` is a word of the catalogue's section ``measures`` ("tip-diameter", "bore",
    "tooth-thickness", …) or a text; ``name`` the word under which ``library record`` takes the
    value back; ``nominal`` in ``unit``; ``at`` the setting it is measured at (the height of a
    tooth vernier), None where there is none. ``correct`` says by how much to correct, as a text
    already in the sheet's language, or "". ``kept``: it is a size of the finished piece, which a
    record keeps.
    """

    what: str
    name: str
    nominal: float
    unit: str = "mm"
    at: float | None = None
    correct: str = ""
    kept: bool = True


@dataclass(frozen=True, slots=True)
class HoleLine:
    """A hole of the table.

    ``name`` as the job's steps and ``library record`` know it; ``x`` and ``y`` as it lies, from the
    zero that the table says; ``size`` what is aimed at, ``limits`` the least and the most
    of it where there are any; ``depth`` None for a hole right through. ``gauge`` says how to gauge
    it and ``note`` what else hangs on it, as texts already in the sheet's language, or "".
    """

    name: str
    x: float
    y: float
    size: float
    limits: tuple[float, float] | None
    depth: float | None
    gauge: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class HoleStep:
    """The holes that one step brings to size, and what to do when they are off; texts as above."""

    title: str
    correct: str
    holes: tuple[HoleLine, ...]


@dataclass(frozen=True, slots=True)
class HoleTable:
    """The table of holes; ``counted`` says where its X and Y count from, as texts above."""

    steps: tuple[HoleStep, ...] = ()
    counted: str = ""


@dataclass(frozen=True, slots=True)
class CornerLine:
    """A corner that the cutter leaves to a file.

    ``of`` is what it is in the wall of; ``x`` and ``y`` its place as drawn, from the part's own
    zero as it lies; ``angle`` that between its walls, degrees; ``left`` from there to the round of
    the cutter, mm.
    """

    of: str
    x: float
    y: float
    angle: float
    left: float


@dataclass(frozen=True, slots=True)
class PieceSheet:
    """What is said of pieces of one job that lie on a stock with others: their ``name``, ``lines``
    on where each lies, their table of holes and corners; texts in the sheet's language."""

    name: str
    lines: tuple[str, ...]
    holes: HoleTable = HoleTable()
    corners: tuple[CornerLine, ...] = ()


@dataclass(frozen=True, slots=True)
class Instructions:
    """What is to be done one after the other, and a ``note`` below, "" for none; texts in the
    sheet's language."""

    heading: str
    steps: tuple[str, ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class DividingLine:
    """The dividing of a setup.

    ``driven`` is the rotary word's letter, or "" for a head turned by hand; ``first_settings`` the
    settings of the first divisions as told by the program, for a check before cutting; errors in
    arc-seconds, ``closing_um`` at the pitch circle in micrometres; ``take_up`` in degrees;
    ``pulses`` are the steps of the head from space to space where it turns by its own, else 0.
    """

    count: int
    driven: str
    worst_arcsec: float
    closing_arcsec: float
    closing_um: float = 0.0
    take_up: float = 0.0
    first_settings: tuple[str, ...] = ()
    pulses: int = 0


@dataclass(frozen=True, slots=True)
class StationLine:
    """One station of a fixture: the word of its work offset, and its zero where the job says it.

    ``at`` is X, Y, Z from the first station's zero, mm, None where it is to be measured.
    """

    offset: str
    at: tuple[float, float, float] | None = None


@dataclass(frozen=True, slots=True)
class Dowel:
    """A hole, with a dowel in it or to look through, where it lies in the setup's frame; mm."""

    name: str
    diameter: float
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class TurningOver:
    """How the piece comes to lie on its dowels, or a wheel on what is in its bore.

    ``face`` is the one that then looks up, ``axis`` the one the piece was turned over about, ""
    where it was not. ``dowels`` are two, that of the zero first, or one, which is a wheel's spigot;
    ``indicated`` where nothing stands in it and its middle is found; ``alike`` when the piece also
    fits onto them turned by half a turn. They may ``stand`` so many mm above the carrier. ``check``
    is a hole made before, to see by that it lies right. ``solid`` when earlier setups cut it.
    ``hub`` is the diameter of what looks down and how far below the web it stands, mm, if any does.
    A ``strip`` is a stock of several pieces, turned over as one.
    """

    face: Literal["upper", "under"]
    axis: Literal["", "X", "Y"]
    dowels: tuple[Dowel, ...]
    stand: float
    alike: bool = False
    check: Dowel | None = None
    solid: bool = False
    indicated: bool = False
    hub: tuple[float, float] | None = None
    strip: bool = False


@dataclass(frozen=True, slots=True)
class SetupSheet:
    """One clamping.

    ``kind`` is "flat", "teeth" or "round", which is turned work in the head. ``stock`` and
    ``holding`` are texts. ``zero`` names X, Y and Z
    by words of the catalogue's section ``zero`` ("centre", "left", "right", "front", "back",
    "top", "carrier", "dowel"; for teeth the words "face", "touch", "axis", "centre-height",
    "any"; for turned work "free-end", "work-touch", "work-axis", "work-middle"), in the order of
    ``zero_axes``. ``size`` is the stock's length and width (or diameter twice), for teeth the
    blank's diameter and the stack's thickness, for turned work its diameter and how far it stands
    out. ``turning`` is how the piece comes onto its dowels, where its zero is one. ``touched_at``
    is where the infeed stands when the cutter touches the work ("Y-13.000"), "" where that is its
    zero; ``from_axis`` both radii, where the zero lies in the work's axis. ``stand`` are sentences
    on how the head stands, ``centring`` how the cutter is centred, ``again`` what to do before
    starting again at a space.
    ``stations`` are those of a fixture, ``station_room`` how far their heights may differ in mm and
    ``station_touch`` whether Z is touched off at each for each cutter. ``pieces`` are those of
    several jobs on one stock. ``held`` says what holds
    part and slugs when the last cut goes through. ``picture`` are the bytes of an image of type
    ``picture_type``, ``picture_says`` its description in words.
    """

    name: str
    kind: Literal["flat", "teeth", "round"]
    programs: tuple[ProgramLine, ...]
    stock: str
    holding: str
    zero_axes: tuple[str, ...]
    zero: tuple[str, ...]
    size: tuple[float, float]
    safe_height: float
    clearance: float
    cutters: tuple[CutterLine, ...]
    steps: tuple[StepLine, ...]
    measures: tuple[Measure, ...] = ()
    holes: HoleTable = HoleTable()
    corners: tuple[CornerLine, ...] = ()
    pieces: tuple[PieceSheet, ...] = ()
    held: str = ""
    stand: tuple[str, ...] = ()
    centring: Instructions | None = None
    again: Instructions | None = None
    dividing: DividingLine | None = None
    turning: TurningOver | None = None
    touched_at: str = ""
    from_axis: str = ""
    stations: tuple[StationLine, ...] = ()
    station_room: float = 0.0
    station_touch: bool = False
    remarks: tuple[str, ...] = ()
    picture: bytes | None = None
    picture_type: str = "image/png"
    picture_says: str = ""


@dataclass(frozen=True, slots=True)
class PieceWeight:
    """How many pieces there are of a name, and what one of them weighs, g."""

    name: str
    pieces: int
    grams: float


@dataclass(frozen=True, slots=True)
class MetalRows:
    """Metal weighed for the whole run, grams: in, in the parts, to be recovered, lost.

    ``fineness`` in thousandths, 0 for base metals. ``price`` is that of a gram of fine metal, of
    the alloy for base metals, in the workshop's own currency; None where it was not given. ``each``
    is what one piece weighs, where parts of several jobs are made from one stock.
    """

    alloy: str
    density: float
    stock: float
    parts: float
    swarf: float
    fineness: float = 0.0
    lost: float = 0.0
    price: float | None = None
    each: tuple[PieceWeight, ...] = ()


@dataclass(frozen=True, slots=True)
class SheetData:
    """The whole sheet.

    ``cautions`` are words of the catalogue's section ``cautions`` or sentences, put into the
    sheet's language where its section ``materials`` knows them; the
    general ones (eyes, hair and sleeves, guards, clamping, first run in air, the machine's manual)
    are always printed and need not be given. ``trusted`` are sentences on what no proof knows of.
    ``proofs`` are the number that held and of all.
    ``standing`` says whether the job is proven at the machine; ``last_run`` what was measured and
    corrected the last time, a line each.
    """

    job: str
    note: str
    material: str
    quantity: int
    machine: str
    machine_says: str
    version: str
    setups: tuple[SetupSheet, ...]
    cautions: tuple[str, ...] = ()
    metal: MetalRows | None = None
    proofs: tuple[int, int] = (0, 0)
    standing: str = ""
    last_run: tuple[str, ...] = ()
    trusted: tuple[str, ...] = ()
