"""How words are written: what each field of a machine file does to a program's text."""

from __future__ import annotations

from typing import Any

import pytest

from camgen.faults import Refused
from camgen.messages import Message
from camgen.moves import (
    Arc,
    Drill,
    Dwell,
    Feed,
    Index,
    Move,
    Pause,
    Rapid,
    Remark,
    Section,
    SetupMoves,
)
from camgen.post.pen.pen import Pen
from camgen.post.pen.spelling import Spelling
from camgen.post.text import comment_signs
from camgen.post.writer import write_programs
from camgen.shop.machine import DrivenHead, HandHead, LinearAxis, Machine

CLEAR = (Rapid(z=5.0), Rapid(x=0.0, y=0.0))


def machine(**words: Any) -> Machine:
    """A machine in plain ISO but for these words."""
    data: dict[str, Any] = {"name": "mine", "describes": "mine", "spindle": {"start-seconds": 2}}
    return Machine.model_validate(data | {name.replace("_", "-"): w for name, w in words.items()})


def lines(
    on: Machine, *moves: Move, axis: Any = "Z", clear: float = 5.0, **section: Any
) -> list[str]:
    """The lines of a program with one section of these moves."""
    one = Section("cut", 0, "m", 1, "END MILL D0.4", 9000, moves, **section)
    programs = write_programs(SetupMoves("work", (one,), axis, clear), on, stem="work")
    assert len(programs) == 1
    return programs[0].text.decode().splitlines()


def after_start(on: Machine, *moves: Move, **more: Any) -> list[str]:
    """The blocks behind the first retract, up to the spindle's stop."""
    text = lines(on, *CLEAR, *moves, **more)
    first = next(k for k, line in enumerate(text) if "X0" in line.replace("+", ""))
    last = max(k for k, line in enumerate(text) if line.endswith(("M5", "M05")))
    return text[first + 1 : last]


@pytest.mark.parametrize(("numbers", "written"), [
    ({}, "X1.5 Y-0.25"),
    ({"trailing-zeros": True}, "X1.500 Y-0.250"),
    ({"leading-zero": False}, "X1.5 Y-.25"),
    ({"plus": True}, "X+1.5 Y-0.25"),
    ({"decimals": 4}, "X1.5 Y-0.25"),
    ({"decimals": 2, "point": "needed"}, "X1.5 Y-0.25"),
    ({"point": "never"}, "X1500 Y-250"),
    ({"point": "never", "decimals": 2, "plus": True}, "X+150 Y-25"),
])
def test_numbers_are_spelt_as_the_file_says(numbers: dict[str, Any], written: str) -> None:
    block = after_start(machine(numbers=numbers), Feed(60.0, x=1.5, y=-0.25))[0]
    assert block.removeprefix("G1 ").rsplit(" F", 1)[0] == written


@pytest.mark.parametrize(("blocks", "written"), [
    ({}, ["G1 X1. F60.", "Y1.", "G0 Z5."]),
    ({"spaces": False}, ["G1X1.F60.", "Y1.", "G0Z5."]),
    ({"two-figures": True}, ["G01 X1. F60.", "Y1.", "G00 Z5."]),
    ({"repeat-modal": True}, ["G1 X1. F60.", "G1 Y1. F60.", "G0 Z5."]),
    ({"repeat-axes": True}, ["G1 X1. Y0. Z0.5 F60.", "X1. Y1. Z0.5", "G0 X1. Y1. Z5."]),
])
def test_blocks_are_laid_out_as_the_file_says(blocks: dict[str, Any], written: list[str]) -> None:
    text = after_start(machine(blocks=blocks), Rapid(z=0.5), Feed(60.0, x=1.0), Feed(60.0, y=1.0),
                       Rapid(z=5.0))
    assert text[1:] == written


def test_block_numbers_step_and_start_again_at_their_limit() -> None:
    on = machine(blocks={"number": True, "number-start": 5, "number-step": 5, "number-limit": 20})
    numbers = [int(line.split()[0][1:]) for line in lines(on, *CLEAR) if line[0] == "N"]
    assert numbers[:6] == [5, 10, 15, 20, 5, 10]
    on = machine(blocks={"number": True, "number-limit": 30, "number-after": "stop"})
    numbered = [line[0] == "N" for line in lines(on, *CLEAR) if line[0] not in "%("]
    assert numbered[:3] == [True] * 3
    assert not any(numbered[3:])


