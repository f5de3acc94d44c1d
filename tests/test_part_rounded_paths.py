"""Paths whose figures were rounded to 0.001 mm, as drawings and pocket calculators give them."""

from __future__ import annotations

import math
import random
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plate_drafts import fillet_path
from sampling import few

from camgen.faults import Refused
from camgen.part.figures import path_of
from camgen.part.plates.plate_words import PathPiece, Shape
from camgen.shapes.figures import rounded
from camgen.shapes.offset import Area, offset
from camgen.shapes.path import ArcTo, sweep, turn_between

HOLLOW = [[-5.0, -4.0], [5.0, -4.0], [5.0, 4.0], [2.0, 4.0], [2.0, 1.0], [-2.0, 1.0], [-2.0, 4.0],
          [-5.0, 4.0]]


def shape(sides: list[list[float]], radius: float) -> Shape:
    return Shape(path=tuple(PathPiece.model_validate(one) for one in fillet_path(sides, radius)))


@pytest.mark.parametrize("seed", range(12))
def test_an_outline_with_rounded_fillets_has_one_way_round_it(seed: int) -> None:
    """Every arc has one radius, no place is moved by more than figures were, and it can be cut."""
    rng = random.Random(seed)
    sides = [[x + rng.uniform(-0.4, 0.4), y + rng.uniform(-0.4, 0.4)] for x, y in HOLLOW]
    given = shape(sides, rng.uniform(0.55, 0.9))
    path = path_of(given)
    assert given.path is not None
    for (at, piece), said in zip(path.laid_out(), given.path, strict=True):
        if isinstance(piece, ArcTo):
            radius = math.dist(at, piece.centre)
            assert radius == pytest.approx(math.dist(piece.end, piece.centre), abs=1e-9)
            assert said.centre is not None
            assert radius == pytest.approx(math.dist(at, said.centre), abs=0.0015)
    plain = path.region(1e-4)
    for away in (0.4, 0.5, 0.55):
        (grown,) = offset(Area(path), away)
        assert grown.size == pytest.approx(plain.buffer(away, quad_segs=64).area, abs=5e-3)


@pytest.mark.parametrize("radius", [1.55, 1.7, 1.95])
def test_fillets_larger_than_their_room_are_refused_where_the_path_turns_back(
    radius: float,
) -> None:
    with pytest.raises(Refused, match="turns back on itself at X") as no:
        path_of(shape(HOLLOW, radius))
    assert all("a smaller one" in str(fault.remedy) for fault in no.value.faults)


@pytest.mark.parametrize("first", range(4))
@pytest.mark.parametrize("way", [1, -1])
def test_a_rounded_polygon_is_the_same_whichever_corner_it_begins_at(first: int, way: int) -> None:
    """One arc is longer than half of each side beside it: no way goes back on itself there."""
    corners = [(2.88, 0.0), (1.372, 0.499), (-1.5, 0.0), (1.372, -0.499)][::way]
    path = rounded(corners[first:] + corners[:first], 0.3)
    assert path.area == pytest.approx(rounded(corners, 0.3).area, abs=1e-9)
    assert path.length == pytest.approx(rounded(corners, 0.3).length, abs=1e-9)
    # Every piece goes on where the one before pointed: a whole turn in all.
    turns = [abs(sweep(at, piece)) for at, piece in path.laid_out() if isinstance(piece, ArcTo)]
    assert sum(turns) == pytest.approx(math.tau, abs=1e-9)
    ways = list(path.laid_out())
    for (at, piece), (_, after) in zip(ways, ways[1:] + ways[:1], strict=True):
        assert abs(turn_between(at, piece, after)) < 1e-6


@settings(max_examples=few(40), deadline=None)
@given(st.lists(st.floats(2.0, 6.0), min_size=3, max_size=9), st.floats(0.05, 1.2),
       st.integers(0, 8), st.booleans(), st.floats(0, 360))
def test_a_rounded_polygon_is_refused_or_not_whichever_corner_it_begins_at(
    far: list[float], radius: float, first: int, backwards: bool, turned: float
) -> None:
    """The same sides are told of, or the same wall is made, hollow corners and round ones."""
    count = len(far)
    corners = [(r * math.cos(math.radians(turned) + math.tau * n / count),
                r * math.sin(math.radians(turned) + math.tau * n / count))
               for n, r in enumerate(far)]
    first %= count
    other = (corners[first:] + corners[:first])[::-1 if backwards else 1]

    def answer(points: list[tuple[float, float]]) -> tuple[float, float] | set[frozenset[str]]:
        try:
            path = rounded(points, radius)
        except Refused as no:
            return {frozenset(re.findall(r"-?[0-9.e-]+ Y -?[0-9.e-]+", fault.message))
                    for fault in no.faults}
        ways = list(path.laid_out())
        for (at, piece), (_, after) in zip(ways, ways[1:] + ways[:1], strict=True):
            assert abs(turn_between(at, piece, after)) < 1e-6
        return path.area, path.length

    one, again = answer(corners), answer(other)
    if isinstance(one, set):
        assert one == again
    else:
        assert again == pytest.approx(one, abs=1e-9)
