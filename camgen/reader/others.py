"""G words that are not carried out, and what they commonly mean.

Meanings differ between controls and are common practice, no source; they are said so that a person
knows what to look for, and which figures are not to be relied on.
"""

from __future__ import annotations

from typing import Final, NamedTuple

from camgen.reader.motion import FIGURES, Figure

__all__ = ["OTHERS", "Other"]

_WAY: Final[tuple[Figure, ...]] = ("places", "depths", "time")


class Other(NamedTuple):
    """What a word commonly ``means``, and which figures are ``unsure`` after it.

    ``owns_axes``: the axis words of its block are figures of its own and not a move. ``macro``:
    nothing that follows can be known.
    """

    means: str
    unsure: tuple[Figure, ...] = _WAY
    owns_axes: bool = True
    macro: bool = False


_MACRO: Final = Other("a call of a macro with figures of its own", FIGURES, macro=True)
_SCALE: Final = Other("scaling or mirroring")
_TURN: Final = Other("turning the coordinates")
_PROBE: Final = Other("a move that a signal ends", owns_axes=False)

OTHERS: Final[dict[int, Other]] = {
    50: Other("a curve or a way of smoothing", owns_axes=False),
    51: Other("a way of smoothing", ("time",), owns_axes=False),
    60: Other("a curve", owns_axes=False),
    70: Other("a move by radius and angle", owns_axes=False),
    100: Other("setting figures in the control's tables"),
    110: Other("ending what G10 began", (), owns_axes=False),
    120: Other("a round pocket"),
    130: Other("a round pocket"),
    150: Other("ending polar places"),
    160: Other("polar places"),
    310: _PROBE,
    320: Other("a thread"),
    330: Other("a thread"),
    **dict.fromkeys((382, 383, 384, 385), _PROBE),
    440: Other("a cutter's length taken off", ("depths",), owns_axes=False),
    500: _SCALE,
    501: _SCALE,
    510: _SCALE,
    511: _SCALE,
    541: Other("one of many further zeros", _WAY, owns_axes=False),
    600: Other("arriving from one side", ("time",), owns_axes=False),
    **dict.fromkeys((650, 660, 670), _MACRO),
    680: _TURN,
    690: _TURN,
    960: Other("one cutting speed at every radius", ("speeds", "feeds", "time")),
}
"""By word in tenths, as in :mod:`camgen.reader.dialect`."""
