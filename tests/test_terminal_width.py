"""Every command's usual answer in a window of 60 columns, and on consoles of few letters."""

from __future__ import annotations

import ast
import re
import shlex
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path

import pytest
from click.testing import CliRunner
from program_source import ROOT as ROOM
from program_source import files_of, nodes_of, text_of

from camgen.cli import _SPELT, COMMANDS, _spelt, group
from camgen.commands.terminal.screen import wrapped
from camgen.faults import Refused

# Each in a new workshop folder, one after the other.
ANSWERS = (
    "start shop", "check jobs/seconds-pinion.yaml",
    "make jobs/seconds-pinion.yaml --no-pictures --out out",
    "preview out/seconds-pinion-leaves.nc --page --out drawn",
    "read out/seconds-pinion-leaves.nc",
    "read out/seconds-pinion-leaves.nc --job jobs/seconds-pinion.yaml",
    "speeds --material brass --cutter 'end-mill 0.4 2 flutes reach 1.6'",
    "speeds --material steel --cutter 'hss drill 0.3'",
    "divide 42 --ratio 40 --plates '24 25 28 30 34 37 38 39 41 42 43'",
    "divide 75 --post plain-iso", "divide 127 --post hand-dividing",
    "divide 127 --post hand-dividing --nearest", "mesh 75 0.14 10",
    "correct jobs/seconds-pinion.yaml --measured root=0.8,thickness=0.15,over-pins=1.79",
    "mesh 75 0.14 10 --cutter-teeth 40", "post list", "post show small-memory",
    "post new mine --set numbers.decimals=4", "post try mine --out try", "library list",
    "library record jobs/seconds-pinion.yaml --when 2026-03-01 --made 4 --cutter leaves=fine",
    "library status", "library show jobs/seconds-pinion.yaml",
    "library compare jobs/seconds-pinion.yaml",
    "library pack jobs/seconds-pinion.yaml --to packed.zip",
    "library unpack packed.zip --to other", "words setups", "schema --out s.json",
    "guide", "guide trade-words", "materials", "materials brass", "cutters",
)


def test_no_line_of_an_answer_is_longer_than_a_window_of_sixty_columns(
        tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "60")
    asked = {shlex.split(line)[0] for line in ANSWERS}
    assert asked == set(COMMANDS)
    for line in ANSWERS:
        answer = CliRunner().invoke(group, shlex.split(line))
        refused = isinstance(answer.exception, Refused)
        assert refused or answer.exit_code in (0, 3), (line, answer.output, answer.exception)
        said = answer.output + (
            "\n".join("\n".join(wrapped(text, 60)) for text in str(answer.exception).splitlines())
            if refused else "")
        assert said.strip(), line
        # The name of a file is one word, to be copied whole.
        long = [text for text in said.splitlines() if len(text) > 60 and " " in text.strip()]
        assert long == [], line
        if line.startswith("start"):
            monkeypatch.chdir(tmp_path / "shop")


def test_lines_stay_whole_where_there_is_no_window(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("COLUMNS", raising=False)
    answer = CliRunner().invoke(group, ["mesh", "75", "0.14", "10"]).output
    assert max(map(len, answer.splitlines())) > 100


@pytest.mark.parametrize("width", [20, 33, 60])
def test_a_wrapped_line_keeps_its_words_and_its_indent(width: int) -> None:
    line = "    note: bore, cross out: 30 m/min is far below the usual 90 m/min; a burr may come"
    lines = wrapped(line, width)
    assert max(map(len, lines)) <= width
    assert " ".join(" ".join(lines).split()) == line.strip()
    assert all(one.startswith("      ") for one in lines[1:])


@lru_cache(maxsize=1)
def signs_shown() -> dict[str, str]:
    """Every sign beyond the plainest in the program's texts, and a file it stands in."""
    return {sign: name for name, text in shown_texts()
            for sign in re.findall(r"[^\x00-\x7f]", text) if sign.isprintable()}


def shown_texts() -> Iterator[tuple[str, str]]:
    """Every text in the program's code that is not its own documentation."""
    for file in files_of():
        if file == ROOM / "yamlfile" / "text.py":
            continue  # its signs are bounds of what a file may hold
        text = text_of(file)
        if all(sign in _SPELT or sign.isascii() for sign in text):
            continue
        documented = {
            id(node.body[0].value) for node in nodes_of(
                text, ast.Module, ast.ClassDef, ast.FunctionDef)
            if node.body and isinstance(node.body[0], ast.Expr)}
        for node in nodes_of(text, ast.Constant):
            if isinstance(node.value, str) and id(node) not in documented:
                yield file.name, node.value
    for file in sorted((ROOM / "shop" / "data").glob("*.yaml")):
        yield file.name, file.read_text(encoding="utf-8")


@pytest.mark.parametrize("encoding", ["cp1252", "cp437", "cp850", "ascii"])
def test_every_sign_of_an_answer_can_be_shown_or_spelt_out(encoding: str) -> None:
    # Signs that only stand on pictures and on the sheet, which have letters of their own.
    drawn = {"…", "▶", "◂", "▸"}
    lost = {}
    for sign, name in signs_shown().items():
        try:
            sign.encode(encoding)
        except UnicodeEncodeError as why:
            if _spelt(why)[0] == "?" and sign not in drawn:
                lost[sign] = name
    # Letters of German and French are not spoken at the terminal.
    assert {sign: name for sign, name in lost.items() if not sign.isalpha() or sign in "µμ"} == {}
