"""No fed block is over before the control has read the next: written, read back, proved, told."""

from __future__ import annotations

import json
import re
from math import dist
from pathlib import Path

import pytest
from demos import proved_demo
from odd_machines import machine_with, written

from camgen.faults import Refused
from camgen.make.chain import Wish, proved_job
from camgen.make.files import output_of
from camgen.make.told.report import notes_of, times_of
from camgen.make.told.same_said import said_of
from camgen.make.told.sheet_texts import sheet_of
from camgen.messages import Message
from camgen.moves import Arc, Drill, Feed, Rapid, Section, SetupMoves
from camgen.post.writer import write_programs
from camgen.shop.machine import Machine
from camgen.words import words

SLOW = "blocks-per-second: 20\n"
ALL = range(20)
PACE = "blocks a second, as the control reads them"
WORDS = ("", "arcs: {style: none}\n", "arcs: {style: absolute}\n", "arcs: {style: radius}\n",
         "blocks: {repeat-modal: true}\n",
         "blocks: {repeat-axes: true}\n",
         "program: {units: inch}\nnumbers: {decimals: 4, feed-decimals: 3}\n",
         "numbers: {feed-decimals: 0}\n", "x: {sense: reversed}\n", "x: {scale: 1.0004}\n",
         "squareness: 0.03\n", "x: {errors: [[-50, 0.0], [0, 0.01], [50, 0.0]]}\n",
         "program: {feed: per-turn, safe-words: [G40, G49, G80], unknown-words: [G94]}\n"
         "numbers: {feed-decimals: 5}\n", "subprograms: {use: true}\n", "x: {increment: 0.003}\n")


@pytest.mark.parametrize("words", WORDS)
def test_short_blocks_are_slower_and_proved(words: str) -> None:
    made = written("train-bridge", "plain-iso", SLOW + words, sections=ALL,
                   planned_with=words if "x:" in words else "")
    assert made.failed() == {}


def straight_lines(text: str) -> list[tuple[float, float]]:
    """Length, mm, and feed, mm/min, of each straight fed block, read by a few lines of our own."""
    at, feed, motion = {"X": 0.0, "Y": 0.0, "Z": 0.0}, 0.0, "0"
    found: list[tuple[float, float]] = []
    for line in text.splitlines():
        words = re.findall(r"([A-Z])([-+.\d]+)", re.sub(r"\(.*?\)", "", line))
        before = dict(at)
        for letter, value in words:
            if letter == "G" and value in ("0", "1", "2", "3"):
                motion = value
            elif letter == "F":
                feed = float(value)
            elif letter in at and ("G", "53") not in words:
                at[letter] = float(value)
        way = dist(tuple(before.values()), tuple(at.values()))
        if motion == "1" and way:
            found.append((way, feed))
    return found


def test_reckoned_from_the_text_alone() -> None:
    fast = written("train-bridge", "plain-iso", "blocks-per-second: 1000000", sections=ALL)
    slow = written("train-bridge", "plain-iso", SLOW + "merge-within: 0\n", sections=ALL)
    before, after = straight_lines(fast.texts[0]), straight_lines(slow.texts[0])
    assert [way for way, _ in before] == [way for way, _ in after]
    least = 1.0 / 20.0
    short = [(way, feed) for way, feed in before if way / feed * 60.0 < least]
    assert len(short) > 20
    assert all(way / feed * 60.0 >= least * 0.999 for way, feed in after)
    for (way, was), (_, now) in zip(before, after, strict=True):
        # As fast as it may be, in two figures and with one decimal place.
        assert now == was if way / was * 60.0 >= least else (
            0.9 * way / least * 60.0 - 0.11 <= now < was)


def test_merged_with_their_neighbours_blocks_are_fewer_and_as_long() -> None:
    few = written("train-bridge", "plain-iso", SLOW, sections=ALL)
    many = written("train-bridge", "plain-iso", SLOW + "merge-within: 0\n", sections=ALL)
    assert len(few.lines()) < len(many.lines()) - 15
    ways = [sum(way for way, _ in straight_lines(one.texts[0])) for one in (few, many)]
    assert few.failed() == {}
    assert abs(ways[0] - ways[1]) < 12.0


def test_a_program_made_faster_by_hand_fails() -> None:
    made = written("train-bridge", "plain-iso", SLOW, sections=ALL)
    assert PACE in made.failed(lambda text: re.sub(r" F\d+\.\d*", " F537.7", text))
    unlike = written("train-bridge", "plain-iso", "blocks-per-second: 1000000", sections=ALL)
    slower = written("train-bridge", "plain-iso", SLOW + "merge-within: 0\n", sections=ALL)
    assert PACE in slower.failed(lambda _: unlike.texts[0])


