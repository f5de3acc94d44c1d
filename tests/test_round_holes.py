"""Holes round turned work: drilled, reamed and counterbored at equal and unequal angles, in every
arrangement and on machine files with a driven head and one turned by hand; planted faults.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest
import yaml
from arrangements import WAYS
from job_sweep import JOBS
from sampling import sampled
from test_round_flats import failed, made, standing
from workshop import read

from camgen.dividing import circles_for, divide_at
from camgen.faults import Refused
from camgen.job.file import JobFile
from camgen.layout.round import head_angle
from camgen.plan import PlannedSetup, plan_job
from camgen.post.writer import write_programs
from camgen.proof import prove
from camgen.reader import read_program
from camgen.shipped import shipped_folder
from camgen.shop.machine import Arrangement, DrivenHead, HandHead
from camgen.shop.machines import find_machine

FOLDER = shipped_folder("postprocessors").parent


def ring(**held: object) -> dict[str, Any]:
    """The small job with words of ``held`` changed."""
    data = yaml.safe_load(JOBS["ring"])
    data["setups"][0]["held"] |= {key.replace("_", "-"): value for key, value in held.items()}
    return data


@lru_cache(maxsize=1)
def written() -> tuple[JobFile, PlannedSetup, str]:
    """The small job planned, and its program's text."""
    file = read(yaml.safe_dump(ring(), sort_keys=False))
    machine = find_machine("plain-iso", FOLDER)
    (setup,) = plan_job(file, machine).setups
    program, = write_programs(setup.moves, machine, stem="ring")
    return file, setup, program.text.decode()


@lru_cache(maxsize=4)
def proved_as(text: str) -> frozenset[str]:
    """Wing and word of every proof that a program's text fails."""
    file, setup, _ = written()
    machine = find_machine("plain-iso", FOLDER)
    return frozenset(failed(prove(
        file, setup, machine, [read_program(text.encode(), machine, infeed="Z")])))


def plunges(text: str, how: tuple[str, str, str]) -> list[tuple[float, float, float, float]]:
    """Along, across, deepest and the rotary word of each place where a plain program is fed down.

    Read apart from the program: blocks of X, Y, Z and A, one after another.
    """
    along, infeed, across = how
    place, fed, found = {"X": 0.0, "Y": 0.0, "Z": 0.0, "A": 0.0}, False, {}
    for line in text.splitlines():
        if line.startswith("("):
            continue
        words = dict(re.findall(r"([A-Z])(-?[0-9.]+)", line))
        if words.get("G") in ("0", "1"):
            fed = words["G"] == "1"
        place |= {key: float(value) for key, value in words.items() if key in place}
        if fed and infeed[1] in words:
            into = place[infeed[1]] * (-1.0 if infeed[0] == "-" else 1.0)
            key = (place[along[1]] * (-1.0 if along[0] == "-" else 1.0), place[across],
                   place["A"] % 360.0)
            found[key] = max(found.get(key, -99.0), into)
    return sorted((*key, deep) for key, deep in found.items())


@pytest.mark.parametrize("how", sampled(WAYS, 13, single=True))
def test_holes_are_at_their_place_angle_and_depth_in_every_arrangement(
    how: tuple[str, str, str], tmp_path: Path
) -> None:
    proved = made(tmp_path, ring(arrangement=standing(*how)))
    assert not proved.failed, failed(proved.proofs)
    found = plunges(proved.setups[0].programs[0].text.decode(), how)
    # Seen from a free end that looks towards +, work turned by + comes round anticlockwise: what
    # stood so many degrees clockwise of the cutter is then before it.
    sense = -1.0 if how[0][0] == "-" else 1.0
    turned = [(sense * angle) % 360.0 for angle in (30, 100)]
    # A drill of 118 degrees is 0.3 of its width longer than its full width reaches: 0.9 mm below
    # a surface that lies 1 mm below where the cutter touches.
    deep = 1.0 + 0.9 + 0.25 / math.tan(math.radians(59))
    assert [one for one in found if abs(one[0] - 0.6) < 1e-6 and abs(one[3] - deep) < 2e-3] != []
    at = {round(angle, 3) for along, across, angle, _ in found
          if abs(along - 3.5) < 1e-6 and across == 0.0}
    assert at == {round(angle, 3) for angle in turned}
    assert len({angle for along, _, angle, _ in found if abs(along - 0.6) < 1e-6}) == 6


