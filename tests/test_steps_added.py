"""A kind of step added by the recipe in a copy: two files touched, and every room knows enough.

The newcomer copies ``spot`` and makes holes with it; nothing else of the program hears of it.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from two_sided import PLATE

import camgen

ROOT = Path(camgen.__file__).parent
# What the newcomer writes otherwise than in `spot`.
OTHERWISE = (
    ('kind: ClassVar[str] = "spot"', 'kind: ClassVar[str] = "smooth"'),
    ("class Spot(StepWords)", "class Smooth(StepWords)"), ("words: Spot", "words: Smooth"),
    ('SPOT = StepKind("spot", Spot,', 'SMOOTH = StepKind("smooth", Smooth,'),
    ('__all__ = ["SPOT", "Spot"]', '__all__ = ["SMOOTH", "Smooth"]'),
    ("MakesMarks(Named(self.holes), self.depth)",
     'MakesHoles(Named(self.holes), "as the cutter", self.depth)'),
    ("MakesMarks, Named", "MakesHoles, Named"), ("(Ability.SPOT,)", "(Ability.REAM,)"),
    ('bench.section("spot"', 'bench.section("smooth"'),
)
CUTTERS = "  reamer: {kind: reamer, diameter: 1.0, flute-length: 6, reach: %s}\nsetups:\n"


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the program with one kind of step more."""
    folder = tmp_path_factory.mktemp("copy")
    shutil.copytree(ROOT, folder / "camgen", ignore=shutil.ignore_patterns("__pycache__"))
    for beside in ("postprocessors", "jobs"):
        shutil.copytree(ROOT.parent / beside, folder / beside)
    steps = folder / "camgen/steps"
    text = (steps / "spot.py").read_text(encoding="utf-8")
    for old, new in OTHERWISE:
        assert old in text, old
        text = text.replace(old, new)
    (steps / "smooth.py").write_text(text, encoding="utf-8")
    listed = (steps / "__init__.py").read_text(encoding="utf-8")
    listed = listed.replace("from camgen.steps.spot import SPOT\n",
                            "from camgen.steps.smooth import SMOOTH\n"
                            "from camgen.steps.spot import SPOT\n")
    (steps / "__init__.py").write_text(listed.replace("FACE, SPOT,", "FACE, SMOOTH, SPOT,"),
                                       encoding="utf-8")
    return folder


def made(copy: Path, text: str) -> tuple[int, str]:
    """What the copy says when the job in ``text`` is made."""
    job = copy / "job.yaml"
    job.write_text(text, encoding="utf-8")
    start = "import sys; from camgen.cli import main; sys.argv[0] = 'camgen'; main()"
    run = subprocess.run(
        [sys.executable, "-c", start, "make", str(job), "--out", str(copy / "out"),
         "--no-pictures"], cwd=copy, text=True, timeout=120, capture_output=True, check=False,
        env={**os.environ, "PYTHONPATH": str(copy)})
    return run.returncode, " ".join((run.stdout + run.stderr).split())


def with_step(step: str, setup: str = "train", before: str = "countersink",
              reach: str = "8") -> str:
    """The plate with one step more in one of its setups, before another."""
    text = PLATE.replace("setups:\n", CUTTERS % reach, 1)
    head, tail = text.split(f"  - name: {setup}", 1)
    line = f"      - {before}:"
    assert line in tail
    return f"{head}  - name: {setup}" + tail.replace(line, f"      - {step}\n{line}", 1)


def test_a_kind_of_step_is_one_module_and_one_line(copy: Path) -> None:
    touched = [path for path in (copy / "camgen").rglob("*.py")
               if not (ROOT / path.relative_to(copy / "camgen")).exists()
               or path.read_bytes() != (ROOT / path.relative_to(copy / "camgen")).read_bytes()]
    assert sorted(path.name for path in touched) == ["__init__.py", "smooth.py"]
    status, told = made(copy, with_step("smooth: {cutter: reamer, holes: [dowels], depth: 1.0}"))
    assert status == 0, told


@pytest.mark.parametrize("holes", ["holes: [dowels], ", "holes: [dowels-2], ", ""])
def test_the_new_step_does_not_go_into_a_dowel(copy: Path, holes: str) -> None:
    status, told = made(copy, with_step(f"smooth: {{cutter: reamer, {holes}depth: 0.5}}",
                                        "dial", "bore"))
    assert status == 1
    assert "smooth would cut into the dowel that stands in dowels" in told


def failed(copy: Path, text: str) -> set[str]:
    """The kinds of the proofs that fail when the copy proves the job in ``text``."""
    job = copy / "proved.yaml"
    job.write_text(text, encoding="utf-8")
    start = ("from pathlib import Path; from camgen.make.chain import proved_job; "
             f"done = proved_job(Path({str(job)!r})); assert len(done.proofs) > 50; "
             "print(*(one.id.kind for one in done.proofs if not one.holds))")
    run = subprocess.run(
        [sys.executable, "-c", start], cwd=copy, text=True, timeout=120, capture_output=True,
        check=True, env={**os.environ, "PYTHONPATH": str(copy)})
    return set(run.stdout.split())


def test_unharmed_no_proof_fails(copy: Path) -> None:
    text = with_step("smooth: {cutter: reamer, holes: [dowels], depth: 1.0}")
    assert failed(copy, text) == set()


def test_the_new_step_is_caught_in_a_hole_that_is_not_open(copy: Path) -> None:
    """A reamer that does not say what it must find: the motion alone tells."""
    step = "smooth: {cutter: reamer, holes: [dowels], depth: 1.0}"
    status, told = made(copy, with_step(step, before="drill"))
    assert status == 3
    assert "open" in told
    assert "table.hole-open-before" in failed(copy, with_step(step, before="drill"))


def test_the_new_step_is_caught_by_its_holder(copy: Path) -> None:
    """Before anything is proved, by what any step is asked."""
    text = with_step("smooth: {cutter: reamer, holes: [dowels], depth: 1.0}", reach="0.8")
    text = text.replace("flute-length: 6, reach: 0.8", "flute-length: 0.7, shank: 0.9, reach: 0.8")
    status, told = made(copy, text)
    assert status == 1
    assert "the collet would come down" in told
