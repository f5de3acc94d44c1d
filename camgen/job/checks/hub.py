"""Whether what stands above a wheel's web, and the mouth of its bore, can be of their sizes.

Lengths mm.
"""

from __future__ import annotations

from collections.abc import Iterator

from camgen.faults import Fault, no_less, no_more
from camgen.job.checks.bench import CheckBench
from camgen.messages import Message
from camgen.part.wheels.wheel import Wheel
from camgen.tolerances import LEAST_INCREMENT

__all__ = ["hub_faults"]

# What is less high than this above the web is none to be milled round, mm: zeros are set within a
# few hundredths. Common practice, no source.
LEAST_STEP = 0.02


def hub_faults(bench: CheckBench, wheel: Wheel) -> Iterator[Fault]:
    """Hub, pipe and counterbore against web, teeth, crossing and bore, and against one another."""
    hub, pipe = wheel.hub, wheel.pipe
    if hub is not None and hub.thickness < wheel.thickness + LEAST_STEP - 1e-9:
        yield Fault(Message("the hub, {hub:g} mm thick, is no thicker than the wheel, {web:g} mm",
                            hub=hub.thickness, web=wheel.thickness),
                    Message("thickness: {least} or more, from the under face to the top of the "
                            "hub; or leave hub: out",
                            least=no_less(wheel.thickness + LEAST_STEP)),
                    bench.place("wheel", "hub", "thickness"))
        return
    if pipe is not None and pipe.length < LEAST_STEP - 1e-9:
        yield Fault(Message("a pipe {length:g} mm long stands out too little to be cut",
                            length=pipe.length),
                    Message("length: {least:g} or more, or leave pipe: out", least=LEAST_STEP),
                    bench.place("wheel", "pipe", "length"))
        return
    if hub is not None and pipe is not None and pipe.diameter > hub.diameter - LEAST_STEP:
        yield Fault(Message("the pipe, {pipe:g} mm, is not narrower than the hub that it stands "
                            "on, {hub:g} mm", pipe=pipe.diameter, hub=hub.diameter),
                    Message("a narrower pipe; or leave pipe: out, and write its top as the hub's "
                            "thickness"), bench.place("wheel", "pipe", "diameter"))
        return
    yield from _within(bench, wheel)
    yield from _about_bore(bench, wheel)


def _words(wheel: Wheel) -> tuple[tuple[str, float, float], ...]:
    """Word, diameter and top of what stands above the web, the wider first."""
    words = [word for word in ("hub", "pipe") if getattr(wheel, word) is not None]
    return tuple((word, *one) for word, one in zip(words, wheel.raised, strict=True))


def _within(bench: CheckBench, wheel: Wheel) -> Iterator[Fault]:
    """What stands above the web, the wider of it, against teeth and crossing."""
    if not wheel.raised:
        return
    word, wide, _ = _words(wheel)[0]
    place = bench.place("wheel", word, "diameter")
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


def _about_bore(bench: CheckBench, wheel: Wheel) -> Iterator[Fault]:
    """The wall about the bore and its mouth, in hub and pipe and in the web."""
    seat, least = wheel.counterbore, wheel.least_wall
    at = ("wheel", "counterbore")
    if seat is not None and seat.diameter < wheel.bore + LEAST_STEP - 1e-9:
        yield Fault(Message("the counterbore, {seat:g} mm, is not wider than the bore, {bore:g} "
                            "mm", seat=seat.diameter, bore=wheel.bore),
                    Message("diameter: {least} or more, or leave counterbore: out",
                            least=no_less(wheel.bore + LEAST_STEP)), bench.place(*at, "diameter"))
        return
    if seat is not None and seat.depth > wheel.height - least + LEAST_INCREMENT:
        yield Fault(Message("a counterbore {depth:g} mm deep leaves {left:.3g} mm of a wheel of "
                            "{height:g} mm", depth=seat.depth, left=wheel.height - seat.depth,
                            height=wheel.height),
                    Message("depth: {most} or less", most=no_more(wheel.height - least))
                    if wheel.height > least + LEAST_STEP else
                    Message("leave counterbore: out, or say a smaller least-wall: in the wheel"),
                    bench.place(*at, "depth"))
        return
    for word, wide, top in _words(wheel):
        within = seat is not None and wheel.height - seat.depth < top - LEAST_INCREMENT
        inner = seat.diameter if seat is not None and within else wheel.bore
        if (wide - inner) / 2 < max(least, LEAST_INCREMENT) - LEAST_INCREMENT:
            yield Fault(Message("the {word}, {wide:g} mm, has too little wall about {inner:g} mm: "
                                "{least:g} mm is the least", word=word, wide=wide, inner=inner,
                                least=least),
                        Message("diameter: {most} or more; or a narrower bore or counterbore",
                                most=no_less(inner + 2 * max(least, LEAST_STEP))),
                        bench.place("wheel", word, "diameter"))
            return
    if seat is not None and wheel.height - seat.depth < wheel.thickness - LEAST_INCREMENT:
        yield from _in_web(bench, wheel, seat.diameter)


def _in_web(bench: CheckBench, wheel: Wheel, wide: float) -> Iterator[Fault]:
    """The mouth of the bore where it goes down into the web, against what is open there."""
    crossing, circles = wheel.crossing, wheel.round_crossing
    room = min(bench.tooth.sizes.root_diameter,
               crossing.hub if crossing is not None else bench.tooth.sizes.root_diameter,
               circles.around - circles.diameter if circles is not None
               else bench.tooth.sizes.root_diameter)
    most = room - 2 * wheel.least_wall
    if wide > most + LEAST_INCREMENT and room > wheel.bore:
        yield Fault(Message("the counterbore, {wide:g} mm, has too little wall about it in the "
                            "web, where {room:.3g} mm stand", wide=wide, room=room),
                    Message("diameter: {most} or less", most=no_more(most))
                    if most > wheel.bore + LEAST_STEP else
                    Message("leave counterbore: out, or a narrower bore"),
                    bench.place("wheel", "counterbore", "diameter"))
