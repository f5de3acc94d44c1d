"""Machine files: the shipped ones, those of a workshop, and thirty and more that are wrong."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from random_machines import random_machine
from sampling import few

from camgen.faults import Fault, Refused
from camgen.shipped import shipped_folder
from camgen.shop.machine import Machine, contradictions
from camgen.shop.machines import (
    find_machine,
    machine_names,
    machine_of,
    machine_schema,
    read_machine,
)
from camgen.yamlfile import load_yaml

# The text of a file below its name, the line and path of the fault, a word of the message, and
# what the remedy must hold.
WRONG = [
    ("numbers: {decimals: three}", 3, "numbers.decimals", "whole number", ""),
    ("numbers: {decimal: 3}", 3, "numbers.decimal", "not a word", "decimals"),
    ("numbers: {decimals: 9}", 3, "numbers.decimals", "from 2 to 6", ""),
    ("numbers: {decimals: 3.5}", 3, "numbers.decimals", "whole number", "point"),
    ("numbers: {point: allways}", 3, "numbers.point", "allways", "always"),
    ("program: {units: inches}", 3, "program.units", "inches", "inch"),
    ("program: {number: 0}", 3, "program.number", "1 to 9999", ""),
    ("program: {end: STOP}", 3, "program.end", "STOP", ""),
    ("program: {largest: 100}", 3, "program.largest", "500", ""),
    ("program: {extension: .nc}", 3, "program.extension", ".nc", "letters"),
    ("program: {safe-words: G40}", 3, "program.safe-words", "not a list", "list"),
    ("program:\n  safe-words: [G40, g49]", 4, "program.safe-words[1]", "g49", ""),
    ("blocks: {spaces: maybe}", 3, "blocks.spaces", "true", "true or false"),
    ("blocks: {longest: 10}", 3, "blocks.longest", "20 to 1000", ""),
    ("comments: {style: brackets}", 3, "comments.style", "brackets", "parentheses"),
    ("comments: {message: '(MSG'}", 3, "comments.message", "(MSG", ""),
    ("arcs: {style: centre}", 3, "arcs.style", "centre", "incremental"),
    ("arcs: {largest-sweep: 400}", 3, "arcs.largest-sweep", "10 to 360", ""),
    ("arcs: {planes: []}", 3, "arcs.planes", "no entries", ""),
    ("arcs:\n  planes: [XY, XZ]", 4, "arcs.planes[1]", "XZ", "ZX"),
    ("arcs: {tolerance: 0}", 3, "arcs.tolerance", "more than 0", ""),
    ("cycles: {use: true, drill: 81}", 3, "cycles.drill", "not text", "quotes"),
    ("cycles: {return-level: G97}", 3, "cycles.return-level", "G97", "G98"),
    ("dwell: {unit: min}", 3, "dwell.unit", "min", "ms"),
    ("change: {way: manual}", 3, "change.way", "manual", "by-hand"),
    ("change: {message: 'CUTTER {text}'}", 3, "change.message", "{cutter}", ""),
    ("offsets: {shift: G54}", 3, "offsets.shift", "G54", "G52"),
    ("offsets: {stands-at: [0, 0]}", 3, "offsets.stands-at", "2 values", ""),
    ("rotary: {way: absolut}", 3, "rotary.way", "absolut", "absolute"),
    ("rotary: {way: incremental, unwind: false}", 3, "rotary", "unwind", ""),
    ("rotary: {clamp: clamp}", 3, "rotary.clamp", "clamp", ""),
    ("x: {travel: -200}", 3, "x.travel", "more than 0", ""),
    ("z: {increment: 1e-3}", 3, "z.increment", "1e-3", "0.001"),
    ("x: {rapid: no}", 3, "x.rapid", "no", "false"),
    ("x: {letter: Y}", 1, "y.letter", "two axes", "own letter"),
    ("x: [200, 2000]", 3, "x", "list", "travel"),
    ("dividing: {letter: A}", 3, "dividing.kind", "missing", "driven"),
    ("dividing: {kind: driven, take-up: 100}", 3, "dividing.take-up", "less than 90", ""),
    ("dividing: {kind: by-hand}", 3, "dividing.plates", "missing", ""),
    ("dividing: {kind: by-hand, plates: [[1]]}", 3, "dividing.plates", "from 2", ""),
    ("dividing: {kind: by-hand, plates: [[15]], message: '{space} {setting}'}", 3,
     "dividing.message", "{angle}", ""),
    ("dividing: {kind: by-hand, plates: [[15]]}\ncomments: {style: none}", 4, "comments.style",
     "messages", "parentheses"),
    ("dividing: {kind: driven}\nrotary: {way: one-way}", 3, "dividing.take-up", "one way",
     "take-up: 0"),
    ("dividing: {kind: driven, arrangement: {along: -X, infeed: +X}}", 3, "dividing.arrangement",
     "three different", ""),
    ("spindle: {lowest: 5000, highest: 1000}", 3, "spindle", "above the highest", ""),
    ("spindle: {power: [[2000, 10], [1000, 20]]}", 3, "spindle.power", "rise", ""),
    ("subprograms: {use: true}", 3, "subprograms.use", "repeated", "use: false"),
    ('subprograms: {use: true, call: "L{number}"}\noffsets: {shift: G52}', 3, "subprograms.call",
     "not read back", "M98 P{number}"),
    ('subprograms: {use: true, call: "G22 P{number}"}\noffsets: {shift: G52}', 3,
     "subprograms.call", "not read back", "use: false"),
    ("subprograms: {use: true, back: RET}\noffsets: {shift: G52}", 3, "subprograms.back",
     "not read back", "M99"),
    ("subprograms: {call: M98}", 3, "subprograms.call", "{number}", ""),
    ("insert: {before-index: ['M8 {spce}']}", 3, "insert.before-index", "{spce}", ""),
    ("insert: {before-index: ['(Öl)']}", 3, "insert.before-index", "ASCII", ""),
    ("insert: {during-index: [M8]}", 3, "insert.during-index", "not a word", "after-index"),
    ("z: {letter: V}", 1, "arcs.style", "axis Y does too", "style: none"),
    ("rotary: {clamp: M10}", 3, "rotary", "let go again", ""),
    ("dividing: {kind: by-hand, plates: [[20]], stop-spindle: false}", 3, "dividing.stop-spindle",
     "cutter turns", ""),
    ("dividing: {kind: by-hand, plates: [[20]], message: '{space} ({angle}) {setting}'}", 3,
     "dividing.message", "cannot stand in a comment", ""),
    ("y: {letter: Z}\nz: {letter: Y}\ncycles: {use: true}", 5, "cycles.use",
     "axis Z has the letter Y", "use: false"),
    ("x: {letter: Z}\nz: {letter: X}\noffsets: {length: table}", 5, "offsets.length",
     "letter X", "touch-off"),
    ("y: {letter: Z}\nz: {letter: V}\noffsets: {length: table}", 5, "offsets.length",
     "axis Z has the letter V", "as the control does"),
    ("z: {sense: reversed}\ncycles: {use: true}", 4, "cycles.use", "smaller numbers",
     "use: false"),
    ("comments: {style: none}\nspindle-words: {by-program: false}", 3, "comments.style",
     "started by hand", "parentheses"),
    ("retract: {way: home}", 3, "retract.way", "home", "machine"),
    ("numbers:\n  decimals: 3\n  decimals: 4", 5, "numbers.decimals", "second time", "line 4"),
]


def faults_of(text: str) -> tuple[Fault, ...]:
    with pytest.raises(Refused) as caught:
        machine_of(load_yaml("name: mine\ndescribes: my mill\n" + text, "mine.yaml"))
    return caught.value.faults


@pytest.mark.parametrize(("text", "line", "path", "message", "remedy"), WRONG)
def test_a_wrong_word_is_named_with_its_line_and_what_to_do(
    text: str, line: int, path: str, message: str, remedy: str
) -> None:
    faults = faults_of(text)
    assert len(faults) == 1, [str(fault) for fault in faults]
    fault = faults[0]
    assert (fault.place.file, fault.place.line, fault.place.path) == ("mine.yaml", line, path)
    assert fault.place.column > 0
    assert message in fault.message
    assert remedy in fault.remedy
    assert fault.remedy or path.endswith("]")


@pytest.mark.parametrize("text", [
    "x: {letter: U}\ny: {letter: V}\nz: {letter: W}\ncycles: {use: true}",
    "y: {letter: Z}\nz: {letter: Y}", "z: {letter: V}\narcs: {style: none}",
    "x: {letter: Y}\ny: {letter: X}\ncycles: {use: true}\noffsets: {length: table}",
    "z: {sense: reversed}", "cycles: {use: true}\nx: {sense: reversed}", "comments: {style: none}",
])
def test_what_only_looks_like_a_contradiction_is_read(text: str) -> None:
    machine_of(load_yaml("name: mine\ndescribes: my mill\n" + text, "mine.yaml"))


def test_all_faults_of_a_file_come_in_one_answer() -> None:
    faults = faults_of(
        "x: {travle: 5}\nnumbers: {decimals: 9, point: allways}\narcs: {style: none, planes: [XZ]}"
    )
    assert [fault.place.line for fault in faults] == [3, 4, 4, 5]


def test_nothing_in_a_machine_file_is_run() -> None:
    faults = faults_of("program: !!python/object/apply:os.getcwd []")
    assert any("!!python" in str(fault) or "tag" in str(fault).lower() for fault in faults)
    kept = machine_of(load_yaml(
        "name: mine\ndescribes: my mill\ninsert: {after-index: ['M8 ({space}) __import__']}", "m"
    ))
    assert kept.insert.after_index == ("M8 ({space}) __import__",)


@pytest.mark.parametrize("name", machine_names())
def test_shipped_files_are_named_for_what_they_do(name: str) -> None:
    machine = find_machine(name)
    assert machine.name == name
    assert len(machine.describes) > 20
    assert list(contradictions(machine)) == []


def test_a_dozen_ways_of_writing_are_shipped() -> None:
    assert len(machine_names()) >= 10
    styles = {find_machine(name).arcs.style for name in machine_names()}
    assert styles == {"incremental", "absolute", "radius", "none"}


def test_the_workshops_own_file_comes_before_the_shipped_one(tmp_path: Path) -> None:
    folder = tmp_path / "postprocessors"
    folder.mkdir()
    (folder / "plain-iso.yaml").write_text("name: plain-iso\ndescribes: my own way\n")
    (folder / "corner-mill.yaml").write_text("name: corner-mill\ndescribes: in the corner\n")
    assert find_machine("plain-iso", tmp_path).describes == "my own way"
    assert find_machine("plain-iso").describes != "my own way"
    assert "corner-mill" in machine_names(tmp_path)
    assert find_machine(folder / "corner-mill.yaml").name == "corner-mill"
    with pytest.raises(Refused, match=r"did you mean corner-mill"):
        find_machine("corner-mil", tmp_path)
    with pytest.raises(Refused, match="no machine file"):
        find_machine(str(tmp_path / "none.yaml"))


def test_a_file_must_bear_its_own_name(tmp_path: Path) -> None:
    path = tmp_path / "left.yaml"
    path.write_text("describes: x\nname: right\n")
    with pytest.raises(Refused, match="name: left") as caught:
        read_machine(path)
    assert (caught.value.faults[0].place.line, caught.value.faults[0].place.column) == (2, 7)


@pytest.mark.parametrize("text", ["hello world, nobody's business\n", "- one\n- two\n", "12\n"])
def test_another_file_than_was_meant_is_named_and_not_repeated(tmp_path: Path, text: str) -> None:
    path = tmp_path / "secret.txt"
    path.write_text(text)
    with pytest.raises(Refused) as no:
        find_machine(str(path))
    (fault,) = no.value.faults
    assert fault.place.file == str(path)
    assert "not words with their values" in fault.message
    assert "hello" not in str(fault)
    assert "name, describes" in fault.remedy


def test_faults_of_a_workshops_machine_file_tell_the_way_to_it(tmp_path: Path) -> None:
    (tmp_path / "postprocessors").mkdir()
    path = tmp_path / "postprocessors" / "mine.yaml"
    path.write_text("name: mine\ndescribes: mine\nnumbers: {decimals: three}\n")
    with pytest.raises(Refused) as no:
        find_machine("mine", tmp_path)
    assert no.value.faults[0].place.file == str(path)


def test_the_schema_beside_the_shipped_files_is_up_to_date() -> None:
    kept = json.loads((shipped_folder("postprocessors") / "machine.schema.json").read_text())
    assert kept == json.loads(json.dumps(machine_schema()))


def test_every_word_says_what_it_is_for() -> None:
    schema = machine_schema()

    def words(part: dict[str, object]) -> list[str]:
        found = part.get("properties", {})
        assert isinstance(found, dict)
        return [word for word, about in found.items() if not about.get("description")]

    assert words(schema) == []
    for name, part in schema["$defs"].items():
        assert words(part) == [], name


@settings(max_examples=few(60), deadline=None)
@given(st.integers(0, 10**6))
def test_drawn_machine_files_are_in_agreement_with_themselves(seed: int) -> None:
    machine = random_machine(seed)
    assert list(contradictions(machine)) == []
    assert Machine.model_validate(machine.model_dump(by_alias=True)) == machine
