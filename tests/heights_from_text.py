"""What stands when a program has run, from its text alone, and what should, from the job's words.

It shares no code with the program: a reader of plain ISO words of its own, the plane geometry of
shapely, and heights reckoned place by place from the cutter's round end and its moves. It knows
the words that the random plates use. Words as in ISO 6983-1; Z0 is the stock's upper face, the
part's 0, 0 is the stock's middle or, turned over, its first dowel. Lengths mm, angles degrees.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import affinity
from shapely.geometry.base import BaseGeometry

__all__ = ["amiss"]

Floats = NDArray[np.float64]
Words = dict[str, Any]
CHORD = 2e-4
# What may be taken too much and what may be left, mm; and so much farther from an edge places are
# looked at: what chords of this reckoning and the rounding of a program make between them.
GOUGE, LEFT, BESIDE = 0.002, 0.010, 0.0008
MOST = GOUGE + BESIDE
APART = 0.25
SLUG = 0.15


# --- the program ----------------------------------------------------------------------------------


def _strokes(text: str) -> Iterator[tuple[int, Floats]]:
    """Cutter's number and (n, 3) the places it goes to in a line, of every block that moves it."""
    at, cutter = np.array([np.nan, np.nan, 50.0]), 0
    motion, drilled = "0", False
    for block in re.sub(r"\([^)]*\)", "", text).splitlines():
        words = re.findall(r"([A-Z])\s*([-+]?[\d.]+)", block)
        for letter, value in words:
            if letter == "T":
                cutter = int(value)
            elif letter == "G" and float(value) in (0, 1, 2, 3):
                motion = str(int(float(value)))
            elif letter == "G" and float(value) in (81, 82, 83, 73):
                drilled = True
        assert not drilled, "a cycle is no word of this reader"
        end = at.copy()
        given = dict(words)
        for axis, letter in enumerate("XYZ"):
            if letter in given:
                end[axis] = float(given[letter])
        if np.array_equal(end, at, equal_nan=True) and not {"I", "J"} & given.keys():
            continue
        if motion in "23" and {"I", "J"} & given.keys():
            yield cutter, _arc(at, end, float(given.get("I", 0)), float(given.get("J", 0)),
                               motion == "2")
        else:
            yield cutter, np.array([at, end])
        at = end


def _arc(at: Floats, end: Floats, i: float, j: float, clockwise: bool) -> Floats:
    """The places along an arc, near enough to it."""
    x, y = at[0] + i, at[1] + j
    radius = math.hypot(i, j)
    begin = math.atan2(at[1] - y, at[0] - x)
    turn = math.atan2(end[1] - y, end[0] - x) - begin
    turn = -((-turn) % math.tau or math.tau) if clockwise else (turn % math.tau or math.tau)
    count = max(2, math.ceil(abs(turn) / (2 * math.acos(1 - min(CHORD / radius, 1.0)))) + 1)
    share = np.linspace(0, 1, count)
    angle = begin + turn * share
    way = np.column_stack([x + radius * np.cos(angle), y + radius * np.sin(angle),
                           at[2] + (end[2] - at[2]) * share])
    way[0], way[-1] = at, end
    return way


