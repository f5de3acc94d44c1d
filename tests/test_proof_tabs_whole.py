"""Tabs and skins stand as the job says: cut thinner, lower, shifted or not at all they are found.

Planted in the motion read back, on straight and curved walls and round openings.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from functools import cache, partial

import numpy as np
import pytest
from workshop import DRIVEN, PLATE, read

from camgen.arrays import Floats
from camgen.layout import FlatLayout
from camgen.plan import plan_job
from camgen.post.writer import write_programs
from camgen.proof import gather
from camgen.proof.evidence import FlatEvidence
from camgen.proof.flat.left_by_hand import prove_tabs_whole
from camgen.proof.result import Proof
from camgen.reader import read_program

HEAD = PLATE[:PLATE.index("  outline:")]
TAIL = PLATE[PLATE.index("cutters:"):]
TABS = "tabs: {count: 3, width: %s, height: 0.3}"
WALLS = {
    "circle": "  outline: {circle: 12}\n",
    "straight": "  outline: {rectangle: [12, 9], corner: 1}\n",
    "hollow": "  outline: {polygon: [[-6, -4], [6, -4], [6, 4], [1, 4], [1, 1], [-6, 4]],"
              " corner: 0.6}\n",
    "opening": "  outline: {circle: 14}\n  openings: {eye: {circle: 5}}\n",
    "bent opening": "  outline: {circle: 14}\n"
                    "  openings: {eye: {rectangle: [5, 3], corner: 0.5, turned: 20}}\n",
}


@cache
def unharmed(wall: str, words: str, more: str = "") -> FlatEvidence:
    """A plate's outline, or its opening, cut with these words of the step and read back."""
    kind = "cut-out" if "opening" in wall else "outline"
    text = (HEAD.replace("openings]", "openings, slots]") + WALLS[wall] + TAIL
            + f"      - {kind}: {{cutter: mill, thin: true, {words}}}\n"
            + (f"      - {kind}: {{cutter: mill, {more}}}\n" if more else ""))
    planned = plan_job(read(text), DRIVEN).setups[-1]
    programs = [read_program(one.text, DRIVEN, one.file)
                for one in write_programs(planned.moves, DRIVEN, stem="piece")]
    found = gather(planned.name, read(text).job, DRIVEN, planned.layout, planned.moves, programs,
                   planned_cuts=planned.cuts)
    assert isinstance(found, FlatEvidence)
    assert isinstance(found.layout, FlatLayout)
    return found


def harmed(evidence: FlatEvidence, change: Callable[[Floats], Floats]) -> Proof:
    """The proof once the places (n, 3) that the motion goes through are changed."""
    motion = evidence.motion
    (proof,) = prove_tabs_whole(replace(evidence, motion=replace(
        motion, start=change(motion.start), end=change(motion.end))))
    return proof


def lowered(places: Floats, top: float, by: float) -> Floats:
    """Tops of tabs by so much lower."""
    return np.column_stack([places[:, :2], places[:, 2] - by * (abs(places[:, 2] - top) < 1e-4)])


@pytest.mark.parametrize("width", [0.2, 0.8])
@pytest.mark.parametrize("wall", WALLS)
def test_tabs_cut_lower_thinner_or_shifted_are_found(wall: str, width: float) -> None:
    evidence = unharmed(wall, TABS % width)
    (proof,) = prove_tabs_whole(evidence)
    assert proof.holds, proof
    tabs = evidence.layout.tabs
    top = tabs[0].top
    middles = np.array([(tab.x, tab.y) for tab in tabs])

    def thinner(places: Floats) -> Floats:
        away = places[:, None, :2] - middles
        near = np.argmin(np.hypot(*away.T), axis=0)
        at = middles[near]
        drawn = at + (places[:, :2] - at) * (1 - 0.02 / (0.4 + width / 2))
        on_top = (abs(places[:, 2] - top) < 1e-4)[:, None]
        return np.column_stack([np.where(on_top, drawn, places[:, :2]), places[:, 2]])

    assert not harmed(evidence, thinner).holds
    for by in (0.01, 0.1, 0.6):
        low = harmed(evidence, partial(lowered, top=top, by=by))
        assert not low.holds
        assert low.figure > 300
        assert low.line
    # Across a corner there stands more than the width.
    far = 0.15 if "bent" in wall else 0.02
    for turn in range(4):
        shift = np.array([far * math.cos(turn), far * math.sin(turn), 0.0])
        assert not harmed(evidence, partial(np.add, shift)).holds


@pytest.mark.parametrize("wall", ["circle", "opening"])
def test_a_skin_cut_thinner_than_the_job_says_is_found(wall: str) -> None:
    evidence = unharmed(wall, "skin: 0.1")
    (proof,) = prove_tabs_whole(evidence)
    assert proof.holds
    assert not harmed(evidence, lambda places: lowered(
        places, evidence.layout.bottom + 0.1, 0.05)).holds


@pytest.mark.parametrize("words", [TABS % 0.8, "skin: 0.1"])
def test_a_step_that_is_to_go_through_tabs_may(words: str) -> None:
    evidence = unharmed("circle", words, "finish: 0.05")
    (proof,) = prove_tabs_whole(evidence)
    assert proof.holds
    (alone,) = prove_tabs_whole(replace(evidence, layout=replace(evidence.layout, tabs=tuple(
        replace(tab, until=None) for tab in evidence.layout.tabs))))
    assert not alone.holds


def test_where_no_tabs_are_there_is_nothing_to_prove() -> None:
    assert prove_tabs_whole(unharmed("circle", "skin: 0.1, cut-skin: true")) == ()