def test_a_line_too_long_is_parted_where_it_can_be_and_refused_where_not() -> None:
    arc = Arc(1234.5, (0.0, 100.0), False, x=100.0, y=100.0, z=-10.125, plane="XY")
    start = (Rapid(x=100.25, y=0.0), Rapid(z=-20.0))
    text = lines(machine(blocks={"longest": 40}), *CLEAR, *start, arc)
    assert max(map(len, text)) <= 40
    with pytest.raises(Refused, match=r"blocks\.longest"):
        lines(machine(blocks={"longest": 24}, comments={"style": "none"}), *CLEAR, *start, arc)


def test_units_are_those_of_the_program_and_never_mixed() -> None:
    on = machine(program={"units": "inch"}, numbers={"decimals": 4, "feed-decimals": 2})
    text = lines(on, *CLEAR, Feed(254.0, x=25.4), Arc(254.0, (25.4, 12.7), False, x=38.1, y=12.7))
    assert "G17 G20 G90 G40 G49 G80 G94" in text
    assert "G1 X1. F10." in text
    assert "G3 X1.5 Y0.5 I0. J0.5" in text


def test_a_fixed_cycle_has_the_words_of_the_nist_example() -> None:
    """NISTIR 6556 (from memory): from X1 Y2 Z3, G90 G81 G98 X4 Y5 Z1.5 R2.8."""
    on = machine(cycles={"use": True})
    text = lines(on, Rapid(z=3.0), Rapid(x=1.0, y=2.0), Drill(4.0, 5.0, 2.8, 1.5, 30.0, 3.0),
                 Drill(4.0, 9.0, 2.8, 1.5, 30.0, 3.0), clear=3.0)
    at = text.index("G98 G81 X4. Y5. Z1.5 R2.8 F30.")
    assert text[at + 1 : at + 3] == ["Y9.", "G80"]


@pytest.mark.parametrize(("cycles", "kind", "written"), [
    ({}, {}, ["X3. Y7.", "Z2.", "G1 Z-1. F30.", "G0 Z5."]),
    ({}, {"peck": 1.75},
     ["X3. Y7.", "Z2.", "G1 Z0.25 F30.", "G0 Z2.", "Z0.35", "G1 Z-1.", "G0 Z5."]),
    ({}, {"reverses": True, "feed_out": True},
     ["X3. Y7.", "Z2.", "G1 Z-1. F30.", "S9000 M4", "Z2.", "S9000 M3", "G0 Z5."]),
    ({}, {"dwell": 0.5}, ["X3. Y7.", "Z2.", "G1 Z-1. F30.", "G4 P0.5", "G0 Z5."]),
    ({}, {"feed_out": True}, ["X3. Y7.", "Z2.", "G1 Z-1. F30.", "Z2.", "G0 Z5."]),
    ({}, {"aside": (0.5, -0.25)}, ["X3. Y7.", "Z2.", "G1 Z-1. F30.", "M19", "G0 X3.5 Y6.75", "Z5.",
                                   "X3. Y7.", "S9000 M3", "G4 P2."]),
    ({"use": True}, {}, ["G98 G81 X3. Y7. Z-1. R2. F30.", "G80"]),
    ({"use": True}, {"peck": 0.75}, ["G98 G83 X3. Y7. Z-1. R2. Q0.75 F30.", "G80"]),
    ({"use": True}, {"dwell": 0.5}, ["G98 G82 X3. Y7. Z-1. R2. P0.5 F30.", "G80"]),
    ({"use": True}, {"feed_out": True}, ["G98 G85 X3. Y7. Z-1. R2. F30.", "G80"]),
    ({"use": True}, {"feed_out": True, "dwell": 0.5},
     ["G98 G89 X3. Y7. Z-1. R2. P0.5 F30.", "G80"]),
    ({"use": True, "fine-bore": "G76", "tap": "G84"}, {}, ["G98 G81 X3. Y7. Z-1. R2. F30.", "G80"]),
    ({"use": True, "tap": "G84"}, {"reverses": True, "feed_out": True},
     ["G98 G84 X3. Y7. Z-1. R2. F30.", "G80"]),
    ({"use": True, "return-level": "G99"}, {}, ["G99 G81 X3. Y7. Z-1. R2. F30.", "G80", "G0 Z5."]),
    ({"use": True, "fine-bore": "G76"}, {"aside": (0.5, -0.25)},
     ["G98 G76 X3. Y7. Z-1. R2. I0.5 J-0.25 F30.", "G80"]),
])
def test_a_hole_of_each_kind_is_written_move_by_move_or_by_its_cycle(
    cycles: dict[str, Any], kind: dict[str, Any], written: list[str]
) -> None:
    on = machine(cycles=cycles, spindle_words={"oriented-stop": "M19"})
    text = after_start(on, Drill(3.0, 7.0, 2.0, -1.0, 30.0, 5.0, **kind))
    assert text == written


