"""Programs in a hundred hands: each move spelt as somebody might, read where it was meant to go.

The writer of these programs knows where the cutter is meant to be and says so by whatever words it
likes: absolute or by distances, in millimetres or inches, arcs by centre or by radius in any plane,
words in any order, blanks, signs and zeros as they come. What it meant is the measure; nothing of
it is shared with our writer. Words as in ISO 6983-1; R, G91.1 and M98 as in NISTIR 6556 or as is
common (from memory).
"""

from __future__ import annotations

import math
import random
import re

import numpy as np
import pytest

from camgen.reader import read_program
from camgen.reader.motion import Kind
from camgen.shop.machine import Machine

ON = Machine.model_validate({
    "name": "any", "describes": "any", "numbers": {"point": "needed"},
    **{name: {"travel": 9000} for name in "xyz"}})
PLANES = {"G17": (0, 1, 2), "G18": (2, 0, 1), "G19": (1, 2, 0)}
Meant = list[tuple[str, tuple[float, ...], float]]


class Hand:
    """Somebody who writes a program, by habits of their own."""

    def __init__(self, seed: int) -> None:
        self.rng = random.Random(seed)
        self.lines: list[str] = []
        self.meant: Meant = []
        self.at = [0.0, 0.0, 0.0]
        self.inch = self.relative = False
        self.plane, self.motion, self.feed = "G17", "", 0.0
        self.places = self.rng.choice((3, 4))
        self.number = 0
        habit = self.rng.random
        self.lower, self.crowded, self.numbered = habit() < 0.2, habit() < 0.3, habit() < 0.4
        self.plus, self.padded, self.mixed = habit() < 0.2, habit() < 0.3, habit() < 0.5
        self.shortest = habit() < 0.5

    def figure(self, value: float, places: int | None = None) -> str:
        """A figure; what is meant is what is written."""
        places = self.places if places is None else places
        text = f"{value:.{places}f}"
        if float(text) == 0:
            text = text.lstrip("-")
        if self.shortest and self.rng.random() < 0.7:
            text = text.rstrip("0")
            if self.rng.random() < 0.3:
                text = text.replace("0.", ".", 1) if text.lstrip("-").startswith("0.") and len(
                    text.lstrip("-")) > 2 else text
        return f"+{text}" if self.plus and not text.startswith("-") else text

    def block(self, *words: str) -> None:
        said = list(words)
        if self.mixed:
            self.rng.shuffle(said)
        if self.rng.random() < 0.1:
            said.insert(self.rng.randrange(len(said) + 1), "(a note)")
        text = ("" if self.crowded else self.rng.choice((" ", "  "))).join(said)
        if self.padded:
            text = "".join(f"G0{word[1:]}" if word in ("G0", "G1", "G2", "G3") else word
                           for word in text.split(" ")) if not self.crowded else text
        if self.numbered:
            self.number += 10
            text = f"N{self.number}" + ("" if self.crowded else " ") + text
        self.lines.append(text.lower() if self.lower else text)

    def habits(self) -> None:
        """Now and then another mode is switched to."""
        pick = self.rng.random()
        if pick < 0.06:
            self.inch = not self.inch
            self.block("G20" if self.inch else "G21")
            self.feed = 0.0
        elif pick < 0.14:
            self.relative = not self.relative
            self.block("G91" if self.relative else "G90")

    def length(self, mm: float) -> tuple[str, float]:
        """A length as it is written, and what it then is in mm."""
        unit = 25.4 if self.inch else 1.0
        text = self.figure(mm / unit, self.places + (1 if self.inch else 0))
        return text, float(text) * unit

    def to(self, goal: dict[int, float]) -> list[str]:
        """Axis words to a place; ``at`` becomes what they say."""
        words = []
        for axis, mm in goal.items():
            text, said = self.length(mm - self.at[axis] if self.relative else mm)
            words.append("XYZ"[axis] + text)
            self.at[axis] = self.at[axis] + said if self.relative else said
        return words

    def say(self, motion: str, words: list[str], feed: float = 0.0) -> None:
        if motion != self.motion or self.rng.random() < 0.3:
            words = [motion, *words]
        self.motion = motion
        if feed and (feed != self.feed or self.rng.random() < 0.2):
            unit = 25.4 if self.inch else 1.0
            text = f"{feed / unit:.4f}"
            words.append("F" + text)
            self.feed = feed
        self.block(*words)

    def line(self, rapid: bool) -> None:
        axes = self.rng.sample(range(3), self.rng.randint(1, 3))
        goal = {axis: round(self.rng.uniform(-30, 30), 2) for axis in axes}
        before = list(self.at)
        feed = self.rng.choice((50.8, 127.0, 254.0))
        self.say("G0" if rapid else "G1", self.to(goal), 0.0 if rapid else feed)
        if self.at != before:
            self.meant.append(("rapid" if rapid else "line", tuple(self.at), 0.0))

    def arc(self) -> None:
        plane = self.rng.choice(list(PLANES))
        if plane != self.plane:
            self.plane = plane
            self.block(plane)
        first, second, normal = PLANES[plane]
        start = list(self.at)
        radius, angle = self.rng.uniform(2, 9), self.rng.uniform(0, math.tau)
        clockwise = self.rng.random() < 0.5
        by_radius = self.rng.random() < 0.4
        sweep = self.rng.uniform(0.3, 2.6 if by_radius else 5.8)
        offset = []
        for share in (math.cos(angle), math.sin(angle)):
            text, said = self.length(-radius * share)
            offset.append((text, said))
        centre = (start[first] + offset[0][1], start[second] + offset[1][1])
        radius = math.hypot(offset[0][1], offset[1][1])
        begun = math.atan2(-offset[1][1], -offset[0][1])
        end = begun + (-sweep if clockwise else sweep)
        goal = {first: centre[0] + radius * math.cos(end),
                second: centre[1] + radius * math.sin(end)}
        if self.rng.random() < 0.3:
            goal[normal] = start[normal] + round(self.rng.uniform(-2, 2), 2)
        words = self.to(goal)
        if by_radius:
            words.append("R" + self.length(-radius if sweep > math.pi else radius)[0])
        else:
            words += [letter + text for letter, (text, _) in zip(
                ("IJK"[first], "IJK"[second]), offset, strict=True)]
        self.say("G2" if clockwise else "G3", words, 127.0)
        self.meant.append(("clockwise" if clockwise else "anticlockwise", tuple(self.at), sweep))

    def program(self, moves: int) -> str:
        self.block("G21", "G90", "G17", "G40", "G49", "G80", "G94")
        self.block("G54")
        self.block("S3000", "M3")
        self.say("G0", ["Z8."])
        self.say("G0", ["X0.", "Y0."])
        self.at = [0.0, 0.0, 8.0]
        for _ in range(moves):
            self.habits()
            pick = self.rng.random()
            if pick < 0.35:
                self.arc()
            else:
                self.line(rapid=pick > 0.75)
        return "\n".join(["%", *self.lines, "M5", "M30", "%"]) + "\n"


