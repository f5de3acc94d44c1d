"""Holes are visited by short ways: within a step, and from one step to the next."""

from __future__ import annotations

import itertools
import math

import pytest
from workshop import DRIVEN, read

from camgen.moves import Arc, Drill, Rapid
from camgen.plan import PlannedSetup, plan_job

PLACES = [(-7.0, 0.0), (7.0, 1.0), (-5.0, 3.0), (5.0, -3.0), (-2.0, -4.0), (2.0, 5.0), (0.0, 0.0)]
PLATE = """
job: plate
material: brass
made-elsewhere: [outline]
plate:
  thickness: 1.0
  outline: {circle: 20}
  holes:
    posts: {thread: M1.6, diameter: 1.2, at: PLACES}
    feet: {diameter: 1.2, at: [[-8, 1], [8, -1], [0, 8]], countersink: 1.6}
cutters:
  cone: {kind: spot-drill, diameter: 2.0, point-angle: 90, reach: 6}
  drill: {kind: drill, diameter: 1.2, flute-length: 6, reach: 8}
  thread: {kind: thread-mill, diameter: 0.9, pitch: 0.35, flutes: 3, reach: 3}
setups:
  - name: top
    stock: {sheet: [50, 30], thickness: 1.0}
    holding: {by: wax on a carrier, carrier: brass, carrier-thickness: 5, cut-into: 0.6,
              holds-slugs: true}
    REPEAT
    steps:
""".replace("PLACES", str([list(place) for place in PLACES]))
STEPS = (
    "spot: {cutter: cone, holes: [posts]}",
    "drill: {cutter: drill, holes: [posts]}",
    "thread-mill: {cutter: thread, thread: M1.6, holes: [posts]}",
    "drill: {cutter: drill, holes: [feet]}",
    "countersink: {cutter: cone}",
)


def planned(*steps: str, repeat: str = "") -> PlannedSetup:
    text = PLATE.replace("REPEAT", repeat) + "".join(f"      - {step}\n" for step in steps)
    return plan_job(read(text), DRIVEN).setups[0]


def visits(one: PlannedSetup, number: int) -> list[tuple[float, float]]:
    """The middles of the holes a step makes, in order."""
    found: list[tuple[float, float]] = []
    at: tuple[float, float] | None = None
    for move in one.moves.sections[number].moves:
        if isinstance(move, Drill):
            at = move.x, move.y
        elif isinstance(move, Arc):
            at = move.centre
        elif isinstance(move, Rapid) and move.x is not None and move.y is not None:
            at = move.x, move.y
        else:
            continue
        middle = min(((x, y) for x, y in [*PLACES, (-8, 1), (8, -1), (0, 8)]),
                     key=lambda place: math.dist(place, at))
        if math.dist(middle, at) < 0.5 and (not found or found[-1] != middle):
            found.append(middle)
    return found


def length(way: list[tuple[float, float]]) -> float:
    return sum(math.dist(a, b) for a, b in itertools.pairwise(way))


def shortest(places: list[tuple[float, float]], start: tuple[float, float]) -> float:
    return min(length([start, *order]) for order in itertools.permutations(places))


@pytest.mark.parametrize("step", [1, 2])
def test_seven_holes_are_gone_through_by_the_shortest_way_there_is(step: int) -> None:
    """Every order tried out: 5040 of them."""
    one = planned(*STEPS[: step + 1])
    way = visits(one, step)
    assert sorted(way) == sorted(PLACES)
    before = visits(one, step - 1)[-1]
    assert length([before, *way]) == pytest.approx(shortest(PLACES, before), rel=1e-9)


def test_a_step_begins_where_the_one_before_it_left_the_cutter() -> None:
    one = planned(*STEPS)
    assert visits(one, 1)[0] == visits(one, 0)[-1]
    assert visits(one, 2)[0] == visits(one, 1)[-1]
    assert visits(one, 4)[0] == visits(one, 3)[-1]
    # From the last thread to the nearer end of the way through the feet.
    last = visits(one, 2)[-1]
    feet = visits(one, 3)
    assert length([last, *feet]) == pytest.approx(shortest(feet, last), rel=1e-9)


def test_all_kinds_together_travel_less_than_each_from_its_first_hole() -> None:
    one = planned(*STEPS)
    whole = length([place for number in range(5) for place in visits(one, number)])
    apart = 0.0
    at = None
    for number in range(5):
        alone = visits(planned(STEPS[number]), 0) if number not in (4,) else visits(
            planned(STEPS[3], STEPS[4]), 1)[::-1]
        apart += length(alone) + (math.dist(at, alone[0]) if at else 0.0)
        at = alone[-1]
    assert whole < 0.95 * apart


def test_pieces_are_still_bored_one_after_the_other_alike() -> None:
    """A thread's moves come again at every piece, for machines that hold them once."""
    one = planned(STEPS[2], repeat="repeat: {columns: 2, pitch: [22, 22]}")
    arcs = [move for move in one.moves.sections[0].moves if isinstance(move, Arc)]
    half = len(arcs) // 2
    for first, second in zip(arcs[:half], arcs[half:], strict=True):
        assert second.centre[0] - first.centre[0] == pytest.approx(22.0)
        assert second.centre[1] == pytest.approx(first.centre[1])
