"""Where and how deep the spaces were cut, and the wheel that leaves, from the motion read back."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import shapely
from shapely import Polygon, affinity

from camgen.arrays import Floats
from camgen.layout import ToothLayout
from camgen.layout.stands import hands_of
from camgen.preview.course.track import Track
from camgen.shop.cutters import Cutter
from camgen.teeth.cut.bought import space_beside, topped_space
from camgen.teeth.tooth import Tooth
from camgen.values import dataclass

__all__ = [
    "Cut",
    "CutSpace",
    "axes_of",
    "cut_of",
    "cut_spaces",
    "depth_and_place",
    "drawn_at",
    "over_of",
    "space_at",
    "space_left",
    "turned_to_middle",
    "wheel_as_cut",
]

# Chord error of outlines drawn enlarged, mm.
FINE = 0.0005


@dataclass(frozen=True, slots=True)
class CutSpace:
    """One space: the head's angle in degrees, the depth from the tip circle in mm, the cutter, and
    how far ``over`` it stood, mm towards larger angles, where teeth are cut so."""

    angle: float
    depth: float
    cutter: int
    over: float = 0.0


@dataclass(frozen=True)
class Cut:
    """What pictures of tooth cutting draw: the wheel that the motion leaves and the one meant."""

    layout: ToothLayout
    track: Track
    cutters: Mapping[int, Cutter]
    spaces: tuple[CutSpace, ...]
    wheel: Polygon
    meant: Polygon


def cut_of(layout: ToothLayout, track: Track, cutters: Mapping[int, Cutter]) -> Cut:
    """What a way cuts on a stack."""
    cuts = cut_spaces(layout, track, cutters)
    deepest: dict[float, CutSpace] = {}
    for one in cuts:
        # Where a space was roughed before, it has the form of the cutter that went deeper.
        if one.angle not in deepest or one.depth > deepest[one.angle].depth:
            deepest[one.angle] = one
    own = [one for one in deepest.values() if len(layout.tooth.approaches) < 2
           or one.cutter == next(iter(deepest.values())).cutter]
    return Cut(layout, track, cutters, tuple(own), wheel_as_cut(layout, cuts, cutters),
               Polygon(layout.tooth.outline(FINE)))


def turned_to_middle(cut: Cut) -> Cut:
    """The wheel seen with a space on the +x axis: of part-circle teeth the middle one."""
    tooth = cut.layout.tooth
    if not tooth.part_circle:
        return cut
    angle = -math.degrees(tooth.pitch_angle) * (tooth.spaces[len(tooth.spaces) // 2] - 1)
    wheel, meant = (affinity.rotate(shape, angle, origin=(0, 0))
                    for shape in (cut.wheel, cut.meant))
    return replace(cut, wheel=wheel, meant=meant)


def axes_of(layout: ToothLayout) -> tuple[tuple[int, float], tuple[int, float]]:
    """Number (0 X, 1 Y, 2 Z) and sign of the axis along the arbor and of the axis of infeed."""
    def split(word: str) -> tuple[int, float]:
        return "XYZ".index(word[1]), 1.0 if word[0] == "+" else -1.0

    return split(layout.arrangement.along), split(layout.arrangement.infeed)


def depth_and_place(
    layout: ToothLayout, points: Floats, cutters: Mapping[int, Cutter], number: int
) -> tuple[Floats, Floats]:
    """Depth below the tip circle and position along the arbor, mm, of positions (m, 3)."""
    (along, along_sign), (infeed, infeed_sign) = axes_of(layout)
    depth = points[:, infeed] * infeed_sign
    if layout.zero == "axis":
        cutter = cutters.get(number)
        depth = depth + layout.tooth.tip_radius + (cutter.diameter / 2 if cutter else 0.0)
    return depth, points[:, along] * along_sign


def cut_spaces(
    layout: ToothLayout, track: Track, cutters: Mapping[int, Cutter]
) -> tuple[CutSpace, ...]:
    """Every angle at which metal of the blanks was cut, with the greatest depth of each cutter."""
    found: dict[tuple[float, int, float], float] = {}
    for number in sorted(set(track.cutter.tolist())):
        own = track.only(track.cutting & (track.cutter == number))
        first, begin = depth_and_place(layout, own.start, cutters, number)
        last, finish = depth_and_place(layout, own.end, cutters, number)
        deep = np.minimum(first, last)
        low, high = np.minimum(begin, finish), np.maximum(begin, finish)
        met = (deep > 1e-9) & (high >= layout.stack_from) & (low <= layout.stack_to)
        over = over_of(layout, own.end[met])
        for angle, depth, beside in zip(own.angle[met].tolist(), deep[met].tolist(),
                                        over.tolist(), strict=True):
            key = round(angle % 360.0, 6) % 360.0, number, round(beside, 6)
            found[key] = max(depth, found.get(key, 0.0))
    return tuple(CutSpace(angle, depth, number, over)
                 for (angle, number, over), depth in sorted(found.items()))


def over_of(layout: ToothLayout, points: Floats) -> Floats:
    """(m,) how far over, mm towards larger angles, a cutter stood at positions (m, 3); 0 of teeth
    that are cut straight in."""
    if not layout.tooth.approaches:
        return np.zeros(len(points))
    across = points[:, "XYZ".index(layout.arrangement.across)]
    return np.asarray(np.nan_to_num(hands_of(layout.arrangement).across * across))


def drawn_at(layout: ToothLayout, angle: float) -> float:
    """Where in the drawing of the wheel a space lies that is cut with the head at this angle,
    degrees. Teeth that are alike whichever way they are seen are drawn as the head counts."""
    if not layout.tooth.approaches:
        return angle
    return hands_of(layout.arrangement).turn * angle % 360.0


def space_at(layout: ToothLayout, tooth: Tooth, depth: float) -> Polygon:
    """The space on the +x axis that a cutter made for ``tooth`` leaves at ``depth`` mm."""
    overshoot = max(layout.blank_radius - layout.tooth.tip_radius, 0.0) + abs(
        depth - tooth.sizes.whole_depth) + 0.05 * tooth.sizes.whole_depth
    points = tooth.space(FINE, overshoot)
    shift = layout.tooth.tip_radius - depth - tooth.root_radius
    return Polygon(points + np.array([shift, 0.0]))


def space_left(
    layout: ToothLayout, cutter: Cutter | None, depth: float, over: float = 0.0
) -> Polygon:
    """The space at the head's 0° that a cutter leaves at ``depth`` mm; a saw leaves a slot.

    ``over`` mm towards larger angles, where teeth are cut so. One whose space is not known is taken
    to leave the job's own.
    """
    if layout.tooth.approaches:
        return _space_over(layout, cutter, depth, over)
    line = cutter.cut_space() if cutter is not None and cutter.made_for is None else None
    if line is not None:
        tip = layout.tooth.tip_radius
        return Polygon(line.polygon(tip - depth, max(layout.blank_radius, tip) + 0.05 * depth))
    made_for = cutter.made_for if cutter else None
    if made_for is not None and cutter is not None and cutter.topping:
        return Polygon(topped_space(made_for.tooth()).polygon(
            layout.tooth.tip_radius - depth, layout.blank_radius + depth))
    return space_at(layout, made_for.tooth() if made_for else layout.tooth, depth)


def _space_over(
    layout: ToothLayout, cutter: Cutter | None, depth: float, over: float
) -> Polygon:
    """The same of teeth whose cutters come to them in ways of their own."""
    tooth = layout.tooth
    line = (cutter.cut_space() if cutter is not None else None) or space_beside(tooth)
    shape = Polygon(line.polygon(tooth.tip_radius - depth, layout.blank_radius + depth, over))
    turned: Polygon = affinity.rotate(shape, tooth.ways[0].turn, origin=(0, 0))
    return turned


def wheel_as_cut(
    layout: ToothLayout, spaces: tuple[CutSpace, ...], cutters: Mapping[int, Cutter]
) -> Polygon:
    """The blank less every space as it was cut."""
    turns = np.linspace(0.0, 2 * math.pi, max(360, 24 * layout.tooth.sizes.teeth), endpoint=False)
    blank = Polygon(layout.blank_radius * np.column_stack((np.cos(turns), np.sin(turns))))
    shapes: dict[tuple[int, float, float], Polygon] = {}
    gone = []
    for space in spaces:
        key = space.cutter, round(space.depth, 6), space.over
        if key not in shapes:
            shapes[key] = space_left(layout, cutters.get(space.cutter), space.depth, space.over)
        gone.append(affinity.rotate(shapes[key], drawn_at(layout, space.angle), origin=(0, 0)))
    left = shapely.difference(blank, shapely.union_all(gone)) if gone else blank
    parts = [part for part in shapely.get_parts(left) if isinstance(part, Polygon)]
    return max(parts, key=lambda part: part.area, default=Polygon())
