"""``camgen speeds`` as it is typed."""

from __future__ import annotations

import io
import json
from pathlib import Path

import numpy as np
import pytest
import yaml
from click.testing import CliRunner, Result
from PIL import Image
from sampling import sampled

from camgen.commands.speeds import speeds
from camgen.faults import Refused
from camgen.make.runs.findings import findings_of
from camgen.shop.cutters import parse_cutter

MILL = "end-mill 0.4 2 flutes flute-length 0.8 reach 1.6"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def typed(*words: str) -> Result:
    return CliRunner().invoke(speeds, list(words))


def refused(*words: str) -> Refused:
    result = typed(*words)
    assert isinstance(result.exception, Refused), result.output
    return result.exception


def test_the_answer_names_each_limit_and_how_far_it_is(folder: Path) -> None:
    result = typed("--material", "brass", "--cutter", MILL, "--post", "plain-iso")
    assert result.exit_code == 0
    for words in ("speed 24000 rev/min", "spindle's highest speed", "feed 192 mm/min",
                  "chip load", "deflection", "bending stress", "torsion", "spindle torque",
                  "spindle power", "least chip", "surface speed", "axis feed", "flute length",
                  "governs", "caution: Leaded brass"):
        assert words in result.output
    assert result.output.isprintable() or "\n" in result.output


def test_a_program_reads_the_same_figures(folder: Path) -> None:
    words = ("--material", "brass", "--cutter", MILL, "--width", "0.2", "--depth", "0.3")
    plain, read = typed(*words), json.loads(typed(*words, "--json").output)
    assert f"speed {read['speed']:.0f} rev/min" in plain.output
    assert read["governed_by"].keys() == {"speed", "feed", "depth", "width"}
    assert read["width"] == 0.2
    assert read["passes"] * read["depth"] >= 0.3 * (1 - 1e-9)
    assert {one["name"] for one in read["limits"]} >= {"deflection", "least chip", "spindle power"}


def test_where_nothing_is_safe_it_says_what_would_help(folder: Path) -> None:
    no = refused("--material", "316l", "--cutter", "end-mill 0.1 2 flutes reach 2")
    text = str(no)
    assert "deflection" in text
    assert "each of these alone would do: a stick-out of at most" in text


def test_all_that_is_wrong_is_said_at_once(folder: Path) -> None:
    no = refused("--material", "bras", "--cutter", "endmil 0.4", "--post", "plan-iso")
    text = str(no)
    for words in ("did you mean brass", "did you mean endmill", "plain-iso"):
        assert words in text


def test_at_once_needs_a_depth(folder: Path) -> None:
    assert typed("--material", "brass", "--cutter", MILL, "--at-once").exit_code == 2
    result = typed("--material", "brass", "--cutter", MILL, "--at-once", "--depth", "0.25")
    assert "depth 0.25 mm: asked" in result.output


def test_sources_are_told_when_asked_for(folder: Path) -> None:
    result = typed("--material", "gold-750", "--cutter", MILL, "--sources")
    assert "[cheng-2018] paper, 2018" in result.output
    assert "from memory" in result.output
    assert "fineness: 750 per mille" in result.output


def test_the_workshops_own_values_are_used_and_named(folder: Path) -> None:
    (folder / "materials.yaml").write_text(
        "brass-leaded:\n  chip-load: {value: 0.006, source: our trials}\n", encoding="utf-8")
    result = typed("--material", "brass", "--cutter", MILL, "--sources")
    assert "from the workshop's own table: chip-load" in result.output
    assert "our trials" in result.output
    assert "feed 115 mm/min" in result.output


@pytest.mark.parametrize("ending", sampled(["png", "svg", "pdf"], 3))
def test_a_picture_is_drawn_the_same_every_time(folder: Path, ending: str) -> None:
    first, second = f"one.{ending}", f"two.{ending}"
    for name in (first, second):
        result = typed("--material", "brass", "--cutter", MILL, "--picture", name)
        assert result.exit_code == 0, result.output
    content = (folder / first).read_bytes()
    assert content == (folder / second).read_bytes()
    assert content.startswith({"png": b"\x89PNG", "svg": b"<?xml", "pdf": b"%PDF"}[ending])


