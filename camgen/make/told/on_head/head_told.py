"""What the sheet says of a head: how it stands, how the cutter is centred and its zero found.

Sides and senses are those of ``layout/stands.py``; lengths mm, as texts in the sheet's language.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from camgen.layout import ToothLayout
from camgen.layout.stands import (
    FrontEdge,
    end_of,
    front_edge,
    hands_of,
    next_space,
    opposite,
    touched_with,
)
from camgen.make.chain import ProvedSetup
from camgen.proof.evidence import by_kind
from camgen.proof.head.spaces import whole_depth
from camgen.sheet.data import Instructions
from camgen.shop.cutters import Cutter, made_for
from camgen.shop.machine import DrivenHead, Machine
from camgen.steps.head.cut_teeth_words import room_before
from camgen.words import Words

__all__ = ["centring_of", "from_axis", "stand_of", "touched_at"]

# A front whose line passes nearer to the axis than this is radial, mm: half of what is told.
_RADIAL = 0.0005


def stand_of(setup: ProvedSetup, layout: ToothLayout, machine: Machine, say: Words
             ) -> tuple[str, ...]:
    """Where head and cutter stand, whither it goes, its profile, and what must be clear."""
    arrangement, cutters = layout.arrangement, _fitted(setup)
    head, side = end_of(arrangement)
    lines = [say("stand", "head", head=head, face=opposite(head)),
             say("stand", "infeed", side=side, infeed=arrangement.infeed)]
    lines += [say("stand", "profile", number=number, profile=say.say(made_for(cutter)))
              for number, cutter in cutters.items()]
    front = front_edge(layout.tooth, arrangement)
    if front is not None:
        lines.append(say("stand", "front", side=front.towards,
                         sense=say("stand", front.face)))
    if isinstance(machine.dividing, DrivenHead):
        lines.append(say("stand", "onward", sense=say("stand", next_space(arrangement))))
    if cutters:
        room = room_before(layout, _largest(cutters) / 2, _deep(setup, layout))
        lines.append(say("stand", "before" if layout.before_said else "before-not-said",
                         near=f"{room.near:.1f}", far=f"{room.far:.1f}",
                         wide=f"{2 * room.lowest:.2f}"))
    return tuple(lines)


def touched_at(setup: ProvedSetup, layout: ToothLayout) -> str:
    """Where the infeed stands when the cutter touches the blank; "" where it is 0.

    With the zero in the work's axis that hangs on the cutter, and each is named.
    """
    axis, cutters = layout.arrangement.infeed[1], _fitted(setup)
    places = {number: f"{axis}{touched_with(layout, one.diameter / 2):.3f}"
              for number, one in cutters.items()}
    if not places:
        return ""
    if len(set(places.values())) == 1:
        at = touched_with(layout, next(iter(cutters.values())).diameter / 2)
        return next(iter(places.values())) if at else ""
    return ", ".join(f"{place} ({number})" for number, place in places.items())


def from_axis(setup: ProvedSetup, layout: ToothLayout) -> str:
    """Both radii, the blank's and the cutter's, mm, of each cutter where there are several."""
    sums = dict.fromkeys(f"{layout.blank_radius + one.diameter / 2:.3f}"
                         for one in _fitted(setup).values())
    return ", ".join(sums) or f"{layout.blank_radius:.3f}"


def centring_of(layout: ToothLayout, bored: bool, say: Words) -> Instructions:
    """How the cutter is brought to centre height, as the space's form wants it."""
    axis = layout.arrangement.across
    front = front_edge(layout.tooth, layout.arrangement)
    if front is not None:
        steps = _by_the_front(layout, front, say)
    else:
        about = "turn-over" if bored else "turn-about"
        steps = tuple(say("centring", key, axis=axis)
                      for key in ("rough", "trial", about, "look", "move"))
    lean, shift = _lean(layout)
    return Instructions(
        say("centring", "heading"), steps,
        say("centring", "lean", lean=f"{lean:.2f}", shift=f"{shift * 1000:.1f}"))


def _by_the_front(layout: ToothLayout, front: FrontEdge, say: Words) -> tuple[str, ...]:
    """A space that is not alike on both sides is centred by its front alone."""
    axis, way = layout.arrangement.across, layout.tooth.ways[0]
    at = hands_of(layout.arrangement).across * way.over
    fields: Mapping[str, str] = {
        "at": f"{axis}{at:.3f}",
        "axis": axis, "side": front.towards, "back": opposite(front.towards),
        "over": f"{abs(front.over):.3f}", "sense": say("stand", front.face)}
    look = ("front-radial" if abs(front.over) <= _RADIAL else
            "front-over" if front.over > 0 else "front-under")
    goes_over = ("front-goes-over",) if layout.tooth.approaches else ()
    return tuple(say("centring", key, **fields) for key in (
        "front-edge", "front-rough", *goes_over, "front-trial", look, "front-move"))


def _lean(layout: ToothLayout) -> tuple[float, float]:
    """The lean of a tooth whose space was cut 0.01 mm beside the middle: degrees, and mm.

    The flank's points stand on lines parallel to the radius, 0.01 mm beside it: seen from the
    centre, the space is turned by 0.01/r at radius r. Between root and tip the tooth leans by the
    difference, and its tip stands r_tip times that beside where its root would have it.
    """
    root, tip = layout.tooth.root_radius, layout.tooth.tip_radius
    turn = math.asin(0.01 / root) - math.asin(0.01 / tip)
    return math.degrees(math.asin(0.01 / root)), turn * tip


def _fitted(setup: ProvedSetup) -> dict[int, Cutter]:
    """The cutters that are used, by number, in their order."""
    used = dict.fromkeys(section.cutter_number for section in setup.planned.moves.sections)
    return {number: setup.evidence.cutters[number] for number in used
            if number in setup.evidence.cutters}


def _largest(cutters: Mapping[int, Cutter]) -> float:
    return max(one.diameter for one in cutters.values())


def _deep(setup: ProvedSetup, layout: ToothLayout) -> float:
    """How deep the spaces are cut from the tip circle, mm."""
    _, on_head = by_kind((setup.evidence,))
    return max(map(whole_depth, on_head), default=layout.tooth.sizes.whole_depth)
