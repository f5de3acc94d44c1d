"""Whether what stands above a wheel's web, and the mouth of its bore, can be of their sizes.

Each face is looked at by itself, then what the mouths of the bore leave of one another and of what
stands on the other face. Lengths mm.
"""

from __future__ import annotations

from collections.abc import Iterator

from camgen.faults import Fault, Place, no_less, no_more
from camgen.job.checks.bench import CheckBench
from camgen.messages import Message
from camgen.part.plates.plate_words import Face
from camgen.part.wheels.hub import Raised, Seat
from camgen.part.wheels.wheel import Wheel
from camgen.tolerances import LEAST_INCREMENT
from camgen.values import dataclass

__all__ = ["hub_faults"]

# What is less high than this above the web is none to be milled round, mm: zeros are set within a
# few hundredths. Common practice, no source.
LEAST_STEP = 0.02


@dataclass(frozen=True)
class _Side:
    """One face of a wheel: the words that lead to what it has, and that."""

    bench: CheckBench
    wheel: Wheel
    face: Face
    words: tuple[str, ...]
    has: Raised

    def place(self, *words: str) -> Place:
        """Where words beneath it stand in the job file."""
        return self.bench.place("wheel", *self.words, *words)

    @property
    def raised(self) -> tuple[tuple[str, float, float, float], ...]:
        """Word, diameter, foot and top above the wheel's lowest, of what stands on this face."""
        words = [word for word in ("hub", "pipe") if getattr(self.has, word) is not None]
        web, whole, found = self.wheel.thickness, self.wheel.height, []
        below = web
        for word, (diameter, top) in zip(words, self.has.steps_up(web), strict=True):
            rest = self.has.height_over(web)
            # Counted from the top of what stands highest on this face.
            begin, end = rest - top, rest - below
            low, high = ((whole - end, whole - begin) if self.face == "upper" else (begin, end))
            found.append((word, diameter, low, high))
            below = top
        return tuple(found)

    @property
    def mouth(self) -> tuple[float, float]:
        """Between which heights its counterbore is, none where it has none."""
        seat, whole = self.has.counterbore, self.wheel.height
        if seat is None:
            return (0.0, 0.0)
        return ((whole - seat.depth, whole) if self.face == "upper" else (0.0, seat.depth))


def hub_faults(bench: CheckBench, wheel: Wheel) -> Iterator[Fault]:
    """Hub, pipe and counterbore against web, teeth, crossing and bore, and against one another."""
    sides = [_Side(bench, wheel, face, words, has) for face, words, has in wheel.sides()]
    found = [fault for side in sides for fault in _of_side(side)]
    yield from found
    if not found:
        yield from _about_bore(sides)


def _of_side(side: _Side) -> Iterator[Fault]:
    """What one face has, against web, teeth and crossing."""
    wheel, hub, pipe = side.wheel, side.has.hub, side.has.pipe
    if hub is not None and hub.thickness < wheel.thickness + LEAST_STEP - 1e-9:
        yield Fault(Message("the hub, {hub:g} mm thick, is no thicker than the wheel, {web:g} mm",
                            hub=hub.thickness, web=wheel.thickness),
                    Message("thickness: {least} or more, from the under face to the top of the "
                            "hub; or leave hub: out",
                            least=no_less(wheel.thickness + LEAST_STEP))
                    if side.face == "upper" else
                    Message("thickness: {least} or more, from the upper face of the web to the "
                            "top of the hub beneath it; or leave hub: out",
                            least=no_less(wheel.thickness + LEAST_STEP)),
                    side.place("hub", "thickness"))
        return
    if pipe is not None and pipe.length < LEAST_STEP - 1e-9:
        yield Fault(Message("a pipe {length:g} mm long stands out too little to be cut",
                            length=pipe.length),
                    Message("length: {least:g} or more, or leave pipe: out", least=LEAST_STEP),
                    side.place("pipe", "length"))
        return
    if hub is not None and pipe is not None and pipe.diameter > hub.diameter - LEAST_STEP:
        yield Fault(Message("the pipe, {pipe:g} mm, is not narrower than the hub that it stands "
                            "on, {hub:g} mm", pipe=pipe.diameter, hub=hub.diameter),
                    Message("a narrower pipe; or leave pipe: out, and write its top as the hub's "
                            "thickness"), side.place("pipe", "diameter"))
        return
    yield from _within(side)


