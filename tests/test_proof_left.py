"""What a program may not leave, ask for or take for known: coolant, spindle, zero, cutter, head."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache
from itertools import product
from pathlib import Path

import pytest
from click.testing import CliRunner
from planting.harness import Made, made
from sampling import sampled

from camgen.commands.make import make
from camgen.commands.read import read
from camgen.dividing import divide_by_hand
from camgen.job.reading import read_job
from camgen.library.standing import machine_values
from camgen.plan import plan_job
from camgen.post.machine_file.explain import in_sentences
from camgen.post.writer import write_programs
from camgen.proof import gather, prove_evidence
from camgen.proof.motion.operator.crank import settings_between
from camgen.reader import read_program
from camgen.reader.trusted import trusted_words
from camgen.shop.machine import DrivenHead, HandHead, Machine, contradictions
from camgen.shop.machines import find_machine
from camgen.steps import step_words

TOP = Path(__file__).resolve().parent.parent


@lru_cache(maxsize=8)
def last(job: str, post: str) -> Made:
    """The last setup of a job on a machine file."""
    return list(made(TOP / "jobs" / f"{job}.yaml", post))[-1]


def failing(one: Made, text: str, machine: Machine | None = None) -> list[str]:
    """Which proofs fail on one program."""
    machine = machine or one.machine
    done = read_program(text, machine, one.read[0].name, infeed=one.planned.moves.retract_axis)
    evidence = gather("x", one.job, machine, one.planned.layout, one.planned.moves, [done],
                      planned_cuts=one.planned.cuts)
    return [str(proof.id) for proof in prove_evidence(evidence) if not proof.holds]


@pytest.mark.parametrize(("post", "at", "block", "id"), sampled([
    ("with-cycles", "M30", "M8", "motion.words-otherwise"),
    ("with-cycles", "M30", "S3000 M3", "motion.words-otherwise"),
    ("plain-iso", "M30", "T9 M6", "motion.messages"),
    ("plain-iso", "M30", "G55", "motion.put-back"),
    ("plain-iso", "M30", "M3", "motion.words-otherwise"),
], 2))
def test_what_nobody_planned_at_the_end_is_found(post: str, at: str, block: str, id: str) -> None:
    one = last("seconds-pinion", post)
    (text,) = one.texts
    assert failing(one, text) == []
    assert id in failing(one, text.replace(f"\n{at}", f"\n{block}\r\n{at}"))


def test_a_head_is_clamped_again_at_the_end() -> None:
    one = last("seconds-pinion", "with-cycles")
    (text,) = one.texts
    before, behind = text.rsplit("M10\r\n", 1)
    assert "motion.clamped" in failing(one, before + behind)


@pytest.mark.parametrize("way", ["absolute", "shortest", "signed"])
def test_the_first_turn_in_inverse_time_is_timed_for_the_farthest_it_may_go(way: str) -> None:
    one = last("seconds-pinion", "signed-rotary-inverse-time")
    rotary = one.machine.rotary.model_copy(update={"way": way})
    machine = one.machine.model_copy(update={"rotary": rotary})
    (program,) = write_programs(one.planned.moves, machine, stem="x")
    text = program.text.decode("ascii")
    assert failing(one, text, machine) == []
    first = next(line for line in text.splitlines() if line.startswith("G93"))
    feed = float(first.split("F")[1])
    farthest = {"shortest": 180.0}.get(way, 360.0)
    # A turn that goes so far takes no less time than the head's own rate allows.
    assert feed * farthest <= 3600.0 * 1.01
    fast = first.replace(f"F{first.split('F')[1]}", "F3600.")
    assert "motion.turning-rate" in failing(one, text.replace(first, fast, 1), machine)


@pytest.mark.parametrize("plates", [((18,),), ((15, 16, 18), (21, 39)), ((39,),)])
@pytest.mark.parametrize("count", [6, 36, 7])
def test_the_crank_is_told_the_way_from_wherever_it_stands(
    plates: tuple[tuple[int, ...], ...], count: int
) -> None:
    head = HandHead(plates=plates)
    division = divide_by_hand(count, head.worm_ratio, plates, nearest_hole=True)
    for space in range(1, count + 1):
        for before in (None, *range(1, count + 1)):
            if before == space:
                continue
            from_angle = None if before is None else division.angles[before - 1]
            to = division.angles[space - 1]
            if from_angle is not None and to < from_angle:
                to += 360.0
            assert division.setting(space, before) in settings_between(head, from_angle, to)
    for space in range(2, count + 1):
        assert division.setting(space, space - 1) == division.settings[space - 1]


def by_hand(folder: Path, words: str, plates: str = "[[15, 16, 18], [21, 39]]") -> Path:
    """The wheel cut on a head turned by hand, its teeth cut by other words over other plates."""
    job = (TOP / "jobs" / "wheel-by-hand.yaml").read_text()
    post = (TOP / "postprocessors" / "hand-dividing.yaml").read_text()
    changed = job.replace("passes: 3, trial-spaces: 2", words).replace(
        "post: hand-dividing", "post: another-head")
    head = re.sub(r"plates:\n(?:    - \[.*\n)+", f"plates: {plates}\n", post).replace(
        "name: hand-dividing", "name: another-head")
    assert words in changed
    assert plates in head
    (folder / "jobs").mkdir()
    (folder / "postprocessors").mkdir()
    (folder / "jobs" / "wheel.yaml").write_text(changed)
    (folder / "postprocessors" / "another-head.yaml").write_text(head)
    return folder / "jobs" / "wheel.yaml"


@pytest.mark.parametrize(("trial", "order", "plates"), sampled(product([
    "passes: 3, trial-spaces: 3, trial-short: 0.02", "passes: 1, trial-spaces: 2, "
    "trial-short: 0.02", "passes: 2, last-cut: 0.03, trial-spaces: 1, trial-short: 0.02",
    "passes: 2, trial-spaces: 4",
], ["each-round", "each-space"], ["[[18]]", "[[15, 16, 18], [21, 39]]", "[[27, 54]]"]), 30))
def test_after_trial_spaces_the_crank_is_told_the_way_from_where_the_pause_brought_it(
    tmp_path: Path, plates: str, order: str, trial: str
) -> None:
    path = by_hand(tmp_path, f"order: {order}, {trial}", plates)
    one = list(made(path, "another-head"))[-1]
    (text,) = one.texts
    assert failing(one, text) == []
    if "short" not in trial:
        return
    # The pin stands in space 1: there it stays, and from there it goes on.
    behind = text.split("JUST BEFORE SPACE 1,")[2]
    said = re.search(r"\(SPACE (\d+) AT (\S+) DEG ([^M]*)TO\W+HOLE (\d+)\)\r\n", behind)
    if re.match(r"1 AT \S+ DEG START IN HOLE 0", behind.split("(SPACE ")[1]):
        assert order == "each-space" or "passes: 1" in trial
        return
    assert said is not None
    assert order == "each-round"
    assert int(said[1]) > 1
    circle = re.search(r"ON\W+THE\W+(\d+)\W+CIRCLE", said[0])
    assert circle is not None
    assert re.match(r"\d+ TURN", said[3])
    false = (f"(SPACE {said[1]} AT {said[2]} DEG)\r\n(START IN HOLE {said[4]} OF THE "
             f"{circle[1]} CIRCLE)\r\n")
    assert "motion.messages" in failing(one, text.replace(said[0], false))


@pytest.mark.parametrize(("largest", "words", "post"), sampled(product([1400, 3000, 9000], [
    "passes: 3, trial-spaces: 2",
    "order: each-round, passes: 2, trial-spaces: 3, trial-short: 0.02",
], [
    "another-head", "plain-iso", "signed-rotary-inverse-time", "shortest-way-rotary",
    "with-cycles",
]), 16))
def test_teeth_in_several_programs_go_on_where_the_part_before_left_the_head(
    tmp_path: Path, post: str, words: str, largest: int
) -> None:
    path = by_hand(tmp_path, words)
    job_file = read_job(path, step_words())
    machine = find_machine(post, tmp_path if post == "another-head" else TOP)
    machine = machine.model_copy(update={
        "program": machine.program.model_copy(update={"largest": largest})})
    planned = plan_job(job_file, machine).setups[-1]
    texts = [one.text.decode("ascii")
             for one in write_programs(planned.moves, machine, stem="x")]

    def failing_of(texts: list[str]) -> list[str]:
        read = [read_program(text, machine, f"{number}.nc", infeed=planned.moves.retract_axis)
                for number, text in enumerate(texts)]
        evidence = gather("x", job_file.job, machine, planned.layout, planned.moves, read,
                          planned_cuts=planned.cuts)
        return [str(proof.id) for proof in prove_evidence(evidence) if not proof.holds]

    assert failing_of(texts) == []
    if len(texts) == 1 or post != "another-head":
        return
    said = re.search(r"\(CRANK AT SPACE (\d+), AS PART 1 LEFT IT\)\r\n", texts[1])
    assert said is not None
    for false in ("", said[0].replace(said[1], str(int(said[1]) + 1))):
        changed = [texts[0], texts[1].replace(said[0], false), *texts[2:]]
        assert "motion.messages" in failing_of(changed)
    # A part that is not the next one goes on from elsewhere.
    if len(texts) > 2:
        assert failing_of([texts[0], *texts[2:]])


@pytest.mark.parametrize(("words", "first"), sampled(product([
    "order: each-round, passes: 3, trial-spaces: 3, trial-short: 0.02",
    "order: each-round, passes: 3, trial-spaces: 3", "order: each-round, passes: 2, last-cut: 0.03",
    "order: each-round, passes: 1, trial-spaces: 3, trial-short: 0.02",
    "passes: 3, trial-spaces: 3, trial-short: 0.02",
], [2, 20, 36]), 8))
def test_teeth_cut_round_by_round_can_be_begun_again_at_any_space(
    tmp_path: Path, words: str, first: int
) -> None:
    path = by_hand(tmp_path, words)
    done = CliRunner().invoke(make, [str(path), "--setup", "teeth", "--from-space", str(first),
                                     "--out", str(tmp_path / "out"), "--no-pictures"])
    assert done.exit_code == 0, done.output
    sheet = (tmp_path / "out" / f"sheet-from-space-{first}.html").read_text()
    trial = "trial-short" in words and first <= 3
    rounds = "each-round" in words and "passes: 1" not in words and not trial
    assert ("To be cut: in the first round" in sheet) == rounds
    assert ("short as before" in sheet) == trial


def test_a_crank_that_stands_in_its_hole_is_not_told_to_go_on() -> None:
    one = last("wheel-by-hand", "hand-dividing")
    (text,) = one.texts
    assert failing(one, text) == []
    assert "START IN HOLE 0 OF THE 18 CIRCLE" in text
    wrong = text.replace("START IN HOLE 0 OF THE 18 CIRCLE",
                         "1 TURN AND 2 HOLES ON THE 18 CIRCLE,)\r\n(TO HOLE 0")
    assert "motion.messages" in failing(one, wrong)


@pytest.mark.parametrize(("job", "post", "words"), sampled([
    ("wheel-by-hand", "hand-dividing", ["--from-space", "9"]),
    ("wheel-by-hand", "hand-dividing", ["--from-step", "1"]),
    ("wheel-by-hand", "shortest-way-rotary", ["--from-space", "25", "--air", "5"]),
], 3))
def test_a_program_that_starts_again_is_held_by_the_words_it_was_made_with(
    tmp_path: Path, job: str, post: str, words: list[str]
) -> None:
    path = str(TOP / "jobs" / f"{job}.yaml")
    same = ["--post", post, "--setup", "teeth", *words]
    done = CliRunner().invoke(make, [path, *same, "--out", str(tmp_path), "--no-pictures"])
    assert done.exit_code == 0, done.output
    (program,) = tmp_path.glob("*.nc")
    assert all(part in program.name for part in (words[0][2:], words[1]) if len(words) == 2)
    assert "STARTS AGAIN" in program.read_text()
    held = CliRunner().invoke(read, [str(program), "--job", path, *same])
    assert held.exit_code == 0, held.output
    other = CliRunner().invoke(read, [str(program), "--job", path, *same[:4]])
    assert other.exit_code != 0


def test_words_of_the_start_that_are_not_written_are_unknown_to_the_control_or_trusted() -> None:
    for post in (path.stem for path in (TOP / "postprocessors").glob("*.yaml")):
        lacking = [one for one in trusted_words(find_machine(post, TOP)) if one.lacking]
        assert lacking == [], post
    machine = find_machine("plain-iso", TOP)
    for word in ("G40", "G49", "G80", "G94"):
        kept = tuple(one for one in machine.program.safe_words if one != word)
        without = machine.model_copy(update={
            "program": machine.program.model_copy(update={"safe_words": kept})})
        assert [one.word for one in trusted_words(without)] == [word]
        assert "trusted, not proved" in str(trusted_words(without)[0])
        unknown = machine.model_copy(update={"program": machine.program.model_copy(
            update={"safe_words": kept, "unknown_words": (word,)})})
        assert trusted_words(unknown) == ()
        assert any(word in sentence for sentence in in_sentences(unknown))


@pytest.mark.parametrize("comments", ["none", "parentheses"])
def test_a_shift_left_by_a_program_broken_off_is_set_anew_at_the_first_stop(comments: str) -> None:
    one = last("seconds-pinion", "small-memory")
    style = one.machine.comments.model_copy(update={"style": comments})
    machine = one.machine.model_copy(update={"comments": style})
    (program, *_) = write_programs(one.planned.moves, machine, stem="x")
    text = program.text.decode("ascii")
    assert failing(one, text, machine) == []
    assert any("may have left it shifted" in remark for remark in one.planned.remarks)
    # Something moves before the stop, or the message leaves an axis out.
    moved = re.sub(r"\nT(?=\d)", f"\n{one.planned.moves.retract_axis}-5.\r\nT", text, count=1)
    assert "motion.drawn-back-first" in failing(one, moved, machine)
    if comments == "parentheses":
        less = text.replace("(SET ZERO OF X Y Z FOR", "(SET ZERO OF Y FOR", 1)
        assert less != text
        assert "motion.messages" in failing(one, less, machine)
    automatic = machine.model_copy(update={
        "change": machine.change.model_copy(update={"way": "one-program-each"})})
    assert [path for path, *_ in contradictions(machine)] == []
    assert [path for path, *_ in contradictions(automatic)] == [("offsets", "shift")]


@pytest.mark.parametrize("way", sampled(["absolute", "one-way", "shortest", "signed"], 2))
def test_a_head_with_nothing_to_take_up_is_told_its_first_angle(way: str) -> None:
    one = last("seconds-pinion", "plain-iso")
    assert isinstance(one.machine.dividing, DrivenHead)
    machine = one.machine.model_copy(update={
        "dividing": one.machine.dividing.model_copy(update={"take_up": 0.0}),
        "rotary": one.machine.rotary.model_copy(update={"way": way})})
    (planned,) = [setup for setup in plan_job(
        read_job(TOP / "jobs" / "seconds-pinion.yaml", step_words()), machine).setups
        if setup.name == one.planned.name]
    (program,) = write_programs(planned.moves, machine, stem="x")
    text = program.text.decode("ascii")
    head = replace(one, machine=machine, planned=planned)
    assert failing(head, text) == []
    without = re.sub(r"\bA(0|-?360)\.\r\n", "", text, count=1)
    assert without != text
    assert "head.approach-side" in failing(head, without)


def test_a_cutter_that_a_changer_gets_ready_is_one_of_the_setup() -> None:
    one = last("seconds-pinion", "with-cycles")
    (text,) = one.texts
    number = re.search(r"\bT(\d+) M6", text)
    assert number is not None
    for ready, found in ((number[1], []), ("99", ["motion.words-otherwise"])):
        changed = text.replace("\nM30", f"\nT{ready}\r\nM30")
        assert failing(one, changed) == found


@pytest.mark.parametrize("post", sampled(["plain-iso", "plain-iso-inch"], 2, 1))
def test_the_safe_height_in_a_comment_of_the_workshops_own_is_true(post: str) -> None:
    one = last("seconds-pinion", post)
    insert = one.machine.insert.model_copy(update={
        "before_step": ("(CLEAR AT {safe} IN PART {part} OF {program})",)})
    machine = one.machine.model_copy(update={"insert": insert})
    (program,) = write_programs(one.planned.moves, machine, stem="x")
    text = program.text.decode("ascii")
    assert failing(one, text, machine) == []
    said = re.search(r"CLEAR AT (\S+) IN", text)
    assert said is not None
    for other in (f"1{said[1]}", said[1].lstrip("-"), f"{said[1]}1", "0"):
        if other != said[1]:
            false = text.replace(said[0], f"CLEAR AT {other} IN", 1)
            assert "motion.messages" in failing(one, false, machine)


@pytest.mark.parametrize("post", ["plain-iso", "small-memory", "line-moves-only"])
def test_saying_what_the_control_does_not_know_keeps_what_was_proven(post: str) -> None:
    machine = find_machine(post, TOP)

    def saying(**words: object) -> Machine:
        return machine.model_copy(update={"program": machine.program.model_copy(update=words)})

    before = machine_values(saying(unknown_words=()))
    assert machine_values(saying(unknown_words=("G94",))) == before
    assert machine_values(saying(extension="tap")) != before
