"""Ctrl-C at any moment: a sentence, a status, and no file half written."""

from __future__ import annotations

import signal
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from camgen import cli
from camgen.__main__ import begin
from camgen.make import chain


def _stopped(*_: object, **__: object) -> None:
    raise KeyboardInterrupt


def _stopped_in_a_library(*_: object, **__: object) -> None:
    try:
        raise KeyboardInterrupt
    except KeyboardInterrupt:
        raise ImportError("half a library") from None


@pytest.mark.parametrize("stop", [_stopped, _stopped_in_a_library])
def test_a_stop_is_told_in_a_sentence(
    stop: object, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
) -> None:
    monkeypatch.setattr("camgen.commands.make.proved_job", stop)
    monkeypatch.setattr(sys, "argv", ["camgen", "make", "jobs/x.yaml", "--out", str(tmp_path)])
    with pytest.raises(SystemExit) as ended:
        begin()
    assert ended.value.code == 130
    told = capsys.readouterr()
    assert "Stopped." in told.err
    assert "Traceback" not in told.err + told.out
    assert list(tmp_path.iterdir()) == []


def test_a_stop_while_the_program_loads_is_told_too(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(cli, "main", _stopped)
    monkeypatch.setattr(cli, "tell_stopped", _stopped)
    with pytest.raises(SystemExit) as ended:
        begin()
    assert ended.value.code == 130
    assert "camgen: stopped" in capsys.readouterr().err


@pytest.mark.long
@pytest.mark.parametrize("moment", range(1, 40))
def test_no_moment_of_a_run_answers_a_stop_with_a_traceback(moment: int, tmp_path: Path) -> None:
    job = Path(chain.__file__).parents[2] / "jobs" / "train-plate.yaml"
    run = subprocess.Popen(
        [sys.executable, "-c",
         "print('up', flush=True)\nfrom camgen.__main__ import begin\nbegin()",
         "make", str(job), "--out", str(tmp_path / "out")],
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    assert run.stdout is not None
    run.stdout.readline()
    try:
        run.wait(0.04 * moment)
    except subprocess.TimeoutExpired:
        run.send_signal(signal.SIGINT)
    told = run.communicate()[0]
    assert "Traceback" not in told
    assert "itself is at fault" not in told
    assert run.returncode in (0, 130)


def test_wrong_use_ends_as_before() -> None:
    assert CliRunner().invoke(cli.group, ["bla"]).exit_code == 2
