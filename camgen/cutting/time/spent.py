"""Where the time of a run goes, step by step, and what would save most of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Literal, TypeAlias

import numpy as np

from camgen.arrays import Flags, Floats, Ints
from camgen.cutting.time.motion import INDEX, RAPID, MotionTime, fed_directions, motion_seconds
from camgen.messages import Message
from camgen.shop.machine import DrivenHead, HandHead, Machine
from camgen.values import dataclass

__all__ = ["ONE_CHANGE", "Saving", "TimeAccount", "TimePart", "motion_parts", "savings"]

# What is said of a change that might be spared, as long as nobody knows which.
ONE_CHANGE = Message("one cutter change less")

TimeKind: TypeAlias = Literal["cutting", "rapid", "index", "clamp", "dwell", "cutter change",
                              "spindle start", "by hand"]


@dataclass(frozen=True, slots=True)
class TimePart:
    """``seconds`` that one step spends in one way."""

    step: str
    kind: TimeKind
    seconds: float


@dataclass(frozen=True)
class TimeAccount:
    """Where the time of a run goes."""

    parts: tuple[TimePart, ...]

    @property
    def seconds(self) -> float:
        """All of it, s."""
        return sum(part.seconds for part in self.parts)

    def by_step(self, *, without: Sequence[TimeKind] = ()) -> dict[str, float]:
        """Seconds of each step, in order; ``without`` those spent in some ways.

        >>> TimeAccount((TimePart("drill", "cutting", 3.0), TimePart("drill", "rapid", 1.0),
        ...              TimePart("teeth", "index", 2.0))).by_step()
        {'drill': 4.0, 'teeth': 2.0}
        """
        found: dict[str, float] = {}
        for part in self.parts:
            spent = 0.0 if part.kind in without else part.seconds
            found[part.step] = found.get(part.step, 0.0) + spent
        return found

    def by_kind(self) -> dict[TimeKind, float]:
        """Seconds spent in each way, the longest first."""
        found: dict[TimeKind, float] = {}
        for part in self.parts:
            found[part.kind] = found.get(part.kind, 0.0) + part.seconds
        return dict(sorted(found.items(), key=lambda item: (-item[1], item[0])))


def motion_parts(time: MotionTime, kind: Ints, steps: Sequence[str]) -> tuple[TimePart, ...]:
    """The parts of an account that are motion; ``steps`` (n,) names each piece's step."""
    kind = np.asarray(kind)
    parts: list[TimePart] = []
    names = np.asarray(steps, dtype=object)
    for name in dict.fromkeys(steps):
        mine = names == name
        for word, chosen in (("cutting", (kind != RAPID) & (kind != INDEX)),
                             ("rapid", kind == RAPID), ("index", kind == INDEX)):
            both = mine & chosen
            spent = float((time.seconds - time.clamping)[both].sum())
            if spent > 0.0:
                parts.append(TimePart(name, word, spent))  # type: ignore[arg-type]
        clamped = float(time.clamping[mine].sum())
        if clamped > 0.0:
            parts.append(TimePart(name, "clamp", clamped))
    return tuple(parts)


@dataclass(frozen=True, slots=True)
class Saving:
    """``what`` could be changed, and the ``seconds`` a run would be shorter for it."""

    what: Message
    seconds: float


def savings(
    machine: Machine,
    account: TimeAccount,
    *,
    kind: Ints,
    start: Floats,
    end: Floats,
    feed: Floats,
    centre: Floats | None = None,
    plane: Ints | None = None,
    turns: Ints | None = None,
    angle_start: Floats | None = None,
    angle_end: Floats | None = None,
    halts: Iterable[int] = (),
    faster: Flags | None = None,
) -> tuple[Saving, ...]:
    """What would save most, the largest first: the same motion timed again with one thing bettered.

    The arrays are those of :func:`motion_seconds`. Only savings of at least one second or one part
    in two hundred of the run are named. Nothing is said of savings that would lower the quality of
    the cut. ``faster`` (n,) tells the pieces of cuts whose limits leave room for a higher feed;
    without any no saving is named for it.
    """
    halts = tuple(halts)
    head = machine.dividing
    directions = fed_directions(kind, start, end, centre, plane, turns)

    def timed(other: Machine, quicker: Floats | float = 1.0) -> float:
        return float(motion_seconds(
            other, kind=kind, start=start, end=end, feed=np.asarray(feed, dtype=float) * quicker,
            centre=centre, plane=plane, turns=turns, angle_start=angle_start, angle_end=angle_end,
            halts=halts, directions=directions).seconds.sum())

    def axes(**factors: float) -> Machine:
        change = {name: getattr(machine, name).model_copy(update={
            word: getattr(getattr(machine, name), word) * factor
            for word, factor in factors.items()}) for name in ("x", "y", "z")}
        return machine.model_copy(update=change)

    now = timed(machine)
    found = [
        Saving(Message("twice the acceleration of the axes"), now - timed(axes(acceleration=2.0))),
        Saving(Message("rapids twice as fast"), now - timed(axes(rapid=2.0))),
        Saving(Message("a control that reads twice as many blocks in a second"), now - timed(
            machine.model_copy(update={"blocks_per_second": 2.0 * machine.blocks_per_second}))),
    ]
    if faster is not None and faster.any():
        found.append(Saving(Message("a feed a fifth higher, in the steps whose limits leave room "
                                    "for it"),
                            now - timed(machine, np.where(faster, 1.2, 1.0))))
    if isinstance(head, DrivenHead):
        quick = head.model_copy(update={"rapid": 2.0 * head.rapid,
                                        "feed_limit": 2.0 * head.feed_limit,
                                        "pulse_seconds": head.pulse_seconds / 2.0,
                                        "acceleration": 2.0 * head.acceleration})
        found.append(Saving(Message("a dividing head that turns and accelerates twice as fast"),
                            now - timed(machine.model_copy(update={"dividing": quick}))))
        loose = head.model_copy(update={"clamp_seconds": head.clamp_seconds / 2.0})
        found.append(Saving(Message("clamping in half the time"),
                            now - timed(machine.model_copy(update={"dividing": loose}))))
    elif isinstance(head, HandHead):
        handy = head.model_copy(update={"seconds": head.seconds / 2.0})
        found.append(Saving(Message("indexing by hand in half the time"),
                            now - timed(machine.model_copy(update={"dividing": handy}))))
    by_kind = account.by_kind()
    changes = [part for part in account.parts if part.kind == "cutter change"]
    if len(changes) > 1:
        found.append(Saving(ONE_CHANGE,
                            max(part.seconds for part in changes)))
    if by_kind.get("dwell", 0.0) > 0.0:
        found.append(Saving(Message("dwells half as long"), by_kind["dwell"] / 2.0))
    least = max(min(1.0, account.seconds), account.seconds / 200.0)
    worth = [saving for saving in found if saving.seconds >= least]
    return tuple(sorted(worth, key=lambda saving: (-saving.seconds, saving.what)))
