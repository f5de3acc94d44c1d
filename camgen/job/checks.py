"""Whether a job can be, as a thing of metal: sizes against one another, cutters, stock, machine.

Each check looks at one thing and gives faults with their places. Together with what the words say
of themselves (:mod:`camgen.job.agreement`) they are what is known before anything is planned; what
hangs on the way a step is cut is the step's own to check.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from camgen.dividing import divide
from camgen.faults import Fault, Place, Refused
from camgen.job.file import JobFile
from camgen.job.fixture import fixture_faults
from camgen.job.made import making_faults
from camgen.job.models import FlatSetup, HeadSetup, Job, Setup, StepWords, Stock, ToothSetup
from camgen.job.part import blank_diameter
from camgen.job.plate_checks import plate_faults
from camgen.job.stack_checks import stack_faults
from camgen.job.two_sides import two_sides_faults
from camgen.part.declaration import MakesCones, MakesCrossing
from camgen.part.parts import Toothed
from camgen.part.pinion import Pinion
from camgen.part.plate import Plate
from camgen.part.wheel import Crossing, Wheel
from camgen.shapes.crossing import crossing_openings
from camgen.shop.cutters import Cutter, MadeFor, record_of
from camgen.shop.machine import Machine
from camgen.shop.machines import find_machine
from camgen.shop.materials import find_material
from camgen.teeth.tooth import Tooth
from camgen.values import dataclass
from camgen.yamlfile import in_order

__all__ = ["check_job", "job_faults", "machine_for", "metal_faults"]

# Sizes that were meant to be the same may differ by this, mm: a least increment of most machines.
SAME = 0.001


def check_job(
    job_file: JobFile, machine: Machine | None = None, workshop: Path | None = None
) -> None:
    """Raise Refused with every fault of a job that was read; see :func:`job_faults`."""
    faults = job_faults(job_file, machine, workshop)
    if faults:
        raise Refused(faults)


def job_faults(
    job_file: JobFile, machine: Machine | None = None, workshop: Path | None = None
) -> list[Fault]:
    """Every fault of a job as a thing of metal, in the order of the file.

    Without a machine nothing is held against one. ``workshop`` is where a table of materials of
    one's own would be.
    """
    return in_order([*_material(job_file, workshop), *_tooth(job_file),
                     *fixture_faults(job_file, machine),
                     *metal_faults(job_file, machine), *making_faults(job_file)])


def machine_for(
    job_file: JobFile, post: str | None = None, workshop: Path | None = None
) -> Machine:
    """The machine a job is for, ``post`` or the one it names, once the job is checked against it.

    Raises Refused with every fault of the job and of the machine file together.
    """
    faults: list[Fault] = []
    machine = None
    try:
        machine = find_machine(post or job_file.job.post, workshop)
    except Refused as no:
        faults += no.faults if post else _moved(no, job_file.place("post"))
    faults += job_faults(job_file, machine, workshop)
    if machine is None or faults:
        raise Refused(faults)
    return machine


def metal_faults(job_file: JobFile, machine: Machine | None = None) -> list[Fault]:
    """What cannot be of the sizes in a job, whatever its material; the job may have other faults.

    Steps that could not be read are left out, and so is a part that is no tooth at all.
    """
    match job_file.job.given:
        case (Plate() as plate,):
            return [*plate_faults(job_file, plate), *two_sides_faults(job_file)]
        case (Wheel() | Pinion() as part,):
            return _toothed_faults(job_file, part, machine)
        case _:
            return []  # told where the words are looked at: which part is meant is not clear


def _toothed_faults(job_file: JobFile, part: Toothed, machine: Machine | None) -> list[Fault]:
    try:
        tooth = part.tooth()
    except Refused:
        return two_sides_faults(job_file)
    at = _Bench(job_file, part, tooth, machine)
    faults = [*at.sizes(), *at.cutters(), *two_sides_faults(job_file)]
    for number, setup in enumerate(job_file.job.setups):
        faults += at.setup(number, setup)
    return faults


def _material(job_file: JobFile, workshop: Path | None) -> list[Fault]:
    try:
        find_material(job_file.job.material, workshop)
    except Refused as no:
        return _moved(no, job_file.place("material"))
    return []


def _tooth(job_file: JobFile) -> list[Fault]:
    part = job_file.job.part
    if isinstance(part, Plate):
        return []
    try:
        part.tooth()
    except Refused as no:
        return _moved(no, job_file.place(part.word, key=True))
    return []


def _moved(no: Refused, place: Place) -> list[Fault]:
    """Faults of a room that knows nothing of the job file, put where they belong in it."""
    return [fault if fault.place.file else Fault(fault.message, fault.remedy, place)
            for fault in no.faults]


@dataclass(frozen=True)
class _Bench:
    """What the checks look at."""

    job_file: JobFile
    part: Toothed
    tooth: Tooth
    machine: Machine | None

    @property
    def job(self) -> Job:
        return self.job_file.job

    def place(self, *words: str | int) -> Place:
        return self.job_file.place(*words)

    # --- the part -------------------------------------------------------------------------------

    def sizes(self) -> Iterator[Fault]:
        sizes, bore = self.tooth.sizes, self.part.bore
        if bore >= sizes.root_diameter:
            yield Fault(f"bore {bore:g} mm is not smaller than the root diameter, "
                        f"{sizes.root_diameter:.3f} mm", "Look at bore, teeth and module.",
                        self.place(self.part.word, "bore"))
        wheel = self.part
        if not isinstance(wheel, Wheel):
            return
        deep = wheel.depth_said
        if deep is not None and deep >= sizes.tip_diameter / 4:
            yield Fault(f"teeth {deep:g} mm deep on a wheel of {sizes.tip_diameter:.3f} mm",
                        "", self.place("wheel", "depth"))
        if wheel.crossing is not None:
            yield from self.crossing(wheel.crossing, wheel.bore)

    def crossing(self, crossing: Crossing, bore: float) -> Iterator[Fault]:
        at = ("wheel", "crossing")
        inner = self.tooth.sizes.root_diameter - 2 * crossing.rim
        if bore >= crossing.hub:
            yield Fault(f"bore {bore:g} mm is larger than the hub, {crossing.hub:g} mm"
                        if bore > crossing.hub else f"bore and hub are both {bore:g} mm",
                        "A larger hub, or a smaller bore.", self.place("wheel", "bore"))
        if inner <= 0:
            yield Fault(f"a rim {crossing.rim:g} mm wide fills the whole wheel", "Its width counts "
                        "from the root of the teeth inwards.", self.place(*at, "rim"))
            return
        if inner <= crossing.hub:
            yield Fault(f"the hub, {crossing.hub:g} mm, meets the rim, which is {inner:.3f} mm in "
                        "diameter inside", "A smaller hub or a narrower rim.",
                        self.place(*at, "hub"))
            return
        at_hub = crossing.arm if crossing.arm_at_hub is None else crossing.arm_at_hub
        room = crossing.hub * math.sin(math.pi / crossing.arms)
        if at_hub >= room:
            yield Fault(f"{crossing.arms} arms {at_hub:g} mm wide meet before they reach the hub: "
                        f"each has {room:.2f} mm there", "Narrower or fewer arms, or a larger hub.",
                        self.place(*at, "arm" if crossing.arm_at_hub is None else "arm-at-hub"))
            return
        try:
            crossing_openings(crossing.arms, crossing.hub, inner, crossing.arm, at_hub,
                              crossing.corner)
        except Refused as no:
            yield from _moved(no, self.place(*at))

    # --- cutters --------------------------------------------------------------------------------

    def cutters(self) -> Iterator[Fault]:
        for name, cutter in self.job.cutters.items():
            if cutter.made_for is not None and self._cuts_teeth(name):
                yield from self.made_for(name, cutter)

    def _cuts_teeth(self, name: str) -> bool:
        return any(step.cutter == name for setup in self.job.on_head for step in setup.steps)

    def made_for(self, name: str, cutter: Cutter) -> Iterator[Fault]:
        """A cutter for another number of teeth may serve; its error of form is measured later."""
        made = cutter.made_for
        assert made is not None
        at = ("cutters", name, "made-for")
        part = self.part
        if made.form != part.space_form:
            yield Fault(f"{name} was made for {made.form} teeth, the job's are {part.space_form}",
                        "Take another cutter, or look at the form of the part.",
                        self.place(*at, "form"))
        if not math.isclose(made.module, part.module, rel_tol=1e-6):
            yield Fault(f"{name} was made for module {made.module:g}, the job's is "
                        f"{part.module:g}", "Another number of teeth only changes the form a "
                        "little; another module is another tooth.", self.place(*at, "module"))
        if cutter.thickness is not None:
            yield from self.disc(name, cutter.thickness, made)

    def disc(self, name: str, thickness: float, made: MadeFor) -> Iterator[Fault]:
        """A disc must be thicker than the widest of the space that is ground on it."""
        try:
            space = made.tooth().space(SAME)
        except Refused as no:
            yield from _moved(no, self.place("cutters", name, "made-for"))
            return
        width = float(np.ptp(space[:, 1]))
        if thickness < width:
            yield Fault(f"{name} is {thickness:g} mm thick and the space it was made for "
                        f"{width:.3f} mm wide", "Look at its thickness and at made-for.",
                        self.place("cutters", name, "thickness"))

    # --- setups ---------------------------------------------------------------------------------

    def setup(self, number: int, setup: Setup) -> Iterator[Fault]:
        at = ("setups", number)
        for work in setup.given:
            match work:
                case FlatSetup():
                    yield from self.stock(at, work, work.stock)
                    for n, step in self._steps(number, setup):
                        yield from self.flat_step((*at, "steps", n), work, work.stock, step)
                case HeadSetup():
                    yield from self.stack(at, work.dividing)
        if self.machine is not None:
            yield from self.on_machine(self.machine, at, setup)

    def _steps(self, number: int, setup: Setup) -> list[tuple[int, StepWords]]:
        """The steps with their places in the file; none where some could not be read."""
        written = self.job_file.document.get(("setups", number, "steps"))
        whole = isinstance(written, tuple) and len(written) == len(setup.steps)
        return list(enumerate(setup.steps)) if whole else []

    def stock(self, at: tuple[str | int, ...], setup: FlatSetup, stock: Stock) -> Iterator[Fault]:
        thick, wanted = stock.thickness, self.part.thickness
        if abs(thick - wanted) > SAME:
            yield Fault(f"the stock is {thick:g} mm thick and the {self.part.word} {wanted:g} mm",
                        f"No step takes stock to thickness: make {self.part.thickness_word} and "
                        "stock agree.",
                        self.place(*at, "stock", "thickness"))
        blank = blank_diameter(self.job, self.tooth)
        pieces = self._centres(setup)
        width, height = self._extent(setup, blank)
        if stock.rectangle is not None:
            long, wide = stock.rectangle
            what = "sheet" if stock.sheet is not None else "bar"
            if width > long + SAME or height > wide + SAME:
                yield Fault(f"the pieces take {width:.2f} × {height:.2f} mm and the {what} is "
                            f"{long:g} × {wide:g} mm", f"A larger {what}, fewer pieces or a "
                            "smaller pitch.", self.place(*at, "stock", what))
            else:
                yield from self.first(at, setup, stock.rectangle, blank)
        elif stock.disc is not None:
            reach = max(math.hypot(x, y) for x, y in pieces) + blank / 2
            if 2 * reach > stock.disc + SAME:
                yield Fault(f"the pieces need a disc of {2 * reach:.2f} mm and it is "
                            f"{stock.disc:g} mm", "A larger disc, fewer pieces or a smaller pitch.",
                            self.place(*at, "stock", "disc"))
        repeat = setup.repeat
        if repeat is not None:
            for count, pitch, way in ((repeat.columns, repeat.pitch[0], "X"),
                                      (repeat.rows, repeat.pitch[1], "Y")):
                if count > 1 and pitch < blank:
                    yield Fault(f"pieces of {blank:.3f} mm overlap at a pitch of {pitch:g} mm "
                                f"along {way}", "The pitch is one piece and the cutter at least.",
                                self.place(*at, "repeat", "pitch"))
        yield from self.clamps(at, setup, stock, blank)

    def first(self, at: tuple[str | int, ...], setup: FlatSetup, size: tuple[float, float],
              blank: float) -> Iterator[Fault]:
        """Pieces that begin at a corner of the stock must end on it as well."""
        if setup.repeat is None or setup.repeat.first is None:
            return
        for (x, y), extent, long, way in zip(
            (setup.repeat.first,) * 2, self._extent(setup, blank), size, "XY", strict=True
        ):
            begin = (x if way == "X" else y) - blank / 2
            if begin < -SAME or begin + extent > long + SAME:
                yield Fault(f"the pieces lie from {begin:.2f} to {begin + extent:.2f} mm along "
                            f"{way}, and the stock from 0 to {long:g} mm",
                            "first: is the middle of the first piece, from the left end and the "
                            "front edge.", self.place(*at, "repeat", "first"))

    def clamps(self, at: tuple[str | int, ...], setup: FlatSetup, stock: Stock, blank: float
               ) -> Iterator[Fault]:
        if setup.holding is None:
            return
        length, width = stock.rectangle or (stock.disc or 0.0, stock.disc or 0.0)
        # Clamps are given from the program's zero, pieces lie about the middle of the stock.
        middle_x = {"centre": 0.0, "left": length / 2, "right": -length / 2}[setup.zero_x]
        middle_y = {"centre": 0.0, "front": width / 2, "back": -width / 2}[setup.zero.y]
        for n, (x0, y0, x1, y1, height) in enumerate(setup.holding.clamps):
            left, right = sorted((x0, x1))
            low, high = sorted((y0, y1))
            place = self.place(*at, "holding", "clamps", n)
            for x, y in self._centres(setup):
                x, y = x + middle_x, y + middle_y
                off = math.hypot(max(left - x, 0.0, x - right), max(low - y, 0.0, y - high))
                if off < blank / 2:
                    yield Fault(f"the clamp lies over the piece at X {x:g} Y {y:g}",
                                "Put it, or the pieces, somewhere else.", place)
                    break
            if height + setup.clearance > setup.safe_height:
                yield Fault(f"the clamp is {height:g} mm high and travel is at "
                            f"{setup.safe_height:g} mm", "A safe-height of the clamp and the "
                            "clearance at least.", place)

    def flat_step(self, at: tuple[str | int, ...], setup: FlatSetup, stock: Stock, step: StepWords
                  ) -> Iterator[Fault]:
        cutter = self.job.cutters.get(step.cutter)
        if cutter is None or not record_of(cutter).whole_width:
            return
        says = step.declares()
        depth = max((one.depth for one in says.at_holes
                     if not isinstance(one, MakesCones) and one.depth is not None),
                    default=stock.thickness)
        named = ("cutters", step.cutter)
        narrow = cutter.shank is not None and cutter.shank < cutter.diameter
        if cutter.flute_length is not None and cutter.flute_length < depth and not narrow:
            yield Fault(f"{step.cutter} cuts over {cutter.flute_length:g} mm of its length and "
                        f"must go {depth:g} mm deep",
                        "Above its edges it would rub: take one with longer flutes, or say shank: "
                        "where it is relieved.", self.place(*named, "flute-length"))
        if cutter.reach is not None and cutter.reach < depth + setup.clearance:
            yield Fault(f"{step.cutter} stands out {cutter.reach:g} mm and must go {depth:g} mm "
                        f"deep, with {setup.clearance:g} mm to spare above the stock",
                        "The collet would come down on the stock: let the cutter stand out "
                        "further.", self.place(*named, "reach"))
        crosses, crossing = says.makes_a(MakesCrossing), self.part.crossing
        if crosses and crossing is not None:
            corner = crossing.corner
            if corner < cutter.diameter / 2 - 1e-9:
                yield Fault(f"corner radius {corner:g} mm is smaller than that of the cutter "
                            f"{step.cutter}, {cutter.diameter / 2:g} mm",
                            f"Corners of {cutter.diameter / 2:g} mm or more, or a cutter of at "
                            f"most {2 * corner:g} mm.", self.place("wheel", "crossing", "corner"))
        if crosses and crossing is None:
            yield Fault("there is no crossing to cut out",
                        "Add crossing: to the wheel, or leave this step out.", self.place(*at))
        bore = self.part.bore
        holes = tuple(says.holes)
        if holes and not bore:
            yield Fault(f"there is no hole to {step.kind}",
                        "Add bore: to the part, or leave this step out.", self.place(*at))
        elif any(one.round for one in holes) and cutter.diameter >= bore:
            yield Fault(f"{step.cutter}, {cutter.diameter:g} mm, is not smaller than the bore, "
                        f"{bore:g} mm", "Boring goes round in a circle: take a cutter of two "
                        "thirds of the bore or less.", self.place(*at, "cutter"))

    def stack(self, at: tuple[str | int, ...], dividing: ToothSetup) -> Iterator[Fault]:
        def placed(*words: str | int) -> Place:
            return self.place(*at, "dividing", *words)

        sizes = self.tooth.sizes
        yield from stack_faults(dividing, sizes.tip_diameter, sizes.root_diameter,
                                self.part.bore, placed)

    # --- the machine ----------------------------------------------------------------------------

    def on_machine(self, machine: Machine, at: tuple[str | int, ...], setup: Setup
                   ) -> Iterator[Fault]:
        for n, step in self._steps(int(at[-1]), setup):
            low, high = machine.spindle.lowest, machine.spindle.highest
            if step.speed is not None and not low <= step.speed <= high:
                yield Fault(f"{step.speed:g} rev/min is outside what the spindle of "
                            f"{machine.name} can do, {low:g} to {high:g}", "",
                            self.place(*at, "steps", n, "speed"))
            slowest = min(machine.x.feed_limit, machine.y.feed_limit, machine.z.feed_limit)
            if step.feed is not None and step.feed > slowest:
                yield Fault(f"a feed of {step.feed:g} mm/min is more than {machine.name} follows "
                            f"on every axis, {slowest:g}", "",
                            self.place(*at, "steps", n, "feed"))
        for work in setup.given:
            match work:
                case FlatSetup():
                    yield from self.table(machine, at, work)
                case HeadSetup():
                    yield from self.head(machine, at, work)

    def table(self, machine: Machine, at: tuple[str | int, ...], setup: FlatSetup
              ) -> Iterator[Fault]:
        width, height = self._extent(setup, blank_diameter(self.job, self.tooth))
        for need, letter, axis in ((width, "X", machine.x), (height, "Y", machine.y)):
            if need > axis.travel:
                yield Fault(f"the pieces take {need:.1f} mm along {letter} and "
                            f"{machine.name} travels {axis.travel:g} mm", "Fewer pieces.",
                            self.place(*at, "repeat" if setup.repeat else "stock"))
        need = setup.safe_height + setup.stock.thickness
        if need > machine.z.travel:
            yield Fault(f"from the safe height to the bottom are {need:.1f} mm and "
                        f"{machine.name} travels {machine.z.travel:g} mm along Z",
                        "A lower safe-height.", self.place(*at, "safe-height"))

    def head(self, machine: Machine, at: tuple[str | int, ...], setup: HeadSetup
             ) -> Iterator[Fault]:
        dividing = setup.dividing
        if machine.dividing is None:
            yield Fault(f"the machine {machine.name} has no dividing head",
                        "Name another machine file under post:.", self.place("post"))
            return
        try:
            divide(self.tooth.sizes.teeth, machine.dividing)
        except Refused as no:
            yield from _moved(no, self.place(self.part.word, self.part.count_word))
        arrangement = dividing.arrangement or machine.dividing.arrangement
        axis, infeed = machine.axis(arrangement.along[1]), machine.axis(arrangement.infeed[1])
        room = setup.safe_height + self.tooth.sizes.whole_depth
        if room > infeed.travel:
            yield Fault(f"from the safe height to the roots are {room:.1f} mm and {machine.name} "
                        f"travels {infeed.travel:g} mm along {arrangement.infeed[1]}",
                        "A lower safe-height.", self.place(*at, "safe-height"))
        on_arbor = (dividing.front_backing + dividing.stack * self.part.thickness
                    + dividing.backing)
        radius = max((self.job.cutters[step.cutter].diameter / 2 for step in setup.steps
                      if step.cutter in self.job.cutters), default=0.0)
        depth = min(self.tooth.sizes.whole_depth, radius)
        # The cutter starts half its chord and the clearance before the stack; see notes on run-in.
        need = on_arbor + math.sqrt(depth * (2 * radius - depth)) + setup.clearance
        if need > axis.travel:
            yield Fault(f"the stack with its run-in takes {need:.1f} mm and {machine.name} travels "
                        f"{axis.travel:g} mm along {arrangement.along[1]}", "A smaller stack.",
                        self.place(*at, "dividing", "stack"))

    # --- where the pieces lie -------------------------------------------------------------------

    def _centres(self, setup: FlatSetup) -> list[tuple[float, float]]:
        """Centres of the pieces from the middle of the stock."""
        repeat = setup.repeat
        if repeat is None:
            return [(0.0, 0.0)]
        begin_x = -(repeat.columns - 1) / 2 * repeat.pitch[0]
        begin_y = -(repeat.rows - 1) / 2 * repeat.pitch[1]
        size = setup.stock.rectangle
        if repeat.first is not None and size is not None:
            begin_x, begin_y = repeat.first[0] - size[0] / 2, repeat.first[1] - size[1] / 2
        return [(begin_x + column * repeat.pitch[0], begin_y + row * repeat.pitch[1])
                for row in range(repeat.rows) for column in range(repeat.columns)]

    def _extent(self, setup: FlatSetup, blank: float) -> tuple[float, float]:
        """How much the pieces take along X and Y."""
        centres = self._centres(setup)
        return (max(x for x, _ in centres) - min(x for x, _ in centres) + blank,
                max(y for _, y in centres) - min(y for _, y in centres) + blank)
