"""What cannot be of a plate's two sides is refused, with its place and a remedy; all at once."""

from __future__ import annotations

import pytest
from sampling import sampled
from two_sided import PLATE
from workshop import DRIVEN, WHEEL, read

from camgen.faults import Fault, Refused
from camgen.job.checks.whole_job import job_faults
from camgen.plan import plan_job


def faults(*changes: tuple[str, str], text: str = PLATE) -> list[Fault]:
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    try:
        return job_faults(read(text))
    except Refused as no:
        return list(no.faults)


def only(*changes: tuple[str, str]) -> Fault:
    found = faults(*changes)
    assert len(found) == 1, [str(one) for one in found]
    return found[0]


def test_the_plate_as_it_is_has_no_fault() -> None:
    assert faults() == []


@pytest.mark.parametrize(
    ("old", "new", "says", "remedy", "path"),
    [
        ("    turned-over: about Y\n", "", "how the piece was turned over", "about X",
         "setups[1].face"),
        ("    face: under\n    turned-over: about Y\n    stock: {left-by: train, thickness: 1.75}\n"
         "    zero: {dowel: dowels-1}",
         "    face: under\n    turned-over: about Y\n    stock: {left-by: train, thickness: 1.75}",
         "zero on an edge", "zero: {dowel: dowels-1}", "setups[1]"),
        ("dowel: dowels-1", "dowel: dowels", "2 holes are called dowels", "dowels-1", "zero.dowel"),
        ("dowel: dowels-1", "dowel: dowel-1", "no hole called dowel-1", "did you mean dowels-1",
         "zero.dowel"),
        ("dowel: dowels-1", "dowel: sunk", "no hole for a dowel", "right through", "zero"),
        ("dowel: dowels-1", "dowel: feet", "alone does not keep the piece from turning", "second",
         "zero.dowel"),
        ("dowel: dowels-1", "dowel: dowels-1, x: left", "X is zero on an edge and on a hole",
         "leave one", "zero.x"),
        ("holes: [dowels]", "holes: [dowels-1]", "no setup before dial makes dowels-2",
         "earlier setup", "zero"),
        ("left-by: train", "left-by: trian", "no flat setup before dial is called trian",
         "did you mean train", "stock.left-by"),
        ("left-by: train, thickness: 1.75", "left-by: train, thickness: 1.9",
         "setup train leaves 1.75 mm", "thickness: 1.75", "stock.thickness"),
        ("    holding: *glue\n", "", "nothing holds it in setup dial", "holding:",
         "setups[1].stock"),
        ("[sunk, feet-counterbore]", "[sunk, feet-counterbore, dowels-2]",
         "the dowel that stands in dowels-2", "without it", "setups[1].steps[2]"),
        ("    steps:\n      - face: {cutter: flat}\n", "    steps:\n", "left 1.75 mm thick",
         "face: {cutter: …}", "setups[1].stock.thickness"),
        ("thickness: 1.9}", "thickness: 1.5}", "the stock is 1.5 mm thick and the plate 1.6",
         "thicker", "setups[0].stock.thickness"),
        ("face: {cutter: flat, to: 1.75}", "face: {cutter: flat, to: 1.5}",
         "thinner than the plate", "to:", "to"),
        ("depth: 0.5, face: under}", "depth: 1.1, face: under}", "break into each other",
         "shallower by 0.25 mm", "plate.pockets.dial"),
        ("depth: 0.5, face: under}", "depth: 0.9, face: under}", "leave 0.1 mm between them",
         "shallower by 0.05 mm", "plate.pockets.dial"),
        ("flutes: 2, flute-length: 2.4,", "flutes: 2, flute-length: 1.5,",
         "mill cuts over 1.5 mm of its length and goes 1.75 mm deep", "shank",
         "setups[0].steps[6].outline.cutter"),
        ("flute-length: 6, reach: 8}", "flute-length: 1.7, reach: 1.7, shank: 0.7}",
         "drill-08 stands out 1.7 mm and goes 1.75 mm deep", "further",
         "setups[0].steps[3].drill.cutter"),
        ("depth: 0.6}", "depth: 1.5}", "leaves a floor of 0.1 mm", "least-floor",
         "plate.pockets.barrel"),
    ],
)
def test_what_cannot_be_is_named_with_place_and_remedy(
    old: str, new: str, says: str, remedy: str, path: str
) -> None:
    found = [one for one in faults((old, new)) if says in one.message]
    assert len(found) == 1, [str(one) for one in faults((old, new))]
    assert remedy in found[0].remedy
    assert path in found[0].place.path
    assert found[0].place.line


