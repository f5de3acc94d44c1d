"""Every word of every kind of step is heard: said otherwise, something comes of it.

The words are taken from the declared models, so that a word added later is asked for here. Each is
set in a small sound job to another value that can be meant: the program, or what is told on sheet
and console, is another; or the word is refused with a reason.
"""

from __future__ import annotations

import copy
import re
import typing
from collections.abc import Iterator
from functools import lru_cache
from itertools import product
from typing import Any

import pytest
import yaml
from job_sweep import JOBS
from sampling import sampled
from workshop import read

from camgen.faults import Fault, Refused
from camgen.job.checks.whole_job import job_faults
from camgen.plan import plan_job
from camgen.post.writer import write_programs
from camgen.shipped import shipped_folder
from camgen.shop.machine import Machine
from camgen.shop.machines import find_machine
from camgen.steps import step_words

KINDS = step_words()
DATA = {name: yaml.safe_load(text) for name, text in JOBS.items()}
# A pocket that is cleared in a moment.
DATA["pockets"]["plate"]["pockets"]["bay"] = {
    "rectangle": [2.6, 2.2], "corner": 0.6, "depth": 0.2, "at": [0, 2]}
# Where each kind of step is looked at: the job, its setup and its step.
AT = {kind: (name, number, n) for name, data in reversed(DATA.items())
      for number, setup in enumerate(data["setups"])
      for n, step in enumerate(setup["steps"]) for kind in step}
# Words that change nothing by themselves, and why.
QUIET = {
    "far": "it allows what is unusual, and nothing here is",
    "thin": "it allows what is thin, and nothing here is",
    "note": "it stands on the sheet as it is written: test_sheet_page.py",
}
# Other values than are planned, which can be meant.
OTHER: dict[str, Any] = {
    "speed": 2000, "feed": 21.0, "to": 1.3, "width": 0.5, "depth": 0.4, "peck": 0.11,
    "drilled": 0.7, "finish": 0.037, "correction": 0.004, "lead": 0.11, "holder-gives": 0.7,
    "floor": 0.03, "step-over": 0.11, "tabs": {"count": 2, "width": 0.9, "height": 0.25},
    "skin": 0.04, "last-cut": 0.03, "trial-short": 0.02, "depth-correction": 0.004,
    "leave": 0.05, "cuts": "impulse", "milling": "conventional",
    "thread": "S0.9", "holes": ["zzz"], "pockets": ["zzz"], "openings": ["zzz"], "posts": ["zzz"],
    "flats": ["zzz"], "slots": ["zzz"],
    "entry-holes": ["zzz"], "face": [3.0, 3.0], "hole": "zzz", "edge": "left", "along": 1.0,
}

# Words that mean something beside others alone.
BESIDE: dict[str, dict[str, Any]] = {
    "step-over": {"floor": 0.03}, "cut-skin": {"skin": 0.1}, "trial-short": {"trial-spaces": 3},
}


def words() -> Iterator[tuple[str, str, Any]]:
    """Each kind of step, a word of it, and another value than it has where it is looked at."""
    for kind, model in KINDS.items():
        job, number, n = AT[kind]
        said = DATA[job]["setups"][number]["steps"][n][kind]
        for name, field in model.model_fields.items():
            word = field.alias or name
            now = said.get(word, field.default)
            if word in OTHER:
                yield kind, word, OTHER[word]
            elif isinstance(now, bool):
                yield kind, word, not now
            elif isinstance(now, int):
                yield kind, word, now + 1
            elif word == "passes":
                yield kind, word, 3
            elif word == "cutter":
                yield kind, word, "zzz"
            else:
                for other in typing.get_args(field.annotation):
                    if isinstance(other, str) and other != now:
                        yield kind, word, other


@lru_cache(maxsize=1)
def machine() -> Machine:
    return find_machine("with-cycles", shipped_folder("postprocessors").parent)


def comes_of(data: Any) -> tuple[Fault, ...] | tuple[Any, ...]:
    """The faults, or the programs with what is told beside them."""
    try:
        file = read(yaml.safe_dump(data, sort_keys=False))
        found = job_faults(file, machine())
        if found:
            return tuple(found)
        setups = plan_job(file, machine()).setups
    except Refused as no:
        return no.faults
    return tuple((one.remarks, one.notes, one.corrected,
                  [program.text for program in write_programs(one.moves, machine(), stem="job")])
                 for one in setups)


def with_words(kind: str, said: dict[str, Any]) -> tuple[Any, ...]:
    job, number, n = AT[kind]
    data = copy.deepcopy(DATA[job])
    data["setups"][number]["steps"][n][kind] |= said
    return comes_of(data)


@lru_cache(maxsize=4)
def as_it_is(job: str) -> tuple[Any, ...]:
    return comes_of(DATA[job])


def test_every_kind_of_step_and_each_quiet_word_is_there() -> None:
    assert set(AT) == set(KINDS)
    known = {field.alias or name for model in KINDS.values()
             for name, field in model.model_fields.items()}
    assert set(QUIET) | set(OTHER) <= known
    # Each word of each kind is asked for, or stands among those that change nothing.
    asked = {(kind, word) for kind, word, _ in words()}
    assert {(kind, field.alias or name) for kind, model in KINDS.items()
            for name, field in model.model_fields.items()} - asked <= {
                (kind, "note") for kind in KINDS}


@pytest.mark.parametrize("job", JOBS)
def test_the_job_as_it_stands_is_planned(job: str) -> None:
    assert not any(isinstance(one, Fault) for one in as_it_is(job))


@pytest.mark.parametrize(("kind", "word", "value"), sampled(
    (case for case in words() if case[1] not in QUIET), 12))
def test_a_word_said_otherwise_is_heard(kind: str, word: str, value: Any) -> None:
    beside = BESIDE.get(word)
    found = with_words(kind, {**(beside or {}), word: value})
    assert found != (as_it_is(AT[kind][0]) if beside is None else with_words(kind, beside))
    for one in found:
        if isinstance(one, Fault):
            assert one.message
            assert one.place.line


@pytest.mark.parametrize(("word", "value"), sampled(
    product(["width", "step-over"], [0.41, 0.5, 3.0]), 4))
def test_a_pass_wider_than_half_the_cutter_is_named_at_its_word(word: str, value: float) -> None:
    beside = BESIDE.get(word, {})
    fault, *more = with_words("pocket", {**beside, word: value})
    assert not more
    assert isinstance(fault, Fault)
    assert fault.place.path.endswith(f"pocket.{word}")
    most = re.search(r"at most ([\d.]+) mm", fault.remedy)
    assert most is not None
    found = with_words("pocket", {**beside, word: float(most[1])})
    assert not any(isinstance(one, Fault) for one in found)
