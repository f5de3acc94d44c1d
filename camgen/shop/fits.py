"""How large a hole is made for what is pressed or put into it."""

from __future__ import annotations

from bisect import bisect_left
from functools import lru_cache
from pathlib import Path
from typing import Any

from camgen.faults import Fault, Refused, did_you_mean
from camgen.messages import Message
from camgen.shop.materials import find_material
from camgen.values import dataclass
from camgen.yamlfile import read_yaml

__all__ = ["Limits", "class_limits", "press_limits"]

# Nominal diameters, mm, up to which the ranges of the table of classes go, each with its end.
RANGES = (3.0, 6.0, 10.0, 18.0)


@dataclass(frozen=True, slots=True)
class Limits:
    """The least and the most that a hole's diameter may be, mm."""

    least: float
    most: float

    @property
    def middle(self) -> float:
        """What is aimed at."""
        return (self.least + self.most) / 2


@lru_cache(maxsize=1)
def _table() -> dict[str, Any]:
    table: dict[str, Any] = read_yaml(Path(__file__).parent / "data" / "fits.yaml").data
    return table


def press_limits(diameter: float, material: str, under: float | None = None) -> Limits:
    """Limits of a hole into which a jewel of ``diameter`` mm is pressed.

    ``material`` is the plate's; ``under`` mm instead of what the table says for it.

    >>> limits = press_limits(1.5, "brass-leaded")
    >>> round(limits.least, 3), round(limits.most, 3)
    (1.487, 1.493)
    """
    table = _table()["press"]
    row = table["other"]
    try:
        known = find_material(material, None)
    except Refused:
        pass  # one of the workshop's own
    else:
        row = table.get(known.name) or table["groups"].get(known.group[:1]) or row
    aim = diameter - (float(row["under"]) if under is None else under)
    off = float(row["off"])
    return Limits(aim - off, aim + off)


def class_limits(diameter: float, name: str) -> Limits:
    """Limits of a hole of nominal ``diameter`` mm and a class of ISO 286.

    Raises Refused for classes and diameters that the table does not have.

    >>> class_limits(1.5, "P7")
    Limits(least=1.484, most=1.494)
    """
    classes = {key: value for key, value in _table()["classes"].items() if key != "source"}
    if name not in classes:
        raise Refused(Fault(
            Message("no class of holes '{name}' is known", name=name),
            did_you_mean(name, classes, Message("known: {names}", names=tuple(classes)))))
    if diameter > RANGES[-1]:
        raise Refused(Fault(
            Message("classes are known up to {most:g} mm, this one is {diameter:g} mm",
                    most=RANGES[-1], diameter=diameter),
            Message("say its size without a class; for a jewel, `under:`")))
    low, high = classes[name][bisect_left(RANGES, diameter)]
    return Limits(round(diameter + low / 1000, 6), round(diameter + high / 1000, 6))
