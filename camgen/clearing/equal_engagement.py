"""Lines of equal engagement along the front of what is cleared, and what of them may be cut.

The engagement at every node near the front is kept; only nodes near which something was cleared are
looked at again, and only there are lines looked for: elsewhere nothing has become worth a pass that
was not before. Lengths mm, engagements radians.
"""

from __future__ import annotations

import math

import numpy as np

from camgen.arrays import Flags, Floats, Ints
from camgen.clearing.ground import (
    TILE,
    Ground,
    all_round,
    along_front,
    leading,
    resampled,
    row_length,
    sizes,
)
from camgen.values import dataclass

__all__ = ["MOST", "Front", "is_closed", "safe_stretches", "ways_along", "worth_a_pass"]

# A pass stops where it would meet this much more than planned.
MOST = 1.08
# Least engagement, as a share of θ, worth a pass; least length of one, in spacings.
WORTH = 0.5
SHORTEST = 3.0
# A pass goes on average at least this share of the radial depth further than the ones before.
NEW = 0.25
# A line goes into the metal no steeper than so much in one.
STEEPEST = 0.05
# Only lines of so many radii are; and as much could be cut in the time it takes to begin a pass.
EASED, LINK = 2.0, 3.0
# A stretch is made shorter by so many points at most where its end would meet this
# much more than planned.
ENDS = 5
END = 1.15
# Ends no further apart than this, mm, and this share of where they are, are the same.
CLOSE, SHARE = 1e-8, 1e-5


@dataclass(frozen=True)
class Front:
    """What the cutter would meet, moving along the front: ``met`` (nx, ny) radians where
    ``known``.

    ``radial_depth`` mm tells how far from the front its lines can lie.
    """

    ground: Ground
    radial_depth: float
    met: Floats
    known: Flags

    @classmethod
    def of(cls, ground: Ground, radial_depth: float) -> Front:
        """With nothing known yet."""
        ground.stale[:] = True
        return cls(ground, radial_depth, np.full_like(ground.been, math.pi),
                   np.zeros(ground.been.shape, dtype=np.bool_))

    def everywhere(self) -> Ints:
        """Numbers of all tiles in which something is known."""
        return self._known_tiles(np.arange(self.ground.stale.size))

    def renewed(self) -> Ints:
        """Looks again where something was cleared; numbers of these tiles."""
        ground = self.ground
        tiles = np.flatnonzero(ground.stale)
        ground.stale[:] = False
        i, j = _nodes(tiles, ground)
        been = ground.been[i, j]
        # Engagement is 0 where the centre has been and half a turn far out; only the band between,
        # where the line can be, is looked at.
        band = (ground.inside[i, j] > ground.reach - 2 * ground.spacing) & (
            been < 1.7 * self.radial_depth + ground.spacing
        )
        met = np.where(band, 0.0, math.pi)
        near = band & (been > 0.3 * self.radial_depth)
        if near.any():
            points = np.column_stack((ground.x[i[near]], ground.y[j[near]]))
            metal = ground.metal_round(points)
            met[near] = leading(metal, along_front(metal))
        self.met[i, j] = met
        self.known[i, j] = band
        return self._known_tiles(tiles)

    def _known_tiles(self, tiles: Ints) -> Ints:
        i, j = _nodes(tiles, self.ground)
        return tiles[self.known[i, j].reshape(len(tiles), -1).any(axis=1)]

    def lines(self, tiles: Ints, wanted: float) -> list[Floats]:
        """Lines in ``tiles`` on which the engagement is ``wanted``, the metal on their right."""
        i, j = _nodes(tiles, self.ground)
        inner = (i < len(self.ground.x) - 1) & (j < len(self.ground.y) - 1)
        i, j = i[inner], j[inner]
        known = self.known
        whole = known[i, j] & known[i + 1, j] & known[i + 1, j + 1] & known[i, j + 1]
        i, j = i[whole], j[whole]
        met = self.met
        kind = (
            (met[i, j] > wanted) * 1 + (met[i + 1, j] > wanted) * 2
            + (met[i + 1, j + 1] > wanted) * 4 + (met[i, j + 1] > wanted) * 8
        )
        crossed = np.flatnonzero((kind > 0) & (kind < 15))
        following: dict[int, int] = {}
        cells = zip(kind[crossed].tolist(), i[crossed].tolist(), j[crossed].tolist(), strict=True)
        up = 2 * len(self.ground.y)
        for which, column, row in cells:
            node = column * up + 2 * row
            # A cell's sides by number: along x from its node even, along y odd.
            sides = (node, node + up + 1, node + 2, node + 1)
            for begin, end in _CELLS[which]:
                following[sides[begin]] = sides[end]
        ends = set(following.values())
        chains = [_chain(following, start) for start in list(following) if start not in ends]
        while following:
            chains.append(_chain(following, next(iter(following))))
        return [self._places(np.array(chain), wanted) for chain in chains if len(chain) > 1]

    def _places(self, sides: Ints, wanted: float) -> Floats:
        """Where on sides of cells the engagement is just ``wanted``."""
        ground = self.ground
        node, upright = sides // 2, sides % 2
        i, j = node // len(ground.y), node % len(ground.y)
        low = self.met[i, j] - wanted
        share = low / (low - (self.met[i + 1 - upright, j + upright] - wanted))
        x = ground.x[i] + np.where(upright == 0, share, 0.0) * ground.spacing
        y = ground.y[j] + np.where(upright == 1, share, 0.0) * ground.spacing
        return np.column_stack((x, y))


