"""Every word of small sound jobs changed, one at a time: the answer is proved, or names a word."""

from __future__ import annotations

from pathlib import Path

import pytest
from job_sweep import JOBS, Change, answer, changes
from sampling import sampled

SAMPLE = 160
# Changes that were once answered by a failed proof alone, or by a fault with no place.
FORMERLY = [
    Change("holes", ("cutters", "cone", "reach"), 0.12),
    Change("holes", ("cutters", "sink", "reach"), 0.16),
    Change("holes", ("cutters", "d076", "flute-length"), 5.82),
    Change("holes", ("plate", "holes", "pins", "diameter"), None),
    Change("fine holes", ("setups", 0, "steps", 0, "drill", "peck"), 1.0),
    Change("pockets", ("plate", "pockets", "bay", "islands", 0, "circle"), 2.4),
    Change("pockets", ("plate", "pockets", "bay", "rectangle", 1), 8.0),
    Change("wheel", ("wheel", "mate"), 5),
    Change("wheel", ("wheel", "mate"), 300),
    Change("wheel", ("cutters", "teeth", "made-for", "mate"), 5),
    Change("wheel", ("setups", 1, "dividing", "arbor"), 120.0),
    Change("wheel", ("wheel", "crossing", "arm"), 0.01),
    Change("fine holes", ("cutters", "mill", "flute-length"), 1.2),
]
# The same, planned and proved whole, which takes longer.
FORMERLY_LONG = [
    Change("pockets", ("plate", "thickness"), 0.6),
    Change("pockets", ("plate", "pockets", "bay", "islands", 0, "circle"), 1.164),
]


def answered(change: Change, folder: Path) -> None:
    faults, failed = answer(change.text, folder)
    assert faults or not failed, (str(change), failed)
    for fault in faults:
        assert fault.place.line, (str(change), str(fault))


@pytest.mark.parametrize("job", sampled(sorted(JOBS), 4))
def test_the_job_as_it_stands_is_proved(job: str, tmp_path: Path) -> None:
    assert answer(JOBS[job], tmp_path) == ((), ())


@pytest.mark.parametrize("change", [
    *sampled(FORMERLY, 4, single=True),
    *(pytest.param(one, marks=pytest.mark.long) for one in FORMERLY_LONG)], ids=str)
def test_what_was_answered_by_a_proof_alone_names_its_word(change: Change, tmp_path: Path) -> None:
    answered(change, tmp_path)


@pytest.mark.parametrize("job", sampled(sorted(JOBS), 4, 1))
def test_a_sample_of_changes_is_proved_or_answered_in_words(job: str, tmp_path: Path) -> None:
    for change in list(changes(job))[7::SAMPLE]:
        answered(change, tmp_path)


@pytest.mark.long
@pytest.mark.parametrize("job", sorted(JOBS))
def test_every_change_is_proved_or_answered_in_words(job: str, tmp_path: Path) -> None:
    every = list(changes(job))
    assert len(every) > 200
    for change in every:
        answered(change, tmp_path)
