"""Two-sided plates' programs against the job's numbers, by arithmetic that shares nothing with it.

A mistake that plan, reader and proofs had in common would be found here: a face mirrored wrongly, a
zero on the wrong side, a thickness counted from the wrong face.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import shapely
import yaml
from reckoned_apart import Job, depths
from sampling import sampled
from shapely.affinity import rotate, translate
from two_sided import PLATE
from workshop import DRIVEN, read

from camgen.plan import plan_job
from camgen.post.writer import write_programs
from camgen.shop.machine import Machine

RADIUS_ARCS = DRIVEN.model_copy(
    update={"arcs": DRIVEN.arcs.model_copy(update={"style": "radius", "largest_sweep": 90})})
INCH = DRIVEN.model_copy(
    update={"program": DRIVEN.program.model_copy(update={"units": "inch"}),
            "numbers": DRIVEN.numbers.model_copy(update={"decimals": 4})})
CYCLES = DRIVEN.model_copy(update={"cycles": DRIVEN.cycles.model_copy(update={"use": True})})
CHORDS = DRIVEN.model_copy(update={"arcs": DRIVEN.arcs.model_copy(update={"style": "none"})})

# Nearer than this to an edge, mm, nothing is asked: corners, chords and under-sizes.
EDGE = 0.04


def changed(text: str, *changes: tuple[str, str]) -> str:
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    return text


CASES = {
    "about Y": (PLATE, DRIVEN, 1),
    "about X, carrier, other dowel, radius arcs": (
        changed(PLATE, ("about Y", "about X"), ("dowel: dowels-1", "dowel: dowels-2, z: carrier")),
        RADIUS_ARCS, 1),
    "edges, carrier, inch": (
        changed(PLATE, ("    steps:\n      - face: {cutter: flat, to: 1.75}",
                        "    zero: {x: left, y: back, z: carrier}\n"
                        "    steps:\n      - face: {cutter: flat, to: 1.75}")), INCH, 1),
    "stations, cycles": (
        changed(PLATE, ("    holding: ", "    fixture: {stations: 2}\n    holding: "),
                ("about Y", "about X")), CYCLES, 2),
    "chords": (changed(PLATE, ("dowel: dowels-1", "dowel: dowels-2")), CHORDS, 1),
}


@cache
def programs(text: str, machine: Machine) -> dict[str, str]:
    return {
        setup.name: "".join(one.text.decode("ascii")
                            for one in write_programs(setup.moves, machine, stem=setup.name))
        for setup in plan_job(read(text), machine).setups
    }


def disc(place: list[float], diameter: float) -> shapely.Polygon:
    return shapely.Point(place).buffer(diameter / 2, quad_segs=64)


def features(plate: Job) -> tuple[list[shapely.Polygon], list[tuple[str, shapely.Polygon, float]]]:
    """What goes through, and what goes to a depth with its face; cones are left out."""
    through, deep = [], []
    for hole in plate["holes"].values():
        for place in hole["at"]:
            through.append(disc(place, hole["diameter"]))
            if "counterbore" in hole:
                deep.append((hole["face"], disc(place, hole["counterbore"]["diameter"]),
                             hole["counterbore"]["depth"]))
    for jewel in plate["jewels"].values():
        for place in jewel["at"]:
            through.append(disc(place, jewel["through"]))
            deep.append((jewel.get("face", "upper"), disc(place, jewel["diameter"]),
                         jewel["depth"]))
    for pocket in plate["pockets"].values():
        if "circle" in pocket:
            region = disc([0, 0], pocket["circle"])
        else:
            (x, y), corner = pocket["rectangle"], pocket["corner"]
            region = shapely.box(corner - x / 2, corner - y / 2, x / 2 - corner, y / 2 - corner)
            region = region.buffer(corner, quad_segs=64)
        region = translate(rotate(region, pocket.get("turned", 0), origin=(0, 0)), *pocket["at"])
        deep.append((pocket.get("face", "upper"), region, pocket["depth"]))
    return through, deep


def wrong(job: Job, texts: dict[str, str], station: int) -> tuple[int, float]:
    """At how many points the programs leave another plate than the job says; rapids' hit, mm."""
    plate = job["plate"]
    through, deep = features(plate)
    outline = disc([0, 0], plate["outline"]["circle"])
    edges = [outline.boundary, *(one.boundary for one in through),
             *(region.boundary for _, region, _ in deep)]
    # Around each edge, and anywhere.
    beside = [np.array(region.buffer(off).exterior.segmentize(0.5).coords)
              for region in (outline, *through, *(region for _, region, _ in deep))
              for off in (-0.06, 0.06)]
    beside = [one[::8] for one in beside]
    anywhere = np.random.default_rng(7).uniform(-10.5, 10.5, (900, 2))
    points = np.concatenate((anywhere, *beside))
    spots = shapely.points(points)
    clear = np.asarray(shapely.distance(shapely.union_all(edges), spots)) > EDGE
    for jewel in plate["jewels"].values():  # of a lead-in's cone nothing is asked
        for place in jewel["at"]:
            off = shapely.distance(shapely.Point(place), spots)
            clear &= np.abs(off - jewel["diameter"] / 2) > jewel.get("lead-in", 0) / 20
    clear &= shapely.distance(outline, spots) < 0.7  # the cutter's width round the plate
    points = points[clear]
    spots = shapely.points(points)
    below, gone, hit = depths(job, texts, points, station)
    inside = shapely.contains(outline, spots)
    out = ~inside | shapely.contains(shapely.union_all(through), spots)
    bad = gone != out
    for face in ("upper", "under"):
        meant = np.zeros(len(points))
        for on, region, depth in deep:
            if on == face:
                meant = np.maximum(meant, np.where(shapely.contains(region, spots), depth, 0.0))
        bad |= ~out & ~gone & (np.abs(below[face] - meant) > 0.004)
    return int(bad.sum()), hit


@pytest.mark.parametrize("case", sampled(CASES, 6))
def test_both_faces_are_what_the_jobs_numbers_say(case: str) -> None:
    text, machine, stations = CASES[case]
    for station in range(1, stations + 1):
        bad, hit = wrong(yaml.safe_load(text), programs(text, machine), station)
        assert bad == 0
        assert hit < 0.003


@pytest.mark.parametrize(
    ("old", "new"),
    sampled([("about Y", "about X"), ("dowel: dowels-1", "dowel: dowels-2"),
     ("dowel: dowels-1", "dowel: dowels-1, z: carrier"), ("at: [1, -4]", "at: [1, -4.07]"),
     ("face: under}\n  jewels", "face: upper}\n  jewels"), ("depth: 0.6}", "depth: 0.61}")], 6),
)
def test_the_reckoning_tells_another_job_apart(old: str, new: str) -> None:
    other = yaml.safe_load(changed(PLATE, (old, new)))
    assert wrong(other, programs(PLATE, DRIVEN), 1)[0] > 5
