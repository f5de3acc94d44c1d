"""Probing: a zero set by what is touched, by the control's own words or by hand at a stop."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from workshop import read

from camgen.faults import Refused
from camgen.job.checks.whole_job import job_faults
from camgen.job.reading import JobFile
from camgen.make.chain import Wish, proved_job
from camgen.make.files import output_of, page_of_job
from camgen.plan import PlannedSetup, plan_job
from camgen.post.writer import write_programs
from camgen.proof import gather, prove_evidence
from camgen.reader import read_program
from camgen.shop.machine import Machine, contradictions

PROBING = {"touch": "G31", "zero": "G10 L20 P1 {place}", "feed": 50, "search": 0.8}
JOB = """
job: probed
material: brass
plate:
  thickness: 2.0
  outline: {rectangle: [12, 9]}
  holes: {middle: {at: [[1, 0]], diameter: 4}}
cutters:
  drill: {kind: drill, diameter: 4, reach: 30}
  mill: {kind: end-mill, diameter: 2, flute-length: 4, reach: 8}
  ball: {kind: probe, diameter: 2, shank: 1, reach: 20}
setups:
  - name: top
    stock: {sheet: [18, 15], thickness: 2.0}
    holding: {by: glue, carrier: brass, carrier-thickness: 4, cut-into: 2, relieved: 1.5,
              holds-slugs: true}
    steps:
      - drill: {cutter: drill}
      - probe: {cutter: ball, PROBE}
      - outline: {cutter: mill}
"""
WAYS = ("hole: middle", "edge: left", "edge: right", "edge: front", "edge: back, along: 3",
        "hole: middle, depth: 1.6")


def a_machine(probing: dict[str, Any] | None = PROBING, **words: Any) -> Machine:
    return Machine.model_validate({
        "name": "mill", "describes": "a mill", "program": {"largest": None}, "probing": probing,
    } | words)


TABLE = {"offsets": {"work": "G54", "length": "table"}, "change": {"way": "automatic"}}


def made(probe: str, machine: Machine, job: str = JOB) -> tuple[str, list[str]]:
    """The program's text, and the proofs that fail."""
    file, planned = plan(probe, machine, job)
    programs = write_programs(planned.moves, machine, stem="job")
    texts = [one.text.decode() for one in programs]
    return "".join(texts), amiss(file, planned, machine, texts)


def plan(probe: str, machine: Machine, job: str = JOB) -> tuple[JobFile, PlannedSetup]:
    file = read(job.replace("PROBE", probe))
    found = list(job_faults(file, machine))
    if found:
        raise Refused(found)
    return file, plan_job(file, machine).setups[0]


def amiss(file: JobFile, planned: PlannedSetup, machine: Machine, texts: list[str]) -> list[str]:
    """What is grave in programs as read, and the proofs that fail."""
    programs = [read_program(text, machine, f"job-{n}") for n, text in enumerate(texts)]
    found = [f"{one.line}: {one.message}" for program in programs for one in program.findings
             if one.grave]
    evidence = gather(planned.name, file.job, machine, planned.layout, planned.moves, programs,
                      planned_cuts=planned.cuts)
    return found + [f"{one.id} {one.where}" for one in prove_evidence(evidence) if not one.holds]


def faults(probe: str, machine: Machine, job: str = JOB) -> str:
    with pytest.raises(Refused) as no:
        made(probe, machine, job)
    return " ".join(f"{one.message} {one.remedy}" for one in no.value.faults)


@pytest.mark.parametrize("probe", WAYS)
def test_what_is_touched_is_touched_slowly_and_the_zero_set_by_it(probe: str) -> None:
    text, failed = made(probe, a_machine())
    assert failed == []
    lines = text.splitlines()
    touches = [n for n, line in enumerate(lines) if line.startswith("G31")]
    assert len(touches) == (4 if "hole" in probe else 1)
    for n in touches:
        axis, to = re.match(r"G31 ([XY])(-?[\d.]+) F50\.", lines[n]).groups()  # type: ignore[union-attr]
        place = re.fullmatch(rf"G10 L20 P1 {axis}(-?[\d.]+)", lines[n + 1])
        assert place is not None
        assert abs(abs(float(to) - float(place[1])) - 0.8) < 1e-9
    before = lines[:touches[0]]
    assert before[::-1].index("M5") < next(
        n for n, line in enumerate(before[::-1]) if line.endswith("M3"))


def test_where_the_ball_touches_is_reckoned_from_hole_and_stock() -> None:
    # A hole of 4 at X 1, a ball of 2: its middle stands 1 from the hole's; stock to X -9.
    assert "G31 X2.8 F50.\r\nG10 L20 P1 X2.\r\n" in made("hole: middle", a_machine())[0]
    assert "G31 X-9.2 F50.\r\nG10 L20 P1 X-10.\r\n" in made("edge: left", a_machine())[0]


