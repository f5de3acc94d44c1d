"""What the sheet says of turned work in the dividing head. Lengths mm, angles degrees."""

from __future__ import annotations

from collections.abc import Iterator

from camgen.layout import RoundLayout
from camgen.layout.stands import end_of, next_space, opposite
from camgen.messages import Message
from camgen.part.features import Flats, RoundHole, RoundSlot
from camgen.sheet.data import Instructions, Measure
from camgen.shop.machine import DrivenHead, Machine
from camgen.words import Words

__all__ = ["centring_round", "round_measures", "stand_round", "stock_round"]

# More places of the head than these are not told one by one.
MOST_PLACES = 24


def stock_round(layout: RoundLayout, say: Words) -> str:
    """The work as it is put into the head."""
    sections = ", ".join(say("stock", "section", diameter=f"{2 * radius:.3f}",
                             length=f"{end - begin:g}")
                         for begin, end, radius in layout.part.cylinders)
    parts = [say("stock", "turned", sections=sections, out=f"{layout.stands_out:g}")]
    if len(layout.places) > 1:
        parts.append(say("stock", "along-the-bar", count=len(layout.places),
                         pitch=f"{layout.places[1]:g}"))
    return "; ".join(parts)


def stand_round(layout: RoundLayout, machine: Machine, say: Words) -> tuple[str, ...]:
    """Where head and cutter stand, and to which places the head comes."""
    head, side = end_of(layout.arrangement)
    lines = [say("stand", "work-head", head=head, face=opposite(head)),
             say("stand", "work-over", side=side, infeed=layout.arrangement.infeed),
             say("stand", "work-turns", sense=say("stand", next_space(layout.arrangement)))]
    division, driven = layout.division, isinstance(machine.dividing, DrivenHead)
    if len(division.angles) <= MOST_PLACES:
        places = [f"{number}: {angle:g}°" for number, angle in enumerate(division.angles, 1)]
        if not driven:
            places = [f"{place}, {say.say(setting)}"
                      for place, setting in zip(places, division.settings, strict=True)]
        lines.append(say("stand", "work-places", places="; ".join(places)))
    return tuple(lines)


def centring_round(layout: RoundLayout, say: Words) -> Instructions:
    """How the cutter is brought over the middle of the work."""
    axis = layout.arrangement.across
    return Instructions(
        say("centring", "heading"),
        tuple(say("centring", key, axis=axis) for key in ("work-sides", "work-look")),
        say("centring", "work-true"))


def round_measures(layout: RoundLayout, say: Words) -> tuple[Measure, ...]:
    """What to measure of the work, in the order of measuring."""
    found: list[Measure] = []
    for made in layout.made:
        match made:
            case Flats():
                found += _of_flats(layout, made, say)
            case RoundSlot():
                found += _of_slots(made, say)
            case RoundHole():
                found.append(Measure(say.say(Message("{name}: width of the holes",
                                                     name=made.name)), made.name, made.diameter))
    return tuple(found)


def _of_slots(slot: RoundSlot, say: Words) -> Iterator[Measure]:
    yield Measure(say.say(Message("{name}: width of the slot", name=slot.name)),
                  f"{slot.name}-width", slot.width)
    yield Measure(say.say(Message("{name}: depth of the slot", name=slot.name)),
                  f"{slot.name}-depth", slot.depth)
    yield Measure(say.say(Message("{name}: length of the slot", name=slot.name)),
                  f"{slot.name}-length", slot.end - slot.begin)


def _of_flats(layout: RoundLayout, flats: Flats, say: Words) -> Iterator[Measure]:
    part = layout.part
    words = part.flats[flats.name]
    even = f"{flats.name}-across" in part.sizes
    yield Measure(
        say.say(Message("{name}: across the flats", name=flats.name) if even else
                Message("{name}: from the flat to the round across", name=flats.name)),
        f"{flats.name}-{'across' if even else 'over'}", part.across_measured(words),
        correct=say.say(Message(
            "too large by so much: move the zero of {axis} by half of it towards {way}; by the "
            "whole where it is measured to the round", axis=layout.arrangement.infeed[1],
            way=layout.arrangement.infeed)))
    yield Measure(say.say(Message("{name}: length of the flats", name=flats.name)),
                  f"{flats.name}-length", words.length)
