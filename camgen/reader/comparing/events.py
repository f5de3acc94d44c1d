"""Two programs compared in what they do besides moving: stops, waits, coolant, cutter changes."""

from __future__ import annotations

from typing import Final

from camgen.messages import Message
from camgen.reader.comparing.motions import Difference
from camgen.reader.comparing.together import Together, joint_zones
from camgen.reader.motion import Event, EventKind

__all__ = ["same_events"]

_KINDS: Final[dict[EventKind, Message]] = {
    "stop": Message("stop"), "optional-stop": Message("optional stop"), "dwell": Message("dwell"),
    "cutter-change": Message("cutter change"), "coolant": Message("coolant"),
    "clamp": Message("clamping of the head"), "unclamp": Message("letting go of the head"),
    "end": Message("end of the program"), "comment": Message("comment"),
    "hand-index": Message("turn by hand"),
}


def same_events(a: Together, b: Together) -> tuple[Difference, ...]:
    """How two programs differ in what they do besides moving, comments apart; the first place.

    Where a program was put together from parts, what its parts do between the last cut before and
    the first cut after (end, fit the same cutter again, wait for the spindle) need not be in both.
    """
    kept_a, kept_b = _doing(a), _doing(b)
    # Every way of pairing them, those at joints left out or not: few, since joints are few.
    waiting = [(0, 0)]
    seen = {(0, 0)}
    furthest = (0, 0)
    while waiting:
        i, j = waiting.pop()
        if i == len(kept_a) and j == len(kept_b):
            return ()
        if i + j > sum(furthest):
            furthest = (i, j)
        following = []
        if i < len(kept_a) and kept_a[i][1]:
            following.append((i + 1, j))
        if j < len(kept_b) and kept_b[j][1]:
            following.append((i, j + 1))
        if i < len(kept_a) and j < len(kept_b) and _differ(kept_a[i][0], kept_b[j][0]) is None:
            following.append((i + 1, j + 1))
        waiting.extend(place for place in following if place not in seen)
        seen.update(following)
    return (_first_difference(kept_a, kept_b, furthest),)


def _first_difference(
    a: list[tuple[Event, bool]], b: list[tuple[Event, bool]], place: tuple[int, int]
) -> Difference:
    """What differs at the place up to which both could be paired."""
    i, j = place
    found = _differ(a[i][0], b[j][0]) if i < len(a) and j < len(b) else None
    if found is not None:
        return found
    event = a[i][0] if i < len(a) else b[j][0]
    return Difference(
        Message("{event} that only one of the two has", event=_KINDS[event.kind]),
        event.line if i < len(a) else 0, 0 if i < len(a) else event.line, 0.0, "",
    )


def _doing(parts: Together) -> list[tuple[Event, bool]]:
    """Each event but comments, and whether it stands where two parts join."""
    zones = joint_zones(parts.program.motion, parts.joints)
    doing = [
        (event, any(begin <= event.before <= end for begin, end in zones))
        for event in parts.program.events if event.kind != "comment"
    ]
    # Each part ends; only the last end is the end of it all.
    return [(event, may_lack) for at, (event, may_lack) in enumerate(doing)
            if not (may_lack and event.kind == "end" and at < len(doing) - 1)]


def _differ(one: Event, other: Event) -> Difference | None:
    """How two events differ."""
    if one.kind != other.kind:
        return Difference(
            Message("{one} against {other}", one=_KINDS[one.kind], other=_KINDS[other.kind]),
            one.line, other.line, 0.0, "")
    if abs(one.value - other.value) > 1e-6:
        return Difference(
            Message("{event} {one:g} against {other:g}", event=_KINDS[one.kind], one=one.value,
                    other=other.value), one.line, other.line,
            abs(one.value - other.value), "s" if one.kind == "dwell" else "",
        )
    if one.kind == "coolant" and one.text != other.text:
        return Difference(Message("{one} against {other}", one=one.text, other=other.text),
                          one.line, other.line, 0.0, "")
    return None
