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
    others = turning.dowels[1:]
    lines = _by_bore(turning, say) if not others else _on_dowels(turning, say)
    if turning.check is not None:
        lines.append(say("turning", "half-turn" if turning.alike else "check",
                         **_at(turning.check)))
    return element(
        "div",
        element("h3", say("turning", f"heading-{turning.face}" if others else
                          f"bore-heading-{turning.face}")),
        *(element("p", join(element("span", class_="tick"), line), class_="hang")
          for line in lines),
        element("p", say("turning", "solid"), class_="note") if turning.solid else None,
        class_="keep",
    )


def _on_dowels(turning: TurningOver, say: Words) -> list[str]:
    """A piece on two dowels."""
    dowels = "; ".join(say("turning", "dowel", **_at(one)) for one in turning.dowels)
    first, *others = turning.dowels
    return [
        say("turning", "carrier", dowels=dowels, height=f"{turning.stand:.2f}"),
        say("turning", "zero", **_at(first)),
        *(say("turning", "direction", **_at(one)) for one in others),
        *_turned(turning, say),
        say("turning", "lay"),
    ]


def _by_bore(turning: TurningOver, say: Words) -> list[str]:
    """A wheel, laid by its bore: on a spigot, or clamped and indicated."""
    (bore,) = turning.dowels
    lines = []
    if not turning.indicated:
        lines += [say("turning", "spigot", height=f"{turning.stand:.2f}", **_at(bore)),
                  say("turning", "spigot-zero")]
    if turning.hub is not None:
        wide, deep = turning.hub
        lines.append(say("turning", "hub", diameter=f"{wide:.3f}", deep=f"{deep:.3f}"))
    lines += _turned(turning, say)
    return [*lines, say("turning", "indicate" if turning.indicated else "spigot-lay", **_at(bore)),
            say("turning", "web-touch")]


def _turned(turning: TurningOver, say: Words) -> list[str]:
    """How the piece was turned over, where it was."""
    about = "strip-about" if turning.strip else "about"
    return [say("turning", f"{about}-{turning.axis.lower()}")] if turning.axis else []
