"""Straight moves, arcs and turns of the dividing head, one block's worth at a time."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from camgen.reader.arcs import CLOSING, centre_from_radius, closing_error
from camgen.reader.motion import Figure, Kind
from camgen.reader.state import NAN, PLANES, State

__all__ = ["CENTRES", "Moving"]

CENTRES: Final = "IJK"
_WAY: Final[tuple[Figure, ...]] = ("places", "depths", "time")
_AXES: Final = "XYZ"


class Moving(State):
    """Makes moves."""

    __slots__ = ()

    def _start(self, line: int) -> None:
        """At the first move: words a program must say, or the control keeps the last one's."""
        self.started = True
        machine = self.machine
        if machine.program.units_word and "units" not in self.said:
            self.grave("neither G20 nor G21 before the first move: which units is not said", line,
                       unsure=("places", "depths", "feeds", "time"))
        if "distance" not in self.said:
            self.grave(
                "neither G90 nor G91 before the first move: places or distances is not said", line,
                unsure=_WAY,
            )
        if machine.offsets.work and "work offset" not in self.said:
            self.notes.add(
                f"no {machine.offsets.work} before the first move: the control keeps the zero last "
                "used", line,
            )
        missing = [word for word in machine.program.safe_words if word not in self.words]
        if missing:
            self.notes.add(
                f"no {' '.join(missing)} before the first move: the control keeps what was last in "
                "force", line,
            )

    def _target(self, line: int, numbers: dict[str, float]) -> list[float]:
        """Where the block's axis words lead."""
        target = list(self.position)
        for letter, axis in self.dialect.axes.items():
            if letter not in numbers:
                continue
            value = numbers[letter] * self.unit
            if self.absolute:
                target[axis] = value + self.shift[axis]
            else:
                target[axis] += value
                if not math.isfinite(target[axis]) and self.once(f"from nowhere {axis}"):
                    self.grave(
                        f"{letter} by a distance, from a place that is not known", line,
                        unsure=_WAY,
                    )
        return target

    def _turn(self, line: int, numbers: dict[str, float], columns: dict[str, int]) -> None:
        """Where the rotary word leads."""
        letter = self.dialect.rotary
        value = numbers[letter]
        way = self.machine.rotary.way
        if not self.turned:
            self.turned = True
            self.tell("head", line)
        if not self.absolute:
            self.angle += value
            return
        if way in ("absolute", "incremental"):
            self.angle = value
            return
        if not -360.0 <= value <= 360.0 or (value < 0 and way != "signed"):
            self.grave(
                f"{letter}{value:g}: this control counts from 0 to 360", line, columns[letter],
                unsure=("turns", "time"),
            )
        if way == "one-way":
            self.angle += round(value - self.angle, 9) % 360.0
        elif way == "signed":
            if math.copysign(1.0, value) > 0:
                self.angle += round(value - self.angle, 9) % 360.0
            else:
                self.angle -= round(self.angle + value, 9) % 360.0
        else:
            turn = (round(value - self.angle, 9) + 180.0) % 360.0 - 180.0
            if turn == -180.0:
                self.grave(
                    f"{letter}{value:g} is half a turn away: which way round is not certain",
                    line, columns[letter], unsure=("turns", "time"),
                )
            self.angle += turn

    def _second_rotary(
        self, line: int, numbers: dict[str, float], columns: dict[str, int], used: set[str]
    ) -> None:
        letter = self.dialect.second_rotary
        used.add(letter)
        self.tell("way", line, "second rotary")
        if numbers[letter] != self.dialect.second_stands_at:
            self.grave(
                f"{letter}{numbers[letter]:g}: this axis is to stand at "
                f"{self.dialect.second_stands_at:g}", line, columns[letter],
            )

    def _straight(
        self, line: int, target: list[float], *, rapid: bool, turning: bool = False
    ) -> None:
        """A straight move, or an index where only the dividing head turns."""
        before = self.position
        given = {axis for axis in range(3) if target[axis] is not before[axis]}
        moved = [
            axis
            for axis in range(3)
            if target[axis] != before[axis]
            and not (math.isnan(target[axis]) and math.isnan(before[axis]))
        ]
        if self.watch and (given or turning):
            self.tell_way(line, "turn" if turning else "rapid" if rapid else "feed", target, given)
        if rapid:
            self._clear_first(line, given, turning)
        self.lost -= given
        if not rapid and (moved or turning):
            self._place_known(line, target)
        self.position = target
        if not moved:
            if turning and self.angle != self._last_angle():
                self._emit(
                    Kind.INDEX, line, target, NAN if rapid else self._rotary_feed(line)
                )
            return
        if rapid:
            self._emit(Kind.RAPID, line, target, NAN)
            return
        length = math.sqrt(sum((target[axis] - before[axis]) ** 2 for axis in moved))
        self._cutting(line)
        self._emit(Kind.LINE, line, target, self._path_feed(line, length))

    def _last_angle(self) -> float:
        return self.rows[-1][10] if self.rows else self.angle_before

    def _clear_first(self, line: int, given: set[int], turning: bool) -> None:
        """Moving across before the cutter is known to be clear."""
        if not self.lost:
            return
        clear = self.dialect.retract_axes
        if clear - self.lost or (given and given <= clear):
            return
        if (given or turning) and self.once("across"):
            self.grave(
                "moves across before it has gone clear: the height of the cutter is not known "
                "here", line,
            )

    def _place_known(self, line: int, target: Sequence[float]) -> None:
        """Cutting from, or to, a place that is not known."""
        unknown = [
            axis for axis in range(3) if axis in self.lost or not math.isfinite(target[axis])
        ]
        if not unknown:
            return
        names = " and ".join(_AXES[axis] for axis in unknown)
        if self.once(f"cuts {names}"):
            grave = 2 in unknown or any(not math.isfinite(value) for value in target)
            self.notes.add(
                f"cuts before {names} has been given: where is not known", line, grave=grave
            )

    def _cutting(self, line: int) -> None:
        """What must be in order before metal is touched."""
        self.moved_cutting = True
        if self.sense * self.rate == 0.0 and self.machine.spindle_words.by_program and self.once(
            "no spindle"
        ):
            self.grave("a feed move with the spindle off", line, unsure=("speeds",))
        if (
            not self.dialect.touch_off
            and self.wrong_length
            and self.once("no length offset")
        ):
            self.grave(
                f"a feed move of cutter {self.cutter} with the length of cutter "
                f"{self.length_offset} in force: G43 H{self.cutter} is missing"
                if self.length_offset else
                "a feed move with no cutter length in force: G43 H is missing", line,
                unsure=("depths",))

    def _path_feed(self, line: int, length: float) -> float:
        """Feed along the path, mm/min; nan where none is known."""
        if math.isnan(self.feed):
            self._no_feed(line)
            return NAN
        if self.feed_mode == 940:
            return self.feed * self.feed_unit
        if self.feed_mode == 930:
            return self.feed * length
        return self.feed * self.feed_unit * abs(self.speed)

    def _rotary_feed(self, line: int) -> float:
        """Feed of a move that only turns, degrees/min."""
        if math.isnan(self.feed):
            self._no_feed(line)
            return NAN
        if self.feed_mode == 930:
            return self.feed * abs(self.angle - self._last_angle())
        return self.feed if self.feed_mode == 940 else self.feed * abs(self.speed)

    def _no_feed(self, line: int) -> None:
        if self.feed_mode == 930:
            self.grave("G93 wants F in every block that cuts", line, unsure=("feeds", "time"))
        elif self.once("no feed"):
            self.grave("a feed move without a feed: F is missing", line,
                       unsure=("feeds", "time"))

    def _arc(
        self,
        line: int,
        numbers: dict[str, float],
        axes: Sequence[str],
        centres: Sequence[str],
        turning: bool,
    ) -> None:
        """G2 and G3."""
        clockwise = self.motion == 20
        target = self._target(line, numbers)
        first, second = PLANES[self.plane]
        before = self.position
        start = (before[first], before[second])
        end = (target[first], target[second])
        if turning:
            self.grave("an arc that turns the dividing head at once", line)
        centre = None
        if all(map(math.isfinite, (*start, *end, before[self.plane], target[self.plane]))):
            centre = self._centre(line, numbers, centres, start, end, clockwise)
        else:
            self.grave("an arc from a place that is not known", line, unsure=_WAY)
        if centre is None:
            # No control would make it; shown straight, so that what follows begins at its place.
            self._straight(line, target, rapid=False)
            return
        given = {self.dialect.axes[letter] for letter in axes}
        if self.watch:
            self.tell_way(line, "arc", target, given)
        self.lost -= given
        self.position = target
        radius = math.sqrt((start[0] - centre[0]) ** 2 + (start[1] - centre[1]) ** 2)
        off = closing_error(start, end, centre)
        if off > CLOSING:
            self.grave(
                f"an arc that does not close: its end lies {off:.4f} mm off the circle through "
                f"its start; {CLOSING} is allowed", line, sort="an arc that does not close",
                unsure=_WAY,
            )
        self._place_known(line, target)
        self._cutting(line)
        third = target[self.plane] - before[self.plane]
        length = NAN
        chord = math.sqrt((end[0] - start[0]) ** 2 + (end[1] - start[1]) ** 2)
        if self.feed_mode == 930 or chord <= CLOSING:
            turn = _sweep(start, end, centre, clockwise)
            length = math.sqrt((turn * radius) ** 2 + third**2)
            if 0.0 < chord <= CLOSING and turn > math.pi:
                self.notes.add(
                    f"an arc all but the whole way round, its end {chord:.4f} mm from its start: "
                    "a short arc with the wrong sense looks like this", line,
                    sort="an arc all but the whole way round",
                )
        whole = [NAN, NAN, NAN]
        whole[first], whole[second] = centre
        self._emit(
            Kind.ARC_CLOCKWISE if clockwise else Kind.ARC_ANTICLOCKWISE,
            line, target, self._path_feed(line, length), whole,
        )

    def _centre(
        self,
        line: int,
        numbers: dict[str, float],
        centres: Sequence[str],
        start: tuple[float, float],
        end: tuple[float, float],
        clockwise: bool,
    ) -> tuple[float, float] | None:
        """The arc's centre in its plane, None where it has none that can be."""
        wanted = [CENTRES[axis] for axis in PLANES[self.plane]]
        given = [letter for letter in centres if letter in wanted]
        for letter in centres:
            if letter not in wanted:
                self.grave(
                    f"{letter} is not in the arc's plane", line, sort="centre out of the plane",
                    unsure=_WAY,
                )
        if "R" in numbers and given:
            self.grave("an arc with both its centre and R: controls differ in which holds", line,
                       unsure=_WAY)
        if given:
            if self.centre_absolute:
                if len(given) < 2:
                    self.grave(
                        "an arc with one half of an absolute centre", line, unsure=_WAY,
                    )
                    return None
                first, second = PLANES[self.plane]
                return self._off_start(
                    line, start, (
                        numbers[wanted[0]] * self.unit + self.shift[first],
                        numbers[wanted[1]] * self.unit + self.shift[second],
                    ),
                )
            return self._off_start(
                line, start, (
                    start[0] + numbers.get(wanted[0], 0.0) * self.unit,
                    start[1] + numbers.get(wanted[1], 0.0) * self.unit,
                ),
            )
        if "R" in numbers:
            try:
                return centre_from_radius(start, end, numbers["R"] * self.unit, clockwise)
            except ValueError as no:
                self.grave(str(no), line, sort="an arc by radius that cannot be", unsure=_WAY)
                return None
        self.grave("an arc with neither centre nor radius", line, unsure=_WAY)
        return None

    def _off_start(
        self, line: int, start: tuple[float, float], centre: tuple[float, float]
    ) -> tuple[float, float] | None:
        """``centre``, None where it is the arc's start."""
        if math.sqrt((start[0] - centre[0]) ** 2 + (start[1] - centre[1]) ** 2) == 0.0:
            self.grave("an arc of no radius: its centre is its start", line, unsure=_WAY)
            return None
        return centre


def _sweep(
    start: tuple[float, float], end: tuple[float, float], centre: tuple[float, float],
    clockwise: bool,
) -> float:
    """How far an arc turns, radians, a whole turn where it ends at its start."""
    if start == end:
        return math.tau
    turn = math.atan2(end[1] - centre[1], end[0] - centre[0]) - math.atan2(
        start[1] - centre[1], start[0] - centre[0]
    )
    return (-turn if clockwise else turn) % math.tau
