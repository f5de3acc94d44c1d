"""What a person types in a step, held against what it can mean.

A correction makes good what a cutter, a zero or a shank that bends is off by; a feed or a speed
asked for takes the place of the planner's, which stays within what edge, shank and spindle bear.
What is far beyond is a slip of the point or a fault elsewhere. ``far: true`` in the step lets more
through, never without end.
"""

from __future__ import annotations

from camgen.cutting.body import body_of
from camgen.cutting.planner import CutPlan
from camgen.faults import Fault, no_less, no_more
from camgen.layout import FlatLayout, ToothLayout
from camgen.messages import Message
from camgen.part.declaration import Correction, MakesHoles
from camgen.shop.cutters import record_of
from camgen.shop.materials import edge_of
from camgen.steps.kind import Bench, PlannedStep
from camgen.values import dataclass

__all__ = ["FAR_TIMES", "asked_faults", "correction_faults", "correction_most",
           "correction_remarks", "unheard_faults"]

# Of what it corrects, a correction is so much at most, and with ``far: true`` so many times that.
# On walls and diameters never less than LEAST and never more than MOST mm, since neither a cutter's
# wear nor its bending grows with the work. Common practice, no source.
SHARE = 0.05
FAR_TIMES = 3.0
LEAST, MOST = 0.02, 0.1
# An asked feed or speed may overstep what is usual so many times, and with ``far: true`` so many;
# what breaks the cutter is never overstepped more than the first. Common practice, no source.
ASKED_TIMES = 2.0
ASKED_FAR_TIMES = 4.0
STRENGTH = ("bending stress", "torsion", "thrust")


@dataclass(frozen=True)
class _Corrected:
    """What a correction is added to: in words, its size in mm, and the most that is usual."""

    what: Message
    size: float
    most: float


def correction_most(size: float, *, teeth: bool) -> float:
    """The most that a correction of something of this ``size`` is without ``far: true``, mm.

    >>> round(correction_most(0.444, teeth=True), 4), correction_most(0.3, teeth=False)
    (0.0222, 0.02)
    """
    return SHARE * size if teeth else min(max(SHARE * size, LEAST), MOST)


def _corrected(bench: Bench, one: Correction) -> _Corrected:
    match bench.layout:
        case ToothLayout(tooth=tooth):
            size = tooth.sizes.whole_depth
            return _Corrected(Message("depth"), size, correction_most(size, teeth=True))
        case FlatLayout(part=part) if one.added == "diameter":
            named = [made.holes for made in bench.words.declares().makes
                     if isinstance(made, MakesHoles)]
            sizes = [hole.diameter for hole in (*part.holes, *part.blind)
                     if any(holes.means(hole.name, hole.group) for holes in named)]
            size = min(sizes, default=bench.cutter.diameter)
            return _Corrected(Message("hole"), size, correction_most(size, teeth=False))
    size = bench.cutter.diameter
    return _Corrected(Message("cutter"), size, correction_most(size, teeth=False))


def correction_faults(bench: Bench) -> list[Fault]:
    """Corrections of a step that are more than a measured piece can ask for."""
    faults: list[Fault] = []
    for one in bench.words.declares().corrections:
        of = _corrected(bench, one)
        far = FAR_TIMES * of.most
        if abs(one.value) <= (far if bench.words.far else of.most) + 1e-9:
            continue
        beyond = abs(one.value) > far + 1e-9
        remedy = Message("look at its point; where a piece truly measured so far off, look for the "
                         "cause first: zero, diameter or profile of the cutter")
        faults.append(Fault(
            Message("a {word} of {value:g} mm on a {what} of {size:.3f} mm is more than a cutter, "
                    "a zero or bending is off by: {most} mm is usual", word=one.word,
                    value=one.value, what=of.what, size=of.size, most=no_more(of.most)),
            Message("{remedy}; far: true goes up to {far} mm", remedy=remedy, far=no_more(far))
            if beyond else or_far(remedy),
            bench.place(one.word),
        ))
    return faults


