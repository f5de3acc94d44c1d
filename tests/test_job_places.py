"""One way to give places, whatever stands there: as if each had been written out by hand."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from sampling import few
from shapely.affinity import rotate, scale, translate
from workshop import read

from camgen.faults import Refused
from camgen.job.reading import read_job
from camgen.library.fingerprint import as_meant
from camgen.make.chain import proved_job
from camgen.part.figures import path_of
from camgen.part.plates.floors import openings_of, slot_path
from camgen.part.plates.lies import Lie, lies_of
from camgen.part.plates.plate import Plate
from camgen.part.plates.plate_words import PlateHole, Shape, Slot
from camgen.part.plates.round_features import round_holes_of
from camgen.shapes.path import Point
from camgen.steps import step_words

JOB = """\
job: places
material: brass
%s
made-elsewhere: [outline, holes, jewels, openings, pockets, slots]
plate:
  thickness: 1.2
  outline: {circle: 40}
%s
cutters:
  d08: {kind: drill, diameter: 0.8}
setups:
  - name: one
    stock: {sheet: [50, 50], thickness: 1.2}
    steps:
      - drill: {cutter: d08%s}
"""
HOLE = "holes: {a: {diameter: 0.8, depth: 0.5, %s}, z: {diameter: 0.8, at: [[18, 0]]}}"
POCKET = "pockets: {a: {circle: 0.8, depth: 0.5, %s}}"
OPENING = "openings: {a: {circle: 0.8, %s}}"
SLOT = "slots: {a: {ends: [[-0.5, 0], [0.5, 0]], width: 0.8, depth: 0.5, %s}}"
POST = "posts: {a: {circle: 0.8, %s}}"
THROUGH = "slots: {a: {ends: [[-0.5, 0], [0.5, 0]], width: 0.8, %s}}"
SUNK = ("holes: {a: {diameter: 0.8, countersink: 1.2, %s}, z: {diameter: 0.8, at: [[18, 0]]}}")
SCREW = ("holes: {a: {thread: S0.8, %s}, z: {diameter: 0.8, at: [[18, 0]]}}")
JEWEL = "jewels: {a: {diameter: 0.8, depth: 0.5, %s}}"


def plate_of(words: str, top: str = "", step: str = "") -> Plate:
    plate = read(JOB % (top, "  " + words, step)).job.part
    assert isinstance(plate, Plate)
    return plate


def middles(words: str, top: str = "") -> list[tuple[float, float]]:
    """Where the things of a plate called a stand, whatever they are."""
    plate = plate_of(words, top)
    found = [(hole.x, hole.y) for hole in round_holes_of(plate, "brass") if hole.group == "a"]
    shapes = [*openings_of(plate).values(),
              *(path_of(one) for one in (*plate.pockets.values(), *plate.posts.values())),
              *(slot_path(one) for one in plate.slots.values() if one.depth is not None)]
    found += [(path.region(0.001).centroid.x, path.region(0.001).centroid.y) for path in shapes]
    return [(round(x, 4), round(y, 4)) for x, y in found]


@pytest.mark.parametrize("thing", [HOLE, POCKET, OPENING, SLOT, JEWEL, POST, THROUGH, SUNK, SCREW])
@pytest.mark.parametrize(("said", "meant"), [
    ("at: [3, 2]", [(3, 2)]),
    ("at: [[3, 2]]", [(3, 2)]),
    ("at: [[3, 2], [-3, 4]]", [(3, 2), (-3, 4)]),
    ("ring: {count: 2, diameter: 8, at: [1, 0]}", [(5, 0), (-3, 0)]),
    ("arc: {count: 3, diameter: 8, over: 180}", [(4, 0), (0, 4), (-4, 0)]),
    ("arc: {count: 3, diameter: 8, start: 90, over: -90}",
     [(0, 4), (2.8284, 2.8284), (4, 0)]),
    ("rows: {columns: 2, pitch: [6, 1]}", [(-3, 0), (3, 0)]),
    ("at: [[9, 9]], ring: {count: 1, diameter: 8}, rows: {columns: 2, pitch: [6, 1]}",
     [(9, 9), (4, 0), (-3, 0), (3, 0)]),
])
def test_all_things_have_their_places_by_the_same_words(
    thing: str, said: str, meant: list[tuple[float, float]]
) -> None:
    assert middles(thing % said) == [(float(x), float(y)) for x, y in meant]


@pytest.mark.parametrize("thing", [HOLE, POCKET, OPENING, SLOT, JEWEL])
@pytest.mark.parametrize(("said", "meant"), [
    ("at: [0.1, 0.2]", [(2.54, 5.08)]),
    ("at: [[0.1, 0.2], [-0.1, 0]]", [(2.54, 5.08), (-2.54, 0)]),
    ("arc: {count: 2, diameter: 0.2, over: 90}", [(2.54, 0), (0, 2.54)]),
])
def test_places_in_inches(thing: str, said: str, meant: list[tuple[float, float]]) -> None:
    thing = thing.replace("0.8", "0.03").replace("0.5", "0.02").replace("[[18, 0]]", "[[0.6, 0]]")
    words = JOB.replace("1.2", "0.05").replace("40", "1.6").replace("[50, 50]", "[2, 2]")
    plate = read(words % ("units: inch", "  " + thing % said, "")).job.part
    assert isinstance(plate, Plate)
    word = next(iter([*plate.holes.values(), *plate.jewels.values(), *plate.openings.values(),
                      *plate.pockets.values(), *plate.slots.values()]))
    if isinstance(word, Shape | Slot):
        things: list[Any] = [*plate.openings.values(), *plate.pockets.values(),
                             *plate.slots.values()]
        found = [(lies_of(one)[0].x, lies_of(one)[0].y) for one in things]
    else:
        found = [(lie.x, lie.y) for lie in lies_of(word)]
    assert found == [pytest.approx(place, abs=1e-6) for place in meant]


@pytest.mark.parametrize("word", ["ring: {count: 4, diameter: 10%s}",
                                  "arc: {count: 4, diameter: 10, over: 270%s}"])
def test_a_slot_turns_with_its_place_or_stays_upright_by_a_word(word: str) -> None:
    turned = plate_of("slots: {a: {ends: [[-1, 0], [1, 0]], width: 0.8, "
                      + word % "" + "}}").slots
    upright = plate_of("slots: {a: {ends: [[-1, 0], [1, 0]], width: 0.8, "
                       + word % ", upright: true" + "}}").slots
    wide = [slot_path(one).region(0.01).bounds for one in turned.values()]
    assert [round(x1 - x0, 2) for x0, _, x1, _ in wide] == [2.8, 0.8, 2.8, 0.8]
    wide = [slot_path(one).region(0.01).bounds for one in upright.values()]
    assert [round(x1 - x0, 2) for x0, _, x1, _ in wide] == [2.8] * 4
    assert [one.at for one in turned.values()] == [one.at for one in upright.values()]


@settings(max_examples=few(40), deadline=None)
@given(st.floats(-20, 20), st.floats(-20, 20), st.floats(-360, 360), st.booleans(),
       st.floats(-5, 5), st.floats(-360, 360), st.booleans())
def test_what_lies_in_a_group_is_mirrored_turned_and_moved_with_it(
    x: float, y: float, turned: float, mirrored: bool, inner_x: float, inner_turned: float,
    inner_mirrored: bool,
) -> None:
    """Against shapely's own mirroring, turning and moving of polygons, one after the other."""
    shape = Shape(polygon=((0.0, 0.0), (3.0, 0.0), (1.0, 2.0)), at=((inner_x, 1.0),),
                  turned=inner_turned, mirrored=inner_mirrored)
    lie = Lie(x, y, turned, mirrored).carrying(lies_of(shape)[0])
    assert lie.path(path_of(Shape(polygon=shape.polygon))).area > 0
    found = lie.path(path_of(Shape(polygon=shape.polygon))).region(1e-4)
    meant = shapely.Polygon(shape.polygon or ())
    for flip, turn, dx, dy in ((inner_mirrored, inner_turned, inner_x, 1.0),
                               (mirrored, turned, x, y)):
        if flip:
            meant = scale(meant, -1.0, 1.0, origin=(0.0, 0.0))
        meant = translate(rotate(meant, turn, origin=(0.0, 0.0)), dx, dy)
    assert shapely.symmetric_difference(found, meant).area < 1e-6
    place = lie.point(Point(3.0, 0.0))
    assert shapely.Point(place).distance(meant) < 1e-6


