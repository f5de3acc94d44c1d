"""A machine file's own blocks: contradictions by the word's name, and what is trusted is told."""

from __future__ import annotations

import json
from itertools import product
from pathlib import Path

import pytest
from click.testing import CliRunner
from sampling import sampled

from camgen.cli import group
from camgen.faults import Refused
from camgen.make.chain import Wish, proved_job
from camgen.messages import Message
from camgen.reader.trusted import trusted_words
from camgen.shipped import shipped_folder
from camgen.shop.machine import Insertions, Machine
from camgen.shop.machines import find_machine, machine_names, machine_of
from camgen.words import words
from camgen.yamlfile import load_yaml

PLACES = [name.replace("_", "-") for name in Insertions.model_fields]
# What an own block says, and the word that must be named.
AGAINST = {
    "G91": "G91", "g91 g28 z0.": "G91", "G18": "G18", "G 19": "G19", "G20": "G20",
    "G41 D1": "G41", "G042 D1": "G42", "G93": "G93", "G95": "G95", "G52 X5.": "G52",
    "G92 X5.": "G92", "G92 X0.": "G92", "M30": "M30", "M02": "M2", "M99": "M99", "G55": "G55",
    "G59": "G59", "G43 H1": "G43", "(NOT CLOSED": "not closed", "#1=5": "variable",
    "G0 X[#1]": "variable", "%": "mark", "O100": "number", "N10 M64": "number",
}
FINE = ["G91 G28 Z0. G90", "G17", "G21", "G40", "G94", "G54", "G52 X0 Y0 Z0", "M8", "M9", "G55 G54",
        "(A NOTE)", "G53 G0 Z0.", "M64", "S{speed} M3", "G92.1", "M5 M3"]


def machine_with(place: str, *blocks: str) -> Machine:
    text = json.dumps({"name": "own", "describes": "own", "insert": {place: list(blocks)}})
    return machine_of(load_yaml(text, "own.yaml"))


@pytest.mark.parametrize(("place", "block"), sampled(product(PLACES, AGAINST), 12))
def test_what_an_own_block_contradicts_is_a_fault_by_the_words_name(
    place: str, block: str
) -> None:
    assert machine_with(place, *FINE)
    with pytest.raises(Refused) as no:
        machine_with(place, *FINE, block)
    (fault,) = no.value.faults
    assert AGAINST[block] in fault.message
    assert fault.place.path == f"insert.{place}"
    assert fault.place.line == 1
    assert fault.remedy


@pytest.mark.parametrize("blocks", [
    ("G91", "G28 Z0.", "G90"), ("G18", "G17"), ("G41 D1", "G40"), ("G52 X5.", "G52 X0 Y0"),
    ("G92 X5.", "G92.1"), ("G55", "M64", "G54"), ("G95 G94",),
])
def test_what_is_put_back_in_the_same_place_contradicts_nothing(blocks: tuple[str, ...]) -> None:
    assert machine_with("before-change", *blocks)


@pytest.mark.parametrize("place", PLACES)
def test_a_spindle_stopped_where_cuts_follow_is_a_fault(place: str) -> None:
    if place in ("before-step", "after-step", "before-index", "after-index"):
        with pytest.raises(Refused, match="M5 stops the spindle"):
            machine_with(place, "M5")
    else:
        assert machine_with(place, "M5")


@pytest.mark.parametrize("word", ["M7", "M8", "M08"])
@pytest.mark.parametrize("place", PLACES)
def test_coolant_left_on_where_hands_go_in_is_a_fault(place: str, word: str) -> None:
    assert machine_with(place, word, "M9")
    if place in ("program-start", "before-change", "after-change", "before-step"):
        with pytest.raises(Refused, match="runs where hands go in"):
            machine_with(place, "M9", word)


def machine_saying(**words: object) -> Machine:
    text = json.dumps({"name": "own", "describes": "own", **words})
    return machine_of(load_yaml(text, "own.yaml"))


