"""No work offsets, the first cutter brought to its place by hand: beside every other word that says
where the table and the spindle go.
"""

from __future__ import annotations

import itertools
import random
from pathlib import Path
from typing import Any

import pytest
from machine_sweep import JOBS, Word, changed_files, made
from sampling import sampled

PLACES: tuple[list[float], ...] = ([0, 0, 20], [-30, 0, 30], [10, -20, 25.4], [0, 0, 0])
BESIDE: dict[tuple[str, ...], tuple[Any, ...]] = {
    ("retract", "way"): ("machine", "reference"),
    ("retract", "park"): ({"x": 0, "y": 50}, {"y": -20}, {"x": 15}),
    ("change", "place"): ({"x": -10, "y": 20}, {"x": 5}, {"y": 30}),
    ("change", "way"): ("one-program-each",),
    ("program", "units"): ("inch",),
    ("program", "largest"): (3000,),
    ("x", "sense"): ("reversed",),
    ("y", "sense"): ("reversed",),
    ("z", "sense"): ("reversed",),
    ("offsets", "shift"): ("G52", "G92"),
    ("subprograms", "use"): (True,),
    ("blocks", "number"): (True,),
}
# Either would be refused: no program changes its cutter, or nothing can be repeated.
NOT_TOGETHER = ({("change", "place"), ("change", "way")},)


def said_with(place: list[float], words: list[Word]) -> dict[str, Any]:
    more: list[Word] = [(("numbers", "decimals"), 4)] if (
        ("program", "units"), "inch") in words else []
    return changed_files([(("offsets", "stands-at"), place), (("offsets", "work"), None),
                          *more, *words])


def at_random(seed: int) -> tuple[list[float], list[Word]]:
    rng = random.Random(seed)
    paths = [path for path in BESIDE if rng.random() < 0.4]
    for two in NOT_TOGETHER:
        if two <= set(paths):
            paths.remove(min(two))
    if ("subprograms", "use") in paths and ("offsets", "shift") not in paths:
        paths.append(("offsets", "shift"))
    return rng.choice(PLACES), [(path, rng.choice(BESIDE[path])) for path in paths]


PAIRS = [
    (place, [(first, one), (second, other)])
    for place in PLACES[:2] for first, second in itertools.combinations(BESIDE, 2)
    if {first, second} not in NOT_TOGETHER
    for one in BESIDE[first][:1] for other in BESIDE[second][:1]]


@pytest.mark.parametrize("way", ["machine", "reference"])
@pytest.mark.parametrize("job", JOBS)
def test_brought_by_hand_and_drawn_up_by_the_machines_own_z(
    way: str, job: str, tmp_path: Path
) -> None:
    said = said_with([-30, 0, 30], [(("retract", "way"), way)])
    answer, programs = made(tmp_path, said, job)
    assert answer == "made"
    assert all("G92 X-30. Y0. Z30." in text for text in programs[:1])


@pytest.mark.parametrize(("place", "words"), sampled(PAIRS, 11))
def test_two_words_beside_it(
    place: list[float], words: list[Word], tmp_path: Path
) -> None:
    for job in ("pinion", "probed"):
        assert made(tmp_path, said_with(place, words), job)[0] == "made", (job, words)


@pytest.mark.parametrize("seed", sampled(range(200), 67, single=True))
def test_several_words_beside_it(seed: int, tmp_path: Path) -> None:
    place, words = at_random(seed)
    for job in JOBS:
        answer = made(tmp_path, said_with(place, words), job)[0]
        # In inches a jewel hole's limits are asked for by name on that grid.
        assert answer == "made" or (answer, job) == ("refused", "plate"), (job, place, words)


def test_in_programs_of_one_cutter_each_every_stop_is_looked_for(tmp_path: Path) -> None:
    said = said_with([-30, 0, 30], [(("change", "way"), "one-program-each")])
    answer, programs = made(tmp_path, said, "probed")
    assert answer == "made"
    assert len(programs) == 3
    assert all("BRING CUTTER TO X-30 Y0 Z30" in text for text in programs)
