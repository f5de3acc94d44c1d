"""What is the same of all that a dividing head holds, whatever it is."""

from __future__ import annotations

import math

from camgen.shop.machine import Arrangement

__all__ = ["InHead"]


class InHead:
    """What the ``arrangement`` of a head says of every layout in it."""

    arrangement: Arrangement

    @property
    def infeed(self) -> tuple[str, str]:
        """Sign and letter of the axis along which a cutter goes into the work."""
        return self.arrangement.infeed[0], self.arrangement.infeed[1]

    @property
    def clear_at(self) -> float:
        """Where along it a cutter is clear of everything: that depends on the cutter too."""
        return math.nan

    @property
    def seen_along(self) -> tuple[int, int]:
        """Numbers of the two axes of a view from the side: along the arbor, and the infeed."""
        return ("XYZ".index(self.arrangement.along[1]), "XYZ".index(self.arrangement.infeed[1]))

    @property
    def stations(self) -> int:
        """A head stands alone."""
        return 1

    @property
    def station_at(self) -> tuple[tuple[float, float, float], ...]:
        """No other station has a zero."""
        return ()
