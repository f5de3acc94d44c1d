"""Milling flats on turned work: an end mill over the work, its end cutting the flat.

The head stands still while the cutter goes across, off the work on either side, strip after strip
along the flat; so its shoulder is straight and square to the axis. Lengths mm.
"""

import math
from collections.abc import Iterator
from typing import ClassVar

from pydantic import Field

from camgen.cutting.planner import CutPlan
from camgen.faults import Fault, did_you_mean, no_more
from camgen.job.models import StepWords
from camgen.messages import Message
from camgen.moves import Move
from camgen.part.declaration import Declaration, MakesFlats, Named
from camgen.part.features import Flats
from camgen.shop.cutters import Ability
from camgen.steps.kind import PlannedStep, RoundBench, StepKind
from camgen.steps.round.frame import RoundFrame, at_each_place
from camgen.steps.round.holding import reach_faults, stiff_cut
from camgen.tolerances import ZERO_ALONG, ZERO_INFEED
from camgen.values import dataclass

__all__ = ["MILL_FLATS"]

# A strip is at most so wide, over the cutter's diameter, so that strips overlap where the cutter
# runs out. Common practice, no source.
STRIP = 0.7


class MillFlats(StepWords):
    """Mill flats on turned work held in the dividing head."""

    kind: ClassVar[str] = "mill-flats"
    called: ClassVar[Message] = Message("mill flats")
    flats: tuple[str, ...] | None = Field(None, description="names of flats; all when left out")
    passes: int | None = Field(None, ge=1, le=50, description="depths to cut in; else planned")

    def declares(self) -> Declaration:
        """The flats, at all their angles."""
        return Declaration((MakesFlats(Named(self.flats)),), (Ability.MILL_WALL,))


@dataclass(frozen=True)
class _Strips:
    """The strips of one group of flats on one piece: where the cutter's axis goes ``across``, and
    how ``wide`` a strip is in metal."""

    at: tuple[float, ...]
    wide: float


def _chosen(bench: RoundBench, words: MillFlats) -> list[Flats]:
    return [one for one in bench.layout.made if isinstance(one, Flats)
            and Named(words.flats).means(one.name)]


def _open_before(bench: RoundBench, one: Flats, place: float) -> bool:
    """Whether the work before a flat is no thicker than the flat is high, or there is none."""
    return bench.layout.open_before(place + one.begin, one.across / 2)


def _strips(bench: RoundBench, one: Flats, place: float) -> _Strips:
    """Where the strips lie, the last of them up to the shoulder."""
    wide, long = bench.cutter.diameter, one.end - one.begin
    end = place + one.end - wide / 2
    if _open_before(bench, one, place):
        count = math.ceil(long / (STRIP * wide) - 1e-9)
        step = long / count
        return _Strips(tuple(end - (count - 1 - k) * step for k in range(count)), step)
    rest = long - wide
    count = math.ceil(rest / (STRIP * wide) - 1e-9)
    return _Strips((*(place + one.begin + wide / 2 + k * rest / count for k in range(count)), end)
                   if count else (end,), wide)


def _check(bench: RoundBench, words: MillFlats) -> list[Fault]:
    """Faults seen without planning."""
    faults = bench.need()
    known = [one.name for one in bench.layout.made if isinstance(one, Flats)]
    part = bench.layout.part
    faults += [Fault(Message("no flats are called {name}", name=name),
                     did_you_mean(name, sorted(part.flats),
                                  Message("the part's flats: {names}", names=tuple(part.flats))),
                     bench.place("flats"))
               for name in words.flats or () if name not in part.flats]
    if not faults and not known:
        faults.append(Fault(Message("the part has no flats"), Message("add flats: under turned:"),
                            bench.place()))
    if bench.cutter.corner > 0:
        faults.append(Fault(
            Message("{cutter} has a corner radius of {corner:g} mm and leaves no sharp shoulder",
                    cutter=bench.words.cutter, corner=bench.cutter.corner),
            Message("an end mill with a sharp corner"), bench.place("cutter")))
    if faults:
        return faults
    wide = bench.cutter.diameter
    for one in _chosen(bench, words):
        for place in bench.layout.places:
            if not _open_before(bench, one, place) and one.end - one.begin < wide - 1e-9:
                return [*faults, Fault(
                    Message("{cutter} is {wide:g} mm wide and the flats of {name} are {long:g} mm "
                            "long between shoulders", cutter=bench.words.cutter, wide=wide,
                            name=one.name, long=one.end - one.begin),
                    Message("an end mill of {most} mm or less", most=no_more(
                        one.end - one.begin, 0.01)), bench.place("cutter"))]
            strips = _strips(bench, one, place)
            faults += reach_faults(bench, strips.at[0], strips.at[-1], one.across / 2)
    return list(dict.fromkeys(faults))


def _plan(bench: RoundBench, words: MillFlats) -> PlannedStep:
    """All flats, angle after angle; on each the pieces one after another, in strips and passes."""
    frame, layout = RoundFrame(bench.layout), bench.layout
    chosen = _chosen(bench, words)
    deepest = max(_high(bench, one) - one.across / 2 for one in chosen)
    widest = max(_strips(bench, one, place).wide for one in chosen for place in layout.places)
    cut = stiff_cut(bench, min(widest, bench.cutter.diameter), deepest, words.passes,
                    [one.begin for one in chosen])
    at: dict[int, list[Move]] = {}
    for one in chosen:
        for angle in one.angles:
            moves = at.setdefault(layout.head_place(angle), [])
            for place in layout.places:
                moves += _one_flat(bench, frame, cut, one, place)
    return PlannedStep(
        bench.section(words.called, cut.speed, at_each_place(bench, frame, at)), cut,
        tuple(_remarks(bench, chosen)))


def _high(bench: RoundBench, one: Flats) -> float:
    """How thick the work is turned where flats come, its radius."""
    return max(bench.layout.radius_over(place + one.begin, place + one.end)[1]
               for place in bench.layout.places)


def _one_flat(
    bench: RoundBench, frame: RoundFrame, cut: CutPlan, one: Flats, place: float
) -> list[Move]:
    """One flat of one piece, from clear of the work to clear of the work."""
    layout, radius = bench.layout, bench.cutter.diameter / 2
    low, high = one.across / 2, _high(bench, one)
    count = math.ceil((high - low) / cut.depth - 1e-9)
    moves: list[Move] = []
    for level in range(1, count + 1):
        out = high - (high - low) * level / count
        for along in _strips(bench, one, place).at:
            # Beside the cutter too it must come down off the work, a shoulder behind it included.
            near = layout.radius_over(along - radius - 2 * ZERO_ALONG - layout.clearance,
                                      along + radius + 2 * ZERO_ALONG + layout.clearance)[1]
            lowest = max(out - ZERO_INFEED, 0.0)
            off = (math.sqrt(max(near**2 - lowest**2, 0.0)) + radius + ZERO_ALONG
                   + layout.clearance)
            moves += [frame.along(along), frame.across(-off), frame.out(out),
                      frame.fed_across(cut.feed, off), frame.out(frame.clear_out)]
    return moves


def _remarks(bench: RoundBench, chosen: list[Flats]) -> Iterator[Message]:
    for one in chosen:
        yield Message("{name}: {count} flats {across:.3f} mm across, from {begin:.3f} to "
                      "{end:.3f} mm behind the free end", name=one.name, count=len(one.angles),
                      across=one.across, begin=one.begin, end=one.end)


MILL_FLATS = StepKind("mill-flats", MillFlats, _check, _plan)
