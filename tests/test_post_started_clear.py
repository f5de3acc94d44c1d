"""Where the cutter was touched off, it is drawn back before the spindle is started, and a warm-up
is run with the cutter fitted, never faster than it is to cut."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from planting.harness import made
from sampling import sampled
from test_head_arrangements import POSTS, job


@pytest.mark.parametrize("post", sampled(POSTS, 4))
def test_no_spindle_starts_before_the_cutter_has_left_what_it_touched(
    post: str, tmp_path: Path
) -> None:
    (programs,) = made(job(tmp_path), post)
    axis = programs.planned.moves.retract_axis
    machine = programs.machine
    for text in programs.texts:
        lines = text.splitlines()
        starts = [number for number, line in enumerate(lines)
                  if re.search(r"\bM0?[34]\b|START SPINDLE", line)]
        if not starts:
            continue
        fitted = [number for number, line in enumerate(lines[:starts[0]])
                  if re.search(r"FIT CUTTER|SET ZERO|\bM0?6\b", line)]
        since = fitted[-1] if fitted else 0
        away = [line for line in lines[since:starts[0]]
                if re.search(rf"G0?0?[^(;]*{axis}-?[\d.]", line)]
        assert away, lines[since:starts[0] + 1]
        spoken = [float(one) for line in lines for one in re.findall(r"\bS(\d+)", line)]
        rpm = max(one.rpm for one in programs.planned.moves.sections)
        assert all(one <= rpm + 1 for one in spoken)
        assert not machine.spindle_words.warm_up or spoken
