"""README and guides are followed as a new user would: files are saved, commands run."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner

from camgen.cli import group
from camgen.faults import Refused
from camgen.guides import find_guide, guide_names
from camgen.shipped import shipped_folder
from camgen.words import languages

README = (shipped_folder("jobs").parent / "README.md").read_text(encoding="utf-8")
BLOCK = re.compile(r"<!-- (?P<mark>[^>]*?) -->\n```\w+\n(?P<text>.*?)```", re.DOTALL)
GUIDES = {name: find_guide(name) for name in guide_names()}
TEXTS = {"README": README} | {name: one.text for name, one in GUIDES.items()}


def _blocks(kind: str, text: str = README) -> list[tuple[str, str]]:
    return [(found["mark"], found["text"]) for found in BLOCK.finditer(text)
            if found["mark"].split(",")[0].split()[0] == kind]


@pytest.mark.parametrize("name", TEXTS)
def test_every_command_that_is_shown_does_what_is_shown(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    files, blocks = _blocks("file", TEXTS[name]), _blocks("run", TEXTS[name])
    assert blocks or name == "trade-words"
    for mark, text in files:
        Path(mark.split()[1]).write_text(text, encoding="utf-8")
    # All leave the same kinds of file; pictures are drawn once.
    drawn = name not in ("README", "first-wheel")
    for mark, text in blocks:
        wanted = int(mark.rsplit("status", 1)[1]) if "status" in mark else 0
        for command, shown in re.findall(r"^\$ camgen (.*)\n((?:(?!\$ ).*\n)*)", text, re.M):
            words = shlex.split(command)
            if words[0] == "make":
                words += ["--no-pictures"] if drawn else []
                drawn = True
            done = CliRunner().invoke(group, words)
            refused = isinstance(done.exception, Refused)
            status = 1 if refused else done.exit_code
            said = done.output + (str(done.exception) if refused else "")
            assert status == wanted, f"camgen {command}: {said}"
            for line in shown.splitlines():
                # Figures that grow with the program are not told.
                form = ".*".join(map(re.escape, line.split("…")))
                assert re.search(form, said), f"camgen {command} does not say {line!r}: {said}"


def test_the_readme_is_read_in_five_minutes() -> None:
    assert len(README.split()) <= 1200


@pytest.mark.parametrize("language", [one for one in languages() if one != "en"])
@pytest.mark.parametrize("name", GUIDES)
def test_a_guide_has_the_same_commands_files_and_headings_in_every_language(
    name: str, language: str
) -> None:
    said = find_guide(name, language)
    assert said.title != GUIDES[name].title

    def bare(text: str) -> list[str]:
        return [re.sub(r"\s*#.*", "", line) for line in text.splitlines()]

    assert {file: bare(text) for file, text in said.files.items()} == {
        file: bare(text) for file, text in GUIDES[name].files.items()}
    for form in (r"^(?:\$ camgen .*)$", r"^(#+) ", r"^<!-- .*$"):
        assert re.findall(form, said.text, re.M) == re.findall(form, GUIDES[name].text, re.M)
    # What stands between ticks is typed, and is the same in all languages.
    assert sorted(re.findall(r"`([^`\n]+)`", said.text)) == sorted(
        re.findall(r"`([^`\n]+)`", GUIDES[name].text))


def test_guides_name_only_guides_and_commands_that_there_are() -> None:
    from camgen.cli import COMMANDS

    for text in TEXTS.values():
        for found in re.findall(r"camgen guide ([a-z][\w-]*)", text):
            assert found in GUIDES
        for found in re.findall(r"`camgen ([a-z]+)", text):
            assert found in COMMANDS


@pytest.mark.parametrize("name", GUIDES)
@pytest.mark.parametrize("width", [60, 88])
def test_a_guide_is_shown_whole_within_the_width(name: str, width: int) -> None:
    shown = GUIDES[name].shown(width)
    assert "<!--" not in shown
    assert "```" not in shown
    said = re.sub(r"<!--.*?-->|```\w*|[`'#\s]", "", GUIDES[name].text)
    assert re.sub(r"['#\s]", "", shown).lower() == said.lower()
    for line in shown.splitlines():
        assert len(line) <= width or line.startswith("    ") or " '" in line or "'" in line


def test_the_guides_files_are_written_and_nothing_is_overwritten(tmp_path: Path) -> None:
    words = ["guide", "many-at-once", "--files", str(tmp_path)]
    assert CliRunner().invoke(group, words).exit_code == 0
    assert {one.name for one in tmp_path.iterdir()} == set(GUIDES["many-at-once"].files)
    again = CliRunner().invoke(group, words)
    assert isinstance(again.exception, Refused)
    assert len(again.exception.faults) == 3
    none = CliRunner().invoke(group, ["guide", "trade-words", "--files", str(tmp_path)])
    assert isinstance(none.exception, Refused)


def test_guides_are_listed_and_a_name_mistyped_is_answered() -> None:
    said = CliRunner().invoke(group, ["guide"]).output
    assert all(name in said for name in GUIDES)
    wrong = CliRunner().invoke(group, ["guide", "first-weel"])
    assert "first-wheel" in str(wrong.exception)


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
