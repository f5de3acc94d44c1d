"""Teeth begun again at a space: with what was cut before, the whole wheel and nothing else.

Whole programs are broken off within every space and round by a reader that shares no code with
ours, and the program that begins again is run from there.
"""

from __future__ import annotations

import itertools
import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import pytest
from sampling import sampled
from second_control import Control, Start, Trace, control
from second_reader import run
from test_second_reader import starts

from camgen.faults import Refused
from camgen.make.chain import Proved, ProvedSetup, Wish, proved_job
from camgen.make.told.report import times_of
from camgen.make.told.sheet_texts import sheet_of
from camgen.sheet.data import SetupSheet
from camgen.shop.machines import find_machine
from camgen.words import words

TOP = Path(__file__).resolve().parent.parent
POSTS = [path.stem for path in sorted((TOP / "postprocessors").glob("*.yaml"))
         if find_machine(path.stem, TOP).dividing is not None]
SPACES = 8
JOB = """
job: leaves
post: plain-iso
material: brass
made-elsewhere: [bore, outline]
wheel: {{teeth: 8, module: 0.3, mate: 60, thickness: 0.5, bore: 0.8}}
cutters:
  teeth: {{kind: form-disc, diameter: 16, flutes: 12, material: hss, thickness: 2, arbor: 8,
          shank: 6, reach: 15,
          made-for: {{form: cycloidal-wheel, module: 0.3, teeth: 8, mate: 60}}}}
setups:
  - name: teeth
    dividing: {{stack: 1, backing: 1.5, arbor: 0.8, zero: touch, slender: true,
               front: {{nut: 0.9, length: 2}}}}
    holding: {{by: arbor}}
    steps:
      - cut-teeth: {{cutter: teeth{words}}}
"""
PASSES = ("", ", passes: 1", ", passes: 3", ", passes: 3, last-cut: 0.05", ", last-cut: 0.05")
TRIALS = ("", ", trial-spaces: 3", ", trial-spaces: 3, trial-short: 0.05")
OWN_HEADS = {"counts-on": "dividing: {kind: driven}\nrotary: {way: incremental}",
             "pulses": "dividing: {kind: driven, pulses: 40, take-up: 0}\n"
                       "rotary: {way: by-pulse, pulse: M21}"}
WORDS = ["".join(parts) for parts in itertools.product(
    PASSES, TRIALS, ("", ", order: each-round"))]


@lru_cache(maxsize=64)
def proved(folder: Path, words: str, post: str, space: int | None) -> Proved:
    """The job with these words of its step, begun at a space or whole."""
    path = folder / "leaves.yaml"
    path.write_text(JOB.format(words=words), encoding="utf-8")
    return proved_job(path, Wish(post=post, from_space=space))


@dataclass(frozen=True)
class Cut:
    """One stroke through the work: degrees of the head from 0 to 360, depth mm, from and to."""

    angle: float
    depth: float
    along: tuple[float, float]


def on(setup: ProvedSetup, post: str) -> Control:
    """What the second reader knows of the machine."""
    moves = setup.planned.moves
    outward = 1.0 if moves.retract_to > 0 else -1.0
    return control(TOP / "postprocessors" / f"{post}.yaml", moves.retract_axis, outward,
                   moves.retract_to)


def strokes(setup: ProvedSetup, post: str, start: Start | None = None) -> list[Cut]:
    """What every program of the setup cuts, one after the other, as the second reader has it."""
    found: list[Cut] = []
    arrangement = setup.planned.layout.arrangement  # type: ignore[union-attr]
    along, infeed = ("XYZ".index(word[1]) for word in (arrangement.along, arrangement.infeed))
    sign = 1.0 if arrangement.infeed[0] == "+" else -1.0
    for program in setup.programs:
        text = program.text.decode("ascii")
        trace = run(text, on(setup, post), start or Start())
        assert trace.touched == []
        found += fed(trace, text, along, infeed, sign)
    return found


def fed(trace: Trace, text: str, along: int, infeed: int, sign: float) -> Iterator[Cut]:
    """The fed strokes of a trace; a head turned by hand stands where the last message put it."""
    said = {number: float(found[1]) for number, line in enumerate(text.splitlines(), 1)
            if (found := re.search(r"SPACE \d+ AT ([0-9.]+) DEG", line))}
    place: dict[int, float] = {}
    for move in trace.moves:
        if move[1] not in ("G0", "G1"):
            continue  # a turn of the head, or a place of the machine's own
        before = place.get(along, 0.0)
        place.update(dict(move[2]))
        if move[1] == "G1" and along in dict(move[2]):
            by_hand = [angle for line, angle in said.items() if line <= move[0]]
            turned = by_hand[-1] if by_hand else sum(angle for _, angle in move[3])
            yield Cut(round(abs(turned) % 360.0, 4) % 360.0, round(sign * place[infeed], 4),
                      (before, place[along]))


def wheel(cuts: list[Cut]) -> dict[float, float]:
    """The greatest depth at each angle."""
    deepest: dict[float, float] = defaultdict(float)
    for cut in cuts:
        deepest[cut.angle] = max(deepest[cut.angle], cut.depth)
    return dict(deepest)


