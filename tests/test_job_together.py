"""Faults that do not depend on each other come in one run, and none that goes with another.

Faults are planted in small jobs and in the demo jobs, each alone and several together: what is
told of all together was told of one of them alone, and whatever words do not fit is always told.
"""

from __future__ import annotations

import copy
from collections.abc import Callable
from functools import lru_cache
from typing import Any

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from job_sweep import JOBS
from sampling import few

from camgen.faults import Fault, Refused
from camgen.job.checks.whole_job import job_faults
from camgen.job.reading import parse_job
from camgen.shipped import shipped_folder
from camgen.shop.machine import Machine
from camgen.steps import step_words
from camgen.yamlfile import path_words, read_yaml, validate

FOLDER = shipped_folder("jobs")
WORDS = step_words()
MACHINE = validate(Machine, read_yaml(shipped_folder("postprocessors") / "plain-iso.yaml"))
# Small jobs, and the demo jobs that stand on no other.
SMALL = {name: yaml.safe_load(text) for name, text in JOBS.items()}
JOB = {**SMALL, **{path.stem: data for path in sorted(FOLDER.glob("*.yaml"))
                   if "setups" in (data := yaml.safe_load(path.read_text("utf-8")))
                   and "based-on" not in data}}

Told = tuple[str, str]
Planted = tuple[str, tuple[Any, ...]]


def told(fault: Fault) -> Told:
    """The fault without its remedy, which may list the names that there are."""
    return fault.message, fault.place.path


@lru_cache(maxsize=2000)
def answer(stem: str, planted: frozenset[Planted]) -> frozenset[Told]:
    """What is told of a demo job with some faults planted."""
    data = copy.deepcopy(JOB[stem])
    # Words are named by their old places: whatever changes those comes last.
    for kind, at in sorted(planted, key=lambda one: (KINDS[one[0]].last, str(one))):
        KINDS[kind].plant(data, at)
    try:
        found = job_faults(parse_job(yaml.safe_dump(data, sort_keys=False), FOLDER / "x.yaml",
                                     WORDS), MACHINE)
    except Refused as no:
        found = list(no.faults)
    return frozenset(map(told, found))


def put(data: Any, at: tuple[Any, ...], value: Any) -> None:
    for word in at[:-1]:
        data = data[word]
    data[at[-1]] = value


def misspell(data: Any, at: tuple[Any, ...]) -> None:
    for word in at[:-1]:
        data = data[word]
    words = {misspelling(key) if key == at[-1] else key: value for key, value in data.items()}
    data.clear()
    data.update(words)


def misspelling(word: str) -> str:
    """The word with its middle letter left out."""
    middle = len(word) // 2
    return word[:middle] + word[middle + 1:]


class Kind:
    """A kind of fault: where it can be in a job, and how it is planted there.

    ``fits`` where words or values do not fit what they stand for, and are told whatever else is.
    """

    def __init__(self, where: Callable[[Any], list[tuple[Any, ...]]],
                 plant: Callable[[Any, tuple[Any, ...]], None], *, last: bool = False,
                 unfit: bool = False) -> None:
        self.where, self.plant, self.last, self.unfit = where, plant, last, unfit


def steps(data: Any) -> list[tuple[Any, ...]]:
    return [("setups", number, "steps", n, kind)
            for number, setup in enumerate(data["setups"])
            for n, step in enumerate(setup["steps"]) for kind in step]


def words_of_steps(data: Any) -> list[tuple[Any, ...]]:
    return [(*at, word) for at in steps(data)
            for word in data["setups"][at[1]]["steps"][at[3]][at[4]] if len(word) > 4]


def words_of_cutters(data: Any) -> list[tuple[Any, ...]]:
    return [("cutters", name, word) for name, words in data["cutters"].items()
            if isinstance(words, dict) for word in words if len(word) > 4]


def features(data: Any) -> list[tuple[Any, ...]]:
    return [("plate", sort, name) for sort in ("holes", "jewels")
            for name in data.get("plate", {}).get(sort, {})]


