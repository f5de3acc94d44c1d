"""The kinds of part that a job may make."""

from __future__ import annotations

from typing import TypeAlias

from camgen.part.features import Feature
from camgen.part.plates.plate import Plate
from camgen.part.turned.turned import TurnedPart
from camgen.part.wheels.pinion import Pinion
from camgen.part.wheels.wheel import Wheel

__all__ = ["Part", "Toothed", "features_of"]

# Parts with teeth round them, that go on an arbor.
Toothed: TypeAlias = Wheel | Pinion
Part: TypeAlias = Toothed | Plate | TurnedPart


def features_of(part: Part, material: str) -> tuple[Feature, ...]:
    """Everything that the job says the part has, made of ``material``, whatever makes it.

    Raises Refused for what cannot be.

    >>> wheel = Wheel(teeth=60, module=0.2, mate=8, thickness=0.3, bore=0.8)
    >>> [feature.name for feature in features_of(wheel, "brass-leaded")]
    ['outline', 'thickness', 'teeth', 'bore']
    """
    return part.features(material)
