"""Plates that are commonly asked for and hard to clear: each is made, and every proof holds.

Those that nobody can make are refused in words of the job.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from job_sweep import answer
from plate_drafts import fillet_path, star

HEAD = """
job: asked for
material: brass-leaded
post: plain-iso
made-elsewhere: [outline, pockets]
plate:
  thickness: 1.0
"""
SETUP = """
setups:
  - name: one
    stock: {stock}
    holding: {{by: shellac on a carrier, carrier: brass, carrier-thickness: 5, cut-into: 0.4,
              holds-slugs: true}}
    steps: {steps}
"""
DIAMETERS = (0.4, 0.5, 0.8, 1.5, 3.0)


def mill(diameter: float) -> str:
    """The name of a mill of that diameter, mm."""
    return f"mill-{diameter:g}".replace(".", "")


def job(plate: dict[str, Any], *steps: dict[str, Any], stock: dict[str, Any] | None = None) -> str:
    """The text of a job: its plate, its steps by cutters that `mill` names, its stock."""
    cutters = {mill(d): {"kind": "end-mill", "diameter": d, "flutes": 2,
                             "flute-length": max(2 * d, 1.5), "reach": 2 * d + 2}
               for d in DIAMETERS}
    used = {one["cutter"] for step in steps for one in step.values()}
    kept = {name: words for name, words in cutters.items() if name in used}
    lines = "".join(f"  {name}: {json.dumps(words)}\n" for name, words in plate.items())
    return (HEAD + lines + f"cutters: {json.dumps(kept)}\n" + SETUP.format(
        stock=json.dumps(stock or {"sheet": [14, 14], "thickness": 1.0}), steps=json.dumps(steps)))


def pocket(words: dict[str, Any]) -> dict[str, Any]:
    """A plate with one pocket."""
    return {"outline": {"circle": 12}, "pockets": {"seat": {"depth": 0.15, **words}}}


def cleared(*diameters: float) -> list[dict[str, Any]]:
    """A step of pockets for each cutter."""
    return [{"pocket": {"cutter": mill(diameter)}} for diameter in diameters]


BAY = [[-1.4, -1], [1.4, -1], [1.4, 1], [0.5, 1], [0.5, 0], [-0.5, 0], [-0.5, 1], [-1.4, 1]]
WEDGE = [[3.0, -0.35], [4.2, -0.5], [4.2, 0.5], [3.0, 0.35]]
SQUARE: list[list[float]] = [[-4, -3], [4, -3], [4, 3], [1.5, 3], [1.5, 0.5], [-4, 3]]
MADE = {
    "three cutters in one pocket": job(pocket(
        {"rectangle": [4, 3], "corner": 0.3}), *cleared(1.5, 0.8, 0.5)),
    "an island with inside fillets": job(pocket(
        {"rectangle": [5.2, 4.4], "corner": 0.5, "islands": [{"polygon": BAY, "corner": 0.3}]}),
        *cleared(0.5)),
    "a star of seven points": job(pocket(
        {"polygon": star(7, 2.4, 1.4), "corner": 0.3}), *cleared(0.5)),
    "a dial with twelve wedges": job(
        {"outline": {"circle": 12}, "pockets": {
            f"hour-{n}": {"polygon": WEDGE, "corner": 0.26, "turned": 30 * n, "depth": 0.08}
            for n in range(12)}}, *cleared(0.5)),
    **{f"faced and outlined of a disc {more} mm larger": job(
        {"outline": {"circle": 8}}, {"face": {"cutter": mill(3.0)}},
        {"outline": {"cutter": mill(1.5)}},
        stock={"disc": round(8 + more, 2), "thickness": 1.1}) for more in (0.3, 1.0, 2.2)},
    "an outline's fillet rounded to 0.001": job(
        {"outline": {"path": fillet_path(SQUARE, 0.7)}}, {"outline": {"cutter": mill(0.8)}}),
}


@pytest.mark.parametrize("plate", MADE)
def test_a_plate_asked_for_is_made(plate: str, tmp_path: Path) -> None:
    faults, failed = answer(MADE[plate], tmp_path)
    assert not faults, [str(fault) for fault in faults]
    assert not failed, [str(proof.id) for proof in failed]


@pytest.mark.parametrize("islands", [
    [{"circle": 2.0}, {"circle": 1.0}],
    [{"circle": 1.0}, {"circle": 2.0}],
    [{"circle": 1.6}, {"circle": 1.6, "at": [0.8, 0]}],
    [{"rectangle": [2.0, 0.8]}, {"rectangle": [0.8, 2.0]}],
    [{"circle": 1.0, "at": [0.5, 0]}, {"circle": 1.0, "at": [0.5, 0]}],
])
def test_islands_in_or_over_one_another_are_refused_with_their_line(
    islands: list[dict[str, Any]], tmp_path: Path
) -> None:
    text = job(pocket({"circle": 6, "islands": islands}), *cleared(0.8))
    faults, failed = answer(text, tmp_path)
    assert not failed
    assert faults
    for fault in faults:
        assert fault.place.line
        assert fault.remedy
        assert "island" in str(fault.message)