def _lowest(text: str, cutters: list[Words], points: Floats, top: float) -> Floats:
    """(n,) the height left at places (n, 2) of stock with its upper face at ``top``."""
    height = np.full(len(points), top)
    tree = shapely.STRtree(shapely.points(points))
    for number, cutter in enumerate(cutters, 1):
        ways = [way for which, way in _strokes(text) if which == number]
        if not ways:
            continue
        begin = np.concatenate([way[:-1] for way in ways])
        end = np.concatenate([way[1:] for way in ways])
        low = np.minimum(begin[:, 2], end[:, 2]) < top
        low &= ~np.isnan(begin[:, :2]).any(axis=1)
        begin, end = begin[low], end[low]
        radius, corner = cutter["diameter"] / 2, cutter.get("corner-radius", 0.0)
        lines = shapely.linestrings(np.stack([begin[:, :2], end[:, :2]], axis=1))
        line, place = tree.query(lines, predicate="dwithin", distance=radius)
        a, b, p = begin[line], end[line], points[place]
        way = b[:, :2] - a[:, :2]
        long = np.maximum((way**2).sum(axis=1), 1e-18)
        foot = ((p - a[:, :2]) * way).sum(axis=1) / long
        off = np.hypot(*(p - a[:, :2] - way * foot[:, None]).T)
        for flat in np.linspace(radius - corner, radius, 9 if corner else 1):
            up = corner - math.sqrt(max(0.0, corner**2 - (flat - radius + corner) ** 2))
            half = np.sqrt(np.maximum(flat**2 - off**2, 0.0) / long)
            first, last = np.clip(foot - half, 0, 1), np.clip(foot + half, 0, 1)
            over = (off < flat) & (foot - half < 1) & (foot + half > 0)
            ends = a[:, 2:] + (b - a)[:, 2:] * np.column_stack([first, last])
            np.minimum.at(height, place[over], ends.min(axis=1)[over] + up)
    return height


# --- the part -------------------------------------------------------------------------------------


def _figure(words: Words) -> BaseGeometry:
    """A shape's own region."""
    corner = words.get("corner", 0.0)
    if "circle" in words:
        return shapely.Point(0, 0).buffer(words["circle"] / 2, quad_segs=400)
    if "rectangle" in words:
        x, y = words["rectangle"]
        shape: BaseGeometry = shapely.box(-x / 2, -y / 2, x / 2, y / 2)
    elif "polygon" in words:
        shape = shapely.Polygon(words["polygon"])
    else:
        at = np.array([*words["path"][-1]["to"], 0.0])
        places = []
        for piece in words["path"]:
            end = np.array([*piece["to"], 0.0])
            if "centre" in piece:
                i, j = np.subtract(piece["centre"], at[:2])
                places += _arc(at, end, i, j, piece.get("clockwise", False))[1:].tolist()
            else:
                places.append(end.tolist())
            at = end
        return shapely.Polygon([place[:2] for place in places])
    return _rounded(shape, corner) if corner else shape


def _rounded(shape: shapely.Polygon, corner: float) -> BaseGeometry:
    """A polygon with an arc in every corner; not by shapely's buffers, which leave hollows out."""
    corners = np.array(shape.exterior.coords[:-1])
    if not shape.exterior.is_ccw:
        corners = corners[::-1]
    places: list[Floats] = []
    for number, here in enumerate(corners):
        one, two = corners[number - 1] - here, corners[(number + 1) % len(corners)] - here
        one, two = one / math.hypot(*one), two / math.hypot(*two)
        half = math.acos(float(np.clip(one @ two, -1, 1))) / 2
        hollow = one[0] * two[1] - one[1] * two[0] > 0
        middle = here + (one + two) / math.hypot(*(one + two)) * corner / math.sin(half)
        begin, end = (here + way * corner / math.tan(half) for way in (one, two))
        i, j = middle - begin
        places += list(_arc(np.array([*begin, 0.0]), np.array([*end, 0.0]), i, j, hollow)[:, :2])
    return shapely.Polygon(places)


def _laid(shape: BaseGeometry, words: Words) -> BaseGeometry:
    turned = affinity.rotate(shape, words.get("turned", 0.0), origin=(0, 0))
    return affinity.translate(turned, *words.get("at", (0, 0)))


def _slot(words: Words) -> BaseGeometry:
    (x, y), (u, v) = words["ends"]
    half = words["width"] / 2
    if "centre" not in words:
        turn = math.atan2(v - y, u - x)
        out = half * np.array([math.sin(turn), -math.cos(turn)])
        ends = [_half_round((u, v), out), _half_round((x, y), -out)]
        return shapely.Polygon(np.concatenate(ends))
    middle = np.array(words["centre"])
    far = math.hypot(*(middle - (x, y)))
    rings = []
    for radius in (far + half, far - half):
        begin, end = (middle + (np.array(one) - middle) * radius / far for one in words["ends"])
        rings.append(_arc(np.array([*begin, 0.0]), np.array([*end, 0.0]), *(middle - begin),
                          clockwise=False)[:, :2])
    first = (np.array((x, y)) - middle) * half / far
    last = (np.array((u, v)) - middle) * half / far
    return shapely.Polygon(np.concatenate([
        rings[0], _half_round((u, v), last), rings[1][::-1], _half_round((x, y), -first)]))


