"""Starting again, air cuts and dry indexing."""

from __future__ import annotations

import numpy as np
import pytest
from post_support import follow, random_flat, random_teeth, written_and_read

from camgen.faults import Refused
from camgen.moves import Arc, Drill, Feed, Index, Rapid, Section, SetupMoves
from camgen.post.restart import dry_index, from_cutter, from_step, raised_by
from camgen.reader.motion import Kind
from camgen.shop.machines import find_machine

PLAIN = find_machine("plain-iso")


def test_starting_at_a_step_or_cutter_leaves_out_what_was_done() -> None:
    setup = random_flat(5, sections=6)
    assert [s.step for s in from_step(setup, 3).sections] == [2, 3, 4, 5]
    number = setup.sections[-1].cutter_number
    first = next(s for s in setup.sections if s.cutter_number == number)
    assert from_cutter(setup, number).sections[0] is first
    for again in (from_step(setup, 3), from_cutter(setup, number)):
        _, read = written_and_read(again, PLAIN)
        assert follow(again, PLAIN, read) == []
    for step in (7, 0):
        with pytest.raises(Refused, match=f"no step {step}(.|\n)*from 1 to 6"):
            from_step(setup, step)
    with pytest.raises(Refused, match="no step 1"):
        from_step(SetupMoves("nothing", (), "Z", 5.0), 1)
    with pytest.raises(Refused, match="cutter 99"):
        from_cutter(setup, 99)


@pytest.mark.parametrize("height", [0.25, 0.0, -3.0])
def test_an_air_cut_is_higher_than_the_cut_or_refused(height: float) -> None:
    moves = (Rapid(z=5.0), Rapid(x=1.0, y=2.0), Feed(60.0, z=-1.0), Drill(1.0, 2.0, 3.0, -2.0, 30.0,
                                                                        5.0))
    setup = SetupMoves("work", (Section("cut", 0, "m", 1, "MILL", 9000, moves),), "Z", 5.0)
    if height <= 0.0:
        with pytest.raises(Refused, match="greater than nothing"):
            raised_by(setup, height)
        return
    raised = raised_by(setup, height)
    assert raised.retract_to == 5.25
    assert raised.sections[0].moves == (Rapid(z=5.25), Rapid(x=1.0, y=2.0), Feed(60.0, z=-0.75),
                                        Drill(1.0, 2.0, 3.25, -1.75, 30.0, 5.25))


@pytest.mark.parametrize("seed", range(3))
def test_an_air_cut_is_the_same_way_higher_up(seed: int) -> None:
    setup = random_flat(seed, planes=("XY",))
    whole = written_and_read(setup, PLAIN)[1][0].motion
    air = written_and_read(raised_by(setup, 20.0), PLAIN)[1][0].motion
    assert np.allclose(np.nan_to_num(air.end - [0, 0, 20.0]), np.nan_to_num(whole.end), atol=0.0011)
    assert len(air) == len(whole)


def test_an_air_cut_of_teeth_goes_out_along_the_infeed() -> None:
    setup = random_teeth(3, PLAIN, 30)
    air = raised_by(setup, 12.0)
    assert air.retract_to == setup.retract_to - 12.0
    motion = written_and_read(air, PLAIN)[1][0].motion
    assert np.nanmax(motion.end[:, 1]) <= 0.3 - 12.0 + 1e-9
    with pytest.raises(Refused, match="would cut"):
        raised_by(setup, 0.0)


def test_an_air_cut_takes_the_centres_of_standing_arcs_along() -> None:
    moves = (Rapid(z=5.0), Rapid(x=0.0, y=0.0), Feed(30.0, z=-1.0),
             Arc(30.0, (-1.0, 2.0), False, x=4.0, z=-1.0, plane="ZX"), Rapid(z=5.0))
    setup = SetupMoves("arch", (Section("arch", 0, "m", 1, "MILL", 9000, moves),), "Z", 5.0)
    arc = raised_by(setup, 10.0).sections[0].moves[3]
    assert isinstance(arc, Arc)
    assert (arc.centre, arc.z) == ((9.0, 2.0), 9.0)


@pytest.mark.parametrize("name", ["plain-iso", "hand-dividing", "shortest-way-rotary"])
def test_a_dry_index_turns_through_every_space_and_cuts_nothing(name: str) -> None:
    machine = find_machine(name)
    setup = random_teeth(5, machine, 12)
    dry = dry_index(setup)
    _, read = written_and_read(dry, machine)
    motion = read[0].motion
    assert set(motion.kind.tolist()) <= {int(Kind.RAPID), int(Kind.INDEX)}
    assert not motion.speed.any()
    meant = [m.degrees for m in setup.sections[0].moves if isinstance(m, Index) and m.space]
    reached = [float(a) for a in motion.angle_end]
    assert all(min(abs(a - b) for b in reached) < 1e-3 for a in meant)
    with pytest.raises(Refused, match="no head turns"):
        dry_index(random_flat(1))
