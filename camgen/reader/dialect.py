"""What the machine file says about words, gathered once for reading.

Letters of the axes, senses, the words that start a spindle, drill a hole or end a program: a
control takes them from its own settings, the reader from the machine file.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Final

from camgen.messages import verbatim
from camgen.reader.slides import Slides, slides_of
from camgen.shop.machine import DrivenHead, HandHead, Machine
from camgen.values import dataclass
from camgen.words import languages, program_words

__all__ = [
    "CYCLES",
    "GROUPS",
    "Dialect",
    "ReadBack",
    "code_of",
    "dialect_of",
    "is_a_name",
    "template_in_languages",
]

# G words as tenths: 900 is G90, 911 is G91.1. Groups of ISO 6983-1 (from memory): of each group
# one word is in force at a time, so two in one block contradict each other.
GROUPS: Final[dict[int, str]] = {
    **dict.fromkeys((0, 10, 20, 30, 800), "motion"),
    **dict.fromkeys((170, 180, 190), "plane"),
    **dict.fromkeys((200, 210), "units"),
    **dict.fromkeys((400, 410, 420), "cutter side"),
    **dict.fromkeys((430, 490), "cutter length"),
    **dict.fromkeys((540, 550, 560, 570, 580, 590, 591, 592, 593), "work offset"),
    **dict.fromkeys((610, 611, 640), "path"),
    **dict.fromkeys((900, 910), "distance"),
    **dict.fromkeys((901, 911), "arc centres"),
    **dict.fromkeys((930, 940, 950), "feed"),
    **dict.fromkeys((980, 990), "return height"),
    **dict.fromkeys((40, 280, 300, 520, 530, 920, 921, 922, 923), "once"),
    90: "exact stop",
    970: "speed",
}
CYCLES: Final[dict[int, str]] = {
    730: "chip-break", 740: "tap-left", 760: "fine-bore", 810: "drill", 820: "drill-dwell",
    830: "peck", 840: "tap", 850: "bore", 860: "bore-stop", 870: "back-bore",
    880: "bore-by-hand", 890: "bore-dwell",
}


# A comment that only says what a job is called is no message, whatever the name.
_A_NAME: Final = re.compile(r'\s*JOB\s*"[^"]*"\s*', re.IGNORECASE)


def is_a_name(comment: str) -> bool:
    """Whether a comment says no more than what a job is called.

    >>> is_a_name('JOB "FIT CUTTER 3 DRILL"'), is_a_name("FIT CUTTER 3 DRILL")
    (True, False)
    """
    return _A_NAME.fullmatch(comment) is not None


def code_of(word: str) -> int:
    """A G word in tenths.

    >>> code_of("G91.1"), code_of("G04")
    (911, 40)
    """
    return round(float(word[1:]) * 10)


@dataclass(frozen=True, slots=True)
class ReadBack:
    """What an operator is told, as it is read back: a pattern for each language it may be said in.
    """

    patterns: tuple[re.Pattern[str], ...]

    def search(self, text: str) -> re.Match[str] | None:
        """The message in a comment, with its figures by name; None where the comment is none.

        >>> found = _message("FIT CUTTER {cutter} {text}").search("MSG FIT CUTTER 3 DRILL D0.8")
        >>> found["cutter"], found["text"]
        ('3', 'DRILL D0.8')
        """
        if is_a_name(text):
            return None
        return next((found for one in self.patterns if (found := one.search(text))), None)


@dataclass(frozen=True, slots=True)
class Dialect:
    """The machine's words.

    ``axes`` maps a letter to 0, 1 or 2 for the machine's X, Y, Z; ``planes`` a plane word, in
    tenths, to the machine's axis normal to it; ``centres`` are the letters of an arc's centre along
    the machine's axes; ``behind`` is true where the letters are exchanged so that the control takes
    every plane from the other side; ``signs`` are +1, or −1 where words count
    against ISO 841; ``places`` the worth of a number's last place where it has no point (empty
    unless the machine file says so); ``pointed`` the letters that must have one. ``hand_message``
    and ``change_message`` read back what an operator is told; ``message_changes`` is true where
    nothing but the message changes the cutter; ``stations`` are the work offsets of a fixture's
    stations, in tenths; ``slides`` what was measured of the machine, ``steps`` the only speeds of
    the spindle, ``turning`` the least and the greatest figure of the rotary word, None for none.
    ``pulse`` turns the head by a step, ``pulses`` to a turn; ``answered`` waits for its answer.
    Of a T word the last ``offset_figures`` are a length offset, 0 where it has none; ``t_changes``
    where T itself changes the cutter. ``touch`` moves until a probe touches, in tenths,
    −1 for none; ``zero_words`` are the words of the block that sets a zero by it.
    """

    axes: dict[str, int]
    planes: dict[int, int]
    centres: str
    behind: bool
    signs: tuple[float, float, float]
    rotary: str
    rotary_sign: float
    second_rotary: str
    second_stands_at: float
    groups: dict[int, str]
    cycles: dict[int, str]
    cancel: frozenset[int]
    clockwise: frozenset[int]
    anticlockwise: frozenset[int]
    stop: frozenset[int]
    coolant: dict[int, str]
    clamp: int
    unclamp: int
    ends: frozenset[int]
    change: frozenset[int]
    by_hand_change: bool
    touch_off: bool
    offset_figures: int
    t_changes: bool
    trusted: frozenset[tuple[str, int]]
    places: dict[str, float]
    pointed: frozenset[str]
    hand_message: ReadBack | None
    change_message: ReadBack | None
    message_changes: bool
    retract_axes: frozenset[int]
    call: tuple[str, int]
    back: tuple[str, int]
    label: str
    stations: tuple[int, ...]
    steps: Steps | None
    slides: Slides | None
    turning: tuple[float, float] | None
    pulse: int
    answered: int
    pulses: int
    doubled: frozenset[str]
    from_first: dict[str, int]
    touch: int
    zero_words: tuple[tuple[str, float | None], ...]


@dataclass(frozen=True, slots=True)
class Steps:
    """The only speeds a spindle has, rev/min: by the M word that sets one, by the number of S.

    ``by_s`` is empty where S says rev/min; ``spoken`` reads back what an operator is told to set,
    ``set_first`` the speeds that a word or a hand must set before the spindle is started.
    """

    speeds: tuple[float, ...]
    by_word: dict[int, float]
    by_s: dict[int, float]
    spoken: ReadBack
    set_first: frozenset[float]


def _steps(machine: Machine) -> Steps | None:
    """The steps of a machine's spindle, None where it turns at any speed."""
    steps = machine.spindle.steps
    if not steps:
        return None
    by_s = {one.code: float(one.speed) for one in steps
            if one.code is not None and machine.spindle_words.s_says == "step"}
    return Steps(
        tuple(float(one.speed) for one in steps),
        {_number(one.word): float(one.speed) for one in steps if one.word},
        by_s, _message("SET SPINDLE AT {step} FOR {speed:.0f} REV/MIN"),
        frozenset(float(one.speed) for one in steps if one.word or not by_s),
    )


