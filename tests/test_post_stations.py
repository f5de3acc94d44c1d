"""Fixtures of several stations in programs: offsets called clear of the work, parts begun right."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from post_support import at_speeds, random_flat
from random_machines import random_machine, without_limits
from sampling import few, sampled

from camgen.faults import Refused
from camgen.moves import SetupMoves, Station
from camgen.post.restart import from_cutter, from_station, from_step, raised_by
from camgen.post.writer import write_programs
from camgen.proof.path import is_cut, joined
from camgen.reader import read_program
from camgen.reader.motion import Motion, ReadProgram
from camgen.reader.stations import at_station
from camgen.shop.machine import Machine, OffsetWords
from camgen.shop.machines import find_machine, machine_names

POSTS = [name for name in machine_names() if len(find_machine(name).offsets.stations) >= 3]


def at_stations(setup: SetupMoves, count: int) -> SetupMoves:
    """The same moves at so many stations, every step at all of them before the next."""
    return replace(setup, sections=tuple(
        replace(section, moves=tuple(
            move for number in range(1, count + 1) for move in (Station(number), *section.moves)))
        for section in setup.sections
    ))


def read_back(setup: SetupMoves, machine: Machine) -> list[ReadProgram]:
    return [read_program(one.text, machine, one.file)
            for one in write_programs(at_speeds(setup, machine), machine, stem="run")]


def cuts(programs: list[ReadProgram], station: int) -> Motion:
    motion = joined(tuple(at_station(program, station).motion for program in programs))
    rows = is_cut(motion)
    return Motion(*(getattr(motion, name)[rows] for name in Motion.__dataclass_fields__))


def held(setup: SetupMoves, machine: Machine, count: int) -> None:
    alone = cuts(read_back(setup, machine), 1)
    programs = read_back(at_stations(setup, count), machine)
    for program in programs:
        assert [one.message for one in program.findings if one.grave] == []
        motion = program.motion
        changed = np.flatnonzero(motion.station[1:] != motion.station[:-1])
        assert (motion.end[changed, 2] >= setup.retract_to - 0.01).all()  # inches are rounded
    for station in range(1, count + 1):
        here = cuts(programs, station)
        assert len(here) == len(alone)
        for name in ("kind", "start", "end", "centre", "feed", "speed", "cutter"):
            assert np.allclose(getattr(here, name), getattr(alone, name), 0, 1e-9, equal_nan=True)


@pytest.mark.parametrize("name", sampled(POSTS, 2))
def test_every_station_is_cut_as_one_alone_would_be(name: str) -> None:
    held(random_flat(11, moves=20), find_machine(name), 3)


@settings(max_examples=few(25), deadline=None, derandomize=True)
@given(st.integers(0, 10**6))
def test_stations_read_back_on_any_machine_file_or_are_refused(seed: int) -> None:
    machine = without_limits(random_machine(seed))
    count = min(3, max(1, len(machine.offsets.stations)))
    try:
        for setup in (one := random_flat(seed, moves=10), at_stations(one, count)):
            write_programs(setup, machine, stem="run")
    except Refused:
        return  # what cannot be written, or not in so little memory, has its own tests
    held(random_flat(seed, moves=10), machine, count)


def test_without_enough_zeros_the_run_is_refused_with_what_to_do_instead() -> None:
    few = Machine(name="few", describes="few", offsets=OffsetWords(further=("G55",)))
    write_programs(at_stations(random_flat(1), 2), few, stem="run")
    with pytest.raises(Refused) as no:
        write_programs(at_stations(random_flat(1), 3), few, stem="run")
    assert "3 stations need 3 zeros" in no.value.faults[0].message
    assert "repeat" in no.value.faults[0].remedy


@pytest.mark.parametrize("length", ["touch-off", "table"])
def test_each_part_of_a_split_program_begins_with_the_zero_it_cuts_at(length: str) -> None:
    machine = find_machine("small-memory")
    machine = machine.model_copy(update={
        "program": machine.program.model_copy(update={"largest": 1200}),
        "offsets": machine.offsets.model_copy(update={"length": length, "shift": None}),
        "subprograms": machine.subprograms.model_copy(update={"use": False}),
    })
    written = write_programs(at_stations(random_flat(5, moves=20), 4), machine, stem="run")
    begun = set()
    for program in written:
        first = re.search(r"G5[4-9]", program.text.decode("ascii"))
        motion = read_program(program.text, machine, program.file).motion
        assert first is not None
        assert motion.station[0] == int(first[0][1:]) - 53
        begun.add(first[0])
    assert len(written) > 4
    assert len(begun) == 4


def test_the_same_piece_at_every_station_is_written_once_for_a_small_memory() -> None:
    machine = find_machine("small-memory")
    hole = random_flat(2, moves=4, sections=1)
    held(hole, machine, 6)
    one, six = (sum(len(p.text) for p in write_programs(setup, machine, stem="run"))
                for setup in (hole, at_stations(hole, 6)))
    assert six < 2 * one


def test_a_run_starts_again_at_its_first_station() -> None:
    machine = find_machine("plain-iso")
    run = at_stations(random_flat(3, moves=12, sections=3), 3)
    for again in (from_step(run, 2), from_cutter(run, run.sections[-1].cutter_number),
                  raised_by(run, 20.0)):
        motion = read_back(again, machine)[0].motion
        assert motion.station[0] == 1
        assert sorted(set(motion.station.tolist())) == [1, 2, 3]


def test_events_stay_with_what_is_done_at_their_station() -> None:
    machine = find_machine("plain-iso")
    program = read_back(at_stations(random_flat(4, moves=30), 2), machine)[0]
    second = at_station(program, 2)
    for event, kept in zip(program.events, second.events, strict=True):
        assert kept.before == (program.motion.station[: event.before] == 2).sum()


def test_a_run_starts_again_at_a_station_of_its_first_step() -> None:
    machine = find_machine("plain-iso")
    run = at_stations(random_flat(3, moves=12, sections=2), 3)
    motion = read_back(from_station(run, 2), machine)[0].motion
    assert motion.station[0] == 2
    first = int(motion.cutter[motion.cutter > 0][0])
    whole = read_back(run, machine)[0].motion
    for station in (2, 3):
        assert (is_cut(motion) & (motion.station == station)).sum() == (
            is_cut(whole) & (whole.station == station)).sum()
    assert not (is_cut(motion) & (motion.station == 1) & (motion.cutter == first)).any()
    with pytest.raises(Refused, match="no station 4"):
        from_station(run, 4)
    with pytest.raises(Refused, match="no station 2"):
        from_station(random_flat(3), 2)


@pytest.mark.parametrize("name", sampled(POSTS, 2))
def test_after_every_stop_the_zero_is_said_again_before_anything_moves(name: str) -> None:
    """Whoever sets zeros at a stop may have left another one in force."""
    machine = find_machine(name)
    stopped = said = ""
    for program in write_programs(
            at_speeds(at_stations(random_flat(8, moves=40), 3), machine), machine, stem="run"):
        for line in program.text.decode("ascii").splitlines():
            if found := re.search(r"G5[4-9]", line):
                said, stopped = found[0], ""
            elif re.search(r"M0*[016](?!\d)", line):
                stopped = line
            elif re.search(r"[XYZ]-?[\d.]", line) and "G53" not in line and "G28" not in line:
                assert not stopped, f"{line} after {stopped}"
    assert said


def test_zeros_beyond_the_usual_six_are_read_back() -> None:
    more = find_machine("plain-iso").model_copy(
        update={"offsets": OffsetWords(further=("G59.1", "G59.2"))})
    held(random_flat(6, moves=10), more, 3)
