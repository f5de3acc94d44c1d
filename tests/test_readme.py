"""The README is followed as a new user would: its files are saved, its commands run."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner

from camgen.cli import group
from camgen.faults import Refused
from camgen.shipped import shipped_folder

README = (shipped_folder("jobs").parent / "README.md").read_text(encoding="utf-8")
BLOCK = re.compile(r"<!-- (?P<mark>[^>]*?) -->\n```\w+\n(?P<text>.*?)```", re.DOTALL)


def _blocks(kind: str) -> list[tuple[str, str]]:
    return [(found["mark"], found["text"]) for found in BLOCK.finditer(README)
            if found["mark"].split(",")[0].split()[0] == kind]


def test_every_command_of_the_readme_does_what_is_shown(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    for mark, text in _blocks("file"):
        Path(mark.split()[1]).write_text(text, encoding="utf-8")
    blocks = _blocks("run")
    assert len(blocks) >= 5
    drawn = False
    for mark, text in blocks:
        wanted = int(mark.rsplit("status", 1)[1]) if "status" in mark else 0
        for command, shown in re.findall(r"^\$ camgen (.*)\n((?:(?!\$ ).*\n)*)", text, re.M):
            words = shlex.split(command)
            if words[0] == "make":
                # All leave the same kinds of file; pictures are drawn for the first.
                words += ["--no-pictures"] if drawn else []
                drawn = True
            done = CliRunner().invoke(group, words)
            refused = isinstance(done.exception, Refused)
            status = 1 if refused else done.exit_code
            said = done.output + (str(done.exception) if refused else "")
            assert status == wanted, f"camgen {command}: {said}"
            for line in shown.splitlines():
                # Figures that grow with the program are not told in the README.
                form = ".*".join(map(re.escape, line.split("…")))
                assert re.search(form, said), f"camgen {command} does not say {line!r}: {said}"


def test_the_two_commands_are_there_for_both_kinds_of_machine() -> None:
    for kind, word in (("make", "camgen make jobs/third-wheel.yaml"), ("tests", "pytest")):
        ((_, text),) = _blocks(kind)
        assert word in text
        assert text.count("\n") == 1
    assert ".venv\\Scripts\\camgen make jobs\\third-wheel.yaml" in README


def test_every_command_of_the_program_is_told_of_in_the_readme() -> None:
    from camgen.cli import COMMANDS

    missing = [name for name in COMMANDS if f"camgen {name}" not in README]
    assert missing == []


def test_pictures_of_the_readme_are_there() -> None:
    pictures = re.findall(r"!\[[^\]]+\]\(([^)]+)\)", README)
    assert pictures
    for picture in pictures:
        assert (shipped_folder("jobs").parent / picture).is_file()


def test_a_cutter_for_forty_teeth_is_refused_as_the_readme_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    text = dict(_blocks("file"))["file my-wheel.yaml"]
    assert "`made-for` 40 teeth and the answer is no" in README
    changed = text.replace("teeth: 75, mate: 10}}", "teeth: 40, mate: 10}}")
    assert changed != text
    Path("my-wheel.yaml").write_text(changed, encoding="utf-8")
    done = CliRunner().invoke(group, ["check", "my-wheel.yaml"])
    assert done.exit_code == 3
    assert "µm" in done.output
