"""What every kind of step has: words, a check, a plan; and the bench it is planned at."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from functools import cached_property
from typing import Any, Final, Generic, Self, TypeAlias, TypeVar

from camgen.cutting.planner import CutPlan, ShopFinding
from camgen.faults import Fault, Place, either
from camgen.job.models import FlatSetup, HeadSetup, Job, RoundSetup, Setup, StepWords
from camgen.job.rack import cutter_numbers
from camgen.layout import FlatLayout, RoundLayout, Tab, ToothLayout, place_of
from camgen.messages import Message
from camgen.moves import Move, Section
from camgen.shop.cutters import Cutter, kinds_that_can, record_of
from camgen.shop.machine import Machine
from camgen.shop.materials import Material
from camgen.values import dataclass

__all__ = [
    "SENSES",
    "TURNS",
    "Bench",
    "BenchOf",
    "FlatBench",
    "HeadBench",
    "PlannedStep",
    "RoundBench",
    "StepKind",
    "cutter_in_words",
]

# Which way a mill cuts, and a spindle turns, in words.
SENSES: Final = {"climb": Message("climb"), "conventional": Message("conventional")}
TURNS: Final = {"clockwise": Message("clockwise"), "anticlockwise": Message("anticlockwise")}

WorkT = TypeVar("WorkT", bound=FlatSetup | HeadSetup | RoundSetup)
LayoutT = TypeVar("LayoutT", bound=FlatLayout | ToothLayout | RoundLayout)


@dataclass(frozen=True)
class BenchOf(Generic[WorkT, LayoutT]):
    """All that a step is planned from. ``number`` is the step's place in the setup, from 0.

    ``work`` is the ``setup`` of the job as what it is, ``layout`` what stands there. ``findings``
    are those of the workshop; the job says whether they are kept to.
    """

    job: Job
    setup: Setup
    work: WorkT
    number: int
    layout: LayoutT
    machine: Machine
    material: Material
    from_space: int | None = None
    findings: tuple[ShopFinding, ...] = ()

    @cached_property
    def words(self) -> StepWords:
        """The step's own words."""
        return self.setup.steps[self.number]

    @cached_property
    def cutter(self) -> Cutter:
        """The step's cutter; the reader of job files saw to it that there is one."""
        return self.job.cutters[self.words.cutter]

    @property
    def whole(self) -> Self:
        """The same, begun at its beginning."""
        return dataclasses.replace(self, from_space=None)

    @property
    def holding(self) -> str:
        """What holds the work, in the job's words."""
        return (self.setup.holding.by if self.setup.holding
                else Message("the holding (not described)"))

    def place(self, *words: str | int) -> Place:
        """Where a word of this step stands in the job file."""
        return place_of(self.job, self.setup, "steps", self.number, self.words.kind, *words)

    def need(self) -> list[Fault]:
        """A fault unless the cutter can do what the step declares; it names the kinds that can."""
        abilities = self.words.declares().by
        if record_of(self.cutter).can(*abilities):
            return []
        return [
            Fault(
                Message("`{step}` cannot be done with {cutter}, which is of kind {kind}",
                        step=self.words.kind, cutter=self.words.cutter, kind=self.cutter.kind),
                Message("a cutter of kind {kinds}", kinds=either(kinds_that_can(*abilities))),
                self.place("cutter"),
            )
        ]

    def section(
        self, title: Message, rpm: float, moves: list[Move], *, clockwise: bool = True
    ) -> Section:
        """The step's moves as a section."""
        return Section(
            title=title,
            step=self.number,
            cutter=self.words.cutter,
            cutter_number=cutter_numbers(self.job)[self.words.cutter],
            cutter_text=cutter_in_words(self.cutter),
            rpm=rpm,
            moves=tuple(moves),
            clockwise=clockwise,
        )


FlatBench: TypeAlias = BenchOf[FlatSetup, FlatLayout]
HeadBench: TypeAlias = BenchOf[HeadSetup, ToothLayout]
RoundBench: TypeAlias = BenchOf[RoundSetup, RoundLayout]
Bench: TypeAlias = FlatBench | HeadBench | RoundBench
BenchT = TypeVar("BenchT", FlatBench, HeadBench, RoundBench)


@dataclass(frozen=True)
class PlannedStep:
    """A step planned: its section, the cut it was planned for, what the operator must know.

    ``tabs`` are what it leaves standing, in the part's frame. ``more`` are further sections, each
    with its cut, where parts of the step are planned for different cuts. ``notes`` are told before
    anyone goes to the machine, too: what the words ask for and may not mean. ``again`` is what
    whoever begins again in this step must know.
    """

    section: Section
    cut: CutPlan
    remarks: tuple[Message, ...] = ()
    tabs: tuple[Tab, ...] = ()
    more: tuple[tuple[Section, CutPlan], ...] = ()
    notes: tuple[Message, ...] = ()
    again: tuple[Message, ...] = ()

    @property
    def sections(self) -> tuple[tuple[Section, CutPlan], ...]:
        """All its sections, in order, each with the cut it was planned for."""
        return ((self.section, self.cut), *self.more)


@dataclass(frozen=True)
class StepKind(Generic[BenchT]):
    """One kind of step; the bench that it takes says where it is done, flat or on the head.

    ``check`` gives every fault that can be seen without planning; ``plan`` may raise Refused.
    """

    kind: str
    words: type[StepWords]
    check: Callable[[BenchT, Any], list[Fault]]
    plan: Callable[[BenchT, Any], PlannedStep]


def cutter_in_words(cutter: Cutter) -> Message:
    """What the operator is told at a change.

    >>> cutter_in_words(Cutter(kind="end-mill", diameter=0.4))
    'END MILL D0.4'
    """
    return Message("{kind} D{size:g}", kind=record_of(cutter).told, size=cutter.diameter)