@pytest.mark.parametrize(("words", "block"), [
    ({}, "G4 P1.25"), ({"word": "X", "unit": "ms"}, "G4 X1250"), ({"word": "F"}, "G4 F1.25"),
])
def test_a_dwell_is_told_in_its_own_letter_and_unit(words: dict[str, str], block: str) -> None:
    assert after_start(machine(dwell=words), Dwell(1.25))[0] == block


def test_the_spindle_is_started_waited_for_and_stopped() -> None:
    text = lines(machine(spindle_words={"warm-up": [[3000, 20]], "speed-alone": True}), *CLEAR)
    at = text.index("S3000")
    assert text[at : at + 6] == ["S3000", "M3", "G4 P20.", "S9000", "M3", "G4 P2."]
    by_hand = lines(machine(spindle_words={"by-program": False}), *CLEAR)
    assert "(START SPINDLE CLOCKWISE AT 9000 REV/MIN)" in by_hand
    assert by_hand.count("M0") == 3
    assert not any(line.startswith("S9") for line in by_hand)


def test_the_spindle_stands_in_a_pause_and_is_started_again() -> None:
    text = after_start(machine(), Pause(Message("MEASURE")), Feed(60.0, z=1.0))
    # Drawn back from wherever hands have cranked it, before anything turns.
    assert text[:4] == ["M5", "(MEASURE)", "M0", "G0 Z5."]
    assert text[4:7] == ["S9000 M3", "G4 P2.", "X0. Y0."]


def test_coolant_is_off_in_a_pause_that_is_sure_to_happen() -> None:
    fitted = machine(coolant={"flood": "M8", "air": "M7"})
    text = lines(fitted, *CLEAR, Pause(Message("MEASURE")), Feed(60.0, z=1.0), coolant=True)
    at = text.index("(MEASURE)")
    assert text[at - 2 : at + 2] == ["M5", "M9", "(MEASURE)", "M0"]
    assert "M8" in text[at + 2 : at + 6]
    trial = lines(fitted, *CLEAR, Pause(Message("LOOK"), optional=True), coolant=True)
    assert trial[trial.index("(LOOK)") - 1] != "M9"


@pytest.mark.parametrize(("was", "now", "written"), [
    ((True, False), (True, True), ["M7"]), ((False, True), (True, True), ["M8"]),
    ((True, True), (True, False), ["M9", "M8"]), ((True, True), (False, True), ["M9", "M7"]),
    ((True, False), (False, True), ["M9", "M7"]), ((True, True), (True, True), []),
    ((False, False), (True, True), ["M8", "M7"]), ((True, True), (False, False), ["M9"]),
])
def test_of_coolant_and_air_no_more_is_said_than_changes(
    was: tuple[bool, bool], now: tuple[bool, bool], written: list[str]
) -> None:
    pen = Pen(machine(coolant={"flood": "M8", "air": "M7"}), "Z", 5.0)
    pen.running.set_media(*was)
    before = len(pen.blocks.text.lines)
    pen.running.set_media(*now)
    assert pen.blocks.text.lines[before:] == written


