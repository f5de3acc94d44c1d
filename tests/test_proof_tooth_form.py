"""Teeth as a cutter made for another wheel leaves them; the pair at the ends of its depthing."""

from __future__ import annotations

import numpy as np
import pytest

from camgen.proof.head.tooth_form import DEPTHING, depthings, form_off, swept
from camgen.shop.cutters import Cutter, MadeFor
from camgen.teeth.cut.as_cut import form_error
from camgen.teeth.forms import pinion_tooth, wheel_tooth
from camgen.teeth.meshing import centre_distance

WHEEL = wheel_tooth("cycloidal", 30, 0.2, 8)
PINION = pinion_tooth("cycloidal", 8, 0.2, 30)


def _disc(teeth: int) -> Cutter:
    return Cutter(kind="form-disc", diameter=20.0, flutes=14, made_for=MadeFor(
        form="cycloidal-wheel", module=0.2, teeth=teeth, mate=8))


@pytest.mark.parametrize(("teeth", "least", "most"), [(30, 0.0, 0.3), (24, 1.0, 40.0),
                                                      (60, 1.0, 40.0)])
def test_a_tooth_is_off_by_what_a_cutter_made_for_another_takes(
    teeth: int, least: float, most: float
) -> None:
    off = form_off(WHEEL, _disc(teeth))
    assert least <= off <= most
    made = wheel_tooth("cycloidal", teeth, 0.2, 8).space(1e-5, WHEEL.sizes.whole_depth / 2)
    error = form_error(WHEEL, made, [12.0 * space for space in range(30)])
    assert error.uncut == ()
    assert off == pytest.approx(max(error.left, error.missing, *map(abs, error.thickness)), abs=0.2)


@pytest.mark.parametrize("driver_is_cut", [True, False])
@pytest.mark.parametrize(("full", "shares"), [(False, (-1, 0, 1)), (True, (0, 1, 2))])
def test_a_pair_is_rolled_as_drawn_and_at_the_ends_of_its_depthing(
    full: bool, shares: tuple[int, ...], driver_is_cut: bool
) -> None:
    own = WHEEL if driver_is_cut else PINION
    rolled = depthings(WHEEL, PINION, full, driver_is_cut, own.space(1e-4, 0.3), 0.0)
    nominal = centre_distance(WHEEL, PINION)
    assert nominal == pytest.approx((30 + 8) * 0.2 / 2)
    for one, share in zip(rolled, shares, strict=True):
        assert one.off == pytest.approx(share * DEPTHING * 0.2)
        assert one.action.centre_distance == pytest.approx(nominal + one.off)
    # The farther apart, the more play.
    plays = [one.action.backlash[0] for one in rolled]
    assert plays == sorted(plays)


def test_a_pinion_cut_deeper_has_more_play() -> None:
    made = PINION.space(1e-4, 0.3)
    plays = [depthings(WHEEL, PINION, False, False, made, deeper)[1].action.backlash[0]
             for deeper in (-0.01, 0.0, 0.02)]
    assert plays == sorted(plays)
    assert plays[0] < plays[2]


def test_what_hangs_over_a_space_is_taken_with_it() -> None:
    # A space that is wider at x = 2 than at its mouth, at x = 3, more so on one side.
    closing = np.array([[1.0, 0.0], [2.0, -0.3], [3.0, -0.1], [3.0, 0.1], [2.0, 0.2], [1.0, 0.0]])
    opened = swept(closing)
    assert opened[:, 1].tolist() == [0.0, -0.3, -0.3, 0.2, 0.2, 0.0]
    outer = float(np.hypot(3.0, 0.1))
    ends = opened[np.isclose(np.hypot(*opened.T), outer)]
    assert sorted(ends[:, 1].round(6).tolist()) == [-0.3, 0.2]
    open_already = np.array([[1.0, 0.0], [2.0, -0.1], [3.0, -0.2], [3.0, 0.2], [2.0, 0.1],
                             [1.0, 0.0]])
    assert swept(open_already) is open_already
