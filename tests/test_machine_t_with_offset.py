"""T that chooses a cutter and brings its length in: written, read back, proved, contradicted."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
import yaml
from machine_sweep import JOBS
from odd_machines import Written, machine_with, words_of, written
from second_control import Start, control
from second_reader import run

from camgen.faults import Refused
from camgen.make.chain import Wish, proved_job
from camgen.make.told.report import notes_of, times_of
from camgen.make.told.sheet_texts import sheet_of
from camgen.post.machine_file.explain import in_sentences
from camgen.post.restart import dry_index, from_cutter, raised_by
from camgen.post.writer import write_programs
from camgen.reader import read_program
from camgen.words import words as words_in

TWO = "change: {with-offset: [2, 2]}"
ALONE = "change: {with-offset: [2, 2], word: null, offset-ended-by: T0000}"
FORMS = [
    ("with-cycles", TWO, ["T0101 M6", "T0202 M6", "T0200"]),
    ("with-cycles", "change: {with-offset: [1, 2]}", ["T101 M6", "T202 M6", "T200"]),
    ("with-cycles", "change: {with-offset: [2, 4], offset-ended-by: T0000}",
     ["T010001 M6", "T020002 M6", "T000000"]),
    ("with-cycles", ALONE, ["T0101", "T0202", "T0000"]),
    ("plain-iso", f"{TWO}\noffsets: {{length: table}}", ["T0101 M6", "T0202 M6", "T0200"]),
    ("plain-iso", f"{ALONE}\noffsets: {{length: table}}", ["T0101", "T0202", "T0000"]),
    ("plain-iso", f"{ALONE}\noffsets: {{length: table}}\nretract: {{way: reference}}\n"
     "comments: {style: none}", ["T0101", "T0202", "T0000"]),
    ("one-program-per-cutter", f"{ALONE}\noffsets: {{length: table}}",
     ["T0101", "T0000", "T0202", "T0000"]),
    ("with-cycles", f"{TWO}\nprogram: {{largest: 3000}}", []),
    ("with-cycles", "change: {with-offset: [2, 2], place: {x: -20, y: 100}}", []),
]


def _t_words(made: Written) -> list[str]:
    return [found[0] for line in made.lines()
            if (found := re.match(r"T\d+( M6)?$", re.sub(r"^N\d+ ?", "", line)))]


@pytest.mark.parametrize(("base", "words", "said"), FORMS)
@pytest.mark.parametrize(("stem", "sections"), [("balance-cock", (0, 1)), ("seconds-pinion", (0,))])
def test_a_length_is_brought_in_and_ended_by_t_alone(
        base: str, words: str, said: list[str], stem: str, sections: tuple[int, ...]) -> None:
    made = written(stem, base, words, sections=sections)
    assert made.failed() == {}
    assert not any(re.search(r"G43", line) for line in made.lines())
    if said and len(sections) == 2:
        assert _t_words(made) == said
    for text in made.texts:
        # Every program ends the offset that it brought in.
        figures = made.machine.change.with_offset
        assert figures is not None
        last = re.findall(r"^(?:N\d+ ?)?T(\d+)", text, re.MULTILINE)[-1]
        assert last.endswith("0" * figures[1])


@pytest.mark.parametrize(("change", "named"), [
    # No length, that of another cutter, ended before it is cut, left in force.
    (lambda text: text.replace("T0202 M6", "T0200 M6"), "length of the cutter in force"),
    (lambda text: text.replace("T0202 M6", "T0201 M6"), "length of the cutter in force"),
    (lambda text: text.replace("T0202 M6", "T0202 M6\r\nT0200"), "length of the cutter in force"),
    (lambda text: text.replace("T0101 M6", "T0101 M6\r\nT0000"), "length of the cutter in force"),
    (lambda text: text.replace("T0202 M6", "T2 M6"), "length of the cutter in force"),
    (lambda text: text.replace("T0101 M6", "T0101 M6\r\nT0202"), "length of the cutter in force"),
    (lambda text: text.replace("\r\nT0200\r\n", "\r\n"), "changed and not put back at the end"),
])
def test_a_length_missing_or_wrong_is_not_proved(
        change: Callable[[str], str], named: str) -> None:
    made = written("balance-cock", "with-cycles", TWO)
    assert made.failed() == {}
    assert change(made.texts[0]) != made.texts[0]
    assert named in made.failed(change)


@pytest.mark.parametrize(("change", "said"), [
    (lambda text: text.replace("T0202 M6", "T0201 M6"),
     "T brings in length 1 while cutter 2 is in the spindle"),
    (lambda text: text.replace("T0202 M6", "T0200 M6"),
     "a feed move without the length of cutter 2: the T word that brings it in is missing"),
    (lambda text: text.replace("T0202 M6", "T0202 M6\r\nG43 H2"),
     "G43 though the machine file says that T brings in the cutter's length"),
])
def test_the_reader_says_what_a_t_word_brings_in(change: Callable[[str], str], said: str) -> None:
    made = written("balance-cock", "with-cycles", TWO)
    [read] = made.read(change)
    assert said in [str(one.message) for one in read.findings if one.grave]


@pytest.mark.parametrize(("base", "words", "said"), [
    ("plain-iso", TWO, "T brings in a length of the control's table, where offsets.length says "
     "touch-off"),
    ("with-cycles", "change: {offset-ended-by: T0000}",
     "what ends the offset of a T word, and T is written without one"),
    ("with-cycles", f"{TWO}\ninsert: {{after-change: [G43 H1]}}",
     "G43 brings in a length, where change.with-offset says that T does"),
    ("with-cycles", "change: {word: null}", "a changer needs a word that calls it"),
    ("with-cycles", "change: {with-offset: [2, 0]}", "0 is not allowed, it must be from 1 to 4"),
])
def test_contradictions_are_found_when_the_file_is_read(base: str, words: str, said: str) -> None:
    with pytest.raises(Refused) as no:
        machine_with(base, words)
    [fault] = no.value.faults
    assert said in str(fault.message)
    assert fault.place.line


def test_a_cutter_whose_number_has_more_figures_than_its_offset_is_refused() -> None:
    made = written("balance-cock", "with-cycles", TWO)
    moves = replace(made.moves, sections=tuple(
        replace(one, cutter_number=100) for one in made.moves.sections))
    with pytest.raises(Refused) as no:
        write_programs(moves, made.machine, stem="odd")
    [fault] = no.value.faults
    assert "cutter 100 has no length offset of 2 figures" in str(fault)
    assert "with-offset: [2, 3]" in str(fault)


@pytest.mark.parametrize("words", [TWO, ALONE])
def test_a_program_from_any_start_brings_the_length_in_by_a_second_reader(
        words: str, tmp_path: Path) -> None:
    made = written("balance-cock", "with-cycles", words)
    file = tmp_path / "mine.yaml"
    file.write_text(yaml.safe_dump(words_of("with-cycles", words)))
    on = control(file, "Z", 1.0, made.moves.retract_to)
    again = from_cutter(made.moves, 2)
    texts = [*made.texts, *(one.text.decode() for one in write_programs(
        again, made.machine, stem="again"))]
    for text in texts:
        right = run(text, on, Start())
        assert right.touched == []
        left = run(text, on, Start("a length left", modes=("G43",)))
        assert left.touched == []
        assert left.moves == right.moves
        wrong = run(text.replace("T0202", "T0203"), on, Start())
        assert wrong.moves != right.moves


def test_in_air_and_turned_dry_it_is_ended_too() -> None:
    made = written("seconds-pinion", "with-cycles", TWO, sections=(0,))
    for moves in (raised_by(made.moves, 10.0), dry_index(made.moves)):
        [program] = write_programs(moves, made.machine, stem="air")
        text = program.text.decode()
        read = read_program(text, made.machine, "air.nc")
        assert not [one for one in read.findings if one.grave]
        assert re.findall(r"^T\d+", text, re.MULTILINE)[-1] in ("T0100", "T0000")


def test_show_tells_how_t_is_written() -> None:
    said = in_sentences(machine_with("with-cycles", ALONE))
    assert "Cutters are changed by T alone." in said
    assert any("T0101 chooses cutter 1 with its length" in one and "T0000 ends it" in one
               for one in said)


def test_the_sheet_says_which_offset_to_set_and_no_flutes_of_a_probe(tmp_path: Path) -> None:
    (tmp_path / "mine.yaml").write_text(yaml.safe_dump(words_of(
        "plain-iso", f"{TWO}\noffsets: {{length: table}}\nname: mine")))
    (tmp_path / "job.yaml").write_text(JOBS["probed"])
    proved = proved_job(tmp_path / "job.yaml", Wish(post=str(tmp_path / "mine.yaml")))
    [setup] = sheet_of(proved, times_of(proved), {}, words_in("en"), None).setups
    assert [one.offset for one in setup.cutters] == ["T0101", "T0202", "T0303"]
    probe = next(one for one in setup.cutters if one.name == "ball")
    assert "flutes" not in f"{probe.what} {probe.taken}"
    assert "carbide" not in probe.what
    assert not any("ball" in str(note) and "carbide" in str(note) for note in notes_of(proved))
