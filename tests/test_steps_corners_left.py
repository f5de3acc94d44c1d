"""Corners that a cutter does not get into: rounded by the job, or left to a file as is said.

What is left is reckoned by other means: for straight walls r·(1/sin(a/2) − 1), plane trigonometry,
and for any wall as the area that a disc of the cutter's size does not reach, grown and shrunk by
shapely in fine chords.
"""

from __future__ import annotations

import math
import time
from dataclasses import replace

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from sampling import few
from test_steps_drawn_curves import CUTTER, TEXT, told
from workshop import DRIVEN, read

from camgen.faults import Refused
from camgen.job.checks.whole_job import check_job
from camgen.layout import FlatWork, flat_layout
from camgen.part.fillets import filleted
from camgen.part.tight import tight_corners, wall_as_left
from camgen.shapes.path import ArcTo, LineTo, Path, Point, circle, polygon
from camgen.tolerances import LEFT_IN_CORNER

R = CUTTER / 2
STAR = [((4 if n % 2 == 0 else 2) * math.cos(math.pi * n / 7),
         (4 if n % 2 == 0 else 2) * math.sin(math.pi * n / 7)) for n in range(14)]
ELSEWHERE = "made-elsewhere: [outline]\n"


def words(points: list[tuple[float, float]], more: str = "") -> str:
    return "{polygon: [" + ", ".join(f"[{x:.6f}, {y:.6f}]" for x, y in points) + f"]{more}}}"


def begun(path: Path, at: int, backwards: bool) -> Path:
    """The same wall begun at another of its pieces, and run the other way."""
    at %= len(path.pieces)
    starts = [start for start, _ in path.laid_out()]
    turned = Path(starts[at], path.pieces[at:] + path.pieces[:at], closed=True)
    return turned.reversed() if backwards else turned


def rest(path: Path, radius: float) -> float:
    """Area that a disc inside a wall does not reach, mm², by shapely."""
    region = path.region(2e-6)
    reached = region.buffer(-radius, quad_segs=400).buffer(radius, quad_segs=400)
    return float(region.area - reached.area)


@st.composite
def hollows(draw: st.DrawFn) -> Path:
    """A wall round the middle, of lines and arcs, with sharp and slight corners."""
    count = draw(st.integers(3, 9))
    far = [draw(st.floats(2.5, 5.0)) for _ in range(count)]
    points = [Point(size * math.cos(math.tau * n / count), size * math.sin(math.tau * n / count))
              for n, size in enumerate(far)]
    pieces: list[LineTo | ArcTo] = []
    for start, end in zip(points, (*points[1:], points[0]), strict=True):
        bulge = draw(st.sampled_from([0.0, 0.0, 0.1, 0.25]))
        if not bulge:
            pieces.append(LineTo(end))
            continue
        share = (1 - bulge * bulge) / (4 * bulge)
        pieces.append(ArcTo(end, Point((start.x + end.x) / 2 - (end.y - start.y) * share,
                                       (start.y + end.y) / 2 + (end.x - start.x) * share), False))
    return Path(points[0], tuple(pieces), closed=True)


@settings(max_examples=few(25), deadline=None)
@given(hollows(), st.integers(0, 8), st.booleans(), st.floats(0, 360))
@example(polygon(STAR), 3, True, 17.0)
def test_what_is_left_is_what_a_disc_does_not_reach(
    path: Path, at: int, backwards: bool, turned: float
) -> None:
    made, corners = wall_as_left(path, R)
    region = made.region(2e-6)
    assert region.is_valid
    left = path.region(2e-6).area - region.area
    assert left == pytest.approx(rest(path, R), rel=0.01, abs=1e-4)
    for one in corners:
        straight = R * (1 / math.sin(math.radians(one.angle) / 2) - 1)
        assert one.left <= straight + LEFT_IN_CORNER
    # Where the line begins, which way it runs and how it lies changes nothing.
    other = begun(path, at, backwards).moved(1.0, 2.0, turned)
    again, others = wall_as_left(other, R, outside=backwards)
    assert abs(again.area) == pytest.approx(made.area, abs=1e-6)
    assert sorted(one.left for one in others) == pytest.approx(
        sorted(one.left for one in corners), abs=1e-4)


@settings(max_examples=few(25), deadline=None)
@given(st.floats(20, 170), st.floats(0.05, 1.0))
def test_between_straight_walls_it_is_what_trigonometry_says(angle: float, radius: float) -> None:
    half, long = math.radians(angle) / 2, 30.0
    path = polygon([(0.0, 0.0), (long * math.cos(half), -long * math.sin(half)),
                    (long * math.cos(half), long * math.sin(half))])
    _, corners = wall_as_left(path, radius)
    reckoned = radius * (1 / math.sin(half) - 1)
    here = [one for one in corners if math.dist(one.at, (0, 0)) < 1e-9]
    assert bool(here) == (reckoned > LEFT_IN_CORNER)
    for one in here:
        assert one.angle == pytest.approx(angle, abs=1e-6)
        assert one.left == pytest.approx(reckoned, abs=1e-6)


