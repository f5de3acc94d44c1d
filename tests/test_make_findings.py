"""What the workshop found with a cutter, shown with the next job's cuts and kept to if so said."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from camgen.cutting.findings import ShopFinding
from camgen.make.chain import Proved, proved_job
from camgen.make.runs.findings import findings_of
from camgen.make.runs.recording import cutters_of, filled_run, read_form
from camgen.shipped import shipped_folder
from camgen.shop.cutters import parse_cutter

RATCHET = shipped_folder("jobs") / "ratchet-wheel.yaml"
CUTTER = "drill"


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """The ratchet wheel in a workshop of its own, and the same wheel again under another name."""
    jobs = tmp_path / "jobs"
    jobs.mkdir()
    text = RATCHET.read_text(encoding="utf-8")
    # Its blanks alone, which are made with the drill.
    text = text[:text.index("  - name: teeth")] + "made-elsewhere: [teeth]\n"
    (jobs / "again.yaml").write_text(text, encoding="utf-8")
    (jobs / "keeping.yaml").write_text(text + "keep-to-findings: true\n", encoding="utf-8")
    (jobs / "ratchet.yaml").write_text(text, encoding="utf-8")
    return jobs / "ratchet.yaml"


def record(job: Path, verdict: str, slower: float = 1.0) -> None:
    """The record of one run of ``job``, its drill at ``slower`` times the feed planned."""
    proved = proved_job(job)
    form = f"when: '2026-03-01'\nmade: 4\ncutters: [{{name: {CUTTER}, verdict: {verdict}}}]\n"
    run = filled_run(proved, read_form(form, "form")).model_dump(
        mode="json", by_alias=True, exclude_defaults=True)
    for used in run["cutters"]:
        used["feed"] *= slower
    job.with_name("ratchet.proof.yaml").write_text(
        yaml.safe_dump({"form": 1, "job": "ratchet", "runs": [run]}), encoding="utf-8")


def cuts(proved: Proved) -> list[Any]:
    """The cuts made with the drill."""
    return [cut for setup in proved.setups
            for section, cut in zip(setup.planned.moves.sections, setup.planned.cuts, strict=True)
            if section.cutter == CUTTER]


def found_by(job: Path) -> tuple[ShopFinding, ...]:
    drill = parse_cutter("drill 1.6 flute-length 10 reach 16")
    return findings_of(job.parent.parent, "tool-steel", [drill])


def programs(proved: Proved) -> list[bytes]:
    return [one.text for setup in proved.setups for one in setup.programs]


def test_a_workshop_without_records_has_found_nothing(job: Path) -> None:
    assert found_by(job) == ()


def test_a_run_tells_at_what_each_cutter_cut(job: Path) -> None:
    record(job, "fine")
    proved = proved_job(job)
    assert CUTTER in cutters_of(proved)
    (finding,) = found_by(job)
    hardest = max(cuts(proved), key=lambda cut: cut.force)
    assert (finding.result, finding.material) == ("fine", proved.material.name)
    assert finding.depth == pytest.approx(hardest.depth, abs=1e-4)
    assert finding.width == pytest.approx(hardest.width, abs=1e-4)
    assert finding.feed == pytest.approx(hardest.feed, abs=0.01)


def test_what_was_found_is_shown_and_changes_no_byte_of_a_program(job: Path) -> None:
    again = job.with_name("again.yaml")
    before = proved_job(again)
    assert not any(cut.findings for cut in cuts(before))
    record(job, "broke", 0.5)
    after = proved_job(again)
    assert all(len(cut.findings) == 1 for cut in cuts(after))
    assert all(any("the workshop found: broke" in line for line in cut.warnings)
               for cut in cuts(after))
    assert programs(after) == programs(before)
    assert after.prints == before.prints


def test_a_job_that_keeps_to_findings_cuts_no_faster_than_was_found_fine(job: Path) -> None:
    keeping = job.with_name("keeping.yaml")
    planned = [cut.feed for cut in cuts(proved_job(keeping))]
    record(job, "fine", 0.8)
    kept = proved_job(keeping)
    assert not kept.failed
    found = found_by(job)[0]
    for cut, before in zip(cuts(kept), planned, strict=True):
        assert cut.feed < before
        assert cut.feed == pytest.approx(found.feed, rel=1e-3)
        assert cut.governed_by["feed"] == "the workshop's finding"


def test_a_record_without_the_job_of_that_day_is_read_with_the_job_beside_it(job: Path) -> None:
    record(job, "chattered")
    path = job.with_name("ratchet.proof.yaml")
    told = yaml.safe_load(path.read_text(encoding="utf-8"))
    del told["runs"][0]["as-run"]
    path.write_text(yaml.safe_dump(told), encoding="utf-8")
    assert [one.result for one in found_by(job)] == ["chattered"]
    job.unlink()
    assert found_by(job) == ()


def test_only_cutters_like_the_one_in_hand_in_the_same_material_are_told_of(job: Path) -> None:
    record(job, "fine")
    workshop = job.parent.parent
    like = parse_cutter("drill 1.61 flute-length 10 reach 16")
    other = parse_cutter("drill 1.0 flute-length 10 reach 16")
    assert len(findings_of(workshop, "tool-steel", [like])) == 1
    assert findings_of(workshop, "tool-steel", [other]) == ()
    assert findings_of(workshop, "brass", [like]) == ()


def test_a_job_that_keeps_to_its_own_good_run_is_made_the_same_again(job: Path) -> None:
    keeping = job.with_name("keeping.yaml")
    before = proved_job(keeping)
    record(job, "fine")
    after = proved_job(keeping)
    assert programs(after) == programs(before)
    assert after.prints == before.prints


@pytest.mark.long
def test_a_job_made_otherwise_for_a_finding_is_no_longer_the_one_that_was_proven(job: Path) -> None:
    keeping = job.with_name("keeping.yaml")
    before = proved_job(keeping)
    record(job, "broke", 0.5)
    assert proved_job(keeping).prints != before.prints
