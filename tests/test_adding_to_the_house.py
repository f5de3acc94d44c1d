"""What may be added without touching the rest: a machine, a material and a proof, each by the
recipe in a copy of the checkout, and how many files that touches.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parent.parent

PROOF = '''"""Is anything fed so slowly that the edge only rubs?"""

from __future__ import annotations

import numpy as np

from camgen.proof.evidence import Evidence
from camgen.proof.result import Proof, ProofId

__all__ = ["prove_lowest_feed"]

LOWEST = ProofId("motion", "lowest-feed")


def prove_lowest_feed(evidence: Evidence) -> Proof:
    """No fed move slower than a millimetre a minute."""
    slow = np.nonzero(evidence.cut & (evidence.motion.feed < {least}))[0]
    return evidence.at_most(LOWEST, "moves that only rub", len(slow), 0, "moves",
                            int(slow[0]) if len(slow) else None)
'''

MACHINE = """\
name: corner-mill
describes: a small mill in the corner of a workshop
x: {travel: 180, rapid: 1800, feed-limit: 900}
y: {travel: 110, rapid: 1800, feed-limit: 900}
z: {travel: 110, rapid: 1200, feed-limit: 500}
dividing:
  kind: driven
  letter: A
  arrangement: {along: -X, infeed: +Y, across: Z}
spindle:
  lowest: 300
  highest: 20000
  power: [[300, 6], [1000, 20], [10000, 150], [20000, 150]]
"""


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """A copy of what is shipped."""
    for name in ("camgen", "jobs", "postprocessors"):
        shutil.copytree(TOP / name, tmp_path / name,
                        ignore=shutil.ignore_patterns("__pycache__"))
    return tmp_path


def sums(top: Path) -> dict[str, str]:
    """Every file with the sum of what is in it."""
    return {str(path.relative_to(top)): hashlib.sha256(path.read_bytes()).hexdigest()
            for path in sorted(top.rglob("*"))
            if path.is_file() and "__pycache__" not in path.parts and "out" not in path.parts}


def touched(top: Path, before: dict[str, str]) -> list[str]:
    """The files that are not as they were."""
    after = sums(top)
    return [name for name in sorted({*before, *after}) if before.get(name) != after.get(name)]


def make(top: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """What ``camgen make`` of the copy says."""
    return subprocess.run(
        [sys.executable, "-c", "from camgen.cli import main; main()", "make", *words,
         "--out", str(top / "out"), "--no-pictures"],
        cwd=top, env={**os.environ, "PYTHONPATH": str(top)}, capture_output=True, text=True,
        check=False)


def with_the_proof(top: Path, least: str) -> None:
    """The recipe for a proof: its module, and one place in the room's list."""
    (top / "camgen/proof/motion/lowest_feed.py").write_text(PROOF.format(least=least))
    room = top / "camgen/proof/__init__.py"
    text = room.read_text()
    last = "    yield from prove_stations(evidence)\n"
    assert text.count(last) == 1
    text = text.replace(last, f"{last}    yield prove_lowest_feed(evidence)\n")
    first = "from camgen.proof.motion.same_motion import"
    room.write_text(text.replace(
        first, f"from camgen.proof.motion.lowest_feed import prove_lowest_feed\n{first}"))


@pytest.mark.parametrize(("least", "holds"), [("1.0", True), ("1e6", False)])
def test_a_proof_is_one_module_and_one_place(copy: Path, least: str, holds: bool) -> None:
    before = sums(copy)
    with_the_proof(copy, least)
    assert len(touched(copy, before)) <= 2
    said = make(copy, "jobs/seconds-pinion.yaml")
    assert said.returncode == (0 if holds else 3), said.stdout + said.stderr
    if holds:
        report = json.loads((copy / "out/report.json").read_text())
        mine = [one for one in _proofs(report) if one["id"] == "motion.lowest-feed"]
        assert mine
        assert all(one["holds"] and one["name"] == "moves that only rub" for one in mine)
    else:
        assert "moves that only rub" in said.stdout + said.stderr
        assert not list((copy / "out").glob("*.nc"))


def _proofs(report: object) -> list[dict[str, object]]:
    """Every proof of a report, wherever it stands."""
    if isinstance(report, dict):
        mine = [report] if {"id", "holds"} <= set(report) else []
        return mine + [one for part in report.values() for one in _proofs(part)]
    if isinstance(report, list):
        return [one for part in report for one in _proofs(part)]
    return []


def test_a_machine_is_one_file(copy: Path) -> None:
    before = sums(copy)
    (copy / "postprocessors/corner-mill.yaml").write_text(MACHINE)
    assert len(touched(copy, before)) == 1
    said = make(copy, "jobs/seconds-pinion.yaml", "--post", "corner-mill")
    assert said.returncode == 0, said.stdout + said.stderr
    assert "corner-mill" in said.stdout
    assert list((copy / "out").glob("*.nc"))


def test_a_material_is_one_entry(copy: Path) -> None:
    """Invented for the test: the plain brass's figures under another name."""
    before = sums(copy)
    table = copy / "camgen/shop/data/materials.yaml"
    text = table.read_text()
    brass = text[text.index("\nbrass-plain:"):text.index("\ncopper-beryllium:")]
    entry = brass.replace("brass-plain:", "brass-of-the-corner:").replace(
        "[CuZn37, CW508L, lead-free-brass]", "[]").replace("plain brass CuZn37", "corner brass")
    table.write_text(text.rstrip() + "\n" + entry)
    assert len(touched(copy, before)) == 1
    job = (copy / "jobs/third-wheel.yaml").read_text()
    (copy / "jobs/corner.yaml").write_text(
        job.replace("material: brass-leaded", "material: brass-of-the-corner"))
    said = make(copy, "jobs/corner.yaml")
    assert said.returncode == 0, said.stdout + said.stderr
    assert "corner brass" in said.stdout
