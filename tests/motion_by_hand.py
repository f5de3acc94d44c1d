"""Motion, layouts and evidence set down by hand, for tests that want neither planner nor writer."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from shapely import Polygon, box

from camgen.dividing import divide
from camgen.job.models import Job, Setup, StepWords
from camgen.layout import FlatLayout, ToothLayout
from camgen.moves import SetupMoves
from camgen.part.features import Hole
from camgen.part.shape import PartShape
from camgen.part.wheels.wheel import Wheel
from camgen.proof.evidence import Evidence, gather
from camgen.reader.motion import Event, Finding, Kind, Motion, ReadProgram, Told
from camgen.shapes.path import Path, polygon
from camgen.shop.cutters import Cutter, MadeFor
from camgen.shop.machine import Arrangement, CutterChange, DrivenHead, Machine
from camgen.teeth.forms import wheel_tooth

Piece = tuple[object, ...]

MILL = Cutter(kind="end-mill", diameter=1.0)
DISC = Cutter(
    kind="form-disc", diameter=20.0, flutes=14,
    made_for=MadeFor(form="cycloidal-wheel", module=0.14, teeth=75, mate=10),
)


def motion(
    pieces: Sequence[Piece],
    start: tuple[float, float, float] = (0.0, 0.0, 5.0),
    *,
    feed: float = 100.0,
    speed: float = 10000.0,
    cutter: int = 1,
) -> Motion:
    """Motion from short words, the lines counted from 1.

    ``("rapid", x, y, z)``, ``("line", x, y, z)``, ``("cw", x, y, z, cx, cy)`` and ``("ccw", …)`` in
    the plane of X and Y, ``("index", degrees)``; a coordinate of None stays. A piece's last word
    may be a mapping of what else differs: feed, speed, cutter, plane, centre.
    """
    rows: list[dict[str, object]] = []
    at, angle = start, 0.0
    for number, piece in enumerate(pieces, start=1):
        more = piece[-1] if isinstance(piece[-1], dict) else {}
        words = piece[:-1] if more else piece
        kind = {"rapid": Kind.RAPID, "line": Kind.LINE, "cw": Kind.ARC_CLOCKWISE,
                "ccw": Kind.ARC_ANTICLOCKWISE, "index": Kind.INDEX}[str(words[0])]
        end, before = at, angle
        if kind == Kind.INDEX:
            angle = float(words[1])  # type: ignore[arg-type]
        else:
            end = tuple(
                old if new is None else float(new)  # type: ignore[arg-type]
                for old, new in zip(at, words[1:4], strict=True)
            )
        centre = (*words[4:6], np.nan) if kind in (2, 3) else (np.nan,) * 3
        row: dict[str, object] = {
            "kind": int(kind), "line": number, "start": at, "end": end, "centre": centre,
            "plane": 2, "turns": 0, "angle_start": before, "angle_end": angle,
            "feed": feed if kind in (1, 2, 3) else np.nan, "speed": speed, "cutter": cutter,
            "station": 1,
        }
        row.update(more)
        rows.append(row)
        at = end
    whole = ("kind", "line", "plane", "turns", "cutter", "station")
    arrays = {
        name: np.array([row[name] for row in rows],
                       dtype=np.int64 if name in whole else np.float64)
        for name in Motion.__dataclass_fields__
    }
    for name in ("start", "end", "centre"):
        arrays[name] = arrays[name].reshape(-1, 3)
    return Motion(**arrays)


def program(
    pieces: Sequence[Piece],
    *,
    events: Sequence[Event] = (),
    findings: Sequence[Finding] = (),
    words: dict[str, int] | None = None,
    **more: object,
) -> ReadProgram:
    """A program as if read, with the words that every program begins with."""
    found = motion(pieces, **more)  # type: ignore[arg-type]
    begin = ("G17", "G21", "G90", "G40", "G49", "G80", "G94", "G54")
    said = dict.fromkeys(begin, 1) if words is None else words
    turns = [number for number, piece in enumerate(pieces) if piece[0] == "index"]
    told = (*(Told("word", 0, 0, word) for word in said if word[0] == "G"),
            *(Told("head", number + 1, number) for number in turns[:1]), *events)
    return ReadProgram("by-hand.nc", (), found, tuple(events), tuple(findings), "mm", said,
                       told=told)


def flat(
    outline: Path | None = None,
    openings: Sequence[Path] = (),
    holes: Sequence[Hole] = (),
    *,
    places: Sequence[tuple[float, float]] = ((0.0, 0.0),),
    stock: Polygon | None = None,
    thickness: float = 1.0,
    **more: object,
) -> FlatLayout:
    """Flat stock with its top at 0; the part is a square of 10 mm unless another is given."""
    square = polygon([(-5, -5), (5, -5), (5, 5), (-5, 5)])
    words: dict[str, object] = {
        "stock": box(-20, -20, 20, 20) if stock is None else stock, "top": 0.0,
        "bottom": -thickness, "floor": -thickness - 0.5,
        "part": PartShape(outline or square, tuple(openings), tuple(holes)),
        "places": tuple(places), "clamps": (), "holds_slugs": True, "safe_height": 5.0,
        "clearance": 0.5,
    }
    words.update(more)
    return FlatLayout(**words)  # type: ignore[arg-type]


def bench_mill(**more: object) -> Machine:
    """A machine with a driven head and a cutter changer, and otherwise nothing but defaults."""
    words = {"dividing": DrivenHead(), "change": CutterChange(way="automatic"), **more}
    return Machine(name="bench", describes="a bench mill", **words)  # type: ignore[arg-type]


def stack(
    teeth: int = 75, module: float = 0.14, blanks: float = 2.0, **more: object
) -> ToothLayout:
    """A stack on the head along X: −X goes towards the head, +Y into the metal, zero by touch."""
    tooth = wheel_tooth("cycloidal", teeth, module, 10)
    words: dict[str, object] = {
        "arrangement": Arrangement(along="-X", infeed="+Y", across="Z"), "zero": "touch",
        "tooth": tooth, "blank_radius": tooth.tip_radius, "stack_from": 0.0, "stack_to": blanks,
        "backing_to": blanks + 1.5, "backing_radius": tooth.tip_radius, "arbor_radius": 2.0,
        "division": divide(teeth, DrivenHead()), "safe_height": 5.0, "clearance": 0.5,
    }
    words.update(more)
    return ToothLayout(**words)  # type: ignore[arg-type]


# What it is does not matter where the layout is made by hand; a ratchet wheel runs with no mate.
PART = Wheel(form="ratchet", teeth=60, module=0.2, thickness=1.0, bore=1.0)


def evidence(
    layout: FlatLayout | ToothLayout,
    *programs: ReadProgram,
    steps: Sequence[StepWords] = (),
    machine: Machine | None = None,
    moves: SetupMoves | None = None,
    cutter: Cutter | None = None,
) -> Evidence:
    """Evidence of one setup with one cutter, number 1."""
    tool = cutter or (DISC if isinstance(layout, ToothLayout) else MILL)
    setup = Setup(name="work", steps=tuple(steps))
    job = Job(job="by hand", material="brass", wheel=PART, cutters={"cutter": tool},
              setups=(setup,))
    return gather(
        "work", job, machine or bench_mill(), layout, moves, programs, {1: tool}
    )
