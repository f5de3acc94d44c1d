"""A kind of step added by the recipe in a copy: two files touched, and every room knows enough.

The newcomer copies ``spot`` and makes holes with it; nothing else of the program hears of it. All
jobs are made and proved in one run of the copy, for starting it costs more than they do.
"""

from __future__ import annotations

import json
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
    ("MakesMarks(Named(self.holes), self.depth, CONE_SHARE)",
     'MakesHoles(Named(self.holes), "as the cutter", self.depth)'),
    ("MakesMarks, Named", "MakesHoles, Named"), ("(Ability.SPOT,)", "(Ability.REAM,)"),
    ('Message("spot")', 'Message("smooth")'),
)
CUTTERS = "  reamer: {kind: reamer, diameter: 1.0, flute-length: 6, reach: %s}\nsetups:\n"


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the program with one kind of step more."""
    folder = tmp_path_factory.mktemp("copy")
    shutil.copytree(ROOT, folder / "camgen")
    for beside in ("postprocessors", "jobs"):
        shutil.copytree(ROOT.parent / beside, folder / beside)
    steps = folder / "camgen/steps"
    text = (steps / "holes/spot.py").read_text(encoding="utf-8")
    for old, new in OTHERWISE:
        assert old in text, old
        text = text.replace(old, new)
    (steps / "holes/smooth.py").write_text(text, encoding="utf-8")
    listed = (steps / "__init__.py").read_text(encoding="utf-8")
    listed = listed.replace("from camgen.steps.holes.spot import SPOT\n",
                            "from camgen.steps.holes.smooth import SMOOTH\n"
                            "from camgen.steps.holes.spot import SPOT\n")
    (steps / "__init__.py").write_text(listed.replace("FACE, SPOT,", "FACE, SMOOTH, SPOT,"),
                                       encoding="utf-8")
    return folder


STEP = "smooth: {cutter: reamer, holes: [dowels], depth: %s}"
SHORT = {"flute_length": 0.7, "shank": 0.9, "reach": 0.8, "holder": 6.0}


def with_step(step: str, setup: str = "train", before: str = "countersink",
              reach: str = "8") -> str:
    """The plate without its pockets, with one step more in one of its setups, before another."""
    text = "".join(line for line in PLATE.splitlines(keepends=True)
                   if not line.strip().startswith(("pockets:", "barrel:", "dial:", "- pocket:")))
    text = text.replace("setups:\n", CUTTERS % reach, 1)
    # Drilled narrower than they shall be, so that the newcomer finds something to take.
    text = text.replace("drill-10: {kind: drill, diameter: 1.0",
                        "drill-10: {kind: drill, diameter: 0.9")
    head, tail = text.split(f"  - name: {setup}", 1)
    line = f"      - {before}:"
    assert line in tail
    return f"{head}  - name: {setup}" + tail.replace(line, f"      - {step}\n{line}", 1)


FINE = with_step(STEP % "1.75")
UNOPENED = with_step(STEP % "1.75", before="drill")
DOWELS = {f"dowel {n}": with_step(f"smooth: {{cutter: reamer, {holes}depth: 0.5}}", "dial", "bore")
          for n, holes in enumerate(("holes: [dowels], ", "holes: [dowels-2], ", ""))}
SHORTER = FINE.replace("flute-length: 6, reach: 8",
                       "flute-length: 0.7, shank: 0.9, reach: 0.8, holder: 6")
# Jobs to be made whole, and jobs of which the last setup named is proved though no check is made:
# the job, the setup, and what the reamer in the rack is otherwise.
MADE = {"fine": FINE, "unopened": UNOPENED, "shorter": SHORTER, **DOWELS}
PROVED = {"fine": (FINE, "train", {}), "unopened": (UNOPENED, "train", {}),
          "dowel": (DOWELS["dowel 0"], "dial", {}), "shorter": (FINE, "train", SHORT)}
RUN = """
import json, sys
from pathlib import Path
from click.testing import CliRunner
from camgen.cli import group
from camgen.faults import Refused
from camgen.job.reading import parse_job
from camgen.plan import plan_job
from camgen.post.writer import write_programs
from camgen.proof import gather
from camgen.proof.table.cutter_body import prove_cutter_body
from camgen.proof.table.holes_found import prove_holes_found
from camgen.proof.table.rapids import prove_flat_rapids
from camgen.proof.table.upright import prove_upright
from camgen.reader import read_program
from camgen.shop.machine import DrivenHead, Machine
from camgen.steps import step_words

