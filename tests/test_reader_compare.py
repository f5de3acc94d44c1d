"""Programs are compared as motion, however each is written."""

from __future__ import annotations

import math
import re
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planting.harness import made
from reader_machines import AT_1_2_3, PLAIN, machine, read
from reader_texts import random_program
from sampling import few

from camgen.post.writer import write_programs
from camgen.reader import read_program
from camgen.reader.comparing.events import same_events as same_events_of
from camgen.reader.comparing.motions import Difference, same_motion
from camgen.reader.comparing.together import Together, together
from camgen.reader.motion import ReadProgram

WAY = """G1 X5.
G2 X7. Y0. I0. J-2.
G1 Y-4. F150.
G3 I1. J0.
G1 Z1.
G0 Z5.
X0. Y0.
A30."""


def same(one: str, other: str, tolerance: float = 0.002) -> bool:
    """Whether two pieces of program make the same motion."""
    return not same_motion(read(one).motion, read(other).motion, tolerance)


def same_events(one: ReadProgram, other: ReadProgram) -> tuple[Difference, ...]:
    """How two whole programs differ in what they do besides moving."""
    return same_events_of(Together(one), Together(other))


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("G1 X9.", "G1 X4.\nX6.5\nX9."),
        ("G1 X9. Y10.", "G1 X5. Y6.\nX9. Y10."),
        ("G2 X3. Y4. I2. J0.", "G2 X3. Y4. R2."),
        ("G2 X3. Y4. I2. J0.", "G2 X1.5858 Y3.4142 I2. J0.\nX3. Y4. I1.4142 J-1.4142"),
        ("G3 I2. J0.", "G3 X5. Y2. I2. J0.\nX1. I-2. J0."),
        ("G0 X9.", "G0 X5.\nX9."),
        ("G1 X9.", "G01X9.000F100.0"),
        ("G81 G99 X4. Y5. Z1. R2.", "G0 X4. Y5.\nZ2.\nG1 Z1.\nG0 Z2."),
        ("G1 X9.", "G91 G1 X8.\nG90"),
        ("G1 X9.", "G1 X9.\nX9.\nG0 X9."),
        ("G0 X9.", "M5\nG0 X9.\nM3"),
        ("G1 X9.", "(NOTE)\nN10 G1 X9. M8"),
    ],
)
def test_the_same_way_written_otherwise_is_the_same_motion(one: str, other: str) -> None:
    assert same(one, other)
    assert same(other, one)


@pytest.mark.parametrize(
    ("one", "other", "says"),
    [
        ("G1 X9.", "G1 X9.01", "ends elsewhere"),
        ("G1 X9.", "G0 X9.", "against"),
        ("G1 X9.", "G1 X9. F90.", "feed"),
        ("G1 X9.", "S9000\nG1 X9.", "spindle"),
        ("G1 X9.", "M5\nG1 X9.", "spindle"),
        ("G2 X3. Y4. I2. J0.", "G3 X3. Y4. I2. J0.", "another way"),
        ("G2 X3. Y4. I2. J0.", "G1 X3. Y4.", "another way"),
        ("G3 I2. J0.", "G2 I2. J0.", "another way"),
        ("G3 I2. J0.", "", "only one"),
        ("G3 I2. J0.", "G3 I2. J0.\nG3 I2. J0.", "only one"),
        ("G0 X9. Y9.", "G0 X9.\nY9.", "to another place"),
        ("G0 X9. Y10.", "G0 X5. Y6.\nX9. Y10.", "to another place"),
        ("G0 X9.", "G0 X12.\nX9.", "to another place"),
        ("G1 X9.", "G1 X12.\nX9.", "another way"),
        ("G0 A10.", "G0 A10.\nA10.01", "dividing head"),
        ("G0 A10.", "G0 A-350.", "dividing head"),
        ("G0 A10.", "G0 A12.\nA10.", "dividing head"),
        ("G0 X9.", "", "only one"),
        ("G1 X5.\nG0 Z5.\nX6.\nG1 Z3.", "G1 X5.\nX6.", ""),
    ],
)
def test_another_motion_is_told(one: str, other: str, says: str) -> None:
    found = same_motion(read(one).motion, read(other).motion)
    assert found
    assert says in found[0].what
    assert same_motion(read(other).motion, read(one).motion)


