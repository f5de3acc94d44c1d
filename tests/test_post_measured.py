"""Readings from a test piece come to words of the machine file, and a first program is harmless."""

from __future__ import annotations

import math
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result
from simulated_mill import Mill

from camgen.cli import group
from camgen.commands.trying.slow_start import not_slow
from camgen.commands.trying.small_jobs import measuring_plate, measuring_sides
from camgen.faults import Refused
from camgen.post.machine_file.explain import differences
from camgen.post.machine_file.in_file import with_words
from camgen.post.machine_file.sample import changed_by, sample_of, unusual
from camgen.post.trying.first import first_program
from camgen.reader import read_program
from camgen.shop.machine import Machine
from camgen.shop.machines import find_machine, machine_files, read_machine
from camgen.shop.readings import Readings, measured_words

SCALES, SQUARENESS, LASH = (1.0004, 0.9993, 1.0), -0.06, 0.03


def middles(text: str, lash: float = LASH) -> np.ndarray:
    """(4, 2) where a crooked mill drills the plate's holes: A B C D."""
    mill = Mill(lash, SCALES, SQUARENESS).run(text)
    deep = [(one.x, one.y) for one in mill.strokes if one.z < -1.0]
    at = np.array(deep)
    return np.array([at[np.argmin(np.hypot(*(at - corner).T))] for corner in
                     ((-40, -27.5), (40, -27.5), (40, 27.5), (-40, 27.5))])


def test_the_plate_gives_back_what_the_mill_is(tmp_path: Path) -> None:
    """Cut by a crooked mill with lost motion nobody knows of yet, and measured."""
    machine = find_machine("plain-iso")
    assert measuring_sides(machine) == (80.0, 55.0)
    plate = measuring_plate(machine, str(machine_files()["plain-iso"]))
    assert not plate.faults
    assert not plate.failed
    a, b, c, d = middles("".join(one.text.decode() for one in plate.programs))

    def far(one: np.ndarray, other: np.ndarray) -> float:
        return float(round(math.dist(one, other), 4))

    read = Readings.model_validate({
        "along-x": (far(a, b), far(d, c)), "along-y": (far(a, d), far(b, c)),
        "diagonals": (far(a, c), far(b, d)), "lash": {"x": LASH, "y": LASH},
    })
    words = measured_words(machine, read, (80.0, 55.0))
    assert words["x.scale"] == pytest.approx(SCALES[0], abs=2e-5)
    assert words["y.scale"] == pytest.approx(SCALES[1], abs=2e-5)
    assert words["squareness"] == pytest.approx(SQUARENESS, abs=0.001)
    assert words["x.lash"] == words["y.lash"] == LASH
    # Once more with these words in the file: nothing is left to be put right.
    text, put_right = with_words(machine_files()["plain-iso"].read_text(), "plain-iso", words)
    path = tmp_path / "plain-iso.yaml"
    path.write_text(text)
    assert read_machine(path) == put_right
    again = measuring_plate(put_right, str(path))
    at = middles("".join(one.text.decode() for one in again.programs))
    assert at == pytest.approx(np.array([(-40, -27.5), (40, -27.5), (40, 27.5), (-40, 27.5)]),
                               abs=0.003)


@pytest.mark.parametrize(("read", "said"), [
    ({}, "no reading"),
    ({"diagonals": (96.0, 97.3)}, "diagonals are"),
    ({"head": ((0.0, 0.0), (90.0, 5.0))}, ""),
])
def test_readings_that_cannot_be_are_refused(read: dict[str, Any], said: str) -> None:
    machine = find_machine("plain-iso")
    if not said:
        assert measured_words(machine, Readings.model_validate(read), (80.0, 55.0)) == {
            "dividing.errors": ((0.0, 0.0), (90.0, 5.0))}
        read, said = read, "no driven head"
        machine = find_machine("hand-dividing")
    with pytest.raises(Refused) as no:
        measured_words(machine, Readings.model_validate(read), (80.0, 55.0))
    assert said in no.value.faults[0].message