def _half_round(middle: tuple[float, float], out: Floats) -> Floats:
    """Half a round about a middle, anticlockwise from what lies ``out`` of it."""
    begin, end = np.array(middle) + out, np.array(middle) - out
    return _arc(np.array([*begin, 0.0]), np.array([*end, 0.0]), *-out, clockwise=False)[:, :2]


def _round_about(area: BaseGeometry, words: Words) -> list[BaseGeometry]:
    """The area itself, or as often as it stands on a ring, turned with its place."""
    ring = words.get("ring")
    if ring is None:
        return [area]
    return [affinity.rotate(affinity.translate(area, ring["diameter"] / 2), 360 * k / ring["count"],
                            origin=(0, 0)) for k in range(ring["count"])]


def _floors(plate: Words, face: str) -> Iterator[tuple[BaseGeometry, float]]:
    """Each region taken out of a plate from a face, and how deep."""
    posts = [(_laid(_figure(one), one), one.get("lowered", 0.0))
             for one in plate.get("posts", {}).values() if one.get("face", "upper") == face]
    for words in plate.get("pockets", {}).values():
        if words.get("face", "upper") != face:
            continue
        islands = [_laid(_figure(one), one) for one in words.get("islands", ())]
        own = _laid(_figure(words).difference(shapely.union_all(islands)), words)
        for area in _round_about(own, words):
            for post, lowered in posts:
                if lowered and area.contains(post):
                    yield post, lowered
                area = area.difference(post)
            yield area, words["depth"]
    for words in plate.get("slots", {}).values():
        yield _slot(words), words.get("depth", math.inf)
    for words in plate.get("openings", {}).values():
        yield _laid(_figure(words), words), math.inf


def _holes(plate: Words) -> BaseGeometry:
    """All round holes, a little wider: their cones and ends are not looked at."""
    found = []
    for words in plate.get("holes", {}).values():
        wide = words.get("counterbore", words)["diameter"]
        found += [shapely.Point(place).buffer(wide / 2 + 0.05) for place in words["at"]]
    return shapely.union_all(found)


def _meant(floors: list[tuple[BaseGeometry, float]], face: float, points: Floats) -> Floats:
    """(n,) the height that should stand at places (n, 2) of the part; -inf where it is open."""
    height = np.full(len(points), face)
    for region, depth in floors:
        inside = shapely.contains_xy(region, *points.T)
        height[inside] = np.minimum(height[inside], face - depth)
    return height


def _around(points: Floats, away: float) -> Floats:
    """(n, 17, 2) places themselves and those all round them."""
    turn = np.arange(16) * math.tau / 16
    ring = np.column_stack([np.cos(turn), np.sin(turn)]) * away
    return points[:, None] + np.concatenate([[[0.0, 0.0]], ring])[None]


