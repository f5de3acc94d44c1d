"""Slots along turned work in the dividing head: round-ended and open ones, in every arrangement;
planted faults are found by name.
"""

from __future__ import annotations

import math
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest
import shapely
import yaml
from arrangements import WAYS
from job_sweep import JOBS
from sampling import sampled
from shapely.affinity import rotate
from test_round_flats import failed, made, section_from_text, standing
from workshop import read

from camgen.faults import Refused
from camgen.job.file import JobFile
from camgen.plan import PlannedSetup, plan_job
from camgen.post.writer import write_programs
from camgen.proof import prove
from camgen.reader import read_program
from camgen.shipped import shipped_folder
from camgen.shop.machines import find_machine

FOLDER = shipped_folder("postprocessors").parent


def stem(**held: object) -> dict[str, Any]:
    """The small job with words of ``held`` changed."""
    data = yaml.safe_load(JOBS["stem"])
    data["setups"][0]["held"] |= {key.replace("_", "-"): value for key, value in held.items()}
    return data


@pytest.mark.parametrize("how", sampled(WAYS, 13, first=5, single=True))
def test_slots_are_cut_in_every_arrangement(how: tuple[str, str, str], tmp_path: Path) -> None:
    proved = made(tmp_path, stem(arrangement=standing(*how)))
    assert not proved.failed, failed(proved.proofs)
    text = proved.setups[0].programs[0].text.decode()
    from_free_end = 1.0 if how[0][0] == "-" else -1.0

    def meant(*slots: tuple[float, float, float]) -> shapely.Polygon:
        whole = shapely.Point(0, 0).buffer(1.5, quad_segs=512)
        for angle, half, deep in slots:
            whole = whole.difference(rotate(shapely.box(-half, 1.5 - deep, half, 9),
                                            angle * from_free_end, origin=(0, 0)))
        return whole

    keys, slits = ((0, 0.4, 0.4), (180, 0.4, 0.4)), ((60, 0.4, 0.9), (260, 0.4, 0.9))
    # A round end 0.1 mm behind its beginning is 2·√(r² − (r − 0.1)²) wide (geometry).
    half = math.sqrt(0.4**2 - 0.3**2)
    for place, slots in ((2.0, (*keys, *slits)), (0.5, slits),
                         (1.1, ((0, half, 0.4), (180, half, 0.4), *slits)), (3.05, keys),
                         (3.8, ())):
        left = section_from_text(text, how, place, 2.0, "touch", 1.5, 0.8)
        assert left.symmetric_difference(meant(*slots)).area < 0.004, place


@lru_cache(maxsize=1)
def written() -> tuple[JobFile, PlannedSetup, str]:
    """The small job planned, and its program's text."""
    file = read(yaml.safe_dump(stem(), sort_keys=False))
    machine = find_machine("plain-iso", FOLDER)
    (setup,) = plan_job(file, machine).setups
    program, = write_programs(setup.moves, machine, stem="stem")
    return file, setup, program.text.decode()


@lru_cache(maxsize=4)
def proved_as(text: str) -> frozenset[str]:
    """Wing and word of every proof that a program's text fails."""
    file, setup, _ = written()
    machine = find_machine("plain-iso", FOLDER)
    return frozenset(failed(prove(
        file, setup, machine, [read_program(text.encode(), machine, infeed="Z")])))


@pytest.mark.parametrize(("before", "after", "found"), [
    ("Y0.", "Y0.02", {"round.slots-centred", "round.cut-into"}),
    ("Z-0.9", "Z-0.92", {"round.slots-depth", "round.cut-into"}),
    ("A180.", "A180.2", {"round.slots-angles"}),
    ("X-3.1", "X-3.08", {"round.slots-length", "round.metal-left"}),
])
def test_faults_planted_are_found_by_name(before: str, after: str, found: set[str]) -> None:
    """Slots 20 µm off centre, too deep or too short, and one turned by 0.2°."""
    text = written()[2]
    assert text.count(before) >= 1
    assert not proved_as(text)
    assert found <= proved_as(text.replace(before, after))


@pytest.mark.parametrize(("change", "says"), [
    ({"key": {"width": 0.9}}, "an end mill of 0.9 mm"),
    ({"slit": {"angles": [45, 200]}}, "other angles"),
    ({"key": {"length": 4.5}}, "each section"),
    ({"slit": {"depth": 1.6}}, "depth: 1.5"),
    ({"held": {"stands-out": 3.2}}, "stands-out: "),
    ({"mill": {"plunges": False}}, "cuts to its middle"),
])
def test_what_cannot_be_is_refused_with_what_to_do(
    change: dict[str, dict[str, Any]], says: str, tmp_path: Path
) -> None:
    data = stem()
    parts = {"held": data["setups"][0]["held"], "mill": data["cutters"]["mill"],
             **data["turned"]["slots"]}
    for part, words in change.items():
        parts[part].update(words)
    with pytest.raises(Refused) as no:
        made(tmp_path, data)
    told = [f"{fault.message} | {fault.remedy}" for fault in no.value.faults]
    assert any(says in one for one in told), told
    assert all(str(fault.place) for fault in no.value.faults)
