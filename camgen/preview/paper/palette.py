"""Colours, shades and line styles of every picture and page.

Each role has a colour *and* a style, so that a black-and-white print loses nothing. The hues were
searched for so that what meets on one panel stays far apart in CIE L*a*b* for the three kinds of
dichromat as well, and stands out from the paper as WCAG 2.2 asks (4.5 : 1 for text, 3 : 1 for
lines); a test computes both.
"""

from __future__ import annotations

from dataclasses import field
from typing import Literal, TypeAlias

from camgen.values import dataclass

__all__ = ["DARK", "DASHES", "HATCHES", "LIGHT", "WIDTHS", "Palette", "palette", "shade"]

Dash: TypeAlias = tuple[float, tuple[float, ...]]
OnArbor: TypeAlias = Literal["arbor", "nut", "washer", "spacer", "driver", "collet", "chuck",
                             "tailstock", "backing"]


@dataclass(frozen=True)
class Palette:
    """One set of colours, as ``#RRGGBB``.

    ``paper`` and ``ink`` are ground and text, ``quiet`` secondary text, ``grid`` fine rules.
    ``stock`` fills the metal, ``edge`` draws the finished part. ``shallow`` and ``deep`` are the
    ends of the shade for depth. ``rapid``, ``wanted`` (what the job means), ``left`` (metal that
    should have gone) and ``missing`` (metal that should be there) are told apart by style as well.
    ``holding`` draws what must not be hit, ``mark`` zero, entries and the cutter.
    """

    paper: str
    ink: str
    quiet: str
    grid: str
    stock: str
    edge: str
    shallow: str
    deep: str
    rapid: str
    wanted: str
    left: str
    missing: str
    holding: str
    mark: str
    lines: tuple[str, ...] = field(
        default=("ink", "quiet", "edge", "rapid", "wanted", "left", "missing", "holding", "mark")
    )


LIGHT = Palette(
    paper="#FFFFFF", ink="#1B1B1F", quiet="#55565C", grid="#D9D8D2", stock="#F1EEE4",
    edge="#1B1B1F", shallow="#BFD9E6", deep="#2B5B78", rapid="#8A400F", wanted="#0074D9",
    left="#B07A00", missing="#CC1A80", holding="#55565C", mark="#1B1B1F",
)
DARK = Palette(
    paper="#15181C", ink="#F2F0EA", quiet="#B4B6BC", grid="#343A41", stock="#262A2F",
    edge="#F2F0EA", shallow="#2E4E60", deep="#9CCFE8", rapid="#FFA366", wanted="#5FC3FA",
    left="#E8B83A", missing="#E8338F", holding="#B4B6BC", mark="#F2F0EA",
)

# Dashes in widths of the line (ISO 128-2 names: continuous, dashed, dotted, long-dashed dotted).
DASHES: dict[str, Dash] = {
    "edge": (0, ()),
    "cut": (0, ()),
    "rapid": (0, (0.1, 2.6)),
    "wanted": (0, (5.0, 2.4)),
    "pitch": (0, (11.0, 2.4, 1.0, 2.4)),
    "holding": (0, (3.0, 1.5)),
    "travel": (0, (1.6, 2.2)),
    "fault": (0, ()),
    "hidden": (0, (3.7, 1.6)),
}

# What stands on the arbor beside the blanks, each hatched in its own way; backing is left plain.
HATCHES: dict[OnArbor, str] = {
    "arbor": "////", "nut": "xxxx", "washer": "----", "spacer": "\\\\\\\\", "driver": "++++",
    "collet": "oo", "chuck": "//--", "tailstock": "....", "backing": "",
}

# Line widths, points.
WIDTHS: dict[str, float] = {
    "edge": 1.1, "cut": 0.6, "rapid": 1.1, "wanted": 1.2, "pitch": 0.6, "holding": 0.8,
    "travel": 0.7, "frame": 0.6, "fault": 2.4, "hidden": 0.6,
}


def palette(dark: bool) -> Palette:
    """The colours on dark or on white ground."""
    return DARK if dark else LIGHT


def shade(colours: Palette, depth: float) -> str:
    """The colour for a ``depth`` as a share, from 0 (the surface) to 1 (the deepest cut).

    >>> shade(LIGHT, 0.0), shade(LIGHT, 1.0)
    ('#BFD9E6', '#2B5B78')
    """
    share = min(max(depth, 0.0), 1.0)
    ends = [[int(colour[i:i + 2], 16) for i in (1, 3, 5)]
            for colour in (colours.shallow, colours.deep)]
    return "#" + "".join(f"{round(a + share * (b - a)):02X}"
                         for a, b in zip(ends[0], ends[1], strict=True))
