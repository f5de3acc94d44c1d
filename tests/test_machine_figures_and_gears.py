"""Words of a machine file found wanting when it is read, and a spindle that stands before gears."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path

import pytest
from click.testing import CliRunner
from odd_machines import machine_with, written

from camgen.cli import group
from camgen.faults import Refused
from camgen.messages import Message
from camgen.moves import Feed, Rapid, Section, SetupMoves
from camgen.post.machine_file.draft import draft_text, word_values
from camgen.post.writer import write_programs
from camgen.shop.machines import find_machine

ALL = "numbers: {point: never, zeros: all, %s}\n"
GEARS = ("spindle: {stop-seconds: 4, steps: [{speed: 900, word: M41}, {speed: 2500, word: M42}, "
         "{speed: 5000, word: M43}, {speed: 10000, word: M44}, {speed: 20000, word: M45}]}\n")


@pytest.mark.parametrize(("words", "named"), [
    (ALL % "figures: 2", "figures: 3"), (ALL % "figures: 1", "figures: 3"),
    (ALL % "feed-figures: 2", "feed-figures: 4"), (ALL % "rotary-figures: 2", "rotary-figures: 3"),
    ("numbers: {point: never, zeros: no-trailing, figures: 2}\n", "figures: 3"),
    ("x: {counts: twice, travel: 500}\n" + ALL % "figures: 3", "figures: 4"),
])
def test_too_few_figures_are_found_when_the_file_is_read(words: str, named: str) -> None:
    with pytest.raises(Refused, match=named) as refused:
        machine_with("plain-iso", words)
    assert all("numbers" in str(fault.place) or fault.place for fault in refused.value.faults)


@pytest.mark.parametrize("words", [
    ALL % "figures: 4", ALL % "figures: 3, rotary-figures: 5",
    "program: {units: inch}\n" + ALL % "decimals: 4, figures: 1, rotary-figures: 4",
    "numbers: {point: never, zeros: no-trailing, figures: 3, rotary-figures: 4}\n"])
def test_lengths_and_angles_have_figures_of_their_own(words: str) -> None:
    made = written("seconds-pinion", "plain-iso", words)
    assert made.failed() == {}
    numbers = made.machine.numbers
    turns = [word for line in made.lines() for word in re.findall(r"\bA-?(\d+)\b", line)]
    assert turns
    if numbers.zeros == "all":
        assert {len(turn) for turn in turns} == {numbers.angle_figures + numbers.rotary_decimals}


def test_a_gear_is_set_when_the_spindle_has_run_down() -> None:
    made = written("balance-cock", "plain-iso", GEARS, sections=(0, 2, 3), planned_with=GEARS)
    assert made.failed() == {}
    gears = [(before, line) for before, line in pairwise(made.lines()) if line.startswith("M4")]
    assert len(gears) > 1
    assert all(before == "G4 P4." for before, _ in gears)
    said = "and it runs down for 4 s"
    for less in ("G4 P3.9", "", "/G4 P4."):
        changed = re.sub(r"G4 P4\.\r?\n(?=M4)", f"{less}\n" if less else "", made.texts[0],
                         count=2)
        found = made.read(lambda _, text=changed: text)[0].findings
        assert [one for one in found if one.grave and said in str(one)] or less == ""
        assert made.failed(lambda _, text=changed: text)
    # A file that says nothing of it waits for nothing, as before.
    plain = written("balance-cock", "plain-iso", GEARS.replace("stop-seconds: 4, ", ""),
                    sections=(0, 2, 3), planned_with=GEARS)
    assert not any(line == "G4 P4." for line in plain.lines())


@pytest.mark.parametrize("part", ["dividing", "second-rotary"])
def test_what_a_machine_has_not_may_be_said_to_be_none(part: str) -> None:
    text = draft_text("mill", "a mill", word_values([f"{part}=null"]), find_machine("plain-iso"))
    assert f"{part}: null" in text
    assert f"\n{part}:" not in text
    with pytest.raises(Refused, match="is not a word"):
        draft_text("mill", "a mill", word_values(["arcs=null"]))


@pytest.mark.parametrize("keys", ["\n" * 40, "inch\n" + "\n" * 40, ""])
def test_empty_lines_take_what_is_usual_and_an_end_is_an_end(
    keys: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    found = CliRunner().invoke(group, ["post", "new", "mill", "--ask"], input=keys)
    file = tmp_path / "postprocessors" / "mill.yaml"
    assert file.exists() == bool(keys)
    assert (found.exit_code == 0) == bool(keys)


def test_comments_that_are_not_written_are_not_to_be_shortened() -> None:
    text = Message("zigzag")
    cuts = tuple(Feed(300.0, float(n), float(n % 2)) for n in range(1, 90))
    moves = SetupMoves("zigzag", (Section(text, 0, "m", 1, text, 9000.0, (
        Rapid(z=5.0), Rapid(x=0.0, y=0.0), Feed(100.0, z=-0.1), *cuts, Rapid(z=5.0))),))
    for style, advised in (("none", False), ("semicolon", True)):
        machine = machine_with(
            "plain-iso", f"program: {{largest: 800}}\ncomments: {{style: {style}}}\n")
        with pytest.raises(Refused, match="largest more room") as refused:
            write_programs(moves, machine, stem="zigzag")
        assert ("shorten comments" in str(refused.value)) == advised
