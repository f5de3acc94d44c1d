"""The time of pockets against the least they could take, as the report of the demo plate has it."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import yaml
from demos import proved_demo

from camgen.commands.make import _time_line
from camgen.make.chain import Proved, proved_job
from camgen.make.timing import put_in_again
from camgen.make.told.report import report_of, times_of
from camgen.moves import Section
from camgen.shipped import shipped_folder

Reported = tuple[Proved, dict[str, Any]]


def reported(proved: Proved) -> Reported:
    return proved, report_of(proved, times_of(proved), None)


@pytest.fixture(scope="module")
def plate(tmp_path_factory: pytest.TempPathFactory) -> Reported:
    """The demo plate's train side, of which only pockets are made, the round ones smaller."""
    job = yaml.safe_load((shipped_folder("jobs") / "train-plate.yaml").read_text("utf-8"))
    (train,) = (setup for setup in job["setups"] if setup["name"] == "train")
    train["steps"] = [{"pocket": {"cutter": "mill", "pockets": names}}
                      for names in (["barrel", "keyless", "click"], ["great-wheel"])]
    train["stock"]["thickness"] = job["plate"]["thickness"]
    pockets = job["plate"]["pockets"]
    pockets["barrel"].update(circle=3.2, islands=[{"circle": 1.2}])
    pockets["great-wheel"].update(circle=1.4)
    job["plate"] = {**{word: job["plate"][word] for word in ("thickness", "outline")}, "pockets": {
        name: one for name, one in pockets.items() if "face" not in one}}
    job["setups"] = [train]
    job["made-elsewhere"] = ["outline"]
    file = tmp_path_factory.mktemp("plate") / "plate.yaml"
    file.write_text(yaml.safe_dump(job, sort_keys=False), encoding="utf-8")
    return reported(proved_job(file))


@pytest.mark.long
def test_the_demo_plates_pockets_take_at_most_half_as_long_again() -> None:
    pockets = reported(proved_demo("train-plate"))[1]["time"]["pockets"]
    assert pockets["cutting_over_floor"] <= 1.5
    most = max(pockets["steps"], key=lambda one: one["volume"])
    assert most["cutting_over_floor"] <= 1.5


def test_the_least_is_the_metal_at_the_planned_rate_the_walls_at_their_feed_and_the_ways_down(
    plate: Reported,
) -> None:
    """Three pockets of the train side by the formulas of circle, rectangle and slot."""
    report = plate[1]
    ways = [one for one in report["time"]["pockets"]["steps"] if one["step"] == 1]
    volume = (
        0.6 * math.pi * (1.6**2 - 0.6**2)
        + 0.3 * (4.4 * 2.6 - (4 - math.pi) * 0.5**2)
        + 0.5 * (2.6 * 1.8 + math.pi * 0.9**2)
    )
    assert sum(one["volume"] for one in ways) == pytest.approx(volume, rel=0.002)
    steps = [step for step in report["steps"] if step["setup"] == "train" and step["step"] == 1]
    rough = sum(60 * one["volume"] / (step["feed"] * step["width"] * step["depth"])
                for one, step in zip(ways, steps, strict=True))
    # Along the walls the cutter's centre, 0.4 mm off them, at 1000 mm/min at most and 300 at least.
    walls = (
        2 * math.pi * (1.2 + 1.0)
        + 2 * (3.4 + 1.6) + 2 * math.pi * 0.1 + 2 * 2.6 + 2 * math.pi * 0.5
    )
    floor = sum(one["floor"] for one in ways)
    # Ramps of 3 degrees, 1.4 mm down in all, at 384 mm/min at most and 200 at least.
    ramps = 60 * 1.4 / math.tan(math.radians(3))
    least, most = (60 * walls / along + ramps / down for along, down in ((1000, 400), (300, 200)))
    assert rough + least <= floor <= rough + most


def test_the_figures_of_the_steps_make_up_those_of_the_plate(plate: Reported) -> None:
    pockets = plate[1]["time"]["pockets"]
    assert {one["step"] for one in pockets["steps"]} == {1, 2}
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


def test_the_least_counts_every_station_of_a_fixture(tmp_path: Path) -> None:
    """Time and least are those of one station, three times over."""
    found = []
    for stations in (1, 3):
        file = tmp_path / f"s{stations}.yaml"
        file.write_text(SMALL.replace("FIXTURE", f"fixture: {{stations: {stations}}}"
                                      if stations > 1 else "repeat: {pitch: [1, 1]}"), "utf-8")
        found.append(reported(proved_job(file))[1]["time"]["pockets"])
    one, three = found
    assert three["floor"] == pytest.approx(3 * one["floor"], abs=0.2)
    assert three["cutting_over_floor"] == pytest.approx(one["cutting_over_floor"], abs=0.02)


def test_a_cutter_put_in_again_is_named(plate: Reported) -> None:
    section = plate[0].setups[0].planned.moves.sections[0]
    def of(*cutters: str) -> list[Section]:
        return [replace(section, cutter=name, step=number) for number, name in enumerate(cutters)]
    steps = plate[0].job_file.job.setups[0].steps[:1] * 5
    assert put_in_again(of("mill", "mill", "drill"), steps) is None
    assert str(put_in_again(of("cone", "drill", "drill", "cone", "drill"), steps)) == (
        "one cutter change less: cone kept in for step 4 right after step 1, where that order "
        "will do")


SMALL = """
job: small
material: brass
post: with-cycles
made-elsewhere: [outline]
plate:
  thickness: 1
  outline: {circle: 12}
  pockets: {bed: {circle: 8, depth: 0.3}}
cutters:
  mill: {kind: end-mill, diameter: 1, flutes: 2, flute-length: 2, reach: 4}
setups:
  - name: one
    stock: {sheet: [16, 16], thickness: 1}
    holding: {by: wax, carrier: brass, carrier-thickness: 3, cut-into: 0.5, holds-slugs: true}
    FIXTURE
    steps: [{pocket: {cutter: mill}}]
"""
