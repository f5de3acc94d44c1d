"""Cutting along a closed wall right through the stock: openings and outlines alike.

The wall is first cut round with something left on it, going down all the way round in laps, then
brought to size at full depth, entered and left on arcs tangent to it. Where a skin is to be cut,
that comes last: every wall of every piece is gone round down to the skin, then the skins are cut.
Lengths mm, feeds mm/min.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from typing import Annotated, Literal

import shapely
from pydantic import Field

from camgen.cutting.planner import CutPlan
from camgen.faults import Fault, Refused, no_more
from camgen.job.models import StepWords
from camgen.layout import Tab
from camgen.messages import Message
from camgen.moves import Feed, Move
from camgen.part.declaration import Correction, Declaration, LeavesSkin, LeavesTabs, Left, Made
from camgen.shapes.path import Path, Point
from camgen.shop.cutters import Ability, bears_under, least_round
from camgen.shop.model import Length
from camgen.steps.cuts import finishing, milling
from camgen.steps.head.last_cut import rubbing_faults, skimming_faults
from camgen.steps.holes.which_holes import bottom_through, edges_too_short
from camgen.steps.kind import FlatBench, PlannedStep
from camgen.steps.moving import Feeds, above, away, enter, follow, laps, leads, shifted
from camgen.steps.walls.corners import left_notes
from camgen.steps.walls.tabs import (
    TabWords,
    beads,
    half_over,
    height_at,
    lifted,
    tab_ends,
    tab_middles,
)
from camgen.steps.walls.thin import crowded_faults, thin_faults, thin_remarks
from camgen.steps.walls.walls_again import again_faults, cut_later
from camgen.tolerances import AREA_CHORD
from camgen.values import dataclass
from camgen.yamlfile.length_units import IN_FILE_UNITS

__all__ = [
    "FINISH_SHARE",
    "SLUG",
    "ContourCut",
    "ContourWords",
    "begun_on_longest",
    "closed_wall",
    "contour_faults",
    "finish_left",
    "lead_radius",
    "plan_contours",
    "unheld",
]

# An opening's inside counts as a loose piece when something of this width, in mm, is left of it
# after the cutter has been round; less than that comes away as chips.
SLUG = 0.02
# The last cut on the wall unless the job says, as a share of the cutter's diameter: common
# practice, no source.
FINISH_SHARE = 0.05
# A skin is no more than this share of the stock. Common practice, no source.
MOST_SKIN = 0.8
# Beside a tab a mill comes down steeply, by a lap's depth onto what the lap before left: one whose
# end does not cut at its middle by so much of what that bears.
BESIDE_TABS = 0.8


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
    cut_skin: bool = Field(
        False, description="true: the skin is cut too, once all pieces have been gone round"
    )
    thin: bool = Field(
        False, description="true: tabs or skin are meant to be so thin, something else holds too"
    )
    correction: Annotated[float, IN_FILE_UNITS, Field(ge=-0.5, le=0.5)] = Field(
        0.0, description="metal to leave beyond the drawing, on each wall; negative takes more"
    )

    @property
    def kept_skin(self) -> float | None:
        """What is left below for good, mm."""
        return None if self.cut_skin else self.skin

    def declared(self, made: Made) -> Declaration:
        """What a step says of itself that cuts along the walls of what is ``made``."""
        leaves: list[Left] = []
        if self.tabs is not None:
            leaves.append(LeavesTabs(self.tabs.count, self.tabs.width, self.tabs.height))
        if self.kept_skin is not None:
            leaves.append(LeavesSkin(self.kept_skin))
        return Declaration((made,), (Ability.MILL_WALL,), leaves=tuple(leaves), corrections=(
            Correction("correction", self.correction, "wall", 0.5),))


@dataclass(frozen=True, slots=True)
class ContourCut:
    """One wall of one piece: the centre paths that leave ``finish`` on it and bring it to size.

    Both run as the cutter is to go; ``last`` starts where it is to be led in. ``tabs`` are the
    tabs' middles.
    """

    rough: Path
    last: Path
    tabs: tuple[Point, ...] = ()


def finish_left(bench: FlatBench, words: ContourWords) -> float:
    """Metal left on the wall for the last pass, mm."""
    return FINISH_SHARE * bench.cutter.diameter if words.finish is None else words.finish


def contour_faults(bench: FlatBench, words: ContourWords) -> list[Fault]:
    """Faults that every step along a wall can have."""
    bottom, faults = _bottom(bench, words)
    faults = bench.need() + (faults or edges_too_short(bench, bottom))
    faults += skimming_faults(bench, {"finish": words.finish}) + again_faults(bench, words)
    layout = bench.layout
    if finish_left(bench, words) >= bench.cutter.diameter / 2:
        faults.append(
            Fault(
                Message("{left:g} mm left for the last pass is more than half the cutter, "
                        "{diameter:g} mm", left=finish_left(bench, words),
                        diameter=bench.cutter.diameter),
                Message("`finish: {finish:.2g}`", finish=FINISH_SHARE * bench.cutter.diameter),
                bench.place("finish"),
            )
        )
    if words.kept_skin is not None and words.tabs is not None:
        faults.append(
            Fault(Message("tabs and a skin in one step"),
                  Message("one of them is enough, or `cut-skin: true`"), bench.place("tabs"))
        )
    if words.cut_skin and words.skin is None:
        faults.append(
            Fault(Message("there is no skin to cut last"), Message("`skin: 0.05`"),
                  bench.place("cut-skin"))
        )
    if words.tabs is not None and words.tabs.height >= layout.face - layout.bottom:
        faults.append(
            Fault(
                Message("tabs {height:g} mm high stand through the whole stock, {whole:g} mm",
                        height=words.tabs.height, whole=layout.face - layout.bottom),
                Message("lower tabs"),
                bench.place("tabs", "height"),
            )
        )
    return faults


def _bottom(bench: FlatBench, words: ContourWords) -> tuple[float, list[Fault]]:
    """The Z of the last lap, and what stands against it."""
    layout = bench.layout
    faults: list[Fault] = []
    if words.skin is None or words.cut_skin:
        bottom, faults = bottom_through(bench, bench.cutter.corner_radius)
    if words.skin is None:
        return bottom, faults
    bottom = layout.bottom + words.skin
    whole = layout.face - layout.bottom
    if MOST_SKIN * whole < words.skin < whole:
        faults.append(
            Fault(
                Message("a skin of {skin:g} mm is nearly the whole stock, {whole:g} mm: the wall "
                        "would be cut {deep:.3g} mm deep", skin=words.skin, whole=whole,
                        deep=whole - words.skin),
                Message("a thinner skin, {most} mm at most", most=no_more(MOST_SKIN * whole)),
                bench.place("skin"),
            )
        )
    if bottom >= layout.face:
        faults.append(
            Fault(
                Message("a skin of {skin:g} mm is the whole stock, {whole:g} mm", skin=words.skin,
                        whole=layout.face - layout.bottom),
                Message("a thinner skin"),
                bench.place("skin"),
            )
        )
    return bottom, faults


def unheld(bench: FlatBench, words: ContourWords, what: Message) -> list[Fault]:
    """A fault when nothing holds ``what`` once the last cut goes through."""
    if words.tabs is not None or words.kept_skin is not None or bench.layout.holds_slugs:
        return []
    return [
        Fault(
            Message("nothing holds {what} when the last cut goes through", what=what),
            Message("`{tabs}` or `skin: 0.02`; or `{holding}` where glue or carrier does",
                    tabs="tabs: {count: 2, width: 0.5, height: 0.1}",
                    holding="holding: {holds-slugs: true}"),
            bench.place(),
        )
    ]


def closed_wall(
    bench: FlatBench, words: ContourWords, rough: Path, last: Path, *, outside: bool = False
) -> ContourCut:
    """A wall from its two centre paths, both anticlockwise, with the way round and its tabs.

    Climb milling has the wall on the right of the way: anticlockwise inside a wall, clockwise
    ``outside`` it.
    """
    if (words.direction == "climb") == outside:
        rough, last = rough.reversed(), last.reversed()
    last = begun_on_longest(last)
    left = finish_left(bench, words)
    # An arc onto the wall is so long along it.
    lead = math.sqrt(2 * lead_radius(last, bench.cutter.diameter / 2, left) * left)
    return ContourCut(rough, last, tab_middles(last, words.tabs, bench.cutter.diameter, lead))


def begun_on_longest(path: Path) -> Path:
    """A closed path begun in the middle of its longest piece, where there is room to lead in."""
    longest = max(range(len(path.pieces)), key=lambda number: round(path.lengths[number], 9))
    return path.starting_at(math.fsum(path.lengths[:longest]) + path.lengths[longest] / 2)


def tabs_left(
    bench: FlatBench, words: ContourWords, cuts: Sequence[ContourCut]
) -> tuple[Tab, ...]:
    """What tabs or skin leave on one piece, for those who hold the work against the job."""
    until = cut_later(bench)
    if words.kept_skin is not None:
        top = bench.layout.bottom + words.kept_skin
        return tuple(
            Tab(x, y, radius, top, ((x, y), (x, y)), until)
            for cut in cuts
            for (x, y), radius in beads(cut.last, bench.cutter.diameter)
        )
    if words.tabs is None:
        return ()
    # Flanks of 45°; the groove is as wide as the cutter and what was left on the wall.
    along = words.tabs.width / 2 + words.tabs.height + bench.cutter.diameter / 2
    across = bench.cutter.diameter + finish_left(bench, words)
    reach = math.hypot(along, across)
    top = bench.layout.bottom + words.tabs.height
    return tuple(Tab(tab.x, tab.y, reach, top, tab_ends(cut.last, tab, words.tabs.width), until)
                 for cut in cuts for tab in cut.tabs)


def lead_radius(path: Path, radius: float, room: float) -> float:
    """Radius of the arc onto a path: the cutter's, or less where the first piece is short.

    An arc of radius ρ that is ``room`` off the wall at its far end is √(2·ρ·room) long along it.
    """
    return max(room, min(radius, path.lengths[0] ** 2 / (2 * room)))


@dataclass(frozen=True)
class _Way:
    """How the walls of a step are gone along: heights, cuts and feeds.

    ``bottom`` is the Z of the last lap; ``levels`` those of the last pass; ``through`` the Z that a
    skin is cut down to in the end.
    """

    bottom: float
    through: float
    levels: tuple[float, ...]
    cut: CutPlan
    rough: Feeds
    fine: Feeds
    climb: bool
    left: float
    tab_half: float
    tab_top: float

    def lift(
        self, path: Path, wall: ContourCut
    ) -> Callable[[Sequence[tuple[float, float]]], Sequence[tuple[float, float]]] | None:
        """What raises a profile along ``path`` over the wall's tabs; None without any."""
        if not wall.tabs:
            return None
        over = [path.nearest(tab) for tab in wall.tabs]
        half = half_over(path, wall.last, wall.tabs, self.rough.radius, self.tab_half)
        return partial(lifted, middles=over, half=half, top=self.tab_top)

    def led_in(self, wall: ContourCut, level: float) -> float:
        """How deep the last pass at ``level`` is led in and off: above a tab that lies there."""
        lift = self.lift(wall.last, wall)
        if lift is None:
            return level
        onto, off = self.leads(wall)
        profile = lift(((0.0, level), (wall.last.length, level)))
        return max(height_at(profile, wall.last.nearest(point))
                   for point in (onto.start, wall.last.start, off.pieces[-1].end))

    def leads(self, wall: ContourCut) -> tuple[Path, Path]:
        """The arcs onto the finished wall and off it again."""
        radius = lead_radius(wall.last, self.rough.radius, self.left)
        return leads(wall.last, self.climb, radius, self.left)


