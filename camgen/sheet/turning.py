"""Turning a piece over and laying it on dowels, step by step, for the setup sheet."""

from __future__ import annotations

from camgen.sheet.data import Dowel, TurningOver
from camgen.sheet.markup import Markup, element, join
from camgen.words import Words

__all__ = ["turning_over"]


def _at(dowel: Dowel) -> dict[str, str]:
    # Adding zero turns -0.0 into 0.0.
    return {"name": dowel.name, "diameter": f"{dowel.diameter:.3f}", "x": f"{dowel.x + 0.0:.3f}",
            "y": f"{dowel.y + 0.0:.3f}"}


def turning_over(turning: TurningOver, say: Words) -> Markup:
    """The procedure, each line to be ticked off."""
    dowels = "; ".join(say("turning", "dowel", **_at(one)) for one in turning.dowels)
    first, *others = turning.dowels
    lines = [
        say("turning", "carrier", dowels=dowels, height=f"{turning.stand:.2f}"),
        say("turning", "zero", **_at(first)),
        *(say("turning", "direction", **_at(one)) for one in others),
    ]
    if turning.axis:
        lines.append(say("turning", f"about-{turning.axis.lower()}"))
    lines.append(say("turning", "lay"))
    if turning.check is not None:
        lines.append(say("turning", "half-turn" if turning.alike else "check",
                         **_at(turning.check)))
    return element(
        "div",
        element("h3", say("turning", f"heading-{turning.face}")),
        *(element("p", join(element("span", class_="tick"), line), class_="hang")
          for line in lines),
        element("p", say("turning", "solid"), class_="note") if turning.solid else None,
        class_="keep",
    )
