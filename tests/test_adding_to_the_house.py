"""What may be added without touching the rest: a machine, a material, a proof and a tooth form,
each by the recipe in a copy of the checkout, and how many files that touches.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from dataclasses import dataclass
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
LEAST = 1.0


def prove_lowest_feed(evidence: Evidence) -> Proof:
    """No fed move slower than a millimetre a minute."""
    slow = np.nonzero(evidence.cut & (evidence.motion.feed < LEAST))[0]
    return evidence.at_most(LOWEST, "moves that only rub", len(slow), 0, "moves",
                            int(slow[0]) if len(slow) else None)
'''

FORM = '''"""Straight-sided spaces: a slot of one width and depth between the teeth."""

from __future__ import annotations

import cmath
import math

from camgen.faults import Fault, Refused
from camgen.messages import Message
from camgen.teeth.outlines.building import checked_module, sizes_of, symmetric_tooth
from camgen.teeth.outlines.curves import FlankArc, Line
from camgen.teeth.form import Asked, Mating, Number, OwnWord, Teeth, ToothedPart, ToothForm
from camgen.teeth.tooth import Tooth

__all__ = ["FORM"]

SHARE: OwnWord[float] = OwnWord(
    "slot", Number(above=0.1, below=0.9), 0.5, "slotted only: width of a slot, in pitches",
    "slotted: width of a slot, in pitches")


def _built(asked: Asked) -> Tooth:
    checked_module(asked.module)
    tip = asked.teeth * asked.module / 2
    root = tip - 2 * asked.module
    half = asked.of(SHARE) * math.pi * asked.module / 2
    if half >= root:
        raise Refused(Fault(Message("the slots leave no body"),
                            Message("a narrower slot is needed")))
    foot, top = (complex(math.sqrt(r * r - half * half), half) for r in (root, tip))
    middle = math.pi / asked.teeth
    if cmath.phase(top) >= middle:
        raise Refused(Fault(Message("the slots leave no teeth"),
                            Message("a narrower slot is needed")))
    pieces = [FlankArc(complex(root), 0j, cmath.phase(foot)), Line(foot, top),
              FlankArc(top, 0j, middle - cmath.phase(top))]
    thick = 2 * tip * (middle - cmath.phase(top))
    return symmetric_tooth("slotted", sizes_of(asked.teeth, asked.module, tip, root, thick),
                           pieces)


FORM = ToothForm("slotted", (
    Teeth(ToothedPart.WHEEL, "slotted", Message("slotted wheels"), _built, (SHARE,), Mating.NONE),
))
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


def copied(folder: Path) -> Path:
    """A copy of what is shipped."""
    for name in ("camgen", "jobs", "postprocessors"):
        # With what was compiled already, which is good for as long as its source is as old.
        shutil.copytree(TOP / name, folder / name)
    return folder


def stamps(top: Path) -> dict[str, tuple[int, int]]:
    """Every file with its size and when it was written, ns."""
    return {str(path.relative_to(top)): (path.stat().st_size, path.stat().st_mtime_ns)
            for path in sorted(top.rglob("*"))
            if path.is_file() and "__pycache__" not in path.parts}


# Runs several command lines in one process of the copy, and prints what each answers. A line of one
# number is what the added proof takes for too slow from there on.
ANSWERS = """
import contextlib, io, json, sys
from camgen.cli import main
answers = []
for line in json.loads(sys.argv[1]):
    if isinstance(line, float):
        from camgen.proof.motion import lowest_feed
        lowest_feed.LEAST = line
        continue
    sys.argv, told, status = ["camgen", *line], io.StringIO(), 0
    with contextlib.redirect_stdout(told), contextlib.redirect_stderr(told):
        try:
            main()
        except SystemExit as end:
            status = int(end.code or 0)
    answers.append((status, told.getvalue()))
