"""The highest speed of a cutter, and where that comes from."""

from __future__ import annotations

from math import pi, sqrt

from camgen.shop.cutters.cutter import Cutter, usual
from camgen.shop.cutters.records import record_of
from camgen.shop.tables import Quantity, block, quantity, rule

__all__ = ["balance_speed", "beyond_any", "highest_speed"]

# Steel, kg/mm³ (densities as in the tables of materials).
STEEL = 7.85e-6
# A bit whose thickness is not said is a square bar of this share of the bar that holds it. Common
# practice, no source.
BIT = 0.4
# Elastic modulus of a bar of steel, N/mm² (usual data sheets, from memory).
STEEL_MODULUS = 210000.0


def highest_speed(cutter: Cutter) -> Quantity | None:
    """The most a cutter is turned at, rev/min: by its own word, by what is usual for its kind, and
    for a point set out on a bar by the force with which that shakes the spindle.

    None for kinds that the surface speed and the spindle alone bound. Up to the ``high`` of what is
    usual a speed may be asked for; the ``value`` is what is planned.

    >>> bar = highest_speed(Cutter(kind="boring-bar", diameter=2))
    >>> bar.value, bar.high, bar.source
    (3000.0, 5000.0, 'boring')
    >>> highest_speed(Cutter(kind="end-mill", diameter=2)) is None
    True
    """
    said = cutter.highest_speed
    if said is not None:
        return Quantity(said, "rev/min", said, said, "the cutter's own word", "", own=True)
    entry = block("cutters", cutter.kind).get("highest-speed")
    if entry is None:
        return None
    kind, balance = quantity(entry), balance_speed(cutter)
    return balance if balance is not None and balance.value < kind.value else kind


def balance_speed(cutter: Cutter) -> Quantity | None:
    """The speed, rev/min, at which a point set out on a bar pulls as hard as a spindle may be.

    The bit, a square bar as thick as the edge, stands out from the bar's side to the circle that
    its point turns on: its mass m at the middle e of that way pulls with m · e · ω² (mechanics). A
    slender bar gives way to that before the spindle does, by F · 64 · l³/(3π · E · d⁴) at its end
    (a plain round cantilever), and cuts deeper than it should. None for cutters that are alike on
    all sides.

    >>> balance_speed(Cutter(kind="fly-cutter", diameter=60, flutes=1)).value < 4000
    True
    >>> balance_speed(Cutter(kind="form-disc", diameter=60)) is None
    True
    """
    if not record_of(cutter).single_point:
        return None
    outer = cutter.diameter / 2
    # A bar of 0.7 of the hole, or of the usual share of a fly cutter's circle.
    share = usual(cutter.kind, "shank") or 0.7
    bar = (cutter.shank if cutter.shank is not None else share * cutter.diameter) / 2
    thick = cutter.thickness
    if thick is None:
        thick = usual(cutter.kind, "thickness") * cutter.diameter or BIT * 2 * bar
    out = outer - bar
    if out <= 0.0:
        return None
    force, bent = rule("balance-force"), rule("balance-bent")
    reach = cutter.reach or usual(cutter.kind, "reach") * cutter.diameter
    compliance = 64.0 * reach**3 / (3.0 * pi * STEEL_MODULUS * (2 * bar) ** 4)
    # kg·m, so that newtons come out.
    unbalance = STEEL * thick * thick * out * (outer + bar) / 2 / 1000.0

    def at(newton: float, give: float) -> float:
        return sqrt(min(newton, give / compliance) / unbalance) * 30.0 / pi

    return Quantity(at(force.value, bent.value), "rev/min", at(force.low, bent.low),
                    at(force.high, bent.high), force.source, force.date)


def beyond_any(cutter: Cutter) -> float | None:
    """What the word ``highest-speed`` of a point set out on a bar cannot mean any more, rev/min:
    twice what its kind may ever be asked for. None where nothing is known of that.

    >>> beyond_any(Cutter(kind="boring-bar", diameter=2))
    10000.0
    """
    if not record_of(cutter).single_point:
        return None
    entry = block("cutters", cutter.kind).get("highest-speed")
    return None if entry is None else 2.0 * quantity(entry).high