jobs = json.load(sys.stdin)
machine = Machine(name="bench", describes="a bench mill for tests", dividing=DrivenHead())
found = {"made": {}, "proved": {}}
for name, text in jobs["made"].items():
    Path("job.yaml").write_text(text, encoding="utf-8")
    answer = CliRunner().invoke(group, ["make", "job.yaml", "--out", name, "--no-pictures"])
    refused = str(answer.exception) if isinstance(answer.exception, Refused) else ""
    found["made"][name] = (answer.exit_code, " ".join((answer.output + refused).split()))
planned = {}
for name, (text, setup, other) in jobs["proved"].items():
    job = parse_job(text, Path("job.yaml"), step_words())
    if text not in planned:
        planned[text] = plan_job(job, machine).setups
    (one,) = [each for each in planned[text] if each.name == setup]
    read = [read_program(each.text, machine, each.file)
            for each in write_programs(one.moves, machine, stem=one.name)]
    seen = gather(one.name, job.job, machine, one.layout, one.moves, read, planned_cuts=one.cuts)
    racked = {number: cutter.model_copy(update=other) if cutter.kind == "reamer" else cutter
              for number, cutter in seen.cutters.items()}
    seen = gather(one.name, job.job, machine, one.layout, one.moves, read, racked,
                  planned_cuts=one.cuts)
    proofs = [proof for ask in (prove_flat_rapids, prove_upright, prove_cutter_body,
                                prove_holes_found) for proof in ask(seen)]
    assert len(proofs) > 3
    found["proved"][name] = [str(proof.id) for proof in proofs if not proof.holds]
print(json.dumps(found))
"""
Found = dict[str, dict[str, list[object]]]


@pytest.fixture(scope="module")
def found(copy: Path) -> Found:
    """What the copy answers to every job: status and text, and the proofs that fail."""
    run = subprocess.run(
        [sys.executable, "-c", RUN], cwd=copy, text=True, timeout=240, capture_output=True,
        input=json.dumps({"made": MADE, "proved": PROVED}), check=False,
        env={**os.environ, "PYTHONPATH": str(copy)})
    assert run.returncode == 0, run.stderr
    answer: Found = json.loads(run.stdout)
    return answer


def test_a_kind_of_step_is_one_module_and_one_line(copy: Path, found: Found) -> None:
    touched = [path for path in (copy / "camgen").rglob("*.py")
               if not (ROOT / path.relative_to(copy / "camgen")).exists()
               or path.read_bytes() != (ROOT / path.relative_to(copy / "camgen")).read_bytes()]
    assert sorted(path.name for path in touched) == ["__init__.py", "smooth.py"]
    status, told = found["made"]["fine"]
    assert status == 0, told


@pytest.mark.parametrize("name", DOWELS)
def test_the_new_step_is_told_not_to_go_into_a_dowel(name: str, found: Found) -> None:
    status, told = found["made"][name]
    assert status == 1
    assert "smooth would cut into the dowel that stands in dowels" in str(told)


def test_unharmed_no_proof_of_the_table_fails(found: Found) -> None:
    assert found["proved"]["fine"] == []


def test_the_new_step_is_caught_at_a_dowel(found: Found) -> None:
    """Where no check had told of it, the motion does."""
    assert "table.dowels" in found["proved"]["dowel"]


def test_the_new_step_is_caught_in_a_hole_that_is_not_open(found: Found) -> None:
    """A reamer that does not say what it must find: the motion alone tells."""
    (failed,) = found["proved"]["unopened"]
    assert str(failed).startswith("table.hole-open-before: cutter ")
    assert found["made"]["unopened"][0] != 0


def test_the_new_step_is_caught_by_its_holder(found: Found) -> None:
    """By the check that any step is asked, and with another reamer in the rack by the motion."""
    status, told = found["made"]["shorter"]
    assert status == 1
    assert "the collet would come down" in str(told)
    (failed,) = found["proved"]["shorter"]
    assert str(failed).startswith("table.cutter-body: collet, cutter ")
