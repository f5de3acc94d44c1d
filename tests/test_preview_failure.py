"""A proof that fails is drawn at its place, with the program's line and the moves beside it."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from click.testing import CliRunner
from demos import proved_demo
from planting.harness import Made, made
from preview_scenes import outside, overlaps
from sampling import sampled

from camgen.commands import make
from camgen.commands.read import read
from camgen.make.variants import Wish
from camgen.preview.failure import board_of_failure, draw_failure
from camgen.proof import gather, prove_evidence
from camgen.proof.evidence import Evidence
from camgen.proof.flat.load.full_feed import prove_full_feed
from camgen.proof.flat.thin_walls import prove_thin_walls
from camgen.proof.result import Proof
from camgen.proof.table.cutter_body import prove_cutter_body
from camgen.reader import read_program

JOBS = Path(__file__).resolve().parent.parent / "jobs"


@cache
def setups() -> dict[str, Made]:
    """The third wheel, of whose blanks there are two."""
    text = (JOBS / "third-wheel.yaml").read_text(encoding="utf-8")
    assert "{columns: 4, rows: 2, pitch: [13, 13]}" in text
    with TemporaryDirectory() as folder:
        job = Path(folder) / "third-wheel.yaml"
        job.write_text(text.replace("columns: 4, rows: 2", "columns: 2, rows: 1"), "utf-8")
        return {one.planned.name: one for one in made(job, "plain-iso")}


def changed(name: str, old: str, new: str) -> tuple[Evidence, tuple[Proof, ...]]:
    """A setup's evidence and proofs when one ``old`` of its program becomes ``new``."""
    evidence = evidence_of(name, old, new)
    return evidence, prove_evidence(evidence)


def evidence_of(name: str, old: str = "", new: str = "") -> Evidence:
    """A setup's evidence, one ``old`` of its program ``new``."""
    setup = setups()[name]
    assert old in setup.texts[0]
    text = setup.texts[0].replace(old, new, 1)
    return gather(
        setup.planned.name, setup.job, setup.machine, setup.planned.layout, setup.planned.moves,
        [read_program(text, setup.machine, "wheel.nc"), *setup.read[1:]],
        planned_cuts=setup.planned.cuts,
    )


CASES = [
    # A plunge past what may be cut into, a word lost, a feed ten times too great, a space skipped.
    ("blanks", "Z-0.3", "Z-0.8"), ("blanks", "G54", ""), ("blanks", "X-6.5", "X-5.5"),
    ("teeth", "A4.8", "A4.9"), ("teeth", "G0 Y-", "G0 Y"), ("teeth", "Y0.444", "Y0.644"),
]


@pytest.mark.long
@pytest.mark.parametrize(("name", "old", "new"), sampled(CASES, 6))
def test_texts_on_the_picture_of_a_failure_keep_apart(name: str, old: str, new: str) -> None:
    evidence, proofs = changed(name, old, new)
    failed = [proof for proof in proofs if not proof.holds]
    assert failed
    for proof in failed[:4]:
        board, says = board_of_failure(evidence, proof, f"third wheel: {name}", subtitle="brass")
        assert overlaps(board) == []
        assert outside(board) == []
        assert proof.name in says
        assert f"{proof.figure:.4g}" in says
        assert min(float(text.get_fontsize()) for text in board.figure.texts) >= 8.0


def test_the_picture_shows_the_program_s_line_and_is_enlarged_about_the_place() -> None:
    evidence, proofs = changed("blanks", "Z-0.3", "Z-0.8")
    proof = next(p for p in proofs if str(p.id) == "flat.depth-below-floor")
    assert proof.at is not None
    assert proof.at[2] == pytest.approx(-0.8)
    board, says = board_of_failure(evidence, proof, "third wheel: blanks")
    line = evidence.programs[0].lines[proof.line - 1].strip()
    texts = [text.get_text() for text in board.figure.texts]
    assert line in texts
    assert line in says
    ring = board.figure.axes[0]
    (left, right), (low, high) = ring.get_xlim(), ring.get_ylim()
    assert left < proof.at[0] < right
    assert low < proof.at[1] < high
    # A few widths of a cutter, not the sheet of 60 mm.
    assert right - left < 10


def body_in_metal() -> tuple[Evidence, str]:
    """The mill of the blanks with a shank too thick and edges too short for its depth."""
    evidence = evidence_of("blanks")
    number = next(n for n, one in evidence.cutters.items() if one.kind == "end-mill")
    thick = evidence.cutters[number].model_copy(update={"flute_length": 0.2, "shank": 3.0})
    return (replace(evidence, cutters={**evidence.cutters, number: thick}),
            f"table.cutter-body: shank, cutter {number}")