@lru_cache(maxsize=32)
def dialect_of(machine: Machine) -> Dialect:
    """The words of ``machine``."""
    letters = tuple(
        axis.letter or name
        for axis, name in ((machine.x, "X"), (machine.y, "Y"), (machine.z, "Z"))
    )
    # U, V and W are further axes along X, Y and Z (ISO 841): planes and centres are as for those.
    named = ["XYZ"["XYZUVW".index(letter) % 3] for letter in letters]
    if len(set(named)) < 3:
        named = ["X", "Y", "Z"]  # two axes lie along one: there are no arcs to be read
    head = machine.dividing
    by_pulse = isinstance(head, DrivenHead) and machine.rotary.way == "by-pulse"
    rotary = head.letter if isinstance(head, DrivenHead) and not by_pulse else ""
    second = machine.second_rotary
    words = machine.spindle_words
    groups = dict(GROUPS)
    stations = tuple(code_of(word) for word in machine.offsets.stations)
    for code in stations:
        groups.setdefault(code, "work offset")
    cycles = dict(CYCLES)
    cancel = {800}
    if machine.cycles.use:
        own = machine.cycles
        for word, kind in (
            (own.drill, "drill"), (own.dwell, "drill-dwell"), (own.peck, "peck"),
            (own.bore, "bore"), (own.bore_dwell, "bore-dwell"),
        ):
            cycles[code_of(word)] = kind
        if own.fine_bore:
            cycles[code_of(own.fine_bore)] = "fine-bore"
        if own.tap:
            cycles[code_of(own.tap)] = "tap"
        cancel.add(code_of(own.cancel))
    groups.update(dict.fromkeys((*cycles, *cancel), "motion"))
    probing = machine.probing
    if probing is not None:
        groups[code_of(probing.touch)] = "once"
    coolant = {7: "air or mist on", 8: "coolant on", 9: "coolant off"}
    if machine.coolant.flood:
        coolant[_number(machine.coolant.flood)] = "coolant on"
    if machine.coolant.air:
        coolant[_number(machine.coolant.air)] = "air or mist on"
    coolant[_number(machine.coolant.off)] = "coolant off"
    numbers = machine.numbers
    places: dict[str, float] = {}
    lengths = (*letters, *"IJKRQ")
    turns = (rotary, second.letter if second else "")
    if numbers.point == "never":
        places = dict.fromkeys(lengths, 10.0**numbers.decimals)
        places.update((letter, 10.0**numbers.rotary_decimals) for letter in turns if letter)
        places["F"] = 10.0**numbers.feed_decimals
    pointed: frozenset[str] = frozenset()
    if numbers.point == "always":
        pointed = frozenset((*lengths, *(letter for letter in turns if letter)))
    retract = {2}
    if head is not None:
        retract.add("XYZ".index(head.arrangement.infeed[1]))
    return Dialect(
        axes={letter: index for index, letter in enumerate(letters)},
        planes={190 - 10 * "XYZ".index(name): axis for axis, name in enumerate(named)},
        centres="".join({"X": "I", "Y": "J", "Z": "K"}[name] for name in named),
        behind="".join(named) in ("XZY", "ZYX", "YXZ"),
        signs=(_sign(machine.x.sense), _sign(machine.y.sense), _sign(machine.z.sense)),
        rotary=rotary,
        rotary_sign=_sign(head.sense) if isinstance(head, DrivenHead) else 1.0,
        second_rotary=second.letter if second else "",
        second_stands_at=_sign(second.sense) * second.stands_at if second else 0.0,
        groups=groups,
        cycles=cycles,
        cancel=frozenset(cancel),
        clockwise=frozenset((3, _number(words.clockwise))),
        anticlockwise=frozenset((4, _number(words.anticlockwise))),
        stop=frozenset((5, _number(words.stop), _number(words.oriented_stop))),
        coolant=coolant,
        clamp=_number(machine.rotary.clamp),
        unclamp=_number(machine.rotary.unclamp),
        ends=frozenset((2, 30, _number(machine.program.end))),
        change=frozenset((6, _number(machine.change.word))),
        by_hand_change=machine.change.way != "automatic",
        touch_off=machine.offsets.length == "touch-off",
        offset_figures=(machine.change.with_offset or (0, 0))[1],
        t_changes=machine.change.way != "automatic" or machine.change.calls_by_t,
        trusted=_trusted(machine),
        places=places,
        pointed=pointed,
        hand_message=_message(head.message) if isinstance(head, HandHead) else None,
        change_message=_message(machine.change.message)
        if machine.change.way != "automatic" else None,
        message_changes=machine.change.way == "one-program-each"
        or (machine.change.way == "by-hand" and machine.change.word is None),
        retract_axes=frozenset(retract),
        call=_call(machine.subprograms.call, "{number}"),
        back=_call(machine.subprograms.back, ""),
        stations=stations,
        steps=_steps(machine),
        slides=slides_of(machine),
        doubled=frozenset(letter for letter, axis in zip(
            letters, (machine.x, machine.y, machine.z), strict=True) if axis.counts == "twice"),
        from_first=_from_first(machine, lengths, turns),
        touch=code_of(probing.touch) if probing is not None else -1,
        zero_words=_zero_words(probing.zero) if probing is not None else (),
        turning=head.limits if isinstance(head, DrivenHead) else None,
        pulse=_number(machine.rotary.pulse),
        answered=_number(machine.rotary.answered),
        pulses=(head.pulses or 0) if isinstance(head, DrivenHead) and by_pulse else 0,
        label=re.sub(r"[^A-Z:]", "", machine.subprograms.label.split("{")[0].upper()) or "O",
    )


