"""Whether a fixture's stations can be: zeros the control has, places that agree, room to travel."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from camgen.faults import Fault, no_less
from camgen.job.file import JobFile
from camgen.job.models import Fixture, FlatSetup, Setup, Stock
from camgen.messages import Message
from camgen.tolerances import ROUNDING

if TYPE_CHECKING:
    from camgen.shop.machine import Machine

__all__ = ["fixture_faults", "height_room"]



def height_room(setup: Setup | FlatSetup) -> float:
    """How far the stations' zeros may differ in height, mm, and the cutter still travel clear.

    Between two stations it is at the safe height over one of them: the clearance must be left over
    the clamps of the other.
    """
    clamps = max((clamp[4] for clamp in setup.holding.clamps), default=0.0) if setup.holding else 0
    return max(0.0, setup.safe_height - setup.clearance - clamps)


def fixture_faults(job_file: JobFile, machine: Machine | None) -> Iterator[Fault]:
    """What cannot be of the fixtures in a job; without a machine its zeros are not asked for."""
    for number, setup in enumerate(job_file.job.setups):
        fixture = setup.fixture
        if fixture is None:
            continue
        at = ("setups", number, "fixture")
        if not isinstance(setup.work, FlatSetup):
            yield Fault(Message("a fixture of several stations is for flat work"),
                        Message("leave it out: the blanks on the arbor are the stack"),
                        job_file.place(*at, key=True))
            continue
        yield from _places(job_file, setup.work, fixture, at)
        zeros = machine.offsets.stations if machine is not None else ()
        if machine is not None and len(zeros) < fixture.stations:
            yield Fault(Message("{stations} stations need {stations} zeros, and {name} has {zeros}",
                                stations=fixture.stations, name=machine.name,
                                zeros=" ".join(zeros) if zeros else Message("no work offsets")),
                        Message("cut several pieces of one stock in one program: repeat: {typed}; "
                                "or name what else the control has under offsets.further in the "
                                "machine file", typed="{columns: …, pitch: …}"),
                        job_file.place(*at, "stations"))


def _places(
    job_file: JobFile, setup: FlatSetup, fixture: Fixture, at: tuple[str | int, ...]
) -> Iterator[Fault]:
    """Places of the zeros: as many as there are stations, the first 0, none twice, in reach."""
    if not fixture.at:
        return
    place = job_file.place(*at, "at")
    if len(fixture.at) != fixture.stations:
        yield Fault(Message("{stations} stations and {count} places of their zeros",
                            stations=fixture.stations, count=len(fixture.at)),
                    Message("give X, Y and Z for each, or leave `at` out"), place)
    if fixture.at[0] != (0.0, 0.0, 0.0):
        yield Fault(Message("the first station's zero is what the others are counted from"),
                    Message("begin with [0, 0, 0]"), job_file.place(*at, "at", 0))
    plan = [(x, y) for x, y, _ in fixture.at]
    if len(set(plan)) < len(plan):
        yield Fault(Message("two stations stand at one place"), Message("look at `at`"), place)
    else:
        yield from (
            Fault(Message("the stock of stations {one} and {other} would lie over one another",
                          one=one + 1, other=other + 1),
                  Message("count each zero from the first, further apart than the stock is large"),
                  job_file.place(*at, "at", other))
            for other in range(len(plan)) for one in range(other)
            if _overlap(setup.stock, plan[other][0] - plan[one][0], plan[other][1] - plan[one][1]))
    apart = max(z for _, _, z in fixture.at) - min(z for _, _, z in fixture.at)
    if apart > height_room(setup) + 1e-9:
        yield Fault(Message("the stations' zeros differ in height by {apart:g} mm: at the safe "
                            "height of the lower the cutter would travel into the higher",
                            apart=apart),
                    Message("a safe-height of {least} at least",
                            least=no_less(setup.safe_height + apart - height_room(setup))), place)


def _overlap(stock: Stock, x: float, y: float) -> bool:
    """Whether two pieces of stock, x and y mm apart, lie over one another.

    What an earlier setup left has no size of its own here.

    >>> _overlap(Stock(sheet=(30, 20), thickness=1), 25, 21)
    False
    >>> _overlap(Stock(disc=30, thickness=1), 20, 20)
    True
    """
    if stock.disc is not None:
        return math.hypot(x, y) < stock.disc - ROUNDING
    if stock.rectangle is None:
        return False
    length, width = stock.rectangle
    return abs(x) < length - ROUNDING and abs(y) < width - ROUNDING
