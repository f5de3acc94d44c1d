"""One program has one time: on the sheet, in the report, on the page, and as ``read`` tells it."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from demos import proved_demo
from sampling import sampled

from camgen.cli import group
from camgen.make.chain import Proved, Wish
from camgen.make.files import output_of
from camgen.make.pictures import page_of
from camgen.preview.carried import TIMES_A_SECOND, taken_apart
from camgen.sheet.page import clock
from camgen.shipped import shipped_folder
from camgen.shop.machines import find_machine

JOBS = shipped_folder("jobs")
# Waits at the start and in the middle, changes by hand and by program, turns by hand, split ones.
WAYS = [("seconds-pinion", "plain-iso"), ("ratchet-wheel", "one-program-per-cutter"),
        ("seconds-pinion", "small-memory"), ("wheel-by-hand", "hand-dividing"),
        ("seconds-pinion", "signed-rotary-inverse-time"), ("ratchet-wheel", "with-cycles")]


def scenes_of(page: str) -> dict[str, dict[str, Any]]:
    """What the page's script is given of each setup, by its name."""
    found = re.search(r'<script type="application/json" id="work">(.*?)</script>', page, re.S)
    assert found
    return {one["name"]: one for one in json.loads(found[1])["setups"]}


def made(job: str, post: str) -> Proved:
    return proved_demo(job, Wish(post=post))


@pytest.mark.parametrize(("job", "post"), sampled(WAYS, 6))
def test_one_program_has_one_time_wherever_it_is_told(
    job: str, post: str, tmp_path: Path
) -> None:
    proved = made(job, post)
    output = output_of(proved, pictures=False)
    scenes = scenes_of(page_of(proved))
    seconds = {one["file"]: one["seconds"] for one in output.report["programs"]}
    for setup in proved.setups:
        files = [one.file for one in setup.programs]
        told = float(taken_apart(scenes[setup.name])[0]["until"][-1]) / TIMES_A_SECOND
        assert told == pytest.approx(sum(seconds[file] for file in files), abs=0.5)
        for one in setup.programs:
            (tmp_path / one.file).write_bytes(one.text)
            assert f">{clock(seconds[one.file])}<" in output.files["sheet.html"].decode()
        done = CliRunner().invoke(group, [
            "read", *(str(tmp_path / file) for file in files), "--post", post, "--json"])
        assert done.exit_code == 0, done.output
        assert json.loads(done.output)["seconds"] == pytest.approx(told, abs=0.5)


def test_on_the_page_time_only_grows_and_waits_stand_still() -> None:
    machine = find_machine("plain-iso")
    proved = made("ratchet-wheel", "plain-iso")
    scenes = scenes_of(page_of(proved))
    for setup in proved.setups:
        arrays, text = taken_apart(scenes[setup.name])
        until, kind = arrays["until"].astype(float) / TIMES_A_SECOND, arrays["kind"]
        ends = np.column_stack([arrays[axis] for axis in "xyz"])
        starts = np.vstack((ends[:1], ends[:-1]))
        jumps = np.column_stack([arrays[f"jump_{axis}"] for axis in "xyz"])
        starts[arrays["jump"]] = jumps
        # The way is unbroken: after its beginning every stretch begins where one ended.
        assert arrays["jump"].tolist() == [0]
        assert np.all(np.diff(until) >= 0)
        lasts = np.diff(until, prepend=0.0)
        still = kind == 3
        assert np.array_equal(starts[still], ends[still])
        # Each wait is shown at its own block, a change of cutter with the spindle still.
        assert text == [line for read in setup.read for line in read.lines]
        said = [text[at] for at in arrays["line"][still]]
        assert any("M6" in block for block in said)
        assert all("M6" in block or "G4" in block or "M0" in block for block in said), said
        changed = np.array(["G4" not in block for block in said])
        assert not arrays["speed"][still][changed].any()
        # Every change of cutter is there for its whole time.
        changes = sum(event.kind == "cutter-change" for read in setup.read
                      for event in read.events)
        assert np.count_nonzero(np.abs(lasts[still] - machine.change.seconds) < 0.01) >= changes
        assert all(len(arrays[name]) == len(until) for name in (
            "angle", "feed", "speed", "engaged", "line", "cutter"))
