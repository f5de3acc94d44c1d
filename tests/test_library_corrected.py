"""What was corrected at the machine goes into the job, or is not forgotten."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from camgen.cli import group
from camgen.faults import Refused
from camgen.library.record import read_record, record_path
from camgen.make.chain import proved_job
from camgen.shipped import shipped_folder


@pytest.fixture
def job(tmp_path: Path) -> Path:
    # One setup alone, so that the tests are quick.
    (tmp_path / "jobs").mkdir()
    path = tmp_path / "jobs" / "leaves.yaml"
    shutil.copy(shipped_folder("jobs") / "seconds-pinion.yaml", path)
    return path


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(group, [str(word) for word in words], catch_exceptions=False)


def recorded(job: Path, *more: str) -> str:
    done = run("library", "record", job, "--when", "2026-03-01", "--made", "1", *more)
    assert done.exit_code == 0, done.output
    return done.output


def made(job: Path, *more: str) -> Result:
    return run("make", job, "--no-pictures", "--out", job.parent / "out", *more)


def test_a_correction_that_is_not_in_the_job_is_told_at_the_next_make(job: Path) -> None:
    # The unharmed case first.
    recorded(job)
    assert "proven and unchanged" in made(job).stdout
    said = recorded(job, "--correction", "leaves:depth=0.006")
    assert "write depth-correction: 0.006" in said
    assert "corrected leaves: depth by 0.006 mm" in said
    again = made(job).stdout
    assert "proven and unchanged" not in again
    assert "corrected at the machine and the job is not" in again
    assert "depth-correction by +0.006 mm" in again
    program = next((job.parent / "out").glob("*.nc")).read_text()
    assert "CORRECTED AT THE MACHINE" in re.sub(r"\)\s*\(", " ", program)
    shelf = run("library", "status", "--folder", job.parent).stdout
    assert "corrected at the machine" in shelf


@pytest.mark.parametrize("what", ["depth", "depth-correction"])
def test_taken_it_stands_in_the_job_and_make_goes_on(job: Path, what: str) -> None:
    before = job.read_text()
    recorded(job, "--correction", f"leaves:{what}=0.006", "--take")
    assert job.read_text() == before.replace(
        "trial-spaces: 2}", "trial-spaces: 2, depth-correction: 0.006}")
    again = made(job)
    assert again.exit_code == 0, again.output
    assert "what was corrected then is in the job now" in again.output
    # Something else changed too: then it is asked, as ever.
    job.write_text(job.read_text().replace("passes: 3", "passes: 4"))
    assert made(job).exit_code == 1
    # And a second correction is added to the first.
    recorded(job, "--correction", f"leaves:{what}=0.002", "--take")
    assert "depth-correction: 0.008}" in job.read_text()


def test_what_cannot_be_taken_leaves_job_and_record_as_they_were(job: Path) -> None:
    before = job.read_bytes()
    with pytest.raises(Refused):
        recorded(job, "--correction", "leaves:depth=0.4", "--take")
    assert job.read_bytes() == before
    assert not record_path(job).exists()


def test_what_belongs_into_no_word_is_recorded_and_no_more(job: Path) -> None:
    before = job.read_bytes()
    said = recorded(job, "--correction", "leaves:feed=5", "--take")
    assert "nothing was corrected that a word of the job could say" in said
    assert job.read_bytes() == before
    assert "proven and unchanged" in made(job).stdout


def test_a_record_of_before_that_kept_no_job_is_judged_by_its_sum(job: Path) -> None:
    recorded(job, "--correction", "leaves:depth=0.006")
    record = record_path(job)
    text = record.read_text()
    record.write_text(text[:text.index("  as-run:")])
    assert read_record(record) is not None
    assert proved_job(job).standing.state == "uncorrected"
    job.write_text(job.read_text().replace("passes: 3", "passes: 4"))
    assert proved_job(job).standing.state == "changed"


def test_written_by_hand_it_is_no_longer_open(job: Path) -> None:
    recorded(job, "--correction", "leaves:depth=0.006")
    job.write_text(job.read_text().replace(
        "trial-spaces: 2}", "trial-spaces: 2, depth-correction: 0.006}"))
    assert proved_job(job).standing.state == "changed"
    assert made(job).exit_code == 0


def test_sizes_have_limits_by_form_and_a_root_far_off_takes_a_word(job: Path) -> None:
    tooth = proved_job(job).job_file.job.part.tooth()
    root = tooth.sizes.root_diameter
    recorded(job, "--size", f"root={root + 0.004:.4f}")
    with pytest.raises(Refused, match="root measured"):
        recorded(job, "--size", f"root={root + 0.047:.4f}")
    recorded(job, "--size", f"root={root + 0.047:.4f}", "--sure")
    record = read_record(record_path(job))
    assert record is not None
    (size,) = record.runs[-1].sizes
    assert size.lower is not None
    assert size.upper is not None
    # The form's tolerance, 3 % of the module as common practice has it, at both ends.
    assert size.upper - size.lower == pytest.approx(4 * 0.03 * 0.14, abs=2e-3)
    assert "1 outside its limits" in run("library", "show", job).stdout
    # What the job says itself comes first.
    job.write_text(job.read_text() + f"\nlimits: {{root: [{root - 0.1:.4f}, {root + 0.1:.4f}]}}\n")
    recorded(job, "--size", f"root={root + 0.047:.4f}")
