"""The answer of a proof: a figure held against a limit."""

from __future__ import annotations

from typing import Literal, TypeAlias

from camgen.messages import NOTHING, Message
from camgen.values import dataclass

__all__ = ["Proof", "ProofId", "Wing"]

Wing: TypeAlias = Literal["motion", "table", "flat", "head", "round"]


@dataclass(frozen=True, slots=True)
class ProofId:
    """Which proof it is, whatever its sentence says and in whatever language.

    ``wing`` is the room it stands in, ``word`` its own there; ``of`` what it is about, where there
    is one for each hole, step or cutter.

    >>> WALL = ProofId("flat", "wall")
    >>> str(WALL), str(WALL.about("third"))
    ('flat.wall', 'flat.wall: third')
    """

    wing: Wing
    word: str
    of: str = ""

    def about(self, of: str) -> ProofId:
        """The same proof about one thing."""
        return ProofId(self.wing, self.word, of)

    @property
    def kind(self) -> str:
        """Wing and word alone."""
        return f"{self.wing}.{self.word}"

    def __str__(self) -> str:
        return f"{self.kind}: {self.of}" if self.of else self.kind


@dataclass(frozen=True, slots=True)
class Proof:
    """One proof's answer.

    ``id`` is what programs, tests and records know it by; ``name`` says to people what is proved,
    in words of the trade. ``figure`` was measured on the motion read back; it holds when on the
    good side of ``limit``, both in ``unit``. ``where`` says where the worst is ("space 12",
    "X 3.21 Y 0.40"), ``line`` the program's line, 0 where none, ``program`` the program it is a
    line of. ``at`` is that place as X Y Z in the program's own coordinates, mm, where the proof
    knows one.
    """

    id: ProofId
    name: Message
    setup: str
    holds: bool
    figure: float
    limit: float
    unit: str
    where: Message = NOTHING
    line: int = 0
    at: tuple[float, float, float] | None = None
    program: str = ""