@pytest.mark.parametrize(("words", "path"), [
    ({"change": {"way": "automatic"}}, "offsets.length"),
    ({"retract": {"way": "machine", "machine-z": -200.5}}, "retract.machine-z"),
    ({"retract": {"way": "machine", "machine-z": 500}}, "retract.machine-z"),
    ({"program": {"end": "M99"}}, "program.end"),
    ({"program": {"end": "M5"}}, "program.end"),
    ({"spindle-words": {"clockwise": "M4"}}, "spindle-words.clockwise"),
    ({"spindle-words": {"stop": "M9"}}, "spindle-words.stop"),
    ({"coolant": {"flood": "M3"}}, "coolant.flood"),
    ({"coolant": {"air": "M09"}}, "coolant.air"),
    ({"rotary": {"clamp": "M10", "unclamp": "M10"}}, "rotary.clamp"),
    ({"rotary": {"clamp": "M6", "unclamp": "M11"}}, "rotary.clamp"),
    ({"offsets": {"work": "G90"}}, "offsets.work"),
    ({"cycles": {"use": True, "peck": "G81"}}, "cycles.peck"),
    ({"cycles": {"use": True, "cancel": "G81"}}, "cycles.cancel"),
    ({"cycles": {"use": True, "bore": "G1"}}, "cycles.bore"),
])
def test_what_cannot_be_is_refused_by_its_word(words: dict[str, object], path: str) -> None:
    assert machine_saying(retract={"way": "machine", "machine-z": -200},
                          coolant={"flood": "M8", "air": "M8"})
    with pytest.raises(Refused) as no:
        machine_saying(**words)
    assert path in [fault.place.path for fault in no.value.faults]


def test_a_retract_below_the_machines_zero_and_another_end_are_named_as_trusted() -> None:
    machine = machine_saying(retract={"way": "machine", "machine-z": -20}, program={"end": "M60"})
    assert [one.word for one in trusted_words(machine)] == ["G53 Z-20", "M60"]


@pytest.mark.parametrize(("words", "named"), [
    ({"spindle-words": {"stop": "M15"}}, ["M15"]),
    ({"spindle-words": {"clockwise": "M13", "stop": "M15"}}, ["M13", "M15"]),
    ({"spindle-words": {"anticlockwise": "M14"}}, ["M14"]),
    ({"spindle-words": {"stop": "M15", "by-program": False}}, []),
    ({"spindle-words": {"stop": "M05", "clockwise": "M03"}}, []),
    ({"dwell": {"word": "S"}}, ["G4 S"]), ({"dwell": {"word": "U"}}, ["G4 U"]),
    ({"dwell": {"word": "X"}}, []), ({"dwell": {"word": "P"}}, []),
])
def test_words_of_the_spindle_and_of_waits_that_are_not_the_usual_are_named_as_trusted(
    words: dict[str, object], named: list[str]
) -> None:
    assert [one.word for one in trusted_words(machine_saying(**words))] == named


@pytest.mark.parametrize("word", ["G91", "G18", "G41", "G95", "G20", "G55", "G43"])
def test_safe_words_contradict_nothing_either(word: str) -> None:
    text = json.dumps({"name": "own", "describes": "own", "program": {"safe-words": ["G40", word]}})
    with pytest.raises(Refused, match=word) as no:
        machine_of(load_yaml(text, "own.yaml"))
    assert no.value.faults[0].place.path == "program.safe-words"


def test_comments_for_a_control_that_reads_none_are_a_fault() -> None:
    text = json.dumps({"name": "own", "describes": "own", "comments": {"style": "none"},
                       "insert": {"before-step": ["M8 (COOLANT)"]}})
    with pytest.raises(Refused, match="none is read"):
        machine_of(load_yaml(text, "own.yaml"))


@pytest.mark.parametrize("name", machine_names())
def test_shipped_machine_files_trust_nothing(name: str) -> None:
    # Places in the machine's own coordinates are true or not; nothing else is taken on trust.
    assert [told for told in trusted_words(find_machine(name))
            if told.place not in ("change.place", "retract.park")] == []


@pytest.fixture
def workshop(tmp_path: Path) -> Path:
    (tmp_path / "jobs").mkdir()
    (tmp_path / "postprocessors").mkdir()
    source = shipped_folder("jobs") / "ratchet-wheel.yaml"
    (tmp_path / "jobs" / "wheel.yaml").write_bytes(source.read_bytes())
    return tmp_path


def write_machine(workshop: Path, place: str, *blocks: str) -> None:
    text = (shipped_folder("postprocessors") / "plain-iso.yaml").read_text()
    own = json.dumps({place: list(blocks)})
    (workshop / "postprocessors" / "own.yaml").write_text(
        text.replace("name: plain-iso", "name: own") + f"\ninsert: {own}\n")


