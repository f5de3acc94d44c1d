"""``camgen post``: list, show, new, try, as they are met at the keyboard."""

from __future__ import annotations

import itertools
import json
import math
import re
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from post_support import follow
from random_machines import random_machine
from sampling import sampled

from camgen.commands.post import cuts_alone, post, same_cuts
from camgen.faults import Refused
from camgen.moves import Arc, Drill, Dwell, Feed, Index, Rapid
from camgen.post.machine_file.draft import draft_text, word_values
from camgen.post.machine_file.explain import differences, fields, in_sentences
from camgen.post.machine_file.questions import QUESTIONS, FigureQuestion, answered
from camgen.post.trying.trial import LOWEST, plain_form, things_to_watch, trial_moves
from camgen.post.writer import write_programs
from camgen.reader import read_program
from camgen.shop.machine import Machine
from camgen.shop.machines import find_machine, machine_names, machine_of
from camgen.yamlfile import load_yaml


@pytest.fixture
def workshop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(*words: str, **more: Any) -> Result:
    return CliRunner().invoke(post, list(words), **more)


def test_list_names_every_file_and_marks_the_workshops_own(workshop: Path) -> None:
    run("new", "corner-mill", "--describes", "the mill in the corner", "--like", "plain-iso")
    shown = run("list").output
    assert all(name in shown for name in machine_names())
    assert "corner-mill (own)" in shown
    assert "the mill in the corner" in shown
    rows = json.loads(run("list", "--json").output)
    assert {row["name"] for row in rows if row["own"]} == {"corner-mill"}


@pytest.mark.parametrize("name", sampled(machine_names(), 2))
def test_show_explains_a_file_and_what_is_not_plain(workshop: Path, name: str) -> None:
    shown = run("show", name)
    assert shown.exit_code == 0
    assert shown.output.startswith(name)
    for one in differences(find_machine(name)):
        assert f"{one.path}: {one.value}" in shown.output
    assert ("Nothing in it differs" in shown.output) == (not differences(find_machine(name)))


def test_show_gives_every_word_with_what_it_is_for(workshop: Path) -> None:
    shown = run("show", "plain-iso", "--words").output
    for field in fields(find_machine("plain-iso")):
        assert f"{field.path}: " in shown
        assert field.description
        assert field.description in shown


def test_sentences_follow_from_the_words() -> None:
    told = " ".join(in_sentences(find_machine("radius-arcs-in-quadrants")))
    assert "by their radius" in told
    assert "quadrants" in told
    assert "helices become lines" in told
    told = " ".join(in_sentences(find_machine("hand-dividing")))
    assert "turned by hand" in told
    assert "37 39 41" in told
    assert in_sentences(find_machine("plain-iso")) != in_sentences(find_machine("plain-iso-inch"))


def test_new_writes_a_file_with_every_word_explained(workshop: Path) -> None:
    made = run("new", "mine", "--set", "arcs.style=radius", "--set", "dividing.kind=by-hand",
               "--set", "dividing.plates=[[15, 16], [21, 23]]")
    assert made.exit_code == 0, made.output
    text = (workshop / "postprocessors" / "mine.yaml").read_text()
    machine = find_machine("mine", workshop)
    assert machine.arcs.style == "radius"
    assert machine.dividing is not None
    assert machine.dividing.kind == "by-hand"
    for field in fields(machine):
        assert f"{field.path.split('.')[-1]}:" in text
    assert run("show", "mine").exit_code == 0


def test_words_behind_a_mark_hold_the_plain_values(workshop: Path) -> None:
    """Taking every mark away changes nothing."""
    text = draft_text("mine", "my mill", {"dividing.kind": "driven"})
    lines = []
    for line in text.splitlines():
        bare = line.lstrip(" #")
        if "## " not in line and not line.startswith(("# my", "# Lengths", "# the p", "# Try")):
            margin = len(line) - len(line.lstrip())
            body = line.strip()
            line = " " * margin + (body[2:] if body.startswith("# ") else body)
            if bare:
                lines.append(line)
    kept = machine_of(load_yaml("\n".join(lines), "mine.yaml"))
    assert kept == machine_of(load_yaml(text, "mine.yaml"))


