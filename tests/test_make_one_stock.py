"""Parts of several jobs on one stock: one program, each part proved from its share of the text."""

from __future__ import annotations

import dataclasses
import itertools
import json
import math
from pathlib import Path

import numpy as np
import pytest
import shapely
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st
from sampling import few

from camgen.cli import group
from camgen.faults import Refused
from camgen.job.joined.one_stock.packing import PieceBox, packed_in_rows
from camgen.job.joined.one_stock.reading import read_one_stock
from camgen.job.reading import read_job
from camgen.make.one_stock.chain import ProvedStock, proved_stock
from camgen.make.one_stock.order import in_one_order
from camgen.make.one_stock.told import output_of_stock
from camgen.plan import plan_job
from camgen.proof import prove_flat
from camgen.proof.flat.neighbours import prove_neighbours
from camgen.proof.ground.planned import lay_out
from camgen.reader.motion import Kind
from camgen.shop.machines import find_machine
from camgen.steps import step_words

PART = """\
job: {name}
material: brass
plate:
  thickness: 0.5
  outline: {outline}
  holes: {{{holes}}}
cutters:
  {cutters}
setups:
  - name: one
    stock: {{sheet: [20, 20], thickness: 0.5}}
    holding: {{by: wax, carrier: brass, carrier-thickness: 3, cut-into: 0.5, holds-slugs: true}}
    steps:
{steps}
"""
MILL = "{kind: end-mill, diameter: 1, flutes: 2, flute-length: 2.4, reach: 4}"
DRILL = "{kind: drill, diameter: 0.8, flute-length: 4, reach: 6}"
BAR = PART.format(
    name="bar", outline="{rectangle: [8, 3]}", holes="a: {diameter: 0.8, at: [[3, 0.5]]}",
    cutters=f"mill: {MILL}\n  d: {DRILL}",
    steps="      - drill: {cutter: d}\n      - outline: {cutter: mill}")
# Its cutters have other names, and it cuts its opening before it drills.
DISC = PART.format(
    name="disc", outline="{circle: 5}", holes="a: {diameter: 0.8, at: [[1.5, 0]]}",
    cutters=f"small: {DRILL}\n  cutter: {MILL}",
    steps="      - cut-out: {cutter: cutter}\n      - drill: {cutter: small}\n"
          "      - outline: {cutter: cutter}").replace(
    "cutters:\n", "  openings: {eye: {circle: 1.4}}\ncutters:\n", 1)
# The same in inches, 0.5 mm thick as the others.
INCH = """\
job: small
units: inch
material: brass
plate:
  thickness: 0.01968503937
  outline: {circle: 0.16}
  holes: {a: {diameter: 0.03149606299, at: [[0, 0.04]]}}
cutters:
  d: {kind: drill, diameter: 0.03149606299, flute-length: 0.15748031496, reach: 0.23622047244}
  m: {kind: end-mill, diameter: 0.03937007874, flutes: 2, flute-length: 0.09448818898,
      reach: 0.15748031496}
setups:
  - name: one
    stock: {sheet: [0.8, 0.8], thickness: 0.01968503937}
    holding: {by: wax, carrier: brass, carrier-thickness: 0.1, cut-into: 0.02, holds-slugs: true}
    steps:
      - drill: {cutter: d}
      - outline: {cutter: m}
"""
STOCK = """\
job: sheet
pieces:
{pieces}
stock: {{sheet: [40, 24], thickness: 0.5}}
{more}holding: {{by: wax, carrier: brass, carrier-thickness: 3, cut-into: 0.5, holds-slugs: true}}
"""
THREE = """\
  - {job: bar.yaml, at: [-8, 5], turned: 37}
  - {job: bar.yaml, name: upright, turned: 90,
     ring: {count: 2, diameter: 10, start: 90, at: [10, 0]}}
  - {job: disc.yaml, at: [[0, -5], [-8, -5]]}
  - {job: inch.yaml, at: [2, 6]}"""


def written(folder: Path, pieces: str, more: str = "", **others: str) -> Path:
    for name, text in {"bar": BAR, "disc": DISC, "inch": INCH, **others}.items():
        (folder / f"{name}.yaml").write_text(text, "utf-8")
    path = folder / "sheet.yaml"
    path.write_text(STOCK.format(pieces=pieces, more=more), "utf-8")
    return path


@pytest.fixture(scope="module")
def three(tmp_path_factory: pytest.TempPathFactory) -> ProvedStock:
    return proved_stock(written(tmp_path_factory.mktemp("three"), THREE))


