"""What the second reader knows of a control: its machine file, its words, and how it may stand."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, ClassVar

import yaml

__all__ = [
    "AXES",
    "GROUPS",
    "WRONG",
    "Control",
    "Start",
    "Trace",
    "Word",
    "blocks_of",
    "control",
    "plain_word",
]

AXES = "XYZ"
Word = tuple[str, float, str]
# Errors a wrong zero brings, mm: none alike, so that none makes up for another.
WRONG = {f"G{number}": 11.0 + 3 * (number - 54) for number in range(54, 60)}


@dataclass(frozen=True)
class Control:
    """What the machine file says of the control, as far as running a program needs it.

    ``back`` is the axis on which the cutter is drawn back, ``outward`` its sense there and
    ``clear`` the height that is clear of everything.
    """

    file: dict[str, Any]
    back: int
    outward: float
    clear: float
    # What a program leaves in force.
    usual: ClassVar[dict[str, str]] = {
        "distance": "G90", "plane": "G17", "feed mode": "G94", "radius": "G40", "cycle": "G80",
        "length": "G49", "path": "G61"}

    def word(self, *path: str, default: Any = None) -> Any:
        """What stands in the machine file at a place."""
        here: Any = self.file
        for name in path:
            here = here.get(name) if isinstance(here, dict) else None
            if here is None:
                return default
        return here

    def says(self, *path: str, default: str) -> str:
        """A word of the control, spelt without leading zeros; "" where the file says null."""
        here: Any = self.file
        for name in path[:-1]:
            here = here.get(name, {})
        text = here.get(path[-1], default)
        return "" if text is None else plain_word(text)

    @property
    def safe_words(self) -> list[str]:
        """Words of the safe start."""
        return [plain_word(word) for word in self.word(
            "program", "safe-words", default=["G40", "G49", "G80", "G94"])]

    @property
    def touching(self) -> tuple[str, str]:
        """The words that touch and that set a zero by it; "" where it has none."""
        zero = re.match(r"G[0-9.]+", self.word("probing", "zero", default=""))
        touch = self.word("probing", "touch")
        return plain_word(touch) if touch else "", plain_word(zero[0]) if zero else ""

    def split_t(self, figures: int) -> tuple[int, int | None]:
        """A T word's cutter and length offset, None where that is not in it."""
        split = self.word("change", "with-offset")
        return divmod(figures, 10 ** int(split[1])) if split else (figures, None)

    def places(self, letter: str, spelt: str) -> int:
        """By how much a number is to be divided that is written without its point."""
        word = "decimals" if letter in "XYZIJKRQ" else "rotary-decimals" if letter in "ABC" else ""
        if self.word("numbers", "point") != "never" or "." in spelt or not word:
            return 1
        return int(10 ** int(self.word("numbers", word, default=3)))

    @property
    def inch(self) -> bool:
        """Whether its programs are in inches."""
        return bool(self.word("program", "units", default="mm") == "inch")

    @property
    def by_program(self) -> bool:
        """Whether programs start the spindle."""
        return bool(self.word("spindle-words", "by-program", default=True))

    @property
    def start_seconds(self) -> float:
        """Time the spindle takes to come up to speed; 3 s where the file is silent."""
        return float(self.word("spindle", "start-seconds", default=3.0))


def control(file: Path, back: str, outward: float, clear: float) -> Control:
    """A control by its machine file."""
    return Control(yaml.safe_load(file.read_text(encoding="utf-8")), AXES.index(back), outward,
                   clear)


@dataclass(frozen=True)
class Start:
    """How the machine stands before the first block.

    ``place`` is where the cutter stands, mm in the work's own frame. ``modes`` are words left in
    force by whoever was there before, ``shift`` mm a zero left shifted. ``stop_ends`` says that a
    stop ends the spindle, as it does on many controls; ``skip`` that marked blocks are left out.
    """

    name: str = "as it should be"
    place: tuple[float, float, float] = (0.0, 0.0, 0.0)
    modes: tuple[str, ...] = ()
    shift: float = 0.0
    spindle: bool = False
    coolant: bool = False
    stop_ends: bool = False
    skip: bool = False


@dataclass
class Trace:
    """What was done: every move as far as it could matter, and what was touched, with its line."""

    moves: list[tuple[Any, ...]] = field(default_factory=list)
    touched: list[str] = field(default_factory=list)
    states: dict[int, tuple[Any, ...]] = field(default_factory=dict)


def plain_word(word: str) -> str:
    """A word without leading zeros or an idle point.

    >>> plain_word("g00"), plain_word("G91.1"), plain_word("M06")
    ('G0', 'G91.1', 'M6')
    """
    letter, number = word[0].upper(), float(word[1:])
    return f"{letter}{number:g}"


def blocks_of(text: str) -> Iterator[tuple[int, bool, list[Word], str]]:
    """Each block: line, marked to be skipped, its words, its message."""
    for line, raw in enumerate(text.splitlines(), start=1):
        if raw.startswith("%"):
            continue  # A name may stand behind it.
        message = " ".join(re.findall(r"\(([^)]*)\)", raw) + re.findall(r";(.*)", raw)).upper()
        bare = re.sub(r"\([^)]*\)", " ", raw.split(";")[0]).strip()
        marked = bare.startswith("/")
        words = [(m[1].upper(), float(m[2]), m[2]) for m in re.finditer(
            r"([A-Za-z])\s*([-+]?(?:\d+\.?\d*|\.\d+))", bare)]
        yield line, marked, words, message


GROUPS = {
    **dict.fromkeys(("G0", "G1", "G2", "G3"), "motion"),
    **dict.fromkeys(("G17", "G18", "G19"), "plane"),
    **dict.fromkeys(("G20", "G21"), "unit"), **dict.fromkeys(("G90", "G91"), "distance"),
    **dict.fromkeys(("G90.1", "G91.1"), "centre"),
    **dict.fromkeys(("G93", "G94", "G95"), "feed mode"),
    **dict.fromkeys(("G40", "G41", "G42"), "radius"), **dict.fromkeys(("G43", "G49"), "length"),
    **dict.fromkeys(("G61", "G64"), "path"), **dict.fromkeys(WRONG, "offset"),
    **dict.fromkeys(("G73", "G76", "G80", "G81", "G82", "G83", "G84", "G85", "G89"), "cycle"),
    **dict.fromkeys(("G98", "G99"), "return"),
}
