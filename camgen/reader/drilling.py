"""Fixed cycles for holes, carried out stroke by stroke."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from camgen.reader.cycles import Hole, strokes
from camgen.reader.motion import Figure
from camgen.reader.moving import CENTRES, Moving
from camgen.reader.state import PLANES

__all__ = ["Drilling"]


_WAY: Final[tuple[Figure, ...]] = ("places", "depths", "time")


class Drilling(Moving):
    """Makes holes."""

    __slots__ = ()

    # What a cycle must have, and what is wrong where it has not, word by word.
    def _cycle(  # noqa: C901
        self,
        line: int,
        numbers: dict[str, float],
        columns: dict[str, int],
        axes: Sequence[str],
        turning: bool,
        used: set[str],
        word: bool,
    ) -> None:
        """A hole, or L of them, by a fixed cycle."""
        kind = self.dialect.cycles[self.motion]
        letters = "RQPLK" + ("IJ" if kind in ("fine-bore", "back-bore") else "")
        taken = [letter for letter in letters if letter in numbers]
        used.update(taken)
        drill = self.plane
        letter_of = {axis: letter for letter, axis in self.dialect.axes.items()}
        deep = letter_of[drill]
        for letter in (deep, "R", "Q", "P", "I", "J", "K"):
            if letter in numbers and (letter not in "IJK" or letter in letters):
                scale = 1.0 if letter == "P" else self.unit
                self.cycle[letter] = numbers[letter] * scale
        if turning:
            self._turn(line, numbers, columns)
        if not axes:
            if turning:
                self._straight(line, list(self.position), rapid=True, turning=True)
            elif word and not taken:
                self.notes.add("a fixed cycle with nowhere to drill in its block", line)
            return
        missing = [letter for letter in (deep, "R") if letter not in self.cycle]
        if missing:
            self.grave(f"a fixed cycle without {' and '.join(missing)}", line, unsure=_WAY)
            return
        repeats = numbers.get("L", 1.0 if kind == "back-bore" else numbers.get("K", 1.0))
        if repeats != int(repeats) or not 0 <= repeats <= 10_000:
            self.grave(f"a fixed cycle {repeats:g} times", line, unsure=_WAY)
            return
        if repeats == 0:
            return
        start = list(self.position)
        if not math.isfinite(start[drill]) and self.once("cycle from nowhere"):
            self.grave("a fixed cycle from a height that is not known", line, unsure=_WAY)
        level, bottom = self.cycle["R"], self.cycle[deep]
        if self.absolute:
            level += self.shift[drill]
            bottom += self.shift[drill]
        else:
            level += start[drill]
            bottom += level
        if not bottom <= level:
            self.grave("a fixed cycle whose R lies below its bottom", line, unsure=_WAY)
            return
        if self.return_level is None:
            self.return_level = start[drill]
        clear = level if self.to_level else max(self.return_level, level)
        if math.isnan(clear):
            clear = level
        flat = {letter: numbers[letter] for letter in axes if letter != deep}
        for _ in range(int(repeats)):
            if not start[drill] >= level:
                start[drill] = level
                self._straight(line, list(start), rapid=True)
            target = self._target(line, flat)
            target[drill] = self.position[drill]
            self._straight(line, list(target), rapid=True, turning=turning)
            target[drill] = level
            self._straight(line, list(target), rapid=True)
            self.lost.discard(drill)
            if not self._hole(line, kind, drill, bottom, level, clear):
                return
            start = list(self.position)

    def _hole(
        self, line: int, kind: str, drill: int, bottom: float, level: float, clear: float
    ) -> bool:
        """Carry out one hole's strokes at the present place; False where it cannot be done."""
        first, second = PLANES[drill]
        across, along = self.cycle.get(CENTRES[first], 0.0), self.cycle.get(CENTRES[second], 0.0)
        counter = self.cycle.get("K", 0.0)
        hole = Hole(
            kind, bottom, level, clear,
            bite=self.cycle.get("Q", 0.0),
            dwell=self.cycle.get("P", 0.0) / (1000.0 if self.machine.dwell.unit == "ms" else 1.0),
            shift=(across, along),
            counterbore=counter + self.shift[drill] if self.absolute else bottom + counter,
        )
        if kind in ("drill-dwell", "bore-dwell") and "P" not in self.cycle and self.once("P"):
            self.grave("a fixed cycle with a dwell, but P is missing", line, unsure=("time",))
        if kind == "fine-bore" and not (across or along) and self.once("shift"):
            self.notes.add(
                "fine boring: which way the cutter is moved off the wall is set in the control and "
                "not shown", line,
            )
        sense = self.sense
        try:
            for stroke in strokes(hole):
                place = list(self.position)
                if stroke.kind == "shift":
                    place[first] += stroke.value
                    place[second] += stroke.across
                    self._straight(line, place, rapid=True)
                elif stroke.kind == "dwell":
                    if stroke.value:
                        self.event("dwell", line, "", stroke.value)
                elif stroke.kind == "spindle":
                    self.sense = int(stroke.value) * sense
                elif stroke.kind == "stop":
                    self.event("stop", line, "draw the cutter out by hand")
                else:
                    place[drill] = stroke.value
                    self._straight(line, place, rapid=stroke.kind == "rapid")
        except ValueError as no:
            self.grave(str(no), line, unsure=_WAY)
            return False
        finally:
            self.sense = sense
        return True