def test_walls_side_by_side_are_no_corner() -> None:
    dead_end = polygon([(-3, -3), (0, -3), (0, -0.2), (2, -0.2), (2, 0.2), (0, 0.2), (0, 3),
                        (-3, 3)])
    with pytest.raises(Refused, match="nearer than the cutter is wide"):
        wall_as_left(dead_end, R)
    assert wall_as_left(dead_end, 0.15)[1]


@pytest.mark.parametrize("ends", [(1.0, 3.0), (2.0, 2.0), (8.0, 0.7)])
@pytest.mark.parametrize(("at", "backwards"), [(0, False), (1, True), (4, False)])
def test_where_a_line_meets_an_arc_bent_away_is_a_corner(
    ends: tuple[float, float], at: int, backwards: bool
) -> None:
    # Two walls at a right angle, one bent away from the cutter: by what a disc touches, less is
    # left than between straight ones. From the line at R, from the arc's middle at radius + R.
    near, far = ends
    wall = begun(Path(Point(-9 + near, 0), (
        LineTo(Point(9 - far, 0)), ArcTo(Point(9, far), Point(9, 0), clockwise=True),
        LineTo(Point(9, 9)), LineTo(Point(-9, 9)), LineTo(Point(-9, near)),
        ArcTo(Point(-9 + near, 0), Point(-9, 0), clockwise=True)), closed=True), at, backwards)
    corners = wall_as_left(wall, R, outside=backwards)[1]
    for radius, place in ((far, (9 - far, 0.0)), (near, (-9 + near, 0.0))):
        centre = math.sqrt((radius + R) ** 2 - R**2)
        reckoned = math.hypot(radius - centre, R) - R
        (found,) = [one for one in corners if math.dist(one.at, place) < 1e-6]
        assert found.left == pytest.approx(reckoned, abs=1e-6)


def test_joints_of_a_curve_are_no_corners_and_a_tight_one_is_one() -> None:
    def oval(a: float, b: float, sides: int) -> Path:
        return polygon([(a * math.cos(math.tau * n / sides), b * math.sin(math.tau * n / sides))
                        for n in range(sides)])

    assert tight_corners(oval(6, 4, 200), R) == []
    ends = [one for one in tight_corners(oval(6, 1.2, 200), R) if not one.in_lines]
    assert sorted(round(one.at.x) for one in ends) == [-6, 6], "each end once"


@settings(max_examples=few(20), deadline=None)
@given(hollows(), st.integers(0, 8), st.booleans(), st.floats(0.05, 0.3))
def test_a_fillet_at_drawn_corners_is_that_of_a_disc(
    path: Path, at: int, backwards: bool, radius: float
) -> None:
    """Opened and closed by a disc: all corners, hollow or standing out, and nothing else."""
    made = filleted(begun(path, at, backwards), radius)
    region = path.region(2e-6)
    rolled = region.buffer(-radius, quad_segs=300).buffer(2 * radius, quad_segs=300).buffer(
        -radius, quad_segs=300)
    assert made.region(2e-6).symmetric_difference(rolled).area < 2e-3 * radius
    assert tight_corners(made if made.area > 0 else made.reversed(), radius) == []


def test_a_corner_radius_is_heard_or_refused() -> None:
    bow = "{path: [{to: [4, 0]}, {to: [0, 0], centre: [2, 0]}], corner: 0.45}"
    assert told("outline: {cutter: mill}", bow) == []
    big = "{path: [{to: [4, 0]}, {to: [0, 0], centre: [2, 0]}], corner: 2.5}"
    assert any("does not fit in the corner" in one for one in told("outline: {cutter: mill}", big))
    for figure in ("circle: 6", "slot: [[-3, 0], [3, 0]], width: 4"):
        answers = told("outline: {cutter: mill}", f"{{{figure}, corner: 0.5}}")
        assert any("has no corner to round" in one for one in answers)
    with pytest.raises(Refused, match="does not fit"):
        filleted(polygon([(0, 0), (1, 0), (1, 1), (0, 1)]), 0.6)
    assert filleted(circle(Point(0, 0), 3), 0.5).area == pytest.approx(9 * math.pi)


@pytest.mark.parametrize("correction", ["", ", correction: 0.02", ", correction: -0.02"])
@pytest.mark.parametrize("own", [True, False])
def test_corners_left_are_cut_and_proved(correction: str, own: bool) -> None:
    more = ", inside-corners: left" if own else ""
    plate = "" if own else "  inside-corners: left\n"
    step = f"{{cutter: mill{correction}}}"
    assert told(f"outline: {step}", words(STAR, more), plate) == []
    assert told(f"cut-out: {step}", "{rectangle: [14, 12]}",
                f"{plate}  openings:\n    eye: {words(STAR, more)}\n{ELSEWHERE}") == []


