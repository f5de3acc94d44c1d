"""What a program says before its first block of how turned work stands in the head."""

from __future__ import annotations

from camgen.layout import RoundLayout
from camgen.layout.stands import end_of
from camgen.messages import Message

__all__ = ["standing_notes"]

# A place nearer to 0 than this is told as 0, mm.
_TOLD = 0.0005


def standing_notes(layout: RoundLayout) -> tuple[Message, ...]:
    """The lines of a setup, lengths mm whatever the program counts in."""
    arrangement = layout.arrangement
    head, side = end_of(arrangement)
    lines = [Message("HEAD AT THE {head} END, CUTTER ON THE {side} SIDE, IN TOWARDS {infeed}",
                     head=head, side=side, infeed=arrangement.infeed),
             Message("{axis} IS 0 WITH THE CUTTER'S AXIS AT THE FREE END OF THE WORK",
                     axis=arrangement.along[1]),
             Message("THE WORK STANDS {out:.2f} MM OUT OF WHAT HOLDS IT", out=layout.stands_out)]
    if layout.zero == "axis":
        lines.append(Message(
            "CUTTER TOUCHING THE WORK AT {wide:.3f} MM STANDS AT {axis}{at:.3f} MM AND NOT AT 0",
            wide=2 * layout.thickest, axis=arrangement.infeed[1], at=layout.touched_at))
    else:
        lines.append(Message("{axis} IS 0 WITH THE CUTTER TOUCHING THE WORK AT {wide:.3f} MM",
                             axis=arrangement.infeed[1], wide=2 * layout.thickest))
    return tuple(lines)