def correction_remarks(bench: Bench) -> tuple[Message, ...]:
    """The corrections in force, for console, sheet and picture."""
    return tuple(
        Message("{step}: {word} {value:+.3f} mm is in force", step=bench.words.called,
                word=one.word, value=one.value)
        for one in bench.words.declares().corrections if one.value
    )


def or_far(remedy: Message) -> Message:
    """A remedy for what the step's own ``far: true`` would let through too."""
    return Message("{remedy}; if it is meant, write far: true in the step", remedy=remedy)


def unheard_faults(bench: Bench) -> list[Fault]:
    """A feed asked of what cuts a thread, which takes its own and would take no notice."""
    words = bench.words
    if words.feed is None or not record_of(bench.cutter).threads:
        return []
    own = (Message("a tap's feed is its pitch times its speed") if record_of(bench.cutter).taps
           else Message("round a thread the feed is the planner's"))
    return [Fault(Message("the feed asked for, {feed:g}, would change nothing: {own}",
                          feed=words.feed, own=own),
                  Message("leave feed: out; speed: changes the feed with it"),
                  bench.place("feed"))]


def asked_faults(bench: Bench, step: PlannedStep) -> list[Fault]:
    """Feeds and speeds asked for with which cutter, edge or spindle are far beyond their limits."""
    asked = [word for word in ("feed", "speed") if getattr(bench.words, word) is not None]
    if not asked:
        return []
    faults: list[Fault] = []
    for _, cut in step.sections:
        faults += _overstepped(bench, cut, asked) + _rubs(bench, cut, asked)
    return list(dict.fromkeys(faults))


def _rubs(bench: Bench, cut: CutPlan, asked: list[str]) -> list[Fault]:
    """A feed asked for, or a speed, at which the edge makes no chip at all."""
    cutter = bench.cutter
    least = (bench.material.least_chip.low
             * body_of(cutter, bench.machine, edge_of(cutter)).edge_radius)
    most = ASKED_FAR_TIMES if bench.words.far else ASKED_TIMES
    if record_of(cutter).threads or cut.chip_load * most >= least:
        return []
    word = asked[0]
    can = cut.chip_load * ASKED_FAR_TIMES >= least
    remedy = (Message("{word}: {least} or more, or leave it out", word=word,
                      least=no_less(cut.feed * least / cut.chip_load, 0.1))
              if word == "feed" else _leave_out(word))
    return [Fault(
        Message("the {word} asked for, {value:g}, leaves {chip:.2g} µm a tooth, and below "
                "{least:.2g} µm the edge only rubs", word=word, value=getattr(bench.words, word),
                chip=1000 * cut.chip_load, least=1000 * least),
        or_far(remedy) if can and not bench.words.far else remedy,
        bench.place(word),
    )]


def _leave_out(word: str) -> Message:
    return Message("leave {word}: out and see what is planned, or ask for less", word=word)


def _overstepped(bench: Bench, cut: CutPlan, asked: list[str]) -> list[Fault]:
    most = ASKED_FAR_TIMES if bench.words.far else ASKED_TIMES
    worst = max(
        (limit for limit in cut.limits if not limit.least
         and limit.share > (ASKED_TIMES if limit.name in STRENGTH else most) + 1e-9),
        key=lambda limit: limit.share, default=None,
    )
    if worst is None:
        return []
    word = "speed" if worst.governs == "speed" and "speed" in asked else asked[0]
    thousand = worst.unit.startswith("mm") and worst.value < 0.5
    value, used, unit = (
        (1000 * worst.value, 1000 * worst.used, worst.unit.replace("mm", "µm", 1)) if thousand
        else (worst.value, worst.used, worst.unit))
    can = worst.share <= ASKED_FAR_TIMES and worst.name not in STRENGTH
    remedy = _leave_out(word)
    return [Fault(
        Message("the {word} asked for, {value:g}, brings {limit} to {used:.3g} {unit}, {share:.1f} "
                "times the {usual:.3g} {unit} that are usual", word=word,
                value=getattr(bench.words, word), limit=worst.name, used=used, unit=unit,
                share=worst.share, usual=value),
        or_far(remedy) if can and not bench.words.far else remedy,
        bench.place(word),
    )]
