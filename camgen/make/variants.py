"""Programs besides the whole one: starting again, cutting air, turning the head dry.

Each comes of a setup that was planned and proved whole; it is then read back and proved as motion.
"""

from __future__ import annotations

from collections.abc import Sequence

from camgen.faults import Fault, Refused
from camgen.job.models import HeadSetup, Job
from camgen.job.rack import cutter_numbers
from camgen.messages import Message
from camgen.moves import SetupMoves
from camgen.plan import PlannedSetup
from camgen.post.restart import dry_index, from_cutter, from_station, from_step, raised_by
from camgen.values import dataclass

__all__ = ["Wish", "chosen_setups", "varied"]


@dataclass(frozen=True)
class Wish:
    """What the person asks for besides the job itself.

    ``setup`` leaves the others out. ``from_space`` is planned for, with ``from_step`` where several
    steps cut teeth; else ``from_step`` (from 1, as in the program's comments) and ``from_cutter``
    (its name) leave out what comes before; so does ``from_station`` in the first step that is left.
    ``air`` mm raises every move; ``dry_index`` only turns the head. ``language`` is that of sheet
    and messages, else the job's own.
    """

    post: str | None = None
    setup: str | None = None
    from_space: int | None = None
    from_step: int | None = None
    from_cutter: str | None = None
    from_station: int | None = None
    air: float | None = None
    dry_index: bool = False
    language: str | None = None

    @property
    def whole(self) -> bool:
        """True when the programs are the job's own, from their beginning."""
        return self.from_space is None and not self.changes_moves

    @property
    def again(self) -> str:
        """What names of files say of a space to start again at; "" where none is."""
        if self.from_space is None:
            return ""
        return f"-from-space-{self.from_space}" + (
            "" if self.from_step is None else f"-of-step-{self.from_step}")

    @property
    def changes_moves(self) -> bool:
        """True when planned moves are made into others."""
        return self.starts_within or self.air is not None or self.dry_index

    @property
    def starts_within(self) -> bool:
        """True when a setup's programs begin at one of its steps, cutters or stations."""
        at_step = self.from_step is not None and self.from_space is None
        return at_step or self.from_cutter is not None or self.from_station is not None


def chosen_setups(wish: Wish, setups: Sequence[PlannedSetup]) -> tuple[PlannedSetup, ...]:
    """The setups wished for. Raises Refused when there is none of that name, or several to choose.

    A step, cutter or station to start from is of one setup; where the job has several, say which.
    """
    names = [setup.name for setup in setups]
    if wish.setup is not None:
        chosen = tuple(setup for setup in setups if setup.name == wish.setup)
        if not chosen:
            raise Refused(Fault(Message("the job has no setup '{name}'", name=wish.setup),
                                Message("it has {names}", names=tuple(names))))
        return chosen
    if wish.starts_within and len(setups) > 1:
        raise Refused(Fault(Message("which setup to start again in is not said"),
                            Message("add --setup and one of {names}", names=tuple(names))))
    if wish.dry_index:
        on_head = tuple(setup for setup in setups if isinstance(setup.setup.work, HeadSetup))
        return on_head or tuple(setups)
    return tuple(setups)


def varied(wish: Wish, job: Job, planned: PlannedSetup) -> tuple[SetupMoves, str]:
    """The setup's moves made into those wished for, and what to add to the file's name.

    Raises Refused when there is no such step, cutter, station or turn.
    """
    moves, added = planned.moves, ""
    if wish.from_step is not None and wish.from_space is None:
        moves, added = from_step(moves, wish.from_step), f"-from-step-{wish.from_step}"
    if wish.from_cutter is not None:
        numbers = cutter_numbers(job)
        if wish.from_cutter not in numbers:
            raise Refused(Fault(Message("the job has no cutter '{name}'", name=wish.from_cutter),
                                Message("it has {names}", names=tuple(numbers))))
        moves = from_cutter(moves, numbers[wish.from_cutter])
        added += f"-from-{wish.from_cutter}"
    if wish.from_station is not None:
        moves = from_station(moves, wish.from_station)
        added += f"-from-station-{wish.from_station}"
    if wish.dry_index:
        moves, added = dry_index(moves), f"{added}-dry-index"
    if wish.air is not None:
        moves, added = raised_by(moves, wish.air), f"{added}-air"
    return moves, added
