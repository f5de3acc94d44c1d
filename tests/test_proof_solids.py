"""Each solid on the spindle's side, on flat work and on the head, in the cut, at the rapid, while
indexing and over what it must clear: sound it is let by, and harmed alone it is caught by name.

Every case is proved to hold first; then one figure differs, of the cutter or of the height.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import Any

import pytest
from arrangements import HEADS
from motion_by_hand import DISC, Piece, bench_mill, evidence, flat, program, stack
from sampling import taken
from shapely import box

from camgen.job.models import Job, Setup
from camgen.job.on_arbor import cylinder
from camgen.layout import Clamp
from camgen.proof import gather
from camgen.proof.evidence import FlatEvidence
from camgen.proof.head.around_head import prove_around_head
from camgen.proof.head.spaces import prove_spaces
from camgen.proof.result import Proof
from camgen.proof.table.cutter_body import prove_cutter_body
from camgen.proof.table.head_clear import prove_head_clear
from camgen.proof.table.rapids import prove_flat_rapids
from camgen.proof.table.upright import prove_upright
from camgen.shop.cutters import Cutter
from camgen.shop.machine import Arrangement

# --- flat work ------------------------------------------------------------------------------------

# A groove 12 mm wide and 30 mm deep in a thick plate, cut by the first cutter along X.
DEEP, LONG = -30.0, 6.0
WIDE = Cutter(kind="end-mill", diameter=12.0, shank=12.0, flute_length=40.0, reach=60.0,
              holder=20.0)
GROOVE: list[Piece] = [("rapid", -LONG, 0, 2), ("line", None, None, DEEP),
                       ("line", LONG, None, None), ("rapid", None, None, 5)]
SOUND = {"kind": "end-mill", "diameter": 4.0, "shank": 4.0, "flute_length": 31.0, "reach": 40.0,
         "holder": 10.0}
# Of each solid: how it is harmed, how it is called, and how far off the groove's middle it runs.
FLAT: dict[str, tuple[dict[str, float], str, float]] = {
    "edge shorter than deep": ({"flute_length": 20.0}, "shank", 4.0),
    "shank": ({"flute_length": 20.0, "shank": 14.0}, "shank", 0.0),
    "holder": ({"flute_length": 20.0, "reach": 25.0, "holder": 14.0}, "collet", 0.0),
    # The nose is 20 mm above the holder's face and 45 mm wide.
    "nose": ({"flute_length": 5.0, "reach": 5.0}, "spindle's nose", 0.0),
}
# The same where each just goes into the groove; of the nose, where it just stays above it.
JUST: dict[str, dict[str, float]] = {
    "edge shorter than deep": {"flute_length": 30.5},
    "shank": {"flute_length": 20.0, "shank": 11.9},
    "holder": {"flute_length": 20.0, "reach": 25.0, "holder": 11.9},
    "nose": {"flute_length": 11.0, "reach": 11.0},
}


def proved_flat(pieces: Sequence[Piece], words: dict[str, Any], clamps: tuple[Clamp, ...] = (),
                start: tuple[float, float, float] = (0.0, 0.0, 5.0)) -> tuple[Proof, ...]:
    cutter = Cutter(**{**SOUND, **words})
    layout = flat(thickness=40.0, stock=box(-80, -80, 80, 80), clamps=clamps)
    job = Job(job="by hand", material="brass", cutters={"wide": WIDE, "cutter": cutter},
              setups=(Setup(name="work"),))
    found = gather("work", job, bench_mill(), layout, None, [program(pieces, start=start)],
                   {1: WIDE, 2: cutter})
    assert isinstance(found, FlatEvidence)
    return (*prove_flat_rapids(found), *prove_upright(found), *prove_cutter_body(found))


def failed(proofs: Sequence[Proof]) -> dict[str, str]:
    return {str(one.id): f"{one.name} {one.where}" for one in proofs if not one.holds}


def second(*pieces: tuple[Any, ...]) -> list[Piece]:
    """The same pieces by cutter 2."""
    return [(*piece, {"cutter": 2}) for piece in pieces]


def in_groove(way: str, off: float) -> list[Piece]:
    return [*GROOVE, *second(("rapid", -3, off, 5), ("line", None, None, DEEP),
                             (way, 3, None, None), ("rapid", None, None, 5))]


@pytest.mark.parametrize("way", ["line", "rapid"])
@pytest.mark.parametrize("solid", FLAT)
def test_on_flat_work_each_solid_is_caught_in_the_metal(solid: str, way: str) -> None:
    harm, called, off = FLAT[solid]
    assert failed(proved_flat(in_groove(way, off), {})) == {}
    assert failed(proved_flat(in_groove(way, off), JUST[solid])) == {}
    found = failed(proved_flat(in_groove(way, off), harm))
    assert set(found) == {f"table.cutter-body: {called}, cutter 2"}
    assert f"{called}'s end" in found[f"table.cutter-body: {called}, cutter 2"]


# A clamp 30 mm high, from Y 8 on. Of each solid: the cutter, how it is called, on which Y it goes
# past, and the least height of the tip at which it clears the clamp.
CLAMP = Clamp(box(-5, 8, 5, 18), 30.0)
PAST: dict[str, tuple[dict[str, float], str, float, float]] = {
    "edge": ({}, "edge, 4 mm wide", 7.0, 30.0),
    "shank": ({"flute_length": 5.0, "shank": 14.0, "holder": 16.0}, "shank, 14 mm wide", 3.0, 25.0),
    "holder": ({"flute_length": 5.0, "reach": 5.0, "holder": 14.0}, "holder, 14 mm wide", 3.0,
               25.0),
    "nose": ({"flute_length": 5.0, "reach": 5.0, "holder": 8.0}, "spindle's nose, 45 mm wide", 3.0,
             5.0),
}


@pytest.mark.parametrize("way", ["line", "rapid"])
@pytest.mark.parametrize("solid", PAST)
def test_on_flat_work_each_solid_is_caught_over_what_it_does_not_clear(solid: str, way: str
                                                                       ) -> None:
    words, called, y, least = PAST[solid]
    ids = {"table.clamps", *({"table.collet-and-clamps: cutter 2"} if solid == "holder" else ())}

    def at(height: float) -> dict[str, str]:
        past = second(("rapid", None, None, height), (way, 60, None, None))
        return failed(proved_flat(past, words, (CLAMP,), (-60, y, 45)))

    assert at(least + 0.2) == {}
    found = at(least - 0.2)
    assert set(found) == ids
    assert f"the {called}, comes to the clamp" in found["table.clamps"]


# --- on the head ----------------------------------------------------------------------------------

AXES = "XYZ"
TIP = stack().tooth.tip_radius
DEPTH = stack().tooth.sizes.whole_depth
CHORD = math.sqrt(DEPTH * (20 - DEPTH))
START, STOP, CLEAR = -CHORD - 0.5, 2.1, -0.5
# Behind the blanks a thin arbor and then a chuck, 60 mm wide.
BEHIND = (cylinder("arbor", 3.5, 17.0, 2.0), cylinder("chuck", 17.0, 900.0, 30.0))
FLY = {"kind": "fly-cutter", "diameter": 20.0, "flutes": 1, "thickness": 2.0, "reach": 25.0,
       "arbor": 6.0, "shank": 6.0, "holder": 20.0, "made_for": DISC.made_for}
# Of each solid: how it is harmed, what of the head it meets, and a height at which it is clear.
HEAD: dict[str, tuple[dict[str, float | None], str, float]] = {
    "screw": ({"arbor": 24.0}, "blanks", -4.0),
    "shank": ({"shank": 28.0}, "blanks", -4.0),
    "holder": ({"reach": 3.0, "holder": 24.0}, "blanks", -4.0),
    "spindle's nose": ({"reach": 2.0, "holder": 6.0}, "chuck", -30.0),
}
Along = tuple[str, float | None, float | None] | tuple[str, float]


def cut(clear: float) -> list[Along]:
    return [("rapid", START, clear), ("rapid", None, DEPTH), ("line", STOP, None),
            ("rapid", None, clear)]


def travel(clear: float) -> list[Along]:
    return [("rapid", START, clear), ("rapid", STOP, None)]


def turn(clear: float) -> list[Along]:
    return [("rapid", 1.0, clear), ("index", 4.8), ("index", 9.6)]


WAYS = {"in the cut": cut, "at the rapid": travel, "while the head turns": turn}
CASES = taken(
    pytest.param(solid, when, how, marks=() if number % 24 == 2 * index else (
        pytest.mark.long,))
    for index, (solid, when) in enumerate(itertools.product(HEAD, WAYS))
    for number, how in enumerate(HEADS))


def proved_head(pieces: Sequence[Along], how: Arrangement, words: dict[str, Any],
                chuck: bool = True) -> tuple[Proof, ...]:
    """The proofs of solids, of places along and in as X, Y and Z of an arrangement."""
    def place(along: float | None, depth: float | None) -> tuple[float | None, ...]:
        at: list[float | None] = [0.0, 0.0, 0.0]
        for axis, value in ((how.along, along), (how.infeed, depth)):
            at[AXES.index(axis[1])] = None if value is None else (
                -value if axis[0] == "-" else value)
        return tuple(at)

    moves = [one if one[0] == "index" else (one[0], *place(*one[1:]))  # type: ignore[call-arg]
             for one in pieces]
    layout = stack(arrangement=how, behind=BEHIND if chuck else ())
    found = evidence(layout, program(moves, start=moves[0][1:]),  # type: ignore[arg-type]
                     cutter=Cutter(**{**FLY, **words}))
    return (*prove_head_clear(found), *prove_around_head(found),  # type: ignore[arg-type]
            *(one for one in prove_spaces(found)  # type: ignore[arg-type]
              if one.id.word == "clear-while-turning"))


@pytest.mark.parametrize(("solid", "when", "how"), CASES)
def test_on_the_head_each_solid_is_caught(solid: str, when: str, how: Arrangement) -> None:
    assert len(HEADS) == 24
    harm, body, height = HEAD[solid]
    way = WAYS[when]
    chuck = body == "chuck"
    assert failed(proved_head(way(CLEAR), how, {}, chuck)) == {}
    found = failed(proved_head(way(CLEAR), how, harm, chuck))
    # The collar of a disc has a proof of its own besides.
    ids = {"table.head-clear: cutter 1", *({"head.collar"} if solid == "screw" else ())}
    assert set(found) == ids
    told = found["table.head-clear: cutter 1"]
    assert f"the {solid}, " in told
    assert f"meets the {body} {when}" in told
    if when != "in the cut":
        # Farther out the same cutter is clear.
        assert failed(proved_head(way(height), how, harm, chuck)) == {}


EDGE_CASES = taken(
    pytest.param(when, how, marks=() if number % 12 == index else (pytest.mark.long,))
    for index, when in enumerate(WAYS) for number, how in enumerate(HEADS))


@pytest.mark.parametrize(("when", "how"), EDGE_CASES)
def test_on_the_head_edges_are_caught(when: str, how: Arrangement) -> None:
    """Too large in the cut, too low at the rapid and while the head turns."""
    assert failed(proved_head(WAYS[when](CLEAR), how, {})) == {}
    if when == "in the cut":
        # It comes to the chuck, and before the stack into the blanks at the rapid down.
        assert set(failed(proved_head(cut(CLEAR), how, {"diameter": 60.0}))) == {
            "head.behind-backing", "head.rapids"}
        return
    found = failed(proved_head(WAYS[when](0.2), how, {}))
    assert set(found) == {"head.rapids", *(
        () if when == "at the rapid" else ("head.clear-while-turning",))}
