"""The sample pictures in ``previews/`` show what the demo jobs give today.

All are made anew by one command: ``camgen preview jobs/*.yaml --out previews``.
"""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from demos import proved_demo
from PIL import Image
from sampling import sampled

from camgen.make.chain import file_stem
from camgen.make.pictures import pictures_of
from camgen.shipped import demo_jobs

HERE = Path(__file__).resolve().parent.parent
JOBS = list(demo_jobs())
AGAIN = "run: camgen preview jobs/*.yaml --out previews"


def coarse(picture: Image.Image) -> np.ndarray:
    """Grey picture at a quarter of its size, so that a renderer's last bits do not matter."""
    small = picture.convert("L").reduce(4)
    return np.asarray(small, dtype=np.int64)


@pytest.mark.parametrize("job", sampled(JOBS, 9, 2), ids=lambda job: job.stem)
def test_sample_pictures_are_fresh(job: Path) -> None:
    for name, picture in pictures_of(proved_demo(job.stem)).items():
        file = HERE / "previews" / f"{file_stem(job.stem)}-{name}.png"
        assert file.is_file(), AGAIN
        kept, now = Image.open(file), Image.open(io.BytesIO(picture.content))
        # Same program text and same words on the picture, whatever the drawing library's version.
        assert kept.info["Source"] == now.info["Source"], f"{file.name} is stale; {AGAIN}"
        assert kept.size == now.size, f"{file.name} is stale; {AGAIN}"
        changed = np.abs(coarse(kept) - coarse(now)) > 40
        assert changed.mean() < 0.002, f"{file.name} is stale; {AGAIN}"
        assert file.stat().st_size < 200_000


def test_no_sample_is_left_of_a_job_that_is_gone() -> None:
    stems = tuple(file_stem(job.stem) for job in JOBS)
    kept = sorted((HERE / "previews").glob("*.png"))
    assert kept, AGAIN
    assert [file.name for file in kept if not file.name.startswith(stems)] == []
