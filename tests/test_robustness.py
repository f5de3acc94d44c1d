"""Odd files and folders are answered in words: nothing hangs, nothing of another job is lost."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest
from click.testing import CliRunner
from sampling import sampled

from camgen.cli import group, main
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


@pytest.mark.long
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


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
@pytest.mark.parametrize("words", [
    ["read", "PIPE"], ["read", "good.nc", "--against", "PIPE"], ["preview", "PIPE.nc"],
    ["library", "unpack", "PIPE", "--to", "there"], ["check", "JOB", "--post", "./PIPE"],
    ["library", "record", "JOB", "--form", "PIPE"], ["check", "RECORDED"],
])
def test_a_pipe_is_never_waited_for_whatever_it_is_given_as(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: list[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    for name in ("PIPE", "PIPE.nc", "recorded.proof.yaml"):
        os.mkfifo(name)
    Path("recorded.yaml").write_bytes((JOBS / "third-wheel.yaml").read_bytes())
    Path("good.nc").write_text("G21 G90\nM30\n")
    given = {"JOB": str(JOBS / "third-wheel.yaml"), "RECORDED": "recorded.yaml"}
    done = CliRunner().invoke(group, [given.get(word, word) for word in words])
    assert isinstance(done.exception, Refused), done.output
    assert "no plain file" in str(done.exception)


def test_a_folder_of_odd_things_is_looked_through_and_each_is_named(tmp_path: Path) -> None:
    (tmp_path / "good.yaml").write_bytes((JOBS / "third-wheel.yaml").read_bytes())
    (tmp_path / "binary.yaml").write_bytes(bytes(range(256)))
    (tmp_path / "folder.yaml").mkdir()
    (tmp_path / "ring.yaml").symlink_to(tmp_path / "ring.yaml")
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe.yaml")
    for command in ("list", "status"):
        done = CliRunner().invoke(group, ["library", command, "--folder", str(tmp_path)])
        assert done.exit_code == 0
        assert "good.yaml" in done.output
        for name in ("binary.yaml", "ring.yaml"):
            assert name in done.output


@pytest.mark.long
def test_a_job_changed_in_another_file_does_not_replace_the_firsts_sheet(tmp_path: Path) -> None:
    text = (JOBS / "third-wheel.yaml").read_text(encoding="utf-8")
    (tmp_path / "one.yaml").write_text(text, encoding="utf-8")
    (tmp_path / "two.yaml").write_text(text.replace("teeth: 75", "teeth: 74"), encoding="utf-8")
    out = ["--no-pictures", "--out", str(tmp_path / "out")]
    assert CliRunner().invoke(group, ["make", str(tmp_path / "one.yaml"), *out]).exit_code == 0
    sheet = (tmp_path / "out" / "sheet.html").read_bytes()
    done = CliRunner().invoke(group, ["make", str(tmp_path / "two.yaml"), *out])
    assert done.exit_code == 1
    assert "one.yaml" in done.output
    assert (tmp_path / "out" / "sheet.html").read_bytes() == sheet


def test_an_air_cut_higher_than_the_axis_travels_is_refused() -> None:
    done = CliRunner().invoke(group, ["check", str(JOBS / "third-wheel.yaml"), "--air", "450"])
    assert isinstance(done.exception, Refused)
    assert "travels 120 mm" in str(done.exception)


@pytest.mark.parametrize("words", [
    ["--from-space", "3", "--dry-index"], ["--from-space", "3", "--from-step", "2"],
    ["--from-step", "1", "--from-cutter", "teeth"], ["--post", ""], ["--language", "xx"],
])
def test_wishes_that_cannot_be_had_are_refused_before_anything_is_made(words: list[str]) -> None:
    done = CliRunner().invoke(group, ["check", str(JOBS / "third-wheel.yaml"), *words])
    assert done.exit_code == 2 or isinstance(done.exception, Refused)


def test_empty_names_are_wrong_words(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    job = str(JOBS / "third-wheel.yaml")
    for words in (["make", job, "--out", ""], ["check", ""], ["read", ""], ["start", ""]):
        assert CliRunner().invoke(group, words).exit_code == 2, words
    assert list(tmp_path.iterdir()) == []


def test_a_run_to_come_and_sizes_far_off_are_not_recorded_without_more(tmp_path: Path) -> None:
    job = tmp_path / "wheel.yaml"
    text = (JOBS / "third-wheel.yaml").read_text("utf-8")
    blanks, teeth = text.index("  # Eight blanks"), text.index("  # All eight on one arbor")
    job.write_text(text[:blanks] + text[teeth:], encoding="utf-8")
    record = ["library", "record", str(job), "--made", "2"]
    done = CliRunner().invoke(group, [*record, "--when", "9999-01-01", "--size", "tip=99"])
    assert isinstance(done.exception, Refused)
    assert "still to come" in str(done.exception)
    assert "tip measured 99" in str(done.exception)
    assert not (tmp_path / "wheel.proof.yaml").exists()
    sure = [*record, "--when", "2026-03-01", "--size", "tip=99", "--sure"]
    assert CliRunner().invoke(group, sure).exit_code == 0


def test_a_trial_program_for_no_folder_is_refused_in_words() -> None:
    done = CliRunner().invoke(group, ["post", "try", "plain-iso", "--out", os.devnull])
    assert isinstance(done.exception, Refused) or done.exit_code == 2


def test_a_very_long_number_is_not_said_again_whole(tmp_path: Path) -> None:
    text = (JOBS / "third-wheel.yaml").read_text(encoding="utf-8")
    (tmp_path / "w.yaml").write_text(text.replace("teeth: 75", "teeth: 1" + 400 * "0", 1))
    done = CliRunner().invoke(group, ["check", str(tmp_path / "w.yaml")])
    assert isinstance(done.exception, Refused)
    assert 60 * "0" not in str(done.exception)


@pytest.mark.parametrize("words", sampled([
    ["divide", "LONG"], ["mesh", "75", "LONG", "--module", "0.2"], ["LONG"],
    ["read", "a.nc", "--tolerance", "LONG"], ["read", "a.nc", "--LONG"], ["post", "show", "LONG"],
    ["library", "list", "--module", "LONG"], ["library", "LONG"], ["make", "LONG.yaml"],
    ["speeds", "--material", "LONG", "--cutter", "end-mill"], ["check", "long.yaml"],
    ["check", "JOB", "--from-space", "LONG"], ["check", "JOB", "--air", "LONG"],
], 3))
def test_a_number_without_end_is_not_echoed_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str],
    words: list[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    long = "9" * 5000
    text = (JOBS / "third-wheel.yaml").read_text()
    Path("long.yaml").write_text(text.replace("teeth: 75", f"teeth: {long}").replace(
        "quantity: 8", f"quantity: {long}x"))
    Path("a.nc").write_text("G21 G90\nM30\n")
    said = [word.replace("LONG", long).replace("JOB", str(JOBS / "third-wheel.yaml"))
            for word in words]
    monkeypatch.setattr("sys.argv", ["camgen", *said])
    with pytest.raises(SystemExit) as end:
        main()
    assert end.value.code in (1, 2)
    out, err = capsys.readouterr()
    assert 0 < len(out + err) < 1500


@pytest.mark.parametrize("figure", ["nan", "inf", "-inf", "1e999"])
@pytest.mark.parametrize("words", [
    ["library", "list", "--module"], ["library", "list", "--size"], ["read", "a.nc", "--tolerance"],
    ["mesh", "75", "10", "--module"], ["divide", "75", "--ratio"],
    ["speeds", "--material", "brass", "--cutter", "end-mill 0.4", "--width"],
])
def test_what_is_no_figure_is_a_wrong_word_wherever_one_is_given(
    tmp_path: Path, words: list[str], figure: str
) -> None:
    done = CliRunner().invoke(group, [*words, figure])
    assert done.exit_code == 2, done.output


@pytest.mark.parametrize("words", [
    ["--from-space", "3", "--from-cutter", "teeth"],
    ["--from-space", "3", "--dry-index"], ["--dry-index", "--from-step", "1"],
])
def test_programs_that_begin_at_two_places_are_a_wrong_word(words: list[str]) -> None:
    done = CliRunner().invoke(group, ["check", str(JOBS / "third-wheel.yaml"), *words])
    assert done.exit_code == 2
    assert "choose one" in done.output


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
@pytest.mark.parametrize("words", sampled([
    ["post", "try", "plain-iso", "--out", "PIPE"], ["post", "schema", "--out", "PIPE"],
    ["schema", "--out", "PIPE"], ["make", "JOB", "--out", "PIPE"],
    ["read", "a.nc", "--picture", "PIPE.png"], ["read", "a.nc", "--picture", "PIPE/a.png"],
    ["preview", "a.nc", "--out", "PIPE"],
], 3))
def test_what_is_no_plain_file_is_never_written_over(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str],
    words: list[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    os.mkfifo("PIPE")
    os.mkfifo("PIPE.png")
    Path("a.nc").write_text("%\nG21 G90 G54\nT1 M6\nG0 Z5.\nM30\n%\n")
    said = [word.replace("JOB", str(JOBS / "third-wheel.yaml")) for word in words]
    monkeypatch.setattr("sys.argv", ["camgen", *said])
    with pytest.raises(SystemExit) as end:
        main()
    out, err = capsys.readouterr()
    assert end.value.code in (1, 2), out + err
    assert "itself is at fault" not in err
    assert stat.S_ISFIFO(os.stat("PIPE").st_mode)
    assert stat.S_ISFIFO(os.stat("PIPE.png").st_mode)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["PIPE", "PIPE.png", "a.nc"]


def test_parts_that_are_no_longer_made_go_with_their_set(tmp_path: Path) -> None:
    out = tmp_path / "out"
    job = JOBS / "ratchet-wheel.yaml"

    def made(*words: str) -> set[str]:
        done = CliRunner().invoke(group, ["make", str(job), "--no-pictures", "--out", str(out),
                                          *words])
        assert done.exit_code == 0, done.output
        return {path.name for path in out.iterdir()}

    parts = made("--post", "one-program-per-cutter")
    assert len(parts) > 4
    (out / "my-notes.txt").write_text("mine")
    whole = made("--post", "plain-iso")
    assert whole == {"ratchet-wheel-blanks.nc", "ratchet-wheel-teeth.nc", "sheet.html",
                     "report.json", "my-notes.txt"}
    report = (out / "report.json").read_bytes()
    again = made("--from-space", "20")
    assert again - whole == {"ratchet-wheel-teeth-from-space-20.nc", "sheet-from-space-20.html",
                             "report-from-space-20.json"}
    assert (out / "report.json").read_bytes() == report
    started = (out / "report-from-space-20.json").read_bytes()
    assert b"teeth-from-space-20.nc" in started
    assert b"teeth-from-space-20.nc" not in report
    assert made("--setup", "blanks") == again
    made("--post", "one-program-per-cutter")
    edited = next(out.glob("ratchet-wheel-blanks-1.*"))
    edited.write_bytes(edited.read_bytes() + b"(MINE)\n")
    done = CliRunner().invoke(group, ["make", str(job), "--no-pictures", "--out", str(out)])
    assert "changed by hand" in done.output
    assert edited.exists()
