"""From the words of a job file to a tooth, and from a cutter's words to the space it leaves."""

from __future__ import annotations

from typing import Literal, TypeAlias

from camgen.faults import Fault, Refused
from camgen.shop.cutters import MadeFor
from camgen.teeth.cycloidal import LeafTop, cycloidal_pinion, cycloidal_wheel
from camgen.teeth.involute import involute_tooth
from camgen.teeth.ratchet import Back, ratchet_tooth
from camgen.teeth.tooth import Tooth

__all__ = ["PinionForm", "WheelForm", "pinion_tooth", "space_of", "wheel_tooth"]

WheelForm: TypeAlias = Literal["cycloidal", "involute", "ratchet"]
PinionForm: TypeAlias = Literal["cycloidal", "involute"]


def wheel_tooth(
    form: WheelForm,
    teeth: int,
    module: float,
    mate: int | None = None,
    *,
    pressure_angle: float = 20.0,
    profile_shift: float = 0.0,
    front: float = 0.0,
    back: Back = "straight",
    depth: float | None = None,
) -> Tooth:
    """A wheel's tooth; ``module`` and ``depth`` mm, ``mate`` leaves of the pinion it drives.

    A cycloidal wheel needs ``mate``; pressure angle (degrees) and profile shift (modules) belong to
    involutes; front (degrees), back and depth to ratchets. Raises Refused where the tooth cannot
    be.

    >>> round(wheel_tooth("cycloidal", 75, 0.14, 10).sizes.pitch_diameter, 6)
    10.5
    """
    if form == "involute":
        return involute_tooth(
            teeth, module, pressure_angle=pressure_angle, profile_shift=profile_shift
        )
    if form == "ratchet":
        return ratchet_tooth(teeth, module, front=front, back=back, depth=depth)
    if mate is None:
        raise Refused(
            Fault(
                "a cycloidal wheel needs its mate: the height of its teeth follows from it",
                "give the number of leaves of the pinion as mate",
            )
        )
    return cycloidal_wheel(teeth, module, mate)


def pinion_tooth(
    form: PinionForm,
    leaves: int,
    module: float,
    mate: int,
    addendum: LeafTop = "one-third-ogive",
    *,
    pressure_angle: float = 20.0,
    profile_shift: float = 0.0,
) -> Tooth:
    """A pinion's leaf; ``mate`` are the teeth of the wheel that drives it, ``module`` mm.

    Raises Refused where the leaf cannot be.

    >>> pinion_tooth("cycloidal", 10, 0.12, 75).form
    'cycloidal-pinion'
    """
    if form == "involute":
        return involute_tooth(
            leaves, module, pressure_angle=pressure_angle, profile_shift=profile_shift
        )
    return cycloidal_pinion(leaves, module, mate, addendum)


def space_of(made_for: MadeFor) -> Tooth:
    """The tooth beside the space that a form cutter leaves on the wheel it was made for.

    Raises Refused where the cutter's words do not make a tooth.

    >>> space_of(MadeFor(form="cycloidal-wheel", module=0.14, teeth=75, mate=10)).sizes.teeth
    75
    """
    if made_for.form == "cycloidal-pinion":
        if made_for.mate is None:
            raise Refused(
                Fault(
                    "a cutter for cycloidal pinions needs its mate: the depth follows from it",
                    "give the number of teeth of the wheel as mate in made-for",
                )
            )
        return pinion_tooth(
            "cycloidal", made_for.teeth, made_for.module, made_for.mate, made_for.addendum
        )
    words: dict[str, WheelForm] = {
        "cycloidal-wheel": "cycloidal",
        "involute": "involute",
        "ratchet": "ratchet",
    }
    return wheel_tooth(
        words[made_for.form],
        made_for.teeth,
        made_for.module,
        made_for.mate,
        pressure_angle=made_for.pressure_angle,
        profile_shift=made_for.profile_shift,
        front=made_for.front,
        back=made_for.back,
        depth=made_for.depth,
    )