def _way(bench: FlatBench, words: ContourWords) -> _Way:
    layout, cutter = bench.layout, bench.cutter
    bottom, _ = _bottom(bench, words)
    left = finish_left(bench, words)
    cut = milling(bench, cutter.diameter, layout.face - bottom)
    if words.tabs is not None and least_round(cutter):
        cut = replace(cut, depth=min(cut.depth, BESIDE_TABS * bears_under(cutter)))
        cut = replace(cut, passes=math.ceil((layout.face - bottom) / cut.depth - 1e-9))
    last_cut, levels = finishing(bench, left, layout.face, bottom, cut.speed)
    tabs = words.tabs
    return _Way(
        bottom=bottom, through=bottom_through(bench, cutter.corner_radius)[0], levels=tuple(levels),
        cut=replace(cut, others=(last_cut,)),
        rough=Feeds.on(bench.machine, cut.feed, cut.plunge_feed, cutter.diameter / 2),
        fine=Feeds.on(bench.machine, last_cut.feed, cut.plunge_feed, cutter.diameter / 2),
        climb=words.direction == "climb", left=left,
        tab_half=cutter.diameter / 2 + (tabs.width / 2 if tabs else 0.0),
        tab_top=layout.bottom + (tabs.height if tabs else 0.0),
    )