def test_new_asks_at_the_keyboard(workshop: Path) -> None:
    answers = [
        "inch", "far", "300 200", "300 200 90", "", "900 900 400", "no", "yes", "yes", "200 9000",
        "last-places", "16000", "40", "radius", "by-hand", "+Y", "-Y", "down", "-z", "automatic",
        "semicolon", "yes", "no", "yes", "my mill"]
    # Four answers cannot be and are asked for again; a head is asked how it stands, twice.
    assert len(answers) == len(QUESTIONS) + 1 + 4 + 2
    made = run("new", "asked", "--ask", input="\n".join(answers) + "\n")
    assert made.exit_code == 0, made.output
    machine = find_machine("asked", workshop)
    assert machine.program.units == "inch"
    assert machine.numbers.decimals == 4
    assert (machine.x.travel, machine.y.travel, machine.z.travel) == (300, 200, 90)
    assert (machine.z.rapid, machine.z.feed_limit) == (1500, 400)
    assert (machine.x.sense, machine.y.sense) == ("reversed", "iso")
    assert (machine.spindle.lowest, machine.spindle.highest) == (200, 9000)
    assert (machine.numbers.point, machine.program.largest) == ("never", 16000)
    assert machine.blocks_per_second == 40
    assert machine.dividing is not None
    assert (machine.dividing.arrangement.along, machine.dividing.arrangement.infeed,
            machine.dividing.arrangement.across) == ("+Y", "-Z", "X")
    assert "three different axes" not in made.output
    assert "X- <---+---> X+" in made.output
    assert machine.arcs.style == "radius"
    assert machine.cycles.use
    assert machine.describes == "my mill"
    assert not machine.spindle_words.by_program
    assert machine.retract.way == "machine"


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda question: question.text)
def test_every_answer_gives_a_file_that_holds(question: Any) -> None:
    if isinstance(question, FigureQuestion):
        draft_text("mine", "my mill", answered(question, question.usual))
        return
    for values in question.answers.values():
        if values.get("comments.style") != "none":
            draft_text("mine", "my mill", values)


def test_new_refuses_what_is_no_word_and_never_overwrites(workshop: Path) -> None:
    with pytest.raises(Refused, match=r"did you mean arcs\.style"):
        draft_text("mine", "my mill", {"arcs.stile": "radius"})
    with pytest.raises(Refused, match="sets nothing"):
        word_values(["arcs.style"])
    run("new", "mine", "--no-ask")
    before = (workshop / "postprocessors" / "mine.yaml").read_bytes()
    assert isinstance(run("new", "mine", "--no-ask").exception, Refused)
    assert (workshop / "postprocessors" / "mine.yaml").read_bytes() == before


@pytest.mark.parametrize("name", sampled(machine_names(), 2))
def test_like_takes_over_every_word(name: str) -> None:
    like = find_machine(name)
    copied = machine_of(load_yaml(draft_text(name, like.describes, {}, like), "copy.yaml"))
    assert copied == like


@pytest.mark.parametrize("name", sampled(machine_names(), 6))
def test_try_writes_a_program_that_stays_in_the_air(workshop: Path, name: str) -> None:
    tried = run("try", name)
    assert tried.exit_code == 0, tried.output
    machine = find_machine(name)
    files = sorted(workshop.glob(f"try-{name}*"))
    assert files
    read = [read_program(path.read_bytes(), machine, path.name) for path in files]
    for one in read:
        assert float(one.motion.end[:, 2].min()) >= LOWEST - 0.01
    assert follow(trial_moves(machine), machine, read) == []
    assert "[ ]  1" in tried.output
    assert "local rules" in tried.output


@pytest.mark.parametrize("name", sampled(machine_names(), 2))
def test_the_test_piece_uses_what_the_file_can_say(name: str) -> None:
    machine = find_machine(name)
    words: dict[str, int] = {}
    for one in write_programs(trial_moves(machine), machine, stem="t"):
        words |= read_program(one.text, machine, one.file).words
    assert {"G0", "G1", "G4", "M0"} <= set(words)
    if machine.arcs.style != "none":
        assert {"G2", "G3"} <= set(words)
        assert ("R" if machine.arcs.style == "radius" else "I") in words
        if "YZ" in machine.arcs.planes:
            assert {"G18", "G19"} <= set(words)
    if machine.cycles.use:
        assert {"G81", "G82", "G83", "G85", "G89"} <= set(words)
    if machine.rotary.clamp and machine.dividing:
        assert {"M10", "M11"} <= set(words)
    if machine.coolant.flood:
        assert {"M8", "M9"} <= set(words)
    if machine.subprograms.use:
        assert {"M98", "M99"} <= set(words)
    if machine.dividing and machine.dividing.kind == "driven":
        assert machine.dividing.letter in words


@pytest.mark.parametrize("seed", sampled(range(25), 4))
def test_the_test_piece_moves_as_in_plain_words(seed: int) -> None:
    machine = random_machine(seed)
    machine = machine.model_copy(update={
        "program": machine.program.model_copy(update={"largest": None}),
        "blocks": machine.blocks.model_copy(update={"longest": 100}),
    })
    ours, theirs = (
        [read_program(program.text, one, "t").motion
         for program in write_programs(trial_moves(machine), one, stem="t")]
        for one in (machine, plain_form(machine))
    )
    assert len(cuts_alone(ours)) > 40
    assert same_cuts(ours, theirs, machine, 0.02 + 2 * machine.arcs.tolerance) == ()


