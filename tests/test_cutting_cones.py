"""Cones fed sideways: every height of them, from the tip up, bears what is cut below it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from camgen.cutting.planner import plan_milling
from camgen.faults import Refused
from camgen.shop.cutters import parse_cutter
from camgen.shop.machine import Machine
from camgen.shop.materials import edge_of, find_material
from tests.sampling import few

MILL = Machine(name="mill", describes="a mill")
BRASS = find_material("brass")


def test_a_feed_that_breaks_the_point_is_refused_by_the_point_whatever_the_depth() -> None:
    sharp = parse_cutter("engraver 3 angle 60 tip 0.02 reach 9")
    for depth in (0.05, 0.2, 1.0):
        with pytest.raises(Refused, match=r"bending at the point(.|\n)*a wider tip"):
            plan_milling(BRASS, sharp, MILL, None, depth, feed=400)
    blunt = plan_milling(BRASS, parse_cutter("engraver 3 angle 60 tip 0.3 reach 9"), MILL, None,
                         0.2, feed=200)
    assert next(one.share for one in blunt.limits if one.name == "bending at the point") < 1.0


@settings(max_examples=few(160), deadline=None)
@given(kind=st.sampled_from(["engraver", "chamfer-mill"]), angle=st.integers(10, 150),
       tip=st.integers(0, 600).map(lambda um: um / 1000),
       material=st.sampled_from(["brass", "gold-750", "tool-steel"]),
       width=st.none() | st.floats(0.05, 1.0), wanted=st.none() | st.floats(0.02, 2.0),
       keep=st.booleans())
def test_every_height_of_a_cone_bears_what_is_cut_below_it(
    kind: str, angle: int, tip: float, material: str, width: float | None,
    wanted: float | None, keep: bool
) -> None:
    """The edge in two thousand pieces, each with its share of the force, summed from the tip up;
    bending and torsion by 32·M/πd³ and 16·T/πd³ of the round bar that the cone stands for."""
    cutter = parse_cutter(f"{kind} 3 angle {angle} tip {tip} reach 9")
    try:
        cut = plan_milling(find_material(material), cutter, MILL, width, wanted,
                           keep_depth=keep and wanted is not None)
    except Refused:
        return
    heights = np.linspace(0.0, cut.depth, 2001)[1:]
    piece = cut.depth / 2000
    middles = heights - piece / 2
    slope = 2 * np.tan(np.radians(angle / 2))
    across, tangential = cut.force / cut.depth * piece, cut.tangential / cut.depth * piece
    moment = across * (np.arange(1, 2001) * heights - np.cumsum(middles))
    torque = tangential * np.cumsum((tip + slope * middles) / 2)
    bar = (0.61 if kind == "engraver" else 0.8) * (tip + slope * heights)
    bent, turned = 32 * moment / (np.pi * bar**3), 16 * torque / (np.pi * bar**3)
    # A tip narrower than its edge is round is looked at from where it is as wide as that.
    edge = edge_of(cutter)
    blunt = 2 * (edge.edge_base if kind == "engraver" else
                 min(edge.edge_base + edge.edge_share * 3, edge.edge_most))
    looked = tip + slope * heights > blunt
    assert looked.any()
    worst = (bent / 2 + np.sqrt(bent**2 / 4 + turned**2))[looked].max()
    limit = next(one for one in cut.limits if one.name == "bending at the point")
    assert worst <= limit.value * (1 + 1e-3)
    assert worst <= limit.used * (1 + 1e-3)
    if tip > blunt:
        assert limit.used <= 1.6 * worst