def test_a_face_that_no_setup_brings_up_is_named_for_every_feature_on_it() -> None:
    text = PLATE[:PLATE.index("  - name: dial")].replace("to: 1.75", "to: 1.6")
    messages = [one.message for one in faults(text=text)]
    for name in ("feet", "sunk", "dial"):
        assert any(one.startswith(f"{name} is on the under face, and no setup") for one in messages)


def test_a_step_for_all_pockets_makes_those_of_the_face_that_looks_up() -> None:
    found = only(("      - face: {cutter: flat}\n      - pocket: {cutter: mill}\n",
                  "      - face: {cutter: flat}\n"))
    assert "dial is on the under face, and is made by no step" in found.message


def test_a_dowel_before_its_hole_is_made_is_refused() -> None:
    text = PLATE.replace("      - drill: {cutter: drill-10, holes: [dowels]}\n", "")
    text += "  - name: late\n    stock: {left-by: dial, thickness: 1.6}\n" \
        "    zero: {dowel: sunk-through, second: third-through}\n    holding: *glue\n" \
        "    steps:\n      - drill: {cutter: drill-10, holes: [dowels]}\n"
    found = [one for one in faults(text=text) if "dowels-1" in one.message]
    assert len(found) == 1
    assert "setup late comes too late" in found[0].remedy


def test_a_drills_point_that_comes_near_the_other_face_is_told() -> None:
    """0.8 mm wide with a point of 118 degrees reaches 0.24 mm below its floor."""
    blind = ("    dowels: {",
             "    pins: {diameter: 0.8, depth: 0.75, at: [[2, -4]]}\n    dowels: {")
    found = only(blind, ("feet]}", "feet, pins]}"))
    assert "0.24 mm more for the drill's point" in found.message
    assert "pocket dial" in found.message


def test_what_goes_right_through_may_meet_whatever_it_likes() -> None:
    hole = ("    dowels: {", "    vent: {diameter: 0.8, at: [[2, -4]]}\n    dowels: {")
    assert faults(hole, ("feet]}", "feet, vent]}")) == []


def test_a_jewels_seat_through_a_step_from_the_other_side_is_found() -> None:
    step = ("    barrel: {", "    step: {circle: 3, at: [-4, 4], depth: 1.15}\n    barrel: {")
    found = only(step)
    assert "jewel seat sunk" in found.message
    assert "leave 0.05 mm between them" in found.message


def test_a_cone_where_a_pocket_has_taken_the_face_away_is_named() -> None:
    step = ("    barrel: {", "    step: {circle: 3, at: [3.6, 3.2], depth: 0.3, face: under}\n"
                             "    barrel: {")
    sink = ("      - bore: {cutter: mill, holes: [sunk",
            "      - countersink: {cutter: cone}\n      - bore: {cutter: mill, holes: [sunk")
    found = only(step, sink, ("lead-in: 1.3", "lead-in: 1.3, oil-sink: 1.2"))
    assert found.message.startswith("the cone of third-through on the under face lies in pocket")
    # A wider one reaches below the pocket's floor.
    assert faults(step, sink, ("lead-in: 1.3", "lead-in: 1.3, oil-sink: 1.6")) == []


def test_thin_floors_that_are_meant_are_let_through() -> None:
    assert faults(("depth: 0.6}", "depth: 1.0}"), ("thickness: 1.6\n", "thickness: 1.6\n  "
                  "least-floor: 0.1\n")) == []


def test_all_faults_are_told_at_once() -> None:
    found = faults(("    turned-over: about Y\n", ""), ("dowel: dowels-1", "dowel: nothing"),
                   ("thickness: 1.75}", "thickness: 1.8}"), ("depth: 0.6}", "depth: 1.0}"))
    assert len(found) == 4


