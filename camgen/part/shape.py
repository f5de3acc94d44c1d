"""The finished part seen from above as it lies on the machine. Lengths mm, in its own frame."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cached_property
from typing import Literal

from camgen.part.features import (
    Cone,
    CrossedOut,
    Feature,
    Hole,
    Opening,
    OutsideThread,
    PartOutline,
    Recess,
    Thread,
    things_of,
)
from camgen.part.plates.plate_words import Face
from camgen.part.tight import LeftCorner
from camgen.shapes.mirror import MirrorAxis, mirrored, mirrored_area, mirrored_path
from camgen.shapes.path import Path
from camgen.values import dataclass

__all__ = ["CornerStanding", "PartShape", "as_it_lies"]


@dataclass(frozen=True)
class CornerStanding:
    """A corner that a cutter leaves to a file: in the wall of what, by its word and its ``name``,
    and how deep that goes, None right through; ``fillet`` may stand along its foot."""

    corner: LeftCorner
    word: Literal["outline", "openings", "pockets"]
    name: str = ""
    depth: float | None = None
    fillet: float = 0.0


@dataclass(frozen=True)
class PartShape:
    """The finished part seen from above as it lies, in its own frame: what the job means.

    ``outline`` is closed and runs anticlockwise; ``openings`` are closed and go right through,
    ``opening_names`` are theirs in a plate. ``blind`` holes and ``recesses`` do not go through and
    are on the face that looks up; those on the other face are ``beneath``, their depths counted
    from there. ``cones`` are those at the face that looks up, ``threads`` those in holes that go
    right through or down from it, ``outside_threads`` those on posts that stand up there.
    ``corners_left`` are those that cutters leave to a file.
    """

    outline: Path
    openings: tuple[Path, ...] = ()
    holes: tuple[Hole, ...] = ()
    opening_names: tuple[str, ...] = ()
    blind: tuple[Hole, ...] = ()
    recesses: tuple[Recess, ...] = ()
    beneath: tuple[Hole | Recess, ...] = ()
    cones: tuple[Cone, ...] = ()
    threads: tuple[Thread, ...] = ()
    corners_left: tuple[CornerStanding, ...] = ()
    outside_threads: tuple[OutsideThread, ...] = ()

    @cached_property
    def _wide(self) -> dict[str, float]:
        return {cone.name: cone.width for cone in self.cones}

    @cached_property
    def _threaded(self) -> dict[str, Thread]:
        return {thread.name: thread for thread in self.threads}

    def cone_width(self, hole: Hole) -> float:
        """Width of the cone at a hole's mouth, mm; 0 where there is none."""
        return self._wide.get(hole.name, 0.0)

    def thread_in(self, hole: Hole) -> Thread | None:
        """The thread in a hole, where it has one."""
        return self._threaded.get(hole.name)


def _standing(features: Sequence[Feature], face: Face) -> Iterator[CornerStanding]:
    """The corners left to a file that are reached with ``face`` up, where they are drawn."""
    for edge in things_of(features, PartOutline):
        yield from (CornerStanding(corner, "outline") for corner in edge.corners)
    for one in features:
        match one:
            case Opening():
                yield from (CornerStanding(corner, "openings", one.name) for corner in one.corners)
            case Recess() if one.face == face:
                yield from (CornerStanding(corner, "pockets", one.pocket, one.depth, one.fillet)
                            for corner in one.corners)
            case _:
                pass


def as_it_lies(features: Sequence[Feature], face: Face, turned: MirrorAxis) -> PartShape:
    """A part of these features with ``face`` up, mirrored where it was ``turned`` over."""
    holes = {one.name: replace(one, place=mirrored(one.place, turned))
             for one in features if isinstance(one, Hole)}
    recesses = [replace(one, area=mirrored_area(one.area, turned))
                for one in features if isinstance(one, Recess)]
    openings = [one for one in features if isinstance(one, Opening)]
    crossed = [path for one in things_of(features, CrossedOut) for path in one.paths]
    edge = things_of(features, PartOutline)[0]
    up = [one for one in holes.values() if one.depth is None or one.face == face]
    return PartShape(
        mirrored_path(edge.path, turned),
        tuple(mirrored_path(path, turned)
              for path in (*(one.path for one in openings), *crossed)),
        tuple(hole for hole in up if hole.depth is None),
        tuple(one.name for one in openings),
        tuple(hole for hole in up if hole.depth is not None),
        tuple(one for one in recesses if one.face == face),
        (*(one for one in holes.values() if one.depth is not None and one.face != face),
         *(one for one in recesses if one.face != face)),
        tuple(replace(one, hole=holes[one.name]) for one in features
              if isinstance(one, Cone) and one.face == face),
        tuple(replace(one, hole=holes[one.name]) for one in features
              if isinstance(one, Thread) and (one.depth is None or one.face == face)),
        tuple(replace(one, corner=replace(one.corner, at=mirrored(one.corner.at, turned)))
              for one in _standing(features, face)),
        tuple(replace(one, place=mirrored(one.place, turned)) for one in features
              if isinstance(one, OutsideThread) and one.face == face),
    )
