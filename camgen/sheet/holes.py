"""The sheet's table of holes."""

from __future__ import annotations

from camgen.sheet.data import HoleLine, HoleStep, HoleTable
from camgen.sheet.markup import Child, Markup, element, join
from camgen.words import Words

__all__ = ["hole_table", "number"]


def number(value: float, places: int = 3) -> str:
    """A figure, of whatever unit, without needless zeros after two decimal places.

    >>> number(0.25), number(10.949), number(5.0)
    ('0.25', '10.949', '5.00')
    """
    text = f"{value:.{places}f}"
    while places > 2 and text.endswith("0"):
        text, places = text[:-1], places - 1
    return text


def hole_table(table: HoleTable, say: Words) -> Markup:
    """The table of holes; under the name of each step what to do when its holes are off."""
    head = (("", say("holes", "hole")), ("n", "X"), ("n", "Y"), ("n", say("holes", "size")),
            ("n", say("holes", "limits")), ("n", say("holes", "depth")),
            ("gauge", say("holes", "gauge")), ("write", say("holes", "measured")))

    def cells(hole: HoleLine) -> tuple[Child, ...]:
        limits = "" if hole.limits is None else f"{hole.limits[0]:.3f}–{hole.limits[1]:.3f}"
        return (hole.name, number(hole.x), number(hole.y), element("b", f"{hole.size:.3f}"), limits,
                say("holes", "through") if hole.depth is None else number(hole.depth), hole.gauge,
                None)

    def row(hole: HoleLine) -> Markup:
        return join(
            element("tr", *(element("td", cell, class_=kind or None)
                            for (kind, _), cell in zip(head, cells(hole), strict=True))),
            element("tr", element("td", hole.note, class_="why", colspan=str(len(head))))
            if hole.note else None)

    told: set[str] = set()

    def body(step: HoleStep) -> Markup:
        # What was said of an earlier step word for word is not said again.
        correct = None if step.correct in told else element("small", step.correct)
        told.add(step.correct)
        return element(
            "tbody",
            element("tr", element("td", element("b", step.title), " ", correct,
                                  colspan=str(len(head)))),
            *(row(hole) for hole in step.holes))

    return element(
        "div", element("h3", say("holes", "heading"), " ", element("small", table.counted)),
        element("table",
                element("thead", element("tr", *(element("th", title, class_=kind or None)
                                                 for kind, title in head))),
                *(body(step) for step in table.steps), class_="holes"))
