"""How the crank of a dividing head gets from one space to another, reckoned from its plates alone.

Holes are counted from 0, the hole of the first space; ``n`` turns of the crank turn the work once,
where the worm's ratio is ``n`` (any book on dividing heads, such as US Army Ordnance text OD1644).
"""

from __future__ import annotations

from camgen.shop.machine import HandHead

__all__ = ["TO_THE_SPACE", "settings_between"]

TO_THE_SPACE = "turn the crank to just before space"
"""So begins the message that brings the pin into a space by itself."""
# Angles are told to a millionth of a degree; a hole is a hundredth at the least.
_NEAR = 0.01


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
        if abs(here - round(here)) > _NEAR:
            continue
        hole = round(here) % circle
        if before is None:
            found.append(f"start in hole {hole} of the {circle} circle")
            continue
        on = (after - before) * per_degree
        if abs(on - round(on)) > 2 * _NEAR or round(on) <= 0:
            continue
        turns, holes = divmod(round(on), circle)
        way = [f"{count} {name}{'s' if count != 1 else ''}"
               for count, name in ((turns, "turn"), (holes, "hole")) if count]
        found.append(f"{' and '.join(way)} on the {circle} circle, to hole {hole}")
    return frozenset(found)