def test_what_stood_still_at_a_stop_runs_again_once_and_no_more() -> None:
    fitted = machine(coolant={"flood": "M8", "air": "M7"})
    for optional in (False, True):
        text = lines(fitted, *CLEAR, Pause(Message("MEASURE"), optional), Feed(60.0, z=1.0),
                     Feed(60.0, x=1.0), Rapid(z=5.0), coolant=True, air=True)
        assert [text.count(word) for word in ("M8", "M7", "S9000 M3")] == [2, 2, 2], text


def test_after_a_stop_the_cutter_is_where_the_plan_left_it_before_the_head_turns() -> None:
    on = machine(dividing={"kind": "driven", "take-up": 0})
    text = after_start(on, Index(0.0, 1), Rapid(x=3.0), Pause(Message("MEASURE")), Index(90.0, 2))
    assert text == ["A0.", "X3.", "M5", "(MEASURE)", "M0", "G0 Z5.", "S9000 M3", "G4 P2.",
                    "X3. Y0.", "A90."]


def test_what_was_left_on_is_ended_at_the_start() -> None:
    text = lines(machine(coolant={"flood": "M8"}, offsets={"shift": "G52"}), *CLEAR)
    begin = text[: text.index("T1 M6")]
    assert [word for word in ("M5", "M9", "G52 X0. Y0.") if word not in begin] == []
    assert "M5" not in lines(machine(spindle_words={"by-program": False}), *CLEAR)


def test_a_second_rotary_axis_turns_only_once_the_cutter_is_drawn_back() -> None:
    for retract in ({}, {"way": "machine"}, {"way": "reference"}):
        text = lines(machine(second_rotary={"letter": "B"}, retract=retract), *CLEAR)
        at = next(n for n, line in enumerate(text) if line.endswith("B0."))
        assert any("Z" in line for line in text[:at]), text
        assert sum("B0." in line for line in text) == 1
    for sense, told in (("iso", "B12.5"), ("reversed", "B-12.5")):
        second = {"letter": "B", "stands-at": 12.5, "sense": sense}
        assert any(line.endswith(told) for line in lines(machine(second_rotary=second), *CLEAR))


@pytest.mark.parametrize(("words", "stop"), [
    ({}, "M1"), ({"optional_stop": False}, "M0"), ({"block_skip": True}, "/M1"),
])
def test_an_optional_pause_is_written_as_the_control_knows_it(
    words: dict[str, bool], stop: str
) -> None:
    assert stop in lines(machine(**words), *CLEAR, Pause(Message("MEASURE"), optional=True))


def test_no_stop_or_change_comes_before_the_cutter_is_named() -> None:
    text = lines(machine(), *CLEAR)
    message = text.index("(FIT CUTTER 1 END MILL D0.4)")
    assert text[message + 1 : message + 4] == ["T1 M6", "(SET ZERO OF Z FOR THIS CUTTER)", "M0"]
    assert not any(line.startswith(("G0", "G1", "X", "Y", "Z")) for line in text[:message]
                   if not line.startswith("G17"))


def test_a_changer_takes_lengths_from_the_table_and_z_from_machine_coordinates() -> None:
    on = machine(change={"way": "automatic"}, offsets={"length": "table"},
                 retract={"way": "machine", "machine-z": -1.0})
    text = lines(on, *CLEAR)
    assert text.count("G53 G0 Z-1.") == 2
    assert text[text.index("T1 M6") + 1] == "G43 H1"
    assert "M0" not in text
    assert text[-3:] == ["G49", "M30", "%"]


def test_retracts_come_before_travel_and_travel_before_going_down() -> None:
    text = after_start(machine(), Rapid(x=3.0, y=4.0, z=0.5), Rapid(x=0.0, y=0.0, z=5.0))
    assert text == ["X3. Y4.", "Z0.5", "Z5.", "X0. Y0."]


