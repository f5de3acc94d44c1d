"""Teeth round part of a circle: which spaces are cut and what stays, in every order."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from motion_by_hand import evidence, program
from motion_by_hand import stack as whole_stack
from shapely import affinity
from test_proof_spaces import CLEAR, START, space, wheel
from workshop import DRIVEN, PLATES, TEETH, WHEEL, read

from camgen.faults import Refused
from camgen.moves import Index, Pause
from camgen.plan import plan_job
from camgen.proof.head.spaces import prove_spaces
from camgen.proof.head.tooth_form import prove_tooth_form
from camgen.shop.machine import Machine
from camgen.teeth.forms import wheel_tooth
from camgen.teeth.tooth import Tooth


def sector(first: int, last: int, words: str = "") -> str:
    """The third wheel with these spaces only, its teeth cut with these words."""
    toothed = WHEEL.replace("mate: 10, th", f"mate: 10, only: [{first}, {last}], th", 1)
    return toothed + TEETH % ("touch", f", {words}" if words else "")


def turned_to(text: str, machine: Machine = DRIVEN, from_space: int | None = None) -> list[Index]:
    planned = plan_job(read(text), machine, from_space=from_space).setups[0]
    return [move for move in planned.moves.sections[0].moves
            if isinstance(move, Index) and move.space]


FORMS = [("cycloidal", 75, {}), ("involute", 40, {"pressure_angle": 14.5}),
         ("ratchet", 45, {"depth": 0.1})]


@pytest.mark.parametrize(("form", "teeth", "own"), FORMS)
@settings(max_examples=3)
@given(data=st.data())
def test_outline_is_the_disc_less_the_spaces_there_are(form, teeth, own, data) -> None:
    first = data.draw(st.integers(1, teeth))
    last = data.draw(st.integers(first, teeth))
    tooth = replace(wheel_tooth(form, teeth, 0.14, 10, **own), only=(first, last))
    turns = np.linspace(0, 2 * math.pi, 6001)
    disc = shapely.Polygon(tooth.tip_radius * np.column_stack([np.cos(turns), np.sin(turns)]))
    gone = [affinity.rotate(shapely.Polygon(tooth.space(1e-4, 0.1)), 360 * (n - 1) / teeth,
                            origin=(0, 0)) for n in range(first, last + 1)]
    left = disc.difference(shapely.union_all(gone))
    drawn = shapely.Polygon(tooth.outline(2e-5))
    assert drawn.is_valid
    assert drawn.symmetric_difference(left).area < 2e-3
    path = tooth.outline_path(1e-4)
    for before, after in zip(path, (*path[1:], path[0]), strict=True):
        assert abs(before.end - after.start) < 1e-9


ORDERS = ["passes: 1", "passes: 2", "passes: 2, order: each-round",
          "passes: 2, trial-spaces: 3, trial-short: 0.05",
          "passes: 2, order: each-round, trial-spaces: 3, trial-short: 0.05",
          "passes: 1, trial-spaces: 2"]


@pytest.mark.parametrize("words", ORDERS)
@pytest.mark.parametrize("machine", [DRIVEN, PLATES], ids=["driven", "by hand"])
@pytest.mark.parametrize("only", [(1, 12), (30, 41), (64, 75)])
def test_only_these_spaces_are_cut_each_at_its_angle(words, machine, only) -> None:
    first, last = only
    found = turned_to(sector(first, last, words), machine)
    assert {one.space for one in found} == set(range(first, last + 1))
    for one in found:
        assert math.remainder(one.degrees - 360 * (one.space - 1) / 75, 360) == pytest.approx(
            0, abs=0.06 if machine is PLATES else 6e-4)
    angles = [one.degrees for one in found]
    assert all(after > before for before, after in itertools.pairwise(angles))
    moves = plan_job(read(sector(first, last, words)), machine).setups[0].moves.sections[0].moves
    if "trial" in words:
        at = next(n for n, move in enumerate(moves)
                  if isinstance(move, Pause) and "measure" in move.message)
        trial = 3 if "3" in words else 2
        assert {move.space for move in moves[:at] if isinstance(move, Index) and move.space} == set(
            range(first, first + trial))


@pytest.mark.parametrize("words", ORDERS[:3])
def test_work_begins_again_at_a_space_of_the_sector_and_nowhere_else(words) -> None:
    found = [one.space for one in turned_to(sector(20, 31, words), from_space=28)]
    assert found[:4] == [28, 29, 30, 31]
    assert set(found) == (set(range(20, 32)) if "round" in words else {28, 29, 30, 31})
    for beyond in (1, 19, 32, 75):
        with pytest.raises(Refused, match="counted from 20 to 31"):
            turned_to(sector(20, 31, words), from_space=beyond)


@pytest.mark.parametrize(("only", "remedy"), [
    ((0, 12), "only: [1, 12]"), ((1, 76), "only: [1, 12]"), ((70, 4), "only: [1, 10]")])
def test_spaces_that_are_none_are_refused_with_what_to_write(only, remedy) -> None:
    with pytest.raises(Refused) as refused:
        read(sector(*only))
    (told,) = refused.value.faults
    assert told.place.path.endswith("only")
    assert remedy in told.remedy
    numbers = remedy.removeprefix("only: [").removesuffix("]").split(", ")
    read(sector(*map(int, numbers)))


def test_as_many_trial_spaces_as_there_are_leave_nothing_to_correct() -> None:
    with pytest.raises(Refused, match="3 trial spaces of 3 leave nothing"):
        turned_to(sector(5, 7, "trial-spaces: 3"))


def partly(first: int = 10, last: int = 21) -> Tooth:
    return replace(whole_stack().tooth, only=(first, last))


def failing(pieces) -> set[str]:
    looked_at = evidence(replace(whole_stack(), tooth=partly()),
                         program([piece for one in pieces for piece in one],
                                 start=(START, CLEAR, 0)))
    return {str(proof.id) for proof in (*prove_spaces(looked_at), *prove_tooth_form(looked_at))
            if not proof.holds}


def cut_spaces(*numbers: int) -> list:
    return [[("index", -1.0)], *(space(round(360 * (n - 1) / 75, 3)) for n in numbers),
            [("index", 0.0)]]


def test_the_proofs_hold_for_the_sector_and_for_nothing_more_or_less() -> None:
    assert failing(cut_spaces(*range(10, 22))) == set()
    assert "head.spaces-missing" in failing(cut_spaces(*range(10, 21)))
    assert failing(cut_spaces(*range(10, 23))) == {"head.uncut-arc"}
    assert failing(cut_spaces(9, *range(10, 22))) == {"head.uncut-arc"}
    assert failing(cut_spaces(*range(10, 22), 60)) == {"head.uncut-arc"}
    # A whole wheel is no sector.
    assert "head.uncut-arc" in failing(wheel())


@pytest.mark.parametrize("n", [10, 15, 21])
def test_metal_left_in_a_space_of_a_sector_is_seen(n: int) -> None:
    pieces = cut_spaces(*range(10, 22))
    pieces[n - 9] = space(round(360 * (n - 1) / 75, 3), depth=whole_stack().tooth.sizes.whole_depth
                          - 0.02)
    assert "head.tooth-material-left" in failing(pieces)
