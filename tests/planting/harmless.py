"""Spellings that change nothing: the same program as another hand would have typed it.

Every spelling is a function of the lines, a random source and the machine; None where the control
would not take it so.
"""

from __future__ import annotations

import random
import re
from collections.abc import Callable

from camgen.shop.machine import Machine
from planting.faults import Fault, Lines
from planting.lines import bare, codes, has, moved_last

__all__ = ["SPELLINGS"]

SPELLINGS: dict[str, Fault] = {}
_WORD = re.compile(r"([A-Z])\s*([-+]?(?:\d+\.?\d*|\.\d+))")
Change = Callable[[str], str]


def outside(line: str, change: Change) -> str:
    """A line changed outside its comments."""
    parts = re.split(r"(\([^)]*\)|;.*)", line)
    return "".join(part if part[:1] in ("(", ";") else change(part) for part in parts)


def whole(name: str, change: Change, every: bool = True,
          when: Callable[[Machine], bool] = lambda machine: True) -> None:
    """A spelling of each block by itself, of ``every`` or of about one in three."""
    def spelt(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
        if not when(machine):
            return None
        found = [outside(line, change) if bare(line) and (every or chance.random() < 0.3)
                 and not line.startswith(("%", "O")) else line for line in lines]
        return found if found != lines else None
    SPELLINGS[name] = spelt


def words(name: str, letters: str, change: Callable[[str], str], every: bool = True,
          when: Callable[[Machine], bool] = lambda machine: True) -> None:
    """A spelling of the numbers of some words."""
    def one(match: re.Match[str]) -> str:
        return match[1] + change(match[2]) if match[1] in letters else match[0]
    whole(name, lambda text: _WORD.sub(one, text), every, when)


def point(machine: Machine) -> bool:
    """Whether numbers are written with a point."""
    return machine.numbers.point != "never"


def comments(machine: Machine) -> bool:
    """Whether the control reads comments in round brackets."""
    return machine.comments.style == "parentheses"


def unnumbered(machine: Machine) -> bool:
    """Whether blocks bear no numbers."""
    return not machine.blocks.number


def padded(text: str) -> str:
    """A number with a further zero before it."""
    sign = text[:1] if text[:1] in "+-" else ""
    return f"{sign}0{text[len(sign):]}"


def signed(text: str) -> str:
    """A number with its sign."""
    return text if text[:1] in "+-" else f"+{text}"


def ended(text: str) -> str:
    """A number with two further zeros behind its point."""
    return f"{text}00" if "." in text else text


def shorn(text: str) -> str:
    """A number without the zero before its point."""
    return re.sub(r"^([-+]?)0\.(?=\d)", r"\1.", text)


def two(text: str) -> str:
    """A code in two figures."""
    return text.zfill(2) if text.isdigit() else text


def three(text: str) -> str:
    """A code in three figures."""
    return text.zfill(3) if text.isdigit() else text


AXES, LENGTHS = "XYZABC", "XYZABCIJKR"
whole("no spaces", lambda text: text.replace(" ", ""))
whole("two spaces", lambda text: text.replace(" ", "  "))
whole("spaces before and behind", lambda text: f"  {text}  ")
whole("spaces behind", lambda text: f"{text}   ")
whole("small letters", str.lower)
whole("small letters here and there", str.lower, every=False)
whole("no spaces here and there", lambda text: text.replace(" ", ""), every=False)
whole("a space within each word", lambda text: _WORD.sub(r"\1 \2", text))
words("codes in two figures", "GM", two)
words("codes in two figures here and there", "GM", two, every=False)
words("codes in three figures", "GM", three)
words("motion in two figures", "G", two)
words("switches in two figures", "M", two)
words("cutters in two figures", "T", two)
words("cutters in four figures", "T", lambda text: text.zfill(4))
words("speed with a zero before it", "S", padded)
words("speed with a point", "S", lambda text: f"{text}.", when=point)
words("feed with a zero before it", "F", padded, when=point)
words("feed with zeros behind it", "F", ended, when=point)
words("feed with its sign", "F", signed, when=point)
words("places with a zero before them", AXES, padded)
words("places with zeros behind them", AXES, ended, when=point)
words("places with their sign", AXES, signed)
words("places without a zero before the point", AXES, shorn, when=point)
words("centres with a zero before them", "IJKR", padded)
words("centres with zeros behind them", "IJKR", ended, when=point)
words("centres with their sign", "IJKR", signed)
words("lengths with zeros here and there", LENGTHS, ended, every=False, when=point)
words("lengths with signs here and there", LENGTHS, signed, every=False)
words("nothing as minus nothing", AXES, lambda text: re.sub(r"^(0\.?0*)$", r"-\1", text))
words("nothing as plus nothing", "IJK", lambda text: re.sub(r"^(0\.?0*)$", r"+\1", text))


def numbered(step: int) -> Fault:
    """Blocks numbered from ten on."""
    def spelt(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
        if not unnumbered(machine):
            return None
        count, found = 10, []
        for line in lines:
            if bare(line) and not line.startswith(("%", "O", "/")):
                line, count = f"N{count} {line}", count + step
            found.append(line)
        return found
    return spelt


def laid_in(block: Callable[[Machine], str | None], share: float) -> Fault:
    """Something between the blocks."""
    def spelt(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
        text = block(machine)
        if text is None:
            return None
        found = []
        for number, line in enumerate(lines):
            if number > 3 and not line.startswith("%") and chance.random() < share and (
                    not has(line, "M0", "M1", "M6") and bare(line)):
                found.append(text)
            found.append(line)
        return found if found != lines else None
    return spelt


def again(*said: str) -> Fault:
    """A word of the start said again before a block, where it is in force."""
    def spelt(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
        if not unnumbered(machine):
            return None
        there = [word for word in said if any(has(line, word) for line in lines[:16])]
        places = [n for n, line in enumerate(lines[:200])
                  if has(line, "M5", "G0") and n > 14 and not has(line, "G91", "G53", "M98")]
        if not there or not places:
            return None
        at = chance.choice(places)
        if any(has(line, "G81", "G82", "G83", "G93") for line in lines[:at]):
            return None
        return [*lines[:at], there[0], *lines[at:]]
    return spelt


def order(how: Callable[[list[str], random.Random], list[str]]) -> Fault:
    """The words of each block in another order; messages and calls apart."""
    def spelt(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
        found = []
        for line in lines:
            if bare(line) == line.strip() and not line.startswith(("%", "O", "N", "/")) and (
                    not has(line, "M98", "G53", "G28", "G92", "G52", "G91")):
                parts = [m[0] for m in _WORD.finditer(line)]
                line = " ".join(how(parts, chance)) if len(parts) > 1 else line
            found.append(line)
        return found if found != lines else None
    return spelt


def repeated(modal: bool, feed: bool, place: bool) -> Fault:
    """What stays as it was said again in each block: motion, feed, or equal places."""
    def spelt(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
        if any(has(line, "G81", "G82", "G83", "G84", "G91", "G93", "M98", "G92", "G76", "G85")
               for line in lines):
            return None
        motion, last, stands, found = "", "", {}, []
        for line in lines:
            said = [code for code in codes(line) if code in ("G0", "G1", "G2", "G3")]
            motion = said[-1] if said else motion
            axes = dict(re.findall(r"([XYZ])\s*([-+]?[\d.]+)", bare(line)))
            fed = re.search(r"F\s*[-+]?[\d.]+", bare(line))
            last = fed[0] if fed else last
            plain = axes and not has(line, "G4", "G53", "G28", "G52") and "P" not in bare(line)
            if plain and modal and not said:
                line = f"{motion} {line}"
            if plain and place and motion in ("G0", "G1"):
                same = [f"{axis}{stands[axis]}" for axis in "XYZ"
                        if axis not in axes and axis in stands]
                line = " ".join([line, *same])
            if plain and feed and not fed and last and motion != "G0":
                line = f"{line} {last}"
            if has(line, "M0", "M6", "G53", "G28"):
                stands = {}
            stands |= axes
            found.append(line)
        return found if found != lines and unnumbered(machine) else None
    return spelt


def split(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """Straight feeds along one axis written as two, met at the middle."""
    if not point(machine) or not unnumbered(machine) or any(
            has(line, "G81", "G83", "G91", "M98") for line in lines):
        return None
    stands: dict[str, float] = {}
    motion, found = "", []
    for line in lines:
        said = [code for code in codes(line) if code in ("G0", "G1", "G2", "G3")]
        motion = said[-1] if said else motion
        axes = {axis: float(value) for axis, value in
                re.findall(r"([XYZ])\s*([-+]?[\d.]+)", bare(line))}
        if motion == "G1" and len(axes) == 1 and "(" not in line and "A" not in line:
            (axis, end), = axes.items()
            if axis in stands:
                places = machine.numbers.decimals
                middle = f"{(stands[axis] + end) / 2:.{places}f}"
                found.append(re.sub(rf"{axis}\s*[-+]?[\d.]+", f"{axis}{middle}", line))
                line = axis + re.findall(rf"{axis}\s*([-+]?[\d.]+)", line)[0]
        if has(line, "M0", "M6", "G53", "G28"):
            stands = {}
        stands |= axes
        found.append(line)
    return found if found != lines else None


def blank(machine: Machine) -> str:
    """An empty line."""
    return ""


def moving(lines: Lines, machine: Machine) -> list[int]:
    """Blocks that move, and come after one that does: no hands go in between, nor right after."""
    last = moved_last(lines, machine)
    moves = [bool(re.search(r"[XYZ]\s*[-+.\d]", bare(line))) and not has(
        line, "G53", "G28", "G92", "G52", "M98") for line in lines]
    return [n for n in range(1, len(lines)) if moves[n] and moves[n - 1] and n not in last]


def between(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """Notes of the workshop's own between blocks that move."""
    if not comments(machine):
        return None
    places = {n for n in moving(lines, machine) if chance.random() < 0.1}
    found = [part for n, line in enumerate(lines)
             for part in (("(NOTE GO ON)", line) if n in places else (line,))]
    return found if places else None


def behind(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """Notes behind blocks."""
    if not comments(machine):
        return None
    most = machine.blocks.longest - 10
    places = {n for n in moving(lines, machine) if len(lines[n]) < most and chance.random() < 0.3}
    return [f"{line} (NOTE SO)" if n in places else line for n, line in enumerate(lines)]


def stopped_twice(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """A spindle that stands still stopped once more."""
    found = [n for n, line in enumerate(lines) if bare(line) == "M5"]
    if not found or not unnumbered(machine):
        return None
    at = chance.choice(found)
    return [*lines[:at], "M5", *lines[at:]]


def waited_twice(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
    """A wait in two halves, one after the other."""
    found = [(n, wait) for n, line in enumerate(lines)
             if (wait := re.fullmatch(r"G4 ([PX])(\d+\.?\d*)", bare(line)))]
    if not found or not unnumbered(machine) or machine.dwell.unit != "s":
        return None
    at, wait = chance.choice(found)
    half = f"G4 {wait[1]}{float(wait[2]) / 2:.6g}"
    half += "" if "." in half else "."
    return [*lines[:at], half, half, *lines[at + 1:]]


SPELLINGS |= {
    "a wait in two": waited_twice,
    "numbered by one": numbered(1), "numbered by five": numbered(5),
    "numbered by ten": numbered(10),
    "blank lines": laid_in(blank, 0.3), "a blank line before each block": laid_in(blank, 1.0),
    "comments between blocks": between, "comments behind blocks": behind,
    "G90 again": again("G90"), "units again": again("G21", "G20"), "G17 again": again("G17"),
    "G54 again": again("G54"), "G94 again": again("G94"), "G40 again": again("G40"),
    "G80 again": again("G80"), "M5 again": stopped_twice,
    "words the other way about": order(lambda parts, chance: parts[::-1]),
    "words in any order": order(lambda parts, chance: chance.sample(parts, len(parts))),
    "axes first": order(lambda parts, chance: sorted(parts, key=lambda w: w[0] not in AXES)),
    "motion last": order(lambda parts, chance: sorted(parts, key=lambda w: w[0] == "G")),
    "motion again": repeated(True, False, False), "feed again": repeated(False, True, False),
    "places again": repeated(False, False, True), "all again": repeated(True, True, True),
    "straight feeds in two": split,
}


def both(one: Fault, other: Fault) -> Fault:
    """One spelling after another."""
    def spelt(lines: Lines, chance: random.Random, machine: Machine) -> Lines | None:
        first = one(lines, chance, machine)
        return None if first is None else other(first, chance, machine)
    return spelt


for _one, _other in (
    ("no spaces", "small letters"), ("two spaces", "blank lines"),
    ("codes in two figures", "numbered by ten"), ("straight feeds in two", "feed again"),
    ("places with their sign", "places with zeros behind them"),
    ("motion again", "codes in two figures"), ("words in any order", "small letters"),
    ("comments between blocks", "numbered by five"), ("all again", "words in any order"),
    ("blank lines", "a space within each word"),
):
    SPELLINGS[f"{_one}, {_other}"] = both(SPELLINGS[_one], SPELLINGS[_other])
