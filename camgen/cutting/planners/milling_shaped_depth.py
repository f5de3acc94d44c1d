"""The greatest depth that all loads allow, where the shape of the edge changes with the depth."""

from __future__ import annotations

from math import exp, log

from camgen.cutting.body import too_weak
from camgen.cutting.planners.milling_cut import CutAtDepth, MillingAsked, milling_cut_at
from camgen.faults import Refused
from camgen.messages import NOTHING, Message
from camgen.values import dataclass

__all__ = ["deepest_cut"]

# Where the edge changes with the depth, depths are tried, each where the last two say that the
# loads would just allow it, within these bounds; then between one that will do and one that will
# not, the loads' own course is followed until they allow no more than this share beyond it.
SMALLEST_STEP, GREATEST_STEP = 0.92, 0.4
DEPTHS_TRIED = 24
NEAR = 0.02
# Where nothing is found so, every depth of a ladder is tried before an answer is refused.
RUNG = 0.85
NARROWED = 4


def deepest_cut(ask: MillingAsked, depth: float, least: float) -> tuple[float, Message, CutAtDepth]:
    """The greatest depth from ``depth`` down that all loads allow, for shaped edges; its limit, and
    the cut there.

    Depths in mm. Chips, speed and strength all change with the depth there, so depths are tried; if
    none will bear the full chip, the deepest that bears one that still cuts. Raises Refused with
    the last reason when none will do.
    """
    no: Refused | None = None
    governed, thin = NOTHING, None
    at, above = depth, _Tried(depth)
    for _ in range(DEPTHS_TRIED):
        try:
            tried = _tried(ask, at)
        except Refused as reason:
            no, governed, step = reason, Message("surface speed"), GREATEST_STEP
            above = _Tried(at)
        else:
            assert tried.cut is not None
            if tried.over >= -1e-9:
                best = tried if at == depth else _narrowed(ask, tried, above)
                assert best.cut is not None
                return best.depth, governed, best.cut
            no, governed = None, tried.name
            if thin is None and tried.cut.chip_for(at, tried.cut.rpm)[0] >= tried.cut.chip_least:
                thin = (at, tried.name, tried.cut)
            step = exp(tried.over) if above.cut is None else _crossing(tried, above) / at
            above = tried
        at *= min(max(step, GREATEST_STEP), SMALLEST_STEP)
        if at < least:
            break
    if thin is not None:
        return thin
    at = depth
    while at >= least:
        try:
            tried = _tried(ask, at)
        except Refused:
            pass
        else:
            assert tried.cut is not None
            if tried.cut.chip_for(at, tried.cut.rpm)[0] >= tried.cut.chip_least:
                return at, tried.name, tried.cut
        at *= RUNG
    if no is None and above.cut is not None:
        cut = above.cut
        raise Refused(too_weak(governed, above.depth, cut.chip_for(above.depth, cut.rpm)[0],
                               cut.chip_least, ask.cutter))
    assert no is not None
    raise no


@dataclass(frozen=True, slots=True)
class _Tried:
    """A depth, the cut there, the logarithm of what its loads allow over the depth, and the limit
    that does; no cut where it is not to be had at all."""

    depth: float
    cut: CutAtDepth | None = None
    over: float = 0.0
    name: Message = NOTHING


def _tried(ask: MillingAsked, depth: float) -> _Tried:
    """A depth tried. Raises Refused where the cut is not to be had at all."""
    cut = milling_cut_at(ask, depth)
    able, name = cut.depth_for(cut.chip)
    return _Tried(depth, cut, log(able / depth), name)


def _crossing(one: _Tried, other: _Tried) -> float:
    """Just above the depth that its loads allow, by two tried: straight in the logarithms."""
    slope = (one.over - other.over) / log(one.depth / other.depth)
    if slope >= 0.0:
        return one.depth
    # Far beyond the bounds of a step is as far as the bounds.
    return one.depth * exp(max(-one.over / slope, -10.0)) * (1.0 - NEAR / 2.0)


def _narrowed(ask: MillingAsked, works: _Tried, fails: _Tried) -> _Tried:
    """A depth that all loads allow, between one that works and one that does not."""
    for _ in range(NARROWED):
        if works.over <= NEAR or fails.depth <= works.depth * (1.0 + NEAR):
            break
        middle = (works.depth + fails.depth) / 2.0
        if fails.cut is not None:
            middle = min(max(_crossing(works, fails), works.depth), fails.depth)
        try:
            tried = _tried(ask, middle)
        except Refused:
            fails = _Tried(middle)
        else:
            works, fails = (tried, fails) if tried.over >= 0.0 else (works, tried)
    return works
