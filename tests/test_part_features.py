"""Everything that a job says of its part is among its features, whatever it is."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest

from camgen.faults import Refused
from camgen.job.reading import read_job
from camgen.part.features import (
    Cone,
    CrossedOut,
    Hole,
    Opening,
    PartOutline,
    Recess,
    Spaces,
    Thickness,
    Thread,
    Whole,
    is_a,
    things_of,
)
from camgen.part.parts import features_of
from camgen.part.plates.plate import Plate
from camgen.part.wheels.pinion import Pinion
from camgen.part.wheels.wheel import Wheel
from camgen.shapes.path import Point, circle
from camgen.steps import step_words

JOBS = Path(__file__).parent.parent / "jobs"

PLATE = Plate.model_validate({
    "thickness": 1.5,
    "outline": {"circle": 30.0},
    "holes": {
        "feet": {"diameter": 1.0, "at": [[5.0, 0.0], [-5.0, 0.0]], "countersink": 1.4},
        "screw": {"thread": "S0.8", "at": [[0.0, 6.0]], "depth": 1.2, "face": "under",
                  "counterbore": {"diameter": 2.0, "depth": 0.4}},
    },
    "jewels": {"third": {"diameter": 1.5, "at": [[0.0, -6.0]], "depth": 0.5, "through": 0.9,
                         "lead-in": 1.6, "oil-sink": 1.2}},
    "openings": {"window": {"circle": 3.0, "at": [9.0, 0.0]}},
    "pockets": {"sink": {"circle": 4.0, "at": [-9.0, 0.0], "depth": 0.3, "fillet": 0.1}},
    "slots": {"way": {"ends": [[0.0, 10.0], [2.0, 10.0]], "width": 1.0},
              "bed": {"ends": [[0.0, -10.0], [2.0, -10.0]], "width": 1.0, "depth": 0.5}},
})


def test_a_plate_has_each_thing_once_with_its_words() -> None:
    found = features_of(PLATE, "brass-leaded")
    said = {(type(one).__name__, one.name, one.face): one.at for one in found}
    assert len(said) == len(found)
    assert said[("Hole", "feet-2", "upper")] == ("plate", "holes", "feet")
    assert said[("Cone", "feet-2", "upper")] == ("plate", "holes", "feet", "countersink")
    assert said[("Thread", "screw", "under")] == ("plate", "holes", "screw", "thread")
    assert ("Hole", "screw-counterbore", "under") in said
    assert said[("Cone", "third", "upper")] == ("plate", "jewels", "third", "lead-in")
    # The sink for the oil is at the mouth of the hole below the seat, on the other face.
    assert said[("Cone", "third-through", "under")] == ("plate", "jewels", "third", "oil-sink")
    assert said[("Opening", "way", "upper")] == ("plate", "slots", "way")
    assert said[("Recess", "bed", "upper")] == ("plate", "slots", "bed")
    assert {"outline", "thickness"} < {one.name for one in found}


def test_what_follows_from_the_words_of_one_hole() -> None:
    found = features_of(PLATE, "brass-leaded")
    holes = {one.name: one for one in found if isinstance(one, Hole)}
    assert holes["third"].limits is not None
    assert holes["third"].diameter == pytest.approx(holes["third"].limits.middle, abs=1e-6)
    assert (holes["third"].depth, holes["third-through"].depth) == (0.5, None)
    thread = next(one for one in found if isinstance(one, Thread))
    assert (thread.hole, thread.depth) == (holes["screw"], 1.2)
    assert [one.width for one in found if isinstance(one, Cone)] == [1.4, 1.4, 1.6, 1.2]
    assert [one.fillet for one in found if isinstance(one, Recess)] == [0.1, 0.0]
    assert [one.name for one in found if isinstance(one, Opening)] == ["window", "way"]


def test_toothed_parts_have_teeth_bore_and_crossing() -> None:
    crossing = {"arms": 5, "hub": 2.4, "rim": 0.6, "arm": 0.45, "corner": 0.25}
    wheel = Wheel.model_validate({"teeth": 60, "module": 0.2, "mate": 8, "thickness": 0.3,
                                  "bore": 0.8, "crossing": crossing})
    assert [one.name for one in features_of(wheel, "gold")] == [
        "outline", "thickness", "teeth", "bore", "crossing"]
    pinion = Pinion(leaves=8, module=0.2, mate=60, length=2.0)
    assert [one.name for one in features_of(pinion, "steel")] == [
        "outline", "thickness", "teeth"]


def test_a_whole_thing_goes_by_its_own_word_and_no_other() -> None:
    edge = circle(Point(0.0, 0.0), 3.0)
    things = (PartOutline(edge), Thickness(0.5), CrossedOut((edge,)))
    for thing in things:
        one = Whole(thing, ("wheel",))
        assert {one.name, one.group, *one.elsewhere} == {thing.word}
        kinds = (PartOutline, Thickness, CrossedOut, Spaces)
        assert [is_a(one, kind) for kind in kinds].count(True) == 1
        assert is_a(one, type(thing))
    assert len({thing.word for thing in (*things, Spaces)}) == 4
    features = tuple(Whole(thing) for thing in things)
    assert things_of(features, Thickness) == [Thickness(0.5)]
    assert things_of(features, Spaces) == []
    assert not is_a(Hole("bore", Point(0.0, 0.0), 1.0), PartOutline)


@pytest.mark.parametrize("path", sorted(JOBS.glob("*.yaml")), ids=lambda path: path.stem)
def test_every_feature_of_a_job_has_its_place_in_the_file(path: Path) -> None:
    if path.name.endswith(".proof.yaml"):
        pytest.skip("a record")
    file = read_job(path, step_words())
    job = file.job
    part = job.part
    for one in features_of(part, job.material):
        assert one.at
        assert file.place(*one.at, key=True).line


PARTS = {
    "wheel": "wheel: {teeth: 60, module: 0.2, mate: 8, thickness: 0.3, bore: 0.8}",
    "pinion": "pinion: {leaves: 8, module: 0.2, mate: 60, length: 2.0}",
    "plate": "plate: {thickness: 1.5, outline: {circle: 30}}",
}
REST = """
job: parts
material: brass-leaded
cutters: {drill: {kind: drill, diameter: 0.8}}
setups:
  - name: flat
    stock: {sheet: [40, 40], thickness: 2.0}
    steps: [{drill: {cutter: drill}}]
"""


@pytest.mark.parametrize("words", [
    words for many in range(4) for words in itertools.combinations(PARTS, many)
], ids=lambda words: "-".join(words) or "none")
def test_a_job_has_exactly_one_part(words: tuple[str, ...], tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text("\n".join(PARTS[word] for word in words) + REST)
    if len(words) == 1:
        job = read_job(path, step_words()).job
        assert job.part.word == words[0]
        assert job.part.features(job.material)
        return
    with pytest.raises(Refused) as no:
        read_job(path, step_words())
    said = " ".join(fault.message for fault in no.value.faults)
    assert ("no part" in said) if not words else ("in one job" in said)
