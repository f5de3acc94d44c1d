"""One program has one time: on the sheet, in the report, on the page, and as ``read`` tells it."""

from __future__ import annotations

import base64
import json
import re
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from demos import proved_demo
from sampling import sampled

from camgen.cli import group
from camgen.make.chain import Proved, Wish
from camgen.make.files import output_of
from camgen.make.pictures import pages_of
from camgen.sheet.page import clock
from camgen.shipped import shipped_folder
from camgen.shop.machines import find_machine

JOBS = shipped_folder("jobs")
# Waits at the start and in the middle, changes by hand and by program, turns by hand, split ones.
WAYS = [("seconds-pinion", "plain-iso"), ("ratchet-wheel", "one-program-per-cutter"),
        ("seconds-pinion", "small-memory"), ("wheel-by-hand", "hand-dividing"),
        ("seconds-pinion", "signed-rotary-inverse-time"), ("ratchet-wheel", "with-cycles")]


def work_of(page: str) -> dict[str, object]:
    """What the page's script is given."""
    found = re.search(r'<script type="application/json" id="work">(.*?)</script>', page, re.S)
    assert found
    return json.loads(found[1])


def array(page: str, name: str, kind: str = "<f4") -> np.ndarray:
    return np.frombuffer(base64.b64decode(work_of(page)["arrays"][name]), kind)  # type: ignore[index]


def made(job: str, post: str) -> Proved:
    return proved_demo(job, Wish(post=post))


@pytest.mark.parametrize(("job", "post"), sampled(WAYS, 6))
def test_one_program_has_one_time_wherever_it_is_told(
    job: str, post: str, tmp_path: Path
) -> None:
    proved = made(job, post)
    output = output_of(proved, pictures=False)
    pages = pages_of(proved)
    seconds = {one["file"]: one["seconds"] for one in output.report["programs"]}
    for setup in proved.setups:
        files = [one.file for one in setup.programs]
        page = pages[setup.name]
        told = float(array(page, "until")[-1])
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
    pages = pages_of(proved)
    for setup in proved.setups:
        page = pages[setup.name]
        until, kind = array(page, "until"), array(page, "kind", "u1")
        starts, ends = (array(page, name).reshape(-1, 3) for name in ("starts", "ends"))
        assert np.all(np.diff(until) >= -1e-3)
        lasts = np.diff(until, prepend=0.0)
        still = kind == 3
        assert np.array_equal(starts[still], ends[still])
        # Each wait is shown at its own block, a change of cutter with the spindle still.
        text = [line for read in setup.read for line in read.lines]
        said = [text[at] for at in array(page, "line", "<u4")[still]]
        assert any("M6" in block for block in said)
        assert all("M6" in block or "G4" in block or "M0" in block for block in said), said
        changed = np.array(["G4" not in block for block in said])
        assert not array(page, "speed")[still][changed].any()
        # The way is still unbroken, and every change of cutter is there for its whole time.
        assert np.abs(starts[1:] - ends[:-1]).max() < 1e-5
        changes = sum(event.kind == "cutter-change" for read in setup.read
                      for event in read.events)
        assert np.count_nonzero(np.abs(lasts[still] - machine.change.seconds) < 0.01) >= changes
        assert all(len(array(page, name, how)) == len(until) for name, how in (
            ("angle", "<f4"), ("feed", "<f4"), ("speed", "<f4"), ("engaged", "<f4"),
            ("line", "<u4"), ("cutter", "u1")))