GROUP = """groups:
    lug:
      at: [[10, 0], [-10, 0]]
      turned: 90
      holes: {a: {diameter: 0.8, depth: 0.5, at: [[2, 0], [-2, 0]]}}
      pockets: {bed: {rectangle: [2, 1], corner: 0.2, depth: 0.3, at: [0, 3]}}
      slots: {ear: {ends: [[-0.5, 0], [0.5, 0]], width: 0.8, at: [0, -3]}}
      groups:
        pair: {at: [0, 1], mirrored: true, holes: {b: {diameter: 0.8, at: [1, 0]}}}
"""


def test_groups_in_groups_come_to_be_as_if_written_by_hand() -> None:
    by_hand = """
  holes:
    a: {diameter: 0.8, depth: 0.5, at: [[10, 2], [10, -2], [-10, 2], [-10, -2]]}
    b: {diameter: 0.8, at: [[9, -1], [-11, -1]]}
  pockets:
    bed-1: {rectangle: [2, 1], corner: 0.2, depth: 0.3, at: [7, 0], turned: 90}
    bed-2: {rectangle: [2, 1], corner: 0.2, depth: 0.3, at: [-13, 0], turned: 90}
  slots:
    ear-1: {ends: [[-0.5, 0], [0.5, 0]], width: 0.8, at: [13, 0], turned: 90}
    ear-2: {ends: [[-0.5, 0], [0.5, 0]], width: 0.8, at: [-7, 0], turned: 90}
"""
    grouped, written = (read(JOB % ("", "  " + words, "")).job for words in (GROUP, by_hand))
    assert as_meant(grouped) == as_meant(written)


