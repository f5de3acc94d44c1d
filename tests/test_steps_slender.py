"""Slender arbors, backing that backs nothing, limits that miss their size."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from message_templates import left_in_english
from workshop import DRIVEN, TEETH, WHEEL, read

from camgen.faults import Refused
from camgen.job.checks.whole_job import job_faults
from camgen.plan import PlannedSetup, plan_job
from camgen.shop.machines import find_machine
from camgen.steps.head.slender import LEAST, SHARE, arbor_bends, bar_bends

SETUP = """
setups:
  - name: teeth
    dividing: {arbor: 4, backing: 1.5, %s}
    steps:
      - cut-teeth: {cutter: teeth}
"""
TAILSTOCK = "front: {nut: 5, length: 4}, tailstock: {centre: 4, body: 16, from: 16}"


def planned(said: str) -> PlannedSetup:
    return plan_job(read(WHEEL + SETUP % said), DRIVEN).setups[0]


@given(st.floats(0.1, 50), st.floats(1, 200), st.floats(0.3, 10))
def test_twice_as_long_bends_eight_times_and_a_second_support_helps_sixteenfold(
    force: float, length: float, diameter: float
) -> None:
    """Beam theory: the cube of the length, the fourth power of the diameter."""
    one = arbor_bends(force, length, diameter, supported=False)
    assert arbor_bends(force, 2 * length, diameter, supported=False) == pytest.approx(8 * one)
    assert arbor_bends(force, length, 2 * diameter, supported=False) == pytest.approx(one / 16)
    assert arbor_bends(force, length, diameter, supported=True) == pytest.approx(one / 16)


@pytest.mark.parametrize("held", ["front: []", TAILSTOCK])
def test_a_stack_too_long_for_its_arbor_is_refused_at_its_bound(held: str) -> None:
    passed = 0
    for count in range(1, 200):
        try:
            force = planned(f"stack: {count}, {held}").cuts[0].force
        except Refused as no:
            (fault,) = no.value.faults if hasattr(no, "value") else no.faults
            assert "arbor of 0.8 mm" in fault.message
            assert "dividing.stack" in fault.place.path
            break
        passed = count
        assert arbor_bends(force, 0.25 * count + 1.5, 0.8, supported=held == TAILSTOCK) <= max(
            SHARE * 0.444, LEAST) + 1e-9
    assert 8 <= passed < 199
    planned(f"stack: {passed + 1}, slender: true, {held}")


def test_sixty_thick_wheels_on_a_thin_arbor_are_refused() -> None:
    """120 mm on an arbor of 1.2 mm."""
    text = WHEEL.replace("thickness: 0.25, bore: 0.80", "thickness: 2.0, bore: 1.2")
    assert "thickness: 2.0" in text
    with pytest.raises(Refused, match=r"arbor of 1\.2 mm"):
        plan_job(read(text + SETUP % f"stack: 60, {TAILSTOCK}"), DRIVEN)


@pytest.mark.parametrize(("wide", "refused"), [(10.07, False), (10.05, True), (3.0, True)])
def test_backing_reaches_the_roots(wide: float, refused: bool) -> None:
    faults = job_faults(read(WHEEL + SETUP % f"stack: 2, backing-diameter: {wide}"), DRIVEN)
    assert any("backs none" in fault.message for fault in faults) == refused


@pytest.mark.parametrize("zero", ["touch", "axis"])
@pytest.mark.parametrize("side", ["backing: 1.5", "front-backing: 1.0"])
@pytest.mark.parametrize(("wide", "blank", "refused"), [
    (10.949, "", False), (10.96, "", True), (20.0, "", True),
    (11.2, ", blank: 11.2", False), (11.3, ", blank: 11.2", True)])
def test_backing_stands_no_higher_than_the_blanks(
    wide: float, blank: str, refused: bool, side: str, zero: str
) -> None:
    text = SETUP.replace("backing: 1.5, ", "") % (
        f"{side}, stack: 2, backing-diameter: {wide}, zero: {zero}{blank}")
    found = [fault for fault in job_faults(read(WHEEL + text), DRIVEN)
             if "stands above the blanks" in fault.message]
    assert bool(found) == refused
    assert all("backing-diameter" in fault.place.path for fault in found)


@pytest.mark.parametrize("word", [
    "arbor: {}", "behind: {{arbor: {}, length: 6}}", "behind: {{spacer: {}, length: 6}}"])
@pytest.mark.parametrize(("wide", "backing", "refused"), [
    (0.3, "", True), (0.8, "", True), (0.9, "", False), (0.3, "backing: 1.5, ", False)])
def test_blanks_lie_against_something(
    word: str, wide: float, backing: str, refused: bool
) -> None:
    text = SETUP.replace("arbor: 4, backing: 1.5, ", backing) % f"stack: 2, {word.format(wide)}"
    found = [fault for fault in job_faults(read(WHEEL + text), DRIVEN)
             if "nothing holds them" in fault.message]
    assert bool(found) == refused


@pytest.mark.parametrize("name", ["tip", "root", "whole-depth", "tooth-thickness"])
@pytest.mark.parametrize(("low", "high", "refused"), [
    (-0.01, 0.01, False), (0.0, 0.02, False), (0.002, 0.02, True), (-0.02, -0.002, True)])
def test_limits_hold_their_size(name: str, low: float, high: float, refused: bool) -> None:
    from camgen.job.part import nominal_sizes

    size = nominal_sizes(read(WHEEL + SETUP % "stack: 2").job)[name]
    text = f"limits: {{{name}: [{size + low:.5f}, {size + high:.5f}]}}\n{WHEEL}{SETUP % 'stack: 2'}"
    if not refused:
        read(text)
        return
    with pytest.raises(Refused, match="not within its limits"):
        read(text)


def test_a_tailstock_supposed_where_nothing_is_said_is_told_in_every_language() -> None:
    from camgen.words import languages, words

    def told(dividing: str) -> list[str]:
        text = WHEEL + TEETH.replace("arbor: 4", f"arbor: 4{dividing}") % ("touch", "")
        planned = plan_job(read(text), DRIVEN).setups[0]
        return [one for one in planned.remarks if "taken for granted" in one]

    (remark,) = told("")
    for language in languages():
        if language != "en":
            assert not left_in_english(words(language), remark)
    assert told(", front: {nut: 5, length: 4}, tailstock: {centre: 4, body: 16, from: 16}") == []
    assert told(", slender: true") == []


@given(st.floats(0.1, 50), st.floats(1, 100), st.floats(0.3, 10), st.floats(0.1, 0.9))
def test_a_bar_in_pieces_bends_as_the_whole_one(
    force: float, length: float, diameter: float, cut: float
) -> None:
    """Beam theory's two cases of an even bar, wherever it is divided in pieces."""
    bar = [(cut * length, diameter), ((1 - cut) * length, diameter)]
    for at, supported in ((length, False), (length / 2, True)):
        assert bar_bends(force, bar, at, supported=supported) == pytest.approx(
            arbor_bends(force, length, diameter, supported=supported))
    assert bar_bends(force, bar, length, supported=True) == pytest.approx(0.0)