print(json.dumps(answers))
"""


def said(top: Path, *lines: list[str] | float) -> list[tuple[int, str]]:
    """Status and answer of each command line, in a copy."""
    done = subprocess.run(
        [sys.executable, "-c", ANSWERS, json.dumps(lines)], cwd=top,
        env={**os.environ, "PYTHONPATH": str(top)}, capture_output=True, text=True, check=True)
    return [(status, told) for status, told in json.loads(done.stdout)]


def with_the_proof(top: Path) -> None:
    """The recipe for a proof: its module, and one place in the room's list."""
    (top / "camgen/proof/motion/lowest_feed.py").write_text(PROOF)
    room = top / "camgen/proof/__init__.py"
    text = room.read_text()
    last = "    yield from prove_stations(evidence)\n"
    assert text.count(last) == 1
    text = text.replace(last, f"{last}    yield prove_lowest_feed(evidence)\n")
    first = "from camgen.proof.motion.same_motion import"
    room.write_text(text.replace(
        first, f"from camgen.proof.motion.lowest_feed import prove_lowest_feed\n{first}"))


def with_the_machine(top: Path) -> None:
    """The recipe for a machine: its file."""
    (top / "postprocessors/corner-mill.yaml").write_text(MACHINE)


def with_the_material(top: Path) -> None:
    """The recipe for a material: its entry; the plain brass's figures under another name."""
    table = top / "camgen/shop/data/materials.yaml"
    text = table.read_text()
    brass = text[text.index("\nbrass-plain:"):text.index("\ncopper-beryllium:")]
    entry = brass.replace("brass-plain:", "brass-of-the-corner:").replace(
        "[CuZn37, CW508L, lead-free-brass]", "[]").replace("plain brass CuZn37", "corner brass")
    table.write_text(text.rstrip() + "\n" + entry)


def _proofs(report: object) -> list[dict[str, object]]:
    """Every proof of a report, wherever it stands."""
    if isinstance(report, dict):
        mine = [report] if {"id", "holds"} <= set(report) else []
        return mine + [one for part in report.values() for one in _proofs(part)]
    if isinstance(report, list):
        return [one for part in report for one in _proofs(part)]
    return []


def with_the_form(top: Path, *, entered: bool = True) -> None:
    """The recipe for a tooth form: its module, and its entry in the register."""
    (top / "camgen/teeth/outlines/slotted.py").write_text(FORM)
    register = top / "camgen/teeth/forms.py"
    text = register.read_text()
    for before, after in (("import club, cycloidal, escape, involute, ratchet\n",
                           "import club, cycloidal, escape, involute, ratchet, slotted\n"),
                          ("club.CLUB)", "club.CLUB, slotted.FORM)")):
        assert text.count(before) == 1
        text = text.replace(before, after) if entered else text
    register.write_text(text)


def slotted_job(top: Path, more: str = "") -> Path:
    """The ratchet wheel's job with slots for its teeth."""
    text = (top / "jobs/ratchet-wheel.yaml").read_text()
    part, cutter = (next(line for line in text.splitlines() if known in line)
                    for known in ("  form: ratchet", "made-for:"))
    kept = [line for line in text.splitlines()
            if not line.startswith(("  front:", "  back:", "  depth:"))]
    lead = cutter.split("made-for:")[0]
    teeth, module = (text.split(f"\n  {word}: ")[1].split()[0] for word in ("teeth", "module"))
    made = (f"{lead}made-for: {{form: slotted, module: {module}, teeth: {teeth}, slot: 0.4}}}}")
    text = "\n".join(kept).replace(part, f"  form: slotted\n  slot: 0.4{more}")
    file = top / "jobs/slotted.yaml"
    file.write_text(text.replace(cutter, made) + "\n")
    return file