def _round(bench: FlatBench, way: _Way, wall: ContourCut) -> list[Move]:
    """One wall: laps down on the rough path, then the last pass at full depth."""
    layout, rough, fine = bench.layout, way.rough, way.fine
    onto, off = way.leads(wall)
    # The laps end where the arc onto the finished wall begins, so nothing is lifted between.
    around = wall.rough.starting_at(wall.rough.nearest(onto.start))
    moves = above(layout, around.start) + enter(
        rough, layout.face, cleared=False, above=layout.face + layout.clearance)
    moves += laps(around, layout.face, way.bottom, way.cut, rough, way.climb,
                  way.lift(around, wall))
    if math.dist(around.start, onto.start) > 1e-6:
        moves.append(Feed(rough.along, x=onto.start.x, y=onto.start.y))
    lift = way.lift(wall.last, wall)
    for number, level in enumerate(way.levels):
        if number:
            moves.append(Feed(fine.along, x=onto.start.x, y=onto.start.y))
        begun = way.led_in(wall, level)
        if level != way.bottom or number or begun != level:
            moves.append(Feed(fine.straight, z=begun))
        moves += follow(onto, fine, way.climb)
        flat: Sequence[tuple[float, float]] = ((0.0, level), (wall.last.length, level))
        profile = list(lift(flat) if lift else flat)
        if profile[0][1] < begun:
            profile = [(0.0, begun), *profile, (wall.last.length, begun)]
        moves += follow(wall.last, fine, way.climb, profile)
        moves += follow(off, fine, way.climb)
    return moves + away(layout)


