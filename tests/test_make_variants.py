"""Starting again, cutting air and turning the head dry, from the command line."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from demos import proved_demo
from sampling import sampled

from camgen.faults import Refused
from camgen.make.chain import ProvedSetup, proved_job
from camgen.make.files import output_of
from camgen.make.variants import Wish
from camgen.reader.motion import Kind
from camgen.shipped import shipped_folder

THIRD = shipped_folder("jobs") / "third-wheel.yaml"
RATCHET = shipped_folder("jobs") / "ratchet-wheel.yaml"
BY_HAND = shipped_folder("jobs") / "wheel-by-hand.yaml"


def _setups(path: Path = THIRD, **wished: object) -> tuple[ProvedSetup, ...]:
    proved = proved_demo(path.stem, Wish(**wished))  # type: ignore[arg-type]
    assert proved.failed == ()
    return proved.setups


def test_an_air_cut_is_the_same_program_so_much_farther_out() -> None:
    whole, air = _setups(), _setups(air=20.0)
    for before, after, axis, way in zip(whole, air, (2, 1), (1.0, -1.0), strict=True):
        a, b = before.evidence.motion, after.evidence.motion
        assert len(a) == len(b)
        shift = np.zeros(3)
        shift[axis] = 20.0 * way
        assert np.allclose(b.end - a.end, shift, atol=1e-9)
        assert {p.file for p in after.programs} == {f"third-wheel-{before.name}-air.nc"}


def test_a_dry_index_turns_to_every_space_once_and_cuts_nothing() -> None:
    (setup,) = _setups(dry_index=True)
    motion = setup.evidence.motion
    turned = motion.angle_end[motion.kind == Kind.INDEX]
    spaces = {round(75 * angle / 360) for angle in turned if angle >= 0}
    assert spaces >= set(range(75))
    assert not np.any(motion.kind == Kind.LINE)
    assert np.all(motion.speed == 0)
    (by_hand,) = _setups(BY_HAND, dry_index=True)
    assert sum(event.kind == "hand-index" for event in by_hand.read[0].events) >= 35


def test_a_program_starts_again_at_a_step_or_a_cutter() -> None:
    (from_step,) = _setups(RATCHET, setup="blanks", from_step=3)
    assert [s.title for s in from_step.planned.moves.sections] == ["bore", "outline"]
    assert "STEP 1" not in from_step.programs[0].text.decode()
    (from_cutter,) = _setups(RATCHET, setup="blanks", from_cutter="drill")
    assert [s.title for s in from_cutter.planned.moves.sections] == ["drill", "bore", "outline"]
    for setup in (from_step, from_cutter):
        text = setup.programs[0].text.decode()
        assert "G17 G21 G90" in text
        assert "M3" in text


def test_the_program_that_starts_at_a_space_cuts_the_rest_and_no_more() -> None:
    (setup,) = _setups(from_space=40)
    motion = setup.evidence.motion
    cut = motion.angle_end[motion.kind == Kind.LINE]
    assert {round(75 * angle / 360) + 1 for angle in cut} == set(range(40, 76))


@pytest.mark.parametrize(("wished", "said"), sampled([
    ({"from_step": 2}, "--setup"),
    ({"setup": "blank"}, "it has blanks, teeth"),
    ({"setup": "blanks", "from_step": 9}, "no step 9"),
    ({"setup": "blanks", "from_cutter": "mil"}, "no cutter 'mil'"),
    ({"setup": "blanks", "from_cutter": "teeth"}, "not used"),
    ({"setup": "blanks", "dry_index": True}, "no head turns"),
], 3))
def test_what_is_not_there_to_start_from_is_said(wished: dict[str, object], said: str) -> None:
    with pytest.raises(Refused, match=said):
        proved_job(THIRD, Wish(**wished))  # type: ignore[arg-type]


def test_sheet_and_report_of_a_dry_index_speak_of_no_cutter() -> None:
    files = output_of(proved_demo(THIRD.stem, Wish(dry_index=True)), pictures=False).files
    assert set(files) == {"third-wheel-teeth-dry-index.nc", "sheet.html", "report.json"}


@pytest.mark.parametrize(("job", "wish"), sampled([
    ("seconds-pinion", Wish(from_space=4)),
    ("seconds-pinion", Wish(dry_index=True)),
    ("ratchet-wheel", Wish(setup="blanks", from_step=2)),
    ("ratchet-wheel", Wish(setup="blanks", air=5.0)),
], 4, 1))
def test_programs_made_again_are_drawn_and_told_alike(job: str, wish: Wish) -> None:
    """The picture counts the proofs of the whole setup too, and draws no cutter where none is."""
    proved = proved_demo(job, wish)
    assert not proved.failed
    assert any(name.endswith(".png") for name in output_of(proved).files)
