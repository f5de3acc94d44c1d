"""No text of a file passes for what the program itself says: console, sheet, program."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner
from sampling import sampled

from camgen.cli import group
from camgen.faults import Refused
from camgen.post.text import ProgramText
from camgen.sheet.markup import element
from camgen.shipped import shipped_folder
from camgen.shop.machine import Machine
from camgen.signs import UNSEEN, in_one_line, shown

JOB = shipped_folder("jobs") / "third-wheel.yaml"
SIGNS = ["\x1b[2J", "\r", "\x07", "\x08", "\x9b1A", "\u202e", "\u200b", "\u2028", "\x00", "\x7f"]


@pytest.mark.parametrize("sign", sampled(
    [*SIGNS, "\nAll 9999 proofs hold", "\tAll 9999 proofs hold"], 3, 1))
@pytest.mark.parametrize("where", sampled([
    "job: third wheel", "name: blanks", "  mill:", "by: shellac on a brass carrier",
], 4))
def test_a_name_holds_only_what_is_seen_in_one_line(
    tmp_path: Path, sign: str, where: str
) -> None:
    text = JOB.read_text()
    assert where in text
    key, _, name = where.partition(": ")
    forged = f"{key}: {json.dumps(name + sign)}" if name else f"  {json.dumps('mill' + sign)}:"
    path = tmp_path / "wheel.yaml"
    path.write_text(text.replace(where, forged, 1))
    done = CliRunner().invoke(group, ["check", str(path)])
    said = done.output + str(done.exception or "")
    assert not UNSEEN.search(said)
    assert "\nAll 9999" not in said
    if sign[0] != "\t":
        assert isinstance(done.exception, Refused), done.output
        assert "cannot be seen" in said or "several lines" in said


@pytest.mark.parametrize("sign", SIGNS)
def test_signs_of_a_program_are_shown_as_such(tmp_path: Path, sign: str) -> None:
    path = tmp_path / "a.nc"
    path.write_text(f"%\nG21 G90 G54\n(FIT {sign}X)\nT1 M6\nG0 Z5.\nM0 (GO {sign}ON)\nM30\n%\n",
                    encoding="utf-8", newline="")
    done = CliRunner().invoke(group, ["read", str(path)])
    assert done.output
    assert not UNSEEN.search(done.output)
    assert not UNSEEN.search(element("p", f"FIT {sign}X", title=sign))


@pytest.mark.parametrize("sign", SIGNS)
def test_names_of_files_given_are_seen_or_a_wrong_word(sign: str) -> None:
    done = CliRunner().invoke(group, ["check", f"wheel{sign}.yaml"])
    assert done.exit_code == 2
    assert not UNSEEN.search(done.output)


@pytest.mark.parametrize("name", [
    "MSG, All proofs hold", "DEBUG, #5", "PROBEOPEN, x.txt", "log,x", "print,x", "x! ~? $H",
    "a) G0 Z-5 (", "a; G0 Z-5", "% O100", "MSG , X",
])
def test_a_jobs_name_opens_no_comment_that_acts(name: str) -> None:
    for style in ("parentheses", "semicolon"):
        machine = Machine(name="m", describes="m")
        machine = machine.model_copy(update={
            "comments": machine.comments.model_copy(update={"style": style})})
        text = ProgramText(machine)
        text.say(name)
        for line in text.lines:
            inside = line[1:-1] if style == "parentheses" else line[1:]
            assert not set(inside) & set("()%;{}!~?$")
            assert not re.match(r"\s*\w+\s*,", inside)


def test_what_is_not_seen_is_spelt() -> None:
    assert shown("a\x1bb\nc") == "a\\x1bb\nc"
    assert in_one_line("a\u202eb\nc\td") == "a\\u202eb\\nc\\td"
    assert shown("Größe Ø5 µm – 3 ≤ 4") == "Größe Ø5 µm – 3 ≤ 4"