def test_every_part_is_proved_from_its_share_of_one_program(three: ProvedStock) -> None:
    assert three.failed == ()
    assert [program.file for program in three.sides[0].programs] == ["sheet.nc"]
    assert [one.kind.names for one in three.sides[0].kinds] == [
        ("bar",), ("upright-1",), ("upright-2",), ("disc-1", "disc-2"), ("inch",)]
    # Every proof of flat work is made of every kind, and none of them of an empty share.
    for one in three.sides[0].kinds:
        assert one.evidence.cut.sum() > 10
        assert any(proof.id.word == "neighbours-whole" for proof in one.proofs)
    shared = sum(int(one.evidence.cut.sum()) for one in three.sides[0].kinds)
    assert shared == int(three.sides[0].evidence.cut.sum())


def test_holes_and_edges_lie_where_the_file_says_reckoned_by_hand(three: ProvedStock) -> None:
    """From the text alone: where drills go down, and how far the mill goes round each part."""
    motion = three.sides[0].evidence.motion
    drill = next(s.cutter_number for s in three.sides[0].moves.sections if s.cutter == "d")
    down = (motion.cutter == drill) & (motion.end[:, 2] < -0.5)
    found = np.unique(motion.end[down, :2].round(3), axis=0)
    cos, sin = math.cos(math.radians(37)), math.sin(math.radians(37))
    meant = [(-8 + 3 * cos - 0.5 * sin, 5 + 3 * sin + 0.5 * cos),
             (10 - 0.5, 5 + 3), (10 + 0.5, -5 - 3),
             (1.5, -5), (-6.5, -5), (2, 6 + 1.016)]
    assert found.tolist() == [pytest.approx(place, abs=1e-3) for place in sorted(meant)]
    low = motion.end[(motion.cutter != drill) & (motion.end[:, 2] < -0.5)]
    # The upright bar, 3 wide and 8 high about X10 Y5, with the mill's
    # radius round it and 0.05 more before the last pass.
    upright = low[(low[:, 0] > 7) & (low[:, 1] > 0)]
    assert upright[:, 0].min() == pytest.approx(10 - 2.05, abs=2e-3)
    assert upright[:, 0].max() == pytest.approx(10 + 2.05, abs=2e-3)
    assert upright[:, 1].max() == pytest.approx(5 + 4.55, abs=2e-3)


def test_cutters_are_changed_as_seldom_as_the_jobs_orders_allow(three: ProvedStock) -> None:
    """Bars drill and cut out; discs mill, drill and mill: mill, drill, mill does all."""
    side, = three.sides
    changes = [cutter for cutter, _ in itertools.groupby(s.cutter for s in side.moves.sections)]
    assert changes == ["mill", "d", "mill"]
    assert sum(event.kind == "cutter-change" for program in side.read
               for event in program.events) == 3
    for number in range(len(side.kinds)):
        own = [section.title for section, kind in
               zip(side.moves.sections, side.of_kind, strict=True) if kind == number]
        assert [str(title).split(": ")[1] for title in own] == [
            str(section.title) for section in side.kinds[number].planned.moves.sections]


def test_a_share_moved_by_little_is_found(three: ProvedStock) -> None:
    for axis in (0, 1):
        one = three.sides[0].kinds[0]
        shift = np.zeros(3)
        shift[axis] = 0.02
        motion = one.evidence.motion
        moved = dataclasses.replace(one.evidence, motion=dataclasses.replace(
            motion, start=motion.start + shift, end=motion.end + shift,
            centre=motion.centre + shift))
        assert any(not proof.holds for proof in prove_flat(moved))
    assert all(proof.holds for proof in prove_flat(three.sides[0].kinds[0].evidence))


def test_a_neighbour_cut_into_is_found(three: ProvedStock) -> None:
    here = three.sides[0].kinds[0].evidence
    # The lane round the turned bar, 1.05 mm wide with what is left for a last pass, ends so far
    # from its middle along its own X.
    ray = np.array([math.cos(math.radians(37)), math.sin(math.radians(37))])
    for inside, holds in ((-0.01, True), (0.02, False)):
        at = np.array([-8.0, 5.0]) + ray * (4.0 + 1.05 + 2.0 - inside)
        other = shapely.Point(*at).buffer(2.0, quad_segs=512)
        proof = prove_neighbours(here, ["other"], [other])
        assert proof.holds == holds
    assert proof.figure == pytest.approx(0.02, abs=1e-3)
    assert "other" in proof.where


