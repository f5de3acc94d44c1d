"""A touching probe in the spindle: the control's own words for a move that ends where it touches.

ISO 6983-1 has no word for such a move and none for setting a zero from it: a control that has them
has words of its own, which the machine file gives by what they do. Where it gives none, a person
touches or indicates by hand, at a stop.
"""

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING, TypeAlias

from pydantic import Field, field_validator

from camgen.messages import Message
from camgen.shop.machine.texts import GWord, known_names, plain
from camgen.shop.model import FileModel, Positive

if TYPE_CHECKING:
    from camgen.shop.machine.whole import Machine

__all__ = ["ZERO_NAMES", "Probing", "probing_contradictions"]

Contradiction: TypeAlias = tuple[tuple[str, ...], Message, Message]

ZERO_NAMES = {
    "place": "letter and figure of the axis that was touched along, such as X12.5",
    "station": "number of the work offset in force, from 1",
}
# Words that shift the zero until the program's end, or change how later words are read.
_SHIFTS = frozenset(("G52", "G92", "G90", "G91", "G20", "G21", "G0", "G1", "G2", "G3", "G28",
                     "G30", "G53"))


class Probing(FileModel):
    """A probe, and the control's words for it."""

    touch: GWord = Field(
        description=(
            "a straight move at the feed that ends where the probe touches, and stops the program "
            "with an alarm where it touches nothing; for that block alone"
        )
    )
    zero: str = Field(
        description=(
            "one block that makes the place just touched {place}, for good: in the table of work "
            "offsets; {station} is the number of the offset"
        )
    )
    feed: Positive = Field(50.0, le=500, description="feed of touching and on the way to it")
    search: Positive = Field(
        1.0, le=10,
        description="how far off the zero may lie before; so far beyond its place is touched for",
    )

    @field_validator("zero")
    @classmethod
    def holds_the_place(cls, text: str) -> str:
        """Refuse a block that does not say the place, or that cannot be written."""
        known_names(text, ZERO_NAMES)
        plain(text)
        if text.count("{place}") != 1 or text.count("{station}") > 1:
            raise ValueError(Message("the block must hold {name} once", name="{place}"))
        if re.search(r"[#\[\]=<>();%]", text):
            raise ValueError(Message("'{block}' holds a variable or a comment: what it stands for "
                                     "cannot be known", block=text))
        rest = text.replace("{place}", " ").replace("{station}", "1")
        if re.sub(r"[A-Z]\s*-?[0-9]+(\.[0-9]*)?", "", rest).strip() or "G" not in rest:
            raise ValueError(Message("'{block}' is no block of words, each a letter and a figure",
                                     block=text))
        return text


def probing_contradictions(machine: "Machine") -> Iterator[Contradiction]:
    """What words for a probe contradict elsewhere: path, what is wrong, what to do."""
    words = machine.probing
    if words is None:
        return
    by_hand = Message("leave probing out, and what would be touched is set by hand at a stop")
    for word in re.findall(r"G0*(\d+(?:\.\d)?)", words.zero):
        if f"G{word}" in _SHIFTS:
            yield (("probing", "zero"),
                   Message("{word} sets no work offset for good: another program of the job would "
                           "be cut elsewhere", word=f"G{word}"),
                   Message("write the block that sets the table of work offsets; or {by_hand}",
                           by_hand=by_hand))
    if machine.offsets.work is None:
        yield (("probing", "zero"),
               Message("a zero is set in a work offset, and offsets.work says that there is none"),
               Message("write offsets.work; or {by_hand}", by_hand=by_hand))
    if machine.program.feed == "per-turn":
        yield (("probing", "touch"),
               Message("a probe is fed with the spindle still, and program.feed says that feeds "
                       "are a turn of the spindle's"),
               Message("write program.feed: per-minute; or {by_hand}", by_hand=by_hand))
    said = ["squareness"] if machine.squareness else []
    said += [f"{name}.errors" for name in "xyz" if machine.axis(name.upper()).errors]
    for name in said:
        yield (("probing", "touch"),
               Message("a probe touches along one axis, and with {word} places along it are not "
                       "told by one figure", word=name), by_hand)
