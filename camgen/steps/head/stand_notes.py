"""What a program says before its first block of how the head stands and what is to be fitted.

The sheet says the same with more words; whoever has but the program must not fit another profile,
or come from the other side.
"""

from __future__ import annotations

from camgen.job.models import Job, Setup
from camgen.job.rack import cutter_numbers
from camgen.layout import ToothLayout
from camgen.layout.stands import end_of, front_edge, touched_with
from camgen.messages import Message
from camgen.moves import SetupMoves
from camgen.shop.cutters import made_for
from camgen.steps.head.cut_teeth_words import room_before

__all__ = ["stand_notes"]

# A place nearer to 0 than this is told as 0, mm.
_TOLD = 0.0005


def stand_notes(
    job: Job, setup: Setup, layout: ToothLayout, moves: SetupMoves
) -> tuple[Message, ...]:
    """The lines of a setup on the head as far as ``moves`` go through it, lengths mm whatever the
    program counts in."""
    arrangement, numbers = layout.arrangement, cutter_numbers(job)
    head, side = end_of(arrangement)
    steps = [setup.steps[section.step] for section in moves.sections]
    used = {words.cutter: job.cutters[words.cutter] for words in steps}
    lines = [Message("HEAD AT THE {head} END, CUTTER ON THE {side} SIDE, IN TOWARDS {infeed}",
                     head=head, side=side, infeed=arrangement.infeed)]
    lines += [Message("PROFILE OF CUTTER {number}: {profile}", number=numbers[name],
                      profile=made_for(cutter)) for name, cutter in used.items()]
    front = front_edge(layout.tooth, arrangement)
    if front is not None:
        lines.append(Message("FRONT EDGE OF THE CUTTER TOWARDS {side}", side=front.towards))
    touched = {name: touched_with(layout, cutter.diameter / 2) for name, cutter in used.items()}
    if len({round(place, 3) for place in touched.values()}) == 1:
        place = next(iter(touched.values()))
        if abs(place) > _TOLD:
            lines.append(Message(
                "CUTTER TOUCHING THE BLANK STANDS AT {axis}{at:.3f} MM AND NOT AT 0",
                axis=arrangement.infeed[1], at=place))
    else:
        lines += [Message("CUTTER {number} TOUCHING THE BLANK STANDS AT {axis}{at:.3f} MM AND NOT "
                          "AT 0", number=numbers[name], axis=arrangement.infeed[1], at=place)
                  for name, place in touched.items()]
    deepest = max(words.declares().added("depth") for words in steps)
    room = room_before(layout, max(cutter.diameter for cutter in used.values()) / 2,
                       layout.tooth.deepest + deepest)
    lines.append(Message(
        "WITHIN {near:.1f} MM BEFORE THE FREE FACE NOTHING THICKER THAN {wide:.2f} MM BUT WHAT THE "
        "SHEET NAMES", near=room.near, wide=2 * room.lowest))
    return tuple(lines)
