"""Whether tabs and skins bear the force of the cut, and whether what is left can still be cut.

The loose piece is taken as rigid. The force of the cut at its edge pushes it and turns it: on a
ring held all around, the place that bears most bears twice the mean, so half of what holds it is
reckoned with; and never less than one tab. What a material bears in shear is taken from its
specific cutting force, which for all the metals of the table is two and a half to six times its
strength in shear (from memory), so a sixth of it is on the safe side. The planner's force is that
of a worn cutter that runs out.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from camgen.cutting.planner import CutPlan
from camgen.faults import Fault, no_less
from camgen.messages import Message, counted
from camgen.steps.kind import FlatBench

if TYPE_CHECKING:
    from camgen.steps.walls.contour import ContourWords

__all__ = ["bearable_shear", "crowded_faults", "thin_faults", "thin_remarks"]

# What a material is trusted with in shear, as a share of its specific cutting force at a chip of
# 1 mm. From memory, see above.
SHEAR_SHARE = 1.0 / 6.0
# Least sizes whatever the force: what sawing and dressing by hand, stock that is not quite even and
# a zero that is touched off leave of them. And with `thin: true`. Common practice, no source.
TAB_WIDTH, TAB_HEIGHT, SKIN = 0.1, 0.05, 0.01
NEVER = 0.005
# Tabs take at most so much of a wall: the cutter must come down and cut between them. Common
# practice, no source.
MOST_TABS = 0.8


def bearable_shear(kc1: float) -> float:
    """What a material of this specific cutting force, N/mm² at 1 mm, is trusted with, N/mm².

    >>> round(bearable_shear(700.0), 1)
    116.7
    """
    return SHEAR_SHARE * kc1


def thin_faults(
    bench: FlatBench, words: ContourWords, cut: CutPlan, walls: Sequence[float]
) -> list[Fault]:
    """Tabs and skins that are less than they must be, along walls of these lengths, mm."""
    return [] if words.thin and not _too_thin(bench, words, NEVER, NEVER, NEVER) \
        else _faults(bench, words, cut, walls)


def crowded_faults(
    bench: FlatBench, words: ContourWords, walls: Sequence[float]
) -> list[Fault]:
    """Tabs between which the cutter has no way down: on walls of these lengths, mm."""
    tabs = words.tabs
    if tabs is None or not walls:
        return []
    # The cutter stays up over its own width too, and comes down on a flank of 45° either side.
    one = tabs.width + 2 * tabs.height + bench.cutter.diameter
    fit = int(min(walls) * MOST_TABS / one)
    if tabs.count <= fit:
        return []
    return [Fault(
        counted("{n} tab {width:g} mm wide leaves the cutter no way down beside it on {wall:.1f} "
                "mm of wall: each takes {each:.2f} mm of it",
                "{n} tabs {width:g} mm wide leave the cutter no way down between them on "
                "{wall:.1f} mm of wall: each takes {each:.2f} mm of it", tabs.count,
                width=tabs.width, wall=min(walls), each=one),
        Message("{tabs} or fewer, or narrower ones", tabs=f"tabs: {{count: {fit}, …}}") if fit else
        Message("narrower or lower tabs, or a skin"),
        bench.place("tabs"))]


def thin_remarks(
    bench: FlatBench, words: ContourWords, cut: CutPlan, walls: Sequence[float], title: Message
) -> tuple[Message, ...]:
    """What the operator must know where a word lets thinner tabs or skins through."""
    if not words.thin or not _faults(bench, words, cut, walls):
        return ()
    return (
        Message("{title}: tabs or skin may be too thin to hold the piece, and the job says thin: "
                "true", title=title),)


def _faults(
    bench: FlatBench, words: ContourWords, cut: CutPlan, walls: Sequence[float]
) -> list[Fault]:
    faults = _too_thin(bench, words, TAB_WIDTH, TAB_HEIGHT, SKIN)
    if faults:
        return faults
    force = max(one.force for one in (cut, *cut.others))
    shear = bearable_shear(bench.material.kc1.value)
    if words.tabs is not None:
        tabs = words.tabs
        # Flanks of 45° either side of it stand as well.
        section = tabs.height * (tabs.width + tabs.height)
        need = force * min(1.0, 2.0 / tabs.count) / shear
        if section < need:
            faults.append(Fault(
                counted("{n} tab {width:g} mm wide and {height:g} mm high does not bear the "
                        "{force:.2g} N of the cut: {need:.3g} mm² must stand in each, and "
                        "{section:.3g} mm² do",
                        "{n} tabs {width:g} mm wide and {height:g} mm high do not bear the "
                        "{force:.2g} N of the cut: {need:.3g} mm² must stand in each, and "
                        "{section:.3g} mm² do", tabs.count, width=tabs.width, height=tabs.height,
                        force=force, need=need, section=section),
                Message("tabs {least} mm wide or wider, or higher ones; or thin: true in the step "
                        "where something else holds the piece too",
                        least=no_less(need / tabs.height - tabs.height, 0.01)),
                bench.place("tabs")))
    if words.skin is not None and walls:
        need = force / shear / (min(walls) / 2)
        if words.skin < need:
            faults.append(Fault(
                Message("a skin of {skin:g} mm does not bear the {force:.2g} N of the cut along "
                        "{wall:.1f} mm of wall", skin=words.skin, force=force, wall=min(walls)),
                Message("skin: {least} or more; or thin: true in the step where something else "
                        "holds the piece too", least=no_less(need)),
                bench.place("skin")))
    return faults


def _too_thin(
    bench: FlatBench, words: ContourWords, width: float, height: float, skin: float
) -> list[Fault]:
    """Faults of sizes below these, whatever the force."""
    found: list[tuple[Message, float, float, tuple[str, ...]]] = []
    tabs = words.tabs
    if tabs is not None and tabs.width < width - 1e-9:
        found.append((Message("tabs {size:g} mm wide", size=tabs.width), tabs.width, width,
                      ("tabs", "width")))
    if tabs is not None and tabs.height < height - 1e-9:
        found.append((Message("tabs {size:g} mm high", size=tabs.height), tabs.height, height,
                      ("tabs", "height")))
    if words.skin is not None and words.skin < skin - 1e-9:
        found.append((Message("a skin of {size:g} mm", size=words.skin), words.skin, skin,
                      ("skin",)))
    return [
        Fault(Message("{what} may as well not be there: stock that is not quite even and a zero "
                      "that is off take it away", what=what),
              Message("{least:g} mm or more", least=least) if size < NEVER else
              Message("{least:g} mm or more; or thin: true in the step where it is meant",
                      least=least),
              bench.place(*place))
        for what, size, least, place in found
    ]