WAYS = [
    "x: {travel: 90, rapid: 900}\ny:\n  travel: 80  # short\n",
    "y:\n    scale: 1.001\n    travel: 80\nx: {scale: 1.001, travel: 90} # old\n",
    "# x: {travel: 1}\nspindle:\n  lowest: 300\n\n  # fast\n  highest: 9000\n",
    "dividing:\n  kind: driven\n  errors: [[0, 1], [90, 2]]\nx: {}\n",
    "dividing: {kind: driven, errors: [[0, 1], [90, 2]], take-up: 2}\nx: {backlash: 0.05}\n",
]


@pytest.mark.parametrize("text", WAYS)
def test_words_go_into_a_file_however_it_is_written(text: str) -> None:
    """Every other line stays as it was, and the file then says what was meant."""
    head = "name: mill\ndescribes: a mill\n"
    words = {"x.scale": 1.0004, "y.lash": 0.02, "x.lash": 0.01, "squareness": 0.03,
             "spindle.run-out": 0.004}
    if "dividing" in text:
        words["dividing.errors"] = ((0.0, 3.0), (180.0, -4.0))  # type: ignore[assignment]
    new, machine = with_words(head + text, "mill.yaml", words)
    assert (machine.x.scale, machine.y.lost, machine.x.lost, machine.squareness) == (
        1.0004, 0.02, 0.01, 0.03)
    assert machine.spindle.run_out == 0.004
    lost = [line for line in text.splitlines() if line.startswith("#") or line.endswith("short")]
    assert set(lost) <= set(new.splitlines())
    assert with_words(new, "mill.yaml", words)[0] == new


def test_a_word_that_does_not_fit_is_refused_and_nothing_is_lost(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "postprocessors").mkdir()
    path = tmp_path / "postprocessors" / "mill.yaml"
    path.write_text("name: mill\ndescribes: a mill\nx: {travel: 200}\ny: {travel: 120}\n")
    readings = tmp_path / "readings.yaml"
    monkeypatch.chdir(tmp_path)

    def measured(name: str, *more: str) -> Result:
        return CliRunner().invoke(group, ["post", "measured", name, *more])

    said = ("--readings", str(readings))
    readings.write_text("along-x: [83.2, 83.2]\n")
    assert "set up wrongly" in str(measured("mill", *said, "--write").exception)
    assert "scale" not in path.read_text()
    form = measured("mill")
    assert "along-x: [80, 80]" in form.output
    # A form that comes back as it was sent measured nothing.
    readings.write_text(form.output)
    back = measured("mill", *said, "--write")
    assert back.exit_code != 0
    assert "holds nothing" in str(back.exception)
    readings.write_text(form.output.replace("# along-x", "along-x").replace("# along-y", "along-y")
                        .replace("# diagonals", "diagonals"))
    assert "squareness: 0" in measured("mill", *said).output
    assert "scale" not in path.read_text()
    readings.write_text("along-x: [80.032, 80.032]\nlash: {y: 0.02}\n")
    assert measured("mill", *said, "--write").exit_code == 0
    assert path.read_text().splitlines()[2:] == [
        "x: {travel: 200, scale: 1.0004}", "y: {travel: 120, lash: 0.02}"]
    assert "--like plain-iso" in str(measured("plain-iso", *said).exception)


@pytest.mark.parametrize("name", sorted(machine_files()))
def test_the_first_program_is_a_millimetre_slowly(name: str) -> None:
    """On every shipped machine file: straight, slow, no rapid, nothing switched on."""
    machine = find_machine(name)
    program = first_program(machine, "try")
    read = read_program(program.text, machine, program.file)
    assert not_slow(read) == []
    lines = program.text.decode().splitlines()
    assert not [line for line in lines if not line.startswith(("(", ";", "%", "O"))
                and any(word in line.replace("G02", "G2") for word in
                        ("G0 ", "G00", "M3", "M03", "M4", "M7", "M8", "G28", "G53"))
                and "M30" not in line]