def test_sheet_picture_and_report_tell_of_every_piece(three: ProvedStock) -> None:
    output = output_of_stock(three, pictures=False)
    sheet = output.files["sheet.html"].decode()
    names = ["bar", "upright-1", "upright-2", "disc-1", "disc-2", "inch"]
    assert [one["name"] for one in output.report["pieces"]] == names
    for name in names:
        assert f"{name}, of " in sheet
    assert output.report["pieces"][0]["turned"] == 37
    assert json.loads(output.files["report.json"]) == json.loads(json.dumps(output.report))
    assert output.files["sheet.nc"] == three.sides[0].programs[0].text


@pytest.mark.parametrize(("pieces", "says"), [
    ("  - {job: bar.yaml, at: [0, 0]}\n  - {job: disc.yaml, at: [5, 0]}", "disc lies over bar"),
    ("  - {job: bar.yaml, at: [0, 0]}\n  - {job: disc.yaml, at: [0, 4.7]}",
     "outline of bar would cut 0.35 mm into disc"),
    ("  - {job: bar.yaml, at: [18, 0]}", "piece 1 does not lie on the stock"),
    ("  - {job: bar.yaml, at: [-13, 8]}", "bar lies under clamp 1"),
    ("  - {job: bar.yaml, at: [-4.9, 3], turned: 90}",
     "the cutters of bar would run 0.45 mm into clamp 1"),
    ("  - {job: bar.yaml}\n  - {job: bar.yaml, at: [0, 6]}", "two pieces are called bar"),
    ("  - {job: bar.yaml, mirrored: true}", "another part"),
    ("  - {job: none.yaml}", "the part's job is not there"),
    ("  - {job: thick.yaml}", "is made from stock of 1 mm, and this stock is 0.5 mm thick"),
    ("  - {job: bar.yaml}\n  - {job: steel.yaml, at: [0, 8]}", "one part is of brass, another of"),
    ("  - {job: bar.yaml}\n  - {job: faced.yaml, at: [0, 8]}",
     "faced.yaml faces the stock otherwise than bar.yaml"),
    ("  - {job: bar.yaml}\n  - {job: priced.yaml, at: [0, 8]}",
     "priced.yaml says otherwise than bar.yaml what comes back of its metal"),
    ("  - {job: faced.yaml}", "faced: nothing to face"),
    ("  - {job: bar.yaml, drawn-at: {drawing: a.svg}}", "the places of pieces are said here"),
    ("  - {job: sheet.yaml}", "puts parts of several jobs on one stock"),
    ("  - {job: bar.yaml, at: [[0, 0], [0, 3.7]]}", "between the pieces 0.70 mm are left"),
])
def test_what_cannot_lie_together_is_refused_in_words(
    tmp_path: Path, pieces: str, says: str
) -> None:
    path = written(
        tmp_path, pieces, "",
        thick=BAR.replace("0.5}", "1}").replace("thickness: 0.5", "thickness: 1"),
        priced=BAR.replace("material:", "metal: {price: 60}\nmaterial:"),
        steel=BAR.replace("brass\nplate", "steel\nplate"),
        faced=BAR.replace("      - drill", "      - face: {cutter: mill}\n      - drill"))
    clamp = "holding: {clamps: [[-20, 6, -7, 12, 3]], "
    path.write_text(path.read_text("utf-8").replace("holding: {", clamp), "utf-8")
    with pytest.raises(Refused) as no:
        proved_stock(path)
    assert any(says in fault.message for fault in no.value.faults), no.value.faults
    assert all(fault.place.line > 0 for fault in no.value.faults)


@settings(max_examples=few(6), deadline=None)
@given(st.integers(-12000, 12000).map(lambda n: n / 1000),
       st.integers(-6000, 6000).map(lambda n: n / 1000))
def test_the_same_part_anywhere_has_the_same_motion(
    tmp_path_factory: pytest.TempPathFactory, x: float, y: float
) -> None:
    folder = tmp_path_factory.mktemp("any")
    machine = find_machine("plain-iso")
    found = []
    for at in ((0.0, 0.0), (x, y)):
        path = written(folder, f"  - {{job: disc.yaml, at: [{at[0]!r}, {at[1]!r}]}}")
        kind, = read_one_stock(path, step_words()).kinds
        motion = lay_out(plan_job(kind.job_file, machine).setups[0].moves).motion
        cut = motion.kind != Kind.RAPID
        found.append(motion.end[cut] - np.array([*at, 0.0]))
    assert found[0].shape == found[1].shape
    assert np.abs(found[0] - found[1]).max() < 1e-9


