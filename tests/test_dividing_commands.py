"""``camgen divide`` and ``camgen mesh`` from the command line."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from camgen.cli import group
from camgen.faults import Refused

PLATES = "24 25 28 30 34 37 38 39 41 42 43, 46 47 49 51 53 54 57 58 59 62 66"


def run(*words: str) -> Result:
    return CliRunner().invoke(group, list(words))


def test_divide_says_the_errors_in_micrometres_on_the_wheel() -> None:
    answer = run("divide", "77", "--pitch-diameter", "10.5")
    assert answer.exit_code == 0
    assert "closing pitch" in answer.output
    assert "µm on Ø10.5 mm" in answer.output
    assert len(answer.output.splitlines()) < 40


def test_divide_by_hand_lists_every_setting() -> None:
    answer = run("divide", "6", "--plates", PLATES)
    for text in ("16 holes on the 24 circle", "26 holes on the 39 circle",
                 "44 holes on the 66 circle"):
        assert f"6 turns and {text}" in answer.output
    # The pin's own hole is not counted (practice): 16 holes on are 17 between the arms.
    assert "sector arms take in 17 holes" in answer.output


def test_divide_goes_to_places_that_are_not_equal() -> None:
    """One turn of a 40:1 crank is 9° (OD1644): 30° are 3 turns and a third, 70° more 7 and 7/9."""
    answer = run("divide", "--at", "100 0, 30", "--plates", "15 18 20, 27")
    assert "circles with a hole at every one of these places: 18, 27" in answer.output
    assert "30 degrees: 3 turns and 6 holes on the 18 circle, to hole 6" in answer.output
    assert "100 degrees: 7 turns and 14 holes on the 18 circle, to hole 2" in answer.output
    with pytest.raises(Refused) as no:
        group.main(["divide", "--at", "0 31.3", "--plates", "15 18"], standalone_mode=False)
    assert "beside a hole" in str(no.value.faults[0].remedy)
    assert json.loads(run("divide", "--at", "0 72.5", "--json").output)["angles"] == [0.0, 72.5]
    for wrong in ("370", "here", ""):
        assert run("divide", "--at", wrong).exit_code == 2


def test_divide_by_hand_says_how_many_holes_make_a_whole_turn() -> None:
    answer = run("divide", "6", "--plates", PLATES).output
    # The circle that the line before it speaks of: its own holes are one turn of the crank.
    circle = answer.split("On the ")[1].split()[0]
    assert f"one whole turn = {circle} holes on that circle" in answer
    whole_turns = run("divide", "8", "--plates", PLATES).output
    assert "one whole turn" not in whole_turns  # 5 turns each: no hole is counted


def test_divide_refuses_with_alternatives_and_gives_the_nearest_when_asked() -> None:
    refused = run("divide", "127", "--plates", PLATES)
    assert isinstance(refused.exception, Refused)
    assert "125" in str(refused.exception)
    nearest = run("divide", "127", "--plates", PLATES, "--nearest")
    assert nearest.exit_code == 0
    assert "no exact setting" in nearest.output


def test_divide_all_shows_every_space() -> None:
    assert "space 75" in run("divide", "75").output
    whole = run("divide", "75", "--all").output
    assert "   75   355.200" in whole


def test_divide_for_a_program() -> None:
    answer = json.loads(run("divide", "75", "--ratio", "72", "--pitch-diameter", "10", "--json")
                        .output)
    assert answer["count"] == len(answer["angles"]) == 75
    assert answer["angles"][10] == 48.0
    assert answer["closing_um"] >= 0


def test_divide_by_an_angle() -> None:
    answer = run("divide", "--degrees", "0.9", "--plates", "20 23")
    assert "2 holes on the 20 circle, exact" in answer.output
    as_json = json.loads(run("divide", "--degrees", "0.9", "--plates", "20", "--json").output)
    assert as_json["settings"][0]["holes"] == 2


@pytest.mark.parametrize(
    "words",
    [("divide",), ("divide", "six"), ("divide", "6", "--plates", "a b"),
     ("divide", "6", "--plates", ","), ("divide", "6", "--plates", "24 1"),
     ("divide", "--degrees", "5"), ("divide", "6", "--ratio", "0"),
     ("mesh", "75", "0.14"), ("mesh", "75", "0", "10"),
     ("mesh", "75", "0.14", "10", "--form", "x"), ("mesh", "75", "nan", "10"),
     ("mesh", "75", "0.14", "10", "--deeper", "inf"), ("divide", "6", "--ratio", "nan"),
     ("divide", "6", "--pitch-diameter", "inf"), ("divide", "6", "--plates", "9999999999")],
)
def test_wrong_words_are_a_matter_of_usage(words) -> None:
    answer = run(*words)
    assert answer.exit_code == 2
    assert "Traceback" not in answer.output


def test_mesh_gives_sizes_depthing_and_action() -> None:
    answer = run("mesh", "75", "0.14", "10")
    assert answer.exit_code == 0
    for text in ("10.949", "10.060", "centres 5.950 mm apart", "turns freely"):
        assert text in answer.output
    assert len(answer.output.splitlines()) < 40


def test_mesh_for_a_program() -> None:
    answer = json.loads(run("mesh", "75", "0.14", "10", "--deviation", "0.02", "--json").output)
    assert answer["wheel"]["teeth"] == 75
    assert [round(one["centre_distance"], 3) for one in answer["actions"]] == [5.93, 5.95, 5.97]
    assert all(one["free"] for one in answer["actions"])


def test_mesh_of_involutes_says_what_is_undercut() -> None:
    answer = run("mesh", "40", "0.5", "8", "--form", "involute", "--deviation", "0")
    assert "undercut" in answer.output
    shifted = run("mesh", "40", "0.5", "12", "--form", "involute", "--shift", "0", "0.5")
    assert shifted.exit_code == 0
    assert "undercut" not in shifted.output


def test_mesh_shows_what_another_cutter_makes_of_the_wheel() -> None:
    answer = json.loads(run("mesh", "75", "0.14", "10", "--cutter-teeth", "60", "--json").output)
    own = json.loads(run("mesh", "75", "0.14", "10", "--cutter-teeth", "75", "--json").output)
    assert own["as_cut"]["missing"] < 0.3 < 2 < answer["as_cut"]["missing"]
    deeper = run("mesh", "75", "0.14", "10", "--deeper", "0.02")
    assert "material missing" in deeper.output
    # 20 µm, but for the chords that both lines are drawn in.
    assert re.search(r"20\.[01] µm, space 1, root", deeper.output)
    assert len(deeper.output.splitlines()) < 40


def test_mesh_rolls_a_pair_as_bought_cutters_make_it(tmp_path: Path) -> None:
    bought = json.loads(run("mesh", "75", "0.14", "10", "--ground", "wheel", "--as-cut",
                            "--mate-ground", "--json").output)
    # Published charts: (N + 2.76) m over the wheel, 11.61 m over ten leaves.
    assert bought["wheel"]["tip_diameter"] == pytest.approx(77.76 * 0.14)
    assert bought["pinion"]["tip_diameter"] == pytest.approx(11.61 * 0.14)
    assert bought["as_cut"]["left"] < 0.1
    assert bought["as_cut"]["missing"] < 0.1
    against = json.loads(run("mesh", "75", "0.14", "10", "--ground", "wheel", "--json").output)
    assert against["as_cut"]["missing"] > 10
    told = run("mesh", "75", "0.14", "10", "--ground", "wheel", "--as-cut").output
    assert "In short: it turns freely, with 70 to 73 µm of play" in " ".join(told.split())
    trace = tmp_path / "trace.csv"
    trace.write_text("".join(f"{min(0.11, 0.005 * n)},{max(0.0, 0.005 * n - 0.11)}\n"
                             for n in range(110)))
    assert "In short" in run("mesh", "75", "0.14", "10", "--profile", str(trace)).output
    assert isinstance(run("mesh", "75", "0.14", "10", "--profile", str(trace), "--ground",
                          "wheel").exception, Refused)


def test_mesh_refuses_what_cannot_be() -> None:
    answer = run("mesh", "40", "0.5", "12", "--form", "involute", "--pressure-angle", "50")
    assert isinstance(answer.exception, Refused)
    for words in (("--deeper", "-5"), ("--off-centre", "3"), ("--deeper", "0.3"),
                  ("--deviation", "1")):
        assert isinstance(run("mesh", "75", "0.14", "10", *words).exception, Refused)


@pytest.mark.parametrize("command", ["divide", "mesh"])
def test_help_has_an_example(command: str) -> None:
    assert f"Example: camgen {command}" in run(command, "--help").output


@pytest.mark.parametrize(("words", "said"), [
    (("75", "0.14", "10"), "which is usual: cycloidal teeth"),
    (("60", "0.14", "6", "--leaf", "round"), "which is usual: cycloidal teeth"),
    (("40", "0.5", "20", "--form", "involute"), "as it should be: the involute"),
    (("75", "0.14", "10", "--deeper", "0.06", "--off-centre", "0.06"), "more than usual"),
])
def test_mesh_says_whether_the_error_of_the_ratio_is_usual(
    words: tuple[str, ...], said: str
) -> None:
    last = run("mesh", *words).output.splitlines()[-1]
    assert said in last


def test_mesh_explains_the_thickness_by_caliper() -> None:
    assert "by caliper: straight across one tooth" in run("mesh", "75", "0.14", "10").output
