"""Cutting along a closed wall right through the stock: openings and outlines alike.

The wall is first cut round with something left on it, going down all the way round in laps, then
brought to size at full depth, entered and left on arcs tangent to it. Tabs, where wanted, stand
between two flanks of 45° so that the cutter never goes straight down beside them.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from typing import Annotated, Literal

import shapely
from pydantic import Field

from camgen.faults import Fault
from camgen.job.models import StepWords
from camgen.layout import Tab
from camgen.moves import Feed, Move
from camgen.shapes.path import ArcTo, Path, Point, turn_between
from camgen.shop.model import IN_FILE_UNITS, FileModel, Length
from camgen.steps.cuts import finishing, milling
from camgen.steps.holes import through
from camgen.steps.kind import Bench, PlannedStep
from camgen.steps.moving import (
    Feeds,
    above,
    away,
    enter,
    follow,
    laps,
    leads,
    shifted,
)
from camgen.values import dataclass

__all__ = [
    "SLUG",
    "ContourCut",
    "ContourWords",
    "TabWords",
    "begun_on_longest",
    "contour_faults",
    "finish_left",
    "inner_corner_faults",
    "lead_radius",
    "lifted",
    "plan_contours",
    "tab_middles",
    "unheld",
]

# An opening's inside counts as a loose piece when something of this width, in mm, is left of it
# after the cutter has been round; less than that comes away as chips.
SLUG = 0.02
# A joint of pieces that turns more than this, radians, is a corner.
SHARP_TURN = 1e-3
# Corners of a profile nearer than this, mm along the path, are one.
SAME = 1e-9
# The last cut on the wall unless the job says, as a share of the cutter's diameter: common
# practice, no source.
FINISH_SHARE = 0.05


class TabWords(FileModel):
    """Bridges that hold a loose piece."""

    count: int = Field(2, ge=1, le=12, description="bridges to each wall")
    width: Length = Field(description="width left standing")
    height: Length = Field(description="height above the lower face")


class ContourWords(StepWords):
    """Words of every step that cuts along a wall."""

    finish: Length | None = Field(
        None, description="left on the wall for the last pass"
    )
    direction: Literal["climb", "conventional"] = Field(
        "climb", description="climb: each chip begins thick; conventional: it begins thin"
    )
    tabs: TabWords | None = Field(None, description="bridges to be cut by hand afterwards")
    skin: Length | None = Field(
        None, description="left standing below, to be cut by hand afterwards"
    )
    correction: Annotated[float, IN_FILE_UNITS, Field(ge=-0.5, le=0.5)] = Field(
        0.0, description="metal to leave beyond the drawing, on each wall; negative takes more"
    )


@dataclass(frozen=True, slots=True)
class ContourCut:
    """One wall of one piece: the centre paths that leave ``finish`` on it and bring it to size.

    Both run as the cutter is to go; ``last`` starts where it is to be led in. ``tabs`` are the
    tabs' middles.
    """

    rough: Path
    last: Path
    tabs: tuple[Point, ...] = ()


def finish_left(bench: Bench, words: ContourWords) -> float:
    """Metal left on the wall for the last pass, mm."""
    return FINISH_SHARE * bench.cutter.diameter if words.finish is None else words.finish


def contour_faults(bench: Bench, words: ContourWords) -> list[Fault]:
    """Faults that every step along a wall can have."""
    faults = bench.need_cutter("end-mill") + _bottom(bench, words)[1]
    layout = bench.flat
    if finish_left(bench, words) >= bench.cutter.diameter / 2:
        faults.append(
            Fault(
                f"{finish_left(bench, words):g} mm left for the last pass is more than half the "
                f"cutter, {bench.cutter.diameter:g} mm",
                f"`finish: {FINISH_SHARE * bench.cutter.diameter:.2g}`",
                bench.place("finish"),
            )
        )
    if words.skin is not None and words.tabs is not None:
        faults.append(
            Fault("tabs and a skin in one step", "one of them is enough", bench.place("tabs"))
        )
    if words.tabs is not None and words.tabs.height >= layout.face - layout.bottom:
        faults.append(
            Fault(
                f"tabs {words.tabs.height:g} mm high stand through the whole stock, "
                f"{layout.face - layout.bottom:g} mm",
                "lower tabs",
                bench.place("tabs", "height"),
            )
        )
    return faults


def _bottom(bench: Bench, words: ContourWords) -> tuple[float, list[Fault]]:
    """The Z of the last lap, and what stands against it."""
    layout = bench.flat
    if words.skin is None:
        return through(bench, bench.cutter.corner_radius)
    bottom = layout.bottom + words.skin
    if bottom < layout.face:
        return bottom, []
    return bottom, [
        Fault(
            f"a skin of {words.skin:g} mm is the whole stock, {layout.face - layout.bottom:g} mm",
            "a thinner skin",
            bench.place("skin"),
        )
    ]


def unheld(bench: Bench, words: ContourWords, what: str) -> list[Fault]:
    """A fault when nothing holds ``what`` once the last cut goes through."""
    if words.tabs is not None or words.skin is not None or bench.flat.holds_slugs:
        return []
    return [
        Fault(
            f"nothing holds {what} when the last cut goes through",
            "`tabs: {count: 2, width: 0.5, height: 0.1}` or `skin: 0.02`; or `holding: "
            "{holds-slugs: true}` where glue or carrier does",
            bench.place(),
        )
    ]


def inner_corner_faults(
    bench: Bench, path: Path, *, outside: bool = False, within: shapely.Geometry | None = None
) -> list[Fault]:
    """Corners that the cutter cannot get into, each named with the largest cutter that could.

    ``path`` runs anticlockwise; the cutter works inside it, or ``outside``. Only corners ``within``
    a region count, where one is given.
    """
    faults: list[Fault] = []
    radius = bench.cutter.diameter / 2
    for number, (at, piece) in enumerate(path.laid_out()):
        if within is not None and not (within.covers(shapely.Point(piece.end))
                                       or within.covers(shapely.Point(at))):
            continue
        if isinstance(piece, ArcTo) and piece.clockwise == outside:
            own = math.dist(at, piece.centre)
            if own < radius - 1e-6:
                faults.append(_corner_fault(bench, piece.end, own))
        if within is not None and not within.covers(shapely.Point(piece.end)):
            continue
        after = path.pieces[(number + 1) % len(path.pieces)]
        turn = turn_between(at, piece, after)
        if (turn < -SHARP_TURN if outside else turn > SHARP_TURN):
            faults.append(_corner_fault(bench, piece.end, 0.0))
    return faults


def _corner_fault(bench: Bench, corner: Point, radius: float) -> Fault:
    what = f"has a radius of {radius:g} mm" if radius else "is sharp"
    return Fault(
        f"the corner at X {corner.x:.3f} Y {corner.y:.3f} {what}: a cutter of "
        f"{bench.cutter.diameter:g} mm does not get into it",
        f"a cutter of at most {2 * radius:g} mm, or a larger corner radius"
        if radius
        else "give the corner a radius",
        bench.place("cutter"),
    )


def begun_on_longest(path: Path) -> Path:
    """A closed path begun in the middle of its longest piece, where there is room to lead in."""
    longest = max(range(len(path.pieces)), key=lambda number: round(path.lengths[number], 9))
    return path.starting_at(math.fsum(path.lengths[:longest]) + path.lengths[longest] / 2)


def tab_middles(path: Path, tabs: TabWords | None, cutter_diameter: float) -> tuple[Point, ...]:
    """Middles of the tabs on a closed path: evenly spaced, as far from its corners as can be.

    Corners are the arcs tighter than the cutter; the path's start, where the cutter leads in and
    out, is kept clear too.
    """
    if tabs is None:
        return ()
    corners = [0.0]
    passed = 0.0
    for (at, piece), length in zip(path.laid_out(), path.lengths, strict=True):
        if isinstance(piece, ArcTo) and math.dist(at, piece.centre) < cutter_diameter:
            corners.append(passed + length / 2)
        passed += length
    spacing = path.length / tabs.count

    def room(first: float) -> float:
        return min(
            _off(first + number * spacing, corner, path.length)
            for number in range(tabs.count)
            for corner in corners
        )

    first = max((spacing * share / 48 for share in range(48)), key=lambda at: round(room(at), 9))
    return tuple(path.at(first + number * spacing) for number in range(tabs.count))


def _off(distance: float, place: float, length: float) -> float:
    """How far apart two places on a closed path are, the shorter way round, mm."""
    return abs((distance - place + length / 2) % length - length / 2)


def lifted(
    heights: Sequence[tuple[float, float]],
    middles: Sequence[float],
    half: float,
    top: float,
) -> list[tuple[float, float]]:
    """A straight profile over a closed path, raised to ``top`` over ``half`` mm either side of each
    of ``middles``, with flanks of 45°.

    >>> lifted(((0.0, -1.0), (8.0, -1.0)), [4.0], 1.0, -0.5)
    [(0.0, -1.0), (2.5, -1.0), (3.0, -0.5), (5.0, -0.5), (5.5, -1.0), (8.0, -1.0)]
    """
    (_, begin), (length, finish) = heights
    slope = (finish - begin) / length

    def level(distance: float) -> float:
        plain = begin + slope * distance
        near = min((_off(distance, middle, length) for middle in middles), default=math.inf)
        return max(plain, top - max(0.0, near - half))

    # Wherever two of the straight lines that the profile is made of cross, it may have a corner.
    corners = {0.0, length}
    if slope:
        corners.add((top - begin) / slope)
    round_and_round = sorted(m + lap for m in middles for lap in (-length, 0.0, length))
    for at in round_and_round:
        corners |= {
            at - half,
            at + half,
            (begin - top + at - half) / (1 - slope),
            (top + at + half - begin) / (1 + slope),
        }
    corners |= {(one + other) / 2 for one, other in itertools.pairwise(round_and_round)}
    places = [0.0]
    for at in sorted(corners):
        if places[-1] + SAME < at < length - SAME:
            places.append(at)
    profile = [(at, level(at)) for at in (*places, length)]
    return [
        point
        for number, point in enumerate(profile)
        if number in (0, len(profile) - 1)
        or not _straight(profile[number - 1], point, profile[number + 1])
    ]


def _straight(
    before: tuple[float, float], point: tuple[float, float], after: tuple[float, float]
) -> bool:
    """True when the profile has no corner at ``point``."""
    turn = (point[0] - before[0]) * (after[1] - point[1]) - (after[0] - point[0]) * (
        point[1] - before[1]
    )
    return abs(turn) < 1e-12


def tabs_left(
    bench: Bench, words: ContourWords, cuts: Sequence[ContourCut]
) -> tuple[Tab, ...]:
    """What tabs or skin leave on one piece, for those who hold the work against the job."""
    if words.skin is not None:
        top = bench.flat.bottom + words.skin
        return tuple(
            Tab(x, y, radius, top)
            for cut in cuts
            for (x, y), radius in _beads(cut.last, bench.cutter.diameter)
        )
    if words.tabs is None:
        return ()
    # Flanks of 45°; the groove is as wide as the cutter and what was left on the wall.
    along = words.tabs.width / 2 + words.tabs.height + bench.cutter.diameter / 2
    across = bench.cutter.diameter + finish_left(bench, words)
    reach = math.hypot(along, across)
    top = bench.flat.bottom + words.tabs.height
    return tuple(Tab(tab.x, tab.y, reach, top) for cut in cuts for tab in cut.tabs)


def _beads(path: Path, cutter_diameter: float) -> list[tuple[Point, float]]:
    """Circles along a path that together hold all that a cutter there leaves beneath it."""
    count = math.ceil(path.length / (2 * cutter_diameter))
    apart = path.length / count
    radius = math.hypot(apart / 2, cutter_diameter)
    return [(path.at(number * apart), radius) for number in range(count)]


def lead_radius(path: Path, radius: float, room: float) -> float:
    """Radius of the arc onto a path: the cutter's, or less where the first piece is short.

    An arc of radius ρ that is ``room`` off the wall at its far end is √(2·ρ·room) long along it.
    """
    return max(room, min(radius, path.lengths[0] ** 2 / (2 * room)))


def plan_contours(
    bench: Bench, words: ContourWords, own: Sequence[ContourCut], title: str
) -> PlannedStep:
    """The walls of one piece, ``own``, on every piece: laps down, the last pass at full depth."""
    layout, cutter = bench.flat, bench.cutter
    bottom, _ = _bottom(bench, words)
    deep = layout.face - bottom
    left = finish_left(bench, words)
    cut = milling(bench, cutter.diameter, deep)
    last_cut, levels = finishing(bench, left, layout.face, bottom, cut.speed)
    rough = Feeds.on(bench.machine, cut.feed, cut.plunge_feed, cutter.diameter / 2)
    fine = Feeds.on(bench.machine, last_cut.feed, cut.plunge_feed, cutter.diameter / 2)
    climb = words.direction == "climb"
    tab_top = layout.bottom + (words.tabs.height if words.tabs else 0.0)
    half = cutter.diameter / 2 + (words.tabs.width / 2 if words.tabs else 0.0)
    one: list[Move] = []
    for wall in own:
        # The laps end where the arc onto the finished wall begins, so nothing is lifted between.
        onto, off = leads(wall.last, climb, lead_radius(wall.last, cutter.diameter / 2, left), left)
        around = wall.rough.starting_at(wall.rough.nearest(onto.start))
        over = [around.nearest(tab) for tab in wall.tabs]
        lift = partial(lifted, middles=over, half=half, top=tab_top) if over else None
        one += above(layout, around.start)
        one += enter(rough, layout.face, cleared=False)
        one += laps(around, layout.face, bottom, cut, rough, climb, lift)
        if math.dist(around.start, onto.start) > 1e-6:
            one.append(Feed(rough.along, x=onto.start.x, y=onto.start.y))
        over = [wall.last.nearest(tab) for tab in wall.tabs]
        for number, level in enumerate(levels):
            if number:
                one.append(Feed(fine.along, x=onto.start.x, y=onto.start.y))
            if level != bottom or number:
                one.append(Feed(fine.straight, z=level))
            one += follow(onto, fine, climb)
            flat = ((0.0, level), (wall.last.length, level))
            one += follow(wall.last, fine, climb, lifted(flat, over, half, tab_top))
            one += follow(off, fine, climb)
        one += away(layout)
    moves = away(layout)
    for x, y in layout.places:
        moves += shifted(one, x, y)
    remarks = [f"{title}: {words.direction} milling"]
    if words.tabs is not None:
        remarks.append(
            f"{title}: {words.tabs.count} tabs {words.tabs.width:g} mm wide and "
            f"{words.tabs.height:g} mm high hold the loose piece; cut and dress them by hand"
        )
    elif words.skin is not None:
        remarks.append(
            f"{title}: a skin of {words.skin:g} mm is left and holds the loose piece; cut it by "
            "hand and dress the edge"
        )
    else:
        remarks.append(f"{title}: loose pieces are held by {bench.holding}")
    section = bench.section(title, cut.speed, moves)
    cut = replace(cut, others=(last_cut,))
    return PlannedStep(section, cut, tuple(remarks), tabs_left(bench, words, own))
