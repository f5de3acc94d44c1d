"""Clamps that the cutter would travel into are told with the height of travel to write."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from workshop import WHEEL, read

from camgen.faults import Fault, Refused

PLATE = """
job: plate
material: brass
made-elsewhere: [outline]
plate:
  thickness: 1.2
  outline: {circle: 8}
  holes: {h: {at: [[-3, 0], [3, 0]], diameter: 0.8}}
cutters:
  drill: {kind: drill, diameter: 0.8}
"""
SETUP = """
setups:
  - name: one
    stock: {sheet: [60, 30], thickness: %s}
    safe-height: %s
    clearance: %s
    holding: {by: strap, clamps: [%s]}
    steps:
      - drill: {cutter: drill}
"""
JOBS = {"plate": (PLATE, "1.2"), "wheel": (WHEEL, "0.25")}


def told(part: str, *heights: object, safe: object = 5, clearance: object = 0.5) -> list[Fault]:
    """What is told of clamps; a wheel's other steps are missing too."""
    text, thick = JOBS[part]
    clamps = ", ".join(f"[-30, -3, -28, 3, {height}]" for height in heights)
    try:
        read(text + SETUP % (thick, safe, clearance, clamps))
    except Refused as no:
        return [fault for fault in no.faults if "clamps" in fault.place.path]
    return []


@pytest.mark.parametrize("part", JOBS)
def test_each_clamp_higher_than_travel_is_told_at_its_place(part: str) -> None:
    assert told(part, 4.5, 1) == []
    found = told(part, 6, 1, 4.6)
    assert [fault.place.path for fault in found] == [
        "setups[0].holding.clamps[0]", "setups[0].holding.clamps[2]"]
    assert "6 mm high and travel is at 5 mm" in found[0].message
    assert "write safe-height: 6.5 or more" in found[0].remedy
    assert "write safe-height: 5.1 or more" in found[1].remedy


def test_one_too_high_for_any_travel_is_told_so() -> None:
    (fault,) = told("plate", 199.8)
    assert "take a lower clamp" in fault.remedy


sizes = st.decimals(0, 30, places=3)


@given(sizes, st.decimals(1, 30, places=3),
       st.decimals("0.5", "0.9", places=3))
def test_what_is_advised_is_taken(height: object, safe: object, clearance: object) -> None:
    found = told("plate", height, safe=safe, clearance=clearance)
    assert bool(found) == (float(str(height)) + float(str(clearance)) > float(str(safe)) + 1e-6)
    for fault in found:
        advised = re.findall(r"safe-height: (\S+) or more", fault.remedy)[0]
        assert told("plate", height, safe=advised, clearance=clearance) == []