@settings(max_examples=few(60), deadline=None)
@given(st.lists(st.lists(st.integers(1, 4), max_size=5), min_size=1, max_size=3))
def test_orders_are_kept_with_the_fewest_changes(cutters: list[list[int]]) -> None:
    order = in_one_order(cutters)
    for job, mine in enumerate(cutters):
        assert [step for one, step in order if one == job] == list(range(len(mine)))
    changes = len(list(itertools.groupby(cutters[job][step] for job, step in order)))
    # No common supersequence is shorter: tried by the length, up to what was found.
    runs = [[cutter for cutter, _ in itertools.groupby(mine)] for mine in cutters]
    assert changes >= max(len(mine) for mine in runs)
    for shorter in range(changes):
        if 4 ** shorter > 5000:
            break
        for way in itertools.product((1, 2, 3, 4), repeat=shorter):
            assert not all(_within(mine, way) for mine in runs)


def _within(mine: list[int], way: tuple[int, ...]) -> bool:
    ahead = iter(way)
    return all(cutter in ahead for cutter in mine)


def test_make_and_check_take_such_a_file_and_others_say_what_it_is(tmp_path: Path) -> None:
    path = written(tmp_path, "  - {job: bar.yaml, turned: 90}")
    done = CliRunner().invoke(group, ["make", str(path), "--out", str(tmp_path / "out"),
                                      "--no-pictures"])
    assert done.exit_code == 0, done.output
    assert "bar, of bar.yaml, at X 0 Y 0, turned 90°" in done.output
    assert sorted(one.name for one in (tmp_path / "out").iterdir()) == [
        "report.json", "sheet.html", "sheet.nc"]
    with pytest.raises(Refused, match="puts parts of several jobs on one stock"):
        read_job(path, step_words())


def test_packed_pieces_lie_apart_on_the_stock_and_are_proved(tmp_path: Path) -> None:
    path = written(tmp_path, "  - {job: bar.yaml, count: 2, turned: 90}\n  - {job: disc.yaml}",
                   "packed: {between: 1.2}\n")
    stock = proved_stock(path)
    assert stock.failed == ()
    # All in one row along Y, from 1 mm off the corner at X-20 Y-12: the bars lying, 8 long and 3
    # wide, then the disc of 5; so 40 - 1 - 8 - 1.2 = 29.8 of the length stay whole.
    assert [place for one in stock.sides[0].kinds for place in one.kind.places] == [
        pytest.approx(place, abs=2e-3) for place in (
            (-15.0, -9.5), (-15.0, -5.3), (-16.5, -0.1))]
    assert stock.stock_file.packed is not None
    assert stock.stock_file.packed.free == pytest.approx((29.8, 24.0), abs=1e-3)
    parts = 2 * 8 * 3 + math.pi * 2.5**2
    assert stock.used == pytest.approx(parts / (40 * 24), rel=1e-3)


@settings(max_examples=few(40), deadline=None)
@given(st.lists(st.tuples(st.floats(0.5, 15), st.floats(0.5, 15), st.integers(0, 3)),
                min_size=1, max_size=25),
       st.floats(0.0, 2.0), st.floats(0.0, 2.0))
def test_packed_boxes_keep_apart_and_within_the_stock(
    sizes: list[tuple[float, float, int]], between: float, edge: float
) -> None:
    boxes = [PieceBox(wide, high, kind, kind % 2 == 1) for wide, high, kind in sizes]
    packed = packed_in_rows(boxes, (40.0, 30.0), between, edge)
    assert packed.placed > 0
    placed = []
    for box, lie in zip(boxes, packed.lies, strict=True):
        if lie is not None:
            assert box.turns or not lie.turned
            wide, high = (box.high, box.wide) if lie.turned else (box.wide, box.high)
            placed.append(shapely.box(lie.x, lie.y, lie.x + wide, lie.y + high))
    inner = shapely.box(edge, edge, 40 - edge, 30 - edge).buffer(1e-6)
    for n, one in enumerate(placed):
        assert inner.covers(one)
        for other in placed[:n]:
            (a, b, c, d), (e, f, g, h) = one.bounds, other.bounds
            assert max(a - g, e - c, b - h, f - d) >= between - 1e-6
    # What is said to stay whole is: at the far end of X or of Y nothing comes into it.
    length, width = packed.free
    if packed.placed == len(boxes) and length * width > 0:
        gone = shapely.union_all(placed)
        assert any(gone.intersection(end).area < 1e-6 for end in (
            shapely.box(40 - length, 0, 40, 30), shapely.box(0, 30 - width, 40, 30))
            if end.area <= length * width + 1e-6)
    # Turning is of use or is not done: as drawn no more are placed.
    still = packed_in_rows([dataclasses.replace(one, turns=False) for one in boxes],
                           (40.0, 30.0), between, edge)
    assert still.placed <= packed.placed


