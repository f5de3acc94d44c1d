"""Mutants drawn by a fixed seed, each run against the tests that execute the line changed.

    python tests/mutation/run.py --map                     once: which tests execute which lines
    python tests/mutation/run.py --many 300                draw, run, tell; goes on where it stopped
    python tests/mutation/run.py --many 40 --room proof    in one room only
    python tests/mutation/run.py --survivors               those that no test noticed, run anew
    python tests/mutation/run.py --told                    the figures of what has been run

Everything is done in a copy of the checkout in ``--folder``; one process, tests that are near the
room and quick first. A mutant that no test notices in ``--limit`` seconds of tests has survived.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import signal
import subprocess
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Iterable, Sequence
from pathlib import Path

import pytest

HOUSE = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(HOUSE))

from tests.mutation.changes import Change, changes_of  # noqa: E402
from tests.mutation.mapping import Map, Recorder  # noqa: E402

ROOMS = ("proof", "reader", "post", "cutting", "teeth", "steps")
HARMLESS = Path(__file__).with_name("harmless.txt")
OPTIONS = ["-q", "-p", "no:cacheprovider", "-p", "no:xdist", "-p", "no:randomly"]


def main() -> None:
    """What is asked on the command line, done."""
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--many", type=int, default=300)
    ask.add_argument("--room", choices=ROOMS)
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument("--limit", type=float, default=150.0)
    ask.add_argument("--folder", type=Path, default=Path(tempfile.gettempdir(), "camgen-mutation"))
    ask.add_argument("--map", nargs="*", metavar="TESTS", help="all, or those named, added")
    ask.add_argument("--survivors", action="store_true")
    ask.add_argument("--told", action="store_true")
    wish = ask.parse_args()
    copy = wish.folder / "copy"
    results = Results(wish.folder / f"results-{wish.seed}.jsonl")
    _copied(copy)
    if wish.map is not None:
        _mapped(wish.folder, copy, wish.map)
        return
    drawn = list(draw(copy, wish.many, wish.seed, [wish.room] if wish.room else ROOMS))
    if not wish.told:
        lines = Map(wish.folder)
        _load()
        for change in drawn:
            known = results.verdict(change)
            if known == "killed" or (known and not wish.survivors):
                continue
            results.add(change, *tried(change, copy, lines, wish.limit))
    results.tell(drawn)


def draw(copy: Path, many: int, seed: int, rooms: Sequence[str]) -> Iterable[Change]:
    """As many mutants as asked, by the size of the rooms; one change at each place drawn.

    Places are ordered by a hash of the seed and of what stands there, so that a change of the source
    elsewhere leaves the draw as it is.
    """
    places = {
        room: [place for path in sorted((copy / "camgen" / room).rglob("*.py"))
               for place in changes_of(str(path.relative_to(copy)), path.read_text())]
        for room in rooms
    }
    whole = sum(map(len, places.values()))
    for room in rooms:
        share = round(many * len(places[room]) / whole)
        chosen = sorted(places[room], key=lambda place: _lot(seed, place[0].key))[:share]
        yield from (place[_lot(seed, place[0].key) % len(place)] for place in chosen)


def tried(change: Change, copy: Path, lines: Map, limit: float) -> tuple[str, str]:
    """Whether a test notices the change, and which; quick and near ones are asked first."""
    room = change.file.split("/")[1]
    tests = _in_order(lines.tests(change.file, range(change.line, change.last_line + 1)),
                      room, lines.seconds)
    if not tests:
        return "survived", "no test comes here"
    path = copy / change.file
    source = path.read_text()
    path.write_text(change.applied(source))
    try:
        for some, span in _stretches(tests, lines.seconds, limit):
            verdict, by = _run(copy, some, 20.0 + 6.0 * span)
            if verdict != "survived":
                return verdict, by
    finally:
        path.write_text(source)
    return "survived", f"{len(tests)} tests"


def _run(copy: Path, tests: list[str], most: float) -> tuple[str, str]:
    """The tests in a process of their own, begun with the libraries already loaded."""
    (copy / "said").write_text("")
    child = os.fork()
    if child == 0:
        os.setsid()
        _in_copy(copy, "said-at-length")
        only = _Only(tests, copy / "said")
        files = list(dict.fromkeys(test.split("::")[0] for test in tests))
        os._exit(int(pytest.main([*OPTIONS, "-x", "--tb=short", *files], plugins=[only])))
    began = time.monotonic()
    while True:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            break
        if time.monotonic() - began > most:
            os.killpg(child, signal.SIGKILL)
            os.waitpid(child, 0)
            return "killed", f"no end within {most:.0f} s"
        time.sleep(0.02)
    code = os.waitstatus_to_exitcode(status)
    if code == 0:
        return "survived", ""
    if code in (1, 2) or code < 0:
        return "killed", (copy / "said").read_text() or "nothing could be loaded"
    return "unsure", f"tests ended with {code}"


class _Only:
    """A plugin that keeps the tests named, in their order, and says which one failed."""

    def __init__(self, tests: list[str], said: Path) -> None:
        self.place = {test: place for place, test in enumerate(tests)}
        self.said = said

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        kept = [item for item in items if item.nodeid in self.place]
        items[:] = sorted(kept, key=lambda item: self.place[item.nodeid])

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self.said.write_text(report.nodeid)


def _in_order(tests: set[str], room: str, seconds: dict[str, float]) -> list[str]:
    """One case of every test function first, then a second of each; near the room, then quick."""
    by_function = defaultdict(list)
    for test in sorted(tests, key=lambda test: (seconds[test], test)):
        by_function[test.split("[")[0]].append(test)
    order = {test: (nth, not _near(test, room), seconds[test], test)
             for cases in by_function.values() for nth, test in enumerate(cases)}
    return sorted(order, key=order.__getitem__)


def _near(test: str, room: str) -> bool:
    return test.startswith((f"tests/test_{room}", f"camgen/{room}"))


def _stretches(
    tests: list[str], seconds: dict[str, float], limit: float
) -> Iterable[tuple[list[str], float]]:
    """A few quick tests of a few files, then the rest as far as the seconds reach."""
    files: set[str] = set()
    first: list[str] = []
    for test in tests:
        if sum(seconds[each] for each in first) + seconds[test] > 4.0 or len(first) == 60:
            continue
        if test.split("::")[0] in files or len(files) < 6:
            files.add(test.split("::")[0])
            first.append(test)
    yield first, sum(seconds[test] for test in first)
    rest, spent = [], 0.0
    for test in tests:
        if test not in set(first) and spent + seconds[test] <= limit:
            rest.append(test)
            spent += seconds[test]
    if rest:
        yield rest, spent


def _lot(seed: int, key: str) -> int:
    return int(hashlib.sha256(f"{seed}|{key}".encode()).hexdigest()[:12], 16)


def _copied(copy: Path) -> None:
    """The checkout's files as they are, in a folder of their own; what is gone goes."""
    listed = subprocess.run(
        ["git", "ls-files", "-co", "--exclude-standard"],
        cwd=HOUSE, check=True, capture_output=True, text=True,
    ).stdout.split("\n")
    names = {name for name in listed if name and (HOUSE / name).is_file()}
    for name in names:
        made, given = copy / name, (HOUSE / name).read_bytes()
        if not made.exists() or made.read_bytes() != given:
            made.parent.mkdir(parents=True, exist_ok=True)
            made.write_bytes(given)
    for path in copy.rglob("*.py"):
        if str(path.relative_to(copy)) not in names:
            path.unlink()
    # Compiled files are held by what the source says and not by its hour, which two mutants share.
    subprocess.run(
        [sys.executable, "-m", "compileall", "-q", "--invalidation-mode", "checked-hash", "camgen"],
        cwd=copy, check=True,
    )