def amiss(job: Words, programs: list[str], setup: int = 0) -> list[str]:
    """What is gone that should stand, and left that should be gone, of one setup's ``programs``.

    Looked at on a net over the part, and beside every edge of it. The edge of the part itself is
    looked at where a step of the setup cuts it without tabs and skin.
    """
    plate, words = job["plate"], job["setups"][setup]
    under = words.get("face") == "under"
    face = plate["thickness"] - words["stock"]["thickness"]
    steps = [step for one in words["steps"] for step in one.items()]
    if not any(kind == "face" for kind, _ in steps):
        face = 0.0
    outline = _laid(_figure(plate["outline"]), plate["outline"])
    floors = list(_floors(plate, "under" if under else "upper"))
    cut = {"pocket", "cut-out"} & {kind for kind, _ in steps}
    edges = [shapely.get_rings(region) for region, _ in floors] if cut else []
    rows = [np.array([ring.interpolate(along).coords[0] for ring in rings for along in
                      np.arange(0, ring.length, APART)]) for rings in edges]
    box = outline.bounds
    net = np.random.default_rng(1).uniform(box[:2], box[2:], (700, 2))
    whole = next((kind == "outline" and not {"tabs", "skin"} & step.keys()
                  for kind, step in reversed(steps)), False)
    ring = shapely.get_rings(outline)
    rim = np.array([one.interpolate(along).coords[0] for one in ring
                    for along in np.arange(0, one.length, APART)])
    near = [_around(row, LEFT + 2 * BESIDE)[:, 1:].reshape(-1, 2) for row in (*rows, rim)]
    close = [_around(row, 1.04 * MOST)[:, 1:].reshape(-1, 2) for row in (*rows, rim)]
    points = np.concatenate([net, *near, *close])
    points = points[~shapely.contains_xy(_holes(plate), *points.T)]
    inside = shapely.contains_xy(outline, *points.T)
    beyond = points[~inside & (shapely.distance(outline, shapely.points(points)) > LEFT)] if (
        whole) else points[:0]
    points = points[inside & (shapely.distance(ring[0], shapely.points(points)) > MOST)]
    return _compared(job, programs, words, floors, face, points, beyond, under)


def _compared(
    job: Words, programs: list[str], words: Words, floors: list[tuple[BaseGeometry, float]],
    face: float, points: Floats, beyond: Floats, under: bool,
) -> list[str]:
    """The places at which what stands is not what should."""
    cutters = _in_order(job)
    at = points
    if under:
        x, y = job["plate"]["holes"]["dowels"]["at"][0]
        at = points - (x, y)
        at = at * ((-1, 1) if words["turned-over"] == "about Y" else (1, -1))
    text = "\n".join(programs)
    stands = _lowest(text, cutters, np.concatenate([at, beyond]), 0.0)
    left_of, stands = stands[len(at):], stands[:len(at)]
    tight = _around(points, MOST)
    wide = _around(points, LEFT)
    least = _meant(floors, face, tight.reshape(-1, 2)).reshape(tight.shape[:2]).min(axis=1)
    most = _meant(floors, face, wide.reshape(-1, 2)).reshape(wide.shape[:2]).max(axis=1)
    back = -words["stock"]["thickness"]
    # Of what is cut out the slug comes away whole: only its edge is cut.
    slugs = shapely.union_all([region.buffer(-SLUG) for region, depth in floors
                               if math.isinf(depth)])
    most[shapely.contains_xy(slugs, *points.T)] = 0.0
    found = [f"gone at X {x:.3f} Y {y:.3f}: {height:.4f}, {meant:.4f} should stand"
             for (x, y), height, meant in zip(points, stands, least, strict=True)
             if height < meant - MOST]
    found += [f"left at X {x:.3f} Y {y:.3f}: {height:.4f}, down to {meant:.4f} should be gone"
              for (x, y), height, meant in zip(points, stands, most, strict=True)
              if height > max(meant, back) + LEFT]
    whole = [step for one in words["steps"] for kind, step in one.items() if kind == "outline"]
    reach = whole[0] if whole else {}
    wide_cut = job["cutters"][reach["cutter"]]["diameter"] / 2 if whole else 0.0
    outline = _laid(_figure(job["plate"]["outline"]), job["plate"]["outline"])
    near = shapely.distance(outline, shapely.points(beyond)) < wide_cut / 2
    found += [f"left beside the part at X {x:.3f} Y {y:.3f}: {height:.4f}"
              for (x, y), height in zip(beyond[near], left_of[near], strict=True)
              if height > back + LEFT]
    return found


def _in_order(job: Words) -> list[Words]:
    """The cutters as they are numbered: in the order in which the steps ask for them."""
    names = [step["cutter"] for setup in job["setups"] for one in setup["steps"]
             for step in one.values()]
    return [job["cutters"][name] for name in dict.fromkeys(names)]
