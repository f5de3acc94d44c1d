"""``camgen library`` as used at the bench: asked in order, options, forms; nothing overwritten."""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import subprocess
import sys
import time
import zipfile
from pathlib import Path

import pytest
from click.testing import CliRunner
from demos import proved_demo
from sampling import sampled

from camgen.cli import group
from camgen.faults import Refused
from camgen.library.record import read_record, record_path
from camgen.shipped import shipped_folder


@pytest.fixture
def job(tmp_path: Path) -> Path:
    (tmp_path / "jobs").mkdir()
    for name in ("third-wheel", "third-wheel-gold"):
        shutil.copy(shipped_folder("jobs") / f"{name}.yaml", tmp_path / "jobs")
    # The smallest job, so that the tests are quick: teeth alone.
    path = tmp_path / "jobs" / "teeth.yaml"
    path.write_text("based-on: third-wheel.yaml\njob: teeth\nsetups: {blanks: null}\n"
                    "limits: {tip: [10.9, 11.0]}\n")
    return path


def _camgen(*words: str | Path) -> str:
    result = CliRunner().invoke(group, [str(word) for word in words], catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.stdout


def _recorded(job: Path, *more: str) -> None:
    _camgen("library", "record", job, "--when", "2026-03-01", "--made", "8", *more)


def test_a_run_is_recorded_from_options_with_the_limits_of_the_job(job: Path) -> None:
    _recorded(job, "--size", "tip=10.94,10.95", "--size", "root=10.06", "--limit",
              "root=10.05,10.07", "--scrapped", "1", "--lot", "B 7")
    record = read_record(record_path(job))
    assert record is not None
    (run,) = record.runs
    sizes = {size.size: (size.lower, size.upper, size.measured) for size in run.sizes}
    assert sizes == {"tip": (10.9, 11.0, (10.94, 10.95)), "root": (10.05, 10.07, (10.06,))}
    assert (run.pieces.scrapped, run.material_lot) == (1, "B 7")


def test_a_cutters_work_is_that_of_all_the_pieces_made(job: Path) -> None:
    # Eight wheels of 75 teeth on one arbor are one run of the program; nine are two.
    _recorded(job)
    _camgen("library", "record", job, "--when", "2026-03-02", "--made", "9")
    record = read_record(record_path(job))
    assert record is not None
    (once,), (twice,) = (run.cutters for run in record.runs)
    assert (once.spaces, twice.spaces) == (75, 150)
    # In the cut it is for a part of the program's six minutes.
    assert 1 < once.minutes < 5
    assert twice.minutes == pytest.approx(2 * once.minutes, abs=0.02)


def test_a_second_run_is_added_and_the_first_stays(job: Path) -> None:
    _recorded(job)
    before = record_path(job).read_bytes()
    _recorded(job)
    assert record_path(job).read_bytes().startswith(before)
    assert json.loads(_camgen("library", "list", "--folder", job.parent, "--json"))[0]["runs"] == 2


@pytest.mark.parametrize(("more", "said"), [
    (("--size", "bor=0.8"), "no size of this job is called 'bor'"),
    (("--size", "tip=wide"), "is no list of numbers"),
    (("--limit", "tip=11,10"), "more than the most"),
    (("--cutter", "teath=fine"), "no cutter of this job is called 'teath'"),
    (("--scrapped", "9"), "9 scrapped of 8"),
])
def test_what_cannot_be_is_refused_and_nothing_is_written(
    job: Path, more: tuple[str, ...], said: str
) -> None:
    with pytest.raises(Refused) as no:
        _recorded(job, *more)
    assert said in str(no.value)
    assert not record_path(job).exists()
    assert not (job.parent / "teeth.proven").exists()


def test_the_blank_form_filled_in_is_a_record(job: Path, tmp_path: Path) -> None:
    form = tmp_path / "form.yaml"
    form.write_text(_camgen("library", "record", job, "--blank").replace(
        "when: ''", "when: 2026-03-01").replace("\n  tip: []", "\n  tip: [10.95]"))
    _camgen("library", "record", job, "--form", form)
    record = read_record(record_path(job))
    assert record is not None
    assert record.runs[0].sizes[0].measured == (10.95,)


@pytest.mark.skipif(sys.platform == "win32", reason="needs a terminal of its own")
def test_at_a_terminal_everything_is_asked_in_order(job: Path) -> None:
    import pty
    import select

    ours, theirs = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-c", "from camgen.cli import main; main()", "library", "record",
         str(job)], stdin=theirs, stdout=theirs, stderr=theirs)
    os.close(theirs)
    told = ""
    answers = [("date", "2026-03-01"), ("made", "8"), ("scrapped", "1"), ("lot", "B 7"),
               ("blank, should be", ""), ("tip, should be", "10.94,10.95"),
               ("over-tips", ""), ("whole-depth", ""), ("tooth-thickness", ""),
               ("root, should be", "10.06"), ("limits", "10.0,10.1"), ("root-to-tip", ""),
               ("over-pins", ""),
               ("cutter teeth", "fine"),
               ("correction", "teeth:depth=0.01"), ("correction", ""), ("remarks", "humming"),
               ("into the job", "n")]
    end = time.monotonic() + 60
    for asked, answer in answers:
        seen = ""
        while asked not in seen or not seen.rstrip(" ").endswith(":"):
            assert select.select([ours], [], [], end - time.monotonic())[0], told
            seen += os.read(ours, 4096).decode()
            told += seen
        os.write(ours, f"{answer}\n".encode())
    while process.poll() is None:
        assert time.monotonic() < end, told
        try:
            os.read(ours, 4096)
        except OSError:
            break
    assert process.wait(timeout=20) == 0
    os.close(ours)
    record = read_record(record_path(job))
    assert record is not None
    (run,) = record.runs
    assert {size.size: size.measured for size in run.sizes} == {
        "tip": (10.94, 10.95), "root": (10.06,)}
    assert (run.corrections[0].setup, run.corrections[0].by) == ("teeth", 0.01)
    assert run.remarks == "humming"


