"""A fingerprint changes when what is meant changes, and only then."""

from __future__ import annotations

import copy
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st
from sampling import few, sampled

from camgen.faults import Refused
from camgen.job.reading import parse_job, read_job
from camgen.library.fingerprint import as_meant, fingerprint, motion_fingerprint
from camgen.make.chain import proved_job
from camgen.reader import read_program
from camgen.shipped import demo_jobs, shipped_folder
from camgen.shop.machines import find_machine
from camgen.shop.model import FileModel
from camgen.steps import step_words

JOBS = list(demo_jobs())


def _data(path: Path) -> Any:
    return yaml.safe_load(path.read_text(encoding="utf-8"))


def _print(data: Any, **style: Any) -> str:
    text = yaml.dump(data, Dumper=getattr(yaml, "CSafeDumper", yaml.SafeDumper), **style)
    # Beside the demo jobs, so that those they are based on are found.
    path = shipped_folder("jobs") / "job.yaml"
    return fingerprint(as_meant(parse_job(text, path, step_words()).job))


def _leaves(value: Any, way: tuple[Any, ...] = ()) -> Iterator[tuple[tuple[Any, ...], Any]]:
    if isinstance(value, dict):
        for key, item in value.items():
            yield from _leaves(item, (*way, key))
    elif isinstance(value, list):
        for place, item in enumerate(value):
            yield from _leaves(item, (*way, place))
    else:
        yield way, value


def _ends(leaves: Iterable[tuple[tuple[Any, ...], Any]]) -> Iterator[tuple[tuple[Any, ...], Any]]:
    """Of leaves that differ by their place in lists alone the first and the last."""
    alike: dict[tuple[Any, ...], list[tuple[tuple[Any, ...], Any]]] = {}
    for way, value in leaves:
        place = tuple("#" if isinstance(key, int) else key for key in way)
        alike.setdefault((place, type(value)), []).append((way, value))
    for some in alike.values():
        yield from some[:1] if len(some) == 1 else (some[0], some[-1])


def _shuffled(value: Any, random: Any) -> Any:
    if isinstance(value, dict):
        keys = list(value)
        random.shuffle(keys)
        return {key: _shuffled(value[key], random) for key in keys}
    if isinstance(value, list):
        return [_shuffled(item, random) for item in value]
    return value


@pytest.mark.parametrize("path", sampled(JOBS, 9, 2), ids=lambda p: p.stem)
@settings(max_examples=few(32), deadline=None)
@given(random=st.randoms(use_true_random=False), flow=st.booleans(), width=st.integers(20, 200))
def test_layout_comments_and_order_of_words_change_nothing(
    path: Path, random: Any, flow: bool, width: int
) -> None:
    text = path.read_text(encoding="utf-8")
    plain = fingerprint(as_meant(parse_job(text, path, step_words()).job))
    assert _print(_shuffled(yaml.safe_load(text), random), default_flow_style=flow, width=width,
                  sort_keys=False) == plain


def _other(value: Any) -> Any:
    """Another value of the same kind that a job might have."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, int):
        return value + 1
    if isinstance(value, float):
        return round(value * 1.03, 6) if value else 0.01
    return f"{value}x"


@pytest.mark.parametrize("path", sampled(JOBS, 12, 2), ids=lambda p: p.stem)
def test_every_value_that_moves_the_machine_changes_the_fingerprint(path: Path) -> None:
    """Values whose change leaves the print alone must leave every program's motion alone."""
    data = _data(path)
    plain = _print(data)
    silent = []
    for way, value in _ends(_leaves(data)):
        changed = copy.deepcopy(data)
        inner = changed
        for key in way[:-1]:
            inner = inner[key]
        inner[way[-1]] = _other(value)
        try:
            if _print(changed) == plain:
                silent.append((way, changed))
        except Refused:
            continue
    # What is left speaks to people only, or of what is made before or after: it moves nothing here.
    assert {way[0] for way, _ in silent} <= {"note", "quantity", "limits", "made-elsewhere"}
    assert silent


# Words of the whole job that speak to people or to the account only; a job's words of its family
# are joined before it is fingerprinted.
SILENT = {"based-on", "language", "note", "units", "quantity", "metal", "limits", "made-elsewhere"}


def _defaults(model: Any, way: str) -> Iterator[tuple[str, Any, str, Any]]:
    """Every field of a model and of the models in it that has a default: owner, name, other."""
    for name, field in type(model).model_fields.items():
        value = getattr(model, name)
        where = f"{way}.{field.alias or name}"
        models = isinstance(value, tuple) and any(isinstance(one, FileModel) for one in value)
        if not field.is_required() and not models:
            yield where, model, name, value
        for inner in value.values() if isinstance(value, dict) else (
                value if isinstance(value, tuple) else (value,)):
            if isinstance(inner, FileModel):
                yield from _defaults(inner, where)


