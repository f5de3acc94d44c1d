"""Lengths as people write them: which words are in the units of their file, and other units."""

from __future__ import annotations

import re
from typing import Final

from camgen.messages import NOTHING, Message
from camgen.values import dataclass

__all__ = ["IN_FILE_UNITS", "MM_PER_INCH", "FileUnits", "length_remedy"]


@dataclass(frozen=True, slots=True)
class FileUnits:
    """Marks a length, or a feed, that is written in the units of its file.

    Inside the program it is always mm or mm/min; reading a file in inches multiplies by 25.4.
    """


IN_FILE_UNITS: Final = FileUnits()

# International inch, exact since 1959.
MM_PER_INCH: Final = 25.4

# mm in each unit, as it may be typed behind a number, in capitals or not.
_MM_IN: Final = {
    "mm": 1.0, "millimetre": 1.0, "millimetres": 1.0, "cm": 10.0,
    "µm": 0.001, "μm": 0.001, "um": 0.001, "micron": 0.001, "microns": 0.001,
    "in": MM_PER_INCH, "inch": MM_PER_INCH, "inches": MM_PER_INCH, '"': MM_PER_INCH,
    "zoll": MM_PER_INCH, "pouce": MM_PER_INCH, "pouces": MM_PER_INCH,
    "thou": MM_PER_INCH / 1000, "mil": MM_PER_INCH / 1000,
}
_MEASURED: Final = re.compile(
    r"(?:[ØøD]\s*)?([-+]?[0-9]*\.?[0-9]+)\s*([^\W\d_]{1,12}|[°%\"'])?")


def length_remedy(text: str, *, of_file: bool, in_inches: bool) -> Message:
    """What to write for a number that has a unit behind it; nothing where it is no such thing.

    ``of_file`` says that it is a length in the units of its file, ``in_inches`` which these are;
    any other length, such as a module, is in mm.

    >>> length_remedy("0.02 in", of_file=True, in_inches=False)
    'lengths are in mm here: write 0.508'
    >>> length_remedy("0.02 in", of_file=True, in_inches=True)
    'write the number alone: 0.02'
    >>> length_remedy("0.25mm", of_file=True, in_inches=True)
    'lengths are in inches here: write 0.00984252'
    """
    measured = _MEASURED.fullmatch(text)
    if measured is None:
        return NOTHING
    if len(measured[1]) >= 20:
        return Message("write the number alone")
    unit = _MM_IN.get((measured[2] or "").lower())
    wanted = MM_PER_INCH if of_file and in_inches else 1.0
    if unit is None or unit == wanted:
        return Message("write the number alone: {number}", number=measured[1])
    number = float(measured[1]) * unit / wanted
    return (Message("lengths are in mm here: write {number:.6g}", number=number)
            if wanted == 1.0 else
            Message("lengths are in inches here: write {number:.6g}", number=number))