def test_a_proven_job_is_compared_with_itself_in_words_motion_and_picture(
    job: Path, tmp_path: Path
) -> None:
    _recorded(job)
    assert "no difference" in _camgen("library", "compare", job)
    job.write_text(job.read_text().replace(
        "setups: {blanks: null}",
        "setups: {blanks: null, teeth: {steps: {cut-teeth: {passes: 3, feed: 300}}}}"))
    picture = tmp_path / "both.png"
    told = _camgen("library", "compare", job, "--picture", picture)
    assert "passes 3, was 2: 1 more" in told
    assert "% less" in told
    assert "teeth: 225 feed moves, was 150" in told
    assert "first differs" in told
    assert picture.read_bytes().startswith(b"\x89PNG")


def test_a_kept_program_that_was_changed_is_not_taken_for_the_one_that_ran(job: Path) -> None:
    _recorded(job)
    (kept,) = (job.parent / "teeth.proven").iterdir()
    kept.write_bytes(kept.read_bytes() + b"G0 X0\n")
    with pytest.raises(Refused, match="changed since"):
        _camgen("library", "compare", job)


def test_a_family_with_its_record_and_programs_moves_house(job: Path, tmp_path: Path) -> None:
    (job.parent.parent / "cutters.yaml").write_text(
        "disc: {kind: form-disc, diameter: 20, flutes: 14, thickness: 2, arbor: 12, shank: 8,\n"
        "       reach: 20, made-for: {form: cycloidal-wheel, module: 0.14, teeth: 75, mate: 10}}\n")
    job.write_text(job.read_text() + "cutters: {teeth: disc}\n")
    _recorded(job)
    _camgen("library", "pack", job, "--to", tmp_path / "a.zip")
    told = _camgen("library", "unpack", tmp_path / "a.zip", "--to", tmp_path / "there")
    assert "as it was packed" in told
    assert "The 1 programs are as the archive has them, and were not proved here" in told
    there = tmp_path / "there"
    assert {path.relative_to(there).as_posix() for path in there.rglob("*.*")} >= {
        "jobs/teeth.yaml", "jobs/third-wheel.yaml", "jobs/teeth.proof.yaml", "cutters.yaml",
        "postprocessors/plain-iso.yaml", "programs/teeth-teeth.nc"}
    assert len(list((there / "jobs" / "teeth.proven").iterdir())) == 1
    assert "no difference" in _camgen("library", "compare", there / "jobs" / "teeth.yaml")


def test_a_packed_program_changed_with_its_sum_is_found_as_the_unpacking_says(
    job: Path, tmp_path: Path
) -> None:
    _camgen("library", "pack", job, "--to", tmp_path / "a.zip")
    with zipfile.ZipFile(tmp_path / "a.zip") as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    name = "programs/teeth-teeth.nc"
    text = files[name].decode()
    cut = re.search(r"G1 X\S+", text)
    assert cut is not None
    files[name] = text.replace(cut[0], f"G0 Y9.\r\n{cut[0]}", 1).encode()
    contents = json.loads(files["contents.json"])
    contents["files"][name] = hashlib.sha256(files[name]).hexdigest()
    files["contents.json"] = json.dumps(contents).encode()
    with zipfile.ZipFile(tmp_path / "b.zip", "w") as archive:
        for one, content in files.items():
            archive.writestr(one, content)
    for packed, status in (("a", 0), ("b", 3)):
        there = tmp_path / packed
        told = _camgen("library", "unpack", tmp_path / f"{packed}.zip", "--to", there)
        assert "were not proved here" in told
        (reads,) = re.findall(r"`camgen (read [^`]*)`", told)
        assert CliRunner().invoke(group, reads.split()).exit_code == status


