"""Looking through a workshop's jobs: the index helps and never lies."""

from __future__ import annotations

import json
import os
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from camgen.cli import group
from camgen.library.record import JobFingerprints, Pieces, Run, add_run, record_path
from camgen.library.shelf import INDEX, LookedFor, found, shelf
from camgen.library.standing import standing_of_job
from camgen.shipped import shipped_folder
from camgen.steps import step_words


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name in ("third-wheel", "seconds-wheel", "ratchet-wheel"):
        shutil.copy(shipped_folder("jobs") / f"{name}.yaml", tmp_path)
    return tmp_path


def _names(folder: Path, **wanted: object) -> list[str]:
    entries = found(shelf(folder, step_words()), LookedFor(**wanted))  # type: ignore[arg-type]
    return [entry.file.removesuffix(".yaml") for entry in entries]


def test_jobs_are_found_by_any_field(folder: Path) -> None:
    assert _names(folder) == ["ratchet-wheel", "seconds-wheel", "third-wheel"]
    assert _names(folder, teeth=75) == ["third-wheel"]
    assert _names(folder, module=0.12) == ["seconds-wheel"]
    assert _names(folder, material="gold") == ["seconds-wheel"]
    assert _names(folder, cutter="form-disc") == ["ratchet-wheel", "seconds-wheel", "third-wheel"]
    assert _names(folder, size=2.4) == ["third-wheel"]
    assert _names(folder, words=("deck watch", "going")) == _names(folder, words=("GOING",))
    assert _names(folder, teeth=76) == []


def test_a_broken_job_is_named_and_hides_no_other(folder: Path) -> None:
    (folder / "broken.yaml").write_text("job: x\nwheel: {teeth: many}\n")
    entries = shelf(folder, step_words())
    broken = [entry for entry in entries if entry.faults]
    assert [entry.file for entry in broken] == ["broken.yaml"]
    assert "line 2" in " ".join(broken[0].faults)
    assert len(entries) == 4


def test_yaml_that_was_never_meant_as_a_job_is_passed_over(folder: Path) -> None:
    shutil.copy(shipped_folder("postprocessors") / "plain-iso.yaml", folder / "mill.yaml")
    (folder / "list.yaml").write_text("- one\n- two\n")
    (folder / "torn.yaml").write_text("material: brass\nplate: {thickness: 1\n")
    for _ in range(2):
        # The second time from the index.
        entries = shelf(folder, step_words())
        assert [entry.file for entry in entries if entry.faults] == ["torn.yaml"]
        assert len(entries) == 4


def test_of_many_broken_files_some_are_named_and_the_others_counted(folder: Path) -> None:
    for number in range(20):
        (folder / f"broken-{number:02}.yaml").write_text("job: x\nwheel: {teeth: many}\n")
    done = CliRunner().invoke(group, ["library", "status", "--folder", str(folder)])
    assert done.exit_code == 0
    assert done.output.count("cannot be read: ") - 1 == 8
    assert "12 more cannot be read" in done.output
    assert "third-wheel.yaml" in done.output


def test_a_stale_index_never_gives_a_wrong_answer(folder: Path) -> None:
    job = folder / "third-wheel.yaml"
    assert _names(folder, teeth=75) == ["third-wheel"]
    text = job.read_text()
    times = job.stat()
    # Of the same size and with its old time set back: only the system's own time tells.
    job.write_text(text.replace("teeth: 75", "teeth: 76"))
    os.utime(job, ns=(times.st_atime_ns, times.st_mtime_ns))
    assert _names(folder, teeth=75) == []
    job.unlink()
    assert "third-wheel" not in _names(folder)


def test_a_job_based_on_another_changes_with_it(folder: Path) -> None:
    (folder / "gold.yaml").write_text("based-on: middle.yaml\nmaterial: gold-750-yellow\n")
    broken = [entry for entry in shelf(folder, step_words()) if entry.faults]
    assert [entry.file for entry in broken] == ["gold.yaml"]
    # The missing one appears, and stands on a third, which is then changed.
    (folder / "middle.yaml").write_text("based-on: third-wheel.yaml\n")
    assert _names(folder, teeth=75, material="gold-750-yellow") == ["gold"]
    first = folder / "third-wheel.yaml"
    first.write_text(first.read_text().replace("teeth: 75", "teeth: 76"))
    assert _names(folder, teeth=76) == ["gold", "middle", "third-wheel"]
    first.unlink()
    assert {entry.file for entry in shelf(folder, step_words()) if entry.faults} == {
        "gold.yaml", "middle.yaml"}


def test_a_job_changes_with_the_workshops_own_cutters(folder: Path) -> None:
    table = folder / "cutters.yaml"
    table.write_text("fine: {kind: drill, diameter: 0.6, flute-length: 4, reach: 6}\n")
    job = folder / "third-wheel.yaml"
    text = job.read_text()
    start = text.index("  drill: {kind")
    job.write_text(text[:start] + "  drill: fine" + text[text.index("\n", start):])
    assert _names(folder, cutter="drill drill 0.6") == ["third-wheel"]
    table.write_text("fine: {kind: drill, diameter: 0.5, flute-length: 4, reach: 6}\n")
    assert _names(folder, cutter="drill drill 0.5") == ["third-wheel"]


@pytest.mark.parametrize("content", ["", "{", "[]", '{"form": 99}', '{"form": 1, "version": "x"}'])
def test_a_damaged_index_is_thrown_away(folder: Path, content: str) -> None:
    whole = shelf(folder, step_words())
    (folder / INDEX).write_text(content)
    assert shelf(folder, step_words()) == whole
    assert json.loads((folder / INDEX).read_text())["entries"]


def test_the_index_is_used_and_gives_the_same_answer(folder: Path) -> None:
    first = shelf(folder, step_words())
    written = (folder / INDEX).stat().st_mtime_ns
    assert shelf(folder, step_words()) == first
    assert (folder / INDEX).stat().st_mtime_ns == written


def test_a_run_recorded_after_the_index_was_made_is_seen(folder: Path) -> None:
    shelf(folder, step_words())
    add_run(record_path(folder / "third-wheel.yaml"), "third wheel", Run(
        when="2026-01-02", post="plain-iso", pieces=Pieces(made=8, scrapped=3), remarks="humming",
        prints=JobFingerprints(job="a", tables="b", machine="c", writer="d")))
    (entry,) = found(shelf(folder, step_words()), LookedFor(words=("humming",)))
    assert (entry.runs, entry.made, entry.scrapped, entry.last) == (1, 8, 3, "2026-01-02")


@pytest.mark.parametrize(("word", "said"), [
    ("job", "the job file"), ("tables", "material table"), ("machine", "the machine file"),
    ("writer", "version"),
])
def test_status_says_what_changed_since_the_job_was_proven(word: str, said: str) -> None:
    was = JobFingerprints(job="a", tables="b", machine="c", writer="d")
    assert str(standing_of_job(was, 1, was)) == "proven and unchanged"
    assert said in str(standing_of_job(was.model_copy(update={word: "other"}), 1, was))
    assert str(standing_of_job(was, 0, None)) == "never run"
    assert standing_of_job(was, 1, None).state == "failed"
