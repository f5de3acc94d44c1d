"""Names of holes in the plan of flat work: readable, none over another, on both faces."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from workshop import read

from camgen.layout import FlatLayout, flat_layout
from camgen.preview.flat.hole_names import draw_hole_names, holes_named
from camgen.preview.paper.board import Board, Box, new_board
from camgen.preview.paper.palette import palette

PLATE = """
job: plate
material: brass
plate:
  thickness: 1.2
  outline: {circle: 26}
  holes:
    dowels: {diameter: 1.0, at: [[-11, 0], [11, 0]]}
    screws: {diameter: 0.8, ring: {count: %d, diameter: 18}, countersink: 1.2}
    feet: {diameter: 0.8, at: [[0, 11]], face: under, counterbore: {diameter: 1.6, depth: 0.4}}
  jewels:
    third: {diameter: 1.5, at: [[%s, 2]], depth: 0.4, through: 0.8}
    fourth: {diameter: 1.5, at: [[-3, 2]]}
cutters: {mill: {kind: end-mill, diameter: 0.6}}
setups:
  - name: top
    stock: {disc: 30, thickness: 1.2}
    steps: [bore: {cutter: mill}]
  - name: under
    face: under
    turned-over: about Y
    stock: {left-by: top, thickness: 1.2}
    zero: {dowel: dowels-1, z: carrier}
    steps: [bore: {cutter: mill, holes: [feet-counterbore]}]
"""


def drawn(layout: FlatLayout) -> tuple[Board, int]:
    board = new_board(180.0, 120.0, palette(False))
    box = Box(5.0, 5.0, 90.0, 90.0)
    low_x, low_y, high_x, high_y = layout.stock.bounds
    panel = board.scaled(box, (low_x - 1, low_y - 1, high_x + 1, high_y + 1))
    return board, draw_hole_names(board, panel, layout, box)


@pytest.mark.parametrize("number", [0, 1])
def test_every_hole_is_named_on_both_faces(number: int) -> None:
    job = read(PLATE % (8, 3)).job
    layout = flat_layout(job, job.flat[number])
    board, named = drawn(layout)
    names = {text.get_text() for text in board.texts}
    assert named == len(holes_named(layout)) == len(names)
    assert {"dowels-1", "screws-8", "fourth"} <= names
    # A seat and the hole below it, about one middle, have one name: that of what was asked for.
    assert ("third" in names, "third-through" in names) == ((True, False) if number == 0
                                                            else (False, True))


@settings(max_examples=6)
@given(st.integers(2, 40), st.floats(-8, 8))
def test_no_name_lies_over_another_or_over_another_hole(count: int, x: float) -> None:
    job = read(PLATE % (count, round(x, 2))).job
    layout = flat_layout(job, job.flat[0])
    board, named = drawn(layout)
    assert len(board.texts) == named > 0
    extents = [board.extent(text) for text in board.texts]
    for one, other in itertools.combinations(extents, 2):
        assert not one.overlaps(other)
    for one in extents:
        assert one.x >= 5
        assert one.x + one.width <= 95.01


def test_of_very_many_holes_the_ends_of_each_sort_are_named() -> None:
    job = read(PLATE.replace("ring: {count: %d, diameter: 18}",
                             "rows: {columns: 8, rows: 8, pitch: [1.3, 1.3], at: [0, -4]}"
                             ) % "7").job
    names = {hole.name for hole in holes_named(flat_layout(job, job.flat[0]))}
    assert {"screws-1", "screws-64", "dowels-1", "dowels-2", "third"} <= names
    assert "screws-30" not in names