@pytest.mark.parametrize("name", ["plain-iso", "own"])
def test_a_job_whose_machine_file_is_named_by_its_path_is_not_packed(
    job: Path, tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "machines").mkdir()
    source = shipped_folder("postprocessors") / "plain-iso.yaml"
    text = source.read_text().replace("name: plain-iso", f"name: {name}")
    (tmp_path / "machines" / f"{name}.yaml").write_text(text)
    job.write_text(job.read_text() + f"post: machines/{name}.yaml\n")
    monkeypatch.chdir(tmp_path)
    with pytest.raises(Refused, match="named by its path") as no:
        _camgen("library", "pack", job, "--to", tmp_path / "a.zip")
    assert f"write post: {name}" in str(no.value)
    assert not (tmp_path / "a.zip").exists()
    # What is offered works.
    (tmp_path / "postprocessors").mkdir()
    (tmp_path / "postprocessors" / f"{name}.yaml").write_text(text)
    job.write_text(job.read_text().replace(f"machines/{name}.yaml", name))
    _camgen("library", "pack", job, "--to", tmp_path / "a.zip")


def test_the_shipped_record_is_plainly_invented_and_no_new_workshop_has_it(tmp_path: Path) -> None:
    record = read_record(shipped_folder("jobs") / "third-wheel-gold.proof.yaml")
    assert record is not None
    assert all("invented" in run.remarks for run in record.runs)
    _camgen("start", tmp_path / "shop")
    assert not list((tmp_path / "shop").rglob("*.proof.yaml"))


def test_the_sizes_that_may_have_limits_are_those_the_sheet_asks_for() -> None:
    from camgen.job.part import measured_sizes
    from camgen.make.runs.recording import sizes_to_measure

    for name in ("seconds-pinion", "ratchet-wheel"):
        proved = proved_demo(name)
        assert tuple(sizes_to_measure(proved)) == measured_sizes(proved.job_file.job)


@pytest.mark.parametrize("command", ["list", "status"])
def test_where_no_file_can_be_read_the_library_refuses(tmp_path: Path, command: str) -> None:
    (tmp_path / "broken.yaml").write_text("job: [\n")
    words = ["library", command, "--folder", str(tmp_path)]
    alone = CliRunner().invoke(group, words)
    assert alone.exit_code == 1
    assert "cannot be read" in alone.stderr
    shutil.copy(shipped_folder("jobs") / "seconds-pinion.yaml", tmp_path)
    beside = CliRunner().invoke(group, words)
    assert beside.exit_code == 0
    assert "cannot be read" in beside.stderr
    assert "seconds-pinion.yaml" in beside.stdout


def test_an_empty_folder_is_no_refusal(tmp_path: Path) -> None:
    assert "no job fits" in _camgen("library", "list", "--folder", tmp_path)


@pytest.mark.parametrize(("size", "limit", "asked"), sampled([
    ("root=10.06", "", False), ("root=10.10", "", False), ("root=10.12", "", True),
    ("root=10.00", "", True), ("tip=10.95", "tip=10.9,11.0", False),
    ("tip=10.90", "tip=10.9,11.0", False), ("tip=10.899", "tip=10.9,11.0", True),
    ("tip=11.001", "tip=10.9,11.0", True),
    ("whole-depth=0.46", "", False), ("whole-depth=0.60", "", True),
], 6))
def test_a_size_that_cannot_be_meant_is_asked_for_again(
    job: Path, size: str, limit: str, asked: bool
) -> None:
    words = ["library", "record", str(job), "--when", "2026-03-01", "--made", "8", "--size", size,
             *(("--limit", limit) if limit else ())]
    first = CliRunner().invoke(group, words)
    assert (first.exit_code != 0) == asked, first.output
    if asked:
        assert "--sure" in str(first.exception)
        assert not record_path(job).exists()
        assert CliRunner().invoke(group, [*words, "--sure"]).exit_code == 0


def test_another_language_is_no_change_of_a_proven_job(job: Path, tmp_path: Path) -> None:
    _recorded(job)
    out = tmp_path / "out"
    said = _camgen("make", job, "--language", "de", "--out", out, "--no-pictures")
    assert "bewährt und unverändert" in said
    assert "ARBEITSGANG" in (out / "teeth-teeth.nc").read_text()
    # What moves a cutter is a change in every language.
    job.write_text(job.read_text() + "material: cuzn37\n")
    other = CliRunner().invoke(group, ["make", str(job), "--language", "de", "--out", str(out)])
    assert other.exit_code == 1
    assert "--changed" in other.stderr
