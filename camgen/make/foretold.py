"""How much work a job makes, told before it is begun: by counting, with nothing planned yet."""

from __future__ import annotations

from typing import Final

from camgen.clearing.ground import SPACING
from camgen.faults import Fault, Place, Refused, all_of
from camgen.job.models import FlatSetup, Job, Setup
from camgen.job.order.deeds import features_of_job
from camgen.messages import NOTHING, Message
from camgen.part.declaration import MakesCrossing, MakesOpenings, MakesOutline, MakesPockets
from camgen.part.features import Hole, Recess
from camgen.part.plates.plate import Plate

__all__ = ["MOST_VISITS", "MOST_WALLS", "cleared_ground", "drawn_pieces", "hole_visits",
           "wall_rounds", "work_foretold"]

MOST_VISITS: Final = 200_000
"""So many times at most is a setup's cutter brought to a hole."""
# Processor time of planning, writing, reading and proving, s for each time at a hole: measured on a
# plate of 10 000 holes, spotted and drilled, 30.6 s for 20 000 with sheet and report and without
# pictures, on two cores that others used too.
_A_VISIT: Final = 0.0016
MOST_WALLS: Final = 50_000
"""So many walls at most are gone round in one setup, over all its pieces."""
# The same for each wall right through that a step goes round, and for each on a further piece that
# is cut like the first: 1600 round openings took 21.4 s, 400 outline steps 11.1 s, 500 pieces 1.9.
_A_WALL: Final = 0.02
_AGAIN: Final = 0.004
# The same for each line or arc of a drawn wall beyond a few: outlines of 4000 and of 16 000 lines
# took 13.9 s and 57 s.
_A_PIECE: Final = 0.0035
_FEW_PIECES: Final = 200
# Processor time of finding a pocket's passes, s for each square of ground as wide as a share of the
# cutter: a pocket of 6 by 4 mm took 25.9 s and 186 MB with a cutter of 0.2 mm (240 000 squares),
# 1.5 s with one of 0.8 (15 000), one of 3 by 2 mm 7.2 s with 0.2 (60 000), on two busy cores. The
# box round a pocket is more than the pocket: below so many seconds nothing is said of it.
_GROUND: Final = 0.00011
_LONG: Final = 20.0
# Less than this is not worth a word, s.
_SOON: Final = 5.0


def hole_visits(job: Job, setup: Setup) -> int:
    """How many times at most cutters are brought to a hole of a plate, over all its pieces."""
    if not isinstance(job.part, Plate) or not isinstance(setup.work, FlatSetup):
        return 0
    pieces = setup.work.pieces
    holes = [one for one in features_of_job(job) if isinstance(one, Hole)]
    return pieces * sum(
        any(made.holes.means(hole.name, hole.group) for made in at_holes)
        for step in setup.steps if (at_holes := list(step.declares().at_holes))
        for hole in holes)


def wall_rounds(setup: Setup, openings: int) -> tuple[int, int]:
    """Walls right through that the steps of a setup go round on one piece, and on all pieces.

    ``openings`` is how many the part has, for steps that mean all of them.
    """
    if not isinstance(setup.work, FlatSetup):
        return 0, 0
    walls = 0
    for step in setup.steps:
        for made in step.declares().makes:
            if isinstance(made, MakesOpenings):
                names = made.openings.names
                walls += openings if names is None else len(names)
            elif isinstance(made, MakesOutline | MakesCrossing):
                walls += 1
    pieces = setup.work.pieces
    return walls, walls * pieces


def cleared_ground(job: Job, setup: Setup) -> int:
    """Squares of ground that clearing looks at in the pockets of a setup, those alike once.

    Each step looks at the whole box round a pocket, in squares as wide as a share of its cutter's
    radius. How many there may be of one pocket is bounded where it is cleared.
    """
    if not isinstance(setup.work, FlatSetup):
        return 0
    recesses = [one for one in features_of_job(job) if isinstance(one, Recess)]
    found: dict[tuple[float, ...], float] = {}
    for step in setup.steps:
        cutter = job.cutters.get(step.cutter)
        for made in step.declares().makes:
            if not isinstance(made, MakesPockets) or cutter is None:
                continue
            side = SPACING * cutter.diameter / 2
            for one in recesses:
                if made.pockets.means_some_of(one.group or one.name):
                    x0, y0, x1, y1 = one.area.region(cutter.diameter / 20).bounds
                    wide, high = round(x1 - x0, 4), round(y1 - y0, 4)
                    found[wide, high, side] = wide * high / side**2
    return round(sum(found.values()))


def drawn_pieces(job: Job) -> int:
    """Lines and arcs of a plate's walls of very many, each wall once."""
    if not isinstance(job.part, Plate):
        return 0
    plate = job.part
    walls = [plate.outline, *plate.openings.values(), *plate.pockets.values()]
    walls += [island for pocket in plate.pockets.values() for island in pocket.islands]
    many = [len(wall.path or wall.polygon or ()) for wall in walls]
    return sum(one for one in many if one > _FEW_PIECES)


def work_foretold(job: Job, file: str) -> Message:
    """What to say of the work to come, empty where it is soon done.

    Raises Refused, with every setup, where it is beyond all bounds.
    """
    openings = len(job.part.openings) if isinstance(job.part, Plate) else 1
    visits = {setup.name: hole_visits(job, setup) for setup in job.setups}
    walls = {setup.name: wall_rounds(setup, openings) for setup in job.setups}
    faults = [
        Fault(Message("setup {name}: its cutters come to {count} holes in all its pieces, and "
                      "{most} are the most", name=name, count=count, most=MOST_VISITS),
              Message("take fewer pieces in repeat, or two jobs"), Place(file))
        for name, count in visits.items() if count > MOST_VISITS]
    faults += [
        Fault(Message("setup {name}: its cutters go round {count} walls in all its pieces, and "
                      "{most} are the most", name=name, count=count, most=MOST_WALLS),
              Message("take fewer steps or pieces, or two jobs"), Place(file))
        for name, (_, count) in walls.items() if count > MOST_WALLS]
    if faults:
        raise Refused(faults)
    holes, rounds = sum(visits.values()), sum(count for _, count in walls.values())
    ground = sum(cleared_ground(job, setup) for setup in job.setups)
    ground *= ground * _GROUND >= _LONG
    pieces = drawn_pieces(job)
    seconds = holes * _A_VISIT + ground * _GROUND + pieces * _A_PIECE + sum(
        one * _A_WALL + (every - one) * _AGAIN for one, every in walls.values())
    if seconds < _SOON:
        return NOTHING
    told = [
        *([Message("{count} times at a hole", count=holes)] if holes else []),
        *([Message("{count} times round a wall", count=rounds)] if rounds * _A_WALL >= 1 else []),
        *([Message("walls of {count} lines and arcs", count=pieces)] if pieces else []),
        *([Message("pockets of {count} squares of ground", count=ground)] if ground else []),
    ]
    return Message("{what} take about {seconds:.0f} s of reckoning", what=all_of(told),
                   seconds=seconds)
