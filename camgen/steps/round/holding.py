"""Whether what holds turned work lets a cutter come to it, and holds it stiffly enough.

Lengths mm, forces N.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from camgen.cutting.planner import CutPlan
from camgen.faults import Fault, Refused, no_less
from camgen.job.on_arbor import Turned
from camgen.layout import place_of
from camgen.messages import Message
from camgen.shop.cutters import PartName, profile_of
from camgen.steps.cuts import milling
from camgen.steps.head.slender import bar_bends
from camgen.steps.kind import RoundBench

__all__ = ["bending_faults", "reach_faults", "stiff_cut"]

# Turned work may give way so much under the force of the cut, mm: what a flat or slot is then off.
# Common practice, no source.
GIVES_WAY = 0.01
# In more passes than these nobody mills a flat.
MOST_PASSES = 20


def reach_faults(bench: RoundBench, begin: float, end: float, out: float) -> list[Fault]:
    """What of the cutter would meet something while its axis goes from ``begin`` to ``end`` along
    the work, its end ``out`` from the axis."""
    layout = bench.layout
    parts = profile_of(bench.cutter).parts
    for part in parts:
        low = max(out + part.low, 0.0)
        for body in layout.bodies:
            if body in layout.work and (part.name is PartName.EDGE or low >= body.radius):
                continue
            if low >= body.radius or _clear(body, begin - part.radius, end + part.radius,
                                            layout.clearance):
                continue
            if body in layout.work:
                return [Fault(
                    Message("the {part} of {cutter}, {wide:g} mm wide, would meet the work, "
                            "{thick:g} mm thick beside the cut", part=part.name.called,
                            cutter=bench.words.cutter, wide=2 * part.radius,
                            thick=2 * body.radius),
                    Message("a cutter with a longer reach"), bench.place("cutter"))]
            return [_meets(bench, body, part.name.called, 2 * part.radius,
                           _short(body, begin - part.radius, end + part.radius)
                           + layout.clearance)]
    return []


def _clear(body: Turned, low: float, high: float, room: float) -> bool:
    """Whether a stretch along the work stands clear before or behind a body."""
    return _short(body, low, high) <= -room + 1e-9


def _short(body: Turned, low: float, high: float) -> float:
    """How far a stretch reaches into a body, from the side that is nearer; negative: clear."""
    return min(high - body.begin, body.end - low)


def _meets(
    bench: RoundBench, body: Turned, part: Message, wide: float, short: float
) -> Fault:
    """A thing beside the work is in the way."""
    held = bench.work.held
    if body.name.startswith("tailstock"):
        return Fault(
            Message("the {part} of {cutter}, {wide:g} mm wide, would meet the {thing}", part=part,
                    cutter=bench.words.cutter, wide=wide, thing=body.called),
            Message("from: {least} or more, or a thinner centre, or a longer reach",
                    least=no_less(held.tailstock.starts + short if held.tailstock else short)),
            place_of(bench.job, bench.setup, "held", "tailstock"))
    return Fault(
        Message("the {part} of {cutter}, {wide:g} mm wide, would meet the {thing} that holds the "
                "work, {thick:g} mm in diameter", part=part, cutter=bench.words.cutter, wide=wide,
                thing=body.called, thick=2 * body.radius),
        Message("stands-out: {least} or more, or a smaller cutter with a longer reach",
                least=no_less(held.stands_out + short, 0.1)),
        place_of(bench.job, bench.setup, "held", "stands-out"))


def stiff_cut(
    bench: RoundBench, width: float, deep: float, passes: int | None, places: Iterable[float]
) -> CutPlan:
    """The cut of an end mill ``width`` mm wide and ``deep`` mm in all: in as many passes as said,
    else in as few as cutter and work bear at all ``places`` along it. Raises Refused where none do.
    """
    def gives_way(cut: CutPlan) -> list[Fault]:
        return list(dict.fromkeys(
            fault for place in places for fault in bending_faults(bench, cut.force, place)))

    places = tuple(places)
    if passes is not None:
        cut = milling(bench, width, deep / passes, at_once=True)
        faults = gives_way(cut)
        if faults:
            raise Refused(faults)
        return cut
    cut = milling(bench, width, deep)
    faults = gives_way(cut)
    for count in range(cut.passes + 1, MOST_PASSES + 1) if faults else ():
        try:
            cut = milling(bench, width, deep / count, at_once=True)
        except Refused:
            break
        if not gives_way(cut):
            return cut
    if faults:
        raise Refused(faults)
    return cut


def bending_faults(bench: RoundBench, force: float, place: float) -> Iterator[Fault]:
    """The work gives way under the force of the cut at a ``place`` along it."""
    layout = bench.layout
    supported = bench.work.held.tailstock is not None
    bar, at = [], 0.0
    for body in sorted(layout.work, key=lambda one: -one.begin):
        begin, end = body.begin, min(body.end, layout.stands_out)
        if end > begin:
            bar.append((end - begin, 2 * body.radius))
    at = min(layout.stands_out - place, sum(length for length, _ in bar))
    bent = bar_bends(force, bar, at, supported=supported)
    if bent <= GIVES_WAY:
        return
    yield Fault(
        Message("the work, {thin:.3g} mm at its thinnest and {long:.1f} mm out of what holds it, "
                "gives way {bent:.3f} mm under the {force:.2g} N of the cut; {most:g} mm is "
                "bearable", thin=min(wide for _, wide in bar), long=layout.stands_out, bent=bent,
                force=force, most=GIVES_WAY),
        Message("let it stand out less, or a smaller cutter or feed") if supported else
        Message("let it stand out less, a tailstock, or a smaller cutter or feed"),
        place_of(bench.job, bench.setup, "held", "stands-out"))