def _sign(sense: str) -> float:
    return -1.0 if sense == "reversed" else 1.0


def _from_first(
    machine: Machine, lengths: tuple[str, ...], turns: tuple[str, ...]
) -> dict[str, int]:
    """How many figures a number has in all, by letter, where zeros at its end are left out."""
    numbers = machine.numbers
    if numbers.zeros != "no-trailing":
        return {}
    found = dict.fromkeys(lengths, numbers.figures + numbers.decimals)
    angles = numbers.angle_figures + numbers.rotary_decimals
    found.update((letter, angles) for letter in turns if letter)
    return {**found, "F": numbers.feed_figures + numbers.feed_decimals}


def _number(word: str | None) -> int:
    """The number of an M word, −1 for none."""
    return int(word[1:]) if word else -1


def _trusted(machine: Machine) -> frozenset[tuple[str, int]]:
    """G words (tenths) and M words in the machine file's own blocks: its owner knows them."""
    texts = [*machine.program.safe_words]
    for blocks in machine.insert.model_dump().values():
        texts.extend(blocks)
    found: set[tuple[str, int]] = set()
    for text in texts:
        for letter, number in re.findall(r"([GM])\s*(\d+(?:\.\d)?)", re.sub(r"\(.*?\)", "", text)):
            found.add((letter, round(float(number) * (10 if letter == "G" else 1))))
    return frozenset(found)


