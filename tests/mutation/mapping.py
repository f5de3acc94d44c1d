"""Which tests of the default run execute which lines, found once by running them under coverage.

What is made once for many tests (a cached demo job, a fixture of a module) is recorded under a
name of its own, and every test that uses it is linked to that name; caches of geometry inside the
package are emptied before each test, so that each test is seen to execute what it needs.
"""

from __future__ import annotations

import difflib
import functools
import itertools
import json
import os
import shutil
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import coverage
import pytest

__all__ = ["KEPT", "Map", "Recorder"]

FEW = 20
KEPT = ("camgen.shop", "camgen.words", "camgen.make")


class Recorder:
    """A plugin that runs tests under coverage, one context for each test and each thing shared."""

    def __init__(self, folder: Path, rooms: Iterable[str]) -> None:
        self.folder, self.rooms = folder, tuple(rooms)
        self.coverage = coverage.Coverage(
            data_file=folder / "lines.coverage", config_file=False,
            source=[f"camgen.{room}" for room in self.rooms],
        )
        self.stack = [""]
        self.told = _told(folder)
        self.links: dict[str, set[str]] = defaultdict(set)
        for name, used in self.told["links"].items():
            self.links[name].update(used)
        self.emptied: list[Any] = []
        self._watch_caches()

    def start(self) -> None:
        if (self.folder / "lines.coverage").exists():
            self.coverage.load()
        self.coverage.start()

    def finish(self) -> None:
        self.coverage.stop()
        self.coverage.save()
        self.told["links"] = {name: sorted(used) for name, used in self.links.items()}
        (self.folder / "tests.json").write_text(json.dumps(self.told))
        for room in self.rooms:
            shutil.copytree(Path("camgen", room), self.folder / "mapped/camgen" / room,
                            dirs_exist_ok=True)

    @contextmanager
    def inside(self, name: str) -> Iterator[None]:
        self.stack.append(name)
        self.coverage.switch_context(name)
        try:
            yield
        finally:
            self.stack.pop()
            self.coverage.switch_context(self.stack[-1])

    def _watch_caches(self) -> None:
        real = functools.lru_cache

        def watching(maxsize: Any = 128, typed: bool = False) -> Any:
            if callable(maxsize):
                return self._watched(maxsize, real(128))
            return lambda made: self._watched(made, real(maxsize, typed))

        functools.lru_cache = watching  # type: ignore[assignment]

    def _watched(self, made: Callable[..., Any], cache: Callable[..., Any]) -> Any:
        home = made.__module__
        if home.startswith("camgen."):
            cached = cache(made)
            if not home.startswith(KEPT):
                self.emptied.append(cached)
            return cached
        if not home.startswith(("test", "demos", "planting")):
            return cache(made)

        def name(given: Any, named: dict[str, Any]) -> str:
            return f"cache:{home}.{made.__qualname__}:{hash((given, tuple(named.items())))}"

        @functools.wraps(made)
        def first(*given: Any, **named: Any) -> Any:
            with self.inside(name(given, named)):
                return made(*given, **named)

        cached = cache(first)

        @functools.wraps(made)
        def used(*given: Any, **named: Any) -> Any:
            self.links[self.stack[-1]].add(name(given, named))
            return cached(*given, **named)

        used.cache_clear = cached.cache_clear  # type: ignore[attr-defined]
        return used

    @pytest.hookimpl(hookwrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        for cached in self.emptied:
            cached.cache_clear()
        began = sum(os.times()[:4])
        with self.inside(item.nodeid):
            yield
        self.told["seconds"][item.nodeid] = sum(os.times()[:4]) - began

    @pytest.hookimpl(hookwrapper=True)
    def pytest_fixture_setup(self, fixturedef: Any) -> Iterator[None]:
        if fixturedef.scope == "function" or self.stack == [""]:
            yield
        else:
            with self.inside(_shared(fixturedef)):
                yield

    def pytest_runtest_call(self, item: Any) -> None:
        known = getattr(item, "_fixtureinfo", None)
        for defined in known.name2fixturedefs.values() if known else ():
            for fixturedef in defined:
                if fixturedef.scope != "function":
                    self.links[item.nodeid].add(_shared(fixturedef))

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        passed = self.told["passed"]
        passed[report.nodeid] = report.passed and passed.get(report.nodeid, True)


class Map:
    """Lines and the tests that execute them, with the seconds of the processor each took."""

    def __init__(self, folder: Path) -> None:
        told = _told(folder)
        self.seconds: dict[str, float] = {
            test: seconds for test, seconds in told["seconds"].items() if told["passed"].get(test)
        }
        users: dict[str, set[str]] = defaultdict(set)
        for user, used in told["links"].items():
            for name in used:
                users[name].add(user)
        self._users, self._folder = users, folder
        self._data = coverage.CoverageData(str(folder / "lines.coverage"))
        self._data.read()
        self._of_file: dict[str, dict[int, list[str]]] = {}

    def tests(self, file: str, lines: Iterable[int]) -> set[str]:
        """Tests that execute any of the lines; where a line is only loaded, any of the file, and
        where those are few, any of the files beside it.
        """
        by_line = self._lines(file)
        contexts = {name for line in lines for name in by_line.get(line, ())}
        if contexts == {""}:
            contexts = {name for names in by_line.values() for name in names}
            if len(contexts) < FEW:
                copy = self._folder / "copy"
                contexts |= {name for path in (copy / file).parent.glob("*.py")
                             for names in self._lines(str(path.relative_to(copy))).values()
                             for name in names}
        found: set[str] = set()
        while contexts:
            name = contexts.pop()
            if name in self.seconds:
                found.add(name)
            contexts |= self._users.get(name, set())
        return found

    def _lines(self, file: str) -> dict[int, list[str]]:
        """Tests of each line, of the source as it is now; what is new goes with what is above."""
        if file not in self._of_file:
            known = self._data.contexts_by_lineno(str(self._folder / "copy" / file))
            self._of_file[file] = {now: known[then] for now, then in self._moved(file)
                                   if then in known}
        return self._of_file[file]

    def _moved(self, file: str) -> Iterator[tuple[int, int]]:
        then, now = (
            path.read_text().splitlines() if path.exists() else []
            for path in (self._folder / "mapped" / file, self._folder / "copy" / file)
        )
        blocks = difflib.SequenceMatcher(None, then, now, autojunk=False).get_matching_blocks()
        for block, after in itertools.pairwise(blocks):
            for line in range(block.b, after.b):
                yield line + 1, block.a + min(line - block.b, block.size - 1) + 1


def _shared(fixturedef: Any) -> str:
    return f"fixture:{fixturedef.baseid}:{fixturedef.argname}"


def _told(folder: Path) -> dict[str, Any]:
    written = folder / "tests.json"
    if written.exists():
        told: dict[str, Any] = json.loads(written.read_text())
        return told
    return {"seconds": {}, "passed": {}, "links": {}}
