"""The finished part seen from above as it lies on the machine. Lengths mm, in its own frame."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cached_property

from camgen.part.features import (
    Cone,
    CrossedOut,
    Feature,
    Hole,
    Opening,
    PartOutline,
    Recess,
    Thread,
    things_of,
)
from camgen.part.plates.plate_words import Face
from camgen.shapes.mirror import MirrorAxis, mirrored, mirrored_area, mirrored_path
from camgen.shapes.path import Path
from camgen.values import dataclass

__all__ = ["PartShape", "as_it_lies"]


@dataclass(frozen=True)
class PartShape:
    """The finished part seen from above as it lies, in its own frame: what the job means.

    ``outline`` is closed and runs anticlockwise; ``openings`` are closed and go right through,
    ``opening_names`` are theirs in a plate. ``blind`` holes and ``recesses`` do not go through and
    are on the face that looks up; those on the other face are ``beneath``, their depths counted
    from there. ``cones`` are those at the face that looks up, ``threads`` those in holes that go
    right through or down from it.
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


def as_it_lies(features: Sequence[Feature], face: Face, turned: MirrorAxis) -> PartShape:
    """A part of these features with ``face`` up, mirrored where it was ``turned`` over."""
    holes = {one.name: replace(one, place=mirrored(one.place, turned))
             for one in features if isinstance(one, Hole)}
    recesses = [replace(one, area=mirrored_area(one.area, turned))
                for one in features if isinstance(one, Recess)]
    openings = [one for one in features if isinstance(one, Opening)]
    crossed = [path for one in things_of(features, CrossedOut) for path in one.paths]
    up = [one for one in holes.values() if one.depth is None or one.face == face]
    return PartShape(
        mirrored_path(things_of(features, PartOutline)[0].path, turned),
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
    )