def test_a_face_is_touched_where_lengths_are_in_the_table_and_refused_elsewhere() -> None:
    text, failed = made("face: [-4, 3]", a_machine(**TABLE))
    assert failed == []
    assert "G31 Z-0.8 F50.\r\nG10 L20 P1 Z0." in text
    assert "offsets.length" in faults("face: [-4, 3]", a_machine())


@pytest.mark.parametrize("probe", WAYS)
def test_a_control_without_words_stops_and_moves_nothing_but_clear(probe: str) -> None:
    text, failed = made(probe, a_machine(None))
    assert failed == []
    inside = text.split(" PROBE)")[1].split("(STEP")[0]
    assert re.search(r"\(CENTRE .* AND SET [XY].*\)\r\nM0", inside)
    assert not re.search(r"G1|G31|G10|Z-", inside)


MACHINES: dict[str, dict[str, Any]] = {
    "inch": {"program": {"units": "inch"}, "numbers": {"decimals": 4}},
    "reversed": {"z": {"sense": "reversed"}, "x": {"sense": "reversed"}},
    "exchanged": {"x": {"letter": "Y"}, "y": {"letter": "X"}},
    "parts": {"program": {"largest": 1500}},
    "each": {"change": {"way": "one-program-each"}},
    "lash and scale": {"x": {"scale": 1.0004, "lash": 0.02}, "y": {"scale": 0.9997}},
    "no point": {"numbers": {"point": "never"}},
    "numbered": {"blocks": {"number": True, "spaces": False, "two-figures": True}},
    "repeated": {"blocks": {"repeat-modal": True, "repeat-axes": True}},
    "lines": {"arcs": {"style": "none"}},
    "changer": TABLE,
    "by steps": {"retract": {"way": "machine", "machine-z": 0}},
    "diameters": {"x": {"counts": "twice"}},
}


@pytest.mark.parametrize("name", MACHINES)
@pytest.mark.parametrize("probe", ["hole: middle", "edge: left"])
def test_touched_on_machines_of_all_sorts(name: str, probe: str) -> None:
    machine = a_machine(**MACHINES[name])
    assert list(contradictions(machine)) == []
    assert made(probe, machine)[1] == []
    assert made(probe, a_machine(None, **MACHINES[name]))[1] == []


def touched_in_a_hole(text: str, off: tuple[float, float]) -> tuple[float, float]:
    """Where X and Y are counted from after a program that touches in a hole of 4 at X 1.

    A mill of a few lines: its slides stand somewhere, the hole is ``off`` from where the zero first
    is, and a ball of 2 stops where it meets the wall.
    """
    slide, zero = [0.0, 0.0], [0.0, 0.0]
    for line in text.split(" PROBE)")[1].split("(STEP")[0].splitlines():
        words = {letter: float(value) for letter, value in re.findall(r"([A-Z])(-?[0-9.]+)", line)}
        for axis, letter in enumerate("XY"):
            if letter not in words or line.startswith("("):
                continue
            if words["G"] == 10 if "G" in words else False:
                zero[axis] = slide[axis] - words[letter]
            elif words.get("G") == 31:
                # Along the axis to the circle that the ball's middle keeps to.
                across = slide[1 - axis] - (1.0, 0.0)[1 - axis] - off[1 - axis]
                met = (1.0, 0.0)[axis] + off[axis] + (1.0 - across**2) ** 0.5
                assert slide[axis] < met <= words[letter] + zero[axis]
                slide[axis] = met
            else:
                slide[axis] = words[letter] + zero[axis]
    return zero[0], zero[1]


@pytest.mark.parametrize("off", [(0.0, 0.0), (0.3, -0.2), (-0.5, 0.4), (0.1, 0.6), (0.5, 0.5)])
def test_after_touching_in_a_hole_the_zero_is_its_middle(off: tuple[float, float]) -> None:
    found = touched_in_a_hole(made("hole: middle", a_machine())[0], off)
    assert found == pytest.approx(off, abs=0.001)


# What a slip or a meddler may do to the program, and the proof or finding that tells.
SLIPS = (
    (r"G10 L20 P1 X2\.\r\n", "G10 L20 P1 X2.1\r\n"),
    (r"G10 L20 P1 X2\.\r\n", ""),
    (r"G10 L20 P1 X2\.\r\n", "G10 L2 P1 X2.\r\n"),
    (r"G31 X2\.8 F50\.", "G31 X2.9 F50."),
    (r"G31 X2\.8 F50\.", "G1 X2.8 F50."),
    (r"G31 X2\.8 F50\.", "G31 X2.8 Y0.5 F50."),
    (r"G31 X2\.8 F50\.", "G31 X2.8 F500."),
    (r"G1 Z-1\.3 F50\.", "G0 Z-1.3"),
    (r"G1 Z-1\.3 F50\.", "M3\r\nG1 Z-1.3 F50."),
    (r"M5\r\n(\(FIT CUTTER 3)", r"\1"),
)


