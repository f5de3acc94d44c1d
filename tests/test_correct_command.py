"""``camgen correct``: the word, the cause, or what to look at again; the job file kept whole."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from cut_by_hand import cut

from camgen.cli import group
from camgen.faults import Refused
from camgen.job.reading import read_job
from camgen.shipped import shipped_folder
from camgen.steps import step_words


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    for name in ("third-wheel", "seconds-pinion", "ratchet-wheel"):
        shutil.copy(shipped_folder("jobs") / f"{name}.yaml", tmp_path)
    return tmp_path


def run(job: Path, *words: str) -> Result:
    return CliRunner().invoke(group, ["correct", str(job), *words], catch_exceptions=False)


def told(job: Path, *words: str) -> str:
    result = run(job, *words)
    assert result.exit_code == 0, result.output
    return result.stdout


def refused(job: Path, *words: str) -> str:
    with pytest.raises(Refused) as no:
        run(job, *words)
    return str(no.value)


def asked(job: Path, sizes: str, *words: str) -> dict[str, float]:
    found = json.loads(told(job, "--measured", sizes, "--json", *words))["words"]
    return {f"{one['setup']}:{one['word']}": one["write"] for one in found}


def test_the_root_asks_for_depth_and_a_thin_tooth_names_the_cutter(shop: Path) -> None:
    job = shop / "third-wheel.yaml"
    answer = told(job, "--measured", "root=10.072,thickness=0.215")
    assert "depth-correction: 0.006 (now 0)" in answer
    assert "0.005 too wide" in answer
    assert "no depth mends that" in answer
    assert job.read_text() == (shipped_folder("jobs") / "third-wheel.yaml").read_text()


def test_a_wheel_cut_beside_its_figures_is_corrected_from_the_command_line(shop: Path) -> None:
    """Blank 0.02 too large, zero 0.005 off, cutter 5 µm too wide: read, corrected, cut again."""
    job = shop / "third-wheel.yaml"
    tooth = read_job(job, step_words()).job.part.tooth()
    blank, height = tooth.sizes.tip_diameter + 0.02, tooth.sizes.chordal_height
    first = cut(tooth, -0.015, 0.005, blank)
    sizes = (f"root={first.root:.3f},blank={blank:.3f},tip={first.tip:.3f},"
             f"thickness={first.tooth(height):.3f}")
    answer = told(job, "--measured", sizes, "--take")
    assert "0.005 too wide" in answer
    assert "the blank is 0.020 too large" in answer
    step = read_job(job, step_words()).job.setups[1].steps[0]
    then = cut(tooth, -0.015 + step.depth_correction, 0.005, blank)  # type: ignore[attr-defined]
    assert then.root == pytest.approx(tooth.sizes.root_diameter, abs=2e-3)


def test_what_is_written_into_the_job_leaves_every_other_byte(shop: Path) -> None:
    job = shop / "third-wheel.yaml"
    before = job.read_text()
    told(job, "--measured", "root=10.072", "--take")
    assert job.read_text() == before.replace(
        "trial-spaces: 3}", "trial-spaces: 3, depth-correction: 0.006}")
    # A second run measures with the first correction in force.
    assert asked(job, "root=10.062") == {"teeth:depth-correction": 0.007}


def test_thickness_alone_is_taken_for_depth_of_leaves_and_not_of_a_wheel(shop: Path) -> None:
    wheel = told(shop / "third-wheel.yaml", "--measured", "thickness=0.225")
    assert "depth is no remedy" in wheel
    assert "depth-correction" not in wheel
    pinion = shop / "seconds-pinion.yaml"
    assert "if the cutter is right" in told(pinion, "--measured", "thickness=0.15")
    assert "only if the cutter is" in refused(pinion, "--measured", "thickness=0.15", "--take")


@pytest.mark.parametrize(("sizes", "said"), [
    ("root=106", "look at its point"), ("root=10.6,thickness=2.2", "root measured 10.600"),
    ("rot=10", "no size of this job is called 'rot'"), ("root=x", "is no size as measured"),
    ("root=-3", "is no size as measured"), ("root=nan", "is no size as measured"),
    ("root", "is no size as measured"), ("root=10.06,root=10.07", "root is given twice"),
    ("across-teeth=3", "cannot be measured across several teeth"),
    ("trial-depth=0.4", "no trial spaces are cut short"),
])
def test_slips_are_asked_back(shop: Path, sizes: str, said: str) -> None:
    assert said in refused(shop / "third-wheel.yaml", "--measured", sizes)


@pytest.mark.parametrize(("sizes", "said"), [
    ("over-tips=10.7", "stand across"), ("root-to-tip=10.4", "stand across"),
    ("over-pins=10.9", "stand across"), ("root=10.072,thickness=0.215", ""),
])
def test_of_teeth_round_part_of_the_circle_nothing_is_read_across(
    shop: Path, sizes: str, said: str
) -> None:
    job = shop / "third-wheel.yaml"
    whole = told(job, "--measured", "root=10.072,thickness=0.215")
    text = job.read_text()
    job.write_text(text.replace("form: cycloidal\n", "form: cycloidal\n  only: [1, 20]\n"))
    assert job.read_text() != text
    if said:
        assert said in refused(job, "--measured", sizes)
    else:
        assert told(job, "--measured", sizes) == whole


def test_trial_spaces_cut_short_give_the_shift_of_the_zero(shop: Path) -> None:
    job = shop / "third-wheel.yaml"
    job.write_text(job.read_text().replace("trial-spaces: 3}",
                                           "trial-spaces: 3, trial-short: 0.03}"))
    tooth = read_job(job, step_words()).job.part.tooth()
    by_hand = cut(tooth, -0.03 - 0.008, 0.0, tooth.sizes.tip_diameter)
    deep = (tooth.sizes.tip_diameter - by_hand.root) / 2
    answer = told(job, "--measured", f"trial-depth={deep:.3f}")
    assert "move the zero of X by 0.008 towards -X" in answer or "by 0.008 towards" in answer
    assert "depth-correction: 0.008" in answer
    assert "of one moment" in refused(job, "--measured", f"trial-depth={deep:.3f},root=10.06")


def test_inches_in_and_out(shop: Path) -> None:
    job = shop / "inch.yaml"
    text = (shop / "seconds-pinion.yaml").read_text().replace("job: seconds", "units: inch\njob: s")
    for word, mm in (("length: 1.8", 1.8), ("diameter: 16", 16), ("thickness: 2", 2),
                     ("arbor: 10", 10), ("shank: 6", 6), ("reach: 15", 15), ("arbor: 0.60", 0.6),
                     ("length: 6", 6), ("centre: 1.5", 1.5), ("body: 6", 6), ("from: 12", 12)):
        text = text.replace(word, f"{word.split(':')[0]}: {mm / 25.4:.6f}")
    job.write_text(text)
    tooth = read_job(job, step_words()).job.part.tooth()
    root = (tooth.sizes.root_diameter + 0.01) / 25.4
    assert asked(job, f"root={root:.6f}") == {"leaves:depth-correction": round(0.005 / 25.4, 6)}


def test_a_filled_form_is_read(shop: Path) -> None:
    job, form = shop / "third-wheel.yaml", shop / "form.yaml"
    form.write_text("when: ''\nmade: 8\nsizes:\n  root: [10.071, 10.073]\n  bore: [0.794]\n")
    found = json.loads(told(job, "--form", str(form), "--json"))["words"]
    assert {one["word"]: one["write"] for one in found} == {
        "depth-correction": 0.006, "correction": 0.006}


def test_a_step_that_stands_in_another_job_is_not_changed(shop: Path) -> None:
    job = shop / "own.yaml"
    job.write_text("based-on: third-wheel.yaml\njob: own\nsetups: {blanks: null}\n")
    before = (shop / "third-wheel.yaml").read_bytes()
    assert "other jobs may be based on it" in refused(job, "--measured", "root=10.072", "--take")
    assert (shop / "third-wheel.yaml").read_bytes() == before


def test_two_setups_are_told_apart(shop: Path) -> None:
    job = shop / "third-wheel.yaml"
    text = job.read_text()
    second = text[text.index("  - name: teeth"):].replace("name: teeth", "name: again")
    job.write_text(text + second)
    assert "--setup: teeth, again" in refused(job, "--measured", "root=10.072")
    assert asked(job, "root=10.072", "--setup", "again") == {"again:depth-correction": 0.006}


def test_trial_spaces_too_deep_are_saved_while_they_are_short_of_the_end(shop: Path) -> None:
    job = shop / "third-wheel.yaml"
    job.write_text(job.read_text().replace("trial-spaces: 3}",
                                           "trial-spaces: 3, trial-short: 0.03}"))
    saved = told(job, "--measured", "trial-depth=0.434")
    assert "0.020 too deep, and still short" in saved
    assert "by 0.020 towards -Y" in saved
    finished = 0.444
    for depth in (finished, finished + 0.01):
        lost = told(job, "--measured", f"trial-depth={depth}")
        assert "what is cut stays so" in lost
        assert "still short" not in lost
        assert "move the zero" not in lost
        assert "given as whole-depth or root;" in lost
        assert asked(job, f"trial-depth={depth}") == {}
    assert "still short" in told(job, "--measured", f"trial-depth={finished - 0.002}")


def test_a_bore_and_an_outside_ask_for_the_words_of_their_steps(shop: Path) -> None:
    # A bore's correction is on the diameter, an outline's is metal left on each wall.
    found = json.loads(told(shop / "ratchet-wheel.yaml", "--measured", "bore=2.19,outside=9.02",
                            "--json"))["words"]
    assert {(one["kind"], one["write"]) for one in found} == {("bore", 0.01), ("outline", -0.01)}


def test_a_stop_deeper_than_the_space_is_asked_back(shop: Path) -> None:
    job = shop / "third-wheel.yaml"
    assert "teeth" in told(job, "--measured", "root=10.06,thickness=0.2198", "--height", "0.226")
    assert "does not measure a tooth" in refused(
        job, "--measured", "root=10.06,thickness=0.2198", "--height", "2.26")
