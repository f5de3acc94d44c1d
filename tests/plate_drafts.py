"""A random job that is being written, and shapes for it. Lengths mm, angles degrees."""

from __future__ import annotations

import math
import random
from typing import Any

import yaml

__all__ = ["MILLS", "Draft", "Words", "fillet_path", "island", "kidney", "roomy_island",
           "round_about", "star"]

MATERIALS = ("brass-leaded", "brass-leaded", "brass-leaded", "brass-plain", "brass-plain",
             "nickel-silver", "silver-925", "tool-steel-annealed")
MILLS = (0.4, 0.5, 0.6, 0.8, 1.0, 1.2, 1.5, 2.0, 3.0)
Words = dict[str, Any]


class Draft:
    """A job that is being written: its part, cutters and setups."""

    def __init__(self, seed: str) -> None:
        self.rng = random.Random(seed)
        self.material = self.rng.choice(MATERIALS)
        self.thickness = self.rng.choice((0.8, 1.0, 1.2, 1.6))
        self.plate: Words = {}
        self.cutters: Words = {}
        self.steps: list[Words] = []
        self.more: list[Words] = []
        self.stock: Words = {"sheet": [26, 26]}
        self.over = 0.0

    def draw(self, low: float, high: float, digits: int = 2) -> float:
        """A number between two, as one is written."""
        return round(self.rng.uniform(low, high), digits)

    def depth(self, most: float = 0.4) -> float:
        """How deep a pocket is."""
        return self.draw(0.1, min(most, self.thickness - 0.2))

    def mill(self, diameter: float) -> str:
        """The name of an end mill, which may have a small corner radius."""
        name = f"mill-{diameter:g}".replace(".", "")
        known = self.cutters.get(name)
        if known is None:
            deep = round(max(2.0 * diameter, 1.5), 2)
            self.cutters[name] = {"kind": "end-mill", "diameter": diameter,
                                  "flutes": 2 if diameter < 2 else 3, "flute-length": deep,
                                  "reach": round(deep + 1.0, 2)}
            if self.rng.random() < 0.05:
                self.cutters[name]["corner-radius"] = 0.05
        return name

    def drill(self, diameter: float) -> str:
        """The name of a drill."""
        name = f"drill-{diameter:g}".replace(".", "")
        self.cutters[name] = {"kind": "drill", "diameter": diameter, "flute-length": 6, "reach": 8}
        return name

    def within(self, widest: float) -> float:
        """The usual mill that is the largest not wider than so much."""
        return max((one for one in MILLS if one <= widest + 1e-9), default=MILLS[0])

    def falling(self, widest: float, count: int) -> list[float]:
        """So many cutters in falling order, the last of them not wider than ``widest``."""
        last = MILLS.index(self.within(widest))
        above = list(MILLS[last + 1:])
        more = sorted(self.rng.sample(above, min(count - 1, len(above))), reverse=True)
        return [*more, MILLS[last]]

    def pocket(self, cutters: list[float], names: list[str] | None = None) -> None:
        """A step of pockets for each cutter, one after the other."""
        for number, diameter in enumerate(cutters):
            words: Words = {"cutter": self.mill(diameter)}
            if names is not None:
                words["pockets"] = names
            if self.rng.random() < 0.12:
                words["entry"] = "ramp"
            if number == len(cutters) - 1 and self.rng.random() < 0.1:
                words["floor"] = 0.02
            if self.rng.random() < 0.1:
                words["direction"] = "conventional"
            self.steps.append({"pocket": words})

    def text(self) -> str:
        """The job file."""
        holding = {"by": "shellac on a carrier", "carrier": "brass-leaded",
                   "carrier-thickness": 5, "cut-into": 0.4, "holds-slugs": True}
        first = {"name": "upper", "stock": self.stock | {
            "thickness": round(self.thickness + self.over, 3)}, "holding": holding,
            "steps": self.steps}
        whole: Words = {
            "job": "random plate", "material": self.material,
            "made-elsewhere": ["holes", "pockets", "openings", "outline", "slots"],
            "plate": {"thickness": self.thickness, **self.plate}, "cutters": self.cutters,
            "setups": [first, *({**one, "holding": holding} for one in self.more)]}
        return yaml.safe_dump(whole, sort_keys=False, default_flow_style=None, width=96)


# --- shapes ---------------------------------------------------------------------------------------


