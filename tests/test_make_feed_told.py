"""Where all of a step is arcs no move goes at the planned feed: the sheet says what one does."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sampling import sampled
from workshop import DRIVEN, read

from camgen.make.chain import proved_job
from camgen.make.files import output_of
from camgen.make.told.feed_told import feed_told
from camgen.make.told.same_said import said_of
from camgen.messages import Message
from camgen.moves import Arc, Feed, Rapid, Section
from camgen.plan import plan_job

JOB = """
job: plate
post: plain-iso
material: brass
made-elsewhere: [outline, openings, pockets]
plate:
  thickness: 1.2
  outline: {circle: 10}
  openings: {%s}
  pockets: {p: {circle: 2, depth: 0.4, at: [0, -3]}}
cutters:
  mill: {kind: end-mill, diameter: 0.8, flute-length: 2.4, reach: 2.8}
setups:
  - name: one
    stock: {sheet: [18, 18], thickness: 1.2}
    holding: {by: shellac on brass, cut-into: 0.5, holds-slugs: true}
    steps:
      - %s
"""
ROUND = "o: {circle: 3}"
CASES = [
    (ROUND, "cut-out: {cutter: mill}"),
    ("o: {circle: 2, at: [-2.5, 0]}, q: {circle: 4, at: [1.5, 0]}", "cut-out: {cutter: mill}"),
    (ROUND, "cut-out: {cutter: mill, tabs: {count: 2, width: 0.3, height: 0.3}}"),
    (ROUND, "cut-out: {cutter: mill, direction: conventional}"),
    (ROUND, "cut-out: {cutter: mill, feed: 100}"),
    (ROUND, "outline: {cutter: mill}"),
    (ROUND, "pocket: {cutter: mill}"),
    ("o: {circle: 2, at: [-2.5, 0]}, q: {rectangle: [3, 3], corner: 1, at: [2, 0]}",
     "cut-out: {cutter: mill}"),
]


@pytest.mark.parametrize(("openings", "step"), sampled(CASES, 4))
def test_sheets_of_what_is_round_say_a_feed_of_their_programs(
    openings: str, step: str, tmp_path: Path
) -> None:
    """The files are made only where sheet and programs say the same."""
    job = tmp_path / "plate.yaml"
    job.write_text(JOB % (openings, step))
    (_, setup) = said_of(output_of(proved_job(job), pictures=False).files["sheet.html"].decode())
    assert all(float(one.feed) > 0 for one in setup.steps)


def test_inside_a_circle_it_is_slower_as_the_edge_is_further_out() -> None:
    """0.06 mm or so are left on a wall of 1.5: the middle goes round at 1.1 less that."""
    planned = plan_job(read(JOB % CASES[0]), DRIVEN).setups[0]
    (section,), (cut,) = planned.moves.sections, planned.cuts
    left = 1.1 - max(about for _, about in _level(section) if about < 1.099)
    assert 0.01 < left < 0.1
    assert feed_told(section, cut.feed, 0.4) == pytest.approx(
        cut.feed * (1.1 - left) / (1.5 - left))


@pytest.mark.parametrize(("openings", "step"), sampled(CASES, 2))
def test_it_is_a_feed_of_the_step_and_the_planned_one_where_that_is(
    openings: str, step: str
) -> None:
    planned = plan_job(read(JOB % (openings, step)), DRIVEN).setups[0]
    for section, cut in zip(planned.moves.sections, planned.cuts, strict=True):
        feeds = [move.feed for move in section.moves if isinstance(move, Feed | Arc)]
        told = feed_told(section, cut.feed, 0.4)
        assert told in feeds
        if cut.feed in feeds:
            assert told == cut.feed


@given(st.floats(0.05, 50), st.floats(5, 2000), st.floats(0.05, 5), st.floats(1, 5000))
def test_on_one_circle_alone_it_is_the_feed_of_that_circle(
    about: float, planned: float, radius: float, acceleration: float
) -> None:
    feed = min(planned * about / (about + radius), 60 * math.sqrt(acceleration * about))
    moves = (Rapid(z=5.0), Rapid(x=about, y=0.0), Feed(planned / 10, z=-0.1),
             Arc(feed, (0.0, 0.0), False, x=-about, y=0.0),
             Arc(feed, (0.0, 0.0), False, x=about, y=0.0))
    section = replace(EMPTY, moves=moves)
    assert feed_told(section, planned, radius) == pytest.approx(feed, rel=0.031, abs=0.81)


EMPTY = Section(Message("cut"), 0, "mill", 1, Message("mill"), 20000.0, ())


def _level(section: Section) -> list[tuple[float, float]]:
    """Feed and radius of the arcs about 0, 0."""
    return [(move.feed, math.hypot(move.x or 0.0, move.y or 0.0)) for move in section.moves
            if isinstance(move, Arc) and move.centre == (0.0, 0.0)]
