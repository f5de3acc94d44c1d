"""What spotting, drilling and boring have in common: which holes, how deep.

Lengths mm.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Sequence
from functools import lru_cache

import shapely

from camgen.faults import Fault, Place, did_you_mean, no_less
from camgen.job.order.faces import other_face
from camgen.job.order.holes_made import SAME_SIZE, suits_thread
from camgen.job.order.opened import drilled_width
from camgen.layout import FlatLayout
from camgen.messages import Message
from camgen.moves import Drill, Move
from camgen.part.declaration import AtHoles, MakesCones, MakesHoles, MakesThreads
from camgen.part.features import Hole
from camgen.shapes.path import Point
from camgen.shapes.tour import hole_order
from camgen.shop.cutters import (
    Cutter,
    cuts_over,
    cutting_length,
    is_relieved,
    opening_of,
    reach_of,
    record_of,
    stands_out,
)
from camgen.steps.kind import FlatBench
from camgen.steps.moving import NEAR, away
from camgen.tolerances import CHECK_CHORD

__all__ = [
    "all_holes",
    "beneath_closed",
    "bottom_of",
    "bottom_through",
    "centres",
    "cone_has_room",
    "drill_strokes",
    "drilled_in",
    "edges_too_short",
    "holes_chosen",
    "left_by_step",
    "names_without_hole",
    "open_at_edge",
    "over_the_edge",
    "partly_threaded",
    "point_length",
    "seats_something",
    "shortest_way_round",
    "too_short",
    "unusual_for_thread",
    "wrong_face",
]

# How far past the lower face a through cut goes where the job lets it: enough for the stock's own
# tolerance. Common practice, no source.
PAST = 0.05
# The way down to a hole is made in two where the first may be so many times as fast.
QUICKER = 2.0


def all_holes(layout: FlatLayout) -> tuple[Hole, ...]:
    """Every hole of one piece, those right through first."""
    return layout.part.holes + layout.part.blind


def names_without_hole(bench: FlatBench, names: Sequence[str] | None) -> list[Fault]:
    """Names of holes that the part does not have."""
    holes = all_holes(bench.layout)
    known = list(dict.fromkeys(hole.group or hole.name for hole in holes))
    below = {hole.name for hole in bench.layout.part.beneath}
    below |= {hole.group for hole in bench.layout.part.beneath}
    if names is None:
        if known:
            return []
        return [Fault(Message("the part has no hole"), Message("describe it with the part"),
                      bench.place())]
    allowed = {*known, *(hole.name for hole in holes)}
    return [
        wrong_face(bench, name, bench.place("holes", number)) if name in below else
        Fault(
            Message("the part has no hole called '{name}'", name=name),
            did_you_mean(name, known, Message(
                "its holes: {names}", names=tuple(known) or Message("none"))),
            bench.place("holes", number),
        )
        for number, name in enumerate(names)
        if name not in allowed
    ]


def wrong_face(bench: FlatBench, name: str, place: Place) -> Fault:
    """A feature named in a setup that has the plate's other face up."""
    up = bench.layout.side
    return Fault(
        Message("{name} is on the {other} face, and here the {up} face looks up", name=name,
                other=other_face(up), up=up),
        Message("make it in a setup with face: {other}", other=other_face(up)),
        place,
    )


def holes_chosen(layout: FlatLayout, names: Sequence[str] | None) -> tuple[Hole, ...]:
    """The holes of one piece that are meant: those named, alone or with their like, or all."""
    return tuple(
        hole
        for hole in all_holes(layout)
        if names is None or hole.name in names or hole.group in names
    )


def centres(bench: FlatBench, holes: Sequence[Hole]) -> list[tuple[Hole, Point]]:
    """Each of these holes on each piece: piece by piece, and where there are several holes to a
    piece in the order of a short way through all from where the step before left the cutter."""
    return _ordered(bench.layout, holes, left_by_step(bench))