def round_about(draft: Draft, radius: float, count: int, rough: float) -> list[list[float]]:
    """Corners of a polygon about the zero, anticlockwise, at about so far from it."""
    turn = draft.rng.uniform(0, 360)
    return [[round(far * math.cos(angle), 2), round(far * math.sin(angle), 2)]
            for far, angle in (
                (radius * draft.rng.uniform(1 - rough, 1),
                 math.radians(turn + (n + draft.rng.uniform(-0.25, 0.25)) * 360 / count))
                for n in range(count))]


def star(points: int, outer: float, inner: float, digits: int = 3) -> list[list[float]]:
    """Corners of a star about the zero, anticlockwise."""
    return [[round((outer, inner)[n % 2] * math.cos(math.pi * n / points), digits),
             round((outer, inner)[n % 2] * math.sin(math.pi * n / points), digits)]
            for n in range(2 * points)]


def island(draft: Draft, about: float, size: float) -> Words:
    """A shape that may stand in a pocket, within ``about`` of its middle."""
    at = [draft.draw(-about, about), draft.draw(-about, about)]
    pick = draft.rng.random()
    if pick < 0.45:
        return {"circle": draft.draw(0.4 * size, size), "at": at}
    if pick < 0.75:
        return {"rectangle": [draft.draw(0.5 * size, size), draft.draw(0.5 * size, size)],
                "corner": draft.rng.choice((0.0, 0.1, 0.2)), "at": at,
                "turned": draft.draw(0, 90, 0)}
    return {"polygon": round_about(draft, size / 1.6, draft.rng.randint(3, 6), 0.3), "at": at,
            "corner": draft.rng.choice((0.0, 0.05, 0.1))}


def roomy_island(draft: Draft, at: list[float], mill: float) -> Words:
    """An island round about a place, its corners rounded, small enough to leave the mill a way."""
    size = 1.25 - mill * draft.rng.choice((1.05, 1.15, 0.9)) + draft.rng.uniform(0.2, 0.5)
    size = round(max(0.3, size), 2)
    pick = draft.rng.random()
    if pick < 0.4:
        return {"circle": size, "at": at}
    if pick < 0.7:
        return {"rectangle": [size, round(size * draft.rng.uniform(0.6, 1.0), 2)],
                "corner": draft.rng.choice((0.05, 0.1)), "at": at, "turned": draft.draw(0, 90, 0)}
    return {"polygon": round_about(draft, size / 1.7, draft.rng.randint(4, 6), 0.1), "at": at,
            "corner": 0.05}


def kidney(draft: Draft, radius: float, half: float) -> Words:
    """A bent island with round ends about a middle, as a path."""
    turn = math.radians(draft.draw(60, 200, 0))
    begin = math.radians(draft.draw(0, 360, 0))

    def at(far: float, angle: float) -> list[float]:
        return [round(far * math.cos(angle), 4), round(far * math.sin(angle), 4)]

    outer, inner = radius + half / 2, radius - half / 2
    return {"path": [
        {"to": at(outer, begin + turn), "centre": [0, 0]},
        {"to": at(inner, begin + turn), "centre": at(radius, begin + turn)},
        {"to": at(inner, begin), "centre": [0, 0], "clockwise": True},
        {"to": at(outer, begin), "centre": at(radius, begin)}]}


def fillet_path(sides: list[list[float]], radius: float) -> list[Words]:
    """A polygon's path with every corner rounded, as a pocket calculator gives it to 0.001 mm."""
    pieces: list[Words] = []
    count = len(sides)
    for n in range(count):
        before, here, after = sides[n - 1], sides[n], sides[(n + 1) % count]
        one = [before[k] - here[k] for k in (0, 1)]
        two = [after[k] - here[k] for k in (0, 1)]
        a, b = math.hypot(*one), math.hypot(*two)
        one, two = [v / a for v in one], [v / b for v in two]
        half = math.acos(max(-1.0, min(1.0, one[0] * two[0] + one[1] * two[1]))) / 2
        back = radius / math.tan(half)
        far = radius / math.sin(half)
        mid = [one[k] + two[k] for k in (0, 1)]
        size = math.hypot(*mid)
        begin = [round(here[k] + back * one[k], 3) for k in (0, 1)]
        end = [round(here[k] + back * two[k], 3) for k in (0, 1)]
        centre = [round(here[k] + far * mid[k] / size, 3) for k in (0, 1)]
        left = one[0] * two[1] - one[1] * two[0] < 0
        pieces.append({"to": begin})
        arc: Words = {"to": end, "centre": centre}
        if not left:
            arc["clockwise"] = True
        pieces.append(arc)
    return pieces
