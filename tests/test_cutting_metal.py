"""Masses against exact solids and printed densities."""

from __future__ import annotations

from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Point, Polygon, box

from camgen.cutting.metal import grams, metal_account, mixture_density
from camgen.faults import Refused
from camgen.shop.materials import find_material, material_names


def test_gold_alloys_by_the_mixture_rule() -> None:
    # Reference list: 750 with 125 Ag 125 Cu 15.45; 585 with 205 Ag 210 Cu 13.64 g/cm³.
    assert mixture_density({"gold": 750, "silver": 125, "copper": 125}) == pytest.approx(
        15.45, abs=0.005)
    assert mixture_density({"gold": 585, "silver": 205, "copper": 210}) == pytest.approx(
        13.64, abs=0.005)


@pytest.mark.parametrize("name", [n for n in material_names() if n.startswith(("gold", "silver"))])
def test_every_alloys_density_is_that_of_its_composition(name: str) -> None:
    alloy = find_material(name)
    assert alloy.composition is not None
    assert sum(alloy.composition.values()) == pytest.approx(1000)
    assert alloy.density.value == pytest.approx(mixture_density(alloy.composition), abs=0.006)
    assert alloy.fineness is not None
    assert alloy.composition[alloy.fine_metal] == alloy.fineness.value
    # ISO 9202 steps of fineness (from memory).
    assert alloy.fineness.value in (375, 585, 750, 916, 925)


def test_a_crossed_out_wheel_weighs_what_its_solid_weighs() -> None:
    # Exact: a ring of Ø10 and Ø7 by 0.25 with a bore of 0.8 in a hub of 2.4 and four arms 0.4 wide,
    # the arms as rectangles between hub and rim (cut to the circles by the polygons).
    rim = Point(0, 0).buffer(5.0, quad_segs=500) - Point(0, 0).buffer(3.5, quad_segs=500)
    hub = Point(0, 0).buffer(1.2, quad_segs=500) - Point(0, 0).buffer(0.4, quad_segs=500)
    arms = (box(-4, -0.2, 4, 0.2) | box(-0.2, -4, 0.2, 4)) & (
        Point(0, 0).buffer(3.5, quad_segs=500) - Point(0, 0).buffer(1.2, quad_segs=500))
    part = (rim | hub | arms).area * 0.25
    stock = Polygon([(0, 0), (30, 0), (30, 12), (0, 12)]).area * 0.25
    account = metal_account(find_material("gold-750"), stock_volume=stock, part_volume=part,
                            pieces=2, offcut_volume=20.0, recoverable=0.95, price=60.0)
    assert account.stock == pytest.approx(90.0 * 15.45 / 1000, rel=1e-3)
    assert account.part == pytest.approx(part * account.stock / stock)
    rings = pi * (25 - 12.25) * 0.25 + pi * (1.44 - 0.16) * 0.25
    assert part > rings
    assert part == pytest.approx(rings + 4 * 0.4 * 2.3 * 0.25, rel=0.01)
    assert account.value_parts == pytest.approx(account.parts * 0.75 * 60.0)


@given(st.floats(1.0, 1e5), st.integers(1, 50), st.floats(0.01, 0.98), st.floats(0, 1),
       st.floats(0, 1), st.sampled_from(material_names()))
def test_nothing_is_lost_from_the_account(stock: float, pieces: int, used: float, offcut: float,
                                          recoverable: float, name: str) -> None:
    part = stock * used / pieces
    account = metal_account(find_material(name), stock_volume=stock, part_volume=part,
                            pieces=pieces, offcut_volume=offcut * stock * (1 - used),
                            recoverable=recoverable)
    assert account.parts + account.chips + account.offcuts == pytest.approx(account.stock)
    assert account.recovered + account.lost + account.parts == pytest.approx(account.stock)
    assert account.fine_parts + account.fine_recovered + account.fine_lost == pytest.approx(
        account.fine_stock)
    assert account.stock == pytest.approx(grams(stock, find_material(name).density.value))
    assert account.lines()


def test_the_account_in_words_says_fine_metal_and_value() -> None:
    words = " ".join(metal_account(
        find_material("gold-585"), stock_volume=100, part_volume=40, recoverable=0.9,
        price=55).lines())
    assert "fine gold at 585 ‰" in words
    assert "at the price given" in words
    plain = " ".join(metal_account(find_material("brass"), stock_volume=100,
                                   part_volume=40).lines())
    assert "fine" not in plain
    assert "price" not in plain


@pytest.mark.parametrize("change", [
    {"part_volume": 120.0}, {"recoverable": 1.2}, {"price": -1.0}, {"pieces": 0},
    {"offcut_volume": 70.0}])
def test_an_account_that_cannot_be_is_refused(change: dict[str, float]) -> None:
    asked = {"stock_volume": 100.0, "part_volume": 40.0, **change}
    with pytest.raises(Refused):
        metal_account(find_material("brass"), **asked)  # type: ignore[arg-type]
