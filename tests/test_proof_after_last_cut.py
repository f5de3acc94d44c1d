"""What comes after the last cut, and the head's clamp, are held like all that comes before."""

from __future__ import annotations

import re
from functools import lru_cache
from itertools import product
from pathlib import Path

import pytest
from demos import proved_demo
from planting.harness import Made, made
from sampling import sampled

from camgen.make.chain import Proved, ProvedSetup
from camgen.make.variants import Wish
from camgen.proof import gather, prove_motion
from camgen.reader import read_program

TOP = Path(__file__).resolve().parent.parent


@lru_cache(maxsize=8)
def last(job: str, post: str) -> Made:
    """The last setup of a job on a machine file."""
    return list(made(TOP / "jobs" / f"{job}.yaml", post))[-1]


def failing(one: Made, text: str) -> list[str]:
    """Which proofs of motion fail on one program."""
    done = read_program(text, one.machine, one.read[0].name,
                        infeed=one.planned.moves.retract_axis)
    evidence = gather("x", one.job, one.machine, one.planned.layout, one.planned.moves, [done],
                      planned_cuts=one.planned.cuts)
    return [str(proof.id) for proof in prove_motion(evidence) if not proof.holds]


@pytest.mark.parametrize(("program", "at", "block"), sampled(product([
    ("ratchet-wheel", "plain-iso"), ("seconds-pinion", "with-cycles"),
    ("balance-cock", "plain-iso"), ("balance-cock", "with-cycles")], ["M5", "M30"], [
    "X-100.", "X90.", "Z-20.", "Z110.", "Y-90.", "Y40.", "X-1. Y-60.", "G1 Y-7. F50."]), 30))
def test_a_move_after_the_last_cut_is_the_planned_one(
    program: tuple[str, str], at: str, block: str
) -> None:
    job, post = program
    one = last(job, post)
    text = one.texts[-1].replace("\r\n", "\n")
    assert len(one.texts) == 1
    assert failing(one, text) == []
    before, behind = text.rsplit(f"\n{at}\n", 1)
    assert "motion.moves" in failing(one, f"{before}\nG0 {block}\n{at}\n{behind}".replace(
        "G0 G1", "G1"))


@lru_cache(maxsize=8)
def varied(post: str, way: str) -> tuple[Proved, ProvedSetup, str]:
    """The ratchet wheel's teeth whole, in air or as a dry index: the setup and its program."""
    wish = {"whole": Wish(post=post), "air": Wish(post=post, air=3.0),
            "dry": Wish(post=post, dry_index=True)}[way]
    proved = proved_demo("ratchet-wheel", wish)
    setup = proved.setups[-1]
    return proved, setup, setup.programs[0].text.decode("ascii")


def failing_varied(post: str, way: str, text: str) -> list[str]:
    proved, setup, _ = varied(post, way)
    moves = setup.planned.moves
    done = read_program(text, proved.machine, setup.read[0].name, infeed=moves.retract_axis)
    evidence = gather(setup.name, proved.job_file.job, proved.machine, setup.planned.layout,
                      moves, [done], header=setup.evidence.header)
    return [str(proof.id) for proof in prove_motion(evidence) if not proof.holds]


@pytest.mark.parametrize(("lost", "way", "post"), sampled(product(
    ["M10", "M11", "M1[01]"], ["whole", "air", "dry"],
    ["with-cycles", "upright-rotary-horizontal-cutter"]), 20))
def test_the_clamp_is_held_in_whatever_way_a_head_is_run(post: str, way: str, lost: str) -> None:
    *_, text = varied(post, way)
    assert failing_varied(post, way, text) == []
    without = re.sub(rf"(?m)^{lost}\r?\n", "", text)
    assert without != text
    assert "motion.clamped" in failing_varied(post, way, without)


@pytest.mark.parametrize("post", ["with-cycles", "upright-rotary-horizontal-cutter"])
def test_a_head_is_let_go_only_when_the_cutter_is_clear(post: str) -> None:
    *_, text = varied(post, "whole")
    lines = text.splitlines()
    free = [at for at, line in enumerate(lines) if line == "M11"]
    early = 0
    for at in free[1:]:
        # Let go right after the cut: back over the moves that draw the cutter out.
        cut = next((n for n in range(at, 0, -1) if re.match(r"G0?1 ", lines[n])), 0)
        if cut and not any(line == "M10" for line in lines[cut:at]):
            changed = [*lines[: cut + 1], "M11", *lines[cut + 1 : at], *lines[at + 1 :]]
            assert "motion.let-go-when-clear" in failing_varied(post, "whole", "\n".join(changed))
            early += 1
        if early == 2:
            break
    assert early


@pytest.mark.parametrize(
    "post", sampled(["plain-iso", "with-cycles", "upright-rotary-horizontal-cutter"], 2))
def test_a_dry_index_is_made_with_the_spindle_off(post: str) -> None:
    *_, text = varied(post, "dry")
    assert failing_varied(post, "dry", text) == []
    for changed in (re.sub(r"(?m)^M5\r?\n", "", text),
                    re.sub(r"(?m)^M5\r?$", "S500 M3", text)):
        assert changed != text
        assert "motion.spindle-still" in failing_varied(post, "dry", changed)


@pytest.mark.parametrize("late", ["G49", "G54", "G21", "G17", "G90", "G17 G21 G90 G40 G49 G80 G94"])
def test_what_a_zero_is_counted_with_is_said_before_the_first_stop(late: str) -> None:
    one = last("ratchet-wheel", "plain-iso")
    text = one.texts[-1].replace("\r\n", "\n")
    assert failing(one, text) == []
    without = re.sub(rf"\b{late} ?", "", text, count=1)
    changed = without.replace("\nM0\n", f"\nM0\n{late}\n", 1)
    assert changed != without != text
    assert "motion.words-otherwise" in failing(one, changed)


@pytest.mark.parametrize("post", sampled([
    path.stem for path in sorted((TOP / "postprocessors").glob("*.yaml"))], 6, 1))
def test_unharmed_programs_hold_on_every_machine_file(post: str) -> None:
    job = "wheel-by-hand" if post == "hand-dividing" else "ratchet-wheel"
    for one in made(TOP / "jobs" / f"{job}.yaml", post):
        assert one.first_failing(one.read) is None


@pytest.mark.parametrize(("post", "says"), sampled([
    ("plain-iso", "FIT CUTTER"), ("plain-iso", "SET ZERO"), ("hand-dividing", "SPACE 2"),
    ("one-program-per-cutter", "FIRST RUN")], 2))
def test_what_an_operator_is_told_hangs_on_no_switch(post: str, says: str) -> None:
    one = last("seconds-pinion", post)
    text = one.texts[0]
    assert failing(one, text) == []
    changed = re.sub(rf"^(\S*\(.*{says}.*)$", r"/\1", text, count=1, flags=re.MULTILINE)
    assert changed != text
    assert failing(one, changed)


def test_a_length_said_before_the_change_is_none_after_it() -> None:
    one = last("balance-cock", "with-cycles")
    text = one.texts[0]
    for number in re.findall(r"^T(\d+) M6", text, re.MULTILINE):
        changed = text.replace(f"T{number} M6", f"G43 H{number}\nT{number} M6", 1)
        changed = changed.replace(f"T{number} M6\r\nG43 H{number}", f"T{number} M6", 1).replace(
            f"T{number} M6\nG43 H{number}", f"T{number} M6", 1)
        assert "motion.length-in-force" in failing(one, changed)
