"""The time of pockets against the least they could take, as the report of the demo plate has it."""

from __future__ import annotations

import math
from typing import Any

import pytest
from demos import proved_demo

from camgen.commands.make import _time_line
from camgen.make.chain import Proved
from camgen.make.told.report import report_of, times_of

Reported = tuple[Proved, dict[str, Any]]


@pytest.fixture(scope="module")
def plate() -> Reported:
    proved = proved_demo("train-plate")
    return proved, report_of(proved, times_of(proved), None)


@pytest.mark.long
def test_the_demo_plates_pockets_take_at_most_half_as_long_again(plate: Reported) -> None:
    pockets = plate[1]["time"]["pockets"]
    assert pockets["cutting_over_floor"] <= 1.5
    most = max(pockets["steps"], key=lambda one: one["volume"])
    assert most["cutting_over_floor"] <= 1.5


def test_the_least_is_the_metal_at_the_planned_rate_and_the_walls_at_their_feed(
    plate: Reported,
) -> None:
    """The four pockets of the train side by the formulas of circle, rectangle and slot."""
    report = plate[1]
    one = next(one for one in report["time"]["pockets"]["steps"] if one["setup"] == "train")
    volume = (
        0.6 * math.pi * (3.2**2 - 1.2**2)
        + 0.4 * math.pi * 2.3**2
        + 0.3 * (4.4 * 2.6 - (4 - math.pi) * 0.5**2)
        + 0.5 * (2.6 * 1.8 + math.pi * 0.9**2)
    )
    assert one["volume"] == pytest.approx(volume, rel=0.002)
    step = next(step for step in report["steps"]
                if step["setup"] == "train" and step["step"] == one["step"])
    rough = 60 * volume / (step["feed"] * step["width"] * step["depth"])
    # Along the walls the cutter's centre, 0.4 mm off them, at 1000 mm/min at most and 300 at least.
    walls = (
        2 * math.pi * (2.8 + 1.6) + 2 * math.pi * 1.9
        + 2 * (3.4 + 1.6) + 2 * math.pi * 0.1 + 2 * 2.6 + 2 * math.pi * 0.5
    )
    assert rough + 60 * walls / 1000 <= one["floor"] <= rough + 60 * walls / 300


def test_the_figures_of_the_steps_make_up_those_of_the_plate(plate: Reported) -> None:
    pockets = plate[1]["time"]["pockets"]
    for word in ("cutting", "seconds", "floor"):
        assert sum(one[word] for one in pockets["steps"]) == pytest.approx(pockets[word], abs=0.2)
    assert pockets["floor"] < pockets["cutting"] < pockets["seconds"]
    assert pockets["seconds_over_floor"] == pytest.approx(
        pockets["seconds"] / pockets["floor"], abs=0.01)


def test_the_answer_tells_how_much_longer_they_take(plate: Reported) -> None:
    time = plate[1]["time"]
    said = f"{time['pockets']['cutting_over_floor']:.2f} times the least"
    assert said in _time_line(time, 1)
    without = {word: value for word, value in time.items() if word != "pockets"}
    assert "Pockets" not in _time_line(without, 1)