# By which of a cell's corners lie above (1 lower left, 2 lower right, 4 upper right, 8 upper left):
# the sides (0 lower, 1 right, 2 upper, 3 left) that a line comes in and goes out by, what is above
# on its right.
_CELLS: dict[int, tuple[tuple[int, int], ...]] = {
    1: ((3, 0),), 2: ((0, 1),), 3: ((3, 1),), 4: ((1, 2),), 5: ((3, 0), (1, 2)), 6: ((0, 2),),
    7: ((3, 2),), 8: ((2, 3),), 9: ((2, 0),), 10: ((2, 3), (0, 1)), 11: ((2, 1),), 12: ((1, 3),),
    13: ((1, 0),), 14: ((0, 3),),
}


def _nodes(tiles: Ints, ground: Ground) -> tuple[Ints, Ints]:
    """Columns and rows of all nodes of tiles, tile by tile."""
    across, up = np.divmod(tiles, ground.stale.shape[1])
    one = np.arange(TILE)
    i = (across[:, None, None] * TILE + one[:, None]) + np.zeros(TILE, dtype=np.int64)
    j = (up[:, None, None] * TILE + one) + np.zeros((TILE, 1), dtype=np.int64)
    return i.ravel(), j.ravel()


def _chain(following: dict[int, int], start: int) -> list[int]:
    sides = [start]
    while sides[-1] in following:
        sides.append(following.pop(sides[-1]))
    return sides


def worth_a_pass(ground: Ground, lines: list[Floats], wanted: float) -> list[Floats]:
    """The lines somewhere on which enough metal is met."""
    if not lines:
        return []
    met = all_round(ground.metal_round(np.concatenate(lines)))
    begins = np.cumsum([0, *map(len, lines[:-1])])
    most = np.maximum.reduceat(met, begins).tolist()
    return [line for line, one in zip(lines, most, strict=True) if one >= WORTH * wanted]


def safe_stretches(
    ground: Ground, line: Floats, wanted: float, theta: float, radial_depth: float
) -> list[Floats]:
    """What of a line may be cut: smoothed, within the walls, nowhere meeting too much metal.

    As it is, or drawn back where it goes into the metal steeply, whichever clears more for its
    passes.
    """
    closed = is_closed(line)
    points = resampled(line, 0.7 * ground.spacing)
    if len(points) < 4 or row_length(points) <= SHORTEST * ground.spacing:
        return []
    points = _smoothed(points, closed)
    most = MOST * theta if wanted == theta else theta
    plain, whole = _parted(ground, points, closed, most, theta)
    plain = [one for one in plain if _goes_on(ground, one, radial_depth)]
    if whole or ground.spacing * len(points) < EASED * ground.radius:
        return plain
    eased, _ = _parted(ground, _eased(ground, points, closed), closed, most, theta)
    eased = [one for one in eased if _goes_on(ground, one, radial_depth)]
    some = [one for one in (plain, eased) if one]
    return max(some, key=lambda one: _clears(ground, one, radial_depth), default=[])