def test_a_file_whose_program_reads_back_wrong_is_not_tried(
    workshop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    wrong = find_machine("plain-iso").model_copy(update={"name": "wrong"})

    def other_way(machine: Machine, *_: object) -> Any:
        moves = trial_moves(machine)
        return type(moves)(moves.title, moves.sections[:1], "Z", moves.retract_to)

    monkeypatch.setattr("camgen.commands.post.find_machine", lambda *_: wrong)
    calls = iter([trial_moves(wrong), other_way(wrong)])
    monkeypatch.setattr("camgen.commands.post.trial_moves", lambda _: next(calls))
    tried = run("try", "wrong")
    assert tried.exit_code == 3
    assert list(workshop.iterdir()) == []


def test_what_to_watch_names_words_that_there_are() -> None:
    for name in machine_names():
        machine = find_machine(name)
        known = {field.path for field in fields(machine)}
        sections = {path.split(".")[0] for path in known}
        for item in things_to_watch(machine, ("t.nc",)):
            for word in item.mend.replace(",", " ").replace(";", " ").replace(":", " ").split():
                if "." in word.strip(".") and word.split(".")[0] in sections:
                    assert word.strip(".") in known, (name, word)


def figure(pattern: str, told: str) -> float:
    """The figure at the group of a pattern."""
    found = re.search(pattern, told)
    assert found, told
    return float(found[1])


def test_the_test_piece_does_what_the_list_tells_to_watch() -> None:
    machine = find_machine("plain-iso")
    told = {str(item.where): str(item.see) for item in things_to_watch(machine, ("t.nc",))}
    square, arcs, holes, *_, turns = [section.moves for section in trial_moves(machine).sections]
    assert [move.x for move in square if isinstance(move, Feed) and move.y is move.z is None] == [
        figure(r"goes (\d+) mm to the right", told["step 1, X plus"])]
    assert [move.seconds for move in square if isinstance(move, Dwell)] == [
        figure(r"waits (\d+) s", told["step 1, end"])]
    radius = next(move.x for move in arcs if isinstance(move, Rapid) and move.x)
    assert 2 * radius == figure(r"circle of (\d+) mm", told["step 2"])
    assert {move.centre for move in arcs if isinstance(move, Arc) and move.full} == {(0.0, 0.0)}
    helix, = (move.z for move in arcs if isinstance(move, Arc) and move.full and move.z)
    assert helix - LOWEST == figure(r"rises (\d+) mm", told["step 2, helix"])
    drilled = [move for move in holes if isinstance(move, Drill)]
    assert [(move.dwell, move.peck, move.feed_out) for move in drilled] == [
        (0.0, 0.0, False), (0.0, 0.0, False),
        (figure(r"wait of (\d+) s", told["step 3"]), 0.0, False),
        (0.0, figure(r"pecks of ([\d.]+) mm", told["step 3"]), False),
        (0.0, 0.0, True), (0.5, 0.0, True)]
    # Round and round the same stroke: from the zero, clear, and back there before each turn.
    at = [place for place, move in enumerate(turns) if isinstance(move, Index)]
    for start, end in itertools.pairwise([*at, len(turns)]):
        place = {"x": 0.0, "z": turns[0].z}
        for move in turns[start + 1 : end]:
            place |= {name: to for name in place if (to := getattr(move, name)) is not None}
        assert place == {"x": 0.0, "z": LOWEST + 10.0}


@pytest.mark.parametrize(("x", "y"), [(300.0, 200.0), (30.0, 70.0), (70.0, 30.0)])
def test_the_test_piece_keeps_to_its_room_and_its_arcs_to_their_radii(x: float, y: float) -> None:
    machine = find_machine("plain-iso")
    machine = machine.model_copy(update={name: getattr(machine, name).model_copy(
        update={"travel": travel}) for name, travel in (("x", x), ("y", y))})
    for section in trial_moves(machine).sections:
        at = {"x": 0.0, "y": 0.0, "z": 30.0}
        for move in section.moves:
            before = dict(at)
            if isinstance(move, Rapid | Feed | Arc):
                at |= {name: to for name in at if (to := getattr(move, name)) is not None}
            elif isinstance(move, Drill):
                at |= {"x": move.x, "y": move.y}
                assert LOWEST <= move.bottom < move.clearance <= move.travel == 30.0
            assert max(abs(at["x"]), abs(at["y"])) <= min(x, y, 100.0) / 5
            assert LOWEST <= at["z"] <= 30.0
            if isinstance(move, Arc):
                axes = {"XY": "xy", "ZX": "zx", "YZ": "yz"}[move.plane]
                radii = [math.dist([place[axis] for axis in axes], move.centre)
                         for place in (before, at)]
                assert radii[0] == pytest.approx(radii[1])
                assert radii[0] > 0.0
                assert (before == at) <= move.full