def amiss(whole: list[Cut], again: list[Cut], space: int) -> list[str]:
    """What is wrong with the wheel, wherever in that space the whole program broke off.

    Rounding of angles hangs on the machine alone, so that both programs round alike.
    """
    meant, told = wheel(whole), []
    broken = 360.0 * (space - 1) / SPACES
    places = [number for number, cut in enumerate(whole) if abs(cut.angle - broken) < 0.01]
    assert len(meant) == SPACES
    assert places
    for number in places:
        left = wheel(whole[:number] + again)
        if left != meant:
            told.append(f"broken off in stroke {number + 1}: {left} instead of {meant}")
    reach = {cut.along for cut in whole if cut.depth == max(meant.values())}
    if any(cut.depth == max(meant.values()) and cut.along not in reach for cut in again):
        told.append("not right through the stack")
    return told


@pytest.mark.parametrize(("words", "space", "post"), sampled(
    itertools.product(WORDS, (1, 2, 3, 4, SPACES), POSTS), 377, 50))
def test_begun_again_it_is_the_whole_wheel(
    tmp_path_factory: pytest.TempPathFactory, words: str, space: int, post: str
) -> None:
    if ", passes: 1" in words and "last-cut" in words:
        return
    folder = tmp_path_factory.getbasetemp() / "again"
    folder.mkdir(exist_ok=True)
    whole, again = (proved(folder, words, post, at) for at in (None, space))
    for one in (whole, again):
        assert [str(proof.name) for proof in one.failed] == []
    cuts, rest = (strokes(one.setups[0], post) for one in (whole, again))
    assert amiss(cuts, rest, space) == []
    # What is left out is found missing.
    assert amiss(cuts, [cut for cut in rest if cut.angle != rest[0].angle], space)
    setup = again.setups[0]
    for start in starts(on(setup, post))[space::211]:
        strokes(setup, post, start)


def test_a_head_that_counts_on_is_begun_at_space_1(tmp_path: Path) -> None:
    text = (TOP / "postprocessors" / "plain-iso.yaml").read_text(encoding="utf-8")
    post = tmp_path / "counts-on.yaml"
    post.write_text(text.replace("name: plain-iso", "name: counts-on")
                    + "\nrotary: {way: incremental}\n", encoding="utf-8")
    (tmp_path / "leaves.yaml").write_text(JOB.format(words=", passes: 2, order: each-round"),
                                          encoding="utf-8")
    made = proved_job(tmp_path / "leaves.yaml", Wish(post=str(post), from_space=4))
    assert made.failed == ()
    (setup,) = made.setups
    (program,) = setup.programs
    said = program.text.decode("ascii").replace(")\r\n(", " ")
    assert "SPACE 1 BEFORE THE CUTTER WHEN STARTED" in said
    assert "GO ON ONLY WHERE SPACE 1 STANDS BEFORE THE CUTTER" in said
    # The program turns through three pitches from where the head stands, and back at the end.
    turns = [float(one) for one in re.findall(r"G91 A(-?[0-9.]+)", said)]
    assert turns[:2] == [134.0, 1.0]
    assert sum(turns) % 360.0 == 0.0


def test_a_head_turned_by_hand_is_begun_from_a_space_that_is_cut(tmp_path: Path) -> None:
    path = tmp_path / "leaves.yaml"
    path.write_text(JOB.format(words=", passes: 1"), encoding="utf-8")
    said = proved_job(path, Wish(post="hand-dividing", from_space=4)).setups[0].programs[0].text
    text = said.decode("ascii").replace(")\r\n(", " ")
    # 40 turns of the crank are one of the work: 5 turns a space, 10 to space 3, on any circle.
    pin = re.search(r"JUST BEFORE SPACE 3, WHICH IS CUT, THEN ON INTO HOLE (\d+) OF THE (\d+)",
                    text)
    assert pin is not None
    assert 2 * 5 * int(pin[2]) % int(pin[2]) == int(pin[1])
    assert f"SPACE 4 AT 135 DEG 5 TURNS ON THE {pin[2]} CIRCLE" in text


def sawn_first(folder: Path, words: str = "", saws: tuple[float, ...] = (0.1,)) -> Path:
    """The job with its spaces sawn before they are formed, each time leaving so much."""
    path, job = folder / "leaves.yaml", JOB.format(words=words)
    saw = ("  saw: {kind: slitting-saw, diameter: 18, flutes: 40, material: hss, thickness: 0.1,\n"
           "        arbor: 8, shank: 6, reach: 15}\nsetups:")
    cuts = "".join(f"      - cut-teeth: {{cutter: saw, leave: {leave}}}\n" for leave in saws)
    path.write_text(job.replace("setups:", saw).replace(
        "      - cut-teeth:", f"{cuts}      - cut-teeth:"), encoding="utf-8")
    return path


def told_again(path: Path, post: str, space: int, step: int, language: str = "en"
               ) -> tuple[str, SetupSheet]:
    """What the sheet says of starting again, and the sheet of the setup."""
    made = proved_job(path, Wish(post=post, from_space=space, from_step=step))
    assert made.failed == ()
    (setup,) = sheet_of(made, times_of(made), {}, words(language), None).setups
    assert setup.again is not None
    return " ".join(setup.again.steps), setup