def drill_strokes(
    bench: FlatBench,
    holes: Sequence[Hole],
    feed: float,
    bottom: Callable[[Hole], float],
    *,
    dwell: Callable[[Hole], float] | None = None,
    peck: Callable[[Hole], float] | None = None,
    feed_out: bool = False,
    reverses: bool = False,
    further: float = 0.0,
) -> list[Move]:
    """From clear of the work down into each of these holes on each piece, and clear again.

    ``feed`` mm/min; ``bottom``, ``peck`` and ``dwell`` give each hole's Z, bite and seconds below.
    ``peck``, ``feed_out`` and ``reverses`` are as in :class:`camgen.moves.Drill`; with ``further``
    the stroke begins and ends so much higher above the work. A control that is given moves goes
    down the clearance as fast as Z follows, all but the last of it; a fixed cycle does not.
    """
    layout, machine = bench.layout, bench.machine
    quick, near = machine.z.feed_limit, layout.face + NEAR
    if (machine.cycles.use or reverses or further or layout.clearance <= NEAR
            or QUICKER * feed > quick):
        quick = 0.0
    down: list[Move] = [
        Drill(
            centre.x, centre.y,
            clearance=min(layout.face + layout.clearance + further, layout.safe_height),
            bottom=bottom(hole),
            feed=feed,
            travel=layout.safe_height,
            peck=0.0 if peck is None else peck(hole),
            dwell=0.0 if dwell is None else dwell(hole),
            feed_out=feed_out, reverses=reverses, quick=quick, near=near if quick else 0.0,
        )
        for hole, centre in centres(bench, holes)
    ]
    return [*away(layout), *down, *away(layout)]


def drilled_in(bench: FlatBench, said: float | None, holes: Sequence[Hole]) -> float:
    """The diameter that holes are drilled to before this step: as the job says it, else as its own
    steps before make it, the narrowest of them; 0 where nothing makes one."""
    if said is not None:
        return said
    setup = next(n for n, one in enumerate(bench.job.setups) if one is bench.setup)
    return min((drilled_width(bench.job, setup, bench.number, hole.name) for hole in holes),
               default=0.0)


def shortest_way_round(bench: FlatBench, holes: Sequence[Hole]) -> list[Hole]:
    """The holes of one piece in the order of a short way, for work that goes piece by piece."""
    layout = bench.layout
    left = left_by_step(bench)
    x, y = layout.places[0]
    start = None if left is None else Point(left.x - x, left.y - y)
    return _on_one(holes, start)


def left_by_step(bench: FlatBench) -> Point | None:
    """Where the step just before this one leaves the cutter; None unless that was one of holes."""
    if not bench.number:
        return None
    before = dataclasses.replace(bench, number=bench.number - 1)
    made = next(before.words.declares().at_holes, None)
    if made is None:
        return None
    holes = [hole for hole in all_holes(bench.layout)
             if made.holes.means(hole.name, hole.group) and _is_for(made, bench.layout, hole)]
    if not holes:
        return left_by_step(before)
    # What goes round in its holes does all of one piece before the next.
    if isinstance(made, MakesHoles | MakesThreads) and made.round:
        x, y = bench.layout.places[-1]
        last = shortest_way_round(before, holes)[-1]
        return Point(x + last.x, y + last.y)
    return centres(before, holes)[-1][1]


def _is_for(made: AtHoles, layout: FlatLayout, hole: Hole) -> bool:
    """Whether a step works at this hole: named, or with something that it makes."""
    if made.holes.names is not None:
        return True
    if isinstance(made, MakesCones):
        return layout.part.cone_width(hole) > 0
    return not isinstance(made, MakesThreads) or layout.part.thread_in(hole) is not None


def _ordered(
    layout: FlatLayout, holes: Sequence[Hole], start: Point | None
) -> list[tuple[Hole, Point]]:
    found = [(hole, Point(x + hole.x, y + hole.y)) for x, y in layout.places for hole in holes]
    if len(holes) < 2:
        return found
    places = tuple(centre for _, centre in found)
    return [found[number] for number in _order(places, start or places[0])]


def _on_one(holes: Sequence[Hole], start: Point | None) -> list[Hole]:
    if len(holes) < 2:
        return list(holes)
    places = tuple(Point(hole.x, hole.y) for hole in holes)
    return [holes[number] for number in _order(places, start or places[0])]


@lru_cache(maxsize=64)
def _order(places: tuple[Point, ...], start: Point) -> tuple[int, ...]:
    """Kept, because each step asks again where those before it went."""
    return hole_order(places, start)


def bottom_of(bench: FlatBench, hole: Hole, extra: float = 0.0) -> tuple[float, list[Fault]]:
    """The Z of a hole's floor, or of a cut right through, ``extra`` mm deeper for a point."""
    layout = bench.layout
    if hole.depth is None:
        bottom, faults = bottom_through(bench, extra)
        return bottom, [*faults, *too_short(bench, hole, bottom)]
    bottom = layout.face - hole.depth - extra
    if bottom >= layout.floor - 1e-9:
        return bottom, too_short(bench, hole, bottom)
    return bottom, [
        Fault(
            Message("hole {hole} and the cutter's point go {below:.2f} mm below what may be cut "
                    "into", hole=hole.name, below=layout.floor - bottom),
            Message("a flatter point, or bore it with an end mill"),
            bench.place(),
        )
    ]