def test_a_difference_is_told_with_both_lines_and_its_size() -> None:
    other = WAY.replace("X0. Y0.", "X0.5 Y0.")
    found = same_motion(read(WAY).motion, read("\n" + other).motion)[0]
    first = AT_1_2_3.count("\n") + 1
    assert (found.line, found.other_line) == (first + 6, first + 7)
    assert found.amount == pytest.approx(0.5)


@pytest.mark.parametrize("tolerance", [0.001, 0.01, 0.1])
def test_chords_of_an_arc_are_the_arc_within_their_tolerance(tolerance: float) -> None:
    radius = 2.0
    half = math.acos(1 - 0.9 * tolerance / radius)
    many = math.ceil(math.pi / (2 * half))
    chords = "\n".join(
        f"G1 X{3 - radius * math.cos(math.pi * k / many):.5f} "
        f"Y{2 + radius * math.sin(math.pi * k / many):.5f}" for k in range(1, many + 1)
    )
    arc = "G2 X5. Y2. I2. J0."
    assert same(arc, chords, tolerance)
    assert not same(arc, chords, tolerance / 2)


def test_inches_and_millimetres_make_one_motion() -> None:
    inch = machine(program={"units": "inch"})
    a = read("G1 X2.54 F254.\nY5.08")
    b = read_program(
        AT_1_2_3.replace("G21", "G20").replace("Z3.", "Z0.11811").replace(
            "X1. Y2.", "X0.03937 Y0.07874") + "G1 X0.1 F10.\nY0.2\nM30\n%", inch)
    assert not same_motion(a.motion, b.motion)


def test_what_is_done_besides_moving_is_compared_too() -> None:
    assert not same_events(read("(A)\nM8\nG4 P1."), read("M8\n(B)\nG4 P1.0"))
    assert same_events(read("G4 P1."), read("G4 P2."))[0].what == "dwell 1 against 2"
    assert same_events(read("M0"), read(""))[0].what == "stop against end of the program"
    assert same_events(read("M8"), read("M0"))
    assert same_events(read("M8"), read("M9"))
    assert same_events(read("M0\nM0"), read("M0"))


@settings(max_examples=few(25), deadline=None)
@given(st.integers(0, 10**9))
def test_every_program_is_the_same_as_itself_split_in_halves(seed: int) -> None:
    program = read_program(random_program(seed, 60, 0.0), PLAIN)
    assert not same_motion(program.motion, program.motion)
    lines: list[str] = []
    for line in program.lines:
        lines.append(line)
        if line.startswith("G1 X") and " " not in line[3:]:
            lines.append(line)
    assert not same_motion(program.motion, read_program("\n".join(lines), PLAIN).motion)


@settings(max_examples=few(25), deadline=None)
@given(st.integers(0, 10**9), st.floats(0.02, 5))
def test_a_shifted_line_is_always_told(seed: int, by: float) -> None:
    blocks = WAY.split("\n")
    at = seed % len(blocks)
    words = blocks[at].split()
    k = seed // 10 % len(words)
    letter, number = words[k][0], words[k][1:]
    if letter not in "XYZA":
        return
    words[k] = f"{letter}{float(number) + by:.4f}"
    blocks[at] = " ".join(words)
    assert not same(WAY, "\n".join(blocks))


WHOLE = """G1 Z-1.
X5.
G0 Z3.
A30.
X8.
G1 Z-1.
X9.
G0 Z3.
M0
X2.
G1 Z-1.
X1.
G0 Z3."""
PARTS = (
    "G1 Z-1.\nX5.\nG0 Z5.\nX0.\nM5",
    "G0 Z5.\nX7. Y2.\nA30.\nX8.\nZ3.\nG1 Z-1.\nX9.\nG0 Z5.\nM5",
    "A30.\nM0\nG0 Z5.\nX2. Y2.\nZ3.\nG1 Z-1.\nX1.\nG0 Z3.",
)


def part(blocks: str) -> ReadProgram:
    opening = AT_1_2_3 if blocks == PARTS[0] else AT_1_2_3.replace("G0 Z3.\nX1. Y2.\n", "M8\nM9\n")
    return read(blocks, opening=opening)


