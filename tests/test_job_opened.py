"""Holes that are not open for the cutter that goes into them: found from order and declarations."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st
from workshop import DRIVEN, read

from camgen.faults import Fault
from camgen.job.checks.whole_job import job_faults
from camgen.job.order.opened import Open, width_over
from camgen.shop.cutters import RECORDS

PLATE = """
job: holes in order
material: brass
made-elsewhere: [outline%s]
plate:
  thickness: 1.8
  outline: {rectangle: [20, 14], corner: 2}
  holes:
    dowels: {diameter: 1.0, at: [[-8, -4], [8, -4]]}
    one: {%s}
cutters:
  pin: {kind: drill, diameter: 1.0, flute-length: 6, reach: 8}
  thin: {kind: drill, diameter: %s, flute-length: 6, reach: 8}
  own: {kind: drill, diameter: %s, flute-length: 6, reach: 8}
  cutter: {%s, reach: 8, flute-length: 4}
setups:
  - name: top
    stock: {sheet: [30, 24], thickness: 1.8}
    holding: &wax {by: wax, carrier: brass, carrier-thickness: 5, cut-into: 2, holds-slugs: true}
    steps:
      - drill: {cutter: pin, holes: [dowels]}
"""
UNDER = """
  - name: back
    face: under
    turned-over: about Y
    stock: {left-by: top, thickness: 1.8}
    zero: {dowel: dowels-1}
    holding: *wax
    steps:
