"""What the sheet says of turning a piece over and laying it on its dowels."""

from __future__ import annotations

import re

import pytest
from two_sided import PLATE
from workshop import DRIVEN, read

from camgen.layout import FlatWork, flat_layout
from camgen.make.told.sheet_texts import measures_of
from camgen.make.told.turning import lies, turning_of
from camgen.plan import plan_job
from camgen.sheet.data import TurningOver
from camgen.sheet.turning import turning_over
from camgen.words import languages, words


def turning(text: str = PLATE) -> TurningOver:
    job = read(text).job
    found = turning_of(job, job.flat[1], flat_layout(job, job.flat[1]))
    assert found is not None
    return found


def told(text: str = PLATE, language: str = "en") -> str:
    html = str(turning_over(turning(text), words(language)))
    return " ".join(re.sub("<[^>]+>", " ", html).split())


def test_both_dowels_are_told_with_diameter_and_place_in_the_setups_frame() -> None:
    said = told()
    assert "D 1.000 at X 0.000 Y 0.000 for dowels-1" in said
    # From -8, 0 to 8, 1 as drawn; turned over about Y the second lies on the other side.
    assert "D 1.000 at X -16.000 Y 1.000 for dowels-2" in said
    about_x = told(PLATE.replace("about Y", "about X"))
    assert "D 1.000 at X 16.000 Y -1.000 for dowels-2" in about_x
    assert "Turn the piece over about X" in about_x


def test_dowels_stay_below_pockets_that_go_over_them() -> None:
    assert turning().stand == pytest.approx(0.8 * 1.6)
    step = "    step: {circle: 3, at: [-8, 0], depth: 0.6, face: under}\n"
    over = PLATE.replace("    dial: {", step + "    dial: {")
    assert turning(over).stand == pytest.approx(0.8 * 1.0)


def test_alike_dowels_bring_a_hole_to_check_by_that_no_other_hole_can_stand_for() -> None:
    found = turning()
    assert found.alike
    assert found.check is not None
    # The holes right through, turned by half a turn about the dowels' middle, leave it bare.
    job = read(PLATE).job
    layout = flat_layout(job, job.flat[1])
    x, y = layout.places[0]
    middle = (found.dowels[1].x / 2, found.dowels[1].y / 2)
    back = (2 * middle[0] - found.check.x, 2 * middle[1] - found.check.y)
    near = min(((hole.x + x - back[0]) ** 2 + (hole.y + y - back[1]) ** 2) ** 0.5
               for hole in layout.part.holes)
    assert near > 2.0
    pins = PLATE.replace("holes:\n    dowels: {diameter: 1.0, at: [[-8, 0], [8, 1]]}",
                         "holes:\n    dowels: {diameter: 1.0, at: [[-8, 0]]}\n"
                         "    pin: {diameter: 0.8, at: [[8, 1]]}")
    pins = pins.replace("dowel: dowels-1", "dowel: dowels, second: pin")
    pins = pins.replace("feet]}", "feet, pin]}")
    assert not turning(pins).alike


@pytest.mark.parametrize("language", languages())
def test_every_language_tells_the_whole_procedure(language: str) -> None:
    said = told(language=language)
    assert "{" not in said
    assert said.count("dowels-1") == 2
    assert "-16.000" in said
    if language != "en":
        assert "dowel " not in said


def test_how_the_piece_lies_is_told_with_the_picture() -> None:
    job = read(PLATE).job
    layout = flat_layout(job, job.flat[1])
    assert lies(layout, words("en")) == (
        "under face up, turned over about Y, zero on dowel dowels-1")


def test_each_side_asks_for_what_it_makes_and_for_the_thickness_where_it_is_final() -> None:
    job = read(PLATE).job
    names = [[one.name for one in
              measures_of(job, FlatWork(flat, flat_layout(job, flat)), words("en"))]
             for flat in job.flat]
    assert "thickness" not in names[0]
    assert names[1] == ["feet-counterbore", "sunk", "thickness"]


def test_facing_says_what_to_measure_and_what_to_do_when_it_is_off() -> None:
    remarks = plan_job(read(PLATE), DRIVEN).setups[0].remarks
    assert any("1.750 mm. Too thick: lower the zero of Z" in one for one in remarks)
