"""The report's account of time: each step, each setup, all the pieces, and what would save most."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from demos import proved_demo
from sampling import sampled

from camgen.cli import group
from camgen.cutting.answer import feed_has_room
from camgen.make.chain import Proved, proved_job
from camgen.make.told.account import job_account
from camgen.make.told.report import report_of, times_of
from camgen.shipped import shipped_folder

JOBS = shipped_folder("jobs")


def reported(job: Path) -> tuple[Proved, dict[str, Any]]:
    proved = proved_job(job)
    return proved, report_of(proved, times_of(proved), job_account(proved))


def test_steps_and_kinds_of_work_make_up_a_setups_time() -> None:
    _, report = reported(JOBS / "wheel-by-hand.yaml")
    for setup in report["time"]["setups"]:
        steps = [one["seconds"] for one in report["steps"] if one["setup"] == setup["setup"]]
        assert sum(steps) == pytest.approx(setup["seconds"], abs=0.1 * len(steps))
        assert sum(setup["by_kind"].values()) == pytest.approx(setup["seconds"], abs=0.5)


def test_every_cutter_put_in_is_counted_as_the_program_says() -> None:
    proved, report = reported(JOBS / "ratchet-wheel.yaml")
    counted = {one["setup"]: one["cutter_changes"] for one in report["time"]["setups"]}
    for setup in proved.setups:
        text = b"".join(program.text for program in setup.programs)
        assert counted[setup.name] == text.count(b"M6") + text.count(b"M06")
    seconds = next(one["by_kind"]["cutter change"] for one in report["time"]["setups"]
                   if one["setup"] == "blanks")
    assert seconds == pytest.approx(counted["blanks"] * proved.machine.change.seconds)


def test_more_pieces_than_a_stock_holds_take_as_many_runs(tmp_path: Path) -> None:
    text = (JOBS / "ratchet-wheel.yaml").read_text(encoding="utf-8")
    job = tmp_path / "wheel.yaml"
    job.write_text(text.replace("quantity: 2", "quantity: 5"), encoding="utf-8")
    once = reported(JOBS / "ratchet-wheel.yaml")[1]["time"]
    thrice = reported(job)[1]["time"]
    assert [one["runs"] for one in thrice["setups"]] == [3, 3]
    assert thrice["seconds"] == pytest.approx(3 * once["seconds"], abs=0.5)
    assert thrice["would_save"][0]["seconds"] == pytest.approx(
        3 * once["would_save"][0]["seconds"], abs=0.5)


def test_indexing_by_hand_is_named_where_it_takes_long() -> None:
    proved, report = reported(JOBS / "wheel-by-hand.yaml")
    teeth = next(one for one in report["time"]["setups"] if one["setup"] == "teeth")
    named = {one["what"]: one["seconds"] for one in teeth["would_save"]}
    # Half of what the head takes for all its turns.
    assert named["indexing by hand in half the time"] == pytest.approx(
        teeth["by_kind"]["index"] / 2, abs=0.1)
    assert [one["seconds"] for one in teeth["would_save"]] == sorted(
        named.values(), reverse=True)
    assert proved.machine.dividing is not None


def test_the_answer_tells_the_time_of_all_pieces_and_what_would_save_most() -> None:
    said = CliRunner().invoke(group, ["check", str(JOBS / "ratchet-wheel.yaml")]).output
    (line,) = [line for line in said.splitlines() if "at the machine, with" in line]
    assert line.startswith("2 pieces: ")
    assert "most would be saved by " in line


@pytest.mark.parametrize("name", sampled(["third-wheel", "ratchet-wheel", "wheel-by-hand"], 3))
def test_no_saving_by_feed_stands_beside_cuts_that_are_at_a_limit_of_it(name: str) -> None:
    proved, report = reported(JOBS / f"{name}.yaml")
    for setup, told in zip(proved.setups, report["time"]["setups"], strict=True):
        shares = [max(limit.share for limit in cut.limits
                      if limit.governs == "feed" and not limit.least)
                  for cut in setup.planned.cuts]
        named = any("feed a fifth higher" in one["what"] for one in told["would_save"])
        assert not (named and min(shares) >= 0.8), (setup.name, shares)


@pytest.mark.long
def test_a_cut_slowed_by_its_job_has_room_for_a_higher_feed(tmp_path: Path) -> None:
    text = (JOBS / "third-wheel.yaml").read_text(encoding="utf-8")
    for feed, room in ((20, True), (None, False)):
        job = tmp_path / "wheel.yaml"
        asked = f"outline: {{cutter: mill, feed: {feed}}}"
        job.write_text(text if feed is None else text.replace("outline: {cutter: mill}", asked),
                       encoding="utf-8")
        proved, _ = reported(job)
        assert feed_has_room(proved.setups[0].planned.cuts[-1]) is room


@pytest.mark.long
def test_steps_of_one_kind_are_each_told_their_own_time() -> None:
    proved = proved_demo("train-bridge")
    report = report_of(proved, times_of(proved), None)
    drills = [step["seconds"] for step in report["steps"] if step["title"] == "drill"]
    assert len(drills) == 3
    whole = sum(step["seconds"] for step in report["steps"])
    assert whole == pytest.approx(report["time"]["seconds"], rel=0.01)
    assert max(drills) < sum(drills)
