"""No two round holes of a plate go by one name, whatever kinds they are and however many."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st
from workshop import read

from camgen.faults import Refused
from camgen.part.plates.plate import Plate
from camgen.part.plates.round_features import round_holes_of, round_names

JOB = """
job: plate
material: brass
made-elsewhere: [outline, holes, jewels]
plate:
  thickness: 1.2
  outline: {circle: 40}
  holes: {%s}
  jewels: {%s}
cutters:
  d08: {kind: drill, diameter: 0.8}
setups:
  - name: one
    stock: {sheet: [50, 50], thickness: 1.2}
    steps:
      - drill: {cutter: d08}
"""
NAMES = ("a", "a-1", "a-2", "a-through", "a-through-1", "a-counterbore", "a-counterbore-2", "b")


def entry(name: str, row: int, places: int, more: str = "") -> str:
    at = [[-12 + 3 * number, -12 + 3 * row] for number in range(places)]
    return f"{name}: {{at: {at}, diameter: 0.8{more}}}"


def told(holes: str, jewels: str = "") -> list[tuple[str, str]]:
    """Words at fault and what is told of them."""
    try:
        read(JOB % (holes, jewels))
    except Refused as no:
        return [(fault.place.path, fault.message) for fault in no.faults]
    return []


BORED = ", counterbore: {diameter: 1.6, depth: 0.4}"
ON = ", depth: 0.4, through: 0.5"


@pytest.mark.parametrize(("holes", "jewels", "at", "says"), [
    (entry("a", 0, 2) + ", " + entry("a-2", 1, 1), "", "holes.a-2",
     "place 2 of the hole a and the hole a-2 are both called a-2"),
    (entry("a-1", 0, 1) + ", " + entry("a", 1, 3), "", "holes.a",
     "the hole a-1 and place 1 of the hole a are both called a-1"),
    (entry("a-1", 0, 1), entry("a", 1, 2), "jewels.a",
     "the hole a-1 and place 1 of the jewel hole a are both called a-1"),
    (entry("a-through", 0, 1), entry("a", 1, 1, ON), "jewels.a",
     "the hole a-through and the hole below the seat of a are both called a-through"),
    (entry("a-through-1", 0, 1), entry("a", 1, 2, ON), "jewels.a",
     "the hole a-through-1 and place 1 of the hole below the seat of a are both called"),
    (entry("a-counterbore", 0, 1) + ", " + entry("a", 1, 1, BORED), "", "holes.a",
     "the hole a-counterbore and the counterbore of a are both called a-counterbore"),
    (entry("a", 0, 1), entry("a", 1, 1), "jewels.a",
     "the hole a and the jewel hole a are both called a"),
    # One name for all of a pattern, and for another hole beside it.
    (entry("a-through", 0, 1), entry("a", 1, 2, ON), "jewels.a", "are both called a-through"),
])
def test_the_second_of_two_holes_of_one_name_is_refused(
    holes: str, jewels: str, at: str, says: str
) -> None:
    ((path, message),) = told(holes, jewels)
    assert path == f"plate.{at}"
    assert says in message


def test_every_pair_is_told_once() -> None:
    found = told(entry("a", 0, 3, BORED) + ", " + entry("a-1", 1, 1) + ", " + entry("a-3", 2, 1)
                 + ", " + entry("a-counterbore-2", 3, 1), entry("a", 4, 3))
    assert [path for path, _ in found] == [
        "plate.holes.a-1", "plate.holes.a-3", "plate.holes.a-counterbore-2", "plate.jewels.a"]


some = st.dictionaries(st.sampled_from(NAMES), st.tuples(st.integers(1, 3), st.booleans()),
                       max_size=4)


@given(some, some)
def test_holes_are_refused_where_and_only_where_two_go_by_one_name(
    holes: dict[str, tuple[int, bool]], jewels: dict[str, tuple[int, bool]]
) -> None:
    texts = [", ".join(entry(name, row, places, more if also else "")
                       for row, (name, (places, also)) in enumerate(one.items(), first))
             for one, first, more in ((holes, 0, BORED), (jewels, 4, ON))]
    found = told(*texts)
    assert all("both called" in message for _, message in found)
    plate = Plate.model_validate(_data(holes, jewels))
    rounds = list(round_holes_of(plate, "brass-leaded"))
    named = [one.name for one in rounds]
    assert named == [own for each in round_names(plate) for own in each.own]
    # A word is asked of single holes and of all that share a group.
    asked = Counter(name for group in {(one.group, one.at) for one in rounds}
                    for name in {group[0]} | {one.name for one in rounds
                                              if (one.group, one.at) == group})
    assert bool(found) == any(times > 1 for times in asked.values())


def _data(
    holes: dict[str, tuple[int, bool]], jewels: dict[str, tuple[int, bool]]
) -> dict[str, object]:
    def places(count: int) -> list[tuple[float, float]]:
        return [(3.0 * number, 0.0) for number in range(count)]

    return {
        "thickness": 1.2, "outline": {"circle": 40},
        "holes": {name: {"at": places(count), "diameter": 0.8} | (
            {"counterbore": {"diameter": 1.6, "depth": 0.4}} if also else {})
            for name, (count, also) in holes.items()},
        "jewels": {name: {"at": places(count), "diameter": 0.8} | (
            {"depth": 0.4, "through": 0.5} if also else {})
            for name, (count, also) in jewels.items()},
    }