KINDS = {
    "word of a step misspelt": Kind(words_of_steps, misspell, last=True, unfit=True),
    "word of a cutter misspelt": Kind(words_of_cutters, misspell, last=True, unfit=True),
    "step misspelt": Kind(steps, misspell, last=True, unfit=True),
    "value of a cutter": Kind(
        lambda data: [at for at in words_of_cutters(data) if at[2] in ("diameter", "reach")],
        lambda data, at: put(data, at, -1), unfit=True),
    "value of a step": Kind(
        steps, lambda data, at: put(data, (*at, "speed"), "quick"), unfit=True),
    "hole that cannot be": Kind(
        features, lambda data, at: put(data, (*at, "diameter"), "wide"), unfit=True),
    "hole that no step makes": Kind(
        lambda data: [("plate", "holes", "added")] if "holes" in data.get("plate", {}) else [],
        lambda data, at: put(data, at, {"diameter": 0.37, "depth": 0.3, "at": [[0.2, 0.1]]})),
    "last step left out": Kind(
        lambda data: [("setups", n, "steps") for n, one in enumerate(data["setups"])
                      if len(one["steps"]) > 1],
        lambda data, at: data["setups"][at[1]]["steps"].pop(), last=True),
    "foolish clearance": Kind(
        lambda data: [("setups", n, "clearance") for n in range(len(data["setups"]))],
        lambda data, at: put(data, at, 0.001)),
    "no such cutter": Kind(
        steps, lambda data, at: put(data, (*at, "cutter"), "zzz")),
    "no such material": Kind(lambda data: [("material",)],
                             lambda data, at: put(data, at, "unobtainium")),
    "no pieces": Kind(lambda data: [("quantity",)], lambda data, at: put(data, at, 0), unfit=True),
    "carrier cut through": Kind(
        lambda data: [("setups", n, "holding", "cut-into") for n, one in enumerate(data["setups"])
                      if one.get("holding", {}).get("carrier-thickness")],
        lambda data, at: put(data, at, 90.0)),
    "limits of nothing": Kind(lambda data: [("limits",)],
                              lambda data, at: put(data, at, {"zzz": [1.0, 2.0]})),
}


def about(one: Planted) -> tuple[Any, ...]:
    """What a fault is planted in: two in one thing may hide one another."""
    at = one[1]
    if at[0] == "cutters":
        return at[:2]
    return at[:4] if at[2:3] == ("steps",) else at[:3]


@st.composite
def plants(draw: st.DrawFn, stems: list[str]) -> tuple[str, tuple[Planted, ...]]:
    """A job, and two or three faults to plant in things that have nothing in common."""
    stem = draw(st.sampled_from(stems))
    data = JOB[stem]
    kinds = draw(st.lists(st.sampled_from([kind for kind in KINDS if KINDS[kind].where(data)]),
                          min_size=2, max_size=3, unique=True))
    found: list[Planted] = []
    for kind in kinds:
        one = kind, draw(st.sampled_from(KINDS[kind].where(data)))
        things = [about(other) for other in found]
        if not any(about(one)[:len(thing)] == thing or thing[:len(about(one))] == about(one)
                   for thing in things):
            found.append(one)
    return stem, tuple(found)


@pytest.mark.parametrize("stem", sorted(JOB))
def test_of_the_job_as_it_is_nothing_is_told(stem: str) -> None:
    assert answer(stem, frozenset()) == frozenset()


def told_together(stem: str, planted: tuple[Planted, ...]) -> None:
    together = answer(stem, frozenset(planted))
    alone = {one: answer(stem, frozenset([one])) for one in planted}
    assert together <= frozenset().union(*alone.values())
    for one, found in alone.items():
        if KINDS[one[0]].unfit:
            # Alone it has its own fault and no other, and that is always told.
            assert found
            assert found <= together
            thing = path_words(about(one))
            assert all(path.startswith(thing) for _, path in found)


@settings(max_examples=few(40))
@given(plants(sorted(SMALL)))
def test_several_faults_are_told_together_and_nothing_that_is_not_so(
    drawn: tuple[str, tuple[Planted, ...]]
) -> None:
    told_together(*drawn)


@pytest.mark.long
@settings(max_examples=few(400), suppress_health_check=[HealthCheck.too_slow])
@given(plants(sorted(JOB)))
def test_many_faults_in_many_jobs_are_told_together(
    drawn: tuple[str, tuple[Planted, ...]]
) -> None:
    told_together(*drawn)


EVERYTHING = (
    ("word of a step misspelt", ("setups", 0, "steps", 0, "spot", "cutter")),
    ("value of a cutter", ("cutters", "tm", "reach")),
    ("hole that no step makes", ("plate", "holes", "added")),
    ("foolish clearance", ("setups", 0, "clearance")),
    ("no such material", ("material",)),
    ("limits of nothing", ("limits",)),
    ("carrier cut through", ("setups", 0, "holding", "cut-into")),
    ("value of a step", ("setups", 0, "steps", 6, "outline")),
)


def test_a_slip_in_each_part_of_a_job_is_told_in_one_run() -> None:
    alone = [answer("holes", frozenset([one])) for one in EVERYTHING]
    assert all(len(found) == 1 for found in alone)
    assert answer("holes", frozenset(EVERYTHING)) == frozenset().union(*alone)


def test_what_hangs_on_a_step_that_cannot_be_is_not_told() -> None:
    """The step that brings the plate to its thickness has a feed that is none."""
    planted: Planted = ("value of a step", ("setups", 0, "steps", 0, "face"))
    (found,) = answer("pockets", frozenset([planted]))
    assert found[1] == "setups[0].steps[0].face.speed"