def _skin(bench: FlatBench, way: _Way, wall: ContourCut) -> list[Move]:
    """The skin below one wall, cut along the finished wall in laps."""
    layout = bench.layout
    onto, off = way.leads(wall)
    moves = above(layout, onto.start) + enter(
        way.rough, way.led_in(wall, way.bottom), cleared=True)
    moves += follow(onto, way.fine, way.climb)
    moves += laps(wall.last, way.bottom, way.through, way.cut, way.rough, way.climb,
                  way.lift(wall.last, wall))
    moves += follow(off, way.rough, way.climb)
    return moves + away(layout)


def plan_contours(
    bench: FlatBench, words: ContourWords, own: Sequence[ContourCut], title: Message
) -> PlannedStep:
    """The walls of one piece, ``own``, on every piece; then the skins, where they are to be cut."""
    layout, way = bench.layout, _way(bench, words)
    walls = [wall.last.length for wall in own]
    faults = thin_faults(bench, words, way.cut, walls) + crowded_faults(bench, words, walls)
    if words.finish is not None:
        faults += rubbing_faults(bench, way.cut.others[0], {"finish": words.finish})
    faults += _posts(bench, own)
    if faults:
        raise Refused(faults)
    rounds = [[move for wall in own for move in _round(bench, way, wall)]]
    if words.cut_skin:
        rounds.append([move for wall in own for move in _skin(bench, way, wall)])
    moves = away(layout)
    for one in rounds:
        for x, y in layout.places:
            moves += shifted(one, x, y)
    section = bench.section(title, way.cut.speed, moves)
    remarks = _remarks(bench, words, title) + thin_remarks(bench, words, way.cut, walls, title)
    return PlannedStep(section, way.cut, remarks, tabs_left(bench, words, own),
                       notes=left_notes(bench))


def _posts(bench: FlatBench, own: Sequence[ContourCut]) -> list[Fault]:
    """Walls so small that a mill whose end does not cut at its middle leaves a post within."""
    least = least_round(bench.cutter)
    return list(dict.fromkeys(
        Fault(
            Message("{cutter} goes down on a way that lies within a circle of {circle:.3g} mm: its "
                    "end does not cut at the middle (plunges: false) and leaves a post there",
                    cutter=bench.words.cutter, circle=2 * about),
            Message("a smaller cutter, or one that plunges"),
            bench.place("cutter"),
        )
        for wall in own
        if (about := float(shapely.minimum_bounding_radius(wall.rough.region(AREA_CHORD)))) < least
    ))


def _remarks(bench: FlatBench, words: ContourWords, title: Message) -> tuple[Message, ...]:
    """What the operator must know of how loose pieces are held."""
    remarks = [Message("{title}: climb milling", title=title) if words.direction == "climb"
               else Message("{title}: conventional milling", title=title)]
    later = cut_later(bench)
    if words.cut_skin:
        remarks.append(
            Message("{title}: a skin of {skin:g} mm holds all pieces until it is cut last",
                    title=title, skin=words.skin)
        )
    if later is not None:
        remarks.append(Message("{title}: what is left below holds until step {later} goes "
                               "through it", title=title, later=later + 1))
    elif words.tabs is not None:
        remarks.append(
            Message("{title}: {count} tabs {width:g} mm wide and {height:g} mm high hold the "
                    "loose piece; cut and dress them by hand", title=title,
                    count=words.tabs.count, width=words.tabs.width, height=words.tabs.height)
        )
    elif words.kept_skin is not None:
        remarks.append(
            Message("{title}: a skin of {skin:g} mm is left and holds the loose piece; cut it by "
                    "hand and dress the edge", title=title, skin=words.skin)
        )
    else:
        remarks.append(Message("{title}: loose pieces are held by {holding}", title=title,
                               holding=bench.holding))
    return tuple(remarks)
