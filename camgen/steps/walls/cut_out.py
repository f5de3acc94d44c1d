"""Cutting openings of any shape right through a plate."""

from typing import ClassVar

from pydantic import Field

from camgen.faults import Fault, did_you_mean, no_more
from camgen.messages import Message
from camgen.part.declaration import Declaration, MakesOpenings, Named
from camgen.part.tight import TightCorner, tight_corners
from camgen.shapes.offset import Area, offset
from camgen.shapes.path import Path
from camgen.steps.kind import FlatBench, PlannedStep, StepKind
from camgen.steps.walls.contour import (
    SLUG,
    ContourWords,
    closed_wall,
    contour_faults,
    finish_left,
    plan_contours,
    unheld,
)
from camgen.steps.walls.corners import corner_faults
from camgen.tolerances import AREA_CHORD

__all__ = ["CUT_OUT", "CutOut"]


class CutOut(ContourWords):
    """Cut openings right through."""

    kind: ClassVar[str] = "cut-out"
    called: ClassVar[Message] = Message("cut out")
    openings: tuple[str, ...] | None = Field(
        None, description="names of openings; all when left out"
    )

    def declares(self) -> Declaration:
        """The plate's openings."""
        return self.declared(MakesOpenings(Named(self.openings)))


def _chosen(bench: FlatBench, words: CutOut) -> list[tuple[str, Path]]:
    part = bench.layout.part
    return [
        (name, path)
        for name, path in zip(part.opening_names, part.openings, strict=False)
        if words.openings is None or name in words.openings
    ]


def check(bench: FlatBench, words: CutOut) -> list[Fault]:
    """Faults seen without planning."""
    faults = contour_faults(bench, words)
    known = list(bench.layout.part.opening_names)
    if not known:
        faults.append(
            Fault(Message("the part has no opening"), Message("describe it with the plate"),
                  bench.place())
        )
    for number, name in enumerate(words.openings or ()):
        if name not in known:
            faults.append(
                Fault(
                    Message("the part has no opening called '{name}'", name=name),
                    did_you_mean(name, known, Message("its openings: {names}",
                                                      names=tuple(known))),
                    bench.place("openings", number),
                )
            )
    if faults:
        return faults
    slugs = False
    corners: list[TightCorner] = []
    for name, path in _chosen(bench, words):
        own = tight_corners(path, bench.cutter.diameter / 2 + words.correction)
        if not own:
            faults += _narrow(bench, words, name, path)
        corners += own
        slugs |= not path.region(AREA_CHORD).buffer(-bench.cutter.diameter - SLUG).is_empty
    faults += corner_faults(bench, corners, words.correction)
    return faults + (unheld(bench, words, Message("the slugs")) if slugs and not faults else [])


def _narrow(bench: FlatBench, words: CutOut, name: str, path: Path) -> list[Fault]:
    """An opening in which the cutter has no way round, or none with what it leaves for the last
    pass."""
    own, left = bench.cutter.diameter, finish_left(bench, words)
    inset = own / 2 + words.correction

    def goes(away: float) -> bool:
        # A way round that is narrower than what the axes can tell is none.
        return len(offset(Area(path), -away - bench.machine.coarsest)) == 1

    if not goes(inset):
        return [Fault(
            Message("opening {name} is too narrow somewhere for a cutter of {diameter:g} mm",
                    name=name, diameter=own),
            Message("a smaller cutter"), bench.place("cutter"))]
    if goes(inset + left):
        return []
    most = max((left * share / 20 for share in range(1, 20) if goes(inset + left * share / 20)),
               default=0.0)
    if words.finish is not None:
        message = Message("{left:g} mm left for the last pass leave a cutter of {diameter:g} mm no "
                          "way round somewhere in opening {name}", left=left, diameter=own,
                          name=name)
    else:
        message = Message("{left:g} mm left for the last pass, as planned, leave a cutter of "
                          "{diameter:g} mm no way round somewhere in opening {name}", left=left,
                          diameter=own, name=name)
    return [Fault(
        message, Message("finish: {most} or less, or a smaller cutter", most=no_more(most))
        if most >= 0.001 else Message("a smaller cutter"),
        bench.place("finish" if words.finish is not None else "cutter"))]


def plan(bench: FlatBench, words: CutOut) -> PlannedStep:
    """Every opening of every piece."""
    radius = bench.cutter.diameter / 2 + words.correction
    cuts = []
    for _, path in _chosen(bench, words):
        (last,) = offset(Area(path), -radius)
        (rough,) = offset(Area(path), -radius - finish_left(bench, words))
        cuts.append(closed_wall(bench, words, rough.outer, last.outer))
    return plan_contours(bench, words, cuts, words.called)


CUT_OUT = StepKind("cut-out", CutOut, check, plan)
