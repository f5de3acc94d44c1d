"""What a tooth form says of itself: its name, the parts that can have it, its own words.

A form is one :class:`ToothForm` in the module that builds its tooth, and is known by being in the
register of ``teeth/forms.py``. Models of wheels, pinions and cutters take names and words from
there; nobody else knows a form by its name.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from enum import Enum
from typing import Any, Generic, TypeAlias, TypeVar

from camgen.messages import NOTHING, Message
from camgen.teeth.tooth import Tooth
from camgen.values import dataclass

__all__ = ["Asked", "Choice", "Mating", "Number", "OwnWord", "Ratio", "Size", "Teeth", "ToothForm",
           "ToothedPart"]

T = TypeVar("T")


class ToothedPart(Enum):
    """Parts with teeth round them, by their word in a job."""

    WHEEL = "wheel"
    PINION = "pinion"


class Mating(Enum):
    """What a form's teeth need to know of those they work with."""

    SHAPED_BY = "their shape follows from the number of the mate's teeth"
    MAY_RUN = "they may run with a mate, which does not shape them"
    NONE = "nothing rolls on them"


@dataclass(frozen=True)
class Number:
    """A bare number; bounds that are ``None`` bound nothing."""

    above: float | None = None
    least: float | None = None
    below: float | None = None
    most: float | None = None


@dataclass(frozen=True)
class Choice:
    """One of these words."""

    of: tuple[str, ...]


@dataclass(frozen=True)
class Size:
    """A length above 0, in the units of its file."""


Value: TypeAlias = Number | Choice | Size


@dataclass(frozen=True)
class OwnWord(Generic[T]):
    """A word of one form or of some; ``name`` as in Python, hyphens in a file.

    ``says`` describes it in a job, ``of_cutter`` under ``made-for``. ``default`` holds where it is
    not written. ``of_pair``: both of a pair have it alike. ``is_depth``: it is the depth of the
    teeth, mm. ``without``: words with the values beside which this one means nothing.
    ``by_cutter``: where teeth are taken as their cutter makes them it is the cutter's to say.
    """

    name: str
    value: Value
    default: T
    says: str
    of_cutter: str
    of_pair: bool = False
    is_depth: bool = False
    without: tuple[tuple[str, str], ...] = ()
    by_cutter: bool = False


@dataclass(frozen=True)
class Asked:
    """What a tooth is made of: ``module`` mm, ``mate`` teeth of the other, own words by name."""

    teeth: int
    module: float
    mate: int | None
    own: Mapping[str, Any]

    def of(self, word: OwnWord[T]) -> T:
        """The word's value, its default where nothing was said."""
        value: T = self.own.get(word.name, word.default)
        return value


@dataclass(frozen=True)
class Teeth:
    """A form as one kind of part has it.

    ``made_for`` is its name in a cutter's ``made-for``, ``whose`` whose words these are, in the
    plural: "ratchet wheels". ``build`` raises Refused where the tooth cannot be.
    """

    part: ToothedPart
    made_for: str
    whose: Message
    build: Callable[[Asked], Tooth]
    words: tuple[OwnWord[Any], ...] = ()
    mating: Mating = Mating.MAY_RUN


@dataclass(frozen=True)
class Ratio:
    """How evenly a pair of the form turns.

    Off by no more than ``usual`` (a share) at nominal depthing it is as it should be; ``why`` says
    so, ``good`` stands before it, ``amiss`` says what follows where it is off by more.
    """

    usual: float
    good: Message
    why: Message
    amiss: Message = NOTHING


@dataclass(frozen=True)
class ToothForm:
    """A tooth form; ``teeth`` for each part that can have it.

    ``ratio`` is said of forms whose pairs roll. ``full``: teeth of full thickness, which have no
    play at the nominal distance.
    """

    name: str
    teeth: tuple[Teeth, ...]
    ratio: Ratio | None = None
    full: bool = False

    def of(self, part: ToothedPart) -> Teeth | None:
        """As this part has it; None where it cannot."""
        return next((one for one in self.teeth if one.part is part), None)
