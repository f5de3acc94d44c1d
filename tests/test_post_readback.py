"""What is written reads back to the moves it was written from, whatever the machine file says."""

from __future__ import annotations

import re
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from post_support import at_speeds, follow, random_flat, random_teeth, written_and_read
from random_machines import random_machine
from sampling import few, sampled

from camgen.faults import Fault, Refused
from camgen.moves import Index, SetupMoves
from camgen.post.writer import write_programs
from camgen.reader import read_program
from camgen.shop.machine import DrivenHead, Machine
from camgen.shop.machines import find_machine, machine_names

SHIPPED = machine_names()
# What a drawn file may be refused for, besides what its own checks refuse.
FIELDS = ("program.largest", "blocks.longest", "numbers.feed-decimals", "comments.longest",
          "dividing.pulses")


def held(setup: SetupMoves, machine: Machine) -> None:
    """Written, read back, and held against what was meant."""
    _, read = written_and_read(setup, machine)
    assert follow(setup, machine, read) == []
    assert [f.message for one in read for f in one.findings if f.grave] == []


def held_or_refused(setup: SetupMoves, machine: Machine) -> None:
    """As :func:`held`, or the machine file's field is named that stands in the way."""
    refused: tuple[Fault, ...] = ()
    try:
        held(setup, machine)
    except Refused as no:
        refused = no.faults
    assert all(any(field in fault.remedy for field in FIELDS) for fault in refused)


@pytest.mark.parametrize("seed", [1])
@pytest.mark.parametrize("name", sampled(SHIPPED, 8, 1))
def test_flat_work_reads_back_on_every_shipped_file(name: str, seed: int) -> None:
    held(random_flat(seed, moves=25), find_machine(name))


@pytest.mark.parametrize(("name", "seed"), sampled(product(SHIPPED, range(2)), 3))
def test_teeth_read_back_on_every_shipped_file(name: str, seed: int) -> None:
    machine = find_machine(name)
    held(random_teeth(seed, machine), machine)


@settings(max_examples=few(48), deadline=None)
@given(st.integers(0, 10**6))
def test_flat_work_reads_back_on_any_machine_file_or_is_refused_by_its_field(seed: int) -> None:
    machine = random_machine(seed)
    held_or_refused(random_flat(seed, moves=16), machine)


@settings(max_examples=few(48), deadline=None)
@given(st.integers(0, 10**6))
def test_teeth_read_back_on_any_machine_file_or_are_refused_by_its_field(seed: int) -> None:
    machine = random_machine(seed)
    if machine.dividing is None:
        return
    held_or_refused(random_teeth(seed, machine), machine)


@pytest.mark.parametrize("name", sampled(SHIPPED, 3))
def test_the_same_moves_give_the_same_bytes(name: str) -> None:
    machine = find_machine(name)
    setup = at_speeds(random_flat(3), machine)
    assert write_programs(setup, machine, stem="a") == write_programs(
        at_speeds(random_flat(3), machine), machine, stem="a"
    )


@pytest.mark.parametrize("name", sampled(SHIPPED, 3))
def test_programs_are_plain_ascii_in_lines_no_longer_than_the_file_says(name: str) -> None:
    machine = find_machine(name)
    texts, _ = written_and_read(random_flat(1), machine, header=("Roue de 75 dents – Ø10,9 µm",))
    end = b"\n" if machine.blocks.ending == "lf" else b"\r\n"
    for text in texts:
        assert text.isascii()
        assert text.endswith(end)
        assert b"\r" not in text.replace(b"\r\n", b"")
        assert text.count(end) == text.count(b"\n")
        assert max(len(line) for line in text.split(end)) <= machine.blocks.longest


def test_every_index_arrives_from_below_by_the_take_up() -> None:
    """Backlash of the head is taken from one side, the first space too."""
    machine = find_machine("plain-iso")
    head = machine.dividing
    assert isinstance(head, DrivenHead)
    for seed in range(6):
        setup = random_teeth(seed, machine)
        _, read = written_and_read(setup, machine)
        motion = read[0].motion
        turns = [(a, b) for a, b in zip(motion.angle_start, motion.angle_end, strict=True)
                 if a != b]
        up = 0.0
        arrived = {round(move.degrees, 3) for move in setup.sections[0].moves
                   if isinstance(move, Index) and move.space}
        for start, end in turns:
            up = up + end - start if end > start else 0.0
            if round(float(end), 3) in arrived and end > 0:
                assert up >= head.take_up - 1e-9


def test_angles_of_the_spaces_are_rounded_each_on_its_own() -> None:
    machine = find_machine("plain-iso")
    setup = random_teeth(0, machine)
    count = 7
    moves = tuple(Index(k * 360.0 / count, k + 1) for k in range(count))
    section = setup.sections[0]
    turned = SetupMoves("seven", (type(section)("turn", 0, "none", 1, "NONE", 1000, moves),),
                        "Y", -3.0)
    for way in ("absolute", "incremental", "shortest", "signed"):
        other = machine.model_copy(
            update={"rotary": machine.rotary.model_copy(update={"way": way})}
        )
        _, read = written_and_read(turned, other)
        angles = [float(a) for a, k in zip(read[0].motion.angle_end, read[0].motion.kind,
                                           strict=True) if k == 4]
        for k in range(count):
            assert min(abs(a - round(k * 360.0 / count, 3)) for a in angles) < 1e-6


def test_a_head_turned_by_hand_is_told_every_angle_with_its_setting() -> None:
    machine = find_machine("hand-dividing")
    setup = random_teeth(4, machine)
    _, read = written_and_read(setup, machine)
    told = [event.value for event in read[0].events if event.kind == "hand-index"]
    meant = [move.degrees for move in setup.sections[0].moves
             if isinstance(move, Index) and move.space]
    assert told == pytest.approx(meant)


def test_nothing_turns_while_hands_are_at_the_head() -> None:
    machine = find_machine("hand-dividing")
    texts, _ = written_and_read(random_teeth(4, machine), machine)
    turning = False
    for line in texts[0].decode().splitlines():
        if line.startswith("S") and "M3" in line:
            turning = True
        elif line == "M5":
            turning = False
        elif line == "M0":
            assert not turning


@pytest.mark.parametrize(("word", "other"), sampled([
    (r"^G2 ", "G3 "), (r"^X(-?\d+)\.", r"X\g<1>1."), (r" I(-?\d*)\.", r" I\g<1>1."),
    (r"^G1 Z", "Z"),
], 2))
def test_one_wrong_word_would_have_been_seen(word: str, other: str) -> None:
    """The comparison these tests rest on is itself held: it sees a single changed word."""
    machine = find_machine("plain-iso")
    setup = random_flat(1, moves=25)
    lines = write_programs(setup, machine, stem="a")[0].text.decode().splitlines()
    places = [k for k, line in enumerate(lines) if re.search(word, line)]
    assert places
    for k in places[:5]:
        wrong = [*lines]
        wrong[k] = re.sub(word, other, lines[k], count=1)
        read = read_program("\n".join(wrong), machine, "wrong")
        assert follow(setup, machine, [read]) or any(f.grave for f in read.findings), wrong[k]