@pytest.mark.parametrize("word", [
    {}, {"program": {"units": "inch"}, "numbers": {"decimals": 4, "feed-decimals": 2}},
    {"x": {"scale": 1.004}, "squareness": 0.4}, {"numbers": {"point": "never"}},
])
@pytest.mark.parametrize(("old", "new"), [
    (rb"G0?1 ", b"G0 "), (rb"F", b"M3 S500\nF"), (rb"\nX[0-9.]+", b"\nX500."),
    (rb"F[0-9.]+", b"F900."),
])
def test_one_that_does_more_is_found(word: dict[str, Any], old: bytes, new: bytes) -> None:
    """The unharmed one passes; a rapid, a spindle, a far place or a fast feed is told."""
    machine = Machine.model_validate({"name": "m", "describes": "m"} | word)
    program = first_program(machine, "try")
    assert not_slow(read_program(program.text, machine)) == []
    spoilt = re.sub(old, new, program.text.replace(b"\r\n", b"\n"))
    assert not_slow(read_program(spoilt, machine))


@pytest.mark.parametrize("name", sorted(machine_files()))
def test_each_word_is_shown_by_what_it_changes(name: str) -> None:
    """Ten lines; what a word's plain value would make of them is really what it makes."""
    machine = find_machine(name)
    assert len(sample_of(machine)) == 10
    for one in differences(machine):
        for lines in changed_by(machine, one.path, one.was):
            assert lines.before != lines.after
    assert changed_by(machine, "numbers.decimals", machine.numbers.decimals) == ()


def test_words_change_the_lines_that_they_are_for() -> None:
    def changed(path: str, word: dict[str, Any]) -> list[tuple[str, str]]:
        machine = Machine.model_validate({"name": "m", "describes": "m"} | word)
        [one] = [one for one in differences(machine) if one.path == path]
        return [(lines.before, lines.after) for lines in changed_by(machine, path, one.was)]

    assert ("M5", "M05") in changed("blocks.two-figures", {"blocks": {"two-figures": True}})
    assert changed("arcs.style", {"arcs": {"style": "radius"}}) == [
        ("G3 X0. Y2.5 I-2.5 J0.", "G3 X0. Y2.5 R2.5")]
    assert changed("dwell.unit", {"dwell": {"unit": "ms"}})[0] == ("G4 P3.", "G4 P3000")
    assert changed("insert.program-end", {"insert": {"program-end": ["G0 A0."]}}) == [
        ("", "G0 A0.")]


@pytest.mark.parametrize(("word", "said"), [
    ({"x": {"sense": "reversed"}}, "counts against"), ({"y": {"letter": "V"}}, "is called V"),
    ({"z": {"travel": 12}}, "travels 12"), ({"x": {"feed-limit": 5000}}, "feeds faster"),
    ({"x": {"rapid": 20000}}, "goes at 20000"), ({"x": {"increment": 0.01}}, "steps 0.01"),
    ({"y": {"lash": 0.03}}, "loses 0.03"), ({"y": {"scale": 0.998}}, "0.2 mm off in 100"),
    ({"squareness": 0.2}, "0.2 degrees"), ({"spindle": {"highest": 2000}}, "slow for"),
    ({"spindle": {"run-out": 0.02}}, "run-out of 0.02"),
    ({"dividing": {"kind": "driven", "take-up": 0}}, "takes nothing up"),
    ({"blocks-per-second": 20}, "stutter"), ({"numbers": {"point": "never"}}, "without a point"),
])
def test_what_is_unusual_is_named(word: dict[str, Any], said: str) -> None:
    plain = {"name": "m", "describes": "m", "retract": {"way": "machine"}}
    assert unusual(Machine.model_validate(plain)) == ()
    [told] = unusual(Machine.model_validate(plain | word))
    assert said in told