def _within(side: _Side) -> Iterator[Fault]:
    """What stands above the web on one face, the wider of it, against teeth and crossing."""
    if not side.raised:
        return
    bench, wheel = side.bench, side.wheel
    word, wide, _, _ = side.raised[0]
    place = side.place(word, "diameter")
    most = bench.tooth.sizes.root_diameter - 2 * wheel.least_wall
    crossing, circles = wheel.crossing, wheel.round_crossing
    if wide > most + LEAST_INCREMENT:
        yield Fault(Message("the {word}, {wide:g} mm, stands where the teeth are cut: at their "
                            "roots the wheel is {root:.3f} mm", word=word, wide=wide,
                            root=bench.tooth.sizes.root_diameter),
                    Message("diameter: {most} or less", most=no_more(most)), place)
    elif crossing is not None and wide > crossing.hub + LEAST_INCREMENT:
        yield Fault(Message("the openings of the crossing, about a hub of {hub:g} mm, cut into "
                            "the {word}, {wide:g} mm", hub=crossing.hub, word=word, wide=wide),
                    Message("diameter: {most} or less, or a larger hub: in the crossing",
                            most=no_more(crossing.hub)), place)
    elif circles is not None and wide > circles.around - circles.diameter + LEAST_INCREMENT:
        yield Fault(Message("the round openings cut into the {word}, {wide:g} mm: they leave "
                            "{left:.3g} mm inside them", word=word, wide=wide,
                            left=circles.around - circles.diameter),
                    Message("narrower, smaller openings, or a larger circle for them"), place)


def _about_bore(sides: list[_Side]) -> Iterator[Fault]:
    """The wall about the bore and its mouths, in hubs and pipes and in the web."""
    for side in sides:
        faults = list(_mouth(side, sides))
        yield from faults
        if faults:
            return
    for side in sides:
        for word, wide, low, high in side.raised:
            inner = _widest(sides, low, high)
            least = max(side.wheel.least_wall, LEAST_INCREMENT)
            if (wide - inner) / 2 < least - LEAST_INCREMENT:
                yield Fault(Message("the {word}, {wide:g} mm, has too little wall about {inner:g} "
                                    "mm: {least:g} mm is the least", word=word, wide=wide,
                                    inner=inner, least=side.wheel.least_wall),
                            Message("diameter: {most} or more; or a narrower bore or counterbore",
                                    most=no_less(inner + 2 * max(side.wheel.least_wall,
                                                                 LEAST_STEP))),
                            side.place(word, "diameter"))
                return
    web = sides[0].wheel.thickness
    low = sum(side.has.height_over(web) - web for side in sides if side.face == "under")
    for side in sides:
        seat, (begin, end) = side.has.counterbore, side.mouth
        high = low + web
        if seat is not None and begin < high - LEAST_INCREMENT and end > low + LEAST_INCREMENT:
            yield from _in_web(side, seat)


def _widest(sides: list[_Side], low: float, high: float) -> float:
    """The widest that is open about the axis between two heights."""
    wheel = sides[0].wheel
    return max([wheel.bore, *(
        side.has.counterbore.diameter for side in sides if side.has.counterbore is not None
        and side.mouth[0] < high - LEAST_INCREMENT and side.mouth[1] > low + LEAST_INCREMENT)])


def _mouth(side: _Side, sides: list[_Side]) -> Iterator[Fault]:
    """A counterbore against the bore, the height of the wheel, and that of the other face."""
    seat, wheel = side.has.counterbore, side.wheel
    if seat is None:
        return
    least = wheel.least_wall
    if seat.diameter < wheel.bore + LEAST_STEP - 1e-9:
        yield Fault(Message("the counterbore, {seat:g} mm, is not wider than the bore, {bore:g} "
                            "mm", seat=seat.diameter, bore=wheel.bore),
                    Message("diameter: {least} or more, or leave counterbore: out",
                            least=no_less(wheel.bore + LEAST_STEP)),
                    side.place("counterbore", "diameter"))
        return
    other = next((one.has.counterbore.depth for one in sides
                  if one is not side and one.has.counterbore is not None), 0.0)
    whole = wheel.height - other
    if seat.depth > whole - least + LEAST_INCREMENT:
        yield Fault(Message("a counterbore {depth:g} mm deep leaves {left:.3g} mm of a wheel of "
                            "{height:g} mm", depth=seat.depth, left=whole - seat.depth,
                            height=wheel.height) if not other else
                    Message("counterbores {depth:g} and {other:g} mm deep from the two faces leave "
                            "{left:.3g} mm between them", depth=seat.depth, other=other,
                            left=whole - seat.depth),
                    Message("depth: {most} or less", most=no_more(whole - least))
                    if whole > least + LEAST_STEP else
                    Message("leave counterbore: out, or say a smaller least-wall: in the wheel"),
                    side.place("counterbore", "depth"))


def _in_web(side: _Side, seat: Seat) -> Iterator[Fault]:
    """The mouth of the bore where it goes down into the web, against what is open there."""
    wheel, root = side.wheel, side.bench.tooth.sizes.root_diameter
    crossing, circles = wheel.crossing, wheel.round_crossing
    room = min(root, crossing.hub if crossing is not None else root,
               circles.around - circles.diameter if circles is not None else root)
    most = room - 2 * wheel.least_wall
    if seat.diameter > most + LEAST_INCREMENT and room > wheel.bore:
        yield Fault(Message("the counterbore, {wide:g} mm, has too little wall about it in the "
                            "web, where {room:.3g} mm stand", wide=seat.diameter, room=room),
                    Message("diameter: {most} or less", most=no_more(most))
                    if most > wheel.bore + LEAST_STEP else
                    Message("leave counterbore: out, or a narrower bore"),
                    side.place("counterbore", "diameter"))
