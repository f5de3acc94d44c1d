"""Spaces of a wheel as they come: which stretch of motion leaves which space."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from shapely import simplify

from camgen.layout import ToothLayout
from camgen.preview.course.track import Track
from camgen.preview.head.cut_teeth import depth_and_place, drawn_at, over_of, space_left
from camgen.shop.cutters import Cutter

__all__ = ["spaces_coming"]

# Half a dot of a screen when the wheel is shown large, mm.
_FINE = 0.0005


def spaces_coming(
    layout: ToothLayout, track: Track, cutters: Mapping[int, Cutter]
) -> tuple[list[tuple[int, float, int]], list[list[list[float]]]]:
    """(stretch, angle of the head in degrees, which shape) in order; and the shapes' corners.

    A shape is the space on the +x axis that the cutter leaves at that depth, mm.
    """
    found: list[tuple[int, float, int]] = []
    kinds: dict[tuple[int, float, float], int] = {}
    shapes: list[list[list[float]]] = []
    for number in sorted(set(track.cutter.tolist()) & set(cutters)):
        own = np.flatnonzero(track.cutting & (track.cutter == number))
        first, begin = depth_and_place(layout, track.start[own], cutters, number)
        last, finish = depth_and_place(layout, track.end[own], cutters, number)
        deep = np.minimum(first, last)
        met = ((deep > 1e-6) & (np.maximum(begin, finish) >= layout.stack_from)
               & (np.minimum(begin, finish) <= layout.stack_to))
        over = over_of(layout, track.end[own[met]])
        for row, depth, beside in zip(own[met].tolist(), deep[met].tolist(), over.tolist(),
                                      strict=True):
            key = number, round(depth, 4), round(beside, 4)
            if key not in kinds:
                kinds[key] = len(shapes)
                line: Any = simplify(space_left(layout, cutters[number], depth, beside),
                                     _FINE).exterior
                shapes.append(np.round(np.asarray(line.coords), 4).tolist())
            at = drawn_at(layout, float(track.angle[row]) % 360.0)
            found.append((row, round(at, 5), kinds[key]))
    return sorted(found), shapes
