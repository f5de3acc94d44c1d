"""Whatever a machine file says: the work is made and proved, or the word is named."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from machine_sweep import JOBS, answer, changed_files, drawn, words_and_values
from sampling import sampled

WORDS = words_and_values()


def test_the_sweep_finds_every_group_of_words() -> None:
    groups = {path[0] for path, _ in WORDS}
    assert {"x", "dividing", "spindle-words", "arcs", "rotary", "insert", "subprograms"} <= groups
    assert len(WORDS) > 800


@pytest.mark.parametrize("job", JOBS)
def test_on_a_plain_machine_the_job_is_proved(job: str, tmp_path: Path) -> None:
    assert answer(tmp_path, changed_files([]), job) == "made"


@pytest.mark.parametrize(("path", "value"), sampled(WORDS, 14),
                         ids=lambda one: str(one)[:60])
def test_one_word_said_otherwise(path: tuple[str, ...], value: Any, tmp_path: Path) -> None:
    said = changed_files([(path, value)])
    assert answer(tmp_path, said, "pinion") in ("made", "refused")


@pytest.mark.parametrize(("path", "value"), sampled(WORDS, 4),
                         ids=lambda one: str(one)[:60])
def test_one_word_said_otherwise_beside_those_of_a_probe(
    path: tuple[str, ...], value: Any, tmp_path: Path
) -> None:
    touched = [] if path[0] == "probing" else [
        (("probing",), {"touch": "G31", "zero": "G10 L20 P1 {place}"})]
    said = changed_files([*touched, (path, value)])
    assert answer(tmp_path, said, "probed") in ("made", "refused")


def words_for(job: str, seed: int) -> list[Any]:
    """Words drawn for a job: a probe every other time where it probes, T with offsets at times."""
    words = drawn(seed, 2 + seed % 4, WORDS)
    if job == "probed" and seed % 2 and not any(path[0] == "probing" for path, _ in words):
        words.append((("probing",), {"touch": "G31", "zero": "G10 L20 P1 {place}"}))
    if seed % 3 == 0:
        words = [one for one in words if one[0][0] not in ("change", "offsets")]
        words += [(("change", "with-offset"), [2, 2]), (("offsets", "length"), "table"),
                  (("change", "word"), None if seed % 2 else "M6")]
    return words


@pytest.mark.parametrize("seed", sampled(range(2000), 15, single=True))
def test_words_said_otherwise_together(seed: int, tmp_path: Path) -> None:
    said = changed_files(drawn(seed, 2 + seed % 4, WORDS))
    assert answer(tmp_path, said, "pinion") in ("made", "refused"), said


@pytest.mark.long
@pytest.mark.parametrize("seed", range(2000))
@pytest.mark.parametrize("job", JOBS)
def test_words_said_otherwise_together_on_every_job(
    job: str, seed: int, tmp_path: Path
) -> None:
    said = changed_files(words_for(job, seed))
    assert answer(tmp_path, said, job) in ("made", "refused"), said
