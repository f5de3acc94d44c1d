"""Odd files wherever one is named: pipes, devices, folders, links, full disks, two writers."""

from __future__ import annotations

import io
import json
import os
import resource
import shutil
import signal
import stat
import subprocess
import sys
import time
import zipfile
from itertools import product
from pathlib import Path

import pytest
from sampling import sampled

from camgen.cli import main
from camgen.faults import Refused
from camgen.library.pack import packed
from camgen.shipped import shipped_folder

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="no pipes and devices there")
JOBS = shipped_folder("jobs")
JOB = str(JOBS / "ratchet-wheel.yaml")


def said(
    words: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> tuple[int, str]:
    """Exit status and all that is told; a command that waits for a pipe is ended."""
    monkeypatch.setattr("sys.argv", ["camgen", *words])
    signal.signal(signal.SIGALRM, lambda *_: (_ for _ in ()).throw(TimeoutError("it waits")))
    signal.alarm(60)
    try:
        with pytest.raises(SystemExit) as end:
            main()
    finally:
        signal.alarm(0)
    out, err = capsys.readouterr()
    told = out + err
    assert "itself is at fault" not in told
    assert "Traceback" not in told
    return int(end.value.code or 0), told


@pytest.fixture
def house(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A workshop with a job, a program, a record's place and one of each odd file."""
    monkeypatch.chdir(tmp_path)
    os.mkfifo("pipe")
    Path("folder").mkdir()
    Path("ring").symlink_to("ring")
    Path("zero").symlink_to("/dev/zero")
    Path("nowhere").symlink_to("not-there")
    Path("a.nc").write_text("%\nG21 G90 G54\nT1 M6\nG0 Z5.\nM30\n%\n")
    Path("jobs").mkdir()
    Path("jobs/wheel.yaml").write_bytes((JOBS / "third-wheel.yaml").read_bytes())
    Path("jobs/wheel.proof.yaml").write_bytes((JOBS / "third-wheel-gold.proof.yaml").read_bytes())
    return tmp_path


READS = [
    ["read", "ODD"], ["read", "a.nc", "--against", "ODD"], ["read", "a.nc", "--with", "ODD"],
    ["read", "a.nc", "--job", "ODD"], ["read", "a.nc", "--post", "./ODD"], ["preview", "ODD"],
    ["make", "ODD"], ["check", "ODD"], ["check", "jobs/wheel.yaml", "--post", "./ODD"],
    ["library", "unpack", "ODD", "--to", "there"], ["library", "pack", "ODD", "--to", "a.zip"],
    ["library", "record", "jobs/wheel.yaml", "--form", "ODD"], ["library", "show", "ODD"],
    ["library", "compare", "jobs/wheel.yaml", "ODD"], ["post", "show", "./ODD"],
    ["post", "try", "./ODD"],
]


@pytest.mark.parametrize(("words", "odd"), sampled(product(READS, [
    "pipe", "folder", "ring", "zero", "nowhere", "-", "/dev/null", "a.nc/b", "x" * 300]), 20))
def test_an_odd_file_is_refused_in_words_wherever_one_is_read(
    house: Path, words: list[str], odd: str, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    before = sorted(house.rglob("*"))
    status, told = said([word.replace("./ODD", odd if odd[0] == "/" else f"./{odd}").replace(
        "ODD", odd) for word in words], monkeypatch, capsys)
    assert status in (1, 2), told
    assert len(told.strip()) > 20
    if odd == "nowhere":
        # A dead link is there and leads nowhere: its own name is no remedy.
        assert "there is no such file" not in told, told
        assert "not-there" in told, told
    assert sorted(house.rglob("*")) == before


@pytest.mark.parametrize("odd", ["pipe", "folder", "ring", "zero", "nowhere"])
@pytest.mark.parametrize("what", sampled([
    "based-on", "drawing", "matches", "cutters.yaml", "materials.yaml", "wheel.proof.yaml",
    "postprocessors/plain-iso.yaml",
], 4))
def test_an_odd_file_is_refused_in_words_wherever_a_job_leads_to_one(
    house: Path, what: str, odd: str, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    job = house / "jobs" / "wheel.yaml"
    target = house / odd
    if what == "based-on":
        job.write_text(f"based-on: {target}\njob: other\n")
    elif what in ("drawing", "matches"):
        text = (JOBS / "train-bridge.yaml").read_text()
        (house / "odd.dxf").symlink_to(target)
        job.write_text(text.replace("drawings/train-bridge.dxf", str(house / "odd.dxf"))
                       if what == "drawing" else text.replace("train-plate.yaml", str(target)))
    else:
        place = (house / "jobs" if what.endswith("proof.yaml") else house) / what
        place.parent.mkdir(exist_ok=True)
        place.unlink(missing_ok=True)
        place.symlink_to(target)
        if what == "cutters.yaml":
            job.write_text(job.read_text().replace(
                "{kind: spot-drill, diameter: 1.0, point-angle: 90, reach: 6}", "my-own"))
    status, told = said(["check", "jobs/wheel.yaml"], monkeypatch, capsys)
    assert status in (0, 1), told
    # A link to nothing among the machine files is none that the job asks for.
    assert status == 1 or (odd == "nowhere" and what == "postprocessors/plain-iso.yaml"), told


@pytest.mark.parametrize(("words", "odd"), sampled(product([
    ["make", JOB, "--no-pictures", "--out", "ODD"], ["preview", "a.nc", "--out", "ODD"],
    ["post", "try", "plain-iso", "--out", "ODD"], ["post", "schema", "--out", "ODD"],
    ["schema", "--out", "ODD"], ["read", "a.nc", "--picture", "ODD.png"],
    ["library", "pack", "jobs/wheel.yaml", "--to", "ODD"], ["start", "ODD"],
    ["library", "show", "jobs/wheel.yaml", "--chart", "ODD.png"],
    ["library", "unpack", "good.zip", "--to", "ODD"],
    ["speeds", "--material", "brass", "--cutter", "end-mill 0.4", "--picture", "ODD.png"],
], ["pipe", "/dev/null", "/dev/full", "", "a.nc/b", "x" * 300]), 40))
def test_nothing_odd_is_written_over_or_half_written(
    house: Path, words: list[str], odd: str, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    (house / "good.zip").write_bytes(packed({"jobs/a.yaml": b"job: a\n"}, "a", "jobs/a.yaml"))
    # Pictures are known by their ending: a link with one leads to what is meant.
    if words[-1].endswith(".png"):
        if not odd:
            return
        if odd in ("pipe", "/dev/null", "/dev/full"):
            (house / "odd.png").symlink_to(odd)
            odd = "odd"
    before = {path: path.lstat().st_mode for path in house.rglob("*")}
    status, told = said([word.replace("ODD", odd) for word in words], monkeypatch, capsys)
    left = {path: path.lstat().st_mode for path in house.rglob("*")}
    assert status in (1, 2), told
    assert left == before
    for device in ("/dev/null", "/dev/full"):
        assert stat.S_ISCHR(os.stat(device).st_mode)


@pytest.mark.parametrize("words", sampled([
    ["make", JOB, "--no-pictures", "--out", "out"], ["preview", "a.nc", "--out", "out"],
    ["post", "try", "plain-iso", "--out", "out"], ["schema", "--out", "out/schema.json"],
    ["start", "out"], ["read", "a.nc", "--picture", "out/a.png"],
    ["library", "pack", "jobs/wheel.yaml", "--to", "out/a.zip"],
    ["library", "show", "jobs/wheel.yaml", "--chart", "out/a.png"],
], 10))
def test_a_disk_that_is_full_is_told_and_nothing_is_half_written(
    house: Path, words: list[str]
) -> None:
    def full() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (500, 500))

    before = sorted(house.rglob("*"))
    done = subprocess.run([sys.executable, "-c", "from camgen.cli import main; main()", *words],
                          capture_output=True, text=True, preexec_fn=full, timeout=120,
                          env={**os.environ, "PYTHONDONTWRITEBYTECODE": "1"}, check=False)
    assert done.returncode == 1, done.stderr
    assert "itself is at fault" not in done.stderr
    assert "large" in done.stderr or "space" in done.stderr
    assert sorted(house.rglob("*")) == before


def unpacked_by_hand(**names: str) -> bytes:
    """An archive whose job leads to other files."""
    text = "".join(f"{word}: {said}\n" for word, said in names.items()).encode()
    out = io.BytesIO()
    import hashlib

    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("contents.json", json.dumps({
            "form": 1, "job": "a", "job-file": "jobs/a.yaml", "version": "1", "prints": None,
            "files": {"jobs/a.yaml": hashlib.sha256(text).hexdigest()}}))
        archive.writestr("jobs/a.yaml", text)
    return out.getvalue()


@pytest.mark.parametrize(("word", "inside", "outside"), [
    ("based-on", "b.yaml", "../../b.yaml"), ("drawing", "../d.dxf", "/etc/d.dxf"),
    ("post", "../postprocessors/m.yaml", "../../m.yaml"), ("kept", "a.proven/x.nc", "../../x.nc"),
    ("matches", "{job: plate.yaml}", "{job: ../../plate.yaml}"),
])
def test_a_job_out_of_an_archive_reads_nothing_outside_its_folder(
    house: Path, word: str, inside: str, outside: str, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    for value, refused in ((inside, False), (outside, True)):
        Path("a.zip").write_bytes(unpacked_by_hand(**{word: value}))
        status, told = said(["library", "unpack", "a.zip", "--to", "into"], monkeypatch, capsys)
        assert ("outside the workshop folder" in told) == refused, told
        assert Path("into").exists() != refused
        assert status == (1 if refused else status)
        shutil.rmtree("into", ignore_errors=True)


def test_a_record_out_of_an_archive_reads_no_program_outside_its_folder(tmp_path: Path) -> None:
    from camgen.library.record import ProgramRun
    from camgen.make.runs.proving import _kept_text

    (tmp_path / "x.nc").write_text("%\n")
    record = tmp_path / "jobs" / "a.proof.yaml"
    record.parent.mkdir()
    run = ProgramRun(file="x.nc", setup="s", kept="../x.nc", sha256="0" * 64, motion="0" * 12)
    with pytest.raises(Refused, match="outside the record's folder"):
        _kept_text(record, run)
    os.mkfifo(record.parent / "pipe")
    with pytest.raises(Refused, match="no plain file"):
        _kept_text(record, run.model_copy(update={"kept": "pipe"}))


@pytest.mark.long
def test_of_two_makes_into_one_folder_the_loser_is_told(house: Path) -> None:
    second = (JOBS / "seconds-pinion.yaml", JOBS / "ratchet-wheel.yaml")
    makers = [subprocess.Popen(
        [sys.executable, "-c", "from camgen.cli import main; main()", "make", str(job),
         "--no-pictures", "--out", "out"], stderr=subprocess.PIPE, stdout=subprocess.PIPE,
        text=True) for job in second]
    told = [maker.communicate(timeout=120) for maker in makers]
    codes = [maker.returncode for maker in makers]
    assert sorted(codes) == [0, 1], told
    won, lost = codes.index(0), codes.index(1)
    assert "nothing" in told[lost][1]
    assert "was written" in told[lost][1]
    report = json.loads(Path("out/report.json").read_bytes())
    assert report["job_file"] == second[won].name
    assert {path.name for path in Path("out").iterdir()} == {
        "report.json", "sheet.html", *(one["file"] for one in report["programs"])}


def test_a_set_that_came_meanwhile_is_not_written_over(
    house: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """However late the other writes: here between the look at the folder and the writing."""
    from camgen.commands.terminal import written as command

    real = command.no_longer_made
    others = {"report.json": b"{}", "sheet.html": b"another's"}

    def meanwhile(*given: object) -> object:
        answer = real(*given)  # type: ignore[arg-type]
        Path("out").mkdir()
        for name, content in others.items():
            (Path("out") / name).write_bytes(content)
        return answer

    monkeypatch.setattr(command, "no_longer_made", meanwhile)
    status, told = said(["make", JOB, "--no-pictures", "--out", "out"], monkeypatch, capsys)
    assert status == 1
    assert "another camgen make wrote to out meanwhile" in told
    assert {path.name: path.read_bytes() for path in Path("out").iterdir()} == others


@pytest.mark.parametrize("words", [
    ["make", JOB, "--no-pictures", "--out", "out"], ["start", "out"],
    ["post", "try", "plain-iso", "--out", "out"],
    ["library", "pack", JOB, "--to", "out/a.zip"],
], ids=lambda words: " ".join(words[:2]))
@pytest.mark.long
def test_killed_at_any_moment_a_command_leaves_all_of_its_files_or_none(
    house: Path, words: list[str]
) -> None:
    command = [sys.executable, "-c", "from camgen.cli import main; main()", *words]
    begun = time.monotonic()
    assert subprocess.run(command, capture_output=True, check=False).returncode == 0
    lasts = time.monotonic() - begun
    whole = {path.relative_to("out") for path in Path("out").rglob("*") if path.is_file()}
    for turn in range(25):
        for path in sorted(Path("out").rglob("*"), reverse=True):
            path.rmdir() if path.is_dir() else path.unlink()
        maker = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        time.sleep(lasts * turn / 24)
        maker.kill()
        maker.wait()
        left = {path.relative_to("out") for path in Path("out").rglob("*")
                if path.is_file() and not any(part.startswith(".") for part in path.parts)}
        if words[0] == "make":
            assert left == whole or Path("report.json") not in left
        else:
            assert all((Path("out") / path).stat().st_size for path in left)