"""
# Of each cutter that may not meet solid metal: the hole, the drill before it, itself, its step.
# A mill whose end does not reach the middle is told by what its step says was drilled.
WORK = {
    "reamer": ("diameter: 1.6, at: [[2, 2]]%s", "1.5", "kind: reamer, diameter: 1.6",
               "ream: {cutter: cutter, holes: [one], drilled: 1.5}"),
    "boring-bar": ("diameter: 1.6, at: [[2, 2]]%s", "1.5",
                   "kind: boring-bar, diameter: 1.6, shank: 1.1",
                   "fine-bore: {cutter: cutter, holes: [one], drilled: 1.5}"),
    "tap": ("thread: M1.6, at: [[2, 2]]%s", "1.25", "kind: tap, diameter: 1.6, pitch: 0.35",
            "tap: {cutter: cutter, holes: [one], holder-gives: 0.3, lead: 0.2}"),
    "thread-mill": ("thread: M1.6, at: [[2, 2]]%s", "1.25",
                    "kind: thread-mill, diameter: 1.1, pitch: 0.35",
                    "thread-mill: {cutter: cutter, holes: [one], thread: M1.6}"),
    "counterbore": ("diameter: 0.8, at: [[2, 2]]%s, counterbore: {diameter: 1.7, depth: 0.5}",
                    "0.8", "kind: counterbore, diameter: 1.7",
                    "counterbore: {cutter: cutter, holes: [one-counterbore], drilled: 0.8}"),
    "end-mill": ("diameter: 1.6, at: [[2, 2]]%s", "1.2",
                 "kind: end-mill, diameter: 1.0, plunges: false",
                 "bore: {cutter: cutter, holes: [one], drilled: 1.2}"),
}
# What is too small for each of them, mm; a counterbore's pilot is 0.3 of it.
THIN = {"counterbore": 0.45}
# How deep each of them goes.
DEEP = {"counterbore": 0.5}
DEAD = "end-mill"
OWN = "drill: {cutter: own, holes: [one]%s}"


def faults(work: str, *steps: str, under: tuple[str, ...] = (), elsewhere: str = "",
           more: str = "") -> list[Fault]:
    hole, drill, cutter, _ = WORK[work]
    text = PLATE % (elsewhere, hole % more, THIN.get(work, 0.8), drill, cutter)
    text += "".join(f"      - {step}\n" for step in steps)
    if under:
        text += UNDER + "".join(f"      - {step}\n" for step in under)
    return job_faults(read(text), DRIVEN)


def about(found: list[Fault]) -> list[Fault]:
    """Those that tell of the cutter that goes into the hole."""
    return [fault for fault in found if "goes" in fault.message or "says that" in fault.message]


@pytest.mark.parametrize("work", WORK)
def test_a_hole_drilled_before_is_open(work: str) -> None:
    step = WORK[work][3]
    assert about(faults(work, OWN % "", step)) == []
    # A hole right through is as open from the other side.
    assert about(faults(work, OWN % "", under=(step,))) == []


@pytest.mark.parametrize("work", WORK)
def test_a_hole_that_no_step_makes_or_only_a_later_one_is_not_open(work: str) -> None:
    step = WORK[work][3]
    told = "no step before makes it" if work == DEAD else "which no step before it makes"
    (none,) = about(faults(work, step))
    assert told in none.message
    assert none.place.line > 0
    assert str(none.place).endswith("drilled" if work == DEAD else "cutter")
    (later,) = about(faults(work, step, OWN % ""))
    assert told in later.message
    (setup,) = about(faults(work, step, under=(OWN % "",)))
    assert told in setup.message
    if work == "counterbore":
        # The hole under it is another thing than what it makes.
        assert "drills it before this one" in later.remedy
        return
    assert later.remedy == "put step 3 of top, which makes it, before it"
    assert setup.remedy == "setup back makes it, too late: put that before it"


@pytest.mark.parametrize("work", WORK)
def test_a_hole_that_is_too_small_or_not_deep_enough_is_told(work: str) -> None:
    step = WORK[work][3]
    (small,) = about(faults(work, OWN.replace("own", "thin") % "", step))
    thin = f"{THIN.get(work, 0.8):g} mm"
    assert (f"it is {thin}" if work == DEAD else f"is {thin} wide") in small.message
    assert "as the steps before make it" in small.message
    least = DEEP.get(work, 1.8) - 0.2
    shallow = about(faults(work, OWN % f", depth: {least}", step))[-1]
    assert (f"make it so {least:g} of 1.8 mm deep" if work == DEAD else
            f"open for it {least:g} mm deep") in shallow.message
    under = ", face: under" if work == "counterbore" else ""
    other = about(faults(work, OWN % ", depth: 1.0", under=(step,), more=under))[-1]
    assert ("make it so 0 of 1.8 mm" if work == DEAD else
            "from the other side only") in other.message
    # From both sides it is open all the way.
    both = faults(work, OWN % ", depth: 1.0", under=(OWN % ", depth: 1.0", step), more=under)
    assert about(both) == []


def test_every_kind_that_may_not_meet_solid_metal_is_in_the_table() -> None:
    """All but what is carried by an arbor across the work, which goes into no hole."""
    assert set(WORK) == {DEAD} | {kind for kind, record in RECORDS.items()
                                  if not (record.meets_solid or record.on_arbor
                                          or record.touches)}


@pytest.mark.parametrize("work", WORK)
def test_what_is_made_elsewhere_is_open_to_the_size_the_job_says(work: str) -> None:
    _, _, _, step = WORK[work]
    for word in (", holes", ", one"):
        found = about(faults(work, step.replace(", drilled: 1.5", ""), elsewhere=word))
        assert found == []


@pytest.mark.parametrize("work", ["reamer", "boring-bar"])
def test_what_the_job_says_of_a_hole_is_what_its_steps_made(work: str) -> None:
    step = WORK[work][3]
    assert about(faults(work, OWN % "", step.replace(", drilled: 1.5", ""))) == []
    for said in ("1.4", "1.55"):
        (fault,) = about(faults(work, OWN % "", step.replace("1.5}", f"{said}}}")))
        assert f"drilled says that one is {said} mm wide, and it is 1.5 mm" in fault.message
        assert fault.remedy.startswith("write drilled: 1.5")


def test_boring_in_a_hole_smaller_than_the_job_says_is_refused() -> None:
    text = PLATE % ("", "diameter: 1.6, at: [[2, 2]]", 0.8, "1.2", "kind: end-mill, diameter: 0.6")
    bore = "      - bore: {cutter: cutter, holes: [one], drilled: %s}\n"
    steps = "      - drill: {cutter: own, holes: [one]}\n"
    assert about(job_faults(read(text + steps + bore % "1.2"), DRIVEN)) == []
    # Less than there is only goes round in air.
    assert about(job_faults(read(text + steps + bore % "1.0"), DRIVEN)) == []
    (fault,) = about(job_faults(read(text + steps + bore % "1.3"), DRIVEN))
    assert "drilled says that one is 1.3 mm wide, and it is 1.2 mm" in fault.message
    (fault,) = about(job_faults(read(text + bore % "1.2" + steps), DRIVEN))
    assert "no step before makes it" in fault.message


def test_a_hole_to_a_depth_is_open_as_deep_as_the_drill_is_full() -> None:
    """Drilled narrower than it shall be, its point stays above the floor (118°: 0.3 of 1.5 mm)."""
    found = about(faults("reamer", OWN % "", WORK["reamer"][3], more=", depth: 1.2"))
    assert ["0.749 mm deep" in fault.message for fault in found] == [True]
    assert about(faults("reamer", OWN % ", depth: 1.2", WORK["reamer"][3],
                        more=", depth: 1.2")) == []


@given(st.lists(st.tuples(st.floats(0.1, 3), st.floats(0, 2), st.floats(0, 2)), max_size=6),
       st.floats(0, 2), st.floats(0, 2))
def test_a_width_over_a_stretch_is_that_of_its_narrowest_place(
    stretches: list[tuple[float, float, float]], one: float, other: float
) -> None:
    opened = [Open(wide, min(a, b), max(a, b)) for wide, a, b in stretches]
    begin, end = min(one, other), max(one, other)
    found = width_over(opened, begin, end)
    edges = sorted({begin, end, *(h for o in opened for h in (o.begin, o.end) if begin < h < end)})
    middles = [(a + b) / 2 for a, b in itertools.pairwise(edges) if b - a > 1e-4]
    here = [max((o.diameter for o in opened if o.begin <= at <= o.end), default=0.0)
            for at in middles]
    assert all(found <= wide for wide in here)
    assert width_over(reversed(opened), begin, end) == found