def test_words_of_ones_own_stand_at_their_places_with_values_filled_in() -> None:
    on = machine(
        dividing={"kind": "driven", "take-up": 0},
        insert={
            "program-start": ["M70 ({program} {part})"], "program-end": ["M71"],
            "before-change": ["M72"], "after-change": ["M73 ({cutter})"],
            "before-step": ["M74 ({step} {speed})"], "after-step": ["M75"],
            "before-index": ["M76"], "after-index": ["M77 ({space} {angle} {safe})"],
        },
    )
    text = lines(on, *CLEAR, Index(57.6, 12))
    own = [line for line in text if line.startswith("M7")]
    assert own == ["M70 (WORK 1)", "M72", "M73 (1)", "M74 (1 9000)", "M76", "M77 (12 57.6 5.)",
                   "M75", "M76", "M77 (0 0 5.)", "M71"]
    assert text[text.index("M76") + 1].endswith("A57.6")
    assert text[text.index("M76") + 2].startswith("M77")


@pytest.mark.parametrize(("words", "turns"), [
    ({}, ["A120.", "A240.", "A360."]),
    ({"way": "shortest"}, ["A120.", "A240.", "A0."]),
    ({"way": "signed"}, ["A120.", "A240.", "A360."]),
    ({"way": "incremental"}, ["G91 A120.", "G91 A120.", "G91 A120."]),
    ({"turn": "feed"}, ["G1 A120. F3600.", "G1 A240. F3600.", "G1 A360. F3600."]),
    ({"turn": "inverse-time"}, ["G93 G1 A120. F7.5", "G93 G1 A240. F30.", "G93 G1 A360. F30."]),
])
def test_the_head_is_told_to_turn_in_its_own_way(words: dict[str, Any], turns: list[str]) -> None:
    on = machine(dividing={"kind": "driven", "take-up": 0}, rotary=words | {"unwind": True})
    text = lines(on, *CLEAR, *(Index(120.0 * k, k) for k in (1, 2, 3)))
    told = [line.replace("G0 ", "") for line in text if "A" in line and line[0] in "AG"]
    assert [turn for turn in told if turn in turns][:3] == turns


def test_a_reversed_head_and_a_reversed_axis_count_the_other_way() -> None:
    on = machine(dividing=DrivenHead(sense="reversed", take_up=2.0), x=LinearAxis(sense="reversed"))
    text = lines(on, *CLEAR, Index(1.0, 1), Index(90.0, 2), Feed(60.0, x=3.0),
                 Arc(60.0, (3.0, 1.0), False, x=4.0, y=1.0))
    turns = [line for line in text if line.startswith("A")]
    assert turns == ["A1.", "A-1.", "A-90."]
    assert "G1 X-3. F60." in text
    assert "G2 X-4. Y1. I0. J1." in text


@pytest.mark.parametrize(("angles", "turns"), [
    ((10.0, 11.0, 12.0), ["A8.", "A10.", "A11.", "A12."]),
    ((10.0, 9.0, 9.5), ["A8.", "A10.", "A7.", "A9.", "A9.5"]),
    ((10.0, 10.0, 12.0), ["A8.", "A10.", "A12."]),
    ((-10.0, -12.0), ["A-12.", "A-10.", "A-14.", "A-12."]),
])
@pytest.mark.parametrize("sense", ["iso", "reversed"])
def test_backlash_is_taken_up_again_only_after_a_turn_back(
    angles: tuple[float, ...], turns: list[str], sense: Any
) -> None:
    on = machine(dividing=DrivenHead(take_up=2.0, sense=sense))
    text = lines(on, *CLEAR, *(Index(angle, space) for space, angle in enumerate(angles, start=1)))
    told = [line.replace("G0 ", "") for line in text if line.startswith(("A", "G0 A"))]
    if sense == "reversed":
        turns = [turn.replace("A", "A-").replace("--", "") for turn in turns]
    # What comes last turns it back to where it began.
    assert told[: len(turns)] == turns
    assert told[len(turns) :] == ["A0."]


