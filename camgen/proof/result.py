"""The answer of a proof: a figure held against a limit."""

from __future__ import annotations

from camgen.values import dataclass

__all__ = ["Proof"]


@dataclass(frozen=True, slots=True)
class Proof:
    """One proof's answer.

    ``name`` says what is proved, in words of the trade. ``figure`` was measured on the motion read
    back; it holds when on the good side of ``limit``, both in ``unit``. ``where`` says where the
    worst is ("space 12", "X 3.21 Y 0.40"), ``line`` the program's line, 0 where none, ``program``
    the program it is a line of. ``at`` is that place as X Y Z in the program's own coordinates, mm,
    where the proof knows one.
    """

    name: str
    setup: str
    holds: bool
    figure: float
    limit: float
    unit: str
    where: str = ""
    line: int = 0
    at: tuple[float, float, float] | None = None
    program: str = ""