def test_the_picture_reads_in_black_and_white(folder: Path) -> None:
    typed("--material", "brass", "--cutter", MILL, "--picture", "one.png")
    grey = np.asarray(Image.open(io.BytesIO((folder / "one.png").read_bytes())).convert("L"))
    paper = grey.max()
    # Shaded ground, and lines darker than any shade: both stand out from the paper without colour.
    shaded = ((grey < paper - 25) & (grey > 150)).mean()
    inked = (grey < 110).mean()
    assert shaded > 0.05
    assert 0.01 < inked < 0.2


def test_a_picture_of_another_kind_or_for_a_drill_is_refused(folder: Path) -> None:
    assert "no picture is made" in str(refused("--material", "brass", "--cutter", MILL,
                                               "--picture", "one.gif"))
    assert "no question for the drill" in str(refused(
        "--material", "brass", "--cutter", "drill 0.5 reach 3", "--picture", "one.png"))
    assert not list(folder.iterdir())


def recorded(folder: Path, verdict: str, feed: float) -> None:
    """A job in the workshop with the record of one run."""
    jobs = folder / "jobs"
    jobs.mkdir(exist_ok=True)
    job = {
        "job": "plate", "material": "brass",
        "wheel": {"teeth": 75, "module": 0.14, "mate": 10, "thickness": 0.25, "bore": 0.8},
        "cutters": {"mill": {"kind": "end-mill", "diameter": 0.4, "flutes": 2, "flute-length": 0.8,
                             "reach": 1.6}},
        "setups": [{"name": "blanks", "stock": {"sheet": [30, 30], "thickness": 0.25},
                    "holding": {"by": "shellac", "carrier": "brass", "carrier-thickness": 3,
                                "cut-into": 0.1, "holds-slugs": True},
                    "steps": [{"outline": {"cutter": "mill"}}]}]}
    (jobs / "plate.yaml").write_text(yaml.safe_dump(job), encoding="utf-8")
    run = {"when": "2026-03-01", "post": "plain-iso", "pieces": {"made": 4},
           "cutters": [{"name": "mill", "verdict": verdict, "feed": feed, "speed": 24000.0}],
           "prints": {"job": "a", "tables": "b", "machine": "c", "writer": "0"}}
    (jobs / "plate.proof.yaml").write_text(
        yaml.safe_dump({"form": 1, "job": "plate", "runs": [run]}), encoding="utf-8")


def test_what_the_workshop_found_is_shown_and_kept_to(folder: Path) -> None:
    recorded(folder, "fine", 150.0)
    assert [one.told() for one in findings_of(folder, "brass", [parse_cutter(MILL)])] == [
        "fine at 24000 rev/min, 150 mm/min (plate, 2026-03-01)"]
    shown = typed("--material", "brass", "--cutter", MILL)
    assert "found here before: fine at 24000 rev/min, 150 mm/min (plate, 2026-03-01)" in (
        shown.output)
    assert "feed 192 mm/min" in shown.output
    kept = typed("--material", "brass", "--cutter", MILL, "--keep")
    assert "feed 150 mm/min" in kept.output
    assert "the workshop's finding" in kept.output
    other = typed("--material", "gold-750", "--cutter", MILL)
    assert "found here before" not in other.output


def test_a_cut_that_broke_a_cutter_is_warned_of(folder: Path) -> None:
    recorded(folder, "broke", 160.0)
    shown = typed("--material", "brass", "--cutter", MILL)
    assert "heed: the workshop found: broke at 24000 rev/min, 160 mm/min" in shown.output


def test_a_record_that_cannot_be_read_is_passed_over(folder: Path) -> None:
    recorded(folder, "fine", 150.0)
    (folder / "jobs" / "plate.proof.yaml").write_text("form: [", encoding="utf-8")
    assert findings_of(folder, "brass", [parse_cutter(MILL)]) == ()
