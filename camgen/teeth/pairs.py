"""How a wheel and its pinion run as cut, in figures and in plain words."""

from __future__ import annotations

from camgen.faults import Refused, parted
from camgen.messages import Message
from camgen.teeth.cut.as_cut import CutTooth
from camgen.teeth.meshing import Action, centre_distance, closest_distance, roll
from camgen.teeth.tooth import Tooth
from camgen.values import dataclass

__all__ = ["Runs", "pair_runs", "runs_said"]


@dataclass(frozen=True)
class Runs:
    """A pair rolled at its nominal depthing; ``closest`` is the distance below which it fouls, mm.
    """

    action: Action
    closest: float


def pair_runs(wheel: Tooth, pinion: Tooth, cut: CutTooth | None = None, *,
              driver: bool = True) -> Runs | Message:
    """How the two run at nominal depthing, one of them as ``cut`` where that is given: the wheel,
    or the pinion where not the ``driver`` is cut. In words why they do not, where they cannot."""
    one: Tooth | CutTooth = cut if cut is not None and driver else wheel
    other: Tooth | CutTooth = cut if cut is not None and not driver else pinion
    try:
        action = roll(one, other, centre_distance(wheel, pinion))
        return Runs(action, closest_distance(one, other))
    except Refused as no:
        fault = no.faults[0]
        return parted((fault.message, fault.remedy) if fault.remedy else (fault.message,))
    except ValueError:
        return Message("the teeth as cut cannot be rolled")


def runs_said(runs: Runs | Message) -> Message:
    """How a pair runs, in plain words.

    >>> runs_said(Message("no hold"))
    'it does not run: no hold'
    """
    if isinstance(runs, str):
        return Message("it does not run: {why}", why=runs)
    action = runs.action
    off, least, most = 100 * action.ratio_error, *action.backlash
    if action.free:
        return Message("it turns freely, with {least:.0f} to {most:.0f} µm of play, the ratio up "
                       "to {off:.1f} % off; it fouls with centres nearer than {closest:.3f} mm",
                       least=least, most=most, off=off, closest=runs.closest)
    if action.interference:
        return Message("it fouls by {fouls:.1f} µm with centres {distance:.3f} mm apart, and is "
                       "free from {closest:.3f} mm on", fouls=action.interference,
                       distance=action.centre_distance, closest=runs.closest)
    return Message("tips meet the mate's roots by {by:.3f} mm with centres {distance:.3f} mm "
                   "apart; it is free from {closest:.3f} mm on", by=-min(action.clearance),
                   distance=action.centre_distance, closest=runs.closest)
