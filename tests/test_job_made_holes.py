"""Every hole of a part is brought to size by a step, or said to be made elsewhere."""

from __future__ import annotations

import pytest
from workshop import DRIVEN, read

from camgen.faults import Fault, Refused
from camgen.job.checks.whole_job import job_faults

PLATE = """
job: plate
material: brass
made-elsewhere: [outline%s]
%s
plate:
  thickness: 1.0
  outline: {circle: 20}
  holes:
    feet: {diameter: 1.2, at: [[5, 0], [-5, 0]]}
    cap: {diameter: 0.8, at: [[0, 5]], counterbore: {diameter: 1.6, depth: 0.4}}
    dowels: {diameter: 1.0, fit: H7, at: [[0, -5]]}
  jewels:
    third: {diameter: 1.5, at: [[0, 0]], depth: 0.5, through: 0.8}
cutters:
  d12: {kind: drill, diameter: 1.2}
  d10: {kind: drill, diameter: 1.0}
  d08: {kind: drill, diameter: 0.8}
  mill: {kind: end-mill, diameter: 0.6}
setups:
  - name: top
    stock: {disc: 26, thickness: 1.0}
    steps:
"""
STEPS = [
    "drill: {cutter: d12, holes: [feet]}",
    "drill: {cutter: d10, holes: [dowels]}",
    "drill: {cutter: d08, holes: [cap, third-through]}",
    "bore: {cutter: mill, holes: [third, cap-counterbore], drilled: 0.8}",
]


def found(*steps: str, elsewhere: str = "", more: str = "") -> list[Fault]:
    lines = "".join(f"      - {step}\n" for step in steps)
    return job_faults(read(PLATE % (elsewhere, more) + lines), DRIVEN)


def test_holes_drilled_to_size_or_bored_are_made() -> None:
    assert found(*STEPS) == []


def test_a_hole_drilled_smaller_and_never_bored_is_named_with_the_size_it_is_left_at() -> None:
    (fault,) = found("drill: {cutter: d10, holes: [feet]}", *STEPS[1:])
    assert "the hole feet shall be 1.2 mm and is left at 1 mm" in fault.message
    assert "1.2 mm" in fault.remedy
    assert fault.place.path == "plate.holes.feet"


def test_of_several_alike_those_left_small_are_named() -> None:
    (fault,) = found("drill: {cutter: d12, holes: [feet-1]}",
                     "drill: {cutter: d10, holes: [feet, dowels]}", *STEPS[2:])
    assert "the hole feet-2 shall be 1.2 mm and is left at 1 mm" in fault.message


@pytest.mark.parametrize(
    ("left_out", "what"),
    [(3, "the jewel hole third shall be"), (2, "jewel hole third-through")],
)
def test_a_jewels_seat_and_the_hole_below_it_are_each_made(left_out: int, what: str) -> None:
    steps = [step for number, step in enumerate(STEPS) if number != left_out]
    if left_out == 3:
        # The drill goes through the seat's middle too, and is no seat.
        steps[2] = "drill: {cutter: d08, holes: [cap, third-through, third]}"
    assert any(what in fault.message for fault in found(*steps))


def test_a_drill_of_the_size_of_a_class_makes_a_hole_within_it() -> None:
    """H7 of 1.0 mm is 1.000 to 1.010 (ISO 286-2, from memory), aimed at 1.005."""
    drill = STEPS[1].replace("d10", "odd")
    text = PLATE.replace("  d10:", "  odd: {kind: drill, diameter: 1.009}\n  d10:")
    lines = "".join(f"      - {step}\n" for step in (STEPS[0], drill, *STEPS[2:]))
    assert job_faults(read(text % ("", "") + lines), DRIVEN) == []
    text = text.replace("1.009", "1.012")
    (fault,) = job_faults(read(text % ("", "") + lines), DRIVEN)
    assert "dowels shall be 1.005 mm" in fault.message


def test_holes_made_elsewhere_need_no_step() -> None:
    assert found(STEPS[3], elsewhere=", holes, jewels") == []


def test_limits_are_of_sizes_that_the_plate_has() -> None:
    assert found(*STEPS, more="limits: {feet-1: [1.19, 1.21], thickness: [0.98, 1.02]}") == []
    with pytest.raises(Refused, match="no size that is measured in this job is called fet-1") as no:
        found(*STEPS, more="limits: {fet-1: [1.19, 1.21]}")
    assert "feet-1" in no.value.faults[0].remedy


def test_a_class_of_fit_that_is_none_or_beside_a_thread_is_refused() -> None:
    def told(old: str, new: str) -> list[Fault]:
        lines = "".join(f"      - {step}\n" for step in STEPS)
        return job_faults(read(PLATE.replace(old, new) % ("", "") + lines), DRIVEN)

    assert any("no class of holes 'H77'" in f.message for f in told("fit: H7", "fit: H77"))
    assert any("class of fit and a thread" in f.message
               for f in told("fit: H7", "fit: H7, thread: S1.2"))


@pytest.mark.parametrize(("cutter", "holes", "path", "what"), [
    ("mill", "cap-counterbore", "cutter", "mill (end-mill, 0.6 mm) makes it no wider than itself"),
    ("small", "cap-counterbore", "cutter", "makes it no wider than itself"),
    ("seat", "cap", "holes", "counterbore names cap, the hole beneath it"),
    ("mill", "cap", "holes", "counterbore names cap, the hole beneath it"),
])
@pytest.mark.parametrize("place", [0, 3])
def test_a_seat_that_a_counterbore_cannot_make_is_told_at_the_words_that_are_wrong(
    cutter: str, holes: str, path: str, what: str, place: int
) -> None:
    text = PLATE.replace("  mill:", "".join(
        f"  {name}: {{kind: counterbore, diameter: {size}, flutes: 3, reach: 8}}\n"
        for name, size in (("seat", 1.6), ("small", 1.4))) + "  mill:")

    def told(*steps: str) -> list[Fault]:
        lines = "".join(f"      - {step}\n" for step in steps)
        return job_faults(read(text % ("", "") + lines), DRIVEN)

    others = [*STEPS[:3], STEPS[3].replace(", cap-counterbore", "")]
    assert told(*others, "counterbore: {cutter: seat, holes: [cap-counterbore]}") == []
    wrong = f"counterbore: {{cutter: {cutter}, holes: [{holes}]}}"
    about = [fault for fault in told(*others[:place], wrong, *others[place:])
             if "cap-counterbore" in fault.message]
    assert about
    assert any(what in fault.message and fault.place.path.endswith(f"counterbore.{path}")
               for fault in about), [str(fault) for fault in about]
    assert not any("finds nothing to cut" in fault.message for fault in about)