@pytest.mark.parametrize(("asked", "meant"), [
    ("[a]", ("a",)), ("[lug]", ("a", "b")), ("[pair, a-1]", ("b", "a-1")),
    ("[lug-2]", ("a-3", "a-4")), ("[pair-2]", ("b-2",)), ("[lug, a]", ("a", "b")),
])
def test_steps_may_name_what_lies_in_a_group_and_the_group(
    asked: str, meant: tuple[str, ...]
) -> None:
    job = read(JOB % ("", "  " + GROUP, f", holes: {asked}")).job
    assert job.setups[0].steps[0].declares().at_holes
    assert next(iter(job.setups[0].steps[0].declares().holes)).holes.names == meant


def test_pockets_and_openings_of_a_group_go_by_its_name() -> None:
    words = JOB.replace("- drill: {cutter: d08%s}", "%s") % ("", "  " + GROUP, (
        "- pocket: {cutter: d08, pockets: [lug]}\n      - cut-out: {cutter: d08, openings: [lug-1]}"
        "\n      - pocket: {cutter: d08, pockets: [bed]}"))
    steps = read(words.replace("kind: drill, diameter: 0.8", "kind: end-mill, diameter: 0.8, "
                               "flutes: 2")).job.setups[0].steps
    assert [step.model_dump().get("pockets") or step.model_dump().get("openings")
            for step in steps] == [("bed-1", "bed-2"), ("ear-1",), ("bed-1", "bed-2")]


@pytest.mark.parametrize(("words", "line", "says", "first"), [
    ("holes: {a: {diameter: 1, at: [1, 1]}}\n"
     "  groups: {g: {holes: {a: {diameter: 1, at: [5, 5]}}}}", 8,
     "the hole a and the hole a are both called a", 7),
    ("groups:\n    g: {pockets: {p: {circle: 1, depth: 0.3}}}\n"
     "    h: {slots: {p: {ends: [[5, 5], [8, 5]], width: 1, depth: 0.3}}}", 9,
     "the pocket p and the slot p are both called p", 8),
    ("openings: {w: {circle: 1, ring: {count: 3, diameter: 9}}}\n"
     "  slots: {w-2: {ends: [[5, 5], [8, 5]], width: 1}}", 8,
     "the opening w-2 and the slot w-2 are both called w-2", 7),
    ("groups:\n    g: {groups: {k: {holes: {a: {diameter: 1, at: [5, 5]}}}}}\n"
     "    k: {holes: {b: {diameter: 1, at: [1, 1]}}}", 9,
     "the group k and the group k are both called k", 8),
    ("posts: {p: {circle: 1, at: [[1, 1], [5, 5]]}, p-1: {circle: 1}}", 7,
     "place 1 of the post p and the post p-1 are both called p-1", 7),
])
def test_one_name_for_two_things_is_told_with_both_lines(
    words: str, line: int, says: str, first: int
) -> None:
    with pytest.raises(Refused) as no:
        plate_of(words)
    fault, = no.value.faults
    assert (fault.message, fault.place.line) == (says, line + 1)
    assert f"the first stands in line {first + 1}:" in fault.remedy