def _with(model: Any, target: Any, name: str, value: Any) -> Any:
    """The model with one field of one model in it changed."""
    if model is target:
        return model.model_copy(update={name: value})
    update = {}
    for field in type(model).model_fields:
        held = getattr(model, field)
        if isinstance(held, FileModel):
            update[field] = _with(held, target, name, value)
        elif isinstance(held, dict):
            update[field] = {key: _with(one, target, name, value)
                             if isinstance(one, FileModel) else one for key, one in held.items()}
        elif isinstance(held, tuple):
            update[field] = tuple(_with(one, target, name, value)
                                  if isinstance(one, FileModel) else one for one in held)
    return model.model_copy(update=update)


@pytest.mark.filterwarnings("ignore:Pydantic serializer")  # a text where a group of words was
@pytest.mark.parametrize("path", sampled(JOBS, 12, 2), ids=lambda p: p.stem)
def test_every_value_left_to_its_default_changes_the_fingerprint_when_given(path: Path) -> None:
    """Also the fields that no demo job writes: any other value than the default is another job."""
    job = read_job(path, step_words()).job
    plain = fingerprint(as_meant(job))
    silent = set()
    for where, owner, name, value in _defaults(job, ""):
        other = _other(value) if isinstance(value, bool | int | float | str) else "something"
        if fingerprint(as_meant(_with(job, owner, name, other))) == plain:
            silent.add(where.removeprefix("."))
    assert {where for where in silent if not where.endswith("note")} <= SILENT | {
        "metal.recoverable", "metal.price"}


def test_words_to_people_leave_the_motion_alone(tmp_path: Path) -> None:
    data = _data(shipped_folder("jobs") / "seconds-pinion.yaml")
    prints = []
    for note, quantity in (("one", 8), ("another", 16)):
        data.update(note=note, quantity=quantity)
        (tmp_path / "wheel.yaml").write_text(yaml.safe_dump(data))
        proved = proved_job(tmp_path / "wheel.yaml")
        prints.append([motion_fingerprint(read) for s in proved.setups for read in s.read])
    assert prints[0] == prints[1]


def test_a_job_in_inches_is_the_same_job() -> None:
    # A module is millimetres by its definition (ISO 54) and stays so in a job in inches.
    wheel = {"teeth": 75, "module": 0.14, "mate": 10, "thickness": 0.25 / 25.4,
             "bore": 0.80 / 25.4}
    in_mm = {"job": "w", "material": "brass", "cutters": {"a": {"kind": "drill", "diameter": 0.8}},
             "setups": [{"name": "s", "safe-height": 5, "stock": {"disc": 12.7, "thickness": 0.25},
                         "steps": [{"drill": {"cutter": "a"}}]}]}
    in_inches = copy.deepcopy(in_mm)
    in_mm["wheel"] = {**wheel, "thickness": 0.25, "bore": 0.80}
    in_inches.update(wheel=wheel, units="inch")
    in_inches["cutters"] = {"a": {"kind": "drill", "diameter": 0.8 / 25.4}}
    in_inches["setups"][0].update({"safe-height": 5 / 25.4,
                                   "stock": {"disc": 0.5, "thickness": 0.25 / 25.4}})
    assert _print(in_mm) == _print(in_inches)


BLOCKS = "G17 G21 G90 G40 G49 G80 G94\nG54\nS1000 M3\nG0 Z5.\nX1. Y2.\nG1 Z-1. F50.\nX3.\nM30\n"


@pytest.mark.parametrize(("before", "after", "same"), [
    ("X3.", "X3.000", True),
    ("G1 Z-1. F50.", "N30 G1 F50. Z-1. (down)", True),
    ("X3.", "X3.001", False),
    ("F50.", "F51.", False),
    ("S1000", "S1001", False),
    ("X3.\n", "X3.\nM0\n", False),
])
def test_a_programs_motion_is_known_whatever_way_it_is_written(
    before: str, after: str, same: bool
) -> None:
    machine = find_machine("plain-iso")
    one = read_program(BLOCKS, machine)
    other = read_program(BLOCKS.replace(before, after), machine)
    assert (motion_fingerprint(one) == motion_fingerprint(other)) is same


def test_nothing_and_minus_nothing_are_the_same_place() -> None:
    assert fingerprint({"x": -0.0}) == fingerprint({"x": 0.0})
