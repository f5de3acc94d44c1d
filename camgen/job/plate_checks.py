"""Whether a plate can be, as a thing of metal; every fault with its place in the job file."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import shapely

from camgen.faults import Fault, Refused
from camgen.job.file import JobFile
from camgen.job.plate import Plate, Shape, area_of, path_of, places_of
from camgen.shop.threads import thread_of

__all__ = ["plate_faults"]

# A tapping hole may differ from the minor diameter by so much of the pitch: the crest is then a
# little thin or a little flat. Common practice, no source.
HOLE_SHARE = 0.25

# Chords stand in for arcs in these checks; what overlaps by less is left to the proofs.
CHORD = 0.002


def plate_faults(job_file: JobFile) -> list[Fault]:
    """Shapes that are none, features outside the plate or into one another, pockets too deep."""
    plate = job_file.job.plate
    if plate is None:
        return []
    faults = [*_shapes(job_file, plate)]
    if faults:
        return faults
    return [
        *_holes(job_file, plate),
        *_mouths(job_file, plate),
        *_inside(job_file, plate),
        *_depths(job_file, plate),
    ]


def _shapes(job_file: JobFile, plate: Plate) -> Iterator[Fault]:
    shapes: list[tuple[tuple[str, ...], Shape]] = [(("outline",), plate.outline)]
    shapes += [(("openings", name), shape) for name, shape in plate.openings.items()]
    for at, shape in shapes:
        try:
            path_of(shape)
        except Refused as no:
            yield from (
                Fault(f.message, f.remedy, job_file.place("plate", *at)) for f in no.faults
            )
    for name, pocket in plate.pockets.items():
        try:
            area_of(pocket)
        except Refused as no:
            yield from (
                Fault(f.message, f.remedy, job_file.place("plate", "pockets", name))
                for f in no.faults
            )


def _holes(job_file: JobFile, plate: Plate) -> Iterator[Fault]:
    for name, hole in plate.holes.items():
        if not places_of(hole):
            yield Fault(
                f"hole {name} is nowhere",
                "give its places: at: [[x, y]], ring: or rows:",
                job_file.place("plate", "holes", name),
            )


def _mouths(job_file: JobFile, plate: Plate) -> Iterator[Fault]:
    """Cones narrower than their holes, threads that are none or do not suit theirs."""
    for name, hole in plate.holes.items():
        at = ("plate", "holes", name)
        if hole.countersink is not None and hole.countersink <= hole.diameter:
            yield Fault(
                f"the countersink of {name}, {hole.countersink:g} mm, is not wider than the hole, "
                f"{hole.diameter:g} mm",
                "its width is that of the cone at the upper face",
                job_file.place(*at, "countersink"),
            )
        if hole.thread is None:
            continue
        try:
            thread = thread_of(hole.thread)
        except Refused as no:
            yield from (Fault(f.message, f.remedy, job_file.place(*at, "thread"))
                        for f in no.faults)
            continue
        if abs(hole.diameter - thread.hole) > HOLE_SHARE * thread.pitch:
            yield Fault(
                f"hole {name}, {hole.diameter:g} mm, is none for {thread.name}",
                f"a hole of {thread.hole:.3f} mm",
                job_file.place(*at, "diameter"),
            )


def _inside(job_file: JobFile, plate: Plate) -> Iterator[Fault]:
    outline = path_of(plate.outline).region(CHORD)
    through: list[tuple[str, str, shapely.Polygon]] = []
    for name, hole in plate.holes.items():
        for place in places_of(hole):
            disc = shapely.Point(place).buffer(hole.diameter / 2, quad_segs=16)
            if not outline.contains(disc):
                yield Fault(
                    f"hole {name} at X {place.x:g} Y {place.y:g} does not lie within the outline",
                    "look at its place, or at where the outline has its 0, 0",
                    job_file.place("plate", "holes", name),
                )
            if hole.depth is None:
                through.append(("holes", name, disc))
    for name, shape in plate.openings.items():
        region = path_of(shape).region(CHORD)
        if not outline.contains(region):
            yield Fault(
                f"opening {name} does not lie within the outline", "look at its place and size",
                job_file.place("plate", "openings", name),
            )
        through.append(("openings", name, region))
    tree = shapely.STRtree([region for _, _, region in through])
    found = tree.query([region for _, _, region in through], predicate="intersects")
    for one, other in sorted({(min(pair), max(pair)) for pair in zip(*found, strict=True)}):
        if one == other:
            continue
        (_, first, a), (group, second, b) = through[one], through[other]
        # Holes about one middle are one hole in steps.
        if not (a.contains(b) or b.contains(a)) and a.intersection(b).area > CHORD:
            yield Fault(
                f"{second} runs into {first}", "move one of them or make it smaller",
                job_file.place("plate", group, second),
            )


def _depths(job_file: JobFile, plate: Plate) -> Iterator[Fault]:
    named = itertools.chain(
        (("holes", name, hole.depth) for name, hole in plate.holes.items()),
        (("pockets", name, pocket.depth) for name, pocket in plate.pockets.items()),
    )
    for group, name, depth in named:
        if depth is not None and depth >= plate.thickness:
            yield Fault(
                f"{name} is {depth:g} mm deep and the plate {plate.thickness:g} mm thick",
                "leave depth out for a hole right through" if group == "holes"
                else "list it under openings when it goes right through",
                job_file.place("plate", group, name, "depth"),
            )
