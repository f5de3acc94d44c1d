"""Malformed job files: every fault is named with its line, none ends in a traceback.

Each file in ``data/bad_jobs`` begins with what must be said of it, a line a fault:
``#! line 7: part of the fault's message | part of its remedy``.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from sampling import sampled

from camgen.cli import main
from camgen.faults import Fault, Refused
from camgen.job.checks.whole_job import check_job
from camgen.job.reading import read_job
from camgen.shipped import shipped_folder
from camgen.shop.machine import Machine
from camgen.steps import step_words
from camgen.yamlfile import read_yaml, validate

FILES = sorted((Path(__file__).parent / "data" / "bad_jobs").glob("*.yaml"))
EXPECTED = re.compile(r"^#! line (\d+): (.*?)(?: \| (.*))?$", re.MULTILINE)
JARGON = re.compile(r"pydantic|validat|literal|mapping value|scalar|extra_forbidden|type=|NoneType"
                    r"|tuple|dict\b|\bstr\b|\bint\b|\bfloat\b|Input should|Traceback|__")


@pytest.fixture(scope="module")
def machine() -> Machine:
    return validate(Machine, read_yaml(shipped_folder("postprocessors") / "plain-iso.yaml"))


def faults_of(path: Path, machine: Machine) -> tuple[Fault, ...]:
    with pytest.raises(Refused) as no:
        check_job(read_job(path, step_words()), machine)
    return no.value.faults


def test_there_are_at_least_forty_malformed_files() -> None:
    assert len(FILES) >= 40


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_malformed_file_is_answered_with_exactly_its_faults(
    path: Path, machine: Machine
) -> None:
    expected = [(int(line), message, remedy)
                for line, message, remedy in EXPECTED.findall(path.read_text("utf-8"))]
    assert expected
    faults = faults_of(path, machine)
    told = "\n".join(str(fault) for fault in faults)
    for line, message, remedy in expected:
        assert any(fault.place.line == line and message in fault.message
                   and remedy in fault.remedy for fault in faults), told
    assert len(faults) == len(expected), told


@pytest.mark.parametrize("path", sampled(FILES, 4, 1), ids=lambda path: path.stem)
def test_faults_name_file_and_column_in_words_of_the_trade(path: Path, machine: Machine) -> None:
    for fault in faults_of(path, machine):
        assert fault.place.file == str(path)
        assert fault.place.column >= 1
        own_words = re.sub(r"!!\S+", "", f"{fault.message} {fault.remedy}")
        assert not JARGON.search(own_words), own_words


def test_the_column_points_at_the_word(machine: Machine) -> None:
    path = next(path for path in FILES if path.stem == "word-misspelt")
    (fault,) = faults_of(path, machine)
    line = path.read_text("utf-8").splitlines()[fault.place.line - 1]
    assert line[fault.place.column - 1:].startswith("modul:")
    assert fault.place.path == "wheel.modul"


def run(monkeypatch: pytest.MonkeyPatch, *words: str) -> int:
    """Exit status of the command line."""
    monkeypatch.setattr("sys.argv", ["camgen", *words])
    with pytest.raises(SystemExit) as ended:
        main()
    return int(ended.value.code or 0)


@pytest.mark.parametrize("path", sampled(FILES, 8), ids=lambda path: path.stem)
def test_a_malformed_job_ends_with_status_1_and_leaves_no_file(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    monkeypatch.chdir(tmp_path)
    assert run(monkeypatch, "make", str(path), "--out", str(out)) == 1
    shown = capsys.readouterr()
    for line, message, _ in EXPECTED.findall(path.read_text("utf-8")):
        assert f"line {line}, " in shown.err
        assert message in shown.err
    assert "Traceback" not in shown.err
    assert shown.out == ""
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("content", [b"", b"\x00\x01\x02", b"\xff\xfej\x00o\x00", b"[" * 100_000,
                                     b"job: x\n" * 3, b"- job\n", b"a" * 2_000_000])
def test_a_file_that_is_no_job_at_all_ends_with_status_1(
    content: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    job = tmp_path / "job.yaml"
    job.write_bytes(content)
    assert run(monkeypatch, "check", str(job)) == 1
    assert "Traceback" not in capsys.readouterr().err


def test_a_folder_or_nothing_in_place_of_a_job_ends_with_status_1(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "wheel.yaml").write_text("job: x")
    assert run(monkeypatch, "check", str(tmp_path)) == 1
    assert "a folder, not a file" in capsys.readouterr().err
    assert run(monkeypatch, "check", str(tmp_path / "weel.yaml")) == 1
    assert "did you mean" in capsys.readouterr().err