def test_slower_than_it_must_be_fails_too() -> None:
    made = written("train-bridge", "plain-iso", SLOW, sections=ALL)
    slowest = min((one for one in re.findall(r"F([\d.]+)", made.texts[0]) if float(one) >= 12),
                  key=float)
    halved = re.escape(f"F{slowest}") + r"(?=\r?$)"
    assert "feeds as planned" in made.failed(
        lambda text: re.sub(halved, f"F{float(slowest) / 2:.1f}", text, flags=re.MULTILINE))


def _of(*moves: Rapid | Feed | Arc | Drill) -> SetupMoves:
    first = (Rapid(z=5.0), Rapid(x=0.0, y=0.0))
    return SetupMoves("short", (Section(Message("short"), 0, "mill", 1, Message("MILL"), 12000.0,
                                        (*first, *moves, Rapid(z=5.0))),))


def _fed(moves: SetupMoves, machine: Machine) -> list[str]:
    text = write_programs(moves, machine, stem="short")[0].text.decode("ascii")
    return [line for line in text.splitlines() if re.match(r"G[123]|X|Y", line)]


def test_a_tap_keeps_to_its_pitch_and_long_blocks_to_their_feed() -> None:
    machine = machine_with("plain-iso", "blocks-per-second: 1\nspindle: {reversal-seconds: 1, "
                           "senses: [clockwise, anticlockwise]}")
    tap = _of(Drill(x=1.0, y=1.0, clearance=1.0, bottom=-2.0, feed=300.0, travel=5.0,
                    feed_out=True, reverses=True))
    assert sum("F300." in line for line in _fed(tap, machine)) == 1
    assert not any(re.search(r"F(?!300)", line) for line in _fed(tap, machine))
    lines = _fed(_of(Feed(100.0, z=-0.1), Feed(100.0, x=0.1), Feed(100.0, x=0.1, y=3.0)), machine)
    # One block a second: 5.1 mm and 0.1 mm in one second, 306 and 6 mm/min.
    assert [line.split("F")[1] for line in lines if "F" in line] == ["100.", "6.", "100."]


def test_what_cannot_be_fed_so_slowly_names_the_word() -> None:
    machine = machine_with("plain-iso", "blocks-per-second: 1\nnumbers: {feed-decimals: 0}")
    with pytest.raises(Refused, match="feed-decimals"):
        _fed(_of(Feed(100.0, z=-0.1), Feed(100.0, x=0.01), Feed(100.0, x=0.01, y=3.0)), machine)


def test_it_is_told() -> None:
    notes = [str(note) for note in notes_of(proved_demo("train-bridge"))]
    told = [note for note in notes if "too short for a control" in note]
    assert len(told) == 2
    merged = re.search(r"bridge: (\d+) blocks .* merged into (\d+), at most 0\.00\d\d mm off",
                       told[0])
    assert merged is not None
    assert int(merged[1]) > int(merged[2]) > 0
    assert re.search(r"bridge: \d+ blocks .* 200 blocks a second, .* instead of \d+ mm/min",
                     told[1])
    proved = proved_demo("train-bridge")
    sheet = sheet_of(proved, times_of(proved), {}, words("de"), None)
    assert any("zu kurz für eine Steuerung" in one for one in sheet.setups[0].remarks)
    assert not any("too short" in str(note) for note in notes_of(proved_demo("seconds-pinion")))


@pytest.mark.parametrize(("pace", "more"), [
    (1, {"arcs": {"style": "none"}}), (5, {"arcs": {"style": "none"}}),
    (1, {"arcs": {"largest-sweep": 10}, "program": {"units": "inch"},
         "numbers": {"decimals": 4, "feed-decimals": 3}}),
])
def test_a_step_all_of_which_is_fed_slower_has_on_the_sheet_the_feed_of_its_program(
    pace: int, more: dict[str, object], tmp_path: Path
) -> None:
    (tmp_path / "disc.yaml").write_text("""
job: disc
material: brass
plate: {thickness: 0.3, outline: {circle: 6}}
cutters: {mill: {kind: end-mill, diameter: 1, flute-length: 1, reach: 3}}
setups:
  - {name: top, stock: {sheet: [10, 10], thickness: 0.3},
     holding: {by: shellac on brass, cut-into: 0.3, holds-slugs: true},
     steps: [outline: {cutter: mill}]}
""", encoding="utf-8")
    machine = {"name": "slow", "describes": "a slow control", "blocks-per-second": pace,
               "merge-within": 0, **more}
    (tmp_path / "slow.yaml").write_text(json.dumps(machine), encoding="utf-8")
    proved = proved_job(tmp_path / "disc.yaml", Wish(post=str(tmp_path / "slow.yaml")))
    assert proved.failed == ()
    made = output_of(proved, pictures=False)
    step = next(one for setup in said_of(made.files[made.sheet].decode()) for one in setup.steps)
    text = proved.setups[0].programs[0].text.decode()
    feeds = [float(one) for one in re.findall(r"F([\d.]+)", text)]
    unit = 25.4 if "program" in more else 1.0
    assert any(abs(feed * unit - float(step.feed)) <= 0.03 * feed * unit + 0.8 for feed in feeds)
