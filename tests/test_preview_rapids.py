"""Rapid moves in the plan: drawn where they are few or asked for, and else told by their number."""

from __future__ import annotations

import re

import pytest
from demos import proved_demo

from camgen.make.pictures import pictures_of
from camgen.preview.flat.flat_picture import MOST_RAPIDS
from camgen.words import languages, words


def _texts(stem: str, *, rapids: bool) -> list[tuple[str, ...]]:
    drawn = pictures_of(proved_demo(stem), rapids=rapids, style="svg")
    return [one.texts for one in drawn.values()]


@pytest.mark.parametrize("stem", ["train-plate", "seconds-wheel"])
def test_many_rapid_moves_are_left_out_and_counted_unless_asked_for(stem: str) -> None:
    say = words("en")
    form = re.escape(say("pictures", "rapids-left-out", count="¤")).replace("¤", r"(\d+)")
    for texts, whole in zip(_texts(stem, rapids=False), _texts(stem, rapids=True), strict=True):
        left = [int(found[1]) for one in texts if (found := re.fullmatch(form, one))]
        if say("pictures", "swath-plain") in texts or not any("mm deep" in one for one in texts):
            continue  # work on the head
        assert left == [] or left[0] > MOST_RAPIDS
        assert (say("pictures", "rapid") in texts) == (left == [])
        assert say("pictures", "rapid") in whole


def test_the_plan_tells_how_large_stock_and_part_are_and_which_way_x_and_y_go() -> None:
    train, dial = _texts("train-plate", rapids=False)
    for texts in (train, dial):
        assert {"X", "Y"} <= set(texts)
    assert "stock 36 × 36 × 1.8 mm, part D 26 × 1.6 mm" in train
    assert "cut, 0 to 1.8 mm deep" in train


def test_the_depth_in_the_key_has_its_unit_in_every_language() -> None:
    assert all("{depth} mm" in words(one)("pictures", "swath", depth="{depth}")
               for one in languages())
