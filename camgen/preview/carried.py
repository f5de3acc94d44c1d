"""How a page carries a program: figures and text in one block of bytes, made small.

Figures that go on from one another are kept as steps between them, so that a long program makes a
small page: counts of a tenth of a micrometre (places) and of a tenth of a millisecond (times).
"""

from __future__ import annotations

import base64
import zlib
from collections.abc import Mapping, Sequence
from typing import Any, Final, Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from camgen.values import dataclass

__all__ = ["PLACES_A_MM", "TIMES_A_SECOND", "Carried", "Column", "carried", "taken_apart"]

PLACES_A_MM: Final = 10_000
TIMES_A_SECOND: Final = 10_000

Sort: TypeAlias = Literal["i4", "u4", "f4", "u1"]


@dataclass(frozen=True)
class Column:
    """Figures (m,) of one sort, in the browser's byte order; ``steps`` as differences."""

    values: NDArray[Any]
    sort: Sort
    steps: bool = False


Carried: TypeAlias = Mapping[str, Any]
"""What is written into the page: ``columns`` of [name, sort, count, steps] and ``bytes``, in base
64 of a zlib stream (RFC 1950): the columns one after another, then the text in UTF-8."""


def carried(columns: Mapping[str, Column], lines: Sequence[str]) -> Carried:
    """The figures by their names, and the lines of a text."""
    made: list[bytes] = []
    table: list[list[Any]] = []
    # A browser reads figures of four bytes only from places that are multiples of four.
    for name, one in sorted(columns.items(), key=lambda item: item[1].sort == "u1"):
        values = np.asarray(one.values).astype(f"<{one.sort}")
        table.append([name, one.sort, len(values), one.steps])
        if one.steps and len(values):
            values = np.concatenate((values[:1], np.diff(values)))
        made.append(np.ascontiguousarray(values).tobytes())
    made.append("\n".join(lines).encode())
    return {"columns": table, "bytes": base64.b64encode(zlib.compress(b"".join(made))).decode()}


def taken_apart(made: Carried) -> tuple[dict[str, NDArray[Any]], list[str]]:
    """The same figures and lines again.

    >>> figures, lines = taken_apart(carried({"n": Column(np.array([3, 5, 4]), "i4", steps=True)},
    ...                                  ["one", "two"]))
    >>> figures["n"].tolist(), lines
    ([3, 5, 4], ['one', 'two'])
    """
    content = zlib.decompress(base64.b64decode(made["bytes"]))
    found: dict[str, NDArray[Any]] = {}
    at = 0
    for name, sort, count, steps in made["columns"]:
        values = np.frombuffer(content, dtype=f"<{sort}", count=count, offset=at)
        at += values.nbytes
        found[name] = np.cumsum(values, dtype=values.dtype) if steps else values
    return found, content[at:].decode().split("\n")
