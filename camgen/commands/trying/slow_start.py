"""Is a machine's first program, read back, nothing but a millimetre, slowly?"""

from __future__ import annotations

import numpy as np

from camgen.messages import Message
from camgen.post.trying.first import FIRST_HEIGHT, FIRST_SLOW, FIRST_WAY
from camgen.reader.motion import Kind, ReadProgram

__all__ = ["not_slow"]

# No cutter is fitted and nothing turns: that is meant.
_MEANT = ("a feed move with the spindle off", "a feed move with no cutter length in force")
# What the machine's rounding may add to a place, mm, and to a feed, as a share.
_ROUNDED, _SHARE = 0.06, 0.02


def not_slow(read: ReadProgram) -> list[Message]:
    """What a first program, read back, does besides; empty where nothing.

    The spindle stands still and no cutter is fitted: that is as it should be here.
    """
    motion = read.motion
    wrong = [Message("{file}, line {line}: {what}", file=read.name, line=one.line, what=one.message)
             for one in read.findings
             if one.grave and not one.message.startswith(_MEANT)]
    if not len(motion) or (motion.kind != Kind.LINE).any():
        return [*wrong, Message("{program}: something else than slow straight moves",
                                program=read.name)]
    if not (np.nan_to_num(motion.feed, nan=1e9) <= FIRST_SLOW * (1.0 + _SHARE)).all():
        wrong.append(Message("{program}: a feed above {most:g} mm/min", program=read.name,
                             most=FIRST_SLOW))
    places = np.concatenate((motion.start, motion.end))
    far = float(np.abs(places - np.array([0.0, 0.0, FIRST_HEIGHT])).max())
    if far > FIRST_WAY + _ROUNDED:
        wrong.append(Message("{program}: goes {far:.3f} mm from where it stands",
                             program=read.name, far=far))
    if (motion.speed != 0).any() or any(one.kind == "coolant" and not one.text.endswith("off")
                                        for one in read.events):
        wrong.append(Message("{program}: something is switched on", program=read.name))
    return wrong
