"""Mutants drawn by a fixed seed, each run against the tests that execute the line changed.

    python tests/mutation/run.py --map                     once: which tests execute which lines,
                                                           of long tables two cases (``--cases``)
    python tests/mutation/run.py --many 300                draw, run, tell; goes on where it stopped
    python tests/mutation/run.py --many 300 --room proof   the same, those of one room only
    python tests/mutation/run.py --again                   those that no test noticed, run anew
    python tests/mutation/run.py --told                    the figures of what has been run

All is done in a copy of the checkout in ``--folder``, in one process: the tests are collected
once, and for each mutant a child of the process gives the function its changed code and runs the
tests, those first that have noticed changes of the same file, then those near the room and quick
ones. What stands outside functions is changed in the
copy's file and loaded anew. A mutant that no test notices in ``--limit`` seconds has survived.

The libraries made for this either choose no tests by what they execute, or take no draw by a seed
and leave out what is decorated; hence a script.
"""

from __future__ import annotations

import argparse
import functools
import gc
import hashlib
import itertools
import json
import os
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from types import CodeType, FunctionType

import pytest
from _pytest.runner import runtestprotocol

HOUSE = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(HOUSE))

from tests.mutation.changes import Change, changes_of  # noqa: E402
from tests.mutation.mapping import KEPT, Map, Recorder  # noqa: E402

ROOMS = ("proof", "reader", "post", "cutting", "teeth", "steps")
HARMLESS = Path(__file__).with_name("harmless.txt")
NONE = "no test that was mapped comes here"
OPTIONS = ["-q", "-p", "no:cacheprovider", "-p", "no:xdist"]


def main() -> None:
    """What is asked on the command line, done."""
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--many", type=int, default=300)
    ask.add_argument("--room", choices=ROOMS)
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument("--limit", type=float, default=60.0)
    ask.add_argument("--folder", type=Path, default=Path(tempfile.gettempdir(), "camgen-mutation"))
    ask.add_argument("--map", nargs="*", metavar="TESTS", help="all, or those named, added")
    ask.add_argument("--cases", type=int, default=2, help="of a table of cases, map so many")
    ask.add_argument("--again", action="store_true", help="survivors too")
    ask.add_argument("--told", action="store_true")
    wish = ask.parse_args()
    copy = wish.folder / "copy"
    results = Results(wish.folder / f"results-{wish.seed}.jsonl")
    _copied(copy)
    if wish.map is not None:
        _mapped(wish.folder, wish.map, [wish.room] if wish.room else ROOMS, wish.cases)
        return
    drawn = [each for each in draw(copy, wish.many, wish.seed)
             if wish.room in (None, each.file.split("/")[1])]
    if not wish.told:
        again = ("", "survived", "unsure") if wish.again else ("",)
        due = [each for each in drawn
               if results.verdict(each) in again and each.key not in harmless()]
        Trial(copy, Map(wish.folder), results, wish.limit).run(due)
    results.tell(drawn)


def draw(copy: Path, many: int, seed: int) -> Iterable[Change]:
    """As many mutants as asked, by the size of the rooms; one change at each place drawn.

    Places are ordered by a hash of the seed and of what stands there, so that a change of the
    source elsewhere leaves the draw as it is.
    """
    places = {
        room: [place for path in sorted((copy / "camgen" / room).rglob("*.py"))
               for place in changes_of(str(path.relative_to(copy)), path.read_text())]
        for room in ROOMS
    }
    whole = sum(map(len, places.values()))
    for found in places.values():
        share = round(many * len(found) / whole)
        chosen = sorted(found, key=lambda place: _lot(seed, place[0].key))[:share]
        yield from (place[_lot(seed, place[0].key) % len(place)] for place in chosen)