@pytest.mark.parametrize(("words", "at", "says"), [
    ("groups: {g: {}}", "plate.groups.g", "nothing lies in the group g"),
    (HOLE % "ring: {count: 3, diameter: 0}", "plate.holes.a.ring.diameter",
     "a would stand 3 times at one place"),
    (HOLE % "arc: {count: 3, diameter: 5, over: 90, upright: true}", "plate.holes.a.arc.upright",
     "a round hole looks the same"),
    (SLOT % "at: [1, 1], arc: {count: 3, diameter: 5, over: 90}", "plate.slots.a.at",
     "at: beside arc: may mean the middle of it, or one place more"),
    (JEWEL % "at: [1, 1], rows: {columns: 2, pitch: [5, 1]}", "plate.jewels.a.at",
     "at: beside rows: may mean the middle of it, or one place more"),
    ("groups: {g: {rows: {columns: 100, rows: 60, pitch: [1, 1]}, "
     "holes: {a: {diameter: 0.1, at: [0, 0]}}}}", "plate.groups.g",
     "g would stand at 6000 places, and 5000 is the most"),
    ("groups: {g: {rows: {columns: 100, pitch: [1, 1]}, pockets: {a: {circle: 0.1, depth: 0.1, "
     "rows: {rows: 100, pitch: [1, 1]}}}}}", "plate.groups.g.pockets.a",
     "a would stand at 10000 places"),
    (POCKET % "places-of: [b]", "plate.pockets.a.places-of", "none is named"),
    (HOLE % "at: [1, 2, 3]", "plate.holes.a.at", ""),
    (HOLE % "at: [[1, 2], [3]]", "plate.holes.a.at[1]", ""),
    (SLOT % "at: 3", "plate.slots.a.at", ""),
    (SLOT % "at: [1, [2, 3]]", "plate.slots.a.at[1]", ""),
    (SLOT % "arc: {count: 3, diameter: 5, over: 360}", "plate.slots.a.arc.over", ""),
])
def test_places_that_cannot_be_are_refused_at_their_words(words: str, at: str, says: str) -> None:
    with pytest.raises(Refused) as no:
        plate_of(words)
    fault, = no.value.faults
    assert fault.place.path == at
    assert fault.place.line == 8
    assert says in fault.message


def test_a_fault_of_what_was_written_out_is_told_where_it_was_written() -> None:
    from camgen.job.checks.whole_job import job_faults

    job_file = read(JOB % ("", "  groups:\n    g:\n      at: [[0, 0], [15, 0]]\n"
                           "      holes: {a: {diameter: 0.8, at: [8, 0]}}\n"
                           "      slots: {s: {ends: [[6, 0], [9, 0]], width: 1}}\n", ""))
    told = {(fault.place.line, fault.message) for fault in job_faults(job_file, None)
            if "outline" in fault.message}
    assert told == {(11, "hole a at X 23 Y 0 does not lie within the outline"),
                    (12, "the slot s-2 does not lie within the outline")}


SVG = """<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="20mm" viewBox="0 0 20 20">
<circle cx="5" cy="-4" r="0.4"/><circle cx="-6" cy="2" r="0.4"/><circle cx="0" cy="0" r="3"/></svg>
"""


@pytest.mark.parametrize("thing", [HOLE, POCKET, OPENING, SLOT, JEWEL])
def test_places_from_a_drawing_and_from_another_plate(tmp_path: Path, thing: str) -> None:
    (tmp_path / "d.svg").write_text(SVG, "utf-8")
    (tmp_path / "other.yaml").write_text(JOB % (
        "", "  holes: {p: {diameter: 0.8, at: [[1, 9]]}}\n"
        "  pockets: {q: {circle: 1, depth: 0.3, rows: {columns: 2, pitch: [20, 1], at: [0, -9]}}}",
        ""), "utf-8")
    job = tmp_path / "job.yaml"
    job.write_text(JOB % ("", "  matches: {job: other.yaml, turned: 90}\n  " + thing % (
        "at: [[1, 1]], places-of: [p, q], drawn-at: {drawing: d.svg, circle: 0.8}"), ""), "utf-8")
    read_back = read_job(job, step_words())
    plate = read_back.job.part
    assert isinstance(plate, Plate)
    things: list[Any] = [*plate.jewels.values(), *plate.openings.values(),
                         *plate.pockets.values(), *plate.slots.values(), *plate.holes.values()]
    found = [(lie.x, lie.y) for one in things for lie in lies_of(one)]
    # An SVG's Y runs down.
    assert sorted((round(x, 6), round(y, 6)) for x, y in found[:6]) == sorted(
        ((1, 1), (5, 4), (-6, -2), (9, -1), (-9, 10), (-9, -10)))
    assert {one.name for one in read_back.sources} == {"d.svg", "other.yaml"}


