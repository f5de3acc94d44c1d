"""A small workshop for tests of steps and plans: a machine, jobs as text, moves followed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, cast

from motion_by_hand import PART

from camgen.job.models import Job, Setup, StepWords
from camgen.job.reading import JobFile, parse_job
from camgen.layout import FlatLayout
from camgen.moves import Arc, Drill, Feed, Move, Rapid
from camgen.plan import PlannedSetup, plan_job
from camgen.shapes.path import ArcTo, LineTo, Piece, Point
from camgen.shop.cutters import Cutter
from camgen.shop.machine import Arrangement, DrivenHead, HandHead, Machine, SignedAxis
from camgen.shop.materials import find_material
from camgen.steps import step_words
from camgen.steps.kind import FlatBench

DRIVEN = Machine(name="bench", describes="a bench mill for tests", dividing=DrivenHead())
PLATES = Machine(
    name="bench-by-hand",
    describes="a bench mill with hole plates for tests",
    dividing=HandHead(plates=((15, 16, 17, 18, 19, 20), (21, 23, 27, 29, 31, 33))),
)

WHEEL = """
job: third wheel
material: brass
wheel:
  {teeth: 75, module: 0.14, mate: 10, thickness: 0.25, bore: 0.80,
   crossing: {arms: 5, hub: 2.4, rim: 0.55, arm: 0.45, corner: 0.25}}
cutters:
  spot: {kind: spot-drill, diameter: 1.0, point-angle: 90, reach: 6}
  drill: {kind: drill, diameter: 0.60, flute-length: 5, reach: 6}
  mill: {kind: end-mill, diameter: 0.40, flutes: 2, flute-length: 0.8, reach: 1.6}
  teeth:
    {kind: form-disc, diameter: 20, flutes: 14,
     made-for: {form: cycloidal-wheel, module: 0.14, teeth: 75, mate: 10}}
"""
BLANKS = """
setups:
  - name: blanks
    stock: {sheet: [60, 30], thickness: 0.25}
    holding: {by: shellac on a carrier, carrier: brass, carrier-thickness: 3, cut-into: 0.4,
              holds-slugs: %s}
    repeat: {columns: 2, rows: 2, pitch: [13, 13]}
    steps:
"""
TEETH = """
setups:
  - name: teeth
    dividing: {stack: 8, backing: 1.5, arbor: 4, zero: %s}
    steps:
      - cut-teeth: {cutter: teeth%s}
"""


def read(text: str) -> JobFile:
    """The job in ``text``."""
    return parse_job(text, Path("wheel.yaml"), step_words())


def blanks(*steps: str, holds_slugs: bool = True, wheel: str = WHEEL) -> PlannedSetup:
    """The blanks' setup with these steps, planned."""
    lines = "".join(f"      - {step}\n" for step in steps)
    text = wheel + BLANKS % str(holds_slugs).lower() + lines
    return plan_job(read(text), DRIVEN).setups[0]


def teeth(
    words: str = "", machine: Machine = DRIVEN, zero: str = "touch", from_space: int | None = None
) -> PlannedSetup:
    """The tooth setup with these further words of the step, planned."""
    text = WHEEL + TEETH % (zero, f", {words}" if words else "")
    return plan_job(read(text), machine, from_space=from_space).setups[0]


def arranged(along: SignedAxis, infeed: SignedAxis, across: str) -> Machine:
    """The driven machine with its head set up so."""
    head = DrivenHead(
        arrangement=Arrangement(along=along, infeed=infeed, across=across)  # type: ignore[arg-type]
    )
    return DRIVEN.model_copy(update={"dividing": head})


@dataclass(frozen=True)
class Stroke:
    """One move with where it began; coordinates not yet known are nan."""

    move: Rapid | Feed | Arc
    start: tuple[float, float, float]
    end: tuple[float, float, float]

    @property
    def piece(self) -> tuple[Point, Piece]:
        """The move in the plane, as a piece of a path."""
        start, end = Point(*self.start[:2]), Point(*self.end[:2])
        if isinstance(self.move, Arc):
            return start, ArcTo(end, Point(*self.move.centre), self.move.clockwise)
        return start, LineTo(end)


def strokes(moves: tuple[Move, ...]) -> Iterator[Stroke]:
    """The moves one after the other; holes as the strokes they stand for."""
    at = (float("nan"),) * 3
    for move in moves:
        parts: list[Rapid | Feed | Arc] = []
        if isinstance(move, Drill):
            parts = [
                Rapid(z=move.travel),
                Rapid(x=move.x, y=move.y),
                Rapid(z=move.clearance),
                Feed(move.feed, z=move.bottom),
                Rapid(z=move.travel),
            ]
        elif isinstance(move, Rapid | Feed | Arc):
            parts = [move]
        for part in parts:
            end = (
                at[0] if part.x is None else part.x,
                at[1] if part.y is None else part.y,
                at[2] if part.z is None else part.z,
            )
            yield Stroke(part, at, end)
            at = end


PLATE = """
job: train plate
material: brass-leaded
made-elsewhere: [holes, pockets, openings, outline]
plate:
  thickness: 1.0
  outline: {polygon: [[-9, -7], [9, -7], [9, 2], [2, 2], [2, 8], [-9, 8]], corner: 0.8}
  holes:
    train: {diameter: 1.2, at: [[5, -1]]}
    screws: {diameter: 1.1, ring: {count: 3, diameter: 4, start: 90, at: [-6, 5]}}
    feet: {diameter: 1.5, depth: 0.6, at: [[7, -5]]}
  pockets:
    barrel: {circle: 6, at: [0, -3], depth: 0.5, islands: [{circle: 2}]}
    bridge: {rectangle: [5, 2], corner: 0.5, at: [-3, 4], turned: 20, depth: 0.4}
cutters:
  spot: {kind: spot-drill, diameter: 1.0, point-angle: 90, reach: 6}
  drill: {kind: drill, diameter: 0.90, flute-length: 6, reach: 8}
  mill: {kind: end-mill, diameter: 0.80, flutes: 2, flute-length: 1.6, reach: 2.4}
setups:
  - name: top
    stock: {sheet: [30, 30], thickness: 1.0}
    holding: {by: wax on a carrier, carrier: brass, carrier-thickness: 5, cut-into: 0.5,
              holds-slugs: true}
    steps:
"""


def plate(*steps: str, text: str = PLATE) -> PlannedSetup:
    """The plate's setup with these steps, planned."""
    lines = "".join(f"      - {step}\n" for step in steps)
    return plan_job(read(text + lines), DRIVEN).setups[0]


def bench_of(layout: FlatLayout, cutters: dict[str, Cutter], *steps: StepWords) -> FlatBench:
    """What the last of ``steps`` is planned from, on the bench mill in leaded brass."""
    setup = Setup(name="work", steps=steps)
    job = Job(job="by hand", material="brass-leaded", wheel=PART, cutters=cutters, setups=(setup,))
    # Nothing that is cut flat asks what holds it.
    return FlatBench(job, setup, cast(Any, setup), len(steps) - 1, layout, DRIVEN,
                     find_material("brass-leaded"))