PINION = """job: pinion
material: free-cutting-steel
pinion: {leaves: 10, module: 0.14, addendum: one-third-ogive, mate: 75, length: 1.8}
cutters:
  teeth: {kind: form-disc, diameter: 16, flutes: 12, material: hss, thickness: 2, arbor: 10,
          made-for: {form: cycloidal-pinion, module: 0.14, teeth: 10, mate: 75,
                     addendum: one-third-ogive}}
setups:
  - name: teeth
    dividing: {%s}
    steps:
      - cut-teeth: {cutter: teeth, passes: 3, order: each-round}
"""


@pytest.mark.parametrize(("dividing", "refused"), [
    ("arbor: 0.6, front: {arbor: 0.6, length: 6}, tailstock: {centre: 1.5, body: 6, from: 12}",
     False),
    ("arbor: 0.6", False),
    ("behind: [{arbor: 0.05, length: 40}], front: {arbor: 0.05, length: 40}, "
     "tailstock: {centre: 1.5, body: 6, from: 60}", True),
    ("behind: [{arbor: 0.2, length: 20}, {collet: 8, length: 20}], front: []", True),
    ("behind: [{arbor: 0.2, length: 20}, {collet: 8, length: 20}], front: [], slender: true",
     False),
])
def test_a_pinion_bends_on_its_own_body(dividing: str, refused: bool) -> None:
    from camgen.faults import Fault

    faults: tuple[Fault, ...] = ()
    try:
        plan_job(read(PINION % dividing), find_machine("plain-iso"))
    except Refused as no:
        faults = tuple(no.faults)
    assert [("on its own body" in one.message, one.place.line) for one in faults] == (
        [(True, 10)] if refused else [])


