"""How long a workshop of five thousand jobs takes to look through.

Run with ``pytest tests/bench_library.py --benchmark-enable``; making the index takes a few minutes,
looking through it again should take less than two seconds.
"""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from camgen.cli import group
from camgen.library.record import JobFingerprints, Pieces, Run, add_run, record_path
from camgen.shipped import shipped_folder

pytestmark = pytest.mark.long
JOBS = 5_000


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Invented jobs: wheels of any number of teeth, some in families, some run, one broken."""
    folder = tmp_path_factory.mktemp("workshop") / "jobs"
    folder.mkdir()
    text = (shipped_folder("jobs") / "third-wheel.yaml").read_text("utf-8")
    chance = random.Random(7)
    for number in range(JOBS):
        path = folder / f"wheel-{number:04}.yaml"
        teeth = chance.randrange(60, 121)
        if number % 10 == 9:
            path.write_text(f"based-on: wheel-{number - 1:04}.yaml\nmaterial: gold-750-yellow\n")
        else:
            path.write_text(text.replace("teeth: 75", f"teeth: {teeth}"))
        if number % 25 == 0:
            add_run(record_path(path), path.stem, Run(
                when="2026-03-01", post="plain-iso", pieces=Pieces(made=8),
                prints=JobFingerprints(job="a", tables="b", machine="c", writer="d")))
    (folder / "broken.yaml").write_text("job: broken\nwheel: {teeth: many}\n")
    _ask(folder, "list")
    return folder


def _ask(folder: Path, *words: str) -> str:
    result = CliRunner().invoke(group, ["library", *words, "--folder", str(folder)])
    assert result.exit_code == 0, result.output
    assert "broken.yaml" in result.stderr
    return result.stdout


def test_list_of_five_thousand_jobs(benchmark: Any, folder: Path) -> None:
    found = benchmark.pedantic(_ask, (folder, "list", "--teeth", "75"), rounds=3)
    assert len(found.splitlines()) > 20


def test_status_of_five_thousand_jobs(benchmark: Any, folder: Path) -> None:
    found = benchmark.pedantic(_ask, (folder, "status"), rounds=3)
    assert len(found.splitlines()) == JOBS
    assert found.count("changed since") == JOBS // 25
