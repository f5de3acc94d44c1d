"""Whether a stack of blanks can stand on the dividing head as the job says, in figures alone."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, Protocol

from camgen.faults import Fault, Place
from camgen.job.models import ToothSetup
from camgen.job.on_arbor import NAMES, ArborBody, bodies_of
from camgen.tolerances import LEAST_INCREMENT
from camgen.yamlfile.advice import listing

__all__ = ["stack_faults"]

# What holds a stack must lie on its face, beyond the hole.
HOLDS: Final = ("nut", "washer")


class _Placed(Protocol):
    """Finds the place of a word below ``dividing`` in the file."""

    def __call__(self, *words: str | int) -> Place: ...


def stack_faults(
    dividing: ToothSetup, tip: float, root: float, bore: float, at: _Placed
) -> Iterator[Fault]:
    """Faults of a stack of blanks with these tip and root diameters and this hole, all mm."""
    if dividing.blank is not None and dividing.blank < tip - LEAST_INCREMENT:
        yield Fault(f"the blank, {dividing.blank:g} mm, is smaller than the tip diameter, "
                    f"{tip:.3f} mm", "The teeth would lack their tops: turn the blank to "
                    f"{tip:.3f} mm or leave blank: out.", at("blank"))
    if dividing.blank is not None and dividing.blank > 2 * tip:
        yield Fault(f"the blank, {dividing.blank:g} mm, is more than twice the tip diameter, "
                    f"{tip:.3f} mm", "Turn it down first.", at("blank"))
    backed = dividing.backing or dividing.front_backing
    if backed and dividing.backing_diameter is not None and dividing.backing_diameter < root:
        yield Fault(f"backing of {dividing.backing_diameter:g} mm is smaller than the roots of the "
                    f"teeth, {root:.3f} mm, and backs none", f"{tip:.3f} mm, or leave "
                    "backing-diameter: out.", at("backing-diameter"))
    blank = max(tip, dividing.blank or 0.0)
    if backed and dividing.backing_diameter is not None and (
            dividing.backing_diameter > blank + LEAST_INCREMENT):
        yield Fault(f"backing of {dividing.backing_diameter:g} mm stands above the blanks, "
                    f"{blank:.3f} mm: the cutter meets it first, and deeper than its form is",
                    f"Turn it to {blank:.3f} mm or leave backing-diameter: out.",
                    at("backing-diameter"))
    if dividing.stack > 1 and not bore:
        yield Fault(f"{dividing.stack} pieces without a hole cannot be stacked",
                    "stack: 1, or give the part its bore.", at("stack"))
    yield from _bodies("front", dividing, bore, at)
    yield from _bodies("behind", dividing, bore, at)
    behind = next((body.diameter for body in bodies_of(dividing.behind)), dividing.arbor)
    if bore and not dividing.backing and behind is not None and behind <= bore + LEAST_INCREMENT:
        yield Fault(f"what stands behind the blanks, {behind:g} mm, goes through their hole of "
                    f"{bore:g} mm: nothing holds them against the cut",
                    "Say the shoulder they lie against, or a backing:.",
                    at("arbor" if dividing.behind is None else "behind"))
    if dividing.arbor is not None and dividing.behind is not None:
        yield Fault("what stands behind the backing is said twice, under arbor and under behind",
                    "Leave arbor: out; behind: says more.", at("arbor"))
    yield from _tailstock(dividing, at)


def _bodies(word: str, dividing: ToothSetup, bore: float, at: _Placed) -> Iterator[Fault]:
    said = dividing.front if word == "front" else dividing.behind
    for number, body in enumerate(bodies_of(said)):
        place = at(word) if isinstance(said, ArborBody) else at(word, number)
        if len(body.names) != 1:
            found = f"is called {' and '.join(body.names)}" if body.names else "has no name"
            yield Fault(f"{'the thing' if isinstance(said, ArborBody) else f'thing {number + 1}'} "
                        f"under {word} {found}", f"Say one of {listing(NAMES)}, with its diameter, "
                        f"such as {word}: {{nut: 5, length: 4}}.", place)
            continue
        name = body.names[0]
        if (word == "front" and name in HOLDS and number == 0
                and body.diameter <= bore + LEAST_INCREMENT):
            yield Fault(f"a {name} of {body.diameter:g} mm goes through the hole of {bore:g} mm "
                        "and holds nothing", "It is its outside diameter, over the corners.",
                        place)
        if word == "front" and name == "arbor" and bore and body.diameter > bore + LEAST_INCREMENT:
            yield Fault(f"blanks with a hole of {bore:g} mm do not go over an arbor of "
                        f"{body.diameter:g} mm", "Call it a spacer, driver or chuck if it is put "
                        "on after them.", place)


def _tailstock(dividing: ToothSetup, at: _Placed) -> Iterator[Fault]:
    tailstock = dividing.tailstock
    if tailstock is None:
        return
    taken = sum(body.length for body in bodies_of(dividing.front))
    if tailstock.starts < taken - LEAST_INCREMENT:
        yield Fault(f"the tailstock's body begins {tailstock.starts:g} mm before the stack, where "
                    f"what is said under front takes {taken:g} mm",
                    "from: counts from the free face of the stack to the body, behind the centre.",
                    at("tailstock", "from"))
    if tailstock.body < tailstock.centre:
        yield Fault(f"the tailstock's body, {tailstock.body:g} mm, is thinner than its centre, "
                    f"{tailstock.centre:g} mm", "body: is the largest diameter of quill and body.",
                    at("tailstock", "body"))