def thin_wall() -> tuple[Evidence, str]:
    """The blanks held to walls thicker than their arms."""
    evidence = evidence_of("blanks")
    assert evidence.job.wheel is not None
    wheel = evidence.job.wheel.model_copy(update={"least_wall": 0.5})
    return (replace(evidence, job=evidence.job.model_copy(update={"wheel": wheel})),
            "flat.thinnest-wall")


def fast_slot() -> tuple[Evidence, str]:
    """The outline roughed at the feed of its last pass."""
    evidence = evidence_of("blanks")
    number = max(n for n, cut in enumerate(evidence.planned_cuts) if cut.others)
    cut = evidence.planned_cuts[number]
    mine = (evidence.section == number) & (abs(evidence.motion.feed - cut.feed) < 1)
    feed = evidence.motion.feed.copy()
    feed[mine] = cut.others[0].feed
    assert evidence.moves is not None
    step = evidence.moves.sections[number].step + 1
    return (replace(evidence, motion=replace(evidence.motion, feed=feed)),
            f"flat.more-metal-than-planned: step {step}")


@pytest.mark.parametrize("harmed", sampled([body_in_metal, thin_wall, fast_slot], 4))
def test_shanks_thin_walls_and_too_much_metal_are_drawn_at_their_line(
    harmed: Callable[[], tuple[Evidence, str]]
) -> None:
    evidence, name = harmed()
    prove = {"table": prove_cutter_body, "flat": prove_full_feed}[name.split(".")[0]]
    if name == "flat.thinnest-wall":
        prove = prove_thin_walls
    (proof,) = [one for one in prove(evidence) if str(one.id) == name]
    assert not proof.holds
    assert proof.at is not None
    assert proof.program == evidence.programs[0].name
    if name == "flat.thinnest-wall":
        # The arm stands between two openings of the wheel's crossing, which is the fourth step.
        piece = int(np.nonzero(evidence.motion.line == proof.line)[0][0])
        assert evidence.section[piece] == 3
    board, says = board_of_failure(evidence, proof, "third wheel: blanks")
    assert evidence.programs[0].lines[proof.line - 1].strip() in [
        text.get_text() for text in board.figure.texts]
    assert proof.name in says
    assert overlaps(board) == []
    assert outside(board) == []


def test_proofs_name_places_near_the_fault_they_find() -> None:
    # A blank's outline pulled inwards: the gouge lies on the way of the changed line.
    _, proofs = changed("blanks", "X-6.5", "X-5.5")
    places = [proof.at for proof in proofs if not proof.holds and proof.line]
    assert places
    assert all(place is not None for place in places)
    for proof in proofs:
        if not proof.holds and str(proof.id).startswith("flat.material"):
            assert f"X {proof.at[0]:.3f} Y {proof.at[1]:.3f}" in proof.where  # type: ignore[index]


@pytest.mark.long
def test_the_same_failure_gives_the_same_bytes_and_says_what_it_shows() -> None:
    from PIL import Image

    evidence, proofs = changed("teeth", "Y0.444", "Y0.644")
    proof = next(p for p in proofs if not p.holds)
    first, again = (draw_failure(evidence, proof, "third wheel: teeth") for _ in range(2))
    assert first == again
    assert Image.open(io.BytesIO(first.content)).text["Description"] == first.says  # type: ignore[attr-defined]


@pytest.mark.long
def test_reading_with_a_job_draws_each_failure_beside_the_picture(tmp_path: Path) -> None:
    text = setups()["teeth"].texts[0].replace("Y0.444", "Y0.644", 1)
    program = tmp_path / "third-wheel-teeth.nc"
    program.write_text(text)
    result = CliRunner().invoke(read, [
        str(program), "--job", str(JOBS / "third-wheel.yaml"), "--setup", "teeth",
        "--picture", str(tmp_path / "wheel.png")])
    assert result.exit_code == 3, result.output
    drawn = sorted(path.name for path in tmp_path.glob("*.png"))
    assert drawn[:2] == ["wheel-failure-1.png", "wheel-failure-2.png"]
    assert "wheel.png" in drawn


@pytest.mark.long
def test_checking_draws_what_fails_of_each_setup(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    proved = proved_demo("third-wheel", Wish())
    evidence, proofs = changed("teeth", "Y0.444", "Y0.644")
    spoiled = tuple(
        replace(setup, evidence=evidence, proofs=proofs) if setup.name == "teeth" else setup
        for setup in proved.setups
    )
    monkeypatch.setattr(make, "proved_job", lambda *_: replace(proved, setups=spoiled))
    result = CliRunner().invoke(make.check, [str(JOBS / "third-wheel.yaml"), "--pictures",
                                             str(tmp_path)])
    assert result.exit_code == 3, result.output
    failed = sum(not proof.holds for proof in proofs)
    drawn = sorted(path.name for path in tmp_path.iterdir())
    assert drawn == [f"third-wheel-teeth-failure-{n}.png" for n in range(1, min(failed, 6) + 1)]
