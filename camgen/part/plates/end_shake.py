"""How deep a jewel's seat must be for its arbor's end-shake; and what end-shake a depth gives.

The arbor stands between two bearings and may move along itself by what the faces of the two jewels
are further apart than its shoulders. The other jewel is there already. Lengths mm.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Any

from camgen.part.plates.plate_words import EndShake, JewelHole
from camgen.values import dataclass
from camgen.yamlfile import read_yaml

__all__ = ["Usual", "deeper_gives_more", "end_shake_at", "seat_depth", "usual_end_shake"]


@dataclass(frozen=True, slots=True)
class Usual:
    """What end-shake is usual for a kind of arbor, mm."""

    aim: float
    least: float
    most: float


@lru_cache(maxsize=1)
def _table() -> dict[str, Any]:
    path = Path(__file__).parents[2] / "shop" / "data" / "end_shake.yaml"
    table: dict[str, Any] = read_yaml(path).data
    return table


def usual_end_shake(arbor: str) -> Usual:
    """The end-shake that is usual for an arbor of the ``train``, the ``balance`` and so on.

    Common practice, no single source.

    >>> usual_end_shake("train")
    Usual(aim=0.03, least=0.02, most=0.05)
    """
    row = _table()[arbor]
    return Usual(float(row["aim"]), float(row["least"]), float(row["most"]))


def seat_depth(jewel: JewelHole, thickness: float) -> float | None:
    """Depth of a jewel's seat in a plate of ``thickness`` mm; None for a hole right through.

    As the job says it, else from the end-shake e that is wanted. With the shoulders L apart, the
    plates' inner faces H apart and the other jewel's face r below its own plate's, the face of this
    jewel must lie e + L − H − r below the inner face. Pressed in from the inside, a jewel of
    thickness t lies on the seat's floor, so the seat is that and t deep; pressed in from the
    outside of a plate T thick it lies with its face on what is left, so the seat is T less that
    deep. (Geometry.)

    >>> shake = EndShake(jewel=0.3, arbor=2.5, between=2.4, other=0.0, wanted=0.03)
    >>> third = JewelHole(diameter=1.2, end_shake=shake)
    >>> round(seat_depth(third, 1.2), 6)
    0.43
    """
    if jewel.depth is not None or jewel.end_shake is None:
        return jewel.depth
    shake = jewel.end_shake
    wanted = usual_end_shake(shake.arbor_of).aim if shake.wanted is None else shake.wanted
    below = wanted + shake.arbor - shake.between - shake.other
    # A depth is not known finer than this, and must not differ by the last bit of a sum.
    return round(below + shake.jewel if shake.from_inside else thickness - below, 6)


def end_shake_at(shake: EndShake, depth: float, thickness: float) -> float:
    """The end-shake that a seat of ``depth`` mm gives: the formula of :func:`seat_depth` turned.

    >>> shake = EndShake(jewel=0.3, arbor=2.5, between=2.4, pressed_from="outside")
    >>> round(end_shake_at(shake, 1.07, 1.2), 6)
    0.03
    """
    below = depth - shake.jewel if shake.from_inside else thickness - depth
    return below + shake.between + shake.other - shake.arbor


def deeper_gives_more(shake: EndShake) -> bool:
    """Whether a deeper seat gives more end-shake: from the inside; from the outside it gives less.
    """
    return shake.from_inside
