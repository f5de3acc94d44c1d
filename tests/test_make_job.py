"""The main job from the command line: what is written, what is refused, and with which status."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from demos import proved_demo
from sampling import sampled

from camgen.cli import group
from camgen.faults import Refused
from camgen.make.chain import proved_job
from camgen.make.files import output_of
from camgen.make.variants import Wish
from camgen.shipped import demo_jobs, shipped_folder

JOBS = list(demo_jobs())
THIRD = shipped_folder("jobs") / "third-wheel.yaml"


def _run(*words: str) -> Result:
    return CliRunner().invoke(group, list(words))


def _teeth(tmp_path: Path, *changes: tuple[str, str]) -> Path:
    """The third wheel without the setup of its blanks, changed."""
    text = THIRD.read_text(encoding="utf-8")
    begin, end = text.index("  # Eight blanks"), text.index("  # All eight on one arbor")
    return _changed(tmp_path, (text[begin:end], ""), *changes)


def _changed(tmp_path: Path, *changes: tuple[str, str]) -> Path:
    text = THIRD.read_text(encoding="utf-8")
    for before, after in changes:
        assert before in text
        text = text.replace(before, after)
    job = tmp_path / "wheel.yaml"
    job.write_text(text, encoding="utf-8")
    return job


def test_the_third_wheel_leaves_programs_pictures_sheet_and_report(tmp_path: Path) -> None:
    done = _run("make", str(THIRD), "--out", str(tmp_path / "out"))
    assert done.exit_code == 0, done.output
    assert sorted(p.name for p in (tmp_path / "out").iterdir()) == [
        "report.json", "sheet.html", "third-wheel-blanks.nc", "third-wheel-blanks.png",
        "third-wheel-teeth.nc", "third-wheel-teeth.png",
    ]
    report = json.loads((tmp_path / "out" / "report.json").read_text(encoding="utf-8"))
    # BS 978-2, wheel of 75 with a pinion of 10, module 0.14: the measures of the main job.
    wheel = report["wheel"]
    assert wheel["teeth"] == 75
    assert wheel["pitch_diameter"] == pytest.approx(10.500, abs=0.0005)
    assert wheel["tip_diameter"] == pytest.approx(10.949, abs=0.0005)
    assert wheel["root_diameter"] == pytest.approx(10.060, abs=0.0005)
    assert wheel["whole_depth"] == pytest.approx(0.444, abs=0.0005)
    for program in report["programs"]:
        assert set(program) >= {"file", "setup", "post", "seconds", "bounds", "cutters", "sha256"}
        assert program["seconds"] > 60
        assert re.fullmatch("[0-9a-f]{64}", program["sha256"])
    assert all(set(p) >= {"id", "name", "setup", "holds", "figure", "limit", "unit"}
               for p in report["proofs"])
    assert all(proof["holds"] for proof in report["proofs"])
    assert any("lead" in caution.lower() for caution in report["cautions"])


@pytest.mark.parametrize("job", sampled(JOBS, 3, 2), ids=lambda p: p.stem)
def test_every_demo_job_passes_every_proof(job: Path) -> None:
    proved = proved_demo(job.stem)
    assert proved.proofs
    assert list(proved.failed) == []
    for setup in proved.setups:
        assert {str(p.id) for p in setup.proofs} >= {"motion.path", "motion.feeds"}


def test_the_same_job_gives_the_same_bytes() -> None:
    job = THIRD.with_name("seconds-pinion.yaml")
    first, second = (output_of(proved_job(job)).files for _ in range(2))
    assert dict(first) == dict(second)


def test_a_program_says_no_date_and_only_plain_characters() -> None:
    for name, content in output_of(proved_demo(THIRD.stem), pictures=False).files.items():
        if name.endswith(".nc"):
            text = content.decode("ascii")
            assert not re.search(r"20\d\d-\d\d-\d\d", text)
            assert max(len(line) for line in text.splitlines()) <= 72


def test_check_writes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    done = _run("check", str(THIRD.with_name("seconds-pinion.yaml")))
    assert done.exit_code == 0
    assert list(tmp_path.iterdir()) == []


def test_a_cutter_for_another_tooth_count_fails_by_its_true_form_error(tmp_path: Path) -> None:
    """The space of a wheel of 30 is not that of 75: the proof says by how many micrometres."""
    job = _teeth(tmp_path, ("module: 0.14, teeth: 75", "module: 0.14, teeth: 30"))
    done = _run("make", str(job), "--out", str(tmp_path / "out"), "--json")
    assert done.exit_code == 3
    assert not (tmp_path / "out").exists()
    failed = [p for p in proved_job(job).failed if p.unit == "µm"]
    assert failed
    assert all(p.figure > p.limit for p in failed)
    assert "cutters.teeth.made-for.teeth: teeth, made for 30 teeth" in done.stderr


def test_a_job_with_faults_is_refused_with_status_1_and_leaves_nothing(tmp_path: Path) -> None:
    job = _changed(tmp_path, ("  module: 0.14", "  modul: 0.14"), ("bore: 0.80", "bore: 2.80"))
    done = _run("make", str(job), "--out", str(tmp_path / "out"))
    assert isinstance(done.exception, Refused)
    text = str(done.exception)
    assert "'module'" in text or "module" in text
    assert "line" in text
    assert not (tmp_path / "out").exists()


def test_wrong_words_on_the_command_line_end_with_status_2() -> None:
    assert _run("mak", str(THIRD)).exit_code == 2
    assert "'make'" in _run("mak").output
    assert _run("make").exit_code == 2


def test_teeth_can_be_cut_again_from_a_space(tmp_path: Path) -> None:
    proved = proved_demo(THIRD.stem, Wish(from_space=40))
    assert [setup.name for setup in proved.setups] == ["teeth"]
    assert not proved.failed
    whole = proved_demo(THIRD.stem).setups[-1]
    assert len(proved.setups[0].evidence.motion) < len(whole.evidence.motion)
    with pytest.raises(Refused, match="76"):
        proved_job(THIRD, Wish(from_space=76))


def test_a_folder_that_cannot_be_written_is_said_and_nothing_is_half_written(
    tmp_path: Path,
) -> None:
    (tmp_path / "out").write_text("a file where a folder should be")
    job = THIRD.with_name("seconds-pinion.yaml")
    done = _run("make", str(job), "--out", str(tmp_path / "out" / "wheel"), "--no-pictures")
    assert done.exit_code == 1
    assert "nothing was written" in done.output
    assert (tmp_path / "out").read_text() == "a file where a folder should be"


def test_a_proven_job_is_made_the_same_or_says_what_differs(tmp_path: Path) -> None:
    job = _teeth(tmp_path)
    assert _run("library", "record", str(job), "--when", "2026-03-01", "--made", "8",
                "--size", "tip=10.94", "--cutter", "teeth=fine").exit_code == 0
    assert _run("make", str(job), "--out", str(tmp_path / "a"), "--no-pictures").exit_code == 0
    assert b"STANDING PROVEN AT THE MACHINE 2026-03-01" in (
        tmp_path / "a" / "wheel-teeth.nc").read_bytes()
    job.write_text(job.read_text().replace("passes: 2", "passes: 3"))
    done = _run("make", str(job), "--out", str(tmp_path / "b"), "--no-pictures")
    assert done.exit_code == 1
    assert "passes 3, was 2: 1 more" in done.output
    assert "moves differently" in done.output
    assert not (tmp_path / "b").exists()
    done = _run("make", str(job), "--out", str(tmp_path / "b"), "--no-pictures", "--changed")
    assert done.exit_code == 0
    assert b"CHANGED SINCE PROVEN" in (tmp_path / "b" / "wheel-teeth.nc").read_bytes()


def test_a_fault_of_the_program_itself_is_no_traceback(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    import camgen.cli

    def broken(**_: object) -> None:
        raise ZeroDivisionError("division by zero")

    monkeypatch.setattr(camgen.cli, "group", broken)
    with pytest.raises(SystemExit) as end:
        camgen.cli.main()
    assert end.value.code == 1
    said = capsys.readouterr().err
    assert "camgen itself is at fault" in said
    assert "Traceback" not in said


def test_a_program_is_proved_against_its_job_wherever_it_comes_from(tmp_path: Path) -> None:
    job = _teeth(tmp_path)
    assert _run("make", str(job), "--out", str(tmp_path), "--no-pictures").exit_code == 0
    program = tmp_path / "wheel-teeth.nc"
    picture = tmp_path / "teeth.svg"
    done = _run("read", str(program), "--job", str(job), "--picture", str(picture))
    assert done.exit_code == 0, done.output
    assert "proofs hold" in done.output
    assert picture.read_bytes().startswith(b"<?xml")
    # A digit changed by hand: the sixth space would be cut 0.1 degrees beside its place.
    text = program.read_text()
    assert text.count("A24.\n") == 1
    program.write_text(text.replace("A24.\n", "A24.1\n"))
    done = _run("read", str(program), "--job", str(job), "--json")
    assert done.exit_code == 3
    failed = [proof for proof in json.loads(done.output) if not proof["holds"]]
    assert any("space 6" in proof["where"] for proof in failed)


@pytest.mark.long
def test_which_setup_a_program_is_for_must_be_clear(tmp_path: Path) -> None:
    (tmp_path / "x.nc").write_text("G21 G90\nM30\n")
    done = _run("read", str(tmp_path / "x.nc"), "--job", str(THIRD))
    assert isinstance(done.exception, Refused)
    assert "--setup blanks or teeth" in str(done.exception)
    assert _run("read", str(tmp_path / "x.nc"), "--job", str(THIRD),
                "--setup", "teeth").exit_code == 3
