"""What programs leave of a plate, reckoned from their text by means of its own, for tests.

Shares nothing with the reader, the layout or the proofs: a small interpreter of ISO words, heights
of points under each move by plane geometry, and the plate's features from the job file's numbers.
Lengths mm. Depths are mm below the face, in the plate's own frame as seen from its upper face.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Iterator
from typing import Any

import numpy as np

Spot = tuple[float, float, float]
Job = dict[str, Any]
ZEROS = ("G54", "G55", "G56", "G57", "G58", "G59")
# What is left to chords of arcs, mm.
SAG = 0.002


def moves(text: str, station: int) -> Iterator[tuple[int, int, list[Spot]]]:
    """(G word, cutter, points along the way) of each move at a station; G54 is the first."""
    scale, mode, cutter, at_station, cycle = 1.0, 0, 0, 1, False
    at = {"X": math.nan, "Y": math.nan, "Z": math.nan}
    down = {"R": 0.0, "Z": 0.0}
    for line in text.splitlines():
        words = re.findall(r"([A-Z])([-+]?[\d.]+)", re.sub(r"\(.*?\)", "", line).replace(" ", ""))
        codes = {f"G{float(value):g}" for letter, value in words if letter == "G"}
        said = {letter: float(value) for letter, value in words if letter not in "GM"}
        scale = 25.4 if "G20" in codes else 1.0 if "G21" in codes else scale
        cutter = int(said.get("T", cutter))
        if codes & {"G4", "G53"}:
            at = {**at, **({"Z": math.inf} if "Z" in said else {})}
            continue
        for number, zero in enumerate(ZEROS, start=1):
            if zero in codes and number != at_station:
                at_station, at = number, {**at, "X": math.nan, "Y": math.nan}
        for code in codes & {"G0", "G1", "G2", "G3"}:
            mode, cycle = int(code[1]), False
        cycle = (cycle or bool(codes & {"G81", "G82", "G83"})) and "G80" not in codes
        to = {axis: scale * said[axis] if axis in said else at[axis] for axis in "XYZ"}
        if not set("XYZ") & set(said):
            continue
        ways: list[tuple[int, list[Spot]]] = []
        begin, end = (at["X"], at["Y"], at["Z"]), (to["X"], to["Y"], to["Z"])
        if cycle:
            down = {letter: scale * said.get(letter, down[letter] / scale) for letter in "RZ"}
            over = [(to["X"], to["Y"], z) for z in (at["Z"], down["R"], down["Z"])]
            ways = [(0, [begin, *over[:2]]), (1, over[1:]), (0, [over[2], over[0]])]
            to["Z"] = at["Z"]
        elif mode < 2:
            ways = [(mode, [begin, end])]
        else:
            ways = [(mode, chords(begin, end, mode == 2,
                                  {word: scale * said[word] for word in "IJR" if word in said}))]
        if at_station == station:
            yield from ((code, cutter, points) for code, points in ways)
        at = to


def chords(begin: Spot, end: Spot, clockwise: bool, words: dict[str, float]) -> list[Spot]:
    """Points along an arc in the XY plane, rising evenly, its centre by I and J or by R."""
    across, up = end[0] - begin[0], end[1] - begin[1]
    if "R" in words:
        wide = math.hypot(across, up)
        off = math.sqrt(max(0.0, words["R"] ** 2 - wide**2 / 4)) / wide
        off *= -1 if clockwise != (words["R"] < 0) else 1
        x, y = begin[0] + across / 2 - off * up, begin[1] + up / 2 + off * across
    else:
        x, y = begin[0] + words.get("I", 0.0), begin[1] + words.get("J", 0.0)
    radius = math.hypot(begin[0] - x, begin[1] - y)
    first = math.atan2(begin[1] - y, begin[0] - x)
    sweep = math.atan2(end[1] - y, end[0] - x) - first
    whole = -2 * math.pi if clockwise else 2 * math.pi
    sweep = math.fmod(sweep, whole)
    if sweep * whole <= 0:
        sweep += whole
    parts = 1 + int(abs(sweep) / 2 / math.acos(1 - SAG / radius)) if radius > SAG else 1
    return [(x + radius * math.cos(first + sweep * n / parts),
             y + radius * math.sin(first + sweep * n / parts),
             begin[2] + (end[2] - begin[2]) * n / parts) for n in range(parts)] + [end]


def lowered(
    points: np.ndarray, height: np.ndarray, text: str, cutters: list[dict[str, Any]], station: int
) -> float:
    """Bring ``height`` of ``points`` (n, 2), sorted by X, down to what a program leaves.

    Gives how deep any rapid move went into what stood there then, mm.
    """
    hit = 0.0
    for code, cutter, way in moves(text, station):
        tool = cutters[cutter - 1]
        radius = tool["diameter"] / 2
        pointed = {"drill": 118, "spot-drill": 90}.get(tool["kind"])
        for begin, end in itertools.pairwise(way):
            if not all(map(math.isfinite, end)):
                continue
            a = tuple(one if math.isfinite(one) else other
                      for one, other in zip(begin, end, strict=True))
            if not math.isfinite(begin[2]) and code == 0:
                continue  # from where cutters are changed
            near = slice(*np.searchsorted(points[:, 0], (min(a[0], end[0]) - radius,
                                                         max(a[0], end[0]) + radius)))
            here = points[near] - np.array(a[:2])
            run = np.array(end[:2]) - np.array(a[:2])
            length = math.hypot(*run)
            unit = run / length if length > 1e-9 else np.array([1.0, 0.0])
            along, off = here @ unit, np.abs(here @ np.array([-unit[1], unit[0]]))
            half = np.sqrt(np.maximum(0.0, radius**2 - off**2))
            low, high = np.maximum(along - half, 0.0), np.minimum(along + half, length)
            under = (off <= radius) & (low <= high + 1e-9)
            if length > 1e-9:
                fall = (end[2] - a[2]) / length
                z = a[2] + fall * (high if fall < 0 else low)
            else:
                z = np.full(len(here), min(a[2], end[2]))
                if pointed:
                    z = z + np.hypot(*here.T) / math.tan(math.radians(pointed / 2))
            z = np.where(under, z, np.inf)
            if code == 0 and len(z):
                hit = max(hit, float(np.max(height[near] - z)))
            height[near] = np.minimum(height[near], z)
    return hit


def depths(
    job: Job, programs: dict[str, str], points: np.ndarray, station: int = 1
) -> tuple[dict[str, np.ndarray], np.ndarray, float]:
    """Depths below each face at ``points`` of the plate (n, 2), what is gone, rapids' deepest hit.
    """
    plate, hit = job["plate"], 0.0
    below = {face: np.zeros(len(points)) for face in ("upper", "under")}
    gone = np.zeros(len(points), bool)
    for setup in job["setups"]:
        stock, zero = setup["stock"], setup.get("zero", {})
        across, up = {"about X": (1, -1), "about Y": (-1, 1), None: (1, 1)}[
            setup.get("turned-over")]
        if "dowel" in zero:
            name, _, number = zero["dowel"].rpartition("-")
            x, y = plate["holes"][name]["at"][int(number) - 1]
            shift = np.array([-across * x, -up * y])
        else:
            length, width = stock["sheet"]
            shift = np.array([{"left": length / 2, "right": -length / 2}.get(zero.get("x"), 0.0),
                              {"front": width / 2, "back": -width / 2}.get(zero.get("y"), 0.0)])
        lies = points * (across, up) + shift
        order = np.argsort(lies[:, 0])
        top = stock["thickness"] if zero.get("z") == "carrier" else 0.0
        height = np.full(len(points), top)
        hit = max(hit, lowered(lies[order], height, programs[setup["name"]],
                               list(job["cutters"].values()), station))
        over = np.empty(len(points))
        over[order] = height - (top - stock["thickness"])
        to = [step["face"].get("to", plate["thickness"]) for step in setup["steps"]
              if "face" in step]
        face = setup.get("face", "upper")
        below[face] = np.maximum(below[face], min([stock["thickness"], *to]) - over)
        gone |= over < 1e-6
    return below, gone, hit
