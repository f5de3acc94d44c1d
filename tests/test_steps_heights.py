"""How high a cutter travels within a step: over the face and every clamp, and no higher."""

from __future__ import annotations

import pytest
from workshop import PLATE, plate

from camgen.moves import Arc, Drill, Feed, Rapid, Section

STEPS = ("drill: {cutter: drill}", "pocket: {cutter: mill}", "bore: {cutter: mill, drilled: 0.6}",
         "outline: {cutter: mill}")


def across(section: Section) -> list[float]:
    """The Z of every rapid across."""
    heights, z = [], float("nan")
    for move in section.moves:
        if isinstance(move, Drill):
            heights.append(z)
            z = move.travel
        elif isinstance(move, Rapid | Feed | Arc):
            if isinstance(move, Rapid) and move.z is None:
                heights.append(z)
            z = z if move.z is None else move.z
    return heights


@pytest.mark.parametrize("step", STEPS)
def test_only_the_first_way_of_a_step_is_at_the_safe_height(step: str) -> None:
    found = plate(step)
    assert across(found.moves.sections[0])[0] == found.moves.retract_to
    assert found.moves.sections[-1].moves[-1] == Rapid(z=found.moves.retract_to)
    for number, section in enumerate(found.moves.sections):
        heights = [z for z in across(section) if z == z]
        if number and heights:
            # From one section of a step to the next it goes low, or is all clear.
            ends = found.moves.sections[number - 1].moves[-1]
            assert (heights[0] == found.moves.retract_to) == (
                ends == Rapid(z=found.moves.retract_to))
        # Now and then it rises, so that a control that holds little can be given parts.
        assert heights.count(found.moves.retract_to) <= 1 + len(section.moves) / 150
        assert set(heights) <= {found.moves.retract_to, 0.5}


def test_between_sections_of_a_step_it_rises_only_over_what_stands() -> None:
    """One pocket shallow, one deep: each has a cut, and so a section, of its own."""
    found = plate("pocket: {cutter: mill}").moves
    first, *more = found.sections
    assert more
    assert first.moves[-1] == Rapid(z=0.5)
    onward = more[0].moves[0]
    assert isinstance(onward, Rapid)
    assert onward.z is None
    # Two steps, though with the same cutter, are each begun and ended all clear.
    twice = plate("pocket: {cutter: mill, pockets: [barrel]}",
                  "pocket: {cutter: mill, pockets: [bridge]}").moves.sections
    ends = {one.step: one.moves[-1] for one in twice}
    assert set(ends.values()) == {Rapid(z=found.retract_to)}


def test_clamps_are_gone_over() -> None:
    clamped = PLATE.replace("holds-slugs: true", "holds-slugs: true, clamps: [[-14.9, -14.9, "
                            "-13.5, -13.5, 3]]")
    found = plate("drill: {cutter: drill}", "bore: {cutter: mill, drilled: 0.6}", text=clamped)
    for section in found.moves.sections:
        assert set(across(section)[1:]) <= {3.5, 0.5, found.moves.retract_to}
        assert 3.5 in across(section)


def test_springing_back_is_for_the_last_depth_alone() -> None:
    """A long cutter that finishes a hole in several levels goes round again at the last one."""
    slender = PLATE.replace("reach: 2.8}", "reach: 6}")
    never, thrice = (plate(f"bore: {{cutter: mill, drilled: 0.6, spring-passes: {count}}}",
                           text=slender) for count in (0, 3))
    assert never.cuts[0].others[-1].depth < 1.0 or never.cuts[0].depth < 1.0
    bored = [sum(isinstance(move, Arc) for move in one.moves.sections[0].moves)
             for one in (never, thrice)]
    # Five holes, three rounds each, of one arc or two.
    assert bored[1] - bored[0] in (15, 30)
