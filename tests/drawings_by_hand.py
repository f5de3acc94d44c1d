"""Drawings for the tests, written out without the libraries that read them."""

from __future__ import annotations

import math
from collections.abc import Sequence

# The train bridge of the demo: a large and a small lobe, joined by a tangent arc on one side and a
# tangent line on the other, mm. 18.6 long and 9 wide; its holes are those that the train plate
# has for it.
LARGE, SMALL = (-4.9, 0.0, 4.5), (5.6, 0.0, 3.6)
NECK = 5.0
HOLES = ((-6.9, -1.0, 0.6), (6.9, -1.0, 0.6), (3.6, 1.0, 0.7), (-3.6, 1.0, 0.7), (0.9, 1.0, 0.4),
         (7.9, 0.6, 0.4))


def dxf(things: Sequence[Sequence[tuple[int, object]]], units: int | None = 4) -> str:
    """A DXF file of a header and ``things``, each its group codes and values."""
    codes: list[tuple[int, object]] = [(0, "SECTION"), (2, "HEADER"), (9, "$ACADVER"),
                                       (1, "AC1015")]
    if units is not None:
        codes += [(9, "$INSUNITS"), (70, units)]
    codes += [(0, "ENDSEC"), (0, "SECTION"), (2, "ENTITIES")]
    for thing in things:
        codes += thing
    codes += [(0, "ENDSEC"), (0, "EOF")]
    return "".join(f"{code}\n{_text(value)}\n" for code, value in codes)


def _text(value: object) -> str:
    return f"{value:.9f}".rstrip("0").rstrip(".") if isinstance(value, float) else str(value)


def line(layer: str, start: tuple[float, float], end: tuple[float, float]
         ) -> list[tuple[int, object]]:
    """A LINE."""
    return [(0, "LINE"), (8, layer), (10, start[0]), (20, start[1]), (11, end[0]), (21, end[1])]


def circle(layer: str, x: float, y: float, radius: float) -> list[tuple[int, object]]:
    """A CIRCLE."""
    return [(0, "CIRCLE"), (8, layer), (10, x), (20, y), (40, radius)]


def arc(layer: str, x: float, y: float, radius: float, begin: float, finish: float
        ) -> list[tuple[int, object]]:
    """An ARC, anticlockwise between two angles in degrees."""
    return [(0, "ARC"), (8, layer), (10, x), (20, y), (40, radius), (50, begin), (51, finish)]


def neck_centre() -> tuple[float, float]:
    """Middle of the arc between the lobes: its distance to each is the sum of the radii."""
    (x, _, r), (u, _, s) = LARGE, SMALL
    apart = u - x
    along = ((r + NECK) ** 2 - (s + NECK) ** 2 + apart**2) / (2 * apart)
    return x + along, math.sqrt((r + NECK) ** 2 - along**2)


def train_bridge() -> str:
    """The drawing of the train bridge, its outline in loose lines and arcs, its holes circles."""
    (x, y, r), (u, v, s) = LARGE, SMALL
    nx, ny = neck_centre()
    to_large = math.degrees(math.atan2(ny - y, nx - x))
    to_small = math.degrees(math.atan2(ny - v, nx - u))
    # The tangent line below leans by the angle whose sine is the difference of radii over distance.
    lean = math.asin((r - s) / (u - x))
    foot = -90.0 + math.degrees(lean)
    sine, cosine = math.sin(math.radians(foot)), math.cos(math.radians(foot))
    outline = [
        arc("outline", u, v, s, foot, to_small),
        line("outline", (x + r * cosine, y + r * sine), (u + s * cosine, v + s * sine)),
        arc("outline", nx, ny, NECK, to_large + 180.0, to_small + 180.0),
        arc("outline", x, y, r, to_large, foot + 360.0),
    ]
    return dxf([*outline, *(circle("holes", *hole) for hole in HOLES)])