@pytest.mark.parametrize("language", sampled(["en", "de", "fr"], 3))
@pytest.mark.parametrize(("place", "block"), sampled([
    ("program-start", "G68 X0 Y0 R10"), ("before-step", "G51 X2 P2"), ("after-change", "G65 P9 X2"),
    ("program-start", "G10 L2 P1 X5"), ("before-step", "G64"), ("after-index", "M64"),
], 6))
def test_a_trusted_word_is_named_on_console_sheet_and_report(
    workshop: Path, language: str, place: str, block: str
) -> None:
    write_machine(workshop, place, block)
    out = workshop / "out"
    done = CliRunner().invoke(group, [
        "make", str(workshop / "jobs" / "wheel.yaml"), "--post", "own", "--out", str(out),
        "--no-pictures", "--language", language])
    assert done.exit_code == 0, done.output or done.exception
    word = block.split()[0]
    (entry,) = json.loads((out / "report.json").read_text())["trusted"]
    assert (entry["word"], entry["place"]) == (word, f"insert.{place}")
    sheet = (out / "sheet.html").read_text()
    (trusted,) = trusted_words(find_machine("own", workshop))
    say = words(language).say
    assert say(Message("trusted: {what}.", what=trusted.told)) in done.output
    # The terminal speaks as the sheet does.
    english = ("but for what is trusted", "At the machine", "note:", "First run in air")
    assert [one in done.output for one in english] == [language == "en"] * len(english)
    said = say(trusted.told) + "."
    assert said.replace("'", "&#x27;") in sheet or said.replace("'", "&#39;") in sheet
    assert (said == f"{trusted}.") == (language == "en")


@pytest.mark.parametrize(("place", "block"), sampled([
    ("before-step", "G0 X50."), ("program-end", "G1 X3. F100."), ("after-step", "G1 Z-3. F50."),
    ("program-start", "M98 P100"), ("before-step", "T5 M6"), ("after-change", "S100 M3"),
    ("before-step", "G28 Z0."),
], 9))
def test_a_proof_that_fails_for_an_own_block_names_the_block(
    workshop: Path, place: str, block: str
) -> None:
    write_machine(workshop, place, "M9")
    assert not proved_job(workshop / "jobs" / "wheel.yaml", Wish(post="own")).failed
    write_machine(workshop, place, block)
    with pytest.raises(Refused) as no:
        proved_job(workshop / "jobs" / "wheel.yaml", Wish(post="own"))
    assert all(f"{block!r} in insert.{place} of machine file own" in fault.message
               for fault in no.value.faults)


@pytest.mark.parametrize("word", ["G64", "G064", "G61", "G0", "G68", "G91", "G20", "G83", "G92.1"])
@pytest.mark.parametrize("place", ["work", "further"])
def test_a_word_that_does_something_else_is_no_work_offset(word: str, place: str) -> None:
    def with_offset(one: str) -> Machine:
        said = one if place == "work" else [one]
        return machine_of(load_yaml(json.dumps(
            {"name": "own", "describes": "own", "offsets": {place: said}}), "own.yaml"))

    for fine in ("G54", "G59.1", "G54.2", "G110", "G500"):
        assert with_offset(fine)
    with pytest.raises(Refused, match=f"{word} is no work offset") as no:
        with_offset(word)
    assert no.value.faults[0].place.line == 1


# Every word of a group that says what a word of the program does; the work offsets of stations
# stand in whatever order their owner likes, and programs and sheet say which is which.
FULL = {
    "spindle-words": {"clockwise": "M3", "anticlockwise": "M4", "stop": "M5",
                      "oriented-stop": "M19"},
    "coolant": {"flood": "M8", "air": "M7", "off": "M9"},
    "rotary": {"clamp": "M10", "unclamp": "M11"},
    "cycles": {"drill": "G81", "dwell": "G82", "peck": "G83", "bore": "G85", "bore-dwell": "G89",
               "fine-bore": "G76", "tap": "G84", "cancel": "G80"},
    "subprograms": {"call": "M98 P{number}", "back": "M99"},
}
AXES = {"x": "X", "y": "Y", "z": "Z"}


def machine_of_words(words: dict[str, dict[str, str]], axes: dict[str, str], head: str) -> Machine:
    said: dict[str, object] = {name: dict(group) for name, group in words.items()}
    for name in ("cycles", "subprograms"):
        said[name] = {**words[name], "use": True}
    return machine_saying(
        **said, **{axis: {"letter": letter} for axis, letter in axes.items()},
        dividing={"kind": "driven", "letter": head}, **{"second-rotary": {"letter": "B"}}
        if head != "B" else {"second-rotary": {"letter": "A"}})


@pytest.mark.parametrize(("group", "one", "two"), [
    (group, one, two) for group, words in FULL.items()
    for number, one in enumerate(words) for two in list(words)[number + 1:]])
