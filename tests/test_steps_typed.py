"""What is typed is bounded by what it can mean: corrections, and feeds and speeds asked for."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import pytest
from demos import proved_demo
from message_templates import left_in_english
from sampling import sampled
from workshop import DRIVEN, PLATE, WHEEL, read

from camgen.cutting.answer import CutPlan, Limit
from camgen.faults import Refused
from camgen.make.chain import Proved, proved_job
from camgen.make.told.report import notes_of
from camgen.messages import Message
from camgen.plan import PlannedSetup, plan_job
from camgen.shipped import shipped_folder
from camgen.steps.typed import FAR_TIMES, SHARE, _overstepped
from camgen.words import languages, words

TOOTHED = {"third-wheel": 0.444, "seconds-pinion": 0.374, "ratchet-wheel": 0.35,
           "wheel-by-hand": 0.639}


def with_words(tmp_path: Path, stem: str, said: str) -> Proved:
    """A demo job with further words in its step that cuts the teeth."""
    file = shipped_folder("jobs") / f"{stem}.yaml"
    lines = file.read_text(encoding="utf-8").split("\n")
    text = "\n".join(line.replace("}", f", {said}}}") if "- cut-teeth" in line else line
                     for line in lines)
    job = tmp_path / f"{stem}.yaml"
    job.write_text(text, encoding="utf-8")
    return proved_job(job)


def depth_of(stem: str, proved: Proved) -> float:
    layout = proved.setups[-1].planned.layout
    return float(layout.tooth.sizes.whole_depth)  # type: ignore[union-attr]


@pytest.mark.parametrize("stem", sampled(TOOTHED, 8, 1))
@pytest.mark.parametrize("share", sampled([-1.0, -0.3, 0.3, 1.0], 8))
def test_within_its_bound_every_proof_holds_with_the_corrected_depth(
    tmp_path: Path, stem: str, share: float
) -> None:
    wanted = share * SHARE * TOOTHED[stem] * 0.99
    try:
        proved = with_words(tmp_path, stem, f"depth-correction: {wanted:.4f}")
    except Refused as no:
        # Teeth left too thick may not run: the word is named, and what the pair bears does run.
        (fault,) = no.faults
    else:
        plain = proved_demo(stem)
        assert {proof.id for proof in proved.proofs} == {proof.id for proof in plain.proofs}
        assert proved.failed == ()
        return
    assert share < 0
    assert "the pair would not run" in fault.message
    assert "depth-correction" in str(fault.place)
    assert fault.place.line > 0
    borne = float(fault.remedy.split()[0])
    assert wanted < borne <= 0
    assert with_words(tmp_path, stem, f"depth-correction: {borne}").failed == ()


def test_the_third_wheel_left_too_shallow_is_refused_with_what_its_pair_bears(
    tmp_path: Path
) -> None:
    with pytest.raises(Refused, match="its ratio varies by"):
        with_words(tmp_path, "third-wheel", "depth-correction: -0.0222")


@pytest.mark.parametrize("stem", sampled(TOOTHED, 2))
@pytest.mark.parametrize(("far", "times"), [("", 1.0), (", far: true", FAR_TIMES)])
@pytest.mark.parametrize("sign", [-1, 1])
def test_beyond_its_bound_a_depth_correction_is_refused(
    tmp_path: Path, stem: str, far: str, times: float, sign: int
) -> None:
    wanted = sign * SHARE * TOOTHED[stem] * times * 1.02
    with pytest.raises(Refused) as no:
        with_words(tmp_path, stem, f"depth-correction: {wanted:.4f}{far}")
    (fault,) = no.value.faults
    assert "depth-correction" in fault.message
    assert fault.place.line > 0
    # Beyond what far: true bears, it is told how far that goes, and not offered.
    assert ("write far: true" in fault.remedy) == (far == "")
    assert ("far: true goes up to" in fault.remedy) == bool(far)


@pytest.mark.parametrize("value", [1.0, -1.0, 0.5])
@pytest.mark.parametrize("far", ["", ", far: true"])
def test_a_correction_that_takes_every_tooth_makes_no_program(
    tmp_path: Path, value: float, far: str
) -> None:
    with pytest.raises(Refused):
        with_words(tmp_path, "third-wheel", f"depth-correction: {value}{far}")


def test_a_correction_is_told_on_console_sheet_and_picture(tmp_path: Path) -> None:
    from camgen.make.pictures import _beneath

    proved = with_words(tmp_path, "third-wheel", "depth-correction: 0.01")
    wanted = "cut teeth: depth-correction +0.010 mm is in force"
    assert f"teeth: {wanted}" in notes_of(proved)
    (remark,) = [one for one in proved.setups[-1].planned.remarks if one == wanted]
    assert wanted in _beneath(proved, proved.setups[-1])
    assert wanted not in _beneath(proved, proved.setups[0])
    for language in languages():
        if language != "en":
            assert not left_in_english(words(language), remark)


# --- holes and walls ------------------------------------------------------------------------------

def plate(step: str) -> PlannedSetup:
    return plan_job(read(PLATE + f"      - {step}\n"), DRIVEN).setups[0]


@pytest.mark.parametrize(("step", "most"), [
    ("bore: {cutter: mill, holes: [train], correction: %s}", 0.05 * 1.2),
    ("outline: {cutter: mill, correction: %s}", 0.05 * 0.8),
    ("cut-out: {cutter: mill, correction: %s}", 0.05 * 0.8),
])
@pytest.mark.parametrize("sign", [-1, 1])
def test_corrections_of_holes_and_walls_have_bounds(step: str, most: float, sign: int) -> None:
    def told(value: float, far: str = "") -> str:
        text = step % f"{sign * value:.5f}{far}"
        try:
            plate(text)
        except Refused as no:
            return " ".join(fault.message for fault in no.faults)
        return ""

    assert "is more than a cutter" not in told(most * 0.999)
    assert "is more than a cutter" in told(most * 1.01)
    assert "is more than a cutter" not in told(most * 1.01, ", far: true")
    assert "is more than a cutter" in told(most * FAR_TIMES * 1.01, ", far: true")


# --- feeds and speeds -----------------------------------------------------------------------------

BLANK = """
made-elsewhere: [teeth, bore, crossing]
setups:
  - name: blanks
    stock: {sheet: [30, 30], thickness: 0.25}
    holding: {by: shellac, carrier: brass, carrier-thickness: 3, cut-into: 0.4, holds-slugs: true}
    steps:
      - outline: {cutter: mill%s}
