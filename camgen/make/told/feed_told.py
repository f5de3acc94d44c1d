"""The feed of a step as its programs say it, for whoever looks from the sheet to the screen."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from camgen.arrays import Flags, Floats
from camgen.cutting.planner import CutPlan
from camgen.moves import Arc, Drill, Feed, Rapid, Section
from camgen.proof.evidence import Evidence

__all__ = ["feed_told", "feeds_alike", "feeds_told"]

# Feeds this near each other are one, mm/min and as a share: one in inches is rounded to a quarter
# of a millimetre.
_NEAR, _SHARE = 0.8, 0.03


def feeds_alike(feeds: Floats | float, feed: float) -> Flags:
    """Which of the ``feeds`` of a program, mm/min, are the one that is said.

    >>> feeds_alike(np.array([380.0, 384.6, 420.0]), 384.0).tolist()
    [True, True, False]
    """
    return np.asarray(np.abs(feeds - feed) <= np.maximum(_NEAR, _SHARE * np.asarray(feeds)))


def feeds_told(evidence: Evidence, sections: Sequence[tuple[Section, CutPlan]]) -> list[float]:
    """The feed of each step, mm/min: where every block of one is too short for the control's pace
    and fed slower than planned, the highest that its programs say.
    """
    fitted, planned, found = evidence.cutters, evidence.planned, evidence.matched
    told = [feed_told(section, cut.feed, fitted[section.cutter_number].diameter / 2)
            if section.cutter_number in fitted else cut.feed for section, cut in sections]
    if planned is None or found is None:
        return told
    step = planned.section[found.planned]
    for number, feed in enumerate(told):
        said = evidence.motion.feed[found.read[step == number]]
        said = said[np.isfinite(said) & (said > 0)]
        if len(said) and said.max() < feed and not feeds_alike(said, feed).any():
            told[number] = float(said.max())
    return told


def feed_told(section: Section, planned: float, radius: float) -> float:
    """The feed, mm/min, of a step's moves for which ``planned`` is the feed along the wall.

    It is the planned one where any move goes at it. Where all of a step is arcs the middle of the
    cutter, of ``radius`` mm, goes slower than its edge along a hollow wall, and on small ones no
    faster than the axes follow (see ``steps.moving.Feeds``): then it is the highest of theirs.
    """
    went = list(_went(section))
    if not went or any(feeds_alike(feed, planned) for feed, _ in went):
        return planned
    of_wall = [feed for feed, about in went
               if about and feeds_alike(feed * (about + radius) / about, planned)]
    return max(of_wall or [feed for feed, about in went if about and feed < planned] or [planned])


def _went(section: Section) -> Iterator[tuple[float, float]]:
    """Each move's feed, and in X and Y the radius of its arc; 0 for others."""
    x = y = math.nan
    for move in section.moves:
        match move:
            case Arc(plane="XY"):
                about = math.dist((x, y), move.centre)
                yield move.feed, about if math.isfinite(about) else 0.0
            case Feed() | Arc() | Drill():
                yield move.feed, 0.0
        match move:
            case Rapid() | Feed() | Arc() | Drill():
                x = x if move.x is None else move.x
                y = y if move.y is None else move.y