def _parted(
    ground: Ground, points: Floats, closed: bool, most: float, theta: float
) -> tuple[list[Floats], bool]:
    """A row cut where it would meet more than ``most`` or come too near a wall; if it is whole."""
    meets = leading(ground.metal_round(points), ways_along(points, closed))
    # A place before too much metal is too near it already: directions are known no better.
    above = meets > most
    above[:-1] |= above[1:]
    if closed:
        above[-1] |= above[0]
    good = ~above & ground.allows(points)
    if good.all() and closed:
        return [points], True
    if closed:
        # Begin where the line is no good, so that no stretch is parted by the seam.
        first = int(np.argmin(good[:-1]))
        points = np.concatenate((points[first:-1], points[: first + 1]))
        good = np.concatenate((good[first:-1], good[: first + 1]))
    changes = np.flatnonzero(np.diff(np.concatenate(([False], good, [False])).astype(np.int8)))
    found = []
    for begin, end in changes.reshape(-1, 2).tolist():
        stretch = points[begin : _ended(ground, points, begin, end, END * theta)]
        if len(stretch) > 2 and row_length(stretch) > SHORTEST * ground.spacing:
            found.append(stretch)
    return found, bool(good.all())


def _goes_on(ground: Ground, points: Floats, radial_depth: float) -> bool:
    """Whether a pass goes further than the ones before, and not only over the same ground."""
    return float(ground.apart(points).mean()) > NEW * radial_depth


def _clears(ground: Ground, passes: list[Floats], radial_depth: float) -> float:
    """About what passes clear, mm², less what could be cut while each is begun."""
    lost = LINK * ground.radius * radial_depth
    return round(sum(
        row_length(one) * float(ground.apart(one).mean()) - lost for one in passes
    ), 9)


def _eased(ground: Ground, points: Floats, closed: bool) -> Floats:
    """A row drawn back from the metal where it would go into it too steeply.

    A line of equal engagement is for ways along the front; where it leaves the front by an angle,
    as where a hollow ends, just so much more is met.
    """
    far = ground.apart(points)
    steps = np.diff(points, axis=0)
    along = np.concatenate(([0.0], sizes(steps[:, 0], steps[:, 1]).cumsum()))
    if closed:
        far, along = np.concatenate((far, far[1:])), np.concatenate((along, along[-1] + along[1:]))
    least = np.minimum.accumulate(far - STEEPEST * along) + STEEPEST * along
    back = (far - least)[-len(points) :]
    if not (back > 0).any():
        return points
    ways = ways_along(points, closed)
    away = np.column_stack((-ways[:, 1], ways[:, 0]))
    return _smoothed(points + back[:, None] * away, closed)


def _ended(ground: Ground, points: Floats, begin: int, end: int, most: float) -> int:
    """Where a stretch from ``begin`` to before ``end`` is to stop, at most a few points earlier.

    Near its end, where a thin skin may be met all at once, it is looked at ray by ray, and the way
    to there counts, not what would have come.
    """
    first = max(begin + 2, end - ENDS)
    steps = points[first:end] - points[first - 1 : end - 1]
    ways = steps / sizes(steps[:, 0], steps[:, 1])[:, None]
    met = ground.met_by_rays(points[first:end], ways)
    while end > first and met[end - first - 1] > most:
        end -= 1
    return end


def is_closed(points: Floats) -> bool:
    """Whether a row of points ends where it begins."""
    ends: list[list[float]] = points[[0, -1]].T.tolist()
    return all(abs(begin - end) <= CLOSE + SHARE * abs(end) for begin, end in ends)


def _smoothed(points: Floats, closed: bool) -> Floats:
    """Each point drawn towards its neighbours, four times; ends stay."""
    for _ in range(4):
        if closed:
            ring = points[:-1]
            ring = (np.roll(ring, 1, axis=0) + 2 * ring + np.roll(ring, -1, axis=0)) / 4
            points = np.concatenate((ring, ring[:1]))
        else:
            middle = (points[:-2] + 2 * points[1:-1] + points[2:]) / 4
            points = np.concatenate((points[:1], middle, points[-1:]))
    return points


def ways_along(points: Floats, closed: bool) -> Floats:
    """(n, 2) unit directions along a row of points."""
    if closed:
        ring = points[:-1]
        way = np.roll(ring, -1, axis=0) - np.roll(ring, 1, axis=0)
        way = np.concatenate((way, way[:1]))
    else:
        way = np.gradient(points, axis=0)
    return np.asarray(way / np.maximum(sizes(way[:, 0], way[:, 1]), 1e-12)[:, None])
