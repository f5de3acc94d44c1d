"""Moves in other coordinates than the program's, and shifts of its zero."""

from __future__ import annotations

import math
from collections.abc import Sequence

from camgen.reader.motion import Kind
from camgen.reader.moving import Moving
from camgen.reader.state import NAN

__all__ = ["Placing"]


class Placing(Moving):
    """Goes to reference and machine places, and shifts the zero."""

    __slots__ = ()

    def _reference(
        self, line: int, word: str, numbers: dict[str, float], axes: Sequence[str]
    ) -> None:
        """G28 and G30: by the middle point to the reference point."""
        turning = bool(self.dialect.rotary) and self.dialect.rotary in numbers
        via = NAN
        if axes:
            # G91 G28 Z0 is the usual way to say "from here", also where "here" is not known.
            still = {letter for letter in axes if not self.absolute and numbers[letter] == 0}
            by = {letter: value for letter, value in numbers.items() if letter not in still}
            if len(still) < len(axes):
                via = 1.0 if self.lost else 0.0
            self._straight(line, self._target(line, by), rapid=True)
        named = [self.dialect.axes[letter] for letter in axes]
        if not axes and not turning:
            named = [0, 1, 2]
            self.notes.add("all axes go to the reference point at once", line)
        self.tell("gone", line, word, via,
                  [0.0 if axis in named else NAN for axis in range(3)])
        self._away(line, named)
        if turning:
            self.angle = 0.0
            self._straight(line, list(self.position), rapid=True, turning=True)

    def _machine_move(
        self,
        line: int,
        numbers: dict[str, float],
        axes: Sequence[str],
        columns: dict[str, int],
    ) -> None:
        """G53: to a place in machine coordinates."""
        if self.motion not in (0, 10):
            self.grave("G53 wants G0 or G1 in force", line, unsure=("places", "depths", "time"))
        if not self.absolute:
            self.grave("G53 with distances (G91) in force: controls differ in what they do", line,
                       unsure=("places", "depths", "time"))
        low = False
        for letter in axes:
            if self.dialect.axes[letter] != 2:
                continue
            low = numbers[letter] * self.unit < self.machine.retract.machine_z - 1e-9
            if low:
                self.grave(
                    f"G53 {letter}{numbers[letter]:g} is below the height that the machine file "
                    "calls safe: how high that is over the work is not known", line,
                    columns[letter], unsure=("depths",),
                )
        place = [NAN, NAN, NAN]
        for letter in axes:
            axis = self.dialect.axes[letter]
            # The machine's own coordinates are ISO 841's: no sense to be turned.
            place[axis] = numbers[letter] * self.unit * self.dialect.signs[axis]
        self.tell("gone", line, "G53", place=place)
        self._away(line, [self.dialect.axes[letter] for letter in axes], low=low)

    def _away(self, line: int, axes: Sequence[int], *, low: bool = False) -> None:
        """The axes go where the program's own figures do not reach: Z up, the others aside.

        ``low``: Z too goes nobody knows where.
        """
        self.position = list(self.position)
        for axis in axes:
            self.lost.discard(axis)
            up = axis == 2 and not low
            self.position[axis] = math.inf * self.dialect.signs[2] if up else NAN
        if axes:
            self._emit(Kind.RAPID, line, self.position, NAN)

    def _shift(
        self, line: int, once: int, numbers: dict[str, float], axes: Sequence[str]
    ) -> None:
        """G52 and G92: the zero is shifted."""
        self.tell("word", line, f"G{once / 10:g}")
        if once == 921:
            self.shift = [0.0, 0.0, 0.0]
            self.old_shift = [0.0, 0.0, 0.0]
        elif once == 922:
            self.old_shift, self.shift = list(self.shift), [0.0, 0.0, 0.0]
        elif once == 923:
            self.shift = list(self.old_shift)
        elif not axes and not (self.dialect.rotary and self.dialect.rotary in numbers):
            self.grave(f"G{once // 10} without axis words: some controls shift nothing by it, and "
                       "others every axis, or hold a speed", line, unsure=("places", "depths"))
        for letter in axes:
            axis = self.dialect.axes[letter]
            value = numbers[letter] * self.unit
            if once == 520:
                self.shift[axis] = value
            elif math.isfinite(self.position[axis]):
                self.shift[axis] = self.position[axis] - value
                self.lost.discard(axis)
            else:
                # The first zero said of an axis is the program's zero.
                self.position[axis] = value + self.shift[axis]
                self.lost.discard(axis)
        named = "".join("XYZ"[self.dialect.axes[letter]] for letter in axes) if once == 920 else ""
        self.tell("shift", line, named, place=self.shift)
        if self.dialect.rotary and self.dialect.rotary in numbers:
            self.grave("G92 of the dividing head: its angles would be counted from elsewhere", line,
                       unsure=("turns",))
