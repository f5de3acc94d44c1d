"""The sheet's table of corners that are left to a file."""

from __future__ import annotations

from camgen.job.models import Setup
from camgen.job.order.corners_made import corners_made
from camgen.layout import FlatLayout
from camgen.sheet.data import CornerLine
from camgen.words import Words

__all__ = ["corners_of"]


def corners_of(setup: Setup, layout: FlatLayout, say: Words) -> tuple[CornerLine, ...]:
    """The corners that the steps of a setup leave, those of one wall together."""
    return tuple(
        CornerLine(one.name or say("corners", "outline"), one.corner.at.x, one.corner.at.y,
                   one.corner.angle, one.corner.left)
        for one, _ in corners_made(setup.steps, layout.part))
