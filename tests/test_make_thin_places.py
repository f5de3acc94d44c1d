"""Thin walls and narrow slots: answered by the things beside them, with a remedy that works.
"""

from __future__ import annotations

import math
import re

import pytest
from pocket_programs import JOB, proved

from camgen.faults import Refused

MILL = "pocket: {cutter: mill}"
SEAT = "  pockets:\n    seat: {circle: 2, at: [%s, 0], depth: 0.3}"
PAIRS = {
    "eye and seat": SEAT % -1.05 + "\n    eye: {circle: 2, at: [1, 0], depth: 0.2}",
    "outline and seat": SEAT % 6.95,
    "pin and seat": SEAT % -1.3 + "\n  holes: {pin: {diameter: 0.8, at: [[0.15, 0]]}}",
    "deep and seat": SEAT % -1.05 + "\n    deep: {circle: 2, at: [1, 0], depth: 0.2, face: under}"
    "\n  least-floor: 0.1",
}


@pytest.mark.parametrize("between", PAIRS)
def test_a_thin_wall_is_told_by_what_stands_beside_it_and_may_be_meant(between: str) -> None:
    plate = PAIRS[between]
    if between == "deep and seat":
        # Floors at different heights share no wall.
        assert not proved(plate, "pocket: {cutter: mill, pockets: [seat]}").failed
        return
    with pytest.raises(Refused) as no:
        proved(plate, MILL)
    (fault,) = no.value.faults
    assert "a wall of 0.050 mm stands at X" in str(fault.message)
    assert f"between {between}; `least-wall` is 0.1" in str(fault.message)
    named = between.split(" and ")[1 if between.startswith("outline") else 0]
    line = (JOB % (plate, "", "")).splitlines()[fault.place.line - 1]
    assert f"{named}:" in line
    word = re.search(r"`(least-wall: [\d.]+)`", str(fault.remedy))
    assert word is not None
    assert not proved(f"{plate}\n  {word[1]}", MILL).failed


POINTED = {
    "a star": ", ".join(
        f"[{r * math.cos(math.pi * n / 7):.4f}, {r * math.sin(math.pi * n / 7):.4f}]"
        for n, r in enumerate([8, 1.5] * 7)),
    "a wedge": "[-7, -0.8], [7, 0], [-7, 0.8]",
}


@pytest.mark.parametrize("shape", POINTED)
def test_a_pointed_tip_is_told_by_its_word_and_may_be_meant(shape: str) -> None:
    """The tip alone is thin: nothing stands beside it that might be moved away."""
    tip = "  inside-corners: left"
    outline = f"{{polygon: [{POINTED[shape]}]}}"
    with pytest.raises(Refused) as no:
        proved(tip, "outline: {cutter: mill}", outline=outline)
    assert all("beside outline" in str(fault.message) for fault in no.value.faults)
    word = re.search(r"`(least-wall: [\d.]+)`", str(no.value.faults[0].remedy))
    assert word is not None
    assert not proved(f"{tip}\n  {word[1]}", "outline: {cutter: mill}", outline=outline).failed


@pytest.mark.parametrize("over", [0.0, 1e-6, 0.0004, 0.001, 0.0021, 0.004, 0.02])
def test_a_slot_hardly_wider_than_cutter_and_finish_is_made_or_its_words_are_refused(
    over: float,
) -> None:
    """A way round narrower than the axes' steps is rounded to another; a smaller finish helps."""
    plate = "  slots:\n    long: {ends: [[-2.5, 1.8], [2.5, 1.52]], width: %s}" % (0.88 + over)
    step = "cut-out: {cutter: mill%s}"
    try:
        assert not proved(plate, step % "").failed
    except Refused as no:
        (fault,) = no.faults
        assert over < 0.0025
        word = re.search(r"finish: [\d.]+", str(fault.remedy))
        assert word is not None
        assert not proved(plate, step % f", {word[0]}").failed
    else:
        assert over >= 0.002
