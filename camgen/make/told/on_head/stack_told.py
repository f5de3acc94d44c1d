"""What the sheet says of a stack on its arbor, and of how the head divides."""

from __future__ import annotations

from camgen.job.on_arbor import ArborBody, ToothSetup, bodies_of
from camgen.layout import ToothLayout
from camgen.sheet.data import DividingLine
from camgen.shop.machine import DrivenHead
from camgen.words import Words

__all__ = ["dividing_told", "stack_told"]


def stack_told(dividing: ToothSetup, layout: ToothLayout, say: Words) -> str:
    """The stack, and what stands before and behind it."""
    count = dividing.stack
    parts = [say("stock", "stack-one" if count == 1 else "stack", count=count,
                 diameter=f"{2 * layout.blank_radius:.3f}",
                 height=f"{layout.stack_to - layout.stack_from:.3g}")]
    behind = layout.backing_to - layout.stack_to
    if layout.stack_from > 0:
        parts.append(say("stock", "backing-before", thickness=f"{layout.stack_from:g}"))
    if behind > 0:
        parts.append(say("stock", "backing-behind", thickness=f"{behind:g}"))
    return "; ".join((", ".join(parts), *_on_arbor(dividing, layout, say)))


def _on_arbor(dividing: ToothSetup, layout: ToothLayout, say: Words) -> list[str]:
    """What stands before and behind the stack, each side in words."""

    def named(bodies: tuple[ArborBody, ...]) -> list[str]:
        return [say("stock", "on-arbor", what=say("on-arbor", body.names[0]),
                    diameter=f"{body.diameter:g}", length=f"{body.length:g}") for body in bodies]

    before, tailstock = named(bodies_of(dividing.front)), dividing.tailstock
    if tailstock is not None:
        before.append(say("stock", "tailstock", centre=f"{tailstock.centre:g}",
                          body=f"{tailstock.body:g}", start=f"{tailstock.starts:g}"))
    if not before:
        before.append(say("stock", "nothing" if layout.before_said else "not-said"))
    sides = [say("stock", "before", things=", ".join(before))]
    behind = named(bodies_of(dividing.behind))
    if not behind and dividing.arbor is not None:
        behind.append(say("stock", "arbor", diameter=f"{dividing.arbor:g}"))
    if behind:
        sides.append(say("stock", "behind", things=", ".join(behind)))
    return sides


def dividing_told(layout: ToothLayout, head: object, say: Words) -> DividingLine:
    """How the head divides, and how exactly."""
    division = layout.division
    driven = head.letter if isinstance(head, DrivenHead) else ""
    take_up = head.take_up if isinstance(head, DrivenHead) else 0.0
    radius = layout.tooth.sizes.pitch_diameter / 2
    return DividingLine(
        division.count, driven, division.worst_single_arcsec, division.closing_arcsec,
        division.micrometres(abs(division.closing_arcsec), radius), take_up,
        tuple(say.say(setting) for setting in division.settings[:3]),
        head.pulses // division.count if isinstance(head, DrivenHead) and head.pulses else 0,
    )
