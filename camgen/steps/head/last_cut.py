"""Passes that a person asks for when teeth are cut: no thinner than can be cut, and measurable.

At a depth of cut a a disc's thickest chip is its chip load times 2·√(a/D − (a/D)²): where that is
less than the least chip, the edge rubs, takes nothing off and spoils the size. Lengths mm.
"""

from __future__ import annotations

from camgen.cutting.body import body_of
from camgen.cutting.chips import top_tooth
from camgen.cutting.planner import CutPlan
from camgen.faults import Fault, no_less
from camgen.messages import Message
from camgen.shop.materials import edge_of
from camgen.steps.kind import Bench, HeadBench

__all__ = ["least_pass", "measured_faults", "rubbing_faults", "skimming_faults"]


def least_pass(bench: Bench, cut: CutPlan) -> float:
    """The least depth at which the cutter still makes a chip at the feed of ``cut``, mm.

    The thickest chip solved for the depth, a = D/2·(1 − √(1 − (h/f)²)): h is the least chip at the
    low end of its range, f what the tooth that stands out farthest takes.
    """
    cutter = bench.cutter
    body = body_of(cutter, bench.machine, edge_of(cutter))
    least = bench.material.least_chip.low * body.edge_radius
    share = min(1.0, least / top_tooth(cut.chip_load, body.run_out, cutter.flutes))
    return float(cutter.diameter / 2 * (1.0 - (1.0 - share * share) ** 0.5))


def rubbing_faults(
    bench: Bench, cut: CutPlan, asked: dict[str, float | None], shared: int = 1
) -> list[Fault]:
    """Depths ``asked`` for by these words that are too thin to be cut at the feed planned.

    Each is taken in so many passes that ``shared`` it.
    """
    least = least_pass(bench, cut) * shared
    return [
        Fault(
            Message("{word} {value:g} mm is too thin to be cut at {chip:.2g} µm a tooth: the edge "
                    "would rub", word=word, value=value, chip=1000 * cut.chip_load),
            Message("{word}: {least} or more, or leave it out", word=word, least=no_less(least)),
            bench.place(word),
        )
        for word, value in asked.items() if value is not None and value < least - 1e-9
    ]


def skimming_faults(
    bench: Bench, asked: dict[str, float | None], shared: int = 1
) -> list[Fault]:
    """What is ``asked`` by these words to be left on walls or floors, thinner than any chip.

    Each is taken in so many passes that ``shared`` it.
    """
    edge = body_of(bench.cutter, bench.machine, edge_of(bench.cutter)).edge_radius
    least = bench.material.least_chip.value * edge * shared
    return [
        Fault(
            Message("{word} {value:g} mm is too thin to be cut in {shared} passes: below "
                    "{least:.2g} µm the edge would rub", word=word, value=value, shared=shared,
                    least=1000 * least) if shared > 1 else
            Message("{word} {value:g} mm is too thin to be cut: below {least:.2g} µm the edge "
                    "would rub", word=word, value=value, least=1000 * least),
            Message("{word}: {least} or more, or leave it out", word=word, least=no_less(least)),
            bench.place(word),
        )
        for word, value in asked.items() if value is not None and value < least - 1e-9
    ]


def measured_faults(bench: HeadBench, short: float, depth: float) -> list[Fault]:
    """Trial spaces so much ``short`` of ``depth`` that no tooth can be measured between them."""
    height = bench.layout.tooth.sizes.chordal_height
    if depth - short > height:
        return []
    return [Fault(
        Message("trial spaces {short:g} mm short of {depth:.3f} mm end above the place where a "
                "tooth is measured, {height:.3f} mm below the tip", short=short, depth=depth,
                height=height),
        Message("a few hundredths of a millimetre are enough"),
        bench.place("trial-short"),
    )]