_SHAPES: Final = {
    "space": r"(?P<space>-?[0-9]+)",
    "angle": r"(?P<angle>-?(?:[0-9]+\.?[0-9]*|\.[0-9]+))",
    "cutter": r"(?P<cutter>[0-9]+)",
    "setting": r"(?P<setting>.*)",
    "text": r"(?P<text>.*)",
    "step": r"(?P<step>.+?)",
    "speed:.0f": r"(?P<speed>[0-9]{1,9})",
}


@lru_cache(maxsize=16)
def _message(template: str) -> ReadBack:
    """What reads back a message written by ``template``, in whatever language."""
    return ReadBack(tuple(map(_pattern, template_in_languages(template))))


def template_in_languages(template: str) -> tuple[str, ...]:
    """A template of a program's message in every language that there is, English first."""
    say = [program_words(language) for language in languages()]
    said = [template, *(one(verbatim(template)) for one in say if one is not None)]
    return tuple(dict.fromkeys(said))


def _pattern(template: str) -> re.Pattern[str]:
    pattern = re.escape(template)
    for name, shape in _SHAPES.items():
        pattern = pattern.replace(re.escape(f"{{{name}}}"), shape)
    # Blanks may have been lost or doubled, and are lost at the end where the last name is empty.
    return re.compile(pattern.replace(r"\ ", r"\s*"), re.IGNORECASE | re.ASCII)


def _zero_words(template: str) -> tuple[tuple[str, float | None], ...]:
    """A block's words: letter and figure, none where it is the station's, or ``{place}``.

    >>> _zero_words("G10 L20 P{station} {place}")
    (('G', 10.0), ('L', 20.0), ('P', None), ('{place}', None))
    """
    return tuple(
        ("{place}", None) if found[0] == "{place}" else
        (found[1], None if found[2] == "{station}" else float(found[2]))
        for found in re.finditer(r"\{place\}|([A-Z])\s*(\{station\}|-?[0-9.]+)", template))


def _call(template: str, name: str) -> tuple[str, int]:
    """The M word of a call or return, and the letter that carries the program's number."""
    word = re.match(r"\s*M\s*(\d+)", template, re.IGNORECASE)
    letter = ""
    if name:
        before = template.split(name)[0].strip()
        letter = before[-1:].upper()
    return letter, int(word[1]) if word else -1
