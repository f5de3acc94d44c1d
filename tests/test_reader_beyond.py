"""Any program is held against the machine that is to run it, also where no job stands behind it."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from click.testing import CliRunner
from demos import proved_demo

from camgen.cli import group
from camgen.commands.terminal.read_page import told_of
from camgen.reader import read_program
from camgen.reader.beyond import beyond
from camgen.reader.summary import piece_lengths
from camgen.shipped import shipped_folder
from camgen.shop.machine import Machine

ON = Machine.model_validate({
    "name": "mine", "describes": "mine", "x": {"travel": 100}, "y": {"travel": 80},
    "z": {"feed-limit": 300}, "dividing": {"kind": "driven", "feed-limit": 700},
    "spindle": {"lowest": 400, "highest": 9000}})
HEAD = "G17 G21 G40 G49 G80 G90 G94\nG54\nS1000 M3\nG0 Z5.\nG0 X0. Y0.\n"


def told(body: str, head: str = HEAD) -> list[tuple[str, int, bool]]:
    program = read_program(head + body + "\nG0 Z5.\nM5\nM30\n", ON, "any.nc")
    return [(str(found.message), found.line, found.grave) for found in beyond(program, ON)]


def test_a_program_within_the_machine_is_let_pass() -> None:
    assert told("G1 Z-1. F300.\nG1 X100. F900.\nG0 Z5.\nG0 Y80.") == []


@pytest.mark.parametrize(("body", "what", "line", "grave"), [
    ("G0 X60.\nX-41.", "X goes over 101.000 mm in all, and mine travels 100 mm there", 7, True),
    ("G1 X50. F100.\nG2 X50. Y0. I0. J41.", "Y goes over 82.000 mm in all", 7, True),
    ("G1 Z-1. F301.", "Z is fed at 301 mm/min, and mine follows 300", 6, False),
    ("G1 X4. Z2. F501.\nG1 X0. Z5.", "Z is fed at 301 mm/min, and mine follows 300 (and in 1 more "
     "line)", 6, False),
    ("G1 A90. F720.", "the head is turned at 720 degrees/min, and mine follows 700", 6, False),
    ("S200\nG1 X4. F100.", "200 rev/min, and the spindle of mine turns at 400 to 9000", 7, False),
    ("S9500\nG1 X4. F100.", "9500 rev/min", 7, False),
    ("G1 Z-1. F100.\nG0 X4.", "a rapid across at Z -1.000, lower than where the cutter", 7, False),
    ("G1 Z-1. F100.\nG1 X4.\nG0 Z4.\nX8.\nX9.", "a rapid across at Z 4.000", 9, False),
    ("G1 Z-1. F100.\nG0 X4. Z5.", "a rapid across at Z -1.000", 7, False),
])
def test_what_lies_beyond_is_told_with_its_line(
    body: str, what: str, line: int, grave: bool
) -> None:
    found = told(body)
    assert len(found) == 1, found
    assert what in found[0][0]
    assert found[0][1:] == (line, grave)


def test_what_is_not_sure_is_not_judged() -> None:
    assert told("G68 X0. Y0. R30.\nX300.\nG1 Z-1. F2000.\nG0 X4.") == []


@pytest.mark.parametrize("job", ["seconds-pinion", "third-wheel", "wheel-by-hand"])
def test_our_own_programs_lie_within_their_machines(job: str) -> None:
    proved = proved_demo(job)
    assert [found for setup in proved.setups for one in setup.read
            for found in beyond(one, proved.machine)] == []


def test_the_command_tells_it_for_any_program(tmp_path: Path) -> None:
    path = tmp_path / "any.nc"
    path.write_text("%\n" + HEAD + "G0 X300.\nM5\nM30\n%\n")
    post = str(shipped_folder("postprocessors") / "plain-iso.yaml")
    answer = CliRunner().invoke(group, ["read", str(path), "--post", post])
    assert answer.exit_code == 3
    assert "X goes over 300.000 mm in all" in answer.output


def way(body: str) -> tuple[list[tuple[int, int, float]], list[str]]:
    """Kind, further turns and length of each piece that is fed, and what is told of the text."""
    program = read_program("G17 G21 G40 G49 G80 G90 G94\nG54\nS1000 M3\n" + body, ON, "any.nc")
    motion = program.motion
    return ([(int(kind), int(turns), round(float(length), 4))
             for kind, turns, length in zip(motion.kind, motion.turns, piece_lengths(motion),
                                            strict=True) if kind in (1, 2, 3)],
            [str(found.message) for found in program.findings])


def test_an_arc_is_known_in_its_plane_where_its_height_is_not() -> None:
    arcs, told_of = way("G0 X0. Y0.\nG2 X10. Y0. I5. J0. F100.")
    assert arcs == [(2, 0, round(math.pi * 5, 4))]
    assert "an arc from a place that is not known" not in told_of
    assert any("cuts before Z has been given" in one for one in told_of)
    straight, told_of = way("G0 X0. Z0.\nG2 X10. Y0. I5. J0. F100.")
    assert [kind for kind, _, _ in straight] == [1]
    assert "an arc from a place that is not known" in told_of


@pytest.mark.parametrize(("said", "round_"), [("", 0.5), (" P1", 0.5), (" P2", 1.5), (" P7", 6.5)])
def test_p_beside_an_arc_is_so_many_times_round(said: str, round_: float) -> None:
    arcs, told_of = way(f"G0 Z5.\nG0 X0. Y0.\nG2 X10. Y0. I5. J0.{said} F100.")
    assert arcs == [(2, math.floor(round_), round(math.tau * 5 * round_, 4))]
    assert any("so many times round" in one for one in told_of) == (round_ > 1)


@pytest.mark.parametrize("said", ["P0", "P1.5", "P-2", "P100000"])
def test_turns_that_cannot_be_leave_the_time_unsure(said: str) -> None:
    program = read_program(HEAD + f"G2 X10. Y0. I5. J0. {said} F100.", ON, "any.nc")
    assert any("so many times round cannot be" in str(found.message) and found.grave
               for found in program.findings)
    assert "time" in dict(program.unsure)


def test_a_turn_of_the_head_takes_its_time_in_every_mode_of_feed() -> None:
    for body in ("G1 A90. F360.", "G93 G1 A90. F4.\nG94"):
        program = read_program(HEAD + body, ON, "any.nc")
        seconds = told_of(program, ON, ("any.nc",)).seconds - told_of(
            read_program(HEAD, ON, "any.nc"), ON, ("any.nc",)).seconds
        assert seconds == pytest.approx(15.0, abs=0.6), body
