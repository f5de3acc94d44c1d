"""Pockets and openings that break into a jewel's seat or a thread: told, or refused."""

from __future__ import annotations

import pytest
from message_templates import left_in_english
from workshop import DRIVEN, read

from camgen.faults import Fault
from camgen.job.checks.broken_walls import wall_remarks
from camgen.job.checks.whole_job import job_faults
from camgen.words import words

PLATE = """
job: walls
material: brass
made-elsewhere: [holes, jewels, pockets, slots, openings, outline]
plate:
  thickness: 1.6
  least-floor: 0.05
  outline: {rectangle: [24, 16]}
  holes:
    screw: {thread: S1.0, at: [[6, 0]]}
    dowels: {diameter: 1.0, at: [[-10, -6], [10, 6]]}
  jewels:
    third: {diameter: 1.5, at: [[0, 0]]%s}
  %s
cutters:
  mill: {kind: end-mill, diameter: 0.8, flutes: 2, flute-length: 2.4, reach: 3}
setups:
  - name: top
    stock: {sheet: [30, 24], thickness: 1.6}
    steps:
      - outline: {cutter: mill}
"""


def looked(jewel: str, shapes: str) -> tuple[list[Fault], tuple[str, ...]]:
    job_file = read(PLATE % (jewel, shapes))
    return ([fault for fault in job_faults(job_file, DRIVEN) if "no wall" in fault.message],
            wall_remarks(job_file.job))


@pytest.mark.parametrize(("jewel", "shapes"), [
    (", depth: 0.5", "pockets: {bay: {circle: 3, at: [4, 0.5], depth: 0.3}}"),
    (", depth: 0.5", "pockets: {bay: {circle: 6, at: [0, 0], depth: 0.3}}"),
    ("", "pockets: {bay: {circle: 3, at: [2.6, 0], depth: 0.3, face: under}}"),
])
def test_seats_beside_or_wholly_within_a_pocket_have_their_wall(jewel: str, shapes: str) -> None:
    found, told = looked(jewel, shapes)
    assert found == []
    assert not [one for one in told if one.startswith("third")]


@pytest.mark.parametrize(("jewel", "shapes", "left"), [
    (", depth: 0.5", "pockets: {bay: {circle: 3, at: [1.5, 0], depth: 0.3}}", "0.20"),
    ("", "pockets: {bay: {circle: 3, at: [1.5, 0], depth: 0.3}}", "1.30"),
    ("", "pockets: {bay: {circle: 3, at: [1.5, 0], depth: 0.3, face: under}}", "1.30"),
    (", depth: 0.5", "slots: {bay: {ends: [[0.8, -3], [0.8, 3]], width: 1, depth: 0.3}}", "0.20"),
])
def test_a_pocket_through_a_seats_wall_is_told(jewel: str, shapes: str, left: str) -> None:
    found, told = looked(jewel, shapes)
    assert found == []
    (note,) = told
    assert note.startswith("third and bay break into each other: on ")
    assert note.endswith(f"{left} mm of the wall are left")
    for language in ("de", "fr"):
        assert not left_in_english(words(language), note)


@pytest.mark.parametrize(("jewel", "shapes"), [
    (", depth: 0.5", "pockets: {bay: {circle: 3, at: [1.5, 0], depth: 0.5}}"),
    (", depth: 0.5", "pockets: {bay: {circle: 6, at: [0, 0], depth: 0.7}}"),
    (", depth: 0.5", "openings: {bay: {circle: 3, at: [1.5, 0]}}"),
])
def test_a_seat_that_has_no_wall_on_a_side_is_refused(jewel: str, shapes: str) -> None:
    (fault,), _ = looked(jewel, shapes)
    assert "the seat third and the" in fault.message
    assert fault.place.line > 0


def test_a_thread_at_a_pockets_edge_is_told() -> None:
    _, told = looked("", "pockets: {bay: {circle: 3, at: [7.8, 0], depth: 0.4}}")
    assert [note.split(" break")[0] for note in told] == ["screw and bay"]
