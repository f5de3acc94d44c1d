"""What is asked for a new machine file, and the words of the file that answers come to.

Lengths mm, feeds mm/min, speeds rev/min.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import isfinite
from typing import Any, Final

from camgen.messages import Message
from camgen.values import dataclass

__all__ = [
    "ARRANGEMENT", "DRAWING", "HEAD_DRAWING", "QUESTIONS", "FigureQuestion", "Question",
    "answered", "standing_so",
]

# Plates that come with many a dividing head; a beginning, to be corrected (common practice, no
# source).
_PLATES: Final = ((15, 16, 17, 18, 19, 20), (21, 23, 27, 29, 31, 33), (37, 39, 41, 43, 47, 49))


@dataclass(frozen=True, slots=True)
class Question:
    """One question for a new machine file: ``answers`` from its word to the values it sets."""

    text: Message
    answers: Mapping[str, Mapping[str, Any]]


@dataclass(frozen=True, slots=True)
class FigureQuestion:
    """A question for figures: each sets the words of its place in ``words``, from ``low`` to
    ``high``; ``usual`` is what is taken where nothing is answered, empty where the word is left."""

    text: Message
    words: tuple[tuple[str, ...], ...]
    low: float
    high: float
    usual: str


DRAWING: Final = r"""
            Y+                          Z+
            ^                           ^
            |                           |
     X- <---+---> X+             X- <---+---> X+
            |                           |
            v                           v
            Y-                          Z-
"""
HEAD_DRAWING: Final = r"""
      ______
     |      |          _____
     |  1   |=========|  2  |====
     |______|         |_____|
                         ^
                         | +Y
              -X <----- (3)
"""


def answered(question: FigureQuestion, answer: str) -> dict[str, Any]:
    """The values by path that an answer comes to. Raises ValueError with what would be right.

    >>> answered(FigureQuestion(Message("how far"), (("x.travel",), ("y.travel",)), 1, 900, ""),
    ...            "200 120.5")
    {'x.travel': 200.0, 'y.travel': 120.5}
    """
    texts = answer.replace(",", " ").split()
    if not texts:
        return {}
    count = len(question.words)
    values: dict[str, Any] = {}
    try:
        figures = [float(text) for text in texts]
    except ValueError:
        figures = []
    if len(figures) != count or not all(
            isfinite(figure) and question.low <= figure <= question.high for figure in figures):
        raise ValueError(Message(
            "{count} figures from {low:g} to {high:g}, with a space between", count=count,
            low=question.low, high=question.high) if count > 1 else Message(
            "one figure from {low:g} to {high:g}", low=question.low, high=question.high))
    for words, figure in zip(question.words, figures, strict=True):
        for word in words:
            whole = word in _WHOLE
            values[word] = int(figure) if whole else figure
    return values


# Words whose figures have no places after the point.
_WHOLE: Final = ("program.largest",)
ARRANGEMENT: Final = (
    Message("Which way does the disc go through the blank, from the free end towards the head?"),
    Message("Which way does it go into the metal?"),
)


def standing_so(along: str, infeed: str) -> dict[str, Any]:
    """How a head stands, by the ways of the disc; ValueError where both lie along one axis.

    >>> standing_so("-X", "+Y")["dividing.arrangement.across"]
    'Z'
    """
    if along[1] == infeed[1]:
        raise ValueError(Message("through the blank and into it are two different axes"))
    across = next(axis for axis in "XYZ" if axis not in (along[1], infeed[1]))
    return {"dividing.arrangement.along": along, "dividing.arrangement.infeed": infeed,
            "dividing.arrangement.across": across}


QUESTIONS: Final[tuple[Question | FigureQuestion, ...]] = (
    Question(Message("Are programs in millimetres or in inches?"), {
        "mm": {},
        "inch": {"program.units": "inch", "numbers.decimals": 4, "numbers.feed-decimals": 2},
    }),
    FigureQuestion(Message("How far do X, Y and Z travel, mm?"),
                   (("x.travel",), ("y.travel",), ("z.travel",)), 1.0, 5000.0, "200 120 120"),
    FigureQuestion(Message("How fast are their rapids, mm/min?"),
                   (("x.rapid",), ("y.rapid",), ("z.rapid",)), 1.0, 100_000.0, "2000 2000 1500"),
    FigureQuestion(Message("The fastest feed that they follow, mm/min?"),
                   (("x.feed-limit",), ("y.feed-limit",), ("z.feed-limit",)), 1.0, 100_000.0,
                   "1000 1000 600"),
    Question(Message("Told X plus, the cutter goes to the right over the work, as drawn?"), {
        "yes": {}, "no": {"x.sense": "reversed"},
    }),
    Question(Message("Told Y plus, the cutter goes away from you over the work, as drawn?"), {
        "yes": {}, "no": {"y.sense": "reversed"},
    }),
    Question(Message("Told Z plus, the cutter goes up, as drawn?"), {
        "yes": {}, "no": {"z.sense": "reversed"},
    }),
    FigureQuestion(Message("The spindle's lowest and highest speed, rev/min?"),
                   (("spindle.lowest",), ("spindle.highest",)), 1.0, 300_000.0, "1000 24000"),
    Question(Message("What is X1000 without a point to the control: an error, 1000 mm, or 1000 of "
                     "its last places?"), {
        "error": {}, "1000-mm": {"numbers.point": "needed"},
        "last-places": {"numbers.point": "never"},
    }),
    FigureQuestion(Message("How long may a program be, bytes? Nothing: as long as it likes"),
                   (("program.largest",),), 500.0, 1e9, ""),
    FigureQuestion(Message("How many blocks does the control read in a second?"),
                   (("blocks-per-second",),), 1.0, 1e6, "200"),
    Question(Message("How does the control take arcs?"), {
        "incremental": {},
        "absolute": {"arcs.style": "absolute"},
        "radius": {"arcs.style": "radius"},
        "none": {"arcs.style": "none"},
    }),
    Question(Message("How is the dividing head turned?"), {
        "driven": {"dividing.kind": "driven"},
        "by-hand": {"dividing.kind": "by-hand", "dividing.plates": _PLATES},
        "none": {},
    }),
    Question(Message("How are cutters changed?"), {
        "by-hand": {},
        "automatic": {"change.way": "automatic", "offsets.length": "table"},
        "one-program-each": {"change.way": "one-program-each", "change.word": None},
    }),
    Question(Message("How are comments written?"), {
        "parentheses": {}, "semicolon": {"comments.style": "semicolon"},
        "none": {"comments.style": "none"},
    }),
    Question(Message("Are holes drilled by the control's fixed cycles?"), {
        "no": {}, "yes": {"cycles.use": True},
    }),
    Question(Message("Does the program start the spindle?"), {
        "yes": {}, "no": {"spindle-words.by-program": False},
    }),
    Question(Message("Can the control go to the top of Z by G53?"), {
        "no": {}, "yes": {"retract.way": "machine"},
    }),
)


