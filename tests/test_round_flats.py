"""Flats on turned work in the dividing head: reckoned anew from the program's text, in every
arrangement and on every machine file; faults planted in it are found by name.
"""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest
import shapely
import yaml
from arrangements import WAYS
from job_sweep import JOBS
from sampling import sampled
from shapely.affinity import rotate
from workshop import read

from camgen.faults import Refused
from camgen.make.chain import Wish, proved_job
from camgen.plan import plan_job
from camgen.proof import prove
from camgen.proof.result import Proof
from camgen.reader import read_program
from camgen.shipped import shipped_folder
from camgen.shop.machines import find_machine

FOLDER = shipped_folder("postprocessors")
POSTS = [path.stem for path in sorted(FOLDER.glob("*.yaml"))
         if find_machine(path.stem, FOLDER.parent).dividing is not None]


def arbor(**held: object) -> dict[str, object]:
    """The small job with words of ``held`` changed."""
    data = yaml.safe_load(JOBS["arbor"])
    data["setups"][0]["held"] |= {key.replace("_", "-"): value for key, value in held.items()}
    return data


def made(folder: Path, data: object, post: str = "plain-iso"):
    """The job through the whole chain."""
    path = folder / "arbor.yaml"
    path.write_text(yaml.safe_dump(data, sort_keys=False), encoding="utf-8")
    return proved_job(path, Wish(post=post))


def failed(proofs: tuple[Proof, ...]) -> dict[str, Proof]:
    """The proofs that do not hold, by wing and word."""
    return {one.id.kind: one for one in proofs if not one.holds}


def standing(along: str, infeed: str, across: str) -> dict[str, str]:
    return {"along": along, "infeed": infeed, "across": across}


def section_from_text(text: str, how: tuple[str, str, str], at: float, turned: float,
                      zero: str, radius: float, mill: float) -> shapely.Polygon:
    """What plain blocks of X, Y, Z and a rotary word leave of a round bar at a place along it.

    Reckoned apart from the program: each fed block takes a box above the end of the cutter; the
    work is drawn as seen along ``along``, turned with the head by the right-hand rule.
    """
    along, infeed, across = how
    place = {"X": 0.0, "Y": 0.0, "Z": 0.0, "A": 0.0}
    left = shapely.Point(0, 0).buffer(radius, quad_segs=512)
    fed = False
    for line in text.splitlines():
        if line.startswith("("):
            continue
        words = dict(re.findall(r"([A-Z])(-?[0-9.]+)", line))
        if "G" in words and words["G"] in ("0", "1"):
            fed = words["G"] == "1"
        start = dict(place)
        place |= {key: float(value) for key, value in words.items() if key in place}
        if not fed or start == place or "A" in words:
            continue
        sign = -1.0 if along[0] == "-" else 1.0
        # How far the cutter's axis passes beside the place along the work, at its nearest.
        one, other = sorted((sign * start[along[1]], sign * place[along[1]]))
        aside = max(one - at, at - other, 0.0)
        if aside >= mill / 2:
            continue
        into = place[infeed[1]] * (-1.0 if infeed[0] == "-" else 1.0)
        out = (turned if zero == "touch" else 0.0) - into
        half = math.sqrt((mill / 2) ** 2 - aside**2)
        low, high = sorted((start[across], place[across]))
        # Seen along + of the work's axis, the cutter above: across to the right or to the left.
        axes = infeed[1] + across + along[1]
        hand = 1.0 if axes in ("XYZ", "YZX", "ZXY") else -1.0
        up = -1.0 if infeed[0] == "+" else 1.0
        right = sorted((low * hand * up, high * hand * up))
        box = shapely.box(right[0] - half, out, right[1] + half, 100.0)
        # Turned on by A the metal that lies above now lay A degrees before: turn the cut back.
        left = left.difference(rotate(box, -place["A"], origin=(0, 0)))
    return left


def test_a_square_is_as_wide_over_its_flats_and_corners_as_it_shall_be(tmp_path: Path) -> None:
    """1.2 mm across the flats are 1.697 mm across the corners of a whole square: √2 (geometry)."""
    data = arbor()
    data["turned"]["sections"][0]["diameter"] = 1.8
    proved = made(tmp_path, data)
    assert not proved.failed
    text = proved.setups[0].programs[0].text.decode()
    left = section_from_text(text, ("-X", "-Z", "Y"), 1.0, 1.25, "touch", 0.9, 2.0)
    width = left.bounds[2] - left.bounds[0]
    assert width == pytest.approx(1.2, abs=1e-6)
    corners = max(math.hypot(x, y) for x, y in left.exterior.coords)
    assert 2 * corners == pytest.approx(1.697, abs=5e-4)
    # Behind the square the arbor is untouched.
    behind = section_from_text(text, ("-X", "-Z", "Y"), 2.41, 1.25, "touch", 0.9, 2.0)
    assert behind.area == pytest.approx(math.pi * 0.81, rel=1e-4)
    assert behind.area > left.area + 0.4


@pytest.mark.parametrize(("how", "zero"), sampled(
    [(how, zero) for how in WAYS for zero in ("touch", "axis")], 11))
def test_flats_are_cut_in_every_arrangement(
    how: tuple[str, str, str], zero: str, tmp_path: Path
) -> None:
    """Three flats at angles of their own, so that the sense of turning shows."""
    data = arbor(zero=zero, arrangement=standing(*how))
    data["turned"]["flats"]["square"] = {"angles": [0, 70, 200], "across": 1.2, "length": 2.4}
    proved = made(tmp_path, data)
    assert not proved.failed, failed(proved.proofs)
    text = proved.setups[0].programs[0].text.decode()
    left = section_from_text(text, how, 1.0, 1.25, zero, 0.8, 2.0)
    # Seen along + of the axis; the job's angles are seen from the free end.
    from_free_end = 1.0 if how[0][0] == "-" else -1.0
    meant = shapely.Point(0, 0).buffer(0.8, quad_segs=512)
    for angle in (0, 70, 200):
        meant = meant.difference(rotate(shapely.box(-9, 0.6, 9, 9), angle * from_free_end,
                                        origin=(0, 0)))
    assert left.symmetric_difference(meant).area < 0.002