@pytest.mark.parametrize("post", sampled(
    ["hand-dividing", "plain-iso-inch", "shortest-way-rotary"], 3, single=True))
def test_holes_are_proved_with_a_head_turned_by_hand_and_driven(post: str, tmp_path: Path) -> None:
    proved = made(tmp_path, ring(), post)
    assert not proved.failed, failed(proved.proofs)


@pytest.mark.parametrize(("before", "after", "found"), [
    ("Y0.", "Y0.02", {"round.holes-place", "round.cut-into", "round.metal-left"}),
    ("X-3.5", "X-3.52", {"round.holes-place", "round.cut-into"}),
    ("A330.", "A330.2", {"round.holes-angles"}),
])
def test_faults_planted_are_found_by_name(before: str, after: str, found: set[str]) -> None:
    """Holes 20 µm beside their place, and one turned by 0.2°."""
    text = written()[2]
    assert text.count(before) >= 1
    assert not proved_as(text)
    assert found <= proved_as(text.replace(before, after))


def test_a_reamer_that_finds_no_hole_is_found_in_the_motion() -> None:
    text = written()[2]
    # One of the holes for the reamer is drilled less deep than it goes.
    head, tail = text.split("STEP 4")
    for bite in ("Z-2.85", "Z-2.75", "Z-2.921"):
        assert bite in tail
        tail = tail.replace(bite, "Z-1.9", 1)
    damaged = head + "STEP 4" + tail
    assert "table.round-holes-open" in proved_as(damaged)


@pytest.mark.parametrize(("change", "says"), [
    ({"screws": {"count": 30}}, "other angles"),
    ({"screws": {"depth": 1.5}}, "depth: 1.25"),
    ({"screws": {"along": 1.1}}, "one section"),
    ({"tube": {"diameter": 0.9}}, "a cutter of 0.9 mm"),
    ({"steps": {"drop": 3}}, "put - drill:"),
    ({"steps": {"depth": 0.5}}, "the hole's own words say it"),
    ({"held": {"stands-out": 4.0}}, "stands-out: "),
])
def test_what_cannot_be_is_refused_with_what_to_do(
    change: dict[str, dict[str, Any]], says: str, tmp_path: Path
) -> None:
    data = ring()
    holes, steps = data["turned"]["holes"], data["setups"][0]["steps"]
    for part, words in change.items():
        if part == "held":
            data["setups"][0]["held"] |= words
        elif part != "steps":
            holes[part] |= words
        elif "drop" in words:
            del steps[words["drop"]]
        else:
            steps[1]["drill"] |= words
    with pytest.raises(Refused) as no:
        made(tmp_path, data)
    told = [f"{fault.message} | {fault.remedy}" for fault in no.value.faults]
    assert any(says in one for one in told), told
    assert all(str(fault.place) for fault in no.value.faults)


def test_a_head_turned_by_hand_serves_unequal_angles_on_one_circle() -> None:
    """40 turns for one of the work: a turn is 9° (OD1644), so 30° are 3 1/3 turns, 100° 11 1/9."""
    head = HandHead(plates=((15, 18, 20), (21, 27)))
    assert circles_for((0.0, 30.0, 100.0), head) == (18, 27)
    division = divide_at((0.0, 30.0, 100.0), head)
    assert (division.circle, division.places) == (18, (0, 60, 200))
    with pytest.raises(Refused) as no:
        divide_at((0.0, 31.3), head)
    assert "has one" in str(no.value.faults[0].remedy)


@pytest.mark.parametrize("head", [DrivenHead(), HandHead(plates=((15, 18, 20),))])
def test_places_are_rounded_once_and_never_summed(head: DrivenHead | HandHead) -> None:
    angles = tuple(10.0 * k for k in range(36))
    division = divide_at(angles, head)
    assert division.angles == pytest.approx(angles, abs=5e-4)
    assert division.worst_place_arcsec < 3.6


def test_angles_of_the_work_run_against_the_head_where_the_free_end_looks_towards_plus() -> None:
    assert head_angle(30.0, Arrangement(along="-X")) == 330.0
    assert head_angle(30.0, Arrangement(along="+X")) == 30.0
