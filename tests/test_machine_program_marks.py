"""What stands round a program: % with a name, without, none; numbers that count on past a limit."""

from __future__ import annotations

import pytest
from odd_machines import machine_with, written

from camgen.faults import Refused
from camgen.post.trying.first import first_program
from camgen.post.writer import write_programs
from camgen.reader import read_program


@pytest.mark.parametrize(("words", "first", "last"), [
    ("", "%", "%"),
    ("program: {mark-named: true}", "%ODD", "%"),
    ("program: {mark-named: true, number: 7}\nblocks: {checksum: xor}", "%ODD", "%"),
    ("program: {mark-named: true}\nblocks: {number: true, number-lines: all}", "%ODD", "%"),
    ("program: {marks: false, number: 12345, number-figures: 5}", "O12345", "M30"),
    ("program: {marks: false}", "", "M30"),
])
def test_a_program_stands_between_its_marks(words: str, first: str, last: str) -> None:
    made = written("balance-cock", "plain-iso", words)
    assert made.failed() == {}
    lines = made.lines()
    if first:
        assert lines[0] == first
    else:
        assert not lines[0].startswith(("%", "O"))
    assert lines[-1] == last
    [read] = made.read()
    assert not [one for one in read.findings if one.grave]


def test_parts_have_names_of_their_own_behind_the_mark() -> None:
    made = written("seconds-pinion", "plain-iso", "program: {mark-named: true, largest: 1800}",
                   sections=(0,))
    assert made.failed() == {}
    assert [text.splitlines()[0] for text in made.texts[:2]] == ["%ODD", "%ODD-2"]


def test_the_first_program_tried_has_them_too() -> None:
    machine = machine_with("plain-iso", "program: {mark-named: true, number: 4}")
    text = first_program(machine, "try it").text.decode()
    assert text.splitlines()[:2] == ["%TRY-IT", "O0004"]
    assert [str(one.message) for one in read_program(text, machine, "t").findings
            if one.grave] == ["a feed move with the spindle off"]


@pytest.mark.parametrize(("words", "said", "remedy"), [
    ("program: {number: 9999, largest: 1800}", "has the number 10000, of more than 4 figures",
     "program.number-figures: 5"),
    ("program: {number: 9011}\nsubprograms: {use: true, first: 9002}",
     "programs from number 9012 on and subprograms from 9012 on", "subprograms.first"),
    ("subprograms: {use: true, first: 9999}",
     "a subprogram has the number 10000, of more than 4 figures", "subprograms.first"),
])
def test_numbers_that_run_out_are_refused_in_words(words: str, said: str, remedy: str) -> None:
    def programs() -> None:
        made = written("seconds-pinion", "plain-iso", words, sections=(0,))
        write_programs(made.moves, made.machine, stem="odd", before=1)

    with pytest.raises(Refused) as no:
        programs()
    [fault] = no.value.faults
    assert said in str(fault)
    assert remedy in str(fault)


def test_five_figures_count_on() -> None:
    made = written("seconds-pinion", "plain-iso",
                   "program: {number: 9999, number-figures: 5, largest: 1800}", sections=(0,))
    assert made.failed() == {}
    assert [text.splitlines()[1] for text in made.texts[:2]] == ["O09999", "O10000"]


@pytest.mark.parametrize(("words", "path"), [
    ("program: {mark-named: true, marks: false}", "program.mark-named"),
    ("program: {number: 12345}", "program.number"),
    ("program: {number: 1234567, number-figures: 5}", "program.number"),
])
def test_contradictions_are_found_when_the_file_is_read(words: str, path: str) -> None:
    with pytest.raises(Refused) as no:
        machine_with("plain-iso", words)
    assert [fault.place.path for fault in no.value.faults] == [path]