def differences(one: Together, other: Together) -> list[str]:
    found = (
        *same_motion(one.program.motion, other.program.motion, joints=one.joints,
                     other_joints=other.joints), *same_events_of(one, other))
    return [difference.what for difference in found]


def test_parts_of_a_program_make_the_motion_of_the_whole() -> None:
    whole = Together(read(WHOLE))
    parts = together([part(blocks) for blocks in PARTS])
    assert not differences(whole, parts)
    assert not differences(parts, whole)
    assert not differences(parts, parts)
    in_two = together([part(PARTS[0]), read(PARTS[1] + "\n" + PARTS[2].replace("A30.\n", ""))])
    assert differences(in_two, together([part(PARTS[0])]))


@pytest.mark.parametrize(
    ("at", "was", "now", "says"),
    [
        (0, "X5.", "X5.1", "ends elsewhere"),
        (1, "X8.", "X8.1", "begins elsewhere"),
        (1, "A30.", "A31.", "elsewhere"),
        (1, "G1 Z-1.", "G1 Z-1. F50.", "feed"),
        (2, "M0", "", "stop"),
        (2, "X1.\nG0 Z3.", "X1.\nG0 Z3.\nX4.", "only one"),
        (2, "G1 Z-1.", "G1 Z-1.1", "elsewhere"),
    ],
)
def test_parts_that_do_otherwise_are_told(at: int, was: str, now: str, says: str) -> None:
    assert was in PARTS[at]
    changed = [
        part(blocks) if n != at else read(
            blocks.replace(was, now),
            opening=AT_1_2_3 if n == 0 else AT_1_2_3.replace("G0 Z3.\nX1. Y2.\n", ""))
        for n, blocks in enumerate(PARTS)
    ]
    found = differences(Together(read(WHOLE)), together(changed))
    assert found
    assert any(says in what for what in found), found


def test_a_part_left_out_or_in_the_wrong_order_is_told() -> None:
    whole = Together(read(WHOLE))
    one, two, three = (part(blocks) for blocks in PARTS)
    assert differences(whole, together([one, three]))
    assert differences(whole, together([one, two]))
    assert differences(whole, together([two, one, three]))


def test_lines_of_parts_are_told_by_their_files() -> None:
    first = read_program(AT_1_2_3 + "M30\n%", PLAIN, "a.nc")
    second = read_program(AT_1_2_3 + "M77\nM30\n%", PLAIN, "b.nc")
    whole = together([first, second]).program
    found = next(found for found in whole.findings if "M77" in found.message)
    assert whole.where(found.line) == ("b.nc", AT_1_2_3.count("\n") + 1)
    assert whole.motion.line.max() <= len(whole.lines)
    assert whole.words["M30"] == 2


@pytest.mark.parametrize(
    ("job", "post"), [("wheel-by-hand", "with-cycles"), ("ratchet-wheel", "plain-iso")]
)
def test_demo_programs_split_for_a_small_memory_make_the_motion_of_the_whole(
    job: str, post: str
) -> None:
    jobs = Path(__file__).resolve().parent.parent / "jobs"
    for setup in made(jobs / f"{job}.yaml", post):
        small = setup.machine.model_copy(update={"program": setup.machine.program.model_copy(
            update={"largest": max(5000, len(setup.texts[0]) // 3)})})
        parts = together([
            read_program(one.text, small, one.file)
            for one in write_programs(setup.planned.moves, small, stem=job)
        ])
        whole = Together(setup.read[0])
        assert not differences(whole, parts), setup.name
        if not parts.joints:
            continue
        text = "\n".join(parts.program.lines)
        at = [found.start() for found in re.finditer(r"G1 [XZ]", text)]
        place = at[len(at) // 2]
        end = text.index("\n", place)
        moved = re.sub(r"(?<=[XZ])-?[\d.]+", lambda m: f"{float(m[0]) - 0.1:.3f}",
                       text[place:end], count=1)
        lines = (text[:place] + moved + text[end:]).split("\n")
        cuts = [0, *(first for _, first in parts.program.files), len(lines)]
        other = together([
            read_program("\n".join(lines[first:last]), small, "part")
            for first, last in pairwise(cuts)
        ])
        assert differences(whole, other), setup.name