"""


def outline(said: str) -> PlannedSetup:
    wheel = WHEEL.replace("  mill: {kind: end-mill, diameter: 0.40, flutes: 2, flute-length: 0.8, "
                          "reach: 1.6}", "  mill: {kind: end-mill, diameter: 1.0, flutes: 2, "
                          "flute-length: 2, reach: 3}")
    assert "diameter: 1.0, flutes" in wheel
    return plan_job(read(wheel + BLANK % said), DRIVEN).setups[0]


def test_a_chip_far_beyond_what_the_edge_bears_is_refused() -> None:
    """150 µm a tooth on an end mill of 1 mm: 1000 rev/min, two edges, 300 mm/min."""
    with pytest.raises(Refused) as no:
        outline(", speed: 1000, feed: 300")
    (fault,) = no.value.faults
    assert "the feed asked for, 300" in fault.message
    assert "times" in fault.message
    assert "outline" in fault.place.path


def test_a_feed_asked_for_is_refused_above_twice_what_is_usual_and_no_lower() -> None:
    cut = outline("").cuts[0]
    speed = cut.speed
    for share in (0.3, 0.9):
        outline(f", speed: {speed:.0f}, feed: {share * cut.feed:.3f}")
    refused = None
    for times in (1.0, 1.5, 2.0, 3.0, 4.0, 8.0, 16.0):
        try:
            found = outline(f", speed: {speed:.0f}, feed: {times * cut.feed:.3f}").cuts[0]
        except Refused:
            refused = times
            break
        assert all(limit.share <= 2.0 + 1e-6 for limit in found.limits if not limit.least)
    assert refused is not None
    assert refused >= 1.5


@pytest.mark.parametrize(("share", "name", "far", "told"), [
    (2.0, "torsion", False, False), (2.1, "torsion", False, True), (2.1, "torsion", True, True),
    (2.1, "deflection", False, True), (2.1, "deflection", True, False),
    (4.0, "deflection", True, False), (4.1, "deflection", True, True)])
def test_what_breaks_a_cutter_is_let_through_no_farther_for_being_meant(
    share: float, name: str, far: bool, told: bool
) -> None:
    """Twice a limit may be asked for, and where it is meant four times, but of strength."""
    limits = tuple(
        Limit(Message(one), 1.0, "N", "feed", part, part, least) for one, part, least in (
            (name, share, False), ("chip load", 9.0, True), ("spindle power", 0.5, False)))
    cut = CutPlan(speed=10000, surface_speed=30, chip_load=0.01, feed=100, plunge_feed=50,
                  depth=1.0, width=1.0, limits=limits, governed_by={}, warnings=())
    bench = SimpleNamespace(words=SimpleNamespace(feed=100.0, far=far), place=lambda *_: None)
    found = _overstepped(bench, cut, ["feed"])  # type: ignore[arg-type]
    assert [name in str(one.message) for one in found] == [True] * told
