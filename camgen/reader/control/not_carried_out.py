"""G words that are not carried out, and what they commonly mean.

Meanings differ between controls and are common practice, no source; they are said so that a person
knows what to look for, and which figures are not to be relied on.
"""

from __future__ import annotations

from typing import Final, NamedTuple

from camgen.messages import Message
from camgen.reader.motion import FIGURES, Figure

__all__ = ["NOT_CARRIED_OUT", "UncarriedWord"]

_WAY: Final[tuple[Figure, ...]] = ("places", "depths", "time")


class UncarriedWord(NamedTuple):
    """What a word commonly ``means``, and which figures are ``unsure`` after it.

    ``owns_axes``: the axis words of its block are figures of its own and not a move. ``macro``:
    nothing that follows can be known.
    """

    means: Message
    unsure: tuple[Figure, ...] = _WAY
    owns_axes: bool = True
    macro: bool = False


_MACRO: Final = UncarriedWord(Message("a call of a macro with figures of its own"), FIGURES,
                              macro=True)
_SCALE: Final = UncarriedWord(Message("scaling or mirroring"))
_TURN: Final = UncarriedWord(Message("turning the coordinates"))
_PROBE: Final = UncarriedWord(Message("a move that a signal ends"), owns_axes=False)

NOT_CARRIED_OUT: Final[dict[int, UncarriedWord]] = {
    50: UncarriedWord(Message("a curve or a way of smoothing"), owns_axes=False),
    51: UncarriedWord(Message("a way of smoothing"), ("time",), owns_axes=False),
    60: UncarriedWord(Message("a curve"), owns_axes=False),
    70: UncarriedWord(Message("a move by radius and angle"), owns_axes=False),
    100: UncarriedWord(Message("setting figures in the control's tables")),
    110: UncarriedWord(Message("ending what G10 began"), (), owns_axes=False),
    120: UncarriedWord(Message("a round pocket")),
    130: UncarriedWord(Message("a round pocket")),
    150: UncarriedWord(Message("ending polar places")),
    160: UncarriedWord(Message("polar places")),
    310: _PROBE,
    320: UncarriedWord(Message("a thread")),
    330: UncarriedWord(Message("a thread")),
    **dict.fromkeys((382, 383, 384, 385), _PROBE),
    440: UncarriedWord(Message("a cutter's length taken off"), ("depths",), owns_axes=False),
    500: _SCALE,
    501: _SCALE,
    510: _SCALE,
    511: _SCALE,
    541: UncarriedWord(Message("one of many further zeros"), _WAY, owns_axes=False),
    600: UncarriedWord(Message("arriving from one side"), ("time",), owns_axes=False),
    **dict.fromkeys((650, 660, 670), _MACRO),
    680: _TURN,
    690: _TURN,
    960: UncarriedWord(Message("one cutting speed at every radius"), ("speeds", "feeds", "time")),
}
"""By word in tenths, as in :mod:`camgen.reader.dialect`."""