class Trial:
    """A plugin that has the tests collected and then, instead of running them, tries mutants."""

    def __init__(self, copy: Path, lines: Map, results: Results, limit: float) -> None:
        self.copy, self.lines, self.results, self.limit = copy, lines, results, limit
        self.due: list[Change] = []
        self.seconds: dict[str, float] = {}
        for test, seconds in lines.seconds.items():
            function = test.split("[")[0]
            self.seconds[function] = max(seconds, self.seconds.get(function, 0.0))
        self.items: dict[str, pytest.Item] = {}
        self.functions: dict[tuple[str, str, int], list[FunctionType]] = defaultdict(list)
        self.caches: list[functools._lru_cache_wrapper[object]] = []

    def run(self, due: list[Change]) -> None:
        """Every mutant due, tried."""
        self.due = due
        here = os.getcwd()
        _in_copy(self.copy)
        files = sorted({test.split("::")[0] for each in due for test in self._reached(each)})
        pytest.main([*OPTIONS, "-s", *[name for name in files if Path(name).exists()]],
                    plugins=[self])
        os.chdir(here)

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        self.items = {item.nodeid: item for item in session.items}
        for thing in gc.get_objects():
            if isinstance(thing, FunctionType):
                self.functions[_place(thing.__code__)].append(thing)
            elif isinstance(thing, functools._lru_cache_wrapper):
                home = str(thing.__module__)
                if home.startswith("camgen.") and not home.startswith(KEPT):
                    self.caches.append(thing)
        _warmed()
        gc.collect()
        gc.freeze()
        quick = sorted((test for test in self.items if test in self.lines.seconds),
                       key=self.lines.seconds.__getitem__)[:40]
        verdict, by = _child(120.0, lambda said: self._run(quick, said))
        if verdict != "survived":
            raise SystemExit(f"the unharmed source does not pass: {by}")
        for change in self.due:
            self.results.add(change, *self.tried(change))
        return True

    def _reached(self, change: Change) -> set[str]:
        """Tests that execute the change, and what has noticed it before, mapped or not."""
        by = self.results.known.get(change.key, ("", ""))[1]
        return self.lines.tests(change.file, range(change.line, change.last_line + 1)) | (
            {by} if "::" in by else set())

    def tried(self, change: Change) -> tuple[str, str]:
        """Whether a test notices the change, and which."""
        # All cases of a table are taken to come where those that were mapped came.
        coming = {test.split("[")[0] for test in self._reached(change)}
        seconds = {test: self.seconds.get(test.split("[")[0], 0.1) for test in self.items
                   if test.split("[")[0] in coming}
        if not seconds:
            return "survived", NONE
        chosen = [*self.results.noticed(change, seconds),
                  *_in_order(seconds, change.file.split("/")[1], self.limit)]
        chosen = list(dict.fromkeys(chosen))
        most = 60.0 + 20.0 * sum(seconds[test] for test in chosen)
        code = change.function(self.copy)
        if code is not None:
            verdict, by = _child(most, lambda said: self._changed(code, chosen, said))
            if verdict != "unsure":
                return verdict, by
        path = self.copy / change.file
        source = path.read_text()
        path.write_text(change.applied(source))
        try:
            return _child(most, lambda said: _anew(chosen, said))
        finally:
            path.write_text(source)

    def _changed(self, code: CodeType, tests: list[str], said: Callable[[str], None]) -> int:
        """In the child: the function given its changed code, and the tests run; 1 if one fails."""
        for cached in self.caches:
            cached.cache_clear()
        for function in self.functions[_place(code)]:
            function.__code__ = code
        if not self.functions[_place(code)]:
            return 3
        return self._run(tests, said)

    def _run(self, tests: list[str], said: Callable[[str], None]) -> int:
        items = [self.items[test] for test in tests]
        for number, (item, after) in enumerate(itertools.zip_longest(items, items[1:])):
            # What a test shares with others is not in its seconds, and may be made here first.
            if time.process_time() > 1.5 * self.limit:
                said(f"{number} tests, {self.limit:g} s")
                return 0
            if any(report.failed for report in runtestprotocol(item, log=False, nextitem=after)):
                said(item.nodeid)
                return 1
        said(f"{len(tests)} tests")
        return 0