def test_two_words_of_a_group_swapped_are_refused_or_named(group: str, one: str, two: str) -> None:
    words = FULL[group]
    swapped = {**words, one: words[two], two: words[one]}
    if group == "subprograms":
        swapped = {"call": "M99 P{number}", "back": "M98"}
    assert trusted_words(machine_of_words(FULL, AXES, "A")) == ()
    assert {f"{group}.{one}", f"{group}.{two}"} & named({**FULL, group: swapped})


def named(words: dict[str, dict[str, str]]) -> set[str]:
    """The places of a machine file that are refused, or named as trusted."""
    try:
        return {told.place for told in trusted_words(machine_of_words(words, AXES, "A"))}
    except Refused as no:
        return {fault.place.path for fault in no.faults}


@pytest.mark.parametrize(("one", "two"), [("x", "y"), ("y", "z"), ("x", "z")])
def test_letters_of_axes_swapped_are_refused_with_cycles_along_another_z_and_else_named(
        one: str, two: str) -> None:
    letters = {**AXES, one: AXES[two], two: AXES[one]}
    if letters["z"] != "Z":
        with pytest.raises(Refused) as no:
            machine_of_words(FULL, letters, "A")
        assert [fault.place.path for fault in no.value.faults] == ["cycles.use"]
    else:
        machine_of_words(FULL, letters, "A")
    machine = machine_saying(arcs={"style": "none"},
                             **{axis: {"letter": letter} for axis, letter in letters.items()})
    assert [told.place for told in trusted_words(machine)] == [f"{one}.letter", f"{two}.letter"]
    assert all("trusted, not proved" in str(told) for told in trusted_words(machine))


def test_a_head_by_the_letter_of_another_axis_is_named() -> None:
    assert [told.place for told in trusted_words(machine_of_words(FULL, AXES, "B"))] == [
        "dividing.letter"]


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("block", ["(SPINDLE STAYS ON)", "M64 (REACH IN)", "(STEP {step})"])
def test_a_comment_of_an_own_block_is_named_as_trusted(place: str, block: str) -> None:
    comment = block[block.index("(") + 1 : -1]
    told = [one for one in trusted_words(machine_with(place, block)) if one.said]
    assert [(one.word, one.place) for one in told] == [(comment, f"insert.{place}")]
    assert f"({comment})" in str(told[0])
    assert not any(one.said for one in trusted_words(machine_with(place, "M64")))


@pytest.mark.parametrize(("words", "place"), [
    ({"comments": {"message": "NOT"}}, "comments.message"),
    ({"change": {"message": "LEAVE CUTTER {cutter} {text}"}}, "change.message"),
    ({"dividing": {"kind": "by-hand", "plates": [[15]],
                   "message": "SPACE {space} {angle} NOT {setting}"}}, "dividing.message"),
])
def test_a_message_of_a_machine_files_own_is_named_as_trusted(
    words: dict[str, object], place: str
) -> None:
    assert [(one.place, one.said) for one in trusted_words(machine_saying(**words))] == [
        (place, True)]
    assert trusted_words(machine_saying(comments={"message": "MSG,"})) == ()


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("block", [
    "(FIT CUTTER 7)", "(fit  cutter 2 MILL D0.8)", "M64 (FITCUTTER)"])
def test_an_own_comment_that_begins_like_the_programs_message_is_refused(
    place: str, block: str
) -> None:
    assert machine_with(place, block.replace("(", "(NOW "))
    with pytest.raises(Refused, match="begins like") as no:
        machine_with(place, block)
    assert no.value.faults[0].place.path == f"insert.{place}"


@pytest.mark.parametrize("message", ["M3 ", "M30", "G0 Z-5", "T9", "3 TURNS"])
def test_a_message_that_begins_like_a_word_of_a_program_is_refused(message: str) -> None:
    with pytest.raises(Refused, match="reads as a word of a program") as no:
        machine_saying(comments={"message": message})
    assert no.value.faults[0].place.path == "comments.message"


@pytest.mark.parametrize(("work", "further"), [
    ("G54", ["G54", "G55"]), ("G54", ["G55", "G55"]), ("G55", ["G54", "G055"]),
    (None, ["G55", "G56", "G55"]),
])
def test_one_offset_for_two_stations_is_refused(work: str | None, further: list[str]) -> None:
    assert machine_saying(offsets={"work": "G55"})
    assert machine_saying(offsets={"work": "G54", "further": ["G55", "G59.1"]})
    with pytest.raises(Refused, match="the offset of two stations") as no:
        machine_saying(offsets={"work": work, "further": further})
    assert no.value.faults[0].place.path == "offsets.further"
