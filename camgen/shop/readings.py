"""Readings taken from a machine, and the words of its file that come of them.

The readings stand in a short YAML file. Holes A B C D are those of the measuring plate, from the
lower left one round against the clock; their distances are from middle to middle. Lengths mm,
angles degrees, errors of the head arc-seconds.
"""

import math
from itertools import pairwise
from typing import Any

from pydantic import Field

from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.shop.machine import DrivenHead, LinearAxis, Machine
from camgen.shop.machine.measured import Errors
from camgen.shop.model import FileModel, NotNegative, Positive

__all__ = ["Lash", "Readings", "measured_words"]

_AGREE = 0.05
"""Sides and diagonals of one plate agree within this, mm, or one of them is mistyped."""


class Lash(FileModel):
    """Lost motion at a reversal, read on an indicator: up to it, on by 1 mm and back, mm."""

    x: NotNegative | None = Field(None, description="of X, mm")
    y: NotNegative | None = Field(None, description="of Y, mm")
    z: NotNegative | None = Field(None, description="of Z, mm")


class Readings(FileModel):
    """What was read, each word where it was."""

    along_x: tuple[Positive, Positive] | None = Field(
        None, description="from A to B and from D to C, mm")
    along_y: tuple[Positive, Positive] | None = Field(
        None, description="from A to D and from B to C, mm")
    diagonals: tuple[Positive, Positive] | None = Field(
        None, description="from A to C and from B to D, mm")
    along_z: tuple[Positive, Positive] | None = Field(
        None, description="how far Z was told to go, and how far it went over gauge blocks, mm")
    lash: Lash = Field(Lash.usual(), description="lost motion read on an indicator, mm")
    head: Errors = Field(
        (), description="angles told, degrees, and how many arc-seconds farther on the head stood")
    run_out: NotNegative | None = Field(
        None, description="total run-out read at the cutter, mm")


def measured_words(
    machine: Machine, readings: Readings, sides: tuple[float, float]
) -> dict[str, Any]:
    """The words of the machine file, by path, that the readings come to.

    ``sides`` are how far apart the plate's holes were meant to be along X and Y, mm. The plate was
    cut by what the file said then: what is read is what was left, and comes on top of it. Raises
    Refused for readings that contradict one another.
    """
    words: dict[str, Any] = {}
    faults: list[Fault] = []
    meant = {"x": sides[0], "y": sides[1]}
    found = {"x": _mean(readings.along_x), "y": _mean(readings.along_y)}
    if readings.along_z is not None:
        meant["z"], found["z"] = readings.along_z
    for name, read in found.items():
        if read is None:
            continue
        axis: LinearAxis = machine.axis(name.upper())
        if axis.errors:
            faults.append(Fault(
                Message("{axis} has a table of errors, and a distance says nothing of its places",
                        axis=name.upper()),
                Message("take {word} out of the machine file and cut the plate again, or measure "
                        "the table anew", word=f"{name}.errors")))
            continue
        words[f"{name}.scale"] = round(axis.scale * read / meant[name], 6)
    words |= _squareness(machine, readings, sides, faults)
    for name in "xyz":
        lost = getattr(readings.lash, name)
        if lost is not None:
            words[f"{name}.lash"] = lost
    if readings.head:
        words |= _head(machine, readings.head, faults)
    if readings.run_out is not None:
        words["spindle.run-out"] = readings.run_out
    if not words and not faults:
        faults.append(Fault(Message("no reading is given"),
                            Message("write at least one, such as along-x")))
    if faults:
        raise Refused(faults)
    return words


def _mean(pair: tuple[float, float] | None) -> float | None:
    return None if pair is None else (pair[0] + pair[1]) / 2


def _squareness(
    machine: Machine, readings: Readings, sides: tuple[float, float], faults: list[Fault]
) -> dict[str, Any]:
    """The angle from X to Y, of the diagonals: one is shorter where it is more than a right one."""
    if readings.diagonals is None:
        return {}
    rising, falling = readings.diagonals
    across = _mean(readings.along_x) or sides[0]
    up = _mean(readings.along_y) or sides[1]
    off = math.sqrt((rising**2 + falling**2) / 2) - math.hypot(across, up)
    if abs(off) > _AGREE:
        faults.append(Fault(
            Message("the diagonals are {off:.3f} mm longer or shorter than such sides have",
                    off=abs(off)),
            Message("measure again from middle to middle: add a hole's diameter to what is read "
                    "between its nearer edges")))
        return {}
    lean = math.degrees(math.asin((falling**2 - rising**2) / (4 * across * up)))
    return {"squareness": round(machine.squareness + lean, 5)}


def _head(machine: Machine, read: Errors, faults: list[Fault]) -> dict[str, Any]:
    """The head's table: what was read, on top of what was put right already."""
    head = machine.dividing
    if not isinstance(head, DrivenHead):
        faults.append(Fault(Message("the machine file has no driven head to keep a table of"),
                            Message("leave head out of the readings")))
        return {}

    def before(angle: float) -> float:
        if not head.errors:
            return 0.0
        first, last = head.errors[0], head.errors[-1]
        points = [(last[0] - 360.0, last[1]), *head.errors, (first[0] + 360.0, first[1])]
        for (low, error), (high, after) in pairwise(points):
            if low <= angle <= high:
                return error + (after - error) * (angle - low) / (high - low)
        return 0.0

    return {"dividing.errors": tuple((angle, round(error + before(angle), 2))
                                     for angle, error in read)}
