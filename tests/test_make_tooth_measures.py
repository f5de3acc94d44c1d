"""What a sheet asks to be measured of teeth, and what it says of what is off."""

from __future__ import annotations

import pytest
from cut_by_hand import cut

from camgen.job.models import Job
from camgen.job.reading import parse_job
from camgen.layout import HeadWork, tooth_layout
from camgen.make.told.on_head.tooth_measures import tooth_measures
from camgen.sheet.data import Measure
from camgen.shipped import shipped_folder
from camgen.shop.machines import find_machine
from camgen.steps import step_words
from camgen.words import languages, words


def asked(name: str, change: tuple[str, str] = ("", ""), language: str = "en"
          ) -> tuple[Job, dict[str, Measure]]:
    path = shipped_folder("jobs") / f"{name}.yaml"
    text = path.read_text(encoding="utf-8")
    assert change[0] in text
    job = parse_job(text.replace(*change, 1) if change[0] else text, path, step_words()).job
    setup = job.on_head[-1]
    layout = tooth_layout(job, setup, find_machine(job.post, path.parent))
    found = tooth_measures(job, HeadWork(setup, layout), words(language))
    return job, {one.name: one for one in found}


def test_depth_is_checked_at_the_root_and_only_leaves_are_thinned_by_it() -> None:
    _, wheel = asked("third-wheel")
    assert "checks the depth" in wheel["root"].correct
    assert "the cutter makes it" in wheel["tooth-thickness"].correct
    assert "deeper; with" not in wheel["tooth-thickness"].correct
    _, leaves = asked("seconds-pinion")
    # 10 leaves of module 0.14, one-third ogive: 0.01 off takes 0.0157 of depth.
    assert "go 0.0157 mm deeper" in leaves["tooth-thickness"].correct


def test_trial_spaces_cut_short_are_asked_for_as_they_are_then() -> None:
    job, found = asked("third-wheel", ("trial-spaces: 3}", "trial-spaces: 3, trial-short: 0.03}"))
    tooth = job.part.tooth()
    by_hand = cut(tooth, -0.03, 0.0, tooth.sizes.tip_diameter)
    assert found["trial-depth"].nominal == pytest.approx(
        (tooth.sizes.tip_diameter - by_hand.root) / 2, abs=1e-5)
    assert f"{tooth.sizes.chordal_height:.3f}" in found["trial-thickness"].what
    assert found["trial-thickness"].nominal == pytest.approx(
        by_hand.tooth(tooth.sizes.chordal_height), abs=2e-5)
    # They are no sizes of the finished wheel, so no record keeps them.
    assert [name for name, one in found.items() if not one.kept] == [
        "trial-depth", "trial-thickness"]


def test_what_a_blank_off_its_size_does_hangs_on_the_zero() -> None:
    _, touched = asked("third-wheel")
    _, by_axis = asked("third-wheel", ("zero: touch", "zero: axis"))
    assert "touched on it" in touched["blank"].correct
    assert "counts from the axis" in by_axis["blank"].correct


def test_part_of_a_circle_has_no_space_across_to_measure_over() -> None:
    _, found = asked("third-wheel", ("form: cycloidal", "form: cycloidal\n  only: [1, 20]"))
    assert "over-pins" not in found
    assert "to the blank's outside across" in found["root"].correct


@pytest.mark.parametrize("language", [one for one in languages() if one != "en"])
def test_all_of_it_is_said_in_every_language(language: str) -> None:
    change = ("trial-spaces: 3}", "trial-spaces: 3, trial-short: 0.03}")
    _, english = asked("third-wheel", change)
    _, other = asked("third-wheel", change, language)
    for name, one in english.items():
        assert other[name].correct != one.correct, name