def test_features_of_the_other_face_are_refused_where_a_step_names_them() -> None:
    text = PLATE.replace("holes: [third], drilled", "holes: [third, sunk], drilled")
    text = text.replace("- pocket: {cutter: mill}\n      - bore: {cutter: mill, holes: [sunk",
                        "- pocket: {cutter: mill, pockets: [dial, barrel]}\n      - bore: "
                        "{cutter: mill, holes: [sunk")
    with pytest.raises(Refused) as no:
        plan_job(read(text), DRIVEN)
    messages = [one.message for one in no.value.faults]
    assert "sunk is on the under face, and here the upper face looks up" in messages
    assert "barrel is on the upper face, and here the under face looks up" in messages


@pytest.mark.parametrize(("old", "new", "says"), sampled([
    ("      - face: {cutter: flat}\n      - pocket: {cutter: mill}\n",
     "      - pocket: {cutter: mill}\n      - face: {cutter: flat}\n", "after other steps"),
    ("face: {cutter: flat, to: 1.75}", "face: {cutter: flat, to: 1.9}", "nothing to face"),
    ("face: {cutter: flat, to: 1.75}", "face: {cutter: flat, to: 1.75, width: 3.5}",
     "leave ridges"),
    ("cut-into: 0.5, holds-slugs: true}", "cut-into: 0.5, holds-slugs: true, "
     "clamps: [[-15, -15, -12, 15, 2]]}", "stands where the face is cut"),
], 2))
def test_facing_that_cannot_be_is_refused(old: str, new: str, says: str) -> None:
    assert old in PLATE
    with pytest.raises(Refused) as no:
        plan_job(read(PLATE.replace(old, new)), DRIVEN)
    assert any(says in one.message for one in no.value.faults)


AGAIN = """
  - name: again
    stock: {left-by: dial, thickness: 1.6}
    zero: {dowel: dowels-1}
    holding: *glue
    steps: [countersink: {cutter: cone}]
"""


@pytest.mark.parametrize(
    ("old", "new", "says", "remedy", "path"),
    [
        # As if the piece were thicker than it is: what faces it would take too much.
        ("left-by: train, thickness: 1.75", "sheet: [30, 30], thickness: 1.9",
         "setup dial has stock of its own", "left-by: train, thickness: 1.75", "setups[1].stock"),
        ("left-by: dial, thickness: 1.6", "disc: 30, thickness: 1.6",
         "nothing that dial made is on it", "left-by: dial, thickness: 1.6", "setups[2].stock"),
        ("left-by: dial, thickness: 1.6", "left-by: train, thickness: 1.75",
         "setup dial had the piece after train", "left-by: dial", "setups[2].stock.left-by"),
    ],
)
def test_every_setup_has_the_piece_as_the_one_before_left_it(
    old: str, new: str, says: str, remedy: str, path: str
) -> None:
    text = PLATE.replace("      - countersink: {cutter: cone}\n", "", 1) + AGAIN
    assert faults(text=text) == []
    found = [one for one in faults((old, new), text=text) if says in one.message]
    assert len(found) == 1
    assert remedy in found[0].remedy
    assert found[0].place.path == path


def test_pinions_have_no_second_face() -> None:
    text = """
job: collar
material: brass
pinion: {leaves: 12, module: 0.2, mate: 60, length: 1, bore: 0.8}
cutters:
  mill: {kind: end-mill, diameter: 0.40, flutes: 2, flute-length: 1.2, reach: 2}
setups:
  - name: blanks
    face: under
    zero: {indicated: bore}
    stock: {disc: 10, thickness: 1}
    steps:
      - bore: {cutter: mill}
"""
    for word in ("face", "indicated"):
        assert any(f"{word} is for plates and wheels only" in one.message
                   for one in faults(text=text)), faults(text=text)


def test_a_wheels_only_setup_may_have_its_under_face_up() -> None:
    text = WHEEL + "setups:\n  - name: blanks\n    face: under\n    stock: {sheet: [30, 30], " \
        "thickness: 0.25}\n    steps:\n      - bore: {cutter: mill}\n"
    assert any("how the piece was turned over" in one.message for one in faults(text=text))
    assert not any("turned" in one.message for one in faults(
        ("face: under", "face: under\n    turned-over: about X"), text=text))


def test_a_plate_is_not_laid_by_one_indicated_hole() -> None:
    found = [one for one in faults(("{dowel: ", "{indicated: ")) if "indicated" in one.place.path]
    assert any("nothing keeps it from turning" in one.message for one in found)
