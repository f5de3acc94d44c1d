"""No tab is thinned where the last pass is led in and off, however close the tabs stand."""

from __future__ import annotations

import itertools
import json
import math

import numpy as np
import pytest
from plate_drafts import Draft, fillet_path, round_about
from sampling import sampled
from workshop import PLATE, Stroke, plate, strokes

from camgen.layout import FlatLayout
from camgen.moves import Arc
from camgen.shapes.path import ArcTo, Path, Point


def places(stroke: Stroke) -> list[tuple[float, float, float]]:
    """Twenty places on the way of a stroke."""
    (x, y, z), (u, v, w) = stroke.start, stroke.end
    if math.isnan(x + y + z) or not isinstance(stroke.move, Arc):
        return [(x + (u - x) * s, y + (v - y) * s, z + (w - z) * s)
                for s in np.linspace(0, 1, 21)]
    arc = ArcTo(Point(u, v), Point(*stroke.move.centre), stroke.move.clockwise)
    path = Path(Point(x, y), (arc,), closed=False)
    return [(*path.at(path.length * s), z + (w - z) * s) for s in np.linspace(0, 1, 21)]


def outline(seed: int, radius: float) -> str:
    """A plate's outline of five to seven unequal sides, its corners rounded."""
    draft = Draft(f"tabs {seed}")
    return json.dumps({"path": fillet_path(
        round_about(draft, 6.0, draft.rng.randint(5, 7), 0.2), radius)})


@pytest.mark.parametrize("seed", sampled(range(24), 12, 3))
def test_no_place_of_the_cutter_lies_in_a_tab(seed: int) -> None:
    for (diameter, finish, direction), (count, width) in itertools.product(
        ((1.5, 0.075, "climb"), (0.8, 0.3, "conventional")), ((2, 1.6), (4, 0.8))
    ):
        words = (f"cutter: mill, finish: {finish}, direction: {direction}, thin: true, "
                 f"tabs: {{count: {count}, width: {width}, height: 0.3}}")
        text = PLATE[:PLATE.index("  outline:")] + (
            f"  outline: {outline(seed, 1.0)}\n") + PLATE[PLATE.index("cutters:"):]
        text = text.replace("diameter: 0.80,", f"diameter: {diameter},")
        planned = plate(f"outline: {{{words}}}", text=text)
        assert isinstance(planned.layout, FlatLayout)
        assert len(planned.layout.tabs) == count
        gone = np.array([place for stroke in strokes(planned.moves.sections[0].moves)
                         for place in places(stroke)])
        gone = gone[~np.isnan(gone).any(axis=1)]
        for tab in planned.layout.tabs:
            over = np.hypot(gone[:, 0] - tab.x, gone[:, 1] - tab.y) < 0.9 * (diameter + width) / 2
            assert over.any()
            assert gone[over, 2].min() > tab.top - 1e-6
