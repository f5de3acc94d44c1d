"""Whether a stack of blanks can stand on the dividing head as the job says, in figures alone."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, Protocol

from camgen.faults import Fault, Place, all_of
from camgen.job.on_arbor import NAMES, ArborBody, ToothSetup, bodies_of
from camgen.messages import Message
from camgen.tolerances import LEAST_INCREMENT
from camgen.yamlfile.advice import listing

__all__ = ["stack_faults"]

# What holds a stack must lie on its face, beyond the hole.
HOLDS: Final = ("nut", "washer")


class _Placed(Protocol):
    """Finds the place of a word below ``dividing`` in the file."""

    def __call__(self, *words: str | int) -> Place: ...


def stack_faults(
    dividing: ToothSetup, tip: float, root: float, bore: float, at: _Placed, *,
    mouth: float = 0.0, mouth_behind: float = 0.0, hubs: bool = False,
) -> Iterator[Fault]:
    """Faults of a stack of blanks with these tip and root diameters and this hole, all mm.

    ``mouth`` is the diameter of the hole towards the free end, where it is wider there, and
    ``mouth_behind`` towards the head; ``hubs`` whether the blanks have any.
    """
    yield from _spacers(dividing, tip, root, at, hubs=hubs)
    if dividing.blank is not None and dividing.blank < tip - LEAST_INCREMENT:
        yield Fault(Message("the blank, {blank:g} mm, is smaller than the tip diameter, {tip:.3f} "
                            "mm", blank=dividing.blank, tip=tip),
                    Message("the teeth would lack their tops: turn the blank to {tip:.3f} mm or "
                            "leave blank: out", tip=tip), at("blank"))
    if dividing.blank is not None and dividing.blank > 2 * tip:
        yield Fault(Message("the blank, {blank:g} mm, is more than twice the tip diameter, "
                            "{tip:.3f} mm", blank=dividing.blank, tip=tip),
                    Message("turn it down first"), at("blank"))
    backed = dividing.backing or dividing.front_backing
    if backed and dividing.backing_diameter is not None and dividing.backing_diameter < root:
        yield Fault(Message("backing of {backing_diameter:g} mm is smaller than the roots of the "
                            "teeth, {root:.3f} mm, and backs none",
                            backing_diameter=dividing.backing_diameter, root=root),
                    Message("{tip:.3f} mm, or leave backing-diameter: out", tip=tip),
                    at("backing-diameter"))
    blank = max(tip, dividing.blank or 0.0)
    if backed and dividing.backing_diameter is not None and (
            dividing.backing_diameter > blank + LEAST_INCREMENT):
        yield Fault(Message("backing of {backing_diameter:g} mm stands above the blanks, "
                            "{blank:.3f} mm: the cutter meets it first, and deeper than its form "
                            "is", backing_diameter=dividing.backing_diameter, blank=blank),
                    Message("turn it to {blank:.3f} mm or leave backing-diameter: out",
                            blank=blank), at("backing-diameter"))
    if dividing.stack > 1 and not bore:
        yield Fault(Message("{stack} pieces without a hole cannot be stacked",
                            stack=dividing.stack), Message("stack: 1, or give the part its bore"),
                    at("stack"))
    wide_behind = max(bore, mouth_behind)
    yield from _bodies("front", dividing, max(bore, mouth), at)
    yield from _bodies("behind", dividing, wide_behind, at)
    behind = next((body.diameter for body in bodies_of(dividing.behind)), dividing.arbor)
    through = behind is not None and behind <= wide_behind + LEAST_INCREMENT
    if bore and not dividing.backing and through:
        yield Fault(Message("what stands behind the blanks, {behind:g} mm, goes through their "
                            "hole of {bore:g} mm: nothing holds them against the cut",
                            behind=behind, bore=wide_behind),
                    Message("say the shoulder they lie against, or a backing:"),
                    at("arbor" if dividing.behind is None else "behind"))
    if dividing.arbor is not None and dividing.behind is not None:
        yield Fault(Message("what stands behind the backing is said twice, under arbor and under "
                            "behind"), Message("leave arbor: out; behind: says more"), at("arbor"))
    yield from _tailstock(dividing, at)


def _spacers(
    dividing: ToothSetup, tip: float, root: float, at: _Placed, *, hubs: bool
) -> Iterator[Fault]:
    """Rings before the webs, of blanks that have none to put them before; too small, too large."""
    said, blank = dividing.spacers, max(tip, dividing.blank or 0.0)
    if said is None:
        return
    if not hubs:
        yield Fault(Message("spacers lie over the hubs of blanks, and these have none"),
                    Message("leave spacers: out; a disc before the stack is front-backing:"),
                    at("spacers"))
    elif said < root:
        yield Fault(Message("spacers of {said:g} mm are smaller than the roots of the teeth, "
                            "{root:.3f} mm, and back none", said=said, root=root),
                    Message("spacers: {least:.3f}, or leave them out", least=tip), at("spacers"))
    elif said > blank + LEAST_INCREMENT:
        yield Fault(Message("spacers of {said:g} mm stand above the blanks, {blank:.3f} mm: the "
                            "cutter meets them first, and deeper than its form is", said=said,
                            blank=blank),
                    Message("spacers: {blank:.3f} or less", blank=blank), at("spacers"))


def _bodies(word: str, dividing: ToothSetup, bore: float, at: _Placed) -> Iterator[Fault]:
    said = dividing.front if word == "front" else dividing.behind
    for number, body in enumerate(bodies_of(said)):
        place = at(word) if isinstance(said, ArborBody) else at(word, number)
        if len(body.names) != 1:
            who = (Message("the thing under {word}", word=word) if isinstance(said, ArborBody)
                   else Message("thing {number} under {word}", number=number + 1, word=word))
            yield Fault(Message("{who} is called {names}", who=who, names=all_of(body.names))
                        if body.names else Message("{who} has no name", who=who),
                        Message("say one of {names}, with its diameter, such as {word}: {typed}",
                                names=listing(NAMES), word=word, typed="{nut: 5, length: 4}"),
                        place)
            continue
        name = body.names[0]
        if (word == "front" and name in HOLDS and number == 0
                and body.diameter <= bore + LEAST_INCREMENT):
            yield Fault(Message("a {name} of {diameter:g} mm goes through the hole of {bore:g} mm "
                                "and holds nothing", name=name, diameter=body.diameter, bore=bore),
                        Message("it is its outside diameter, over the corners"), place)
        if word == "front" and name == "arbor" and bore and body.diameter > bore + LEAST_INCREMENT:
            yield Fault(Message("blanks with a hole of {bore:g} mm do not go over an arbor of "
                                "{diameter:g} mm", bore=bore, diameter=body.diameter),
                        Message("call it a spacer, driver or chuck if it is put on after them"),
                        place)


def _tailstock(dividing: ToothSetup, at: _Placed) -> Iterator[Fault]:
    tailstock = dividing.tailstock
    if tailstock is None:
        return
    taken = sum(body.length for body in bodies_of(dividing.front))
    if tailstock.starts < taken - LEAST_INCREMENT:
        yield Fault(Message("the tailstock's body begins {starts:g} mm before the stack, where "
                            "what is said under front takes {taken:g} mm", starts=tailstock.starts,
                            taken=taken),
                    Message("from: counts from the free face of the stack to the body, behind the "
                            "centre"), at("tailstock", "from"))
    if tailstock.body < tailstock.centre:
        yield Fault(Message("the tailstock's body, {body:g} mm, is thinner than its centre, "
                            "{centre:g} mm", body=tailstock.body, centre=tailstock.centre),
                    Message("body: is the largest diameter of quill and body"),
                    at("tailstock", "body"))
