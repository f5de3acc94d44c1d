"""Teeth swept out of a blank by a program's own text, reckoned apart from the program's code.

The text is read with a few patterns; the work and the cutter stand in the machine's own axes. Rays
go out from the middle of the wheel, and each is cut where the cutter's edge, as a polygon of its
own section, passes over it. Nothing here is asked of camgen. Lengths mm, angles degrees.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np

__all__ = ["Stood", "front_line", "stood", "unit"]


@dataclass(frozen=True)
class Stood:
    """Where a cut was made: the head's angle, the coordinate across, the deepest infeed."""

    angle: float
    across: float
    infeed: float


def unit(axis: str) -> np.ndarray:
    """A signed axis as a vector."""
    return np.eye(3)["XYZ".index(axis[-1])] * (-1.0 if axis[0] == "-" else 1.0)


def stood(text: str, along: str, infeed: str, across: str) -> list[Stood]:
    """Every fed move along the arbor, with the other axes and the head as they stood then."""
    at: dict[str, float] = {}
    found, mode = [], 0
    for line in text.splitlines():
        turned = re.search(r"SPACE \d+ AT (-?[0-9.]+) DEG", line)
        if turned:
            at["A"] = float(turned[1])
        words = dict(re.findall(r"([A-Z])(-?[0-9]*\.?[0-9]+)", re.sub(r"\(.*?\)", "", line)))
        if "G" in words and float(words["G"]) in (0.0, 1.0):
            mode = int(float(words["G"]))
        moved = {name for name in words if name in "XYZABC"}
        at |= {name if name in "XYZ" else "A": float(words[name]) for name in moved}
        if mode == 1 and moved == {along[-1]}:
            found.append(Stood(at["A"], at[across], at[infeed[-1]]))
    return found


def front_line(
    one: Stood, along: str, infeed: str, across: str, towards: str, radius: float
) -> tuple[float, str]:
    """Angle of the front that a flat side leaves, from the radius where it meets the circle of
    ``radius``, positive where it is undercut; and which way it faces, seen from the free face.

    The flat side looks ``towards`` an axis and is the zero of that axis; the front's metal stands
    beyond it.
    """
    out = -unit(infeed)
    side = unit(towards)
    # The front lies in the plane of the infeed, so far beside the axis: where it meets the circle.
    over = one.across * float(unit("+" + across) @ side)
    tip = np.sqrt(radius**2 - over**2) * out + over * side
    # The tooth stands beyond the side: undercut where its tip stands over towards that side.
    way = np.degrees(np.arctan2(tip @ side, tip @ out))
    seen_from = -unit(along)
    turns = float(np.cross(out, -side) @ seen_from)
    return float(way), "anticlockwise" if turns > 0 else "clockwise"
