"""A setup with what stands there."""

from __future__ import annotations

from dataclasses import replace
from typing import TypeAlias

from camgen.job.models import FlatSetup, HeadSetup, RoundSetup
from camgen.job.order.corners_made import corners_made
from camgen.layout.flat import FlatLayout
from camgen.layout.head import ToothLayout
from camgen.layout.round import RoundLayout
from camgen.values import dataclass

__all__ = ["FlatWork", "HeadWork", "RoundWork", "Work"]


@dataclass(frozen=True)
class FlatWork:
    """A setup of flat work, and what stands there."""

    setup: FlatSetup
    layout: FlatLayout

    @property
    def pieces(self) -> int:
        """Made in one run."""
        return self.layout.pieces * self.layout.stations

    @property
    def shown(self) -> FlatLayout:
        """The layout as a picture of this setup has it: of the corners left to a file those alone
        that its own steps leave."""
        part = self.layout.part
        own = tuple(one for one, _ in corners_made(self.setup.steps, part))
        return replace(self.layout, part=replace(part, corners_left=own))


@dataclass(frozen=True)
class HeadWork:
    """A setup on the dividing head, and what stands there."""

    setup: HeadSetup
    layout: ToothLayout

    @property
    def pieces(self) -> int:
        """Made in one run."""
        return self.setup.dividing.stack

    @property
    def shown(self) -> ToothLayout:
        """The layout as a picture of this setup has it."""
        return self.layout


@dataclass(frozen=True)
class RoundWork:
    """Turned work held in the dividing head, and what stands there."""

    setup: RoundSetup
    layout: RoundLayout

    @property
    def pieces(self) -> int:
        """Made in one run."""
        return len(self.layout.places)

    @property
    def shown(self) -> RoundLayout:
        """The layout as a picture of this setup has it."""
        return self.layout


Work: TypeAlias = FlatWork | HeadWork | RoundWork