def too_short(bench: FlatBench, hole: Hole, bottom: float) -> list[Fault]:
    """A fault where the collet would come down on the stock before the cutter is at ``bottom``."""
    deep = bench.layout.face - bottom
    if reach_of(bench.cutter) > deep:
        return []
    told, write = stands_out(bench.cutter)
    return [
        Fault(
            Message("{cutter} {told} and must go {deep:.2f} mm down in hole {hole}",
                    cutter=bench.words.cutter, told=told, deep=deep, hole=hole.name),
            Message("the collet would come down on the stock: let it stand out further{write}",
                    write=write),
            bench.place("cutter"),
        )
    ]


def edges_too_short(bench: FlatBench, bottom: float) -> list[Fault]:
    """A fault where the wall cut down to the Z ``bottom`` is met by a shank as thick as the edges.

    How deep the work itself is was looked at with the job; what a cut right through goes below it
    only the step knows.
    """
    cutter, deep = bench.cutter, bench.layout.face - bottom
    if cutting_length(cutter) >= deep - 1e-6 or is_relieved(cutter):
        return []
    told, write = cuts_over(cutter)
    return [
        Fault(
            Message("{cutter} {told} and goes {deep:.4g} mm deep beside standing metal, with what "
                    "a cut right through goes below the work", cutter=bench.words.cutter, told=told,
                    deep=deep),
            Message("flute-length: {least} or more with the cutter, or shank: where it is relieved "
                    "above its edges{write}", least=no_less(deep, 0.01), write=write),
            bench.place("cutter"),
        )
    ]


def beneath_closed(
    bench: FlatBench, hole: Hole, bottom: float, place: Place, drilled: float | None
) -> list[Fault]:
    """A fault where the end of a cutter that cannot meet solid metal goes on below the piece, down
    to the Z ``bottom``, and nothing in this setup opened what lies beneath: the hole came open, by
    another hand or from a setup before the piece was turned over; or what opened it there is too
    narrow for the end, as a drill before a bore that goes hardly below the piece.

    ``drilled`` is down to where drills of this setup opened it wide enough, which is looked at
    elsewhere; None where none did.
    """
    layout = bench.layout
    if (hole.depth is not None or bottom >= layout.bottom - layout.relieved - 1e-9
            or drilled is not None):
        return []
    if not drilled_in(bench, None, (hole,)):
        return []  # not open at all, which is told with the job
    if any(made.holes.means(hole.name, hole.group)
           for step in bench.setup.steps[: bench.number] for made in step.declares().holes):
        if bottom >= bottom_of(bench, hole)[0] - 1e-9:
            return []  # what goes round in it goes as far through
        need = opening_of(bench.cutter) or 0.0
        return [
            Fault(
                Message("the end of the {cutter} goes {below:.2f} mm below the piece in {hole}, "
                        "and needs it {need:.4g} mm wide there: no drill of this setup makes it so",
                        cutter=record_of(bench.cutter).name, below=layout.bottom - bottom,
                        hole=hole.name, need=need),
                Message("drill it with {need} mm or more before that step, with depth: {depth}; or "
                        "say `{holding}` where the carrier is open so deep under the holes",
                        need=no_less(need, 0.01), depth=no_less(layout.face - bottom + 0.01, 0.01),
                        holding="holding: {relieved: " f"{no_less(layout.bottom - bottom, 0.01)}}}"
                        ),
                place,
            )
        ]
    return [
        Fault(
            Message("the end of the {cutter} goes {below:.2f} mm below the piece in {hole}, and no "
                    "step of this setup opens what lies beneath",
                    cutter=record_of(bench.cutter).name, below=layout.bottom - bottom,
                    hole=hole.name),
            Message("drill the hole here too, before that step, with depth: {depth}: in the piece "
                    "it runs in air; or say `{holding}` where the carrier is open so deep under "
                    "the holes", depth=no_less(layout.face - bottom + 0.01, 0.01), holding=(
                        f"holding: {{relieved: {no_less(layout.bottom - bottom, 0.01)}}}")),
            place,
        )
    ]


def partly_threaded(
    layout: FlatLayout, holes: Sequence[Hole], full: Callable[[Hole], float]
) -> tuple[Message, ...]:
    """What is told of threads that are ``full`` mm deep and so less deep than their holes are."""
    told: dict[Message, None] = {}
    for hole in holes:
        whole = layout.thickness if hole.depth is None else hole.depth
        if full(hole) < whole - 1e-6:
            told[Message("thread of {group}: full {full:.3g} mm deep, and the hole is {whole:g} "
                         "mm deep", group=hole.group or hole.name, full=full(hole),
                         whole=whole)] = None
    return tuple(told)