def _place(code: CodeType) -> tuple[str, str, int]:
    return code.co_filename, code.co_qualname, code.co_firstlineno


def _anew(tests: list[str], said: Callable[[str], None]) -> int:
    """In a child: everything of the copy loaded anew, and the tests run; not 0 if one fails."""
    for name in [name for name in sys.modules if _is_ours(name)]:
        del sys.modules[name]
    files = dict.fromkeys(test.split("::")[0] for test in tests)
    code = pytest.main([*OPTIONS, "-x", "--tb=short", *files], plugins=[_Only(tests, said)])
    if code in (1, 2):
        return 1
    said(f"{len(tests)} tests")
    return int(code)


class _Only:
    """A plugin that keeps the tests named, in their order, and says which one failed."""

    def __init__(self, tests: list[str], said: Callable[[str], None]) -> None:
        self.place = {test: place for place, test in enumerate(tests)}
        self.said = said

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        kept = [item for item in items if item.nodeid in self.place]
        items[:] = sorted(kept, key=lambda item: self.place[item.nodeid])

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        if report.failed:
            self.said(f"loading {report.nodeid}")

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self.said(report.nodeid)


class _Some:
    """A plugin that keeps a few cases of every table, spread over it."""

    def __init__(self, cases: int) -> None:
        self.cases = cases

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        kept = []
        for _, same in itertools.groupby(items, key=lambda item: item.nodeid.split("[")[0]):
            table = list(same)
            kept += table[:: max(1, -(-len(table) // self.cases))]
        items[:] = kept


def _child(most: float, work: Callable[[Callable[[str], None]], int]) -> tuple[str, str]:
    """What the work comes to in a process of its own that ends in its time, or by force."""
    told, telling = os.pipe()
    child = os.fork()
    if child == 0:
        os.setsid()
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, 1)
        os.dup2(nowhere, 2)
        code = 9
        try:
            code = work(lambda text: _tell(telling, text))
        finally:
            os._exit(code)
    os.close(telling)
    began = time.monotonic()
    while not (ended := os.waitpid(child, os.WNOHANG))[0]:
        if time.monotonic() - began > most:
            os.killpg(child, signal.SIGKILL)
            os.waitpid(child, 0)
            os.close(told)
            return "killed", f"no end within {most:.0f} s"
        time.sleep(0.01)
    by = os.read(told, 4000).decode(errors="replace").strip()
    os.close(told)
    code = os.waitstatus_to_exitcode(ended[1])
    verdict = {0: "survived", 1: "killed"}.get(code, "killed" if code < 0 else "unsure")
    return verdict, by or f"ended with {code}"


def _tell(pipe: int, text: str) -> None:
    os.write(pipe, text[:500].encode() + b"\n")


def _in_order(seconds: dict[str, float], room: str, limit: float) -> list[str]:
    """One quick case of every test function near the room, then of every other, then the rest.

    The rest goes file by file, so that what a file shares is made once; all within the limit.
    """
    by_function = defaultdict(list)
    for test in sorted(seconds, key=lambda test: (seconds[test], test)):
        by_function[test.split("[")[0]].append(test)
    near = (f"tests/test_{room}", f"camgen/{room}")
    first = sorted((cases[0] for cases in by_function.values() if seconds[cases[0]] < 0.5),
                   key=lambda test: (not test.startswith(near), seconds[test]))[:150]
    done = set(first)
    rest = sorted((test for test in seconds if test not in done),
                  key=lambda test: (not test.startswith(near), test.split("::")[0], seconds[test]))
    chosen, spent = [], 0.0
    for test in [*first, *rest]:
        if spent + seconds[test] <= limit:
            chosen.append(test)
            spent += seconds[test]
    return chosen


def harmless() -> set[str]:
    """The keys of changes that change nothing that matters; their reasons stand below them."""
    return set(HARMLESS.read_text().splitlines())


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


def _mapped(folder: Path, tests: list[str], rooms: Sequence[str], cases: int) -> None:
    recorder = Recorder(folder, rooms)
    _in_copy(folder / "copy")
    recorder.start()
    try:
        pytest.main([*OPTIONS, *tests], plugins=[recorder, _Some(cases)])
    finally:
        recorder.finish()


def _in_copy(copy: Path) -> None:
    """This process, as one started in the copy."""
    os.chdir(copy)
    os.environ["PYTHONPATH"] = str(copy)
    for name in [name for name in sys.modules if _is_ours(name)]:
        del sys.modules[name]
    sys.path.insert(0, str(copy))


def _is_ours(module: str) -> bool:
    root = module.split(".")[0]
    return root in ("tests", "camgen") or bool(
        str(getattr(sys.modules[module], "__file__", "")).startswith(os.getcwd())
    )


def _warmed() -> None:
    """What every child would load anew: the shop's tables, and how examples are drawn."""
    from hypothesis import given, settings
    from hypothesis import strategies as st

    from camgen.shop.cutters import parse_cutter
    from camgen.shop.materials import edge_of, find_material, material_names
    from camgen.shop.tables import rule
    from camgen.shop.threads import thread_names
    from camgen.words import words

    for name in material_names():
        find_material(name)
    edge_of(parse_cutter("end-mill 1 2 flutes"))
    rule("wear"), thread_names(), words("en")

    @settings(max_examples=20, database=None)
    @given(st.floats(0, 1), st.text(max_size=5), st.lists(st.integers(0, 9)), st.sampled_from("ab"))
    def drawn(real: float, text: str, whole: list[int], one: str) -> None:
        pass

    drawn()


class Results:
    """What came of each mutant, one line each, added to as it is known."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.known: dict[str, tuple[str, str]] = {}
        if path.exists():
            for line in path.read_text().splitlines():
                key, verdict, by = json.loads(line)
                by = NONE if by == "no test comes here" else by
                self.known[key] = (verdict, by)

    def noticed(self, change: Change, tests: Iterable[str]) -> list[str]:
        """Of ``tests`` those that noticed this very change before, then those most of its file."""
        among, mine = set(tests), self.known.get(change.key, ("", ""))[1]
        of_file = Counter(by for key, (_, by) in self.known.items()
                          if key.startswith(f"{change.file}|") and by in among)
        return [*[mine] * (mine in among), *(test for test, _ in of_file.most_common(6))]

    def verdict(self, change: Change) -> str:
        return self.known.get(change.key, ("", ""))[0]

    def add(self, change: Change, verdict: str, by: str) -> None:
        self.known[change.key] = (verdict, by)
        with self.path.open("a") as file:
            file.write(json.dumps([change.key, verdict, by]) + "\n")
        if verdict != "killed":
            print(f"{change}\n  {verdict}: {by}", flush=True)

    def tell(self, drawn: Sequence[Change]) -> None:
        """The table by rooms, and every mutant that survived."""
        reasons = harmless()
        print("\n| room | drawn | tried | killed | change nothing that matters | survived |")
        print("| --- | --- | --- | --- | --- | --- |")
        left: list[Change] = []
        for room in (*ROOMS, ""):
            of_room = [each for each in drawn if each.file.startswith(f"camgen/{room}")]
            # Where no test that was mapped comes, nothing was tried.
            known = [each for each in of_room if self.known.get(each.key, ("", NONE))[1] != NONE]
            alive = [each for each in known if self.verdict(each) != "killed"]
            left = [each for each in alive if each.key not in reasons]
            print(f"| {room or 'all'} | {len(of_room)} | {len(known)} | "
                  f"{len(known) - len(alive)} | {len(alive) - len(left)} | {len(left)} |")
        for change in left:
            print(f"{change}\n  {change.key}")


if __name__ == "__main__":
    main()
