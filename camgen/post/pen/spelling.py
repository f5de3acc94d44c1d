"""Lengths, feeds, times and angles as one machine file spells them.

A *count* is a whole number of last decimal places: the machine's grid and every rounding are in
counts, and what is written is the text of a count.
"""

from __future__ import annotations

from math import ceil, floor
from typing import Final

from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.moves import Plane
from camgen.post.arcs import arc_limits
from camgen.post.measured import sent_by
from camgen.post.numbers import WordTexts, grid_of, number_written
from camgen.shop.machine import Machine
from camgen.values import dataclass
from camgen.yamlfile.length_units import MM_PER_INCH

__all__ = ["AXES", "PlaneSpelling", "Spelling"]

AXES: Final = "XYZ"
# What an axis's letter is to the control: U, V and W lie along X, Y and Z (ISO 841).
_CONTROL_AXES: Final = {"X": 0, "U": 0, "Y": 1, "V": 1, "Z": 2, "W": 2}
# A plane's own axes, the first turning towards the second, and the axis normal to it (ISO 841).
_ROUND: Final[dict[Plane, tuple[int, int, int]]] = {
    "XY": (0, 1, 2), "ZX": (2, 0, 1), "YZ": (1, 2, 0)}
# The control's word of a plane, and what the plane is called there, by the axis normal to it.
_PLANE_WORDS: Final[tuple[tuple[str, Plane], ...]] = (
    ("G19", "YZ"), ("G18", "ZX"), ("G17", "XY"))


@dataclass(frozen=True, slots=True)
class PlaneSpelling:
    """How the arcs in one plane of the machine are spelt.

    ``word`` and ``called`` are the plane as the control has it, by its own letters; ``first`` turns
    anticlockwise towards ``second``, ``normal`` stands on both: axes of the machine, 0 to 2.
    ``mirrored`` where the control, going by its letters, looks at the plane from behind.
    """

    word: str
    called: Plane
    first: int
    second: int
    normal: int
    mirrored: bool


def _planes(control: list[int]) -> dict[Plane, PlaneSpelling]:
    """The planes of a machine whose axes are ``control``'s, 0 to 2 for its X, Y and Z.

    >>> _planes([0, 2, 1])["XY"].word, _planes([0, 2, 1])["XY"].mirrored
    ('G18', True)
    """
    found: dict[Plane, PlaneSpelling] = {}
    for plane, (first, second, normal) in _ROUND.items():
        word, called = _PLANE_WORDS[control[normal]]
        found[plane] = PlaneSpelling(word, called, first, second, normal,
                                     (control[second] - control[first]) % 3 == 2)
    return found


