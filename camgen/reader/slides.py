"""From what slides and a head are told to where they really stand, as the machine was measured.

A slide told a place goes by its scale, or stands off by what its table says there; X and Y stand at
the angle that was measured; a head stands off by its own table. Lengths mm, angles degrees.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from camgen.arrays import Floats, Ints
from camgen.reader.motion import Kind
from camgen.shop.machine import DrivenHead, Machine
from camgen.values import dataclass

__all__ = ["Slides", "slides_of"]

_FLAT: Final = 1e-4
"""Arcs that stand off their chord by less, mm, keep their middle: they are as good as straight."""


@dataclass(frozen=True)
class Slides:
    """What was measured.

    ``scales`` and ``tables`` for X, Y, Z: places told and errors there, both (k,) and empty where
    there is no table, counted from the work's zero; ``turned`` the angle by which Y stands more
    than a right one from X, radians; ``head`` degrees told and errors there, degrees.
    """

    scales: tuple[float, float, float]
    tables: tuple[tuple[Floats, Floats], ...]
    turned: float
    head: tuple[Floats, Floats]

    def stands(self, told: Floats) -> Floats:
        """Where the cutter stands, (n, 3), when the slides are told (n, 3)."""
        along = np.empty_like(told)
        for axis in range(3):
            at, off = self.tables[axis]
            along[:, axis] = told[:, axis] * self.scales[axis]
            if len(at):
                along[:, axis] += np.interp(told[:, axis], at, off) - np.interp(0.0, at, off)
        place = along.copy()
        if self.turned:
            place[:, 0] -= along[:, 1] * math.sin(self.turned)
            place[:, 1] = along[:, 1] * math.cos(self.turned)
        return place

    def told(self, place: Floats) -> Floats:
        """What the slides are told when the cutter stands at (n, 3)."""
        along = place.copy()
        if self.turned:
            along[:, 1] = place[:, 1] / math.cos(self.turned)
            along[:, 0] += along[:, 1] * math.sin(self.turned)
        for axis in range(3):
            at, off = self.tables[axis]
            if len(at):
                # Beyond its ends a table says no more than at them.
                far = np.array([-1e6, 1e6])
                ends = np.concatenate((far[:1], at, far[1:]))
                there = ends + np.interp(ends, at, off) - np.interp(0.0, at, off)
                along[:, axis] = np.interp(along[:, axis], there, ends)
            else:
                along[:, axis] /= self.scales[axis]
        return along

    def told_span(self, low: Floats, high: Floats) -> tuple[Floats, Floats]:
        """The least and greatest (3,) that the slides are told between two corners; nan stays."""
        corners = np.array(np.meshgrid(*np.nan_to_num(np.stack([low, high], axis=1))))
        told = self.told(corners.reshape(3, -1).T)
        known = np.isfinite(low) & np.isfinite(high)
        return np.where(known, told.min(axis=0), low), np.where(known, told.max(axis=0), high)

    def stands_alone(self, told: tuple[float, float, float]) -> tuple[float, float, float]:
        """Where the cutter stands at one place told, of which axes may be unknown (nan)."""
        known = np.nan_to_num(np.array([told]), nan=0.0, posinf=0.0, neginf=0.0)
        x, y, z = (float(there) if math.isfinite(one) else one
                   for there, one in zip(self.stands(known)[0], told, strict=True))
        return x, y, z

    def turns(self, told: Floats) -> Floats:
        """Where the head stands, (n,) degrees, when it is told (n,)."""
        at, off = self.head
        if not len(at):
            return told
        found: Floats = told + np.interp(told, at, off, period=360.0) - np.interp(
            0.0, at, off, period=360.0)
        return found

    def middles(
        self, kind: Ints, plane: Ints, start: Floats, end: Floats, centre: Floats, turns: Ints
    ) -> Floats:
        """(n, 3) middles of arcs as the cutter goes, from what the slides are told.

        An arc told is seldom quite an arc for the cutter: the one through its ends and the place
        halfway stands for it. A whole circle, and a hardly bent one, keeps its own middle.
        """
        found = centre.copy()
        rows = np.nonzero((kind == Kind.ARC_CLOCKWISE) | (kind == Kind.ARC_ANTICLOCKWISE))[0]
        if not len(rows):
            return found
        each = np.arange(len(rows))
        first, second = (plane[rows] + 1) % 3, (plane[rows] + 2) % 3
        middle = start[rows].copy()
        middle[each, first] = centre[rows, first]
        middle[each, second] = centre[rows, second]
        found[rows] = self.stands(middle)
        a0 = np.arctan2(start[rows, second] - centre[rows, second],
                        start[rows, first] - centre[rows, first])
        a1 = np.arctan2(end[rows, second] - centre[rows, second],
                        end[rows, first] - centre[rows, first])
        sign = np.where(kind[rows] == Kind.ARC_CLOCKWISE, -1.0, 1.0)
        sweep = np.mod(sign * (a1 - a0), 2 * np.pi)
        radius = (np.hypot(start[rows, first] - centre[rows, first],
                           start[rows, second] - centre[rows, second])
                  + np.hypot(end[rows, first] - centre[rows, first],
                             end[rows, second] - centre[rows, second])) / 2
        half = (start[rows] + end[rows]) / 2
        at = a0 + sign * sweep / 2
        half[each, first] = centre[rows, first] + radius * np.cos(at)
        half[each, second] = centre[rows, second] + radius * np.sin(at)
        bent = (radius * (1.0 - np.cos(sweep / 2)) > _FLAT) & (sweep < 1.9 * np.pi)
        bent &= turns[rows] == 0
        if not bent.any():
            return found
        rows, first, second = rows[bent], first[bent], second[bent]
        each = np.arange(len(rows))
        ends = [self.stands(one) for one in (start[rows], half[bent], end[rows])]
        (ax, ay), (bx, by), (cx, cy) = ((one[each, first], one[each, second]) for one in ends)
        bx, by, cx, cy = bx - ax, by - ay, cx - ax, cy - ay
        twice = 2.0 * (bx * cy - by * cx)
        b, c = bx * bx + by * by, cx * cx + cy * cy
        found[rows, first] = ax + (cy * b - by * c) / twice
        found[rows, second] = ay + (bx * c - cx * b) / twice
        return found


def slides_of(machine: Machine) -> Slides | None:
    """What was measured of a machine; None where nothing was that changes where it stands."""
    if not machine.measured:
        return None
    axes = (machine.x, machine.y, machine.z)
    tables = []
    for axis in axes:
        points = np.array(axis.errors, dtype=np.float64).reshape(-1, 2)
        tables.append((points[:, 0] - axis.errors_zero, points[:, 1]))
    head = machine.dividing
    errors = head.errors if isinstance(head, DrivenHead) else ()
    off = np.array(errors, dtype=np.float64).reshape(-1, 2)
    return Slides(
        (machine.x.scale, machine.y.scale, machine.z.scale), tuple(tables),
        math.radians(machine.squareness), (off[:, 0], off[:, 1] / 3600.0),
    )