def test_the_length_at_which_a_pinion_is_refused_is_one() -> None:
    """Once too long, always too long."""
    said = []
    for length in (0.2, 0.5, 1, 2, 3, 5, 8, 12, 20):
        try:
            machine = find_machine("plain-iso")
            plan_job(read(PINION % f"behind: [{{arbor: 0.6, length: {length}}}, "
                                   "{collet: 8, length: 20}], front: []"), machine)
        except Refused as no:
            said.append(all("on its own body" in one.message for one in no.faults))
        else:
            said.append(False)
    assert said == sorted(said)
    assert (said[0], said[-1]) == (False, True)


@pytest.mark.parametrize(("limits", "refused"), [
    ("h: [0.49, 0.51]", False), ("h: [0.51, 0.53]", True), ("h: [0.47, 0.49]", True),
    ("thickness: [1.99, 2.01]", False), ("thickness: [2.01, 2.02]", True)])
def test_limits_of_a_plate_hold_their_size(limits: str, refused: bool) -> None:
    text = f"""job: plate
material: brass-leaded
limits: {{{limits}}}
plate: {{thickness: 2, outline: {{circle: 20}}, holes: {{h: {{diameter: 0.5, at: [[0, 0]]}}}}}}
cutters: {{d: {{kind: drill, diameter: 0.5}}}}
setups: [{{name: holes, stock: {{disc: 30, thickness: 2}}, steps: [{{drill: {{cutter: d}}}}]}}]
"""
    if not refused:
        read(text)
        return
    with pytest.raises(Refused, match="not within its limits"):
        read(text)


@pytest.mark.parametrize(("words", "said"), [
    ("clearance: 0.05", ""), ("clearance: 0.049", "zero may be wrong"),
    ("clearance: 0.0001", "zero may be wrong"), ("safe-height: 0.5", "not above the clearance"),
    ("safe-height: 0.54", "hardly above"), ("safe-height: 0.55", ""),
    ("clearance: 5", "not above the clearance"), ("clearance: 4.96", "hardly above"),
    ("safe-height: 200.1", "bench machine reaches"), ("safe-height: 500", "bench machine reaches"),
])
def test_heights_at_their_ends(words: str, said: str) -> None:
    text = f"{WHEEL}{SETUP % 'stack: 2'}".replace("    steps:", f"    {words}\n    steps:")
    if not said:
        read(text)
        return
    with pytest.raises(Refused, match=said) as no:
        read(text)
    (fault,) = no.value.faults
    assert fault.remedy
    assert words.split(":")[0] in fault.place.path
    assert fault.place.line > 0


def test_a_safe_height_beyond_the_travel_of_the_head_is_refused() -> None:
    reach = DRIVEN.axis((DRIVEN.dividing.arrangement if DRIVEN.dividing else None).infeed[1]).travel
    for height, refused in ((min(reach - 1, 150), False), (reach, True)):
        if height > 200:
            continue
        text = f"{WHEEL}{SETUP % 'stack: 2'}".replace(
            "    steps:", f"    safe-height: {height:g}\n    steps:")
        faults = job_faults(read(text), DRIVEN)
        assert any("to the roots" in one.message for one in faults) == refused
