"""The depth of a jewel's seat from the end-shake wanted, and the end-shake from the depth."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from workshop import DRIVEN, read

from camgen.job.checks.whole_job import job_faults
from camgen.layout import part_shape
from camgen.part.plates.end_shake import (
    deeper_gives_more,
    end_shake_at,
    seat_depth,
    usual_end_shake,
)
from camgen.part.plates.plate_words import EndShake, JewelHole

PLATE = """
job: jewelled plate
material: brass
made-elsewhere: [outline, jewels]
plate:
  thickness: 1.2
  outline: {rectangle: [20, 14], corner: 2}
  jewels:
    third: {diameter: 1.5, at: [[3, -3]], through: 0.8,
            end-shake: {jewel: 0.35, arbor: 2.40, between: 2.30, wanted: 0.03}}
cutters: {cone: {kind: spot-drill, diameter: 2.0, point-angle: 90, reach: 6}}
setups:
  - name: top
    stock: {sheet: [30, 24], thickness: 1.2}
    holding: {by: wax on a carrier, carrier: brass, carrier-thickness: 5, cut-into: 0.5,
              holds-slugs: true}
    steps:
      - spot: {cutter: cone}
"""


def depth_of(text: str) -> float | None:
    return next(hole.depth for hole in part_shape(read(text).job).blind)


def test_a_jewel_pressed_from_the_inside_lies_on_the_floor_of_its_seat() -> None:
    """By hand: shoulders 2.40 apart and 0.03 to spare make 2.43; the plates are 2.30 apart, so the
    jewel's face lies 0.13 below this one's, and its back 0.35 lower."""
    assert depth_of(PLATE) == pytest.approx(0.48)


def test_a_jewel_pressed_from_the_outside_stands_on_what_is_left() -> None:
    """Of the plate, 1.2 thick, 0.13 must be left for the jewel's face to lie on."""
    outside = PLATE.replace("wanted: 0.03", "wanted: 0.03, pressed-from: outside")
    assert depth_of(outside) == pytest.approx(1.07)


def test_the_other_jewel_set_back_gives_end_shake_that_this_one_need_not() -> None:
    back = PLATE.replace("wanted: 0.03", "wanted: 0.03, other: 0.05")
    assert depth_of(back) == pytest.approx(0.43)


def test_what_is_not_said_is_what_is_usual_for_the_arbor() -> None:
    """Common practice, no single source: a balance is given less than a train wheel."""
    train = depth_of(PLATE.replace(", wanted: 0.03", ""))
    balance = depth_of(PLATE.replace("wanted: 0.03", "arbor-of: balance"))
    assert train == pytest.approx(0.48)
    assert balance == pytest.approx(0.47)
    for arbor in ("train", "centre", "escape", "pallet", "balance"):
        usual = usual_end_shake(arbor)
        assert 0 < usual.least < usual.aim < usual.most < 0.1


lengths = st.floats(0.05, 5.0)


@given(lengths, lengths, lengths, st.floats(-0.5, 0.5), st.floats(0.005, 0.2), lengths,
       st.sampled_from(["inside", "outside"]))
def test_the_depth_for_an_end_shake_gives_that_end_shake(
    jewel: float, arbor: float, between: float, other: float, wanted: float, thickness: float,
    face: str,
) -> None:
    shake = EndShake(jewel=jewel, arbor=arbor, between=between, other=other, wanted=wanted,
                     pressed_from=face)
    depth = seat_depth(JewelHole(diameter=1.0, end_shake=shake), thickness)
    assert depth is not None
    assert end_shake_at(shake, depth, thickness) == pytest.approx(wanted, abs=1e-6)
    more = end_shake_at(shake, depth + 0.01, thickness) > wanted
    assert more == deeper_gives_more(shake)


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ("through: 0.8,", "through: 0.8, depth: 0.5,", "both a depth and the end-shake wanted"),
        ("between: 2.30", "between: 2.90", "would have to be"),
        ("between: 2.30", "between: 1.00", "would have to be"),
        ("through: 0.8,", "through: 0.8, depth: 0.4,", "both a depth"),
    ],
)
def test_seats_that_cannot_be_are_refused(old: str, new: str, fault: str) -> None:
    (found,) = job_faults(read(PLATE.replace(old, new)), DRIVEN)
    assert fault in found.message
    assert found.place.line == (9 if "depth" in new else 10)


def test_a_depth_that_leaves_no_end_shake_is_refused_with_how_much_is_lacking() -> None:
    shallow = PLATE.replace("through: 0.8,", "through: 0.8, depth: 0.4,").replace(
        ", wanted: 0.03", "")
    (found,) = job_faults(read(shallow), DRIVEN)
    # 2.30 + 0.05 between the jewels' faces, and 2.40 to go between them.
    assert "no end-shake: the arbor is 0.050 mm too long" in found.message