def unusual_for_thread(
    bench: FlatBench, holes: Sequence[Hole], wide: Callable[[Hole], float],
    full: Callable[[Hole], float],
) -> tuple[Message, ...]:
    """What is told of holes ``wide`` mm that suit a thread ``full`` mm long, and not as is usual.
    """
    told: dict[Message, None] = {}
    for hole in holes:
        long, across = full(hole), wide(hole)
        suits = suits_thread(bench.job, hole, long)
        if suits is None or not across or (
                suits.usual.least - SAME_SIZE <= across <= suits.usual.most + SAME_SIZE):
            continue
        gives = (Message("the tap meets more resistance") if across < suits.usual.least
                 else Message("the thread is less full"))
        told[Message(
            "{group}: a hole of {across:g} mm for a thread {long:.3g} mm long; {least:g} to "
            "{most:g} mm are usual, such as a drill of {drill:g} mm: {gives}",
            group=hole.group or hole.name, across=across, long=long, least=suits.usual.least,
            most=suits.usual.most, drill=suits.drills[-1], gives=gives)] = None
    return tuple(told)


def over_the_edge(bench: FlatBench, hole: Hole, diameter: float) -> float:
    """How far a circle of that diameter about a hole's middle runs over the part's outline, mm; 0
    where it stays within."""
    region = bench.layout.part.outline.region(CHECK_CHORD)
    room = float(region.exterior.distance(shapely.Point(hole.x, hole.y)))
    return max(0.0, diameter / 2 - room) if room + CHECK_CHORD < diameter / 2 else 0.0


def open_at_edge(bench: FlatBench, holes: Sequence[Hole]) -> tuple[Message, ...]:
    """What is told of holes to a depth that run out at the part's edge."""
    return tuple(
        Message("{name} runs {over:.3g} mm over the outline: it is open at the edge",
                name=hole.name, over=over)
        for hole in holes if (over := over_the_edge(bench, hole, hole.diameter)) > 0.0)


def seats_something(layout: FlatLayout, hole: Hole) -> bool:
    """Whether a hole's floor bears something: a jewel's seat, or a hole that goes on narrower."""
    return "jewels" in hole.elsewhere or any(
        other.diameter < hole.diameter and math.dist((other.x, other.y), (hole.x, hole.y)) < 1e-6
        for other in all_holes(layout))


def cone_has_room(layout: FlatLayout, cutter: Cutter, hole: Hole) -> bool:
    """Whether the point that makes a hole's cone stays out of the floor of a hole to a depth.

    It may go on into a hole right through about the same middle, as wide as it still is there.
    """
    across = layout.part.cone_width(hole)
    deep = point_length(cutter, across)
    if hole.depth is None or deep <= hole.depth + 1e-9:
        return True
    wide = across - 2 * hole.depth * math.tan(math.radians(cutter.cone_angle / 2))
    return any(
        math.dist((other.x, other.y), (hole.x, hole.y)) < 1e-6 and other.diameter >= wide
        for other in layout.part.holes
    )


def point_length(cutter: Cutter, diameter: float | None = None) -> float:
    """Length of a point up to where it is ``diameter`` wide, else the cutter's diameter; mm.

    Half the width less the flat at the tip, over the tangent of half the angle.

    >>> round(point_length(Cutter(kind="drill", diameter=1.0)), 4)
    0.3004
    """
    across = cutter.diameter if diameter is None else diameter
    return max(0.0, across - cutter.tip) / 2 / math.tan(math.radians(cutter.cone_angle / 2))


def bottom_through(bench: FlatBench, extra: float = 0.0) -> tuple[float, list[Fault]]:
    """The Z of a cut right through, ``extra`` mm deeper for a point, and what stands against it."""
    layout = bench.layout
    bottom = layout.bottom - extra
    if bottom >= layout.floor - 1e-9 and layout.floor < layout.bottom:
        return max(bottom - PAST, layout.floor), []
    need = layout.bottom - bottom + PAST
    return bottom, [
        Fault(
            Message("going right through needs {need:.2f} mm below the stock, {allowed:g} mm are "
                    "allowed", need=need, allowed=layout.bottom - layout.floor),
            Message("`{holding}` with that much of a carrier beneath",
                    holding=f"holding: {{cut-into: {no_less(need, 0.01)}}}"),
            bench.place(),
        )
    ]
