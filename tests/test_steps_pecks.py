"""A drill's bites: those asked for are bounded by the drill and by what is planned."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sampling import few
from workshop import BLANKS, DRIVEN, WHEEL, read

from camgen.faults import Refused
from camgen.plan import PlannedSetup, plan_job

# A hole of 3 mm, so deep for its drill that bites are planned.
THICK = "thickness: 3"


def drilled(words: str, thick: str = THICK) -> PlannedSetup:
    text = WHEEL + BLANKS % "true" + f"      - drill: {{cutter: drill{words}}}\n"
    return plan_job(read(text.replace("thickness: 0.25", thick)), DRIVEN).setups[0]


def refusal(words: str, thick: str = THICK) -> str:
    try:
        drilled(words, thick)
    except Refused as no:
        faults = no.faults
    else:
        return ""
    assert all(fault.place.line > 0 and fault.remedy for fault in faults)
    return " ".join(f"{fault.message} {fault.remedy}" for fault in faults)


@pytest.mark.parametrize(("words", "said"), [
    (", peck: 0.001", "peck"), (", peck: 0.01", "next to nothing"),
    (", peck: 0.029", "next to nothing"),
    (", peck: 0.03", ""), (", peck: 0.3", ""), (", peck: 0", ""), ("", ""),
])
def test_pecks_at_their_ends_in_a_hole_made_in_one_stroke(words: str, said: str) -> None:
    found = refusal(words, "thickness: 0.25")
    assert said in found
    assert bool(said) == bool(found)


@settings(max_examples=few(15), deadline=None)
@given(st.floats(0.031, 4.0), st.booleans())
def test_no_bite_is_far_beyond_the_planned_one(asked: float, far: bool) -> None:
    asked = round(asked, 4)
    (cut,) = drilled("").cuts
    assert cut.peck > 0
    # To the drill's point, which is about 0.2 mm long and goes through.
    deep = 3.0
    found = refusal(f", peck: {asked}" + (", far: true" if far else ""))
    times = 4.0 if far else 2.0
    if asked <= times * cut.peck * 0.999:
        assert found == ""
    elif asked > times * cut.peck * 1.001 and deep > times * cut.peck * 1.001:
        assert "packs the flutes" in found
        assert ("far: true" in found) == (not far and asked <= 4 * cut.peck)
