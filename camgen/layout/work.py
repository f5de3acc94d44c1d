"""A setup with what stands there."""

from __future__ import annotations

from typing import TypeAlias

from camgen.job.models import FlatSetup, HeadSetup, RoundSetup
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
        return len(self.layout.places) * self.layout.stations


@dataclass(frozen=True)
class HeadWork:
    """A setup on the dividing head, and what stands there."""

    setup: HeadSetup
    layout: ToothLayout

    @property
    def pieces(self) -> int:
        """Made in one run."""
        return self.setup.dividing.stack


@dataclass(frozen=True)
class RoundWork:
    """Turned work held in the dividing head, and what stands there."""

    setup: RoundSetup
    layout: RoundLayout

    @property
    def pieces(self) -> int:
        """Made in one run."""
        return len(self.layout.places)


Work: TypeAlias = FlatWork | HeadWork | RoundWork
