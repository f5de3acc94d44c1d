"""Spotting that makes the countersinks too: one step, one change of the cutter less."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from workshop import DRIVEN, PLATE, plate, read

from camgen.faults import Refused
from camgen.job.checks.whole_job import job_faults
from camgen.make.chain import proved_job
from camgen.make.timing import put_in_again
from camgen.moves import Drill

SUNK = PLATE.replace("made-elsewhere: [holes, ", "made-elsewhere: [").replace(
    "spot-drill, diameter: 1.0", "spot-drill, diameter: 2.0").replace(
    "train: {diameter: 1.2", "train: {countersink: 1.8, diameter: 1.2")
DRILLED = "drill: {cutter: drill, holes: [train, screws, feet]}"


@pytest.mark.parametrize(("angle", "deep"), [(90, 0.9), (120, 0.5196), (60, 1.5588)])
def test_a_cone_is_spotted_to_its_width_with_the_cutters_own_angle(
    angle: int, deep: float
) -> None:
    text = SUNK.replace("point-angle: 90", f"point-angle: {angle}").replace(
        "cut-into: 0.5", "cut-into: 1")
    planned = plate("spot: {cutter: spot, countersinks: true, depth: 0.2}", text=text)
    down = [one for one in planned.moves.sections[0].moves if isinstance(one, Drill)]
    assert len(down) == 5
    for one in down:
        sunk = (one.x, one.y) == (5, -1)
        assert one.bottom == pytest.approx(-deep if sunk else -0.2, abs=1e-4)
        assert (one.dwell > 0) == sunk


def _faults(*steps: str, text: str = SUNK) -> list[str]:
    return [str(fault.message) for fault in job_faults(
        read(text + "".join(f"      - {step}\n" for step in steps)), DRIVEN)]


def test_it_is_declared_so_no_countersink_is_missed_and_one_more_is_idle() -> None:
    spot = "spot: {cutter: spot, countersinks: true}"
    unsunk = _faults("spot: {cutter: spot}", DRILLED)
    assert any("countersink of train" in one for one in unsunk), unsunk
    assert not [one for one in _faults(spot, DRILLED) if "countersink" in one]
    twice = _faults(spot, DRILLED, "countersink: {cutter: spot}")
    assert any("countersink finds nothing to cut at train: step 1 of top, spot" in one
               for one in twice), twice


@pytest.mark.parametrize(("text", "step", "told"), [
    (SUNK.replace("countersink: 1.8, ", ""), "spot: {cutter: spot, countersinks: true}",
     "no hole is countersunk"),
    (SUNK, "spot: {cutter: spot, holes: [screws], countersinks: true}", "no hole is countersunk"),
    (SUNK.replace("sink: 1.8", "sink: 2.2"), "spot: {cutter: spot, countersinks: true}",
     "wider than the cutter"),
    (SUNK, "spot: {cutter: drill, countersinks: true}", "cannot be done with drill"),
])
def test_what_cannot_be_spotted_so_is_refused_in_its_words(
    text: str, step: str, told: str
) -> None:
    with pytest.raises(Refused, match=told):
        plate(step, text=text)


def test_a_cock_spotted_so_is_proved_with_a_change_less(tmp_path: Path) -> None:
    source = Path(__file__).parents[1] / "jobs" / "balance-cock.yaml"
    text = source.read_text("utf-8")
    assert "      - countersink: {cutter: cone}\n" in text
    file = tmp_path / "cock.yaml"
    file.write_text(text.replace("      - countersink: {cutter: cone}\n", "").replace(
        "- spot: {cutter: cone}", "- spot: {cutter: cone, countersinks: true}"), "utf-8")
    proved = proved_job(file)
    (setup,) = proved.setups
    assert all(proof.holds for proof in setup.proofs)
    assert any(proof.id.kind == "flat.countersink" for proof in setup.proofs)
    cutters = [section.cutter for section in setup.planned.moves.sections]
    assert cutters == ["cone", "drill-12", "drill-08", "fine", "mill"]


def test_the_account_names_the_word() -> None:
    setup = plate("spot: {cutter: spot}", DRILLED, "countersink: {cutter: spot}", text=SUNK)
    section = setup.moves.sections[0]
    of = [replace(section, cutter=name, step=n) for n, name in enumerate(("spot", "drill", "spot"))]
    steps = setup.setup.steps
    assert str(put_in_again(of, steps)) == (
        "one cutter change less: countersinks: true with step 1, which marks the holes, and step "
        "3 left out")