@pytest.mark.parametrize(("was", "becomes"), SLIPS)
def test_a_slip_in_the_program_is_found(was: str, becomes: str) -> None:
    machine = a_machine()
    file, planned = plan("hole: middle", machine)
    text = write_programs(planned.moves, machine, stem="job")[0].text.decode()
    assert amiss(file, planned, machine, [text]) == []
    changed, count = re.subn(was, becomes, text, count=1)
    assert count == 1
    assert amiss(file, planned, machine, [changed]) != []


WRONG = (
    ("hole: midle", "middle"), ("edge: left, hole: middle", "say one of"),
    ("edge: left, along: 40", "along"), ("hole: middle, depth: 4", "depth"),
    ("hole: middle, depth: 0.3", "depth"), ("hole: middle, speed: 500", "speed"),
    ("edge: left, feed: 5", "feed"), ("hole: middle, along: 1", "along"), ("edge: top", "left"),
)


@pytest.mark.parametrize(("probe", "named"), WRONG)
def test_wrong_words_are_named(probe: str, named: str) -> None:
    assert named in faults(probe, a_machine())


def test_a_ball_too_large_a_stem_too_thick_and_a_hole_not_yet_made_are_refused() -> None:
    assert "ball" in faults("hole: middle", a_machine(), JOB.replace("probe, diameter: 2",
                                                                      "probe, diameter: 3.9"))
    assert "stem" in faults("hole: middle", a_machine(), JOB.replace("shank: 1,", ""))
    late = JOB.replace("      - drill: {cutter: drill}\n", "").replace(
        "      - outline", "      - drill: {cutter: drill}\n      - outline")
    assert "which makes it" in faults("hole: middle", a_machine(), late)


CONTRADICT = (
    ({}, {"offsets": {"work": None}}), ({"zero": "G92 {place}"}, {}),
    ({}, {"squareness": 0.02}), ({}, {"program": {"feed": "per-turn", "safe-words": []}}),
    ({"touch": "G81"}, {}), ({"touch": "G1"}, {}),
)


@pytest.mark.parametrize(("words", "machine"), CONTRADICT)
def test_words_of_a_probe_that_contradict_are_found_in_the_machine_file(
    words: dict[str, Any], machine: dict[str, Any]
) -> None:
    found = list(contradictions(a_machine(PROBING | words, **machine)))
    assert any(path[0] == "probing" for path, _, _ in found)


@pytest.mark.parametrize("zero", ["G10 L20 P1", "G10 {place} {place}", "G10 X[#5061]", "{place}",
                                  "G10 {plaice}", "HELLO {place}"])
def test_a_block_that_sets_no_zero_is_refused(zero: str) -> None:
    with pytest.raises(ValueError, match=r"must hold|variable|no block|filled in"):
        a_machine(PROBING | {"zero": zero})


def test_what_a_probe_needs_before_is_no_more_than_a_hole_leaves_the_ball() -> None:
    # A ball of 3 comes down in a hole of 4: half a millimetre of room, 0.35 of X and Y together.
    for ball, hole, search, least in ((2, 4, 0.8, 0.7), (3, 4, 0.8, 0.35), (3.3, 4, 0.8, 0.24),
                                      (2, 4, 0.3, 0.3), (1.7, 4, 0.8, 0.8)):
        job = JOB.replace("diameter: 2, shank: 1", f"diameter: {ball}, shank: 1")
        planned = plan("hole: middle, depth: 1.8", a_machine(PROBING | {"search": search}), job)[1]
        told = str(next(one for one in planned.remarks if "must lie within" in str(one)))
        assert f"within {least:g} mm" in told, (ball, hole, search)
        assert least * 2**0.5 <= (hole - ball) / 2 + 1e-9 or least == search


@pytest.mark.parametrize(("order", "words"), [
    ("first", {}), ("between", {"change": {"way": "one-program-each"}}),
    ("between", {"retract": {"way": "machine", "machine-z": 0}}),
])
def test_a_probe_by_hand_moves_nothing_and_stands_on_sheet_picture_and_page(
    order: str, words: dict[str, Any], tmp_path: Path
) -> None:
    probe = "      - probe: {cutter: ball, edge: left}\n"
    job = JOB.replace("      - probe: {cutter: ball, PROBE}\n", "").replace(
        "kind: probe, diameter: 2", "kind: probe, diameter: 3")
    before = "      - drill" if order == "first" else "      - outline"
    (tmp_path / "probed.yaml").write_text(job.replace(before, probe + before), encoding="utf-8")
    machine = {"name": "mill", "describes": "a mill", **words}
    (tmp_path / "mill.yaml").write_text(json.dumps(machine), encoding="utf-8")
    proved = proved_job(tmp_path / "probed.yaml", Wish(post=str(tmp_path / "mill.yaml")))
    made = output_of(proved)
    assert "probe" in made.files[made.sheet].decode()
    assert page_of_job(proved)
