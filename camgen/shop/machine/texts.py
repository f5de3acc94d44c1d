"""Kinds of words and figures, and texts in a machine file that are filled in.

Names in braces are replaced and nothing else: in the ``insert`` blocks, in the messages at a change
of cutter, and in those at a head turned by hand.
"""

import re
from typing import Annotated, Final, Literal, TypeAlias

from pydantic import Field

from camgen.messages import Message

__all__ = [
    "CHANGE_NAMES",
    "INSERT_NAMES",
    "MESSAGE_NAMES",
    "AxisName",
    "Blocks",
    "GWord",
    "MWord",
    "RotaryLetter",
    "SignedAxis",
    "known_names",
    "plain",
    "readable",
]

SignedAxis: TypeAlias = Literal["+X", "-X", "+Y", "-Y", "+Z", "-Z"]
AxisName: TypeAlias = Literal["X", "Y", "Z"]
RotaryLetter: TypeAlias = Literal["A", "B", "C", "U", "V", "W"]
Blocks: TypeAlias = tuple[str, ...]
GWord: TypeAlias = Annotated[str, Field(pattern=r"^G\d{1,3}(\.\d)?$")]
MWord: TypeAlias = Annotated[str, Field(pattern=r"^M\d{1,3}$")]
INSERT_NAMES: Final = {
    "program": "the program's file name without its ending",
    "part": "number of the part, 1 for a program in one part",
    "step": "number of the step in the setup, from 1",
    "cutter": "number of the cutter",
    "speed": "spindle speed, rev/min",
    "space": "number of the tooth space, from 1; 0 outside tooth cutting",
    "angle": "position of the dividing head, degrees",
    "safe": "the height or infeed position that is clear of everything, in program units",
}
CHANGE_NAMES: Final = {
    "cutter": "number of the cutter",
    "text": "what the cutter is",
}
MESSAGE_NAMES: Final = {
    "space": "number of the tooth space, from 1",
    "angle": "position of the head, degrees from the first space",
    "setting": "turns and holes to turn on by, with the circle of holes",
}


# They end a comment or a program, or are carried out wherever they stand: common practice, no
# source.
_NOT_IN_COMMENTS: Final = "()%;!~?$"


def known_names(text: str, names: dict[str, str]) -> None:
    """Raise ValueError for a name in braces that nothing fills in."""
    for name in re.findall(r"\{([^{}]*)\}?", text):
        if name not in names:
            raise ValueError(Message(
                "{name} is not filled in; there are {names}", name=f"{{{name}}}",
                names=tuple(f"{{{known}}}" for known in names)))


def readable(text: str, names: dict[str, str]) -> str:
    """``text`` when a reader can find every one of ``names`` in it again; else ValueError."""
    known_names(text, names)
    for name in names:
        if text.count(f"{{{name}}}") != 1:
            raise ValueError(Message("the message must hold {name} once", name=f"{{{name}}}"))
    lost = sorted({sign for sign in text if sign in _NOT_IN_COMMENTS})
    if lost:
        raise ValueError(Message(
            "{signs} cannot stand in a comment: some controls end it there, or act at once",
            signs=tuple(lost)))
    if "}{" in text:
        raise ValueError(Message("two names in the message need a word or a space between them"))
    plain(text)
    return text


def plain(text: str) -> None:
    """Raise ValueError for characters that are not plain ASCII, or that end a block."""
    if not (text.isascii() and text.isprintable()):
        raise ValueError(Message("only plain ASCII characters can be written, in one line"))
