"""Whether an arbor under a stack is stiff enough for the force of the cut.

The arbor is taken as a round steel bar as thick as the hole of the blanks, held at the head; its
stack is the length that bends, and the force stands at the free end, or with a tailstock in the
middle between two supports. Blanks clamped hard stiffen it, so this is on the safe side.
"""

from __future__ import annotations

import math

from camgen.faults import Fault
from camgen.layout import ToothLayout, place_of
from camgen.steps.kind import Bench

__all__ = ["arbor_bends", "arbor_supposed", "slender_faults"]

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


def arbor_supposed(bench: Bench) -> bool:
    """Whether a tailstock is supposed at the arbor's free end, since nothing is said of it."""
    dividing = bench.dividing
    return (dividing.tailstock is None and not bench.stack.before_said
            and not dividing.slender and bool(bench.job.part.bore))


def slender_faults(bench: Bench, force: float) -> list[Fault]:
    """A fault where a stack's arbor bends more than its teeth bear."""
    dividing, bore = bench.dividing, bench.job.part.bore
    if dividing.slender or not bore:
        return []
    layout: ToothLayout = bench.stack
    # Where nothing at all is said of the front, which the sheet tells, a tailstock is taken for
    # granted: jobs were written before there was a word for one.
    supported = dividing.tailstock is not None or arbor_supposed(bench)
    length, most = layout.backing_to, max(SHARE * layout.tooth.sizes.whole_depth, LEAST)
    bent = arbor_bends(force, length, bore, supported=supported)
    if bent <= most:
        return []
    # Bending goes with the cube of the length.
    shorter = length * (most / bent) ** (1.0 / 3.0)
    return [Fault(
        f"an arbor of {bore:g} mm under {length:.1f} mm of blanks and backing bends {bent:.3g} mm "
        f"under the {force:.2g} N of the cut; {most:.3f} mm is bearable"
        + ("" if supported else ", and no tailstock is said"),
        f"no more than {shorter:.1f} mm on the arbor at a time"
        + ("" if supported else ", a tailstock: where there is one")
        + ", more passes, or slender: true under dividing where it is held otherwise",
        place_of(bench.job, bench.setup, "dividing", "stack"),
    )]