def test_pieces_are_turned_to_be_packed_where_that_saves_and_where_they_may(
    tmp_path: Path
) -> None:
    """A bar 3 by 8 in a strip 7 wide goes in lying alone; its grain keeps it out."""
    strip = ("sheet: [40, 24]", "sheet: [40, 7]")
    pieces = "  - {job: bar.yaml, count: 2, turned: 90}\n  - {job: disc.yaml}"
    path = written(tmp_path, pieces, "packed: {between: 1.2}\n")
    path.write_text(path.read_text("utf-8").replace(*strip), "utf-8")
    stock = proved_stock(path)
    assert stock.failed == ()
    assert [one.kind.turned for one in stock.parts] == [180.0, 0.0]
    report = output_of_stock(stock, pictures=False).report
    assert any("bar: 2 of 2 turned by 90°" in note for note in report["notes"])
    # From its edge 1: 8, 1.2, 8, 1.2, 5 and 1.2 of the 40 are taken, so 15.4 stay.
    assert any("beyond them 14.4 x 7.0 mm" in note for note in report["notes"])
    kept = path.read_text("utf-8").replace("turned: 90", "turned: 90, keeps-grain: true")
    path.write_text(kept, "utf-8")
    with pytest.raises(Refused, match=r"no room for 2 of 2 of bar\.yaml"):
        proved_stock(path)


@pytest.mark.parametrize(("pieces", "more", "says"), [
    ("  - {job: bar.yaml, count: 40}", "packed: {between: 1.2}\n",
     "the stock has no room for 20 of 40 of bar.yaml"),
    ("  - {job: bar.yaml, at: [1, 1]}", "packed: {between: 1.2}\n", "has a place of its own"),
    ("  - {job: bar.yaml, count: 2}", "", "count is for pieces that are packed"),
    ("  - {job: bar.yaml, count: 2}", "packed: {between: 0.4}\n",
     "between the pieces 0.40 mm are left"),
])
def test_what_cannot_be_packed_is_refused_in_words(
    tmp_path: Path, pieces: str, more: str, says: str
) -> None:
    with pytest.raises(Refused) as no:
        proved_stock(written(tmp_path, pieces, more))
    assert any(says in fault.message for fault in no.value.faults), no.value.faults
    assert all(fault.place.line > 0 for fault in no.value.faults)


def test_a_stock_is_faced_once_where_all_its_parts_agree(tmp_path: Path) -> None:
    """From 0.7 to 0.5 mm: one step for all, and no part cut into by another's."""
    face = "    steps:\n      - face: {cutter: %s}\n"
    bar, disc = (text.replace("20], thickness: 0.5", "20], thickness: 0.7").replace(
        "    steps:\n", face % cutter) for text, cutter in ((BAR, "mill"), (DISC, "cutter")))
    path = written(tmp_path, "  - {job: bar.yaml, at: [-8, 0]}\n  - {job: disc.yaml}",
                   bar=bar, disc=disc)
    path.write_text(path.read_text("utf-8").replace("24], thickness: 0.5", "24], thickness: 0.7"),
                    "utf-8")
    stock = proved_stock(path)
    assert stock.failed == ()
    side, = stock.sides
    assert [str(section.title) for section in side.moves.sections].count("face") == 1
    # Its level is in both shares, and its rows are in the program once.
    for one in side.kinds:
        assert (np.abs(one.evidence.motion.end[:, 2] + 0.2) < 1e-6).any()
    assert output_of_stock(stock, pictures=False).files
    other = disc.replace("- face: {cutter: cutter}", "- face: {cutter: cutter, width: 0.3}")
    (tmp_path / "disc.yaml").write_text(other, "utf-8")
    with pytest.raises(Refused, match="faces the stock otherwise than"):
        proved_stock(path)