@dataclass(frozen=True)
class House:
    """A copy with one of each added: how many files that touched, and what it answers."""

    top: Path
    touched: dict[str, int]
    answers: dict[str, tuple[int, str]]
    reports: dict[str, list[dict[str, object]]]


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> House:
    """All is added to one copy and asked in one start, for starting costs more than answering."""
    top = copied(tmp_path_factory.mktemp("house"))
    touched = {}
    before = stamps(top)
    for what, add in (("proof", with_the_proof), ("machine", with_the_machine),
                      ("material", with_the_material), ("form", with_the_form)):
        add(top)
        after = stamps(top)
        touched[what] = sum(before.get(name) != after.get(name) for name in {*before, *after})
        before = after
    job = slotted_job(top)
    # A cutter ground to another slot is found by the proof of the teeth as cut, by nothing else.
    spoiled = job.with_name("spoiled.yaml")
    spoiled.write_text(job.read_text().replace("slot: 0.4}", "slot: 0.6}"))
    # Its word is its own, and no other form's word is its.
    other = job.with_name("other.yaml")
    other.write_text(slotted_job(top, "\n  front: 5").read_text())
    slotted_job(top)
    strange = job.with_name("strange.yaml")
    strange.write_text((top / "jobs/ratchet-wheel.yaml").read_text().replace(
        "  form: ratchet", "  form: ratchet\n  slot: 0.4"))
    pinion = (top / "jobs/seconds-pinion.yaml").read_text()
    material = next(line for line in pinion.splitlines() if line.startswith("material:"))
    (top / "jobs/corner.yaml").write_text(
        pinion.replace(material, "material: brass-of-the-corner"))

    def make(name: str, job: str, *words: str) -> list[str]:
        return ["make", f"jobs/{job}.yaml", *words, "--out", str(top / name), "--no-pictures"]

    lines = {
        "proof": make("proof", "seconds-pinion"),
        "machine": make("machine", "seconds-pinion", "--post", "corner-mill"),
        "material": make("material", "corner"), "slotted": make("slotted", "slotted"),
        **{name: make(name, name) for name in ("spoiled", "other", "strange")},
        "schema": ["schema"], "words": ["words"],
    }
    answers = said(top, *lines.values(), 1e6, make("slow", "seconds-pinion"))
    return House(top, touched, dict(zip([*lines, "slow"], answers, strict=True)), {
        path.parent.name: _proofs(json.loads(path.read_text()))
        for path in top.glob("*/report.json")})


def test_a_proof_is_one_module_and_one_place(house: House) -> None:
    assert house.touched["proof"] == 2
    assert house.answers["proof"][0] == 0, house.answers["proof"]
    mine = [one for one in house.reports["proof"] if one["id"] == "motion.lowest-feed"]
    assert mine
    assert all(one["holds"] and one["name"] == "moves that only rub" for one in mine)


def test_what_the_added_proof_finds_makes_no_program(house: House) -> None:
    status, told = house.answers["slow"]
    assert status == 3
    assert "moves that only rub" in told
    assert not list((house.top / "slow").glob("*.nc"))


def test_a_machine_is_one_file(house: House) -> None:
    assert house.touched["machine"] == 1
    status, told = house.answers["machine"]
    assert status == 0, told
    assert "corner-mill" in told
    assert list((house.top / "machine").glob("*.nc"))


def test_a_material_is_one_entry(house: House) -> None:
    assert house.touched["material"] == 1
    status, told = house.answers["material"]
    assert status == 0, told
    assert "corner brass" in told


def test_a_tooth_form_is_one_module_and_its_entry(house: House) -> None:
    assert house.touched["form"] == 2
    assert house.answers["slotted"][0] == 0, house.answers["slotted"]
    assert list((house.top / "slotted").glob("*-teeth.nc"))
    assert any(one["id"] == "head.tooth-material-left" and one["holds"]
               for one in house.reports["slotted"])
    for name, form in (("other", "front is for ratchet wheels"),
                       ("strange", "slot is for slotted wheels only")):
        status, told = house.answers[name]
        assert status == 1
        assert form in told
    for name in ("schema", "words"):
        status, told = house.answers[name]
        assert status == 0
        assert "slotted" in told
        assert "width of a slot, in pitches" in told
    assert house.answers["spoiled"][0] == 3, house.answers["spoiled"]


@pytest.mark.long
def test_without_its_entry_the_answer_names_the_known_forms(tmp_path: Path) -> None:
    copy = copied(tmp_path)
    with_the_form(copy, entered=False)
    ((status, told),) = said(copy, ["make", str(slotted_job(copy)), "--out", str(copy / "out")])
    assert status == 1
    for known in ("cycloidal, involute", "cycloidal-wheel", "cycloidal-pinion", "ratchet"):
        assert known in told
    assert "Traceback" not in told