def test_a_place_of_nothing_drawn_is_told(tmp_path: Path) -> None:
    (tmp_path / "d.svg").write_text(SVG, "utf-8")
    job = tmp_path / "job.yaml"
    job.write_text(JOB % ("", "  " + SLOT % "drawn-at: {drawing: d.svg, circle: 0.9}", ""), "utf-8")
    with pytest.raises(Refused) as no:
        read_job(job, step_words())
    fault, = no.value.faults
    assert (fault.message, fault.place.path) == (
        "no circle of 0.9 mm is drawn there", "plate.slots.a.drawn-at.drawing")
    assert fault.remedy == "drawn are circles of 0.8, 6 mm"


def test_a_plate_without_new_words_is_meant_as_it_was() -> None:
    """Records are kept of these values: one place bare, none where nothing or 0, 0 is said."""
    plate = plate_of("pockets: {a: {circle: 2, depth: 0.3, at: [1, 2]}, b: {circle: 2, depth: 0.3, "
                     "at: [0, 0]}, c: {circle: 1, depth: 0.3, ring: {count: 1, diameter: 8}}}")
    meant = plate.model_dump(mode="json", by_alias=True, exclude_defaults=True)
    assert meant == {"thickness": 1.2, "outline": {"circle": 40.0}, "pockets": {
        "a": {"circle": 2.0, "depth": 0.3, "at": [1.0, 2.0]}, "b": {"circle": 2.0, "depth": 0.3},
        "c": {"circle": 1.0, "depth": 0.3, "at": [4.0, 0.0]}}}


def test_a_plate_of_groups_is_made_and_proved(tmp_path: Path) -> None:
    job = tmp_path / "job.yaml"
    job.write_text("""\
job: grouped
material: brass
plate:
  thickness: 0.6
  outline: {circle: 20}
  groups:
    lug:
      ring: {count: 3, diameter: 12, start: 90}
      turned: 15
      mirrored: true
      holes: {pin: {diameter: 0.8, at: [1.5, 0]}}
      pockets: {bed: {rectangle: [2, 1.4], corner: 0.5, depth: 0.2, at: [-0.6, 0]}}
cutters:
  mill: {kind: end-mill, diameter: 0.8, flutes: 2, flute-length: 2, reach: 3}
  d08: {kind: drill, diameter: 0.8, flute-length: 5, reach: 7}
setups:
  - name: plate
    stock: {sheet: [26, 26], thickness: 0.6}
    holding: {by: shellac, carrier: brass, carrier-thickness: 6, cut-into: 0.5, holds-slugs: true}
    steps:
      - pocket: {cutter: mill, pockets: [lug]}
      - drill: {cutter: d08, holes: [lug]}
      - outline: {cutter: mill}
""", "utf-8")
    proved = proved_job(job)
    assert not proved.failed
    holes = round_holes_of(proved.job_file.job.part, "brass")  # type: ignore[arg-type]
    # Mirrored, then turned by 15°: the pin lies at 195° from the lug's middle, the next 120° on.
    for number, hole in enumerate(holes):
        way, turn = math.radians(90 + 120 * number), math.radians(195 + 120 * number)
        assert (hole.x, hole.y) == (
            pytest.approx(6 * math.cos(way) + 1.5 * math.cos(turn), abs=1e-9),
            pytest.approx(6 * math.sin(way) + 1.5 * math.sin(turn), abs=1e-9))
    assert len(lies_of(PlateHole(diameter=1.0))) == 0


@pytest.mark.parametrize("word", ["openings", "pockets", "posts"])
@pytest.mark.parametrize("drawn_first", [True, False])
def test_a_number_of_something_drawn_is_no_other_ones_name(
    tmp_path: Path, word: str, drawn_first: bool
) -> None:
    """Neither takes the other's place unseen, whichever is written first."""
    (tmp_path / "two.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="20mm" viewBox="0 0 20 20">'
        '<circle cx="5" cy="5" r="1"/><circle cx="12" cy="5" r="1"/></svg>', encoding="utf-8")
    deep = "depth: 0.3, " if word == "pockets" else ""
    both = [f"w: {{{deep}drawing: two.svg}}", f"w-2: {{{deep}circle: 2, at: [-8, 2]}}"]
    for name in ("w-2", "w-3"):
        things = ", ".join(both if drawn_first else both[::-1]).replace("w-2", name)
        file = tmp_path / "plate.yaml"
        file.write_text(JOB % ("", f"  {word}: {{{things}}}", ""), encoding="utf-8")
        try:
            read_job(file, step_words())
            faults = []
        except Refused as no:
            faults = [one.message for one in no.faults if "both called" in one.message]
        assert len(faults) == (name == "w-2"), (name, faults)
        assert all("both called w-2" in one for one in faults)
