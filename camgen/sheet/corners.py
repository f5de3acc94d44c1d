"""The sheet's table of corners that are filed by hand: where each lies and how much is left."""

from __future__ import annotations

from collections.abc import Sequence

from camgen.sheet.data import CornerLine
from camgen.sheet.markup import Markup, element
from camgen.words import Words

__all__ = ["corners_left"]


def corners_left(corners: Sequence[CornerLine], say: Words) -> Markup:
    """A line for each corner, with a box to tick."""
    head = (("", say("corners", "wall")), ("n", "X"), ("n", "Y"), ("n", say("corners", "angle")),
            ("n", say("corners", "left")), ("write", say("corners", "filed")))

    def row(one: CornerLine) -> Markup:
        figures = (f"{one.x:.3f}", f"{one.y:.3f}", f"{one.angle:.0f}°", f"{one.left:.3f}")
        return element("tr", element("td", one.of),
                       *(element("td", figure, class_="n") for figure in figures),
                       element("td", element("span", class_="tick"), class_="write"))

    return element(
        "div", element("h3", say("corners", "heading")), element("p", say("corners", "how")),
        element("table",
                element("thead", element("tr", *(element("th", title, class_=kind or None)
                                                 for kind, title in head))),
                element("tbody", *map(row, corners)), class_="holes"))
