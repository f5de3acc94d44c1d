"""Whether a stock laid on its dowels turned by half a turn would be noticed, and by which hole.

Turned over about the wrong axis it lies turned by half a turn. Lengths mm, places as complex
numbers x + iy in the second side's frame.
"""

from __future__ import annotations

from camgen.faults import Fault
from camgen.make.one_stock.chain import ProvedStock
from camgen.messages import Message
from camgen.proof.flat.holes.holes_made import holes_made
from camgen.sheet.data import Dowel

__all__ = ["fits_half_turned", "half_turn_check", "half_turn_faults"]

# So far off, mm, a dowel or the spindle is seen to be. Common practice, no source.
SEEN = 0.5


def fits_half_turned(stock: ProvedStock) -> bool:
    """Whether the stock goes onto its dowels turned by half a turn as well."""
    if stock.strip is None:
        return False
    places = [complex(one.x, one.y) for one in stock.strip.on_second]
    twice = 2 * sum(places) / len(places)
    return all(min(abs(twice - at - other) for other in places) < SEEN for at in places)


def half_turn_faults(stock: ProvedStock) -> list[Fault]:
    """A fault where the stock might be turned over wrongly and nothing would tell."""
    if not fits_half_turned(stock):
        return []
    found = half_turn_check(stock)
    if found is not None and found[1] >= SEEN:
        return []
    return [Fault(
        Message("turned by half a turn the stock goes onto its dowels as well, and no hole of its "
                "first side would tell"),
        Message("add a third dowel to one side of the others, or move a part"),
        stock.stock_file.document.place(("dowels", "at"), key=True))]


def half_turn_check(stock: ProvedStock) -> tuple[Dowel, float] | None:
    """The hole made on the first side that tells best, and how far off it would be; None where the
    stock is not turned over, or no hole was made."""
    strip = stock.strip
    if strip is None:
        return None
    stand = [complex(one.x, one.y) for one in strip.on_second]
    middle = sum(stand) / len(stand)
    zero = complex(strip.dowels[0].x, strip.dowels[0].y)
    found: dict[str, tuple[complex, float]] = {}
    for kind in stock.sides[0].kinds:
        names = kind.kind.names
        for one in holes_made(kind.evidence):
            at = one.in_setup - zero
            there = {"X": at.conjugate(), "Y": -at.conjugate(), "": at}[strip.axis]
            if kind.kind in stock.stock_file.parts:
                found[f"{one.name}, {names[one.piece]}"] = there, one.diameter
    places = [at for at, _ in found.values()] + stand
    if not found:
        return None
    off = {name: min(abs(2 * middle - at - other) for other in places)
           for name, (at, _) in found.items()}
    best = max(off, key=lambda name: round(off[name], 6))
    at, diameter = found[best]
    return Dowel(best, diameter, at.real, at.imag), off[best]
