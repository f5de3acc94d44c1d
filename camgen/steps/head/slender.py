"""Whether an arbor under a stack is stiff enough for the force of the cut.

The arbor is taken as a round steel bar as thick as the hole of the blanks, held at the head; its
stack is the length that bends, and the force stands at the free end, or with a tailstock in the
middle between two supports. Blanks clamped hard stiffen it, so this is on the safe side.

A part without a bore has no arbor through it and bends itself: a bar as thick as its roots, between
what the job says stands behind it as far as the collet or chuck and before it as far as the centre.
Lengths mm, forces N.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from camgen.faults import Fault, Place, no_more
from camgen.job.on_arbor import bodies_of
from camgen.layout import ToothLayout, place_of
from camgen.messages import Message
from camgen.steps.kind import HeadBench

__all__ = ["arbor_bends", "arbor_supposed", "bar_bends", "slender_faults"]

# Modulus of elasticity of steel, MPa: 206 to 210 in every table, from memory.
STEEL = 206_000.0
# An arbor may bend so much under the force of the cut, as a share of the depth of the teeth and
# never less than so many mm: the trial teeth, measured, show what is less. Common practice, no
# source.
SHARE, LEAST = 0.1, 0.03


def arbor_bends(force: float, length: float, diameter: float, *, supported: bool) -> float:
    """Bending of a round bar, mm, under ``force`` N: F·L³/(3·E·I) from one end, F·L³/(48·E·I)
    in the middle between two (beam theory), I = π·d⁴/64.

    >>> round(arbor_bends(10.0, 20.0, 2.0, supported=False), 4)
    0.1648
    """
    stiff = STEEL * math.pi * diameter**4 / 64.0
    return force * length**3 / ((48.0 if supported else 3.0) * stiff)


def bar_bends(
    force: float, bar: Sequence[tuple[float, float]], at: float, *, supported: bool
) -> float:
    """Bending, mm, under ``force`` N at the place ``at``, of a bar of pieces (length, diameter).

    Held fast at its beginning; or, with a second support at its end, free to turn at both. By the
    energy of bending: the integral of m²/(E·I) along it, m the moment of a unit force there.

    >>> round(bar_bends(10.0, [(5.0, 2.0), (15.0, 2.0)], 20.0, supported=False), 4)
    0.1648
    """
    whole = sum(length for length, _ in bar)
    # The moment rises from nothing: at the force where held fast at 0, else at either support.
    share = (whole - at) / whole if supported else 1.0
    total, begin = 0.0, 0.0
    for length, diameter in bar:
        end, stiff = begin + length, STEEL * math.pi * diameter**4 / 64.0
        low, high = min(begin, at), min(end, at)
        if supported:
            total += share**2 * (high**3 - low**3) / (3.0 * stiff)
            low, high = max(begin, at), max(end, at)
            total += (at / whole) ** 2 * ((whole - low) ** 3 - (whole - high) ** 3) / (3.0 * stiff)
        else:
            total += ((at - low) ** 3 - (at - high) ** 3) / (3.0 * stiff)
        begin = end
    return force * total


def _own_body(bench: HeadBench, force: float) -> list[Fault]:
    """A fault where a part without a bore, held by its own body, bends more than its teeth bear."""
    dividing, layout = bench.work.dividing, bench.layout
    behind: list[tuple[float, float]] = []
    for one in bodies_of(dividing.behind):
        if one.arbor is None:
            break  # what grips it, or is thick beside it
        behind.append((one.length, one.diameter))
    sizes = layout.tooth.sizes
    leaves = layout.stack_to - layout.stack_from
    backing = [(layout.backing_to - layout.stack_to, 2 * layout.backing_radius)]
    before = [(layout.stack_from, 2 * layout.backing_radius),
              *((one.length, one.diameter) for one in bodies_of(dividing.front))]
    rear = [(length, wide) for length, wide in (*reversed(behind), *backing) if length > 0]
    bar = [*rear, (leaves, sizes.root_diameter),
           *((length, wide) for length, wide in before if length > 0)]
    begin = sum(length for length, _ in rear)
    supported = dividing.tailstock is not None or arbor_supposed(bench)
    bent = max(bar_bends(force, bar, at, supported=supported)
               for at in (begin, begin + leaves / 2, begin + leaves))
    most = max(SHARE * sizes.whole_depth, LEAST)
    if bent <= most:
        return []
    word = "behind" if dividing.behind is not None else "stack"
    message = Message(
        "the {part} on its own body, {thin:.3g} mm at its thinnest and {long:.1f} mm long, bends "
        "{bent:.3g} mm under the {force:.2g} N of the cut; {most:.3f} mm is bearable",
        part=bench.job.part.word, thin=min(wide for _, wide in bar),
        long=sum(length for length, _ in bar), bent=bent, force=force, most=most)
    remedy = Message("hold it nearer the teeth or leave it thicker there")
    return [_bends(message, remedy, supported,
                   place_of(bench.job, bench.setup, "dividing", word))]


def _bends(message: Message, remedy: Message, supported: bool, place: Place) -> Fault:
    """The fault of what bends too far, held by a tailstock or not."""
    if not supported:
        message = Message("{what}, and no tailstock is said", what=message)
        remedy = Message("{remedy}, a tailstock: where there is one", remedy=remedy)
    return Fault(message, Message(
        "{remedy}, more passes, or slender: true under dividing where it is held otherwise",
        remedy=remedy), place)


def arbor_supposed(bench: HeadBench) -> bool:
    """Whether a tailstock is supposed at the arbor's free end, since nothing is said of it."""
    dividing = bench.work.dividing
    return (dividing.tailstock is None and not bench.layout.before_said
            and not dividing.slender)


def slender_faults(bench: HeadBench, force: float) -> list[Fault]:
    """A fault where a stack's arbor bends more than its teeth bear."""
    dividing, bore = bench.work.dividing, bench.job.part.bore
    if dividing.slender:
        return []
    if not bore:
        return _own_body(bench, force)
    layout: ToothLayout = bench.layout
    # Where nothing at all is said of the front, which the sheet tells, a tailstock is taken for
    # granted: jobs were written before there was a word for one.
    supported = dividing.tailstock is not None or arbor_supposed(bench)
    length, most = layout.backing_to, max(SHARE * layout.tooth.sizes.whole_depth, LEAST)
    bent = arbor_bends(force, length, bore, supported=supported)
    if bent <= most:
        return []
    # Bending goes with the cube of the length.
    shorter = length * (most / bent) ** (1.0 / 3.0)
    return [_bends(
        Message("an arbor of {bore:g} mm under {length:.1f} mm of blanks and backing bends "
                "{bent:.3g} mm under the {force:.2g} N of the cut; {most:.3f} mm is bearable",
                bore=bore, length=length, bent=bent, force=force, most=most),
        Message("no more than {most} mm on the arbor at a time", most=no_more(shorter, 0.01)),
        supported, place_of(bench.job, bench.setup, "dividing", "stack"))]