@pytest.mark.parametrize("correction", ["", ", correction: 0.02"])
def test_unless_they_are_left_they_are_refused_with_the_word(correction: str) -> None:
    answers = told(f"cut-out: {{cutter: mill{correction}}}", "{rectangle: [14, 12]}",
                   f"  openings:\n    eye: {words(STAR)}\n{ELSEWHERE}")
    assert len(answers) == 1
    assert "14 corners" not in answers[0]
    assert "7 corners" in answers[0]
    assert told(f"cut-out: {{cutter: mill{correction}}}", "{rectangle: [14, 12]}",
                f"  inside-corners: left\n  openings:\n    eye: "
                f"{words(STAR, ', inside-corners: drawn')}\n{ELSEWHERE}") == answers


def test_a_pocket_with_an_island_is_left_with_its_corners() -> None:
    hollow = "{depth: 0.1, rectangle: [2.4, 2.2], inside-corners: left}"
    assert told("pocket: {cutter: mill}", "{rectangle: [14, 10]}",
                f"  pockets:\n    seat: {hollow}\n{ELSEWHERE}") == []
    island = hollow.replace("}", ", islands: [{circle: 0.2, inside-corners: left}]}")
    text = TEXT.format(outline="{circle: 12}", more=f"  pockets:\n    seat: {island}\n",
                       cutter=CUTTER)
    with pytest.raises(Refused, match="what stands in a pocket does not say"):
        read(f"{text}      - pocket: {{cutter: mill}}\n")


def test_more_left_than_said_fails_its_proof() -> None:
    """The unharmed program holds; with a figure said too small the same motion does not."""
    from camgen.plan import plan_job
    from camgen.post.writer import write_programs
    from camgen.proof import gather
    from camgen.proof.flat.left_by_hand import prove_corners_left
    from camgen.reader import read_program

    text = TEXT.format(outline=words(STAR, ", inside-corners: left"), more="", cutter=CUTTER)
    job = read(f"{text}      - outline: {{cutter: mill}}\n")
    check_job(job, DRIVEN)
    planned = plan_job(job, DRIVEN).setups[0]
    programs = [read_program(one.text, DRIVEN, one.file)
                for one in write_programs(planned.moves, DRIVEN, stem="star")]
    evidence = gather(planned.name, job.job, DRIVEN, planned.layout, planned.moves, programs,
                      planned_cuts=planned.cuts)
    (whole,) = prove_corners_left(evidence)
    assert whole.holds
    part = evidence.layout.part
    less = tuple(replace(one, corner=replace(one.corner, left=one.corner.left - 0.02))
                 for one in part.corners_left)
    harmed = replace(evidence, layout=replace(
        evidence.layout, part=replace(part, corners_left=less)))
    (proof,) = prove_corners_left(harmed)
    assert not proof.holds
    assert proof.figure == pytest.approx(20, abs=2)


@pytest.mark.parametrize("outside", [False, True])
def test_a_wall_of_two_thousand_lines_is_looked_over_at_once(outside: bool) -> None:
    """Twenty corners of it took fifteen seconds where every piece was asked about each corner."""
    wavy = [(r * math.cos(t), r * math.sin(t)) for n in range(2000) for t in [math.tau * n / 2000]
            for r in [10 + (0.8 if outside else -0.8) * abs(math.sin(10 * t))
                      + 0.01 * math.sin(300 * t)]]
    path = polygon(wavy)
    begun_at = time.process_time()
    _, corners = wall_as_left(path, 0.05, outside)
    assert time.process_time() - begun_at < 3.0
    assert len(corners) >= 20


def test_the_picture_of_a_setup_marks_its_own_corners() -> None:
    text = TEXT.format(
        outline=words(STAR, ", inside-corners: left"),
        more="  pockets:\n    seat: {depth: 0.1, rectangle: [1.6, 1.4], inside-corners: left}\n",
        cutter=CUTTER)
    text += ("      - pocket: {cutter: mill}\n  - name: edge\n"
             "    stock: {left-by: top, thickness: 0.5}\n"
             "    holding: {by: wax on a carrier, carrier: brass, carrier-thickness: 5, "
             "cut-into: 0.5}\n    steps:\n      - outline: {cutter: mill}\n")
    job = read(text).job
    seen = []
    for setup in job.flat:
        layout = flat_layout(job, setup)
        shown = FlatWork(setup, layout).shown
        seen.append({one.word for one in shown.part.corners_left})
        assert {one.word for one in layout.part.corners_left} == {"outline", "pockets"}
    assert seen == [{"pockets"}, {"outline"}]
