"""How the crank of a dividing head gets from one space to another, reckoned from its plates alone.

Holes are counted from 0, the hole of the first space; ``n`` turns of the crank turn the work once,
where the worm's ratio is ``n`` (any book on dividing heads, such as US Army Ordnance text OD1644).
"""

from __future__ import annotations

from collections.abc import Iterable

from camgen.messages import Message
from camgen.moves import Index
from camgen.shop.machine import HandHead
from camgen.values import dataclass

__all__ = ["Crank", "named_space", "settings_between", "wrong_hole"]

# The messages that bring the pin into a space by themselves: the one cut next, or one that is cut.
_TO_THE_SPACE = ("turn the crank to just before space {space}, then on into its hole: no backlash "
                 "is left")
_TO_ONE_CUT = ("turn the crank to just before space {space}, which is cut, then on into hole "
               "{hole} of the {circle} circle: no backlash is left")
# Angles are told to a millionth of a degree; a hole is a hundredth at the least.
_NEAR_A_HOLE = 0.01
_SAME_ANGLE = 1e-5


def named_space(message: Message) -> int | None:
    """The space that a pause brings the pin into; None for every other message."""
    to_a_space = message.template in (_TO_THE_SPACE, _TO_ONE_CUT)
    return int(message.fields["space"]) if to_a_space else None


def wrong_hole(
    message: Message, head: HandHead, teeth: int, turns: Iterable[Index] = ()
) -> bool:
    """Whether a pause that names the hole of one of so many spaces names another than its own.

    ``turns`` tell how far the work is turned on between rounds that cut the spaces in other ways.

    >>> said = Message(_TO_ONE_CUT, space=2, hole=12, circle=18)
    >>> head = HandHead(plates=((18, 39),))
    >>> wrong_hole(said, head, 6), wrong_hole(said, head, 8)
    (False, True)
    """
    if message.template != _TO_ONE_CUT:
        return False
    said = message.fields
    degrees = 360.0 * (int(said["space"]) - 1) / teeth
    start = f"start in hole {said['hole']} of the {said['circle']} circle"
    on = {0.0, *(round((turn.degrees - 360.0 * (turn.space - 1) / teeth) % 360.0, 6)
                 for turn in turns if turn.space)}
    return all(start not in settings_between(head, None, degrees + more) for more in on)


@dataclass(frozen=True)
class Crank:
    """Where the pin is known to stand: at ``degrees`` and in ``space``; None where nobody knows.

    ``by_pause``: the operator brought it into the space, wherever it stood before.
    """

    degrees: float | None = None
    space: int | None = None
    by_pause: bool = False

    def before(self, turns: Iterable[Index], after: float, teeth: int = 0) -> float | None:
        """Where it stands, degrees, counted so that ``after`` lies ahead of it.

        A space that none of ``turns`` goes to lies where one of so many ``teeth`` does. None where
        it stands at ``after`` already, or where nobody knows.

        >>> turns = [Index(0.0, 1), Index(480.0, 3)]
        >>> brought = [Crank(720.0, space, by_pause=True) for space in (1, 3)]
        >>> [crank.before(turns, 480.0) for crank in (*brought, Crank(470.0, 2), Crank(480.0, 3))]
        [360.0, None, 470.0, None]
        """
        if not self.by_pause:
            there = self.degrees
            return None if there is None or abs(after - there) < _SAME_ANGLE else there
        own = [turn.degrees for turn in turns if turn.space == self.space]
        # A space that is cut in several ways lies at an angle for each.
        if any(abs((one - after + 180.0) % 360.0 - 180.0) < _SAME_ANGLE for one in own):
            return None
        there = next(iter(own), None)
        if there is None and teeth and self.space is not None:
            there = 360.0 * (self.space - 1) / teeth
        if there is None:
            return None
        ahead = (after - there) % 360.0
        return None if min(ahead, 360.0 - ahead) < _SAME_ANGLE else after - ahead


def settings_between(head: HandHead, before: float | None, after: float) -> frozenset[str]:
    """What may be said of the way from one angle to another, degrees, on each circle that has both.

    ``before`` is None where the pin stands in the space already.

    >>> head = HandHead(plates=((18, 39),))
    >>> sorted(settings_between(head, 0.0, 60.0))
    ['6 turns and 12 holes on the 18 circle, to hole 12', \
'6 turns and 26 holes on the 39 circle, to hole 26']
    >>> sorted(settings_between(head, None, 60.0))
    ['start in hole 12 of the 18 circle', 'start in hole 26 of the 39 circle']
    """
    found = []
    for circle in {circle for plate in head.plates for circle in plate}:
        per_degree = head.worm_ratio * circle / 360.0
        here = after * per_degree
        if abs(here - round(here)) > _NEAR_A_HOLE:
            continue
        hole = round(here) % circle
        if before is None:
            found.append(f"start in hole {hole} of the {circle} circle")
            continue
        on = (after - before) * per_degree
        if abs(on - round(on)) > 2 * _NEAR_A_HOLE or round(on) <= 0:
            continue
        turns, holes = divmod(round(on), circle)
        way = [f"{count} {name}{'s' if count != 1 else ''}"
               for count, name in ((turns, "turn"), (holes, "hole")) if count]
        found.append(f"{' and '.join(way)} on the {circle} circle, to hole {hole}")
    return frozenset(found)
