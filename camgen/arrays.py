"""Kinds of arrays, and small things done with them without loading a part of the library for it."""

from __future__ import annotations

from typing import TypeAlias, TypeVar

import numpy as np
from numpy.typing import NDArray

__all__ = ["Flags", "Floats", "Ints", "distinct", "distinct_rows"]

Floats: TypeAlias = NDArray[np.float64]
Ints: TypeAlias = NDArray[np.int64]
Flags: TypeAlias = NDArray[np.bool_]

_Number = TypeVar("_Number", np.int64, np.float64)


def distinct(values: NDArray[_Number]) -> NDArray[_Number]:
    """The values of (n,), each once, rising.

    >>> import numpy as np
    >>> distinct(np.array([3.0, 1.0, 3.0])).tolist()
    [1.0, 3.0]
    """
    ordered = np.sort(values)
    new = np.ones(len(ordered), dtype=np.bool_)
    new[1:] = ordered[1:] != ordered[:-1]
    return ordered[new]


def distinct_rows(table: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Numbers of the first of each distinct row of (n, k), and for every row (n,) which that is.

    >>> import numpy as np
    >>> first, back = distinct_rows(np.array([[1, 2], [3, 4], [1, 2]]))
    >>> first.tolist(), back.tolist()
    ([0, 1], [0, 1, 0])
    """
    if not len(table):
        return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
    order = np.lexsort(table.T)
    ordered = table[order]
    new = np.concatenate([[True], np.any(ordered[1:] != ordered[:-1], axis=1)])
    back = np.empty(len(table), dtype=np.int64)
    back[order] = np.cumsum(new) - 1
    # A stable sort: the first of equal rows is the first of them in the table.
    return np.asarray(order[new]), back