@pytest.mark.parametrize("post", ["plain-iso", "hand-dividing", *OWN_HEADS])
def test_roughed_spaces_are_touched_between_two_of_them(tmp_path: Path, post: str) -> None:
    if post in OWN_HEADS:
        file = tmp_path / f"{post}.yaml"
        text = (TOP / "postprocessors" / "plain-iso.yaml").read_text(encoding="utf-8")
        kept = re.sub(r"^(dividing|rotary):.*\n(?:[ #].*\n)*", "", text, flags=re.MULTILINE)
        file.write_text(kept.replace("name: plain-iso", f"name: {post}")
                        + f"\n{OWN_HEADS[post]}\n", encoding="utf-8")
        post = str(file)
    path = sawn_first(tmp_path)
    for space in (1, 3, SPACES - 2, SPACES - 1, SPACES):
        said, setup = told_again(path, post, space, 2)
        assert "where nothing is cut yet" not in said, space
        # Two that are only roughed must lie side by side.
        assert ("touch between two of them" in said) == (space < SPACES - 1), space
        assert ("touch the ground" in said) == (space >= SPACES - 1), space
        assert not any("half a pitch" in remark for remark in setup.remarks), space
        assert ("by 2 single steps" in said) == ("pulses" in post and space < SPACES - 1)
    # The saw itself finds nothing cut.
    first = told_again(path, post, 3, 1)[0]
    assert "touch where nothing is cut yet, at spaces 4 to 8" in first
    assert ("always onward" in first) == ("pulses" in post)
    assert ("and back." in first) == ("pulses" not in post)


def test_a_head_that_steps_whole_spaces_is_told_no_half_pitch(tmp_path: Path) -> None:
    text = (TOP / "postprocessors" / "plain-iso.yaml").read_text(encoding="utf-8")
    kept = re.sub(r"^(dividing|rotary):.*\n(?:[ #].*\n)*", "", text, flags=re.MULTILINE)
    file = tmp_path / "whole.yaml"
    head = OWN_HEADS["pulses"].replace("pulses: 40", f"pulses: {SPACES}")
    file.write_text(kept.replace("name: plain-iso", "name: whole") + f"\n{head}\n",
                    encoding="utf-8")
    said, _ = told_again(sawn_first(tmp_path), str(file), 3, 2)
    assert "touch the ground" in said
    assert "half a pitch" not in said
    assert "°" not in said


@pytest.mark.parametrize("saws", [(0.1,), (0.3, 0.1)])
def test_only_depths_of_the_step_begun_are_named(tmp_path: Path, saws: tuple[float, ...]) -> None:
    path = sawn_first(tmp_path, ", passes: 2, order: each-round", saws)
    whole = proved_job(path, Wish()).setups[0].planned.layout
    deep = whole.tooth.sizes.whole_depth  # type: ignore[union-attr]
    for step, leave in enumerate((*saws, 0.0), 1):
        said, _ = told_again(path, "plain-iso", SPACES, step)
        named = {float(place) for place in re.findall(r"\bY(\d+\.\d+)", said)}
        assert max(named) == pytest.approx(deep - leave, abs=6e-4)
        assert len(named) == (1 if leave else 2), (step, said)
        assert ("round by round" in said) == (not leave)
        assert "space of this job" not in said


@pytest.mark.parametrize(("step", "space", "cut"), [
    (1, 5, True), (2, 1, True), (2, 3, True), (2, 4, False), (2, 8, False)])
def test_trial_spaces_are_measured_only_where_they_are_cut_short(
    tmp_path: Path, step: int, space: int, cut: bool
) -> None:
    path = sawn_first(tmp_path, ", trial-spaces: 3, trial-short: 0.05")
    _, setup = told_again(path, "plain-iso", space, step)
    (program,) = proved_job(path, Wish(from_space=space, from_step=step)).setups[0].programs
    assert (b"SHORT" in program.text.upper()) == cut
    assert [one.name for one in setup.measures if one.name.startswith("trial")] == (
        ["trial-depth", "trial-thickness"] if cut else [])


@pytest.mark.parametrize("post", ["plain-iso", "hand-dividing"])
def test_of_two_steps_the_one_it_broke_off_in_is_named(tmp_path: Path, post: str) -> None:
    path = sawn_first(tmp_path)
    with pytest.raises(Refused, match="which of them came as far as space 3"):
        proved_job(path, Wish(post=post, from_space=3))
    for step, wanted in ((1, {3: 2, 1: 1}), (2, {3: 1})):
        made = proved_job(path, Wish(post=post, from_space=3, from_step=step))
        assert made.failed == ()
        cut: dict[float, int] = defaultdict(int)
        for stroke in strokes(made.setups[0], post):
            cut[stroke.angle] += 1
        for space in range(1, SPACES + 1):
            times = wanted.get(3 if space >= 3 else 1, 0)
            assert cut[(space - 1) * 45.0] == times, (step, space)
