"""Records only grow, are written whole, and are read for ever."""

from __future__ import annotations

import shutil
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest

from camgen.faults import Refused
from camgen.library.record import (
    CutterUsed,
    JobFingerprints,
    Pieces,
    Run,
    SizeMeasured,
    add_run,
    read_record,
)

DATA = Path(__file__).parent / "data" / "records"


def _run(when: str = "2026-01-02", **more: object) -> Run:
    return Run(when=when, post="plain-iso", pieces=Pieces(made=8, scrapped=1),
               prints=JobFingerprints(job="a" * 12, tables="b", machine="c", writer="0.1.0"),
               **more)  # type: ignore[arg-type]


def test_a_run_is_added_below_and_the_bytes_above_stay(tmp_path: Path) -> None:
    path = tmp_path / "wheel.proof.yaml"
    assert add_run(path, "wheel", _run(remarks="no: 1:30, ünïcode # and\nlines")) == 1
    before = path.read_bytes()
    assert add_run(path, "wheel", _run("2027-03-04", sizes=(
        SizeMeasured(size="bore", nominal=0.8, measured=(0.801, 1e-7)),),
        as_run={"job": {"teeth": 75, "no": [1, 2]}})) == 2
    assert path.read_bytes().startswith(before)
    record = read_record(path)
    assert record is not None
    assert [run.when for run in record.runs] == ["2026-01-02", "2027-03-04"]
    assert record.runs[0].remarks == "no: 1:30, ünïcode # and\nlines"
    assert record.runs[1].sizes[0].measured == (0.801, 1e-7)


def test_comments_written_into_a_record_by_hand_are_kept(tmp_path: Path) -> None:
    path = tmp_path / "wheel.proof.yaml"
    add_run(path, "wheel", _run())
    path.write_text(path.read_text() + "# seen by the second watchmaker\n")
    add_run(path, "wheel", _run())
    assert "# seen by the second watchmaker\n" in path.read_text()


def test_a_record_that_cannot_be_understood_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "wheel.proof.yaml"
    path.write_text("form: 1\njob: wheel\nruns:\n- when: yesterday\n")
    with pytest.raises(Refused) as no:
        add_run(path, "wheel", _run())
    assert "line 4" in str(no.value)
    assert path.read_text().endswith("yesterday\n")
    path.write_text("form: 1\nruns:\n- {}\njob: wheel\n")
    with pytest.raises(Refused):
        add_run(path, "wheel", _run())


@pytest.mark.parametrize("form", sorted(DATA.glob("form-*.proof.yaml")), ids=lambda p: p.name)
def test_records_of_every_form_are_read(form: Path) -> None:
    record = read_record(form)
    assert record is not None
    assert record.runs[0].pieces.made == 8
    used = {cutter.name: cutter for cutter in record.runs[0].cutters}
    assert used["teeth"] == CutterUsed(
        name="teeth", what="form-disc 20", spaces=75, minutes=2.19, verdict="fine",
        feed=360.86, speed=2864.0)
    assert record.runs[0].as_run["job"]["wheel"]["teeth"] == 75


def test_there_is_a_record_kept_of_every_form() -> None:
    from camgen.library.record import RECORD_FORM

    kept = {int(p.name.split("-")[1].split(".")[0]) for p in DATA.glob("form-*.proof.yaml")}
    assert kept == set(range(1, RECORD_FORM + 1))


WRITER = """
    import sys
    from pathlib import Path
    from camgen.library.record import Pieces, JobFingerprints, Run, add_run
    for number in range(6):
        add_run(Path(sys.argv[1]), "wheel", Run(
            when="2026-01-02", post="plain-iso", pieces=Pieces(made=1),
            remarks=f"{sys.argv[2]} {number}",
            prints=JobFingerprints(job="a", tables="b", machine="c", writer="d")))
"""


def test_two_writers_at_once_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "wheel.proof.yaml"
    writers = [
        subprocess.Popen([sys.executable, "-c", textwrap.dedent(WRITER), str(path), name])
        for name in ("one", "two")
    ]
    assert [writer.wait(timeout=60) for writer in writers] == [0, 0]
    record = read_record(path)
    assert record is not None
    assert sorted(run.remarks for run in record.runs) == sorted(
        f"{name} {number}" for name in ("one", "two") for number in range(6))


KILLED = """
    import os, sys
    from pathlib import Path
    import camgen.writing as writing
    from camgen.library import record
    # Count every call to the system that writing a record makes, and die at the one asked for.
    left = int(sys.argv[2])
    def dying(name):
        real = getattr(os, name)
        def call(*args, **kwargs):
            global left
            left -= 1
            if left < 0:
                os._exit(9)
            return real(*args, **kwargs)
        return call
    for name in ("open", "fdopen", "fsync", "chmod", "replace", "unlink"):
        setattr(os, name, dying(name))
    record.add_run(Path(sys.argv[1]), "wheel", record.Run(
        when="2026-01-03", post="plain-iso", pieces=record.Pieces(made=1),
        prints=record.JobFingerprints(job="a", tables="b", machine="c", writer="d")),
        {Path(sys.argv[1]).parent / "wheel.proven" / "wheel.0123.nc": b"M30"})
"""


def test_killed_at_any_call_to_the_system_the_record_is_old_or_new_never_half(
    tmp_path: Path,
) -> None:
    path = tmp_path / "wheel.proof.yaml"
    add_run(path, "wheel", _run())
    old = path.read_bytes()
    endings = []
    for step in range(0, 40, 5):
        path.write_bytes(old)
        done = subprocess.run(
            [sys.executable, "-c", textwrap.dedent(KILLED), str(path), str(step)], check=False)
        endings.append(done.returncode)
        now = path.read_bytes()
        record = read_record(path)
        assert record is not None
        assert now == old or (now.startswith(old) and len(record.runs) == 2)
        # A run in the record has its programs beside it, whole.
        kept = tmp_path / "wheel.proven" / "wheel.0123.nc"
        assert now == old or kept.read_bytes() == b"M30"
        assert not kept.exists() or kept.read_bytes() == b"M30"
        shutil.rmtree(kept.parent, ignore_errors=True)
        if done.returncode == 0:
            break
    assert endings[-1] == 0
    assert endings.count(9) >= 3