NAMES = {Kind.RAPID: "rapid", Kind.LINE: "line", Kind.ARC_CLOCKWISE: "clockwise",
         Kind.ARC_ANTICLOCKWISE: "anticlockwise"}


@pytest.mark.parametrize("seed", range(100))
def test_a_foreign_program_is_read_where_it_was_meant_to_go(seed: int) -> None:
    hand = Hand(seed)
    text = hand.program(60)
    read = read_program(text, ON, "foreign.nc")
    told = {str(found.message) for found in read.findings if found.grave}
    assert told <= {"units change in the middle of the program"}, text
    assert told or not read.unsure  # units changed half way are named
    motion = read.motion
    # The first two go to the beginning, where nobody knows from.
    ends, kinds = motion.end[-len(hand.meant):], motion.kind[-len(hand.meant):]
    assert [NAMES[Kind(kind)] for kind in kinds] == [kind for kind, _, _ in hand.meant]
    assert np.allclose(ends, [end for _, end, _ in hand.meant], atol=1e-6)
    for at, (_, _, sweep) in enumerate(hand.meant, start=len(motion) - len(hand.meant)):
        if not sweep:
            continue
        first, second, _ = {2: (0, 1, 2), 1: (2, 0, 1), 0: (1, 2, 0)}[int(motion.plane[at])]
        out = motion.start[at] - motion.centre[at]
        to = motion.end[at] - motion.centre[at]
        turn = math.atan2(out[first] * to[second] - out[second] * to[first],
                          out[first] * to[first] + out[second] * to[second])
        turn = (turn if motion.kind[at] == Kind.ARC_ANTICLOCKWISE else -turn) % math.tau
        assert turn == pytest.approx(sweep, abs=0.01)


def test_a_program_read_amiss_would_be_told_apart() -> None:
    hand = Hand(3)
    text = hand.program(60)
    other = re.sub("(G)2(?![0-9])", r"\g<1>3", text, count=1, flags=re.IGNORECASE)
    assert other != text
    read = read_program(other, ON, "foreign.nc")
    kinds = [NAMES[Kind(kind)] for kind in read.motion.kind[-len(hand.meant):]]
    assert kinds != [kind for kind, _, _ in hand.meant]