@pytest.mark.parametrize("post", sampled(POSTS, 4, single=True))
def test_flats_are_proved_on_every_machine_file(post: str, tmp_path: Path) -> None:
    proved = made(tmp_path, arbor(), post)
    assert not proved.failed, failed(proved.proofs)


@pytest.mark.parametrize(("before", "after", "found"), [
    ("Z-0.65", "Z-0.67", {"round.flats-across", "round.flats-centred", "round.cut-into"}),
    ("Z-0.65", "Z-0.63", {"round.flats-across", "round.metal-left"}),
    ("A90.", "A90.2", {"round.flats-angles"}),
    ("X-1.4", "X-1.38", {"round.flats-length", "round.metal-left"}),
    ("X-1.4", "X-1.42", {"round.flats-length", "round.cut-into"}),
])
def test_faults_planted_in_the_program_are_found_by_name(
    before: str, after: str, found: set[str]
) -> None:
    """Flats too deep or too shallow by 20 µm, one turned by 0.2°, flats too short or too long."""
    machine = find_machine("plain-iso", FOLDER.parent)
    file = read(yaml.safe_dump(arbor(), sort_keys=False))
    from camgen.post.writer import write_programs

    (setup,) = plan_job(file, machine).setups
    program, = write_programs(setup.moves, machine, stem="arbor")
    text = program.text.decode()
    whole = prove(file, setup, machine, [read_program(program.text, machine, infeed="Z")])
    assert not failed(whole)
    assert text.count(before) >= 1
    # The last place where it stands: one flat of four.
    head, tail = text.rsplit(before, 1)
    damaged = (head + after + tail).encode()
    proofs = failed(prove(file, setup, machine, [read_program(damaged, machine, infeed="Z")]))
    assert found <= set(proofs)


@pytest.mark.parametrize(("change", "says"), [
    ({"held": {"stands-out": 2.5}}, "stands-out: "),
    ({"held": {"stands-out": 80}}, "let it stand out less"),
    ({"cutter": {"reach": 2.0, "flute-length": 2.0}}, "longer reach"),
    ({"flats": {"across": 1.6}}, "across: less than 1.6"),
    ({"flats": {"length": 8.0}}, "length: 7"),
    ({"flats": {"from": 0.5, "length": 1.0}}, "an end mill of 1"),
    ({"cutter": {"corner-radius": 0.2}}, "sharp corner"),
    ({"held": {"pieces": 2}}, "pitch: 7"),
])
def test_what_cannot_be_is_refused_with_what_to_do(
    change: dict[str, dict[str, object]], says: str, tmp_path: Path
) -> None:
    data = arbor()
    parts = {"held": data["setups"][0]["held"], "cutter": data["cutters"]["mill"],
             "flats": data["turned"]["flats"]["square"]}
    assert not made(tmp_path, data).failed
    for part, words in change.items():
        parts[part].update(words)
    with pytest.raises(Refused) as no:
        made(tmp_path, data)
    assert any(says in str(fault.remedy) for fault in no.value.faults), no.value.faults
    assert all(str(fault.place) for fault in no.value.faults)


@pytest.mark.parametrize("words", [{"passes": 3}, {}])
def test_deep_flats_are_cut_in_passes_each_as_deep_as_planned(
    words: dict[str, int], tmp_path: Path
) -> None:
    data = arbor()
    data["turned"]["sections"][0]["diameter"] = 2.5
    data["setups"][0]["steps"][0]["mill-flats"] |= words
    proved = made(tmp_path, data)
    assert not proved.failed, failed(proved.proofs)
    text = proved.setups[0].programs[0].text.decode()
    heights = {float(one) for one in re.findall(r"^Z(-[0-9.]+)", text, re.M)}
    assert len(heights) == words.get("passes", len(heights)) > 1
    assert min(heights) == pytest.approx(-0.65, abs=1e-6)
    left = section_from_text(text, ("-X", "-Z", "Y"), 1.0, 1.25, "touch", 1.25, 2.0)
    assert left.bounds[2] - left.bounds[0] == pytest.approx(1.2, abs=1e-6)


def test_what_is_made_twice_is_refused(tmp_path: Path) -> None:
    data = arbor()
    data["setups"][0]["steps"].append({"mill-flats": {"cutter": "mill"}})
    with pytest.raises(Refused) as no:
        made(tmp_path, data)
    assert "finds nothing to cut" in str(no.value.faults[0].message)


def test_several_pieces_along_a_bar_are_cut_in_one_run(tmp_path: Path) -> None:
    data = arbor(stands_out=19.0, pieces=2, pitch=8.5, tailstock={
        "centre": 1.0, "body": 6, "from": 14})
    data["turned"]["sections"][0]["diameter"] = 2.4
    data["turned"]["flats"]["square"]["across"] = 2.0
    proved = made(tmp_path, data)
    assert not proved.failed, failed(proved.proofs)
    text = proved.setups[0].programs[0].text.decode()
    for place, across in ((1.0, 2.0), (9.5, 2.0), (5.0, 2.5)):
        left = section_from_text(text, ("-X", "-Z", "Y"), place, 1.25, "touch",
                                 1.2 if across == 2.0 else 1.25, 2.0)
        assert left.bounds[2] - left.bounds[0] == pytest.approx(across, abs=1e-4)
