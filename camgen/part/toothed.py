"""What parts with teeth round them have in common."""

from __future__ import annotations

from camgen.part.features import Feature, Hole, Outline, Spaces, Thickness
from camgen.shapes.path import Point, circle
from camgen.teeth.tooth import Tooth

__all__ = ["toothed_features", "toothed_sizes"]


def toothed_features(
    part: str, tooth: Tooth, length: float, length_word: str, bore: float
) -> tuple[Feature, ...]:
    """The features of a wheel or pinion, ``part``; ``length`` along its arbor, ``bore`` or 0."""
    middle = Point(0.0, 0.0)
    return (
        Outline(circle(middle, tooth.tip_radius), (part,)),
        Thickness(length, (part, length_word)),
        Spaces(tooth, length, (part,)),
        *((Hole("bore", middle, bore, "bore", at=(part, "bore"), elsewhere=("bore",)),)
          if bore else ()),
    )


def toothed_sizes(
    bore: float, crossed: tuple[str, ...], *, flat: bool, on_head: bool
) -> tuple[str, ...]:
    """Names of the sizes measured of a wheel or pinion, in the order of measuring."""
    names: list[str] = []
    if flat:
        names += ["bore"] * (bore > 0) + ["outside", *crossed, "thickness"]
    if on_head:
        names += ["tip", "whole-depth", "tooth-thickness", "root"]
    return tuple(names)
