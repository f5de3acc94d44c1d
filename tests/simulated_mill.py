"""A mill that was built a little wrong, run by a program's text: where its cutter really goes.

It shares no code with writer or reader. Words of plain ISO programs are all it knows: G0 to G3 with
X Y Z I J, A in degrees, comments in parentheses. Each slide has lost motion (it stands still until
that is taken up), goes by a scale, and Y leans from the right angle to X; the head has an error
over its turn. Slides were set to zero coming from smaller places. Lengths mm, angles degrees,
errors of the head arc-seconds.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass, field

__all__ = ["Mill", "Stroke"]


@dataclass(frozen=True)
class Stroke:
    """A place the cutter came to at a feed, with the head's angle."""

    x: float
    y: float
    z: float
    angle: float
    from_z: float


@dataclass
class Mill:
    """The mill, as it stands while it runs."""

    lash: float = 0.0
    scales: tuple[float, float, float] = (1.0, 1.0, 1.0)
    squareness: float = 0.0
    head: Callable[[float], float] = lambda angle: 0.0
    # What a slide stands farther on by, for its place as ISO 841 counts, and what words count by.
    off: tuple[Callable[[float], float], ...] = (lambda at: 0.0,) * 3
    senses: tuple[int, int, int, int] = (1, 1, 1, 1)
    told: list[float] = field(default_factory=lambda: [0.0, 0.0, 50.0])
    slides: list[float] = field(default_factory=lambda: [0.0, 0.0, 50.0])
    angle: float = 0.0
    strokes: list[Stroke] = field(default_factory=list)
    way: list[tuple[float, float, float]] = field(default_factory=list)

    def place(self) -> tuple[float, float, float]:
        """Where the cutter is."""
        x, y, z = (slide * scale + off(slide) - off(0.0) for slide, scale, off in
                   zip(self.slides, self.scales, self.off, strict=True))
        lean = math.radians(self.squareness)
        return x - y * math.sin(lean), y * math.cos(lean), z

    def turned(self) -> float:
        """Where the head stands."""
        return self.angle + (self.head(self.angle) - self.head(0.0)) / 3600.0

    def _go(self, axis: int, there: float) -> None:
        """One slide told where to go: from above it stops short by what is lost."""
        self.told[axis] = there
        self.slides[axis] = min(max(self.slides[axis], there), there + self.lash)

    def run(self, text: str) -> Mill:
        """Run a whole program."""
        motion = "G0"
        for line in text.splitlines():
            words = dict(re.findall(r"([A-Z])([-+]?[0-9]*\.?[0-9]+|[-+]?[0-9]+\.)",
                                    re.sub(r"\(.*?\)", "", line)))
            codes = [f"G{int(code)}" for code in re.findall(r"G(\d+)(?![\d.])",
                                                            re.sub(r"\(.*?\)", "", line))]
            if "G53" in codes or "G28" in codes:
                continue
            motion = next((code for code in codes if code in ("G0", "G1", "G2", "G3")), motion)
            if "A" in words:
                self.angle = self.senses[3] * float(words["A"])
            there = [self.senses[axis] * float(words[name]) if name in words else self.told[axis]
                     for axis, name in enumerate("XYZ")]
            if not any(name in words for name in "XYZIJ"):
                continue
            before = self.place()
            if motion in ("G2", "G3"):
                self._round(there, self.senses[0] * float(words.get("I", 0)),
                            self.senses[1] * float(words.get("J", 0)),
                            (motion == "G2") == (self.senses[0] == self.senses[1]))
            else:
                for axis in range(3):
                    self._go(axis, there[axis])
            if motion != "G0":
                self.strokes.append(Stroke(*self.place(), self.turned(), before[2]))
        return self

    def _round(self, there: list[float], i: float, j: float, clockwise: bool) -> None:
        """A quarter, half or whole circle in small steps."""
        cx, cy = self.told[0] + i, self.told[1] + j
        radius, begin = math.hypot(i, j), math.atan2(-j, -i)
        end = math.atan2(there[1] - cy, there[0] - cx)
        turn = (begin - end if clockwise else end - begin) % (2 * math.pi) or 2 * math.pi
        low = self.told[2]
        for step in range(1, 361):
            at = begin + (-turn if clockwise else turn) * step / 360
            self._go(0, cx + radius * math.cos(at))
            self._go(1, cy + radius * math.sin(at))
            self._go(2, low + (there[2] - low) * step / 360)
            self.way.append(self.place())
        for axis in range(3):
            self._go(axis, there[axis])
