"""What the things of a part are called in sentences."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from camgen.messages import Message
from camgen.part.plates.plate_words import Face, Mouth
from camgen.values import dataclass

__all__ = ["NamesGiven", "face_called", "mouth_called", "thing_called"]

Name = str | tuple[str, ...]

_THINGS: Final[Mapping[str, Callable[[Name], Message]]] = {
    "holes": lambda name: Message("the hole {name}", name=name),
    "jewels": lambda name: Message("the jewel hole {name}", name=name),
    "openings": lambda name: Message("the opening {name}", name=name),
    # What is cleared round the hub of a wheel is a pocket as any.
    "hub": lambda name: Message("the pocket {name}", name=name),
    "pockets": lambda name: Message("the pocket {name}", name=name),
    "slots": lambda name: Message("the slot {name}", name=name),
    "posts": lambda name: Message("the post {name}", name=name),
    "groups": lambda name: Message("the group {name}", name=name),
}

_MOUTHS: Final[Mapping[Mouth, Callable[[str], Message]]] = {
    "countersink": lambda hole: Message("the countersink of {hole}", hole=hole),
    "lead-in": lambda hole: Message("the lead in of {hole}", hole=hole),
    "oil-sink": lambda hole: Message("the oil sink of {hole}", hole=hole),
}


def thing_called(word: str, name: Name) -> Message:
    """A thing of a plate, or several alike, by the word that it stands under and its name.

    >>> thing_called("pockets", "barrel")
    'the pocket barrel'
    """
    return _THINGS.get(word, _THINGS["holes"])(name)


def mouth_called(mouth: Mouth, hole: str) -> Message:
    """A cone at the mouth of a hole.

    >>> mouth_called("oil-sink", "third")
    'the oil sink of third'
    """
    return _MOUTHS[mouth](hole)


def face_called(face: Face) -> Message:
    """
    >>> face_called("under")
    'the under face'
    """
    return Message("the upper face") if face == "upper" else Message("the under face")


@dataclass(frozen=True)
class NamesGiven:
    """The names that one of a plate's words gives to things about its places.

    ``said`` is what they are to whom wrote the word, ``group`` the name they share, ``own`` those
    of each; ``at`` is the word.
    """

    said: Message
    group: str
    own: tuple[str, ...]
    at: tuple[str | int, ...]

    def who(self, name: str) -> Message:
        """What goes by ``name``, the shared one or one of its own.

        >>> NamesGiven(Message("the hole {name}", name="a"), "a", ("a-1", "a-2"), ()).who("a-2")
        'place 2 of the hole a'
        """
        if name == self.group or name not in self.own:
            return self.said
        return Message("place {number} of {hole}", number=self.own.index(name) + 1,
                       hole=self.said)
