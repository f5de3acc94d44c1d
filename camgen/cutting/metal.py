"""Where the metal goes: stock, parts, chips and offcuts, and what of it is fine metal.

Volumes come from the geometry of the job, mm³; masses are in g.
"""

from __future__ import annotations

from collections.abc import Mapping

from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.shop.materials import Material
from camgen.shop.tables import block
from camgen.values import dataclass

__all__ = ["MetalAccount", "grams", "metal_account", "mixture_density"]


def mixture_density(composition: Mapping[str, float]) -> float:
    """Density of an alloy by the mixture rule 1/ρ = Σ wᵢ/ρᵢ, g/cm³.

    ``composition`` in parts of any size by mass, by the metals' names. Exact for a mixture that
    neither shrinks nor swells; real alloys are within a few per cent. Raises KeyError for a metal
    that is not in the table.

    >>> round(mixture_density({"gold": 750, "silver": 125, "copper": 125}), 2)
    15.45
    """
    return sum(composition.values()) / sum(
        parts / float(block("pure-metals", metal)["value"])
        for metal, parts in composition.items())


def grams(volume: float, density: float) -> float:
    """Mass of ``volume`` mm³ at ``density`` g/cm³.

    >>> grams(1000.0, 8.47)
    8.47
    """
    return volume * density / 1000.0


@dataclass(frozen=True)
class MetalAccount:
    """Masses of one run, g.

    ``stock`` = ``parts`` + ``chips`` + ``offcuts``. ``recovered`` is what of chips and offcuts
    comes back; ``lost`` the rest. The fine masses are of ``fine_metal``, 0 for base metals. Values
    are in the price's own currency, None where no price was given. ``doubt`` is the share by which
    the masses may be off because the density's range is what it is.
    """

    pieces: int
    stock: float
    parts: float
    chips: float
    offcuts: float
    recovered: float
    lost: float
    fine_metal: str
    fineness: float
    fine_stock: float
    fine_parts: float
    fine_recovered: float
    fine_lost: float
    value_parts: float | None
    value_recovered: float | None
    value_lost: float | None
    doubt: float

    @property
    def part(self) -> float:
        """Mass of one piece, g."""
        return self.parts / self.pieces

    def lines(self) -> tuple[str, ...]:
        """The account in words, for the sheet."""
        text = [f"stock {self.stock:.3f} g, {self.pieces} "
                f"{'piece' if self.pieces == 1 else 'pieces'} {self.parts:.3f} g "
                f"({self.part:.4f} g each), chips {self.chips:.3f} g, offcuts {self.offcuts:.3f} g "
                f"(±{self.doubt * 100:.0f} % by the alloy's density)"]
        if self.fine_metal:
            text.append(f"fine {self.fine_metal} at {self.fineness:g} ‰: parts "
                        f"{self.fine_parts:.3f} g, to be recovered {self.fine_recovered:.3f} g, "
                        f"lost {self.fine_lost:.4f} g")
        if self.value_parts is not None and self.value_recovered is not None \
                and self.value_lost is not None:
            text.append(f"at the price given: parts {self.value_parts:.2f}, to be recovered "
                        f"{self.value_recovered:.2f}, lost {self.value_lost:.2f}")
        return tuple(text)


def metal_account(
    material: Material,
    *,
    stock_volume: float,
    part_volume: float,
    pieces: int = 1,
    offcut_volume: float = 0.0,
    recoverable: float = 1.0,
    price: float | None = None,
) -> MetalAccount:
    """The account of a run.

    ``stock_volume`` mm³ of the run, ``part_volume`` of one finished piece, ``offcut_volume`` of
    the solid remains of the run (frame of a sheet, slugs); what is left of the stock are chips.
    ``recoverable`` is the share of the chips that comes back, 0 to 1; offcuts come back whole.
    ``price`` is that of one gram of fine metal, of one gram of the material for base metals.

    Raises Refused when the parts and offcuts are more than the stock, or a figure makes no sense.

    >>> from camgen.shop.materials import find_material
    >>> gold = metal_account(find_material("gold-750"), stock_volume=100.0, part_volume=30.0,
    ...                      pieces=2, offcut_volume=20.0, recoverable=0.9)
    >>> round(gold.stock, 3), round(gold.fine_lost, 4)
    (1.545, 0.0232)
    """
    faults: list[Fault] = []
    if not 0.0 <= recoverable <= 1.0:
        faults.append(Fault(
            Message("a recoverable share of {share:g} makes no sense", share=recoverable),
            Message("from 0 to 1")))
    if pieces < 1 or min(stock_volume, part_volume) <= 0.0 or offcut_volume < 0.0:
        faults.append(Fault(Message("the metal account needs at least one piece and volumes more "
                                    "than 0")))
    chip_volume = stock_volume - pieces * part_volume - offcut_volume
    if chip_volume < -1e-9 * abs(stock_volume):
        faults.append(Fault(
            Message("parts and offcuts of {taken:.4g} mm³ are more than the stock of {stock:.4g} "
                    "mm³", taken=pieces * part_volume + offcut_volume, stock=stock_volume),
            Message("look at the stock's size and the number of pieces")))
    if price is not None and price < 0.0:
        faults.append(Fault(Message("a price of {price:g} makes no sense", price=price),
                            Message("0 or more")))
    if faults:
        raise Refused(faults)
    chip_volume = max(chip_volume, 0.0)
    density = material.density.value
    stock, offcuts = grams(stock_volume, density), grams(offcut_volume, density)
    parts, chips = grams(pieces * part_volume, density), grams(chip_volume, density)
    recovered = chips * recoverable + offcuts
    lost = chips * (1.0 - recoverable)
    fineness = material.fineness.value if material.fineness is not None else 0.0
    fine = fineness / 1000.0
    worth = None if price is None else price * (fine or 1.0)

    def value(mass: float) -> float | None:
        return None if worth is None else mass * worth

    spread = max(material.density.high - density, density - material.density.low) / density
    return MetalAccount(
        pieces=pieces, stock=stock, parts=parts, chips=chips, offcuts=offcuts, recovered=recovered,
        lost=lost, fine_metal=material.fine_metal, fineness=fineness, fine_stock=stock * fine,
        fine_parts=parts * fine, fine_recovered=recovered * fine, fine_lost=lost * fine,
        value_parts=value(parts), value_recovered=value(recovered), value_lost=value(lost),
        doubt=spread)
