"""Sets of files are changed as one: killed, crowded, full or linked, never two sets mixed."""

from __future__ import annotations

import os
import random
import resource
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from sampling import sampled

from camgen.writing import write_all, write_set, write_whole

NAMES = ["a.nc", "b.nc", "c.nc", "sheet.html", "report.json"]
WRITER = """
import sys
from pathlib import Path
from camgen.writing import write_set
folder, names, marks = Path(sys.argv[1]), sys.argv[2].split(","), sys.argv[3:]
print("ready", flush=True)
while True:
    for mark in marks:
        write_set(folder, {name: (mark * 20000).encode() for name in names})
"""


def marks_of(folder: Path) -> dict[str, str]:
    return {path.name: path.read_text() for path in folder.iterdir()
            if not path.name.startswith(".")}


def is_whole_or_of_one_set(folder: Path) -> bool:
    found = marks_of(folder)
    one = len({text[:1] for text in found.values()}) <= 1
    whole = all(len(text) == 20000 for text in found.values())
    told = "report.json" not in found or set(found) == set(NAMES)
    return one and whole and told


def new_set(mark: str) -> dict[str, bytes]:
    return {name: (mark * 20000).encode() for name in NAMES}


def killed(folder: Path, after: float, *marks: str) -> None:
    writer = subprocess.Popen([sys.executable, "-c", WRITER, str(folder), ",".join(NAMES), *marks],
                              stdout=subprocess.PIPE)
    assert writer.stdout is not None
    writer.stdout.readline()
    time.sleep(after)
    writer.send_signal(signal.SIGKILL)
    writer.wait()
    writer.stdout.close()


def many_kills(folder: Path, times: int) -> None:
    chance = random.Random(7)
    for _ in range(times):
        killed(folder, chance.uniform(0, 0.02), "x", "y")
        assert is_whole_or_of_one_set(folder), sorted(marks_of(folder))
    write_set(folder, new_set("z"))
    assert marks_of(folder) == dict.fromkeys(NAMES, "z" * 20000)
    assert not [path for path in folder.iterdir() if path.name.startswith(".")]


def test_killed_while_it_writes_it_leaves_one_set(tmp_path: Path) -> None:
    write_set(tmp_path, new_set("w"))
    assert is_whole_or_of_one_set(tmp_path)
    many_kills(tmp_path, 8)


@pytest.mark.long
def test_killed_five_hundred_times_it_leaves_one_set(tmp_path: Path) -> None:
    write_set(tmp_path, new_set("w"))
    many_kills(tmp_path, 500)


@pytest.mark.parametrize("stop", sampled(range(len(NAMES) * 2 + 1), 3))
def test_what_was_begun_is_carried_on_by_the_next(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, stop: int
) -> None:
    write_set(tmp_path, {**new_set("w"), "stale.nc": b"old"})
    child = os.fork()
    if child == 0:
        done, real = 0, os.replace

        def dying(where: object, to: object) -> None:
            nonlocal done
            done += 1
            if done > stop + 1:
                os._exit(9)
            real(where, to)  # type: ignore[call-overload]

        os.replace = dying  # type: ignore[assignment]
        write_set(tmp_path, new_set("x"), ["stale.nc"])
        os._exit(0)
    os.waitpid(child, 0)
    assert is_whole_or_of_one_set(tmp_path) or "stale.nc" in marks_of(tmp_path)
    write_whole(tmp_path / "other.txt", b"w")
    found = marks_of(tmp_path)
    del found["other.txt"]
    assert found == dict.fromkeys(NAMES, "x" * 20000)
    assert not [path for path in tmp_path.iterdir() if path.name.startswith(".")]


def test_two_writers_leave_one_set_whole(tmp_path: Path) -> None:
    writers = [subprocess.Popen(
        [sys.executable, "-c", WRITER, str(tmp_path), ",".join(NAMES), mark],
        stdout=subprocess.PIPE) for mark in "xy"]
    for writer in writers:
        assert writer.stdout is not None
        writer.stdout.readline()
    time.sleep(0.5)
    assert all(writer.poll() is None for writer in writers)
    for writer in writers:
        writer.kill()
        writer.wait()
        assert writer.stdout is not None
        writer.stdout.close()
    assert is_whole_or_of_one_set(tmp_path)
    write_set(tmp_path, new_set("z"))
    assert not [path for path in tmp_path.iterdir() if path.name.startswith(".")]


def test_a_full_disk_leaves_the_old_set_as_it_was(tmp_path: Path) -> None:
    folder = tmp_path / "out"
    write_set(folder, new_set("w"))
    child = os.fork()
    if child == 0:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (30000, 30000))
        try:
            write_set(folder, {**new_set("x"), "b.nc": b"x" * 40000}, ["a.nc"])
        except OSError:
            os._exit(5)
        os._exit(0)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 5
    assert marks_of(folder) == dict.fromkeys(NAMES, "w" * 20000)
    assert sorted(path.name for path in folder.iterdir()) == sorted(NAMES)


def test_what_cannot_be_written_leaves_nothing_behind(tmp_path: Path) -> None:
    (tmp_path / "out" / "b.nc").mkdir(parents=True)
    (tmp_path / "out" / "a.nc").write_text("old")
    with pytest.raises(OSError, match="no plain file"):
        write_all({tmp_path / "out" / name: b"new" for name in NAMES})
    with pytest.raises(OSError, match="no plain file"):
        write_set(tmp_path / "out", dict.fromkeys(NAMES, b"new"))
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["a.nc", "b.nc"]
    assert (tmp_path / "out" / "a.nc").read_text() == "old"
    with pytest.raises(OSError):  # noqa: PT011 - each system has its own words
        write_set(tmp_path / "out" / "a.nc" / "deeper", {"x": b"x"})
    assert (tmp_path / "out" / "a.nc").read_text() == "old"


def test_a_swap_that_fails_is_taken_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_set(tmp_path, new_set("w"))
    real = os.replace
    for stop in range(1, 2 * len(NAMES) + 1):
        done = 0

        def failing(where: object, to: object, stop: int = stop) -> None:
            nonlocal done
            done += 1
            if done == stop + 1:
                raise OSError(5, "no more")
            real(where, to)  # type: ignore[call-overload]

        monkeypatch.setattr(os, "replace", failing)
        with pytest.raises(OSError, match="no more"):
            write_set(tmp_path, new_set("x"))
        monkeypatch.setattr(os, "replace", real)
        assert marks_of(tmp_path) == dict.fromkeys(NAMES, "w" * 20000)
        assert not [path for path in tmp_path.iterdir() if path.name.startswith(".")]
