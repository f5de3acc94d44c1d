"""What parts with teeth round them have in common.

Lengths mm.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from camgen.faults import Refused
from camgen.part.features import Feature, Hole, PartOutline, Spaces, Thickness, Whole
from camgen.shapes.path import Point, circle
from camgen.teeth.cut.correcting import Cutting, Sized, gauges
from camgen.teeth.form import Asked, Mating, Teeth, ToothedPart
from camgen.teeth.forms import form_named
from camgen.teeth.tooth import Tooth

__all__ = ["mate_of", "of_part_circle", "toothed_features", "toothed_sizes"]


def of_part_circle(tooth: Tooth, only: tuple[int, int] | None) -> Tooth:
    """The tooth with the spaces that there are; first and last that cannot be are passed over."""
    if only is None or not 1 <= only[0] <= only[1] <= tooth.sizes.teeth:
        return tooth
    return replace(tooth, only=only)


def toothed_features(
    part: str, tooth: Tooth, length: float, length_word: str, bore: float
) -> tuple[Feature, ...]:
    """The features of a wheel or pinion, ``part``; ``length`` along its arbor, ``bore`` or 0."""
    middle = Point(0.0, 0.0)
    return (
        Whole(PartOutline(circle(middle, tooth.tip_radius)), (part,)),
        Whole(Thickness(length), (part, length_word)),
        Whole(Spaces(tooth, length), (part,)),
        *((Hole("bore", middle, bore, "bore", at=(part, "bore"), elsewhere=("bore",)),)
          if bore else ()),
    )


def toothed_sizes(
    bore: float, crossed: tuple[str, ...], tooth: Callable[[], Tooth], *, flat: bool, on_head: bool
) -> tuple[str, ...]:
    """Names of the sizes measured of a wheel or pinion, in the order of measuring."""
    names: list[str] = []
    if flat:
        names += ["bore"] * (bore > 0) + ["outside", *crossed, "thickness"]
    if on_head:
        names += [size.value for size in _gauged(tooth)]
    return tuple(names)


def _gauged(tooth: Callable[[], Tooth]) -> tuple[Sized, ...]:
    """The sizes measured of teeth; those of any tooth where this one cannot be."""
    try:
        meant = tooth()
        return tuple(gauges(Cutting(meant, meant, meant.tip_radius)).readings)
    except Refused:
        return (Sized.BLANK, Sized.TIP, Sized.DEPTH, Sized.THICKNESS, Sized.ROOT)


def mate_of(
    form: str, other: ToothedPart, own: Teeth, mate: int | None, module: float, count: int,
    words: Mapping[str, Any],
) -> Tooth | None:
    """The tooth of the mate, which is an ``other`` of ``mate`` teeth; None where there is none.

    What both have alike of the ``words`` is taken over, else it is as is usual. ``count`` teeth are
    this one's. Raises Refused for mates that cannot be.
    """
    teeth = form_named(form).of(other)
    if mate is None or own.mating is Mating.NONE or teeth is None:
        return None
    alike = {word.name: words[word.name] for word in own.words if word.of_pair}
    return teeth.build(Asked(mate, module, count, alike))