def test_clamps_are_open_while_the_head_turns() -> None:
    on = machine(dividing={"kind": "driven", "take-up": 1},
                 rotary={"clamp": "M10", "unclamp": "M11"})
    text = lines(on, *CLEAR, Index(0.0, 1))
    at = text.index("M11")
    assert [line.replace("G0 ", "") for line in text[at : at + 4]] == ["M11", "A-1.", "A0.", "M10"]
    for clamp, unclamp in (("M10", "M11"), (None, "M11"), (None, None)):
        on = machine(dividing={"kind": "driven", "take-up": 0},
                     rotary={"clamp": clamp, "unclamp": unclamp})
        text = [line.replace("G0 ", "") for line in lines(on, *CLEAR, Index(90.0, 1))]
        back = len(text) - 1 - text[::-1].index("A0.")
        assert text[back - bool(unclamp) : text.index("M30")] == [
            word for word in (unclamp, "A0.", clamp) if word]


def test_a_message_too_long_for_its_comment_is_refused_or_goes_on_below() -> None:
    head = HandHead(plates=((39,),), message="SPACE {space} OF THE WHEEL AT {angle} DEG: {setting}")
    turn = Index(57.6, 12, "12 turns and 38 holes on the 39 circle, plate three")
    text = lines(machine(dividing=head, comments={"longest": 50}), *CLEAR, turn)
    at = next(k for k, line in enumerate(text) if "SPACE 12" in line)
    assert "57.6 DEG" in text[at]
    assert text[at + 1].endswith("PLATE THREE)")
    with pytest.raises(Refused, match=r"comments\.longest"):
        lines(machine(dividing=head, comments={"longest": 24}), *CLEAR, turn)


def test_what_the_machine_cannot_do_is_refused_by_the_name_of_its_field() -> None:
    with pytest.raises(Refused, match="dividing"):
        lines(machine(), *CLEAR, Index(10.0, 1))
    with pytest.raises(Refused, match=r"spindle\.senses"):
        lines(machine(), *CLEAR, clockwise=False)
    with pytest.raises(Refused, match=r"arcs\.tolerance"):
        lines(machine(arcs={"style": "none", "tolerance": 0.0005}), *CLEAR,
              Arc(60.0, (1.0, 0.0), False, full=True))
    with pytest.raises(Refused, match=r"feed-decimals"):
        lines(machine(numbers={"feed-decimals": 0}), *CLEAR, Feed(0.3, x=1.0))
    with pytest.raises(Refused, match=r"spindle\.highest"):
        lines(machine(spindle={"highest": 5000}), *CLEAR)


def test_comments_are_plain_and_as_short_as_the_control_wants() -> None:
    assert comment_signs("Ø10.9 × 57.6° (½ µm) ; 100 %") == "D10.9 X 57.6 DEG 12 UM 100"
    on = machine(comments={"longest": 20, "style": "semicolon", "letters": "ascii"})
    text = [line for line in lines(on, *CLEAR, Remark("Räder für Élise — très petit, 0,4 mm"))
            if line.startswith(";")]
    assert max(map(len, text)) <= 22
    assert "; Rader fur Elise -" in text
    assert not [line for line in lines(machine(comments={"style": "none"}), *CLEAR, Remark("x"))
                if "(" in line or ";" in line]


def test_every_program_begins_with_its_cautions_where_comments_are_read() -> None:
    text = "\n".join(lines(machine(), *CLEAR))
    for word in ("FIRST RUN IN AIR", "EYES", "GUARDS", "LOCAL RULES"):
        assert word in text


@pytest.mark.parametrize(("units", "places", "feed", "written"), [
    ("mm", 1, 100.04, "F100."), ("mm", 1, 100.06, "F100.1"), ("mm", 0, 599.6, "F600."),
    ("mm", 0, 600.0, "F600."), ("mm", 0, 12.6, "F13."), ("mm", 0, 412.6, "F413."),
    ("inch", 1, 600.0, "F23.6"), ("inch", 0, 600.0, "F23."), ("inch", 2, 600.0, "F23.62"),
    ("inch", 1, 62.5, "F2.5"), ("inch", 1, 599.0, "F23.6"),
])
def test_a_feed_is_never_rounded_above_what_an_axis_follows(
    units: str, places: int, feed: float, written: str
) -> None:
    on = machine(program={"units": units}, numbers={"feed-decimals": places},
                 z={"feed-limit": 600})
    assert Spelling(on).feed(feed) == written
