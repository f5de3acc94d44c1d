"""Odd files and folders are answered in words: nothing hangs, nothing of another job is lost."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from click.testing import CliRunner

from camgen.cli import group
from camgen.faults import Refused
from camgen.shipped import shipped_folder

JOBS = shipped_folder("jobs")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_in_place_of_a_job_is_refused_at_once(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.yaml")
    done = CliRunner().invoke(group, ["check", str(tmp_path / "pipe.yaml")])
    assert isinstance(done.exception, Refused)
    assert "no plain file" in str(done.exception)


def test_links_that_lead_round_in_a_ring_are_refused(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").symlink_to(tmp_path / "b.yaml")
    (tmp_path / "b.yaml").symlink_to(tmp_path / "a.yaml")
    for command in ("check", "make"):
        done = CliRunner().invoke(group, [command, str(tmp_path / "a.yaml")])
        assert isinstance(done.exception, Refused), done.exception


def test_another_jobs_sheet_and_report_are_never_replaced(tmp_path: Path) -> None:
    out = ["--no-pictures", "--out", str(tmp_path / "out")]
    run = CliRunner()
    assert run.invoke(group, ["make", str(JOBS / "third-wheel.yaml"), *out]).exit_code == 0
    before = {p.name: p.read_bytes() for p in (tmp_path / "out").iterdir()}
    done = run.invoke(group, ["make", str(JOBS / "ratchet-wheel.yaml"), *out])
    assert done.exit_code == 1
    assert "third wheel" in done.output
    assert {p.name: p.read_bytes() for p in (tmp_path / "out").iterdir()} == before
    assert run.invoke(group, ["make", str(JOBS / "third-wheel.yaml"), *out]).exit_code == 0


@pytest.mark.parametrize("height", ["nan", "inf", "-1", "0", "1e9"])
def test_an_air_cut_at_no_height_to_be_had_is_a_wrong_word(height: str) -> None:
    done = CliRunner().invoke(group, ["check", str(JOBS / "third-wheel.yaml"), "--air", height])
    assert done.exit_code == 2