class Spelling:
    """How one machine spells what is written; nothing in it changes while a program is.

    ``count_mm`` is a count in mm, ``grids`` counts in a step of each axis, ``signs`` -1 where an
    axis is reversed, ``scales`` signed counts in a mm as the slide goes, ``sent`` how it is sent,
    ``axis_words`` and ``centre_words`` texts by count; ``planes`` the planes of arcs, by the
    machine's axes, and ``arc_planes`` those, as the control calls them, in which it is asked for
    arcs.
    """

    def __init__(self, machine: Machine) -> None:
        self.machine = machine
        self.inch = machine.program.units == "inch"
        self.count_mm = (MM_PER_INCH if self.inch else 1.0) * 10.0**-machine.numbers.decimals
        axes = [machine.axis(name) for name in AXES]
        self.letters = [axis.letter or name for axis, name in zip(axes, AXES, strict=True)]
        control = [_CONTROL_AXES[letter] for letter in self.letters]
        self.signs = [-1 if axis.sense == "reversed" else 1 for axis in axes]
        self.grids = [grid_of(axis.increment, self.count_mm) for axis in axes]
        self.sent = sent_by(machine)
        self.steps = [sign / (self.count_mm * grid * scale) for sign, grid, scale in
                      zip(self.signs, self.grids, self.sent.scales, strict=True)]
        self.scales = [sign / (self.count_mm * scale)
                       for sign, scale in zip(self.signs, self.sent.scales, strict=True)]
        self.axis_words = [
            WordTexts(letter, self._twice if axis.counts == "twice" else self.length_text)
            for letter, axis in zip(self.letters, axes, strict=True)]
        self.centre_words = [WordTexts(letter, self.length_text)
                             for letter in ("IJK"[axis] for axis in control)]
        self.planes = _planes(control)
        self.arc_planes = tuple(plane for plane in machine.arcs.planes
                                if plane == "XY" or machine.program.plane_word)
        self.limits = arc_limits(machine.arcs, self.count_mm, max(self.grids))
        self._feeds: dict[float, str] = {}

    def length_text(self, counts: int) -> str:
        """A length given in counts, as text."""
        return number_written(counts, self.machine.numbers.decimals, self.machine.numbers)

    def _twice(self, counts: int) -> str:
        """A coordinate as a diameter."""
        return self.length_text(2 * counts)

    def length(self, mm: float) -> str:
        """A length in the program's units, as text."""
        return self.length_text(round(mm / self.count_mm))

    def counts(self, axis: int, mm: float) -> int:
        """A coordinate in counts, on the machine's grid."""
        if self.sent.tables[axis]:
            return self.shown_counts(axis, self.sent.told(axis, mm))
        return round(mm * self.steps[axis]) * self.grids[axis]

    def shown_counts(self, axis: int, mm: float) -> int:
        """A coordinate that the control itself shows, in counts on the machine's grid."""
        grid = self.grids[axis]
        return round(mm * self.signs[axis] / (self.count_mm * grid)) * grid

    def scaled(self, axis: int, mm: float) -> float:
        """A coordinate in counts before it is rounded."""
        return self.sent.told(axis, mm) * self.signs[axis] / self.count_mm

    def g(self, word: str) -> str:
        """A G or M word with as many figures as the control wants."""
        if len(word) == 2 and self.machine.blocks.two_figures:
            return f"{word[0]}0{word[1]}"
        return word

    def feed(self, feed: float) -> str:
        """The F word for ``feed`` mm/min."""
        text = self._feeds.get(feed)
        if text is None:
            text = self.f_word(feed / MM_PER_INCH if self.inch else feed)
            self._feeds[feed] = text
        return text

    def feed_a_turn(self, feed: float, rpm: float) -> str:
        """The F word for ``feed`` mm/min at ``rpm`` rev/min, no more than it: a turn's share."""
        last = 10.0**-self.machine.numbers.feed_decimals
        value = feed / rpm / (MM_PER_INCH if self.inch else 1.0)
        return self.f_word(max(floor(value / last + 1e-6), 1) * last)

    def f_word(self, value: float) -> str:
        """The F word for a number already in the program's units.

        Rounded to the nearest, but down where up would pass an axis's limit. Raises Refused where
        the machine file's decimal places leave nothing of it.
        """
        decimals = self.machine.numbers.feed_decimals
        counts = round(value * 10**decimals)
        rounded = counts / 10**decimals
        unit = MM_PER_INCH if self.inch else 1.0
        passes = any(value * unit <= axis.feed_limit < rounded * unit
                     for axis in (self.machine.x, self.machine.y, self.machine.z))
        if passes:
            counts -= 1
        if counts <= 0:
            raise Refused(Fault(
                Message("a feed of {feed:.4g} a minute is nothing with {n} decimal places",
                        feed=value, n=decimals),
                Message("give numbers.feed-decimals more places in the machine file"),
            ))
        numbers = self.machine.numbers
        return "F" + number_written(counts, decimals, numbers, "feed-figures")

    def time(self, seconds: float) -> str:
        """A time in the dwell's unit, rounded up: no wait is shorter than planned."""
        if self.machine.dwell.unit == "ms":
            return str(ceil(seconds * 1000.0 - 1e-6))
        if self.machine.numbers.point == "never":
            return str(ceil(seconds - 1e-6))
        return number_written(ceil(seconds * 1000.0 - 1e-6), 3, self.machine.numbers)

    def angle_counts(self, degrees: float, increment: float) -> int:
        """An angle in counts of its last place, on a grid of ``increment`` degrees."""
        places = self.machine.numbers.rotary_decimals
        grid = grid_of(increment, 10.0**-places)
        return round(degrees * 10.0**places / grid) * grid

    def angle(self, counts: int) -> str:
        """An angle as the machine file spells it."""
        numbers = self.machine.numbers
        return number_written(counts, numbers.rotary_decimals, numbers, "rotary-figures")
