"""However a job file is damaged, it is read or refused: nothing else ever comes out."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import product
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sampling import few, sampled

from camgen.faults import Refused
from camgen.job.checks.whole_job import job_faults
from camgen.job.reading import parse_job
from camgen.shipped import demo_jobs, shipped_folder
from camgen.shop.machine import Machine
from camgen.steps import step_words
from camgen.yamlfile import read_yaml, validate

TEXTS = [path.read_text("utf-8") for path in demo_jobs()]
WHEEL = next(path.read_text("utf-8") for path in demo_jobs() if path.stem == "wheel-by-hand")
MACHINE = validate(Machine, read_yaml(shipped_folder("postprocessors") / "plain-iso.yaml"))
WORDS = step_words()

# Values that are legal YAML and wrong, or barely right, nearly everywhere.
VALUES = st.sampled_from([
    "no", "yes", "~", "", "1:30", "010", "1e-3", "0,25", "-1", "0", "1e400", ".nan", ".inf",
    "-.inf", "99999999999999999999", "9" * 400, "1e-300", "1.0e-300", "1.0e+300", "0.000001",
    "1000000", "[]", "{}", "[1]", "[1, 2]", "{a: 1}", "''", "'x'", "\"\\u0000\"", "true",
    "2026-01-02", "*x", "&x 3", "!!int 3", "|\n  x",
    "é", "−1", "involute", "ratchet", "cycloidal", "axis", "mill", "teeth", "inch", "1000", "300",
])


@st.composite
def damaged(draw: st.DrawFn) -> str:
    """A demo job with one to four things done to it."""
    text = draw(st.sampled_from(TEXTS))
    for _ in range(draw(st.integers(1, 4))):
        text = draw(st.sampled_from([_character, _value, _lines, _indent]))(draw, text)
    return text


SIGNS = [":", ": ", "-", "- ", "[", "]", "{", "}", ",", "#", "&", "*", "!", "'", '"', "\t", "\n",
         " ", "%", "@", "?", "|", "\x00", "\u00a0", "ü", ""]


def _character(draw: st.DrawFn, text: str) -> str:
    at = draw(st.integers(0, max(0, len(text) - 1)))
    return text[:at] + draw(st.sampled_from(SIGNS)) + text[at + draw(st.integers(0, 1)):]


def _value(draw: st.DrawFn, text: str) -> str:
    colons = [n for n in range(len(text) - 1) if text[n:n + 2] == ": "]
    if not colons:
        return text
    start = draw(st.sampled_from(colons)) + 2
    end = min((text.find(sign, start) for sign in ",}]\n" if text.find(sign, start) >= 0),
              default=len(text))
    return text[:start] + draw(VALUES) + text[end:]


def _lines(draw: st.DrawFn, text: str) -> str:
    lines = text.split("\n")
    one = draw(st.integers(0, len(lines) - 1))
    other = draw(st.integers(0, len(lines) - 1))
    what = draw(st.sampled_from(["swap", "drop", "twice"]))
    if what == "swap":
        lines[one], lines[other] = lines[other], lines[one]
    elif what == "drop":
        del lines[one]
    else:
        lines.insert(other, lines[one])
    return "\n".join(lines)


def _indent(draw: st.DrawFn, text: str) -> str:
    lines = text.split("\n")
    at = draw(st.integers(0, len(lines) - 1))
    lines[at] = " " * draw(st.integers(0, 8)) + lines[at].lstrip()
    return "\n".join(lines)


def answered(text: str) -> None:
    """Asks that a job is read and looked over, or refused with faults that have their places."""
    try:
        job_file = parse_job(text, Path("damaged.yaml"), WORDS)
        faults = list(job_faults(job_file, MACHINE))
    except Refused as no:
        faults = list(no.faults)
        assert faults
    for fault in faults:
        assert fault.message
        assert "Traceback" not in str(fault)
        if fault.place.file == "damaged.yaml":
            assert 0 <= fault.place.line <= text.count("\n") + 2
        else:
            # Another file that it names, which is not there.
            assert fault.place.file in text
            assert fault.place.line == 0


@settings(max_examples=few(200), deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(damaged())
def test_a_damaged_job_is_read_or_refused(text: str) -> None:
    answered(text)


NUMBER = re.compile(r"(?<=[\[ ])-?\d+(\.\d+)?(?=[,}\]\n])")
FIGURES = st.one_of(
    st.integers(1, 400).map(str),
    st.sampled_from([0.001, 0.01, 0.05, 0.1, 0.2, 0.5, 2.0, 5.0, 10.0, 20.0, 1e-9, 1e9]).map(
        lambda value: f"{value:.9f}"),
    st.floats(0.001, 100.0).map(lambda value: f"{value:.4f}"),
)


@st.composite
def resized(draw: st.DrawFn) -> str:
    """A demo job, still well written, with one to three of its numbers changed."""
    text = draw(st.sampled_from(TEXTS))
    for _ in range(draw(st.integers(1, 3))):
        found = list(NUMBER.finditer(text))
        number = draw(st.sampled_from(found))
        text = text[:number.start()] + draw(FIGURES) + text[number.end():]
    return text


@settings(max_examples=few(200), deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(resized())
def test_a_job_of_any_size_is_checked_or_refused(text: str) -> None:
    answered(text)


@pytest.mark.long
@settings(max_examples=20_000, deadline=None, suppress_health_check=list(HealthCheck))
@given(damaged() | resized())
def test_many_damaged_jobs_are_read_or_refused(text: str) -> None:
    answered(text)


OTHERS: tuple[Any, ...] = (3.5, 0, True, None, "x", [], [1], {}, {"x": 1}, [[]], [{"x": [1]}])


def places(data: Any, way: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The way to every value of a job."""
    within = (data.items() if isinstance(data, dict)
              else enumerate(data) if isinstance(data, list) else ())
    for word, value in within:
        yield (*way, word)
        yield from places(value, (*way, word))


def something_else(every: int) -> Iterator[tuple[str, tuple[Any, ...], Any]]:
    """Jobs with a value of another kind in one place: one of ``every`` of all that can be."""
    number = 0
    for text in TEXTS:
        for way in places(yaml.safe_load(text)):
            for other in OTHERS:
                number += 1
                if number % every == 0:
                    data = yaml.safe_load(text)
                    at = data
                    for word in way[:-1]:
                        at = at[word]
                    at[way[-1]] = other
                    yield yaml.safe_dump(data, sort_keys=False, allow_unicode=True), way, other


# A number that divides neither how many values there are in a job nor how many kinds.
@pytest.mark.parametrize("every", [2003, pytest.param(1, marks=pytest.mark.long)])
def test_any_kind_of_value_in_any_place_of_a_job_is_read_or_refused(every: int) -> None:
    tried = 0
    for text, way, other in something_else(every):
        tried += 1
        try:
            answered(text)
        except Exception as error:
            raise AssertionError(f"{way}: {other!r}") from error
    assert tried * every > 5000


@pytest.mark.parametrize(("word", "other"), sampled(
    product(["cutters", "setups", "wheel", "material", "post"], OTHERS), 3), ids=repr)
def test_any_kind_of_value_for_a_whole_part_of_a_job_is_read_or_refused(
    word: str, other: object
) -> None:
    data = yaml.safe_load(WHEEL)
    assert word in data
    answered(yaml.safe_dump({**data, word: other}, sort_keys=False))