def _mapped(folder: Path, copy: Path, tests: list[str]) -> None:
    recorder = Recorder(folder)
    _in_copy(copy, "map-at-length")
    recorder.start()
    try:
        pytest.main([*OPTIONS, *tests], plugins=[recorder])
    finally:
        recorder.finish()


def _in_copy(copy: Path, said: str) -> None:
    """This process, as one started in the copy that says what it says into a file there."""
    os.chdir(copy)
    os.environ["PYTHONPATH"] = str(copy)
    for name in [name for name in sys.modules if name.split(".")[0] in ("tests", "camgen")]:
        del sys.modules[name]
    sys.path[0] = str(copy)
    sys.argv[0] = str(copy / "pytest")
    out = os.open(copy / said, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    os.dup2(out, 1)
    os.dup2(out, 2)


def _load() -> None:
    """Libraries that every mutant needs, loaded once for all."""
    import ezdxf  # noqa: F401
    import hypothesis  # noqa: F401
    import matplotlib.figure  # noqa: F401
    import pydantic  # noqa: F401
    import shapely.ops  # noqa: F401
    import yaml  # noqa: F401


class Results:
    """What came of each mutant, one line each, added to as it is known."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.known: dict[str, tuple[str, str]] = {}
        if path.exists():
            for line in path.read_text().splitlines():
                key, verdict, by = json.loads(line)
                self.known[key] = (verdict, by)

    def verdict(self, change: Change) -> str:
        return self.known.get(change.key, ("", ""))[0]

    def add(self, change: Change, verdict: str, by: str) -> None:
        self.known[change.key] = (verdict, by)
        with self.path.open("a") as file:
            file.write(json.dumps([change.key, verdict, by]) + "\n")
        if verdict != "killed":
            print(_said(change), f"  {verdict}: {by}", sep="\n", flush=True)

    def tell(self, drawn: Sequence[Change]) -> None:
        """The table by rooms, and every mutant that survived."""
        reasons = HARMLESS.read_text() if HARMLESS.exists() else ""
        print("\n| room | mutants | killed | change nothing that matters | survived |")
        print("| --- | --- | --- | --- | --- |")
        left = []
        for room in (*ROOMS, ""):
            of_room = [each for each in drawn if each.file.startswith(f"camgen/{room}")]
            tried = [each for each in of_room if self.verdict(each)]
            alive = [each for each in tried if self.verdict(each) != "killed"]
            harmless = [each for each in alive if each.key in reasons]
            left = [each for each in alive if each.key not in reasons]
            print(f"| {room or 'all'} | {len(tried)} | {len(tried) - len(alive)} | "
                  f"{len(harmless)} | {len(left)} |")
        for change in left:
            print(_said(change), f"  {change.key}", sep="\n")


def _said(change: Change) -> str:
    old, new = (" ".join(text.split())[:120] for text in (change.old, change.new))
    return f"{change.file}:{change.line} {change.where}: {change.kind}\n    {old}\n    {new}"


if __name__ == "__main__":
    main()
