"""What spotting, drilling and boring have in common: which holes, how deep."""

from __future__ import annotations

import math
from collections.abc import Sequence

from camgen.faults import Fault, nearest
from camgen.layout import FlatLayout, RoundHole
from camgen.shapes.path import Point
from camgen.shop.cutters import Cutter
from camgen.steps.kind import Bench

__all__ = ["centres", "chosen", "hole_faults", "point_length", "through"]

# How far past the lower face a through cut goes where the job lets it go at all: enough for the
# stock's own tolerance. Common practice, no source.
PAST = 0.05


def hole_faults(bench: Bench, names: Sequence[str] | None) -> list[Fault]:
    """Names of holes that the part does not have."""
    known = [hole.name for hole in bench.flat.part.holes]
    if names is None:
        if known:
            return []
        return [Fault("the part has no hole", "give it a `bore:`", bench.place())]
    return [
        Fault(
            f"the part has no hole called {name!r}",
            f"did you mean {nearest(name, known)!r}?"
            if nearest(name, known)
            else f"its holes: {', '.join(known) or 'none'}",
            bench.place("holes", number),
        )
        for number, name in enumerate(names)
        if name not in known
    ]


def chosen(layout: FlatLayout, names: Sequence[str] | None) -> tuple[RoundHole, ...]:
    """The holes of one piece that are meant: those named, or all."""
    return tuple(hole for hole in layout.part.holes if names is None or hole.name in names)


def centres(layout: FlatLayout, holes: Sequence[RoundHole]) -> list[tuple[RoundHole, Point]]:
    """Each of these holes on each piece, in the order of the pieces."""
    return [
        (hole, Point(x + hole.x, y + hole.y)) for x, y in layout.places for hole in holes
    ]


def point_length(cutter: Cutter, diameter: float | None = None) -> float:
    """Length of a point up to where it is ``diameter`` wide, else the cutter's diameter; mm.

    Half the width less the flat at the tip, over the tangent of half the angle.

    >>> round(point_length(Cutter(kind="drill", diameter=1.0)), 4)
    0.3004
    """
    across = cutter.diameter if diameter is None else diameter
    return max(0.0, across - cutter.tip) / 2 / math.tan(math.radians(cutter.cone_angle / 2))


def through(bench: Bench, extra: float = 0.0) -> tuple[float, list[Fault]]:
    """The Z of a cut right through, ``extra`` mm deeper for a point, and what stands against it."""
    layout = bench.flat
    bottom = layout.bottom - extra
    if bottom >= layout.floor - 1e-9 and layout.floor < layout.bottom:
        return max(bottom - PAST, layout.floor), []
    need = layout.bottom - bottom + PAST
    return bottom, [
        Fault(
            f"going right through needs {need:.2f} mm below the stock, "
            f"{layout.bottom - layout.floor:g} mm are allowed",
            f"`holding: {{cut-into: {need:.2f}}}` with that much of a carrier beneath",
            bench.place(),
        )
    ]
